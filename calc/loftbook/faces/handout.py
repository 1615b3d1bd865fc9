"""What is handed to someone else or taken to the field: one step, the field card, the walk-through.

Composes what a plan already holds into HTML fragments; computes no figure of its own.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from loftbook.answer import Answer, Check, Step
from loftbook.calculators import CALCULATORS
from loftbook.drawing.markup import Markup, element
from loftbook.drawing.qr import qr_code
from loftbook.errors import Fault, Refusal
from loftbook.faces.gates import GROUND_TEST, failed, failed_gates, mark_of, mended_by, whole_mark
from loftbook.faces.render import VERDICTS, bay_names, checks, figure, written
from loftbook.plan import Plan, joined
from loftbook.quantity import HEIGHT, MASS, WIND
from loftbook.rig.bay_fields import MOTOR, NOTHING, POWDER
from loftbook.worked.joint import Charge
from loftbook.worked.worked import Worked

LONGEST_LINK = 2900  # characters; the largest symbol holds 2,953
_CARD_NUMBERS = (
    ("canopy", "rate"),
    ("folding", "bundle_length"),
    ("folding", "bundle_width"),
    ("packing", "bundle_depth"),
    ("packing", "spare"),
    ("cord", "suggested"),
    ("descent", "time"),
    ("descent", "forward_time"),
    ("descent", "drift"),
    ("descent", "forward_drift"),
    ("loads", "design_load"),
)
CARD_CAUTIONS = (
    "Energetic material burns, deafens and blinds: eyes and ears covered, nobody in front or behind, remote firing only.",
    "Figures here are where a ground test starts, never a substitute for one.",
    "Electronics off until the pad. After a misfire wait at least 60 seconds.",
    "The range safety officer, local law and certified flyers decide.",
)
_SENTENCE_END = re.compile(r"(?<=[.:;]) (?=[A-Z])")
_PLAN, _TESTING = "../plan/", "../separation/"  # pages beside the one that a walk-through stands in
GROUNDED = "This rocket does not fly as it is."
_OFFICER = "pad-officer"
_PAD = (
    (
        "pad-people",
        "People behind the line",
        "Everyone knows it is going up, and watches it all the way down. Only who arms it stays at the pad.",
    ),
    (
        "pad-upright",
        "Rocket upright on its guide, still unarmed",
        "It slides freely, the guide is locked, no igniter is in the motor yet.",
    ),
    (
        "pad-arm",
        "Electronics armed: here, not before",
        "One switch after the other, eyes and ears covered, face and hands out of line with both ends and every joint. "
        "Wait for the right signal of each unit; a wrong one: power off, and back to the table.",
    ),
    (
        "pad-igniter",
        "The motor's igniter, last of all",
        "Leads shorted until the clips are on, firing box locked with its key in your pocket. Then walk back.",
    ),
)
_AFTER = (
    (
        "after-power-off",
        "Power off before anyone touches it",
        "After a landing, and after an abort before it is lowered: every switch off, from the side, one person alone, "
        "eyes and ears covered.",
    ),
    (
        "after-charges",
        "Every charge looked at",
        "Each counts as unfired until it is seen to have fired, the backup's too. An unfired one: mouth away from "
        "people, leads shunted, then taken out.",
    ),
    (
        "after-look",
        "Looked over and written down",
        "Cloth, lines, cord, anchors, pins: burns, tears, stretch. Heights, rates and where it came down.",
    ),
)
_ARMED = ("pad-arm", "after-power-off")  # asked for only where something can be armed


@dataclass(frozen=True)
class Section:
    """Steps under one heading; key: the canopy that is folded or the bay that is packed, "" of the electronics."""

    title: str
    act: Literal["set", "fold", "pack"]
    key: str
    steps: tuple[Step, ...]


def sections(worked: Worked, of: Callable[[str], Mapping[str, Answer]]) -> tuple[Section, ...]:
    """All steps in the order of the work: electronics, each canopy folded, each bay packed, in the order of opening.

    of: the answers of a calculator by what they are about.
    """
    electronics = Section("Electronics", "set", "", of("electronics")[""].steps)
    folds = (Section(_fold_title(worked, key), "fold", key, one.steps) for key, one in of("folding").items())
    packs = (Section(_pack_title(worked, key), "pack", key, one.steps) for key, one in of("packing").items())
    return tuple(section for section in (electronics, *folds, *packs) if section.steps)


def _fold_title(worked: Worked, key: str) -> str:
    way = worked.rig.way
    return "Fold" if len(way.canopies) == 1 else f"Fold the {worked.title(key)}{'' if way.tied else '’s canopy'}"


def _pack_title(worked: Worked, key: str) -> str:
    return "Pack" if len(worked.rig.way.bays) == 1 else f"Pack the {_bay_title(worked, key)}"


def _bay_title(worked: Worked, key: str) -> str:
    return f"{worked.title(key).removesuffix(' bay')} bay"


def steps_of(worked: Worked) -> tuple[Step, ...]:
    """Every step of a rig in the order of the work, without the rest of its plan."""
    return tuple(step for section in sections(worked, _asked(worked)) for step in section.steps)


def _asked(worked: Worked) -> Callable[[str], Mapping[str, Answer]]:
    def of(name: str) -> Mapping[str, Answer]:
        calculator = CALCULATORS[name]
        return {key: calculator.answer(worked, key) for key in calculator.keys(worked.rig.way)}

    return of


# --- one step -----------------------------------------------------------------------------------------


def step(worked: Worked, anchor: str) -> list[Markup]:
    """One step that stands alone; the first without an anchor. Raises `Refusal` when this rig has no such step."""
    parts = sections(worked, _asked(worked))
    steps = [one for part in parts for one in part.steps]
    anchors = [one.anchor for one in steps]
    anchor = anchor or anchors[0]
    if anchor not in anchors:
        raise Refusal(
            Fault(
                message=f"This rig has no step “{anchor[:40]}”: another canopy, tube, bay or way down goes otherwise. "
                "Choose one from the list.",
                label="step",
                given=anchor[:60],
                allowed=", ".join(anchors),
            )
        )
    place = anchors.index(anchor)
    now = steps[place]
    title = next(part.title for part in parts if now in part.steps)
    where = f"{worked.rig.text('rig.name')}: {title}, step {place + 1} of {len(steps)}"
    before = steps[place - 1] if place else None
    after = steps[place + 1] if place + 1 < len(steps) else None
    return [
        element("p", where, class_="loft-where"),
        element("h2", now.title, id=now.anchor),
        element("p", now.text, class_="loft-do"),
        *([figure(now.drawing)] if now.drawing else []),
        element("p", element("strong", "You should see: "), now.seen, class_="loft-seen"),
        element("p", element("strong", "If not: "), now.otherwise, class_="loft-otherwise"),
        element(
            "div", _neighbour(before, "Back", "loft-back"), _neighbour(after, "Next", "loft-next"), class_="loft-turn"
        ),
        element("details", element("summary", "All steps"), *_listed(parts), class_="loft-all-steps"),
    ]


def _neighbour(one: Step | None, words: str, class_: str) -> Markup:
    if one is None:
        return element("span", class_=f"loft-no-step {class_}")
    return element("a", f"{words}: {one.title}", href=f"#{one.anchor}", class_=f"loft-big {class_}")


def _listed(parts: Iterable[Section]) -> list[Markup]:
    """Every section with links to its steps."""
    return [
        piece
        for part in parts
        for piece in (
            element("h3", part.title),
            element("ol", *(element("li", element("a", one.title, href=f"#{one.anchor}")) for one in part.steps)),
        )
    ]


# --- the field card -----------------------------------------------------------------------------------


def card(whole: Plan, link: tuple[str, str] | None = None) -> list[Markup]:
    """The field card: one side for each bay, each complete in itself.

    link: what stands before and behind a step's anchor in its address; without it no codes are drawn.
    """
    parts = sections(whole.worked, whole.of)
    return [_side(whole, bay, parts, link) for bay in whole.rig.way.bays]


def _side(whole: Plan, bay: str, parts: Sequence[Section], link: tuple[str, str] | None) -> Markup:
    worked, way = whole.worked, whole.rig.way
    tenants = way.tenants(bay)
    folds = [part for part in parts if part.act == "fold" and part.key in tenants]
    packs = [part for part in parts if part.act == "pack" and part.key == bay]
    several = len(way.bays) > 1
    title = whole.rig.text("rig.name") + (f": {_bay_title(worked, bay)}" if several else "")
    here = {bay, *tenants}
    mine = [check for check in whole.checks if check.bay in ("", *here)]
    names = bay_names(whole) if len(here) > 1 else {}
    return element(
        "article",
        element("h2", title),
        _grounded_card(whole),
        element("dl", *_numbers(whole, bay), *_parting(worked, bay), class_="loft-key"),
        *(piece for part in folds for piece in _ticks(part.title, _without_repeats(part.steps))),
        *(piece for part in packs for piece in _ticks(part.title, [(one.title, one.seen) for one in part.steps])),
        element("h3", "Checks"),
        element("ul", *_check_lines(mine, names), class_="loft-card-checks"),
        element(
            "div",
            element(
                "div",
                element("ul", *(element("li", caution) for caution in CARD_CAUTIONS), class_="loft-cautions"),
                _looked_at(whole),
            ),
            element("div", *_codes((*folds, *packs), link), class_="loft-codes"),
            class_="loft-card-foot",
        ),
        class_="loft-card",
        data_bay=bay,
    )


def _grounded_card(whole: Plan) -> Markup | None:
    """Every failed gate of the whole rocket by name: one bay that is sound does not fly without the other."""
    names = bay_names(whole)
    titles = [_check_title(check, names) for check in failed_gates(whole)]
    if not titles:
        return None
    return element("p", element("strong", GROUNDED), f" Fails: {'; '.join(titles)}.", class_="loft-grounded")


def _looked_at(whole: Plan) -> Markup:
    """Where the officer or certified flyer signs. A name typed in the walk is put there as long as it is of this plan."""
    sign = element("span", class_="loft-sign", data_name="looked-by", data_words=whole_mark(whole))
    return element("p", element("strong", "Looked at by: "), sign, class_="loft-looked")


def _codes(parts: Iterable[Section], link: tuple[str, str] | None) -> list[Markup]:
    """A code for each section that leads to its first step."""
    if link is None:
        return []
    addresses = [(part.title, link[0] + part.steps[0].anchor + link[1]) for part in parts]
    return [
        figure(qr_code(address, f"{title}, step by step"), "loft-code")
        for title, address in addresses
        if len(address) <= LONGEST_LINK
    ]


def _numbers(whole: Plan, bay: str) -> list[Markup]:
    """Of the bay, the canopies in it and the whole flight; which canopy is said where several are."""
    way, rows = whole.rig.way, []
    here = (bay, *(key for key in way.tenants(bay) if key != bay))
    for name, output_name in _CARD_NUMBERS:
        calculator = CALCULATORS[name]
        output = next(one for one in calculator.outputs if one.name == output_name)
        keys = [key for key in calculator.keys(way) if key in ("", *here)]
        for key in keys:
            value = whole.answers[joined(key, name)].outputs[output_name]
            label = f"{output.label}, {whole.worked.title(key)}" if len(keys) > 1 else output.label
            if value is not None:
                rows.append(_tile(label, *written(value, output, whole.rig.units)))
    return rows


def _tile(label: str, *value: Markup | str) -> Markup:
    return element("div", element("dt", label), element("dd", *value))


def _parting(worked: Worked, bay: str) -> list[Markup | None]:
    """When the bay opens, its pins, and what parts it: of powder only the mass that was tested, never an estimate."""
    joint, way = worked.joints[bay], worked.rig.way
    low = worked.show(worked.descent.main_height, HEIGHT)
    held = [worked.title(key) for key in way.tenants(bay) if key in way.held]
    pins = f"{joint.pins}, {joint.pin.name}" if joint.pins else "none"
    return [
        _tile("Opens", f"at {low}" if bay in way.low else "at the top"),
        *(_tile(f"Lets the {one} go", f"at {low}") for one in held),
        _tile("Shear pins", pins),
        _tile("What parts it", _charged(joint.charge, worked)),
        _ground_test(joint.charge, worked),
    ]


def _charged(charge: Charge, worked: Worked) -> str:
    if charge.kind == NOTHING:
        return "no charge of its own"
    if charge.kind == MOTOR:
        return f"{MOTOR}, delay {charge.said.text('charge.delay')}"
    if charge.kind != POWDER:
        return charge.kind
    return "no ground test yet" if charge.tested is None else f"{worked.show(charge.tested, MASS)} of powder, as tested"


def _ground_test(charge: Charge, worked: Worked) -> Markup | None:
    """A ground test on one line: day, mass, pins, result, repeats; what was not written down is said."""
    if not (charge.fired and charge.proved):
        return None
    pins, repeats = charge.test_pins, charge.repeats
    told = ", ".join(
        (
            charge.test_day or "day not written down",
            *([] if charge.tested is None else [worked.show(charge.tested, MASS)]),
            "pins not written down" if pins is None else f"{pins} {'pin' if pins == 1 else 'pins'}",
            f"threw everything clear {repeats} times running" if repeats > 1 else "parted it once, never repeated",
        )
    )
    return element("div", element("dt", "Ground test"), element("dd", told), class_="loft-tested")


def _ticks(title: str, rows: Iterable[tuple[str, str]]) -> list[Markup]:
    return [
        element("h3", title),
        element("ol", *(_tick(f"{name}. ", seen) for name, seen in rows), class_="loft-card-steps"),
    ]


def _tick(words: str, *more: str) -> Markup:
    return element("li", element("span", "☐ ", class_="loft-box", aria_hidden="true"), element("strong", words), *more)


def _without_repeats(steps: Sequence[Step]) -> list[tuple[str, str]]:
    """(title, what should be seen) of the folds; preparations left out, pleats as one line with the last one's words."""
    folds = [one for one in steps if "-prep-" not in one.anchor]
    pleats = [one for one in folds if "-fold-pleat-" in one.anchor]
    last = pleats[-1] if len(pleats) > 1 else None
    return [
        (f"Pleats 1 to {len(pleats)}, back and forth" if one is last else one.title, one.seen)
        for one in folds
        if last is None or one is last or one not in pleats
    ]


