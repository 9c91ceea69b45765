"""What a shell offers to complete: answered at once, so nothing is computed and little is loaded.

The commands themselves load the whole program, which is too slow between two keys. What they take
stands in ``signatures.json``, made by ``tests/cli/signatures.py``; a test holds the two together.
"""

import json
import os
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import click
from click.shell_completion import CompletionItem, get_completion_class, shell_complete

from cardgen.cli import COMMANDS, COMPLETING, cli
from cardgen.cli.speaking import voice_options
from cardgen.resources import YAML_SUFFIXES, data_folder, yaml_files

PINS = tuple(map(str, range(1, 11)))
COMMON_LEAVES = (
    *("3-10", "6-10", "3-6-10", "4-7", "2-7", "2-4-7", "4-5", "5-6", "2-4-5", "3-5-6", "2-4-5-8"),
    *("3-5-6-9", "1-2", "1-3", "1-2-4", "1-3-6", "1-2-10", "1-3-7", "1-2-4-10", "1-3-6-7", "2-8"),
    *("3-9", "5-7", "5-10", "5-8", "5-9", "2-5", "3-5", "4-8", "6-9", "4-10", "6-7", "8-10", "7-9"),
    *("7-10", "4-6", "4-6-7-10", "4-7-10", "6-7-10"),
)
"""Leaves of several pins that are often met or asked for (common practice, no source)."""
_STOCK = re.compile(r"^  - name: *['\"]?([^'\"#\s]+)", re.MULTILINE)
_SIGNATURES = Path(__file__).with_name("signatures.json")


def complete(instruction: str) -> int:
    """Answer a shell that asks by ``instruction``, such as ``bash_complete``; return an exit code.

    A shell that gets no answer offers its own; one that gets an error shows that in mid-line.
    """
    try:
        return shell_complete(_light(), {}, "cardgen", COMPLETING, instruction)
    except Exception:  # whatever it is, a person is typing
        return 1


def script(shell: str) -> str:
    """Return what makes ``shell`` ask :func:`complete`."""
    found = get_completion_class(shell)
    assert found is not None, shell
    return found(cli, {}, "cardgen", COMPLETING).source()


def _light() -> click.Group:
    """Return commands that take what the real ones take, and do nothing."""
    known = json.loads(_SIGNATURES.read_text(encoding="utf-8"))
    formats = known["formats"]
    offers: dict[str, _Offer] = {**_OFFERS, "size": lambda _: formats}
    commands = {
        name: click.Command(
            name,
            help=text,
            params=[_parameter(each, offers) for each in known["commands"].get(name, ())],
        )
        for name, text in COMMANDS.items()
    }
    return click.Group("cardgen", commands, params=voice_options())


_Offer = Callable[[str], Iterable[str]]


def _parameter(told: dict[str, Any], offers: dict[str, _Offer]) -> click.Parameter:
    kind: click.ParamType[Any] | None = None
    if choices := told.get("choices"):
        kind = click.Choice(choices)
    elif path := told.get("path"):
        kind = click.Path(file_okay=path != "folder")
    offered = offers.get(told["name"])
    completes = None if offered is None else _completer(offered)
    if told["kind"] == "argument":
        return click.Argument(
            [told["name"]],
            type=kind,
            nargs=told["nargs"],
            required=False,
            shell_complete=completes,
        )
    return click.Option(
        [*told["options"], told["name"]],
        type=kind,
        is_flag=told["flag"],
        multiple=told["multiple"],
        help=told["help"],
        shell_complete=completes,
    )


def _completer(
    offered: _Offer,
) -> Callable[[click.Context, click.Parameter, str], list[CompletionItem]]:
    def completed(_: click.Context, parameter: click.Parameter, begun: str) -> list[CompletionItem]:
        try:
            found = [text for text in offered(begun) if text.startswith(begun)]
        except Exception:  # as in complete: the other parameters go on
            found = []
        if not found and parameter.name in _FILES:
            return [CompletionItem(begun, type="file")]
        return [CompletionItem(text) for text in dict.fromkeys(found)]

    return completed


def leaves(begun: str) -> Iterator[str]:
    """Yield leaves that begin as ``begun`` does: single pins, the common ones, then any."""
    yield from ("strike", *PINS, *COMMON_LEAVES)
    pins = begun.split("-")[:-1]
    if pins and all(pin in PINS for pin in pins):
        yield from ("-".join([*pins, pin]) for pin in PINS if pin not in pins)


def _profiles(begun: str) -> Iterator[str]:
    yield from _files_beside(begun, YAML_SUFFIXES)
    yield from (demo.stem for demo in yaml_files(data_folder("profiles")))


def _templates(begun: str) -> Iterator[str]:
    for folder in ("designs", "centres"):
        yield from (file.stem for file in yaml_files(data_folder("templates") / folder))
    yield from _files_beside(begun, YAML_SUFFIXES)


def _stocks(_: str) -> Iterator[str]:
    text = (data_folder("templates") / "stock.yaml").read_text(encoding="utf-8")
    yield from _STOCK.findall(text)


def _languages(_: str) -> Iterator[str]:
    yield from (file.stem for file in yaml_files(data_folder("templates") / "words"))


def _printers(_: str) -> Iterator[str]:
    from cardgen.printers import load_printers

    yield from load_printers()


def _files_beside(begun: str, suffixes: tuple[str, ...]) -> Iterator[str]:
    """Yield files of ``suffixes`` in the folder that ``begun`` names, as they would be typed."""
    folder = begun[: max(begun.rfind("/"), begun.rfind(os.sep)) + 1]
    for file in sorted(Path(folder or ".").expanduser().iterdir()):
        if file.name.lower().endswith(suffixes) and not file.name.startswith("."):
            yield folder + file.name


_OFFERS: dict[str, _Offer] = {
    "profile": _profiles,
    "profiles": _profiles,
    "files": _profiles,
    "leave": leaves,
    "leaves": leaves,
    "template": _templates,
    "stock": _stocks,
    "language": _languages,
    "printer": _printers,
}
_FILES = ("profile", "profiles", "files", "template")
