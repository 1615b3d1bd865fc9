"""Choosing a canopy: how fast it comes down, how large one must be, what it is made of."""

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Value, Working
from loftbook.drawing.cloth import canopy_plan
from loftbook.drawing.svg import Drawing
from loftbook.quantity import AIR_DENSITY, AREA, HEIGHT, LENGTH, MASS, NUMBER, SPEED, at_least, digits
from loftbook.rig.bay_fields import CANOPY as FIELDS
from loftbook.rig.bay_fields import FLAT
from loftbook.tables import OURS, cited, known, sentence
from loftbook.worked.canopy import STRANGE, UNBELIEVABLE, Canopy
from loftbook.worked.descent import FAR_TOO_HARD, Fall
from loftbook.worked.joint import FASTEST
from loftbook.worked.sewn import Sewn
from loftbook.worked.worked import Worked

TOUCHDOWN_RATE = CheckKind("touchdown-rate", "Touchdown rate", ("canopy.size", "canopy.area", "rocket.mass"), gate=True)
DROGUE_RATE = CheckKind("drogue-rate", "Rate until the main opens", ("canopy.size", "canopy.area", "rocket.mass"), gate=True)
LINE_LENGTH = CheckKind("line-length", "Length of the lines", ("lines.length",))
MEASURED_DRAG = CheckKind("measured-drag", "Measured drag", ("canopy.cd_measured_low", "canopy.cd_measured_high", "canopy.cd_low", "canopy.cd_high"), gate=True)
CAUTIONS = ("Falling mass at any rate: people well back; the range safety officer decides.",)


def touchdown_check(worked: Worked, one: Canopy) -> Check:
    """Whether the rate at which it carries its body to the ground is usual: the worse of steady sinking and the full run."""
    usual, fall = known("touchdown"), worked.descent.fall_of(one.key)
    source = f"{cited('touchdown')} What is refused is {FAR_TOO_HARD:g} times that, our choice."
    rate = fall.touchdown_rate
    told = f"It comes down at {worked.range(rate, SPEED)}."
    if not fall.slowed:
        told = (
            f"{told} Its steady rate is {worked.range(one.rate, SPEED)}, but in the full run the ground comes before it has "
            "slowed down to that: open higher."
        )
    if rate.high > usual.high:
        advice = "Harder than usual: expect damage, and read the energy of each section. A larger canopy is the remedy."
        too_hard = rate.high > FAR_TOO_HARD * usual.high
        limit = f"Above {worked.at_most(FAR_TOO_HARD * usual.high, SPEED)} is refused."
        return (TOUCHDOWN_RATE.fail if too_hard else TOUCHDOWN_RATE.warn)(f"{told} {advice} {limit}", source=source)
    if rate.high < usual.low:
        return TOUCHDOWN_RATE.warn(
            f"{told} Gentler than usual: it will walk further in the wind, and the canopy is more to pack.", source=source
        )
    return TOUCHDOWN_RATE.hold(f"{told} Usual is {sentence('touchdown', worked.rig.units)}.", source=source)


def drogue_check(worked: Worked, one: Canopy) -> Check:
    """Whether the rate of a canopy that another one relieves is usual for a drogue, and not too fast for the other."""
    usual, most = known("drogue"), worked.at_most(FASTEST, SPEED)
    told = f"It comes down at {worked.range(one.rate, SPEED)} until the main opens."
    said, source = f"Usual is {sentence('drogue', worked.rig.units)}; above {most} is refused.", f"{cited('drogue')} {OURS}"
    if one.rate.high > usual.high:
        advice = "Faster, the main opens harder: a larger drogue is the remedy."
        return (DROGUE_RATE.fail if one.rate.high > FASTEST else DROGUE_RATE.warn)(f"{told} {said} {advice}", source=source)
    if one.rate.low < usual.low:
        advice = "Slower, it walks further in the wind: a smaller drogue is the remedy."
        return DROGUE_RATE.warn(f"{told} {said} {advice}", source=source)
    return DROGUE_RATE.hold(f"{told} {said}", source=source)


def line_check(worked: Worked, one: Canopy) -> Check:
    """Whether its lines are long enough for it to open fully."""
    usual, sewn = known("line_length"), Sewn(one)
    width = "width" if one.shape else "nominal diameter"
    told = f"Lines of {worked.show(one.line_length, LENGTH)} are {digits(sewn.line_over_width)} × its {width};"
    said, source = sentence("line_length", worked.rig.units), cited("line_length")
    if sewn.line_over_width < usual.low * (1 - 1e-9):
        advice = "Shorter, they draw the skirt in and it brakes less than worked out here."
        return LINE_LENGTH.warn(f"{told} {said}. {advice}", source=source)
    return LINE_LENGTH.hold(f"{told} {said}.", source=source)


