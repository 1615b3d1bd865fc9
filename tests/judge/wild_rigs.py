"""Random rigs for the judge, each from its number alone: a third sane, a third thrown about, a third built to be treacherous.

Sane ones are made as the good rigs are, with sizes, masses, heights and strengths a little off: many of them are sound.
Those thrown about have some fields anywhere in their domains or at an end of them. Treacherous ones look like a sane rig in
all but one to three places, each a known way to hurt someone that a plan may not see.
"""

import random
from collections.abc import Callable, Mapping
from math import exp, log

import good_rigs
from good_rigs import HELD, MOTOR, NO_DROGUE, ONE_BAY, ONE_CANOPY, POWDER, TWO_BAYS, TWO_PARTS, Built
from verdict import si

from loftbook import quantity
from loftbook.errors import Refusal
from loftbook.rig.field import Field
from loftbook.rig.fields import FIELDS, STARTS
from loftbook.rig.parsing import completed, is_relevant, parse
from loftbook.rig.ways import WAYS

SANE, THROWN, TREACHEROUS = "sane", "thrown about", "treacherous"
Texts = dict[str, str]
WAYS_DOWN = (ONE_CANOPY, TWO_BAYS, TWO_PARTS, NO_DROGUE, HELD, ONE_BAY)
FAMILIES = (*good_rigs.PLAN, good_rigs.MINE)
MASSES = {  # kg that fly in a tube [m], with one joint and with two
    0.038: (0.25, 0.5), 0.054: (0.6, 1.3), 0.066: (0.8, 1.7), 0.075: (1.2, 3.0), 0.098: (2.0, 5.5), 0.102: (2.2, 6.0),
    0.124: (3.5, 8.0), 0.15: (4.5, 10.0), 0.2: (5.5, 8.5),
}  # fmt: skip
CUSTOMARY = {"m": ("ft", 0.3048), "kg": ("lb", 0.45359237), "N": ("lbf", 4.4482216152605), "m/s": ("ft/s", 0.3048)}


def rig(number: int) -> tuple[str, Texts]:
    """The kind of a rig and its texts, which are accepted."""
    dice = random.Random(number)
    kind = (SANE, THROWN, TREACHEROUS)[number % 3]
    base = started(dice) if dice.random() < 0.1 else sane(dice)
    changes = {SANE: jittered, THROWN: thrown, TREACHEROUS: treacherous}[kind](base, dice)
    return kind, healed(base, changes)


def healed(base: Texts, changes: Mapping[str, str]) -> Texts:
    """The base with as many of the changes as are accepted together."""
    texts, left = base | changes, dict(changes)
    while faults := faults_of(texts):
        blamed = {fault for fault in faults if fault in left} or {next(reversed(left))} if left else set()
        if not blamed:
            return {path: text for path, text in base.items() if path not in faults}
        left = {path: text for path, text in left.items() if path not in blamed}
        texts = base | left
    return texts


def faults_of(texts: Mapping[str, str]) -> set[str]:
    try:
        parse(texts)
    except Refusal as refusal:
        return {fault.field for fault in refusal.faults}
    return set()


def written(path: str, value: float, dice: random.Random | None = None) -> str:
    """A value [SI] inside its field's domain as text, sometimes in customary units."""
    field = FIELDS[path]
    assert field.kind is not None
    value = min(max(value, field.low), field.high)
    if field.kind is quantity.COUNT:
        return f"{value:.0f}"
    unit = "K" if field.kind is quantity.WARMER else field.kind.si
    if dice and unit in CUSTOMARY and dice.random() < 0.1:
        name, size = CUSTOMARY[unit]
        text = f"{value / size:.5f} {name}"
        return text if field.low <= si(text) <= field.high else f"{value!r} {unit}"
    return f"{value!r} {unit}".strip()


# --- sane ----------------------------------------------------------------------------------------------


def started(dice: random.Random) -> Texts:
    """A starting rig that comes down some way."""
    start = dice.choice(tuple(STARTS))
    return {"rig.start": start} | ({"flight.way": dice.choice(WAYS_DOWN)} if dice.random() < 0.6 else {})


