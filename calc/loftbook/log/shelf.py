"""What is kept by name: whole rockets, and of each its canopies and cords that have a name of their own, to be fitted into another rig.

An entry of kind `kept` holds a rig as it was typed. The newest of a name counts. Texts in, texts out: no sums.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal
from unicodedata import normalize

from loftbook.log.book import Book
from loftbook.log.entries import Entry
from loftbook.log.kinds import KEPT
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import completed
from loftbook.rig.ways import WAYS

What = Literal["rocket", "canopy", "cord"]
# What goes along with a part into another rig, relative to a bay. How it lies in a bay and what it is tied to there stays behind.
_ALONG: dict[str, tuple[str, ...]] = {
    "canopy": ("canopy.", "lines.", "make.", "pack.density"),
    "cord": tuple(f"cord.{name}" for name in ("name", "material", "rating", "stretch", "end", "length", "width", "thickness")),
}


@dataclass(frozen=True)
class Kept:
    """One thing on the shelf. key: where it is in its rig, "" of a whole rocket."""

    what: What
    name: str
    key: str
    entry: Entry


def plain(name: str) -> str:
    """A name without what eyes do not see: blanks, capitals, and by which signs a machine writes the same letter."""
    return " ".join(normalize("NFKC", name).split()).casefold()


def shelf(entries: Iterable[Entry]) -> tuple[Kept, ...]:
    """All that is kept by name, each once, as it was kept last: rockets, canopies, cords."""
    found: dict[tuple[str, str], Kept] = {}
    for one in Book(tuple(entries)).standing:  # the newest first
        if one.kind != KEPT:
            continue
        for row in (Kept("rocket", one.rig, "", one), *_parts(one)):
            found.setdefault((row.what, plain(row.name)), row)
    order = ("rocket", "canopy", "cord")
    return tuple(sorted(found.values(), key=lambda row: (order.index(row.what), plain(row.name))))


def _parts(one: Entry) -> Iterator[Kept]:
    """Canopies and cords of a kept rig that have a name of their own."""
    full = completed(one.fields)
    way = WAYS.get(full["flight.way"])
    kinds: tuple[tuple[What, tuple[str, ...]], ...] = (("canopy", way.canopies), ("cord", way.keys)) if way else ()
    for what, keys in kinds:
        for key in keys:
            name = full.get(f"{key}.{what}.name", "").strip()
            if name:
                yield Kept(what, name, key, one)


def fitted(kept: Kept, now: Mapping[str, str], key: str) -> dict[str, str]:
    """The texts that put a canopy or cord of the shelf into a rig at a key, those that were measured named in `rig.measured`; not what else they change.

    now: that rig's texts, completed. What its reader did not say there either is left out where both rigs take the same for it.
    """
    then, measured = completed(kept.entry.fields), set(kept.entry.fields.get("rig.measured", "").split())
    texts, known = {}, []
    for path in then:
        there, _, rest = path.partition(".")
        here = f"{key}.{rest}"
        if there != kept.key or not rest.startswith(_ALONG[kept.what]) or here not in FIELDS:
            continue
        if path in kept.entry.fields or then[path] != now.get(here):
            texts[here] = then[path]
            known += [here] if path in measured else []
    return texts | ({"rig.measured": " ".join(known)} if known else {})
