"""How soon the next page of the guide answers when its link is clicked while the calculators are up, beside the same page loaded anew.

    python3 scripts/bench_next.py [--rounds N] [--json FILE]

One run, headless Chromium, every file kept by the service worker at an earlier visit, the server killed. Loaded anew a page is timed from
navigation, by the clock that the browser starts there; clicked, from the click on its link in the menu of another page. Both up to what
leads of its first live answer, and to the whole of it. Rounds alternate which side goes first. What is compared is the median over all
pages and rounds; each page's own stands above it.
"""

import argparse
import json
import os
import platform
import statistics
import sys
from pathlib import Path

import house
from bench_live import NOTES, all_served, chromium, first_answer, first_visit, tab, wait
from house import SITE, say

GOAL = 0.15  # click to live answer, to the same page loaded anew
PAGES = ("plan/", "canopy/", "folding/", "packing/", "cord/", "separation/", "descent/", "loads/", "landing/", "failures/")
FROM = "electronics/"  # where the clicks begin: a page that is none of them
CLICKED, ANEW = "clicked", "loaded anew"

CLICK = """path => {
  const link = [...document.querySelectorAll(".loft-nav a")].find(({ href }) => new URL(href).pathname === path);
  notes.answers.length = notes.leads.length = 0;
  notes.clicked = performance.now();
  link.click();
}"""
TOOK = """path => location.pathname === path && document.querySelector("loft-calculator .loft-answer").dataset.answer > 0 &&
  [notes.leads[0] ?? notes.answers[0], notes.answers[0]].map((at) => at - notes.clicked)"""


def clicked(context, url: str, pages: tuple[str, ...]) -> dict[str, tuple[float, float]]:
    """Page -> from the click to what leads and to the whole. All in one tab, which must never load anew."""
    found = {}
    with tab(context, url + FROM, NOTES) as page:
        wait(page, "notes.answers[0]")
        page.wait_for_timeout(500)
        page.evaluate("window.same = true")
        for path in pages:
            page.evaluate(CLICK, f"/{path}")
            found[path] = wait(page, f"({TOOK})('/{path}')")
            if not page.evaluate("window.same"):
                sys.exit(f"/{path} was loaded anew, though its link was clicked")
            page.wait_for_timeout(300)
    return found


def bench(rounds: int) -> dict[str, dict[str, list[tuple[float, float]]]]:
    """Page -> side -> times."""
    took: dict[str, dict[str, list[tuple[float, float]]]] = {path: {CLICKED: [], ANEW: []} for path in PAGES}
    with chromium() as context:
        with all_served({"now": SITE}) as urls:
            first_visit(context, urls)
        (url,) = urls.values()
        for turn in range(rounds):
            pages = PAGES[:: 1 if turn % 2 else -1]
            for side in (CLICKED, ANEW)[:: 1 if turn % 2 else -1]:
                now = clicked(context, url, pages) if side == CLICKED else {path: first_answer(context, url + path) for path in pages}
                for path in pages:
                    took[path][side].append(now[path])
    return took


def show(took: dict[str, dict[str, list[tuple[float, float]]]]) -> float:
    """Says what was measured; gives the ratio that the goal is for."""
    rounds = len(took[PAGES[0]][ANEW])
    say(f"Server killed, Chromium headless ({platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}); medians of {rounds}:")
    overall = {}
    for part, name in enumerate(("what leads", "the whole")):
        say(f"  to {name}:")
        for path, sides in took.items():
            now, anew = (statistics.median(times[part] for times in sides[side]) for side in (CLICKED, ANEW))
            say(f"    /{path:<13} clicked {now:5.0f} ms, loaded anew {anew:5.0f} ms, ratio {now / anew:.3f}")
        now, anew = (statistics.median(times[part] for sides in took.values() for times in sides[side]) for side in (CLICKED, ANEW))
        overall[name] = now / anew
        say(f"    all            clicked {now:5.0f} ms, loaded anew {anew:5.0f} ms, ratio {now / anew:.3f}")
    say(f"  click to live answer: ratio {overall['what leads']:.3f} (goal {GOAL}); the whole {overall['the whole']:.3f}")
    return overall["what leads"]


def main() -> None:
    parser = argparse.ArgumentParser(description="Time the way from page to page.")
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--json", type=Path, help="also write every time that was taken")
    given = parser.parse_args()
    took = bench(max(given.rounds, 5))
    if given.json:
        given.json.write_text(json.dumps(took, indent=1))
    if show(took) > GOAL:
        sys.exit("slower than it may be")


if __name__ == "__main__":
    house.go_inside()
    main()
