"""Rigs as texts and as files: nothing typed is lost, everything wrong is told at once, links stay valid for ever.

Files here are TOML and JSON texts; the browser's own part of links is tested with the site.
"""

import json
import tomllib

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from rigs import any_texts, faults_of, healed, made_relevant, sound_texts, tables_of

from loftbook.errors import Fault, Refusal
from loftbook.fields import DEFAULTS, DROGUE_MAIN, FIELDS, GROUPS, MEASURED, TWO_PARTS
from loftbook.quantity import LONGEST
from loftbook.rig import LARGEST_FILE, is_relevant, load, parse, to_json, to_toml

REQUIRED = [path for path, field in FIELDS.items() if field.required]


def load_faults(text: str) -> tuple[Fault, ...]:
    with pytest.raises(Refusal) as caught:
        load(text)
    return caught.value.faults


def one_fault(**changes: str) -> Fault:
    (fault,) = faults_of({path.replace("_", ".", 1): text for path, text in changes.items()})
    return fault


def toml_with(path: str, literal: str) -> str:
    """The demo rig as TOML, one field written as the literal."""
    group, name = path.split(".")
    before = to_toml({p: t for p, t in DEFAULTS.items() if p != path}).splitlines()
    before.insert(before.index(f"[{group}]") + 1, f"{name} = {literal}")
    return "\n".join(before)


# --- what a link means never changes ---------------------------------------------------------------

# A link carries only what differs from the defaults: with another default, every link sent so far would mean another
# rig. Rows may be added, for a new field; a row is never changed or taken out.
FROZEN = {
    "rig.name": "Demo rig, 75 mm",
    "rig.units": "metric",
    "rocket.mass": "2.2 kg",
    "rocket.length": "2 m",
    "rocket.tube": "75 mm",
    "rocket.bay": "550 mm",
    "rocket.shoulder": "75 mm",
    "nose.mass": "320 g",
    "nose.length": "380 mm",
    "canopy.family": "flat polygon",
    "canopy.sides": "8",
    "canopy.size": "1.4 m",
    "canopy.slope": "25 deg",
    "canopy.height_ratio": "0.707",
    "canopy.panel_ratio": "0.333",
    "canopy.hole_ratio": "0.5",
    "canopy.vent": "10 %",
    "canopy.area": "1.6 m²",
    "canopy.cd_low": "0.7",
    "canopy.cd_high": "0.8",
    "canopy.rate": "5.5 m/s",
    "canopy.cloth": "ripstop nylon 1.1 oz (MIL-C-7020 type I)",
    "canopy.seam": "12 mm",
    "canopy.mass": "",
    "lines.length": "1.4 m",
    "lines.diameter": "1.6 mm",
    "lines.material": "nylon cord type I (MIL-C-5040)",
    "lines.rating": "445 N",
    "lines.stretch": "25 %",
    "lines.end": "stitched, zigzag",
    "lines.mass": "1.6 g/m",
    "pack.density": "0.32 g/cm³",
    "pack.clearance": "92 %",
    "pack.shortening": "back and forth",
    "pack.layout": "below the canopy",
    "pack.beside": "",
    "pack.protector": "blanket",
    "pack.protector_depth": "40 mm",
    "pack.below": "60 %",
    "pack.fill": "50 %",
    "pack.line_turns": "1",
    "pack.cord_turns": "0",
    "cord.layout": "nose where the lines meet",
    "cord.material": "tubular nylon webbing 9/16 in (MIL-W-5625)",
    "cord.rating": "6.6 kN",
    "cord.stretch": "25 %",
    "cord.end": "bowline",
    "cord.length": "9.5 m",
    "cord.gap": "600 mm",
    "cord.width": "14 mm",
    "cord.thickness": "2.5 mm",
    "cord.allowance": "0.5 m",
    "second.family": "flat polygon",
    "second.lines": "8",
    "second.size": "450 mm",
    "second.area": "0.17 m²",
    "second.cd_low": "0.6",
    "second.cd_high": "0.8",
    "second.mass": "800 g",
    "chain.factor": "2",
    "chain.link": "4.5 kN",
    "chain.swivel": "2 kN",
    "chain.anchor": "1.4 kN",
    "chain.bulkhead": "3 kN",
    "joint.friction": "25 N",
    "joint.pins": "0",
    "joint.pin": "M2 × 0.4",
    "joint.pressure": "",
    "joint.vent": "3 mm",
    "joint.tested": "",
    "site.elevation": "120 m",
    "site.warmer": "0 °C",
    "site.pressure": "",
    "site.north": "450 m",
    "site.east": "450 m",
    "site.south": "450 m",
    "site.west": "450 m",
    "flight.recovery": "one canopy",
    "flight.apogee": "1500 m",
    "flight.release": "300 m",
    "flight.wind": "4 m/s",
    "flight.exponent": "0.143",
    "flight.forward_speed": "12 m/s",
    "flight.delay": "1 s",
    "flight.climb": "120 m/s",
    "flight.slowing": "30 m/s²",
    "flight.wind_from": "west",
    "flight.layers": "",
    "scatter.mass": "3 %",
    "scatter.wind": "25 %",
    "scatter.direction": "15 deg",
    "scatter.release": "5 %",
    "compare.tubes": "54 mm; 75 mm; 98 mm",
    "compare.sizes": "0.9 m; 1.4 m; 1.8 m",
}

