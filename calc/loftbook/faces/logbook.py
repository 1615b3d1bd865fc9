"""The logbook's page: forms, an entry in words, what was planned beside what happened, and what the book knows of this rig. No sums."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, cast

from loftbook.answer import Offer
from loftbook.drawing.markup import Markup, element
from loftbook.errors import Fault, Refusal
from loftbook.faces.render import capital, field_row, html, offer, table
from loftbook.log.book import Book
from loftbook.log.entries import LARGEST_BOOK, MOST_ENTRIES, STRUCK, Entry, checked, line, read_book, read_line, to_csv
from loftbook.log.kinds import DROP, KEPT, KINDS, OTHERWISE, PICTURE, UNKNOWN, Kind
from loftbook.log.shelf import Kept, shelf
from loftbook.physics.spread import Spread
from loftbook.physics.stopwatch import Timing
from loftbook.quantity import (
    AREA,
    BAY_PRESSURE,
    FORCE,
    HEIGHT,
    PACK_DENSITY,
    SPEED,
    TIME,
    WIND,
    System,
    at_least,
    at_most,
    ends,
    show,
)
from loftbook.quantity import Kind as Quantity
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import completed, parse
from loftbook.rig.ways import KEYS, WAYS, titled
from loftbook.worked.learned import (
    Beside,
    DragLearned,
    Learned,
    beside,
    density,
    drags_learned,
    entries_told,
    fit,
    learned,
    planned,
    wind_taken,
    wind_that_carried,
)
from loftbook.worked.measured import BEGUN, BY_EYE, THUMB, Watched, timed, warmer_on
from loftbook.worked.worked import Worked

LONGEST_REQUEST = LARGEST_BOOK + 10_000_000  # characters
MOST_SHOWN = 200  # entries of one request that are told in words
_BEARS = ("test", "bundle", "pull", KEPT)  # kinds that measure something of a rig, beside all that found a drag
_EACH = {"canopy": "Which canopy", "bay": "Which bay", "part": "Of which bay or canopy"}
_ALL = "the whole rocket, every one of them"


# --- the page as it is built ------------------------------------------------------------------------------


def opener() -> list[Markup]:
    """A button for each kind of entry, and its form; inert until a script can take what is written."""
    kinds = [kind for kind in KINDS.values() if kind.name not in (PICTURE, KEPT)]
    buttons = (element("button", kind.title, type="button", class_="loft-button", data_kind=kind.name, aria_expanded="false", aria_controls=f"log-{kind.name}") for kind in kinds)
    return [
        element("div", *buttons, class_="loft-row loft-kinds loft-noprint", role="group", aria_label="Write down", inert="inert"),
        *(_form(kind) for kind in kinds),
        element("p", f"A saved book that is opened here may have {MOST_ENTRIES:,} entries and {LARGEST_BOOK / 1e6:.0f} million characters, pictures with it.", class_="loft-help loft-noprint"),
    ]


def _form(kind: Kind) -> Markup:
    day = f"log-{kind.name}-day"
    about = f"log-{kind.name}-about"
    unsaid = (("?", "choose"), ("", _ALL)) if kind.each == "part" else ()  # nobody clears a part by not looking at this
    choices = (*unsaid, *((key, key) for key in KEYS))
    choice = element(
        "div",
        element("label", _EACH.get(kind.each, ""), for_=about),
        element("select", *(element("option", words, value=key) for key, words in choices), id=about, name="about"),
        element("div", class_="loft-fault", id=f"{about}-fault", hidden="hidden"),
        class_="loft-field", data_field="about",
    )
    return element(
        "form",
        element("h2", kind.title, tabindex="-1"),
        element("p", kind.told, class_="loft-help"),
        element("ul", class_="loft-faults", hidden="hidden"),
        element("p", class_="loft-brought loft-help", hidden="hidden"),
        element("div", element("label", "Day", for_=day), element("input", type="date", id=day, name="day", required="required"), element("div", class_="loft-fault", id=f"{day}-fault", hidden="hidden"), class_="loft-field", data_field="day"),
        None if kind.each == "rig" else choice,
        *(field_row("log", one) for one in kind.fields),
        element("div", element("button", "Write it down", type="submit", class_="loft-button loft-button-first"), element("button", "Put away", type="button", class_="loft-button", data_away=kind.name), class_="loft-row"),
        class_="loft-form loft-logform loft-noprint", id=f"log-{kind.name}", data_kind=kind.name, data_each=kind.each, hidden="hidden", novalidate="novalidate",
    )  # fmt: skip


# --- writing one down -------------------------------------------------------------------------------------


def entry_of(worked: Worked, fields: Mapping[str, str], told: Mapping[str, Any]) -> Entry:
    """An entry of what a form says, with the rig as it is typed and what its plan says now. Raises `Refusal` with every fault.

    told: kind, day, made, said, and about, found where there is more to say; first: the line of the entry that it corrects, whose rig,
    plan and file it keeps.
    """
    first = read_line(_text(told, "first")) if told.get("first") else None
    if first and first.fields:
        fields, worked = first.fields, Worked(parse(first.fields))
    texts = {key: _text(told, key) for key in ("kind", "day", "made", "about")}
    said = told.get("said", {})
    if not isinstance(said, dict) or not all(isinstance(text, str) for text in said.values()):
        raise Refusal(Fault(message="What an entry says are texts by name.", field="said"))
    kind = KINDS.get(texts["kind"])
    one = Entry(
        **texts,
        replaces=first.name if first else "",
        rig=first.rig if first else worked.rig.text("rig.name"),
        said={path: text.strip() for path, text in said.items() if text.strip()},
        found=_found(told.get("found", {})) or (first.found if first and first.kind != DROP else {}),
        fields={path: text for path, text in fields.items() if path in FIELDS},
        planned=first.planned if first else planned(worked) if kind and kind.name in ("flight", DROP) else {},
    )
    faults = list(_unfit(worked, kind, one)) if kind else []
    try:
        checked(one, worked.rig.units)
    except Refusal as refusal:
        told_of = {fault.field for fault in faults}
        faults = [*(fault for fault in refusal.faults if fault.field not in told_of), *faults]
    if faults:
        raise Refusal(*faults)
    return replace(one, found=_timed(worked, one)) if one.kind == DROP else one


def _text(told: Mapping[str, Any], key: str) -> str:
    text = told.get(key, "")
    if not isinstance(text, str):
        raise Refusal(Fault(message=f"“{key}” is a text.", field=key))
    return text


def _found(given: object) -> dict[str, tuple[float, ...]]:
    """What a page found of a flight, as plain data. Raises `Refusal`."""
    if not isinstance(given, dict) or not all(isinstance(row, list) and all(isinstance(one, int | float) and not isinstance(one, bool) and abs(one) < 1e300 for one in row) for row in given.values()):
        raise Refusal(Fault(message="What was found are numbers by name.", field="found"))
    return {str(key): tuple(float(one) for one in row) for key, row in given.items()}


def _unfit(worked: Worked, kind: Kind, one: Entry) -> Iterable[Fault]:
    """An entry about a canopy or bay that this rig has not."""
    way = worked.rig.way
    there = {"rig": ("",), "canopy": way.canopies, "bay": way.bays, "part": ("", *way.keys)}[kind.each]
    if one.about not in there:
        allowed = ", ".join(worked.title(key) if key else _ALL for key in there)
        wrong = f"this rig has no such {kind.each}" if one.about in KEYS else "say which"
        yield Fault(message=f"{_EACH.get(kind.each, kind.title)}: {wrong}. Allowed: {allowed}.", field="about", label=_EACH.get(kind.each, ""), given=one.about, allowed=allowed)


def _timed(worked: Worked, one: Entry) -> dict[str, tuple[float, ...]]:
    """A canopy's drag area by a watch. Raises `Refusal` where two heights and the seconds are no descent."""
    high, low, sure = one.amount("drop.high"), one.number("drop.low") or 0.0, one.number("drop.sure") or BY_EYE
    begun = BEGUN[str(one.value("drop.begun") or UNKNOWN)]
    watched = Watched(one.about, Timing(high, low, one.amount("drop.seconds"), begun, sure * high, sure * high if low else 0.0, THUMB), warmer_on(worked, one.number("drop.temperature")), one.number("drop.mass"))
    area = timed(worked, watched).drag_area
    return {one.about: (area.low, area.best, area.high)}


