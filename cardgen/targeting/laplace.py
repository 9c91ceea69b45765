"""The posterior of a smooth problem as a normal distribution about its best point.

Laplace's approximation: the mean is where the negative log posterior is least, the covariance the
inverse of its curvature there. Where the model is linear and the errors are normal it is exact.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from cardgen.lane.geometry import FloatArray

Objective: TypeAlias = Callable[[FloatArray], tuple[float, FloatArray]]
"""The negative log posterior and its gradient (k,) at a point (k,)."""
_STEP = 1e-4  # for unknowns told in their own deviations
_LEAST_CURVATURE = 1e-3  # flatter than a prior of deviation 30 is not to be believed


@dataclass(frozen=True, eq=False)
class Posterior:
    """A normal distribution: ``mean`` (k,), ``covariance`` (k, k), and the ``least`` objective."""

    mean: FloatArray
    covariance: FloatArray
    least: float


def laplace(objective: Objective, start: FloatArray) -> Posterior:
    """Return the posterior about the minimum that is found from ``start`` (k,).

    The unknowns should be of the order of one. Errors of single shots need not be normal, so this
    is no least squares problem; where it is one, the answers agree.
    """
    # Imported here: it costs more than a chart, and most profiles have nothing to fit.
    from scipy.optimize import minimize

    def curvature(point: FloatArray) -> FloatArray:
        slopes = np.empty((point.size, point.size))
        for k, way in enumerate(_STEP * np.eye(point.size)):
            slopes[k] = (objective(point + way)[1] - objective(point - way)[1]) / (2 * _STEP)
        return np.asarray((slopes + slopes.T) / 2)

    found = minimize(
        objective,
        start,
        jac=True,
        hess=curvature,
        method="trust-exact",
        options={"gtol": 1e-5, "maxiter": 60, "initial_trust_radius": 2.0},
    )
    mean = np.asarray(found.x, np.float64)
    values, vectors = np.linalg.eigh(curvature(mean))
    covariance = (vectors / np.maximum(values, _LEAST_CURVATURE)) @ vectors.T
    return Posterior(mean, covariance, float(found.fun))
