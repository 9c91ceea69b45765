"""Fuzz the readers, guided by coverage: ``python tests/fuzz/run.py [TARGET…] [--seconds N]``.

Each target runs in a process of its own, which the fuzzer ends: by itself when time is up or as
many inputs are done as ``--runs`` says, or at the first input that breaks the oracle, takes long,
or takes much room. Such an input is kept in the folder that is told; put it into
``tests/fuzz/found`` once it is mended. ``--corpus FOLDER`` keeps what was learned from one run to
the next.
"""

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(_ROOT))

_INSTRUMENTED = ["cardgen", "yaml", "pypdf", "openpyxl", "fontTools.svgLib", "PIL.PngImagePlugin"]
_ROOM_BYTES = 4 << 30  # of addresses, which are more than what is used of them
_MAX_BYTES = 4096
_TOKENS = re.compile(rb"[A-Za-z0-9_.#/%:!&*-]{2,30}")
_DONE = re.compile(r"Done (\d+) (?:runs|in)")
_COVERED = re.compile(r"\bcov: (\d+)")


@dataclass(frozen=True)
class Limits:
    """When a target has held: after so many ``seconds`` or, unless it is 0, so many ``runs``.

    One input may take ``an_input_s`` by the clock.
    """

    seconds: int = 10
    runs: int = 0
    an_input_s: int = 10


@dataclass(frozen=True)
class Fuzzed:
    """What came of a target: whether all held, and what the fuzzer said.

    ``runs`` is how many inputs were done, ``covered`` how many places of the code they came to:
    first the seeds, and last all of them.
    """

    held: bool
    runs: int
    covered: tuple[int, int]
    said: str


def fuzz(name: str, limits: Limits, folder: Path, seed: int) -> None:
    """Fuzz one target in this process; does not return.

    Room is bounded here, as the fuzzer's own bound counts the peak of the process that started it.
    """
    import resource  # POSIX has it, and atheris runs nowhere else

    import atheris  # type: ignore[import-untyped]  # it has no types

    resource.setrlimit(resource.RLIMIT_AS, (_ROOM_BYTES, _ROOM_BYTES))
    corpus = folder / name
    corpus.mkdir(parents=True, exist_ok=True)
    with atheris.instrument_imports(include=_INSTRUMENTED):
        from tests.fuzz.targets import TARGETS, WATCHED

        target = {**TARGETS, **WATCHED}[name]
        seeds = target.seeds()
        for number, data in enumerate(seeds):
            target(data)  # imports what it needs
            (corpus / f"seed-{number}").write_bytes(data[:_MAX_BYTES])
    for number, path in enumerate(sorted((_ROOT / "tests" / "fuzz" / "found").glob(f"{name}-*"))):
        (corpus / f"found-{number}").write_bytes(path.read_bytes())
    words = sorted({word for data in seeds for word in _TOKENS.findall(data)})
    dictionary = folder / f"{name}.words"
    dictionary.write_bytes(b"".join(b'"%s"\n' % word for word in words[:2000]))
    atheris.Setup(
        [
            sys.argv[0],
            f"-max_total_time={limits.seconds}",
            f"-runs={limits.runs or -1}",
            f"-timeout={limits.an_input_s}",
            "-rss_limit_mb=0",
            f"-max_len={_MAX_BYTES}",
            f"-seed={seed}",
            f"-dict={dictionary}",
            f"-artifact_prefix={folder}/broke-{name}-",
            "-verbosity=1",
            str(corpus),
        ],
        target,
    )
    atheris.Fuzz()


def run(name: str, limits: Limits, folder: Path, seed: int) -> Fuzzed:
    """Fuzz one target in a process of its own."""
    from tests.fuzz.targets import SCRATCH, scratch

    asked = [f"--seconds={limits.seconds}", f"--runs={limits.runs}", f"--seed={seed}"]
    with scratch() as inputs:
        done = subprocess.run(
            [
                *(sys.executable, __file__, "--one", name, f"--corpus={folder}", *asked),
                f"--an-input={limits.an_input_s}",
            ],
            cwd=_ROOT,
            env={**os.environ, SCRATCH: inputs},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            check=False,
        )
    said = done.stdout.decode(errors="replace")
    runs, covered = _DONE.search(said), _COVERED.findall(said) or ["0"]
    return Fuzzed(
        done.returncode == 0,
        int(runs[1]) if runs else 0,
        (int(covered[0]), int(covered[-1])),
        said,
    )


def main() -> int:
    """Fuzz what is asked for; return 1 if anything broke."""
    usual = Limits()
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("targets", nargs="*", metavar="TARGET")
    parser.add_argument("--seconds", type=int, default=usual.seconds, help="for each target")
    parser.add_argument("--runs", type=int, default=usual.runs, help="inputs for each target")
    parser.add_argument(
        "--an-input", type=int, default=usual.an_input_s, help="seconds it may take"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--corpus", type=Path, help="folder that keeps what was learned")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    limits = Limits(asked.seconds, asked.runs, asked.an_input)
    folder = asked.corpus or Path(tempfile.mkdtemp(prefix="cardgen-fuzz-"))
    if asked.one:
        fuzz(asked.one, limits, folder, asked.seed)
    from tests.fuzz.targets import TARGETS

    if unknown := set(asked.targets) - set(TARGETS):
        parser.error(f"there is no target {min(unknown)}; there are {', '.join(TARGETS)}")
    broken = 0
    for name in asked.targets or TARGETS:
        done = run(name, limits, folder, asked.seed)
        told = f"{done.runs} runs, {done.covered[1]} places"
        sys.stdout.write(f"{name:16} {'held' if done.held else 'BROKE':6} {told}\n")
        if not done.held:
            broken += 1
            sys.stdout.write(done.said[-6000:] + f"\nthe input is in {folder}\n")
        sys.stdout.flush()
    if asked.corpus is None and not broken:
        shutil.rmtree(folder, ignore_errors=True)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
