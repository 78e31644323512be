"""What the tests of notes share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from generator.circuit.circuit import Mains
from generator.notes.note import Note, parse_note
from generator.problems import Problem

HERE = Path(__file__).parent

HEAD = """\
---
title: Kettle trips the breaker
date: 2026-03-14
device: {kind: kettle}
symptoms: [trips the breaker]
"""  # the extra lines of a test begin on line 6

Read = Callable[[str], tuple[Note | None, list[Problem]]]


@pytest.fixture
def read() -> Read:
    """Read a whole note given as text."""
    return lambda text: parse_note(text, "n", "n.md", None, Mains())


@pytest.fixture
def told(read: Read) -> Callable[[str], list[str]]:
    """What is told about a note that is right but for these lines, which begin on line 6."""
    return lambda lines: [str(problem) for problem in read(HEAD + lines + "\n---\nProse.\n")[1]]


@pytest.fixture
def example() -> str:
    """The example of the note format's definition, word for word."""
    return (HERE / "example.md").read_text(encoding="utf-8")
