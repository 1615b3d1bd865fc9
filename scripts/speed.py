"""The table of speeds: how soon, how little, beside what, and what is wanted. One run, both sides of each row in it, ratios printed.

    python3 scripts/speed.py [--rounds N] [--only ROW ...] [--tests] [--json FILE]

Rows: engines, next, typing, doubled, bytes, line, scatter, rebuild; --tests adds how long all tests take. The site is built first. Sides alternate, what
is compared is medians (of typing into this site and that of before the ninety-fifth of a hundred). "Bare" is a page that boots Pyodide and nothing else, up to its first
value; "before" is the site as it was before a rig could have two bays (bench_core.BEFORE), built out of the repository's own history.

engines: a repeat visit with every file kept and the server killed, from navigation to what leads of the first live answer; each begins
when the page before has been at rest for a second, always in the same order.
next: bench_next.py. typing, bytes, scatter: parts of bench_live.py.
doubled: a copy of this tree in which every calculator's code and every field of a rig is there twice, beside this one; the twins are no part
of the plan, so what is told is what many more of them cost those that are asked.
line: a first visit over a line of 10 Mbit/s, each side squeezed alike by gzip; readable is the first text on the screen.
The line has no delay. Of that row five rounds, of typing and scatter some each round, of bytes one, of building three.
"""

import argparse
import json
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from pathlib import Path
from typing import NamedTuple

import bench_live
import bench_next
import house
import server
from bench_core import BEFORE
from bench_live import (
    BARE_SIDE,
    CALCULATOR,
    NOTES,
    NOW,
    OLD,
    PLAN,
    WHOLE,
    all_served,
    built_in,
    chromium,
    first_answer,
    first_visit,
    percentile,
    site_before,
    tab,
    typing,
    wait,
    write_bare,
)
from house import CACHE, ROOT, SITE, digest, say, tool

TWICE = "twice"
MEGABIT = 125_000  # bytes
ENGINES = {"chromium": 0.30, "firefox": 0.30, "webkit": 0.15}
# The rows of what may fail, on the plan; before it had no parts.
FAILING = "if (document.querySelector('[data-part]')) document.querySelector('[data-part=\"failures\"]').setAttribute('open', '');"
MEGABYTES = {"gzip": 8.3, "brotli": 6.0}  # to a live answer


class Row(NamedTuple):
    what: str
    ours: float
    against: float  # 1 where the figure is its own measure
    goal: float
    unit: str = "ms"

    @property
    def found(self) -> float:
        return self.ours / self.against


# --- a repeat visit, engine by engine

LEADS = """new Promise((resolve) => {
  const answer = document.querySelector(".loft-answer");
  const look = () => (answer.dataset.led ?? Number(answer.dataset.answer)) && resolve(performance.now());
  new MutationObserver(look).observe(answer, { attributes: true });
  look();
})"""
VALUE = """new Promise((resolve) => {
  const look = () => (window.first ? resolve(window.first) : setTimeout(look, 10));
  look();
})"""
KEPT = {NOW: "document.querySelector('loft-offline')?.dataset.standing === 'ready'", BARE_SIDE: "window.kept === true"}

# Driven, WebKit keeps in memory only, and forgets what no page has looked at once another site is opened.
LOOKED_AT = "caches.keys().then((names) => Promise.all(names.map(async (name) => (await (await caches.open(name)).keys()).length)))"
REST = 1  # s; a page just answered goes on being compiled, and the next would wait for that. Longer, and WebKit forgets who was not asked for ten


