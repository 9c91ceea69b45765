"""What a bowler can say in a profile: the fields with their units, ranges and defaults (schema 1).

The defaults are a start for someone who knows nothing but name and hand, not measurements; pages
that print one say that it is a default.
"""

import unicodedata
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Any, Literal, TypeAlias, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    model_validator,
)
from pydantic_core import PydanticCustomError

from cardgen.lane.geometry import ARROW_BOARDS, BOARDS, Hand
from cardgen.lane.rack import Leave

Style: TypeAlias = Literal["one-handed", "two-handed", "no-thumb"]
SpreadLevel: TypeAlias = Literal["new", "league", "strong", "elite"]
Cover: TypeAlias = Literal["plastic", "urethane", "reactive"]
BallName: TypeAlias = Literal["spare", "strike"]

MAX_KNOWN_LINES = 200
MAX_PRINTED = 1023
HALF_BOARD = 0.5
MAX_FRICTION = 0.32
"""The most that ball and lane may rub on each other (USBC equipment specifications)."""
MAX_SLOPE_IN = 0.04
"""How far a lane may be from level across (USBC equipment specifications)."""
SPEEDS_MPH = (8.0, 30.0)
"""The slowest and the fastest ball that is believed (an assumption)."""
SPARE_FASTER_MPH = 1.0
"""So much faster is a spare ball thrown than a strike ball (an assumption)."""
LEAST_REACTIVE_LB = 12.0
"""A lighter ball is most likely a plastic one of the house, thrown at strikes and spares alike
(common practice, no source: few reactive balls are made below)."""

ONE_OF = "="
"""Begins the tag of each alternative of a field, which a validation error has in its path."""


