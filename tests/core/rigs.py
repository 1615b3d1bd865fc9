"""Rigs for the tests of this folder, made from the declarations: texts for any field, sound rigs, answers as plain data.

Types no name, limit or default of a field a second time, except what can be said in the texts that are more than a name.
"""

import math
import random
import re
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

from hypothesis import strategies as st

from loftbook import quantity
from loftbook.answer import Answer, Calculator
from loftbook.errors import Fault, Refusal
from loftbook.faces.render import answer_parts, html
from loftbook.quantity import Kind, System
from loftbook.rig.field import Field
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import completed, parse
from loftbook.worked.worked import Worked

LANDINGS = 200
KINDS: tuple[Kind, ...] = tuple(value for value in vars(quantity).values() if isinstance(value, Kind) and not value.beside)
NUMERIC: tuple[Field, ...] = tuple(field for field in FIELDS.values() if field.kind)

# The international yard and pound of 1959 and what follows from them exactly; pint is judged by these.
INCH, POUND, GRAVITY = Fraction("0.0254"), Fraction("0.45359237"), Fraction("9.80665")
FOOT, YARD, OUNCE, MILE = 12 * INCH, 36 * INCH, POUND / 16, 5280 * 12 * INCH
UNITS: dict[str, Fraction] = {  # typed unit -> its size in the SI unit of its kind
    "mm": Fraction(1, 1000), "m": Fraction(1), "in": INCH, "ft": FOOT, "m^2": Fraction(1), "ft^2": FOOT**2,
    "cm^3": Fraction(1, 10**6), "in^3": INCH**3, "kg": Fraction(1), "g": Fraction(1, 1000), "lb": POUND, "oz": OUNCE,
    "m/s": Fraction(1), "ft/s": FOOT, "mi/h": MILE / 3600, "N": Fraction(1), "lbf": POUND * GRAVITY, "J": Fraction(1),
    "ft*lbf": FOOT * POUND * GRAVITY, "hPa": Fraction(100), "kg/m^3": Fraction(1), "g/cm^3": Fraction(1000),
    "lb/ft^3": POUND / FOOT**3, "g/m^2": Fraction(1, 1000), "oz/yd^2": OUNCE / YARD**2, "g/m": Fraction(1, 1000),
    "oz/yd": OUNCE / YARD, "delta_degC": Fraction(1), "delta_degF": Fraction(5, 9), "deg": Fraction(1), "s": Fraction(1),
    "m/s^2": Fraction(1), "ft/s^2": FOOT, "kPa": Fraction(1000), "psi": POUND * GRAVITY / INCH**2,
    "N/mm": Fraction(1000), "lbf/in": POUND * GRAVITY / INCH, "%": Fraction(1, 100), "": Fraction(1),
    "inHg": Fraction("13595.1") * GRAVITY * INCH,  # NIST SP 811 (2008), appendix B.8, prints 3.386 389 E+03 Pa
}  # fmt: skip

# What can be said in the text fields that are more than a name.
SAID = {
    "compare.tubes": ("54 mm", "54 mm; 75 mm; 98 mm", "2.1 in, 3 in, 4 in, 1 m", "38 mm\n54 mm"),
    "compare.sizes": ("1 m", "0.9 m; 1.4 m; 1.8 m", "36 in; 72 in, 1,2 m", "0.1 m; 15 m; 16 m"),
    "flight.layers": ("", "10 m 3 m/s 270", "10 m 3 m/s 270; 300 m 7 m/s 285", "30 ft 10 mph 200; 3000 ft 25 mph 240"),
    "rig.measured": ("", "main.canopy.size", "rocket.mass drogue.pack.density main.bay.tube"),
}


def exact(value: float, kind: Kind) -> str:
    """A text that is read as just this SI value."""
    if kind is quantity.COUNT:
        return f"{value:.0f}"
    return f"{value!r} {'K' if kind is quantity.WARMER else kind.si}".strip()


def typed(value: float, kind: Kind, system: System) -> str:
    """The same in the unit offered in that system, as someone would type it."""
    if kind is quantity.COUNT:
        return f"{value:.0f}"
    unit = kind.offered(system)
    return f"{float(Fraction(value) / UNITS[unit])!r} {unit}".strip()


def in_range(field: Field) -> st.SearchStrategy[float]:
    if field.kind is quantity.COUNT:
        return st.integers(int(field.low), int(field.high)).map(float)
    even = st.floats(field.low, field.high, allow_subnormal=False) | st.sampled_from((field.low, field.high))
    if field.low <= 0 or field.high < 20 * field.low:
        return even
    magnitudes = st.floats(math.log(field.low), math.log(field.high)).map(math.exp)
    return even | magnitudes.map(lambda value: min(max(value, field.low), field.high))


def texts_of(field: Field) -> st.SearchStrategy[str]:
    """What people may say in a field, all of it acceptable by itself (a converted limit may fall just outside)."""
    if field.choices:
        return st.sampled_from(field.choices)
    if field.path in SAID:
        return st.sampled_from(SAID[field.path])
    if field.kind is None:
        return st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=40)
    kind = field.kind
    written = in_range(field).flatmap(
        lambda value: st.sampled_from((exact(value, kind), *(typed(value, kind, system) for system in quantity.SYSTEMS)))
    )
    return written | st.just("") if field.optional else written


def faults_of(texts: Mapping[str, str]) -> tuple[Fault, ...]:
    try:
        parse(texts)
    except Refusal as refusal:
        return refusal.faults
    return ()


