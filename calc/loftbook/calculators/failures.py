"""What if one thing fails: every single failure of this rig, what it does to the gear, and where it comes down."""

from collections.abc import Iterator

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Passage, Table, Value, Working
from loftbook.calculators.descent import WIND_FIELDS
from loftbook.calculators.loads import LOADS
from loftbook.drawing.failing import Bar, Way, bars, ways_down
from loftbook.drawing.svg import Drawing
from loftbook.physics.strides import LAYER
from loftbook.quantity import (
    COUNT,
    ENERGY,
    FORCE,
    HEIGHT,
    LENGTH,
    LINE_LOAD,
    MASS,
    NUMBER,
    SHARE,
    SPEED,
    TIME,
    WIND,
    at_least,
    at_most,
    read,
)
from loftbook.rig.rocket_fields import TIMED
from loftbook.rig.ways import MAIN
from loftbook.tables import known, practice
from loftbook.worked.failures import (
    BREAKS,
    FALLS,
    HARD,
    HOLDS,
    NAMES,
    TANGLED,
    TOO_FAST,
    Failure,
    Failures,
    Need,
    tangles,
)
from loftbook.worked.worked import Worked

HARDEST = 45.0  # m/s at which a main opens: more is looked at again (our choice, as in `descent`)
DROGUE_IN = CheckKind(
    "fails-drogue-in",
    "If the drogue stays in",
    ("cord.material", "cord.link", "cord.anchor", "cord.bulkhead", "lines.material", "flight.main_height", "rocket.mass"),
)
AT_TOP = CheckKind(
    "fails-main-at-top", "If the main opens at the top", ("flight.apogee", "flight.wind", "main.joint.pins", "main.canopy.size")
)
SLOWEST = 0.1  # m/s; what bears no faster opening than that bears none
MANY = 4  # parts that are too weak: more are not told one by one
SHOWN = 6  # failures in the first picture
PLAIN = "Nobody's gear survives this: keep people back. Once it happens nothing aboard helps."
CAUTIONS = (
    "This tells what may happen, not what is safe. One failure at a time; real ones come in pairs. The range safety officer "
    "decides.",
    "Whatever a row says: people well back, on their feet, everyone told which rocket flies, nobody under it.",
)


# --- words ---


def _plain(name: str) -> str:
    """A part's name without what it is measured by."""
    return name.partition(",")[0]


def _needed(worked: Worked, need: Need) -> str:
    """What a part must bear, in words that never fall short."""
    kind = at_least(LINE_LOAD if need.part.name.startswith("cloth") else FORCE)
    whose = f" ({worked.title(need.whose)})" if len(worked.chains) > 1 else ""
    return f"{_plain(need.part.name)}{whose} of {worked.show(need.rating, kind)}, {worked.show(need.factor, at_least(NUMBER))} times as strong"


def weakest(worked: Worked, one: Failure) -> str:
    """The weakest part and how far it is from giving, for a cell."""
    if not one.parts:
        return "nothing opens"
    part, key = one.parts[0]
    whose = f"{worked.title(key)}: " if len(worked.chains) > 1 else ""
    return f"{whose}{_plain(part.name)}, {worked.show(part.margin, at_most(NUMBER))} times its load"


def opened(worked: Worked, one: Failure) -> str:
    """The fastest opening, for a cell."""
    return f"{one.hardest.canopy.name} at {worked.show(one.hardest.speed, SPEED)}" if one.hardest else "none"


def openings(worked: Worked, one: Failure) -> str:
    """Every opening at its fastest, and the weakest part of the chain under them."""
    if not one.loads:
        return "No canopy opens."
    told = ", ".join(f"{load.canopy.name} at up to {worked.show(load.speed, SPEED)}" for load in one.loads.values())
    part, _ = one.parts[0]
    kind = LINE_LOAD if part.name.startswith("cloth") else FORCE
    return (
        f"Opens: {told}. Weakest: {weakest(worked, one)}; it bears {worked.show(part.strength, kind)} where "
        f"{worked.show(part.load, kind)} pulls ({part.cause})."
    )


