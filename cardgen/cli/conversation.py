"""Asking a person one thing after another on a terminal, or a file piped in."""

import sys
import textwrap
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

import click

from cardgen.cli.speaking import insist as say  # a question is asked however quiet it is
from cardgen.errors import CardgenError

T = TypeVar("T")

EXPLAIN, NOT_KNOWN = "?", "-"
BACK = ("b", "back")
WIDEST = 88
"""Longer lines are hard to read, however wide the terminal is."""


class UnusableError(ValueError):
    """An answer that cannot be: one sentence tells what would be right."""


class EndedError(CardgenError):
    """The answers ended before the questions did."""


class _GoBack(Exception):  # noqa: N818  # a turn of the conversation, not an error
    pass


class Conversation:
    """Questions and answers, of which the last can be taken back.

    To go back, what was asked is run through once more with the answers kept so far, in silence, up
    to the question whose answer was taken back. So what asks must ask the same after the same
    answers, and do nothing else.
    """

    def __init__(self, width: int) -> None:
        """Start one on a terminal of ``width`` columns."""
        self.width = width
        self._kept: list[str] = []
        self._next = 0

    def hold(self, talk: Callable[[], T]) -> T:
        """Return what ``talk`` makes of the answers that it asks for.

        Raises:
            EndedError: there are no more answers.
            click.Abort: the person pressed Ctrl-C.
        """
        while True:
            self._next = 0
            try:
                return talk()
            except _GoBack:
                self._kept.pop()

    def say(self, *paragraphs: str) -> None:
        """Tell ``paragraphs``, wrapped to the terminal, after a blank line."""
        self.show(["", *(line for text in paragraphs for line in self._wrapped(text))])

    def show(self, lines: Iterable[str]) -> None:
        """Tell ``lines`` as they are."""
        if self._next < len(self._kept):
            return
        for line in lines:
            say(line)

    def ask(
        self,
        question: str,
        label: str,
        read: Callable[[str], T],
        *,
        more: str,
        unknown: str,
        preset: T | None = None,
        shown: Callable[[T], str] = str,
    ) -> T | None:
        """Return what ``read`` makes of the answer to ``question``, None if it is not known.

        ``read`` raises UnusableError for an answer that cannot be, and the question comes again.
        Nothing but Enter means ``preset``, or where there is none, not known: ``unknown`` says what
        counts then. ``more`` explains the question to who asks.
        """
        if self._next < len(self._kept):
            self._next += 1
            return self._value(self._kept[self._next - 1], read, preset)
        enter = unknown if preset is None else shown(preset)
        self.say(question)
        while True:
            text = self._answer(f"  {label} [{enter}]")
            if text == EXPLAIN:
                self._reply(more)
            elif text.casefold() in BACK:
                if self._kept:
                    raise _GoBack
                self._reply("This is the first question.")
            else:
                try:
                    value = self._value(text, read, preset)
                except UnusableError as error:
                    self._reply(str(error))
                    continue
                self._kept.append(text)
                self._next += 1
                return value

    def choose(
        self,
        question: str,
        options: Sequence[tuple[str, str]],
        *,
        more: str,
        unknown: str = "",
        preset: str | None = None,
    ) -> str | None:
        """Return one of ``options``, each a word and what it means, or None if it is not known.

        An answer is the number of an option, or the beginning of its word.
        """
        words = [word for word, _ in options]

        def read(text: str) -> str:
            folded = text.casefold()
            if folded in words:
                return folded
            numbered = {str(number): word for number, word in enumerate(words, 1)}
            if folded in numbered:
                return numbered[folded]
            found = [word for word in words if word.startswith(folded)]
            if len(found) != 1:
                raise UnusableError(f"Answer 1 to {len(words)}, or {_either(words)}.")
            return found[0]

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
        text = "\n".join([question, *listed])
        return self.ask(text, "choice", read, more=more, unknown=unknown, preset=preset)

    def agree(self, question: str, *, more: str, preset: bool) -> bool:
        """Return whether the answer to ``question`` is yes; Enter means ``preset``."""

        def read(text: str) -> bool:
            found = {"y": True, "yes": True, "n": False, "no": False}.get(text.casefold())
            if found is None:
                raise UnusableError("Answer yes or no.")
            return found

        answer = self.ask(
            question,
            "yes or no",
            read,
            more=more,
            unknown="",
            preset=preset,
            shown=lambda yes: "yes" if yes else "no",
        )
        return preset if answer is None else answer

    @property
    def columns(self) -> int:
        """How many columns a text may fill."""
        return max(min(self.width - 1, WIDEST), 16)

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


def _either(words: Sequence[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} or {last}"
