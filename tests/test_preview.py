"""The preview's server answers only whom it should, and shows a saved profile at once."""

import json
import os
import re
import signal
import socket
import struct
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass, replace
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from threading import Thread
from urllib.parse import urlsplit

import pytest

from cardgen.cards.words import Words, load_words
from cardgen.deckpage import PANEL_SLOT, ServedPage
from cardgen.drawing.theme import ID_1
from cardgen.errors import CardgenError, InputError, UsageError
from cardgen.preview import LOOK_EVERY_S, Deck, Preview, PreviewServer, serve
from cardgen.resources import data_folder

GOOD = "bowler: Ada Lorn\nhand: right\n"
BAD = "bowler: Ada Lorn\nhand: <script>alert(1)</script>\n"


@dataclass
class Note:
    """The plainest thing to preview: what a file says; ``bad`` in it is a mistake."""

    path: Path
    words: Words
    made: int = 0

    def files(self) -> list[Path]:
        return [self.path]

    def page(self) -> ServedPage:
        self.made += 1
        text = self.path.read_text(encoding="utf-8")
        if "bad" in text:
            raise CardgenError(text)
        html = f"<!doctype html>\n<title>{text}</title>{PANEL_SLOT}"
        return ServedPage(html, "default-src 'none'")


@pytest.fixture
def note(tmp_path: Path, words: Words) -> Note:
    path = tmp_path / "note.txt"
    path.write_text("one", encoding="utf-8")
    return Note(path, words)


@pytest.fixture
def server(note: Note) -> Iterator[PreviewServer]:
    """A server that answers on a thread of its own."""
    with PreviewServer(Preview(note)) as running:
        thread = Thread(target=running.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
        thread.start()
        yield running
        running.shutdown()
        thread.join()


def ask(
    server: PreviewServer, path: str, method: str = "GET", **headers: str
) -> tuple[HTTPResponse, str]:
    """Return the answer to a request and its body."""
    connection = HTTPConnection("127.0.0.1", server.server_port, timeout=10)
    try:
        connection.putrequest(method, path, skip_host="Host" in headers)
        for name, value in headers.items():
            connection.putheader(name, value)
        connection.endheaders()
        answer = connection.getresponse()
        return answer, answer.read().decode()
    finally:
        connection.close()


def raw(server: PreviewServer, request: bytes) -> bytes:
    """Return all that comes back for some bytes."""
    with socket.create_connection(("127.0.0.1", server.server_port), timeout=10) as client:
        client.sendall(request)
        client.shutdown(socket.SHUT_WR)
        parts = []
        while part := client.recv(65536):
            parts.append(part)
        return b"".join(parts)


def home(server: PreviewServer) -> str:
    return urlsplit(server.address).path


# --- whom it answers ------------------------------------------------------------------------------


def test_the_page_is_at_its_address(server: PreviewServer) -> None:
    answer, body = ask(server, home(server))
    assert answer.status == 200
    assert answer.getheader("Content-Type") == "text/html; charset=utf-8"
    assert "<title>one</title>" in body
    assert PANEL_SLOT not in body


def test_it_listens_on_this_machine_only(server: PreviewServer) -> None:
    assert server.socket.getsockname()[0] == "127.0.0.1"
    assert server.address.startswith("http://127.0.0.1:")


def test_the_token_cannot_be_guessed_and_is_another_each_time(note: Note) -> None:
    tokens = set()
    for _ in range(5):
        with PreviewServer(Preview(note)) as server:
            tokens.add(server.token)
    assert len(tokens) == 5
    assert all(len(token) >= 32 for token in tokens)  # 24 bytes: 192 bits


@pytest.mark.parametrize(
    "path",
    [
        *("/", "/version", "/wrong/", "/wrong/version", "/favicon.ico", "/%2e%2e/", "/../../x"),
        *("/{token}", "/{token}x/", "/{token}/other", "/{token}/../", "/{token}/version/"),
        *("/{token}//", "/{token}/?x", "/{token}/note.txt", "/{TOKEN}/", "/x/{token}/"),
    ],
)
def test_there_is_nothing_anywhere_else(path: str, server: PreviewServer) -> None:
    place = path.format(token=server.token, TOKEN=server.token.swapcase())
    answer, body = ask(server, place)
    assert (answer.status, body) == (404, "404 Not Found\n")


def test_a_path_of_another_kind_is_not_there(server: PreviewServer) -> None:
    host = server.hosts[0].encode()
    for path in (b"/\xff\xfe/", server.address.encode(), b"*", b"."):
        answer = raw(server, b"GET " + path + b" HTTP/1.1\r\nHost: " + host + b"\r\n\r\n")
        assert b" 404 " in answer.splitlines()[0]


@pytest.mark.parametrize(
    "host",
    [
        *("evil.example", "evil.example:{port}", "127.0.0.1:{port}.evil.example", "", "127.0.0.1"),
        *("localhost", "127.0.0.1:1", "[::1]:{port}", "0.0.0.0:{port}", "127.0.0.1:{port}, x"),
    ],
)
def test_a_request_for_another_host_goes_no_further(host: str, server: PreviewServer) -> None:
    # RFC 9110, 15.5.20: a request that this server is not meant to answer.
    answer, body = ask(server, home(server), Host=host.format(port=server.server_port))
    assert (answer.status, body) == (421, "421 Misdirected Request\n")


def test_a_request_for_no_host_or_two_goes_no_further(server: PreviewServer) -> None:
    path, host = home(server).encode(), server.hosts[0].encode()
    for heads in (b"", b"Host: " + host + b"\r\nHost: evil.example\r\n"):
        answer = raw(server, b"GET " + path + b" HTTP/1.1\r\n" + heads + b"\r\n")
        assert b" 421 " in answer.splitlines()[0]


def test_localhost_is_a_name_for_it(server: PreviewServer) -> None:
    answer, _ = ask(server, home(server), Host=f"localhost:{server.server_port}")
    assert answer.status == 200


def test_a_browser_leaves_the_usual_port_out_of_the_host(
    server: PreviewServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "localhost" not in server.hosts
    monkeypatch.setattr("cardgen.preview._HTTP_PORT", server.server_port)
    answer, _ = ask(server, home(server), Host="localhost")
    assert answer.status == 200


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "BREW"])
def test_it_can_only_be_read(method: str, server: PreviewServer) -> None:
    # RFC 9110, 15.5.6: the answer names the methods that there are.
    answer, _ = ask(server, home(server), method)
    assert answer.status == 405
    assert answer.getheader("Allow") == "GET, HEAD"


