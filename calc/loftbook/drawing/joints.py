"""A joint that parts, in section, to scale. Words come from the caller."""

from loftbook.drawing.svg import Canvas, Drawing, Length
from loftbook.physics.remembered import remembered


@remembered(16)
def joint_section(
    outside: float, inside: float, shoulder: float, pins: int, pin: float, length: Length, description: str
) -> Drawing:
    """The mouth of a bay with the shoulder of the part above it, and the pins that a cut through both walls meets.

    outside, inside: diameters of the tube, shoulder: how deep it sits, pin: diameter of a pin [m]; a pin too thin to be
    seen is drawn thicker. Of many pins two are met by the cut, of one only that.
    """
    outer, inner = outside / 2, inside / 2
    below, above = 1.25 * shoulder + 0.1 * outside, 0.35 * outside
    canvas = Canvas((-outer, -below, outer, above), left=30, right=130, top=16, bottom=44, tallest=230)
    canvas.box("shoulder", (-inner, -shoulder), (inner, 0))
    canvas.box("nose", (-outer, 0), (outer, above))
    for side in (-1, 1):
        canvas.box("airframe", (min(side * inner, side * outer), -below), (max(side * inner, side * outer), 0))
    half = max(pin / 2, 1.5 / canvas.scale)
    reach = 0.12 * outside
    for side in (-1, 1)[: min(pins, 2)]:
        low, high = sorted((side * (inner - reach), side * outer))
        canvas.box("pin", (low, -shoulder / 2 - half), (high, -shoulder / 2 + half))
    if shoulder > 0:
        canvas.upright(-shoulder, 0, outer, ["shoulder", length(shoulder)])
    told = f"{pins} pin{'' if pins == 1 else 's'}, {length(pin)}" if pins else "no pins"
    canvas.across(-inner, inner, -below, f"{length(inside)} inside, {told}", below=12)
    return canvas.drawing("The joint in section, to scale", description)
