"""The deck as one page: whole, alone, closed to everything else, and readable without eyes."""

import base64
import hashlib
import io
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from cardgen.cards.words import Words, load_words
from cardgen.deckpage import PANEL_SLOT, deck_page, served_page
from cardgen.drawing.fonts import missing_glyphs
from cardgen.drawing.theme import A7, ID_1, INK
from cardgen.lane.rack import Leave
from cardgen.press import Job, job_of, open_profile
from cardgen.profile.loader import find_profile
from cardgen.targeting.answers import Answers
from cardgen.templating.colours import contrast
from cardgen.templating.loading import load_template
from cardgen.templating.template import Template

VOID = {"meta", "link", "input"}
LOOK = Path("page", "look.css")


@dataclass(eq=False)
class Node:
    """An element as a browser reads it."""

    tag: str
    attributes: dict[str, str]
    inside: "list[Node | str]" = field(default_factory=list)

    def all(self, tag: str = "", **attributes: str) -> "list[Node]":
        """Return the elements below, in order, of a tag and with these attributes."""
        found = []
        for child in self.inside:
            if isinstance(child, Node):
                wanted = all(child.attributes.get(k) == v for k, v in attributes.items())
                found += [child] if wanted and tag in ("", child.tag) else []
                found += child.all(tag, **attributes)
        return found

    @property
    def text(self) -> str:
        return "".join(c if isinstance(c, str) else c.text for c in self.inside)


class Reader(HTMLParser):
    """Builds nodes; fails on an element that is not closed."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Node("", {})
        self.comments: list[str] = []
        self._open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), (tag, names)
        node = Node(tag, {name: value or "" for name, value in attrs})
        self._open[-1].inside.append(node)
        if tag not in VOID:
            self._open.append(node)

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop().tag == tag

    def handle_data(self, data: str) -> None:
        self._open[-1].inside.append(data)

    def handle_comment(self, data: str) -> None:
        self.comments.append(data)


def read(html: str) -> Node:
    reader = Reader()
    reader.feed(html)
    reader.close()
    return reader.root


@pytest.fixture(scope="module")
def job(demos: dict[str, Job]) -> Job:
    return demos["ilse-marchetti"]


@pytest.fixture(scope="module")
def html(job: Job) -> str:
    return deck_page(job, ID_1)


@pytest.fixture(scope="module")
def page(html: str) -> Node:
    return read(html)


@pytest.fixture(scope="module")
def small(words: Words, tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Job]:
    """Return a function from a bowler's name to the job of three cards."""
    path = tmp_path_factory.mktemp("small") / "private-notes.yaml"
    path.write_text("bowler: Nobody\nhand: left\n", encoding="utf-8")
    leaves = [Leave.of(*range(1, 11)), Leave.of(10), Leave.of(3, 10)]
    job = job_of(open_profile(path).loaded, words, leaves)

    def made(name: str, other: Words | None = None, template: str | None = None) -> Job:
        chart = replace(job.chart, bowler=replace(job.chart.bowler, name=name))
        look = Template() if template is None else load_template(template)
        return replace(job, answers=Answers(chart), words=other or words, template=look)

    return made


# --- whole ----------------------------------------------------------------------------------------


def test_every_line_has_its_card_front_then_back_in_the_charts_order(job: Job, page: Node) -> None:
    articles = page.all("article")
    assert len(articles) == len(job.chart.lines) > 25
    for article, line in zip(articles, job.chart.lines, strict=True):
        sides = article.all("figure")
        assert [side.attributes["class"] for side in sides] == ["front", "back"]
        assert all(len(side.all("svg")) == 1 for side in sides)
        strike = len(line.leave) == 10
        assert article.attributes["id"] == f"leave-{'strike' if strike else line.leave}"


def test_a_drawing_shows_what_the_card_shows(job: Job, page: Node) -> None:
    line = next(line for line in job.chart.lines if line.leave == Leave.of(10))
    (article,) = page.all("article", id="leave-10")
    for side, back in zip(article.all("figure"), (False, True), strict=True):
        drawn = [node.text for node in side.all("svg")[0].all("text")]
        alone = re.findall(r"<text[^>]*>([^<]*)</text>", job.card_svg(line, ID_1, back=back))
        shared = {node.text for node in page.all("defs")[0].all("text")}
        assert drawn
        assert [text for text in alone if text not in shared] == [
            text for text in drawn if text not in shared
        ]


