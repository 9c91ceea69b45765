"""The ``fitted`` section of a profile: from what is believed to text, and back."""

import json
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from cardgen.delivery.spread import Spread
from cardgen.lane.geometry import BOARD_M, FloatArray
from cardgen.profile.belief import UNKNOWNS, Belief
from cardgen.profile.loader import LoadedProfile
from cardgen.profile.schema import FITTED_RANGES, FittedState, FittedValues
from cardgen.units import DEGREE_RAD, FOOT_M, MPH_MPS

_UNITS = (BOARD_M, FOOT_M, 1.0, BOARD_M, BOARD_M, *[DEGREE_RAD] * 2, *[MPH_MPS] * 2, 1.0, 1.0, 1.0)
NAMES = tuple(FittedValues.model_fields)
"""The names that values have in a profile, in the order of the unknowns."""
REACH: FloatArray = np.array(
    [
        (FITTED_RANGES[name].least * unit, FITTED_RANGES[name].most * unit)
        for name, unit in zip(NAMES, _UNITS, strict=True)
    ]
)
"""The least and the most (k, 2) that each of the unknowns may be found to be, in SI units."""
SECTION_NOTE = (
    "# Written by cardgen fit, from known lines and shots: it counts in place of the numbers here.",
    "# Each value has its standard deviation. The next fit writes the section anew; take it out to",
    "# start over.",
)


class Call(Protocol):
    """A line as it is written down: of the profile's or the engine's."""

    @property
    def leave(self) -> object:
        """The pins standing."""

    @property
    def stand(self) -> float:
        """The board to stand on."""

    @property
    def target(self) -> float:
        """The board to roll over."""

    @property
    def ball(self) -> str:
        """The ball's name."""


@dataclass(frozen=True, eq=False)
class Learned:
    """What a fit found: a belief, and how far shots stray."""

    belief: Belief
    spread: Spread


def learned_of(state: FittedState, said: FloatArray, scale: FloatArray, spread: Spread) -> Learned:
    """Return what ``state`` says.

    ``said`` (k,) is what the profile says of the unknowns, ``scale`` (k,) their deviations before
    the first shot, both in SI units; ``spread`` is the profile's. What was known for certain stays.
    """
    pairs = np.array([getattr(state.values, name) for name in NAMES]) * np.array(_UNITS)[:, None]
    known = len(UNKNOWNS)
    together = np.eye(known)
    for row, correlations in enumerate(state.together, start=1):
        together[row, :row] = together[:row, row] = correlations
    per = np.where(scale > 0, 1 / np.where(scale > 0, scale, 1.0), 0.0)
    sd = pairs[:, 1] * per
    strays = state.spread
    return Learned(
        Belief((pairs[:, 0] - said) * per, together * np.outer(sd, sd), state.shots, state.lines),
        replace(
            spread,
            launch_rad=strays.angle_deg * DEGREE_RAD,
            laydown_m=strays.laydown_boards * BOARD_M,
            speed_mps=strays.speed_mph * MPH_MPS,
        ),
    )


def values_of(
    belief: Belief, said: FloatArray, scale: FloatArray
) -> dict[str, tuple[float, float]]:
    """Return each value by its name in a profile, with its standard deviation."""
    value, sd = said + belief.mean * scale, belief.sd * scale
    return {
        name: (float(v / unit), float(s / unit))
        for name, v, s, unit in zip(NAMES, value, sd, _UNITS, strict=True)
    }


def state_of(learned: Learned, said: FloatArray, scale: FloatArray) -> FittedState:
    """Return what ``learned`` looks like in a profile, rounded as it is written there."""
    belief, spread = learned.belief, learned.spread
    sd = np.where(belief.sd > 0, belief.sd, 1.0)
    together = np.clip(belief.covariance / np.outer(sd, sd), -1, 1)
    values = values_of(belief, said, scale)
    return FittedState.model_validate(
        {
            "shots": belief.shots,
            "lines": belief.lines,
            "values": {n: (_rounded(v, 4), _rounded(s, 4)) for n, (v, s) in values.items()},
            "spread": {
                "angle_deg": _rounded(spread.launch_rad / DEGREE_RAD, 4),
                "laydown_boards": _rounded(spread.laydown_m / BOARD_M, 4),
                "speed_mph": _rounded(spread.speed_mps / MPH_MPS, 4),
            },
            "together": [
                [_rounded(float(c), 3) for c in row[:k]] for k, row in enumerate(together) if k
            ],
        }
    )


def _rounded(value: float, decimals: int) -> float:
    return round(float(value), decimals) + 0.0  # no minus nought


def basis_of(loaded: LoadedProfile) -> str:
    """Return a mark of all that a fit takes from the profile: eight hexadecimal digits."""
    told = loaded.profile.model_dump(mode="json", exclude={"fitted", "bowler"})
    told["lane"] = loaded.lane.model_dump(mode="json")
    told["given"] = sorted(g for g in loaded.given if not g.startswith("fitted"))
    return f"{zlib.crc32(json.dumps(told, sort_keys=True).encode()):08x}"


def section_lines(state: FittedState, basis: str, before: Sequence[Call]) -> Iterator[str]:
    """Yield the lines of a section ``fitted`` in a profile; ``before`` is the chart before it."""
    yield from SECTION_NOTE
    yield "fitted:"
    yield f"  basis: '{basis}'"
    yield f"  shots: {state.shots}"
    yield f"  lines: {state.lines}"
    yield "  values:"
    for name in NAMES:
        value, sd = getattr(state.values, name)
        yield f"    {name}: [{value:g}, {sd:g}]"
    spread = ", ".join(f"{name}: {value:g}" for name, value in state.spread)
    yield f"  spread: {{{spread}}}"
    yield "  together:"
    for row in state.together:
        yield f"    - [{', '.join(f'{c:g}' for c in row)}]"
    if before:
        yield "  before:"
    for line in before:
        call = f"stand: {line.stand:g}, target: {line.target:g}, ball: {line.ball}"
        yield f'    - {{leave: "{line.leave}", {call}}}'
