"""The page's `measured`: files and timed descents with the rig that flew them, as HTML and as plain data. No sums.

Everything that a reader said of a flight comes with each request and goes out again in its controls, so the page keeps
only texts. What is wrong with one flight stands at that flight, and keeps no other from being told.
"""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from loftbook.answer import Offer
from loftbook.drawing.flown import Band, Record
from loftbook.drawing.flown import flown as drawn
from loftbook.drawing.markup import Markup, element
from loftbook.errors import Fault, Refusal
from loftbook.faces.render import capital, figure, html, offer, table
from loftbook.log.altimeter import HEIGHT_UNITS, LARGEST_LOG, MOST_SAMPLES, TIME_UNITS, Log, read_log, same_record
from loftbook.log.kinds import DROP, KINDS, UNKNOWN
from loftbook.physics.atmosphere import G0
from loftbook.physics.elementary import sqrt
from loftbook.physics.phases import top_of
from loftbook.physics.remembered import remembered
from loftbook.physics.spread import Spread
from loftbook.physics.stopwatch import Timing
from loftbook.plan import plain
from loftbook.quantity import AREA, HEIGHT, MASS, NUMBER, SHARE, SPEED, TEMPERATURE, TIME, Kind, read
from loftbook.rig.parsing import parse
from loftbook.rig.rig import Rig
from loftbook.worked.measured import (
    BEGUN,
    BY_EYE,
    CLIMB,
    FEW,
    GROUND,
    LASTING,
    THUMB,
    UNKNOWN_DAY,
    Flight,
    Found,
    Once,
    Taken,
    Timed,
    Watched,
    flights_told,
    flown,
    rate_of,
    slowest_planned,
    taken,
    timed,
    warmer_on,
)
from loftbook.worked.worked import Worked

MOST_FLIGHTS = 24  # of files, and of timed descents
LONGEST_REQUEST = 32_000_000  # characters of all files together and what is said of them
SURE, WATCH = f"{BY_EYE * 100:g} %", f"{THUMB:g} s"
EXAMPLE_SEED = 7
_EXAMPLE_STEP, _EXAMPLE_GAP, _EXAMPLE_BAD, _PAD = 0.1, (40.0, 43.0), (260, 700), 5.0  # s, s, samples, s at rest before and after
_LATE = 10_000.0  # s from which on a file's clock is counted from its first sample instead
_LONGEST_SAID = 200  # characters of what is said of a flight

Said = Mapping[str, Any]


# --- what both faces say -------------------------------------------------------------------------------


def notes(worked: Worked, unknown_day: bool) -> list[str]:
    """What holds of all that was measured."""
    lasting = worked.show(LASTING, SPEED)
    said = [
        f"A draught that lasts as long as the descent looks like drag, and no single flight can tell: with {FEW} flights or fewer {lasting} up or down is counted "
        "in what the rig is given (our choice); more tell by how they differ. Measure several, in calm air, on several days.",
        "Two altimeters in one flight are one flight: open the file of one.",
    ]
    if unknown_day:
        said.append(f"Nobody said how warm it was: {UNKNOWN_DAY:g} K either way are counted. With the temperature at the field the range is narrower.")
    if len(worked.canopies) > 1 and worked.rig.way.tied:
        said.append("What was open together was measured together: the last canopy's value holds with what else hung in the air, the parts of the rocket too.")
    return said


def mean_told(worked: Worked, one: Taken) -> str:
    """The mean of several flights beside the range to plan with; nothing of a single one."""
    if len(one.flights) < 2:
        return ""
    mean = rate_of(one.canopy, one.pooled.mean)
    return (
        f"Mean of the flights: {worked.range(mean, SPEED)}, 95 % sure; they differ by {one.pooled.between * 100:.1f} % beside what each is unsure of "
        f"(Birge's ratio {one.pooled.birge:.2f}). With more than {FEW} flights the range above holds this and every flight's best; {FEW} or fewer cannot tell how much flights differ, and it is all that each says, a draught that lasts counted in."
    )


def odd_told(name: str) -> str:
    """Of a flight that lies far from the others."""
    return f"{name} lies far from the others; it is counted all the same. Look for what was different."


def against_plan(worked: Worked, one: Taken) -> str:
    """Where it came down otherwise than anywhere in the rig's range, what hangs open beside it counted in; "" where it did not."""
    slower, faster = one.rate.high < slowest_planned(worked, one.canopy), one.rate.low > one.canopy.rate.high
    if not slower and not faster:
        return ""
    return f"It came down {'faster' if faster else 'slower'} than the rig says anywhere in its range: look for the reason before you trust either."


