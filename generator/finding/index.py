"""The search index: records in, small files out. Linear in the text of the library, but for what is learned
of it.

Files (in the site's folder find/, each one a script that calls benchloreFind(name, data)):
    core.js     words for typos, kinds, causes, a few numbers for each note, where each term lives
    words.js    the thesaurus of the library's languages; more.js the others, for words that these do not have
    tN.js       terms, the notes that have them and what was learned of them, neighbours in the alphabet
                together
    cN.js       what a result shows, for a few notes each
    facets.js   parts, kinds of block, benches and collections, for the filters

An entry without a page of its own, a row of a collection (Record.source), is found, shown and counted as a
note is, and stands behind all notes; no causes are learned from it. Entries alike stand side by side, so that
what is said of each of them shrinks to little: 60,000 rows cost the core a few bytes each.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any

from generator.finding import codec, score, words
from generator.finding.calibrate import temperatures
from generator.finding.entry import Entry, entry_of
from generator.finding.learn import learn
from generator.finding.reader import Held, Reader
from generator.finding.record import Record
from generator.finding.search import Found, search
from generator.finding.thesaurus import EVERY, Thesaurus, default
from generator.processes import seldom_collected

TERM_FILE = 3_000  # characters of a file of terms; one term's notes are never split
CARDS = 10  # notes in a file of cards
OFFERED_MOST = 20_000  # words kept for typos; beyond that the rarest are found only as written
ABBREVIATED = 200  # characters of one text on a card
SPOKEN = 20  # a language is the library's own where at least one note in so many is of it


class Index(Reader):
    """A built index. Searches in memory; shards() is the same as files."""

    def __init__(self, core: dict[str, Any], thesaurus: Thesaurus, terms: dict[str, Held],
                 cards: list[list[Any]], facets: dict[str, Any], causes: Sequence[str]) -> None:  # fmt: skip
        super().__init__(core, thesaurus)
        self.cause_numbers = {key: n for n, key in enumerate(causes)}
        self._terms = terms
        self._cards = cards
        self._facets = facets

    def held(self, term: str) -> Held | None:
        return self._terms.get(term)

    def card_data(self, note: int) -> list[Any]:
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

    @cached_property
    def _files(self) -> dict[str, bytes]:
        tongues = self.thesaurus.as_data()
        home = {name: tongues.pop(name) for name in (EVERY, *self.core["languages"]) if name in tongues}
        data: dict[str, Any] = {"words.js": home, "more.js": tongues, "facets.js": self._facets}
        files = term_files(self._terms)
        for n, file in enumerate(files):
            data[f"t{n}.js"] = "\n".join(line for _, line in file)
        for n, start in enumerate(range(0, len(self._cards), CARDS)):
            data[f"c{n}.js"] = self._cards[start : start + CARDS]
        core = dict(self.core)
        core["bounds"] = " ".join(file[0][0] for file in files)
        data["core.js"] = core
        return {name: codec.script(name[:-3], content) for name, content in sorted(data.items())}


def term_files(terms: Mapping[str, Held]) -> list[list[tuple[str, str]]]:
    """(term, its line) in order, cut into files of about TERM_FILE characters."""
    files: list[list[tuple[str, str]]] = []
    size = TERM_FILE
    for term in sorted(terms, key=codec.order):
        line = terms[term].line(term)
        if size + len(line) + 1 > TERM_FILE and size:
            files.append([])
            size = 0
        files[-1].append((term, line))
        size += len(line) + 1
    return files


def build_index(records: Iterable[Record], thesaurus: Thesaurus | None = None) -> Index:
    """The index of a library. Two records of one slug are two results; slugs are the caller's business."""
    thesaurus = thesaurus or default()
    return index_of((entry_of(record, thesaurus) for record in records), thesaurus)


@seldom_collected()
def index_of(entries: Iterable[Entry], thesaurus: Thesaurus) -> Index:
    """The index of a library from its entries, all made by this thesaurus."""
    ordered = sorted(entries, key=_place)
    index = _uncalibrated(ordered, thesaurus)
    told = temperatures(ordered[: index.paged], lambda some: _uncalibrated(some, thesaurus))
    index.core = {**index.core, "temperatures": told}
    return index


