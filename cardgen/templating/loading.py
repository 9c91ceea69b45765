"""From a file to a template: every mistake in it located."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pydantic import ValidationError

from cardgen.errors import InputError, Problem
from cardgen.profile.complaints import near, problems_of
from cardgen.resources import data_folder, is_file, yaml_files
from cardgen.templating.colours import contrast, darkened, lightened
from cardgen.templating.logo import Logo, LogoError
from cardgen.templating.schema import (
    NEEDED_ON_BACK,
    NEEDED_ON_FACE,
    CentreSpec,
    ColoursSpec,
    DesignSpec,
    TemplateSpec,
)
from cardgen.templating.template import PLAIN, Centre, Colours, Design, Template
from cardgen.yamlsource import Where, load_yaml, printable

PAPER = "#FFFFFF"
INK = "#111111"
OIL = "#D6E6F1"
"""The darkest that a card prints under its path and labels (a test holds it to the theme)."""
TEXT_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3 (AA)."""
GRAPHIC_CONTRAST = 3.0
"""WCAG 2.2, success criterion 1.4.11 (AA)."""
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_SHORT_COLOUR = re.compile(r"#?([0-9a-fA-F]{3}|[0-9a-fA-F]{6})")
_FOLDERS = ("designs", "centres")


@dataclass(frozen=True)
class LoadedTemplate:
    """A template, and what whoever wrote it should know about it."""

    template: Template
    warnings: tuple[Problem, ...] = ()


def load_template(name: str | Path, language: str = "en") -> Template:
    """Return the template in the file ``name``, or else the shipped one of that name.

    A design's own line is taken in ``language`` (a BCP 47 tag), or not at all.

    Raises:
        InputError: there is neither, or the file has mistakes, all of them listed.
    """
    return open_template(name, language).template


def open_template(name: str | Path, language: str = "en") -> LoadedTemplate:
    """Return the template that :func:`load_template` does, with its warnings.

    Raises:
        InputError: there is no such template, or it has mistakes, all of them listed.
    """
    return _Loader(_find(name), language).loaded()


def design_names() -> list[str]:
    """Return the names of the shipped designs."""
    return sorted(file.stem for file in yaml_files(data_folder("templates") / "designs"))


def _find(name: str | Path) -> Path:
    path = Path(name)
    if is_file(path):
        return path
    text = str(name)
    known = {
        file.stem: file
        for folder in _FOLDERS
        for file in yaml_files(data_folder("templates") / folder)
    }
    stem = text.removesuffix(".yaml")
    if stem in known:
        return known[stem]
    if text.strip() and _is_folder(path):
        raise InputError([Problem(printable(text), None, None, "", "this is a folder, not a file")])
    # A pipe of the very name that was asked for is none that was meant.
    beside = [str(path.parent / f.name) for f in yaml_files(path.parent) if f.name != path.name]
    hint = near(text, [*beside, *known]) or f"the shipped ones are {', '.join(sorted(known))}"
    message = "there is no such template, neither a file nor a shipped one"
    raise InputError([Problem(printable(text), None, None, "", message, hint=hint)])


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):  # a name too long, or with a NUL in it
        return False


