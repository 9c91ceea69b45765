"""The best point and its curvature, where the answer is known."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import digamma, polygamma

from cardgen.lane.geometry import FloatArray
from cardgen.targeting.laplace import Objective, laplace

RNG = np.random.default_rng(3)
ROOT = RNG.normal(size=(6, 6))
PRECISION: FloatArray = ROOT @ ROOT.T + np.eye(6)
CENTRE: FloatArray = RNG.normal(size=6)


def bowl(point: FloatArray) -> tuple[float, FloatArray]:
    """A normal distribution's negative logarithm, 2.5 at its least."""
    slope = PRECISION @ (point - CENTRE)
    return float((point - CENTRE) @ slope / 2 + 2.5), slope


@pytest.mark.parametrize("start", [np.zeros(6), 5 * np.ones(6), CENTRE])
def test_of_a_normal_distribution_it_is_exact_from_anywhere(start: FloatArray) -> None:
    found = laplace(bowl, start)
    assert found.mean == pytest.approx(CENTRE, abs=1e-5)
    assert found.covariance == pytest.approx(np.linalg.inv(PRECISION), rel=1e-5, abs=1e-7)
    assert found.least == pytest.approx(2.5, abs=1e-9)


def counted(count: int) -> Objective:
    """The logarithm of a rate whose counts were ``count`` together: a log-gamma distribution."""

    def objective(point: FloatArray) -> tuple[float, FloatArray]:
        rate = np.exp(point)
        return float((rate - count * point).sum()), rate - count

    return objective


@pytest.mark.parametrize("count", [1, 10, 400])
def test_where_errors_are_not_normal_it_is_the_curvature_at_the_top(count: int) -> None:
    # Derived: the top is at log(count), the curvature there is count.
    found = laplace(counted(count), np.zeros(1))
    assert found.mean[0] == pytest.approx(np.log(count), abs=1e-4)
    assert found.covariance[0, 0] == pytest.approx(1 / count, rel=1e-4)


def test_it_comes_near_the_true_moments_as_more_is_seen() -> None:
    # Derived: those of the logarithm of a gamma variable, by digamma and trigamma.
    found = laplace(counted(400), np.zeros(1))
    assert found.mean[0] == pytest.approx(digamma(400), abs=0.002)
    assert found.covariance[0, 0] == pytest.approx(polygamma(1, 400), rel=0.003)
    total, _ = quad(lambda z: np.exp(found.least - counted(400)(np.array([z]))[0]), 5, 7)
    assert total == pytest.approx(np.sqrt(2 * np.pi * found.covariance[0, 0]), rel=0.001)


def test_of_two_tops_it_takes_the_nearer_one() -> None:
    def two(point: FloatArray) -> tuple[float, FloatArray]:
        return float(((point**2 - 4) ** 2).sum() / 8), (point**2 - 4) * point / 2

    for start, top in ((1.5, 2.0), (-1.5, -2.0)):
        found = laplace(two, np.array([start]))
        assert found.mean[0] == pytest.approx(top, abs=1e-4)
        assert found.covariance[0, 0] == pytest.approx(1 / 4, rel=1e-3)  # 3 x^2 / 2 - 2


def test_a_way_in_which_nothing_is_known_stays_finite() -> None:
    def trough(point: FloatArray) -> tuple[float, FloatArray]:
        return float(point[0] ** 2 / 2), np.array([point[0], 0.0])

    found = laplace(trough, np.array([3.0, 1.0]))
    assert found.mean[0] == pytest.approx(0, abs=1e-5)
    assert np.isfinite(found.mean).all()
    assert found.covariance[0, 0] == pytest.approx(1, rel=1e-6)
    assert 100 <= found.covariance[1, 1] < np.inf


def test_a_covariance_is_symmetric_and_positive() -> None:
    covariance = laplace(bowl, np.zeros(6)).covariance
    assert covariance == pytest.approx(covariance.T, abs=1e-12)
    assert (np.linalg.eigvalsh(covariance) > 0).all()


def test_the_same_problem_has_the_same_bytes() -> None:
    one, other = (laplace(bowl, np.ones(6)) for _ in range(2))
    assert one.mean.tobytes() == other.mean.tobytes()
    assert one.covariance.tobytes() == other.covariance.tobytes()
