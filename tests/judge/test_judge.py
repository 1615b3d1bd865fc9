"""The judge by closed forms and published values, then the plan by the judge: a small part of what scripts/judge.py runs."""

import ast
from collections import Counter
from dataclasses import dataclass, replace
from math import exp, log, pi, sqrt
from pathlib import Path
from typing import Any

import good_rigs
import pytest
import verdict
from ambiance import Atmosphere
from good_rigs import GOOD
from scipy.integrate import solve_ivp
from verdict import ENERGY, Air, Body, Case, Opens, dangers, handbook, judged, si
from wild_rigs import SANE, THROWN, TREACHEROUS, rig

from judge import good_ones, judge
from loftbook.plan import data, plan
from loftbook.rig.parsing import completed

G = 9.80665
# The rig that held every check and came down at more than 40 m/s: a tiny drogue, and a main let go at the height of a house.
LETHAL = {"rocket.mass": "7 kg", "main.bay.tube": "98 mm", "drogue.canopy.size": "300 mm", "flight.main_height": "5 m"}
SMALL, BLOCK = 96, 8  # random rigs judged here, in blocks that can run beside each other
SHARE = 0.05  # of the good rigs may fail a check


@dataclass(frozen=True)
class Even(Air):
    """Air of one density at all heights."""

    def density(self, height: float) -> float:
        return 1.2


def falling(mass: float, area: float, top: float, speed: float = 0.0, **more: Any) -> Body:
    """A body under one canopy that opens at the top and fills at once, in even air."""
    given = {"bare": 0.0, "elevation": 0.0, "air": Even()} | more
    return Body(mass, (Opens("main", top, area, 1e-6, 8.0, 1.7),), top=top, speed=speed, **given)


# --- the judge itself -----------------------------------------------------------------------------------


def test_the_judge_knows_nothing_of_the_core() -> None:
    """It would repeat the core's mistakes."""
    tree = ast.parse(Path(verdict.__file__).read_text("utf-8"))
    named = [one.module or "" for one in ast.walk(tree) if isinstance(one, ast.ImportFrom)]
    named += [name.name for one in ast.walk(tree) if isinstance(one, ast.Import) for name in one.names]
    assert named
    assert not [name for name in named if "loftbook" in name or name == "wild_rigs"]


@pytest.mark.parametrize(
    ("text", "value"),
    [("98 mm", 0.098), ("6 ft 2 in", 1.8796), ("0.32 g/cm³", 320), ("-15 °C", -15), ("25 deg", 25), ("3", 3), ("1e-05 kg", 1e-5),
     ("92 %", 0.92), ("4.5 kN", 4500), ("12 m/s", 12), ("30 m/s²", 30), ("10 psi", 68947.57)],
)  # fmt: skip
def test_units(text: str, value: float) -> None:
    assert si(text) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize("text", ["", "much", "3 furlong"])
def test_units_that_the_judge_was_not_taught_are_no_numbers(text: str) -> None:
    with pytest.raises((ValueError, KeyError)):
        si(text)


@pytest.mark.parametrize("height", [-500, 0, 1234, 10_000, 15_000, 20_000])
def test_air_is_that_of_another_library(height: float) -> None:
    other = Atmosphere(height)
    assert Air().density(height) == pytest.approx(float(other.density[0]), rel=1e-4)
    assert Air().pressure(height) == pytest.approx(float(other.pressure[0]), rel=1e-4)


def test_a_free_fall_has_the_speed_of_the_textbook() -> None:
    down = falling(50.0, 1e-9, 80.0, 3.0).falls()
    assert down.touchdown == pytest.approx(sqrt(3.0**2 + 2 * G * 80), rel=1e-6)
    assert down.settled == 0


def test_from_high_up_it_lands_at_the_steady_rate() -> None:
    steady = sqrt(2 * 5 * G / (1.2 * 3.0))
    down = falling(5.0, 3.0, 300.0, 12.0).falls()
    assert down.touchdown == pytest.approx(steady, rel=1e-5)
    assert down.opened[0].speed == 12.0


