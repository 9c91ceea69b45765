"""The preview as a browser shows it: a saved profile comes up by itself, on the card that was."""

import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest

from cardgen.cards.words import load_words
from cardgen.deckpage import deck_page
from cardgen.drawing.theme import ID_1
from cardgen.lane.rack import Leave
from cardgen.press import job_of, open_profile
from cardgen.preview import Deck, Preview, PreviewServer
from cardgen.templating.loading import load_template

Open = Callable[..., Any]
GOOD = "bowler: Ada Lorn\nhand: right\n"


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    path = tmp_path / "me.yaml"
    path.write_text(GOOD, encoding="utf-8")
    return path


@contextmanager
def served(profile: Path) -> Iterator[PreviewServer]:
    """The server of a profile's preview, which looks after its files all the time."""
    preview = Preview(Deck(profile, "en", ID_1))
    ended = Event()

    def watch() -> None:
        while not ended.wait(0.05):
            preview.look()

    with PreviewServer(preview) as running:
        threads = [Thread(target=running.serve_forever, args=(0.02,)), Thread(target=watch)]
        for thread in threads:
            thread.start()
        try:
            yield running
        finally:
            ended.set()
            running.shutdown()
            for thread in threads:
                thread.join()


@pytest.fixture
def server(profile: Path) -> Iterator[PreviewServer]:
    with served(profile) as running:
        yield running


def test_a_saved_profile_shows_on_the_same_card_and_side(
    opened: Open, server: PreviewServer, profile: Path
) -> None:
    page, seen = opened(server.address)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press(" ")
    name = page.locator("article:visible").get_attribute("id")
    profile.write_text(GOOD.replace("Ada", "Grace"), encoding="utf-8")
    page.get_by_text("Grace Lorn").first.wait_for(timeout=30_000)
    assert page.locator("article:visible").get_attribute("id") == name
    assert page.locator(".shown .back > svg").is_visible()
    assert seen.complaints == []
    assert {url.startswith((server.address, "data:")) for url in seen.asked} == {True}


def test_a_mistake_shows_as_text_and_goes_when_it_is_mended(
    opened: Open, server: PreviewServer, profile: Path
) -> None:
    page, seen = opened(server.address)
    panel = page.get_by_role("alert")
    assert not panel.is_visible()
    profile.write_text("bowler: Ada Lorn\nhand: <b>x</b>\n", encoding="utf-8")
    panel.wait_for(timeout=30_000)
    assert re.search(r"me\.yaml:2:7: hand: .*<b>x</b>", panel.inner_text(), re.DOTALL)
    assert panel.locator("b").count() == 0
    assert page.locator("article:visible").count() == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.reload()
    assert panel.is_visible()
    profile.write_text(GOOD, encoding="utf-8")
    panel.wait_for(state="hidden", timeout=30_000)
    assert seen.complaints == []


def test_the_end_of_the_preview_is_told(opened: Open, server: PreviewServer) -> None:
    page, _ = opened(server.address)
    server.shutdown()
    server.server_close()
    page.get_by_text("The preview has ended.").wait_for(timeout=30_000)
    assert page.locator("article:visible").count() == 1


def test_another_site_cannot_read_it(opened: Open, server: PreviewServer, deck: str) -> None:
    page, _ = opened(deck, bypass_csp=True)
    refused = page.evaluate(
        "address => fetch(address).then(() => 'read', () => 'refused')", server.address
    )
    assert refused == "refused"


# --- what is written into files -------------------------------------------------------------------

MARKUP = (
    "</script><script>document.title = 'taken'</script>",
    "<img src=x onerror=\"document.title = 'taken'\">",
    "</style><svg onload=\"document.title = 'taken'\">",
    "javascript:document.title='taken'",
    "<!--panel--> --> ]]> &lt;b&gt;",
)


def untaken(page: Any, seen: Any) -> None:
    """Check that nothing that was written became markup, and that nothing tried to run."""
    page.wait_for_timeout(200)
    assert page.title() != "taken"
    assert page.locator("body img, body b, body script, body iframe, body [onerror]").count() == 0
    assert page.locator("a[href^=javascript]").count() == 0
    assert seen.complaints == []


