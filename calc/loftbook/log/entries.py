"""The logbook: entries that are written once and never changed, as lines of JSON or rows of CSV.

An entry's name is a sum over all that it says, so two books are merged by taking every name once: nothing is lost, nothing is
there twice, and a damaged line is known by its name. Who corrects an entry writes another that stands in its place; the first
stays in the book. Text of a book is untrusted: sizes first, then every line by itself, every fault with its line.
"""

import csv
import hashlib
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from math import isfinite
from typing import Any

from loftbook.errors import Fault, Refusal
from loftbook.log.kinds import DROP, KINDS, PICTURE
from loftbook.quantity import System
from loftbook.rig.field import Field
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import value_of
from loftbook.rig.texts import read_json, whole
from loftbook.rig.ways import KEYS

LARGEST_BOOK = 60_000_000  # characters
LONGEST_ENTRY = 800_000
MOST_ENTRIES = 50_000
MOST_FAULTS = 20  # that are told of one book
MOST_FIGURES = 60
MARK = 20  # characters of an entry's name
STRUCK = "struck"  # the kind of an entry that only takes another's place: that one counts no more
_PICTURE = re.compile(r"data:image/(?:jpeg|png|webp);base64,[A-Za-z0-9+/]+={0,2}", re.ASCII)
_MADE = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", re.ASCII)
_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_NAME = re.compile(rf"n[0-9a-f]{{{MARK - 1}}}", re.ASCII)  # a letter first, or a spreadsheet takes it for a number


@dataclass(frozen=True)
class Entry:
    """One entry.

    made: when it was written, UTC; day: of what it tells; rig: its name; about: the bay or canopy, "" the whole rig;
    said: the kind's fields as typed, without the empty ones; planned: what the plan said then, SI, by name: low, best and
    high, or one figure; found: in the same way what a file or a watch says, of a canopy by its key its drag area [m^2]; fields: the rig as it was typed; replaces: the entry whose
    place it takes.
    """

    made: str
    kind: str
    day: str
    rig: str
    about: str = ""
    said: Mapping[str, str] = field(default_factory=dict)
    planned: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    found: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    fields: Mapping[str, str] = field(default_factory=dict)
    replaces: str = ""

    @property
    def name(self) -> str:
        """The same for the same words, on every machine."""
        return "n" + hashlib.sha256(_text(_full(self)).encode()).hexdigest()[: MARK - 1]

    def value(self, path: str) -> float | str | None:
        """What a field of it says: SI, a choice or a text; None where it is empty."""
        return value_of(_FIELDS[path], self.said.get(path, ""))

    def amount(self, path: str) -> float:
        """The same of a field that must be said; KeyError where it is not."""
        value = self.number(path)
        if value is None:
            raise KeyError(path)
        return value

    def number(self, path: str) -> float | None:
        """The same of a field that is a number."""
        value = self.value(path)
        return None if value is None else float(value)


_FIELDS: dict[str, Field] = {one.path: one for kind in KINDS.values() for one in kind.fields}
_KEYS = frozenset((*Entry.__dataclass_fields__, "name"))
_NEEDED = ("name", "made", "kind", "day", "rig")


def _full(one: Entry) -> dict[str, Any]:
    """What an entry says, without what is empty: so a later release may add to it, and no name changes."""
    return {key: value for key, value in asdict(one).items() if value}


def _text(data: Mapping[str, Any]) -> str:
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


# --- one entry ----------------------------------------------------------------------------------------


def checked(one: Entry, system: System = "metric") -> Entry:
    """The same entry. Raises `Refusal` with every fault: a kind that is not known, a day that is none, a field that cannot be read."""
    faults = list(_faults(one, system))
    if faults:
        raise Refusal(*faults)
    return one


def _fault(field_: str, label: str, reason: str, given: object, allowed: str) -> Fault:
    return Fault(message=f"{label}: {reason}. Allowed: {allowed}.", field=field_, label=label, given=str(given)[:60], allowed=allowed)


