"""Hand-outs: one step, the field card, the walk-through, for every way down and every starting rig.

What must be in them is read from the plan's answers and from the way down, not from the hand-outs' own lists.
"""

import json
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser

import pytest

from loftbook.answer import Check, Step, Verdict
from loftbook.calculators import CALCULATORS
from loftbook.drawing import qr
from loftbook.errors import Refusal
from loftbook.faces import handout
from loftbook.faces.gates import mark_of
from loftbook.faces.live import answer
from loftbook.faces.render import VERDICTS, html
from loftbook.physics.spread import Spread
from loftbook.plan import Plan, joined, parted, plan
from loftbook.quantity import CHARGE_MASS, MASS, Kind, show
from loftbook.rig.bay_fields import MOTOR, NOTHING, POWDER
from loftbook.rig.fields import DEFAULTS, FIELDS, ONE_BAY_38, ONE_BAY_54, ONE_BAY_75, STARTS
from loftbook.rig.ways import HELD, KEYS, NO_DROGUE, ONE_BAY, ONE_CANOPY, TWO_BAYS, TWO_PARTS, WAYS

RIGS = [(start, way) for start in STARTS for way in WAYS]
ANCHOR = re.compile(r"[a-z]+(-[a-z0-9]+)+")
WITHOUT_ELECTRONICS = {"electronics.units": "0", **{f"{key}.charge.kind": MOTOR for key in ("main", "drogue")}}


@cache
def _plan(texts: tuple[tuple[str, str], ...]) -> Plan:
    return plan(dict(texts))


def made(start: str, way: str, **more: str) -> Plan:
    changes = {path.replace("__", "."): text for path, text in more.items()}
    return _plan(tuple(({"rig.start": start, "flight.way": way} | changes).items()))


def told(whole: Plan) -> list[Step]:
    """Every step of every answer, however a plan orders them."""
    return [step for one in whole.answers.values() for step in one.steps]


