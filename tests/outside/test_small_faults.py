"""Closed forms where a small fault once went by unnoticed (scripts/mutate.py finds such places)."""

import math

import pytest

from loftbook.rig.parsing import parse
from loftbook.worked.sky import Sky


@pytest.mark.parametrize("bearing", [225, 160])
def test_the_wind_at_launch_is_as_strong_as_the_layer_says_from_wherever_it_blows(bearing: int) -> None:
    """Not only from one of the four quarters, where one of its two parts is nothing."""
    sky = Sky(parse({"flight.wind": "2 m/s", "flight.layers": f"0 m 8.5 m/s {bearing}; 300 m 12 m/s {bearing}"}))
    assert sky.launch_wind == pytest.approx(8.5 + 3.5 * 10 / 300, rel=1e-12)
    calm = Sky(parse({"flight.wind": "9 m/s", "flight.layers": f"0 m 3 m/s {bearing}"}))
    assert calm.launch_wind == 9.0
    east, north = sky.wind(10.0)
    assert math.hypot(east, north) == pytest.approx(sky.launch_wind, rel=1e-12)
