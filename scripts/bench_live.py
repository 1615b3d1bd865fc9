"""How soon a page answers on a repeat visit without a network, beside bare Pyodide in the same run; and how soon it answers typing.

    python3 scripts/bench_live.py [--rounds N] [--keystrokes N] [--json FILE]

Both sides: headless Chromium, a module worker, every file kept by a service worker at an earlier visit, the server killed. Ours is
timed from navigation to the first live answer in the page, the bare one to the first value out of Python. Rounds alternate.
"""

import argparse
import json
import math
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path

import house
from house import MODULES, SITE, say

RATIO_LIMIT = 0.45
CALCULATOR, PLAN = "folding/", "plan/"
TUBES = ("76 mm", "3 in", "78 mm", "77.5 mm", "3.1 in", "74 mm")
CHROMIUM_ARGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
                 "--disable-component-update", "--disable-sync"]

# Runs before a page's own scripts: notes when a reader typed and when an answer was put into the page.
NOTES = """
window.notes = { typed: 0, answers: [] };
addEventListener("input", () => (notes.typed = performance.now()), true);
new MutationObserver(() => notes.answers.push(performance.now()))
  .observe(document, { subtree: true, attributes: true, attributeFilter: ["data-answer"] });
"""

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


def write_bare(folder: Path) -> None:
    """A page that boots Pyodide and nothing else."""
    for name in BARE_PYODIDE:
        shutil.copy(MODULES / "pyodide" / name, folder)
    files = json.dumps(["./", *(name for name in BARE if name not in ("index.html", "keep.js")), *BARE_PYODIDE])
    for name, text in BARE.items():
        (folder / name).write_text(text.replace("%s", files))


class Served:
    """A folder behind a server of its own, which can be killed."""

    def __init__(self, folder: Path) -> None:
        self._process = subprocess.Popen([sys.executable, Path(__file__).with_name("server.py"), folder, "--port", "0"],
                                         stdout=subprocess.PIPE, text=True)
        self.url = self._process.stdout.readline().strip()

    def kill(self) -> None:
        self._process.kill()
        self._process.wait()


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

    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as profile:
        context = playwright.chromium.launch_persistent_context(
            profile, executable_path=shutil.which("chromium"), args=CHROMIUM_ARGS, headless=True)
        yield context
        context.close()


@contextmanager
def tab(context, url: str, script: str | None = None):
    page = context.new_page()
    if script:
        page.add_init_script(script)
    page.goto(url)
    yield page
    page.close()


def first_answer(context, url: str) -> float:
    with tab(context, url, NOTES) as page:
        return wait(page, "notes.answers[0]")


def first_value(context, url: str) -> float:
    with tab(context, url) as page:
        return wait(page, "window.first")


def first_visit(context, ours: str, bare: str) -> None:
    """Keep both on the device, and open each once more, so that what follows is a repeat visit for both."""
    with tab(context, ours) as page:
        wait(page, "document.querySelector('loft-offline')?.dataset.standing === 'ready'")
    with tab(context, bare) as page:
        wait(page, "window.kept")
    first_answer(context, ours + CALCULATOR)
    first_value(context, bare)


def typing(context, url: str, keystrokes: int) -> list[float]:
    """From each change of a field to the new answer in the page."""
    took = []
    with tab(context, url, NOTES) as page:
        wait(page, "notes.answers.length")
        page.wait_for_timeout(500)
        field = page.locator('input[name="rocket.tube"]').first
        begin = TUBES.index(field.input_value()) + 1 if field.input_value() in TUBES else 0  # a rig is kept from page to page
        for number in range(begin, begin + keystrokes + 3):
            page.evaluate("notes.answers.length = 0")
            field.fill(TUBES[number % len(TUBES)])
            took.append(wait(page, "notes.answers[0] && notes.answers[0] - notes.typed"))
            page.wait_for_timeout(60)
    return took[3:]


def percentile(values: list[float], share: float) -> float:
    return sorted(values)[math.ceil(share * len(values)) - 1]


def bench(rounds: int, keystrokes: int) -> dict:
    with tempfile.TemporaryDirectory() as scratch, chromium() as context:
        write_bare(Path(scratch))
        ours, bare = Served(SITE), Served(Path(scratch))
        try:
            first_visit(context, ours.url, bare.url)
        finally:
            ours.kill()
            bare.kill()
        times: dict[str, list[float]] = {"ours": [], "plan": [], "bare": []}
        for _ in range(rounds):
            times["ours"].append(first_answer(context, ours.url + CALCULATOR))
            times["bare"].append(first_value(context, bare.url))
            times["plan"].append(first_answer(context, ours.url + PLAN))
        typed = {name: typing(context, ours.url + name, keystrokes) for name in (CALCULATOR, PLAN)}
    medians = {name: statistics.median(values) for name, values in times.items()}
    return {
        "machine": f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}",
        "first answer, ms": times,
        "medians, ms": medians,
        "ratio": medians["ours"] / medians["bare"],
        "ratio of the plan": medians["plan"] / medians["bare"],
        "typing, ms": {name: {"p50": percentile(took, 0.5), "p95": percentile(took, 0.95)} for name, took in typed.items()},
    }


def show(result: dict) -> None:
    say(f"Repeat visit, server killed, Chromium headless ({result['machine']}); medians of {len(result['first answer, ms']['ours'])}:")
    for name, what in (("ours", f"first live answer, /{CALCULATOR}"), ("plan", f"first live answer, /{PLAN}"),
                       ("bare", "first value from bare Pyodide")):
        values = result["first answer, ms"][name]
        say(f"  {what:<34} {result['medians, ms'][name]:6.0f} ms   ({min(values):.0f} to {max(values):.0f})")
    say(f"  ratio {result['ratio']:.3f} (limit {RATIO_LIMIT}); of the plan page {result['ratio of the plan']:.3f}")
    for name, took in result["typing, ms"].items():
        say(f"  typing to new answer, /{name:<11} p50 {took['p50']:.0f} ms, p95 {took['p95']:.0f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description="Time the live pages.")
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--keystrokes", type=int, default=40)
    parser.add_argument("--json", type=Path, help="also write every time that was taken")
    given = parser.parse_args()
    result = bench(max(given.rounds, 7), given.keystrokes)
    show(result)
    if given.json:
        given.json.write_text(json.dumps(result, indent=1))
    if result["ratio"] > RATIO_LIMIT:
        sys.exit("slower than it may be")


if __name__ == "__main__":
    house.go_inside()
    main()
