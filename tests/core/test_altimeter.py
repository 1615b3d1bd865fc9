"""An altimeter's file: columns, units, spikes and gaps are found or asked for, and any other text is refused with its line."""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loftbook.errors import Fault, Refusal
from loftbook.log import altimeter
from loftbook.log.altimeter import LARGEST_LOG, LONGEST_LINE, Log, read_log

TIMES = [0.05 * i for i in range(400)]
HEIGHTS = [300.0 - 6 * time for time in TIMES]


def written(separator: str = ",", decimal: str = ".", head: str = "time (s),altitude (m)\n", places: int = 3) -> str:
    rows = (separator.join(f"{value:.{places}f}".replace(".", decimal) for value in row) for row in zip(TIMES, HEIGHTS, strict=True))
    return head.replace(",", separator) + "\n".join(rows)


def fault_of(text: str, **said: object) -> Fault:
    with pytest.raises(Refusal) as caught:
        read_log(text, **said)  # type: ignore[arg-type]
    (fault,) = caught.value.faults
    assert fault.label in fault.message
    assert fault.allowed in fault.message
    assert fault.allowed
    return fault


# --- what is read -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("separator", "decimal"), [(",", "."), (";", "."), (";", ","), ("\t", "."), ("\t", ","), (" ", "."), ("   ", ",")])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_separator_and_decimal_sign(separator: str, decimal: str, end: str) -> None:
    head = "time_s,alt_m\n"
    log = read_log(("\ufeff" + written(separator, decimal, head)).replace("\n", end))
    assert log.times == pytest.approx(TIMES)
    assert log.heights == pytest.approx(HEIGHTS)
    assert log.spikes == frozenset()
    assert log.gaps == ()


@pytest.mark.parametrize("head", [
    "# flight 3, 2026-05-02\n#\n// 12 °C\n% windy\n\nTime [s],Altitude [m]\n",
    "a device; its number\ntime,altitude\ns,m\n",
    "# time (seconds),height AGL (metres)\n",
])  # fmt: skip
def test_headers_and_comments_are_skipped_and_tell_the_units(head: str) -> None:
    log = read_log(head + written(head=""))
    assert log.heights == pytest.approx(HEIGHTS)


def test_units_are_converted() -> None:
    rows = "\n".join(f"{time * 1000:.0f},{height / 0.3048:.4f}" for time, height in zip(TIMES, HEIGHTS, strict=True))
    log = read_log("Time (ms),Altitude (ft)\n" + rows)
    assert log.times == pytest.approx(TIMES)
    assert log.heights == pytest.approx(HEIGHTS, abs=1e-4)
    assert read_log(rows, "ms", "ft") == log
    assert read_log("Time (s),Altitude (m)\n" + rows, "ms", "ft") == log  # the reader's word goes over the file's


def test_columns_are_found_by_shape_and_by_words() -> None:
    rows = [(f"{h:.2f}", f"{math.sin(t):.3f}", f"{t:.2f}", "coast") for t, h in zip(TIMES, HEIGHTS, strict=True)]
    body = "\n".join(",".join(row) for row in rows)
    log = read_log("alt (m),acceleration,time (s),state\n" + body)
    assert log.heights == pytest.approx(HEIGHTS, abs=0.01)
    assert log.told == "column 3 is time in s, column 1 is height in m"
    fault = fault_of(body, time_unit="s", height_unit="m")  # which of two could be the height is asked
    assert (fault.field, fault.allowed) == ("height_column", "one of 1, 2")
    assert read_log(body, "s", "m", height_column=1).heights == log.heights


def test_a_comment_in_the_middle_and_a_separator_at_the_end_of_lines_are_no_harm() -> None:
    lines = written().split("\n")
    lines[50:50] = ["# drogue", ""]
    assert read_log(";\n".join(lines[:1]) + "\n" + "\n".join(f"{line}," if line[:1].isdigit() else line for line in lines[1:])).heights == pytest.approx(HEIGHTS)


# --- spikes and gaps --------------------------------------------------------------------------------


def test_spikes_are_marked_and_kept() -> None:
    rng = random.Random(1)
    heights = [height + rng.gauss(0, 0.5) for height in HEIGHTS]
    for place in (40, 41, 200, 333):
        heights[place] += 60
    log = read_log("time (s),alt (m)\n" + "\n".join(f"{t},{h}" for t, h in zip(TIMES, heights, strict=True)))
    assert log.spikes == {40, 41, 200, 333}
    assert log.heights[200] == heights[200]
    assert TIMES[200] not in log.within(0, 100)[0]
    assert len(log.within(0, 100)[0]) == len(TIMES) - 4


@pytest.mark.parametrize("step", [0.02, 0.05, 0.2, 1.0, 2.0])
def test_a_flight_has_no_spikes(step: float) -> None:
    """A climb at 250 m/s, a free fall over the top and a hard opening are none, however seldom it is sampled."""
    times = [step * i for i in range(int(230 / step))]

    def height(t: float) -> float:
        if t < 4:
            return 250.0 / 8 * t * t
        if t < 34:
            return 500 + 250 * (t - 4) - 9.80665 / 2 * (t - 4) ** 2
        return max(0.0, 8000 - 9.80665 / 2 * 30 * 30 - 20 * (t - 34))

    assert altimeter.spikes(times, [height(t) for t in times]) == frozenset()


