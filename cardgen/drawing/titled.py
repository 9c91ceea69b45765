"""A page that begins with its title, and a column made a scene."""

from cardgen.drawing.column import Column
from cardgen.drawing.scene import Scene, Weight
from cardgen.drawing.theme import RULE, Format


def titled(title: str, fmt: Format) -> Column:
    """Return a page's column with its title and a rule set."""
    page = Column(fmt.margin_mm, fmt.margin_mm, fmt.inner_width_mm, leading=fmt.leading)
    page.text(title, fmt.head_pt, Weight.BOLD, name="title")
    page.space(0.2)
    page.rule(RULE)
    page.space(2.4 * fmt.body_scale)
    return page


def finished(column: Column, fmt: Format, title: str) -> Scene:
    """Return the page that ``column`` fills; ``title`` is its entry in the outline, if any."""
    return Scene(fmt.width_mm, fmt.height_mm, tuple(column.items), title=title, safe_mm=fmt.safe_mm)
