"""Rigs as texts and as files: nothing typed is lost, everything wrong is told at once, links stay valid for ever.

Files here are TOML and JSON texts; the browser's own part of links is tested with the site.
"""

import json
import time
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from rigs import any_texts, faults_of, healed, made_relevant, needed, sound_texts, tables_of, worked

from loftbook.errors import Fault, Refusal
from loftbook.quantity import LONGEST
from loftbook.rig import field as rig_field
from loftbook.rig import parsing, ways
from loftbook.rig.bay_fields import BAY_FIELDS, MEASURED
from loftbook.rig.field import Field, stamp
from loftbook.rig.fields import DEFAULTS, FIELDS, GROUPS, STARTS
from loftbook.rig.files import LARGEST_FILE, load, to_json, to_toml
from loftbook.rig.parsing import MOST_UNKNOWN, completed, is_relevant, parse
from loftbook.rig.rules import BAY_RULES, RULES
from loftbook.rig.ways import FORWARD, KEYS, NO_DROGUE, ONE_CANOPY, TWO_BAYS, TWO_PARTS, WAYS, Way

REQUIRED = [path for path, field in FIELDS.items() if field.required]
every_start = pytest.mark.parametrize("start", STARTS)


def full_path(path: str) -> str:
    """A path; one within a bay is meant of the main's."""
    return path if path in FIELDS else f"main.{path}"


def full_paths(texts: Mapping[str, str]) -> dict[str, str]:
    return {full_path(path): text for path, text in texts.items()}


def load_faults(text: str) -> tuple[Fault, ...]:
    with pytest.raises(Refusal) as caught:
        load(text)
    return caught.value.faults


def toml_with(path: str, literal: str) -> str:
    """The demo rig as TOML, one field written as the literal."""
    group, _, name = path.rpartition(".")
    before = to_toml({p: t for p, t in DEFAULTS.items() if p != path}).splitlines()
    before.insert(before.index(f"[{group}]") + 1, f"{name} = {literal}")
    return "\n".join(before)


def only_needed(full: Mapping[str, str]) -> dict[str, str]:
    """A rig's texts without those that do not matter for it."""
    return {path: text for path, text in full.items() if is_relevant(FIELDS[path], full)}


# --- what a link means never changes ---------------------------------------------------------------

# Links and files name fields by these paths, group by group. Names may be added, for a new field; none is changed or
# taken out.
FROZEN = {
    "rig": "name start units bay measured",
    "rocket": "mass length diameter main_bay",
    "nose": "mass length",
    "middle": "mass length",
    "chain": "factor",
    "main.bay": "tube depth shoulder",
    "main.canopy": "name family sides across size slope height_ratio panel_ratio hole_ratio vent area cd_low cd_high cd_measured_low cd_measured_high cd_measured_from rate cloth cloth_mass cloth_strength seam mass",
    "main.lines": "length diameter material rating stretch end mass",
    "main.pack": "density density_most density_from clearance shortening layout beside protector protector_depth below fill line_turns cord_turns device",
    "main.cord": "name layout material rating stretch end length gap width thickness allowance link swivel device anchor nose_anchor bulkhead",
    "main.joint": "friction friction_most friction_from pins pin vent",
    "main.charge": "kind delay pressure tested repeats test_date test_pins test_result backup backup_mass backup_later backup_height",
    "main.make": "sewn cut bolt way colours seam seam_width hem hem_width tape_mass tape_strength thread thread_strength stitch lines at_skirt at_link tension shrink spare cloth_price line_price",
    "drogue.bay": "tube depth shoulder",
    "drogue.canopy": "name family sides across size slope height_ratio panel_ratio hole_ratio vent area cd_low cd_high cd_measured_low cd_measured_high cd_measured_from rate cloth cloth_mass cloth_strength seam mass",
    "drogue.lines": "length diameter material rating stretch end mass",
    "drogue.pack": "density density_most density_from clearance shortening layout beside protector protector_depth below fill line_turns cord_turns",
    "drogue.cord": "name layout material rating stretch end length gap width thickness allowance link swivel anchor nose_anchor bulkhead",
    "drogue.joint": "friction friction_most friction_from pins pin vent",
    "drogue.charge": "kind delay pressure tested repeats test_date test_pins test_result backup backup_mass backup_later",
    "drogue.make": "sewn cut bolt way colours seam seam_width hem hem_width tape_mass tape_strength thread thread_strength stitch lines at_skirt at_link tension shrink spare cloth_price line_price",
    "forward.canopy": "name family sides across size slope height_ratio panel_ratio hole_ratio vent area cd_low cd_high cd_measured_low cd_measured_high cd_measured_from rate cloth cloth_mass cloth_strength seam mass",
    "forward.lines": "length diameter material rating stretch end mass",
    "forward.pack": "density density_most density_from clearance shortening below line_turns cord_turns",
    "forward.cord": "name material rating stretch end length width thickness allowance link swivel anchor",
    "forward.make": "sewn cut bolt way colours seam seam_width hem hem_width tape_mass tape_strength thread thread_strength stitch lines at_skirt at_link tension shrink spare cloth_price line_price",
    "electronics": "units batteries switches volume ports",
    "site": "elevation warmer pressure north east south west",
    "flight": "way apogee main_height fall fall_low fall_high wind exponent forward_speed delay climb slowing wind_from layers",
    "scatter": "mass wind direction release",
    "compare": "tubes sizes",
}

