"""What would mend it: changes of a rig after which a check holds that did not, found by trying them on the whole plan.

Nothing is traded: a change counts only where no other check is failed that was not failed before, but the ground test, which another
joint or another content of its bay asks for anew: that is told. What turns a failed check into one to look at again, and makes nothing
at all worse, is kept apart: it mends less. Tried are the fields that a flyer
can set, buy, sew or build anew; never what they measured, what the day brings, or what they ask of the rig (design factor, rate).
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from dataclasses import field as dataclass_field
from functools import cached_property

from loftbook.answer import Check
from loftbook.calculators import CALCULATORS
from loftbook.errors import Refusal
from loftbook.physics.elementary import logarithm, sqrt
from loftbook.quantity import COUNT, MASS, show
from loftbook.rig.bay_fields import OWN
from loftbook.rig.field import Field
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import is_relevant, parse
from loftbook.rig.rig import Rig
from loftbook.tables import CORDS, ENDS, LINES, THREADS
from loftbook.worked.bay import NYLON
from loftbook.worked.failures import HOLDS, Failures
from loftbook.worked.joint import rests_on
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
GROUND_TEST = "ground-test"
_WORSE = {"pass": 0, "warn": 1, "fail": 2}
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


@dataclass(frozen=True)
class Mend:
    """Changes that together mend a check; mass: what they add to the gear [kg], share: of the rocket's mass; again: checks to be looked
    at that held before; retested: whether a ground test rests on what is changed."""

    changes: tuple[Change, ...]
    mass: float
    share: float
    again: tuple[Target, ...]
    retested: bool
    still: bool = False

    @property
    def texts(self) -> Texts:
        return typed(self.changes)

    @property
    def fields(self) -> frozenset[str]:
        """The fields that it changes."""
        return frozenset(change.path for change in self.changes)

    @property
    def cost(self) -> tuple[int, float]:
        """What it is ranked by: checks and ground tests to look at again, then trouble, how far it is from what was, and its share of
        the rocket's mass."""
        far = sum(change.far + change.trouble for change in self.changes)
        return len(self.again) + self.retested, far + HEAVY * max(0.0, self.share)


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
    def verdicts(self) -> Verdicts:
        """Of every check of the plan."""
        return {target: check.verdict for name in _PLANNED for target, check in self.of(name).items()}

    def no_worse(self, before: Verdicts) -> bool:
        """Whether nothing but a ground test fails that did not; asked of one calculator after another, so that most are asked of few."""
        return all(
            check.verdict != "fail" or before.get(target) == "fail" or check.name == GROUND_TEST
            for name in _PLANNED
            for target, check in self.of(name).items()
        )

    def nowhere_worse(self, before: Verdicts) -> bool:
        """Whether no check at all stands worse than it did; one that was not there is held against one that holds."""
        return all(_WORSE[check.verdict] <= _WORSE[before.get(target, "pass")] for name in _PLANNED for target, check in self.of(name).items())

    def survives(self, failure: str) -> bool:
        """Whether the gear survives a failure, by its name. Raises KeyError where this rig cannot fail so."""
        one = Failures(self.worked).of(failure)
        if one is None:
            raise KeyError(failure)
        return one.verdict == HOLDS

    @cached_property
    def gear(self) -> float:
        """Mass of canopies with their lines and of cords [kg], cords as if of solid nylon."""
        cords = sum(cord.width * cord.thickness * cord.length for cord in self.worked.cords.values()) * NYLON
        return sum(one.mass for one in self.worked.canopies.values()) + cords


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
        mended = [mend.fields - {"rocket.mass"} for mend in self.found]
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
        after = self._with(typed(changes))
        if after is None or self._stands(after) == "fail":
            return False
        all_changes, after, added = self._heavier(changes, after)
        stands = self._stands(after) if after else "fail"
        if after is None or stands == "fail":
            return False
        way, texts = self.before.rig.way, typed(all_changes)
        rested = {path for bay in way.bays for path in rests_on((bay, *way.tenants(bay)))}
        mend = Mend(all_changes, added, added / self.before.rig.number("rocket.mass"), (), bool(rested & texts.keys()), still=stands == "warn")
        if mend.still:
            self._ease(mend, after)
            return False
        if not after.no_worse(self.verdicts):
            if len(changes) == 1 and len(self._near) < NEAR:
                self._near.append((changes[0], after))
            return False
        again = tuple(one for one, verdict in after.verdicts.items() if verdict == "warn" and self.verdicts.get(one, "pass") == "pass")
        if texts not in [one.texts for one in self.found]:
            self.found.append(replace(mend, again=again))
        return True

    def _ease(self, mend: Mend, after: Tried) -> None:
        """Keeps what turns a check that fails into one to look at again and makes no other worse, if it is the least of its fields."""
        known = [one.cost for one in self.lesser if one.fields == mend.fields]
        if self.verdicts.get(self.target) == "fail" and not (known and min(known) <= mend.cost) and after.nowhere_worse(self.verdicts):
            self.lesser.append(mend)

    def _heavier(self, changes: tuple[Change, ...], after: Tried) -> tuple[tuple[Change, ...], Tried | None, float]:
        """Changes and the rig after them, the rocket as much heavier as its gear; and by how much [kg]."""
        added = after.gear - self.before.gear
        if added <= FELT:
            return changes, after, added
        mass = show(self.before.rig.number("rocket.mass") + added, MASS, self.before.rig.units)
        changes = (*changes, Change("rocket.mass", {"rocket.mass": mass}, 0.0, 0.0))
        return changes, self._with(typed(changes)), added

    def _with(self, texts: Texts) -> Tried | None:
        """The rig with other texts; None where it contradicts itself."""
        try:
            return Tried(parse(self.said | dict(texts)))
        except Refusal:
            return None

    def _mended(self, after: Tried) -> bool:
        return self._stands(after) == "pass"

    def _stands(self, after: Tried) -> str:
        """The verdict on what is to be mended; a check that is no longer there is none that holds."""
        if self.owner == FAILURE:
            return "pass" if after.survives(self.target[1]) else "fail"
        check = after.of(self.owner).get(self.target)
        return check.verdict if check else "fail"


