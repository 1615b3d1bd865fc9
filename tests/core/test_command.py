"""The command at a terminal: what it prints, what it exits with, and that its options are the declarations."""

import argparse
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from loftbook import VERSION
from loftbook.answer import Calculator
from loftbook.calculators import CALCULATORS
from loftbook.faces.command import main, parser
from loftbook.plan import data, parted, plan
from loftbook.rig.fields import DEFAULTS, FIELDS, ONE_BAY_75, STARTS
from loftbook.rig.files import LARGEST_FILE, load, to_json, to_toml
from loftbook.rig.parsing import is_relevant, parse
from loftbook.rig.ways import HELD, NO_DROGUE, ONE_CANOPY, TWO_BAYS, TWO_PARTS, WAYS

EACH = [name for name, calculator in CALCULATORS.items() if calculator.each != "rig"]


@pytest.fixture
def rig_file(tmp_path: Path):
    """Writes a rig file: the first starting rig with changes, in full, or only what was changed."""

    def write(changes: dict[str, str] | None = None, name: str = "rig.toml", *, full: bool = True) -> str:
        texts = (DEFAULTS if full else {"rig.start": DEFAULTS["rig.start"]}) | (changes or {})
        path = tmp_path / name
        path.write_text(to_json(texts) if name.endswith("json") else to_toml(texts), encoding="utf-8")
        return str(path)

    return write


def options_of(act: str, only: str | None = None) -> dict[str, argparse.Action]:
    """An own reading of argparse's tables: option -> action."""
    acts = next(action for action in parser(only)._actions if isinstance(action, argparse._SubParsersAction))
    return {option: action for action in acts.choices[act]._actions for option in action.option_strings}


# --- exit status ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("changes", "status"), [
    ({}, 0),
    ({"main.bay.shoulder": "60 mm"}, 0),  # a warning is no failure
    ({"main.pack.cord_turns": "1"}, 1),
    ({"drogue.pack.cord_turns": "1"}, 1),
    ({"forward.pack.cord_turns": "1"}, 0),  # this rig has no such canopy
    ({"flight.wind": "29 m/s"}, 1),
    ({"main.bay.tube": "38 mm"}, 1),
    ({"drogue.bay.tube": "20 mm"}, 1),
    ({"main.bay.tube": "38"}, 2),
    ({"drogue.bay.tube": "5 m"}, 2),
    ({"nose.mass": "30 kg"}, 2),
])  # fmt: skip
def test_exit_status_of_a_plan(changes: dict[str, str], status: int, rig_file, capsys) -> None:
    assert main(["plan", rig_file(changes)]) == status
    assert main(["plan", rig_file(changes), "--json"]) == status
    told = capsys.readouterr()
    assert bool(told.err) is (status == 2)
    if status == 2:
        assert told.out == ""
        assert next(iter(changes)) in told.err


@pytest.mark.parametrize("start", STARTS)
def test_a_plan_without_a_file_is_that_of_a_starting_rig(start: str, capsys) -> None:
    assert main(["plan", "--rig", start]) == 0
    assert capsys.readouterr().out.startswith(STARTS[start]["rig.name"] + "\n")
    main(["plan", "--rig", start, "--json"])
    named = capsys.readouterr().out
    assert json.loads(named) == json.loads(json.dumps(data(plan({"rig.start": start}))))
    if start == next(iter(STARTS)):
        main(["plan", "--json"])
        assert capsys.readouterr().out == named


@pytest.mark.parametrize("asked", [[], *(["--rig", start] for start in STARTS)])
def test_a_starting_rig_s_ground_test_is_nobody_s(asked: list[str], capsys) -> None:
    """Whoever types nothing is told to load nothing, and a test stands for no bay but the one it was made in."""
    main(["packing", *asked])
    assert not re.search(r"Load \d", capsys.readouterr().out)
    main(["separation", "--bay", "main", "--main.bay.tube", "80 mm"])
    assert "No test of yours is entered" in capsys.readouterr().out