def _uncalibrated(ordered: Sequence[Entry], thesaurus: Thesaurus) -> Index:
    """The index of entries in order; how sure it may be is not known yet."""
    paged = sum(not entry.record.source for entry in ordered)
    postings: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
    offered: Counter[str] = Counter()
    own: list[list[str]] = []
    wide: list[list[str]] = []
    for number, entry in enumerate(ordered):
        mine: list[str] = []
        head: list[str] = []
        for level, is_own, is_wide, offer, terms in entry.terms():
            if level:
                posting = (number, level)
                for term in terms:
                    postings[term].append(posting)
            if offer:
                offered.update(terms)
            if is_own:
                mine += terms
            if is_wide:
                head += terms
        own.append(mine)
        wide.append(head)
    core, facets = columns(ordered, paged)
    core["languages"] = _languages(ordered, thesaurus)
    core["found_once"], core["found_elsewhere"] = _found_once(ordered), _found_elsewhere(ordered)
    learned = learned_of(ordered[:paged], own, wide, core)
    packed = {
        term: Held(
            score.weight_steps(len(ordered), len(notes)),
            codec.pack_postings(notes, score.LEVELS),
            *learned.get(term, ()),
        )
        for term, notes in postings.items()
    }
    kept = sorted(offered, key=lambda term: (-offered[term], term))[:OFFERED_MOST]
    core["vocabulary"] = codec.pack_words(sorted(kept, key=codec.order))
    keys = sorted({key for entry in ordered for key in entry.causes})
    return Index(core, thesaurus, packed, [card_of(entry.record) for entry in ordered], facets, keys)


def _place(entry: Entry) -> tuple[Any, ...]:
    """Where an entry stands: rows behind notes, and by what they have in common."""
    record = entry.record
    causes = record.cause_labels()[:1]
    return (
        bool(record.source),
        words.fold(record.device_kind),
        causes,
        record.source,
        *_alike(record),
        record.slug,
    )


def _alike(record: Record) -> tuple[str, ...]:
    """What rows of one collection are put in order by: runs of one value cost next to nothing."""
    return (record.outcome, record.bench) if record.source else ("", "")


def _languages(entries: Sequence[Entry], thesaurus: Thesaurus) -> list[str]:
    """The library's own languages, those that a fair share of its notes are in; all where none is."""
    held = Counter(language for entry in entries for language in entry.languages if len(entry.languages) == 1)
    own = sorted(language for language, count in held.items() if count * SPOKEN >= sum(held.values()))
    return own or list(thesaurus.languages)


def _found_once(entries: Sequence[Entry]) -> float:
    """The share of finds that are the only one of their cause in their kind of device."""
    held = Counter((entry.device, cause) for entry in entries for cause in entry.causes)
    return round(sum(count == 1 for count in held.values()) / max(1, held.total()), 4)


def _found_elsewhere(entries: Sequence[Entry]) -> float:
    """The share of finds whose cause some other kind of device has too; half a find more, so that it is never none."""
    devices: dict[str, set[str]] = {}
    for entry in entries:
        for cause in entry.causes:
            devices.setdefault(cause, set()).add(entry.device)
    finds = [len(devices[cause]) > 1 for entry in entries for cause in entry.causes]
    return round((sum(finds) + 0.5) / (len(finds) + 1), 4)


# --- what is learned --------------------------------------------------------------------------------------


