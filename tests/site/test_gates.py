"""The walk-through's gates in a browser: nothing talks a reader past one, ticks and names belong to what they were given for."""

import json
import re

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from test_pages import open_all, payload, told, type_in

from conftest import NO_DATABASE, until
from loftbook.faces.handout import GROUNDED
from loftbook.physics.spread import Spread
from loftbook.plan import plan
from loftbook.rig.fields import DEFAULTS

pytestmark = pytest.mark.browser

WALK, CARD, PLAN = "field/", "card/", "plan/"
DONE = "document.querySelector('.loft-progress').dataset.done"
LETHAL = {"main.canopy.size": "700 mm"}
CHANGE = {"drogue.canopy.size": "650 mm"}  # other words in the drogue's steps, the same in most of the main's
SHORT = {"main.cord.length": "3 m"}, {"main.cord.length": "2.9 m"}  # a failed check that is no gate, in other words
ITEM = re.compile(r'data-item="([^"]+)" data-words="([^"]+)"')


def with_tests(fields: dict[str, str] | None = None) -> dict[str, str]:
    """A rig with a repeated ground test, near the plan's estimate, of every charge that electronics fire."""
    said = dict(fields or {})
    whole = plan(said)
    for bay, joint in whole.worked.joints.items():
        mass = whole.answers[f"{bay}.separation"].outputs["mass"]
        if joint.charge.fired and isinstance(mass, Spread):
            said |= {f"{bay}.charge.tested": f"{mass.best * 1000:.2f} g", f"{bay}.charge.repeats": "3"}
            said |= {f"{bay}.charge.test_pins": str(joint.pins), f"{bay}.charge.test_date": "12 May"}
    failed = [check for check in plan(said).checks if check.verdict == "fail"]
    assert not failed, failed
    return said


def open_with(context: BrowserContext, url: str, fields: dict[str, str] | None = None) -> Page:
    page = context.new_page()
    page.goto(url + (f"#~{payload(fields)}" if fields else ""))
    live(page)
    if url.endswith(WALK):
        as_list(page)
    if fields:
        until(page, f"localStorage.getItem('loftbook.rig')?.includes({json.dumps(next(iter(fields.values())))})")
        until(page, "!document.querySelector('.loft-stale')")
    return page


def as_list(page: Page) -> None:
    """Everything at once, one below the other, so that any of it can be ticked; what is ticked is the same on the cards."""
    until(page, "document.querySelector('.loft-view') !== null")
    if page.locator("loft-handout").get_attribute("data-view") == "cards":
        page.locator(".loft-view").click()


def live(page: Page) -> None:
    until(page, "Number(document.querySelector('.loft-answer').dataset.answer) > 0")


def change(context: BrowserContext, site_url: str, fields: dict[str, str]) -> None:
    """Types into the plan in another tab, as a reader would."""
    page = open_with(context, f"{site_url}{PLAN}")
    open_all(page)
    for path, text in fields.items():
        type_in(page, path, text)
    until(page, "JSON.parse(localStorage.getItem('loftbook.rig'))" + "".join(f"[{json.dumps(path)}] === {json.dumps(text)}" for path, text in list(fields.items())[-1:]))
    page.close()


def marks(fields: dict[str, str]) -> dict[str, str]:
    return dict(ITEM.findall(told("walk", fields)))


def whys(fields: dict[str, str]) -> dict[str, str]:
    """Failed checks that take a reason, with the marks of their words."""
    return dict(re.findall(r'data-why="([^"]+)" data-words="([^"]+)"', told("walk", with_tests() | fields)))


def tick_all(page: Page) -> None:
    """All that can be ticked, and who looked at it."""
    page.evaluate("document.querySelectorAll('input[data-item]:enabled:not(:checked)').forEach((box) => box.click())")
    for name in page.query_selector_all("input[data-name]:enabled"):
        name.fill("Bo Bench, level 2")


def ticked(page: Page) -> set[str]:
    return set(page.evaluate("[...document.querySelectorAll('input[data-item]')].filter((b) => b.checked).map((b) => b.dataset.item)"))


