"""The command line: thin commands that read options, call the press and write files."""

import importlib
import os
import signal
import sys
import threading
from types import FrameType
from typing import Any

import click

from cardgen._version import __version__
from cardgen.cli.speaking import insist, voice_options, with_voice
from cardgen.errors import CardgenError, UsageError

# Help texts stand here so that listing the commands imports none of them.
COMMANDS = {
    "make": "Print booklets, cards, handouts and more.",
    "clinic": "Print a whole class from a roster.",
    "preview": "Show the deck in a browser, anew whenever the profile is saved.",
    "chart": "Show where to stand and look for each leave.",
    "draw": "Draw one card as SVG or PNG.",
    "fit": "Fit a bowler's numbers to shots and known lines.",
    "practice": "Tell what to throw next and what practice wins.",
    "fewer": "Choose the few lines that keep most of the spares.",
    "log": "Print an empty shot log, or turn logs into a table or sheet.",
    "form": "Print the intake form for a new profile.",
    "new": "Write a new profile, from answers or from an intake form.",
    "align": "Keep where each printer lays the back of a sheet.",
    "check": "Check profiles, lane files, shot logs and rosters for mistakes.",
    "schema": "Print the JSON Schema of a profile.",
    "completion": "Print what lets a shell complete what you type.",
}
COMPLETING = "_CARDGEN_COMPLETE"
"""The variable by which a shell asks for completions; click's scripts set it."""
_FIRST = {
    "cardgen make ilse-marchetti": "prints a demo bowler's lines.",
    "cardgen new ana.yaml": "asks for a profile of your own.",
    "cardgen make ana.yaml": "prints its lines.",
}
_INTERRUPTED = 130  # what shells give a command ended by Ctrl-C


class _Commands(click.Group):
    """The commands, each imported only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"cardgen.cli.{cmd_name}").command
        return with_voice(command)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if (name := args[0]) not in COMMANDS:
            from difflib import get_close_matches

            near = get_close_matches(name, COMMANDS, n=1)
            meant = f"; did you mean {near[0]}?" if near else ""
            ctx.fail(f"there is no command {name!r}{meant}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("To begin with"):
            formatter.write_dl(list(_FIRST.items()))

    def invoke(self, ctx: click.Context) -> Any:
        import logging

        logging.getLogger().addHandler(logging.NullHandler())  # or libraries log to the terminal
        _stand_somewhere()
        return super().invoke(ctx)


@click.command(
    cls=_Commands,
    params=voice_options(),
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(__version__, prog_name="cardgen")
def cli() -> None:
    """Pocket-sized coaching cards for ten-pin spare shooting.

    From a YAML profile of a bowler: where to stand, where to look, which ball, how to throw it and
    how far it may miss, for each single pin and for the leaves of several that this bowler faces.
    """


def main(args: list[str] | None = None) -> None:
    """Run the command line and exit: 0 made, 1 not made, 2 bad input or usage, 3 cannot write."""
    if COMPLETING in os.environ:
        from cardgen.cli.completing import complete

        sys.exit(complete(os.environ[COMPLETING]))
    for stream in (sys.stdout, sys.stderr):
        _keep_printing(stream)
    if args is None and not sys.warnoptions:
        _hush_warnings()
    stops = _noted_stops()
    try:
        code = cli.main(args, prog_name="cardgen", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except click.Abort:
        insist("Stopped.")
        sys.exit(_INTERRUPTED)
    except CardgenError as error:
        insist(str(error))
        sys.exit(error.exit_code)
    except Exception:
        if not stops:
            raise
        insist("Stopped.")  # a library has made another error of the Ctrl-C
        sys.exit(_INTERRUPTED)
    sys.exit(code if isinstance(code, int) else 0)


def _stand_somewhere() -> None:
    """Raise UsageError if the folder in which the program runs is gone: libraries stumble on it."""
    from pathlib import Path

    try:
        Path.cwd()
    except OSError:
        raise UsageError(
            "the folder in which you run this is gone; change to another one, and run it again"
        ) from None


def _noted_stops() -> list[int]:
    """Return a list that has something in it once there was a Ctrl-C."""
    stops: list[int] = []

    def stop(number: int, frame: FrameType | None) -> None:
        stops.append(number)
        signal.default_int_handler(number, frame)

    # A shell has a job in the background ignore it.
    heard = signal.getsignal(signal.SIGINT) is not signal.SIG_IGN
    if heard and threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, stop)
    return stops


def _keep_printing(stream: Any) -> None:
    """Write what a console cannot show as an escape, instead of failing on it."""
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="backslashreplace")


def _hush_warnings() -> None:
    """Keep warnings of libraries from the user, in this process and in those it starts.

    They are for programmers, who ask for them with ``python -W``.
    """
    import warnings

    warnings.simplefilter("ignore")
    os.environ.setdefault("PYTHONWARNINGS", "ignore")
