"""Loads on the gear of one cord: how hard its canopy opens, how hard the cord comes tight, which part gives first."""

from collections.abc import Iterator

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Table, Value, Working
from loftbook.calculators.descent import AIR, BARE, FALL, PARTS, SHAPES, WAY
from loftbook.drawing.chart import Line, chart
from loftbook.drawing.links import Link, links
from loftbook.drawing.svg import Drawing
from loftbook.physics.chain import Part
from loftbook.quantity import (
    ENERGY,
    FORCE,
    LENGTH,
    LINE_LOAD,
    MASS,
    NUMBER,
    SHARE,
    SPEED,
    TIME,
    Kind,
    at_least,
    at_most,
    digits,
    read,
)
from loftbook.tables import cited, known, sentence
from loftbook.worked.canopy import Canopy
from loftbook.worked.descent import OpeningLoad
from loftbook.worked.loads import STIFF, Chain
from loftbook.worked.worked import Worked

CHAIN = CheckKind(
    "chain",
    "Chain of strength",
    (
        "cord.length",
        "cord.material",
        "cord.end",
        "cord.link",
        "cord.swivel",
        "cord.device",
        "cord.anchor",
        "cord.nose_anchor",
        "cord.bulkhead",
        "lines.material",
        "lines.end",
        "chain.factor",
        "flight.delay",
    ),
    gate=True,
)
FACTOR = CheckKind("design-factor", "Design factor", ("chain.factor",), gate=True)
CLOTH = CheckKind("cloth-strength", "Strength of the cloth", ("canopy.cloth", "canopy.cloth_strength"))
SPAN = CheckKind("lines-span", "Lines span the skirt", ("lines.length", "canopy.size"), gate=True)

ROOM = 2.0  # design factor from which knots, sun and wear have room (our choice, as on About & safety)


# --- checks ---


def _named(part: str) -> str:
    """A part of the chain in a sentence."""
    return part if part.startswith("one ") else f"the {part}"


def unit_of(part: str) -> Kind:
    """What a part's strength and its load are written in, by its name: of cloth they are of its width, of stitches of their length."""
    return LINE_LOAD if part.startswith(("cloth", "stitches")) else FORCE


def borne(worked: Worked, part: Part) -> str:
    """What a part bears beside what pulls at it, in words that err to the safe side."""
    kind = unit_of(part.name)
    return f"bears {worked.at_most(part.strength, kind)} where {worked.at_least(part.load, kind)} pulls ({part.cause})"


def chain_check(worked: Worked, found: Chain) -> Check:
    factor = worked.rig.number("chain.factor")
    if not found.parts:
        return CHAIN.hold("Nothing pulls at it that is worked out here.")
    weakest = found.parts[0]
    told = (
        f"The weakest part is {_named(weakest.name)}: it {borne(worked, weakest)}, "
        f"{worked.at_most(weakest.margin, NUMBER)} times."
    )
    if weakest.margin < 1:
        return CHAIN.fail(f"{told} It breaks.")
    if weakest.margin < factor:
        return CHAIN.warn(f"{told} Less than your design factor, {worked.at_least(factor, NUMBER)}.")
    return CHAIN.hold(f"{told} Your design factor is {digits(factor)}.")


def factor_check(worked: Worked) -> Check:
    factor, least = worked.rig.number("chain.factor"), known("design_factor").low
    told, usual = worked.at_most(factor, NUMBER), sentence("design_factor", worked.rig.units)
    source = f"{cited('design_factor')} {digits(ROOM)} is our choice."
    if factor < least:
        return FACTOR.fail(f"{told}, below {digits(least)}: knots, sun and wear have no room left; {usual}.", source=source)
    if factor < ROOM:
        return FACTOR.warn(f"{told}, below {digits(ROOM)}: knots, sun and wear have little room left.", source=source)
    return FACTOR.hold(f"{told}, at least {digits(ROOM)}.", source=source)


def span_check(worked: Worked, found: Chain) -> Check:
    """Of a canopy's own cord."""
    assert found.canopy
    if found.spans:
        return SPAN.hold("The lines reach from the inflated skirt to one point.")
    lines, across = worked.show(found.canopy.line_length, LENGTH), worked.at_least(found.canopy.inflated_most, LENGTH)
    return SPAN.fail(f"Lines of {lines} cannot span an inflated skirt of {across} across.")


def cloth_check(worked: Worked, one: Canopy) -> Check:
    """A cloth of unknown strength is in no chain: whether it tears nobody has looked at."""
    if one.cloth_strength is None:
        return CLOTH.warn(
            "The strength of the cloth is not known, so it is not in the chain, and the chain says nothing of it: ask its "
            "maker, or pull a strip until it tears, and enter that."
        )
    return CLOTH.hold(f"{worked.at_most(one.cloth_strength, LINE_LOAD)}, and it is in the chain.")


