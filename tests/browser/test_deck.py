"""The deck page as a browser shows it: from a file, on a phone, by keys, by touch and by ear."""

import re
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from cardgen.cards.words import load_words
from cardgen.deckpage import deck_page
from cardgen.drawing.theme import ID_1
from cardgen.lane.rack import Leave
from cardgen.press import Job, job_of

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

Open = Callable[..., Any]


def shown(page: "Page") -> str:
    """Return the name of the one card that is to be seen."""
    cards = page.locator("article:visible")
    assert cards.count() == 1
    return str(cards.get_attribute("id"))


def side(page: "Page") -> str:
    """Return which side of it is up."""
    up = [name for name in ("front", "back") if page.locator(f".shown .{name} > svg").is_visible()]
    assert len(up) == 1
    return up[0]


def box(locator: "Locator") -> dict[str, float]:
    found = locator.bounding_box()
    assert found is not None
    x, y, width, height = found["x"], found["y"], found["width"], found["height"]
    return {
        "x": x,
        "y": y,
        "width": width,
        "height": height,
        "right": x + width,
        "bottom": y + height,
    }


def swipe(page: "Page", dx: float, dy: float = 0.0) -> None:
    """Move a finger across the card, as a phone reports it."""
    at = box(page.locator(".shown .sides"))
    x, y = at["x"] + at["width"] / 2, at["y"] + at["height"] / 2
    phone = page.context.new_cdp_session(page)

    def touch(kind: str, *points: dict[str, float]) -> None:
        phone.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": list(points)})

    touch("touchStart", {"x": x, "y": y})
    for step in range(1, 9):
        touch("touchMove", {"x": x + dx * step / 8, "y": y + dy * step / 8})
    touch("touchEnd")
    page.wait_for_timeout(50)


@pytest.fixture
def order(demos: dict[str, Job]) -> list[str]:
    """The names of the cards, in order."""
    leaves = [line.leave for line in demos["ilse-marchetti"].chart.lines]
    return [f"leave-{'strike' if len(leave) == 10 else leave}" for leave in leaves]


# --- alone ----------------------------------------------------------------------------------------


def test_a_file_works_without_a_network_and_asks_for_nothing(opened: Open, deck: str) -> None:
    page, seen = opened(deck, offline=True)
    page.keyboard.press("ArrowRight")
    page.keyboard.press(" ")
    page.reload()
    assert side(page) == "back"
    page.wait_for_timeout(200)
    assert seen.complaints == []
    assert {url for url in seen.asked if not url.startswith("data:")} == {deck}


def test_the_type_is_the_pages_own(opened: Open, deck: str) -> None:
    page, _ = opened(deck)
    page.evaluate("document.fonts.ready")
    states = page.evaluate("[...document.fonts].map(f => [f.weight, f.status])")
    assert sorted(states) == [["400", "loaded"], ["500", "loaded"], ["700", "loaded"]]


def test_what_is_not_the_pages_own_does_not_run(opened: Open, deck: str) -> None:
    page, seen = opened(deck)
    page.evaluate(
        """() => {
          const code = document.createElement("script");
          code.textContent = "document.title = 'taken'";
          document.body.append(code);
          const picture = document.createElement("img");
          picture.src = "https://evil.example/x.png";
          document.body.append(picture);
        }"""
    )
    page.wait_for_timeout(200)
    assert page.title() == "Spare cards for Ilse Marchetti"
    assert len([text for text in seen.complaints if "Content Security Policy" in text]) == 2


# --- by keys --------------------------------------------------------------------------------------


