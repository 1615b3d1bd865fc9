"""The tables: every row and its numbers by hand, every number with a source, and a loader that lets none in without."""

import copy
import re
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import FrozenInstanceError
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

from loftbook import quantity, tables
from loftbook.tables import (
    CLOTHS,
    CORDS,
    ENDS,
    FAMILIES,
    HARDWARE,
    HEMS,
    INSPECTIONS,
    LINES,
    PINS,
    PRACTICE,
    SEAMS,
    SOURCES,
    THREADS,
    Sourced,
    known,
    loading,
    practice,
)
from loftbook.tables.rows import spanned

HERE = Path(tables.__file__).parent
RAW: dict[str, dict[str, Any]] = {
    name: tomllib.loads((HERE / f"{name}.toml").read_text("utf-8")) for name in ("canopies", "inspection", "materials", "practice", "sewing")
}

# Exact by definition: NIST SP 811.
FOOT, INCH, YARD = 0.3048, 0.0254, 0.9144
POUND = 0.45359237
OUNCE = POUND / 16
G0 = 9.80665
LBF = POUND * G0
PSI = LBF / INCH**2
OSY = OUNCE / YARD**2


def near(value: float) -> object:
    return pytest.approx(value, rel=1e-12)


# --- every number, by hand ----------------------------------------------------------------------------

CD = {
    "flat polygon": (0.75, 0.77, 0.80),
    "flat circular": (0.75, 0.77, 0.80),
    "conical": (0.75, 0.82, 0.90),
    "hemispherical": (0.62, 0.70, 0.77),
    "semi-ellipsoid": (0.62, 0.75, 0.90),
    "cross": (0.60, 0.72, 0.85),
    "annular": (0.85, 0.90, 0.95),
}
CX_FILLING_INFLATED = {
    "flat polygon": (1.7, 8, 0.67, 0.70),
    "flat circular": (1.7, 8, 0.67, 0.70),
    "conical": (1.8, 8, 0.70, 0.70),
    "hemispherical": (1.6, 8, 0.66, 0.66),
    "semi-ellipsoid": (1.8, 8, 0.66, 0.70),
    "cross": (1.2, 11.7, 0.66, 0.72),
    "annular": (1.4, 8, 0.94, 0.94),
}
CLOTH = {
    "ripstop nylon 1.1 oz (MIL-C-7020 type I)": (1.1, 42),
    "nylon twill 1.6 oz (MIL-C-7020 type II)": (1.6, 50),
    "ripstop nylon 1.6 oz (MIL-C-7020 type III)": (1.6, None),
    "low-permeability nylon 1.17 oz (MIL-C-44378 type I)": (1.17, 45),
    "light nylon 0.88 oz (PIA-C-498 types D, G)": (0.88, None),
    "nylon 2.25 oz (MIL-C-7350 type I)": (2.25, None),
}
LINE = {
    "nylon cord type I (MIL-C-5040)": (95, 0.30),
    "nylon cord type IA (MIL-C-5040)": (100, 0.30),
    "nylon cord type II (MIL-C-5040)": (400, 0.30),
    "nylon cord type III (MIL-C-5040)": (550, 0.30),
    "nylon cord type IV (MIL-C-5040)": (750, 0.30),
    "polyethylene cord type IA (PIA-C-1200)": (300, 0.035),
    "polyethylene cord type IIA (PIA-C-1200)": (600, 0.035),
    "polyethylene cord type IIIB (PIA-C-1200)": (700, 0.035),
    "polyethylene cord type IVB (PIA-C-1200)": (800, 0.035),
}
CORD = {
    "tubular nylon webbing 1/2 in (MIL-W-5625)": (1000, 0.20),
    "tubular nylon webbing 9/16 in (MIL-W-5625)": (1500, 0.20),
    "tubular nylon webbing 3/4 in (MIL-W-5625)": (2300, 0.20),
    "tubular nylon webbing 1 in (MIL-W-5625)": (4000, 0.20),
    "flat nylon webbing type I, 9/16 in (MIL-W-4088)": (500, 0.20),
    "flat nylon webbing type II, 1 in (MIL-W-4088)": (600, 0.20),
    "flat nylon webbing type XVII, 1 in (MIL-W-4088)": (2500, 0.20),
    "flat nylon webbing type VI, 1 23/32 in (MIL-W-4088)": (2500, 0.20),
    "flat nylon webbing type VIII, 1 23/32 in (MIL-W-4088)": (3600, 0.20),
    "flat nylon webbing type VII, 1 23/32 in (MIL-W-4088)": (5500, 0.20),
    "flat nylon webbing type XIII, 1 23/32 in (MIL-W-4088)": (6500, 0.20),
    "nylon tape type I (MIL-T-8363)": (350, 0.20),
    "nylon webbing type III (MIL-T-8363)": (400, 0.20),
    "nylon webbing type V (MIL-T-8363)": (1000, 0.20),
    "nylon webbing type IV (MIL-T-8363)": (2600, 0.20),
    "polyethylene cord type VA (PIA-C-1200)": (1000, 0.035),
    "polyethylene cord type VIB (PIA-C-1200)": (1500, 0.035),
    "polyethylene cord type VIIB (PIA-C-1200)": (2000, 0.035),
    "polyethylene cord type VIIIB (PIA-C-1200)": (2500, 0.035),
    "nylon cord type III (MIL-C-5040)": (550, 0.30),
    "nylon cord type IV (MIL-C-5040)": (750, 0.30),
}
END = {
    "bowline": 0.70,
    "figure-eight loop": 0.75,
    "overhand loop": 0.50,
    "water knot in webbing": 0.60,
    "splice": 0.85,
    "stitched, zigzag": 0.80,
    "any knot in aramid": 0.35,
}
UNIFIED = {  # outside diameter in inches, threads per inch
    "UNC #2-56": (0.086, 56),
    "UNC #3-48": (0.099, 48),
    "UNC #4-40": (0.112, 40),
    "UNC #6-32": (0.138, 32),
    "UNC #8-32": (0.164, 32),
}
METRIC = {"M2 × 0.4": (2.0, 0.4), "M2.5 × 0.45": (2.5, 0.45), "M3 × 0.5": (3.0, 0.5), "M4 × 0.7": (4.0, 0.7)}  # mm
RATING = {
    "lifting eye bolt M6 (DIN 580)": 70 * G0,
    "lifting eye bolt M8 (DIN 580)": 140 * G0,
    "lifting eye bolt M10 (DIN 580)": 230 * G0,
    "screw link, class Q (EN 12275)": 25_000.0,
    "basic connector, class B (EN 12275)": 20_000.0,
}


