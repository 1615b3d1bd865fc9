"""What was seen when one came down wrong, and the numbers of this rig that bear on its causes: the likeliest first. SI.

No physics of its own: every number is a part's, beside the limit that its check has. What is said of them is said elsewhere.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import takewhile
from math import inf

from loftbook.errors import Refusal
from loftbook.physics import separation
from loftbook.physics.chain import Part
from loftbook.physics.spread import Spread
from loftbook.rig.bay_fields import MOTOR
from loftbook.tables import known
from loftbook.worked.descent import FAR_TOO_HARD, FEW, LOW, MANY, OPENS_TOO_FAST, SHORT, TOO_LOW
from loftbook.worked.joint import TWICE
from loftbook.worked.sewn import Sewn
from loftbook.worked.worked import SCATTERED, Worked

MOST = 99.0  # times a limit: more is not told apart
ASIDE = 0.1  # share of a pull below which a part of it is judged by itself and not by the whole (our choice)
_HAIR = 1e-9


@dataclass(frozen=True)
class Bearing:
    """A number of the rig and its limit, both in the same unit; limit None: nothing is known to judge it by.

    less: less of it is safer; fails, again: how many times its limit it must keep so as not to be refused, not to be looked
    at again; of: in words, what it is the number of, where that is not the bay, canopy or cord itself; counted: a whole
    number, which has nothing to spare or lack once it keeps its limit.
    """

    has: float
    limit: float | None = None
    less: bool = False
    fails: float = 1.0
    again: float = 1.0
    of: str = ""
    counted: bool = False

    @property
    def times(self) -> float:
        """How many times on the safe side of its limit it is (dimensionless), from 0 to `MOST`, to nine places; `MOST` without a limit."""
        if self.limit is None:
            return MOST
        over, under = (self.limit, self.has) if self.less else (self.has, self.limit)
        return round(max(0.0, min(MOST, over / under)), 9) if under > 0 else MOST

    @property
    def state(self) -> int:
        """0 fails, 1 is to be looked at again, 2 holds, 3 has no limit."""
        if self.limit is None:
            return 3
        times = self.times + _HAIR
        return 0 if times < self.fails else 1 if times < self.again else 2

    @property
    def spare(self) -> float:
        """How many times what it must keep so as not to be looked at again (dimensionless): what causes are ranked by."""
        return MOST if self.counted and self.state == 2 else self.times / self.again


@dataclass(frozen=True)
class Suspect:
    """A cause by its name, the bay, canopy or cord it is about ("" for the rig), and the number that bears on it."""

    cause: str
    key: str
    bearing: Bearing

    @property
    def rank(self) -> tuple[int, float]:
        """What fails first, then what is to be looked at again, then what holds, each with the least to spare first; without a limit last."""
        return self.bearing.state, self.bearing.spare


# --- which bays, canopies and cords a cause is looked for in ---


def _rig(_: Worked) -> Iterable[str]:
    return ("",)


def _canopies(worked: Worked) -> Iterable[str]:
    return worked.canopies


def _landing(worked: Worked) -> Iterable[str]:
    return tuple(fall.last.key for fall in worked.descent.falls)


def _relieved(worked: Worked) -> Iterable[str]:
    """Canopies that another one relieves."""
    return [key for key in worked.canopies if key not in _landing(worked)]


def _bays(worked: Worked) -> Iterable[str]:
    return worked.bays


def _cords(worked: Worked) -> Iterable[str]:
    return worked.cords


def _held(worked: Worked) -> Iterable[str]:
    return worked.rig.way.held


# --- the bundle and the bay ---


def _cord_round(worked: Worked, key: str) -> Bearing:
    return Bearing(worked.folded(key).cord_turns, 0.0, less=True) if worked.folded(key).cord_turns > 0 else Bearing(0.0, 1.0, less=True)


def _wraps(worked: Worked, key: str) -> Bearing:
    return Bearing(worked.folded(key).line_turns, known("wraps").high, less=True)


def _all_wound(worked: Worked, key: str) -> Bearing:
    one = worked.folded(key)
    return Bearing(one.wound, one.canopy.line_length, less=True)


def _tight(worked: Worked, key: str) -> Bearing:
    bundle = worked.folded(key).bundle
    return Bearing(bundle.diagonal, bundle.widest, less=True)


def _long(worked: Worked, key: str) -> Bearing:
    bundle = worked.folded(key).bundle
    return Bearing(bundle.length, bundle.room, less=True) if bundle.room > 0 else Bearing(0.0, bundle.length)


def _overfull(worked: Worked, key: str) -> Bearing:
    bay = worked.bays[key]
    usable = bay.depth - bay.to_stay_empty
    return Bearing(bay.depth, bay.depth - bay.stack.spare, again=bay.depth / usable if usable > 0 else inf)


def _cord_short(worked: Worked, key: str) -> Bearing:
    rigged = worked.rigged[key]
    again = rigged.with_allowance / rigged.least if rigged.least > 0 else 1.0
    return Bearing(rigged.cord.length, rigged.least, again=again)


def _protector(worked: Worked, key: str) -> Bearing:
    depth = worked.bays[key].protector
    return Bearing(depth) if depth > 0 else Bearing(0.0, 1.0)


# --- charges and joints ---


def _throws(worked: Worked, key: str) -> Bearing | None:
    joint = worked.joints[key]
    told = joint.charge.there and joint.charge.kind != MOTOR and joint.pressure <= separation.MOST_PRESSURE
    asked, why = joint.estimated
    return Bearing(joint.pressure, asked, fails=0.0, of=why) if told else None


def _nothing(worked: Worked, key: str) -> Bearing | None:
    """Of a joint without a charge: a canopy that is out already may pull it open, through pins hardly."""
    joint = worked.joints[key]
    if joint.charge.there:
        return None
    return Bearing(0.0, 1.0, fails=1.0 if joint.pins or key == worked.rig.way.bays[0] else 0.0)


def _too_much(worked: Worked, key: str) -> Bearing | None:
    joint = worked.joints[key]
    asked = Bearing(joint.pressure, separation.MOST_PRESSURE, less=True, fails=1 + 2 * _HAIR)
    return asked if joint.charge.there and joint.pressure > separation.MOST_PRESSURE else None


def _motor(worked: Worked, key: str) -> Bearing | None:
    """Of a motor's own charge: it fires near the top, and is made to part a friction fit."""
    joint = worked.joints[key]
    if joint.charge.kind != MOTOR or joint.pressure > separation.MOST_PRESSURE:
        return None
    if joint.charge.low or joint.pins:
        return Bearing(0.0, 1.0, fails=1.0 if joint.charge.low else 0.0)
    return Bearing(joint.needed_pressure, known("bay_pressure").high, less=True, fails=0.0)


