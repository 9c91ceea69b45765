"""SVG logos: their shapes come out where they are, and what could do harm does not come in."""

import math
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cardgen.templating.logo import LogoError, Outlines, Point, Shape
from cardgen.templating.outlines import MAX_DEPTH, MAX_PIECES, read_svg

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50">{}</svg>'


def outlines(inner: str) -> Outlines:
    return read_svg(SVG.format(inner).encode()).outlines


def only(inner: str) -> Shape:
    (shape,) = outlines(inner).shapes
    return shape


def refused(data: str | bytes) -> str:
    with pytest.raises(LogoError) as caught:
        read_svg(data.encode() if isinstance(data, str) else data)
    return f"{caught.value.message}; {caught.value.hint}"


def along(shape: Shape, steps: int = 50) -> list[Point]:
    """Return points along the first contour."""
    contour = shape.contours[0]
    points, at = [contour.start], contour.start
    for one, two, end in contour.pieces:
        for t in np.linspace(0, 1, steps + 1)[1:].tolist():
            s = 1 - t
            shares = (s**3, 3 * s * s * t, 3 * s * t * t, t**3)
            corners = (at, one, two, end)
            x, y = (sum(k * p[i] for k, p in zip(shares, corners, strict=True)) for i in (0, 1))
            points.append((x, y))
        at = end
    return points


def ends(shape: Shape) -> list[Point]:
    contour = shape.contours[0]
    return [contour.start, *(piece[2] for piece in contour.pieces)]


def near(points: Sequence[Point], wanted: Sequence[Point]) -> bool:
    return len(points) == len(wanted) and bool(np.allclose(points, wanted, atol=1e-6))


# --- shapes: SVG 1.1, chapters 8 and 9 -----------------------------------------------------------


def test_a_circle_is_round_to_a_thousandth() -> None:
    points = along(only('<circle cx="30" cy="20" r="10"/>'))
    radii = [math.hypot(x - 30, y - 20) for x, y in points]
    # Four cubics stay within 2.7e-4 of a circle (derived, checked numerically).
    assert max(abs(radius - 10) for radius in radii) < 3e-3


def test_an_ellipse_has_both_its_radii() -> None:
    points = along(only('<ellipse cx="50" cy="25" rx="40" ry="5"/>'))
    assert max(abs(((x - 50) / 40) ** 2 + ((y - 25) / 5) ** 2 - 1) for x, y in points) < 2e-3


def test_a_rectangle_has_its_corners() -> None:
    shape = only('<rect x="1" y="2" width="30" height="4"/>')
    assert near(ends(shape), [(1, 2), (31, 2), (31, 6), (1, 6), (1, 2)])
    assert shape.contours[0].closed


def test_a_rectangles_corners_are_rounded_at_most_by_half_of_it() -> None:
    points = along(only('<rect width="20" height="10" rx="99"/>'))
    assert max(((x - 10) / 10) ** 2 + ((y - 5) / 5) ** 2 for x, y in points) < 1.002


def test_a_polygon_is_closed_and_a_polyline_is_not() -> None:
    assert only('<polygon points="0,0 9,0 9,9"/>').contours[0].closed
    line = only('<polyline fill="none" stroke="#123" points="0 0 9 0,9,9"/>')
    assert not line.contours[0].closed
    assert near(ends(line), [(0, 0), (9, 0), (9, 9)])


def test_a_line_has_no_inside() -> None:
    shape = only('<line x1="1" y1="2" x2="3" y2="4" stroke="red"/>')
    assert (shape.fill, shape.stroke, shape.stroke_width) == (None, "#FF0000", 1)


@pytest.mark.parametrize(
    ("d", "wanted"),
    [
        ("M1 2L3 4H9V1Z", [(1, 2), (3, 4), (9, 4), (9, 1), (1, 2)]),
        ("m1 2 3 4h9v-1z", [(1, 2), (4, 6), (13, 6), (13, 5), (1, 2)]),
        ("M0,0C1,1,2,2,3,0S5-1 6 0", [(0, 0), (3, 0), (6, 0)]),
        ("M0 0Q1 2 4 0T8 0", [(0, 0), (4, 0), (8, 0)]),
        ("M.5.5-1-1", [(0.5, 0.5), (-1, -1)]),
        ("M0 0\nL1e1 0", [(0, 0), (10, 0)]),
    ],
)
def test_a_path_goes_where_its_commands_say(d: str, wanted: list[Point]) -> None:
    assert near(ends(only(f'<path d="{d}"/>')), wanted)


