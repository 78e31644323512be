"""A query against an index. find-score.js does the same, step by step, under the same names."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from generator.finding import codec, words
from generator.finding.causes import CauseCount
from generator.finding.kinds import kinds_near
from generator.finding.reader import Column, Reader

CAUSES = 6  # counted causes that are shown
FILTERS = ("cause", "kind", "outcome", "part", "block", "bench")


@dataclass(frozen=True)
class Hit:
    """One note found. score has no unit; what it is made of stands in score.py."""

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


@dataclass(frozen=True)
class Found:
    """What a query found.

    results   best first, at most as many as asked for; total counts all that match
    causes    over all that match (the filter "cause" left out), commonest first; empty below three notes
    known     how many of the matching notes name a cause: what the causes rest on
    kinds     the kinds of device that the kind given stands for; empty where it was not given or not known
    relaxed   no note of the kind has any of the words: these are all the notes of the kind
    facets    filter -> (value, notes), commonest first, over all that match
    """

    results: tuple[Hit, ...] = ()
    causes: tuple[CauseCount, ...] = ()
    total: int = 0
    known: int = 0
    kinds: tuple[str, ...] = ()
    relaxed: bool = False
    facets: Mapping[str, tuple[tuple[str, int], ...]] = field(default_factory=dict)


def similar(reader: Reader, token: str, unfinished: bool) -> list[tuple[str, float]]:
    """Words of the vocabulary like a token, most alike first; those that begin with it, if unfinished."""
    constants = reader.constants
    found: list[tuple[str, float]] = []
    if len(token) < (constants["begun"] if unfinished else 4):
        return found
    bits = words.letters(token)
    runs = [token[i : i + words.RUN_LEAST] for i in range(len(token) - words.RUN_LEAST + 1)]
    for word, other in zip(reader.vocabulary, reader.letters):
        if unfinished and word.startswith(token):
            found.append((word, constants["beginning"]))
            continue
        if len(token) < 4 or word == token:
            continue
        # Cheap first: words with too many other letters are only alike if they share a stem or a run.
        strange = (bits & ~other).bit_count() > 1 + len(token) // 5 or (other & ~bits).bit_count() > 1 + len(
            word
        ) // 5
        if strange and word[:4] != token[:4] and not any(run in word for run in runs):
            continue
        likeness = words.similarity(token, word)
        if likeness >= constants["alike"]:
            found.append((word, likeness))
    found.sort(key=lambda pair: (-pair[1], len(pair[0]), codec.order(pair[0])))
    return found[: int(constants["similar_most"])]


def asked_terms(reader: Reader, query: str) -> tuple[list[str], list[str]]:
    """The words of a query without those that say nothing, each once; the symptoms and devices it names."""
    thesaurus = reader.thesaurus
    tokens: dict[str, None] = {}
    named: dict[str, None] = {}
    room = int(reader.constants["tokens_most"])
    for clause in words.clauses(query):
        content = thesaurus.content(clause)[:room]
        room -= len(content)
        tokens.update(dict.fromkeys(content))
        named.update(dict.fromkeys(thesaurus.named(content)))
    return list(tokens), list(named)


def texts(
    reader: Reader, tokens: Sequence[str], named: Sequence[str], unfinished: str
) -> tuple[list[float], list[float]]:
    """How well the text of each note fits; for each cause, the lift that the words give it, multiplied."""
    constants = reader.constants
    total = [0.0] * reader.notes
    lift = [1.0] * len(reader.having)
    for token in tokens:
        exact = reader.packed(token)
        limit = exact[0] if exact else math.inf
        wanted = [(token, constants["exact"])]
        wanted += [(group, constants["group"]) for group in reader.thesaurus.word_groups(token)]
        ending = token == unfinished and token not in reader.known_words
        wanted += [
            (word, constants["similar"] * likeness) for word, likeness in similar(reader, token, ending)
        ]
        best: dict[int, float] = {}
        for term, weight in wanted:
            held = reader.packed(term)
            if held:
                unit = weight * min(held[0], limit) * constants["step"] / constants["levels"]
                for note, level in codec.unpack_postings(held[1], int(constants["levels"])):
                    if unit * level > best.get(note, 0.0):
                        best[note] = unit * level
        _add(reader, sorted(best.items()), total, lift)
    for name in named:
        held = reader.packed(name)
        if held:
            weight = constants["device" if name[0] == "@" else "symptom"]
            unit = weight * held[0] * constants["step"] / constants["levels"]
            postings = codec.unpack_postings(held[1], int(constants["levels"]))
            _add(reader, [(note, unit * level) for note, level in postings], total, lift)
    return total, lift


def _add(reader: Reader, values: Sequence[tuple[int, float]], total: list[float], lift: list[float]) -> None:
    """Adds what the notes have of one word, by rising note, to their totals and to the lift of their causes."""
    if not values:
        return
    most = max(value for _, value in values)
    shares = [0.0] * len(lift)
    whole = 0.0
    for note, value in values:
        total[note] += value
        whole += value / most
        for cause in reader.causes_of[note]:
            shares[cause] += value / most / len(reader.causes_of[note])
    mean, usual = whole / reader.notes, reader.constants["usual"]
    for cause, having in enumerate(reader.having):
        lift[cause] *= (shares[cause] + usual * mean) / ((having + usual) * mean)


def showing(reader: Reader, named: Sequence[str]) -> frozenset[int]:
    """The notes that have the symptom named, however they put it; the rarest, where several are named."""
    held = [packed for name in named if name[0] == "~" and (packed := reader.packed(name))]
    if not held:
        return frozenset()
    rarest = max(held, key=lambda packed: packed[0])
    return frozenset(note for note, _ in codec.unpack_postings(rarest[1], int(reader.constants["levels"])))


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
    constants = reader.constants
    near = kinds_near(reader, kind)
    # What begins with the last word counts, unless the query goes on after it.
    tokens, named = asked_terms(reader, query if near or not kind else f"{query}\n{kind}")
    last = words.tokens(query[-200:])[-1:] if query[-1:].strip() and (near or not kind) else []
    text, lift = texts(reader, tokens, named, last[0] if last else "")
    say = _say(reader, near)
    inside = [n for n in range(reader.notes) if say[n] > 0]
    best = max((text[n] for n in inside), default=0.0)
    relaxed = False
    if best > 0:
        same = showing(reader, named)
        matching = [n for n in inside if n in same or text[n] >= constants["match"] * best]
    elif near or filters or not reader.notes:
        relaxed = bool(near and tokens)
        matching = inside
    else:
        return Found()
    share = [min(1.0, value / best) if best > 0 else 0.0 for value in text]
    likely = _likely_causes(reader, share, say, lift, bool(near))
    closeness = {n: share[n] * say[n] if best > 0 else say[n] for n in matching}
    return _answer(reader, closeness, likely, filters, most, near, relaxed)


def _say(reader: Reader, near: Mapping[str, Mapping[int, float]]) -> list[float]:
    """For each note, how much it has to say given the kind of device; 0 for another kind."""
    if not near:
        return [1.0] * reader.notes
    says = []
    for name in ("kind", "category"):
        column = reader.columns[name]
        of_set = [
            max((near[name].get(n, 0.0) for n in combination), default=0.0) for combination in column.sets
        ]
        says.append([of_set[place] for place in column.place])
    return [max(pair) for pair in zip(*says)]


def _likely_causes(reader: Reader, share: Sequence[float], say: Sequence[float], lift: Sequence[float],
                   narrowed: bool) -> list[float]:  # fmt: skip
    """How likely each cause is, as a share of the likeliest: each note has a say by how near it is; and the words' lift."""
    constants = reader.constants
    votes = [0.0] * len(reader.columns["cause"].names)
    for n, causes in enumerate(reader.causes_of):
        if not causes:
            continue
        vote = share[n]
        for _ in range(int(constants["sharp"]) - 1):
            vote *= share[n]
        if narrowed:
            vote = say[n] * (vote + constants["prior"]) if say[n] > 0 else constants["outside"] * vote
        for cause in causes:
            votes[cause] += vote / len(causes)
    # The eighth root, in steps that every language rounds alike.
    votes = [vote * math.sqrt(math.sqrt(math.sqrt(more))) for vote, more in zip(votes, lift)]
    most = max(votes, default=0.0)
    return [vote / most for vote in votes] if most > 0 else votes