class _Loader:
    """Reads one file, and keeps what is wrong with it."""

    def __init__(self, path: Path, language: str, after: tuple[Path, ...] = ()) -> None:
        """Read ``path``, which is a design that the files ``after`` which it comes are like."""
        self._document = load_yaml(path)
        self._way = (*after, path.resolve())
        self._folder = path.parent
        self._name = printable(path.stem)
        self._language = language
        self._problems: list[Problem] = []
        self._warnings: list[Problem] = []

    def loaded(self) -> LoadedTemplate:
        try:
            spec = TemplateSpec.model_validate(self._document.value)
        except ValidationError as error:
            raise InputError(problems_of(error, self._document, TemplateSpec)) from None
        design = self._design(spec.design)
        centre = self._centre(spec.centre)
        if self._problems:
            raise InputError(self._problems)
        return LoadedTemplate(Template(design, centre), tuple(self._warnings))

    def _complain(self, where: Where, message: str, hint: str | None = None) -> None:
        self._problems.append(self._document.problem(where, message, hint))

    def _design(self, spec: str | DesignSpec) -> Design:
        if isinstance(spec, str):
            return self._shipped(spec, ("design",))
        base = PLAIN if spec.like is None else self._shipped(spec.like, ("design", "like"))
        face, back = spec.face or base.face, spec.back or base.back
        self._check_panels(face, NEEDED_ON_FACE, ("design", "face"))
        self._check_panels(back, NEEDED_ON_BACK, ("design", "back"))
        cheer = base.cheer
        if spec.cheer is not None:
            cheer = getattr(spec.cheer, self._language.split("-")[0], None) or ""
        return Design(
            name=self._name,
            face=face,
            back=back,
            notes=base.notes if spec.notes is None else spec.notes,
            colours=self._colours(spec.colours, base.colours),
            size=spec.size or base.size,
            corners=spec.corners or base.corners,
            figures=spec.figures or base.figures,
            weight=spec.weight or base.weight,
            pattern=spec.pattern or base.pattern,
            cheer=cheer,
        )

    def _shipped(self, name: str, where: Where) -> Design:
        """Return a shipped design."""
        names = design_names()
        if name not in names:
            hint = near(name, names) or f"write {' or '.join(names)}, or values"
            self._complain(where, f"there is no design called {name[:60]!r}", hint)
            return PLAIN
        path = data_folder("templates") / "designs" / f"{name}.yaml"
        if path.resolve() in self._way:
            self._complain(where, "a design cannot be like itself", "take the line out")
            return PLAIN
        return _Loader(path, self._language, self._way).loaded().template.design

    def _check_panels(self, panels: Sequence[str], needed: Sequence[str], where: Where) -> None:
        for number, panel in enumerate(panels):
            if panel in panels[:number]:
                self._complain((*where, number), f"the panel {panel} stands here twice")
        missing = [panel for panel in needed if panel not in panels]
        if missing:
            message = f"a card must also show {' and '.join(missing)}"
            self._complain(where, message, "without it a card does not say what to do, or how sure")

    def _colours(self, spec: ColoursSpec, base: Colours) -> Colours:
        colours = base
        for role in ColoursSpec.model_fields:
            given = getattr(spec, role)
            if given is None:
                continue
            if not _COLOUR.fullmatch(given):
                self._complain(
                    ("design", "colours", role),
                    f"must be a colour such as {getattr(base, role)} (got {given!r})",
                    _colour_hint(given),
                )
                continue
            colours = replace(colours, **{role: given.upper()})
        for role, message, hint in _too_faint(colours):
            if getattr(spec, role) is not None:
                self._complain(("design", "colours", role), message, hint)
        return colours

    def _centre(self, spec: CentreSpec) -> Centre:
        return Centre(
            name=spec.name or "",
            logo=None if spec.logo is None else self._logo(spec.logo),
            contact=spec.contact or "",
            lanes=spec.lanes,
            footer=spec.footer or "",
        )

    def _logo(self, name: str) -> Logo | None:
        # Only a logo needs what reads pictures and outlines, which takes long to import.
        from cardgen.templating.logofile import read_logo

        where = ("centre", "logo")
        try:
            read = read_logo(name, self._folder)
        except LogoError as error:
            self._complain(where, f"{printable(name)} {error.message}", error.hint)
            return None
        for warning in read.warnings:
            message = f"{printable(name)}: {warning}"
            self._warnings.append(self._document.problem(where, message))
        return read.logo


def _too_faint(colours: Colours) -> Iterator[tuple[str, str, str]]:
    """Yield each role whose colour does not stand out, a sentence, and what would do."""
    heading, path, mark, tint = colours.heading, colours.path, colours.mark, colours.tint
    grounds = {"white": PAPER, "the oil's tint": OIL}
    for role, colour, on, wanted, what in (
        ("heading", heading, grounds, TEXT_CONTRAST, "text"),
        ("path", path, grounds, GRAPHIC_CONTRAST, "a drawn line"),
        ("mark", mark, {"white": PAPER}, GRAPHIC_CONTRAST, "what is drawn"),
    ):
        ratio, ground = min((contrast(colour, on[name]), name) for name in on)
        if ratio < wanted:
            message = f"has a contrast of {_cut(ratio)} on {ground}, and {what} needs {wanted:g}"
            better = darkened(colour, on.values(), wanted)
            yield role, f"{colour} {message}", f"{better} would do"
    inks = {"ink": INK, "the heading's colour": heading}
    ratio, ink = min((contrast(tint, inks[name]), name) for name in inks)
    if ratio < TEXT_CONTRAST:
        message = f"{ink} on {tint} has a contrast of {_cut(ratio)}, and text needs {TEXT_CONTRAST}"
        yield "tint", message, f"{lightened(tint, inks.values(), TEXT_CONTRAST)} would do"


def _cut(ratio: float) -> str:
    """Return a ratio cut, not rounded: 4.499 is not 4.5."""
    return f"{int(ratio * 100) / 100:g}"


def _colour_hint(given: str) -> str:
    if found := _SHORT_COLOUR.fullmatch(given.strip()):
        digits = found[1] if len(found[1]) == 6 else "".join(2 * digit for digit in found[1])
        return f'write "#{digits.upper()}", in quotes'
    return "write # and six digits 0 to F, in quotes: two each for red, green and blue"
