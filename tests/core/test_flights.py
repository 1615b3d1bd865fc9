"""The page's door to flights: what is opened, asked, found and handed over; what is wrong with one keeps no other from being told."""

import json
import math
import random
import re
import sys
from functools import cache
from pathlib import Path

import pytest

from loftbook.faces import flights, live
from loftbook.faces.live import answer
from loftbook.faces.measuring import Told, measured
from loftbook.faces.render import html
from loftbook.rig.bay_fields import MEASURED
from loftbook.rig.parsing import parse
from loftbook.rig.ways import TWO_PARTS
from loftbook.worked.worked import Worked

sys.path.insert(0, str(Path(__file__).parents[2] / "scripts"))

import trials

RIG = {"rocket.mass": "5.6 kg", "site.elevation": "120 m"}


@cache
def text(seed: int = 5, **fixed: float) -> str:
    rng = random.Random(seed)
    return trials.record(trials.drawn(rng, **(trials.CALM | {"warmer": 0.0, "main": 2.4, "drogue": 0.18} | fixed)), rng)


def ask(*opened: dict, timed: tuple[dict, ...] = (), **fields: str) -> dict:
    return json.loads(answer(json.dumps({"do": "measured", "fields": RIG | fields, "flights": opened, "timed": timed})))


DAY = {"temperature": "14.2 °C"}


def limits_of(key: str) -> list[str]:
    """From when to when a canopy of the usual flight was open, as its reader may say it."""
    one = ask({"text": text()} | DAY)["flights"][0]["canopies"][key]
    return [f"{one['from']:.1f}", f"{one['to']:.1f}"]


# --- files ----------------------------------------------------------------------------------------------


def test_a_file_is_told_as_the_terminal_tells_it(tmp_path: Path) -> None:
    reply = ask({"text": text()} | DAY)
    file = tmp_path / "flight.csv"
    file.write_text(text())
    from loftbook.faces.command import parser

    options = parser("measured").parse_args(["measured", "rig", str(file), "--temperature", "14.2 °C"])
    told = measured(Worked(parse(RIG)), options)
    assert isinstance(told, Told)
    assert reply["canopies"] == json.loads(json.dumps(told.data()["canopies"]))
    (flight,) = reply["flights"]
    for key, true in (("drogue", 0.18), ("main", 2.4)):
        one = flight["canopies"][key]
        assert one["low"] < true < one["high"]
        assert 0 < one["from"] < one["to"] < 400
    assert flight["faults"] == []
    assert 600 < flight["apogee"] < 1900
    assert 30 < flight["time"] < 400
    for words in (" drogue</td>", " main</td>", "The rig says now", "95 % sure", "samples; column 1 is time in s"):
        assert words in reply["html"]


def test_what_a_file_does_not_say_is_asked_for_beside_it_and_the_others_are_told() -> None:
    bare = text().split("\n", 1)[1]
    damaged = text().replace("\n40.000,", "\n40.000,x")
    reply = ask({"text": text()} | DAY, {"text": bare}, {"text": damaged}, {"text": text(6)} | DAY)
    whole, asks, broken, other = reply["flights"]
    (said,) = ask({"text": bare, "time_unit": "s", "height_unit": "m"} | DAY)["flights"]
    assert whole["faults"] == said["faults"] == other["faults"] == []
    assert whole["canopies"] == said["canopies"]
    assert [(fault["field"], fault["allowed"]) for fault in asks["faults"]] == [("time_unit", "s or ms")]
    (fault,) = broken["faults"]
    assert re.match(r"line \d+: a number is missing", fault["message"])
    assert fault["message"] in reply["html"]
    assert '<select id="flight-1-time_unit" data-said="time_unit" aria-describedby="flight-1-time_unit-help flight-1-time_unit-fault" aria-invalid="true">' in reply["html"]
    assert 'id="flight-0-time_unit"' not in reply["html"]
    assert "Drogue, 2 flights" in reply["html"]


def test_which_column_is_asked_and_may_be_said() -> None:
    wide = "\n".join(f"{row},{i % 7}" for i, row in enumerate(text().split("\n")[1:]))
    said = {"text": wide, "time_unit": "s", "height_unit": "m"} | DAY
    assert [(fault["field"], fault["allowed"]) for fault in ask(said)["flights"][0]["faults"]] == [("height_column", "one of 2, 3")]
    assert ask(said | {"height_column": "2"})["flights"][0]["canopies"] == ask({"text": text()} | DAY)["flights"][0]["canopies"]
    for wrong in ("two", "-1", "٣", "1.5"):
        (fault,) = ask(said | {"height_column": wrong})["flights"][0]["faults"]
        assert (fault["field"], fault["given"]) == ("height_column", wrong)


