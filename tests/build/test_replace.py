"""A site is replaced whole or not at all, whatever happens on the way."""

from __future__ import annotations

import errno
import os
import random
import shutil
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import commands
import pytest

from generator.build import replace
from generator.build.names import name_trouble, names_trouble
from generator.build.own import HEAD, MARKER, NotWritten, clear_away
from generator.build.replace import Staging
from generator.files import Folder

FILES = ["index.html", "notes/a/index.html", "notes/b/index.html", "static/look.css"]


def build(target: Path, version: str, **options: float) -> None:
    with Staging(target, **options) as staging:
        for name in FILES:
            staging.write(name, version.encode())


def content(target: Path) -> dict[str, str]:
    return {
        path.relative_to(target).as_posix(): path.read_text()
        for path in target.rglob("*")
        if path.is_file() and path.name != MARKER
    }


def whole(version: str) -> dict[str, str]:
    return dict.fromkeys(FILES, version)


@pytest.fixture(params=["exchange", "rename"])
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both ways of changing places: in one step, and in two where the system cannot."""
    if request.param == "rename":
        monkeypatch.setattr(replace, "_exchange", lambda one, other: False)
    return request.param


@pytest.mark.usefixtures("way")
def test_new_site_takes_the_place_of_the_old(tmp_path: Path) -> None:
    site = tmp_path / "a b" / "größe"
    build(site, "one")
    assert content(site) == whole("one")
    with Staging(site) as staging:
        staging.write("index.html", b"two")
        assert content(site) == whole("one")
    assert content(site) == {"index.html": "two"}
    assert os.listdir(site.parent) == [site.name]  # nothing left beside it


@pytest.mark.usefixtures("way")
@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt])
def test_a_failing_build_changes_nothing(tmp_path: Path, error: type[BaseException]) -> None:
    site = tmp_path / "site"
    build(site, "one")
    with pytest.raises(error), Staging(site) as staging:
        staging.write("index.html", b"two")
        raise error
    assert content(site) == whole("one")
    assert os.listdir(tmp_path) == ["site"]


def test_files_are_kept_from_the_old_site(tmp_path: Path) -> None:
    site = tmp_path / "site"
    build(site, "one")
    with Staging(site) as staging:
        assert staging.keep("notes/a/index.html")
        assert staging.keep("index.html")
        assert not staging.keep("notes/gone/index.html")
        assert not staging.keep("../outside")
        staging.write("index.html", b"two")  # must not write through into the old file
        assert content(site) == whole("one")
    assert content(site) == {"index.html": "two", "notes/a/index.html": "one"}


def test_a_large_old_site_is_the_place_of_the_next(tmp_path: Path) -> None:
    site = tmp_path / "site"
    build(site, "one", spare_from=3)
    assert os.listdir(tmp_path) == ["site"]
    for version in ("two", "three", "four"):
        build(site, version, spare_from=3)
        assert content(site) == whole(version)
        assert len(os.listdir(tmp_path)) == 2
    with Staging(site, spare_from=3) as staging:
        staging.write("index.html", b"five")
        staging.write("new/index.html", b"five")
        assert staging.keep("notes/a/index.html")
        assert content(site) == whole("four")
    now = {"index.html": "five", "new/index.html": "five", "notes/a/index.html": "four"}
    assert content(site) == now
    assert not (site / "notes" / "b").exists()
    for _ in range(3):  # with nothing changed, both places come to hold the same files
        with Staging(site, spare_from=2) as staging:
            assert all(staging.keep(name) for name in now)
        assert content(site) == now
    (spare,) = tmp_path.glob(".benchlore-*-spare-*")
    assert (spare / "index.html").samefile(site / "index.html")
    (spare / "mine.txt").write_text("mine")
    build(site, "six", spare_from=2)
    assert (spare / "mine.txt").read_text() == "mine"
    assert content(site) == whole("six")


def test_same_files_same_list(tmp_path: Path) -> None:
    for name in ("one", "two"):
        with Staging(tmp_path / name) as staging:
            for path in FILES if name == "one" else reversed(FILES):
                staging.write(path, b"x")
    assert (tmp_path / "one" / MARKER).read_bytes() == (tmp_path / "two" / MARKER).read_bytes()


# Nothing is deleted that was not written here


def test_an_empty_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "site").mkdir()
    build(tmp_path / "site", "one")
    assert content(tmp_path / "site") == whole("one")


@pytest.mark.parametrize("stranger", ["notes.txt", "notes/a/more.txt", "own/folder/", "link@"])
@pytest.mark.parametrize("ours", [True, False])
def test_a_folder_with_other_things_is_refused(tmp_path: Path, stranger: str, ours: bool) -> None:
    site = tmp_path / "site"
    if ours:
        build(site, "one")
    path = site / stranger.rstrip("/@")
    path.parent.mkdir(parents=True, exist_ok=True)
    if stranger.endswith("/"):
        path.mkdir()
    elif stranger.endswith("@"):
        path.symlink_to("/etc/hostname")
    else:
        path.write_text("mine")
    with pytest.raises(NotWritten, match="benchlore (did not write|wrote)"):
        build(site, "two")
    assert os.path.lexists(path)
    assert not ours or content(site)["index.html"] == "one"
    assert os.listdir(tmp_path) == ["site"]


def test_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "site").write_text("mine")
    with pytest.raises(NotWritten, match="is a file, not a folder"):
        build(tmp_path / "site", "one")
    assert (tmp_path / "site").read_text() == "mine"


def test_what_is_put_there_during_a_build_survives(tmp_path: Path) -> None:
    site = tmp_path / "site"
    build(site, "one")
    with pytest.raises(NotWritten, match="did not write"), Staging(site) as staging:
        staging.write("index.html", b"two")
        (site / "mine.txt").write_text("mine")
    assert content(site) == whole("one") | {"mine.txt": "mine"}


def test_strangers_beside_the_site_are_left_alone(tmp_path: Path) -> None:
    site = tmp_path / "site"
    build(site, "one")
    with Staging(site) as staging:
        name = staging.folder.name
        staging.write("index.html", b"two")
    lookalike = tmp_path / name
    lookalike.mkdir()
    (lookalike / "mine.txt").write_text("mine")
    build(site, "three")
    assert (lookalike / "mine.txt").read_text() == "mine"


# Killed, full, locked


BUILDER = textwrap.dedent("""
    import sys
    from pathlib import Path
    from generator.build import replace
    if sys.argv[2] == "rename":
        replace._exchange = lambda one, other: False
    print("ready", flush=True)
    version = 0
    while True:
        version += 1
        with replace.Staging(Path(sys.argv[1]), spare_from=0 if sys.argv[2] == "spare" else 1000) as staging:
            for number in range(30):
                staging.write(f"notes/{number}/index.html", f"{sys.argv[3]}.{version}".encode())