def _estimate(worked: Worked, key: str) -> Spread | None:
    """The estimate of a charge that was tested [kg]; None where there is none, or no test."""
    joint = worked.joints[key]
    mass = joint.mass if joint.charge.weighed and joint.charge.entered is not None else None
    return None if mass is None or isinstance(mass, Refusal) else mass


def _tested_low(worked: Worked, key: str) -> Bearing | None:
    estimate = _estimate(worked, key)
    return Bearing(worked.joints[key].charge.entered or 0.0, estimate.low, fails=0.0) if estimate else None


def _strong_charge(worked: Worked, key: str) -> Bearing | None:
    estimate = _estimate(worked, key)
    return Bearing(worked.joints[key].charge.entered or 0.0, estimate.high, less=True, fails=0.0) if estimate else None


def _parts(worked: Worked, key: str) -> Bearing | None:
    joint = worked.joints[key]
    if joint.part_times is None:
        return None
    return Bearing(joint.pressed, joint.resists, again=separation.SHEAR_FACTOR)


def _test_pins(worked: Worked, key: str) -> Bearing | None:
    charge = worked.joints[key].charge
    return Bearing(worked.joints[key].pins, charge.test_pins, less=True, counted=True) if charge.fired and charge.test_pins is not None else None


def _untested(worked: Worked, key: str) -> Bearing | None:
    charge = worked.joints[key].charge
    return Bearing(charge.repeats, TWICE, fails=1 / TWICE, counted=True) if charge.fired else None


