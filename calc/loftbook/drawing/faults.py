"""What lies on the field after a flight that came down wrong, to scale from the rig: lines twisted shut, a canopy torn, a tube slit."""

from loftbook.drawing.svg import Canvas, Drawing, Length
from loftbook.physics.elementary import PI, sine

_TURNS, _STEPS = 4, 48
_CROWN = 0.3  # height of an open canopy over its width, as drawn


def twisted(lines: float, width: float, length: Length, description: str) -> Drawing:
    """lines: how long they are, width: of the canopy were it open [m]; shut it is half as long. How far they are twisted nobody computed."""
    cloth = width / 2
    long = lines + cloth
    half, rope = 0.07 * long, 0.016 * long
    canvas = Canvas((0, -half, long, half), left=14, right=14, top=28, bottom=44)
    start, end = 0.08 * lines, 0.8 * lines
    for way in (-1, 1):
        spots = [(start + (end - start) * i / _STEPS, way * rope * sine(2 * PI * _TURNS * i / _STEPS)) for i in range(_STEPS + 1)]
        canvas.shape("line", [(0, 0), *spots, (lines, way * half)], closed=False)
        canvas.shape("line", [(end, 0), (lines, way * half / 3)], closed=False)
    canvas.shape("cloth", [(lines, -half), (lines, half), (lines + 0.5 * cloth, 0.6 * half), (long, 0), (lines + 0.5 * cloth, -0.6 * half)])
    canvas.dot("link", (0, 0))
    canvas.words((14, 16), "link", "start")
    canvas.text((long, half), "canopy, shut", "end", shift=(0, -8))
    canvas.across(0, lines, -half, f"lines {length(lines)}", below=10)
    return canvas.drawing("Lines twisted shut, to scale along their length", description)


def torn(width: float, lines: float, length: Length, description: str) -> Drawing:
    """width: of the open canopy, lines: how long they are [m]; a panel torn from the skirt up, a line off at its joint."""
    half, crown = width / 2, _CROWN * width
    fall = lines if lines < 1.2 * width else 1.2 * width  # longer ones go on below
    canvas = Canvas((-half, -fall, half, crown), left=60, right=60, top=30, bottom=44, tallest=180)
    arc = [(half * i / 8, crown * (1 - (i / 8) * (i / 8))) for i in range(-8, 9)]
    for corner in (arc[0], arc[4], arc[12]):
        end = (corner[0] * (1 - fall / lines), -fall)
        canvas.segment("line", corner, end)
    canvas.shape("line", [arc[-1], (0.94 * half, -0.2 * fall), (0.99 * half, -0.35 * fall)], closed=False)
    canvas.shape("cloth", arc, 0.5)
    canvas.shape("fault", [(0.2 * half, 0), (0.27 * half, 0.3 * crown), (0.17 * half, 0.5 * crown), (0.24 * half, 0.75 * crown)], closed=False)
    canvas.dot("corner", arc[-1])
    canvas.text((0, crown), "torn panel", shift=(0, -8))
    canvas.text((half, -0.35 * fall), "line off", shift=(0, 18))
    canvas.across(-half, half, -fall, f"open {length(width)}", below=10)
    return canvas.drawing("Where a tear began says what tore it; open canopy, to scale", description)


def at_mouth(tube: float, cord: float, cut: bool, length: Length, description: str) -> Drawing:
    """The mouth from the side: tube: its diameter, cord: its width [m]. The cord has slit the wall, or is cut itself."""
    middle, over = 0.62 * tube, 0.8 * tube
    left, right = min(0.0, middle - cord / 2), max(tube, middle + cord / 2)
    canvas = Canvas((left, -tube, right, over), left=70, right=70, top=26, bottom=44, tallest=190)
    canvas.box("airframe", (0, -tube), (tube, 0))
    low, high = middle - cord / 2, middle + cord / 2
    if cut:
        canvas.box("cord", (low, 0), (high, 0.3 * over))
        canvas.box("cord", (low, 0.55 * over), (high, over))
        ragged = [(low + cord * i / 6, (0.3 + 0.08 * (i % 2)) * over) for i in range(7)]
        canvas.shape("fault", ragged, closed=False)
        canvas.shape("fault", [(x, y + 0.2 * over) for x, y in ragged], closed=False)
    else:
        canvas.box("cord", (low, 0), (high, over))
        canvas.shape("fault", [(middle, 0), (middle + 0.03 * tube, -0.25 * tube), (middle - 0.03 * tube, -0.5 * tube), (middle, -0.75 * tube)], closed=False)
    canvas.text((middle, over), f"cord {length(cord)} wide", shift=(0, -10))
    canvas.text((0, 0), "mouth", "end", shift=(-8, 5))
    canvas.across(0, tube, -tube, f"{length(tube)} inside", below=10)
    return canvas.drawing("Cord cut at the mouth, to scale" if cut else "Tube slit from the mouth down, to scale", description)
