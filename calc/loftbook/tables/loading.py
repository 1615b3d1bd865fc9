"""From TOML to rows. Nothing is taken without a source: a number whose source is missing or unknown is refused by name."""

import re
import tomllib
from collections.abc import Callable, Mapping
from math import isfinite
from string import Formatter
from typing import Any

from loftbook import quantity
from loftbook.errors import Refusal
from loftbook.quantity import Kind, digits, read
from loftbook.tables.rows import Inspection, Practice, Source, Sourced, spanned

Table = Mapping[str, Any]


def sources(text: str) -> dict[str, Source]:
    """The sources by key; LookupError where one does not say how a figure was had."""
    found = {}
    for key, row in tomllib.loads(text).items():
        if not row.get("how") or set(row) - {"text", "how"}:
            raise LookupError(f"sources, {key}: wants `how` and, unless it is nobody's, `text`; nothing else")
        found[key] = Source(row.get("text", ""), row["how"])
    return found


def _source(row: Table, known: Mapping[str, Source], where: str) -> Source:
    if "source" not in row:
        raise LookupError(f"{where}: no source")
    if row["source"] not in known:
        raise LookupError(f"{where}: unknown source {row['source']!r}")
    return known[row["source"]]


def _figure(given: object, kind: Kind, where: str) -> tuple[float, str]:
    """SI value, and the figure as printed. A bare number is one without a dimension, nothing else."""
    if isinstance(given, str):
        try:
            return read(given, kind), given
        except Refusal as refusal:
            raise LookupError(f"{where}: {refusal}") from refusal
    if isinstance(given, bool) or not isinstance(given, int | float) or kind.si or not isfinite(given):
        raise LookupError(f"{where}: {given!r} is no {kind.name} with its unit")
    return float(given), f"{digits(given * 100)} %" if kind is quantity.SHARE else digits(given)


def number(given: object, kind: Kind, known: Mapping[str, Source], where: str) -> Sourced:
    """One number: `{ value, source }` or `{ low, [best,] high, source }`, with `row` if wanted."""
    if not isinstance(given, dict):
        raise LookupError(f"{where}: a bare number, no source")
    source = _source(given, known, where)
    names = set(given) - {"source", "row"}
    if names not in ({"value"}, {"low", "high"}, {"low", "best", "high"}):
        raise LookupError(f"{where}: wants `value`, or `low` and `high`, not {', '.join(sorted(names)) or 'nothing'}")
    figures = {name: _figure(given[name], kind, f"{where}, {name}") for name in names}
    (low, first), (high, last) = (figures.get(end) or figures["value"] for end in ("low", "high"))
    best, middle = figures.get("best", ((low + high) / 2 if low < high else low, ""))
    if not 0 < low <= best <= high:
        raise LookupError(f"{where}: not 0 < low <= best <= high")
    printed = spanned(first, last) + (f", best {middle}" if middle else "")
    return Sourced(low, best, high, kind, printed, source, given.get("row", ""))


def rows[Row](
    make: Callable[..., Row],
    tables: Mapping[str, list[Table]],
    table: str,
    known: Mapping[str, Source],
    kinds: Mapping[str, Kind],
    *,
    optional: tuple[str, ...] = (),
) -> dict[str, Row]:
    """The rows of one table by name, every number in them read and sourced; anything else in them is refused."""
    found: dict[str, Row] = {}
    for row in tables[table]:
        where = f"{table} {row.get('name', 'without a name')!r}"
        if "name" not in row or row["name"] in found:
            raise LookupError(f"{where}: every row has a name of its own")
        if unknown := set(row) - set(kinds) - {"name"}:
            raise LookupError(f"{where}: nothing is known of {', '.join(sorted(unknown))}")
        if missing := set(kinds) - set(row) - set(optional):
            raise LookupError(f"{where}: without {', '.join(sorted(missing))}")
        numbers = {n: number(row[n], kind, known, f"{where}, {n}") for n, kind in kinds.items() if n in row}
        found[row["name"]] = make(name=row["name"], **numbers)
    return found


def _kind(name: object, where: str) -> Kind:
    kind = getattr(quantity, str(name), None)
    if not isinstance(kind, Kind):
        raise LookupError(f"{where}: {name!r} is no kind of quantity")
    return kind


def practices(text: str, known: Mapping[str, Source]) -> dict[str, Practice]:
    """The facts of the trade by key. `kind` is one for all numbers of a fact, or a table with one for each."""
    found = {}
    for key, row in tomllib.loads(text).items():
        where = f"practice {key!r}"
        source = _source(row, known, where)
        if "text" not in row:
            raise LookupError(f"{where}: no text")
        names = [name for name in row if name not in ("text", "source", "kind")]
        kinds = row.get("kind", "")
        numbers = {}
        for name in names:
            kind = _kind(kinds.get(name) if isinstance(kinds, dict) else kinds, f"{where}, {name}")
            numbers[name] = (_figure(row[name], kind, f"{where}, {name}")[0], kind)
        said = {name for _, name, _, _ in Formatter().parse(row["text"]) if name is not None}
        if (said | {"low", "high"} if "range" in said else said) - {"range"} != set(names):
            raise LookupError(f"{where}: its sentence does not say just its numbers, {', '.join(names) or 'none'}")
        found[key] = Practice(key, row["text"], source, numbers)
    return found


_ANCHOR = re.compile("[a-z]+(-[a-z]+)+")
_SAID = ("name", "part", "title", "look", "bad", "retire")


def inspections(text: str, known: Mapping[str, Source]) -> tuple[dict[str, str], dict[str, Inspection]]:
    """What makes a part due at once, in words by name; the rows of what is looked at, by anchor. LookupError where a row is not whole."""
    tables = tomllib.loads(text)
    events: dict[str, str] = tables["event"]
    found: dict[str, Inspection] = {}
    for row in tables["row"]:
        name = str(row.get("name", ""))
        where = f"inspection {name!r}"
        if not _ANCHOR.fullmatch(name) or name in found:
            raise LookupError(f"{where}: every row has an anchor of its own")
        if extra := set(row) - {*_SAID, "flights", "days", "after", "picture", "source"}:
            raise LookupError(f"{where}: nothing is known of {', '.join(sorted(extra))}")
        if unsaid := [key for key in _SAID if not row.get(key)]:
            raise LookupError(f"{where}: without {', '.join(unsaid)}")
        counts = [row[key] for key in ("flights", "days") if key in row]
        if "days" not in row or not all(type(count) is int and count > 0 for count in counts):
            raise LookupError(f"{where}: wants whole `days` and, where they count, whole `flights`")
        if strange := [one for one in row.get("after", ()) if one not in events]:
            raise LookupError(f"{where}: no such event as {', '.join(strange)}")
        texts = {key: str(row[key]) for key in _SAID}
        source = _source(row, known, where)
        found[name] = Inspection(
            **texts, flights=row.get("flights"), days=row["days"], after=tuple(row.get("after", ())), picture=row.get("picture", ""), source=source
        )
    return events, found