class Model(BaseModel):
    """Frozen, and strict: an unknown key or a number in quotes is an error."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        strict=True,
        allow_inf_nan=False,
        validate_default=True,
    )


def _on_one_line(text: str) -> str:
    stripped = text.strip()
    if not stripped:
        raise PydanticCustomError("blank", "must not be blank")
    for c in stripped:
        if unicodedata.category(c) in {"Cc", "Cs", "Zl", "Zp"}:
            raise PydanticCustomError(
                "unprintable",
                "must be printable characters (it has U+{code})",
                {"code": f"{ord(c):04X}"},
            )
    return stripped


def _rising(numbers: tuple[float, ...]) -> tuple[float, ...]:
    if any(b <= a for a, b in pairwise(numbers)):
        raise PydanticCustomError("rising", "must rise from each number to the next")
    return numbers


def _whole(given: object) -> object:
    """Keep ``true`` and ``1.0`` from passing for 1, to which they are equal."""
    if type(given) is not int:
        raise PydanticCustomError("version", "must be 1")
    return given


def _leave_text(given: object) -> object:
    """Return the canonical text of a leave; a lone pin may come as a number."""
    if isinstance(given, bool) or not isinstance(given, int | str):
        raise PydanticCustomError("leave", "must be a leave such as 10 or 3-10")
    try:
        return str(Leave.parse(str(given)))
    except ValueError as error:
        raise PydanticCustomError("leave", "{reason}", {"reason": str(error)}) from None


def _alternative(given: object) -> str:
    return ONE_OF + ("values" if isinstance(given, dict | BaseModel) else "name")


Board: TypeAlias = Annotated[float, Field(ge=1, le=BOARDS, multiple_of=HALF_BOARD)]
WholeBoard: TypeAlias = Annotated[int, Field(ge=1, le=BOARDS)]
Friction: TypeAlias = Annotated[float, Field(ge=0.005, le=MAX_FRICTION)]
ArrowFeet: TypeAlias = Annotated[float, Field(ge=10, le=17)]
DotFeet: TypeAlias = Annotated[float, Field(ge=1, le=20)]


class Stand(Model):
    """How the bowler stands on the approach and comes to the line."""

    distance_ft: Annotated[
        float,
        Field(
            ge=6,
            le=16,
            description="The slide foot's mark at the start, behind the foul line, in feet.",
        ),
    ] = 13.0
    ball_gap_boards: Annotated[
        Annotated[float, Field(ge=-5, le=15)] | None,
        Field(
            description="From the slide foot's mark to the middle of the ball, towards the ball "
            "side, in boards. Left out or null: by the style, 5 one-handed and without the thumb, "
            "3 two-handed."
        ),
    ] = None
    walk: Annotated[
        float,
        Field(
            ge=0,
            le=1,
            description="The way the bowler walks: 1 along the line of the shot, 0 straight "
            "ahead; no unit.",
        ),
    ] = 1.0
    drift_boards: Annotated[
        float,
        Field(
            ge=-10,
            le=10,
            description="How far the slide ends from where the walk aims, in boards, positive "
            "towards the ball side.",
        ),
    ] = 0.0
    boards: Annotated[
        tuple[WholeBoard, WholeBoard],
        Field(
            strict=False,
            description="The first and the last board this bowler can and will stand on, counted "
            "from the ball side.",
        ),
        AfterValidator(_rising),
    ] = (1, BOARDS)
    half_boards: Annotated[
        bool, Field(description="Whether computed lines may use half boards.")
    ] = False


class SpreadValues(Model):
    """How far the shots of one day differ from each other: standard deviations."""

    angle_deg: Annotated[
        float, Field(ge=0.05, le=3, description="Of the launch angle, in degrees.")
    ]
    laydown_boards: Annotated[
        float,
        Field(ge=0, le=5, description="Of the board the ball is laid down on, in boards."),
    ] = 0.5
    speed_mph: Annotated[
        float, Field(ge=0, le=3, description="Of the ball's speed, in miles per hour.")
    ] = 0.4
    rev_percent: Annotated[
        float, Field(ge=0, le=50, description="Of the rev rate, in percent of it.")
    ] = 8.0


WeightLb: TypeAlias = Annotated[
    float,
    Field(
        ge=6,
        le=16,
        description="The ball's weight in pounds. Left out: as the other ball's, if that is told.",
    ),
]
CoverField: TypeAlias = Annotated[Cover, Field(description="What the ball's cover is made of.")]
SpeedMph: TypeAlias = Annotated[
    float,
    Field(
        ge=SPEEDS_MPH[0],
        le=SPEEDS_MPH[1],
        description="The ball's speed at release, in miles per hour. Left out: from the other "
        "ball's, if that is told; a spare is thrown 1 mph faster.",
    ),
]
RevRpm: TypeAlias = Annotated[
    Annotated[float, Field(ge=0, le=700)] | None,
    Field(
        description="The rev rate, in revolutions per minute. Left out or null: by the style, and "
        "less at less than the default speed."
    ),
]
RotationDeg: TypeAlias = Annotated[
    Annotated[float, Field(ge=-30, le=95)] | None,
    Field(
        description="The axis rotation in degrees: 0 rolls straight on, 90 spins sideways. Left "
        "out or null: by the style."
    ),
]
TiltDeg: TypeAlias = Annotated[
    Annotated[float, Field(ge=0, le=80)] | None,
    Field(description="The axis tilt in degrees: 0 is level. Left out or null: by the style."),
]


class BallSpec(Model):
    """A ball, and how this bowler releases it."""

    cover: CoverField
    weight_lb: WeightLb
    speed_mph: SpeedMph
    rev_rpm: RevRpm = None
    rotation_deg: RotationDeg = None
    tilt_deg: TiltDeg = None
    rg_in: Annotated[
        Annotated[float, Field(ge=2.46, le=2.80)] | None,
        Field(
            description="The radius of gyration in inches. Left out or null: an assumption by the "
            "cover, 2.72 plastic, 2.60 urethane, 2.50 reactive, and more for balls under 14 lb."
        ),
    ] = None


_Ball = TypeVar("_Ball", bound=BallSpec)


class SpareBall(BallSpec):
    """The ball for spares; unset fields: plastic, and turned as little as the style can."""

    cover: CoverField = "plastic"
    weight_lb: WeightLb = 14.0
    speed_mph: SpeedMph = 17.0


class StrikeBall(BallSpec):
    """The ball for strikes; unset fields: reactive, and hooking as the style does."""

    cover: Annotated[
        CoverField,
        Field(
            description="What the ball's cover is made of. Left out: a ball under "
            f"{LEAST_REACTIVE_LB:g} lb has that of the spare ball."
        ),
    ] = "reactive"
    weight_lb: WeightLb = 14.0
    speed_mph: SpeedMph = 16.0


class Balls(Model):
    """The two balls of a bowler; what only one of them tells goes for the other too."""

    spare: Annotated[SpareBall, Field(description="The ball for spares.")] = SpareBall()
    strike: Annotated[StrikeBall, Field(description="The ball for strikes.")] = StrikeBall()


def _of_one_bowler(balls: Balls) -> Balls:
    """Return ``balls`` with what is told of one of them alone carried over to the other.

    A child with an 8 lb ball throws no second ball of 14 lb. What is carried over stays unset.
    """
    spare, strike = balls.spare, balls.strike
    for_spare = _carried(strike, spare, SPARE_FASTER_MPH)
    for_strike = _carried(spare, strike, -SPARE_FASTER_MPH)
    lb = for_strike.get("weight_lb", strike.weight_lb)
    if "cover" not in strike.model_fields_set and lb < LEAST_REACTIVE_LB:
        for_strike["cover"] = spare.cover
    if not for_spare and not for_strike:
        return balls
    return Balls.model_construct(
        balls.model_fields_set, spare=_with(spare, for_spare), strike=_with(strike, for_strike)
    )


def _carried(told: BallSpec, other: BallSpec, faster_mph: float) -> dict[str, Any]:
    """Return what ``told`` says for the ``other`` ball, which is that much faster."""
    alone = told.model_fields_set - other.model_fields_set
    values: dict[str, Any] = {}
    if "weight_lb" in alone:
        values["weight_lb"] = told.weight_lb
    if "speed_mph" in alone:
        mph = told.speed_mph + faster_mph
        values["speed_mph"] = min(max(mph, SPEEDS_MPH[0]), SPEEDS_MPH[1])
    return values


def _with(ball: _Ball, values: dict[str, Any]) -> _Ball:
    return type(ball).model_construct(ball.model_fields_set, **{**dict(ball), **values})


class OilFriction(Model):
    """Friction in the oil where it differs by cover."""

    plastic: Annotated[Friction, Field(description="A plastic cover.")] = 0.04
    urethane: Annotated[Friction, Field(description="A urethane cover.")] = 0.04
    reactive: Annotated[Friction, Field(description="A reactive cover.")] = 0.04


class Frictions(Model):
    """Sliding friction between ball and lane, no unit."""

    oil: Annotated[
        Annotated[Friction, Tag(ONE_OF + "name")] | Annotated[OilFriction, Tag(ONE_OF + "values")],
        Discriminator(_alternative),
        Field(description="In the oil: one number for any cover, or a number for each."),
    ] = 0.04
    plastic: Annotated[Friction, Field(description="On the dry lane, a plastic cover.")] = 0.12
    urethane: Annotated[Friction, Field(description="On the dry lane, a urethane cover.")] = 0.14
    reactive: Annotated[Friction, Field(description="On the dry lane, a reactive cover.")] = 0.16

    def in_oil(self, cover: Cover) -> float:
        """Return the friction of ``cover`` in the oil."""
        if isinstance(self.oil, OilFriction):
            return float(getattr(self.oil, cover))
        return self.oil


class LoadSpec(Model):
    """One load of a machine's run: so much oil on these boards, up to here."""

    boards: Annotated[
        tuple[WholeBoard, WholeBoard],
        Field(strict=False, description="The first and the last board, counted from the right."),
        AfterValidator(_rising),
    ]
    passes: Annotated[int, Field(ge=1, le=20, description="How often the boards are oiled.")]
    to_ft: Annotated[
        float,
        Field(
            ge=0,
            le=60,
            description="Where the load ends, in feet from the foul line; it begins where the one "
            "before it ends, the first going out at the foul line, the first coming back at "
            "drop_ft.",
        ),
    ]


