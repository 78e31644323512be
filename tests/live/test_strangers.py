"""While `live` runs: pages of other sites get nothing out of it, and no crowd of connections stops it."""

from __future__ import annotations

import http.client
import socket
import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from generator.live import server as serving
from generator.live.server import ADDRESS, Pages, Server, open_server

FILES = ["index.html", "find/c0.js", "notes/a/note.json", "static/look.css", "photos/a.webp"]


@pytest.fixture
def server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Server]:
    """A running server of a small site, with little patience."""
    monkeypatch.setattr(serving, "PATIENCE", 0.5)
    monkeypatch.setattr(serving._Handler, "timeout", 0.5)
    for name in FILES:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("window.taken = 'the library'; /* private */")
    pages = Pages(tmp_path)
    with open_server(pages, 0) as running:
        thread = threading.Thread(target=running.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
        thread.start()
        yield running
        pages.close()
        running.shutdown()


def test_the_end_of_live_ends_the_streams_of_open_pages(tmp_path: Path) -> None:
    """An open page waits for what has changed; as the server closes, its stream comes to an end."""
    pages = Pages(tmp_path)
    with open_server(pages, 0) as running:
        threading.Thread(target=running.handle_request, daemon=True).start()
        with socket.create_connection((ADDRESS, running.server_address[1]), timeout=5) as page:
            page.sendall(b"GET /-/changes HTTP/1.0\r\nHost: localhost\r\n\r\n")
            seen = b""
            while b"data: " not in seen:
                seen += page.recv(4096)
            pages.close()
            while page.recv(4096):
                pass


def ask(server: Server, path: str, **headers: str) -> tuple[int, str, dict[str, str]]:
    connection = http.client.HTTPConnection(ADDRESS, server.server_address[1], timeout=5)
    connection.request("GET", path, headers={name.replace("_", "-"): text for name, text in headers.items()})
    answer = connection.getresponse()
    body = "" if path == "/-/changes" else answer.read().decode()
    connection.close()
    return answer.status, body, dict(answer.getheaders())


# Source: W3C, Fetch Metadata Request Headers: what browsers send for each way of asking.
OTHERS = [
    ("cross-site", "no-cors", "script"), ("cross-site", "no-cors", "image"), ("cross-site", "no-cors", "style"),
    ("cross-site", "cors", "empty"), ("cross-site", "no-cors", "object"), ("cross-site", "navigate", "iframe"),
    ("cross-site", "navigate", "frame"), ("cross-site", "navigate", "embed"), ("cross-site", "websocket", "empty"),
    ("same-site", "no-cors", "script"), ("same-site", "navigate", "iframe"), ("cross-site", "navigate", "object"),
]  # fmt: skip


@pytest.mark.parametrize(("site", "mode", "dest"), OTHERS)
@pytest.mark.parametrize("path", [f"/{name}" for name in FILES] + ["/-/live.js", "/-/changes"])
def test_pages_of_others_are_refused(server: Server, path: str, site: str, mode: str, dest: str) -> None:
    sent = {"Sec_Fetch_Site": site, "Sec_Fetch_Mode": mode, "Sec_Fetch_Dest": dest}
    status, body, _headers = ask(server, path, **sent)
    assert status == 403 and "private" not in body


@pytest.mark.parametrize(
    ("site", "mode", "dest"),
    [("same-origin", "no-cors", "script"), ("none", "navigate", "document"), ("cross-site", "navigate", "document"),
     ("same-origin", "cors", "empty"), ("same-origin", "navigate", "document")],
)  # fmt: skip
def test_its_own_pages_and_links_that_lead_here_are_answered(
    server: Server, site: str, mode: str, dest: str
) -> None:
    sent = {"Sec_Fetch_Site": site, "Sec_Fetch_Mode": mode, "Sec_Fetch_Dest": dest}
    assert ask(server, "/find/c0.js", **sent)[0] == 200


@pytest.mark.parametrize("path", [f"/{name}" for name in FILES] + ["/-/live.js", "/-/changes", "/gone"])
def test_every_answer_says_that_it_is_for_its_own_pages(server: Server, path: str) -> None:
    """For browsers that do not say who asks. Sources: WHATWG Fetch (CORP), CSP level 3 (frame-ancestors)."""
    headers = ask(server, path)[2]
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.browser
@pytest.mark.parametrize("host", ["127.0.0.1", "localhost"])
def test_a_page_of_another_site_reads_nothing(server: Server, browser: Any, host: str) -> None:
    """A real page elsewhere asks by script, fetch and frame."""
    port = server.server_address[1]
    page = (
        f"<!doctype html><title>t</title><script src='http://{host}:{port}/find/c0.js'></script>"
        f"<iframe src='http://{host}:{port}/index.html'></iframe>"
    )

    class Elsewhere(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(page.encode())

        def log_message(self, *_: Any) -> None:
            pass

    with ThreadingHTTPServer((ADDRESS, 0), Elsewhere) as other:
        threading.Thread(target=other.serve_forever, daemon=True).start()
        tab = browser.new_page()
        tab.goto(f"http://{ADDRESS}:{other.server_address[1]}/")
        assert tab.evaluate("window.taken === undefined")
        fetched = tab.evaluate(
            f"fetch('http://{host}:{port}/find/c0.js', {{mode: 'no-cors'}}).then(r => r.text(), () => '')"
        )
        assert "library" not in fetched
        frame = next((f for f in tab.frames if f"{port}" in f.url), None)
        assert frame is None or "private" not in frame.content()
        tab.close()
        other.shutdown()


def test_a_burst_of_connections_is_answered(server: Server) -> None:
    """24 at once, none of which is let in before all have knocked."""
    waiting = []
    for _ in range(24):
        knock = socket.socket()
        knock.setblocking(False)
        knock.connect_ex((ADDRESS, server.server_address[1]))
        waiting.append(knock)
    for knock in waiting:
        knock.settimeout(5)
        knock.sendall(b"GET /index.html HTTP/1.0\r\nHost: localhost\r\n\r\n")
    for knock in waiting:
        assert knock.recv(100).startswith(b"HTTP/1.0 200")
        knock.close()


@pytest.mark.parametrize("sent", [b"", b"G", b"GET / HTTP/1.1\r\nHost: localhost\r\n"])
def test_half_open_connections_are_dropped(server: Server, sent: bytes) -> None:
    """Those that say nothing, and those that do not come to the end; meanwhile others are answered."""
    knocks = [socket.create_connection((ADDRESS, server.server_address[1]), timeout=5) for _ in range(40)]
    for knock in knocks:
        knock.sendall(sent)
    assert ask(server, "/index.html")[0] == 200
    for knock in knocks:
        assert knock.recv(1) == b"", "closed by the server"
        knock.close()


def test_a_byte_at_a_time_is_no_way_to_stay(server: Server) -> None:
    """Each byte comes before patience with a single one is over; all of them together take too long."""
    with socket.create_connection((ADDRESS, server.server_address[1]), timeout=5) as knock:
        began, ended = time.monotonic(), False
        for byte in b"GET /" + b"a" * 100:
            try:
                knock.sendall(bytes([byte]))
                knock.settimeout(0.1)
                ended = knock.recv(1) == b""
            except TimeoutError:
                continue
            except OSError:
                ended = True
            if ended:
                break
        assert ended and time.monotonic() - began < 5


def test_more_connections_than_there_is_room_for(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    """Those beyond are closed at once; when the others are gone there is room again."""
    monkeypatch.setattr(serving, "MOST_CONNECTIONS", 10)
    knocks = [socket.create_connection((ADDRESS, server.server_address[1]), timeout=5) for _ in range(30)]
    for knock in knocks:
        assert knock.recv(1) == b""
        knock.close()
    assert ask(server, "/index.html")[0] == 200
