"""What is said of the lines that a fit has changed."""

from collections.abc import Sequence
from dataclasses import dataclass

from cardgen.cards.card import board_text, leave_label
from cardgen.cards.words import Words
from cardgen.profile.bowler import KnownLine
from cardgen.targeting.changes import Change
from cardgen.targeting.line import Line


@dataclass(frozen=True)
class ChangesPage:
    """The lines that are others now; ``rows``: the leave, its line before, and the new one."""

    title: str
    intro: str
    rows: tuple[tuple[str, str, str], ...]


def changes_page(changes: Sequence[Change], words: Words) -> ChangesPage:
    """Return the page of ``changes``."""
    return ChangesPage(words("changes.title"), words("changes.intro"), change_rows(changes, words))


def change_rows(changes: Sequence[Change], words: Words) -> tuple[tuple[str, str, str], ...]:
    """Return each change as the leave, its line before, and the new one."""
    return tuple(
        (
            leave_label(change.leave, words),
            _call(change.old, words),
            words("changes.now", call=_call(change.new, words)),
        )
        for change in changes
    )


def _call(line: Line | KnownLine, words: Words) -> str:
    return words(
        "changes.call",
        ball=words(f"balls.{line.ball}"),
        stand=board_text(line.stand),
        target=board_text(line.target),
    )
