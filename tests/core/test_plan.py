"""The plan of the starting rigs and of rigs one change away: which verdict flips, and that words and numbers agree.

Common practice and exact geometry are the judges here, not numbers that the code produced.
"""

import ast
import functools
import importlib
import json
import pkgutil
import re
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType

import pytest
from rigs import faults_of, worked

import loftbook.calculators
from loftbook.answer import Check, CheckKind
from loftbook.calculators import CALCULATORS
from loftbook.errors import Refusal
from loftbook.faces import handout
from loftbook.physics.spread import Spread
from loftbook.plan import Plan, data, joined, parted, plan
from loftbook.rig.bay_fields import BACKUP, GAS, MOTOR, NOSE_ALONG, NOTHING, PARTED, SHUT, TWO_SECTIONS
from loftbook.rig.fields import DEFAULTS, FIELDS, ONE_BAY_75, STARTS, TWO_BAYS_98
from loftbook.rig.files import to_toml
from loftbook.rig.parsing import parse
from loftbook.rig.ways import (
    DROGUE,
    FORWARD,
    HELD,
    KEYS,
    MAIN,
    NO_DROGUE,
    ONE_BAY,
    ONE_CANOPY,
    TWO_BAYS,
    TWO_PARTS,
    WAYS,
)

ORDER = {"fail": 0, "warn": 1, "pass": 2}
every_way = pytest.mark.parametrize("way", WAYS)
every_start = pytest.mark.parametrize("start", STARTS)

# One canopy in one bay: the rig that the numbers below are about; the starting rigs may be others.
BASE = {
    "rig.start": ONE_BAY_75, "flight.way": ONE_CANOPY, "rocket.mass": "2.2 kg", "rocket.length": "1.7 m", "nose.mass": "320 g",
    "nose.length": "380 mm", "flight.wind": "4 m/s", "flight.apogee": "300 m", "site.elevation": "120 m",
}  # fmt: skip
BAY = {
    "bay.tube": "75 mm", "bay.depth": "500 mm", "bay.shoulder": "75 mm", "canopy.size": "1.4 m", "canopy.family": "flat polygon",
    "canopy.sides": "8", "lines.length": "1.4 m", "lines.diameter": "1.6 mm", "cord.length": "7.5 m", "cord.width": "14 mm",
    "cord.thickness": "2.5 mm", "cord.allowance": "0.5 m", "cord.layout": "nose where the lines meet", "joint.pins": "0",
    "joint.friction": "25 N", "charge.tested": "0.6 g", "charge.repeats": "2", "charge.test_date": "1 March", "charge.test_pins": "0",
}  # fmt: skip
# Two bays that are alike, in a rocket of three parts.
TWO = BASE | {"rig.start": TWO_BAYS_98, "flight.way": TWO_BAYS, "middle.mass": "600 g", "middle.length": "500 mm",
              "flight.apogee": "600 m", "flight.main_height": "200 m"}  # fmt: skip


def of(key: str, texts: Mapping[str, str]) -> dict[str, str]:
    """Paths within a bay as the paths of one bay; others as they are."""
    return {path if path in FIELDS else f"{key}.{path}": text for path, text in texts.items()}


BASE |= of(MAIN, BAY)
TWO |= of(MAIN, BAY) | of(DROGUE, BAY | {"pack.layout": "below the canopy"})


@functools.cache
def _planned(texts: frozenset[tuple[str, str]]) -> Plan:
    return plan(dict(texts))


def planned(texts: Mapping[str, str]) -> Plan:
    """Plans are looked at, never changed: each rig is worked through once."""
    return _planned(frozenset(texts.items()))


def with_(changes: Mapping[str, str] | None = None) -> Plan:
    """The plan of the base rig with changes; a path within a bay is the main's."""
    return planned(BASE | of(MAIN, changes or {}))


def check_of(whole: Plan, name: str, bay: str = MAIN) -> Check:
    """The check of that name about the bay, or about the whole rig."""
    (check,) = (check for check in whole.checks if check.name == name and check.bay in ("", bay))
    return check


def verdict(whole: Plan, name: str, bay: str = MAIN) -> str:
    return check_of(whole, name, bay).verdict


def reason(whole: Plan, name: str, bay: str = MAIN) -> str:
    return check_of(whole, name, bay).reason


def asked(way: str) -> list[str]:
    """What a plan answers, by its calculators' own account."""
    return [joined(key, name) for name, one in CALCULATORS.items() if one.in_plan for key in one.keys(WAYS[way])]


# --- a plan as a whole ---------------------------------------------------------------------------------


@every_start
def test_a_starting_rig_is_sound(start: str) -> None:
    """The first thing a newcomer sees must not be a fault of our own rocket."""
    whole = plan({"rig.start": start})
    assert whole.sound
    assert [check.name for check in whole.checks if check.verdict == "fail"] == []
    assert list(whole.answers) == asked(STARTS[start]["flight.way"])
    assert whole.rig.assumed == set(FIELDS) - {"rig.start"}


def test_a_plan_can_be_asked_for_with_texts_or_with_a_rig() -> None:
    texts = {"main.bay.tube": "75 mm"}
    assert plan(parse(texts)) == plan(texts)


def test_a_refused_rig_has_no_plan_and_all_its_faults() -> None:
    with pytest.raises(Refusal) as caught:
        plan({"rocket.mass": "x", "drogue.bay.tube": "y", "main.bay.tube": "z"})
    assert {fault.field for fault in caught.value.faults} == {"rocket.mass", "drogue.bay.tube", "main.bay.tube"}


@every_way
def test_every_way_down_has_a_plan(way: str) -> None:
    whole = planned(TWO | {"flight.way": way})
    assert list(whole.answers) == asked(way)
    for name, answer in whole.answers.items():
        key, calculator = parted(name)
        assert whole.of(calculator)[key] is answer
        assert whole.title(name).startswith(CALCULATORS[calculator].title)
        assert {check.bay for check in answer.checks} <= {key}
    titles = [whole.title(name) for name in whole.answers]
    assert len(set(titles)) == len(titles)