def test_a_quadratic_is_followed_exactly() -> None:
    points = along(only('<path d="M0 0Q10 20 20 0"/>'), steps=4)
    assert near(points, [(0, 0), (5, 7.5), (10, 10), (15, 7.5), (20, 0)])  # B(t), by hand


@pytest.mark.parametrize(("large", "sweep", "top"), [(0, 1, 5), (1, 1, 5), (0, 0, 35)])
def test_an_arc_bends_to_the_side_its_flags_say(large: int, sweep: int, top: float) -> None:
    # From left to right; a clockwise half circle (sweep 1, y down) goes over the top.
    points = along(only(f'<path d="M10 20A15 15 0 {large}{sweep}40 20"/>'))
    assert near([points[len(points) // 2]], [(25, top)])


def test_a_path_of_two_contours_is_one_shape_with_a_hole() -> None:
    ring = '<path fill-rule="evenodd" d="M0 0h30v30h-30zM10 10h10v10h-10z"/>'
    shape = only(ring)
    assert (len(shape.contours), shape.even_odd) == (2, True)


# --- styles and transforms -----------------------------------------------------------------------


def test_groups_hand_down_their_paint_and_style_comes_before_attributes() -> None:
    shape = only(
        '<g fill="#0000ff" stroke="lime"><rect width="9" height="9" style="fill:#f00"/></g>'
    )
    assert (shape.fill, shape.stroke) == ("#FF0000", "#00FF00")


def test_without_a_fill_a_shape_is_black() -> None:
    assert only('<rect width="9" height="9"/>').fill == "#000000"


@pytest.mark.parametrize(
    ("transform", "corner"),
    [
        # SVG 1.1, 7.6: where each of them puts the point (2, 0)
        ("translate(3 4)", (5, 4)),
        ("translate(3)", (5, 0)),
        ("scale(2)", (4, 0)),
        ("rotate(90)", (0, 2)),
        ("rotate(90, 2, 2)", (4, 2)),
        ("skewY(45)", (2, 2)),
        ("matrix(0 1 -1 0 10 10)", (10, 12)),
        ("translate(10,0) scale(3)", (16, 0)),
        ("scale(3),translate(10,0)", (36, 0)),
    ],
)
def test_a_transform_moves_a_shape(transform: str, corner: Point) -> None:
    shape = only(f'<g transform="{transform}"><path d="M2 0L2.5 1L3 0"/></g>')
    assert near([shape.contours[0].start], [corner])


def test_a_strokes_width_grows_with_its_shape() -> None:
    shape = only('<g transform="scale(3)"><path stroke="#000" stroke-width="2" d="M0 0h9"/></g>')
    assert shape.stroke_width == pytest.approx(6)


def test_the_view_box_begins_at_the_origin() -> None:
    svg = '<svg viewBox="-10 -20 40 80"><rect width="9" height="9"/></svg>'
    logo = read_svg(svg.encode()).outlines
    assert (logo.width, logo.height) == (40, 80)
    assert logo.shapes[0].contours[0].start == (10, 20)


def test_without_a_view_box_width_and_height_tell_the_size() -> None:
    svg = '<svg width="1in" height="48px"><rect width="9" height="9"/></svg>'
    logo = read_svg(svg.encode()).outlines
    assert (logo.width, logo.height) == (96, 48)


def test_what_is_hidden_is_left_out() -> None:
    hidden = '<rect width="9" height="9" {}/>'
    for attribute in ('display="none"', 'visibility="hidden"', 'opacity="0"', 'fill-opacity="0"'):
        assert len(outlines(hidden.format("") + hidden.format(attribute)).shapes) == 1


def test_fading_is_left_out_with_a_warning_said_once() -> None:
    faded = SVG.format('<rect width="9" height="9" opacity="0.5"/>' * 2)
    assert read_svg(faded.encode()).warnings == (
        "its opacity is left out: it prints at full strength",
    )


def test_an_editors_own_notes_are_passed_over() -> None:
    notes = (
        '<x:view xmlns:x="urn:editor" x:pagecolor="#fff"><x:page/></x:view>'
        "<metadata><title>T</title></metadata><defs><linearGradient/></defs>"
    )
    assert len(outlines(notes + '<rect width="9" height="9"/>').shapes) == 1


# --- what is refused -----------------------------------------------------------------------------

SHAPE = '<rect width="9" height="9"/>'


@pytest.mark.parametrize(
    ("inner", "said"),
    [
        ("<script>alert(1)</script>", "'script'"),
        ("<defs><script/></defs>", "'script'"),
        ('<g xmlns:h="http://www.w3.org/1999/xhtml"><h:script/></g>', "'script'"),
        ("<style>rect{fill:red}</style>", "write colours as attributes"),
        ('<image href="http://x.example/a.png"/>', "'image'"),
        ('<use href="#a"/>', "'use'"),
        ("<foreignObject><p/></foreignObject>", "'foreignObject'"),
        ("<text>Hi</text>", "convert text to outlines"),
        ('<a href="http://x.example"/>', "'a'"),
        ('<rect width="9" height="9" onclick="x()"/>', "'onclick'"),
        ('<rect width="9" height="9" ONLOAD="x()"/>', "'ONLOAD'"),
        ('<rect href="x"/>', "'href'"),
        ('<rect xmlns:l="http://www.w3.org/1999/xlink" l:href="file:///etc/passwd"/>', "'href'"),
        ('<rect fill="url(#g)" width="9" height="9"/>', "one plain colour"),
        ('<rect style="fill:URL( http://x )" width="9" height="9"/>', "one plain colour"),
        ('<g clip-path="url(#c)"/>', "one plain colour"),
        ('<rect fill="hotpinkish" width="9" height="9"/>', "'hotpinkish'"),
        (r'<rect style="fill:u\72 l(x)" width="9" height="9"/>', "write it as #rrggbb"),
        ("<animate/>", "'animate'"),
        ("<switch/>", "'switch'"),
        ("<svg/>", "an svg in an svg"),
        ('<path d="M0 0 L one two"/>', "no command and no number"),
        ('<path d="L0 0"/>', "cannot be read"),
        ('<path d="M0 0 L1"/>', "cannot be read"),
        ('<path d="M0 0A1 1 0 1"/>', "cannot be read"),
        ('<path d="M0 0L1e300 1e300"/>', "leaves all bounds"),
        ('<path d="M0 0L1e999 0"/>', "leaves all bounds"),
        ('<rect width="1e99" height="9"/>', "no length"),
        ('<rect width="50%" height="9"/>', "no length"),
        ('<rect width="9" height="9" transform="matrix(1 2 3)"/>', "cannot be read"),
        ('<rect width="9" height="9" transform="spin(1)"/>', "cannot be read"),
        ('<polygon points="1,2 x"/>', "no number"),
        ("<g>" * (MAX_DEPTH + 1) + "</g>" * (MAX_DEPTH + 1), "in each other"),
        ('<g transform="scale(1e5)">' * 3 + SHAPE + "</g>" * 3, "leaves all bounds"),
        ("<g>" * 20_000 + "</g>" * 20_000, "in each other"),
        ('<g transform="scale(1e-9)"><path d="M0 0L1e9 0"/></g>', "leaves all bounds"),
        ('<g transform="translate(1e9) translate(-1e9)"/>', "out of all range"),
        ('<polygon points="0,0 1e400,0"/>', "out of all range"),
        (f'<path d="M0 0{"h1" * (MAX_PIECES + 1)}"/>', "simplify its paths"),
    ],
)
def test_what_could_do_harm_or_not_print_is_refused_by_name(inner: str, said: str) -> None:
    assert said in refused(SVG.format(SHAPE + inner))


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
    '<svg viewBox="0 0 9 9"><title>&b;</title></svg>'
)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (BOMB, "has a DOCTYPE"),
        (BOMB.encode("utf-16"), "UTF-8"),
        ('<!doctype svg SYSTEM "file:///etc/passwd"><svg/>', "has a DOCTYPE"),
        ('<?xml-stylesheet href="http://x.example/a.css"?><svg/>', "xml-stylesheet"),
        ("<svg", "is not XML"),
        ("", "is not XML"),
        ("<html/>", "outermost element is 'html'"),
        (b"\x89PNG\r\n\x1a\n", "UTF-8"),
        (SVG.format(""), "shows nothing"),
        (SVG.format('<rect fill="none" width="9" height="9"/>'), "shows nothing"),
        (f"<svg>{SHAPE}</svg>", "tells no size"),
        (f'<svg viewBox="0 0 0 9">{SHAPE}</svg>', "viewBox"),
        (f'<svg viewBox="1e9 0 9 9">{SHAPE}</svg>', "out of all range"),
        (f'<svg viewBox="0 0 1e7 9">{SHAPE}</svg>', "out of all range"),
        (f'<svg width="100%" height="9">{SHAPE}</svg>', "no length"),
    ],
)
def test_what_is_no_plain_drawing_is_refused(data: str | bytes, said: str) -> None:
    assert said in refused(data)


