"""Coming down: the whole way from release to touchdown, rates, energies, time and drift."""

from loftbook.calculators.canopy import rate_check, second_rate_check
from loftbook.case import Case
from loftbook.answer import Answer, Calculator, Check, Output, Table, Value, Verdict, Working
from loftbook.physics.descent import ENERGY_LIMIT, LAUNCH_WIND_LIMIT, drop_height, kinetic_energy
from loftbook.drawing.chart import Line, chart
from loftbook.drawing.svg import Drawing
from loftbook.physics.elementary import sqrt
from loftbook.fields import DROGUE_MAIN, FIELDS, TWO_PARTS
from loftbook.physics.motion import Instant, Run
from loftbook.quantity import ENERGY, FORCE, HEIGHT, LENGTH, MASS, SPEED, TIME, WIND, Kind, read
from loftbook.physics.spread import Spread
from loftbook.tables import practice

POINTS = 32  # of a chart and its table


def _energy(case: Case, mass: float) -> Spread:
    return case.rate.map(lambda rate: kinetic_energy(mass, rate))


def body_mass(case: Case) -> float:
    """What hangs under the main without nose and canopy [kg]."""
    nose = 0.0 if case.recovery == TWO_PARTS else case.n("nose.mass")
    return max(0.0, case.mass - nose - case.cloth_mass - case.line_mass)


def second_energy(case: Case) -> Spread | None:
    """Energy of a second part under its own canopy [J]."""
    if case.recovery != TWO_PARTS or not case.second_rate:
        return None
    return case.second_rate.map(lambda rate: kinetic_energy(case.second_mass, rate))


def energy_check(case: Case) -> Check:
    parts = [(_energy(case, body_mass(case)).high, "airframe")]
    second = second_energy(case)
    if second:
        parts.append((second.high, "second part"))
    else:
        parts.append((_energy(case, case.n("nose.mass")).high, "nose"))
    worst = max(parts)
    verdict: Verdict = "warn" if worst[0] > ENERGY_LIMIT else "pass"
    return Check(
        "touchdown-energy",
        verdict,
        "Energy at touchdown",
        f"The {worst[1]} lands with up to {case.show(worst[0], ENERGY)}; a published limit is "
        f"{case.show(ENERGY_LIMIT, ENERGY)}: {practice('energy')}.",
    )


def wind_check(case: Case) -> Check:
    east, north = case.wind(10.0)
    wind = max(case.n("flight.wind"), sqrt(east * east + north * north)) if case.layered else case.n("flight.wind")
    verdict: Verdict = "fail" if wind > LAUNCH_WIND_LIMIT else "pass"
    return Check(
        "launch-wind",
        verdict,
        "Wind at launch",
        f"{case.show(wind, WIND)} at 10 m; {practice('launch_wind')}. The range safety officer decides.",
    )


def sampled(run: Run) -> list[Instant]:
    """About 32 instants spread evenly over the time of a run, the openings kept whole."""
    end, instants = run.touchdown.time, list(run.instants)
    kept = {0, len(instants) - 1}
    wanted, i = 1, 0
    for i, instant in enumerate(instants):
        if instant.time >= end * wanted / POINTS:
            kept.add(i)
            while wanted <= POINTS and instant.time >= end * wanted / POINTS:
                wanted += 1
    chosen = [instants[i] for i in sorted(kept)]
    for stage in run.stages:
        filled = stage.opened.time + 2 * stage.filling
        chosen += [stage.peak, *(i for i in instants if stage.opened.time <= i.time <= filled)]
    return sorted({instant.time: instant for instant in chosen}.values(), key=lambda instant: instant.time)


def charts(case: Case, run: Run) -> tuple[tuple[Drawing, ...], Table]:
    """Height, rate and drag over time, and the same numbers as a table."""
    rows = sampled(run)

    def told(instant: Instant) -> str:
        return (
            f"{case.show(instant.time, TIME)}: {case.show(instant.height, HEIGHT)} high, "
            f"{case.show(instant.speed, SPEED)}, drag {case.show(instant.drag, FORCE)}"
        )

    def one(name: str, label: str, kind: Kind, values: list[float]) -> Drawing:
        most = max(values)
        return chart(
            name,
            f"From {case.show(values[0], kind)} to {case.show(values[-1], kind)}, at most {case.show(most, kind)}, "
            f"over {case.show(run.touchdown.time, TIME)}.",
            "time",
            label,
            [Line(name, [(i.time, v) for i, v in zip(rows, values, strict=True)])],
            lambda v: case.show(v, TIME),
            lambda v: case.show(v, kind),
            (1.0, read(f"1 {kind.offered(case.rig.units)}", kind)),
            [(i.time, told(i)) for i in rows],
        )

    drawings = (
        one("Height on the way down", "height", HEIGHT, [i.height for i in rows]),
        one("Rate on the way down", "rate", SPEED, [i.speed for i in rows]),
        one("Drag on the way down", "drag", FORCE, [i.drag for i in rows]),
    )
    table = Table(
        "The way down as numbers",
        ("Time", "Height", "Rate", "Drag"),
        tuple(
            (case.show(i.time, TIME), case.show(i.height, HEIGHT), case.show(i.speed, SPEED), case.show(i.drag, FORCE))
            for i in rows
        ),
    )
    return drawings, table


