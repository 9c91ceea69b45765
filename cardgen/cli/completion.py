"""``cardgen completion``."""

import click

from cardgen.cli.completing import script
from cardgen.cli.speaking import advise, show

_INSTALL = {
    "bash": ("Add this line to ~/.bashrc:", 'eval "$(cardgen completion bash)"'),
    "zsh": ("Add this line to ~/.zshrc, after compinit:", 'eval "$(cardgen completion zsh)"'),
    "fish": (
        "Keep it in fish's own folder:",
        "cardgen completion fish > ~/.config/fish/completions/cardgen.fish",
    ),
    "powershell": (
        "Add this line to the file that $PROFILE names:",
        "cardgen completion powershell | Out-String | Invoke-Expression",
    ),
}
"""How each shell comes to read it."""
_ALL = "\n\n".join(f"\b\n{shell}: {how}\n    {line}" for shell, (how, line) in _INSTALL.items())


@click.command(epilog=_ALL)
@click.argument("shell", type=click.Choice(list(_INSTALL)))
def command(shell: str) -> None:
    """Print what lets a shell complete what you type.

    Tab then completes commands, options, profiles, leaves, templates, stocks, languages, printers
    and formats.
    """
    show(script(shell))
    advise(" ".join(_INSTALL[shell]))
