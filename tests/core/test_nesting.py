"""Pieces on a bolt: none over another, all of them on the cloth, the grain along the warp; shapely judges."""

import math
from collections.abc import Sequence
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon
from test_outlines import forms, often

from loftbook.physics import gores
from loftbook.physics.form import FAMILIES
from loftbook.physics.gores import Form
from loftbook.physics.nesting import Layout, Outline, lay, lay_all
from loftbook.physics.outline import area

SEWN = {"seam": 0.012, "hem": 0.02, "vent": 0.008}


def rectangle(across: float, tall: float) -> Outline:
    return ((0.0, 0.0), (across, 0.0), (across, tall), (0.0, tall))


def judge(layout: Layout, counts: Sequence[int], gap: float = 0.0) -> None:
    """What must hold of every layout."""
    assert [sum(one.piece == i for one in layout.placed) for i in range(len(counts))] == list(counts)
    shapes = [Polygon(one.outline) for one in layout.placed]
    for one, two in combinations(shapes, 2):
        if one.distance(two) < gap + 1e-6:  # the others need no closer look
            assert one.intersection(two).area < 1e-9
            assert one.distance(two) >= gap - 1e-9
    bounds = [shape.bounds for shape in shapes]
    assert min(low for _, low, _, _ in bounds) >= -1e-9
    assert min(left for left, _, _, _ in bounds) >= -1e-9
    assert max(right for _, _, right, _ in bounds) <= layout.width + 1e-8
    assert max(high for _, _, _, high in bounds) == pytest.approx(layout.length, abs=1e-9)
    assert layout.area == pytest.approx(sum(shape.area for shape in shapes), rel=1e-9)
    assert layout.waste == pytest.approx(1 - layout.area / (layout.width * layout.length))
    assert 0 <= layout.waste + 1e-9 < 1


def headings(layout: Layout, outline: Outline) -> set[int]:
    """By how many quarter turns the pieces lie from how they were given: those which the first side shows."""
    (x0, y0), (x1, y1) = outline[:2]
    found = set()
    for one in layout.placed:
        (u0, v0), (u1, v1) = one.outline[:2]
        turn = math.atan2(v1 - v0, u1 - u0) - math.atan2(y1 - y0, x1 - x0)
        quarters = turn / (math.pi / 2)
        assert quarters == pytest.approx(round(quarters), abs=1e-6)
        found.add(round(quarters) % 4)
        assert area(one.outline) > 0  # no piece lies face down
    return found


@often
@given(
    forms([family for family in FAMILIES if family != "cross"]),
    st.floats(1.02, 6),
    st.booleans(),
    st.booleans(),
    st.sampled_from([0.0, 0.004]),
)
def test_gores_never_overlap(form: Form, share: float, one_way: bool, may_turn: bool, gap: float) -> None:
    cut = gores.gore(form).cut({sewn: out * form.size for sewn, out in SEWN.items()})
    width = share * (max(x for x, _ in cut) - min(x for x, _ in cut))
    layout = lay(cut, form.gores, width, one_way, gap * form.size, may_turn=may_turn)
    assert layout
    judge(layout, [form.gores], gap * form.size)
    allowed = {0} if one_way else {0, 2}
    assert headings(layout, cut) <= (allowed | {quarter + 1 for quarter in allowed} if may_turn else allowed)


@often
@given(
    st.lists(st.tuples(st.floats(0.05, 1.3), st.floats(0.05, 2), st.integers(1, 5)), min_size=1, max_size=5),
    st.booleans(),
    st.booleans(),
    st.sampled_from([0.0, 0.01]),
)
def test_different_pieces_never_overlap(
    sizes: list[tuple[float, float, int]], skewed: bool, may_turn: bool, gap: float
) -> None:
    pieces = [
        (((0.0, 0.0), (across, 0.0), (across * 0.6, tall), (across * 0.2, tall)) if skewed else rectangle(across, tall), count)
        for across, tall, count in sizes
    ]
    layout = lay_all(pieces, 1.5, False, gap, may_turn=may_turn)
    assert layout
    judge(layout, [count for *_, count in sizes], gap)
    apart = [lay(outline, count, 1.5, False, gap, may_turn=may_turn) for outline, count in pieces]
    assert layout.length <= sum(one.length for one in apart if one) + gap * (len(apart) - 1) + 1e-9


