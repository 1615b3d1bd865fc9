"""Whole rigs beside each other: what differs is told and marked, what is the same is counted, and nothing is called better that need not be.

What should stand there is worked out anew from plans and texts; what does stand there is read from the page's own markup.
"""

import itertools
import json
import re
import subprocess
import sys
from dataclasses import dataclass, field
from html.parser import HTMLParser

import pytest

from loftbook.faces.beside import LETTERS, MOST, NOT_THERE, NOT_WORKED, SIGNS
from loftbook.faces.live import answer
from loftbook.plan import Plan, plan
from loftbook.quantity import ENERGY, HEIGHT, LENGTH, SPEED, SYSTEMS, TIME, read
from loftbook.rig.fields import DEFAULTS, FIELDS, STARTS
from loftbook.rig.parsing import completed, is_relevant
from loftbook.rig.ways import KEYS, MAIN, WAYS

WEAK = {"main.cord.link": "60 N"}
WORDS = {"pass": "Holds", "warn": "Look again", "fail": "Fails"}
PAIRS = [*itertools.combinations(STARTS, 2)]
TWEAKS = [
    WEAK, {"main.canopy.size": "1.6 m"}, {"main.cord.length": "1 m"}, {"main.bay.depth": "300 mm"}, {"flight.wind": "12 m/s"},
    {"rig.units": SYSTEMS[1]}, {"main.joint.pins": "4"}, {"flight.way": "two parts apart, each under its own"},
]  # fmt: skip


def ask(*rigs: object) -> dict:
    named = [{"name": f"Rig {at}", "fields": fields} for at, fields in enumerate(rigs)]
    return json.loads(answer(json.dumps({"do": "beside", "rigs": named})))


@dataclass
class Line:
    """A row as it stands in the markup: its table and group, its name, its cells with their words and marks."""

    table: str
    group: str
    name: str
    cells: list[str] = field(default_factory=list)
    versus: list[str | None] = field(default_factory=list)
    verdicts: list[str | None] = field(default_factory=list)