def test_arrow_keys_go_from_card_to_card_and_stop_at_the_ends(
    opened: Open, deck: str, order: list[str]
) -> None:
    page, seen = opened(deck)
    assert shown(page) == order[0]
    page.keyboard.press("ArrowLeft")
    assert shown(page) == order[0]
    for name in order[1:]:
        page.keyboard.press("ArrowRight")
        assert shown(page) == name
        assert page.url.endswith(f"#{name}")
    page.keyboard.press("ArrowRight")
    assert shown(page) == order[-1]
    page.keyboard.press("ArrowLeft")
    assert shown(page) == order[-2]
    page.keyboard.press("Home")
    assert shown(page) == order[0]
    page.keyboard.press("End")
    assert shown(page) == order[-1]
    assert seen.complaints == []


def test_a_deck_of_one_card_stays_on_it_and_turns(
    opened: Open, demos: dict[str, Job], tmp_path: Path
) -> None:
    demo = demos["ilse-marchetti"]
    path = tmp_path / "deck.html"
    path.write_text(deck_page(job_of(demo.loaded, demo.words, [Leave.of(10)]), ID_1), "utf-8")
    page, seen = opened(path.as_uri())
    for key in ("ArrowRight", "ArrowLeft", "Home", "End"):
        page.keyboard.press(key)
        assert (shown(page), side(page)) == ("leave-10", "front")
    for name in ("Previous card", "Next card"):
        button = page.get_by_role("button", name=name)
        assert button.get_attribute("aria-disabled") == "true"
    page.keyboard.press(" ")
    assert side(page) == "back"
    swipe(page, -150)
    assert (shown(page), side(page)) == ("leave-10", "back")
    assert seen.complaints == []


@pytest.mark.parametrize("key", [" ", "Enter"])
def test_a_key_turns_the_card_over_and_back(key: str, opened: Open, deck: str) -> None:
    page, _ = opened(deck)
    for up in ("back", "front", "back"):
        page.keyboard.press(key)
        assert side(page) == up
    page.keyboard.press("ArrowRight")
    assert side(page) == "front"


def test_keys_do_what_a_button_under_them_says(opened: Open, deck: str, order: list[str]) -> None:
    page, _ = opened(deck)
    page.get_by_role("button", name="Next card").focus()
    page.keyboard.press("Enter")
    assert (shown(page), side(page)) == (order[1], "front")
    page.get_by_role("button", name="Turn over").focus()
    page.keyboard.press(" ")
    assert (shown(page), side(page)) == (order[1], "back")
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Previous card").click()
    assert shown(page) == order[1]


def test_escape_closes_the_list_and_then_turns_the_card_face_up(opened: Open, deck: str) -> None:
    page, _ = opened(f"{deck}#leave-10-back")
    page.get_by_text("Leaves", exact=True).click()
    page.get_by_label("Find a leave").fill("3")
    page.keyboard.press("Escape")
    assert not page.get_by_label("Find a leave").is_visible()
    assert page.evaluate("document.activeElement.tagName") == "SUMMARY"
    assert side(page) == "back"
    page.keyboard.press("Escape")
    assert (shown(page), side(page)) == ("leave-10", "front")
    page.keyboard.press("Escape")
    assert (shown(page), side(page)) == ("leave-10", "front")
    page.get_by_text("Leaves", exact=True).click()
    assert page.get_by_label("Find a leave").input_value() == ""
    assert page.locator("nav li a:visible").count() > 20


def test_escape_in_the_search_of_a_wide_window_only_empties_it(opened: Open, deck: str) -> None:
    page, _ = opened(f"{deck}#leave-10-back", viewport={"width": 1280, "height": 800})
    page.get_by_label("Find a leave").fill("3")
    page.keyboard.press("Escape")
    assert page.get_by_label("Find a leave").input_value() == ""
    assert page.locator("nav li a:visible").count() > 20
    assert (shown(page), side(page)) == ("leave-10", "back")


