"""A chain with every link as thick as what it bears goes into what pulls at it. Words come from the caller."""

from dataclasses import dataclass

from loftbook.drawing.markup import element, number
from loftbook.drawing.svg import TEXT, WIDTH, Drawing, Paper
from loftbook.physics.remembered import remembered

_ROW, _OVERLAP, _WIDE, _LEFT = 26.0, 8.0, 28.0, 8.0  # of a link, picture units
_THICK, _MOST, _LEAST = 1.6, 12.0, 1.0  # of a link that bears its load once; of the thickest and the thinnest that is drawn


@dataclass(frozen=True)
class Link:
    """One part: what it is called, what it bears over its load (dimensionless, above 0), the same in words."""

    name: str
    margin: float
    words: str


@remembered(16)
def links(rows: tuple[Link, ...], weakest: int, name: str, description: str) -> Drawing:
    """The parts from top to bottom, at least one; the one with that number stands out."""
    paper = Paper(_ROW * len(rows) + 2 * _OVERLAP)
    for i, row in enumerate(rows):
        thick, y = min(_MOST, max(_LEAST, _THICK * row.margin)), _OVERLAP + _ROW * i
        class_ = "chain-link weakest" if i == weakest else "chain-link"
        paper.put(
            element(
                "rect",
                class_=class_,
                x=number(_LEFT),
                y=number(y - _OVERLAP / 2),
                width=number(_WIDE),
                height=number(_ROW + _OVERLAP),
                rx=number(_WIDE / 2),
                stroke_width=number(thick),
            )
        )
        line = y + _ROW / 2 + TEXT / 2 - 2
        words = "text" if i == weakest else "dim-text"
        paper.words((_LEFT + _WIDE + 14, line), row.name, "start", words)
        paper.words((WIDTH - 4, line), row.words, "end", words)
    return paper.drawing(name, description)