@pytest.mark.parametrize("speed", [5.0, 20.0, 60.0])
def test_speed_and_settled_height_have_their_closed_form(speed: float) -> None:
    """With an even drag area and even air v^2 - vt^2 falls as exp(-2 g s / vt^2) over the way s."""
    mass, area, top = 6.0, 0.4, 90.0
    square = 2 * mass * G / (1.2 * area)
    down = falling(mass, area, top, speed).falls()
    assert down.touchdown**2 == pytest.approx(square + (speed**2 - square) * exp(-2 * G * top / square), rel=1e-4)
    edge = (1.1 if speed**2 > square else 0.9) ** 2
    way = square / (2 * G) * log((speed**2 / square - 1) / (edge - 1))
    assert down.settled == pytest.approx(top - max(0.0, way), abs=0.02)


def test_a_fall_without_a_canopy_comes_before_the_opening() -> None:
    """With its own drag area: the closed form again, from the top to where the canopy opens."""
    body = replace(falling(4.0, 2.0, 150.0), top=600.0, bare=0.05)
    square = 2 * 4.0 * G / (1.2 * 0.05)
    assert body.falls().opened[0].speed ** 2 == pytest.approx(square * (1 - exp(-2 * G * 450 / square)), rel=1e-4)


def test_the_first_canopy_stays_open_beside_the_second() -> None:
    first, second = Opens("drogue", 400.0, 0.3, 0.6, 8.0, 1.7), Opens("main", 200.0, 3.0, 2.2, 8.0, 1.7)
    down = Body(5.0, (first, second), 0.0, 400.0, 10.0, 0.0, Even()).falls()
    assert down.opened[1].speed == pytest.approx(sqrt(2 * 5 * G / (1.2 * 0.3)), rel=1e-3)
    assert down.touchdown == pytest.approx(sqrt(2 * 5 * G / (1.2 * 3.3)), rel=1e-5)
    assert 100 < down.settled < 200


def test_the_pull_of_an_opening_is_that_of_another_integration() -> None:
    one = Opens("main", 500.0, 3.0, 2.0, 8.0, 1.7)
    filling = 16.0 / 25.0

    def rates(t: float, y: Any) -> tuple[float]:
        return (G - 0.6 * 3.0 * min(1.0, t / filling) ** 2 * y[0] ** 2 / 5.0,)

    found = solve_ivp(rates, (0, 2), (25.0,), method="DOP853", rtol=1e-10, max_step=1e-3)
    pulls = [0.6 * 3.0 * min(1.0, t / filling) ** 2 * v**2 for t, v in zip(found.t, found.y[0], strict=True)]
    down = Body(5.0, (one,), 0.0, 500.0, 25.0, 0.0, Even()).falls()
    assert down.opened[0].pull == pytest.approx(max(pulls), rel=2e-3)


@pytest.mark.parametrize("mass", [0.3, 4.0, 60.0, 5000.0])
def test_the_handbook_load_is_the_run_without_gravity_times_cx(mass: float) -> None:
    one, speed, filling = Opens("main", 0.0, 3.0, 2.0, 8.0, 1.8), 20.0, 0.8

    def rates(t: float, y: Any) -> tuple[float]:
        return (-0.6 * 3.0 * min(1.0, t / filling) ** 2 * y[0] ** 2 / mass,)

    found = solve_ivp(rates, (0, 1), (speed,), method="DOP853", rtol=1e-10, max_step=5e-4)
    pulls = [0.6 * 3.0 * min(1.0, t / filling) ** 2 * v**2 for t, v in zip(found.t, found.y[0], strict=True)]
    assert handbook(mass, 1.2, one, speed, filling) == pytest.approx(1.8 * max(pulls), rel=2e-3)


def test_areas_are_those_of_geometry() -> None:
    for family, share in {"flat polygon": 0.8284, "hemispherical": pi / 2, "cross": 0.5551, "annular": 0.589}.items():
        case = Case(data(plan({"main.canopy.family": family, "main.canopy.size": "2 m"})))
        assert case.area("main") == pytest.approx(4 * share, rel=1e-3)


def test_screws_bear_what_is_published() -> None:
    """In one plane, 66 MPa: M2 118.1 N, M3 295.2 N, M4 511.5 N; #2-56 29.76 lbf and #4-40 47.62 lbf at 9600 psi."""
    for pin, bears in {"M2 × 0.4": 118.1, "M3 × 0.5": 295.2, "M4 × 0.7": 511.5, "UNC #2-56": 132.4, "UNC #4-40": 211.8}.items():
        wide, depth = verdict.PINS[pin]
        assert pi / 4 * (wide - depth) ** 2 * verdict.NYLON_SHEAR == pytest.approx(bears, rel=5e-3)


