"""What people type and what they get to read: numbers, units, refusals. Knows nothing of rockets."""

import math
import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from rigs import KINDS, UNITS

from loftbook.errors import Fault, Refusal
from loftbook.quantity import (
    ACCELERATION,
    AIR_DENSITY,
    ANGLE,
    AREA,
    BAY_PRESSURE,
    CHARGE_MASS,
    CLOTH_MASS,
    CORD_MASS,
    COUNT,
    ENERGY,
    FORCE,
    HEIGHT,
    LENGTH,
    LINE_LOAD,
    LONGEST,
    MASS,
    NUMBER,
    PACK_DENSITY,
    PRESSURE,
    SHARE,
    SPEED,
    SYSTEMS,
    TEMPERATURE,
    TIME,
    TYPED_CHARGE,
    VOLUME,
    WARMER,
    WIND,
    Kind,
    at_least,
    at_most,
    counted,
    digits,
    ends,
    read,
    show,
)

METRIC, FEET = SYSTEMS
FIELD, LABEL = "some.field", "Some field"


def refused(text: str, kind: Kind, system: str = METRIC) -> Fault:
    with pytest.raises(Refusal) as caught:
        read(text, kind, FIELD, LABEL, system)
    (fault,) = caught.value.faults
    return fault


# --- reading -------------------------------------------------------------------------------------

