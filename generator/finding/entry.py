"""A record made ready to be found: its terms, and the keys under which it meets other records.

An entry depends on its record and the thesaurus alone, on no other note, so that it is worked out once and
kept.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

from generator.finding import score, words
from generator.finding.lexicon import NEGATED, NOT, STILL, Lexicon
from generator.finding.record import Record
from generator.finding.thesaurus import Thesaurus, default

OFFERED_LONGEST = 24
SHORT = 60  # characters of a text that many notes may have alike
_LEVELS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
# Where a term of a note stands, as bits.
OWN, WIDE, OFFERED = 1, 2, 4


class Terms(NamedTuple):
    """Terms that one note has alike. level: how strongly, 0: too weak to be found by. own: the owner says
    them; wide: they stand in the note's head at all; offered: typos and beginnings may be taken for them."""

    level: int
    own: bool
    wide: bool
    offered: bool
    terms: list[str]


@dataclass(frozen=True)
class Entry:
    """record: without its prose. packed: its terms, see terms(). symptoms, parts: keys that near notes share;
    headings: of each symptom, the key of the heading under which it stands. causes: key -> label, first one
    first. device: the key of its kind of device. languages: of its owner's words. mark: changes with anything
    in the record; shown: with anything but its prose."""

    record: Record
    packed: str
    symptoms: tuple[str, ...]
    parts: tuple[str, ...]
    headings: tuple[str, ...]
    causes: dict[str, str]
    device: str
    languages: tuple[str, ...]
    mark: str
    shown: str

    def terms(self) -> Iterable[Terms]:
        """Its terms, those alike together."""
        for line in self.packed.split("\n") if self.packed else ():
            bits = int(line[1])
            level = _LEVELS.index(line[0])
            yield Terms(level, bool(bits & OWN), bool(bits & WIDE), bool(bits & OFFERED), line[2:].split(" "))


def entry_of(record: Record, thesaurus: Thesaurus | None = None) -> Entry:
    """The entry of a record. Linear in the length of its texts."""
    thesaurus = thesaurus or default()
    strengths, bits = weigh_terms(fields_of(record), thesaurus)
    held: dict[str, list[str]] = {}
    for term, strength in strengths.items():
        level, where = score.level(strength), bits[term]
        if where & OFFERED and not offerable(term):
            where -= OFFERED
        if level or where:
            held.setdefault(f"{_LEVELS[level]}{where}", []).append(term)
    bare = record.without_prose()
    said = " ".join((*record.symptoms, record.title))
    shown = _mark(repr(bare))
    return Entry(
        bare,
        "\n".join(sign + " ".join(terms) for sign, terms in held.items()),
        _symptom_keys(record, thesaurus),
        _part_keys(record, thesaurus),
        tuple(symptom_key(text, thesaurus) for text in record.symptoms),
        cause_keys(record, thesaurus),
        device_key(record.device_kind, thesaurus),
        thesaurus.spoken(words.tokens(said)),
        _mark(shown + record.prose),
        shown,
    )


def entry_data(entry: Entry) -> list[Any]:
    """An entry as plain data but for its record."""
    return [entry.packed, entry.symptoms, entry.parts, entry.headings, entry.causes, entry.device, entry.languages,
            entry.mark, entry.shown]  # fmt: skip


def entry_from(record: Record, data: list[Any]) -> Entry:
    """The entry of a record out of what entry_data() gave. Raises TypeError, ValueError for anything else."""
    packed, symptoms, parts, headings, causes, device, languages, mark, shown = data
    return Entry(record.without_prose(), packed, tuple(symptoms), tuple(parts), tuple(headings), dict(causes), device,
                 tuple(languages), mark, shown)  # fmt: skip


