"""The logbook's entries: written once, read back as they were, merged without loss, refused where damaged."""

import json
import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loftbook.errors import Refusal
from loftbook.log.book import Book
from loftbook.log.entries import STRUCK, Entry, checked, line, read_book, read_line, to_csv
from loftbook.log.kinds import KINDS
from loftbook.quantity import SHARE
from loftbook.rig.field import Field

MADE = "2026-05-09T14:03:00.000Z"


def flight(**more: object) -> Entry:
    given = {"made": MADE, "kind": "flight", "day": "2026-05-09", "rig": "Curlew", "said": {"flight.went": "as planned", "flight.apogee": "412 m"}}
    return Entry(**(given | more))  # type: ignore[arg-type]


def texts_of(one: Field) -> st.SearchStrategy[str]:
    if one.path == "picture.data":
        return st.just("data:image/png;base64,iVBORw0KGgo=")
    if one.choices:
        return st.sampled_from([choice for choice in one.choices if choice])
    if one.kind is None:
        letters = st.characters(categories=("L", "N", "P", "S", "Zs"))
        return st.text(letters, min_size=1, max_size=min(40, one.longest)).filter(lambda text: text.strip() and text.isprintable())
    middle = (one.low + one.high) / 2
    return st.just(f"{100 * middle:g} %" if one.kind is SHARE else f"{round(middle)}" if not one.kind.si else f"{middle!r} {one.kind.si}".replace("^", ""))


@st.composite
def entries(draw: st.DrawFn) -> Entry:
    kind = draw(st.sampled_from(list(KINDS.values())))
    said = {one.path: draw(texts_of(one)) for one in kind.fields if not one.optional or draw(st.booleans())}
    return Entry(
        made=f"2026-{draw(st.integers(1, 12)):02}-{draw(st.integers(1, 28)):02}T10:00:00.{draw(st.integers(0, 999)):03}Z",
        kind=kind.name,
        day=draw(st.dates()).isoformat(),
        rig=draw(st.sampled_from(["Curlew", "Stint, 54 mm", "=1+1", "'quoted'", "ø; \"two\", three"])),
        about=draw(st.sampled_from(["", "main", "drogue"])),
        said=said,
        planned={"main.rate": tuple(draw(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=3)))},
        fields={"rocket.mass": draw(st.sampled_from(["2.2 kg", "-1", "=2"]))},
    )


@settings(max_examples=150, deadline=None)
@given(st.lists(entries(), min_size=1, max_size=6))
def test_a_book_is_read_back_as_it_was_from_lines_and_from_a_table(book: list[Entry]) -> None:
    once = tuple(dict.fromkeys(one.name for one in book))
    for text in ("\n".join(map(line, book)), to_csv(book)):
        again = read_book(text)
        assert tuple(one.name for one in again) == once
        assert set(map(line, again)) == set(map(line, book))


def test_merging_takes_every_entry_once_whatever_the_order() -> None:
    book = [flight(day=f"2026-05-{day:02}") for day in range(1, 20)]
    one, other = book[:12], book[7:]
    random.Random(4).shuffle(other)
    both = read_book("\n".join(map(line, [*one, *other])))
    assert {each.name for each in both} == {each.name for each in book}
    assert Book(tuple(both)).standing == Book((*reversed(other), *one,)).standing


def test_two_alike_at_different_moments_are_two() -> None:
    assert len(Book((flight(), flight(made="2026-05-09T14:03:00.001Z"),)).standing) == 2


def test_what_takes_anothers_place_counts_and_both_stay_in_the_book() -> None:
    first = flight()
    second = flight(made="2026-05-09T15:00:00.000Z", said={"flight.went": "something was damaged"}, replaces=first.name)
    struck = flight(made="2026-05-09T16:00:00.000Z", kind=STRUCK, said={}, replaces=second.name)
    assert Book((first, second,)).standing == (second,)
    assert Book((struck, first, second,)).standing == ()
    assert len(read_book("\n".join(map(line, (first, second, struck))))) == 3


def test_a_row_changed_in_a_spreadsheet_takes_the_place_of_the_first() -> None:
    one = flight()
    table = to_csv([one]).replace("412 m", "421 m")
    (changed,) = read_book(table)
    assert changed.replaces == one.name
    assert changed.said["flight.apogee"] == "421 m"
    assert Book((one, changed,)).standing == (changed,)


def test_a_column_that_stands_twice_and_a_row_that_is_cut_short_are_told() -> None:
    head, row, *_ = to_csv([flight()]).splitlines()
    with pytest.raises(Refusal, match="twice: name"):
        read_book(f"{head},name\n{row},other\n")
    for other in (row[: row.rindex(",")], f"{row},more"):
        with pytest.raises(Refusal, match=r"line 2: it has .* cells"):
            read_book(f"{head}\n{other}\n")
    assert len(read_book(f"{head},,\n{row},,\n")) == len(read_book(f"{head}\n{row},,\n")) == 1  # empty cells behind a row are nothing



