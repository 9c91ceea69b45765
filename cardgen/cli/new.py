"""``cardgen new``."""

import os
import shutil
import sys
from collections.abc import Iterator, Mapping
from itertools import count
from pathlib import Path

import click

from cardgen.atomicfile import refuse_to_bury, write_whole
from cardgen.cli.conversation import Conversation, EndedError, UnusableError
from cardgen.cli.interview import interview, summary
from cardgen.cli.lanesketch import strokes_for
from cardgen.cli.options import force_option
from cardgen.cli.speaking import advise, insist, say, show, typed
from cardgen.errors import CardgenError, InputError, OutputError, UsageError
from cardgen.filenames import safe_stem
from cardgen.formsource import read_form
from cardgen.press import check_file
from cardgen.profile.composing import composed, fault_of
from cardgen.profile.intake import profile_text_of
from cardgen.resources import YAML_SUFFIXES
from cardgen.yamlsource import Value, parse_yaml

_NAMELESS = "New bowler"
_GREETING = (
    "This makes the profile of a bowler. It takes some twenty questions and five minutes; 'you' is "
    "the bowler.",
    "Enter skips a question: what is not known gets a default, and the cards say so. ? explains a "
    "question, b goes back to the one before, Ctrl-C stops. Nothing is written before the end.",
)
_FROM_FORM = "In brackets stand the answers of the form: Enter keeps one, - takes it away."


@click.command()
@click.argument(
    "path", metavar="[FILE.yaml]", required=False, type=click.Path(path_type=Path, dir_okay=False)
)
@click.option(
    "--form",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Take the answers from an intake form (PDF) that was filled in.",
)
@click.option("--ask", is_flag=True, help="With --form: ask too, starting from its answers.")
@force_option
def command(path: Path | None, form: Path | None, ask: bool, force: bool) -> None:
    """Write a new profile, from answers to questions or from an intake form.

    Without --form it asks, one question after another. Nothing is written unless every answer is
    right and you say so at the end; a form is left as it is.
    """
    if path is not None and path.suffix not in YAML_SUFFIXES:
        raise UsageError(f"{path}: name a file that ends in {' or '.join(YAML_SUFFIXES)}")
    if form is not None and not ask:
        if path is None:
            raise UsageError("name the profile to write, such as ana.yaml, or give --ask as well")
        write_whole(path, profile_text_of(read_form(form)).encode(), force=force)
        show(path)
        advise(f"Next: {typed('make', path)}")
        return
    if path is not None:
        refuse_to_bury(path, force=force)
    preset: dict[str, Value] = {}
    if form is not None:
        preset = dict(_flat(parse_yaml(profile_text_of(read_form(form)), "").value))
    written = _written(_Asked(path, preset, force=force))
    show(written)
    _tell_next(written)


class _Asked:
    """What the person is asked: a profile, and where it goes."""

    def __init__(self, path: Path | None, preset: Mapping[str, Value], *, force: bool) -> None:
        self.path = path
        self.preset = preset
        self.force = force
        self.talk = Conversation(shutil.get_terminal_size().columns)

    def profile(self) -> tuple[dict[str, Value], Path]:
        """Return what was answered, and the file to write it to.

        Raises CardgenError if it is not to be written.
        """
        self.talk.say(*_GREETING, *([_FROM_FORM] if self.preset else []))
        return self.talk.hold(self._profile)

    def _profile(self) -> tuple[dict[str, Value], Path]:
        strokes = strokes_for(getattr(sys.stderr, "encoding", None), os.environ)
        name = _NAMELESS if self.path is None else _name_in(self.path)
        given = interview(self.talk, self.preset, name=name, strokes=strokes)
        path = self.path
        if path is None:
            path = self._called(_free(safe_stem(str(given["bowler"]))))
        self.talk.say("This is the profile:")
        self.talk.show(f"  {line}" for line in summary(given, self.talk.columns - 2))
        if not self.talk.agree(
            f"Write it to {path}?",
            more="It is a text file that any editor opens; every line in it says what it means. No "
            "ends here and writes nothing, b goes back to the last question.",
            preset=True,
        ):
            raise CardgenError("nothing was written")
        return given, path

    def instead(self, error: CardgenError) -> Path | None:
        """Ask for another file than the one that could not be written; None to give up."""
        insist(str(error))
        talk = Conversation(self.talk.width)
        return talk.hold(
            lambda: talk.ask(
                "Which file shall it be instead?",
                "file",
                self._file,
                more="Your answers are still here. Enter gives them up.",
                unknown="none",
            )
        )

    def _called(self, preset: Path) -> Path:
        name = self.talk.ask(
            "What shall the file be called?",
            "file",
            self._file,
            more="A name that ends in .yaml. It goes into the folder where you are now, unless you "
            "name another.",
            unknown="",
            preset=preset,
        )
        return preset if name is None else name

    def _file(self, text: str) -> Path:
        if not text.isprintable():
            raise UnusableError("Name a file with characters that can be printed.")
        path = Path(text)
        if not path.suffix:
            path = path.with_name(f"{path.name}.yaml") if path.name else path
        if path.suffix not in YAML_SUFFIXES:
            raise UnusableError(f"Name a file that ends in {' or '.join(YAML_SUFFIXES)}.")
        try:
            refuse_to_bury(path, force=self.force)
        except UsageError as error:
            raise UnusableError(f"{error}.") from None
        return path


def _written(asked: _Asked) -> Path:
    """Return the file to which the answers were written.

    Five minutes of answers are not lost to a full disk or a locked file: another file is asked for.
    """
    given, path = asked.profile()
    data = composed(given).encode()
    while True:
        try:
            write_whole(path, data, force=asked.force)
            return path
        except (OutputError, UsageError) as error:
            try:
                another = asked.instead(error)
            except EndedError:
                another = None
            if another is None:
                raise
            path = another


def _tell_next(path: Path) -> None:
    """Say what is odd about the new profile, if anything is, and what to do with it."""
    try:
        for warning in check_file(str(path)):
            say(str(warning))
    except InputError as error:  # a name that no font here can print: a font will help
        say(str(error))
    say(f"Next: {typed('make', path)}")


def _name_in(path: Path) -> str:
    """Return what a bowler may be called whose profile is to be ``path``."""
    name = path.stem.replace("-", " ").replace("_", " ").strip().title()
    return _NAMELESS if fault_of("bowler", name) else name


def _free(stem: str) -> Path:
    """Return a file name that nothing has yet."""
    names = (f"{stem}{'' if n == 1 else f'-{n}'}.yaml" for n in count(1))
    return next(path for name in names if not os.path.lexists(path := Path(name)))


def _flat(value: Value, *above: str) -> Iterator[tuple[str, Value]]:
    """Yield each value within ``value`` by its dotted path; lists stay whole."""
    if not isinstance(value, dict):
        yield ".".join(above), value
        return
    for key, inner in value.items():
        yield from _flat(inner, *above, key)
