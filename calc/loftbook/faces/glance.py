"""What the start pages say at one look: the reader's rocket under its canopy and cut open, and the few measures to begin with.

Composes what the core knows into HTML fragments; computes no figure of its own.
"""

from collections.abc import Callable
from typing import Literal

from loftbook.calculators import CALCULATORS
from loftbook.drawing import measures, rocket
from loftbook.drawing.markup import Markup, element
from loftbook.drawing.rocket import Cloth, Door, Hanging, Part, Room, Rope
from loftbook.drawing.svg import Drawing
from loftbook.faces.render import DEMO, borrowed, judged, stopped, verdict, whose
from loftbook.plan import Plan, parted
from loftbook.quantity import LENGTH, MASS, SPEED, at_least
from loftbook.rig.field import Field
from loftbook.rig.fields import DEFAULTS, FIELDS, STARTS
from loftbook.rig.parsing import is_relevant, parse
from loftbook.rig.rig import Rig
from loftbook.rig.ways import DROGUE, FORWARD, MAIN, WAYS
from loftbook.worked.hanging import Picture
from loftbook.worked.worked import Worked

_ABOUT_PAGES = "rig."
_LINE = 18  # letters beside the cut-open rocket
_PAGES = {
    "bundle": ("folding/#{key}-prep-inspect", "fold it"),
    "cord": ("cord/", "see how long it must be"),
    "protector": ("packing/#{bay}-pack-protector", "see how it is packed"),
    "device": ("packing/#{bay}-pack-device", "see how it is packed"),
    "charge": ("separation/", "see what parts the joint"),
}


def is_readers(rig: Rig) -> bool:
    """Whether anything of the rocket itself was said, so that it is no longer the starting rig as it is."""
    return any(path not in rig.assumed and not path.startswith(_ABOUT_PAGES) for path in FIELDS)


# --- the rocket ----------------------------------------------------------------------------------------


def rocket_drawing(worked: Worked) -> Drawing:
    """As it hangs and as it is packed; every part leads to its page."""
    hangs = worked.hangs
    way = worked.rig.way
    carried = way.canopies[-1:] if way.tied else way.canopies
    rooms = _rooms(worked)
    first = min(rooms, key=lambda room: room.mouth)
    told = [", ".join(filter(None, (door.name, door.figure))) for room in rooms for _, door in room.doors]
    return rocket.rocket(
        [_hanging(worked, hangs.picture(key)) for key in carried],
        rooms,
        (first.mouth, Door("measure/", _fore(worked), "", "Nose: measure your rocket")),
        worked.rig.number("rocket.length"),
        ("Under its canopy", "Packed, cut open"),
        worked.writer(LENGTH),
        ("The rocket on its cord, and packed, cut open", f"Each half to one scale; slanted marks leave cord or tube out. Packed in it: {'; '.join(told)}."),
    )


def _fore(worked: Worked) -> str:
    return worked.airframe.sections[0].name


def _hanging(worked: Worked, picture: Picture) -> Hanging:
    length = worked.writer(LENGTH)

    def cord(top: float, bottom: float) -> Door:
        return Door("cord/", "cord", length(bottom - top), f"Cord, {length(bottom - top)} of it here: see how long it must be")

    return Hanging(
        tuple(
            Cloth(
                depth,
                one.line_length,
                one.inflated_most,
                Door("canopy/" if one.key == MAIN else f"canopy/#{one.key}-size", one.name.removesuffix(" part"), "", f"{one.name.capitalize()}: choose a canopy"),
            )
            for one, depth in picture.canopies
        ),
        tuple(Rope(leg.top, leg.bottom, leg.beside, cord(leg.top, leg.bottom)) for leg in picture.legs),
        tuple(Part(part.top, part.bottom, "nose" if part.nose else "airframe", part.beside) for part in picture.parts),
        max(bay.tube for bay in worked.bays.values()),
    )


def _rooms(worked: Worked) -> list[Room]:
    """Every bay where it lies in the rocket; shoulders are inside what stands aft of them."""
    airframe, made, hidden = worked.airframe, [], 0.0
    for key, bay in sorted(worked.bays.items(), key=lambda one: airframe.joint(one[0])):
        hidden += bay.shoulder
        mouth = max(airframe.forward(key).length - hidden, bay.tube / 2)
        charge = worked.joints[key].charge
        side: Literal["below", "above", ""] = ("above" if bay.charge_above else "below") if charge.there else ""
        made.append(Room(mouth, bay.stack, bay.tube, bay.beside, _doors(worked, key), side))
    return made


