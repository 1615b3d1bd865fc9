"""A joint that parts, in section, to scale, and the forces at it as arrows to one scale. Words come from the caller."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from loftbook.drawing.markup import rectangle
from loftbook.drawing.svg import TEXT, WIDTH, Drawing, Length, Paper
from loftbook.physics.remembered import remembered

_SEAM = WIDTH / 2  # where the two parts meet, and all arrows begin
_LONGEST = _SEAM - 10
_ROW = TEXT + 2
_FORCE = 2 * _ROW + 6  # height of an arrow with its two rows of words


@dataclass(frozen=True)
class Joined:
    """outside, inside: diameters of the tube, shoulder: how deep it sits, pin: diameter of a pin [m]; how many pins."""

    outside: float
    inside: float
    shoulder: float
    pins: int
    pin: float


@dataclass(frozen=True)
class Force:
    """One force [N] along the joint, its name and its size in words; what holds points into the tube, the others away."""

    name: str
    size: str
    newtons: float
    acts: Literal["holds", "pulls", "pushes"]


@dataclass(frozen=True)
class When:
    """Forces that act at the same time, and when that is."""

    name: str
    forces: tuple[Force, ...]


@remembered(16)
def joint_section(joint: Joined, acting: tuple[When, ...], length: Length, description: str) -> Drawing:
    """The mouth of a bay on its side, the shoulder of the part forward of it, the pins that a cut meets, what acts on it.

    A pin too thin to be seen is drawn thicker. Of many pins two are met by the cut, of one only that.
    """
    scale = min(70 / joint.outside, 120 / max(joint.shoulder, 1e-3))
    middle = 8 + joint.outside * scale / 2
    paper = Paper(0)
    _cut(paper, joint, scale, middle)
    foot = middle + joint.outside * scale / 2
    if joint.shoulder > 0:
        paper.measure(((_SEAM - joint.shoulder * scale, foot + 10), (_SEAM, foot + 10)), (0, 5))
    paper.words((_SEAM - 6, foot + 10 + _ROW), f"shoulder {length(joint.shoulder)}", "end", "dim-text")
    pins = f"{joint.pins} pin{'' if joint.pins == 1 else 's'}, {length(joint.pin)}" if joint.pins else "no pins"
    paper.words((_SEAM + 6, middle - 4), f"{length(joint.inside)} inside", "start")
    paper.words((_SEAM + 6, middle - 4 + _ROW), pins, "start")
    low = _forces(paper, acting, foot + 10 + _ROW + 10)
    paper.height = low + 4
    return paper.drawing("The joint in section, and all forces at it to one scale", description)


def _cut(paper: Paper, joint: Joined, scale: float, middle: float) -> None:
    """Tube to the left of the seam, what closes it to the right, its shoulder inside, pins through both."""
    outer, inner, deep = joint.outside * scale / 2, joint.inside * scale / 2, joint.shoulder * scale
    paper.put(rectangle("shoulder", (_SEAM - deep, middle - inner), deep, 2 * inner))
    paper.put(rectangle("nose", (_SEAM, middle - outer), _LONGEST, 2 * outer))
    for top in (middle - outer, middle + inner):
        paper.put(rectangle("airframe", (10, top), _SEAM - 10, outer - inner))
    half, reach = max(joint.pin * scale / 2, 1.5), 0.12 * 2 * outer + outer - inner
    for side in (-1, 1)[: min(joint.pins, 2)]:
        top = middle - outer if side < 0 else middle + outer - reach
        paper.put(rectangle("pin", (_SEAM - deep / 2 - half, top), 2 * half, reach))


def _forces(paper: Paper, acting: Sequence[When], top: float) -> float:
    """Every force as an arrow from the seam on, its words on the other side of it; returns the lower edge."""
    longest = max((force.newtons for when in acting for force in when.forces), default=0.0)
    scale = _LONGEST / longest if longest > 0 else 0.0
    y, begins = top, top
    for when in acting:
        paper.words((10, y + TEXT), when.name, "start")
        paper.rule("axis", (10, y + TEXT + 5), (WIDTH - 10, y + TEXT + 5))
        y += TEXT + 9
        for force in when.forces:
            way = -1 if force.acts == "holds" else 1
            _arrow(paper, f"force {force.acts}", y + _FORCE / 2 - 2, way * force.newtons * scale)
            anchor = "end" if way > 0 else "start"
            paper.words((_SEAM - 8 * way, y + TEXT), force.name, anchor)
            paper.words((_SEAM - 8 * way, y + TEXT + _ROW), force.size, anchor, "dim-text")
            y += _FORCE
    paper.rule("dim", (_SEAM, begins + TEXT + 5), (_SEAM, y))
    return y


def _arrow(paper: Paper, class_: str, y: float, long: float) -> None:
    """A straight arrow from the seam, `long` picture units to the right (negative: to the left), its head not longer than it."""
    way = 1 if long >= 0 else -1
    head = way * min(12.0, abs(long))
    neck, tip = _SEAM + long - head, _SEAM + long
    spots = ((_SEAM, y - 4), (neck, y - 4), (neck, y - 9), (tip, y), (neck, y + 9), (neck, y + 4), (_SEAM, y + 4))
    paper.add("polygon", class_, points=" ".join(f"{x:.2f},{at:.2f}" for x, at in spots))