def test_every_family() -> None:
    assert {name: (f.cd.low, f.cd.best, f.cd.high) for name, f in FAMILIES.items()} == CD
    assert {name: f.cd.value for name, f in FAMILIES.items()} == {name: best for name, (_, best, _) in CD.items()}
    found = {n: (f.cx.value, f.filling.value, f.inflated.low, f.inflated.high) for n, f in FAMILIES.items()}
    assert found == CX_FILLING_INFLATED
    for family in FAMILIES.values():
        assert (family.filling.low, family.filling.high) == (
            near(0.75 * family.filling.best),
            near(1.25 * family.filling.best),
        )
        assert family.inflated.best == near((family.inflated.low + family.inflated.high) / 2)


def test_every_cloth() -> None:
    assert set(CLOTHS) == set(CLOTH)
    for name, (ounces, pounds) in CLOTH.items():
        cloth = CLOTHS[name]
        assert cloth.mass.value == near(ounces * OSY)
        assert (cloth.strength and cloth.strength.value) == (pounds and near(pounds * LBF / INCH))
    assert CLOTHS["ripstop nylon 1.1 oz (MIL-C-7020 type I)"].mass.value == pytest.approx(
        0.037296, rel=1e-4
    )  # printed, SI


@pytest.mark.parametrize(("rows", "expected"), [(LINES, LINE), (CORDS, CORD)], ids=["lines", "cords"])
def test_every_line_and_cord(rows: dict[str, tables.Strand], expected: dict[str, tuple[float, float]]) -> None:
    found = {name: (row.strength.value, row.stretch.value) for name, row in rows.items()}
    assert found == {name: (near(pounds * LBF), stretch) for name, (pounds, stretch) in expected.items()}


