"""A record made ready to be found: its terms, and the keys under which it meets other records.

An entry depends on its record and the thesaurus alone, on no other note, so that it is worked out once and kept.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from generator.finding import score, words
from generator.finding.record import Record
from generator.finding.thesaurus import Thesaurus, default

OFFERED_LONGEST = 24
_LEVELS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"  # of terms that typos may be taken for; the others' in small letters


@dataclass(frozen=True)
class Entry:
    """record: without its prose. packed: its terms, see levels(). symptoms, parts: keys that near notes share; headings:
    of each symptom, the key of the heading under which it stands. causes: key -> label, first one first. mark: changes
    with anything in the record; shown: with anything but its prose."""

    record: Record
    packed: str
    symptoms: tuple[str, ...]
    parts: tuple[str, ...]
    headings: tuple[str, ...]
    causes: dict[str, str]
    mark: str
    shown: str

    def levels(self) -> Iterable[tuple[int, bool, list[str]]]:
        """(level, whether typos and beginnings may be taken for them, terms); level 0: too weak to be found by."""
        for line in self.packed.split("\n") if self.packed else ():
            upper = line[0].upper()
            yield _LEVELS.index(upper), line[0] == upper, line[1:].split(" ")


def entry_of(record: Record, thesaurus: Thesaurus | None = None) -> Entry:
    """The entry of a record. Linear in the length of its texts."""
    thesaurus = thesaurus or default()
    counted, lengths = count_terms(fields_of(record), thesaurus)
    levels: dict[str, list[str]] = {}
    for term, counts in counted.items():
        level, offered = score.level(counts, lengths), offerable(term, counts)
        if level or offered:
            levels.setdefault(_LEVELS[level] if offered else _LEVELS[level].lower(), []).append(term)
    bare = record.without_prose()
    return Entry(
        bare,
        "\n".join(sign + " ".join(terms) for sign, terms in levels.items()),
        _symptom_keys(record, thesaurus),
        _part_keys(record, thesaurus),
        tuple(symptom_key(text, thesaurus) for text in record.symptoms),
        cause_keys(record, thesaurus),
        _mark(record),
        _mark(bare),
    )


def entry_data(entry: Entry) -> list[Any]:
    """An entry as plain data but for its record."""
    return [entry.packed, entry.symptoms, entry.parts, entry.headings, entry.causes, entry.mark, entry.shown]


def entry_from(record: Record, data: list[Any]) -> Entry:
    """The entry of a record out of what entry_data() gave. Raises TypeError, ValueError for anything else."""
    packed, symptoms, parts, headings, causes, mark, shown = data
    return Entry(
        record.without_prose(),
        packed,
        tuple(symptoms),
        tuple(parts),
        tuple(headings),
        dict(causes),
        mark,
        shown,
    )


def _mark(record: Record) -> str:
    return hashlib.sha256(repr(record).encode("utf-8", "surrogateescape")).hexdigest()[:16]


# --- terms ----------------------------------------------------------------------------------------------------------


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


def count_terms(
    fields: Mapping[str, tuple[str, ...]], thesaurus: Thesaurus
) -> tuple[dict[str, dict[str, int]], dict[str, int]]:
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


# --- keys -----------------------------------------------------------------------------------------------------------


def cause_key(label: str, thesaurus: Thesaurus) -> str:
    """One key for a cause however it is put: "Thermal fuse blown" and "blown thermal fuse"."""
    tokens = thesaurus.content(words.tokens(label)) or words.tokens(label)
    return " ".join(sorted({thesaurus.groups.get(token, (token,))[0] for token in tokens}))


def cause_keys(record: Record, thesaurus: Thesaurus) -> dict[str, str]:
    """Key -> label of the causes of a record, first one first."""
    out: dict[str, str] = {}
    for label in record.cause_labels():
        out.setdefault(cause_key(label, thesaurus), label)
    return out


def symptom_key(text: str, thesaurus: Thesaurus) -> str:
    """What an owner's sentence says the thing does: the symptom of the thesaurus that takes the most of its words to
    name, else its own words in order; "" where it has none. One only, so that no index shows a wording twice.
    """
    best, most = "", (0, 0)
    for clause in words.clauses(text):
        content = thesaurus.content(clause)
        for name in thesaurus.named(content):
            # of two phrases of one length the one that names the symptom in its own words is nearer
            size = (thesaurus.longest(name, content), len(set(words.tokens(name[1:])) & set(content)))
            if name.startswith("~") and size > most:
                best, most = name, size
    return best or " ".join(thesaurus.content(words.tokens(text))) or " ".join(words.tokens(text))


def _symptom_keys(record: Record, thesaurus: Thesaurus) -> tuple[str, ...]:
    """The symptoms that the thesaurus knows; of texts that it does not know, the text."""
    keys: dict[str, None] = {}
    for text in record.symptoms:
        named = [
            name
            for clause in words.clauses(text)
            for name in thesaurus.named(thesaurus.content(clause))
            if name.startswith("~")
        ]
        for key in named or [" ".join(sorted(set(thesaurus.content(words.tokens(text)))))]:
            if key:
                keys[key] = None
    return tuple(keys)


def _part_keys(record: Record, thesaurus: Thesaurus) -> tuple[str, ...]:
    """The failed parts by what they are; a part that failed the same way counts twice."""
    keys: dict[str, None] = {}
    for cause in record.causes:
        part = cause.part_name or cause.part
        if part:
            keys["part " + cause_key(part, thesaurus)] = None
            keys["cause " + cause_key(cause.label(), thesaurus)] = None
    return tuple(keys)
