"""What joints, charges and chains must bear, by mechanics worked out here a second time."""

from itertools import pairwise
from math import floor, pi, sqrt
from xml.etree import ElementTree

import pytest
from scipy.integrate import quad, solve_ivp

from loftbook.calculators import CALCULATORS
from loftbook.physics import chain, separation
from loftbook.physics.atmosphere import Air
from loftbook.rig.fields import ONE_BAY_75, TWO_BAYS_98
from loftbook.rig.parsing import parse
from loftbook.worked.worked import Worked

TWO = {"rig.start": TWO_BAYS_98}
LIGHT = {
    "rig.start": ONE_BAY_75, "rocket.mass": "0.3 kg", "nose.mass": "40 g", "rocket.length": "0.9 m", "rocket.diameter": "40 mm",
    "main.bay.tube": "38 mm", "main.bay.depth": "250 mm", "main.bay.shoulder": "40 mm", "main.canopy.size": "600 mm",
    "main.lines.length": "600 mm", "main.cord.length": "5 m", "main.cord.material": "my own rating", "main.cord.rating": "423 N", "main.cord.stretch": "30 %",
    "main.cord.width": "1.6 mm", "main.cord.thickness": "1.6 mm", "flight.delay": "1 s", "flight.forward_speed": "8 m/s",
}  # fmt: skip


def worked(texts: dict[str, str]) -> Worked:
    return Worked(parse(texts))


# --- snatch -----------------------------------------------------------------------------------------------


def test_a_light_model_is_snatched_by_lines_and_cord_one_behind_the_other() -> None:
    """0.3 kg on five metres of thin cord: some 212 N were the cord rigid, some 26 N with its stretch."""
    found = worked(LIGHT).chains["main"]
    assert found.canopy
    assert found.own
    assert found.snatch is not None
    lines = found.canopy.lines * found.canopy.line_strength / (found.canopy.line_stretch * found.canopy.line_length)
    rigid = found.own.speed * sqrt(found.canopy.cloth_mass * lines)
    cord = found.cord.strength / (found.cord.stretch * found.cord.length)
    light = found.canopy.cloth_mass * 0.3 / (found.canopy.cloth_mass + 0.3)
    assert found.snatch == pytest.approx(found.own.speed * sqrt(light / (1 / lines + 1 / cord)))
    assert rigid == pytest.approx(212, rel=0.05)
    assert found.snatch == pytest.approx(26, rel=0.05)


def test_the_snatch_loads_the_whole_chain() -> None:
    """Strong lines on a short, hard cord: link, swivel, cord and both anchors feel it, not the lines alone."""
    texts = TWO | {"main.cord.material": "my own rating", "main.cord.rating": "60 kN", "main.cord.stretch": "2 %", "main.charge.kind": "none",
                   "main.cord.length": "5 m", "flight.delay": "4 s"}  # fmt: skip
    found = worked(texts).chains["main"]
    loads = {part.name: part for part in found.parts}
    assert found.snatch
    for name in ("link", "swivel", "cord", "anchor in the airframe"):
        assert loads[name].load == pytest.approx(found.snatch), name
        assert loads[name].cause == "snatch"
    assert loads["bulkhead"].load >= found.snatch
    assert loads["anchor on the nose side"].cause == "snatch"


def test_springs_one_behind_the_other_stop_a_mass_as_one() -> None:
    """Canopy, lines, cord, load as masses and springs, integrated."""
    one, other, lines, cord = 0.02, 0.3, 4000.0, 300.0
    both = chain.in_series(lines, cord)
    run = solve_ivp(
        lambda _, y: (y[1], -max(0.0, y[0]) * both * (1 / one + 1 / other)),
        (0, 0.2),
        (0.0, 9.0),
        rtol=1e-9,
        max_step=1e-4,
    )
    assert chain.stopping_force(9.0, both, chain.reduced_mass(one, other)) == pytest.approx(
        both * max(run.y[0]), rel=1e-3
    )
    assert 1 / both == pytest.approx(1 / lines + 1 / cord)


# --- pins and other events ----------------------------------------------------------------------------------


def test_pins_hold_what_the_other_cord_coming_tight_leaves_at_the_joint() -> None:
    """Drogue in the tail: nose and middle are brought up short, the nose runs on with its share."""
    one = worked(TWO)
    joint, jerk = one.joints["main"], one.joints["drogue"].jerk
    assert jerk
    nose, middle = one.rig.number("nose.mass"), one.rig.number("middle.mass")
    jolts = {jolt.cause: jolt.pull for jolt in joint.jolts}
    assert jolts["cord of the drogue coming tight"] == pytest.approx(jerk * nose / (nose + middle))
    assert joint.pull >= jolts["cord of the drogue coming tight"]
    aft = worked(TWO | {"rocket.main_bay": "aft of the other bay"})
    tail = aft.airframe.mass - nose - middle
    pulls = {jolt.cause: jolt.pull for jolt in aft.joints["main"].jolts}
    share = tail / (tail + middle)
    assert pulls["cord of the drogue coming tight"] == pytest.approx((aft.joints["drogue"].jerk or 0) * share)
    assert one.joints["drogue"].jolts == ()


