"""The deck page served to this machine alone, and made anew when a file it comes from is saved.

The server reads nothing but two addresses, both behind a token that cannot be guessed: the page,
and what version it is. It takes a request only if it is meant for it by name, so that no page from
elsewhere can reach it through a name that points here.
"""

import hashlib
import hmac
import json
import os
import secrets
import socketserver
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any, Protocol
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from cardgen.cards.words import Words, load_words
from cardgen.deckpage import PANEL_SLOT, ServedPage, served_page
from cardgen.drawing.theme import Format
from cardgen.errors import CardgenError, InputError, UsageError
from cardgen.press import doubts_of, job_of, open_profile, unanswered_of
from cardgen.resources import YAML_SUFFIXES, data_folder, yaml_files
from cardgen.templating.loading import open_template
from cardgen.templating.template import Template
from cardgen.yamlsource import Value, load_yaml

LOOPBACK = "127.0.0.1"
LOOK_EVERY_S = 0.25
_HTTP_PORT = 80  # the one that browsers leave out of what they call a host
_PATIENCE_S = 10.0
"""How long a client may take over its request."""
_TOKEN_BYTES = 24
_HEADERS = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_BARE_POLICY = "default-src 'none'; frame-ancestors 'none'"


class Source(Protocol):
    """What a preview shows: something made of files, in some words."""

    @property
    def words(self) -> Words:
        """The words of the page."""

    def files(self) -> Iterable[Path]:
        """Return the files that it is made of, as far as they can be told now."""

    def page(self) -> ServedPage:
        """Return the page; raise CardgenError if it cannot be made."""


@dataclass(frozen=True)
class Deck:
    """The deck of the profile in a file, in a language's words and a template's design.

    ``tell`` is told what the bowler should know about the deck, each time that it is made.
    """

    profile: Path
    language: str
    fmt: Format
    template: str | None = None
    mono: bool = False
    tell: Callable[[str], None] = lambda _: None

    @property
    def words(self) -> Words:
        """The words of the cards."""
        return load_words(self.language)

    def files(self) -> Iterator[Path]:
        """Yield the profile, the lane file it names, the template, its logo, and what is shipped.

        Files that are named and not there are among them: they may come.
        """
        yield self.profile
        lane = _given(self.profile, "lane")
        if isinstance(lane, str) and lane.endswith(YAML_SUFFIXES):
            yield self.profile.parent / lane
        templates = data_folder("templates")
        for folder in ("designs", "centres", "lanes", "words"):
            yield from yaml_files(templates / folder)
        yield from sorted((templates / "page").glob("*"))
        named = [] if self.template is None else [Path(self.template)]
        yield from named
        for template in (*named, *yaml_files(templates / "centres")):
            logo = _given(template, "centre", "logo")
            if isinstance(logo, str):
                yield template.parent / logo

    def page(self) -> ServedPage:
        """Return the deck page.

        Raises:
            InputError: the profile, the lane, the template or the words have mistakes.
            CardgenError: no leave has a line.
        """
        words = self.words
        template = Template()
        if self.template is not None:
            template = open_template(self.template, words.language).template
        opened = open_profile(self.profile)
        job = job_of(opened.loaded, words, mono=self.mono, template=template)
        for said in (*opened.warnings, *doubts_of(job.chart), *unanswered_of(job.chart)):
            self.tell(str(said))
        if not job.chart.lines:
            raise CardgenError(f"{self.profile}: no line comes to any leave")
        return served_page(job, self.fmt)


def _given(path: Path, *keys: str) -> Value:
    """Return what a YAML file says under ``keys``; None if it says nothing, or cannot be read."""
    try:
        value = load_yaml(path).value
    except InputError:
        return None
    for key in keys:
        value = value.get(key) if isinstance(value, dict) else None
    return value


@dataclass(frozen=True)
class Shown:
    """What is to be seen now: the last good page, its version, and what is wrong since, if any."""

    page: ServedPage
    version: str
    words: Words
    trouble: str = ""

    def html(self) -> str:
        """Return the page with the trouble on it."""
        panel = Element("section", {"id": "panel", "role": "alert", "data-version": self.version})
        panel.set("data-broken", self.words("page.broken"))
        panel.set("data-ended", self.words("page.ended"))
        # What is wrong is told as on the terminal, whatever the language of the cards.
        sentence, details = SubElement(panel, "p"), SubElement(panel, "pre", lang="en")
        if self.trouble:
            sentence.text, details.text = self.words("page.broken"), self.trouble
        else:
            panel.set("hidden", "")
        text = ElementTree.tostring(panel, encoding="unicode", method="html")
        return self.page.html.replace(PANEL_SLOT, text, 1)

    def news(self) -> str:
        """Return version and trouble as JSON."""
        return json.dumps({"version": self.version, "trouble": self.trouble})


