"""Line charts on the same canvas as the drawings: two axes, a few lines, and bands that tell the numbers under a finger."""

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

from loftbook.drawing.svg import TEXT, WIDTH, Drawing, Places, number

LEFT, RIGHT, TOP, BOTTOM, TALL = 62.0, 14.0, 28.0, 46.0, 150.0
Write = Callable[[float], str]


@dataclass(frozen=True)
class Line:
    """Points in SI along one curve; `class_` tells its look (line-1, line-2, line-3), `name` its label."""

    name: str
    points: Sequence[tuple[float, float]]


def ticks(low: float, high: float) -> list[float]:
    """Three to six round values from low to high."""
    span = high - low
    step = 1.0
    while step * 5 > span:
        step /= 10
    while step * 5 <= span:
        step *= 10
    step /= 10
    step *= next(k for k in (1, 2, 5, 10) if span / (step * k) <= 5.0001)
    first = -int(-low // step) if low > 0 else int(low // step)
    return [step * i for i in range(int(first), int(high // step) + 1) if low <= step * i <= high * (1 + 1e-12)]


def chart(
    name: str,
    description: str,
    x_label: str,
    y_label: str,
    lines: Sequence[Line],
    write_x: Write,
    write_y: Write,
    scale: tuple[float, float] = (1.0, 1.0),
    told: Sequence[tuple[float, str]] = (),
) -> Drawing:
    """A chart of lines sharing their axes, from zero up. `scale`: SI of one unit of the reader's on each axis, for
    round ticks. `told`: (x, words) shown when a finger is there; bands lie between the midpoints.
    """
    most_x = max(x for line in lines for x, _ in line.points) or 1.0
    most_y = 1.08 * max(y for line in lines for _, y in line.points) or 1.0
    wide = WIDTH - LEFT - RIGHT

    def at(x: float, y: float) -> tuple[str, str]:
        return number(LEFT + wide * x / most_x), number(TOP + TALL * (1 - y / most_y))

    height = TOP + TALL + BOTTOM
    root = ElementTree.Element(
        "svg",
        {
            "viewBox": f"0 0 {number(WIDTH)} {number(height)}",
            "role": "img",
            "xmlns": "http://www.w3.org/2000/svg",
            "class": "loft-chart",
        },
    )

    places = Places()

    def add(tag: str, class_: str, **attributes: str) -> None:
        ElementTree.SubElement(root, tag, {"class": class_, **{k.replace("_", "-"): v for k, v in attributes.items()}})

    def say(words: str, x: float, y: float, anchor: str, class_: str = "text", optional: bool = False) -> None:
        place = places.find(x, y, words, anchor, optional)
        if place:
            made = {"class": class_, "x": number(place[0]), "y": number(place[1]), "text-anchor": anchor}
            ElementTree.SubElement(root, "text", made | {"font-size": str(TEXT)}).text = words

    ElementTree.SubElement(root, "title").text = f"{name}. {description}"
    say(y_label, 4, TEXT + 2, "start")
    say(x_label, WIDTH - 4, height - 6, "end")
    for value in ticks(0.0, most_y / scale[1]):
        (x0, y), (x1, _) = at(0, value * scale[1]), at(most_x, 0)
        add("line", "grid", x1=x0, y1=y, x2=x1, y2=y)
        say(write_y(value * scale[1]), LEFT - 5, float(y) + 5, "end", "dim-text", optional=True)
    for value in ticks(0.0, most_x / scale[0]):
        x, y = at(value * scale[0], 0)
        add("line", "dim", x1=x, y1=y, x2=x, y2=number(float(y) + 5))
        say(write_x(value * scale[0]), float(x), float(y) + 5 + TEXT, "middle", "dim-text", optional=True)
    for i, line in enumerate(lines, 1):
        add("polyline", f"chart-line line-{i}", points=" ".join(",".join(at(x, y)) for x, y in line.points))
        if len(lines) > 1:
            px, py = at(*line.points[len(line.points) * i // (len(lines) + 1)])
            say(line.name, float(px) + 4, max(TOP, float(py) - 6), "start")
    edges = [0.0, *((a + b) / 2 for (a, _), (b, _) in itertools.pairwise(told)), most_x]
    for (_, words), low, high in zip(told, edges, edges[1:], strict=False):
        (x0, _), (x1, _) = at(low, 0), at(high, 0)
        add(
            "rect",
            "chart-band",
            x=x0,
            y=number(TOP),
            width=number(max(0.0, float(x1) - float(x0))),
            height=number(TALL),
            data_told=words,
        )
    return Drawing(name, description, ElementTree.tostring(root, encoding="unicode"))