# Choices are written in links and files as they stand here; those of a bay are the same for every bay.
FROZEN_CHOICES = {
    "rig.start": (
        "two bays, 98 mm",
        "one bay, 75 mm",
        "one bay, 38 mm",
        "one bay, 54 mm",
        "two bays, 150 mm",
    ),
    "rig.units": (
        "metric",
        "feet and inches",
    ),
    "rig.bay": (
        "main",
        "drogue",
        "forward",
    ),
    "rocket.main_bay": (
        "forward of the other bay",
        "aft of the other bay",
    ),
    "canopy.family": (
        "flat polygon",
        "flat circular",
        "conical",
        "hemispherical",
        "semi-ellipsoid",
        "cross",
        "annular",
        "measured by me",
    ),
    "canopy.across": (
        "flat to flat",
        "corner to corner",
    ),
    "canopy.cloth": (
        "ripstop nylon 1.1 oz (MIL-C-7020 type I)",
        "nylon twill 1.6 oz (MIL-C-7020 type II)",
        "ripstop nylon 1.6 oz (MIL-C-7020 type III)",
        "low-permeability nylon 1.17 oz (MIL-C-44378 type I)",
        "light nylon 0.88 oz (PIA-C-498 types D, G)",
        "nylon 2.25 oz (MIL-C-7350 type I)",
        "my own cloth",
    ),
    "lines.material": (
        "nylon cord type I (MIL-C-5040)",
        "nylon cord type IA (MIL-C-5040)",
        "nylon cord type II (MIL-C-5040)",
        "nylon cord type III (MIL-C-5040)",
        "nylon cord type IV (MIL-C-5040)",
        "polyethylene cord type IA (PIA-C-1200)",
        "polyethylene cord type IIA (PIA-C-1200)",
        "polyethylene cord type IIIB (PIA-C-1200)",
        "polyethylene cord type IVB (PIA-C-1200)",
        "my own rating",
    ),
    "lines.end": (
        "bowline",
        "figure-eight loop",
        "overhand loop",
        "water knot in webbing",
        "splice",
        "stitched, zigzag",
        "any knot in aramid",
    ),
    "pack.shortening": (
        "back and forth",
        "in half, and again",
    ),
    "pack.layout": (
        "below the canopy",
        "above the canopy",
    ),
    "pack.protector": (
        "blanket",
        "wadding",
        "sleeve",
        "bag",
    ),
    "cord.layout": (
        "nose where the lines meet",
        "nose part-way along",
        "two sections, two legs",
    ),
    "cord.material": (
        "tubular nylon webbing 1/2 in (MIL-W-5625)",
        "tubular nylon webbing 9/16 in (MIL-W-5625)",
        "tubular nylon webbing 3/4 in (MIL-W-5625)",
        "tubular nylon webbing 1 in (MIL-W-5625)",
        "flat nylon webbing type I, 9/16 in (MIL-W-4088)",
        "flat nylon webbing type II, 1 in (MIL-W-4088)",
        "flat nylon webbing type XVII, 1 in (MIL-W-4088)",
        "flat nylon webbing type VI, 1 23/32 in (MIL-W-4088)",
        "flat nylon webbing type VIII, 1 23/32 in (MIL-W-4088)",
        "flat nylon webbing type VII, 1 23/32 in (MIL-W-4088)",
        "flat nylon webbing type XIII, 1 23/32 in (MIL-W-4088)",
        "nylon tape type I (MIL-T-8363)",
        "nylon webbing type III (MIL-T-8363)",
        "nylon webbing type V (MIL-T-8363)",
        "nylon webbing type IV (MIL-T-8363)",
        "polyethylene cord type VA (PIA-C-1200)",
        "polyethylene cord type VIB (PIA-C-1200)",
        "polyethylene cord type VIIB (PIA-C-1200)",
        "polyethylene cord type VIIIB (PIA-C-1200)",
        "nylon cord type III (MIL-C-5040)",
        "nylon cord type IV (MIL-C-5040)",
        "my own rating",
    ),
    "cord.end": (
        "bowline",
        "figure-eight loop",
        "overhand loop",
        "water knot in webbing",
        "splice",
        "stitched, zigzag",
        "any knot in aramid",
    ),
    "joint.pin": (
        "UNC #2-56",
        "UNC #3-48",
        "UNC #4-40",
        "UNC #6-32",
        "UNC #8-32",
        "M2 × 0.4",
        "M2.5 × 0.45",
        "M3 × 0.5",
        "M4 × 0.7",
    ),
    "charge.kind": (
        "own black powder",
        "the motor's own charge",
        "another gas",
        "none",
    ),
    "charge.test_result": (
        "threw everything clear",
        "parted, not thrown clear",
        "did not part",
    ),
    "charge.backup": (
        "no",
        "a second charge",
    ),
    "make.cut": ("gores", "one piece", "panels across"),
    "make.way": ("either way", "one way only", "any way, across too"),
    "make.seam": ("flat felled", "French"),
    "make.hem": ("turned twice", "bound with tape"),
    "make.thread": (
        "nylon thread, size E (V-T-295)",
        "nylon thread, size F (V-T-295)",
        "para-aramid thread, tex 40 (A-A-55220)",
        "para-aramid thread, tex 80 (A-A-55220)",
        "para-aramid thread, tex 120 (A-A-55220)",
        "para-aramid thread, tex 400 (A-A-55220)",
        "para-aramid thread, tex 800 (A-A-55220)",
        "my own thread",
    ),
    "make.sewn": ("bought, or sewn otherwise", "sewn as Make it says"),
    "make.lines": ("sewn on, looped back", "to a V-tab of tape", "over the seam to the apex"),
    "flight.way": (
        "one canopy at the top",
        "drogue, then main from a second bay",
        "two parts apart, each under its own",
        "no drogue: parts fall until the main opens",
        "main held shut until low, from one bay",
        "drogue and main from one bay",
    ),
    "flight.fall": (
        "broadside",
        "tumbling",
        "timed by me",
    ),
    "flight.wind_from": (
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    ),
}