def _mark(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()[:16]


# --- terms -----------------------------------------------------------------------------------------------


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


def weigh_terms(
    fields: Mapping[str, tuple[str, ...]], thesaurus: Thesaurus
) -> tuple[dict[str, float], dict[str, int]]:
    """Term -> its strength over all fields, as score.py has it; term -> where it stands."""
    strengths: dict[str, float] = {}
    bits: dict[str, int] = {}
    for name, texts in fields.items():
        if not any(texts):
            continue
        length, found = read_field(name, texts, thesaurus)
        if found:
            unit, where = score.unit(name, length), _WHERE[name]
            for term, count in found.items():
                strengths[term] = strengths.get(term, 0.0) + unit * count
                bits[term] = bits.get(term, 0) | where
    return strengths, bits


_WHERE = {
    name: OWN * (name in score.OWN) | WIDE * (name in score.WIDE) | OFFERED * (name in score.OFFERED)
    for name in score.FIELDS
}


def read_field(name: str, texts: tuple[str, ...], thesaurus: Thesaurus) -> tuple[int, Counter[str]]:
    """The length of a field in words that say something, and its terms counted."""
    found: Counter[str] = Counter()
    length = 0
    for text in texts:
        if text:
            read = _read if len(text) > SHORT else _read_short
            content, terms = read(text, name in score.GROUPED, name in score.NAMED, thesaurus)
            length += content
            found.update(terms)
    return length, found


def _read(text: str, grouped: bool, named: bool, thesaurus: Thesaurus) -> tuple[int, list[str]]:
    """How many words of a text say something, and its terms; grouped: also groups; named: also symptoms and
    devices.
    """
    if not grouped:
        tokens = words.tokens(text)
        content = thesaurus.lexicon(thesaurus.spoken(tokens)).content(tokens)
        return len(content), content
    lexicon, clauses = _heard(text, thesaurus)
    return sum(map(len, clauses)), [
        term for clause in clauses for term in clause_terms(clause, lexicon, named)
    ]


_read_short = lru_cache(maxsize=20_000)(_read)  # kinds, makes and parts are the same in many notes


@lru_cache(maxsize=16)  # an owner's words are asked for three times
def _heard(text: str, thesaurus: Thesaurus) -> tuple[Lexicon, list[list[str]]]:
    """What the words of a text say, and its clauses without those that say nothing."""
    clauses = words.clauses(text)
    lexicon = thesaurus.lexicon(thesaurus.spoken(token for clause in clauses for token in clause))
    return lexicon, [lexicon.content(clause) for clause in clauses]


def clause_terms(content: list[str], lexicon: Lexicon, named: bool) -> Iterator[str]:
    """The terms of one clause: its words and their groups, both once more where they are negated, and what it
    names.
    """
    for token, negated in zip(content, lexicon.negated(content)):
        groups = lexicon.word_groups(token)
        yield token
        yield from groups
        if negated and named:
            yield from (NEGATED + term for term in groups or (token,))
    if named:
        yield from lexicon.named(content)


@lru_cache(maxsize=200_000)
def offerable(term: str) -> bool:
    """Whether a term is a word that typos and beginnings may be taken for."""
    return 2 < len(term) <= OFFERED_LONGEST and term[0] not in "=~@!" and not any(c.isdigit() for c in term)


def newest_first(entries: Iterable[Entry]) -> list[Entry]:
    """Notes by their days, those of one day by name."""
    return sorted(sorted(entries, key=lambda e: e.record.slug), key=lambda e: e.record.date, reverse=True)


# --- keys ------------------------------------------------------------------------------------------------


@lru_cache(maxsize=5_000)
def cause_key(label: str, thesaurus: Thesaurus) -> str:
    """One key for a cause however it is put: "Thermal fuse blown" and "blown thermal fuse"."""
    tokens = words.tokens(label)
    lexicon = thesaurus.lexicon(thesaurus.spoken(tokens))
    tokens = lexicon.content(tokens) or tokens
    return " ".join(sorted({lexicon.groups.get(token, (token,))[0] for token in tokens}))


@lru_cache(maxsize=5_000)
def device_key(kind: str, thesaurus: Thesaurus) -> str:
    """One key for a kind of device however it is called: kettle, electric kettle, Wasserkocher."""
    tokens = words.tokens(kind)
    lexicon = thesaurus.lexicon(thesaurus.spoken(tokens))
    devices = [name for name in lexicon.named(lexicon.content(tokens)) if name[0] == "@"]
    return devices[0] if len(devices) == 1 else " ".join(tokens)


def cause_keys(record: Record, thesaurus: Thesaurus) -> dict[str, str]:
    """Key -> label of the causes of a record, first one first."""
    out: dict[str, str] = {}
    for label in record.cause_labels():
        out.setdefault(cause_key(label, thesaurus), label)
    return out


@lru_cache(maxsize=5_000)
def symptom_key(text: str, thesaurus: Thesaurus) -> str:
    """What an owner's sentence says the thing does: the symptom of the thesaurus that takes the most of its
    words to name, else its own words in order; "" where it has none. One only, so that no index shows a
    wording twice.
    """
    lexicon, clauses = _heard(text, thesaurus)
    best, most = "", (0, 0)
    for content in clauses:
        for name, length in lexicon.sizes(content).items():
            # of two phrases of one length the one that names the symptom in its own words is nearer
            size = (length, len(set(words.tokens(name[1:])) & set(content)))
            if name[0] == "~" and name != STILL and size > most:
                best, most = name, size
    return best or " ".join(lexicon.content(words.tokens(text))) or " ".join(words.tokens(text))


def complaints_of(symptoms: Iterable[str], thesaurus: Thesaurus) -> tuple[str, ...]:
    """The keys of what an owner says that the thing does; "does not kick", of which the thesaurus knows nothing, says that
    it does not work."""
    found = []
    for text in symptoms:
        key = symptom_key(text, thesaurus)
        lexicon, clauses = _heard(text, thesaurus)
        denies = any(content and NOT in lexicon.word_groups(content[0]) for content in clauses)
        found.append("~does-not-work" if denies and key[0] != "~" else key)
    return tuple(found)


def _symptom_keys(record: Record, thesaurus: Thesaurus) -> tuple[str, ...]:
    """The symptoms that the thesaurus knows; of texts that it does not know, the text. What a code means is
    the device's own affair: two things that blink are alike only if they are of one kind.
    """
    keys: dict[str, None] = {}
    for text in record.symptoms:
        lexicon, clauses = _heard(text, thesaurus)
        named = [name for content in clauses for name in lexicon.named(content) if name[0] == "~"]
        for key in [name for name in named if name != STILL] or [
            " ".join(sorted({token for content in clauses for token in content}))
        ]:
            if key in score.CODES:
                key += " " + device_key(record.device_kind, thesaurus)
            if key:
                keys[key] = None
    return tuple(keys)


def _part_keys(record: Record, thesaurus: Thesaurus) -> tuple[str, ...]:
    """The failed parts by what they are; a part that failed the same way counts twice. What failed without being a part
    (a magnet that was dirty) is the device's own affair."""
    keys: dict[str, None] = {}
    for cause in record.causes:
        part = cause.part_name or cause.part
        if part:
            keys["part " + cause_key(part, thesaurus)] = None
        if label := cause.label():
            of = "" if part else device_key(record.device_kind, thesaurus) + ": "
            keys[f"cause {of}{cause_key(label, thesaurus)}"] = None
    return tuple(keys)
