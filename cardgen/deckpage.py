"""The deck as one page for a phone: every card of a job in one HTML file that needs nothing else.

All cards are drawn as one SVG document and taken apart again, so that one subset of the type serves
them all, and what many of them show alike stands in the page once. The page is a tree of elements
until it is written, so that no name and no word can become markup. Its look and its two scripts are
files of ``templates/page``; a policy in its head lets nothing else run or load.
"""

import base64
import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from cardgen.atomicfile import MAKER
from cardgen.cards.booklet import CardSet, cards_of
from cardgen.cards.card import Card
from cardgen.drawing.branding import logo_item, logo_size_mm
from cardgen.drawing.card import back_scene, face_scene
from cardgen.drawing.scene import Group, Item, Scene, Text, Weight
from cardgen.drawing.theme import INK, Format
from cardgen.lane.rack import FULL_RACK, PIN_NUMBERS, SPACING_M, Leave, pin_x_m, pin_y_m
from cardgen.press import Job
from cardgen.resources import data_folder
from cardgen.targeting.sections import Section, section_of
from cardgen.templating.template import Colours, Template
from cardgen.writers.document import DocumentInfo
from cardgen.writers.svg import svg_text

PANEL_SLOT = "<!--panel-->"
"""Where a page that is served has room for what its server has to say; it stands there once."""

_SVG = "{http://www.w3.org/2000/svg}"
_XLINK_HREF = "{http://www.w3.org/1999/xlink}href"
_DIGITS = "0123456789-,"  # what is typed into the search, or stands there to show how
_SHARED_FROM = 400  # characters of a drawing that are worth a definition
_LOGO_MM = (40.0, 13.0)
_RACK_MM = (26.0, 23.0)  # the small picture of a leave, in units of its own
_PIN_GAP = 6.2
_MONO = Colours(heading=INK, path=INK)


@dataclass(frozen=True)
class ServedPage:
    """A page that asks its server for news, and the policy that it must be served with.

    Where :data:`PANEL_SLOT` stands in ``html`` the server puts an element of its own.
    """

    html: str
    policy: str


def deck_page(job: Job, fmt: Format) -> str:
    """Return all cards of ``job``, drawn in size ``fmt``, as one HTML file that works offline.

    The same job gives the same text. Raises InputError for a character that no font can print.
    """
    return _Page(job, fmt).written(("turn.js",), ()).html


def served_page(job: Job, fmt: Format) -> ServedPage:
    """Return the same page for a server: it asks for ``version`` beside it, again and again.

    Raises InputError for a character that no font can print.
    """
    return _Page(job, fmt).written(("turn.js", "watch.js"), ("connect-src 'self'",), slot=True)


