"""What is done with hostile input, and what must hold of every answer: of each group of parsers a function that takes any bytes.

Nothing but `Wrong` or an error of the core's leaves these functions, and either is a find. `scripts/fuzz.py` hunts for them for as long as
it is let, guided by what is reached; `tests/core/test_hostile.py` runs what it found before, and some changes of that.
"""

import json
import random
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
if str(ROOT / "calc") not in sys.path:
    sys.path[:0] = [str(ROOT / "calc")]

from loftbook.errors import Refusal  # noqa: E402
from loftbook.faces.flights import reply as measured  # noqa: E402
from loftbook.faces.live import answer  # noqa: E402
from loftbook.faces.logbook import record, told  # noqa: E402
from loftbook.log import entries  # noqa: E402
from loftbook.log.altimeter import read_log  # noqa: E402
from loftbook.log.book import Book  # noqa: E402
from loftbook.log.entries import Entry, line, read_book, to_csv  # noqa: E402
from loftbook.log.kinds import KINDS  # noqa: E402
from loftbook.log.shelf import shelf  # noqa: E402
from loftbook.physics.wind import layered_wind  # noqa: E402
from loftbook.quantity import LONGEST, read, show  # noqa: E402
from loftbook.rig.fields import DEFAULTS, FIELDS, STARTS  # noqa: E402
from loftbook.rig.files import load, starting_file, to_json, to_toml  # noqa: E402
from loftbook.rig.layers import read_layers  # noqa: E402
from loftbook.rig.parsing import parse, value_of  # noqa: E402

SLOW = 1.0  # s that any input may take, in an interpreter that nobody watches


class Wrong(AssertionError):
    """An answer that is neither right nor a proper refusal."""


def hold(sound: bool, what: str) -> None:
    """Raises `Wrong` where something does not hold."""
    if not sound:
        raise Wrong(what)


def refused(refusal: Refusal, *fields: str, named: bool = False) -> None:
    """A refusal says why, of which field, and in texts that every machine can write. fields: what may be named; none: anything."""
    hold(bool(refusal.faults), "a refusal without a fault")
    for fault in refusal.faults:
        hold(bool(fault.message.strip()), "a refusal without a reason")
        hold(not fields or fault.field in fields, f"a refusal names {fault.field[:80]!r}")
        hold(not named or bool(fault.field or fault.label), f"a refusal names no field: {fault.message[:80]!r}")
        hold(len(fault.message) < 1500, f"a reason of {len(fault.message)} characters")
        json.dumps(fault.data(), ensure_ascii=False).encode()


def text_of(data: bytes, halves: bool = True) -> str:
    """A text of any bytes: UTF-8 where it is any, with the lone halves of signs that only a script can make, or without."""
    try:
        return data.decode("utf-8", "surrogatepass" if halves else "replace")
    except UnicodeDecodeError:
        return data.decode("latin-1")


# --- rig files and links -----------------------------------------------------------------------------


def rig(data: bytes) -> None:
    """TOML, JSON and links: a rig that reads again as it was from each of them, or a refusal."""
    try:
        texts = load(text_of(data))
    except Refusal as refusal:
        return refused(refusal, "", *FIELDS)
    full = {"rig.start": DEFAULTS["rig.start"]} | texts
    for name, made in (("TOML", to_toml(full)), ("JSON", to_json(full)), ("a link", json.dumps(full))):
        hold(load(made) == full, f"{name} does not read as what was written")
        made.encode()
    try:
        parse(texts)
    except Refusal as refusal:
        refused(refusal, "", *FIELDS)
    return None


# --- the logbook ---------------------------------------------------------------------------------------


def _sealed(row: str) -> str:
    """A line of JSON with the name that it should have, so that more than the sum over it is tried."""
    try:
        data = json.loads(row)
        return json.dumps(data | {"name": entries._entry(data, "line").name}) if isinstance(data, dict) else row
    except (Refusal, ValueError, RecursionError):
        return row


def book(data: bytes) -> None:
    """Lines of JSON and tables of CSV: the same book from each of them, told in words, or a refusal."""
    text = text_of(data)
    for tried in dict.fromkeys((text, "\n".join(map(_sealed, text.split("\n"))))):
        try:
            found = read_book(tried)
        except Refusal as refusal:
            refused(refusal, named=True)
            continue
        _same_book(found, "\n".join(map(line, found)))
        _same_book(found, to_csv(found))
        told({"lines": [line(one) for one in found]})
        for one in found:
            json.dumps(record(one), ensure_ascii=False).encode()
        Book(tuple(found)).standing  # noqa: B018
        shelf(found)


def _same_book(found: tuple[Entry, ...], text: str) -> None:
    hold(read_book(text) == found, f"a book does not read as what was written: {text[:200]!r}")


# --- altimeters' files ------------------------------------------------------------------------------------

