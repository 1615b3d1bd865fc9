"""Up to four whole rigs beside each other: what stops each, what leads of each, every check and every field in which they differ.

Everything is held against the first of them and written in its units. A rig that is refused fills its column with its faults, and
keeps nothing from the others. Computes no figure of its own.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from loftbook.answer import Check, Verdict
from loftbook.drawing.markup import Markup, element
from loftbook.errors import Fault, Refusal
from loftbook.faces.render import VERDICTS, bay_names, borrowed, capital, fails_and_again, stopped
from loftbook.physics.remembered import remembered
from loftbook.plan import ORDER, Plan, parted, plan
from loftbook.quantity import ENERGY, HEIGHT, LENGTH, MASS, NUMBER, SPEED, SYSTEMS, TIME, counted
from loftbook.rig.field import Field
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import completed, is_relevant, parse
from loftbook.rig.rig import Rig
from loftbook.rig.ways import KEYS, WAYS
from loftbook.worked.descent import Fall
from loftbook.worked.worked import Worked

MOST = 4
LONGEST_NAME = 80
LETTERS = "ABCD"
SIGNS = {"better": "▲", "worse": "▼", "other": "≠", "same": "="}
ORIGINS = {"start": ("○", "the starting rig's"), "typed": ("◐", "typed"), "measured": ("●", "measured")}
NOT_WORKED, NOT_THERE, EMPTY = "not worked out", "does not apply", "left empty"
LEGEND = (
    "▲ better and ▼ worse stand only by checks, by what stops it and by margins, where that is beyond doubt; ≠ is other, no more. All is held against A. "
    "○ is the starting rig's, ◐ yours, ● measured. A column that no check stops is no permission to fly."
)
_SHOWING = ("rig.bay", "rig.measured")  # what pages show, and what the marks say
_UNSORTED = "no-sort"  # the theme takes a head with a role for one that sorts
_UNMARKED = ("rig.", "compare.")

Versus = Literal["", "better", "worse", "other", "same"]
Spot = tuple[str, str]  # the name of a figure or check, and the bay, canopy or cord that it is of


# --- one rig ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Figure:
    """A figure in words; margin: the same as a number where more of it is better beyond doubt."""

    label: str
    text: str
    margin: float | None = None


@dataclass(frozen=True)
class Judged:
    """What is told of a rig that can be worked out: how many measures are still the starting rig's, of how many; what stops it in a line;
    figures and checks by where they belong; what its bays are called where there are several."""

    borrowed: tuple[int, int]
    stopped: str
    figures: Mapping[Spot, Figure]
    checks: Mapping[Spot, Check]
    bays: Mapping[str, str]

    @property
    def failed(self) -> list[Check]:
        """Gates first."""
        return sorted((one for one in self.checks.values() if one.verdict == "fail"), key=lambda one: not one.gate)

    def titled(self, check: Check) -> str:
        """The title of a check, with its bay where there are several."""
        of = self.bays.get(check.bay, "")
        return f"{check.title} ({of})" if of else check.title


@dataclass(frozen=True)
class Column:
    """One rig: its name, what was typed of it and the rest; judged, or what is wrong with it."""

    name: str
    rig: Rig
    judged: Judged | None
    faults: tuple[Fault, ...] = ()

    @property
    def keys(self) -> frozenset[str]:
        """The bays, canopies and cords that it has; of a way down that is none all."""
        way = WAYS.get(self.rig.texts["flight.way"])
        return frozenset(way.keys if way else KEYS)


def column(name: str, fields: Mapping[str, str], units: str) -> Column:
    """One rig, worked out in these units; a refused one with its faults."""
    mine = Rig(completed(fields), {}, frozenset(FIELDS.keys() - fields.keys()))
    try:
        return Column(name, parse(fields), _judged(tuple({**fields, "rig.units": units}.items())))
    except Refusal as refusal:
        return Column(name, mine, None, refusal.faults)


@remembered(2 * MOST)  # of four rigs one changes at a time
def _judged(fields: tuple[tuple[str, str], ...]) -> Judged:
    whole = plan(dict(fields))
    figures = {(name, key): made for name, of in _LEADS.items() for key, made in of(whole).items()}
    return Judged(
        borrowed(whole.rig, (parted(name)[1] for name in whole.answers)),
        stopped(whole),
        figures,
        {(check.name, check.bay): check for check in whole.checks},
        bay_names(whole),
    )


# --- what leads of it ---------------------------------------------------------------------------------


Figures = dict[str, Figure]  # by the bay, canopy or cord that they are of


def _touchdowns(whole: Plan) -> Figures:
    return {fall.last.key: Figure("Touchdown, up to", whole.worked.at_least(fall.touchdown_rate.high, SPEED)) for fall in whole.worked.descent.falls}


def _rates(whole: Plan) -> Figures:
    """Of canopies that another one follows, and without any."""
    worked, last = whole.worked, [fall.last.key for fall in whole.worked.descent.falls]
    bare = worked.descent.main.bare_rate
    before = {key: Figure("Rate until the next opens, up to", worked.at_least(one.rate.high, SPEED)) for key, one in worked.canopies.items() if key not in last}
    return ({"": Figure("Rate without a canopy, up to", worked.at_least(bare.high, SPEED))} if bare else {}) | before


def _energy(whole: Plan) -> Figures:
    hardest = whole.worked.descent.hardest
    return {"": Figure("Landing energy of the hardest section, up to", f"{whole.worked.at_least(hardest.energy.high, ENERGY)}, {hardest.name}")}


def _settled(whole: Plan) -> Figures:
    height = whole.worked.descent.latest.settled_height
    return {"": Figure("Open and slowed down, height left", whole.worked.at_most(height, HEIGHT) if height else "none: not before the ground")}


def _times(whole: Plan) -> Figures:
    return {_body(whole, fall): Figure("Time to come down, up to", whole.worked.at_least(fall.time.high, TIME)) for fall in whole.worked.descent.falls}


def _drifts(whole: Plan) -> Figures:
    return {_body(whole, fall): Figure("Drift, up to", whole.worked.at_least(fall.drift.high, HEIGHT)) for fall in whole.worked.descent.falls}


def _body(whole: Plan, fall: Fall) -> str:
    """The canopy that names a body, where several come down by themselves."""
    return fall.last.key if len(whole.worked.descent.falls) > 1 else ""


def _holding(whole: Plan) -> Figures:
    label = "Joint on the way up: holds, times what pulls"
    return {key: _times_or(whole, label, joint.hold_times, "nothing pulls") for key, joint in whole.worked.joints.items()}


def _parting(whole: Plan) -> Figures:
    label = "Joint at the charge: parts, times what resists"
    return {key: _times_or(whole, label, joint.part_times, "not known") for key, joint in whole.worked.joints.items()}


def _times_or(whole: Plan, label: str, times: float | None, none: str) -> Figure:
    return Figure(label, none if times is None else f"{whole.worked.at_most(times, NUMBER)} times", times)


def _weakest(whole: Plan) -> Figures:
    weakest = {key: chain.parts[0] for key, chain in whole.worked.chains.items() if chain.parts}
    return {key: Figure("Weakest link, times its load", f"{whole.worked.at_most(part.margin, NUMBER)} times: {part.name}", part.margin) for key, part in weakest.items()}


def _room(whole: Plan) -> Figures:
    return {key: Figure("Room left in the bay", _left(whole.worked, bay.stack.spare)) for key, bay in whole.worked.bays.items()}


def _left(worked: Worked, spare: float) -> str:
    return f"none: {worked.at_least(-spare, LENGTH)} too much" if spare < 0 else worked.at_most(spare, LENGTH)


def _depths(whole: Plan) -> Figures:
    depths = {key: one.outputs["bundle_depth"] for key, one in whole.of("packing").items()}
    return {key: Figure("Mouth to top of bundle", whole.worked.at_most(depth, LENGTH)) for key, depth in depths.items() if isinstance(depth, float)}


def _mass(whole: Plan) -> Figures:
    return {"": Figure("Mass coming down", whole.worked.show(whole.worked.airframe.mass, MASS))}


_LEADS: dict[str, Callable[[Plan], Figures]] = {
    "touchdown": _touchdowns,
    "rate": _rates,
    "energy": _energy,
    "settled": _settled,
    "time": _times,
    "drift": _drifts,
    "holds": _holding,
    "parts": _parting,
    "weakest": _weakest,
    "room": _room,
    "depth": _depths,
    "mass": _mass,
}


# --- rigs beside each other ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Cell:
    """What stands in a column; versus: how it stands to the first; verdict: of a check; more: said below it, smaller; origin: of a field."""

    text: str
    versus: Versus = ""
    verdict: Verdict | None = None
    more: tuple[str, ...] = ()
    origin: str = ""


@dataclass(frozen=True)
class Row:
    """One thing of every rig; differs: whether it is not the same for all that have been worked out; partly: it is of a bay that not all
    of them have, and there is nothing wrong with it."""

    label: str
    cells: tuple[Cell, ...]
    differs: bool
    partly: bool = False


def _union[T](columns: Sequence[Column], of: Callable[[Judged], Mapping[Spot, T]], names: Iterable[str]) -> list[Spot]:
    """Where any of them has something, in the order of names and of bays."""
    found = {spot for one in columns if one.judged for spot in of(one.judged)}
    order, bays = {name: at for at, name in enumerate(names)}, ("", *KEYS)
    return sorted(found, key=lambda spot: (order[spot[0]], bays.index(spot[1])))


def _titled(columns: Sequence[Column], title: str, key: str) -> str:
    """A title with the bay, canopy or cord that it is of, by all that it is called where a rig has several."""
    names = dict.fromkeys(one.judged.bays[key] for one in columns if one.judged and key in one.judged.bays)
    return f"{title} ({' or '.join(names)})" if names else title


def figure_rows(columns: Sequence[Column]) -> list[Row]:
    """What leads of each, a row for each figure."""
    rows = []
    for spot in _union(columns, lambda one: one.figures, _LEADS):
        found = [one.judged.figures.get(spot) if one.judged else None for one in columns]
        first = found[0]
        cells = tuple(
            Cell(figure.text if figure else NOT_THERE, _figure_versus(first, figure) if columns[0].judged else "") if column.judged else Cell(NOT_WORKED)
            for column, figure in zip(columns, found, strict=True)
        )
        title = next(figure.label for figure in found if figure)
        rows.append(Row(_titled(columns, title, spot[1]), cells, _differ(columns, cells)))
    return rows


def _figure_versus(first: Figure | None, other: Figure | None) -> Versus:
    """More of a margin is better; whatever else is written otherwise is other."""
    if first is None or other is None:
        return "" if first is other else "other"
    if first.text == other.text:
        return ""
    if first.margin is None or other.margin is None or first.margin == other.margin:
        return "other"
    return "better" if other.margin > first.margin else "worse"


def _differ(columns: Sequence[Column], cells: Sequence[Cell]) -> bool:
    """Whether those that have been worked out say several things; what one alone says is the same as nothing."""
    judged = [cell.text for column, cell in zip(columns, cells, strict=True) if column.judged]
    return len(set(judged)) > 1 or len(judged) == 1


def check_rows(columns: Sequence[Column]) -> list[Row]:
    """Every check, those first of which the worst verdict is worst."""
    names = dict.fromkeys(name for one in columns if one.judged for name, _ in one.judged.checks)
    rows: list[tuple[int, Row]] = []
    for spot in _union(columns, lambda one: one.checks, names):
        found = [one.judged.checks.get(spot) if one.judged else None for one in columns]
        there = [check for check in found if check]
        worst = min(ORDER[check.verdict] for check in there)
        cells = tuple(
            _check_cell(check, found[0] if columns[0].judged else check) if column.judged else Cell(NOT_WORKED)
            for column, check in zip(columns, found, strict=True)
        )
        holds = worst == ORDER["pass"]
        alone = sum(column.judged is not None for column in columns) == 1
        differs = not holds if alone else _differ(columns, cells)
        rows.append((worst, Row(_titled(columns, there[0].title, spot[1]), cells, differs, _lacking(columns, spot[1]) and holds)))
    return [row for _, row in sorted(rows, key=lambda one: one[0])]


def _lacking(columns: Sequence[Column], key: str) -> bool:
    """Whether one of them has no such bay, canopy or cord."""
    return bool(key) and any(key not in one.keys for one in columns)


def _check_cell(check: Check | None, first: Check | None) -> Cell:
    if check is None:
        return Cell(NOT_THERE, "other" if first else "")
    versus: Versus = ""
    if first is None:
        versus = "other"
    elif check.verdict != first.verdict:
        versus = "better" if ORDER[check.verdict] > ORDER[first.verdict] else "worse"
    return Cell(VERDICTS[check.verdict], versus, check.verdict, () if check.verdict == "pass" else (check.reason,))


def field_rows(columns: Sequence[Column]) -> list[Row]:
    """Every field that matters to one of them at least, with its text as it was typed."""
    rows = []
    for path, field in FIELDS.items():
        texts = [column.rig.texts[path] if is_relevant(field, column.rig.texts) else None for column in columns]
        if path in _SHOWING or texts == [None] * len(columns):
            continue
        cells = tuple(_field_cell(field, column, text, columns[0], texts[0]) for column, text in zip(columns, texts, strict=True))
        rows.append(Row(field.full, cells, len(set(texts)) > 1, _lacking(columns, field.bay)))
    return rows


def _field_cell(field: Field, column: Column, text: str | None, first: Column, said: str | None) -> Cell:
    if text is None:
        return Cell(NOT_THERE, "" if said is None else "other")
    versus: Versus = "" if text == said else "same" if _same_value(first, column, field.path) else "other"
    origin = "" if field.path.startswith(_UNMARKED) or not text else column.rig.origin(field.path)
    return Cell(text or EMPTY, versus, origin=origin)


def _same_value(one: Column, other: Column, path: str) -> bool:
    """Whether two texts are the same number, written otherwise."""
    left, right = one.rig.values.get(path), other.rig.values.get(path)
    return isinstance(left, float) and isinstance(right, float) and math.isclose(left, right, rel_tol=1e-12)


def verdict_row(columns: Sequence[Column]) -> Row:
    """What stops each, gates first; or its faults."""
    first = columns[0].judged
    return Row("Verdict", tuple(_verdict_cell(one, first) for one in columns), differs=True)


def _verdict_cell(column: Column, first: Judged | None) -> Cell:
    one = column.judged
    if one is None:
        return Cell("Cannot be worked out", "", more=tuple(fault.message for fault in column.faults))
    again = sum(check.verdict == "warn" for check in one.checks.values())
    titles = tuple(one.titled(check) for check in one.failed)
    text = f"{one.stopped}.{f' {again} to look at again.' if again else ''}"
    return Cell(text, _stops_versus(first, one) if first else "", "fail" if one.failed else "pass", titles)


def _stops_versus(first: Judged, other: Judged) -> Versus:
    """Better where it fails nothing but what the first fails too, and not all of it; the other way round worse. A check that only one of
    them has was not passed by the other: then it is neither."""
    mine, theirs = ({spot for spot, check in one.checks.items() if check.verdict == "fail"} for one in (first, other))
    if mine == theirs:
        return ""
    both = first.checks.keys() & other.checks.keys()
    return "better" if theirs < mine <= both else "worse" if mine < theirs <= both else "other"


def whose_row(columns: Sequence[Column]) -> Row:
    """How much of each is still its starting rig's."""
    cells = []
    for one in columns:
        still, asked = one.judged.borrowed if one.judged else (0, 0)
        told = f"all {asked} measures: a demo" if still == asked else f"{still} of {asked} measures" if still else "none"
        cells.append(Cell(told if one.judged else NOT_WORKED))
    return Row("Still the starting rig's", tuple(cells), differs=True)


