"""`benchlore live`: the site on this machine, following the edits of its notes."""

from __future__ import annotations

import contextlib
import secrets
import signal
import socket
import sys
import tempfile
import threading
import webbrowser
from collections.abc import Callable, Sequence
from pathlib import Path

from generator.build.own import NotWritten
from generator.edge import say as say_it
from generator.live.server import ADDRESS, Pages, open_server
from generator.live.watch import Watch
from generator.notes.config import read_config
from generator.notes.library import NOTES_FOLDER
from generator.notes.text import shown_path
from generator.problems import ERROR, HINT, Problem

# s without a save before what can wait is done: open pages load in it, and the next save goes first
QUIET = 0.5
KEY_BYTES = 8  # 64 bits: nobody guesses that at the rate at which a server answers
Build = Callable[[Path], Sequence[Problem]]
"""Builds the site into a folder, whole or not at all, and returns all problems; errors mean that it was not built."""


def live(
    content: Path,
    *,
    port: int = 8400,
    open_browser: bool = True,
    lan: bool = False,
    say: Callable[[str], None] = say_it,
) -> int:
    """Serve the library in content until Ctrl-C. Returns the exit status.

    lan: also to phones on the same network, by an address with a key in it.
    """
    host = lan_address() if lan else ""
    if lan and not host:
        say("this machine is on no network that a phone could reach it by; without --lan it serves here")
        return 1
    from generator.build.build import Built, build_site
    from generator.pages.theme import theme_folder
    from generator.progress import Progress

    last = Built([])
    processes = 0  # all cores at first; later the server's threads run, and a process with threads does not fork safely

    def build(folder: Path) -> Sequence[Problem]:
        nonlocal last, processes
        last = build_site(content, folder, processes=processes, progress=Progress(), search_later=True)
        processes = 1
        return last.problems

    def catch_up(folder: Path) -> None:
        build_site(content, folder, rehearse=not last.search_behind)

    config, _ = read_config(content)
    pools = [root / NOTES_FOLDER for pool in config.pool if (root := content / pool.source).is_dir()]
    return serve(
        [content, theme_folder(), *pools], build, catch_up, port=port, open_browser=open_browser, say=say,
        host=host,
    )  # fmt: skip


def serve(
    watched: Sequence[Path],
    build: Build,
    catch_up: Callable[[Path], None] = lambda folder: None,
    *,
    port: int,
    open_browser: bool = False,
    say: Callable[[str], None] = say_it,
    pause: float = 0.1,
    host: str = "",
) -> int:
    """Build, serve on 127.0.0.1, and build again whenever a file below the watched folders changes.

    The site lies in a temporary folder, which is gone afterwards. A build with errors changes nothing of what is
    served; its problems are said, and shown on the open pages. catch_up is called once after each good build, when
    nothing was saved for QUIET seconds: it does what can wait. pause is the time between two looks, in seconds.
    host: the number of this machine in its network, where it is to serve there too.
    """
    _end_as_by_ctrl_c()
    with tempfile.TemporaryDirectory(prefix="benchlore-live-") as place:
        pages = Pages(
            Path(place) / "site", secrets.token_hex(KEY_BYTES) if host else "", [host] if host else []
        )
        watch = Watch(watched, pause)
        try:
            server = open_server(pages, port)
        except OSError as error:
            say(f"no port is free on {ADDRESS}: {error.strerror}")
            return 1
        with server:
            thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True)
            try:
                known = _build(build, pages, say, set())
                thread.start()
                _say_where(port, server.server_address[1], say, open_browser, pages.key, host)
                follow(watch, build, catch_up, pages, say, known)
            except KeyboardInterrupt:
                say("ended")
            finally:
                pages.close()
                if thread.is_alive():
                    server.shutdown()
                    thread.join()
    return 0


def _end_as_by_ctrl_c() -> None:
    """A terminal that is closed and a system that shuts down end it too; the temporary folder must not stay behind."""
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:  # nohup: it is to go on
            signal.signal(number, signal.default_int_handler)


def lan_address() -> str:
    """The number of this machine in its network; "" where it is in none. Nothing is sent to find out."""
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        # an address that nobody has (RFC 5737): the way to it begins at our own
        probe.connect(("192.0.2.1", 9))
        found = str(probe.getsockname()[0])
        return "" if found.startswith(("127.", "0.")) else found
    return ""


def _say_where(
    asked: int, given: int, say: Callable[[str], None], open_browser: bool, key: str, host: str
) -> None:
    if given != asked:
        say(f"port {asked} is taken, so this is on port {given}")
    start = f"/{key}/" if key else "/"
    say(f"http://{ADDRESS}:{given}{start} shows the site and follows your edits; Ctrl-C ends it")
    if host:
        from generator.pages.qr import qr_text

        address = f"http://{host}:{given}{start}"
        say(f"{address} does so on a phone in the same network, for whoever knows the address:")
        with contextlib.suppress(UnicodeEncodeError, LookupError):
            code = qr_text(address)
            code.encode(sys.stderr.encoding or "ascii")  # not every terminal has these signs
            say(code)
    if open_browser:
        webbrowser.open(f"http://{ADDRESS}:{given}{start}")


def follow(
    watch: Watch,
    build: Build,
    catch_up: Callable[[Path], None],
    pages: Pages,
    say: Callable[[str], None],
    known: set[str],
) -> None:
    """Build after every change, until Ctrl-C."""
    behind = not pages.problems
    while True:
        changed = watch.wait(QUIET if behind else None)
        if changed:
            more = f" and {len(changed) - 1} more" if len(changed) > 1 else ""
            say(f"changed: {shown_path(Path(changed[0]).name)}{more}")
            known = _build(build, pages, say, known)
            behind = not pages.problems
        else:
            behind = False
            with contextlib.suppress(Exception):  # the next build tries again
                catch_up(pages.folder)


def _build(build: Build, pages: Pages, say: Callable[[str], None], known: set[str]) -> set[str]:
    """Build and tell the open pages. Of what is wrong, all errors are said, and what was not known; returns what now is."""
    try:
        problems = list(build(pages.folder))
    except NotWritten as error:
        problems = [Problem.of_file(str(pages.folder), str(error))]
    except Exception as error:  # noqa: BLE001 - whatever it is, the last good site goes on being served
        problems = [Problem.of_file("benchlore", f"this build failed ({type(error).__name__}: {error})")]
    said = {str(problem) for problem in problems if problem.severity != HINT}
    for problem in problems:
        if problem.severity == ERROR or (problem.severity != HINT and str(problem) not in known):
            say(str(problem))
    errors = [str(problem) for problem in problems if problem.severity == ERROR]
    if pages.problems and not errors:
        say("errors fixed")
    pages.tell(errors, new_site=not errors)
    return said | known if errors else said  # a build that stopped at an error may not have come to all