class Page(HTMLParser):
    """What a page's scripts see of it: items, reasons, articles, headings, links, words, in their order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.items: list[str] = []
        self.whys: list[str] = []
        self.gates: list[str] = []
        self.closed: list[str] = []  # items that can't be ticked
        self.words_of: dict[str, str] = {}  # item, reason or name -> the mark of its words
        self.ids: list[str] = []
        self.bays: list[str] = []
        self.links: list[str] = []
        self.checked = 0
        self.marks: list[str] = []  # headings and items in the order of the page
        self.words = ""
        self.sections: list[str] = []  # headings of sections only
        self._heading = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = {name: value or "" for name, value in attrs}
        self._heading = tag if tag in ("h2", "h3") else ""
        self.ids += [has["id"]] if "id" in has else []
        if "data-item" in has:
            self.checked += "checked" in has
            self.items.append(has["data-item"])
            self.marks.append(has["data-item"])
            self.closed += [has["data-item"]] if "disabled" in has else []
        self.whys += [has["data-why"]] if "data-why" in has else []
        self.gates += [has["data-gate"]] if "data-gate" in has else []
        for name in ("data-item", "data-why", "data-name"):
            if name in has:
                self.words_of[has[name]] = has["data-words"]
        self.bays += [has["data-bay"]] if tag == "article" else []
        self.links += [has["href"]] if tag == "a" else []

    def handle_data(self, data: str) -> None:
        self.words += data
        if self._heading:
            self.marks.append(f"# {data}")
        self.sections += [data] if self._heading == "h2" else []
        self._heading = ""

    def headings(self) -> list[str]:
        return [mark[2:] for mark in self.marks if mark.startswith("# ")]


def walked(whole: Plan) -> Page:
    return Page(html(*handout.walk(whole)))


def carded(whole: Plan, link: tuple[str, str] | None = None) -> Page:
    return Page(html(*handout.card(whole, link)))


# --- every step, once, in its place -----------------------------------------------------------------------


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_every_step_of_every_canopy_and_bay_is_in_the_walk_once(start: str, way: str) -> None:
    whole = made(start, way)
    page = walked(whole)
    anchors = [step.anchor for step in told(whole)]
    assert anchors
    for anchor in anchors:
        assert page.items.count(anchor) == 1, anchor
    assert len(page.ids) == len(set(page.ids))
    assert page.checked == 0
    for item in page.items:
        assert f"walk-{item}" in page.ids


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_no_walk_is_done_with_a_canopy_unfolded_or_a_bay_unpacked(start: str, way: str) -> None:
    items = walked(made(start, way)).items
    there = WAYS[way]
    for canopy in there.canopies:
        for act in ("prep-inspect", "prep-clear-lines", "fold-lay-out", "connect-lines", "pack-bundle", "pack-lines"):
            assert f"{canopy}-{act}" in items, f"{canopy}-{act}"
    for bay in there.bays:
        for act in ("connect-airframe", "pack-protector", "pack-close"):
            assert f"{bay}-{act}" in items, f"{bay}-{act}"
    absent = set(KEYS) - set(there.keys)
    assert not [item for item in items if item.split("-")[0] in absent]


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_anchors_are_well_formed_and_unique(start: str, way: str) -> None:
    whole = made(start, way)
    anchors = [step.anchor for step in told(whole)]
    assert len(anchors) == len(set(anchors))
    for anchor in [*anchors, *walked(whole).items]:
        assert ANCHOR.fullmatch(anchor), anchor


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_the_steps_stand_in_the_order_of_the_work(start: str, way: str) -> None:
    """Electronics, then each canopy in order of opening, then each bay in order of opening."""
    whole = made(start, way)
    steps = [step.anchor for step in handout.steps_of(whole.worked)]
    assert sorted(steps) == sorted(step.anchor for step in told(whole))
    acts = [anchor.split("-")[:2] for anchor in steps]

    def phase(key: str, act: str) -> tuple[int, int]:
        if key == "electronics":
            return 0, 0
        if act in ("prep", "fold"):
            return 1, WAYS[way].canopies.index(key)
        return 2, WAYS[way].bays.index(WAYS[way].home(key))

    phases = [phase(key, act) for key, act in acts]
    assert phases == sorted(phases)


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_a_charge_goes_in_where_it_lies_and_pins_go_in_last(start: str, way: str) -> None:
    whole = made(start, way)
    steps = [step.anchor for step in handout.steps_of(whole.worked)]
    for bay in WAYS[way].bays:
        close = steps.index(f"{bay}-pack-close")
        packed = [i for i, anchor in enumerate(steps) if re.match(rf"({'|'.join(KEYS)})-pack-(?!close)", anchor) and i < close]
        assert packed
        if f"{bay}-pins" in steps:
            assert steps.index(f"{bay}-pins") > close
        if whole.worked.joints[bay].charge.kind == POWDER:
            charge = steps.index(f"{bay}-charge")
            mine = [i for i in packed if i > steps.index(f"{bay}-connect-airframe")]
            assert charge < close
            assert charge > max(mine) if whole.worked.bays[bay].charge_above else charge < min(mine)


@pytest.mark.parametrize("start", STARTS)
@pytest.mark.parametrize(("way", "headings"), [
    (ONE_CANOPY, ["Fold", "Pack"]),
    (TWO_BAYS, ["Fold the drogue", "Fold the main", "Pack the drogue bay", "Pack the main bay"]),
    (TWO_PARTS, ["Fold the aft part’s canopy", "Fold the forward part’s canopy", "Pack"]),
    (NO_DROGUE, ["Fold", "Pack the first bay", "Pack the main bay"]),
    (HELD, ["Fold", "Pack"]),
    (ONE_BAY, ["Fold the drogue", "Fold the main", "Pack"]),
])  # fmt: skip
def test_headings_say_what_is_folded_and_packed(start: str, way: str, headings: list[str]) -> None:
    """The order of two parts apart is the order of opening; both open at once."""
    there = walked(made(start, way)).sections
    assert there == [
        "Checks",
        "Electronics",
        *headings,
        "At the pad",
        "Is it cleared to fly?",
        "After landing or an abort",
        "Is it safe to put away?",
    ]


# --- the walk-through ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_armed_only_on_the_pad_and_after_it_power_off_first(start: str, way: str) -> None:
    page = walked(made(start, way))
    items = page.items
    pad = items.index("pad-officer")
    assert all(not item.startswith(("pad-", "after-")) for item in items[:pad])
    order = ["pad-people", "pad-upright", "pad-arm", "pad-igniter", "after-power-off", "after-charges"]
    places = [items.index(item) for item in order]
    assert places == sorted(places)
    assert items[places[3] + 1] == "after-power-off"  # nothing between the igniter and coming down
    assert items.index("electronics-off") < min(i for i, item in enumerate(items) if "-fold-" in item or "-pack-" in item)


def test_where_nothing_can_be_armed_nothing_is_asked_about_it() -> None:
    whole = _plan(tuple(({"flight.way": ONE_CANOPY} | WITHOUT_ELECTRONICS).items()))
    items = walked(whole).items
    assert not {"pad-arm", "after-power-off"} & set(items)
    assert {"pad-igniter", "after-charges"} <= set(items)


def test_checks_come_before_the_first_fold_and_each_bay_has_its_own() -> None:
    whole = made(next(iter(STARTS)), TWO_BAYS, main__pack__cord_turns="1", drogue__pack__cord_turns="1")
    failed = [check for check in whole.checks if check.verdict == "fail"]
    warned = [check for check in whole.checks if check.verdict == "warn"]
    page = walked(whole)
    assert {"main.cord-wraps", "drogue.cord-wraps"} <= {*page.whys, *page.gates}
    assert sorted([*page.whys, *page.gates]) == sorted(joined(check.bay, check.name) for check in failed)
    looked = [item for item in page.items if item.startswith("check-")]
    assert len(looked) == len(set(looked)) == len(warned)
    first = next(i for i, mark in enumerate(page.marks) if "-prep-" in mark)
    assert all(page.marks.index(item) < first for item in looked)
    for check in failed + warned:
        assert check.reason in page.words


# --- gates ----------------------------------------------------------------------------------------------------

LETHAL = {"main__canopy__size": "300 mm"}  # far too small for its mass: the rate fails, a gate
WRAPPED = {"main__pack__cord_turns": "1"}


def failing(whole: Plan, *, gate: bool) -> list[str]:
    return [joined(check.bay, check.name) for check in whole.checks if check.verdict == "fail" and check.gate is gate]


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_no_failed_gate_can_be_ticked_or_talked_away_and_it_closes_all_work(start: str, way: str) -> None:
    whole = made(start, way, **LETHAL, **WRAPPED)
    page = walked(whole)
    gates = failing(whole, gate=True)
    assert "main.touchdown-rate" in gates
    assert sorted(page.gates) == sorted(gates)
    assert sorted(page.whys) == sorted(failing(whole, gate=False))
    assert not {f"check-{gate.replace('.', '-')}" for gate in gates} & set(page.items)
    work = [item for item in page.items if not item.startswith(("check-", "after-"))]
    assert page.closed == work
    assert {"main-fold-lay-out", "main-pack-close", "pad-officer", "pad-igniter"} <= set(work)
    assert "walk-grounded" in page.ids
    assert handout.GROUNDED in page.words
    for step in told(whole):
        assert step.seen in page.words  # it stays to be read


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_where_no_gate_fails_nothing_is_closed_and_other_failures_take_a_reason(start: str, way: str) -> None:
    whole = judged(made(start, way), "line-length", "fail", "Lines too short.", "main")
    for name in failing(whole, gate=True):
        key, check = parted(name)
        whole = judged(whole, check, "pass", "Mended.", key)
    page = walked(whole)
    assert page.closed == page.gates == []
    assert "main.line-length" in page.whys
    assert handout.GROUNDED not in page.words + carded(whole).words


def test_power_off_after_an_abort_is_never_closed() -> None:
    page = walked(made(next(iter(STARTS)), TWO_BAYS, **LETHAL))
    assert {"after-power-off", "after-charges"} <= set(page.items) - set(page.closed)


def test_a_failed_gate_leads_to_the_fields_that_mend_it() -> None:
    page = walked(made(next(iter(STARTS)), TWO_BAYS, **LETHAL))
    assert "../plan/#plan-main.canopy.size" in page.links
    fields = [link.removeprefix("../plan/#plan-") for link in page.links if link.startswith("../plan/#")]
    assert set(fields) <= set(FIELDS)


def judged(whole: Plan, name: str, verdict: Verdict, reason: str, bay: str | None = None) -> Plan:
    """The same plan with one check judged otherwise: how a check comes to its verdict is its calculator's affair."""

    def other(check: Check) -> Check:
        return replace(check, verdict=verdict, reason=reason) if check.name == name and bay in (None, check.bay) else check

    answers = {title: replace(one, checks=tuple(map(other, one.checks))) for title, one in whole.answers.items()}
    return Plan(whole.worked, answers)


