"""Files of every kind become logs: good rows kept, bad ones located, hopeless files refused."""

import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from cardgen.errors import InputError
from cardgen.lane.rack import FULL_RACK, Leave
from cardgen.profile.loader import load_profile
from cardgen.resources import data_folder
from cardgen.shotlog.reading import MAX_SHOTS, Log, read_log
from cardgen.shotlog.shot import Result, Shot
from cardgen.shotlog.textfile import MAX_BYTES

Read = Callable[..., Log]
HEADER = "leave,stand_board,target_board"
TEN = Shot(Leave.of(10), 34.0, 20.0)


@pytest.fixture
def read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Read:
    monkeypatch.chdir(tmp_path)

    def read(content: str | bytes, name: str = "log.csv") -> Log:
        Path(name).write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_log(Path(name))

    return read


def refusal(read: Read, content: str | bytes, name: str = "log.csv") -> str:
    with pytest.raises(InputError) as caught:
        read(content, name)
    return str(caught.value)


def bad(log: Log) -> str:
    return "\n".join(map(str, log.bad)) + "\n"


# --- Tables


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_separators_line_ends_and_byte_order_marks_are_found(
    read: Read, separator: str, end: str, encoding: str
) -> None:
    rows = (
        ("leave", "stand_board", "target_board", "note"),
        ("10", "34", "20", "„žltá“"),
        ("3 10", '"31,5"', "20", '"a' + separator + '""b"""'),
    )
    text = "".join(separator.join(row) + end for row in rows)
    log = read(text.encode(encoding))
    assert log.bad == ()
    assert log.shots == (
        Shot(Leave.of(10), 34.0, 20.0, note="„žltá“"),
        Shot(Leave.of(3, 10), 31.5, 20.0, note=f'a{separator}"b"'.replace("\t", " ")),
    )
    assert log.source == "log.csv"


def test_columns_come_in_any_order_and_spelling_of_letters(read: Read) -> None:
    log = read('Target board;"LEAVE";note;Stand_Board;;\n20;10;x;34,0;;\n', "LOG.TSV")
    assert log == Log((Shot(Leave.of(10), 34.0, 20.0, note="x"),), (), "LOG.TSV")


def test_blank_rows_are_left_out_and_short_ones_filled_up(read: Read) -> None:
    log = read(f"\n ,,\n{HEADER},date,note\n\n10,34,20\n,,,,\n  \n10,34,20,,\n\n", "log.txt")
    assert log.shots == (TEN, TEN)
    assert log.bad == ()


def test_a_spreadsheets_text_mark_is_dropped(read: Read) -> None:
    log = read(f"{HEADER},note\n'3-10,31,20,'=1+1\n10,34,20,''twas wide\n")
    assert [str(shot.leave) for shot in log.shots] == ["3-10", "10"]
    assert [shot.note for shot in log.shots] == ["=1+1", "'twas wide"]


def test_bad_rows_are_located_and_the_others_kept(read: Read) -> None:
    log = read(
        textwrap.dedent("""\
            date,leave,stand_board,target_board,result,off_boards,note
            25.11.2026,03-Oct,40,,hit,3,"a ""b"", c"
            2026-11-25,10,34,20,left,2,"on two
            lines"
            ,"7",34,20.2,,,"on two
            lines"
            ,7 10,14,6,left,2,
            ,10,34,20
            """)
    )
    assert log.shots == (
        Shot(
            *(TEN.leave, TEN.stand, TEN.target),
            date=log.shots[0].date,
            result=Result.LEFT,
            off_boards=2.0,
            note="on two lines",
        ),
        TEN,
    )
    assert bad(log) == textwrap.dedent("""\
        log.csv:2:1: date: must be a date such as 2026-11-25 (got '25.11.2026')
            25.11.2026,03-Oct,40,,hit,3,"a ""b"", c"
            ^
          hint: write year-month-day (ISO 8601): 2026-11-25
        log.csv:2:12: leave: must be pins such as 3 10, or strike for the full rack (got '03-Oct')
            25.11.2026,03-Oct,40,,hit,3,"a ""b"", c"
                       ^
          hint: has a spreadsheet made a date of the pins? write them with a space: 3 10
        log.csv:2:19: stand_board: must be a board from 1 to 39 in steps of 0.5 (got '40')
            25.11.2026,03-Oct,40,,hit,3,"a ""b"", c"
                              ^
        log.csv:2:22: target_board: must be a board from 1 to 39 in steps of 0.5 (got nothing)
            25.11.2026,03-Oct,40,,hit,3,"a ""b"", c"
                                 ^
        log.csv:2:27: off_boards: must be blank where the result is hit
            25.11.2026,03-Oct,40,,hit,3,"a ""b"", c"
                                      ^
          hint: where all pins fell, pins_board can say where the ball came in
        log.csv:5:9: target_board: must be a board from 1 to 39 in steps of 0.5 (got '20.2')
            ,"7",34,20.2,,,"on two
                    ^
        log.csv:7:17: off_boards: this leave has two front pins; write pins_board instead
            ,7 10,14,6,left,2,
                            ^
        """)