# --- as a page shows it -------------------------------------------------------------------------------


def columns_of(rigs: Sequence[tuple[str, Mapping[str, str]]]) -> list[Column]:
    """The rigs in their order, all in the units of the first. Raises `Refusal` for none and for more than four."""
    if not 1 <= len(rigs) <= MOST:
        raise Refusal(Fault(message=f"One to {MOST} rigs stand beside each other.", given=str(len(rigs)), allowed=f"1 to {MOST}"))
    said = completed(rigs[0][1])["rig.units"]
    units = said if said in SYSTEMS else SYSTEMS[0]
    return [column(name[:LONGEST_NAME], fields, units) for name, fields in rigs]


def beside(rigs: Sequence[tuple[str, Mapping[str, str]]]) -> list[Markup]:
    """The table of these rigs by name and fields, what is the same for all of them folded, and what the signs mean. Raises `Refusal`."""
    columns = columns_of(rigs)
    figures, checks, fields = figure_rows(columns), check_rows(columns), field_rows(columns)
    groups = (
        ("", [verdict_row(columns), whose_row(columns)]),
        ("What leads", [row for row in figures if row.differs]),
        ("Checks that stand otherwise", [row for row in checks if row.differs and not row.partly]),
        ("Fields that say something else", [row for row in fields if row.differs and not row.partly]),
    )
    partly = [("Checks", [row for row in checks if row.differs and row.partly]), ("Fields", [row for row in fields if row.differs and row.partly])]
    same = [("figure", [row for row in figures if not row.differs]), ("check", [row for row in checks if not row.differs]), ("field", [row for row in fields if not row.differs])]
    return [
        _table(columns, groups, "Rigs beside each other", acts=True),
        *_folded_partly(columns, partly),
        *_folded_same(same, "the same for all" if all(one.judged for one in columns) else "the same for all that can be worked out"),
        element("p", LEGEND, class_="loft-help"),
    ]


