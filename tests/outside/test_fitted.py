"""The fit of an altimeter's heights against general libraries: dense covariances, distributions, least squares on heights, air."""

import math
import random

import numpy as np
import pytest
import scipy.stats
from ambiance import Atmosphere
from scipy.integrate import quad, solve_ivp
from scipy.optimize import least_squares

from loftbook.physics import barometer, fitting
from loftbook.physics.atmosphere import STANDARD, Air
from loftbook.physics.fitting import student, student_reach, sunk


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 5, 30, 31, 100])
def test_student_s_distribution_agrees_with_scipy(degrees: int) -> None:
    for t in (-20.0, -1.3, 0.0, 0.4, 2.5, 12.0):
        assert student(t, degrees) == pytest.approx(scipy.stats.t.cdf(t, degrees), rel=1e-9, abs=1e-12)
    assert student_reach(0.95, degrees) == pytest.approx(scipy.stats.t.ppf(0.975, degrees), rel=1e-9)


@pytest.mark.parametrize(("memory", "strength"), [(0.7, 0.1), (1.5, 3.0), (6.0, 40.0), (3.0, 0.0)])
def test_the_filter_s_line_is_that_of_the_whole_covariance(memory: float, strength: float) -> None:
    """Generalized least squares with the dense matrix of an integrated Ornstein-Uhlenbeck wind; times unevenly apart."""
    rng = random.Random(1)
    times = np.cumsum([rng.uniform(0.2, 2) for _ in range(32)])
    values = 3 - 6 * times + np.array([rng.gauss(0, 2) for _ in times])
    ours = fitting._row(list(times), list(values), memory, strength)
    since = times - times[0]
    s, t = np.minimum.outer(since, since), np.maximum.outer(since, since)
    wander = strength * memory**2 * (2 * s / memory - 1 + np.exp(-s / memory) + np.exp(-t / memory) - np.exp(-(t - s) / memory))
    inverse = np.linalg.inv(np.eye(len(times)) + wander)
    design = np.column_stack([np.ones_like(times), times])
    square = design.T @ inverse @ design
    found = np.linalg.solve(square, design.T @ inverse @ values)
    left = values - design @ found
    variance = left @ inverse @ left / (len(times) - 2)
    assert ours.slope == pytest.approx(found[1], rel=1e-8)
    assert ours.error == pytest.approx(math.sqrt(variance * np.linalg.inv(square)[1, 1]), rel=1e-8)
    logs = -np.linalg.slogdet(inverse)[1] + np.linalg.slogdet(square)[1] + (len(times) - 2) * np.log(left @ inverse @ left)
    assert ours.likelihood == pytest.approx(-logs / 2, rel=1e-8)


@pytest.mark.parametrize(("drag_area", "mass", "top", "noise"), [(1.0, 2.2, 300.0, 0.0), (0.06, 2.2, 1500.0, 0.3), (2.5, 6.0, 250.0, 0.5)])
def test_the_drag_agrees_with_least_squares_on_heights(drag_area: float, mass: float, top: float, noise: float) -> None:
    """The other side integrates the whole motion and searches drag and starting height; with noise both lie within each other's errors."""

    def heights(area: float, start: float, times: np.ndarray) -> np.ndarray:
        def motion(_: float, state: np.ndarray) -> tuple[float, float]:
            density = STANDARD.density(120 + max(state[0], 0.0))
            return -state[1], 9.80665 - density * state[1] ** 2 * area / (2 * mass)

        begun = math.sqrt(2 * mass * 9.80665 / (STANDARD.density(120 + start) * area))
        return solve_ivp(motion, (0, times[-1]), (start, begun), t_eval=times, rtol=1e-8, atol=1e-8).y[0]

    rate = math.sqrt(2 * mass * 9.80665 / (1.2 * drag_area))
    times = np.linspace(0, 0.85 * top / rate, 240)
    rng = np.random.default_rng(3)
    seen = heights(drag_area, top, times) + noise * rng.standard_normal(len(times))
    theirs = least_squares(lambda guess: heights(guess[0] * drag_area, guess[1] * top, times) - seen, (0.9, 1.01), x_scale=(0.1, 0.01)).x[0] * drag_area
    ours = sunk(list(times), list(seen), mass, 120.0, STANDARD)
    assert ours.drag_area.best == pytest.approx(theirs, rel=1e-3 if not noise else 5e-3)
    assert ours.drag_area.low < theirs < ours.drag_area.high


@pytest.mark.parametrize("warmer", [-25.0, 0.0, 18.0])
@pytest.mark.parametrize("elevation", [0.0, 120.0, 1600.0])
@pytest.mark.parametrize("true", [50.0, 600.0, 3000.0])
def test_true_heights_agree_with_the_hypsometric_equation_in_ambiance_s_air(warmer: float, elevation: float, true: float) -> None:
    """ln p falls by g / (R T) a metre: from the true height to the pressure, from that to what the standard atmosphere shows."""
    fall, _ = quad(lambda z: Atmosphere(z).grav_accel[0] / (287.05287 * (Atmosphere(z).temperature[0] + warmer)), elevation, elevation + true)
    pressure = Atmosphere(elevation).pressure[0] * math.exp(-fall)
    shown = Atmosphere.from_pressure(pressure).H[0] - Atmosphere(elevation).H[0]
    (found,) = barometer.true_heights([shown], elevation, Air(warmer=warmer))
    assert found == pytest.approx(true, rel=2e-4, abs=0.05)