def sane(dice: random.Random) -> Texts:
    """A rocket that someone might fly, made by the rules that the good rigs are made by."""
    way = dice.choice(WAYS_DOWN)
    low = way not in (ONE_CANOPY, TWO_PARTS)
    tubes = [tube for tube in MASSES if tube > 0.05 or way in (ONE_CANOPY, TWO_PARTS, HELD, ONE_BAY)]
    if way in (NO_DROGUE, HELD):
        tubes = [tube for tube in tubes if tube < 0.11]
    if way in (TWO_BAYS, NO_DROGUE) and dice.random() < 0.8:
        tubes = [tube for tube in tubes if tube > 0.07]  # pins ask for much pressure in a slim one
    tube = dice.choice(tubes)
    least, most = MASSES[tube]
    mass = dice.uniform(least, most if way in (TWO_BAYS, ONE_BAY, TWO_PARTS, ONE_CANOPY) else least + 0.3 * (most - least))
    length = min(max(dice.uniform(15, 26) * tube * (0.054 / tube) ** 0.3, 0.9), 3.2) * (1.25 if way in (TWO_BAYS, NO_DROGUE) else 1.0)
    fired = dice.random() < (0.9 if tube > 0.07 else 0.2) or way in (TWO_BAYS, NO_DROGUE)
    fore = dice.uniform(0.3, 0.45) if way == TWO_PARTS else dice.uniform(0.1, 0.2)
    more = {}
    if way in (NO_DROGUE, HELD) and dice.random() < 0.6:
        rate = dice.uniform(16, 22)
        more = {"flight.fall": "timed by me", "flight.fall_low": f"{rate:.1f} m/s", "flight.fall_high": f"{rate * 1.25:.1f} m/s"}
    texts = good_rigs.texts_of(
        Built(
            f"Rig of {1000 * tube:.0f} mm",
            way,
            tube,
            round(mass, 2),
            round(length, 2),
            dice.choice(FAMILIES),
            round(dice.uniform(350, 1800) if low else dice.uniform(150, 450)),
            dice.choice(FAMILIES),
            (fore, dice.uniform(0.3, 0.42)),
            rate=round(dice.uniform(4.5, 5.3) - (0.4 if mass > 7 else 0.0), 2),
            fast=round(dice.uniform(17, 22), 1),
            kind=POWDER if fired else MOTOR,
            pins=2 if tube < 0.08 else dice.choice((2, 3, 4)),
            pin="UNC #4-40" if tube > 0.14 else dice.choice(("M2 × 0.4", "UNC #2-56")),
            main_height=round(dice.uniform(200, 330)),
            delay=round(dice.uniform(4, 8)),
            wind=round(dice.uniform(1, 4.5), 1),
            more=more,
        )
    )
    return texts | reaching(texts) | {f"site.{side}": "3000 m" for side in ("north", "east", "south", "west")}


def reaching(texts: Texts) -> Texts:
    """The main's cord, long enough for its bay and lines."""
    lines, depth, gap, length = (
        si(texts.get(f"main.{path}", "0 m")) for path in ("lines.length", "bay.depth", "cord.gap", "cord.length")
    )
    return {"main.cord.length": f"{max(length, lines + 2 * depth + gap + 0.8):.1f} m"}


def paths_of(base: Texts, *ends: str) -> list[str]:
    """Fields with such an end (`canopy.size`, `rocket.mass`) that matter in a rig."""
    full = completed(base)
    fields = (field for path, field in FIELDS.items() if any(path == end or path.endswith(f".{end}") for end in ends))
    return [field.path for field in fields if is_relevant(field, full)]


def scaled(base: Texts, dice: random.Random, least: float, most: float, *ends: str) -> Texts:
    """One of those fields times something."""
    paths = [path for path in paths_of(base, *ends) if completed(base)[path].strip()]
    if not paths:
        return {}
    path = dice.choice(paths)
    return {path: written(path, si(completed(base)[path]) * exp(dice.uniform(log(least), log(most))), dice)}


def between(base: Texts, dice: random.Random, least: float, most: float, *ends: str) -> Texts:
    """One of those fields somewhere between [SI]."""
    paths = paths_of(base, *ends)
    if not paths:
        return {}
    path = dice.choice(paths)
    return {path: written(path, dice.uniform(least, most), dice)}