@pytest.mark.parametrize("group", FROZEN)
def test_a_field_is_never_renamed(group: str) -> None:
    assert {f"{group}.{name}" for name in FROZEN[group].split()} <= set(FIELDS)


def test_every_field_is_frozen_from_its_first_release_on() -> None:
    assert set(FIELDS) == {f"{group}.{name}" for group, names in FROZEN.items() for name in names.split()}, (
        "freeze each new field's path in this file"
    )


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if field.choices])
def test_a_choice_is_never_renamed(path: str) -> None:
    field = FIELDS[path]
    frozen = FROZEN_CHOICES[path.removeprefix(f"{field.bay}.") if field.bay else path]
    assert set(frozen) == set(field.choices), "freeze each new choice in this file"


def test_every_frozen_choice_is_of_a_field() -> None:
    assert set(FROZEN_CHOICES) == {
        path.removeprefix(f"{field.bay}.") if field.bay else path for path, field in FIELDS.items() if field.choices
    }


@settings(derandomize=True, max_examples=60, deadline=None)
@given(texts=sound_texts())
def test_a_link_is_flat_json_with_only_what_was_typed(texts: dict[str, str]) -> None:
    loaded = load(json.dumps(texts))
    assert loaded == texts
    rig = parse(loaded)
    assert rig.texts == STARTS[texts.get("rig.start", DEFAULTS["rig.start"])] | texts
    assert rig.assumed == set(FIELDS) - set(texts)


def test_the_link_of_the_demo_rig_is_empty() -> None:
    assert load("{}") == {}
    assert parse({}).texts == DEFAULTS


# --- starting rigs, and where a value comes from ----------------------------------------------------


@every_start
def test_a_starting_rig_is_whole_and_sound(start: str) -> None:
    rig = parse({"rig.start": start})
    assert dict(rig.texts) == STARTS[start]
    assert list(STARTS[start]) == list(FIELDS)
    assert STARTS[start]["rig.start"] == start
    assert rig.assumed == set(FIELDS) - {"rig.start"}


def test_the_first_starting_rig_is_the_one_where_none_is_named() -> None:
    assert next(iter(STARTS.values())) == DEFAULTS == completed({})
    assert FIELDS["rig.start"].choices == tuple(STARTS)


def test_a_starting_rig_that_is_not_there_is_refused() -> None:
    (fault,) = faults_of({"rig.start": "one bay, 75"})
    assert fault.field == "rig.start"
    assert fault.readings == ("one bay, 75 mm",)


@every_start
@pytest.mark.parametrize("path", sorted(set(FIELDS) - {"rig.start"}))
def test_a_typed_text_counts_as_typed_even_where_it_is_the_starting_rigs(start: str, path: str) -> None:
    texts = {"rig.start": start, path: STARTS[start][path]}
    rig = parse(texts)
    assert rig.texts == STARTS[start]
    assert {one for one in FIELDS if rig.origin(one) == "typed"} == set(texts)
    assert {one for one in FIELDS if rig.origin(one) == "start"} == set(FIELDS) - set(texts)


def test_a_measured_value_is_one_that_was_typed_and_is_said_to_be_measured() -> None:
    said = {"main.bay.tube": "98 mm", "rocket.mass": "5.6 kg", "rig.measured": "main.bay.tube drogue.bay.tube"}
    rig = parse(said)
    assert rig.measured == {"main.bay.tube", "drogue.bay.tube"}
    assert rig.origin("main.bay.tube") == "measured"
    assert rig.origin("rocket.mass") == "typed"
    assert rig.origin("drogue.bay.tube") == "start"  # nobody can have measured what was not said
    assert rig.origin("rocket.length") == "start"


