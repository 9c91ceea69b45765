"""Perforated stock: sheets whose cards break out, as data that users can add to.

``templates/stock.yaml`` has the presets; a file of the user's own has the same form.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from cardgen.errors import InputError, UsageError
from cardgen.profile.complaints import near, problems_of
from cardgen.profile.schema import Model
from cardgen.resources import data_folder
from cardgen.sheets.grids import Grid
from cardgen.sheets.papers import SHEETS, SLACK_MM, Size
from cardgen.yamlsource import load_yaml

FORGIVEN_MM = 1.0
"""How much of a card may be lost at each edge, or left white: well inside a card's safe margin."""

_Length = Annotated[float, Field(gt=0, le=1000)]
_Space = Annotated[float, Field(ge=0, le=1000)]
_Count = Annotated[int, Field(ge=1, le=100)]


class StockSpec(Model):
    """One kind of stock, in millimetres: its places from the paper's top left corner."""

    name: Annotated[str, Field(min_length=1, max_length=60)]
    paper: Literal["a3", "a4", "a5", "a6", "letter", "half-letter"]
    columns: _Count
    rows: _Count
    width_mm: _Length
    height_mm: _Length
    left_mm: _Space
    top_mm: _Space
    gap_x_mm: _Space = 0.0
    gap_y_mm: _Space = 0.0


class StockFile(Model):
    """A file of stocks."""

    stocks: Annotated[list[StockSpec], Field(min_length=1)]


@dataclass(frozen=True)
class Stock:
    """A sheet of ``columns`` x ``rows`` places that break out."""

    name: str
    paper: Size
    columns: int
    rows: int
    place: Size
    left_mm: float
    top_mm: float
    gap_x_mm: float = 0.0
    gap_y_mm: float = 0.0

    def grid(self, card: Size) -> Grid:
        """Return the places, for a card of that size, turned if it lies otherwise than they do.

        Raises UsageError if the card is not, give or take ``FORGIVEN_MM`` an edge, a place's size.
        """
        place = self.place
        turns = next((t for t in (0, 1) if _is_like(card.turned if t else card, place)), None)
        if turns is None:
            raise UsageError(
                f"a card of {card.text} is not of the size of {self.name}, whose places are "
                f"{place.text}"
            )
        return Grid(
            columns=self.columns,
            rows=self.rows,
            cell_width_mm=place.width_mm,
            cell_height_mm=place.height_mm,
            left_mm=self.left_mm,
            top_mm=self.top_mm,
            quarter_turns=turns,
            gap_x_mm=self.gap_x_mm,
            gap_y_mm=self.gap_y_mm,
        )


def _is_like(card: Size, place: Size) -> bool:
    most = 2 * FORGIVEN_MM + SLACK_MM
    return (
        abs(card.width_mm - place.width_mm) <= most
        and abs(card.height_mm - place.height_mm) <= most
    )


def load_stocks(path: Path | None = None) -> dict[str, Stock]:
    """Return the stocks in the YAML file at ``path``, or the shipped ones, by name.

    Raises:
        InputError: the file cannot be read or has mistakes, all of them listed.
    """
    document = load_yaml(path or data_folder("templates") / "stock.yaml")
    try:
        specs = StockFile.model_validate(document.value).stocks
    except ValidationError as error:
        raise InputError(problems_of(error, document, StockFile)) from None
    problems = []
    stocks: dict[str, Stock] = {}
    for index, spec in enumerate(specs):
        where = ("stocks", index)
        if spec.name in stocks:
            problems.append(
                document.problem((*where, "name"), f"there are two stocks called {spec.name!r}")
            )
        stock = stocks[spec.name] = _stock(spec)
        right = spec.left_mm + spec.columns * (spec.width_mm + spec.gap_x_mm) - spec.gap_x_mm
        foot = spec.top_mm + spec.rows * (spec.height_mm + spec.gap_y_mm) - spec.gap_y_mm
        for key, end, edge in (
            ("left_mm", right, stock.paper.width_mm),
            ("top_mm", foot, stock.paper.height_mm),
        ):
            if end > edge + SLACK_MM:
                message = f"its places end at {end:g} mm, outside the paper, which is {edge:g} mm"
                problems.append(document.problem((*where, key), message))
    if problems:
        raise InputError(problems)
    return stocks


def find_stock(name: str, own: Path | None = None) -> Stock:
    """Return the stock called ``name``, of the user's ``own`` file or else a shipped one.

    Raises:
        InputError: the file has mistakes.
        UsageError: there is no such stock; it names what comes near, or all there are.
    """
    stocks = load_stocks() | (load_stocks(own) if own else {})
    if name not in stocks:
        hint = near(name, stocks) or f"there are {', '.join(stocks)}"
        raise UsageError(f"there is no stock called {name[:60]!r}; {hint}")
    return stocks[name]


def _stock(spec: StockSpec) -> Stock:
    return Stock(
        name=spec.name,
        paper=SHEETS[spec.paper],
        columns=spec.columns,
        rows=spec.rows,
        place=Size(spec.name, spec.width_mm, spec.height_mm),
        left_mm=spec.left_mm,
        top_mm=spec.top_mm,
        gap_x_mm=spec.gap_x_mm,
        gap_y_mm=spec.gap_y_mm,
    )
