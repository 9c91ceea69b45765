"""The wheel and the sdist carry what the program needs, and an installed wheel finds it."""

import os
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DATA = [
    path.relative_to(ROOT).as_posix()
    for folder in ("templates", "profiles")
    for path in sorted((ROOT / folder).rglob("*"))
    if path.is_file()
]


def run(*args: str, cwd: Path, **environment: str) -> str:
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    done = subprocess.run(
        [sys.executable, *args],
        cwd=cwd,
        env={**kept, **environment},
        capture_output=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode()


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the wheel and the sdist.

    Built by hatchling where it is installed, as the development extra has it, without any index;
    else by pip, which may reach for its package index to get hatchling.
    """
    folder: Path = tmp_path_factory.mktemp("dist")
    if find_spec("hatchling") is not None:
        run("-m", "hatchling", "build", "-d", str(folder), cwd=ROOT)
    else:
        run("-m", "pip", "wheel", "--no-deps", "-q", "-w", str(folder), str(ROOT), cwd=folder)
    return folder


def test_the_wheel_has_the_package_and_its_data(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        for name in DATA:
            inside = archive.read(f"cardgen/_data/{name}")
            assert inside == (ROOT / name).read_bytes()
    sources = {p.relative_to(ROOT).as_posix() for p in (ROOT / "cardgen").rglob("*.py")}
    assert sources <= names
    rest = {n for n in names if not n.startswith("cardgen/")}
    assert all(name.partition("/")[0].endswith(".dist-info") for name in rest)
    assert not [name for name in names if "__pycache__" in name or name.startswith("tests")]


def test_the_wheel_has_the_atlas_and_it_is_small(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        assert archive.getinfo("cardgen/physics/pin_action.npz").compress_size <= 4_000_000


def test_the_program_does_without_the_builder_s_libraries() -> None:
    look = (
        "import sys, cardgen.press; from cardgen.physics.deck import shipped_deck; shipped_deck(); "
        "print(sorted({'mujoco', 'numba', 'tqdm'} & sys.modules.keys()))"
    )
    assert run("-c", look, cwd=ROOT).strip() == "[]"


def test_the_wheel_says_what_it_needs(built: Path) -> None:
    # PyPA core metadata: Requires-Dist, Requires-Python; entry points specification
    (wheel,) = built.glob("*.whl")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    with zipfile.ZipFile(wheel) as archive:
        info = next(n for n in archive.namelist() if n.endswith(".dist-info/METADATA"))
        text = archive.read(info).decode()
        points = archive.read(info.replace("METADATA", "entry_points.txt")).decode()
    needed = [line for line in text.splitlines() if line.startswith("Requires-Dist: ")]
    assert len([n for n in needed if "extra ==" not in n]) == len(project["dependencies"])
    assert "cardgen = cardgen.__main__:main" in points


def test_the_sdist_has_the_top_level_folders(built: Path) -> None:
    sdists = list(built.glob("*.tar.gz"))
    if not sdists:
        pytest.skip("pip alone builds no sdist; install hatchling, it is in the dev extra")
    with tarfile.open(sdists[0]) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    for folder in ("cardgen", "templates", "profiles", "tests"):
        assert any(name.startswith(f"{folder}/") for name in names), folder
    assert {"README.md", "LICENSE", "pyproject.toml", *DATA} <= names
    assert not [name for name in names if name.startswith((".venv", "out", ".hypothesis"))]


def test_an_installed_wheel_finds_its_own_data(built: Path, tmp_path: Path) -> None:
    (wheel,) = built.glob("*.whl")
    site = tmp_path / "site"
    run(
        *("-m", "pip", "install", "-q", "--no-deps", "--no-index", "--no-compile"),
        *("--disable-pip-version-check", "--target", str(site), str(wheel)),
        cwd=tmp_path,
    )
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    where = run(
        "-c",
        "import cardgen.resources as r; print(r.data_folder('profiles'))",
        cwd=elsewhere,
        PYTHONPATH=str(site),
    )
    assert Path(where.strip()).is_relative_to(site)
    shown = run("-m", "cardgen", "chart", "ilse-marchetti", cwd=elsewhere, PYTHONPATH=str(site))
    assert "10 pin •" in shown
