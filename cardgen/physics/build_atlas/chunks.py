"""The builder's files: one leave, or one slice of full-rack runs, with the recipe inside."""

import ast
import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import mujoco
import numba
import numpy as np
from numpy.typing import NDArray

from cardgen.atomicfile import write_whole
from cardgen.lane import geometry, rack
from cardgen.physics.archive import npz_bytes, read_npz
from cardgen.physics.build_atlas import (
    contactlaw,
    draws,
    freeflight,
    pinfall,
    pinmodel,
    planar,
    rackworld,
    touches,
    watch,
)

FORMAT = 1
_SOURCES = (contactlaw, draws, freeflight, pinfall, pinmodel, planar, rackworld, touches, watch)


def code_hash() -> str:
    """Return the SHA-256 of the code a run's outcome depends on, its words and layout apart."""
    digest = hashlib.sha256()
    for module in _SOURCES:
        tree = ast.parse(Path(str(module.__file__)).read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
                node.body = [each for each in node.body if not _is_words(each)] or [ast.Pass()]
        digest.update(ast.dump(tree).encode())
    return digest.hexdigest()


def _is_words(node: ast.stmt) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def recipe(model: str, **more: Any) -> dict[str, Any]:
    """Return how the runs of a chunk are made: ``model`` is "3-D" or "planar"."""
    return {
        "format": FORMAT,
        "model": model,
        "seed": draws.SEED,
        "draws_per_cell": draws.DRAWS,
        "cell_m": draws.CELL_M,
        "angle_step_rad": draws.ANGLE_STEP_RAD,
        "spot_sd_m": draws.SPOT_SD_M,
        "ranges": {name: list(limits) for name, limits in draws.RANGES.items()},
        "halved": list(draws.HALVED),
        "spots_m": [[rack.pin_x_m(p), rack.pin_y_m(p)] for p in rack.PIN_NUMBERS],
        "edge_gutter_end_m": [geometry.EDGE_M, geometry.GUTTER_M, geometry.LANE_END_M],
        "balls": [[b.radius_m, b.rg_m, b.mass_kg] for b in draws.BALLS],
        "versions": {
            "mujoco": mujoco.__version__,
            "numba": numba.__version__,
            "numpy": np.__version__,
        },
        "code_sha256": code_hash(),
        **more,
    }


@dataclass(frozen=True, eq=False)
class Chunk:
    """What a file holds: arrays by name, and the recipe."""

    arrays: dict[str, NDArray[Any]]
    recipe: dict[str, Any]

    def write(self, path: Path) -> None:
        """Write the file whole or not at all."""
        write_whole(path, npz_bytes(self.arrays, self.recipe), force=True)

    @classmethod
    def read(cls, path: Path) -> "Chunk":
        """Read a file written by :meth:`write`."""
        return cls(*read_npz(path.read_bytes()))