def engine_starts(name: str, bare: Path, rounds: int) -> dict[str, list[float]]:
    """Side or page of ours -> times from navigation."""
    from playwright.sync_api import sync_playwright

    import engines

    took: dict[str, list[float]] = {CALCULATOR: [], PLAN: [], BARE_SIDE: []}
    with ExitStack() as stack:
        profile = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        how = partial(engines.chromium, stack.enter_context(sync_playwright())) if name == "chromium" else engines.ENGINES[name]
        with all_served({NOW: SITE, BARE_SIDE: bare}) as urls:
            engine = stack.enter_context(how(profile))
            for side, url in urls.items():
                engine.open(url)
                for _ in range(600):
                    if engine.js(KEPT[side]):
                        break
                    time.sleep(0.2)
                else:
                    sys.exit(f"{name} does not keep {side}")
                engine.js(LOOKED_AT)
        for turn in range(rounds + 1):
            for what in took:
                time.sleep(REST)
                address = urls[BARE_SIDE] if what == BARE_SIDE else urls[NOW] + what
                engine.open(address)
                for _ in range(1000):  # WebKit's driver may come back before the page before is gone
                    if engine.js("document.readyState === 'complete' && location.href") == address:
                        break
                    time.sleep(0.02)
                else:
                    sys.exit(f"{name} does not open {address} any more")
                at = float(engine.js(VALUE if what == BARE_SIDE else LEADS))
                took[what] += [at] if turn else []  # the first round warms
                engine.js(LOOKED_AT)
    return took


def engines_rows(rounds: int) -> Iterator[Row]:
    with tempfile.TemporaryDirectory() as bare:
        write_bare(Path(bare))
        for name, goal in ENGINES.items():
            took = engine_starts(name, Path(bare), rounds)
            value = statistics.median(took[BARE_SIDE])
            for page in (CALCULATOR, PLAN):
                yield Row(f"repeat visit to /{page}, server dead, {name}; bare", statistics.median(took[page]), value, goal)


# --- the next page, typing, scatter, bytes


def next_rows(rounds: int) -> Iterator[Row]:
    took = bench_next.bench(rounds)
    now, anew = (statistics.median(lead for sides in took.values() for lead, _ in sides[side]) for side in (bench_next.CLICKED, bench_next.ANEW))
    yield Row("next page by a click, ten pages; loaded anew", now, anew, bench_next.GOAL)


@contextmanager
def kept(sides: dict[str, Path]):
    """A browser that has been on every side, and their addresses; the servers are gone."""
    with chromium() as context:
        with all_served(sides) as urls:
            first_visit(context, urls)
        yield context, urls


def typing_rows(rounds: int) -> Iterator[Row]:
    with kept({NOW: SITE, OLD: site_before()}) as (context, urls):
        found = bench_live.typed(context, urls, 12 * rounds, FAILING)
    p95 = {page: {name: percentile(took, 0.95) for name, took in sides.items()} for page, sides in found.items()}
    yield Row(f"typing, one calculator (/{CALCULATOR}), p95; {BEFORE}", p95[CALCULATOR][NOW], p95[CALCULATOR][OLD], 0.4)
    yield Row(f"typing, verdict of two bays (/{PLAN}), p95; {BEFORE}, one bay", p95[PLAN][NOW], p95[PLAN][OLD], 0.8)
    yield Row(f"typing, whole plan and its failures open, p95; {BEFORE}, one bay", p95[PLAN][WHOLE], p95[PLAN][OLD], 2)


def scatter_rows(rounds: int) -> Iterator[Row]:
    with kept({NOW: SITE, OLD: site_before()}) as (context, urls):
        found = bench_live.asked(context, urls, 2 * rounds, ["landing"])["landing"]
    yield Row(f"10,000 scattered descents, whole answer; {BEFORE}", statistics.median(found[WHOLE]), statistics.median(found[OLD]), 0.5)


def bytes_rows(_: int) -> Iterator[Row]:
    with all_served({NOW: SITE}) as urls:
        sizes = bench_live.wire(urls[NOW], SITE)
    for how, goal in MEGABYTES.items():
        yield Row(f"bytes to a live answer, {how}, {sizes['files']} files", sizes[how] / 1e6, 1, goal, "MB")


# --- calculators and fields twice

