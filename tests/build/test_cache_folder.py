"""Where what was worked out is kept: the first of the places that this user has, and never one that is a link or another's."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

import pytest

from generator.cache import own_folder

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="folders as POSIX has them")


@pytest.fixture
def places(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a home, a cache and a place for what is temporary; nothing in the surroundings names one."""
    for name in ("home", "cache", "temporary"):
        (tmp_path / name).mkdir(mode=0o700)
    for name in ("BENCHLORE_CACHE", "XDG_CACHE_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(("named", "where"), [
    ({"BENCHLORE_CACHE": "cache", "XDG_CACHE_HOME": "other", "HOME": "home"}, "cache"), ({"XDG_CACHE_HOME": "cache", "HOME": "home"}, "cache"),
    ({"LOCALAPPDATA": "cache", "HOME": "home"}, "cache"), ({"HOME": "home"}, "home"), ({"HOME": "nowhere"}, "temporary"), ({}, "temporary"),
])  # fmt: skip
def test_the_first_place_that_is_there(
    places: Path, monkeypatch: pytest.MonkeyPatch, named: dict[str, str], where: str
) -> None:
    """XDG Base Directory Specification: $XDG_CACHE_HOME, else ~/.cache. A home that is not there is not made."""
    for name, place in named.items():
        monkeypatch.setenv(name, str(places / place))
    found = own_folder("x")
    assert found.is_dir() and found.is_relative_to(places / where) and os.stat(found).st_mode & 0o777 == 0o700
    assert not (places / "nowhere").exists()
    assert own_folder("x") == found != own_folder("y")


def test_a_place_that_is_named_from_elsewhere_is_passed_over(
    places: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The specification: paths have to be absolute, others are ignored."""
    for name in ("BENCHLORE_CACHE", "XDG_CACHE_HOME", "HOME"):
        monkeypatch.setenv(name, "home")
    assert own_folder("x").is_relative_to(places / "temporary")


def test_a_link_is_passed_over(places: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever may write there could have laid it."""
    monkeypatch.setenv("BENCHLORE_CACHE", str(places / "cache"))
    monkeypatch.setenv("HOME", str(places / "home"))
    found = own_folder("x")
    found.rmdir()
    (places / "elsewhere").mkdir()
    found.symlink_to(places / "elsewhere")
    assert own_folder("x").is_relative_to(places / "home")