def landings(worked: Worked, one: Failure) -> str:
    """How each body touches down, where, and when."""
    show = worked.show
    if one.thrown:
        told = (
            f"At up to {show(one.thrown, SPEED)}, in any direction, {show(one.energy.high, ENERGY)} a section. Without air it "
            f"would reach {show(one.within.high, HEIGHT)}."
        )
        return f"{told} The speed is the greatest climb speed that you gave, or what coasts to the top without drag."
    found = "; ".join(
        f"{body.name} at {worked.range(body.rate, SPEED)}, up to {show(body.energy.high, ENERGY)} a section"
        for body in one.bodies
    )
    return (
        f"Touches down: {found}. Lands {show(one.within.low, HEIGHT)} to {show(one.within.high, HEIGHT)} from the pad, all of it "
        f"down in {show(one.time.low, TIME)} to {show(one.time.high, TIME)}."
    )


def judged(worked: Worked, one: Failure) -> str:
    """What the gear makes of it, and what would make it survive."""
    show = worked.show
    match one.verdict:
        case "holds":
            factor = worked.rig.number("chain.factor")
            near = one.margin is not None and one.margin < factor
            return f"The gear survives it{', with less than your design factor' if near else ''}."
        case "breaks":
            return f"It breaks. {_stronger(worked, one)} What then falls free comes down at up to {show(one.rate.high, SPEED)}."
        case "lands hard":
            return f"Nothing gives, but it lands hard. {_softer(worked, one)}"
        case _:
            more = f" {_stronger(worked, one)}" if one.breaks and not one.thrown else ""
            return f"{PLAIN}{more}"


def _stronger(worked: Worked, one: Failure) -> str:
    """What would not break."""
    if len(one.needs) > MANY:
        weak = worked.show(one.needs[0].factor, at_least(NUMBER))
        told = f"{len(one.needs)} parts would have to be stronger, the weakest {weak} times: slow it down instead."
    else:
        told = f"To survive the opening it would take: {'; '.join(_needed(worked, need) for need in one.needs)}."
    load, speed = one.bearable or (None, 0.0)
    if load and speed > SLOWEST:
        told += f" Or the {load.canopy.name} opening at no more than {worked.show(speed, at_most(SPEED))}."
    return told


def _softer(worked: Worked, one: Failure) -> str:
    """How much larger the canopy would have to be under which it lands hard."""
    if one.wider is None:
        return "It has not slowed down when the ground comes: open higher."
    last = one.worst.openings[-1][0]
    return (
        f"With a {last.name} {worked.show(one.wider, at_least(NUMBER))} times as wide it would stay below "
        f"{worked.show(TOO_FAST, SPEED)} and {worked.show(known('energy').high, ENERGY)}."
    )


def passage(worked: Worked, one: Failure) -> Passage:
    told = [one.what, openings(worked, one), landings(worked, one), judged(worked, one)]
    if one.helps:
        told.append(f"Before the flight: {one.helps[0].lower()}{one.helps[1:]}")
    return Passage(f"fails-{one.name}", f"{one.title}: {one.verdict}", " ".join(told))


# --- table and picture ---


def table(worked: Worked, found: tuple[Failure, ...]) -> Table:
    show = worked.show
    rows = tuple(
        (
            one.title,
            one.verdict,
            opened(worked, one),
            weakest(worked, one),
            show(one.rate.high, SPEED),
            show(one.energy.high, ENERGY),
            show(one.within.high, HEIGHT),
            show(one.time.high, TIME),
        )
        for one in found
    )
    head = ("What fails", "Verdict", "Fastest opening", "Weakest part", "Touchdown, up to", "Of a section, up to", "Lands within", "Down in")
    return Table("One failure at a time, each in its worst corner", head, rows, shown=True)


