"""``cardgen preview``."""

from pathlib import Path

import click

from cardgen.cards.words import load_words
from cardgen.cli.options import (
    look_options,
    looks,
    size_options,
    words_option,
)
from cardgen.cli.speaking import advise, say, show
from cardgen.preview import Deck, Preview, serve
from cardgen.products import Order
from cardgen.profile.loader import find_profile


@click.command()
@click.argument("profile")
@click.option(
    "--port",
    metavar="N",
    type=click.IntRange(1, 65535),
    help="Port to serve it at; any that is free unless it is said.",
)
@click.option("--no-open", is_flag=True, help="Print the address and open no browser.")
@look_options
@size_options("Format of the cards, id1 unless it is said.")
@words_option
def command(
    profile: str,
    port: int | None,
    no_open: bool,
    template: str | None,
    font_files: tuple[Path, ...],
    size: str | None,
    large_print: bool,
    mono: bool,
    language: str,
) -> None:
    """Show the deck in a browser, and show it anew when the profile is saved.

    PROFILE is a YAML file, or the name of a demo bowler. The page is for this machine only. What is
    wrong with the profile, its lane or the template shows above the last good cards. Ctrl-C ends
    it.
    """
    look = looks(template, font_files, load_words(language))
    fmt = Order(size=size, large_print=large_print).like(look).cards()
    deck = Deck(find_profile(profile), language, fmt, template, mono, tell=say)

    def ready(address: str) -> None:
        show(address)
        advise("Ctrl-C ends it.")
        if not no_open:
            click.launch(address)

    serve(Preview(deck), ready, port=port or 0, tell=say)
