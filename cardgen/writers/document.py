"""What a document says of itself, whatever its format."""

from dataclasses import dataclass
from typing import Literal

from cardgen.drawing.scene import Scene
from cardgen.drawing.told import title_of


@dataclass(frozen=True)
class DocumentInfo:
    """Title, subject, author, language (a BCP 47 tag), and on which edge a two-sided print flips.

    ``duplex`` None leaves one side or two to whoever prints.
    """

    title: str
    subject: str = ""
    author: str = ""
    language: str = "en"
    duplex: Literal["long-edge", "short-edge"] | None = None


def page_title(scene: Scene, info: DocumentInfo) -> str:
    """Return what a page is called where it stands alone: its own name, and its document's."""
    own = title_of(scene)
    if not own or info.title.startswith(own):
        return info.title
    return f"{own} · {info.title}" if info.title else own