@settings(derandomize=True, max_examples=40, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(texts=sound_texts(), chosen=st.sets(st.sampled_from(sorted(FIELDS)), max_size=12))
def test_where_a_value_comes_from_survives_file_and_link(texts: dict[str, str], chosen: set[str]) -> None:
    full = completed(texts)
    said = texts | {path: full[path] for path in REQUIRED} | {"rig.measured": " ".join(sorted(chosen))}
    first = parse(said)
    for again in (load(to_toml(said)), load(to_json(said)), load(json.dumps(said))):
        assert again == said
        rig = parse(again)
        assert rig == first
        assert {path: rig.origin(path) for path in FIELDS} == {path: first.origin(path) for path in FIELDS}
    typed = set(said)
    assert {path for path in FIELDS if first.origin(path) == "measured"} == typed & chosen
    assert {path for path in FIELDS if first.origin(path) == "typed"} == typed - chosen


# --- declarations are consistent -------------------------------------------------------------------


@pytest.mark.parametrize("field", FIELDS.values(), ids=lambda field: field.path)
def test_a_declaration_is_whole(field: Field) -> None:
    assert field.group in GROUPS
    assert field.path.rpartition(".")[0] == field.group
    assert field.label
    assert field.help.endswith(".")
    assert (field.kind is not None) == (field.high > field.low)
    if field.choices:
        assert field.default in field.choices
    for path, values in field.when:
        assert set(values) <= set(FIELDS[path].choices)
        assert values
    assert all(needed(field.path).values()), "it never matters"
    assert field.optional or field.default
    assert field.bay == (field.path.partition(".")[0] if field.path.count(".") == 2 else "")


def test_labels_are_unique() -> None:
    assert len({field.full for field in FIELDS.values()}) == len(FIELDS)


def test_the_fields_of_all_bays_are_declared_alike() -> None:
    """Declared once: label, help, kind, limits and choices of a bay's field are the same in every bay that has it."""
    for path, field in FIELDS.items():
        if field.bay:
            main = FIELDS[f"main.{path.partition('.')[2]}"]
            alike = replace(main, path=path, default=field.default, when=field.when, bay=field.bay)
            assert field == alike
            conditions = [(one, values) for one, values in field.when if one != "flight.way"]
            assert [one.partition(".")[0] for one, _ in conditions] == [field.bay] * len(conditions)


@pytest.fixture
def fields_read_anew() -> Iterator[None]:
    """What is remembered about the fields is forgotten, before other fields and after them."""
    for remembered in (parsing._decisive, parsing._relevant):
        remembered.cache_clear()
    yield
    for remembered in (parsing._decisive, parsing._relevant):
        remembered.cache_clear()


@pytest.mark.usefixtures("fields_read_anew")
def test_a_further_bay_is_a_name_and_a_way_down(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fields, reading, contradictions, folding and stack of a third bay follow from its declaration."""
    way = Way("three bays", ("drogue", "third", "main"), ("drogue", "third", "main"), low=("main", "third"))
    monkeypatch.setattr(ways, "KEYS", (*KEYS, "third"))
    monkeypatch.setattr(rig_field, "KEYS", (*KEYS, "third"))
    monkeypatch.setitem(WAYS, way.name, way)
    for field in stamp(BAY_FIELDS):
        monkeypatch.setitem(FIELDS, field.path, field)
        monkeypatch.setitem(DEFAULTS, field.path, field.default)
        assert field.bay != "third" or field.when[0] == ("flight.way", (way.name,))
    missing = [one.path for one in BAY_FIELDS if f"third.{one.path}" not in FIELDS]
    assert missing == [one.path for one in BAY_FIELDS if one.belongs == "held"]
    choices = (*FIELDS["flight.way"].choices, way.name)
    monkeypatch.setitem(FIELDS, "flight.way", replace(FIELDS["flight.way"], choices=choices))
    said = {"flight.way": way.name, "third.canopy.size": "1.2 m", "third.bay.depth": "700 mm"}
    assert load(to_json(DEFAULTS | said)) == DEFAULTS | said
    rig = parse(said)
    assert rig.of("third").number("canopy.size") == 1.2
    assert rig.of("third").number("lines.length") == rig.of("main").number("lines.length")
    one = worked(said)
    assert list(one.bays) == ["drogue", "third", "main"]
    assert one.bays["third"].depth == pytest.approx(0.7)
    assert one.folded("third").bundle.length > 0
    assert [layer.item.owner for layer in one.bays["third"].stack.layers if layer.item.kind == "bundle"] == ["third"]
    (fault,) = faults_of(said | {"third.bay.shoulder": "800 mm"})
    assert fault.field == "third.bay.shoulder"
    (fault,) = faults_of(said | {"third.pack.device": "80 mm"})
    assert fault.field == ""


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
    whole = completed(texts)
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
    ("main.canopy.sides", "8", "8"),
    ("drogue.canopy.sides", "12", "12"),
    ("flight.exponent", "0.2", "0.2"),
    ("flight.exponent", "2e-1", "0.2"),
    ("rocket.mass", "2.2", "2.2"),
    ("site.elevation", "-3", "-3"),
])  # fmt: skip
def test_plain_numbers_in_files_are_texts(path: str, literal: str, text: str) -> None:
    assert load(toml_with(path, literal))[path] == text
    assert load(json.dumps(tables_of(DEFAULTS | {path: float(literal)})))[path] in (text, f"{text}.0")


def test_a_plain_number_that_needs_a_unit_is_refused_with_both_offers() -> None:
    (fault,) = faults_of(load(toml_with("rocket.mass", "2.2")))
    assert (fault.field, fault.given, fault.readings) == ("rocket.mass", "2.2", ("2.2 kg", "2.2 lb"))


@pytest.mark.parametrize("literal", ["true", "false", "[1]", '["75 mm"]', "2020-01-01", "{}", "[]"])
def test_a_value_that_is_neither_text_nor_number_is_refused(literal: str) -> None:
    (fault,) = load_faults(toml_with("drogue.bay.tube", literal))
    assert fault.field == "drogue.bay.tube"
    assert fault.label == FIELDS["drogue.bay.tube"].full == "Tube inner diameter (drogue)"
    assert fault.allowed == "a text or a number"
    assert FIELDS["drogue.bay.tube"].default in fault.message


@pytest.mark.parametrize("literal", ["nan", "inf", "-inf"])
def test_a_number_that_is_none_is_refused(literal: str) -> None:
    (fault,) = faults_of(load(toml_with("flight.exponent", literal)))
    assert fault.field == "flight.exponent"


@pytest.mark.parametrize("text", ['{"flight.exponent": NaN}', '{"flight.exponent": 1e999}', '{"rocket.mass": -Infinity}'])
def test_a_number_that_is_none_is_refused_in_json_too(text: str) -> None:
    assert len(faults_of(load(text))) == 1


@pytest.mark.parametrize(("typed", "meant"), [
    ("main.bay.tub", "main.bay.tube"), ("rocket.Mass", "rocket.mass"), ("main.canopy.side", "main.canopy.sides"),
    ("drogue.cord.lenght", "drogue.cord.length"), ("site.elevaton", "site.elevation"), ("rokcet.mass", "rocket.mass"),
    ("forward.canopy.siez", "forward.canopy.size"), ("main.canpy.vent", "main.canopy.vent"),
])  # fmt: skip
def test_an_unknown_key_names_the_nearest(typed: str, meant: str) -> None:
    in_file = load_faults(json.dumps(tables_of(DEFAULTS | {typed: "1 m"})))
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
    said = {p: t for p, t in only_needed(DEFAULTS | made_relevant(path)).items() if p != "rig.start"}
    assert load(to_toml(said)) == said
    (fault,) = load_faults(to_toml({p: t for p, t in said.items() if p != path}))
    assert fault.field == path
    assert path in fault.message
    assert FIELDS[path].full in fault.message
    assert tomllib.loads(_example(fault.allowed)) == tables_of({path: DEFAULTS[path]})


@pytest.mark.parametrize("start", STARTS)
def test_a_file_that_names_a_starting_rig_says_all_with_it(start: str) -> None:
    """And what it does not say itself is not taken for the reader's."""
    said = {"rig.start": start, "rocket.mass": "15 kg"}
    assert load(to_toml(said)) == load(to_json(said)) == said
    rig = parse(load(to_toml(said)))
    assert rig.texts == STARTS[start] | said
    assert rig.assumed == set(FIELDS) - set(said)


def _example(allowed: str) -> str:
    """`tube = "98 mm" under [main.bay], for example` as the lines it tells to write."""
    line, group = allowed.removesuffix(", for example").split(" under ")
    return f"{group}\n{line}"


def required_of(way: str) -> set[str]:
    return {path for path in REQUIRED if is_relevant(FIELDS[path], DEFAULTS | {"flight.way": way})}


@pytest.mark.parametrize("way", WAYS)
def test_all_that_is_missing_is_told_at_once_and_nothing_that_this_way_down_has_no_use_for(way: str) -> None:
    told = {fault.field for fault in load_faults(to_toml({"flight.way": way}))}
    assert told == required_of(way)
    bays, canopies = WAYS[way].bays, WAYS[way].canopies
    assert {path.split(".")[0] for path in told if path.endswith(".bay.tube")} == set(bays)
    assert {path.split(".")[0] for path in told if path.endswith(".canopy.size")} == set(canopies)
    assert {path.split(".")[0] for path in told if path.endswith(".cord.length")} == {*bays, *canopies}


def test_what_does_not_matter_need_not_be_said() -> None:
    left = {p: t for p, t in DEFAULTS.items() if p != "main.canopy.size"} | {"main.canopy.family": MEASURED}
    assert load(to_toml(left)) == left


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if not field.required])
def test_what_need_not_be_said_takes_its_default(path: str) -> None:
    left = {p: t for p, t in DEFAULTS.items() if p != path}
    rig = parse(load(to_toml(left)))
    assert rig.texts == DEFAULTS
    assert rig.assumed == {path}


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
    f"[rocket.mass.{'.'.join('a' * 30_000)}]",
    f"[main.bay.tube.{'.'.join('a' * 3000)}]",
    f"{'.'.join('a' * 3000)} = 1",
    '{"main": {"bay": {"tube": {"inner": "98 mm"}}}}',
    '{"main": {"bay": {"tube": {}}}}',
    '{"main": {"bay": "98 mm"}}',
    '{"main": "98 mm"}',
])  # fmt: skip
def test_nesting_that_no_rig_has_is_refused_with_a_reason(text: str) -> None:
    for fault in load_faults(text):
        assert 20 < len(fault.message) < 1000
        assert len(fault.given) <= 2 * LONGEST


