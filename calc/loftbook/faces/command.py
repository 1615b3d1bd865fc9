"""The terminal command. Options, help and tables all come from the declarations; nothing is computed here.

loftbook plan [RIG.toml | --rig NAME] [--json]
                         the whole plan; exit status 1 when a check fails, 2 on a refused rig
loftbook CALCULATOR [RIG.toml | --rig NAME] [--bay KEY] [--json] [--main.canopy.size "54 mm" …]
                         one answer, or the same about each canopy, bay or cord in turn
loftbook pattern [RIG.toml | --rig NAME] [--bay KEY] [--svg FILE] [--dxf FILE] [--model]
                         a canopy's pattern in millimetres, as a picture or for plotters
loftbook mend [RIG.toml | --rig NAME]
                         what would mend each check that fails, spoiling no other
loftbook measured RIG.toml FILE.csv … [--time-unit s] [--height-unit m] [--temperature "28 °C"] [--from 52 --to 80 --of main]
                         what an altimeter's files say of the drag of each canopy, and the fields to take it over; also, or instead,
                         --timed main "60 m" 0 11.5 for a descent by a watch
loftbook due RIG.toml BOOK.jsonl [--today 2026-11-26]
                         what is due by a logbook; exit status 1 when it keeps the rocket on the ground
loftbook demo [--rig NAME]
                         a starting rig as a file, to begin with
"""

import argparse
import json
import sys
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loftbook import VERSION
from loftbook import answer as answers
from loftbook.answer import Answer, Calculator, Seen, Step, Value, Verdict
from loftbook.calculators import CALCULATORS
from loftbook.calculators.making import MAKING
from loftbook.drawing.pattern import full_size
from loftbook.errors import Fault, Refusal
from loftbook.faces.cutting import SCALES, parts
from loftbook.faces.gates import failed
from loftbook.faces.live import key_asked
from loftbook.faces.measuring import add_measured, measured
from loftbook.faces.render import VERDICTS, bay_names
from loftbook.physics.spread import Spread
from loftbook.plan import Plan, data, joined, parted, plain, plan
from loftbook.quantity import Kind, System, ends, show
from loftbook.rig.fields import FIELDS, STARTS
from loftbook.rig.files import LARGEST_FILE, load, starting_file
from loftbook.rig.parsing import is_relevant, parse
from loftbook.rig.ways import KEYS
from loftbook.worked.worked import Worked

_FIRST = next(iter(STARTS))
_WORDS: dict[Verdict, tuple[str, str]] = {
    "pass": ("holds", "green"),
    "warn": ("look again", "yellow"),
    "fail": ("FAILS", "bold red"),
}


# --- what may be typed ------------------------------------------------------------------------------