# Choices are written in links and files as they stand here.
FROZEN_CHOICES = {
    "rig.units": {
        "metric",
        "feet and inches",
    },
    "canopy.family": {
        "flat polygon",
        "flat circular",
        "conical",
        "hemispherical",
        "semi-ellipsoid",
        "cross",
        "annular",
        "measured by me",
    },
    "canopy.cloth": {
        "ripstop nylon 1.1 oz (MIL-C-7020 type I)",
        "ripstop nylon 1.6 oz (MIL-C-7020 type III)",
        "low-permeability nylon 1.17 oz (MIL-C-44378 type I)",
        "light nylon 0.88 oz (PIA-C-498 types D, G)",
    },
    "lines.material": {
        "nylon cord type I (MIL-C-5040)",
        "nylon cord type IA (MIL-C-5040)",
        "nylon cord type II (MIL-C-5040)",
        "nylon cord type III (MIL-C-5040)",
        "polyethylene cord type IA (PIA-C-1200)",
        "polyethylene cord type IIA (PIA-C-1200)",
        "my own rating",
    },
    "lines.end": {
        "bowline",
        "figure-eight loop",
        "overhand loop",
        "water knot in webbing",
        "splice",
        "stitched, zigzag",
        "any knot in aramid",
    },
    "pack.shortening": {
        "back and forth",
        "in half, and again",
    },
    "pack.layout": {
        "below the canopy",
        "above the canopy",
    },
    "pack.protector": {
        "blanket",
        "wadding",
        "sleeve",
        "bag",
    },
    "cord.layout": {
        "nose where the lines meet",
        "nose part-way along",
        "two sections, two legs",
    },
    "cord.material": {
        "tubular nylon webbing 1/2 in (MIL-W-5625)",
        "tubular nylon webbing 9/16 in (MIL-W-5625)",
        "tubular nylon webbing 3/4 in (MIL-W-5625)",
        "tubular nylon webbing 1 in (MIL-W-5625)",
        "flat nylon webbing type I, 9/16 in (MIL-W-4088)",
        "nylon tape type I (MIL-T-8363)",
        "nylon webbing type V (MIL-T-8363)",
        "polyethylene cord type VA (PIA-C-1200)",
        "nylon cord type III (MIL-C-5040)",
        "my own rating",
    },
    "cord.end": {
        "bowline",
        "figure-eight loop",
        "overhand loop",
        "water knot in webbing",
        "splice",
        "stitched, zigzag",
        "any knot in aramid",
    },
    "second.family": {
        "flat polygon",
        "flat circular",
        "hemispherical",
        "cross",
        "measured by me",
    },
    "joint.pin": {
        "UNC #2-56",
        "UNC #4-40",
        "UNC #6-32",
        "M2 × 0.4",
        "M3 × 0.5",
        "M4 × 0.7",
    },
    "flight.recovery": {
        "one canopy",
        "drogue, then main",
        "two parts, two canopies",
    },
    "flight.wind_from": {
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    },
}


