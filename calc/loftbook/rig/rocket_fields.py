"""The fields that a rig has once: the airframe's parts, electronics, field and day, flight, what is not known exactly."""

from loftbook.physics.wind import POINTS
from loftbook.quantity import (
    ACCELERATION,
    ANGLE,
    COUNT,
    HEIGHT,
    LENGTH,
    MASS,
    NUMBER,
    PRESSURE,
    SHARE,
    SPEED,
    SYSTEMS,
    TIME,
    VOLUME,
    WARMER,
    WIND,
)
from loftbook.rig.field import Field
from loftbook.rig.ways import KEYS, MAIN, NO_DROGUE, TWO_BAYS, WAYS

MAIN_FORWARD, MAIN_AFT = "forward of the other bay", "aft of the other bay"
BROADSIDE, TUMBLING, TIMED = "broadside", "tumbling", "timed by me"
TWO_JOINTS = (TWO_BAYS, NO_DROGUE)
FALLING = tuple(name for name, way in WAYS.items() if way.falls)
LOW = tuple(name for name, way in WAYS.items() if way.low or way.held)

RIG = (
    Field(
        path="rig.name",
        label="Name of this rig",
        default="Curlew, 98 mm, two bays",
        help="Whatever you call it; it heads the plan and the file.",
    ),
    Field(
        path="rig.units",
        label="Show units in",
        default=SYSTEMS[0],
        choices=SYSTEMS,
        help="How answers are written. You can type in any unit, whichever is chosen.",
    ),
    Field(
        path="rig.bay",
        label="Show",
        default=MAIN,
        choices=KEYS,
        help="Which canopy, bay or cord the pages show; where a rig has no such one they show the main.",
    ),
    Field(
        path="rig.measured",
        label="Measured by me",
        default="",
        optional=True,
        longest=4000,
        help="Names of the fields whose values you measured yourself, parted by spaces; the others you typed or left as they were.",
    ),
)

ROCKET = (
    Field(
        path="rocket.mass",
        label="Mass coming down",
        kind=MASS,
        default="5.6 kg",
        low=0.01,
        high=100,
        required=True,
        help="Everything that comes down, canopies included, motor burnt out.",
    ),
    Field(
        path="rocket.length",
        label="Rocket length",
        kind=LENGTH,
        default="2.4 m",
        low=0.1,
        high=15,
        required=True,
        help="Tip to tail, ready to fly.",
    ),
    Field(
        path="rocket.diameter",
        label="Outer diameter",
        kind=LENGTH,
        default="102 mm",
        low=0.015,
        high=0.45,
        when=(("flight.way", FALLING),),
        help="Outside of the widest tube: what the air takes hold of while the parts fall without a canopy.",
    ),
    Field(
        path="rocket.main_bay",
        label="The main's bay lies",
        default=MAIN_FORWARD,
        choices=(MAIN_FORWARD, MAIN_AFT),
        when=(("flight.way", TWO_JOINTS),),
        help="Forward: it parts between nose and middle section. Aft: it parts between middle and tail.",
    ),
    Field(
        path="nose.mass",
        label="Nose mass",
        kind=MASS,
        default="650 g",
        low=0.001,
        high=100,
        required=True,
        help="The nose, or the whole forward section if the rocket parts in the middle. Two parts apart: the forward part with its canopy.",
    ),
    Field(
        path="nose.length",
        label="Nose length",
        kind=LENGTH,
        default="450 mm",
        low=0.01,
        high=10,
        required=True,
        help="The nose with its shoulder, or the whole forward section, as it hangs.",
    ),
    Field(
        path="middle.mass",
        label="Middle section, mass",
        kind=MASS,
        default="1.7 kg",
        low=0.01,
        high=100,
        required=True,
        when=(("flight.way", TWO_JOINTS),),
        help="What lies between the two joints, electronics included, without canopies. The tail is the rest.",
    ),
    Field(
        path="middle.length",
        label="Middle section, length",
        kind=LENGTH,
        default="800 mm",
        low=0.02,
        high=10,
        required=True,
        when=(("flight.way", TWO_JOINTS),),
        help="Between the two joints, as it hangs.",
    ),
    Field(
        path="chain.factor",
        label="Design factor",
        kind=NUMBER,
        low=1,
        high=10,
        default="2",
        help="Strength wanted over load; below 1.5 is warned of, below 1 refused.",
    ),
)

