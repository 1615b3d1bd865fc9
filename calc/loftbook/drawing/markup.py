"""Text of HTML and SVG, written once. What is `Markup` stands as it is; any other text is escaped, here and nowhere else.

Parts are joined, never parsed again: a picture goes into its page as the text that it was made as.
"""

import re
from collections.abc import Iterable

from loftbook.physics.remembered import remembered

VOID = frozenset(("br", "hr", "img", "input", "link", "meta"))  # HTML: have no end tag
LEAVES = frozenset(("circle", "line", "path", "polygon", "polyline", "rect"))  # SVG: may close themselves
SVG = "http://www.w3.org/2000/svg"


class Markup(str):
    """Text that is markup already. Only what this module makes is; adding to it or formatting it gives plain text again."""

    __slots__ = ()


_special = re.compile('[&<>"]').search


def escape(text: str) -> str:
    """Text as it must be written between tags and between the double quotes of an attribute."""
    if not _special(text):
        return text
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def joined(parts: "Iterable[Markup | str | None]") -> Markup:
    """Parts one after the other; None is nothing."""
    return Markup(_together(parts))


def _together(parts: "Iterable[Markup | str | None]") -> str:
    inside = ""
    for part in parts:
        if part:
            inside += part if part.__class__ is Markup else escape(part)
    return inside


@remembered(4096)  # most are classes and coordinates, again and again
def _attribute(name: str, value: str) -> str:
    """An attribute with its value, a space before it."""
    return f' {name.rstrip("_").replace("_", "-")}="{escape(value)}"'


def element(tag: str, *children: "Markup | str | None", **attributes: str | None) -> Markup:
    """An element; `class_` and `for_` lose their underscore, other underscores become hyphens, None is no attribute.

    Attributes are always escaped, `Markup` too. Raises ValueError for children of an element that can have none.
    """
    head = ""
    for name, value in attributes.items():
        if value is not None:
            head += _attribute(name, value)
    inside = _together(children)
    if tag in VOID:
        if inside:
            raise ValueError(f"nothing can stand in <{tag}>")
        return Markup(f"<{tag}{head}>")
    return Markup(f"<{tag}{head}>{inside}</{tag}>" if inside or tag not in LEAVES else f"<{tag}{head}/>")


@remembered(4096)  # the pictures of one bay, or of one fold after another, share most of theirs
def number(value: float) -> str:
    """A coordinate to a hundredth of a unit."""
    text = f"{value:.2f}"
    if text[-1] != "0":
        return text
    text = text[:-3] if text[-2] == "0" else text[:-1]
    return "0" if text == "-0" else text


@remembered(4096)
def tenth(value: float) -> str:
    """A coordinate to a tenth of a unit, for what is drawn in many pieces."""
    text = f"{value:.1f}"
    if text[-1] == "0":
        text = text[:-2]
    return "0" if text == "-0" else text


# Parts of a picture that say nothing but numbers, which need no escaping: quicker than `element`.


def straight(class_: str, x1: float, y1: float, x2: float, y2: float) -> Markup:
    """A line."""
    return Markup(f'<line class="{class_}" x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}"/>')


def circle(class_: str, cx: float, cy: float, r: float) -> Markup:
    """A circle."""
    return Markup(f'<circle class="{class_}" cx="{number(cx)}" cy="{number(cy)}" r="{number(r)}"/>')


def rectangle(class_: str, corner: tuple[float, float], width: float, height: float, opacity: float | None = None) -> Markup:
    """A box from its upper left corner."""
    seen = "" if opacity is None else f' opacity="{number(opacity)}"'
    where = f'x="{number(corner[0])}" y="{number(corner[1])}" width="{number(width)}" height="{number(height)}"'
    return Markup(f'<rect class="{class_}" {where}{seen}/>')


def lettering(words: str, class_: str, x: float, y: float, anchor: str) -> Markup:
    """Words from, about or up to a spot (`anchor`: start, middle or end); they are escaped."""
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return Markup(f'<text class="{class_}" x="{number(x)}" y="{number(y)}"{where}>{escape(words)}</text>')


def vector(wide: float, high: float, size: int, class_: str, title: str, shapes: Iterable[Markup]) -> Markup:
    """A picture that stands alone, and in a page as it is; size: of its letters."""
    named = f' class="{escape(class_)}"' if class_ else ""
    box = f'viewBox="0 0 {number(wide)} {number(high)}" role="img" xmlns="{SVG}" font-size="{size}"'
    return Markup(f"<svg {box}{named}><title>{escape(title)}</title>{''.join(shapes)}</svg>")


def traced(class_: str, way: str) -> Markup:
    """A path: `way` is its letters and numbers."""
    return Markup(f'<path class="{class_}" d="{way}"/>')


def group(class_: str, shapes: str, at: tuple[float, float] | None = None) -> Markup:
    """Markup of shapes together, moved to a spot."""
    moved = f' transform="translate({number(at[0])} {number(at[1])})"' if at else ""
    return Markup(f'<g class="{class_}"{moved}>{shapes}</g>')