def chain_table(worked: Worked, found: Failures) -> Table:
    """Every part in the failure that is hardest on it."""
    rows = []
    for part, key, one in found.pulled:
        kind = LINE_LOAD if part.name.startswith("cloth") else FORCE
        rows.append(
            (
                f"{_plain(part.name)}, {worked.title(key)}",
                one.title,
                worked.show(part.strength, kind),
                worked.show(part.load, kind),
                worked.show(part.margin, at_most(NUMBER)),
            )
        )
    head = ("Part", "Pulled hardest by", "Bears", "Load", "Strength over load")
    return Table("Every part in the failure that pulls hardest at it", head, tuple(rows))


def _end(worked: Worked, one: Failure) -> str:
    """How it ends, in a few words."""
    if one.verdict == BREAKS:
        part, key = one.parts[0]
        return f"breaks: {_plain(part.name)}, {worked.title(key)}" if len(worked.chains) > 1 else f"breaks: {_plain(part.name)}"
    if one.verdict == HOLDS:
        return "survives"
    return f"{one.verdict}, {worked.show(one.rate.high, SPEED)}"


def worst_first(worked: Worked, found: tuple[Failure, ...]) -> Drawing:
    """What this rig's gear decides comes first: what breaks, what lands hard; then what no gear survives; then what it does."""
    order = (BREAKS, HARD, FALLS, HOLDS)
    ranked = sorted(found[1:], key=lambda one: (order.index(one.verdict), -one.energy.high))[:SHOWN]
    rows = [Way(one.title, _end(worked, one), one.verdict == HOLDS, one.worst.way) for one in ranked]
    told = "; ".join(f"{one.title}: {_end(worked, one)}" for one in ranked)
    return ways_down("What hurts most, and how it comes down", f"{told}. Height over time, all to one scale; steep is fast.", rows)


def picture(worked: Worked, found: tuple[Failure, ...]) -> Drawing:
    limit = known("energy").high
    unit = worked.show(limit, ENERGY).partition(" ")[2]
    rows = [Bar(one.title, one.energy.low, one.energy.high) for one in found]
    told = "; ".join(f"{one.title} up to {worked.show(one.energy.high, ENERGY)}" for one in found)
    return bars(
        "Energy of a section at touchdown",
        f"{told}. The broken line is a published limit, {worked.show(limit, ENERGY)}; each step of the scale is ten times the last.",
        f"{unit} at worst, in steps of ten",
        rows,
        limit,
        read(f"1 {ENERGY.offered(worked.rig.units)}", ENERGY),
        lambda value: worked.show(value, ENERGY).partition(" ")[0],
    )


# --- checks ---


def drogue_check(worked: Worked, found: Failures, key: str) -> Check:
    """Whether the gear survives that the canopy which slows it down stays in."""
    one = found.of(f"{key}-in")
    assert one
    assert one.hardest
    shut = found.of("first-bay-shut")
    told = (
        f"The {one.hardest.canopy.name} then opens at up to {worked.show(one.hardest.speed, SPEED)}; weakest: "
        f"{weakest(worked, one)}."
    )
    more = (
        f" If the whole bay stays shut it comes nose first, and opens at up to {worked.show(shut.hardest.speed, SPEED)}."
        if shut and shut.hardest
        else ""
    )
    limit = f" Above {worked.show(HARDEST, SPEED)}, or where a part gives, this is to be looked at (our choice)."
    return DROGUE_IN.holds_if(one.hardest.speed <= HARDEST and not one.breaks, f"{told}{more}{limit}")


def top_check(worked: Worked, one: Failure) -> Check:
    """Whether a main that opens at the top still comes down on the field, and whole."""
    far = worked.show(one.within.high, HEIGHT)
    told = f"It is down in up to {worked.show(one.time.high, TIME)} and lands within {far} of the pad in this wind."
    others = sum(one.leaves[1:])
    told += f" {'It leaves the field' if one.leaves[0] else 'It stays on the field'}; so strong a wind from another side would take "
    told += "it off the field from none of the other seven." if not others else f"it off the field from {others} of the other seven."
    if one.breaks:
        told += f" It breaks as it opens: {weakest(worked, one)}."
    return AT_TOP.holds_if(not one.leaves[0] and not one.breaks, told)


