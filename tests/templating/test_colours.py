"""Contrast, and what would do instead."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cardgen.drawing import theme
from cardgen.templating import loading
from cardgen.templating.colours import contrast, darkened, lightened
from cardgen.templating.template import PLAIN

COLOURS = st.integers(0, 0xFFFFFF).map("#{:06X}".format)


@pytest.mark.parametrize(
    ("colour", "ratio"),
    [
        ("#000000", 21.0),  # WCAG 2.2, definition of contrast ratio: 1 to 21
        ("#FFFFFF", 1.0),
        ("#767676", 4.54),  # the lightest grey that is text on white (from memory)
        ("#949494", 3.03),  # and the lightest that is a graphic (from memory)
    ],
)
def test_contrast_on_white_is_that_of_the_guidelines(colour: str, ratio: float) -> None:
    assert contrast(colour, "#FFFFFF") == pytest.approx(ratio, abs=0.005)


@given(COLOURS)
def test_a_darkened_colour_stands_out_and_a_shade_lighter_would_not(colour: str) -> None:
    grounds = ("#FFFFFF", "#D6E6F1")
    shade = darkened(colour, grounds, 4.5)
    assert min(contrast(shade, ground) for ground in grounds) >= 4.5
    if min(contrast(colour, ground) for ground in grounds) >= 4.5:
        assert shade == colour


@given(COLOURS)
def test_ink_stands_out_from_a_lightened_colour(colour: str) -> None:
    assert contrast(lightened(colour, ("#111111", "#1B3A75"), 4.5), "#1B3A75") >= 4.5


def test_the_plain_design_has_the_inks_of_the_theme() -> None:
    colours = PLAIN.colours
    assert (colours.heading, colours.path) == (theme.NAVY, theme.VERMILION)
    assert (colours.mark, colours.tint) == (theme.SKY, theme.MIST)
    assert (loading.INK, loading.PAPER, loading.OIL) == (theme.INK, theme.WHITE, theme.OIL_MUCH)
