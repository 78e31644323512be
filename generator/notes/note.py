"""A note's file -> a typed Note, and every problem of the note found in one pass."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from generator.files import Unreadable
from generator.notes import sections
from generator.notes.fields import Fields, Report
from generator.notes.frontmatter import FrontMatterError, load, split
from generator.notes.in_time import SAID_OUTCOMES, faults_in_words, template_words
from generator.notes.keys import names
from generator.notes.reading import Reading
from generator.notes.readings import read_readings
from generator.notes.record import FRONT_LINE, Board, Device, Fault, Fitted, Mark, Note, Plate, Proof, Signal
from generator.notes.standard import BARRIERS, END_OF_LIFE, OUTCOMES
from generator.notes.text import (
    LONG,
    MEDIUM,
    SHORT,
    UnusableFile,
    clean,
    decode,
    read_text,
    shown,
    shown_path,
)
from generator.notes.whole import USUAL_STATES, read_told, with_joints, worked_out, wrong_together
from generator.problems import WARNING, Problem

if TYPE_CHECKING:
    from generator.circuit.circuit import Circuit, Mains
    from generator.circuit.device import Told

__all__ = [
    "Board", "Device", "Fault", "Fitted", "Mark", "Note", "Plate", "Proof", "Reading", "Signal",
    "parse_note", "read_note", "slug_of",
]  # fmt: skip

NOTE = names("note")

TITLE_LIMIT = 120
MOST_BLOCK_VALUES = 600  # in all blocks of a note together; a whole appliance in ten blocks has some 150
NOTE_FILE = "note.md"

_BLOCK_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}")


def read_note(
    path: Path, root: Path, mains: Mains, source: bytes | Unreadable | None = None
) -> tuple[Note | None, list[Problem]]:
    """The note in a file of the library at root, and everything wrong with it, in the order of the file.

    Never raises for what the file holds. The note is None where it cannot be made: the file cannot be
    read, or a required key is missing or wrong. With other errors there is a note, without what is wrong.
    Problems name the file as path does. source: what read_file gave or raised, where the file was read before.
    """
    file = shown_path(path)
    try:
        if isinstance(source, Unreadable):
            raise UnusableFile(source.what, source.hint)
        text = read_text(path) if source is None else decode(source)
        relative = path.relative_to(root).as_posix()
    except UnusableFile as error:
        return None, [error.problem(file)]
    except ValueError:
        return None, [Problem.of_file(file, "the note is not in the library's folder")]
    folder = path.parent if _has_own_folder(path, root) else None
    return parse_note(text, slug_of(path, root), relative, folder, mains, shown_as=file)


def slug_of(path: Path, root: Path) -> str:
    """The name of a note: of its own folder, or of its file without .md."""
    return path.parent.name if _has_own_folder(path, root) else path.stem


def _has_own_folder(path: Path, root: Path) -> bool:
    return path.name == NOTE_FILE and path.parent != root / "notes"


def parse_note(
    text: str, slug: str, file: str, folder: Path | None, mains: Mains, shown_as: str = ""
) -> tuple[Note | None, list[Problem]]:
    """As read_note, for a note's text. file is its place in the library, shown_as what problems call it."""
    shown_as = shown_as or file
    try:
        front, body, body_line = split(text)
    except FrontMatterError as error:
        return None, [Problem(shown_as, error.line, 1, error.what, error.hint)]
    loaded = load(front, FRONT_LINE, shown_as)
    body, body_problems = clean(body, body_line, shown_as)
    report = Report(shown_as, loaded.marks, loaded.problems + body_problems)
    early = _keys_behind(body)
    # a --- among the keys: what stands behind it is missed everywhere, so that is told and nothing else
    if early:
        what = f"{early[0]}: this key comes after the end of the front matter"
        hint = f"delete the --- on line {body_line - 1}"
        return None, sorted([*report.problems, Problem(shown_as, body_line + early[1], 1, what, hint)])
    fields = Fields(loaded.data, (), "the note", NOTE, report, loaded.complete)

    title = fields.text("title", TITLE_LIMIT, required=True)
    date = fields.date("date")
    device = sections.read_device(fields)
    symptoms = _symptoms(fields)
    outcome, barrier = _outcome(fields)
    stated = fields.data.get("blocks")
    told = read_told(fields, stated if isinstance(stated, dict) else {})
    blocks, circuit = _blocks(fields, mains, told)
    designators = {part for block in circuit.blocks.values() for part in block.designators}
    # with a broken block, not all are known
    known = designators if len(circuit.blocks) == len(blocks) else set()
    told = with_joints(circuit, told, fields.data.get("readings"))
    measured = read_readings(fields, circuit, blocks, told)
    faults = sections.read_faults(fields, known)
    signals = sections.read_signals(fields)
    fitted = sections.read_fitted(fields, known)
    proof = sections.read_proof(fields)
    boards = sections.read_boards(fields)
    steps = sections.read_steps(fields)
    sequence = sections.read_sequence(fields)
    links = sections.read_links(fields)
    number = sections.read_number(fields)
    tools, first_check = fields.texts("tools", 50, MEDIUM), fields.text("first_check", LONG)
    author = fields.text("author", SHORT)
    bench = fields.text("bench", SHORT)
    time = fields.time("time")

    faults_in_words(fields, faults)
    problems = sorted(report.problems)
    if not (loaded.complete and title and date and device.kind):
        return None, problems
    note = Note(
        slug=slug, file=file, folder=folder, title=title, date=date, device=device, symptoms=symptoms,
        outcome=outcome, barrier=barrier, blocks=blocks, circuit=circuit, readings=_of_values(measured, circuit, told), faults=faults,
        signals=signals, fitted=fitted, time=time, proof=proof, boards=boards, author=author, bench=bench,
        body=body, body_line=body_line, front=front, told=told, measured=measured, steps=steps, sequence=sequence,
        tools=tools, links=links, number=number, first_check=first_check,
    )  # fmt: skip
    template_words(report, note)
    return note, sorted(report.problems)


