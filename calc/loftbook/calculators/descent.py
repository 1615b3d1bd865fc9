"""Coming down: the whole way from the top to touchdown, rates, energies, time and drift."""

from collections.abc import Iterator, Sequence

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Table, Value, Working
from loftbook.drawing.chart import Line, Mark, chart
from loftbook.drawing.svg import Drawing
from loftbook.physics.atmosphere import HIGHEST, temperature
from loftbook.physics.descent import drop_height
from loftbook.physics.motion import Instant
from loftbook.physics.spread import Spread
from loftbook.physics.wind import REFERENCE
from loftbook.quantity import (
    ENERGY,
    FORCE,
    HEIGHT,
    LENGTH,
    MASS,
    NUMBER,
    SPEED,
    TIME,
    WIND,
    Kind,
    at_least,
    at_most,
    read,
)
from loftbook.rig.rocket_fields import TIMED
from loftbook.rig.ways import DROGUE
from loftbook.tables import OURS, cited, known, practice, sentence
from loftbook.worked.descent import LOW, OPENS_TOO_FAST, SHORT, TOO_LOW, Fall, OpeningLoad, shown
from loftbook.worked.joint import FASTEST
from loftbook.worked.worked import Worked

ENERGY_CHECK = CheckKind("touchdown-energy", "Energy at touchdown", ("main.canopy.size", "forward.canopy.size", "rocket.mass"))
WIND_CHECK = CheckKind("launch-wind", "Wind at launch", ("flight.wind", "flight.layers"), gate=True)
SETTLED_CHECK = CheckKind(
    "main-settled",
    "Open in time",
    ("flight.main_height", "flight.apogee", "main.canopy.size", "drogue.canopy.size", "forward.canopy.size"),
    gate=True,
)
OPENING_CHECK = CheckKind(
    "opening-speed",
    "Speed at which it opens",
    ("drogue.canopy.size", "flight.way", "flight.forward_speed", "flight.delay", "flight.fall"),
    gate=True,
)
FALL_CHECK = CheckKind(
    "fall-rate", "Rate without a canopy", ("flight.way", "flight.fall", "rocket.mass"), gate=True
)
FAST = 30.0  # m/s at which a main opens: looked at again (all four our choice)
COLD = 273.15  # K

Told = list[tuple[float, str]]


# --- checks ---


def energy_check(worked: Worked) -> Check:
    for touch in worked.descent.touching.values():
        if touch.packed >= touch.whole:
            return ENERGY_CHECK.fail(
                f"Canopies and lines of the {touch.name} are reckoned at {worked.show(touch.packed, MASS)}, the whole of it at "
                f"{worked.show(touch.whole, MASS)}: one of these is wrong, and with it every rate and load. Weigh both."
            )
    worst, limit = worked.descent.hardest, known("energy").high
    told = f"The {worst.name} lands with up to {worked.at_least(worst.energy.high, ENERGY)}"
    usual, source = f"a published limit is {worked.at_most(limit, ENERGY)} for a section", cited("energy")
    if worst.energy.high <= limit:
        return ENERGY_CHECK.hold(f"{told}; {usual}.", source=source)
    return ENERGY_CHECK.warn(
        f"{told}, {worked.at_least(worst.energy.high / limit, NUMBER)} times the limit: nobody near where it comes down; ask the "
        f"officer before you fly it ({usual}).",
        source=source,
    )


def settled_check(worked: Worked) -> Check:
    """Whether the last canopy has filled and braked well above ground, in the corner where that is latest."""
    latest = worked.descent.latest
    whose = _whose(worked, latest)
    least, low, short = worked.at_least(TOO_LOW, HEIGHT), worked.at_least(LOW, HEIGHT), worked.at_least(SHORT, TIME)
    choice = f"Below {least} is refused, below {low} or {short} looked at again."
    height, left = latest.settled_height, latest.settled_time
    corner = "with its least drag and filling a quarter later"
    if not height:
        return SETTLED_CHECK.fail(
            f"The {whose} has not slowed down to its steady rate before the ground {corner}: open higher. {choice}", source=OURS
        )
    told = (
        f"The {whose} has filled and is within a tenth of its steady rate {worked.at_most(height, HEIGHT)} above ground, "
        f"{worked.at_most(left, TIME)} before touchdown, {corner}. {choice}"
    )
    if height < TOO_LOW:
        return SETTLED_CHECK.fail(told, source=OURS)
    return SETTLED_CHECK.holds_if(height >= LOW and left >= SHORT, told, source=OURS)


