"""The questions from which ``cardgen new`` makes a profile, in a coach's words."""

import re
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import cast

from cardgen.cli.conversation import Conversation, UnusableError
from cardgen.cli.lanesketch import STAND_MARK, TARGET_MARK, Strokes, lane_sketch
from cardgen.cli.tables import aligned
from cardgen.lane.geometry import ARROW_BOARDS, BOARDS, CENTRE_BOARD, Hand
from cardgen.lane.rack import Leave
from cardgen.profile.composing import defaults_of, fault_of
from cardgen.profile.intake import lane_names
from cardgen.profile.schema import MAX_KNOWN_LINES
from cardgen.units import FOOT_M, MPH_MPS, POUND_KG
from cardgen.yamlsource import Value, shown

# As people write numbers: a decimal comma, a half as on the cards, a typographic minus; a unit.
_NUMBER = re.compile(
    r"(?:boards?\s*)?([-+−]?)([0-9]{0,9})(?:[.,]([0-9]{0,9})|(\s?½|\s1/2))?\s*([a-z/'′]*)\.?"
)
_ARROW = re.compile(r"(?:the )?(?:([1-7])(?:st|nd|rd|th)?|([a-z]+)) arrow|arrow ([1-7])")
_BETWEEN_PINS = re.compile(r"[\s,/+&–-]+")
_NUMERALS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh")
_MIDDLE = ("middle", "centre", "center")
_ABOUT_PINS = ("the", "pin", "pins", "and", "split")
_KMH_MPS = 1 / 3.6


@dataclass(frozen=True)
class _Unit:
    """What an answer is in: ``factors`` into it from what may be written after a number."""

    label: str
    symbol: str
    factors: Mapping[str, float]
    other: str = ""


_FEET = _Unit(
    "feet, or m",
    "ft",
    {"ft": 1.0, "feet": 1.0, "foot": 1.0, "'": 1.0, "′": 1.0, "m": 1 / FOOT_M},
    "4 m",
)
_POUNDS = _Unit(
    "pounds, or kg",
    "lb",
    {"lb": 1.0, "lbs": 1.0, "pound": 1.0, "pounds": 1.0, "kg": 1 / POUND_KG},
    "6 kg",
)
_MPH = _Unit(
    "mph, or km/h",
    "mph",
    {"mph": 1.0, "km/h": _KMH_MPS / MPH_MPS, "kmh": _KMH_MPS / MPH_MPS, "kph": _KMH_MPS / MPH_MPS},
    "26 km/h",
)
_RPM = _Unit("turns a minute", "rpm", {"rpm": 1.0})
_DEGREES = _Unit("degrees", "degrees", {"deg": 1.0, "degree": 1.0, "degrees": 1.0})
_BOARDS = _Unit("boards", "boards", {"board": 1.0, "boards": 1.0})

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
_WALK_WORDS = {1: "along the line of the shot", 0.5: "half-way to that line", 0: "straight ahead"}
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
_LANE_ORDER = tuple(_LANES)
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


@dataclass(frozen=True)
class Row:
    """What a profile says of one ``topic`` of the interview, which can be changed."""

    topic: str
    label: str
    text: str


def rows_of(given: Mapping[str, Value], topics: Sequence[str]) -> list[Row]:
    """Return what a profile says, and where it says nothing, in the order of the questions.

    ``topics`` are those of the conversation; what it did not ask is no row.
    """
    values = {**defaults_of(given), **given}
    one = "balls.strike.cover" not in topics
    rows = [
        Row(
            topic,
            label,
            f"{_said(topic, values, one=one)}{'' if _is_given(topic, given) else ' (default)'}",
        )
        for topic, label in (_ROWS_ONE_BALL if one else _ROWS)
    ]
    lines = {line_topic(str(line["leave"])): line for line in _lines_of(given)}
    for topic in (topic for topic in topics if topic.startswith(_LINE_TOPIC)):
        name = _named(Leave.parse(topic.removeprefix(_LINE_TOPIC)))
        rows.append(
            Row(
                topic, name.capitalize(), _line_words(lines[topic]) if topic in lines else "no line"
            )
        )
    return [*rows, Row(_MORE_TOPIC, "Other leaves", "no line")]


