"""What is fuzzed: a target a kind of input, each with seeds and with the oracle that all share.

The oracle: an input is a value, or an error of ours with exit code 2, one sentence for each of its
mistakes, and nothing else comes out. Time and room are bounded by whoever runs the target.

Each target imports what it reads with where it begins, so that nothing else need be instrumented.
"""

import io
import os
import struct
import tempfile
import unicodedata
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from cardgen.errors import CardgenError, InputError
from cardgen.resources import data_folder

TESTS = Path(__file__).resolve().parents[1]
MAX_SENTENCE = 400
"""Characters of what is said of one mistake; the longest lists the fields that there are."""
_PNG = b"\x89PNG\r\n\x1a\n"


@dataclass(frozen=True)
class Target:
    """A kind of input: small valid ones to begin with, and what reads one."""

    seeds: Callable[[], list[bytes]]
    read: Callable[[bytes], None]

    def __call__(self, data: bytes) -> None:
        """Read ``data``: it is a value, or an error that keeps the rules."""
        try:
            self.read(data)
        except CardgenError as error:
            assert_told_well(error)


def assert_told_well(error: CardgenError) -> None:
    """Check that an error of bad input says what it must, and no more than that."""
    assert error.exit_code == 2, repr(error)
    assert isinstance(error, InputError), repr(error)
    assert error.problems
    text = str(error)
    assert "Traceback" not in text
    for problem in error.problems:
        assert problem.source
        assert problem.line is None or problem.line >= 1
        assert problem.column is None or problem.column >= 1
        assert 0 < len(problem.message) <= MAX_SENTENCE, problem.message
        for part in (problem.where, problem.message, problem.excerpt or "", problem.hint or ""):
            assert all(c.isprintable() or unicodedata.category(c) == "Zs" for c in part), part


@contextmanager
def file_of(data: bytes, name: str) -> Iterator[Path]:
    """Yield the path of a file in a folder of this process, which holds ``data``."""
    path = _folder() / name
    path.write_bytes(data)
    yield path


@cache
def _folder() -> Path:
    """Return a folder that goes with this process, or with the one that started it for a while.

    A fuzzer's process ends itself without looking back.
    """
    if folder := os.environ.get(SCRATCH):
        return Path(folder)
    holder = scratch()
    _HOLDERS.append(holder)
    return Path(holder.name)


SCRATCH = "CARDGEN_FUZZ_SCRATCH"
_HOLDERS: list[tempfile.TemporaryDirectory[str]] = []


def scratch() -> tempfile.TemporaryDirectory[str]:
    """Return a new folder, in memory where the system has one there."""
    parent = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    return tempfile.TemporaryDirectory(prefix="cardgen-fuzz-", dir=parent)


def _texts(*paths: Path) -> list[bytes]:
    return [path.read_bytes() for path in paths]


def _yaml(*folders: Path) -> list[bytes]:
    return [data for folder in folders for data in _texts(*sorted(folder.glob("*.yaml")))]


# Profiles and lanes


def _profile(data: bytes) -> None:
    from cardgen.profile.bowler import bowler_of
    from cardgen.profile.loader import load_profile

    with file_of(data, "profile.yaml") as path:
        bowler_of(load_profile(path))


def _lane(data: bytes) -> None:
    from cardgen.profile.loader import load_lane

    with file_of(data, "lane.yaml") as path:
        load_lane(path)


def _profile_seeds() -> list[bytes]:
    return _yaml(
        data_folder("profiles"), TESTS / "profile" / "valid", TESTS / "profile" / "invalid"
    )


def _lane_seeds() -> list[bytes]:
    return _yaml(data_folder("templates") / "lanes", TESTS / "profile" / "valid" / "lanes")


# Templates and logos


def _template(data: bytes) -> None:
    from cardgen.templating.loading import open_template

    with file_of(_svg_seeds()[0], "logo.svg"), file_of(data, "template.yaml") as path:
        open_template(path)


def _template_seeds() -> list[bytes]:
    folder = data_folder("templates")
    return [
        b"design: friendly\ncentre: {name: Lanes, logo: logo.svg, footer: Slow down}\n",
        *_yaml(folder / "designs", folder / "centres"),
    ]


