"""A log of shots as a table that a spreadsheet opens and :mod:`cardgen.shotlog.reading` reads."""

import csv
import io
from collections.abc import Iterable

from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.shotlog.columns import COLUMNS, STRIKE
from cardgen.shotlog.shot import Shot
from cardgen.shotlog.table import TEXT_MARK

_MARKED = ("=", "+", "-", "@", TEXT_MARK)


def csv_of(shots: Iterable[Shot]) -> str:
    """Return ``shots`` as comma-separated text with a header and bare line feeds.

    A note that a spreadsheet would take for a formula comes with a mark that makes it text.
    """
    file = io.StringIO()
    writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for shot in shots:
        cells = cells_of(shot)
        if cells["note"].startswith(_MARKED):
            cells["note"] = TEXT_MARK + cells["note"]
        writer.writerow(cells)
    return file.getvalue()


def cells_of(shot: Shot) -> dict[str, str]:
    """Return the text of each column of ``shot``, in the order of the columns."""
    return {
        "date": shot.date.isoformat() if shot.date else "",
        "ball": shot.ball,
        "leave": _leave(shot.leave),
        "stand_board": _number(shot.stand),
        "target_board": _number(shot.target),
        "arrows_board": _number(shot.arrows),
        "pins_board": _number(shot.arrive),
        "result": shot.result.value if shot.result else "",
        "off_boards": _number(shot.off_boards),
        "speed_mph": _number(shot.speed_mph),
        "note": shot.note,
    }


def _leave(leave: Leave) -> str:
    """Return the pins with spaces, which no spreadsheet takes for a date."""
    return STRIKE if leave == FULL_RACK else " ".join(map(str, leave))


def _number(number: float | None) -> str:
    if number is None:
        return ""
    short = f"{number:g}"
    return short if float(short) == number else repr(number)
