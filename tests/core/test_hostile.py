"""Input that somebody made to break things: each find of scripts/fuzz.py once, and the same hunt in small, by the same dice every time."""

import base64
import json
import random
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from hostile import GROUPS, SLOW, beginnings, changed, entries_made, word_bytes
from loftbook.errors import Refusal
from loftbook.faces.live import answer
from loftbook.log.altimeter import read_log
from loftbook.log.entries import line, read_book, read_line
from loftbook.rig.files import LONGEST_KEY, load
from loftbook.rig.texts import read_json, whole

KEPT = Path(__file__).parent / "hostile"
CHANGES = {"rig": 500, "book": 500, "altimeter": 150, "typed": 1500, "door": 500}  # a second or two each
PULL = "2026-01-02T03:04:05.006Z,pull,2026-01-02,Stint,main,"
HEAD = "made,kind,day,rig,about,replaces,planned,found,fields,pull.force,name"


def fault(act: Callable[[], object], field: str | None = None) -> str:
    """Why it is refused, in a time that nobody notices."""
    begun = time.process_time()
    with pytest.raises(Refusal) as caught:
        act()
    assert time.process_time() - begun < SLOW
    if field is not None:
        assert caught.value.faults[0].field == field
    return str(caught.value)


def ask(text: str) -> dict:
    reply = answer(text)
    reply.encode()
    return json.loads(reply)


def kept(name: str) -> list[bytes]:
    return [base64.b85decode(one) for one in json.loads((KEPT / f"{name}.json").read_text())]


# --- the hunt ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", GROUPS)
def test_whatever_comes_is_answered_or_refused(name: str) -> None:
    """What coverage led to before, and changes of it."""
    group, dice = GROUPS[name], random.Random(name)
    begun_with = [*beginnings(group), *kept(name)]
    words = word_bytes(group)
    for data in (*begun_with, *(changed(dice, dice.choice(begun_with), begun_with, words) for _ in range(CHANGES[name]))):
        begun = time.process_time()
        group.run(data)
        assert time.process_time() - begun < SLOW, data