@often
@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=6, max_size=12), st.integers(2, 9), st.booleans())
def test_a_star_with_hollows_never_overlaps(spots: list[tuple[float, float]], count: int, one_way: bool) -> None:
    """Any outline round a middle, its hollows wherever they fall; what is hollow is taken as filled."""
    star = tuple(
        ((0.2 + 0.8 * r) * math.cos(t), (0.2 + 0.8 * r) * math.sin(t))
        for t, (r, _) in ((2 * math.pi * i / len(spots), spot) for i, spot in enumerate(spots))
    )
    layout = lay(star, count, 3.1, one_way)
    assert layout
    judge(layout, [count])


def test_triangles_lie_head_to_tail_without_waste_between() -> None:
    """Seven in a row are a trapezium of four bases; one way they take seven bases."""
    triangle = ((0.0, 0.0), (1.0, 0.0), (0.5, 2.0))
    nested, one_way = lay(triangle, 7, 4.0, False), lay(triangle, 7, 4.0, True)
    assert nested
    assert one_way
    assert nested.length == pytest.approx(2)
    assert nested.waste == pytest.approx(1 - 7 / 8)
    assert one_way.length == pytest.approx(4)
    assert headings(nested, triangle) == {0, 2}
    assert headings(one_way, triangle) == {0}


def test_two_by_the_selvedges_in_turn_are_shorter_than_one_above_the_other() -> None:
    """A row of one each would take 12; on 1.25 m each next one sinks 1 beside the slope of the last."""
    triangle = ((0.0, 0.0), (1.0, 0.0), (0.5, 2.0))
    layout = lay(triangle, 6, 1.25, False)
    assert layout
    judge(layout, [6])
    assert layout.length == pytest.approx(3 * 3)


def test_rectangles_fill_the_bolt() -> None:
    layout = lay(rectangle(0.5, 0.8), 6, 1.5, True)
    assert layout
    assert layout.length == pytest.approx(1.6)
    assert layout.waste == pytest.approx(0, abs=1e-12)
    spaced = lay(rectangle(0.49, 0.8), 6, 1.5, True, 0.015)
    assert spaced
    assert spaced.length == pytest.approx(1.615)


def test_a_remainder_may_lie_across_where_the_grain_may() -> None:
    strip = rectangle(0.4, 1.1)
    along = lay(strip, 4, 1.2, True)
    across = lay(strip, 4, 1.2, True, may_turn=True)
    assert along
    assert across
    assert along.length == pytest.approx(2.2)
    assert across.length == pytest.approx(1.5)
    judge(across, [4])
    assert headings(across, strip) == {0, 1}


def test_what_is_wider_than_the_bolt_does_not_fit() -> None:
    assert lay(rectangle(1.6, 0.4), 2, 1.5, True) is None
    assert lay_all([(rectangle(0.2, 0.2), 1), (rectangle(1.6, 0.4), 2)], 1.5, True) is None
    turned = lay(rectangle(1.6, 0.4), 2, 1.5, True, may_turn=True)
    assert turned
    assert turned.length == pytest.approx(1.6)


@pytest.mark.parametrize(("count", "width", "gap"), [(0, 1.0, 0.0), (1, 0.0, 0.0), (1, 1.0, -0.1)])
def test_nothing_to_lay_is_refused(count: int, width: float, gap: float) -> None:
    with pytest.raises(ValueError, match="nothing to lay"):
        lay(rectangle(0.1, 0.1), count, width, True, gap)
