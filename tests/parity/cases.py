"""The requests that both Pythons must answer alike, made from the declarations: no dice, the same each time.

Every calculator about every canopy, bay and cord in every way down; edges, families, choices, both unit systems, wrong texts
and files. Knows no browser.
"""

import itertools
import json
from collections.abc import Iterator

from loftbook.calculators import CALCULATORS
from loftbook.log.entries import Entry, line
from loftbook.log.kinds import ASIDE, DAMAGED, PARTS, SOUND
from loftbook.plan import plan
from loftbook.quantity import COUNT, SYSTEMS, WARMER, read
from loftbook.rig.bay_fields import MEASURED, PARTED, SHAPED
from loftbook.rig.field import Field
from loftbook.rig.fields import DEFAULTS, FIELDS, ONE_BAY_75, STARTS, TWO_BAYS_98
from loftbook.rig.files import LARGEST_FILE, to_json, to_toml
from loftbook.rig.parsing import limits
from loftbook.rig.ways import DROGUE, FORWARD, KEYS, MAIN, NO_DROGUE, TWO_BAYS, TWO_PARTS, WAYS

Request = dict[str, object]
Texts = dict[str, str]

NAMES = [*CALCULATORS, "plan"]
FAMILIES = (*SHAPED, MEASURED)
DOES = ("numbers", "calculate")
GOLDEN = 0.6180339887498949  # its multiples spread evenly over 0 … 1
WHERE = {MAIN: TWO_BAYS, DROGUE: TWO_BAYS, FORWARD: TWO_PARTS}  # a way down that has the canopy

# One change each that leads elsewhere in the core, as seen in a whole plan.
RIGS: list[Texts] = [
    {"main.canopy.family": "cross", "main.canopy.sides": "32"}, {"main.canopy.family": "annular", "main.canopy.hole_ratio": "0.75"},
    {"main.canopy.mass": "150 g", "main.canopy.vent": "0"}, {"main.bay.tube": "38 mm"}, {"drogue.bay.tube": "54 mm"},
    {"main.bay.depth": "200 mm"}, {"drogue.bay.depth": "120 mm"}, {"site.elevation": "1650 m", "site.warmer": "15 °C"},
    {"site.pressure": "29.1 inHg"}, {"flight.exponent": "0.31"}, {"flight.layers": "10 m 3 m/s 270; 300 m 12 m/s 310"},
    {"main.pack.beside": "38 mm"}, {"main.joint.vent": "", "main.charge.tested": "0.1 g"}, {"main.cord.swivel": ""},
    {"drogue.joint.pins": "3", "drogue.joint.pin": "UNC #4-40"}, {"main.pack.line_turns": "2.5", "main.pack.cord_turns": "1"},
    {"drogue.canopy.size": "150 mm", "flight.wind": "9 m/s"}, {"flight.way": TWO_PARTS, "forward.canopy.family": MEASURED},
    {"rig.start": ONE_BAY_75, "rocket.mass": "4 lb 13.6 oz", "main.bay.tube": "3 in", "main.canopy.size": "4' 7\"",
     "main.lines.length": "55½ in", "flight.wind": "9 mph", "main.lines.mass": "0.0516 oz/yd", "main.pack.density": "20 lb/ft³",
     "site.elevation": "394 ft", "main.canopy.vent": "10%"},
    {"main.canopy.size": "4.4 m", "flight.apogee": "4600 m"}, {"rocket.mass": "40 g", "nose.mass": "1 g", "middle.mass": "10 g"},
    {"rocket.mass": "27.5 kg"}, {"site.east": "0", "site.west": "0", "flight.wind": "0"}, {"main.canopy.size": "15 m", "flight.apogee": "15 km"},
    {"flight.way": NO_DROGUE, "flight.fall": "timed by me"}, {"flight.way": NO_DROGUE, "flight.fall": "broadside"},
    {"main.canopy.across": "corner to corner"}, {"main.canopy.cloth": "my own cloth", "main.canopy.cloth_strength": ""},
    {"main.charge.kind": "the motor's own charge", "main.charge.backup": "a second charge"},
    {"drogue.charge.kind": "none", "drogue.cord.layout": "nose part-way along"},
    {"rig.measured": "rocket.mass main.canopy.size"}, {"rig.name": "Möwe <b>2</b> & 海鷗 \U0001f680"},
]  # fmt: skip