ELECTRONICS = (
    Field(
        path="electronics.units",
        label="Altimeters",
        kind=COUNT,
        low=0,
        high=4,
        default="2",
        help="How many units can fire a charge or let a device go; 0 for none.",
    ),
    Field(
        path="electronics.batteries",
        label="Batteries",
        kind=COUNT,
        low=0,
        high=8,
        default="2",
        help="A backup that shares its battery is no backup.",
    ),
    Field(
        path="electronics.switches",
        label="Switches",
        kind=COUNT,
        low=0,
        high=8,
        default="2",
        help="One for each battery, reached from outside with the rocket upright on the pad.",
    ),
    Field(
        path="electronics.volume",
        label="Volume of their bay",
        kind=VOLUME,
        low=1e-5,
        high=0.05,
        default="1500 cm³",
        help="Air in the closed bay that the altimeters breathe through its ports.",
    ),
    Field(
        path="electronics.ports",
        label="Static ports",
        kind=COUNT,
        low=1,
        high=8,
        default="3",
        help="Number of equal holes evenly round the tube, away from shoulders and fins; three or four are usual (common practice, no source).",
    ),
)

SITE = (
    Field(
        path="site.elevation",
        label="Site elevation",
        kind=HEIGHT,
        default="120 m",
        low=-500,
        high=5000,
        help="Height of the field above sea level.",
    ),
    Field(
        path="site.warmer",
        label="Warmer than standard by",
        kind=WARMER,
        default="0 °C",
        low=-60,
        high=60,
        help="The standard day has 15 °C at sea level, 6.5 °C less per 1,000 m; colder: a minus sign.",
    ),
    Field(
        path="site.pressure",
        label="Station pressure",
        kind=PRESSURE,
        default="",
        low=45_000,
        high=110_000,
        optional=True,
        help="As the barometer reads on the field, not reduced to sea level; empty: standard.",
    ),
    *(
        Field(
            path=f"site.{side}",
            label=f"Field edge, {side}",
            kind=HEIGHT,
            low=0,
            high=20000,
            default="1300 m",
            help="From the pad to the edge of the field.",
        )
        for side in ("north", "east", "south", "west")
    ),
)

