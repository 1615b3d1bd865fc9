"""The chain from cloth to bulkhead: what each part must carry, what it is rated for, and the jerk of the cord. SI.

Ratings times efficiency (knot, seam) against load times the user's design factor. Loads come from elsewhere.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from loftbook.physics.canopy import line_tension_share
from loftbook.physics.elementary import sqrt

UNEVEN = 1.1  # largest over mean line load while opening, design figure 1.05 to 1.1 (handbook practice; memory)


def reduced_mass(one: float, other: float) -> float:
    """m1 m2 / (m1 + m2) [kg] of two parts [kg] tied together (any mechanics text)."""
    return one * other / (one + other)


def cord_stiffness(strength: float, stretch: float, length: float) -> float:
    """k = P / (eps L) [N/m]: breaking strength [N], stretch at break (share), length [m], all above 0; a linear cord."""
    return strength / (stretch * length)


def in_series(*stiffnesses: float) -> float:
    """Stiffness [N/m] of springs one behind the other, each above 0: 1/k = sum of 1/k_i (any mechanics text)."""
    return 1 / sum(1 / one for one in stiffnesses)


def stopping_force(speed: float, stiffness: float, mass: float) -> float:
    """Greatest force [N] in a spring [N/m] that stops a mass [kg] at `speed` [m/s]: F = v sqrt(k m).

    Energy method (any mechanics text); of two masses that fly apart, take the reduced one. Linear, nothing lost.
    """
    return speed * sqrt(stiffness * mass)


def cord_jerk(speed: float, one: float, other: float, strength: float, stretch: float, length: float) -> float:
    """Greatest force [N] when two parts fly apart at `speed` [m/s] and the cord stops them: F = v sqrt(k mu).

    one, other: the parts' masses [kg]; strength [N], stretch at break (share) and length [m] of the cord. Energy
    method (any mechanics text): mu v^2 / 2 = k x^2 / 2; linear cord, nothing lost.
    """
    return stopping_force(speed, cord_stiffness(strength, stretch, length), reduced_mass(one, other))


def cord_energy(strength: float, stretch: float, length: float) -> float:
    """Energy [J] a linear cord takes until it breaks: P eps L / 2; strength [N], stretch (share), length [m]."""
    return strength * stretch * length / 2


def cloth_tension(force: float, edge: float) -> float:
    """Tension in the cloth where the whole force goes through an edge of it [N/m]: F / L (statics).

    force on the canopy [N]; edge [m]: of a thin hemisphere under even pressure pi D_p at its widest place, of a cross the four ends
    of its arms where those are less.
    """
    return force / edge


def line_load(force: float, lines: int, line_length: float, skirt_radius: float) -> float:
    """Load on the hardest pulled line [N]: even share along the line's own direction, times `UNEVEN`.

    force on the canopy [N]; line length and inflated skirt's radius [m]. Refuses (ValueError) lines too short to span
    the skirt.
    """
    if not skirt_radius < line_length:
        raise ValueError("the lines are shorter than the radius of the inflated skirt")
    return UNEVEN * force * line_tension_share(lines, line_length, skirt_radius)


def edge_load(force: float, width: float) -> float:
    """Force [N] over width [m] of cord bearing on the mouth of the tube [N/m]."""
    return force / width


@dataclass(frozen=True)
class Part:
    """One link of the chain: rating [N], efficiency of its knot or seam (0 to 1), load [N] and where it comes from."""

    name: str
    rating: float
    efficiency: float
    load: float
    cause: str

    @property
    def strength(self) -> float:
        """What it bears as it is tied or sewn [N]: rating x efficiency."""
        return self.rating * self.efficiency

    @property
    def margin(self) -> float:
        """Strength over load, dimensionless."""
        return self.strength / self.load


def weakest_first(parts: Iterable[Part]) -> tuple[Part, ...]:
    """The parts in rising order of margin; of equal ones the earlier first."""
    return tuple(sorted(parts, key=lambda part: part.margin))