def chosen(base: Texts, dice: random.Random, *ends: str) -> Texts:
    """Another choice in one of those fields."""
    paths = paths_of(base, *ends)
    path = dice.choice(paths) if paths else ""
    return {path: dice.choice(FIELDS[path].choices)} if path else {}


Change = Callable[[Texts, random.Random], Texts]

MILD: tuple[Change, ...] = (
    lambda base, dice: scaled(base, dice, 0.92, 1.2, "canopy.size", "canopy.area"),
    lambda base, dice: scaled(base, dice, 0.8, 1.3, "cord.length"),
    lambda base, dice: scaled(base, dice, 0.5, 2.0, "cord.anchor", "cord.nose_anchor", "cord.link", "cord.swivel", "cord.bulkhead"),
    lambda base, dice: scaled(base, dice, 0.85, 1.2, "charge.tested", "charge.backup_mass"),
    lambda base, dice: scaled(base, dice, 0.9, 1.1, "rocket.mass", "nose.mass", "middle.mass"),
    lambda base, dice: scaled(base, dice, 0.8, 1.5, "flight.apogee", "flight.main_height"),
    lambda base, dice: between(base, dice, 0, 2000, "site.elevation"),
    lambda base, dice: between(base, dice, -20, 25, "site.warmer"),
    lambda base, dice: between(base, dice, 5, 18, "flight.forward_speed"),
    lambda base, dice: chosen(base, dice, "cord.material", "cord.end", "lines.end", "canopy.cloth"),
    lambda base, dice: chosen(base, dice, "joint.pin", "pack.shortening", "rocket.main_bay", "flight.fall"),
    lambda base, dice: between(base, dice, 2, 4, "joint.pins"),
)


def jittered(base: Texts, dice: random.Random) -> Texts:
    """A few things a little off."""
    changes: Texts = {}
    for _ in range(dice.randint(0, 3)):
        changes |= dice.choice(MILD)(base | changes, dice)
    return changes


# --- thrown about ---------------------------------------------------------------------------------------


def anywhere(field: Field, dice: random.Random) -> str:
    """Anything in a field's domain, its ends more often than not seen by chance."""
    if field.choices:
        return dice.choice(field.choices)
    if field.optional and dice.random() < 0.25:
        return ""
    if dice.random() < 0.25:
        return written(field.path, dice.choice((field.low, field.high)))
    if field.low > 0 and field.high > 20 * field.low and dice.random() < 0.6:
        return written(field.path, exp(dice.uniform(log(field.low), log(field.high))), dice)
    return written(field.path, dice.uniform(field.low, field.high), dice)


def thrown(base: Texts, dice: random.Random) -> Texts:
    """Some fields that matter anywhere in their domains; how a canopy is sewn is nothing to a flight."""
    full = completed(base)
    matter = [field for field in FIELDS.values() if (field.kind or field.choices) and field.group != f"{field.bay}.make" and not field.path.endswith(("_most", "cd_measured_low", "cd_measured_high")) and is_relevant(field, full)]
    many = dice.choice((1, 1, 2, 2, 3, 5, 8, 40))
    picked = dice.sample([field for field in matter if field.group != "rig"], many)
    return {field.path: anywhere(field, dice) for field in picked}


# --- treacherous ----------------------------------------------------------------------------------------


def _measured(base: Texts, dice: random.Random) -> Texts:
    """A canopy of which next to nothing is known."""
    key = dice.choice([path.split(".")[0] for path in paths_of(base, "canopy.family")])
    low = dice.uniform(0.2, 0.7)
    changes = {"canopy.family": good_rigs.MINE, "canopy.cd_low": f"{low:.2f}", "canopy.cd_high": f"{dice.uniform(low, 2.5):.2f}"}
    size = si(completed(base)[f"{key}.canopy.size"]) if f"{key}.canopy.size" in paths_of(base, "canopy.size") else 1.2
    return {f"{key}.{path}": text for path, text in (changes | {"canopy.area": f"{0.8 * size**2:.4f} m²"}).items()}


def _own_strand(least: float, most: float, what: str) -> Change:
    """Lines or a cord of their own, weak or stiff."""

    def changes(base: Texts, dice: random.Random) -> Texts:
        paths = paths_of(base, f"{what}.material")
        key = dice.choice(paths).split(".")[0]
        rated = {"material": "my own rating", "rating": f"{dice.uniform(least, most):.0f} N", "stretch": f"{dice.uniform(1, 25):.1f} %"}
        return {f"{key}.{what}.{path}": text for path, text in rated.items()}

    return changes