def test_a_cell_in_a_later_line_of_its_row_is_located_by_the_first(read: Read) -> None:
    log = read('note,target_board,leave,stand_board\n"a, b\nc",20,10,99\n\n')
    assert bad(log) == (
        "log.csv:2: stand_board: must be a board from 1 to 39 in steps of 0.5 (got '99')\n"
    )


def test_a_cell_far_to_the_right_is_shown_with_what_stands_about_it(read: Read) -> None:
    log = read(f"note,{HEADER}\n{'n' * 120},10,34,40,\n{'n' * 120},10,34,40\n")
    assert bad(log).splitlines()[-3:] == [
        "log.csv:3:128: target_board: must be a board from 1 to 39 in steps of 0.5 (got '40')",
        f"    …{'n' * 43},10,34,40",
        f"     {' ' * 50}^",
    ]


def test_a_row_with_more_cells_than_columns_has_not_split_well(read: Read) -> None:
    hint = 'put a cell that has a comma in it between quote marks ("); a decimal comma too'
    log = read(f"{HEADER},arrows_board,note\n10,34,5,20,,\n10,34,5,20,19,5,\n10,34,20,,\n")
    assert bad(log) == textwrap.dedent(f"""\
        log.csv:2:13: the row has 6 cells, but there are 5 columns
            10,34,5,20,,
                        ^
          hint: {hint}
        log.csv:3:15: the row has 7 cells, but there are 5 columns
            10,34,5,20,19,5,
                          ^
          hint: {hint}
        """)
    assert log.shots == (TEN,)
    log = read("leave;stand_board;target_board;\n10;34;20;x\n")
    assert [(p.column, p.message) for p in log.bad] == [
        (10, "the row has 4 cells, but there are 3 columns")
    ]


def test_a_quote_that_ends_too_early_spoils_its_row_alone(read: Read) -> None:
    log = read(f'{HEADER},note\n10,34,20,"he said "so""\n10,34,20,"a\nb" c\n10,34,20\n')
    assert bad(log) == textwrap.dedent("""\
        log.csv:2: something follows the quote mark that ends a cell
        log.csv:3: something follows the quote mark that ends a cell; so read, the row ends in line 4
        """)  # noqa: E501  # as it is printed
    assert log.shots == (TEN,)


