"""Whatever is wrong around a command (streams, disks, rights, memory, names), it ends with a line for people and a status."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import commands
import pytest

from generator import edge
from generator.build import workshop
from generator.build.build import build_site, inspect_library

ROOT = Path(__file__).resolve().parent.parent
POSIX = pytest.mark.skipif(os.name != "posix", reason="as POSIX has it")
ROOTLY = pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0 or not shutil.which("mount"), reason="needs root"
)
NOTE = """---
title: Bell stays silent
date: 2026-01-10
device: {kind: door bell}
symptoms: [stays silent]
outcome: fixed
blocks:
  lamp: {kind: led-indicator, supply: 5 V, resistor: R1 470}
---
It was stuck at {lamp.current}.
"""


@pytest.fixture
def library(tmp_path: Path) -> Path:
    content = tmp_path / "content"
    (content / "notes" / "bell").mkdir(parents=True)
    (content / "library.yaml").write_text("name: Corner bench\n")
    (content / "notes" / "bell" / "note.md").write_text(NOTE)
    return content


def run(
    place: Path, *arguments: str | bytes, shell: str = "", **env: str
) -> subprocess.CompletedProcess[bytes]:
    """The command in a folder; shell: what stands behind it there, such as >/dev/full."""
    command = [sys.executable, "-m", "generator", *arguments]
    if shell:
        command = ["sh", "-c", f'"$@" {shell}', "sh", *command]
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT), **env}
    surroundings.pop("PYTHONUNBUFFERED", None)
    return subprocess.run(command, cwd=place, env=surroundings, capture_output=True, timeout=120, check=False)


COMMANDS = [("values", "divider", "upper=10k", "lower=10k", "supply=5V"), ("lookup", "silent"), ("--version",),
            ("--help",), ("values",), ("site", "--help"), ("writeup", "kettle"), ("values", "--json")]  # fmt: skip


SLOW = pytest.mark.slow  # more of the same


@POSIX
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_standard_output_that_is_full(library: Path, command: tuple[str, ...]) -> None:
    done = run(library.parent, *command, shell=">/dev/full")
    assert (done.returncode, done.stderr) == (
        1,
        b"standard output cannot be written: no space left on device\n",
    )


@POSIX
@pytest.mark.parametrize(
    "shell", ["2>&-", pytest.param("2>/dev/full", marks=SLOW), pytest.param(">&- 2>&- <&-", marks=SLOW)]
)
@pytest.mark.parametrize(("command", "status"), [(("site",), 0), (("nonsense",), 2), (("site", "no"), 1)])
def test_streams_that_are_closed(library: Path, command: tuple[str, ...], status: int, shell: str) -> None:
    """Nobody reads what is said: what was asked for is done, with its status."""
    done = run(library.parent, *command, shell=shell)
    assert done.returncode == status
    assert b"Traceback" not in done.stderr + done.stdout
    assert (library.parent / "site").exists() == (command == ("site",))


@POSIX
@pytest.mark.parametrize(
    ("name", "encoding"),
    [
        pytest.param(b"caf\xe9\xff", "ascii", marks=SLOW),
        (b"a\x1b[31m\n\xc2\x9b31m", "utf-8"),
        pytest.param("größe".encode(), "ascii", marks=SLOW),
    ],
)
def test_names_that_are_no_text_for_the_terminal(library: Path, name: bytes, encoding: str) -> None:
    """As target and as library; no byte reaches the terminal that it would obey."""
    place = os.fsencode(library.parent)
    shutil.copytree(library, os.fsdecode(place + b"/" + name))
    for arguments in (
        (b"site", name, b"--to", b"to" + name), (b"lookup", b"silent", b"--library", name), (b"inspect", b"no" + name),
        (b"values", name), (name,), (b"writeup", b"x", b"--content", name + b"2"),
    ):  # fmt: skip
        done = run(library.parent, *arguments, PYTHONIOENCODING=encoding, LC_ALL="C")
        said = done.stderr + done.stdout
        assert b"Traceback" not in said and b"mistake in benchlore" not in said, said
        assert not re.search(rb"[\x00-\x08\x0b-\x1f\x7f]|\xc2[\x80-\x9f]", said), said
    assert os.path.isfile(place + b"/to" + name + b"/index.html")


def test_what_a_terminal_would_obey_is_written_out() -> None:
    said = edge.safe("a\x1b[31m\x9b0m\u202e\ud800\r\x07\ttab\nnext größe µ")
    assert said == "a\\u001b[31m\\u009b0m\\u202e\\ud800\\u000d\\u0007\ttab\nnext größe µ"


# Disks


@pytest.fixture
def small_disk(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Path]:
    """A disk of its own; its options are the parameter."""
    disk = tmp_path / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", request.param, "tmpfs", str(disk)]
    if subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("may not mount here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


@ROOTLY
@pytest.mark.parametrize(
    "small_disk",
    [pytest.param("size=4k", marks=SLOW), "size=64k", pytest.param("ro,size=64k", marks=SLOW)],
    indirect=True,
)
def test_a_cache_that_takes_nothing(library: Path, small_disk: Path, tmp_path: Path) -> None:
    """Full or read-only: the site is the same, or it is said why there is none."""
    assert build_site(library, tmp_path / "same").written
    done = run(tmp_path, "site", "--to", "site", BENCHLORE_CACHE=str(small_disk))
    assert b"Traceback" not in done.stderr and b"mistake in benchlore" not in done.stderr, done.stderr
    if done.returncode:
        assert (
            b"cache" in done.stderr
            and b"nothing was written" in done.stderr
            and not (tmp_path / "site").exists()
        )
    else:
        made, same = ({p.relative_to(s): p.read_bytes() for p in s.rglob("*") if p.is_file()}
                      for s in (tmp_path / "site", tmp_path / "same"))  # fmt: skip
        assert made == same


# Rights and changes, in this process, as another user


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory, few: Path) -> None:
    """Everything that a build loads: another user may not read the package."""
    assert build_site(few, tmp_path_factory.mktemp("loaded") / "site").written


@pytest.fixture
def open_place(library: Path, loaded: None) -> Iterator[Path]:
    """A copy of the library where another user may go."""
    place = Path(tempfile.mkdtemp())
    place.chmod(0o755)
    shutil.copytree(library, place / "content")
    yield place
    os.seteuid(0)
    shutil.rmtree(place)


@ROOTLY
@pytest.mark.parametrize("place", ["", "notes", "notes/bell", "notes/bell/note.md", "library.yaml", "symptoms.yaml", "theme",
                                   "theme/static", "theme/templates", "theme/static/own.css", "theme/templates/404.html"])  # fmt: skip
def test_what_may_not_be_read_is_told(open_place: Path, place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    library, own = open_place / "content", open_place / "own"
    (library / "theme" / "static").mkdir(parents=True)
    (library / "theme" / "templates").mkdir(parents=True)
    for name in ("symptoms.yaml", "theme/static/own.css", "theme/templates/404.html"):
        (library / name).touch()
    (library / place).chmod(0)
    own.mkdir()
    own.chmod(0o777)
    monkeypatch.setenv("BENCHLORE_CACHE", str(own))
    os.seteuid(65534)
    built = build_site(library, own / "site")
    problems, _notes = inspect_library(library)
    assert not built.written
    said = [str(problem) for problem in built.problems]
    assert any(line.startswith(str(library / place)) and "permission denied" in line for line in said), said
    assert place.startswith("theme") or any("permission denied" in str(problem) for problem in problems)


CHANGES = {
    "a note's folder is deleted": lambda c: shutil.rmtree(c / "notes" / "bell"),
    "the notes are deleted": lambda c: shutil.rmtree(c / "notes"),
    "a note becomes a folder": lambda c: (
        (c / "notes/bell/note.md").unlink(),
        (c / "notes/bell/note.md").mkdir(),
    ),
    "a note becomes a link": lambda c: (
        (c / "notes/bell/note.md").unlink(),
        (c / "notes/bell/note.md").symlink_to("/etc/hostname"),
    ),
    "a note is saved with a mistake": lambda c: (c / "notes/bell/note.md").write_text("---\ntitle: [\n---\n"),
}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("call", [1, 2])
def test_what_goes_while_it_is_built(
    library: Path, tmp_path: Path, change: str, call: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the notes were listed, and again before one is worked out: told as a problem of that note."""
    real, calls = workshop.source_of, []

    def then(path: Path) -> object:
        calls.append(path)
        if len(calls) == call:
            CHANGES[change](library)
        return real(path)

    monkeypatch.setattr(workshop, "source_of", then)
    built = build_site(library, tmp_path / "site")
    assert not built.written and not (tmp_path / "site").exists()
    assert all("bell" in problem.file for problem in built.problems) and built.problems