@pytest.mark.parametrize("bay", ["main", "drogue"])
def test_a_missing_ground_test_stands_first_with_what_to_enter_and_where(bay: str) -> None:
    whole = judged(made(next(iter(STARTS)), TWO_BAYS, **LETHAL), "ground-test", "fail", "None entered yet.", bay)
    page = walked(whole)
    assert page.gates[0].endswith(".ground-test")
    assert f"{bay}.ground-test" in page.gates
    assert len(page.gates) >= 2
    for field in ("tested", "repeats", "test_date", "test_pins"):
        assert f"../plan/#plan-{bay}.charge.{field}" in page.links
        assert FIELDS[f"{bay}.charge.{field}"].label in page.words
    assert "../separation/" in page.links


def test_a_gate_to_look_at_again_needs_its_tick_and_shows_why() -> None:
    whole = judged(made(next(iter(STARTS)), TWO_BAYS), "launch-wind", "warn", "Nearly too much of it.")
    looked = [check for check in whole.checks if check.verdict == "warn" and check.gate]
    assert "launch-wind" in [check.name for check in looked]
    page = walked(whole)
    for check in looked:
        item = f"check-{joined(check.bay, check.name).replace('.', '-')}"
        assert item in page.items
        assert item not in page.closed
        assert check.reason in page.words