class Reader(HTMLParser):
    """Rows of all tables of a page's fragment; a list in a cell is parted from what stands before it by a bar."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.lines: list[Line] = []
        self.folds: list[str] = []
        self._caption, self._group, self._in, self._head = "", "", "", False
        self.heads: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        if tag == "caption":
            self._caption, self._group, self._in = "", "", "caption"
        elif tag == "thead":
            self._head = True
        elif tag == "th" and self._head:
            self._in = "head"
            self.heads.append("")
        elif tag == "th":
            self._in = "group" if said.get("scope") == "rowgroup" else "name"
            if self._in == "group":
                self._group = ""
            else:
                self.lines.append(Line(self._caption, self._group, ""))
        elif tag == "td":
            self._in = "cell"
            self.lines[-1].cells.append("")
            self.lines[-1].versus.append(said.get("data-versus"))
            self.lines[-1].verdicts.append(said.get("data-verdict"))
        elif tag == "li":
            self.lines[-1].cells[-1] += " | "
        elif tag == "summary":
            self._in = "fold"
            self.folds.append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("caption", "th", "td", "summary"):
            self._in = ""
        elif tag == "thead":
            self._head = False

    def handle_data(self, data: str) -> None:
        if self._in == "caption":
            self._caption += data
        elif self._in == "head":
            self.heads[-1] += data
        elif self._in == "group":
            self._group += data
        elif self._in == "name":
            self.lines[-1].name += data
        elif self._in == "cell":
            self.lines[-1].cells[-1] += data
        elif self._in == "fold":
            self.folds[-1] += data

    def of(self, group: str) -> list[Line]:
        return [line for line in self.lines if line.group == group]

    @property
    def told(self) -> list[Line]:
        """Rows of the first table."""
        return [line for line in self.lines if line.table == "Rigs beside each other"]


def reader(*rigs: dict[str, str]) -> Reader:
    reply = ask(*rigs)
    assert reply["ok"], reply
    return Reader(reply["html"])


def bare(cell: str) -> str:
    """A cell without its mark, its reason and its origin."""
    return re.sub(rf" ?[{''.join(SIGNS.values())}] .*|[○◐●]", "", cell.partition(" | ")[0]).strip()


def all_pairs() -> list[tuple[dict[str, str], dict[str, str]]]:
    starts = [({"rig.start": one}, {"rig.start": other}) for one, other in PAIRS]
    return starts + [({"rig.start": start}, {"rig.start": start} | tweak) for start in STARTS for tweak in TWEAKS]


def verdicts(whole: Plan) -> dict[tuple[str, str], str]:
    return {(check.name, check.bay): check.verdict for check in whole.checks}


# --- what differs is there, what does not is counted ---------------------------------------------------------


@pytest.mark.parametrize(("one", "other"), all_pairs())
def test_every_check_that_stands_otherwise_is_told_and_the_others_are_counted(one: dict[str, str], other: dict[str, str]) -> None:
    found = reader(one, other)
    left, right = verdicts(plan(one)), verdicts(plan(other))
    unlike = [spot for spot in left.keys() | right.keys() if left.get(spot) != right.get(spot)]
    pairs = sorted((WORDS.get(left.get(spot, ""), NOT_THERE), WORDS.get(right.get(spot, ""), NOT_THERE)) for spot in unlike)
    rows = found.of("Checks that stand otherwise") + [line for line in found.lines if line.group == "Checks" and len(line.cells) == 2]
    assert sorted((bare(line.cells[0]), bare(line.cells[1])) for line in rows) == pairs
    same = [line for line in found.lines if line.group == "Checks" and len(line.cells) == 1]
    assert len(same) == len(left.keys() & right.keys()) - sum(spot in left and spot in right for spot in unlike)


@pytest.mark.parametrize(("one", "other"), all_pairs())
def test_every_field_whose_text_differs_is_told_as_it_was_typed(one: dict[str, str], other: dict[str, str]) -> None:
    found = reader(one, other)
    left, right = completed(one), completed(other)
    unlike, alike = [], 0
    for path, each in FIELDS.items():
        there = [texts[path] or "left empty" if is_relevant(each, texts) else NOT_THERE for texts in (left, right)]
        if path in ("rig.bay", "rig.measured") or there == [NOT_THERE, NOT_THERE]:
            continue
        if there[0] == there[1]:
            alike += 1
        else:
            unlike.append((each.full, *there))
    rows = found.of("Fields that say something else") + [line for line in found.lines if line.group == "Fields" and len(line.cells) == 2]
    assert sorted((line.name, *map(bare, line.cells)) for line in rows) == sorted(unlike)
    assert len([line for line in found.lines if line.group == "Fields" and len(line.cells) == 1]) == alike
    assert not any(versus in ("better", "worse") for line in rows for versus in line.versus)


@pytest.mark.parametrize(("one", "other"), all_pairs())
def test_the_folds_say_how_many_rows_they_hold(one: dict[str, str], other: dict[str, str]) -> None:
    found = reader(one, other)
    same = [line for line in found.lines if line.table.startswith("The same for all")]
    partly = [line for line in found.lines if line.table == "Of bays that not all of them have"]
    counts = [int(fold.split()[0]) for fold in found.folds]
    assert counts == [len(rows) for rows in (partly, same) if rows]
    assert sum(map(int, re.findall(r"(\d+) (?:figure|check|field)", found.folds[-1]))) == counts[-1]
    assert all(any(NOT_THERE in cell for cell in line.cells) for line in partly)
    assert not [line for line in partly if line.group == "Checks" and {"warn", "fail"} & set(line.verdicts)]


def test_the_same_rig_twice_differs_in_nothing() -> None:
    found = reader({}, {})
    assert {line.group for line in found.told} == {""}
    assert not any(versus for line in found.told for versus in line.versus)
    checks, fields = len(plan({}).checks), sum(is_relevant(one, DEFAULTS) for path, one in FIELDS.items() if path not in ("rig.bay", "rig.measured"))
    assert f"{checks} checks (2 to look at again), {fields} fields" in found.folds[-1]


def test_what_all_of_them_fail_is_told_with_the_fold() -> None:
    both = WEAK, WEAK | {"main.lines.length": "2.1 m"}
    left, right = (verdicts(plan(rig)) for rig in both)
    same = [verdict for spot, verdict in left.items() if right.get(spot) == verdict]
    assert same.count("fail") == 2
    assert same.count("warn") == 2
    assert f"{len(same)} checks (2 fail, 2 to look at again)" in reader(*both).folds[-1]


def test_what_one_alone_says_is_not_the_same_for_all() -> None:
    """Of several, all others refused, and of one: its figures stand, and every check that does not hold."""
    bad = {"main.bay.tube": "a hand"}
    unheld = sum(check.verdict != "pass" for check in plan(WEAK).checks)
    for rigs in ((WEAK,), (WEAK, bad), (bad, WEAK, bad)):
        found = reader(*rigs)
        assert len(found.of("What leads")) > 10
        assert len(found.of("Checks that stand otherwise")) == unheld > 1
        assert not found.of("Figures")
        assert "the same for all that can be worked out" in found.folds[-1] or bad not in rigs


# --- marks ---------------------------------------------------------------------------------------------------


def test_a_mark_says_better_or_worse_of_a_check_by_its_verdict_alone() -> None:
    seen = set()
    for one, other in all_pairs():
        for line in reader(one, other).of("Checks that stand otherwise"):
            left, right = line.verdicts
            ranks = {"fail": 0, "warn": 1, "pass": 2}
            wanted = "other" if left is None or right is None else "better" if ranks[right] > ranks[left] else "worse"
            assert line.versus == [None, wanted]
            assert SIGNS[wanted] in line.cells[1]
            assert wanted in line.cells[1]
            seen.add(wanted)
    assert seen == {"better", "worse", "other"}


def test_of_figures_only_margins_are_better_or_worse_and_the_larger_is_better() -> None:
    seen = set()
    for one, other in all_pairs():
        for line in reader(one, other).of("What leads"):
            if line.versus[1] in ("better", "worse"):
                assert "times" in line.name
                left, right = (float(cell.split()[0]) for cell in line.cells)
                assert (right > left) == (line.versus[1] == "better")
            seen.add((line.versus[1], "times" in line.name))
    assert {("better", True), ("worse", True), ("other", False)} <= seen


def test_the_verdict_is_better_only_where_nothing_new_fails() -> None:
    both = WEAK | {"main.canopy.size": "0.6 m"}
    cord = {"main.cord.length": "1 m"}
    failing = [{spot for spot, verdict in verdicts(plan(rig)).items() if verdict == "fail"} for rig in ({}, WEAK, both, cord)]
    assert failing[0] < failing[1] < failing[2]
    assert not failing[1] <= failing[3]
    assert not failing[3] <= failing[1]
    for rigs, wanted in (((WEAK, {}), "better"), ((WEAK, both), "worse"), ((WEAK, cord), "other"), ((WEAK, WEAK), None)):
        assert reader(*rigs).lines[0].versus == [None, wanted]


def test_what_stops_it_is_told_by_name_gates_first() -> None:
    whole = plan(WEAK | {"main.cord.length": "1 m"})
    cell = reader(WEAK | {"main.cord.length": "1 m"}).lines[0].cells[0]
    said, *titles = cell.split(" | ")
    failed = [check for check in whole.checks if check.verdict == "fail"]
    assert said.startswith(f"{len(failed)} checks stop it.")
    gates = [check.title for check in failed if check.gate]
    assert [title.partition(" (")[0] for title in titles[: len(gates)]] == gates
    assert len(titles) == len(failed) > len(gates) > 0


def test_the_same_value_written_otherwise_is_told_as_the_same() -> None:
    (line,) = [line for line in reader({"main.bay.tube": "75 mm"}, {"main.bay.tube": "7.5 cm"}).told if line.name == FIELDS["main.bay.tube"].full]
    assert line.versus == [None, "same"]
    assert "same, written otherwise" in line.cells[1]
    (line,) = [line for line in reader({"main.bay.tube": "75 mm"}, {"main.bay.tube": "75.1 mm"}).told if line.name == FIELDS["main.bay.tube"].full]
    assert line.versus == [None, "other"]


def test_whose_a_value_is_stands_beside_it() -> None:
    rigs = ({}, {"main.canopy.size": "2 m"}, {"main.canopy.size": "2.1 m", "rig.measured": "main.canopy.size"})
    (line,) = [line for line in reader(*rigs).told if line.name == FIELDS["main.canopy.size"].full]
    assert [cell.split(" ")[2] for cell in line.cells] == ["○", "◐", "●"]
    html = ask(*rigs)["html"]
    assert all(f'aria-label="{words}"' in html for words in ("the starting rig's", "typed", "measured"))


# --- figures on the safe side, in the units of the first -----------------------------------------------------


@pytest.mark.parametrize("units", SYSTEMS)
@pytest.mark.parametrize("start", STARTS)
def test_figures_are_rounded_away_from_danger(start: str, units: str) -> None:
    fields = {"rig.start": start, "rig.units": units}
    worked = plan(fields).worked
    told = {line.name.partition(" (")[0]: line.cells[0] for line in reader(fields).told if "(drogue)" not in line.name}
    number = re.compile(r"^([\d.]+) times")
    descent, joint, bay = worked.descent, worked.joints[MAIN], worked.bays[MAIN]
    assert read(told["Touchdown, up to"], SPEED) >= descent.main.touchdown_rate.high
    assert read(told["Landing energy of the hardest section, up to"].partition(",")[0], ENERGY) >= descent.hardest.energy.high
    assert read(told["Time to come down, up to"], TIME) >= descent.main.time.high
    assert read(told["Drift, up to"], HEIGHT) >= descent.main.drift.high
    assert read(told["Open and slowed down, height left"], HEIGHT) <= descent.latest.settled_height
    assert read(told["Room left in the bay"], LENGTH) <= bay.stack.spare
    assert read(told["Mouth to top of bundle"], LENGTH) <= bay.stack.depth_below_mouth("bundle", MAIN)
    for name, value in (("holds", joint.hold_times), ("parts", joint.part_times), ("Weakest", worked.chains[MAIN].parts[0].margin)):
        (cell,) = [cell for label, cell in told.items() if name in label]
        assert value
        assert float(number.match(cell)[1]) <= value  # type: ignore[index]


def test_a_bay_that_is_too_full_says_by_how_much_at_least() -> None:
    fields = {"main.bay.depth": "250 mm"}
    spare = plan(fields).worked.bays[MAIN].stack.spare
    (line,) = [line for line in reader({}, fields).told if line.name.startswith("Room left in the bay (main")]
    found = re.fullmatch(r"none: (.+) too much ≠ other", line.cells[1])
    assert found
    assert read(found[1], LENGTH) >= -spare > 0


def test_all_are_written_in_the_units_of_the_first() -> None:
    inches, metric = {"rig.start": "one bay, 54 mm", "rig.units": SYSTEMS[1]}, {"rig.start": "one bay, 75 mm"}
    for rigs, unit, not_unit in (((inches, metric), "ft/s", "m/s"), ((metric, inches), "m/s", "ft/s")):
        (line,) = [line for line in reader(*rigs).told if line.name.startswith("Touchdown")]
        assert all(cell.split()[1] == unit for cell in line.cells)
        reasons = " ".join(cell for line in reader(*rigs).of("Checks that stand otherwise") for cell in line.cells)
        assert f" {not_unit}" not in reasons
    held = read(reader(metric, inches).of("What leads")[0].cells[1].partition(" ≠")[0], SPEED)
    assert held == pytest.approx(plan(inches).worked.descent.main.touchdown_rate.high, rel=0.01)


@pytest.mark.parametrize("way", WAYS)
def test_every_way_down_stands_beside_every_other(way: str) -> None:
    for others in (list(WAYS)[:3], list(WAYS)[3:]):
        found = reader({"flight.way": way}, *({"flight.way": other} for other in others))
        assert all(len(line.cells) in (1, len(others) + 1) for line in found.lines)
        touchdowns = [line for line in found.lines if line.name.startswith("Touchdown, up to")]
        assert touchdowns
        assert all(re.match(r"[\d.]+ m/s|does not apply", cell) for line in touchdowns for cell in line.cells)


# --- rigs that are refused ------------------------------------------------------------------------------------


def test_a_faulty_rig_tells_its_faults_and_keeps_nothing_from_the_others() -> None:
    bad = {"main.cord.link": "4 parsec", "main.canopy.size": "a metre"}
    for rigs in (({}, bad, WEAK), (bad, {}, WEAK)):
        with_it, without = reader(*rigs), reader(*(rig for rig in rigs if rig is not bad))
        at = rigs.index(bad)
        cell = with_it.lines[0].cells[at]
        assert cell.startswith("Cannot be worked out | ")
        assert "parsec" in cell
        assert "a metre" in cell
        for group in ("What leads", "Checks that stand otherwise"):
            rows = with_it.of(group)
            assert {line.cells[at] for line in rows} == {NOT_WORKED}
            others = [[bare(text) for number, text in enumerate(line.cells) if number != at] for line in rows]
            assert others == [list(map(bare, line.cells)) for line in without.of(group)]
        told = {line.name: line.cells[at] for line in with_it.told}
        assert told[FIELDS["main.cord.link"].full].startswith("4 parsec ◐")
    first = reader(bad, {}, WEAK)
    assert not any(versus for group in ("", "What leads", "Checks that stand otherwise") for line in first.of(group) for versus in line.versus)


def test_a_rig_of_a_way_down_that_is_none_is_refused_by_itself() -> None:
    found = reader({}, {"flight.way": "by lift"}, {"rig.units": "cubits"})
    assert [cell.startswith("Cannot be worked out") for cell in found.lines[0].cells] == [False, True, True]
    assert reader({"rig.units": "cubits"}, {}).lines[0].cells[1].startswith("No check stops it")


@pytest.mark.parametrize("rigs", [
    None, "x", [], [{}], [{"name": "a"}], [{"fields": {}}], [{"name": "", "fields": {}}], [{"name": 5, "fields": {}}], [{"name": "a", "fields": []}],
    [{"name": "a", "fields": {"main.bay.tube": 5}}], [{"name": "a", "fields": {}}] * (MOST + 1), ["a"], {"name": "a", "fields": {}},
])  # fmt: skip
def test_what_is_no_list_of_rigs_is_refused(rigs: object) -> None:
    reply = json.loads(answer(json.dumps({"do": "beside", "rigs": rigs})))
    assert reply["ok"] is False
    assert reply["faults"]


def test_a_name_can_become_no_markup_and_is_cut_short() -> None:
    name = "<b onclick=x>&" + "y" * 500
    reply = json.loads(answer(json.dumps({"do": "beside", "rigs": [{"name": name, "fields": {"rig.name": "<i>"}}, {"name": "b", "fields": {}}]})))
    assert "<b onclick" not in reply["html"]
    assert "<i>" not in reply["html"]
    assert "&lt;b onclick=x&gt;&amp;yyy" in reply["html"]
    assert "y" * 100 not in reply["html"]


# --- the markup itself ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", range(1, MOST + 1))
def test_there_is_a_column_with_a_letter_for_each_and_a_button_for_all_but_the_first(count: int) -> None:
    rigs = [{"rig.start": start} for start in list(STARTS)[:count]]
    html = ask(*rigs)["html"]
    assert Reader(html).heads[: count + 1] == ["What", *(f"{letter}: Rig {at}" for at, letter in enumerate(LETTERS[:count]))]
    assert re.findall(r'data-rig="(\d)"', html) == [str(at) for at in range(1, count)]
    assert f'data-rigs="{count}"' in html


def test_one_rig_alone_still_says_what_leads() -> None:
    assert len(reader({}).of("What leads")) > 10


def test_it_is_not_imported_before_somebody_asks() -> None:
    code = (
        "import sys, json, loftbook.faces.live as live; assert 'loftbook.faces.beside' not in sys.modules; "
        "live.answer(json.dumps({'do': 'beside', 'rigs': [{'name': 'a', 'fields': {}}]})); assert 'loftbook.faces.beside' in sys.modules"
    )
    assert subprocess.run([sys.executable, "-c", code], env={"PYTHONPATH": ":".join(sys.path)}, check=False).returncode == 0


def test_a_figure_stands_in_the_row_of_its_own_bay() -> None:
    """A weaker link shows as the weakest of its own cord, and of no other."""
    for key in (one for one in KEYS if f"{one}.cord.link" in DEFAULTS and one != "forward"):
        rows = [line for line in reader({}, {f"{key}.cord.link": "60 N"}).told if line.name.startswith("Weakest link")]
        assert [line.name for line in rows] == [f"Weakest link, times its load ({key})"]
        assert rows[0].cells[1].startswith("0.")
        assert "link" in rows[0].cells[1]
