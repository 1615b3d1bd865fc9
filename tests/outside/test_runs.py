"""The scaled landing against full runs of the same cases; the runs themselves are checked by scipy in test_libraries."""

import random
from collections.abc import Callable
from dataclasses import replace
from math import atan2, radians

import numpy as np
import pytest
from scipy.stats import kstest, triang

from loftbook.physics.atmosphere import STANDARD
from loftbook.physics.canopy import terminal_rate
from loftbook.physics.descent import Phase, column, landing
from loftbook.physics.motion import Opening, run
from loftbook.physics.scatter import Spreads, scattered
from loftbook.physics.wind import WindLayer, layered_wind, power_wind


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
        full = run(mass, (Opening("main", release, area, 0.1, 8.0),), rate, elevation, STANDARD)
        drift = 0.0
        for a, b in zip(full.instants, full.instants[1:], strict=False):
            middle = (a.height + b.height) / 2
            drift += (b.time - a.time) * (wind(a.height)[0] + 4 * wind(middle)[0] + wind(b.height)[0]) / 6
        assert scaled.time == pytest.approx(full.touchdown.time, rel=0.01)
        assert scaled.spot[0] == pytest.approx(drift, rel=0.01)


# --- the scatter, without its draws: each cause alone must be the triangle it says, however it was drawn --------------

NOTHING = Spreads(((1.0, 1.0),), 0.0, 0.0, 0.0, 0.0, 0.0)
EVEN, CASES = layered_wind([WindLayer(0.0, 5.0, 270.0)]), 4000
ALONE = Phase(600.0, 5.4)


def landed(spreads: Spreads, phases: tuple[Phase, ...] = (ALONE,)) -> list[tuple[float, float]]:
    table = column(phases[0].height * (1 + spreads.release), 120.0, STANDARD, EVEN, [phase.height for phase in phases])
    return list(scattered(table, phases, spreads, CASES, seed=3).spots)


def triangular(values: list[float]) -> bool:
    """Whether they may have come from a triangle from -1 to 1 about 0: Kolmogorov and Smirnov's test."""
    return float(kstest(values, triang(0.5, loc=-1, scale=2).cdf).pvalue) > 0.01


@pytest.mark.parametrize(
    ("spreads", "cause"),
    [
        (replace(NOTHING, drag=((0.8, 1.2),)), lambda k: (k * k - 1) / 0.2),
        (replace(NOTHING, mass=0.1), lambda k: (1 / (k * k) - 1) / 0.1),
        (replace(NOTHING, wind=0.25), lambda k: (k - 1) / 0.25),
    ],
    ids=["drag", "mass", "wind"],
)
def test_each_cause_scatters_the_drift_as_a_triangle(spreads: Spreads, cause: Callable[[float], float]) -> None:
    """Drift goes with wind, and with the root of drag over mass (mechanics)."""
    (best, _) = landed(NOTHING)[0]
    assert triangular([cause(east / best) for east, _ in landed(spreads)])


def test_the_release_scatters_upwards_as_often_as_downwards() -> None:
    """Each case's height found again from where it landed, by a table of its own."""
    fresh = column(800.0, 120.0, STANDARD, EVEN, [i * 1.0 for i in range(1, 800)])
    heights = [row[0] for row in fresh.rows]
    drifts = [row[2] / ALONE.rate for row in fresh.rows]
    found = [float(np.interp(east, drifts, heights)) for east, _ in landed(replace(NOTHING, release=0.2))]
    assert triangular([(height / 600 - 1) / 0.2 for height in found])
    assert max(found) > 600 * 1.18


def test_the_wind_turns_about_its_best_direction() -> None:
    assert triangular([atan2(north, east) / radians(20) for east, north in landed(replace(NOTHING, direction=20.0))])


def test_each_canopys_drag_is_drawn_by_itself() -> None:
    """The variances of two causes that know nothing of each other add up (any text on statistics)."""
    phases = (Phase(1200.0, 10.0), Phase(500.0, 6.0))
    variances = [
        float(np.var([east for east, _ in landed(replace(NOTHING, drag=drag), phases)]))
        for drag in (((0.6, 1.4), (1.0, 1.0)), ((1.0, 1.0), (0.6, 1.4)), ((0.6, 1.4), (0.6, 1.4)))
    ]
    assert min(variances[:2]) > 0
    assert variances[2] == pytest.approx(variances[0] + variances[1], rel=0.05)


def test_the_mains_height_scatters_by_itself_and_upwards_too() -> None:
    phases = (Phase(600.0, 30.0), Phase(200.0, 5.0))
    (best, _) = landed(replace(NOTHING, drag=((1, 1), (1, 1))), phases)[0]
    spots = [east for east, _ in landed(replace(NOTHING, drag=((1, 1), (1, 1)), release=0.1), phases)]
    # 10 % more of the top gives 60 m at 30 m/s, 10 % more of the main's height 20 m at 5 m/s instead of at 30 m/s
    most = 5 * (60 / 30 + 20 * (1 / 5 - 1 / 30))
    assert best + 0.7 * most < max(spots) < best + most
    assert best - most < min(spots) < best - 0.7 * most
    assert sum(spots) / CASES == pytest.approx(best, abs=most / 50)


def test_a_main_never_opens_above_the_top() -> None:
    """Both heights scatter, the main's right below the top: none lands as if it had come from higher than the top."""
    phases = (Phase(600.0, 30.0), Phase(590.0, 5.0))
    spots = landed(replace(NOTHING, drag=((1, 1), (1, 1)), release=0.3), phases)
    top = landing(column(780.0, 120.0, STANDARD, EVEN), [Phase(780.0, 5.0)]).spot[0]
    assert min(east for east, _ in spots) > 0
    assert max(east for east, _ in spots) < top


def test_a_table_that_ends_below_the_highest_release_is_refused() -> None:
    table = column(600.0, 120.0, STANDARD, EVEN)
    with pytest.raises(ValueError, match="below the highest release"):
        scattered(table, (ALONE,), replace(NOTHING, release=0.05), 10)
    with pytest.raises(ValueError, match="shorter"):
        scattered(table, (ALONE, Phase(200.0, 5.0)), NOTHING, 10)