_TWIN_FIELDS = """
from dataclasses import replace as _replace
_ALL = (*_ALL, *(_replace(one, path=f"twin.{one.path}", when=tuple((f"twin.{path}", values) for path, values in one.when)) for one in _ALL))
"""
_TWIN_GROUPS = '\nGROUPS |= {f"twin.{group}": f"Twin of {legend.lower()}" for group, legend in GROUPS.items()}\n'
_TWIN_CALCULATORS = """
from dataclasses import replace
from loftbook.calculators_twin import CALCULATORS as _TWINS
CALCULATORS |= {f"{name}-twin": replace(one, name=f"{name}-twin", in_plan=False) for name, one in _TWINS.items()}
"""
FOLDERS = ("calc", "docs", "scripts", "tests/outside")  # a page shows the last
FILES = ("mkdocs.yml", "pyproject.toml", "package.json", "package-lock.json", "requirements.txt", "README.md", "DEVELOPERS.md")


def doubled_tree(out: Path) -> None:
    """A copy of what this site is built from, in which each field is there twice, and each calculator with its code."""
    for name in FOLDERS:
        shutil.copytree(ROOT / name, out / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in FILES:
        shutil.copy(ROOT / name, out)
    for page in (out / "docs").glob("*.md"):  # the table of all fields knows no bay that is a twin
        page.write_text(page.read_text().replace('<loft-table name="fields"></loft-table>', ""))
    package = out / "calc/loftbook"
    shutil.copytree(package / "calculators", package / "calculators_twin")
    for file in (package / "calculators_twin").glob("*.py"):
        file.write_text(file.read_text().replace("loftbook.calculators", "loftbook.calculators_twin"))
    calculators, fields = package / "calculators/__init__.py", package / "rig/fields.py"
    calculators.write_text(calculators.read_text() + _TWIN_CALCULATORS)
    text = fields.read_text()
    before, mark, after = text.partition("\nFIELDS: dict")
    if not mark:
        sys.exit("fields are gathered in another way now: see doubled_tree")
    fields.write_text(before + _TWIN_FIELDS + mark + after + _TWIN_GROUPS)


def site_twice() -> Path:
    """Built once for each state of this tree."""
    tree = CACHE / "twice" / digest(*(ROOT / name for name in (*FOLDERS, *FILES)))
    if not tree.is_dir():
        shutil.rmtree(tree.parent, ignore_errors=True)
        making = tree.with_suffix(".making")
        making.mkdir(parents=True)
        doubled_tree(making)
        making.rename(tree)
    return built_in(tree)


def doubled_rows(rounds: int) -> Iterator[Row]:
    sides = {NOW: SITE, TWICE: site_twice()}
    with kept(sides) as (context, urls):
        for page in (CALCULATOR, PLAN):
            starts: dict[str, list[float]] = {side: [] for side in sides}
            keys: dict[str, list[float]] = {side: [] for side in sides}
            for turn in range(rounds):
                for side in list(sides)[:: 1 if turn % 2 else -1]:
                    starts[side].append(first_answer(context, urls[side] + page)[0])
                    keys[side] += [lead for lead, _ in typing(context, urls[side] + page, bench_live.TUBE_FIELD[NOW], range(10 * turn, 10 * turn + 10))]
            for what, took in (("start", starts), ("typing", keys)):
                yield Row(f"{what}, /{page}, twice as many fields and calculators; once", statistics.median(took[TWICE]), statistics.median(took[NOW]), 1.10)


# --- a slow line


class Line(server.Handler):
    """All that goes to one reader goes through ten megabits a second."""

    _lock, _free = threading.Lock(), 0.0

    def copyfile(self, source, outputfile) -> None:
        while part := source.read(8192):
            with Line._lock:
                Line._free = max(time.monotonic(), Line._free) + len(part) / (10 * MEGABIT)
                until = Line._free
            time.sleep(max(0.0, until - time.monotonic()))
            outputfile.write(part)


@contextmanager
def slow(folder: Path) -> Iterator[str]:
    served = server.Server(("127.0.0.1", 0), partial(Line, site=server.Site(folder), under="/"))
    threading.Thread(target=served.serve_forever, daemon=True).start()
    yield f"http://localhost:{served.server_address[1]}/"
    served.shutdown()
    served.server_close()


def line_rows(rounds: int) -> Iterator[Row]:
    took: dict[str, list[float]] = {"readable": [], "live": [], BARE_SIDE: []}
    with tempfile.TemporaryDirectory() as bare, ExitStack() as stack:
        write_bare(Path(bare))
        urls = {NOW: stack.enter_context(slow(SITE)), BARE_SIDE: stack.enter_context(slow(Path(bare)))}
        for turn in range(min(rounds, 5) + 1):
            for side in list(urls)[:: 1 if turn % 2 else -1]:
                with chromium() as context:
                    if side == BARE_SIDE:
                        found = {BARE_SIDE: bench_live.first_value(context, urls[side])}
                    else:
                        with tab(context, urls[side] + CALCULATOR, NOTES) as page:
                            live = wait(page, "notes.answers[0] && (notes.leads[0] ?? notes.answers[0])")
                            found = {"live": live, "readable": page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")}
                for what, at in found.items():
                    took[what] += [at] if turn else []  # at first the servers squeeze
    middle = {what: statistics.median(times) for what, times in took.items()}
    yield Row("first visit at 10 Mbit/s, gzip: readable; bare", middle["readable"], middle[BARE_SIDE], 0.15)
    yield Row("first visit at 10 Mbit/s, gzip: live; bare", middle["live"], middle[BARE_SIDE], 1.0)


# --- building and testing


def timed(*command: object) -> float:
    begun = time.monotonic()
    subprocess.run([str(part) for part in command], cwd=ROOT, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.monotonic() - begun


def rebuild_rows(_: int) -> Iterator[Row]:
    yield Row("rebuild, the runtime made before", statistics.median(timed(tool("python"), "scripts/build.py") for _ in range(3)), 1, 5, "s")


def tests_rows(_: int) -> Iterator[Row]:
    yield Row("all tests, set up before", timed(tool("python"), "scripts/check.py") / 60, 1, 20, "min")


ROWS: dict[str, Callable[[int], Iterator[Row]]] = {
    "engines": engines_rows, "next": next_rows, "typing": typing_rows, "doubled": doubled_rows, "bytes": bytes_rows,
    "line": line_rows, "scatter": scatter_rows, "rebuild": rebuild_rows, "tests": tests_rows,
}  # fmt: skip


def told(row: Row) -> str:
    ours = f"{row.ours:7.0f} ms / {row.against:5.0f} ms" if row.unit == "ms" else f"{row.ours:7.2f} {row.unit}"
    found = f"{row.found:6.3f}" if row.unit == "ms" else " " * 6
    return f"  {row.what:<66} {ours:<22} {found}  goal {row.goal:<5}" + ("" if row.found <= row.goal else "  MISSED")


def main() -> None:
    parser = argparse.ArgumentParser(description="Print the table of speeds.")
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--only", nargs="+", choices=[name for name in ROWS if name != "tests"], help="these rows and no others")
    parser.add_argument("--tests", action="store_true", help="also time all tests")
    parser.add_argument("--json", type=Path, help="also write the rows")
    given = parser.parse_args()
    wanted = [name for name in ROWS if (given.tests if name == "tests" else not given.only or name in given.only)]
    timed(tool("python"), "scripts/build.py")
    rows: list[Row] = []
    say(f"{platform.machine()}, {os.cpu_count()} cores; {given.rounds} rounds; ours, what stands behind the semicolon, ratio, goal:")
    for name in wanted:
        for row in ROWS[name](given.rounds):
            rows.append(row)
            say(told(row))
    say(f"  load at the end {os.getloadavg()[0]:.1f}")
    if given.json:
        given.json.write_text(json.dumps([row._asdict() for row in rows], indent=1))
    if any(row.found > row.goal for row in rows):
        sys.exit("not all that was wanted")


if __name__ == "__main__":
    house.go_inside()
    main()
