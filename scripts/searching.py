"""What a search finds beside the headings of pages: every step, passage, mistake and fault, at its own anchor.

Pure functions from a page's HTML to entries of the search index, and what is left out of it: forms.
"""

import re
from html.parser import HTMLParser

_KINDS = frozenset(("loft-step", "loft-passage", "loft-pair", "loft-wreck"))
_SILENT = frozenset(("svg", "a", "button"))  # their words are not the passage's
_VOID = frozenset(("br", "hr", "img", "input", "link", "meta"))
BOOST = 4.0  # over a page's own headings, which stand at 1 to 3
_FORM = re.compile(r'<(form|loft-begin|loft-beside)(?=[ >])')


def without_forms(html: str) -> str:
    """The same with forms, and rigs beside each other, marked as nothing to search; the theme's search takes the mark away again."""
    return _FORM.sub(r'<\1 data-search-exclude="yes"', html)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[dict[str, object]] = []
        self._open: list[str] = []
        self._since = 0  # how many elements were open when the passage began
        self._anchor = ""
        self._title: list[str] = []
        self._text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _VOID:
            return
        told = dict(attrs)
        self._open.append(tag)
        if not self._anchor and told.get("id") and _KINDS & set((told.get("class") or "").split()):
            self._anchor, self._since, self._title, self._text = str(told["id"]), len(self._open), [], []

    def handle_endtag(self, tag: str) -> None:
        if tag in _VOID or tag not in self._open:
            return
        while self._open.pop() != tag:
            pass
        if self._anchor and len(self._open) < self._since:
            title, text = (" ".join("".join(part).split()) for part in (self._title, self._text))
            self.found.append({"location": f"#{self._anchor}", "title": title, "text": text, "boost": BOOST})
            self._anchor = ""

    def handle_data(self, data: str) -> None:
        if not self._anchor or _SILENT & set(self._open[self._since :]):
            return
        heading = any(tag in ("h2", "h3", "h4") for tag in self._open[self._since :])
        (self._title if heading else self._text).append(f"{data} ")


def passages(html: str) -> list[dict[str, object]]:
    """Every step, passage and mistake of a page that has an anchor and a heading."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return [entry for entry in reader.found if entry["title"]]
