"""Each figure printed elsewhere against what the core says, one case per figure, and nothing can go missing.

A case is named table, row and standing: `memory` is a figure recalled from its source and not read there, `worked` one that
follows from a formula and was printed nowhere, `unsourced` a saying of the trade. Expected values, tolerances and sources stand in reference/*.csv only.
"""

import csv
import math

import pytest
from checks import carried, checked, compared, left_out, result, worked_out
from figures import REFERENCE, Row, in_unit, inputs, matching, rows, si
from ours import EXPLAINED

# How many rows each file has, how many of them the core works out, and how many it carries in a table or a constant. A row
# or a check that goes missing shows here.
COUNTS = {
    "01-atmosphere": (80, 80, 0),
    "02-canopy-families": (64, 6, 18),
    "03-geometry": (66, 59, 0),
    "04-descent-and-limits": (41, 25, 4),
    "05-opening": (51, 44, 3),
    "06-textiles": (99, 3, 54),
    "07-separation": (67, 49, 5),
    "08-units": (39, 36, 2),
    "09-wind": (42, 5, 1),
    "10-trade": (26, 2, 11),
    "11-packing": (23, 9, 3),
    "12-elastic-cords": (23, 12, 1),
}


def _name(id_: str) -> str:
    return f"{rows()[id_].table}:{id_}:{rows()[id_].standing}"


@pytest.mark.parametrize("id_", [i for i in checked() if i not in EXPLAINED], ids=_name)
def test_core_agrees_with_row(id_: str) -> None:
    found = result(id_)
    row, unit = found.row, "of the value" if found.relative else found.row.unit
    assert found.agrees, (
        f"{row.quantity} ({row.inputs}): printed {row.printed} {row.unit}, ours {found.got!r}; "
        f"apart {found.difference:.3g} {unit}, allowed {found.allowed:.3g}. {row.source} [{row.how}] {row.note}"
    )


@pytest.mark.parametrize("id_", EXPLAINED, ids=_name)
def test_explained_row_differs_as_explained(id_: str) -> None:
    """Differs by more than its tolerance (else the explanation goes) and by no more than the explanation allows."""
    found = result(id_)
    assert found.explanation
    assert found.allowed < found.difference <= found.explanation.within
    assert len(found.explanation.why) > 40


@pytest.mark.parametrize("table", COUNTS)
def test_no_row_vanishes(table: str) -> None:
    of_table = [row for row in rows().values() if row.table == table]
    computed = [row.id for row in of_table if row.id in worked_out()]
    repeated = [row.id for row in of_table if row.id in carried()]
    assert (len(of_table), len(computed), len(repeated)) == COUNTS[table]
    neither = [row.id for row in of_table if row.id not in checked() and row.id not in left_out()]
    assert not neither


def test_every_file_is_read_whole() -> None:
    """Rows counted in the files themselves, by another road than `rows`."""
    files = sorted(REFERENCE.glob("*.csv"))
    assert [file.stem for file in files] == list(COUNTS)
    for file in files:
        with file.open(encoding="utf-8", newline="") as lines:
            assert sum(1 for _ in csv.reader(lines)) - 1 == COUNTS[file.stem][0]


def test_left_out_rows_say_why() -> None:
    assert all(len(reason) > 10 for reason in left_out().values())
    assert not set(left_out()) & set(checked())


def test_every_row_carries_its_source() -> None:
    bare = [r.id for r in rows().values() if not all(cell.strip() for cell in (r.source, r.how, r.unit, r.quantity))]
    assert not bare


def test_a_standing_says_how_the_figure_came_here() -> None:
    told = {row.how: row.standing for row in rows().values()}
    assert told["exact; area checked by the shoelace sum"] == told["12 digits; checked with pint 0.26.2"] == "worked"
    assert told["read (inputs); computed"] == told["memory; converted"] == "worked"
    assert told["memory, unsure of revision"] == "memory"
    assert told["read (second-hand); recomputed 0.50028"] == told["read"] == "read"
    assert told["computed from common practice"] == told["common practice, no source"] == "unsourced"


def _can_fail(row: Row) -> bool:
    """A relative tolerance well below one, an absolute one below the figure itself, a range with two ends."""
    tolerance, (low, high) = float(row.tolerance), row.ends
    if row.tolerance_kind == "relative":
        return 0 < tolerance <= 0.25
    if row.tolerance_kind.startswith("absolute"):
        return 0 < tolerance <= 0.25 * max(abs(low), abs(high))
    return low < high if row.tolerance_kind == "range" else row.tolerance_kind in ("exact", "none")


