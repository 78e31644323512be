"""A folder of notes: what is read, in which order, and what is told about the rest."""

from __future__ import annotations

import os
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest

from generator.notes.library import RESERVED, note_paths, propose_slug, read_library, slug_trouble

NOTE = "---\ntitle: {}\ndate: {}\ndevice: {{kind: kettle}}\nsymptoms: [dead]\n---\nProse.\n"


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """A library with one good note, in a folder whose name has a blank and letters beyond ASCII."""
    root = tmp_path / "Café notes"
    (root / "notes").mkdir(parents=True)
    (root / "library.yaml").write_text("name: Test\n", encoding="utf-8")
    add(root, "kettle.md")
    return root


def add(root: Path, name: str, title: str = "Kettle", date: str = "2026-03-14") -> Path:
    path = root / "notes" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(NOTE.format(title, date), encoding="utf-8")
    return path


def told(root: Path) -> list[str]:
    """All problems, with the folder's own path left out."""
    return [str(problem).replace(str(root), "~") for problem in read_library(root).problems]


def test_notes_come_by_date_then_slug(library: Path) -> None:
    add(library, "b.md", date="2026-03-14")
    add(library, "z/note.md", date="2025-01-01")
    add(library, "a.md", date="2026-03-14")
    read = read_library(library)
    assert read.problems == ()
    assert [note.slug for note in read.notes] == ["z", "a", "b", "kettle"]
    assert [note.file for note in read.notes] == [
        "notes/z/note.md",
        "notes/a.md",
        "notes/b.md",
        "notes/kettle.md",
    ]
    assert [note.folder for note in read.notes] == [library / "notes" / "z", None, None, None]


def test_notes_can_be_read_in_other_processes(library: Path) -> None:
    for number in range(12):
        add(library, f"n{number}.md", f"Note {number}", f"2026-01-{number + 1:02}")
    add(library, "broken.md", "a: b")
    here = read_library(library)
    with ProcessPoolExecutor(2) as pool:
        there = read_library(library, pool.map)
    assert [note.title for note in there.notes] == [note.title for note in here.notes]
    assert there.problems == here.problems
    assert len(here.problems) == 1


def test_a_broken_note_does_not_hide_the_others(library: Path) -> None:
    add(library, "a.md", date="yesterday")
    add(library, "b.md", date="14.3.2026")
    assert told(library) == [
        "~/notes/a.md:3:7: date: yesterday is not a date; year-month-day, such as 2026-03-14",
        "~/notes/b.md:3:7: date: 14.3.2026 is not a date; year-month-day, such as 2026-03-14",
    ]
    assert [note.slug for note in read_library(library).notes] == ["kettle"]


# --- the folder


def test_no_folder_a_file_and_an_empty_folder(tmp_path: Path) -> None:
    assert told(tmp_path / "x") == [
        "~: there is no such folder; `benchlore writeup KIND-OF-DEVICE` starts a library"
    ]
    file = tmp_path / "file"
    file.write_text("")
    assert told(file) == ["~: this is a file, not a folder with library.yaml and notes/"]
    empty = tmp_path / "empty"
    empty.mkdir()
    assert told(empty) == ["~: the folder is empty; `benchlore writeup KIND-OF-DEVICE` starts a library here"]


def test_a_folder_without_library_yaml_or_notes(library: Path) -> None:
    (library / "library.yaml").unlink()
    add(library, "a.md", date="yesterday")
    assert told(library) == [
        "~: no library.yaml; this folder is not a library; `benchlore writeup KIND-OF-DEVICE` makes one",
        "~/notes/a.md:3:7: date: yesterday is not a date; year-month-day, such as 2026-03-14",
    ]
    (library / "library.yaml").write_text("name: Test\n")
    for path in (library / "notes").iterdir():
        path.unlink()
    assert told(library) == [
        "~/notes: there are no notes here; `benchlore writeup KIND-OF-DEVICE` starts one"
    ]
    (library / "notes").rmdir()
    assert told(library) == ["~: no folder notes/ here; the notes belong in it: notes/<name>.md"]


def test_photos_hidden_files_and_backups_are_no_notes(library: Path) -> None:
    for name in ("kettle.jpg", ".hidden.md", "kettle.md~", "#kettle.md#", "list.txt"):
        (library / "notes" / name).write_text("x")
    (library / "notes" / "photos").mkdir()
    (library / "notes" / ".git").mkdir()
    assert told(library) == []


