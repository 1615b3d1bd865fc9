"""Attacks on what is measured: drags that would be handed out too high or too low, phases under another's name, files read wrongly.

Each failed when it was written, for something that could hurt somebody. Records are made up, legs of steady sinking with noise.
"""

import random
from collections.abc import Callable, Mapping

import pytest
from rigs import worked

from loftbook.errors import Fault, Refusal
from loftbook.log.altimeter import read_log, same_record
from loftbook.plan import plan
from loftbook.rig.ways import NO_DROGUE, ONE_CANOPY
from loftbook.worked.measured import FALL, TURN, Flight, Once, Taken, distinct, flown, taken

DAY = 288.0
RIG = {"rocket.mass": "5.6 kg", "site.elevation": "120 m"}
NEAR = {"drogue.canopy.size": "0.9 m", "drogue.lines.length": "0.9 m", "main.canopy.size": "1.8 m", "main.lines.length": "1.8 m"}  # canopies not far apart in drag
ASCENT = ((5.0, 0.0), (8.0, 120.0))


def written(*legs: tuple[float, float], step: float = 0.1, above: float = 0.0, head: str = "time (s),alt (m)", seed: int = 3) -> str:
    """Legs of a duration [s] and a rate upward [m/s], one after the other, heights shown above some level [m]."""
    rng, time, height, rows = random.Random(seed), 0.0, 0.0, [head]
    for lasts, rate in legs:
        for _ in range(round(lasts / step)):
            rows.append(f"{time:.2f},{height + above + rng.gauss(0, 0.3):.2f}")
            time, height = time + step, height + rate * step
    return "\n".join(rows)


def flight(text: str, said: Mapping[str, str] | None = None, **asked: str) -> Flight:
    return flown(worked(RIG | dict(said or {})), read_log(text, **asked), DAY)  # type: ignore[arg-type]


def got(one: Flight) -> dict[str, Taken]:
    """What would be taken over of each canopy; nothing where the file is refused."""
    return {} if one.doubt else {key: taken(one.worked, [found]) for key, found in one.found.items()}


def cd_taken(one: Flight, key: str) -> tuple[float, float] | None:
    """Both ends of the measured Cd that the reader is handed; None where nothing is."""
    fields = got(one)[key].fields if key in got(one) else {}
    return (float(fields[f"{key}.canopy.cd_measured_low"]), float(fields[f"{key}.canopy.cd_measured_high"])) if fields else None


# --- drags that are taken over too high ------------------------------------------------------------------


def test_a_sound_flight_is_taken_over() -> None:
    """So that the tests below cannot hold by refusing everything."""
    one = flight(written(*ASCENT, (40, -13), (40, -6.6), (30, 0)), NEAR)
    assert one.found["drogue"].cd.best == pytest.approx(0.853, abs=0.01)
    assert one.found["main"].cd.best == pytest.approx(0.797, abs=0.01)
    for key, true, half in (("drogue", 0.853, 0.1), ("main", 0.797, 0.16)):
        held = cd_taken(one, key)
        assert held is not None
        assert true - half < held[0] < true < held[1] < true + half


def test_a_main_that_fouled_at_first_is_not_taken_for_the_drogue() -> None:
    """Drogue 20 s at 22 m/s, main fouled 25 s at 10 m/s, open 20 s at 5 m/s: the longer is called the drogue, Cd 3 for 0.66.

    The main then opens at half the speed in the plan, and its opening load is a third of the true one.
    """
    held = cd_taken(flight(written(*ASCENT, (20, -22), (25, -10), (20, -5), (30, 0))), "drogue")
    assert held is None or held[1] < 1.5


@pytest.mark.parametrize("after", [
    pytest.param(((20.0, 0.0), (1.0, -10.0), (30.0, 0.0)), id="hung in a tree"),
    pytest.param(((60.0, -8 / 60), (5.0, 0.0)), id="the instrument wandered on the ground"),
    pytest.param(((40.0, -0.5), (60.0, 0.0)), id="dragged down a slope"),
])  # fmt: skip
def test_what_lies_or_hangs_on_the_ground_does_not_push_the_main_into_the_drogue_s_place(after: tuple[tuple[float, float], ...]) -> None:
    held = cd_taken(flight(written(*ASCENT, (40, -13), (40, -6.6), *after), NEAR), "drogue")
    assert held is None or held[1] < 1.2


