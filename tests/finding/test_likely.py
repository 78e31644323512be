"""The arithmetic of the ranking against its formulas, worked out by numpy from the table at the head of score.py."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from generator.finding import asked, likely, score

CAUSES, KINDS = (
    ([10, -20, 35], {"a": [(0, 2.0), (2, -1.0)], "b": [(1, 0.5)]}),
    ([5, -15], {"a": [(1, 0.75)], "b": []}),
)
SHARES = {"cause": [-70, -160, -230], "device": [-40, -110]}


def reader(**more: Any) -> Any:
    """A library of six notes: two kinds of device, three causes; what a word says is stated, not learned."""
    held = {"a": SimpleNamespace(heads=2, causes="a", kinds="ka"), "b": SimpleNamespace(heads=5, causes="b", kinds="kb"),
            "of titles": SimpleNamespace(heads=0, causes="a", kinds="ka")}  # fmt: skip
    told = {"a": CAUSES[1]["a"], "b": CAUSES[1]["b"], "ka": KINDS[1]["a"], "kb": KINDS[1]["b"]}
    own = {
        "core": {"learned": {"cause": (CAUSES[0], SHARES["cause"]), "device": (KINDS[0], SHARES["device"])},
                 "found_once": 0.3, "found_elsewhere": 0.6},
        "paged": 5, "notes": 6, "constants": score.CONSTANTS, "held": held.get, "learned": told.__getitem__,
        "device_of": [0, 0, 1, 1, 0, -1], "causes_of": [(0,), (0, 1), (1,), (), (), (2,)],
        "columns": {"cause": SimpleNamespace(names=["x", "y", "z"])},
    }  # fmt: skip
    return SimpleNamespace(**{**own, **more})


def test_what_the_words_say() -> None:
    """Logistic regression over words by how rare they are, of length 1: biases and weights in hundredths and as they are; the
    log-softmax of both, less the logarithms of the usual shares."""
    said = {"a": 1.0, "b": 0.6, "of titles": 1.0, "unknown": 1.0}
    values = np.array([1.0 * (math.log(6 / 3) + 1), 0.6 * (math.log(6 / 6) + 1)])
    values /= np.linalg.norm(values)
    causes = np.array([0.1, -0.2, 0.35]) + values @ [[2.0, 0, -1.0], [0, 0.5, 0]]
    kinds = np.array([0.05, -0.15]) + values @ [[0, 0.75], [0, 0]]
    wanted = [own - np.logaddexp.reduce(own) - np.array(share) / 100
              for own, share in ((causes, SHARES["cause"]), (kinds, SHARES["device"]))]  # fmt: skip
    got = likely.says(reader(), said)
    assert got[0] == pytest.approx(wanted[0]) and got[1] == pytest.approx(wanted[1])
    nothing = np.array([0.1, -0.2, 0.35])
    assert likely.says(reader(), {})[0] == pytest.approx(
        nothing - np.logaddexp.reduce(nothing) + [0.7, 1.6, 2.3]
    )


@pytest.mark.parametrize("narrowed", (True, False))
def test_how_likely_a_pair_is(narrowed: bool) -> None:
    """Z = pair_texts·ln(V + pair_floor) + pair_notes·ln N + pair_cause·E + pair_kind·F, and its softmax; a note of two causes
    counts half for each, those of no known cause not by their number."""
    share, say = [1.0, 0.7, 0.9, 0.5, 0.8, 0.3], [1.0, 1.0, 0.7, 1.0, 1.0, 0.0]
    cause, kind = [0.4, -0.3, 0.2], [0.1, -0.6]
    texts = {(0, 0): 1.0 + 0.343 / 2, (0, 1): 0.343 / 2, (1, 1): 0.7 * 0.729, (1, -1): 0.125, (0, -1): 0.512}
    notes = {(0, 0): 1.5, (0, 1): 0.5, (1, 1): 0.7, (1, -1): 1.0, (0, -1): 1.0}
    z = np.array([
        0.45 * math.log(texts[k, c] + 0.01) + 0.5 * math.log(notes[k, c]) + 0.78 * (cause[c] if c >= 0 else 0)
        + (0 if narrowed else 0.74 * kind[k])
        for k, c in texts
    ])  # fmt: skip
    wanted = np.exp(z) / np.exp(z).sum()
    got = likely.likelihoods(reader(), share, say, (cause, kind), narrowed)
    assert list(got.values()) == pytest.approx(list(wanted), abs=6e-7) and list(got) == list(texts)
    assert likely.likelihoods(reader(), share, [0.0] * 6, (cause, kind), narrowed) == {}


def test_the_likelihoods_of_causes() -> None:
    """The kinds together, to the power of a temperature, as shares of what is left by the causes that nobody has seen."""
    pairs = {(0, 0): 0.5, (1, 0): 0.1, (0, 1): 0.3, (0, -1): 0.1}
    sums = np.array([0.5**0.7 + 0.1**0.7, 0.3**0.7])
    assert list(likely.by_cause(pairs, 0.7, 0.2).values()) == pytest.approx(
        list(0.8 * sums / sums.sum()), abs=6e-7
    )
    assert likely.by_cause(pairs, 1.0) == pytest.approx({0: 0.666667, 1: 0.333333}, abs=1e-6)
    assert likely.by_cause({(0, 0): 0.0}, 1.0) == {0: 0.0}


@pytest.mark.parametrize(
    ("say", "narrowed", "strange", "wanted"),
    [
        # finds of causes 0, 0, 1, 1, 2: one of five seen once, and one find more
        ([1.0] * 6, False, False, 1 / 6),
        ([1.0] * 5 + [0.0], False, False, 0.0),
        ([1.0, 0.0, 0.0, 1.0, 1.0, 0.0], False, False, 1 / 2),
        # of a kind: as if there were four finds more, 0.3 of them seen once
        ([1.0] * 6, True, False, (1 + 4 * 0.3) / (5 + 4 + 1)),
        # of a kind that the library does not have: of 0.4 at least
        ([1.0] * 6, False, True, 0.4),
        ([1.0, 0.0, 0.0, 0.0, 0.0, 0.0], False, True, 0.5),
    ],
)  # fmt: skip
def test_how_likely_a_cause_is_that_no_note_has(
    say: list[float], narrowed: bool, strange: bool, wanted: float
) -> None:
    """Good 1953: the share of finds whose cause was found that once."""
    assert likely.unseen(reader(), say, narrowed, strange) == pytest.approx(wanted)


def test_the_share_of_a_note() -> None:
    """Of the best note's text, at most 1; the sixth is a row of a collection and does not make the notes worse."""
    assert likely.shares_of(reader(), [1.0, 4.0, 3.0, 0.0, 9.0, 8.0], [1, 1, 1, 1, 0, 1]) == [
        0.25,
        1,
        0.75,
        0,
        1,
        1,
    ]
    assert likely.shares_of(reader(), [0.0, 0, 0, 0, 0, 2.0], [1] * 6) == [0, 0, 0, 0, 0, 1]
    assert likely.shares_of(reader(), [0.0] * 6, [1] * 6) == [0.0] * 6
    assert likely.shares_of(reader(), [1.0, 3.0, 0, 0, 0, 0], [1] * 6)[0] == 0.333333
    assert [likely.rounded(x) for x in (0.1234565, 0.1234564, 0.9999996)] == [0.123457, 0.123456, 1.0]
    assert [likely.pairs_of(reader(), n) for n in (1, 3, 5)] == [[(0, 0), (0, 1)], [(1, -1)], [(-1, 2)]]


