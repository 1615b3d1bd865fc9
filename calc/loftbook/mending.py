"""What would mend it: changes of a rig after which a check holds that did not, found by trying them on the whole plan.

Nothing is traded: a change counts only where no other check is failed that was not failed before, but the ground test, which another
joint or another content of its bay asks for anew: that is told. What turns a failed check into one to look at again, and makes nothing
at all worse, is kept apart: it mends less. Tried are the fields that a flyer can set, buy, sew or build anew; never a drag, density or
pull that they measured, what the day brings, or what they ask of the rig (design factor, rate). What they measured of a thing is not
said of the one that takes its place.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from dataclasses import field as dataclass_field
from functools import cached_property

from loftbook.answer import Check
from loftbook.calculators import CALCULATORS
from loftbook.calculators.separation import TEST
from loftbook.errors import Refusal
from loftbook.physics.elementary import logarithm, sqrt
from loftbook.plan import ORDER
from loftbook.quantity import CORD_MASS, COUNT, LENGTH, MASS, Kind, at_least, read, show
from loftbook.rig.bay_fields import MEASURED, OWN, OWN_CLOTH
from loftbook.rig.field import Field
from loftbook.rig.fields import FIELDS
from loftbook.rig.making_fields import OWN_THREAD
from loftbook.rig.parsing import is_relevant, parse
from loftbook.rig.resting import retested, taken_back, within
from loftbook.rig.rig import Rig
from loftbook.tables import CLOTHS, CORDS, ENDS, LINES, THREADS, known
from loftbook.worked.failures import HOLDS, Failures
from loftbook.worked.worked import SCATTERED, Worked

Target = tuple[str, str]  # the bay and the name of a check; or FAILURE and the name of a failure
FAILURE = "failure"
Texts = Mapping[str, str]
Verdicts = Mapping[Target, str]

SET, BOUGHT, SEWN, BUILT = 0.0, 1.0, 2.0, 3.0  # the trouble it is: to set or pack otherwise, to buy, to sew, to build; our choice
UP = (1.05, 1.1, 1.15, 1.2, 1.3, 1.4, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0)  # what a number is multiplied or divided by
COUNTED = (1, -1, 2, -2, 3, -3, 4, -4)  # what is added to a count
CHOSEN = 0.2  # how far another choice is from the one that was, beside a change of a fifth of a number; our choice
HEAVY = 10.0  # what a rocket's own mass in gear counts, in the same; our choice
COARSE = (1.1, 1.2, 1.35, 1.5, 2.0, 3.0)  # the steps that are tried beside another change, and of a failure, which takes long to work out
TIED = ("bowline", "figure-eight loop", "stitched, zigzag")  # ends that can be made in any line, cord or webbing
FELT = 0.0005  # of another mass of gear [kg]: half a gram and more is told (our choice)
NEAR = 4  # changes that mend and spoil something, each tried with others (our choice)
GROUND_TEST = TEST.name
FALLEN = 0.9  # of what it was, of what did not hold and stands worse: a tenth and more is told (our choice)
UNKNOWN = (OWN, OWN_CLOTH, OWN_THREAD)  # choices of which only their owner knows what they bear
GRAVE = "touchdown-energy"  # told like a gate: whom it may hit
# What the starting rigs' cords bear over width times thickness, and their lines over mass per length, at the least, and how thin webbing is:
# most of what is bought is thinner and lighter than it is reckoned by them, which leaves room.
BEARS, LINE_BEARS, THINNEST = 150e6, 264e3, 0.001  # N/m^2; N per kg/m; m (from memory, no source)
ENOUGH = 3  # found one by one, so that none is sought in pairs
FAILS = (
    "flight.main_height", "joint.pins", "cord.length", "cord.material", "cord.end", "cord.link", "cord.swivel", "cord.anchor", "cord.nose_anchor",
    "cord.bulkhead", "cord.device", "lines.material", "lines.end", "canopy.size", "canopy.cloth",
)  # fmt: skip
_STRENGTH: Mapping[str, Mapping[str, float]] = {  # of what is chosen by name
    "cord.material": {name: row.strength.value for name, row in CORDS.items()},
    "lines.material": {name: row.strength.value for name, row in LINES.items()},
    "cord.end": {name: row.efficiency.value for name, row in ENDS.items()},
    "lines.end": {name: row.efficiency.value for name, row in ENDS.items()},
    "make.thread": {name: row.strength.value for name, row in THREADS.items()},
}
_RATINGS = {"cord.material": "cord.rating", "lines.material": "lines.rating", "make.thread": "make.thread_strength"}  # of one's own
_ROWS = {"cord.material": CORDS, "lines.material": LINES}
_DRAG = ("canopy.cd_measured_low", "canopy.cd_measured_high", "canopy.cd_measured_from")
_DENSITY = ("pack.density", "pack.density_most", "pack.density_from")
_NOT_OF_ANOTHER = {  # what was measured of one thing and may be empty: not so of another
    "canopy.size": _DRAG, "canopy.cloth": (*_DRAG, *_DENSITY), "lines.length": _DRAG, "bay.shoulder": ("joint.friction_from",),
}  # fmt: skip
_TO_MEASURE = {"bay.shoulder": ("joint.friction", "joint.friction_most")}  # what stays until it is measured anew


@dataclass(frozen=True)
class Lever:
    """A field that may be changed, its path as in a CheckKind; upward: strength and room, which less of never mends."""

    path: str
    trouble: float
    upward: bool = False


LEVERS = (
    Lever("flight.main_height", SET),
    Lever("charge.backup_later", SET),
    Lever("charge.backup_height", SET),
    Lever("pack.shortening", SET),
    Lever("pack.layout", SET),
    Lever("pack.line_turns", SET),
    Lever("pack.cord_turns", SET),
    Lever("pack.below", SET),
    Lever("electronics.units", BOUGHT),
    Lever("electronics.batteries", BOUGHT),
    Lever("electronics.switches", BOUGHT),
    Lever("electronics.ports", BOUGHT),
    Lever("charge.pressure", BOUGHT),
    Lever("joint.pins", BOUGHT),
    Lever("joint.pin", BOUGHT),
    Lever("joint.vent", BOUGHT),
    Lever("cord.length", BOUGHT),
    Lever("cord.gap", BOUGHT),
    Lever("cord.layout", BOUGHT),
    Lever("cord.end", BOUGHT),
    Lever("cord.material", BOUGHT),
    Lever("cord.rating", BOUGHT, upward=True),
    Lever("cord.link", BOUGHT, upward=True),
    Lever("cord.swivel", BOUGHT, upward=True),
    Lever("cord.device", BOUGHT, upward=True),
    Lever("cord.anchor", BOUGHT, upward=True),
    Lever("cord.nose_anchor", BOUGHT, upward=True),
    Lever("cord.bulkhead", BOUGHT, upward=True),
    Lever("lines.length", SEWN),
    Lever("lines.material", SEWN),
    Lever("lines.end", SEWN),
    Lever("make.thread", SEWN),
    Lever("make.at_skirt", SEWN, upward=True),
    Lever("canopy.size", SEWN),
    Lever("canopy.cloth", SEWN),
    Lever("bay.depth", BUILT, upward=True),
    Lever("bay.shoulder", BUILT),
)


@dataclass(frozen=True)
class Change:
    """texts: what is typed instead, by path; path: of the field that is changed, the others follow from it; far: how far it is from
    what was; trouble: how much it is, as a lever's."""

    path: str
    texts: Texts
    far: float
    trouble: float
    follows: bool = False  # from the others: the rocket's mass, what is no longer measured or tested