def parser(only: str | None = None) -> argparse.ArgumentParser:
    """The command's options. only: the calculator whose fields are wanted as options; without it those of all."""
    top = argparse.ArgumentParser(
        prog="loftbook", description="Recovery of amateur rockets: canopy, folds, packing, cord.", allow_abbrev=False
    )
    top.add_argument("--version", action="version", version=VERSION)
    acts = top.add_subparsers(dest="act", required=True, metavar="WHAT")
    whole = acts.add_parser("plan", help="the whole recovery plan of a rig", allow_abbrev=False)
    _add_rig(whole)
    for name, calculator in CALCULATORS.items():
        one = acts.add_parser(name, help=calculator.title, allow_abbrev=False)
        _add_rig(one)
        if calculator.each != "rig":
            told = f"which {calculator.each}, by the name of its table in a rig file; without it all, one after another"
            one.add_argument("--bay", choices=KEYS, help=told)
        if only in (None, name):
            _add_fields(one, calculator)
    pattern = acts.add_parser("pattern", help="the sewing pattern of a canopy at true size", allow_abbrev=False)
    _add_source(pattern)
    pattern.add_argument("--bay", choices=KEYS, help="which canopy, by the name of its table in a rig file; without it the one that the rig shows")
    pattern.add_argument("--svg", type=Path, metavar="FILE", help="write a picture in millimetres")
    pattern.add_argument("--dxf", type=Path, metavar="FILE", help="write a drawing in millimetres for plotters and cutters, always at true size")
    pattern.add_argument("--model", action="store_true", help="the picture at a tenth of its size, for a paper model")
    mend = acts.add_parser("mend", help="what would mend each check that fails: the least changes that spoil nothing else", allow_abbrev=False)
    _add_source(mend)
    add_measured(acts.add_parser("measured", help="the drag of each canopy from an altimeter's files", allow_abbrev=False))
    owed = acts.add_parser("due", help="what is due by a logbook: inspections, ground tests, what was put aside", allow_abbrev=False)
    owed.add_argument("file", type=Path, metavar="RIG", help="rig file, TOML or JSON")
    owed.add_argument("book", type=Path, metavar="BOOK", help="logbook as it was exported, lines of JSON or CSV")
    owed.add_argument("--today", metavar="DAY", default="", help="year, month and day; without it the day that this machine shows")
    demo = acts.add_parser("demo", help="print a starting rig as a file to begin with", allow_abbrev=False)
    demo.add_argument("--rig", choices=STARTS, default=_FIRST, metavar="NAME", help=_starts())
    return top


def _starts() -> str:
    return f"a starting rig: {'; '.join(STARTS)}".replace("%", "%%")


def _add_rig(act: argparse.ArgumentParser) -> None:
    _add_source(act)
    act.add_argument("--json", action="store_true", help="results as JSON, SI units")


def _add_source(act: argparse.ArgumentParser) -> None:
    source = act.add_mutually_exclusive_group()
    source.add_argument("file", type=Path, nargs="?", metavar="RIG", help=f"rig file, TOML or JSON; without one, {_FIRST}")
    source.add_argument("--rig", choices=STARTS, metavar="NAME", help=_starts())


def _add_fields(act: argparse.ArgumentParser, calculator: Calculator) -> None:
    for path in calculator.inputs:
        field = FIELDS[path]
        told = f"{field.full}. {field.help} To start with: {field.default or 'empty'}.".replace("%", "%%")
        act.add_argument(f"--{path}", dest=path, metavar="TEXT", help=told)


def _texts(options: argparse.Namespace) -> dict[str, str]:
    """What the file says, or which starting rig was named: what is not said in so many words stays that rig's, not the reader's."""
    path: Path | None = options.file
    if path is None:
        return {"rig.start": options.rig or _FIRST}
    return load(_file(path, LARGEST_FILE, "a rig"))


def _file(path: Path, largest: int, what: str) -> str:
    """A text file. largest: characters. Raises `Refusal`."""
    try:
        if path.stat().st_size > 4 * largest:
            raise Refusal(Fault(message=f"{path} is larger than {what} can be."))
        return path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Refusal(Fault(message=f"{path} cannot be read: {error}")) from None


# --- what is printed --------------------------------------------------------------------------------


def _print(whole: Plan, console: Console) -> None:
    """Verdicts first, then every answer of a plan, or of a part of one."""
    names = bay_names(whole)
    console.print(Text(whole.rig.text("rig.name"), "bold"))
    for check in whole.checks:
        word, style = _WORDS[check.verdict]
        title = f"{check.title}, {names[check.bay]}" if check.bay in names else check.title
        console.print(Text.assemble((f"{word:>10}  ", style), (f"{title}: ", "bold"), check.reason, (f"  [{check.source}]" if check.source else "")))
    for name, answer in whole.answers.items():
        console.print()
        console.print(Text(whole.title(name), "bold underline"))
        _print_answer(CALCULATORS[parted(name)[1]], answer, whole.rig.units, console)


