"""From the builder's chunks to the one file that ships."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cardgen.lane.geometry import FloatArray
from cardgen.lane.rack import ALL_LEAVES, FULL_RACK, PIN_NUMBERS, Leave, mirrored_pin
from cardgen.physics.atlas import FACTORS, Atlas, leave_bits
from cardgen.physics.build_atlas import draws
from cardgen.physics.build_atlas.chunks import Chunk
from cardgen.physics.build_atlas.draws import BALLS, DRAWS, HALVED, representative
from cardgen.physics.build_atlas.jobs import BuildError, Job, rack_chunks
from cardgen.physics.build_atlas.rackfall import POCKET_SD_M
from cardgen.physics.build_atlas.simulate import (
    RACK_ANGLES,
    RACK_PLACES,
    RACK_ROUNDS,
)
from cardgen.physics.build_atlas.touches import BY_BALL, BY_PIN, BY_REBOUND
from cardgen.physics.grid import (
    ANGLE_STEP_RAD,
    ANGLES,
    CELL_M,
    HALF_ANGLES,
    HALF_PLACES,
    PLACES,
)

_OWN = ("model", "leave", "rack", "ball", "angle", "round", "names")  # of one chunk alone
_NEIGHBOURS = 2  # cells to each side whose runs tell how pins are touched
_KERNEL = np.exp(-0.5 * (np.arange(-20, 21) * CELL_M / POCKET_SD_M) ** 2)


def pack(folder: Path) -> Atlas:
    """Return the atlas of the chunks in ``folder``: 3-D runs where there are any, else estimates.

    Raises:
        BuildError: a leave has neither, the full-rack runs are not there, or the runs were not all
            made on the program's grid and by the same recipe.
    """
    if (CELL_M, ANGLE_STEP_RAD) != (draws.CELL_M, draws.ANGLE_STEP_RAD) or HALVED != FACTORS:
        raise BuildError("the runs were made on another grid than the program reads")
    leaves = [leave for leave in ALL_LEAVES if representative(leave) == leave]
    found = [_Leave(leave, folder) for leave in leaves]
    racks = rack_chunks(folder)
    stood = _racks(racks)
    found[leaves.index(FULL_RACK)].take_racks(stood)
    recipe = _recipe([*racks, *(each.chunk for each in found)])
    return Atlas(
        pins=np.array([leave_bits(leave) for leave in leaves], np.uint16),
        solid=np.array([each.solid for each in found]),
        ball_kg=np.array([ball.mass_kg for ball in BALLS]),
        draws=np.array([each.draws for each in found], np.uint8),
        made=np.stack([each.made for each in found]),
        felled=np.stack([each.felled for each in found]),
        touched=np.stack([each.touched() for each in found]),
        contrasts=np.stack([each.contrasts() for each in found]),
        stood=stood,
        rack_places=np.array(RACK_PLACES, np.int16),
        recipe=recipe,
    )


class _Leave:
    """One leave's chunk, spread out on the whole grid."""

    def __init__(self, leave: Leave, folder: Path) -> None:
        # The files of all kinds that are simulated in 3-D are named alike.
        solid, planar = (folder / Job(kind, leave).name for kind in ("single", "estimate"))
        self.solid = solid.exists()
        path = solid if self.solid else planar
        if not path.exists():
            raise BuildError(f"{folder}: there are no runs of {leave}, not even an estimate")
        self.leave, self.chunk, self.draws = leave, Chunk.read(path), DRAWS
        self._bits = self._whole("spares")
        self.made = _set_bits(self._bits)
        # Share of the balls, two or more, that made it with each draw's factors: the halves agree.
        made = np.array([self._bits >> d & 1 for d in range(DRAWS)])
        self._shares = made.mean(axis=1)  # (draws, angles, places)
        self.felled = self._whole("felled").sum(axis=-1, dtype=np.uint16)

    def _whole(self, name: str) -> NDArray[np.integer]:
        """Return an array of the chunk on all angles and places, the mirror image filled in."""
        arrays = self.chunk.arrays
        part = arrays[name]
        places = arrays["places"].astype(np.intp) + HALF_PLACES
        angles = arrays["angles"].astype(np.intp) + HALF_ANGLES
        whole = np.zeros((len(BALLS), ANGLES, PLACES, *part.shape[3:]), part.dtype)
        whole[:, angles[:, None], places] = part
        if len(angles) < ANGLES:
            order = [self.leave.pins.index(mirrored_pin(pin)) for pin in self.leave]
            image = whole[:, ::-1, ::-1]
            if part.ndim > 3:
                image = image[..., order]
            whole[:, :HALF_ANGLES] = image[:, :HALF_ANGLES]
        return whole

    def take_racks(self, left: NDArray[np.uint16]) -> None:
        """Put the full-rack runs in: ``left`` (balls, angles, places, draws), what stood, as bits.

        Farther out than they go a strike has no chance, and the pins felled are the estimate's.
        """
        first = HALF_PLACES + RACK_PLACES.start
        at = slice(first, first + len(RACK_PLACES))
        runs = left.shape[-1]
        felled = (len(PIN_NUMBERS) - _set_bits(left)).sum(axis=-1)
        made, whole = np.zeros_like(self.made), self.felled.astype(np.uint16) * (runs // DRAWS)
        for target, found in ((made, (left == 0).sum(axis=-1)), (whole, felled)):
            target[:, HALF_ANGLES:, at] = found
            target[:, :HALF_ANGLES] = target[:, ::-1, ::-1][:, :HALF_ANGLES]
        self.made, self.felled, self.draws, self.solid = made, whole, runs, True
        # Every round of sixteen draws goes through the same halves of the factors.
        strikes = (left == 0).reshape(*left.shape[:3], -1, DRAWS).mean(axis=(0, 3))
        self._shares = np.zeros((DRAWS, ANGLES, PLACES))
        self._shares[:, HALF_ANGLES:, at] = np.moveaxis(strikes, -1, 0)

    def touched(self) -> NDArray[np.uint8]:
        """Return how most spares in and about each cell touched each pin; see :class:`Atlas`."""
        # By the chunk's own runs: those of full racks do not tell what touched what.
        made = _summed(_set_bits(self._bits).sum(axis=0, dtype=np.float64)[..., None])
        by_ball, by_rebound = (
            _summed(self._whole(name).sum(axis=0, dtype=np.float64))
            for name in ("by_ball", "by_rebound")
        )
        by_pin = made - by_ball - by_rebound
        most = np.argmax([by_ball, by_pin, by_rebound], axis=0)
        codes = np.array([BY_BALL, BY_PIN, BY_REBOUND], np.uint8)[most]
        touched = np.zeros((ANGLES, PLACES, len(PIN_NUMBERS)), np.uint8)
        touched[..., [pin - 1 for pin in self.leave]] = np.where(made > 0, codes, 0)
        return touched

    def contrasts(self) -> NDArray[np.float32]:
        """Return how the chance of a well aimed ball differs between halves of the factors' ranges.

        Well aimed: with a good bowler's spread at the place and angle that are best over all; the
        runs of both balls count. See :class:`Atlas`.
        """
        chance = _blurred(self._shares)
        best = np.unravel_index(chance.mean(axis=0).argmax(), chance.shape[1:])
        runs = chance[:, best[0], best[1]]
        odd = np.bitwise_count(np.arange(DRAWS)[:, None] & np.arange(1, DRAWS)) % 2 == 1
        found = [runs[odd[:, k]].mean() - runs[~odd[:, k]].mean() for k in range(DRAWS - 1)]
        return np.array(found, np.float32)


def _racks(chunks: list[Chunk]) -> NDArray[np.uint16]:
    """Return the pins that stood after full-rack runs, (balls, angles, places, draws)."""
    stood = np.zeros(
        (len(BALLS), len(RACK_ANGLES), len(RACK_PLACES), RACK_ROUNDS * DRAWS), np.uint16
    )
    for chunk in chunks:
        r = chunk.recipe
        at = slice(r["round"] * DRAWS, (r["round"] + 1) * DRAWS)
        stood[r["ball"], RACK_ANGLES.index(r["angle"]), :, at] = chunk.arrays["left"]
    return stood


def _recipe(chunks: Sequence[Chunk]) -> dict[str, object]:
    """Return the recipe of each model, in which all ``chunks`` must agree.

    Raises:
        BuildError: they do not.
    """
    recipes: dict[str, object] = {}
    for chunk in chunks:
        made = {key: value for key, value in chunk.recipe.items() if key not in _OWN}
        model = chunk.recipe["model"]
        if recipes.setdefault(model, made) != made:
            raise BuildError(
                f"the chunks of the {model} model were not all made by the same recipe"
            )
    return recipes


def _set_bits(numbers: NDArray[np.integer]) -> NDArray[np.uint8]:
    return np.asarray(np.bitwise_count(numbers), np.uint8)


def _summed(cells: FloatArray) -> FloatArray:
    """Return each cell of ``cells`` (angles, places, …) with its neighbours in place added."""
    padded = np.pad(cells, ((0, 0), (_NEIGHBOURS, _NEIGHBOURS), (0, 0)))
    return np.asarray(sum(padded[:, k : k + PLACES] for k in range(2 * _NEIGHBOURS + 1)))


def _blurred(cells: FloatArray) -> FloatArray:
    """Return ``cells`` (…, places) under the spread of a good bowler."""
    kernel = _KERNEL / _KERNEL.sum()
    return np.apply_along_axis(lambda row: np.convolve(row, kernel, mode="same"), -1, cells)