@pytest.mark.parametrize("pins", range(9))
def test_the_pins_needed_are_the_fewest_that_hold_with_margin(pins: int) -> None:
    joint = worked(TWO | {"main.joint.pins": str(pins)}).joints["main"]
    enough = joint.holds >= separation.HOLD_FACTOR * joint.pull
    if pins >= 2:
        assert enough is (pins >= joint.pins_needed)
    assert joint.pins_needed == 0 or joint.pins_needed >= 2


# --- pressure ---------------------------------------------------------------------------------------------------


def test_the_work_of_the_gas_is_that_of_its_pressure_over_the_way() -> None:
    """No heat in or out: p V^1.4 stays. Less than at constant temperature; against the air outside."""
    volume, tube, stroke, pressure = 1.5e-3, 0.098, 0.1, 80e3
    section, out = pi / 4 * tube**2, 101_325.0

    def left(x: float, power: float) -> float:
        return ((out + pressure) * (volume / (volume + section * x)) ** power - out) * section

    work, warm = (quad(left, 0, stroke, args=(power,))[0] for power in (1.4, 1.0))
    assert separation.pressure_for_work(work, volume, tube, stroke) == pytest.approx(pressure, rel=1e-9)
    assert separation.pressure_for_work(warm, volume, tube, stroke) > pressure


def test_what_clears_the_bay_still_leaves_at_the_wanted_speed() -> None:
    """Both sides, the blow, the drag over the depth, step by step."""
    light, heavy, contents, depth = 0.6, 4.0, 0.5, 0.55
    energy = separation.clearing_energy(light, heavy, contents, depth, driven=False)
    speed = sqrt(2 * energy * (light + heavy) / (light * heavy))
    after = speed * light / (light + contents)  # the light side picks up what lay still in the heavy one
    mass = (light + contents) * (heavy - contents) / (light + heavy)
    assert mass * after**2 / 2 - contents * 9.80665 * depth == pytest.approx(mass * separation.CLEAR_SPEED**2 / 2)
    assert separation.clearing_energy(light, heavy, contents, depth, driven=True) < energy


def test_the_usual_pressure_falls_with_the_tube_and_its_force_does_not() -> None:
    tubes = [0.015 + 0.001 * i for i in range(386)]
    pressures = [separation.usual_pressure(tube, 100e3, 0.054, 0.098) for tube in tubes]
    forces = [pressure * pi / 4 * tube**2 for tube, pressure in zip(tubes, pressures, strict=True)]
    assert pressures == sorted(pressures, reverse=True)
    assert all(after >= before * (1 - 1e-12) for before, after in pairwise(forces))
    assert separation.usual_pressure(0.054, 100e3, 0.054, 0.098) == 100e3
    assert separation.usual_pressure(0.098, 100e3, 0.054, 0.098) == pytest.approx(55e3, rel=0.01)
    assert forces[-1] == pytest.approx(415, rel=0.01)


def test_friction_alone_is_not_all_that_a_charge_must_do() -> None:
    """A 75 mm tube without pins: 10 kPa would part it and leave everything in the bay."""
    joint = worked({"rig.start": ONE_BAY_75}).joints["main"]
    assert joint.needed_pressure < 10e3
    assert joint.pressure >= max(joint.throwing_pressure, joint.usual_pressure) > 40e3


def test_the_greatest_pressure_is_of_test_backup_or_both_at_once() -> None:
    """m R T / V in the least volume, R T of the published model."""
    backed = TWO | {
        "main.charge.tested": "2 g",
        "main.charge.backup": "a second charge",
        "main.charge.backup_mass": "3 g",
    }

    def grams(**more: str) -> tuple[float, str]:
        joint = worked(backed | {f"main.charge.{name}": text for name, text in more.items()}).joints["main"]
        pressure, why = joint.greatest
        return 1e3 * pressure * joint.bay.free_volume.low / 219_048.1, why

    def made(mass: float, why: str) -> tuple[object, str]:
        return pytest.approx(mass, rel=1e-5), why

    assert grams() == made(3, "backup charge")
    assert grams(backup_mass="1 g", tested="4 g") == made(4, "tested charge")
    assert grams(backup_later="0 s") == made(5, "both charges at once")
    assert grams(backup_later="0.4 s") == made(5, "both charges at once")
    assert grams(backup_later="0.6 s") == made(3, "backup charge")
    assert grams(backup_later="0 s", backup_height="100 m") == made(3, "backup charge")
    assert grams(backup_mass="") == made(3, "backup charge")  # not weighed: half larger
    whole = worked(backed | {"main.charge.backup_later": "0 s"})
    assert {part.name: part.cause for part in whole.chains["main"].parts}[
        "cord"
    ] == "cord coming tight: both charges at once"


