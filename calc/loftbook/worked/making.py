"""A canopy to be made: its pieces with their allowances, how they lie on the cloth, its lines, what it takes, what it weighs. SI."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil

from loftbook.physics import chain, gores, nesting
from loftbook.physics.atmosphere import G0
from loftbook.physics.chain import Part
from loftbook.physics.elementary import PI, sqrt
from loftbook.physics.form import Form, seam_over_meridian
from loftbook.physics.gores import Offset, Wedge, Whole
from loftbook.physics.nesting import Layout
from loftbook.physics.outline import Notch, Piece, Point, Sewn, area, notches
from loftbook.physics.spread import Spread
from loftbook.physics.stopwatch import slowed
from loftbook.rig.making_fields import ANY_WAY, GORES, LOOP, ONE_WAY, OVER_SEAM, PANELS, V_TAB, WHOLE
from loftbook.tables import ENDS, HEMS, SEAMS, THREADS, Seam, Thread, known
from loftbook.worked.bay import NYLON
from loftbook.worked.canopy import Canopy
from loftbook.worked.descent import OpeningLoad
from loftbook.worked.loads import SEAM, STIFF

INCH = 0.0254
WIDTHS = {  # of cloth, that are compared [m]
    "metric": (0.9, 1.2, 1.4, 1.5, 1.6, 1.8, 2.0),
    "feet and inches": (36 * INCH, 45 * INCH, 54 * INCH, 58 * INCH, 60 * INCH, 72 * INCH),
}
SAMPLE = {"metric": 0.05, "feet and inches": 2 * INCH}  # width of the seam sample that is pulled, and step of the marking table [m]
APART = 0.003  # between pieces on the cloth, for shears [m], our choice
PATCH = 0.06  # side of a patch where a line comes on [m], our choice
TURNED = 0.01  # of a patch, turned in at each edge [m], our choice
TAB = 0.2  # tape of a V-tab [m], our choice
LAP = 0.06  # of tape, where its ends meet, and what is trimmed [m], our choice
LAPPED = LAP / 2  # how far they then lie on each other [m]
SCRAP = 0.15  # width of the cloth that a sample of a line's end is sewn on [m], our choice
ROD, TURNS = 0.02, 4  # how thick a rod is that cloth is pulled by [m], and how often cloth is rolled round it so that it does not slip; our choice
SHOWN = 0.09  # of a sample, clear between its rod and what is sewn [m], our choice
SAMPLED = {"metric": 0.05, "feet and inches": INCH}  # lengths of samples are told in steps of so much, rounded up [m]
ROD_LONG = SCRAP + 0.25  # with a gloved hand or a cord at both sides of the cloth [m]
ROW = 0.0015  # from a fold to the row of stitches beside it, at most a quarter of the seam [m], our choice
SQUARED = 0.05  # of cloth, to square both its ends: a shop cuts out of square [m], our choice
NUMBERED = 0.05  # from what is sewn of a line to its number [m], our choice
HELD = 0.3  # of line, to hold an end of the last of it by while it is measured, and between both ends of a sample [m], our choice
TRUE = 0.005  # how far a line may be from its length when all of it is sewn [m], our choice
SINKS = 2.0  # rate at which a canopy sinks when it is dropped, which sets its bag: light, so that it is soon steady and hurts nobody [m/s], our choice
STEADY = 0.02  # within what share of that it sinks when it comes to the first mark, our choice
TIMED = {"metric": 3.0, "feet and inches": 10 * 0.3048}  # over which a drop is timed [m], our choice
HIGHEST = {"metric": 15.0, "feet and inches": 50 * 0.3048}  # that two people rig from the ground, over a branch or a mast [m], our choice
BAG = 1.0  # of height, for the bag under its lines and the air beneath it when the skirt passes the lower mark [m], our choice
ROUND = {"metric": 0.1, "feet and inches": 0.3048}  # heights of a drop are told in steps of so much, rounded up [m]
EYE = 0.02  # of a loop at the link that is left open [m], our choice
NOTCHES = 3  # on each seam edge, our choice
ALL_HOLES = 0.9999  # of the cloth at the most that a row of stitches takes up: what is left holds next to nothing, but is there; our choice


@dataclass(frozen=True)
class Made:
    """A piece and where it is cut [m]."""

    piece: Piece
    cut: tuple[Point, ...]

    @property
    def size(self) -> tuple[float, float]:
        """Across and along, allowances counted in [m]."""
        xs, ys = [x for x, _ in self.cut], [y for _, y in self.cut]
        return max(xs) - min(xs), max(ys) - min(ys)

    @property
    def notches(self) -> tuple[Notch, ...]:
        """Marks on its seam edges; those of a neighbour meet them."""
        return tuple([one for edge in self.piece.edges if edge.sewn == "seam" for one in notches(edge, NOTCHES)])


@dataclass(frozen=True)
class Lot:
    """What is cut from cloth of one colour ("" where there is only one): each piece and how many of it; how they lie, None if they don't."""

    colour: str
    pieces: tuple[tuple[Made, int], ...]
    layout: Layout | None


    def more(self, way: str) -> float | None:
        """Of cloth for one piece more, that which takes most [m]; None where they don't lie; way: how pieces may lie."""
        if self.layout is None:
            return None
        told = []
        for at in range(len(self.pieces)):
            laid = _laid([(made, count + (i == at)) for i, (made, count) in enumerate(self.pieces)], self.layout.width, way)
            told.append(laid.length - self.layout.length if laid else 0.0)
        return max(0.0, *told)


