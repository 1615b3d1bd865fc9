"""The way down in its worst corner: nothing in the whole product of the ranges is harder, faster or later than what is said."""

import itertools
import math
import random
from collections.abc import Iterator, Sequence

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from rigs import sound_texts, worked

from loftbook.calculators import CALCULATORS
from loftbook.physics import airframe, motion, strides
from loftbook.physics.motion import Run
from loftbook.physics.spread import Spread
from loftbook.physics.strides import Moment
from loftbook.plan import plan
from loftbook.rig.bay_fields import MOTOR
from loftbook.rig.fields import STARTS
from loftbook.rig.parsing import parse
from loftbook.rig.rocket_fields import TIMED
from loftbook.rig.ways import DROGUE, HELD, MAIN, NO_DROGUE, ONE_BAY, ONE_CANOPY, TWO_BAYS, TWO_PARTS, WAYS
from loftbook.worked.descent import Fall, Pick, high_of, low_of
from loftbook.worked.worked import Worked

often = settings(derandomize=True, max_examples=40, deadline=None, suppress_health_check=list(HealthCheck),
                 phases=(Phase.explicit, Phase.generate), report_multiple_bugs=False)  # fmt: skip
G = 9.80665
# Everything held, and it came down at more than 40 m/s.
LETHAL = {"flight.way": TWO_BAYS, "rocket.mass": "7 kg", "main.bay.tube": "98 mm", "drogue.canopy.size": "300 mm", "flight.main_height": "5 m"}
# Least drag of the drogue, most of the main: a hardness that all canopies at their most, or at their least, hide.
APART = {"flight.way": TWO_BAYS, "drogue.canopy.family": "measured by me", "drogue.canopy.cd_low": "0.5", "drogue.canopy.cd_high": "1.0",
         "main.canopy.family": "cross", "main.canopy.size": "2.6 m", "rocket.mass": "4 kg", "main.lines.length": "2.6 m"}  # fmt: skip


def of(texts: dict[str, str], cases: int = 200) -> Worked:
    return Worked(parse(texts), cases)


# --- the corners -------------------------------------------------------------------------------------------


def product(fall: Fall) -> Iterator[tuple[Run, float, float]]:
    """The run at every corner of the ranges, with the last canopy's drag area and filling there."""
    ends = list(itertools.product((low_of, high_of), (0.75, 1.25)))
    for bare in (low_of, high_of) if fall.bare else (low_of,):
        for corner in itertools.product(ends, repeat=len(fall.openings)):
            pick, filling = corner[-1]
            yield run_at(fall, bare, corner), pick(fall.last.drag_area), filling


def run_at(fall: Fall, bare: Pick, corner: Sequence[tuple[Pick, float]]) -> Run:
    """The full run in small steps at one end of every range; what the core says of corners it finds in long strides."""
    made = tuple(one.opening(height, *end) for (one, height), end in zip(fall.openings, corner, strict=True))
    sky, drag = fall.sky, bare(fall.bare) if fall.bare else 0.0
    return motion.run(fall.mass, made, fall.speed, sky.elevation, sky.air, fall.top, drag)


def settled_anew(fall: Fall, run: Run, area: float, filling: float) -> float:
    """Height at which a run is within a tenth of steady, found from its instants: the first so after filling [m]."""
    last = run.fillings[-1]
    path = filling * fall.last.filling * fall.last.diameter
    filled = last.opened.time + min(path / max(last.opened.speed, 1e-9), math.sqrt(2 * path / G))
    for one in run.instants:
        density = fall.sky.air.density(fall.sky.elevation + one.height)
        steady = math.sqrt(2 * fall.mass * G / (density * (last.before + area)))
        if one.time >= filled - 1e-9 and abs(one.speed / steady - 1) <= 0.1:
            return one.height
    return 0.0


def nothing_is_missed(fall: Fall) -> None:
    """Two tenths of a per cent are left to the long strides, one per cent where a pull is hardly more than the weight."""
    weight, loads = fall.mass * G, list(fall.loads.values())
    for run, area, filling in product(fall):
        for load, found in zip(loads, run.fillings, strict=True):
            assert found.peak.drag <= load.hardest * (1.002 if load.hardest > 1.1 * weight else 1.01)
            assert found.opened.speed <= load.speed * (1 + 5e-4) + 1e-6
        assert run.touchdown.speed <= fall.touchdown_rate.high * (1 + 5e-4)
        if run.fillings[-1].opened.speed > 1.02 * fall.last.rate.high:  # what is too slow hurts nobody
            anew = settled_anew(fall, run, area, filling)  # at a step of the run, so a little late
            assert fall.settled_height <= max(anew, 0.0) * 1.001 + step(run, anew)


