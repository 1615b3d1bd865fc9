"""For each check an optimiser looks for the rig that is worst while the check holds: none may pass the limit.

What is made worst is the judge's quantity, or a formula of the trade written here, never the core's. The core is asked one
calculator at a time. The same seed gives the same rigs. A longer search by hand: `python tests/judge/test_corners.py 2000`.
"""

import random
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import product
from math import exp, hypot, pi, sqrt
from pathlib import Path
from typing import Any

import pytest

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2] / "calc")]

import verdict
from good_rigs import GOOD
from verdict import DROGUE, FORWARD, MAIN, Case, si
from wild_rigs import anywhere, written

from loftbook.calculators import CALCULATORS
from loftbook.errors import Refusal
from loftbook.plan import joined, parted, plain, plan
from loftbook.quantity import COUNT
from loftbook.rig.fields import FIELDS, STARTS
from loftbook.rig.parsing import completed, is_relevant, parse
from loftbook.rig.ways import WAYS
from loftbook.worked.worked import Worked

TRIES = 70  # rigs of each check that are judged here
FASTEST = 40.0  # m/s that parts may fall at, under a drogue or without
WINDIEST = 20 * 0.44704  # m/s: 20 mph, a published limit
PINCH = 0.3e-3  # kg of powder, below which the wall takes most of the heat
HAIR = 1 + 1e-6  # what the two sides' arithmetic may differ by
TOUCH = 1.002  # the same for what both integrate

Texts = Mapping[str, str]
Worst = Callable[[Case, str], float]  # of a bay, canopy or cord: the true quantity over its limit


class Results(Mapping[str, Any]):
    """A plan's results, each worked out when it is asked for."""

    def __init__(self, worked: Worked) -> None:
        self.worked, self.found = worked, dict[str, Any]()
        way = worked.rig.way
        self.names = [joined(key, name) for name, one in CALCULATORS.items() if one.in_plan for key in one.keys(way)]

    def __getitem__(self, name: str) -> Any:
        if name not in self.names:
            raise KeyError(name)
        if name not in self.found:
            key, calculator = parted(name)
            answer = CALCULATORS[calculator].answer(self.worked, key)
            self.found[name] = {output: plain(value) for output, value in answer.outputs.items()}
        return self.found[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.names)

    def __len__(self) -> int:
        return len(self.names)


class Whole(Case):
    """A case in every corner. What falls without a canopy falls as its parts, each by itself, not as one cylinder."""

    @cached_property
    def bare(self) -> tuple[float, ...]:
        """The judge's model on each part [m^2]; the tail is the rest of the rocket's length."""
        if not self.falls or self.text("flight.fall") == "timed by me":
            return super().bare
        wide, long, density = self.si("rocket.diameter"), self.si("rocket.length"), self.air.density(self.si("site.elevation"))
        shadow = wide * long
        if self.text("flight.fall") == "tumbling":
            shadow = 0.75 * pi * wide * (long + len(self.sections) * wide / 2) / 4
        fastest = sqrt(2 * self.si("rocket.mass") * verdict.G / (density * 0.6 * shadow))
        return (0.3 if density * fastest * wide / 1.8e-5 > 2e5 else 0.6) * shadow, 1.2 * shadow


class Quick(Whole):
    """A case in those corners alone that are worst for one thing: quick enough to be looked for among many."""

    def _corners(self, keys: tuple[str, ...]) -> Iterator[tuple[tuple[float, ...], tuple[float, ...], float]]:
        slow, fast = verdict.FILLING[1], verdict.FILLING[0]
        least, many = tuple(self.cds(key)[0] for key in keys), len(keys)
        for bare in dict.fromkeys((min(self.bare), max(self.bare))):
            yield least, (slow,) * many, bare
        for i, key in enumerate(keys):
            areas = (*least[:i], self.cds(key)[1], *least[i + 1 :])
            for filling in (slow, fast):
                yield areas, (*(slow,) * i, filling, *(slow,) * (many - i - 1)), min(self.bare)


# --- what is made worst: each over its limit ------------------------------------------------------------


def body(case: Case, key: str) -> str:
    return "rocket" if case.tied else "forward part" if key == FORWARD else "aft part"


def touching(case: Case, key: str) -> float:
    return max(down.touchdown for down in case.downs[body(case, key)]) / verdict.TOUCHDOWN


