"""From a profile to finished documents: the one place where all the layers meet."""

import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from cardgen import yamlsource
from cardgen.cards.booklet import Notes, booklet_of, cards_of
from cardgen.cards.card import board_text, card_of
from cardgen.cards.drill import drill_page
from cardgen.cards.forms import intake_sheet, log_sheet
from cardgen.cards.pocket import pocket_of
from cardgen.cards.words import Words
from cardgen.drawing.accent import in_colours
from cardgen.drawing.branding import signed
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.fonts import missing_glyphs
from cardgen.drawing.forms import intake_scene, log_scenes
from cardgen.drawing.ink import in_mono
from cardgen.drawing.knowpages import practice_scene
from cardgen.drawing.laneframe import lane_frame
from cardgen.drawing.pages import booklet_scenes, page_scenes
from cardgen.drawing.pocket import pocket_scenes
from cardgen.drawing.scene import Scene
from cardgen.drawing.theme import A7, Format
from cardgen.errors import CardgenError, InputError, Problem
from cardgen.lane.rack import Leave
from cardgen.layouts import Binding, Layout, Printed, booklet_document, card_documents, cut_format
from cardgen.preflight import Finding, passed
from cardgen.printers import Offset
from cardgen.profile.bowler import bowler_of
from cardgen.profile.fitted import basis_of
from cardgen.profile.intake import values_of
from cardgen.profile.loader import LoadedProfile, find_profile, load_lane, read_profile
from cardgen.profile.schema import LaneSpec
from cardgen.resources import is_file
from cardgen.roster.reading import is_roster, read_roster
from cardgen.sheets.papers import A4, Size
from cardgen.shotlog.reading import TABLE_SUFFIXES, read_log
from cardgen.shotlog.shot import Shot
from cardgen.shotlog.writing import cells_of
from cardgen.targeting.answers import Answers
from cardgen.targeting.chart import Chart, chart_for
from cardgen.targeting.drill import DRILL_THROWS
from cardgen.targeting.line import Line
from cardgen.targeting.reach import hooks_too_far, overhook_boards
from cardgen.templating.template import Template
from cardgen.writers.document import DocumentInfo
from cardgen.writers.pdf import pdf_bytes
from cardgen.writers.png import png_pages
from cardgen.writers.svg import svg_text
from cardgen.yamlsource import load_yaml

_CHILDS_LB, _APART_LB = 10.0, 4.0
"""Who has a ball so light does not throw another so much heavier (common practice, no source)."""
_FORGIVEN = ("overlap",)
"""Where texts lie on each other, a bowler would rather have the card than none."""


@dataclass(frozen=True, eq=False)
class Document:
    """A finished document: what its file's name ends in, its pages, and what it says of itself.

    ``findings`` are flaws that a reader can live with, ``settings`` what to mind when it is printed
    and afterwards.
    """

    ending: str
    scenes: tuple[Scene, ...]
    info: DocumentInfo
    findings: tuple[Finding, ...] = ()
    settings: tuple[str, ...] = ()

    def pdf(self) -> bytes:
        """Return it as PDF."""
        return pdf_bytes(self.scenes, self.info)

    def svg(self) -> tuple[str, ...]:
        """Return each page as an SVG."""
        return tuple(svg_text(scene, self.info) for scene in self.scenes)

    def png(self, dpi: float) -> tuple[bytes, ...]:
        """Return each page as a PNG of ``dpi`` dots an inch.

        Raises:
            UsageError: a page would have too many pixels, or none.
            CardgenError: pypdfium2 is not installed.
        """
        return png_pages(self.scenes, self.info, dpi)


