"""Nothing that a note holds may crash its reader, hang it or fill its memory; and what is told stays readable."""

from __future__ import annotations

import faulthandler
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
import yaml
from hostile import HARMLESS, NOTES
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from generator.circuit.circuit import Mains
from generator.notes.frontmatter import NOTE_LIMITS
from generator.notes.note import NOTE, Note, parse_note
from generator.notes.readings import READING
from generator.notes.sections import BOARD, DEVICE, FAULT, FITTED, MARK, PLATE, PROOF, SIGNAL
from generator.notes.text import UnusableFile, decode
from generator.problems import Problem

HERE = Path(__file__).parent
EXAMPLE = (HERE / "example.md").read_text(encoding="utf-8")

HANG = 2.0  # seconds of processor time, not of the clock: a watchdog against hangs, no measure of speed
LAST_RESORT = 120.0  # seconds of the clock, after which the tests stop with the place where they hang
MOST_MEMORY = 200 * 1024  # KiB


class Hang(BaseException):
    """The watchdog's own; nothing catches it by mistake."""


@contextmanager
def watchdog() -> Iterator[None]:
    if not hasattr(signal, "setitimer"):
        yield
        return

    def bark(number: int, frame: FrameType | None) -> None:
        raise Hang

    before = signal.signal(signal.SIGPROF, bark)
    signal.setitimer(signal.ITIMER_PROF, HANG)
    faulthandler.dump_traceback_later(LAST_RESORT, exit=True)  # C code that hangs does not hear the signal
    try:
        yield
    finally:
        faulthandler.cancel_dump_traceback_later()
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def read(text: str) -> tuple[Note | None, list[Problem]]:
    """Read a note under watch, and hold what comes back to what is promised of it."""
    with watchdog():
        note, problems = parse_note(text, "n", "n.md", None, Mains())
    lines = text.replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1
    for problem in problems:
        assert 0 <= problem.line <= lines + 1, problem
        assert problem.column >= (1 if problem.line else 0), problem
        message = str(problem)
        message.encode("utf-8")
        assert message.isprintable(), message
        assert len(message) < 2_000, message
    if note is None:
        assert any(problem.severity == "error" for problem in problems)
    return note, problems


@pytest.mark.parametrize("name", NOTES)
def test_hostile_notes_are_refused_in_time(name: str) -> None:
    _, problems = read(NOTES[name])
    assert (problems == []) == (name in HARMLESS)
    assert len(problems) <= NOTE_LIMITS.problems + 1


@pytest.mark.slow
@pytest.mark.parametrize("name", NOTES)
def test_hostile_notes_are_refused_in_time_without_libyaml(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    read(NOTES[name])


@pytest.mark.skipif(sys.platform != "linux", reason="peak memory is counted otherwise there")
@pytest.mark.parametrize("option", ["", pytest.param("--without-libyaml", marks=pytest.mark.slow)])
def test_hostile_notes_do_not_fill_the_memory(option: str) -> None:
    """Outside CI every third of them."""
    root = HERE.parents[1]
    every = 1 if os.environ.get("CI") == "true" else 3
    script = [sys.executable, str(HERE / "hostile.py"), "--every", str(every), *([option] if option else [])]
    environment = {**os.environ, "PYTHONPATH": str(root)}
    done = subprocess.run(script, capture_output=True, text=True, check=True, env=environment, timeout=600)
    peaks = [line.split(" ", 1) for line in done.stdout.splitlines()]
    assert len(peaks) == len(list(NOTES)[::every])
    assert [(peak, name) for peak, name in peaks if int(peak) > MOST_MEMORY] == []


# --- hypothesis

KEYS = sorted(
    {
        *NOTE,
        *DEVICE,
        *PLATE,
        *READING,
        *FAULT,
        *SIGNAL,
        *FITTED,
        *PROOF,
        *BOARD,
        *MARK,
        "kind",
        "supply",
        "<<",
    }
)
KINDS = ["transformer-supply", "heater", "thermistor-divider", "led-indicator"]
EDGES = [
    "", "~", "null", "no", "1.20", "2026-03-14", "9999-99-99", "fixed", "end of life", "supply.peak", "supply.supply", "supply.",
    ".", "..", "a.b.c", "12 V", "12 A", "-1", "1e308", "1e999", "nan", "inf", "0", "0 %", "101 %", "C3 1000u 35V 20%", "R1", "R1 0",
    "47k..56k", "II", "2 % + 5", "../x.jpg", "x" * 300, "{supply.peak}", "\u202e", "<b>", "\U0001f527", "١٢ V", "𝟗𝟗",
]  # fmt: skip

scalars = st.sampled_from(EDGES) | st.sampled_from(KINDS) | st.text(max_size=20)
keys = st.sampled_from(KEYS) | st.text(max_size=10)
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=5),
    max_leaves=20,
)
mappings = st.dictionaries(keys, values, max_size=10)
yamlish = st.text(
    st.sampled_from(list("ab1 \n\t:-?,[]{}#&*!|>'\"%@`~\\xu0\r\u2028\u202e\ufeff\x00é<")), max_size=120
)

often = settings(
    max_examples=2 * settings().max_examples, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)


@often
@given(st.text(max_size=200))
def test_any_text_is_read_without_a_crash(text: str) -> None:
    read(text)


@often
@given(yamlish)
def test_anything_like_yaml_is_read_without_a_crash(front: str) -> None:
    read(f"---\n{front}\n---\nProse.\n")


@often
@given(mappings, st.booleans())
def test_any_values_under_the_known_keys_are_read_without_a_crash(data: dict[str, Any], flow: bool) -> None:
    front = yaml.safe_dump(data, allow_unicode=True, default_flow_style=flow)
    read(f"---\n{front}\n---\n")


@often
@given(
    st.dictionaries(
        st.sampled_from(["supply", "a", "b"]), st.dictionaries(keys, values, max_size=6), max_size=3
    ),
    st.lists(values, max_size=3),
)
def test_any_blocks_and_readings_are_read_without_a_crash(
    blocks: dict[str, Any], readings: list[Any]
) -> None:
    data = {
        "title": "t",
        "date": "2026-01-02",
        "device": {"kind": "k"},
        "symptoms": ["s"],
        "blocks": blocks,
        "readings": readings,
    }
    read(f"---\n{yaml.safe_dump(data, allow_unicode=True)}\n---\n")


@often
@given(st.lists(st.tuples(st.integers(0, len(EXAMPLE)), st.integers(0, 12), yamlish), min_size=1, max_size=4))
def test_a_good_note_with_pieces_cut_out_and_put_in_is_read_without_a_crash(
    edits: list[tuple[int, int, str]],
) -> None:
    text = EXAMPLE
    for position, length, piece in edits:
        text = text[:position] + piece[:12] + text[position + length :]
    read(text)


@often
@given(st.binary(max_size=100))
def test_any_bytes_are_text_or_told(data: bytes) -> None:
    try:
        text = decode(data)
    except UnusableFile as error:
        assert str(error.problem("n.md")).isprintable()
    else:
        assert "\r" not in text
        assert text == data.decode("utf-8").removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