@dataclass(frozen=True)
class Mend:
    """Changes that together mend a check; mass: what they add to the gear [kg], share: of the rocket's mass; again: checks to be looked
    at that held before, and what stands worse by a tenth and more than it did, with how bad it is where that is grave; failures too
    that the gear survived before; retested: whether a ground test rests on what is changed."""

    changes: tuple[Change, ...]
    mass: float
    share: float
    again: Mapping[Target, str]
    retested: bool
    still: bool = False

    @property
    def texts(self) -> Texts:
        return typed(self.changes)

    @property
    def fields(self) -> frozenset[str]:
        """The fields that it changes of itself."""
        return frozenset(change.path for change in self.changes if not change.follows)

    @property
    def cost(self) -> tuple[int, int, float]:
        """What it is ranked by: gates and failures that stand worse, then all checks and ground tests to look at again, then trouble, how
        far it is from what was, and its share of the rocket's mass."""
        far = sum(change.far + change.trouble for change in self.changes)
        return sum(map(bool, self.again.values())), len(self.again) + self.retested, far + HEAVY * max(0.0, self.share)


def _least(mends: Iterable[Mend]) -> list[Mend]:
    """The least first; of all that change the same fields the least."""
    best: dict[frozenset[str], Mend] = {}
    for mend in sorted(mends, key=lambda mend: mend.cost):
        best.setdefault(mend.fields, mend)
    return list(best.values())


