"""The pocket booklet's eight pages."""

from cardgen.cards.pocket import Pocket
from cardgen.drawing.branding import signed
from cardgen.drawing.pages import NO_TEMPLATE, page_scenes
from cardgen.drawing.scene import Scene
from cardgen.drawing.theme import Format
from cardgen.errors import UsageError
from cardgen.templating.template import Template

PAGES = 8
"""What one sheet, folded three times and slit, makes."""


def pocket_scenes(pocket: Pocket, fmt: Format, template: Template = NO_TEMPLATE) -> list[Scene]:
    """Return the eight pages in reading order: cautions at the end, notes where there is room.

    As many faces as there is room for come after the list of lines, which has them all. Raises
    UsageError if even the list does not fit.
    """
    front = [*page_scenes(pocket.cover, fmt, template), *page_scenes(pocket.few, fmt)]
    end = page_scenes(pocket.cautions, fmt)
    branded = signed(end, template.centre, fmt, facts=True)
    end = branded if len(branded) == len(end) else end  # the cover has it anyway
    room = PAGES - len(front) - len(end)
    if room < 0:
        raise UsageError(
            f"the lines take {len(front) + len(end)} pages, and one sheet makes {PAGES}: "
            "ask for fewer lines"
        )
    faces = [scene for face in pocket.faces[:room] for scene in page_scenes(face, fmt, template)]
    notes = page_scenes(pocket.notes, fmt) * (room - len(faces))
    return [*front, *faces, *notes, *end]