HARMFUL = (
    *("<script/>", "<style>a{}</style>", "<image/>", '<use href="#a"/>', "<symbol/>"),
    *("<foreignObject/>", "<text>Hi</text>", "<a/>", "<animate/>", "<set/>"),
    *('<g onclick="x()"/>', '<g OnLoad="x()"/>', '<g href="x"/>', '<g href="#x"/>', '<g src="x"/>'),
    *('<g fill="url(#g)"/>', '<g style="fill: URL( x )"/>', '<linearGradient href="file:///x"/>'),
)


@pytest.mark.parametrize("inner", HARMFUL)
@pytest.mark.parametrize(
    "around",
    [
        *("{}", "<defs>{}</defs>", "<title>{}</title>", "<metadata><g>{}</g></metadata>"),
        '<x:view xmlns:x="urn:editor"><x:page>{}</x:page></x:view>',
        '<defs display="none"><x:page xmlns:x="urn:editor">{}</x:page></defs>',
    ],
)
def test_what_could_do_harm_is_refused_also_where_nothing_of_it_shows(
    around: str, inner: str
) -> None:
    name = inner[1:].partition(">")[0].partition(" ")[0].rstrip("/")
    said = refused(SVG.format(SHAPE + around.format(inner)))
    assert "\n" not in said
    if name in ("g", "linearGradient"):
        assert "refer" in said or "run" in said or "one plain colour" in said
    else:
        assert f"has the element {name!r}" in said
        assert said.partition("; ")[2] != "export as plain paths" or name == "foreignObject"