def energy(case: Case, _: str) -> float:
    found = []
    for name, _, _ in case.bodies():
        speed = max(down.touchdown for down in case.downs[name])
        found += [mass * speed * speed / 2 / verdict.ENERGY for _, mass in verdict._landing(case, name)]
    return max(found)


def settling(case: Case, _: str) -> float:
    return verdict.SETTLED_HEIGHT / max(1.0, min(down.settled for downs in case.downs.values() for down in downs))


def opening(case: Case, _: str) -> float:
    last = [MAIN] if case.tied else [MAIN, FORWARD]
    return max(case.worst(key)[1] for key in last) / verdict.MAIN_SPEED


def steady(case: Case, area: float) -> float:
    """Rate at the field under a drag area of the whole rocket [m/s]."""
    return sqrt(2 * case.si("rocket.mass") * verdict.G / (case.air.density(case.si("site.elevation")) * area))


def drogue_rate(case: Case, key: str) -> float:
    return steady(case, case.cds(key)[0]) / FASTEST


def fall_rate(case: Case, _: str) -> float:
    return steady(case, min(case.bare)) / FASTEST


def windy(case: Case, _: str) -> float:
    return case.si("flight.wind") / WINDIEST


def breaking(case: Case, key: str) -> float:
    """Every part of a cord and of what is tied to it, a rating itself as the limit."""
    case = case if case.tied else alone(case, key)
    parts = [*verdict.cord_parts(case, key), *(verdict.canopy_parts(case, key) if key in case.canopies else ())]
    return max(part.pulled / part.bears for part in parts)


def alone(case: Case, key: str) -> Case:
    """Of two parts apart one by itself: no more than its own mass comes tight on its lines."""
    own = next(mass for name, _, mass in case.bodies() if name == body(case, key))
    other = Whole({**case.data, "rig": {**case.data["rig"], "rocket.mass": f"{own!r} kg"}})
    other.__dict__["downs"] = case.downs  # as they fall: worked out with both masses
    return other


def spanning(case: Case, key: str) -> float:
    """Half of the inflated skirt over the lines that must reach it from one point."""
    return verdict.FAMILIES[case.text(f"{key}.canopy.family")][-1] * case.diameter(key) / 2 / case.si(f"{key}.lines.length")


def pin(case: Case, bay: str) -> float:
    """What one pin bears in the mean [N]."""
    wide, depth = verdict.PINS[case.text(f"{bay}.joint.pin")]
    return pi / 4 * (wide - depth) ** 2 * verdict.NYLON_SHEAR


def bore(case: Case, bay: str) -> float:
    return pi / 4 * case.si(f"{bay}.bay.tube") ** 2


def parting_early(case: Case, bay: str) -> float:
    holds = case.si(f"{bay}.joint.friction") + int(case.si(f"{bay}.joint.pins")) * pin(case, bay) * verdict.MOULDED
    runs_on = case.mass_of(0, case.joint(bay)) * case.si("flight.slowing")
    rising = verdict.lag(case, bay) * bore(case, bay) + runs_on
    shaken = verdict.earlier(case) if bay == MAIN and case.two_joints else 0.0
    return max(rising, shaken) / max(holds, 1e-9)


def resists(case: Case, bay: str) -> float:
    """Pull that opens a joint, its pins a fifth stronger than in the mean [N]."""
    return case.si(f"{bay}.joint.friction") + 1.2 * int(case.si(f"{bay}.joint.pins")) * pin(case, bay)


def staying_shut(case: Case, bay: str) -> float:
    """What holds the joint over what the pressure worked with pushes."""
    pressure = case.result(f"{bay}.separation", "pressure")
    return resists(case, bay) / (pressure * bore(case, bay)) if pressure else 0.0


def air_left(case: Case, bay: str) -> tuple[float, float]:
    """Least and greatest [m^3]."""
    volume = case.data["results"][f"{bay}.separation"]["free_volume"]
    return volume["low"], volume["high"]


def pinching(case: Case, bay: str) -> float:
    """Where a mass of powder is told: 0.3 g over the least that it may be."""
    told = case.result(f"{bay}.separation", "mass")
    return PINCH * verdict.GAS / (case.result(f"{bay}.separation", "pressure") * air_left(case, bay)[0]) if told else 0.0