def summary(rows: Sequence[Row], width: int) -> list[str]:
    """Return ``rows``, numbered from 1, as lines.

    They are ``width`` columns wide at most, if a label and a word go into that.
    """
    numbered = [(str(number), row.label, row.text) for number, row in enumerate(rows, 1)]
    taken = sum(max(len(cells[column]) for cells in numbered) + len("  ") for column in (0, 1))
    return list(
        aligned(
            [
                ("", "", line) if again else (number, label, line)
                for number, label, text in numbered
                for again, line in enumerate(textwrap.wrap(text, max(width - taken, 12)))
            ],
            right=(0,),
        )
    )


_BAG_TOPIC, _TURN_TOPIC, _MORE_TOPIC, _LINE_TOPIC = "bag", "turn", "more", "line "
_TURN = ("balls.strike.rev_rpm", "balls.strike.rotation_deg")
_ROWS_BEFORE = (
    ("bowler", "Name"),
    ("hand", "Hand"),
    ("style", "Style"),
    ("spread", "Steadiness"),
    ("stand.distance_ft", "Start"),
    ("stand.ball_gap_boards", "Foot to ball"),
    ("stand.walk", "Walk"),
    ("stand.drift_boards", "Drift"),
    (_BAG_TOPIC, "Balls"),
)
_ROWS = (
    *_ROWS_BEFORE,
    ("balls.spare.cover", "Spare ball"),
    ("balls.spare.weight_lb", "its weight"),
    ("balls.strike.cover", "Strike ball"),
    ("balls.strike.weight_lb", "its weight"),
    ("balls.spare.speed_mph", "Spare speed"),
    ("balls.strike.speed_mph", "Strike speed"),
    (_TURN_TOPIC, "Strike turn"),
    ("lane", "Lane"),
)
_ROWS_ONE_BALL = (
    *_ROWS_BEFORE,
    ("balls.spare.cover", "Ball"),
    *(row for row in _ROWS if row[0] == "balls.spare.weight_lb" or row in _ROWS[-4:]),
)


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
                _name,
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
            _FEET,
            f"The slide foot is the one that slides at the end, your {foot} one. The two rows of "
            "dots on the approach are mostly 12 and 15 feet behind the foul line.",
        )
        self._number(
            "stand.ball_gap_boards",
            "When you set the ball down, how many boards is its middle away from your slide foot?",
            _BOARDS,
            "Count from the mark on the shoe by which you take your stand, towards your ball side. "
            "Let somebody look from behind, or set the ball down beside your foot; keep behind the "
            "foul line.",
        )
        self._way()
        self._drift()

    def _way(self) -> None:
        preset = self.preset.get("stand.walk")
        chosen = self.talk.choose(
            "Which way do you walk?",
            _WALKS,
            more="Look at your steps when you aim across the lane, as at a corner pin. Who walks "
            "along the line ends beside the board where he began.",
            unknown=_unknown("along"),
            topic="stand.walk",
            preset=None if preset is None else _way_said(preset),
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
                _BOARDS,
                "Less than nothing is away from your ball side.",
            )
            return
        none = _unknown("no drift")
        start = self.talk.ask(
            "Think of a ball rolled straight up the boards. On which board, counted from your "
            f"{self.hand.value}, does your slide foot start?",
            "board",
            _board,
            more="Start and slide tell how far your walk drifts to a side, which most do without "
            "knowing. Look down at the start and again when you have stopped.",
            unknown=none,
            topic=field,
            shown=_words,
        )
        if start is None:
            return
        slide = self.talk.ask(
            "And on which board does it end its slide?",
            "board",
            partial(_slide, start),
            more="The board under the same mark of the shoe when you have set the ball down.",
            unknown=none,
            topic=field,
            shown=_words,
        )
        if slide is not None:
            self.given[field] = _plain(start - slide)

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
            topic=_BAG_TOPIC,
            preset="two",
            settled=any(field.startswith("balls.") for field in self.preset),
        )
        one = bag == "one"
        # Weights and speeds of juniors and adults: common practice, no source.
        weight = (
            "The number on the ball is its weight in pounds; 6 kg, say, is an answer too. Children "
            "mostly bowl with 6 to 10 pounds, adults with 10 to 16."
        )
        cover = (
            "The maker's sheet tells. In doubt a ball with a bright, hard, glassy cover is plastic."
        )
        if one:
            self._choice("balls.spare.cover", "What is its cover?", _COVERS, cover, keep=True)
            self.given["balls.strike.cover"] = self.given["balls.spare.cover"]
            self._number("balls.spare.weight_lb", "What does it weigh?", _POUNDS, weight)
            if "balls.spare.weight_lb" in self.given:
                self.given["balls.strike.weight_lb"] = self.given["balls.spare.weight_lb"]
        else:
            for ball, _ in _BALLS:
                self._choice(
                    f"balls.{ball}.cover", f"What is the cover of the {ball} ball?", _COVERS, cover
                )
                self._number(
                    f"balls.{ball}.weight_lb", f"What does the {ball} ball weigh?", _POUNDS, weight
                )
        self._throws(one=one)

    def _throws(self, *, one: bool) -> None:
        for ball, _ in _BALLS:
            how = "straight at a spare" if ball == "spare" else "for a strike"
            self._number(
                f"balls.{ball}.speed_mph",
                f"How fast is {'the' if one else f'the {ball}'} ball, thrown {how}?",
                _MPH,
                SPEED_HELP,
            )
        measured = any(field in self.preset for field in _TURN)
        if not self.talk.agree(
            "Has anybody measured how you turn the ball for a strike (rev rate, axis rotation)?",
            more="Cameras and some coaches do. If nobody did, what is usual for your style counts.",
            preset=measured,
            topic=_TURN_TOPIC,
            settled=measured,
        ):
            return
        self._number(
            _TURN[0],
            "What is your rev rate?",
            _RPM,
            "How often the ball turns about itself in a minute as it leaves your hand.",
            topic=_TURN_TOPIC,
        )
        self._number(
            _TURN[1],
            "What is your axis rotation?",
            _DEGREES,
            "0 rolls straight on, 90 spins sideways.",
            topic=_TURN_TOPIC,
        )

    def _lane(self) -> None:
        names = sorted(lane_names(), key=lambda name: (_rank(name), name))
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
        given = {str(line["leave"]): line for line in _lines_of(self.preset)}
        if not given:
            self.talk.say(
                "A line is where you stand and where you look. One or two that you trust tell "
                "more than all of the above, and they are kept as they are."
            )
        corners = ("10", "7") if self.hand is Hand.RIGHT else ("7", "10")
        lines: list[Value] = []
        for leave in given or corners:
            self._line(Leave.parse(leave), given.get(leave, {}), lines)
        while len(lines) < MAX_KNOWN_LINES:
            more = self.talk.ask(
                "Which other leave do you have a line for?",
                "pins",
                partial(_leave, [str(line["leave"]) for line in _mappings(lines)]),
                more="Name the pins that stand, with dashes, such as 3-10. Leave out what you only "
                "hope to make. Enter ends the questions.",
                unknown="no other",
                topic=_MORE_TOPIC,
            )
            if more is None:
                break
            self._line(more, {}, lines)
        if lines:
            self.given["known_lines"] = lines

    def _line(self, leave: Leave, known: Mapping[str, Value], lines: list[Value]) -> None:
        name = _named(leave)
        topic, settled = line_topic(str(leave)), bool(known)
        self._sketch(leave)
        stand = self.talk.ask(
            f"When you make the {name}, on which board is your slide foot at the start? Count from "
            f"your {self.hand.value}.",
            "board",
            _board,
            more="The board under the mark on your shoe by which you take your stand. Half boards "
            "are fine. Skip this if you have no line that you trust.",
            unknown="no line",
            topic=topic,
            preset=_number_or_none(known.get("stand")),
            settled=settled,
            shown=_words,
        )
        if stand is None:
            return
        target = self.talk.ask(
            f"And over which board from your {self.hand.value} does the ball roll at the arrows "
            f"when the {name} goes well?",
            "board",
            _target,
            more="The board that you look at. The arrows are on boards 5, 10, 15, 20, 25, 30 and "
            "35; the middle one is 20. You may also answer '2nd arrow', which is board 10.",
            unknown="no line",
            topic=topic,
            preset=_number_or_none(known.get("target")),
            settled=settled,
            shown=_words,
        )
        if target is None:
            return
        ball = self.talk.choose(
            f"With which ball do you make the {name}?",
            _BALLS,
            more="With one ball for everything: spare if you throw it straight, strike if you let "
            "it hook.",
            topic=topic,
            preset=str(known.get("ball", "spare")),
            settled=settled,
        )
        line: dict[str, Value] = {
            "leave": str(leave),
            "stand": stand,
            "target": target,
            "ball": ball or "spare",
        }
        lines.append(line)
        if not settled:
            self._sketch(leave, stand, target)

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
                f"So: the {_named(leave)}, stand on {_words(stand)} ({STAND_MARK}), look at "
                f"{_words(target)} ({TARGET_MARK})."
            )
            self.talk.show(["", *textwrap.wrap(text, self.talk.columns)])

    # --- Kinds of question

    def _choice(
        self,
        field: str,
        question: str,
        options: Sequence[tuple[str, str]],
        more: str,
        *,
        keep: bool = False,
    ) -> None:
        """Ask for ``field``; to ``keep`` it states the default too where it is not known."""
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
        if chosen is not None or keep:
            self.given[field] = chosen or default

    def _number(
        self, field: str, question: str, unit: _Unit, more: str, *, topic: str | None = None
    ) -> None:
        value = self.talk.ask(
            question,
            unit.label,
            partial(_quantity, field, unit),
            more=more,
            unknown=_unknown(f"{_words(defaults_of(self.given)[field])} {unit.symbol}"),
            topic=topic or field,
            preset=_number_or_none(self.preset.get(field)),
            settled=field in self.preset,
            shown=_words,
        )
        if value is not None:
            self.given[field] = value

    def _text(self, field: str) -> str | None:
        value = self.preset.get(field)
        return value if isinstance(value, str) else None


