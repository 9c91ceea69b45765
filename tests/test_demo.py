"""The demo outputs in git are what the program makes today."""

import io
import os
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest

ROOT = Path(__file__).resolve().parents[1]
KEPT = ROOT / "out" / "demo"


def pdf_content(path: Path) -> list[tuple[object, ...]]:
    """Return each page's boxes and drawing, unpacked: zlib's bytes differ from build to build."""
    reader = pypdf.PdfReader(io.BytesIO(path.read_bytes()))
    return [
        (list(page.mediabox), list(page.trimbox), page.get_contents().get_data())  # type: ignore[union-attr]  # no page is empty
        for page in reader.pages
    ]


@pytest.fixture(scope="module")
def remade(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder: Path = tmp_path_factory.mktemp("demo")
    environment = {**os.environ, "PYTHON": sys.executable}
    subprocess.run(
        ["bash", ".ci/demo", str(folder)],
        cwd=ROOT,
        env=environment,
        check=True,
        capture_output=True,
    )
    return folder


def test_the_kept_demo_has_every_file(remade: Path) -> None:
    assert {p.name for p in remade.iterdir()} == {p.name for p in KEPT.iterdir()}


def test_the_kept_demo_is_fresh(remade: Path) -> None:
    for path in sorted(remade.iterdir()):
        kept = KEPT / path.name
        if path.suffix == ".pdf":
            assert pdf_content(path) == pdf_content(kept), f"{kept} is stale: run .ci/demo"
        else:
            assert path.read_bytes() == kept.read_bytes(), f"{kept} is stale: run .ci/demo"


def test_the_readme_shows_the_kept_demo() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for path in KEPT.iterdir():
        assert f"out/demo/{path.name}" in readme
