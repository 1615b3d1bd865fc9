"""What is handed to someone else or taken to the field: one step, the field card, the walk-through.

Composes what a plan already holds into HTML fragments; computes no figure of its own.
"""

from collections.abc import Sequence
from xml.etree.ElementTree import Element

from loftbook.calculators import CALCULATORS, folding, packing
from loftbook.case import Case
from loftbook.answer import Check, Stage
from loftbook.drawing.qr import qr_code
from loftbook.errors import Fault, Refusal
from loftbook.plan import Plan
from loftbook.faces.render import VERDICTS, checks, element, figure, written

_CARD_NUMBERS = (
    ("canopy", "rate"),
    ("folding", "bundle_length"),
    ("folding", "bundle_diameter"),
    ("packing", "bundle_depth"),
    ("packing", "spare"),
    ("cord", "suggested"),
    ("descent", "time"),
    ("descent", "drift"),
    ("loads", "design_load"),
)
CARD_CAUTIONS = (
    "Energetic material burns, deafens and blinds: eyes and ears covered, nobody in front or behind, remote firing only.",
    "Figures here are where a ground test starts, never a substitute for one.",
    "Electronics off until the pad. After a misfire wait at least 60 seconds.",
    "The range safety officer, local law and certified flyers decide.",
)
AT_THE_PAD = (
    ("pad-officer", "Range safety officer has seen the rocket", "Say what it is, what it weighs, how it comes down."),
    (
        "pad-wind",
        "Wind looked at again",
        "At ten metres and aloft: the drift picture holds for the wind that was entered.",
    ),
    ("pad-people", "People behind the line", "Everyone knows it is going up, and watches it all the way down."),
    (
        "pad-arm",
        "Electronics armed at the pad, last of all",
        "Rocket upright, igniter out, listen for the right signal.",
    ),
    (
        "pad-down",
        "After landing: made safe before it is touched",
        "Any charge that has not fired is live: arm off first.",
    ),
)


def steps_of(case: Case) -> tuple[Stage, ...]:
    """Preparations, folds and packing in the order they are done."""
    return folding.stages(case) + packing.stages(case)


def _neighbour(stage: Stage | None, words: str, class_: str) -> Element:
    if stage is None:
        return element("span", class_=f"loft-no-step {class_}")
    return element("a", f"{words}: {stage.title}", href=f"#{stage.anchor}", class_=f"loft-big {class_}")


def step(case: Case, anchor: str) -> list[Element]:
    """One step that stands alone. Raises `Refusal` when this rig has no such step."""
    stages = steps_of(case)
    anchor = anchor or stages[0].anchor
    place = next((i for i, stage in enumerate(stages) if stage.anchor == anchor), None)
    if place is None:
        known = ", ".join(stage.anchor for stage in stages)
        raise Refusal(
            Fault(
                message=f"This rig has no step “{anchor[:40]}”: another canopy, tube or bay folds otherwise. "
                "Choose one from the list.",
                field="",
                label="step",
                given=anchor[:60],
                allowed=known,
            )
        )
    stage = stages[place]
    before = stages[place - 1] if place else None
    after = stages[place + 1] if place + 1 < len(stages) else None
    return [
        element("p", f"{case.rig.text('rig.name')}: step {place + 1} of {len(stages)}", class_="loft-where"),
        element("h2", stage.title, id=stage.anchor),
        element("p", stage.text, class_="loft-do"),
        *([figure(stage.drawing)] if stage.drawing else []),
        element("p", element("strong", "You should see: "), stage.seen, class_="loft-seen"),
        element("p", element("strong", "If not: "), stage.otherwise, class_="loft-otherwise"),
        element(
            "div",
            _neighbour(before, "Back", "loft-back"),
            _neighbour(after, "Next", "loft-next"),
            class_="loft-turn",
        ),
        element(
            "details",
            element("summary", "All steps"),
            element("ol", *(element("li", element("a", s.title, href=f"#{s.anchor}")) for s in stages)),
            class_="loft-all-steps",
        ),
    ]


def _tick(words: str, *more: str) -> Element:
    return element("li", element("span", "☐ ", class_="loft-box", aria_hidden="true"), element("strong", words), *more)


