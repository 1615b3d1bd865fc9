"""Where it may land: drift from eight directions, the scatter about it, and what lies outside the field."""

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Table, Value, Working
from loftbook.calculators.descent import AIR, BARE, FALL, PARTS, SHAPES, WAY, WIND_FIELDS
from loftbook.drawing import maps
from loftbook.drawing.svg import Drawing
from loftbook.physics.elementary import sqrt
from loftbook.physics.wind import POINTS, REFERENCE
from loftbook.quantity import ANGLE, HEIGHT, SHARE, TIME, WIND, at_least, read
from loftbook.tables import practice
from loftbook.worked.descent import FEW, MANY, Landed, best_of
from loftbook.worked.descent import minutes as whole_minutes
from loftbook.worked.worked import Worked

ON_FIELD = CheckKind(
    "stays-on-field",
    "Stays on the field",
    ("flight.wind", "flight.main_height", "flight.apogee", "flight.way", "main.canopy.size", "drogue.canopy.size"),
    gate=True,
)


def outside_check(worked: Worked, worst: Landed) -> Check:
    whose = "" if worked.rig.way.tied else f" ({worst.fall.name})"
    drawn = f"of {len(worst.scatter.spots)} scattered descents{whose}"
    told = f"{worked.at_least(worst.outside, SHARE)} {drawn} land outside; the way up is not in them."
    source = f"Above {worked.show(FEW, SHARE)} it is looked at again, above {worked.show(MANY, SHARE)} refused: our choice."
    if not worst.outside:
        return ON_FIELD.hold(f"Not one {drawn} lands outside; the way up is not in them.", source=source)
    if worst.outside <= FEW:
        return ON_FIELD.hold(told, source=source)
    if worst.outside <= MANY:
        return ON_FIELD.warn(f"{told} Wait for less wind, or open lower.", source=source)
    return ON_FIELD.fail(f"{told} Do not fly it in this wind from here.", source=source)


def directions_table(worked: Worked, landed: tuple[Landed, ...]) -> Table:
    """The same wind from eight directions; of two parts the walks to both, and the share of the worse one.

    Measured layers come from several directions at once: of those only the turn is told.
    """
    here, layered = POINTS.index(worked.rig.text("flight.wind_from")), worked.sky.layered
    walks = tuple(worked.show(one.fall.landings[1].distance, HEIGHT) for one in landed)
    names = tuple("Walk back" if worked.rig.way.tied else f"Walk, {one.fall.name}" for one in landed)
    worst = [max(shares) for shares in zip(*(one.outside_by_direction for one in landed), strict=True)]
    rows = tuple(
        (
            worked.show(45.0 * i, ANGLE) if layered else POINTS[(here + i) % 8],
            *walks,
            " and ".join(dict.fromkeys(one.towards[i] or "pad" for one in landed)),
            worked.at_least(part, SHARE),
        )
        for i, part in enumerate(worst)
    )
    head = ("Measured wind turned clockwise by" if layered else "Wind from", *names, "Lands to the", "Outside the field")
    return Table("The same wind from eight directions", head, rows)


def described(worked: Worked, one: Landed, *, best: bool) -> str:
    """The share outside the field, after the best estimate of how far it comes down where that is wanted."""
    told = f"best estimate {worked.show(one.fall.landings[1].distance, HEIGHT)} from the pad; " if best else ""
    told += f"{worked.at_least(one.outside, SHARE)} outside the field."
    return told[0].upper() + told[1:] if worked.rig.way.tied else f"{one.fall.name.capitalize()}: {told}"


def minutes(way: float) -> str:
    """How long a walk of a way [m] takes."""
    return f"{whole_minutes(way)} min"