def _svg(data: bytes) -> None:
    from cardgen.templating.logo import LogoError
    from cardgen.templating.outlines import read_svg

    try:
        read_svg(data)
    except LogoError as error:
        _assert_sentence(error.message, error.hint)


def _svg_seeds() -> list[bytes]:
    shapes = (
        '<g transform="translate(1,2) rotate(30 1 1) skewX(4)" style="fill:#123456;opacity:1">'
        '<rect x="1mm" y="2" width="3" height="4" rx="1"/><circle r="1"/>'
        '<line x2="3" stroke="red"/>'
        '<polygon points="0,0 1,1 2,0"/><ellipse cx="1" rx="2" ry="1e-1" fill-rule="evenodd"/>'
        '<path d="M0 0c1 1 2 2 3 3s1 1 2 2q1 1 2 2t1 1a1 2 30 0 1 5 5zm1 1h1v1l-.5-.5"/></g>'
    )
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{shapes}</svg>'
    return [svg.encode(), *_texts(*sorted((data_folder("templates") / "centres").glob("*.svg")))]


def _png(data: bytes) -> None:
    """Read a picture whose chunks have right sums, or hardly any input came past them."""
    from cardgen.templating.logo import LogoError
    from cardgen.templating.pixels import KEPT_SIDE, read_png

    try:
        pixels = read_png(with_right_sums(data))
    except LogoError as error:
        _assert_sentence(error.message, error.hint)
    else:
        assert 0 < pixels.width <= KEPT_SIDE
        assert 0 < pixels.height <= KEPT_SIDE


def _assert_sentence(message: str, hint: str | None = None, most: int = MAX_SENTENCE) -> None:
    assert 0 < len(message) <= most, message
    assert "\n" not in message + (hint or "")


def with_right_sums(data: bytes) -> bytes:
    """Return a PNG file, whole or not, whose chunks have the sums that they should have."""
    if not data.startswith(_PNG):
        return data
    made, at = _PNG, len(_PNG)
    while at + 12 <= len(data):
        size = min(struct.unpack_from(">I", data, at)[0], len(data) - at - 12)
        body = data[at + 4 : at + 8 + size]
        made += struct.pack(">I", size) + body + struct.pack(">I", zlib.crc32(body))
        at += 12 + size
    return made + data[at:]


def _png_seeds() -> list[bytes]:
    from PIL import Image

    made = []
    for mode in ("1", "L", "LA", "P", "RGB", "RGBA", "I;16"):
        out = io.BytesIO()
        Image.new(mode, (3, 2)).save(out, "PNG")
        made.append(out.getvalue())
    return made


# Shot logs and rosters


def _reader(read: Callable[[Path], object], name: str) -> Callable[[bytes], None]:
    def made(data: bytes) -> None:
        with file_of(data, name) as path:
            read(path)

    return made


def _log(path: Path) -> None:
    """Read a log; its bad rows are an error, as ``cardgen check`` has it."""
    from cardgen.shotlog.reading import read_log

    if bad := read_log(path).bad:
        raise InputError(bad)


def _roster(path: Path) -> None:
    from cardgen.roster.reading import read_roster

    if bad := read_roster(path).bad:
        raise InputError(bad)


def _log_csv_seeds() -> list[bytes]:
    head = b"date,ball,leave,stand_board,target_board,arrows_board,pins_board,result,note\n"
    return [
        head + b'2026-11-25,spare,3 10,34,20.5,20.25,36,hit,"a, ""b"""\n',
        head.replace(b",", b";") + b";;10;34;20;;;left;\n",
        "leave\tstand_board\ttarget_board\n7\t6\t20\n".encode("utf-16"),
        *[
            data[:900]
            for data in _texts(*sorted((data_folder("profiles") / "shots").glob("*.csv")))
        ],
    ]


def _log_yaml_seeds() -> list[bytes]:
    return [
        b"shots:\n"
        b'- {leave: "10", stand_board: 34, target_board: 20, result: left, off_boards: 2}\n',
        *[data[:900] for data in _yaml(data_folder("profiles") / "shots")],
    ]


