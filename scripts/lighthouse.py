"""Scores of Lighthouse, as a phone over a slow line, for every page in both schemes: `python scripts/lighthouse.py`.

    --pages "" plan/   only these        --rounds N   of the performance the middle one of so many (3)

Goals: performance 95, accessibility, best practices and search 100; below one it ends with a code other than 0. Performance wants a quiet
machine: it is told with how much the machine did beside. Lighthouse (Apache License 2.0) is locked in scripts/lighthouse and put into
.cache/lighthouse; only this script wants it.
"""

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import threading
from pathlib import Path

import house
from house import ROOT, say, tool
from server import make_server

HOME, CACHE = ROOT / "scripts" / "lighthouse", ROOT / ".cache" / "lighthouse"
GOALS = {"performance": 95, "accessibility": 100, "best-practices": 100, "seo": 100}
SCHEMES = {"light": 1, "dark": 0}  # as the browser's own setting counts them


def library() -> Path:
    if not (CACHE / "node_modules").is_dir():
        CACHE.mkdir(parents=True, exist_ok=True)
        for file in HOME.iterdir():
            shutil.copy(file, CACHE)
        subprocess.run([tool("npm"), "ci", "--silent"], cwd=CACHE, check=True)
    return CACHE / "node_modules" / "lighthouse" / "cli" / "index.js"


def scores(address: str, scheme: str, only: list[str]) -> dict[str, int]:
    """Of one page, loaded once, each out of a hundred."""
    flags = f"--headless --no-sandbox --disable-gpu --blink-settings=preferredColorScheme={SCHEMES[scheme]}"
    command = [tool("node"), library(), address, "--quiet", f"--chrome-flags={flags}", "--output=json", f"--only-categories={','.join(only)}"]
    path = shutil.which("chromium") or shutil.which("google-chrome") or ""
    for last in (False, False, True):  # now and then it finds no trace of what it recorded, and asks to be run again
        done = subprocess.run(command, env=os.environ | {"CHROME_PATH": path}, stdout=subprocess.PIPE, check=last)
        if not done.returncode:
            break
    report = json.loads(done.stdout)
    for name, audit in report["audits"].items():
        if audit["score"] == 0 and audit["scoreDisplayMode"] == "binary":
            say(f"    {address} {scheme}: {name}: {audit['title']}")
    return {name: int(100 * one["score"]) for name, one in report["categories"].items()}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pages", nargs="*")
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    site = ROOT / "site"
    pages = given.pages or sorted("" if file.parent == site else f"{file.parent.relative_to(site)}/" for file in site.rglob("index.html"))
    server = make_server(site)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    base, below = f"http://localhost:{server.server_address[1]}/", 0
    say(f"{'page':14} scheme  {'  '.join(GOALS)}  (beside it: {os.getloadavg()[0]:.1f} processes)")
    for page in pages:
        for scheme in SCHEMES:
            found = scores(base + page, scheme, [*GOALS])
            rounds = [found["performance"], *(scores(base + page, scheme, ["performance"])["performance"] for _ in range(given.rounds - 1))]
            found["performance"] = int(statistics.median(rounds))
            low = [name for name, goal in GOALS.items() if found[name] < goal]
            below += bool(low)
            say(f"{page or 'start':14} {scheme:6}  {'  '.join(f'{found[name]:>{len(name)}}' for name in GOALS)}{'  below: ' + ', '.join(low) if low else ''}")
    server.shutdown()
    return 1 if below else 0


if __name__ == "__main__":
    house.go_inside()
    sys.exit(main())