def record(one: Entry) -> dict[str, str]:
    """An entry as it is kept: its line, and what lists want to know of it. bears: whether it measured something of the rig."""
    of = one.said.get("picture.of", "")
    return {"name": one.name, "day": one.day, "made": one.made, "kind": one.kind, "rig": one.rig, "of": of, "replaces": one.replaces, "bears": "yes" if one.found or one.kind in _BEARS else "", "told": summary(one), "line": line(one)}


# --- in words ---------------------------------------------------------------------------------------------


def _units(one: Entry) -> System:
    units = completed(one.fields)["rig.units"]
    return cast(System, units if units in FIELDS["rig.units"].choices else "metric")


def _title(one: Entry) -> str:
    """What it is about, as its rig called it: nothing where there is only one."""
    way = WAYS.get(completed(one.fields)["flight.way"])
    if not one.about or way is None or way.keys == (one.about,) or one.about not in way.keys:
        return ""
    return titled(way, one.about)


def summary(one: Entry) -> str:
    """One line: what it was, and what it says."""
    if one.kind == STRUCK:
        return "Struck"
    kind, title = KINDS[one.kind], _title(one)
    head = f"{kind.title}, {title}" if title else kind.title
    return f"{head}: {'; '.join(_SHORT[one.kind](one)) or 'written down'}"


