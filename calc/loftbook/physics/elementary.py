"""Elementary functions that give the same bits on every machine.

The C libraries under CPython and under the browser's Python differ in the last bit of sin, pow and their kin
(a few in a hundred arguments), while + - x / and sqrt are exact everywhere. These go through `decimal`, whose
arithmetic is defined digit by digit, with some ten digits to spare before rounding to a float (fewer for sine and cosine next to their zeros). Angles in radians.
"""

from collections.abc import Iterable
from decimal import Context, Decimal
from math import isfinite, sqrt

from loftbook.physics.remembered import remembered

__all__ = ["PI", "arctangent", "cosine", "exponential", "logarithm", "median", "power", "sine", "sqrt", "tangent"]

PI = 3.141592653589793
_exact = Context(prec=28)
_remember = remembered(4096)
_PI = Decimal("3.14159265358979323846264338327950288")


def _decimal(value: float) -> Decimal:
    if not isfinite(value):
        raise ValueError(f"not finite: {value!r}")
    return Decimal(value)


def median(values: Iterable[float]) -> float:
    """The middle one of at least one value [any], of an even number the mean of the two. The browser has no library for it."""
    rows = sorted(values)
    half = len(rows) // 2
    return rows[half] if len(rows) % 2 else (rows[half - 1] + rows[half]) / 2


@_remember
def exponential(x: float) -> float:
    """e to the power x, dimensionless. Raises ValueError unless x is finite, as all functions here do."""
    return float(_exact.exp(_decimal(x)))


@_remember
def logarithm(x: float) -> float:
    """Natural logarithm of x > 0, dimensionless. Raises decimal.InvalidOperation for x < 0."""
    return float(_exact.ln(_decimal(x)))


@_remember
def power(base: float, exponent: float) -> float:
    """base ** exponent for base >= 0, dimensionless."""
    if not base:
        return float(exponent == 0)
    return float(_exact.exp(_exact.multiply(_decimal(exponent), _exact.ln(_decimal(base)))))


@_remember
def sine(x: float) -> float:
    """Sine (dimensionless) of x in radians, any size."""
    return float(_series(_decimal(x), odd=True))


@_remember
def cosine(x: float) -> float:
    """Cosine (dimensionless) of x in radians, any size."""
    return float(_series(_decimal(x), odd=False))


@_remember
def tangent(x: float) -> float:
    """Tangent (dimensionless) of x in radians: sine over cosine."""
    value = _decimal(x)
    return float(_exact.divide(_series(value, odd=True), _series(value, odd=False)))


@_remember
def arctangent(x: float) -> float:
    """Angle in radians, -pi/2 to pi/2, whose tangent is x.

    By halving the angle until Euler's series is short: atan x = 2 atan(x / (1 + sqrt(1 + x^2))).
    """
    value, doublings = _decimal(x), 0
    while abs(value) > Decimal("0.1"):
        root = _exact.sqrt(_exact.add(1, _exact.multiply(value, value)))
        value, doublings = _exact.divide(value, _exact.add(1, root)), doublings + 1
    square = _exact.multiply(value, value)
    total, term, index = value, value, 1
    while abs(term) > Decimal("1e-30"):
        term = _exact.multiply(term, -square)
        index += 2
        total = _exact.add(total, _exact.divide(term, index))
    return float(_exact.multiply(total, 2**doublings))


def _series(x: Decimal, *, odd: bool) -> Decimal:
    """Taylor series of sine (odd) or cosine about 0, after reduction to one turn."""
    x = _exact.remainder_near(x, 2 * _PI)
    square = _exact.multiply(x, x)
    term = total = x if odd else Decimal(1)
    index = 1 if odd else 0
    while abs(term) > Decimal("1e-30"):
        term = _exact.divide(_exact.multiply(term, -square), (index + 1) * (index + 2))
        total = _exact.add(total, term)
        index += 2
    return total