def _log_form_seeds() -> list[bytes]:
    values = {"shot.1.leave": "3-10", "shot.1.stand_board": "34", "shot.1.target_board": "20"}
    return forms_of({**values, "shot.1.result": "hit", "shot.1.note": "é"}, tick="other")


def _roster_csv_seeds() -> list[bytes]:
    folder = data_folder("profiles") / "clinics"
    return [
        b"name,hand,stand.distance_ft,known_lines,lane,copies\n"
        b'default,right,13,"10: 34/20; 7: 6/20",short,2\nAnn,left,,,,\n"B, o",,12.5,,house,1\n',
        b"name;hand;profile;lane.oil_ft;group\nAnn;left;;38,5;A\nBo;right;x.yaml;;B\n",
        *[data[:900] for data in _texts(*sorted(folder.glob("*.csv")))],
    ]


def _roster_yaml_seeds() -> list[bytes]:
    return [
        b"clinic: Saturday\ndefaults: {hand: left, lane: short}\nstudents:\n"
        b"- {name: Ann}\n- {name: Bo, hand: right, stand: {distance_ft: 12}, copies: 2}\n"
    ]


def _workbook(data: bytes) -> None:
    """Read a workbook one part of which is ``data``; its first byte chooses which."""
    parts = dict(_workbook_parts())
    if data:
        chosen = sorted(parts)[data[0] % len(parts)]
        parts[chosen] = data[1:]
    book = io.BytesIO()
    with zipfile.ZipFile(book, "w") as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    with file_of(book.getvalue(), "roster.xlsx") as path:
        _roster(path)


@cache
def _workbook_parts() -> tuple[tuple[str, bytes], ...]:
    import openpyxl

    book, out = openpyxl.Workbook(), io.BytesIO()
    for row in (["name", "hand", "copies"], ["Ann", "left", 2], ["Bo", "right", 3]):
        book.active.append(row)
    book.save(out)
    with zipfile.ZipFile(out) as archive:
        return tuple((name, archive.read(name)) for name in archive.namelist())


def _workbook_seeds() -> list[bytes]:
    parts = dict(_workbook_parts())
    return [bytes([number]) + parts[name] for number, name in enumerate(sorted(parts))]


def _raw_workbook_seeds() -> list[bytes]:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in _workbook_parts():
            archive.writestr(name, part)
    return [out.getvalue()]


# Forms


def _intake(path: Path) -> None:
    from cardgen.formsource import read_form
    from cardgen.profile.intake import profile_text_of
    from cardgen.profile.loader import load_profile

    text = profile_text_of(read_form(path))
    with file_of(text.encode(), "made.yaml") as made:
        load_profile(made)


def _intake_seeds() -> list[bytes]:
    least = {"bowler": "Ana", "hand": "right"}
    line = {"known_lines.1.leave": "10", "known_lines.1.stand": "34", "known_lines.1.target": "20"}
    return forms_of({**least, **line, "stand.walk": "0,5", "lane": "long", "spread": "league"})


def forms_of(values: dict[str, str], tick: str = "") -> list[bytes]:
    """Return a small PDF form with ``values``, as plain text and packed in streams."""
    import pikepdf

    book = pikepdf.new()
    book.add_blank_page(page_size=(99, 99))
    fields = [
        pikepdf.Dictionary(FT=pikepdf.Name.Tx, T=name, V=value) for name, value in values.items()
    ]
    if tick:
        fields.append(pikepdf.Dictionary(FT=pikepdf.Name.Btn, T=tick, V=pikepdf.Name.Yes))
    made = [book.make_indirect(field) for field in fields]
    book.Root.AcroForm = pikepdf.Dictionary(Fields=pikepdf.Array(made))
    saved = []
    for mode in (pikepdf.ObjectStreamMode.disable, pikepdf.ObjectStreamMode.generate):
        out = io.BytesIO()
        book.save(out, object_stream_mode=mode, deterministic_id=True)
        saved.append(out.getvalue())
    return saved


# What comes with the program and may be edited, and what the user has beside it


def _words(path: Path) -> None:
    from cardgen.cards.words import read_words

    words = read_words(path)
    for key in words.texts:
        with suppress(KeyError):  # a text of which the code knows nothing
            words(key, count=2, by=1, bowler="Ana", leave="10")


