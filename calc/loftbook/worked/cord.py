"""A recovery cord: how it is rigged, how long it must be, what hangs from it, how strong it is. SI."""

from dataclasses import dataclass
from functools import cached_property

from loftbook.physics import cord
from loftbook.rig.bay_fields import NOSE_ALONG, NOSE_AT_LINES, OWN, TWO_SECTIONS
from loftbook.rig.rig import Said
from loftbook.tables import CORDS, ENDS, known


@dataclass(frozen=True)
class Cord:
    """What a rig says of one cord."""

    said: Said

    @property
    def layout(self) -> str:
        """How the two sides it ties hang on it; a cord that ties one part only has its lines at the end."""
        return self.said.chosen("cord.layout") or NOSE_AT_LINES

    @property
    def length(self) -> float:
        """From its anchor in the airframe to where the lines are tied in [m]."""
        return self.said.number("cord.length")

    @property
    def gap(self) -> float:
        """Line attachment to nose [m]: 0 where they meet, the forward leg of two sections."""
        return 0.0 if self.layout == NOSE_AT_LINES else self.said.number("cord.gap")

    @property
    def stowed(self) -> float:
        """All cord that is stowed: anchor to line attachment, and a forward leg if there is one [m]."""
        return self.length + (self.gap if self.layout == TWO_SECTIONS else 0.0)

    @property
    def free(self) -> float:
        """Cord between the two parts it ties together [m]: all of it, less the gap, or both legs."""
        more = {NOSE_AT_LINES: 0.0, NOSE_ALONG: -self.gap, TWO_SECTIONS: self.gap}[self.layout]
        return self.length + more

    @property
    def width(self) -> float:
        """[m]."""
        return self.said.number("cord.width")

    @property
    def thickness(self) -> float:
        """[m]."""
        return self.said.number("cord.thickness")

    @property
    def bulk(self) -> float:
        """Volume of all stowed cord as it lies flat [m^3]."""
        return self.stowed * self.width * self.thickness

    @property
    def strength(self) -> float:
        """Breaking strength [N], new and without a knot."""
        own = self.said.text("cord.material") == OWN
        return self.said.number("cord.rating") if own else CORDS[self.said.text("cord.material")].strength.value

    @property
    def stretch(self) -> float:
        """Stretch at break, as a share."""
        own = self.said.text("cord.material") == OWN
        return self.said.number("cord.stretch") if own else CORDS[self.said.text("cord.material")].stretch.value

    @property
    def source(self) -> str:
        row = CORDS.get(self.said.text("cord.material"))
        return row.strength.cited if row else OWN

    @property
    def end(self) -> float:
        """Efficiency of the cord's ends."""
        return ENDS[self.said.text("cord.end")].efficiency.value


@dataclass(frozen=True)
class Rigged:
    """A cord with what hangs from it.

    lines: length of the suspension lines, 0 without a canopy; depth: of the bay it comes out of; forward: length of
    what hangs on the nose side, None where the cord ties only one part [m].
    """

    cord: Cord
    lines: float
    depth: float
    forward: float | None

    @cached_property
    def least(self) -> float:
        """Least cord, anchor to line attachment; a forward leg is not part of it [m]. To a nanometre: what floats leave over is none."""
        gap = self.cord.gap if self.cord.layout == NOSE_ALONG else 0.0
        return round(cord.least_length(self.lines, self.depth, gap), 9)

    @property
    def ties_two(self) -> bool:
        """Whether it ties what lies forward of a joint to what lies aft of it."""
        return self.forward is not None

    @property
    def with_allowance(self) -> float:
        """The least with the reader's allowance [m]."""
        return round(self.least + self.cord.said.number("cord.allowance"), 9)

    @property
    def rocket_lengths(self) -> float:
        """Its length over the rocket's."""
        return self.cord.length / self._rocket

    @property
    def usual(self) -> tuple[float, float]:
        """What high-power practice gives a cord that ties two sides, (least, most) [m]."""
        row = known("cord_lengths")
        return row.low * self._rocket, row.high * self._rocket

    @property
    def practice_governs(self) -> bool:
        """Whether several rocket lengths are more than the least with its allowance."""
        return self.ties_two and self.usual[0] > self.with_allowance

    @property
    def suggested(self) -> float:
        """[m]."""
        return self.usual[0] if self.practice_governs else self.with_allowance

    @property
    def _rocket(self) -> float:
        return self.cord.said.rig.number("rocket.length")
