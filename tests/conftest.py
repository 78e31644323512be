"""Shared by all tests: the demonstration library built once, and a browser where there is one."""

from __future__ import annotations

import os
import shutil
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import commands
import pytest
import windows
from hypothesis import settings

# How long an example takes says nothing but what else the machine does. In CI the same examples every time, so that a
# change is judged by what it changes; elsewhere fewer, but new ones with every run.
CI = os.environ.get("CI") == "true"
settings.register_profile("benchlore", deadline=None, derandomize=CI, max_examples=100 if CI else 30)
settings.load_profile("benchlore")

# The commands that tests start by the hundred find modules compiled, as an installation has them.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

ROOT = Path(__file__).resolve().parent.parent
NO_BROWSER = "no Chromium here: install it to run the tests in a browser"


def browser_path() -> str:
    """Where Chromium is, or ""."""
    named = os.environ.get("BENCHLORE_BROWSER", "")
    return named or next(
        (p for n in ("chromium", "chromium-browser", "google-chrome") if (p := shutil.which(n))), ""
    )


# Files that take long begin first, so that at the end no core waits for another; the longest foremost.
LONG = ("pages/test_every_page.py", "build/test_rebuild.py", "test_language.py", "pages/test_look_sheets.py", "test_style.py",
        "test_no_traceback.py", "test_cli.py", "finding/test_browser.py", "build/test_start_methods.py", "pages/test_look.py",
        "circuit/test_every_kind.py", "diagnosis/test_helper_data.py", "pages/test_untrusted.py", "live/test_live.py",
        "build/test_site.py", "build/test_photos.py", "pages/test_untrusted_site.py", "test_packages.py")  # fmt: skip


@pytest.hookimpl(optionalhook=True)  # of pytest-xdist
def pytest_xdist_auto_num_workers() -> int:
    """One more than there are cores: a test that waits for a browser, a timer or another process leaves its core to others."""
    return (
        len(os.sched_getaffinity(0) if hasattr(os, "sched_getaffinity") else range(os.cpu_count() or 1)) + 1
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """What takes long begins first. What is slow runs in CI, or when it is asked for."""
    place = {ROOT / "tests" / name: number for number, name in enumerate(LONG)}
    items.sort(key=lambda item: place.get(item.path, len(place)))
    if os.environ.get("CI") != "true" and not config.getoption("-m"):
        for item in items:
            if item.get_closest_marker("slow"):
                item.add_marker(pytest.mark.skip(reason="slow: runs in CI, or with -m slow"))


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Caches of the tests lie with the tests, also those of the commands that they start."""
    place = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("BENCHLORE_CACHE", str(place))
        yield place


@pytest.fixture(scope="session", autouse=True)
def no_process_left(own_cache: Path) -> Iterator[None]:
    """What forks the commands ends with the tests."""
    yield
    commands.close()


@pytest.fixture(scope="session", autouse=True)
def kinds_kept() -> Iterator[None]:
    """What the pages of the kinds show is worked out once: it is a third of the work of a small library, and hangs on nothing
    but the kind, the drawing's symbols and the language. Commands work it out for themselves."""
    from generator import language
    from generator.pages import library_pages

    work_out, kept = library_pages.kind_view, {}

    def view(kind: Any, zigzag: bool = False) -> dict[str, Any]:
        of = (kind, zigzag, language.code())
        if of not in kept:
            kept[of] = work_out(kind, zigzag)
        return dict(kept[of])

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(library_pages, "kind_view", view)
        yield


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A headless Chromium. Skipped without one, but never in CI."""
    path = browser_path()
    if not path:
        if os.environ.get("CI") == "true":
            pytest.fail(NO_BROWSER)
        pytest.skip(NO_BROWSER)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=windows.FLAGS)
        yield windows.Browser(started)
        started.close()


@pytest.fixture(scope="session")
def content() -> Path:
    """The demonstration library."""
    return ROOT / "content"


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory, content: Path) -> Path:
    """The site of the demonstration library, built once, by whichever of pytest-xdist's processes comes first."""
    from generator.build.build import build_site

    own = tmp_path_factory.getbasetemp()
    place = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "demonstration"
    try:
        place.mkdir()
    except FileExistsError:
        until = time.monotonic() + 300
        while not (place / "whole").exists():
            assert time.monotonic() < until, "the other process has not built the site"
            time.sleep(0.05)
        return place / "site"
    built = build_site(content, place / "site")
    assert built.written, [str(problem) for problem in built.problems]
    (place / "whole").touch()
    return place / "site"


@pytest.fixture(scope="session")
def small_photos(tmp_path_factory: pytest.TempPathFactory, content: Path) -> Path:
    """The demonstration library with its photos a quarter as wide, which take as much less time to be made ready."""
    from PIL import Image

    copy = tmp_path_factory.mktemp("small") / "content"
    shutil.copytree(content, copy, ignore=shutil.ignore_patterns(".*"))
    for path in copy.rglob("*.jpg"):
        with Image.open(path) as photo:
            photo.resize((photo.width // 4, photo.height // 4)).save(path)
    return copy


FEW_NOTES = ("steam-iron-trips-the-breaker.md", "work-lamp-lithium-swap.md", "pedestal-fan-beeps")


@pytest.fixture(scope="session")
def few(tmp_path_factory: pytest.TempPathFactory, small_photos: Path) -> Path:
    """Of the demonstration three notes, one of them with a board and photos, its pool and its records."""
    few = tmp_path_factory.mktemp("few") / "content"
    shutil.copytree(small_photos, few)
    for path in (few / "notes").iterdir():
        if path.name not in FEW_NOTES:
            shutil.rmtree(path) if path.is_dir() else path.unlink()
    return few