def compute(case: Case) -> Answer:
    show, run = case.show, case.run
    fast, best, slow = case.landings
    time = Spread(fast.time, best.time, slow.time)
    drift = Spread(*sorted((fast.distance, best.distance, slow.distance)))
    nose, body, second = _energy(case, case.n("nose.mass")), _energy(case, body_mass(case)), second_energy(case)
    outputs: dict[str, Value | None] = {
        "rate": case.rate,
        "second_rate": case.second_rate,
        "time": time,
        "drift": drift,
        "nose_energy": None if case.recovery == TWO_PARTS else nose,
        "body_energy": body,
        "second_energy": second,
        "drop_height": case.rate.map(drop_height),
        "release_speed": case.release_speed,
        "run_time": run.touchdown.time,
        "run_touchdown": run.touchdown.speed,
        "most_speed": max(instant.speed for instant in run.instants),
        "most_drag": max(stage.peak.drag for stage in run.stages),
        "body_mass": body_mass(case),
    }
    working = (
        Working(
            "Energy at touchdown",
            "E = m·v² / 2, for each section",
            f"nose {show(case.n('nose.mass'), MASS)}: {show(nose.best, ENERGY)}; airframe "
            f"{show(body_mass(case), MASS)}: {show(body.best, ENERGY)}",
            "mechanics",
        ),
        Working(
            "Same as a drop from",
            "h = v² / (2·g)",
            f"h = ({show(case.rate.best, SPEED)})² / (2 × 9.807 m/s²) = {show(drop_height(case.rate.best), LENGTH)}",
            "mechanics",
        ),
        Working(
            "Time and drift",
            "t = ∫ dz / v(z), x = ∫ u(z) / v(z) dz, v(z) = v·√(ρ(0)/ρ(z))",
            f"from {show(case.top, HEIGHT)}: {show(best.time, TIME)}, {show(best.distance, HEIGHT)}",
            "the canopy taken to sink steadily from the moment it opens; wind by power law u = u₁₀·(z / 10 m)^α (Manwell, "
            "McGowan and Rogers, Wind Energy Explained, sec. 2.3; memory), or the measured layers",
        ),
        Working(
            "The full run",
            "m·dv/dt = m·g − ρ(z)·v²·CdS(t) / 2, CdS growing as (t / t_f)² over t_f = n·D0 / v",
            f"released at {show(case.release_speed, SPEED)}, all of it downward (the safe side); "
            f"{show(run.touchdown.time, TIME)} to the ground at {show(run.touchdown.speed, SPEED)}",
            "mechanics, integrated by the Dormand-Prince pair; filling time Knacke 1991, sec. 5.4 (memory)",
        ),
    )
    drawings, table = charts(case, run)
    notes = [
        "Heights are above the field. The charts are the full run with the best estimates; drag is what the canopies "
        "pull with, weight not taken off."
    ]
    if case.recovery == DROGUE_MAIN:
        notes.append("The drogue stays open beside the main; the touchdown rate counts the main alone, the safe side.")
    summary = (
        f"From {show(case.top, HEIGHT)} it is down in {case.range(time, TIME)}, {case.range(drift, HEIGHT)} downwind, "
        f"touching down at {case.range(case.rate, SPEED)}."
    )
    return Answer(
        outputs,
        summary,
        tuple(
            check
            for check in (rate_check(case), second_rate_check(case), energy_check(case), wind_check(case))
            if check
        ),
        working,
        drawings,
        notes=tuple(notes),
        tables=(table,),
        cautions=(
            "A part that comes down without a canopy, or under one that does not open, is a falling mass: people well "
            "back, every rocket watched down. Local codes and the range safety officer decide.",
        ),
    )


CANOPIES = tuple(p for p in FIELDS if p.startswith(("canopy.", "second.")) and p != "canopy.rate")
AIR = ("site.elevation", "site.warmer", "site.pressure")
WAY = (
    "flight.recovery",
    "flight.apogee",
    "flight.release",
    "flight.forward_speed",
    "flight.delay",
)
WIND_FIELDS = ("flight.wind", "flight.exponent", "flight.layers")

DESCENT = Calculator(
    "descent",
    "Coming down",
    ("rig.units", "rocket.mass", "nose.mass", *CANOPIES, "lines.length", "lines.mass", *AIR, *WAY, *WIND_FIELDS),
    (
        Output("rate", "Touchdown rate", SPEED),
        Output("second_rate", "Rate under the second canopy", SPEED),
        Output("time", "Time from release", TIME),
        Output("drift", "Drift downwind", HEIGHT),
        Output("nose_energy", "Energy, nose", ENERGY),
        Output("body_energy", "Energy, airframe", ENERGY),
        Output("second_energy", "Energy, second part", ENERGY),
        Output("drop_height", "Like a drop from", LENGTH),
        Output("most_drag", "Largest pull of a canopy", FORCE),
        Output("release_speed", "Speed at release", SPEED, main=False),
        Output("run_time", "Time, full run", TIME, main=False),
        Output("run_touchdown", "Touchdown rate, full run", SPEED, main=False),
        Output("most_speed", "Greatest speed", SPEED, main=False),
        Output("body_mass", "Airframe alone", MASS, main=False),
    ),
    compute,
)
