"""How long the PDF writer takes beside bare reportlab drawing the very same things."""

from cardgen.drawing.scene import (
    Align,
    Clip,
    Curve,
    Disc,
    Group,
    Item,
    Line,
    Polyline,
    Scene,
    Stroke,
    Text,
    Transform,
    Weight,
)
from cardgen.writers import pdf
from cardgen.writers.document import DocumentInfo
from tests.benchmarks.bare import bare_pdf
from tests.benchmarks.clock import Row, least_s

_PAGES = 60
_ROUNDS = 7
_INFO = DocumentInfo(title="Bench", subject="Pages for the clock")


def typical_scene(number: int) -> Scene:
    """Return a page like a card: 150 vector items and 40 texts, no two pages the same."""
    ink, thin = Stroke("#111111", 0.35), Stroke("#111111", 0.1)
    path = Stroke("#1b3a75", 0.5, (1.2, 0.8), round_ends=True)
    shift = (number % 37) * 0.173
    boards: list[Item] = [
        Line(5 + i * 1.123, 4, 5 + i * 1.123, 80 + shift, thin) for i in range(75)
    ]
    dots: list[Item] = [
        Disc(9.1 + 4.17 * i, 20.3 + shift, 0.61, None, "#111111") for i in range(25)
    ]
    ticks: list[Item] = [
        Polyline(
            ((5.2 + 1.7 * i, 60.1), (6.1 + 1.7 * i, 58.3 - shift), (7 + 1.7 * i, 60.1)),
            ink if i % 2 else None,
            "#b5450f",
            closed=True,
        )
        for i in range(30)
    ]
    curves: list[Item] = [
        Curve(
            (10 + i, 80),
            tuple(
                (
                    (10 + i + j + shift / 9, 70.7 - j * 6),
                    (11 + i + j, 66.2 - j * 6),
                    (12 + i + j, 63.3 - j * 6),
                )
                for j in range(6)
            ),
            path if i % 2 else ink,
        )
        for i in range(20)
    ]
    words = "Stand on board 22.5, roll over the third arrow"
    texts: list[Item] = [
        Text(
            5 + i % 3 * 20,
            6 + 1.9 * i + shift,
            f"{words[: 8 + i]} {number + i}",
            (6.5, 8.0, 10.0)[i % 3],
            (Weight.REGULAR, Weight.MEDIUM, Weight.BOLD)[i % 3],
            align=tuple(Align)[i % 3],
        )
        for i in range(40)
    ]
    body = Group(
        (*boards, *dots, *ticks, *curves), "lane", Transform.move(1, 1), Clip(0, 0, 90, 90)
    )
    return Scene(95.0, 95.0, (body, *texts), title=f"Card {number}")


def measure() -> list[Row]:
    """Return one row; below 1 the writer is the faster one."""
    scenes = [typical_scene(number) for number in range(_PAGES)]

    def ours() -> bytes:
        return pdf.pdf_bytes(scenes, _INFO)

    def bare() -> bytes:
        return bare_pdf(scenes, _INFO)

    if ours() != bare():
        raise AssertionError("both must draw the same file, or it is no yardstick")
    writer_s, reportlab_s = least_s(ours, bare, rounds=_ROUNDS)
    what = (
        f"{_PAGES} pages to PDF, {_PAGES / writer_s:,.0f} a second; bare reportlab drawing the same"
    )
    return [Row("pages", writer_s / reportlab_s, 0.7, what)]