@pytest.mark.parametrize("path", FROZEN)
def test_a_default_never_changes(path: str) -> None:
    assert DEFAULTS.get(path) == FROZEN[path]


def test_every_field_is_frozen_from_its_first_release_on() -> None:
    assert set(DEFAULTS) == set(FROZEN), "freeze each new field's default in this file"


@pytest.mark.parametrize("path", FROZEN_CHOICES)
def test_a_choice_is_never_renamed(path: str) -> None:
    assert FROZEN_CHOICES[path] <= set(FIELDS[path].choices)


def test_every_field_with_choices_is_frozen() -> None:
    assert set(FROZEN_CHOICES) == {path for path, field in FIELDS.items() if field.choices}


@settings(derandomize=True, max_examples=60, deadline=None)
@given(texts=sound_texts())
def test_a_link_is_flat_json_with_only_what_differs(texts: dict[str, str]) -> None:
    differing = {path: text for path, text in texts.items() if text != DEFAULTS[path]}
    loaded = load(json.dumps(differing))
    assert loaded == differing
    rig = parse(loaded)
    assert rig.texts == DEFAULTS | texts
    assert set(rig.assumed) == set(FIELDS) - set(differing)


def test_the_link_of_the_demo_rig_is_empty() -> None:
    assert load("{}") == {}
    assert parse({}).texts == DEFAULTS


# --- declarations are consistent -------------------------------------------------------------------


@pytest.mark.parametrize("field", FIELDS.values(), ids=lambda field: field.path)
def test_a_declaration_is_whole(field) -> None:
    assert field.path.split(".")[0] in GROUPS
    assert field.label
    assert field.help.endswith(".")
    assert (field.kind is not None) == (field.high > field.low)
    if field.choices:
        assert field.default in field.choices
    if field.when:
        assert set(field.when[1]) <= set(FIELDS[field.when[0]].choices)
    assert field.optional or field.default


def test_labels_are_unique() -> None:
    assert len({field.label for field in FIELDS.values()}) == len(FIELDS)


# --- files ------------------------------------------------------------------------------------------

ANY = st.text(st.characters(exclude_categories=("Cs",)), max_size=80)  # a lone surrogate is no character


