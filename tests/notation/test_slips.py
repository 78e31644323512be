"""Words of parts that are near to words that say something. The words are an author's slips and ordinary remarks."""

from __future__ import annotations

import pytest

from generator.circuit.at_rest import _SORTS
from generator.circuit.circuit import Mains, build
from generator.circuit.switching import _INDUCTIVE_WORDS
from generator.notation.part_text import CAPACITOR_WORDS
from generator.notation.slips import SAYING, SHORTEST, meant_by
from generator.problems import WARNING


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("schotky", "schottky"), ("Shottky", "schottky"), ("schottkey", "schottky"), ("shotky", "schottky"),
        ("electrolitic", "electrolytic"), ("tantulum", "tantalum"), ("ceremic", "ceramic"), ("polyproplene", "polypropylene"),
        ("fusable", "fusible"), ("nuetral", "neutral"), ("varister", "varistor"), ("rely", ""), ("zenner", "zener"), ("raley", ""),
    ],
)  # fmt: skip
def test_a_slip_is_known(word: str, meant: str) -> None:
    assert meant_by(word) == meant


@pytest.mark.parametrize(
    "word",
    "schottky film ceramic live neutral films ceramics heated lamps motors relays fast slow axial radial audio grade "
    "low leakage carbon metal wirewound flameproof ultrafast rectifier bridge matched pair blue clear tinted snap-in "
    "silver mica board mounted printed cement enamel green white coated".split(),
)
def test_ordinary_words_pass(word: str) -> None:
    assert meant_by(word) == ""


def test_every_word_that_decides_something_is_known_here() -> None:
    """Gathered from where it is decided, so that a new one cannot be left out."""
    decides = {word for word in CAPACITOR_WORDS if word.islower()} | _INDUCTIVE_WORDS
    decides |= {word for _sort, _called, words in _SORTS for word in words}
    assert {word for word in decides if len(word) >= SHORTEST} <= SAYING


def test_it_is_told_at_its_part() -> None:
    blocks = {
        "main": {
            "kind": "flyback-supply", "input": "325 V", "output": "12 V", "load": "200 mA", "turns_ratio": "8",
            "primary_inductance": "2.2 mH", "frequency": "65 kHz", "sense": "R2 2R2", "transistor": "Q1 700V 2A",
            "diode": "D6 100V 2A schotky", "capacitor": "C2 470u 16V", "also": ["D9 schotky from common to out"],
        }
    }  # fmt: skip
    told = [t for t in build(blocks, Mains()).troubles if "schotky" in t.what]
    assert [(t.path, t.severity, t.hint) for t in told] == [
        (("main", "diode"), WARNING, "did you mean schottky?"),
        (("main", "also", 0), WARNING, "did you mean schottky?"),
    ]