def _outwards(loads: tuple[LoadSpec, ...]) -> tuple[LoadSpec, ...]:
    if not loads:
        raise PydanticCustomError("loads", "there must be one load at least")
    ends = [0.0, *(load.to_ft for load in loads)]
    if any(b <= a for a, b in pairwise(ends)):
        raise PydanticCustomError(
            "loads", "each load must end farther from the foul line than the last"
        )
    return loads


def _homewards(loads: tuple[LoadSpec, ...]) -> tuple[LoadSpec, ...]:
    if any(b.to_ft >= a.to_ft for a, b in pairwise(loads)):
        raise PydanticCustomError(
            "loads", "each load must end nearer to the foul line than the last"
        )
    return loads


class LoadSheet(Model):
    """The oil as a machine lays it, load by load."""

    microlitres: Annotated[
        float, Field(ge=1, le=200, description="Oil for a board at each pass, in microlitres.")
    ] = 50.0
    drop_ft: Annotated[
        Annotated[float, Field(ge=1, le=60)] | None,
        Field(
            description="Where the brush comes down on the way back and the first load of it "
            "begins, in feet; at most oil_ft. Left out or null: oil_ft."
        ),
    ] = None
    forward: Annotated[
        tuple[LoadSpec, ...],
        Field(strict=False, max_length=30, description="The loads on the way out, one at least."),
        AfterValidator(_outwards),
    ]
    reverse: Annotated[
        tuple[LoadSpec, ...],
        Field(strict=False, max_length=30, description="The loads on the way back."),
        AfterValidator(_homewards),
    ] = ()


