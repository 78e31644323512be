"""The search index: records in, small files out. Linear in the text of the library.

Files (in the site's folder find/, each one a script that calls benchloreFind(name, data)):
    core.js     words for typos, kinds, causes, a few numbers for each note, where each term lives
    words.js    the thesaurus
    tN.js       terms and the notes that have them, neighbours in the alphabet together
    cN.js       what a result shows, for a few notes each
    facets.js   parts, kinds of block and benches, for the filters
"""

from __future__ import annotations

import hashlib
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any

from generator.finding import codec, score, words
from generator.finding.entry import Entry, entry_of
from generator.finding.reader import Column, Reader
from generator.finding.record import Record
from generator.finding.search import Found, search
from generator.finding.thesaurus import Thesaurus, default

TERM_FILE = 3_000  # characters of a file of terms; one term's notes are never split
CARDS = 10  # notes in a file of cards
OFFERED_MOST = 40_000  # words kept for typos; beyond that the rarest are found only as written
ABBREVIATED = 200  # characters of one text on a card


class Index(Reader):
    """A built index. Searches in memory; shards() is the same as files."""

    def __init__(self, core: dict[str, Any], thesaurus: Thesaurus, terms: dict[str, tuple[int, str]],
                 cards: list[list[Any]], facets: dict[str, Any]) -> None:  # fmt: skip
        super().__init__(core, thesaurus)
        self._terms = terms
        self._cards = cards
        self._facets = facets

    def packed(self, term: str) -> tuple[int, str] | None:
        return self._terms.get(term)

    def card(self, note: int) -> list[Any]:
        return self._cards[note]

    def facets(self) -> Mapping[str, Any]:
        return self._facets

    def search(
        self, query: str, kind: str = "", filters: Mapping[str, str] | None = None, most: int = 10
    ) -> Found:
        """The notes that fit, best first, and what it turned out to be. See search.search()."""
        return search(self, query, kind, filters, most)

    def shards(self) -> dict[str, bytes]:
        """File name -> content, for the site's folder find/. The same records give the same bytes."""
        return dict(self._files)

    def stamp(self) -> str:
        """Changes with the content of the files: for data-find-stamp, so that no browser uses an old copy."""
        return hashlib.sha256(b"".join(self._files.values())).hexdigest()[:12]

    @cached_property
    def _files(self) -> dict[str, bytes]:
        data: dict[str, Any] = {"words.js": self.thesaurus.as_data(), "facets.js": self._facets}
        files = term_files(self._terms)
        for n, file in enumerate(files):
            data[f"t{n}.js"] = "\n".join(f"{term} {weight} {packed}" for term, weight, packed in file)
        for n, start in enumerate(range(0, len(self._cards), CARDS)):
            data[f"c{n}.js"] = self._cards[start : start + CARDS]
        core = dict(self.core)
        core["bounds"] = " ".join(file[0][0] for file in files)
        data["core.js"] = core
        return {name: codec.script(name[:-3], content) for name, content in sorted(data.items())}


def term_files(terms: Mapping[str, tuple[int, str]]) -> list[list[tuple[str, int, str]]]:
    """The terms in order, cut into files of about TERM_FILE characters."""
    files: list[list[tuple[str, int, str]]] = []
    size = TERM_FILE
    for term in sorted(terms, key=codec.order):
        weight, packed = terms[term]
        cost = len(term) + len(packed) + 4
        if size + cost > TERM_FILE and size:
            files.append([])
            size = 0
        files[-1].append((term, weight, packed))
        size += cost
    return files


def build_index(records: Iterable[Record], thesaurus: Thesaurus | None = None) -> Index:
    """The index of a library. Two records of one slug are two results; slugs are the caller's business."""
    thesaurus = thesaurus or default()
    return index_of((entry_of(record, thesaurus) for record in records), thesaurus)