def opening_check(worked: Worked) -> Check:
    """Whether the canopy that carries it to the ground opens at a speed that it and its cord stand."""
    load = worked.descent.fastest_opening
    told = (
        f"The {_named(worked, load)} opens at up to {worked.at_least(load.speed, SPEED)}, after the least drag before it. Above "
        f"{worked.at_most(OPENS_TOO_FAST, SPEED)} is refused, above {worked.at_most(FAST, SPEED)} looked at again."
    )
    if load.speed > OPENS_TOO_FAST:
        return OPENING_CHECK.fail(
            f"{told} Slow it down before: a drogue, or a larger one, or a charge nearer the top.", source=OURS
        )
    first = max(worked.descent.loads.values(), key=lambda one: one.speed)
    if first.speed > OPENS_TOO_FAST:
        return OPENING_CHECK.warn(
            f"{told} The {_named(worked, first)} opens at up to {worked.at_least(first.speed, SPEED)}: a cord that comes tight at "
            "such a speed slits tubes. A charge nearer the top, or a straighter flight.",
            source=OURS,
        )
    return OPENING_CHECK.holds_if(load.speed <= FAST, told, source=OURS)


def fall_check(worked: Worked, rate: Spread) -> Check:
    """Of parts that fall without a canopy: the limits of a drogue."""
    usual = known("drogue")
    told = (
        f"Until the main opens it falls at {worked.range(rate, SPEED)}. Usual is {sentence('drogue', worked.rig.units)}; above "
        f"{worked.at_most(FASTEST, SPEED)} is refused."
    )
    source = f"{cited('drogue')} {OURS}"
    if rate.high > FASTEST:
        advice = "A drogue slows it; a rate that you timed takes the place of the guess."
        return FALL_CHECK.fail(f"{told} {advice}", source=source)
    if rate.high > usual.high:
        return FALL_CHECK.warn(f"{told} Faster, the main opens harder.", source=source)
    if rate.low < usual.low:
        return FALL_CHECK.warn(f"{told} Slower, it walks further in the wind.", source=source)
    return FALL_CHECK.hold(told, source=source)


def _whose(worked: Worked, fall: Fall) -> str:
    """The canopy that carries a body to the ground."""
    return fall.last.name if worked.rig.way.tied else f"{fall.last.name}'s canopy"


def checks(worked: Worked) -> tuple[Check, ...]:
    bare = worked.descent.main.bare_rate
    return (
        energy_check(worked),
        settled_check(worked),
        opening_check(worked),
        *([fall_check(worked, bare)] if bare else []),
        wind_check(worked),
    )


def wind_check(worked: Worked) -> Check:
    wind, source = worked.sky.launch_wind, cited("launch_wind")
    limit = sentence("launch_wind", worked.rig.units)
    said = f"at {worked.show(REFERENCE, HEIGHT)}; {limit}. The range safety officer decides."
    if wind > known("launch_wind").high:
        return WIND_CHECK.fail(f"{worked.at_least(wind, WIND)} {said}", source=source)
    return WIND_CHECK.hold(f"{worked.show(wind, WIND)} {said}", source=source)


# --- charts ---


def _charted(worked: Worked) -> tuple[str, str]:
    """Whose way down it is that is charted, behind a name and before one; of a rocket that stays together nothing."""
    descent = worked.descent
    return (f", {descent.main.name}", f"{descent.main.name}, ") if len(descent.falls) > 1 else ("", "")


def charts(worked: Worked) -> Iterator[Drawing]:
    """Height, rate and drag of the main's body over time; both bodies' heights."""
    descent = worked.descent
    rows, apart = shown(descent.main.run), len(descent.falls) > 1
    of, whose = _charted(worked)
    told = [(i.time, f"{whose}{_told(worked, i)}") for i in rows]

    def one(name: str, label: str, kind: Kind, values: list[float]) -> Drawing:
        line = Line(name, [(i.time, v) for i, v in zip(rows, values, strict=True)])
        return _chart(worked, name, label, kind, [line], told)

    name = "The way down of both parts" if apart else "The way down"
    events = [mark for fall in descent.falls for mark in _events(worked, fall)]
    yield _chart(worked, name, "height", HEIGHT, [_height_line(fall) for fall in descent.falls], told, events)
    yield one(f"Rate on the way down{of}", "rate", SPEED, [i.speed for i in rows])
    yield one(f"Drag on the way down{of}", "drag", FORCE, [i.drag for i in rows])


