"""Pieces and the line to cut along: over the whole ranges of the rig's fields, with shapely as the judge of plane geometry."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, unary_union
from shapely import Point as Spot
from shapely.affinity import affine_transform

from loftbook.physics import canopy, gores
from loftbook.physics.canopy import Shape
from loftbook.physics.form import CHORD, DOMES, FAMILIES, Form
from loftbook.physics.outline import LONGEST_MITRE, Edge, Piece, Point, area, grown, notches

often = settings(derandomize=True, max_examples=120, deadline=None, suppress_health_check=list(HealthCheck),
                 phases=(Phase.explicit, Phase.generate), report_multiple_bugs=False)  # fmt: skip
WITH_GORES = [family for family in FAMILIES if family != "cross"]


@st.composite
def forms(draw: st.DrawFn, families: Sequence[str] = FAMILIES) -> Form:
    """Any canopy the rig's fields let one type."""
    family = draw(st.sampled_from(families))
    ratio = {"semi-ellipsoid": (0.2, 1.0), "cross": (0.15, 0.6), "annular": (0.05, 0.8)}.get(family)
    holed = family not in ("cross", "annular")
    return Form(
        family,
        draw(st.integers(4, 32)),
        draw(st.floats(0.05, 15)),
        draw(st.one_of(st.just(0.0), st.floats(0.002, 0.3))) if holed else 0.0,
        draw(st.floats(*ratio)) if ratio else 1.0,
        draw(st.floats(1, 60)) if family == "conical" else 0.0,
    )


def shape_of(form: Form) -> Shape:
    """The same canopy by the formulas that its drag is worked with."""
    match form.family:
        case "flat polygon":
            return canopy.flat_polygon(form.gores, form.size, form.vent)
        case "flat circular":
            return canopy.flat_circular(form.gores, form.size, form.vent)
        case "conical":
            return canopy.conical(form.gores, form.size, form.slope, form.vent)
        case "hemispherical":
            return canopy.hemispherical(form.gores, form.size, form.vent)
        case "semi-ellipsoid":
            return canopy.semi_ellipsoid(form.gores, form.size, form.ratio, form.vent)
        case "annular":
            return canopy.annular(form.gores, form.size, form.ratio)
    return canopy.cross(form.size, form.ratio)


def pieces_of(form: Form) -> Iterator[Piece]:
    """Every piece that it can be cut into."""
    if form.family != "cross":
        yield gores.gore(form)
    if whole := gores.whole(form):
        yield whole.piece
    if wedge := gores.wedge(form):
        yield wedge.piece
    yield from gores.panels(form, form.size / 2.7)


def parts(points: Sequence[Point]) -> list[tuple[Point, Point]]:
    return list(pairwise([*points, points[0]]))


def away(line: tuple[Point, Point], point: Point) -> float:
    """How far right of a line a point is: outside, of an anticlockwise outline."""
    (x0, y0), (x1, y1) = line
    return ((x1 - x0) * (y0 - point[1]) - (x0 - point[0]) * (y1 - y0)) / math.hypot(x1 - x0, y1 - y0)


def along(line: tuple[Point, Point], point: Point) -> float:
    """How far along a line a point is."""
    (x0, y0), (x1, y1) = line
    return ((x1 - x0) * (point[0] - x0) + (y1 - y0) * (point[1] - y0)) / math.hypot(x1 - x0, y1 - y0)


# --- finished pieces ------------------------------------------------------------------------------


@often
@given(forms())
def test_pieces_are_closed_simple_and_on_the_grain(form: Form) -> None:
    for piece in pieces_of(form):
        assert piece.closed
        assert Polygon(piece.outline).is_valid
        assert piece.area == pytest.approx(Polygon(piece.outline).area, rel=1e-12)
        (x0, y0), (x1, y1) = piece.grain
        assert x0 == x1
        assert y0 < y1
        if form.gores > 3 and piece.name != "wedge":
            assert Polygon(piece.outline).covers(LineString(piece.grain))