def _folded_partly(columns: Sequence[Column], groups: Sequence[tuple[str, list[Row]]]) -> list[Markup]:
    """What belongs to a bay that not all of them have, and holds."""
    count = sum(len(rows) for _, rows in groups)
    if not count:
        return []
    told = f"{counted(count, 'row')} of bays that not all of them have: {', '.join(counted(len(rows), name.lower().removesuffix('s')) for name, rows in groups if rows)}"
    return [element("details", element("summary", told), _table(columns, groups, "Of bays that not all of them have"), class_="loft-sides-more")]


def _folded_same(groups: Sequence[tuple[str, list[Row]]], whose: str) -> list[Markup]:
    """What is the same for all, in one line with its count, and with how many checks among it do not hold."""
    count = sum(len(rows) for _, rows in groups)
    if not count:
        return []
    told = f"{counted(count, 'row')} {whose}: {', '.join(f'{counted(len(rows), word)}{_not_held(rows)}' for word, rows in groups if rows)}"
    bodies = [
        element(
            "tbody",
            element("tr", element("th", f"{word.capitalize()}s", scope="rowgroup", colspan="2"), class_="loft-sides-group"),
            *(element("tr", element("th", row.label, scope="row"), element("td", _common(row))) for row in rows),
        )
        for word, rows in groups
        if rows
    ]
    head = element("thead", element("tr", element("th", "What", scope="col"), element("th", "All of them", scope="col")))
    table = element("table", element("caption", capital(whose)), head, *bodies, class_="loft-sides-same")
    return [element("details", element("summary", told), table, class_="loft-sides-more")]


