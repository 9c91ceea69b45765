"""The deck page as a browser shows it: from a file, on a phone, by keys, by touch and by ear."""

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest

from cardgen.press import Job

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


def test_the_browsers_own_keys_are_left_to_it(opened: Open, deck: str, order: list[str]) -> None:
    page, _ = opened(deck)
    page.keyboard.press("Control+ArrowRight")
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
    heard = page.locator("main").aria_snapshot()
    assert 'article "10 pin 2 of 31"' in heard
    assert 'group "Front"' in heard
    assert 'group "Back"' in heard
    assert "Stand on board 34, look at board 20, 4th arrow." in heard
    assert "57 in 100" in heard
    assert "Stay behind the foul line." in heard
    for name in ("Previous card", "Turn over", "Next card"):
        assert f'button "{name}"' in heard
    assert "Full rack" not in heard


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
