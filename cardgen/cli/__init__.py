"""The command line: thin commands that read options, call the press and write files."""

import importlib
import sys
from typing import Any

import click

from cardgen import __version__
from cardgen.errors import CardgenError

# Help texts stand here so that listing the commands imports none of them.
_COMMANDS = {
    "make": "Print booklets, cards, handouts and more as PDF.",
    "chart": "Show where to stand and look for each leave.",
    "draw": "Draw one card as SVG.",
    "fit": "Fit a bowler's numbers to shots and known lines.",
    "practice": "Tell what to throw next and what practice wins.",
    "fewer": "Choose the few lines that keep most of the spares.",
    "log": "Print an empty shot log, or turn logs into a table or sheet.",
    "form": "Print the intake form for a new profile.",
    "new": "Write a new profile from an intake form.",
    "align": "Keep where each printer lays the back of a sheet.",
    "check": "Check profiles, lane files and shot logs for mistakes.",
    "schema": "Print the JSON Schema of a profile.",
}
_INTERRUPTED = 130  # what shells give a command ended by Ctrl-C


class _Commands(click.Group):
    """The commands, each imported only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in _COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"cardgen.cli.{cmd_name}").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(_COMMANDS.items()))


@click.command(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="cardgen")
def cli() -> None:
    """Pocket-sized coaching cards for ten-pin spare shooting.

    From a YAML profile of a bowler: where to stand, where to look, which ball, how to throw it and
    how far it may miss, for each single pin and for the leaves of several that this bowler faces.
    """


def main(args: list[str] | None = None) -> None:
    """Run the command line and exit: 0 made, 1 not made, 2 bad input or usage, 3 cannot write."""
    for stream in (sys.stdout, sys.stderr):
        _keep_printing(stream)
    try:
        code = cli.main(args, prog_name="cardgen", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except click.Abort:
        click.echo("Stopped.", err=True)
        sys.exit(_INTERRUPTED)
    except CardgenError as error:
        click.echo(str(error), err=True)
        sys.exit(error.exit_code)
    sys.exit(code if isinstance(code, int) else 0)


def _keep_printing(stream: Any) -> None:
    """Write what a console cannot show as an escape, instead of failing on it."""
    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="backslashreplace")
