"""An altimeter's file: text in, samples out. Heights are as the instrument showed them, above where it was set to zero.

A file is untrusted text: sizes are judged first, and what is no sample is refused with its line. Columns are found by their
shape, units by the words above them; what neither tells is asked for, never guessed.
"""

import re
from bisect import bisect_left, insort
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, isfinite

from loftbook.errors import Fault, Refusal
from loftbook.physics.atmosphere import G0
from loftbook.physics.elementary import median

LARGEST_LOG = 8_000_000  # characters
MOST_SAMPLES = 200_000
LONGEST_LINE = 2_000  # characters
MOST_COLUMNS = 64
LOWEST, HIGHEST = -2_000.0, 20_000.0  # m, of a height that is shown
LONGEST_TIME = 1e9  # s: clocks may count from any day
LEAST_STEP = 1e-4  # s between samples: no instrument is as quick (our choice)

TIME_UNITS = {"s": 1.0, "ms": 0.001}
HEIGHT_UNITS = {"m": 1.0, "ft": 0.3048}
_UNIT_WORDS = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("ms", "msec", "millis", "millisecond", "milliseconds"), "ms"),
    **dict.fromkeys(("m", "meter", "meters", "metre", "metres"), "m"),
    **dict.fromkeys(("ft", "feet", "foot"), "ft"),
}
_TIME_WORDS = {"time", "t", "timestamp", "elapsed"}
_HEIGHT_WORDS = {"altitude", "alt", "height", "agl", "h"}
_COMMENT = ("#", "//", "%")
_NUMBER = re.compile(r"[+-]?(?:\d{1,25}(?:[.,]\d{0,25})?|[.,]\d{1,25})(?:[eE][+-]?\d{1,3})?", re.ASCII)
_PLAIN, _PLAIN_LENGTH = re.compile(r"[\d.+-]*", re.ASCII), 25  # of what `float` reads as `_NUMBER` does, a file of a million cells at a time
_POINTED = re.compile(_NUMBER.pattern.replace("[.,]", "[.]"), re.ASCII)

GAP = 5.0  # usual steps: a longer lag is a gap (our choice)
_NEAR = 0.75  # s either side of a sample that judge it: a charge's blast in the bay is over in less
_SPREADS = 6.0  # robust standard deviations off the local median: two in a thousand million of normal noise
_SLACK = 3.0  # m that a sample may always be off
_SAME_SHARE = 0.9  # of the shorter file's samples aloft that the longer has too, to the last digit (our choice)
_ALOFT = 10.0  # m above the lowest that a sample in the air is at least (our choice)
_SAME_TIME, _SAME_HEIGHT = 0.02, 0.05  # s, m that the same samples lie apart at most, written in other units (our choice)


@dataclass(frozen=True)
class Log:
    """Samples of one flight: times [s] that never fall, heights as shown [m]; `spikes`: places of samples that no fall could make.

    gaps: from when to when [s] no sample came; told: how columns and units were understood, in words.
    """

    times: tuple[float, ...]
    heights: tuple[float, ...]
    spikes: frozenset[int]
    gaps: tuple[tuple[float, float], ...]
    told: str

    def within(self, start: float, end: float) -> tuple[list[float], list[float]]:
        """Times [s] and heights [m] of the samples from start to end [s] that are no spikes."""
        kept = [i for i, time in enumerate(self.times) if start <= time <= end and i not in self.spikes]
        return [self.times[i] for i in kept], [self.heights[i] for i in kept]


def _refusal(what: str, reason: str, given: str, allowed: str, field: str = "file") -> Refusal:
    given = given.strip()[:60]
    return Refusal(Fault(message=f"{what}: {reason} Allowed: {allowed}.", field=field, label=what, given=given, allowed=allowed))


def _parameter(name: str) -> str:
    """What `read_log` calls it."""
    return name.replace(" ", "_")


# --- lines and columns ------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Line:
    """A line of the file: its number from 1, its cells."""

    number: int
    cells: tuple[str, ...]


def _cut(text: str, separator: str) -> tuple[str, ...]:
    parts = text.split() if separator == " " else text.split(separator)
    cells = tuple(part.strip().strip('"').strip() for part in parts) if '"' in text else tuple(map(str.strip, parts))
    return cells[:-1] if len(cells) > 1 and not cells[-1] else cells  # lines may end in a separator


def _number(cell: str, separator: str) -> float | None:
    """A cell's number; with a decimal comma only where the comma parts no columns."""
    if not (_POINTED if separator == "," else _NUMBER).fullmatch(cell):
        return None
    value = float(cell.replace(",", "."))
    return value if isfinite(value) else None


