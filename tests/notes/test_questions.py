"""The log of the day: at most ten questions, each of which may be skipped, and a note that builds comes of it."""

from __future__ import annotations

import datetime
import os
import subprocess
import sys
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.circuit.block import Mains
from generator.notes.asking import QUESTIONS, Answers, ask
from generator.notes.note import parse_note, read_note
from generator.notes.starter import note_text

DAY = datetime.date(2026, 3, 14)


def asked(lines: list[str], kind: str = "") -> tuple[Answers, list[str], list[object]]:
    """The answers, the questions that were asked, what was said."""
    left: Iterator[str] = iter(lines)
    questions: list[str] = []
    said: list[object] = []

    def read(words: str) -> str | None:
        questions.append(words)
        return next(left, None)

    return ask(read, said.append, kind), questions, said


def test_ten_questions_at_most() -> None:
    assert len(QUESTIONS) <= 10
    answers, questions, _ = asked(["kettle", "Ferrowick", "K-1", "stays cold; smells", "end of life", "lack of equipment",
                                   "thermal fuse", "open", "ohmmeter", "none"])  # fmt: skip
    assert len(questions) == 10
    assert answers == Answers("kettle", "Ferrowick", "K-1", ("stays cold", "smells"), "end of life", "lack of equipment",
                              "thermal fuse", "open", "ohmmeter", "none")  # fmt: skip


def test_what_is_known_or_makes_no_sense_is_not_asked() -> None:
    """No barrier unless it ended; nothing of a part that was not found."""
    _, questions, _ = asked([""] * 10, "kettle")
    assert len(questions) == 5  # make, model, symptoms, outcome, part
    assert not any("stood in the way" in words or "What is it" in words for words in questions)


def test_all_may_be_skipped() -> None:
    answers, _, said = asked([""] * 10, "kettle")
    assert answers == Answers("kettle") and said == []
    assert asked([], "kettle")[0] == Answers("kettle")  # the end of the input


@pytest.mark.parametrize(
    "line, wanted",
    [("fixed", "fixed"), ("FIXED", "fixed"), ("rep", "repairable"), ("end", "end of life"), ("fixd", "fixed"), ("blue", "")],
)  # fmt: skip
def test_outcomes_as_people_type_them(line: str, wanted: str) -> None:
    answers, _, said = asked(["", "", "", line], "kettle")
    assert answers.outcome == wanted and said


# as it is composed (NFC, Unicode Standard Annex #15), which is how a note is read
TEXT = st.text(st.characters(codec="utf-8"), max_size=40).map(lambda text: unicodedata.normalize("NFC", text))


@settings(max_examples=60)
@given(
    st.lists(
        st.one_of(
            st.just(""), TEXT, st.sampled_from(["fixed", "end of life", "a; b;; c", "- {x: 1}", "null", "~"])
        ),
        max_size=10,
    )
)
def test_a_note_that_builds_comes_of_any_answers(lines: list[str]) -> None:
    answers, _, _ = asked([line.replace("\n", " ") for line in lines], "kettle")
    note, problems = parse_note(
        note_text("kettle", [], DAY, 101, answers), "kettle", "notes/kettle.md", None, Mains()
    )
    assert [problem for problem in problems if problem.severity == "error"] == [] and note is not None
    assert note.symptoms[: len(answers.symptoms)] == answers.symptoms
    assert note.outcome == (answers.outcome or "unknown") and note.device.make == answers.make
    assert [fault.part for fault in note.faults] == ([answers.part] if answers.part or answers.failed else [])


@pytest.mark.skipif(os.name != "posix", reason="no pseudo-terminal here")
def test_on_a_terminal(tmp_path: Path) -> None:
    """The whole command on a terminal of its own; and without one, nothing is asked."""
    import pty

    command = [sys.executable, "-m", "generator.cli", "writeup", "--content", str(tmp_path / "content")]
    ours, theirs = pty.openpty()
    process = subprocess.Popen(command, stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    os.write(ours, "Kühlbox\n\n\nstays warm\nfixed\nfan\nstuck\n\noiled\n".encode())
    out, err = process.communicate(timeout=60)
    os.close(ours), os.close(theirs)
    assert process.returncode == 0, err
    text = Path(out.decode().split()[-1]).read_text("utf-8")
    assert (
        "  - stays warm" in text
        and "outcome: fixed" in text
        and "- part: fan\n    failed: stuck\n    fix: oiled" in text
    )
    assert 'title: "Kühlbox: stays warm"' in text
    piped = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, timeout=60)
    assert piped.returncode == 2 and b"KIND-OF-DEVICE" in piped.stderr


@pytest.mark.skipif(os.name != "posix", reason="no pseudo-terminal here")
@pytest.mark.parametrize("typed", ["\n" * 10, "\x04"], ids=["all skipped", "Ctrl-D"])
def test_on_a_terminal_nothing_said_is_a_note_that_builds(tmp_path: Path, typed: str) -> None:
    import pty

    content = tmp_path / "content"
    command = [sys.executable, "-m", "generator.cli", "writeup", "--content", str(content)]
    ours, theirs = pty.openpty()
    process = subprocess.Popen(command, stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    os.write(ours, typed.encode())
    out, err = process.communicate(timeout=60)
    os.close(ours), os.close(theirs)
    assert process.returncode == 0, err
    note = Path(out.decode().split()[-1])
    written, problems = read_note(note, content, Mains())
    assert written is not None and written.device.kind == "unnamed device" and written.number == 101
    assert [problem for problem in problems if problem.severity == "error"] == []


def test_what_may_be_two_is_left_open() -> None:
    answers, _, said = asked(["", "", "", "end", "spare"], "kettle")
    assert answers.barrier == ""
    assert said[-1] == "may be spare parts not available or spare parts too expensive, so it is left open"