def test_a_narrower_tube_changes_bundle_stack_and_fit_check() -> None:
    wide, narrow = with_({"bay.tube": "124 mm"}), with_({"bay.tube": "75 mm"})
    for name, outputs in {"main.folding": ("bundle_width", "bundle_thickness", "diagonal", "bundle_room", "bundle_widest", "layers"),
                          "main.packing": ("bundle_depth", "least_depth", "spare", "room", "below_height")}.items():  # fmt: skip
        for output in outputs:
            assert wide.answers[name].outputs[output] != narrow.answers[name].outputs[output], output
    assert reason(wide, "bundle-fits") != reason(narrow, "bundle-fits")
    assert wide.answers["main.packing"].drawings != narrow.answers["main.packing"].drawings
    # the same cord in a tube of (75/54)^2 less section stands so much higher
    stacks = [worked(BASE | {"main.bay.tube": tube}).bays[MAIN].stack for tube in ("75 mm", "54 mm")]
    heights = [sum(layer.item.height for layer in stack.layers if layer.item.kind == "cord") for stack in stacks]
    assert heights[1] / heights[0] == pytest.approx((75 / 54) ** 2, rel=1e-12)


def test_a_tube_too_narrow_fails_and_says_what_would_do() -> None:
    whole = with_({"bay.tube": "38 mm"})
    assert not whole.sound
    assert whole.checks[0].verdict == "fail"
    assert verdict(whole, "bundle-fits") == "fail"
    assert "would fit with" in reason(whole, "bundle-fits")
    assert with_({"bay.tube": "75 mm"}).sound


# --- what flips ----------------------------------------------------------------------------------------

FLIPS = [
    # name, passes (or at least does not fail), fails; paths within a bay are the main's
    ("pack-density", {"pack.density": "0.25 g/cm^3"}, {"pack.density": "0.36 g/cm^3"}),  # it fitted, pressed, and stayed in
    ("joint-parts", {}, {"charge.kind": NOTHING, "joint.pins": "2"}),  # nothing pulls it open, and nothing pulls pins
    ("charge-domain", {}, {"joint.friction": "2000 N"}),
    ("joint-parts", {}, {"joint.pins": "8", "joint.pin": "M4 × 0.7"}),
    ("chain", {}, {"charge.pressure": "200 kPa", "cord.bulkhead": "800 N"}),
    ("measured-drag", {"canopy.cd_measured_low": "1.2", "canopy.cd_measured_high": "1.3"}, {"canopy.cd_measured_low": "1.3", "canopy.cd_measured_high": "1.5"}),
    ("line-wraps", {"pack.line_turns": "0"}, {"pack.line_turns": "2.5"}),
    ("line-wraps", {"pack.line_turns": "2"}, {"pack.line_turns": "2.001"}),
    ("line-wraps", {"pack.line_turns": "2"}, {"pack.line_turns": "2", "lines.length": "50 mm"}),  # all of the line
    ("cord-wraps", {"pack.cord_turns": "0"}, {"pack.cord_turns": "0.01"}),
    ("cord-wraps", {"pack.cord_turns": "0"}, {"pack.cord_turns": "1"}),
    ("cord-wraps", {"pack.cord_turns": "0"}, {"pack.cord_turns": "20"}),
    ("launch-wind", {"flight.wind": "20 mi/h"}, {"flight.wind": "20.01 mi/h"}),
    ("launch-wind", {"flight.wind": "8.9 m/s"}, {"flight.wind": "9 m/s"}),
    ("launch-wind", {"flight.wind": "0"}, {"flight.wind": "30 m/s"}),
    ("bundle-fits", {"bay.tube": "98 mm"}, {"bay.tube": "38 mm"}),
    ("bundle-fits", {"canopy.size": "1 m"}, {"canopy.size": "4 m"}),
    ("bay-holds-all", {"bay.depth": "1 m"}, {"bay.depth": "150 mm"}),
    ("bay-holds-all", {"cord.length": "5 m"}, {"cord.length": "50 m"}),
    # least cord, exact: lines + 2 x bay (common practice): 6 ft and 2 ft give 10 ft
    ("cord-length", {"lines.length": "6 ft", "bay.depth": "2 ft", "cord.length": "10 ft 1 in"},
     {"lines.length": "6 ft", "bay.depth": "2 ft", "cord.length": "9 ft 11 in"}),
    # with a gap of 2 ft, nose part-way along: 12 ft
    ("cord-length", {"lines.length": "6 ft", "bay.depth": "2 ft", "cord.length": "12 ft 1 in", "cord.gap": "2 ft",
                     "cord.layout": NOSE_ALONG},
     {"lines.length": "6 ft", "bay.depth": "2 ft", "cord.length": "11 ft 11 in", "cord.gap": "2 ft",
      "cord.layout": NOSE_ALONG}),
    # mouth at cord - bay, tip of the nose at gap + nose: 7.5 - 0.5 against gap + 0.38
    ("hanging-clear", {"cord.layout": NOSE_ALONG, "cord.gap": "6.61 m"}, {"cord.layout": NOSE_ALONG, "cord.gap": "6.63 m"}),
    ("hanging-clear", {"cord.layout": TWO_SECTIONS, "cord.gap": "6.61 m"}, {"cord.layout": TWO_SECTIONS, "cord.gap": "6.63 m"}),
    ("hanging-clear", {"cord.length": "0.89 m"}, {"cord.length": "0.87 m"}),
    ("touchdown-rate", {"rocket.mass": "2.2 kg"}, {"rocket.mass": "20 kg"}),
    # filled and slowed down below 50 m: the canopy at the top, too
    ("main-settled", {"flight.apogee": "80 m"}, {"flight.apogee": "60 m"}),
    ("opening-speed", {"flight.forward_speed": "43 m/s"}, {"flight.forward_speed": "46 m/s"}),
    ("joint-holds", {"joint.friction": "500 N"}, {"joint.friction": "0", "joint.pins": "0", "flight.slowing": "500 m/s^2"}),
    ("joint-parts", {"charge.pressure": "100 kPa"}, {"charge.pressure": "10 kPa", "joint.friction": "500 N"}),
    ("design-factor", {"chain.factor": "1.5"}, {"chain.factor": "1.49"}),
    ("chain", {"lines.material": "nylon cord type III (MIL-C-5040)"}, {"lines.material": "my own rating", "lines.rating": "10 N"}),
    ("chain", {"cord.anchor": "20 kN"}, {"cord.anchor": "20 N"}),
    ("chain", {"cord.nose_anchor": "20 kN"}, {"cord.nose_anchor": "20 N"}),
    ("chain", {"cord.link": "20 kN"}, {"cord.link": "20 N"}),
    ("lines-span", {"lines.length": "1.4 m"}, {"lines.length": "0.3 m"}),
    ("stays-on-field", {"flight.wind": "0"}, {"flight.wind": "8 m/s", "flight.apogee": "1500 m"}),
    ("stays-on-field", {"site.east": "20 km"}, {"site.east": "0", "site.west": "0", "site.north": "0", "site.south": "0"}),
    ("backup", {"charge.backup": BACKUP, "charge.backup_mass": "0.1 g"}, {"charge.backup": BACKUP, "charge.backup_mass": "10 g"}),
    ("electronics-redundant", {"electronics.units": "1"}, {"electronics.units": "0"}),
]  # fmt: skip