class _Page:
    """Puts the page of one job together."""

    def __init__(self, job: Job, fmt: Format) -> None:
        self._job = job
        self._fmt = fmt
        self._words = job.words
        self._deck = cards_of(job.chart, job.words)
        self._scenes = _scenes(job, self._deck, fmt)

    def written(
        self, scripts: Sequence[str], also: Sequence[str], *, slot: bool = False
    ) -> ServedPage:
        words = self._words
        html = Element("html", lang=words.language)
        head = SubElement(html, "head")
        body = SubElement(html, "body")
        places = self._fill(body, slot=slot)
        title = self._deck.title
        info = DocumentInfo(title, language=words.language)
        drawn = _drawn(self._scenes, info, "".join(body.itertext()) + title)
        body.insert(0, drawn.shared)
        for place, drawing in zip(places, drawn.drawings, strict=True):
            place.insert(0, drawing)
        style = drawn.type_rules + self._root_rules(drawn.families) + _asset("look.css")
        codes = [_asset(name) for name in scripts]
        policy = "; ".join(
            (
                "default-src 'none'",
                f"style-src {_digest(style)}",
                f"script-src {' '.join(map(_digest, codes))}",
                "img-src data:",
                "font-src data:",
                *also,
                "base-uri 'none'",
                "form-action 'none'",
            )
        )
        SubElement(head, "meta", charset="utf-8")
        SubElement(head, "meta", {"http-equiv": "Content-Security-Policy", "content": policy})
        SubElement(head, "meta", name="generator", content=MAKER)
        SubElement(head, "meta", name="viewport", content="width=device-width, initial-scale=1")
        SubElement(head, "meta", name="referrer", content="no-referrer")
        SubElement(head, "meta", name="color-scheme", content="light dark")
        _child(head, "title", title)
        SubElement(head, "link", rel="icon", href=_icon(self._colours))
        _child(head, "style", style)
        for code in codes:
            _child(head, "script", code)
        text = ElementTree.tostring(html, encoding="unicode", method="html")
        return ServedPage(f"<!doctype html>\n{text}\n", policy)

    @property
    def _colours(self) -> Colours:
        return _MONO if self._job.mono else self._job.template.design.colours

    def _root_rules(self, families: str) -> str:
        fmt, colours = self._fmt, self._colours
        size = f"--wide:{fmt.width_mm:g};--high:{fmt.height_mm:g}"
        inks = f"--heading:{colours.heading};--path:{colours.path}"
        return f":root{{{size};{inks};--type:{families}}}\n"

    def _fill(self, body: Element, *, slot: bool) -> list[Element]:
        """Put everything into the body but the drawings; return where those go, in order."""
        words = self._words
        _child(body, "a", words("page.skip"), {"class": "skip", "href": "#cards"})
        header = SubElement(body, "header")
        _child(header, "h1", words("cover.title"))
        _child(header, "p", self._job.chart.bowler.name)
        SubElement(header, "div", {"class": "boards", "aria-hidden": "true"})
        if slot:
            body.append(ElementTree.Comment("panel"))
        groups = self._groups()
        self._leaves(SubElement(body, "nav", {"aria-label": words("page.leaves")}), groups)
        main = SubElement(body, "main", id="cards", tabindex="-1")
        places = list(self._articles(main, groups))
        self._controls(main)
        places += self._notes(SubElement(body, "aside"))
        return places

    def _groups(self) -> list[tuple[str, list[Card]]]:
        """Return the cards with the titles of their sections, in reading order."""
        shown = zip(self._job.chart.lines, self._deck.cards, strict=True)
        return [
            (self._title(section), [card for _, card in group])
            for section, group in groupby(shown, lambda pair: section_of(pair[0]))
        ]

    def _title(self, section: Section) -> str:
        if section is Section.STRIKE:
            name = self._words("kinds.strike")
            return name[:1].upper() + name[1:]
        return self._words(f"sections.{section.value}")

    def _leaves(self, nav: Element, groups: Sequence[tuple[str, Sequence[Card]]]) -> None:
        words = self._words
        box = SubElement(nav, "details")
        _child(box, "summary", words("page.leaves"))
        find = SubElement(box, "div", {"class": "find", "role": "search"})
        label = _child(find, "label", words("page.find"), {"for": "find"})
        SubElement(
            label,
            "input",
            {
                "id": "find",
                "type": "search",
                "placeholder": "3-10",
                "autocomplete": "off",
                "autocapitalize": "off",
                "spellcheck": "false",
                "enterkeyhint": "go",
            },
        )
        _child(find, "p", words("page.none"), {"id": "none", "role": "status", "hidden": ""})
        for title, cards in groups:
            part = SubElement(box, "section")
            _child(part, "h2", title)
            row = SubElement(part, "ul")
            for card in cards:
                strike = card.leave == FULL_RACK
                link = SubElement(
                    SubElement(row, "li", {"class": "strike"} if strike else {}),
                    "a",
                    {
                        "href": f"#{_name(card)}",
                        "aria-label": self._called(card),
                        "data-pins": " ".join(map(str, card.leave)),
                    },
                )
                link.append(_rack(card.leave))
                _child(link, "span", title if strike else str(card.leave))

    def _called(self, card: Card) -> str:
        return self._words.listed(dict.fromkeys((card.name, card.kind)))

    def _articles(
        self, main: Element, groups: Sequence[tuple[str, Sequence[Card]]]
    ) -> Iterator[Element]:
        """Put the cards in; yield where each front and each back is to be drawn."""
        words = self._words
        count, number = len(self._deck.cards), 0
        told = (scene.description for scene in self._scenes)
        for title, cards in groups:
            part = SubElement(main, "section")
            _child(part, "h2", title)
            for card in cards:
                number += 1
                name = _name(card)
                article = SubElement(
                    part,
                    "article",
                    {
                        "id": name,
                        "tabindex": "-1",
                        "aria-labelledby": f"{name}-name",
                        "aria-describedby": f"{name}-front-told",
                    },
                )
                heading = _child(article, "h3", f"{card.name} ", {"id": f"{name}-name"})
                _child(heading, "small", words("page.place", number=number, count=count))
                sides = SubElement(article, "div", {"class": "sides"})
                for side, label in (("front", words("page.front")), ("back", words("page.back"))):
                    figure = SubElement(
                        sides, "figure", {"class": side, "id": f"{name}-{side}", "role": "group"}
                    )
                    figure.set("aria-label", label)
                    _child(figure, "figcaption", next(told), {"id": f"{name}-{side}-told"})
                    yield figure

    def _controls(self, main: Element) -> None:
        words = self._words
        bar = SubElement(main, "div", {"class": "controls"})
        for kind, label in (
            ("previous", words("page.previous")),
            ("turn", words("page.turn")),
            ("next", words("page.next")),
        ):
            button = SubElement(bar, "button", {"type": "button", "id": kind})
            if kind == "turn":
                _child(button, "span", label)
                SubElement(button, "small", {"id": "place", "aria-hidden": "true"})
                continue
            button.set("aria-label", label)
            arrow = SubElement(button, "svg", {"viewBox": "0 0 24 24", "aria-hidden": "true"})
            path = "M15 4 7 12l8 8" if kind == "previous" else "M9 4l8 8-8 8"
            SubElement(arrow, "path", d=path)
        SubElement(main, "div", {"class": "said", "id": "now", "role": "status"})

    def _notes(self, aside: Element) -> list[Element]:
        """Put in what goes with the cards; return where a logo goes, if there is one."""
        words, deck = self._words, self._deck
        for title, points in (
            (deck.care.title, (*deck.care.paragraphs, *words.all("page.care"))),
            (deck.key.title, (words("page.use"), *deck.key.paragraphs)),
        ):
            part = SubElement(aside, "section")
            _child(part, "h2", title)
            row = SubElement(part, "ul")
            for point in points:
                _child(row, "li", point)
        centre = self._job.template.centre
        if not centre.texts and centre.logo is None:
            return []
        part = SubElement(aside, "section", {"class": "centre"})
        places = [] if centre.logo is None else [SubElement(part, "div", {"class": "logo"})]
        for text in centre.texts:
            _child(part, "p", text)
        return places