@often
@given(forms(WITH_GORES))
def test_gores_sew_up(form: Form) -> None:
    """Neighbouring edges are equal, mirrored to the last bit; the hems together are the skirt, the gores together the cloth."""
    piece, shape = gores.gore(form), shape_of(form)
    right, left = (edge for edge in piece.edges if edge.sewn == "seam")
    assert right.length == pytest.approx(left.length, abs=1e-12)
    assert right.points == tuple((0.0 - x, y) for x, y in reversed(left.points))
    hem = piece.edges[0]
    chord = 2 * form.half_angle / (len(hem.points) - 1) if len(hem.points) > 2 or form.family in ("flat circular", "conical", "annular") else 0.0
    assert form.gores * hem.length <= shape.skirt * (1 + 1e-12)
    assert form.gores * hem.length >= shape.skirt * (1 - chord * chord / 24 - 1e-12)
    assert form.gores * gores.gore_area(form) == pytest.approx(shape.cloth_area, rel=1e-9)
    assert abs(piece.area - gores.gore_area(form)) <= gores.rounding(piece) + 1e-12
    assert piece.count == form.gores
    assert {edge.sewn for edge in piece.edges} == {"hem", "seam"} | ({"vent"} if form.hole else set())


@often
@given(forms(WITH_GORES))
def test_straight_parts_of_arcs_stay_close_to_them(form: Form) -> None:
    """The middle of a chord is where it is farthest from its arc; domes are judged in tests/outside."""
    for edge in gores.gore(form).edges:
        if len(edge.points) > 2 and form.family not in DOMES:
            radius = form.radius if edge.sewn == "hem" else form.hole
            for (x0, y0), (x1, y1) in pairwise(edge.points):
                ends = [math.hypot(x, form.radius - y) for x, y in ((x0, y0), (x1, y1))]
                middle = math.hypot((x0 + x1) / 2, form.radius - (y0 + y1) / 2)
                assert ends == pytest.approx([radius, radius], abs=1e-12 * form.size)
                assert 0 <= radius - middle <= CHORD


@often
@given(forms(), st.floats(0.02, 0.5))
def test_offsets_lie_on_the_finished_edge(form: Form, step: float) -> None:
    if form.family == "cross":
        return
    piece = gores.gore(form)
    rows = gores.offsets(form, step * form.size)
    ring = LineString([*piece.outline, piece.outline[0]])
    high = max(y for _, y in piece.outline)
    assert rows[0].along == 0
    assert rows[-1].along == pytest.approx(high, abs=1e-12 * form.size)
    assert [row.along for row in rows] == sorted({row.along for row in rows})
    for row in rows:
        assert ring.distance(Spot(row.half, row.along)) <= CHORD * (1 + 1e-9)
    for i in range(int(high / (step * form.size) * (1 - 1e-9)) + 1):
        assert min(abs(row.along - i * step * form.size) for row in rows) < 1e-8 * form.size


def test_offsets_of_flat_gores_in_closed_form() -> None:
    for row in gores.offsets(Form("flat polygon", 8, 2.0, 0.1), 0.05):
        assert row.half == pytest.approx((1 - row.along) * math.tan(math.pi / 8), abs=1e-14)
    for row in gores.offsets(Form("flat circular", 6, 2.0), 0.05):
        on_arc = math.hypot(row.half, 1 - row.along) == pytest.approx(1, abs=1e-12)
        on_seam = row.half == pytest.approx((1 - row.along) * math.tan(math.pi / 6), abs=1e-12)
        assert on_arc or on_seam
        assert on_seam or row.along <= 1 - math.cos(math.pi / 6)


# --- one piece, wedge, strips ---------------------------------------------------------------------


