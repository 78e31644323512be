"""The score: one table of numbers, for the site and for the terminal.

Everything that weighs stands here as data. It travels inside the index, and find-score/ does the
same arithmetic with the same numbers.

    strength of a term in a note BM25 over fields (Robertson, Zaragoza: The Probabilistic Relevance
                                 Framework, 2009): tf = sum over fields of weight * count
                                 / (1 - b + b * length / usual length); tf / (K1 + tf), in LEVELS steps. The
                                 usual length stands here, not the library's own mean, so that a note's
                                 strengths do not depend on the other notes
    weight of a term             ln(1 + (N - n + 0.5) / (n + 0.5)) over the whole library, in steps of
                                 WEIGHT_STEP
    text of a note               for each word asked, but for a bare "not" and for what the thing still does: the
                                 best of the word itself, its group, words like it; and for each symptom or
                                 device named: its own weight; summed
    share of a note              its text over the best note's, at most 1
    what the words say           learned from the library by learn.py: for each cause and each kind of device,
                                 how much likelier the words make it than it is without them, E and F, as
                                 logarithms
    a pair (kind k, cause c)     Z = pair_texts * ln(V + pair_floor) + pair_notes * ln N + pair_cause * E
                                 + pair_kind * F; V: the shares of its notes to the third, summed; N: how many
                                 they are; P: the softmax of Z over all pairs. Where a kind is given: its
                                 pairs only, without F
    likelihood of a cause        the sum over the kinds of P to the power of a temperature that calibrate.py
                                 measures ("relaxed" where no note of the kind has any of the words), as a share
                                 of all, less the likelihood of one that nobody has seen
    score of a note              P of its pair * sqrt(share) / (1 + decay * r); r: better notes of the same
                                 pair, so that the other causes are seen too
"""

from __future__ import annotations

import math

# Field: (weight, b, usual length in words). b says how much a longer field is held against its words.
FIELDS: dict[str, tuple[float, float, int]] = {
    "symptoms": (3.0, 0.4, 6), "title": (2.0, 0.4, 5), "signals": (1.5, 0.4, 4), "kind": (2.0, 0.0, 2),
    "category": (0.7, 0.0, 2), "model": (0.6, 0.0, 3), "cause": (1.2, 0.4, 12), "parts": (0.5, 0.5, 12),
    "prose": (0.35, 0.75, 250),
}  # fmt: skip
# Fields in which word groups count, and those in which symptoms and devices are looked for.
GROUPED = ("symptoms", "title", "signals", "kind", "category", "cause")
NAMED = ("symptoms", "title", "signals", "kind", "category")
# Fields whose words are offered for typos and beginnings of words.
OFFERED = ("symptoms", "title", "signals", "kind", "category", "cause")
# What the owner says, from which causes are learned; what the note's head says, from which kinds are learned.
OWN = ("symptoms", "signals")
WIDE = ("symptoms", "signals", "title", "kind", "category", "model")
# Symptoms that mean one thing in one kind of device and another in the next.
CODES = frozenset(("~blinks", "~shows-an-error"))
K1 = 1.2
LEVELS = 15
WEIGHT_STEP = 0.02
LEARNED_STEP = 0.25  # of what the words say
LEARNED_MOST = 31  # steps either way

CONSTANTS: dict[str, float] = {
    "exact": 1.0,
    "group": 0.7,
    "similar": 0.75,  # times the similarity
    "negated": 0.4,  # of a word's weight, for notes that do not negate it as the query does
    "begun": 3,  # letters of an unfinished word from which on it counts
    "beginning": 0.8,  # similarity of a word that begins as the last, unfinished one does
    "alike": 0.66,  # least similarity that counts
    "stem_at_kind": 0.8,  # and of two words that name a kind of device
    "same_device": 0.9,  # likeness of two names of one device
    "similar_most": 12,  # words like one asked word
    "learned_most": 4,  # of them, those that stand for an unknown word in what the words say
    "symptom": 2.0,
    "device": 1.5,
    "tokens_most": 24,  # words of a query that are looked at
    "match": 0.35,  # a note matches from this share on, or if it has the symptom named
    "pair_texts": 0.45,
    "pair_floor": 0.01,
    "pair_notes": 0.5,
    "pair_cause": 0.78,
    "pair_kind": 0.74,
    "decay": 8.0,
    "other_finds": 4,  # see likely.unseen()
    "relaxed": 0.3,  # the temperature where no note of the kind that was given has any of the words
    "clear": 0.3,  # likelihood of the first cause below which it is not clear
    "novel": 0.5,  # likelihood of a cause that no note has from which on that is said beside the others
    "kind_like": 0.6,  # least likeness of a kind of device
    "kind_near": 0.85,  # and of the likeness of the best one
    "kind_inside": 0.7,  # say of "travel kettle" where the library has "kettle" itself
    "few": 3,  # no causes are counted over fewer notes
    "page": 10,  # notes that a page of results has, where the kind has as many
    "levels": LEVELS,
    "step": WEIGHT_STEP,
    "learned_step": LEARNED_STEP,
    "learned_middle": LEARNED_MOST,
}


def weight_steps(notes: int, holding: int) -> int:
    """Weight of a term that `holding` of `notes` notes have, in steps of WEIGHT_STEP; at least 1."""
    return max(1, round(math.log(1 + (notes - holding + 0.5) / (holding + 0.5)) / WEIGHT_STEP))


def rarity(notes: int, holding: int) -> float:
    """The smoothed inverse frequency of a term in what the words say: ln((1 + N) / (1 + n)) + 1."""
    return math.log((1 + notes) / (1 + holding)) + 1


def log_share(part: int, whole: int) -> float:
    """ln of a class's share of the notes; of a class with none, as if it had half a note."""
    return math.log((part or 0.5) / whole) if whole else 0.0


def unit(name: str, length: int) -> float:
    """What a word of a field of this length adds to a term's strength."""
    weight, b, usual = FIELDS[name]
    return weight / (1 - b + b * length / usual)


def level(strength: float) -> int:
    """How strongly a note has a term, 0 to LEVELS."""
    return round(LEVELS * strength / (K1 + strength))