def _timed(base: Texts, dice: random.Random) -> Texts:
    """A fall that was timed, and fast."""
    low = dice.uniform(15, 60)
    rates = {"flight.fall": "timed by me", "flight.fall_low": f"{low:.1f} m/s", "flight.fall_high": f"{dice.uniform(low, 100):.1f} m/s"}
    return rates if WAYS[completed(base)["flight.way"]].falls else {}


def _at_once(base: Texts, dice: random.Random) -> Texts:
    """Both charges at the same moment."""
    keys = [path.split(".")[0] for path in paths_of(base, "charge.backup_later")]
    return {f"{key}.charge.backup_later": "0 s" for key in keys} | {"main.charge.backup_height": ""}


def _sealed(base: Texts, dice: random.Random) -> Texts:
    """High and fast with hardly a vent."""
    top = {"flight.apogee": f"{dice.uniform(2000, 14000):.0f} m", "flight.climb": f"{dice.uniform(200, 700):.0f} m/s"}
    return top | {path: dice.choice(("", "0.6 mm", "1.5 mm", "3 mm")) for path in paths_of(base, "joint.vent")}


def _heavy(base: Texts, dice: random.Random) -> Texts:
    """Nose or middle section is most of the rocket."""
    whole = si(completed(base)["rocket.mass"])
    paths = paths_of(base, "nose.mass", "middle.mass")
    shares = [dice.uniform(0.05, 0.9) for _ in paths]
    return {path: written(path, 0.9 * whole * share / sum(shares)) for path, share in zip(paths, shares, strict=True)}


def _meeting(base: Texts, dice: random.Random) -> Texts:
    """A cord on which the parts hang at about one depth."""
    full = completed(base)
    key = dice.choice([path.split(".")[0] for path in paths_of(base, "cord.layout")] or ["main"])
    length = si(full[f"{key}.cord.length"])
    near = length - si(full.get(f"{key}.bay.depth", "0.5 m")) - si(full["nose.length"])
    layout = dice.choice(("nose part-way along", "two sections, two legs"))
    return {f"{key}.cord.layout": layout, f"{key}.cord.gap": f"{max(0.05, near * dice.uniform(0.6, 1.4)):.2f} m"}


def _pressed(base: Texts, dice: random.Random) -> Texts:
    """A bay that gas can do much work in: long shoulder, little free volume."""
    return scaled(base, dice, 1.5, 4, "bay.shoulder") | scaled(base, dice, 1.0, 4, "charge.tested")


def _tested_hard(base: Texts, dice: random.Random) -> Texts:
    """A bulkhead that bears what is reckoned with some room, and a test or a backup that was far larger."""
    full = completed(base)
    changes: Texts = {}
    for path in paths_of(base, "charge.tested"):
        key = path.split(".")[0]
        push = 80e3 * 0.785 * si(full[f"{key}.bay.tube"]) ** 2
        changes[f"{key}.cord.bulkhead"] = written(f"{key}.cord.bulkhead", push * dice.uniform(1.5, 5))
    grown = scaled(base, dice, 1.5, 6, "charge.tested", "charge.backup_mass")
    return changes | grown


def _armoured(base: Texts, dice: random.Random) -> Texts:
    """Nothing can break, so that no check of strength stands in the way of what is wrong besides: how fast, how low, how late."""
    full = completed(base)
    ratings = ("cord.link", "cord.swivel", "cord.device", "cord.anchor", "cord.nose_anchor", "cord.bulkhead")
    strong = dict.fromkeys(paths_of(base, *ratings), "80 kN")
    for path in paths_of(base, "cord.material"):
        key = path.split(".")[0]
        strong |= {path: "my own rating", f"{key}.cord.rating": "90 kN", f"{key}.cord.stretch": "25 %"}
    for path in paths_of(base, "lines.material"):
        key = path.split(".")[0]
        strong |= {path: "my own rating", f"{key}.lines.rating": "8 kN", f"{key}.lines.stretch": "25 %"}
        strong |= {f"{key}.canopy.cloth": "my own cloth", f"{key}.canopy.cloth_strength": "90000 N/m"}
    low = "flight.main_height" in paths_of(base, "flight.main_height")
    wrong: Texts = {}
    for one in dice.sample(KINEMATIC, dice.choice((1, 1, 2))):
        wrong |= one(base, dice)
    if low and dice.random() < 0.3:
        wrong |= {"flight.main_height": f"{min(dice.uniform(20, 150), 0.9 * si(full['flight.apogee'])):.0f} m"}
    return strong | wrong


