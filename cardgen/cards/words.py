"""The words on paper, from ``templates/words``: no language stands in the code."""

from collections.abc import Mapping
from dataclasses import dataclass

from cardgen.errors import InputError, Problem, UsageError
from cardgen.lane.rack import Leave
from cardgen.resources import data_folder
from cardgen.yamlsource import Value, load_yaml


@dataclass(frozen=True)
class Words:
    """Texts by dotted key; values go in where a text has ``{braces}``."""

    source: str
    texts: Mapping[str, str]
    lists: Mapping[str, tuple[str, ...]]

    def __call__(self, key: str, **values: object) -> str:
        """Return the text at ``key`` with ``values`` filled in.

        Raises:
            InputError: the words file lacks the text, or names a value that there is not.
        """
        if key not in self.texts:
            raise self._wrong(key, "this text is missing")
        return self._filled(key, self.texts[key], values)

    def all(self, key: str, **values: object) -> tuple[str, ...]:
        """Return the list of texts at ``key``, each with ``values`` filled in."""
        if key not in self.lists:
            raise self._wrong(key, "this list of texts is missing")
        return tuple(self._filled(key, text, values) for text in self.lists[key])

    @property
    def language(self) -> str:
        """The BCP 47 tag of the language."""
        return self("language")

    def leave_name(self, leave: Leave) -> str | None:
        """Return the trade's name of ``leave``, None where it has none; some share one."""
        return self.texts.get(f"leaves.{leave}")

    def leave(self, leave: Leave) -> str:
        """Return the trade's name of ``leave``, or its pins where it has none."""
        return self.leave_name(leave) or self("leaves.other", pins=leave)

    def leave_title(self, leave: Leave) -> str:
        """Return the name of ``leave`` as it begins a line."""
        name = self.leave(leave)
        return name[:1].upper() + name[1:]

    def _filled(self, key: str, text: str, values: Mapping[str, object]) -> str:
        try:
            return text.format_map(values)
        except (KeyError, IndexError, ValueError, AttributeError) as error:
            known = ", ".join("{" + name + "}" for name in values) or "no values"
            raise self._wrong(key, f"{text!r} cannot be filled in; it may use {known}") from error

    def _wrong(self, key: str, message: str) -> InputError:
        return InputError([Problem(self.source, None, None, key, message)])


def load_words(language: str) -> Words:
    """Return the words of ``language``, a file of templates/words.

    Raises:
        UsageError: there is no such file; the message lists those there are.
        InputError: the file is not texts and lists of texts.
    """
    files = {path.stem: path for path in (data_folder("templates") / "words").glob("*.yaml")}
    if language not in files:
        raise UsageError(
            f"there are no words for {language!r}; there are {', '.join(sorted(files))}"
        )
    path = files[language]
    document = load_yaml(path)
    texts: dict[str, str] = {}
    lists: dict[str, tuple[str, ...]] = {}
    problems: list[Problem] = []

    def read(value: Value, where: tuple[str | int, ...]) -> None:
        key = ".".join(map(str, where))
        if isinstance(value, dict):
            for name, inner in value.items():
                read(inner, (*where, name))
        elif isinstance(value, str):
            texts[key] = value
        elif isinstance(value, list) and all(isinstance(text, str) for text in value):
            lists[key] = tuple(text for text in value if isinstance(text, str))
        else:
            problems.append(document.problem(where, "words are texts or lists of texts"))

    read(document.value, ())
    if problems:
        raise InputError(problems)
    return Words(str(path), texts, lists)