def table(worked: Worked) -> Table:
    """The same as numbers."""
    return Table(
        f"The way down as numbers{_charted(worked)[0]}",
        ("Time", "Height", "Rate", "Drag"),
        tuple(
            (
                worked.show(i.time, TIME),
                worked.show(i.height, HEIGHT),
                worked.show(i.speed, SPEED),
                worked.show(i.drag, FORCE),
            )
            for i in shown(worked.descent.main.run)
        ),
    )


def _events(worked: Worked, fall: Fall) -> list[Mark]:
    """What happens on a body's way down and what it feels: every opening in its worst corner, the touchdown."""
    made = []
    for (one, _), filling in zip(fall.openings, fall.run.fillings, strict=True):
        load = worked.descent.loads[one.key]
        felt = one.name, worked.at_least(load.speed, SPEED), worked.at_least(load.design, FORCE)
        made.append(Mark((filling.opened.time, filling.opened.height), felt))
    end = fall.run.touchdown
    return [*made, Mark((end.time, end.height), ("ground", worked.at_least(fall.touchdown_rate.high, SPEED)))]


def _height_line(fall: Fall) -> Line:
    return Line(fall.name, [(instant.time, instant.height) for instant in shown(fall.run)])


def _told(worked: Worked, instant: Instant) -> str:
    return (
        f"{worked.show(instant.time, TIME)}: {worked.show(instant.height, HEIGHT)} high, "
        f"{worked.show(instant.speed, SPEED)}, drag {worked.show(instant.drag, FORCE)}"
    )


def _chart(
    worked: Worked, name: str, label: str, kind: Kind, lines: list[Line], told: Told, events: Sequence[Mark] = ()
) -> Drawing:
    def words(line: Line) -> str:
        values = [value for _, value in line.points]
        first, last = worked.show(values[0], kind), worked.show(values[-1], kind)
        most = worked.at_least(max(values), kind)
        return f"from {first} to {last}, at most {most}, over {worked.show(line.points[-1][0], TIME)}"

    def capital(text: str) -> str:
        return f"{text[0].upper()}{text[1:]}"

    described = (
        f"{capital(words(lines[0]))}."
        if len(lines) == 1
        else f"{'; '.join(f'{line.name} {words(line)}' for line in lines)}."
    )
    return chart(
        name,
        described,
        "time",
        label,
        lines,
        worked.writer(TIME),
        worked.writer(kind),
        (1.0, read(f"1 {kind.offered(worked.rig.units)}", kind)),
        told,
        events,
    )


# --- what else is said ---


def working(worked: Worked) -> tuple[Working, ...]:
    descent, show = worked.descent, worked.show
    rate, best = descent.main.touchdown_rate.best, descent.main.landings[1]
    fastest, latest = descent.fastest_opening, descent.latest
    touching = [
        f"{touch.name} {show(touch.mass, MASS)}: {worked.range(touch.energy, ENERGY)}"
        for touch in descent.touching.values()
    ]
    touchdown = descent.main.run.touchdown
    return (
        Working("Energy at touchdown", "E = m·v² / 2, for each section", "; ".join(touching), "mechanics"),
        Working(
            "Same as a drop from",
            "h = v² / (2·g)",
            f"h = ({show(rate, SPEED)})² / (2 × 9.807 m/s²) = {show(drop_height(rate), LENGTH)}",
            "mechanics",
        ),
        Working(
            "Time and drift",
            "t = ∫ dz / v(z), x = ∫ u(z) / v(z) dz, v(z) = v·√(ρ(0)/ρ(z))",
            f"from {show(descent.top, HEIGHT)}: {show(best.time, TIME)}, {show(best.distance, HEIGHT)}",
            "each canopy taken to sink steadily from the moment it opens, before the first the parts without one; wind by "
            "power law u = u₁₀·(z / 10 m)^α (Manwell, McGowan and Rogers, Wind Energy Explained, sec. 2.3; memory), or the "
            "measured layers",
        ),
        Working(
            "The full run",
            "m·dv/dt = m·g − ρ(z)·v²·CdS(t) / 2, CdS growing as (t / t_f)² over t_f = n·D0 / v",
            f"from the top at {show(descent.release_speed, SPEED)}, all of it downward (the safe side); "
            f"{show(touchdown.time, TIME)} to the ground at {show(touchdown.speed, SPEED)}",
            "mechanics, integrated by the Dormand-Prince pair; filling time Knacke 1991, sec. 5.4 (memory)",
        ),
        Working(
            "The fastest way down",
            "the same run with the least drag of everything, each canopy filling in 1.25·t_f",
            f"the {_named(worked, fastest)} opens at {worked.at_least(fastest.speed, SPEED)}; the {_whose(worked, latest)} {_settles(worked, latest)}",
            "no corner of the ranges opens faster; what settles latest is tried after the slowest way down, too; scatter of the filling time Knacke 1991, Table 5-6 (memory)",
        ),
    )