def step(run: Run, height: float) -> float:
    """From one instant of a run to the one before at a height [m]."""
    heights = [one.height for one in run.instants]
    i = heights.index(height) if height in heights else len(heights) - 1
    return heights[i - 1] - heights[i]


@often
@given(texts=sound_texts())
def test_no_corner_of_the_ranges_is_worse_than_what_is_said(texts: dict[str, str]) -> None:
    for fall in worked(texts).descent.falls:
        nothing_is_missed(fall)


@pytest.mark.parametrize("texts", [{}, LETHAL, APART, *({"flight.way": way} for way in WAYS)], ids=str)
def test_no_corner_of_these_rigs_is_worse(texts: dict[str, str]) -> None:
    for fall in of(texts).descent.falls:
        nothing_is_missed(fall)


def test_least_drogue_with_most_main_is_the_corner_that_is_named() -> None:
    load = of(APART).descent.loads[MAIN]
    assert load.corner == "least drag of the drogue, most of the main, filling a quarter sooner"
    fall = of(APART).descent.main
    every_high = run_at(fall, low_of, [(high_of, 0.75)] * 2).fillings[-1].peak.drag
    assert load.hardest > 1.3 * every_high
    assert load.speed > 1.2 * fall.best[0][-1].at.speed


@pytest.mark.parametrize("way", [NO_DROGUE, HELD])
def test_the_least_drag_without_a_canopy_is_named_too(way: str) -> None:
    load = of({"flight.way": way}).descent.loads[MAIN]
    assert load.corner.startswith("least drag without a canopy, most of the ")


@pytest.mark.parametrize("start", STARTS)
def test_the_handbook_is_asked_at_the_worst_speed_with_the_most_drag(start: str) -> None:
    """Infinite mass: q Cd S0 Cx, by hand."""
    descent = of({"rig.start": start}).descent
    for load in descent.loads.values():
        density = descent.sky.air.density(descent.sky.elevation + descent.opened[load.canopy.key].at.height)
        infinite = density * load.speed**2 / 2 * load.canopy.drag_area.high * load.canopy.cx
        assert load.book.infinite == pytest.approx(infinite, rel=1e-9)
        assert load.design == max(load.hardest, load.book.finite_cx)


# --- in time -----------------------------------------------------------------------------------------------


def verdicts(texts: dict[str, str]) -> dict[tuple[str, str], str]:
    return {(check.bay, check.name): check.verdict for check in plan(texts).checks}


def test_a_part_lighter_than_its_canopies_is_no_soft_landing() -> None:
    """Its energy would be 0 and hold."""
    light = LETHAL | {"main.canopy.size": "6 m", "main.canopy.cloth": "nylon 2.25 oz (MIL-C-7350 type I)", "rocket.mass": "3.5 kg"}
    check = next(one for one in plan(light).checks if one.name == "touchdown-energy")
    assert (check.verdict, "Weigh both." in check.reason) == ("fail", True)


def test_the_rig_that_killed_fails_for_what_kills() -> None:
    found = verdicts(LETHAL)
    for name in (("", "main-settled"), ("", "opening-speed"), (MAIN, "touchdown-rate"), (DROGUE, "drogue-rate")):
        assert found[name] == "fail", name
    assert found["", "touchdown-energy"] == "warn"
    whole = plan(LETHAL)
    assert not whole.sound
    assert all(check.gate for check in whole.checks if check.name in ("main-settled", "opening-speed", "touchdown-rate", "drogue-rate"))
    outputs = whole.answers["descent"].outputs
    assert isinstance(outputs["rate"], Spread)
    assert outputs["rate"].high > 40
    assert isinstance(outputs["body_energy"], Spread)
    assert outputs["body_energy"].high > 2000
    assert outputs["settled_height"] == 0


@pytest.mark.parametrize("way", WAYS)
def test_every_way_down_is_too_low_somewhere(way: str) -> None:
    """Thirty metres for the last canopy is too little, whether it opens low or at the top."""
    low = {"flight.main_height": "30 m"} if WAYS[way].low or WAYS[way].held else {"flight.apogee": "30 m"}
    assert verdicts({"flight.way": way} | low)["", "main-settled"] == "fail"
    assert verdicts({"flight.way": way})["", "main-settled"] == "pass"


