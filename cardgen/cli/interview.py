"""The questions from which ``cardgen new`` makes a profile, in a coach's words."""

import re
import textwrap
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import partial
from typing import cast

from cardgen.cli.conversation import Conversation, UnusableError
from cardgen.cli.lanesketch import STAND_MARK, TARGET_MARK, Strokes, lane_sketch
from cardgen.cli.tables import aligned
from cardgen.lane.geometry import BOARDS, Hand
from cardgen.lane.rack import Leave
from cardgen.profile.composing import defaults_of, fault_of
from cardgen.profile.intake import lane_names
from cardgen.profile.schema import MAX_KNOWN_LINES
from cardgen.units import FOOT_M, MPH_MPS, POUND_KG
from cardgen.yamlsource import Value

# As people write numbers: a decimal comma, a half as on the cards, a typographic minus; a unit.
_NUMBER = re.compile(r"([-+−]?)([0-9]{0,9})(?:[.,]([0-9]{0,9})|(½))?\s*([a-z/]*)\.?")
_BETWEEN_PINS = re.compile(r"[\s,/–-]+")
_KMH_MPS = 1 / 3.6

_LENGTHS = {"ft": 1.0, "feet": 1.0, "foot": 1.0, "m": 1 / FOOT_M}
_WEIGHTS = {"lb": 1.0, "lbs": 1.0, "pounds": 1.0, "kg": 1 / POUND_KG}
_SPEEDS = {"mph": 1.0, "km/h": _KMH_MPS / MPH_MPS, "kmh": _KMH_MPS / MPH_MPS}
_BOARD_UNITS = {"board": 1.0, "boards": 1.0}

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
    "flat": "for sport: nearly as much oil outside as in the middle",
    "dry": "little oil, or many games since it was put down",
}
_LANE_ORDER = tuple(_LANES)
_BALLS = (("spare", "the ball for spares, thrown straight"), ("strike", "thrown as for a strike"))


def interview(
    talk: Conversation, preset: Mapping[str, Value], *, name: str, strokes: Strokes
) -> dict[str, Value]:
    """Return what is answered, by dotted path of the profile's fields; it is a profile.

    ``preset`` has answers to start from, ``name`` what the bowler is called where nobody says.
    """
    return _Interview(talk, preset, strokes).given_by(name)


def summary(given: Mapping[str, Value], width: int) -> list[str]:
    """Return the lines that tell what a profile says, and where it says nothing.

    They are ``width`` columns wide at most, if a label and a word go into that.
    """
    values = {**defaults_of(given), **given}
    rows = [
        (label, f"{_said(field, values[field])}{unit}{'' if field in given else ' (default)'}")
        for label, field, unit in _SUMMARY
    ]
    rows += [("Line", _line_words(line)) for line in _lines_of(given)]
    room = width - max(len(label) for label, _ in rows) - len("  ")
    return list(
        aligned(
            [
                ("" if again else label, line)
                for label, text in rows
                for again, line in enumerate(textwrap.wrap(text, max(room, 12)))
            ]
        )
    )


