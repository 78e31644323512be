"""The words of a query, and how well the text of each note fits them. find-score/asked.js does
the same, under the same names.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from generator.finding import codec, words
from generator.finding.lexicon import NEGATED, NOT, STILL, Lexicon
from generator.finding.reader import Reader

SHORTEST_PART = 4  # letters of a part of a compound
LINKS = ("", "s", "n", "en", "es", "er")  # what may stand between the two


@dataclass
class Asked:
    """A query taken apart. wanted: token -> term -> weight, the token's own term first; named: symptoms and
    devices; said: term -> how much of it, for what the words say of causes and kinds."""

    lexicon: Lexicon
    wanted: dict[str, dict[str, float]] = field(default_factory=dict)
    named: dict[str, None] = field(default_factory=dict)
    said: dict[str, float] = field(default_factory=dict)


def similar(reader: Reader, token: str, unfinished: bool) -> list[tuple[str, float]]:
    """Words of the vocabulary like a token, most alike first; those that begin with it, if unfinished."""
    constants = reader.constants
    found: list[tuple[str, float]] = []
    known = token in reader.known_words
    if not constants["similar_most"] or len(token) < (constants["begun"] if unfinished else 4):
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
        if likeness >= constants["alike"] and words.meant(token, word, known):
            found.append((word, likeness))
    found.sort(key=lambda pair: (-pair[1], len(pair[0]), codec.order(pair[0])))
    return found[: int(constants["similar_most"])]


def parted(reader: Reader, token: str) -> list[str]:
    """The two words of the library that an unknown word is made of (Pumpenmotor); the word itself, if it is
    not.
    """
    if len(token) < 2 * SHORTEST_PART or reader.knows(token):
        return [token]
    for cut in range(len(token) - SHORTEST_PART, SHORTEST_PART - 1, -1):
        if reader.knows(token[cut:]):
            for link in LINKS:
                first = token[: cut - len(link)]
                if token[:cut].endswith(link) and len(first) >= SHORTEST_PART and reader.knows(first):
                    return [first, token[cut:]]
    return [token]


def taken_apart(reader: Reader, query: str, unfinished: str = "") -> Asked:
    """A query as terms of the index. unfinished: its last word, while that is being written."""
    constants = reader.constants
    clauses = words.clauses(query)
    asked = Asked(reader.lexicon([token for clause in clauses for token in clause], unfinished))
    lexicon = asked.lexicon
    room = int(constants["tokens_most"])
    spared: list[tuple[str, bool]] = []
    for clause in clauses:
        content = lexicon.content(clause)[:room]
        room -= len(content)
        content = [part for token in content for part in parted(reader, token)]
        works = lexicon.placed(content, STILL)
        for place, (token, negated) in enumerate(zip(content, lexicon.negated(content))):
            if place in works or NOT in lexicon.word_groups(token):
                spared.append((token, negated))
                for term in (token, *lexicon.word_groups(token)):
                    asked.said[term] = 1.0
            elif token not in asked.wanted:
                _want(reader, asked, token, negated, token == unfinished and token not in reader.known_words)
        for name in lexicon.named(content):
            asked.said[name] = 1.0
            if name != STILL:
                asked.named[name] = None
    for token, negated in [] if asked.wanted else spared:
        _want(reader, asked, token, negated, False)
    return asked


def _want(reader: Reader, asked: Asked, token: str, negated: bool, unfinished: bool) -> None:
    """Adds a word, its groups and the words like it."""
    constants = reader.constants
    groups = asked.lexicon.word_groups(token)
    likes = similar(reader, token, unfinished)
    wanted = {token: constants["exact"]}
    wanted.update((group, constants["group"]) for group in groups)
    for word, likeness in likes:
        wanted.setdefault(word, constants["similar"] * likeness)
    if negated:
        wanted = {term: constants["negated"] * weight for term, weight in wanted.items()}
        for term in groups or (token,):
            wanted[NEGATED + term] = constants["group" if groups else "exact"]
            asked.said[NEGATED + term] = 1.0
    asked.wanted[token] = wanted
    for term in (token, *groups):
        asked.said[term] = 1.0
    if token not in reader.known_words and not groups:
        for word, likeness in likes[: int(constants["learned_most"])]:
            asked.said[word] = max(asked.said.get(word, 0.0), constants["similar"] * likeness)


def texts(reader: Reader, asked: Asked) -> list[float]:
    """How well the text of each note fits."""
    constants = reader.constants
    scale = constants["step"] / constants["levels"]
    total = [0.0] * reader.notes
    for token, wanted in asked.wanted.items():
        exact = reader.held(token)
        limit = exact.weight if exact else math.inf
        best: dict[int, float] = {}
        for term, weight in wanted.items():
            held = reader.held(term)
            if held:
                unit = weight * min(held.weight, limit) * scale
                for note, level in reader.postings(held):
                    if unit * level > best.get(note, 0.0):
                        best[note] = unit * level
        for note, value in best.items():
            total[note] += value
    for name in asked.named:
        held = reader.held(name)
        if held:
            unit = constants["device" if name[0] == "@" else "symptom"] * held.weight * scale
            for note, level in reader.postings(held):
                total[note] += unit * level
    return total


def showing(reader: Reader, named: Mapping[str, None]) -> frozenset[int]:
    """The notes that have the symptom named, however they put it; the rarest, where several are named. What a
    code means is the device's own affair: it does not make notes alike."""
    held = [
        found
        for name in named
        if name[0] == "~" and name not in reader.core["codes"] and (found := reader.held(name))
    ]
    if not held:
        return frozenset()
    return frozenset(note for note, _ in reader.postings(max(held, key=lambda found: found.weight)))


def fitting(
    reader: Reader, asked: Asked, share: Sequence[float], say: Sequence[float]
) -> tuple[list[int], bool]:
    """The notes that match; whether any note has any of the words: if not, they are all that say something."""
    inside = [n for n in range(reader.notes) if say[n] > 0]
    if not any(share[n] > 0 for n in inside):
        return inside, False
    same = showing(reader, asked.named)
    return [n for n in inside if share[n] >= reader.constants["match"] or n in same], True