def _short_flight(one: Entry) -> list[str]:
    said, units = one.said, _units(one)
    rows = [said["flight.went"]]
    for path, name, kind, words in (("apogee", "apogee", HEIGHT, "{} high"), ("time", "time", TIME, "{} down")):
        text = said.get(f"flight.{path}") or (show(one.found[name][0], kind, units) if name in one.found else "")
        rows += [words.format(text)] if text else []
    rows += [f"{said['flight.rate']} at touchdown"] if "flight.rate" in said else []
    walk, toward = said.get("flight.walk"), said.get("flight.toward")
    rows += [f"lay {walk} {f'{toward} of' if toward else 'from'} the pad"] if walk else []
    keys = [key for key in one.found if key in KEYS]
    return rows + ([f"drag of {len(keys)} {'canopy' if len(keys) == 1 else 'canopies'} by its altimeter"] if keys else [])


def _note(one: Entry) -> list[str]:
    note = one.said.get(f"{one.kind}.note", "")
    return [note if len(note) <= 60 else f"{note[:59].rstrip()}…"] if note else []


def _bundle(one: Entry) -> list[str]:
    said = one.said
    sides = " × ".join(said[f"bundle.{name}"] for name in ("width", "thickness", "length") if f"bundle.{name}" in said)
    return [f"{said['bundle.mass']}, {sides}", show(density(one), PACK_DENSITY, _units(one))]


_SHORT: dict[str, Callable[[Entry], list[str]]] = {
    "flight": _short_flight,
    "test": lambda one: [f"{one.said['test.mass']}, {one.said['test.pins']} pins", one.said["test.result"]],
    "bundle": _bundle,
    "pull": lambda one: [one.said["pull.force"]],
    "drop": lambda one: [f"{one.said['drop.seconds']} from {one.said['drop.high']}"],
    "inspection": lambda one: [f"{one.said['inspection.of']}, {one.said['inspection.result']}", *_note(one)],
    "repair": lambda one: [one.said["repair.of"], *_note(one)],
    "repack": _note,
    KEPT: lambda one: [", ".join(f"{kept.what} {kept.name}" for kept in shelf([one]) if kept.key) or "the rocket alone, no canopy or cord of it has a name"],
    PICTURE: lambda one: [],
}
_FIGURES: dict[str, tuple[str, Quantity]] = {
    "apogee": ("Greatest height", HEIGHT),
    "time": ("From the top to the ground", TIME),
    "rate": ("Rate at touchdown", SPEED),
    "drift": ("From the pad", HEIGHT),
}
_OUTSIDE = {-1: "less than planned", 0: "as planned", 1: "more than planned"}


