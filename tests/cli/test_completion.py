"""What a shell completes: at once, whatever was typed, and never with an error."""

import os
import runpy
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cardgen.cli import COMMANDS, COMPLETING
from cardgen.cli.completing import COMMON_LEAVES, complete, leaves
from cardgen.lane.rack import Leave

ROOT = Path(__file__).resolve().parents[2]
Run = Callable[..., Any]
Offered = Callable[[str], list[str]]
SHELLS = ("bash", "zsh", "fish", "powershell")
FORMAT = ("a6", "a6-landscape", "a7", "a7-landscape", "a8")


@pytest.fixture
def offered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsysbinary: pytest.CaptureFixture[bytes]
) -> Offered:
    """Return a function that completes the last word of a line, in a folder with two profiles."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CARDGEN_CONFIG", str(tmp_path / "kept"))
    for name in ("ana.yaml", "notes.txt", "Ben.yml", ".hidden.yaml", "sub/cai.yaml"):
        Path(name).parent.mkdir(exist_ok=True)
        Path(name).touch()

    def completed(line: str) -> list[str]:
        capsysbinary.readouterr()
        words = line.split(" ")
        monkeypatch.setenv("COMP_WORDS", line)
        monkeypatch.setenv("COMP_CWORD", str(len(words) - 1))
        assert complete("bash_complete") == 0
        said = capsysbinary.readouterr()
        assert said.err == b""
        return said.out.decode().split()

    return completed


def plain(*texts: str) -> list[str]:
    return [f"plain,{text}" for text in texts]


def test_the_signatures_are_those_of_the_commands() -> None:
    made = runpy.run_path(str(Path(__file__).with_name("signatures.py")))
    again = "run python tests/cli/signatures.py"
    assert made["PATH"].read_text(encoding="utf-8") == made["signatures"](), again


def test_commands_and_options_are_completed(offered: Offered) -> None:
    assert offered("cardgen ") == plain(*sorted(COMMANDS))
    assert offered("cardgen ch") == plain("chart", "check")
    assert offered("cardgen -q fe") == plain("fewer")
    assert offered("cardgen fewer --l") == plain("--lines")
    assert offered("cardgen fewer --qu") == plain("--quiet")
    assert offered("cardgen make x --paper ") == plain("a4", "letter")


def test_profiles_are_files_here_and_demos(offered: Offered) -> None:
    for line in ("chart", "make a.yaml", "check", "form in.pdf --profile", "fit", "draw"):
        assert offered(f"cardgen {line} ") == plain(
            "Ben.yml", "ana.yaml", "ilse-marchetti", "wren-skobernik"
        )
    assert offered("cardgen make sub/") == plain("sub/cai.yaml")
    assert offered("cardgen make su") == ["file,su"]  # the shell knows folders


def test_leaves_begin_with_the_common_ones_and_go_on_pin_by_pin(offered: Offered) -> None:
    some = offered("cardgen chart ilse-marchetti ")
    assert some[:12] == plain("strike", *map(str, range(1, 11)), "3-10")
    assert offered("cardgen draw ilse-marchetti 4-7-1") == plain("4-7-10", "4-7-1")
    assert offered("cardgen clinic a.csv --leave 3-1") == plain("3-10", "3-1")
    assert offered("cardgen chart ilse-marchetti 11-") == []
    for text in {*COMMON_LEAVES, *leaves("2-8-"), *leaves("1-2-3-4-5-6-7-8-9-")}:
        assert text == "strike" or len(Leave.parse(text)) == text.count("-") + 1


def test_templates_stocks_languages_printers_and_formats_are_completed(offered: Offered) -> None:
    assert offered("cardgen make x --template ")[:3] == plain("friendly", "plain", "example")
    assert "plain,a4-10-business" in offered("cardgen make x --stock ")
    assert offered("cardgen chart x --words ") == plain("de", "en", "es", "fr", "ja", "ko")
    assert offered("cardgen make --size a")[:6] == plain("a5", *FORMAT)
    assert offered("cardgen make --printer ") == []
    Path("kept").mkdir()
    Path("kept/printers.toml").write_text('["office"]\ndx_mm = 1\ndy_mm = 0\n')
    assert offered("cardgen make --printer ") == plain("office")
    assert offered("cardgen align ") == plain("office")


@pytest.mark.parametrize(
    "line",
    ["cardgen nonsense ", "cardgen make '", "cardgen make --size", "", "cardgen chart ../../../.."],
)
def test_no_line_is_too_odd(line: str, offered: Offered) -> None:
    offered(line)


def test_what_cannot_be_read_offers_nothing(offered: Offered) -> None:
    Path("kept").mkdir()
    Path("kept/printers.toml").write_text("no toml")
    assert offered("cardgen make --printer ") == []
    assert offered("cardgen chart nowhere/") == ["file,nowhere/"]


def test_a_question_that_is_none_is_answered_by_a_code_alone(
    monkeypatch: pytest.MonkeyPatch, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    monkeypatch.delenv("COMP_WORDS", raising=False)
    monkeypatch.delenv("COMP_CWORD", raising=False)
    for instruction in ("", "bash", "bash_complete", "tcsh_complete", "bash_nonsense"):
        assert complete(instruction) == 1
    assert capsysbinary.readouterr() == (b"", b"")


def process(line: str, shell: str, folder: Path) -> subprocess.CompletedProcess[bytes]:
    code = (
        "import sys\nfrom cardgen.cli import main\n"
        "try:\n    main()\nfinally:\n"
        "    heavy = {'numpy', 'scipy', 'pydantic', 'yaml', 'reportlab', 'PIL'}\n"
        "    print(*sorted({n.partition('.')[0] for n in sys.modules} & heavy), file=sys.stderr)\n"
    )
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        env={
            **os.environ,
            "PYTHONPATH": str(ROOT),
            COMPLETING: f"{shell}_complete",
            "COMP_WORDS": line,
            "COMP_CWORD": str(line.count(" ")),
        },
        capture_output=True,
        check=False,
        timeout=60,
    )


@pytest.mark.parametrize("line", ["cardgen chart ", "cardgen make --size ", "cardgen fit x --w"])
def test_nothing_heavy_is_loaded_between_two_keys(line: str, tmp_path: Path) -> None:
    ran = process(line, "bash", tmp_path)
    assert (ran.returncode, ran.stderr.strip()) == (0, b"")
    assert ran.stdout


@pytest.mark.parametrize("shell", ["zsh", "powershell"])
def test_other_shells_are_answered_in_their_own_way(shell: str, tmp_path: Path) -> None:
    lines = process("cardgen chart il", shell, tmp_path).stdout.decode().split()
    assert lines[:3] == ["plain", "ilse-marchetti", "_"]


@pytest.mark.parametrize("shell", SHELLS)
def test_each_shell_has_a_script_and_a_sentence_how_to_keep_it(shell: str, run: Run) -> None:
    printed = run("completion", shell)
    assert (printed.code, printed.err) == (0, "")
    assert COMPLETING in printed.out
    assert f"cardgen completion {shell}" in run("completion", "--help").out
    assert run("completion", "tcsh").code == 2


@pytest.fixture
def on_path(tmp_path: Path) -> dict[str, str]:
    """Return the environment of a shell that finds ``cardgen``, and nothing of its owner's."""
    folder = tmp_path / "bin"
    folder.mkdir()
    program = folder / "cardgen"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m cardgen "$@"\n')
    program.chmod(0o755)
    return {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "PATH": f"{folder}{os.pathsep}{os.environ['PATH']}",
        "HOME": str(tmp_path),
        "ZDOTDIR": str(tmp_path),
        "XDG_CONFIG_HOME": str(tmp_path),
        "XDG_DATA_HOME": str(tmp_path),
    }