def _one_pin(worked: Worked, key: str) -> Bearing | None:
    pins = worked.joints[key].pins
    return Bearing(pins, known("shear_pins").low, fails=0.0, counted=True) if pins else None


def _thin_air(worked: Worked, key: str) -> Bearing | None:
    joint = worked.joints[key]
    return Bearing(joint.fires_at, known("high_charge").high, less=True, fails=0.0) if joint.charge.weighed else None


def part_of_rising(worked: Worked, key: str, part: float) -> float:
    """By which pull on the way up a part of it [N] is judged [N]: by the whole, as both are there at once; a small part by itself."""
    whole = worked.joints[key].rising
    return whole if part >= ASIDE * whole else part


def _rising(worked: Worked, key: str, part: float) -> Bearing | None:
    if part <= 0:
        return None
    return Bearing(worked.joints[key].holds, part_of_rising(worked, key, part), again=separation.HOLD_FACTOR)


def _trapped(worked: Worked, key: str) -> Bearing | None:
    return _rising(worked, key, worked.joints[key].trapped)


def _running(worked: Worked, key: str) -> Bearing | None:
    return _rising(worked, key, worked.joints[key].running_on)


def _jolted(worked: Worked, key: str) -> Bearing | None:
    joint = worked.joints[key]
    return Bearing(joint.holds, joint.jolted, again=separation.HOLD_FACTOR, of=joint.jolts[0].cause) if joint.jolts else None


def _late_motor(worked: Worked, key: str) -> Bearing | None:
    error = worked.joints[key].charge.delay_error
    return None if error is None else Bearing(error, worked.rig.number("flight.delay"), less=True, fails=0.0)


# --- electronics ---


def _alone(worked: Worked, _: str) -> Bearing | None:
    units = worked.electronics
    if not units.needed:
        return None
    fewest = min((units.units, "altimeter"), (units.batteries, "battery"), (units.switches, "switch"), key=lambda one: one[0])
    return Bearing(fewest[0], TWICE, fails=1 / TWICE, of=fewest[1], counted=True)


def _ports(worked: Worked, _: str) -> Bearing | None:
    units = worked.electronics
    return Bearing(units.ports, known("static_ports").low, fails=0.0, counted=True) if units.needed else None


# --- canopy, lines and cord ---


def _lines_short(worked: Worked, key: str) -> Bearing:
    return Bearing(Sewn(worked.canopies[key]).line_over_width, known("line_length").low, fails=0.0)


def _span(worked: Worked, key: str) -> Bearing:
    one = worked.canopies[key]
    return Bearing(one.line_length, one.inflated_most / 2)


def _swivel(worked: Worked, key: str) -> Bearing:
    return Bearing(worked.rig.of(key).optional("cord.swivel") or 0.0)


def weakest(worked: Worked, key: str) -> Part | None:
    """The weakest of a canopy's cloth, seams, lines and their ends; None where nothing of them is known."""
    own = takewhile(lambda part: part.name != "link", worked.chains[key].along) if worked.chains[key].own else ()
    return min(own, key=lambda part: part.margin, default=None)


def _borne(worked: Worked, part: Part | None) -> Bearing | None:
    if part is None:
        return None
    return Bearing(part.strength, part.load, again=worked.rig.number("chain.factor"), of=part.name)


def _weak_cloth(worked: Worked, key: str) -> Bearing | None:
    return _borne(worked, weakest(worked, key))


def _in_chain(worked: Worked, key: str, name: str) -> Bearing | None:
    return _borne(worked, next((part for part in worked.chains[key].along if part.name == name), None))


def _weak_cord(worked: Worked, key: str) -> Bearing | None:
    return _in_chain(worked, key, "cord")


def _device(worked: Worked, key: str) -> Bearing | None:
    return _in_chain(worked, key, "release device")