def details(one: Entry) -> list[Markup]:
    """All that an entry says: what was planned beside what happened, then its fields, then what it was written with."""
    units = _units(one)
    rows = [(_named(one, each), _span(each.planned, _quantity(each), units), f"{_span(each.happened, _quantity(each), units)}, {_OUTSIDE[each.outside]}") for each in beside(one)]
    said = [] if one.kind == STRUCK else [(field.label, one.said[field.path]) for field in KINDS[one.kind].fields if field.path in one.said and field.path != "picture.data"]
    carried, blown = wind_that_carried(one), wind_taken(one)
    winds = f"To lie so far from the pad it takes a wind of {_span(carried, WIND, units)} at ten metres, all the way down; what it leaned into the wind on its way up is not counted." if carried else ""
    return [
        *([table(("What", "Planned", "It was"), rows, "Planned, and as it was", narrow=True)] if rows else []),
        *([element("p", winds)] if winds else []),
        *([offer(Offer("Plan with the harder end of this wind", blown))] if blown else []),
        element("dl", *(piece for label, text in said for piece in (element("dt", label), element("dd", text))), class_="loft-logsaid"),
        element("p", f"{one.rig}. Written {one.made[:16].replace('T', ' ')} UTC.", class_="loft-help"),
    ]


def _quantity(each: Beside) -> Quantity:
    return _FIGURES[each.what][1] if each.what in _FIGURES else SPEED


def _named(one: Entry, each: Beside) -> str:
    if each.what in _FIGURES:
        return _FIGURES[each.what][0]
    way = WAYS.get(completed(one.fields)["flight.way"])
    title = titled(way, each.what) if way and each.what in way.keys and len(way.canopies) > 1 else "canopy"
    return f"Steady rate, {title}"


def _span(spread: Spread, kind: Quantity, units: System) -> str:
    return show(spread.best, kind, units) if spread.is_point else ends(spread.low, spread.best, spread.high, kind, units)


# --- what the book knows of this rig ------------------------------------------------------------------------


def known(worked: Worked, book: Book) -> list[Markup]:
    """What a book's entries measured of this rig's canopies and joints, each with a touch that takes it into the rig."""
    rows = [*(_sank(worked, key, one) for key, one in drags_learned(worked, book).items()), *(_learned(worked, one) for one in learned(worked, book))]
    if not rows:
        return [element("p", "Nothing in this book was measured of this rig’s canopies and joints yet.", class_="loft-help")]
    return [element("ul", *rows, class_="loft-known")]


def _left_out(other: int, what: str) -> str:
    if not other:
        return ""
    return f" {other} {'entry is' if other == 1 else 'entries are'} of another {what} at this place, or of this one before it was changed: not counted."


def _sank(worked: Worked, key: str, one: DragLearned) -> Markup:
    found, now = one.taken, worked.canopies[key]
    said = f"{capital(worked.title(key))}: sinks at {worked.ends(found.rate, SPEED)} at the field, from {entries_told(one.entries, "descent")}; the rig says {worked.ends(now.rate, SPEED)}. Cd·S {worked.range(found.pooled.planned, AREA)}."
    return _item(said + _left_out(one.other, "canopy"), found.fields, found.why)


_WORDS: dict[str, tuple[str, Quantity, str]] = {
    "density": ("its bundle is packed to {}", PACK_DENSITY, "canopy"),
    "pull": ("it takes {} to part it by hand", FORCE, "joint"),
    "test": ("", BAY_PRESSURE, "joint or packing"),
}


def _learned(worked: Worked, one: Learned) -> Markup:
    words, kind, what = _WORDS[one.what]
    title = capital(worked.title(one.key))
    if not one.entries:
        return _item(f"{title}: nothing is known of it as it is now.{_left_out(one.other, what)}", {}, "")
    span = worked.show(one.low, kind) if one.low == one.high else f"{worked.show(one.low, at_most(kind))} to {worked.show(one.high, at_least(kind))}"
    if one.what == "test":
        last = one.entries[0]
        times = "once" if len(one.entries) == 1 else f"{len(one.entries)} times running"
        model = f"By the model {last.said['test.mass']} give {span} in this bay."
        said = f"{title}, tested on the ground {times} with {last.said['test.mass']} and {last.said['test.pins']} pins, last {last.day}: {last.said['test.result']}. {model}"
    else:
        said = f"{title}: {words.format(span)}, from {one.told_of}."
    return _item(said + _left_out(one.other, what), one.texts, "" if one.texts else "The rig has no field that carries it.")