# Texts that are refused, or only just not.
TEXTS = [
    "", " ", "5", "1,250", "1,250 mm", "nan", "inf", "1e999 m", "1e308 km", "1e-320 m", "0.1 m", "0.30000000000000004 m", "m**9**9",
    "5 m**9**9", "6'2", "6 ft 2 in", "5 in 6 ft", "5 kg", "5 m^2", "٣ m", "5\u2009µm", "½ in", "½", "x" * 61, "<b>", "5\x00m", "\U0001f680",
    "72 °F", "8.5", "1.2.3 m", "5 parsec", "5 __import__", "\u202e5 m", "5 m\n", "-1 m", "+0,075 m",
]  # fmt: skip
TYPED_INTO = (
    "main.bay.depth",
    "rocket.mass",
    "flight.wind",
    "drogue.canopy.sides",
    "site.warmer",
    "rig.name",
    "rig.measured",
)

_WHOLE = to_toml(DEFAULTS)
FILES = [
    _WHOLE, to_json(DEFAULTS), to_toml(STARTS[ONE_BAY_75]), "\ufeff" + _WHOLE, _WHOLE.replace("\n", "\r\n"), "", "{}", "{", "[]", "null",
    "this is no rig", "[rocket", "[rig]\nname = 'a'\nname = 'b'", "[rig]\nname = 1979-05-27T07:32:00Z",
    '{"rocket": {"mass": true, "length": [1], "speed": "1"}}', '{"main": {"canopy": {"size": "1 m", "size": {"x": 1}}}}',
    "[main]\ncanopy = 5\n[drogue.canopy]\nsize = '50 cm'", '{"rocket.mass": 2.2}', '{"main.canopy.sides": 8, "flight.exponent": 0.2}',
    '{"flight.exponent": 1e22}', '{"flight.exponent": 1e-7}', '{"flight.exponent": 0.1000000000000000055}', '{"flight.exponent": NaN}',
    '{"flight.exponent": 1e999}', '{"main.bay.tub": "75 mm"}', '{"rig.start": "one bay, 75 mm"}', '{"rig.start": "no such rig"}',
    '{"rig.name": "Möwe \\ud83d\\ude80"}', '{"rig.name": "a\\u0000b"}', "a = [" * 50, '{"a":' * 50 + "1" + "}" * 50,
    "#" * (LARGEST_FILE + 1), '{"rocket.mass": ' + "9" * 400 + "}", "\x89PNG\r\n", "[rocket]\nmass = 2.2\nmass.x = 1", "a = 1" + "0" * 400,
    "a = '''\n",
]  # fmt: skip

ODD: list[Request] = [
    {}, {"do": None}, {"do": "x"}, {"do": "numbers"}, {"do": "numbers", "calculator": "x"}, {"do": "calculate", "calculator": None},
    {"do": "numbers", "calculator": "plan", "fields": []}, {"do": "numbers", "calculator": "cord", "fields": {"main.cord.length": 5}},
    {"do": "numbers", "calculator": "cord", "fields": {"main.cord.lenght": "5 m"}}, {"do": "numbers", "calculator": "cord", "bay": 5},
    {"do": "numbers", "calculator": "cord", "bay": "x"}, {"do": "calculate", "calculator": "cord", "bay": FORWARD},
    {"do": "numbers", "calculator": "descent", "bay": MAIN}, {"do": "read"}, {"do": "read", "text": 5},
    {"do": "write", "fields": {"rig.name": "\x00\x1f\x7f\u2028\U0001f680\\\"'", "x": "y"}, "format": "toml"},
    {"do": "write", "fields": {"rig.name": "\x00\x1f\x7f\u2028\U0001f680\\\"'", "x": "y"}, "format": "json"},
    {"do": "write"}, {"do": "about"}, {"do": "card", "link": "x"}, {"do": "card", "link": [1, 2]},
]  # fmt: skip


# --- rigs ---------------------------------------------------------------------------------------------


def _text(field: Field, value: float) -> str:
    """The text that is read as just this value."""
    if field.kind is COUNT:
        return f"{value:.0f}"
    assert field.kind
    return f"{value!r} {'K' if field.kind is WARMER else field.kind.si}".strip()


def _when(path: str) -> Texts:
    """What makes a field matter."""
    said: Texts = {}
    for other, values in FIELDS[path].when:
        said = _when(other) | said
        if (said.get(other) or DEFAULTS[other]) not in values:
            said[other] = values[0]
    return said


def _written(field: Field) -> Iterator[str]:
    """Both ends of its range, exactly; of a stamped field once, of others too, as the limits are written in either system."""
    yield _text(field, field.low)
    yield _text(field, field.high)
    if field.bay in ("", MAIN):
        for system in SYSTEMS:
            yield from limits(field, system).split(" to ")