def _child(
    parent: Element, tag: str, text: str, attributes: dict[str, str] | None = None
) -> Element:
    element = SubElement(parent, tag, attributes or {})
    element.text = text
    return element


def _name(card: Card) -> str:
    """Return the name of a card in the page's address; it is the same in every deck."""
    return f"leave-{'strike' if card.leave == FULL_RACK else card.leave}"


def _asset(name: str) -> str:
    return (data_folder("templates") / "page" / name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    """Return the source expression for an inline style or script (CSP Level 3, 2.3.1)."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


# --- drawings -------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Drawn:
    """The drawings in order, what they share, and the type that they and the page are set in.

    ``type_rules`` are CSS rules that carry the fonts; ``families`` names them in order.
    """

    drawings: tuple[Element, ...]
    shared: Element
    type_rules: str
    families: str


def _drawn(scenes: Sequence[Scene], info: DocumentInfo, letters: str) -> _Drawn:
    """Return each scene as an SVG element.

    The type has ``letters`` as well, and what is typed into the search.
    """
    shown = "".join(sorted({c for c in letters + _DIGITS if c >= " "}))
    type_case = Group(tuple(Text(0.0, 0.0, shown, 1.0, weight) for weight in Weight))
    groups = [Group(scene.items) for scene in scenes]
    width_mm, height_mm = scenes[0].width_mm, scenes[0].height_mm
    text = svg_text(Scene(width_mm, height_mm, (*groups, type_case)), info)
    root = ElementTree.fromstring(text)
    for element in root.iter():
        _at_home_in_html(element)
    groups_drawn = root.findall("g")[: len(scenes)]
    definitions = root.find("defs")
    assert definitions is not None
    rules = definitions.find("style")
    assert rules is not None
    definitions.remove(rules)
    shared = Element("svg", {"class": "shared", "aria-hidden": "true"})
    shared.append(definitions)
    _rack_symbol(definitions)
    _share(groups_drawn, definitions)
    drawings = []
    for scene, group in zip(scenes, groups_drawn, strict=True):
        drawing = Element(
            "svg",
            {
                "viewBox": f"0 0 {scene.width_mm:g} {scene.height_mm:g}",
                "stroke-miterlimit": root.get("stroke-miterlimit", ""),
                "aria-hidden": "true",
            },
        )
        drawing.append(group)
        drawings.append(drawing)
    return _Drawn(tuple(drawings), shared, f"{rules.text or ''}\n", root.get("font-family", ""))


def _scenes(job: Job, deck: CardSet, fmt: Format) -> list[Scene]:
    """Return each card's front and back, and the template's logo if it has one."""
    design = job.template.design
    scenes = [
        scene
        for card in deck.cards
        for scene in (face_scene(card, fmt, design), back_scene(card, fmt, design))
    ]
    return list(job.inked([*scenes, *_logo(job.template)]))


def _logo(template: Template) -> Iterator[Scene]:
    centre = template.centre
    if centre.logo is not None:
        width, height = logo_size_mm(centre.logo, *_LOGO_MM)
        item: Item = logo_item(centre.logo, 0.0, 0.0, width, centre.name)
        yield Scene(width, height, (item,))


def _at_home_in_html(element: Element) -> None:
    """Take the namespaces off an SVG element: in HTML the parser knows them (HTML, 13.2.6.5)."""
    element.tag = element.tag.removeprefix(_SVG)
    if (link := element.attrib.pop(_XLINK_HREF, None)) is not None:
        element.set("href", link)
    element.tail = None


def _share(drawings: Sequence[Element], definitions: Element) -> None:
    """Move each group that stands in several drawings to the definitions, and refer to it."""
    texts = {
        id(group): ElementTree.tostring(group, encoding="unicode") for group in _groups_in(drawings)
    }
    counts = Counter(texts.values())
    names: dict[str, str] = {}

    def visit(parent: Element) -> None:
        for place, child in enumerate(list(parent)):
            text = texts.get(id(child), "")
            if len(text) < _SHARED_FROM or counts[text] == 1:
                visit(child)
                continue
            if text not in names:
                names[text] = f"shared-{len(names) + 1}"
                child.set("id", names[text])
                definitions.append(child)
            parent[place] = Element("use", href=f"#{names[text]}")

    for drawing in drawings:
        visit(drawing)


def _groups_in(drawings: Iterable[Element]) -> Iterator[Element]:
    for drawing in drawings:
        yield from (group for group in drawing.iter("g") if group is not drawing)


def _rack_symbol(definitions: Element) -> None:
    rack = SubElement(definitions, "g", {"id": "rack"})
    for pin in PIN_NUMBERS:
        x, y = _spot(pin)
        SubElement(rack, "circle", {"cx": x, "cy": y, "r": "1.3"})


def _rack(leave: Leave) -> Element:
    """Return the small picture of a leave: ten spots, larger where a pin stands."""
    picture = Element(
        "svg",
        {
            "class": "rack",
            "viewBox": f"0 0 {_RACK_MM[0]:g} {_RACK_MM[1]:g}",
            "aria-hidden": "true",
        },
    )
    SubElement(picture, "use", href="#rack")
    for pin in leave:
        x, y = _spot(pin)
        SubElement(picture, "circle", {"class": "pin", "cx": x, "cy": y, "r": "2.5"})
    return picture


def _spot(pin: int) -> tuple[str, str]:
    """Return where a pin stands in the small picture, as the bowler sees it."""
    scale = _PIN_GAP / SPACING_M
    x = _RACK_MM[0] / 2 + pin_x_m(pin) * scale
    y = 3.2 + (pin_y_m(7) - pin_y_m(pin)) * scale
    return f"{x:.4g}", f"{y:.4g}"


def _icon(colours: Colours) -> str:
    """Return the page's sign: a card with a ball's path on it."""
    sign = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16">'
        f'<rect x="3" y="1" width="10" height="14" rx="1.5" fill="{colours.heading}"/>'
        '<path d="M9.5 13 7 6.5" stroke="#fff" stroke-width="1.4"/>'
        '<circle cx="6.6" cy="4.4" r="1.8" fill="#fff"/></svg>'
    )
    return f"data:image/svg+xml;base64,{base64.b64encode(sign.encode()).decode()}"
