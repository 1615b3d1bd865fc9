"""What is handed to someone else or taken to the field: one step, the field card, the walk-through.

Composes what a plan already holds into HTML fragments; computes no figure of its own.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from loftbook.answer import Answer, Check, Step
from loftbook.calculators import CALCULATORS
from loftbook.drawing.markup import Markup, element
from loftbook.drawing.svg import Drawing
from loftbook.errors import Fault, Refusal
from loftbook.faces.gates import GROUND_TEST, failed, failed_gates, mark_of, mended_by, whole_mark
from loftbook.faces.render import DEMO, VERDICTS, bay_names, borrowed, checks, figure, measured_by_reader, written
from loftbook.plan import Plan, joined, parted
from loftbook.quantity import CHARGE_MASS, HEIGHT, MASS, WIND, at_most
from loftbook.rig.bay_fields import MOTOR, NOTHING, POWDER
from loftbook.tables import known
from loftbook.worked.joint import Charge
from loftbook.worked.worked import Worked

if TYPE_CHECKING:
    from loftbook.faces.dues import Logbook
    from loftbook.log.due import Due

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
    "Energetic material can blind, deafen, burn or kill: eyes and ears covered, nobody in front of either end or beside a "
    "joint, remote firing only.",
    "Figures here are where a ground test starts, never a substitute for one.",
    "Electronics off until the pad. After a misfire: firing box locked and disconnected first, then at least 60 seconds.",
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
        "Everyone knows it is going up, and watches it all the way down. No aircraft near, no cloud below its top. Only who arms "
        "it stays at the pad.",
        "Somebody is in front of the line, or looks elsewhere: wait. Nothing is armed until all are back and watching.",
    ),
    (
        "pad-upright",
        "Rocket upright on its guide, still unarmed",
        "It slides freely, the guide is locked, no igniter is in the motor yet.",
        "It binds, it leans, a switch is on: back to the table with it, and look why.",
    ),
    (
        "pad-arm",
        "Electronics armed: here, not before",
        "One switch after the other, eyes and ears covered, face and hands out of line with both ends and every joint. "
        "Wait for the right signal of each unit; a wrong one: power off, and back to the table.",
        "No signal, a wrong one, or one that the wind drowns: every switch off again, from the side, and back to the table. "
        "Nobody guesses at a pad.",
    ),
    (
        "pad-igniter",
        "The motor's igniter, last of all",
        "Firing box locked, its key in your pocket. Touch the clips to each other: no spark. The igniter's leads stay shunted "
        "until they are clipped on. Then walk back.",
        "It will not go in, or a clip sparks: firing box disconnected first, clips off, leads shunted; every switch off, from the "
        "side; then the igniter out, as after an abort.",
    ),
)
_AFTER = (
    (
        "after-power-off",
        "Power off before anyone touches it",
        "After a landing, and after an abort before it is lowered: every switch off, from the side, one person alone, "
        "eyes and ears covered.",
        "A switch out of reach, a unit that still sounds: everyone stays back and out of line with both ends, and the "
        "range safety officer decides what comes next.",
    ),
    (
        "after-charges",
        "Every charge looked at",
        "Each counts as unfired until it is seen to have fired, the backup's too. An unfired one: mouth away from "
        "people, leads shunted, then taken out.",
        "You cannot see whether one has fired: then it has not. Nobody in line with it until it is out.",
    ),
    (
        "after-look",
        "Looked over and written down",
        "Cloth, lines, cord, anchors, pins: burns, tears, stretch. Heights, rates and where it came down.",
        "Burnt, torn, stretched or bent: put it aside. It flies again when it is mended and its plan is sound anew.",
    ),
)
_CAUTIOUS = ("pad-arm", "pad-igniter", "after-power-off", "after-charges")  # cards on which every caution stands
_ARMED = ("pad-arm", "after-power-off")  # asked for only where something can be armed


@dataclass(frozen=True)
class Section:
    """Steps under one heading; key: the canopy that is folded or the bay that is packed, "" of the electronics."""

    title: str
    act: Literal["set", "fold", "pack", "make"]
    key: str
    steps: Sequence[Step]


def sections(worked: Worked, of: Callable[[str], Mapping[str, Answer]]) -> tuple[Section, ...]:
    """All steps in the order of the work: electronics, each canopy folded, each bay packed, in the order of opening.

    of: the answers of a calculator by what they are about.
    """
    electronics = Section("Electronics", "set", "", of("electronics")[""].steps)
    folds = (Section(_fold_title(worked, key), "fold", key, one.steps) for key, one in of("folding").items())
    packs = (Section(_pack_title(worked, key), "pack", key, one.steps) for key, one in of("packing").items())
    return tuple(section for section in (electronics, *folds, *packs) if section.steps)


def makings(worked: Worked) -> tuple[Section, ...]:
    """How each canopy is made; they stand apart from the work at the field."""
    way = worked.rig.way
    made = _asked(worked)("making").items()
    titles = {key: "Make the canopy" if len(way.canopies) == 1 else f"Make the {worked.title(key)}{'' if way.tied else '’s canopy'}" for key, _ in made}
    return tuple(Section(titles[key], "make", key, one.steps) for key, one in made if one.steps)


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


# --- what stands across every sheet ----------------------------------------------------------------------


def _head(whole: Plan) -> list[Markup]:
    """Whose figures a sheet has, and that its rig fails a check. The first line is there always, so nothing moves for it."""
    return [_band(whole), *_strip(whole)]


def _band(whole: Plan) -> Markup:
    """The demo rig's until a measure is the reader's; then how many still are not."""
    still, asked = _borrowed(whole)
    demo = still == asked
    said = "Every measure is yours"
    if still:
        said = DEMO if demo else f"{still} of {asked} measures are not yours"
    whose = "demo" if demo else "partly" if still else "own"
    return element("p", said, class_="loft-band", data_whose=whose, data_still=str(still), data_demo=DEMO if demo else None)


def _borrowed(whole: Plan) -> tuple[int, int]:
    return borrowed(whole.rig, (parted(name)[1] for name in whole.answers))


def _strip(whole: Plan) -> list[Markup]:
    """Every failed check by name; nothing where none fails."""
    names, gates = bay_names(whole), failed_gates(whole)
    others = [check for check in failed(whole) if not check.gate]
    if gates:
        return [_grounded_by(gates, names)]
    if not others:
        return []
    titles = "; ".join(_check_title(check, names) for check in others)
    said = f"This rig fails {'a check' if len(others) == 1 else f'{len(others)} checks'}: "
    return [element("p", element("strong", said), f"{titles}.", class_="loft-strip")]


def _grounded_by(gates: Iterable[Check], names: Mapping[str, str]) -> Markup:
    titles = "; ".join(_check_title(check, names) for check in gates)
    return element("p", element("strong", GROUNDED), f" Fails: {titles}.", class_="loft-grounded")


# --- one step -----------------------------------------------------------------------------------------


def step(whole: Plan, anchor: str) -> list[Markup]:
    """One step that stands alone; the first without an anchor. Raises `Refusal` when this rig has no such step."""
    parts = makings(whole.worked) if "-make-" in anchor else sections(whole.worked, whole.of)
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
    where = f"{whole.rig.text('rig.name')}: {title}, step {place + 1} of {len(steps)}"
    before = steps[place - 1] if place else None
    after = steps[place + 1] if place + 1 < len(steps) else None
    return [
        *_head(whole),
        element("p", where, class_="loft-where"),
        element("h2", now.title, id=now.anchor),
        element(
            "div",
            _pictured(now.drawing, now.title) if now.drawing else None,
            element(
                "div",
                element("p", now.text, class_="loft-do"),
                element("p", element("strong", "You should see: "), now.seen, class_="loft-seen"),
                _if_not(now.otherwise),
            ),
            class_="loft-beside",
        ),
        element(
            "div", _neighbour(before, "Back", "loft-back"), _neighbour(after, "Next", "loft-next"), class_="loft-turn"
        ),
        element("details", element("summary", "All steps"), *_listed(parts), class_="loft-all-steps"),
    ]


def _pictured(drawing: Drawing, title: str) -> Markup:
    """A picture; what it is called is not read twice where its title stands above it."""
    return figure(drawing, "loft-drawing loft-titled" if drawing.name == title else "loft-drawing")


def _if_not(words: str) -> Markup:
    return element("p", element("strong", "If not: "), words, class_="loft-otherwise")


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


def card(whole: Plan, link: tuple[str, str] | None = None, book: "Logbook | None" = None) -> list[Markup]:
    """The field card: one side for each bay, each complete in itself.

    link: what stands before and behind a step's anchor in its address; without it no codes are drawn. book: what a logbook says
    is due; None where nobody asked one.
    """
    parts = sections(whole.worked, whole.of)
    return [_side(whole, bay, parts, link, book) for bay in whole.rig.way.bays]


def _side(whole: Plan, bay: str, parts: Sequence[Section], link: tuple[str, str] | None, book: "Logbook | None") -> Markup:
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
        _band(whole),
        element("h2", title),
        *_strip(whole),  # of the whole rocket: one bay that is sound does not fly without the other
        *_put_aside(book),
        element("dl", *_numbers(whole, bay), *_parting(worked, bay), class_="loft-key"),
        *(piece for part in folds for piece in _ticks(part.title, _without_repeats(part.steps))),
        *(piece for part in packs for piece in _ticks(part.title, [(one.title, one.seen) for one in part.steps])),
        element("h3", "Checks"),
        element("ul", *_check_lines(mine, names, short=bool(failed_gates(whole))), *_due_lines(book, here), class_="loft-card-checks"),
        element(
            "div",
            element(
                "div",
                element("ul", *(element("li", caution) for caution in CARD_CAUTIONS), class_="loft-cautions"),
                _looked_at(whole, book),
            ),
            element("div", *_codes((*folds, *packs), link), class_="loft-codes"),
            class_="loft-card-foot",
        ),
        class_="loft-card",
        data_bay=bay,
    )


def _put_aside(book: "Logbook | None") -> list[Markup]:
    """What the logbook keeps on the ground."""
    if not (book and book.grounding):
        return []
    from loftbook.faces import dues

    return [element("p", element("strong", GROUNDED), f" {dues.titles(book.grounding)}", class_="loft-grounded")]


def _due_lines(book: "Logbook | None", here: Iterable[str]) -> list[Markup]:
    if book is None:
        return []
    from loftbook.faces import dues

    return dues.card_lines(book, here)


def _looked_at(whole: Plan, book: "Logbook | None") -> Markup:
    """Where the officer or certified flyer signs. A name typed in the walk is put there as long as it is of this plan."""
    sign = element("span", class_="loft-sign", data_name="looked-by", data_words=whole_mark(whole, book.words if book else ()))
    return element("p", element("strong", "Looked at by: "), sign, class_="loft-looked")


def _codes(parts: Iterable[Section], link: tuple[str, str] | None) -> list[Markup]:
    """A code for each section that leads to its first step."""
    if link is None:
        return []
    from loftbook.drawing.qr import qr_code  # a large library, for few sheets

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
    measured = measured_by_reader(whole.worked)
    return [*rows, _tile("Measured by you", measured)] if measured else rows


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
    if charge.tested is None:
        return f"{POWDER}; no mass of yours tested yet"
    return f"{worked.at_least(charge.tested, CHARGE_MASS)} of powder, as tested"


def _ground_test(charge: Charge, worked: Worked) -> Markup | None:
    """A ground test on one line: day, mass, pins, result, repeats; what was not written down is said."""
    if not (charge.fired and charge.proved):
        return None
    pins, repeats = charge.test_pins, charge.repeats
    told = ", ".join(
        (
            charge.test_day or "day not written down",
            *([] if charge.tested is None else [worked.at_least(charge.tested, CHARGE_MASS)]),
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


def _check_lines(rows: Sequence[Check], names: Mapping[str, str], *, short: bool) -> list[Markup]:
    """What does not hold, each with its reason; short, of a rocket that does not fly as it is: only the first sentence of each,
    as it is mended in the plan, not on paper.

    What holds stands by name on one line, so that a side has room for the rest.
    """
    open_ = [check for check in rows if check.verdict != "pass"]
    held = [_check_title(check, names) for check in rows if check.verdict == "pass"]
    lines = [_tick(f"{_check_title(one, names)}: {VERDICTS[one.verdict]}", f": {_said_on_card(one, short)}") for one in open_]
    return [*lines, _tick(f"{VERDICTS['pass']} ({len(held)}): ", f"{'; '.join(held)}.")] if held else lines


def _said_on_card(check: Check, short: bool) -> str:
    return _SENTENCE_END.split(check.reason, 1)[0] if short else check.reason


def _check_title(check: Check, names: Mapping[str, str]) -> str:
    return f"{check.title}, {names[check.bay]}" if check.bay in names else check.title


# --- the walk-through ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Card:
    """Something to tick: what to do, what should be seen, what to do if it is not so; act: what its button says.

    alert: a caution in a line; every caution stands on it where that is empty. grave: it comes before the picture.
    """

    anchor: str
    title: str
    text: str
    otherwise: str
    seen: str = ""
    drawing: Drawing | None = None
    act: str = "Done"
    alert: str = "Electronics off until the pad."

    @property
    def grave(self) -> bool:
        return self.alert != Card.alert

    @property
    def told(self) -> str:
        """The words that a tick is given for."""
        return f"{self.text} You should see: {self.seen}" if self.seen else self.text


_LOADED = "A charge is in the rocket: nobody in front of either end or beside a joint."
_MISFIRE = "After a misfire: firing box disconnected first, then at least 60 seconds."


def walk(whole: Plan, book: "Logbook | None" = None) -> list[Markup]:
    """The walk-through: every check and every step of every canopy and bay as something to tick.

    Checks come before the first fold; arming is on the pad, the igniter last. A failed gate closes all work up to the pad
    until the rig is mended; any other failed check asks for a reason. What makes a rocket safe again after a landing or an
    abort is never closed. There are two ends: cleared to fly, and safe on the ground. `data-words` of an item is the mark of
    its words: a tick, a reason and a name count for those. book: what a logbook says is due, to be looked over before the first
    fold; what it says is put aside closes the work like a failed gate. None where nobody asked one.
    """
    worked = whole.worked
    parts = sections(worked, whole.of)
    armed = any(part.act == "set" for part in parts)
    gates = failed_gates(whole)
    asides = book.grounding if book else ()
    closed = bool(gates or asides)
    first = _first(gates, asides)
    work = [(title, [_item(card, closed=closed) for card in cards]) for title, cards in _cards(parts)]
    pad = [_item(card, closed=closed) for card in _wanted(_PAD, armed)]
    after = [_item(card) for card in _wanted(_AFTER, armed)]
    return [
        *_head(whole),
        element("ul", *(element("li", caution) for caution in CARD_CAUTIONS), class_="loft-cautions", id="walk-cautions"),
        element("section", element("h2", "Checks"), *_grounded(gates, asides), _doubts(whole, asides), class_="loft-walk-part", data_chain=_FLIGHT),
        *_due(book),
        *(_walked(title, rows, first) for title, rows in work),
        _walked("At the pad", [*_officer(whole, closed=closed, more=book.words if book else ()), *pad], first),
        _cleared(whole),
        _walked("After landing or an abort", after, chain=_GROUND),
        _safe(),
    ]


def _cards(parts: Iterable[Section]) -> Iterator[tuple[str, list[Card]]]:
    """The steps of each section; from the rocket's first charge on, a line says that one is in, whatever bay it is in."""
    loaded = False
    for part in parts:
        cards = []
        for one in part.steps:
            charge = one.anchor.endswith("-charge")
            alert = "" if charge else _LOADED if loaded else Card.alert
            loaded = loaded or charge
            cards.append(Card(one.anchor, one.title, one.text, one.otherwise, one.seen, one.drawing, "I see it: done", alert))
        yield part.title, cards


