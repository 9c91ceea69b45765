"""The questions from which ``cardgen new`` makes a profile, in a coach's words."""

import textwrap
from collections.abc import Callable, Mapping, Sequence
from functools import partial

from cardgen.cli import answers
from cardgen.cli.answers import Unit, named, plain, worded
from cardgen.cli.conversation import Conversation
from cardgen.cli.lanesketch import STAND_MARK, TARGET_MARK, Strokes, lane_sketch
from cardgen.lane.geometry import BOARDS, Hand
from cardgen.lane.rack import Leave
from cardgen.profile.composing import defaults_of
from cardgen.profile.intake import lane_names
from cardgen.profile.schema import MAX_KNOWN_LINES
from cardgen.yamlsource import Value

BAG_TOPIC, TURN_TOPIC, MORE_TOPIC = "bag", "turn", "more"
TURN = ("balls.strike.rev_rpm", "balls.strike.rotation_deg")
"""The fields of :data:`TURN_TOPIC`."""
_LINE_TOPIC = "line "

_HANDS = (("right", ""), ("left", ""))
_STYLES = (
    ("one-handed", "one hand on the ball at the release, its thumb in the ball"),
    ("two-handed", "both hands stay on the ball until the release"),
    ("no-thumb", "one hand on the ball, its thumb outside"),
)
# Boards and averages: see delivery.spread.
_LEVELS = (
    ("new", "4 to 5 boards or more; an average about 160, or lower"),
    ("league", "about 4 boards; an average about 180"),
    ("strong", "about 3 boards; an average about 200"),
    ("elite", "about 2 boards; an average about 220"),
)
_WALKS = (
    ("along", "along the line of the shot, towards what you aim at"),
    ("between", "half-way between the two"),
    ("straight", "straight ahead, whatever you aim at"),
)
_WALK_OF = {"along": 1, "between": 0.5, "straight": 0}
_BAGS = (("two", "one for strikes, and one for spares"), ("one", "the same ball for everything"))
_COVERS = (
    ("plastic", "hooks hardly at all; so do the balls from the centre's racks"),
    ("urethane", "hooks early, in an even arc"),
    ("reactive", "hooks late and strongly"),
)
_LANES = {
    "house": "what most centres put down for everybody",
    "short": "oil that ends at 35 feet or before",
    "long": "oil that reaches 42 feet or farther",
    "flat": "nearly as much oil outside as in the middle, as sport bowlers have it",
    "dry": "little oil, or many games since it was put down",
}
# Weights and speeds of juniors and adults: common practice, no source.
_WEIGHT_HELP = (
    "The number on the ball is its weight in pounds; 6 kg, say, is an answer too. Children mostly "
    "bowl with 6 to 10 pounds, adults with 10 to 16."
)
_COVER_HELP = (
    "The maker's sheet tells. In doubt a ball with a bright, hard, glassy cover is plastic."
)
SPEED_HELP = (
    "As it leaves your hand; a display behind the lane may tell less. Without one, time it from "
    "the foul line to the head pin: 2.5 seconds are about 18 mph, 3 are 15, 4 are 12. Children "
    "mostly throw 8 to 13 mph, adults 14 to 18."
)
_BALLS = (("spare", "the ball for spares, thrown straight"), ("strike", "thrown as for a strike"))


def interview(
    talk: Conversation, preset: Mapping[str, Value], *, name: str, strokes: Strokes
) -> dict[str, Value]:
    """Return what is answered, by dotted path of the profile's fields; it is a profile.

    ``preset`` has answers to start from, ``name`` what the bowler is called where nobody says.
    """
    return _Interview(talk, preset, strokes).given_by(name)