def test_the_skip_link_goes_to_the_card_that_is_shown(opened: Open, deck: str) -> None:
    page, _ = opened(deck)
    page.keyboard.press("ArrowRight")
    page.keyboard.press(" ")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "cards"
    assert page.url.endswith("#leave-10-back")
    page.reload()
    assert (shown(page), side(page)) == ("leave-10", "back")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_has_the_focus_by_keys_has_a_ring(scheme: str, opened: Open, deck: str) -> None:
    page, _ = opened(deck, color_scheme=scheme)
    for _ in range(5):
        page.keyboard.press("Tab")
        ring = page.evaluate(
            """() => {
              const style = getComputedStyle(document.activeElement);
              return [style.outlineStyle, parseFloat(style.outlineWidth)];
            }"""
        )
        assert ring == ["solid", 3]


def test_the_browsers_own_keys_are_left_to_it(opened: Open, deck: str, order: list[str]) -> None:
    page, _ = opened(deck)
    page.keyboard.press("Control+ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Shift+Tab")
    assert shown(page) == order[0]


def test_tab_goes_through_the_page_in_the_order_in_which_it_is_read(
    opened: Open, deck: str
) -> None:
    page, _ = opened(deck)
    stops = []
    for _ in range(4):
        page.keyboard.press("Tab")
        stops.append(page.evaluate("document.activeElement.id || document.activeElement.tagName"))
    assert stops == ["A", "SUMMARY", "previous", "turn"]


# --- by touch -------------------------------------------------------------------------------------


def test_a_tap_turns_the_card_over(opened: Open, deck: str) -> None:
    page, _ = opened(deck)
    for up in ("back", "front"):
        page.locator(".shown .sides").tap()
        assert side(page) == up


def test_a_swipe_goes_on_and_back_and_does_not_turn_over(
    opened: Open, deck: str, order: list[str]
) -> None:
    page, seen = opened(deck)
    swipe(page, -150)
    assert (shown(page), side(page)) == (order[1], "front")
    swipe(page, -150)
    assert shown(page) == order[2]
    swipe(page, 150)
    assert (shown(page), side(page)) == (order[1], "front")
    swipe(page, 150)
    swipe(page, 150)
    assert shown(page) == order[0]
    assert seen.complaints == []


def test_a_finger_that_moves_little_or_down_does_nothing(
    opened: Open, deck: str, order: list[str]
) -> None:
    page, _ = opened(deck)
    swipe(page, -30)
    swipe(page, 10, -150)
    assert (shown(page), side(page)) == (order[0], "front")
    at = box(page.locator(".shown .front"))
    assert at["x"] + at["width"] / 2 == pytest.approx(180, abs=1)  # back in its place


def test_fingers_may_enlarge_the_page_and_then_move_it(
    opened: Open, deck: str, order: list[str]
) -> None:
    page, _ = opened(deck, is_mobile=True)
    how = "getComputedStyle(document.querySelector('main')).touchAction"
    assert page.evaluate(how) == "pan-y pinch-zoom"
    page.context.new_cdp_session(page).send("Emulation.setPageScaleFactor", {"pageScaleFactor": 2})
    page.wait_for_function("visualViewport.scale === 2")
    page.wait_for_function(f"{how} === 'auto'")
    swipe(page, -80)
    assert (shown(page), side(page)) == (order[0], "front")


# --- leaves ---------------------------------------------------------------------------------------


def test_a_leave_from_the_list_is_shown_and_has_the_focus(opened: Open, deck: str) -> None:
    page, _ = opened(deck)
    page.get_by_text("Leaves", exact=True).click()
    page.get_by_role("link", name="3-10").click()
    assert shown(page) == "leave-3-10"
    assert page.evaluate("document.activeElement.id") == "leave-3-10"
    assert not page.locator("nav ul").first.is_visible()


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("3-10", "leave-3-10"),
        ("310", "leave-3-10"),
        ("10 3", "leave-3-10"),
        ("10", "leave-10"),
        ("1", "leave-1"),
        ("7,10", "leave-7-10"),
        ("full", "leave-strike"),
        ("HEAD pin", "leave-1"),
    ],
)
def test_a_leave_that_is_typed_is_found(typed: str, found: str, opened: Open, deck: str) -> None:
    page, _ = opened(deck)
    page.get_by_text("Leaves", exact=True).click()
    page.get_by_label("Find a leave").fill(typed)
    assert page.locator(f"nav a[href='#{found}']").is_visible()
    page.keyboard.press("Enter")
    assert shown(page) == found