def card(whole: Plan, links: Sequence[tuple[str, str]] = ()) -> list[Element]:
    """The field card: one printed side. links: (name, address) pairs drawn as QR codes."""
    rig, answers = whole.rig, whole.answers
    numbers = []
    for name, output_name in _CARD_NUMBERS:
        output = next(o for o in CALCULATORS[name].outputs if o.name == output_name)
        value = answers[name].outputs[output_name]
        numbers.append(element("div", element("dt", output.label), element("dd", *written(value, output, rig.units))))
    folds = _without_repeats(answers["folding"].stages)
    codes = [
        element("figure", *list(figure(qr_code(address, name))), class_="loft-code")
        for name, address in links
        if address
    ]
    return [
        element(
            "article",
            element("h2", rig.text("rig.name")),
            element("dl", *numbers, class_="loft-key"),
            element("h3", "Fold"),
            element("ol", *(_tick(f"{title}. ", seen) for title, seen in folds), class_="loft-card-steps"),
            element("h3", "Pack"),
            element(
                "ol", *(_tick(f"{s.title}. ", s.seen) for s in answers["packing"].stages), class_="loft-card-steps"
            ),
            element("h3", "Checks"),
            element("ul", *(_check_line(check) for check in whole.checks), class_="loft-card-checks"),
            element(
                "div",
                element("ul", *(element("li", caution) for caution in CARD_CAUTIONS), class_="loft-cautions"),
                element("div", *codes, class_="loft-codes"),
                class_="loft-card-foot",
            ),
            class_="loft-card",
        )
    ]


def _without_repeats(stages: Sequence[Stage]) -> list[tuple[str, str]]:
    """(title, what should be seen) of the folds; preparations left out, pleats as one line with the last one's words."""
    folds = [s for s in stages if not s.anchor.startswith("prep-")]
    pleats = [s for s in folds if s.anchor.startswith("fold-pleat-")]
    last = pleats[-1] if len(pleats) > 1 else None
    return [
        (f"Pleats 1 to {len(pleats)}, back and forth" if stage is last else stage.title, stage.seen)
        for stage in folds
        if last is None or stage is last or stage not in pleats
    ]


def _check_line(check: Check) -> Element:
    said = "" if check.verdict == "pass" else f": {check.reason}"
    return _tick(f"{check.title}: {VERDICTS[check.verdict]}", said)


def walk(whole: Plan) -> list[Element]:
    """The walk-through: every step and check as something to tick; a failed check asks for a reason."""
    failed = [check for check in whole.checks if check.verdict != "pass"]
    parts = [
        ("Fold", [(s.anchor, s.title, f"{s.text} You should see: {s.seen}") for s in whole.answers["folding"].stages]),
        ("Pack", [(s.anchor, s.title, f"{s.text} You should see: {s.seen}") for s in whole.answers["packing"].stages]),
        ("At the pad", list(AT_THE_PAD)),
    ]
    made = [element("ul", *(element("li", caution) for caution in CARD_CAUTIONS), class_="loft-cautions")]
    for title, rows in parts:
        made.append(element("h2", title))
        made.append(element("ol", *(_item(*row) for row in rows), class_="loft-walk"))
        if title == "Pack":
            made.append(element("h2", "Checks"))
            made.append(
                element("ul", *(_failed(check) for check in failed), class_="loft-walk")
                if failed
                else checks(whole.checks)
            )
    return made


def _item(anchor: str, title: str, text: str) -> Element:
    box = element("input", type="checkbox", id=f"walk-{anchor}", data_item=anchor)
    label = element("label", box, element("strong", title), for_=f"walk-{anchor}")
    return element("li", label, element("p", text), class_="loft-walk-item")


def _failed(check: Check) -> Element:
    """A check that fails needs a reason before the walk-through is done; one to look at again needs a tick."""
    if check.verdict == "warn":
        return _item(f"check-{check.name}", f"{VERDICTS['warn']}: {check.title}", check.reason)
    id_ = f"walk-why-{check.name}"
    return element(
        "li",
        element("label", element("strong", f"{VERDICTS['fail']}: {check.title}. "), check.reason, for_=id_),
        element("textarea", rows="2", id=id_, data_why=check.name, placeholder="Why you go on all the same"),
        class_="loft-walk-item",
        data_verdict="fail",
    )