# --- files


def test_utf8_with_a_byte_order_mark_and_windows_line_ends(library: Path) -> None:
    text = NOTE.format("Wasserkocher kühlt nicht", "2026-03-15").replace("\n", "\r\n")
    (library / "notes" / "bom.md").write_bytes(b"\xef\xbb\xbf" + text.encode())
    read = read_library(library)
    assert read.problems == ()
    assert (read.notes[1].title, read.notes[1].body) == ("Wasserkocher kühlt nicht", "Prose.\n")


def test_what_is_not_utf8_is_told_with_its_place(library: Path) -> None:
    path = library / "notes" / "kettle.md"
    path.write_bytes(b"---\r\ntitle: K\xfchlbox\r\n---\r\n")
    assert told(library) == [
        (
            "~/notes/kettle.md:2:9: not UTF-8: the byte 0xFC is not part of a character; "
            "save the file as UTF-8 (in Latin-1 it would be ü)"
        )
    ]
    path.write_bytes("---\ntitle: K".encode("utf-16"))
    assert told(library) == ["~/notes/kettle.md: the file is UTF-16, not UTF-8; save it as UTF-8"]
    path.write_bytes(b"\x93quoted\x94")
    assert told(library) == [
        "~/notes/kettle.md:1:1: not UTF-8: the byte 0x93 is not part of a character; save the file as UTF-8"
    ]


def test_a_note_of_more_than_a_mebibyte(library: Path) -> None:
    path = library / "notes" / "kettle.md"
    text = path.read_bytes()
    path.write_bytes(text + b"x" * (1024 * 1024 - len(text)))
    assert told(library) == []
    path.write_bytes(text + b"x" * (1024 * 1024 - len(text) + 1))
    assert told(library) == ["~/notes/kettle.md: the file has 1,048,577 bytes; at most 1,048,576 (1 MiB)"]


