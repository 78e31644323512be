"""Why a note was found, and which check tells likely causes apart. find-reasons.js does the same, under the
same names.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from generator.finding import words
from generator.finding.asked import Asked
from generator.finding.lexicon import NOT
from generator.finding.reader import Card, Reader

SHORTEST = 3  # letters of a word that is told
QUOTED = 60  # characters of a symptom that is told whole
REASONS = 4  # that are told of one note
EDGES = ".,;:!?()[]\"'\u2018\u2019\u201c\u201d\u201e\u00ab\u00bb"  # what is left off around a word


def reasons(reader: Reader, asked: Asked, note: int, card: Card) -> tuple[str, ...]:
    """The symptoms of a note that say what the query says, and its words that do; of a note that has none of
    them where people look, the words that stand elsewhere in it, and what it says in another language. A "not" or
    an "on" alone is no reason.
    """
    lexicon = asked.lexicon
    out: dict[str, None] = {}
    for text in card.symptoms:
        if len(text) > QUOTED:
            continue
        clauses = [lexicon.content(clause) for clause in words.clauses(text)]
        if any(
            name[0] == "~" and name in asked.named for clause in clauses for name in lexicon.named(clause)
        ):
            out[text] = None
    terms = {term for wanted in asked.wanted.values() for term in wanted if term != NOT}
    seen = {token for text in out for token in words.tokens(text)}

    def meant(token: str) -> bool:
        groups = lexicon.word_groups(token)
        told = len(token) >= SHORTEST and token not in seen and NOT not in groups
        return told and (token in terms or not terms.isdisjoint(groups))

    for text in (*card.symptoms, card.title, *card.causes):
        for word in text.split(" "):
            tokens = words.tokens(word)
            if any(meant(token) for token in tokens):
                seen.update(tokens)
                out[word.strip(EDGES)] = None
    if not out:
        for term in (*asked.wanted, *asked.named):
            held = reader.held(term)
            if held and any(n == note for n, _ in reader.postings(held)):
                out[term if term in asked.wanted else term[1:].replace("-", " ")] = None
    return tuple(out)[:REASONS]


def first_check(likely: Sequence[tuple[float, Card]]) -> str:
    """The check that tells likely causes apart best: (likelihood, card of its nearest note) of each.

    A check that found a cause shows that cause, or that it is another one; a reading that was taken at
    several of them tells those apart. Best is what leaves the least to be known: the most entropy of what the
    check can show (Shannon 1948), of equals the one that found the likeliest cause. "" where no note names a
    check.
    """
    checks: dict[str, tuple[str, list[float]]] = {}
    whole = sum(chance for chance, _ in likely)
    for chance, card in likely:
        for check in dict.fromkeys((*filter(None, [card.found_by]), *card.readings)):
            checks.setdefault(" ".join(words.tokens(check)), (check, []))[1].append(chance)
    best, most = "", 0.0
    for check, shown in checks.values():
        rest = max(0.0, whole - sum(shown))
        told = (
            -sum(part / whole * math.log(part / whole) for part in (*shown, rest) if part > 0)
            if whole > 0
            else 0.0
        )
        told = math.floor(told * 1_000_000 + 0.5) / 1_000_000
        if told > most:
            best, most = check, told
    return best