def test_head_has_the_headers_and_no_body(server: PreviewServer) -> None:
    got, body = ask(server, home(server))
    answer, nothing = ask(server, home(server), "HEAD")
    assert (answer.status, nothing) == (200, "")
    assert answer.getheader("Content-Length") == got.getheader("Content-Length") == str(len(body))


@pytest.mark.parametrize(
    "request_bytes",
    [b"nonsense\r\n\r\n", b"GET / HTTP/9.9\r\n\r\n", b"GET /" + b"x" * 70000, b"\x16\x03\x01\r\n"],
)
def test_nonsense_is_answered_without_repeating_it(
    request_bytes: bytes, server: PreviewServer
) -> None:
    answer = raw(server, request_bytes)
    assert b"nonsense" not in answer
    assert b"Python" not in answer
    answer_after, _ = ask(server, home(server))
    assert answer_after.status == 200


@pytest.mark.parametrize("path", ["{home}", "{home}version", "/wrong/"])
def test_every_answer_is_closed_to_other_pages(path: str, server: PreviewServer) -> None:
    answer, _ = ask(server, path.format(home=home(server)))
    policy = answer.getheader("Content-Security-Policy") or ""
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.getheader("X-Content-Type-Options") == "nosniff"
    assert answer.getheader("Cache-Control") == "no-store"
    assert answer.getheader("Referrer-Policy") == "no-referrer"
    assert answer.getheader("Cross-Origin-Resource-Policy") == "same-origin"
    assert answer.getheader("Access-Control-Allow-Origin") is None
    assert answer.getheader("Server") == "cardgen"


