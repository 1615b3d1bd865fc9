"""What can be written into the logbook: each kind declared once, with its fields. From that come the form, the check, the CSV's columns."""

from dataclasses import dataclass
from typing import Literal

from loftbook.physics.wind import POINTS
from loftbook.quantity import COUNT, FORCE, HEIGHT, LENGTH, MASS, SHARE, SPEED, TEMPERATURE, TIME, TYPED_CHARGE, WIND
from loftbook.rig.bay_fields import PARTED, SHUT, THROWN
from loftbook.rig.field import Field

AS_PLANNED, OTHERWISE, DAMAGED = "as planned", "otherwise, nothing damaged", "something was damaged"
UNKNOWN, AT_REST, STEADY = "I do not know", "let go at rest", "it sank steadily already"
SOUND, MENDED, ASIDE = "sound", "mended", "put aside"
PARTS = ("canopy", "lines", "cord", "links and anchors", "joint", "electronics", "airframe", "protector", "release device")
PICTURE, KEPT, DROP = "picture", "kept", "drop"
LARGEST_PICTURE = 700_000  # characters of its data address
LONGEST_NOTE = 2_000


@dataclass(frozen=True)
class Kind:
    """One kind of entry. each: what it is about: the whole rig, one of its canopies or bays, or a part that some rigs have several of."""

    name: str
    title: str
    told: str  # when it is written, one sentence
    each: Literal["rig", "canopy", "bay", "part"]
    fields: tuple[Field, ...]


def _note(kind: str, help_: str, *, optional: bool = True) -> Field:
    return Field(path=f"{kind}.note", label="In your words", help=help_, default="", optional=optional, longest=LONGEST_NOTE)