# --- gates -----------------------------------------------------------------------------------------------


def test_a_failed_gate_is_neither_ticked_nor_talked_away_and_nothing_is_finished(context: BrowserContext, site_url: str) -> None:
    fields = with_tests() | LETHAL
    page = open_with(context, f"{site_url}{WALK}", fields)
    gate = page.locator("[data-gate='main.touchdown-rate']")
    expect(gate).to_be_visible()
    assert gate.locator("input, textarea, select, button").count() == 0
    tick_all(page)
    for reason in page.query_selector_all("textarea[data-why]"):
        reason.fill("I know better")
    assert page.evaluate(DONE) == "no"
    assert page.inner_text(".loft-progress").startswith(GROUNDED)
    work = page.locator(".loft-walk[data-closed] input")
    assert work.count() > 50
    page.evaluate("document.querySelectorAll('.loft-walk[data-closed] input').forEach((box) => box.click())")
    assert all(item.startswith(("check-", "after-", "due-")) for item in ticked(page))
    assert page.evaluate("[...document.querySelectorAll('.loft-walk[data-closed] input')].every((box) => box.disabled)")
    page.reload()
    live(page)
    expect(gate).to_be_visible()
    assert page.evaluate(DONE) == "no"


def test_why_it_is_closed_is_heard_and_reached_by_key(context: BrowserContext, site_url: str) -> None:
    page = open_with(context, f"{site_url}{WALK}", with_tests() | LETHAL)
    box = page.get_by_role("checkbox", name="Range safety officer has seen the rocket")
    expect(box).to_be_disabled()
    expect(box).to_have_accessible_description(re.compile(re.escape(GROUNDED)))
    first = page.locator(".loft-closed a").first
    first.focus()
    page.keyboard.press("Enter")
    until(page, "document.activeElement.id === 'walk-grounded'")
    page.get_by_role("button", name="Next that is open").click()
    assert page.evaluate("document.activeElement.closest('[data-gate]') !== null")
    expect(page.get_by_role("checkbox", name="Power off before anyone touches it")).to_be_enabled()


def test_what_an_earlier_edition_stored_opens_no_gate_and_counts_for_no_tick(context: BrowserContext, site_url: str) -> None:
    fields = with_tests() | LETHAL
    old = {"rig": DEFAULTS["rig.name"], "ticks": dict.fromkeys(marks(fields), True), "whys": {"main.touchdown-rate": "It was always so"}}
    context.add_init_script(f"localStorage.getItem('loftbook.walk') ?? localStorage.setItem('loftbook.walk', {json.dumps(json.dumps(old))})")
    page = open_with(context, f"{site_url}{WALK}", fields)
    assert ticked(page) == set()
    assert page.evaluate(DONE) == "no"
    page.locator("#walk-after-look").check()
    kept = page.evaluate("JSON.parse(localStorage.getItem('loftbook.walk'))")
    assert kept["whys"] == old["whys"]  # nothing that was typed is lost
    assert page.locator("#walk-after-power-off").locator("xpath=ancestor::li").locator(".loft-changed").is_visible()


def test_a_gate_leads_to_what_mends_it_and_then_the_walk_can_be_finished(context: BrowserContext, site_url: str) -> None:
    page = open_with(context, f"{site_url}{WALK}", with_tests() | LETHAL)
    page.locator("[data-gate='main.touchdown-rate'] .loft-mend a").first.click()
    live(page)
    until(page, "document.activeElement?.closest?.('[data-field]')?.dataset.field === 'main.canopy.size' || document.activeElement?.id === 'plan-main.canopy.size'")
    type_in(page, "main.canopy.size", DEFAULTS["main.canopy.size"])
    until(page, "document.querySelector('[data-sound]')?.dataset.sound === 'yes'")
    page.goto(f"{site_url}{WALK}")
    live(page)
    assert page.locator("[data-gate], [data-closed], .loft-grounded").count() == 0
    tick_all(page)
    assert page.evaluate(DONE) == "yes"


