"""Logo files: only in the template's folder, only so large; PNG is written anew."""

import os
import tracemalloc
import zlib
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from struct import pack

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, PngImagePlugin

from cardgen.templating.logo import LogoError, Outlines, Pixels
from cardgen.templating.logofile import MAX_PNG_BYTES, read_logo
from cardgen.templating.outlines import MAX_BYTES as MAX_SVG_BYTES
from cardgen.templating.pixels import KEPT_SIDE, MAX_SIDE, _chunks, read_png
from tests.fuzz.targets import with_right_sums

SVG = '<svg viewBox="0 0 10 10"><rect width="10" height="10"/></svg>'
SIGNATURE = b"\x89PNG\r\n\x1a\n"


def png(image: Image.Image, **options: object) -> bytes:
    written = BytesIO()
    image.save(written, "PNG", **options)
    return written.getvalue()


def chunk(kind: bytes, body: bytes) -> bytes:
    return pack(">I", len(body)) + kind + body + pack(">I", zlib.crc32(kind + body))


def headed(width: int, height: int, *more: bytes) -> bytes:
    head = chunk(b"IHDR", pack(">2I5B", width, height, 8, 6, 0, 0, 0))
    return SIGNATURE + head + b"".join(more) + chunk(b"IEND", b"")


def refused(name: str, folder: Path) -> str:
    with pytest.raises(LogoError) as caught:
        read_logo(name, folder)
    return f"{caught.value.message}; {caught.value.hint}"


def refused_png(data: bytes) -> str:
    with pytest.raises(LogoError) as caught:
        read_png(data)
    return f"{caught.value.message}; {caught.value.hint}"


def pixel(made: Pixels, x: int, y: int) -> object:
    with Image.open(BytesIO(made.png)) as image:
        return image.getpixel((x, y))


# --- where it is ---------------------------------------------------------------------------------


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A template's folder, beside one with a logo that is none of its business."""
    inside, outside = tmp_path / "home", tmp_path / "outside"
    for folder in (inside, inside / "art", outside):
        folder.mkdir()
    for folder in (inside, inside / "art", outside):
        (folder / "logo.svg").write_text(SVG, encoding="utf-8")
    (inside / "logo.png").write_bytes(png(Image.new("RGB", (4, 4), "red")))
    return inside


def test_a_logo_in_the_templates_folder_is_read(home: Path) -> None:
    assert isinstance(read_logo("logo.svg", home).logo, Outlines)
    assert isinstance(read_logo("art/logo.svg", home).logo, Outlines)
    assert isinstance(read_logo("logo.png", home).logo, Pixels)


@pytest.mark.parametrize(
    "name",
    [
        "../outside/logo.svg",
        "art/../../outside/logo.svg",
        "/etc/logo.svg",
        "C:\\logo.svg",
        "..\\outside\\logo.svg",
        "\\\\host\\share\\logo.svg",
    ],
)
def test_a_name_that_leads_out_is_refused(home: Path, name: str) -> None:
    assert "leads out of the template's folder" in refused(name, home)


def test_a_link_that_leads_out_is_refused(home: Path) -> None:
    (home / "link.svg").symlink_to(home.parent / "outside" / "logo.svg")
    (home / "folder").symlink_to(home.parent / "outside", target_is_directory=True)
    assert "leads out" in refused("link.svg", home)
    assert "leads out" in refused("folder/logo.svg", home)


def test_a_link_within_the_folder_is_followed(home: Path) -> None:
    (home / "link.svg").symlink_to(home / "art" / "logo.svg")
    assert read_logo("link.svg", home)


