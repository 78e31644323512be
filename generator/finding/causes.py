"""What it turned out to be, counted; and which other notes are near a note."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from generator.finding import words
from generator.finding.record import Record
from generator.finding.score import CONSTANTS
from generator.finding.thesaurus import Thesaurus, default


@dataclass(frozen=True)
class CauseCount:
    """How many of the notes had this cause.

    share is notes / the notes whose cause is known. found_by is the first check to make: how the cause
    was found most often. slugs are the notes, in the order given.
    """

    cause: str
    notes: int
    share: float
    found_by: str = ""
    slugs: tuple[str, ...] = ()


@dataclass(frozen=True)
class CauseCounts:
    """causes, commonest first; notes: how many were looked at; known: how many of them name a cause.

    causes is empty where fewer than three notes name one: too few to say anything.
    """

    causes: tuple[CauseCount, ...]
    notes: int
    known: int


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


def count_causes(records: Iterable[Record], thesaurus: Thesaurus | None = None, most: int = 12) -> CauseCounts:
    """The causes of some notes, commonest first, ties by name; at most `most` of them.

    A note counts once for each of its causes, so that shares may add up to more than 1.
    """
    thesaurus = thesaurus or default()
    labels: dict[str, Counter[str]] = {}
    checks: dict[str, Counter[str]] = {}
    slugs: dict[str, list[str]] = {}
    notes = known = 0
    for record in records:
        notes += 1
        mine = cause_keys(record, thesaurus)
        known += bool(mine)
        for key, label in mine.items():
            labels.setdefault(key, Counter())[label] += 1
            slugs.setdefault(key, []).append(record.slug)
        for cause in record.causes:
            if cause.found_by and cause.label():
                checks.setdefault(cause_key(cause.label(), thesaurus), Counter())[" ".join(cause.found_by.split())] += 1
    if known < CONSTANTS["few"]:
        return CauseCounts((), notes, known)
    counted = [
        CauseCount(_commonest(labels[key]), len(held), len(held) / known, _commonest(checks.get(key, Counter())), tuple(held))
        for key, held in slugs.items()
    ]
    counted.sort(key=lambda count: (-count.notes, count.cause))
    return CauseCounts(tuple(counted[:most]), notes, known)


def _commonest(counter: Counter[str]) -> str:
    """The commonest text; of equally common ones the first in the alphabet; "" of none."""
    return min(counter, key=lambda text: (-counter[text], text), default="")


@dataclass(frozen=True)
class Related:
    """Notes near a note, nearest first."""

    same_symptom: tuple[Record, ...]
    same_part: tuple[Record, ...]
    nearest_circuit: tuple[Record, ...]


class Relations:
    """Which notes are near which, over a whole library: built once, then asked for each note.

    Building is linear. Asking looks at no more than LONGEST notes of each list, newest first, so that a
    symptom that half the library has costs no more than a rare one.
    """

    LONGEST = 300
    COMBINATIONS = 400

    def __init__(self, records: Iterable[Record], thesaurus: Thesaurus | None = None) -> None:
        self.thesaurus = thesaurus or default()
        self.records = sorted(records, key=lambda r: r.slug)
        self.records.sort(key=lambda r: r.date, reverse=True)
        self._symptoms = [self._symptom_keys(record) for record in self.records]
        self._parts = [self._part_keys(record) for record in self.records]
        self._number = {record.slug: n for n, record in enumerate(self.records)}
        self._by_symptom = _inverted(self._symptoms)
        self._by_part = _inverted(self._parts)
        self._by_circuit: dict[frozenset[str], list[int]] = {}
        for n, record in enumerate(self.records):
            if record.block_kinds:
                self._by_circuit.setdefault(frozenset(record.block_kinds), []).append(n)
        self._combinations = _inverted([sorted(blocks) for blocks in self._by_circuit])
        self._sets = list(self._by_circuit)
        self._near: dict[frozenset[str], list[tuple[float, frozenset[str]]]] = {}
        self._kinds = [words.fold(record.device_kind) for record in self.records]
        self._ranked: dict[tuple[str, tuple[str, ...], str, int], list[int]] = {}  # notes alike have the same neighbours

    def of(self, record: Record, most: int = 5) -> Related:
        """The notes near a record; the record itself, known by its slug, is left out."""
        me = self._number.get(record.slug, -1)
        symptoms = self._symptoms[me] if me >= 0 else self._symptom_keys(record)
        parts = self._parts[me] if me >= 0 else self._part_keys(record)
        kind = words.fold(record.device_kind)
        return Related(
            self._sharing("symptom", symptoms, kind, me, most),
            self._sharing("part", parts, kind, me, most),
            self._circuit(record, me, most),
        )

    def _symptom_keys(self, record: Record) -> tuple[str, ...]:
        """The symptoms that the thesaurus knows; of texts that it does not know, the text."""
        keys: dict[str, None] = {}
        for text in record.symptoms:
            named = [
                name
                for clause in words.clauses(text)
                for name in self.thesaurus.named(self.thesaurus.content(clause))
                if name.startswith("~")
            ]
            for key in named or [" ".join(sorted(set(self.thesaurus.content(words.tokens(text)))))]:
                if key:
                    keys[key] = None
        return tuple(keys)

    def _part_keys(self, record: Record) -> tuple[str, ...]:
        """The failed parts by what they are; a part that failed the same way counts twice."""
        keys: dict[str, None] = {}
        for cause in record.causes:
            part = cause.part_name or cause.part
            if part:
                keys["part " + cause_key(part, self.thesaurus)] = None
                keys["cause " + cause_key(cause.label(), self.thesaurus)] = None
        return tuple(keys)

    def _sharing(self, sort: str, keys: tuple[str, ...], kind: str, me: int, most: int) -> tuple[Record, ...]:
        """Notes that share keys: rare keys count for more, the same kind of device for one more half."""
        asked = (sort, keys, kind, most)
        if asked not in self._ranked:
            lists, mine = (self._by_symptom, self._symptoms) if sort == "symptom" else (self._by_part, self._parts)
            scores: dict[int, float] = {}
            for key in keys:
                held = lists.get(key, [])
                for n in held[: self.LONGEST]:
                    scores[n] = scores.get(n, 0.0) + 1 / (1 + len(held) / len(self.records))
            for n in scores:
                scores[n] /= 1 + 0.1 * len(mine[n])
                if kind and self._kinds[n] == kind:
                    scores[n] *= 1.5
            self._ranked[asked] = _ranked(scores)[: most + 1]
        return tuple(self.records[n] for n in self._ranked[asked] if n != me)[:most]

    def _circuit(self, record: Record, me: int, most: int) -> tuple[Record, ...]:
        """Notes whose kinds of block are most nearly the same: Jaccard's coefficient of the two sets."""
        blocks = frozenset(record.block_kinds)
        if not blocks:
            return ()
        if blocks not in self._near:
            near: set[int] = set()
            for block in sorted(blocks, key=lambda block: (len(self._combinations.get(block, ())), block)):
                near.update(self._combinations.get(block, ())[: self.COMBINATIONS - len(near)])
            ranked = ((len(blocks & self._sets[n]) / len(blocks | self._sets[n]), self._sets[n]) for n in near)
            self._near[blocks] = sorted(ranked, key=lambda pair: (-pair[0], sorted(pair[1])))
        scores: dict[int, float] = {}
        for likeness, other in self._near[blocks]:
            if likeness <= 0.34 or len(scores) > most:
                break
            for n in self._by_circuit[other][: most + 1]:
                scores[n] = likeness
        return tuple(self.records[n] for n in _ranked(scores) if n != me)[:most]


def _ranked(scores: Mapping[int, float]) -> list[int]:
    """The numbers by falling score, newest first among equals."""
    return sorted(scores, key=lambda n: (-scores[n], n))


def related(record: Record, records: Iterable[Record] | Relations, most: int = 5) -> Related:
    """Notes with the same symptom, the same failed part, the nearest circuit.

    For more than one note, make the Relations of the library once and hand them in.
    """
    relations = records if isinstance(records, Relations) else Relations(records)
    return relations.of(record, most)


def _inverted(keys: Sequence[Sequence[str]]) -> dict[str, list[int]]:
    lists: dict[str, list[int]] = {}
    for n, mine in enumerate(keys):
        for key in mine:
            lists.setdefault(key, []).append(n)
    return lists
