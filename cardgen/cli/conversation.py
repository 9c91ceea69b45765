"""Asking a person one thing after another on a terminal, or a file piped in."""

import sys
import textwrap
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum, auto
from typing import NoReturn, TypeVar

import click

from cardgen.cli.answers import UnusableError, one_of, yes_or_no
from cardgen.cli.speaking import insist as say  # a question is asked however quiet it is
from cardgen.errors import CardgenError

T = TypeVar("T")

EXPLAIN = ("?", "help")
BACK = ("b", "back", "undo")
STOP = ("quit", "exit")
NOT_KNOWN = "-"
SKIP = ("skip", "none", "unknown")
WIDEST = 88
"""Longer lines are hard to read, however wide the terminal is."""


class EndedError(CardgenError):
    """The answers ended before the questions did."""


class _Told(Enum):
    """What becomes of a text if the question after it is not asked."""

    TITLE = auto()  # it stands until the next title
    LASTING = auto()
    PASSING = auto()  # it is not told


class _AskAgain(Exception):  # noqa: N818  # a turn of the conversation, not an error
    pass


@dataclass(frozen=True)
class _Answer:
    """An answer as it was typed; ``key`` tells its question from all others of the conversation."""

    key: tuple[str, int]
    topic: str
    text: str
    typed: bool