@often
@given(forms())
def test_one_piece_has_the_canopy_s_area(form: Form) -> None:
    whole, shape = gores.whole(form), shape_of(form)
    if form.family in DOMES:
        assert whole is None
        return
    assert whole
    hole = math.pi * whole.hole * whole.hole * whole.angle / (2 * math.pi)
    assert abs(whole.piece.area - hole - shape.cloth_area) <= gores.rounding(whole.piece) + 1e-9 * shape.nominal_area
    if form.family in ("flat polygon", "cross"):
        assert whole.piece.area - hole == pytest.approx(shape.cloth_area, rel=1e-12)
    assert whole.angle == pytest.approx(
        2 * math.pi * (math.cos(math.radians(form.slope)) if form.family == "conical" else 1)
    )
    if form.family == "conical":
        hem, there, back = whole.piece.edges
        assert there.length == pytest.approx(back.length, abs=1e-12)
        assert hem.length <= shape.skirt * (1 + 1e-12)
        assert hem.length > shape.skirt * (1 - (whole.angle / (len(hem.points) - 1)) ** 2 / 20)


@pytest.mark.parametrize("sides", [4, 5, 8, 9, 12, 31])
@pytest.mark.parametrize("allowance", [0.0, 0.02])
def test_a_folded_wedge_opens_to_the_whole_polygon(sides: int, allowance: float) -> None:
    """What one cut through all layers leaves is unfolded by reflections, layer by layer, and is the cut of the one piece."""
    form = Form("flat polygon", sides, 1.4)
    wedge, whole = gores.wedge(form), gores.whole(form)
    assert wedge
    assert whole
    assert wedge.layers == (sides if sides % 2 == 0 else 2 * sides)
    cut = wedge.piece.cut({"hem": allowance})
    angle = 2 * math.pi / wedge.layers
    start = -math.pi / 2 - (math.pi / sides if sides % 2 == 0 else 0)
    layer = [affine_transform(Polygon(cut), [1, 0, 0, 1, 0, -0.7])]  # apex to the middle
    for i in range(1, wedge.layers):
        fold = 2 * (start + i * angle)
        c, s = math.cos(fold), math.sin(fold)
        layer.append(affine_transform(layer[-1], [c, s, s, -c, 0, 0]))
    opened = unary_union([one.buffer(1e-12) for one in layer])
    assert opened.symmetric_difference(Polygon(whole.piece.cut({"hem": allowance}))).area < 1e-9


def test_a_wedge_is_for_what_lies_flat_and_has_a_middle() -> None:
    assert {family for family in FAMILIES if gores.wedge(Form(family, 8, 1.0, ratio=0.5))} == {
        "flat polygon",
        "flat circular",
    }


@often
@given(forms(), st.floats(0.06, 1.3))
def test_strips_are_equally_wide_and_make_the_whole(form: Form, share: float) -> None:
    widest = share * form.size
    found = gores.panels(form, widest)
    whole = gores.whole(form)
    if form.family in (*DOMES, "conical"):
        assert found == ()
        return
    assert whole
    widths = [max(x for x, _ in piece.outline) - min(x for x, _ in piece.outline) for piece in found]
    assert widths == pytest.approx([widths[0]] * len(widths), abs=1e-12 * form.size)
    assert widths[0] <= widest * (1 + 1e-9)
    count = sum(piece.count for piece in found) // (2 if form.family == "cross" else 1)
    across = form.ratio * form.size if form.family == "cross" else count * widths[0]
    assert count == math.ceil(across / widest * (1 - 1e-9))
    total = sum(piece.count * piece.area for piece in found)
    middle = (form.ratio * form.size) ** 2 if form.family == "cross" else 0.0  # there twice
    slack = sum(piece.count * gores.rounding(piece) for piece in found) + gores.rounding(whole.piece)
    exact = form.family in ("cross", "flat polygon")
    assert abs(total - middle - whole.piece.area) <= (0 if exact else slack) + 1e-12 * form.size**2