def _doors(worked: Worked, key: str) -> tuple[tuple[str, Door], ...]:
    """For each thing in a bay where it leads, named by its bay or canopy where there are several."""
    bay, length, several = worked.bays[key], worked.writer(LENGTH), len(worked.rig.way.keys) > 1
    found: dict[str, Door] = {}
    for lying in bay.stack.layers:
        kind, owner = lying.item.kind, lying.item.owner
        if kind not in _PAGES:
            continue
        whole = kind == "cord" and len(bay.cords) > 1
        of = worked.title(owner if kind == "bundle" and owner else key)
        name = kind if kind != "bundle" or len(bay.tenants) < 2 else f"{kind} {owner}"
        figure = "" if whole or kind == "protector" else length(bay.cord.stowed if kind == "cord" else lying.item.height)
        found[name] = _door(kind, of if several else "", figure, owner or key, key)
    if worked.joints[key].charge.there:
        found["charge"] = _door("charge", worked.title(key) if several else "", "", key, key)
    return tuple(found.items())


def _door(kind: str, of: str, figure: str, key: str, bay: str) -> Door:
    page, act = _PAGES[kind]
    below = ", ".join(filter(None, (of, figure)))
    below = below if len(below) <= _LINE else of
    return Door(page.format(key=key, bay=bay), kind, below, "" if below else f"{kind.capitalize()}: {act}")


# --- home -----------------------------------------------------------------------------------------------


def sentence(worked: Worked) -> str:
    """What comes down how fast: of the range that is known, the fast end."""
    fall = max(worked.descent.falls, key=lambda one: one.touchdown_rate.high)
    mass, rate = worked.show(worked.airframe.mass, MASS), worked.show(fall.touchdown_rate.high, at_least(SPEED))
    whose_ = "This" if is_readers(worked.rig) else "The demo’s"  # it may have come in a link
    return f"{whose_} {mass} rocket comes down at up to {rate}."


def home_parts(whole: Plan) -> list[Markup]:
    """The sentence, the verdict, whose rocket it is, the picture. As tall for every rig, so that nothing moves when it is another."""
    worked, drawing = whole.worked, rocket_drawing(whole.worked)
    return [
        element("p", sentence(worked), class_="loft-summary"),
        element("p", element("a", f"{stopped(whole)}: see the plan", href="plan/"), class_="loft-stops", data_sound="yes" if whole.sound else "no"),
        _whose_rocket(worked.rig),
        element("p", element("a", "Start with six measures", href="start/", class_="loft-button loft-button-first"), class_="loft-go"),
        element(
            "figure",
            drawing.svg,
            element("figcaption", "Touch a part: its page opens. To scale but for the slanted marks; fins are not to scale."),
            class_="loft-drawing loft-rocketbox",
        ),
    ]


def _whose_rocket(rig: Rig) -> Markup:
    """Whether it is the demo's, or how much of it is still the starting rig's."""
    if not is_readers(rig):
        return element("p", DEMO, class_="loft-whose", data_demo=DEMO)
    still, asked = borrowed(rig, (name for name, one in CALCULATORS.items() if one.in_plan))
    told = f"{still} of {asked} measures: still the starting rig’s." if still else f"All {asked} measures are yours."
    return element("p", told, class_="loft-whose", data_still=str(still))


TILES = (
    ("canopy/", "Size", "How large a canopy, for the rate you want", measures.sized),
    ("folding/", "Fold", "One picture for each fold, to your tube", measures.folded),
    ("packing/", "Pack", "What goes in, in what order, how deep", measures.packed),
    ("field/", "Field", "One card for each act, to tick", measures.ticked),
)


def tiles() -> Markup:
    """Four pictures, each a page."""
    made = (
        element("a", figure(), element("strong", name), element("span", told), href=page, class_="loft-tile")
        for page, name, told, figure in TILES
    )
    return element("nav", *made, class_="loft-tiles", aria_label="Jobs")


# --- start with six -----------------------------------------------------------------------------------------

_SIX: dict[str, tuple[str, Callable[[], Markup]]] = {
    "rocket.mass": ("Mass", measures.weighed),
    "bay.tube": ("Tube, inside", measures.across_tube),
    "bay.depth": ("Bay, depth", measures.down_bay),
    "canopy.size": ("Canopy, size", measures.across_canopy),
    "canopy.sides": ("Lines", measures.counted_lines),
    "cord.length": ("Cord", measures.along_cord),
}
_HEADS = {MAIN: "Your rocket, its main bay", DROGUE: "Its drogue, or first bay", FORWARD: "Its forward part"}


