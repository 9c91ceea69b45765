"""How long the page of a preview takes beside bare svgwrite drawing its finished cards.

Once from a chart that is given, and once as it happens when a profile is saved, from its text on.
"""

from collections.abc import Callable

from cardgen.cards.booklet import cards_of
from cardgen.cards.words import load_words
from cardgen.deckpage import served_page
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.theme import FORMATS
from cardgen.press import job_of, open_profile
from cardgen.preview import Deck
from cardgen.profile.loader import find_profile
from tests.benchmarks.bare import bare_svg
from tests.benchmarks.clock import Row, least_s

_ROUNDS = 3
_DEMO = "ilse-marchetti"
_FORMAT = FORMATS["id1"]


def measure() -> list[Row]:
    """Return a row for the page alone, and one for all that a saved profile makes it do."""
    words, path = load_words("en"), find_profile(_DEMO)
    job, deck = job_of(open_profile(path).loaded, words), Deck(path, "en", _FORMAT)
    cards = cards_of(job.chart, words).cards
    scenes = [side(card, _FORMAT) for card in cards for side in (face_scene, back_scene)]

    def compared(name: str, most: float, what: str, make: Callable[[], object]) -> Row:
        ours_s, bare_s = least_s(make, lambda: bare_svg(scenes), rounds=_ROUNDS)
        sides = f"{len(scenes)} sides {what}: {ours_s * 1e3:.0f} ms"
        return Row(name, ours_s / bare_s, most, f"{sides}, bare svgwrite {bare_s * 1e3:.0f} ms")

    return [
        compared("preview", 5, "from a given chart", lambda: served_page(job, _FORMAT)),
        compared("preview-saved", 21, "from a profile's text", deck.page),
    ]