def test_a_gradient_may_be_like_another_of_the_same_file() -> None:
    inner = '<defs><linearGradient href="#a"/><pattern href="#b"/></defs>'
    assert len(outlines(inner + SHAPE).shapes) == 1


PLAIN: dict[str, dict[str, str]] = {
    "g": {},
    "rect": {"width": "9", "height": "9"},
    "circle": {"r": "3"},
    "ellipse": {"rx": "3", "ry": "2"},
    "line": {"x2": "3", "stroke": "red"},
    "polygon": {"points": "0,0 1,1 2,0"},
    "polyline": {"points": "0,0 1,1 2,0"},
    "path": {"d": "M0 0h5v5z"},
    "title": {},
    "defs": {},
}
VALUES = {
    "transform": (
        *(
            "scale(0)",
            "rotate(1e9)",
            "matrix(1 2 3 4 5 6)",
            "skewX(90)",
            "skewY(1e6)",
            "scale(1e6)",
        ),
        *("translate(1e400)", "rotate(1 2)", "translate(1) ,scale(2)", "matrix(", "", "none"),
    ),
    "d": (
        *("M0 0h5v5z", "M0 0A1 1 0 0 1 5 5", "M0 0a0 0 0 0 0 0 0", "M1e400 0L0 0", "M0 0c1 1 2 2"),
        *("M0 0L1e6 1e6", "z", "M", "M0 0q1 1 2 2t3 3s1 1 2 2", "M0 0a1 1 0 2 3 4 5", "M0 0m1 1"),
    ),
    "points": ("0,0 1,1 2,0", "0,0", "0,0 1", "1e400,0 1 1", "", ","),
    "style": ("fill:red", "fill:", ":", ";;", "stroke:#12345", "opacity:0", "fill:red !important"),
    "fill": ("red", "none", "#123", "#1234", "rgb(1,2,3)", "hsl(1,2%,3%)", "inherit", "\u202e", ""),
    "stroke": ("lime", "currentColor", "rgb(999,0,0)", "rgb()", "none"),
    "stroke-width": ("1", "0", "-1", "1e-300", "1e6", "9mm", "9%", "\u0661"),
    "x": ("1", "-1mm", "1e400", "1" * 70, "", "."),
    "width": ("9", "0", "-1", "1e6", "1e-300", "9in"),
    "height": ("9", "0", "1e6"),
    "rx": ("0", "99", "-1", "1e-300"),
    "r": ("1", "0", "-1", "1e6"),
    "opacity": ("0", "1", ".5", "x"),
}


