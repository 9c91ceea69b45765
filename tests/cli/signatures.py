"""What each command takes, for completion, which must not load the commands.

``python tests/cli/signatures.py`` writes it to where completion reads it.
"""

import json
import sys
from pathlib import Path
from typing import Any

import click

from cardgen.cli import COMMANDS, cli
from cardgen.drawing.theme import FORMATS

PATH = Path(__file__).resolve().parents[2] / "cardgen/cli/signatures.json"


def signatures() -> str:
    """Return the text of the file."""
    context = click.Context(cli)
    commands = {}
    for name in COMMANDS:
        command = cli.get_command(context, name)
        assert command is not None
        commands[name] = [_told(each) for each in command.params]
    told = {"formats": sorted(FORMATS), "commands": commands}
    return json.dumps(told, ensure_ascii=False, indent=1) + "\n"


def _told(parameter: click.Parameter) -> dict[str, Any]:
    told: dict[str, Any] = {"name": parameter.name, "kind": parameter.param_type_name}
    if isinstance(parameter, click.Option):
        told |= {
            "options": [*parameter.opts, *parameter.secondary_opts],
            "flag": parameter.is_flag,
            "multiple": parameter.multiple,
            "help": parameter.help,
        }
    else:
        told["nargs"] = parameter.nargs
    if isinstance(parameter.type, click.Choice):
        told["choices"] = list(parameter.type.choices)
    elif isinstance(parameter.type, click.Path):
        told["path"] = "file" if parameter.type.file_okay else "folder"
    return told


if __name__ == "__main__":
    PATH.write_text(signatures(), encoding="utf-8")
    sys.stdout.write(f"{PATH}\n")