@pytest.mark.parametrize(("arguments", "status"), [
    (["canopy"], 0),
    (["canopy", "--rocket.mass", "5 kg"], 0),
    (["canopy", "--rig", ONE_BAY_75], 0),
    (["canopy", "--rocket.mass", "heavy"], 2),
    (["folding", "--main.pack.cord_turns", "1"], 1),
    (["folding", "--drogue.pack.cord_turns", "1"], 1),  # the worst of both
    (["folding", "--drogue.pack.cord_turns", "1", "--bay", "drogue"], 1),
    (["folding", "--drogue.pack.cord_turns", "1", "--bay", "main"], 0),
    (["folding", "--drogue.pack.cord_turns", "1", "--json"], 1),
    (["cord", "--main.cord.length", "1 m"], 1),
    (["cord", "--main.cord.length", "1 m", "--bay", "drogue"], 0),
    (["cord"], 0),
    (["descent", "--flight.wind", "29 m/s"], 1),
    (["folding", "--main.bay.tube", "38 mm"], 1),
    (["folding", "--bay", "forward"], 2),
    (["demo"], 0),
])  # fmt: skip
def test_exit_status_of_one_calculator(arguments: list[str], status: int, capsys) -> None:
    assert main(arguments) == status


@pytest.mark.parametrize("arguments", [
    [], ["nonsense"], ["canopy", "--no.such", "1"], ["cord", "--flight.wind", "1 m/s"], ["plan", "--rig", "no such"],
    ["demo", "--rig", "no such"], ["demo", "rig.toml"], ["folding", "--bay", "middle"], ["descent", "--bay", "main"],
    ["plan", "rig.toml", "--rig", ONE_BAY_75], ["plan", "--js"], ["canopy", "--rocket.m", "2 kg"], ["folding", "--ba", "main"],
])  # fmt: skip
def test_a_call_that_makes_no_sense_is_refused(arguments: list[str], capsys) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == 2
    assert "usage" in capsys.readouterr().err


@pytest.mark.parametrize(("arguments", "there"), [
    (["plan", "--rig", "no such"], list(STARTS)),
    (["demo", "--rig", "no such"], list(STARTS)),
    (["nonsense"], ["plan", "demo", *CALCULATORS]),
    (["folding", "--bay", "middle"], ["main", "drogue", "forward"]),
])  # fmt: skip
def test_an_unknown_name_is_told_what_there_is(arguments: list[str], there: list[str], capsys) -> None:
    with pytest.raises(SystemExit):
        main(arguments)
    told = capsys.readouterr().err
    for name in there:
        assert name in told


