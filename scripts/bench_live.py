"""How soon a page answers on a repeat visit without a network, and how soon it answers typing: beside the site as it was before a rig
could have two bays, and beside bare Pyodide, in one run; and how much a first visit fetches.

    python3 scripts/bench_live.py [--rounds N] [--keystrokes N] [--json FILE] [--alone]

All sides: headless Chromium, a module worker, every file kept by a service worker at an earlier visit, the server killed. A site is timed
from navigation to the first live answer in the page, what leads and the whole, the bare one to the first value out of Python. Rounds
alternate. Typing is timed twice: into a page just opened, up to the new answer in it; and for every calculator from question to answer of
a core that was asked before, as after some minutes of typing. Each is timed up to what leads (the sentence, the picture, the numbers),
which a page asks for first and which the goals are for, and up to the whole, once the rest is in place; the site of before put both in
place at once. It is built by its own scripts out of the repository's own history, with the libraries of now. --alone leaves it out.
"""

import argparse
import gzip
import json
import math
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import house
from bench_core import BEFORE, ONE_BAY, pairs, questions, rest, tree_before
from bench_core import GOALS as CORE_GOALS
from house import CACHE, MODULES, SITE, VENV, digest, say, tool

RATIO_LIMIT = 0.45  # of a first answer, to bare Pyodide's first value
GOALS = {"start": 1.0, "folding/": 0.6, "plan/": 1.0, "wire": 1.03}  # beside the site of before
CALCULATOR, PLAN = "folding/", "plan/"
NOW, OLD, BARE_SIDE = "now", "before", "bare"
WHOLE = "now, the whole"  # beside what leads
TUBE_FIELD = {NOW: "main.bay.tube", OLD: "rocket.tube"}
RIG_KEY = "loftbook.rig"  # where pages keep what was typed

# Runs before a page's own scripts: notes when a reader typed, when what leads was put into the page, and when the answer was whole.
NOTES = """
window.notes = { typed: 0, leads: [], answers: [] };
addEventListener("input", () => (notes.typed = performance.now()), true);
new MutationObserver((changes) => {
  for (const { attributeName } of changes) {
    (attributeName === "data-answer" ? notes.answers : notes.leads).push(performance.now());
  }
}).observe(document, { subtree: true, attributes: true, attributeFilter: ["data-answer", "data-led"] });
"""
NO_WORKER = "Object.defineProperty(Navigator.prototype, 'serviceWorker', { get: () => undefined });"

BARE = {
    "index.html": '<!doctype html><meta charset="utf-8"><title>bare</title><script type="module" src="page.js"></script>',
    "page.js": """
        const worker = new Worker("./worker.js", { type: "module" });
        worker.onmessage = async () => {
          window.first = performance.now();
          await navigator.serviceWorker.register("./keep.js");
          await navigator.serviceWorker.ready;
          window.kept = true;
        };""",
    "worker.js": """
        import { loadPyodide } from "./pyodide.mjs";
        const pyodide = await loadPyodide({ indexURL: new URL("./", import.meta.url).href });
        postMessage(pyodide.runPython("6 * 7"));""",
    "keep.js": """
        const FILES = %s;
        addEventListener("install", (event) => event.waitUntil(caches.open("bare").then((cache) => cache.addAll(FILES))));
        addEventListener("activate", (event) => event.waitUntil(clients.claim()));
        addEventListener("fetch", (event) => event.respondWith(caches.match(event.request)));""",
}
BARE_PYODIDE = ("pyodide.mjs", "pyodide.asm.js", "pyodide.asm.wasm", "python_stdlib.zip", "pyodide-lock.json")


# --- the sides


def write_bare(folder: Path) -> None:
    """A page that boots Pyodide and nothing else."""
    for name in BARE_PYODIDE:
        shutil.copy(MODULES / "pyodide" / name, folder)
    files = json.dumps(["./", *(name for name in BARE if name not in ("index.html", "keep.js")), *BARE_PYODIDE])
    for name, text in BARE.items():
        (folder / name).write_text(text.replace("%s", files))


def site_before() -> Path:
    """The site of before, built once."""
    return built_in(tree_before())


def built_in(tree: Path) -> Path:
    """The site of another tree, built if it is not; without its own setting up, so that the environment stays as it is."""
    built = tree / "site"
    if not built.is_dir():
        for name, place in ((".venv", VENV), ("node_modules", MODULES)):
            if not (tree / name).exists():
                (tree / name).symlink_to(place, target_is_directory=True)
        code = "import sys; sys.path.insert(0, 'scripts'); import build; build.build()"
        done = subprocess.run([tool("python"), "-c", code], cwd=tree, env=os.environ | {"PYTHONPATH": str(tree / "calc")})
        if done.returncode:
            sys.exit(f"the site of {tree.name} could not be built")
    return built