class Preview:
    """Keeps what is shown up with the files it comes from."""

    def __init__(self, source: Source) -> None:
        """Make the first page; raise CardgenError if it cannot be made."""
        self._source = source
        self._files = tuple(source.files())
        self._made_of = self._seen = _signature(self._files)
        self.shown = self._made()

    def _made(self) -> Shown:
        page = self._source.page()
        version = hashlib.sha256(page.html.encode()).hexdigest()[:16]
        return Shown(page, version, self._source.words)

    def look(self) -> bool:
        """Make the page anew if a file has been saved; return whether other things are shown now.

        A file that changed since the last look may still be in the middle of being written, so
        nothing happens before two looks in a row find the same.
        """
        before, self._seen = self._seen, _signature(self._files)
        if self._seen == self._made_of or self._seen != before:
            return False
        self._files = tuple(self._source.files())
        self._made_of = self._seen = _signature(self._files)
        old = self.shown
        try:
            self.shown = self._made()
        except (CardgenError, OSError) as error:  # a file may go between being seen and being read
            self.shown = Shown(old.page, old.version, old.words, str(error))
        return (old.version, old.trouble) != (self.shown.version, self.shown.trouble)


def _signature(files: Iterable[Path]) -> tuple[tuple[int, int, int] | None, ...]:
    """Return what changes when one of the files is written, replaced, removed or made."""
    return tuple(map(_mark, files))


def _mark(path: Path) -> tuple[int, int, int] | None:
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


class PreviewServer(ThreadingHTTPServer):
    """Serves what a preview shows, on the loopback interface only."""

    daemon_threads = True
    # Elsewhere it only skips the wait after a server has ended; there two servers could share one.
    allow_reuse_address = os.name != "nt"

    def __init__(self, preview: Preview, port: int = 0) -> None:
        """Listen at ``port``, or any that is free if it is 0.

        Raises UsageError if the port cannot be had.
        """
        self.preview = preview
        self.token = secrets.token_urlsafe(_TOKEN_BYTES)
        try:
            super().__init__((LOOPBACK, port), _Answer)
        except OSError as error:
            raise UsageError(
                f"--port {port}: cannot be had ({error.strerror or error}); "
                "give another, or leave it out"
            ) from error

    def server_bind(self) -> None:
        """Bind without asking the network what this machine is called."""
        socketserver.TCPServer.server_bind(self)
        self.server_name, self.server_port = LOOPBACK, self.server_address[1]

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://{LOOPBACK}:{self.server_port}/{self.token}/"

    @property
    def hosts(self) -> tuple[str, ...]:
        """The names that a request may call this server by."""
        names = (LOOPBACK, "localhost")
        bare = names if self.server_port == _HTTP_PORT else ()
        return (*(f"{name}:{self.server_port}" for name in names), *bare)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of a client that has gone away."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)


class _Answer(BaseHTTPRequestHandler):
    """Answers one request: with the page, its version, or in a word why not."""

    server: PreviewServer
    timeout = _PATIENCE_S

    def parse_request(self) -> bool:
        """Read the request's head; answer it here if it must not go further."""
        if not super().parse_request():
            return False
        if self.headers.get_all("Host", []) not in [[host] for host in self.server.hosts]:
            self._refuse(HTTPStatus.MISDIRECTED_REQUEST)
            return False
        if self.command not in ("GET", "HEAD"):
            self._refuse(HTTPStatus.METHOD_NOT_ALLOWED, Allow="GET, HEAD")
            return False
        return True

    def do_GET(self) -> None:
        """Answer with what is at the address."""
        shown = self.server.preview.shown
        token, slash, name = self.path.removeprefix("/").partition("/")
        if not hmac.compare_digest(token.encode(), self.server.token.encode()):
            self._refuse(HTTPStatus.NOT_FOUND)
        elif slash and not name:
            policy = f"{shown.page.policy}; frame-ancestors 'none'"
            self._send(HTTPStatus.OK, "text/html; charset=utf-8", shown.html(), policy)
        elif name == "version":
            self._send(HTTPStatus.OK, "application/json", shown.news(), _BARE_POLICY)
        else:
            self._refuse(HTTPStatus.NOT_FOUND)

    def do_HEAD(self) -> None:
        """Answer as to GET, without the body."""
        self.do_GET()

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """Answer a request that could not be read; nothing of it comes back."""
        del message, explain
        self._refuse(HTTPStatus(code))

    def _refuse(self, status: HTTPStatus, **headers: str) -> None:
        self.close_connection = True
        text = f"{status.value} {status.phrase}\n"
        self._send(status, "text/plain; charset=utf-8", text, _BARE_POLICY, **headers)

    def _send(self, status: HTTPStatus, kind: str, text: str, policy: str, **headers: str) -> None:
        body = text.encode()
        self.send_response(status)
        own = {"Content-Type": kind, "Content-Length": str(len(body))}
        for name, value in (own | _HEADERS | headers | {"Content-Security-Policy": policy}).items():
            self.send_header(name, value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def version_string(self) -> str:
        """Return what the server calls itself: no version of anything."""
        return "cardgen"

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002  # the base's name
        """Keep quiet: the address is on the terminal, and errors are on the page."""


def serve(
    preview: Preview,
    ready: Callable[[str], None],
    *,
    port: int = 0,
    tell: Callable[[str], None] = lambda _: None,
) -> None:
    """Serve ``preview`` until Ctrl-C, keeping it up with its files.

    ``ready`` gets the address once it answers, ``tell`` each new trouble. Raises UsageError if the
    port cannot be had.
    """
    with PreviewServer(preview, port) as server:
        answering = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True)
        answering.start()
        try:
            ready(server.address)
            while True:
                time.sleep(LOOK_EVERY_S)
                if preview.look() and preview.shown.trouble:
                    tell(preview.shown.trouble)
        except KeyboardInterrupt:
            return
        finally:
            server.shutdown()