@pytest.mark.parametrize("form", [Form("flat polygon", 8, 2.2), Form("flat polygon", 7, 2.2), Form("flat circular", 8, 2.2)])
@pytest.mark.parametrize("widest", [0.3, 0.5, 0.9])
def test_strips_meet_their_neighbours(form: Form, widest: float) -> None:
    found = gores.panels(form, widest)
    ordered = list(found)
    if found[0].count == 2:  # the other half is the same, turned round
        pairs = [piece for piece in found if piece.count == 2]
        ordered += [turned(piece) for piece in reversed(pairs)]
    for one, two in pairwise(ordered):
        right = next(edge for edge in one.edges if edge.sewn == "seam" and edge.points[0][1] < edge.points[1][1])
        left = next(edge for edge in two.edges if edge.sewn == "seam" and edge.points[0][1] > edge.points[1][1])
        assert right.points[0] == pytest.approx(left.points[1], abs=1e-9)
        assert right.length == pytest.approx(left.length, abs=1e-9)
    seams = sum(edge.sewn == "seam" for piece in ordered for edge in piece.edges)
    assert seams == 2 * (len(ordered) - 1)
    joined = unary_union([Polygon(piece.outline).buffer(1e-9) for piece in ordered])
    assert joined.geom_type == "Polygon"
    assert sum(piece.count * piece.area for piece in found) == pytest.approx(joined.area, abs=1e-7)


def turned(piece: Piece) -> Piece:
    """Half a turn about the middle."""
    edges = tuple(Edge(edge.sewn, tuple((-x, -y) for x, y in edge.points)) for edge in piece.edges)
    return Piece(piece.name, edges, piece.count, piece.grain)


def test_a_cross_is_two_panels_that_lie_across_each_other() -> None:
    (panel,) = gores.panels(Form("cross", 8, 2.0, ratio=0.4), 1.5)
    assert panel.count == 2
    assert {edge.sewn for edge in panel.edges} == {"hem"}
    assert sorted(edge.length for edge in panel.edges) == pytest.approx([0.8, 0.8, 2.0, 2.0])
    split = gores.panels(Form("cross", 8, 2.0, ratio=0.4), 0.3)
    assert [(piece.name, piece.count) for piece in split] == [("panel 1", 4), ("panel 2", 2)]


# --- the cut --------------------------------------------------------------------------------------

CORNERED = [
    *(gores.whole(Form("flat polygon", sides, 1.4)) for sides in (4, 5, 8, 13, 32)),
    gores.whole(Form("cross", 8, 1.4, ratio=0.3)),
]


@pytest.mark.parametrize("by", [0.0, 0.003, 0.01, 0.04])
@pytest.mark.parametrize("whole", CORNERED, ids=lambda whole: str(len(whole.piece.edges)))
def test_an_equal_allowance_is_shapely_s_buffer(whole: gores.Whole, by: float) -> None:
    theirs = Polygon(whole.piece.outline).buffer(by, join_style="mitre", mitre_limit=10)
    ours = Polygon(whole.piece.cut({"hem": by}))
    assert ours.symmetric_difference(theirs).area < 1e-9
    assert Polygon(grown(whole.piece.outline, by)).symmetric_difference(theirs).area < 1e-9


def test_an_equal_allowance_round_a_vented_gore_and_strips_is_shapely_s_buffer() -> None:
    plain = gores.gore(Form("hemispherical", 8, 0.5, 0.3))
    edges = [plain.edges[0], *(Edge(e.sewn, (e.points[0], e.points[-1])) for e in plain.edges[1:])]
    trapeze = Piece("gore", tuple(edges), 1, plain.grain)
    for piece in (trapeze, *gores.panels(Form("flat polygon", 8, 2.2), 0.6)[1:], *gores.panels(Form("flat polygon", 6, 2.2), 0.6)):
        theirs = Polygon(piece.outline).buffer(0.01, join_style="mitre", mitre_limit=10)
        assert Polygon(piece.cut({"hem": 0.01, "seam": 0.01, "vent": 0.01})).symmetric_difference(theirs).area < 1e-9