class Served:
    """A folder behind a server of its own, which can be killed."""

    def __init__(self, folder: Path) -> None:
        self._process = subprocess.Popen([sys.executable, Path(__file__).with_name("server.py"), folder, "--port", "0"],
                                         stdout=subprocess.PIPE, text=True)
        self.url = self._process.stdout.readline().strip()

    def kill(self) -> None:
        self._process.kill()
        self._process.wait()


@contextmanager
def all_served(folders: dict[str, Path]) -> Iterator[dict[str, str]]:
    """Address of each side while it is served."""
    served = {name: Served(folder) for name, folder in folders.items()}
    try:
        yield {name: one.url for name, one in served.items()}
    finally:
        for one in served.values():
            one.kill()


# --- a browser


def wait(page, expression: str, seconds: float = 120):
    """Not Playwright's own waiting, which the policy of our pages forbids."""
    for _ in range(int(seconds / 0.02)):
        if value := page.evaluate(expression):
            return value
        page.wait_for_timeout(20)
    raise SystemExit(f"never came: {expression}")


@contextmanager
def chromium():
    from playwright.sync_api import sync_playwright

    from engines import CHROMIUM_ARGS

    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as profile:
        context = playwright.chromium.launch_persistent_context(
            profile, executable_path=shutil.which("chromium"), args=CHROMIUM_ARGS, headless=True)
        yield context
        context.close()


@contextmanager
def tab(context, url: str, *scripts: str):
    page = context.new_page()
    for script in scripts:
        page.add_init_script(script)
    page.goto(url)
    yield page
    page.close()


def rig_kept(rig: dict[str, str]) -> str:
    """A script: the rig that the page finds, as kept from an earlier visit."""
    return f"localStorage.setItem({json.dumps(RIG_KEY)}, {json.dumps(json.dumps(rig))});"


def first_answer(context, url: str) -> tuple[float, float]:
    """From navigation to what leads of the first live answer, and to the whole of it."""
    with tab(context, url, NOTES) as page:
        return wait(page, "notes.answers[0] && [notes.leads[0] ?? notes.answers[0], notes.answers[0]]")


def first_value(context, url: str) -> float:
    with tab(context, url) as page:
        return wait(page, "window.first")


def first_visit(context, urls: dict[str, str]) -> None:
    """Keep every side on the device, and open each once more, so that what follows is a repeat visit for all."""
    for name, url in urls.items():
        with tab(context, url) as page:
            wait(page, "window.kept" if name == BARE_SIDE
                 else "document.querySelector('loft-offline')?.dataset.standing === 'ready'")
    for name, url in urls.items():
        if name == BARE_SIDE:
            first_value(context, url)
        else:
            first_answer(context, url + CALCULATOR)


# The plan's form is folded away until it is wanted; before it never was.
OPEN_FORM = """{ document.querySelector('.loft-change')?.setAttribute('open', '');
    document.querySelectorAll('.loft-groupname[aria-expanded="false"]').forEach((name) => name.click()); }"""


def tube(number: int) -> str:
    """A tube that was not typed before, in one unit or another."""
    return f"{74 + 0.0137 * number:.4f} mm" if number % 3 else f"{2.95 + 0.00054 * number:.5f} in"


def typing(context, url: str, field: str, numbers: range, opening: str = "", *scripts: str) -> list[tuple[float, float]]:
    """From each change of a field to what leads of the new answer in the page, and to the whole of it; the first three are not counted.
    opening: what is done to the page before."""
    took = []
    with tab(context, url, NOTES, *scripts) as page:
        wait(page, "notes.answers.length")
        page.wait_for_timeout(500)
        page.evaluate(OPEN_FORM + opening)
        control = page.locator(f'input[name="{field}"]').first
        for number in numbers:
            page.evaluate("notes.answers.length = notes.leads.length = 0")
            control.fill(tube(number))
            took.append(wait(page, "notes.answers[0] && [notes.leads[0] ?? notes.answers[0], notes.answers[0]].map((at) => at - notes.typed)"))
            page.wait_for_timeout(60)
    return took[3:]


