"""A browser without a window, where there is one."""

import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from cardgen.deckpage import deck_page
from cardgen.drawing.theme import ID_1
from cardgen.press import Job

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

NAMES = ("chromium", "chromium-browser")
PHONE = {"width": 360, "height": 640}


@pytest.fixture(scope="session")
def browser() -> "Iterator[Browser]":
    """The browser; tests that need one are skipped where there is none."""
    driver = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    path = next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        pytest.skip("there is no Chromium on this machine")
    # Its own sandbox does not start for root, as in a container.
    args = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with driver.sync_playwright() as started:
        running = started.chromium.launch(executable_path=path, args=args)
        yield running
        running.close()


@dataclass
class Seen:
    """What a page did that nobody sees: what it complained of and what it asked for."""

    complaints: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


Opened = tuple[Any, Seen]


@pytest.fixture
def opened(browser: "Browser") -> "Iterator[Callable[..., tuple[Page, Seen]]]":
    """Return a function that opens an address in a browser of its own, a phone unless it is said.

    Other arguments are those of a browser context.
    """
    contexts = []

    def open_it(address: str, **how: Any) -> "tuple[Page, Seen]":
        phone = {"viewport": PHONE, "has_touch": True, "reduced_motion": "reduce"}
        context = browser.new_context(**{**phone, **how})
        contexts.append(context)
        seen = Seen()
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.on("console", lambda message: seen.complaints.append(message.text))
        page.on("pageerror", lambda error: seen.complaints.append(str(error)))
        context.on("request", lambda request: seen.asked.append(request.url))
        page.goto(address)
        return page, seen

    yield open_it
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def deck(demos: dict[str, Job], tmp_path_factory: pytest.TempPathFactory) -> str:
    """The address of the deck page of a demo bowler, a file."""
    path: Path = tmp_path_factory.mktemp("deck") / "deck.html"
    path.write_text(deck_page(demos["ilse-marchetti"], ID_1), encoding="utf-8", newline="\n")
    return path.as_uri()