_SUMMARY = (
    ("Name", "bowler", ""),
    ("Hand", "hand", ""),
    ("Style", "style", ""),
    ("Steadiness", "spread", ""),
    ("Start", "stand.distance_ft", " ft"),
    ("Foot to ball", "stand.ball_gap_boards", " boards"),
    ("Walk", "stand.walk", ""),
    ("Drift", "stand.drift_boards", " boards"),
    ("Spare ball", "balls.spare.cover", ""),
    ("", "balls.spare.weight_lb", " lb"),
    ("", "balls.spare.speed_mph", " mph"),
    ("Strike ball", "balls.strike.cover", ""),
    ("", "balls.strike.weight_lb", " lb"),
    ("", "balls.strike.speed_mph", " mph"),
    ("", "balls.strike.rev_rpm", " rpm"),
    ("", "balls.strike.rotation_deg", " degrees"),
    ("Lane", "lane", ""),
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
        self.talk.say("== 1 of 5: the bowler ==")
        known = self._text("bowler")
        self.given["bowler"] = self.talk.ask(
            "What is the bowler's name?",
            "name",
            _name,
            more="It is printed on covers and cards. A nickname will do.",
            unknown="",
            preset=name if known is None else known,
        ) or (name if known is None else known)
        self.given["hand"] = (
            self.talk.choose(
                "Which hand bowls?",
                _HANDS,
                more="Boards count from the side of this hand: from the right for a right-hander, "
                "from the left for a left-hander.",
                preset=self._text("hand") or "right",
            )
            or "right"
        )
        side, other = ("right", "left") if self.hand is Hand.RIGHT else ("left", "right")
        self.talk.say(
            f"From here on boards count from your {side}: board 1 is beside the {side} gutter, "
            f"board {BOARDS} beside the {other} one."
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
        self.talk.say("== 2 of 5: start and walk ==")
        self._number(
            "stand.distance_ft",
            "How far behind the foul line is your slide foot when you start?",
            "feet",
            f"The slide foot is the one that slides at the end, your {foot} one. The two rows of "
            "dots on the approach are mostly 12 and 15 feet behind the foul line.",
            _LENGTHS,
        )
        self._number(
            "stand.ball_gap_boards",
            "When you set the ball down, how many boards is its middle away from your slide foot?",
            "boards",
            "Count from the mark on the shoe by which you take your stand, towards your ball side. "
            "Let somebody look from behind, or set the ball down beside your foot; keep behind the "
            "foul line.",
            _BOARD_UNITS,
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
            preset=None if preset is None else _said("stand.walk", preset),
        )
        if chosen is not None:
            self.given["stand.walk"] = _WALK_OF.get(chosen, preset)

    def _drift(self) -> None:
        if "stand.drift_boards" in self.preset:
            self._number(
                "stand.drift_boards",
                "How far does your slide end from where you walk to, towards your ball side?",
                "boards",
                "Less than nothing is away from your ball side.",
                _BOARD_UNITS,
            )
            return
        none = _unknown("no drift")
        start = self.talk.ask(
            "Think of a ball rolled straight up the boards. On which board does your slide foot "
            "start?",
            "board",
            _board,
            more="Start and slide tell how far your walk drifts to a side, which most do without "
            "knowing. Look down at the start and again when you have stopped.",
            unknown=none,
        )
        if start is None:
            return
        slide = self.talk.ask(
            "And on which board does it slide?",
            "board",
            partial(_slide, start),
            more="The board under the same mark of the shoe when you have set the ball down.",
            unknown=none,
        )
        if slide is not None:
            self.given["stand.drift_boards"] = _plain(start - slide)

    def _balls(self) -> None:
        self.talk.say(
            "== 3 of 5: the balls ==",
            "A ball should be light enough to swing without squeezing it. Children need light "
            "ones; let the centre's staff fit them.",
        )
        bag = self.talk.choose(
            "Do you throw another ball at spares than at strikes?",
            _BAGS,
            more="A ball that hardly hooks depends on the lane least, so many keep one for spares. "
            "Without it the one ball is thrown as straight as you can at most spares.",
            preset="two",
        )
        one = bag == "one"
        weight = "The number on the ball is its weight in pounds; you may also answer in kg."
        cover = (
            "The maker's sheet tells. In doubt a ball with a bright, hard, glassy cover is plastic."
        )
        if one:
            self._choice("balls.spare.cover", "What is its cover?", _COVERS, cover, keep=True)
            self.given["balls.strike.cover"] = self.given["balls.spare.cover"]
            self._number("balls.spare.weight_lb", "What does it weigh?", "pounds", weight, _WEIGHTS)
            if "balls.spare.weight_lb" in self.given:
                self.given["balls.strike.weight_lb"] = self.given["balls.spare.weight_lb"]
        else:
            for ball, _ in _BALLS:
                self._choice(
                    f"balls.{ball}.cover", f"What is the cover of the {ball} ball?", _COVERS, cover
                )
                self._number(
                    f"balls.{ball}.weight_lb",
                    f"What does the {ball} ball weigh?",
                    "pounds",
                    weight,
                    _WEIGHTS,
                )
        self._throws(one=one)

    def _throws(self, *, one: bool) -> None:
        for ball, _ in _BALLS:
            how = "straight at a spare" if ball == "spare" else "for a strike"
            self._number(
                f"balls.{ball}.speed_mph",
                f"How fast is {'the' if one else f'the {ball}'} ball, thrown {how}?",
                "miles per hour",
                "As it leaves your hand. A display behind the lane may tell less. You may also "
                "answer in km/h.",
                _SPEEDS,
            )
        turn = ("balls.strike.rev_rpm", "balls.strike.rotation_deg")
        if not self.talk.agree(
            "Has anybody measured how you turn the ball for a strike (rev rate, axis rotation)?",
            more="Cameras and some coaches do. If nobody did, what is usual for your style counts.",
            preset=any(field in self.preset for field in turn),
        ):
            return
        self._number(
            turn[0],
            "What is your rev rate?",
            "turns a minute",
            "How often the ball turns about itself in a minute as it leaves your hand.",
            {"rpm": 1.0},
        )
        self._number(
            turn[1],
            "What is your axis rotation?",
            "degrees",
            "0 rolls straight on, 90 spins sideways.",
            {"deg": 1.0, "degrees": 1.0},
        )

    def _lane(self) -> None:
        names = sorted(lane_names(), key=lambda name: (_rank(name), name))
        self.talk.say("== 4 of 5: the lane ==")
        self._choice(
            "lane",
            "What is the oil like where you bowl?",
            [(name, _LANES.get(name, "")) for name in names],
            "The centre's desk can tell how far the oil reaches. You can describe a lane of your "
            "own in the profile later.",
        )

    def _known_lines(self) -> None:
        self.talk.say(
            "== 5 of 5: lines you make already ==",
            "A line is where you stand and where you look. One or two that you trust tell more "
            "than all of the above, and they are kept as they are.",
        )
        given = {str(line["leave"]): line for line in _lines_of(self.preset)}
        corners = ("10", "7") if self.hand is Hand.RIGHT else ("7", "10")
        lines: list[Value] = []
        asked = list(dict.fromkeys([*given, *corners]))
        for leave in asked:
            self._line(Leave.parse(leave), given.get(leave, {}), lines)
        while len(lines) < MAX_KNOWN_LINES:
            more = self.talk.ask(
                "Is there another leave that you have a line for?",
                "pins",
                partial(_leave, [str(line["leave"]) for line in _mappings(lines)]),
                more="Name the pins that stand, with dashes, such as 3-10. Leave out what you only "
                "hope to make. Enter ends the questions.",
                unknown="no more",
            )
            if more is None:
                break
            self._line(more, {}, lines)
        if lines:
            self.given["known_lines"] = lines

    def _line(self, leave: Leave, known: Mapping[str, Value], lines: list[Value]) -> None:
        name = _named(leave)
        self._sketch(leave)
        stand = self.talk.ask(
            f"When you make the {name}, on which board is your slide foot at the start? Count from "
            f"your {self.hand.value}.",
            "board",
            _board,
            more="The board under the mark on your shoe by which you take your stand. Half boards "
            "are fine. Skip this if you have no line that you trust.",
            unknown="no line",
            preset=_number_or_none(known.get("stand")),
            shown=_words,
        )
        if stand is None:
            return
        target = self.talk.ask(
            "And over which board does the ball roll at the arrows, when it goes well?",
            "board",
            _board,
            more="The board that you look at. The arrows are on boards 5, 10, 15, 20, 25, 30 and "
            "35; the middle one is 20.",
            unknown="no line",
            preset=_number_or_none(known.get("target")),
            shown=_words,
        )
        if target is None:
            return
        ball = self.talk.choose(
            "With which ball?",
            _BALLS,
            more="With one ball for everything: spare if you throw it straight, strike if you let "
            "it hook.",
            preset=str(known.get("ball", "spare")),
        )
        line: dict[str, Value] = {
            "leave": str(leave),
            "stand": stand,
            "target": target,
            "ball": ball or "spare",
        }
        lines.append(line)
        self._sketch(leave, stand, target)

    def _sketch(
        self, leave: Leave, stand: float | None = None, target: float | None = None
    ) -> None:
        drawing = lane_sketch(
            self.hand,
            leave,
            width=self.talk.width - 1,
            strokes=self.strokes,
            stand=stand,
            target=target,
        )
        self.talk.show(["", *drawing] if drawing else [])
        if stand is not None and target is not None:
            self.talk.say(
                f"So: the {_named(leave)}, stand on {_words(stand)} ({STAND_MARK}), look at "
                f"{_words(target)} ({TARGET_MARK})."
            )

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
            question, options, more=more, unknown=_unknown(default), preset=self._text(field)
        )
        if chosen is not None or keep:
            self.given[field] = chosen or default

    def _number(
        self, field: str, question: str, label: str, more: str, units: Mapping[str, float]
    ) -> None:
        def read(text: str) -> float:
            return cast("float", _checked(field, _number_in(text, units)))  # or it is faulty

        value = self.talk.ask(
            question,
            label,
            read,
            more=more,
            unknown=_unknown(_words(defaults_of(self.given)[field])),
            preset=_number_or_none(self.preset.get(field)),
            shown=_words,
        )
        if value is not None:
            self.given[field] = value

    def _text(self, field: str) -> str | None:
        value = self.preset.get(field)
        return value if isinstance(value, str) else None


# --- Reading answers


def _checked(field: str, value: Value) -> Value:
    """Return ``value`` if a profile can have it in ``field``.

    Raises UnusableError, which tells what it can have there.
    """
    if fault := fault_of(field, value):
        raise UnusableError(f"This {fault}.")
    return value


def _number_in(text: str, units: Mapping[str, float]) -> Value:
    """Return the number that ``text`` is, in the first of ``units``, or else ``text`` itself."""
    found = _NUMBER.fullmatch(text.casefold())
    if found is None or not (found[2] or found[3] or found[4]):
        return text
    if found[5] and found[5] not in units:
        return text
    part = "5" if found[4] else found[3] or "0"
    number = Decimal(f"{found[2] or '0'}.{part}")
    if found[1] in ("-", "−"):
        number = -number
    factor = units.get(found[5], 1.0)
    return _plain(float(number) if factor == 1 else round(float(number) * factor, 1))


def _plain(number: float) -> int | float:
    return int(number) if float(number).is_integer() else number


def _name(text: str) -> str:
    _checked("bowler", text)
    return text


def _board(text: str) -> float:
    number = _number_in(text, _BOARD_UNITS)
    line: Value = {"leave": "10", "stand": number, "target": 20}
    if fault := fault_of("known_lines", [line]):
        raise UnusableError(f"A board {fault}.")
    return cast("float", number)


def _slide(start: float, text: str) -> float:
    slide = _board(text)
    if fault := fault_of("stand.drift_boards", _plain(start - slide)):
        raise UnusableError(f"The drift, from start to slide, {fault}.")
    return slide


def _leave(taken: Sequence[str], text: str) -> Leave:
    pins = _BETWEEN_PINS.sub("-", text.casefold().removesuffix("pin").strip())
    try:
        leave = Leave.parse(pins)
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


def _said(field: str, value: Value) -> str:
    ways = {way: word for word, way in _WALK_OF.items()}
    if field == "stand.walk" and isinstance(value, int | float):
        return ways.get(value, _words(value))
    return _words(value)


def _line_words(line: Mapping[str, Value]) -> str:
    leave = _named(Leave.parse(str(line["leave"])))
    ball = line.get("ball", "spare")
    return f"{leave}: {_words(line['stand'])} over {_words(line['target'])}, {ball} ball"


def _lines_of(given: Mapping[str, Value]) -> list[Mapping[str, Value]]:
    return _mappings(given.get("known_lines", []))


def _mappings(lines: Value) -> list[Mapping[str, Value]]:
    return [line for line in lines if isinstance(line, dict)] if isinstance(lines, list) else []


def _number_or_none(value: Value) -> float | None:
    return value if isinstance(value, int | float) else None


def _rank(name: str) -> int:
    return _LANE_ORDER.index(name) if name in _LANE_ORDER else len(_LANE_ORDER)
