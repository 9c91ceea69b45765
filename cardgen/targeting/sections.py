"""The sections a chart falls into, by how a leave is played."""

from collections.abc import Sequence
from enum import Enum

from cardgen.lane.rack import FULL_RACK, LeaveKind
from cardgen.profile.bowler import Bowler
from cardgen.targeting.firstball import FirstBall
from cardgen.targeting.line import Line, Play


class Section(Enum):
    """A part of a booklet, in reading order."""

    STRIKE = "strike"
    SINGLES = "singles"
    SLEEPERS = "sleepers"
    CLUSTERS = "clusters"
    SPLITS = "splits"
    WASHOUTS = "washouts"
    COUNT = "count"


_BY_KIND = {
    LeaveKind.SINGLE: Section.SINGLES,
    LeaveKind.SLEEPER: Section.SLEEPERS,
    LeaveKind.OTHER: Section.CLUSTERS,
    LeaveKind.SPLIT: Section.SPLITS,
    LeaveKind.WASHOUT: Section.WASHOUTS,
}
_ORDER = {section: place for place, section in enumerate(Section)}


def section_of(line: Line) -> Section:
    """Return the section of ``line``: by the kind of its leave, but for those played for count."""
    if line.leave == FULL_RACK:
        return Section.STRIKE
    return Section.COUNT if line.play is Play.COUNT else _BY_KIND[line.leave.kind]


def in_sections(lines: Sequence[Line], bowler: Bowler, first: FirstBall | None) -> list[Line]:
    """Return ``lines`` by section, in each the leaves first that this bowler faces most."""
    shares = {} if first is None else first.shares
    return sorted(
        lines,
        key=lambda line: (
            _ORDER[section_of(line)],
            -round(shares.get(line.leave, 0.0), 6),
            bowler.inside(line.leave),
        ),
    )