@pytest.mark.parametrize(("name", "given", "readings"), [("temperature", "28", True), ("temperature", "900 °C", False), ("mass", "5", True), ("mass", "2 t", False)])
def test_what_is_said_wrongly_is_named_with_what_was_given(name: str, given: str, readings: bool) -> None:
    reply = ask({"text": text(), name: given})
    (fault,) = reply["flights"][0]["faults"]
    assert fault["field"] == name
    assert fault["given"]
    assert bool(fault["readings"]) == readings
    assert ('data-fill="flight-0-' + name in reply["html"]) == readings


def test_another_mass_is_another_drag_in_proportion() -> None:
    one, other = (ask({"text": text()} | DAY | more)["flights"][0]["canopies"]["main"]["best"] for more in ({}, {"mass": "11.2 kg"}))
    assert other == pytest.approx(2 * one)


def test_a_day_not_told_is_noted_and_wider() -> None:
    silent, told = ask({"text": text()}), ask({"text": text()} | DAY)
    assert "Nobody said how warm it was" in silent["html"]
    assert "Nobody said how warm it was" not in told["html"]
    assert silent["flights"][0]["canopies"]["main"]["high"] > told["flights"][0]["canopies"]["main"]["high"]


def test_a_clock_of_another_day_is_counted_from_the_first_sample() -> None:
    rows = [row.split(",") for row in text().split("\n")[1:]]
    late = "time (s),altitude (m)\n" + "\n".join(f"{float(time) + 1_700_000:.3f},{height}" for time, height in rows)
    one, other = (ask({"text": each} | DAY)["flights"][0]["canopies"]["main"] for each in (text(), late))
    assert one == pytest.approx(other, rel=1e-6)


# --- limits ------------------------------------------------------------------------------------------------


def test_limits_can_be_moved_and_the_fit_follows() -> None:
    found = ask({"text": text()} | DAY)["flights"][0]["canopies"]
    start, end = found["main"]["from"], found["main"]["to"]
    half = [f"{start:.1f}", f"{(start + end) / 2:.1f}"]
    reply = ask({"text": text(), "limits": {"main": half}} | DAY)
    moved = reply["flights"][0]["canopies"]
    assert [moved["main"]["from"], moved["main"]["to"]] == [float(one) for one in half]
    assert moved["main"]["high"] - moved["main"]["low"] > found["main"]["high"] - found["main"]["low"]
    assert moved["drogue"] == found["drogue"]
    assert "Limits as found" in reply["html"]
    assert "Limits as found" not in ask({"text": text()} | DAY)["html"]
    assert ask({"text": text(), "limits": {"main": ["", ""]}} | DAY)["flights"][0]["canopies"] == found


@pytest.mark.parametrize("pair", [["80", "60"], ["60", "x"], ["60", ""], ["nan", "70"], ["-50", "70"], ["60", "1e9"], ["80", "80.5"]])
def test_limits_that_are_none_are_named_and_the_other_canopy_is_told(pair: list[str]) -> None:
    reply = ask({"text": text(), "limits": {"main": pair}} | DAY)
    (flight,) = reply["flights"]
    assert [fault["field"] for fault in flight["faults"]] == ["limits.main"]
    assert set(flight["canopies"]) == {"drogue"}
    assert "<svg" in reply["html"]
    assert f'value="{pair[0]}"' in reply["html"]  # what was typed stays to be mended


def test_a_file_in_which_nothing_is_found_asks_for_limits_beside_its_picture() -> None:
    level = "time (s),altitude (m)\n" + "\n".join(f"{i / 10},{100 + math.sin(i)}" for i in range(400))
    reply = ask({"text": level})
    assert "no canopy's steady sinking is found" in reply["flights"][0]["faults"][0]["message"]
    assert "<svg" in reply["html"]
    assert 'data-limit="main"' in reply["html"]


def test_two_parts_are_asked_whose_altimeter_it_was() -> None:
    way = {"flight.way": TWO_PARTS}
    assert [fault["field"] for fault in ask({"text": text()}, **way)["flights"][0]["faults"]] == ["of"]
    (flight,) = ask({"text": text(), "of": "forward"}, **way)["flights"]
    assert "2 stretches of steady sinking, where this rig has 1 way" in flight["faults"][0]["message"]
    (flight,) = ask({"text": text(), "of": "forward", "limits": {"forward": limits_of("main")}}, **way)["flights"]
    assert set(flight["canopies"]) == {"forward"}