def little_tested(case: Case, bay: str) -> float:
    """The estimate's low end over what was tested."""
    tested = case.maybe(f"{bay}.charge.tested")
    if case.text(f"{bay}.charge.kind") != "own black powder" or not tested:
        return 0.0
    return case.result(f"{bay}.separation", "pressure") * air_left(case, bay)[0] / verdict.GAS / tested


def hardly_backed(case: Case, bay: str) -> float:
    """A fifth more than what was tested, over the backup; both may not fire at once either."""
    tested, backup = case.maybe(f"{bay}.charge.tested"), case.maybe(f"{bay}.charge.backup_mass")
    return 1.2 * tested / backup if tested and backup else 0.0


def late_motor(case: Case, bay: str) -> float:
    return max(1.5, 0.2 * case.si(f"{bay}.charge.delay")) / max(1e-9, case.si("flight.delay"))


def tight(case: Case, key: str) -> float:
    """The bundle's diagonal over the tube beside what stands in it, and its length over the bay's.

    Width and length are the folds'; its thickness is what the cloth's mass takes at the loosest density.
    """
    told = case.data["results"][f"{key}.folding"]
    wide, long = told["bundle_width"], told["bundle_length"]
    density = case.maybe(f"{key}.pack.density") or 150.0
    volume = case.result(f"{key}.canopy", "cloth_mass") / density
    bay = key if key in case.bays else MAIN
    across = case.si(f"{bay}.bay.tube") - (case.maybe(f"{bay}.pack.beside") or 0.0)
    shaped = case.text(f"{key}.canopy.family") != "measured by me"
    thick = volume / (long * wide) if shaped else 0.0
    return max(hypot(wide, thick) / across, long / (case.si(f"{bay}.bay.depth") - case.si(f"{bay}.bay.shoulder")))


def strand_bulk(case: Case, path: str) -> float:
    """Of a cord as it lies flat [m^3]."""
    return case.si(f"{path}.length") * case.si(f"{path}.width") * case.si(f"{path}.thickness")


def crammed(case: Case, bay: str) -> float:
    """Everything's volume, nothing between it, over that of the bay under its shoulder."""
    guests = [key for key in case.canopies if key == bay or (key not in case.bays and bay == MAIN)]
    tube, beside = case.si(f"{bay}.bay.tube"), case.maybe(f"{bay}.pack.beside") or 0.0
    volume = bore(case, bay) * case.si(f"{bay}.pack.protector_depth")
    for key in dict.fromkeys((bay, *guests)):
        volume += strand_bulk(case, f"{key}.cord")
    for key in guests:
        volume += case.result(f"{key}.canopy", "cloth_mass") / (case.maybe(f"{key}.pack.density") or 150.0)
        lines = int(case.si(f"{key}.canopy.sides")) * case.si(f"{key}.lines.length")
        volume += lines * pi / 4 * case.si(f"{key}.lines.diameter") ** 2
    room = pi / 4 * (tube * tube - beside * beside) * (case.si(f"{bay}.bay.depth") - case.si(f"{bay}.bay.shoulder"))
    return volume / room


def short_cord(case: Case, key: str) -> float:
    """Lines and twice the bay, and where the nose is tied in part-way its distance: common practice."""
    home = key if key in case.bays else MAIN
    least = 2 * case.si(f"{home}.bay.depth") + (case.si(f"{key}.lines.length") if key in case.canopies else 0.0)
    if key in case.bays and case.tied and case.text(f"{key}.cord.layout") == "nose part-way along":
        least += case.si(f"{key}.cord.gap")
    return least / case.si(f"{key}.cord.length")


def meeting(case: Case, key: str) -> float:
    """1 where parts just meet, less by as many metres as they hang apart; in line on a cord that opened before: that cord's."""
    if not case.tied:
        return 0.0
    rooms = [verdict._apart(case, key)[0]] if key in case.canopies or key == MAIN else []  # without one nobody can say
    if key == DROGUE and case.two_joints:
        rooms.append(verdict._apart(case, MAIN)[1])
    return 1 - min(rooms) if rooms else 0.0


def wrapped(case: Case, key: str) -> float:
    """Turns over two, and the line in them over all of it: a turn takes more than twice the slab's diagonal."""
    turns, told = case.si(f"{key}.pack.line_turns"), case.data["results"][f"{key}.folding"]
    return max(turns / 2, turns * 2 * told["bundle_width"] / case.si(f"{key}.lines.length"))