@pytest.mark.parametrize("speed", [8.0, 20.0, 40.0])
def test_the_settled_height_has_its_closed_form(speed: float) -> None:
    """A canopy that fills at once: v^2 - vt^2 falls as exp(-2 g s / vt^2) over the way s, where the air is nearly even."""
    mass, area, top = 6.0, 2.5, 100.0
    air = of({}).sky.air
    main = motion.Opening("main", top, area, 1e-6, 8.0)
    (opened,), _ = strides.down(mass, 0.0, [main], Moment(0.0, top, speed), 0.0, air)
    found = strides.settled(mass, main, opened, 0.0, air)
    square = 2 * mass * G / (air.density(top) * area)
    assert found
    assert found.height == pytest.approx(top - square / (2 * G) * math.log((speed**2 / square - 1) / (1.1**2 - 1)), abs=0.15)
    assert found.speed == pytest.approx(1.1 * math.sqrt(square), rel=2e-3)


def test_where_the_ground_comes_first_nothing_has_settled() -> None:
    air = of({}).sky.air
    for size in (1e-6, 3.0):  # filled at once, or still filling on the ground
        main = motion.Opening("main", 5.0, 2.5, size, 8.0)
        (opened,), _ = strides.down(6.0, 0.0, [main], Moment(0.0, 5.0, 60.0), 0.0, air)
        assert strides.settled(6.0, main, opened, 0.0, air) is None


def test_the_page_says_what_the_run_does() -> None:
    answer = CALCULATORS["descent"].answer(of(LETHAL), "")
    told = {working.title: working.numbers for working in answer.working}
    assert "never settles: the ground comes first" in told["The fastest way down"]
    good = CALCULATORS["descent"].answer(of({}), "")
    assert "before touchdown at" in next(one.numbers for one in good.working if one.title == "The fastest way down")
    [chart] = [drawing for drawing in answer.drawings if "Rate on the way down" in drawing.svg]
    assert "43.2 m/s" in chart.svg  # the picture is of the same run


def test_of_two_parts_the_worse_one_is_judged() -> None:
    """The forward part's canopy far too small: its rate, its energy and its time are looked at, not the aft part's."""
    found = verdicts({"flight.way": TWO_PARTS, "forward.canopy.size": "100 mm"})
    assert found["forward", "touchdown-rate"] == "fail"
    assert found["", "touchdown-energy"] == "warn"
    assert found[MAIN, "touchdown-rate"] == "pass"


# --- the scatter -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("share", ["0 %", "5 %", "50 %"])
def test_the_table_that_the_plan_uses_reaches_the_highest_release(way: str, share: str) -> None:
    one = of({"flight.way": way, "scatter.release": share})
    for fall in one.descent.falls:
        assert fall.column.top == pytest.approx(1200 * (1 + one.rig.number("scatter.release")), rel=1e-12)
        heights = [row[0] for row in fall.column.rows]
        assert {fall.top, *(height for _, height in fall.openings)} <= set(heights)


def test_releases_that_scatter_upwards_leave_the_field() -> None:
    """300 m ± 20 % and 400 m of field: about one in thirty lands outside, where a table cut off at 300 m would show none."""
    start = next(name for name in STARTS if "one bay" in name)
    one = of({"rig.start": start, "flight.apogee": "300 m", "scatter.release": "20 %", "site.east": "400 m"}, 10_000)
    [landed] = one.descent.landed(10_000)
    cut = [fall for fall in one.descent.falls if fall.column.at(360.0) == fall.column.at(300.0)]
    assert not cut
    assert 0.02 < landed.outside < 0.05


WIDE = {"drogue.canopy.family": "measured by me", "drogue.canopy.area": "0.3 m^2", "drogue.canopy.cd_low": "0.4", "drogue.canopy.cd_high": "1.2"}
STILL = {"scatter.mass": "0 %", "scatter.wind": "0 %", "scatter.release": "0 %", "scatter.direction": "0 deg", "flight.delay": "0 s"}


@pytest.mark.parametrize("way", [TWO_BAYS, ONE_BAY, NO_DROGUE, HELD])
def test_drift_and_scatter_agree(way: str) -> None:
    """With nothing but drag unknown the scatter fills the drift's range and never leaves it.

    Of two triangles that know nothing of each other ten thousand draws come within a fifth of the far corner.
    """
    one = of({"flight.way": way} | (WIDE if DROGUE in WAYS[way].canopies else {}) | STILL, 10_000)
    fall = one.descent.main
    [landed] = one.descent.landed(10_000)
    distances = [math.hypot(*spot) for spot in landed.scatter.spots]
    low, best, high = fall.drift.low, fall.drift.best, fall.drift.high
    assert high - low > 0.2 * best
    assert low * 0.999 <= min(distances) <= best - 0.8 * (best - low)
    assert best + 0.8 * (high - best) <= max(distances) <= high * 1.001