def asked(key: str) -> list[Field]:
    """The measures that are asked of one bay first; the rocket's own with the main's."""
    paths = (path if path in FIELDS else f"{key}.{path}" for path in _SIX if key == MAIN or path not in FIELDS)
    return [FIELDS[path] for path in paths if path in FIELDS]


def start_form() -> Markup:
    """The form: six short rows, those of a second bay below; the rows of a way down that the demo has not are hidden."""
    return element("form", *(_group(key) for key in _HEADS), class_="loft-form loft-few", novalidate="novalidate")


def _group(key: str) -> Markup:
    fields = asked(key)
    there = any(is_relevant(field, DEFAULTS) for field in fields)
    return element(
        "fieldset",
        element("legend", _HEADS[key]),
        *(_row(field) for field in fields),
        class_="loft-group loft-open",
        data_group=f"{key}.few",
        hidden=None if there else "hidden",
    )


def _row(field: Field) -> Markup:
    """Where to put the rule, the name, what it reads, room for whose it is and for a fault."""
    id_ = f"start-{field.path}"
    name, sign = _SIX[field.path.removeprefix(f"{field.bay}.")]
    typed = {"autocomplete": "off", "spellcheck": "false", "autocapitalize": "off"}
    return element(
        "div",
        sign(),
        element("label", name, for_=id_),
        element("span", class_="loft-origin", hidden="hidden"),
        element("input", type="text", value=field.default, id=id_, name=field.path, aria_describedby=f"{id_}-help {id_}-fault", **typed),
        element("p", field.help, class_="loft-help", id=f"{id_}-help"),
        element("div", class_="loft-fault", id=f"{id_}-fault", hidden="hidden"),
        class_="loft-field",
        data_field=field.path,
        data_when="&".join(f"{path}={'|'.join(values)}" for path, values in field.when) or None,
    )


def start_rigs() -> Markup:
    """A button for each starting rig, the slimmest first, with its tube and bays to one scale."""
    by_size = sorted(STARTS, key=lambda name: parse({"rig.start": name}).number("main.bay.tube"))
    made = [
        element(
            "button",
            measures.rocket_sign(*_outline(name)),
            element("span", f"{STARTS[name]['main.bay.tube']} "),
            element("span", "one bay" if len(WAYS[STARTS[name]["flight.way"]].bays) == 1 else "two bays"),
            type="button",
            data_start=name,
            aria_pressed="true" if name == DEFAULTS["rig.start"] else "false",
        )
        for name in by_size
    ]
    return element("div", element("p", "Start from the rocket most like yours"), *made, class_="loft-begin", role="group", aria_label="Start from")


def _outline(name: str) -> tuple[float, float, int]:
    rig = parse({"rig.start": name})
    return rig.number("rocket.length"), rig.number("main.bay.tube"), len(rig.way.bays)


def start_verdict(whole: Plan) -> str:
    """The verdict as it stays in sight; while nothing is the reader's, that it is of the demo."""
    return verdict(whole) if is_readers(whole.rig) else f"{DEMO}. {verdict(whole)}"


def start_parts(whole: Plan) -> list[Markup]:
    """The verdict on what is typed so far, what it rests on, the rocket, the way to the whole plan."""
    stops = [check for check in whole.checks if check.verdict == "fail"]
    few = [field.path for key in _HEADS for field in asked(key) if is_relevant(field, whole.rig.texts)]
    yours = sum(path not in whole.rig.assumed for path in few)
    drawing = rocket_drawing(whole.worked)
    return [
        judged(whole),
        *([element("p", stops[0].reason, class_="loft-reason")] if stops else []),
        element("p", f"{yours} of the {len(few)} measures above are yours.", class_="loft-few-yours", data_yours=str(yours)),
        *whose(whole.rig, (parted(name)[1] for name in whole.answers)),
        element("p", sentence(whole.worked)),
        element("p", element("a", "See the whole plan", href="../plan/", class_="loft-button loft-button-first")),
        element("figure", _nearby(drawing.svg), element("figcaption", "To scale but for the slanted marks; fins are not to scale."), class_="loft-drawing loft-rocketbox"),
    ]


def _nearby(svg: Markup) -> Markup:
    """The same picture in a page one folder down."""
    return Markup(svg.replace('href="', 'href="../'))