def test_the_jerk_of_a_cord_is_that_of_two_masses_on_a_spring() -> None:
    """Whatever the masses: the work of the gas goes into the cord."""
    case = Case(data(plan({})))
    tube, shoulder = case.si("drogue.bay.tube"), case.si("drogue.bay.shoulder")
    work = (verdict.pressure(case, "drogue") * pi / 4 * tube**2 - case.si("drogue.joint.friction")) * shoulder
    strength, stretch = verdict.strand(case, "drogue.cord")
    stiff = strength / (stretch * verdict.free_cord(case, "drogue"))
    for fore, aft in ((2.0, 3.0), (0.5, 5.0)):
        speed = sqrt(2 * work * (fore + aft) / (fore * aft))
        found = solve_ivp(
            lambda _, y, f=fore, a=aft: (y[1], -max(0.0, y[0]) * stiff * (1 / f + 1 / a)), (0, 0.2), (0.0, speed), rtol=1e-9, max_step=1e-3
        )
        assert verdict.jerk(case, "drogue") == pytest.approx(stiff * max(found.y[0]), rel=1e-3)


# --- every danger is found -------------------------------------------------------------------------------

HARMLESS = "Four inch, the usual way"
DANGERS = {
    "touchdown speed": {"main.canopy.size": "500 mm"},
    "touchdown energy": {"nose.mass": "3.4 kg", "middle.mass": "300 g", "main.canopy.size": "1.2 m"},
    "main opens fast": {"drogue.canopy.size": "250 mm"},
    "main not settled": {"flight.main_height": "60 m"},
    "cloth breaks": {"main.canopy.cloth": "my own cloth", "main.canopy.cloth_strength": "200 N/m", "drogue.canopy.size": "350 mm"},
    "line breaks": {"main.lines.material": "my own rating", "main.lines.rating": "12 N", "main.lines.stretch": "20 %"},
    "link breaks": {"main.cord.link": "60 N"},
    "swivel breaks": {"drogue.cord.swivel": "40 N"},
    "cord breaks": {"drogue.cord.material": "my own rating", "drogue.cord.rating": "400 N", "drogue.cord.stretch": "2 %"},
    "anchor breaks": {"drogue.cord.anchor": "150 N"},
    "nose anchor breaks": {"main.cord.nose_anchor": "150 N"},
    "bulkhead breaks": {"main.charge.tested": "9 g", "main.cord.bulkhead": "2 kN"},
    "joint parts on the way up": {"flight.slowing": "400 m/s²", "main.joint.pins": "0"},
    "joint parts when the first cord comes tight": {"main.joint.pins": "0", "drogue.charge.backup_mass": "5 g"},
    "parts can meet": {"main.cord.gap": "9 m"},
    "parts can meet in line": {"drogue.cord.length": "0.2 m", "drogue.cord.gap": "0.1 m"},
}


@pytest.mark.parametrize("name", DANGERS)
def test_each_danger_is_found_in_a_rig_that_has_it_and_in_no_harmless_one(name: str) -> None:
    harmless = GOOD[HARMLESS]
    assert dangers(data(plan(harmless))) == []
    assert name in {one.name for one in dangers(data(plan(harmless | DANGERS[name])))}


def test_a_device_that_lets_go_at_the_drogue_is_found() -> None:
    texts = GOOD["102, dome over a cone"] | {"main.cord.device": "25 N"}
    assert [one.name for one in dangers(data(plan(texts)))] == ["release device breaks"]


def test_the_greatest_pressure_is_that_of_test_backup_or_both_at_once() -> None:
    """Masses over the least volume by the gas model, 219 kJ/kg; what is fired alone and what is fired together."""
    texts = GOOD[HARMLESS] | {"main.charge.tested": "2 g", "main.charge.backup_mass": "3 g"}

    def kilopascals(**more: str) -> float:
        whole = data(plan(texts | {f"main.charge.{name}": text for name, text in more.items()}))
        least = whole["results"]["main.separation"]["free_volume"]["low"]
        return verdict.pressure(Case(whole), "main") * least / 219_047

    assert kilopascals() == pytest.approx(3e-3, rel=1e-3)
    assert kilopascals(backup_mass="1 g", tested="4 g") == pytest.approx(4e-3, rel=1e-3)
    assert kilopascals(backup_later="0 s", backup_height="") == pytest.approx(5e-3, rel=1e-3)
    assert kilopascals(backup_later="0 s", backup_height="100 m") == pytest.approx(3e-3, rel=1e-3)