def _wanted(rows: Sequence[tuple[str, str, str, str]], armed: bool) -> list[Card]:
    """The same without arming and power where electronics fire nothing and let nothing go."""
    cards = (Card(*row, alert="" if row[0] in _CAUTIOUS else _MISFIRE) for row in rows)
    return [card for card in cards if armed or card.anchor not in _ARMED]


_FLIGHT, _GROUND = "flight", "ground"  # the two chains of cards, each with an end of its own


def _walked(title: str, rows: Iterable[Markup], first: str = "", chain: str = _FLIGHT) -> Markup:
    """Items under a heading; closed, and said why, while something has to be done first."""
    closed = element(
        "p",
        "Closed: ",
        element("a", first, href="#walk-grounded"),
        ". You can read on, not tick.",
        class_="loft-closed",
    )
    return element(
        "section",
        element("h2", title),
        closed if first else None,
        element("ol", *rows, class_="loft-walk", data_closed="yes" if first else None),
        class_="loft-walk-part",
        data_chain=chain,
    )


def _first(gates: Sequence[Check], asides: Sequence["Due"]) -> str:
    """What has to be done before all work; "" where nothing has."""
    failing = [f"{len(gates)} failed {'check' if len(gates) == 1 else 'checks'}"] if gates else []
    both = " and ".join((*failing, *(["what the logbook keeps on the ground"] if asides else [])))
    return f"mend {both} first" if both else ""


