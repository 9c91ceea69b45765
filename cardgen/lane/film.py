"""The film of oil on a lane: how thick it is where, how it is laid down, and how play moves it.

Nobody outside a lab measures the film itself, so everything here is a model of ours: the shapes
follow how lanes are dressed (common practice, no source), the numbers of wear are assumptions.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from cardgen.lane.geometry import BOARD_M, BOARDS, CENTRE_BOARD, HEAD_PIN_M, FloatArray
from cardgen.units import FOOT_M

_CELL_M = 2 * FOOT_M  # along the lane, where the film changes
_FAR_CELL_M = 4 * FOOT_M  # past the oil, where only carried oil lies
_RISE_BOARDS = 5  # from the outer film to the middle one, if there is room (an assumption)
# Wear: shares and places are assumptions.
_WORN_A_GAME = 0.08  # of the film in the track
_CARRIED = 0.1  # of what balls pick up: carried past the oil, the rest leaves the lane with them
_TRACK_BOARDS = (6, 16)  # of right-handers; left-handers have the mirror image
_CARRY_M = 5 * FOOT_M  # carried oil thins out by e over this
_RIGHT_HANDERS = 0.9  # of all bowlers (from memory)

Stretch: TypeAlias = tuple[float, float]
"""From and to, in metres down-lane."""


@dataclass(frozen=True, eq=False)
class FilmMap:
    """Thickness of the oil, constant on each cell of boards and stretches.

    ``y_edges_m`` (r+1,) rises from the foul line on, ``film_m`` (r, 39) holds a row for each
    stretch between two edges and a column for each board, board 1 first. Elsewhere there is none.
    """

    y_edges_m: FloatArray
    film_m: FloatArray

    def __post_init__(self) -> None:
        """Raise ValueError unless edges rise from nought, shapes agree and no film is below it."""
        if self.film_m.shape != (self.y_edges_m.size - 1, BOARDS):
            raise ValueError(f"film_m has shape {self.film_m.shape}, which does not fit the edges")
        if self.y_edges_m[0] != 0 or not np.all(np.diff(self.y_edges_m) > 0):
            raise ValueError("the edges of a film rise from the foul line on")
        if not np.all(self.film_m >= 0):
            raise ValueError("a film is nought or thicker")

    @classmethod
    def flooded(cls, oil_m: float) -> "FilmMap":
        """Return a film that hides the lane altogether, up to ``oil_m``."""
        return cls(np.array([0.0, oil_m]), np.full((1, BOARDS), np.inf))

    @classmethod
    def shaped(
        cls, oil_m: float, volume_m3: float, ratio: float, outer_boards: float, taper_m: float
    ) -> "FilmMap":
        """Return the film of a lane described by its shape.

        ``ratio`` is middle to outside, ``outer_boards`` are as thin as the outside on each side;
        along the lane the film is even, then thins out evenly over the last ``taper_m``.
        """
        if oil_m <= 0:
            return cls(np.array([0.0, _CELL_M]), np.zeros((1, BOARDS)))
        board = np.arange(1, BOARDS + 1)
        inwards = np.minimum(board, BOARDS + 1 - board) - outer_boards
        rise = min(_RISE_BOARDS + 1, CENTRE_BOARD - outer_boards)
        across = 1 / ratio + (1 - 1 / ratio) * np.clip(inwards / rise, 0.0, 1.0)
        even_m = oil_m - min(taper_m, oil_m)
        edges = _edges(even_m, oil_m)
        along = _ramp_mean(edges, even_m, oil_m)
        film = along[:, None] * across
        return cls(edges, film * (volume_m3 / _volume_m3(edges, film)))

    @property
    def volume_m3(self) -> float:
        """All the oil on the lane."""
        return _volume_m3(self.y_edges_m, self.film_m)

    @property
    def oil_m(self) -> float:
        """How far the oil reaches that the machine laid, or that was carried."""
        rows = np.flatnonzero(self.film_m.any(axis=1))
        return float(self.y_edges_m[rows[-1] + 1]) if rows.size else 0.0

    @property
    def mirrored(self) -> "FilmMap":
        """The same film with left and right changed over."""
        return FilmMap(self.y_edges_m, self.film_m[:, ::-1])

    def scaled(self, factor: float) -> "FilmMap":
        """Return a film ``factor`` times as thick everywhere."""
        return FilmMap(self.y_edges_m, self.film_m * factor)

    def worn(self, games: float) -> tuple["FilmMap", float]:
        """Return the film after ``games``, and the oil [m3] that left the lane on the balls.

        Board 1 is the rightmost here. Balls thin the film in the track, on the right for most
        bowlers, and carry a little of it past the oil's end; what the lane loses is what leaves it.
        """
        end = self.oil_m
        if games == 0 or end == 0:
            return self, 0.0
        worn = 1 - (1 - _WORN_A_GAME * _traffic()) ** games
        taken = self.film_m * worn
        picked_m2 = np.diff(self.y_edges_m) @ taken  # oil for each metre across, by board
        far = np.arange(end, HEAD_PIN_M - _FAR_CELL_M / 2, _FAR_CELL_M)
        edges = np.union1d(self.y_edges_m, [*far, HEAD_PIN_M])
        rows = np.searchsorted(self.y_edges_m, edges[:-1], side="right") - 1
        kept = np.vstack([self.film_m - taken, np.zeros((1, BOARDS))])[rows]
        falls = np.exp(-np.maximum(edges - end, 0.0) / _CARRY_M)
        share = falls[:-1] - falls[1:]
        if share.sum() > 0:  # oil to the head pin's row leaves no lane to carry it on to
            share *= _CARRIED / share.sum()
        carried = picked_m2 * (share / np.diff(edges))[:, None]
        left_m3 = (1 - share.sum()) * picked_m2.sum() * BOARD_M
        return FilmMap(edges, kept + carried), float(left_m3)


@dataclass(frozen=True)
class Load:
    """Oil that a machine lays on boards ``first`` to ``last``, counted from the right.

    ``volume_m3`` is for each board, ``stretch`` where along the lane.
    """

    first: int
    last: int
    volume_m3: float
    stretch: Stretch


def laid(forward: Sequence[Load], reverse: Sequence[Load], oil_m: float) -> FilmMap:
    """Return the film of a machine's run out and back; board 1 is the rightmost.

    Each load lies evenly on its stretch. Where the forward ones end, the brush still spreads what
    it has taken up, thinning out evenly to ``oil_m``; the film has no step there, and every board
    keeps what it was given.
    """
    drop_m = max((load.stretch[1] for load in forward), default=oil_m)
    ends = [end for load in (*forward, *reverse) for end in load.stretch]
    edges = np.union1d(_edges(min(drop_m, oil_m), oil_m), ends)
    film = sum((_load_film(edges, load) for load in forward), np.zeros((edges.size - 1, BOARDS)))
    given = np.diff(edges) @ film
    last = film[max(int(np.searchsorted(edges, drop_m)) - 1, 0)]
    beyond = edges[:-1] >= drop_m
    film = film + np.where(beyond, _ramp_mean(edges, drop_m, oil_m), 0.0)[:, None] * last
    spread = np.diff(edges) @ film
    film = film * np.divide(given, spread, out=np.zeros(BOARDS), where=spread > 0)
    return FilmMap(edges, sum((_load_film(edges, load) for load in reverse), film))


def _load_film(edges_m: FloatArray, load: Load) -> FloatArray:
    """Return the film (r, 39) that one load makes on the stretches between ``edges_m``."""
    start, end = load.stretch
    inside = (edges_m[:-1] >= start) & (edges_m[1:] <= end)
    film = np.zeros((edges_m.size - 1, BOARDS))
    film[inside, load.first - 1 : load.last] = load.volume_m3 / (BOARD_M * (end - start))
    return film


def _edges(even_m: float, oil_m: float) -> FloatArray:
    """Return the edges of stretches: one up to ``even_m``, then cells up to ``oil_m``."""
    cells = max(1, round((oil_m - even_m) / _CELL_M)) if oil_m > even_m else 0
    return np.unique([0.0, *np.linspace(even_m, oil_m, cells + 1)])


def _ramp_mean(edges_m: FloatArray, even_m: float, oil_m: float) -> FloatArray:
    """Return the mean (r,) on each stretch of a film that is 1, then falls to 0 at ``oil_m``."""
    # No difference of integrals: rounding would make the film of a hair's breadth negative.
    even = np.diff(np.minimum(edges_m, even_m))
    falling = np.clip(edges_m, even_m, oil_m)
    long_m = max(oil_m - even_m, np.finfo(np.float64).tiny)
    height = (oil_m - (falling[:-1] + falling[1:]) / 2) / long_m
    mean: FloatArray = (even + np.diff(falling) * height) / np.diff(edges_m)
    return mean


def _traffic() -> FloatArray:
    """Return how much each board (39,) is played, 1 in the right-handers' track."""
    board = np.arange(1, BOARDS + 1)
    first, last = _TRACK_BOARDS
    right = (first <= board) & (board <= last)
    return np.where(right, 1.0, np.where(right[::-1], 1 / _RIGHT_HANDERS - 1, 0.0))


def _volume_m3(edges_m: FloatArray, film_m: FloatArray) -> float:
    return float((np.diff(edges_m) @ film_m).sum() * BOARD_M)
