"""Past fixes in the terminal: the kept copy of the index, and what is printed."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from pathlib import Path

import pytest

from generator.finding import lookup as finding
from generator.finding.index import build_index
from generator.finding.record import Cause, Record


class Notes:
    """A library on disk, with a reader that counts how often it is asked."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "notes" / "deep").mkdir(parents=True)
        self.asked = 0
        for slug, text in {"a": "stays cold", "b": "does not heat", "c": "heizt nicht", "d": "hums"}.items():
            (folder / "notes" / f"{slug}.md").write_text(text, "utf-8")

    def read(self, folder: Path) -> Iterable[Record]:
        self.asked += 1
        for path in sorted((folder / "notes").rglob("*.md")):
            yield Record(path.stem, path.stem, "2026-01-01", "kettle", symptoms=(path.read_text("utf-8"),), outcome="fixed",
                         causes=(Cause("fuse", "open", found_by="ohmmeter"),))  # fmt: skip

    def look(self, words: str = "no heat", kind: str = "") -> list[str]:
        return [hit.slug for hit in finding.lookup(words, kind, self.folder, self.read).results]


@pytest.fixture
def notes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Notes:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    return Notes(tmp_path / "library")


def test_notes_are_read_again_only_when_one_has_changed(notes: Notes) -> None:
    assert sorted(notes.look()) == ["a", "b", "c"]
    assert sorted(notes.look("keeps cold")) and notes.asked == 1
    (notes.folder / "notes" / "d.md").write_text("will not heat", "utf-8")
    assert "d" in notes.look() and notes.asked == 2
    (notes.folder / "notes" / "deep" / "note.md").write_text("not heating", "utf-8")
    assert "note" in notes.look() and notes.asked == 3
    (notes.folder / "notes" / "a.md").unlink()
    assert "a" not in notes.look() and notes.asked == 4
    (notes.folder / "symptoms.yaml").write_text("symptoms: {no heat: {it: non scalda}}", "utf-8")
    assert "b" in notes.look("non scalda") and notes.asked == 5
    assert "b" in notes.look("non scalda") and notes.asked == 5


def test_the_kept_copy_answers_as_the_index_does(notes: Notes) -> None:
    notes.look()
    index = build_index(notes.read(notes.folder))
    for words, kind in (("no heat", ""), ("hums", "kettle"), ("xyz", "kettle"), ("", "kettle"), ("hetas", "")):
        assert finding.lookup(words, kind, notes.folder, notes.read) == index.search(words, kind)


@pytest.mark.parametrize("damage", [b"", b"not a data base", b"SQLite format 3\x00" + b"\xff" * 4000])
def test_a_damaged_copy_is_made_anew(notes: Notes, damage: bytes) -> None:
    notes.look()
    place = notes.folder / finding.FOLDER / "find.sqlite"
    place.write_bytes(damage)
    assert sorted(notes.look()) == ["a", "b", "c"] and notes.asked == 2
    assert sorted(notes.look()) == ["a", "b", "c"] and notes.asked == 2


def test_a_copy_with_wrong_content_is_made_anew(notes: Notes) -> None:
    import sqlite3

    notes.look()
    with sqlite3.connect(notes.folder / finding.FOLDER / "find.sqlite") as base:
        base.execute("UPDATE files SET content = ? WHERE name LIKE 't%' OR name LIKE 'c%'", (b'benchloreFind("core",{"notes":9});\n',))
    base.close()
    assert sorted(notes.look()) == ["a", "b", "c"]


def test_where_nothing_can_be_written_beside_the_notes(notes: Notes, tmp_path: Path) -> None:
    (notes.folder / finding.FOLDER).write_text("a file where the folder would be", "utf-8")
    assert sorted(notes.look()) == ["a", "b", "c"]
    assert sorted(notes.look()) == ["a", "b", "c"] and notes.asked == 1
    kept = list((tmp_path / "temporary").rglob("find.sqlite"))
    assert len(kept) == 1
    if hasattr(os, "getuid"):
        assert all(folder.stat().st_mode & 0o077 == 0 for folder in (kept[0].parent.parent, kept[0].parent))


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="folders with owners only")
def test_a_folder_that_others_may_write_to_is_not_believed(notes: Notes, tmp_path: Path) -> None:
    (notes.folder / finding.FOLDER).write_text("", "utf-8")
    notes.look()
    kept = next((tmp_path / "temporary").rglob("find.sqlite"))
    kept.parent.chmod(0o777)
    assert sorted(notes.look()) == ["a", "b", "c"] and notes.asked == 2


def test_where_nothing_can_be_written_at_all(notes: Notes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.mkstemp", lambda **_: (_ for _ in ()).throw(OSError("read-only")))
    assert sorted(notes.look()) == ["a", "b", "c"]


def test_what_reading_the_notes_raises_is_passed_on(notes: Notes) -> None:
    def broken(folder: Path) -> Iterable[Record]:
        raise ValueError("broken notes")

    with pytest.raises(ValueError, match="broken notes"):
        finding.lookup("dead", "", notes.folder, broken)


def test_json_as_agreed(notes: Notes) -> None:
    answer = json.loads(json.dumps(finding.as_json(finding.lookup("no heat", "", notes.folder, notes.read))))
    assert {"slug", "title", "score", "symptoms", "cause", "outcome"} <= set(answer["results"][0])
    assert {key: answer["causes"][0][key] for key in ("cause", "notes", "share")} == {"cause": "fuse open", "notes": 3, "share": 1.0}
    assert [hit["score"] for hit in answer["results"]] == sorted((hit["score"] for hit in answer["results"]), reverse=True)


def test_text_for_people(notes: Notes) -> None:
    text = finding.as_text(finding.lookup("no heat", "", notes.folder, notes.read))
    assert "in 3 of 3 notes found" in text and "first check: ohmmeter" in text
    assert "too few" in finding.as_text(finding.lookup("hums", "", notes.folder, notes.read))
    assert finding.as_text(finding.lookup("qqqq", "", notes.folder, notes.read)).startswith("No note matches")