def checks(worked: Worked, key: str, found: Chain) -> tuple[Check, ...]:
    made = [chain_check(worked, found)]
    if key == worked.rig.way.keys[0]:  # a fact of the whole rig, said once
        made.append(factor_check(worked))
    if found.canopy:
        made += [span_check(worked, found), cloth_check(worked, found.canopy)]
    return tuple(made)


# --- tables and charts ---


def opening_table(worked: Worked, found: Chain) -> Table:
    """Every opening that this cord feels."""
    rows = tuple(
        (
            load.canopy.name,
            worked.at_least(load.speed, SPEED),
            worked.ends(worked.descent.pulls[load.canopy.key], FORCE),
            worked.at_least(load.book.infinite, FORCE),
            worked.ends(load.finite_mass, FORCE),
            worked.at_least(load.design, FORCE),
            worked.at_least(share, SHARE),
        )
        for load, share in found.openings
    )
    head = (
        "Canopy",
        "Opens at up to",
        "Full run, best to hardest",
        "Infinite mass",
        "Finite mass, Cx 1 to table",
        "Design to",
        "Of it through this cord",
    )
    return Table("Opening load, three ways", head, rows)


def chain_table(worked: Worked, found: Chain) -> Table:
    rows = tuple(
        (
            part.name,
            worked.at_most(part.rating, unit_of(part.name)),
            worked.show(part.efficiency, SHARE),
            worked.at_least(part.load, unit_of(part.name)),
            part.cause,
            worked.at_most(part.margin, NUMBER),
        )
        for part in found.parts
    )
    head = ("Part", "Rating", "Efficiency", "Load", "From", "Strength over load")
    return Table("The chain, weakest first", head, rows)


def chain_picture(worked: Worked, found: Chain) -> Drawing:
    """The chain from cloth to bulkhead, each link as thick as its margin."""
    rows = tuple(
        Link(part.name.partition(",")[0], part.margin, f"{worked.at_most(part.margin, NUMBER)} ×") for part in found.along
    )
    told = ", ".join(f"{row.name} {row.words}" for row in rows)
    weakest = found.along.index(found.parts[0])
    return links(rows, weakest, "The chain: the thicker, the further from breaking", f"What each part bears over its load: {told}.")


def jerk_chart(worked: Worked, found: Chain) -> Drawing:
    """Cord jerk over cord length, for the reader's cord and a stiff one of the same strength."""

    def length(value: float) -> str:
        return worked.show(value, LENGTH)

    def force(value: float) -> str:
        return worked.at_least(value, FORCE)

    yours, stiff = found.jerk_over_length(found.cord.stretch), found.jerk_over_length(STIFF)
    told = [(x, f"{length(x)}: {force(a)}; stiff cord {force(b)}") for (x, a), (_, b) in zip(yours, stiff, strict=True)]
    return chart(
        "Jerk of the cord over its length",
        f"Yours, {length(found.cord.free)}, comes tight with {force(found.jerk or 0.0)}; twice as long, 0.71 of that.",
        "cord length",
        "force",
        [Line("yours", yours), Line("stiff fibre", stiff)],
        length,
        force,
        (1.0 if worked.rig.units == "metric" else 0.3048, read(f"1 {FORCE.offered(worked.rig.units)}", FORCE)),
        told,
    )


# --- what else is said ---


def opening_working(worked: Worked, load: OpeningLoad) -> tuple[Working, Working]:
    name, book, show = load.canopy.name, load.book, worked.show
    cx = digits(load.canopy.cx)
    return (
        Working(
            f"Infinite mass, {name}",
            "F = ρ·v²/2 · Cd·S0 · Cx",
            f"{worked.at_least(book.infinite, FORCE)} with Cx {cx}",
            "Knacke 1991, sec. 5.4 and Table 5-1 (memory)",
        ),
        Working(
            f"Finite mass, {name}",
            "F = ρ·v²/2 · Cd·S0 · X1, X1 from A = 2·m / (Cd·S0·ρ·v·t_f)",
            f"A = {digits(book.ballistic)}, X1 = {digits(book.reduction)}, F = {show(book.finite, FORCE)}; times Cx "
            f"{worked.at_least(book.finite_cx, FORCE)}",
            "Pflanz equation without gravity, closed form; Knacke 1991, sec. 5.4 (memory)",
        ),
    )