def _item(card: Card, *more: str, mend: Markup | None = None, closed: bool = False) -> Markup:
    """Something to tick. more: words that its tick is given for as well, beside those that stand there.

    mend: what to change instead, where that is known better than words can say it.
    """
    id_ = f"walk-{card.anchor}"
    box = element(
        "input",
        type="checkbox",
        id=id_,
        data_item=card.anchor,
        data_words=mark_of(card.title, card.told, *more),
        **_closing(closed),
    )
    return element(
        "li",
        _card_title(card.anchor, element("label", box, element("strong", card.title), for_=id_)),
        _alert(card.alert) if card.grave else None,
        _pictured(card.drawing, card.title) if card.drawing else None,
        element("p", card.text, class_="loft-do"),
        element("p", element("strong", "You should see: "), card.seen, class_="loft-seen") if card.seen else None,
        None if card.grave else _alert(card.alert),
        element(
            "details",
            element("summary", "Not right"),
            mend or _if_not(card.otherwise),
            class_="loft-not",
            id=f"not-{card.anchor}",
        ),
        class_="loft-walk-item",
        data_act=card.act,
    )


def _card_title(name: str, *inside: Markup | str) -> Markup:
    """What is heard when a card is turned to."""
    return element("h3", *inside, class_="loft-card-title", id=f"card-{name}", tabindex="-1")