def straight_parts(piece: Piece, allowances: dict[str, float]) -> Iterator[tuple[tuple[Point, Point], float]]:
    for edge in piece.edges:
        for line in pairwise(edge.points):
            yield line, 0.0 if edge.sewn == "fold" else allowances[edge.sewn]


@often
@given(forms(), st.fixed_dictionaries({name: st.floats(0, 0.02) for name in ("seam", "hem", "vent")}))
def test_every_part_of_the_cut_is_parallel_at_its_own_allowance(form: Form, shares: dict[str, float]) -> None:
    """Allowances up to a fiftieth of the canopy, vents wider than them: nothing vanishes. The apex of a one-piece cone apart."""
    allowances = {name: share * form.size / 5 for name, share in shares.items()}
    for piece in pieces_of(form):
        assume(form.hole == 0 or form.hole > 1.2 * max(allowances.values()) * form.gores)
        assume(piece.name != "whole canopy" or form.slope == 0 or form.slope > 20)
        cut = parts(piece.cut(allowances))
        unmatched = set(range(len(cut)))
        for line, out in straight_parts(piece, allowances):
            length = math.dist(*line)
            found = {
                i
                for i, part in enumerate(cut)
                if all(abs(away(line, point) - out) < 1e-9 for point in part)
                and along(line, part[1]) > along(line, part[0])
                and along(line, part[0]) < length
                and along(line, part[1]) > 0
            }
            assert found, (piece.name, line, out)
            unmatched -= found
        corners = len(piece.edges)
        assert len(unmatched) <= corners  # what is left are ends cut off square, or steps


@often
@given(forms(), st.fixed_dictionaries({name: st.floats(0, 0.03) for name in ("seam", "hem", "vent")}))
def test_the_cut_holds_the_finished_piece_and_never_crosses_itself(form: Form, allowances: dict[str, float]) -> None:
    """Allowances up to 30 mm on canopies down to 50 mm: parts that have no room vanish, the outline stays one."""
    for piece in pieces_of(form):
        cut, finished = Polygon(piece.cut(allowances)), Polygon(piece.outline)
        assert cut.is_valid
        assert area(piece.cut(allowances)) > 0
        assert finished.difference(cut).area < 1e-9 * finished.area
        most = max(allowances.values())
        # the ends of what is cut off square lie an allowance to the side at most
        reach = finished.buffer(math.hypot(LONGEST_MITRE, 1) * most + 1e-9) if not any(e.sewn == "fold" for e in piece.edges) else None
        assert reach is None or form.hole or reach.covers(cut)


TRIANGLE = ((0.0, 0.0), (1.0, 0.0), (0.5, 6.0))


def test_a_long_mitre_is_cut_off_square_at_twice_the_larger_allowance() -> None:
    a, b, c = TRIANGLE
    grain = ((0.5, 0.5), (0.5, 5.0))
    piece = Piece("gore", (Edge("hem", (a, b)), Edge("seam", (b, c)), Edge("seam", (c, a))), 1, grain)
    cut = piece.cut({"hem": 0.1, "seam": 0.03})
    top = [point for point in cut if point[1] > 6]
    assert [y for _, y in top] == pytest.approx([6.06, 6.06], abs=1e-12)
    assert len(cut) == 4