def holds_for(worked: Worked, one: Taken) -> str:
    """What mass its rates are told for."""
    return f"Holds for {worked.show(one.canopy.carries, MASS)} hanging under it: weigh it."


def taken_data(one: Taken) -> dict[str, object]:
    """One canopy over all that measured it, as plain data, SI."""
    return {"drag_area": plain(one.pooled.planned), "cd": plain(one.cd), "rate": plain(one.rate), "planned_rate": plain(one.canopy.rate), "fields": one.fields}


BOTH_ZEROS = "It begins and ends in the air: heights over the field and over the sea are both counted."


# --- reading what was said ------------------------------------------------------------------------------


@remembered(MOST_FLIGHTS)
def _log(text: str, time_unit: str, height_unit: str, time_column: int | None, height_column: int | None) -> Log:
    """A file's samples; a clock that counts from another day is counted from the first sample."""
    log = read_log(text, time_unit, height_unit, time_column, height_column)
    first = log.times[0]
    if abs(first) < _LATE:
        return log
    return replace(log, times=tuple(time - first for time in log.times), gaps=tuple((a - first, b - first) for a, b in log.gaps), told=f"{log.told}; seconds are counted from the first sample")


def _text(said: Said, name: str) -> str:
    """A text that was said, "" for none. Refuses what is none."""
    value = said.get(name, "")
    if not isinstance(value, str) or (name != "text" and len(value) > _LONGEST_SAID):
        raise Refusal(Fault(message=f"{name}: it is a text. Allowed: at most {_LONGEST_SAID} characters.", field=name, label=name, given=str(value)[:60], allowed=f"at most {_LONGEST_SAID} characters"))
    return value.strip() if name != "text" else value


def _column(said: Said, name: str) -> int | None:
    text = _text(said, name)
    if not text:
        return None
    if text.isascii() and text.isdigit() and len(text) < 4:
        return int(text)
    label = name.replace("_", " ")
    raise Refusal(Fault(message=f"{label}: “{text[:20]}” is no column's number. Allowed: a whole number, counted from 1.", field=name, label=label, given=text[:60], allowed="a whole number, counted from 1"))


def _optional(said: Said, name: str, kind: Kind, label: str, worked: Worked) -> float | None:
    """A quantity that may be left out [SI]."""
    text = _text(said, name)
    return _within(read(text, kind, name, label, worked.rig.units), name, kind, worked) if text else None


_DROP = {field.path.removeprefix(f"{DROP}."): field for field in KINDS[DROP].fields}  # what is asked of a timed descent, in the logbook too
_LEAST = {name: field.low for name, field in _DROP.items()} | {"watch": 0.01}  # SI, of what is said of a flight
_MOST = {name: field.high for name, field in _DROP.items()} | {"watch": 5.0}


def _within(value: float, name: str, kind: Kind, worked: Worked) -> float:
    """The same, refused where no flight is like that."""
    if _LEAST[name] <= value <= _MOST[name]:
        return value
    allowed = f"{worked.show(_LEAST[name], kind)} to {worked.show(_MOST[name], kind)}"
    raise Refusal(Fault(message=f"{name}: {worked.show(value, kind)} is no such thing. Allowed: {allowed}.", field=name, label=name, given=worked.show(value, kind), allowed=allowed))


def _day_and_mass(said: Said, worked: Worked) -> tuple[float | None, float | None]:
    """Temperature that day [K] and mass [kg]; that its date is a text is looked at here too."""
    _text(said, "when")
    return _optional(said, "temperature", TEMPERATURE, "temperature", worked), _optional(said, "mass", MASS, "mass", worked)


def _limits(said: Said, key: str, log: Log) -> tuple[float, float] | None:
    """From when to when a canopy was open, as its reader says [s]; None where they say nothing."""
    given = said.get("limits", {})
    pair = given.get(key) if isinstance(given, dict) else None
    if not isinstance(pair, list) or len(pair) != 2 or not all(isinstance(one, str | int | float) for one in pair):
        return None
    if not any(str(one).strip() for one in pair):
        return None
    first, last = log.times[0], log.times[-1]
    allowed = f"from before to, both between {first:.1f} and {last:.1f} s"
    label = f"limits of {key}"
    shown = " to ".join(str(one)[:20] for one in pair)
    try:
        start, end = (float(one) for one in pair)
    except (ValueError, OverflowError):  # a whole number may be too large
        start = end = last
    if not first - 0.1 <= start < end <= last + 0.1:
        raise Refusal(Fault(message=f"{label}: {shown} s is no stretch of this file. Allowed: {allowed}.", field=f"limits.{key}", label=label, given=shown, allowed=allowed))
    return start, end