_ASKED: tuple[dict[str, Any], ...] = (
    {}, {"time_unit": "s", "height_unit": "m"}, {"time_unit": "ms", "height_unit": "ft"}, {"time_column": 1, "height_column": 2},
    {"time_unit": "s", "height_unit": "m", "time_column": 2, "height_column": 3}, {"time_unit": "parsec"},
)  # fmt: skip


def altimeter(data: bytes) -> None:
    """The first byte says what the reader said of the file, the rest is the file: samples that make a flight, or a refusal."""
    if not data:
        return
    said, text = _ASKED[data[0] % len(_ASKED)], text_of(data[1:], halves=False)
    try:
        log = read_log(text, **said)
    except Refusal as refusal:
        refused(refusal, named=True)
    else:
        hold(len(log.times) == len(log.heights) > 1, "samples are missing")
        hold(all(map(isfinite, (*log.times, *log.heights))), "a sample is no number")
        hold(all(a <= b for a, b in zip(log.times, log.times[1:], strict=False)), "time falls")
        again = "time (s),altitude (m)\n" + "\n".join(f"{a!r},{b!r}" for a, b in zip(log.times, log.heights, strict=True))
        try:
            same = read_log(again)
            hold((same.times, same.heights, same.spikes, same.gaps) == (log.times, log.heights, log.spikes, log.gaps), "samples written down read otherwise")
        except Refusal as refusal:  # in other units it may look like hours, minutes and seconds
            hold("hours, minutes" in str(refusal), f"samples written down are refused: {refusal}")
    rest = {key: str(value) for key, value in said.items()}
    made = measured(_DEMO, {"flights": [{"text": text, "name": text[:40]} | rest], "timed": [{"high": text[:40], "seconds": text[40:80], "sure": text[80:120]}]})
    json.dumps(made, ensure_ascii=False, allow_nan=False)


_DEMO = parse({})


# --- what is typed, wind layers among it ---------------------------------------------------------------------

_PATHS = (*FIELDS,)
_ALL = {**FIELDS, **{one.path: one for kind in KINDS.values() for one in kind.fields}}
_NAMES = (*_ALL,)


def typed(data: bytes) -> None:
    """The first two bytes name a field, the rest is typed into it: a number inside the field's limits, or a refusal that names it."""
    if len(data) < 2:
        return
    place, text = int.from_bytes(data[:2]), text_of(data[2:], halves=False)
    field = _ALL[_NAMES[(place >> 1) % len(_NAMES)]]
    try:
        value = value_of(field, text, "customary" if place % 2 else "metric")
    except Refusal as refusal:
        refused(refusal, field.path)
    else:
        if isinstance(value, float):
            assert field.kind is not None
            hold(isfinite(value) and field.low <= value <= field.high, f"{field.path}: {value!r} is outside its limits")
            shown = show(value, field.kind, "metric")
            if field.kind.beside is None and len(shown) <= LONGEST:
                near = read(shown, field.kind)
                hold(abs(near - value) <= 0.02 * abs(value) + 1e-3 or not value, f"{field.path}: {shown} is not {value!r}")
    try:
        layers = read_layers(text, "flight.layers")
    except Refusal as refusal:
        refused(refusal, "flight.layers")
    else:
        wind = layered_wind(layers)
        hold(all(isfinite(part) for height in (0.0, 55.5, 1e4) for part in wind(height)), "wind that is no number")
        again = "; ".join(f"{one.height!r} m {one.speed!r} m/s {one.bearing:.6f}" for one in layers)
        if all("e" not in f"{one.height!r}{one.speed!r}" for one in layers):
            hold([one.height for one in read_layers(again)] == [one.height for one in layers], "layers written down read otherwise")
    if field.path in FIELDS:
        try:
            parse({field.path: text})
        except Refusal as refusal:
            refused(refusal, "", *FIELDS)


# --- whole questions, and what a browser has kept -----------------------------------------------------------------


def door(data: bytes) -> None:
    """A question as a page puts it, with whatever the browser had stored in it: an answer in JSON, ok or with faults."""
    text = text_of(data)
    reply = json.loads(answer(text))
    if reply["ok"] is not True:
        hold(bool(reply["faults"]) and all(fault["message"].strip() for fault in reply["faults"]), "a refusal without a reason")
    json.dumps(reply, ensure_ascii=False).encode()


@dataclass(frozen=True)
class Group:
    """A function for any bytes, what to begin with, and words that are worth putting in. longest: bytes that are tried."""

    name: str
    run: Callable[[bytes], None]
    seeds: Callable[[], Iterable[str | bytes]]
    words: Callable[[], Iterable[str]]
    longest: int


