"""The lane as a ball feels it: its oil, the grip of each cover, and what is unknown."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from cardgen.lane.film import FilmMap
from cardgen.lane.friction import FrictionGrid
from cardgen.lane.geometry import BOARDS, FloatArray, Hand, board_x_m

_REACH = 3**0.5  # standard deviations to each side


@dataclass(frozen=True)
class Grip:
    """Sliding friction of one cover: in oil, and on the dry lane."""

    oil: float
    dry: float


@dataclass(frozen=True)
class LaneDoubt:
    """How far a lane may be from what is said of it: standard deviations.

    ``film`` and ``friction`` are shares of what is said, ``games`` is a number of games.
    """

    film: float = 0.0
    friction: float = 0.0
    games: float = 0.0


@dataclass(frozen=True, eq=False)
class OiledLane:
    """A lane as it lies: boards count from the right until it is :meth:`seen_by` a bowler.

    ``fresh`` is the film as the machine left it, ``games`` what has been played on it since.
    ``screen_m`` is the film through which 1/e of the difference between dry and oiled friction is
    felt. ``slope`` is how much the surface falls to the right, metres a metre.
    """

    fresh: FilmMap
    grips: Mapping[str, Grip]
    screen_m: float
    games: float = 0.0
    slope: float = 0.0
    doubt: LaneDoubt = LaneDoubt()
    mirror: bool = False

    def seen_by(self, hand: Hand) -> "OiledLane":
        """Return the lane in the inside frame of a bowler: mirrored for a left-hander."""
        return replace(self, mirror=hand is Hand.LEFT)

    @property
    def film(self) -> FilmMap:
        """The film now, after the games played."""
        worn, _ = self.fresh.worn(self.games)
        return worn.mirrored if self.mirror else worn

    def friction(self, cover: str) -> FrictionGrid:
        """Return the friction of a ball with ``cover`` by place; KeyError for an unknown cover.

        From dry to oiled it falls with exp(-film / screen): a model of ours, right at both ends.
        """
        grip, film = self.grips[cover], self.film
        bare = np.exp(-film.film_m / self.screen_m)
        mu = grip.oil * (1 - bare) + grip.dry * bare
        beyond = np.full((1, BOARDS), grip.dry)
        slope = -self.slope if self.mirror else self.slope
        return _merged(film.y_edges_m[1:], np.vstack([mu, beyond])[:, ::-1], slope)

    def changed(
        self, *, film: float = 0.0, friction: float = 0.0, games: float = 0.0
    ) -> "OiledLane":
        """Return the lane with more film, friction (shares of what there is) and games."""
        return replace(
            self,
            fresh=self.fresh.scaled(1 + film),
            grips={
                cover: Grip(grip.oil * (1 + friction), grip.dry * (1 + friction))
                for cover, grip in self.grips.items()
            },
            games=max(self.games + games, 0.0),
        )

    def doubts(self) -> Iterator[tuple[str, "OiledLane", "OiledLane", float]]:
        """Yield for each unknown its name, and the lane with less and with more of it.

        The fourth of each is how many standard deviations lie between the two; they are chosen as
        two that have the moments of a normal error to the fifth.
        """
        film, friction, games = (
            _REACH * by for by in (self.doubt.film, self.doubt.friction, self.doubt.games)
        )
        if film:
            yield "film", self.changed(film=-film), self.changed(film=film), 2 * _REACH
        if friction:
            slick, grippy = self.changed(friction=-friction), self.changed(friction=friction)
            yield "friction", slick, grippy, 2 * _REACH
        if games:
            fewer, more = self.changed(games=-games), self.changed(games=games)
            yield "games", fewer, more, (more.games - fewer.games) / self.doubt.games

    @property
    def drier(self) -> "OiledLane":
        """The lane with every unknown one standard deviation towards dry."""
        doubt = self.doubt
        return self.changed(film=-doubt.film, friction=doubt.friction, games=doubt.games)


def _merged(y_edges_m: FloatArray, mu: FloatArray, slope: float) -> FrictionGrid:
    """Return friction by cells, neighbours that are alike made one: a ball need not stop there.

    ``mu`` (r+1, 39) has a row for each stretch between the foul line and ``y_edges_m`` (r,) and
    one beyond, and a column for each board, left first.
    """
    x_edges = np.sort(board_x_m(np.arange(1, BOARDS) + 0.5))
    rows = np.flatnonzero(np.any(mu[1:] != mu[:-1], axis=1))
    columns = np.flatnonzero(np.any(mu[:, 1:] != mu[:, :-1], axis=0))
    kept = mu[np.concatenate([[0], rows + 1])][:, np.concatenate([[0], columns + 1])]
    return FrictionGrid(x_edges[columns], y_edges_m[rows], kept, slope)
