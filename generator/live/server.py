"""The server of `benchlore live`: reading only, the last good site only; this machine only, unless a key is asked for.

With a key it answers phones on the same network too: the first step of every address is the key, and who does not know it
gets nothing.
"""

from __future__ import annotations

import contextlib
import html
import json
import mimetypes
import os
import re
import secrets
import socket
import threading
import time
from collections.abc import Collection
from functools import partial
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote, urlsplit

ADDRESS = "127.0.0.1"
EVERYWHERE = "0.0.0.0"  # every network of this machine
PORTS_TRIED = 20
MOST_CONNECTIONS = 256
# s for a connection to say what it wants, and for a reader to take the next part of an answer
PATIENCE = 10.0
_NAMES = {"localhost", "127.0.0.1", "[::1]"}
_TYPES = {".webp": "image/webp", ".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
_TYPES |= {".html": "text/html", ".json": "application/json", ".xml": "application/xml", ".txt": "text/plain"}
_POLICY = re.compile(r'(<meta http-equiv="Content-Security-Policy" content=")([^"]*)"', re.IGNORECASE)
_SCRIPT = Path(__file__).with_name("live.js")


class Pages:
    """What is served: the folder of the last good site, its version, and what is wrong with the notes since.

    key: the first step of every address, "" for none; hosts: the names and numbers under which it may be asked, beside
    those of this machine.
    """

    def __init__(self, folder: Path, key: str = "", hosts: Collection[str] = ()):
        self.folder = folder
        self.key, self.hosts = key, _NAMES | set(hosts)
        self.problems: list[str] = []
        self.closing = False
        self.changed = threading.Condition()
        self._start, self._count = secrets.token_hex(4), 0

    @property
    def version(self) -> str:
        """Changes with every site that is served, and with every start of the server."""
        return f"{self._start}-{self._count}"

    def tell(self, problems: list[str], *, new_site: bool) -> None:
        """A build has ended: let every open page know."""
        with self.changed:
            self.problems = problems
            self._count += new_site
            self.changed.notify_all()

    def close(self) -> None:
        """End the streams to open pages."""
        with self.changed:
            self.closing = True
            self.changed.notify_all()

    def state(self) -> str:
        """What an open page is told."""
        return json.dumps({"version": self.version, "problems": self.problems})


class Server(ThreadingHTTPServer):
    """Does not share its port, and does not print what a page that went away costs it."""

    daemon_threads = True
    request_queue_size = 128  # a page asks for much at once, and so may several pages
    allow_reuse_address = os.name == "posix"  # elsewhere that would let two servers have one port

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self._open: dict[socket.socket, float] = {}  # connection -> when it has to have said what it wants
        super().__init__(*args, **kwargs)

    def handle_error(self, request: Any, client_address: Any) -> None:
        pass  # a browser that hangs up in the middle

    def verify_request(self, request: Any, client_address: Any) -> bool:
        """Whether there is room for one more."""
        if len(self._open) >= MOST_CONNECTIONS:
            return False
        self._open[request] = time.monotonic() + PATIENCE
        return True

    def has_asked(self, request: Any) -> None:
        """A connection has said what it wants: it may take its time with the answer."""
        if request in self._open:
            self._open[request] = float("inf")

    def shutdown_request(self, request: Any) -> None:
        """The end of a connection."""
        self._open.pop(request, None)
        super().shutdown_request(request)

    def service_actions(self) -> None:
        """Drop those that were opened and then say nothing, or a byte at a time."""
        now = time.monotonic()
        for request in [request for request, until in list(self._open.items()) if until < now]:
            with contextlib.suppress(OSError):
                request.shutdown(socket.SHUT_RDWR)  # its thread ends, and closes it


def open_server(pages: Pages, port: int) -> Server:
    """A server on the port, or on the next one that is free. Raises OSError where none of them is.

    It hears this machine alone, and the network only where the pages have a key.
    """
    address = EVERYWHERE if pages.key else ADDRESS
    handler = partial(_Handler, pages)
    for tried in range(port, min(port + PORTS_TRIED, 65536)):
        try:
            return Server((address, tried), handler)
        except (OSError, OverflowError):
            continue
    return Server((address, 0), handler)


class _Handler(BaseHTTPRequestHandler):
    server_version = "benchlore"
    sys_version = ""
    timeout = PATIENCE

    def __init__(self, pages: Pages, *rest: Any):
        self.pages = pages
        super().__init__(*rest)

    def parse_request(self) -> bool:
        """As in the base class; then the connection is no longer one that only was opened."""
        parsed = super().parse_request()
        if isinstance(self.server, Server):
            self.server.has_asked(self.connection)
        return parsed

    def do_GET(self) -> None:
        # A page of a stranger may have its name lead to this machine: it then asks under that name.
        host = self.headers.get("Host", "")
        if re.sub(r":\d+$", "", host).lower() not in self.pages.hosts:
            self._answer(
                HTTPStatus.MISDIRECTED_REQUEST, "text/plain", b"this server is for this machine only\n"
            )
            return
        if self._asked_by_another_site():
            self._answer(HTTPStatus.FORBIDDEN, "text/plain", b"this server is for its own pages only\n")
            return
        path = self._behind_key(urlsplit(self.path).path)
        if path is None:
            self._answer(HTTPStatus.FORBIDDEN, "text/plain", b"the address of this server has a key in it\n")
        elif path == "/-/live.js":
            self._answer(HTTPStatus.OK, "text/javascript", _SCRIPT.read_bytes())
        elif path == "/-/changes":
            self._changes()
        else:
            self._file(path)

    do_HEAD = do_GET

    @property
    def _start(self) -> str:
        """What stands before every path."""
        return f"/{self.pages.key}" if self.pages.key else ""

    def _behind_key(self, path: str) -> str | None:
        """The path behind the key; None where that is not the key."""
        if not self.pages.key:
            return path
        given, _, rest = path.removeprefix("/").partition("/")
        if not secrets.compare_digest(given.encode(), self.pages.key.encode()):
            return None
        return f"/{rest}"

    def _asked_by_another_site(self) -> bool:
        """Whether a page of somebody else asks, such as by a script element that leads here; to follow a link is allowed.

        Sources: W3C, Fetch Metadata Request Headers, which browsers send to this machine but not to another in the network;
        RFC 6454, section 7, Origin. What sends neither is held off by the headers of the answer.
        """
        origin = self.headers.get("Origin", "").lower()
        if origin and origin != f"http://{self.headers.get('Host', '')}".lower():
            return True
        if self.headers.get("Sec-Fetch-Site", "none") in ("none", "same-origin"):
            return False
        return (self.headers.get("Sec-Fetch-Mode"), self.headers.get("Sec-Fetch-Dest")) != (
            "navigate",
            "document",
        )

    def _not_allowed(self) -> None:
        self._answer(HTTPStatus.METHOD_NOT_ALLOWED, "text/plain", b"reading only\n", Allow="GET, HEAD")

    do_POST = do_PUT = do_DELETE = do_PATCH = do_OPTIONS = do_TRACE = do_CONNECT = _not_allowed

    def log_message(self, format: str, *args: Any) -> None:
        pass

    def _file(self, path: str) -> None:
        steps = [step for step in unquote(path).split("/") if step]
        if any(step.startswith(".") or "\\" in step or "\0" in step or ":" in step for step in steps):
            self._missing()
            return
        root = self.pages.folder.resolve()
        try:
            file = root.joinpath(*steps).resolve()
            if not file.is_relative_to(root):
                self._missing()
            elif file.is_dir() and not path.endswith("/"):
                address = f"{self._start}/" + "".join(f"{quote(step)}/" for step in steps)
                self._answer(HTTPStatus.MOVED_PERMANENTLY, "text/plain", b"", Location=address)
            else:
                file = file / "index.html" if file.is_dir() else file
                self._send_file(file.suffix.lower(), file.read_bytes())
        except (OSError, ValueError):
            self._missing()

    def _send_file(self, suffix: str, data: bytes) -> None:
        kind = _TYPES.get(suffix) or mimetypes.guess_type(f"a{suffix}")[0] or "application/octet-stream"
        if kind == "text/html":
            data = self._followed(data.decode("utf-8", "replace")).encode()
        self._answer(HTTPStatus.OK, kind, data)

    def _missing(self) -> None:
        if self.pages.folder.exists():
            said = f"<p>No such page. <a href='{self._start}/'>To the first page</a></p>"
        else:  # no build has been good yet
            problems = "".join(f"<li>{html.escape(problem)}</li>" for problem in self.pages.problems)
            said = f"<h1>Not built yet</h1><ul>{problems}</ul>"
        page = f"<!doctype html><html lang=en><meta charset=utf-8><title>benchlore live</title><body>{said}</body></html>"
        self._answer(HTTPStatus.NOT_FOUND, "text/html", self._followed(page).encode())

    def _followed(self, page: str) -> str:
        """The page with the script that reloads it, which its policy must let ask for changes."""

        def permit(match: re.Match[str]) -> str:
            rules = [rule.strip() for rule in match[2].split(";")]
            rules = [rule for rule in rules if rule and not rule.startswith("connect-src")]
            return match[1] + "; ".join([*rules, "connect-src 'self'"]) + '"'

        page = _POLICY.sub(permit, page, count=1)
        script = f'<script src="{self._start}/-/live.js" data-version="{self.pages.version}" defer></script>'
        head, end, rest = page.rpartition("</body>")
        return head + script + end + rest if end else page + script

    def _changes(self) -> None:
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Cache-Control", "no-store")
        self._own_pages_only()
        self.end_headers()
        if self.command == "HEAD":
            return
        told = ""
        while not self.pages.closing:
            with self.pages.changed:
                state = self.pages.state()
                if state == told and not self.pages.closing:
                    self.pages.changed.wait(timeout=15)
                    state = self.pages.state()
            line = f"data: {state}\n\n" if state != told else ": still here\n\n"
            told = state
            self.wfile.write(line.encode())
            self.wfile.flush()

    def _own_pages_only(self) -> None:
        """Headers by which a browser gives no answer to pages from elsewhere, and shows none inside of them."""
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Referrer-Policy", "no-referrer")  # an address may hold a key
        self.send_header("Cross-Origin-Resource-Policy", "same-origin")
        self.send_header("Cross-Origin-Opener-Policy", "same-origin")
        self.send_header("Content-Security-Policy", "frame-ancestors 'none'")
        self.send_header("X-Frame-Options", "DENY")

    def _answer(self, status: HTTPStatus, kind: str, data: bytes, **headers: str) -> None:
        self.send_response(status)
        charset = "; charset=utf-8" if kind.startswith("text/") or kind.endswith("json") else ""
        self.send_header("Content-Type", kind + charset)
        self.send_header("Content-Length", str(len(data)))
        self.send_header("Cache-Control", "no-store")
        self._own_pages_only()
        for name, value in headers.items():
            self.send_header(name, value)
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(data)