def test_all_sizes_and_templates_come_out(small: Callable[..., Job]) -> None:
    job = small("Ada", template="example")
    page = read(deck_page(job, A7))
    assert page.all("svg", viewbox="0 0 74 105")
    assert len(page.all("div", **{"class": "logo"})) == 1
    assert job.template.centre.name in page.all("aside")[0].text


def test_a_deck_without_colour_has_none_in_its_look(small: Callable[..., Job]) -> None:
    colours = Template().design.colours
    coloured = deck_page(small("Ana"), ID_1)
    plain = deck_page(replace(small("Ana"), mono=True), ID_1)
    assert f"--heading:{colours.heading};--path:{colours.path}" in coloured
    assert f"--heading:{INK};--path:{INK}" in plain


@pytest.mark.parametrize("language", ["en", "es", "de", "fr", "ja", "ko"])
def test_the_page_is_in_the_words_language(language: str, small: Callable[..., Job]) -> None:
    words = load_words(language)
    if missing_glyphs("".join(words.texts.values())):
        pytest.skip("this machine has no font for Japanese and Korean")
    page = read(deck_page(small("Ada", words), ID_1))
    assert page.all("html")[0].attributes["lang"] == language
    assert page.all("button", id="turn")[0].text == words("page.turn")
    assert page.all("title")[0].text == words("document.cards", bowler="Ada")


def test_the_cautions_stand_on_the_page(page: Node, words: Words) -> None:
    said = page.all("aside")[0].text
    for point in (*words.all("key_card.care"), *words.all("page.care")):
        assert point in said
    # Common practice, no source: the lane is oiled past the foul line, shoes, pain, the coach.
    for word in ("foul line", "shoes", "hurts", "certified coach", "centre", "medical"):
        assert word in said


# --- alone ----------------------------------------------------------------------------------------


def test_nothing_is_loaded_from_anywhere(page: Node, html: str) -> None:
    addresses = [
        node.attributes[name]
        for node in page.all()
        for name in ("src", "href", "action", "data", "poster", "srcset")
        if name in node.attributes
    ]
    assert len(addresses) > 50
    assert [a for a in addresses if not a.startswith(("#", "data:"))] == []
    urls = re.findall(r"url\(([^)]{0,40})", html)
    assert urls
    assert [url for url in urls if not url.startswith(("data:font/", "#"))] == []
    assert "@import" not in html
    names = set(re.findall(r"https?://[^\s\"'<]+", html))
    assert names == set()


def test_every_reference_has_what_it_names_and_no_name_is_given_twice(
    page: Node, html: str
) -> None:
    names = Counter(node.attributes["id"] for node in page.all() if "id" in node.attributes)
    assert [name for name, count in names.items() if count > 1] == []
    used = {
        node.attributes["href"][1:]
        for node in page.all()
        if node.attributes.get("href", "").startswith("#")
    }
    used |= set(re.findall(r"url\(#([^)]+)\)", html))
    used |= {n.attributes["aria-labelledby"] for n in page.all("article")}
    assert used - set(names) == set()


def test_the_type_and_the_lane_stand_there_once(html: str, page: Node, job: Job) -> None:
    assert html.count("@font-face") == 3  # one a weight
    assert len(page.all("style")) == 1
    assert len(page.all("g", **{"class": "lane-alike"})) == 1
    used = Counter(node.attributes["href"] for node in page.all("main")[0].all("use"))
    assert max(used.values()) == len(job.chart.lines)


def type_of(html: str) -> dict[str, set[str]]:
    """Return the characters that each weight of the page's own type has."""
    faces = re.findall(r"font-weight:(\d+);src:url\(data:font/ttf;base64,([^)]+)\)", html)
    fonts = {weight: TTFont(io.BytesIO(base64.b64decode(data))) for weight, data in faces}
    return {weight: set(map(chr, font.getBestCmap())) for weight, font in fonts.items()}


