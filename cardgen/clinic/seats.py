"""Who sits in a clinic: the students of a roster, by groups, under the name that is printed."""

import pickle
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from cardgen.chartcache import key_of
from cardgen.drawing.fonts import missing_glyphs
from cardgen.profile.bowler import bowler_of
from cardgen.profile.loader import LoadedProfile
from cardgen.roster.student import Student

_NAMELESS = "–"


@dataclass(frozen=True)
class Seat:
    """One student: where in the roster, under what name, with what physics.

    ``packed`` is the profile as bytes: ten thousand of them are a few megabytes, and few are in use
    at a time. ``key`` names the answers that the profile needs.
    """

    row: int
    name: str
    group: str
    copies: int
    key: str
    packed: bytes

    @property
    def loaded(self) -> LoadedProfile:
        """The profile, under the printed name."""
        loaded: LoadedProfile = pickle.loads(self.packed)
        profile = loaded.profile.model_copy(update={"bowler": self.name})
        return replace(loaded, profile=profile)


class Register:
    """Takes students in, one by one, and knows whom it has seen before under another name."""

    def __init__(self) -> None:
        self._keys: dict[tuple[str, str, frozenset[str]], str] = {}

    def seat(self, student: Student) -> Seat:
        """Return the seat of a student."""
        loaded = student.loaded
        return Seat(
            student.row,
            printed(loaded.profile.bowler),
            printed(student.group) if student.group else "",
            student.copies,
            self._key(loaded),
            pickle.dumps(loaded, protocol=5),
        )

    def _key(self, loaded: LoadedProfile) -> str:
        profile = loaded.profile.model_copy(update={"bowler": ""})
        told = (profile.model_dump_json(), loaded.lane.model_dump_json(), loaded.given)
        if told not in self._keys:
            self._keys[told] = key_of(bowler_of(loaded))
        return self._keys[told]


def by_groups(seats: Iterable[Seat]) -> list[Seat]:
    """Return the seats group by group, groups and their students in the roster's order."""
    groups: dict[str, list[Seat]] = {}
    for seat in seats:
        groups.setdefault(seat.group, []).append(seat)
    return [seat for group in groups.values() for seat in group]


def with_initials(seats: Sequence[Seat]) -> list[Seat]:
    """Return the seats under their initials; where two would read alike, numbered in order."""
    initials = [initials_of(seat.name) for seat in seats]
    shared = Counter(initials)
    seen: Counter[str] = Counter()

    def numbered() -> Iterator[Seat]:
        for seat, letters in zip(seats, initials, strict=True):
            seen[letters] += 1
            name = f"{letters} {seen[letters]}" if shared[letters] > 1 else letters
            yield replace(seat, name=name)

    return list(numbered())


def initials_of(name: str) -> str:
    """Return ``A. B.`` of ``Ana Bell``; of a name in one word, its first letter."""
    letters = (next((c for c in word if c.isalnum()), "") for word in name.split())
    return " ".join(f"{letter.upper()}." for letter in letters if letter) or _NAMELESS


def printed(name: str) -> str:
    """Return what fonts can print of a name or title, in composed letters; of nothing, a dash."""
    name = unicodedata.normalize("NFC", name)
    missing = missing_glyphs(name)
    return " ".join("".join(c for c in name if c not in missing).split()) or _NAMELESS