LISTED = (
    "  hint: the columns are date, ball, leave, stand_board, target_board, arrows_board, "
    "pins_board, result, off_boards, speed_mph, note"
)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", "log.csv: the file is empty"),
        ("\ufeff\n \n,,\n", "log.csv: the file is empty"),
        (HEADER, "log.csv: there are no shots in this file"),
        (
            "10,34,20\n",
            "log.csv:1:1: the first row must name the columns of a shot log\n"
            f"    10,34,20\n    ^\n{LISTED}",
        ),
        (
            "\nleave,stand_bord,target_board\n10,34,20\n",
            "log.csv:2: the column stand_board is missing\n"
            "  hint: every log has leave, stand_board and target_board\n"
            "log.csv:2:7: there is no column 'stand_bord'\n"
            "    leave,stand_bord,target_board\n"
            "          ^\n"
            "  hint: did you mean 'stand_board'?",
        ),
        (
            f"{HEADER},leave,,note\n10,34,20\n",
            "log.csv:1:32: the column leave is here a second time\n"
            f"    {HEADER},leave,,note\n"
            f"{' ' * 35}^\n"
            "  hint: keep one of the two\n"
            "log.csv:1:38: this column has no name\n"
            f"    {HEADER},leave,,note\n"
            f"{' ' * 41}^\n{LISTED}",
        ),
        (
            f'{HEADER}\n10,"34,20\n10,34,20\n',
            "log.csv:2: a quote mark opens a cell of this row and never ends, or a cell is too "
            'long\n  hint: take the quote mark out, or end the cell with another one (")',
        ),
        (
            b"leave,stand_board,target_board,note\r\n10,34,20,\xe9 \xfc",
            "log.csv:2:10: the byte 0xE9 here is not UTF-8\n  hint: save the table as UTF-8 text",
        ),
        (
            b"\xff\xfea",
            "log.csv: the file begins as UTF-16 does, but is not\n"
            "  hint: save the table as UTF-8 text",
        ),
        (
            f"{HEADER}\n" + "10,34,20\n" * (MAX_SHOTS + 1),
            "log.csv: there are more than 5,000 shots\n  hint: take the latest",
        ),
        (
            "\n" * (MAX_BYTES + 1),
            "log.csv: the file is larger than 1024 KiB, which no shot log is",
        ),
    ],
)
def test_what_spoils_a_whole_table_is_told(read: Read, content: str | bytes, message: str) -> None:
    assert refusal(read, content) == message


def test_a_header_of_thousands_of_cells_is_no_header(read: Read) -> None:
    assert "the first row must name" in refusal(read, HEADER + ",x" * 100_000)


def test_as_many_shots_as_may_be_are_read(read: Read) -> None:
    assert len(read(f"{HEADER}\n" + "10,34,20\n" * MAX_SHOTS).shots) == MAX_SHOTS


# --- Paths


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("none.csv", "none.csv: there is no such file"),
        ("none.yaml", "none.yaml: there is no such file"),
        ("none.pdf", "none.pdf: there is no such file"),
        ("none", "none: there is no such file"),
        ("log.csv/x.csv", "log.csv/x.csv: there is no such file"),
        ("folder.csv", "folder.csv: this is a folder, not a file"),
        ("folder", "folder: this is a folder, not a file"),
        ("a\0.csv", "a\ufffd.csv: no file can have this name"),
        (
            "log.xls",
            "log.xls: a shot log's name ends in .csv, .tsv, .txt, .yaml, .yml or .pdf "
            "(got '.xls')\n  hint: save a table as .csv",
        ),
        (
            "log",
            "log: a shot log's name ends in .csv, .tsv, .txt, .yaml, .yml or .pdf "
            "(got no ending)\n  hint: save a table as .csv",
        ),
        (
            "log.pdf",
            "log.pdf: this is no PDF file\n"
            "  hint: save the form as PDF in the program that you filled it in with",
        ),
    ],
)
def test_what_is_wrong_with_the_file_itself_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, message: str
) -> None:
    monkeypatch.chdir(tmp_path)
    for folder in ("folder", "folder.csv"):
        Path(folder).mkdir()
    for file in ("log", "log.csv", "log.xls", "log.pdf"):
        Path(file).write_text("no log")
    with pytest.raises(InputError) as caught:
        read_log(Path(name))
    assert str(caught.value) == message


# --- YAML


def test_a_yaml_log_says_the_same_as_a_table(read: Read) -> None:
    log = read(
        textwrap.dedent("""\
            shots:
              - {leave: 10, stand_board: 34, target_board: 20.0, date: 2026-11-25, result: left,
                 off_boards: 1e0, speed_mph: 16.5, note: "a\\nb", pins_board: ~}
              - leave: 3-10
                stand_board: "31,5"
                target_board: 20
              - {leave: strike, ball: strike, stand_board: 25, target_board: 11}
            """),
        "log.yml",
    )
    table = read(
        "leave,ball,stand_board,target_board,date,result,off_boards,speed_mph,note\n"
        "10,spare,34,20,2026-11-25,left,1,16.5,a b\n"
        "3 10,,31.5,20\n"
        "strike,strike,25,11\n"
    )
    assert log.bad == ()
    assert log.shots == table.shots
    assert log.shots[2].leave == FULL_RACK