def test_thousands_of_unknown_names_are_refused_quickly() -> None:
    """Near names are looked for a few times only: that is slow, and a file can be full of names; nobody reads two thousand faults."""
    names = [f"{'main.canopy.siz'}{i}" for i in range(2000)]
    many = dict.fromkeys(names, "1")
    text = json.dumps(many)
    assert len(text) < LARGEST_FILE
    started = time.perf_counter()
    told = load_faults(text)
    assert time.perf_counter() - started < 1
    assert [fault.given for fault in told] == [*names[:MOST_UNKNOWN], str(2000 - MOST_UNKNOWN)]
    assert sum(bool(fault.readings) for fault in told) == MOST_UNKNOWN == 20
    started = time.perf_counter()
    assert len(faults_of(many)) == MOST_UNKNOWN + 1
    assert time.perf_counter() - started < 1


def test_an_empty_file_is_no_rig() -> None:
    assert {fault.field for fault in load_faults("")} == required_of(DEFAULTS["flight.way"])


def test_a_file_too_large_is_refused_before_it_is_read() -> None:
    whole = to_toml(DEFAULTS)
    just = whole + "#" * (LARGEST_FILE - len(whole))
    assert load(just) == DEFAULTS
    (fault,) = load_faults(just + "#")
    assert str(LARGEST_FILE) in fault.message


