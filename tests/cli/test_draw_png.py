"""A card as a picture of pixels, from the command line."""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from cardgen.cli import main

Run = Callable[..., Any]
Files = Callable[[], list[str]]


def size_of(data: bytes) -> tuple[int, int]:
    with Image.open(BytesIO(data)) as image:
        assert image.format == "PNG"
        return image.size


def test_a_png_has_300_dots_an_inch_unless_asked_otherwise(
    run: Run, tmp_path: Path, files: Files
) -> None:
    made = run("draw", "ilse-marchetti", "10", "--png", "a/card.png")
    assert (made.code, made.out, made.err) == (0, f"{Path('a', 'card.png')}\n", "")
    run("draw", "ilse-marchetti", "10", "--png", "b.png", "--dpi", "100", "--back")
    assert files() == ["a/card.png", "b.png"]
    # ID-1 is 53.98 x 85.60 mm (ISO/IEC 7810)
    for name, dpi in (("a/card.png", 300), ("b.png", 100)):
        wanted = (53.98 / 25.4 * dpi, 85.60 / 25.4 * dpi)
        assert size_of((tmp_path / name).read_bytes()) == pytest.approx(wanted, abs=1)


def test_both_kinds_at_once(run: Run, tmp_path: Path, files: Files) -> None:
    made = run("draw", "wren-skobernik", "7", "--svg", "c.svg", "--png", "c.png", "--dpi", "72")
    assert (made.code, made.out) == (0, "c.svg\nc.png\n")
    assert files() == ["c.png", "c.svg"]
    assert (tmp_path / "c.svg").read_text() == run("draw", "wren-skobernik", "7").out


def test_to_standard_output(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfdbinary: Any, files: Files
) -> None:
    monkeypatch.chdir(tmp_path)  # not through the fixture: what comes out is no text
    with pytest.raises(SystemExit) as ended:
        main(["draw", "ilse-marchetti", "10", "--png", "-", "--dpi", "72"])
    assert ended.value.code == 0
    said = capfdbinary.readouterr()
    assert size_of(said.out) == (154, 243)
    assert said.err == b""
    assert files() == []


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--dpi", "150"), "--dpi is for a PNG: name its file with --png"),
        (("--svg", "x", "--png", "x"), "--svg and --png both name x: give each a file of its own"),
        (("--png", "x.png", "--dpi", "9000"), "million is the most: ask for 3736 dpi or less"),
        (("--png", "x.png", "--dpi", "0"), "0.0 is not in the range x>=1"),
    ],
)
def test_what_cannot_be_made_is_said_and_nothing_is_written(
    args: tuple[str, ...], said: str, run: Run, files: Files
) -> None:
    drawn = run("draw", "ilse-marchetti", "10", *args)
    assert (drawn.code, drawn.out) == (2, "")
    assert said in drawn.err
    assert files() == []


def test_where_one_file_is_in_the_way_neither_is_written(
    run: Run, tmp_path: Path, files: Files
) -> None:
    (tmp_path / "c.png").write_bytes(b"\x89PNG\r\n\x1a\n of another")
    drawn = run("draw", "ilse-marchetti", "10", "--svg", "c.svg", "--png", "c.png")
    assert (drawn.code, drawn.out) == (2, "")
    assert "c.png: is there already and cardgen did not make it" in drawn.err
    assert files() == ["c.png"]
    forced = run("draw", "ilse-marchetti", "10", "--svg", "c.svg", "--png", "c.png", "--force")
    assert forced.code == 0
