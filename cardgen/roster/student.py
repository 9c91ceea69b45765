"""A student of a clinic, and what a roster says of him beyond a profile."""

import unicodedata
from dataclasses import dataclass
from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from cardgen.profile.loader import LoadedProfile
from cardgen.profile.schema import Model

MAX_COPIES = 500
MAX_GROUP = 100
"""Characters of a group's name; a longer text is a mistake of the file."""


@dataclass(frozen=True)
class Student:
    """A student's profile, the group he is in (or ""), and how many of each sheet he gets.

    ``row`` is where he stands: the line of a text or YAML file, the row of a workbook's sheet.
    """

    loaded: LoadedProfile
    group: str
    copies: int
    row: int


def _of_printable_characters(text: str) -> str:
    stripped = text.strip()
    if bad := next((c for c in stripped if unicodedata.category(c) in _UNPRINTABLE), None):
        message = "must be printable characters (it has U+{code})"
        raise PydanticCustomError("unprintable", message, {"code": f"{ord(bad):04X}"})
    return stripped


_UNPRINTABLE = {"Cc", "Cs", "Zl", "Zp"}


class Place(Model):
    """What a roster says of a student that no profile does."""

    group: Annotated[
        str,
        Field(max_length=MAX_GROUP, description="The group of the clinic that he is in."),
        AfterValidator(_of_printable_characters),
    ] = ""
    copies: Annotated[
        int, Field(ge=1, le=MAX_COPIES, description="How many of each sheet to print for him.")
    ] = 1
    profile: Annotated[
        str | None, Field(max_length=500, description="A profile beside the roster.")
    ] = None