def test_a_rocket_that_comes_to_fail_while_it_is_walked_through_is_closed_at_once(context: BrowserContext, site_url: str) -> None:
    page = open_with(context, f"{site_url}{WALK}", with_tests())
    tick_all(page)
    assert page.evaluate(DONE) == "yes"
    change(context, site_url, LETHAL)
    until(page, "document.querySelector('[data-gate]') !== null")
    assert page.evaluate(DONE) == "no"
    assert page.locator("#walk-pad-igniter").is_disabled()


# --- ticks and reasons belong to words -------------------------------------------------------------------


def test_a_tick_is_open_again_when_its_step_says_something_else_and_stays_when_not(context: BrowserContext, site_url: str) -> None:
    fields = with_tests()
    before, after = marks(fields), marks(fields | CHANGE)
    same = {item for item in before if after.get(item) == before[item]}
    other = {item for item in before if item in after and after[item] != before[item]}
    assert len(same) > 20
    assert "drogue-fold-lay-out" in other
    page = open_with(context, f"{site_url}{WALK}", fields)
    tick_all(page)
    change(context, site_url, CHANGE)  # while the page is open
    until(page, "document.querySelector('.loft-changed') !== null")
    assert ticked(page) == same
    noted = page.evaluate("[...document.querySelectorAll('.loft-changed')].map((n) => n.closest('li').querySelector('[data-item]')?.dataset.item)")
    noted.remove(None)  # who looked at it, too, looked at another rig
    assert set(noted) == other
    assert page.locator(".loft-changed").first.is_visible()
    expect(page.locator("#walk-drogue-fold-lay-out")).to_have_accessible_description(re.compile("Changed since you ticked it"))
    assert page.evaluate(DONE) == "no"
    page.reload()
    live(page)
    assert ticked(page) == same
    page.locator("#walk-drogue-fold-lay-out").check()
    assert page.locator("#walk-drogue-fold-lay-out-changed").count() == 0
    change(context, site_url, {path: DEFAULTS[path] for path in CHANGE})
    until(page, "document.querySelector('#walk-drogue-fold-lay-out-changed') !== null")
    # the others were ticked for these words; of the officer's, a size that was the starting rig's is the reader's own now
    assert ticked(page) == set(before) - {"drogue-fold-lay-out", "pad-officer"}


def test_a_reason_belongs_to_what_it_was_given_for_and_is_not_lost(context: BrowserContext, site_url: str) -> None:
    one, other = SHORT
    assert whys(one) != whys(other)
    page = open_with(context, f"{site_url}{WALK}", with_tests() | one)
    (reason,) = page.locator("textarea[data-why]").all()
    reason.fill("Bench test, not flown")
    tick_all(page)
    assert page.evaluate(DONE) == "yes"
    change(context, site_url, other)
    until(page, "document.querySelector('textarea[data-why] ~ .loft-changed') !== null")
    assert reason.input_value() == "Bench test, not flown"
    tick_all(page)
    assert page.evaluate(DONE) == "no"
    page.get_by_role("button", name="My reason still holds").click()
    assert page.evaluate(DONE) == "yes"


# --- the officer's name ----------------------------------------------------------------------------------


def signed(page: Page) -> list[str]:
    return page.locator(".loft-sign").all_text_contents()


def test_who_looked_at_it_gets_to_the_card_of_that_rig_and_into_no_link(context: BrowserContext, site_url: str) -> None:
    page = open_with(context, f"{site_url}{WALK}", with_tests())
    page.get_by_label("Who looked at it").fill("Ada Plain, level 3")
    page.reload()
    live(page)
    expect(page.get_by_label("Who looked at it")).to_have_value("Ada Plain, level 3")
    assert "Plain" not in page.evaluate("localStorage.getItem('loftbook.rig')")
    card = open_with(context, f"{site_url}{CARD}")
    assert signed(card) == ["Ada Plain, level 3"] * 2
    change(context, site_url, CHANGE)
    until(card, "[...document.querySelectorAll('.loft-sign')].every((line) => line.textContent === '')")
    until(page, "document.querySelector('.loft-walk-name .loft-changed') !== null")
    expect(page.get_by_label("Who looked at it")).to_have_value("Ada Plain, level 3")
    page.get_by_role("button", name="They have looked again").click()
    until(card, "[...document.querySelectorAll('.loft-sign')].every((line) => line.textContent === 'Ada Plain, level 3')")
    card.reload()
    live(card)
    assert signed(card) == ["Ada Plain, level 3"] * 2


