"""How likely each pair of a kind of device and a cause is, given a query. find-score/likely.js does
the same, under the same names.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from generator.finding.reader import Reader
from generator.finding.score import rarity

Pair = tuple[int, int]  # kind of device, cause; -1: none, not known


def says(reader: Reader, said: Mapping[str, float]) -> tuple[list[float], list[float]]:
    """For each cause and each kind of device, ln of how many times likelier the words make it; term -> how
    much of it.
    """
    causes, kinds = ([bias / 100 for bias in reader.core["learned"][name][0]] for name in ("cause", "device"))
    square = 0.0
    told: list[tuple[float, str, str]] = []
    for term, amount in said.items():
        held = reader.held(term)
        if held and held.heads:
            value = amount * rarity(reader.paged, held.heads)
            square += value * value
            told.append((value, held.causes, held.kinds))
    length = math.sqrt(square)
    for value, cause, kind in told:
        for number, weight in reader.learned(cause):
            causes[number] += weight * value / length
        for number, weight in reader.learned(kind):
            kinds[number] += weight * value / length
    return _lift(causes, reader.core["learned"]["cause"][1]), _lift(
        kinds, reader.core["learned"]["device"][1]
    )


def _lift(scores: list[float], shares: Sequence[int]) -> list[float]:
    """The log-softmax of some scores less the logarithms of the usual shares, given in hundredths."""
    most = max(scores, default=0.0)
    whole = most + math.log(sum(math.exp(score - most) for score in scores)) if scores else 0.0
    return [score - whole - share / 100 for score, share in zip(scores, shares)]


def pairs_of(reader: Reader, note: int) -> list[Pair]:
    """The pairs that a note stands for: one for each of its causes."""
    device = reader.device_of[note]
    return [(device, cause) for cause in reader.causes_of[note] or (-1,)]


def likelihoods(
    reader: Reader,
    share: Sequence[float],
    say: Sequence[float],
    told: tuple[Sequence[float], Sequence[float]],
    narrowed: bool,
) -> dict[Pair, float]:
    """Pair -> P. share: how well each note's text fits; say: how much each note counts, 0: not at all;
    told: what the words say of causes and kinds, from says(); narrowed: the kind of device is given. Rounded to six
    places, so that both ends put notes in the same order.
    """
    constants = reader.constants
    texts: dict[Pair, float] = {}
    notes: dict[Pair, float] = {}
    for note in range(reader.notes):
        if say[note] > 0:
            device, causes = reader.device_of[note], reader.causes_of[note]
            text = say[note] * share[note] * share[note] * share[note]
            if not causes:
                # What nobody knows the cause of does not speak louder by being many.
                texts[device, -1] = max(texts.get((device, -1), 0.0), text)
                notes[device, -1] = 1.0
            for cause in causes:
                texts[device, cause] = texts.get((device, cause), 0.0) + text / len(causes)
                notes[device, cause] = notes.get((device, cause), 0.0) + say[note] / len(causes)
    by_cause, by_kind = told
    chances: dict[Pair, float] = {}
    for pair, text in texts.items():
        device, cause = pair
        chance = constants["pair_texts"] * math.log(text + constants["pair_floor"])
        chance += constants["pair_notes"] * math.log(notes[pair])
        if cause >= 0:
            chance += constants["pair_cause"] * by_cause[cause]
        if device >= 0 and not narrowed:
            chance += constants["pair_kind"] * by_kind[device]
        chances[pair] = chance
    most = max(chances.values(), default=0.0)
    grown = {pair: math.exp(chance - most) for pair, chance in chances.items()}
    whole = sum(grown.values())
    return {pair: rounded(value / whole) for pair, value in grown.items()}


def unseen(reader: Reader, say: Sequence[float], narrowed: bool, strange: bool = False) -> float:
    """How likely the cause is one that no note has: the share of finds whose cause was found that once (Good,
    The Population Frequencies of Species, Biometrika 40, 1953), as if there were one find more, so that it is below 1
    and the causes keep their order. say: 0 for what does not count. narrowed: the kind of device is given; what its
    few notes cannot tell, those of all kinds do, as if it had `other_finds` more of their sort. strange: a kind is given
    that the library does not have; it has no more causes than kinds have that others have too.
    """
    held = [0] * len(reader.columns["cause"].names)
    for note, causes in enumerate(reader.causes_of):
        if say[note] > 0:
            for cause in causes:
                held[cause] += 1
    more = reader.constants["other_finds"] if narrowed else 0
    once = (held.count(1) + more * reader.core["found_once"]) / (sum(held) + more + 1)
    return float(max(once, 1 - reader.core["found_elsewhere"] if strange else 0))


def by_cause(likely: Mapping[Pair, float], temperature: float, unknown: float = 0.0) -> dict[int, float]:
    """Cause -> its likelihood among all that are known, where one that is not has the likelihood unknown: the
    sum over the kinds of P to the power of temperature."""
    sums: dict[int, float] = {}
    for (_, cause), chance in likely.items():
        if cause >= 0:
            sums[cause] = sums.get(cause, 0.0) + chance**temperature
    whole = sum(sums.values())
    return {
        cause: rounded((1 - unknown) * value / whole) if whole > 0 else 0.0 for cause, value in sums.items()
    }


def shares_of(reader: Reader, text: Sequence[float], say: Sequence[float]) -> list[float]:
    """How well the text of each note fits, as a share of the best one's, at most 1.

    Notes are measured against notes: a row of a collection that has all the words does not make them worse.
    """
    told = [value if more > 0 else 0.0 for value, more in zip(text, say)]
    best = max(told[: reader.paged], default=0.0) or max(told, default=0.0)
    return [rounded(min(1.0, value / best)) if best > 0 else 0.0 for value in text]


def rounded(number: float) -> float:
    """To six places, halves up: the same in every language."""
    return math.floor(number * 1_000_000 + 0.5) / 1_000_000