def test_what_is_shown_and_what_is_typed_into_the_search_is_set_in_the_pages_own_type(
    job_from: Callable[..., Job],
) -> None:
    whole = job_from("bowler: Ðura Ŵyn Ǫ\nhand: left\n")
    unseen = set()
    for pin in (1, 5, 7, 9):
        line = next(line for line in whole.chart.lines if line.leave == Leave.of(pin))
        html = deck_page(replace(whole, answers=Answers(replace(whole.chart, lines=(line,)))), ID_1)
        body = read(html).all("body")[0]
        drawings = Counter("".join(node.text for node in body.all("svg")))
        shown = {c for c in Counter(body.text) - drawings if not c.isspace()}
        typed = set("0123456789-,") | set(body.all("input")[0].attributes["placeholder"])
        unseen |= typed - shown
        kinds = type_of(html)
        assert len(kinds) == 3
        for weight, has in kinds.items():
            assert shown - has == set(), weight
            assert typed - has == set(), weight
    assert unseen  # or cards of few figures would have what is typed anyway


@pytest.mark.parametrize("name", ["ilse-marchetti", "wren-skobernik"])
def test_a_deck_of_thirty_cards_is_small(name: str, demos: dict[str, Job]) -> None:
    job = demos[name]
    assert len(job.chart.lines) >= 30
    assert len(deck_page(job, ID_1).encode()) < 1.5e6


def test_the_same_profile_gives_the_same_page(html: str, words: Words) -> None:
    again = job_of(open_profile(find_profile("ilse-marchetti")).loaded, words)
    assert deck_page(again, ID_1) == html


def test_nothing_of_the_bowler_but_the_name_is_told(small: Callable[..., Job]) -> None:
    html = deck_page(small("Ada"), ID_1)
    assert "Ada" in html
    for secret in ("private-notes", ".yaml", str(Path.home())):
        assert secret not in html


# --- closed ---------------------------------------------------------------------------------------


def directives(policy: str) -> dict[str, list[str]]:
    parts = [part.split() for part in policy.split(";")]
    return {name: values for name, *values in parts}


def policy_of(page: Node) -> str:
    (meta,) = page.all("meta", **{"http-equiv": "Content-Security-Policy"})
    return meta.attributes["content"]