def cord_round(case: Case, key: str) -> float:
    return 2.0 if case.si(f"{key}.pack.cord_turns") else 0.0


def pressed(case: Case, key: str) -> float:
    """Over what hands pack into a container, 22 lb/ft^3 (Knacke 1991, ch. 6, memory): it does not slide out."""
    path = f"{key}.pack.density"
    return case.si(path) / (22 * 16.01846) if case.data["rig"][path].strip() else 0.0


def one_pin(case: Case, bay: str) -> float:
    return 2.0 if int(case.si(f"{bay}.joint.pins")) == 1 else 0.0


def supposed(case: Case, **changes: str) -> "Quick":
    """The same rig, with something else that happens to it."""
    changed = {path.replace("__", "."): text for path, text in changes.items()}
    return Quick({"rig": {**case.data["rig"], **changed}, "results": case.data["results"]})


def opening_breaks(case: Case) -> float:
    """What the main's opening alone pulls at cloth, lines, link and cord, over what they bear."""
    opening = case.worst(MAIN)[0]
    names = ("cloth", "line", "link", "swivel")
    parts = [part for part in verdict.canopy_parts(case, MAIN) if part.name in names]
    strength = verdict.strand(case, "main.cord")[0] * verdict.ENDS[case.text("main.cord.end")]
    return max(opening / strength, opening / case.si("main.cord.anchor"), *(part.pulled / part.bears for part in parts))


def drogue_in(case: Case, _: str) -> float:
    """The parts fall tied together, tumbling, until the main opens: at what speed, and what it breaks."""
    falls = {True: "no drogue: parts fall until the main opens", False: "main held shut until low, from one bay"}[case.two_joints]
    wide = max(case.si(f"{bay}.bay.tube") for bay in case.bays)
    other = supposed(case, flight__way=falls, flight__fall="tumbling", rocket__diameter=f"{wide!r} m")
    return max(other.worst(MAIN)[1] / verdict.MAIN_SPEED, opening_breaks(other))


def at_top(case: Case, _: str) -> float:
    """The main opens with the first bay: what that breaks, and, over the nearest edge, how far the wind takes it."""
    other = supposed(case, flight__way="one canopy at the top")
    top, wind, exponent = case.si("flight.apogee"), case.si("flight.wind"), case.si("flight.exponent")
    slow = sqrt(2 * case.si("rocket.mass") * verdict.G / case.cds(MAIN)[1])
    site, steps = case.si("site.elevation"), 400
    heights = [top * (i + 0.5) / steps for i in range(steps)]
    drift = sum(wind * (z / 10) ** exponent * sqrt(case.air.density(site + z)) / slow * top / steps for z in heights)
    edges = [case.si(f"site.{side}") for side in ("north", "east", "south", "west")]
    return max(opening_breaks(other), 0.0 if case.text("flight.layers").strip() else drift / hypot(max(edges), max(edges)))


@dataclass(frozen=True)
class Corner:
    """A check, who makes it, what is made worst.

    passes: only a check that passes counts as holding, one that looks again does not; beside: another check that must hold
    too, because the two share a matter: (calculator, name).
    """

    check: str
    calculator: str
    worst: Worst
    passes: bool = False
    allowed: float = HAIR
    beside: tuple[str, str] | None = None


