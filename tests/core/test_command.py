"""The command at a terminal: what it prints, what it exits with, and that its options are the declarations."""

import argparse
import json
import subprocess
import sys
from pathlib import Path

import pytest

from loftbook import VERSION
from loftbook.calculators import CALCULATORS
from loftbook.faces.command import main, parser
from loftbook.fields import DEFAULTS, FIELDS
from loftbook.plan import data, plan
from loftbook.rig import LARGEST_FILE, load, to_json, to_toml


@pytest.fixture
def rig_file(tmp_path: Path):
    """Writes a rig file: the demo rig with changes."""

    def write(changes: dict[str, str] | None = None, name: str = "rig.toml") -> str:
        texts = DEFAULTS | (changes or {})
        path = tmp_path / name
        path.write_text(to_json(texts) if name.endswith("json") else to_toml(texts), encoding="utf-8")
        return str(path)

    return write


def options_of(way: str) -> dict[str, argparse.Action]:
    """An own reading of argparse's tables: option -> action."""
    ways = next(action for action in parser()._actions if isinstance(action, argparse._SubParsersAction))
    return {option: action for action in ways.choices[way]._actions for option in action.option_strings}


# --- exit status ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("changes", "status"), [
    ({}, 0),
    ({"rocket.shoulder": "60 mm"}, 0),  # a warning is no failure
    ({"pack.cord_turns": "1"}, 1),
    ({"flight.wind": "25 mi/h"}, 1),
    ({"rocket.tube": "38 mm"}, 1),
    ({"rocket.tube": "38"}, 2),
    ({"rocket.tube": "5 m"}, 2),
    ({"nose.mass": "3 kg"}, 2),
])  # fmt: skip
def test_exit_status_of_a_plan(changes: dict[str, str], status: int, rig_file, capsys) -> None:
    assert main(["plan", rig_file(changes)]) == status
    assert main(["plan", rig_file(changes), "--json"]) == status
    told = capsys.readouterr()
    assert bool(told.err) is (status == 2)
    if status == 2:
        assert told.out == ""
        assert next(iter(changes)) in told.err


@pytest.mark.parametrize(("arguments", "status"), [
    (["canopy"], 0),
    (["canopy", "--rocket.mass", "2 kg"], 0),
    (["canopy", "--rocket.mass", "heavy"], 2),
    (["packing", "--pack.cord_turns", "1"], 1),
    (["packing", "--pack.cord_turns", "1", "--json"], 1),
    (["cord", "--cord.length", "1 m"], 1),
    (["cord"], 0),
    (["descent", "--flight.wind", "25 mi/h"], 1),
    (["folding", "--rocket.tube", "38 mm"], 1),
    (["demo"], 0),
])  # fmt: skip
def test_exit_status_of_one_calculator(arguments: list[str], status: int, capsys) -> None:
    assert main(arguments) == status


@pytest.mark.parametrize("arguments", [[], ["plan"], ["nonsense"], ["canopy", "--no.such", "1"], ["cord", "--flight.wind", "1 m/s"]])
def test_a_call_that_makes_no_sense_is_refused(arguments: list[str], capsys) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == 2
    assert "usage" in capsys.readouterr().err


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
    assert main(["plan", rig_file({"rocket.mass": "x", "rocket.tube": "75", "flight.wind": "99 m/s"})]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert [line.split(":")[0] for line in lines] == ["rocket.mass", "rocket.tube", "flight.wind"]
    assert "75 mm" in lines[1]
    assert "75 in" in lines[1]


# --- what is printed ----------------------------------------------------------------------------------


@pytest.mark.parametrize("changes", [{}, {"rocket.tube": "38 mm"}, {"rig.units": "feet and inches", "canopy.family": "cross"}])
@pytest.mark.parametrize("name", ["rig.toml", "rig.json"])
def test_json_is_the_data_of_the_plan(changes: dict[str, str], name: str, rig_file, capsys) -> None:
    main(["plan", rig_file(changes, name), "--json"])
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(data(plan(DEFAULTS | changes))))


@pytest.mark.parametrize("name", [name for name, calculator in CALCULATORS.items() if calculator.in_plan])
def test_json_of_one_calculator_is_its_part_of_the_plan(name: str, rig_file, capsys) -> None:
    """Except that alone it draws ten times as many scattered landings."""
    changes = {"rocket.tube": "98 mm", "canopy.sides": "12"}
    main([name, rig_file(changes), "--json"])
    told, part = json.loads(capsys.readouterr().out), json.loads(json.dumps(data(plan(changes))["results"][name]))
    if name == "landing":
        assert set(told) == set(part)
    else:
        assert told == part