def index_of(entries: Iterable[Entry], thesaurus: Thesaurus) -> Index:
    """The index of a library from its entries, all made by this thesaurus."""
    ordered = sorted(
        entries, key=lambda e: (words.fold(e.record.device_kind), e.record.cause_labels()[:1], e.record.slug)
    )
    postings: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
    offered: Counter[str] = Counter()
    for number, entry in enumerate(ordered):
        for level, offer, terms in entry.levels():
            if level:
                posting = (number, level)
                for term in terms:
                    postings[term].append(posting)
            if offer:
                offered.update(terms)
    core, facets = columns(ordered)
    causes_of = Column(core["cause"])
    first = [next(iter(causes_of.sets[place]), None) for place in causes_of.place]
    average = score.agreement(_counted(first))
    packed: dict[str, tuple[int, str]] = {}
    for term, held in postings.items():
        telling = score.telling(_counted([first[note] for note, _ in held]), average)
        packed[term] = (
            score.weight_steps(len(ordered), len(held), telling),
            codec.pack_postings(held, score.LEVELS),
        )
    kept = sorted(offered, key=lambda term: (-offered[term], term))[:OFFERED_MOST]
    core["vocabulary"] = codec.pack_words(sorted(kept, key=codec.order))
    return Index(core, thesaurus, packed, [card_of(entry.record) for entry in ordered], facets)


def _counted(causes: list[int | None]) -> Counter[int]:
    """How many notes have each cause; None: a note without one."""
    counted = Counter(causes)
    del counted[None]
    return counted  # type: ignore[return-value]


def columns(entries: list[Entry]) -> tuple[dict[str, Any], dict[str, Any]]:
    """What the core holds of each note, as numbers into lists of names; and the further filters."""
    notes, keys = [entry.record for entry in entries], [entry.causes for entry in entries]
    spelt: dict[str, Counter[str]] = {}
    for mine in keys:
        for key, label in mine.items():
            spelt.setdefault(key, Counter())[label] += 1
    causes = sorted(spelt)
    cause_number = {key: n for n, key in enumerate(causes)}
    core: dict[str, Any] = {
        "notes": len(notes),
        "constants": score.CONSTANTS,
        "cards": CARDS,
        "text": {
            "separators": words.SEPARATORS, "marks": words.MARKS, "runs": words.RUNS, "folds": words.FOLDS,
            "breaks": " ".join(sorted(words.BREAKS)), "marks_of_break": words.BREAK_MARKS, "longest": words.LONGEST_TOKEN,
            "text": words.LONGEST_TEXT, "swapped": words.SWAPPED, "stem": words.STEM,
            "inside": words.INSIDE, "run_shared": words.RUN_SHARED, "run_least": words.RUN_LEAST, "run_most": words.RUN_MOST,
        },
    }  # fmt: skip
    names = [min(spelt[key], key=lambda label: (-spelt[key][label], label)) for key in causes]
    core["cause"] = column(names, [[cause_number[key] for key in mine] for mine in keys])
    for name, values in {
        "kind": [(note.device_kind,) for note in notes],
        "category": [(note.category,) for note in notes],
        "outcome": [(note.outcome,) for note in notes],
    }.items():
        core[name] = named_column(values)
    parts = [tuple(c.part_name or c.part for c in note.causes) for note in notes]
    facets = {
        "part": named_column(parts),
        "block": named_column([note.block_kinds for note in notes]),
        "bench": named_column([(note.bench,) for note in notes]),
    }
    return core, facets


def named_column(values: Sequence[tuple[str, ...]]) -> dict[str, Any]:
    """A column of names; empty names and repeats within a note are left out."""
    lists = [sorted({value for value in mine if value}) for mine in values]
    names = sorted({value for mine in lists for value in mine})
    number = {value: n for n, value in enumerate(names)}
    return column(names, [[number[value] for value in mine] for mine in lists])


def column(names: list[str], lists: list[list[int]]) -> dict[str, Any]:
    """Numbers of names for each note. Notes share few combinations: those once, and one number a note."""
    sets = sorted({tuple(mine) for mine in lists})
    place = {combination: n for n, combination in enumerate(sets)}
    return {
        "names": names,
        "sets": codec.pack(n for combination in sets for n in (len(combination), *combination)),
        "notes": codec.pack(place[tuple(mine)] for mine in lists),
    }


def card_of(note: Record) -> list[Any]:
    """What a result shows: slug, title, date, kind, symptoms, causes, outcome, how the first was found."""
    found_by = next((c.found_by for c in note.causes if c.found_by), "")
    return [
        note.slug,
        _short(note.title),
        note.date,
        _short(note.device_kind),
        [_short(s) for s in note.symptoms[:4]],
        [_short(label) for label in note.cause_labels()],
        note.outcome,
        _short(found_by),
    ]


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= ABBREVIATED else text[: ABBREVIATED - 1].rstrip() + "\u2026"