def test_every_end_and_every_piece_of_hardware() -> None:
    assert {name: row.efficiency.value for name, row in ENDS.items()} == END
    assert {name: row.rating.value for name, row in HARDWARE.items()} == {n: near(v) for n, v in RATING.items()}


def test_every_pin() -> None:
    assert set(PINS) == set(UNIFIED) | set(METRIC)
    for name, (inches, threads) in UNIFIED.items():
        pin = PINS[name]
        assert pin.diameter.value == near(inches * INCH)
        assert pin.threads_per_inch is not None
        assert pin.threads_per_inch.value == threads
        assert pin.pitch is None
        assert (pin.shear.low, pin.shear.high) == (near(9600 * PSI), near(10_500 * PSI))
    for name, (diameter, pitch) in METRIC.items():
        pin = PINS[name]
        assert pin.diameter.value == near(diameter / 1000)
        assert pin.pitch is not None
        assert pin.pitch.value == near(pitch / 1000)
        assert pin.threads_per_inch is None
        assert (pin.shear.low, pin.shear.high) == (near(66e6), near(72e6))


def test_the_name_of_a_row_says_what_its_numbers_say() -> None:
    for name, cloth in CLOTHS.items():
        assert re.search(rf"(^| ){re.escape(cloth.mass.printed.removesuffix('/yd²'))} ", name), name
    for name, pin in PINS.items():
        told = (
            pin.pitch.printed.removesuffix(" mm")
            if pin.pitch
            else pin.threads_per_inch and pin.threads_per_inch.printed
        )
        assert re.split("[-×] ?", name)[-1] == told


MPH = 1609.344 / 3600
FACTS: dict[str, dict[str, float]] = {
    "pack_density": {"low": 20 * POUND / FOOT**3, "high": 22 * POUND / FOOT**3},
    "loose_density": {"low": 150, "high": 250},
    "wraps": {"high": 2},
    "depth": {"low": 2 * INCH, "high": 6 * INCH},
    "protector": {},
    "shoulder": {"low": 1},
    "shake": {},
    "fill": {"share": 0.5},
    "clearance": {"high": 0.92},
    "spare": {"share": 0.1, "low": 0.015},
    "line_length": {"low": 0.8, "usual_low": 1.0, "usual_high": 1.2},
    "cord_minimum": {},
    "cord_allowance": {"low": FOOT, "high": 2 * FOOT},
    "cord_lengths": {"low": 3, "high": 5},
    "nose_along": {"share": 0.33},
    "touchdown": {"low": 15 * FOOT, "high": 20 * FOOT},
    "drogue": {"low": 15, "high": 30},
    "broadside": {"low": 20, "high": 40},
    "main_height": {"low": 150, "high": 300},
    "main_height_least": {"low": 100},
    "energy": {"high": 75 * FOOT * LBF},
    "launch_wind": {"high": 20 * MPH},
    "design_factor": {"low": 1.5, "high": 1.6},
    "uneven": {"low": 1.05, "high": 1.1},
    "bay_pressure": {"low": 55e3, "high": 100e3},
    "pressure_floor": {"most": 100e3, "narrow": 0.054, "wide": 0.098, "force": 415},
    "shear_pins": {"low": 2},
    "backup_charge": {"low": 0.25, "high": 0.5},
    "backup_delay": {"low": 1, "high": 2},
    "motor_delay": {"seconds": 1.5, "share": 0.2},
    "static_ports": {"hole": INCH / 4, "volume": 100 * INCH**3, "low": 3, "high": 4},
    "vent": {"low": INCH / 16, "high": INCH / 8},
    "thin_charge": {"low": 0.0003},
    "high_charge": {"high": 6000},
    "misfire": {"low": 60},
    "walk": {"low": 0.8, "high": 1.4},
    "seam_strands": {"low": 1.2},
    "thread_use": {"high": 3},
    "stitch_length": {"low": 0.002, "high": 0.003},
    "seam_width": {"low": 0.008, "high": 0.013},
    "sewn_on": {"low": 0.04},
    "line_tension": {"high": 0.1},
    "needle": {"fine": 90, "thin": 50, "usual": 100, "thick": 80, "stout": 110, "high": 100},
    "knot_length": {"low": 25},
    "splice_length": {"low": 50},
    "sample_share": {"low": 0.33},
}