""")


@pytest.mark.parametrize(("way", "times"), [("exchange", 50), ("rename", 20), ("spare", 30)])
@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills what was forked")
def test_killed_at_any_moment_the_old_site_serves(
    tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, way: str, times: int
) -> None:
    site = tmp_path / "site"
    moments = random.Random(7)
    interrupted = 0
    with Staging(site) as staging:
        for number in range(30):
            staging.write(f"notes/{number}/index.html", b"first")
    told = tmp_path_factory.mktemp("told") / "told"
    os.mkfifo(told)
    for kill in range(times):
        builder = commands.start(site, way, kill, code=BUILDER, out=str(told))
        with told.open() as said:
            assert said.readline() == "ready\n"
            time.sleep(moments.random() * 0.03)
            os.kill(builder, signal.SIGKILL)
        assert commands.ended() == -signal.SIGKILL
        if way != "rename" or site.exists():  # with two renames it may be aside until the next build
            found = content(site)
            assert len(found) == 30 and len(set(found.values())) == 1
        interrupted += len([name for name in os.listdir(tmp_path) if "-spare-" not in name]) > 1
    assert interrupted > times // 4  # else the moments were badly chosen
    with pytest.raises(ValueError), Staging(site):
        assert len(content(site)) == 30
        raise ValueError
    assert len(content(site)) == 30
    assert [name for name in os.listdir(tmp_path) if "-spare-" not in name] == ["site"]


def test_full_disk_leaves_the_old_site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    site = tmp_path / "site"
    build(site, "one")
    full = OSError(errno.ENOSPC, "no space")
    monkeypatch.setattr(os, "write", lambda *_: (_ for _ in ()).throw(full))
    with pytest.raises(NotWritten, match="the disk is full"):
        build(site, "two")
    assert content(site) == whole("one")
    assert os.listdir(tmp_path) == ["site"]


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="needs root, to mount a small disk")
def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("may not mount here")
    try:
        build(disk / "site", "one")
        with pytest.raises(NotWritten, match="the disk is full"), Staging(disk / "site") as staging:
            for number in range(100):
                staging.write(f"{number}.html", bytes(10_000))
        assert content(disk / "site") == whole("one")
        assert os.listdir(disk) == ["site"]
        build(disk / "site", "two")
        assert content(disk / "site") == whole("two")
    finally:
        subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0, reason="needs root, to become another user")
def test_a_place_that_may_not_be_written(tmp_path: Path) -> None:
    site = tmp_path / "site"
    build(site, "one")
    for path in [*reversed(tmp_path.parents), tmp_path]:
        if str(path).startswith("/tmp/"):
            path.chmod(0o755)
    os.seteuid(65534)
    try:
        with pytest.raises(NotWritten, match="cannot be written: permission denied"):
            build(site, "two")
    finally:
        os.seteuid(0)
    assert content(site) == whole("one")


def test_errors_of_the_notes_are_not_taken_for_the_sites(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError), Staging(tmp_path / "site"):
        (tmp_path / "gone.md").read_text()


def test_the_second_of_two_builds_waits_a_little_and_says_so(tmp_path: Path) -> None:
    site = tmp_path / "site"
    holder = textwrap.dedent("""
        import sys
        from pathlib import Path
        from generator.build.replace import Staging
        with Staging(Path(sys.argv[1])) as staging:
            staging.write("index.html", b"first")
            print("ready", flush=True)
            sys.stdin.readline()
    """)
    command = [sys.executable, "-c", holder, str(site)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        other.stdout.readline()
        with pytest.raises(NotWritten, match=f"another build is writing .*process {other.pid}"):
            build(site, "second", wait=0.2)
        other.stdin.write("\n")
        other.stdin.flush()
        build(site, "second", wait=10)
    assert content(site) == whole("second")
    assert os.listdir(tmp_path) == ["site"]


def test_two_builds_in_one_process(tmp_path: Path) -> None:
    site = tmp_path / "site"
    with Staging(site) as staging:
        staging.write("index.html", b"one")
        with pytest.raises(NotWritten, match="this process"):
            build(site, "two", wait=0)
        with Staging(tmp_path / "other"):  # another site is free
            pass
        command = [sys.executable, "-c", BUILDER.replace("Path(sys.argv[1])", "Path(sys.argv[1]), wait=0")]
        late = subprocess.run(
            [*command, str(site), "exchange", "0"], capture_output=True, text=True, check=False
        )
        assert "another build is writing" in late.stderr  # the lock is still held
    assert content(site) == {"index.html": "one"}


# Names


@pytest.mark.parametrize(
    "name",
    ["con", "NUL", "Com1.html", "lpt9", "aux.tar.gz", "con .txt", "a:b", "a?b", 'a"b', "a*b", "a|b", "a<b", "a\\b",
     "a\nb", "a.", "a ", "x" * 256, "ü" * 128, "a\udcffb", "", ".", ".."],
)  # fmt: skip
def test_names_that_not_every_system_takes(name: str) -> None:
    assert name_trouble(name)


@pytest.mark.parametrize(
    "name", ["index.html", "console", "com", "com10", "größe.html", ".benchlore", "x" * 255]
)
def test_names_that_every_system_takes(name: str) -> None:
    assert name_trouble(name) == ""


def test_names_that_differ_by_case_only() -> None:
    assert names_trouble(["a/b", "a/c", "b/b"]) == []
    assert names_trouble(["notes/Fan/index.html", "notes/fan/index.html"])


def test_a_site_with_such_names_is_not_written(tmp_path: Path) -> None:
    build(tmp_path / "site", "one")
    said = "'notes/aux': is a name that Windows keeps for itself"
    with pytest.raises(NotWritten, match=said), Staging(tmp_path / "site") as staging:
        staging.write("notes/aux/index.html", b"two")
    assert content(tmp_path / "site") == whole("one")
    shutil.rmtree(tmp_path / "site")


@pytest.mark.parametrize("relative", ["../x", "/x", "//x", "a/../../x", "..", "a/..", "a/", ""])
def test_nothing_is_written_out_of_the_site(tmp_path: Path, relative: str) -> None:
    (tmp_path / "x").write_text("mine")
    with pytest.raises(ValueError, match="leads out"), Staging(tmp_path / "site") as staging:
        staging.write("index.html", b"in the root")
        staging.write("a/index.html", b"in a folder")
        staging.write(relative, b"out")
    assert (tmp_path / "x").read_text() == "mine"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["x"]


@pytest.mark.parametrize("after", range(len(FILES) + 1))
def test_what_is_half_cleared_away_is_cleared_away_the_next_time(
    after: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A build that is killed while it clears another's beginnings away leaves some of them, whichever order the system lists
    them in: the next one knows whose they are."""
    half = tmp_path / "half"
    for name in [*FILES, MARKER]:
        (half / name).parent.mkdir(parents=True, exist_ok=True)
        (half / name).write_text(HEAD if name == MARKER else "x")
    entries, remove, left = Folder._entries, Folder.remove, [after]

    def killed_then(folder: Folder, relative: str) -> None:
        left[0] -= 1
        if left[0] == -1:
            raise KeyboardInterrupt
        remove(folder, relative)

    monkeypatch.setattr(
        Folder, "_entries", lambda *given: sorted(entries(*given))
    )  # ".benchlore" comes first
    monkeypatch.setattr(Folder, "remove", killed_then)
    with pytest.raises(KeyboardInterrupt):
        clear_away(half)
    assert clear_away(half) and not half.exists()
