"""How soon the core answers what is typed, side by side with the tree as it was before a rig could have two bays.

    python3 scripts/bench_core.py [--rounds N] [--only NAME ...] [--json FILE] [--profile NAME]

Both cores run at once, each in a process of its own, and are asked in turn through their own door; each question is timed inside, by
the processor's time, which hangs less on what else the machine does.
Every question holds a text that was never asked before, so that nothing remembered answers it. A page asks twice now: for what leads
(the sentence, the picture, the numbers), which is what whoever types looks at, then for the rest; before, it asked once for all. The goal is for what
leads; the whole, both questions together, is told beside it. The tree of before comes out of the repository's own history.
Claims about speed are made from this, bench_live.py, bench_next.py and speed.py only.
"""

import argparse
import io
import json
import math
import os
import platform
import statistics
import subprocess
import sys
import tarfile
from collections.abc import Iterable
from operator import truediv
from pathlib import Path

import house
from house import CACHE, ROOT, say

BEFORE = "e032817"  # the last commit with one bay in a rig
GOALS = {"typing": 0.6, "plan": 1.0}
ONE_BAY, TWO_BAYS = {"rig.start": "one bay, 75 mm"}, {"rig.start": "two bays, 98 mm"}

# What is typed into each calculator: its field now, its field before, the number it begins with, its unit. The starting rig of one
# bay and the rig of before are the same rocket.
TYPED = {
    "canopy": ("main.canopy.size", "canopy.size", 1.4, "m"),
    "folding": ("main.canopy.size", "canopy.size", 1.4, "m"),
    "packing": ("main.bay.depth", "rocket.bay", 600, "mm"),
    "cord": ("main.cord.length", "cord.length", 9.5, "m"),
    "separation": ("main.joint.friction", "joint.friction", 25, "N"),
    "descent": ("rocket.mass", "rocket.mass", 2.2, "kg"),
    "loads": ("rocket.mass", "rocket.mass", 2.2, "kg"),
    "landing": ("flight.wind", "flight.wind", 4, "m/s"),
    "compare": ("main.pack.density", "pack.density", 0.32, "g/cm^3"),
    "mistakes": ("main.bay.tube", "rocket.tube", 75, "mm"),
}
PLAN = ("main.bay.tube", "rocket.tube", 75, "mm")
PLAN_OF_TWO = ("main.bay.tube", "rocket.tube", 98, "mm")
PLAN_BY_MASS = ("rocket.mass", "rocket.mass", 5.6, "kg")  # of all fields the one on which most hangs

# One core in a process: a question a line, answered by how long it took the processor [ms] and whether there was an answer.
CORE = """
import json, sys, time
from importlib import import_module
answer = import_module(sys.argv[1]).answer
for line in sys.stdin:
    begun = time.process_time()
    reply = answer(line)
    took = time.process_time() - begun
    print(json.dumps([1000 * took, json.loads(reply)["ok"], len(reply)]), flush=True)
"""


class Core:
    """One tree's core, asked in a process of its own."""

    def __init__(self, tree: Path, door: str) -> None:
        self._process = subprocess.Popen([sys.executable, "-c", CORE, door], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                         text=True, env=os.environ | {"PYTHONPATH": str(tree / "calc")}, cwd=CACHE)

    def took(self, question: dict[str, object]) -> float:
        """How long it thinks about one question [ms]."""
        print(json.dumps(question), file=self._process.stdin, flush=True)
        took, good, _ = json.loads(self._process.stdout.readline() or sys.exit("the core has stopped"))
        if not good:
            sys.exit(f"refused: {question}")
        return took

    def end(self) -> None:
        self._process.stdin.close()
        self._process.wait()


def tree_before() -> Path:
    """The tree of before, taken out of the repository once."""
    tree = CACHE / f"tree-{BEFORE}"
    if not (tree / "calc").is_dir():
        packed = subprocess.run(["git", "archive", BEFORE], cwd=ROOT, capture_output=True, check=False)
        if packed.returncode:
            sys.exit(f"the commit {BEFORE} is not in this repository; fetch its whole history to compare with it")
        tree.mkdir(parents=True, exist_ok=True)
        with tarfile.open(fileobj=io.BytesIO(packed.stdout)) as files:
            files.extractall(tree, filter="data")
    return tree


def _text(number: float, unit: str, turn: int) -> str:
    """The number typed at a turn: a little more each time."""
    return f"{number * (1 + 0.00037 * turn):.7g} {unit}"


def pairs() -> dict[str, tuple[str, tuple[str, str, float, str], dict[str, str], str]]:
    """Name of a comparison -> calculator, what is typed, the rig now, the goal."""
    single = {name: (name, typed, ONE_BAY, "typing") for name, typed in TYPED.items()}
    return single | {
        "plan of two bays": ("plan", PLAN_OF_TWO, TWO_BAYS, "plan"),
        "the same, mass": ("plan", PLAN_BY_MASS, TWO_BAYS, "plan"),
        "plan of one bay": ("plan", PLAN, ONE_BAY, "plan"),
    }