def test_every_fact_of_the_trade() -> None:
    found = {key: {name: value for name, (value, _) in fact.numbers.items()} for key, fact in PRACTICE.items()}
    assert found == {key: {name: near(value) for name, value in numbers.items()} for key, numbers in FACTS.items()}


# --- what is said -------------------------------------------------------------------------------------


def test_a_fact_is_said_in_the_readers_units_with_its_standing() -> None:
    assert practice("touchdown", "metric") == "4.6 to 6.1 m/s under the main (common practice, no source)"
    assert practice("touchdown", "feet and inches") == "15 to 20 ft/s under the main (common practice, no source)"
    handbook = "NASA Student Launch Handbook, vehicle and recovery requirements, editions to 2022; memory"
    assert practice("energy", "metric") == f"no section above 101 J at touchdown ({handbook})"  # never more than 75 ft·lbf
    assert practice("energy", "feet and inches") == f"no section above 75 ft·lbf at touchdown ({handbook})"
    assert known("launch_wind").sentence("metric") == "no launch in wind above 8.94 m/s"
    assert known("launch_wind").sentence("feet and inches") == "no launch in wind above 20 mph"
    assert practice("fill", "metric") == "loose cord and lines fill about 50 % of the tube's section (our choice)"


METRIC_UNITS = re.compile(r"\d (m|mm|m/s|J|N|kPa|g|kg|cm³|g/cm³)\b")
CUSTOMARY_UNITS = re.compile(r"\d (ft|in|ft/s|mph|ft·lbf|lbf|psi|oz|lb|in³|lb/ft³)\b")


@pytest.mark.parametrize("key", PRACTICE)
def test_no_fact_is_said_in_the_other_systems_units(key: str) -> None:
    metric, customary = known(key).sentence("metric"), known(key).sentence("feet and inches")
    assert not CUSTOMARY_UNITS.search(metric)
    assert not METRIC_UNITS.search(re.sub(r"\d g \(\S+ grains\)", "", customary))  # a charge is told in both
    dimensional = any(kind.metric != kind.customary for _, kind in known(key).numbers.values())
    assert (metric != customary) == dimensional
    assert not re.search(r"[{}]", metric + customary)


@pytest.mark.parametrize("key", PRACTICE)
def test_no_number_stands_in_the_words_of_a_fact(key: str) -> None:
    words = "".join(text for text, *_ in Formatter().parse(RAW["practice"][key]["text"]))
    assert not re.search(r"\d|\b(two|three|four|five|ten|half|third|quarter)\b", words)


def test_a_range_says_its_unit_once() -> None:
    assert spanned("15 ft/s", "20 ft/s") == "15 to 20 ft/s"
    assert spanned("900 mm", "1.2 m") == "900 mm to 1.2 m"
    assert spanned("1 ft 6 in", "2 ft 6 in") == "1 ft 6 in to 2 ft 6 in"
    assert spanned("3", "5") == "3 to 5"
    assert spanned("2 mm", "2 mm") == "2 mm"