def answered(words: list[str], folder: Path, env: dict[str, str]) -> list[str]:
    ran = subprocess.run(
        words, cwd=folder, env=env, capture_output=True, text=True, check=False, timeout=60
    )
    assert "Traceback" not in ran.stderr
    return ran.stdout.split()


@pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash here")
def test_bash_itself_completes(tmp_path: Path, on_path: dict[str, str]) -> None:
    script = (
        'eval "$(cardgen completion bash)"; COMP_WORDS=(cardgen chart wren-skobernik 3-6); '
        "COMP_CWORD=3; _cardgen_completion cardgen; printf '%s\\n' \"${COMPREPLY[@]}\""
    )
    found = answered(["bash", "--norc", "-c", script], tmp_path, on_path)
    assert found == ["3-6-10", "3-6"]


@pytest.mark.skipif(shutil.which("fish") is None, reason="there is no fish here")
@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("cardgen chart wren-skobernik 3-6", ["3-6", "3-6-10"]),
        ("cardgen make wr", ["wren-skobernik"]),
        ("cardgen fewer --li", ["--lines"]),
    ],
)
def test_fish_itself_completes(
    line: str, found: list[str], tmp_path: Path, on_path: dict[str, str]
) -> None:
    script = f"cardgen completion fish | source; complete --do-complete '{line}'"
    offered = answered(["fish", "--no-config", "-c", script], tmp_path, on_path)
    assert [text for text in offered if text in found] == found  # fish adds what an option is for


@pytest.mark.skipif(shutil.which("zsh") is None, reason="there is no zsh here")
@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("cardgen chart wren-s", "wren-skobernik"),
        ("cardgen draw wren-skobernik 2-4-5-", "2-4-5-8"),
        ("cardgen fewer --li", "--lines"),
    ],
)
def test_zsh_itself_completes(
    line: str, found: str, tmp_path: Path, on_path: dict[str, str]
) -> None:
    """In a terminal that zsh makes for itself, since it completes nowhere else."""
    (tmp_path / ".zshrc").write_text(
        "PS1=; unsetopt beep zle_bracketed_paste; zstyle ':completion:*' menu yes\n"
        'autoload -Uz compinit; compinit -u; eval "$(cardgen completion zsh)"\n'
        'show() { print -r -- "<$BUFFER>"; exit }\n'
        "zle -N show; bindkey '^X' show\n"
    )
    script = (
        "zmodload zsh/zpty; zpty shell zsh -i; "
        f"zpty -w -n shell $'{line}\\t\\x18'; "
        "zpty -r -m shell seen '*<*>*'; print -r -- $seen"
    )
    said = " ".join(answered(["zsh", "-f", "-c", script], tmp_path, on_path))
    assert found in said.partition("<")[2].partition(">")[0]