def checks(worked: Worked, found: Failures) -> tuple[Check, ...]:
    made = [drogue_check(worked, found, key) for key in tangles(worked.rig.way)]
    high = found.of(f"{MAIN}-at-top")
    return (*made, *([top_check(worked, high)] if high else []))


# --- what else is said ---


def working(worked: Worked, found: Failures) -> tuple[Working, ...]:
    show, down = worked.show, worked.descent
    cross = "Hoerner, Fluid-Dynamic Drag, 1965, ch. 3 (memory); none in another's wake"
    return (
        Working(
            "Nose first",
            "v = √(2·m·g / (ρ·Cd·S)), S the frontal area of the tube, Cd 0.3 to 0.8, best 0.5",
            f"{show(worked.airframe.mass, MASS)}, tube {show(found.width, LENGTH)}: {worked.range(found.rates(found.whole), SPEED)} "
            "at the field, given height enough",
            "Hoerner, Fluid-Dynamic Drag, 1965, ch. 3 and 16 (memory); slower than sound only, so it errs to the fast side",
        ),
        Working(
            "Parts tied together, no canopy",
            "v = √(2·m·g / (ρ·ΣCd·l·d)): each part as a cylinder tumbling or across the air",
            f"{worked.range(found.rates(found.tied), SPEED)} at the field",
            "timed by you" if worked.rig.way.falls and worked.rig.text("flight.fall") == TIMED else cross,
        ),
        Working(
            "A part that nothing is tied to",
            "the same, from across the air to straight down",
            f"the fastest section comes down at up to {show(found.loose_rate, SPEED)}",
            f"{cross}; fins may keep a tail straight, weight a nose",
        ),
        Working(
            "First charge early",
            "v = V·tan(g·t / V), V the slowest nose-first rate",
            f"t = {show(down.late, TIME)}: {show(found.early_speed, SPEED)} up, with the speed over the top "
            f"{show(found.all_well.bodies[0].speed, SPEED)} or more",
            "equation of motion straight up in even air; never more than the greatest speed on the way up",
        ),
        Working(
            "The ways down",
            "m·dv/dt = m·g − ρ·v²·CdS / 2; with an even drag area v² = V² + (v0² − V²)·e^(−2·g·z / V²)",
            f"in layers of {show(LAYER, HEIGHT)} or less; every opening after the least drag before it, with the most of its own, "
            "filling a quarter sooner or later",
            "mechanics, the motion of Coming down; loads and chain as on Loads on the gear",
        ),
        Working(
            "Where it lands",
            "x = ∫ u(z) / v(z) dz, and what it flies on by itself without a canopy, L·ln(1 + v·t / L), L = 2·m / (ρ·CdS)",
            f"strongest wind up to the top {show(found.strongest, WIND)}; what begins slowly is blown longer",
            "mechanics; speed downward left out, which would brake it more (the safe side)",
        ),
    )


def notes(worked: Worked, found: Failures) -> tuple[str, ...]:
    told = [
        "Survives: no part of the chain is pulled past what it bears, and nothing touches down above "
        f"{worked.show(TOO_FAST, SPEED)} (our choice) or {worked.show(known('energy').high, ENERGY)} "
        f"({practice('energy', worked.rig.units)}). What the ground does to fins and tubes is not in it.",
        "Where a part gives, the touchdown in the table is that of the fastest section that nothing holds any more.",
        f"A tangled drogue keeps {worked.show(TANGLED.low, SHARE)} to {worked.show(TANGLED.high, SHARE)} of its drag (our choice), "
        "beside that of the parts.",
        "Strengths told as remedies hold for gear of the same stretch; a stiffer cord pulls harder. Type it and look again.",
    ]
    if worked.rig.way.falls and worked.rig.text("flight.fall") == TIMED:
        told.append("Your timed rates stand for the parts tied together; a part by itself, and nose first, is still a model.")
    elif not worked.rig.way.falls:
        told.append("How your parts fall without a canopy nobody has timed: the range says so.")
    return tuple(told)