def _rounded(score: float) -> float:
    """To four places, halves up: the same in every language."""
    return math.floor(score * 10_000 + 0.5) / 10_000


def _answer(reader: Reader, closeness: Mapping[int, float], likely: Sequence[float], filters: Mapping[str, str],
            most: int, near: Mapping[str, Mapping[int, float]], relaxed: bool) -> Found:  # fmt: skip
    base = reader.constants["base"]
    causes_of = reader.causes_of
    columns = {name: reader.columns[name] for name in FILTERS}
    passing = {}
    for name, value in filters.items():
        names = columns[name].names
        passing[name] = [value in (names[n] for n in combination) for combination in columns[name].sets]
    counts = {name: [0] * len(column.sets) for name, column in columns.items()}
    best_of: dict[int, tuple[float, int]] = {}
    shown = []
    known = 0
    for n, close in closeness.items():
        mine = causes_of[n]
        likelihood = max((likely[c] for c in mine), default=0.0)
        score = _rounded(close * (base + likelihood))
        failing = [name for name, passes in passing.items() if not passes[columns[name].place[n]]]
        if not failing:
            shown.append((-score, n, close, likelihood))
        for name, column in columns.items():
            if not failing or failing == [name]:
                counts[name][column.place[n]] += 1
        if not failing or failing == ["cause"]:
            known += bool(mine)
            for cause in mine:
                best_of[cause] = min(best_of.get(cause, (1.0, 0)), (-score, n))
    facets = {name: _facet(columns[name], counts[name]) for name in FILTERS}
    causes = []
    if known >= reader.constants["few"]:
        number = {cause: n for n, cause in enumerate(columns["cause"].names)}
        for name, held in facets["cause"][:CAUSES]:
            causes.append(CauseCount(name, held, held / known, reader.card(best_of[number[name]][1])[7]))
    results = _mixed(reader, sorted(shown))
    kinds = [columns["kind"].names[n] for n in sorted(near.get("kind", ()))]
    kinds += [reader.columns["category"].names[n] for n in sorted(near.get("category", ()))]
    return Found(
        tuple(_hit(reader.card(n), -score) for score, n in results[:most]),
        tuple(causes), len(shown), known, tuple(dict.fromkeys(kinds)), relaxed, facets,
    )  # fmt: skip