class LaneDoubtSpec(Model):
    """How far the lane may be from what is said of it: standard deviations."""

    oil_percent: Annotated[
        float, Field(ge=0, le=40, description="Of the amount of oil, in percent of it.")
    ] = 25.0
    friction_percent: Annotated[
        float, Field(ge=0, le=40, description="Of every friction, in percent of it.")
    ] = 25.0
    games: Annotated[float, Field(ge=0, le=10, description="Of the games played since oiling.")] = (
        2.0
    )


class LaneSpec(Model):
    """A lane: its oil, and its marks. Unset fields: an assumed house condition."""

    oil_ft: Annotated[
        float, Field(ge=0, le=60, description="How far the oil reaches, in feet.")
    ] = 40.0
    oil_ml: Annotated[
        float, Field(ge=0, le=80, description="How much oil there is, in millilitres.")
    ] = 25.0
    ratio: Annotated[
        float, Field(ge=1, le=30, description="The oil in the middle to that outside; 1 is flat.")
    ] = 10.0
    outer_boards: Annotated[
        float,
        Field(ge=0, le=18, description="Boards on each side that have only the outside's oil."),
    ] = 7.0
    taper_ft: Annotated[
        float,
        Field(ge=0, le=60, description="Over so many feet the oil thins out before it ends."),
    ] = 8.0
    load_sheet: Annotated[
        LoadSheet | None,
        Field(
            description="The oil as the machine lays it, instead of oil_ml, ratio, outer_boards "
            "and taper_ft; oil_ft is then where the brush ends."
        ),
    ] = None
    games: Annotated[
        float, Field(ge=0, le=60, description="Games played on the lane since it was oiled.")
    ] = 3.0
    film_um: Annotated[
        float,
        Field(
            ge=0.05,
            le=5,
            description="The thickness of oil through which a third of the dry lane's extra "
            "friction is still felt, in micrometres.",
        ),
    ] = 0.1
    slope_in: Annotated[
        float,
        Field(
            ge=-MAX_SLOPE_IN,
            le=MAX_SLOPE_IN,
            description="How much lower the right edge of the lane is than the left, in inches.",
        ),
    ] = 0.0
    friction: Annotated[
        Frictions, Field(description="Sliding friction between ball and lane, no unit.")
    ] = Frictions()
    doubt: Annotated[
        LaneDoubtSpec,
        Field(description="How far the lane may be from what is said here: standard deviations."),
    ] = LaneDoubtSpec()
    arrows_ft: Annotated[
        tuple[ArrowFeet, ArrowFeet, ArrowFeet, ArrowFeet, ArrowFeet, ArrowFeet, ArrowFeet],
        Field(
            strict=False,
            description="From the foul line to each of the seven arrows, on boards "
            f"{', '.join(map(str, ARROW_BOARDS))}, in feet.",
        ),
    ] = (12.5, 13.5, 14.5, 15.5, 14.5, 13.5, 12.5)
    approach_dots_ft: Annotated[
        tuple[DotFeet, ...],
        Field(
            strict=False,
            max_length=4,
            description="From the foul line back to each row of dots on the approach, in feet, "
            "nearest first.",
        ),
        AfterValidator(_rising),
    ] = (12.0, 15.0)

    @model_validator(mode="after")
    def _one_description_of_the_oil(self) -> "LaneSpec":
        sheet = self.load_sheet
        if sheet is None:
            return self
        shape = {"oil_ml", "ratio", "outer_boards", "taper_ft"} & self.model_fields_set
        if shape:
            raise PydanticCustomError(
                "lane_oil",
                "a load sheet says it all: take out {shape}",
                {"shape": " and ".join(sorted(shape))},
            )
        drop_ft = self.oil_ft if sheet.drop_ft is None else sheet.drop_ft
        if max(sheet.forward[-1].to_ft, drop_ft) > self.oil_ft:
            raise PydanticCustomError(
                "lane_oil",
                "the load sheet oils farther than oil_ft, which is {oil_ft}",
                {"oil_ft": f"{self.oil_ft:g}"},
            )
        if sheet.reverse and sheet.reverse[0].to_ft >= drop_ft:
            raise PydanticCustomError(
                "lane_oil",
                "the first load on the way back must end before it begins, at {drop_ft} ft",
                {"drop_ft": f"{drop_ft:g}"},
            )
        return self


