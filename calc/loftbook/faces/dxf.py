"""A sewing pattern as a DXF drawing in millimetres, for plotters and cutters; of the terminal command only, by ezdxf."""

from collections.abc import Iterable
from io import StringIO
from pathlib import Path

from ezdxf import units
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace

from loftbook.drawing.pattern import Part, Point, Run, bounds

LAYERS = {"cut": 7, "sew": 8, "notch": 7, "mark": 8, "grain": 7, "text": 7}  # 7 is black on white, 8 is grey
_GAP = 0.03  # between pieces [m]
_LETTERS = 5.0  # [mm]


def dxf(parts: Iterable[Part]) -> str:
    """The text of a drawing: pieces side by side, y up, layers named in plain words, outlines closed."""
    drawing = new("R2010", units=units.MM)
    drawing.header["$MEASUREMENT"] = 1  # metric
    for name, colour in LAYERS.items():
        drawing.layers.add(name, color=colour)
    space, x = drawing.modelspace(), 0.0
    for part in parts:
        left, bottom, right, _ = bounds(part.cut)
        _draw(space, part, (x - left, -bottom))
        x += right - left + _GAP
    text = StringIO()
    drawing.write(text)
    return text.getvalue()


def write_dxf(parts: Iterable[Part], file: Path) -> None:
    """Write that drawing into a file."""
    file.write_text(dxf(parts), "utf-8")


def _draw(space: Modelspace, part: Part, shift: Point) -> None:
    def placed(points: Iterable[Point]) -> Run:
        return tuple((1000 * (x + shift[0]), 1000 * (y + shift[1])) for x, y in points)

    space.add_lwpolyline(placed(part.cut), close=True, dxfattribs={"layer": "cut"})
    space.add_lwpolyline(placed(part.finished), close=True, dxfattribs={"layer": "sew"})
    for run in part.marks:
        space.add_lwpolyline(placed(run), dxfattribs={"layer": "mark"})
    for layer, lines in (("notch", part.notches), ("grain", (part.grain,))):
        for ends in lines:
            start, end = placed(ends)
            space.add_line(start, end, dxfattribs={"layer": layer})
    x, y = placed(part.grain)[1]
    for line in (part.title, part.cutting, "grain along its line, to this end", *part.notes):
        words = space.add_text(line, height=_LETTERS, dxfattribs={"layer": "text"})
        words.set_placement((x + _LETTERS, y))
        y -= 1.6 * _LETTERS
