"""What if one thing fails: every single failure of this rig, what it does to the gear, and where it comes down."""

from collections.abc import Iterator

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Passage, Table, Value, Working
from loftbook.calculators.descent import WIND_FIELDS
from loftbook.calculators.loads import LOADS, borne, unit_of
from loftbook.drawing.failing import Bar, Way, bars, ways_down
from loftbook.drawing.svg import Drawing
from loftbook.physics.chain import Part
from loftbook.physics.strides import LAYER
from loftbook.quantity import (
    COUNT,
    ENERGY,
    HEIGHT,
    LENGTH,
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
from loftbook.tables import OURS, known, practice
from loftbook.worked.descent import OPENS_TOO_FAST
from loftbook.worked.failures import (
    BREAKS,
    FALLS,
    HARD,
    HOLDS,
    LANDS_TOO_FAST,
    NAMES,
    TANGLED,
    Failure,
    Failures,
    Need,
    tangles,
)
from loftbook.worked.worked import Worked

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
    rating, factor = worked.at_least(need.rating, unit_of(need.part.name)), worked.at_least(need.factor, NUMBER)
    return f"{_whole(worked, need.part, need.whose)} of {rating}, {factor} times as strong"


def _whole(worked: Worked, part: Part, key: str) -> str:
    """A part and, where there are several chains, whose it is."""
    name, whose = _plain(part.name), worked.title(key)
    if len(worked.chains) == 1:
        return name
    return f"{name} of the {whose}" if name.startswith("one ") else f"the {whose}'s {name}"


def weakest(worked: Worked, one: Failure) -> str:
    """The weakest part and how far it is from giving, for a cell."""
    if not one.parts:
        return "nothing opens"
    part, key = one.parts[0]
    return f"{_whole(worked, part, key)}, {worked.at_most(part.margin, NUMBER)} times its load"


def opened(worked: Worked, one: Failure) -> str:
    """The fastest opening, for a cell."""
    return f"{one.hardest.canopy.name} at {worked.at_least(one.hardest.speed, SPEED)}" if one.hardest else "none"


def openings(worked: Worked, one: Failure) -> str:
    """Every opening at its fastest, and the weakest part of the chain under them."""
    if not one.loads:
        return "No canopy opens."
    told = ", ".join(f"{load.canopy.name} at up to {worked.at_least(load.speed, SPEED)}" for load in one.loads.values())
    return f"Opens: {told}. Weakest: {weakest(worked, one)}; it {borne(worked, one.parts[0][0])}."


def landings(worked: Worked, one: Failure) -> str:
    """How each body touches down, where, and when; where a part gives, what falls free: the rest is said of gear that held."""
    least = worked.at_least
    if one.thrown:
        told = (
            f"At up to {least(one.thrown, SPEED)}, in any direction, {least(one.energy.high, ENERGY)} a section. Without air it "
            f"would reach {least(one.within.high, HEIGHT)}."
        )
        return f"{told} The speed is the greatest climb speed that you gave, or what coasts to the top without drag."
    if one.breaks:
        rate, energy = least(one.rate.high, SPEED), least(one.energy.high, ENERGY)
        return f"It breaks: what falls free comes down at up to {rate} with up to {energy}."
    found = "; ".join(
        f"{body.name} at {worked.range(body.rate, SPEED)}, up to {least(body.energy.high, ENERGY)} a section"
        for body in one.bodies
    )
    return (
        f"Touches down: {found}. Lands {worked.ends(one.within, HEIGHT)} from the pad, all of it "
        f"down in {worked.ends(one.time, TIME)}."
    )


def judged(worked: Worked, one: Failure) -> str:
    """What the gear makes of it, and what would make it survive."""
    if one.verdict == HOLDS:
        return f"The gear survives it{', with less than your design factor' if near(worked, one) else ''}."
    if one.verdict == BREAKS:
        return _stronger(worked, one)
    if one.verdict == HARD:
        return f"Nothing gives, but it lands hard. {_softer(worked, one)}"
    return f"{PLAIN} {_stronger(worked, one)}" if one.breaks and not one.thrown else PLAIN


def near(worked: Worked, one: Failure) -> bool:
    """Whether the weakest part is nearer to its limit than the design factor asks."""
    return one.margin is not None and one.margin < worked.rig.number("chain.factor")


def _stronger(worked: Worked, one: Failure) -> str:
    """What would not break."""
    if len(one.needs) > MANY:
        weak = worked.at_least(one.needs[0].factor, NUMBER)
        told = f"{len(one.needs)} parts would have to be stronger, the weakest {weak} times: slow it down instead."
    else:
        told = f"To survive the opening it would take: {'; '.join(_needed(worked, need) for need in one.needs)}."
    load, speed = one.bearable or (None, 0.0)
    if load and speed > SLOWEST:
        told += f" Or the {load.canopy.name} opening at no more than {worked.at_most(speed, SPEED)}."
    return told


def _softer(worked: Worked, one: Failure) -> str:
    """How much larger the canopy would have to be under which it lands hard."""
    if one.wider is None:
        return "It has not slowed down when the ground comes: open higher."
    last = one.worst.openings[-1][0]
    return (
        f"With a {last.name} {worked.at_least(one.wider, NUMBER)} times as wide it would stay below "
        f"{worked.at_most(LANDS_TOO_FAST, SPEED)} and {worked.at_most(known('energy').high, ENERGY)}."
    )


def passage(worked: Worked, one: Failure) -> Passage:
    results = [openings(worked, one), landings(worked, one)]
    gives = one.breaks and not one.thrown
    told = [one.what, *(reversed(results) if gives else results), judged(worked, one)]
    if one.helps:
        told.append(f"Before the flight: {one.helps[0].lower()}{one.helps[1:]}")
    mended = one.name if one.verdict in (HARD, BREAKS) else ""  # what falls with nothing open nobody's gear survives
    return Passage(f"fails-{one.name}", f"{one.title}: {one.verdict}", " ".join(told), mended)


# --- table and picture ---


def table(worked: Worked, found: tuple[Failure, ...]) -> Table:
    least = worked.at_least
    rows = tuple(
        (
            one.title,
            f"{one.verdict}, barely" if one.verdict == HOLDS and near(worked, one) else one.verdict,
            opened(worked, one),
            weakest(worked, one),
            least(one.rate.high, SPEED),
            least(one.energy.high, ENERGY),
            f"{least(one.within.high, HEIGHT)}{_if_whole(one)}",
            f"{least(one.time.high, TIME)}{_if_whole(one)}",
        )
        for one in found
    )
    head = ("What fails", "Verdict", "Fastest opening", "Weakest part", "Touchdown, up to", "Of a section, up to", "Lands within", "Down in")
    return Table("One failure at a time, each in its worst corner", head, rows, shown=True)


def _if_whole(one: Failure) -> str:
    """Behind where and when it lands: where a part gives that is said of gear that would have held."""
    return ", had it held" if one.breaks and not one.thrown else ""


def chain_table(worked: Worked, found: Failures) -> Table:
    """Every part in the failure that is hardest on it."""
    rows = []
    for part, key, one in found.pulled:
        kind = unit_of(part.name)
        rows.append(
            (
                f"{_plain(part.name)}, {worked.title(key)}",
                one.title,
                worked.at_most(part.strength, kind),
                worked.at_least(part.load, kind),
                worked.at_most(part.margin, NUMBER),
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
    return f"{one.verdict}, {worked.at_least(one.rate.high, SPEED)}"


def worst_first(worked: Worked, found: tuple[Failure, ...]) -> Drawing:
    """What this rig's gear decides comes first: what breaks, what lands hard; then what no gear survives; then what it does."""
    order = (BREAKS, HARD, FALLS, HOLDS)
    ranked = sorted(found[1:], key=lambda one: (order.index(one.verdict), -one.energy.high))[:SHOWN]
    rows = [Way(one.title, _end(worked, one), one.verdict == HOLDS, one.worst.way) for one in ranked]
    told = "; ".join(f"{one.title}: {_end(worked, one)}" for one in ranked)
    return ways_down("What hurts most, and how it comes down", f"{told}. Height over time, all to one scale; steep is fast.", rows)


def picture(worked: Worked, found: tuple[Failure, ...]) -> Drawing:
    limit = known("energy").high
    published = worked.at_most(limit, ENERGY)
    unit = published.partition(" ")[2]
    rows = [Bar(one.title, one.energy.low, one.energy.high) for one in found]
    told = "; ".join(f"{one.title} up to {worked.at_least(one.energy.high, ENERGY)}" for one in found)
    return bars(
        "Energy of a section at touchdown",
        f"{told}. The broken line is a published limit, {published}; each step of the scale is ten times the last.",
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
        f"The {one.hardest.canopy.name} then opens at up to {worked.at_least(one.hardest.speed, SPEED)}. Weakest: "
        f"{weakest(worked, one)}."
    )
    more = (
        f" If the whole bay stays shut it comes nose first, and opens at up to {worked.at_least(shut.hardest.speed, SPEED)}."
        if shut and shut.hardest
        else ""
    )
    limit = f" Above {worked.at_most(OPENS_TOO_FAST, SPEED)}, or with less than your design factor, this is to be looked at."
    return DROGUE_IN.holds_if(not doubts(worked, one), f"{told}{more}{limit}", source=OURS)


def doubts(worked: Worked, one: Failure) -> str:
    """Why the gear is looked at again that a failure leaves to a hard opening; empty where it holds."""
    assert one.hardest
    if one.breaks:
        return f"something gives ({weakest(worked, one)})"
    found = []
    if near(worked, one):
        factor = worked.at_least(worked.rig.number("chain.factor"), NUMBER)
        found.append(f"with {worked.at_most(one.margin or 0.0, NUMBER)} times where you want {factor}")
    if one.hardest.speed > OPENS_TOO_FAST:
        found.append(f"above {worked.at_most(OPENS_TOO_FAST, SPEED)}")
    return f"nothing gives, but {' and '.join(found)}: look again" if found else ""


def top_check(worked: Worked, one: Failure) -> Check:
    """Whether a main that opens at the top still comes down on the field, and whole."""
    far = worked.at_least(one.within.high, HEIGHT)
    told = f"It is down in up to {worked.at_least(one.time.high, TIME)} and lands within {far} of the pad in this wind."
    others = sum(one.leaves[1:])
    told += f" {'It leaves the field' if one.leaves[0] else 'That is on the field, the way up not counted'}."
    told += (
        f" So strong a wind from {others} of the other seven directions would take it off the field."
        if others
        else f" From the other seven directions so strong a wind would leave it on the field{'' if one.leaves[0] else ', too'}."
    )
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
            f"the fastest section comes down at up to {worked.at_least(found.loose_rate, SPEED)}",
            f"{cross}; fins may keep a tail straight, weight a nose",
        ),
        Working(
            "First charge early",
            "v = V·tan(g·t / V), V the slowest nose-first rate",
            f"t = {worked.at_least(down.late, TIME)}: {worked.at_least(found.early_speed, SPEED)} up, with the speed over the top "
            f"{worked.at_least(found.all_well.bodies[0].speed, SPEED)} or more",
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
            f"strongest wind up to the top {worked.at_least(found.strongest, WIND)}; what begins slowly is blown longer",
            "mechanics; speed downward left out, which would brake it more (the safe side)",
        ),
    )


def notes(worked: Worked, found: Failures) -> tuple[str, ...]:
    told = [
        "Survives: no part of the chain is pulled past what it bears, and nothing touches down above "
        f"{worked.at_most(LANDS_TOO_FAST, SPEED)} (our choice) or {worked.at_most(known('energy').high, ENERGY)} "
        f"({practice('energy', worked.rig.units)}). What the ground does to fins and tubes is not in it.",
        "Where a part gives, the touchdown in the table is that of the fastest section that nothing holds any more; where and when "
        "it lands is not known then, and told as if it had held.",
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
        f"Of {len(found.all) - 1} single failures the gear survives {count[HOLDS]}. Hard landings: {count[HARD]}; breaks: "
        f"{count[BREAKS]}; what nobody's gear survives: {count[FALLS]}."
    )
    for key in tangles(worked.rig.way):
        one = found.of(f"{key}-in")
        if one and one.hardest:
            told += (
                f" If the {worked.title(key)} stays in, the {one.hardest.canopy.name} opens at up to "
                f"{worked.at_least(one.hardest.speed, SPEED)}: {_left_in(worked, one)}."
            )
    return told


def _left_in(worked: Worked, one: Failure) -> str:
    """How that ends, and why to look again; how it lands is said before all else where it lands hard or falls."""
    lands = one.verdict if one.verdict in (HARD, FALLS) else ""
    return ", ".join(filter(None, (lands, doubts(worked, one)))) or one.verdict


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
    """All of them, then every part in the failure that pulls it hardest."""
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
        Output("farthest", "All of it lands within", at_least(HEIGHT)),
        *(
            output
            for name in NAMES
            for output in (
                Output(f"{name.replace('-', '_')}_speed", f"{_said(name)}: fastest opening", at_least(SPEED), leads=False),
                Output(f"{name.replace('-', '_')}_margin", f"{_said(name)}: strength over load", at_most(NUMBER), leads=False),
                Output(f"{name.replace('-', '_')}_rate", f"{_said(name)}: touchdown", at_least(SPEED), leads=False),
                Output(f"{name.replace('-', '_')}_energy", f"{_said(name)}: energy of a section", at_least(ENERGY), leads=False),
                Output(f"{name.replace('-', '_')}_within", f"{_said(name)}: lands within", at_least(HEIGHT), leads=False),
            )
        ),
    ),
    compute,
    (DROGUE_IN, AT_TOP),
    asks=("rocket.mass", "flight.main_height"),
)