@st.composite
def elements(draw: st.DrawFn, depth: int = 3) -> str:
    """Return an element as SVG has it, now and then with an attribute that is nonsense."""
    tag = draw(st.sampled_from(("g", *PLAIN) if depth else tuple(PLAIN)))
    attributes = dict(PLAIN[tag])
    for name in draw(st.sets(st.sampled_from(sorted(VALUES)), max_size=5)):
        attributes[name] = draw(st.sampled_from(VALUES[name]))
    told = "".join(f' {name}="{value}"' for name, value in attributes.items())
    inner = draw(st.lists(elements(depth - 1), max_size=3)) if depth and tag == "g" else []
    return f"<{tag}{told}>{''.join(inner)}</{tag}>"


def assert_read_or_told(data: bytes) -> bool:
    """Check that an SVG is a drawing of finite numbers, or refused in one sentence."""
    logo = None
    with suppress(LogoError):
        logo = read_svg(data).outlines
    if logo is None:
        said = refused(data)
        assert 2 < len(said) <= 200
        assert said.isprintable()
        return False
    assert logo.shapes
    for shape in logo.shapes:
        assert shape.fill or shape.stroke
        assert math.isfinite(shape.stroke_width)
        for contour in shape.contours:
            for x, y in (contour.start, *(point for piece in contour.pieces for point in piece)):
                assert max(abs(x), abs(y)) <= 1e6
    return True


def test_any_elements_are_drawn_or_refused_in_a_sentence() -> None:
    drawn = []

    @settings(max_examples=300)
    @given(elements())
    def look(inner: str) -> None:
        drawn.append(assert_read_or_told(SVG.format(SHAPE + inner).encode()))

    look()
    assert 0.1 < sum(drawn) / len(drawn) < 0.9  # or most of them would mean nothing


PARTS = [
    "<svg",
    ' viewBox="0 0 9 9"',
    ">",
    "<g>",
    "</g>",
    "</svg>",
    "<!ENTITY",
    "<?x",
    "&#0;",
    "<!--",
]


@given(st.lists(st.sampled_from(PARTS) | st.text(max_size=4), max_size=14).map("".join))
def test_any_text_is_read_or_refused_in_a_sentence(text: str) -> None:
    assert_read_or_told(text.encode("utf-8", "surrogatepass"))


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_in_a_sentence(data: bytes) -> None:
    assert_read_or_told(data)
    assert_read_or_told(b'<svg viewBox="0 0 9 9"><path d="' + data + b'"/></svg>')


def test_the_shipped_logo_is_one(shipped_logo: Path) -> None:
    assert read_svg(shipped_logo.read_bytes()).warnings == ()
