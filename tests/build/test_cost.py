"""What a note may cost: what it asks for many times is done once, and a site is not written into what it is made from."""

from __future__ import annotations

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
