"""The requests that both Pythons must answer alike, made from the declarations: no dice, the same each time.

Edges, families, both unit systems, wrong texts and files; knows no browser.
"""

import itertools
import json

from loftbook.calculators import CALCULATORS
from loftbook.answer import Field
from loftbook.fields import DEFAULTS, FIELDS
from loftbook.plan import plan
from loftbook.quantity import COUNT, SYSTEMS, WARMER, read
from loftbook.rig import LARGEST_FILE, limits, to_json, to_toml

NAMES = [*CALCULATORS, "plan"]
FAMILIES = FIELDS["canopy.family"].choices
GOLDEN = 0.6180339887498949  # its multiples spread evenly over 0 … 1

# One change each that leads elsewhere in the core.
RIGS: list[dict[str, str]] = [
    {},
    *({"canopy.family": family, "canopy.sides": "12"} for family in FAMILIES),
    *({"canopy.sides": str(lines)} for lines in (4, 5, 7, 13, 16, 31, 32)),
    *({path: choice} for path in FIELDS for choice in FIELDS[path].choices if path != "canopy.family"),
    {"canopy.family": "cross", "canopy.sides": "32"}, {"canopy.family": "annular", "canopy.hole_ratio": "0.75"},
    {"canopy.mass": "150 g", "canopy.vent": "0"}, {"rocket.tube": "38 mm"}, {"rocket.tube": "54 mm"}, {"rocket.bay": "200 mm"},
    {"site.elevation": "1650 m", "site.warmer": "15 °C"}, {"site.pressure": "29.1 inHg"}, {"flight.exponent": "0.31"},
    {"flight.layers": "10 m 3 m/s 270; 300 m 12 m/s 310"}, {"pack.beside": "38 mm"}, {"joint.vent": "", "joint.tested": "0.1 g"},
    {"joint.pins": "3", "joint.pin": "UNC #4-40"}, {"chain.swivel": ""}, {"pack.line_turns": "2.5", "pack.cord_turns": "1"},
    {"flight.recovery": "drogue, then main", "flight.wind": "9 m/s"},
    {"flight.recovery": "two parts, two canopies", "second.family": "measured by me"},
    {"rocket.mass": "4 lb 13.6 oz", "rocket.tube": "3 in", "canopy.size": "4' 7\"", "lines.length": "55½ in", "flight.wind": "9 mph",
     "lines.mass": "0.0516 oz/yd", "pack.density": "20 lb/ft³", "site.elevation": "394 ft", "canopy.vent": "10%"},
    {"canopy.size": "4.4 m", "flight.release": "4600 m"}, {"rocket.mass": "10 g", "nose.mass": "1 g"}, {"rocket.mass": "27.5 kg"},
    {"site.east": "0", "site.west": "0", "flight.wind": "0"}, {"canopy.size": "15 m", "flight.release": "15 km"},
    {"rig.name": "Möwe <b>2</b> & 海鷗 \U0001f680"},
]  # fmt: skip

# Texts that are refused, or only just not.
TEXTS = [
    "", " ", "5", "1,250", "1,250 mm", "nan", "inf", "1e999 m", "1e308 km", "1e-320 m", "0.1 m", "0.30000000000000004 m", "m**9**9",
    "5 m**9**9", "6'2", "6 ft 2 in", "5 in 6 ft", "5 kg", "5 m^2", "٣ m", "5\u2009µm", "½ in", "½", "x" * 61, "<b>", "5\x00m", "\U0001f680",
    "72 °F", "8.5", "1.2.3 m", "5 parsec", "5 __import__", "\u202e5 m", "5 m\n", "-1 m", "+0,075 m",
]  # fmt: skip

_WHOLE = to_toml(DEFAULTS)
FILES = [
    _WHOLE, to_json(DEFAULTS), "\ufeff" + _WHOLE, _WHOLE.replace("\n", "\r\n"), "", "{}", "{", "[]", "null", "this is no rig", "[rocket",
    "[rig]\nname = 'a'\nname = 'b'", "[rig]\nname = 1979-05-27T07:32:00Z", '{"rocket": {"mass": true, "tube": [1], "speed": "1"}}',
    '{"rocket.mass": 2.2}', '{"canopy.sides": 8, "flight.exponent": 0.2}', '{"flight.exponent": 1e22}', '{"flight.exponent": 1e-7}',
    '{"flight.exponent": 0.1000000000000000055}', '{"flight.exponent": NaN}', '{"flight.exponent": 1e999}', '{"rocket.tub": "75 mm"}',
    '{"rig.name": "Möwe \\ud83d\\ude80"}', '{"rig.name": "a\\u0000b"}', "a = [" * 50, '{"a":' * 50 + "1" + "}" * 50, "#" * (LARGEST_FILE + 1),
    '{"rocket.mass": ' + "9" * 400 + "}", "\x89PNG\r\n", "[rocket]\nmass = 2.2\nmass.x = 1", "a = 1" + "0" * 400, "a = '''\n",
]  # fmt: skip