def _check_lines(rows: Sequence[Check], names: Mapping[str, str]) -> list[Markup]:
    """What does not hold, each with its reason; of a rocket that does not fly as it is only the first sentence of each: it is
    mended in the plan, not on paper.

    What holds stands by name on one line, so that a side has room for the rest.
    """
    short = any(check.verdict == "fail" for check in rows)
    open_ = [check for check in rows if check.verdict != "pass"]
    held = [_check_title(check, names) for check in rows if check.verdict == "pass"]
    lines = [_tick(f"{_check_title(one, names)}: {VERDICTS[one.verdict]}", f": {_said_on_card(one, short)}") for one in open_]
    return [*lines, _tick(f"{VERDICTS['pass']} ({len(held)}): ", f"{'; '.join(held)}.")] if held else lines


def _said_on_card(check: Check, short: bool) -> str:
    return _SENTENCE_END.split(check.reason, 1)[0] if short else check.reason


def _check_title(check: Check, names: Mapping[str, str]) -> str:
    return f"{check.title}, {names[check.bay]}" if check.bay in names else check.title


# --- the walk-through ---------------------------------------------------------------------------------


def walk(whole: Plan) -> list[Markup]:
    """The walk-through: every check and every step of every canopy and bay as something to tick.

    Checks come before the first fold; arming is on the pad, the igniter last. A failed gate closes all work up to the pad
    until the rig is mended; any other failed check asks for a reason. What makes a rocket safe again after a landing or an
    abort is never closed. `data-words` of an item is the mark of its words: a tick, a reason and a name count for those.
    """
    worked = whole.worked
    parts = sections(worked, whole.of)
    armed = any(part.act == "set" for part in parts)
    gates = failed_gates(whole)
    items = [(part.title, [_item(one.anchor, one.title, _told(one), closed=bool(gates)) for one in part.steps]) for part in parts]
    pad = [_item(*row, closed=bool(gates)) for row in _wanted(_PAD, armed)]
    after = [_item(*row) for row in _wanted(_AFTER, armed)]
    return [
        element("ul", *(element("li", caution) for caution in CARD_CAUTIONS), class_="loft-cautions"),
        element("h2", "Checks"),
        *_grounded(gates),
        _doubts(whole),
        *(piece for title, rows in items for piece in _walked(title, rows, gates)),
        *_walked("At the pad", [*_officer(whole, closed=bool(gates)), *pad], gates),
        *_walked("After landing or an abort", after),
    ]