# Expected values follow from the definitions of the units (inch 0.0254 m, pound 0.45359237 kg, both exact).
READ = [
    ("6 ft 2 in", LENGTH, 74 * 0.0254),
    ("6'2\"", LENGTH, 74 * 0.0254),
    ("6' 2\"", LENGTH, 74 * 0.0254),
    ("6ft2in", LENGTH, 74 * 0.0254),
    ("6 feet 2 inches", LENGTH, 74 * 0.0254),
    ("1 foot", LENGTH, 0.3048),
    ("6′2″", LENGTH, 74 * 0.0254),
    ("6’2”", LENGTH, 74 * 0.0254),
    ("6‘ 2“", LENGTH, 74 * 0.0254),
    ("6´ 2''", LENGTH, 74 * 0.0254),
    ("-6 ft 2 in", LENGTH, -74 * 0.0254),
    ("−6 ft 2 in", LENGTH, -74 * 0.0254),
    ("–1 m", LENGTH, -1),
    ("+1 m", LENGTH, 1),
    ("1.8m", LENGTH, 1.8),
    ("1,8 m", LENGTH, 1.8),
    ("0,125 m", LENGTH, 0.125),
    ("1.250,5 m", LENGTH, 1250.5),
    ("1 250 m", LENGTH, 1250.0),  # groups of three digits parted by a space: NIST SP 811, sec. 10.5.3
    ("12 345 678 mm", LENGTH, 12345.678),
    ("1,250.5 m", LENGTH, 1250.5),
    ("1,250,000 mm", LENGTH, 1250),
    ("1.250.000 mm", LENGTH, 1250),
    ("1.250 m", LENGTH, 1.25),
    ("12,50 m", LENGTH, 12.5),
    ("1250 mm", LENGTH, 1.25),
    ("1.2e3 mm", LENGTH, 1.2),
    ("1E3mm", LENGTH, 1),
    ("1e+3 mm", LENGTH, 1),
    (".5 m", LENGTH, 0.5),
    (",5 m", LENGTH, 0.5),
    ("5. m", LENGTH, 5),
    ("3½ in", LENGTH, 3.5 * 0.0254),
    ("½ in", LENGTH, 0.5 * 0.0254),
    ("3 1/2 in", LENGTH, 3.5 * 0.0254),
    ("3 1⁄2 in", LENGTH, 3.5 * 0.0254),
    ("7/8 in", LENGTH, 0.875 * 0.0254),
    ("5' 3¼\"", LENGTH, 63.25 * 0.0254),
    ("2⅓ ft", LENGTH, 28 * 0.0254),
    ("75\u00a0mm", LENGTH, 0.075),
    ("75\u202fmm", LENGTH, 0.075),
    ("75\u2009mm", LENGTH, 0.075),
    ("  75 mm  ", LENGTH, 0.075),
    ("75\tmm", LENGTH, 0.075),
    ("500 µm", LENGTH, 0.0005),
    ("500 μm", LENGTH, 0.0005),
    ("20 cm", LENGTH, 0.2),
    ("1 m 20 cm", LENGTH, 1.2),
    ("2 yd", LENGTH, 1.8288),
    ("1 mi", LENGTH, 1609.344),
    ("0", LENGTH, 0),
    ("-0", LENGTH, 0),
    ("0 in", LENGTH, 0),
    ("394 ft", HEIGHT, 394 * 0.3048),
    ("-500 m", HEIGHT, -500),
    ("1.6 m^2", AREA, 1.6),
    ("1.6 m²", AREA, 1.6),
    ("1.6 m2", AREA, 1.6),
    ("10 sq ft", AREA, 10 * 0.3048 * 0.3048),
    ("10 ft²", AREA, 10 * 0.3048 * 0.3048),
    ("2 cm³", VOLUME, 2e-6),
    ("2 lb 3 oz", MASS, 35 * 0.45359237 / 16),
    ("2 lbs 3 ounces", MASS, 35 * 0.45359237 / 16),
    ("2 pounds", MASS, 2 * 0.45359237),
    ("320 g", MASS, 0.32),
    ("15 grain", MASS, 15 * 0.45359237 / 7000),
    ("15 grains", MASS, 15 * 0.45359237 / 7000),
    ("15 ft/s", SPEED, 4.572),
    ("15 fps", SPEED, 4.572),
    ("20 mph", WIND, 20 * 0.44704),
    ("36 km/h", SPEED, 10),
    ("10 knots", WIND, 18520 / 3600),
    ("10 kt", WIND, 18520 / 3600),
    ("10 N", FORCE, 10),
    ("10 lbf", FORCE, 10 * 0.45359237 * 9.80665),
    ("75 ft lbf", ENERGY, 75 * 0.3048 * 0.45359237 * 9.80665),
    ("75 ft-lbf", ENERGY, 75 * 0.3048 * 0.45359237 * 9.80665),
    ("75 ft·lbf", ENERGY, 75 * 0.3048 * 0.45359237 * 9.80665),
    ("1013.25 hPa", PRESSURE, 101325),
    ("1013.25 mb", PRESSURE, 101325),
    ("10 psi", BAY_PRESSURE, 10 * 0.45359237 * 9.80665 / 0.0254**2),
    ("30 m/s²", ACCELERATION, 30),
    ("100 ft/s2", ACCELERATION, 30.48),
    ("100 lbf/in", LINE_LOAD, 100 * 0.45359237 * 9.80665 / 0.0254),
    ("1.2 kg/m³", AIR_DENSITY, 1.2),
    ("0.32 g/cm^3", PACK_DENSITY, 320),
    ("1.1 oz/yd2", CLOTH_MASS, 1.1 * 0.45359237 / 16 / 0.9144**2),
    ("1.1 osy", CLOTH_MASS, 1.1 * 0.45359237 / 16 / 0.9144**2),
    ("37 gsm", CLOTH_MASS, 0.037),
    ("37 g / m²", CLOTH_MASS, 0.037),
    ("2.8 g/m", CORD_MASS, 0.0028),
    ("72 °F", TEMPERATURE, (72 + 459.67) * 5 / 9),
    ("72°F", TEMPERATURE, (72 + 459.67) * 5 / 9),
    ("72 F", TEMPERATURE, (72 + 459.67) * 5 / 9),
    ("-5 °C", TEMPERATURE, 268.15),
    ("0 °C", TEMPERATURE, 273.15),
    ("295 K", TEMPERATURE, 295),
    ("5 °C", WARMER, 5),
    ("-9 °F", WARMER, -5),
    ("5 K", WARMER, 5),
    ("0", WARMER, 0),
    ("25°", ANGLE, 25),
    ("25 degrees", ANGLE, 25),
    ("0.5 rad", ANGLE, 90 / math.pi),
    ("90 s", TIME, 90),
    ("1.5 min", TIME, 90),
    ("10 %", SHARE, 0.1),
    ("10%", SHARE, 0.1),
    ("0.1", SHARE, 0.1),
    ("0,77", NUMBER, 0.77),
    ("1e-3", NUMBER, 0.001),
    ("8", COUNT, 8),
    ("8.0", COUNT, 8),
]


@pytest.mark.parametrize(("text", "kind", "si"), READ, ids=[f"{kind.name}-{text}" for text, kind, _ in READ])
def test_what_people_type(text: str, kind: Kind, si: float) -> None:
    for system in SYSTEMS:  # the system chosen never changes what a text with a unit means
        assert read(text, kind, FIELD, LABEL, system) == pytest.approx(si, rel=1e-14, abs=1e-300)


