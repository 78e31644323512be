"""`live --lan`: for a phone in the same network, by an address with a key; nothing without it."""

from __future__ import annotations

import http.client
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from generator.live.live import KEY_BYTES, lan_address
from generator.live.server import ADDRESS, EVERYWHERE, Pages, Server, open_server
from generator.pages.qr import qr_text

KEY = "0123456789abcdef"
HOST = "192.168.7.20"


def serving(folder: Path, key: str) -> Iterator[Server]:
    (folder / "index.html").write_text("<!doctype html><title>x</title><body>home</body>")
    (folder / "notes").mkdir(exist_ok=True)
    (folder / "notes" / "index.html").write_text("<!doctype html><title>x</title><body>notes</body>")
    pages = Pages(folder, key, [HOST] if key else [])
    with open_server(pages, 0) as running:
        threading.Thread(target=running.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
        yield running
        pages.close()
        running.shutdown()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    yield from serving(tmp_path, KEY)


@pytest.fixture
def closed(tmp_path: Path) -> Iterator[Server]:
    yield from serving(tmp_path, "")


def ask(server: Server, path: str, host: str = HOST, **headers: str) -> tuple[int, str, dict[str, str]]:
    connection = http.client.HTTPConnection(ADDRESS, server.server_address[1], timeout=5)
    sent = {"Host": host, **{name.replace("_", "-"): text for name, text in headers.items()}}
    connection.request("GET", path, headers=sent)
    answer = connection.getresponse()
    body = answer.read().decode()
    connection.close()
    return answer.status, body, dict(answer.getheaders())


@pytest.mark.parametrize(
    "path",
    ["/", "/index.html", "/notes/", "/-/live.js", "/-/changes", f"/{KEY[:-1]}/", f"/{KEY}0/", f"/{KEY.upper()}/",
     "/notes/../" + KEY + "/", "/%30123456789abcdef/"],
)  # fmt: skip
def test_nothing_without_the_key(server: Server, path: str) -> None:
    status, body, _ = ask(server, path)
    assert status == 403 and "home" not in body and "notes" not in body and KEY not in body


def test_all_with_the_key(server: Server) -> None:
    status, body, headers = ask(server, f"/{KEY}/index.html")
    assert status == 200 and "home" in body and f'src="/{KEY}/-/live.js"' in body
    assert headers["Referrer-Policy"] == "no-referrer"  # a link to elsewhere does not tell the key
    assert ask(server, f"/{KEY}/-/live.js")[0] == 200
    status, _, headers = ask(server, f"/{KEY}/notes")
    assert status == 301 and headers["Location"] == f"/{KEY}/notes/"


@pytest.mark.parametrize("host", ["evil.example", "192.168.7.21", "evil.example:8400", ""])
def test_other_names_are_refused_even_with_the_key(server: Server, host: str) -> None:
    """A page of a stranger may have its own name lead to this machine."""
    assert ask(server, f"/{KEY}/index.html", host=host)[0] == 421


def test_pages_of_others_are_refused(server: Server) -> None:
    sent = {"Sec_Fetch_Site": "cross-site", "Sec_Fetch_Mode": "no-cors", "Sec_Fetch_Dest": "script"}
    assert ask(server, f"/{KEY}/index.html", **sent)[0] == 403


@pytest.mark.parametrize(
    "origin, status", [("http://evil.example", 403), ("null", 403), (f"https://{HOST}", 403), (f"http://{HOST}", 200)]
)  # fmt: skip
def test_another_origin_is_refused_even_with_the_key(server: Server, origin: str, status: int) -> None:
    """Browsers send no Sec-Fetch-Site to a machine in the network that is asked without TLS, but they send Origin."""
    assert ask(server, f"/{KEY}/index.html", Origin=origin)[0] == status


def test_without_it_only_this_machine_is_heard(closed: Server, server: Server) -> None:
    assert closed.server_address[0] == ADDRESS
    assert server.server_address[0] == EVERYWHERE
    assert ask(closed, "/index.html", host=HOST)[0] == 421


def test_a_key_is_not_guessed() -> None:
    """64 bits: at 10,000 tries a second, some 29 million years on average."""
    assert 2 ** (8 * KEY_BYTES) / 2 / 10_000 / (365 * 24 * 3600) > 2.9e7


def test_the_address_is_of_a_network() -> None:
    found = lan_address()
    assert found == "" or (found.count(".") == 3 and not found.startswith("127."))


def test_the_code_in_the_terminal_is_the_code() -> None:
    """Read back module by module, against another encoder's way of printing the same code (segno's own text)."""
    import io

    import segno

    address = f"http://{HOST}:8400/{KEY}/"
    light = {"█": (1, 1), "▀": (1, 0), "▄": (0, 1), " ": (0, 0)}
    rows: list[list[int]] = []
    for line in qr_text(address).split("\n"):
        rows += [[1 - light[sign][0] for sign in line], [1 - light[sign][1] for sign in line]]
    out = io.StringIO()
    segno.make(address, error="m", micro=False).save(out, kind="txt", border=4)
    wanted = [[int(sign) for sign in line] for line in out.getvalue().split()]
    assert rows[: len(wanted)] == wanted