def within(path: str) -> str:
    """A path as in a CheckKind, of a path in the rig."""
    return path.removeprefix(f"{FIELDS[path].bay}.") if FIELDS[path].bay else path


def _strength(change: Change) -> float:
    """What a change is ordered by among those that strengthen the same part."""
    strengths = _STRENGTH.get(within(change.path))
    return strengths.get(change.texts[change.path], 0.0) if strengths else change.far


def _stronger(rig: Rig, change: Change) -> bool:
    """Whether it is stronger than what is there; all numbers that are only tried upward are."""
    strengths = _STRENGTH.get(within(change.path))
    return strengths is None or strengths.get(change.texts[change.path], 0.0) > strengths.get(rig.texts[change.path], 0.0)


def _owner(check: str) -> str:
    """The calculator that makes a check."""
    return next(name for name in _PLANNED if any(kind.name == check for kind in CALCULATORS[name].checks))


def _mends(owner: str, check: str) -> tuple[str, ...]:
    """What is declared as what may mend a check."""
    return next(kind.mends for kind in CALCULATORS[owner].checks if kind.name == check)


# --- what may be typed instead --------------------------------------------------------------------------


def runs(rig: Rig, field: Field, lever: Lever, steps: tuple[float, ...] = UP) -> Iterator[list[Change]]:
    """Other texts for a field, one list for each direction, the least change first; of choices a list for each."""
    if field.choices:
        for choice in field.choices:
            if choice not in (rig.texts[field.path], OWN) and (choice in TIED or choice not in ENDS):
                texts = {field.path: choice} | _with_it(rig, field, choice) | _another(rig, field, 1.0)
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
                found.setdefault(text, Change(field.path, texts, far, lever.trouble))
        yield list(found.values())


def _with_it(rig: Rig, field: Field, choice: str) -> dict[str, str]:
    """What a stronger line or cord of its kind changes beside its strength: as thick and heavy as its strength is more."""
    name, key = within(field.path), field.bay
    rows = {"cord.material": CORDS, "lines.material": LINES}.get(name)
    if not rows or rig.texts[field.path] not in rows:
        return {}
    more = rows[choice].strength.value / rows[rig.texts[field.path]].strength.value
    paths = ("cord.width", "cord.thickness") if name == "cord.material" else ("lines.diameter",)
    changed = {f"{key}.{path}": sqrt(more) for path in paths} | ({f"{key}.lines.mass": more} if name == "lines.material" else {})
    return {
        path: show(min(max(rig.number(path) * by, FIELDS[path].low), FIELDS[path].high), kind, rig.units)
        for path, by in changed.items()
        if (kind := FIELDS[path].kind) and is_relevant(FIELDS[path], rig.texts)
    }


def _another(rig: Rig, field: Field, times: float) -> dict[str, str]:
    """What was measured of a canopy and is not so of another: its drag; and its mass, as much more as its area is."""
    key, name = field.bay, within(field.path)
    if name not in ("canopy.size", "canopy.cloth"):
        return {}
    found = {path: "" for path in (f"{key}.canopy.{one}" for one in ("cd_measured_low", "cd_measured_high", "cd_measured_from")) if rig.texts[path]}
    weighed = rig.optional(f"{key}.canopy.mass")
    if weighed is not None:
        found[f"{key}.canopy.mass"] = show(weighed * times * times, MASS, rig.units) if name == "canopy.size" else ""
    return found


def _asked_then(rig: Rig, field: Field, texts: Texts) -> dict[str, str]:
    """What the rig says of fields that mean something only then: the starting rig's, as a rule, and told with the change."""
    after = {**rig.texts, **texts}
    mine = [one for one in FIELDS.values() if one.bay == field.bay and one.path not in texts]
    return {one.path: rig.texts[one.path] for one in mine if rig.texts[one.path] and is_relevant(one, after) and not is_relevant(one, rig.texts)}


def _round(value: float) -> float:
    """To two digits, three where it begins with a one: what a flyer would buy, cut or set."""
    return float(f"{value:.2g}") if f"{value:e}"[0] != "1" else float(f"{value:.3g}")