# The same of rigs with two bays, or with two canopies in one.
FLIPS_OF_TWO = [
    # bay or canopy, name, passes, fails; paths within a bay are of that bay
    # least cord of a bay without a canopy: 2 x bay
    (DROGUE, "cord-length", {"flight.way": NO_DROGUE, "cord.length": "1.01 m"}, {"flight.way": NO_DROGUE, "cord.length": "0.99 m"}),
    # the drogue's joint lies aft: mouth at 7.5 - 0.5, nose and middle hang as one, gap + 0.38 + 0.5
    (DROGUE, "hanging-clear", {"cord.layout": TWO_SECTIONS, "cord.gap": "6.11 m"}, {"cord.layout": TWO_SECTIONS, "cord.gap": "6.13 m"}),
    # with the main's bay aft it lies forward: the nose alone
    (DROGUE, "hanging-clear", {"cord.layout": TWO_SECTIONS, "cord.gap": "6.61 m", "rocket.main_bay": "aft of the other bay"},
     {"cord.layout": TWO_SECTIONS, "cord.gap": "6.63 m", "rocket.main_bay": "aft of the other bay"}),
    # a motor's own charge fires near the top: never the bay that opens low
    (MAIN, "joint-parts", {}, {"charge.kind": MOTOR}),
    (MAIN, "joint-parts", {"main.joint.pins": "0", "drogue.charge.kind": MOTOR, "drogue.joint.pins": "0"}, {"charge.kind": MOTOR}),
    (MAIN, "stays-on-field", {"flight.main_height": "50 m", "flight.wind": "1 m/s"},
     {"flight.main_height": "599 m", "flight.wind": "8.9 m/s", "site.east": "100 m"}),
    # what opens low opens after a fall without a canopy: its lines bear more than after a drogue
    (MAIN, "chain", {"lines.material": "my own rating", "lines.rating": "150 N"},
     {"lines.material": "my own rating", "lines.rating": "150 N", "flight.way": NO_DROGUE, "flight.fall": "timed by me",
      "flight.fall_low": "60 m/s", "flight.fall_high": "60 m/s"}),
    # the device that holds a canopy shut bears the jerk of the joint, and the drogue's opening
    (MAIN, "chain", {"flight.way": HELD, "cord.device": "20 kN"}, {"flight.way": HELD, "cord.device": "20 N"}),
    (MAIN, "chain", {"flight.way": ONE_BAY, "cord.device": "20 kN", "bay.depth": "900 mm"},
     {"flight.way": ONE_BAY, "cord.device": "20 N", "bay.depth": "900 mm"}),
    # two canopies in one bay
    (DROGUE, "bundle-fits", {"flight.way": ONE_BAY, "canopy.size": "400 mm", "main.bay.depth": "900 mm"},
     {"flight.way": ONE_BAY, "canopy.size": "8 m", "main.bay.depth": "900 mm"}),
    (FORWARD, "bundle-fits", {"flight.way": TWO_PARTS, "canopy.size": "500 mm", "main.bay.depth": "900 mm"},
     {"flight.way": TWO_PARTS, "canopy.size": "8 m", "main.bay.depth": "900 mm"}),
    (MAIN, "bundle-fits", {"flight.way": ONE_BAY, "drogue.canopy.size": "400 mm", "main.bay.depth": "900 mm"},
     {"flight.way": ONE_BAY, "drogue.canopy.size": "4 m", "main.bay.depth": "900 mm"}),
    (MAIN, "bay-holds-all", {"flight.way": ONE_BAY, "main.bay.depth": "1 m", "drogue.canopy.size": "400 mm"},
     {"flight.way": ONE_BAY, "main.bay.depth": "1 m", "drogue.canopy.size": "400 mm", "drogue.cord.length": "60 m"}),
    (MAIN, "bay-holds-all", {"flight.way": HELD, "pack.device": "20 mm", "main.bay.depth": "600 mm"},
     {"flight.way": HELD, "pack.device": "500 mm", "main.bay.depth": "600 mm"}),
    (DROGUE, "drogue-rate", {"canopy.size": "200 mm"}, {"canopy.size": "150 mm"}),
    ("", "main-settled", {"flight.main_height": "80 m"}, {"flight.main_height": "40 m"}),
    ("", "opening-speed", {}, {"drogue.canopy.size": "100 mm"}),
    ("", "fall-rate", {"flight.way": NO_DROGUE, "flight.fall": "timed by me", "flight.fall_high": "40 m/s"},
     {"flight.way": NO_DROGUE, "flight.fall": "timed by me", "flight.fall_high": "40.1 m/s"}),
    (FORWARD, "touchdown-rate", {"flight.way": TWO_PARTS, "canopy.size": "700 mm"}, {"flight.way": TWO_PARTS, "canopy.size": "100 mm"}),
    (FORWARD, "line-wraps", {"flight.way": TWO_PARTS, "pack.line_turns": "2"}, {"flight.way": TWO_PARTS, "pack.line_turns": "3"}),
    (FORWARD, "cord-wraps", {"flight.way": TWO_PARTS}, {"flight.way": TWO_PARTS, "pack.cord_turns": "1"}),
    (FORWARD, "chain", {"flight.way": TWO_PARTS, "nose.mass": "1 kg"}, {"flight.way": TWO_PARTS, "nose.mass": "1 kg", "cord.anchor": "20 N"}),
]  # fmt: skip


