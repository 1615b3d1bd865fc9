"""What fields cannot say together, as a table: each is in range by itself, and both cannot be true.

A rule names the field that is blamed, when it is broken, what would be allowed and why.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import inf

from loftbook.errors import Fault, Refusal
from loftbook.quantity import MASS, show
from loftbook.rig.bay_fields import ACROSS_CORNERS, MEASURED, NOSE_ALONG
from loftbook.rig.fields import FIELDS
from loftbook.rig.layers import read_layers
from loftbook.rig.rig import Rig, Said
from loftbook.rig.rocket_fields import TIMED, TWO_JOINTS
from loftbook.rig.ways import FORWARD, MAIN, Belongs

MOST = 0.99  # of a rocket is forward of its last joint: what is left is no rounding of the rest (our choice)
HIGHEST = 20_000.0  # m above sea level, where the air used here ends


@dataclass(frozen=True)
class Rule[T]:
    """One contradiction: the field blamed, whether it is broken, what is allowed, why. T: the rig, or a bay of it."""

    path: str
    broken: Callable[[T], bool]
    allowed: Callable[[T], str]
    reason: str
    belongs: Belongs = "either"  # of a bay's rule: what must be there for it


def _said(path: str, words: str) -> Callable[[Rig], str]:
    return lambda rig: words.format(rig.texts[path])


def _above(low: float | None, high: float | None) -> bool:
    """Whether the lower end of a range lies above its upper one, where both are there."""
    return low is not None and high is not None and low > high


def _said_there(path: str, words: str) -> Callable[[Said], str]:
    return lambda said: words.format(said.text(path))


def _two_joints(rig: Rig) -> bool:
    return rig.way.name in TWO_JOINTS


def _parts_mass(rig: Rig) -> float:
    return rig.number("nose.mass") + (rig.optional("middle.mass") or 0.0)


def _parts_length(rig: Rig) -> float:
    return rig.number("nose.length") + (rig.optional("middle.length") or 0.0)


def _weighed(rig: Rig, canopy: str) -> float:
    """Of one canopy, 0 where it was not weighed [kg]."""
    return rig.of(canopy).optional("canopy.mass") or 0.0


def _canopies_mass(rig: Rig) -> float:
    """Of the weighed canopies together [kg]."""
    return sum(_weighed(rig, key) for key in rig.way.canopies)


def _lines_mass(said: Said) -> float:
    return said.number("canopy.sides") * said.number("lines.length") * said.number("lines.mass")


def _shaped(said: Said) -> bool:
    return said.text("canopy.family") != MEASURED


RULES: tuple[Rule[Rig], ...] = (
    Rule(
        "nose.mass",
        lambda rig: rig.number("nose.mass") > MOST * rig.number("rocket.mass"),
        _said("rocket.mass", "at most 99 % of the {} coming down"),
        "the nose cannot weigh as much as all that comes down.",
    ),
    Rule(
        "middle.mass",
        lambda rig: _two_joints(rig) and _parts_mass(rig) > MOST * rig.number("rocket.mass"),
        _said("rocket.mass", "with the nose at most 99 % of the {} coming down"),
        "nose and middle section cannot weigh as much as all that comes down: the tail is the rest.",
    ),
    Rule(
        "nose.length",
        lambda rig: rig.number("nose.length") > MOST * rig.number("rocket.length"),
        _said("rocket.length", "at most 99 % of the rocket's {}"),
        "the nose cannot be as long as the rocket.",
    ),
    Rule(
        "middle.length",
        lambda rig: _two_joints(rig) and _parts_length(rig) > MOST * rig.number("rocket.length"),
        _said("rocket.length", "with the nose at most 99 % of the rocket's {}"),
        "nose and middle section cannot be as long as the rocket: the tail is the rest.",
    ),
    Rule(
        "rocket.mass",
        lambda rig: rig.way.tied and _canopies_mass(rig) > 0 and _canopies_mass(rig) + _parts_mass(rig) >= rig.number("rocket.mass"),
        lambda rig: f"more than {show(_canopies_mass(rig) + _parts_mass(rig), MASS, rig.units)}",
        "canopies, nose and middle section together cannot weigh as much as all that comes down.",
    ),
    Rule(
        "nose.mass",
        lambda rig: not rig.way.tied and _weighed(rig, FORWARD) >= rig.number("nose.mass"),
        _said("forward.canopy.mass", "more than its canopy, {}"),
        "the forward part cannot weigh less than its own canopy.",
    ),
    Rule(
        "rocket.mass",
        lambda rig: not rig.way.tied and _weighed(rig, MAIN) > 0 and _weighed(rig, MAIN) + rig.number("nose.mass") >= rig.number("rocket.mass"),
        lambda rig: f"more than {show(_weighed(rig, MAIN) + rig.number('nose.mass'), MASS, rig.units)}",
        "the aft part's canopy and the forward part together cannot weigh as much as all that comes down.",
    ),
    Rule(
        "flight.main_height",
        lambda rig: (rig.optional("flight.main_height") or 0.0) >= rig.number("flight.apogee"),
        _said("flight.apogee", "below the top, {}"),
        "the main opens below the top.",
    ),
    Rule(
        "flight.fall_low",
        lambda rig: rig.values["flight.fall"] == TIMED
        and rig.number("flight.fall_low") > rig.number("flight.fall_high"),
        _said("flight.fall_high", "at most {}"),
        "the least rate is above the greatest.",
    ),
    Rule(
        "flight.apogee",
        lambda rig: rig.number("site.elevation") + rig.number("flight.apogee") > HIGHEST,
        lambda rig: "site elevation and height of the top together at most 20 km",
        "this is above the air used here.",
    ),
    Rule(
        "rig.measured",
        lambda rig: not rig.measured <= set(FIELDS),
        lambda rig: "names of fields as they stand in a rig file, parted by spaces",
        "it names a field that no rig has.",
    ),
)

BAY_RULES: tuple[Rule[Said], ...] = (
    Rule(
        "bay.shoulder",
        lambda said: said.number("bay.shoulder") >= said.number("bay.depth"),
        _said_there("bay.depth", "less than the bay's {}"),
        "the shoulder would fill the whole bay.",
        "bay",
    ),
    Rule(
        "pack.beside",
        lambda said: (said.optional("pack.beside") or 0.0) > 0.9 * said.number("bay.tube"),
        _said_there("bay.tube", "at most nine tenths of the tube's {}"),
        "this leaves the canopy no room.",
        "bay",
    ),
    Rule(
        "cord.gap",
        lambda said: said.chosen("cord.layout") == NOSE_ALONG and said.number("cord.gap") >= said.number("cord.length"),
        _said_there("cord.length", "less than the cord's {}"),
        "the nose cannot hang beyond the anchor.",
        "ties",
    ),
    Rule(
        "canopy.mass",
        lambda said: (weighed := said.optional("canopy.mass")) is not None and weighed <= _lines_mass(said),
        lambda said: f"more than its lines alone, {show(_lines_mass(said), MASS, said.rig.units)}",
        "canopy and lines weigh less than the lines alone.",
        "canopy",
    ),
    Rule(
        "canopy.sides",
        lambda said: said.text("canopy.family") == "cross"
        and (said.number("canopy.sides") % 4 > 0 or said.number("canopy.sides") < 8),
        lambda said: "8, 12, 16 … 32",
        "a cross has the same number of lines, at least two, on each of four arms.",
        "canopy",
    ),
    Rule(
        "canopy.across",
        lambda said: said.text("canopy.family") == "flat polygon"
        and said.text("canopy.across") == ACROSS_CORNERS
        and said.number("canopy.sides") % 2 > 0,
        lambda said: "flat to flat, twice the distance from the middle to a side",
        "a polygon of an odd number of sides has no corner opposite a corner.",
        "canopy",
    ),
    Rule(
        "canopy.cd_low",
        lambda said: not _shaped(said) and said.number("canopy.cd_low") > said.number("canopy.cd_high"),
        _said_there("canopy.cd_high", "at most {}"),
        "the least Cd is above the greatest.",
        "canopy",
    ),
    Rule(
        "canopy.cd_measured_low",
        lambda said: (said.optional("canopy.cd_measured_low") is None) != (said.optional("canopy.cd_measured_high") is None),
        lambda said: "both ends of the measured Cd, or neither",
        "one end of a measured range is missing.",
        "canopy",
    ),
    Rule(
        "canopy.cd_measured_low",
        lambda said: _above(said.optional("canopy.cd_measured_low"), said.optional("canopy.cd_measured_high")),
        _said_there("canopy.cd_measured_high", "at most {}"),
        "the least measured Cd is above the greatest.",
        "canopy",
    ),
    Rule(
        "pack.density_most",
        lambda said: said.optional("pack.density_most") is not None and _above(said.optional("pack.density") or inf, said.optional("pack.density_most")),
        _said_there("pack.density", "a density below it, and at least {}"),
        "of a range the least is missing, or above the most.",
        "canopy",
    ),
    Rule(
        "joint.friction_most",
        lambda said: _above(said.number("joint.friction"), said.optional("joint.friction_most")),
        _said_there("joint.friction", "at least {}"),
        "the most is below the least.",
        "bay",
    ),
)


def broken_rules(rig: Rig) -> Iterator[Fault]:
    """A fault for each contradiction of a rig whose fields are all in range by themselves."""
    for rule in RULES:
        if rule.broken(rig):
            yield _fault(rig, rule.path, rule.allowed(rig), rule.reason)
    for key in rig.way.keys:
        said = rig.of(key)
        for one in BAY_RULES:
            if rig.way.has(key, one.belongs) and one.broken(said):
                yield _fault(rig, f"{key}.{one.path}", one.allowed(said), one.reason)
    if rig.texts["flight.layers"].strip():
        try:
            read_layers(rig.texts["flight.layers"], "flight.layers", FIELDS["flight.layers"].full)
        except Refusal as refusal:
            yield from refusal.faults


def _fault(rig: Rig, path: str, allowed: str, reason: str) -> Fault:
    label = FIELDS[path].full
    return Fault(
        message=f"{label}: {reason} Allowed: {allowed}.", field=path, label=label, given=rig.texts[path], allowed=allowed
    )