@pytest.mark.parametrize("unit", [unit for unit in UNITS if unit and not unit.startswith("delta")])
def test_units_have_their_defined_size(unit: str) -> None:
    """Tolerance: rounding alone."""
    kind = next(kind for kind in KINDS if _is_read(f"1 {unit}", kind))
    assert read(f"1 {unit}", kind) == pytest.approx(float(UNITS[unit]), rel=1e-14)


def _is_read(text: str, kind: Kind) -> bool:
    try:
        read(text, kind)
    except Refusal:
        return False
    return True


TWO_WAYS = [
    ("1,250 m", LENGTH, METRIC, ("1.25 m", "1250 m")),
    ("-1,250 m", HEIGHT, METRIC, ("-1.25 m", "-1250 m")),
    ("1,250 g", MASS, FEET, ("1.25 g", "1250 g")),
    ("12,345 ft", HEIGHT, FEET, ("12.345 ft", "12345 ft")),
    ("1,000", COUNT, METRIC, ("1", "1000")),
    ("5", LENGTH, METRIC, ("5 mm", "5 cm", "5 in")),
    ("5", LENGTH, FEET, ("5 in", "5 mm", "5 cm")),
    ("5", HEIGHT, FEET, ("5 ft", "5 m")),
    ("2.2", MASS, METRIC, ("2.2 kg", "2.2 lb")),
    ("3 1/2", LENGTH, FEET, ("3.5 in", "3.5 mm", "3.5 cm")),
    ("1,250", LENGTH, METRIC, ("1.25 mm", "1.25 cm", "1.25 in", "1250 mm", "1250 cm", "1250 in")),
    ("72", TEMPERATURE, METRIC, ("72 °C", "72 °F")),
    ("0", TEMPERATURE, METRIC, ("0 °C", "0 °F")),
    ("5", WARMER, FEET, ("5 °F", "5 °C")),
    ("1.6", AREA, METRIC, ("1.6 m²", "1.6 ft²")),
    ("-3", WIND, FEET, ("-3 mph", "-3 m/s")),
    ("6'2", LENGTH, FEET, ("6'2 in",)),
    ("6 ft 2", LENGTH, FEET, ("6 ft 2 in",)),
    ("2 lb 3", MASS, FEET, ("2 lb 3 oz",)),
    # gr is neither: it may be meant for grams or for grains, fifteen times less
    ("1.5 gr", MASS, METRIC, ("1.5 g", "1.5 grain")),
    ("1,250 gr", MASS, FEET, ("1.25 g", "1.25 grain", "1250 g", "1250 grain")),
    ("-2 mgr", MASS, METRIC, ("-2 mg", "-2 mgrain")),
    ("37 gr/m²", CLOTH_MASS, METRIC, ("37 g/m²", "37 grain/m²")),
]


@pytest.mark.parametrize(("text", "kind", "system", "readings"), TWO_WAYS)
def test_what_can_be_read_in_several_ways_is_refused_and_all_are_offered(
    text: str, kind: Kind, system: str, readings: tuple[str, ...]
) -> None:
    fault = refused(text, kind, system)
    assert fault.readings == readings
    assert all(reading in fault.message for reading in readings)
    for reading in readings:  # whatever is offered is then accepted
        assert math.isfinite(read(reading, kind))