def flipped(bay: str, name: str, good: Plan, bad: Plan) -> None:
    assert verdict(good, name, bay) != "fail"
    assert verdict(bad, name, bay) == "fail"
    assert not bad.sound
    assert bad.checks[0].verdict == "fail"  # worst first
    assert reason(good, name, bay) != reason(bad, name, bay)


@pytest.mark.parametrize(("name", "holds", "fails"), FLIPS, ids=[f"{name}-{fails}" for name, _, fails in FLIPS])
def test_a_check_flips_where_it_must(name: str, holds: dict[str, str], fails: dict[str, str]) -> None:
    flipped(MAIN, name, with_(holds), with_(fails))


@pytest.mark.parametrize(("bay", "name", "holds", "fails"), FLIPS_OF_TWO,
                         ids=[f"{bay}-{name}-{fails}" for bay, name, _, fails in FLIPS_OF_TWO])  # fmt: skip
def test_a_check_of_two_bays_flips_where_it_must(bay: str, name: str, holds: dict[str, str], fails: dict[str, str]) -> None:
    flipped(bay, name, planned(TWO | of(bay, holds)), planned(TWO | of(bay, fails)))


OF_ONE_BAY = {"bundle-fits", "bay-holds-all", "line-wraps", "cord-wraps", "cord-length", "joint-parts", "charge-domain",
              "lines-span", "backup"}  # fmt: skip
IN_BAY = [row for row in FLIPS if row[0] in OF_ONE_BAY]


@pytest.mark.parametrize("bay", [DROGUE, MAIN])
@pytest.mark.parametrize(("name", "holds", "fails"), IN_BAY, ids=[f"{name}-{fails}" for name, _, fails in IN_BAY])
def test_a_check_of_one_bay_flips_in_either_and_leaves_the_other(
    bay: str, name: str, holds: dict[str, str], fails: dict[str, str]
) -> None:
    good, bad = (planned(TWO | of(bay, changes)) for changes in (holds, fails))
    flipped(bay, name, good, bad)
    other = MAIN if bay == DROGUE else DROGUE
    there = [[check for check in whole.checks if (check.bay, check.name) == (other, name)] for whole in (good, bad)]
    assert there[0] == there[1]
    assert there[0] or name == "backup"


# --- what asks for a second look -------------------------------------------------------------------------

FIRED = {"charge.tested": "0.2 g", "charge.repeats": "2"}
WARNINGS = [
    ("shoulder-length", {"bay.shoulder": "75 mm"}, {"bay.shoulder": "74 mm"}),  # one tube diameter
    ("cord-practice", {"cord.length": "5.11 m"}, {"cord.length": "5.09 m"}),  # three rocket lengths of 1.7 m
    ("cord-length", {"cord.length": "2.91 m"}, {"cord.length": "2.89 m"}),  # 1.4 + 2 x 0.5 + 0.5 m allowance
    ("touchdown-energy", {"rocket.mass": "2.2 kg"}, {"rocket.mass": "9 kg", "canopy.size": "2 m"}),
    ("touchdown-rate", {"canopy.size": "1.4 m"}, {"canopy.size": "2 m"}),  # gentler than usual
    ("touchdown-rate", {"canopy.size": "1.4 m"}, {"canopy.size": "1.1 m"}),  # harder than usual
    ("line-length", {"lines.length": "1.13 m"}, {"lines.length": "1.11 m"}),  # 0.8 of the width, 1.4 m
    ("measured-drag", {"canopy.cd_measured_low": "0.7", "canopy.cd_measured_high": "0.8"},
     {"canopy.cd_measured_low": "1.05", "canopy.cd_measured_high": "1.1"}),  # slower than the table by a sixth
    ("main-settled", {"flight.apogee": "130 m"}, {"flight.apogee": "90 m"}),
    ("opening-speed", {"flight.forward_speed": "28 m/s"}, {"flight.forward_speed": "29 m/s"}),  # charge 1 s off: 9.8 m/s more
    ("design-factor", {"chain.factor": "2"}, {"chain.factor": "1.99"}),
    ("chain", {"chain.factor": "1"}, {"chain.factor": "10"}),
    ("joint-holds", {"joint.friction": "500 N"}, {"joint.friction": "12 N"}),
    ("joint-parts", {"charge.kind": MOTOR}, {"charge.kind": MOTOR, "joint.pins": "2"}),
    ("joint-parts", {}, {"charge.pressure": "20 kPa", "joint.friction": "70 N"}),
    ("pins-two", {"joint.pins": "2"}, {"joint.pins": "1"}),
    ("pins-two", {"joint.pins": "0"}, {"joint.pins": "1"}),
    ("motor-delay", {"charge.kind": MOTOR, "flight.delay": "1.6 s"}, {"charge.kind": MOTOR, "flight.delay": "1.5 s"}),  # 20 % of 8 s
    ("motor-delay", {"charge.kind": MOTOR, "charge.delay": "3 s", "flight.delay": "1.5 s"},
     {"charge.kind": MOTOR, "charge.delay": "3 s", "flight.delay": "1.4 s"}),  # never less than 1.5 s
    ("backup", {"charge.backup": BACKUP, "charge.backup_mass": "0.25 g"} | FIRED, {"charge.backup": BACKUP} | FIRED),  # not weighed
    ("backup", {"charge.backup": BACKUP, "charge.backup_mass": "0.25 g"} | FIRED,
     {"charge.backup": BACKUP, "charge.backup_mass": "0.19 g"} | FIRED),  # smaller than what was tested
    ("backup", {"charge.backup": BACKUP, "charge.backup_mass": "0.29 g"} | FIRED,
     {"charge.backup": BACKUP, "charge.backup_mass": "0.31 g"} | FIRED),  # more than half as much again
    ("backup", {"charge.backup": BACKUP, "charge.backup_mass": "0.25 g"} | FIRED,
     {"charge.backup": BACKUP, "charge.backup_mass": "0.25 g", "charge.backup_later": "0 s"} | FIRED),  # at one instant
    ("electronics-redundant", {"electronics.units": "2", "electronics.batteries": "2", "electronics.switches": "2"},
     {"electronics.units": "2", "electronics.batteries": "1", "electronics.switches": "2"}),
    ("electronics-redundant", {"electronics.units": "2", "electronics.batteries": "2", "electronics.switches": "2"},
     {"electronics.units": "2", "electronics.batteries": "2", "electronics.switches": "1"}),
    ("electronics-redundant", {"electronics.units": "1"}, {"electronics.units": "1", "charge.backup": BACKUP}),
    ("pack-density", {"pack.density": "0.25 g/cm^3"}, {"pack.density": "0.26 g/cm^3"}),  # harder than loose
    ("charge-domain", {"flight.apogee": "5 km"}, {"flight.apogee": "6 km"}),  # so high up powder needs containment
    ("cloth-strength", {"canopy.cloth": "my own cloth", "canopy.cloth_strength": "5 kN/m"}, {"canopy.cloth": "my own cloth"}),
    ("static-ports", {"electronics.ports": "3"}, {"electronics.ports": "2"}),
    ("stays-on-field", {"site.east": "450 m"}, {"site.east": "370 m"}),
]  # fmt: skip
WARNINGS_OF_TWO = [
    (MAIN, "joint-parts", {}, {"charge.kind": NOTHING, "joint.pins": "0"}),  # the drogue may pull it open
    # under a drogue 15 to 30 m/s is usual
    (DROGUE, "drogue-rate", {"canopy.size": "400 mm"}, {"canopy.size": "1 m"}),
    (DROGUE, "drogue-rate", {"canopy.size": "400 mm"}, {"canopy.size": "200 mm"}),
    ("", "fall-rate", {"flight.way": NO_DROGUE, "flight.fall": "timed by me", "flight.fall_high": "29.9 m/s"},
     {"flight.way": NO_DROGUE, "flight.fall": "timed by me", "flight.fall_high": "30.1 m/s"}),
    ("", "fall-rate", {"flight.way": HELD, "flight.fall": "timed by me", "flight.fall_low": "15 m/s", "flight.fall_high": "20 m/s"},
     {"flight.way": HELD, "flight.fall": "timed by me", "flight.fall_low": "14.9 m/s", "flight.fall_high": "20 m/s"}),
    # a drogue that opens far too fast is looked at again, whatever the main does
    ("", "opening-speed", {"flight.forward_speed": "12 m/s"}, {"flight.forward_speed": "46 m/s"}),
    # with the drogue inside the parts fall faster the heavier they are; from the top the main drifts as far as the wind is strong
    ("", "fails-drogue-in", {"rocket.mass": "2 kg"}, {"rocket.mass": "8 kg"}),
    ("", "fails-main-at-top", {"flight.wind": "4 m/s"}, {"flight.wind": "8 m/s"}),
    (DROGUE, "line-length", {"canopy.size": "1 m", "lines.length": "801 mm"}, {"canopy.size": "1 m", "lines.length": "799 mm"}),
    (DROGUE, "pins-two", {"joint.pins": "2"}, {"joint.pins": "1"}),
    (DROGUE, "shoulder-length", {"bay.shoulder": "75 mm"}, {"bay.shoulder": "74 mm"}),
    (DROGUE, "cord-practice", {"cord.length": "5.11 m"}, {"cord.length": "5.09 m"}),
    (DROGUE, "joint-parts", {"charge.kind": MOTOR, "joint.pins": "0"}, {"charge.kind": MOTOR, "joint.pins": "2"}),
    # a backup higher up than the first charge would be the first
    (MAIN, "backup", {"charge.backup": BACKUP, "charge.backup_mass": "0.25 g", "charge.backup_height": "150 m"} | FIRED,
     {"charge.backup": BACKUP, "charge.backup_mass": "0.25 g", "charge.backup_height": "250 m"} | FIRED),
]  # fmt: skip