def test_an_edge_keeps_its_allowance_beside_a_narrower_one_at_a_flat_corner() -> None:
    """Mitred, the wide one would be narrow for 0.3 m; so it steps, square to its edge."""
    corners = [(0.0, 0.0), (2.0, 0.0), (4.0, 0.1), (4.0, 3.0), (0.0, 3.0)]
    edges = [Edge("hem" if i == 1 else "seam", line) for i, line in enumerate(parts(corners))]
    cut = Piece("panel", tuple(edges), 1, ((1.0, 1.0), (1.0, 2.0))).cut({"seam": 0.01, "hem": 0.03})
    steps = [part for part in parts(cut) if math.dist(*part) < 0.03]
    assert len(steps) == 1
    assert math.dist(*steps[0]) == pytest.approx(0.03 - 0.01 / math.cos(math.atan(0.05)), abs=1e-12)
    assert [along((corners[1], corners[2]), point) for point in steps[0]] == pytest.approx([0, 0], abs=1e-12)


def test_a_vent_smaller_than_its_allowance_vanishes() -> None:
    piece = gores.gore(Form("flat circular", 8, 0.6, 0.01))
    bound = {"seam": 0.002, "hem": 0.02, "vent": 0.02}
    cut = Polygon(piece.cut(bound))
    none = Polygon(gores.gore(Form("flat circular", 8, 0.6)).cut(bound))
    assert cut.is_valid
    assert cut.symmetric_difference(none).area < 1e-12


def test_allowances_that_cannot_be() -> None:
    piece = gores.gore(Form("flat polygon", 8, 1.0))
    with pytest.raises(ValueError, match="0 or more"):
        piece.cut({"seam": -0.01, "hem": 0.0})
    with pytest.raises(KeyError):
        piece.cut({"seam": 0.01})


def test_an_outline_that_is_not_one_is_not_closed() -> None:
    piece = gores.gore(Form("flat polygon", 8, 1.0))
    assert not Piece("gore", piece.edges[::-1], 8, piece.grain).closed
    assert not Piece("gore", piece.edges[:2], 8, piece.grain).closed
    backwards = tuple(Edge(edge.sewn, edge.points[::-1]) for edge in reversed(piece.edges))
    assert not Piece("gore", backwards, 8, piece.grain).closed


# --- notches --------------------------------------------------------------------------------------


@often
@given(forms(WITH_GORES), st.integers(0, 9))
def test_notches_of_neighbours_meet(form: Form, count: int) -> None:
    piece = gores.gore(form)
    right, left = (edge for edge in piece.edges if edge.sewn == "seam")
    ours, theirs = notches(right, count), notches(left, count)
    assert len(ours) == len(theirs) == count
    line, other = LineString(right.points), LineString(left.points)
    for i, (one, two) in enumerate(zip(ours, reversed(theirs), strict=True)):
        assert line.distance(Spot(one.point)) < 1e-9
        assert line.project(Spot(one.point)) == pytest.approx(right.length * (i + 1) / (count + 1), abs=1e-9)
        assert other.length - other.project(Spot(two.point)) == pytest.approx(line.project(Spot(one.point)), abs=1e-9)
        assert math.hypot(*one.normal) == pytest.approx(1)
        step = 1e-6 * form.size
        outside = (one.point[0] + step * one.normal[0], one.point[1] + step * one.normal[1])
        assert not Polygon(piece.outline).covers(Spot(outside))


@pytest.mark.parametrize("wrong", [
    {"family": "round"}, {"gores": 2}, {"size": 0.0}, {"size": math.nan}, {"vent": 1.0}, {"ratio": 0.0}, {"slope": 90.0},
    {"family": "annular", "ratio": 1.0},
])  # fmt: skip
def test_what_is_no_canopy_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"no family|no such"):
        Form(**({"family": "conical", "gores": 8, "size": 1.0} | wrong))  # type: ignore[arg-type]


def test_what_cannot_be_made_is_refused() -> None:
    with pytest.raises(ValueError, match="no gores"):
        gores.gore(Form("cross", 8, 1.0, ratio=0.3))
    with pytest.raises(ValueError, match="above 0"):
        gores.offsets(Form("conical", 8, 1.0), 0)
    with pytest.raises(ValueError, match="above 0"):
        gores.panels(Form("flat polygon", 8, 1.0), 0)