def walked(worked: Worked, landed: tuple[Landed, ...]) -> str:
    """How far one walks, of nine in ten landings and of all, in a sentence."""
    far = max(landed, key=lambda one: one.far_walk)
    whose = "" if worked.rig.way.tied else f" ({far.fall.name})"
    return (
        f"9 of 10 come down within {worked.at_least(far.far_walk, HEIGHT)} of the pad{whose}, up to {minutes(far.far_walk)} on "
        f"foot; the farthest of all {worked.at_least(farthest(landed), HEIGHT)}."
    )


def farthest(landed: tuple[Landed, ...]) -> float:
    """How far from the pad the farthest landing drawn is [m]."""
    return max(one.scatter.farthest for one in landed)


def side_of(worked: Worked, landed: tuple[Landed, ...]) -> float:
    """Side of the cells [m]: round in the reader's unit, some forty of them where nine in ten land, none where nothing scatters."""
    unit = read(f"1 {HEIGHT.offered(worked.rig.units)}", HEIGHT)
    broad = max(one.broad for one in landed)
    return maps.round_length(max(broad / unit, 1.0)) * unit


def drawn(worked: Worked, landed: tuple[Landed, ...], description: str) -> Drawing:
    """Every part's landings by share, and the walks to the likeliest place and to the farthest of nine in ten."""
    side, show = side_of(worked, landed), worked.show
    wind = worked.sky.wind(REFERENCE)
    speed = sqrt(wind[0] * wind[0] + wind[1] * wind[1])
    made = []
    for one in landed:
        best, far = one.fall.landings[1], one.far_walk
        likely = maps.Walk(best.spot, f"likeliest {show(best.distance, HEIGHT)}, {minutes(best.distance)}")
        nine = maps.Walk(one.far, f"9 in 10 within {worked.at_least(far, HEIGHT)}, {minutes(far)}")
        made.append(maps.Landing(one.fall.name, one.levels(side), likely, nine))
    return maps.landing_map(
        made,
        side,
        worked.sky.ground,
        (wind, f"wind {show(speed, WIND)}" if speed > 0 else "no wind"),
        worked.writer(HEIGHT),
        read(f"1 {HEIGHT.offered(worked.rig.units)}", HEIGHT),
        description,
    )


def working(worked: Worked, landed: tuple[Landed, ...]) -> tuple[Working, ...]:
    show, main = worked.show, landed[0]
    best, ellipse, spreads = main.fall.landings[1], main.scatter.ellipse, worked.descent.spreads(main.fall)
    ranges = "; ".join(f"{show(low, SHARE)} to {show(high, SHARE)}" for low, high in spreads.drag)
    return (
        Working(
            "Drift",
            "x = ∫ u(z) / v(z) dz from the top to the ground, in east and north",
            f"{show(best.distance, HEIGHT)} in {show(best.time, TIME)}",
            "power law: Manwell, McGowan and Rogers, Wind Energy Explained, sec. 2.3 (memory); or your measured layers, "
            "straight lines between them",
        ),
        Working(
            "Scatter",
            "x ∝ wind · √(Cd·S0 / m), openings early or late move the heights",
            f"{len(main.scatter.spots)} draws: drag area {ranges}{' in the order of opening' if len(spreads.drag) > 1 else ''}, "
            f"mass ± {show(spreads.mass, SHARE)}, wind ± {show(spreads.wind, SHARE)} and ± {show(spreads.direction, ANGLE)}, "
            f"height of each opening ± {show(spreads.release, SHARE)}, opening ± {show(spreads.late, TIME)}",
            "triangular distributions about the best values, each canopy's drag and height drawn by itself; steady sinking, checked against full runs in the tests",
        ),
        Working(
            "Nine in ten",
            "half axes 2.146 times the standard deviation along each axis",
            f"{worked.at_least(ellipse.long, HEIGHT)} and {worked.at_least(ellipse.short, HEIGHT)}",
            "chi-squared with two degrees of freedom, 2·ln 10; exact for a normal scatter only",
        ),
    )