def _mixed(reader: Reader, ranked: Sequence[tuple[float, int, float, float]]) -> list[tuple[float, int]]:
    """(-score, note) in an order that shows each likely cause early: its further notes count for less."""
    constants = reader.constants
    seen: dict[int, float] = {}
    held: Counter[int] = Counter()
    out = []
    for _, n, close, likelihood in ranked:
        mine = reader.causes_of[n]
        main = mine[0] if mine else -1
        held[main] += 1
        if held[main] > constants["window"]:
            continue
        decay = min((seen.get(cause, 1.0) for cause in mine), default=1.0)
        out.append((-_rounded(close * (constants["base"] + likelihood * decay)), n))
        for cause in mine:
            seen[cause] = seen.get(cause, 1.0) * constants["decay"]
    return sorted(out)


def _facet(column: Column, counts: Sequence[int]) -> tuple[tuple[str, int], ...]:
    """Values and how many notes have them, commonest first."""
    by_name = [0] * len(column.names)
    for combination, held in zip(column.sets, counts):
        for n in combination:
            by_name[n] += held
    ranked = sorted((-held, codec.order(name), name) for name, held in zip(column.names, by_name) if held)
    return tuple((name, -held) for held, _, name in ranked)


def _hit(card: Sequence[Any], score: float) -> Hit:
    slug, title, date, kind, symptoms, causes, outcome, found_by = card
    return Hit(
        slug,
        title,
        date,
        kind,
        tuple(symptoms),
        causes[0] if causes else "",
        tuple(causes),
        outcome,
        found_by,
        score,
    )