def test_a_number_can_be_shown_as_printed_and_in_the_readers_units() -> None:
    cord = CORDS["tubular nylon webbing 9/16 in (MIL-W-5625)"].strength
    assert (cord.printed, cord.show("feet and inches"), cord.show("metric")) == ("1500 lbf", "1500 lbf", "6672 N")
    shear = PINS["M3 × 0.5"].shear
    assert shear.printed == "66 to 72 MPa"
    assert shear.show("metric") == "66000 to 72000 kPa"
    assert FAMILIES["cross"].cd.printed == "0.6 to 0.85, best 0.72"
    assert ENDS["splice"].efficiency.printed == "85 %"


def test_threads_are_those_of_the_specifications() -> None:
    """A-A-55220, Table I: tex 40, 14 lbf, 10,000 yd/lb; tex 80, 30 lbf, 5,000 yd/lb. V-T-295, from memory: size E 8.5 lbf, F 11 lbf."""
    pound_force = POUND * 9.80665
    found = {name: (row.strength.value, row.mass.value) for name, row in THREADS.items()}
    for name, strength, yards in (("para-aramid thread, tex 40 (A-A-55220)", 14, 10_000), ("para-aramid thread, tex 80 (A-A-55220)", 30, 5_000)):
        assert found[name] == (pytest.approx(strength * pound_force), pytest.approx(POUND / (yards * YARD), rel=0.002))
    assert found["nylon thread, size E (V-T-295)"][0] == pytest.approx(8.5 * pound_force)
    assert found["nylon thread, size F (V-T-295)"][0] == pytest.approx(11 * pound_force)
    assert {row.strength.source.how for name, row in THREADS.items() if name.startswith("nylon")} == {"memory"}


# --- every number has a source ------------------------------------------------------------------------


def _numbers(row: object) -> Iterator[tuple[str, Sourced]]:
    for name in row.__dataclass_fields__:  # type: ignore[attr-defined]
        if isinstance(number := getattr(row, name), Sourced):
            yield name, number


ALL = [
    pytest.param(table, row.name, number, id=f"{table}-{row.name}-{name}")
    for table, rows in {
        "family": FAMILIES, "cloth": CLOTHS, "line": LINES, "cord": CORDS, "end": ENDS, "pin": PINS, "hardware": HARDWARE,
        "seam": SEAMS, "hem": HEMS, "thread": THREADS,
    }.items()
    for row in rows.values()
    for name, number in _numbers(row)
]  # fmt: skip


@pytest.mark.parametrize(("table", "row", "number"), ALL)
def test_every_number_is_cited(table: str, row: str, number: Sourced) -> None:
    assert number.source in SOURCES.values()
    assert number.cited.startswith(number.source.text)
    assert number.cited.endswith(f"({number.source.how})")
    assert number.row in number.cited
    assert number.source.text, "only facts of the trade have nobody for a source"


@pytest.mark.parametrize("key", PRACTICE)
def test_every_fact_says_how_it_is_known(key: str) -> None:
    fact = known(key)
    assert fact.source in SOURCES.values()
    assert fact.cited == (f"{fact.source.text}; {fact.source.how}" if fact.source.text else fact.source.how)


def test_every_source_is_used_and_says_how_it_was_had() -> None:
    named = set(re.findall(r'source = "(\w+)"', "".join((HERE / f"{name}.toml").read_text("utf-8") for name in RAW)))
    assert named | {"reader"} == set(SOURCES)
    assert tables.MEASURED.cited == "measured by you (measured)"
    assert {s.how for s in SOURCES.values() if not s.text} == {"common practice, no source", "our choice"}


def test_a_weak_reading_is_not_passed_off_as_a_better_one() -> None:
    """Spot checks against the readings themselves: what is memory says so, number by number."""
    cord = LINES["nylon cord type III (MIL-C-5040)"]
    assert (cord.strength.source.how, cord.stretch.source.how) == ("read", "memory")
    cloth = CLOTHS["ripstop nylon 1.1 oz (MIL-C-7020 type I)"]
    assert cloth.strength is not None
    assert (cloth.mass.source.how, cloth.strength.source.how) == ("read", "read (second-hand)")
    assert CLOTHS["nylon 2.25 oz (MIL-C-7350 type I)"].mass.source.how == "memory"
    assert {family.cx.source.how for family in FAMILIES.values()} == {"memory", SOURCES["stand_in"].how}
    for name in ("conical", "hemispherical", "semi-ellipsoid", "annular"):
        assert FAMILIES[name].filling.source.text == "no published row found"