def test_a_row_added_in_a_spreadsheet_is_a_new_entry() -> None:
    table = to_csv([flight()]).replace(flight().name, "")
    (new,) = read_book(table)
    assert new == flight()


def test_every_damaged_byte_is_known_and_its_line_told() -> None:
    book = [flight(day=f"2026-05-{day:02}") for day in range(1, 6)]
    lines = [line(one) for one in book]
    place = random.Random(7)
    for _ in range(300):
        number = place.randrange(5)
        at = place.randrange(len(lines[number]))
        sign = chr(place.randrange(32, 127))
        if lines[number][at] == sign:
            continue
        hurt = [*lines]
        hurt[number] = lines[number][:at] + sign + lines[number][at + 1 :]
        with pytest.raises(Refusal) as told:
            read_book("\n".join(hurt))
        assert all(f"line {number + 1}" in fault.message for fault in told.value.faults)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"day": "2026-13-01"}, "day"),
        ({"day": "9.5.2026"}, "day"),
        ({"made": "2026-05-09"}, "made"),
        ({"made": "2026-15-09T14:03:00.000Z"}, "made"),
        ({"rig": " "}, "rig"),
        ({"about": "third"}, "about"),
        ({"kind": "lecture"}, "kind"),
        ({"replaces": "x"}, "replaces"),
        ({"kind": STRUCK, "said": {}}, "replaces"),
        ({"said": {"flight.went": "as planned", "flight.apogee": "412"}}, "flight.apogee"),
        ({"said": {"flight.went": "as planned", "flight.apogee": "412 km"}}, "flight.apogee"),
        ({"said": {"flight.went": "well"}}, "flight.went"),
        ({"said": {"flight.went": "as planned", "flight.apogee": ""}}, "said"),
        ({"said": {"flight.went": "as planned", "test.mass": "1 g"}}, "test.mass"),
        ({"planned": {"main.rate": (float("nan"),)}}, "planned"),
        ({"fields": {"main.no": "1"}}, "main.no"),
        ({"fields": {"rocket.mass": "1" * 70}}, "rocket.mass"),
        ({"kind": "picture", "said": {"picture.of": "n", "picture.data": "data:image/svg+xml;base64,AAAA"}}, "picture.data"),
        ({"kind": "picture", "said": {"picture.of": "n", "picture.data": "javascript:alert(1)"}}, "picture.data"),
    ],
)
def test_what_is_no_entry_is_refused_at_its_field(change: dict[str, object], field: str) -> None:
    with pytest.raises(Refusal) as told:
        checked(flight(**change))
    assert field in [fault.field for fault in told.value.faults]
    assert all(fault.allowed and fault.message for fault in told.value.faults)


@pytest.mark.parametrize(
    "text",
    ["", "   ", "{", "[]", "null", "{}", '{"name":"n"}', "a,b\n1,2", "[" * 100_000, "{" + '"a":' * 50_000, "name\n", "\x00", '"', "name,made\n\"", line(flight())[:-1]],
)
def test_what_is_no_book_is_refused(text: str) -> None:
    with pytest.raises(Refusal):
        read_book(text)


def test_numbers_that_are_none_are_refused() -> None:
    data = json.loads(line(flight(planned={"main.rate": (5.0,)})))
    for odd in (True, "5", None, [5], 1e400):
        data["planned"] = {"main.rate": [odd]}
        with pytest.raises(Refusal):
            read_line(json.dumps(data))


def test_an_entry_says_its_values_in_si() -> None:
    one = flight(said={"flight.went": "as planned", "flight.apogee": "1000 ft"})
    assert one.number("flight.apogee") == pytest.approx(304.8)
    assert one.number("flight.time") is None
    assert one.value("flight.went") == "as planned"


def test_the_same_entry_has_the_same_name_whatever_the_order_of_its_fields() -> None:
    one = flight()
    assert replace(one, said=dict(reversed(one.said.items()))).name == one.name


def test_names_are_frozen() -> None:
    """Books are kept for years: a name that changes makes every one of them damaged."""
    assert flight().name == "nb28b1dceba2c1cb34ed"


@pytest.mark.parametrize("day", ["2026-W19-6", "2026-5-9", "20260509", "2026-05-0٩", "2026-02-30", ""])
def test_a_day_is_written_as_year_month_and_day_alone(day: str) -> None:
    """Days are put in order as texts: a week of a year would come after every month of it."""
    with pytest.raises(Refusal):
        checked(flight(day=day))