def typed(changes: Iterable[Change]) -> dict[str, str]:
    """All that they type, by path."""
    return {path: text for change in changes for path, text in change.texts.items()}


@dataclass(frozen=True, eq=False)
class Tried:
    """A rig with its verdicts, worked out as far as somebody asks, each once."""

    rig: Rig
    _kept: dict[str, dict[Target, Check]] = dataclass_field(default_factory=dict)

    @cached_property
    def worked(self) -> Worked:
        return Worked(self.rig, SCATTERED)

    def of(self, name: str) -> dict[Target, Check]:
        """The checks of one calculator."""
        if name not in self._kept:
            one = CALCULATORS[name]
            self._kept[name] = {(key, check.name): check for key in one.keys(self.rig.way) for check in one.answer(self.worked, key).checks}
        return self._kept[name]

    @cached_property
    def checks(self) -> dict[Target, Check]:
        """Every check of the plan."""
        return {target: check for name in _PLANNED for target, check in self.of(name).items()}

    @cached_property
    def verdicts(self) -> Verdicts:
        """Of every check of the plan."""
        return {target: check.verdict for target, check in self.checks.items()}

    def no_worse(self, before: Verdicts) -> bool:
        """Whether nothing but a ground test fails that did not; asked of one calculator after another, so that most are asked of few."""
        return all(
            check.verdict != "fail" or before.get(target) == "fail" or check.name == GROUND_TEST
            for name in _PLANNED
            for target, check in self.of(name).items()
        )

    def nowhere_worse(self, before: Verdicts) -> bool:
        """Whether no check at all stands worse than it did; one that was not there is held against one that holds."""
        return all(ORDER[check.verdict] >= ORDER[before.get(target, "pass")] for name in _PLANNED for target, check in self.of(name).items())

    def survives(self, failure: str) -> bool:
        """Whether the gear survives a failure, by its name. Raises KeyError where this rig cannot fail so."""
        one = self.failures.of(failure)
        if one is None:
            raise KeyError(failure)
        return one.verdict == HOLDS

    @cached_property
    def failures(self) -> Failures:
        """All that may fail."""
        return Failures(self.worked)

    @cached_property
    def margins(self) -> dict[Target, float]:
        """How far from bad something is, of checks that are of strength or of how hard it comes down: more is safer, of one check only
        held against itself; a rate counts no less than from the upper end of what is usual."""
        worked, down = self.worked, self.worked.descent
        found = {(key, "chain"): one.parts[0].margin for key, one in worked.chains.items() if one.parts}
        found |= {(key, "joint-holds"): one.hold_times for key, one in worked.joints.items() if one.hold_times is not None}
        found |= {(key, "drogue-rate"): 1 / max(known("drogue").high, one.rate.high) for key, one in worked.canopies.items()}
        found |= {(one.last.key, "touchdown-rate"): 1 / max(known("touchdown").high, one.touchdown_rate.high) for one in down.falls}
        found |= {("", "main-settled"): down.latest.settled_height, ("", "opening-speed"): 1 / down.fastest_opening.speed}
        return found | {("", GRAVE): 1 / down.hardest.energy.high}

    @cached_property
    def parts(self) -> frozenset[Target]:
        """All parts of chains, each with its chain."""
        return frozenset((key, part.name) for key, one in self.worked.chains.items() for part in one.parts)


_GATES = {GRAVE, *(kind.name for one in CALCULATORS.values() for kind in one.checks if kind.gate)} - {GROUND_TEST}
# Those that are quick first: most changes that mend one thing are no good for another, and then nobody asks the rest.
_PLANNED = sorted(
    (name for name, one in CALCULATORS.items() if one.in_plan), key=lambda name: (name in ("failures", "landing", "descent", "separation"), name)
)


