"""Past fixes in the terminal: the kept copy of the index, and what is printed."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from generator.cache import FILE, Cache
from generator.finding import lookup as finding
from generator.finding.index import build_index
from generator.finding.record import Cause, Record
from generator.finding.search import Found
from generator.notes.config import Config
from generator.notes.pool import Part


class Notes:
    """A library on disk, with a reader that counts what it is asked for; and a folder for the copy."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.cache = folder / "library", folder / "cache"
        (self.folder / "notes" / "deep").mkdir(parents=True)
        self.cache.mkdir()
        self.asked: list[str] = []
        for slug, text in {"a": "stays cold", "b": "does not heat", "c": "heizt nicht", "d": "hums"}.items():
            self.write(slug, text)

    def write(self, slug: str, text: str) -> None:
        (self.folder / "notes" / f"{slug}.md").write_text(text, "utf-8")

    def files(self, folder: Path) -> list[Path]:
        return sorted((folder / "notes").rglob("*.md"))

    def read(self, folder: Path, files: Sequence[Path]) -> Iterator[Record | None]:
        for path in files:
            self.asked.append(path.stem)
            text = path.read_text("utf-8")
            yield None if text == "broken" else Record(path.stem, path.stem, "2026-01-01", "kettle", symptoms=(text,), outcome="fixed",
                                                       causes=(Cause("fuse", "open", found_by="ohmmeter"),))  # fmt: skip

    def lookup(self, words: str = "no heat", kind: str = "") -> Found:
        with contextlib.closing(Cache(self.cache)) as cache:
            asked = [finding.Question(words, kind)]
            return next(finding.answers(asked, self.folder, finding.Notes(self.files, self.read), cache))

    def look(self, words: str = "no heat", kind: str = "") -> list[str]:
        return sorted(hit.slug for hit in self.lookup(words, kind).results)

    def read_now(self) -> list[str]:
        """What has been read since this was last asked."""
        read, self.asked = sorted(self.asked), []
        return read


@pytest.fixture
def notes(tmp_path: Path) -> Notes:
    return Notes(tmp_path)


def test_only_what_has_changed_is_read_again(notes: Notes) -> None:
    assert notes.look() == ["a", "b", "c"] and notes.read_now() == ["a", "b", "c", "d"]
    assert notes.look("keeps cold") and notes.read_now() == []
    notes.write("d", "will not heat")
    assert notes.look() == ["a", "b", "c", "d"] and notes.read_now() == ["d"]
    notes.write("deep/note", "not heating")
    assert "note" in notes.look() and notes.read_now() == ["note"]
    (notes.folder / "notes" / "a.md").unlink()
    assert "a" not in notes.look() and notes.read_now() == []
    notes.write("b", "broken")
    assert "b" not in notes.look() and notes.read_now() == ["b"]
    notes.write("c", "hums")
    assert notes.look() == ["d", "note"] and notes.read_now() == ["c"]
    (notes.folder / "symptoms.yaml").write_text("symptoms: {no heat: {it: non scalda}}", "utf-8")
    assert notes.look("non scalda") == ["d", "note"] and notes.read_now() == ["b", "c", "d", "note"]
    assert notes.look("non scalda") == ["d", "note"] and notes.read_now() == []


def test_the_kept_copy_answers_as_the_index_does(notes: Notes) -> None:
    """Read whole, read from the copy, and put together from kept notes and a new one."""
    notes.look()
    for slug, text in ((None, ""), ("e", "hums and stays cold \ud7ff \u202e")):
        if slug:
            notes.write(slug, text)
        index = build_index(
            [record for record in notes.read(notes.folder, notes.files(notes.folder)) if record]
        )
        for words, kind in (
            ("no heat", ""),
            ("hums", "kettle"),
            ("xyz", "kettle"),
            ("", "kettle"),
            ("hetas", ""),
        ):
            assert notes.lookup(words, kind) == index.search(words, kind)


@pytest.mark.parametrize("damage", [b"", b"not a data base", b"SQLite format 3\x00" + b"\xff" * 4000])
def test_a_damaged_copy_is_made_anew(notes: Notes, damage: bytes) -> None:
    notes.look()
    (notes.cache / FILE).write_bytes(damage)
    notes.read_now()
    assert notes.look() == ["a", "b", "c"] and len(notes.read_now()) == 4
    assert notes.look() == ["a", "b", "c"] and notes.read_now() == []