REFUSED = [
    ("", LENGTH, "nothing is filled in"),
    ("   ", LENGTH, "nothing is filled in"),
    ("\u00a0", LENGTH, "nothing is filled in"),
    ("m", LENGTH, "not read as a number"),
    ("abc", LENGTH, "not read as a number"),
    ("nan", LENGTH, "not read as a number"),
    ("nan m", LENGTH, "not read as a number"),
    ("NaN", NUMBER, "not read as a number"),
    ("inf", NUMBER, "not read as a number"),
    ("-inf m", LENGTH, "not read as a number"),
    ("Infinity", NUMBER, "not read as a number"),
    ("1e999", NUMBER, "too large"),
    ("1e999", COUNT, "too large"),
    ("1e999", LENGTH, ""),
    ("-1e999", MASS, ""),
    ("1,250e999", LENGTH, ""),
    ("1e999 m", LENGTH, "too large"),
    ("-1e999 m", LENGTH, "too large"),
    ("1e308 km", LENGTH, "too large"),
    ("1e999 ft 1 in", LENGTH, "too large"),
    ("m**9**9", LENGTH, "not read as a number"),
    ("5 m**9**9", LENGTH, "not read as a number"),
    ("5 m^9", LENGTH, ""),
    ("5 m^-1", LENGTH, "not a unit of length"),
    ("9**9**9", NUMBER, ""),
    ("1+1", NUMBER, ""),
    ("(1)", NUMBER, "not read as a number"),
    ("5 __import__", LENGTH, "not a unit of length"),
    ("<b>5</b> m", LENGTH, "not read as a number"),
    ("5 <img onerror>", LENGTH, ""),
    ("5\x00m", LENGTH, "not read as a number"),
    ("5\x07 m", LENGTH, "not read as a number"),
    ("5\u202em", LENGTH, "not read as a number"),
    ("٣ m", LENGTH, "not read as a number"),
    ("５ m", LENGTH, "not read as a number"),
    ("5 м", LENGTH, ""),
    ("0x10 m", LENGTH, "not a unit of length"),
    ("1_000 m", LENGTH, "not a unit of length"),
    ("--5 m", LENGTH, "not read as a number"),
    ("1/0 m", LENGTH, "not a number"),
    ("1.2.3 m", LENGTH, "not a number"),
    ("1,2,3 m", LENGTH, "not a number"),
    ("1,25,000 mm", LENGTH, "not a number"),
    ("1,250.500,5 m", LENGTH, "not a number"),
    ("1.8 M", LENGTH, "not a unit of length"),
    ("5 kg", LENGTH, "not a unit of length"),
    ("5 m^2", LENGTH, "not a unit of length"),
    ("5 m", MASS, "not a unit of mass"),
    ("5 gr", LENGTH, "not a unit of length"),
    ("1 lb 5 gr", MASS, "“gr” can be read two ways, g or grain"),
    ("5 N", MASS, "not a unit of mass"),
    ("5 kg", FORCE, "not a unit of force"),
    ("5 m", SPEED, "not a unit of speed"),
    ("5 °C", LENGTH, "not a unit of length"),
    ("5 m", WARMER, "not a unit of temperature difference"),
    ("5 %", LENGTH, "not a unit of length"),
    ("5 percent", LENGTH, "not a unit of length"),
    ("5 percent", MASS, "not a unit of mass"),
    ("5 m", NUMBER, "not a unit of number"),
    ("5 m", SHARE, "not a unit of share"),
    ("5 m", COUNT, "not a unit of whole number"),
    ("8.5", COUNT, "not a whole number"),
    ("5 in 6 ft", LENGTH, "order"),
    ("5 ft 6 ft", LENGTH, "order"),
    ("6 ft -2 in", LENGTH, "two signed numbers"),
    ("72 °F 3 °F", TEMPERATURE, "order"),
    ("6 ft and 2 in", LENGTH, ""),
    ("5" * (LONGEST + 1), LENGTH, "61 characters long"),
    ("5 m" + " " * 10_000, LENGTH, "10003 characters long"),
]


@pytest.mark.parametrize(("text", "kind", "reason"), REFUSED, ids=[repr(text)[:30] + kind.name for text, kind, _ in REFUSED])
def test_what_is_refused_and_why(text: str, kind: Kind, reason: str) -> None:
    fault = refused(text, kind)
    assert reason in fault.message
    assert (fault.field, fault.label) == (FIELD, LABEL)
    assert fault.message.startswith(f"{LABEL}: ")
    assert fault.given == text[: 2 * LONGEST]
    assert kind.name in fault.allowed
    assert fault.allowed in fault.message


def test_sixty_characters_are_enough() -> None:
    assert read("1 m".ljust(LONGEST), LENGTH) == 1


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
@pytest.mark.parametrize("system", SYSTEMS)
def test_the_example_in_a_refusal_is_itself_accepted(kind: Kind, system: str) -> None:
    allowed = refused("", kind, system).allowed
    examples = allowed.split("for example ")[1].split(" or ")
    assert len(set(examples)) == len(examples)
    assert [math.isfinite(read(text, kind)) for text in examples] == [True] * len(examples)


SIGNS = "0123456789.,'\"½¼ +-−/*^²·°%eE_mftinlbozgkNsJPaCKFd\x00<é٣\ud800"


@settings(derandomize=True, max_examples=600, deadline=None)
@given(text=st.text(st.sampled_from(SIGNS), max_size=16) | st.text(max_size=80), kind=st.sampled_from(KINDS))
@example(text="1e999", kind=LENGTH)
def test_any_text_is_a_finite_number_or_refused(text: str, kind: Kind) -> None:
    try:
        value = read(text, kind, FIELD, LABEL)
    except Refusal as refusal:
        (fault,) = refusal.faults
        assert fault.field == FIELD
    else:
        assert isinstance(value, float)
        assert math.isfinite(value)