@settings(derandomize=True, max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(texts=st.fixed_dictionaries({}, optional=dict.fromkeys(FIELDS, ANY)))
def test_a_file_holds_exactly_what_was_typed_sound_or_not(texts: dict[str, str]) -> None:
    assert tomllib.loads(to_toml(texts)) == tables_of(texts)
    assert json.loads(to_json(texts)) == tables_of(texts)
    whole = DEFAULTS | texts  # a rig file must say the required fields
    assert load(to_toml(whole)) == whole
    assert load(to_json(whole)) == whole


@settings(derandomize=True, max_examples=60, deadline=None)
@given(texts=sound_texts())
def test_a_file_gives_the_same_rig(texts: dict[str, str]) -> None:
    whole = DEFAULTS | texts
    rig = parse(whole)
    assert parse(load(to_toml(whole))) == parse(load(to_json(whole))) == rig
    assert to_toml(load(to_toml(whole))) == to_toml(whole)


@pytest.mark.parametrize("write", [to_toml, to_json])
def test_a_file_with_a_byte_order_mark_windows_lines_and_blank_lines_is_read(write) -> None:
    assert load("\ufeff" + write(DEFAULTS)) == DEFAULTS
    assert load("\r\n\r\n" + write(DEFAULTS).replace("\n", "\r\n")) == DEFAULTS


def test_a_file_may_have_remarks_and_any_order() -> None:
    assert load("# mine\n" + "\n".join(reversed(to_toml(DEFAULTS).split("\n\n"))) + "\n# end") == DEFAULTS


@pytest.mark.parametrize(("path", "literal", "text"), [
    ("canopy.sides", "8", "8"),
    ("canopy.sides", "12", "12"),
    ("flight.exponent", "0.2", "0.2"),
    ("flight.exponent", "2e-1", "0.2"),
    ("rocket.mass", "2.2", "2.2"),
    ("site.elevation", "-3", "-3"),
])  # fmt: skip
def test_plain_numbers_in_files_are_texts(path: str, literal: str, text: str) -> None:
    assert load(toml_with(path, literal))[path] == text
    group, name = path.split(".")
    assert load(json.dumps(tables_of(DEFAULTS) | {group: tables_of(DEFAULTS)[group] | {name: float(literal)}}))[path] in (
        text, f"{text}.0")  # fmt: skip


def test_a_plain_number_that_needs_a_unit_is_refused_with_both_offers() -> None:
    (fault,) = faults_of(load(toml_with("rocket.mass", "2.2")))
    assert (fault.field, fault.given, fault.readings) == ("rocket.mass", "2.2", ("2.2 kg", "2.2 lb"))


@pytest.mark.parametrize("literal", ["true", "false", "[1]", '["75 mm"]', "2020-01-01", "{}", "[]"])
def test_a_value_that_is_neither_text_nor_number_is_refused(literal: str) -> None:
    (fault,) = load_faults(toml_with("rocket.tube", literal)) if literal != "{}" else load_faults(
        '{"rocket": {"tube": {}}}')[:1]  # fmt: skip
    assert fault.field == "rocket.tube"
    assert fault.label == FIELDS["rocket.tube"].label
    assert fault.allowed == "a text or a number"
    assert FIELDS["rocket.tube"].default in fault.message


@pytest.mark.parametrize("literal", ["nan", "inf", "-inf"])
def test_a_number_that_is_none_is_refused(literal: str) -> None:
    (fault,) = faults_of(load(toml_with("flight.exponent", literal)))
    assert fault.field == "flight.exponent"


@pytest.mark.parametrize("text", ['{"flight.exponent": NaN}', '{"flight.exponent": 1e999}', '{"rocket.mass": -Infinity}'])
def test_a_number_that_is_none_is_refused_in_json_too(text: str) -> None:
    assert len(faults_of(load(text))) == 1


@pytest.mark.parametrize(("typed", "meant"), [
    ("rocket.tub", "rocket.tube"), ("rocket.Mass", "rocket.mass"), ("canopy.side", "canopy.sides"),
    ("cord.lenght", "cord.length"), ("site.elevaton", "site.elevation"), ("rokcet.bay", "rocket.bay"),
])  # fmt: skip
def test_an_unknown_key_names_the_nearest(typed: str, meant: str) -> None:
    group, name = typed.split(".")
    in_file = load_faults(toml_with("rig.name", '"x"') + f'\n[{group}]\n{name} = "1 m"') if group not in GROUPS else (
        load_faults(to_json(DEFAULTS).replace(f'"{group}": {{', f'"{group}": {{ "{name}": "1 m",')))  # fmt: skip
    for (fault,) in (in_file, load_faults(json.dumps({typed: "1 m"})), faults_of({typed: "1 m"})):
        assert typed in fault.message
        assert f"Did you mean {meant}?" in fault.message
        assert fault.readings == (meant,)


def test_an_unknown_key_like_no_other_names_none() -> None:
    (fault,) = load_faults('{"qqq.zzz": "1"}')
    assert fault.readings == ()
    assert "Did you mean" not in fault.message


@pytest.mark.parametrize("path", REQUIRED)
def test_a_file_that_leaves_out_what_it_must_say_is_told_so(path: str) -> None:
    (fault,) = load_faults(to_toml({p: t for p, t in DEFAULTS.items() if p != path}))
    assert fault.field == path
    assert path in fault.message
    assert FIELDS[path].label in fault.message
    assert tomllib.loads(_example(fault.allowed)) == tables_of({path: DEFAULTS[path]})


def _example(allowed: str) -> str:
    """`tube = "75 mm" under [rocket], for example` as the lines it tells to write."""
    line, group = allowed.removesuffix(", for example").split(" under ")
    return f"{group}\n{line}"


def test_all_that_is_missing_is_told_at_once() -> None:
    assert {fault.field for fault in load_faults("[rig]\nname = 'x'")} == set(REQUIRED)


def test_what_does_not_matter_need_not_be_said() -> None:
    left = {p: t for p, t in DEFAULTS.items() if p != "canopy.size"} | {"canopy.family": MEASURED}
    assert load(to_toml(left)) == left


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if not field.required])
def test_what_need_not_be_said_takes_its_default(path: str) -> None:
    left = {p: t for p, t in DEFAULTS.items() if p != path}
    rig = parse(load(to_toml(left)))
    assert rig.texts == DEFAULTS
    assert rig.assumed == (path,)