def _alert(words: str) -> Markup:
    """A caution in one line that leads to all of them; all of them where it comes to a charge. Seen on cards only: where
    the items stand one below the other, every caution stands above them once."""
    if not words:
        return element("ul", *(element("li", caution) for caution in CARD_CAUTIONS), class_="loft-cautions loft-on-card")
    line = element("a", element("strong", "Caution: "), words, href="#walk-cautions")
    return element("p", line, class_="loft-alert loft-on-card")


def _closing(closed: bool) -> dict[str, str]:
    """A control that can't be used, and whoever listens hears why."""
    return {"disabled": "disabled", "aria_describedby": "walk-grounded"} if closed else {}


def _officer(whole: Plan, closed: bool, more: Iterable[str]) -> list[Markup]:
    """Who looks at the rocket, and at the wind: with the figures they look at, so that other figures want another look."""
    rig, worked, mark = whole.rig, whole.worked, whole_mark(whole, more)
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
    kept = element(
        "p",
        "Without a name it is not cleared to fly. It goes onto the card of this very rig; is kept on this device, never in a link.",
    )
    mass, wind = worked.show(rig.number("rocket.mass"), MASS), worked.show(worked.sky.launch_wind, WIND)
    most = worked.show(known("launch_wind").high, at_most(WIND))
    seen = Card(
        _OFFICER,
        "Range safety officer has seen the rocket",
        f"Say what it is, what it weighs and how it comes down: {mass} coming down, {rig.way.name}.",
        "They want something changed, or say no: it does not fly before they have seen it changed.",
        act="They have seen it",
    )
    drift = Card(
        "pad-wind",
        "Wind looked at again",
        f"At ten metres and aloft: the drift picture holds for the wind that was entered, {wind} at ten metres. Above {most} nobody launches.",
        "It blows harder, or from another side: enter that in the plan and read what fails, or wait for a better hour.",
    )
    return [
        _item(seen, mark, closed=closed),
        element(
            "li",
            _card_title("looked-by", label),
            name,
            kept,
            class_="loft-walk-item loft-walk-name",
            data_act="A name first",
        ),
        _item(drift, closed=closed),
    ]


