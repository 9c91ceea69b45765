"""How fast the PDF writer is beside bare reportlab drawing the very same things.

Run it: ``python tests/benchmarks/bench_pages.py``. Both sides draw in one process, turn by turn, so
that only their ratio counts and a slow machine slows both.
"""

import time
from collections.abc import Callable, Sequence
from typing import Any
from unittest.mock import patch

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

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

_PAGES = 60
_ROUNDS = 7
_INFO = DocumentInfo(title="Bench", subject="Pages for the clock")
_Call = tuple[int, str, tuple[Any, ...], dict[str, Any]]


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


class _Made(int):
    """Stands for the object that the call of this number made."""


class _Recorder:
    """Passes every call on to a reportlab object and notes it; a path it makes is noted, too."""

    def __init__(self, target: object, calls: list[_Call], key: int) -> None:
        self._target, self._calls, self._key = target, calls, key

    def __getattr__(self, name: str) -> Callable[..., Any]:
        method = getattr(self._target, name)

        def noted(*args: Any, **kwargs: Any) -> Any:
            plain = [a._target if isinstance(a, _Recorder) else a for a in args]
            notes = tuple(_Made(a._key) if isinstance(a, _Recorder) else a for a in args)
            self._calls.append((self._key, name, notes, kwargs))
            made = method(*plain, **kwargs)
            return _Recorder(made, self._calls, len(self._calls)) if name == "beginPath" else made

        return noted


def recorded_calls(scenes: Sequence[Scene]) -> tuple[dict[str, Any], list[_Call]]:
    """Return the canvas' own arguments and all calls that writing ``scenes`` makes to reportlab."""
    calls: list[_Call] = []
    settings: dict[str, Any] = {}

    def recording(*args: Any, **kwargs: Any) -> Any:
        settings.update(kwargs)
        return _Recorder(Canvas(*args, **kwargs), calls, 0)

    with patch.object(pdf, "Canvas", recording):
        pdf.pdf_bytes(scenes, _INFO)
    return settings, calls


def replay(settings: dict[str, Any], calls: Sequence[_Call]) -> bytes:
    """Return the PDF that bare reportlab makes of recorded calls."""
    canvas = Canvas("", **settings)
    objects: dict[int, Any] = {0: canvas}
    made: Any = b""
    for number, (key, name, args, kwargs) in enumerate(calls, start=1):
        if args and type(args[0]) is _Made:
            args = (objects.pop(args[0]), *args[1:])
        made = getattr(objects[key], name)(*args, **kwargs)
        if name == "beginPath":
            objects[number] = made
    return bytes(made)


def _seconds(work: Callable[[], bytes]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def measure() -> list[tuple[str, float, str]]:
    """Return (name, ratio, what it is) rows; above 1 the writer is the faster one."""
    scenes = [typical_scene(number) for number in range(_PAGES)]
    settings, calls = recorded_calls(scenes)

    def ours() -> bytes:
        return pdf.pdf_bytes(scenes, _INFO)

    def bare() -> bytes:
        with patch.object(rl_config, "useA85", 0):
            return replay(settings, calls)

    if ours() != bare():
        raise AssertionError("the replay must draw the same file, or it is no yardstick")
    times = [(_seconds(ours), _seconds(bare)) for _ in range(_ROUNDS)]
    ratio = min(b for _, b in times) / min(a for a, _ in times)
    return [("pdf pages", ratio, "pages a second, ours / bare reportlab with the same calls")]


if __name__ == "__main__":
    for name, ratio, what in measure():
        print(f"{name}: {ratio:.2f} ({what})")  # noqa: T201 - a script's answer