def test_a_motor_fires_by_its_delay_early_or_late() -> None:
    """At least 1.5 s, or a fifth of it: from 20 s on that alone is 39 m/s."""
    texts = GOOD["First certification, 98 mm"]
    speeds = {delay: Case(data(plan(texts | {"main.charge.delay": delay, "flight.delay": "0.1 s"}))).release for delay in ("5 s", "20 s")}
    assert speeds == pytest.approx({"5 s": sqrt(64 + (1.5 * G) ** 2), "20 s": sqrt(64 + (4 * G) ** 2)})


@pytest.mark.parametrize(
    ("name", "bay", "verdict", "left"),
    [
        ("touchdown-rate", "main", "warn", {"touchdown energy"}),
        ("touchdown-rate", "main", "fail", {"touchdown energy"}),
        ("touchdown-rate", "forward", "fail", {"touchdown speed", "touchdown energy"}),
        ("touchdown-energy", "", "warn", {"touchdown speed"}),
        ("touchdown-energy", "", "pass", {"touchdown speed", "touchdown energy"}),
        ("chain", "main", "fail", {"touchdown speed", "touchdown energy"}),
    ],
)
def test_a_hard_touchdown_that_a_check_names_is_not_held_against_the_plan(name: str, bay: str, verdict: str, left: set[str]) -> None:
    whole = data(plan(GOOD[HARMLESS] | {"main.canopy.size": "500 mm"}))
    assert {one.name for one in dangers(whole)} >= {"touchdown speed", "touchdown energy"}
    told = judged(whole | {"checks": [{"name": name, "bay": bay, "verdict": verdict}]})
    assert {one.name for one in told if one.name.startswith("touchdown")} == left


# --- the plan by the judge -------------------------------------------------------------------------------


def test_the_lethal_rig_is_dangerous_and_the_plan_says_so() -> None:
    whole = data(plan(LETHAL))
    found = {one.name: one.number for one in dangers(whole)}
    assert 40 < found["touchdown speed"] < 46
    assert found["touchdown energy"] > 10 * ENERGY
    assert found["main not settled"] == 0
    failed = {check["name"] for check in whole["checks"] if check["verdict"] == "fail"}
    assert any(name.startswith("touchdown") for name in failed), failed


@pytest.mark.parametrize("first", range(0, SMALL, BLOCK))
def test_no_rig_that_the_plan_calls_sound_is_dangerous(first: int) -> None:
    ones = [judge(number) for number in range(first, first + BLOCK)]
    assert not [one for one in ones if one.broken]
    assert {one.number: one.found for one in ones if one.found} == {}


def test_the_small_part_has_sound_and_unsound_rigs_of_every_kind_and_way() -> None:
    """A judge who only sees rigs that fail anyway finds nothing."""
    kinds, ways = Counter[str](), Counter[str]()
    for number in range(SMALL):
        kind, texts = rig(number)
        kinds[kind] += 1
        ways[completed(texts)["flight.way"]] += 1
    assert kinds == {SANE: SMALL // 3, THROWN: SMALL // 3, TREACHEROUS: SMALL // 3}
    assert len(ways) == 6
    assert min(ways.values()) >= 5


def test_a_number_is_always_the_same_rig() -> None:
    assert [rig(number) for number in range(12)] == [rig(number) for number in range(12)]
    assert len({str(rig(number)) for number in range(12)}) == 12


# --- the plainly good ones -------------------------------------------------------------------------------


def test_good_rigs_are_of_every_way_family_and_tube() -> None:
    ways = Counter(texts["flight.way"] for texts in GOOD.values())
    families = Counter(text for texts in GOOD.values() for path, text in texts.items() if path.endswith("canopy.family"))
    tubes = {round(1000 * si(texts["main.bay.tube"])) for texts in GOOD.values()}
    assert len(GOOD) >= 48
    assert len(ways) == 6
    assert min(ways.values()) >= 6
    assert set(families) == {*good_rigs.PLAN, good_rigs.MINE}
    assert min(families.values()) >= 2
    assert tubes >= {38, 54, 66, 75, 98, 102, 150, 200}


def test_hardly_a_good_rig_fails_a_check_and_none_is_dangerous() -> None:
    failing = good_ones()
    assert not [name for name, reasons in failing.items() if any(reason.startswith("judge:") for reason in reasons)]
    assert len(failing) <= SHARE * len(GOOD), failing
