"""Choosing a canopy: how fast mine comes down, how large one must be, what it is made of."""

from loftbook.physics import canopy
from loftbook.case import Case
from loftbook.answer import Answer, Calculator, Check, Output, Value, Verdict, Working
from loftbook.physics.descent import USUAL_RATE
from loftbook.drawing import pictures
from loftbook.drawing.svg import Drawing
from loftbook.fields import FIELDS, MEASURED, TWO_PARTS
from loftbook.quantity import AIR_DENSITY, AREA, HEIGHT, LENGTH, MASS, NUMBER, SPEED, digits
from loftbook.tables import CLOTHS, material_source, practice


def rate_check(case: Case) -> Check:
    """Whether the touchdown rate lies in the usual range (common practice, no source)."""
    low, high = USUAL_RATE
    told = f"It comes down at {case.range(case.rate, SPEED)}."
    if case.rate.high > high:
        verdict: Verdict = "fail" if case.rate.low > 1.5 * high else "warn"
        advice = "Harder than usual: expect damage, and read the energy of each section. A larger canopy is the remedy."
        return Check("touchdown-rate", verdict, "Touchdown rate", f"{told} {advice}")
    if case.rate.high < low:
        return Check(
            "touchdown-rate",
            "warn",
            "Touchdown rate",
            f"{told} Gentler than usual: it will walk further in the wind, and the canopy is more to pack.",
        )
    return Check("touchdown-rate", "pass", "Touchdown rate", f"{told} Usual is {practice('touchdown')}.")


def second_rate_check(case: Case) -> Check | None:
    """The same for a second part under its own canopy."""
    if case.recovery != TWO_PARTS or not case.second_rate:
        return None
    hard = case.second_rate.high > USUAL_RATE[1]
    told = f"The second part comes down at {case.range(case.second_rate, SPEED)}."
    return Check("second-rate", "warn" if hard else "pass", "Second part", f"{told} Usual is {practice('touchdown')}.")