# --- a flight ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Opened:
    """One file or timed descent: what was said of it, what came of it, and what is wrong."""

    said: Said
    flight: Flight | None = None
    found: Mapping[str, Once] = field(default_factory=dict)
    faults: Sequence[Fault] = ()
    unknown_day: bool = False

    def data(self) -> dict[str, object]:
        """As plain data, SI: an entry of a logbook can keep it."""
        told = {
            key: {"low": one.drag_area.low, "best": one.drag_area.best, "high": one.drag_area.high}
            | ({"from": one.start, "to": one.end} if isinstance(one, Found) else {})
            for key, one in self.found.items()
        }
        whole: dict[str, object] = {"canopies": told, "faults": [fault.data() for fault in self.faults]}
        return whole | dict(_top_and_time(self.flight) if self.flight else {})


def _top_and_time(flight: Flight) -> dict[str, float | None]:
    """Its greatest height above the field [m] and how long it came down [s]; None where the file begins or ends in the air."""
    shown = flight.log.within(flight.log.times[0], flight.log.times[-1])[1]
    (apogee,) = flight.heights([shown[top_of(shown)]], flight.air)
    parts = flight.parts
    whole = parts and parts[0].name == CLIMB and parts[-1].name == GROUND
    return {"apogee": apogee, "time": parts[-1].stretch.start - parts[0].stretch.end if whole else None}


def _caught[T](faults: list[Fault], place: str, make: Callable[[], T]) -> T | None:
    """What is made, or nothing and what is wrong with it, at that place where it names none of its own."""
    try:
        return make()
    except Refusal as refusal:
        faults += [fault if fault.field else replace(fault, field=place) for fault in refusal.faults]
        return None


def _open(worked: Worked, said: Said) -> Opened:
    faults: list[Fault] = []

    def read_it() -> Log:
        return _log(_text(said, "text"), _text(said, "time_unit"), _text(said, "height_unit"), _column(said, "time_column"), _column(said, "height_column"))

    log, told = _caught(faults, "file", read_it), _caught(faults, "file", lambda: _day_and_mass(said, worked))
    if log is None or told is None:
        return Opened(said, faults=faults)
    day, mass = told
    flight = _caught(faults, "of", lambda: flown(worked, log, day, _text(said, "of") or None, mass))
    if flight is None:
        return Opened(said, faults=faults)
    found: dict[str, Once] = {}
    for key in _keys(flight):
        if one := _caught(faults, f"limits.{key}", lambda key=key: _fit(flight, said, key)):  # type: ignore[misc]
            found[key] = one
    if not found and not faults:
        faults += flight.nothing_found.faults
    return Opened(said, flight, found, faults, flight.warmer is None)


def _keys(flight: Flight) -> list[str]:
    """The canopies that this file can tell of."""
    return [key for key in flight.worked.canopies if flight.worked.rig.way.tied or key == flight.part]


def _fit(flight: Flight, said: Said, key: str) -> Found | None:
    limits = _limits(said, key, flight.log) or flight.steady.get(key)
    return flight.fitted(key, *limits) if limits else None


def watched_one(worked: Worked, said: Said) -> Opened:
    """A timed descent; nothing is wrong with one of which nothing was said yet."""
    if not any(_text(said, name) for name in ("high", "seconds")):
        return Opened(said)
    faults: list[Fault] = []
    told = _caught(faults, "file", lambda: _day_and_mass(said, worked))
    seen = _caught(faults, "high", lambda: _seen(worked, said))
    if told is None or seen is None:
        return Opened(said, faults=faults)
    warmer = warmer_on(worked, told[0])
    key = _text(said, "of") or [*worked.canopies][-1]
    one = _caught(faults, "of", lambda: timed(worked, Watched(key, seen, warmer, told[1])))
    return Opened(said, None, {key: one} if one else {}, faults, warmer is None)


