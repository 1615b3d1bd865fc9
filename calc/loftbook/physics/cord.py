"""The recovery cord: how long it must be, and whether what hangs from it can strike the airframe.

All lengths in metres. The rules are common practice, no source; they are exact by definition.
"""

from dataclasses import dataclass


def least_length(lines: float, bay: float, gap: float = 0.0) -> float:
    """Least cord [m] from anchor to line attachment: lines + 2 x bay depth + gap, the nose part-way along [m].

    Common practice, no source.
    """
    return lines + 2 * bay + gap


@dataclass(frozen=True)
class Hanging:
    """Depths below the line attachment while hanging [m]: tip of the nose, mouth of the airframe."""

    nose_top: float
    nose_tip: float
    mouth: float

    @property
    def clearance(self) -> float:
        """How far the lowest point of the nose stays above the mouth; negative when they can touch [m]."""
        return self.mouth - self.nose_tip


def hanging(cord: float, bay: float, gap: float, nose: float) -> Hanging:
    """How the parts hang: cord from anchor to line attachment, depth of the bay it is anchored in, gap from line
    attachment to nose, nose: its length as it hangs [m]. Plain addition; no stretch."""
    return Hanging(gap, gap + nose, cord - bay)