def learned_of(notes: Sequence[Entry], own: Sequence[Sequence[str]], wide: Sequence[Sequence[str]],
               core: dict[str, Any]) -> dict[str, tuple[int, str, str]]:  # fmt: skip
    """Term -> how many notes have it in their head, and what it says of causes and kinds, packed. The biases
    go to the core.
    """
    holding = Counter(term for terms, _ in zip(wide, notes) for term in terms)
    rare = {term: score.rarity(len(notes), held) for term, held in holding.items()}
    packed: dict[str, list[Any]] = {term: [held, "", ""] for term, held in holding.items()}
    labels = {"cause": {key: n for n, key in enumerate(sorted({key for e in notes for key in e.causes}))},
              "device": {key: n for n, key in enumerate(core["devices"])}}  # fmt: skip
    taught = {
        "cause": [(terms, next(iter(e.causes), None)) for terms, e in zip(own, notes)],
        "device": [(terms, e.device if e.record.device_kind else None) for terms, e in zip(wide, notes)],
    }
    for place, name in enumerate(("cause", "device"), 1):
        pairs = [(terms, labels[name][key]) for terms, key in taught[name] if key is not None]
        classes = [number for _, number in pairs]
        found = learn(
            [{term: rare[term] for term in terms} for terms, _ in pairs], classes, len(labels[name])
        )
        counted = Counter(classes)
        usual = [score.log_share(counted[n], len(classes)) for n in range(len(labels[name]))]
        core["learned"][name] = [
            [_hundredths(bias) for bias in found.biases],
            [_hundredths(share) for share in usual],
        ]
        for term, weights in found.weights.items():
            packed[term][place] = codec.pack_postings(_steps(weights), 2 * score.LEARNED_MOST + 1)
    return {term: (held, causes, kinds) for term, (held, causes, kinds) in packed.items()}


def _hundredths(number: float) -> int:
    return round(100 * number)


def _steps(weights: Sequence[tuple[int, float]]) -> list[tuple[int, int]]:
    """(class, weight in steps from 1 on, LEARNED_MOST + 1 for none) of those that are not none."""
    most = score.LEARNED_MOST
    stepped = [(kind, max(-most, min(most, round(weight / score.LEARNED_STEP)))) for kind, weight in weights]
    return [(kind, step + most + 1) for kind, step in stepped if step]


# --- columns and cards ------------------------------------------------------------------------------------


def columns(entries: Sequence[Entry], paged: int) -> tuple[dict[str, Any], dict[str, Any]]:
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
        "paged": paged,
        "constants": score.CONSTANTS,
        "codes": sorted(score.CODES),
        "cards": CARDS,
        "learned": {},
        "text": words.tables(),
    }
    names = [min(spelt[key], key=lambda label: (-spelt[key][label], label)) for key in causes]
    core["cause"] = column(names, [[cause_number[key] for key in mine] for mine in keys])
    for name, values in {
        "kind": [(note.device_kind,) for note in notes],
        "category": [(note.category,) for note in notes],
        "outcome": [(note.outcome,) for note in notes],
    }.items():
        core[name] = named_column(values)
    device_of = {entry.record.device_kind: entry.device for entry in entries}
    core["devices"] = sorted({device_of[kind] for kind in core["kind"]["names"]})
    place = {device: n for n, device in enumerate(core["devices"])}
    core["device_of"] = [place[device_of[kind]] for kind in core["kind"]["names"]]
    parts = [tuple(c.part_name or c.part for c in note.causes) for note in notes]
    facets = {
        "part": named_column(parts),
        "block": named_column([note.block_kinds for note in notes]),
        "bench": named_column([(note.bench,) for note in notes]),
        "source": named_column([(note.source or note.origin,) for note in notes]),
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
    """What a result shows: slug, title, date, kind, symptoms, causes, outcome, how the first was found, what
    was measured, collection, address; what is empty at the end is left out."""
    card: list[Any] = [
        note.slug,
        _short(note.title),
        note.date,
        _short(note.device_kind),
        [_short(s) for s in note.symptoms[:4]],
        [_short(label) for label in note.cause_labels()],
        note.outcome,
        _short(next((c.found_by for c in note.causes if c.found_by), "")),
        [_short(reading) for reading in note.readings[:6]],
        note.source or note.origin,
        note.address,
    ]
    while len(card) > 2 and not card[-1]:
        card.pop()
    return card


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= ABBREVIATED else text[: ABBREVIATED - 1].rstrip() + "\u2026"