def _seen(worked: Worked, said: Said) -> Timing:
    units = worked.rig.units
    high = _within(read(_text(said, "high"), HEIGHT, "high", "height at the start", units), "high", HEIGHT, worked)
    low = _within(read(_text(said, "low") or "0", HEIGHT, "low", "height at the stop", units), "low", HEIGHT, worked)
    seconds = _text(said, "seconds")
    time = _within(read(f"{seconds} s" if seconds.replace(".", "", 1).isdigit() else seconds, TIME, "seconds", "time on the watch", units), "seconds", TIME, worked)
    sure_text = _text(said, "sure") or SURE
    share = "%" in sure_text
    sure = read(sure_text, SHARE if share else HEIGHT, "sure", "how sure of the heights", units) * (high if share else 1)
    watch = _within(read(_text(said, "watch") or WATCH, TIME, "watch", "watch, each end", units), "watch", TIME, worked)
    begun = _text(said, "begun") or UNKNOWN
    if begun not in BEGUN or sure < 0:
        allowed = "zero or more" if sure < 0 else " or ".join(BEGUN)
        name = "sure" if sure < 0 else "begun"
        raise Refusal(Fault(message=f"{name}: this cannot be. Allowed: {allowed}.", field=name, label=name, given=_text(said, name), allowed=allowed))
    return Timing(high, low, time, BEGUN[begun], sure, sure if low else 0.0, watch)


# --- all of them ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Session:
    """All that is open, and each canopy over all of it."""

    worked: Worked
    flights: Sequence[Opened]
    watched: Sequence[Opened]
    example: bool = False

    @property
    def names(self) -> list[tuple[str, Opened]]:
        """Each by what it is called, in the order that the page shows them."""
        return [(f"Flight {i}", one) for i, one in enumerate(self.flights, 1)] + [(f"Timed {i}", one) for i, one in enumerate(self.watched, 1)]

    def of(self, key: str) -> list[tuple[str, Opened]]:
        return [(name, one) for name, one in self.names if key in one.found]

    def taken(self) -> Iterator[tuple[str, Taken]]:
        for key in self.worked.canopies:
            ours = [one for _, one in self.of(key)]
            if ours:
                dates = ", ".join(dict.fromkeys(filter(None, (_text(one.said, "when") for one in ours))))
                yield key, taken(self.worked, [one.found[key] for one in ours], dates)


def reply(rig: Rig, request: Mapping[str, Any]) -> dict[str, object]:
    """What the page shows of all flights and timed descents, and the same as plain data. Raises `Refusal` for what is no list of these."""
    worked = Worked(rig)
    flights, watched = (_list(request, name) for name in ("flights", "timed"))
    session = Session(worked, _each_once([_open(worked, one) for one in flights]), [watched_one(worked, one) for one in watched])
    return {
        "html": html(*parts(session)),
        "flights": [one.data() for one in session.flights],
        "timed": [one.data() for one in session.watched],
        "canopies": {key: taken_data(one) for key, one in session.taken()},
    }


def _each_once(opened: Sequence[Opened]) -> list[Opened]:
    """The same, of files with the same samples the first alone counted: the others say whose they are."""
    kept: list[Opened] = []
    for one in opened:
        logs = [(place, other.flight.log) for place, other in enumerate(kept, 1) if other.flight]
        first = next((place for place, log in logs if one.flight and same_record(log, one.flight.log)), None)
        fault = Fault(message=f"file: these are the samples of flight {first}: one flight counts once.", field="file", label="file", allowed="each flight once")
        kept.append(one if first is None else Opened(one.said, faults=(fault,)))
    return kept


def _list(request: Mapping[str, Any], name: str) -> list[Said]:
    rows = request.get(name, [])
    if not isinstance(rows, list) or len(rows) > MOST_FLIGHTS or not all(isinstance(one, dict) for one in rows):
        raise Refusal(Fault(message=f"“{name}” is a list of at most {MOST_FLIGHTS}.", field=name, allowed=f"at most {MOST_FLIGHTS}"))
    return rows


def example() -> Session:
    """The demo rig's way down as the core works it out, seen by an altimeter with noise, a gap and two bad samples: nobody's flight."""
    from random import Random

    worked = Worked(parse({}))
    instants, rng = worked.descent.main.run.instants, Random(EXAMPLE_SEED)
    top, rise = instants[0].height, _PAD + sqrt(2 * instants[0].height / G0)
    rows, place = [], 0
    for i in range(int((rise + instants[-1].time + _PAD) / _EXAMPLE_STEP)):
        time = i * _EXAMPLE_STEP
        down = time - rise
        while place < len(instants) - 2 and instants[place + 1].time <= down:
            place += 1
        one, other = instants[place], instants[place + 1]
        share = min(1.0, max(0.0, (down - one.time) / (other.time - one.time)))
        fallen = one.height + share * (other.height - one.height)
        height = top - G0 / 2 * down * down if -down < rise - _PAD and down < 0 else fallen if down >= 0 else 0.0
        bad = 80.0 if i in _EXAMPLE_BAD else 0.0
        if not _EXAMPLE_GAP[0] < time < _EXAMPLE_GAP[1]:
            rows.append(f"{time:.1f},{height + bad + rng.gauss(0, 0.4):.2f}")
    text = "time (s),altitude (m)\n" + "\n".join(rows)
    return Session(worked, [_open(worked, {"text": text, "temperature": "14 °C"})], [], example=True)