def test_typing_narrows_the_list(opened: Open, deck: str, order: list[str]) -> None:
    page, _ = opened(deck)
    page.get_by_text("Leaves", exact=True).click()
    links = page.locator("nav li a:visible")
    assert links.count() == len(order)
    page.get_by_label("Find a leave").press_sequentially("3-1")
    pins = [str(link.get_attribute("data-pins")).split() for link in links.all()]
    assert 1 < len(pins) < len(order)
    assert all("3" in leave and {"1", "10"} & set(leave) for leave in pins)
    page.get_by_label("Find a leave").fill("2-5-9")
    assert links.count() == 0
    assert page.get_by_text("There is no card for this leave.").is_visible()
    page.get_by_label("Find a leave").fill("")
    assert links.count() == len(order)


def test_an_address_opens_its_card_and_side(opened: Open, deck: str) -> None:
    page, _ = opened(f"{deck}#leave-7-back")
    assert (shown(page), side(page)) == ("leave-7", "back")
    page.goto(f"{deck}#leave-3-10")
    assert (shown(page), side(page)) == ("leave-3-10", "front")


def test_an_address_of_no_card_opens_the_first(opened: Open, deck: str, order: list[str]) -> None:
    page, seen = opened(f"{deck}#leave-2-5-9")
    assert shown(page) == order[0]
    page, seen = opened(f"{deck}#%")
    assert shown(page) == order[0]
    assert seen.complaints == []


# --- what it looks like ---------------------------------------------------------------------------


@pytest.mark.parametrize("js", [True, False])
@pytest.mark.parametrize(
    "size", [(320, 568), (360, 640), (640, 360), (768, 1024), (991, 700), (992, 700), (1920, 1080)]
)
def test_nothing_is_wider_than_the_window(
    size: tuple[int, int], js: bool, opened: Open, deck: str
) -> None:
    # WCAG 2.2, success criterion 1.4.10: no scrolling in two dimensions from 320 CSS pixels on.
    width, height = size
    page, _ = opened(deck, viewport={"width": width, "height": height}, java_script_enabled=js)
    page.locator("details").evaluate("box => { box.open = true; }")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for card in page.locator("article:visible").all()[:2]:
        at = box(card.locator(".front"))
        assert at["x"] >= 0
        assert at["right"] <= width


def test_the_card_and_its_buttons_go_on_a_phones_first_screen(opened: Open, deck: str) -> None:
    page, _ = opened(deck)
    page.keyboard.press("ArrowRight")
    card, bar = box(page.locator(".shown .front")), box(page.locator(".controls"))
    assert page.evaluate("scrollY") == 0
    assert card["bottom"] <= bar["y"] + 1
    assert bar["bottom"] <= 640
    assert card["width"] >= 290
    # WCAG 2.2, success criterion 2.5.5 (AAA): 44 by 44 CSS pixels to hit.
    for button in page.locator("button, summary").all():
        assert min(box(button)["width"], box(button)["height"]) >= 44


