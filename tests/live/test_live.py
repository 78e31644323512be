"""The live server: follows edits, keeps the last good site, and serves nothing and nobody else."""

from __future__ import annotations

import contextlib
import http.client
import os
import signal
import socket
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from generator.live import live as following
from generator.live.live import QUIET, follow
from generator.live.server import ADDRESS, Pages, open_server
from generator.live.watch import Watch, snapshot
from generator.problems import Problem

# A program of its own, so that Ctrl-C can be tried: each note's text becomes a page; "wrong" in it is a problem.
PROGRAM = textwrap.dedent("""
    import sys
    from pathlib import Path
    from generator.problems import Problem
    from generator.live.live import serve
    from generator.build.replace import Staging

    content = Path(sys.argv[1])
    POLICY = "default-src 'none'; script-src 'self'; style-src 'self'"

    def build(folder):
        text = (content / "note.md").read_text()
        if "crash" in text:
            raise RuntimeError("a fault of ours")
        if "wrong" in text:
            return [Problem("note.md", 3, 7, "<b>no such part</b>")]
        with Staging(folder) as staging:
            page = f'<!doctype html><html lang="en"><meta charset="utf-8"><title>t</title>'
            page += f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
            staging.write("index.html", f"{page}<body><h1>{text}</h1></body></html>".encode())
            staging.write("notes/a b/index.html", b"<p>inner</p>")
            staging.write("static/look.css", b"h1 {}")
        return [Problem("note.md", 2, 1, text, "", "warning")] if "doubt" in text else []

    say = lambda text: print(text, flush=True)
    sys.exit(serve([content], build, port=int(sys.argv[2]), pause=0.05, say=say))
""")


class Live:
    """A running server and what it said."""

    def __init__(self, content: Path, port: int):
        self.note = content / "note.md"
        self.scratch = content.parent / "scratch"
        self.scratch.mkdir(exist_ok=True)
        self.process = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(content), str(port)],
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=os.environ | {"TMPDIR": str(self.scratch)},
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),  # a shell's background job ignores it
        )  # fmt: skip
        self.said: list[str] = []
        self.address = self.until("http://").split()[0].rstrip("/")
        self.port = int(self.address.rpartition(":")[2])

    def until(self, words: str) -> str:
        """Read on until a line has the words."""
        for line in self.process.stdout:
            self.said.append(line.rstrip())
            if words in line:
                return line
        raise AssertionError(f"never said {words!r}: {self.said}")

    def ask(self, path: str, method: str = "GET", host: str = "") -> tuple[int, str, dict[str, str]]:
        connection = http.client.HTTPConnection(ADDRESS, self.port, timeout=5)
        connection.putrequest(method, path, skip_host=True)
        connection.putheader("Host", host or f"127.0.0.1:{self.port}")
        connection.endheaders()
        answer = connection.getresponse()
        body = answer.read().decode()
        connection.close()
        return answer.status, body, dict(answer.getheaders())


def unused_port() -> int:
    with socket.socket() as probe:
        probe.bind((ADDRESS, 0))
        return probe.getsockname()[1]


@contextlib.contextmanager
def started(folder: Path, text: str, port: int = 0) -> Iterator[Live]:
    (folder / "content").mkdir()
    (folder / "content" / "note.md").write_text(text)
    (folder / "secret.txt").write_text("secret")
    running = Live(folder / "content", port or unused_port())
    try:
        yield running
    finally:
        running.process.kill()
        running.process.communicate()


@pytest.fixture
def live(tmp_path: Path) -> Iterator[Live]:
    with started(tmp_path, "first") as running:
        yield running


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """One that no test changes."""
    with started(tmp_path_factory.mktemp("live"), "first") as running:
        yield running


def test_edits_are_followed_and_the_last_good_site_stays(live: Live) -> None:
    assert "<h1>first</h1>" in live.ask("/")[1]
    live.note.write_text("wrong")
    live.until("note.md:3:7: <b>no such part</b>")
    assert "<h1>first</h1>" in live.ask("/")[1]
    live.note.write_text("crash")
    live.until("this build failed (RuntimeError: a fault of ours)")
    assert "<h1>first</h1>" in live.ask("/")[1]
    live.note.write_text("second")
    live.until("changed: note.md")
    live.until("errors fixed")
    until = time.monotonic() + 5
    while "<h1>second</h1>" not in live.ask("/")[1] and time.monotonic() < until:
        time.sleep(0.02)
    assert "<h1>second</h1>" in live.ask("/")[1]


class Scripted:
    """A watch that reports what the test says, then Ctrl-C; an empty report is time gone by without a save."""

    def __init__(self, *reports: list[str]):
        self.reports, self.asked = list(reports), []

    def wait(self, at_most: float | None = None) -> list[str]:
        self.asked.append(at_most)
        if not self.reports:
            raise KeyboardInterrupt
        return self.reports.pop(0)


