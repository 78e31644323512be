"""However the system starts processes, and whatever surrounds them, the same bytes.

Fork is Linux's way until Python 3.13, spawn that of macOS and Windows.
"""

from __future__ import annotations

import multiprocessing
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from generator.processes import spread

ROOT = Path(__file__).resolve().parents[2]
# More than workshop.FEW (12): up to that many are worked out in one process, and nothing here would start another.
NOTES = 13
METHODS = multiprocessing.get_all_start_methods()  # that of the system first
SOME = [
    pytest.param(method, marks=[pytest.mark.slow] if number else []) for number, method in enumerate(METHODS)
]
RUN = (
    "import multiprocessing, sys\n"
    "if __name__ == '__main__':\n"
    "    multiprocessing.set_start_method(sys.argv.pop(1))\n"
    "    from generator.cli import main\n"
    "    sys.exit(main(sys.argv[1:]))\n"
)


def run(method: str, place: Path, *arguments: str, **surroundings: str) -> subprocess.CompletedProcess[str]:
    """A command whose processes are started in this way, with a cache of its own."""
    script = place / "run.py"
    script.write_text(RUN, encoding="utf-8")
    env = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "BENCHLORE_CACHE": str(place / f"cache-{method}"),
        "BENCHLORE_START_METHOD": method,
        **surroundings,
    }
    command = [sys.executable, str(script), method, *arguments]
    return subprocess.run(
        command, cwd=place, env=env, capture_output=True, text=True, timeout=300, check=False
    )


def files(site: Path) -> dict[str, bytes]:
    return {p.relative_to(site).as_posix(): p.read_bytes() for p in sorted(site.rglob("*")) if p.is_file()}


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library of invented notes with symptoms in many words, so that the thesaurus has work to do. They have the same
    blocks, each with its own values: one note in four keeps them, so that either of two processes has some to work out."""
    sys.path.insert(0, str(ROOT / "tests" / "benchmarks"))
    from generated import library as generated

    place = tmp_path_factory.mktemp("methods")
    content: Path = generated(place / "content", NOTES)
    for number, path in enumerate(sorted((content / "notes").iterdir())):
        if number % 4:
            text = path.read_text("utf-8")
            before, _, behind = text.partition("blocks:\n")
            faults = behind[behind.index("faults:\n") :]
            path.write_text(before + faults[: faults.index("The rail stands")], encoding="utf-8")
    return content


@pytest.fixture(scope="module")
def alone(library: Path) -> dict[str, bytes]:
    """The site as one process makes it of the same notes, which lie in the folder the other way round."""
    place = library.parent / "alone"
    shutil.copytree(
        library, place / "content", ignore=lambda folder, names: names if folder.endswith("notes") else []
    )
    for path in sorted((library / "notes").iterdir(), reverse=True):
        shutil.copy(path, place / "content" / "notes")
    surroundings = {"TZ": "UTC", "PYTHONHASHSEED": "1"}
    done = run(METHODS[0], place, "site", "content", "--to", "site", "--processes", "1", **surroundings)
    assert done.returncode == 0, done.stderr
    return files(place / "site")


@pytest.mark.parametrize("method", SOME)
def test_the_same_site_under_every_start_method(library: Path, alone: dict[str, bytes], method: str) -> None:
    """Several processes, another time zone, locale, hash seed and order of files: the same bytes."""
    surroundings = {"TZ": "Asia/Kathmandu", "LC_ALL": "C", "PYTHONHASHSEED": "2"}
    done = run(method, library.parent, "site", "content", "--to", method, "--processes", "2", **surroundings)
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    made = files(library.parent / method)
    assert sorted(made) == sorted(alone)
    assert [name for name in made if made[name] != alone[name]] == []


@pytest.mark.parametrize("method", SOME)
def test_inspect_and_lookup_under_every_start_method(library: Path, method: str) -> None:
    for arguments in (("inspect", "content"), ("lookup", "dead", "--library", "content")):
        done = run(method, library.parent, *arguments)
        assert done.returncode == 0 and "Traceback" not in done.stderr, done.stderr


@pytest.mark.parametrize("fresh", [False, True])
def test_what_is_made_does_not_pile_up(fresh: bool) -> None:
    """Of 500 things no more are under way than 4 chunks of 3 for each of 2 processes, and they come in their order."""
    taken: list[int] = []

    def things() -> Iterator[int]:
        for n in range(500):
            taken.append(n)
            yield -n

    made = spread(abs, things(), processes=2, chunk=3, fresh=fresh)
    assert next(made) == 0 and len(taken) <= 4 * 3 * 2
    assert list(made) == list(range(1, 500)) and len(taken) == 500