def _settles(worked: Worked, fall: Fall) -> str:
    """Where a body has slowed down to its steady rate, and how fast it touches down."""
    speed = worked.at_least(fall.run_touchdown.high, SPEED)
    if not fall.settled_height:
        return f"never settles: the ground comes first, at {speed}"
    return (
        f"is within a tenth of its steady rate {worked.at_most(fall.settled_height, HEIGHT)} above ground, "
        f"{worked.at_most(fall.settled_time, TIME)} before touchdown at {speed}"
    )


def _named(worked: Worked, load: OpeningLoad) -> str:
    return load.canopy.name if worked.rig.way.tied else f"{load.canopy.name}'s canopy"


def notes(worked: Worked) -> tuple[str, ...]:
    way, units = worked.rig.way, worked.rig.units
    told = [
        "Heights are above the field. The charts are the full run with the best estimates; drag is what the canopies, or "
        "before them the parts, pull with, weight not taken off."
    ]
    if way.falls:
        model = (
            "at the rates you timed"
            if worked.rig.text("flight.fall") == TIMED
            else f"{worked.rig.text('flight.fall')}, each part as a cylinder across the flow (Hoerner, Fluid-Dynamic Drag, "
            "1965, ch. 3; memory), none in another's wake"
        )
        told.append(
            f"Until the main opens it falls without a canopy: {model}. {practice('broadside', units).capitalize()}."
        )
    if len(way.canopies) > 1 and way.tied:
        told.append(
            "The drogue stays open beside the main; the steady rate counts the main alone, the safe side. The touchdown rate "
            "is the worse of that and of the full run."
        )
    if way.low or way.held:
        told.append(f"{practice('main_height', units).capitalize()}.")
    if not way.tied:
        told.append("Rate, time and drift stand for the aft part first; the forward part's stand beside them.")
    if worked.descent.motor_error is not None and worked.descent.motor_error > worked.rig.number("flight.delay"):
        told.append(
            f"The motor's own charge may fire {worked.at_least(worked.descent.motor_error, TIME)} early or late "
            f"({practice('motor_delay', units)}): the run counts on that, more than the rig says."
        )
    return (*told, *_air_notes(worked))


def _air_notes(worked: Worked) -> tuple[str, ...]:
    """What the air model covers, and what cold does where the top is in it."""
    sky = worked.sky
    top = sky.elevation + worked.descent.top
    told = (
        "The air is the US Standard Atmosphere, 1976, moved to your field's elevation, pressure and temperature, up to "
        f"{worked.show(HIGHEST, HEIGHT)} above sea level; a higher top is refused.",
    )
    if temperature(top) + sky.air.warmer >= COLD:
        return told
    return (
        *told,
        "At the top it freezes. Cold batteries sag and cold igniters fire late or not at all: keep batteries warm until the "
        "pad, test one cold, with the igniter it fires; cloth, shock cord and rubber stiffen (common practice, no source). "
        "Nothing of that is in the numbers.",
    )


def outputs(worked: Worked) -> dict[str, Value | None]:
    descent = worked.descent
    main, touching, run = descent.main, descent.touching, descent.main.run
    other = descent.falls[1] if len(descent.falls) > 1 else None
    energy = {name: touch.energy for name, touch in touching.items()}
    drogue = worked.canopies.get(DROGUE)
    body = touching.get("body") or touching["aft"]
    return {
        "rate": main.touchdown_rate,
        "drogue_rate": drogue.rate if drogue else None,
        "fall_rate": main.bare_rate,
        "forward_rate": other.touchdown_rate if other else None,
        "time": main.time,
        "forward_time": other.time if other else None,
        "drift": main.drift,
        "forward_drift": other.drift if other else None,
        "nose_energy": energy.get("nose"),
        "middle_energy": energy.get("middle"),
        "body_energy": energy.get("body"),
        "forward_energy": energy.get("forward"),
        "aft_energy": energy.get("aft"),
        "opening_speed": descent.fastest_opening.speed,
        "settled_height": descent.latest.settled_height,
        "settled_time": descent.latest.settled_time,
        "drop_height": main.touchdown_rate.map(drop_height),
        "most_drag": descent.most_drag,
        "release_speed": descent.release_speed,
        "run_time": run.touchdown.time,
        "run_touchdown": main.run_touchdown.best,
        "run_touchdown_worst": max(fall.run_touchdown.high for fall in descent.falls),
        "most_speed": max(fall.most_speed for fall in descent.falls),
        "body_mass": body.mass,
    }


