"""Loads on the gear: how hard each canopy opens, how hard the cord comes tight, and which part gives first."""

from loftbook.physics import chain, separation
from loftbook.calculators.descent import AIR, CANOPIES, WAY
from loftbook.case import Case, OpeningLoad
from loftbook.physics.chain import Part
from loftbook.answer import Answer, Calculator, Check, Output, Table, Value, Verdict, Working
from loftbook.drawing.chart import Line, chart
from loftbook.drawing.svg import Drawing
from loftbook.fields import FIELDS
from loftbook.quantity import ENERGY, FORCE, LENGTH, LINE_LOAD, NUMBER, SPEED, TIME, digits, read
from loftbook.physics.spread import Spread
from loftbook.tables import CLOTHS, CORDS, ENDS, LINES, material_source

STIFF = 0.035  # stretch at break of aramid or polyethylene fibre, for the comparison (fibre texts; memory)
SEAM = "stitched, zigzag"


def opening_design(case: Case) -> float:
    """The largest opening load to design to, of all canopies [N]."""
    return max(load.design for load in case.opening_loads)


def cord_pull(case: Case) -> tuple[float, str]:
    """The largest load on the cord [N], and where it comes from."""
    return max((opening_design(case), "opening"), (case.jerk, "cord coming tight"))


def parts(case: Case) -> tuple[Part, ...]:
    """Every part of the chain that has a rating, weakest first."""
    main = case.main_load.design
    cord_load, cord_cause = cord_pull(case)
    line_load, line_cause = max((main, "opening"), (case.snatch, "snatch"))
    found = []
    cloth = CLOTHS[case.rig.text("canopy.cloth")]
    if "strength" in cloth:
        rating = read(cloth["strength"], LINE_LOAD)  # per metre of width, as the tension
        tension = chain.cloth_tension(main, case.main.inflated_least)
        found.append(
            Part("cloth and its seams, a metre of width", rating, ENDS[SEAM]["efficiency"], tension, "opening")
        )
    radius = case.main.inflated_most / 2
    if radius < case.n("lines.length"):
        pulled = chain.line_load(line_load, case.lines, case.n("lines.length"), radius)
        found.append(Part("one line", case.line_material[0], case.end_efficiency("lines"), pulled, line_cause))
    found.append(Part("link", case.n("chain.link"), 1.0, max(main, case.snatch), line_cause))
    swivel = case.rig.optional("chain.swivel")
    if swivel is not None:
        found.append(Part("swivel", swivel, 1.0, max(main, case.snatch), line_cause))
    found.append(Part("cord", case.cord_material[0], case.end_efficiency("cord"), cord_load, cord_cause))
    found.append(Part("anchor", case.n("chain.anchor"), 1.0, cord_load, cord_cause))
    pushed = separation.pressure_force(case.pressure, case.n("rocket.tube"))
    bulkhead_load, bulkhead_cause = max((cord_load, cord_cause), (pushed, "pressure of the charge"))
    found.append(Part("bulkhead", case.n("chain.bulkhead"), 1.0, bulkhead_load, bulkhead_cause))
    return chain.weakest_first(found)


def chain_check(case: Case) -> Check:
    weakest, factor = parts(case)[0], case.n("chain.factor")
    told = (
        f"The weakest part is the {weakest.name}: it bears {case.show(weakest.strength, FORCE)} where "
        f"{case.show(weakest.load, FORCE)} pulls ({weakest.cause}), {digits(weakest.margin)} times."
    )
    if weakest.margin < 1:
        return Check("chain", "fail", "Chain of strength", f"{told} It breaks.")
    if weakest.margin < factor:
        return Check("chain", "warn", "Chain of strength", f"{told} Less than your design factor, {digits(factor)}.")
    return Check("chain", "pass", "Chain of strength", f"{told} Your design factor is {digits(factor)}.")


def factor_check(case: Case) -> Check:
    factor = case.n("chain.factor")
    verdict: Verdict = "warn" if factor < 1.5 else "pass"
    told = "below 1.5: knots, sun and wear have no room left" if factor < 1.5 else "at least 1.5"
    return Check(
        "design-factor",
        verdict,
        "Design factor",
        f"{digits(factor)}, {told} (handbook safety factor 1.5 to 1.6 for unmanned recovery, Knacke 1991, ch. 6; memory).",
    )


def span_check(case: Case) -> Check:
    radius, length = case.main.inflated_most / 2, case.n("lines.length")
    if radius >= length:
        return Check(
            "lines-span",
            "fail",
            "Lines span the skirt",
            f"Lines of {case.show(length, LENGTH)} cannot span an inflated skirt of {case.show(2 * radius, LENGTH)} across.",
        )
    return Check("lines-span", "pass", "Lines span the skirt", "The lines reach from the inflated skirt to one point.")