# --- the two ends -----------------------------------------------------------------------------------------


def _cleared(whole: Plan) -> Markup:
    """The end before the flight. What it says is turned by what is ticked; without scripts, or for the demo rig as it is,
    it is never reached."""
    worked, (still, asked) = whole.worked, _borrowed(whole)
    not_yours = f"{still} of {asked} measures behind this list are the starting rig’s: what they say is not about your rocket."
    named = element("p", element("strong", "Looked at by: "), element("span", class_="loft-looked-name"))
    return _end(
        "Is it cleared to fly?",
        _FLIGHT,
        "Not cleared to fly",
        "Cleared means: every item above is ticked for the words that it has now, every failed check that takes a reason has "
        "one, no check of strength, charge, rate, height or wind fails, and an officer or a certified flyer has looked at this "
        "very rocket, by name.",
        "Cleared to fly",
        "Every item is ticked for the words that it has now. No check of strength, charge, rate, height or wind fails.",
        named,
        element("p", element("strong", f"{DEMO}. " if still == asked else ""), not_yours, class_="loft-strip") if still else None,
        *_lent(worked),
        element(
            "p",
            "This list allows nothing: the range safety officer, local law and certified flyers decide, up to the last second. "
            "If wind, sky or people change, look again. Called off: what comes after an abort is next.",
        ),
    )


