from pathlib import Path

import pytest

from cardgen.errors import InputError, UsageError
from cardgen.sheets.papers import A5
from cardgen.sheets.stock import find_stock, load_stocks

OWN = """\
stocks:
  - name: mine
    paper: a5
    columns: 1
    rows: 2
    width_mm: 90
    height_mm: 60.5
    left_mm: 29
    top_mm: 40
    gap_y_mm: 9
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "own.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_users_add_stocks_of_their_own(tmp_path: Path) -> None:
    path = written(tmp_path, OWN)
    stock = find_stock("mine", path)
    assert stock.paper == A5
    assert (stock.gap_x_mm, stock.gap_y_mm) == (0, 9)
    assert find_stock("a4-10-butted", path) == find_stock("a4-10-butted")


def test_a_stock_of_the_users_own_comes_before_a_shipped_one(tmp_path: Path) -> None:
    path = written(tmp_path, OWN.replace("mine", "a4-10-butted"))
    assert find_stock("a4-10-butted", path).paper == A5


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("rows: 2", "rows: 0", 5, "stocks.1.rows: must be"),
        ("rows: 2", 'rows: "2"', 5, "stocks.1.rows: must be"),
        ("paper: a5", "paper: a0", 3, "stocks.1.paper: must be a3, a4"),
        ("gap_y_mm", "gap_mm", 10, "there is no such field"),
        ("    top_mm: 40\n", "", 2, "is missing"),
        ("left_mm: 29", "left_mm: 60", 8, "stocks.1.left_mm: its places end at 150 mm, outside"),
        ("top_mm: 40", "top_mm: 90", 9, "stocks.1.top_mm: its places end at 220 mm, outside"),
        ("stocks:\n", "stocks: []\nrest:\n", 1, "stocks: must be"),
    ],
)
def test_a_mistake_is_told_with_its_place(
    tmp_path: Path, old: str, new: str, line: int, said: str
) -> None:
    path = written(tmp_path, OWN.replace(old, new))
    with pytest.raises(InputError) as caught:
        load_stocks(path)
    assert any(problem.line == line for problem in caught.value.problems), str(caught.value)
    assert said in str(caught.value)


def test_two_stocks_of_one_name_are_a_mistake(tmp_path: Path) -> None:
    path = written(tmp_path, OWN + OWN.removeprefix("stocks:\n"))
    with pytest.raises(InputError, match="there are two stocks called 'mine'"):
        load_stocks(path)


def test_an_unknown_stock_is_met_with_what_comes_near() -> None:
    with pytest.raises(UsageError, match=r"called 'a4-10-buted'; did you mean 'a4-10-butted'"):
        find_stock("a4-10-buted")
    with pytest.raises(UsageError, match=r"there are letter-10-business, a4-10-business"):
        find_stock("x")
