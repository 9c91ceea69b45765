"""A PNG logo: looked at before it is decoded, and written anew so that only its pixels remain."""

import zlib
from collections.abc import Iterator
from io import BytesIO
from struct import pack, unpack_from

from PIL import Image

from cardgen.templating.logo import LogoError, Pixels

MAX_SIDE = 4000
KEPT_SIDE = 1200
"""Pixels of the longer side that are kept: 600 to an inch on a logo of 50 mm, more than prints."""
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_KEPT = frozenset({b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"})
_HEAD_BYTES = 13
_DEEP = frozenset({"I", "I;16", "I;16B"})  # sixteen bits of grey
_NOT_WHOLE = "is not a whole PNG file"
_EXPORT = "export it anew as PNG"


def read_png(data: bytes) -> Pixels:
    """Return the picture in the bytes of a PNG file, its longer side at most ``KEPT_SIDE``.

    Its transparency stays; its texts, profiles, dates and further frames do not.

    Raises LogoError for what is no whole PNG, and for one of more than ``MAX_SIDE`` pixels a side,
    which is told from its head: pixels are not decoded for it.
    """
    picture = BytesIO(_bare(data))
    try:
        with Image.open(picture, formats=("PNG",)) as image:
            image.load()
            kept = _in_eight_bits(image)
    except (OSError, ValueError, SyntaxError, EOFError, zlib.error) as error:
        raise LogoError(f"{_NOT_WHOLE} ({type(error).__name__})", _EXPORT) from None
    kept.thumbnail((KEPT_SIDE, KEPT_SIDE), Image.Resampling.LANCZOS)
    written = BytesIO()
    kept.save(written, "PNG", optimize=True)
    return Pixels(kept.width, kept.height, written.getvalue())


def _in_eight_bits(image: Image.Image) -> Image.Image:
    """Return a copy in colour, with an alpha channel if some of it can be seen through."""
    if image.mode in _DEEP:
        grey = image.convert("I").point(lambda value: value * (1 / 257))
        return grey.convert("L").convert("RGB")
    clear = image.convert("RGBA")
    opaque = clear.getchannel("A").getextrema() == (255, 255)
    made = clear.convert("RGB") if opaque else clear
    made.info.clear()
    return made


def _bare(data: bytes) -> bytes:
    """Return the file with the chunks alone that hold its pixels, each one's sum checked."""
    chunks = list(_chunks(data))
    heads = [number for number, (kind, _) in enumerate(chunks) if kind == b"IHDR"]
    # With a second head the picture would be of another size than the first one says.
    if heads != [0] or len(chunks[0][1]) != _HEAD_BYTES:
        raise LogoError(_NOT_WHOLE, _EXPORT)
    width, height = unpack_from(">2I", chunks[0][1])
    if not 0 < width <= MAX_SIDE or not 0 < height <= MAX_SIDE:
        message = f"has {width} x {height} pixels, more than {MAX_SIDE} x {MAX_SIDE}"
        raise LogoError(message, f"{KEPT_SIDE} pixels are as many as print")
    kept = b"".join(
        pack(">I", len(body)) + kind + body + pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
        if kind in _KEPT
    )
    return _SIGNATURE + kept


def _chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Yield each chunk's type and body (PNG, third edition, 5.3)."""
    if not data.startswith(_SIGNATURE):
        raise LogoError("is not a PNG file, whatever its name says", _EXPORT)
    at = len(_SIGNATURE)
    while at < len(data):
        if at + 12 > len(data):
            raise LogoError(_NOT_WHOLE, _EXPORT)
        (size,) = unpack_from(">I", data, at)
        end = at + 8 + size
        if end + 4 > len(data):
            raise LogoError(_NOT_WHOLE, _EXPORT)
        kind, body = data[at + 4 : at + 8], data[at + 8 : end]
        if unpack_from(">I", data, end)[0] != zlib.crc32(kind + body):
            raise LogoError(_NOT_WHOLE, _EXPORT)
        yield kind, body
        if kind == b"IEND":
            return
        at = end + 4
    raise LogoError(_NOT_WHOLE, _EXPORT)
