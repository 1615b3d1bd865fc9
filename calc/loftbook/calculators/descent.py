"""Coming down under one canopy: rate, energy of each section, time, and how far it walks in the wind."""

from loftbook.calculators.canopy import rate_check
from loftbook.case import Case
from loftbook.declare import Answer, Calculator, Check, Output, Value, Verdict, Working
from loftbook.descent import ENERGY_LIMIT, LAUNCH_WIND_LIMIT, drop_height, kinetic_energy
from loftbook.drawing import pictures
from loftbook.fields import FIELDS
from loftbook.quantity import ENERGY, HEIGHT, LENGTH, MASS, SPEED, TIME, WIND, digits
from loftbook.spread import Spread
from loftbook.tables import practice


def _energy(case: Case, mass: float) -> Spread:
    return case.rate.map(lambda rate: kinetic_energy(mass, rate))


def body_mass(case: Case) -> float:
    """What is left of the mass coming down without nose and canopy [kg]."""
    return max(0.0, case.n("rocket.mass") - case.n("nose.mass") - case.cloth_mass - case.line_mass)


def energy_check(case: Case) -> Check:
    worst = max(
        (_energy(case, m).high, name) for m, name in ((case.n("nose.mass"), "nose"), (body_mass(case), "airframe"))
    )
    verdict: Verdict = "warn" if worst[0] > ENERGY_LIMIT else "pass"
    return Check(
        "touchdown-energy",
        verdict,
        "Energy at touchdown",
        f"The {worst[1]} lands with up to {case.show(worst[0], ENERGY)}; a published limit is "
        f"{case.show(ENERGY_LIMIT, ENERGY)}: {practice('energy')}.",
    )


def wind_check(case: Case) -> Check:
    wind = case.n("flight.wind")
    verdict: Verdict = "fail" if wind > LAUNCH_WIND_LIMIT else "pass"
    return Check(
        "launch-wind",
        verdict,
        "Wind at launch",
        f"{case.show(wind, WIND)} at 10 m; {practice('launch_wind')}. The range safety officer decides.",
    )


def compute(case: Case) -> Answer:
    show, release = case.show, case.n("flight.release")
    ways = case.rate.map(lambda rate: case.sinking(rate).time), case.rate.map(lambda rate: case.sinking(rate).drift)
    time, drift = ways
    nose, body = _energy(case, case.n("nose.mass")), _energy(case, body_mass(case))
    outputs: dict[str, Value | None] = {
        "rate": case.rate,
        "time": time,
        "drift": drift,
        "nose_energy": nose,
        "body_energy": body,
        "drop_height": case.rate.map(drop_height),
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
            "t = ∫ dz / v(z), x = ∫ u(z) / v(z) dz, v(z) = v·√(ρ(0)/ρ(z)), u(z) = u₁₀·(z / 10 m)^α",
            f"from {show(release, HEIGHT)}, wind {show(case.n('flight.wind'), WIND)}, α = "
            f"{digits(case.n('flight.exponent'))}: {show(time.best, TIME)}, {show(drift.best, HEIGHT)}",
            "power law: Manwell, McGowan and Rogers, Wind Energy Explained, sec. 2.3 (memory); the canopy is taken to "
            "sink steadily from the moment of release",
        ),
    )
    paths = [_path(case, rate) for rate in (case.rate.high, case.rate.best, case.rate.low)]
    described = (
        f"From {show(release, HEIGHT)} it drifts {case.range(drift, HEIGHT)} downwind in {case.range(time, TIME)}."
    )
    drawing = pictures.drift(paths, release, lambda v: show(v, HEIGHT), described)
    notes = (
        "A part that comes down without a canopy, or a canopy that does not open, is a falling mass: keep people well "
        "back, and watch every rocket down. Local codes and the range safety officer decide.",
    )
    return Answer(
        outputs, described, (rate_check(case), energy_check(case), wind_check(case)), working, (drawing,), notes=notes
    )


def _path(case: Case, rate: float) -> list[tuple[float, float]]:
    """(downwind, height) from release to ground, for the picture: seven points, eight nodes each."""
    release = case.n("flight.release")
    whole = case.sinking(rate).drift
    heights = [release * i / 6 for i in range(6, 0, -1)]
    return [(max(0.0, whole - case.sinking(rate, z, 8).drift), z) for z in heights] + [(whole, 0.0)]


DESCENT = Calculator(
    "descent",
    "Coming down",
    (
        "rig.units",
        "rocket.mass",
        "nose.mass",
        "flight.release",
        "flight.wind",
        "flight.exponent",
        *(p for p in FIELDS if p.startswith("canopy.") and p != "canopy.rate"),
        "lines.length",
        "lines.mass",
        "site.elevation",
        "site.warmer",
        "site.pressure",
    ),
    (
        Output("rate", "Touchdown rate", SPEED),
        Output("time", "Time from release", TIME),
        Output("drift", "Drift downwind", HEIGHT),
        Output("nose_energy", "Energy, nose", ENERGY),
        Output("body_energy", "Energy, airframe", ENERGY),
        Output("drop_height", "Like a drop from", LENGTH),
        Output("body_mass", "Airframe alone", MASS, main=False),
    ),
    compute,
)