def test_all_faults_of_a_file_at_once() -> None:
    text = '{"rocket": {"mass": true, "length": [1], "speed": "1"}, "nose": 5, "main.pack.fill": null}'
    assert {fault.field or fault.given for fault in load_faults(text)} == {
        "rocket.mass", "rocket.length", "rocket.speed", "nose", "main.pack.fill"}  # fmt: skip


# --- faults of rigs ---------------------------------------------------------------------------------


def test_all_faults_of_a_rig_at_once() -> None:
    said = {"rocket.mass": "heavy", "drogue.bay.tube": "75", "main.canopy.sides": "8.5", "rig.units": "imperial",
            "rig.name": "", "flight.wind": "99 m/s", "main.canopy.mas": "1 kg", "flight.way": "upwards"}  # fmt: skip
    faults = faults_of(said | {"flight.way": TWO_BAYS})
    assert {fault.field or fault.given for fault in faults} == set(said) - {"flight.way"}
    for fault in faults:
        assert fault.given in (*said.values(), "main.canopy.mas")
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
    (fault,) = faults_of({"rig.name": name})
    assert fault.field == "rig.name"


@pytest.mark.parametrize("name", ["x", "x" * LONGEST, "Möwe 2 – für Ägypten", "海鷗", "<img onerror>", "'\"&;"])
def test_any_printable_name_is_taken(name: str) -> None:
    assert parse({"rig.name": name}).text("rig.name") == name


BASE = {"flight.way": ONE_CANOPY, "rocket.mass": "2.2 kg", "nose.mass": "320 g", "rocket.length": "1.7 m", "nose.length": "380 mm",
        "main.bay.depth": "500 mm", "main.bay.shoulder": "75 mm", "main.bay.tube": "75 mm", "main.canopy.sides": "8",
        "main.lines.length": "1.4 m", "main.lines.mass": "2.8 g/m", "main.cord.length": "8 m", "middle.mass": "1 kg",
        "middle.length": "600 mm", "forward.lines.mass": "2.8 g/m", "forward.lines.length": "1.4 m",
        "flight.apogee": "300 m"}  # fmt: skip