DEEP = 50_000
NOT_READABLE = {
    "no TOML": "this is no rig",
    "half a TOML": "[rocket\nmass = 1",
    "twice the same": "[rig]\nname = 'a'\nname = 'b'",
    "no JSON": "{rocket}",
    "half a JSON": '{"rocket": {"mass": "1 kg"',
    "two JSONs": "{} {}",
    "control character": "[rig]\nname = 'a\x00b'",
    "deep TOML array": f"a = {'[' * DEEP}{']' * DEEP}",
    "deep TOML table": f"a = {'{b=' * DEEP}1{'}' * DEEP}",
    "deep JSON": '{"a":' * DEEP + "1" + "}" * DEEP,
    "deep JSON array": '{"a":' + "[" * DEEP + "]" * DEEP + "}",
    "huge number": '{"rocket.mass": ' + "9" * 5000 + "}",
    "page": "<!doctype html><html></html>",
    "picture": "\x89PNG\r\n\x1a\n",
}


@pytest.mark.parametrize("name", NOT_READABLE)
def test_what_is_no_rig_file_is_refused(name: str) -> None:
    faults = load_faults(NOT_READABLE[name])
    assert len(faults) == 1
    assert len(faults[0].message) < 1000
    assert len(faults[0].given) <= 2 * LONGEST


@pytest.mark.parametrize("text", [
    '{"rocket.mass": ' + "[" * 3000 + "]" * 3000 + "}",
    f"[rocket.mass.{'.'.join('a' * DEEP)}]",
    f"{'.'.join('a' * 3000)} = 1",
])  # fmt: skip
def test_deep_nesting_that_can_be_read_is_still_refused(text: str) -> None:
    assert load_faults(text)


def test_an_empty_file_is_no_rig() -> None:
    assert {fault.field for fault in load_faults("")} == set(REQUIRED)


def test_a_file_too_large_is_refused_before_it_is_read() -> None:
    whole = to_toml(DEFAULTS)
    just = whole + "#" * (LARGEST_FILE - len(whole))
    assert load(just) == DEFAULTS
    (fault,) = load_faults(just + "#")
    assert str(LARGEST_FILE) in fault.message


def test_all_faults_of_a_file_at_once() -> None:
    text = '{"rocket": {"mass": true, "tube": [1], "speed": "1"}, "nose": 5, "pack.fill": null}'
    assert [fault.field or fault.given for fault in load_faults(text)] == [
        "rocket.mass", "rocket.tube", "rocket.speed", "nose", "pack.fill"]  # fmt: skip