@pytest.mark.parametrize(
    ("reports", "done"),
    [
        ([[]], ["caught up"]),
        ([["a"], ["b"], [], ["c"], []], ["built", "built", "caught up", "built", "caught up"]),
        ([["wrong"], ["a"], []], ["wrong", "built", "caught up"]),
    ],
    ids=["at first", "saves in a row", "a mistake"],
)
def test_what_can_wait_is_done_once_nothing_is_saved_any_more(
    tmp_path: Path, reports: list[list[str]], done: list[str]
) -> None:
    did: list[str] = []
    watch = Scripted(*reports)

    def build(folder: Path) -> list[Problem]:
        mistake = changed[len(watch.asked) - 1] == ["wrong"]
        did.append("wrong" if mistake else "built")
        return [Problem("note.md", 1, 1, "no such part")] if mistake else []

    changed = list(reports)
    with contextlib.suppress(KeyboardInterrupt):
        follow(
            watch, build, lambda folder: did.append("caught up"), Pages(tmp_path), lambda text: None, set()
        )
    assert did == done
    waits = [QUIET] + [None if report in ([], ["wrong"]) else QUIET for report in changed]
    assert watch.asked == waits


def test_what_was_said_of_other_notes_is_not_said_again(live: Live) -> None:
    for text, said in (("doubt one", 1), ("wrong", 0), ("doubt one", 0), ("doubt two", 1)):
        live.said.clear()
        live.note.write_text(text)
        live.until("changed: note.md")
        until = time.monotonic() + 5
        while time.monotonic() < until and text not in live.ask("/")[1] and text != "wrong":
            time.sleep(0.02)
        if said:
            live.until(f"warning: {text}")
        elif text == "wrong":
            live.until("no such part")
        assert not [line for line in live.said if "warning" in line and not said]


@pytest.mark.parametrize("sent", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_ctrl_c_and_a_closed_terminal_end_it_cleanly(live: Live, sent: str) -> None:
    stream = http.client.HTTPConnection(ADDRESS, live.port, timeout=5)  # an open page must not hold it up
    stream.request("GET", "/-/changes")
    assert stream.getresponse().readline().startswith(b"data: ")
    assert len(os.listdir(live.scratch)) == 1
    live.process.send_signal(getattr(signal, sent))
    rest = live.process.communicate(timeout=20)[0]
    stream.close()
    assert live.process.returncode == 0
    assert rest.splitlines()[-1] == "ended" and "Traceback" not in rest
    assert os.listdir(live.scratch) == []


def test_a_port_in_use_gives_the_next_one(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind((ADDRESS, 0))
        taken.listen()
        port = taken.getsockname()[1]
        with started(tmp_path, "first", port) as running:
            assert running.port != port
            assert f"port {port} is taken, so this is on port {running.port}" in running.said


# What is served, and to whom


def test_pages_and_files(served: Live) -> None:
    status, body, headers = served.ask("/notes/a%20b/")
    assert (status, headers["Content-Type"]) == (200, "text/html; charset=utf-8")
    assert body.startswith("<p>inner</p>") and "/-/live.js" in body
    status, body, headers = served.ask("/static/look.css")
    assert (status, body, headers["Content-Type"]) == (200, "h1 {}", "text/css; charset=utf-8")
    status, _, headers = served.ask("/notes/a%20b")
    assert (status, headers["Location"]) == (301, "/notes/a%20b/")
    assert served.ask("/missing/")[0] == 404
    status, body, headers = served.ask("/", method="HEAD")
    assert (status, body) == (200, "") and int(headers["Content-Length"]) > 0


@pytest.mark.parametrize(
    "path",
    [
        "/../../secret.txt",
        "/..%2f..%2fsecret.txt",
        "/%2e%2e/%2e%2e/secret.txt",
        "/static/../../../secret.txt",
        "//etc/passwd",
        "/static//..//..//..//etc/passwd",
        "/..\\..\\secret.txt",
        "/%5c..%5csecret.txt",
        "/c:/windows",
        "/index.html%00.txt",
        "/.benchlore",
        "/" + "a" * 300,
        "/%ff%fe",
    ],
)
def test_no_path_leads_out(served: Live, path: str) -> None:
    status, body, _ = served.ask(path)
    assert status == 404
    assert "secret" not in body.replace("secret.txt", "") and "root:" not in body


def test_no_link_leads_out(tmp_path: Path) -> None:
    site = tmp_path / "site"
    site.mkdir()
    (tmp_path / "secret.txt").write_text("secret")
    (site / "link.txt").symlink_to(tmp_path / "secret.txt")
    server = open_server(Pages(site), 0)
    with server:
        threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True).start()
        connection = http.client.HTTPConnection(ADDRESS, server.server_address[1], timeout=5)
        connection.request("GET", "/link.txt", headers={"Host": "localhost"})
        assert connection.getresponse().status == 404
        connection.close()
        server.shutdown()


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_reading_only(served: Live, method: str) -> None:
    status, _, headers = served.ask("/", method=method)
    assert (status, headers["Allow"]) == (405, "GET, HEAD")


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("localhost", 200),
        ("LOCALHOST:1234", 200),
        ("[::1]:1", 200),
        ("evil.example", 421),
        ("evil.example:8400", 421),
        ("127.0.0.1.evil.example", 421),
        ("localhost.evil.example:80", 421),
        ("user@localhost", 421),
        (" ", 421),
    ],
)
def test_only_names_of_this_machine_are_answered(served: Live, host: str, status: int) -> None:
    for path in ("/", "/-/live.js"):
        assert served.ask(path, host=host)[0] == status