def _laid(pieces: Sequence[tuple[Made, int]], width: float, way: str) -> Layout | None:
    """Pieces, each so many times, on cloth of a width [m]; None where they don't lie on it."""
    return nesting.lay_all(tuple([(made.cut, count) for made, count in pieces]), width, way == ONE_WAY, APART, may_turn=way == ANY_WAY)


@dataclass(frozen=True)
class Cloth:
    """What is bought at a width [m], lot by lot."""

    width: float
    lots: tuple[Lot, ...]

    @property
    def length(self) -> float | None:
        """Of all lots [m]; None where one does not lie on the cloth."""
        layouts = [lot.layout for lot in self.lots]
        return sum(layout.length for layout in layouts if layout) if layouts and all(layouts) else None

    @property
    def waste(self) -> float | None:
        """Share of what is bought that lies outside the pieces."""
        length = self.length
        return None if length is None else 1 - sum(lot.layout.area for lot in self.lots if lot.layout) / (self.width * length)


@dataclass(frozen=True)
class Making:
    """Only of a canopy whose shape is known.

    opening: what it feels when it opens; estimated: when its lines come tight, with the mass that the rig has [N]; factor: of
    the reader's design, on both.
    """

    canopy: Canopy
    opening: OpeningLoad
    estimated: float
    factor: float

    @property
    def form(self) -> Form:
        """What is to be made, as the geometry knows it."""
        one = self.canopy
        slope = one.said.number("canopy.slope") if one.family == "conical" else 0.0
        return Form(one.family, one.lines, one.size, one.vent, one.ratio, slope)

    # --- cloth ---

    @property
    def wanted(self) -> str:
        """What its reader wants to cut it from."""
        return self.canopy.said.text("make.cut")

    @property
    def seam(self) -> Seam:
        return SEAMS[self.canopy.said.text("make.seam")]

    @property
    def hem(self) -> Seam:
        return HEMS[self.canopy.said.text("make.hem")]

    @property
    def seam_width(self) -> float:
        """Finished [m]."""
        return self.canopy.said.number("make.seam_width")

    @property
    def hem_width(self) -> float:
        """Finished [m]."""
        return self.canopy.said.number("make.hem_width")

    @property
    def bolt(self) -> float:
        """Width of the cloth [m]."""
        return self.canopy.said.number("make.bolt")

    @cached_property
    def allowances(self) -> Mapping[Sewn, float]:
        """What is cut beyond each kind of edge [m]; the edge of a hole is bound."""
        return {"seam": self.seam.allowed(self.seam_width), "hem": self.hem.allowed(self.hem_width), "vent": 0.0, "fold": 0.0}

    @cached_property
    def whole(self) -> Whole | None:
        """The canopy in one piece; None where its shape does not lie flat."""
        return gores.whole(self.form)

    @cached_property
    def wedge(self) -> Wedge | None:
        """What is marked on folded cloth to cut one piece at once; None where it can't be folded so."""
        return gores.wedge(self.form) if self.wanted == WHOLE else None

    @cached_property
    def pieces(self) -> tuple[Made, ...]:
        """What is cut; () where this shape can't be cut so."""
        return self._cut_from(self.bolt)

    def _cut_from(self, width: float) -> tuple[Made, ...]:
        """The same from cloth of a width [m]."""
        found: tuple[Piece, ...] = ()
        if self.wanted == GORES and self.canopy.family != "cross":
            found = (gores.gore(self.form),)
        elif self.wanted == WHOLE and self.whole:
            found = (self.whole.piece,)
        elif self.wanted == PANELS:
            found = gores.panels(self.form, width - 2 * max(self.allowances.values()))
        return tuple([Made(piece, piece.cut(self.allowances)) for piece in found])

    @property
    def hole(self) -> float:
        """Radius of the hole that is marked on what is sewn and cut last [m]; 0 where pieces leave it open."""
        return self.form.hole if self.pieces and self.wanted != GORES else 0.0

    @property
    def colours(self) -> tuple[str, ...]:
        """Of the cloth, in the order in which pieces get them."""
        said = self.canopy.said.text("make.colours").replace(",", ";").split(";")
        return tuple([colour.strip() for colour in said if colour.strip()]) or ("",)

    @cached_property
    def cloth(self) -> Cloth:
        """What is bought of the cloth there is."""
        return self._bought(self.pieces, self.bolt)

    def _bought(self, pieces: tuple[Made, ...], width: float) -> Cloth:
        """Pieces dealt out to the colours one by one, and laid on cloth of a width [m]."""
        each = [made for made in pieces for _ in range(made.piece.count)]
        way = self.canopy.said.text("make.way")
        lots = []
        for colour in dict.fromkeys(self.colours):
            mine = [made for i, made in enumerate(each) if self.colours[i % len(self.colours)] == colour]
            counted = tuple([(made, mine.count(made)) for made in pieces if made in mine])
            if counted:
                lots.append(Lot(colour, counted, _laid(counted, width, way)))
        return Cloth(width, tuple(lots))

    @cached_property
    def widths(self) -> tuple[Cloth, ...]:
        """The same from cloth of each width that is compared."""
        return tuple([self._bought(self._cut_from(width), width) for width in WIDTHS[self.canopy.said.rig.units]])

    @cached_property
    def spoilt(self) -> float | None:
        """Cloth that one piece which goes wrong takes on top, of the piece that takes most [m]; None where they don't lie on it."""
        more = [lot.more(self.canopy.said.text("make.way")) for lot in self.cloth.lots]
        return None if None in more else max((one for one in more if one is not None), default=None)

    def bought(self, length: float) -> float:
        """What is asked for in the shop [m], of cloth that is so long between its squared ends [m]: in the reader's steps, rounded up."""
        return self._told(length + SQUARED)

    @property
    def cloth_bought(self) -> float | None:
        """Of all lots [m]; None where one does not lie on the cloth."""
        if self.cloth.length is None:
            return None
        return sum(self.bought(lot.layout.length) for lot in self.cloth.lots if lot.layout)

    @property
    def row_in(self) -> float:
        """From each fold of a felled seam to the row of stitches beside it [m]."""
        return min(ROW, self.seam_width / 4)

    @property
    def offsets(self) -> tuple[Offset, ...]:
        """The table to mark a gore by without a printer; a cross has none."""
        return () if self.canopy.family == "cross" else gores.offsets(self.form, self.sample)

    @property
    def edge_excess(self) -> float:
        """Edge of a gore over the meridian it follows (dimensionless): above 1 for domes."""
        return seam_over_meridian(self.form) if self.wanted == GORES else 1.0

    @property
    def crowded(self) -> bool:
        """Whether the seams of gores find no room side by side where they meet."""
        return self.wanted == GORES and bool(self.pieces) and self.canopy.lines * 2 * self.seam_width > PI * self.form.hole_across

    @property
    def angle(self) -> float | None:
        """What a cone cut from one piece takes up laid flat [degrees]; None for others."""
        return self.whole.angle * 180 / PI if self.wanted == WHOLE and self.whole and self.canopy.family == "conical" else None

    @property
    def dart(self) -> float:
        """How far from the apex the allowances of a cone cut from one piece lie on each other [m]; 0 of all others.

        Cut there, each would be taken out of the other's finished cloth.
        """
        if not self.angle or not self.whole:
            return 0.0
        return min(self.form.radius, 2 * self.allowances["seam"] / (2 * PI - self.whole.angle)) if self.whole.angle < 2 * PI else self.form.radius

    @property
    def seam_length(self) -> float:
        """Of all seams [m]: each joins two edges; the two panels of a cross are sewn to each other round the middle."""
        square = 4 * self.form.ratio * self.form.size if self.canopy.family == "cross" and self.wanted == PANELS else 0.0
        return self._edges("seam") / 2 + square

    @property
    def hem_length(self) -> float:
        """Of the skirt, or of all edges that stay free, without those of a hole [m]."""
        return self._edges("hem")

    @property
    def vent_length(self) -> float:
        """Of the edge of the hole [m]."""
        return self._edges("vent") + (PI * self.form.hole_across if self.hole else 0.0)

    def _edges(self, sewn: Sewn) -> float:
        return sum(edge.length * made.piece.count for made in self.pieces for edge in made.piece.edges if edge.sewn == sewn)

    # --- strength ---

    @property
    def thread(self) -> Thread | None:
        """Its row of the table; None for the reader's own."""
        return THREADS.get(self.canopy.said.text("make.thread"))

    @property
    def tex(self) -> float | None:
        """Of the thread, the most it may be, whole grams of a thousand metres; None of the reader's own."""
        return float(ceil(1e6 * self.thread.mass.high * (1 - 1e-9))) if self.thread else None

    @property
    def needle(self) -> float | None:
        """Size of the needle that this thread wants; None of the reader's own, and where only a heavy machine sews it."""
        row = known("needle").number
        sizes = (("fine", "thin"), ("usual", "thick"), ("stout", "high"))
        return next((row(size) for size, most in sizes if self.tex is not None and self.tex <= row(most)), None)

    @property
    def thread_strength(self) -> float:
        """[N]."""
        return self.thread.strength.value if self.thread else self.canopy.said.number("make.thread_strength")

    @property
    def stitches(self) -> float:
        """Strength of the stitches of a seam over its length [N/m]."""
        rows, strands = self.seam.rows.value, known("seam_strands").low
        return rows * strands * self.thread_strength / self.canopy.said.number("make.stitch")

    @property
    def holed(self) -> float:
        """Share of the cloth that needle and thread take up along a row of stitches: the thread as thick as if it were nylon.

        The reader's own, of which only the strength is known, as heavy as the weakest thread of the table would be at that strength.
        """
        mass = self.thread.mass.value if self.thread else self.thread_strength / min(row.strength.value / row.mass.value for row in THREADS.values())
        return min(ALL_HOLES, sqrt(4 * mass / (PI * NYLON)) / self.canopy.said.number("make.stitch"))

    @property
    def sewn_cloth(self) -> float | None:
        """Strength of the cloth beside a seam over its length [N/m]; None where that of the cloth is not known."""
        strength = self.canopy.cloth_strength
        return None if strength is None else strength * min(ENDS[SEAM].efficiency.value, 1 - self.holed)

    @property
    def seam_strength(self) -> float | None:
        """Of cloth and seams over a length [N/m]: the weaker of stitches, where there is a seam, and cloth; None where neither is known."""
        known_ones = [*([self.stitches] if self.seam_length else []), *([] if self.sewn_cloth is None else [self.sewn_cloth])]
        return min(known_ones, default=None)

    @property
    def pull(self) -> float:
        """What the opening asks of the cloth over a width [N/m]."""
        return chain.cloth_tension(self.opening.design, self.canopy.pulled_edge)

    @property
    def ring_pull(self) -> float:
        """In the edge of the hole [N]: a ring that the cloth pulls outwards all round; 0 without a hole."""
        return self.pull * self.form.hole_across / 2

    @property
    def tape_strength(self) -> float | None:
        """Of binding tape and V-tabs [N]; None where the reader has not said it."""
        return self.canopy.said.optional("make.tape_strength")

    @property
    def ring_holds(self) -> float | None:
        """What the edge of the hole holds [N]: its tape, or where that is not known the cloth beneath it; None where neither is."""
        if self.tape_strength is not None:
            return self.tape_strength
        return None if self.sewn_cloth is None else self.sewn_cloth * self.hem_width

    @property
    def sample(self) -> float:
        """Width of the seam sample, and step of the marking table: round in the reader's units [m]."""
        return SAMPLE[self.canopy.said.rig.units]

    def _sampled(self, length: float) -> float:
        """A sample's length in the reader's steps, rounded up [m]."""
        step = SAMPLED[self.canopy.said.rig.units]
        return step * ceil(length / step * (1 - 1e-9))

    @property
    def rolled(self) -> float:
        """Cloth that is rolled round a rod [m]."""
        return TURNS * PI * ROD

    @property
    def strip(self) -> float:
        """Length of each strip of the seam sample [m]."""
        return self._sampled(self.rolled + SHOWN)

    @property
    def scrap(self) -> float:
        """Length of the cloth that a sample of a line's end is sewn on [m]: hem, patch, what is rolled round a rod."""
        return self._sampled(self.allowances["hem"] + PATCH + self.rolled)

    @property
    def sample_load(self) -> float:
        """What a sample must hold over its width [N/m]: what the opening asks, and a share of what is worked out for it."""
        return max(self.pull * self.factor, known("sample_share").low * (self.seam_strength or 0.0))

    @property
    def sample_pull(self) -> float:
        """What a seam sample must hold [N]."""
        return self.sample_load * self.sample

    @property
    def line_sample_pull(self) -> float:
        """The same of a line's end [N]."""
        return max(self.line_pull * self.factor, known("sample_share").low * self.line_holds)

    @property
    def line_pull(self) -> float:
        """On the hardest pulled line [N], at the opening or when the lines come tight; of lines too short to span the skirt one is taken to carry all."""
        load = max(self.opening.design, self.snatch)
        if self.spans:
            return chain.line_load(load, self.canopy.lines, self.canopy.line_length, self.canopy.inflated_most / 2)
        return load

    @property
    def spans(self) -> bool:
        """Whether the lines reach from the inflated skirt to one point."""
        return self.canopy.inflated_most / 2 < self.canopy.line_length

    @property
    def snatch(self) -> float:
        """When the lines come tight [N]: as the rig has it, more where what is made here is heavier: with the root of the mass."""
        cloth = sum(mass for name, mass in self.masses.items() if name != "lines")
        return self.estimated * sqrt(max(1.0, cloth / self.canopy.cloth_mass))

    @property
    def line_ends(self) -> dict[str, float]:
        """What may give at a line's end at the skirt, and what each of it holds [N].

        The line with its end: sewn, or to a tab tied with the worst knot for its fibre, never better than the reader's own end.
        Stitches, one strand of thread each: folded back, half of what is sewn on lies on the other half; a tab is sewn along its
        tape. A tab's tape where its strength is known, one leg taken to carry all; cloth and patch across the patch, where known.
        """
        one, stitch = self.canopy, self.canopy.said.number("make.stitch")
        knot = "any knot in aramid" if one.line_stretch <= STIFF else "overhand loop"
        end = ENDS[knot if self.fastened == V_TAB else SEAM].efficiency.value
        rows = {V_TAB: TAB, LOOP: self.sewn_on, OVER_SEAM: 2 * self.sewn_on}[self.fastened]
        found = {"line with its end": one.line_strength * min(one.line_end, end), "stitches": rows / stitch * self.thread_strength}
        if self.fastened == V_TAB and self.tape_strength is not None:
            found["tape"] = self.tape_strength
        if self.sewn_cloth is not None:
            found["cloth and its patch"] = 2 * PATCH * self.sewn_cloth
        return found

    @property
    def line_holds(self) -> float:
        """What a line's end at the skirt holds [N]: the weakest of what may give there."""
        return min(self.line_ends.values())

    @property
    def link_stitches(self) -> float | None:
        """What the stitches of a sewn loop at the link hold [N]: half of what is left for it lies on the other half; None of a knot."""
        if self.canopy.said.text("lines.end") != SEAM:
            return None
        return self.canopy.said.number("make.at_link") / self.canopy.said.number("make.stitch") * self.thread_strength

    @property
    def least_at_link(self) -> float:
        """Of line for a loop at the link [m]: what is sewn on at least; a knot or a splice takes up many diameters of its line."""
        said = self.canopy.said
        turns = 0.0 if said.text("lines.end") == SEAM else known("splice_length" if said.text("lines.end") == "splice" else "knot_length").low
        return max(known("sewn_on").low, turns * said.number("lines.diameter"))

    @property
    def links(self) -> tuple[Part, ...]:
        """What is sewn, as links of the chain [N, of seams N/m]."""
        cause = "opening" if self.opening.design >= self.snatch else "snatch"
        seams = [Part("stitches of the seams, a metre of them", self.stitches, 1.0, self.pull, "opening")] if self.seam_length else []
        ring = [] if self.ring_holds is None or not self.ring_pull else [Part("edge of the hole", self.ring_holds, 1.0, self.ring_pull, "opening")]
        return (*seams, *ring, Part("line's end at the skirt", self.line_holds, 1.0, self.line_pull, cause))

    # --- lines ---

    @property
    def fastened(self) -> str:
        """How lines are fastened at the skirt."""
        return self.canopy.said.text("make.lines")

    @property
    def tension(self) -> float:
        """Under which lines are measured [N]."""
        return self.canopy.said.number("make.tension")

    @property
    def most_tension(self) -> float:
        """Under which they may be measured [N]."""
        return known("line_tension").high * self.canopy.line_strength

    @property
    def give(self) -> float:
        """How much longer a line is under that pull (share): in proportion up to its break."""
        return self.canopy.line_stretch * self.tension / self.canopy.line_strength

    @property
    def at_skirt(self) -> float:
        """What a line is cut longer for its end at the canopy [m]; what will shrink is counted in."""
        return self.sewn_on / self._shrunk

    @property
    def at_link(self) -> float:
        """The same for its loop at the link [m]."""
        return self.canopy.said.number("make.at_link") / self._shrunk

    @property
    def _shrunk(self) -> float:
        """What is left of a length of line when it has shrunk, as a share."""
        return 1 - self.canopy.said.number("make.shrink")

    @property
    def pegs(self) -> float:
        """How far apart a line is marked under its pull [m]: longer by what it will shrink."""
        return self.canopy.line_length / self._shrunk

    @property
    def line_cut(self) -> float:
        """What is cut for each line from the reel, slack [m]."""
        return self.pegs / (1 + self.give) + self.at_skirt + self.at_link

    @property
    def spare(self) -> int:
        return int(self.canopy.said.number("make.spare"))

    @property
    def line_sample(self) -> float:
        """Of line for a piece that is pulled as a sample, sewn at one end and looped at the other [m]."""
        return self.at_skirt + self.at_link + HELD

    @property
    def line_total(self) -> float:
        """Of line to buy [m], sample counted in, and what the last is held by at both ends."""
        return (self.canopy.lines + self.spare) * self.line_cut + self.line_sample + 2 * HELD

    # --- what it takes, what it weighs ---

    @property
    def tape(self) -> float:
        """Tape [m]: round the hole, round the skirt where that is bound, and V-tabs."""
        bound = [length for length in (self.vent_length, self.hem_length if self.hem.allowance is None else 0.0) if length]
        return sum(bound) + LAP * len(bound) + (TAB * self.canopy.lines if self.fastened == V_TAB else 0.0)

    @property
    def patch(self) -> float:
        """Side of a patch as it is cut [m]."""
        return PATCH + 2 * TURNED

    @property
    def tape_needed(self) -> float:
        """What the tape must hold, with the reader's factor [N]."""
        return self.factor * max(self.ring_pull, self.line_pull if self.fastened == V_TAB else 0.0)

    @property
    def link_needed(self) -> float:
        """What the link must hold, with the same [N]."""
        return self.factor * max(self.opening.design, self.snatch)

    @property
    def bag(self) -> float:
        """It is dropped with [kg]: so heavy that both sink as slowly as is wanted, and no lighter than the canopy, so that its lines are tight."""
        both = self.canopy.carries * (SINKS / self.canopy.rate.best) ** 2
        return float(f"{max(both - self.mass, self.mass):.2g}")

    @property
    def sinks(self) -> Spread:
        """How fast bag and canopy sink when it is full, in the air at the field [m/s]."""
        return replace(self.canopy, carries=self.bag + self.mass).rate

    @property
    def timed(self) -> float:
        """Over which a drop is timed: round in the reader's units [m]."""
        return TIMED[self.canopy.said.rig.units]

    def _told(self, height: float) -> float:
        """A height in the reader's steps, rounded up [m]: so heights that are told add up."""
        step = ROUND[self.canopy.said.rig.units]
        return step * ceil(height / step * (1 - 1e-9))

    @property
    def filling(self) -> float:
        """How far it may fall while it fills, most of its range [m]."""
        return self.canopy.filling_most * self.canopy.diameter

    @property
    def opens(self) -> float:
        """How far it falls from where it hangs by its crown until it is timed [m]: it fills, and slows down, as if it had fallen freely till then."""
        rate = self.sinks.high
        return self._told(self.filling + slowed(rate, sqrt(2 * G0 * self.filling) / rate, STEADY))

    @property
    def clear(self) -> float:
        """How high the lower mark is, so that the bag under the lines still hangs when the skirt passes it [m]."""
        return self._told(self.canopy.line_length + BAG)

    @property
    def dropped(self) -> float:
        """How high the skirt hangs when it is let go [m]."""
        return self.opens + self.timed + self.clear

    @property
    def crown(self) -> float:
        """How high its crown hangs then, and how far off everybody stands [m]."""
        return self._told(self.dropped + self._crown_to_skirt)

    @property
    def in_reach(self) -> bool:
        """Whether two people rig that from the ground."""
        return self.crown <= HIGHEST[self.canopy.said.rig.units]

    @property
    def _crown_to_skirt(self) -> float:
        """Along the cloth [m]."""
        shape = self.canopy.shape
        return shape.gore_length if shape else self.canopy.diameter / 2

    @property
    def hook(self) -> float:
        """How high it hangs by its link, clear of the floor [m]."""
        return self.canopy.line_length + self._crown_to_skirt

    @property
    def stitching(self) -> float:
        """Rows of stitches [m]: seams in two rows or more, hems, a zigzag there and back on every line's end."""
        rows = max(2.0, self.seam.rows.value) * self.seam_length + self.hem.rows.value * (self.hem_length + self.vent_length)
        return rows + 2 * self.canopy.lines * self.sewn_on

    @property
    def sewn_on(self) -> float:
        """Of each line at the canopy [m]."""
        seams = [edge.length for made in self.pieces for edge in made.piece.edges if edge.sewn == "seam"]
        return self.canopy.said.number("make.at_skirt") + (max(seams, default=0.0) if self.fastened == OVER_SEAM else 0.0)

    @property
    def thread_length(self) -> float:
        """Thread, above and below together [m]."""
        return known("thread_use").high * self.stitching

    @cached_property
    def cloth_area(self) -> float:
        """What is left of the cloth in the canopy [m^2]: pieces as cut, less a hole cut last."""
        return sum(area(made.cut) * made.piece.count for made in self.pieces) - PI * self.hole * self.form.hole_across / 2

    @property
    def masses(self) -> dict[str, float]:
        """What the finished canopy weighs, by what it is made of [kg]; of own thread nothing is counted."""
        one = self.canopy
        return {
            "cloth": (self.cloth_area + one.lines * self.patch * self.patch) * one.cloth_mass_per_area,
            "tape": self.tape * one.said.number("make.tape_mass"),
            "thread": self.thread_length * self.thread.mass.value if self.thread else 0.0,
            "lines": one.lines * self.line_cut * one.said.number("lines.mass"),
        }

    @property
    def mass(self) -> float:
        """Of the finished canopy with its lines [kg]."""
        return sum(self.masses.values())

    @property
    def packed(self) -> Spread:
        """Bulk of cloth, tape and thread [m^3], packed as the rig says; the least density gives the most."""
        own, row = self.canopy.said.optional("pack.density"), known("loose_density")
        dense = Spread(own, own, own) if own is not None else Spread(row.low, (row.low + row.high) / 2, row.high)
        return dense.map(lambda density: (self.mass - self.masses["lines"]) / density)

    @property
    def cost(self) -> float | None:
        """Of cloth and line together, before a shop rounds, in the reader's money; None where no price is typed."""
        cloth, line = self.canopy.said.optional("make.cloth_price"), self.canopy.said.optional("make.line_price")
        if (cloth is None and line is None) or self.cloth.length is None:
            return None
        needed = sum(lot.layout.length + SQUARED for lot in self.cloth.lots if lot.layout)
        return (cloth or 0.0) * needed + (line or 0.0) * self.line_total