def _all_numbers(cells: Sequence[str], separator: str) -> list[float | None]:
    """`_number` of each, at once where all are plain."""
    if _PLAIN.fullmatch("".join(cells)) and max(map(len, cells)) <= _PLAIN_LENGTH:
        with suppress(ValueError):
            return [*map(float, cells)]
    return [_number(cell, separator) for cell in cells]


def _numbers(line: _Line, separator: str) -> list[int]:
    return [i for i, cell in enumerate(line.cells) if _number(cell, separator) is not None]


def _lines(text: str) -> Iterator[tuple[int, str]]:
    """Every line that says something, with its number; sizes are judged here."""
    if len(text) > LARGEST_LOG:
        raise _refusal("file", f"it is {len(text)} characters long.", "", f"at most {LARGEST_LOG}")
    for number, line in enumerate(text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n"), 1):
        if len(line) > LONGEST_LINE:
            raise _refusal(f"line {number}", f"it is {len(line)} characters long.", line, f"at most {LONGEST_LINE}")
        if line.strip():
            yield number, line.strip("\n ")


def _table(text: str) -> tuple[str, list[_Line], list[_Line]]:
    """Separator, header lines and rows. The separator is the one by which most lines hold two numbers or more."""
    lines = list(_lines(text))
    rows = [(number, line) for number, line in lines if not line.lstrip().startswith(_COMMENT)]
    if len(rows) > MOST_SAMPLES + 100:
        raise _refusal("file", f"it has {len(rows)} lines.", "", f"at most {MOST_SAMPLES} samples")

    def fits(separator: str) -> tuple[int, int]:
        """Of the lines looked at, how many are rows; and how few of their cells are no numbers."""
        made = [_Line(0, _cut(line, separator)) for _, line in tried]
        found = [(len(line.cells), len(_numbers(line, separator))) for line in made]
        return sum(count > 1 for _, count in found), -sum(cells - count for cells, count in found if count > 1)

    tried = rows[:: max(1, len(rows) // 400)]
    separator = max(("\t", ";", ",", " "), key=fits)  # the first of equals
    made = [_Line(number, _cut(line, separator)) for number, line in rows]
    first = next((i for i, line in enumerate(made) if len(_numbers(line, separator)) > 1), None)
    if first is None:
        number, line = rows[0] if rows else (1, "")
        raise _refusal(
            f"line {number}" if rows else "file", "no line holds two numbers.", line, "columns of time and height, parted by commas, semicolons, tabs or blanks"
        )
    said = [_Line(number, _cut(line.lstrip("#/% "), separator)) for number, line in lines if number < made[first].number]
    if len(made[first].cells) > MOST_COLUMNS:
        raise _refusal(f"line {made[first].number}", f"it has {len(made[first].cells)} columns.", "", f"at most {MOST_COLUMNS}")
    return separator, said, made[first:]


def _words(cells: Sequence[str]) -> set[str]:
    return {word for cell in cells for word in re.split(r"[^a-z]+", cell.lower()) if word}


@dataclass(frozen=True)
class _Columns:
    """What is known of the columns: words above each, values of each that is all numbers."""

    words: tuple[set[str], ...]
    values: dict[int, list[float]]
    numbers: tuple[int, ...]  # of the lines

    def chosen(self, name: str, typed: int | None) -> int | None:
        """The column that the reader named, counted from 1."""
        if typed is None:
            return None
        if typed - 1 in self.values:
            return typed - 1
        raise _refusal(name, "this is no column of numbers.", str(typed), f"one of {self.listed(self.values)}", _parameter(name))

    @staticmethod
    def listed(columns: Sequence[int] | dict[int, list[float]]) -> str:
        return ", ".join(str(i + 1) for i in columns)


def _columns(separator: str, said: Sequence[_Line], rows: Sequence[_Line]) -> _Columns:
    width = len(rows[0].cells)
    above = [line for line in said if len(line.cells) == width]
    words = tuple(_words([line.cells[i] for line in above]) for i in range(width))
    numeric = _numbers(rows[0], separator)
    values: dict[int, list[float | None]] = {
        i: _all_numbers([row.cells[i] if i < len(row.cells) else "" for row in rows], separator) for i in numeric
    }
    loose = [i for i in numeric if None in values[i]]
    kept = {i: [value for value in values[i] if value is not None] for i in numeric if i not in loose}
    named = [i for i in loose if words[i] & (_TIME_WORDS | _HEIGHT_WORDS)]
    blamed = named if named else loose if len(kept) < 2 else []
    if blamed:
        bad = next(row for place, row in enumerate(rows) if any(values[i][place] is None for i in blamed))
        raise _refusal(f"line {bad.number}", "a number is missing or cannot be read.", " ".join(bad.cells), "a number for time and for height in every line")
    return _Columns(words, kept, tuple(row.number for row in rows))


def _grows(values: Sequence[float]) -> bool:
    """Never falls, and for most samples rises."""
    rises = sum(b > a for a, b in pairwise(values))
    return 2 * rises >= len(values) - 1 > 0 and all(b >= a for a, b in pairwise(values))


def _counts(values: Sequence[float]) -> bool:
    """Goes up by just one each time, as row numbers do."""
    return all(b - a == 1 for a, b in pairwise(values))


def _time_column(columns: _Columns, typed: int | None) -> int:
    """The one that grows; of several the one that is named so, unless it may be the rows that it counts. Otherwise it is asked for."""
    found, growing = columns.chosen("time column", typed), [i for i, values in columns.values.items() if _grows(values)]
    named = [i for i in columns.values if columns.words[i] & _TIME_WORDS]
    if found is None and len(growing) > 1:
        sure = [i for i in named if i in growing and (not _counts(columns.values[i]) or any(_UNIT_WORDS.get(word) in TIME_UNITS for word in columns.words[i]))]
        if len(sure) != 1 or len(named) != 1:
            raise _refusal("time column", "more than one column grows as time does.", "", f"one of {columns.listed(growing)}", "time_column")
        found = sure[0]
    if found is None:
        found = named[0] if len(named) == 1 else next(iter(growing), None)
    if found is not None and found in growing:
        return found
    values = columns.values[found if found is not None else next(iter(columns.values))]
    fall = next((i for i in range(1, len(values)) if values[i] < values[i - 1]), len(values) - 1)
    raise _refusal(
        f"line {columns.numbers[fall]}", "no column of numbers grows steadily up to here and on, as time does.", f"{values[fall]:g}", "one column of times that never fall"
    )


def _refuse_clock(columns: _Columns, time: int) -> None:
    """Refuses hours, minutes and seconds written as one number, as 142359 and then 142400: each minute it jumps by forty."""
    values = columns.values[time]
    steps = [b - a for a, b in pairwise(values) if b > a]
    usual = median(steps) if steps else 0.0
    if not 0 < usual <= 10 or any(value % 100 >= 60 for value in values):
        return
    jump = next((i for i, (a, b) in enumerate(pairwise(values)) if b - a >= 40 and b - a > GAP * usual and a % 100 + usual >= 59 and b % 100 <= GAP * usual), None)
    if jump is not None:
        allowed = "seconds or milliseconds that count on"
        raise _refusal(f"line {columns.numbers[jump + 1]}", "these look like hours, minutes and seconds written as one number: they jump at each minute.", f"{values[jump]:g}, {values[jump + 1]:g}", allowed)


def _height_column(columns: _Columns, time: int, typed: int | None) -> int:
    found = columns.chosen("height column", typed)
    if found is not None and found != time:
        return found
    others = [i for i in columns.values if i != time]
    named = [i for i in others if columns.words[i] & _HEIGHT_WORDS]
    among = named or others
    if len(among) == 1 and found is None:
        return among[0]
    raise _refusal("height column", "more than one column could be the height.", "" if typed is None else str(typed), f"one of {columns.listed(among)}", "height_column")


def _unit(name: str, typed: str, words: set[str], units: dict[str, float]) -> str:
    """The reader's word, or the header's; without either it is asked for."""
    if typed:
        if typed in units:
            return typed
        raise _refusal(name, "this unit is not known.", typed, " or ".join(units), _parameter(name))
    found = {_UNIT_WORDS[word] for word in words if _UNIT_WORDS.get(word) in units}
    if len(found) == 1:
        return found.pop()
    raise _refusal(name, "the file does not say it.", ", ".join(sorted(found)), " or ".join(units), _parameter(name))


# --- samples ----------------------------------------------------------------------------------------


def usual_step(times: Sequence[float]) -> float:
    """Median of the steps between samples that are not at one time [s], of at least two times."""
    return median([b - a for a, b in pairwise(times) if b > a])


def spikes(times: Sequence[float], heights: Sequence[float]) -> frozenset[int]:
    """Places of samples [s, m] that no fall could make: too far off the median of their neighbours (Davies and Gather 1993,
    Journal of the American Statistical Association 88, 782: the identifier after Hampel; from memory).

    Too far: six robust standard deviations of all such distances, and more than 3 m and what a free fall over the top bends
    in that time. On a slope, however steep, a sample is its neighbours' median, so rising and falling are never judged.
    """
    step = usual_step(times)
    side = min(25, max(3, round(_NEAR / step)))
    off = [height - middle for height, middle in zip(heights, _medians(heights, side), strict=True)]
    reach = ceil(side / 2) * step
    allowed = max(_SPREADS * 1.4826 * median([abs(one) for one in off]), _SLACK + G0 * reach * reach / 2)
    return frozenset(i for i, one in enumerate(off) if abs(one) > allowed)


def _medians(heights: Sequence[float], side: int) -> list[float]:
    """Of each height [m] the median of it and so many to either side, fewer next to the ends but alike: on a slope only the middle
    is the median. One window goes along and stays sorted, so that a long file is not sorted anew for every sample."""
    last, made = len(heights) - 1, []
    window = [heights[0]] if heights else []
    first = end = 0  # of the window
    for i in range(last + 1):
        near = min(side, i, last - i)
        while end < i + near:
            end += 1
            insort(window, heights[end])
        while first < i - near:
            del window[bisect_left(window, heights[first])]
            first += 1
        made.append(window[near])
    return made


def _step(times: Sequence[float], columns: _Columns) -> float:
    """The usual step [s], refused where no instrument is as quick: then the unit is another, or these are no times."""
    rising = [b - a for a, b in pairwise(times) if b > a]
    step = median(rising) if rising else 0.0
    if step < LEAST_STEP:
        raise _refusal("time unit", f"most samples would lie {step:.2g} s apart.", f"line {columns.numbers[0]}", f"times that grow by {LEAST_STEP:g} s or more", "time_unit")
    return step


def read_log(
    text: str, time_unit: str = "", height_unit: str = "", time_column: int | None = None, height_column: int | None = None
) -> Log:
    """The samples of a file. What it does not say can be said: units `s`, `ms` and `m`, `ft`; columns counted from 1.

    Raises Refusal, and nothing else, for any text that holds no readable flight.
    """
    separator, said, rows = _table(text)
    if len(rows) > MOST_SAMPLES:
        raise _refusal("file", f"it has {len(rows)} samples.", "", f"at most {MOST_SAMPLES}")
    columns = _columns(separator, said, rows)
    time = _time_column(columns, time_column)
    _refuse_clock(columns, time)
    height = _height_column(columns, time, height_column)
    of_time = _unit("time unit", time_unit, columns.words[time], TIME_UNITS)
    of_height = _unit("height unit", height_unit, columns.words[height], HEIGHT_UNITS)
    times = [value * TIME_UNITS[of_time] for value in columns.values[time]]
    heights = [value * HEIGHT_UNITS[of_height] for value in columns.values[height]]
    for number, when, where in zip(columns.numbers, times, heights, strict=True):
        if abs(when) > LONGEST_TIME or not LOWEST <= where <= HIGHEST:
            raise _refusal(f"line {number}", "this is no flight.", f"{when:g} s, {where:g} m", f"heights from {LOWEST:g} to {HIGHEST:g} m")
    step = _step(times, columns)
    gaps = tuple((a, b) for a, b in pairwise(times) if b - a > GAP * step)
    told = f"column {time + 1} is time in {of_time}, column {height + 1} is height in {of_height}"
    return Log(tuple(times), tuple(heights), spikes(times, heights), gaps, told)


def same_record(one: Log, other: Log) -> bool:
    """Whether two files hold the same samples: written twice, with another zero, clock or unit, or with lines lost. Two altimeters in
    one flight differ."""
    small, large = (_aloft(log) for log in (one, other))
    if len(small & large) > _SAME_SHARE * min(len(small), len(large)) > 0:
        return True
    if len(one.times) != len(other.times):
        return False
    later, higher = other.times[0] - one.times[0], other.heights[0] - one.heights[0]
    return all(abs(b - a - later) < _SAME_TIME for a, b in zip(one.times, other.times, strict=True)) and all(
        abs(b - a - higher) < _SAME_HEIGHT for a, b in zip(one.heights, other.heights, strict=True)
    )


def _aloft(log: Log) -> set[tuple[float, float]]:
    """Times and heights of the samples above the ground: on it any two flights may show the same."""
    least = median(sorted(log.heights)[: max(1, len(log.heights) // 20)]) + _ALOFT
    return {(time, height) for time, height in zip(log.times, log.heights, strict=True) if height > least}