def compute(case: Case) -> Answer:
    shape, rig = case.shape, case.rig
    mass = case.mass
    wanted = case.wanted_size
    outputs: dict[str, Value | None] = {
        "rate": case.rate,
        "wanted_size": wanted,
        "area": case.area,
        "nominal_diameter": canopy.nominal_diameter(case.area),
        "cd": case.cd,
        "drag_area": case.drag_area,
        "air_density": case.density,
        "density_altitude": case.air.density_altitude(case.n("site.elevation")),
        "cloth_mass": case.cloth_mass,
        "line_mass": case.line_mass,
        "canopy_mass": case.cloth_mass + case.line_mass,
        "gore_length": shape.gore_length if shape else None,
        "gore_width": shape.skirt / shape.gores if shape and case.family != "cross" else None,
        "corner_to_corner": 2 * shape.edge_radius
        if shape and case.family == "flat polygon" and case.lines % 2 == 0
        else None,
        "cut_length": shape.gore_length + 2 * case.n("canopy.seam") if shape and case.family != "cross" else None,
        "line_over_diameter": case.n("lines.length") / canopy.nominal_diameter(case.area),
    }
    show, best = case.show, case.rate.best
    working = [
        Working(
            "Air at the field",
            "ρ = p / (R·T)",
            f"ρ = {show(case.density, AIR_DENSITY)}",
            "US Standard Atmosphere, 1976, with your elevation, temperature and pressure",
        ),
        Working(
            "Touchdown rate",
            "v = √(2·m·g / (ρ·Cd·S0))",
            f"v = √(2 × {show(mass, MASS)} × 9.807 m/s² / "
            f"({show(case.density, AIR_DENSITY)} × {digits(case.cd.best)} × "
            f"{show(case.area, AREA)})) = {show(best, SPEED)}",
            f"Knacke 1991, sec. 4.4. Cd {digits(case.cd.low)} to {digits(case.cd.high)} on S0: {case.cd_source}",
        ),
    ]
    if wanted:
        working.append(
            Working(
                "Size for the wanted rate",
                "Cd·S0 = 2·m·g / (ρ·v²), then S0 to size by the shape's own geometry",
                f"Cd·S0 = {show(canopy.drag_area_for(mass, case.n('canopy.rate'), case.density), AREA)}, "
                f"size {case.range(wanted, LENGTH)}",
                "the same law turned round; geometry exact",
            )
        )
    if rig.optional("canopy.mass") is None:
        source = material_source(CLOTHS[rig.text("canopy.cloth")])
        working.append(
            Working(
                "Mass of the canopy",
                "cloth area with two allowances a seam × mass per area + lines",
                f"{show(case.cloth_mass, MASS)} + {show(case.line_mass, MASS)} = "
                f"{show(case.cloth_mass + case.line_mass, MASS)}",
                f"{source}; an estimate, weigh yours",
            )
        )
    drawings: tuple[Drawing, ...] = ()
    if shape:
        size = case.n("canopy.size")
        described = (
            f"{case.family} with {case.lines} lines, size {show(size, LENGTH)}, area S0 {show(case.area, AREA)}."
        )
        drawings = (
            pictures.canopy_plan(
                case.family,
                shape,
                case.lines,
                case.ratio,
                rig.optional("canopy.vent") or 0.0,
                size,
                lambda v: show(v, LENGTH),
                described,
            ),
        )
    notes = []
    if case.family == "semi-ellipsoid":
        notes.append(
            "No published drag coefficient was found for this family: its range is a bracket between its neighbours."
        )
    if shape and case.family not in ("flat polygon", "flat circular", "annular", "cross"):
        notes.append(
            "Gore widths follow the true arc, the skin taken as round in section; a skin that pulls into flats "
            "between the lines needs the chord, a few per cent less."
        )
    name = (
        "your measured canopy"
        if case.family == MEASURED
        else f"the {show(case.n('canopy.size'), LENGTH)} {case.family}"
    )
    summary = f"{show(mass, MASS)} under {name} comes down at {case.range(case.rate, SPEED)}."
    cautions = (
        "What comes down is a falling mass, under a canopy or not: people well back, every rocket watched down. Local codes "
        "and the range safety officer decide.",
    )
    return Answer(
        outputs, summary, (rate_check(case),), tuple(working), drawings, notes=tuple(notes), cautions=cautions
    )


CANOPY = Calculator(
    "canopy",
    "Choose a canopy",
    (
        "rig.units",
        "rocket.mass",
        *(p for p in FIELDS if p.startswith("canopy.")),
        "lines.length",
        "lines.mass",
        "flight.recovery",
        "second.mass",
        "site.elevation",
        "site.warmer",
        "site.pressure",
    ),
    (
        Output("rate", "Touchdown rate", SPEED),
        Output("wanted_size", "Size for the wanted rate", LENGTH),
        Output("area", "Area S0, holes counted in", AREA),
        Output("nominal_diameter", "Nominal diameter D0", LENGTH),
        Output("canopy_mass", "Canopy with lines", MASS),
        Output("cd", "Drag coefficient on S0", NUMBER),
        Output("drag_area", "Drag area Cd·S0", AREA, main=False),
        Output("air_density", "Air density at the field", AIR_DENSITY, main=False),
        Output("density_altitude", "Density altitude of the field", HEIGHT, main=False),
        Output("cloth_mass", "Cloth alone", MASS, main=False),
        Output("line_mass", "Lines alone", MASS, main=False),
        Output("gore_length", "Gore, apex to skirt", LENGTH, main=False),
        Output("gore_width", "Gore width at the skirt", LENGTH, main=False),
        Output("corner_to_corner", "Corner to corner", LENGTH, main=False),
        Output("cut_length", "Gore length with allowance", LENGTH, main=False),
        Output("line_over_diameter", "Line length over D0", NUMBER, main=False),
    ),
    compute,
)
