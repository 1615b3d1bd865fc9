"""A shaped canopy stretched between apex and link, and flaked gore by gore, seen from above. Words come from the caller.

Gores are to scale; what hangs together in the middle, and the lines, are not.
"""

from dataclasses import dataclass

from loftbook.drawing.cloth import draw_grain, draw_sewing, shade
from loftbook.drawing.svg import TEXT, Canvas, Drawing
from loftbook.physics.folding import Facet, Point, Sheet, Stitch
from loftbook.physics.remembered import remembered

_LINES = 84.0  # length that lines are drawn [picture units]
_BUNCH = 0.09  # half the width of cloth that hangs together, over its length


@dataclass(frozen=True)
class Flaked:
    """How far it is: gores laid to the left, layers that they make, lines that lie in the middle and those still to come."""

    gores: int
    layers: int
    laid: str
    rest: str


@dataclass(frozen=True)
class Said:
    """Words in the picture: its head in rows, apex, skirt and link."""

    head: tuple[str, ...]
    apex: str
    skirt: str
    link: str


def profile(pile: Sheet) -> tuple[Point, ...]:
    """(distance from the apex, half a gore's width) [m] from a flaked pile, apex first."""
    return tuple(sorted({(x, y) for facet in pile.facets for x, y in facet.corners if y >= 0}))


def _bunch(long: float, seams: int) -> Sheet:
    """Cloth that hangs together, apex on top, with some of its seams."""
    wide = _BUNCH * long
    spots = [-wide + 2 * wide * i / (seams - 1) for i in range(seams)]
    sewn: list[Stitch] = [("seam", (0.0, 0.0), (x, -long)) for x in spots[1:-1]]
    sewn += [("hem", (-wide, -long), (wide, -long)), ("apex", (0.0, 0.0), (0.0, 0.0))]
    return Sheet((Facet(((-wide, -long), (wide, -long), (0.0, 0.0)), 3),), tuple(((x, -long), (1,)) for x in spots), tuple(sewn))


@remembered(16)
def stretched(pile: Sheet, said: Said, numbers: tuple[str, str], name: str, description: str) -> Drawing:
    """The canopy drawn straight, apex on top, link below; numbers: of the outermost lines."""
    long = pile.box[2]
    cloth, canvas = _bunch(long, 6), _canvas(pile)
    link = _link(canvas, long)
    for at, _ in cloth.lines:
        canvas.rule("line", canvas.at(at), link)
    _cloth(canvas, cloth)
    for (at, _), words, aside in zip((cloth.lines[0], cloth.lines[-1]), numbers, (-1, 1), strict=True):
        x, y = canvas.at(at)
        canvas.tab((x + (link[0] - x) * 0.2 + 13 * aside, y + 20), words)
    x, y = canvas.at((0.0, 0.0))
    canvas.fingers([(x, y - 10)], (0.0, 1.0))
    canvas.fingers([(link[0] - 12, link[1] + 5)], (1.0, 0.0))
    canvas.arrow((link[0] - 36, link[1] - 34), (link[0] - 36, link[1] + 6))
    _words(canvas, long, said)
    return canvas.drawing(name, description, "loft-fold")


@remembered(16)
def flaking(pile: Sheet, state: Flaked, said: Said, name: str, description: str) -> Drawing:
    """Some gores flaked to the left, each folded at its middle, the rest hanging together; seen from the link."""
    edge, long, canvas = profile(pile), pile.box[2], _canvas(pile)
    link = _link(canvas, long)
    wide = edge[-1][1]
    corners = ((0.0, 0.0), *((-y, -x) for x, y in edge if y), (0.0, -long))
    flaked = Sheet((Facet(corners, state.layers),), (), (("hem", (-wide, -long), (0.0, -long)),))
    _cloth(canvas, _bunch(long, 4))
    _cloth(canvas, flaked)
    x, y = canvas.at((0.0, -long))
    for aside in (-3, 0, 3):
        canvas.rule("line", (x + aside, y), link)
    for aside in (12, 18):
        canvas.rule("line", (x + aside, y), link)
    canvas.tab((x - 24, y + 22), state.laid)
    canvas.tab((x + 40, y + 22), state.rest)
    canvas.fingers([canvas.at((-wide, -long))], (-1.0, 0.0))
    far, _ = canvas.at((-wide, 0))
    level = canvas.at((0.0, -0.8 * long))[1]
    canvas.arrow((max(x - 8, far + 40), level), (far - 12, level))
    _words(canvas, long, said)
    return canvas.drawing(name, description, "loft-fold")


def _canvas(pile: Sheet) -> Canvas:
    long, wide = pile.box[2], max(pile.box[3], 0.3 * pile.box[2])
    return Canvas((-wide, -long, wide, 0.0), left=40, right=60, top=2 * TEXT + 24, bottom=_LINES + 14, tallest=150)


def _link(canvas: Canvas, long: float) -> Point:
    x, y = canvas.at((0.0, -long))
    spot = x, y + _LINES
    canvas.spot("link", (spot[0], spot[1] + 5), 5)
    return spot


def _cloth(canvas: Canvas, sheet: Sheet) -> None:
    for facet in sheet.facets:
        canvas.shape("cloth", facet.corners, shade(facet.layers))
    draw_grain(canvas, sheet)
    draw_sewing(canvas, sheet)


def _words(canvas: Canvas, long: float, said: Said) -> None:
    for row, words in enumerate(said.head):
        canvas.words((2, TEXT + row * (TEXT + 2)), words, "start", "strong" if row == 0 else "text")
    for level, words, down in ((0.0, said.apex, 4), (-long, said.skirt, -4), (-long, said.link, _LINES + 10)):
        x, y = canvas.at((0.0, level))
        aside = 14 if level == 0.0 or down > 0 else _BUNCH * long * canvas.scale + 8
        canvas.words((x + aside, y + down), words, "start", "on-cloth")