def test_it_does_not_listen_at_the_other_loopback_address(server: PreviewServer) -> None:
    if not socket.has_ipv6:
        pytest.skip("no IPv6 on this machine")
    with socket.socket(socket.AF_INET6, socket.SOCK_STREAM) as client:
        client.settimeout(5)
        assert client.connect_ex(("::1", server.server_port)) != 0


def test_clients_that_dawdle_keep_nobody_waiting(server: PreviewServer) -> None:
    begun = b"GET " + home(server).encode() + b" HTTP/1.1\r\nHost: " + server.hosts[0].encode()
    place = ("127.0.0.1", server.server_port)
    with ExitStack() as stack:
        for part in (b"", b"G", b"\x16\x03\x01", begun, begun + b"\r\n\r\n") * 8:
            client = stack.enter_context(socket.create_connection(place, timeout=10))
            client.sendall(part)  # and never the rest, nor does it read what comes
        for _ in range(3):
            answer, body = ask(server, home(server))
            assert answer.status == 200
            assert "<title>one</title>" in body


def test_clients_that_hang_up_are_passed_over_in_silence(
    server: PreviewServer, capfd: pytest.CaptureFixture[str]
) -> None:
    host = server.hosts[0].encode()
    request = b"GET " + home(server).encode() + b" HTTP/1.1\r\nHost: " + host + b"\r\n\r\n"
    for length in (0, 1, 10, len(request)):
        client = socket.create_connection(("127.0.0.1", server.server_port), timeout=10)
        client.sendall(request[:length])
        client.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        client.close()  # at once, with a reset
    answer, _ = ask(server, home(server))
    assert answer.status == 200
    assert capfd.readouterr() == ("", "")


def test_many_ask_at_once_and_all_get_the_same(server: PreviewServer) -> None:
    with ThreadPoolExecutor(16) as pool:
        bodies = list(pool.map(lambda _: ask(server, home(server))[1], range(64)))
    assert len(set(bodies)) == 1


def test_a_port_that_is_taken_is_said_in_one_sentence(note: Note, server: PreviewServer) -> None:
    with pytest.raises(UsageError, match=rf"^--port {server.server_port}: cannot be had \(") as no:
        PreviewServer(Preview(note), server.server_port)
    assert no.value.exit_code == 2
    assert "\n" not in str(no.value)


# --- what it shows --------------------------------------------------------------------------------


def news(preview: Preview) -> dict[str, str]:
    told: dict[str, str] = json.loads(preview.shown.news())
    return told


def save(path: Path, text: str) -> None:
    """Write a file so that its time differs, whatever the clock of the file system."""
    before = path.stat().st_mtime_ns if path.exists() else 0
    path.write_text(text, encoding="utf-8")
    if path.stat().st_mtime_ns == before:
        os.utime(path, ns=(before + 1_000_000, before + 1_000_000))


def look_twice(preview: Preview) -> bool:
    return preview.look() or preview.look()


def test_a_saved_file_is_shown_with_another_version(note: Note) -> None:
    preview = Preview(note)
    before = news(preview)
    save(note.path, "two")
    assert look_twice(preview)
    assert "<title>two</title>" in preview.shown.html()
    assert news(preview)["version"] != before["version"]
    assert news(preview)["version"] in preview.shown.html()


def test_a_file_is_left_alone_until_it_rests(note: Note) -> None:
    preview = Preview(note)
    save(note.path, "t")
    assert not preview.look()
    save(note.path, "tw")
    assert not preview.look()
    assert note.made == 1
    assert preview.look()
    assert note.made == 2


def test_nothing_is_made_while_nothing_is_saved(note: Note) -> None:
    preview = Preview(note)
    assert not any(preview.look() for _ in range(5))
    assert note.made == 1


def test_the_same_text_saved_again_is_no_news(note: Note) -> None:
    preview = Preview(note)
    before = news(preview)
    save(note.path, "one")
    assert not look_twice(preview)
    assert note.made == 2
    assert news(preview) == before