ALONG, CORNERS, TIMED = "nose part-way along", "corner to corner", "timed by me"
CONTRADICTIONS = [
    ({"nose.mass": "2.18 kg"}, "nose.mass"),  # a hundredth at least is left for the tail
    ({"nose.length": "1.69 m"}, "nose.length"),
    ({"flight.way": TWO_BAYS, "middle.mass": "1.86 kg"}, "middle.mass"),
    ({"flight.way": TWO_BAYS, "middle.length": "1.31 m"}, "middle.length"),
    ({"nose.mass": "2.2 kg"}, "nose.mass"),
    ({"nose.mass": "5 kg"}, "nose.mass"),
    ({"nose.mass": "5 kg", "flight.way": TWO_PARTS}, "nose.mass"),
    ({"rocket.mass": "320 g"}, "nose.mass"),
    ({"nose.length": "1.7 m"}, "nose.length"),
    ({"flight.way": TWO_BAYS, "middle.mass": "1.881 kg"}, "middle.mass"),
    ({"flight.way": NO_DROGUE, "middle.mass": "5 kg"}, "middle.mass"),
    ({"flight.way": TWO_BAYS, "middle.length": "1.32 m"}, "middle.length"),
    ({"bay.shoulder": "500 mm"}, "bay.shoulder"),
    ({"flight.way": NO_DROGUE, "drogue.bay.depth": "300 mm", "drogue.bay.shoulder": "300 mm"}, "drogue.bay.shoulder"),
    ({"canopy.mass": "1.881 kg"}, "rocket.mass"),
    ({"flight.way": TWO_BAYS, "canopy.mass": "0.5 kg", "drogue.canopy.mass": "0.381 kg"}, "rocket.mass"),
    ({"flight.way": TWO_PARTS, "canopy.mass": "1.881 kg"}, "rocket.mass"),
    ({"flight.way": TWO_PARTS, "forward.canopy.mass": "321 g"}, "nose.mass"),
    ({"canopy.mass": "31.3 g"}, "canopy.mass"),  # 8 lines x 1.4 m x 2.8 g/m is 31.36 g
    ({"flight.way": TWO_PARTS, "forward.canopy.mass": "31.3 g"}, "forward.canopy.mass"),
    ({"canopy.family": "cross", "canopy.sides": "9"}, "canopy.sides"),
    ({"canopy.family": "cross", "canopy.sides": "4"}, "canopy.sides"),
    ({"canopy.family": "cross", "canopy.sides": "10"}, "canopy.sides"),
    ({"canopy.across": CORNERS, "canopy.sides": "9"}, "canopy.across"),
    ({"canopy.family": MEASURED, "canopy.cd_low": "0.81"}, "canopy.cd_low"),
    ({"flight.way": TWO_BAYS, "drogue.canopy.family": MEASURED, "drogue.canopy.cd_low": "0.81"}, "drogue.canopy.cd_low"),
    ({"pack.density_most": "0.2 g/cm3"}, "pack.density_most"),
    ({"pack.density": "0.2 g/cm3", "pack.density_most": "0.19 g/cm3"}, "pack.density_most"),
    ({"joint.friction": "30 N", "joint.friction_most": "29 N"}, "joint.friction_most"),
    ({"canopy.cd_measured_low": "0.7"}, "canopy.cd_measured_low"),
    ({"canopy.cd_measured_high": "0.7"}, "canopy.cd_measured_low"),
    ({"canopy.cd_measured_low": "0.8", "canopy.cd_measured_high": "0.79"}, "canopy.cd_measured_low"),
    ({"cord.layout": ALONG, "cord.gap": "8 m"}, "cord.gap"),
    ({"site.elevation": "5000 m", "flight.apogee": "15001 m"}, "flight.apogee"),
    ({"flight.way": TWO_BAYS, "flight.main_height": "300 m"}, "flight.main_height"),
    ({"flight.way": NO_DROGUE, "flight.fall": TIMED, "flight.fall_low": "41 m/s"}, "flight.fall_low"),
    ({"pack.beside": "68 mm"}, "pack.beside"),
    ({"flight.layers": "10 m 3 m/s"}, "flight.layers"),
    ({"flight.layers": "10 m 3 m/s 270; 10 m 4 m/s 270"}, "flight.layers"),
    ({"flight.layers": "10 m 3 kg 270"}, "flight.layers"),
    ({"rig.measured": "rocket.mass main.canopy.siz"}, "rig.measured"),
]
AGREE = [
    {"nose.mass": "2.17 kg"},
    {"nose.length": "1.68 m"},
    {"flight.way": TWO_BAYS, "middle.mass": "1.85 kg"},
    {"flight.way": TWO_BAYS, "middle.length": "1.3 m"},
    {"middle.mass": "5 kg", "middle.length": "10 m"},  # one joint: there is no middle section
    {"bay.shoulder": "499 mm"},
    {"drogue.bay.depth": "300 mm", "drogue.bay.shoulder": "300 mm"},  # there is no such bay
    {"canopy.mass": "1.87 kg"},
    {"flight.way": TWO_BAYS, "canopy.mass": "0.5 kg", "drogue.canopy.mass": "0.379 kg"},
    {"flight.way": TWO_PARTS, "canopy.mass": "1.87 kg", "forward.canopy.mass": "319 g"},
    {"drogue.canopy.mass": "5 kg", "forward.canopy.mass": "5 kg"},
    {"canopy.mass": "31.4 g"},
    {"canopy.family": "cross", "canopy.sides": "8"},
    {"canopy.family": "cross", "canopy.sides": "12"},
    {"canopy.sides": "9"},
    {"canopy.across": CORNERS},
    {"canopy.across": CORNERS, "canopy.sides": "9", "canopy.family": "flat circular"},
    {"canopy.family": MEASURED, "canopy.cd_low": "0.8"},
    {"canopy.cd_measured_low": "0.8", "canopy.cd_measured_high": "0.8"},
    {"canopy.family": MEASURED, "canopy.cd_measured_low": "0.8"},  # there it does not matter
    {"pack.density": "0.2 g/cm3", "pack.density_most": "0.2 g/cm3"},
    {"joint.friction": "30 N", "joint.friction_most": "30 N"},
    {"cord.layout": ALONG, "cord.gap": "7.9 m"},
    {"cord.gap": "9 m"},
    {"cord.layout": "two sections, two legs", "cord.gap": "9 m"},
    {"site.elevation": "5000 m", "flight.apogee": "15000 m"},
    {"flight.way": TWO_BAYS, "flight.main_height": "299 m"},
    {"flight.main_height": "400 m"},
    {"flight.way": NO_DROGUE, "flight.fall": TIMED, "flight.fall_low": "40 m/s"},
    {"flight.way": TWO_PARTS, "nose.mass": "2.1 kg"},
    {"pack.beside": "67 mm"},
    {"flight.layers": "10 m 3 m/s 270; 1000 ft 20 mph 290"},
    {"flight.layers": "10 m 3 m/s 270\n1000 ft 20 mph 290"},
    {"rig.measured": "rocket.mass  main.canopy.size\nsite.north"},
]