def source(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def test_hashes_are_those_of_the_standard() -> None:
    # W3C, Content Security Policy Level 3, 8.3 (from memory): the source of this very script.
    hashed = "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='"
    assert source("alert('Hello, world.');") == hashed


def test_the_policy_lets_in_the_pages_own_style_and_script_and_nothing_else(page: Node) -> None:
    styles, scripts = page.all("style"), page.all("script")
    assert directives(policy_of(page)) == {
        "default-src": ["'none'"],
        "style-src": [source(node.text) for node in styles],
        "script-src": [source(node.text) for node in scripts],
        "img-src": ["data:"],
        "font-src": ["data:"],
        "base-uri": ["'none'"],
        "form-action": ["'none'"],
    }
    assert len(scripts) == 1


def test_a_served_page_may_ask_its_server_besides(job: Job) -> None:
    served = served_page(job, ID_1)
    page = read(served.html)
    assert policy_of(page) == served.policy
    told = directives(served.policy)
    assert told.pop("connect-src") == ["'self'"]
    assert told["script-src"] == [source(node.text) for node in page.all("script")]
    assert len(told["script-src"]) == 2
    assert served.html.count(PANEL_SLOT) == 1


def test_a_page_to_keep_has_no_room_for_a_server(html: str) -> None:
    assert PANEL_SLOT not in html


def test_no_style_or_script_hides_in_an_attribute(page: Node) -> None:
    names = {name for node in page.all() for name in node.attributes}
    assert "style" not in names
    assert [name for name in names if name.startswith("on")] == []


def test_the_policy_comes_before_what_it_rules(html: str) -> None:
    assert html.index("Content-Security-Policy") < html.index("<style") < html.index("<script")


def test_the_look_is_there_before_anything_is_shown(page: Node) -> None:
    (head,), (body,) = page.all("head"), page.all("body")
    assert len(head.all("style")) == len(page.all("style")) == 1
    assert len(head.all("script")) == len(page.all("script")) == 1
    assert body.all("link") == []


def test_each_card_is_described_by_the_side_that_is_up_at_first(page: Node) -> None:
    for card in page.all("article"):
        (told,) = page.all("figcaption", id=card.attributes["aria-describedby"])
        (front,) = card.all("figure", **{"class": "front"})
        assert told in front.all("figcaption")
        assert re.search(r"\d", told.text)


def test_we_know_a_page_of_ours_again(html: str) -> None:
    assert re.match(r'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">', html)
    assert re.search(r'<meta name="generator" content="cardgen \d', html[:4096])


@pytest.mark.parametrize(
    "name", ["<script>alert(1)</script>", '"><b onclick="x">', "&lt;i&gt; <!--"]
)
def test_a_name_is_never_markup(name: str, small: Callable[..., Job]) -> None:
    html = deck_page(small(name), ID_1)
    page = read(html)
    assert page.all("header")[0].all("p")[0].text == name
    assert len(page.all("script")) == 1
    assert page.all("b") == page.all("i") == []
    assert "<script>alert" not in html
    assert PANEL_SLOT not in html


def test_a_name_cannot_take_the_servers_place(small: Callable[..., Job]) -> None:
    served = served_page(small(PANEL_SLOT), ID_1)
    assert served.html.count(PANEL_SLOT) == 1
    assert read(served.html).all("header")[0].all("p")[0].text == PANEL_SLOT


# --- readable -------------------------------------------------------------------------------------


def test_each_card_is_an_article_with_its_heading_and_its_text(job: Job, page: Node) -> None:
    for article, line in zip(page.all("article"), job.chart.lines, strict=True):
        (heading,) = article.all("h3")
        assert article.attributes["aria-labelledby"] == heading.attributes["id"]
        front, back = (side.all("figcaption")[0].text for side in article.all("figure"))
        for board in (line.stand, line.target):
            figure = f"{int(board)}{'½' if board % 1 else ''}"
            assert re.search(rf"\b{figure}(?!\d)", front), (heading.text, figure)
        assert "Stay behind the foul line." in back
        assert all(node.attributes["aria-hidden"] == "true" for node in article.all("svg"))


def test_what_is_read_out_has_no_double_marks(page: Node) -> None:
    said = [node.text for node in page.all("figcaption")]
    assert all(said)
    assert [text for text in said if re.search(r"[.:?!]\s*[.:]|:\s*$|\s{2}", text)] == []


def test_headings_go_down_one_step_at_a_time(page: Node) -> None:
    levels = [int(n.tag[1]) for n in page.all() if re.fullmatch("h[1-6]", n.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_every_leave_has_a_link_with_its_pins(job: Job, page: Node) -> None:
    links = page.all("nav")[0].all("a")
    assert [link.attributes["data-pins"] for link in links] == [
        " ".join(map(str, line.leave)) for line in job.chart.lines
    ]
    names = [link.attributes["aria-label"] for link in links]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("name", ["ilse-marchetti", "wren-skobernik"])
def test_the_small_picture_shows_the_deck_as_the_bowler_sees_it(
    name: str, demos: dict[str, Job]
) -> None:
    # Common practice, no source: the 10 pin stands in the right corner whatever hand one bowls
    # with, the 7 pin in the left, both behind the head pin.
    page = read(deck_page(demos[name], ID_1))
    at = {}
    for link in page.all("nav")[0].all("a"):
        if link.attributes["data-pins"] in ("1", "7", "10"):
            (pin,) = link.all("circle")
            at[link.attributes["data-pins"]] = [float(pin.attributes[k]) for k in ("cx", "cy")]
    assert at["7"][0] < at["1"][0] < at["10"][0]
    assert at["7"][1] == at["10"][1] < at["1"][1]


def themes() -> dict[str, dict[str, str]]:
    from cardgen.resources import data_folder

    css = (data_folder("templates") / LOOK).read_text(encoding="utf-8")
    blocks = [
        dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", block))
        for block in re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    ]
    light, dark = blocks[0], blocks[1]
    return {"light": light, "dark": light | dark}


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_stands_out_by_day_and_by_night(theme: str) -> None:
    # WCAG 2.2, success criteria 1.4.3 (4.5 : 1, text) and 1.4.11 (3 : 1, what can be focused).
    inks = themes()[theme]
    for ground in ("ground", "sheet"):
        for text in ("text", "soft"):
            assert contrast(inks[text], inks[ground]) >= 4.5, (theme, text, ground)
    ring = inks.get("ring", "#1B3A75")
    assert contrast(ring, inks["ground"]) >= 3


def test_white_on_the_designs_heading_can_be_read(job: Job) -> None:
    assert contrast("#FFFFFF", job.template.design.colours.heading) >= 4.5
