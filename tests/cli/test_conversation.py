"""A conversation loses no answer that it was given, whatever is taken back."""

import io
from collections.abc import Callable, Sequence

import pytest

from cardgen.cli.answers import UnusableError
from cardgen.cli.conversation import Conversation


def number(text: str) -> int:
    if not text.isdecimal():
        raise UnusableError("Answer with digits.")
    return int(text)


def asked(
    talk: Conversation, name: str, *, preset: int | None = None, settled: bool = False
) -> int:
    value = talk.ask(
        f"How many {name}?",
        name,
        number,
        more="Count.",
        unknown="0 if not known",
        topic=name,
        preset=preset,
        settled=settled,
    )
    return 0 if value is None else value


@pytest.fixture
def hear(monkeypatch: pytest.MonkeyPatch) -> Callable[[Sequence[str]], None]:
    def heard(answers: Sequence[str]) -> None:
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in answers)))

    return heard


def test_texts_fit_the_window_as_it_is_when_they_are_told(
    hear: Callable[[Sequence[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    widths = iter([80, 80, *[30] * 20])
    talk = Conversation(lambda: next(widths))
    hear([""])
    talk.say("word " * 20)
    talk.say("word " * 20)
    talk.say("word " * 20)
    talk.hold(lambda: asked(talk, "pins"))
    wide, _, narrow = capsys.readouterr().err.strip().split("\n\n")[:3]
    assert max(map(len, wide.splitlines())) > 60
    assert max(map(len, narrow.splitlines())) < 30


def test_a_settled_question_is_asked_only_if_it_is_to_be_changed(
    hear: Callable[[Sequence[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    talk = Conversation(lambda: 80)
    hear(["2", "change", "5", "done"])

    def interview() -> tuple[int, int]:
        talk.head("balls")
        balls = asked(talk, "balls", preset=3, settled=True)
        talk.head("pins")
        pins = asked(talk, "pins")
        chosen = talk.ask("Well?", "well", str, more="Say so.", unknown="", preset="done")
        if chosen == "change":
            talk.change("balls")
        return balls, pins

    assert talk.hold(interview) == (5, 2)
    told = capsys.readouterr().err
    assert told.count("How many balls?") == 1
    assert "balls [3]: 5" in told
    assert told.count("How many pins?") == 1
    # Only what is asked about has a heading.
    assert told.index("== pins ==") < told.index("== balls ==")


def test_going_back_passes_over_what_is_settled(
    hear: Callable[[Sequence[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    talk = Conversation(lambda: 80)
    hear(["1", "b", "b", "4", ""])

    def interview() -> tuple[int, int, int]:
        return (
            asked(talk, "lanes"),
            asked(talk, "balls", preset=3, settled=True),
            asked(talk, "pins"),
        )

    assert talk.hold(interview) == (4, 3, 0)
    told = capsys.readouterr().err
    assert "balls" not in told
    assert "This is the first question." in told


def test_an_earlier_answer_stands_in_its_brackets_while_it_still_can_be_one(
    hear: Callable[[Sequence[str]], None], capsys: pytest.CaptureFixture[str]
) -> None:
    def interview() -> tuple[int, int | None, int]:
        most = asked(talk, "balls")

        def read(text: str) -> int:
            if number(text) > most:
                raise UnusableError("That is too many.")
            return number(text)

        hit = talk.ask("How many hit?", "hit", read, more="Of them.", unknown="none", topic="hit")
        return most, hit, asked(talk, "pins")

    for balls, told, made in (("2", "hit [none]", (2, None, 0)), ("7", "hit [5]", (7, 5, 0))):
        talk = Conversation(lambda: 80)
        hear(["6", "5", "b", "b", balls, "", ""])
        assert talk.hold(interview) == made
        assert told in capsys.readouterr().err.rpartition("How many hit?")[2]
