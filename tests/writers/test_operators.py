"""The operators that are written here against reportlab's, and what they refuse."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.lib.rl_accel import fp_str
from reportlab.pdfgen.canvas import Canvas

from cardgen.drawing.scene import Clip, Curve, Line, Polyline, Stroke, Transform
from cardgen.writers import operators
from cardgen.writers.operators import DIGITS, PT

INK = Stroke("#111111", 0.35)
PLACES = ((0.0, 0.0), (-0.1, 12.3456), (7.0, 0.0004), (100.0, 1e-9))


def pt(length_mm: float) -> float:
    return round(length_mm * PT, DIGITS)


@given(st.floats(-3000, 3000))
def test_a_length_is_written_as_reportlab_writes_it(length_mm: float) -> None:
    assert operators.points(length_mm) == fp_str(pt(length_mm))


@given(st.floats(-10, 10))
def test_a_number_is_written_as_reportlab_writes_it(value: float) -> None:
    assert float(operators.number(value)) == pytest.approx(float(fp_str(value)), abs=1e-6)


def test_paths_are_those_of_reportlab() -> None:
    canvas = Canvas("", bottomup=0)
    path = canvas.beginPath()
    path.moveTo(*map(pt, PLACES[0]))
    for place in PLACES[1:]:
        path.lineTo(*map(pt, place))
    path.close()
    assert operators.polyline(Polyline(PLACES, INK, closed=True)) == path.getCode()

    path = canvas.beginPath()
    path.moveTo(*map(pt, PLACES[0]))
    path.curveTo(*(pt(part) for place in PLACES[1:] for part in place))
    curve = Curve(PLACES[0], ((PLACES[1], PLACES[2], PLACES[3]),), INK)
    assert operators.curve(curve) == path.getCode()


def test_lines_clips_and_places_are_written_as_the_standard_has_them() -> None:
    # ISO 32000-1, 8.4.4 and 8.5.2: operands before operators; an inch is 72 points.
    assert operators.line(Line(0, 25.4, 50.8, 0, INK)) == "n 0 72 m 144 0 l S"
    assert operators.clipped(Clip(0, 0, 25.4, 12.7)) == "n 0 0 72 36 re W n"
    assert operators.placed(Transform(0, 1, -1, 0, 25.4, 0)) == "0 1 -1 0 72 0 cm"
    assert operators.dash((25.4, 12.7)) == "[72 36] 0 d"
    assert operators.ink("#FF0033") == "1 0 .2"


@pytest.mark.parametrize(
    ("stroke", "fill", "even_odd", "operator"),
    [
        (True, False, False, "S"),
        (False, True, False, "f"),
        (True, True, False, "B"),
        (False, True, True, "f*"),
        (True, True, True, "B*"),
        (False, False, False, "n"),
    ],
)
def test_the_operator_that_inks_a_path(
    stroke: bool, fill: bool, even_odd: bool, operator: str
) -> None:
    """ISO 32000-1, table 60."""
    assert operators.paint(stroke=stroke, fill=fill, even_odd=even_odd) == operator


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_no_number_but_a_finite_one_is_written(bad: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        operators.points(bad)
    with pytest.raises(ValueError, match="finite"):
        operators.number(bad)
