"""Judges random rigs and the plainly good ones, and prints counts: `python scripts/judge.py --count 5000 --processes 2`.

For each rig the plan is made, and what the plan calls sound goes to the independent judge of tests/judge. A sound rig that the
judge calls dangerous is printed with its number, from which it can be made again, and what is dangerous about it.
The whole, 5,000 rigs, is run by hand before a release; a small part of it runs with the tests.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from multiprocessing import Pool
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "calc"), str(ROOT / "tests" / "judge")]

from good_rigs import GOOD  # noqa: E402
from verdict import dangers, judged  # noqa: E402
from wild_rigs import rig  # noqa: E402

from loftbook.plan import data, plan  # noqa: E402


@dataclass(frozen=True)
class Judgement:
    """One rig: its number, kind and way down; the checks that fail; what the judge finds where none does.

    broken: why there is no plan at all, which is a fault of the core; anyway: dangers whatever the checks say.
    """

    number: int
    kind: str
    way: str
    failed: tuple[str, ...] = ()
    found: tuple[str, ...] = ()
    anyway: tuple[str, ...] = ()
    broken: str = ""

    @property
    def sound(self) -> bool:
        return not self.failed and not self.broken


def judge(number: int, thorough: bool = False) -> Judgement:
    """One random rig judged; `thorough`: unsound ones are judged as well."""
    kind, texts = rig(number)
    way = texts.get("flight.way", "")
    try:
        whole = plan(texts)
    except Exception as error:  # whatever it is: it is told with the number of the rig
        return Judgement(number, kind, way, broken=f"{type(error).__name__}: {error}")
    way, plain = whole.rig.text("flight.way"), data(whole)
    failed = tuple(f"{check.bay} {check.name}".strip() for check in whole.checks if check.verdict == "fail")
    found = () if failed else tuple(map(str, judged(plain)))
    anyway = tuple(one.name for one in dangers(plain)) if failed and thorough else ()
    return Judgement(number, kind, way, failed, found, anyway)


def thoroughly(number: int) -> Judgement:
    return judge(number, thorough=True)


def good_ones() -> dict[str, tuple[str, ...]]:
    """Plainly good rigs that fail a check, or that the judge finds dangerous, each with the reasons."""
    found = {}
    for name, texts in GOOD.items():
        whole = plan(texts)
        failed = [f"{check.bay} {check.name}: {check.reason}" for check in whole.checks if check.verdict == "fail"]
        found[name] = (*failed, *(f"judge: {one}" for one in judged(data(whole))))
    return {name: reasons for name, reasons in found.items() if reasons}


def told(all_of_them: Iterable[Judgement], thorough: bool) -> bool:
    """Prints the counts; whether nothing dangerous was called sound."""
    ones = list(all_of_them)
    sound = [one for one in ones if one.sound]
    print(f"{len(ones)} rigs judged, {len(sound)} sound by the plan, {sum(bool(one.broken) for one in ones)} without a plan")
    for title, key in (("way down", lambda one: one.way), ("kind", lambda one: one.kind)):
        for name, count in sorted(Counter(map(key, ones)).items()):
            print(f"  {title}: {name}: {sum(key(one) == name for one in sound)} sound of {count}")
    print("checks that fail most:", *(f"\n  {count} × {name}" for name, count in _most(ones)))
    bad = [one for one in sound if one.found]
    print(f"dangerous among the sound: {len(bad)}")
    for name, count in Counter(text.split(" (")[0] for one in bad for text in one.found).most_common():
        print(f"  {count} × {name}")
    for one in bad:
        print(f"  number {one.number} ({one.kind}; {one.way}): {'; '.join(one.found)}")
    if thorough:
        harmless = sum(not one.anyway for one in ones if one.failed)
        print(f"of {sum(bool(one.failed) for one in ones)} unsound ones the judge finds nothing dangerous about {harmless}")
    for one in ones:
        if one.broken:
            print(f"  number {one.number} has no plan: {one.broken}")
    return not bad and not any(one.broken for one in ones)


def _most(ones: list[Judgement]) -> list[tuple[str, int]]:
    return Counter(name.split()[-1] for one in ones for name in set(one.failed)).most_common(12)


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=5000, help="random rigs (5000)")
    options.add_argument("--seed", type=int, default=0, help="number of the first (0)")
    options.add_argument("--processes", type=int, default=1, help="at a time (1)")
    options.add_argument("--thorough", action="store_true", help="judge unsound rigs as well: how many of them hurt nobody")
    said = options.parse_args()
    numbers = range(said.seed, said.seed + said.count)
    with Pool(said.processes) as pool:
        fine = told(pool.imap_unordered(thoroughly if said.thorough else judge, numbers, chunksize=8), said.thorough)
    failing = good_ones()
    print(f"{len(GOOD)} plainly good rigs, {len(failing)} of them fail a check or are called dangerous")
    for name, reasons in failing.items():
        print(f"  {name}: {'; '.join(reasons)}")
    return 0 if fine and 20 * len(failing) <= len(GOOD) else 1


if __name__ == "__main__":
    sys.exit(main())
