"""What a template can say: the fields with their choices, limits and defaults (schema 1)."""

import re
import unicodedata
from collections.abc import Mapping
from typing import Annotated, Any, Literal, TypeAlias

from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    WithJsonSchema,
)
from pydantic_core import PydanticCustomError

from cardgen.profile.schema import ONE_OF, Model

FacePanel: TypeAlias = Literal[
    "lane", "leave", "kind", "call", "arrow", "imagine", "ball", "own", "count", "cheer"
]
"""What a card's face can show: the lane's drawing; the leave's name, and its kind; stand and
target; the target by the arrows; the pin to imagine; the ball and how to throw it; whose line it
is or that it comes from defaults; where boards are counted from; the design's own line."""
BackPanel: TypeAlias = Literal["chance", "room", "miss", "notes"]
"""What its back can show: the chance; the room at the target; what to move after a miss; notes."""
Corners: TypeAlias = Literal["square", "round"]
Figures: TypeAlias = Literal["regular", "large"]
FigureWeight: TypeAlias = Literal["medium", "bold"]
Pattern: TypeAlias = Literal["open", "blocks"]

FACE_PANELS: tuple[FacePanel, ...] = (
    "lane",
    "leave",
    "kind",
    "call",
    "arrow",
    "imagine",
    "ball",
    "own",
    "count",
)
NEEDED_ON_FACE: tuple[FacePanel, ...] = ("lane", "leave", "call", "imagine", "ball", "own")
"""Without these a card does not say what to do, or hides what it rests on."""
BACK_PANELS: tuple[BackPanel, ...] = ("chance", "room", "miss", "notes")
NEEDED_ON_BACK: tuple[BackPanel, ...] = ("chance", "notes")
"""Without these a card does not say how sure it is."""
LEAST_NOTES, MOST_NOTES = 2, 12
"""Two at least: how sure a card is, is the second note at the latest."""
MOST_LANES = 3


_SIZE = re.compile(r"[a-z][a-z0-9-]{0,19}|\d+(\.\d+)? *x *\d+(\.\d+)?")


def _on_one_line(text: str) -> str:
    stripped = unicodedata.normalize("NFC", text.strip())
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


def _of_cards(text: str) -> str:
    """Refuse what is no size; which formats there are is for whoever draws them to say."""
    if not _SIZE.fullmatch(text.strip()):
        raise PydanticCustomError("size", "must be a format by name, or millimetres such as 60x90")
    return text.strip()


def _whole(given: object) -> object:
    """Keep ``true`` and ``1.0`` from passing for 1, to which they are equal."""
    if type(given) is not int:
        raise PydanticCustomError("version", "must be 1")
    return given


def _alternative(given: object) -> str:
    return ONE_OF + ("values" if isinstance(given, Mapping | Model) else "name")


def _said(text: str, items: dict[str, Any]) -> WithJsonSchema:
    """Return the schema of a list that a message can call by its ``text``."""
    return WithJsonSchema({"type": "array", "const": text, "items": items})


_Line: TypeAlias = Annotated[str, AfterValidator(_on_one_line)]
_Colour: TypeAlias = Annotated[str, Field(max_length=40)]
_Cheer: TypeAlias = Annotated[_Line, Field(max_length=48)]
_LANE_FACT = 56
_LaneFact: TypeAlias = Annotated[_Line, Field(max_length=_LANE_FACT)]


class ColoursSpec(Model):
    """Colours as ``#rrggbb``; the loader looks at their contrast."""

    heading: Annotated[
        _Colour | None, Field(description="Headings, labels, stand and walk: text.")
    ] = None
    path: Annotated[_Colour | None, Field(description="The ball's path, and nothing else.")] = None
    mark: Annotated[_Colour | None, Field(description="Bars, rules and the cover's arrows.")] = None
    tint: Annotated[_Colour | None, Field(description="Areas behind text.")] = None


class CheerSpec(Model):
    """The design's own line on each face, by language."""

    en: _Cheer | None = None
    es: _Cheer | None = None
    de: _Cheer | None = None
    fr: _Cheer | None = None
    ja: _Cheer | None = None
    ko: _Cheer | None = None


class DesignSpec(Model):
    """A design; what is left out is as in the design it is ``like``."""

    like: Annotated[str | None, Field(description="The shipped design to start from.")] = None
    face: Annotated[
        tuple[FacePanel, ...] | None,
        Field(strict=False, min_length=1, max_length=10),
        _said(
            "a list of panels",
            {"enum": [*FACE_PANELS, "cheer"], "type": "string"},
        ),
    ] = None
    back: Annotated[
        tuple[BackPanel, ...] | None,
        Field(strict=False, min_length=1, max_length=4),
        _said("a list of panels", {"enum": list(BACK_PANELS), "type": "string"}),
    ] = None
    notes: Annotated[
        Annotated[int, Field(ge=LEAST_NOTES, le=MOST_NOTES)] | None,
        Field(description="How many notes a back has at most, the most useful first."),
    ] = None
    colours: ColoursSpec = ColoursSpec()
    size: Annotated[
        Annotated[str, AfterValidator(_of_cards)] | None,
        Field(description="Size of cards: a format by name, or millimetres such as 60x90."),
    ] = None
    corners: Corners | None = None
    figures: Figures | None = None
    weight: FigureWeight | None = None
    pattern: Pattern | None = None
    cheer: CheerSpec | None = None


class CentreSpec(Model):
    """A centre, as it stands on what it hands out."""

    name: Annotated[
        Annotated[_Line, Field(max_length=60)] | None, Field(description="The centre's name.")
    ] = None
    logo: Annotated[
        Annotated[_Line, Field(max_length=200)] | None,
        Field(description="A file .svg or .png in this template's own folder."),
    ] = None
    contact: Annotated[
        Annotated[_Line, Field(max_length=80)] | None, Field(description="How to reach the centre.")
    ] = None
    lanes: Annotated[
        tuple[_LaneFact, ...],
        Field(strict=False, max_length=MOST_LANES),
        _said(
            f"a list of at most {MOST_LANES} texts",
            {"type": "string", "maxLength": _LANE_FACT},
        ),
    ] = ()
    footer: Annotated[
        Annotated[_Line, Field(max_length=100)] | None,
        Field(description="The last line of handouts."),
    ] = None


class TemplateSpec(Model):
    """A template: a design, and a centre."""

    model_config = ConfigDict(title="Card template, schema 1")

    schema_version: Annotated[
        Literal[1],
        BeforeValidator(_whole, json_schema_input_type=Literal[1]),
        Field(alias="schema"),
    ] = 1
    design: Annotated[
        Annotated[_Line, Field(max_length=60), Tag(f"{ONE_OF}name")]
        | Annotated[DesignSpec, Tag(f"{ONE_OF}values")],
        Discriminator(_alternative),
    ] = DesignSpec()
    centre: CentreSpec = CentreSpec()
