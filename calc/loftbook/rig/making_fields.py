"""The fields of making a canopy, declared once for every canopy. Paths are relative to its bay."""

from functools import partial

from loftbook.quantity import CORD_MASS, COUNT, FORCE, LENGTH, NUMBER, SHARE
from loftbook.rig.field import BayField
from loftbook.rig.ways import DROGUE
from loftbook.tables import FAMILIES, HEMS, SEAMS, THREADS

WHOLE, GORES, PANELS = "one piece", "gores", "panels across"
EITHER_WAY, ONE_WAY, ANY_WAY = "either way", "one way only", "any way, across too"
LOOP, V_TAB, OVER_SEAM = "sewn on, looped back", "to a V-tab of tape", "over the seam to the apex"
OWN_THREAD = "my own thread"

_make = partial(BayField, belongs="canopy", when=(("canopy.family", tuple(FAMILIES)),))

SEWN, OTHERWISE = "sewn as Make it says", "bought, or sewn otherwise"

MAKING = (
    _make(
        path="make.sewn",
        label="This canopy is",
        choices=(OTHERWISE, SEWN),
        default=OTHERWISE,
        help="Sewn so, its seams and lines' ends are links of the chain on Loads; of another's nobody here knows how strong they are.",
    ),
    _make(
        path="make.cut",
        label="Cut from",
        choices=(GORES, WHOLE, PANELS),
        default=GORES,
        defaults=((DROGUE, WHOLE),),
        help="One piece where the cloth is wide enough and the shape lies flat; gores for every shape; panels across for wide flat ones.",
    ),
    _make(
        path="make.bolt",
        label="Cloth's width",
        kind=LENGTH,
        default="1.5 m",
        low=0.3,
        high=4,
        help="Width of the cloth as it is sold, without its selvages.",
    ),
    _make(
        path="make.way",
        label="Cloth may lie",
        choices=(EITHER_WAY, ONE_WAY, ANY_WAY),
        default=EITHER_WAY,
        help="Either way: pieces are laid head to tail. One way only: a print or a coating wants all heads the same way. Any way: a weave that is alike along and across.",
    ),
    _make(
        path="make.colours",
        label="Colours",
        default="",
        optional=True,
        longest=60,
        help="Of the cloth, parted by commas or “;”, given to the pieces in turn and laid out each by itself; empty for one cloth.",
    ),
    _make(
        path="make.seam",
        label="Seam",
        choices=tuple(SEAMS),
        default="flat felled",
        help="How pieces are sewn to each other; each is drawn in section with what it costs in width.",
    ),
    _make(
        path="make.seam_width",
        label="Seam's finished width",
        kind=LENGTH,
        default="10 mm",
        low=0.003,
        high=0.04,
        help="From fold to fold; 8 to 13 mm is usual in light nylon (common practice, no source).",
    ),
    _make(
        path="make.hem",
        label="Hem",
        choices=tuple(HEMS),
        default="turned twice",
        help="How the skirt is finished; the edge of a hole is always bound with tape.",
    ),
    _make(
        path="make.hem_width",
        label="Hem's finished width",
        kind=LENGTH,
        default="10 mm",
        low=0.003,
        high=0.05,
        help="Of the turned hem, or how far a binding tape reaches over the cloth.",
    ),
    _make(
        path="make.tape_mass",
        label="Tape, mass per length",
        kind=CORD_MASS,
        default="2 g/m",
        low=0.0001,
        high=0.2,
        help="Binding tape and the tape of V-tabs; weigh a metre.",
    ),
    _make(
        path="make.tape_strength",
        label="Tape's strength",
        kind=FORCE,
        default="",
        low=5,
        high=50_000,
        optional=True,
        help="Breaking strength of the same tape; empty if you don't know it: then the hole's edge is judged by the cloth beneath.",
    ),
    _make(
        path="make.thread",
        label="Thread",
        choices=(*THREADS, OWN_THREAD),
        default="nylon thread, size E (V-T-295)",
        help="Sets the strength of a stitch; the same thread above and below.",
    ),
    _make(
        path="make.thread_strength",
        label="Thread's strength",
        kind=FORCE,
        default="35 N",
        low=2,
        high=2_000,
        when=(("canopy.family", tuple(FAMILIES)), ("make.thread", (OWN_THREAD,))),
        help="Breaking strength of one thread, as printed on the spool. It is reckoned as thick as the weakest thread of the table would be at that strength.",
    ),
    _make(
        path="make.stitch",
        label="Stitch length",
        kind=LENGTH,
        default="2.5 mm",
        low=0.001,
        high=0.006,
        help="2 to 3 mm is usual in light nylon (common practice, no source); measure ten of yours.",
    ),
    _make(
        path="make.lines",
        label="Lines are fastened",
        choices=(LOOP, V_TAB, OVER_SEAM),
        default=LOOP,
        help="At the skirt, where a seam or a corner meets the hem.",
    ),
    _make(
        path="make.at_skirt",
        label="Line sewn on at the skirt",
        kind=LENGTH,
        default="75 mm",
        low=0,
        high=1,
        help="What each line is cut longer for its end at the canopy; over the seam the way to the apex comes on top.",
    ),
    _make(
        path="make.at_link",
        label="Line for its loop at the link",
        kind=LENGTH,
        default="150 mm",
        low=0,
        high=2,
        help="What each line is cut longer for its loop, knot and tail at the link.",
    ),
    _make(
        path="make.tension",
        label="Lines are measured under",
        kind=FORCE,
        default="20 N",
        low=0,
        high=200,
        help="The pull on a line while its marks are set, by a luggage scale; the same for every line.",
    ),
    _make(
        path="make.shrink",
        label="Lines shrink by",
        kind=SHARE,
        default="0 %",
        low=0,
        high=0.15,
        help="What a metre of your line lost when you wetted and dried it; 0 if you wash it before. Pegs stand so much further apart.",
    ),
    _make(
        path="make.spare",
        label="Spare lines",
        kind=COUNT,
        default="1",
        low=0,
        high=32,
        help="Lines cut and marked with the others and kept, so that one can be replaced by its like.",
    ),
    _make(
        path="make.cloth_price",
        label="Price of a metre of cloth",
        kind=NUMBER,
        default="",
        low=0,
        high=100_000,
        optional=True,
        help="In your own money; empty if you don't care.",
    ),
    _make(
        path="make.line_price",
        label="Price of a metre of line",
        kind=NUMBER,
        default="",
        low=0,
        high=100_000,
        optional=True,
        help="In your own money; empty if you don't care.",
    ),
)