def _faults(one: Entry, system: System) -> Iterator[Fault]:
    if one.kind not in KINDS and one.kind != STRUCK:
        yield _fault("kind", "Kind", "no entry is of this kind", one.kind, ", ".join((*KINDS, STRUCK)))
        return
    if not day_of(one.day):
        yield _fault("day", "Day", "this is no day", one.day, "year, month and day, such as 2026-05-09")
    if not _MADE.fullmatch(one.made) or not _moment(one.made):
        yield _fault("made", "Written", "this is no moment", one.made, "a moment such as 2026-05-09T14:03:00.000Z")
    if not one.rig.strip() or len(one.rig) > FIELDS["rig.name"].longest or not one.rig.isprintable():
        yield _fault("rig", "Rig", "a rig has a name", one.rig, f"1 to {FIELDS['rig.name'].longest} printable characters")
    if one.about not in ("", *KEYS):
        yield _fault("about", "About", "no rig has such a bay", one.about, ", ".join(KEYS))
    if one.replaces and not _NAME.fullmatch(one.replaces):
        yield _fault("replaces", "In the place of", "this is no entry's name", one.replaces, f"n and {MARK - 1} signs, 0 to 9 and a to f")
    if one.kind == STRUCK and not one.replaces:
        yield _fault("replaces", "In the place of", "it does not say what is struck", "", "an entry's name")
    yield from _said(one, system)
    yield from _figures("planned", one.planned)
    yield from _figures("found", one.found)
    for key in [key for key in one.found if key in KEYS and not is_drag(one.found[key])]:
        yield _fault("found", "found", "this is no drag area with its range", f"{key} {one.found[key]}", "three numbers above zero, the least first")
    for path in [path for path in one.fields if path not in FIELDS][:MOST_FAULTS]:
        yield _fault(path[:60], "Rig", "no rig has such a field", path, "fields of a rig")
    for path, text in one.fields.items():
        if path in FIELDS and len(text) > max(FIELDS[path].longest, 60):
            yield _fault(path, FIELDS[path].full, "this text is too long", text, f"{max(FIELDS[path].longest, 60)} characters")


def _said(one: Entry, system: System) -> Iterator[Fault]:
    wanted = {} if one.kind == STRUCK else {each.path: each for each in KINDS[one.kind].fields}
    for path in [path for path in one.said if path not in wanted][:MOST_FAULTS]:
        yield _fault(path[:60], "Entry", "an entry of this kind has no such field", path, ", ".join(wanted) or "none")
    if "" in one.said.values():
        yield _fault("said", "Entry", "what is empty is not said", "", "a text, or none")
    for path, each in wanted.items():
        try:
            value_of(each, one.said.get(path, ""), system)
        except Refusal as refusal:
            yield from refusal.faults
    data = one.said.get("picture.data", "")
    if one.kind == PICTURE and not _PICTURE.fullmatch(data):
        yield _fault("picture.data", "Picture", "this is no picture", data, "a data address of JPEG, PNG or WebP")


def _figures(name: str, figures: Mapping[str, Sequence[float]]) -> Iterator[Fault]:
    if len(figures) > MOST_FIGURES:
        yield _fault(name, name, "there are too many figures", len(figures), f"at most {MOST_FIGURES}")
    for key, values in figures.items():
        if len(key) > 60 or not key.isprintable() or not 1 <= len(values) <= 6 or not all(isfinite(one) for one in values):
            yield _fault(name, name, "these are no figures", key, "one to six numbers by name")


def is_drag(values: Sequence[float]) -> bool:
    """Whether figures are a drag area, its least, best and most [m^2]."""
    return len(values) == 3 and 0 < values[0] <= values[1] <= values[2]


def day_of(text: str) -> date | None:
    """The day that is written as year, month and day; None for any other text, weeks of a year too: days are put in order as texts."""
    try:
        return date.fromisoformat(text) if _DAY.fullmatch(text) else None
    except ValueError:
        return None