def _not_held(rows: Sequence[Row]) -> str:
    """How many of them fail, or are to be looked at again, for all: nobody is to miss that in a fold."""
    verdicts = [next((cell.verdict for cell in row.cells if cell.verdict), None) for row in rows]
    told = fails_and_again(verdicts.count("fail"), verdicts.count("warn"))
    return f" ({', '.join(told)})" if told else ""


def _common(row: Row) -> str:
    return next((cell.text for cell in row.cells if cell.text != NOT_WORKED), NOT_WORKED)


def _table(columns: Sequence[Column], groups: Sequence[tuple[str, list[Row]]], caption: str, *, acts: bool = False) -> Markup:
    """Roles are said, because a narrow screen lays rows out as blocks, and some browsers then forget what they are."""
    heads = (
        element("th", f"{letter}: ", one.name, scope="col", role="columnheader", class_=_UNSORTED) for letter, one in zip(LETTERS, columns, strict=False)
    )
    made = element(
        "table",
        element("caption", caption),
        element("thead", element("tr", element("th", "What", scope="col", role="columnheader", class_=_UNSORTED), *heads, role="row"), role="rowgroup"),
        *(_group(title, rows, len(columns), acts and not title) for title, rows in groups if rows),
        class_="loft-sides",
        role="table",
        data_rigs=str(len(columns)),
    )
    return element("div", made, class_="loft-scroll", tabindex="0", role="region", aria_label=caption)