def test_rows_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        FAMILIES["cross"].cx.best = 1.0  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError):
        known("wraps").template = ""  # type: ignore[misc]


# --- what is refused ----------------------------------------------------------------------------------

STRENGTH = {"strength": quantity.FORCE}


def _end(toml: str) -> dict[str, tables.End]:
    return loading.rows(tables.End, tomllib.loads(toml), "end", SOURCES, {"efficiency": quantity.SHARE})


GOOD = '[[end]]\nname = "bowline"\nefficiency = { value = 0.70, source = "rope_tests" }\n'


def test_the_loader_takes_what_is_right() -> None:
    assert _end(GOOD)["bowline"].efficiency.value == 0.70


@pytest.mark.parametrize(
    ("good", "bad", "said"),
    [
        (', source = "rope_tests"', "", "no source"),
        ('"rope_tests"', '"rumour"', "unknown source 'rumour'"),
        ('{ value = 0.70, source = "rope_tests" }', "0.70", "a bare number, no source"),
        ('{ value = 0.70, source = "rope_tests" }', "[0.7, 0.8]", "no source"),
        ("value = 0.70", "low = 0.70", "not low"),
        ("value = 0.70", "value = 0.70, high = 0.8", "not high, value"),
        ("value = 0.70", "low = 0.8, high = 0.70", "not 0 < low"),
        ("value = 0.70", "low = 0.7, best = 0.9, high = 0.8", "not 0 < low"),
        ("value = 0.70", "value = -0.70", "not 0 < low"),
        ("value = 0.70", "value = 0", "not 0 < low"),
        ("value = 0.70", "value = nan", "nan is no share"),
        ("value = 0.70", "value = inf", "inf is no share"),
        ("value = 0.70", "value = true", "True is no share"),
        ("value = 0.70", 'value = "0.70 N"', "value"),
        ("value = 0.70", 'value = "strong"', "value"),
    ],
)
def test_a_bad_number_is_refused_by_table_row_and_name(good: str, bad: str, said: str) -> None:
    assert good in GOOD
    with pytest.raises(LookupError, match=re.escape(said)) as refused:
        _end(GOOD.replace(good, bad))
    assert str(refused.value).startswith("end 'bowline', efficiency")


@pytest.mark.parametrize(
    ("toml", "said"),
    [
        (GOOD + GOOD, "a name of its own"),
        (GOOD.replace('name = "bowline"\n', ""), "a name of its own"),
        (GOOD + 'stretch = { value = 0.1, source = "rope_tests" }\n', "nothing is known of stretch"),
        (GOOD + "bend = 3\n", "nothing is known of bend"),
        ('[[end]]\nname = "bowline"\n', "without efficiency"),
    ],
)
def test_a_bad_row_is_refused_by_table_and_name(toml: str, said: str) -> None:
    with pytest.raises(LookupError, match=r"end '(bowline|without a name)'") as refused:
        _end(toml)
    assert said in str(refused.value)


@pytest.mark.parametrize("bare", ["95", "95.0"])
def test_a_dimension_wants_its_unit(bare: str) -> None:
    toml = tomllib.loads(f'[[line]]\nname = "cord"\nstrength = {{ value = {bare}, source = "c5040" }}\n')
    with pytest.raises(LookupError, match=r"line 'cord', strength, value: 95.* is no force with its unit"):
        loading.rows(tables.Strand, toml, "line", SOURCES, STRENGTH)