@pytest.mark.parametrize(("notes", "holding"), [(200, 3), (37, 36), (1, 1), (2100, 1)])
def test_the_weight_of_a_term(notes: int, holding: int) -> None:
    """Robertson and Zaragoza 2009: ln(1 + (N − n + 0.5)/(n + 0.5)), in steps of 0.02; ln((1 + N)/(1 + n)) + 1, the smoothed
    inverse frequency."""
    bm25 = np.log1p((notes - holding + 0.5) / (holding + 0.5)) / 0.02
    assert abs(score.weight_steps(notes, holding) - bm25) <= 0.5 or score.weight_steps(notes, holding) == 1
    assert score.rarity(notes, holding) == pytest.approx(np.log(1 + notes) - np.log(1 + holding) + 1)


def test_the_strength_of_a_term() -> None:
    """BM25F: weight/(1 − b + b·length/usual) for each word, tf/(K1 + tf) of 15 steps; by hand."""
    assert score.unit("symptoms", 6) == pytest.approx(3.0) and score.unit("kind", 9) == pytest.approx(2.0)
    assert score.unit("symptoms", 12) == pytest.approx(3.0 / 1.4) and score.unit(
        "prose", 500
    ) == pytest.approx(0.35 / 1.75)
    assert [score.level(strength) for strength in (0.0, 1.2, 3.0, 1e9)] == [0, 8, 11, 15]
    assert score.log_share(5, 20) == pytest.approx(math.log(0.25)) and score.log_share(
        0, 20
    ) == pytest.approx(math.log(0.025))
    assert score.log_share(0, 0) == 0.0


def test_a_compound_is_taken_apart() -> None:
    """Two words that the library knows, of four letters at least, and what German puts between them."""
    known = {"pumpen", "pumpe", "motor", "heiz", "heizung", "stab", "ring", "lager", "kugel", "abc", "defg"}
    own = SimpleNamespace(knows=known.__contains__)
    for word, parts in (("pumpenmotor", ["pumpen", "motor"]), ("heizungsstab", ["heizung", "stab"]), ("kugellager", ["kugel", "lager"]),
                        ("motor", ["motor"]), ("abcdefg", ["abcdefg"]), ("heizstab", ["heiz", "stab"]), ("lagerxyzmotor", ["lagerxyzmotor"]),
                        ("pumpering", ["pumpe", "ring"]), ("stabdefgabc", ["stabdefgabc"])):  # fmt: skip
        assert asked.parted(own, word) == parts, word  # type: ignore[arg-type]
