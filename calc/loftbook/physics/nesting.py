"""Pieces laid on a bolt of cloth: how they lie, how much of it is bought, how much of that is waste.

Knows metres only: x across the bolt from 0 to its width, y along it from 0, the warp along y. Plane geometry.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from loftbook.physics.outline import Point, area, grown

Outline = tuple[Point, ...]
_ROUNDING = 1e-9  # so little may a piece be wider than the bolt [m]
_SLIVER = 1e-12  # levels closer than that are one [m]


@dataclass(frozen=True)
class Placed:
    """piece: its number among those that were laid; outline: where it lies [m]."""

    piece: int
    outline: Outline


@dataclass(frozen=True)
class Layout:
    """width: of the bolt [m]; length: bought of it [m]; placed: every piece that is cut from it."""

    width: float
    length: float
    placed: tuple[Placed, ...]

    @property
    def area(self) -> float:
        """Cloth within the outlines [m^2]."""
        return sum(area(one.outline) for one in self.placed)

    @property
    def waste(self) -> float:
        """Share of the cloth bought that lies outside the pieces (dimensionless)."""
        return 1 - self.area / (self.width * self.length)


@dataclass(frozen=True)
class _Way:
    """One way to lay a piece, row after row along the bolt.

    pitch: from row to row [m]; tall: how far the first so many of a row reach, from one piece to all of them, with the gap [m];
    row: where the first so many of it lie, from x = 0 and y = 0.
    """

    pitch: float
    tall: Sequence[float]
    row: Callable[[int], list[Outline]]

    def rows(self, count: int) -> int:
        """How many of them so many pieces need."""
        return -(-count // len(self.tall))

    def length(self, count: int) -> float:
        """Of so many pieces [m]."""
        if not count:
            return 0.0
        before = self.rows(count) - 1
        return before * self.pitch + self.tall[count - before * len(self.tall) - 1]

    def laid(self, count: int, start: float) -> Iterator[Outline]:
        """So many pieces, in rows from a length on [m]."""
        for row in range(self.rows(count)):
            for outline in self.row(min(len(self.tall), count - row * len(self.tall))):
                yield _moved(outline, 0.0, start + row * self.pitch)


def lay(
    outline: Outline, count: int, width: float, one_way: bool, gap: float = 0.0, *, may_turn: bool = False
) -> Layout | None:
    """So many of one piece on a bolt of a width [m]; None when it does not fit across.

    outline: anticlockwise [m], its y along the warp; one_way: all heads the same way (printed, napped or sheen cloth), else every
    second one may lie head to tail; gap: least distance from piece to piece [m], not to the selvedge; may_turn: the
    grain may lie across as well. Rows across the bolt, in each as many as fit, pushed together until their outlines touch
    on some level; or one by one along both selvedges in turn, pushed together along the bolt. Hollows in a side are taken as
    filled. What is left of full rows may lie another way. The shortest length wins.
    """
    if count < 1 or not width > 0 or not gap >= 0:
        raise ValueError(f"nothing to lay: {count} on {width} m, {gap} m apart")
    ways = [
        way
        for turned in ((False, True) if may_turn else (False,))
        for head_to_tail in ((False,) if one_way else (False, True))
        for made in (_across, _along)
        if (way := made(_settled(_turned(outline) if turned else outline), width, gap, head_to_tail))
    ]
    if not ways:
        return None
    length, firsts, _, _, one, two = min(
        (one.length(firsts) + two.length(count - firsts), firsts, i, j, one, two)
        for i, one in enumerate(ways)
        for j, two in enumerate(ways)
        for firsts in {*range(0, count, len(one.tall)), count}
    )
    laid = [*one.laid(firsts, 0.0), *two.laid(count - firsts, one.length(firsts))]
    return Layout(width, length - gap, tuple(Placed(0, piece) for piece in laid))


def lay_all(
    pieces: Sequence[tuple[Outline, int]], width: float, one_way: bool, gap: float = 0.0, *, may_turn: bool = False
) -> Layout | None:
    """Different pieces, each so many times, one block after the other along the bolt [m]; None when one does not fit.

    Or, where that is shorter and they are few, each in its own rectangle wherever there is room. Numbered as they are given.
    """
    blocks = [lay(outline, count, width, one_way, gap, may_turn=may_turn) for outline, count in pieces]
    start, placed = 0.0, list[Placed]()
    for number, block in enumerate(blocks):
        if block is None:
            return None
        placed += [Placed(number, _moved(one.outline, 0.0, start)) for one in block.placed]
        start += block.length + gap
    apart = Layout(width, start - gap, tuple(placed))
    options = [apart]
    if (len(pieces) > 1 or may_turn) and sum(count for _, count in pieces) <= _TOGETHER:
        options += _mixed(pieces, width, gap, may_turn)
    return min(options, key=lambda layout: layout.length)


# --- rows -----------------------------------------------------------------------------------------


def _across(outline: Outline, width: float, gap: float, head_to_tail: bool) -> _Way | None:
    """Rows across the bolt, as many in each as fit; None when not even one does."""
    across, tall = _extent(outline)
    if across > width + _ROUNDING:
        return None
    pair = (outline, _headed(outline, across, tall) if head_to_tail else outline)
    room = _room(outline, gap)
    there = _profile(room)
    back = _profile(_headed(room, across, tall)) if head_to_tail else there
    pitches, alike = (_pitch(back, there), _pitch(there, back)), _pitch(there, there)
    places = [0.0]
    while True:
        place = places[-1] + pitches[len(places) % 2]
        if len(places) > 1:
            place = max(place, places[-2] + alike)
        if place + across > width + _ROUNDING:
            break
        places.append(place)
    lies = [(pair[i % 2], place, 0.0) for i, place in enumerate(places)]
    return _Way(tall + gap, [tall + gap] * len(lies), partial(_first, lies))


def _along(outline: Outline, width: float, gap: float, head_to_tail: bool) -> _Way | None:
    """One by one, left and right in turn, two to a row; None where one does not fit or two are side by side without that."""
    across, tall = _extent(outline)
    if not across - _ROUNDING <= width < 2 * across + gap:
        return None
    right = max(0.0, width - across)
    other = _moved(_headed(outline, across, tall) if head_to_tail else outline, right, 0.0)
    room = _room(outline, gap)
    across_room = _moved(_headed(room, across, tall) if head_to_tail else room, right, 0.0)
    there, back = (_profile(tuple((y, x) for x, y in one)) for one in (room, across_room))
    up = _pitch(there, back)
    pitch = max(up + _pitch(back, there), _pitch(there, there))
    lies = [(outline, 0.0, 0.0), (other, 0.0, up)]
    return _Way(pitch, [tall + gap, up + tall + gap], partial(_first, lies))


def _first(lies: Sequence[tuple[Outline, float, float]], count: int) -> list[Outline]:
    """The first so many of a row."""
    return [_moved(*one) for one in lies[:count]]


def _room(outline: Outline, gap: float) -> Outline:
    """An outline with half of the gap about it."""
    return grown(outline, gap / 2) if gap else outline


def _headed(outline: Outline, across: float, tall: float) -> Outline:
    """Turned head to tail within its own room."""
    return tuple((across - x, tall - y) for x, y in outline)


Band = tuple[float, float, float, float]  # between two levels: left below and above, right below and above


@dataclass(frozen=True)
class _Profile:
    """Of an outline: levels from low to high, and between each two of them the one span that holds all of it."""

    levels: Sequence[float]
    bands: Sequence[Band]

    def at(self, band: int, level: float) -> tuple[float, float]:
        """Left and right on a level of a band [m]."""
        low, high = self.levels[band : band + 2]
        part = (level - low) / (high - low)
        left0, left1, right0, right1 = self.bands[band]
        return left0 + part * (left1 - left0), right0 + part * (right1 - right0)


def _profile(outline: Outline) -> _Profile:
    """Between levels the outline is straight lines: of several on a side the hull of their ends, which holds them all."""
    levels = sorted({y for _, y in outline})
    spans = [[(9e99, 9e99, -9e99, -9e99)] for _ in levels[1:]]
    for (x0, y0), (x1, y1) in pairwise([*outline, outline[0]]):
        if y0 > y1:
            x0, y0, x1, y1 = x1, y1, x0, y0
        for band in range(bisect_left(levels, y0), bisect_left(levels, y1)):
            low, high = (x0 + (x1 - x0) * (level - y0) / (y1 - y0) for level in levels[band : band + 2])
            spans[band].append((low, high, low, high))
    bands = [
        (min(a for a, *_ in span), min(b for _, b, *_ in span), max(c for *_, c, _ in span), max(d for *_, d in span))
        for span in spans
    ]
    return _Profile(levels, bands)


def _pitch(one: _Profile, two: _Profile) -> float:
    """How far right of one the other must lie so that on no level they overlap [m], 0 or more."""
    if one is two:
        return max(max(right0 - left0, right1 - left1) for left0, left1, right0, right1 in one.bands)
    bottom, top = max(one.levels[0], two.levels[0]), min(one.levels[-1], two.levels[-1])
    levels = sorted({bottom, top, *(level for level in (*one.levels, *two.levels) if bottom < level < top)})
    most = 0.0
    for low, high in pairwise(levels):
        if high - low < _SLIVER:
            continue
        middle = (low + high) / 2
        first, second = bisect_right(one.levels, middle) - 1, bisect_right(two.levels, middle) - 1
        for level in (low, high):
            most = max(most, one.at(first, level)[1] - two.at(second, level)[0])
    return most


# --- different pieces side by side ----------------------------------------------------------------

Box = tuple[float, float, float, float]  # left, low, right, high
Size = tuple[float, float]  # across, along
_TOGETHER = 48  # more pieces than that are laid in blocks only: the sums grow with the cube of their number
_ORDERS: tuple[Callable[[Size], Size], ...] = (
    lambda size: (size[1], size[0]),
    lambda size: size,
    lambda size: (size[0] * size[1], 0.0),
    lambda size: (min(size), max(size)),
    lambda size: (max(size), min(size)),
    lambda size: (size[0] + size[1], size[1]),
)
_RULES: tuple[Callable[[Box, Size], Size], ...] = (
    lambda free, size: (free[1] + size[1], free[0]),  # ends as low as it can, then as far left
    lambda free, size: (min(free[2] - free[0] - size[0], free[3] - free[1] - size[1]), free[1]),  # where it is snuggest
)


def _mixed(pieces: Sequence[tuple[Outline, int]], width: float, gap: float, may_turn: bool) -> Iterator[Layout]:
    """Each piece in its own rectangle, the greatest first, put into one of the largest rectangles that are still free.

    By several notions of great and of where it goes: which does best depends on the pieces.
    """
    kinds = [(_settled(outline), _settled(_turned(outline)) if may_turn else None) for outline, _ in pieces]
    numbers = [i for i, (_, count) in enumerate(pieces) for _ in range(count)]
    for order in _ORDERS:
        queue = sorted(numbers, key=lambda number: order(_extent(kinds[number][0])), reverse=True)
        for rule in _RULES:
            yield _filled([(number, kinds[number]) for number in queue], width, gap, rule)


def _filled(
    queue: Sequence[tuple[int, tuple[Outline, Outline | None]]], width: float, gap: float, rule: Callable[[Box, Size], Size]
) -> Layout:
    """One by one in their order, each where the rule likes it best."""
    free: list[Box] = [(0.0, 0.0, width + gap, 9e99)]
    placed, length = [], 0.0
    for number, kinds in queue:
        options = [
            (rule(box, (across + gap, tall + gap)), box[:2], (across, tall), outline)
            for outline in kinds
            if outline
            for across, tall in [_extent(outline)]
            for box in free
            if across + gap <= box[2] - box[0] + _ROUNDING and tall + gap <= box[3] - box[1] + _ROUNDING
        ]
        _, (left, low), (across, tall), outline = min(options, key=lambda option: option[:3])
        placed.append(Placed(number, _moved(outline, left, low)))
        length = max(length, low + tall)
        free = _without(free, (left, low, left + across + gap, low + tall + gap))
    return Layout(width, length, tuple(placed))


def _without(free: Sequence[Box], taken: Box) -> list[Box]:
    """The largest free rectangles when one is taken."""
    left, low, right, high = taken
    whole = [box for box in free if box[0] >= right or box[2] <= left or box[1] >= high or box[3] <= low]
    parts = {
        part
        for box in free
        if not (box[0] >= right or box[2] <= left or box[1] >= high or box[3] <= low)
        for part in (
            (box[0], box[1], left, box[3]),
            (right, box[1], box[2], box[3]),
            (box[0], box[1], box[2], low),
            (box[0], high, box[2], box[3]),
        )
        if part[0] < part[2] and part[1] < part[3]
    }
    return whole + [part for part in sorted(parts) if not any(_holds(box, part) for box in (*whole, *parts))]


def _holds(box: Box, part: Box) -> bool:
    """Whether one is within the other, and not that itself."""
    return box != part and box[0] <= part[0] and box[1] <= part[1] and box[2] >= part[2] and box[3] >= part[3]


# --- small things ---------------------------------------------------------------------------------


def _extent(outline: Outline) -> tuple[float, float]:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return max(xs) - min(xs), max(ys) - min(ys)


def _settled(outline: Outline) -> Outline:
    """Moved so that its least x and y are 0."""
    return _moved(outline, -min(x for x, _ in outline), -min(y for _, y in outline))


def _moved(outline: Outline, right: float, up: float) -> Outline:
    return tuple((x + right, y + up) for x, y in outline)


def _turned(outline: Outline) -> Outline:
    """A quarter turn to the left."""
    return tuple((-y, x) for x, y in outline)
