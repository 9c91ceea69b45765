"""A template ready for use: every choice of its design made, its centre's logo read."""

from dataclasses import dataclass, field

from cardgen.templating.logo import Logo
from cardgen.templating.schema import (
    BACK_PANELS,
    FACE_PANELS,
    MOST_NOTES,
    BackPanel,
    Corners,
    FacePanel,
    Figures,
    FigureWeight,
    Pattern,
)


@dataclass(frozen=True)
class Colours:
    """Inks as ``#rrggbb``: of headings and labels, of the path, of bars and rules; and a tint."""

    heading: str = "#1B3A75"
    path: str = "#B5450F"
    mark: str = "#4A98C9"
    tint: str = "#E3EFF6"


@dataclass(frozen=True)
class Design:
    """How a card looks; the defaults are the plain design.

    ``face`` and ``back`` are panels in order: a face has its lane at the left if that comes first,
    else at the right. ``notes`` is how many a back has at most. ``size`` is that of its cards,
    ``cheer`` its own line; empty for the usual size, and for none.
    """

    name: str = "plain"
    face: tuple[FacePanel, ...] = FACE_PANELS
    back: tuple[BackPanel, ...] = BACK_PANELS
    notes: int = MOST_NOTES
    colours: Colours = field(default_factory=Colours)
    size: str = ""
    corners: Corners = "square"
    figures: Figures = "regular"
    weight: FigureWeight = "bold"
    pattern: Pattern = "open"
    cheer: str = ""


@dataclass(frozen=True)
class Centre:
    """A centre's branding; whatever it does not have is empty.

    ``lanes`` are its own facts of its lanes, ``footer`` the last line of handouts.
    """

    name: str = ""
    logo: Logo | None = None
    contact: str = ""
    lanes: tuple[str, ...] = ()
    footer: str = ""

    @property
    def texts(self) -> tuple[str, ...]:
        """All that it says."""
        said = (self.name, self.contact, *self.lanes, self.footer)
        return tuple(text for text in said if text)


@dataclass(frozen=True)
class Template:
    """A design, and the centre whose cards they are."""

    design: Design = field(default_factory=Design)
    centre: Centre = field(default_factory=Centre)


PLAIN = Design()
"""The design of cards that nobody has chosen one for."""
