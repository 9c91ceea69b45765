"""``cardgen new``."""

import os
import shutil
import sys
import textwrap
from collections.abc import Iterator, Mapping
from itertools import count
from pathlib import Path

import click

from cardgen.atomicfile import refuse_to_bury, write_whole
from cardgen.cli.answers import UnusableError, yes_or_no
from cardgen.cli.conversation import Conversation, EndedError
from cardgen.cli.interview import interview, line_topic, lines_of
from cardgen.cli.lanesketch import strokes_for
from cardgen.cli.options import force_option
from cardgen.cli.speaking import advise, insist, say, show, stage, typed
from cardgen.cli.summary import rows_of, summary
from cardgen.errors import CardgenError, InputError, OutputError, UsageError
from cardgen.filenames import safe_stem
from cardgen.formsource import read_form
from cardgen.lane.rack import Leave
from cardgen.press import check_file, doubts_of
from cardgen.profile.bowler import bowler_of
from cardgen.profile.composing import composed, fault_of
from cardgen.profile.intake import profile_text_of
from cardgen.profile.loader import read_profile
from cardgen.resources import YAML_SUFFIXES
from cardgen.targeting.chart import chart_for
from cardgen.yamlsource import Value, parse_yaml

_NAMELESS = "New bowler"
_PURPOSE = (
    "This makes the profile of a bowler. It takes some twenty questions and five minutes; 'you' is "
    "the bowler."
)
_FROM_FORM = (
    "This makes the profile of a bowler. What the form says is taken as it is, and only the rest "
    "is asked; 'you' is the bowler."
)
_GREETING = (
    "Enter takes what stands in brackets; what is not known gets a default, and the cards say so. "
    "? explains a question, b goes back to the one before, Ctrl-C stops. At the end all answers "
    "are shown and each can be changed; nothing is written before."
)


@click.command()
@click.argument(
    "path", metavar="[FILE.yaml]", required=False, type=click.Path(path_type=Path, dir_okay=False)
)
@click.option(
    "--form",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Take the answers from an intake form (PDF) that was filled in.",
)
@click.option("--ask", is_flag=True, help="With --form: ask what the form leaves open.")
@force_option
def command(path: Path | None, form: Path | None, ask: bool, force: bool) -> None:
    """Write a new profile, from answers to questions or from an intake form.

    Without --form it asks, one question after another. Nothing is written unless every answer is
    right and you say so at the end; a form is left as it is.
    """
    if path is not None and path.suffix not in YAML_SUFFIXES:
        hint = "" if path.suffix else f", such as {path}{YAML_SUFFIXES[0]}"
        raise UsageError(f"{path}: name a file that ends in {' or '.join(YAML_SUFFIXES)}{hint}")
    if ask and form is None:
        raise UsageError("--ask goes with --form: without a form everything is asked anyway")
    if form is not None and not ask:
        if path is None:
            raise UsageError("name the profile to write, such as ana.yaml, or give --ask as well")
        write_whole(path, composed(_said_by(form, whole=True)).encode(), force=force)
        show(path)
        advise(f"Next: {typed('make', path)}")
        return
    if path is not None:
        refuse_to_bury(path, force=force)
    preset = {} if form is None else _said_by(form, whole=False)
    written = _written(_Asked(path, preset, force=force))
    show(written)
    _tell_next(written)


