"""What the command `lookup` does: questions answered from a library, one on the command line or many in a file."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from generator.edge import DONE, MISUSED, PROBLEMS
from generator.problems import ERROR, Problem

if TYPE_CHECKING:
    from generator.finding.entry import Entry
    from generator.finding.record import Record

Print = Callable[[object], object]


def lookup(
    words: str, kind: str, library: Path, *, as_json: bool, out: Print, say: Print, queries: str = ""
) -> int:
    """Search a library; print the notes found and what they turned out to be. Returns the exit status.

    queries: a file, "-" for standard input, with one question a line, in place of words; each is answered by a line of
    JSON.
    """
    from generator import language
    from generator.build.collected import Collected
    from generator.cache import Cache, cache_folder
    from generator.finding import lookup as finding
    from generator.finding import thesaurus
    from generator.notes.config import read_config
    from generator.notes.library import note_paths
    from generator.notes.pool import Part, pooled
    from generator.pages.records import read_notes

    if not library.is_dir():
        say(f"{library}: there is no such folder; name a library with --library")
        return MISUSED
    if not (library / "library.yaml").is_file():
        say(f"{library}: no library.yaml; this folder is not a library; name one with --library")
        return MISUSED
    problems: list[Problem] = []
    config, _ = read_config(library)
    others, _ = pooled(library, config)
    parts: list[Part] = []

    def files(content: Path) -> list[Path]:
        paths, found = note_paths(content, alone=not others and not collected.paths)
        problems.extend(found)
        parts.append(Part("", content, config, tuple(paths)))
        parts.extend(others)
        return [path for part in parts for path in part.paths]

    def read(content: Path, paths: Sequence[Path]) -> Iterator[Record | None]:
        language.use(config.language)
        return read_notes(parts, config, bool(others), paths)

    collected = Collected(library, lambda: thesaurus.load(library / "symptoms.yaml")[0], 0)
    left_out: list[str] = []
    asked = [finding.Question(words, kind)]
    if queries:
        try:
            text = sys.stdin.read() if queries == "-" else Path(queries).read_text("utf-8-sig")
            asked = list(finding.questions(text.splitlines(), kind))
        except OSError as error:
            say(f"{queries}: cannot be read: {error.strerror}")
            return MISUSED
        except UnicodeDecodeError:
            say(f"{queries}: not UTF-8; save it as UTF-8 text")
            return MISUSED
        except ValueError as error:
            say(f"{queries}, {error}")
            return MISUSED
    with closing(Cache(cache_folder(library))) as cache:

        def rows() -> list[Entry]:
            collected.judge(cache)
            return collected.entries

        roots = [part.root for part in others]
        notes = finding.Notes(files, read, rows, roots, collected.mark)
        for question, found in zip(asked, finding.answers(asked, library, notes, cache, left_out=left_out)):
            data = finding.as_json(found)
            if queries:
                out(json.dumps({**question._asdict(), **data}, ensure_ascii=False))
            else:
                out(json.dumps(data, ensure_ascii=False, indent=1) if as_json else finding.as_text(found))
    return _left_out(left_out, problems, say)


def _left_out(files: Sequence[str], problems: Sequence[Problem], say: Print) -> int:
    """Say which notes are not in an answer; the exit status that comes of it."""
    wrong = [problem for problem in problems if problem.severity == ERROR]
    for problem in wrong:
        say(problem)
    if files:
        more = f" and {len(files) - 3} more" if len(files) > 3 else ""
        say(
            f"left out because they cannot be read: {', '.join(files[:3])}{more}; `benchlore inspect` says why"
        )
    return PROBLEMS if files or wrong else DONE