# --- Reading answers


def _quantity(field: str, unit: _Unit, text: str) -> float:
    """Return the number that ``text`` is in ``unit``, if a profile can have it in ``field``."""
    number = _number_in(text, unit.factors)
    if fault := fault_of(field, number):
        wanted = fault.partition(" (got ")[0]
        other = f"; or with its unit, such as {unit.other}" if unit.other else ""
        raise UnusableError(f"This {wanted}, in {unit.symbol} (got {shown(text)}){other}.")
    return cast("float", number)  # or it is faulty


def _number_in(text: str, factors: Mapping[str, float]) -> Value:
    """Return the number that ``text`` is, in the first of ``factors``, or else ``text`` itself."""
    found = _NUMBER.fullmatch(text.casefold())
    if found is None or not (found[2] or found[3] or found[4]):
        return text
    if found[5] and found[5] not in factors:
        return text
    part = "5" if found[4] else found[3] or "0"
    number = Decimal(f"{found[2] or '0'}.{part}")
    if found[1] in ("-", "−"):
        number = -number
    factor = factors.get(found[5], 1.0)
    return _plain(float(number) if factor == 1 else round(float(number) * factor, 1))


def _plain(number: float) -> int | float:
    return int(number) if float(number).is_integer() else number


def _name(text: str) -> str:
    if fault := fault_of("bowler", text):
        raise UnusableError(f"This {fault}.")
    return text


