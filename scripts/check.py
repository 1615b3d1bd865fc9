"""Everything that must hold before a change goes in: sets up, builds, then style, types and all tests.

    python3 scripts/check.py [arguments for pytest]

Ends with pytest's own closing line, and with a code other than 0 if anything failed.
"""

import subprocess
import sys

import house
from house import ROOT, say, step, tool

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
    tests = subprocess.run([tool("python"), "-m", "pytest", *(sys.argv[1:] or ALL)], cwd=str(ROOT), stdin=subprocess.DEVNULL)
    sys.exit(tests.returncode or not (style and types))


if __name__ == "__main__":
    main()
