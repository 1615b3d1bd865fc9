"""The scaled landing against full runs of the same cases; the runs themselves are checked by scipy in test_libraries."""

import random

import pytest

from loftbook.physics.atmosphere import STANDARD
from loftbook.physics.canopy import terminal_rate
from loftbook.physics.descent import Phase, column, landing
from loftbook.physics.motion import Opening, run
from loftbook.physics.scatter import Spreads, scattered
from loftbook.physics.wind import power_wind


def test_the_scaled_landing_agrees_with_200_full_runs():
    """Steady sinking from a table of integrals against the full run of the same case, wind and all.

    The canopy fills at once (a small D0), so that both describe the same thing: what is left is the scaling. A real
    canopy loses about n D0 of height while it fills, which the steady landing leaves out and its page says so.
    """
    draw = random.Random(5)
    wind = power_wind(5.0, 0.15, 270.0)
    for _ in range(200):
        mass, area = draw.uniform(1.0, 9.0), draw.uniform(0.6, 4.0)
        release, elevation = draw.uniform(250.0, 1200.0), draw.uniform(0.0, 1500.0)
        rate = terminal_rate(mass, area, STANDARD.density(elevation))
        scaled = landing(column(release, elevation, STANDARD, wind), [Phase(release, rate)])
        full = run(mass, [Opening("main", release, area, 0.1, 8.0)], rate, elevation, STANDARD)
        drift = 0.0
        for a, b in zip(full.instants, full.instants[1:], strict=False):
            middle = (a.height + b.height) / 2
            drift += (b.time - a.time) * (wind(a.height)[0] + 4 * wind(middle)[0] + wind(b.height)[0]) / 6
        assert scaled.time == pytest.approx(full.touchdown.time, rel=0.01)
        assert scaled.spot[0] == pytest.approx(drift, rel=0.01)


def test_scatter_is_the_same_as_landing_each_draw_anew():
    """Two hundred scattered cases, each worked out again from its own table: mass, drag, wind and height by hand."""
    wind, elevation, release, rate = power_wind(4.0, 0.143, 225.0), 120.0, 600.0, 5.4
    table = column(release * 1.3, elevation, STANDARD, wind)
    spreads = Spreads((0.9, 1.1), 0.03, 0.25, 0.05, 0.0, 0.0)
    cases = scattered(table, [Phase(release, rate)], spreads, 200, seed=3)
    again = random.Random(3).random
    for spot in cases.spots:
        pull = again() + again() - 1
        drag = 1 + 0.1 * pull
        mass = 1 + 0.03 * (again() + again() - 1)
        speed = 1 + 0.25 * (again() + again() - 1)
        rise = 1 + 0.05 * (again() + again() - 1)
        for _ in range(4):  # lateness and direction are drawn, but have no range here
            again()
        fresh = column(release * rise, elevation, STANDARD, power_wind(4.0 * speed, 0.143, 225.0))
        east, north = landing(fresh, [Phase(release * rise, rate * (mass / drag) ** 0.5)]).spot
        assert spot == pytest.approx((east, north), rel=2e-3)