def test_a_mistake_is_shown_above_the_last_good_page(note: Note, words: Words) -> None:
    preview = Preview(note)
    before = news(preview)
    save(note.path, "bad <script>alert(1)</script> & so on")
    assert look_twice(preview)
    html = preview.shown.html()
    assert "<title>one</title>" in html
    assert words("page.broken") in html
    assert "bad &lt;script&gt;alert(1)&lt;/script&gt; &amp; so on" in html
    assert "<script" not in html
    told = news(preview)
    assert told["version"] == before["version"]
    assert told["trouble"] == "bad <script>alert(1)</script> & so on"
    save(note.path, "one")
    assert look_twice(preview)
    assert news(preview) == before
    assert "hidden" in preview.shown.html()


def test_a_file_that_goes_and_comes_back_is_seen(note: Note) -> None:
    preview = Preview(note)
    other = note.path.with_suffix(".new")
    other.write_text("two", encoding="utf-8")
    other.replace(note.path)  # as editors save
    assert look_twice(preview)
    assert "<title>two</title>" in preview.shown.html()


def test_a_file_that_is_removed_is_told_and_shows_again_when_it_is_back(note: Note) -> None:
    preview = Preview(note)
    before = news(preview)
    note.path.unlink()
    assert look_twice(preview)
    assert "<title>one</title>" in preview.shown.html()
    assert note.path.name in news(preview)["trouble"]
    note.path.write_text("one", encoding="utf-8")
    assert look_twice(preview)
    assert news(preview) == before


def test_a_file_that_is_older_than_the_one_before_is_seen(note: Note) -> None:
    # As a clock that was set back leaves it, or an older copy that was put in its place.
    preview = Preview(note)
    note.path.write_text("old", encoding="utf-8")
    os.utime(note.path, (86_400, 86_400))
    assert look_twice(preview)
    assert "<title>old</title>" in preview.shown.html()