@dataclass(frozen=True, eq=False)
class Job:
    """A loaded profile with its answers, ready to print in some words as a template has it.

    If it is ``mono``, in black and two greys.
    """

    loaded: LoadedProfile
    answers: Answers
    words: Words
    mono: bool = False
    template: Template = field(default_factory=Template)

    def _info(self, title: str) -> DocumentInfo:
        return _info(self.words, title)

    @property
    def chart(self) -> Chart:
        """The bowler's chart."""
        return self.answers.chart

    def booklet(
        self,
        fmt: Format = A7,
        *,
        binding: Binding = "pages",
        paper: Size = A4,
        offset: Offset | None = None,
        bleed_mm: float = 0.0,
        date: str = "",
    ) -> Document:
        """Return the booklet with pages of ``fmt``; ``date`` goes on its cover.

        Its pages are in reading order, or on sheets of ``paper`` for a ``binding``; ``bleed_mm``
        shows beyond their trim.
        """
        sketch = card_of(self.chart.lines[0], self.chart, self.words).sketch
        booklet = booklet_of(
            self.loaded,
            self.chart,
            self.words,
            stretch=lane_frame(sketch, fmt, fmt.inner_height_mm).stretch,
            strike=self.answers.strike,
            few=self.answers.few,
            changes=self.answers.changes,
            drill=self.answers.drill,
            practice=self.answers.practice,
            date=date,
        )
        scenes = booklet_scenes(booklet, fmt, self.template)
        return self._bound(scenes, binding, paper, offset, booklet.title, bleed_mm)

    def pocket(self, fmt: Format = A7, *, paper: Size = A4, date: str = "") -> Document:
        """Return the few lines to remember as eight pages of ``fmt`` on one sheet of ``paper``.

        Raises CardgenError for a chart of no spares.
        """
        if self.answers.pocket is None:
            raise CardgenError(f"{self.chart.bowler.name}: no line comes to any spare")
        few, lines = self.answers.pocket
        pocket = pocket_of(self.loaded, self.chart, few, lines, self.words, date=date)
        return self._bound(
            pocket_scenes(pocket, fmt, self.template), "fold", paper, None, pocket.title
        )

    def _bound(
        self,
        scenes: Sequence[Scene],
        binding: Binding,
        paper: Size,
        offset: Offset | None,
        title: str,
        bleed_mm: float = 0.0,
    ) -> Document:
        findings = passed(scenes, kind="booklet", forgiven=_FORGIVEN)
        printed = booklet_document(
            scenes, binding, paper, offset or Offset(), title, self.words, bleed_mm=bleed_mm
        )
        if binding != "pages":
            findings += passed(printed.scenes, kind="sheet", forgiven=_FORGIVEN)
        return self._document(printed, title, findings)

    def cards(self, fmt: Format, layout: Layout) -> tuple[Document, ...]:
        """Return the cards of size ``fmt`` on sheets as ``layout`` has them, fronts with backs.

        That is their finished size: those to laminate are printed as much smaller.
        """
        fmt = cut_format(fmt, layout)
        deck = cards_of(self.chart, self.words)
        design, centre = self.template.design, self.template.centre
        key = signed(page_scenes(deck.key, fmt), centre, fmt, facts=False)
        care = signed(page_scenes(deck.care, fmt), centre, fmt, facts=True)
        blank = page_scenes(Notes(self.words("notes.title")), fmt)
        fronts = [*(face_scene(card, fmt, design) for card in deck.cards), *key]
        backs = [*(back_scene(card, fmt, design) for card in deck.cards), *care]
        # In a small format or a longer language either may need one card more.
        fronts += blank * (len(backs) - len(fronts))
        backs += blank * (len(fronts) - len(backs))
        findings = passed([*fronts, *backs], kind="card", forgiven=_FORGIVEN)
        printed = card_documents(fronts, backs, layout, deck.title, self.words)
        return tuple(self._document(each, deck.title, findings) for each in printed)

    def _document(
        self, printed: Printed, title: str, findings: tuple[Finding, ...] = ()
    ) -> Document:
        info = replace(self._info(title), duplex=printed.duplex)
        scenes = self.inked(printed.scenes)
        return Document(printed.ending, scenes, info, findings, printed.settings)

    def inked(self, scenes: Iterable[Scene]) -> tuple[Scene, ...]:
        """Return pages in the inks of this job."""
        if self.mono:
            return tuple(map(in_mono, scenes))
        colours = self.template.design.colours
        return tuple(in_colours(scene, colours) for scene in scenes)

    def practice_sheets(self, paper: Size) -> Document:
        """Return what to throw next on a sheet, and the log sheet with those throws begun."""
        drill = self.answers.drill
        page = drill_page(drill, self.answers.practice, self.words)
        throws = () if drill is None else drill.throws
        begun = [
            cells_of(
                Shot(
                    throw.line.leave,
                    throw.line.stand,
                    throw.line.target,
                    "strike" if throw.line.ball == "strike" else "spare",
                )
            )
            for throw in throws
            for _ in range(DRILL_THROWS)
        ]
        title = self.words("document.practice", bowler=self.chart.bowler.name)
        scene = practice_scene(
            page,
            self.words("notes.title"),
            self.words("forms.cautions"),
            paper.width_mm,
            paper.height_mm,
        )
        scenes = [scene, *_log_scenes(self.words, paper, begun)]
        findings = passed(scenes, kind="form", forgiven=_FORGIVEN)
        return self._document(Printed("", tuple(scenes)), title, findings)

    def card_svg(self, line: Line, fmt: Format, *, back: bool = False) -> str:
        """Return one side of one card."""
        (svg,) = self.card_side(line, fmt, back=back).svg()
        return svg

    def card_side(self, line: Line, fmt: Format, *, back: bool = False) -> Document:
        """Return one side of one card as a document of its own."""
        card = card_of(line, self.chart, self.words)
        title = self.words("document.card", leave=card.name, bowler=self.chart.bowler.name)
        design = self.template.design
        scene = back_scene(card, fmt, design) if back else face_scene(card, fmt, design)
        return Document("", self.inked([scene]), self._info(title))