def _told(one: Step) -> str:
    return f"{one.text} You should see: {one.seen}"


def _wanted(rows: Sequence[tuple[str, str, str]], armed: bool) -> list[tuple[str, str, str]]:
    """The same without arming and power where electronics fire nothing and let nothing go."""
    return [row for row in rows if armed or row[0] not in _ARMED]


def _walked(title: str, rows: Iterable[Markup], gates: Sequence[Check] = ()) -> list[Markup]:
    """Items under a heading; closed, and said why, while there are failed gates."""
    closed = element(
        "p",
        "Closed: ",
        element("a", f"{_counted(gates)} first", href="#walk-grounded"),
        ". You can read on, not tick.",
        class_="loft-closed",
    )
    return [
        element("h2", title),
        *([closed] if gates else []),
        element("ol", *rows, class_="loft-walk", data_closed="yes" if gates else None),
    ]


def _counted(gates: Sequence[Check]) -> str:
    return f"mend {len(gates)} failed {'check' if len(gates) == 1 else 'checks'}"


def _item(anchor: str, title: str, text: str, *more: str, closed: bool = False) -> Markup:
    """Something to tick. more: words that its tick is given for as well, beside those that stand there."""
    box = element(
        "input",
        type="checkbox",
        id=f"walk-{anchor}",
        data_item=anchor,
        data_words=mark_of(title, text, *more),
        **_closing(closed),
    )
    label = element("label", box, element("strong", title), for_=f"walk-{anchor}")
    return element("li", label, element("p", text), class_="loft-walk-item")