def _board(text: str) -> float:
    number = _number_in(text, _BOARDS.factors)
    line: Value = {"leave": "10", "stand": number, "target": 20}
    if fault := fault_of("known_lines", [line]):
        raise UnusableError(f"A board {fault}.")
    return cast("float", number)


def _slide(start: float, text: str) -> float:
    slide = _board(text)
    if fault := fault_of("stand.drift_boards", _plain(start - slide)):
        raise UnusableError(f"The drift, from start to slide, {fault}.")
    return slide


def _target(text: str) -> float:
    found = _ARROW.fullmatch(text.casefold())
    if found is None:
        return _board(text)
    word = found[2]
    if word in _MIDDLE:
        return CENTRE_BOARD
    if word and word not in _ORDINALS:
        raise UnusableError(f"There are {len(ARROW_BOARDS)} arrows: say 2nd arrow, or a board.")
    number = _ORDINALS.index(word) + 1 if word else int(found[1] or found[3])
    return ARROW_BOARDS[number - 1]


def _leave(taken: Sequence[str], text: str) -> Leave | None:
    folded = text.casefold()
    if folded in ("n", "no"):
        return None
    pins = [
        str(_NUMERALS.index(word) + 1) if word in _NUMERALS else word
        for word in _BETWEEN_PINS.split(folded)
        if word and word not in _ABOUT_PINS
    ]
    if not pins or not all(word.isdecimal() for word in pins):
        raise UnusableError(
            f"Name the pins that stand by their numbers, such as 3-10 (got {shown(text)})."
        )
    try:
        leave = Leave.parse("-".join(pins))
    except ValueError as error:
        message = str(error)
        raise UnusableError(f"{message[0].upper()}{message[1:]}.") from None
    if str(leave) in taken:
        raise UnusableError(f"The {_named(leave)} has its line already; name another leave.")
    return leave


