"""Units live here and nowhere else: what people type becomes an SI float, an SI float becomes text.

One pint registry, made once. Nothing below knows of rockets: a `Kind` says which dimension a number
has, which units are offered for it, and how it is written in each of the two systems.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Literal

from pint import UnitRegistry

from loftbook.errors import Fault, Refusal

System = Literal["metric", "feet and inches"]
SYSTEMS: tuple[System, System] = ("metric", "feet and inches")
LONGEST = 60

units: UnitRegistry = UnitRegistry(cache_folder=None)


@dataclass(frozen=True, eq=False)
class Kind:
    """A kind of quantity: SI unit (pint's spelling), the unit offered in each system, extra spellings. Each is itself only."""

    name: str
    si: str
    metric: str
    customary: str
    write: Callable[[float, System], str]
    spellings: tuple[tuple[str, str], ...] = ()
    side: int = 0  # its text is never below the value (1), never above it (-1), or the nearest (0)
    beside: "Kind | None" = None  # the same once more in another unit, in brackets

    def offered(self, system: System) -> str:
        """The unit an example in that system is written in."""
        return self.metric if system == "metric" else self.customary


# --- writing -----------------------------------------------------------------------------------


def counted(number: int, name: str) -> str:
    """How many of what: `no pins`, `1 pin`, `2 batteries`, `3 days`."""
    plural = f"{name[:-1]}ies" if name.endswith("y") and name[-2] not in "aeiou" else f"{name}es" if name.endswith("ch") else f"{name}s"
    return f"{number or 'no'} {name if number == 1 else plural}"


def digits(value: float, significant: int = 3) -> str:
    """`value` to `significant` digits, whole numbers kept whole, no trailing zeros, no exponent."""
    if not math.isfinite(value):
        raise ValueError(f"cannot write {value!r}")
    if value == 0:
        return "0"
    text = f"{value:.{significant}g}"
    if "e" not in text:
        return text
    exponent = int(text.partition("e")[2])
    text = f"{value:.{max(0, significant - 1 - exponent)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _plain(metric: str, customary: str) -> Callable[[float, System], str]:
    def write(value: float, system: System) -> str:
        unit = metric if system == "metric" else customary
        factor, offset = _conversion(unit)
        return f"{digits((value - offset) / factor)} {_PRINTED.get(unit, unit)}".replace(" °", "°", unit == "deg")

    return write


def _stepped(
    metric: tuple[tuple[float, str], ...], customary: tuple[tuple[float, str], ...]
) -> Callable[[float, System], str]:
    """The first unit whose limit (SI) the magnitude is below."""

    def write(value: float, system: System) -> str:
        steps = metric if system == "metric" else customary
        unit = next((unit for limit, unit in steps if abs(value) < limit), steps[-1][1])
        return f"{digits(value / _conversion(unit)[0])} {_PRINTED.get(unit, unit)}"

    return write


def _pair(value: float, large: str, small: str, per: int, places: int) -> str:
    sign, count = ("-" if value < 0 else ""), abs(value) / _conversion(small)[0]
    count = round(count, places)
    whole = int(count // per)
    rest = digits(round(count - whole * per, places))
    return f"{sign}{whole} {large}" + (f" {rest} {small}" if rest != "0" else "")


def _write_length(value: float, system: System) -> str:
    if system == "metric":
        return _write_metric_length(value, system)
    inches = abs(value) / 0.0254
    if inches < 11.95:
        return f"{digits(value / 0.0254)} in"
    return _pair(value, "ft", "in", 12, 1 if inches < 119.5 else 0)


def _write_mass(value: float, system: System) -> str:
    if system == "metric" or not 0.4536 <= abs(value) < 4.5:
        return _write_plain_mass(value, system)
    return _pair(value, "lb", "oz", 16, 1)


def _write_share(value: float, system: System) -> str:
    return f"{digits(value * 100)} %"


def _write_number(value: float, system: System) -> str:
    return digits(value)


_PRINTED = {
    "m^2": "m²",
    "ft^2": "ft²",
    "cm^2": "cm²",
    "in^2": "in²",
    "cm^3": "cm³",
    "in^3": "in³",
    "g/cm^3": "g/cm³",
    "lb/ft^3": "lb/ft³",
    "kg/m^3": "kg/m³",
    "g/m^2": "g/m²",
    "oz/yd^2": "oz/yd²",
    "degC": "°C",
    "degF": "°F",
    "delta_degC": "°C",
    "delta_degF": "°F",
    "deg": "°",
    "ft*lbf": "ft·lbf",
    "m/s^2": "m/s²",
    "ft/s^2": "ft/s²",
    "lbf/in": "lbf/in",
    "mi/h": "mph",
    "grain": "grains",
}
_write_metric_length = _stepped(((0.9995, "mm"), (math.inf, "m")), ())
_write_plain_mass = _stepped(((0.9995, "g"), (math.inf, "kg")), ((0.4536, "oz"), (math.inf, "lb")))

_FEET = (("'", "ft"), ("foot", "ft"), ("feet", "ft"), ('"', "in"), ("inches", "in"), ("''", "in"))
_POUNDS = (("lbs", "lb"), ("pounds", "lb"), ("ounces", "oz"))

LENGTH = Kind("length", "m", "mm", "in", _write_length, _FEET)
HEIGHT = Kind("length", "m", "m", "ft", _plain("m", "ft"), _FEET)
AREA = Kind(
    "area", "m^2", "m^2", "ft^2", _plain("m^2", "ft^2"), (("sq ft", "ft^2"), ("sq m", "m^2"), ("sq in", "in^2"))
)
VOLUME = Kind("volume", "m^3", "cm^3", "in^3", _plain("cm^3", "in^3"))
MASS = Kind("mass", "kg", "kg", "lb", _write_mass, _POUNDS)
TYPED_CHARGE = Kind("mass", "kg", "g", "g", _plain("g", "g"), _POUNDS)  # a few grams: of an ounce a zero is too easily lost
CHARGE_MASS = replace(
    TYPED_CHARGE, beside=Kind("mass", "kg", "grain", "grain", _plain("grain", "grain"), _POUNDS)
)  # as scales for powder show it, in both systems
SPEED = Kind(
    "speed",
    "m/s",
    "m/s",
    "ft/s",
    _plain("m/s", "ft/s"),
    (("mph", "mi/h"), ("fps", "ft/s"), ("kph", "km/h"), ("knots", "kn"), ("kt", "kn")),
)
WIND = Kind("speed", "m/s", "m/s", "mi/h", _plain("m/s", "mi/h"), SPEED.spellings)
ACCELERATION = Kind("acceleration", "m/s^2", "m/s^2", "ft/s^2", _plain("m/s^2", "ft/s^2"))
BAY_PRESSURE = Kind("pressure", "Pa", "kPa", "psi", _plain("kPa", "psi"))
FORCE = Kind("force", "N", "N", "lbf", _plain("N", "lbf"))
ENERGY = Kind(
    "energy",
    "J",
    "J",
    "ft*lbf",
    _plain("J", "ft*lbf"),
    (("ft lbf", "ft*lbf"), ("ft-lbf", "ft*lbf"), ("ft·lbf", "ft*lbf")),
)
PRESSURE = Kind("pressure", "Pa", "hPa", "inHg", _plain("hPa", "inHg"), (("mb", "mbar"),))
AIR_DENSITY = Kind("density", "kg/m^3", "kg/m^3", "lb/ft^3", _plain("kg/m^3", "lb/ft^3"))
PACK_DENSITY = Kind("density", "kg/m^3", "g/cm^3", "lb/ft^3", _plain("g/cm^3", "lb/ft^3"))
CLOTH_MASS = Kind(
    "mass per area", "kg/m^2", "g/m^2", "oz/yd^2", _plain("g/m^2", "oz/yd^2"), (("gsm", "g/m^2"), ("osy", "oz/yd^2"))
)
LINE_LOAD = Kind("force per width", "N/m", "N/mm", "lbf/in", _plain("N/mm", "lbf/in"))
CORD_MASS = Kind("mass per length", "kg/m", "g/m", "oz/yd", _plain("g/m", "oz/yd"))
TEMPERATURE = Kind(
    "temperature",
    "K",
    "degC",
    "degF",
    _plain("degC", "degF"),
    (("°C", "degC"), ("°F", "degF"), ("C", "degC"), ("F", "degF"), ("° C", "degC"), ("° F", "degF")),
)
WARMER = Kind(
    "temperature difference",
    "delta_degC",
    "delta_degC",
    "delta_degF",
    _plain("delta_degC", "delta_degF"),
    (
        ("°C", "delta_degC"),
        ("°F", "delta_degF"),
        ("C", "delta_degC"),
        ("F", "delta_degF"),
        ("K", "delta_degC"),
        ("degC", "delta_degC"),
        ("degF", "delta_degF"),
    ),
)
ANGLE = Kind("angle", "deg", "deg", "deg", _plain("deg", "deg"), (("°", "deg"), ("degrees", "deg")))
TIME = Kind("time", "s", "s", "s", _plain("s", "s"), (("sec", "s"), ("seconds", "s")))
SHARE = Kind("share", "", "%", "%", _write_share, (("%", "percent"),))
NUMBER = Kind("number", "", "", "", _write_number)
COUNT = Kind("whole number", "", "", "", _write_number)


def show(value: float, kind: Kind, system: System = "metric") -> str:
    """`value` (SI, the kind's `si` unit) as text in `system`; refuses NaN and infinity with ValueError."""
    return _written(value, kind, system)


@cache
def writer(kind: Kind, system: System) -> Callable[[float], str]:
    """What writes values of that kind in that system: of the same two always the same function."""
    return lambda value: _written(value, kind, system)


@lru_cache(maxsize=8192)
def _written(value: float, kind: Kind, system: System) -> str:
    """Remembered: while a reader types, most of what an answer says stays as it was."""
    text = kind.write(value, system)
    return f"{text} ({_written(value, kind.beside, system)})" if kind.beside else text


@cache
def at_least(kind: Kind) -> Kind:
    """The same kind, written in as few digits but never below the value: what must be that large at least."""
    return _sided(kind, 1)


@cache
def at_most(kind: Kind) -> Kind:
    """The same kind, written in as few digits but never above the value: what must not be larger."""
    return _sided(kind, -1)


@cache
def _sided(kind: Kind, side: int) -> Kind:
    def write(value: float, system: System) -> str:
        return _never_beyond(value, kind, system, side)

    return replace(kind, write=write, side=side, beside=_sided(kind.beside, side) if kind.beside else None)


@cache
def _alone(kind: Kind) -> Kind:
    """The kind without what stands beside it."""
    return replace(kind, beside=None) if kind.beside else kind


def to_mark(value: float, system: System, *, up: bool = False) -> str:
    """A length [m] as it is marked on cloth: whole millimetres, or hundredths of an inch, however long; up: the next one, and one more.

    The one more is for what is left of it by other lengths that were rounded themselves.
    """
    steps, places, unit = (1000.0, 0, "mm") if system == SYSTEMS[0] else (100 / 0.0254, 2, "in")
    whole = math.ceil(value * steps) + 1 if up else value * steps
    return f"{whole / 10**places:.{places}f} {unit}"


def ends(low: float, best: float, high: float, kind: Kind, system: System) -> str:
    """`low to high`: a range is written no narrower than it is, an end that is the best value as that is written.

    Of a kind that has a side both ends lie on that side; what stands beside the best value is not said again.
    """
    kind = _alone(kind)
    first = kind if kind.side or low == best else at_most(kind)
    last = kind if kind.side or high == best else at_least(kind)
    return f"{show(low, first, system)} to {show(high, last, system)}"


def _never_beyond(value: float, kind: Kind, system: System, way: int) -> str:
    """The nearest text which, read again, lies on that side of the value (way: 1 above, -1 below) or on it."""
    tried, step = value, abs(value) * 2e-5 or 1e-12  # small beside the last digit of what is written whole
    while (_read_again(text := kind.write(tried, system), kind) - value) * way < 0:
        tried, step = tried + way * step, 1.5 * step  # a scale with its zero elsewhere wants more than a share of the value
    return text


def _read_again(text: str, kind: Kind) -> float:
    """What was written, as `read` has it: one number with one unit the short way, for it is done hundreds of times a key."""
    number, _, unit = text.partition(" ")
    try:
        value, found = float(number), _factor(unit, kind) if unit else None
    except ValueError:
        return read(text, kind)
    return value * found[0] + found[1] if found else read(text, kind) if unit or kind.si else value


# --- reading -----------------------------------------------------------------------------------

_SAME = str.maketrans(
    {
        "′": "'",
        "’": "'",
        "‘": "'",
        "´": "'",
        "″": '"',
        "”": '"',
        "“": '"',
        "−": "-",
        "–": "-",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "⁄": "/",
        "μ": "µ",
    }
)
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
_NUMBER = r"\d+[ ]+\d+/\d+|\d+/\d+|(?:\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?"
_POWER = r"[²³]|\^-?[1-3]|[23](?![\d ]*[a-zA-Z'\".,/])"
_NAME = rf"[a-zA-Zµ_]+(?:{_POWER})?"
_PART = re.compile(
    rf"\s*(?P<sign>[+-]?)\s*(?P<number>{_NUMBER})\s*(?P<unit>''|'|\"|%|° ?[CF]?|{_NAME}(?: ?[/*·-]? ?{_NAME}){{0,2}})?",
    re.ASCII,
)
_UNIT = re.compile(r"(?:delta_)?[a-zA-Zµ]{1,12}(?:\^[1-3])?(?:[/*](?:[a-zA-Zµ]{1,12})(?:\^[1-3])?){0,2}")


@cache
def _conversion(unit: str) -> tuple[float, float]:
    """(factor, offset) with SI = text value x factor + offset, from pint. Angles stay in degrees."""
    if unit in ("", "deg"):
        return 1.0, 0.0
    zero = float(units.Quantity(0.0, unit).to_base_units().magnitude)
    step = f"delta_{unit}" if zero else unit
    return float(units.Quantity(1.0, step).to_base_units().magnitude), zero


_ANGLES = ("deg", "degree", "rad", "radian")


@cache
def _factor(unit_text: str, kind: Kind) -> tuple[float, float] | None:
    """Conversion of a typed unit into the kind's SI unit; None when it is no unit of that dimension."""
    text = dict(kind.spellings).get(unit_text, unit_text).replace("²", "^2").replace("³", "^3").replace("·", "*")
    text = re.sub(r"(?<=[a-z])(?=[23]\b)", "^", text.replace(" ", ""))
    if text == "percent":
        return (0.01, 0.0) if kind is SHARE else None
    if not kind.si or (kind is ANGLE and text not in _ANGLES) or not _UNIT.fullmatch(text):
        return None  # pint would take any dimensionless unit for another
    try:
        unit = units.parse_units(text)
        if not units.is_compatible_with(unit, kind.si):
            return None
    except Exception:  # pint raises several unrelated types for an unknown name
        return None
    if kind is not TEMPERATURE:
        return float(units.Quantity(1.0, unit).to(kind.si).magnitude), 0.0
    return _conversion(text) if text in ("degC", "degF", "K", "kelvin") else None


def _decimal(token: str) -> tuple[float, ...]:
    """The readings of a number as typed: one, or two when a comma can be either separator; () for none."""
    if "/" in token:
        *whole, fraction = token.split()
        top, bottom = fraction.split("/")
        return (float(whole[0] if whole else 0) + float(top) / float(bottom),) if float(bottom) else ()
    mantissa, _, power = token.lower().partition("e")
    tail = f"e{power}" if power else ""
    grouped = re.fullmatch(r"\d{1,3}(?:([.,])\d{3})(?:\1\d{3})*", mantissa)
    commas, dots = mantissa.count(","), mantissa.count(".")
    if commas + dots == 0 or (dots == 1 and commas == 0):
        return (float(mantissa + tail),) if mantissa != "." else ()
    if commas == 1 and dots == 0:
        decimal = float(mantissa.replace(",", ".") + tail)
        if grouped and not mantissa.startswith("0"):
            return decimal, float(mantissa.replace(",", "") + tail)
        return (decimal,)
    if grouped:
        return (float(re.sub("[.,]", "", mantissa) + tail),)
    mixed = re.fullmatch(r"(\d{1,3}([.,])\d{3}(?:\2\d{3})*)(?!\2)[.,](\d+)", mantissa)
    if mixed:
        return (float(re.sub("[.,]", "", mixed[1]) + "." + mixed[3] + tail),)
    return ()


_Piece = tuple[str, str, str]  # sign, number and unit as typed
_GRAIN = re.compile(r"gr(?![a-zA-Z])")


@dataclass(frozen=True)
class _Typed:
    """What was typed and for what, so that whatever is wrong with it can be said."""

    text: str
    kind: Kind
    field: str
    label: str
    system: System

    @property
    def units(self) -> tuple[str, str]:
        """The unit of the reader's own system, then that of the other."""
        pair = self.kind.metric, self.kind.customary
        return pair if self.system == "metric" else pair[::-1]

    @property
    def meant(self) -> tuple[str, ...]:
        """Units that a number without one may have been meant in: who measures in millimetres may have read centimetres."""
        return tuple(_PRINTED.get(one, one) for unit in self.units for one in ((unit, "cm") if unit == "mm" else (unit,)))

    def refuse(self, reason: str, readings: tuple[str, ...] = ()) -> Refusal:
        name = self.label or self.field or self.kind.name
        example = " or ".join(dict.fromkeys(f"5 {_PRINTED.get(u, u)}".strip() for u in self.units))
        allowed = f"{'an' if self.kind.name[0] in 'aeiou' else 'a'} {self.kind.name}, for example {example}"
        hint = f" Did you mean {' or '.join(readings)}?" if readings else ""
        return Refusal(
            Fault(
                message=f"{name}: {reason}{hint} Give {allowed}.",
                field=self.field,
                label=self.label,
                given=self.text[: LONGEST * 2],
                allowed=allowed,
                readings=readings,
            )
        )

    def refuse_whole(self, reason: str, readings: tuple[str, ...] = ()) -> Refusal:
        return self.refuse(f"“{self.text.strip()}” {reason}", readings)


def read(text: str, kind: Kind, field: str = "", label: str = "", system: System = "metric") -> float:
    """The SI value of what someone typed.

    Takes `6 ft 2 in`, `6'2"`, `1.8m`, `1,8 m`, `2 lb 3 oz`, `3 1/2 in`, `15 ft/s`, `72 °F`. Raises `Refusal`
    naming the field when the text is empty, too long, no number, of another dimension, without a unit, or can
    be read in two ways (then `readings` offers both).
    """
    typed = _Typed(text, kind, field, label, system)
    parts = _split(typed, _cleaned(typed))
    if len(parts) == 1 and not parts[0][2] and _decimal(parts[0][1]) == (0.0,) and kind is not TEMPERATURE:
        return 0.0
    total = _total(typed, parts)
    if not math.isfinite(total):
        raise typed.refuse_whole(f"is too large to be a {kind.name}.")
    if kind is COUNT and total != int(total):
        raise typed.refuse_whole("is not a whole number.")
    return total


def _cleaned(typed: _Typed) -> str:
    """The text in plain signs, without spaces round it or between groups of three digits."""
    if len(typed.text) > LONGEST:
        raise typed.refuse(f"this is {len(typed.text)} characters long; {LONGEST} are enough.")
    clean = typed.text.translate(_SAME)
    for sign, fraction in _VULGAR.items():
        clean = clean.replace(sign, f" {fraction}")
    clean = re.sub(r"(?<=\d) (?=\d{3}(?![\d/]))", "", clean.strip())
    if not clean:
        raise typed.refuse("nothing is filled in.")
    return clean


def _split(typed: _Typed, clean: str) -> list[_Piece]:
    """`6 ft 2 in` is two parts."""
    parts, position = [], 0
    while position < len(clean):
        match = _PART.match(clean, position)
        if not match or match.end() == position:
            raise typed.refuse_whole("is not read as a number with a unit.")
        parts.append((match["sign"], match["number"], match["unit"] or ""))
        position = match.end()
    return parts


def _total(typed: _Typed, parts: list[_Piece]) -> float:
    """All parts added up, the sign of the first taken for the whole."""
    total, previous, zero = 0.0, math.inf, 0.0
    for index, part in enumerate(parts):
        value = _value(typed, parts, index)
        found = _factor(part[2], typed.kind) if part[2] else (1.0, 0.0)
        if found is None:
            raise typed.refuse(f"“{part[2]}” is not a unit of {typed.kind.name}.")
        factor, offset = found
        if factor >= previous or (index and offset):
            raise typed.refuse_whole("mixes units in an order that cannot be read.")
        total, previous, zero = total + value * factor, factor, zero + offset
    return (-total if parts[0][0] == "-" else total) + zero


def _value(typed: _Typed, parts: list[_Piece], index: int) -> float:
    """The one number a part can be read as, without its sign."""
    (sign, number, unit), kind = parts[index], typed.kind
    values = _decimal(number)
    if not values:
        raise typed.refuse(f"“{number}” is not a number.")
    if not all(map(math.isfinite, values)):
        raise typed.refuse_whole(f"is too large to be a {kind.name}.")
    if index and sign:
        raise typed.refuse_whole("holds two signed numbers.")

    def offers(units_meant: tuple[str, ...]) -> tuple[str, ...]:
        """Every number with every unit that may be meant, if the text is this one part."""
        said = dict.fromkeys(f"{sign}{digits(v, 12)} {u}".strip() for v in values for u in units_meant)
        return tuple(said) if len(parts) == 1 else ()

    if not unit and kind.si:
        raise _without_unit(typed, parts, offers(typed.meant))
    if _GRAIN.search(unit) and _factor(unit, kind):
        meant = _GRAIN.sub("g", unit), _GRAIN.sub("grain", unit)
        raise typed.refuse(f"“{unit}” can be read two ways, {meant[0]} or {meant[1]}.", offers(meant))
    if len(values) > 1:
        raise typed.refuse(f"the comma in “{number}” can be read two ways.", offers((unit,)))
    return values[0]


def _without_unit(typed: _Typed, parts: list[_Piece], offers: tuple[str, ...]) -> Refusal:
    """`6'2` wants the small unit after its last number, any other text the unit itself."""
    if len(parts) == 2 and parts[0][2] in ("'", "ft", "lb") and not parts[1][2]:
        small = "oz" if parts[0][2] == "lb" else "in"
        return typed.refuse("the last number has no unit.", (f"{_cleaned(typed)} {small}",))
    return typed.refuse_whole("has no unit.", offers)