def _log_scenes(words: Words, paper: Size, filled: Sequence[Mapping[str, str]]) -> list[Scene]:
    return log_scenes(log_sheet(words, filled=filled), paper.width_mm, paper.height_mm)


def log_pdf(words: Words, paper: Size, shots: Sequence[Shot] = ()) -> bytes:
    """Return a sheet to write shots down on, or to fill in on a screen; ``shots`` stand there.

    Raises:
        InputError: the card font cannot print a note.
    """
    scenes = _log_scenes(words, paper, [cells_of(shot) for shot in shots])
    passed(scenes, kind="form", forgiven=_FORGIVEN)
    return pdf_bytes(scenes, _info(words, words("document.log")))


def intake_pdf(words: Words, paper: Size, loaded: LoadedProfile | None = None) -> bytes:
    """Return the questions that make a profile, answered as ``loaded`` does."""
    values = None if loaded is None else values_of(loaded.profile, loaded.given)
    scene = intake_scene(intake_sheet(words, values), paper.width_mm, paper.height_mm)
    title = (
        words("document.intake")
        if loaded is None
        else words("document.intake_of", bowler=loaded.profile.bowler)
    )
    passed([scene], kind="form", forgiven=_FORGIVEN)
    return pdf_bytes([scene], _info(words, title))


def _info(words: Words, title: str) -> DocumentInfo:
    return DocumentInfo(title=title, subject=words("document.subject"), language=words.language)


def unanswered_of(chart: Chart) -> tuple[str, ...]:
    """Return a sentence for each leave that was asked for and has no line."""
    return tuple(f"{leave}: no line; {_why_none(chart, leave)}" for leave in chart.unanswered)


def _why_none(chart: Chart, leave: Leave) -> str:
    balls = hooks_too_far(chart.bowler, leave)
    if not balls:
        return "no stand and target within stand.boards bring a ball to it"
    hooks = f"the {balls[0]} ball hooks" if len(balls) == 1 else "both balls hook"
    under = " and ".join(f"balls.{ball}" for ball in balls)
    return f"{hooks} too far to come to it from any board; check rev_rpm and speed_mph of {under}"


def doubts_of(chart: Chart) -> tuple[str, ...]:
    """Return a sentence for each line of the bowler's own that the model cannot follow."""
    return tuple(
        f"{line.leave}: your line from {board_text(line.stand)} over {board_text(line.target)} "
        "misses by the numbers of this profile; check its stand, target and ball"
        for line in chart.lines
        if not line.reaches
    )


@dataclass(frozen=True)
class Opened:
    """A profile that can be printed, and what its bowler should know about it."""

    loaded: LoadedProfile
    warnings: tuple[Problem, ...] = ()


def open_profile(path: Path) -> Opened:
    """Return the profile at ``path``, its name cut down to what the fonts can print.

    Raises:
        InputError: the file has mistakes, or nothing of the bowler's name can be printed.
    """
    return printable_profile(load_yaml(path), path.parent)


def printable_profile(document: yamlsource.Document, folder: Path) -> Opened:
    """Return the profile that a document says, as ``open_profile`` does; see ``read_profile``."""
    loaded = read_profile(document, folder)
    name = unicodedata.normalize("NFC", loaded.profile.bowler)
    missing = missing_glyphs(name)
    odd = (*_stale_fit(document, loaded), *_odd_balls(document, loaded))
    if not missing:
        return Opened(_renamed(loaded, name), odd)
    kept = " ".join("".join(c for c in name if c not in missing).split())
    named = ", ".join(f"U+{ord(c):04X} {unicodedata.name(c, 'no name')}" for c in missing)
    if not kept:
        message = f"the card font can print nothing of this name ({named})"
        hint = "write it with Latin, Greek or Cyrillic letters"
        raise InputError([document.problem(("bowler",), message, hint)])
    warning = document.problem(("bowler",), f"printed as {kept!r}: no card can show {named}")
    return Opened(_renamed(loaded, kept), (warning, *odd))


