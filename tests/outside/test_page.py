"""The published table shows every figure, and hides none that does not agree."""

import re
import time
from xml.etree import ElementTree

import pytest
from checks import carried, checked, left_out, result, worked_out
from figures import rows
from ours import EXPLAINED

import outside_page


@pytest.fixture(scope="module")
def tables() -> list[ElementTree.Element]:
    return ElementTree.fromstring(f"<div>{outside_page.outside_table()}</div>").findall(".//table")


def _rows(table: ElementTree.Element) -> list[list[str]]:
    return [["".join(cell.itertext()) for cell in row] for row in table.findall("./tbody/tr")]


def test_every_computed_row_is_shown_once_with_its_source(tables: list[ElementTree.Element]) -> None:
    assert len(tables) == 13
    shown = [row for table in tables[:-1] for row in _rows(table)]
    assert sorted(row[0] for row in shown) == sorted(checked())
    for row in shown:
        figure = rows()[row[0]]
        assert figure.printed in row[3]
        assert row[7:9] == [figure.source, figure.how]
        assert (row[9] in ("agrees", "repeated")) is result(row[0]).agrees


def test_a_figure_that_is_only_repeated_is_not_called_an_agreement(tables: list[ElementTree.Element]) -> None:
    said = {row[0]: row[9] for table in tables[:-1] for row in _rows(table)}
    assert {id_ for id_, verdict in said.items() if verdict == "repeated"} == set(carried()) - set(EXPLAINED)
    assert {id_ for id_, verdict in said.items() if verdict == "agrees"} == set(worked_out()) - set(EXPLAINED)


def test_no_heading_calls_a_figure_printed_that_was_worked_out(tables: list[ElementTree.Element]) -> None:
    assert any(rows()[id_].standing == "worked" for id_ in checked())
    heads = {"".join(cell.itertext()) for table in tables for cell in table.findall("./thead/tr/*")}
    assert "Figure" in heads
    assert not [head for head in heads if "rinted" in head]


def test_rows_that_differ_are_shown_with_the_reason(tables: list[ElementTree.Element]) -> None:
    differing = {
        row[0]: row[9] for table in tables[:-1] for row in _rows(table) if row[9].startswith(("differs", "FAILS"))
    }
    assert differing == {id_: f"differs: {explained.why}" for id_, explained in EXPLAINED.items()}


def test_rows_that_are_not_computed_are_shown_with_the_reason(tables: list[ElementTree.Element]) -> None:
    listed = {id_: reason for reason, _, ids in _rows(tables[-1]) for id_ in ids.split(", ")}
    assert listed == left_out()
    assert sum(int(count) for _, count, _ in _rows(tables[-1])) == len(left_out())


def test_a_failing_row_says_so() -> None:
    found = result("geom-001")
    worse = type(found)(found.row, 1.5, 0.5, found.allowed, found.relative)
    assert outside_page.cells(worse)[9] == "FAILS"
    assert "1 fail." in outside_page.summary([found, worse])


def test_summary_counts_add_up() -> None:
    numbers = [int(n) for n in re.findall(r"\d+", outside_page.summary(result(id_) for id_ in checked()))]
    figures, files, *numbers = numbers
    standings, (computed, agree, differ, fail), (repeated, same, near, wrong), (neither,) = (
        numbers[:4], numbers[4:8], numbers[8:12], numbers[12:],
    )  # fmt: skip
    assert (figures, files, fail, wrong) == (len(rows()), 12, 0, 0)
    assert sum(standings) == figures
    assert agree + differ == computed == len(worked_out())
    assert same + near == repeated == len(carried())
    assert computed + repeated + neither == figures


def test_table_is_made_in_less_than_a_second() -> None:
    """Of the processor, the best of three: what else the machine does is not counted."""

    def taken() -> float:
        begun = time.process_time()
        outside_page.outside_table()
        return time.process_time() - begun

    assert min(taken() for _ in range(3)) < 1
