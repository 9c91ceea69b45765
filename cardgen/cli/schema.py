"""``cardgen schema``."""

import json

import click

from cardgen.cli.speaking import show
from cardgen.profile.schema import profile_json_schema


@click.command()
def command() -> None:
    """Print the JSON Schema of a profile, for editors that check and complete as you type."""
    show(json.dumps(profile_json_schema(), ensure_ascii=False, indent=2))