@pytest.mark.parametrize(("name", "passes", "warns"), WARNINGS, ids=[f"{name}-{warns}" for name, _, warns in WARNINGS])
def test_a_check_asks_for_a_second_look_where_it_must(name: str, passes: dict[str, str], warns: dict[str, str]) -> None:
    assert verdict(with_(passes), name) == "pass", reason(with_(passes), name)
    assert verdict(with_(warns), name) == "warn", reason(with_(warns), name)


@pytest.mark.parametrize(("bay", "name", "passes", "warns"), WARNINGS_OF_TWO,
                         ids=[f"{bay}-{name}-{warns}" for bay, name, _, warns in WARNINGS_OF_TWO])  # fmt: skip
def test_a_check_of_two_bays_asks_for_a_second_look_where_it_must(
    bay: str, name: str, passes: dict[str, str], warns: dict[str, str]
) -> None:
    good, bad = planned(TWO | of(bay, passes)), planned(TWO | of(bay, warns))
    assert verdict(good, name, bay) == "pass", reason(good, name, bay)
    assert verdict(bad, name, bay) == "warn", reason(bad, name, bay)


@pytest.mark.parametrize("bay", [DROGUE, MAIN])
def test_no_flight_without_a_ground_test_that_says_all_and_threw_everything_clear(bay: str) -> None:
    """Mass, day, pins, count: each is asked for. Twice in a row, never below the estimate: until then there is a doubt."""
    estimate = planned(TWO).answers[f"{bay}.separation"].outputs["mass"]
    assert isinstance(estimate, Spread)

    def told(**changes: str) -> str:
        near = {"tested": f"{estimate.best!r} kg"} | changes
        return verdict(planned(TWO | {f"{bay}.charge.{name}": text for name, text in near.items()}), "ground-test", bay)

    assert told() == "pass"
    for share, wanted in ((0.99 * estimate.low / estimate.best, "warn"), (1.01 * estimate.low / estimate.best, "pass"),
                          (1.49, "pass"), (1.51, "warn"), (9, "warn")):  # fmt: skip
        assert told(tested=f"{estimate.best * share!r} kg") == wanted
    assert told(repeats="1") == "warn"
    for missing in ({"tested": ""}, {"test_date": ""}, {"test_pins": ""}, {"repeats": "0"}):
        assert told(**missing) == "fail"
    for result in (PARTED, SHUT):
        assert told(test_result=result) == "fail"
    assert told(test_pins="2") == "fail"
    assert verdict(planned(TWO | {f"{bay}.charge.tested": ""}), "ground-test", MAIN if bay == DROGUE else DROGUE) != "fail"


