import unicodedata
from pathlib import PurePosixPath, PureWindowsPath

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cardgen.filenames import distinct_stems, safe_stem

# https://learn.microsoft.com/windows/win32/fileio/naming-a-file, from memory
WINDOWS_FORBIDS = set('<>:"/\\|?*') | {chr(c) for c in range(32)}
WINDOWS_DEVICES = ["CON", "prn", "Aux", "NUL", "com1", "LPT9", "COM¹", "con.txt", "nul.tar.gz"]

DEVICES = {"CON", "PRN", "AUX", "NUL"} | {
    f"{port}{digit}" for port in ("COM", "LPT") for digit in "123456789¹²³"
}


@pytest.mark.parametrize(
    ("text", "stem"),
    [
        ("Ana Kovač", "Ana-Kovač"),
        ("../../x", "x"),
        ("..\\..\\x", "x"),
        ("/etc/passwd", "etc-passwd"),
        ("3-6-10", "3-6-10"),
        ("3/6/10", "3-6-10"),
        ("name...", "name"),
        ("  spaced\tout \n", "spaced-out"),
        ("CON", "_CON"),
        ("con.txt", "_con.txt"),
        ("😀", "card"),
        ("Ana ❤️ pins", "Ana-pins"),
        ("", "card"),
        ("...", "card"),
        ("\u202egnp.exe", "gnp.exe"),
        ("a\u0000b", "ab"),
        ("$(rm -rf ~)", "rm-rf"),
        ("re\u0301sume\u0301", "résumé"),
        ("한국 이름", "한국-이름"),
        ("\ud800lone", "lone"),
    ],
)
def test_nasty_names(text: str, stem: str) -> None:
    assert safe_stem(text) == stem


@pytest.mark.parametrize("device", WINDOWS_DEVICES)
def test_devices_are_no_file_names(device: str) -> None:
    assert safe_stem(device) == f"_{device}"


def test_long_names_stay_apart() -> None:
    one, other = safe_stem("x" * 300), safe_stem("x" * 301)
    assert one != other
    assert len(one.encode()) <= 80
    assert len(safe_stem("č" * 5000).encode()) <= 80


# What a system takes for more than letters hardly ever comes of any characters at all.
AWKWARD = st.lists(
    st.sampled_from(
        [
            *("CON", "nul", "Com", "LPT", "1", "¹", "0", "$", ".", "..", " ", "-", "/", "\\", ":"),
            *("\u0301", "\ufe0f", "\u200b", "\u202e", "\ud800", "é", "ﬁ", "한", "a", "x" * 70, "_"),
        ]
    ),
    max_size=6,
).map("".join)


@settings(max_examples=300)
@given(st.text(st.characters(), max_size=200) | AWKWARD)
def test_any_text_gives_one_plain_path_component(text: str) -> None:
    stem = safe_stem(text)
    assert 1 <= len(stem.encode()) <= 80
    assert stem == unicodedata.normalize("NFC", stem)
    assert not WINDOWS_FORBIDS & set(stem)
    assert not any(unicodedata.category(c)[0] in "CZ" for c in stem)
    assert stem.strip("-. ") == stem
    for path in (PurePosixPath(stem), PureWindowsPath(stem)):
        assert path.parts == (stem,)
    assert not stem.startswith(("-", "."))
    assert stem.partition(".")[0].upper() not in DEVICES
    assert safe_stem(stem) == stem


def test_same_names_are_numbered() -> None:
    assert distinct_stems(["Ana", "Bo", "Ana", "ANA", "Ａna"]) == [
        "Ana", "Bo", "Ana-2", "ANA-3", "Ａna-4",
    ]  # fmt: skip


def test_a_number_that_is_somebodys_name_is_left_to_them() -> None:
    assert distinct_stems(["Ana", "Ana", "Ana-2"]) == ["Ana", "Ana-3", "Ana-2"]


@given(
    st.lists(
        st.sampled_from(
            [
                *("a", "A", "a-2", "a-3", "A-2", "é", "e\u0301", "E\u0301", "CON", "_CON", "con"),
                *(
                    "ß",
                    "ss",
                    "SS",
                    "ﬁ",
                    "fi",
                    "x" * 90,
                    "x" * 80,
                    "x" * 79,
                    "x" * 78 + "-2",
                    "",
                    "!",
                ),
            ]
        ),
        max_size=20,
    )
)
def test_distinct_stems_are_distinct_everywhere(names: list[str]) -> None:
    stems = distinct_stems(names)
    assert len(stems) == len(names)
    keys = {unicodedata.normalize("NFKC", stem).casefold() for stem in stems}
    assert len(keys) == len(names)
    assert all(len(stem.encode()) <= 80 for stem in stems)
