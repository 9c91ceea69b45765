"""What a command says beside its results: to the person, on standard error."""

import copy
import errno
import os
import shlex
import shutil
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from enum import IntEnum
from pathlib import Path
from typing import TypeVar

import click

from cardgen.errors import OutputError

T = TypeVar("T")

_BEGUN = time.perf_counter()
_NAME = "cardgen"
_VOICE, _STANDING = "cardgen.voice", "cardgen.standing"
_WAIT_FOR = 4
"""So many profiles take longer than a second to make."""


class Voice(IntEnum):
    """How much is said beside results and errors."""

    QUIET = 0
    USUAL = 1
    VERBOSE = 2


def voice() -> Voice:
    """Return how much the command that runs is to say."""
    context = click.get_current_context(silent=True)
    return Voice.USUAL if context is None else context.meta.get(_VOICE, Voice.USUAL)


def voice_options() -> list[click.Parameter]:
    """Return ``--quiet`` and ``--verbose``, which count before a command's name and after it."""
    return [
        click.Option(
            ["-q", "--quiet"],
            is_flag=True,
            expose_value=False,
            callback=_set_to(Voice.QUIET),
            help="Say nothing but results and errors.",
        ),
        click.Option(
            ["-v", "--verbose"],
            is_flag=True,
            expose_value=False,
            callback=_set_to(Voice.VERBOSE),
            help="Say also which files are read, how long each step takes, and all notes.",
        ),
    ]


def _set_to(wanted: Voice) -> Callable[[click.Context, click.Parameter, bool], None]:
    def heard(context: click.Context, _: click.Parameter, value: bool) -> None:
        if not value:
            return
        if _VOICE not in context.meta and wanted is Voice.VERBOSE:
            context.call_on_close(_tell_whole_time)
        if context.meta.setdefault(_VOICE, wanted) is not wanted:
            raise click.UsageError("give either --quiet or --verbose, not both", context)

    return heard


def with_voice(command: click.Command) -> click.Command:
    """Return ``command`` with ``--quiet`` and ``--verbose`` after its own options."""
    spoken = copy.copy(command)
    spoken.params = [*command.params, *voice_options()]
    return spoken


def show(result: object, end: str = "\n") -> None:
    """Print a result to standard output, and ``end``: a newline, or nothing.

    Raises:
        BrokenPipeError: who reads it went away.
        OutputError: it cannot be written.
    """
    _clear()
    try:
        click.echo(result, nl=end == "\n")
    except OSError as error:
        with suppress(OSError, ValueError):  # or Python tries again at its end, and complains
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        gone = (errno.EPIPE, errno.EINVAL) if sys.platform == "win32" else (errno.EPIPE,)
        if error.errno in gone:
            raise BrokenPipeError(errno.EPIPE, os.strerror(errno.EPIPE)) from error
        raise OutputError(
            f"standard output: cannot be written: {error.strerror or error}"
        ) from error


def insist(message: str) -> None:
    """Tell the person what went wrong or what is asked, however quiet it is to be."""
    _clear()
    with suppress(OSError):  # who does not listen misses it
        click.echo(message, err=True)


def say(message: str) -> None:
    """Tell the person, not the next program, what there is to know."""
    if voice() > Voice.QUIET:
        insist(message)


def advise(message: str) -> None:
    """Tell a person who sits before a terminal what may come next."""
    if on_terminal() and _is_terminal(sys.stdout):
        say(message)


def detail(message: str) -> None:
    """Tell what only ``--verbose`` asks for."""
    if voice() is Voice.VERBOSE:
        insist(message)


def typed(*words: object) -> str:
    """Return a call of the program as this person types it, quoted for the shell."""
    line = [_program(), *map(str, words)]
    if os.name == "nt":
        from subprocess import list2cmdline

        return list2cmdline(line)
    return shlex.join(line)


def _program() -> str:
    """Return what calls this program: its name, or its path if the name alone would not do."""
    path = Path(sys.argv[0])
    called_by_path = path.stem == _NAME and path.name != sys.argv[0]
    found = shutil.which(_NAME)
    if not called_by_path or (found is not None and Path(found).resolve() == path.resolve()):
        return _NAME
    return sys.argv[0]


def on_terminal() -> bool:
    """Tell whether messages go to a terminal."""
    return _is_terminal(sys.stderr)


def stylish() -> bool:
    """Tell whether results may be emphasised: on a terminal, unless ``NO_COLOR`` is set."""
    plain = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    return not plain and _is_terminal(sys.stdout)


def _is_terminal(stream: object) -> bool:
    return bool(getattr(stream, "isatty", bool)())


@contextmanager
def stage(name: str, waiting: str = "") -> Iterator[None]:
    """Time what is done within; meanwhile ``waiting`` stands on a terminal."""
    begun = time.perf_counter()
    if waiting:
        _stand(f"{waiting} …")
    try:
        yield
    finally:
        if waiting:
            _clear()
        detail(f"{name}: {time.perf_counter() - begun:.2f} s")


def _tell_whole_time() -> None:
    detail(f"in all: {time.perf_counter() - _BEGUN:.2f} s")


def progressing(items: Sequence[T], label: str) -> Iterator[T]:
    """Yield ``items``; on a terminal a bar shows how many are done, or of few that it goes on."""
    if len(items) < _WAIT_FOR:
        for item in items:
            _stand(f"{label} …")
            yield item
        _clear()
        return
    with counting(len(items), label) as done:
        for item in items:
            yield item
            done(1)


@contextmanager
def counting(steps: int, label: str) -> Iterator[Callable[[int], None]]:
    """Yield what hears of steps done; on a terminal a bar shows how many of them there are."""
    context = click.get_current_context(silent=True)
    if context is None or not on_terminal() or voice() is Voice.QUIET:
        yield lambda _: None
        return
    meta = context.meta
    with click.progressbar(length=steps, label=label, file=sys.stderr) as bar:

        def done(count: int) -> None:
            bar.update(count)
            meta[_STANDING] = shutil.get_terminal_size().columns - 1

        meta[_STANDING] = shutil.get_terminal_size().columns - 1
        try:
            yield done
        finally:
            meta.pop(_STANDING, None)


def _stand(text: str) -> None:
    """Show a line that the next message takes away."""
    context = click.get_current_context(silent=True)
    if context is None or not on_terminal() or voice() is not Voice.USUAL:
        return
    click.echo(text, nl=False, err=True)
    context.meta[_STANDING] = len(text)


def _clear() -> None:
    """Take away the line that stands on the terminal, if any does."""
    context = click.get_current_context(silent=True)
    if context is not None and (width := context.meta.pop(_STANDING, 0)):
        click.echo(f"\r{' ' * width}\r", nl=False, err=True)