@pytest.mark.parametrize(("changes", "path"), CONTRADICTIONS)
def test_what_cannot_be_true_together_is_refused(changes: dict[str, str], path: str) -> None:
    texts = BASE | full_paths(changes)
    (fault,) = faults_of(texts)
    assert fault.field == full_path(path)
    assert fault.label == FIELDS[fault.field].full
    assert fault.message.startswith(fault.label)
    assert fault.allowed
    assert fault.given == (DEFAULTS | texts)[fault.field]


@pytest.mark.parametrize("changes", AGREE)
def test_what_can_just_be_true_together_is_taken(changes: dict[str, str]) -> None:
    assert faults_of(BASE | full_paths(changes)) == ()


def test_every_rule_is_broken_here() -> None:
    """A contradiction that is added to the table must be added above."""
    told = [fault.message for changes, _ in CONTRADICTIONS for fault in faults_of(BASE | full_paths(changes))]
    assert [rule.reason for rule in (*RULES, *BAY_RULES) if not any(rule.reason in message for message in told)] == []


def test_a_rule_of_a_bay_holds_in_every_bay() -> None:
    """Each is stamped for every bay, canopy or cord that a way down has, and nowhere else."""
    for way in WAYS.values():
        for key in KEYS:
            said = {"flight.way": way.name, "rocket.mass": "50 kg", f"{key}.canopy.mass": "1 g"}
            assert [fault.field for fault in faults_of(said)] == [f"{key}.canopy.mass"] * (key in way.canopies)
            if key != FORWARD:
                said = {"flight.way": way.name, f"{key}.pack.beside": "90 mm", f"{key}.bay.tube": "98 mm"}
                assert [fault.field for fault in faults_of(said)] == [f"{key}.pack.beside"] * (key in way.bays)


def test_all_contradictions_at_once() -> None:
    faults = faults_of(BASE | full_paths({"nose.mass": "3 kg", "nose.length": "2 m", "bay.shoulder": "0.6 m"}))
    assert [fault.field for fault in faults] == ["nose.mass", "nose.length", "main.bay.shoulder"]


@settings(derandomize=True, max_examples=60, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(texts=any_texts(), rubbish=ANY)
def test_what_does_not_matter_is_not_checked_but_kept(texts: dict[str, str], rubbish: str) -> None:
    sound = healed(texts)
    full = completed(sound)
    idle = [path for path, field in FIELDS.items() if not is_relevant(field, full)]
    assert idle  # there is no family that needs everything
    rig, before = parse(sound | dict.fromkeys(idle, rubbish)), parse(sound)
    for path in idle:
        assert rig.texts[path] == rubbish
        assert rig.values[path] is None
    for path in set(FIELDS) - set(idle):
        assert rig.values[path] == before.values[path]


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if field.when])
def test_what_matters_is_checked(path: str) -> None:
    """Each field that matters only sometimes: not checked while it does not, checked while it does."""
    base = made_relevant(path)
    for other, values in FIELDS[path].when:
        for choice in FIELDS[other].choices:
            found = [fault.field for fault in faults_of(base | {path: "\0", other: choice})]
            assert found == ([path] if choice in values else []), (other, choice)


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if field.optional])
def test_what_may_be_empty(path: str) -> None:
    rig = parse(made_relevant(path) | {path: "  "})
    assert rig.values[path] is None or FIELDS[path].kind is None


@pytest.mark.parametrize("path", [path for path, field in FIELDS.items() if not field.optional and not field.choices])
def test_what_may_not_be_empty(path: str) -> None:
    fault = next(fault for fault in faults_of(made_relevant(path) | {path: " "}) if fault.field == path)
    assert fault.label == FIELDS[path].full



def test_a_tail_that_is_only_what_rounding_left_is_refused() -> None:
    """0.32 + 1.88 is not quite 2.2 to a computer: no rocket has a tail of nothing."""
    faults = faults_of({"rocket.mass": "2.2 kg", "nose.mass": "320 g", "middle.mass": "1.88 kg"})
    assert [fault.field for fault in faults] == ["middle.mass"]
    assert faults_of({"rocket.mass": "2.2 kg", "nose.mass": "320 g", "middle.mass": "1.85 kg"}) == ()


def test_a_link_with_a_mark_before_it_is_still_a_link() -> None:
    assert load('\ufeff {"rocket.mass": "3 kg"}') == {"rocket.mass": "3 kg"}