def test_a_folder_that_is_itself_a_link_is_followed(home: Path, tmp_path: Path) -> None:
    (tmp_path / "alias").symlink_to(home, target_is_directory=True)
    assert read_logo("logo.svg", tmp_path / "alias")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("none.svg", "is not there"),
        ("a\0.svg", "is not there"),
        ("x" * 5000 + ".svg", "is not there"),
        ("ring.svg", "is not there"),
        ("folder.svg", "is not a file"),
        ("pipe.svg", "is not a file"),
        ("logo.gif", "is neither .svg nor .png"),
        ("logo", "is neither .svg nor .png"),
    ],
)
def test_what_is_no_file_of_a_logo_is_refused(home: Path, name: str, said: str) -> None:
    (home / "folder.svg").mkdir()
    (home / "ring.svg").symlink_to("ring.svg")
    os.mkfifo(home / "pipe.svg")
    assert said in refused(name, home)


def test_a_file_that_is_too_large_is_refused_before_it_is_looked_at(home: Path) -> None:
    (home / "big.svg").write_bytes(b" " * (MAX_SVG_BYTES + 1))
    (home / "big.png").write_bytes(b" " * (MAX_PNG_BYTES + 1))
    assert "is larger than 500 kB" in refused("big.svg", home)
    assert "is larger than 2 MB" in refused("big.png", home)


def test_a_file_that_may_not_be_read_is_refused(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", no)
    assert "cannot be read: Permission denied" in refused("logo.svg", home)


# --- PNG -----------------------------------------------------------------------------------------


def test_pixels_and_what_can_be_seen_through_stay() -> None:
    image = Image.new("RGBA", (3, 2), (200, 10, 20, 255))
    image.putpixel((1, 0), (1, 2, 3, 0))
    made = read_png(png(image))
    assert (made.width, made.height) == (3, 2)
    assert pixel(made, 0, 0) == (200, 10, 20, 255)
    assert pixel(made, 1, 0) == (1, 2, 3, 0)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_every_kind_of_png_is_read(mode: str) -> None:
    image = Image.new(mode, (2, 2))
    made = read_png(png(image))
    assert pixel(made, 0, 0) in ((0, 0, 0), (0, 0, 0, 0))


def test_sixteen_bits_of_grey_become_eight() -> None:
    image = Image.new("I;16", (1, 1))
    image.putpixel((0, 0), 0x8000)
    assert pixel(read_png(png(image)), 0, 0) == (127, 127, 127)


def test_a_palette_keeps_its_transparent_entry() -> None:
    image = Image.new("P", (2, 1), 0)
    image.putpalette([255, 255, 255, 10, 20, 30])
    image.putpixel((1, 0), 1)
    made = read_png(png(image, transparency=0))
    assert pixel(made, 0, 0) == (255, 255, 255, 0)
    assert pixel(made, 1, 0) == (10, 20, 30, 255)


def test_no_text_date_profile_or_second_frame_survives() -> None:
    info = PngImagePlugin.PngInfo()
    info.add_text("Author", "somebody")
    info.add_itxt("GPS", "secret", zip=True)
    frames = [Image.new("RGB", (2, 2), colour) for colour in ("red", "blue")]
    data = png(
        frames[0],
        pnginfo=info,
        dpi=(300, 300),
        icc_profile=b"profile",
        save_all=True,
        append_images=frames[1:],
    )
    made = read_png(data).png
    kinds = {made[i + 4 : i + 8] for i in range(8, len(made) - 8) if made[i + 4 : i + 8].isalpha()}
    assert {b"IHDR", b"IDAT", b"IEND"} <= kinds
    assert not kinds & {b"tEXt", b"iTXt", b"zTXt", b"iCCP", b"pHYs", b"tIME", b"acTL", b"fdAT"}
    assert b"secret" not in made
    assert b"somebody" not in made


def test_what_stands_after_the_end_is_left_out() -> None:
    data = png(Image.new("RGB", (2, 2)))
    assert read_png(data + b"<script>").png == read_png(data).png


def test_a_large_picture_keeps_as_many_pixels_as_print() -> None:
    made = read_png(png(Image.new("RGB", (MAX_SIDE, 100))))
    assert (made.width, made.height) == (KEPT_SIDE, 30)


def test_the_same_file_gives_the_same_bytes() -> None:
    data = png(Image.linear_gradient("L"))
    assert read_png(data) == read_png(data)


@pytest.mark.parametrize(("width", "height"), [(MAX_SIDE + 1, 1), (1, 65_535), (2**31, 2**31)])
def test_too_many_pixels_are_told_from_the_head(width: int, height: int) -> None:
    bomb = chunk(b"IDAT", zlib.compress(b"\0" * 100_000))
    assert f"has {width} x {height} pixels" in refused_png(headed(width, height, bomb))


def test_a_text_that_unpacks_to_much_is_never_unpacked() -> None:
    bomb = chunk(b"zTXt", b"k\0\0" + zlib.compress(b"\0" * 100_000_000, 9))
    data = png(Image.new("RGB", (2, 2)))
    assert read_png(data[:33] + bomb + data[33:]) == read_png(data)


def test_data_that_unpacks_to_more_than_the_picture_is_cut_at_the_picture() -> None:
    body = zlib.compress(b"\0" * 50_000_000, 9)
    made = read_png(headed(2, 2, chunk(b"IDAT", body)))
    assert (made.width, made.height) == (2, 2)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "is not a PNG file"),
        (b"GIF89a", "is not a PNG file"),
        (SIGNATURE, "is not a whole PNG file"),
        (headed(2, 2), "is not a whole PNG file"),
        (headed(0, 2), "has 0 x 2 pixels"),
        (SIGNATURE + chunk(b"IDAT", b""), "is not a whole PNG file"),
        (headed(2, 2, chunk(b"IDAT", b"nonsense")), "is not a whole PNG file"),
        (SIGNATURE + b"\xff\xff\xff\xffIHDR", "is not a whole PNG file"),
    ],
)
def test_what_is_no_whole_png_is_refused(data: bytes, said: str) -> None:
    assert said in refused_png(data)