def _print_answer(calculator: Calculator, answer: Answer, system: System, console: Console) -> None:
    for caution in answer.cautions:
        console.print(Text(f"Caution: {caution}", "bold red"))
    console.print(Text(answer.summary))
    _print_outputs(calculator, answer, system, console)
    for rows in answer.tables:
        _print_table(rows, console)
    for passage in answer.passages:
        console.print(Text.assemble((f"{passage.anchor}  {passage.title}. ", "bold"), passage.text))
    for row in answer.seen:
        _print_seen(row, console)
    for step in answer.steps:
        console.print(_step(step))
    for line in answer.working:
        console.print(Text.assemble((f"{line.title}: ", "italic"), f"{line.formula}: {line.numbers}  [{line.source}]"))
    for note in answer.notes:
        console.print(Text(f"Note: {note}"))


def _print_seen(row: Seen, console: Console) -> None:
    """A fault with its causes, the likeliest first."""
    console.print(Text.assemble((f"{row.anchor}  {row.title}. ", "bold"), (f"{row.caution} " if row.caution else "", "bold red"), row.text))
    for count, cause in enumerate(row.causes, 1):
        told = ((f"{VERDICTS[one.judged]}: " if one.judged else "") + (f"{one.whose}: " if one.whose else "") + one.told for one in cause.figures)
        console.print(Text(f"  {count}. {cause.title}. {' '.join((*told, f'Look: {cause.look}', f'Change: {cause.change}'))}"))


def _print_outputs(calculator: Calculator, answer: Answer, system: System, console: Console) -> None:
    grid = Table(show_header=False, box=None, pad_edge=False)
    for output in calculator.outputs:
        value = answer.outputs[output.name]
        if value is not None:
            grid.add_row(Text(output.label), *map(Text, _written(value, output.kind, system)))
    console.print(grid)


def _print_table(rows: answers.Table, console: Console) -> None:
    grid = Table(title=Text(rows.caption), title_justify="left")
    for head in rows.head:
        grid.add_column(Text(head))
    for row in rows.rows:
        grid.add_row(*map(Text, row))
    console.print(grid)


def _written(value: Value, kind: Kind | None, system: System) -> tuple[str, str]:
    """An output in words, and the range behind it."""
    if isinstance(value, str) or kind is None:
        return str(value), ""
    if not isinstance(value, Spread):
        return show(value, kind, system), ""
    return show(value.best, kind, system), "" if value.is_point else ends(value.low, value.best, value.high, kind, system)


def _step(step: Step) -> Text:
    said = f"{step.text} You should see: {step.seen} If not: {step.otherwise}"
    return Text.assemble((f"{step.anchor}  {step.title}. ", "bold"), said)


def _print_json(found: object) -> None:
    print(json.dumps(found, ensure_ascii=False, indent=2))


# --- what is done -----------------------------------------------------------------------------------


def _plan(options: argparse.Namespace) -> bool:
    whole = plan(_texts(options))
    if options.json:
        _print_json(data(whole))
        return whole.sound
    console = Console(highlight=False, soft_wrap=True)
    _print(whole, console)
    texts = whole.rig.texts
    unsaid = [path for path, field in FIELDS.items() if path in whole.rig.assumed and is_relevant(field, texts)]
    if unsaid:
        start = texts["rig.start"]
        console.print(f"\nNot said in the file, taken from “{start}”: {', '.join(unsaid)}.", markup=False)
    return whole.sound


def _one(options: argparse.Namespace) -> bool:
    """One calculator, about the key that was asked for or about each in turn."""
    calculator = CALCULATORS[options.act]
    typed: dict[str, str] = {path: text for path in calculator.inputs if (text := getattr(options, path)) is not None}
    worked = Worked(parse(_texts(options) | typed))
    wanted = "" if calculator.each == "rig" else options.bay
    keys = (key_asked(calculator, worked, wanted),) if wanted else calculator.keys(worked.rig.way)
    found = {key: calculator.answer(worked, key) for key in keys}
    part = Plan(worked, {joined(key, calculator.name): answer for key, answer in found.items()})
    if not options.json:
        _print(part, Console(highlight=False, soft_wrap=True))
        return part.sound
    outputs = {key: {name: plain(value) for name, value in answer.outputs.items()} for key, answer in found.items()}
    _print_json(outputs[""] if calculator.each == "rig" else outputs)
    return part.sound