class _Asked:
    """What the person is asked: a profile, and where it goes."""

    def __init__(self, path: Path | None, preset: Mapping[str, Value], *, force: bool) -> None:
        self.path = path
        self.preset = preset
        self.force = force
        self.talk = Conversation(_columns)

    def profile(self) -> tuple[dict[str, Value], Path]:
        """Return what was answered, and the file to write it to.

        Raises CardgenError if it is not to be written.
        """
        self.talk.say(_FROM_FORM if self.preset else _PURPOSE, _GREETING)
        return self.talk.hold(self._profile)

    def _profile(self) -> tuple[dict[str, Value], Path]:
        strokes = strokes_for(getattr(sys.stderr, "encoding", None), os.environ)
        name = _NAMELESS if self.path is None else _name_in(self.path)
        given = interview(self.talk, self.preset, name=name, strokes=strokes)
        path = self.path
        if path is None:
            path = self._called(_free(safe_stem(str(given["bowler"]))))
        if not self._agreed(given, path):
            raise CardgenError("nothing was written")
        return given, path

    def _agreed(self, given: Mapping[str, Value], path: Path) -> bool:
        """Show what was answered, change what is to be changed, and return whether to write it."""
        talk = self.talk
        rows = rows_of(given, talk.topics)
        talk.say("This is the profile:")
        talk.show(f"  {line}" for line in summary(rows, talk.columns - 2))
        if doubts := _doubts(given, path.parent):
            places = {row.topic: number for number, row in enumerate(rows, 1)}
            talk.say(*(f"Row {places[line_topic(leave)]}: {why}" for leave, why in doubts))

        topics = {str(number): row.topic for number, row in enumerate(rows, 1)}

        def read(text: str) -> bool | str:
            if text in topics:
                return topics[text]
            try:
                return yes_or_no(text)
            except UnusableError:
                message = f"Answer yes, no, or the number of a row, 1 to {len(rows)}."
                raise UnusableError(message) from None

        yes: bool | str = True
        answer = talk.ask(
            f"Write it to {path}? To change something, give the number of its row.",
            "yes, no or number",
            read,
            more="It is a text file that any editor opens; every line in it says what it means. No "
            "ends here and writes nothing, b goes back to the last question. A number asks for "
            "that row once more: Enter leaves it as it is, - takes it away.",
            unknown="",
            preset=yes,
            shown=lambda _: "yes",
        )
        if isinstance(answer, str):
            talk.change(answer)
        return answer is not False

    def instead(self, error: CardgenError) -> Path | None:
        """Ask for another file than the one that could not be written; None to give up."""
        insist(str(error))
        talk = Conversation(_columns)
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
            topic="file",
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
            if not warning.where.startswith("known_lines"):  # told by its row before
                say(str(warning))
    except InputError as error:  # a name that no font here can print: a font will help
        say(str(error))
    kept = "Any text editor opens the profile; its comments tell what can be added."
    for line in textwrap.wrap(kept, max(_columns() - 1, 1)):
        say(line)
    say(f"Next, a sheet of the main lines:\n  {typed('make', path)}")
    say(f"or a booklet of all that come often:\n  {typed('make', path, '--as', 'booklet')}")


def _name_in(path: Path) -> str:
    """Return what a bowler may be called whose profile is to be ``path``."""
    name = path.stem.replace("-", " ").replace("_", " ").strip().title()
    return _NAMELESS if fault_of("bowler", name) else name


def _free(stem: str) -> Path:
    """Return a file name that nothing has yet."""
    names = (f"{stem}{'' if n == 1 else f'-{n}'}.yaml" for n in count(1))
    return next(path for name in names if not os.path.lexists(path := Path(name)))


def _columns() -> int:
    return shutil.get_terminal_size().columns


def _said_by(form: Path, *, whole: bool) -> dict[str, Value]:
    """Return what a form says, by dotted path of the profile's fields; ``whole``, it is one."""
    return dict(_flat(parse_yaml(profile_text_of(read_form(form), whole=whole), "").value))


def _doubts(given: Mapping[str, Value], folder: Path) -> tuple[tuple[str, str], ...]:
    """Return the leave of each known line that misses by the profile's own numbers, and why."""
    if not lines_of(given):
        return ()
    loaded = read_profile(parse_yaml(composed(given), ""), folder)
    leaves = [Leave.parse(line.leave) for line in loaded.profile.known_lines]
    with stage("try the known lines", "trying your lines"):
        doubts = doubts_of(chart_for(bowler_of(loaded), leaves))
    parts = (doubt.partition(": ") for doubt in doubts)
    return tuple((leave, f"{why}.") for leave, _, why in parts)


def _flat(value: Value, *above: str) -> Iterator[tuple[str, Value]]:
    """Yield each value within ``value`` by its dotted path; lists stay whole."""
    if not isinstance(value, dict):
        yield ".".join(above), value
        return
    for key, inner in value.items():
        yield from _flat(inner, *above, key)