CORNERS = {
    one.check: one
    for one in (
        Corner("touchdown-rate", "canopy", touching, allowed=TOUCH),
        Corner("drogue-rate", "canopy", drogue_rate),
        Corner("touchdown-energy", "descent", energy, passes=True, allowed=TOUCH),
        Corner("main-settled", "descent", settling, allowed=1.02),
        Corner("opening-speed", "descent", opening, allowed=TOUCH),
        Corner("fall-rate", "descent", fall_rate),
        Corner("launch-wind", "descent", windy),
        Corner("chain", "loads", breaking, allowed=TOUCH),
        Corner("lines-span", "loads", spanning),
        Corner("joint-holds", "separation", parting_early, allowed=TOUCH),
        Corner("joint-parts", "separation", staying_shut),
        Corner("charge-domain", "separation", pinching),
        Corner("ground-test", "separation", little_tested, passes=True),
        Corner("backup", "separation", hardly_backed, passes=True),
        Corner("pins-two", "separation", one_pin, passes=True),
        Corner("motor-delay", "separation", late_motor, passes=True),
        Corner("bundle-fits", "folding", tight),
        Corner("pack-density", "folding", pressed),
        Corner("line-wraps", "folding", wrapped),
        Corner("cord-wraps", "folding", cord_round),
        Corner("bay-holds-all", "packing", crammed, beside=("folding", "bundle-fits")),
        Corner("cord-length", "cord", short_cord),
        Corner("hanging-clear", "cord", meeting),
        Corner("fails-drogue-in", "failures", drogue_in, passes=True, allowed=TOUCH),
        Corner("fails-main-at-top", "failures", at_top, passes=True, allowed=TOUCH),
    )
}
# Not of strength, charge, rate, height, hanging or fit, or nothing true can be made worse: each with the reason.
ELSEWHERE = {
    "cloth-strength": "says whether a strength is known; a known one is a part of the chain",
    "design-factor": "the reader's own number",
    "line-length": "what lines usually are; that they span the skirt is a check of its own",
    "measured-drag": "the reader's own measure beside the table; what is worst of it is in every rate and load",
    "cord-practice": "what cords usually are",
    "shoulder-length": "what shoulders usually are",
    "stays-on-field": "a share of scattered descents, judged by distribution in tests/outside",
    "electronics-redundant": "counts of parts",
    "static-ports": "counts of holes",
}


# --- the search -----------------------------------------------------------------------------------------


def look(corner: Corner, texts: Texts, kind: type[Case] = Quick) -> float | None:
    """The true quantity over its limit, the worst of all keys for which the check holds; None where it holds for none."""
    try:
        worked = Worked(parse(texts), 50)
    except Refusal:
        return None
    calculator, found = CALCULATORS[corner.calculator], []
    case = kind({"rig": dict(worked.rig.texts), "results": Results(worked)})
    if corner.beside and "fail" in verdicts_of(worked, *corner.beside):
        return None
    for key in calculator.keys(worked.rig.way):
        said = [check.verdict for check in calculator.answer(worked, key).checks if check.name == corner.check]
        if said and (said[0] == "pass" or (said[0] == "warn" and not corner.passes)):
            found.append(corner.worst(case, key))
    return max(found, default=None)


def verdicts_of(worked: Worked, calculator: str, name: str) -> set[str]:
    """Of one check about everything it is about."""
    answers = (CALCULATORS[calculator].answer(worked, key) for key in CALCULATORS[calculator].keys(worked.rig.way))
    return {check.verdict for answer in answers for check in answer.checks if check.name == name}


@cache
def starts() -> tuple[dict[str, str], ...]:
    """Both starting rigs in every way down, their ground tests the reader's own, and plainly good ones: two of each way."""
    rigs = []
    for start, way in product(STARTS, WAYS):
        rig = {"rig.start": start, "flight.way": way}
        tests = {path: text for path, text in completed(rig).items() if ".charge." in path}
        rigs.append(rig | {path: text for path, text in tests.items() if is_relevant(FIELDS[path], completed(rig))})
    for way in WAYS:
        rigs += [dict(texts) for texts in GOOD.values() if texts["flight.way"] == way][:2]
    return tuple(rigs)


@cache
def varied(calculator: str) -> tuple[str, ...]:
    """What a calculator depends on and can be varied."""
    kept = {"flight.way", *(path for path in FIELDS if path.startswith("rig."))}
    return tuple(path for path in CALCULATORS[calculator].inputs if path not in kept and (FIELDS[path].kind or FIELDS[path].choices))


def moved(texts: Texts, corner: Corner, dice: random.Random, size: float) -> dict[str, str]:
    """A few fields a little further; those that mend the check half of the time."""
    full = completed(texts)
    mends = next(check.mends for check in CALCULATORS[corner.calculator].checks if check.name == corner.check)
    paths = [path for path in varied(corner.calculator) if is_relevant(FIELDS[path], full)]
    telling = [path for path in paths if any(path == mend or path.endswith(f".{mend}") for mend in mends)]
    changed = dict(texts)
    for _ in range(dice.choice((1, 1, 2, 3))):
        path = dice.choice(telling if telling and dice.random() < 0.5 else paths)
        changed[path] = _moved(path, full[path], dice, size)
    return changed