class KnownLine(Model):
    """A line that this bowler already trusts for a leave."""

    leave: Annotated[
        str,
        BeforeValidator(_leave_text, json_schema_input_type=str | int),
        Field(description="The pins standing, such as 10 or 3-10."),
    ]
    stand: Annotated[
        Board, Field(description="The board of the slide foot at the start, in half boards.")
    ]
    target: Annotated[
        Board, Field(description="The board to roll over at the arrows, in half boards.")
    ]
    ball: Annotated[BallName, Field(description="The ball thrown.")] = "spare"


@dataclass(frozen=True)
class Within:
    """Checks a pair of a value and its standard deviation."""

    least: float
    most: float

    def __call__(self, pair: tuple[float, float]) -> tuple[float, float]:
        """Return ``pair`` if it can be; the deviation is the width of the range at most."""
        value, sd = pair
        if self.least <= value <= self.most and 0 <= sd <= self.most - self.least:
            return pair
        raise PydanticCustomError(
            "sure",
            "must be a value from {least} to {most} and its standard deviation",
            {"least": f"{self.least:g}", "most": f"{self.most:g}"},
        )


Fitted: TypeAlias = Annotated[tuple[float, float], Field(strict=False)]
"""A value and its standard deviation."""
FITTED_RANGES = {
    "gap_boards": Within(-5, 15),
    "distance_ft": Within(6, 16),
    "walk": Within(0, 1.25),
    "drift_boards": Within(-15, 15),
    "aim_boards": Within(-5, 5),
    "spare_rotation_deg": Within(-45, 110),
    "strike_rotation_deg": Within(-45, 110),
    "spare_speed_mph": Within(5, 35),
    "strike_speed_mph": Within(5, 35),
    "film_log": Within(-1.5, 1.5),
    "friction_log": Within(-1.5, 1.5),
    "more_games": Within(-60, 60),
}
"""What a body can do and the engine can follow (assumptions); a bowler may go farther across than
along the line."""