def compute(worked: Worked, key: str) -> Answer:
    descent, show = worked.descent, worked.show

    def said(fall: Fall) -> str:
        return (
            f"down in {worked.range(fall.time, TIME)}, {worked.range(fall.drift, HEIGHT)} downwind, touching down at "
            f"{worked.range(fall.touchdown_rate, SPEED)}"
        )

    top = show(descent.top, HEIGHT)
    summary = (
        f"From {top} it is {said(descent.main)}."
        if len(descent.falls) == 1
        else f"From {top}: {'; '.join(f'{fall.name} {said(fall)}' for fall in descent.falls)}."
    )
    return Answer(
        outputs(worked),
        summary,
        checks(worked),
        Later(lambda: working(worked)),
        Later(lambda: charts(worked)),
        notes=Later(lambda: notes(worked)),
        tables=Later(lambda: (table(worked),)),
        cautions=("Even a usual landing speed breaks bones: people well back, nobody under this drift.",),
    )


# What other calculators ask, too.
SHAPES = (
    "canopy.family",
    "canopy.sides",
    "canopy.across",
    "canopy.size",
    "canopy.slope",
    "canopy.height_ratio",
    "canopy.panel_ratio",
    "canopy.hole_ratio",
    "canopy.area",
    "canopy.cd_low",
    "canopy.cd_high",
    "canopy.cd_measured_low",
    "canopy.cd_measured_high",
)
MASSES = (
    "canopy.vent",
    "canopy.cloth",
    "canopy.cloth_mass",
    "canopy.seam",
    "canopy.mass",
    "lines.length",
    "lines.mass",
)  # of a canopy, which nothing but its mass depends on here
PARTS = ("rocket.mass", "nose.mass")
BARE = ("rocket.length", "rocket.diameter")  # fall without a canopy
FALL = ("flight.fall", "flight.fall_low", "flight.fall_high")
AIR = ("site.elevation", "site.warmer", "site.pressure")
WAY = ("flight.way", "flight.apogee", "flight.main_height", "flight.delay", "charge.kind", "charge.delay")
WIND_FIELDS = ("flight.wind", "flight.exponent", "flight.layers")

DESCENT = Calculator(
    "descent",
    "Coming down",
    (
        "rig.units",
        *PARTS,
        "middle.mass",
        *BARE,
        *SHAPES,
        *MASSES,
        *AIR,
        *WAY,
        *FALL,
        "flight.forward_speed",
        *WIND_FIELDS,
    ),
    (
        Output("rate", "Touchdown rate", SPEED),
        Output("drogue_rate", "Rate under the drogue", SPEED),
        Output("fall_rate", "Rate without a canopy", SPEED),
        Output("forward_rate", "Touchdown rate, forward part", SPEED),
        Output("time", "Time from the top", TIME),
        Output("forward_time", "Time, forward part", TIME),
        Output("drift", "Drift downwind", HEIGHT),
        Output("forward_drift", "Drift, forward part", HEIGHT),
        Output("nose_energy", "Energy, nose", ENERGY),
        Output("middle_energy", "Energy, middle", ENERGY),
        Output("body_energy", "Energy, airframe or tail", ENERGY),
        Output("forward_energy", "Energy, forward part", ENERGY),
        Output("aft_energy", "Energy, aft part", ENERGY),
        Output("opening_speed", "It opens at up to", at_least(SPEED)),
        Output("settled_height", "Settled, above ground, at least", at_most(HEIGHT)),
        Output("settled_time", "Time from then to touchdown", at_most(TIME), leads=False),
        Output("drop_height", "Like a drop from", LENGTH),
        Output("most_drag", "Largest pull of a canopy", FORCE),
        Output("release_speed", "Speed at the top, charge early or late", at_least(SPEED), leads=False),
        Output("run_time", "Time, full run", TIME, leads=False),
        Output("run_touchdown", "Touchdown rate, full run", SPEED, leads=False),
        Output("run_touchdown_worst", "Touchdown rate, full run, at most", at_least(SPEED), leads=False),
        Output("most_speed", "Greatest speed, best estimate", SPEED, leads=False),
        Output("body_mass", "Airframe or tail alone", MASS, leads=False),
    ),
    compute,
    (ENERGY_CHECK, SETTLED_CHECK, OPENING_CHECK, FALL_CHECK, WIND_CHECK),
    asks=("flight.apogee", "flight.main_height", "rocket.mass"),
)