@pytest.mark.parametrize("seed", range(6))
def test_the_farthest_spot_is_not_short_of_the_worst_corner(seed: int) -> None:
    """With everything scattered it goes further than drag alone can take it."""
    dice = random.Random(seed)
    texts = {"flight.way": dice.choice(list(WAYS)), "flight.apogee": f"{dice.uniform(500, 3000)} m", "flight.wind": f"{dice.uniform(2, 8)} m/s"}
    for landed in of(texts | WIDE, 10_000).descent.landed(10_000):
        assert landed.scatter.farthest > landed.fall.drift.high


def test_a_jet_between_two_nodes_drifts_what_it_must() -> None:
    """Twenty metres of gale in still air: the whole way through the page's own field."""
    layers = "500 m 0 m/s 270; 501 m 20 m/s 270; 521 m 20 m/s 270; 522 m 0 m/s 270"
    one = of({"flight.way": ONE_CANOPY, "flight.layers": layers, "flight.apogee": "1000 m"})
    fall = one.descent.main
    air, field = one.sky.air, one.sky.elevation
    # 20 m whole and twice half of a metre, at the rate there
    rate = fall.last.rate.best * math.sqrt(air.density(field) / air.density(field + 511))
    assert fall.landings[1].distance == pytest.approx(21 * 20 / rate, rel=1e-3)


# --- a motor's charge --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("delay", "typed", "counted"), [("10 s", "1 s", 2.0), ("3 s", "1 s", 1.5), ("3 s", "2.5 s", 2.5), ("20 s", "4.5 s", 4.5)])
def test_a_motors_delay_is_off_by_its_tolerance_at_least(delay: str, typed: str, counted: float) -> None:
    """1.5 s or a fifth, whichever is more (motor standard, memory)."""
    texts = {"flight.way": ONE_CANOPY, "main.charge.kind": MOTOR, "main.charge.delay": delay, "flight.delay": typed}
    one = of(texts)
    speed = one.rig.number("flight.forward_speed")
    assert one.descent.late == pytest.approx(counted)
    assert one.descent.release_speed == pytest.approx(math.hypot(speed, G * counted), rel=1e-9)
    assert one.descent.spreads(one.descent.main).late == pytest.approx(counted)
    notes = " ".join(CALCULATORS["descent"].answer(one, "").notes)
    assert ("the run counts on that" in notes) is (counted > one.rig.number("flight.delay"))


def test_electronics_keep_what_is_typed() -> None:
    for start in STARTS:
        one = of({"rig.start": start})
        if one.descent.motor_error is None:
            assert one.descent.late == one.rig.number("flight.delay")
    texts = {"flight.way": TWO_BAYS, "main.charge.kind": MOTOR}  # no motor fires the second bay
    assert of(texts).descent.motor_error is None


# --- cold and high -----------------------------------------------------------------------------------------


def test_cold_is_said_where_it_freezes_at_the_top() -> None:
    def told(texts: dict[str, str]) -> str:
        return " ".join(CALCULATORS["descent"].answer(of(texts), "").notes)

    assert "freezes" not in told({"flight.apogee": "1200 m"})
    assert "freezes" in told({"flight.apogee": "3000 m"})  # 15 degC less 6.5 a kilometre
    assert "freezes" not in told({"flight.apogee": "3000 m", "site.warmer": "15 °C"})
    assert "freezes" in told({"flight.apogee": "500 m", "site.warmer": "-20 °C"})
    assert "US Standard Atmosphere" in told({})


def test_a_fall_that_was_timed_is_judged_by_its_fast_end() -> None:
    timed = {"flight.way": NO_DROGUE, "flight.fall": TIMED, "flight.fall_low": "20 m/s"}
    assert verdicts(timed | {"flight.fall_high": "41 m/s"})["", "fall-rate"] == "fail"
    assert verdicts(timed | {"flight.fall_high": "35 m/s"})["", "fall-rate"] == "warn"
    assert verdicts(timed | {"flight.fall_high": "29 m/s"})["", "fall-rate"] == "pass"




def test_no_rocket_falls_just_short_of_the_drag_crisis() -> None:
    """A little more mass never makes the fastest fall much faster, and far past the crisis it is that of a smooth cylinder."""
    areas = [airframe.bare_drag_area([(1.8, 0.079)], "broadside", 0.5 * 1.02**step, 1.2).low for step in range(240)]
    rates = [(2 * 0.5 * 1.02**step * 9.80665 / 1.2 / area) ** 0.5 for step, area in enumerate(areas)]
    assert all(1 < faster / rate < 1.05 for rate, faster in itertools.pairwise(rates))
    assert areas[0] == pytest.approx(0.6 * 1.8 * 0.079)
    assert areas[-1] == pytest.approx(0.3 * 1.8 * 0.079)