def test_gaps_are_told() -> None:
    kept = [(t, h) for t, h in zip(TIMES, HEIGHTS, strict=True) if not 5 < t < 5.3 and not 12 < t < 12.15]
    log = read_log("time (s),alt (m)\n" + "\n".join(f"{t:.2f},{h}" for t, h in kept))
    assert log.gaps == ((5.0, 5.3),)  # three steps are no gap yet


# --- what is refused --------------------------------------------------------------------------------


@pytest.mark.parametrize(("text", "said", "field", "label"), [
    ("", {}, "file", "file"),
    ("hello\nworld", {}, "file", "line 1"),
    (written(head=""), {}, "time_unit", "time unit"),
    (written(head=""), {"time_unit": "s"}, "height_unit", "height unit"),
    (written(head=""), {"time_unit": "min"}, "time_unit", "time unit"),
    (written(head="time (s/ms),alt (m)\n"), {}, "time_unit", "time unit"),
    (written(), {"height_column": 7}, "height_column", "height column"),
    (written(), {"height_column": 1}, "height_column", "height column"),
    (written(), {"time_column": 0}, "time_column", "time column"),
    (written().replace("3.000,", "1.000,"), {}, "file", "line 62"),  # time falls
    (written().replace("282.000", "nan"), {}, "file", "line 62"),
    (written().replace("282.000", ""), {}, "file", "line 62"),
    (written().replace("282.000", "1e300"), {}, "file", "line 62"),
    (written().replace("282.000", "28200"), {}, "file", "line 62"),
    (written() + "\nsomething else", {}, "file", "line 402"),
    ("time (s),alt (m)\n1,2", {}, "file", "line 2"),
    ("x" * (LONGEST_LINE + 1), {}, "file", "line 1"),
    ("1 2\n" * (LARGEST_LOG // 4 + 1), {}, "file", "file"),
    ("1 2\n" * (altimeter.MOST_SAMPLES + 101), {}, "file", "file"),
    (",".join(["1"] * 100) + "\n" + ",".join(["2"] * 100), {}, "file", "line 1"),
    ("\x00\x01\x02", {}, "file", "line 1"),
])  # fmt: skip
def test_what_is_no_flight_is_refused_by_its_line_or_field(text: str, said: dict, field: str, label: str) -> None:
    fault = fault_of(text, **said)
    assert (fault.field, fault.label) == (field, label)
    assert len(fault.message) < 400


def holds(log: Log) -> None:
    assert len(log.times) == len(log.heights) >= 2
    assert all(b >= a for a, b in zip(log.times, log.times[1:], strict=False))
    assert all(math.isfinite(value) for value in (*log.times, *log.heights))
    assert log.spikes <= set(range(len(log.times)))


def samples_or_refusal(text: str, said: dict) -> None:
    """Any other exception is a fault."""
    faults = None
    try:
        log = read_log(text, **said)
    except Refusal as refusal:
        faults = refusal.faults
    if faults is None:
        holds(log)
    else:
        assert faults
        assert all(fault.message and fault.allowed for fault in faults)


CELL = st.sampled_from(["", "0", "1", "2.5", "-3,5", "1e3", "nan", "inf", "time", "alt (m)", "#", '"7"', "9" * 40, "１"]) | st.floats().map(repr)
TABLE = st.tuples(st.sampled_from([",", ";", "\t", " ", ", "]), st.lists(st.lists(CELL, max_size=4), max_size=12)).map(
    lambda drawn: "\n".join(drawn[0].join(row) for row in drawn[1])
)
UNITS = st.sampled_from([{}, {"time_unit": "s", "height_unit": "m"}, {"time_unit": "ms", "height_unit": "ft", "height_column": 2}])


@settings(derandomize=True, max_examples=600, deadline=None)
@given(text=st.text(max_size=300) | TABLE, said=UNITS)
def test_any_text_is_samples_or_a_refusal(text: str, said: dict) -> None:
    samples_or_refusal(text, said)


@settings(derandomize=True, max_examples=200, deadline=None)
@given(place=st.integers(0, 7000), junk=st.text(max_size=5), cut=st.integers(0, 20))
def test_a_damaged_file_is_samples_or_a_refusal(place: int, junk: str, cut: int) -> None:
    text = written()
    samples_or_refusal(text[:place] + junk + text[place + cut :], {})


GROWING = st.lists(st.floats(0.01, 5), min_size=3, max_size=40).map(lambda steps: [sum(steps[: i + 1]) for i in range(len(steps))])


@settings(derandomize=True, max_examples=150, deadline=None)
@given(times=GROWING, data=st.data())
def test_what_is_written_is_read(times: list[float], data: st.DataObject) -> None:
    heights = data.draw(st.lists(st.floats(-100, 5000), min_size=len(times), max_size=len(times)))
    log = read_log("t (s)\tagl (m)\n" + "\n".join(f"{t!r}\t{h!r}" for t, h in zip(times, heights, strict=True)))
    assert list(log.times) == times
    assert list(log.heights) == heights


PLAIN = st.text("0123456789.+-", max_size=28) | st.sampled_from(["1", "-2.5", "+.5", "3.", "4,5", "1e3", "1_0", "", "9" * 25, "9" * 26, "１"])


@settings(derandomize=True, max_examples=600, deadline=None)
@given(cells=st.lists(PLAIN | st.floats(-9e9, 9e9).map(repr), min_size=1, max_size=4), separator=st.sampled_from([",", ";"]))
def test_a_column_at_once_is_what_its_cells_are_one_by_one(cells: list[str], separator: str) -> None:
    assert altimeter._all_numbers(cells, separator) == [altimeter._number(cell, separator) for cell in cells]