def test_the_same_samples_are_one_flight_whatever_is_said_of_them() -> None:
    again = text().replace("\n0.", "\n0.0", 1)
    one = ask({"text": text()} | DAY)
    reply = ask({"text": text()} | DAY, {"text": text(6)} | DAY, {"text": again, "temperature": "30 °C", "mass": "6 kg"})
    assert [len(flight["faults"]) for flight in reply["flights"]] == [0, 0, 1]
    assert reply["flights"][2]["faults"][0]["message"] == "file: these are the samples of flight 1: one flight counts once."
    assert reply["flights"][0] == one["flights"][0]
    assert "Main, 2 flights" in reply["html"]
    assert "Two altimeters in one flight are one flight" in reply["html"]


def test_a_flight_that_does_not_match_the_rig_shows_its_picture_and_asks() -> None:
    """Three rates and two canopies: the picture and each rate, no drag, and limits to be said; once said, that canopy is told."""
    rows, height, time = ["time (s),altitude (m)"], 0.0, 0.0
    for lasts, rate in ((5, 0), (8, 120), (20, -22), (25, -10), (54, -5), (30, 0)):
        for _ in range(lasts * 10):
            rows.append(f"{time:.1f},{height + math.sin(7 * time) / 3:.2f}")
            time, height = time + 0.1, height + rate / 10
    fouled = {"text": "\n".join(rows)} | DAY
    reply = ask(fouled)
    (flight,) = reply["flights"]
    assert flight["canopies"] == {}
    assert "3 stretches of steady sinking, where this rig has 2 ways" in flight["faults"][0]["message"]
    assert "<svg" in reply["html"]
    assert reply["html"].count("not named</td>") == 3
    assert 'data-limit="main"' in reply["html"]
    assert "data-take" not in reply["html"]
    said = ask(fouled | {"limits": {"main": ["66", "108"]}})
    assert set(said["flights"][0]["canopies"]) == {"main"}
    assert said["flights"][0]["faults"] == []
    assert "main.canopy.cd_measured_low" in said["html"]
    ground = ask(fouled | {"limits": {"main": ["66", "130"]}})
    assert "is not all of it sinking" in ground["flights"][0]["faults"][0]["message"]


# --- over all of them ----------------------------------------------------------------------------------------


def test_flights_are_pooled_with_weights_and_an_odd_one_is_marked_and_kept() -> None:
    odd = text(9, main=2.1)
    reply = ask(*({"text": text(seed, main=3.4)} | DAY for seed in (5, 6, 7, 8)), {"text": odd} | DAY)
    assert "Main, 5 flights" in reply["html"]
    weights = [int(share) for share in re.findall(r"<td>(\d+) %</td>", reply["html"])]
    assert len(weights) == 10  # five each of two canopies
    assert abs(sum(weights[5:]) - 100) <= 3
    assert reply["canopies"]["main"]["drag_area"]["low"] <= reply["flights"][4]["canopies"]["main"]["best"]


def test_a_timed_descent_is_told_and_pooled_and_its_defaults_are_not_the_optimistic_end() -> None:
    watched = {"of": "main", "high": "200 m", "seconds": "33"}
    reply = ask({"text": text()} | DAY, timed=({}, watched, watched | {"sure": "2 m", "begun": "it sank steadily already"} | DAY))
    empty, plain, sure = reply["timed"]
    assert empty == {"canopies": {}, "faults": []}
    assert plain["canopies"]["main"]["high"] - plain["canopies"]["main"]["low"] > 3 * (sure["canopies"]["main"]["high"] - sure["canopies"]["main"]["low"])
    assert "Main, 1 flight and 2 by watch" in reply["html"]
    assert reply["canopies"]["main"]["fields"]["main.canopy.cd_measured_from"] == "1 flight and 2 by watch"
    assert "Say a height and seconds." in reply["html"]


@pytest.mark.parametrize(("said", "field"), [
    ({"high": "200"}, "high"), ({"high": "200 m"}, "seconds"), ({"high": "200 m", "seconds": "0"}, "seconds"), ({"high": "20 m", "low": "30 m", "seconds": "9"}, "high"),
    ({"high": "200 m", "seconds": "33", "sure": "much"}, "sure"), ({"high": "200 m", "seconds": "33", "sure": "-5 m"}, "sure"), ({"high": "200 m", "seconds": "33", "sure": "80 %"}, "sure"),
    ({"high": "200 m", "seconds": "33", "watch": "1 h"}, "watch"), ({"high": "200 m", "seconds": "33", "begun": "x"}, "begun"), ({"high": "200 m", "seconds": "33", "of": "forward"}, "of"),
    ({"high": "200 m", "seconds": "33", "mass": "0 kg"}, "mass"), ({"high": "90 km", "seconds": "33"}, "high"),
])  # fmt: skip
def test_what_is_wrong_with_a_timed_descent_stands_at_its_field(said: dict, field: str) -> None:
    reply = ask(timed=(said,))
    faults = reply["timed"][0]["faults"]
    assert [fault["field"] for fault in faults] == [field]
    assert faults[0]["given"] or not said.get(field)
    assert faults[0]["allowed"]
    assert f'id="timed-0-{field}-fault"><p>' in reply["html"]