# --- faults of rigs ---------------------------------------------------------------------------------


def test_all_faults_of_a_rig_at_once() -> None:
    faults = faults_of({"rocket.mass": "heavy", "rocket.tube": "75", "canopy.sides": "8.5", "rig.units": "imperial",
                        "rig.name": "", "flight.wind": "99 m/s", "canopy.mas": "1 kg"})  # fmt: skip
    assert {fault.field or fault.given for fault in faults} == {
        "rocket.mass", "rocket.tube", "canopy.sides", "rig.units", "rig.name", "flight.wind", "canopy.mas"}  # fmt: skip
    for fault in faults:
        assert fault.given in ("heavy", "75", "8.5", "imperial", "", "99 m/s", "canopy.mas")
        assert fault.allowed
        assert fault.allowed in fault.message


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if field.choices])
def test_a_wrong_choice_names_all_and_the_nearest(path: str) -> None:
    field = FIELDS[path]
    for choice in field.choices:
        fault = next(fault for fault in faults_of(made_relevant(path) | {path: choice[:-1]}) if fault.field == path)
        assert fault.allowed == f"one of: {', '.join(field.choices)}"
        assert fault.readings == (choice,)


@pytest.mark.parametrize("name", ["", "  ", "a\nb", "a\x00", "a\u202eb", "\ud800", "x" * (LONGEST + 1)])
def test_a_name_that_cannot_be_shown_is_refused(name: str) -> None:
    assert one_fault(rig_name=name).field == "rig.name"


@pytest.mark.parametrize("name", ["x", "x" * LONGEST, "Möwe 2 – für Ägypten", "海鷗", "<img onerror>", "'\"&;"])
def test_any_printable_name_is_taken(name: str) -> None:
    assert parse({"rig.name": name}).text("rig.name") == name


BASE = {"rocket.mass": "2.2 kg", "nose.mass": "320 g", "rocket.length": "1.7 m", "nose.length": "380 mm", "rocket.bay": "500 mm",
        "rocket.shoulder": "75 mm", "canopy.sides": "8", "lines.length": "1.4 m", "lines.mass": "2.8 g/m",
        "rocket.tube": "75 mm"}  # fmt: skip
CONTRADICTIONS = [
    ({"nose_mass": "2.2 kg"}, "nose.mass"),
    ({"nose_mass": "5 kg"}, "nose.mass"),
    ({"rocket_mass": "320 g"}, "nose.mass"),
    ({"nose_length": "1.7 m"}, "nose.length"),
    ({"rocket_shoulder": "500 mm"}, "rocket.shoulder"),
    ({"canopy_mass": "1.881 kg"}, "canopy.mass"),
    ({"canopy_mass": "31.3 g"}, "canopy.mass"),  # 8 lines x 1.4 m x 2.8 g/m is 31.36 g
    ({"canopy_family": "cross", "canopy_sides": "9"}, "canopy.sides"),
    ({"canopy_family": "cross", "canopy_sides": "4"}, "canopy.sides"),
    ({"canopy_family": "cross", "canopy_sides": "10"}, "canopy.sides"),
    ({"canopy_family": MEASURED, "canopy_cd_low": "0.81"}, "canopy.cd_low"),
    ({"site_elevation": "5000 m", "flight_release": "15001 m"}, "flight.release"),
    ({"flight_recovery": DROGUE_MAIN, "flight_apogee": "300 m", "flight_release": "300 m"}, "flight.release"),
    ({"flight_recovery": TWO_PARTS, "second_mass": "2.2 kg"}, "second.mass"),
    ({"flight_recovery": TWO_PARTS, "second_family": MEASURED, "second_cd_low": "0.9", "second_cd_high": "0.8"}, "second.cd_low"),
    ({"pack_beside": "68 mm"}, "pack.beside"),
    ({"flight_layers": "10 m 3 m/s"}, "flight.layers"),
    ({"flight_layers": "10 m 3 m/s 270; 10 m 4 m/s 270"}, "flight.layers"),
    ({"flight_layers": "10 m 3 kg 270"}, "flight.layers"),
]
AGREE = [
    {"nose_mass": "2.19 kg"},
    {"nose_length": "1.69 m"},
    {"rocket_shoulder": "499 mm"},
    {"canopy_mass": "1.87 kg"},
    {"canopy_mass": "31.4 g"},
    {"canopy_family": "cross", "canopy_sides": "8"},
    {"canopy_family": "cross", "canopy_sides": "12"},
    {"canopy_sides": "9"},
    {"canopy_family": MEASURED, "canopy_cd_low": "0.8"},
    {"site_elevation": "5000 m", "flight_release": "15000 m"},
    {"flight_recovery": DROGUE_MAIN, "flight_apogee": "301 m", "flight_release": "300 m"},
    {"flight_recovery": TWO_PARTS, "second_mass": "2.1 kg"},
    {"second_mass": "5 kg"},
    {"pack_beside": "67 mm"},
    {"flight_layers": "10 m 3 m/s 270; 1000 ft 20 mph 290"},
    {"flight_layers": "10 m 3 m/s 270\n1000 ft 20 mph 290"},
]