def jerk_working(worked: Worked, found: Chain) -> Working:
    """Of a cord that ties two sides."""
    assert found.jerk is not None
    assert found.parting_speed is not None
    assert found.reduced_mass is not None
    show, cord = worked.show, found.cord
    return Working(
        "Cord coming tight",
        "F = v·√(k·μ), k = P / (ε·L), μ = m1·m2 / (m1 + m2)",
        f"v = {worked.at_least(found.parting_speed, SPEED)}, P = {worked.at_most(cord.strength, FORCE)}, "
        f"ε = {show(cord.stretch, SHARE)}, L = {show(cord.free, LENGTH)}, μ = {show(found.reduced_mass, MASS)}: "
        f"{worked.at_least(found.jerk, FORCE)}",
        f"energy method, any mechanics text; cord: {cord.source}. The parting speed is an upper bound: the greatest pressure "
        f"({found.tight[1].partition(': ')[2]}) is taken to hold over one shoulder, at least half a tube (our choice)",
    )


def working(worked: Worked, found: Chain) -> tuple[Working, ...]:
    show, made = worked.show, list[Working]()
    if found.own:
        made += opening_working(worked, found.own)
    if found.jerk is not None:
        made.append(jerk_working(worked, found))
    if found.snatch is not None and found.canopy and found.own:
        made.append(
            Working(
                "Snatch",
                "F = v·√(k·μ), 1/k = 1/k_lines + 1/k_cord, k = P / (ε·L), μ = m_c·m / (m_c + m)",
                f"v = {worked.at_least(found.own.speed, SPEED)}, m_c = {show(found.canopy.cloth_mass, MASS)}: "
                f"{worked.at_least(found.snatch, FORCE)}, the "
                "packed canopy taken to stop dead in the air (the safe side)",
                f"energy method as in Knacke 1991, sec. 5, lines and cord one behind the other; lines: {found.canopy.line_source}; "
                "a nose tied in where the lines meet comes along with the canopy (our choice)",
            )
        )
    width = f"{worked.at_least(found.cord_pull[0], FORCE)} / {show(found.cord.width, LENGTH)}"
    made.append(
        Working(
            "Cord on the edge of the tube",
            "largest cord load / cord width",
            f"{width} = {worked.at_least(found.edge_load, LINE_LOAD)}",
            "no published limit was found: compare rigs, and sleeve the cord where it crosses the mouth",
        )
    )
    return tuple(made)


def _why(worked: Worked, load: OpeningLoad) -> str:
    """Why the opening load is what it is."""
    book, show, opened = load.book, worked.show, worked.descent.opened[load.canopy.key]
    name = load.canopy.name if worked.rig.way.tied else f"{load.canopy.name}'s canopy"
    share = show(book.reduction, SHARE)
    return (
        f"At the best of every range the {name} opens at {show(opened.at.speed, SPEED)} and fills in about "
        f"{show(opened.fills, TIME)}; at worst it opens at up to {worked.at_least(load.speed, SPEED)}. The infinite-mass value then, "
        f"{worked.at_least(book.infinite, FORCE)}, is what a load "
        f"too heavy to be slowed would feel; yours is slowed while the canopy fills, so without gravity only {share} "
        f"of the drag at that speed is reached (X1 {digits(book.reduction)}, from A = {digits(book.ballistic)}). With "
        f"gravity kept, the full run gives {show(opened.pull, FORCE)}, up to {worked.at_least(load.hardest, FORCE)} with the "
        "largest drag area and a quickly filling canopy. X1 leaves gravity out and is not on the safe side for light "
        "loads under big canopies; whether the handbook's large Cx still multiplies it there is open. So: design to the "
        f"larger of the hardest full run and the finite-mass value with Cx, {worked.at_least(load.design, FORCE)}."
    )


def notes(worked: Worked, found: Chain) -> tuple[str, ...]:
    told = [_why(worked, found.own)] if found.own else []
    if found.reduced_mass is None:
        told.append("This cord ties one part only: nothing flies apart on it, and it does not come tight with a jerk.")
    elif found.jerk is None:
        told.append("No charge parts this joint, so how hard the cord comes tight is not worked out here.")
    told.append(
        "Ratings are of new material. Sun, soot, wear and knots take from them: inspect before every flight, and "
        "retire what is singed, glazed or fuzzy."
    )
    return tuple(told)


def summary(worked: Worked, found: Chain) -> str:
    told = []
    if found.own:
        told.append(f"Design to {worked.at_least(found.own.design, FORCE)} at opening")
    if found.jerk is not None:
        told.append(f"{'the' if told else 'The'} cord comes tight with {worked.at_least(found.jerk, FORCE)}")
    weakest = (
        f"Weakest: {_named(found.parts[0].name)}, {worked.at_most(found.parts[0].margin, NUMBER)} times its load."
        if found.parts
        else "Nothing pulls at it that is worked out here."
    )
    return f"{weakest} {'; '.join(told)}." if told else weakest


