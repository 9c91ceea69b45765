"""Logos made to do harm, beyond those that the tests of the readers have."""

import re
import struct
import time
import tracemalloc
import zlib
from collections.abc import Callable
from contextlib import suppress
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
    # PNG, third edition, 11.3: an international text has a flag, a method and two names more.
    named = b"k\0\1\0\0\0" if kind == b"iTXt" else b"k\0\0"
    bomb = chunk(kind, named + zlib.compress(b"\0" * (50 << 20), 9))
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


@pytest.mark.parametrize("kind", [b"IHDR", b"PLTE", b"tRNS", b"IDAT"])
def test_a_picture_with_another_byte_in_it_is_told_by_its_sums(kind: bytes) -> None:
    out = BytesIO()
    picture = Image.new("P", (2, 1), 0)
    picture.putpalette([255, 255, 255, 10, 20, 30])
    picture.save(out, "PNG", transparency=0)
    data = bytearray(out.getvalue())
    at = data.index(kind) + 4
    data[at + 3] ^= 1
    with pytest.raises(LogoError, match="is not a whole PNG file"):
        read_png(bytes(data))


@pytest.mark.parametrize("size", [0, 7, 12, 14])
def test_a_head_of_another_length_is_told(whole: bytes, size: int) -> None:
    body = (whole[16:29] + b"\0")[:size]
    with pytest.raises(LogoError, match="is not a whole PNG file"):
        read_png(SIGNATURE + chunk(b"IHDR", body) + whole[33:])


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


@pytest.mark.parametrize(
    "made",
    [
        lambda n: f'<path d="M0 0{"1 " * n}"/>',
        lambda n: f'<polygon points="{"1 1 " * (n // 2)}"/>',
        lambda n: f'<g transform="{"scale(1) " * (n // 4)}"/>',
        lambda n: f'<g style="{"a:b;" * (n // 2)}"/>',
        lambda n: "<g/>" * (n // 2),
        lambda n: "<title " + " ".join(f"a{i}='b'" for i in range(n // 4)) + "/>",
    ],
    ids=["path", "points", "transform", "style", "groups", "attributes"],
)
def test_time_grows_with_the_file(made: Callable[[int], str]) -> None:
    def seconds(count: int) -> float:
        inner = made(count) + '<path d="M0 0"/>'
        svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{inner}</svg>'
        start = time.perf_counter()
        with suppress(LogoError):
            read_svg(svg.encode())
        return time.perf_counter() - start

    few = min(seconds(5_000) for _ in range(3))
    many = min(seconds(60_000) for _ in range(2))
    assert many < 5 * 12 * few  # twelve times as long a file; what is quadratic takes 144 times
