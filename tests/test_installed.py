"""Installed as a wheel, away from the checkout, it works just the same: the theme travels in the package."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with nothing but the package, unpacked from its wheel."""
    place = tmp_path_factory.mktemp("wheel")
    command = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "--quiet",
        "--no-deps",
        "--disable-pip-version-check",
        "--wheel-dir",
        str(place),
        str(ROOT),
    ]
    subprocess.run(command, check=True, capture_output=True)
    wheel = next(place.glob("benchlore-*.whl"))
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(place / "unpacked")
    return place / "unpacked"


def run(installed: Path, cwd: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    # -P keeps the current folder, and so any checkout, out of the search path
    code = "import sys, generator; assert generator.__file__.startswith(sys.argv.pop(1)); from generator.cli import main; sys.exit(main(sys.argv[1:]))"
    env = {**os.environ, "PYTHONPATH": str(installed)}
    return subprocess.run(
        [sys.executable, "-P", "-c", code, str(installed), *arguments],
        cwd=cwd,
        env=env,
        capture_output=True,
        text=True,
    )


def test_a_library_of_ones_own(installed: Path, tmp_path: Path) -> None:
    """writeup in an empty folder, then site: a page with a drawing, styles and the search, from the wheel alone."""
    assert (
        run(installed, tmp_path, "writeup", "egg incubator", "--blocks", "transformer-supply").returncode == 0
    )
    done = run(installed, tmp_path, "site")
    assert done.returncode == 0, done.stderr
    page = next((tmp_path / "site" / "notes").glob("*/index.html")).read_text("utf-8")
    assert '<svg xmlns="http://www.w3.org/2000/svg" class="sheet' in page
    assert (tmp_path / "site" / "static" / "bench.css").is_file()
    assert (tmp_path / "site" / "find" / "core.js").is_file()


def test_the_wheel_carries_all_data(installed: Path) -> None:
    """Templates, static files, the thesaurus and the scripts of the live server are in the wheel."""
    for folder in ("themes/bench/templates", "themes/bench/static"):
        for path in (ROOT / folder).rglob("*"):
            if path.is_file():
                assert (installed / "generator" / path.relative_to(ROOT)).is_file(), path
    for path in (ROOT / "generator").rglob("*"):
        if path.is_file() and path.suffix in (".yaml", ".js", ".po", ".mo"):
            assert (installed / path.relative_to(ROOT)).is_file(), path