def _words_seeds() -> list[bytes]:
    whole = _texts(data_folder("templates") / "words" / "en.yaml")[0]
    plural = b"language: pl\nn: {count: {one: '{count} a', few: b, many: c, other: '{x}'}}\n"
    return [
        b"language: en\ncard: {stand: Stand, '10': [a, b]}\nsay: '{bowler}: {leave!r:>9}'\n",
        plural,
        whole[:3000].rpartition(b"\n")[0],
    ]


def _stock(path: Path) -> None:
    from cardgen.sheets.stock import load_stocks

    load_stocks(path)


def _stock_seeds() -> list[bytes]:
    return [
        b"stocks:\n- {name: mine, paper: a4, columns: 1, rows: 2, width_mm: 74, height_mm: 105,"
        b" left_mm: 60, top_mm: 40, gap_x_mm: 1}\n",
        *_texts(data_folder("templates") / "stock.yaml"),
    ]


def _printers(path: Path) -> None:
    """Read offsets that are kept; what is read can be kept again, and is the same then."""
    from cardgen import printers

    with _variable(printers.FOLDER_VARIABLE, str(path.parent)):
        known = printers.load_printers()
        for name, offset in known.items():
            assert printers.offset_of(name) == offset or printers.offset_of(name) in known.values()


def _printers_seeds() -> list[bytes]:
    return [
        b'["front desk"]\ndx_mm = 0.4\ndy_mm = -1\n[b]\ndx_mm = 0\ndy_mm = 1e-1\n',
        b"'b' = {dx_mm = 1_0, dy_mm = 0x1}\n[a.c]\ndx_mm = inf\n",
        b"\xef\xbb\xbf# nothing\n",
    ]


@contextmanager
def _variable(name: str, value: str) -> Iterator[None]:
    before = os.environ.get(name)
    os.environ[name] = value
    try:
        yield
    finally:
        if before is None:
            del os.environ[name]
        else:
            os.environ[name] = before


def _font(path: Path) -> None:
    """Take a font for what the card font lacks, measure with it, and cut it down."""
    from cardgen.drawing import fallback
    from cardgen.drawing.scene import Weight

    with _variable(fallback.VARIABLE, ""):
        for cached in (fallback._bytes, fallback._is_bold, fallback._is_variable, fallback._subset):
            cached.cache_clear()
        fallback.use_fonts([path])
        try:
            for weight in (Weight.REGULAR, Weight.BOLD):
                for font in fallback.fallbacks(weight):
                    if font.has("A"):
                        font.advance_em("A")
                        font.ink_em("A")
                        font.subset("A")
        finally:
            fallback.use_fonts([])


def _font_seeds() -> list[bytes]:
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.t2CharStringPen import T2CharStringPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    made = []
    for is_truetype in (True, False):
        build = FontBuilder(1000, isTTF=is_truetype)
        build.setupGlyphOrder([".notdef", "space", "A"])
        build.setupCharacterMap({32: "space", 65: "A"})
        glyphs = {}
        for name in (".notdef", "space", "A"):
            pen = TTGlyphPen(None) if is_truetype else T2CharStringPen(500, None)
            pen.moveTo((0, 0))
            pen.lineTo((0, 500))
            pen.curveTo((100, 600), (200, 600), (500, 0)) if not is_truetype else pen.qCurveTo(
                (200, 600), (500, 0)
            )
            pen.closePath()
            glyphs[name] = pen.glyph() if is_truetype else pen.getCharString()
        if is_truetype:
            build.setupGlyf(glyphs)
        else:
            build.setupCFF("Fuzz", {}, glyphs, {})
        build.setupHorizontalMetrics(dict.fromkeys(glyphs, (500, 0)))
        build.setupHorizontalHeader(ascent=800, descent=-200)
        build.setupNameTable({"familyName": "Fuzz", "styleName": "Regular"})
        build.setupOS2(usWeightClass=400)
        build.setupPost()
        out = io.BytesIO()
        build.save(out)
        made.append(out.getvalue())
    return made


# Names, and files that may be ours


