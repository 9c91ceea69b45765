"""What a document says of itself, whatever its format."""

from dataclasses import dataclass
from typing import Literal


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