# --- writing -------------------------------------------------------------------------------------

WRITTEN = [
    (0, LENGTH, "0 mm", "0 in"),
    (0.075, LENGTH, "75 mm", "2.95 in"),
    (0.0254, LENGTH, "25.4 mm", "1 in"),
    (-0.0254, LENGTH, "-25.4 mm", "-1 in"),
    (0.0005, LENGTH, "0.5 mm", "0.0197 in"),
    (0.9994, LENGTH, "999 mm", "3 ft 3.3 in"),
    (0.9996, LENGTH, "1 m", "3 ft 3.4 in"),
    (1.4, LENGTH, "1.4 m", "4 ft 7.1 in"),
    (11.94 * 0.0254, LENGTH, "303 mm", "11.9 in"),
    (11.96 * 0.0254, LENGTH, "304 mm", "1 ft"),
    (-11.96 * 0.0254, LENGTH, "-304 mm", "-1 ft"),
    (23.96 * 0.0254, LENGTH, "609 mm", "2 ft"),
    (119.4 * 0.0254, LENGTH, "3.03 m", "9 ft 11.4 in"),
    (119.6 * 0.0254, LENGTH, "3.04 m", "10 ft"),
    (131.6 * 0.0254, LENGTH, "3.34 m", "11 ft"),
    (-74 * 0.0254, LENGTH, "-1.88 m", "-6 ft 2 in"),
    (1234.5, HEIGHT, "1234 m", "4050 ft"),
    (120, HEIGHT, "120 m", "394 ft"),
    (-500, HEIGHT, "-500 m", "-1640 ft"),
    (1.6234, AREA, "1.62 m²", "17.5 ft²"),
    (0.00022, VOLUME, "220 cm³", "13.4 in³"),
    (0.9994, MASS, "999 g", "2 lb 3.3 oz"),
    (0.9996, MASS, "1 kg", "2 lb 3.3 oz"),
    (0.32, MASS, "320 g", "11.3 oz"),
    (0.0013, TYPED_CHARGE, "1.3 g", "1.3 g"),
    (0.0013, CHARGE_MASS, "1.3 g (20.1 grains)", "1.3 g (20.1 grains)"),
    (0.00142, at_least(CHARGE_MASS), "1.42 g (22 grains)", "1.42 g (22 grains)"),
    (0.001499, at_most(CHARGE_MASS), "1.49 g (23.1 grains)", "1.49 g (23.1 grains)"),
    (2.2, MASS, "2.2 kg", "4 lb 13.6 oz"),
    (4.49, MASS, "4.49 kg", "9 lb 14.4 oz"),
    (45.359237, MASS, "45.4 kg", "100 lb"),
    (0.45359237 * 2.9999, MASS, "1.36 kg", "3 lb"),
    (-0.00012, MASS, "-0.12 g", "-0.00423 oz"),
    (5.336, SPEED, "5.34 m/s", "17.5 ft/s"),
    (8.9408, WIND, "8.94 m/s", "20 mph"),
    (10, FORCE, "10 N", "2.25 lbf"),
    (101.6863, ENERGY, "102 J", "75 ft·lbf"),
    (101325, PRESSURE, "1013 hPa", "29.9 inHg"),
    (48263.3, BAY_PRESSURE, "48.3 kPa", "7 psi"),
    (30.48, ACCELERATION, "30.5 m/s²", "100 ft/s²"),
    (17512.7, LINE_LOAD, "17.5 N/mm", "100 lbf/in"),
    (1.225, AIR_DENSITY, "1.23 kg/m³", "0.0765 lb/ft³"),
    (320, PACK_DENSITY, "0.32 g/cm³", "20 lb/ft³"),
    (0.0373, CLOTH_MASS, "37.3 g/m²", "1.1 oz/yd²"),
    (0.0028, CORD_MASS, "2.8 g/m", "0.0903 oz/yd"),
    (295.15, TEMPERATURE, "22 °C", "71.6 °F"),
    (273.15, TEMPERATURE, "0 °C", "32 °F"),
    (268.15, TEMPERATURE, "-5 °C", "23 °F"),
    (-5, WARMER, "-5 °C", "-9 °F"),
    (0, WARMER, "0 °C", "0 °F"),
    (25, ANGLE, "25°", "25°"),
    (90, TIME, "90 s", "90 s"),
    (0.92, SHARE, "92 %", "92 %"),
    (0.77, NUMBER, "0.77", "0.77"),
    (896, COUNT, "896", "896"),
    (4096, COUNT, "4096", "4096"),
]