@pytest.mark.parametrize("threads", ["", 'pitch = { value = "0.5 mm", source = "designation" }\nthreads_per_inch = { value = 40, source = "designation" }\n'])  # fmt: skip
def test_a_pin_has_one_thread(threads: str) -> None:
    kinds = {"diameter": quantity.LENGTH, "shear": quantity.BAY_PRESSURE}
    more = {"pitch": quantity.LENGTH, "threads_per_inch": quantity.COUNT}
    toml = (
        '[[pin]]\nname = "M3"\ndiameter = { value = "3 mm", source = "designation" }\n'
        f'shear = {{ value = "66 MPa", source = "polymer" }}\n{threads}'
    )
    with pytest.raises(LookupError, match="pin 'M3': wants either"):
        loading.rows(tables.Pin, tomllib.loads(toml), "pin", SOURCES, kinds | more, optional=tuple(more))


FACT = '[touchdown]\ntext = "{low} to {high} under the main"\nkind = "SPEED"\nlow = "15 ft/s"\nhigh = "20 ft/s"\nsource = "common"\n'


def test_a_fact_is_loaded() -> None:
    fact = loading.practices(FACT, SOURCES)["touchdown"]
    assert (fact.low, fact.high) == (near(4.572), near(6.096))
    assert fact.sentence("feet and inches") == "15 ft/s to 20 ft/s under the main"


@pytest.mark.parametrize(
    ("good", "bad", "said"),
    [
        ('source = "common"\n', "", "no source"),
        ('"common"', '"everybody"', "unknown source 'everybody'"),
        ('kind = "SPEED"\n', "", "low: '' is no kind of quantity"),
        ('"SPEED"', '"LONGEST"', "low: 'LONGEST' is no kind of quantity"),
        ('"SPEED"', '{ low = "SPEED" }', "high: None is no kind of quantity"),
        ('"SPEED"', '"MASS"', "low"),
        ('"15 ft/s"', "15", "low: 15 is no speed with its unit"),
        ("{low} to ", "", "its sentence does not say just its numbers"),
        ("{high}", "{most}", "its sentence does not say just its numbers"),
        ('text = "{low} to {high} under the main"\n', "", "no text"),
    ],
)
def test_a_bad_fact_is_refused_by_name(good: str, bad: str, said: str) -> None:
    assert good in FACT
    with pytest.raises(LookupError, match=re.escape(said)) as refused:
        loading.practices(FACT.replace(good, bad), SOURCES)
    assert str(refused.value).startswith("practice 'touchdown'")


@pytest.mark.parametrize(
    "toml", ['[hearsay]\ntext = "a book"\n', '[hearsay]\nhow = ""\n', '[hearsay]\nhow = "read"\npage = 3\n']
)
def test_a_source_says_how_a_figure_was_had(toml: str) -> None:
    with pytest.raises(LookupError, match="hearsay"):
        loading.sources(toml)


def test_what_is_not_there_is_not_made_up() -> None:
    with pytest.raises(LookupError, match="rumour"):
        known("rumour")
    with pytest.raises(LookupError, match="rumour"):
        practice("rumour", "metric")
    with pytest.raises(LookupError, match="energy: no number 'low'"):
        _ = known("energy").low
    with pytest.raises(LookupError, match="shake: no number 'high'"):
        _ = known("shake").high


# --- what is looked over -----------------------------------------------------------------------------------

# Flights and days after which each row is due. Anchors stand in other people's links: none is renamed or taken out.
LOOKED_OVER = {
    "canopy-cloth": (1, 365), "canopy-seams": (1, 365), "canopy-hem": (1, 365), "canopy-age": (10, 365),
    "lines-ends": (1, 365), "lines-run": (1, 365), "lines-alike": (5, 365),
    "cord-mouth": (1, 365), "cord-ends": (1, 365), "cord-length": (5, 365),
    "links-links": (1, 365), "links-swivel": (1, 365), "links-anchors": (1, 365),
    "protector-cloth": (1, 365), "joint-fit": (1, 180), "joint-pins": (1, 180), "ground-test": (None, 365),
    "electronics-wells": (1, 180), "electronics-wiring": (1, 180), "electronics-batteries": (1, 30), "electronics-switches": (1, 180),
    "airframe-mouth": (1, 365), "airframe-bulkheads": (3, 365), "airframe-tubes": (1, 365),
    "release-body": (1, 180), "release-trial": (1, 90),
}  # fmt: skip