@every_start
def test_the_starting_rigs_ground_test_is_no_readers(start: str) -> None:
    """It counts for that rocket alone; what is the reader's own in bay, canopy, cord, joint, charge or mass ends that."""
    begun = {"rig.start": start}
    assert verdict(plan(begun), "ground-test") != "fail"
    assert verdict(plan(begun | {"rig.name": "mine", "site.elevation": "10 m"}), "ground-test") != "fail"
    for path in ("bay.tube", "bay.depth", "canopy.size", "lines.length", "pack.density", "cord.length", "cord.link", "joint.friction",
                 "joint.vent", "charge.pressure", "charge.test_date"):  # fmt: skip
        typed = begun | {f"{MAIN}.{path}": STARTS[start][f"{MAIN}.{path}"]}
        assert verdict(plan(typed), "ground-test") == "fail", path
    assert verdict(plan(begun | {"nose.mass": "95 g"}), "ground-test") == "fail"
    assert verdict(plan(begun | {"flight.way": ONE_BAY}), "ground-test") == "fail"
    whole = plan(begun)
    tested = STARTS[start][f"{MAIN}.charge.tested"]
    assert not [step for step in whole.steps if tested in step.text], "nobody is told to load what was ours"


def test_a_pinch_of_powder_is_withheld_and_flies_on_ones_own_tests_alone() -> None:
    small = {"bay.tube": "38 mm", "bay.depth": "250 mm", "bay.shoulder": "40 mm", "canopy.size": "400 mm", "lines.length": "400 mm",
             "cord.width": "4 mm", "cord.thickness": "2 mm"}  # fmt: skip
    shown = with_(small | {"charge.repeats": "1"})
    assert shown.answers["main.separation"].outputs["mass"] is None
    assert shown.answers["main.separation"].tables == ()
    assert "wall" in reason(shown, "charge-domain")
    assert verdict(shown, "charge-domain") == "fail"
    assert verdict(with_(small), "charge-domain") == "pass"


def test_black_powder_high_up_is_looked_at_again() -> None:
    high = {"flight.apogee": "6 km"}
    assert verdict(with_(high), "charge-domain") == "warn"
    assert verdict(planned(TWO | high), "charge-domain", DROGUE) == "warn"
    assert verdict(planned(TWO | high), "charge-domain", MAIN) == "pass"  # it fires low down


def test_a_joint_that_nothing_opens_is_refused_where_no_canopy_can_pull() -> None:
    """It passed with a second look, and came down whole."""
    none = {"charge.kind": NOTHING, "joint.pins": "0"}
    assert verdict(with_(none), "joint-parts") == "fail"
    assert verdict(planned(TWO | of(DROGUE, none)), "joint-parts", DROGUE) == "fail"
    assert verdict(planned(TWO | of(MAIN, none)), "joint-parts", MAIN) == "warn"  # the drogue is out


def test_a_cloth_of_unknown_strength_is_asked_for() -> None:
    own = {"canopy.cloth": "my own cloth"}
    assert verdict(with_(own | {"canopy.cloth_strength": "5 kN/m"}), "cloth-strength") == "pass"
    assert verdict(with_(own), "cloth-strength") == "warn"


@pytest.mark.parametrize("kind", [MOTOR, NOTHING, GAS])
def test_no_milligrams_are_asked_for_or_told_where_no_powder_of_ones_own_is_used(kind: str) -> None:
    whole = with_({"charge.kind": kind})
    assert whole.answers["main.separation"].outputs["mass"] is None
    names = {check.name for check in whole.checks}
    assert "charge-domain" not in names
    assert ("ground-test" in names) is (kind == GAS)
    assert ("motor-delay" in names) is (kind == MOTOR)


# --- every declared check --------------------------------------------------------------------------------

SOURCES = Path(next(iter(loftbook.calculators.__path__)))
KINDS = {kind.name: kind for calculator in CALCULATORS.values() for kind in calculator.checks}
_WEAK = of(MAIN, {"make.thread": "my own thread", "make.thread_strength": "2 N", "make.stitch": "6 mm", "make.seam": "French"})
MADE = (  # how a canopy is made is no part of a plan
    {},
    of(MAIN, {"make.cut": "one piece"}),
    of(MAIN, {"make.cut": "one piece", "canopy.family": "hemispherical"}),
    of(MAIN, {"canopy.cloth": "my own cloth", "make.tension": "0 N", "make.stitch": "1 mm"}),
    of(MAIN, {"make.at_link": "0 mm", "make.tension": "200 N"}),
    of(MAIN, {"make.lines": "to a V-tab of tape", "make.hem_width": "50 mm", "make.seam_width": "40 mm", "make.seam": "French"}),
    of(MAIN, {"make.cut": "one piece", "canopy.sides": "31", "canopy.mass": "130 g", "make.tape_strength": "5 N", "canopy.vent": "10 %"}),
    of(MAIN, {"canopy.vent": "10 %"}),
    of(MAIN, {"canopy.vent": "10 %", "canopy.cloth": "my own cloth"}),
    _WEAK | of(MAIN, {"canopy.size": "1.4 m", "lines.length": "1.4 m", "make.at_skirt": "6 mm"}) | {"rocket.mass": "60 kg", "flight.delay": "5 s"},
)
SAYS = {"hold": {"pass"}, "warn": {"warn"}, "fail": {"fail"}, "holds_if": {"pass", "warn"}}