def test_a_bay_that_this_rig_has_not_is_told_what_there_is(capsys) -> None:
    assert main(["folding", "--bay", "forward"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("rig: ")
    assert "drogue, main" in told.err


def test_a_file_that_is_not_there_or_no_text_or_too_large_is_refused(tmp_path: Path, capsys) -> None:
    (tmp_path / "bytes").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "large").write_bytes(b"#" * (4 * LARGEST_FILE + 1))
    (tmp_path / "larger than a rig").write_bytes(b"#" * (LARGEST_FILE + 1))
    for name in ("missing", "bytes", "large", "larger than a rig", "."):
        assert main(["plan", str(tmp_path / name)]) == 2
        told = capsys.readouterr()
        assert told.out == ""
        assert told.err.startswith("rig: ")
        assert "Traceback" not in told.err


def test_all_faults_are_told_each_on_its_line(rig_file, capsys) -> None:
    assert main(["plan", rig_file({"rocket.mass": "x", "drogue.bay.tube": "75", "flight.wind": "99 m/s"})]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert [line.split(":")[0] for line in lines] == ["rocket.mass", "drogue.bay.tube", "flight.wind"]
    assert "75 mm" in lines[1]
    assert "75 in" in lines[1]


# --- what is printed ----------------------------------------------------------------------------------


@pytest.mark.parametrize("changes", [
    {}, {"main.bay.tube": "38 mm"}, {"flight.way": TWO_PARTS}, {"rig.units": "feet and inches", "main.canopy.family": "cross"},
])  # fmt: skip
@pytest.mark.parametrize("name", ["rig.toml", "rig.json"])
def test_json_is_the_data_of_the_plan(changes: dict[str, str], name: str, rig_file, capsys) -> None:
    main(["plan", rig_file(changes, name), "--json"])
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(data(plan(DEFAULTS | changes))))


@pytest.mark.parametrize("name", [name for name, calculator in CALCULATORS.items() if calculator.in_plan])
def test_json_of_one_calculator_is_its_part_of_the_plan(name: str, rig_file, capsys) -> None:
    """By key where it is about canopies, bays or cords; except that alone it draws ten times as many scattered landings."""
    changes = {"main.bay.tube": "124 mm", "main.canopy.sides": "12"}
    main([name, rig_file(changes), "--json"])
    told, results = json.loads(capsys.readouterr().out), json.loads(json.dumps(data(plan(DEFAULTS | changes))["results"]))
    parts = {parted(answer)[0]: outputs for answer, outputs in results.items() if parted(answer)[1] == name}
    if name == "landing":
        assert set(told) == set(parts[""])
    else:
        assert told == (parts if name in EACH else parts[""])


@pytest.mark.parametrize("name", EACH)
def test_one_bay_is_told_by_itself_and_all_of_them_in_the_order_of_opening(name: str, capsys) -> None:
    main([name, "--json"])
    everything = json.loads(capsys.readouterr().out)
    assert list(everything) == list(CALCULATORS[name].keys(WAYS[TWO_BAYS])) == ["drogue", "main"]
    main([name])
    both = capsys.readouterr().out
    for key in everything:
        main([name, "--bay", key, "--json"])
        assert json.loads(capsys.readouterr().out) == {key: everything[key]}
        main([name, "--bay", key])
        one = capsys.readouterr().out
        heading = f"{CALCULATORS[name].title}: {key}"
        assert heading in one.splitlines()
        assert heading in both.splitlines()
        assert one.partition(heading)[2].strip() in both


@pytest.mark.parametrize("start", STARTS)
def test_the_demo_is_a_starting_rig_as_a_file_without_what_it_has_not(start: str, capsys) -> None:
    """As it stands it says nothing but where it begins; with its comments opened, all that matters."""
    assert main(["demo", "--rig", start]) == 0
    told = capsys.readouterr().out
    assert load(told) == {"rig.start": start}
    opened = load("\n".join(row.removeprefix("# ") for row in told.splitlines()[1:]))
    assert opened == {path: text for path, text in STARTS[start].items() if is_relevant(FIELDS[path], STARTS[start])}
    assert parse(opened).texts == parse(load(told)).texts == STARTS[start]
    absent = {"forward", *(["drogue"] if start == ONE_BAY_75 else [])}
    assert not [path for path in opened if path.split(".")[0] in absent]


def test_the_demo_is_the_first_starting_rig_with_two_bays(capsys) -> None:
    main(["demo"])
    first = capsys.readouterr().out
    assert "[drogue.bay]" in first
    assert "[main.bay]" in first
    main(["demo", "--rig", next(iter(STARTS))])
    assert capsys.readouterr().out == first


def test_the_version_is_told(capsys) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["--version"])
    assert caught.value.code == 0
    assert capsys.readouterr().out.strip() == VERSION