def _keys_behind(body: str) -> tuple[str, int] | None:
    """(key, lines before it) where the text of a note begins with a key and has another --- behind it, else None."""
    first = re.match(r"\s*", body)
    start = first.end() if first else 0
    key = re.match(r"([a-z]+):(?=\s)", body[start:])
    if key and key[1] in NOTE and re.search(r"^---\s*$", body[start:], re.MULTILINE):
        return key[1], body.count("\n", 0, start)
    return None


def _symptoms(fields: Fields) -> tuple[str, ...]:
    symptoms = fields.texts("symptoms", 20, MEDIUM)
    if not fields.has("symptoms"):
        fields.missing("symptoms", "what the owner says, one a line: - stays cold")
    return symptoms


def _outcome(fields: Fields) -> tuple[str, str]:
    outcome = fields.choice("outcome", OUTCOMES, "unknown", SAID_OUTCOMES)
    barrier = fields.choice("barrier", BARRIERS)
    if barrier and outcome != END_OF_LIFE:
        what = f"barrier: counts only with outcome: {END_OF_LIFE}; it is left out"
        fields.report.at_key(("barrier",), what, severity=WARNING)
        barrier = ""
    return outcome, barrier


def _of_values(measured: tuple[Reading, ...], circuit: Circuit, told: Told | None) -> tuple[Reading, ...]:
    """The readings of a block's value in the note's first state: those that its blocks alone can judge."""
    first = told.states[0].name if told and told.states else USUAL_STATES[0]
    return tuple(
        reading
        for reading in measured
        if reading.when in ("", first)
        and ((block := circuit.blocks.get(reading.block)) is None or reading.value in block.values)
        and reading.value
    )


def _blocks(fields: Fields, mains: Mains, told: Told | None) -> tuple[dict[str, dict[str, Any]], Circuit]:
    """The blocks as written, and the circuit built of those with a usable name."""
    from generator.circuit.circuit import Circuit

    raw = fields.mapping("blocks")
    blocks = {}
    for name, entry in raw.items():
        if not _BLOCK_NAME.fullmatch(name):
            hint = "a letter, then letters, digits, - and _; at most 40 characters"
            fields.report.at_key(("blocks", name), f"{shown(name, 40)}: no name for a block", hint)
        else:
            blocks[name] = entry
    stated = _count(blocks)
    if stated > MOST_BLOCK_VALUES:
        what = f"{stated:,} values in all blocks together; at most {MOST_BLOCK_VALUES:,}"
        fields.wrong("blocks", what, "make two notes of it")
    if not fields.complete or stated > MOST_BLOCK_VALUES:
        return blocks, Circuit({}, [])
    circuit = worked_out(blocks, mains, told)
    for trouble in circuit.troubles:
        fields.report.trouble(trouble.under("blocks"))
    for trouble in wrong_together(circuit, told):
        fields.report.trouble(trouble)
    return blocks, circuit


def _count(blocks: dict[str, Any]) -> int:
    """How many single values the blocks hold."""
    waiting: list[Any] = [blocks]
    count = 0
    while waiting:
        entry = waiting.pop()
        if isinstance(entry, dict):
            waiting.extend(entry.values())
        elif isinstance(entry, list):
            waiting.extend(entry)
        else:
            count += 1
    return count