def test_every_tolerance_can_fail() -> None:
    assert [id_ for id_ in checked() if not _can_fail(rows()[id_])] == []


# --- the machinery itself --------------------------------------------------------------------------


def _row(**cells: str) -> Row:
    blank = dict.fromkeys(("value", "low", "high", "note"), "")
    common = {"table": "t", "id": "t-001", "quantity": "q", "inputs": "-", "unit": "-", "source": "s", "how": "h"}
    return Row(**(common | blank | cells))


@pytest.mark.parametrize(
    ("kind", "tolerance", "value", "low", "high", "inside", "outside"),
    [
        ("relative", "0.01", "200", "", "", 201.99, 202.01),
        ("relative", "0.01", "-200", "", "", -198.01, -197.99),
        ("absolute", "0.5", "10", "", "", 10.5, 10.51),
        ("absolute", "0.5", "0", "", "", -0.5, -0.51),
        ("exact", "0", "75", "", "", 75.0, 75.0000001),
        ("none", "0", "4", "", "", 4.0, 5.0),
        ("none", "0", "", "1", "2", (1.0, 2.0), (1.0, 2.1)),
        ("range", "0", "", "1.05", "1.1", 1.1, 1.11),
        ("range", "0", "", "1.05", "1.1", 1.05, 1.04),
        ("range", "0", "", "1", "2", (1.0, 1.5), (0.9, 1.5)),
        ("absolute on each end", "0.1", "", "1", "2", (1.1, 1.9), (1.1, 1.89)),
        ("absolute on each end", "0.1", "", "1", "2", (1.1, None), (1.11, None)),
        ("absolute on each end", "0.1", "", "1", "2", (None, 2.1), (None, 2.11)),
    ],
)
def test_tolerances_are_read_as_meant(
    kind: str, tolerance: str, value: str, low: str, high: str, inside: object, outside: object
) -> None:
    row = _row(tolerance_kind=kind, tolerance=tolerance, value=value, low=low, high=high)
    assert compared(row, inside).agrees  # type: ignore[arg-type]
    assert not compared(row, outside).agrees  # type: ignore[arg-type]


def test_not_a_number_never_agrees() -> None:
    for kind in ("relative", "absolute", "exact"):
        assert not compared(_row(tolerance_kind=kind, tolerance="0.1", value="1"), math.nan).agrees
    assert not compared(_row(tolerance_kind="range", tolerance="0", low="1", high="2"), math.nan).agrees


def test_one_figure_is_no_range() -> None:
    with pytest.raises(TypeError, match="ends"):
        compared(_row(tolerance_kind="absolute on each end", tolerance="1", low="1", high="2"), 1.5)
    with pytest.raises(ValueError, match="unknown"):
        compared(_row(tolerance_kind="unknown", tolerance="1", value="1"), 1.5)


def test_inputs_are_read_in_si() -> None:
    read = inputs(
        "m=3 kg; CdS=0.9 m^2; height 250 ft; slope 25 deg above the skirt plane; s=0.25 of gore length; 2 psi"
    )
    assert read["m"] == 3
    assert read["CdS"] == 0.9
    assert read["height"] == pytest.approx(76.2, rel=1e-15)
    assert read["slope"] == 25
    assert read["s"] == 0.25
    assert read[""] == pytest.approx(13789.514586336, rel=1e-12)
    assert read.numbers == tuple(read.named.values())


def test_units_go_there_and_back() -> None:
    for unit in ("degF", "lbf/in^2", "in*lbf/(lb*degR)", "oz/yd^2", "deg", "-"):
        assert si(in_unit(300.0, unit), unit) == pytest.approx(300.0, rel=1e-12)


def test_names_of_rows() -> None:
    assert [row.id for row in matching("atmo-078..080")] == ["atmo-078", "atmo-079", "atmo-080"]
    assert [row.id for row in matching("unit-029")] == ["unit-029"]
    assert len(matching("unit: standard gravity")) == 2
    with pytest.raises(LookupError):
        matching("atmo: no such quantity")
    with pytest.raises(LookupError):
        matching("atmo-099")