def _closing(closed: bool) -> dict[str, str]:
    """A control that can't be used, and whoever listens hears why."""
    return {"disabled": "disabled", "aria_describedby": "walk-grounded"} if closed else {}


def _officer(whole: Plan, closed: bool) -> list[Markup]:
    """Who looks at the rocket, and at the wind: with the figures they look at, so that other figures want another look."""
    rig, worked, mark = whole.rig, whole.worked, whole_mark(whole)
    name = element(
        "input",
        type="text",
        id="walk-looked-by",
        data_name="looked-by",
        data_words=mark,
        data_again="They have looked again",
        maxlength="60",
        autocomplete="off",
        spellcheck="false",
        **_closing(closed),
    )
    label = element("label", element("strong", "Who looked at it: officer or certified flyer"), for_="walk-looked-by")
    kept = element("p", "Goes onto the card of this very rig; is kept on this device, never in a link.")
    mass, wind = worked.show(rig.number("rocket.mass"), MASS), worked.show(rig.number("flight.wind"), WIND)
    seen = f"Say what it is, what it weighs and how it comes down: {mass} coming down, {rig.way.name}."
    drift = f"At ten metres and aloft: the drift picture holds for the wind that was entered, {wind} at ten metres."
    return [
        _item(_OFFICER, "Range safety officer has seen the rocket", seen, mark, closed=closed),
        element("li", label, name, kept, class_="loft-walk-item loft-walk-name"),
        _item("pad-wind", "Wind looked at again", drift, closed=closed),
    ]