ODD = [
    {}, {"do": None}, {"do": "x"}, {"do": "numbers"}, {"do": "numbers", "calculator": "x"}, {"do": "calculate", "calculator": None},
    {"do": "numbers", "calculator": "plan", "fields": []}, {"do": "numbers", "calculator": "cord", "fields": {"cord.length": 5}},
    {"do": "numbers", "calculator": "cord", "fields": {"cord.lenght": "5 m"}}, {"do": "read"}, {"do": "read", "text": 5},
    {"do": "write", "fields": {"rig.name": "\x00\x1f\x7f\u2028\U0001f680\\\"'", "x": "y"}, "format": "toml"},
    {"do": "write", "fields": {"rig.name": "\x00\x1f\x7f\u2028\U0001f680\\\"'", "x": "y"}, "format": "json"},
    {"do": "write"}, {"do": "about"},
]  # fmt: skip


def _text(field: Field, value: float) -> str:
    """The text that is read as just this value."""
    if field.kind is COUNT:
        return f"{value:.0f}"
    assert field.kind
    return f"{value!r} {'K' if field.kind is WARMER else field.kind.si}".strip()


def _when(path: str) -> dict[str, str]:
    when = FIELDS[path].when
    return _when(when[0]) | {when[0]: when[1][0]} if when else {}


def edges() -> list[dict[str, str]]:
    """Each numeric field at both ends, exactly and as the limits are written in either system (some are just outside)."""
    found = []
    for path, field in FIELDS.items():
        if field.kind:
            written = [text for system in SYSTEMS for text in limits(field, system).split(" to ")]
            for text in dict.fromkeys((_text(field, field.low), _text(field, field.high), *written)):
                found.append(_when(path) | {path: text})
    return found


def strewn(count: int) -> list[dict[str, str]]:
    """Rigs changed all over by moderate factors, to odd values with all their digits."""
    found = []
    for i in range(count):
        changes = {"canopy.family": FAMILIES[i % len(FAMILIES)], "canopy.sides": str(8 + 4 * (i % 7))}
        for j, (path, field) in enumerate(FIELDS.items()):
            if field.kind and field.kind is not COUNT and field.low < field.high and not field.optional:
                from_default = _si(path) * (0.8 + 0.45 * ((i * 31 + j * 17) * GOLDEN % 1))
                changes[path] = _text(field, min(max(from_default, field.low), field.high))
        found.append(changes)
    return found


def _si(path: str) -> float:
    field = FIELDS[path]
    assert field.kind
    return read(field.default, field.kind)


def make() -> list[dict[str, object]]:
    requests: list[dict[str, object]] = [dict(odd) for odd in ODD]
    for name, system in itertools.product(NAMES, SYSTEMS):
        requests += [{"do": do, "calculator": name, "fields": {"rig.units": system}} for do in ("numbers", "calculate")]
    for i, changes in enumerate(RIGS):
        units = {} if "rig.units" in changes else {"rig.units": SYSTEMS[i % 2]}
        requests.append({"do": "numbers", "calculator": "plan", "fields": units | changes})
        requests.append({"do": "calculate", "calculator": "plan", "fields": units | changes})
    for i, changes in enumerate(edges()):
        name = _user_of(next(reversed(changes)))
        requests.append({"do": ("numbers", "calculate")[i % 2], "calculator": name, "fields": changes})
    for changes in strewn(21):
        requests.append({"do": "numbers", "calculator": "plan", "fields": changes})
    for i, text in enumerate(TEXTS):
        path = ("rocket.bay", "rocket.mass", "flight.wind", "canopy.sides", "site.warmer", "rig.name")[i % 6]
        requests.append({"do": "numbers", "calculator": "plan", "fields": {path: text, "rig.units": SYSTEMS[i % 2]}})
        requests.append({"do": "numbers", "calculator": "canopy", "fields": {"canopy.size": text}})
    requests += [{"do": "read", "text": text} for text in FILES]
    anchors = [stage.anchor for answer in plan({}).answers.values() for stage in answer.stages]
    for i, anchor in enumerate([*anchors, "fold-pleat-1", "fold-flake", "nowhere", ""]):
        requests.append({"do": "step", "anchor": anchor, "fields": RIGS[i % len(RIGS)]})
    for changes in RIGS[:9]:
        requests.append({"do": "walk", "fields": changes})
        requests.append({"do": "card", "fields": changes, "links": [["Fold", "https://example.org/#" + "x" * 20 * len(changes)]]})
    requests += [{"do": "qr", "name": "name", "text": text} for text in ("", "a", "Möwe \U0001f680", "7" * 300, "x" * 2000, "x" * 5000)]
    for format_, changes in itertools.product(("toml", "json"), RIGS[:12]):
        requests.append({"do": "write", "format": format_, "fields": DEFAULTS | changes})
    return requests


def _user_of(path: str) -> str:
    """A calculator that uses the field; a plan draws many things and so is kept for the rest."""
    return next((name for name, calculator in CALCULATORS.items() if path in calculator.inputs), "plan")


CASES = make()


def label(request: dict[str, object]) -> str:
    return json.dumps(request, ensure_ascii=True)[:160]