def has_stale_fit(loaded: LoadedProfile) -> bool:
    """Tell whether a profile's fit was to other numbers than it has now."""
    fitted = loaded.profile.fitted
    return fitted is not None and fitted.basis != basis_of(loaded)


def _stale_fit(document: yamlsource.Document, loaded: LoadedProfile) -> Iterator[Problem]:
    """Yield a warning if the profile's fit was to other numbers than it has now."""
    if has_stale_fit(loaded):
        message = "was fitted to other numbers than this profile and its lane have now"
        hint = "run cardgen fit again, or take the section out"
        yield document.problem(("fitted",), message, hint, at_key=True)


def _odd_balls(document: yamlsource.Document, loaded: LoadedProfile) -> Iterator[Problem]:
    for ball, message, hint in odd_balls_of(loaded):
        yield document.problem(("balls", ball), message, hint, at_key=True)


def odd_balls_of(loaded: LoadedProfile) -> Iterator[tuple[str, str, str]]:
    """Yield each ball that is hardly this bowler's, what is odd about it, and what to look at."""
    balls = loaded.profile.balls
    light, heavy = sorted((balls.spare.weight_lb, balls.strike.weight_lb))
    if light <= _CHILDS_LB and heavy - light >= _APART_LB:
        ball = "spare" if balls.spare.weight_lb == heavy else "strike"
        message = f"weighs {heavy:g} lb, and the other ball {light:g} lb"
        yield ball, message, "check weight_lb of both balls"
    bowler = bowler_of(loaded)
    for choice in bowler.balls:
        if (boards := overhook_boards(bowler, choice.name)) is not None:
            message = f"hooks {boards:.0f} boards by these numbers: no line brings it to the pins"
            yield choice.name, message, "check rev_rpm and speed_mph"


def _renamed(loaded: LoadedProfile, name: str) -> LoadedProfile:
    return replace(loaded, profile=loaded.profile.model_copy(update={"bowler": name}))


def check_file(name: str) -> tuple[Problem, ...]:
    """Return the warnings of a profile; a lane file, a shot log and a roster have none.

    A file that says nothing but a lane's fields is one, and so is one that is a list of shots; a
    roster has students.

    Raises:
        InputError: the file has mistakes, all of them listed.
    """
    path = Path(name)
    if is_file(path) and is_roster(path):
        if bad := read_roster(path).bad:
            raise InputError(bad)
        return ()
    if path.suffix.lower() in (*TABLE_SUFFIXES, ".pdf"):
        return _check_log(path)
    path = find_profile(name)
    value = load_yaml(path).value
    if isinstance(value, dict) and "shots" in value:
        return _check_log(path)
    if isinstance(value, dict) and value and set(value) <= set(LaneSpec.model_fields):
        load_lane(path)
        return ()
    document = load_yaml(path)
    opened = printable_profile(document, path.parent)
    return (*opened.warnings, *_missing_lines(document, opened.loaded))


def _missing_lines(document: yamlsource.Document, loaded: LoadedProfile) -> Iterator[Problem]:
    """Yield a warning for each known line that the model cannot follow."""
    bowler = bowler_of(loaded)
    leaves = [own.leave for own in bowler.known_lines]
    if not leaves:
        return
    missing = {line.leave for line in chart_for(bowler, leaves).lines if not line.reaches}
    for index, own in enumerate(bowler.known_lines):
        if own.leave in missing:
            message = (
                f"the line for {own.leave} from {board_text(own.stand)} over "
                f"{board_text(own.target)} misses by the numbers of this profile"
            )
            hint = "check its stand, target and ball"
            yield document.problem(("known_lines", index), message, hint)


def _check_log(path: Path) -> tuple[Problem, ...]:
    if bad := read_log(path).bad:
        raise InputError(bad)
    return ()


def job_of(
    loaded: LoadedProfile,
    words: Words,
    leaves: Iterable[Leave] | None = None,
    *,
    mono: bool = False,
    template: Template | None = None,
) -> Job:
    """Return the print job of a profile: its chart of ``leaves``, or of all it can answer."""
    chart = chart_for(bowler_of(loaded), leaves)
    return Job(loaded, Answers(chart), words, mono, template or Template())
