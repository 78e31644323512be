"""A build killed at any moment, or without room on the disk: the old site still serves, the next build repairs all."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import time
from pathlib import Path

import commands
import pytest

from generator.build.build import build_site

MOMENTS = 50 if os.environ.get("CI") == "true" else 12


def library(folder: Path, word: str) -> Path:
    (folder / "notes").mkdir(parents=True, exist_ok=True)
    (folder / "library.yaml").write_text("name: Killed\nlanguage: en\n", encoding="utf-8")
    for number in range(3):
        (folder / "notes" / f"n{number}.md").write_text(
            f"---\ntitle: Kettle {number} {word}\ndate: 2026-01-0{number + 1}\ndevice: {{kind: kettle}}\nsymptoms: [dead]\noutcome: fixed\n"
            f"blocks:\n  lamp: {{kind: led-indicator, supply: 5 V, resistor: R1 470}}\n---\n{word} at {{lamp.current}}.\n",
            encoding="utf-8",
        )
    return folder


def files(site: Path) -> dict[str, bytes]:
    return {
        p.relative_to(site).as_posix(): p.read_bytes()
        for p in sorted(site.rglob("*"))
        if p.is_file() and p.name != ".benchlore"
    }


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_killed_at_any_moment(tmp_path: Path) -> None:
    """SIGKILL at many random moments of real builds: what stands there is one whole site, the old or the new one."""
    content, site = tmp_path / "content", tmp_path / "site"
    chance = random.Random(50)
    whole: list[dict[str, bytes]] = []
    for word in ("old", "new"):  # what both sites are, from clean builds
        assert build_site(library(content, word), tmp_path / "sample").written
        whole.append(files(tmp_path / "sample"))
    for word in ("old", "new", "old"):  # the last finds all in the cache, as those that are killed do
        start = time.perf_counter()
        assert commands.run("site", library(content, word), "--to", site, "--processes", "1").returncode == 0
        length = time.perf_counter() - start
    killed = 0
    for moment in range(MOMENTS):
        library(content, "old" if moment % 2 else "new")
        process = commands.start("site", content, "--to", site, "--processes", "1")
        time.sleep(chance.uniform(0.1, 0.9) * length)
        os.kill(process, signal.SIGKILL)
        killed += commands.ended() == -signal.SIGKILL
        assert files(site) in whole, f"moment {moment}"
    assert killed > MOMENTS // 4
    assert build_site(library(content, "new"), site).written
    assert files(site) == whole[1]
    left = [
        p.name
        for p in tmp_path.iterdir()
        if p.name not in ("content", "site", "sample") and not p.name.endswith(".lock")
    ]
    assert left == []


KILLED = """
import os, signal, sys
from pathlib import Path
from generator.build import replace
from generator.build.build import build_site
replace.Staging._finish = lambda staging: os.kill(os.getpid(), signal.SIGKILL)
build_site(Path("content"), Path("site"))
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_killed_and_the_change_taken_back(tmp_path: Path) -> None:
    """A build that has nothing to write clears away what one that was killed left, too."""
    content, site = tmp_path / "content", tmp_path / "site"
    assert build_site(library(content, "old"), site).written
    old = files(site)
    library(content, "new")
    commands.start(code=KILLED, cwd=tmp_path)
    assert commands.ended() == -signal.SIGKILL
    assert len(list(tmp_path.glob(".benchlore-*"))) == 1
    assert build_site(library(content, "old"), site).written
    assert sorted(p.name for p in tmp_path.iterdir()) == ["content", "site"]
    assert files(site) == old


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0 or not shutil.which("mount"),
    reason="a small disk needs root",
)
def test_full_disk(tmp_path: Path) -> None:
    """On a disk that is too small for a second site the old one stays, with a message; the cache may be elsewhere."""
    disk = tmp_path / "disk"
    disk.mkdir()
    if subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(disk)], capture_output=True
    ).returncode:
        pytest.skip("tmpfs cannot be mounted here")
    try:
        content = library(tmp_path / "content", "old")
        first = build_site(content, disk / "site")
        if not first.written:
            pytest.fail(f"the first site does not fit: {first.problems}")
        before = files(disk / "site")
        (disk / "ballast").write_bytes(
            b"x" * max(0, os.statvfs(disk).f_bavail * os.statvfs(disk).f_frsize - 50_000)
        )
        built = build_site(library(content, "new"), disk / "site")
        assert not built.written and any("full" in str(problem) for problem in built.problems)
        assert files(disk / "site") == before
        (disk / "ballast").unlink()
        assert build_site(content, disk / "site").written
    finally:
        subprocess.run(["umount", str(disk)], check=False)