def _opens_fast(worked: Worked, key: str) -> Bearing:
    lands = key in _landing(worked)
    return Bearing(worked.descent.loads[key].speed, OPENS_TOO_FAST, less=True, fails=1.0 if lands else 0.0)


def _edge(worked: Worked, key: str) -> Bearing | None:
    pulled = worked.chains[key].edge_load
    return Bearing(pulled) if pulled > 0 else None


def _few_lengths(worked: Worked, key: str) -> Bearing | None:
    rigged = worked.rigged[key]
    return Bearing(rigged.rocket_lengths, known("cord_lengths").low, fails=0.0) if rigged.ties_two else None


def _hanging(worked: Worked, key: str) -> Bearing | None:
    """The upper end of what hangs lower, and the lower end of what hangs above it, as depths from the higher of them and the knot."""
    pair = worked.hangs.picture(key).pair
    if pair is None:
        return None
    above, below = pair
    start = min(0.0, below.top)
    return Bearing(below.top - start, above.bottom - start, fails=1 + 2 * _HAIR, of=f"{above.section.name} and {below.section.name}")


# --- the way down ---


def _outside(worked: Worked, _: str) -> Bearing:
    share = max(one.outside for one in worked.descent.landed(min(SCATTERED, worked.scattered_cases)))
    return Bearing(share, FEW, less=True, fails=FEW / MANY)


def _wind(worked: Worked, _: str) -> Bearing:
    return Bearing(worked.sky.launch_wind, known("launch_wind").high, less=True)


def _opens_high(worked: Worked, _: str) -> Bearing | None:
    way = worked.rig.way
    return Bearing(worked.descent.main_height, known("main_height").high, less=True, fails=0.0) if way.low or way.held else None


def _slow(worked: Worked, key: str) -> Bearing:
    return Bearing(worked.descent.fall_of(key).touchdown_rate.high, known("touchdown").low, fails=0.0)


def _slow_drogue(worked: Worked, key: str) -> Bearing:
    return Bearing(worked.canopies[key].rate.low, known("drogue").low, fails=0.0)


def _touchdown(worked: Worked, key: str) -> Bearing:
    rate = worked.descent.fall_of(key).touchdown_rate.high
    return Bearing(rate, known("touchdown").high, less=True, fails=1 / FAR_TOO_HARD)


def _energy(worked: Worked, _: str) -> Bearing:
    worst = worked.descent.hardest
    return Bearing(worst.energy.high, known("energy").high, less=True, fails=0.0, of=worst.name)


def _settled(worked: Worked, _: str) -> Bearing:
    return Bearing(worked.descent.latest.settled_height, LOW, fails=TOO_LOW / LOW)


def _late(worked: Worked, _: str) -> Bearing:
    return Bearing(worked.descent.latest.settled_time, SHORT, fails=0.0)


_Where = Callable[[Worked], Iterable[str]]
_Number = Callable[[Worked, str], Bearing | None]

CAUSES: dict[str, tuple[_Where, _Number]] = {
    "cord-round": (_canopies, _cord_round),
    "wraps": (_canopies, _wraps),
    "all-wound": (_canopies, _all_wound),
    "tight": (_canopies, _tight),
    "long": (_canopies, _long),
    "overfull": (_bays, _overfull),
    "cord-short": (_cords, _cord_short),
    "throws": (_bays, _throws),
    "nothing-parts": (_bays, _nothing),
    "too-much": (_bays, _too_much),
    "motor": (_bays, _motor),
    "tested-low": (_bays, _tested_low),
    "strong-charge": (_bays, _strong_charge),
    "protector": (_bays, _protector),
    "parts": (_bays, _parts),
    "test-pins": (_bays, _test_pins),
    "untested": (_bays, _untested),
    "one-pin": (_bays, _one_pin),
    "thin-air": (_bays, _thin_air),
    "trapped": (_bays, _trapped),
    "running": (_bays, _running),
    "jolted": (_bays, _jolted),
    "late-motor": (_bays, _late_motor),
    "alone": (_rig, _alone),
    "ports": (_rig, _ports),
    "lines-short": (_canopies, _lines_short),
    "span": (_canopies, _span),
    "swivel": (_canopies, _swivel),
    "weak-cloth": (_canopies, _weak_cloth),
    "opens-fast": (_canopies, _opens_fast),
    "weak-cord": (_cords, _weak_cord),
    "device": (_held, _device),
    "edge": (_cords, _edge),
    "few-lengths": (_cords, _few_lengths),
    "hanging": (_cords, _hanging),
    "outside": (_rig, _outside),
    "wind": (_rig, _wind),
    "opens-high": (_rig, _opens_high),
    "slow": (_landing, _slow),
    "slow-drogue": (_relieved, _slow_drogue),
    "touchdown": (_landing, _touchdown),
    "energy": (_rig, _energy),
    "settled": (_rig, _settled),
    "late": (_rig, _late),
}

