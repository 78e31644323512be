"""The score: one definition, for the site and for the terminal.

Everything that weighs stands here as data. It travels inside the index, and find-score.js does the
same arithmetic with the same numbers.

    weight of a term in a note   BM25 over fields (Robertson, Zaragoza: The Probabilistic Relevance
                                 Framework, 2009): tf = sum over fields of weight * count
                                 / (1 - b + b * length / usual length); tf / (K1 + tf), in LEVELS steps. The usual
                                 length stands here, not the library's own mean, so that a note's weights do not
                                 depend on the other notes
    weight of a term             ln(1 + (N - n + 0.5) / (n + 0.5)) over the whole library, times how telling it
                                 is: how often two notes that have it have the same cause. A make says
                                 little of the cause, "tripping" much. In steps of WEIGHT_STEP
    text of a note               for each word asked: the best of the word itself, its group, words like
                                 it; and for each symptom or device named: its own weight; summed
    say of a note                text as a share of the closest note's, to the power of sharp
    lift of a cause by a word    how many times as often its notes have the word as all notes have
    likelihood of a cause        the say of the notes that have it, times the eighth root of the product of its lifts
                                 (the words are not independent of one another), as a share of the likeliest cause's
    score of a note              text as a share of the closest note's * (base + likelihood of its cause);
                                 of the second note of a cause decay of the likelihood counts, of the
                                 third decay squared, so that the other causes are seen too
"""

from __future__ import annotations

import math
from collections.abc import Mapping

# Field: (weight, b, usual length in words). b says how much a field longer than usual is held against its words.
FIELDS: dict[str, tuple[float, float, int]] = {
    "symptoms": (3.0, 0.4, 6),
    "title": (2.0, 0.4, 5),
    "signals": (1.5, 0.4, 4),
    "kind": (2.0, 0.0, 2),
    "category": (0.7, 0.0, 2),
    "model": (0.6, 0.0, 3),
    "cause": (1.2, 0.4, 12),
    "parts": (0.5, 0.5, 12),
    "prose": (0.35, 0.75, 250),
}
# Fields in which word groups count, and those in which symptoms and devices are looked for.
GROUPED = ("symptoms", "title", "signals", "kind", "category", "cause")
NAMED = ("symptoms", "title", "signals", "kind", "category")
# Fields whose words are offered for typos and beginnings of words.
OFFERED = ("symptoms", "title", "signals", "kind", "category", "cause")

K1 = 1.2
LEVELS = 15
WEIGHT_STEP = 0.02
TELLING_BASE = 0.1
TELLING_PAIRS = 6  # pairs of notes' worth of the library's average, for terms in few notes

CONSTANTS: dict[str, float] = {
    "exact": 1.0,
    "group": 0.7,
    "similar": 0.75,  # times the similarity
    "begun": 3,  # letters of an unfinished word from which on it counts
    "beginning": 0.8,  # similarity of a word that begins as the last, unfinished one does
    "alike": 0.66,  # least similarity that counts
    "similar_most": 12,  # words like one asked word
    "symptom": 2.0,
    "device": 1.5,
    "tokens_most": 24,  # words of a query that are looked at
    "match": 0.35,  # a note matches from this share of the closest note's text on, or if it has the symptom named
    "sharp": 3.0,  # text to this power is a note's say about the cause
    "outside": 0.1,  # say of a note of another kind, when the kind is given
    "usual": 20.0,  # notes' worth of the whole library's habit, against which a cause's own notes stand
    "prior": 0.005,  # say of a note of the kind that has none of the words
    "base": 0.1,
    "decay": 0.1,
    "window": 20,  # best notes of each cause that are put in order; those behind them are not shown
    "kind_like": 0.6,  # least likeness of a kind of device
    "kind_near": 0.85,  # and of the likeness of the best one
    "kind_inside": 0.7,  # say of "travel kettle" where the library has "kettle" itself
    "few": 3,  # no causes are counted over fewer notes
    "levels": LEVELS,
    "step": WEIGHT_STEP,
}


def weight_steps(notes: int, holding: int, telling: float) -> int:
    """Weight of a term that `holding` of `notes` notes have, in steps of WEIGHT_STEP; at least 1."""
    idf = math.log(1 + (notes - holding + 0.5) / (holding + 0.5))
    return max(1, round(idf * telling / WEIGHT_STEP))


def agreement(causes: Mapping[int, int], pairs: float = 0.0, average: float = 0.0) -> float:
    """How often two notes have the same cause, 0 to 1 (Simpson's index): cause -> notes.

    pairs pairs that agree as often as the average are added, so that a term in few notes stays near it.
    """
    whole = sum(causes.values())
    same = sum(n * (n - 1) for n in causes.values())
    possible = whole * (whole - 1) + pairs
    return (same + pairs * average) / possible if possible else average


def telling(causes: Mapping[int, int], average: float) -> float:
    """How telling a term is, of the causes of the notes that have it; 1 for a term like the average."""
    mine = agreement(causes, TELLING_PAIRS, average)
    return (TELLING_BASE + math.sqrt(mine)) / (TELLING_BASE + math.sqrt(average))


def level(counts: Mapping[str, float], lengths: Mapping[str, int]) -> int:
    """How strongly a note has a term, 0 to LEVELS: counts of the term and lengths, both by field."""
    tf = 0.0
    for name, count in counts.items():
        weight, b, usual = FIELDS[name]
        tf += weight * count / (1 - b + b * lengths[name] / usual)
    return round(LEVELS * tf / (K1 + tf))