def test_lift_near_the_ground_is_not_the_canopy() -> None:
    """15 s at 6.6 m/s, then 40 s at 4.3 m/s in lift: only the second is counted, Cd 1.81 for 0.8 and 4.2 m/s for 6.6."""
    held = cd_taken(flight(written(*ASCENT, (40, -13), (15, -6.6), (40, -4.3), (30, 0)), NEAR), "main")
    assert held is None or held[0] < 1.0


def test_a_file_that_ends_under_the_drogue_is_not_the_main_s() -> None:
    """Cd 0.2 for 0.8: the main's opening load comes out far too low."""
    assert cd_taken(flight(written(*ASCENT, (40, -13)), NEAR), "main") is None


@pytest.mark.parametrize("step", [0.2, 1.0])
def test_heights_above_the_sea_are_not_heights_above_the_field_where_the_file_begins_in_flight(step: float) -> None:
    """From a field at 1500 m: thin air is counted twice, Cd 17 % too high, with an interval of 2 %."""
    legs = ((8.0, 120.0), (35.0, -22.0), (40.0, -5.0), (30.0, 0.0))
    field = {"site.elevation": "1500 m"}
    true = cd_taken(flight(written(*legs, step=step), field), "main")
    assert true is not None
    shown = cd_taken(flight(written(*legs, step=step, above=1500.0), field), "main")
    assert shown is None or shown[0] <= true[1]


def test_a_column_of_row_numbers_is_not_the_time() -> None:
    """Two samples a second: rates are halved, Cd is four times too high and within what a rig may say."""
    rows = written(*ASCENT, (35, -22), (60, -5), (30, 0), step=0.5).split("\n")[1:]
    text = "\n".join(["n,zeit (s),alt (m)", *(f"{i},{row}" for i, row in enumerate(rows))])
    try:
        held = cd_taken(flight(text, time_unit="s"), "main")
    except Refusal:
        return
    assert held is None or held[1] < 1.2


def test_one_file_opened_four_times_is_one_flight() -> None:
    one = flight(written(*ASCENT, (35, -22), (40, -5), (30, 0)))
    found = one.found["main"]
    alone = taken(one.worked, [found])
    try:
        together = taken(one.worked, [found] * 4)
    except Refusal:
        return
    assert together.cd.low <= alone.cd.low
    assert together.cd.high >= alone.cd.high
    assert not together.fields or together.fields["main.canopy.cd_measured_from"].startswith("1 flight")


# --- what else was found while these were mended ----------------------------------------------------------


def faults_of(make: Callable[[], object]) -> tuple[Fault, ...]:
    with pytest.raises(Refusal) as caught:
        make()
    return caught.value.faults


def names(one: Flight) -> list[str]:
    return [part.name for part in one.parts]


def doubted(one: Flight) -> str:
    """Why no phase has a canopy's name; and that nothing is handed out, and why is told with each phase's rate and times."""
    assert one.doubt
    assert not set(names(one)) & set(one.worked.canopies)
    (fault,) = faults_of(lambda: one.found)
    assert one.doubt in fault.message
    assert " m/s from " in fault.message
    assert fault.allowed in fault.message
    return one.doubt


def test_why_nothing_is_named_is_told() -> None:
    assert "3 stretches of steady sinking, where this rig has 2 ways" in doubted(flight(written(*ASCENT, (20, -22), (25, -10), (20, -5), (30, 0))))
    assert "1 stretch" in doubted(flight(written(*ASCENT, (40, -13)), NEAR))
    only = {"flight.way": ONE_CANOPY, "rocket.mass": "2.2 kg"}
    assert "ends in the air" in doubted(flight(written(*ASCENT, (60, -3.4)), only))
    fouled = ((35, -22), (20, -10), (30, 0))
    assert "no main of this rig sinks as fast as from 48 s to 68 s" in doubted(flight(written(*ASCENT, *fouled)))
    high = ((15, -22), (126, -5), (30, 0))
    assert "far from the height at which this rig's main opens" in doubted(flight(written(*ASCENT, *high)))