KINEMATIC: tuple[Change, ...] = (
    lambda base, dice: scaled(base, dice, 0.2, 0.7, "drogue.canopy.size", "drogue.canopy.area"),
    lambda base, dice: between(base, dice, 5, 120, "flight.main_height"),
    lambda base, dice: between(base, dice, 5, 120, "flight.apogee"),
    lambda base, dice: between(base, dice, 2, 5, "flight.delay") | between(base, dice, 10, 30, "charge.delay"),
    lambda base, dice: between(base, dice, 20, 60, "flight.forward_speed"),
    lambda base, dice: between(base, dice, 2500, 5000, "site.elevation"),
    lambda base, dice: scaled(base, dice, 1.3, 2.5, "rocket.mass"),
    _timed,
)

LETHAL: tuple[Change, ...] = (
    _armoured, _armoured, _armoured, _armoured, _armoured, _armoured, _tested_hard, _tested_hard, _tested_hard,
    lambda base, dice: scaled(base, dice, 0.25, 0.75, "drogue.canopy.size", "drogue.canopy.area"),
    lambda base, dice: scaled(base, dice, 0.35, 0.8, "canopy.size", "canopy.area"),
    lambda base, dice: scaled(base, dice, 1.3, 2.5, "main.canopy.size", "main.canopy.area"),
    lambda base, dice: between(base, dice, 5, 120, "flight.main_height"),
    lambda base, dice: between(base, dice, 5, 110, "flight.apogee"),
    lambda base, dice: between(base, dice, 2, 5, "flight.delay") | between(base, dice, 10, 30, "charge.delay"),
    lambda base, dice: between(base, dice, 15, 60, "flight.forward_speed"),
    lambda base, dice: scaled(base, dice, 1.5, 8, "charge.tested"),
    lambda base, dice: scaled(base, dice, 1.5, 8, "charge.backup_mass"),
    lambda base, dice: between(base, dice, 90e3, 250e3, "charge.pressure"),
    lambda base, dice: scaled(base, dice, 0.02, 0.4, "cord.bulkhead"),
    lambda base, dice: scaled(base, dice, 0.02, 0.4, "cord.anchor", "cord.nose_anchor", "cord.link", "cord.device"),
    lambda base, dice: between(base, dice, 0, 2, "joint.pins") | scaled(base, dice, 0.3, 1, "joint.friction"),
    lambda base, dice: between(base, dice, 60, 400, "flight.slowing"),
    lambda base, dice: between(base, dice, 2500, 5000, "site.elevation") | between(base, dice, 0, 45, "site.warmer"),
    lambda base, dice: between(base, dice, 45e3, 75e3, "site.pressure"),
    lambda base, dice: scaled(base, dice, 1.4, 4, "rocket.mass"),
    lambda base, dice: scaled(base, dice, 0.2, 0.6, "cord.length"),
    lambda base, dice: {"chain.factor": "1"} | scaled(base, dice, 0.1, 0.6, "cord.anchor", "cord.bulkhead", "cord.link"),
    lambda base, dice: scaled(base, dice, 0.3, 0.7, "bay.depth"),
    lambda base, dice: scaled(base, dice, 0.4, 0.8, "lines.length"),
    _own_strand(20, 300, "lines"),
    _own_strand(100, 3000, "cord"),
    _measured,
    _timed,
    _at_once,
    _sealed,
    _heavy,
    _meeting,
    _pressed,
)  # fmt: skip


def treacherous(base: Texts, dice: random.Random) -> Texts:
    """One to three ways to hurt someone."""
    changes: Texts = {}
    for _ in range(dice.choice((1, 1, 1, 2, 2, 3))):
        changes |= dice.choice(LETHAL)(base | changes, dice)
    return changes
