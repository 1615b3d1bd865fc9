"""Everything that must hold before a change goes in: sets up, builds, then style, types and all tests.

    python3 scripts/check.py [--whole] [arguments for pytest]

--whole: of the long sweeps all, where else a seeded share is played (sweeps.py); hours.
Ends with pytest's own closing line, and with a code other than 0 if anything failed.
"""

import os
import subprocess
import sys

import house
from house import ROOT, say, step, tool

WHOLE = "--whole"
ALL = ("-n", "2", "--dist", "loadfile")  # whole files side by side: a browser each, and what a file has built


def passes(name, *command):
    with step(name):
        return subprocess.run([tool("python"), "-m", *command], cwd=str(ROOT), stdin=subprocess.DEVNULL).returncode == 0


def main():
    house.go_inside()
    import build

    with step("the whole site"):
        build.build()
    style = passes("style (ruff)", "ruff", "check", "--quiet", ".")
    types = passes("types (mypy)", "mypy", "--no-error-summary")
    say("  style: %s, types: %s; the tests follow" % tuple("good" if good else "FAULTS" for good in (style, types)))
    given = [one for one in sys.argv[1:] if one != WHOLE]
    if len(given) < len(sys.argv) - 1:
        os.environ["LOFTBOOK_WHOLE"] = "1"
    tests = subprocess.run([tool("python"), "-m", "pytest", *(given or ALL)], cwd=str(ROOT), stdin=subprocess.DEVNULL)
    sys.exit(tests.returncode or not (style and types))


if __name__ == "__main__":
    main()