def test_only_this_machine_can_reach_it() -> None:
    server = open_server(Pages(Path("nowhere")), 0)
    with server:
        assert server.socket.getsockname()[0] == "127.0.0.1"


# The watch


@pytest.mark.parametrize("edit", ["write", "same size", "add", "remove", "rename", "replace", "folder"])
def test_every_kind_of_edit_is_seen(tmp_path: Path, edit: str) -> None:
    note = tmp_path / "inner" / "note.md"
    note.parent.mkdir()
    note.write_text("one")
    watch = Watch([tmp_path], pause=0.01)
    expected = {str(note)}
    if edit == "write":
        note.write_text("more words")
    elif edit == "same size":
        note.write_text("two")
    elif edit == "add":
        (tmp_path / "new.md").write_text("x")
        expected = {str(tmp_path / "new.md")}
    elif edit == "remove":
        note.unlink()
    elif edit == "rename":
        note.rename(tmp_path / "new.md")
        expected.add(str(tmp_path / "new.md"))
    elif edit == "replace":  # as many editors save
        stat = note.stat()
        (tmp_path / ".note.md.part").write_text("two")
        os.utime(tmp_path / ".note.md.part", ns=(stat.st_atime_ns, stat.st_mtime_ns))
        (tmp_path / ".note.md.part").rename(note)
    else:
        note.parent.rename(tmp_path / "other")
        expected.add(str(tmp_path / "other" / "note.md"))
    assert set(watch.wait()) == expected


def test_waiting_ends_after_the_time_given(tmp_path: Path) -> None:
    (tmp_path / "note.md").write_text("one")
    watch = Watch([tmp_path], pause=0.01)
    assert watch.wait(0.03) == []
    (tmp_path / "note.md").write_text("more words")
    assert watch.wait(0.03) == [str(tmp_path / "note.md")]


def test_what_editors_leave_about_is_not_seen(tmp_path: Path) -> None:
    for name in (".note.md.swp", "note.md~", "#note.md#", ".benchlore-cache/x", ".git/index", "a.swp"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("x")
    (tmp_path / "broken").symlink_to("nowhere")
    assert list(snapshot([tmp_path, tmp_path / "gone"])) == [str(tmp_path / "broken")]


# In the browser


@pytest.fixture
def page(live: Live, browser: Any) -> Iterator[object]:
    with contextlib.closing(browser.new_context()) as context:
        opened = context.new_page()
        opened.said = []
        opened.on("console", lambda message: opened.said.append(message.text))
        opened.goto(live.address + "/")
        yield opened


@pytest.mark.browser
def test_the_browser_follows_by_itself_under_the_policy_of_the_page(live: Live, page: object) -> None:
    strip = page.locator("#live-problems")
    live.note.write_text("second")
    page.get_by_role("heading", name="second").wait_for(timeout=5000)
    live.note.write_text("wrong")
    strip.wait_for(timeout=5000)
    assert "note.md:3:7: <b>no such part</b>" in strip.inner_text()
    assert page.get_by_role("heading", name="second").is_visible()
    live.note.write_text("third")
    page.get_by_role("heading", name="third").wait_for(timeout=5000)
    assert strip.count() == 0
    assert page.said == []


@pytest.mark.browser
def test_first_build_with_problems_is_shown_and_mended(tmp_path: Path, browser: Any) -> None:
    with started(tmp_path, "wrong") as running, contextlib.closing(browser.new_context()) as context:
        opened = context.new_page()
        opened.goto(running.address + "/")
        opened.get_by_role("heading", name="Not built yet").wait_for(timeout=5000)
        assert "<b>no such part</b>" in opened.locator("li").first.inner_text()
        running.note.write_text("mended")
        opened.get_by_role("heading", name="mended").wait_for(timeout=5000)


def test_notes_of_pooled_libraries_are_watched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The guide: what `live` follows is the library, its theme, and the notes of those that it pools."""
    for name, settings in (
        ("mill", "name: Mill\n"),
        ("loft", "name: Loft\npool: [{from: ../mill, as: mill}]\n"),
    ):
        (tmp_path / name / "notes").mkdir(parents=True)
        (tmp_path / name / "library.yaml").write_text(settings)
    watched: list[Path] = []

    def serve(folders: Sequence[Path], *_: object, **_named: object) -> int:
        watched.extend(folder.resolve() for folder in folders)
        return 0

    monkeypatch.setattr(following, "serve", serve)
    assert following.live(tmp_path / "loft") == 0
    assert {tmp_path / "loft", tmp_path / "mill" / "notes"} <= set(watched)