# --- into the rig ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("family", ["flat polygon", MEASURED])
def test_what_is_offered_is_taken_and_then_said_to_be_taken(family: str) -> None:
    own = {"main.canopy.family": family, "main.canopy.area": "4 m²"}
    before = ask({"text": text()} | DAY, **own)
    fields = before["canopies"]["main"]["fields"]
    assert 'data-take="{&quot;main.canopy.cd' in before["html"]
    after = ask({"text": text()} | DAY, **own, **fields)
    assert after["canopies"]["main"]["fields"] == fields
    assert after["html"].count("data-take") == before["html"].count("data-take") - 1
    assert 'follow it.</p>' in after["html"]
    typed = ask({"text": text()} | DAY, **own, **{path: told for path, told in fields.items() if path != "rig.measured"})
    assert "follow it.</p>" not in typed["html"]  # the same numbers, but nobody's measure


def test_what_a_rig_cannot_say_is_not_offered() -> None:
    reply = ask({"text": text(), "limits": {"drogue": limits_of("drogue")}} | DAY, **{"drogue.canopy.size": "0.1 m"})
    assert "Not to be taken over" in reply["html"]
    assert reply["canopies"]["drogue"]["fields"] == {}


# --- the example, and what is no request --------------------------------------------------------------------------


def test_the_example_is_nobodys_flight_and_says_so_and_is_the_demo_rigs() -> None:
    session = flights.example()
    made = html(*flights.parts(session))
    assert made == html(*flights.parts(flights.example()))
    assert "Example, nobody&#x27;s flight" in made or "Example, nobody's flight" in made
    assert "data-take" not in made
    assert "<input" not in made
    assert "anywhere in its range" not in made  # it came down as planned
    (opened,) = session.flights
    assert opened.faults == []
    assert opened.flight is not None
    assert len(opened.flight.log.spikes) == 2
    assert len(opened.flight.log.gaps) == 1
    planned = session.worked.canopies
    assert opened.found["drogue"].drag_area.best == pytest.approx(planned["drogue"].drag_area.best, rel=0.01)
    together = planned["drogue"].drag_area.best + planned["main"].drag_area.best  # they hang open side by side
    assert opened.found["main"].drag_area.best == pytest.approx(together, rel=0.02)


@pytest.mark.parametrize("request_", [
    {"flights": None}, {"flights": [1]}, {"flights": {"text": "x"}}, {"flights": [{}] * 25}, {"timed": "x"}, {"fields": {"rocket.mass": "5"}},
])  # fmt: skip
def test_what_is_no_list_of_flights_or_no_rig_is_refused(request_: dict) -> None:
    reply = json.loads(answer(json.dumps({"do": "measured"} | request_)))
    assert reply["ok"] is False
    assert reply["faults"][0]["message"]


@pytest.mark.parametrize("said", [{}, {"text": 5}, {"text": ""}, {"text": "x", "time_unit": 5}, {"text": text(), "when": "x" * 300}, {"text": text(), "limits": [1]}, {"text": text(), "of": []}])
def test_nonsense_about_a_flight_is_a_fault_or_nothing(said: dict) -> None:
    reply = ask(said)
    assert reply["ok"]
    assert reply["flights"][0]["faults"] or reply["flights"][0]["canopies"]


def test_what_is_typed_never_becomes_markup() -> None:
    reply = ask({"text": text(), "name": "<script>1</script>", "when": '"><b>', "temperature": "<i>"}, timed=({"high": "<u>", "seconds": "<s>"},))
    for tag in ("<script", "<b>", "<i>", "<u>", "<s>"):
        assert tag not in reply["html"]


def test_only_a_request_that_brings_files_may_be_long() -> None:
    long = "x" * (live.LONGEST_REQUEST + 10)
    assert "says what to do" in json.loads(answer(json.dumps({"do": "read", "text": long})))["faults"][0]["message"]
    assert "says what to do" in json.loads(answer(json.dumps({"text": long, "do": "measured"})))["faults"][0]["message"]
    padded = text() + "\n" + "\n".join("# " + "x" * 1000 for _ in range(1100))
    reply = ask({"text": padded} | DAY)
    assert len(padded) > live.LONGEST_REQUEST
    assert reply["flights"][0]["canopies"] == ask({"text": text()} | DAY)["flights"][0]["canopies"]
    assert "says what to do" in json.loads(answer('{"do":"measured","x":"' + "x" * flights.LONGEST_REQUEST + '"}'))["faults"][0]["message"]
