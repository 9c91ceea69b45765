"""What a chart rests on, each number said to be the bowler's own, a default, or fitted."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from cardgen.cards.card import board_text, speed_text
from cardgen.cards.words import Words
from cardgen.lane.geometry import BOARD_M
from cardgen.physics.grid import LIGHTEST_BALL_KG
from cardgen.profile.belief import at
from cardgen.profile.bowler import BallChoice, Bowler
from cardgen.profile.lane import oiled_lane
from cardgen.profile.loader import LoadedProfile
from cardgen.profile.schema import BallSpec, Cover, LaneSpec
from cardgen.targeting.chart import Chart
from cardgen.units import DEGREE_RAD, FOOT_M, MILLILITRE_M3, MPH_MPS, POUND_KG, RPM_RADPS

_TOUCHED = 1e-3  # deviations: less is what rounding in a profile leaves
_GRAM_KG = 1e-3
_DEVIATIONS = 2  # of what is not known of a deck: 19 decks of 20 are within


@dataclass(frozen=True)
class Assumption:
    """One number the chart rests on; ``origin`` says where it comes from, in words."""

    label: str
    value: str
    origin: str
    is_default: bool


@dataclass(frozen=True)
class Assumptions:
    """Everything a chart rests on, in sections under headings, and what to know about it."""

    title: str
    intro: str
    sections: tuple[tuple[str, tuple[Assumption, ...]], ...]
    notes: tuple[str, ...]


def assumptions_of(loaded: LoadedProfile, chart: Chart, words: Words) -> Assumptions:
    """Return the assumptions behind ``chart``, made from ``loaded``."""
    notes = [
        words("assumptions.lane_note"),
        words("assumptions.pins_note"),
        *_action_notes(chart, words),
    ]
    if isinstance(loaded.profile.spread, str) and not chart.fit.belief.shots:
        notes.append(words("assumptions.spread_note"))
    return Assumptions(
        title=words("assumptions.title"),
        intro=words("assumptions.intro"),
        sections=_Sections(loaded, chart, words).all(),
        notes=(*_fit_notes(chart, words), *notes),
    )


def _fit_notes(chart: Chart, words: Words) -> Iterator[str]:
    """Yield what the fitted numbers rest on, and what stands after them."""
    belief = chart.fit.belief
    if belief.shots:
        key = "assumptions.fit_both_note" if belief.lines else "assumptions.fit_shots_note"
        yield words(key, shots=belief.shots, lines=belief.lines)
    elif belief.lines:
        yield words("assumptions.fit_note", count=belief.lines)
    if belief.shots or belief.lines:
        yield words("assumptions.deviation_note")


def _action_notes(chart: Chart, words: Words) -> Iterator[str]:
    """Yield how far the chances of several pins may be trusted, and what orders the leaves."""
    several = [line for line in chart.lines if len(line.leave) > 1]
    if not several:
        return
    doubt = _DEVIATIONS * max(line.odds.doubt for line in several)
    yield words("assumptions.action_note", doubt=max(1, round(100 * doubt)))
    if any(line.odds.estimate for line in several):
        yield words("assumptions.estimate_note")
    bowler = chart.bowler
    if any(bowler.ball(line.ball).ball.mass_kg < LIGHTEST_BALL_KG - _GRAM_KG for line in several):
        yield words("assumptions.light_note", pounds=round(LIGHTEST_BALL_KG / POUND_KG))
    first = chart.first_ball
    if first is not None:
        yield words(
            "assumptions.first_ball_note",
            stand=board_text(first.stand),
            target=board_text(first.target),
            strikes=round(100 * first.strikes),
            pins=words.number(first.pins, 1),
        )


class _Sections:
    """The rows, in the order of the profile."""

    def __init__(self, loaded: LoadedProfile, chart: Chart, words: Words) -> None:
        self._loaded, self._chart, self._words = loaded, chart, words
        self._bowler: Bowler = chart.bowler

    def all(self) -> tuple[tuple[str, tuple[Assumption, ...]], ...]:
        """Return the sections: the bowler, the balls, the lane."""
        return (
            (self._label("bowler"), (*self._stand(), *self._spread())),
            (self._label("balls"), tuple(self._balls())),
            (self._label("lane"), tuple(self._lane())),
        )

    def _balls(self) -> Iterator[Assumption]:
        for ball in self._bowler.balls:
            spec: BallSpec = getattr(self._loaded.profile.balls, ball.name)
            yield from self._ball(ball.name, spec)

    def _row(
        self,
        label: str,
        value: str,
        *fields: str,
        otherwise: str = "",
    ) -> Assumption:
        """Return a row; its numbers are the bowler's own as far as the profile gives ``fields``.

        ``otherwise`` is the origin it has in any case.
        """
        given = [field in self._loaded.given for field in fields]
        stated = "yours" if given and all(given) else "partly" if any(given) else "default"
        origin = otherwise or stated
        return Assumption(label, value, self._words(f"assumptions.{origin}"), origin == "default")

    def _text(self, unit: str, **values: object) -> str:
        return self._words(f"assumptions.{unit}", **values)

    def _label(self, name: str, **values: object) -> str:
        return self._words(f"assumptions.{name}", **values)

    def _touched(self, name: str) -> bool:
        """Tell whether a fit has moved or narrowed the unknown of that name."""
        belief, index = self._chart.fit.belief, at(name)
        if not (belief.shots or belief.lines) or not self._bowler.scale[index]:
            return False
        return bool(abs(belief.mean[index]) > _TOUCHED or belief.sd[index] < 1 - _TOUCHED)

    def _shows(self, name: str, value: float, unit_si: float, decimals: int) -> bool:
        """Tell whether a fit has changed what is printed of an unknown, or of how sure it is."""
        if not self._touched(name):
            return False
        belief, scale = self._chart.fit.belief, self._bowler.scale[at(name)]
        before = value - belief.mean[at(name)] * scale
        now = (value, belief.sd[at(name)] * scale)
        return any(
            self._words.number(a / unit_si, decimals) != self._words.number(b / unit_si, decimals)
            for a, b in zip(now, (before, scale), strict=True)
        )

    def _told(self, name: str, value: float, unit_si: float, decimals: int) -> str:
        """Return a number of the bowler's, with its deviation where a fit has found it."""
        told = self._words.number(value / unit_si, decimals)
        if not self._touched(name):
            return told
        sd = self._chart.fit.belief.sd[at(name)] * self._bowler.scale[at(name)] / unit_si
        return self._text("unsure_unit", value=told, sd=self._words.number(sd, decimals))

    def _habit(
        self, name: str, value: float, unit: tuple[str, float, int], *fields: str
    ) -> Assumption:
        key, unit_si, decimals = unit
        return self._row(
            self._label(name),
            self._text(key, value=self._told(name, value, unit_si, decimals)),
            *fields,
            otherwise="fitted" if self._touched(name) else "",
        )

    def _stand(self) -> Iterator[Assumption]:
        habits = self._bowler.habits
        feet, boards = ("feet_unit", FOOT_M, 1), ("boards_unit", BOARD_M, 1)
        yield self._habit("distance", habits.distance_m, feet, "stand.distance_ft")
        yield self._habit("gap", habits.gap_m, boards, "stand.ball_gap_boards")
        yield self._habit("walk", habits.walk, ("walk_unit", 0.01, 0), "stand.walk")
        yield self._habit("drift", habits.drift_m, boards, "stand.drift_boards")
        if self._touched("aim"):
            yield self._habit("aim", self._bowler.aim_m, boards)
        first, last = self._bowler.stand_boards
        yield self._row(
            self._label("boards_range"),
            self._text("range_unit", first=first, last=last),
            "stand.boards",
        )
        favourite = self._chart.favourite_target
        yield self._row(
            self._label("favourite"),
            self._text("board_unit", value=board_text(favourite)),
            otherwise="lines" if self._chart.fit.believed else "",
        )

    def _spread(self) -> Iterator[Assumption]:
        spread, number = self._bowler.spread, self._words.number
        # A level that the bowler names stands for four numbers of ours.
        by_level = isinstance(self._loaded.profile.spread, str) and "spread" in self._loaded.given
        level = "level" if by_level else ""
        fitted = "fitted" if self._chart.fit.belief.shots else level
        for name, unit, value, origin in (
            ("angle_deg", "degrees_unit", number(spread.launch_rad / DEGREE_RAD, 2), fitted),
            ("laydown_boards", "boards_unit", number(spread.laydown_m / BOARD_M, 1), fitted),
            ("speed_mph", "mph_unit", number(spread.speed_mps / MPH_MPS, 1), fitted),
            ("rev_percent", "percent_unit", number(100 * spread.rev_fraction, 0), level),
        ):
            label = self._label(f"spread_{name.split('_')[0]}")
            text = self._text(unit, value=value)
            yield self._row(label, text, f"spread.{name}", otherwise=origin)

    def _ball(self, name: str, spec: BallSpec) -> Iterator[Assumption]:
        """Yield a ball and how it turns, and apart from those what a fit has found of them."""
        ball, chosen = self._words(f"balls.{name}"), self._bowler.ball(name)
        speed, rotation = self._fitted_ball(chosen)
        told = {
            "cover": self._words(f"covers.{spec.cover}"),
            "weight": self._words.number(spec.weight_lb),
        }
        yield self._row(
            self._label("ball", ball=ball),
            self._text("ball_alone_unit", **told)
            if speed
            else self._text("ball_unit", speed=speed_text(chosen.speed_mps, self._words), **told),
            *(
                f"balls.{name}.{f}"
                for f in ("cover", "weight_lb", *([] if speed else ["speed_mph"]))
            ),
        )
        if speed:
            label = self._label("ball_speed", ball=ball)
            yield self._row(label, self._text("mph_unit", value=speed), otherwise="fitted")
        told = {
            "rev": self._words.number(chosen.rev_radps / RPM_RADPS, 0),
            "tilt": self._words.number(chosen.tilt_rad / DEGREE_RAD, 0),
        }
        yield self._row(
            self._label("ball_motion", ball=ball),
            self._text("turn_unit", **told)
            if rotation
            else self._text(
                "motion_unit",
                rotation=self._words.number(chosen.rotation_rad / DEGREE_RAD, 0),
                **told,
            ),
            *(
                f"balls.{name}.{f}"
                for f in ("rev_rpm", *([] if rotation else ["rotation_deg"]), "tilt_deg")
            ),
        )
        if rotation:
            label = self._label("ball_rotation", ball=ball)
            yield self._row(label, self._text("degrees_unit", value=rotation), otherwise="fitted")

    def _fitted_ball(self, ball: BallChoice) -> tuple[str, str]:
        """Return speed and rotation with their deviations, each empty where no fit shows in it."""
        found = (
            (f"{ball.name}_speed", ball.speed_mps, MPH_MPS, 1),
            (f"{ball.name}_rotation", ball.rotation_rad, DEGREE_RAD, 0),
        )
        speed, rotation = (self._told(*each) if self._shows(*each) else "" for each in found)
        return speed, rotation

    def _lane(self) -> Iterator[Assumption]:
        lane = self._loaded.lane
        yield from self._oil(lane)
        yield self._row(self._label("games"), self._words.number(lane.games), "lane.games")
        if lane.slope_in:
            value = self._text("inches_unit", value=self._words.number(lane.slope_in))
            yield self._row(self._label("slope"), value, "lane.slope_in")
        covers: dict[Cover, None] = dict.fromkeys(
            getattr(self._loaded.profile.balls, ball.name).cover for ball in self._bowler.balls
        )
        for cover in covers:
            named = self._words(f"covers.{cover}")
            yield self._row(
                self._label("friction_oil", cover=named),
                self._words.number(lane.friction.in_oil(cover)),
                "lane.friction.oil",
            )
            yield self._row(
                self._label("friction_dry", cover=named),
                self._words.number(getattr(lane.friction, cover)),
                f"lane.friction.{cover}",
            )
        yield self._row(
            self._label("lane_doubt"),
            self._text(
                "doubt_unit",
                oil=self._words.number(lane.doubt.oil_percent),
                friction=self._words.number(lane.doubt.friction_percent),
                games=self._words.number(lane.doubt.games),
            ),
            "lane.doubt",
        )
        yield from self._seems()
        yield self._row(
            self._label("arrows"),
            self._text(
                "arrows_unit",
                first=self._words.number(min(lane.arrows_ft)),
                last=self._words.number(max(lane.arrows_ft)),
            ),
            "lane.arrows_ft",
        )

    def _seems(self) -> Iterator[Assumption]:
        """Yield what shots say of the lane."""
        belief, scale = self._chart.fit.belief, self._bowler.scale
        if not belief.shots:
            return
        film, friction = (
            self._more(math.expm1(belief.mean[at(name)] * scale[at(name)]))
            for name in ("film", "friction")
        )
        value = self._text("seems_unit", oil=film, friction=friction)
        yield self._row(self._label("lane_seems"), value, otherwise="fitted")

    def _more(self, share: float) -> str:
        percent = round(100 * share)
        return self._text("less_unit" if percent < 0 else "more_unit", value=abs(percent))

    def _oil(self, lane: LaneSpec) -> Iterator[Assumption]:
        """Yield how much oil lies where; a load sheet tells no shape."""
        # As the profile has it: what a fit makes of it has a row of its own.
        millilitres = oiled_lane(lane).fresh.volume_m3 / MILLILITRE_M3
        yield self._row(
            self._label("oil"),
            self._text(
                "oil_unit",
                feet=self._words.number(lane.oil_ft),
                ml=self._words.number(float(f"{millilitres:.3g}")),
            ),
            *(["lane.oil_ft", "lane.oil_ml"] if lane.load_sheet is None else ["lane.load_sheet"]),
        )
        if lane.load_sheet is not None:
            return
        ratio = self._text("ratio_unit", value=self._words.number(lane.ratio))
        yield self._row(self._label("oil_shape"), ratio, "lane.ratio")
        yield self._row(
            self._label("outer"), self._words.number(lane.outer_boards), "lane.outer_boards"
        )
        taper = self._text("feet_unit", value=self._words.number(lane.taper_ft))
        yield self._row(self._label("taper"), taper, "lane.taper_ft")