# --- checks in the walk-through -------------------------------------------------------------------------


def _grounded(gates: Sequence[Check]) -> list[Markup]:
    """Said before all else while a gate fails."""
    if not gates:
        return []
    fails = "One check fails" if len(gates) == 1 else f"{len(gates)} checks fail"
    said = f" {fails} that no reason clears. Change the rig: until then the work below is closed, and this is never done."
    return [element("p", element("strong", GROUNDED), said, class_="loft-grounded", id="walk-grounded", tabindex="-1")]


def _doubts(whole: Plan) -> Markup:
    """The checks that do not hold, to be dealt with; all of them, to be read, where every one holds."""
    names = bay_names(whole)
    looked = [check for check in whole.checks if check.verdict == "warn"]
    fails = failed(whole)
    if not looked and not fails:
        return checks(whole.checks, names)
    rows = [_gate(whole, check, names) if check.gate else _reasoned(whole, check, names) for check in fails]
    return element("ul", *rows, *(_look_again(check, names) for check in looked), class_="loft-walk")


def _slug(check: Check) -> str:
    return joined(check.bay, check.name).replace(".", "-")


def _look_again(check: Check, names: Mapping[str, str]) -> Markup:
    return _item(f"check-{_slug(check)}", f"{VERDICTS['warn']}: {_check_title(check, names)}", check.reason)


