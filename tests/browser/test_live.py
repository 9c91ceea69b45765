"""The preview as a browser shows it: a saved profile comes up by itself, on the card that was."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest

from cardgen.drawing.theme import ID_1
from cardgen.preview import Deck, Preview, PreviewServer

Open = Callable[..., Any]
GOOD = "bowler: Ada Lorn\nhand: right\n"


@pytest.fixture
def profile(tmp_path: Path) -> Path:
    path = tmp_path / "me.yaml"
    path.write_text(GOOD, encoding="utf-8")
    return path


@pytest.fixture
def server(profile: Path) -> Iterator[PreviewServer]:
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
        yield running
        ended.set()
        running.shutdown()
        for thread in threads:
            thread.join()


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