@pytest.mark.parametrize(("changes", "path"), CONTRADICTIONS)
def test_what_cannot_be_true_together_is_refused(changes: dict[str, str], path: str) -> None:
    texts = BASE | {p.replace("_", ".", 1): t for p, t in changes.items()}
    (fault,) = faults_of(texts)
    assert fault.field == path
    assert fault.label == FIELDS[path].label
    assert fault.message.startswith(fault.label)
    assert fault.allowed
    assert fault.given == (DEFAULTS | texts)[path]


@pytest.mark.parametrize("changes", AGREE)
def test_what_can_just_be_true_together_is_taken(changes: dict[str, str]) -> None:
    assert faults_of(BASE | {path.replace("_", ".", 1): text for path, text in changes.items()}) == ()


def test_all_contradictions_at_once() -> None:
    faults = faults_of(BASE | {"nose.mass": "3 kg", "nose.length": "2 m", "rocket.shoulder": "0.6 m"})
    assert [fault.field for fault in faults] == ["nose.mass", "nose.length", "rocket.shoulder"]


@settings(derandomize=True, max_examples=60, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(texts=any_texts(), rubbish=ANY)
def test_what_does_not_matter_is_not_checked_but_kept(texts: dict[str, str], rubbish: str) -> None:
    sound = healed(texts)
    full = DEFAULTS | sound
    idle = [path for path, field in FIELDS.items() if not is_relevant(field, full)]
    assert idle  # there is no family that needs everything
    rig = parse(sound | dict.fromkeys(idle, rubbish))
    for path in idle:
        assert rig.texts[path] == rubbish
        assert rig.values[path] is None
    for path in set(FIELDS) - set(idle):
        assert rig.values[path] == parse(sound).values[path]


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if field.when])
def test_what_matters_is_checked(path: str) -> None:
    """Each field that matters only sometimes: not checked while it does not, checked while it does."""
    other, values = FIELDS[path].when or ("", ())
    for choice in FIELDS[other].choices:
        found = [fault.field for fault in faults_of(made_relevant(other) | {path: "rubbish", other: choice})]
        assert found == ([path] if choice in values else [])


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if field.optional])
def test_what_may_be_empty(path: str) -> None:
    assert parse({path: "  "}).optional(path) is None


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if not field.optional and not field.choices])
def test_what_may_not_be_empty(path: str) -> None:
    fault = next(fault for fault in faults_of(made_relevant(path) | {path: " "}) if fault.field == path)
    assert fault.label == FIELDS[path].label