def test_the_hunt_finds_what_is_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each promise that it holds the core to, broken once."""
    import hostile
    from loftbook.errors import Fault

    def refuses(*_: object) -> None:
        raise Refusal(Fault(message=" "))

    for name, broken in (
        ("load", refuses),
        ("to_toml", lambda texts: "[rig]\nname = 'another'\nstart = 'x'\n"),
        ("to_json", lambda texts: json.dumps(texts | {"rig.name": "another"})),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(hostile, name, broken)
            with pytest.raises(hostile.Wrong):
                hostile.rig(b'{"rig.name": "x"}')
    with monkeypatch.context() as patch:
        patch.setattr(hostile, "to_csv", lambda found: hostile.entries.to_csv(found[:-1]))
        with pytest.raises((hostile.Wrong, Refusal)):
            hostile.book("\n".join(map(line, entries_made())).encode())
    with monkeypatch.context() as patch:
        patch.setattr(hostile, "answer", lambda text: '{"ok": false, "faults": []}')
        with pytest.raises(hostile.Wrong):
            hostile.door(b"{}")


# --- what it found ----------------------------------------------------------------------------------------


def test_half_a_sign_is_read_as_a_browser_writes_it() -> None:
    """JSON can spell it, and no file, page or name of an entry can hold it."""
    assert whole("a\ud800b\U0001f680") == "a\ufffdb\U0001f680"
    assert read_json('["\\ud83d\\ude80", "\\ud83d", "\\\\ud800", 1e999]') == ["\U0001f680", "\ufffd", "\\ud800", float("inf")]
    assert load('{"rig.name": "x\\ud800"}') == {"rig.name": "x\ufffd"}
    assert "\ufffd: a rig has no such field" in fault(lambda: load('{"\\ud800": "1"}'))
    hurt = json.dumps(json.loads(line(entries_made()[3])) | {"fields": {"rig.name": "\ud800"}})
    assert "its name does not fit" in fault(lambda: read_line(hurt), "book")
    (one,) = read_book(f'{HEAD}\n{PULL},{{}},{{}},"{{""rig.name"":""\\ud800""}}",31 N,')
    assert one.fields == {"rig.name": "\ufffd"}
    for request in (
        {"do": "calculate", "calculator": "cord", "fields": {"rig.name": "\ud800"}},
        {"do": "write", "fields": {"rig.name": "\ud800"}},
        {"do": "measured", "flights": [{"text": "", "name": "\ud800"}]},
        {"do": "beside", "rigs": [{"name": "\ud800", "fields": {}}]},
        {"do": "qr", "text": "x", "name": "\ud800"},
    ):
        assert ask(json.dumps(request))["ok"]
    assert "\ufffd" in ask(json.dumps({"do": "step", "anchor": "\ud800"}))["faults"][0]["message"]


def test_a_whole_number_too_long_to_be_written_is_refused_with_its_field() -> None:
    assert "a text such as" in fault(lambda: load(f"[rig]\nname = 0x{'f' * 5000}"), "rig.name")
    flight = "time s,height m\n" + "\n".join(f"{i},{500 - 5 * i}" for i in range(90))
    reply = ask(json.dumps({"do": "measured", "flights": [{"text": flight, "limits": {"main": [10**400, 1]}}]}))
    assert [one["field"] for one in reply["flights"][0]["faults"]] == ["limits.main"]
    entry = {"do": "enter", "kind": "flight", "day": "2026-01-02", "made": "2026-01-02T03:04:05.006Z", "said": {"flight.went": "as planned"}}
    assert [one["field"] for one in ask(json.dumps(entry | {"found": {"main": [10**400]}}))["faults"]] == ["found"]


@pytest.mark.parametrize("key", ["a." * 32_000 + "a", '"a" . ' * 9_000 + "a", "'a'.\t" * 9_000 + "a"])
@pytest.mark.parametrize("before", ["", "[", "x = 1\n[[", "x = {b = 1, "])
def test_a_name_of_thousands_of_parts_takes_no_time(key: str, before: str) -> None:
    """It took half a minute: tomllib's time for a name grows with the square of its parts."""
    assert f"more than {LONGEST_KEY} parts" in fault(lambda: load(f"{before}{key} = 1"), "")


def test_dots_in_a_text_are_no_parts_of_a_name() -> None:
    measured = " ".join(["main.canopy.size"] * 200)
    assert load(f'rig.start = "x" # {"." * 500}\nrig.measured = "{measured}"\n')["rig.measured"] == measured


def test_a_name_without_letters_is_told_as_one() -> None:
    assert fault(lambda: load('"" = 1')).startswith("A name without letters: a rig has no such field.")


def test_a_row_that_ends_early_is_refused() -> None:
    """It would say of all that was cut off that it is empty."""
    assert "line 2: it has 10 cells" in fault(lambda: read_book(f"{HEAD}\n{PULL},{{}},{{}},{{}},31 N"))


@pytest.mark.parametrize("rows", ["time s,height m\n0,1\n1e-320,1\n", "time ms,height m\n0,1\n5e-324,1\n", "time s,height m\n0,1\n1e-9,1\n"])
def test_samples_that_lie_closer_than_any_instrument_takes_them_are_refused(rows: str) -> None:
    assert "Allowed: times that grow by 0.0001 s or more" in fault(lambda: read_log(rows), "time_unit")


@pytest.mark.parametrize("text", ["[" * 51, "[" * 51 + "]" * 51, '{"a":' * 51 + "1" + "}" * 51, '["\\"", ' + "[" * 50 + "]" * 51, '{"a' + "[" * 60])
def test_json_that_is_nested_deeper_than_a_browser_can_go_is_refused(text: str) -> None:
    """Five thousand deep the browser's stack ended, with no reason told."""
    with pytest.raises(ValueError, match="nested more than 50 deep" if '"a[' not in text else "Unterminated"):
        read_json(text)


def test_brackets_in_texts_and_side_by_side_are_not_deep() -> None:
    assert read_json(json.dumps(["[" * 500, "\\", '"' * 3 + "{" * 90, [[]] * 90])) == ["[" * 500, "\\", '"' * 3 + "{" * 90, [[]] * 90]
