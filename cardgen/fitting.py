"""From a profile and a log of shots to what is known of the bowler now, told and written down."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from cardgen.cards.fitted import FitReport, believed_before, fit_report
from cardgen.cards.words import Words
from cardgen.lane.geometry import BOARD_M
from cardgen.physics.deck import shipped_deck
from cardgen.profile.bowler import Bowler, KnownLine, bowler_of
from cardgen.profile.fitted import Learned, basis_of, section_lines, state_of, values_of
from cardgen.profile.loader import LoadedProfile
from cardgen.shotlog.shot import Shot
from cardgen.shotlog.writing import cells_of
from cardgen.targeting.changes import Change, changes_of, printed_of
from cardgen.targeting.chart import Chart, chart_for
from cardgen.targeting.fit import Fit, fit_bowler
from cardgen.targeting.line import Line
from cardgen.units import DEGREE_RAD, MPH_MPS


@dataclass(frozen=True, eq=False)
class Fitting:
    """A fit of the bowler of a profile, who is himself still as the profile has him."""

    loaded: LoadedProfile
    bowler: Bowler
    shots: tuple[Shot, ...]
    fit: Fit
    words: Words

    @cached_property
    def old(self) -> Chart:
        """The chart that the profile gives as it is, with what an earlier fit found."""
        return chart_for(self.bowler)

    @cached_property
    def new(self) -> Chart:
        """The chart with what this fit found."""
        return chart_for(replace(self.bowler, learned=self._learned, printed=printed_of(self.old)))

    @cached_property
    def changes(self) -> tuple[Change, ...]:
        """The lines that are others now."""
        return changes_of(printed_of(self.old), self.new)

    @property
    def _learned(self) -> Learned:
        return Learned(self.fit.belief, self.fit.spread)

    def report(self) -> FitReport:
        """Return what to tell the bowler."""
        return fit_report(self.bowler, self.fit, self.old, self.new, self.shots, self.words)

    def section(self) -> list[str]:
        """Return the lines of the section ``fitted`` for the profile.

        The chart before it is kept beside it, so that a booklet can tell which lines are others
        now; a fit that finds the same again keeps what that one had kept.
        """
        state = state_of(self._learned, self.bowler.said, self.bowler.scale)
        last = self.loaded.profile.fitted
        before = printed_of(self.old)
        if last is not None and all(getattr(last, name) == value for name, value in state):
            before = self.bowler.printed
        return list(section_lines(state, basis_of(self.loaded), before))

    def record(self) -> dict[str, object]:
        """Return the fit for scripts: each number before and after, with its deviation."""
        bowler, fit = self.bowler, self.fit
        before, after = (
            values_of(belief, bowler.said, bowler.scale)
            for belief in (believed_before(bowler), fit.belief)
        )
        return {
            "bowler": bowler.name,
            "shots": fit.belief.shots,
            "lines": fit.belief.lines,
            "settled": fit.settled,
            "wild": [cells_of(self.shots[index]) for index in fit.wild],
            "values": {
                name: {"before": _rounded(before[name]), "after": _rounded(after[name])}
                for name in after
            },
            "spread": {
                "angle_deg": round(fit.spread.launch_rad / DEGREE_RAD, 4),
                "laydown_boards": round(fit.spread.laydown_m / BOARD_M, 4),
                "speed_mph": round(fit.spread.speed_mps / MPH_MPS, 4),
            },
            "changed": [
                {
                    "leave": list(change.leave),
                    "before": _call(change.old),
                    "after": _call(change.new),
                }
                for change in self.changes
            ],
        }


def _rounded(pair: tuple[float, float]) -> list[float]:
    return [round(number, 4) + 0.0 for number in pair]


def _call(line: Line | KnownLine) -> dict[str, object]:
    return {"ball": line.ball, "stand": line.stand, "target": line.target}


def fitting_of(loaded: LoadedProfile, shots: Sequence[Shot], words: Words) -> Fitting | None:
    """Return the fit of a profile to its known lines and ``shots``; None if there is nothing."""
    bowler = bowler_of(loaded)
    shots = [shot for shot in shots if shot.tells]
    if not shots and not bowler.known_lines:
        return None
    fit = fit_bowler(bowler, shipped_deck(), shots)
    return Fitting(loaded, bowler, tuple(shots), fit, words)