def measured_check(worked: Worked, one: Canopy) -> Check:
    """Whether a drag that was measured may be this canopy's: how fast it sinks by it, beside its family's table. What hangs open beside it
    is taken for drag of its own, for it was measured so."""
    factor, usual = worked.strangeness(one.key, one.drag_area.best), one.usual_drag
    whose = f"the table of the family, {one.family}, says" if one.row else "the tables of all families say, on the area of all their cloth,"
    told = f"Cd {digits(one.cd.low)} to {digits(one.cd.high)} is measured; {whose} {digits(usual.low / one.area)} to {digits(usual.high / one.area)}."
    limits = f"Looked at again from {STRANGE:g} times as fast or as slow on, refused from {UNBELIEVABLE:g} times on."
    if factor > STRANGE:
        how = "slower" if one.drag_area.best > usual.high else "faster"
        advice = "Another phase, canopy, mass or size was measured, or mostly something that hung beside it: measure again, or take the measured values out."
        far = factor > UNBELIEVABLE
        return (MEASURED_DRAG.fail if far else MEASURED_DRAG.warn)(f"{told} By its middle it sinks {factor:.2f} times {how} than anywhere in that. {limits} {advice}", source=OURS)
    return MEASURED_DRAG.hold(f"{told} {limits}", source=OURS)


def _outputs(worked: Worked, one: Canopy) -> dict[str, Value | None]:
    sewn, sky = Sewn(one), worked.sky
    return {
        "rate": one.rate,
        "wanted_size": sewn.wanted_size,
        "area": one.area,
        "nominal_diameter": one.diameter,
        "cd": one.cd,
        "drag_area": one.drag_area,
        "air_density": sky.density,
        "density_altitude": sky.air.density_altitude(sky.elevation),
        "cloth_mass": one.cloth_mass,
        "line_mass": one.line_mass,
        "canopy_mass": one.mass,
        "gore_length": sewn.gore_length,
        "gore_width": sewn.gore_width,
        "flat_to_flat": sewn.flats,
        "corner_to_corner": sewn.corners,
        "cut_length": sewn.cut_length,
        "line_over_diameter": sewn.line_over_diameter,
    }


def _working(worked: Worked, one: Canopy) -> tuple[Working, ...]:
    show, sewn, sky = worked.show, Sewn(one), worked.sky
    working = [
        Working(
            "Air at the field",
            "ρ = p / (R·T)",
            f"ρ = {show(sky.density, AIR_DENSITY)}",
            "US Standard Atmosphere, 1976, with your elevation, temperature and pressure",
        ),
        Working(
            "Rate under it",
            "v = √(2·m·g / (ρ·Cd·S0))",
            f"v = √(2 × {show(one.carries, MASS)} × 9.807 m/s² / ({show(sky.density, AIR_DENSITY)} × "
            f"{digits(one.cd.best)} × {show(one.area, AREA)})) = {show(one.rate.best, SPEED)}",
            f"Knacke 1991, sec. 4.4. Cd {digits(one.cd.low)} to {digits(one.cd.high)} on S0: {one.cd_source}",
        ),
    ]
    if sewn.wanted_size:
        measured = ", measured from corner to corner as yours" if sewn.by_corners else ""
        working.append(
            Working(
                "Size for the wanted rate",
                "Cd·S0 = 2·m·g / (ρ·v²), then S0 to size by the shape's own geometry",
                f"Cd·S0 = {show(sewn.wanted_drag_area, AREA)}, size {worked.range(sewn.wanted_size, at_least(LENGTH))}{measured}",
                "the same law turned round; geometry exact",
            )
        )
    if one.said.optional("canopy.mass") is None:
        working.append(
            Working(
                "Mass of the canopy",
                "cloth area with two allowances a seam × mass per area + lines",
                f"{show(one.cloth_mass, MASS)} + {show(one.line_mass, MASS)} = {show(one.mass, MASS)}",
                f"{one.cloth_source}; an estimate, weigh yours",
            )
        )
    return tuple(working)


def _named(worked: Worked, one: Canopy) -> str:
    """The canopy with its size; of a polygon both widths, that no one takes one for the other."""
    sewn, show = Sewn(one), worked.show
    if not one.shape:
        return "your measured canopy"
    if sewn.flats is not None and sewn.corners is not None:
        widths = f"{show(sewn.flats, LENGTH)} from flat to flat, {show(sewn.corners, LENGTH)} from corner to corner"
        return f"the {one.family} of {widths},"
    return f"the {show(one.size, LENGTH)} {one.family}"


def _said(one: Canopy) -> bool:
    """Whether the reader said how large it is."""
    return one.said.rig.origin(f"{one.key}.canopy.size") != "start"