def edges() -> Iterator[tuple[str, Texts]]:
    """Each numeric field at both ends (some are just outside), alone of all."""
    for path, field in FIELDS.items():
        if field.kind:
            for text in dict.fromkeys(_written(field)):
                yield path, _when(path) | {path: text}


def choices() -> Iterator[tuple[str, Texts]]:
    """Every choice of every field."""
    for path, field in FIELDS.items():
        for choice in field.choices:
            yield path, _when(path) | {path: choice}


def strewn(count: int) -> Iterator[Texts]:
    """Rigs changed all over by moderate factors, to odd values with all their digits, in every way down."""
    for i, way in zip(range(count), itertools.cycle(WAYS)):
        changes = {"flight.way": way}
        for k, key in enumerate(KEYS):
            changes[f"{key}.canopy.family"] = FAMILIES[(i + 3 * k) % len(FAMILIES)]
            changes[f"{key}.canopy.sides"] = str(8 + 4 * ((i + k) % 7))
        for j, (path, field) in enumerate(FIELDS.items()):
            if field.kind and field.kind is not COUNT and field.low < field.high and not field.optional:
                from_default = read(field.default, field.kind) * (0.8 + 0.45 * ((i * 31 + j * 17) * GOLDEN % 1))
                changes[path] = _text(field, min(max(from_default, field.low), field.high))
        yield changes


# --- requests -----------------------------------------------------------------------------------------


def _about(path: str, said: Texts) -> Request:
    """A question whose answer the field matters for: a calculator that uses it, about its bay if it has one."""
    way, key = WAYS[said.get("flight.way", DEFAULTS["flight.way"])], FIELDS[path].bay
    for name, calculator in CALCULATORS.items():
        if path in calculator.inputs and (not key or key in calculator.keys(way)):
            return {"calculator": name, "bay": key}
    for name, calculator in CALCULATORS.items():  # of a guest: about the bay that it lives in
        if path in calculator.inputs and way.home(key) in calculator.keys(way):
            return {"calculator": name, "bay": way.home(key)}
    return {"calculator": "plan"}


def everything() -> Iterator[Request]:
    """Every calculator about everything it can be about, in every way down, from both starting rigs, in both systems."""
    for way, (i, start), (j, system) in itertools.product(WAYS, enumerate(STARTS), enumerate(SYSTEMS)):
        fields = {"flight.way": way, "rig.start": start, "rig.units": system}
        for name, calculator in CALCULATORS.items():
            for key in calculator.keys(WAYS[way]):
                yield {"do": DOES[(i + j) % 2], "calculator": name, "bay": key, "fields": fields}
        yield {"do": DOES[(i + j) % 2], "calculator": "plan", "fields": fields}