def test_an_unreadable_file(library: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Permissions do not bind whoever runs tests as root, so that opening is made to fail."""
    real = os.open

    def refuse(path: str, *args: int, **keywords: int) -> int:
        if os.path.basename(path) == "kettle.md":
            raise PermissionError(13, "Permission denied", path)
        return real(path, *args, **keywords)

    monkeypatch.setattr(os, "open", refuse)
    assert told(library) == ["~/notes/kettle.md: cannot be read: permission denied"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_not_waited_for(library: Path) -> None:
    os.mkfifo(library / "notes" / "pipe.md")
    assert told(library) == ["~/notes/pipe.md: not an ordinary file"]


def test_links_are_not_followed(library: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    (outside / "notes").mkdir(parents=True)
    add(outside, "secret.md", "Secret")
    (library / "notes" / "to-file.md").symlink_to(outside / "notes" / "secret.md")
    (library / "notes" / "to-folder").symlink_to(outside / "notes")
    (library / "notes" / "to-nothing.md").symlink_to(outside / "nothing")
    (library / "notes" / "inside").mkdir()
    (library / "notes" / "inside" / "note.md").symlink_to(outside / "notes" / "secret.md")
    assert told(library) == [
        "~/notes/to-file.md: a symbolic link; links are not followed; put the note itself here",
        "~/notes/to-folder: a symbolic link; links are not followed; put the note itself here",
        "~/notes/to-nothing.md: a symbolic link; links are not followed; put the note itself here",
        "~/notes/inside/note.md: a symbolic link; links are not followed; put the file itself here",
    ]
    assert [note.title for note in read_library(library).notes] == ["Kettle"]


def test_a_linked_notes_folder_and_a_linked_library_yaml(library: Path, tmp_path: Path) -> None:
    (library / "notes").rename(tmp_path / "elsewhere")
    (library / "notes").symlink_to(tmp_path / "elsewhere")
    (library / "library.yaml").unlink()
    (library / "library.yaml").symlink_to("/etc/passwd")
    assert told(library) == [
        "~/library.yaml: a symbolic link; links are not followed; put the file itself here",
        "~/notes: a symbolic link; links are not followed",
    ]


# --- names


def test_a_slug_twice(library: Path) -> None:
    add(library, "kettle/note.md")
    assert told(library) == [
        "~/notes/kettle.md: kettle: notes/kettle/note.md has the same name; rename one of them"
    ]
    assert [note.file for note in read_library(library).notes] == ["notes/kettle/note.md"]


def test_names_that_differ_in_case_only(library: Path) -> None:
    add(library, "Kettle.md")
    messages = told(library)
    if len(messages) == 1:
        pytest.skip("this file system does not tell case apart")
    assert messages == [
        (
            "~/notes/Kettle.md: Kettle: the name is the note's address: small letters a to z, digits and - only, no - at its ends; "
            "rename it to kettle"
        ),
        "~/notes/kettle.md: kettle: notes/Kettle.md has a name that differs in case only; rename one of them",
    ]


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("Kühlbox grün.md", "Kühlbox grün: {}; rename it to kuehlbox-gruen"),
        ("old_kettle.md", "old_kettle: {}; rename it to old-kettle"),
        ("-kettle-.md", "-kettle-: {}; rename it to kettle"),
        ("a.b.md", "a.b: {}; rename it to a-b"),
        ("README.md", "README: {}; rename it to readme"),
        ("é.md", "é: {}; rename it to e"),
        ("急須.md", "急須: {}; rename it to note"),
        ("<script>.md", "<script>: {}; rename it to script"),
        ("a\x1b[31m.md", "a\\u001b[31m: {}; rename it to a-31m"),
        ("a\u202eb.md", "a\\u202eb: {}; rename it to ab"),
        ("con.md", "con: Windows keeps this name for itself; rename it to con-note"),
        ("lpt1/note.md", "lpt1: Windows keeps this name for itself; rename it to lpt1-note"),
        ("x" * 81 + ".md", "x" * 59 + "…: a name of 81 characters; at most 80; rename it to " + "x" * 80),
    ],
)
def test_a_name_that_is_no_address_is_told_with_a_better_one(library: Path, name: str, message: str) -> None:
    add(library, name)
    rule = "the name is the note's address: small letters a to z, digits and - only, no - at its ends"
    assert [text.split(": ", 1)[1] for text in told(library)] == [message.format(rule)]
    assert [note.slug for note in read_library(library).notes] == ["kettle"]


def test_a_name_of_255_bytes(library: Path) -> None:
    add(library, "y" * 252 + ".md")
    (message,) = told(library)
    assert message.endswith("a name of 252 characters; at most 80; rename it to " + "y" * 80)


@pytest.mark.skipif(os.name == "nt", reason="names are text there")
def test_a_name_that_is_no_text(library: Path) -> None:
    try:
        path = os.fsencode(library / "notes") + b"/\xff\xfe.md"
        with open(path, "wb") as file:
            file.write(b"x")
    except OSError:
        pytest.skip("this file system takes text only")
    (message,) = told(library)
    message.encode()
    assert message.endswith("rename it to note")


def test_near_misses_of_a_notes_file_name(library: Path) -> None:
    for name in ("a/Note.md", "b/kettle.md", "c.MD", "d.markdown"):
        add(library, name)
    if (library / "notes" / "a" / "note.md").exists():
        pytest.skip("this file system does not tell case apart")
    assert told(library) == [
        "~/notes/a: Note.md is not read; rename it to note.md",
        "~/notes/b: no note.md in this folder; the note of a folder is called note.md; put other notes straight into notes/",
        "~/notes/c.MD: warning: notes end in .md; this one is not read; rename it to c.md",
        "~/notes/d.markdown: warning: notes end in .md; this one is not read; rename it to d.md",
    ]


def test_names_that_windows_keeps() -> None:
    """Naming Files, Paths, and Namespaces (learn.microsoft.com): CON PRN AUX NUL COM0-COM9 LPT0-LPT9. From memory."""
    assert RESERVED == {
        "con",
        "prn",
        "aux",
        "nul",
        *(f"{port}{n}" for port in ("com", "lpt") for n in range(10)),
    }


@pytest.mark.parametrize(
    "text",
    ["Kühlbox, grün", "", "---", "CON", "a" * 300, "ẞtraße", "Ångström", "İ", "\ud800", "a" * 79 + "-b"],
)
def test_a_proposed_name_is_one_that_is_accepted(text: str) -> None:
    assert slug_trouble(propose_slug(text)) == ("", "")


def test_paths_come_in_the_order_of_their_slugs(library: Path) -> None:
    for name in ("b/note.md", "a.md", "c.md"):
        add(library, name)
    paths, problems = note_paths(library)
    assert problems == []
    assert [path.relative_to(library).as_posix() for path in paths] == [
        "notes/a.md", "notes/b/note.md", "notes/c.md", "notes/kettle.md",
    ]  # fmt: skip