class _Interview:
    """One run through the questions; ``given`` grows with the answers."""

    def __init__(self, talk: Conversation, preset: Mapping[str, Value], strokes: Strokes) -> None:
        self.talk = talk
        self.preset = preset
        self.strokes = strokes
        self.given: dict[str, Value] = {}

    def given_by(self, name: str) -> dict[str, Value]:
        self._bowler(name)
        self._walk()
        self._balls()
        self._lane()
        self._known_lines()
        return self.given

    @property
    def hand(self) -> Hand:
        return Hand(self.given["hand"])

    # --- The questions

    def _bowler(self, name: str) -> None:
        self.talk.head("1 of 5: the bowler")
        name = self._text("bowler") or name
        self.given["bowler"] = (
            self.talk.ask(
                "What is the bowler's name?",
                "name",
                answers.read_name,
                more="It is printed on covers and cards. A nickname will do.",
                unknown="",
                topic="bowler",
                preset=name,
                settled="bowler" in self.preset,
            )
            or name
        )
        hand = self._text("hand") or "right"
        self.given["hand"] = (
            self.talk.choose(
                "With which hand do you bowl?",
                _HANDS,
                more="Boards count from the side of this hand: from the right for a right-hander, "
                "from the left for a left-hander.",
                topic="hand",
                preset=hand,
                settled="hand" in self.preset,
            )
            or hand
        )
        side, other = ("right", "left") if self.hand is Hand.RIGHT else ("left", "right")
        self.talk.say(
            f"A lane has {BOARDS} boards, each about an inch wide. Here they count from your "
            f"{side}: board 1 is beside the {side} gutter, board {BOARDS} beside the {other} one."
        )
        self._choice(
            "style",
            "How do you hold the ball?",
            _STYLES,
            "Two hands, or a thumb outside, turn the ball more. With two hands the foot slides "
            "closer to it.",
        )
        self._choice(
            "spread",
            "How steady are you? Think of ten balls at one arrow on a usual day: how far apart do "
            "they cross it?",
            _LEVELS,
            "The less steady the shots, the more room a line must leave for a miss. In doubt take "
            "the wider one; a bowler's average tells as well.",
        )

    def _walk(self) -> None:
        foot = "left" if self.hand is Hand.RIGHT else "right"
        self.talk.head("2 of 5: start and walk")
        self._number(
            "stand.distance_ft",
            "How far behind the foul line is your slide foot when you start?",
            answers.FEET,
            f"The slide foot is the one that slides at the end, your {foot} one. The two rows of "
            "dots on the approach are mostly 12 and 15 feet behind the foul line.",
        )
        self._number(
            "stand.ball_gap_boards",
            "When you set the ball down, how many boards is its middle away from your slide foot?",
            answers.BOARDS,
            "Count from the mark on the shoe by which you take your stand, towards your ball side. "
            "Let somebody look from behind, or set the ball down beside your foot; keep behind the "
            "foul line.",
        )
        self._way()
        self._drift()

    def _way(self) -> None:
        preset = _number_or_none(self.preset.get("stand.walk"))
        chosen = self.talk.choose(
            "Which way do you walk?",
            _WALKS,
            more="Look at your steps when you aim across the lane, as at a corner pin. Who walks "
            "along the line ends beside the board where he began.",
            unknown=_unknown("along"),
            topic="stand.walk",
            preset=None if preset is None else way_of(preset),
            settled=preset is not None,
        )
        if chosen is not None:
            self.given["stand.walk"] = _WALK_OF.get(chosen, preset)

    def _drift(self) -> None:
        field = "stand.drift_boards"
        if field in self.preset:
            self._number(
                field,
                "How far does your slide end from where you walk to, towards your ball side?",
                answers.BOARDS,
                "Less than nothing is away from your ball side.",
            )
            return
        none = _unknown("no drift")
        start = self._board(
            "Think of a ball rolled straight up the boards. On which board, counted from your "
            f"{self.hand.value}, does your slide foot start?",
            answers.read_board,
            "Start and slide tell how far your walk drifts to a side, which most do without "
            "knowing. Look down at the start and again when you have stopped.",
            topic=field,
            unknown=none,
        )
        if start is None:
            return
        slide = self._board(
            "And on which board does it end its slide?",
            partial(answers.read_slide, start),
            "The board under the same mark of the shoe when you have set the ball down.",
            topic=field,
            unknown=none,
        )
        if slide is not None:
            self.given[field] = plain(start - slide)

    def _balls(self) -> None:
        self.talk.head("3 of 5: the balls")
        self.talk.say(
            "A ball should be light enough to swing without squeezing it. Children need light "
            "ones; let the centre's staff fit them. Defaults are an adult's, so for a child tell "
            "weight and speed if you can."
        )
        bag = self.talk.choose(
            "Do you throw another ball at spares than at strikes?",
            _BAGS,
            more="A ball that hardly hooks depends on the lane least, so many keep one for spares. "
            "Without it the one ball is thrown as straight as you can at most spares.",
            topic=BAG_TOPIC,
            preset="two",
            settled=any(field.startswith("balls.") for field in self.preset),
        )
        one = bag == "one"
        if one:
            self._one_ball()
        else:
            self._two_balls()
        self._throws(one=one)

    def _one_ball(self) -> None:
        """Ask for one ball, and give both of the profile's what it has.

        The balls of a profile differ in their defaults, so a cover that is not known is stated.
        """
        cover, weight = "balls.spare.cover", "balls.spare.weight_lb"
        self._choice(cover, "What is its cover?", _COVERS, _COVER_HELP)
        self.given.setdefault(cover, defaults_of(self.given)[cover])
        self.given["balls.strike.cover"] = self.given[cover]
        self._number(weight, "What does it weigh?", answers.POUNDS, _WEIGHT_HELP)
        if weight in self.given:
            self.given["balls.strike.weight_lb"] = self.given[weight]

    def _two_balls(self) -> None:
        for ball in ("spare", "strike"):
            self._choice(
                f"balls.{ball}.cover",
                f"What is the cover of the {ball} ball?",
                _COVERS,
                _COVER_HELP,
            )
            self._number(
                f"balls.{ball}.weight_lb",
                f"What does the {ball} ball weigh?",
                answers.POUNDS,
                _WEIGHT_HELP,
            )

    def _throws(self, *, one: bool) -> None:
        for ball, how in (("spare", "straight at a spare"), ("strike", "for a strike")):
            self._number(
                f"balls.{ball}.speed_mph",
                f"How fast is {'the' if one else f'the {ball}'} ball, thrown {how}?",
                answers.MPH,
                SPEED_HELP,
            )
        measured = any(field in self.preset for field in TURN)
        if not self.talk.agree(
            "Has anybody measured how you turn the ball for a strike (rev rate, axis rotation)?",
            more="Cameras and some coaches do. If nobody did, what is usual for your style counts.",
            preset=measured,
            topic=TURN_TOPIC,
            settled=measured,
        ):
            return
        self._number(
            TURN[0],
            "What is your rev rate?",
            answers.RPM,
            "How often the ball turns about itself in a minute as it leaves your hand.",
            topic=TURN_TOPIC,
        )
        self._number(
            TURN[1],
            "What is your axis rotation?",
            answers.DEGREES,
            "0 rolls straight on, 90 spins sideways.",
            topic=TURN_TOPIC,
        )

    def _lane(self) -> None:
        shipped = lane_names()
        usual = [name for name in _LANES if name in shipped]
        names = [*usual, *(name for name in shipped if name not in usual)]
        self.talk.head("4 of 5: the lane")
        self._choice(
            "lane",
            "What is the oil like where you bowl?",
            [(name, _LANES.get(name, "")) for name in names],
            "The centre's desk can tell how far the oil reaches. You can describe a lane of your "
            "own in the profile later.",
        )

    def _known_lines(self) -> None:
        self.talk.head("5 of 5: lines you make already")
        given = {str(line["leave"]): line for line in lines_of(self.preset)}
        if not given:
            self.talk.say(
                "A line is where you stand and where you look. One or two that you trust tell "
                "more than all of the above, and they are kept as they are."
            )
        corners = ("10", "7") if self.hand is Hand.RIGHT else ("7", "10")
        lines: list[dict[str, Value]] = []
        for leave in given or corners:
            lines += self._line(Leave.parse(leave), given.get(leave, {}))
        while len(lines) < MAX_KNOWN_LINES:
            more = self.talk.ask(
                "Which other leave do you have a line for?",
                "pins",
                partial(answers.read_leave, [str(line["leave"]) for line in lines]),
                more="Name the pins that stand, with dashes, such as 3-10. Leave out what you only "
                "hope to make. Enter ends the questions.",
                unknown="no other",
                topic=MORE_TOPIC,
            )
            if more is None:
                break
            lines += self._line(more, {})
        if lines:
            self.given["known_lines"] = [*lines]

    def _line(self, leave: Leave, known: Mapping[str, Value]) -> list[dict[str, Value]]:
        """Return the bowler's own line for ``leave``, if there is one; ``known`` is its preset."""
        name = named(leave)
        topic, settled = line_topic(str(leave)), bool(known)
        self._sketch(leave)
        stand = self._board(
            f"When you make the {name}, on which board is your slide foot at the start? Count from "
            f"your {self.hand.value}.",
            answers.read_board,
            "The board under the mark on your shoe by which you take your stand. Half boards are "
            "fine. Skip this if you have no line that you trust.",
            topic=topic,
            unknown="no line",
            preset=_number_or_none(known.get("stand")),
        )
        if stand is None:
            return []
        target = self._board(
            f"And over which board from your {self.hand.value} does the ball roll at the arrows "
            f"when the {name} goes well?",
            answers.read_target,
            "The board that you look at. The arrows are on boards 5, 10, 15, 20, 25, 30 and 35; "
            "the middle one is 20. You may also answer '2nd arrow', which is board 10.",
            topic=topic,
            unknown="no line",
            preset=_number_or_none(known.get("target")),
        )
        if target is None:
            return []
        ball = self.talk.choose(
            f"With which ball do you make the {name}?",
            _BALLS,
            more="With one ball for everything: spare if you throw it straight, strike if you let "
            "it hook.",
            topic=topic,
            preset=str(known.get("ball", "spare")),
            settled=settled,
        )
        if not settled:
            self._sketch(leave, stand, target)
        return [{"leave": str(leave), "stand": stand, "target": target, "ball": ball or "spare"}]

    def _sketch(
        self, leave: Leave, stand: float | None = None, target: float | None = None
    ) -> None:
        drawing = lane_sketch(
            self.hand,
            leave,
            width=self.talk.room,
            strokes=self.strokes,
            stand=stand,
            target=target,
        )
        self.talk.show(["", *drawing] if drawing else [])
        if stand is not None and target is not None:
            text = (
                f"So: the {named(leave)}, stand on {worded(stand)} ({STAND_MARK}), look at "
                f"{worded(target)} ({TARGET_MARK})."
            )
            self.talk.show(["", *textwrap.wrap(text, self.talk.columns)])

    # --- Kinds of question

    def _choice(
        self, field: str, question: str, options: Sequence[tuple[str, str]], more: str
    ) -> None:
        default = str(defaults_of(self.given)[field])
        chosen = self.talk.choose(
            question,
            options,
            more=more,
            unknown=_unknown(default),
            topic=field,
            preset=self._text(field),
            settled=field in self.preset,
        )
        if chosen is not None:
            self.given[field] = chosen

    def _number(
        self, field: str, question: str, unit: Unit, more: str, *, topic: str | None = None
    ) -> None:
        value = self.talk.ask(
            question,
            unit.label,
            partial(answers.read_quantity, field, unit),
            more=more,
            unknown=_unknown(f"{worded(defaults_of(self.given)[field])} {unit.symbol}"),
            topic=topic or field,
            preset=_number_or_none(self.preset.get(field)),
            settled=field in self.preset,
            shown=worded,
        )
        if value is not None:
            self.given[field] = value

    def _board(
        self,
        question: str,
        read: Callable[[str], float],
        more: str,
        *,
        topic: str,
        unknown: str,
        preset: float | None = None,
    ) -> float | None:
        return self.talk.ask(
            question,
            "board",
            read,
            more=more,
            unknown=unknown,
            topic=topic,
            preset=preset,
            settled=preset is not None,
            shown=worded,
        )

    def _text(self, field: str) -> str | None:
        value = self.preset.get(field)
        return value if isinstance(value, str) else None


# --- What an interview is about


def line_topic(leave: str) -> str:
    """Return the topic of the bowler's own line for ``leave``."""
    return f"{_LINE_TOPIC}{leave}"


def leave_of(topic: str) -> Leave | None:
    """Return the leave whose line ``topic`` is about; None if it is about something else."""
    name = topic.removeprefix(_LINE_TOPIC)
    return None if name == topic else Leave.parse(name)


def lines_of(given: Mapping[str, Value]) -> list[Mapping[str, Value]]:
    """Return the known lines that are among what is ``given``."""
    lines = given.get("known_lines")
    return [line for line in lines if isinstance(line, dict)] if isinstance(lines, list) else []


def way_of(walk: float) -> str:
    """Return the word for a way to walk, or its number where there is no word for it."""
    return next((word for word, number in _WALK_OF.items() if number == walk), worded(walk))


def _unknown(default: str) -> str:
    return f"{default} if not known"


def _number_or_none(value: Value) -> float | None:
    return value if isinstance(value, int | float) else None
