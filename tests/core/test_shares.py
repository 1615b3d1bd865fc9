"""Shares of the landings: which cells hold half, nine in ten and all of them, and how far one walks."""

import math
import re
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loftbook.calculators import CALCULATORS
from loftbook.physics.scatter import SHARES, Cell, cells, farthest_of, levels, walking_time
from loftbook.quantity import HEIGHT, SYSTEMS
from loftbook.rig.parsing import parse
from loftbook.rig.ways import TWO_PARTS, WAYS
from loftbook.tables import known
from loftbook.worked.worked import Worked

spot = st.tuples(st.floats(-900, 900), st.floats(-900, 900))
many = st.lists(spot, min_size=1, max_size=60)
side = st.sampled_from((0.5, 7.0, 20.0, 200.0))


@given(spots=many, side=side)
def test_every_landing_lies_in_one_cell_and_the_fullest_come_first(spots: list[tuple[float, float]], side: float) -> None:
    found = cells(spots, side)
    counted = Counter((math.floor(x / side), math.floor(y / side)) for x, y in spots)
    assert {(cell.east, cell.north): cell.count for cell in found} == counted
    assert [cell.count for cell in found] == sorted(counted.values(), reverse=True)
    for x, y in spots:
        assert any(0 <= x / side - cell.east <= 1 and 0 <= y / side - cell.north <= 1 for cell in found)


@given(spots=many, side=side)
def test_each_level_holds_its_share_with_no_cell_too_many(spots: list[tuple[float, float]], side: float) -> None:
    found = cells(spots, side)
    parted = levels(found)
    assert [cell for level in parted for cell in level] == list(found)
    held = 0
    for level, share in zip(parted, SHARES, strict=True):
        before, held = held, held + sum(cell.count for cell in level)
        assert held >= share * len(spots) * (1 - 1e-9)
        assert not level or max(before, held - level[-1].count) < share * len(spots)


def test_levels_of_a_count_by_hand() -> None:
    full = tuple(Cell(i, 0, count) for i, count in enumerate((40, 20, 15, 15, 5, 5)))
    assert [[cell.count for cell in level] for level in levels(full)] == [[40, 20], [15, 15], [5, 5]]
    assert [[cell.count for cell in level] for level in levels(full[:1])] == [[40], [], []]


@given(spots=many, share=st.sampled_from((0.1, 0.5, 0.9, 1.0)))
def test_a_share_of_the_landings_lies_no_farther_than_the_one_named(spots: list[tuple[float, float]], share: float) -> None:
    far = farthest_of(spots, share)
    assert far in spots
    squares = [x * x + y * y for x, y in spots]
    reach = far[0] * far[0] + far[1] * far[1]
    assert sum(one <= reach for one in squares) >= share * len(spots) - 1e-6
    assert sum(one < reach for one in squares) < share * len(spots)


def test_the_ninth_of_ten_landings() -> None:
    assert farthest_of([(float(i), 0.0) for i in range(10, 0, -1)], 0.9) == (9.0, 0.0)


def test_a_walk_takes_its_way_over_its_pace() -> None:
    assert walking_time(480, 0.8) == pytest.approx(600)


@pytest.mark.parametrize("units", SYSTEMS)
@pytest.mark.parametrize("way", WAYS)
def test_the_page_says_how_far_one_walks(way: str, units: str) -> None:
    worked = Worked(parse({"flight.way": way, "rig.units": units}), 400)
    answer = CALCULATORS["landing"].answer(worked, "")
    walks = [value for name in ("nine_in_ten", "forward_nine_in_ten") if isinstance(value := answer.outputs[name], float)]
    assert len(walks) == (2 if way == TWO_PARTS else 1)
    landed = worked.descent.landed(400)
    for one, walk in zip(landed, walks, strict=True):
        assert sum(math.hypot(*spot) <= walk * (1 + 1e-12) for spot in one.scatter.spots) == 360
    said = re.search(r"within (.+?) of the pad.*?, up to (\d+) min on foot", answer.summary)
    assert said
    assert said[1] == worked.at_least(max(walks), HEIGHT)
    assert int(said[2]) - 1 < max(walks) / known("walk").low / 60 <= int(said[2])
    assert ("forward part" in answer.drawings[0].svg) == (way == TWO_PARTS)
    assert any("common practice, no source" in note for note in answer.notes)