def _arguments(data: bytes) -> None:
    """Read a leave and a format as they are typed."""
    from cardgen.drawing.theme import format_of
    from cardgen.errors import UsageError
    from cardgen.lane.rack import Leave

    leave, _, size = data[:40].decode("utf-8", "surrogateescape").partition("\n")
    try:
        assert str(Leave.parse(leave)) == "-".join(str(pin) for pin in Leave.parse(leave).pins)
    except ValueError as error:
        _assert_sentence(str(error), most=2 * MAX_SENTENCE)  # it lists the formats
    try:
        assert format_of(size, large_print=len(leave) % 2 == 1).width_mm > 0
    except UsageError as error:
        _assert_sentence(str(error), most=2 * MAX_SENTENCE)  # it lists the formats


def _argument_seeds() -> list[bytes]:
    return [b"3-10\n60x90", b"3 - 6 -10\na7", b"1-2-3-4-5-6-7-8-9-10\n105.5 x 148", b"7\nid1"]


def _names(data: bytes) -> None:
    """Turn names into stems that are one plain component of a path, each of them another."""
    from cardgen.filenames import distinct_stems, safe_stem

    names = data.decode("utf-8", "surrogateescape" if data[:1] == b"s" else "replace").split("\n")
    stems = distinct_stems(names)
    assert len({stem.casefold() for stem in stems}) == len(names)
    for stem in (*stems, *map(safe_stem, names)):
        assert 0 < len(stem.encode()) <= 80
        assert stem == Path(stem).name
        assert stem not in (".", "..")
        assert stem.isprintable()


def _name_seeds() -> list[bytes]:
    names = "Ana Bo\nana bo\n../..\nCON.x\nn\u0303\u202e\u0160\n" + "long " * 30
    return [names.encode(), b"s\xff\nb"]


def _ours(path: Path) -> None:
    from cardgen.atomicfile import is_ours

    is_ours(path)


def _ours_seeds() -> list[bytes]:
    from cardgen.atomicfile import MAKER, SVG_DESC

    svg = f"<svg><title>t</title><desc>{SVG_DESC}</desc></svg>".encode()
    info = f"1 0 obj\n<</Producer ({MAKER})>>\nendobj\n".encode()
    head = b"%PDF-1.4\n"
    table = b"xref\n0 2\n0000000000 65535 f \n%010d 00000 n \n" % len(head)
    tail = b"trailer\n<</Size 2/Info 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % len(head + info)
    return [svg, head + info + table + tail]


TARGETS = {
    "profile": Target(_profile_seeds, _profile),
    "lane": Target(_lane_seeds, _lane),
    "template": Target(_template_seeds, _template),
    "svg-logo": Target(_svg_seeds, _svg),
    "png-logo": Target(_png_seeds, _png),
    "log-csv": Target(_log_csv_seeds, _reader(_log, "log.csv")),
    "log-yaml": Target(_log_yaml_seeds, _reader(_log, "log.yaml")),
    "log-form": Target(_log_form_seeds, _reader(_log, "log.pdf")),
    "roster-csv": Target(_roster_csv_seeds, _reader(_roster, "roster.csv")),
    "roster-yaml": Target(_roster_yaml_seeds, _reader(_roster, "roster.yaml")),
    "roster-workbook": Target(_workbook_seeds, _workbook),
    "roster-zip": Target(_raw_workbook_seeds, _reader(_roster, "roster.xlsx")),
    "intake-form": Target(_intake_seeds, _reader(_intake, "intake.pdf")),
    "names": Target(_name_seeds, _names),
    "words": Target(_words_seeds, _reader(_words, "words.yaml")),
    "stock": Target(_stock_seeds, _reader(_stock, "stock.yaml")),
    "printers": Target(_printers_seeds, _reader(_printers, "printers.toml")),
    "font": Target(_font_seeds, _reader(_font, "font.ttf")),
    "arguments": Target(_argument_seeds, _arguments),
    "ours": Target(_ours_seeds, _reader(_ours, "made.pdf")),
}


def _any_but_the_seed(data: bytes) -> None:
    assert data == b"seed"


WATCHED = {"any-input": Target(lambda: [b"seed"], _any_but_the_seed)}
"""What breaks at once, to see that the fuzzer tells it."""
