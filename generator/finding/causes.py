"""What it turned out to be, counted; and which other notes are near a note."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from generator.finding.entry import Entry, newest_first
from generator.finding.record import Record
from generator.finding.score import CONSTANTS

MOST = 12  # causes that are told


@dataclass(frozen=True)
class CauseCount:
    """How many of the notes had this cause.

    share is notes / the notes whose cause is known; in the answer to a query, how likely the cause is.
    found_by is the first check to make: how the cause was found most often. slugs are the notes, in the order
    given.
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


def count_causes(entries: Iterable[Entry]) -> CauseCounts:
    """The causes of some notes, commonest first, ties by name; at most MOST of them.

    A note counts once for each of its causes, so that shares may add up to more than 1.
    """
    labels: dict[str, Counter[str]] = {}
    checks: dict[str, Counter[str]] = {}
    slugs: dict[str, list[str]] = {}
    notes = known = 0
    for entry in entries:
        notes += 1
        record, mine = entry.record, entry.causes
        known += bool(mine)
        for key, label in mine.items():
            labels.setdefault(key, Counter())[label] += 1
            slugs.setdefault(key, []).append(record.slug)
        key_of = {label: key for key, label in mine.items()}
        for cause in record.causes:
            if cause.found_by and cause.label() in key_of:
                checks.setdefault(key_of[cause.label()], Counter())[" ".join(cause.found_by.split())] += 1
    if known < CONSTANTS["few"]:
        return CauseCounts((), notes, known)
    counted = [
        CauseCount(
            _commonest(labels[key]),
            len(held),
            len(held) / known,
            _commonest(checks.get(key, Counter())),
            tuple(held),
        )
        for key, held in slugs.items()
    ]
    counted.sort(key=lambda count: (-count.notes, count.cause))
    return CauseCounts(tuple(counted[:MOST]), notes, known)


def _commonest(counter: Counter[str]) -> str:
    """The commonest text; of equally common ones the first in the alphabet; "" of none."""
    return min(counter, key=lambda text: (-counter[text], text), default="")


@dataclass(frozen=True)
class Related:
    """Notes near a note, nearest first."""

    same_symptom: tuple[Entry, ...]
    same_part: tuple[Entry, ...]
    nearest_circuit: tuple[Entry, ...]


@dataclass(frozen=True)
class _Shared:
    """Keys that notes may share. lists: key -> numbers of its notes; spread: by number, how little one of
    many keys says; ranked: what was asked before, for notes alike have the same neighbours."""

    lists: dict[str, list[int]]
    spread: list[float]
    ranked: dict[tuple[tuple[str, ...], str, int], list[int]]

    @classmethod
    def over(cls, keys: Sequence[Sequence[str]]) -> _Shared:
        return cls(_inverted(keys), [1 + 0.1 * len(mine) for mine in keys], {})


class Relations:
    """Which notes are near which, over a whole library: built once, then asked for each note.

    Building is linear. Asking looks at no more than LONGEST notes of each list, newest first, so that a
    symptom that half the library has costs no more than a rare one.
    """

    LONGEST = 150
    COMBINATIONS = 400

    def __init__(self, entries: Iterable[Entry]) -> None:
        self.entries = newest_first(entries)
        self._by_symptom = _Shared.over([entry.symptoms for entry in self.entries])
        self._by_part = _Shared.over([entry.parts for entry in self.entries])
        self._number = {entry.record.slug: n for n, entry in enumerate(self.entries)}
        self._by_circuit: dict[frozenset[str], list[int]] = {}
        for n, entry in enumerate(self.entries):
            if entry.record.block_kinds:
                self._by_circuit.setdefault(frozenset(entry.record.block_kinds), []).append(n)
        self._combinations = _inverted([sorted(blocks) for blocks in self._by_circuit])
        self._sets = list(self._by_circuit)
        self._near: dict[frozenset[str], list[tuple[float, frozenset[str]]]] = {}
        self._kinds = [entry.device for entry in self.entries]

    def of(self, entry: Entry, most: int = 5) -> Related:
        """The notes near an entry; itself, known by its slug, is left out."""
        me = self._number.get(entry.record.slug, -1)
        kind = entry.device
        return Related(
            self._sharing(self._by_symptom, entry.symptoms, kind, me, most),
            self._sharing(self._by_part, entry.parts, kind, me, most),
            self._circuit(entry.record, me, most),
        )

    def _sharing(
        self, shared: _Shared, keys: tuple[str, ...], kind: str, me: int, most: int
    ) -> tuple[Entry, ...]:
        """Notes that share keys: rare keys count for more, the same kind of device for one more half."""
        asked = (keys, kind, most)
        if asked not in shared.ranked:
            scores: dict[int, float] = {}
            for key in keys:
                held = shared.lists.get(key, [])
                rare = 1 / (1 + len(held) / len(self.entries))
                for n in held[: self.LONGEST]:
                    scores[n] = scores.get(n, 0.0) + rare
            kinds, spread = self._kinds, shared.spread
            for n, score in scores.items():
                scores[n] = score / spread[n] * (1.5 if kind and kinds[n] == kind else 1)
            shared.ranked[asked] = _ranked(scores)[: most + 1]
        return tuple(self.entries[n] for n in shared.ranked[asked] if n != me)[:most]

    def _circuit(self, record: Record, me: int, most: int) -> tuple[Entry, ...]:
        """Notes whose kinds of block are most nearly the same: Jaccard's coefficient of the two sets."""
        blocks = frozenset(record.block_kinds)
        if not blocks:
            return ()
        if blocks not in self._near:
            near: set[int] = set()
            for block in sorted(blocks, key=lambda block: (len(self._combinations.get(block, ())), block)):
                near.update(self._combinations.get(block, ())[: self.COMBINATIONS - len(near)])
            ranked = (
                (len(blocks & self._sets[n]) / len(blocks | self._sets[n]), self._sets[n]) for n in near
            )
            self._near[blocks] = sorted(ranked, key=lambda pair: (-pair[0], sorted(pair[1])))
        scores: dict[int, float] = {}
        for likeness, other in self._near[blocks]:
            if likeness <= 0.34 or len(scores) > most:
                break
            for n in self._by_circuit[other][: most + 1]:
                scores[n] = likeness
        return tuple(self.entries[n] for n in _ranked(scores) if n != me)[:most]


def _ranked(scores: Mapping[int, float]) -> list[int]:
    """The numbers by falling score, newest first among equals."""
    return sorted(sorted(scores), key=scores.__getitem__, reverse=True)  # which leaves equals in their order


def _inverted(keys: Sequence[Sequence[str]]) -> dict[str, list[int]]:
    lists: dict[str, list[int]] = {}
    for n, mine in enumerate(keys):
        for key in mine:
            lists.setdefault(key, []).append(n)
    return lists
