"""A note as the search sees it: words only."""

from __future__ import annotations

import html
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from generator.circuit import param as params
from generator.circuit.param import Param
from generator.finding.record import Cause, Record
from generator.language import _, failure_name
from generator.notes.config import Config
from generator.notes.note import Note
from generator.notes.pool import Part
from generator.problems import ERROR
from generator.processes import spread

FEW = 60  # notes up to which starting processes costs more than it saves


def record_of(note: Note, prose: str, currency: str = "") -> Record:
    """The record of a note; prose is its text without markup, currency that of its costs."""
    names = part_names(note)
    causes = tuple(
        Cause(f.part, failure_name(f.failed), f.because, f.found_by, f.fix, names.get(f.part, ""))
        for f in note.faults
    )
    return Record(
        slug=note.slug,
        title=note.title,
        date=note.date.isoformat(),
        device_kind=note.device.kind,
        category=note.device.category,
        make=note.device.make,
        model=note.device.model,
        symptoms=note.symptoms,
        signals=tuple(signal.shows for signal in note.signals),
        outcome=note.outcome,
        causes=causes,
        parts=tuple(f"{fitted.part} {fitted.with_}".strip() for fitted in note.fitted),
        part_names=tuple(dict.fromkeys(names[f.part] for f in note.faults if names.get(f.part))),
        block_kinds=tuple(sorted({block.kind.name for block in note.circuit.blocks.values()})),
        bench=note.bench,
        prose=prose,
        readings=reading_names(note),
        barrier=note.barrier,
        age=None if note.age is None else float(note.age),
        cost=note.cost,
        currency=currency,
        minutes=note.minutes,
    )


def record_in(record: Record, part: Part, home: str) -> Record:
    """The record of a note as a site of several libraries has it. home: how its library is called, "" in a site of one."""
    if not part.name:
        return replace(record, origin=home) if home else record
    slug = part.slug(record.slug)
    return replace(record, slug=slug, address=f"notes/{slug}/index.html", origin=home)


def reading_names(note: Note) -> tuple[str, ...]:
    """What was measured, by where the meter was put; the same in all notes with that kind of block."""
    blocks = note.circuit.blocks
    measured = [blocks[r.block].values.get(r.value) for r in note.readings if r.block in blocks]
    defined = [v.definition for v in measured if v and v.definition and v.definition.at]
    # "in series with the load" alone does not say what to read there
    places = (_("the current, %(place)s") % {"place": _(d.at)} if d.unit == "A" else _(d.at) for d in defined)
    return tuple(dict.fromkeys(places))


def part_names(note: Note) -> dict[str, str]:
    """Designator -> what sort of part it is: its role in its block, in words."""
    names: dict[str, str] = {}
    for block in note.circuit.blocks.values():
        for param in block.kind.params:
            given = block.inputs.get(param.name)
            for part in given if isinstance(given, (list, tuple)) else (given,):
                designator = getattr(part, "designator", "")
                if designator:
                    names.setdefault(designator, _(_sort(param, part)))
        for part in (*block.parts, *(extra.part for _position, extra in block.extras)):
            if part.designator:  # without a role, a part is what its class says
                names.setdefault(part.designator, _(_class_name(part.part_class, part.designator)))
    return names


def _sort(param: Param, part: Any) -> str:
    """Its role; of a MOSFET called no more than a transistor, and of a load, the class."""
    if isinstance(param, (params.Part, params.Parts)):
        return "mosfet" if (part.part_class, param.called) == ("mosfet", "transistor") else param.called
    return param.role or _class_name(part.part_class, param.called)


def _class_name(part_class: str, called: str) -> str:
    return called if part_class in ("any", "chip", "") else part_class


class _Words:
    """What the prose asks for where only its words are wanted: values in figures, no drawings, no pictures."""

    def __init__(self, note: Note) -> None:
        self.blocks, self.written = note.circuit.blocks, note.blocks

    def value(self, block: str, value: str, form: str) -> str | None:
        from generator.pages.blockview import value_text

        result = self.blocks[block].values.get(value) if block in self.blocks else None
        return None if result is None else html.escape(value_text(result, form))

    def sheet(self, block: str) -> str | None:
        return "" if block in self.written else None

    def image(self, src: str, alt: str, title: str) -> str | None:
        return ""

    def names(self) -> dict[str, list[str]]:
        return {name: list(block.values) for name, block in self.blocks.items()}

    def designators(self) -> set[str]:
        return set()


def words_of(note: Note) -> str:
    """The prose of a note without markup, as its page has it."""
    from generator.prose.markdown import render

    return render(
        note.body, file=note.file, body_line=note.body_line, expand=_Words(note), link=lambda path: path
    ).text


def read_notes(
    parts: Sequence[Part], own: Config, home: bool, paths: Sequence[Path]
) -> Iterator[Record | None]:
    """The record of each of some notes of some libraries, in their order; None for one that cannot be used.

    For the search in the terminal: the same as the site has. own: the settings of the library whose site it is; home:
    whether notes say which library they are from.
    """
    part_of = {path: part for part in parts for path in part.paths}
    read = partial(_read_record, own, home)
    asked = [(part_of[path], path) for path in paths]
    if len(paths) <= FEW:
        yield from map(read, asked)
        return
    yield from spread(read, [(replace(part, paths=()), path) for part, path in asked], chunk=32)


def _read_record(own: Config, home: bool, asked: tuple[Part, Path]) -> Record | None:
    from generator import language
    from generator.notes.note import read_note

    part, path = asked
    config = part.worked_as(own)
    language.use(config.language)
    note, problems = read_note(path, part.root, config.mains)
    if note is None or (part.name and any(problem.severity == ERROR for problem in problems)):
        return None  # a note of others is left out with any error, as on the site
    record = record_of(note, words_of(note), config.currency)
    return record_in(record, part, (part.config.name or part.name) if home else "")