# --- Words


def _unknown(default: str) -> str:
    return f"{default} if not known"


def _named(leave: Leave) -> str:
    return f"{leave} pin" if len(leave) == 1 else str(leave)


def _words(value: Value) -> str:
    if isinstance(value, float):
        value = _plain(value)
    return str(value)


def _way_said(walk: Value) -> str:
    ways = {way: word for word, way in _WALK_OF.items()}
    return ways.get(walk, _words(walk)) if isinstance(walk, int | float) else _words(walk)


def _said(topic: str, values: Mapping[str, Value], *, one: bool) -> str:
    """Return what is told of a topic; a measure in both units, so that a wrong one is seen."""
    if topic == _BAG_TOPIC:
        return "one for everything" if one else "one for spares, one for strikes"
    if topic == _TURN_TOPIC:
        rev, rotation = (_words(values[field]) for field in _TURN)
        return f"{rev} rpm, axis rotation {rotation} degrees"
    value = values[topic]
    text = _words(value)
    if not isinstance(value, int | float):
        return text
    match topic.rpartition(".")[2]:
        case "walk":
            return _WALK_WORDS.get(value, f"{text} of the way to along the line")
        case "distance_ft":
            return f"{text} ft ({value * FOOT_M:.1f} m) behind the foul line"
        case "weight_lb":
            return f"{text} lb ({value * POUND_KG:.1f} kg)"
        case "speed_mph":
            return f"{text} mph ({value * MPH_MPS / _KMH_MPS:.0f} km/h)"
        case "drift_boards" if value:
            return f"{_words(abs(value))} boards {'towards' if value > 0 else 'off'} the ball side"
    return f"{text} boards"


def _is_given(topic: str, given: Mapping[str, Value]) -> bool:
    fields = {_BAG_TOPIC: ("hand",), _TURN_TOPIC: _TURN}.get(topic, (topic,))
    return any(field in given for field in fields)


def line_topic(leave: str) -> str:
    """Return the topic of the bowler's own line for ``leave``."""
    return f"{_LINE_TOPIC}{leave}"


def _line_words(line: Mapping[str, Value]) -> str:
    ball = line.get("ball", "spare")
    return f"stand on {_words(line['stand'])}, look at {_words(line['target'])}, {ball} ball"


def _lines_of(given: Mapping[str, Value]) -> list[Mapping[str, Value]]:
    return _mappings(given.get("known_lines", []))


def _mappings(lines: Value) -> list[Mapping[str, Value]]:
    return [line for line in lines if isinstance(line, dict)] if isinstance(lines, list) else []


def _number_or_none(value: Value) -> float | None:
    return value if isinstance(value, int | float) else None


def _rank(name: str) -> int:
    return _LANE_ORDER.index(name) if name in _LANE_ORDER else len(_LANE_ORDER)