@pytest.mark.parametrize(
    "wrong",
    [
        "UPDATE shards SET data = cast('benchloreFind(\"core\",{\"notes\":9});' as blob) WHERE key LIKE 't%' OR key LIKE 'c%'",
        "DELETE FROM shards WHERE key LIKE 't%'; UPDATE records SET data = x'00'",
        "DELETE FROM shards; DELETE FROM records WHERE rowid = (SELECT min(rowid) FROM records)",
        "UPDATE shards SET data = (SELECT data FROM shards WHERE key = 'c0.js')",
        "DROP TABLE records",
    ],
)
def test_a_copy_with_wrong_content_is_made_anew(notes: Notes, wrong: str) -> None:
    import sqlite3

    notes.look()
    with sqlite3.connect(notes.cache / FILE) as base:
        base.executescript(wrong)
    base.close()
    assert notes.look() == ["a", "b", "c"]


def test_a_copy_that_came_with_the_notes_is_not_read(notes: Notes) -> None:
    """Somebody's folder of notes may bring anything along; nothing but notes and settings is read of it, nothing written."""
    notes.look()
    beside = notes.folder / ".benchlore-cache"
    beside.mkdir()
    os.replace(notes.cache / FILE, beside / FILE)
    before = sorted(notes.folder.rglob("*"))
    notes.read_now()
    assert notes.look() == ["a", "b", "c"] and len(notes.read_now()) == 4
    assert sorted(notes.folder.rglob("*")) == before