class Search:
    """What would mend a check of a rig, found little by little: `found` grows with every `go`, until it is `over`.

    Raises `Refusal` of a rig that is refused, KeyError for a check that it does not have.
    """

    def __init__(self, texts: Texts, target: Target) -> None:
        self.before = Tried(parse(texts))
        self.target, self.verdicts = target, self.before.verdicts
        self.said = {path: text for path, text in texts.items() if path in FIELDS}
        self.found: list[Mend] = []
        self.lesser: list[Mend] = []
        self.tried = 0
        if target[0] == FAILURE:
            self.owner = FAILURE
            self.over = self.before.survives(target[1])
        else:
            self.owner = next((name for name in _PLANNED if target in self.before.of(name)), "")
            if not self.owner:
                raise KeyError(target[1])
            self.over = self.verdicts[target] == "pass"
        self._near: list[tuple[Change, Tried]] = []
        self._work = self._tries()

    def go(self, rigs: int) -> None:
        """Try so many more rigs."""
        for _ in range(rigs):
            if self.over or next(self._work, None) is None:
                self.over = True
                return
            self.tried += 1

    @property
    def ranked(self) -> list[Mend]:
        """What was found, the least first; of all that change the same fields the least."""
        return _least(self.found)

    @property
    def eased(self) -> list[Mend]:
        """What only turns a failed check into one to look at again, the least first; of fields that mend it otherwise none."""
        mended = [mend.fields for mend in self.found]
        return [mend for mend in _least(self.lesser) if not any(fields <= mend.fields for fields in mended)]

    def _tries(self) -> Iterator[bool]:
        """One rig after another; True each time."""
        for run in self._runs():
            for change in run:
                mended = self._try((change,))
                yield True
                if mended:
                    break
        if len(self.found) < ENOUGH:
            yield from self._strengthened()
        if len(self.found) < ENOUGH:
            yield from self._pairs()

    def _runs(self) -> Iterator[list[Change]]:
        """Changes in one direction of one field, small ones first: where a small one mends, larger ones are not tried."""
        declared = self._declared()
        for lever in sorted(LEVERS, key=lambda one: (one.path not in declared, one.trouble)):
            if self.owner != FAILURE or lever.path in declared:
                for field in self._fields(lever):
                    yield from runs(self.before.rig, field, lever, COARSE if self.owner == FAILURE else UP)

    def _declared(self) -> tuple[str, ...]:
        """What is declared as what may mend the check; of a failure what carries loads, slows and holds."""
        return FAILS if self.owner == FAILURE else _mends(self.owner, self.target[1])

    def _strengthened(self) -> Iterator[bool]:
        """All that carries loads at once, where more than one part is too weak: then each as it was, and if not, as little more as will do."""
        declared = self._declared()
        levers = [one for one in LEVERS if one.path in declared and (one.upward or one.path in _STRENGTH)]
        changes: dict[str, list[Change]] = {}
        for lever in levers:
            for field in self._fields(lever):
                found = [change for run in runs(self.before.rig, field, lever) for change in run]
                if stronger := sorted((one for one in found if _stronger(self.before.rig, one)), key=_strength):
                    changes[field.path] = stronger
        plain = {path: found[-1] for path, found in changes.items() if within(path) not in _STRENGTH}
        every = {path: found[-1] for path, found in changes.items()}
        # a stronger cord may be a stiffer one, that pulls harder at all the rest
        chosen = next((some for some in (plain, every) if len(some) > 1 and self._holds(some.values())), None)
        if chosen is None:
            return
        for path in list(chosen):
            for change in (None, *changes[path]):
                rest = {one: kept for one, kept in chosen.items() if one != path} | ({path: change} if change else {})
                yield True
                if self._holds(rest.values()):
                    chosen = rest
                    break
        self._try(tuple(chosen.values()))

    def _holds(self, changes: Iterable[Change]) -> bool:
        """Whether the check holds then, whatever else may not."""
        after = self._with(typed(changes))
        return after is not None and self._mended(after)

    def _fields(self, lever: Lever) -> Iterator[Field]:
        """Those of this rig, of the bay that the check is about first."""
        keys = sorted(self.before.rig.way.keys, key=lambda key: key != self.target[0])
        for path in [lever.path] if lever.path in FIELDS else [f"{key}.{lever.path}" for key in keys]:
            if path in FIELDS and is_relevant(FIELDS[path], self.before.rig.texts):
                yield FIELDS[path]

    def _pairs(self) -> Iterator[bool]:
        """What mends the check and spoils another, together with what may mend that one."""
        for first, tried in self._near:
            spoiled = [one for one, verdict in tried.verdicts.items() if verdict == "fail" and self.verdicts.get(one) != "fail" and one[1] != GROUND_TEST]
            paths = {path for _, name in spoiled for path in _mends(_owner(name), name)}
            for lever in LEVERS:
                if lever.path not in paths:
                    continue
                for field in self._fields(lever):
                    for run in runs(self.before.rig, field, lever, COARSE):
                        if field.path == first.path:
                            continue
                        for second in run:
                            mended = self._try((first, second))
                            yield True
                            if mended:
                                break

    def _try(self, changes: tuple[Change, ...]) -> bool:
        """Whether the check holds then and nothing fails that did not; the rocket is as much heavier as its gear."""
        whole = self._whole(changes)
        after = self._with(typed(whole))
        if after is None or self._stands(after) == "fail":
            return False
        added, weighed = after.worked.gear - self.before.worked.gear, self.before.rig.number("rocket.mass")
        share = added / weighed
        if added > FELT:
            mass = show(weighed + added, at_least(MASS), self.before.rig.units)
            whole = self._whole((*changes, Change("rocket.mass", {"rocket.mass": mass}, 0.0, 0.0, follows=True)), share)
            after = self._with(typed(whole))
            if after is None or self._stands(after) == "fail":
                return False
        mend = Mend(whole, added, share, {}, bool(retested(self.before.rig, typed(whole), share)))
        if self._stands(after) == "warn":
            self._ease(mend, after)
            return False
        if not after.no_worse(self.verdicts):
            if len(changes) == 1 and len(self._near) < NEAR:
                self._near.append((changes[0], after))
            return False
        if mend.texts not in [one.texts for one in self.found]:
            self.found.append(replace(mend, again=self._worse(after)))
        return True

    def _ease(self, mend: Mend, after: Tried) -> None:
        """Keeps what turns a check that fails into one to look at again and makes no other worse, if it is the least of its fields."""
        known = [one.cost for one in self.lesser if one.fields == mend.fields]
        if self.verdicts.get(self.target) != "fail" or (known and min(known) <= mend.cost):
            return
        if after.nowhere_worse(self.verdicts) and not self._worse(after).keys() - {self.target}:
            self.lesser.append(replace(mend, still=True))

    def _whole(self, changes: tuple[Change, ...], share: float = 0.0) -> tuple[Change, ...]:
        """Changes with what follows from them: ground tests of their bays that the reader made count no more, nor what was measured of
        the thing that was; share: of the rocket's mass, what they add to its gear."""
        rig, texts = self.before.rig, typed(changes)
        tests = taken_back(rig, texts, share)
        if rig.measured & texts.keys():
            tests["rig.measured"] = " ".join(path for path in rig.texts["rig.measured"].split() if path not in texts)
        return (*changes, *(Change(path, {path: text}, 0.0, 0.0, follows=True) for path, text in tests.items()))

    def _worse(self, after: Tried) -> dict[Target, str]:
        """What is to be looked at again that held, or stands worse by a tenth and more and does not hold; what the gear survived and does
        not any more. Gates and failures with how bad it is."""
        found, was = {}, self.before.margins
        for target, check in after.checks.items():
            fell = target in was and after.margins.get(target, was[target]) < FALLEN * was[target]
            if check.verdict != "pass" and (fell or (check.verdict == "warn" and self.verdicts.get(target, "pass") == "pass")):
                found[target] = check.reason if fell or target[1] in _GATES else ""
        held = {one.name for one in self.before.failures.all if one.verdict == HOLDS}
        failed = [one for one in after.failures.all if one.name in held and one.verdict != HOLDS]
        return found | {(FAILURE, one.name): f"{one.title}: {one.verdict}" for one in failed}

    def _with(self, texts: Texts) -> Tried | None:
        """The rig with other texts; None where it contradicts itself."""
        try:
            return Tried(parse(self.said | dict(texts)))
        except Refusal:
            return None

    def _mended(self, after: Tried) -> bool:
        return self._stands(after) == "pass"

    def _stands(self, after: Tried) -> str:
        """The verdict on what is to be mended; a check that is no longer there is none that holds. No part may be gone from a chain by
        it: one of which nobody knows what it bears, or how it is pulled, is in none."""
        if not self.before.parts <= after.parts:
            return "fail"
        if self.owner == FAILURE:
            return "pass" if after.survives(self.target[1]) else "fail"
        check = after.of(self.owner).get(self.target)
        return check.verdict if check else "fail"


