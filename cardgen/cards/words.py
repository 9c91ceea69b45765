"""The words on paper, from ``templates/words``: no language stands in the code."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from cardgen.cards import numbers
from cardgen.errors import InputError, Problem, UsageError
from cardgen.lane.rack import Leave
from cardgen.resources import data_folder
from cardgen.yamlsource import Value, load_yaml


@dataclass(frozen=True)
class Plural:
    """The forms of a text by plural category; the value called ``by`` chooses."""

    by: str
    forms: Mapping[str, str]


@dataclass(frozen=True)
class Words:
    """Texts by dotted key; values go in where a text has ``{braces}``.

    ``plurals`` are texts that change with a number; in any words file a text may be one.
    """

    source: str
    texts: Mapping[str, str]
    lists: Mapping[str, tuple[str, ...]]
    plurals: Mapping[str, Plural] = field(default_factory=dict)

    def __call__(self, key: str, **values: object) -> str:
        """Return the text at ``key`` with ``values`` filled in.

        Raises:
            InputError: the words file lacks the text, or names a value that there is not.
        """
        if (plural := self.plurals.get(key)) is not None:
            return self._filled(key, self._form(key, plural, values), values)
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

    @property
    def fonts(self) -> tuple[Path, ...]:
        """The font files that the words ask for, beside those of the system."""
        return tuple(Path(self.source).parent / name for name in self.lists.get("fonts", ()))

    def number(self, value: float, decimals: int | None = None) -> str:
        """Return ``value`` with that many decimals, or as few as it has, as the language does."""
        return numbers.written(value, self.language, decimals)

    def listed(self, parts: Iterable[str]) -> str:
        """Return ``parts`` with the language's commas between them."""
        return numbers.comma(self.language).join(parts)

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

    def _form(self, key: str, plural: Plural, values: Mapping[str, object]) -> str:
        if plural.by not in values:
            known = ", ".join(values) or "no values"
            raise self._wrong(key, f"no value is called {plural.by!r}; there are {known}")
        category = numbers.category(values[plural.by], self.language)
        return plural.forms.get(category, plural.forms["other"])

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
    return read_words(files[language])


def read_words(path: Path) -> Words:
    """Return the words of the file at ``path``.

    A text may be a mapping of CLDR plural categories to its forms: the value called ``count``
    chooses, or the one that ``by`` names.

    Raises:
        InputError: the file is not texts and lists of texts, or its language is unknown.
    """
    document = load_yaml(path)
    texts: dict[str, str] = {}
    lists: dict[str, tuple[str, ...]] = {}
    plurals: dict[str, Plural] = {}
    problems: list[Problem] = []
    top = document.value
    language = top.get("language") if isinstance(top, dict) else None
    if not isinstance(language, str) or not numbers.is_language(language):
        message = f"{language!r} is no language that is known"
        hint = "a BCP 47 tag, such as language: de"
        raise InputError([document.problem(("language",), message, hint)])

    def read(value: Value, where: tuple[str | int, ...]) -> None:
        key = ".".join(map(str, where))
        if isinstance(value, dict) and _is_plural(value):
            plurals[key] = Plural(
                str(value.get("by", "count")),
                {name: str(form) for name, form in value.items() if name != "by"},
            )
            known = numbers.categories(language)
            for name in plurals[key].forms:
                if name not in known:
                    message = f"{language} has no such plural; it has {', '.join(known)}"
                    problems.append(document.problem((*where, name), message))
        elif isinstance(value, dict):
            for name, inner in value.items():
                read(inner, (*where, name))
        elif isinstance(value, str):
            texts[key] = value
        elif isinstance(value, list) and all(isinstance(text, str) for text in value):
            lists[key] = tuple(text for text in value if isinstance(text, str))
        else:
            problems.append(document.problem(where, "words are texts or lists of texts"))

    read(top, ())
    if problems:
        raise InputError(problems)
    return Words(str(path), texts, lists, plurals)


def _is_plural(value: Mapping[str, Value]) -> bool:
    """Tell whether a mapping is one text in several forms."""
    return (
        "other" in value
        and set(value) <= {*numbers.CATEGORIES, "by"}
        and all(isinstance(form, str) for form in value.values())
    )
