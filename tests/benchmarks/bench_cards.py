"""How long a deck of cards takes, from charts to a file, beside bare reportlab writing its sheets.

A thousand cards, of five hundred leaves and two bowlers whose charts are given: words, drawing,
preflight, ten on a sheet, and the file. Bare reportlab gets the finished sheets and has only to
write them, with a call for each item.
"""

from collections.abc import Sequence

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
from tests.benchmarks.bare import bare_pdf
from tests.benchmarks.clock import Row, least_s

_BOWLERS = ("ilse-marchetti", "wren-skobernik")
_LEAVES = ALL_LEAVES[::2][:500]
_FORMAT = FORMATS["id1"]
_ROUNDS = 3
_INFO = DocumentInfo(title="Bench", subject="Cards for the clock")
_SHEET = SheetWords(job="Bench", sheet="Sheet", front="front", back="back", setting="long edge")


def _sheets(charts: Sequence[Chart], words: Words, *, backs: bool) -> tuple[Scene, ...]:
    """Return the sheets of every card of ``charts``, looked at before they are laid out."""
    cards = [card_of(line, chart, words) for chart in charts for line in chart.lines]
    fronts = [face_scene(card, _FORMAT) for card in cards]
    behind = [back_scene(card, _FORMAT) for card in cards] if backs else []
    passed([*fronts, *behind], kind="card", forgiven=("overlap",))
    return impose(fronts, behind, A4, _SHEET)


def _compare(name: str, most: float, charts: Sequence[Chart], *, backs: bool) -> Row:
    words = load_words("en")

    def ours() -> bytes:
        return pdf_bytes(_sheets(charts, words, backs=backs), _INFO)

    size, sheets = len(ours()), _sheets(charts, words, backs=backs)
    cards_s, bare_s = least_s(ours, lambda: bare_pdf(sheets, _INFO), rounds=_ROUNDS)
    count = sum(len(chart.lines) for chart in charts)
    sides = "with backs" if backs else "faces only"
    what = f"{count:,} cards, {sides}: {cards_s:.2f} s and {size / 1e6:.2f} MB"
    return Row(
        name, cards_s / bare_s, most, f"{what}; bare reportlab on their sheets {bare_s:.2f} s"
    )


def measure() -> list[Row]:
    """Return a row for cards without backs, and one with them."""
    bowlers = [bowler_of(load_profile(find_profile(name))) for name in _BOWLERS]
    charts = [chart_for(bowler, _LEAVES) for bowler in bowlers]
    return [
        _compare("cards-faces", 1.4, charts, backs=False),
        _compare("cards-both", 1.5, charts, backs=True),
    ]
