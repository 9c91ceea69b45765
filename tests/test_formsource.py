"""Forms come back as they were filled in, and whatever is no form is told in one sentence."""

import io
import logging
import os
import re
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, TextStringObject

from cardgen.cards.forms import intake_sheet, log_sheet
from cardgen.cards.words import Words
from cardgen.drawing.forms import intake_scene, log_scenes
from cardgen.drawing.scene import Field, Scene
from cardgen.errors import InputError
from cardgen.formsource import MAX_BYTES, MAX_CHARACTERS, TICKED, read_form
from cardgen.profile.intake import INTAKE
from cardgen.sheets.papers import A4, LETTER, Size
from cardgen.shotlog.columns import COLUMNS
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.yamlsource import printable

INFO = DocumentInfo("Form")
ROW = {
    "date": "2026-11-25",
    "ball": "spare",
    "leave": "3-10",
    "stand_board": "34.5",
    "target_board": "20",
    "arrows_board": "19.5",
    "pins_board": "3",
    "result": "right",
    "off_boards": "1.5",
    "speed_mph": "16,8",
    "note": "pulled it (twice) \\ „ťažko“ — “so” ½",
}


@pytest.fixture
def saved(tmp_path: Path) -> Callable[[bytes], Path]:
    """Return a function that saves a file and returns its path."""

    def save(data: bytes) -> Path:
        path = tmp_path / f"{len(list(tmp_path.iterdir()))}.pdf"
        path.write_bytes(data)
        return path

    return save


def fields_pdf(*fields: Field) -> bytes:
    return pdf_bytes([Scene(100, 100, fields)], INFO)


