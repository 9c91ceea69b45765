"""Logos made to do harm, beyond those that the tests of the readers have."""

import re
import struct
import tracemalloc
import zlib
from io import BytesIO

import pytest
from PIL import Image

from cardgen.templating.logo import LogoError
from cardgen.templating.outlines import read_svg
from cardgen.templating.pixels import read_png

SIGNATURE = b"\x89PNG\r\n\x1a\n"


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def head(width: int, height: int) -> bytes:
    return chunk(b"IHDR", struct.pack(">2I5B", width, height, 8, 2, 0, 0, 0))


@pytest.fixture(scope="module")
def whole() -> bytes:
    """A good picture of 3 by 2 pixels."""
    out = BytesIO()
    Image.new("RGB", (3, 2), "red").save(out, "PNG")
    return out.getvalue()


@pytest.mark.parametrize("size", [(100_000, 100_000), (9000, 9000), (3, 2)])
@pytest.mark.parametrize("where", ["first", "last"])
def test_a_second_head_cannot_make_a_picture_larger_than_the_first_says(
    whole: bytes, size: tuple[int, int], where: str
) -> None:
    at = 33 if where == "first" else len(whole) - 12
    data = whole[:at] + head(*size) + whole[at:]
    tracemalloc.start()
    try:
        with pytest.raises(LogoError, match="is not a whole PNG file"):
            read_png(data)
        assert tracemalloc.get_traced_memory()[1] < 1 << 20
    finally:
        tracemalloc.stop()


def test_a_picture_of_100_000_by_100_000_is_told_from_its_head_alone() -> None:
    data = SIGNATURE + head(100_000, 100_000) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")
    tracemalloc.start()
    try:
        with pytest.raises(LogoError, match="has 100000 x 100000 pixels, more than 4000 x 4000"):
            read_png(data)
        assert tracemalloc.get_traced_memory()[1] < 1 << 20
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("kind", [b"zTXt", b"iTXt", b"iCCP"])
def test_what_is_packed_beside_the_pixels_is_never_unpacked(whole: bytes, kind: bytes) -> None:
    bomb = chunk(kind, b"k\0\0" + zlib.compress(b"\0" * (50 << 20), 9))
    tracemalloc.start()
    try:
        assert read_png(whole[:33] + bomb + whole[33:]) == read_png(whole)
        assert tracemalloc.get_traced_memory()[1] < 4 << 20
    finally:
        tracemalloc.stop()


def test_a_picture_cut_anywhere_is_told(whole: bytes) -> None:
    for end in range(len(whole)):
        with pytest.raises(LogoError, match=re.compile("is not a (whole )?PNG file")):
            read_png(whole[:end])


LAUGHS = "".join(f'<!ENTITY l{n + 1} "{f"&l{n};" * 10}">' for n in range(9))


@pytest.mark.parametrize(
    "doctype",
    [
        f'<!DOCTYPE svg [<!ENTITY l0 "ha">{LAUGHS}]>',
        '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE svg [<!ENTITY % x SYSTEM "http://host.example/x.dtd"> %x;]>',
        '<!DOCTYPE svg PUBLIC "-//X" "http://host.example/x.dtd">',
        '<?xml version="1.0" encoding="utf-7"?><!DOCTYPE svg>',
    ],
)
def test_nothing_that_a_file_declares_is_followed(doctype: str) -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><title>&l9;&x;</title></svg>'
    with pytest.raises(LogoError, match="has a DOCTYPE"):
        read_svg((doctype + svg).encode())


@pytest.mark.parametrize(
    "unit", ["M1 1", "a1 1 0 0 1 1 1", "h1", "c1 1 1 1 1 1", "1 ", "-", "z", "Mz"]
)
def test_a_path_of_half_a_megabyte_is_drawn_or_told(unit: str) -> None:
    d = "M0 0" + unit * (400_000 // len(unit))
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="{d}"/></svg>'
    with pytest.raises(LogoError) as caught:
        read_svg(svg.encode())
    assert caught.value.message in (
        "has more than 20000 lines and curves",
        "has a path that cannot be read (ValueError)",
        "has a path that cannot be read (IndexError)",
        "shows nothing",
    )