def _rig_seeds() -> Iterable[str]:
    from loftbook.rig.parsing import is_relevant

    yield "[main.bay]\ntube = 54\n[rig]\nstart = 0xff\n[flight]\napogee = 1_000.5e0\nway = true\nmain = 2026-01-01\nx.y.z = [1, {a = 2}]\n"
    yield '{"rig.name": "\\ud83d\\ude80 \\ud800", "main.bay.tube": 0.054}'
    yield '{"main": {"bay": {"tube": {"deep": 1}}}, "__proto__": null}'
    for start, texts in STARTS.items():
        yield starting_file(start)
        few = {path: text for place, (path, text) in enumerate(texts.items()) if place % 9 == 0 and is_relevant(FIELDS[path], texts)}
        yield json.dumps({"rig.start": start} | few)
        yield to_json({"rig.start": start} | few)
        yield to_toml({"rig.start": start} | few)


def entries_made() -> tuple[Entry, ...]:
    """One entry of each kind, each with something of everything."""
    texts = {
        "flight": {"flight.went": "as planned", "flight.apogee": "612 m", "flight.rate": "6.1 m/s", "flight.walk": "260 m", "flight.toward": "north-east", "flight.wind": "3 m/s", "flight.note": "=hot & <b>"},
        "test": {"test.mass": "1.3 g", "test.pins": "3", "test.result": KINDS["test"].fields[2].choices[0]},
        "bundle": {"bundle.mass": "78 g", "bundle.width": "60 mm", "bundle.length": "250 mm", "bundle.thickness": "30 mm"},
        "pull": {"pull.force": "31 N", "pull.note": 'says "tight", \'so\'\nand more'},
        "drop": {"drop.high": "60 m", "drop.seconds": "12.4 s", "drop.begun": KINDS["drop"].fields[3].choices[0]},
        "inspection": {"inspection.of": "cord", "inspection.result": "sound"},
        "repair": {"repair.of": "lines", "repair.note": "sewn"},
        "repack": {"repack.note": "by me"},
        "kept": {},
        "picture": {"picture.of": "n0123456789abcdef012", "picture.data": "data:image/png;base64,AAAA"},
    }
    made = [
        Entry(f"2026-01-02T03:04:05.{place:03}Z", kind, "2026-01-02", "Stint", about="main", said=said, found={"main": (0.1, 0.2, 0.3)} if kind in ("flight", "drop") else {}, planned={"apogee": (1.0, 2.0, 3.0)} if kind == "flight" else {}, fields={"rig.name": "Stint", "main.canopy.name": "Orange"})
        for place, (kind, said) in enumerate(texts.items())
    ]
    return (*made, Entry("2026-01-02T03:04:06.000Z", "struck", "2026-01-03", "Stint", replaces=made[0].name))


def _book_seeds() -> Iterable[str]:
    made = entries_made()
    yield from (line(one) for one in made)
    yield "\n".join(map(line, made[:4]))
    yield to_csv(made)
    yield from (to_csv((one,)) for one in made[:3])


def _log_seeds() -> Iterable[bytes]:
    rows = [(place / 4, 4.0 * place if place < 40 else max(0.0, 160 - (place - 40) * 2.0)) for place in range(130)]
    told = "\n".join(f"{a:.2f},{b:.1f}" for a, b in rows)
    yield b"\x00" + f"time (s),altitude (m)\n{told}".encode()
    yield b"\x01" + told.encode()
    yield b"\x02" + "\n".join(f"{a * 1000:.0f};{b:.1f}".replace(".", ",") for a, b in rows).encode()
    yield b"\x04" + "\n".join(f"{place}\t{a:.2f}\t{b:.1f}\tup" for place, (a, b) in enumerate(rows)).encode()
    yield b"\x03" + b"# seconds, feet\ntime s, height ft, volts\n1,2,3\n2,3,3\n3,5,3\n"
    yield b"\x00" + "\ufefftime ms;agl m;\r\n0;0;\r1e3;.5;\r\n2,5e3;1,5;".encode()


def _typed_seeds() -> Iterable[bytes]:
    for place, path in enumerate(_NAMES):
        for system in (0, 1):
            yield (place << 1 | system).to_bytes(2) + (_ALL[path].default or "1 m").encode()
    layers = ("10 m 3 m/s 270; 300 m 7 m/s 285", "33 ft 6 mph 90°\n1 km 12 kn 180.5 deg")
    words = ("6 ft 2 in", "6'2\"", "1.8m", "1,8 m", "2 lb 3 oz", "3 1/2 in", "15 ft/s", "72 °F", "½ in", "1.234,5 mm", "1e400 m", "-0 m", "٣ m", "5 g/cm3", "20 %")
    yield from ((place * 6).to_bytes(2) + one.encode() for place, one in enumerate((*layers, *words)))