def summary(worked: Worked, found: Failures) -> str:
    count = {word: sum(one.verdict == word for one in found.all[1:]) for word in (HOLDS, HARD, BREAKS, FALLS)}
    told = (
        f"Of {len(found.all) - 1} single failures the gear survives {count[HOLDS]}; {count[HARD]} land hard, {count[BREAKS]} "
        f"break something, and {count[FALLS]} nobody's gear survives."
    )
    for key in tangles(worked.rig.way):
        one = found.of(f"{key}-in")
        if one and one.hardest:
            told += (
                f" If the {worked.title(key)} stays in, the {one.hardest.canopy.name} opens at up to "
                f"{worked.show(one.hardest.speed, SPEED)}: {one.verdict}."
            )
    return told


def outputs(found: Failures) -> dict[str, Value | None]:
    """Counts, and of every failure that this rig may have the worst numbers."""
    made: dict[str, Value | None] = {
        "survived": sum(one.verdict == HOLDS for one in found.all[1:]),
        "hard": sum(one.verdict == HARD for one in found.all[1:]),
        "broken": sum(one.verdict == BREAKS for one in found.all[1:]),
        "lethal": sum(one.verdict == FALLS for one in found.all[1:]),
        "farthest": max(one.within.high for one in found.all),
    }
    for name in NAMES:
        one, key = found.of(name), name.replace("-", "_")
        made |= {
            f"{key}_speed": one.hardest.speed if one and one.hardest else None,
            f"{key}_margin": one.margin if one else None,
            f"{key}_rate": one.rate.high if one else None,
            f"{key}_energy": one.energy.high if one else None,
            f"{key}_within": one.within.high if one else None,
        }
    return made


def drawings(worked: Worked, found: Failures) -> Iterator[Drawing]:
    """What is worst, then all of them."""
    yield worst_first(worked, found.all)
    yield picture(worked, found.all)


def tables(worked: Worked, found: Failures) -> Iterator[Table]:
    """All of them, then how one leads to another."""
    yield table(worked, found.all)
    yield chain_table(worked, found)


def compute(worked: Worked, key: str) -> Answer:
    found = Failures(worked)
    return Answer(
        outputs(found),
        summary(worked, found),
        checks(worked, found),
        Later(lambda: working(worked, found)),
        Later(lambda: drawings(worked, found)),
        notes=Later(lambda: notes(worked, found)),
        tables=Later(lambda: tables(worked, found)),
        passages=Later(lambda: (passage(worked, one) for one in found.all)),
        cautions=CAUTIONS,
    )


def _said(name: str) -> str:
    """What a failure is called among the outputs."""
    return name.replace("-", " ").capitalize()


FAILURES = Calculator(
    "failures",
    "What if one thing fails",
    (
        *LOADS.inputs,
        "rocket.length",
        "rocket.diameter",
        "nose.length",
        "middle.length",
        "flight.climb",
        *WIND_FIELDS,
        "flight.wind_from",
        "site.north",
        "site.east",
        "site.south",
        "site.west",
        "electronics.units",
        "electronics.batteries",
    ),
    (
        Output("survived", "Failures the gear survives", COUNT),
        Output("hard", "Failures that land hard", COUNT),
        Output("broken", "Failures that break something", COUNT),
        Output("lethal", "Failures nobody's gear survives", COUNT),
        Output("farthest", "All of it lands within", HEIGHT),
        *(
            output
            for name in NAMES
            for output in (
                Output(f"{name.replace('-', '_')}_speed", f"{_said(name)}: fastest opening", SPEED, leads=False),
                Output(f"{name.replace('-', '_')}_margin", f"{_said(name)}: strength over load", NUMBER, leads=False),
                Output(f"{name.replace('-', '_')}_rate", f"{_said(name)}: touchdown", SPEED, leads=False),
                Output(f"{name.replace('-', '_')}_energy", f"{_said(name)}: energy of a section", ENERGY, leads=False),
                Output(f"{name.replace('-', '_')}_within", f"{_said(name)}: lands within", HEIGHT, leads=False),
            )
        ),
    ),
    compute,
    (DROGUE_IN, AT_TOP),
    asks=("rocket.mass", "flight.main_height"),
)
