"""A query against an index. find-score/search.js does the same, step by step, under the same names."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from generator.finding import codec, words
from generator.finding.asked import Asked, fitting, taken_apart, texts
from generator.finding.causes import CauseCount
from generator.finding.kinds import kinds_near, say_of
from generator.finding.likely import Pair, by_cause, likelihoods, pairs_of, rounded, says, shares_of, unseen
from generator.finding.reader import Column, Reader
from generator.finding.reasons import first_check, reasons

CAUSES = 6  # counted causes that are shown
FILTERS = ("cause", "kind", "outcome", "part", "block", "bench", "source")


@dataclass(frozen=True)
class Hit:
    """One note found. score has no unit; what it is made of stands in score.py. why: the words of the note,
    or whole symptoms of it, for which it was found. source, address: as in Record."""

    slug: str
    title: str
    date: str
    device_kind: str
    symptoms: tuple[str, ...]
    cause: str
    causes: tuple[str, ...]
    outcome: str
    found_by: str
    score: float
    why: tuple[str, ...] = ()
    source: str = ""
    address: str = ""


@dataclass(frozen=True)
class Found:
    """What a query found.

    results   best first, at most as many as asked for; total counts all that match
    causes    over all that match (the filter "cause" left out), likeliest first: share is how likely it is,
              notes the honest count; empty below three notes
    known     how many of the matching notes name a cause
    clear     whether the first cause stands out; where not, check is the first check that tells the likely
              ones apart
    other     how likely it is a cause that none of the library's notes has; with the shares of all that they have, 1
    kinds     the kinds of device that the kind given stands for; empty where it was not given or not known
    relaxed   no note of the kind has any of the words: these are all the notes of the kind
    facets    filter -> (value, notes), commonest first, over all that match
    """

    results: tuple[Hit, ...] = ()
    causes: tuple[CauseCount, ...] = ()
    total: int = 0
    known: int = 0
    clear: bool = False
    check: str = ""
    other: float = 0.0
    kinds: tuple[str, ...] = ()
    relaxed: bool = False
    facets: Mapping[str, tuple[tuple[str, int], ...]] = field(default_factory=dict)


def search(
    reader: Reader, query: str, kind: str = "", filters: Mapping[str, str] | None = None, most: int = 10
) -> Found:
    """The notes that fit a query, best first, and what it turned out to be over all that match.

    kind narrows to one kind of device; a kind that the library does not have is read as more words.
    filters: name (one of FILTERS) -> value. Other names raise ValueError.
    """
    filters = {name: value for name, value in (filters or {}).items() if value}
    for name in filters:
        if name not in FILTERS:
            raise ValueError(f"{name}: no such filter; known: {', '.join(FILTERS)}")
    near = kinds_near(reader, kind)
    # What begins with the last word counts, unless the query goes on after it.
    last = words.tokens(query[-200:])[-1:] if query[-1:].strip() and (near or not kind) else []
    asked = taken_apart(reader, query if near or not kind else f"{query}\n{kind}", last[0] if last else "")
    say = say_of(reader, near)
    share = shares_of(reader, texts(reader, asked), say)
    matching, fits = fitting(reader, asked, share, say)
    if not (fits or near or filters or not reader.notes):
        return Found()
    relaxed = bool(not fits and near and asked.wanted)
    likely = likelihoods(reader, share, say, says(reader, asked.said), bool(near))
    closeness = [rounded(share[n] * say[n]) if fits else say[n] for n in range(reader.notes)]
    counted = _count(reader, matching, closeness, filters)
    other = unseen(reader, say, bool(near), bool(kind.strip()) and not near)
    sure = reader.constants["relaxed"] if relaxed else reader.core["temperatures"][bool(near)]
    shares = by_cause(likely, sure, other)
    causes, check = _panel(reader, counted, shares)
    page = _ranked(reader, counted.shown, closeness, likely)[:most]
    if near and len(page) < min(most, reader.constants["page"]):
        page += _filled(
            reader, [n for n in range(reader.notes) if say[n] > 0], counted, closeness, page, most
        )
    kinds = [
        reader.columns[name].names[n] for name in ("kind", "category") for n in sorted(near.get(name, ()))
    ]
    return Found(
        results=tuple(_hit(reader, asked, n, score) for score, n in page),
        causes=causes,
        total=len(counted.shown),
        known=counted.known,
        clear=bool(causes) and causes[0].share >= reader.constants["clear"],
        check=check,
        other=rounded(other) if causes else 0.0,
        kinds=tuple(dict.fromkeys(kinds)),
        relaxed=relaxed,
        facets=counted.facets,
    )


class _Counted(NamedTuple):
    """shown: the matching notes that pass all filters; known: how many, the filter "cause" left out, name a
    cause; nearest: cause -> the nearest of those notes; passes: whether a note passes all filters."""

    shown: list[int]
    known: int
    nearest: dict[int, int]
    facets: dict[str, tuple[tuple[str, int], ...]]
    passes: Callable[[int], bool]


def _count(
    reader: Reader, matching: Sequence[int], closeness: Sequence[float], filters: Mapping[str, str]
) -> _Counted:
    """What the matching notes have, each filter's values counted over the notes that pass the other
    filters.
    """
    columns = {name: reader.columns[name] for name in FILTERS}
    passing = {}
    for name, value in filters.items():
        names = columns[name].names
        passing[name] = [value in (names[n] for n in combination) for combination in columns[name].sets]

    def failing(note: int) -> list[str]:
        return [name for name, passes in passing.items() if not passes[columns[name].place[note]]]

    counts = {name: [0] * len(column.sets) for name, column in columns.items()}
    nearest: dict[int, int] = {}
    shown = []
    known = 0
    for n in matching:
        failed = failing(n)
        if not failed:
            shown.append(n)
        for name, column in columns.items():
            if not failed or failed == [name]:
                counts[name][column.place[n]] += 1
        if not failed or failed == ["cause"]:
            known += bool(reader.causes_of[n])
            for cause in reader.causes_of[n]:
                if cause not in nearest or closeness[nearest[cause]] < closeness[n]:
                    nearest[cause] = n
    facets = {name: _facet(columns[name], counts[name]) for name in FILTERS}
    return _Counted(shown, known, nearest, facets, lambda note: not failing(note))


def _panel(
    reader: Reader, counted: _Counted, shares: Mapping[int, float]
) -> tuple[tuple[CauseCount, ...], str]:
    """The likeliest causes, and where the first one does not stand out, the check that tells them apart."""
    if counted.known < reader.constants["few"]:
        return (), ""
    names = reader.columns["cause"].names
    order = sorted(counted.nearest, key=lambda cause: (-shares.get(cause, 0.0), codec.order(names[cause])))
    held = dict(counted.facets["cause"])
    causes, told = [], []
    for cause in order[:CAUSES]:
        card = reader.card(counted.nearest[cause])
        share = shares.get(cause, 0.0)
        causes.append(CauseCount(names[cause], held[names[cause]], share, card.found_by))
        told.append((share, card))
    return tuple(causes), "" if causes[0].share >= reader.constants["clear"] else first_check(told)


def _ranked(
    reader: Reader, shown: Sequence[int], closeness: Sequence[float], likely: Mapping[Pair, float]
) -> list[tuple[float, int]]:
    """(score, note), best first: of one pair the nearest note first, the others far behind it."""
    before: dict[Pair, int] = {}
    out: list[tuple[float, int, int]] = []
    for n in sorted(shown, key=lambda n: (-closeness[n], n)):
        pair = max(pairs_of(reader, n), key=lambda pair: likely[pair])
        rank = before.get(pair, 0)
        before[pair] = rank + 1
        score = likely[pair] * math.sqrt(closeness[n]) / (1 + reader.constants["decay"] * rank)
        out.append((-rounded(score), len(out), n))
    return [(-score, n) for score, _, n in sorted(out)]


def _filled(
    reader: Reader, inside: Sequence[int], counted: _Counted, closeness: Sequence[float],
    page: Sequence[tuple[float, int]], most: int,
) -> list[tuple[float, int]]:  # fmt: skip
    """Further notes of the kind that was given, nearest first, so that a page is full where the kind has as
    many; they are shown behind those that match, and not counted."""
    room = min(most, int(reader.constants["page"])) - len(page)
    held = set(counted.shown)
    others = [n for n in inside if n not in held and counted.passes(n)]
    last = page[-1][0] if page else 0.0
    others.sort(key=lambda n: (-closeness[n], n))
    return [(rounded(last * closeness[n]), n) for n in others[:room]]


def _facet(column: Column, counts: Sequence[int]) -> tuple[tuple[str, int], ...]:
    """Values and how many notes have them, commonest first."""
    by_name = [0] * len(column.names)
    for combination, held in zip(column.sets, counts):
        for n in combination:
            by_name[n] += held
    ranked = sorted((-held, codec.order(name), name) for name, held in zip(column.names, by_name) if held)
    return tuple((name, -held) for held, _, name in ranked)


def _hit(reader: Reader, asked: Asked, note: int, score: float) -> Hit:
    card = reader.card(note)
    why = reasons(reader, asked, note, card)
    return Hit(
        card.slug, card.title, card.date, card.device_kind, tuple(card.symptoms), next(iter(card.causes), ""),
        tuple(card.causes), card.outcome, card.found_by, score, why, card.source, card.address,
    )  # fmt: skip