def _group(title: str, rows: Sequence[Row], count: int, acts: bool) -> Markup:
    head = element("th", title, scope="rowgroup", colspan=str(count + 1), role="rowheader")
    return element("tbody", element("tr", head, class_="loft-sides-group", role="row") if title else None, *map(_row, rows), _acts(count) if acts else None, role="rowgroup")


def _row(row: Row) -> Markup:
    cells = (_cell(cell, letter) for cell, letter in zip(row.cells, LETTERS, strict=False))
    return element("tr", element("th", row.label, scope="row", role="rowheader"), *cells, role="row")


def _cell(cell: Cell, letter: str) -> Markup:
    sign, whose = SIGNS.get(cell.versus), ORIGINS.get(cell.origin)
    words = "same, written otherwise" if cell.versus == "same" else cell.versus
    mark = element("span", element("span", f"{sign} ", aria_hidden="true"), words, class_="loft-versus") if sign else None
    more = element("ul", *(element("li", one) for one in cell.more)) if cell.more else None
    origin = element("span", whose[0], role="img", aria_label=whose[1]) if whose else None
    text = element("strong", cell.text) if cell.verdict or cell.more else element("span", cell.text)
    return element("td", text, " " if origin else None, origin, " " if mark else None, mark, more, role="cell", data_letter=letter, data_versus=cell.versus or None, data_verdict=cell.verdict)


def _acts(count: int) -> Markup:
    """A button that puts a rig into the page; the page's script does what it says."""
    made = (
        element("td", element("button", f"Take {letter}", type="button", class_="loft-button", data_rig=str(at)) if at else "is what the others are held against", role="cell", data_letter=letter)
        for at, letter in enumerate(LETTERS[:count])
    )
    return element("tr", element("th", "Into the page", scope="row", role="rowheader"), *made, role="row", class_="loft-noprint loft-sides-acts")