def _strength(change: Change) -> float:
    """What a change is ordered by among those that strengthen the same part."""
    strengths = _STRENGTH.get(within(change.path))
    return strengths.get(change.texts[change.path], 0.0) if strengths else change.far


def _stronger(rig: Rig, change: Change) -> bool:
    """Whether it is stronger than what is there; all numbers that are only tried upward are."""
    strengths, was = _STRENGTH.get(within(change.path)), rig.texts[change.path]
    if strengths is None:
        return True
    own = rig.number(f"{FIELDS[change.path].bay}.{_RATINGS[within(change.path)]}") if was in UNKNOWN else 0.0
    return strengths.get(change.texts[change.path], 0.0) > strengths.get(was, own)


def _owner(check: str) -> str:
    """The calculator that makes a check."""
    return next(name for name in _PLANNED if any(kind.name == check for kind in CALCULATORS[name].checks))


def _mends(owner: str, check: str) -> tuple[str, ...]:
    """What is declared as what may mend a check."""
    return next(kind.mends for kind in CALCULATORS[owner].checks if kind.name == check)


# --- what may be typed instead --------------------------------------------------------------------------


def runs(rig: Rig, field: Field, lever: Lever, steps: tuple[float, ...] = UP) -> Iterator[list[Change]]:
    """Other texts for a field, one list for each direction, the least change first; of choices a list for each.

    How it is set or packed that was measured stays so, as does all on which a drag rests that must be said and was measured.
    """
    if (lever.trouble == SET and field.path in rig.measured) or _rests_on_drag(rig, field):
        return
    if field.choices:
        for choice in field.choices:
            if choice != rig.texts[field.path] and _may_be_chosen(field, choice):
                texts = {field.path: choice} | _with_it(rig, field, choice) | _another(rig, field, 1.0)
                texts |= _on_other_lines(rig, field, texts)
                yield [Change(field.path, texts | _asked_then(rig, field, texts), CHOSEN, lever.trouble)]
        return
    value = rig.optional(field.path)
    if value is None:
        return
    ups = [value + one for one in COUNTED if one > 0] if field.kind is COUNT else [value * one for one in steps]
    downs = [value + one for one in COUNTED if one < 0] if field.kind is COUNT else [value / one for one in steps]
    for wanted in [ups] if lever.upward else [ups, downs]:
        found: dict[str, Change] = {}
        for other in wanted:
            if not field.low <= other <= field.high or not field.kind:
                continue
            other = other if field.kind is COUNT else _round(other)
            text = show(other, field.kind, rig.units)
            if text != show(value, field.kind, rig.units):
                far = abs(logarithm(other / value)) if other > 0 and value > 0 else 1.0
                texts = {field.path: text} | _another(rig, field, other / value if value > 0 else 1.0)
                texts |= _on_other_lines(rig, field, texts)
                found.setdefault(text, Change(field.path, texts, far, lever.trouble))
        yield list(found.values())