@pytest.mark.parametrize("way", WAYS)
def test_a_plan_for_people_holds_every_check_every_number_and_every_step(way: str, rig_file, capsys) -> None:
    changes = {"rig.name": "Möwe [bold]2[/bold]", "main.pack.cord_turns": "1", "flight.way": way}
    main(["plan", rig_file(changes)])
    told = capsys.readouterr().out
    whole = plan(DEFAULTS | changes)
    assert told.startswith("Möwe [bold]2[/bold]\n")  # no markup of the terminal in what was typed
    for check in whole.checks:
        word = {"pass": "holds", "warn": "look again", "fail": "FAILS"}[check.verdict]
        about = f", {whole.worked.title(check.bay)}" if check.bay and len(WAYS[way].keys) > 1 else ""
        source = f"  [{check.source}]" if check.source else ""
        assert f"{word}  {check.title}{about}: {check.reason}{source}\n" in told
    for name, answer in whole.answers.items():
        assert whole.title(name) in told.splitlines()
        for output in CALCULATORS[parted(name)[1]].outputs:
            assert output.label in told or answer.outputs[output.name] is None
        for step in answer.steps:
            assert f"{step.anchor}  {step.title}. {step.text}" in told
        for caution in answer.cautions:
            assert f"Caution: {caution}" in told


def test_what_was_not_said_is_named_if_it_matters(rig_file, capsys, tmp_path: Path) -> None:
    short = tmp_path / "short.toml"
    said = {path: DEFAULTS[path] for path, field in FIELDS.items() if field.required and is_relevant(field, DEFAULTS)}
    short.write_text(to_toml(said))
    assert main(["plan", str(short)]) == 1, "the starting rig's ground test is not one of a bay that was typed"
    last = capsys.readouterr().out.splitlines()[-1]
    assert "site.elevation" in last
    assert "drogue.pack.density" in last
    assert "forward." not in last
    assert f"“{next(iter(STARTS))}”" in last
    main(["plan", rig_file()])
    assert "Not said in the file" not in capsys.readouterr().out


# --- options ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("calculator", CALCULATORS.values(), ids=lambda calculator: calculator.name)
def test_options_are_the_declared_inputs(calculator: Calculator) -> None:
    options = {name[2:]: action for name, action in options_of(calculator.name).items() if "." in name}
    assert list(options) == list(calculator.inputs)
    for path, action in options.items():
        field = FIELDS[path]
        told = (action.help or "").replace("%%", "%")
        assert field.full in told
        assert field.help in told
        assert (field.default or "empty") in told
    assert options_of(calculator.name, calculator.name).keys() == options_of(calculator.name).keys()
    assert ("--bay" in options_of(calculator.name)) is (calculator.each != "rig")


@pytest.mark.parametrize("act", ["plan", "demo", *CALCULATORS])
def test_help_can_be_printed(act: str, capsys) -> None:
    with pytest.raises(SystemExit) as caught:
        main([act, "--help"])
    assert caught.value.code == 0
    assert "usage" in capsys.readouterr().out


@pytest.mark.parametrize("name", CALCULATORS)
def test_a_file_and_the_same_by_options_give_the_same(name: str, rig_file, capsys) -> None:
    changes = {
        "main.bay.tube": "4 in", "rocket.mass": "15 lb 3 oz", "main.canopy.size": "80 in", "drogue.canopy.size": "25 in",
        "main.canopy.family": "conical", "main.canopy.slope": "30 deg", "main.cord.length": "25 ft", "drogue.cord.length": "30 ft",
        "site.elevation": "4000 ft", "flight.wind": "10 mph", "main.lines.length": "7 ft", "rig.units": "feet and inches",
        "site.warmer": "-10 °C", "rocket.length": "8 ft", "electronics.volume": "100 in^3", "flight.main_height": "600 ft",
    }  # fmt: skip
    mine = {path: text for path, text in changes.items() if path in CALCULATORS[name].inputs}
    assert len(mine) >= 3
    for more in ([], ["--json"]):
        status = main([name, rig_file(changes, full=False), *more])
        from_file = capsys.readouterr().out
        options = [part for path, text in mine.items() for part in (f"--{path}", text)]
        assert main([name, *options, *more]) == status
        assert capsys.readouterr().out == from_file
        equal_signs = [f"--{path}={text}" for path, text in mine.items()]
        assert main([name, *equal_signs, *more]) == status
        assert capsys.readouterr().out == from_file