# --- marks of words -------------------------------------------------------------------------------------------


def test_a_step_has_another_mark_exactly_where_it_has_other_words() -> None:
    one, other = (made(next(iter(STARTS)), TWO_BAYS, **more) for more in ({}, {"drogue__canopy__size": "650 mm"}))
    before, after = walked(one).words_of, walked(other).words_of
    words = [{step.anchor: (step.title, step.text, step.seen) for step in told(whole)} for whole in (one, other)]
    same = [anchor for anchor in words[0] if words[0][anchor] == words[1].get(anchor)]
    changed = [anchor for anchor in words[0] if anchor in words[1] and words[0][anchor] != words[1][anchor]]
    assert len(same) > 10
    assert changed
    assert all(before[anchor] == after[anchor] for anchor in same)
    assert not [anchor for anchor in changed if before[anchor] == after[anchor]]


def test_marks_are_the_same_wherever_they_are_made() -> None:
    """A tick of one release must count in the next if the words are the same: so the way they are made is frozen."""
    assert mark_of("Fold", "in half") == "0b3c483a"  # as gzip writes it of these words with a line feed between them
    assert len({mark_of("ab", "c"), mark_of("a", "bc"), mark_of("abc")}) == 3


def test_a_check_to_look_at_again_and_a_reason_are_given_for_the_figures_in_them() -> None:
    whole = made(next(iter(STARTS)), TWO_BAYS)
    for verdict, item, name in (("warn", "check-launch-wind", "launch-wind"), ("fail", "main.line-length", "line-length")):
        marks = {walked(judged(whole, name, verdict, reason)).words_of[item] for reason in ("8.0 of 8.9", "8.5 of 8.9", "8.5 of 8.9")}
        assert len(marks) == 2