def opening_table(case: Case) -> Table:
    rows = []
    for load in case.opening_loads:
        rows.append(
            (
                load.name,
                case.show(load.stage.opened.speed, SPEED),
                f"{case.show(load.stage.peak.drag, FORCE)} to {case.show(load.hardest, FORCE)}",
                case.show(load.book.infinite, FORCE),
                f"{case.show(load.book.finite, FORCE)} to {case.show(load.book.finite_cx, FORCE)}",
                case.show(load.design, FORCE),
            )
        )
    head = (
        "Canopy",
        "Opens at",
        "Full run, best to hardest",
        "Infinite mass",
        "Finite mass, Cx 1 to table",
        "Design to",
    )
    return Table("Opening load, three ways", head, tuple(rows))


def chain_table(case: Case) -> Table:
    rows = tuple(
        (
            part.name,
            case.show(part.rating, FORCE),
            f"{digits(part.efficiency * 100)} %",
            case.show(part.load, FORCE),
            part.cause,
            digits(part.margin),
        )
        for part in parts(case)
    )
    return Table(
        "The chain, weakest first", ("Part", "Rating", "Efficiency", "Load", "From", "Strength over load"), rows
    )


def jerk_chart(case: Case) -> Drawing:
    """Cord jerk over cord length, for the reader's cord and a stiff one of the same strength."""
    strength, stretch = case.cord_material
    length, nose = case.free_cord, case.n("nose.mass")
    lengths = [length * (0.25 + 0.125 * i) for i in range(15)]

    def curve(give: float) -> list[tuple[float, float]]:
        return [(x, chain.cord_jerk(case.parting_speed, nose, case.rest_mass, strength, give, x)) for x in lengths]

    yours, stiff = curve(stretch), curve(STIFF)
    told = [
        (x, f"{case.show(x, LENGTH)}: {case.show(a, FORCE)}; stiff cord {case.show(b, FORCE)}")
        for (x, a), (_, b) in zip(yours, stiff, strict=True)
    ]
    return chart(
        "Jerk of the cord over its length",
        f"Yours, {case.show(length, LENGTH)}, comes tight with {case.show(case.jerk, FORCE)}; twice as long, 0.71 of that.",
        "cord length",
        "force",
        [Line("yours", yours), Line("stiff fibre", stiff)],
        lambda v: case.show(v, LENGTH),
        lambda v: case.show(v, FORCE),
        (1.0 if case.rig.units == "metric" else 0.3048, read(f"1 {FORCE.offered(case.rig.units)}", FORCE)),
        told,
    )


def _why(case: Case, load: OpeningLoad) -> str:
    """Why the largest load is what it is."""
    share = load.book.reduction
    return (
        f"The {load.name} opens at {case.show(load.stage.opened.speed, SPEED)} and fills in about "
        f"{case.show(load.stage.filling, TIME)}. The infinite-mass value, {case.show(load.book.infinite, FORCE)}, is what a load "
        f"too heavy to be slowed would feel; yours is slowed while the canopy fills, so without gravity only {digits(share * 100)} % "
        f"of the drag at that speed is reached (X1 {digits(share)}, from A = {digits(load.book.ballistic)}). With gravity kept, the "
        f"full run gives {case.show(load.stage.peak.drag, FORCE)}, up to {case.show(load.hardest, FORCE)} with the largest drag "
        "area and a quickly filling canopy. X1 leaves gravity out and is not on the safe side for light loads under big "
        "canopies; whether the handbook's large Cx still multiplies it there is open. So: design to the larger of the "
        f"hardest full run and the finite-mass value with Cx, {case.show(load.design, FORCE)}."
    )