def test_a_file_of_the_same_time_is_seen_by_its_size(note: Note) -> None:
    preview = Preview(note)
    before = note.path.stat()
    note.path.write_text("three", encoding="utf-8")  # into the same place on the disk
    os.utime(note.path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert look_twice(preview)
    assert "<title>three</title>" in preview.shown.html()


def test_a_file_of_the_same_time_and_size_is_seen_by_its_place_on_the_disk(note: Note) -> None:
    preview = Preview(note)
    before = note.path.stat()
    other = note.path.with_suffix(".new")
    other.write_text("two", encoding="utf-8")
    os.utime(other, ns=(before.st_atime_ns, before.st_mtime_ns))
    other.replace(note.path)
    after = note.path.stat()
    assert (after.st_mtime_ns, after.st_size) == (before.st_mtime_ns, before.st_size)
    assert look_twice(preview)
    assert "<title>two</title>" in preview.shown.html()


def test_each_trouble_is_told_once_and_nothing_else(
    note: Note, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved = ["one", "two", "bad one", "bad one", "bad two", "three", "three", "bad two", "four"]
    waits = iter([text for text in saved for _ in range(3)])  # a file is looked at until it rests
    waited_s: list[float] = []

    def sleep(seconds: float) -> None:
        waited_s.append(seconds)
        text = next(waits, None)
        if text is None:
            raise KeyboardInterrupt
        if note.path.read_text(encoding="utf-8") != text:
            save(note.path, text)

    monkeypatch.setattr("cardgen.preview.time.sleep", sleep)
    ready: list[str] = []
    told: list[str] = []
    preview = Preview(note)
    serve(preview, ready.append, tell=told.append)
    assert told == ["bad one", "bad two", "bad two"]
    assert "<title>four</title>" in preview.shown.html()
    assert len(ready) == 1
    assert set(waited_s) == {LOOK_EVERY_S}
    place = urlsplit(ready[0])
    with pytest.raises(OSError, match="refused"):
        socket.create_connection(("127.0.0.1", place.port or 0), timeout=10)


def test_many_saves_in_a_row_make_the_page_once(note: Note) -> None:
    preview = Preview(note)
    for number in range(20):
        other = note.path.with_suffix(f".{number}")
        other.write_text(f"save {number}", encoding="utf-8")
        other.replace(note.path)
        assert not preview.look()
    assert look_twice(preview)
    assert note.made == 2
    assert "<title>save 19</title>" in preview.shown.html()


def test_what_is_wrong_is_marked_as_english_in_any_language(note: Note) -> None:
    note.words = load_words("ja")
    preview = Preview(note)
    save(note.path, "bad")
    assert look_twice(preview)
    assert f"<p>{note.words('page.broken')}</p>" in preview.shown.html()
    assert '<pre lang="en">bad</pre>' in preview.shown.html()


def test_a_first_page_that_cannot_be_made_is_an_error(note: Note) -> None:
    save(note.path, "bad")
    with pytest.raises(CardgenError, match=r"^bad$"):
        Preview(note)


# --- a deck ---------------------------------------------------------------------------------------


def test_a_deck_comes_of_its_profile_lane_template_and_logo(tmp_path: Path) -> None:
    profile, lane = tmp_path / "me.yaml", tmp_path / "ours.yaml"
    template = tmp_path / "centre.yaml"
    profile.write_text(GOOD + "lane: ours.yaml\n", encoding="utf-8")
    template.write_text("centre: {name: Here, logo: sign.svg}\n", encoding="utf-8")
    files = set(Deck(profile, "en", ID_1, str(template)).files())
    assert {profile, lane, template, tmp_path / "sign.svg"} <= files
    names = {path.name for path in files}
    assert {"en.yaml", "look.css", "turn.js", "watch.js"} <= names


def test_a_deck_in_a_shipped_centres_design_comes_of_its_logo(tmp_path: Path) -> None:
    profile = tmp_path / "me.yaml"
    profile.write_text(GOOD, encoding="utf-8")
    files = set(Deck(profile, "en", ID_1, "example").files())
    assert data_folder("templates") / "centres" / "example.yaml" in files
    assert data_folder("templates") / "centres" / "harbour-lights.svg" in files


def test_a_deck_follows_its_template_and_its_logo(deck: Deck) -> None:
    folder = deck.profile.parent
    shipped = data_folder("templates") / "centres" / "harbour-lights.svg"
    template, logo = folder / "centre.yaml", folder / "sign.svg"
    save(template, "centre: {name: Here, logo: sign.svg}\n")
    save(logo, shipped.read_text(encoding="utf-8"))
    preview = Preview(replace(deck, template=str(template)))
    versions = [news(preview)["version"]]
    for path, text in (
        (template, "centre: {name: There, logo: sign.svg}\n"),
        (
            logo,
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 3"><path d="M0 0h9"/></svg>',
        ),
        (folder / "ours.yaml", "oil_ft: 36\n"),
    ):
        save(path, text)
        assert look_twice(preview)
        assert news(preview)["trouble"] == ""
        versions.append(news(preview)["version"])
    assert len(set(versions)) == 4
    logo.unlink()
    assert look_twice(preview)
    assert "sign.svg is not there" in news(preview)["trouble"]
    assert news(preview)["version"] == versions[-1]


@pytest.mark.parametrize(
    "text", ["", "[", "- a\n", "lane: 3\n", "lane: house\n", "lane: [x.yaml]\n"]
)
def test_a_profile_that_names_no_lane_file_has_none(text: str, tmp_path: Path) -> None:
    profile = tmp_path / "me.yaml"
    profile.write_text(text, encoding="utf-8")
    files = list(Deck(profile, "en", ID_1).files())
    assert [path for path in files if path.is_relative_to(tmp_path)] == [profile]


@pytest.fixture
def deck(tmp_path: Path) -> Deck:
    profile = tmp_path / "me.yaml"
    profile.write_text(GOOD + "lane: ours.yaml\n", encoding="utf-8")
    (tmp_path / "ours.yaml").write_text("oil_ft: 40\n", encoding="utf-8")
    return Deck(profile, "en", ID_1)


def test_a_deck_follows_its_lane_and_tells_mistakes_where_they_stand(deck: Deck) -> None:
    preview = Preview(deck)
    first = news(preview)["version"]
    assert "Ada Lorn" in preview.shown.html()
    save(deck.profile.parent / "ours.yaml", "oil_ft: 34\n")
    assert look_twice(preview)
    second = news(preview)["version"]
    assert second != first
    save(deck.profile, BAD)
    assert look_twice(preview)
    assert news(preview)["version"] == second
    assert re.search(r"me\.yaml:2:7: hand: ", news(preview)["trouble"])
    assert "hand: &lt;script&gt;" in preview.shown.html()
    assert "<script>alert" not in preview.shown.html()


def test_a_deck_tells_what_the_bowler_should_know(deck: Deck) -> None:
    save(
        deck.profile,
        GOOD + 'known_lines: [{leave: "10", stand: 2, target: 35}]\nstand: {boards: [1, 39]}\n',
    )
    said: list[str] = []
    Preview(Deck(deck.profile, "en", ID_1, tell=said.append))
    assert any("10: your line from 2 over 35 misses" in text for text in said)


def test_a_bad_profile_at_the_start_is_bad_input(deck: Deck) -> None:
    save(deck.profile, BAD)
    with pytest.raises(InputError) as no:
        Preview(deck)
    assert no.value.exit_code == 2


# --- the command ----------------------------------------------------------------------------------


@pytest.fixture
def command() -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Return a function that starts the command in a process of its own."""
    running: list[subprocess.Popen[str]] = []

    def start(*args: str, before: str = "") -> subprocess.Popen[str]:
        code = (
            f"{before}\nimport sys; from cardgen.cli.preview import command; command(sys.argv[1:])"
        )
        running.append(
            subprocess.Popen(
                [sys.executable, "-c", code, *args],
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )
        )
        return running[-1]

    yield start
    for process in running:
        process.kill()
        process.communicate()


WATCHED = """
import os, sys
sys.dont_write_bytecode = True
def heard(event, args):
    if event == "open":
        path, mode, flags = args
        writing = flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
        if (writing or set(str(mode)) & set("wax+")) and path != os.devnull:
            print("written:", path, file=sys.stderr)
    elif event in ("os.mkdir", "os.rename", "os.remove", "os.link", "os.symlink", "os.truncate"):
        print("written:", event, args, file=sys.stderr)
sys.addaudithook(heard)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGINT to a child there")
def test_the_command_writes_no_file_and_lets_go_of_its_port_whatever_clients_do(
    command: Callable[..., subprocess.Popen[str]], deck: Deck
) -> None:
    process = command(str(deck.profile), "--no-open", before=WATCHED)
    assert process.stdout is not None
    place = urlsplit(process.stdout.readline().strip())
    assert place.port is not None
    with ExitStack() as stack:
        for part in (b"", b"GET /", f"GET {place.path} HTTP/1.1\r\n".encode()):
            client = socket.create_connection(("127.0.0.1", place.port), timeout=10)
            stack.enter_context(client).sendall(part)
        save(deck.profile, BAD)
        assert process.stderr is not None
        assert "hand" in process.stderr.readline()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=20)
        assert (process.returncode, out) == (0, "")
        assert "written" not in err
        assert "Traceback" not in err
    save(deck.profile, GOOD)
    again = command(str(deck.profile), "--no-open", "--port", str(place.port))
    assert again.stdout is not None
    assert urlsplit(again.stdout.readline().strip()).port == place.port


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGINT to a child there")
def test_the_command_prints_its_address_and_ends_well_by_ctrl_c(
    command: Callable[..., subprocess.Popen[str]], deck: Deck
) -> None:
    process = command(str(deck.profile), "--no-open", "--words", "de")
    assert process.stdout is not None
    address = process.stdout.readline().strip()
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/[\w-]{32}/", address)
    place = urlsplit(address)
    connection = HTTPConnection(place.netloc, timeout=10)
    connection.request("GET", place.path)
    page = connection.getresponse().read().decode()
    connection.close()
    assert '<html lang="de">' in page
    time.sleep(0.1)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=20)
    assert (process.returncode, out, err) == (0, "", "")