def _moment(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


# --- lines of JSON --------------------------------------------------------------------------------------


def line(one: Entry) -> str:
    """An entry as a line of JSON, its name first."""
    return f'{{"name":"{one.name}",{_text(_full(one))[1:]}'


def read_line(text: str, where: str = "") -> Entry:
    """The entry that a line holds. Raises `Refusal`: what is no entry, and one that was changed since it was written."""
    what = where or "entry"
    if len(text) > LONGEST_ENTRY:
        raise Refusal(_fault("book", what, f"it is {len(text)} characters long", "", f"at most {LONGEST_ENTRY}"))
    try:
        data = read_json(text)
    except (ValueError, RecursionError) as error:
        raise Refusal(_fault("book", what, f"it cannot be read as JSON: {str(error)[:80]}", text, "one entry in one line")) from None
    one = _entry(data, what)
    if data["name"] != one.name:
        raise Refusal(_fault("book", what, "it does not say what was written down: its name does not fit", text, "entries as they were exported"))
    return one


def _entry(data: object, what: str) -> Entry:
    """One of plain data. Raises `Refusal`."""
    if not isinstance(data, dict) or not set(_NEEDED) <= set(data) <= _KEYS:
        raise Refusal(_fault("book", what, "it is no entry", str(data), f"{', '.join(_NEEDED)} and, where there is more to say, {', '.join(sorted(_KEYS - {*_NEEDED}))}"))
    maps = [data.get(key, {}) for key in ("said", "fields")]
    rows = {key: data.get(key, {}) for key in ("planned", "found")}
    sound = (
        all(isinstance(text, str) for key, text in data.items() if key not in ("said", "fields", "planned", "found"))
        and all(isinstance(one, dict) and all(isinstance(text, str) for text in one.values()) for one in maps)
        and all(isinstance(one, dict) and all(_numbers(row) for row in one.values()) for one in rows.values())
    )
    if not sound:
        raise Refusal(_fault("book", what, "it is no entry", str(data), "texts by name, numbers by name"))
    figures = {key: {name: tuple(float(one) for one in row) for name, row in table.items()} for key, table in rows.items()}
    made = Entry(**({key: text for key, text in data.items() if key != "name"} | figures))
    try:
        return checked(made)
    except Refusal as refusal:
        raise Refusal(*(_placed(fault, what) for fault in refusal.faults)) from None


def _numbers(row: object) -> bool:
    return isinstance(row, list) and all(isinstance(one, int | float) and not isinstance(one, bool) and abs(one) < 1e300 for one in row)


def _placed(fault: Fault, what: str) -> Fault:
    return Fault(message=f"{what}: {fault.message}", field=fault.field, label=f"{what}, {fault.label}", given=fault.given, allowed=fault.allowed)


def read_book(text: str) -> tuple[Entry, ...]:
    """Every entry of a book, of lines of JSON or of CSV, each once. Raises `Refusal` with the faults and their lines, and then nothing is taken."""
    if len(text) > LARGEST_BOOK:
        raise Refusal(_fault("book", "book", f"it is {len(text)} characters long", "", f"at most {LARGEST_BOOK}"))
    text = whole(text.removeprefix("\ufeff"))
    rows = _rows(text) if text.lstrip()[:1] != "{" else _lines(text)
    found: dict[str, Entry] = {}
    faults: list[Fault] = []
    for read in rows:
        try:
            one = read()
            found.setdefault(one.name, one)
        except Refusal as refusal:
            faults += refusal.faults
        if len(faults) >= MOST_FAULTS or len(found) > MOST_ENTRIES:
            break
    if len(found) > MOST_ENTRIES:
        raise Refusal(_fault("book", "book", "it has too many entries", len(found), f"at most {MOST_ENTRIES}"))
    if faults:
        raise Refusal(*faults[:MOST_FAULTS])
    if not found:
        raise Refusal(_fault("book", "book", "there is no entry in it", text, "lines of JSON or CSV as they were exported"))
    return tuple(found.values())


def _lines(text: str) -> Iterator[Any]:
    for number, row in enumerate(text.split("\n"), 1):
        if row.strip():
            yield lambda row=row, number=number: read_line(row.strip(), f"line {number}")


# --- rows of CSV ----------------------------------------------------------------------------------------

_FIXED = ("name", "made", "kind", "day", "rig", "about", "replaces")
_WHOLE = ("planned", "found", "fields")  # JSON in a cell


def to_csv(entries: Iterable[Entry]) -> str:
    """The same as a table for a spreadsheet: a row for each entry, a column for each field of every kind."""
    out = io.StringIO()
    wanted = [*_FIXED, *_FIELDS, *_WHOLE]
    rows = csv.DictWriter(out, wanted, lineterminator="\r\n")
    rows.writeheader()
    for one in entries:
        data = asdict(one) | {"name": one.name}
        rows.writerow({key: _plain(str(data[key])) for key in _FIXED} | {path: _plain(text) for path, text in one.said.items()} | {key: _text(data[key]) for key in _WHOLE})
    return out.getvalue()


def _plain(text: str) -> str:
    """What a spreadsheet would take for a formula stands behind an apostrophe, and so does what stands behind one."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "'", "\t", "\r") else text


def _rows(text: str) -> Iterator[Any]:
    """A row that was changed in a spreadsheet is a new entry in the place of the one whose name it bears."""
    csv.field_size_limit(LONGEST_ENTRY)
    table = csv.reader(io.StringIO(text, newline=""))
    try:
        head = next(table, [])
    except csv.Error as error:
        raise Refusal(_fault("book", "line 1", f"it cannot be read as CSV: {error}", text, "a table as it was exported")) from None
    while head and not head[-1].strip():  # a spreadsheet's empty columns
        head.pop()
    if missing := [key for key in (*_FIXED, *_WHOLE) if key not in head]:
        raise Refusal(_fault("book", "line 1", f"columns are missing: {', '.join(missing)}", ", ".join(head), "a table as it was exported, or lines of JSON"))
    if odd := [key for key in head if key not in _FIXED and key not in _WHOLE and key not in _FIELDS]:
        raise Refusal(_fault("book", "line 1", f"no entry has these columns: {', '.join(odd)[:80]}", ", ".join(head), "a table as it was exported"))
    if twice := [key for key in dict.fromkeys(head) if head.count(key) > 1]:
        raise Refusal(_fault("book", "line 1", f"columns stand there twice: {', '.join(twice)[:80]}", ", ".join(head), "each column once"))
    while True:
        try:
            row = next(table, None)
        except csv.Error as error:
            what = f"line {table.line_num}"
            yield lambda error=error, what=what: _raise(_fault("book", what, f"it cannot be read as CSV: {error}", "", "a table as it was exported"))
            return
        if row is None:
            return
        if any(cell.strip() for cell in row):
            yield lambda row=row, what=f"line {table.line_num}": _row(_cells(head, row, what), what)


def _cells(head: Sequence[str], row: Sequence[str], what: str) -> dict[str, str]:
    """A row that is cut short would say of an entry that all the rest of it is empty; what stands behind the last column is of none."""
    if len(row) < len(head) or any(cell.strip() for cell in row[len(head) :]):
        raise Refusal(_fault("book", what, f"it has {len(row)} cells", ", ".join(row)[-80:], f"one for each of the {len(head)} columns"))
    return dict(zip(head, row, strict=False))


def _raise(fault: Fault) -> Entry:
    raise Refusal(fault)


def _row(cells: Mapping[str, str], what: str) -> Entry:
    said = {key: text.removeprefix("'") if text[:1] == "'" else text for key, text in cells.items()}
    try:
        whole = {key: read_json(cells.get(key) or "{}") for key in _WHOLE}
    except (ValueError, RecursionError):
        raise Refusal(_fault("book", what, "a cell cannot be read as JSON", " ".join(cells.get(key, "") for key in _WHOLE), "cells as they were exported")) from None
    own = KINDS[said["kind"]].fields if said.get("kind") in KINDS else ()
    stray = [path for path in _FIELDS if said.get(path) and path not in {one.path for one in own}]
    texts = {one.path: said.get(one.path, "") for one in own if said.get(one.path)} | {path: said[path] for path in stray}
    data = {key: said.get(key, "") for key in _FIXED} | whole | {"said": texts}
    one = _entry(data, what)
    if data["name"] in ("", one.name):
        return one
    return _entry(data | {"replaces": data["name"]} | ({"found": {}} if one.kind == DROP else {}), what)  # what a watch found follows from what is said