def said_in_sources() -> dict[str, set[str]]:
    """Which verdicts each check can get, read from the calculators' texts: `CORD_LENGTH.fail(…)`.

    A function that takes a check's kind says it of those that it is called with.
    """
    found: dict[str, set[str]] = {}
    for name in (module.name for module in pkgutil.iter_modules([str(SOURCES)])):
        module = importlib.import_module(f"loftbook.calculators.{name}")
        tree = ast.parse((SOURCES / f"{name}.py").read_text("utf-8"))

        def kinds(node: ast.AST, module: ModuleType = module) -> list[CheckKind]:
            kind = getattr(module, node.id, None) if isinstance(node, ast.Name) else None
            return [kind] if isinstance(kind, CheckKind) else []

        passed = {
            one.name: {node.attr for node in ast.walk(one) if isinstance(node, ast.Attribute) and node.attr in SAYS}
            for one in ast.walk(tree)
            if isinstance(one, ast.FunctionDef) and any("CheckKind" in ast.unparse(arg) for arg in one.args.args)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and node.attr in SAYS:
                said = [(kind, {node.attr}) for kind in kinds(node.value)]
            elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in passed:
                said = [(kind, passed[node.func.id]) for argument in node.args for kind in kinds(argument)]
            else:
                continue
            for kind, ways in said:
                found.setdefault(kind.name, set()).update(*(SAYS[one] for one in ways))
    return found


def made_here() -> dict[str, set[str]]:
    """Which verdicts each check gets from the tables above."""
    found: dict[str, set[str]] = {name: set() for name in KINDS}
    rigs = [BASE | of(MAIN, changes) for _, *both in (*FLIPS, *WARNINGS) for changes in both]
    rigs += [TWO | of(bay, changes) for bay, _, *both in (*FLIPS_OF_TWO, *WARNINGS_OF_TWO) for changes in both]
    rigs.append(BASE | {"main.charge.tested": "0.066 g", "main.charge.repeats": "2"})  # near the estimate
    for texts in rigs:
        for check in planned(texts).checks:
            found[check.name].add(check.verdict)
    for changes in MADE:
        for check in CALCULATORS["making"].answer(worked(changes), MAIN).checks:
            found[check.name].add(check.verdict)
    strange = worked({"compare.tubes": "9 m", "compare.sizes": "99 m"})
    for check in CALCULATORS["compare"].answer(strange, MAIN).checks:
        found[check.name].add(check.verdict)
    return found


def test_every_check_that_can_fail_is_made_to_fail_here() -> None:
    """Every verdict that stands in a calculator's text is reached above: a check that is added must be added there."""
    said, made = said_in_sources(), made_here()
    assert set(said) == set(KINDS), "declared, and never said; or said, and not declared"
    assert {name: verdicts - made[name] for name, verdicts in said.items() if verdicts - made[name]} == {}
    assert {name: verdicts - said[name] for name, verdicts in made.items() if verdicts - said[name]} == {}


@pytest.mark.parametrize("typed", ["75 mm, 98 mm,  124 mm", "75 mm; 98 mm\n124 mm", "7,5 cm; 98 mm, 124 mm", "75 mm,98 mm;124 mm"])
def test_a_list_is_parted_by_commas_too(typed: str) -> None:
    if ",98" in typed:  # might be a decimal comma
        with pytest.raises(Refusal):
            CALCULATORS["compare"].answer(worked({"compare.tubes": typed}), MAIN)
        return
    rows = CALCULATORS["compare"].answer(worked({"compare.tubes": typed}), MAIN).tables[0].rows
    assert [row[1] for row in rows] == ["does not fit", "fits", "fits"]


@pytest.mark.parametrize(("field", "typed", "given"), [
    ("compare.tubes", "75 mm; nonsense", "nonsense"), ("compare.sizes", "1.5 m, 2 kg", "2 kg"), ("compare.tubes", "75 mm; 90", "90"),
    ("compare.tubes", "1 cm; 2 cm; 3 cm; 4 cm; 5 cm; 6 cm; 7 cm", "1 cm; 2 cm; 3 cm; 4 cm; 5 cm; 6 cm; 7 cm"),
])  # fmt: skip
def test_a_list_that_cannot_be_read_is_a_fault_at_its_field(field: str, typed: str, given: str) -> None:
    with pytest.raises(Refusal) as refused:
        CALCULATORS["compare"].answer(worked({field: typed}), MAIN)
    assert {(fault.field, fault.given) for fault in refused.value.faults} == {(field, given)}
    for fault in refused.value.faults:
        for meant in fault.readings:  # the whole list as it may have been meant: it is put into the field
            assert CALCULATORS["compare"].answer(worked({field: meant}), MAIN)
            assert meant.startswith("75 mm; ")
    assert (typed != "75 mm; 90") or fault.readings


def test_a_check_is_declared_alike_wherever_it_is_declared() -> None:
    for calculator in CALCULATORS.values():
        for kind in calculator.checks:
            assert KINDS[kind.name] == kind
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", name) for name in KINDS)
    titles = [kind.title for name, kind in KINDS.items() if name not in ("tubes-read", "sizes-read")]
    assert len(set(titles)) == len(titles)


def test_checks_come_worst_first_and_once() -> None:
    whole = planned(TWO | {"drogue.pack.cord_turns": "1", "main.bay.shoulder": "40 mm", "flight.wind": "25 mi/h"})
    ranks = [ORDER[check.verdict] for check in whole.checks]
    assert ranks == sorted(ranks)
    assert ranks[0] == 0
    assert 1 in ranks
    assert len({(check.bay, check.name) for check in whole.checks}) == len(whole.checks)
    assert {(check.bay, check.name) for check in whole.checks if check.verdict == "fail"} >= {
        (DROGUE, "cord-wraps"), ("", "launch-wind")}  # fmt: skip


REASONED = [{}, {"main.bay.tube": "38 mm"}, {"main.pack.line_turns": "2.5"}, {"main.canopy.family": "measured by me"},
            {"main.charge.kind": MOTOR, "drogue.charge.kind": NOTHING}]  # fmt: skip


@every_way
@pytest.mark.parametrize("changes", REASONED)
def test_every_check_gives_its_reason_in_sentences(way: str, changes: dict[str, str]) -> None:
    for check in planned(TWO | {"flight.way": way} | changes).checks:
        assert check.title
        assert check.reason[0].isupper() or check.reason[0].isdigit()
        assert check.reason.endswith((".", ".)"))


# --- anchors -------------------------------------------------------------------------------------------


def anchors_of(whole: Plan) -> list[str]:
    """Of every step and of every pair of mistake and right way."""
    found = [step.anchor for answer in whole.answers.values() for step in answer.steps]
    mistakes = CALCULATORS["mistakes"]
    for key in mistakes.keys(whole.rig.way):
        found += [pair.anchor for pair in mistakes.answer(whole.worked, key).pairs]
    return found


@every_way
@pytest.mark.parametrize("family", FIELDS["main.canopy.family"].choices)
def test_anchors_of_steps_can_stand_in_an_address_and_are_never_shared(family: str, way: str) -> None:
    whole = planned(TWO | {"flight.way": way} | {f"{key}.canopy.family": family for key in KEYS})
    anchors = anchors_of(whole)
    assert len(set(anchors)) == len(anchors)
    assert all(re.fullmatch(r"[a-z]+(-[a-z0-9]+)+", anchor) for anchor in anchors)
    assert {anchor.partition("-")[0] for anchor in anchors} <= {*whole.rig.way.keys, "electronics"}
    for numbered in {anchor.rsplit("-", 1)[0] for anchor in anchors if anchor[-1].isdigit()}:
        mine = [anchor for anchor in anchors if re.fullmatch(rf"{numbered}-\d+", anchor)]
        assert mine == [f"{numbered}-{i}" for i in range(1, len(mine) + 1)]


# An anchor is in other people's links: once released, a step keeps it. Rows may be added. KEY is a canopy or a bay.
PREPARE = "prep-inspect prep-clear-lines prep-rig-lines"
FOLD = "fold-lay-out fold-halve-1 fold-halve-2 fold-halve-3 fold-lengthwise-1 fold-lengthwise-2 fold-lengthwise-3 fold-shorten-1"
CONNECT = "connect-lines connect-airframe connect-nose"
PACK = "charge pack-protector pack-cord-first pack-bundle pack-lines pack-cord-rest pack-close pins"
WRONG = "wrong-wrapped-shut wrong-cord-round wrong-too-tight wrong-lines-under wrong-too-shallow wrong-protector-side"
GUEST = f"{PREPARE} fold-lay-out connect-lines connect-airframe pack-cord-first pack-bundle pack-lines pack-cord-rest"
EMPTY = "connect-airframe connect-nose charge pack-protector pack-cord pack-close pins"
WHOLE = f"{PREPARE} {FOLD} {CONNECT} {PACK} {WRONG}"
FROZEN_ANCHORS = [
    # way down, changes to every canopy, key, acts
    (ONE_CANOPY, {}, MAIN, WHOLE),
    (ONE_CANOPY, {}, "electronics", "power ports set off"),
    (TWO_BAYS, {}, DROGUE, WHOLE),
    (TWO_BAYS, {}, MAIN, WHOLE),
    (ONE_CANOPY, {}, MAIN, "try"),
    (TWO_BAYS, {}, DROGUE, "try"),
    (TWO_BAYS, {}, "electronics", "power ports set off"),
    (NO_DROGUE, {}, DROGUE, EMPTY),
    (HELD, {}, MAIN, "pack-device"),
    (ONE_BAY, {}, MAIN, "pack-device"),
    (ONE_BAY, {}, DROGUE, GUEST),
    (TWO_PARTS, {}, FORWARD, GUEST),
    *((TWO_BAYS, {"canopy.sides": "6"}, key, "fold-pleat-1") for key in (DROGUE, MAIN)),
    *((TWO_BAYS, {"canopy.family": "hemispherical"}, key, "fold-flake") for key in (DROGUE, MAIN)),
]


@pytest.mark.parametrize(("way", "changes", "key", "acts"), FROZEN_ANCHORS, ids=lambda value: str(value)[:40])
def test_an_anchor_is_never_renamed(way: str, changes: dict[str, str], key: str, acts: str) -> None:
    pinned = {f"{one}.joint.pins": "2" for one in (MAIN, DROGUE)}
    alike = {f"{one}.{path}": text for one in KEYS for path, text in changes.items()}
    anchors = anchors_of(planned(TWO | {"flight.way": way} | pinned | alike))
    assert [act for act in acts.split() if f"{key}-{act}" not in anchors] == []


@every_way
@pytest.mark.parametrize("family", FIELDS["main.canopy.family"].choices)
def test_packing_has_the_same_steps_for_every_family(family: str, way: str) -> None:
    """Links to steps are given to others: their anchors hold whatever the canopy."""
    families = {f"{key}.canopy.family": family for key in KEYS}
    one, usual = (planned(TWO | {"flight.way": way} | changes) for changes in (families, {}))
    for key, answer in one.of("packing").items():
        assert [step.anchor for step in answer.steps] == [step.anchor for step in usual.of("packing")[key].steps]


# --- as data -------------------------------------------------------------------------------------------


def test_data_is_whole_and_plain() -> None:
    texts = {"main.bay.tube": "75 mm", "rig.measured": "main.bay.tube drogue.bay.tube"}
    whole = plan(texts)
    told = json.loads(json.dumps(data(whole), allow_nan=False))
    assert set(told) == {"rig", "assumed", "measured", "sound", "results", "checks", "steps"}
    assert told["rig"] == DEFAULTS | texts
    assert told["assumed"] == [path for path in FIELDS if path not in texts]
    assert told["measured"] == ["drogue.bay.tube", "main.bay.tube"]
    assert told["sound"] is whole.sound
    assert list(told["results"]) == asked(TWO_BAYS)
    assert [(check["bay"], check["name"]) for check in told["checks"]] == [(c.bay, c.name) for c in whole.checks]
    assert set(told["checks"][0]) == {"name", "bay", "verdict", "gate", "title", "reason", "source"}
    assert sorted(step["anchor"] for step in told["steps"]) == sorted(s.anchor for a in whole.answers.values() for s in a.steps)
    assert set(told["steps"][0]) == {"anchor", "title", "do", "see", "otherwise"}
    for key in (MAIN, DROGUE):
        rate = told["results"][f"{key}.canopy"]["rate"]
        assert rate["low"] < rate["best"] < rate["high"]


@every_start
def test_what_was_assumed_is_what_was_not_said(start: str) -> None:
    said = {path: text for path, text in STARTS[start].items() if FIELDS[path].required or path == "rig.start"}
    assert set(plan(said).rig.assumed) == set(FIELDS) - set(said)
    assert to_toml(dict(plan(said).rig.texts)) == to_toml(STARTS[start])
    assert faults_of(said) == ()


@pytest.mark.parametrize("start", STARTS)
def test_steps_are_told_in_the_order_of_the_work(start: str) -> None:
    """Electronics off first, then every canopy folded, then every bay packed, as the walk-through has them."""
    whole = plan({"rig.start": start})
    anchors = [step["anchor"] for step in data(whole)["steps"]]
    assert anchors == [step.anchor for step in handout.steps_of(whole.worked)]
    assert anchors.index("electronics-off") < anchors.index("main-fold-lay-out") < anchors.index("main-pack-bundle")


def test_the_package_hands_out_what_a_script_needs() -> None:
    assert loftbook.plan({}) == plan({})
    assert loftbook.parse({}) == parse({})
