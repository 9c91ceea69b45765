"""How long a deck of cards takes, from charts to a file, beside bare reportlab writing its sheets.

Run it: ``python tests/benchmarks/bench_cards.py``. A thousand cards, of five hundred leaves and two
bowlers whose charts are given: words, drawing, preflight, ten on a sheet, and the file. Bare
reportlab gets the finished sheets and has only to write them, with a call for each item. Both sides
run in one process, turn by turn, so that only their ratio counts.
"""

import runpy
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from cardgen.cards.card import card_of
from cardgen.cards.words import Words, load_words
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.scene import Scene
from cardgen.drawing.theme import FORMATS
from cardgen.lane.rack import ALL_LEAVES
from cardgen.preflight import passed
from cardgen.profile.bowler import bowler_of
from cardgen.profile.loader import find_profile, load_profile
from cardgen.sheets.imposition import impose
from cardgen.sheets.margin import SheetWords
from cardgen.sheets.papers import A4
from cardgen.targeting.chart import Chart, chart_for
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes

_BOWLERS = ("ilse-marchetti", "wren-skobernik")
_LEAVES = ALL_LEAVES[::2][:500]
_FORMAT = FORMATS["id1"]
_ROUNDS = 3
_INFO = DocumentInfo(title="Bench", subject="Cards for the clock")
_SHEET = SheetWords(job="Bench", sheet="Sheet", front="front", back="back", setting="long edge")
_PAGES = runpy.run_path(str(Path(__file__).with_name("bench_pages.py")))


def _sheets(charts: Sequence[Chart], words: Words, *, backs: bool) -> tuple[Scene, ...]:
    """Return the sheets of every card of ``charts``, looked at before they are laid out."""
    cards = [card_of(line, chart, words) for chart in charts for line in chart.lines]
    fronts = [face_scene(card, _FORMAT) for card in cards]
    behind = [back_scene(card, _FORMAT) for card in cards] if backs else []
    passed([*fronts, *behind], kind="card", forgiven=("overlap",))
    return impose(fronts, behind, A4, _SHEET)


def _seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def _compare(name: str, charts: Sequence[Chart], *, backs: bool) -> tuple[str, float, str]:
    words = load_words("en")

    def ours() -> bytes:
        return pdf_bytes(_sheets(charts, words, backs=backs), _INFO)

    size, sheets = len(ours()), _sheets(charts, words, backs=backs)
    times = [(_seconds(ours), _seconds(lambda: _PAGES["bare_pdf"](sheets))) for _ in range(_ROUNDS)]
    # The fastest of each: what else the machine does only ever adds.
    best, bare = (min(side) for side in zip(*times, strict=True))
    count = sum(len(chart.lines) for chart in charts)
    sides = "with backs" if backs else "faces only"
    text = f"{count:,} cards, {sides}: {best:.2f} s and {size / 1e6:.2f} MB"
    return name, best / bare, f"{text}, bare reportlab on the finished sheets {bare:.2f} s"


def measure() -> list[tuple[str, float, str]]:
    """Return (name, ratio to bare reportlab, what was timed, with the seconds and the size)."""
    bowlers = [bowler_of(load_profile(find_profile(name))) for name in _BOWLERS]
    charts = [chart_for(bowler, _LEAVES) for bowler in bowlers]
    return [
        _compare("cards-faces", charts, backs=False),
        _compare("cards-both", charts, backs=True),
    ]


if __name__ == "__main__":
    for name, ratio, what in measure():
        sys.stdout.write(f"{name:14} {ratio:6.2f}  {what}\n")