def outputs(worked: Worked, found: Chain) -> dict[str, Value | None]:
    own = found.own
    opened = worked.descent.opened[own.canopy.key] if own else None
    weakest = found.parts[0] if found.parts else None
    return {
        "design_load": own.design if own else None,
        "full_run": worked.descent.pulls[own.canopy.key] if own else None,
        "infinite_mass": own.book.infinite if own else None,
        "finite_mass": own.finite_mass if own else None,
        "jerk": found.jerk,
        "snatch": found.snatch,
        "cord_pull": found.cord_pull[0],
        "weakest": weakest.name if weakest else None,
        "margin": weakest.margin if weakest else None,
        "edge_load": found.edge_load,
        "parting_speed": found.parting_speed,
        "opening_speed": opened.at.speed if opened else None,
        "filling": opened.fills if opened else None,
        "ballistic": own.book.ballistic if own else None,
        "reduction": own.book.reduction if own else None,
        "cord_energy": found.free_energy,
    }


def drawings(worked: Worked, found: Chain) -> Iterator[Drawing]:
    """The chain, then its jerk; where there is none, neither."""
    if found.parts:
        yield chain_picture(worked, found)
    if found.jerk:
        yield jerk_chart(worked, found)


def tables(worked: Worked, found: Chain) -> Iterator[Table]:
    """The openings, then the chain, as far as there are any."""
    if found.openings:
        yield opening_table(worked, found)
    if found.parts:
        yield chain_table(worked, found)


def compute(worked: Worked, key: str) -> Answer:
    found = worked.chains[key]
    return Answer(
        outputs(worked, found),
        summary(worked, found),
        checks(worked, key, found),
        Later(lambda: working(worked, found)),
        Later(lambda: drawings(worked, found)),
        notes=Later(lambda: notes(worked, found)),
        tables=Later(lambda: tables(worked, found)),
        cautions=("What breaks falls on people. Estimates: tests, the range safety officer and certified practice come first.",),
    )


LOADS = Calculator(
    "loads",
    "Loads on the gear",
    (
        "rig.units",
        *PARTS,
        "rocket.main_bay",
        "middle.mass",
        *BARE,
        "bay.",
        *SHAPES,
        "canopy.vent",
        "canopy.cloth",
        "canopy.cloth_mass",
        "canopy.cloth_strength",
        "canopy.seam",
        "canopy.mass",
        "lines.length",
        "lines.diameter",
        "lines.material",
        "lines.rating",
        "lines.stretch",
        "lines.end",
        "lines.mass",
        "make.",
        "pack.density",
        "pack.layout",
        "pack.beside",
        "pack.protector_depth",
        "pack.device",
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.width",
        "cord.thickness",
        "cord.material",
        "cord.rating",
        "cord.stretch",
        "cord.end",
        "cord.link",
        "cord.swivel",
        "cord.device",
        "cord.anchor",
        "cord.nose_anchor",
        "cord.bulkhead",
        "chain.",
        "joint.friction",
        "joint.friction_most",
        "joint.pins",
        "joint.pin",
        "charge.kind",
        "charge.delay",
        "charge.pressure",
        "charge.tested",
        "charge.backup",
        "charge.backup_mass",
        "charge.backup_later",
        "charge.backup_height",
        *AIR,
        *WAY,
        *FALL,
        "flight.forward_speed",
    ),
    (
        Output("margin", "Weakest part, strength over load", at_most(NUMBER)),
        Output("design_load", "Opening load to design to", at_least(FORCE)),
        Output("weakest", "Weakest part", None),
        Output("full_run", "Opening, full run", FORCE),
        Output("infinite_mass", "Opening, infinite mass", at_least(FORCE)),
        Output("finite_mass", "Opening, finite mass", FORCE),
        Output("jerk", "Cord coming tight", at_least(FORCE)),
        Output("snatch", "Snatch at line stretch", at_least(FORCE)),
        Output("cord_pull", "Largest load on the cord", at_least(FORCE)),
        Output("edge_load", "Cord on the tube's edge", at_least(LINE_LOAD)),
        Output("parting_speed", "Parting speed, upper bound", at_least(SPEED), leads=False),
        Output("opening_speed", "Speed at opening", SPEED, leads=False),
        Output("filling", "Filling time", TIME, leads=False),
        Output("ballistic", "Ballistic parameter A", NUMBER, leads=False),
        Output("reduction", "Reduction factor X1", NUMBER, leads=False),
        Output("cord_energy", "Energy the cord takes to break", at_most(ENERGY), leads=False),
    ),
    compute,
    (CHAIN, FACTOR, SPAN, CLOTH),
    each="cord",
    asks=("chain.factor", "cord.length", "cord.anchor"),
)
