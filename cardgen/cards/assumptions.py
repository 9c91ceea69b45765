"""What a chart rests on, each number said to be the bowler's own, a default, or fitted."""

from collections.abc import Iterator
from dataclasses import dataclass

from cardgen.cards.card import board_text, speed_text
from cardgen.cards.words import Words
from cardgen.lane.geometry import BOARD_M
from cardgen.profile.bowler import Bowler
from cardgen.profile.loader import LoadedProfile
from cardgen.profile.schema import BallSpec, Cover, LaneSpec
from cardgen.targeting.chart import Chart
from cardgen.units import DEGREE_RAD, FOOT_M, MILLILITRE_M3, MPH_MPS, RPM_RADPS

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
    if isinstance(loaded.profile.spread, str):
        notes.append(words("assumptions.spread_note"))
    if chart.fit.lines_used:
        notes.insert(0, words("assumptions.fit_note", count=chart.fit.lines_used))
    return Assumptions(
        title=words("assumptions.title"),
        intro=words("assumptions.intro"),
        sections=_Sections(loaded, chart, words).all(),
        notes=tuple(notes),
    )


def _action_notes(chart: Chart, words: Words) -> Iterator[str]:
    """Yield how far the chances of several pins may be trusted, and what orders the leaves."""
    several = [line for line in chart.lines if len(line.leave) > 1]
    if not several:
        return
    doubt = _DEVIATIONS * max(line.odds.doubt for line in several)
    yield words("assumptions.action_note", doubt=max(1, round(100 * doubt)))
    if any(line.odds.estimate for line in several):
        yield words("assumptions.estimate_note")
    first = chart.first_ball
    if first is not None:
        yield words(
            "assumptions.first_ball_note",
            stand=board_text(first.stand),
            target=board_text(first.target),
            strikes=round(100 * first.strikes),
            pins=f"{first.pins:.1f}",
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

    def _stand(self) -> Iterator[Assumption]:
        habits = self._bowler.habits
        fitted = "fitted" if self._chart.fit.lines_used else ""
        yield self._row(
            self._label("distance"),
            self._text("feet_unit", value=f"{habits.distance_m / FOOT_M:.1f}"),
            "stand.distance_ft",
            otherwise=fitted,
        )
        yield self._row(
            self._label("gap"),
            self._text("boards_unit", value=f"{habits.gap_m / BOARD_M:.1f}"),
            "stand.ball_gap_boards",
            otherwise=fitted,
        )
        yield self._row(
            self._label("walk"),
            self._text("walk_unit", value=f"{100 * habits.walk:.0f}"),
            "stand.walk",
            otherwise=fitted,
        )
        yield self._row(
            self._label("drift"),
            self._text("boards_unit", value=f"{habits.drift_m / BOARD_M:.1f}"),
            "stand.drift_boards",
        )
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
        spread = self._bowler.spread
        # A level that the bowler names stands for four numbers of ours.
        by_level = isinstance(self._loaded.profile.spread, str) and "spread" in self._loaded.given
        level = "level" if by_level else ""
        for name, unit, value in (
            ("angle_deg", "degrees_unit", f"{spread.launch_rad / DEGREE_RAD:.2f}"),
            ("laydown_boards", "boards_unit", f"{spread.laydown_m / BOARD_M:.1f}"),
            ("speed_mph", "mph_unit", f"{spread.speed_mps / MPH_MPS:.1f}"),
            ("rev_percent", "percent_unit", f"{100 * spread.rev_fraction:.0f}"),
        ):
            label = self._label(f"spread_{name.split('_')[0]}")
            yield self._row(label, self._text(unit, value=value), f"spread.{name}", otherwise=level)

    def _ball(self, name: str, spec: BallSpec) -> Iterator[Assumption]:
        ball = self._words(f"balls.{name}")
        chosen = self._bowler.ball(name)
        yield self._row(
            self._label("ball", ball=ball),
            self._text(
                "ball_unit",
                cover=self._words(f"covers.{spec.cover}"),
                weight=f"{spec.weight_lb:g}",
                speed=speed_text(chosen.speed_mps),
            ),
            *(f"balls.{name}.{field}" for field in ("cover", "weight_lb", "speed_mph")),
        )
        yield self._row(
            self._label("ball_motion", ball=ball),
            self._text(
                "motion_unit",
                rev=f"{chosen.rev_radps / RPM_RADPS:.0f}",
                rotation=f"{chosen.rotation_rad / DEGREE_RAD:.0f}",
                tilt=f"{chosen.tilt_rad / DEGREE_RAD:.0f}",
            ),
            *(f"balls.{name}.{field}" for field in ("rev_rpm", "rotation_deg", "tilt_deg")),
        )

    def _lane(self) -> Iterator[Assumption]:
        lane = self._loaded.lane
        yield from self._oil(lane)
        yield self._row(self._label("games"), f"{lane.games:g}", "lane.games")
        if lane.slope_in:
            value = self._text("inches_unit", value=f"{lane.slope_in:g}")
            yield self._row(self._label("slope"), value, "lane.slope_in")
        covers: dict[Cover, None] = dict.fromkeys(
            getattr(self._loaded.profile.balls, ball.name).cover for ball in self._bowler.balls
        )
        for cover in covers:
            named = self._words(f"covers.{cover}")
            yield self._row(
                self._label("friction_oil", cover=named),
                f"{lane.friction.in_oil(cover):g}",
                "lane.friction.oil",
            )
            yield self._row(
                self._label("friction_dry", cover=named),
                f"{getattr(lane.friction, cover):g}",
                f"lane.friction.{cover}",
            )
        yield self._row(
            self._label("lane_doubt"),
            self._text(
                "doubt_unit",
                oil=f"{lane.doubt.oil_percent:g}",
                friction=f"{lane.doubt.friction_percent:g}",
                games=f"{lane.doubt.games:g}",
            ),
            "lane.doubt",
        )
        yield self._row(
            self._label("arrows"),
            self._text(
                "arrows_unit", first=f"{min(lane.arrows_ft):g}", last=f"{max(lane.arrows_ft):g}"
            ),
            "lane.arrows_ft",
        )

    def _oil(self, lane: LaneSpec) -> Iterator[Assumption]:
        """Yield how much oil lies where; a load sheet tells no shape."""
        millilitres = self._bowler.lane.fresh.volume_m3 / MILLILITRE_M3
        yield self._row(
            self._label("oil"),
            self._text("oil_unit", feet=f"{lane.oil_ft:g}", ml=f"{millilitres:.3g}"),
            *(["lane.oil_ft", "lane.oil_ml"] if lane.load_sheet is None else ["lane.load_sheet"]),
        )
        if lane.load_sheet is not None:
            return
        ratio = self._text("ratio_unit", value=f"{lane.ratio:g}")
        yield self._row(self._label("oil_shape"), ratio, "lane.ratio")
        yield self._row(self._label("outer"), f"{lane.outer_boards:g}", "lane.outer_boards")
        taper = self._text("feet_unit", value=f"{lane.taper_ft:g}")
        yield self._row(self._label("taper"), taper, "lane.taper_ft")