@pytest.mark.parametrize("change", [
    {"main__canopy__size": "2.31 m"}, {"rocket__mass": "5.7 kg"}, {"drogue__pack__cord_turns": "1"}, {"flight__main_height": "210 m"},
])  # fmt: skip
def test_who_looked_at_the_rocket_looked_at_that_rocket(change: dict[str, str]) -> None:
    one, other = made(next(iter(STARTS)), TWO_BAYS), made(next(iter(STARTS)), TWO_BAYS, **change)
    for item in ("pad-officer", "looked-by"):
        assert walked(one).words_of[item] != walked(other).words_of[item]
    assert walked(one).words_of["looked-by"] == carded(one).words_of["looked-by"] != carded(other).words_of["looked-by"]
    seen = made(next(iter(STARTS)), TWO_BAYS, rig__bay="drogue")
    assert walked(one).words_of == walked(seen).words_of  # which bay a page shows is nothing to the officer


def test_the_wind_is_looked_at_again_when_another_wind_is_entered() -> None:
    one, other = (walked(made(next(iter(STARTS)), TWO_BAYS, flight__wind=wind)) for wind in ("3 m/s", "4 m/s"))
    assert one.words_of["pad-wind"] != other.words_of["pad-wind"]
    assert one.words_of["pad-people"] == other.words_of["pad-people"]


# --- one step -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", WAYS)
def test_every_step_stands_alone_and_next_leads_through_all(way: str) -> None:
    whole = made(next(iter(STARTS)), way)
    steps = handout.steps_of(whole.worked)
    anchor, seen = "", []
    while True:
        page = Page(html(*handout.step(whole, anchor)))
        seen.append(page.ids[0])
        now = next(step for step in steps if step.anchor == page.ids[0])
        for words in (now.title, now.text, now.seen, now.otherwise, f"step {len(seen)} of {len(steps)}"):
            assert words in page.words
        listed = [link[1:] for link in page.links[-len(steps) :]]
        assert listed == [step.anchor for step in steps]
        if len(seen) == len(steps):
            break
        anchor = page.links[0 if len(seen) == 1 else 1][1:]
    assert seen == [step.anchor for step in steps]


@pytest.mark.parametrize("anchor", ["main-fold-pleat-9", "forward-pack-bundle", "pack-bundle", "<b>", "x" * 500])
def test_a_step_that_a_rig_does_not_have_is_refused_with_those_it_has(anchor: str) -> None:
    whole = made(next(iter(STARTS)), TWO_BAYS)
    with pytest.raises(Refusal) as caught:
        handout.step(whole, anchor)
    (fault,) = caught.value.faults
    assert len(fault.given) <= 60
    assert fault.allowed.split(", ") == [step.anchor for step in handout.steps_of(whole.worked)]


# --- the card -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_the_card_has_a_side_for_each_bay_and_names_every_canopy(start: str, way: str) -> None:
    whole = made(start, way)
    page = carded(whole)
    there = WAYS[way]
    assert page.bays == list(there.bays)
    folds = [heading for heading in page.headings() if heading.startswith("Fold")]
    assert len(folds) == len(there.canopies)
    for canopy in there.canopies:
        assert len(there.canopies) == 1 or any(whole.worked.title(canopy) in heading for heading in folds)
        last = [step for step in told(whole) if step.anchor.startswith(f"{canopy}-fold-")][-1]
        assert last.seen in page.words
    for bay in there.bays:
        steps = [step for step in told(whole) if step.anchor.startswith(f"{bay}-pack-")]
        assert steps
        for step in steps:
            assert step.seen in page.words
    for caution in handout.CARD_CAUTIONS:
        assert page.words.count(caution) == len(there.bays)