def healed(texts: Mapping[str, str]) -> dict[str, str]:
    """The same without what is refused; what contradicts a default goes too."""
    left = dict(texts)
    while faults := faults_of(left):
        refused = {fault.field for fault in faults}
        others = [path for path in left if path not in refused]
        for path in refused & set(left) or [_blamed(left, others, refused)]:
            del left[path]
    return left


def _blamed(left: Mapping[str, str], others: list[str], refused: set[str]) -> str:
    """A field that a default is refused for: with it the default is refused, with only those before it it is not."""
    rows = [(path, left[path]) for path in others]
    good, bad = 0, len(rows)
    while bad - good > 1:
        middle = (good + bad) // 2
        if refused & {fault.field for fault in faults_of(dict(rows[:middle]))}:
            bad = middle
        else:
            good = middle
    return rows[bad - 1][0]


def any_texts(*, few: bool = False) -> st.SearchStrategy[dict[str, str]]:
    """Some fields of a rig, each in its own range; together they may contradict each other."""
    if few:
        ways = st.fixed_dictionaries({"flight.way": st.sampled_from(FIELDS["flight.way"].choices)})
        names = st.lists(st.sampled_from(sorted(FIELDS)), min_size=1, max_size=6, unique=True)
        some = names.flatmap(lambda paths: st.fixed_dictionaries({path: texts_of(FIELDS[path]) for path in paths}))
        return some | st.tuples(ways, some).map(lambda pair: pair[0] | pair[1])
    return st.sampled_from(range(4096)).map(_strewn)  # hypothesis alone keeps to near copies of a few rigs


def _strewn(seed: int) -> dict[str, str]:
    """A rig changed all over, each field anywhere in its range or at an end of it; every way down is as likely."""
    dice = random.Random(seed)
    share = dice.random()
    texts = {path: _strewn_text(field, dice) for path, field in FIELDS.items() if dice.random() < share}
    return texts | {"flight.way": dice.choice(FIELDS["flight.way"].choices)}


def _strewn_text(field: Field, dice: random.Random) -> str:
    if field.kind is None:
        return dice.choice(field.choices or SAID.get(field.path, ("Möwe <2>", "x")))
    if field.optional and dice.random() < 0.3:
        return ""
    value = dice.uniform(field.low, field.high)
    if field.low > 0 and dice.random() < 0.5:
        value = math.exp(dice.uniform(math.log(field.low), math.log(field.high)))
    value = dice.choice((field.low, field.high)) if dice.random() < 0.1 else min(max(value, field.low), field.high)
    if field.kind is quantity.COUNT:
        value = float(round(value))
    return dice.choice((exact(value, field.kind), *(typed(value, field.kind, system) for system in quantity.SYSTEMS)))


def sound_texts() -> st.SearchStrategy[dict[str, str]]:
    """Rigs that are accepted: a starting rig with a few changes, the same with its canopies weighed, or changed all over."""
    weighed = any_texts(few=True).map(lambda texts: {f"{key}.canopy.mass": "150 g" for key in ("main", "drogue")} | texts)
    return (any_texts(few=True) | weighed | any_texts() | any_texts()).map(healed)


def worked(texts: Mapping[str, str]) -> Worked:
    """The rig worked through, with fewer scattered landings than for a reader: quick."""
    return Worked(parse(texts), LANDINGS)


def answers_of(calculator: Calculator, texts: Mapping[str, str]) -> dict[str, Answer]:
    """What it answers about each canopy, bay or cord of a rig; "" for the whole."""
    one = worked(texts)
    return {key: calculator.answer(one, key) for key in calculator.keys(one.rig.way)}


def page_of(calculator: Calculator, texts: Mapping[str, str]) -> str:
    """All that a reader gets from a calculator, bay by bay, as one text."""
    rig = parse(texts)
    return html(*(part for answer in answers_of(calculator, texts).values() for part in answer_parts(calculator, answer, rig)))


def walk(data: object, where: str = "") -> Iterator[tuple[str, object]]:
    """Every leaf of plain data with its place."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            yield from walk(value, f"{where}.{key}")
    elif isinstance(data, (list, tuple)):
        for index, value in enumerate(data):
            yield from walk(value, f"{where}[{index}]")
    else:
        yield where, data


def tables_of(texts: Mapping[str, str]) -> dict[str, dict]:
    """Texts as nested tables, as a rig file has them."""
    tables: dict[str, dict] = {}
    for path, text in texts.items():
        *groups, name = path.split(".")
        table = tables
        for group in groups:
            table = table.setdefault(group, {})
        table[name] = text
    return tables


def needed(path: str) -> dict[str, tuple[str, ...]]:
    """Which values other fields must have, all of them, for a field to matter."""
    allowed: dict[str, tuple[str, ...]] = {}
    for other, values in FIELDS[path].when:
        for one, may in (*needed(other).items(), (other, values)):
            allowed[one] = tuple(value for value in may if value in allowed.get(one, may))
    return allowed


def made_relevant(path: str, start: Mapping[str, str] | None = None) -> dict[str, str]:
    """What makes a field matter, if it matters only sometimes; nothing is changed that lets it matter already."""
    full = completed(start or {})
    return {one: values[0] for one, values in needed(path).items() if full[one] not in values}


def the_rest(ask: Callable[..., dict], name: str, fields: Mapping[str, str], **said: str) -> str:
    """The html behind what leads, through a door of the core; of a plan with all its parts, as they are opened."""
    more = ask(do="more", calculator=name, fields=fields, **said)["html"]
    parts = re.findall(r'data-part="([^"]*)"', more)
    return more + "".join(part["html"] for part in ask(do="part", names=parts, fields=fields)["parts"]) if parts else more