def test_an_option_outdoes_the_file(rig_file, capsys) -> None:
    main(["canopy", rig_file({"rocket.mass": "9 kg"}), "--rocket.mass", DEFAULTS["rocket.mass"], "--json"])
    over = capsys.readouterr().out
    main(["canopy", "--json"])
    assert capsys.readouterr().out == over


@pytest.mark.parametrize("way", [ONE_CANOPY, NO_DROGUE, HELD, TWO_PARTS])
def test_an_option_that_changes_the_way_down_changes_what_is_asked_about(way: str, capsys) -> None:
    main(["folding", "--flight.way", way, "--json"])
    assert list(json.loads(capsys.readouterr().out)) == list(WAYS[way].canopies)


def test_the_command_runs_as_a_program(tmp_path: Path) -> None:
    """Once as a real process, so that status and streams are those of the shell."""
    file = tmp_path / "rig.toml"
    file.write_text(to_toml(DEFAULTS | {"main.pack.cord_turns": "3"}), encoding="utf-8")
    code = f"import sys; sys.path[:0] = {[p for p in sys.path if p]!r}; from loftbook.faces.command import main; sys.exit(main())"
    done = subprocess.run([sys.executable, "-c", code, "plan", file, "--json"], capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 1
    assert done.stderr == ""
    assert json.loads(done.stdout)["sound"] is False


# --- measured -----------------------------------------------------------------------------------------


@pytest.fixture
def altimeter_file(tmp_path: Path):
    """Writes a flight with a drogue at 22 m/s and a main at 5 m/s, as an altimeter shows it."""

    def write(head: str = "time (s),altitude (m)\n", name: str = "flight.csv", unit: float = 1.0, main: float = 5.0) -> str:
        rows, height = [], 0.0
        for i in range(1200):
            time = i / 10
            rows.append(f"{time:.1f},{height / unit:.3f}")
            height = max(0.0, height + (0 if time < 5 else 120 if time < 13 else -22 if height > 200 else -main) / 10)
        path = tmp_path / name
        path.write_text(head + "\n".join(rows), encoding="utf-8")
        return str(path)

    return write


def test_measured_tells_phases_drag_and_the_fields_to_take_over(rig_file, altimeter_file, capsys) -> None:
    rig, log = rig_file(), altimeter_file()
    other = altimeter_file(name="other.csv", main=5.1)
    assert main(["measured", rig, log, other, "--temperature", "15 °C", "--when", "2026-05-02"]) == 0
    told = capsys.readouterr().out
    for words in ("Flight 2: 1200 samples; column 1 is time in s, column 2 is height in m.", "drogue", "ground", "main, 2 flights", "the rig says now"):
        assert words in told
    fields = told.partition("To take over into the rig's file:\n")[2]
    taken = load('[rig]\nstart = "two bays, 98 mm"\n' + fields.removeprefix("[rig]\n"))
    assert taken["main.canopy.cd_measured_from"] == "2 flights, 2026-05-02"
    parse(taken)
    main(["measured", rig, log, "--temperature", "15 °C", "--json"])
    found = json.loads(capsys.readouterr().out)
    assert [part["name"] for part in found["flights"][0]["phases"]] == ["climb", "drogue", "main", "ground"]
    # five metres a second all the way from 200 m is a little less in the thicker air at the field
    assert found["canopies"]["main"]["rate"]["best"] == pytest.approx(4.98, rel=5e-3)
    assert set(found["canopies"]["drogue"]["fields"]) == {"drogue.canopy.cd_measured_low", "drogue.canopy.cd_measured_high", "drogue.canopy.cd_measured_from", "rig.measured"}


@pytest.mark.parametrize(("head", "more", "field"), [
    ("", [], "time_unit"),
    ("", ["--time-unit", "s"], "height_unit"),
    ("", ["--time-unit", "s", "--height-unit", "furlong"], "height_unit"),
    ("time (s),altitude (m)\n", ["--temperature", "15"], "--temperature"),
    ("time (s),altitude (m)\n", ["--temperature", "15 °C", "--temperature", "16 °C"], "--temperature"),
    ("time (s),altitude (m)\n", ["--from", "50", "--to", "70"], "--from"),
    ("time (s),altitude (m)\n", ["--from", "70", "--to", "50", "--of", "main"], "--from"),
    ("time (s),altitude (m)\n", ["--of", "main"], "--of"),
    ("time (s),altitude (m)\n1,", [], "file"),
])  # fmt: skip
def test_what_measured_must_be_told_is_asked_for(head: str, more: list[str], field: str, rig_file, altimeter_file, capsys) -> None:
    assert main(["measured", rig_file(), altimeter_file(head), *more]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith(f"{field}: ")


def test_measured_takes_units_and_a_phase_from_its_reader(rig_file, altimeter_file, capsys) -> None:
    rig = rig_file()
    assert main(["measured", rig, altimeter_file("", "bare.csv", 0.3048), "--time-unit", "s", "--height-unit", "ft", "--json"]) == 0
    feet = json.loads(capsys.readouterr().out)["flights"][0]["phases"]
    assert feet[1]["rate"] == pytest.approx(22, rel=0.02)
    assert main(["measured", rig, altimeter_file(), "--from", "55", "--to", "80", "--of", "main", "--json"]) == 0
    (key,) = json.loads(capsys.readouterr().out)["canopies"]
    assert key == "main"


def test_measured_names_the_file_that_is_another_s_or_does_not_match_the_rig(rig_file, altimeter_file, capsys) -> None:
    rig, log = rig_file(), altimeter_file()
    assert main(["measured", rig, log, altimeter_file(name="again.csv")]) == 2
    assert "again.csv holds the samples of" in capsys.readouterr().err
    assert main(["measured", rig, log, altimeter_file(name="fouled.csv", main=10.0)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "fouled.csv: file: no canopy's steady sinking is found in it for sure: no main of this rig sinks as fast" in told.err
    assert "--from, --to and --of" in told.err


def test_measured_takes_descents_by_a_watch_with_files_and_without(rig_file, altimeter_file, capsys) -> None:
    rig, timed = rig_file(), ["--timed", "main", "200 m", "0", "40", "--sure", "3 m", "--temperature", "15 °C"]
    assert main(["measured", rig, *timed]) == 0
    alone = capsys.readouterr().out
    assert "Timed 1, main: Cd·S" in alone
    assert "main, 1 by watch" in alone
    assert 'cd_measured_from = "1 by watch"' in alone
    assert main(["measured", rig, altimeter_file(), *timed, "--json"]) == 0
    both = json.loads(capsys.readouterr().out)
    assert set(both["canopies"]) == {"drogue", "main"}
    assert both["canopies"]["main"]["fields"]["main.canopy.cd_measured_from"] == "1 flight and 1 by watch"
    for wrong, field in ((["--timed", "forward", "9 m", "0", "3"], "of"), (["--timed", "main", "9", "0", "3"], "high"), ([], "--timed")):
        assert main(["measured", rig, *wrong]) == 2
        assert capsys.readouterr().err.startswith(f"{field}: ")


def test_measured_refuses_files_that_are_none(rig_file, tmp_path: Path, capsys) -> None:
    (tmp_path / "bytes").write_bytes(b"\xff\xfe\x00")
    for name in ("missing", "bytes", "."):
        assert main(["measured", rig_file(), str(tmp_path / name)]) == 2
        assert "Traceback" not in capsys.readouterr().err
