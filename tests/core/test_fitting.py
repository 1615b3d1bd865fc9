"""What an altimeter's heights say of a canopy's drag, and how surely: against flights that are made up with a known one.

All records here are synthetic. Only package registries could be reached, and no library at hand (scipy and its data sets,
ambiance, fluids) carries a published record of a descent under a canopy: no real flight has judged this yet.
"""

import math
import random
from collections.abc import Mapping, Sequence
from functools import cache
from statistics import median

import pytest
from rigs import worked

import trials
from loftbook.errors import Refusal
from loftbook.log.altimeter import Log, read_log
from loftbook.physics import barometer, fitting, phases
from loftbook.physics.atmosphere import STANDARD, Air, temperature
from loftbook.physics.fitting import line, pooled, student, student_reach, sunk
from loftbook.physics.spread import Spread
from loftbook.rig.bay_fields import MEASURED
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import parse
from loftbook.rig.ways import NO_DROGUE, ONE_CANOPY, TWO_PARTS
from loftbook.worked.measured import CLIMB, FALL, FEW, GROUND, Found, flown, taken

# --- Student's distribution -------------------------------------------------------------------------


@pytest.mark.parametrize(("degrees", "reach"), [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (9, 2.262), (30, 2.042)])
def test_reaches_of_student_s_distribution_are_those_of_every_table(degrees: int, reach: float) -> None:
    assert student_reach(0.95, degrees) == pytest.approx(reach, abs=6e-4)
    assert student(0, degrees) == 0.5
    assert student(1.3, degrees) + student(-1.3, degrees) == pytest.approx(1)