def test_what_is_looked_over_by_hand() -> None:
    assert {name: (row.flights, row.days) for name, row in INSPECTIONS.items()} == LOOKED_OVER
    for row in INSPECTIONS.values():
        assert row.source is SOURCES["common"]
        for said in (row.look, row.bad, row.retire):
            assert said.endswith(".")
            assert said[0].isupper()
        assert not row.title.endswith(".")


@pytest.mark.parametrize(("change", "told"), [
    ({"name": "Canopy cloth"}, "an anchor of its own"), ({"name": "canopy-seams"}, "an anchor of its own"), ({"name": ""}, "an anchor of its own"),
    ({"look": ""}, "without look"), ({"retire": None}, "without retire"), ({"part": ""}, "without part"),
    ({"flights": 0}, "whole `days`"), ({"flights": 1.5}, "whole `days`"), ({"flights": True}, "whole `days`"),
    ({"days": None}, "whole `days`"), ({"days": "365"}, "whole `days`"), ({"days": -1}, "whole `days`"),
    ({"after": ["hail"]}, "no such event as hail"), ({"colour": "red"}, "nothing is known of colour"),
])  # fmt: skip
def test_a_row_of_what_is_looked_over_that_is_not_whole_is_refused(change: dict[str, Any], told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    raw = copy.deepcopy(RAW["inspection"])
    first = raw["row"][0] | change
    raw["row"][0] = {key: value for key, value in first.items() if value is not None}
    with pytest.raises(LookupError, match=told):
        _import_with(monkeypatch, "inspection", raw)


# --- the package as it lies there ------------------------------------------------------------------------


def _places() -> Iterator[tuple[str, tuple[str | int, ...], str]]:
    """File, way to each thing in it that holds a source, and how a refusal of it must begin."""
    for file in ("canopies", "materials", "sewing"):
        for table, rows in RAW[file].items():
            for index, row in enumerate(rows):
                for name in sorted(row.keys() - {"name"}):
                    yield file, (table, index, name), f"{table} {row['name']!r}, {name}: "
    for index, row in enumerate(RAW["inspection"]["row"]):
        yield "inspection", ("row", index), f"inspection {row['name']!r}: "
    for key in RAW["practice"]:
        yield "practice", (key,), f"practice {key!r}: "


PLACES = list(_places())


def _at(raw: Any, way: tuple[str | int, ...]) -> Any:
    for step in way:
        raw = raw[step]
    return raw


def _import_with(monkeypatch: pytest.MonkeyPatch, file: str, raw: dict[str, Any]) -> None:
    """Run the module of the tables once more, one of its files replaced by `raw`."""
    original, loads = (HERE / f"{file}.toml").read_text("utf-8"), tomllib.loads
    monkeypatch.setattr(tomllib, "loads", lambda text: raw if text == original else loads(text))
    spec = spec_from_file_location("loftbook.tables", HERE / "__init__.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "loftbook.tables", module)
    spec.loader.exec_module(module)


def test_the_files_import_as_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    for file, raw in RAW.items():
        _import_with(monkeypatch, file, raw)
    assert len(PLACES) == len(ALL) + len(PRACTICE) + len(INSPECTIONS)


@pytest.mark.parametrize(("file", "way", "said"), [pytest.param(*place, id=place[2]) for place in PLACES])
def test_nothing_imports_when_one_source_is_missing_or_unknown(
    file: str, way: tuple[str | int, ...], said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw = copy.deepcopy(RAW[file])
    place = _at(raw, way)
    place["source"] = "rumour"
    with pytest.raises(LookupError) as refused:
        _import_with(monkeypatch, file, raw)
    assert str(refused.value) == f"{said}unknown source 'rumour'"
    del place["source"]
    with pytest.raises(LookupError) as refused:
        _import_with(monkeypatch, file, raw)
    assert str(refused.value) == f"{said}no source"