def test_a_backup_to_a_motors_charge_may_meet_it() -> None:
    motor = {"rig.start": ONE_BAY_75, "main.charge.kind": "the motor's own charge", "main.charge.backup": "a second charge",
             "main.charge.backup_mass": "0.5 g"}  # fmt: skip
    assert worked(motor | {"main.charge.backup_later": "2 s"}).joints["main"].greatest[1] == "both charges at once"
    assert worked(motor | {"main.charge.backup_later": "3 s"}).joints["main"].greatest[1] != "both charges at once"


@pytest.mark.parametrize("warmer", [-60.0, 0.0, 40.0])
@pytest.mark.parametrize("top", [300.0, 3_000.0, 11_500.0, 19_000.0])
def test_no_height_beats_the_peak_of_a_vented_bay(top: float, warmer: float) -> None:
    """Five thousand heights, not seventeen."""
    air = Air(warmer)
    for vent, climb in ((1e-3, 300.0), (3e-3, 100.0), (2e-3, 700.0)):
        found = separation.vented_pressure(2e-3, vent, climb, 100.0, top, air)
        hole = 0.6 * pi / 4 * vent**2

        def lag(height: float, climb: float = climb, hole: float = hole) -> float:
            flow = 2e-3 * air.density(height) * 9.80665 * climb / air.pressure(height) / hole
            return min(air.pressure(100) - air.pressure(height), air.density(height) / 2 * flow**2)

        peak = max(lag(100 + (top - 100) * i / 5000) for i in range(5001))
        assert peak <= found * (1 + 1e-9)
        assert found == pytest.approx(peak, rel=5e-3)


def test_how_often_a_joint_holds_and_parts_is_its_forces_over_each_other() -> None:
    found = worked(TWO).joints
    for key in ("drogue", "main"):
        joint = found[key]
        area = pi * joint.bay.tube**2 / 4
        assert joint.hold_times == pytest.approx(joint.holds / max(joint.rising, joint.jolted))
        assert joint.pressed == pytest.approx(joint.pressure * area)
        assert joint.part_times == pytest.approx(joint.pressure * area / (joint.friction + joint.pins * joint.pin_load.high * 1.2))
        assert joint.part_times >= separation.SHEAR_FACTOR * (1 - 1e-12)


@pytest.mark.parametrize("changes", [
    {"main.charge.kind": "the motor's own charge"}, {"main.charge.kind": "none"}, {"main.joint.pins": "8", "main.joint.friction": "2000 N"},
    {"main.joint.pins": "0", "main.joint.friction": "0 N"},
])  # fmt: skip
def test_a_push_that_is_not_known_or_not_computed_is_told_by_no_number(changes: dict[str, str]) -> None:
    assert worked(TWO | changes).joints["main"].part_times is None


def test_where_nothing_pulls_no_number_is_told() -> None:
    joint = worked({"rig.start": ONE_BAY_75, "flight.slowing": "0 m/s²"}).joints["main"]
    assert joint.hold_times == pytest.approx(joint.holds / joint.trapped)
    joint.__dict__["trapped"] = 0.0  # as in a bay that breathes freely
    assert joint.pull == 0
    assert joint.hold_times is None


def picture(texts: dict[str, str], key: str) -> tuple[str, str, dict[str, float]]:
    """Summary of the joint's page, its picture as text, and the length of its arrows by what they do, added up."""
    answer = CALCULATORS["separation"].answer(worked(texts), key)
    long: dict[str, float] = {}
    for arrow in ElementTree.fromstring(answer.drawings[0].svg).iter("{http://www.w3.org/2000/svg}polygon"):
        kind, tip = arrow.attrib["class"].split()[1], float(arrow.attrib["points"].split()[3].split(",")[0])
        long[kind] = long.get(kind, 0.0) + abs(tip - 160)
    return answer.summary, answer.drawings[0].svg, long


def test_the_joints_page_leads_with_what_holds_pulls_and_pushes_to_one_scale() -> None:
    joint = worked(TWO).joints["main"]
    summary, _, long = picture(TWO, "main")
    assert joint.hold_times
    assert f"Holds {floor(joint.hold_times * 100) / 100:.2f} times" in summary
    assert "parts with 1.5 times" in summary
    scale = long["pushes"] / joint.pressed
    assert long["holds"] == pytest.approx((joint.holds + joint.resists) * scale, abs=0.1)
    assert long["pulls"] == pytest.approx((joint.running_on + joint.trapped + joint.jolts[0].pull) * scale, abs=0.1)


def test_what_pushes_is_not_drawn_where_nothing_does_or_it_is_not_computed() -> None:
    for changes in ({"main.charge.kind": "none"}, {"main.joint.pins": "8", "main.joint.friction": "2000 N"}):
        assert "pushes" not in picture(TWO | changes, "main")[2]
    assert "it must push" in picture(TWO | {"main.charge.kind": "the motor's own charge"}, "main")[1]
