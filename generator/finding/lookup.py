"""Past fixes in the terminal, with the same index as the site, which is kept between calls (kept.py)."""

from __future__ import annotations

import contextlib
import json
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from generator.cache import Cache
from generator.finding import kept, thesaurus
from generator.finding.record import Record
from generator.finding.score import CONSTANTS
from generator.finding.search import Found, search

if TYPE_CHECKING:
    from generator.finding.entry import Entry


class Notes(NamedTuple):
    """How to come by the notes of a library.

    files(library) are the files of its notes; read(library, files) gives the record of each, in their order, None
    for one that cannot be used. What either raises is passed on. rows() are those of its collections, ready for the
    search; mark changes with any of them. pooled: the folders of other libraries that notes are from.
    """

    files: Callable[[Path], Sequence[Path]]
    read: Callable[[Path, Sequence[Path]], Iterable[Record | None]]
    rows: Callable[[], Iterable[Entry]] = tuple
    pooled: Sequence[Path] = ()
    mark: str = ""


class Question(NamedTuple):
    """What is asked of a library: words, and the kind of device where it is known."""

    words: str
    kind: str = ""


def answers(questions: Iterable[Question], library: Path, notes: Notes, cache: Cache,
            left_out: list[str] | None = None) -> Iterator[Found]:  # fmt: skip
    """The past fixes for each question, in their order, from the notes of a library, which is looked at once. Only notes that
    nobody has read as they are now are read. cache: the library's own.

    left_out: filled, before the first answer, with the files of notes that have mistakes in them or cannot be
    read.
    """
    base = kept.base_of(library, notes.pooled)
    keys = {path: kept.note_key(base, library, path) for path in notes.files(library)}
    mark = kept.mark_of([*keys.values(), notes.mark])
    asked = list(questions)
    found: list[Found] = []
    told = [] if left_out is None else left_out
    # What is damaged is made anew.
    with contextlib.suppress(LookupError, ValueError, TypeError, AttributeError, zlib.error):
        stored = kept.StoredReader(cache, mark)
        for question in asked:
            found.append(search(stored, *question))
        told += stored.left_out
    yield from found
    if len(found) == len(asked):
        return
    from generator.finding.index import index_of

    known, _ = thesaurus.load(library / "symptoms.yaml")
    entries = _entries(library, notes, known, cache, base, keys)
    told[:] = [str(path) for path, key in keys.items() if entries[key] is None]
    index = index_of([*(entry for entry in entries.values() if entry), *notes.rows()], known)
    kept.remember_index(cache, mark, index.shards(), told)
    for question in asked[len(found) :]:
        yield index.search(*question)


def questions(lines: Iterable[str], kind: str = "") -> Iterator[Question]:
    """One question a line: plain words, or a JSON object with "words" and, if known, "kind"; kind: of lines
    without one.

    Raises ValueError for an object without words, naming the line.
    """
    for number, line in enumerate(lines, 1):
        text = line.strip()
        if not text.startswith("{"):
            yield Question(text, kind)
            continue
        try:
            given = json.loads(text)
        except ValueError as error:
            raise ValueError(f"line {number}: not JSON: {error}") from None
        said = given.get("words", given.get("query"))
        if not isinstance(said, str):
            what = f'line {number}: "words" is missing, as in {{"words": "stays cold", "kind": "kettle"}}'
            raise ValueError(what)
        yield Question(said, str(given.get("kind") or kind))


def _entries(library: Path, notes: Notes, known: thesaurus.Thesaurus, cache: Cache, base: str,
             keys: Mapping[Path, str]) -> dict[str, Entry | None]:  # fmt: skip
    """key -> entry of the notes; from the cache where they are known as they are now."""
    from generator.finding.entry import entry_of

    found: dict[str, Entry | None] = {}
    with contextlib.suppress(ValueError, TypeError, KeyError, AttributeError, zlib.error):
        found = kept.remembered(cache, base)
    fresh: dict[str, Entry | None] = {}
    changed = [path for path, key in keys.items() if key not in found]
    for path, record in zip(changed, notes.read(library, changed), strict=True) if changed else ():
        fresh[keys[path]] = entry_of(record, known) if record else None
    kept.remember(cache, base, fresh, keys.values())
    return {key: fresh[key] if key in fresh else found[key] for key in keys.values()}


def as_json(found: Found) -> dict[str, Any]:
    """The answer as `benchlore lookup --json` prints it."""
    return {
        "results": [
            {
                "slug": hit.slug, "title": hit.title, "score": hit.score, "symptoms": list(hit.symptoms),
                "cause": hit.cause, "outcome": hit.outcome, "device": hit.device_kind, "date": hit.date,
                "found_by": hit.found_by, "why": list(hit.why), **({"source": hit.source} if hit.source else {}),
            }
            for hit in found.results
        ],
        "causes": [
            {"cause": count.cause, "notes": count.notes, "share": round(count.share, 4), "found_by": count.found_by}
            for count in found.causes
        ],
        "total": found.total,
        "known": found.known,
        "clear": found.clear,
        "check": found.check,
        "other": round(found.other, 4),
        "kinds": list(found.kinds),
    }  # fmt: skip


def as_text(found: Found) -> str:
    """The answer for people, causes first. Ends with a line break."""
    if not found.total:
        return "No note matches. Try fewer or other words.\n"
    lines = []
    if found.relaxed:
        lines += ["No note of this kind has these words. All of this kind:", ""]
    if found.causes:
        lines.append(f"What it turned out to be, in {found.known} of {_notes_of(found.total)} found:")
        width = len(str(max(count.notes for count in found.causes)))
        for count in found.causes:
            bar = "#" * max(1, round(20 * count.share / (1 - found.other)))
            lines.append(f"  {count.notes:>{width}}  {bar:<20}  {count.cause}")
            if count.found_by:
                lines.append(f"  {'':>{width}}  {'':<20}  first check: {count.found_by}")
        if not found.clear:
            lines.append(
                "No clear cause." + (f" The check that tells most: {found.check}" if found.check else "")
            )
        if found.other >= CONSTANTS["novel"]:
            lines.append("Nearly every cause here was found only once: this one is probably new.")
        lines.append("")
    else:
        lines += [f"{_notes_of(found.total)} found; too few name a cause to count.", ""]
    for n, hit in enumerate(found.results, 1):
        lines.append(f"{n:>2}. {hit.title or ', '.join(hit.symptoms)}  [{hit.slug}]")
        about = [hit.device_kind, ", ".join(hit.symptoms) if hit.title else hit.source]
        lines.append("    " + ": ".join(text for text in about if text))
        what = hit.cause or "cause not known"
        lines.append(f"    {what}" + (f" ({hit.outcome})" if hit.outcome else ""))
        if hit.why:
            lines.append("    matches: " + "; ".join(hit.why))
    return "\n".join(lines) + "\n"


def _notes_of(n: int) -> str:
    return "1 note" if n == 1 else f"{n} notes"