def test_a_canopy_that_tears_is_not_taken_at_the_rate_before() -> None:
    """80 s at 4.9 m/s, then 9 m/s to the ground: nobody may be told 4.9."""
    only = {"flight.way": ONE_CANOPY, "main.canopy.size": "2.2 m"}
    doubted(flight(written((5, 0), (5, 120), (80, -4.9), (22, -9), (30, 0)), only))


@pytest.mark.parametrize("first", [(5.0, -25.0), (6.0, -2.5)])
def test_a_short_while_at_the_top_is_no_canopy_s(first: tuple[float, float]) -> None:
    only = {"flight.way": ONE_CANOPY, "main.canopy.size": "2.2 m"}
    one = flight(written((5, 0), (5, 100), first, (60, -5.3), (30, 0)), only)
    assert names(one)[1:-1] == [TURN, "main"]
    assert cd_taken(one, "main")


def test_the_way_from_rest_to_the_steady_rate_is_no_canopy_s_though_it_is_as_fast_as_one() -> None:
    """Five seconds at 16.3 m/s, then 24.7: what 24.7 m/s takes from rest. Ten seconds at 15.6 are not."""
    legs = ((30.0, -24.7), (40.0, -5.3), (30.0, 0.0))
    for rate, names_ in ((-16.3, [TURN, "drogue", "main"]), (-16.3 * 0.78, [TURN, "drogue", "main"])):
        top = 30 * 24.7 + 40 * 5.3 - 5 * rate
        one = flight(written((5.0, 0.0), (8.0, top / 8), (5.0, rate), *legs))
        assert names(one)[1:-1] == names_
    doubted(flight(written((5.0, 0.0), (8.0, 150.0), (10.0, -15.6), (30.0, -24.5), (60.0, -5.3), (30.0, 0.0))))


def test_a_fall_without_a_canopy_may_be_as_fast_as_it_likes_or_too_short_to_be_seen() -> None:
    for fall in ((20.0, -35.0), (1.0, -10.0)):
        height = 220.0 - fall[0] * fall[1]
        one = flight(written((5, 0), (4, height / 4), fall, (41, -5.3), (30, 0)), {"flight.way": NO_DROGUE})
        assert names(one)[1:-1] == ([FALL, "main"] if fall[0] > 4 else ["main"])
        assert cd_taken(one, "main")


def test_lift_high_up_is_no_landing() -> None:
    """It hangs in lift for 12 s at 150 m: that is no ground, and what comes down after it is not left out."""
    one = flight(written(*ASCENT, (35, -22), (8, -5), (12, 0), (30, -5), (30, 0)))
    assert one.touchdown == pytest.approx(13 + 35 + 50, abs=1.5)
    doubted(one)


@pytest.mark.parametrize("lasts", [2.5, 3.0, 60.0])
def test_the_ground_is_seen_though_the_file_soon_ends(lasts: float) -> None:
    one = flight(written(*ASCENT, (35, -22), (36, -5), (lasts, 0)))
    assert one.touchdown == pytest.approx(13 + 35 + 36, abs=1.0)
    assert names(one)[1:-1] == ["drogue", "main"]


@pytest.mark.parametrize(("limits", "why"), [((55.0, 96.0), "is not all of it sinking"), ((5.0, 40.0), "is not all of it sinking"), ((30.0, 80.0), "changes by half or more at 48")])
def test_limits_by_hand_on_the_ground_in_the_climb_or_over_a_change_are_refused(limits: tuple[float, float], why: str) -> None:
    """Twelve seconds on the ground move the low end by a tenth."""
    one = flight(written(*ASCENT, (35, -22), (36, -5), (30, 0)))
    (fault,) = faults_of(lambda: one.fitted("main", *limits))
    assert why in fault.message
    assert fault.given == f"{limits[0]:.1f} to {limits[1]:.1f} s"
    assert fault.allowed in fault.message
    assert one.fitted("main", 55, 80).drag_area.best == pytest.approx(one.found["main"].drag_area.best, rel=0.02)