_FLIGHT = (
    Field(path="flight.went", label="It came down", help="The whole of it, as you saw it.", default=AS_PLANNED, choices=(AS_PLANNED, OTHERWISE, DAMAGED)),
    Field(path="flight.apogee", label="Greatest height", kind=HEIGHT, low=5, high=20_000, optional=True, default="", help="Above the field, by what it carried."),
    Field(path="flight.time", label="From the top to the ground", kind=TIME, low=1, high=7_200, optional=True, default="", help="By a watch or by what it carried."),
    Field(path="flight.rate", label="Rate at touchdown", kind=SPEED, low=0.3, high=100, optional=True, default="", help="By what it carried, over the last stretch before the ground."),
    Field(path="flight.walk", label="From the pad to where it lay", kind=HEIGHT, low=0, high=30_000, optional=True, default="", help="Paced, or from a map."),
    Field(path="flight.toward", label="Which way from the pad", choices=("", *POINTS), optional=True, default="", help="Seen from the pad."),
    Field(path="flight.wind", label="Wind at the pad", kind=WIND, low=0, high=30, optional=True, default="", help="At ten metres, when it went."),
    _note("flight", "What was seen, what was heard, what was different."),
)
_TEST = (
    Field(path="test.mass", label="Black powder", kind=TYPED_CHARGE, low=1e-5, high=0.01, default="", help="What was weighed in for this test."),
    Field(path="test.pins", label="Pins in it", kind=COUNT, low=0, high=8, default="", help="How many it had to shear."),
    Field(path="test.result", label="What it did", choices=(THROWN, PARTED, SHUT), default=SHUT, help="Only a test counts that threw everything clear to the cord's end."),
    Field(path="test.threw", label="How far it threw", kind=HEIGHT, low=0, high=100, optional=True, default="", help="From where the joint was to where the lighter part lay."),
    _note("test", "Packing, where it lay, what was seen."),
)
_BUNDLE = (
    Field(path="bundle.mass", label="The cloth in it weighs", kind=MASS, low=0.001, high=20, default="", help="The canopy without its lines, in grams by a kitchen scale."),
    Field(path="bundle.length", label="Length", kind=LENGTH, low=0.01, high=3, default="", help="Of the bundle as it lies in the tube, pressed by nothing."),
    Field(path="bundle.width", label="Width", kind=LENGTH, low=0.005, high=0.4, default="", help="Of the slab; of a round bundle its diameter."),
    Field(path="bundle.thickness", label="Thickness", kind=LENGTH, low=0.002, high=0.4, optional=True, default="", help="Of the slab; empty: it is round."),
    _note("bundle", "How it was folded."),
)
_PULL = (
    Field(path="pull.force", label="Pull that parted it", kind=FORCE, low=0, high=2_000, default="", help="Fish scale, packed, no pins, no charge, switches off."),
    _note("pull", "How warm it was, tape or none, new or worn."),
)
_DROP = (
    Field(path="drop.high", label="Height when you started the watch", kind=HEIGHT, low=1, high=20_000, default="", help="Above the field."),
    Field(path="drop.low", label="Height when you stopped it", kind=HEIGHT, low=0, high=20_000, optional=True, default="", help="Above the field; empty: the ground."),
    Field(path="drop.seconds", label="Seconds between", kind=TIME, low=0.5, high=7_200, default="", help="By the watch."),
    Field(path="drop.begun", label="When you started it", choices=(UNKNOWN, AT_REST, STEADY), default=UNKNOWN, help="From rest it lags behind, after something faster it runs ahead."),
    Field(path="drop.sure", label="How sure of the heights", kind=SHARE, low=0.001, high=0.9, optional=True, default="", help="Within so much, nineteen times of twenty; empty: 20 %, judged by eye (common practice, no source)."),
    Field(path="drop.temperature", label="Temperature that day", kind=TEMPERATURE, low=223, high=333, optional=True, default="", help="At the field; empty: 20 K either way are counted."),
    Field(path="drop.mass", label="Mass under it", kind=MASS, low=0.01, high=100, optional=True, default="", help="Empty: what the rig says."),
    _note("drop", "Where from, who watched, how the wind was."),
)
_INSPECTION = (
    Field(path="inspection.of", label="What was looked over", choices=PARTS, default=PARTS[0], help="Each part has an entry of its own."),
    Field(path="inspection.result", label="It is", choices=(SOUND, MENDED, ASIDE), default=ASIDE, help="What is put aside does not fly."),
    _note("inspection", "What was found, and where."),
)
_REPAIR = (
    Field(path="repair.of", label="What was mended or replaced", choices=PARTS, default=PARTS[0], help="A mended part is looked over anew before it flies."),
    _note("repair", "What was done, with what.", optional=False),
)
_REPACK = (_note("repack", "Who packed it, what was changed."),)
_PICTURE = (
    Field(path="picture.of", label="Belongs to", default="", longest=20, help="The entry that it was added to."),
    Field(path="picture.data", label="Picture", default="", longest=LARGEST_PICTURE, help="As a data address, made smaller by the page."),
)

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("flight", "Flight", "After every flight, good or bad.", "rig", _FLIGHT),
        Kind("test", "Ground test", "After every test of a charge, the failed ones too.", "bay", _TEST),
        Kind("bundle", "Bundle measured", "A folded canopy, weighed and measured.", "canopy", _BUNDLE),
        Kind("pull", "Pull measured", "What it took to part a joint by hand.", "bay", _PULL),
        Kind(DROP, "Timed descent", "A canopy timed by a watch, dropped or flown.", "canopy", _DROP),
        Kind("inspection", "Inspection", "When a part was looked over.", "part", _INSPECTION),
        Kind("repair", "Repair", "When a part was mended or replaced.", "part", _REPAIR),
        Kind("repack", "Repack", "When a bay was packed, and lies packed.", "bay", _REPACK),
        Kind(KEPT, "Kept by name", "The rig as it is typed, with its canopies and cords that have a name.", "rig", ()),
        Kind(PICTURE, "Picture", "Added to an entry.", "rig", _PICTURE),
    )
}
