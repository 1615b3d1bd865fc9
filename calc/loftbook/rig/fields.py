"""Every field of a rig by its path, the headings of their groups, and the rigs to start from.

A rig says which starting rig the fields come from that it does not say itself; links carry only what was typed. So a
starting rig, once released, is never changed.
"""


from loftbook.rig.bay_fields import BAY_FIELDS, BAY_GROUPS
from loftbook.rig.field import Field, stamp
from loftbook.rig.rocket_fields import FIRST_FIELDS, FIRST_GROUPS, LAST_FIELDS, LAST_GROUPS
from loftbook.rig.ways import KEYS, ONE_CANOPY

TWO_BAYS_98, ONE_BAY_75 = "two bays, 98 mm", "one bay, 75 mm"

_START = Field(
    path="rig.start",
    label="Starting rig",
    default=TWO_BAYS_98,
    choices=(TWO_BAYS_98, ONE_BAY_75),
    help="The rig of ours that everything comes from which you have not said yourself.",
)
_ALL = (FIRST_FIELDS[0], _START, *FIRST_FIELDS[1:], *stamp(BAY_FIELDS), *LAST_FIELDS)

FIELDS: dict[str, Field] = {field.path: field for field in _ALL}
DEFAULTS: dict[str, str] = {field.path: field.default for field in _ALL}

STARTS: dict[str, dict[str, str]] = {
    TWO_BAYS_98: DEFAULTS,
    ONE_BAY_75: DEFAULTS
    | {
        "rig.name": "Wren, 75 mm, one bay",
        "rig.start": ONE_BAY_75,
        "rocket.mass": "2.2 kg",
        "rocket.length": "2 m",
        "rocket.diameter": "79 mm",
        "nose.mass": "320 g",
        "nose.length": "380 mm",
        "main.bay.tube": "75 mm",
        "main.bay.shoulder": "75 mm",
        "main.canopy.size": "1.4 m",
        "main.lines.length": "1.4 m",
        "main.cord.length": "9.5 m",
        "main.cord.swivel": "2 kN",
        "main.cord.anchor": "1.4 kN",
        "main.cord.nose_anchor": "1.4 kN",
        "main.cord.bulkhead": "3 kN",
        "main.joint.friction": "25 N",
        "main.joint.pins": "0",
        "main.charge.tested": "0.6 g",
        "main.charge.test_pins": "0",
        "electronics.units": "1",
        "electronics.batteries": "1",
        "electronics.switches": "1",
        "electronics.volume": "500 cm³",
        "site.north": "450 m",
        "site.east": "450 m",
        "site.south": "450 m",
        "site.west": "450 m",
        "flight.way": ONE_CANOPY,
        "flight.apogee": "300 m",
        "flight.climb": "120 m/s",
        "compare.tubes": "54 mm; 75 mm; 98 mm",
        "compare.sizes": "0.9 m; 1.4 m; 1.8 m",
    },
}

_TITLES = {"main": "Main", "drogue": "Drogue", "forward": "Forward part"}
GROUPS: dict[str, str] = (
    FIRST_GROUPS
    | {f"{key}.{group}": f"{_TITLES[key]}: {legend.lower()}" for key in KEYS for group, legend in BAY_GROUPS.items()}
    | LAST_GROUPS
)