def _moved(path: str, text: str, dice: random.Random, size: float) -> str:
    field = FIELDS[path]
    if not field.kind or not text.strip() or dice.random() < 0.1:
        return anywhere(field, dice)
    value, push = si(text), dice.gauss(0, size)
    if field.kind is COUNT:
        return written(path, value + dice.choice((-2, -1, 1, 2)))
    return written(path, value * exp(push) if value > 0 else value + push * (field.high - field.low) / 10)


def halfway(here: Texts, there: Texts) -> dict[str, str]:
    """Half of the way back; choices stay as they were changed."""
    middle = dict(there)
    for path, text in there.items():
        before = completed(here)[path]
        if FIELDS[path].kind and text != before and text.strip() and before.strip():
            a, b = si(before), si(text)
            middle[path] = written(path, sqrt(a * b) if a > 0 and b > 0 else (a + b) / 2)
    return middle


def search(corner: Corner, tries: int, seed: int = 8) -> tuple[float, dict[str, str]]:
    """The worst that was found with so many tries, and its rig: a random climb from the worst of the starts, each its share."""
    dice = random.Random(f"{corner.check} {seed}")
    begun = [(value, texts) for texts in starts() if (value := look(corner, texts)) is not None]
    begun.sort(key=lambda one: -one[0])
    apart = list({one[1]["flight.way"]: one for one in reversed(begun)}.values())  # the worst of each way down
    found = []
    for value, texts in apart:
        size = 0.6
        for _ in range(tries // len(apart)):
            tried = moved(texts, corner, dice, size)
            other = look(corner, tried)
            for _ in range(3):
                if other is not None:
                    break
                tried = halfway(texts, tried)
                other = look(corner, tried)
            better = other is not None and other > value
            if better:
                value, texts = other, tried  # type: ignore[assignment]
            size = min(1.5, max(0.02, size * (1.4 if better else 0.93)))
        found.append((value, texts))
    return max(found, key=lambda one: one[0])


# --- the tests ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CORNERS)
def test_no_rig_that_a_check_lets_through_passes_the_limit(name: str) -> None:
    corner = CORNERS[name]
    _, texts = search(corner, TRIES)
    worst = look(corner, texts, Whole)
    assert worst is not None
    assert worst <= corner.allowed, f"{worst:.4g} of the limit: {texts}"


def test_every_check_of_the_plan_is_searched_or_said_why_not() -> None:
    declared = {check.name for one in CALCULATORS.values() if one.in_plan for check in one.checks}
    assert declared == {*CORNERS, *ELSEWHERE}
    assert not {*CORNERS} & {*ELSEWHERE}


@pytest.mark.parametrize("name", ["touchdown-rate", "chain", "hanging-clear", "bundle-fits", "joint-holds"])
def test_a_check_that_were_blind_is_found_out(name: str) -> None:
    """Were it to hold whatever it sees, the same search would find the danger: it is no search that cannot find any."""
    corner = CORNERS[name]
    blind = Corner(name, corner.calculator, corner.worst, allowed=corner.allowed)
    dice, texts, value = random.Random(1), dict(starts()[0]), 0.0
    for _ in range(60):
        tried = moved(texts, blind, dice, 0.6)
        try:
            worked = Worked(parse(tried), 50)
        except Refusal:
            continue
        case = Quick({"rig": dict(worked.rig.texts), "results": Results(worked)})
        other = max(corner.worst(case, key) for key in CALCULATORS[corner.calculator].keys(worked.rig.way) if key != DROGUE)
        if other > value:
            value, texts = other, tried
        if value > corner.allowed:
            return
    raise AssertionError(f"{value:.3g}")


def main() -> None:
    """The worst of every check, or of those named: tries, seed, names."""
    tries, seed = int(sys.argv[1]), int(sys.argv[2])
    for name in sys.argv[3:] or CORNERS:
        begun, corner = time.process_time(), CORNERS[name]
        value, texts = search(corner, tries, seed)
        whole = look(corner, texts, Whole)
        failed = [check.name for check in plan(texts).checks if check.verdict == "fail"] if whole and whole > corner.allowed else []
        told = texts if failed or (whole and whole > corner.allowed) else ""
        print(f"{name}: {whole:.5g} ({value:.5g}), {time.process_time() - begun:.0f} s {failed} {told}", flush=True)


if __name__ == "__main__":
    main()