def test_no_name_stands_on_the_card_of_a_rocket_that_does_not_fly(context: BrowserContext, site_url: str) -> None:
    page = open_with(context, f"{site_url}{WALK}", with_tests())
    page.get_by_label("Who looked at it").fill("Ada Plain")
    change(context, site_url, LETHAL)
    until(page, "document.querySelector('[data-gate]') !== null")
    expect(page.get_by_label("Who looked at it")).to_be_disabled()
    assert page.get_by_role("button", name="They have looked again").count() == 0
    card = open_with(context, f"{site_url}{CARD}")
    assert signed(card) == ["", ""]
    assert card.locator(".loft-card > .loft-grounded").count() == 2


# --- keeping ---------------------------------------------------------------------------------------------


def test_two_tabs_tick_one_walk(context: BrowserContext, site_url: str) -> None:
    one = open_with(context, f"{site_url}{WALK}", with_tests())
    other = open_with(context, f"{site_url}{WALK}")
    one.locator("#walk-after-look").check()
    until(other, "document.querySelector('#walk-after-look').checked")
    other.locator("#walk-after-charges").check()
    until(one, "document.querySelector('#walk-after-charges').checked")
    one.locator("#walk-pad-people").check()
    other.reload()
    live(other)
    assert ticked(other) == {"after-look", "after-charges", "pad-people"}


def test_where_nothing_can_be_stored_the_walk_still_walks(context: BrowserContext, site_url: str) -> None:
    context.add_init_script("for (const act of ['getItem', 'setItem']) Storage.prototype[act] = () => { throw new Error('denied'); };" + NO_DATABASE)
    page = context.new_page()
    page.goto(f"{site_url}{WALK}#~{payload(with_tests() | {'rig.name': 'Denied'})}")
    live(page)
    as_list(page)
    until(page, "document.querySelector('loft-rigbar').textContent.includes('Denied')")
    until(page, f"document.querySelectorAll('input[data-item]').length === {len(marks(with_tests()))}")
    tick_all(page)
    page.get_by_label("Who looked at it").fill("Ada Plain")
    assert page.evaluate(DONE) == "yes"
    assert "keeps nothing" in page.inner_text(".loft-progress")


def test_the_demo_s_walk_is_not_ticked_for_another_rig(context: BrowserContext, site_url: str) -> None:
    """Before the core answers, and where it never does, the page still shows the rig that it was built for."""
    context.add_init_script(f"localStorage.setItem('loftbook.rig', {json.dumps(json.dumps(LETHAL))})")
    context.route("**/worker*.js", lambda route: route.abort())
    page = context.new_page()
    page.goto(f"{site_url}{WALK}")
    as_list(page)
    until(page, "document.querySelector('.loft-progress')?.textContent.includes('demo rig')")
    assert page.evaluate("[...document.querySelectorAll('input[data-item]')].every((box) => box.disabled)")
    assert page.evaluate(DONE) == "no"


def test_while_the_rig_is_at_fault_nothing_is_ticked_for_the_one_before(context: BrowserContext, site_url: str) -> None:
    page = open_with(context, f"{site_url}{WALK}", with_tests())
    tick_all(page)
    other = open_with(context, f"{site_url}{PLAN}")
    open_all(other)
    type_in(other, "rocket.mass", "much")
    until(page, "document.querySelector('.loft-stale') !== null")
    assert page.evaluate(DONE) == "no"
    assert page.locator("#walk-pad-igniter").is_disabled()
    type_in(other, "rocket.mass", DEFAULTS["rocket.mass"])
    until(page, f"{DONE} === 'yes'")  # not one tick is lost