def _item(said: str, texts: Mapping[str, str], why: str) -> Markup:
    return element("li", element("p", said), offer(Offer("Take it into the rig", texts)) if texts else element("p", why, class_="loft-help") if why else None)


def on_shelf(worked: Worked, entries: Sequence[Entry]) -> list[Markup]:
    """What is kept by name, each with a touch that takes it: a rocket in place of this rig, a canopy or cord into it."""
    rows = [element("li", element("p", _kept(one)), *_takes(worked, one)) for one in shelf(entries)]
    return [element("ul", *rows, class_="loft-known")] if rows else []


def _kept(one: Kept) -> str:
    texts = completed(one.entry.fields)
    figures = {"rocket": ("rocket.mass", "flight.way"), "canopy": (f"{one.key}.canopy.size", f"{one.key}.canopy.family"), "cord": (f"{one.key}.cord.length", f"{one.key}.cord.material")}[one.what]
    return f"{capital(one.what)} {one.name}: {', '.join(texts[path] for path in figures)}, as kept on {one.entry.day}."


def _takes(worked: Worked, one: Kept) -> list[Markup]:
    if one.what == "rocket":
        said = json.dumps(dict(one.entry.fields), ensure_ascii=False)
        return [element("p", element("button", "Open this rocket", type="button", class_="loft-button", data_rocket=said), class_="loft-offer loft-noprint")]
    way = worked.rig.way
    keys = way.canopies if one.what == "canopy" else way.keys
    made = [(key, fit(worked, one, key)) for key in keys]
    return [offer(Offer(f"Fit it as the {one.what} of the {worked.title(key)}" if len(keys) > 1 else "Fit it into this rig", texts)) for key, texts in made if texts]


# --- what the door asks -------------------------------------------------------------------------------------


def lines_of(request: Mapping[str, Any]) -> list[Entry]:
    """The entries of a request's lines. Raises `Refusal`: what stands in the book is read as strictly as what comes into it."""
    lines = request.get("lines", [])
    if not isinstance(lines, list) or not all(isinstance(one, str) for one in lines):
        raise Refusal(Fault(message="The entries of a book are texts in a list."))
    return [read_line(one) for one in lines]


def told(request: Mapping[str, Any]) -> dict[str, object]:
    """Entries in words, each html by its name."""
    entries = lines_of(request)
    if len(entries) > MOST_SHOWN:
        raise Refusal(Fault(message=f"At most {MOST_SHOWN} entries are told at once."))
    return {"entries": {one.name: html(*details(one)) for one in entries}}


def brought(request: Mapping[str, Any]) -> dict[str, object]:
    """The entries of a file, as they are kept."""
    return {"entries": [record(_seen(one)) for one in read_book(_text(request, "text"))]}


def _seen(one: Entry) -> Entry:
    """A timed descent whose row was changed in a spreadsheet, with what its watch says now. Raises `Refusal`."""
    if one.kind != DROP or one.found or not one.fields:
        return one
    return replace(one, found=_timed(Worked(parse(one.fields)), one))


def as_table(request: Mapping[str, Any]) -> dict[str, object]:
    return {"text": to_csv(lines_of(request))}


def of_rig(worked: Worked, request: Mapping[str, Any]) -> dict[str, object]:
    entries = lines_of(request)
    return {"html": html(*known(worked, Book(tuple(entries)))), "shelf": html(*on_shelf(worked, entries))}


def example() -> list[Markup]:
    """What the page shows before anything is in the book: an entry that is nobody's, of the first starting rig."""
    worked = Worked(parse({}))
    said = {"flight.went": OTHERWISE, "flight.apogee": "1150 m", "flight.rate": "5.9 m/s", "flight.walk": "310 m", "flight.toward": "east", "flight.note": "Main a second late; it turned once before it filled."}
    one = entry_of(worked, {}, {"kind": "flight", "day": "2026-05-09", "made": "2026-05-09T14:03:00.000Z", "said": said})
    return [
        element("p", "Example, nobody’s flight: an entry as it stands in the book. With scripts switched on yours are written here, and kept.", class_="loft-summary"),
        element("p", element("span", one.day, class_="loft-logday"), f" {summary(one)}"),
        *(part for part in details(one) if "data-take" not in str(part)),
    ]