def _summary(worked: Worked, one: Canopy, landing: Fall | None) -> str:
    """The size that is needed and the one there is; of a canopy without a shape what it carries and how fast.

    landing: the fall that ends under it. Where the ground comes before it has slowed down, that rate is told.
    """
    sewn, show = Sewn(one), worked.show
    rate = worked.range(one.rate, SPEED)
    if landing and not landing.slowed:
        rate = f"{worked.range(landing.touchdown_rate, SPEED)}: the ground comes before it has slowed down"
    if not one.shape or not sewn.wanted_size:
        return f"{show(one.carries, MASS)} under {_named(worked, one)} comes down at {rate}."
    needed, wanted = show(sewn.wanted_size.high, at_least(LENGTH)), show(one.said.number("canopy.rate"), SPEED)
    size = show(one.said.number("canopy.size"), LENGTH)
    whose = "yours" if _said(one) else "the starting rig's"
    across = f" {one.said.text('canopy.across')}" if sewn.polygon else ""
    return f"{show(one.carries, MASS)} needs {needed}{across} for {wanted}; {whose}, {size}, gives {rate}."


def _drawings(worked: Worked, one: Canopy) -> tuple[Drawing, ...]:
    if not one.shape:
        return ()
    size, area = worked.show(one.size, LENGTH), worked.show(one.area, AREA)
    described = f"{one.family} with {one.lines} lines, size {size}, area S0 {area}."
    needed, wanted, words = one.wanted_size, Sewn(one).wanted_size, ""
    if needed and wanted:
        words = f"needed {worked.show(wanted.high, at_least(LENGTH))}"
        described += f" The size that is {words} is drawn over it."
    there = f"{'yours' if _said(one) else 'in the rig'} {worked.show(one.said.number('canopy.size'), LENGTH)}"
    shown = (one.family, one.shape, one.lines, one.ratio, one.vent, one.size, needed.high if needed else 0.0)
    return (canopy_plan(*shown, (there, words), worked.writer(LENGTH), described),)


def _notes(one: Canopy) -> tuple[str, ...]:
    notes = []
    if one.family == "semi-ellipsoid":
        notes.append(
            "No published drag coefficient was found for this family: its range is a bracket between its neighbours."
        )
    if one.shape and one.family not in FLAT:
        notes.append(
            "Gore widths follow the true arc, the skin taken as round in section; a skin that pulls into flats "
            "between the lines needs the chord, a few per cent less."
        )
    return tuple(notes)


def compute(worked: Worked, key: str) -> Answer:
    """One canopy in the air of the field."""
    one = worked.canopies[key]
    fall = worked.descent.fall_of(key)
    lands = fall.last.key == key
    rate = touchdown_check(worked, one) if lands else drogue_check(worked, one)
    return Answer(
        _outputs(worked, one),
        _summary(worked, one, fall if lands else None),
        (rate, line_check(worked, one), *((measured_check(worked, one),) if one.measured or not one.row else ())),
        Later(lambda: _working(worked, one)),
        Later(lambda: _drawings(worked, one)),
        notes=_notes(one),
        cautions=CAUTIONS,
    )


CANOPY = Calculator(
    "canopy",
    "Choose a canopy",
    (
        "rig.units",
        "rocket.mass",
        "nose.mass",
        *(field.path for field in FIELDS if field.path not in ("canopy.name", "canopy.cloth_strength")),
        "lines.length",
        "lines.mass",
        "rocket.length",
        "rocket.diameter",
        "flight.way",
        "flight.apogee",
        "flight.main_height",
        "flight.delay",
        "flight.forward_speed",
        "flight.fall",
        "flight.fall_low",
        "flight.fall_high",
        "charge.kind",
        "charge.delay",
        "site.elevation",
        "site.warmer",
        "site.pressure",
    ),
    (
        Output("rate", "Rate under yours", SPEED),
        Output("canopy_mass", "Yours with its lines", MASS),
        Output("wanted_size", "Size you need", at_least(LENGTH)),
        Output("area", "Area S0, holes counted in", AREA),
        Output("nominal_diameter", "Nominal diameter D0", LENGTH),
        Output("cd", "Drag coefficient on S0", NUMBER),
        Output("drag_area", "Drag area Cd·S0", AREA, leads=False),
        Output("air_density", "Air density at the field", AIR_DENSITY, leads=False),
        Output("density_altitude", "Density altitude of the field", HEIGHT, leads=False),
        Output("cloth_mass", "Cloth alone", MASS, leads=False),
        Output("line_mass", "Lines alone", MASS, leads=False),
        Output("gore_length", "Gore, apex to skirt", LENGTH, leads=False),
        Output("gore_width", "Gore width at the skirt", LENGTH, leads=False),
        Output("flat_to_flat", "Flat to flat", LENGTH, leads=False),
        Output("corner_to_corner", "Corner to corner", LENGTH, leads=False),
        Output("cut_length", "Gore length with allowance", LENGTH, leads=False),
        Output("line_over_diameter", "Line length over D0", NUMBER, leads=False),
    ),
    compute,
    (TOUCHDOWN_RATE, DROGUE_RATE, LINE_LENGTH, MEASURED_DRAG),
    each="canopy",
    asks=("rocket.mass", "canopy.rate", "canopy.size", "site.elevation"),
)
