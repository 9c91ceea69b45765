"""One leave as a few students shoot it, side by side, and why each of them stands elsewhere."""

from collections.abc import Sequence
from dataclasses import dataclass

from cardgen.cards.card import Call, Card, card_of, leave_label
from cardgen.cards.clinic import Pupil, manner_text
from cardgen.cards.whyelsewhere import (
    Thrown,
    against,
    lanes_alike,
    reasons,
    reasons_of_hand,
    thrown_of,
)
from cardgen.cards.words import Words
from cardgen.errors import UsageError
from cardgen.lane.rack import Leave

LETTERS = "ABCD"
"""More lanes side by side are too narrow to read."""
_MINUS = "−"


@dataclass(frozen=True, eq=False)
class OneWay:
    """One student's way: the card's texts and its lane, the sum of the stand, and the reasons.

    ``sum`` are labels with boards, the stand last; ``against`` heads the ``reasons``.
    """

    letter: str
    name: str
    manner: str
    card: Card
    calls: tuple[Call, Call]
    sum: tuple[tuple[str, str], ...]
    against: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Ways:
    """The page: ``oil`` tells whether the lanes are alike, ``lead`` how to read the sums."""

    title: str
    beside: str
    lead: str
    oil: str
    ways: tuple[OneWay, ...]
    cautions: str


def ways_of(pupils: Sequence[Pupil], leave: Leave, title: str, words: Words) -> Ways:
    """Return the page of ``leave`` for two to four students; ``title`` is the roster's.

    Raises:
        UsageError: there are fewer or more, or one of them has no line for the leave.
    """
    if not 2 <= len(pupils) <= len(LETTERS):
        raise UsageError(
            f"{leave}: two to {len(LETTERS)} students go side by side, not {len(pupils)}"
        )
    lines = []
    for letter, pupil in zip(LETTERS, pupils, strict=False):
        line = next((line for line in pupil.chart.lines if line.leave == leave), None)
        if line is None:
            # No name: messages may be seen by others than the coach.
            raise UsageError(f"{leave}: the chart of student {letter} has no line for it")
        lines.append(line)
    thrown = [
        thrown_of(letter, pupil.chart, line)
        for letter, pupil, line in zip(LETTERS, pupils, lines, strict=False)
    ]
    same = all(lanes_alike(thrown[0].lane, other.lane) for other in thrown[1:])
    return Ways(
        title=words("clinic.ways_title", leave=leave_label(leave, words)),
        beside=title,
        lead=words("clinic.ways_lead"),
        oil=words("clinic.oil_same") if same else words("clinic.oil_other"),
        ways=tuple(
            _way(pupil, own, thrown, words) for pupil, own in zip(pupils, thrown, strict=True)
        ),
        cautions=words("forms.cautions"),
    )


def _way(pupil: Pupil, own: Thrown, thrown: Sequence[Thrown], words: Words) -> OneWay:
    card = card_of(own.line, pupil.chart, words)
    bowler, parts = own.bowler, own.parts
    others = [other for other in thrown if other is not own]
    of_hand = [other for other in others if other.bowler.hand is bowler.hand]
    other = (of_hand or others)[0]
    why = tuple(reasons(own, other, words) if of_hand else reasons_of_hand(own, other, words))
    return OneWay(
        letter=own.letter,
        name=pupil.name,
        manner=manner_text(bowler, words),
        card=card,
        calls=(card.stand, card.target),
        sum=(
            (words("clinic.sum_laydown"), words.number(parts.laydown, 1)),
            *(
                (label, _signed(part, words))
                for label, part in (
                    (words("clinic.sum_gap"), parts.gap),
                    (words("clinic.sum_drift"), parts.drift),
                    (words("clinic.sum_walk"), parts.walk),
                )
            ),
            (words("table.stand"), words.number(parts.stand, 1)),
        ),
        against=against(own, other, words)
        if of_hand
        else words("clinic.against_hand", letter=other.letter),
        reasons=why or (words("clinic.as_other", letter=other.letter),),
    )


def _signed(boards: float, words: Words) -> str:
    sign = "" if not round(boards, 1) else f"{_MINUS}\u00a0" if boards < 0 else "+\u00a0"
    return f"{sign}{words.number(abs(boards), 1)}"