def notes(worked: Worked) -> tuple[str, ...]:
    told = [
        "A canopy loses some eight of its diameters of height while it fills, which is left out here (a little too far). "
        "The rocket is taken to be above the pad when its first bay opens: the way up, and weathercocking into the wind, "
        "are left out.",
        f"Minutes are one way, at the slow end: {practice('walk', worked.rig.units)}. In the picture the strongest shade holds half "
        "of the landings, with the next it is nine in ten, with the faintest all.",
    ]
    if len(worked.descent.main.phases(best_of)) > 1:
        told.append(
            "Each part of the way has its own range of drag in the scatter, the drogue's or that without a canopy too. A main "
            "that opens high is as likely as one that opens low."
        )
    return tuple(told)


def compute(worked: Worked, key: str) -> Answer:
    landed = worked.descent.landed(worked.scattered_cases)
    main, other = landed[0], landed[1] if len(landed) > 1 else None
    worst = max(landed, key=lambda one: one.outside)
    ellipse = main.scatter.ellipse
    outputs: dict[str, Value | None] = {
        "walk": main.fall.landings[1].distance,
        "forward_walk": other.fall.landings[1].distance if other else None,
        "drift": main.fall.drift,
        "outside": worst.outside,
        "ellipse_long": ellipse.long,
        "ellipse_short": ellipse.short,
        "farthest": farthest(landed),
        "forward_ellipse_long": other.scatter.ellipse.long if other else None,
        "forward_ellipse_short": other.scatter.ellipse.short if other else None,
        "time": main.fall.landings[1].time,
        "nine_in_ten": main.far_walk,
        "forward_nine_in_ten": other.far_walk if other else None,
        "middle_east": ellipse.east,
        "middle_north": ellipse.north,
    }
    summary, description = (
        " ".join((walked(worked, landed), *(described(worked, one, best=best) for one in landed))) for best in (False, True)
    )
    return Answer(
        outputs,
        summary,
        (outside_check(worked, worst),),
        Later(lambda: working(worked, landed)),
        Later(lambda: (drawn(worked, landed, description),)),
        tables=Later(lambda: (directions_table(worked, landed),)),
        notes=Later(lambda: notes(worked)),
        cautions=("Never plan to land beyond the field, on people, roads or power lines; the officer decides.",),
    )


LANDING = Calculator(
    "landing",
    "Where it lands",
    (
        "rig.units",
        *PARTS,
        *BARE,
        *SHAPES,
        *AIR,
        *WAY,
        *FALL,
        *WIND_FIELDS,
        "flight.wind_from",
        "scatter.",
        "site.north",
        "site.east",
        "site.south",
        "site.west",
    ),
    (
        Output("walk", "Walk back", HEIGHT),
        Output("forward_walk", "Walk back, forward part", HEIGHT),
        Output("drift", "With the range of drag", HEIGHT),
        Output("outside", "Share outside the field", at_least(SHARE)),
        Output("ellipse_long", "Nine in ten: half axis, long", at_least(HEIGHT)),
        Output("ellipse_short", "Nine in ten: half axis, short", at_least(HEIGHT)),
        Output("farthest", "Farthest of all", at_least(HEIGHT)),
        Output("nine_in_ten", "Nine in ten within", at_least(HEIGHT), leads=False),
        Output("forward_nine_in_ten", "Forward part: nine in ten within", at_least(HEIGHT), leads=False),
        Output("forward_ellipse_long", "Forward part: half axis, long", at_least(HEIGHT), leads=False),
        Output("forward_ellipse_short", "Forward part: half axis, short", at_least(HEIGHT), leads=False),
        Output("time", "Time from the top", TIME, leads=False),
        Output("middle_east", "Middle, east of the pad", HEIGHT, leads=False),
        Output("middle_north", "Middle, north of the pad", HEIGHT, leads=False),
    ),
    compute,
    (ON_FIELD,),
    asks=("flight.wind", "flight.wind_from", "flight.apogee"),
)
