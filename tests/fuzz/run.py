"""Fuzz the readers, guided by coverage: ``python tests/fuzz/run.py [TARGET…] [--seconds N]``.

Each target runs in a process of its own, which the fuzzer ends: by itself when time is up, or at
the first input that breaks the oracle, takes long, or takes much room. Such an input is kept in the
folder that is told; put it into ``tests/fuzz/found`` once it is mended. ``--corpus FOLDER`` keeps
what was learned from one run to the next.
"""

import argparse
import re
import subprocess
import sys
import tempfile
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(_ROOT))

_INSTRUMENTED = ["cardgen", "yaml", "pypdf", "openpyxl", "fontTools.svgLib", "PIL.PngImagePlugin"]
_SECONDS_AN_INPUT = 10
_MB = 2048
_MAX_BYTES = 4096
_TOKENS = re.compile(rb"[A-Za-z0-9_.#/%:!&*-]{2,30}")
_DONE = re.compile(r"Done (\d+) (?:runs|in)")


def fuzz(name: str, seconds: int, folder: Path, seed: int) -> None:
    """Fuzz one target in this process; does not return."""
    import atheris  # type: ignore[import-untyped]  # it has no types

    corpus = folder / name
    corpus.mkdir(parents=True, exist_ok=True)
    with atheris.instrument_imports(include=_INSTRUMENTED):
        from tests.fuzz.targets import TARGETS

        target = TARGETS[name]
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
            f"-max_total_time={seconds}",
            f"-timeout={_SECONDS_AN_INPUT}",
            f"-rss_limit_mb={_MB}",
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


def run(name: str, seconds: int, folder: Path, seed: int) -> tuple[bool, str]:
    """Fuzz one target in a process of its own; return whether all held, and what it said."""
    asked = [f"--seconds={seconds}", f"--corpus={folder}", f"--seed={seed}"]
    done = subprocess.run(
        [sys.executable, __file__, "--one", name, *asked],
        cwd=_ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )
    return done.returncode == 0, done.stdout.decode(errors="replace")


def main() -> int:
    """Fuzz what is asked for; return 1 if anything broke."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("targets", nargs="*", metavar="TARGET")
    parser.add_argument("--seconds", type=int, default=10, help="for each target")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--corpus", type=Path, help="folder that keeps what was learned")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    folder = asked.corpus or Path(tempfile.mkdtemp(prefix="cardgen-fuzz-"))
    if asked.one:
        fuzz(asked.one, asked.seconds, folder, asked.seed)
    from tests.fuzz.targets import TARGETS

    if unknown := set(asked.targets) - set(TARGETS):
        parser.error(f"there is no target {min(unknown)}; there are {', '.join(TARGETS)}")
    broken = 0
    for name in asked.targets or TARGETS:
        held, said = run(name, asked.seconds, folder, asked.seed)
        runs = _DONE.search(said)
        count = f"{runs[1]} runs" if runs else ""
        sys.stdout.write(f"{name:16} {'held' if held else 'BROKE':6} {count}\n")
        if not held:
            broken += 1
            sys.stdout.write(said[-6000:] + f"\nthe input is in {folder}\n")
        sys.stdout.flush()
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