def test_limits_by_hand_of_another_canopy_s_phase_are_not_believed() -> None:
    one = flight(written(*ASCENT, (40, -13), (40, -6.6), (30, 0)), NEAR)
    for key, limits in (("main", (22, 50)), ("drogue", (60, 85))):
        told = taken(one.worked, [one.fitted(key, *limits)])
        assert told.fields == {}
        assert float(told.why.split("it sinks ")[1].split(" times")[0]) == pytest.approx(1.9, abs=0.15)
        assert "more than 1.3 times is not believed" in told.why


def test_one_that_is_not_believed_keeps_what_agrees_from_being_handed_out_and_says_so() -> None:
    one = flight(written(*ASCENT, (35, -22), (36, -5), (30, 0)))
    good = [flight(written(*ASCENT, (35, -22), (36, -5), (30, 0), seed=seed)).found["main"] for seed in (3, 4)]
    told = taken(one.worked, [*good, one.fitted("main", 22, 45)])
    assert told.fields == {}
    assert "1 of 3 is so far off" in told.why
    assert taken(one.worked, good).fields


def test_a_file_that_begins_and_ends_in_the_air_counts_both_heights_that_its_field_may_have() -> None:
    """Shown over the sea or over a field at 1500 m: in either case the range holds the drag that a whole file tells."""
    legs, field = ((20.0, -22.0), (25.0, -5.0)), {"site.elevation": "1500 m"}
    for above in (0.0, 1500.0):
        rows = written(*legs, above=above + 600)
        one = flight(rows, field)
        assert one.zeros == ((0.0, 1500.0) if above else (0.0,))
        true = flight(written((5.0, 0.0), (5.0, 120.0), *legs, (7.0, -5.0), (30.0, 0.0)), field).found["main"].drag_area.best
        area = one.found["main"].drag_area
        assert area.low <= true <= area.high


def test_a_file_that_begins_in_flight_takes_no_pad_for_granted() -> None:
    """At 200 samples a second ten of them lie near together in any climb: the zero would be hundreds of metres up."""
    one = flight(written((2.0, 60.0), (20.0, -22.0), (35.0, -5.0), (20.0, 0.0), step=0.005, above=450.0))
    assert one.zero == pytest.approx(450 + 120 - 440 - 175, abs=1.0)


def test_times_that_jump_at_each_minute_are_refused() -> None:
    rows = written(*ASCENT, (35, -22), (40, -5), (30, 0), step=0.5).split("\n")[1:]

    def clock(text: str) -> str:
        seconds = float(text) + 42
        return f"{120000 + 100 * int(seconds // 60) + seconds % 60:.1f}"

    text = "time (s),alt (m)\n" + "\n".join(f"{clock(row.split(',')[0])},{row.split(',')[1]}" for row in rows)
    (fault,) = faults_of(lambda: read_log(text))
    assert "hours, minutes and seconds" in fault.message
    assert fault.given == "120059, 120100" or fault.given == "120060, 120100"


@pytest.mark.parametrize("head", ["n,zeit (s),alt (m)", "t,time (ms),alt (m)", "t,zeit,alt (m)", "time,clock,alt (m)"])
def test_of_two_columns_that_grow_the_time_is_asked_for(head: str) -> None:
    """The first counts rows; its name is no proof."""
    text = "\n".join([head, *(f"{i},{0.5 * i},{500 - 3 * i}" for i in range(100))])
    (fault,) = faults_of(lambda: read_log(text, time_unit="s", height_unit="m"))
    assert (fault.field, fault.allowed) == ("time_column", "one of 1, 2")
    assert read_log(text, time_unit="s", height_unit="m", time_column=2, height_column=3).times[2] == 1.0
    sure = text.replace(head, "n,time (s),alt (m)")
    assert read_log(sure).times[2] == 1.0
    counted = text.replace(head, "time (s),battery,alt (m)")  # one sample a second beside something else that grows
    assert read_log(counted).times[2] == 2.0