def test_the_demo_is_a_rig_file_of_the_defaults(capsys) -> None:
    assert main(["demo"]) == 0
    assert load(capsys.readouterr().out) == DEFAULTS


def test_the_version_is_told(capsys) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["--version"])
    assert caught.value.code == 0
    assert capsys.readouterr().out.strip() == VERSION


def test_a_plan_for_people_holds_every_check_every_number_and_every_step(rig_file, capsys) -> None:
    changes = {"rig.name": "Möwe [bold]2[/bold]", "pack.cord_turns": "1"}
    main(["plan", rig_file(changes)])
    told = capsys.readouterr().out
    whole = plan(DEFAULTS | changes)
    assert told.startswith("Möwe [bold]2[/bold]\n")  # no markup of the terminal in what was typed
    for check in whole.checks:
        assert check.reason in told
        word = {"pass": "holds", "warn": "look again", "fail": "FAILS"}[check.verdict]
        assert f"{word}  {check.title}: " in told
    for name, answer in whole.answers.items():
        assert CALCULATORS[name].title in told
        for output in CALCULATORS[name].outputs:
            assert output.label in told or answer.outputs[output.name] is None
        for stage in answer.stages:
            assert stage.text in told
        for caution in answer.cautions:
            assert caution in told


def test_what_was_not_said_is_named(rig_file, capsys, tmp_path: Path) -> None:
    short = tmp_path / "short.toml"
    short.write_text(to_toml({path: DEFAULTS[path] for path, field in FIELDS.items() if field.required}))
    assert main(["plan", str(short)]) == 0
    assert "site.elevation" in capsys.readouterr().out.splitlines()[-1]
    main(["plan", rig_file()])
    assert "Not said in the file" not in capsys.readouterr().out


# --- options ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("calculator", CALCULATORS.values(), ids=lambda calculator: calculator.name)
def test_options_are_the_declared_inputs(calculator) -> None:
    options = {name[2:]: action for name, action in options_of(calculator.name).items() if "." in name}
    assert list(options) == list(calculator.inputs)
    for path, action in options.items():
        field = FIELDS[path]
        told = (action.help or "").replace("%%", "%")
        assert field.label in told
        assert field.help in told
        assert (field.default or "empty") in told


@pytest.mark.parametrize("way", ["plan", "demo", *CALCULATORS])
def test_help_can_be_printed(way: str, capsys) -> None:
    with pytest.raises(SystemExit) as caught:
        main([way, "--help"])
    assert caught.value.code == 0
    assert "usage" in capsys.readouterr().out


@pytest.mark.parametrize("name", CALCULATORS)
def test_a_file_and_the_same_by_options_give_the_same(name: str, rig_file, capsys) -> None:
    changes = {"rocket.tube": "4 in", "rocket.mass": "5 lb 3 oz", "canopy.size": "60 in", "canopy.family": "conical",
               "canopy.slope": "30 deg", "cord.length": "25 ft", "site.elevation": "4000 ft", "flight.wind": "10 mph",
               "lines.length": "5 ft", "rig.units": "feet and inches", "site.warmer": "-10 °C", "rocket.length": "7 ft"}  # fmt: skip
    mine = {path: text for path, text in changes.items() if path in CALCULATORS[name].inputs}
    assert len(mine) >= 3
    for more in ([], ["--json"]):
        status = main([name, rig_file(changes), *more])
        from_file = capsys.readouterr().out
        options = [part for path, text in mine.items() for part in (f"--{path}", text)]
        assert main([name, *options, *more]) == status
        assert capsys.readouterr().out == from_file
        equal_signs = [f"--{path}={text}" for path, text in mine.items()]
        assert main([name, *equal_signs, *more]) == status
        assert capsys.readouterr().out == from_file


def test_an_option_outdoes_the_file(rig_file, capsys) -> None:
    main(["canopy", rig_file({"rocket.mass": "9 kg"}), "--rocket.mass", "2.2 kg", "--json"])
    over = capsys.readouterr().out
    main(["canopy", "--json"])
    assert capsys.readouterr().out == over


def test_the_command_runs_as_a_program(tmp_path: Path) -> None:
    """Once as a real process, so that status and streams are those of the shell."""
    file = tmp_path / "rig.toml"
    file.write_text(to_toml(DEFAULTS | {"pack.cord_turns": "3"}), encoding="utf-8")
    code = f"import sys; sys.path[:0] = {[p for p in sys.path if p]!r}; from loftbook.faces.command import main; sys.exit(main())"
    done = subprocess.run([sys.executable, "-c", code, "plan", file, "--json"], capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 1
    assert done.stderr == ""
    assert json.loads(done.stdout)["sound"] is False
