"""A folder by its handle: what is written, taken over, renamed and deleted in it, as POSIX has it (open, link, rename, unlink)."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from generator.files import Folder


def files(place: Path) -> dict[str, bytes]:
    return {
        path.relative_to(place).as_posix(): path.read_bytes() for path in place.rglob("*") if path.is_file()
    }


def test_files_in_folders_that_are_not_there_yet(tmp_path: Path) -> None:
    (one := tmp_path / "one").mkdir()
    (two := tmp_path / "two").mkdir()
    with Folder(one) as here, Folder(two) as there:
        here.write("notes/kettle/index.html", b"first")
        here.write("notes/kettle/index.html", b"second")  # anew, also where it was linked
        here.write("about.html", b"x" * 100_000)
        there.write("new/place.html", b"other")
        there.take("notes/kettle/index.html", here)
        assert files(one) == {"notes/kettle/index.html": b"second", "about.html": b"x" * 100_000}
        assert files(two) == {"new/place.html": b"other", "notes/kettle/index.html": b"second"}
        assert (
            os.stat(two / "notes/kettle/index.html").st_ino == os.stat(one / "notes/kettle/index.html").st_ino
        )
        here.write("notes/kettle/index.html", b"third")  # what was taken stays as it was
        assert files(two)["notes/kettle/index.html"] == b"second"
        there.rename("new/place.html", "notes/kettle/index.html")
        assert files(two) == {"notes/kettle/index.html": b"other"}
        assert {(found.path, found.kind) for found in here.walk()} >= {("about.html", "file")}
        there.remove("notes/kettle/index.html")
        assert files(two) == {}
        here.empty()
        assert list(one.iterdir()) == []


def test_what_is_not_there_is_told(tmp_path: Path) -> None:
    with Folder(tmp_path) as here:
        for attempt in (
            lambda: here.remove("a/b"), lambda: here.rename("a", "b"), lambda: here.take("a", here), lambda: here.remove_folder("a"),
        ):  # fmt: skip
            with pytest.raises(OSError):
                attempt()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="links as POSIX has them")
def test_no_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "own" / "way").symlink_to(tmp_path / "elsewhere")
    with Folder(tmp_path / "own") as here:
        for name in ("way/file", "../elsewhere/file", "way/../file"):
            with pytest.raises(OSError):
                here.write(name, b"x")
    assert list((tmp_path / "elsewhere").iterdir()) == []