# --- one line -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [16, 17, 40, 700])
def test_a_line_without_noise_is_found(count: int) -> None:
    times = [0.3 * i + (5 if i > count // 2 else 0) for i in range(count)]
    found = line(times, [1000 - 7.25 * time for time in times])
    assert found.slope.best == pytest.approx(-7.25, abs=1e-6)
    assert found.slope.low <= found.slope.best <= found.slope.high


def test_too_few_samples_or_no_time_are_refused() -> None:
    for times in ([0.1 * i for i in range(15)], [3.0] * 40):
        with pytest.raises(Refusal, match="at least 16"):
            line(times, times)


def test_more_noise_or_gusts_make_a_wider_interval() -> None:
    rng = random.Random(2)
    times = [0.1 * i for i in range(400)]
    noise = [rng.gauss(0, 1) for _ in times]
    gusts, air, adrift = [], 0.0, 0.0
    for _ in times:
        air = 0.95 * air + 0.3 * rng.gauss(0, 1)
        adrift += 0.1 * air
        gusts.append(adrift)

    def width(own: float, gust: float) -> float:
        slope = line(times, [200 - 5 * t + own * n + gust * g for t, n, g in zip(times, noise, gusts, strict=True)]).slope
        assert slope.low < -5 < slope.high
        return slope.high - slope.low

    assert width(0.1, 0) < width(1, 0) < width(5, 0)
    assert width(0.3, 0.2) < width(0.3, 0.5) < width(0.3, 1)
    assert width(0.3, 1) > 4 * width(0.3, 0)


# --- drag -----------------------------------------------------------------------------------------------


def sinking(drag_area: float, mass: float, elevation: float, air: Air, top: float, floor: float, step: float = 0.1) -> tuple[list[float], list[float]]:
    """Heights over time by small steps of m dv/dt = m g - rho v^2 CdS / 2, from near its steady rate."""
    times, heights = [], []
    time, height = 0.0, top
    speed = math.sqrt(2 * mass * 9.80665 / (air.density(elevation + top) * drag_area))
    while height > floor:
        times.append(time)
        heights.append(height)
        for _ in range(4):
            speed += step / 4 * (9.80665 - air.density(elevation + height) * speed * speed * drag_area / (2 * mass))
            height -= speed * step / 4
        time += step
    return times[40:], heights[40:]


@pytest.mark.parametrize(("drag_area", "mass", "elevation", "air", "top"), [
    (1.0, 2.2, 120.0, STANDARD, 250.0),
    (0.06, 2.2, 120.0, STANDARD, 1500.0),
    (0.15, 20.0, 1400.0, Air(warmer=15), 4000.0),
    (6.0, 30.0, 0.0, Air.at_site(0.0, -20, 98_000), 400.0),
])  # fmt: skip
def test_the_drag_of_a_full_motion_is_found_to_a_thousandth(drag_area: float, mass: float, elevation: float, air: Air, top: float) -> None:
    times, heights = sinking(drag_area, mass, elevation, air, top, 20)
    found = sunk(times, heights, mass, elevation, air)
    assert found.drag_area.best == pytest.approx(drag_area, rel=1e-3)
    assert found.drag_area.low < drag_area < found.drag_area.high
    assert max(map(abs, found.left)) < 3e-4 * top + 0.2
    assert found.rate.best == pytest.approx(math.sqrt(2 * mass * 9.80665 / (air.density(elevation) * drag_area)), rel=1e-2)
    assert sunk(times, heights, 2 * mass, elevation, air).drag_area.best == pytest.approx(2 * drag_area, rel=1e-3)


def test_what_does_not_sink_is_refused() -> None:
    rng = random.Random(4)
    times = [0.1 * i for i in range(300)]
    for rate in (0.0, -2.0):
        with pytest.raises(Refusal, match="does not sink steadily"):
            sunk(times, [100 - rate * t + rng.gauss(0, 1) for t in times], 2, 0, STANDARD)


# --- how often an interval holds the truth ----------------------------------------------------------------

TRIALS = 200
# What `scripts/trials.py` counted of 1,000 flights stands there. Of 200 whose true share is 93 % fewer than 175 hold it once in a
# thousand times (binomial); with the claimed 95 % fewer than 180.
FEWEST_HELD = 175


@cache
def tried(case: str) -> Mapping[str, Sequence[trials.Told]]:
    rows = [row for seed in range(TRIALS) for row in trials.tried(case, seed)]
    return {key: [one for one in rows if one.key == key] for key in trials.CANOPIES}


@pytest.mark.parametrize(("key", "widest"), [("drogue", 0.04), ("main", 0.15)])
def test_intervals_hold_the_true_drag_as_often_as_they_say(key: str, widest: float) -> None:
    """Noise, lag, a coarse display, gusts, lost samples, blasts and warm days, all drawn anew for each flight; no draught that lasts."""
    told = tried("no draught that lasts")[key]
    assert len(told) >= TRIALS - 4
    assert sum(one.fit for one in told) >= FEWEST_HELD
    assert median(one.fit_width for one in told) < widest  # and not because they are wide


@pytest.mark.parametrize(("key", "widest"), [("drogue", 0.1), ("main", 0.35)])
def test_what_one_flight_hands_out_holds_the_true_drag_in_a_draught_that_lasts(key: str, widest: float) -> None:
    """The same with an air that goes up or down as long as the canopy is open: the fit cannot see it and fails, the range holds it."""
    told = tried("as drawn")[key]
    handed = [one for one in told if one.handed is not None]
    assert len(handed) >= TRIALS - 4  # sound flights are handed out
    assert sum(bool(one.handed) for one in handed) >= 0.97 * len(handed)
    assert median(one.width for one in handed) < widest
    assert sum(one.fit for one in told) < 0.85 * TRIALS  # so it would be a lie without


def test_ordinary_least_squares_would_claim_far_too_much() -> None:
    """What the trials would find of it: so they can fail."""
    hits = 0
    for seed in range(40):
        rng = random.Random(seed)
        day = trials.drawn(rng)
        one = trials.found_in(day, rng)["main"]
        true = math.sqrt(2 * day.mass * 9.80665 / (trials._density(day.elevation, day.warmer) * day.main))
        hits += abs(one.sunk.rate.best - true) <= 2.04 * one.sunk.line.plain
    assert hits < 20


# --- true heights -------------------------------------------------------------------------------------------


def test_on_a_standard_day_an_altimeter_shows_true_heights_but_for_gravity() -> None:
    shown = [-20.0, 0.0, 0.5, 300.0, 3000.0]
    for one, true in zip(shown, barometer.true_heights(shown, 120.0, STANDARD), strict=True):
        assert true == pytest.approx(one, rel=1e-3, abs=1e-9)


@pytest.mark.parametrize(("warmer", "elevation"), [(30.0, 0.0), (-25.0, 1500.0), (15.0, 300.0)])
def test_warm_air_stands_higher_in_proportion(warmer: float, elevation: float) -> None:
    (true,) = barometer.true_heights([100.0], elevation, Air(warmer=warmer))
    assert true == pytest.approx(100 * (1 + warmer / temperature(elevation + 50)), rel=1e-3)


def test_three_kelvins_are_a_hundredth_of_the_rate() -> None:
    (true,) = barometer.true_heights([200.0], 120.0, Air(warmer=3.0))
    assert true / 200 == pytest.approx(1.0105, abs=5e-4)


def test_heights_where_no_air_is_told_of_are_refused() -> None:
    for shown in (19_999.0, -700.0):
        with pytest.raises(Refusal, match="outside the air used here"):
            barometer.true_heights([shown], 120.0, STANDARD)


# --- phases ---------------------------------------------------------------------------------------------------


def record(*legs: tuple[float, float], top: float = 0.0, step: float = 0.1, noise: float = 0.3) -> Log:
    """Legs of a duration and a rate upward, one after the other."""
    rng, time, height, rows = random.Random(3), 0.0, top, []
    for lasts, rate in legs:
        for _ in range(round(lasts / step)):
            rows.append(f"{time:.2f},{height + rng.gauss(0, noise):.2f}")
            time, height = time + step, height + rate * step
    return read_log("time (s),alt (m)\n" + "\n".join(rows))


FULL = ((5, 0), (8, 120), (35, -22), (40, -5), (30, 0))


def test_phases_are_found_by_their_rates() -> None:
    parts = flown(worked({}), record(*FULL), 288.0).parts
    assert [part.name for part in parts] == [CLIMB, "drogue", "main", GROUND]
    for part, ends in zip(parts, ((5, 13), (13, 48), (48, 88), (88, 118)), strict=True):
        assert (part.stretch.start, part.stretch.end) == pytest.approx(ends, abs=1.1)
    assert [part.stretch.rate for part in parts] == pytest.approx([-120, 22, 5, 0], rel=0.02)


def test_what_the_phases_are_called_hangs_on_the_way_down() -> None:
    def names(way: str, log: Log, part: str | None = None) -> list[str]:
        return [one.name for one in flown(worked({"flight.way": way}), log, 288.0, part).parts][1:-1]

    assert names(NO_DROGUE, record(*FULL)) == [FALL, "main"]
    assert names(ONE_CANOPY, record((5, 0), (8, 120), (150, -6), (9, 0))) == ["main"]
    assert names(TWO_PARTS, record((5, 0), (8, 120), (150, -6), (9, 0)), "forward") == ["forward"]
    with pytest.raises(Refusal, match="main or forward"):
        flown(worked({"flight.way": TWO_PARTS}), record(*FULL), 288.0)


def test_one_odd_sample_makes_no_phase_and_a_file_may_begin_or_end_in_the_air() -> None:
    log = record((40, -20), (30, -5), top=1000.0)
    assert [part.name for part in flown(worked({}), log, 288.0).parts] == ["drogue", "main"]
    heights = list(log.heights)
    heights[-1] = 20.0
    odd = Log(log.times, tuple(heights), frozenset(), (), "")
    assert [part.name for part in flown(worked({}), odd, 288.0).parts] == ["drogue", "main"]


def test_a_file_without_a_descent_is_refused() -> None:
    for log in (record((60, 0)), record((20, 10)), record((2, 100), (1, -5))):
        with pytest.raises(Refusal, match="no canopy's steady sinking"):
            flown(worked({}), log, 288.0).found  # noqa: B018


def test_gusts_make_no_phase() -> None:
    legs = [(5.0, 0.0), (8.0, 120.0), *((3.0, -22.0 + rate) for rate in (3, -3, 4, 0, -4, 2, -1, -1)), *((3.0, -5.0 + rate) for rate in (1, -1, 1, 0, -1) * 2), (20.0, 0.0)]
    assert [part.name for part in flown(worked({}), record(*legs), 288.0).parts] == [CLIMB, "drogue", "main", GROUND]


def test_the_steady_part_leaves_out_what_it_takes_to_settle() -> None:
    start, end = phases.Stretch(10.0, 60.0, 25.0).steady
    assert start == pytest.approx(10 + 5 * 25 / (2 * 9.80665) + 2)
    assert end == 58.0
    start, end = phases.Stretch(10.0, 12.0, 25.0).steady
    assert start <= end


# --- one flight with its rig ------------------------------------------------------------------------------------


def flight(seed: int = 5, said: Mapping[str, str] | None = None, day: float | None = None, **fixed: float) -> tuple[trials.Day, dict[str, Found]]:
    rng = random.Random(seed)
    made = trials.drawn(rng, warmer=0.0, **fixed)
    return made, flown(worked({"rocket.mass": "5.6 kg", "site.elevation": "120 m"} | dict(said or {})), read_log(trials.record(made, rng)), day).found


def test_a_day_that_nobody_told_of_widens_the_range_both_ways() -> None:
    ground = temperature(120.0)
    _, told = flight(day=ground)
    _, silent = flight()
    _, typed = flight(said={"site.warmer": "0 °C"})
    _, warm = flight(day=ground + 20)
    for key in trials.CANOPIES:
        assert typed[key].drag_area == told[key].drag_area
        assert silent[key].drag_area.low <= warm[key].drag_area.low < told[key].drag_area.low
        assert silent[key].drag_area.high > told[key].drag_area.high
        assert silent[key].drag_area.best == told[key].drag_area.best
        # Warmer: a thinner, taller air, so it fell faster than shown and has less drag, by T_std / T. Of the drogue a little
        # less: the package's air keeps the standard's pressure at each true height, which lies higher on such a day.
        share = ground / (ground + 20)
        assert share * 0.997 < warm[key].drag_area.best / told[key].drag_area.best < share * (1.003 if key == "main" else 1.012)


def test_heights_above_sea_level_are_taken_from_the_pad() -> None:
    log = record(*FULL)
    high = Log(log.times, tuple(height + 120 for height in log.heights), log.spikes, log.gaps, log.told)
    one, other = (flown(worked({}), each, 288.0).found["main"].drag_area.best for each in (log, high))
    assert other == pytest.approx(one, rel=1e-9)


def test_a_phase_may_be_told_and_a_canopy_that_is_not_there_is_refused() -> None:
    made = flown(worked({}), record(*FULL), 288.0)
    assert made.fitted("main", 55, 80).drag_area.best == pytest.approx(made.found["main"].drag_area.best, rel=0.02)
    with pytest.raises(Refusal, match="no forward canopy"):
        made.fitted("forward", 55, 80)
    with pytest.raises(Refusal, match="at least 16"):
        made.fitted("main", 55, 56)


# --- several flights ----------------------------------------------------------------------------------------------


def test_flights_that_agree_are_weighted_by_their_variance() -> None:
    together = pooled([Spread(0.9, 1.0, 1 / 0.9), Spread(0.99, 1.01, 1.01 * 1.01 / 0.99)])
    assert together.between == 0
    assert together.mean.best == pytest.approx(1.01, abs=1e-3)
    assert together.mean.low > 0.98
    assert together.planned == together.mean  # it holds both
    assert together.odd == ()


def test_flights_that_differ_more_than_they_are_unsure_of_are_as_unsure_as_they_differ() -> None:
    flights = [Spread(best * 0.99, best, best / 0.99) for best in (0.8, 0.9, 1.0, 1.1)]
    together = pooled(flights)
    assert together.between == pytest.approx(0.137, abs=0.002)  # the standard deviation of the logarithms
    assert together.birge > 10
    assert together.mean.low < 0.76 < 1.15 < together.mean.high
    assert together.planned == together.mean
    spread = Spread(0.95, 1.0, 1.05)
    assert pooled([spread]).planned == spread


def test_an_odd_flight_is_shown_and_counted() -> None:
    flights = [Spread(0.97, 1.0, 1.03)] * 12 + [Spread(0.48, 0.5, 0.52)]
    together = pooled(flights)
    assert together.odd == (12,)
    assert together.planned.low <= 0.5
    assert together.mean.best < 1.0


@pytest.mark.parametrize("count", [2, 3, 5, 10])
@pytest.mark.parametrize("between", [0.0, 0.06])
def test_the_mean_of_flights_is_held_about_as_often_as_it_says(count: int, between: float) -> None:
    """With two or three flights the spread between them is itself little known, and the mean's interval is too narrow where they
    differ: counted were 81 of 100 for two flights that differ by 6 % and 87 for three. With so few nobody plans with the mean."""
    rng, hits, planned = random.Random(9), 0, 0
    for _ in range(400):
        flights = []
        for _ in range(count):
            error = rng.uniform(0.01, 0.05)
            best = math.exp(rng.gauss(0, between) + rng.gauss(0, error))
            flights.append(Spread(best * math.exp(-1.96 * error), best, best * math.exp(1.96 * error)))
        together = pooled(flights)
        hits += together.mean.low <= 1 <= together.mean.high
        planned += together.planned.low <= 1 <= together.planned.high
    assert hits >= (372 if between == 0 or count >= 10 else 340 if count > 2 else 316)
    assert count <= FEW or planned >= 372


# --- into the rig ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("family", ["flat polygon", "hemispherical", MEASURED])
def test_what_was_measured_is_carried_by_the_rig_and_rounded_away_from_danger(family: str) -> None:
    said = {"rocket.mass": "5.6 kg", "site.elevation": "120 m", "main.canopy.family": family, "main.canopy.area": "4 m²"}
    _, found = flight(said=said, day=temperature(120.0))
    before = worked(said)
    one = taken(before, [found["main"]], "2026-05-02")
    assert one.why == ""
    after = worked(said | one.fields)
    cd = after.canopies["main"].cd
    assert cd.low <= one.cd.low < one.cd.high <= cd.high
    assert cd.high - cd.low < 1.05 * (one.cd.high - one.cd.low)
    assert after.canopies["main"].rate.high >= one.rate.high
    assert after.canopies["main"].family == family
    for path in set(one.fields) - {"rig.measured", "main.canopy.cd_measured_from"}:
        assert after.rig.origin(path) == "measured"
    source = after.canopies["main"].cd_source
    assert source == ("measured by you (measured)" if family == MEASURED else "measured by you, 1 flight, 2026-05-02")
    assert before.canopies["drogue"].cd == after.canopies["drogue"].cd


def test_a_measured_range_is_what_every_part_of_the_plan_reckons_with() -> None:
    measured = {"main.canopy.cd_measured_low": "0.5", "main.canopy.cd_measured_high": "0.6"}
    before, after = worked({}), worked(measured)
    share = math.sqrt(before.canopies["main"].cd.low / 0.5)
    assert after.canopies["main"].rate.high == pytest.approx(before.canopies["main"].rate.high * share)
    assert after.descent.falls[0].touchdown_rate.high > before.descent.falls[0].touchdown_rate.high
    assert after.canopies["main"].wanted_size.high > before.canopies["main"].wanted_size.high  # type: ignore[union-attr]


def test_flights_together_say_how_many_they_were_and_hold_each_of_them() -> None:
    found = [flight(seed, day=temperature(120.0), main=2.4)[1]["main"] for seed in (5, 6, 7)]
    one = taken(worked({"rocket.mass": "5.6 kg"}), found)
    assert one.fields["main.canopy.cd_measured_from"] == "3 flights"
    assert all(one.pooled.planned.low <= each.drag_area.best <= one.pooled.planned.high for each in found)
    assert one.pooled.mean.low < 2.4 < one.pooled.mean.high


def test_what_a_rig_cannot_say_is_told_and_not_taken_over() -> None:
    small = worked({"drogue.canopy.size": "0.1 m"})
    one = taken(small, [flown(small, record(*FULL), 288.0).fitted("drogue", 20, 45)])
    assert one.fields == {}
    assert "outside what a rig can say, 0.1 to 5" in one.why


def test_the_long_run_and_the_tests_fly_the_same_rig() -> None:
    assert trials.rig().rig.number("rocket.mass") == 5.6
    assert set(trials.CANOPIES) == set(trials.rig().canopies)
    assert parse({}).number("site.elevation") == 120.0
    assert FIELDS["main.canopy.cd_measured_low"].default == ""
    assert fitting.SURE == 0.95