# --- as HTML ------------------------------------------------------------------------------------------------


_SIZES = f"Up to {MOST_FLIGHTS} files, each of {LARGEST_LOG / 1e6:.0f} million characters and {MOST_SAMPLES:,} samples at most."


def opener() -> Markup:
    """The ways to bring a flight; inert until a script can take it."""
    pasted = "measured-pasted"
    return element(
        "div",
        element(
            "div",
            element("button", "Open altimeter files", type="button", class_="loft-button", data_act="open"),
            element("button", "Add a descent that you timed", type="button", class_="loft-button", data_act="time"),
            class_="loft-row",
        ),
        element("input", type="file", multiple="multiple", hidden="hidden", accept=".csv,.tsv,.txt,.log,.dat,text/*", aria_label="Altimeter files"),
        element(
            "details",
            element("summary", "Paste a file's text instead"),
            element("div", element("label", "The text, from its first line to its last", for_=pasted), element("textarea", id=pasted, rows="6", spellcheck="false", autocomplete="off"), class_="loft-field"),
            element("button", "Take this text for a flight", type="button", class_="loft-button", data_act="paste"),
            class_="loft-change",
        ),
        element("p", f"{_SIZES} Files stay in this page: they are never sent, kept or put into a link. Closing the page forgets them.", class_="loft-help"),
        class_="loft-opener loft-noprint", inert="inert", data_largest=str(LARGEST_LOG), data_together=str(LONGEST_REQUEST // 4 * 3), data_most=str(MOST_FLIGHTS),
    )  # fmt: skip


def parts(session: Session) -> list[Markup]:
    """The verdict, each canopy over all, then flight by flight."""
    together = list(session.taken())
    made = [element("p", _summary(session, together), class_="loft-summary")]
    made += [_canopy(session, key, one) for key, one in together]
    made += [element("ul", *(element("li", note) for note in notes(session.worked, any(one.unknown_day for _, one in session.names))), class_="loft-notes")] if together else []
    made += [_flight(session, i, one) for i, one in enumerate(session.flights)]
    made += [_timed(session, i, one) for i, one in enumerate(session.watched)]
    return made


def _summary(session: Session, together: Sequence[tuple[str, Taken]]) -> str:
    worked = session.worked
    if session.example:
        return "Example, nobody's flight: the demo rig's way down as this guide works it out, with noise, a gap and bad samples put in. Yours takes its place."
    told = [f"{capital(worked.title(key))}: {worked.show(one.rate.best, SPEED)} at the field, the rig says {worked.show(one.canopy.rate.best, SPEED)}." for key, one in together]
    if not session.names:
        return "Nothing is opened yet."
    wrong = [name for name, one in session.names if one.faults]
    told += [f"Look at {', '.join(wrong)}: something is asked or wrong there."] if wrong else []
    return " ".join(told) or "Nothing is measured yet."


def _canopy(session: Session, key: str, one: Taken) -> Markup:
    """One canopy over all that measured it, beside what the rig says, and the touch that puts it there."""
    worked, rows = session.worked, session.of(key)
    pairs: list[tuple[str, Spread, Kind]] = [
        ("Sinks at the field at", one.rate, SPEED), ("The rig says now", one.canopy.rate, SPEED), ("Cd·S", one.pooled.planned, AREA), ("Cd on its area S0", one.cd, NUMBER),
    ]  # fmt: skip
    each = [
        (f"{name}, odd" if place in one.pooled.odd else name, worked.range(opened.found[key].drag_area, AREA), worked.range(opened.found[key].rate, SPEED), f"{share * 100:.0f} %")
        for place, ((name, opened), share) in enumerate(zip(rows, one.pooled.weights, strict=True))
    ]
    apart = against_plan(worked, one)
    said = [mean_told(worked, one), *(odd_told(rows[place][0]) for place in one.pooled.odd), holds_for(worked, one)]
    return element(
        "section",
        element("h2", f"{capital(worked.title(key))}, {flights_told(one.flights)}", id=f"measured-{key}"),
        element("dl", *(element("div", element("dt", name), element("dd", *_written(worked, value, kind))) for name, value, kind in pairs), class_="loft-key"),
        element("p", element("strong", apart), class_="loft-live") if apart else None,
        *(element("p", text) for text in said if text),
        table(("Which", "Cd·S", "Sinks at the field at", "Weight"), each, f"Each that measured it, {worked.title(key)}", narrow=True) if len(rows) > 1 else None,
        *([] if session.example else _take(worked, key, one)),
        class_="loft-measured-canopy",
    )


def _written(worked: Worked, value: Spread, kind: Kind) -> tuple[Markup | str, ...]:
    """Best, and the range behind it small."""
    best = worked.show(value.best, kind)
    return (best,) if value.is_point else (best, " ", element("span", worked.ends(value, kind), class_="loft-range"))


def _take(worked: Worked, key: str, one: Taken) -> list[Markup]:
    """The offer, why there is none, or that it is taken and what follows it."""
    if one.why:
        return [element("p", element("strong", f"Not to be taken over: {one.why}"), class_="loft-live")]
    rig, texts = worked.rig, {path: text for path, text in one.fields.items() if path != "rig.measured"}
    numbers = [path for path in texts if not path.endswith("_from")]
    if all(rig.texts[path] == text for path, text in texts.items()) and all(rig.origin(path) == "measured" for path in numbers):
        links = element("a", "plan", href="../plan/"), " and ", element("a", "field card", href="../card/")
        return [element("p", element("strong", "The rig says this now, as measured by you: "), *links, " follow it.", class_="loft-following")]
    return [offer(Offer(f"Put {' to '.join(texts[path] for path in numbers)} into the rig as the Cd of the {worked.title(key)}, measured", one.fields))]


# --- a flight's own card ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Card:
    """Which of the page's cards: kind `flight` or `timed`, place from 0, what was said, what is wrong."""

    kind: str
    place: int
    said: Said
    faults: Sequence[Fault]

    def text(self, name: str) -> str:
        """What was said, as it stands in a control."""
        value = self.said.get(name, "")
        return value if isinstance(value, str) else ""

    def at(self, name: str) -> list[Fault]:
        return [fault for fault in self.faults if fault.field == name]

    def field(self, name: str, label: str, help_: str, choices: Sequence[tuple[str, str]] = (), start: str = "") -> Markup:
        """A label, its control, a sentence of help, and what is wrong with it."""
        id_, value, wrong = f"{self.kind}-{self.place}-{name}", self.text(name) or start, self.at(name)
        common: dict[str, str | None] = {
            "id": id_, "data_said": name, "aria_describedby": f"{id_}-help {id_}-fault", "aria_invalid": "true" if wrong else None,
        }  # fmt: skip
        if choices:
            options = (element("option", text, value=one, selected="selected" if one == value else None) for one, text in choices)
            control = element("select", *options, **common)
        else:
            control = element("input", type="text", value=value, autocomplete="off", spellcheck="false", **common)
        return element("div", element("label", label, for_=id_), control, element("p", help_, class_="loft-help", id=f"{id_}-help"), self.wrong(id_, wrong), class_="loft-field")

    def wrong(self, id_: str, faults: Sequence[Fault]) -> Markup:
        """What is wrong, and what may have been meant, to be taken at a touch."""
        told = [
            joined_
            for fault in faults
            for joined_ in (
                element("p", fault.message),
                *(element("button", f"Use {text}", type="button", class_="loft-button", data_fill=id_, data_text=text) for text in fault.readings),
            )
        ]
        return element("div", *told, class_="loft-fault", id=f"{id_}-fault", hidden=None if told else "hidden")

    def rest(self, shown: Sequence[str]) -> list[Markup]:
        """What is wrong with no control that is shown."""
        others = [fault for fault in self.faults if fault.field not in shown]
        return [element("div", *(element("p", fault.message) for fault in others), class_="loft-fault")] if others else []

    def act(self, act: str, words: str) -> Markup:
        return element("button", words, type="button", class_="loft-button loft-noprint", data_act=act)


_UNSAID = ("", "choose")


def _flight(session: Session, place: int, one: Opened) -> Markup:
    """One file: what is asked of it, its picture, its phases, its limits."""
    card, worked = Card("flight", place, one.said, one.faults), session.worked
    name = card.text("name")[:80]
    fields, shown = [], []
    for key, label, choices in (
        ("time_unit", "Unit of its times", TIME_UNITS), ("height_unit", "Unit of its heights", HEIGHT_UNITS),
    ):  # fmt: skip
        if card.text(key) or card.at(key):
            fields.append(card.field(key, label, "The file does not say it.", (_UNSAID, *((unit, unit) for unit in choices))))
            shown.append(key)
    for key, label in (("time_column", "Column of the time"), ("height_column", "Column of the height")):
        if card.text(key) or card.at(key):
            fields.append(card.field(key, label, "Its number, the first is 1."))
            shown.append(key)
    if not worked.rig.way.tied:
        fields.append(card.field("of", "Whose altimeter", "Two parts come down apart.", (_UNSAID, *((key, worked.title(key)) for key in worked.canopies))))
        shown.append("of")
    fields += [
        card.field("temperature", _DROP["temperature"].label, "At the field, for example 28 °C. Empty: 20 K either way are counted."),
        card.field("when", "Date", "Stands in the source of what is taken over."),
        card.field("mass", "Mass under the canopies", "If it was not the rig's. Without the propellant that burned."),
    ]
    shown += ["temperature", "when", "mass", *(f"limits.{key}" for key in worked.canopies if one.flight)]
    title = element("h2", f"Flight {place + 1}{f': {name}' if name and not session.example else ''}", id=f"flight-{place}")
    told = _told(session, place, one) if one.flight else []
    if session.example:
        return element("section", title, *told, class_="loft-flight")
    return element(
        "section", title, *card.rest(shown), element("div", *fields, class_="loft-saidform loft-noprint"), *told,
        *([_limit_form(card, one)] if one.flight else []), *_to_the_book(one, name or f"Flight {place + 1}"),
        element("p", card.act("remove", f"Take flight {place + 1} off the page")),
        class_="loft-flight", data_card="flight", data_place=str(place),
    )  # fmt: skip


def _to_the_book(one: Opened, name: str) -> list[Markup]:
    """The way to the logbook, with what was found of a flight; none where nothing was."""
    if not one.flight or not one.found:
        return []
    found = {key: [each.drag_area.low, each.drag_area.best, each.drag_area.high] for key, each in one.found.items()}
    found |= {name: [value] for name, value in _top_and_time(one.flight).items() if value is not None}
    whole = "time" in found
    titles = " and ".join(one.flight.worked.title(key) for key in one.found)
    brought = json.dumps({"found": found, "told": f"With what {name} says: greatest height{', time' if whole else ''}, drag of the {titles}."}, ensure_ascii=False)
    return [element("p", element("a", "Write this flight into the logbook", href="../logbook/#flight", class_="loft-button", data_brings=brought), class_="loft-noprint")]


def _told(session: Session, place: int, one: Opened) -> list[Markup]:
    """Picture, table of phases, and what each fit says."""
    worked, flight = session.worked, one.flight
    assert flight
    log = flight.log
    said = [f"{len(log.times)} samples; {log.told}."]
    if log.spikes:
        said.append(f"{len(log.spikes)} sample{'s' if len(log.spikes) > 1 else ''} that no fall could make: left out of the fit, crossed in the picture.")
    said += [BOTH_ZEROS] if len(flight.zeros) > 1 else []
    said += [f"No sample from {start:.1f} s to {end:.1f} s." for start, end in log.gaps[:6]]
    said += [f"And {len(log.gaps) - 6} more such gaps."] if len(log.gaps) > 6 else []
    rows = [
        (f"{i} {_phase(worked, part.name)}", f"{part.stretch.start:.1f}", f"{part.stretch.end:.1f}", "" if part.name in (CLIMB, GROUND) else worked.show(part.stretch.rate, SPEED))
        for i, part in enumerate(flight.parts, 1)
    ]
    fits = [
        element("li", element("strong", f"{capital(worked.title(key))}: "), f"Cd·S {worked.range(fit.drag_area, AREA)}, 95 % sure, from {fit.start:.1f} s to {fit.end:.1f} s; standard error {worked.show(fit.sunk.error, AREA)}.")
        for key, fit in one.found.items() if isinstance(fit, Found)
    ]  # fmt: skip
    return [
        element(
            "div",
            figure(_picture(worked, place, one, flight)),
            table(("Phase", "From (s)", "To (s)", "Sinks at, as shown"), rows, f"Phases of flight {place + 1}", narrow=True),
            class_="loft-recorded",
        ),
        element("p", " ".join(said)),
        *([element("ul", *fits)] if fits else []),
    ]


def _phase(worked: Worked, name: str) -> str:
    return worked.title(name) if name in worked.canopies else name


def _picture(worked: Worked, place: int, one: Opened, flight: Flight) -> Any:
    log, kind = flight.log, HEIGHT
    bands = [Band(_phase(worked, part.name), part.stretch.start, part.stretch.end, part.name in worked.canopies) for part in flight.parts]
    fits = [(fit.start, fit.end) for fit in one.found.values() if isinstance(fit, Found)]
    heights = [height - flight.zero for height in log.heights]
    told = "; ".join(f"{band.name} from {band.start:.0f} s to {band.end:.0f} s" for band in bands)
    words = ["Thick between dashed limits: what was fitted."] if fits else []
    words += ["A cross: a sample left out."] if log.spikes else []
    words += ["A dotted box: no sample came."] if log.gaps else []
    return drawn(
        f"Height as shown over time. {' '.join(words)}".strip(),
        f"Flight {place + 1}: {told}; highest {worked.show(max(0.0, *(h for i, h in enumerate(heights) if i not in log.spikes)), kind)}.",
        "seconds", "height",
        Record(log.times, heights, log.spikes, log.gaps, bands, fits), worked.writer(kind), read(f"1 {kind.offered(worked.rig.units)}", kind),
    )  # fmt: skip


def _limit_form(card: Card, one: Opened) -> Markup:
    """From when to when each canopy was open, to be moved; and the way back to what was found."""
    flight = one.flight
    assert flight
    given = card.said.get("limits")
    typed = given if isinstance(given, dict) else {}
    rows = []
    for key in _keys(flight):
        fit, wrong = one.found.get(key), card.at(f"limits.{key}")
        kept = typed.get(key)
        ends = [str(end)[:20] for end in kept] if isinstance(kept, list) and len(kept) == 2 else [f"{fit.start:.1f}", f"{fit.end:.1f}"] if isinstance(fit, Found) else ["", ""]
        title = capital(flight.worked.title(key))
        id_ = f"flight-{card.place}-{key}"
        inputs = [
            element(
                "div", element("label", f"{word} (s)", for_=f"{id_}-{end}"),
                element("input", type="number", step="0.1", value=value, id=f"{id_}-{end}", data_limit=key, aria_describedby=f"{id_}-fault", aria_invalid="true" if wrong else None),
                class_="loft-field",
            )
            for end, word, value in (("from", "From", ends[0]), ("to", "To", ends[1]))
        ]
        rows.append(element("fieldset", element("legend", f"{title}: sank steadily"), *inputs, card.wrong(id_, wrong), class_="loft-limits"))
    return element("div", *rows, card.act("found", "Limits as found") if typed else None, class_="loft-limitform loft-noprint")


def _timed(session: Session, place: int, one: Opened) -> Markup:
    """A descent by a watch: what is asked, and what it says."""
    card, worked = Card("timed", place, one.said, one.faults), session.worked
    names = ("of", "begun", "high", "low", "seconds", "sure", "watch", "temperature", "mass", "when")
    last = [*worked.canopies][-1]
    fields = [
        card.field("of", "Canopy", "Open all the while.", [(key, worked.title(key)) for key in worked.canopies], last),
        card.field("high", _DROP["high"].label, "Above the field, for example 60 m."),
        card.field("low", _DROP["low"].label, "0 for the ground.", (), "0 m"),
        card.field("seconds", _DROP["seconds"].label, "For example 12.4 s."),
        card.field("begun", _DROP["begun"].label, _DROP["begun"].help, [(name, name) for name in BEGUN], UNKNOWN),
        card.field("sure", _DROP["sure"].label, f"Within so much, nineteen times of twenty: {SURE} judged by eye (common practice, no source), or a length.", (), SURE),
        card.field("watch", "The watch, at each end", f"{WATCH} for a thumb (common practice, no source).", (), WATCH),
        card.field("temperature", _DROP["temperature"].label, "At the field, for example 28 °C. Empty: 20 K either way are counted."),
        card.field("mass", _DROP["mass"].label, "If it was not the rig's: weigh what hung there."),
        card.field("when", "Date", "Stands in the source of what is taken over."),
    ]
    told = [
        element("p", element("strong", f"{capital(worked.title(key))}: "), f"{worked.range(fit.timed_rate, SPEED)} in that day's air; Cd·S {worked.range(fit.drag_area, AREA)}, held at least 95 times of 100.")
        for key, fit in one.found.items() if isinstance(fit, Timed)
    ]  # fmt: skip
    if not told and not one.faults:
        told = [element("p", "Say a height and seconds.")]
    return element(
        "section", element("h2", f"Timed {place + 1}", id=f"timed-{place}"), *card.rest(names), element("div", *fields, class_="loft-saidform loft-noprint"),
        *told, element("p", card.act("remove", f"Take timed {place + 1} off the page")), class_="loft-flight", data_card="timed", data_place=str(place),
    )  # fmt: skip
