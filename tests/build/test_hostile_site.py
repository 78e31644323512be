"""A site that came from somebody else: whatever its list says and wherever its links lead, nothing outside is touched."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from generator.build.own import MARKER, NotWritten
from generator.build.replace import Staging

HEAD = "Written by benchlore, which replaces this folder whole. Its files:"
POSIX = pytest.mark.skipif(os.name != "posix", reason="links and pipes as POSIX has them")


@pytest.fixture
def outside(tmp_path: Path) -> Path:
    """A folder of the user's with a file in it that nobody may touch."""
    folder = tmp_path / "home"
    (folder / "notes").mkdir(parents=True)
    for name in ("diary.txt", "notes/victim", "notes/index.html", "index.html"):
        (folder / name).write_text("mine", encoding="utf-8")
    return folder


def untouched(folder: Path) -> bool:
    """Whether all four files of the user's are as they were, and no other has come."""
    found = {p.relative_to(folder).as_posix(): p.read_text() for p in folder.rglob("*") if p.is_file()}
    return found == dict.fromkeys(("diary.txt", "notes/victim", "notes/index.html", "index.html"), "mine")


def site_with(folder: Path, *listed: str) -> Path:
    """A folder that says that benchlore wrote it, with these in its list."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "index.html").write_text("theirs", encoding="utf-8")
    text = "\n".join([HEAD, *listed, ".", ""])
    (folder / MARKER).write_bytes(text.encode("utf-8", "surrogateescape"))
    return folder


def build(target: Path) -> None:
    with Staging(target, wait=0) as staging:
        staging.keep("index.html")
        staging.write("index.html", b"new")
        staging.write("notes/index.html", b"new")
        staging.write("notes/victim", b"new")


def try_build(target: Path) -> None:
    try:
        build(target)
    except NotWritten:
        pass


def beside(target: Path, sort: str) -> Path:
    return target.parent / f".benchlore-{hashlib.sha256(target.name.encode()).hexdigest()[:10]}-{sort}"


LEADING_OUT = [
    "../home/diary.txt", "../../home/diary.txt", "./../home/diary.txt", "a/../../home/diary.txt", "{outside}/diary.txt",
    "/{outside}/diary.txt", ".", "..", "./", "../", "a/..", "", "/", "//", "notes/../../home/diary.txt", "..\\home\\diary.txt",
    "c:diary.txt", "{outside}", "../home/", "../home", "notes//x", "a\0b", "\udcff/../../home/diary.txt",
]  # fmt: skip


@pytest.mark.parametrize("name", LEADING_OUT)
@pytest.mark.parametrize("place", ["site", "old", "new", "spare"])
def test_names_in_a_list_that_lead_out(tmp_path: Path, outside: Path, name: str, place: str) -> None:
    """In the site's own list, and in that of any folder beside it that has such a name as ours have."""
    target = tmp_path / "work" / "site"
    folder = target if place == "site" else beside(target, "spare" if place == "spare" else f"{place}-x")
    site_with(folder, "index.html", name.replace("{outside}", str(outside)))
    try_build(target)
    try_build(target)
    assert untouched(outside)
    assert (folder / MARKER).is_file(), "a folder with such a list is no site of ours, and stays"


@POSIX
@pytest.mark.parametrize("link", ["notes", "index.html", "notes/victim", MARKER, f"{MARKER}.part", "deep"])
@pytest.mark.parametrize("place", ["site", "old-x", "new-x", "spare", "spare-x", "lock"])
def test_links_at_every_step(tmp_path: Path, outside: Path, link: str, place: str) -> None:
    """A link to a folder or to a file, in the site, in what lies beside it, or in place of it."""
    target = tmp_path / "work" / "site"
    folder = target if place == "site" else beside(target, place)
    if place == "lock":
        target.parent.mkdir()
        target.parent.joinpath(f"{beside(target, 'x').name.removesuffix('-x')}.lock").symlink_to(
            outside / "diary.txt"
        )
    else:
        site_with(folder, "index.html", "notes/victim", "notes/index.html", "deep/notes/victim")
        path = folder / link
        path.parent.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)
        leads = {"notes": outside / "notes", "deep": outside}.get(link, outside / "diary.txt")
        path.symlink_to(leads)
    try_build(target)
    try_build(target)
    assert untouched(outside)


@POSIX
@pytest.mark.parametrize("leads", ["home", "nowhere", "work/other"])
def test_a_target_that_is_a_link_is_refused(tmp_path: Path, outside: Path, leads: str) -> None:
    """Wherever it leads: to a folder with files, to nowhere, to an empty folder."""
    (tmp_path / "work" / "other").mkdir(parents=True)
    target = tmp_path / "work" / "site"
    target.symlink_to(tmp_path / leads)
    with pytest.raises(NotWritten, match="is a symbolic link"):
        build(target)
    assert untouched(outside)
    assert not (tmp_path / "nowhere").exists() and not any((tmp_path / "work" / "other").iterdir())


@POSIX
@pytest.mark.parametrize("step", ["notes", "index.html"])
@pytest.mark.parametrize("when", ["old", "new"])
def test_a_link_that_comes_during_a_build(tmp_path: Path, outside: Path, step: str, when: str) -> None:
    """Somebody swaps a folder or a file for a link while we write: nothing is written, read or deleted through it."""
    target = tmp_path / "site"
    build(target)
    with pytest.raises((NotWritten, OSError)), Staging(target, wait=0) as staging:
        staging.write("notes/index.html", b"new")
        folder = target if when == "old" else staging.folder
        (folder / step).rename(tmp_path / "aside") if (folder / step).exists() else None
        (folder / step).symlink_to(outside / step)
        kept = staging.keep("notes/victim"), staging.keep("index.html")
        assert when == "new" or not (
            kept[0] and step == "notes" and (staging.folder / "notes/victim").read_text() == "mine"
        )
        staging.write("notes/more.html", b"new")
        staging.write("index.html", b"new")
        raise OSError("enough")
    assert untouched(outside)


def sparse(path: Path) -> None:
    path.touch()
    os.truncate(path, 3 << 30)


@POSIX
@pytest.mark.parametrize("make", [os.mkfifo, sparse])
def test_a_list_that_is_no_file_to_read(tmp_path: Path, make: Callable[[Path], None]) -> None:
    """A pipe for a list hangs nobody, and a list of 3 GiB is not read."""
    target = tmp_path / "site"
    target.mkdir()
    make(target / MARKER)
    with pytest.raises(NotWritten, match="no site that benchlore wrote"):
        build(target)


@POSIX
def test_what_a_clone_brought_along_is_left_and_told(tmp_path: Path) -> None:
    """A folder beside the site with a name like ours, which this user's cache does not know."""
    target = tmp_path / "site"
    stray = site_with(beside(target, "old-123456abcdef"), "index.html")
    half = beside(target, "new-123456abcdef")
    half.mkdir()
    (half / MARKER).write_text(HEAD, encoding="utf-8")
    (half / "thesis.txt").write_text("years of work", encoding="utf-8")
    with Staging(target) as staging:
        staging.write("index.html", b"new")
    assert sorted(staging.left) == sorted([stray, half])
    assert (half / "thesis.txt").read_text() == "years of work" and (stray / "index.html").is_file()


@POSIX
def test_a_lock_is_no_way_into_the_folder(tmp_path: Path) -> None:
    """Nothing but the site itself is written where the site lies."""
    target = tmp_path / "site"
    with Staging(target) as staging:
        staging.write("index.html", b"new")
        assert {p.name for p in tmp_path.iterdir()} == {staging.folder.name}
    assert [p.name for p in tmp_path.iterdir()] == ["site"]