@pytest.mark.parametrize("size", [(667, 375), (740, 360), (844, 390), (932, 430)])
def test_a_phone_on_its_side_shows_the_whole_card_and_its_buttons(
    size: tuple[int, int], opened: Open, deck: str
) -> None:
    width, height = size
    page, _ = opened(deck, viewport={"width": width, "height": height})
    page.keyboard.press("ArrowRight")
    card = box(page.locator(".shown .front"))
    assert card["y"] >= 0
    assert card["bottom"] <= height
    assert card["width"] >= 210
    for control in page.locator("button, summary").all():
        at = box(control)
        assert min(at["width"], at["height"]) >= 44
        assert at["bottom"] <= height
        assert at["right"] <= card["x"] or at["x"] >= card["right"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize(
    "size", [(320, 568), (390, 844), (844, 390), (568, 320), (768, 1024), (1440, 900)]
)
def test_type_twice_as_large_is_neither_cut_nor_covered(
    size: tuple[int, int], opened: Open, deck: str
) -> None:
    # WCAG 2.2, success criterion 1.4.4: text can be resized to 200 percent.
    width, height = size
    page, _ = opened(deck, viewport={"width": width, "height": height})
    session = page.context.new_cdp_session(page)
    session.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    page.wait_for_function("getComputedStyle(document.documentElement).fontSize === '32px'")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for control in page.locator("button:visible, summary:visible, h1").all():
        over = control.evaluate("one => one.scrollWidth - one.clientWidth")
        assert over <= 0, control
        assert box(control)["x"] >= 0
        assert box(control)["right"] <= width
    title, leaves = box(page.locator("h1")), page.locator("summary")
    if leaves.is_visible():
        at = box(leaves)
        assert title["right"] <= at["x"] or title["bottom"] <= at["y"]


@pytest.mark.parametrize(
    "size", [(320, 568), (390, 844), (844, 390), (568, 320), (768, 1024), (1440, 900)]
)
def test_all_there_is_to_hit_is_as_large_as_a_finger(
    size: tuple[int, int], opened: Open, deck: str
) -> None:
    # WCAG 2.2, success criterion 2.5.5 (AAA): 44 by 44 CSS pixels.
    page, _ = opened(deck, viewport={"width": size[0], "height": size[1]})
    page.locator("details").evaluate("box => { box.open = true; }")
    targets = page.locator("button:visible, summary:visible, nav a:visible, input:visible")
    sizes = targets.evaluate_all(
        "all => all.map(one => one.getBoundingClientRect()).map(r => [r.width, r.height])"
    )
    assert len(sizes) > 30
    assert min(map(min, sizes)) >= 44


@pytest.mark.parametrize("size", [(390, 844), (1440, 900)])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_text_stands_out_from_what_it_is_on(
    scheme: str, size: tuple[int, int], opened: Open, deck: str
) -> None:
    # WCAG 2.2, success criterion 1.4.3: 4.5 to 1; controls that are off are exempt.
    page, _ = opened(deck, color_scheme=scheme, viewport={"width": size[0], "height": size[1]})
    page.keyboard.press("ArrowRight")
    page.locator("details").evaluate("box => { box.open = true; }")
    found = page.evaluate(
        """() => {
          const parts = text => text.match(/[\\d.]+/g).map(Number);
          const ground = one => {
            for (let at = one; at; at = at.parentElement) {
              const [r, g, b, a = 1] = parts(getComputedStyle(at).backgroundColor);
              if (a > 0) return [r, g, b];
            }
          };
          const light = rgb => rgb.map(c => c / 255)
            .map(c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
            .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
          const ratio = (text, behind) => {
            const [more, less] = [light(text), light(behind)].sort((x, y) => y - x);
            return (more + 0.05) / (less + 0.05);
          };
          const said = one => [...one.childNodes].some(n => n.nodeType === 3 && n.data.trim());
          const not = "style, script, .shared, figcaption, [aria-disabled=true]";
          const all = [...document.body.querySelectorAll("*")].filter(said)
            .filter(one => one.checkVisibility({ visibilityProperty: true }))
            .filter(one => !one.closest(not));
          const rows = all.map(one => {
            const style = getComputedStyle(one);
            const drawn = one.closest("svg") !== null;
            const text = parts(drawn ? style.fill : style.color).slice(0, 3);
            return [one.textContent, ratio(text, ground(one))];
          });
          const find = document.getElementById("find");
          const hint = parts(getComputedStyle(find, "::placeholder").color);
          return [...rows, ["3-10", ratio(hint.slice(0, 3), ground(find))]];
        }"""
    )
    assert len(found) > 60
    low = [(text, ratio) for text, ratio in found if ratio < 4.5]
    assert low == []


def test_where_the_reader_chose_all_colours_cards_keep_theirs(opened: Open, deck: str) -> None:
    page, _ = opened(
        deck, forced_colors="active", color_scheme="dark", viewport={"width": 1440, "height": 900}
    )
    page.keyboard.press("ArrowRight")
    colour = "one => getComputedStyle(one).{}"
    card = page.locator(".shown .front > svg")
    assert card.evaluate(colour.format("backgroundColor")) == "rgb(255, 255, 255)"
    figures = card.get_by_text("34", exact=True).all()
    assert "rgb(17, 17, 17)" in [one.evaluate(colour.format("fill")) for one in figures]
    grounds = page.locator("nav li a").evaluate_all(
        "all => all.map(one => getComputedStyle(one).backgroundColor)"
    )
    assert grounds.count(grounds[1]) == 1  # the one that is shown


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_cards_are_on_white_whatever_the_page_is_on(scheme: str, opened: Open, deck: str) -> None:
    page, _ = opened(deck, color_scheme=scheme)
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    light = sum(map(int, re.findall(r"\d+", ground)[:3])) > 3 * 128
    assert light == (scheme == "light")
    cards = page.locator("figure > svg").evaluate_all(
        "all => all.map(one => getComputedStyle(one).backgroundColor)"
    )
    assert set(cards) == {"rgb(255, 255, 255)"}


def test_nothing_moves_where_that_is_not_wanted(opened: Open, deck: str) -> None:
    page, _ = opened(deck, reduced_motion="reduce")
    page.keyboard.press(" ")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.getAnimations().length") == 0
    page, _ = opened(deck, reduced_motion="no-preference")
    page.keyboard.press(" ")
    assert page.evaluate("document.getAnimations().length") > 0


def test_without_scripts_all_cards_stand_in_order_front_then_back(
    opened: Open, deck: str, order: list[str]
) -> None:
    page, seen = opened(deck, java_script_enabled=False)
    cards = page.locator("article:visible")
    assert [card.get_attribute("id") for card in cards.all()] == order
    tops = []
    for card in cards.all():
        tops += [box(card.locator(".front > svg"))["y"], box(card.locator(".back > svg"))["y"]]
    assert tops == sorted(tops)
    assert not page.locator("button").first.is_visible()
    assert not page.get_by_label("Find a leave").is_visible()
    assert page.get_by_role("heading", name="Take care").is_visible()
    assert seen.complaints == []


def test_paper_has_every_card_at_its_own_size(opened: Open, deck: str, order: list[str]) -> None:
    page, _ = opened(deck, viewport={"width": 1000, "height": 700})
    page.emulate_media(media="print")
    for name in (".front", ".back"):
        sides = page.locator(f"article {name} > svg:visible")
        assert sides.count() == len(order)
    assert page.get_by_role("heading", name="Single pins").is_visible()
    at = box(page.locator(".front > svg").first)
    px_per_mm = 96 / 25.4  # CSS Values and Units Level 4, 6.2
    assert at["width"] == pytest.approx(53.98 * px_per_mm, abs=1)
    assert at["height"] == pytest.approx(85.60 * px_per_mm, abs=2)
    assert page.get_by_role("heading", name="Take care").is_visible()
    assert not page.locator("nav").is_visible()


# --- by ear ---------------------------------------------------------------------------------------


def test_a_reader_hears_which_card_it_is_and_all_it_says(opened: Open, deck: str) -> None:
    page, _ = opened(deck)
    page.keyboard.press("ArrowRight")
    card = page.get_by_role("article")
    for up, down, told in (
        ("Front", "Back", "Stand on board 34, look at board 20, 4th arrow."),
        ("Back", "Front", "57 in 100"),
    ):
        heard = page.locator("main").aria_snapshot()
        assert 'heading "Single pins" [level=2]' in heard
        assert 'article "10 pin 2 of 31"' in heard
        assert f'group "{up}"' in heard
        assert f'group "{down}"' not in heard
        assert told in card.inner_text()
        assert told in described(page, "10 pin 2 of 31")
        for name in ("Previous card", "Turn over", "Next card"):
            assert f'button "{name}"' in heard
        assert "Full rack" not in heard
        page.keyboard.press(" ")
    assert "Stay behind the foul line." in page.locator("aside").aria_snapshot()


def described(page: "Page", name: str) -> str:
    """Return what the browser tells assistive technology of the card with this name."""
    session = page.context.new_cdp_session(page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    (card,) = [node for node in nodes if node.get("role", {}).get("value") == "article"]
    assert card["name"]["value"] == name
    return str(card["description"]["value"])


@pytest.mark.parametrize("turned", [False, True])
def test_headings_that_are_heard_go_down_one_step_at_a_time(
    turned: bool, opened: Open, deck: str
) -> None:
    page, _ = opened(deck)
    if turned:
        page.keyboard.press(" ")
    levels = [
        int(level) for level in re.findall(r"\[level=(\d)\]", page.locator("body").aria_snapshot())
    ]
    assert levels[0] == 1
    assert all(below - above <= 1 for above, below in pairwise(levels))


def test_a_card_that_takes_the_focus_is_told_by_that_alone(
    opened: Open, deck: str, order: list[str]
) -> None:
    page, _ = opened(deck)
    page.get_by_text("Leaves", exact=True).click()
    page.get_by_role("link", name="3-10").click()
    now = page.locator("#now")
    assert now.text_content() == ""
    page.keyboard.press("ArrowRight")
    following = order[order.index("leave-3-10") + 1]
    assert page.evaluate("document.activeElement.id") == following == shown(page)
    assert now.text_content() == ""
    page.keyboard.press(" ")
    assert "back of the card" in now.text_content()
    page.get_by_role("button", name="Next card").click()
    assert page.evaluate("document.activeElement.id") == "next"
    assert now.text_content() != ""


@pytest.mark.parametrize("language", ["en", "de", "ja"])
def test_every_control_has_a_name_in_the_language_of_the_page(
    language: str, opened: Open, demos: dict[str, Job], tmp_path: Path
) -> None:
    words = load_words(language)
    path = tmp_path / "deck.html"
    path.write_text(deck_page(replace(demos["wren-skobernik"], words=words), ID_1), "utf-8")
    page, seen = opened(path.as_uri())
    assert page.evaluate("document.documentElement.lang") == language
    for key in ("page.previous", "page.turn", "page.next"):
        assert page.get_by_role("button", name=words(key), exact=True).count() == 1
    assert page.get_by_role("navigation", name=words("page.leaves")).count() == 1
    page.locator("summary").click()
    assert page.get_by_role("searchbox", name=words("page.find")).is_visible()
    assert seen.complaints == []


def test_a_change_is_told_politely(opened: Open, deck: str) -> None:
    page, _ = opened(deck)
    said = page.get_by_role("status").filter(has_not_text="no card")
    assert said.text_content() == ""
    page.keyboard.press("ArrowRight")
    told = said.text_content()
    assert told.startswith("2 of 31. 10 pin, single pin. Stand on board 34, look at board 20")
    page.keyboard.press(" ")
    told = said.text_content()
    assert told.startswith("10 pin, back of the card.")
    assert "57 in 100" in told


def test_the_list_tells_which_card_is_shown(opened: Open, deck: str) -> None:
    page, _ = opened(deck, viewport={"width": 1280, "height": 800})
    page.keyboard.press("ArrowRight")
    current = page.locator("[aria-current]")
    assert current.count() == 1
    assert current.get_attribute("href") == "#leave-10"
    assert current.is_visible()