def test_each_side_is_complete_in_itself() -> None:
    """Numbers, folds, packing and checks of one bay, none of the other's."""
    whole = made(next(iter(STARTS)), TWO_BAYS, drogue__pack__cord_turns="1")
    sides = {bay: Page(html(side)).words for bay, side in zip(("drogue", "main"), handout.card(whole), strict=True)}
    for bay, other in (("drogue", "main"), ("main", "drogue")):
        for step in told(whole):
            if step.anchor.startswith((f"{bay}-pack-", f"{bay}-fold-halve")):
                assert step.seen in sides[bay]
        bundle = whole.answers[f"{bay}.folding"].outputs["bundle_length"]
        assert isinstance(bundle, float)
        assert whole.worked.show(bundle, _kind("folding", "bundle_length")) in sides[bay]
        assert f"{whole.rig.text('rig.name')}: {bay} bay" in sides[bay]
        assert f"Fold the {other}" not in sides[bay]
        mine = [check for check in whole.checks if check.bay != other]
        assert 0 < len(mine) < len(whole.checks)
        short = any(check.verdict == "fail" and check.gate for check in whole.checks)  # a rocket that does not fly is mended in the plan, not on paper
        open_ = [
            f"{check.title}: {VERDICTS[check.verdict]}: {check.reason.split('. ')[0] if short else check.reason}"
            for check in mine
            if check.verdict != "pass"
        ]
        assert all(line in sides[bay] for line in open_)
        held = [check.title for check in mine if check.verdict == "pass"]
        assert f"{VERDICTS['pass']} ({len(held)}): {'; '.join(held)}." in sides[bay]
        assert sides[bay].count("☐") == len(open_) + 1 + sum(
            step.anchor.startswith(f"{bay}-") and "-prep-" not in step.anchor for step in told(whole)
        )
    assert "Cord round the bundle: Fails" in sides["drogue"]
    assert "Cord round the bundle: Fails" not in sides["main"]


def _kind(name: str, output: str) -> Kind:
    return next(one.kind for one in CALCULATORS[name].outputs if one.name == output)