FLIGHT = (
    Field(
        path="flight.way",
        label="How it comes down",
        choices=tuple(WAYS),
        default=TWO_BAYS,
        help="Which bays open and which canopies fill, at the top and low down.",
    ),
    Field(
        path="flight.apogee",
        label="Height of the top",
        kind=HEIGHT,
        low=5,
        high=20_000,
        default="1200 m",
        help="Above the field: where the first bay opens, or where you want it worked out from.",
    ),
    Field(
        path="flight.main_height",
        label="Main opens at",
        kind=HEIGHT,
        low=5,
        high=20_000,
        default="200 m",
        when=(("flight.way", LOW),),
        help="Height above the field at which the main opens or is let go; 150 to 300 m is usual (common practice, no source).",
    ),
    Field(
        path="flight.fall",
        label="Without a canopy it falls",
        choices=(BROADSIDE, TUMBLING, TIMED),
        default=TUMBLING,
        when=(("flight.way", FALLING),),
        help="Parts on a cord fall lying across the air or tumbling; choose “timed by me” when you know the rate.",
    ),
    Field(
        path="flight.fall_low",
        label="Rate of that fall, least",
        kind=SPEED,
        low=5,
        high=150,
        default="20 m/s",
        when=(("flight.fall", (TIMED,)),),
        help="From your own altimeter, referred to the air at the field.",
    ),
    Field(
        path="flight.fall_high",
        label="Rate of that fall, greatest",
        kind=SPEED,
        low=5,
        high=150,
        default="40 m/s",
        when=(("flight.fall", (TIMED,)),),
        help="The fastest of them.",
    ),
    Field(
        path="flight.wind",
        label="Wind at 10 m",
        kind=WIND,
        default="4 m/s",
        low=0,
        high=30,
        help="Mean wind at ten metres above the field.",
    ),
    Field(
        path="flight.exponent",
        label="Wind exponent",
        kind=NUMBER,
        default="0.143",
        low=0,
        high=0.6,
        help="How wind grows with height: 0.1 water, 0.15 grass, 0.2 crops and bushes, 0.25 trees, 0.4 town.",
    ),
    Field(
        path="flight.forward_speed",
        label="Speed over the top",
        kind=SPEED,
        low=0,
        high=150,
        default="12 m/s",
        help="Horizontal speed at apogee; a straight flight in light wind has 5 to 15 m/s (our estimate).",
    ),
    Field(
        path="flight.delay",
        label="Early or late by",
        kind=TIME,
        low=0,
        high=5,
        default="1 s",
        help="Error of the charge about apogee, either way; early is a little harder than worked out here. Of a motor's own charge at least 1.5 s or a fifth of its delay is counted, whatever stands here.",
    ),
    Field(
        path="flight.climb",
        label="Greatest climb speed",
        kind=SPEED,
        low=1,
        high=700,
        default="160 m/s",
        help="For the vent: how fast it goes up.",
    ),
    Field(
        path="flight.slowing",
        label="Slowing after burnout",
        kind=ACCELERATION,
        low=0,
        high=500,
        default="30 m/s²",
        help="Greatest deceleration while coasting; what lies forward of a joint pulls on it.",
    ),
    Field(
        path="flight.wind_from", label="Wind from", choices=POINTS, default="west", help="Where the wind comes from."
    ),
    Field(
        path="flight.layers",
        label="Measured wind",
        optional=True,
        longest=600,
        default="",
        help="Height, speed and bearing it blows from, layers parted by “;”, for example 10 m 3 m/s 270; 300 m 7 m/s 285. Empty: the power law above.",
    ),
)

SCATTER = (
    Field(
        path="scatter.mass",
        label="Mass, give or take",
        kind=SHARE,
        low=0,
        high=0.3,
        default="3 %",
        help="Half-range as a share.",
    ),
    Field(
        path="scatter.wind",
        label="Wind speed, give or take",
        kind=SHARE,
        low=0,
        high=0.9,
        default="25 %",
        help="Half-range as a share.",
    ),
    Field(
        path="scatter.direction",
        label="Wind direction, give or take",
        kind=ANGLE,
        low=0,
        high=50,
        default="15 deg",
        help="Half-range as an angle.",
    ),
    Field(
        path="scatter.release",
        label="Release height, give or take",
        kind=SHARE,
        low=0,
        high=0.5,
        default="5 %",
        help="Half-range as a share, of the top and of the main's height, each by itself.",
    ),
)

COMPARE = (
    Field(
        path="compare.tubes",
        label="Tubes to compare",
        default="75 mm; 98 mm; 124 mm",
        longest=200,
        help="Inner diameters, at most six, parted by commas or “;”: your other rockets. Everything else stays as in this rig.",
    ),
    Field(
        path="compare.sizes",
        label="Canopies to compare",
        default="1.5 m; 2 m; 2.2 m",
        longest=200,
        help="Sizes of this family, at most six, parted by commas or “;”, each folded for this rig's tube.",
    ),
)

FIRST_FIELDS: tuple[Field, ...] = (*RIG, *ROCKET)  # before the bays
LAST_FIELDS: tuple[Field, ...] = (*ELECTRONICS, *SITE, *FLIGHT, *SCATTER, *COMPARE)
FIRST_GROUPS = {
    "rig": "This rig",
    "rocket": "Rocket",
    "nose": "Nose or forward section",
    "middle": "Middle section",
    "chain": "Chain of strength",
}
LAST_GROUPS = {
    "electronics": "Electronics",
    "site": "Site and day",
    "flight": "Flight",
    "scatter": "What is not known exactly",
    "compare": "Side by side",
}
