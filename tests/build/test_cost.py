"""What a note may cost: what it asks for many times is done once, and a site is not written into what it is made from."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from generator.build import photos
from generator.build.build import build_site

HEAD = (
    "---\ntitle: T\ndate: 2026-01-10\ndevice: {kind: bell}\nsymptoms: [stays silent]\noutcome: fixed\n---\n"
)


@pytest.fixture
def library(tmp_path: Path) -> Path:
    content = tmp_path / "content"
    (content / "notes" / "bell").mkdir(parents=True)
    (content / "library.yaml").write_text("name: Corner bench\n")
    (content / "notes" / "bell" / "note.md").write_text(HEAD)
    return content


@pytest.mark.parametrize("sound", [True, False])
def test_a_photo_named_4500_times_is_worked_once(
    library: Path, tmp_path: Path, sound: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Read once and decoded once, be it a photo or refused."""
    folder = library / "notes" / "bell"
    Image.new("RGB", (64, 48), "red").save(folder / "a.png")
    if not sound:
        (folder / "a.png").write_bytes((folder / "a.png").read_bytes()[:60])
    (folder / "note.md").write_text(HEAD + "![x](a.png)\n" * 4500)
    read: list[Path] = []
    decoded: list[int] = []
    real_read, real_decode = photos._read, photos._decode
    monkeypatch.setattr(photos, "_read", lambda path, limits: (read.append(path), real_read(path, limits))[1])
    monkeypatch.setattr(
        photos, "_decode", lambda data, limits: (decoded.append(1), real_decode(data, limits))[1]
    )
    assert build_site(library, tmp_path / "site").written == sound
    assert (len(read), len(decoded)) == (1, 1)


@pytest.mark.parametrize(
    "target", ["content", "content/notes", "content/notes/bell", "content/notes/new", "content/theme", "content/theme/static",
               "content/theme/static/new", "content/theme/templates", ".", "content/../content/theme/static"],
)  # fmt: skip
def test_a_site_is_not_written_into_what_it_is_made_from(library: Path, tmp_path: Path, target: str) -> None:
    (library / "theme" / "static").mkdir(parents=True)
    before = sorted(tmp_path.rglob("*"))
    built = build_site(library, tmp_path / target)
    assert not built.written and "among the files that it is made from" in str(built.problems[-1])
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("target", ["content/site", "site", "contents"])
def test_other_places_are_fine(library: Path, tmp_path: Path, target: str) -> None:
    assert build_site(library, tmp_path / target).written
    assert build_site(library, tmp_path / target).written


@pytest.mark.slow
@pytest.mark.skipif(
    not Path("/proc/self/status").is_file(), reason="needs the peak of memory as Linux tells it"
)
def test_a_hundred_blocks_in_a_row_do_not_fill_the_memory(library: Path, tmp_path: Path) -> None:
    """100 dividers, each on the one before: 3,400 failures at 90 places along 200 tolerances took 2.5 GB at once."""
    blocks = "  b0: {kind: divider, supply: 12 V, upper: 1k, lower: 10k}\n" + "".join(
        f"  b{n}: {{kind: divider, supply: b{n - 1}.output, upper: 1k, lower: 10k}}\n" for n in range(1, 100)
    )
    (library / "notes" / "bell" / "note.md").write_text(
        HEAD.replace("outcome: fixed\n", f"outcome: fixed\nblocks:\n{blocks}")
    )
    code = (
        "import re, sys\nfrom pathlib import Path\nfrom generator.build.build import build_site\n"
        "built = build_site(Path(sys.argv[1]), Path(sys.argv[2]))\n"
        "print(built.written, re.search(r'VmHWM:\\s*(\\d+)', Path('/proc/self/status').read_text())[1])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(library), str(tmp_path / "site")],
        capture_output=True,
        text=True,
        check=True,
    )
    written, peak = done.stdout.split()
    assert written == "True" and int(peak) < 600 * 1024, f"{peak} KiB"