def _may_be_chosen(field: Field, choice: str) -> bool:
    """Whether it is known what it bears and how wide it is, and it can be tied in whatever cord or line there is."""
    if choice in UNKNOWN or (choice in ENDS and choice not in TIED) or (choice in CLOTHS and CLOTHS[choice].strength is None):
        return False
    return within(field.path) != "cord.material" or _width(choice) is not None or "cord" in choice


def _rests_on_drag(rig: Rig, field: Field) -> bool:
    """Whether the drag of a canopy that its reader measured as a whole would be another's with another text."""
    return within(field.path) in ("canopy.cloth", "lines.length") and rig.texts[f"{field.bay}.canopy.family"] == MEASURED


def _with_it(rig: Rig, field: Field, choice: str) -> dict[str, str]:
    """What another line or cord changes beside its strength, whatever the one before was: how wide, thick and heavy it is."""
    name, key = within(field.path), field.bay
    if name not in _ROWS or choice not in _ROWS[name]:
        return {}
    strength = _ROWS[name][choice].strength.value
    wide = _width(choice) or sqrt(strength / BEARS)
    sizes: dict[str, tuple[float, Kind]] = {"cord.width": (wide, LENGTH), "cord.thickness": (max(THINNEST, strength / BEARS / wide), LENGTH)}
    if name == "lines.material":
        sizes = {"lines.diameter": (sqrt(strength / BEARS), LENGTH), "lines.mass": (strength / LINE_BEARS, CORD_MASS)}
    return {f"{key}.{path}": _sized(rig, f"{key}.{path}", *size) for path, size in sizes.items()}


