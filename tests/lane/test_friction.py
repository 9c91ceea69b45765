"""What a friction grid accepts."""

import numpy as np
import pytest

from cardgen.lane.friction import FrictionGrid


def test_zones_reach_across_the_lane() -> None:
    grid = FrictionGrid.zones([10.0, 15.0], [0.04, 0.1, 0.2])
    assert grid.x_edges_m.size == 0
    assert grid.mu.shape == (3, 1)
    assert grid.y_edges_m.tolist() == [10, 15]


def test_uniform_friction_has_no_edges() -> None:
    grid = FrictionGrid.uniform(0.1)
    assert (grid.x_edges_m.size, grid.y_edges_m.size, grid.mu.tolist()) == (0, 0, [[0.1]])


@pytest.mark.parametrize(
    ("x_edges", "y_edges", "shape"), [((), (12.0,), (1, 1)), ((0.1,), (), (2, 1)), ((), (), (2, 2))]
)
def test_friction_must_fit_its_edges(
    x_edges: tuple[float, ...], y_edges: tuple[float, ...], shape: tuple[int, int]
) -> None:
    with pytest.raises(ValueError, match="does not fit the edges"):
        FrictionGrid(np.array(x_edges), np.array(y_edges), np.full(shape, 0.1))


@pytest.mark.parametrize("edges", [(12.0, 12.0), (12.0, 10.0), (1.0, float("nan"))])
def test_edges_must_rise(edges: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="edges of a friction grid rise"):
        FrictionGrid.zones(edges, [0.1, 0.1, 0.1])
    with pytest.raises(ValueError, match="edges of a friction grid rise"):
        FrictionGrid(np.array(edges), np.empty(0), np.full((1, 3), 0.1))


@pytest.mark.parametrize("mu", [0.0, -0.1, float("nan"), float("inf")])
def test_friction_must_be_positive_and_finite(mu: float) -> None:
    with pytest.raises(ValueError, match="positive and finite"):
        FrictionGrid.zones([12.0], [0.04, mu])