def typed(context, urls: dict[str, str], keystrokes: int, opening: str = "") -> dict[str, dict[str, list[float]]]:
    """Page -> side -> times. The calculator with a rig of one bay on both sides, the plan with the rig that each starts with, and opened by a script."""
    found: dict[str, dict[str, list[float]]] = {page: {name: [] for name in (*urls, WHOLE)} for page in (CALCULATOR, PLAN)}
    each = 3 + -(-keystrokes // 4)
    for turn in range(4):
        for page, (name, url) in ((page, side) for page in found for side in list(urls.items())[:: 1 if turn % 2 else -1]):
            kept = rig_kept(ONE_BAY if name == NOW and page == CALCULATOR else {})
            took = typing(context, url + page, TUBE_FIELD[name], range(turn * each, (turn + 1) * each), opening, kept)
            found[page][name] += [lead for lead, _ in took]
            found[page][WHOLE] += [whole for _, whole in took if name == NOW]
    return found


# Each row of questions is asked one after the other; how long it took after each of them.
ASK = """async ([door, rows]) => {
  const { ask } = await import(door);
  const took = [];
  for (const row of rows) {
    const begun = performance.now();
    const ends = [];
    for (const question of row) {
      const reply = await ask(question);
      ends.push(performance.now() - begun);
      if (!reply.ok) throw new Error(JSON.stringify(reply));
    }
    took.push(ends);
  }
  return took;
}"""


def asked(context, urls: dict[str, str], each: int, names: Iterable[str]) -> dict[str, dict[str, list[float]]]:
    """Comparison of bench_core -> side -> times in the browser; what all were asked once before is not counted."""
    found: dict[str, dict[str, list[float]]] = {name: {side: [] for side in (*urls, WHOLE)} for name in names}
    doors = {}
    for side, url in urls.items():
        page = context.new_page()
        page.add_init_script(NOTES)
        page.goto(url + CALCULATOR)
        wait(page, "notes.answers[0]")
        script = page.evaluate("performance.getEntriesByType('resource').map((one) => one.name).find((name) => name.endsWith('/messenger.js'))")
        doors[side] = page, script
    for turn in range(3):
        for name in found:
            for side in list(urls)[:: 1 if turn % 2 else -1]:
                page, script = doors[side]
                texts = questions(name, side == NOW, range(turn * each, (turn + 1) * each))
                took = page.evaluate(ASK, [script, [[one, rest(one)] if side == NOW else [one] for one in texts]])
                for ends in took if turn else []:
                    found[name][side].append(ends[0])
                    found[name][WHOLE] += ends[1:]
    for page, _ in doors.values():
        page.close()
    return found


# --- bytes


def squeezed(file: Path, hows: Iterable[str]) -> dict[str, int]:
    """Size on the wire; brotli takes half a minute over an image, so a size once found is kept by content."""
    sizes = {}
    for how in hows:
        note = CACHE / "wire" / f"{digest(file)}.{how}"
        if not note.is_file():
            import brotli

            data = file.read_bytes()
            small = gzip.compress(data, 6) if how == "gzip" else brotli.compress(data, quality=11, lgwin=24)
            note.parent.mkdir(parents=True, exist_ok=True)
            note.write_text(str(len(small)))
        sizes[how] = int(note.read_text())
    return sizes


def wire(url: str, site: Path) -> dict[str, int]:
    """Bytes that a first visit to a calculator's page fetches until it is live, squeezed, without what it keeps for later."""
    asked: set[str] = set()
    with chromium() as context:
        context.on("request", lambda request: asked.add(request.url))
        with tab(context, url + CALCULATOR, NO_WORKER, NOTES) as page:
            wait(page, "notes.answers[0]")
    return fetched(asked, url, site)


def fetched(asked: set[str], url: str, site: Path, hows: tuple[str, ...] = ("gzip", "brotli")) -> dict[str, int]:
    """Bytes, squeezed one way or another, and number of the files of a site that were asked for."""
    total = dict.fromkeys((*hows, "files"), 0)
    for address in asked:
        file = site / urlsplit(address).path.lstrip("/")
        file = file / "index.html" if file.is_dir() else file
        if address.startswith(url) and file.is_file():
            total["files"] += 1
            for how, size in squeezed(file, hows).items():
                total[how] += min(size, file.stat().st_size)
    return total


# --- all of it


def percentile(values: list[float], share: float) -> float:
    return sorted(values)[math.ceil(share * len(values)) - 1]


def bench(rounds: int, keystrokes: int, alone: bool) -> dict:
    sites = {NOW: SITE} if alone else {NOW: SITE, OLD: site_before()}
    with tempfile.TemporaryDirectory() as scratch, chromium() as context:
        write_bare(Path(scratch))
        with all_served(sites | {BARE_SIDE: Path(scratch)}) as urls:
            first_visit(context, urls)
        starts: dict[str, list[float]] = {f"{name} /{page}": [] for name in (*sites, WHOLE) for page in (CALCULATOR, PLAN)}
        starts[BARE_SIDE] = []
        for turn in range(rounds):
            for name in list(sites)[:: 1 if turn % 2 else -1]:
                for page in (CALCULATOR, PLAN):
                    lead, whole = first_answer(context, urls[name] + page)
                    starts[f"{name} /{page}"].append(lead)
                    starts[f"{WHOLE} /{page}"] += [whole] if name == NOW else []
            starts[BARE_SIDE].append(first_value(context, urls[BARE_SIDE]))
        answers = typed(context, {name: urls[name] for name in sites}, keystrokes)
        thought = {} if alone else asked(context, {name: urls[name] for name in sites}, 10, pairs())
    with all_served(sites) as urls:
        bytes_ = {name: wire(urls[name], site) for name, site in sites.items()}
    return {
        "machine": f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}",
        "first answer, ms": starts,
        "typing, ms": answers,
        "question to answer, ms": thought,
        "first visit, bytes": bytes_,
        "ratio": statistics.median(starts[f"{WHOLE} /{CALCULATOR}"]) / statistics.median(starts[BARE_SIDE]),
    }