def test_mistakes_in_a_yaml_log_are_located(read: Read) -> None:
    log = read(
        textwrap.dedent("""\
            shots:
              - {leave: 10, stand_board: 34, target_board: 20}
              - {leaf: 10, stand_board: true, target_board: 20.7, note: [a], zzz: 1}
              - 3
            """),
        "log.yaml",
    )
    assert log.shots == (TEN,)
    listed = LISTED.replace("the columns are", "the fields here:")
    assert bad(log) == textwrap.dedent(f"""\
        log.yaml:3:6: shots.2.leaf: there is no such field
              - {{leaf: 10, stand_board: true, target_board: 20.7, note: [a], zzz: 1}}
                 ^
          hint: did you mean 'leave'?
        log.yaml:3:29: shots.2.stand_board: must be text or a number (got true)
              - {{leaf: 10, stand_board: true, target_board: 20.7, note: [a], zzz: 1}}
                                        ^
        log.yaml:3:61: shots.2.note: must be text or a number (got a list)
              - {{leaf: 10, stand_board: true, target_board: 20.7, note: [a], zzz: 1}}
                                                                        ^
        log.yaml:3:66: shots.2.zzz: there is no such field
              - {{leaf: 10, stand_board: true, target_board: 20.7, note: [a], zzz: 1}}
                                                                             ^
        {listed}
        log.yaml:3:5: shots.2.leave: must be pins such as 3 10, or strike for the full rack (got nothing)
              - {{leaf: 10, stand_board: true, target_board: 20.7, note: [a], zzz: 1}}
                ^
        log.yaml:3:49: shots.2.target_board: must be a board from 1 to 39 in steps of 0.5 (got '20.7')
              - {{leaf: 10, stand_board: true, target_board: 20.7, note: [a], zzz: 1}}
                                                            ^
        log.yaml:4:5: shots.3: must be a mapping such as {{leave: 3-10, ...}} (got 3)
              - 3
                ^
        """)  # noqa: E501  # as they are printed


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (
            "- 3\n",
            "log.yaml:1:1: must be a mapping with the list shots (got a list)\n    - 3\n    ^",
        ),
        (
            "shots: 3\n",
            "log.yaml:1:8: shots: must be a list of mappings (got 3)\n    shots: 3\n           ^",
        ),
        (
            "shot: []\n",
            "log.yaml:1:1: shot: there is no such field\n    shot: []\n    ^\n"
            "  hint: did you mean 'shots'?\n"
            "log.yaml:1:1: shots: is missing\n    shot: []\n    ^\n"
            "  hint: begin the list with shots:",
        ),
        ("shots: []\n", "log.yaml: there are no shots in this file"),
    ],
)
def test_what_spoils_a_whole_yaml_log_is_told(read: Read, content: str, message: str) -> None:
    assert refusal(read, content, "log.yaml") == message


# --- The demo logs


@pytest.mark.parametrize(
    ("name", "profile", "count"),
    [
        ("shots/ilse-marchetti.csv", "ilse-marchetti.yaml", 24),
        ("shots/wren-skobernik.yaml", "wren-skobernik.yaml", 12),
    ],
)
def test_the_demo_logs_have_no_mistakes_and_fit_their_bowlers(
    name: str, profile: str, count: int
) -> None:
    folder = data_folder("profiles")
    log = read_log(folder / name)
    stand = load_profile(folder / profile).profile.stand
    assert log.bad == ()
    assert len(log.shots) == count
    assert {shot.result for shot in log.shots} >= {Result.HIT, Result.MISS, Result.LEFT}
    assert {shot.ball for shot in log.shots} == {"spare", "strike"}
    for shot in log.shots:
        assert stand.boards[0] <= shot.stand <= stand.boards[1]
        assert stand.half_boards or shot.stand.is_integer()
        # Nobody in these logs misses a target by more than an arrow's distance to the next.
        assert shot.arrows is None or abs(shot.arrows - shot.target) <= 5
