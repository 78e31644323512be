"""Coverage-guided fuzzing of the note parser, blocks and prose. Not run by the tests, which replay the seeds.

    pip install atheris
    python tests/fuzz/notes.py -max_total_time=600 -timeout=2 -rss_limit_mb=400 FOUND tests/fuzz/seeds

FOUND is a folder for what is found on the way; what teaches something new is copied to tests/fuzz/seeds.
"""

from __future__ import annotations

import sys

import atheris

with atheris.instrument_imports(include=["generator"], enable_loader_override=False):
    from generator.circuit.circuit import Mains
    from generator.notes.note import parse_note
    from generator.pages.records import words_of

MAINS = Mains()


def one(data: bytes) -> None:
    """A note's bytes through everything that is done to untrusted text before a page exists."""
    text = data.decode("utf-8", "replace")
    note, problems = parse_note(text, "fuzzed", "notes/fuzzed.md", None, MAINS)
    for problem in problems:
        str(problem)
    if note is None:
        return
    words_of(note)
    for block in note.circuit.blocks.values():
        assert block.values is not None and block.checks is not None
        for failure in block.failures:
            assert failure.part


if __name__ == "__main__":
    sys.setrecursionlimit(1000)
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()