def _width(name: str) -> float | None:
    """Of a webbing, as its name has it [m]; None of what is round."""
    found = re.search(r"(?:\d+ )?\d+(?:/\d+)? in\b", name)
    return read(found[0], LENGTH) if found else None


def _sized(rig: Rig, path: str, value: float, kind: Kind) -> str:
    """A size of what is bought, no smaller than it is, and no smaller than a rig may have."""
    return show(max(value, FIELDS[path].low), at_least(kind), rig.units)


def _another(rig: Rig, field: Field, times: float) -> dict[str, str]:
    """What was measured of one thing and is not so of another, the field so many times what it was: a canopy's mass is as much more as
    its area; a cord of one's own is as much thicker as it is stronger; what must be said stays until it is measured anew."""
    key, name = field.bay, within(field.path)
    found = {path: "" for path in (f"{key}.{one}" for one in _NOT_OF_ANOTHER.get(name, ())) if rig.texts[path]}
    found |= {path: rig.texts[path] for path in (f"{key}.{one}" for one in _TO_MEASURE.get(name, ())) if rig.texts[path]}
    if name == "cord.rating":
        found |= {path: _sized(rig, path, rig.number(path) * sqrt(times), LENGTH) for path in (f"{key}.cord.width", f"{key}.cord.thickness")}
    weighed = rig.optional(f"{key}.canopy.mass") if name in ("canopy.size", "canopy.cloth") else None
    if weighed is not None:
        found[f"{key}.canopy.mass"] = show(weighed * times * times, MASS, rig.units) if name == "canopy.size" else ""
    return found


def _on_other_lines(rig: Rig, field: Field, texts: Texts) -> dict[str, str]:
    """What a canopy weighs that was weighed with its lines: as much more as other lines are heavier; never less."""
    key, weighed = field.bay, rig.optional(f"{field.bay}.canopy.mass") if field.path.endswith((".lines.length", ".lines.material")) else None
    if weighed is None:
        return {}
    paths = {f"{key}.lines.length": LENGTH, f"{key}.lines.mass": CORD_MASS}
    (long, heavy), (was_long, was_heavy) = ([read(said.get(path, rig.texts[path]), kind) for path, kind in paths.items()] for said in (texts, rig.texts))
    more = rig.number(f"{key}.canopy.sides") * (long * heavy - was_long * was_heavy)
    return {f"{key}.canopy.mass": show(weighed + max(0.0, more), at_least(MASS), rig.units)}


def _asked_then(rig: Rig, field: Field, texts: Texts) -> dict[str, str]:
    """What the rig says of fields that mean something only then: the starting rig's, as a rule, and told with the change."""
    after = {**rig.texts, **texts}
    mine = [one for one in FIELDS.values() if one.bay == field.bay and one.path not in texts]
    return {one.path: rig.texts[one.path] for one in mine if rig.texts[one.path] and is_relevant(one, after) and not is_relevant(one, rig.texts)}


def _round(value: float) -> float:
    """To two digits, three where it begins with a one: what a flyer would buy, cut or set."""
    return float(f"{value:.2g}") if f"{value:e}"[0] != "1" else float(f"{value:.3g}")