class Conversation:
    """Questions and answers, any of which can be taken back.

    To take one back, what was asked is run through once more with the answers kept so far, in
    silence, up to the question whose answer was taken back. So what asks must ask the same after
    the same answers, and do nothing else. The answers that came after it are not lost: each stands
    in the brackets of its question, or counts unasked where only one topic was to be changed.
    """

    def __init__(self, width: Callable[[], int]) -> None:
        """Start one on a terminal of ``width()`` columns; a window may change its size."""
        self._width = width
        self._kept: list[_Answer] = []
        self._next = 0
        self._asked: Counter[str] = Counter()
        self._earlier: dict[tuple[str, int], str] = {}
        self._taken_back: tuple[str, int] | None = None
        self._changing: str | None = None
        self._untold: list[tuple[str, _Told]] = []

    @property
    def topics(self) -> tuple[str, ...]:
        """The topics of what was answered, in the order of the questions."""
        return tuple(dict.fromkeys(answer.topic for answer in self._kept))

    def hold(self, talk: Callable[[], T]) -> T:
        """Return what ``talk`` makes of the answers that it asks for.

        Raises:
            EndedError: there are no more answers.
            click.Abort: the person pressed Ctrl-C.
        """
        while True:
            self._next = 0
            self._asked.clear()
            try:
                made = talk()
            except _AskAgain:
                self._untold.clear()
            else:
                self._tell()
                return made

    def change(self, topic: str) -> NoReturn:
        """Ask what is of ``topic`` again, and then come back to the question answered last.

        It is one that chose ``topic``, one of ``topics``. What else was answered counts as it is;
        what was not asked before is asked.
        """
        self._kept.pop()
        self._take_back(next(n for n, answer in enumerate(self._kept) if answer.topic == topic))
        self._changing = topic
        raise _AskAgain

    def head(self, title: str) -> None:
        """Tell what the next questions are about, if any of them is asked."""
        self._untold = [told for told in self._untold if told[1] is not _Told.TITLE]
        self._add(["", f"== {title} =="], _Told.TITLE)

    def say(self, *paragraphs: str) -> None:
        """Tell ``paragraphs``, wrapped to the terminal, after a blank line."""
        self._add(
            ["", *(line for text in paragraphs for line in self._wrapped(text))], _Told.LASTING
        )

    def show(self, lines: Iterable[str]) -> None:
        """Tell ``lines`` as they are, if the question after them is asked."""
        self._add(lines, _Told.PASSING)

    def ask(
        self,
        question: str,
        label: str,
        read: Callable[[str], T],
        *,
        more: str,
        unknown: str,
        topic: str = "",
        preset: T | None = None,
        settled: bool = False,
        shown: Callable[[T], str] = str,
    ) -> T | None:
        """Return what ``read`` makes of the answer to ``question``, None if it is not known.

        ``read`` raises UnusableError for an answer that cannot be, and the question comes again.
        Nothing but Enter means ``preset``, or where there is none, not known: ``unknown`` says what
        counts then. ``more`` explains the question to who asks. One that is ``settled`` is asked
        only if its ``topic`` is to be changed.
        """
        first_line = question.partition("\n")[0]
        self._asked[first_line] += 1
        key = (first_line, self._asked[first_line])
        if self._next < len(self._kept):
            self._next += 1
            return self._value(self._kept[self._next - 1].text, read, preset)
        value, earlier = self._earlier_of(key, read, preset, optional=bool(unknown))
        changing = self._changing not in (None, topic)
        settled = settled and topic != self._changing and key != self._taken_back
        if settled or (changing and earlier is not None):
            self._keep(_Answer(key, topic, earlier or "", typed=False))
            dropped = tuple(_Told) if changing else (_Told.PASSING,)
            self._untold = [told for told in self._untold if told[1] not in dropped]
            return value
        enter = unknown if value is None else shown(value)
        self.say(question)
        self._tell()
        while True:
            text = self._answer(f"  {label} [{enter}]")
            if text.casefold() in EXPLAIN:
                self._reply(more)
            elif text.casefold() in STOP:
                self._reply("Press Ctrl-C to stop; nothing is written then.")
            elif text.casefold() in BACK:
                self._go_back(topic)
            else:
                if unknown and text.casefold() in SKIP:
                    text = NOT_KNOWN
                text = text or earlier or ""
                try:
                    value = self._value(text, read, preset)
                except UnusableError as error:
                    self._reply(str(error))
                    continue
                self._keep(_Answer(key, topic, text, typed=True))
                return value

    def _earlier_of(
        self,
        key: tuple[str, int],
        read: Callable[[str], T],
        preset: T | None,
        *,
        optional: bool,
    ) -> tuple[T | None, str | None]:
        """Return what Enter means, and the answer given before, if that is still one."""
        text = self._earlier.get(key)
        if text is None:
            return preset, None
        if text == NOT_KNOWN and not optional:
            return preset, ""
        try:
            return self._value(text, read, preset), text
        except UnusableError:
            return preset, None

    def _keep(self, answer: _Answer) -> None:
        self._kept.append(answer)
        self._next += 1
        self._earlier.pop(answer.key, None)

    def _go_back(self, topic: str) -> None:
        """Ask once more what was asked before a question of ``topic``, if anything was."""
        typed = [number for number, answer in enumerate(self._kept) if answer.typed]
        if not typed:
            self._reply("This is the first question.")
            return
        before = self._kept[typed[-1]]
        self._take_back(typed[-1])
        self._taken_back = before.key
        # Who goes back while he changes something changes what he went back to, and nothing else.
        self._changing = before.topic if self._changing == topic else None
        raise _AskAgain

    def _take_back(self, first: int) -> None:
        self._earlier |= {answer.key: answer.text for answer in self._kept[first:]}
        del self._kept[first:]

    def _add(self, lines: Iterable[str], told: _Told) -> None:
        if self._next >= len(self._kept):
            self._untold += [(line, told) for line in lines]

    def _tell(self) -> None:
        for line, _ in self._untold:
            say(line)
        self._untold.clear()

    def choose(
        self,
        question: str,
        options: Sequence[tuple[str, str]],
        *,
        more: str,
        unknown: str = "",
        topic: str = "",
        preset: str | None = None,
        settled: bool = False,
    ) -> str | None:
        """Return one of ``options``, each a word and what it means, or None if it is not known.

        An answer is the number of an option, or the beginning of its word.
        """
        listed = [
            line
            for number, (word, meaning) in enumerate(options, 1)
            for line in textwrap.wrap(
                f"{word}: {meaning}" if meaning else word,
                max(self.columns - 1, 1),
                initial_indent=f"  {number}  ",
                subsequent_indent="     ",
            )
        ]
        return self.ask(
            "\n".join([question, *listed]),
            "choice",
            one_of([word for word, _ in options]),
            more=more,
            unknown=unknown,
            topic=topic,
            preset=preset,
            settled=settled,
        )

    def agree(
        self, question: str, *, more: str, preset: bool, topic: str = "", settled: bool = False
    ) -> bool:
        """Return whether the answer to ``question`` is yes; Enter means ``preset``."""
        answer = self.ask(
            question,
            "yes or no",
            yes_or_no,
            more=more,
            unknown="",
            topic=topic,
            preset=preset,
            settled=settled,
            shown=lambda yes: "yes" if yes else "no",
        )
        return preset if answer is None else answer

    @property
    def columns(self) -> int:
        """How many columns a text may fill."""
        return max(min(self._width() - 1, WIDEST), 16)

    @property
    def room(self) -> int:
        """How many columns a drawing may fill."""
        return self._width() - 1

    def _wrapped(self, text: str) -> list[str]:
        """Return ``text`` in lines that fit; after its first line, its lines stay as they are."""
        first, *others = text.split("\n")
        return [*textwrap.wrap(first, self.columns), *others]

    def _reply(self, text: str) -> None:
        for line in textwrap.wrap(text, self.columns, initial_indent="  ", subsequent_indent="  "):
            say(line)

    @staticmethod
    def _value(text: str, read: Callable[[str], T], preset: T | None) -> T | None:
        if not text:
            return preset
        return None if text == NOT_KNOWN else read(text)

    def _answer(self, prompt: str) -> str:
        while True:
            try:
                answer: str = click.prompt(prompt, default="", show_default=False, err=True)
                answer.encode()  # some consoles pass on what they cannot read as half characters
            except UnicodeError:
                self._reply("These characters could not be read; write it with others.")
            except click.Abort as stop:
                # click makes one of both: the person's Ctrl-C, and an end of what was piped in.
                say("")
                if isinstance(stop.__context__, EOFError):
                    message = "the answers ended before the questions did; nothing was written"
                    raise EndedError(message) from None
                raise
            else:
                if not _is_typed():
                    say(answer)
                return answer.strip()


def _is_typed() -> bool:
    """Tell whether answers come from a terminal, which shows them as they are typed."""
    return sys.stdin is not None and sys.stdin.isatty()
