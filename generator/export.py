"""What the command `export` does: the notes of a library as records for another."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from generator.edge import DONE, MISUSED
from generator.files import reason
from generator.notes.collection import RECORDS_FOLDER
from generator.notes.config import CONFIG_FILE
from generator.notes.export import records_csv
from generator.notes.library import left_out, read_library
from generator.notes.text import shown_path
from generator.problems import ERROR, Problem


def export(
    file: Path,
    content: Path,
    *,
    skip_broken: bool,
    tell: Callable[[Sequence[Problem]], int],
    say: Callable[[object], object],
) -> int:
    """Write the notes of a library as records; returns the exit status. With errors nothing is written, unless broken
    notes are to be left out."""
    if file.suffix.lower() != ".csv":
        say(f"{file}: the file's name must end in .csv")
        return MISUSED
    if file.resolve().parent == (content / RECORDS_FOLDER).resolve():
        say(f"{file}: the library's own notes would count twice; write the collection somewhere else")
        return MISUSED
    library = read_library(content)
    errors = [problem for problem in library.problems if problem.severity == ERROR]
    broken = {problem.file for problem in errors}
    notes = [note for note in library.notes if shown_path(content / note.file) not in broken]
    if errors and (not skip_broken or not notes or shown_path(content / CONFIG_FILE) in broken):
        status = tell(errors)
        say(f"nothing was written; {file} is as it was")
        return status
    text, problems = records_csv(notes, library.config, content)
    tell([*map(left_out, errors), *problems])
    try:
        _write_whole(file, text)
    except OSError as error:
        say(f"{file}: cannot be written: {reason(error)}")
        return MISUSED
    say(f"{len(notes)} record{'s' if len(notes) != 1 else ''} in {file}")
    return DONE


def _write_whole(file: Path, text: str) -> None:
    """Write a file in the place of another, whole or not at all. Raises OSError."""
    new = file.with_name(f".{file.name}.new")
    new.unlink(missing_ok=True)
    try:
        with new.open("x", encoding="utf-8", newline="") as out:
            out.write(text)
        new.replace(file)
    except OSError:
        new.unlink(missing_ok=True)
        raise