# What was seen, by its permanent anchor, and the causes of it that a number of the rig bears on.
SEEN: dict[str, tuple[str, ...]] = {
    "seen-wrapped": ("cord-round", "wraps", "all-wound"),
    "seen-in-tube": ("tight", "long", "overfull", "cord-short", "throws", "tested-low"),
    "seen-lines-twisted": ("lines-short", "span", "swivel"),
    "seen-burned": ("strong-charge", "protector"),
    "seen-torn": ("weak-cloth", "opens-fast"),
    "seen-tube-slit": ("few-lengths", "strong-charge", "edge"),
    "seen-nose-struck": ("hanging", "few-lengths", "strong-charge"),
    "seen-not-parted": ("untested", "nothing-parts", "motor", "too-much", "parts", "test-pins", "tested-low", "alone", "one-pin", "thin-air"),
    "seen-early": ("trapped", "running", "jolted", "late-motor", "ports"),
    "seen-far": ("outside", "wind", "opens-high", "slow", "slow-drogue"),
    "seen-hard": ("touchdown", "energy", "settled", "late"),
    "seen-tangled": ("hanging", "few-lengths"),
    "seen-cord-cut": ("weak-cord", "protector", "edge"),
    "seen-main-at-top": ("jolted", "trapped", "running", "device"),
    "seen-main-late": ("untested", "nothing-parts", "motor", "too-much", "parts", "test-pins", "tested-low", "alone", "ports", "settled", "late"),
    "seen-bay-unfired": ("alone", "untested", "nothing-parts", "motor", "tested-low", "thin-air"),
}
OF_THE_MAIN = ("seen-main-at-top", "seen-main-late")  # whose joints are those that open low down, no others


def possible(worked: Worked, seen: str) -> bool:
    """Whether that can happen to the rig at all: some of it wants a main that opens low down, two bays, parts tied together."""
    way = worked.rig.way
    if seen in OF_THE_MAIN:
        return bool(way.low or way.held)
    if seen == "seen-bay-unfired":
        return len(way.bays) > 1
    return seen != "seen-nose-struck" or way.tied


def suspects(worked: Worked, seen: str) -> tuple[Suspect, ...]:
    """The causes of what was seen, by its anchor, with this rig's numbers: the likeliest first, of equals the commoner.

    None for what cannot happen to the rig. Of the two causes that pull at a joint on the way up the larger is first.
    """
    if not possible(worked, seen):
        return ()
    found = []
    for cause in SEEN[seen]:
        where, number = CAUSES[cause]
        for key in where(worked):
            bearing = number(worked, key) if seen not in OF_THE_MAIN or where is not _bays or key in worked.rig.way.low else None
            if bearing is not None:
                found.append(Suspect(cause, key, bearing))
    return tuple(sorted(found, key=lambda one: (*one.rank, -_share(worked, one))))


def _share(worked: Worked, one: Suspect) -> float:
    """The pull of its own [N] of a cause that is judged by all that pulls on the way up; 0 of any other."""
    if one.cause not in ("trapped", "running"):
        return 0.0
    joint = worked.joints[one.key]
    return joint.trapped if one.cause == "trapped" else joint.running_on