@pytest.mark.parametrize("text", MARKUP, ids=range(len(MARKUP)))
def test_what_is_written_into_a_profile_or_template_stays_text(
    text: str, opened: Open, tmp_path: Path
) -> None:
    words = load_words("en")
    profile, centre = tmp_path / "me.yaml", tmp_path / "centre.yaml"
    quoted = json.dumps(text)
    profile.write_text(f"bowler: {quoted}\nhand: left\n", encoding="utf-8")
    lines = f"{{name: {quoted}, contact: {quoted}}}"
    centre.write_text(f"centre: {lines}\n", encoding="utf-8")
    leaves = [Leave.of(10), Leave.of(3, 10)]
    template = load_template(str(centre))
    job = job_of(open_profile(profile).loaded, words, leaves, template=template)
    path = tmp_path / "deck.html"
    path.write_text(deck_page(job, ID_1), encoding="utf-8")
    page, seen = opened(path.as_uri(), offline=True)
    assert page.locator("header p").text_content() == text
    assert page.locator(".centre").get_by_text(text, exact=True).count() >= 1
    untaken(page, seen)


def test_what_is_written_into_a_name_or_a_mistake_stays_text_in_the_preview(
    opened: Open, tmp_path: Path
) -> None:
    path = tmp_path / "<img src=x onerror=alert(1)>.yaml"
    try:
        path.write_text(f"bowler: {json.dumps(MARKUP[0])}\nhand: right\n", encoding="utf-8")
    except OSError:
        pytest.skip("no such file names on this machine")
    with served(path) as server:
        page, seen = opened(server.address)
        assert page.locator("header p").text_content() == MARKUP[0]
        untaken(page, seen)
        path.write_text(f"bowler: Ada\nhand: {json.dumps(MARKUP[1])}\n", encoding="utf-8")
        panel = page.get_by_role("alert")
        panel.wait_for(timeout=30_000)
        told = panel.inner_text()
        assert path.name in told
        assert "onerror=\"document.title = 'taken'\"" in told.replace("\\", "")
        untaken(page, seen)
        page.reload()
        assert path.name in panel.inner_text()
        untaken(page, seen)


# --- what happens to files and browsers -----------------------------------------------------------


def test_all_browsers_show_what_is_saved_each_on_its_own_card(
    opened: Open, server: PreviewServer, profile: Path
) -> None:
    pages = [opened(server.address)[0] for _ in range(2)]
    gone, _ = opened(server.address)
    gone.close()
    pages[1].keyboard.press("End")
    names = [page.locator("article:visible").get_attribute("id") for page in pages]
    assert names[0] != names[1]
    profile.write_text(GOOD.replace("Ada", "Grace"), encoding="utf-8")
    for page, name in zip(pages, names, strict=True):
        page.get_by_text("Grace Lorn").first.wait_for(timeout=30_000)
        assert page.locator("article:visible").get_attribute("id") == name


def test_a_profile_that_is_removed_is_told_until_it_is_back(
    opened: Open, server: PreviewServer, profile: Path
) -> None:
    page, seen = opened(server.address)
    panel = page.get_by_role("alert")
    profile.unlink()
    panel.wait_for(timeout=30_000)
    assert "me.yaml: there is no such file" in panel.inner_text()
    assert page.locator("article:visible").count() == 1
    other = profile.with_suffix(".part")  # as editors save
    other.write_text(GOOD.replace("Ada", "Grace"), encoding="utf-8")
    other.replace(profile)
    page.get_by_text("Grace Lorn").first.wait_for(timeout=30_000)
    assert not panel.is_visible()
    assert seen.complaints == []


def test_a_browser_that_was_cut_off_catches_up(
    opened: Open, server: PreviewServer, profile: Path
) -> None:
    page, _ = opened(server.address)
    page.keyboard.press("End")
    name = page.locator("article:visible").get_attribute("id")
    page.context.set_offline(True)
    page.get_by_text("The preview has ended.").wait_for(timeout=30_000)
    profile.write_text(GOOD.replace("Ada", "Grace"), encoding="utf-8")
    page.context.set_offline(False)
    page.get_by_text("Grace Lorn").first.wait_for(timeout=30_000)
    assert not page.get_by_role("alert").is_visible()
    assert page.locator("article:visible").get_attribute("id") == name


@pytest.mark.parametrize("size", [(320, 568), (390, 844), (844, 390), (1440, 900)])
def test_what_is_wrong_covers_no_card(
    size: tuple[int, int], opened: Open, server: PreviewServer, profile: Path
) -> None:
    width, height = size
    page, _ = opened(server.address, viewport={"width": width, "height": height})
    profile.write_text("bowler: Ada Lorn\nhand: sideways\nlane: 7\n", encoding="utf-8")
    panel = page.get_by_role("alert")
    panel.wait_for(timeout=30_000)
    above, below = panel.bounding_box(), page.locator(".shown .front").bounding_box()
    assert above is not None
    assert below is not None
    assert above["y"] + above["height"] <= below["y"]
    assert above["x"] >= 0
    assert above["x"] + above["width"] <= width
    assert page.evaluate("document.documentElement.scrollWidth") <= width
