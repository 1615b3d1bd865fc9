"""Where it may land: drift from eight directions, the scatter about it, and what lies outside the field."""

from loftbook.physics import scatter
from loftbook.calculators.descent import AIR, CANOPIES, WAY, WIND_FIELDS
from loftbook.case import Case
from loftbook.answer import Answer, Calculator, Check, Output, Table, Value, Verdict, Working
from loftbook.drawing import pictures
from loftbook.fields import FIELDS, TWO_PARTS
from loftbook.quantity import HEIGHT, SHARE, TIME, digits, read
from loftbook.physics.spread import Spread
from loftbook.physics.wind import POINTS

DRAWN = 300


def outside_check(case: Case, share: float) -> Check:
    verdict: Verdict = "pass" if share <= 0.01 else "warn" if share <= 0.1 else "fail"
    told = {
        "pass": "It stays on the field.",
        "warn": "Some land outside: wait for less wind, or open lower.",
        "fail": "Do not fly it in this wind from here.",
    }[verdict]
    return Check(
        "stays-on-field",
        verdict,
        "Stays on the field",
        f"{case.show(share, SHARE)} of {case.scattered_cases} scattered descents land outside. {told} (1 % and 10 % are our choice.)",
    )


def compute(case: Case) -> Answer:
    show, best = case.show, case.landings[1]
    cases = scatter.scattered(
        case.column,
        case.phases(case.rate.best, (case.second_rate or case.rate).best),
        case.spreads,
        case.scattered_cases,
    )
    field = case.field
    share = scatter.share_outside(cases.spots, field)
    ellipse = cases.ellipse
    directions = scatter.directions(cases.spots, field)
    here = POINTS.index(case.rig.text("flight.wind_from"))
    drift = Spread(*sorted(landing.distance for landing in case.landings))
    outputs: dict[str, Value | None] = {
        "walk": best.distance,
        "drift": drift,
        "time": best.time,
        "outside": share,
        "ellipse_long": ellipse.long,
        "ellipse_short": ellipse.short,
        "farthest": cases.farthest,
        "middle_east": ellipse.east,
        "middle_north": ellipse.north,
    }
    rows = tuple(
        (POINTS[(here + i) % 8], show(best.distance, HEIGHT), f"{POINTS[(here + i + 4) % 8]}", show(part, SHARE))
        for i, part in enumerate(directions)
    )
    table = Table(
        "The same wind from eight directions", ("Wind from", "Walk back", "Lands to the", "Outside the field"), rows
    )
    described = (
        f"Best estimate {show(best.distance, HEIGHT)} from the pad; nine in ten inside an ellipse of half axes "
        f"{show(ellipse.long, HEIGHT)} and {show(ellipse.short, HEIGHT)}; {show(share, SHARE)} outside the field."
    )
    every = max(1, len(cases.spots) // DRAWN)
    picture = pictures.landing_map(
        cases.spots[::every],
        ellipse,
        field,
        best.spot,
        lambda v: show(v, HEIGHT),
        read(f"1 {HEIGHT.offered(case.rig.units)}", HEIGHT),
        described,
    )
    spreads = case.spreads
    working = (
        Working(
            "Drift",
            "x = ∫ u(z) / v(z) dz from release to the ground, in east and north",
            f"{show(best.distance, HEIGHT)} in {show(best.time, TIME)}",
            "power law: Manwell, McGowan and Rogers, Wind Energy Explained, sec. 2.3 (memory); or your measured layers, "
            "straight lines between them",
        ),
        Working(
            "Scatter",
            "x ∝ wind · √(Cd·S0 / m), openings early or late move the heights",
            f"{case.scattered_cases} draws: drag area {digits(spreads.drag[0] * 100)} to {digits(spreads.drag[1] * 100)} %, mass ± "
            f"{show(spreads.mass, SHARE)}, wind ± {show(spreads.wind, SHARE)} and ± {digits(spreads.direction)}°, height ± "
            f"{show(spreads.release, SHARE)}, opening ± {show(spreads.late, TIME)}",
            "triangular distributions about the best values; steady sinking, checked against full runs in the tests",
        ),
        Working(
            "Nine in ten",
            "half axes 2.146 times the standard deviation along each axis",
            f"{show(ellipse.long, HEIGHT)} and {show(ellipse.short, HEIGHT)}",
            "chi-squared with two degrees of freedom, 2·ln 10; exact for a normal scatter only",
        ),
    )
    return Answer(
        outputs,
        described,
        (outside_check(case, share),),
        working,
        (picture,),
        tables=(table,),
        notes=(
            *(
                (
                    "Only the main part is drawn: the part under the second canopy lands elsewhere. Work it out as a rig of its own.",
                )
                if case.recovery == TWO_PARTS
                else ()
            ),
            "A canopy loses some eight of its diameters of height while it fills, which is left out here (a little too far). "
            "The rocket is taken to be above the pad when its first canopy opens: the way up, and weathercocking into the "
            "wind, are left out.",
        ),
        cautions=(
            "Never plan to land beyond the field, on people, roads or power lines. The range safety officer decides.",
        ),
    )


LANDING = Calculator(
    "landing",
    "Where it lands",
    (
        "rig.units",
        "rocket.mass",
        *(p for p in CANOPIES if p not in ("canopy.vent", "canopy.cloth", "canopy.seam", "canopy.mass")),
        *AIR,
        *(p for p in WAY if p != "flight.forward_speed"),
        *WIND_FIELDS,
        "flight.wind_from",
        *(p for p in FIELDS if p.startswith("scatter.")),
        "site.north",
        "site.east",
        "site.south",
        "site.west",
    ),
    (
        Output("walk", "Walk back", HEIGHT),
        Output("drift", "With the range of drag", HEIGHT),
        Output("outside", "Share outside the field", SHARE),
        Output("ellipse_long", "Nine in ten: half axis, long", HEIGHT),
        Output("ellipse_short", "Nine in ten: half axis, short", HEIGHT),
        Output("farthest", "Farthest of all", HEIGHT),
        Output("time", "Time from release", TIME, main=False),
        Output("middle_east", "Middle, east of the pad", HEIGHT, main=False),
        Output("middle_north", "Middle, north of the pad", HEIGHT, main=False),
    ),
    compute,
)