def _door_seeds() -> Iterable[str]:
    made = entries_made()
    lines, rig_ = [line(one) for one in made], {"rig.name": "Stint", "main.bay.tube": "54 mm"}
    rows: tuple[Mapping[str, object], ...] = (
        {"do": "about"},
        {"do": "read", "text": '{"main.bay.tube": "54 mm"}'},
        {"do": "write", "fields": rig_, "format": "json"},
        {"do": "write", "fields": rig_, "format": "toml"},
        {"do": "calculate", "calculator": "packing", "fields": rig_, "bay": "main"},
        {"do": "more", "calculator": "cord", "fields": rig_},
        {"do": "numbers", "calculator": "canopy", "fields": rig_},
        {"do": "qr", "text": "x", "name": "y"},
        {"do": "entry", "lines": lines},
        {"do": "table", "lines": lines[:3]},
        {"do": "book", "text": "\n".join(lines[:3])},
        {"do": "known", "fields": rig_, "lines": lines[:3]},
        {"do": "enter", "fields": rig_, "kind": "pull", "day": "2026-01-02", "made": "2026-01-02T03:04:05.006Z", "about": "main", "said": {"pull.force": "31 N"}, "replaces": "", "found": {}},
        {"do": "enter", "fields": rig_, "kind": "flight", "day": "2026-01-02", "made": "2026-01-02T03:04:05.006Z", "said": {"flight.went": "as planned"}, "found": {"main": [1, 2.5, 3], "apogee": [300]}},
        {"do": "measured", "fields": rig_, "flights": [{"text": "time s,height m\n0,0\n1,5\n2,3\n3,0\n", "name": "x", "limits": {"main": ["1", "2"]}, "mass": "1 kg", "when": "May", "temperature": "20 °C", "of": "main"}], "timed": [{"of": "main", "high": "60 m", "low": "0 m", "seconds": "12.4", "begun": "I do not know", "sure": "20 %", "watch": "0.3 s"}]},
    )  # fmt: skip
    yield from (json.dumps(row, ensure_ascii=False) for row in rows)


_JSON_WORDS = ("\\ud800", "\\u0000", "\\u202e", "1e999", "NaN", "-Infinity", "null", "true", "[[[[", "{}", "9" * 400, "__proto__", "\u2028")
GROUPS = {
    group.name: group
    for group in (
        Group("rig", rig, _rig_seeds, lambda: (*FIELDS, *_JSON_WORDS, "0x" + "f" * 5000, "'''", '"""', "[[a]]", "inf", "-nan", "0o7", "00:00:00", "2026-01-01", "a.b.c.d"), 16_384),
        Group("book", book, _book_seeds, lambda: (*_NAMES, *KINDS, *entries._KEYS, *_JSON_WORDS, "'=", "\r\n", '""'), 8_192),
        Group("altimeter", altimeter, _log_seeds, lambda: ("time", "altitude", "ms", "ft", "1e-320", "1e308", "-0", ";;", "\t\t", "\r", "#", "//", "235959", "240000"), 8_192),
        Group("typed", typed, _typed_seeds, lambda: ("m/s", "ft", "lbf/in", "delta_degC", "°F", "%", "½", "⁄", "1e999", "^-1", "gr", "0/0", "e5", "\u202f", "nan", "inf", "9" * 50), 400),
        Group("door", door, _door_seeds, lambda: (*FIELDS, *_NAMES, *_JSON_WORDS, "do", "fields", "lines", "text", "limits", "said", "found", "replaces"), 8_192),
    )
}  # fmt: skip


# --- changes by dice, for a check that is the same every time ---------------------------------------------------


def changed(dice: random.Random, data: bytes, others: list[bytes], words: list[bytes]) -> bytes:
    """A text with one to four small changes: bytes flipped, taken out or doubled, a word put in, a piece of another text."""
    made = bytearray(data)
    for _ in range(dice.randint(1, 4)):
        at = dice.randrange(len(made) + 1)
        end = min(len(made), at + dice.choice((1, 1, 2, 5, 20, 200)))
        act = dice.randrange(6)
        if act == 0 and at < len(made):
            made[at] ^= 1 << dice.randrange(8)
        elif act == 1:
            del made[at:end]
        elif act == 2:
            made[at:at] = made[at:end] * dice.choice((1, 2, 30))
        elif act == 3:
            made[at:at] = dice.choice(words)
        elif act == 4:
            made[at:end] = dice.choice(words)
        else:
            other = dice.choice(others)
            start = dice.randrange(len(other) + 1)
            made[at:end] = other[start : start + dice.choice((3, 30, 300))]
    return bytes(made)


def beginnings(group: Group) -> list[bytes]:
    """What a group starts from, as bytes."""
    return [seed if isinstance(seed, bytes) else seed.encode("utf-8", "surrogatepass") for seed in group.seeds()]


def word_bytes(group: Group) -> list[bytes]:
    return [word.encode() for word in group.words()]