class FittedValues(Model):
    """What shots and known lines say of bowler and lane: each a value and how sure it is."""

    gap_boards: Annotated[
        Fitted,
        Field(description="As stand.ball_gap_boards."),
        AfterValidator(FITTED_RANGES["gap_boards"]),
    ]
    distance_ft: Annotated[
        Fitted,
        Field(description="As stand.distance_ft."),
        AfterValidator(FITTED_RANGES["distance_ft"]),
    ]
    walk: Annotated[
        Fitted, Field(description="As stand.walk."), AfterValidator(FITTED_RANGES["walk"])
    ]
    drift_boards: Annotated[
        Fitted,
        Field(description="As stand.drift_boards."),
        AfterValidator(FITTED_RANGES["drift_boards"]),
    ]
    aim_boards: Annotated[
        Fitted,
        Field(
            description="How far from the target the ball crosses, in boards, positive towards the "
            "ball side."
        ),
        AfterValidator(FITTED_RANGES["aim_boards"]),
    ]
    spare_rotation_deg: Annotated[
        Fitted,
        Field(description="As balls.spare.rotation_deg."),
        AfterValidator(FITTED_RANGES["spare_rotation_deg"]),
    ]
    strike_rotation_deg: Annotated[
        Fitted,
        Field(description="As balls.strike.rotation_deg."),
        AfterValidator(FITTED_RANGES["strike_rotation_deg"]),
    ]
    spare_speed_mph: Annotated[
        Fitted,
        Field(description="As balls.spare.speed_mph."),
        AfterValidator(FITTED_RANGES["spare_speed_mph"]),
    ]
    strike_speed_mph: Annotated[
        Fitted,
        Field(description="As balls.strike.speed_mph."),
        AfterValidator(FITTED_RANGES["strike_speed_mph"]),
    ]
    film_log: Annotated[
        Fitted,
        Field(description="The logarithm of how many times more oil there is than said."),
        AfterValidator(FITTED_RANGES["film_log"]),
    ]
    friction_log: Annotated[
        Fitted,
        Field(description="The logarithm of how many times more friction there is."),
        AfterValidator(FITTED_RANGES["friction_log"]),
    ]
    more_games: Annotated[
        Fitted,
        Field(description="Games played beyond those said."),
        AfterValidator(FITTED_RANGES["more_games"]),
    ]


class FittedSpread(Model):
    """How far shots stray: standard deviations, as in spread."""

    angle_deg: Annotated[
        float, Field(ge=1e-4, le=10, description="As spread.angle_deg, in degrees.")
    ]
    laydown_boards: Annotated[
        float, Field(ge=0, le=20, description="As spread.laydown_boards, in boards.")
    ]
    speed_mph: Annotated[
        float, Field(ge=0, le=10, description="As spread.speed_mph, in miles per hour.")
    ]


Correlation: TypeAlias = Annotated[float, Field(ge=-1, le=1)]


def _triangle(rows: tuple[tuple[float, ...], ...]) -> tuple[tuple[float, ...], ...]:
    if [len(row) for row in rows] != list(range(1, len(FittedValues.model_fields))):
        raise PydanticCustomError(
            "triangle",
            "must be {rows} rows of 1, 2, 3 and so on numbers",
            {"rows": len(FittedValues.model_fields) - 1},
        )
    return rows