def test_a_save_during_a_build_leaves_no_stale_page(
    library: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A note saved between any two looks at it: after the next build the page is that of the note as it is."""
    note = library / "notes" / "bell" / "note.md"
    real = workshop.source_of
    for call in (1, 2):
        calls: list[Path] = []

        def then(path: Path, call: int = call, calls: list[Path] = calls) -> object:
            before = real(path)
            calls.append(path)
            if len(calls) == call:  # right after it was read
                note.write_text(NOTE.replace("stuck", f"saved {call}"))
            return before

        note.write_text(NOTE.replace("stuck", f"early {call}"))
        with monkeypatch.context() as patch:
            patch.setattr(workshop, "source_of", then)
            build_site(library, tmp_path / "site")
        assert build_site(library, tmp_path / "site").written
        assert f"saved {call} at" in (tmp_path / "site" / "notes" / "bell" / "index.html").read_text("utf-8")
        note.write_text(NOTE.replace("stuck", f"early {call}"))  # as it was when its key was made
        assert build_site(library, tmp_path / "site").written
        assert f"early {call} at" in (tmp_path / "site" / "notes" / "bell" / "index.html").read_text("utf-8")


# What lies about in a note's folder


@POSIX
@pytest.mark.parametrize(
    "where", ["notes/bell/stray", "notes/stray.md", "notes/bell/note.md", "stray", "symptoms.yaml"]
)
@pytest.mark.parametrize(
    "what", ["pipe", pytest.param("sparse", marks=SLOW), pytest.param("socket-like device", marks=SLOW)]
)
def test_what_is_no_file_hangs_nobody_and_takes_no_memory(library: Path, what: str, where: str) -> None:
    """In 700 MB of addresses and 60 s; where no note uses it, it does not matter."""
    path = library / where
    path.unlink(missing_ok=True)
    if what == "pipe":
        os.mkfifo(path)
    elif what == "sparse":
        path.touch()
        os.truncate(path, 3 << 30)
    else:
        try:
            os.mknod(path, 0o20666, os.makedev(1, 5))  # /dev/zero, which never ends
        except PermissionError:
            pytest.skip("may not make a device here")
    code = ("import os, resource as r, signal, sys; r.setrlimit(r.RLIMIT_AS, (700 << 20, 700 << 20)); signal.alarm(60); "
            "from generator.cli import main; code = main(['site', '--processes', '1']); sys.stderr.flush(); os._exit(code)")  # fmt: skip
    commands.start(code=code, cwd=library.parent, err=str(library.parent / "said"))
    status, said = commands.ended(), (library.parent / "said").read_text("utf-8")
    matters = where not in ("notes/bell/stray", "stray")
    assert status == matters, said
    assert not matters or f"content/{where}: " in said


# Memory


@POSIX
@pytest.mark.skipif(sys.platform != "linux", reason="limits of memory as Linux has them")
@pytest.mark.parametrize("mebibytes", [100, *(pytest.param(n, marks=SLOW) for n in (60, 160, 220))])
def test_little_memory(library: Path, mebibytes: int) -> None:
    done = run(
        library.parent, "site", "--processes", "1", shell=f'2>&1; true; ulimit -v {mebibytes * 1024}; "$@"'
    )
    said = done.stdout.decode() + done.stderr.decode()
    assert "Traceback" not in said and "mistake in benchlore" not in said, said


def test_the_last_handler_has_words_for_anything(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever is raised: one line, and status 1; 130 for Ctrl-C, 0 where the reader of a pipe has seen enough."""
    monkeypatch.delenv("BENCHLORE_DEBUG", raising=False)
    for error, status in (
        (ValueError("a\nb"), 1), (KeyError("x"), 1), (MemoryError(), 1), (RecursionError("deep"), 1), (OSError(28, "No space"), 1),
        (PermissionError(13, "Permission denied", "/x"), 1), (RuntimeError("can't start new thread"), 1), (AssertionError(), 1),
        (ImportError("numpy"), 1), (KeyboardInterrupt(), 130), (UnicodeEncodeError("ascii", "x", 0, 1, "no"), 1),
    ):  # fmt: skip

        def fail(error: BaseException = error) -> int:
            raise error

        assert edge.guarded(fail) == status
        said = capsys.readouterr().err
        assert said.count("\n") == 1 and "Traceback" not in said, said


def test_a_sheet_that_is_placed_but_broken_is_told(library: Path) -> None:
    """The prose places the sheet of a block with a word that no kind knows: the word is told, at its line."""
    (library / "notes" / "bell" / "note.md").write_text(
        NOTE.replace("resistor: R1 470}", "resistor: R1 470, colour: red}").replace(
            "It was", "{lamp}\n\nIt was"
        )
    )
    told = [str(problem) for problem in inspect_library(library)]
    assert any("colour" in line for line in told) and not any("mistake in benchlore" in line for line in told)