def test_the_command_keeps_its_copy_in_the_folder_of_the_user(
    few: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from generator import lookup as command
    from generator.cache import cache_folder

    monkeypatch.setenv("BENCHLORE_CACHE", str(tmp_path / "mine"))
    library = tmp_path / "library"
    shutil.copytree(few, library)
    before = sorted(library.rglob("*"))
    for _ in range(2):
        told: list[str] = []
        assert (
            command.lookup("trips", "", library, as_json=True, out=told.append, say=told.append)
            == command.DONE
        )
        assert json.loads(told[0])["results"][0]["slug"] == "steam-iron-trips-the-breaker"
    assert sorted(library.rglob("*")) == before
    assert (cache_folder(library) / FILE).is_file()


def test_where_nothing_can_be_written_at_all(notes: Notes) -> None:
    shutil.rmtree(notes.cache)
    notes.cache.write_bytes(b"a file where the folder should be")
    assert notes.look() == ["a", "b", "c"]


def test_what_reading_the_notes_raises_is_passed_on(notes: Notes) -> None:
    def broken(folder: Path, files: Sequence[Path]) -> list[Record | None]:
        raise ValueError("broken notes")

    with pytest.raises(ValueError, match="broken notes"):
        asked = [finding.Question("dead")]
        next(finding.answers(asked, notes.folder, finding.Notes(notes.files, broken), Cache(notes.cache)))


def test_json_as_agreed(notes: Notes) -> None:
    answer = json.loads(json.dumps(finding.as_json(notes.lookup("no heat"))))
    assert {"slug", "title", "score", "symptoms", "cause", "outcome"} <= set(answer["results"][0])
    assert {key: answer["causes"][0][key] for key in ("cause", "notes", "share")} == {
        "cause": "fuse open",
        "notes": 3,
        "share": 1.0,
    }
    assert [hit["score"] for hit in answer["results"]] == sorted(
        (hit["score"] for hit in answer["results"]), reverse=True
    )


def test_many_questions_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One line in, one line out, in order, from one look at the library; the same as asked one by one."""
    from generator import lookup as command

    monkeypatch.setenv("BENCHLORE_CACHE", str(tmp_path / "cache"))
    library = Path(__file__).parent.parent.parent / "content"
    questions = tmp_path / "slips.txt"
    questions.write_text('\ufeffstays cold\r\n\n{"words": "dead", "kind": "digital piano"}\nglurk\n', "utf-8")
    told: list[str] = []
    assert (
        command.lookup(
            "", "", library, as_json=False, out=told.append, say=told.append, queries=str(questions)
        )
        == 0
    )
    lines = [json.loads(line) for line in told]
    assert [line["words"] for line in lines] == ["stays cold", "", "dead", "glurk"]
    assert "digital piano" in lines[2]["kinds"] and lines[1]["results"] == lines[3]["results"] == []
    alone: list[str] = []
    command.lookup("dead", "digital piano", library, as_json=True, out=alone.append, say=alone.append)
    assert {**json.loads(alone[0]), "words": "dead", "kind": "digital piano"} == lines[2]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b'stays cold\n{"kind": "kettle"}\n', "line 2"),
        (b'{"words": \n', "line 1: not JSON"),
        (b"\xff\xfe\x00", "not UTF-8"),
        (None, "cannot be read"),
    ],
)
def test_questions_that_are_none(tmp_path: Path, content: bytes | None, says: str) -> None:
    from generator import lookup as command

    file = tmp_path / "slips.txt"
    if content is not None:
        file.write_bytes(content)
    library = Path(__file__).parent.parent.parent / "content"
    told: list[str] = []
    status = command.lookup("", "", library, as_json=False, out=print, say=told.append, queries=str(file))
    assert status == command.MISUSED and says in told[0]


def test_text_for_people(notes: Notes) -> None:
    text = finding.as_text(notes.lookup("no heat"))
    assert "in 3 of 3 notes found" in text and "first check: ohmmeter" in text
    assert "matches: stays cold" in text
    assert "too few" in finding.as_text(notes.lookup("hums"))
    assert finding.as_text(notes.lookup("qqqq")).startswith("No note matches")


def test_what_site_wrote_is_not_read_again(
    few: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After `site`, `lookup` reads no note, and answers as it does from the notes themselves; after a change it reads one."""
    from generator import lookup as command
    from generator.build.build import build_site
    from generator.pages import records

    library = tmp_path / "library"
    shutil.copytree(few, library)
    asked: list[Path] = []
    real = records.read_notes

    def counted(
        parts: Sequence[Part], own: Config, home: bool, paths: Sequence[Path]
    ) -> Iterator[Record | None]:
        asked.extend(paths)
        return real(parts, own, home, paths)

    monkeypatch.setattr(records, "read_notes", counted)

    def look() -> str:
        told: list[object] = []
        command.lookup("dead", "", library, as_json=True, out=told.append, say=told.append)
        return str(told)

    monkeypatch.setenv("BENCHLORE_CACHE", str(tmp_path / "one"))
    from_notes = look()
    assert len(asked) == len(list(library.glob("**/notes/*")))
    monkeypatch.setenv("BENCHLORE_CACHE", str(tmp_path / "two"))
    assert build_site(library, tmp_path / "site").written
    asked.clear()
    assert look() == from_notes and asked == []
    note = library / "notes" / "steam-iron-trips-the-breaker.md"
    note.write_text(note.read_text("utf-8") + "\nMore.\n", "utf-8")
    look()
    assert asked == [note]


def test_notes_that_cannot_be_read_are_told(tmp_path: Path) -> None:
    """With status 1, each time; the others are found."""
    from generator import lookup as command

    (tmp_path / "notes").mkdir()
    (tmp_path / "library.yaml").write_text("name: Bench\n")
    good = "---\ntitle: Bell\ndate: 2026-01-10\ndevice: {kind: bell}\nsymptoms: [stays silent]\noutcome: fixed\n---\n"
    (tmp_path / "notes" / "good.md").write_text(good)
    (tmp_path / "notes" / "bad.md").write_bytes(b"\xff\xfe\x00")
    for _ in range(2):
        out: list[object] = []
        said: list[object] = []
        assert command.lookup("silent", "", tmp_path, as_json=True, out=out.append, say=said.append) == 1
        assert "bad.md" in str(said) and json.loads(str(out[0]))["results"][0]["slug"] == "good"
    (tmp_path / "notes" / "bad.md").unlink()
    assert command.lookup("silent", "", tmp_path, as_json=True, out=out.append, say=said.append) == 0
    shutil.rmtree(tmp_path / "notes")
    said.clear()
    assert command.lookup("silent", "", tmp_path, as_json=True, out=out.append, say=said.append) == 1
    assert "no folder notes/ here" in str(said)