class FittedState(Model):
    """What a fit found, and what it rests on."""

    shots: Annotated[int, Field(ge=0, le=100_000, description="How many shots it rests on.")]
    lines: Annotated[
        int, Field(ge=0, le=MAX_KNOWN_LINES, description="How many known lines it rests on.")
    ]
    values: Annotated[FittedValues, Field(description="Each a value and a standard deviation.")]
    spread: Annotated[FittedSpread, Field(description="How far shots stray.")]
    together: Annotated[
        tuple[Annotated[tuple[Correlation, ...], Field(strict=False)], ...],
        Field(
            strict=False,
            description="How the values vary together: the correlations of each with those before "
            "it, a row for each from the second on.",
        ),
        AfterValidator(_triangle),
    ]


class FittedSection(FittedState):
    """What cardgen fit has found of this bowler; it counts in place of what the profile says."""

    basis: Annotated[
        str,
        Field(
            min_length=8,
            max_length=8,
            description="A mark of what the profile said when it was fitted.",
        ),
    ]
    before: Annotated[
        tuple[KnownLine, ...],
        Field(
            strict=False,
            max_length=MAX_PRINTED,
            description="The lines of the chart before this fit: kept where another is hardly "
            "better, to be told where not.",
        ),
    ] = ()


def repeated_leaves(leaves: list[str]) -> dict[int, int]:
    """Return, for each index whose leave stands in ``leaves`` before, the index of the first."""
    first: dict[str, int] = {}
    return {i: first[leave] for i, leave in enumerate(leaves) if first.setdefault(leave, i) != i}


def _one_line_each(lines: tuple[KnownLine, ...]) -> tuple[KnownLine, ...]:
    for i, j in repeated_leaves([line.leave for line in lines]).items():
        raise PydanticCustomError(
            "repeated_leave",
            "the leave {leave} of line {again} is already given in line {first}",
            {"leave": lines[i].leave, "again": i + 1, "first": j + 1},
        )
    return lines


class Profile(Model):
    """A bowler, as far as spare shooting needs to know."""

    model_config = ConfigDict(title="Bowler profile, schema 1")

    schema_version: Annotated[
        Literal[1],
        BeforeValidator(_whole, json_schema_input_type=Literal[1]),
        Field(alias="schema", description="The version of these fields and their meaning."),
    ] = 1
    bowler: Annotated[
        str,
        Field(min_length=1, max_length=300, description="The name to print."),
        AfterValidator(_on_one_line),
    ]
    hand: Annotated[Hand, Field(strict=False, description="The hand that delivers the ball.")]
    style: Annotated[
        Style,
        Field(
            description="Whether one or both hands stay on the ball until release, or one hand "
            "without its thumb in the ball."
        ),
    ] = "one-handed"
    stand: Annotated[Stand, Field(description="How the bowler stands and comes to the line.")] = (
        Stand()
    )
    spread: Annotated[
        Annotated[SpreadLevel, Tag(ONE_OF + "name")]
        | Annotated[SpreadValues, Tag(ONE_OF + "values")],
        Discriminator(_alternative),
        Field(description="How far the shots of one day differ: a level, or own values."),
    ] = "league"
    balls: Annotated[
        Balls, Field(description="The bowler's two balls."), AfterValidator(_of_one_bowler)
    ] = Balls()
    lane: Annotated[
        Annotated[str, Field(min_length=1, max_length=500), Tag(ONE_OF + "name")]
        | Annotated[LaneSpec, Tag(ONE_OF + "values")],
        Discriminator(_alternative),
        Field(
            description="The lane: the name of one that comes with the program, the path of a "
            "lane file (.yaml or .yml) seen from the profile's folder, or own values."
        ),
    ] = "house"
    known_lines: Annotated[
        tuple[KnownLine, ...],
        Field(
            strict=False,
            max_length=MAX_KNOWN_LINES,
            description="Lines that this bowler already trusts, one for a leave; they are kept.",
        ),
        AfterValidator(_one_line_each),
    ] = ()
    fitted: Annotated[
        FittedSection | None,
        Field(
            description="Written by cardgen fit: what shots and known lines say. Take it out to go "
            "back to the numbers above."
        ),
    ] = None


def profile_json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a profile, for editors; always the same."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Profile.model_json_schema(),
    }