WHOLE = [png(Image.new(mode, (7, 5))) for mode in ("1", "L", "LA", "P", "RGB", "RGBA", "I;16")]
CHUNKS = [chunk(kind, b"\0" * size) for kind in (b"PLTE", b"tRNS", b"IDAT") for size in (0, 3, 5)]
CHUNKS += [
    chunk(b"IHDR", b"\0" * 13),
    chunk(b"IDAT", zlib.compress(b"\0" * 300)),
    chunk(b"aaaa", b"x"),
]


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    """Return a PNG in whose chunks are other bytes, or that has others; most sums are right."""
    parts = [chunk(kind, body) for kind, body in _chunks(draw(st.sampled_from(WHOLE)))]
    for _ in range(draw(st.integers(0, 3))):
        number = draw(st.integers(0, len(parts) - 1))
        part = parts[number]
        at = draw(st.integers(8, max(8, len(part) - 5)))
        parts[number] = part[:at] + draw(st.binary(min_size=1, max_size=1)) + part[at + 1 :]
    if draw(st.booleans()):
        parts.insert(draw(st.integers(1, len(parts))), draw(st.sampled_from(CHUNKS)))
    data = SIGNATURE + b"".join(parts)
    if draw(st.integers(0, 5)):
        data = with_right_sums(data)
    return data[: len(data) - draw(st.sampled_from([0] * 7 + [1, 12, 20]))]


@settings(max_examples=300)
@given(damaged())
def test_a_damaged_png_is_read_or_refused_in_a_sentence(data: bytes) -> None:
    made = None
    with suppress(LogoError):
        made = read_png(data)
    if made is None:
        assert refused_png(data).isprintable()
    else:
        assert 0 < made.width <= KEPT_SIDE
        assert 0 < made.height <= KEPT_SIDE
        assert read_png(made.png) == made


def test_a_file_of_80_mb_is_refused_and_no_more_of_it_read_than_a_logo_may_have(
    home: Path,
) -> None:
    for name in ("big.svg", "big.png"):
        with (home / name).open("wb") as file:
            file.truncate(80 << 20)  # nothing but a hole
        tracemalloc.start()
        try:
            assert "is larger than" in refused(name, home)
            assert tracemalloc.get_traced_memory()[1] < 3 * MAX_PNG_BYTES
        finally:
            tracemalloc.stop()
