"""Text of HTML and SVG, written once. What is `Markup` stands as it is; any other text is escaped, here and nowhere else.

Parts are joined, never parsed again: a picture goes into its page as the text that it was made as.
"""

import functools
import re
from collections.abc import Iterable

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
    return "".join([part if part.__class__ is Markup else escape(part) for part in parts if part])


@functools.lru_cache(4096)  # most are classes and coordinates, again and again
def _attribute(name: str, value: str) -> str:
    """An attribute with its value, a space before it."""
    return f'{_begins(name)}{escape(value)}"'


@functools.cache
def _begins(name: str) -> str:
    """What stands before an attribute's value."""
    return f' {name.rstrip("_").replace("_", "-")}="'


def element(tag: str, *children: "Markup | str | None", **attributes: str | None) -> Markup:
    """An element; `class_` and `for_` lose their underscore, other underscores become hyphens, None is no attribute.

    Attributes are always escaped, `Markup` too. Raises ValueError for children of an element that can have none.
    """
    head = "".join([_attribute(*said) for said in attributes.items() if said[1] is not None])
    inside = _together(children) if children else ""
    if tag in VOID:
        if inside:
            raise ValueError(f"nothing can stand in <{tag}>")
        return Markup(f"<{tag}{head}>")
    if not inside and tag in LEAVES:
        return Markup(f"<{tag}{head}/>")
    return Markup(f"<{tag}{head}>{inside}</{tag}>")


@functools.lru_cache(4096)  # the pictures of one bay, or of one fold after another, share most of theirs
def number(value: float) -> str:
    """A coordinate to a hundredth of a unit."""
    text = f"{value:.2f}"
    if text[-1] != "0":
        return text
    text = text[:-3] if text[-2] == "0" else text[:-1]
    return "0" if text == "-0" else text


def mark(tag: str, class_: str, **sizes: float) -> Markup:
    """An element of a picture that says nothing but numbers, which need no escaping: quicker than `element`."""
    said = "".join([f'{_begins(name)}{number(value)}"' for name, value in sizes.items()])
    return Markup(f'<{tag} class="{escape(class_)}"{said}/>')


def lettering(words: str, class_: str, x: float, y: float, anchor: str) -> Markup:
    """Words of a picture from, about or up to a spot (`anchor`: start, middle or end): quicker than `element`."""
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return Markup(f'<text class="{class_}" x="{number(x)}" y="{number(y)}"{where}>{escape(words)}</text>')