def test_a_draught_that_lasts_is_counted_where_flights_are_few_and_goes_by_the_rate_it_sank_at() -> None:
    one = flight(written(*ASCENT, (35, -22), (36, -5), (30, 0)))
    found = one.found["main"]
    told = taken(one.worked, [found])
    assert told.rate.low <= found.rate.low - 0.45
    assert told.rate.high >= found.rate.high + 0.45
    slowly = Once(found.canopy, found.drag_area, found.sank / 2)  # the same drag, measured under a quarter of the mass
    assert taken(one.worked, [slowly]).rate.high > told.rate.high + 0.45
    many = [Once(found.canopy, found.drag_area.map(lambda area, i=i: area * (1 + i / 100)), found.sank) for i in range(5)]  # type: ignore[misc]
    assert taken(one.worked, many).rate.high < told.rate.high
    assert len(distinct([found, found, *many])) == 5


# --- the plan's own net -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("texts", "verdict"), [
    ({"main.canopy.cd_measured_low": "0.74", "main.canopy.cd_measured_high": "0.8"}, "pass"),
    ({"main.canopy.cd_measured_low": "1.1", "main.canopy.cd_measured_high": "1.3"}, "warn"),
    ({"main.canopy.cd_measured_low": "3.4", "main.canopy.cd_measured_high": "3.6"}, "fail"),
    ({"main.canopy.cd_measured_low": "0.2", "main.canopy.cd_measured_high": "0.21"}, "fail"),
    ({"main.canopy.cd_measured_low": "0.1", "main.canopy.cd_measured_high": "5"}, "fail"),
    ({"drogue.canopy.cd_measured_low": "3", "drogue.canopy.cd_measured_high": "3.1"}, "fail"),
    ({"drogue.canopy.family": "cross", "drogue.canopy.cd_measured_low": "1.2", "drogue.canopy.cd_measured_high": "1.25"}, "warn"),
])  # fmt: skip
def test_a_plan_says_of_a_measured_drag_how_far_it_lies_from_its_family_s(texts: Mapping[str, str], verdict: str) -> None:
    key = next(iter(texts)).split(".")[0]
    checks = [check for check in plan(RIG | dict(texts)).checks if check.name == "measured-drag"]
    assert [(check.bay, check.verdict) for check in checks] == [(key, verdict)]


def test_what_is_handed_out_never_fails_in_the_plan() -> None:
    for rate in (-4.3, -4.6, -5.0, -6.0, -6.6, -7.0, -7.4):
        one = flight(written(*ASCENT, (35, -22), (190 / -rate, rate), (30, 0)))
        if not one.doubt and (fields := taken(one.worked, [one.found["main"]]).fields):
            checks = plan(RIG | fields).checks
            assert next(check.verdict for check in checks if check.name == "measured-drag") != "fail"


def test_the_same_samples_are_seen_whatever_was_done_to_the_file() -> None:
    legs = (*ASCENT, (35, -22), (36, -5), (30, 0))
    rows = written(*legs).split("\n")
    log = read_log("\n".join(rows))
    cells = [row.split(",") for row in rows[1:]]
    feet = "time (ms),alt (ft)\n" + "\n".join(f"{1000 * float(t) + 5000:.0f},{float(h) / 0.3048:.1f}" for t, h in cells)
    for text in (feet, "\n".join(rows[:300] + rows[301:]), "\n".join(rows[:900])):
        assert same_record(log, read_log(text))
        assert same_record(read_log(text), log)
    assert not same_record(log, read_log(written(*legs, seed=4)))
    coarse = [read_log("time (s),alt (m)\n" + "\n".join(f"{t},{round(float(h) / 3) * 3}" for t, h in (row.split(",") for row in written((300, 0), *legs, (300, 0), seed=seed, step=1.0).split("\n")[1:]))) for seed in (3, 4)]
    shifted = read_log("time (s),alt (m)\n" + "\n".join(f"{t},{h * 0.9}" for t, h in zip(coarse[0].times, coarse[0].heights, strict=True)))
    assert not same_record(coarse[1], shifted)  # long on the same ground