def filled(data: bytes, values: dict[str, str]) -> bytes:
    """Return a form filled in as pypdf does, a program that knows nothing of us."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(data))
    for page in writer.pages:
        writer.update_page_form_field_values(page, {**values})
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def said(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_form(path)
    assert caught.value.exit_code == 2
    return str(caught.value).removeprefix(f"{path}: ")


def outcome(path: Path) -> str:
    """Return "read", or what is said."""
    try:
        read_form(path)
    except InputError as error:
        return str(error).removeprefix(f"{path}: ")
    return "read"


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
def test_a_log_filled_in_beforehand_reads_back(
    words: Words, saved: Callable[[bytes], Path], paper: Size
) -> None:
    rows = [ROW, {"leave": "10", "ball": "strike"}, *[{"note": f"n{i}"} for i in range(20)]]
    sheet = log_sheet(words, filled=rows)
    pages = log_scenes(sheet, paper.width_mm, paper.height_mm)
    assert len(pages) == 2
    form = read_form(saved(pdf_bytes(pages, INFO)))
    expected = {f"shot.{n}.{name}": v for n, row in enumerate(rows, 1) for name, v in row.items()}
    assert form.values == expected


def test_a_blank_log_filled_in_elsewhere_reads_back(
    words: Words, saved: Callable[[bytes], Path]
) -> None:
    blank = pdf_bytes(log_scenes(log_sheet(words), A4.width_mm, A4.height_mm), INFO)
    assert read_form(saved(blank)).values == {}
    values = {f"shot.{n}.{name}": ROW[name] for n in (1, 20) for name in COLUMNS}
    assert read_form(saved(filled(blank, values))).values == values


def test_a_blank_intake_filled_in_elsewhere_reads_back(
    words: Words, saved: Callable[[bytes], Path]
) -> None:
    blank = pdf_bytes([intake_scene(intake_sheet(words), 210, 297)], INFO)
    values = {q.field: q.options[-1] if q.options else f"{n},5" for n, q in enumerate(INTAKE)}
    assert read_form(saved(filled(blank, values))).values == values


def test_a_tick_is_a_yes_and_no_tick_is_blank(saved: Callable[[bytes], Path]) -> None:
    data = fields_pdf(
        Field(10, 10, 5, 5, "a.on", "On", value="x", box=True),
        Field(10, 20, 5, 5, "a.off", "Off", box=True),
    )
    assert read_form(saved(data)).values == {"a.on": TICKED}
    assert read_form(saved(filled(data, {"a.off": "/Yes", "a.on": "/Off"}))).values == {
        "a.off": TICKED
    }


def test_values_are_stripped_and_made_printable(saved: Callable[[bytes], Path]) -> None:
    data = fields_pdf(Field(10, 10, 50, 8, "a", "A"), Field(10, 30, 50, 8, "b", "B"))
    form = read_form(saved(filled(data, {"a": " \t10\x1b[31m\t3\r\n5 \n", "b": " \n "})))
    assert form.values == {"a": "10�[31m 3 5"}


# Characters beyond Latin, breaks and controls come by name: among all there are they hardly do.
TYPED = st.characters(codec="utf-8", exclude_characters="\r") | st.sampled_from(
    "aé½ “”()\\<>/\t\n\x85\u2028\u202e\x00\x1b𝄞レ\ufeffþÿ"
)


@given(text=st.text(TYPED, max_size=60))
def test_no_text_typed_breaks_the_reading(
    text: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    data = fields_pdf(Field(10, 10, 50, 8, "a.b", "A"))
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(data))
    annotations = writer.pages[0]["/Annots"]
    assert isinstance(annotations, ArrayObject)
    widget = annotations[0].get_object()
    assert isinstance(widget, DictionaryObject)
    widget[NameObject("/V")] = TextStringObject(text)
    path = tmp_path_factory.mktemp("typed") / "f.pdf"
    with path.open("wb") as out:
        writer.write(out)
    values = read_form(path).values
    assert all(printable(value) == value == value.strip() for value in values.values())
    if text.isprintable():
        assert values == ({"a.b": text.strip()} if text.strip() else {})


def test_a_value_too_long_is_told_by_its_field(saved: Callable[[bytes], Path]) -> None:
    data = fields_pdf(Field(10, 10, 50, 8, "shot.1.note", "Note"))
    longest = "x" * MAX_CHARACTERS
    assert read_form(saved(filled(data, {"shot.1.note": longest}))).values["shot.1.note"] == longest
    assert said(saved(filled(data, {"shot.1.note": f"{longest}x"}))) == (
        "shot.1.note: must be at most 300 characters (got 301)"
    )


def test_a_problem_of_a_field_names_file_and_field(saved: Callable[[bytes], Path]) -> None:
    path = saved(fields_pdf(Field(10, 10, 50, 8, "hand", "Hand", value="left")))
    problem = read_form(path).problem("hand", "must be right", "look again")
    assert str(problem) == f"{path}: hand: must be right\n  hint: look again"


def test_what_is_no_file_is_told(tmp_path: Path) -> None:
    assert said(tmp_path / "none.pdf") == "there is no such file"
    (tmp_path / "a").write_bytes(b"")
    assert said(tmp_path / "a" / "none.pdf") == "there is no such file"
    assert said(tmp_path) == "this is a folder, not a file"
    with pytest.raises(InputError, match="no file can have this name"):
        read_form(Path("a\0b"))
    with pytest.raises(InputError, match="cannot be read"):
        read_form(Path("x" * 5000))


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read anything; tests/rough plays it")
def test_a_file_that_may_not_be_read_is_told(tmp_path: Path) -> None:
    path = tmp_path / "locked.pdf"
    path.write_bytes(b"%PDF-1.7")
    path.chmod(0)
    assert said(path) == "this file may not be read: its permissions forbid it"


@pytest.mark.parametrize(
    "data", [b"", b"leave,stand\n10,34\n", b"PK\3\4", b"\0" * 5000 + b"%PDF-1.7"]
)
def test_what_is_no_pdf_is_told(saved: Callable[[bytes], Path], data: bytes) -> None:
    assert said(saved(data)).startswith("this is no PDF file\n")


def test_a_file_too_large_is_told(tmp_path: Path) -> None:
    path = tmp_path / "large.pdf"
    with path.open("wb") as file:
        file.write(b"%PDF-1.7")
        file.truncate(MAX_BYTES + 1)
    assert said(path) == "the file is larger than 20 MB, which no form is"


def test_a_pdf_without_fields_is_told_what_to_do(saved: Callable[[bytes], Path]) -> None:
    assert said(saved(pdf_bytes([Scene(50, 50, ())], INFO))) == (
        "this PDF has no form fields\n"
        "  hint: a scan or a print has no fields: type the log into a CSV"
    )


@pytest.mark.parametrize("password", ["secret", ""])
def test_an_encrypted_form_is_told(saved: Callable[[bytes], Path], password: str) -> None:
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(fields_pdf(Field(1, 1, 9, 9, "a", "A"))))
    writer.encrypt(password, "owner", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    assert said(saved(out.getvalue())).startswith("this PDF is encrypted\n")


def test_an_encryption_that_nothing_here_can_undo_is_told(saved: Callable[[bytes], Path]) -> None:
    # ISO 32000-2, 7.6.4: AES of 256 bits, which pypdf leaves to another library
    keys = " ".join(f"/{key} <{'00' * n}>" for key, n in (("O", 48), ("U", 48), ("Perms", 16)))
    keys += f" /OE <{'00' * 32}> /UE <{'00' * 32}>"
    crypt = "/StmF /A /StrF /A /CF << /A << /CFM /AESV3 /AuthEvent /DocOpen /Length 32 >> >>"
    encrypt = f"/Encrypt << /Filter /Standard /V 5 /R 6 /Length 256 /P -4 {keys} {crypt} >>"
    plain = fields_pdf(Field(1, 1, 9, 9, "a", "A"))
    locked = plain.replace(b"trailer\n<<", b"trailer\n<< " + encrypt.encode())
    assert locked != plain
    assert said(saved(locked)).startswith("this PDF is encrypted\n")


DAMAGED = (
    "this PDF is damaged and cannot be read\n"
    "  hint: save it once more in the program that you filled it in with"
)


def test_a_damaged_form_is_told_and_nothing_else_is_printed(
    saved: Callable[[bytes], Path],
    capfd: pytest.CaptureFixture[str],
    caplog: pytest.LogCaptureFixture,
) -> None:
    whole = fields_pdf(*(Field(1, 1 + 9 * n, 9, 8, f"shot.{n}.a", "A", "x") for n in range(9)))
    outcomes = set()
    for cut in range(9, len(whole), 97):
        path = saved(whole[:cut])
        outcomes.add(outcome(path))
        path.unlink()
    assert DAMAGED in outcomes
    assert {text.partition("\n")[0] for text in outcomes} <= {
        "this PDF is damaged and cannot be read",
        "this PDF has no form fields",
        "read",
    }
    assert capfd.readouterr() == ("", "")
    assert not caplog.records
    assert logging.getLogger("pypdf").propagate  # as it was before


PARTS = (
    *(
        b"/Fields",
        b"/Kids",
        b"/Parent",
        b"/T",
        b"/V",
        b"/FT",
        b"/Tx",
        b"/Btn",
        b"/Annots",
        b"/Type",
    ),
    *(b"<<", b">>", b"[", b"]", b"(", b")", b"obj", b"endobj", b"stream", b"trailer", b"xref"),
    *(b" 0 R", b" 1 0 R", b" 9 0 R", b"999999999999", b"-1", b"null", b"/#00", b"<FEFF>", b"%"),
)


@settings(max_examples=200)
@given(data=st.data())
def test_no_damage_gets_past_the_one_sentence(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    field = Field(10, 10, 50, 8, "shot.1.leave", "Leave", "3-10")
    whole = fields_pdf(field, Field(10, 30, 5, 5, "a.on", "On", value="x", box=True))
    words = [(found.start(), found.end()) for found in re.finditer(rb"/\w+|\d+|<<|>>|\w+", whole)]
    damaged = whole
    for _ in range(data.draw(st.integers(1, 4))):
        # A word in another's place does more than a byte, which mostly stands in a picture.
        start, end = data.draw(
            st.sampled_from(words) | st.integers(8, len(whole)).map(lambda at: (at, at + 1))
        )
        inside = data.draw(st.sampled_from(PARTS) | st.binary(max_size=2))
        damaged = damaged[:start] + inside + damaged[end:]
    path = tmp_path_factory.mktemp("damage") / "f.pdf"
    path.write_bytes(damaged)
    said_of_it = outcome(path)
    assert said_of_it == "read" or said_of_it.startswith(SENTENCES)
    assert said_of_it.count("\n") <= 1  # one sentence, and a hint


SENTENCES = (
    "this PDF is damaged and cannot be read\n",
    "this PDF has no form fields\n",
    "this PDF is encrypted\n",
    "this is no PDF file\n",
)


def test_a_form_within_itself_ends(saved: Callable[[bytes], Path]) -> None:
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(fields_pdf(Field(1, 1, 9, 9, "a.b", "A", "x"))))
    form = writer.root_object["/AcroForm"].get_object()
    assert isinstance(form, DictionaryObject)
    top = form["/Fields"].get_object()[0].get_object()  # type: ignore[index]  # an array
    top[NameObject("/Parent")] = top["/Kids"][0]
    out = io.BytesIO()
    writer.write(out)
    assert outcome(saved(out.getvalue())) in ("read", DAMAGED)