def _lent(worked: Worked) -> list[Markup]:
    """A ground test that is still the starting rig's: with it a list is never cleared, whatever else is the reader's."""
    whose = [worked.title(key) for key, joint in worked.joints.items() if joint.charge.lent]
    if not whose:
        return []
    told = f"The ground test of the {' and the '.join(whose)} is the starting rig’s. Until yours is entered, this is never cleared."
    return [element("p", told, class_="loft-strip", data_lent="yes")]


def _safe() -> Markup:
    """The end after the flight."""
    return _end(
        "Is it safe to put away?",
        _GROUND,
        "Not yet safe",
        "Power off, every charge seen to have fired or taken out, all of it looked over: until then people keep clear of both "
        "ends.",
        "Safe on the ground",
        "Power is off, no charge is left in it, and what the flight did to it is written down.",
        element("p", element("a", "Write this flight into the logbook", href="../logbook/#flight", class_="loft-button"), class_="loft-noprint"),
    )


def _end(title: str, chain: str, open_: str, wanted: str, reached: str, meaning: str, *more: Markup | None) -> Markup:
    """The last card of a chain in both its states."""
    named = f"card-end-{chain}"
    item = element(
        "li",
        element("h3", open_, class_="loft-card-title loft-while-open", tabindex="-1"),
        element("p", wanted, class_="loft-while-open"),
        element("p", class_="loft-left loft-while-open"),
        element("h3", reached, class_="loft-card-title loft-when-reached", tabindex="-1"),
        element("p", meaning, class_="loft-when-reached"),
        *more,
        class_="loft-walk-item loft-walk-end",
        id=named,
        data_end=chain,
    )
    return element("section", element("h2", title), element("ol", item, class_="loft-walk"), class_="loft-walk-part", data_chain=chain)


# --- checks in the walk-through -------------------------------------------------------------------------


def _grounded(gates: Sequence[Check], asides: Sequence["Due"]) -> list[Markup]:
    """Said before all else while a gate fails, or the logbook keeps something on the ground."""
    said = ""
    if gates:
        fails = "One check fails" if len(gates) == 1 else f"{len(gates)} checks fail"
        said += f" {fails} that no reason clears. Change the rig: until then the work below is closed, and this is never done."
    if asides:
        from loftbook.faces import dues

        said += f" {dues.titles(asides)} Mend or replace it, write that down, look it over: until then the work below is closed."
    if not said:
        return []
    return [element("p", element("strong", GROUNDED), said, class_="loft-grounded", id="walk-grounded", tabindex="-1")]