@pytest.mark.parametrize("way", WAYS)
def test_codes_lead_to_the_first_step_of_each_section(way: str, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[str] = []
    real = qr.qr_code
    monkeypatch.setattr(qr, "qr_code", lambda text, name: drawn.append(text) or real(text, name))
    whole = made(next(iter(STARTS)), way)
    carded(whole, ("http://localhost/step/#", "~payload"))
    there = {step.anchor for step in handout.steps_of(whole.worked)}
    assert len(drawn) == len(WAYS[way].canopies) + len(WAYS[way].bays)
    for address in drawn:
        assert address.removeprefix("http://localhost/step/#").removesuffix("~payload") in there
    drawn.clear()
    carded(whole, ("http://localhost/step/#", "~" + "a" * handout.LONGEST_LINK))
    assert drawn == []  # no symbol holds it: a card without codes rather than none


@pytest.mark.parametrize("link", ["x", ["a"], ["a", 1], [["a", "b"]]])
def test_a_link_that_is_no_pair_of_texts_is_refused(link: object) -> None:
    assert json.loads(answer(json.dumps({"do": "card", "fields": {}, "link": link})))["ok"] is False


# --- across every sheet ---------------------------------------------------------------------------------


def bands(*sheets: object) -> list[tuple[str, str]]:
    """(whose, words) of every band in them."""
    return re.findall(r'class="loft-band" data-whose="(\w+)" data-still="\d+"[^>]*>([^<]+)<', " ".join(map(str, sheets)))


def sheets_of(whole: Plan) -> list[str]:
    return [html(*handout.card(whole)), html(*handout.walk(whole)), html(*handout.step(whole, ""))]


@pytest.mark.parametrize("start", STARTS)
def test_every_sheet_says_demo_rig_not_yours_until_a_measure_is_the_reader_s(start: str) -> None:
    named = _plan((("rig.start", start), ("rig.name", "Mine by name only")))
    for sheet in sheets_of(named):
        assert set(bands(sheet)) == {("demo", handout.DEMO)}
    one = _plan((("rig.start", start), ("rocket.mass", "13.5 kg")))
    (words,) = {band for sheet in sheets_of(one) for band in bands(sheet)}
    still, asked = map(int, re.findall(r"\d+", words[1]))
    assert words[0] == "partly"
    assert still == asked - 1
    own = _plan(tuple(STARTS[start].items()))  # equal texts, said by the reader
    assert {band for sheet in sheets_of(own) for band in bands(sheet)} == {("own", "Every measure is yours")}
    assert len(bands(html(*handout.card(own)))) == len(own.rig.way.bays)


def test_every_sheet_names_what_its_rig_fails() -> None:
    sound = made(next(iter(STARTS)), TWO_BAYS)
    for sheet in sheets_of(sound):
        assert "loft-strip" not in sheet.split("data-end", 1)[0]
        assert "loft-grounded" not in sheet
    failing_ = judged(sound, "line-length", "fail", "Lines too short.", "main")
    gated = judged(failing_, "touchdown-rate", "fail", "Too fast.", "main")
    for whole, words in ((failing_, "This rig fails a check: Length of the lines, main."), (gated, f"{handout.GROUNDED} Fails: Touchdown rate, main.")):
        for sheet in sheets_of(whole):
            assert words in Page(sheet).words


def test_a_list_whose_ground_test_is_the_starting_rig_s_says_so_at_its_end() -> None:
    lent = html(*handout.walk(_plan((("flight.apogee", "1100 m"),))))
    assert 'data-lent="yes"' in lent
    said = [(f"{key}.charge.{name}", DEFAULTS[f"{key}.charge.{name}"]) for key in ("main", "drogue") for name in ("tested", "repeats", "test_date", "test_pins")]
    assert "data-lent" not in html(*handout.walk(_plan((("flight.apogee", "1100 m"), *said))))


# --- cards of the walk-through ----------------------------------------------------------------------------


@pytest.mark.parametrize("way", WAYS)
def test_a_card_has_its_step_s_picture_and_what_to_do_if_it_is_not_right(way: str) -> None:
    whole = made(next(iter(STARTS)), way)
    there = html(*handout.walk(whole))
    for step in told(whole):
        card = there[there.index(f'id="card-{step.anchor}"') :].split("loft-card-title", 2)[0]
        assert Page(card).words.count(step.otherwise) == 1
        assert (step.drawing is not None) is ("<figure" in card)
    for item in ("pad-people", "pad-upright", "pad-arm", "pad-igniter", "pad-officer", "pad-wind", *(f"after-{act}" for act in ("power-off", "charges", "look"))):
        card = there[there.index(f'id="card-{item}"') :].split("loft-card-title", 2)[0]
        assert "If not: " in Page(card).words, item


def cautions_before_picture(card: str) -> bool:
    """Whether every caution stands on a card, before its picture and its words."""
    before = Page(card.split("<figure")[0].split('class="loft-do"')[0]).words
    return all(caution in before for caution in handout.CARD_CAUTIONS)


@pytest.mark.parametrize("way", WAYS)
def test_where_it_comes_to_a_charge_every_caution_stands_on_the_card_before_all_else(way: str) -> None:
    there = html(*handout.walk(made(next(iter(STARTS)), way)))
    grave = [item for item in Page(there).items if item.endswith("-charge")]
    assert grave
    for item in (*grave, "pad-arm", "pad-igniter", "after-power-off", "after-charges"):
        assert cautions_before_picture(there[there.index(f'id="card-{item}"') :]), item
    for bay in WAYS[way].bays:  # closed over a charge
        assert "A charge is in the rocket" in there[there.index(f'id="card-{bay}-pack-close"') :].split("loft-do", 1)[0]


def test_two_ends_stand_where_flight_and_ground_end_and_neither_is_reached_by_itself() -> None:
    there = html(*handout.walk(made(next(iter(STARTS)), TWO_BAYS)))
    assert there.index('id="card-pad-igniter"') < there.index('data-end="flight"') < there.index('id="card-after-power-off"')
    assert there.index('id="card-after-look"') < there.index('data-end="ground"')
    assert "data-reached" not in there


# --- powder ---------------------------------------------------------------------------------------------


def estimates(whole: Plan) -> set[str]:
    """Every mass that the plan gives as an estimate, as it would be written."""
    found = [one.outputs["mass"] for name, one in whole.answers.items() if name.endswith("separation")]
    ends = [end for mass in found if isinstance(mass, Spread) for end in (mass.low, mass.best, mass.high)]
    return {show(end, MASS, whole.rig.units) for end in ends}


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_card_walk_and_steps_say_no_mass_of_powder_that_was_not_tested(start: str, way: str) -> None:
    untested = made(start, way)
    guesses = estimates(untested)
    assert guesses or start in (ONE_BAY_38, ONE_BAY_54) or (start, way) == (ONE_BAY_75, ONE_BAY)  # below 0.3 g no figure is given
    steps = " ".join(Page(html(*handout.step(untested, step.anchor))).words for step in told(untested) if "charge" in step.anchor)
    for words in (carded(untested).words, walked(untested).words, steps):
        for guess in guesses:
            assert not re.search(rf"(?<![\d.]){re.escape(guess)}(?![\w/²³])", words), guess
    assert carded(untested).words.count("no mass of yours tested yet") == len(WAYS[way].bays)


@pytest.mark.parametrize("way", WAYS)
def test_a_tested_mass_is_on_the_card(way: str) -> None:
    bays = WAYS[way].bays
    tested = made(next(iter(STARTS)), way, **{f"{bay}__charge__tested": f"1.{n}7 g" for n, bay in enumerate(bays)})
    for n, side in enumerate(handout.card(tested)):
        assert f"1.{n}7 g (" in Page(html(side)).words


TEST = {"tested": "1.37 g", "repeats": "3", "test_pins": "2", "test_date": "12 May"}


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_the_card_prints_each_bay_s_ground_test(start: str, way: str) -> None:
    whole = made(start, way, **{f"{bay}__charge__{field}": text for bay in WAYS[way].bays for field, text in TEST.items()})
    for bay, side in zip(WAYS[way].bays, handout.card(whole), strict=True):
        joint, words = whole.worked.joints[bay], Page(html(side)).words
        assert ("Ground test12 May, " in words) is joint.charge.fired
        if joint.charge.fired:
            mass = f"{whole.worked.at_least(1.37e-3, CHARGE_MASS)}, " if joint.charge.kind == POWDER else ""
            assert f"12 May, {mass}2 pins, threw everything clear 3 times running" in words


def test_what_was_not_written_down_of_a_test_is_said_on_the_card() -> None:
    (side,) = handout.card(made(next(iter(STARTS)), ONE_CANOPY, main__charge__tested="1.3 g"))
    assert "day not written down, 1.3 g (20.1 grains), pins not written down, parted it once, never repeated" in Page(html(side)).words
    (side,) = handout.card(made(next(iter(STARTS)), ONE_CANOPY, main__charge__tested="1.3 g", main__charge__repeats="1", main__charge__test_pins="1"))
    assert "1.3 g (20.1 grains), 1 pin, parted it once, never repeated" in Page(html(side)).words


@pytest.mark.parametrize(("start", "way"), RIGS)
def test_each_side_of_a_card_has_a_line_for_who_looked_and_says_if_it_does_not_fly(start: str, way: str) -> None:
    whole = made(start, way, **LETHAL)
    titles = [check.title for check in whole.checks if check.gate and check.verdict == "fail"]
    assert titles
    for side in handout.card(whole):
        words = Page(html(side)).words
        assert words.count("Looked at by: ") == 1
        assert handout.GROUNDED in words
        assert all(title in words for title in titles)


@pytest.mark.parametrize(("kind", "words"), [
    (MOTOR, "the motor's own charge, delay 8 s"), (NOTHING, "no charge of its own"), ("another gas", "another gas"),
])  # fmt: skip
def test_another_charge_asks_for_no_mass(kind: str, words: str) -> None:
    page = carded(made(next(iter(STARTS)), ONE_CANOPY, main__charge__kind=kind))
    assert words in page.words
    assert "of powder" not in page.words
    assert "no ground test yet" not in page.words