def _pattern(options: argparse.Namespace) -> bool:
    """Writes a canopy's pattern; told on the terminal which pieces it holds, and whether the canopy's checks hold."""
    worked = Worked(parse(_texts(options)))
    key = key_asked(MAKING, worked, options.bay or "")
    pieces, answer = parts(worked, key), MAKING.answer(worked, key)
    if not pieces:
        raise Refusal(Fault(message=answer.summary, field=f"{key}.make.cut"))
    print(answer.summary)
    for part in pieces:
        print(f"  {part.title}, {part.cutting}: {'; '.join(part.notes)}")
    for check in answer.checks:
        if check.verdict != "pass":
            print(f"{_WORDS[check.verdict][0]}: {check.title}: {check.reason}")
    try:
        if options.svg:
            options.svg.write_text(full_size(pieces, SCALES["model" if options.model else "full"]), "utf-8")
        if options.dxf:
            from loftbook.faces.dxf import write_dxf  # takes a while to load, and only this wants it

            write_dxf(pieces, options.dxf)
    except OSError as error:
        raise Refusal(Fault(message=f"The pattern cannot be written: {error}")) from None
    return all(check.verdict != "fail" for check in answer.checks)


def _mend(options: argparse.Namespace) -> bool:
    """Every check that fails, and the best of what would mend it."""
    from loftbook.faces import remedies

    texts = _texts(options)
    whole = plan(texts)
    for check in failed(whole):
        search = remedies.search_for(texts, check.bay, check.name)
        while not search.over:
            search.go(remedies.AT_ONCE)
        of = f", {whole.worked.title(check.bay)}" if check.bay else ""
        print(f"{check.title}{of}: {check.reason}")
        if not search.ranked:
            print(f"  - {remedies.ONLY_EASED if search.eased else remedies.NOTHING}")
        for mend in remedies.best(search):
            print(f"  - {remedies.sentence(whole.worked, mend, check.title)}")
            print(f"    {'; '.join(f'{path} = {text}' for path, text in mend.texts.items())}")
    return whole.sound


def _measured(options: argparse.Namespace) -> bool:
    """Tells what was measured; a measurement neither passes nor fails."""
    found = measured(Worked(parse(_texts(options))), options)
    if options.json:
        _print_json(found.data())
    else:
        found.print(Console(highlight=False, soft_wrap=True))
    return True


def _due(options: argparse.Namespace) -> bool:
    """What is due, in the card's words; false where something is put aside."""
    from loftbook.faces import dues
    from loftbook.log.entries import LARGEST_BOOK, read_book

    rig = parse(_texts(options))
    text = _file(options.book, LARGEST_BOOK, "a logbook")
    today = dues.day(options.today) if options.today else date.today()
    book = dues.told(rig, read_book(text) if text.strip() else (), today)
    print(f"{rig.text('rig.name')}, {today.isoformat()}")
    for sign, what, why in dues.lines(book):
        print(": ".join(part for part in (sign, what, why) if part))
    return not book.grounding


def _print_faults(faults: Iterable[Fault]) -> None:
    for fault in faults:
        print(f"{fault.field or 'rig'}: {fault.message}", file=sys.stderr)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command. Exit status: 0 sound, 1 a check fails, 2 the rig or the call is refused."""
    given = sys.argv[1:] if arguments is None else list(arguments)
    options = parser(given[0] if given else "").parse_args(given)
    if options.act == "demo":
        print(starting_file(options.rig), end="")
        return 0
    try:
        sound = {"plan": _plan, "pattern": _pattern, "mend": _mend, "measured": _measured, "due": _due}.get(options.act, _one)(options)
    except Refusal as refusal:
        _print_faults(refusal.faults)
        return 2
    return 0 if sound else 1


if __name__ == "__main__":
    sys.exit(main())
