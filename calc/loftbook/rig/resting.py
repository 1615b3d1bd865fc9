"""What a ground test of a bay rests on: whether a rig is still what was tested, and what a change of it takes back. No physics."""

from collections.abc import Iterable, Mapping
from functools import lru_cache

from loftbook.errors import Refusal
from loftbook.rig.fields import FIELDS, STARTS
from loftbook.rig.parsing import parse
from loftbook.rig.rig import Rig

HEAVIER = 0.01  # share of a rocket's mass above which what was tested is made anew (our choice)
LOOSE = ("cord.link", "cord.swivel")  # hang on the cord, in no wall and no joint: a stronger one is thrown like the one before (our choice)
# What a ground test rests on beside its own bay; a field that hangs on a choice within the bay counts by that choice, one that
# no starting rig's way down has not at all. How a canopy is sewn it does not rest on: what it weighs stands elsewhere; nor
# what drag was measured of it, nor what it is called.
_MASSES = ("rocket.mass", "nose.mass", "middle.mass")
_WHOLE = (*_MASSES, "rocket.main_bay")
_RESTS = tuple(
    path
    for path, one in FIELDS.items()
    if one.bay and one.group != f"{one.bay}.make" and ".cd_measured_" not in path and not path.endswith(("_from", ".name")) and all(any(start[other] in values for start in STARTS.values()) for other, values in one.when)
)
_OF_TESTS = tuple(f"charge.{name}" for name in ("tested", "repeats", "test_date", "test_pins", "test_result"))
_WISHED = ("canopy.rate", "pack.clearance", "cord.allowance", "charge.pressure", "joint.pins")  # wanted, not there; pins a test has of its own
_BETTER_KNOWN = ("pack.density", "pack.density_most", "canopy.mass")  # measured since, it is what it was
_FRICTION = ("joint.friction", "joint.friction_most")


def within(path: str) -> str:
    """A path of the rig without its bay."""
    return path.removeprefix(f"{FIELDS[path].bay}.") if FIELDS[path].bay else path


@lru_cache(maxsize=16)
def rests_on(keys: tuple[str, ...]) -> tuple[str, ...]:
    """Paths that a ground test of a bay rests on; keys: the bay and the canopies packed in it."""
    return (*_WHOLE, *(path for path in _RESTS if FIELDS[path].bay in keys))


@lru_cache(maxsize=64)
def _read(texts: frozenset[tuple[str, str]]) -> Rig | None:
    try:
        return parse(dict(texts))
    except Refusal:
        return None


def rig_of(texts: Mapping[str, str]) -> Rig | None:
    """The rig of what somebody typed at another time; None of nothing, and of what is refused now."""
    return _read(frozenset(texts.items())) if texts else None


def says_same(now: Rig, here: str, then: Rig, there: str) -> bool:
    """Whether a field says the same of two rigs, however it is written."""
    mine, theirs = now.values[here], then.values[there]
    if isinstance(mine, float) and isinstance(theirs, float):
        return abs(mine - theirs) <= 1e-9 * max(abs(mine), abs(theirs))
    return mine == theirs


def as_tested(now: Rig, then: Rig, bay: str) -> bool:
    """Whether all that a ground test of a bay rests on is as it was in the rig that was tested.

    A mass may be off by a hundredth of the rocket's (our choice); what was measured since is better known, and no other; a pull that was
    measured since counts so where it is no harder than was thought: a joint that grew tight is another.
    """
    if now.text("flight.way") != then.text("flight.way") or bay not in now.way.bays:
        return False
    for path in rests_on((bay, *now.way.tenants(bay))):
        name = within(path)
        since = now.origin(path) == "measured" != then.origin(path)
        if name in (*LOOSE, *_OF_TESTS, *_WISHED) or (since and name in _BETTER_KNOWN):
            continue
        if since and name in _FRICTION and _hardest(now, bay) <= _hardest(then, bay):
            continue
        if path in _MASSES and (masses := [now.optional(path), then.optional(path)]) and None not in masses:
            if abs(now.number(path) - then.number(path)) > HEAVIER * then.number("rocket.mass"):
                return False
        elif not says_same(now, path, then, path):
            return False
    return True


def _hardest(rig: Rig, bay: str) -> float:
    """The hardest pull [N] that a joint is said to take."""
    return max(rig.optional(f"{bay}.{name}") or 0.0 for name in _FRICTION)


def retested(rig: Rig, paths: Iterable[str], share: float = 0.0) -> list[str]:
    """Bays whose ground tests rest on one of these fields. share: of the rocket's mass, by which it becomes another with them."""
    changed = {path for path in paths if within(path) not in LOOSE and (path != "rocket.mass" or share > HEAVIER)}
    return [bay for bay in rig.way.bays if not changed.isdisjoint(rests_on((bay, *rig.way.tenants(bay))))]


def taken_back(rig: Rig, paths: Iterable[str], share: float = 0.0) -> dict[str, str]:
    """The texts with which ground tests that a reader made count no more where these fields are changed."""
    counts = (f"{bay}.charge.repeats" for bay in retested(rig, paths, share))
    return {path: "0" for path in counts if rig.origin(path) != "start" and rig.optional(path)}
