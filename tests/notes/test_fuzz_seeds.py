"""The seeds kept from fuzzing, replayed: whatever once taught the fuzzer something still does no harm."""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.circuit.circuit import Mains
from generator.notes.note import parse_note
from generator.pages.records import words_of

SEEDS = sorted((Path(__file__).resolve().parents[1] / "fuzz" / "seeds").iterdir())


def test_there_are_seeds() -> None:
    """One for each kind of block at least."""
    assert len(SEEDS) >= 27


@pytest.mark.parametrize("seed", SEEDS, ids=lambda path: path.name)
def test_seed(seed: Path) -> None:
    """Parsed, worked out and read as prose; problems are told as texts."""
    note, problems = parse_note(
        seed.read_bytes().decode("utf-8", "replace"), "seed", "notes/seed.md", None, Mains()
    )
    assert all(str(problem) for problem in problems)
    if note is not None:
        assert isinstance(words_of(note), str)
        for block in note.circuit.blocks.values():
            assert block.values is not None and block.failures is not None
