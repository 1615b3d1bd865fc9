"""The terminal command. Options, help and tables all come from the declarations; nothing is computed here.

loftbook plan RIG.toml [--json]         the whole plan; exit status 1 when a check fails, 2 on a refused rig
loftbook CALCULATOR [RIG.toml] [--rocket.tube "54 mm" …]
loftbook demo                           the demo rig as a file, to start from
"""

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loftbook import VERSION
from loftbook.calculators import CALCULATORS
from loftbook.case import Case
from loftbook.answer import Answer, Calculator, Check
from loftbook.errors import Fault, Refusal
from loftbook.fields import DEFAULTS, FIELDS
from loftbook.plan import data, plain, plan
from loftbook.quantity import System, show
from loftbook.rig import LARGEST_FILE, load, parse, to_toml
from loftbook.physics.spread import Spread

_VERDICTS = {"pass": ("holds", "green"), "warn": ("look again", "yellow"), "fail": ("FAILS", "bold red")}


def parser() -> argparse.ArgumentParser:
    top = argparse.ArgumentParser(
        prog="loftbook", description="Recovery of amateur rockets: canopy, folds, packing, cord."
    )
    top.add_argument("--version", action="version", version=VERSION)
    ways = top.add_subparsers(dest="way", required=True)
    whole = ways.add_parser("plan", help="the whole recovery plan of a rig")
    whole.add_argument("rig", type=Path, help="rig file, TOML or JSON")
    whole.add_argument("--json", action="store_true", help="results as JSON, SI units")
    for calculator in CALCULATORS.values():
        way = ways.add_parser(calculator.name, help=calculator.title)
        way.add_argument("rig", type=Path, nargs="?", help="rig file; without one, the demo rig")
        way.add_argument("--json", action="store_true", help="results as JSON, SI units")
        for path in calculator.inputs:
            field = FIELDS[path]
            told = f"{field.label}. {field.help} Demo rig: {field.default or 'empty'}.".replace("%", "%%")
            way.add_argument(f"--{path}", dest=path, metavar="TEXT", help=told)
    ways.add_parser("demo", help="print the demo rig as a file to start from")
    return top


def _rig_texts(path: Path | None) -> dict[str, str]:
    if path is None:
        return dict(DEFAULTS)
    try:
        if path.stat().st_size > 4 * LARGEST_FILE:
            raise Refusal(Fault(message=f"{path} is larger than a rig can be."))
        return load(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise Refusal(Fault(message=f"{path} cannot be read: {error}")) from None


def _checks(console: Console, rows: Sequence[Check]) -> None:
    for check in rows:
        word, style = _VERDICTS[check.verdict]
        console.print(Text.assemble((f"{word:>10}  ", style), (f"{check.title}: ", "bold"), check.reason))


def _answer(console: Console, calculator: Calculator, answer: Answer, system: System) -> None:
    console.print()
    console.print(Text(calculator.title, "bold underline"))
    for caution in answer.cautions:
        console.print(Text(f"Caution: {caution}", "bold red"))
    console.print(Text(answer.summary))
    table = Table(show_header=False, box=None, pad_edge=False)
    for output in calculator.outputs:
        value = answer.outputs[output.name]
        if value is None:
            continue
        if isinstance(value, Spread) and output.kind:
            ends = f"{show(value.low, output.kind, system)} to {show(value.high, output.kind, system)}"
            table.add_row(output.label, show(value.best, output.kind, system), "" if value.is_point else ends)
        else:
            number = (
                show(value, output.kind, system) if output.kind and not isinstance(value, str | Spread) else str(value)
            )
            table.add_row(output.label, number, "")
    console.print(table)
    for rows in answer.tables:
        grid = Table(*rows.head, title=rows.caption, title_justify="left")
        for row in rows.rows:
            grid.add_row(*row)
        console.print(grid)
    for stage in answer.stages:
        console.print(
            Text.assemble(
                (f"{stage.anchor}  {stage.title}. ", "bold"),
                f"{stage.text} You should see: {stage.seen} If not: {stage.otherwise}",
            )
        )
    for line in answer.working:
        console.print(Text.assemble((f"{line.title}: ", "italic"), f"{line.formula}: {line.numbers}  [{line.source}]"))
    for note in answer.notes:
        console.print(Text(f"Note: {note}"))


def _print_faults(refusal: Refusal) -> None:
    for fault in refusal.faults:
        print(f"{fault.field or 'rig'}: {fault.message}", file=sys.stderr)


def _plan(options: argparse.Namespace, console: Console) -> bool:
    whole = plan(_rig_texts(options.rig))
    if options.json:
        print(json.dumps(data(whole), ensure_ascii=False, indent=2))
        return whole.sound
    console.print(Text(whole.rig.text("rig.name"), "bold"))
    _checks(console, whole.checks)
    for name, answer in whole.answers.items():
        _answer(console, CALCULATORS[name], answer, whole.rig.units)
    if whole.rig.assumed:
        console.print(Text(f"\nNot said in the file, taken from the demo rig: {', '.join(whole.rig.assumed)}."))
    return whole.sound


def _one(options: argparse.Namespace, console: Console) -> bool:
    calculator = CALCULATORS[options.way]
    given: dict[str, str] = {p: v for p in calculator.inputs if (v := getattr(options, p)) is not None}
    rig = parse(_rig_texts(options.rig) | given)
    answer = calculator.compute(Case(rig))
    if options.json:
        print(json.dumps({name: plain(value) for name, value in answer.outputs.items()}, ensure_ascii=False, indent=2))
    else:
        _checks(console, answer.checks)
        _answer(console, calculator, answer, rig.units)
    return all(check.verdict != "fail" for check in answer.checks)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command. Exit status: 0 sound, 1 a check fails, 2 the rig or the call is refused."""
    options = parser().parse_args(arguments)
    if options.way == "demo":
        print(to_toml(DEFAULTS), end="")
        return 0
    try:
        sound = (_plan if options.way == "plan" else _one)(options, Console(highlight=False, soft_wrap=True))
    except Refusal as refusal:
        _print_faults(refusal)
        return 2
    return 0 if sound else 1


if __name__ == "__main__":
    sys.exit(main())