def questions(name: str, now: bool, turns: range) -> list[dict[str, object]]:
    """What one side is asked at these turns, each text new to it."""
    calculator, (path, old_path, number, unit), rig, _ = pairs()[name]
    old_number = {"plan of two bays": PLAN[2], "the same, mass": TYPED["descent"][2]}.get(name, number)
    fields = [rig | {path: _text(number, unit, turn)} if now else {old_path: _text(old_number, unit, turn)} for turn in turns]
    return [{"do": "calculate", "calculator": calculator, "fields": one} for one in fields]


def rest(question: dict[str, object]) -> dict[str, object]:
    """What a page asks behind that question now."""
    return question | {"do": "more"}


def bench(rounds: int, names: Iterable[str]) -> dict[str, dict[str, list[float]]]:
    """Name -> {"now", "whole", "before"} -> times [ms], asked in turn, the first side changing. now: to what leads; whole: to all of it."""
    now, before = Core(ROOT, "loftbook.faces.live"), Core(tree_before(), "loftbook.live")
    times: dict[str, dict[str, list[float]]] = {name: {"now": [], "whole": [], "before": []} for name in names}
    warm = 2
    for name in times:  # one after the other, as whoever types stays on a page
        for turn in range(rounds + warm):
            for side, core in (("now", now), ("before", before))[:: 1 if turn % 2 else -1]:
                (question,) = questions(name, core is now, range(turn, turn + 1))
                took = {side: core.took(question)}
                if core is now:
                    took["whole"] = took["now"] + now.took(rest(question))
                for what, long in took.items() if turn >= warm else ():
                    times[name][what].append(long)
    now.end()
    before.end()
    return times


def show(times: dict[str, dict[str, list[float]]]) -> bool:
    """Medians, and the middle of the ratios of each turn, whose two sides were asked one after the other; whether every goal is reached."""
    count = len(next(iter(times.values()))["now"])
    say(f"Typing to answer in CPython, beside {BEFORE}; medians of {count}, ms ({platform.machine()}, {os.cpu_count()} cores, "
        f"load {os.getloadavg()[0]:.1f}):")
    single: dict[str, list[float]] = {"now": [], "whole": []}
    good = True
    for name, found in times.items():
        goal = GOALS[pairs()[name][3]]
        now, whole, before = (statistics.median(found[side]) for side in ("now", "whole", "before"))
        ratio = {side: statistics.median(map(truediv, found[side], found["before"])) for side in single}
        good &= ratio["now"] <= goal
        for side, ratios in single.items():
            ratios += [ratio[side]] if name in TYPED else []
        say(f"  {name:<18} {now:7.2f}  before {before:7.2f}  ratio {ratio['now']:.2f}  (goal {goal})"
            f"   the whole {whole:7.2f}  ratio {ratio['whole']:.2f}" + ("" if ratio["now"] <= goal else "  MISSED"))
    for side, told in (("now", "to what leads"), ("whole", "to the whole")):
        if found := single[side]:
            say(f"  single calculators, {told}: worst {max(found):.2f}, middle {statistics.median(found):.2f}, "
                f"geometric mean {math.prod(found) ** (1 / len(found)):.2f}")
    return good


def profile(name: str) -> None:
    """Where the time of one answer of this tree goes."""
    import cProfile
    import pstats

    sys.path.insert(0, str(ROOT / "calc"))
    from loftbook.faces.live import answer

    def ask(turn: int) -> None:
        (question,) = questions(name, True, range(turn, turn + 1))
        answer(json.dumps(question))
        answer(json.dumps(rest(question)))

    ask(0)
    watch = cProfile.Profile()
    watch.enable()
    for turn in range(1, 11):
        ask(turn)
    watch.disable()
    pstats.Stats(watch).sort_stats("tottime").print_stats(35)


def main() -> None:
    parser = argparse.ArgumentParser(description="Time the core beside the tree of before.")
    parser.add_argument("--rounds", type=int, default=61)
    parser.add_argument("--json", type=Path, help="also write every time that was taken")
    parser.add_argument("--only", nargs="+", choices=list(pairs()), default=list(pairs()), help="these comparisons and no others")
    parser.add_argument("--profile", choices=list(pairs()), help="instead show where the time of one answer goes")
    given = parser.parse_args()
    if given.profile:
        profile(given.profile)
        return
    times = bench(max(given.rounds, 9), given.only)
    good = show(times)
    if given.json:
        given.json.write_text(json.dumps(times, indent=1))
    if not good:
        sys.exit("slower than it may be")


if __name__ == "__main__":
    house.go_inside()
    main()
