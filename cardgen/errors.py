"""What can go wrong, as values: each error knows its exit code and prints as one clear text."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar


class CardgenError(Exception):
    """Something asked for was not made though the input was fine."""

    exit_code: ClassVar[int] = 1


class OutputError(CardgenError):
    """A file could not be written; whatever stood there before still stands."""

    exit_code: ClassVar[int] = 3


@dataclass(frozen=True, order=True)
class Problem:
    """One thing wrong in one place of the user's input.

    ``line`` and ``column`` count from 1, as editors do; ``where`` is the dotted path of the field.
    ``excerpt`` is the line, or the part of it that has the problem after ``caret`` columns.
    """

    source: str
    line: int | None
    column: int | None
    where: str
    message: str
    excerpt: str | None = None
    caret: int = 0
    hint: str | None = None

    def __str__(self) -> str:
        """Return ``file:line:column: field: what is wrong``, the line itself, and a hint."""
        place = ":".join(str(p) for p in (self.source, self.line, self.column) if p is not None)
        text = ": ".join(p for p in (place, self.where, self.message) if p)
        if self.excerpt is not None:
            text += f"\n    {self.excerpt}\n    {' ' * self.caret}^"
        if self.hint:
            text += f"\n  hint: {self.hint}"
        return text


class InputError(CardgenError):
    """The user's input is wrong in one or more places, all of them listed."""

    exit_code: ClassVar[int] = 2

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep ``problems`` in the order in which they stand in the input."""
        self.problems = tuple(
            sorted(problems, key=lambda p: (p.source, p.line or 0, p.column or 0, p.where))
        )
        super().__init__("\n".join(map(str, self.problems)))

    def __reduce__(self) -> tuple[type["InputError"], tuple[tuple[Problem, ...]]]:
        """Travel between processes as the problems, not as their text."""
        return InputError, (self.problems,)


class UsageError(CardgenError):
    """The command line asks for something that does not exist or cannot be combined."""

    exit_code: ClassVar[int] = 2