def _doubts(whole: Plan, asides: Sequence["Due"]) -> Markup:
    """The checks that do not hold, to be dealt with; all of them, to be read, where every one holds."""
    names = bay_names(whole)
    looked = [check for check in whole.checks if check.verdict == "warn"]
    fails = failed(whole)
    rows = [_aside(one) for one in asides]
    rows += [_gate(whole, check, names) if check.gate else _reasoned(whole, check, names) for check in fails]
    rows += [_look_again(whole, check, names) for check in looked]
    return element("ul", *(rows or [_all_hold(whole, names)]), class_="loft-walk")


def _all_hold(whole: Plan, names: Mapping[str, str]) -> Markup:
    """A card to read: there is nothing to tick."""
    held = element("details", element("summary", f"{len(whole.checks)} hold"), checks(whole.checks, names), class_="loft-held")
    return element("li", _card_title("checks", "Every check holds"), held, _alert(Card.alert), class_="loft-walk-item")


def _aside(one: "Due") -> Markup:
    """What the logbook keeps on the ground: nothing to tick, as of a failed gate."""
    from loftbook.faces import dues

    return element(
        "li",
        _card_title(one.anchor, f"{dues.sign(one)}: {one.title}"),
        element("p", one.told),
        element("p", "No reason clears this. Here is ", dues.to_list(one), ".", class_="loft-mend"),
        _alert(Card.alert),
        class_="loft-walk-item",
        data_verdict="fail",
        data_gate=one.anchor,
    )


def _due(book: "Logbook | None") -> list[Markup]:
    """What is due by the logbook, to be looked over before the first fold: never closed, as looking is what opens the rest."""
    if book is None:
        return []
    from loftbook.faces import dues

    if not book.there:
        text = "Look over every part before it is packed, as if nobody had."
        rows = [_item(Card("due-no-logbook", dues.NO_LOGBOOK, text, "Whatever is not sound does not fly.", act="Looked over"))]
    else:
        cards = ((one, Card(one.anchor, f"{dues.sign(one)}: {one.title}", dues.look(one), "", act=dues.act(one))) for one in book.open)
        rows = [_item(card, mend=dues.not_right(one)) for one, card in cards]
    if not rows and not book.grounding:
        rows = [element("li", _card_title("due-nothing", "Nothing due"), element("p", book.nothing), _alert(Card.alert), class_="loft-walk-item")]
    return [_walked("Due", rows)] if rows else []


def _slug(check: Check) -> str:
    return joined(check.bay, check.name).replace(".", "-")


def _look_again(whole: Plan, check: Check, names: Mapping[str, str]) -> Markup:
    title = f"{VERDICTS['warn']}: {_check_title(check, names)}"
    mend = element("p", "Change ", *_links(whole, check), class_="loft-mend")
    return _item(Card(f"check-{_slug(check)}", title, check.reason, "", act="I have looked: go on"), mend=mend)


def _gate(whole: Plan, check: Check, names: Mapping[str, str]) -> Markup:
    """A failed gate: nothing to tick and nothing to write, only what to change and where."""
    how: tuple[Markup | str, ...] = ("No reason clears this. Change ",)
    if check.name == GROUND_TEST:
        page = element("a", "step by step", href=_TESTING)
        how = ("Test it on the ground, ", page, ", until two tests running throw everything clear. Then enter ")
    return element(
        "li",
        _card_title(_slug(check), f"{VERDICTS['fail']}: {_check_title(check, names)}"),
        element("p", check.reason),
        element("p", *how, *_links(whole, check), class_="loft-mend"),
        _alert(Card.alert),
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
        _card_title(_slug(check), element("label", element("strong", f"{VERDICTS['fail']}: {title}"), for_=id_)),
        element("p", check.reason, id=f"{id_}-reason"),
        element(
            "textarea",
            rows="2",
            id=id_,
            data_why=joined(check.bay, check.name),
            data_words=mark_of(title, check.reason),
            data_again="My reason still holds",
            placeholder="Why you go on all the same",
            aria_describedby=f"{id_}-reason",
        ),
        element("p", "Or change ", *_links(whole, check), class_="loft-mend"),
        _alert(Card.alert),
        class_="loft-walk-item",
        data_verdict="fail",
        data_act="A reason first",
    )