def ratios(result: dict) -> dict[str, tuple[float, float]]:
    """What is compared with the site of before -> (ratio, goal); no goal, infinity, for the whole where what leads has one."""
    found = {}
    for page in (CALCULATOR, PLAN):
        now, whole, old = (statistics.median(result["first answer, ms"][f"{name} /{page}"]) for name in (NOW, WHOLE, OLD))
        found[f"start, /{page}"] = now / old, GOALS["start"]
        found[f"start, /{page}, the whole"] = whole / old, math.inf
        now, whole, old = (statistics.median(result["typing, ms"][page][name]) for name in (NOW, WHOLE, OLD))
        found[f"typing, /{page}"] = now / old, GOALS[page]
        found[f"typing, /{page}, the whole"] = whole / old, math.inf
    for name, sides in result["question to answer, ms"].items():
        now, whole, old = (statistics.median(sides[side]) for side in (NOW, WHOLE, OLD))
        found[f"asked, {name}"] = now / old, CORE_GOALS[pairs()[name][3]]
        found[f"asked, {name}, the whole"] = whole / old, math.inf
    for how in ("gzip", "brotli"):
        now, old = (result["first visit, bytes"][name][how] for name in (NOW, OLD))
        found[f"first visit, {how}"] = now / old, GOALS["wire"]
    return found


def show(result: dict) -> None:
    starts = result["first answer, ms"]
    say(f"Repeat visit, server killed, Chromium headless ({result['machine']}); medians of {len(starts[BARE_SIDE])}:")
    for name, values in starts.items():
        what = "first value, bare Pyodide" if name == BARE_SIDE else f"first live answer, {name}"
        say(f"  {what:<40} {statistics.median(values):6.0f} ms   ({min(values):.0f} to {max(values):.0f})")
    say(f"  ratio to bare Pyodide {result['ratio']:.3f} (limit {RATIO_LIMIT})")
    for page, sides in result["typing, ms"].items():
        for name, took in sides.items():
            say(f"  typing to new answer, {name} /{page:<11} p50 {percentile(took, 0.5):.0f} ms, p95 {percentile(took, 0.95):.0f} ms")
    for name, sizes in result["first visit, bytes"].items():
        say(f"  first visit to /{CALCULATOR}, {name}: {sizes['files']} files, {sizes['gzip']} bytes gzip, {sizes['brotli']} brotli")


def main() -> None:
    parser = argparse.ArgumentParser(description="Time the live pages.")
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--keystrokes", type=int, default=40)
    parser.add_argument("--json", type=Path, help="also write every time that was taken")
    parser.add_argument("--alone", action="store_true", help="without the site of before")
    given = parser.parse_args()
    result = bench(max(given.rounds, 7), given.keystrokes, given.alone)
    show(result)
    good = result["ratio"] <= RATIO_LIMIT
    for what, (ratio, goal) in ({} if given.alone else ratios(result)).items():
        told = f" (goal {goal})" if math.isfinite(goal) else ""
        say(f"  beside {BEFORE}: {what:<35} ratio {ratio:.3f}{told}" + ("" if ratio <= goal else "  MISSED"))
        good &= ratio <= goal
    if given.json:
        given.json.write_text(json.dumps(result, indent=1))
    if not good:
        sys.exit("slower or larger than it may be")


if __name__ == "__main__":
    house.go_inside()
    main()
