"""What is said of the few lines to remember, on paper and on a terminal."""

from collections.abc import Iterator
from dataclasses import dataclass

from cardgen.cards.card import board_text, leave_label
from cardgen.cards.words import Words
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.targeting.chart import Chart
from cardgen.targeting.fewer import FewLine, FewLines

_RARE = 0.01  # of the spares a bowler faces: who sees one evening in ten need not learn it
_NEARLY_ALL = 99  # in 100: what more lines add from here on nobody would notice


@dataclass(frozen=True)
class FewRow:
    """A line to remember; ``usual`` are its leaves where there is no room for all of them."""

    stand: str
    target: str
    ball: str
    leaves: str
    usual: str


@dataclass(frozen=True)
class FewPage:
    """The lines to remember under headings; ``notes`` tell what other counts of lines keep."""

    title: str
    intro: str
    headings: tuple[str, str]
    rows: tuple[FewRow, ...]
    notes: tuple[str, ...]


def few_page(few: FewLines, chart: Chart, words: Words) -> FewPage:
    """Return the page of ``few``, the lines to remember of ``chart``."""
    count = len(few.lines)
    return FewPage(
        title=words("few.title"),
        intro=words(
            "few.intro_one" if count == 1 else "few.intro",
            count=count,
            kept=_kept_text(few, count - 1, words),
        ),
        headings=(words("card.stand"), words("card.target")),
        rows=tuple(_row(line, chart, words) for line in few.lines),
        notes=(*own_text(chart, words), curve_text(few, words), words("few.cards")),
    )


def few_rows(few: FewLines, words: Words) -> tuple[tuple[str, ...], ...]:
    """Return each line as stand, target, ball and the leaves that it serves."""
    return tuple(
        (
            board_text(line.stand),
            board_text(line.target),
            words(f"table.{line.ball}"),
            _listed([served.leave for served in line.serves], words),
        )
        for line in few.lines
    )


def own_text(chart: Chart, words: Words) -> tuple[str, ...]:
    """Return the sentence that tells which lines of the bowler's own stay; none without any."""
    own = [
        words(
            "few.own_line",
            leave=leave_label(line.leave, words).replace(" ", "\u00a0"),
            stand=board_text(line.stand),
            target=board_text(line.target),
        )
        for line in chart.lines
        if line.known and line.leave != FULL_RACK
    ]
    return (words("few.own", lines=words.listed(own)),) if own else ()


def curve_text(few: FewLines, words: Words) -> str:
    """Return what one line, two and so on keep of what all lines make, in a sentence."""
    return words("few.curve", kept=words.listed(_curve(few, words)))


def _curve(few: FewLines, words: Words) -> Iterator[str]:
    for k, kept in enumerate(few.kept):
        text = _kept_text(few, k, words)
        if k == 0:
            yield words("few.curve_first", kept=text)
        else:
            yield words("few.curve_next", count=k + 1, kept=text)
        if _hundredths(kept) >= _NEARLY_ALL:
            return


def _kept_text(few: FewLines, k: int, words: Words) -> str:
    kept = f"{_hundredths(few.kept[k])}"
    return kept if few.exact[k] else words("few.at_least", kept=kept)


def _hundredths(kept: float) -> int:
    """Return a share in hundredths, which is 100 only where nothing is lost."""
    return 100 if kept >= 1 - 1e-9 else min(round(100 * kept), 99)


def _row(line: FewLine, chart: Chart, words: Words) -> FewRow:
    shares = {} if chart.first_ball is None else chart.first_ball.shares
    leaves = [served.leave for served in line.serves]
    usual = [leave for leave in leaves if shares.get(leave, 0.0) >= _RARE] or leaves[:1]
    rarer = len(leaves) - len(usual)
    everything = _kept_whole(leaves, words)
    return FewRow(
        board_text(line.stand),
        board_text(line.target),
        words(f"balls.{line.ball}"),
        everything,
        words("few.rarer", leaves=_kept_whole(usual, words), count=rarer)
        if rarer > 1
        else everything,
    )


def _listed(leaves: list[Leave], words: Words) -> str:
    return words.listed(leave_label(leave, words) for leave in leaves)


def _kept_whole(leaves: list[Leave], words: Words) -> str:
    """Return leaves as a list that breaks only between them."""
    return words.listed(leave_label(leave, words).replace(" ", "\u00a0") for leave in leaves)