def _gate(whole: Plan, check: Check, names: Mapping[str, str]) -> Markup:
    """A failed gate: nothing to tick and nothing to write, only what to change and where."""
    how: tuple[Markup | str, ...] = ("No reason clears this. Change ",)
    if check.name == GROUND_TEST:
        page = element("a", "step by step", href=_TESTING)
        how = ("Test it on the ground, ", page, ", until two tests running throw everything clear. Then enter ")
    return element(
        "li",
        element("p", element("strong", f"{VERDICTS['fail']}: {_check_title(check, names)}. "), check.reason),
        element("p", *how, *_links(whole, check), class_="loft-mend"),
        class_="loft-walk-item",
        data_verdict="fail",
        data_gate=joined(check.bay, check.name),
    )


def _links(whole: Plan, check: Check) -> list[Markup | str]:
    """The fields of this rig that mend a check, each a link to its place in the plan's form."""
    fields = mended_by(whole, check)
    links = [element("a", one.label if check.bay else one.full, href=f"{_PLAN}#plan-{one.path}") for one in fields]
    links = links or [element("a", "the plan", href=_PLAN)]
    return [*[piece for link in links for piece in (", ", link)][1:], "."]


def _reasoned(whole: Plan, check: Check, names: Mapping[str, str]) -> Markup:
    """A failed check that is no gate: a reason, given for these words, before the walk-through is done."""
    title, id_ = _check_title(check, names), f"walk-why-{_slug(check)}"
    return element(
        "li",
        element("label", element("strong", f"{VERDICTS['fail']}: {title}. "), check.reason, for_=id_),
        element(
            "textarea",
            rows="2",
            id=id_,
            data_why=joined(check.bay, check.name),
            data_words=mark_of(title, check.reason),
            data_again="My reason still holds",
            placeholder="Why you go on all the same",
        ),
        element("p", "Or change ", *_links(whole, check), class_="loft-mend"),
        class_="loft-walk-item",
        data_verdict="fail",
    )