def compute(case: Case) -> Answer:
    show = case.show
    largest = max(case.opening_loads, key=lambda load: load.design)
    main, weakest = case.main_load, parts(case)[0]
    strength, stretch = case.cord_material
    design, (cord_load, _) = opening_design(case), cord_pull(case)
    second = next((load for load in case.opening_loads if load.name != main.name), None)
    outputs: dict[str, Value | None] = {
        "design_load": design,
        "full_run": Spread(main.stage.peak.drag, main.stage.peak.drag, main.hardest),
        "infinite_mass": main.book.infinite,
        "finite_mass": Spread(main.book.finite, main.book.finite, main.book.finite_cx),
        "second_design": second.design if second else None,
        "reduction": main.book.reduction,
        "ballistic": main.book.ballistic,
        "filling": main.stage.filling,
        "opening_speed": main.stage.opened.speed,
        "jerk": case.jerk,
        "snatch": case.snatch,
        "parting_speed": case.parting_speed,
        "edge_load": chain.edge_load(cord_load, case.n("cord.width")),
        "weakest": weakest.name,
        "margin": weakest.margin,
        "cord_energy": chain.cord_energy(strength, stretch, case.n("cord.length")),
    }
    mu = chain.reduced_mass(case.n("nose.mass"), case.rest_mass)
    line = (
        "my own rating"
        if case.rig.text("lines.material") not in LINES
        else material_source(LINES[case.rig.text("lines.material")])
    )
    cord = (
        "my own rating"
        if case.rig.text("cord.material") not in CORDS
        else material_source(CORDS[case.rig.text("cord.material")])
    )
    working = (
        Working(
            f"Infinite mass, {main.name}",
            "F = ρ·v²/2 · Cd·S0 · Cx",
            f"{show(main.book.infinite, FORCE)} with Cx {digits(case.main.cx)}",
            "Knacke 1991, sec. 5.4 and Table 5-1 (memory)",
        ),
        Working(
            f"Finite mass, {main.name}",
            "F = ρ·v²/2 · Cd·S0 · X1, X1 from A = 2·m / (Cd·S0·ρ·v·t_f)",
            f"A = {digits(main.book.ballistic)}, X1 = {digits(main.book.reduction)}, F = {show(main.book.finite, FORCE)}; "
            f"times Cx {show(main.book.finite_cx, FORCE)}",
            "Pflanz equation without gravity, closed form; Knacke 1991, sec. 5.4 (memory)",
        ),
        Working(
            "Cord coming tight",
            "F = v·√(k·μ), k = P / (ε·L), μ = m1·m2 / (m1 + m2)",
            f"v = {show(case.parting_speed, SPEED)}, P = {show(strength, FORCE)}, ε = {digits(stretch * 100)} %, "
            f"μ = {digits(mu)} kg: {show(case.jerk, FORCE)}",
            f"energy method, any mechanics text; cord: {cord}. The parting speed is an estimate: the pressure is taken to "
            "hold over one shoulder, at least half a tube (our choice)",
        ),
        Working(
            "Snatch",
            "F = Δv·√(m_c·k), k = N·P / (ε·L)",
            f"{show(case.snatch, FORCE)}, the packed canopy taken to stop dead in the air (the safe side)",
            f"energy method as in Knacke 1991, sec. 5; lines: {line}",
        ),
        Working(
            "Cord on the edge of the tube",
            "largest cord load / cord width",
            f"{show(cord_load, FORCE)} / {show(case.n('cord.width'), LENGTH)} = "
            f"{show(chain.edge_load(cord_load, case.n('cord.width')), LINE_LOAD)}",
            "no published limit was found: compare rigs, and sleeve the cord where it crosses the mouth",
        ),
    )
    summary = (
        f"Design to {show(design, FORCE)} at opening; the cord comes tight with "
        f"{show(case.jerk, FORCE)}. Weakest: the {weakest.name}, {digits(weakest.margin)} times its load."
    )
    return Answer(
        outputs,
        summary,
        (chain_check(case), factor_check(case), span_check(case)),
        working,
        (jerk_chart(case),),
        notes=(
            _why(case, largest),
            "Ratings are of new material. Sun, soot, wear and knots take from them: inspect before every flight, and "
            "retire what is singed, glazed or fuzzy.",
            "The chain is that of the main canopy; cloth and lines of a drogue or second canopy are not in it: look at "
            "their opening load in the table.",
        ),
        tables=(opening_table(case), chain_table(case)),
        cautions=(
            "A part that breaks turns a recovery into a falling mass. These are estimates: certified practice, the range "
            "safety officer and your own tests come before them.",
        ),
    )


LOADS = Calculator(
    "loads",
    "Loads on the gear",
    (
        "rig.units",
        "rocket.mass",
        "nose.mass",
        "rocket.tube",
        "rocket.shoulder",
        *CANOPIES,
        *(p for p in FIELDS if p.startswith(("lines.", "chain.")) and p != "lines.diameter"),
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.width",
        "cord.material",
        "cord.rating",
        "cord.stretch",
        "cord.end",
        "joint.friction",
        "joint.pins",
        "joint.pin",
        "joint.pressure",
        *AIR,
        *WAY,
    ),
    (
        Output("design_load", "Opening load to design to", FORCE),
        Output("full_run", "Opening, full run", FORCE),
        Output("infinite_mass", "Opening, infinite mass", FORCE),
        Output("finite_mass", "Opening, finite mass", FORCE),
        Output("second_design", "Second canopy, design to", FORCE),
        Output("jerk", "Cord coming tight", FORCE),
        Output("snatch", "Snatch at line stretch", FORCE),
        Output("weakest", "Weakest part", None),
        Output("margin", "Its strength over load", NUMBER),
        Output("edge_load", "Cord on the tube's edge", LINE_LOAD),
        Output("parting_speed", "Parting speed, estimate", SPEED, main=False),
        Output("opening_speed", "Speed at opening", SPEED, main=False),
        Output("filling", "Filling time", TIME, main=False),
        Output("ballistic", "Ballistic parameter A", NUMBER, main=False),
        Output("reduction", "Reduction factor X1", NUMBER, main=False),
        Output("cord_energy", "Energy the cord takes to break", ENERGY, main=False),
    ),
    compute,
)
