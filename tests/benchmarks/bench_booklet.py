"""How long a booklet takes beside bare reportlab writing its finished pages.

Once from answers that are worked out, and once as a bowler meets it, from the profile's text on.
"""

from collections.abc import Callable

from cardgen.cards.words import load_words
from cardgen.press import Job, job_of, open_profile
from cardgen.profile.loader import find_profile
from tests.benchmarks.bare import bare_pdf
from tests.benchmarks.clock import Row, least_s

_ROUNDS = 3
_DEMO = "ilse-marchetti"


def measure() -> list[Row]:
    """Return a row for the pages alone, and one for all that leads to them."""
    words = load_words("en")

    def asked() -> Job:
        return job_of(open_profile(find_profile(_DEMO)).loaded, words)

    known = asked()
    known = Job(known.loaded, known.answers.worked_out(), words)
    finished = known.booklet()

    def compared(name: str, most: float, what: str, make: Callable[[], object]) -> Row:
        ours_s, bare_s = least_s(
            make, lambda: bare_pdf(finished.scenes, finished.info), rounds=_ROUNDS
        )
        pages = f"{len(finished.scenes)} pages {what}: {ours_s * 1e3:.0f} ms"
        return Row(name, ours_s / bare_s, most, f"{pages}, bare reportlab {bare_s * 1e3:.0f} ms")

    return [
        compared("booklet", 1.6, "from given answers", lambda: known.booklet().pdf()),
        compared("booklet-whole", 14, "from a profile's text", lambda: asked().booklet().pdf()),
    ]
