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
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any

from generator.finding import codec, score, words
from generator.finding.causes import cause_keys
from generator.finding.record import Record
from generator.finding.search import Column, Found, Reader, search
from generator.finding.thesaurus import Thesaurus, default

TERM_FILE = 3_000  # characters of a file of terms; one term's notes are never split
CARDS = 10  # notes in a file of cards
OFFERED_MOST = 40_000  # words kept for typos; beyond that the rarest are found only as written
OFFERED_LONGEST = 24
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

    def search(self, query: str, kind: str = "", filters: Mapping[str, str] | None = None, most: int = 10) -> Found:
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


def fields_of(record: Record) -> dict[str, tuple[str, ...]]:
    """The texts of a record by field of the score."""
    causes = [f"{c.part} {c.part_name} {c.failed} {c.because}" for c in record.causes]
    return {
        "symptoms": record.symptoms,
        "title": (record.title,),
        "signals": record.signals,
        "kind": (record.device_kind,),
        "category": (record.category,),
        "model": (record.make, record.model),
        "cause": tuple(causes),
        "parts": (*record.parts, *record.part_names, *record.block_kinds),
        "prose": (record.prose,),
    }


def build_index(records: Iterable[Record], thesaurus: Thesaurus | None = None) -> Index:
    """The index of a library. Two records of one slug are two results; slugs are the caller's business."""
    thesaurus = thesaurus or default()
    notes = sorted(records, key=lambda r: (words.fold(r.device_kind), r.cause_labels()[:1], r.slug))
    counted = [count_terms(fields_of(note), thesaurus) for note in notes]
    means = {name: max(1.0, sum(lengths[name] for _, lengths in counted) / max(1, len(notes))) for name in score.FIELDS}
    postings: dict[str, list[tuple[int, int]]] = {}
    offered: Counter[str] = Counter()
    for number, (terms, lengths) in enumerate(counted):
        for term, counts in terms.items():
            level = score.level(counts, lengths, means)
            if level:
                postings.setdefault(term, []).append((number, level))
            if offerable(term, counts):
                offered[term] += 1
    core, facets = columns(notes, thesaurus)
    causes_of = Column(core["cause"])
    first = [causes_of.sets[place][:1] for place in causes_of.place]
    average = score.agreement(Counter(c for mine in first for c in mine))
    packed: dict[str, tuple[int, str]] = {}
    for term, held in postings.items():
        telling = score.telling(Counter(c for note, _ in held for c in first[note]), average)
        packed[term] = (score.weight_steps(len(notes), len(held), telling), codec.pack_postings(held, score.LEVELS))
    kept = sorted(offered, key=lambda term: (-offered[term], term))[:OFFERED_MOST]
    core["vocabulary"] = codec.pack_words(sorted(kept, key=codec.order))
    return Index(core, thesaurus, packed, [card_of(note) for note in notes], facets)


def count_terms(fields: Mapping[str, tuple[str, ...]], thesaurus: Thesaurus) -> tuple[dict[str, dict[str, int]], dict[str, int]]:
    """Term -> field -> count, and the length of each field in tokens without stop words."""
    terms: dict[str, dict[str, int]] = {}
    lengths = dict.fromkeys(score.FIELDS, 0)
    for name, texts in fields.items():
        found: list[str] = []
        for text in texts:
            if name in score.NAMED:
                for clause in words.clauses(text):
                    content = thesaurus.content(clause)
                    found.extend(content)
                    for term in thesaurus.named(content):
                        _count(terms, term, name)
            elif text:
                found.extend(thesaurus.content(words.tokens(text)))
        lengths[name] = len(found)
        for token in found:
            _count(terms, token, name)
            if name in score.GROUPED:
                for group in thesaurus.word_groups(token):
                    _count(terms, group, name)
    return terms, lengths


def _count(terms: dict[str, dict[str, int]], term: str, field: str) -> None:
    counts = terms.setdefault(term, {})
    counts[field] = counts.get(field, 0) + 1


def offerable(term: str, counts: Mapping[str, int]) -> bool:
    """Whether a term is a word that typos and beginnings may be taken for."""
    return (
        2 < len(term) <= OFFERED_LONGEST
        and term[0] not in "=~@"
        and not any(c.isdigit() for c in term)
        and any(name in counts for name in score.OFFERED)
    )


def columns(notes: list[Record], thesaurus: Thesaurus) -> tuple[dict[str, Any], dict[str, Any]]:
    """What the core holds of each note, as numbers into lists of names; and the further filters."""
    keys = [cause_keys(note, thesaurus) for note in notes]
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