@pytest.mark.parametrize(("si", "kind", "metric", "customary"), WRITTEN)
def test_how_numbers_are_written(si: float, kind: Kind, metric: str, customary: str) -> None:
    assert (show(si, kind, METRIC), show(si, kind, FEET)) == (metric, customary)


def test_every_kind_is_written_in_the_table() -> None:
    assert {kind for _, kind, _, _ in WRITTEN if not kind.beside} == set(KINDS)


def test_a_range_is_never_written_narrower_than_it_is() -> None:
    assert ends(5.3149, 5.3851, 5.4951, SPEED, METRIC) == "5.31 m/s to 5.5 m/s"
    assert ends(171.695, 171.695, 205.11, FORCE, METRIC) == "172 N to 206 N"  # the best value reads as it does before the range
    assert ends(171.695, 180, 205.11, FORCE, METRIC) == "171 N to 206 N"
    assert ends(1.3749, 1.3851, 1.3951, at_least(LENGTH), METRIC) == "1.38 m to 1.4 m"


@pytest.mark.parametrize(("value", "significant", "text"), [
    (0, 3, "0"), (-0.0, 3, "0"), (1, 3, "1"), (100, 3, "100"), (1234, 3, "1234"), (999.6, 3, "1000"),
    (0.9996, 3, "1"), (0.99949, 3, "0.999"), (-0.0001234, 3, "-0.000123"), (12.5, 2, "12"), (13.5, 2, "14"),
    (3.14159, 4, "3.142"), (1e22, 3, "10000000000000000000000"), (1e-7, 3, "0.0000001"), (1250, 12, "1250"),
    (0.1 + 0.2, 12, "0.3"),
])  # fmt: skip
def test_digits(value: float, significant: int, text: str) -> None:
    assert digits(value, significant) == text


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
@pytest.mark.parametrize("system", SYSTEMS)
def test_what_is_no_number_is_never_written(value: float, kind: Kind, system: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011  (round and int have their own words, and OverflowError is none)
        show(value, kind, system)


PLAIN = re.compile(r"-?\d+(\.\d*[1-9])?( ?[^\d.\s]\S*)?( \d+(\.\d*[1-9])? (in|oz))?")
MAGNITUDES = st.floats(1e-6, 1e6) | st.floats(-1e6, -1e-6) | st.just(0.0)


@settings(derandomize=True, max_examples=800, deadline=None)
@given(value=MAGNITUDES, kind=st.sampled_from(KINDS), system=st.sampled_from(SYSTEMS))
def test_what_is_written_is_read_as_nearly_the_same(value: float, kind: Kind, system: str) -> None:
    """Three digits keep a number to half a per cent; a temperature to half a per cent of its own degrees."""
    if kind is COUNT:
        value = float(round(value))
    text = show(value, kind, system)
    assert PLAIN.fullmatch(text)  # one or two plain numbers: no exponent, no trailing zeros
    shift = 0.0 if kind is not TEMPERATURE else 273.15 if system == METRIC else 459.67 * 5 / 9
    assert read(text, kind) - shift == pytest.approx(value - shift, rel=0.00501, abs=1e-9)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind.offered(METRIC) != kind.offered(FEET)], ids=lambda k: k.name)
@settings(derandomize=True, max_examples=40, deadline=None)
@given(count=st.integers(1, 100_000))
def test_the_unit_typed_does_not_matter(kind: Kind, count: int) -> None:
    """The same quantity in either system is the same SI number to a part in 10^13."""
    if kind is TEMPERATURE:
        one, other = f"{count} °F", f"{(count - 32) * 5 / 9!r} °C"
    else:
        factor = UNITS[kind.offered(FEET)] / UNITS[kind.offered(METRIC)]
        one, other = f"{count} {kind.offered(FEET)}", f"{float(count * factor)!r} {kind.offered(METRIC)}"
    assert read(one, kind) == pytest.approx(read(other, kind), rel=1e-13)


def test_a_count_of_things_is_told_in_words() -> None:
    told = [counted(number, name) for number, name in ((0, "pin"), (1, "battery"), (2, "battery"), (3, "switch"), (2, "day"), (4, "altimeter"))]
    assert told == ["no pins", "1 battery", "2 batteries", "3 switches", "2 days", "4 altimeters"]