def single_fields() -> Iterator[Request]:
    for i, (path, said) in enumerate(itertools.chain(edges(), choices())):
        units = {} if "rig.units" in said else {"rig.units": SYSTEMS[i // 2 % 2]}
        yield {"do": DOES[i % 2], **_about(path, said), "fields": units | said}


def canopies() -> Iterator[Request]:
    """Every family, and numbers of lines of all sorts, of every canopy: folded and packed."""
    kinds = [*((family, "12") for family in FAMILIES), *(("flat polygon", str(n)) for n in (4, 5, 7, 13, 16, 31, 32))]
    for (key, way), (i, (family, lines)) in itertools.product(WHERE.items(), enumerate(kinds)):
        said = {"flight.way": way, f"{key}.canopy.family": family, f"{key}.canopy.sides": lines}
        yield {"do": DOES[i % 2], "calculator": "folding", "bay": key, "fields": said}
        yield {"do": DOES[i % 2], "calculator": "packing", "bay": WAYS[way].home(key), "fields": said}
        if key == MAIN:
            yield {
                "do": "numbers",
                "calculator": "plan",
                "fields": said | {f"{DROGUE}.canopy.family": family, f"{DROGUE}.canopy.sides": lines},
            }


def wrong_texts() -> Iterator[Request]:
    for i, text in enumerate(TEXTS):
        fields = {TYPED_INTO[i % len(TYPED_INTO)]: text, "rig.units": SYSTEMS[i % 2]}
        yield {"do": "numbers", "calculator": "canopy", "fields": fields}
        yield {"do": "numbers", "calculator": "canopy", "fields": {f"{KEYS[i % 2]}.canopy.size": text}}


def hand_outs() -> Iterator[Request]:
    """Every step there is, once; cards and walks of every way down."""
    seen: set[str] = set()
    for way, start in itertools.product(WAYS, STARTS):
        fields = {"flight.way": way, "rig.start": start}
        anchors = [step.anchor for answer in plan(fields).answers.values() for step in answer.steps]
        yield from ({"do": "step", "anchor": anchor, "fields": fields} for anchor in anchors if anchor not in seen)
        seen.update(anchors)
    for anchor in ("main-fold-pleat-1", "main-fold-flake", "fold-halve-1", "nowhere", ""):
        yield {"do": "step", "anchor": anchor, "fields": {"main.canopy.sides": "12"}}
    for i, way in enumerate(WAYS):
        fields = {"flight.way": way, "rig.start": (ONE_BAY_75, TWO_BAYS_98)[i % 2], "rig.units": SYSTEMS[i // 2 % 2]}
        yield {"do": "walk", "fields": fields}
        yield {"do": "card", "fields": fields, "link": ["https://example.org/steps/#", "&" + "x" * 150 * i]}
    yield {"do": "card"}


def parts() -> Iterator[Request]:
    """Every part of a plan of every way down, as one opens it."""
    for i, way in enumerate(WAYS):
        fields = {"flight.way": way, "rig.units": SYSTEMS[i % 2]}
        names = list(plan(fields).answers)
        yield {"do": "part", "names": names, "fields": fields}
        yield from ({"do": "part", "names": [name], "fields": fields} for name in names)
    yield from ({"do": "part", "names": [name]} for name in ("", "folding", "main.nothing", "<b>", "x" * 200))
    yield from ({"do": "part", "names": names} for names in (None, "main.folding", [], [1]))


def patterns() -> Iterator[Request]:
    """Patterns of every family, cut in every way, on every paper, and a step of making each."""
    papers = itertools.cycle((paper, scale) for paper in ("a4", "letter", "a3") for scale in ("full", "model"))
    for family, cut in itertools.product(FAMILIES, ("gores", "one piece", "panels across")):
        fields = {"main.canopy.family": family, "main.make.cut": cut, "main.canopy.size": "1.1 m", "main.canopy.sides": "12"}
        paper, scale = next(papers)
        yield {"do": "pattern", "fields": fields, "paper": paper, "scale": scale}
        yield {"do": "calculate", "calculator": "making", "fields": fields}
    for key in ("drogue", "main"):
        yield {"do": "pattern", "bay": key}
        yield {"do": "outline", "bay": key}
        yield {"do": "step", "anchor": f"{key}-make-lines-cut"}
    yield {"do": "pattern", "paper": "a5"}


_UNITS = itertools.cycle(SYSTEMS)


def mends() -> Iterator[Request]:
    """What would mend rigs with something too weak, small or short in each bay; and failures, and what is no check."""
    for start, weak in itertools.product(STARTS, ({"main.cord.link": "150 N"}, {"main.canopy.size": "0.5 m"}, {"main.cord.length": "1 m"}, {"main.canopy.cloth": "nylon 2.25 oz (MIL-C-7350 type I)", "main.canopy.size": "3.5 m"})):
        fields = {"rig.start": start, "rig.units": next(_UNITS)} | weak
        for check in plan(fields).checks:
            if check.verdict == "fail":
                yield from ({"do": "mend", "fields": fields, "bay": check.bay, "check": check.name, "tried": tried} for tried in (0, 25))
    yield {"do": "mend", "fields": {"main.cord.link": "700 N"}, "bay": "failure", "check": "drogue-in"}
    yield from ({"do": "mend", "bay": bay, "check": check} for bay, check in (("", ""), ("main", "chain"), ("main", "<b>"), ("failure", "nothing-such")))


def books() -> Iterator[Request]:
    """Card and walk with a logbook, without one, with one that is damaged, and with what is none."""
    rig = {"rig.name": "Möwe", "main.canopy.name": "No. 7"}
    said = [
        ("inspection", {"inspection.of": part, "inspection.result": SOUND if i % 3 else ASIDE}) for i, part in enumerate(PARTS)
    ] + [("flight", {"flight.went": DAMAGED}), ("test", {"test.mass": "1.3 g", "test.pins": "3", "test.result": PARTED}), ("repack", {})]
    made = [
        Entry(f"2026-05-{day:02}T12:00:00.000Z", kind, f"2026-05-{day:02}", "Möwe", "main" if kind in ("test", "repack") else "", texts, fields=rig)
        for day, (kind, texts) in enumerate(said, 1)
    ]
    lines = [line(one) for one in made]
    for do, way in itertools.product(("card", "walk"), (TWO_BAYS, TWO_PARTS)):
        fields = rig | {"flight.way": way}
        yield from ({"do": do, "fields": fields, "book": book, "today": "2026-06-01"} for book in (lines, lines[4:], [], None, ["{"], "x", [1]))
        yield {"do": do, "fields": fields, "book": lines, "today": "2026-W01-1"}


def flights() -> Iterator[Request]:
    """Files and timed descents: one that is well, one that asks for its units, one that is damaged, one that is opened twice, limits that are moved, days told and not."""
    rows, height = [], 0.0
    for i in range(1100):
        rows.append(f"{i / 10:.1f},{height + 0.3 * ((i * GOLDEN) % 1 - 0.5) + (60 if i == 400 else 0):.3f}")
        height = max(0.0, height + (0 if i < 50 else 120 if i < 130 else -22 if height > 200 else -5) / 10)
    body = "\n".join(rows)
    whole = "time (s),altitude (m)\n" + body
    opened = [{"text": whole, "temperature": "28 °C", "when": "2026-05-02"}, {"text": body}, {"text": whole.replace("50.0,", "50.0;"), "name": "<b>"},
              {"text": whole}, {"text": whole.rsplit("\n", 40)[0], "limits": {"main": ["70", "85.5"], "drogue": ["9", "x"]}, "mass": "6 kg"}]  # fmt: skip
    watched = [{}, {"high": "60 m", "seconds": "11.5"}, {"of": "drogue", "high": "300 ft", "low": "30 ft", "seconds": "4 s", "begun": "let go at rest", "sure": "2 m", "temperature": "5 °C"}]
    for system, start in itertools.product(SYSTEMS, STARTS):
        yield {"do": "measured", "fields": {"rig.start": start, "rig.units": system}, "flights": opened, "timed": watched}
    yield {"do": "measured", "fields": {"flight.way": TWO_PARTS}, "flights": [opened[0], opened[0] | {"of": FORWARD}]}
    yield from ({"do": "measured", "flights": rows} for rows in (None, [1], [{"text": 5}], [{}], []))


def besides() -> Iterator[Request]:
    """Rigs beside each other: all starting rigs, every way down, both systems, faulty ones, and what is no list of rigs."""
    starts: list[object] = [{"name": start, "fields": {"rig.start": start, "rig.units": next(_UNITS)}} for start in STARTS]
    yield {"do": "beside", "rigs": starts[:4]}
    yield {"do": "beside", "rigs": [starts[4], starts[1], starts[2], starts[0]]}
    ways = [{"name": way, "fields": {"flight.way": way, "rig.units": next(_UNITS)}} for way in WAYS]
    yield from ({"do": "beside", "rigs": [ways[at], *ways[at + 1 :], *ways[:at]][:4]} for at in range(len(ways)))
    for changes in RIGS:
        yield {"do": "beside", "rigs": [{"name": "<b>Möwe</b>", "fields": {}}, {"name": "other", "fields": changes}]}
    faulty = {"name": "faulty", "fields": {"main.bay.tube": "5 parsec", "flight.way": "by lift"}}
    yield from ({"do": "beside", "rigs": rigs} for rigs in ([faulty, starts[0]], [starts[0], faulty, faulty], [faulty], starts[:1], starts, [], None, [{}], [{"name": "x" * 500, "fields": {"x": "y"}}]))


def files() -> Iterator[Request]:
    yield from ({"do": "read", "text": text} for text in FILES)
    yield from (
        {"do": "qr", "name": "name", "text": text}
        for text in ("", "a", "Möwe \U0001f680", "7" * 300, "x" * 2000, "x" * 5000)
    )
    for format_, changes in itertools.product(("toml", "json"), ({}, STARTS[ONE_BAY_75], DEFAULTS, *RIGS[::3])):
        yield {"do": "write", "format": format_, "fields": changes}


def make() -> list[Request]:
    requests = [*ODD, *everything(), *single_fields(), *canopies(), *wrong_texts(), *hand_outs(), *parts(), *patterns(), *mends(), *books(), *flights(), *besides(), *files()]
    for i, changes in enumerate(RIGS):
        requests += [{"do": do, "calculator": "plan", "fields": {"rig.units": SYSTEMS[i % 2]} | changes} for do in DOES]
    requests += [{"do": "numbers", "calculator": "plan", "fields": changes} for changes in strewn(18)]
    asked = list({json.dumps(request, sort_keys=True): request for request in requests}.values())
    return [each for request in asked for each in _as_pages_ask(request)]


def _as_pages_ask(request: Request) -> list[Request]:
    """A page that asked for what leads asks for the rest right behind it."""
    return [request, request | {"do": "more"}] if request.get("do") == "calculate" else [request]


CASES = make()


def label(request: Request) -> str:
    return json.dumps(request, ensure_ascii=True)[:160]
