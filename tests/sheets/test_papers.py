import pytest

from cardgen.sheets.papers import (
    A3,
    A4,
    A5,
    A6,
    A7,
    A8,
    CARDS,
    EU_BUSINESS,
    HALF_LETTER,
    ID_1,
    INDEX_3X5,
    LETTER,
    PAPERS,
    POKER,
    SHEETS,
    US_BUSINESS,
    Size,
)


def test_a_sizes_halve_the_one_before() -> None:
    # ISO 216: A0 is 841 x 1189 mm, each size half the one before, rounded down
    width, height = 841, 1189
    sizes = {}
    for step in range(9):
        sizes[step] = (width, height)
        width, height = height // 2, width
    for step, size in {3: A3, 4: A4, 5: A5, 6: A6, 7: A7, 8: A8}.items():
        assert (size.width_mm, size.height_mm) == sizes[step]


def test_the_other_sizes_are_their_standards() -> None:
    # ISO/IEC 7810, 5: ID-1 is 85.60 x 53.98 mm
    assert (ID_1.height_mm, ID_1.width_mm) == (85.60, 53.98)
    # ANSI/ASME Y14.1, size A: 8.5 x 11 inches
    assert (LETTER.width_mm, LETTER.height_mm) == pytest.approx((215.9, 279.4))
    assert (HALF_LETTER.width_mm, HALF_LETTER.height_mm) == pytest.approx((139.7, 215.9))
    # common practice, no source
    assert (US_BUSINESS.height_mm, US_BUSINESS.width_mm) == pytest.approx((88.9, 50.8))
    assert (EU_BUSINESS.height_mm, EU_BUSINESS.width_mm) == (85, 55)
    assert (POKER.width_mm, POKER.height_mm) == pytest.approx((63.5, 88.9))
    assert (INDEX_3X5.width_mm, INDEX_3X5.height_mm) == pytest.approx((76.2, 127))


def test_sizes_are_found_by_name_and_stand_upright() -> None:
    assert set(PAPERS) == {"a4", "letter"}
    assert set(SHEETS) == {"a3", "a4", "a5", "a6", "letter", "half-letter"}
    assert {"id-1", "us-business", "eu-business", "poker", "index-3x5"} < set(CARDS)
    for size in (*SHEETS.values(), *CARDS.values()):
        assert size.width_mm < size.height_mm
        assert size.landscape == Size(size.name, size.height_mm, size.width_mm)
        assert size.landscape.landscape == size.landscape
