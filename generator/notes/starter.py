"""A first note, with the blocks asked for, and a library around it where there is none yet."""

from __future__ import annotations

import contextlib
import datetime
import math
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from generator.circuit import catalogue
from generator.circuit.circuit import Mains, build_block
from generator.language import _, speaking
from generator.notation.printed import format_value
from generator.notes.asking import Answers
from generator.notes.config import CONFIG_FILE, read_config
from generator.notes.flow import flow, scalar
from generator.notes.library import NOTES_FOLDER, SLUG_LIMIT, note_paths, propose_slug
from generator.notes.note import TITLE_LIMIT
from generator.notes.numbers import FIRST_NUMBER, next_number
from generator.notes.text import SHORT, UnusableFile, forbidden_in, read_text, shown, shown_path
from generator.problems import Refusal, did_you_mean

MOST_BLOCKS = 20
MOST_TRIES = 1_000
NOTHING_SAID = Answers()

LIBRARY = """\
name: Our repair notes
language: en
mains: {voltage: 230 V, frequency: 50 Hz, band: 10 %}
currency: EUR
# group: who keeps these notes
# country: three letters, such as DEU
# licence: CC-BY-SA-4.0
# address: https://repairs.example.org/
"""

# {{ and }} are braces; what stands in single braces is filled in.
NOTE = """\
---
title: {title}
date: {date}
number: {number}
device:
  kind: {kind}
  # category: Small kitchen item      # {of_category}
{make}{model}  # year: 2017
  # plate: {{supply: 230 V, power: 180 W, class: II}}
symptoms:
{symptoms}outcome: {outcome}      # fixed | repairable | end of life | unknown
{barrier}{faults}{blocks}
# {take_away}
# readings:
#   - {{at: {reading}, read: {read}, note: {around}}}
{no_faults}# fitted:
#   - {{part: {part}, with: {went_in}, cost: 1.20}}
# time: 90 min
# proof:      # {tested}
#   - {{test: insulation, read: 200 Mohm}}
---

{unplug}

{say}
{prose}"""

_NO_FAULTS = """\
# faults:
#   - part: {part}
#     failed: open
#     because: {because}
#     found_by: {found_by}
#     fix: {fix}
"""

_LEADING = re.compile(r"([A-Z]{1,3})([0-9]{1,4})(?= |$)")  # the designator of an example's part
_NUMBER = re.compile(r"^number:[ \t]*([1-9][0-9]{0,5})[ \t]*(?:#.*)?$", re.MULTILINE)


class StarterError(Refusal):
    """The note cannot be started. what says why, hint what would do."""


def start_note(
    content: Path,
    device_kind: str,
    blocks: Sequence[str],
    date: datetime.date,
    answers: Answers = NOTHING_SAID,
) -> list[Path]:
    """Start a note on a kind of device with blocks of these kinds; the files written, in order. answers: what is known.

    Makes the folder, library.yaml and notes/ where they are missing. Nothing is ever overwritten: where
    the name is taken, the note is called kettle-2. Raises StarterError, and then leaves nothing behind
    but folders.
    """
    kind = " ".join(device_kind.split())
    if not kind:
        hint = 'what people call the thing, such as "egg incubator"'
        raise StarterError("no kind of device is given", hint)
    if len(kind) > SHORT or forbidden_in(kind):
        raise StarterError(f"{shown(kind)}: not a kind of device", f"a few words, at most {SHORT} characters")
    notes, config = content / NOTES_FOLDER, content / CONFIG_FILE
    with speaking(_language_of(content)):
        text = note_text(kind, blocks, date, free_number(content), answers)
    if notes.is_symlink():
        what = f"{shown_path(notes)} is a symbolic link"
        raise StarterError(what, "links are not followed; make it a folder")
    written: list[Path] = []
    try:
        notes.mkdir(parents=True, exist_ok=True)
        written.append(_write_note(notes, propose_slug(kind), text))
        if _write_new(config, LIBRARY):
            written.insert(0, config)
    except OSError as error:
        for path in written:
            path.unlink(missing_ok=True)
        place = shown_path(error.filename or content)
        raise StarterError(
            f"{place}: cannot be written: {(error.strerror or 'unknown reason').lower()}"
        ) from None
    return written


def _write_note(notes: Path, slug: str, text: str) -> Path:
    """Write the note under its slug, or slug-2, -3, ... where names are taken (in any case)."""
    taken = {entry.name.casefold() for entry in notes.iterdir()}
    for number in range(1, MOST_TRIES):
        name = slug if number == 1 else f"{slug[: SLUG_LIMIT - 5].rstrip('-')}-{number}"
        path = notes / f"{name}.md"
        if name not in taken and path.name not in taken and _write_new(path, text):
            return path
    raise StarterError(f"there are {MOST_TRIES:,} notes called {slug}", "say more about the kind of device")


def _language_of(content: Path) -> str:
    """The language that a library is written in; English where there is no library yet."""
    return read_config(content)[0].language if (content / CONFIG_FILE).is_file() else "en"


def free_number(content: Path) -> int:
    """The next free number of a library, by what its notes say in their front matter."""
    stated = []
    for path in note_paths(content)[0]:
        with contextlib.suppress(UnusableFile):
            if found := _NUMBER.search(read_text(path)):
                stated.append(int(found[1]))
    return next_number(stated)


def note_text(
    device_kind: str,
    blocks: Sequence[str],
    date: datetime.date,
    number: int = FIRST_NUMBER,
    answers: Answers = NOTHING_SAID,
) -> str:
    """The text of a note that builds as it stands. Raises StarterError for an unknown kind of block."""
    named = _named(blocks)
    at, read = _example_reading(named)
    part = _first_designator(named) or "TF1"
    named_kind = f"{device_kind[:1].upper()}{device_kind[1:]}"
    title = (
        f"{named_kind}: {answers.symptoms[0]}"
        if answers.symptoms
        else _("%(device)s, and what was wrong with it") % {"device": named_kind}
    )
    said = [scalar(text) for text in answers.symptoms] or [_("what the owner says, in their words")]
    return NOTE.format(
        title=scalar(title[:TITLE_LIMIT].rstrip()),
        date=date.isoformat(),
        number=number,
        kind=scalar(device_kind),
        make=f"  make: {scalar(answers.make)}\n" if answers.make else "  # make:\n",
        model=f"  model: {scalar(answers.model)}\n" if answers.model else "  # model:\n",
        symptoms="".join(f"  - {text}\n" for text in said),
        outcome=answers.outcome or "unknown",
        barrier=f"barrier: {answers.barrier}\n" if answers.barrier else "",
        faults=_fault(answers),
        no_faults="" if _fault(answers) else _no_faults(part),
        blocks="blocks:\n" + "".join(_blocks(named)) if named else _no_blocks(),
        part=part,
        reading=at,
        read=read,
        prose="".join(f"\n{{{name}}}\n" for name in named),
        of_category=_("its product category in the Open Repair Data Standard"),
        take_away=_("Delete the # and the space after it from each line that you fill in."),
        tested=_("what was tested before it went home"),
        around=scalar(_("what stood around it")),
        went_in=scalar(_("what went in")),
        unplug=_(
            "Unplug it before you open it, and let capacitors discharge. Follow your local rules on who may work on mains."
        ),
        say=_("Say here what you saw, measured and did, in the order in which you did it."),
    )


def _no_faults(part: str) -> str:
    return _NO_FAULTS.format(
        part=part,
        because=scalar(_("why it went")),
        found_by=scalar(_("what showed it")),
        fix=scalar(_("what was done")),
    )


def _fault(answers: Answers) -> str:
    """What had failed, as far as it was said."""
    if not (answers.part or answers.failed):
        return ""
    told = [("part", answers.part), ("failed", answers.failed or "faulty"), ("found_by", answers.found_by)]
    lines = [f"{name}: {scalar(text)}" for name, text in [*told, ("fix", answers.fix)] if text]
    return "faults:\n  - " + "\n    ".join(lines) + "\n"


def _no_blocks() -> str:
    return "# blocks:      # " + _("the circuit; `benchlore writeup --blocks` fills this in")


def _example_reading(named: Mapping[str, str]) -> tuple[str, str]:
    """(block.value, what a meter shows there) of the first value that a meter can show."""
    for name, kind in named.items():
        block, _troubles = build_block(kind, catalogue.kind(kind).example, Mains())
        for value in block.values.values() if block else ():
            if (
                value.definition
                and value.definition.measurable
                and value.value
                and math.isfinite(value.value)
            ):
                return f"{name}.{value.name}", format_value(value.value, value.unit)
    return "supply.peak", "17.4 V"


def _named(blocks: Sequence[str]) -> dict[str, str]:
    """A name for each block: its kind, with a number where there are several."""
    if len(blocks) > MOST_BLOCKS:
        raise StarterError(f"{len(blocks)} blocks", f"start with at most {MOST_BLOCKS}")
    named: dict[str, str] = {}
    for kind in blocks:
        if kind not in catalogue.names():
            raise StarterError(f"{shown(kind)}: no such kind of block", did_you_mean(kind, catalogue.names()))
        count = sum(other == kind for other in named.values())
        named[kind if count == 0 else f"{kind}-{count + 1}"] = kind
    return named


def _blocks(named: Mapping[str, str]) -> list[str]:
    """The text of each block; what two kinds' examples both call C3 is C3 and C4 in one note."""
    taken: set[str] = set()
    return [_block(name, kind, taken) for name, kind in named.items()]


def _first_designator(named: Mapping[str, str]) -> str:
    found = (
        _LEADING.match(str(entry))
        for kind in named.values()
        for entry in catalogue.kind(kind).example.values()
    )
    return next((match.group() for match in found if match), "")


def _own(entry: Any, taken: set[str]) -> Any:
    """An example's parts, with a designator that is free yet."""
    if isinstance(entry, (list, tuple)):
        return [_own(inner, taken) for inner in entry]
    match = _LEADING.match(entry) if isinstance(entry, str) else None
    if match is None:
        return entry
    letters, number = match.group(1), int(match.group(2))
    while f"{letters}{number}" in taken:
        number += 1
    taken.add(f"{letters}{number}")
    return f"{letters}{number}{entry[match.end() :]}"


def _block(name: str, kind_name: str, taken: set[str]) -> str:
    kind = catalogue.kind(kind_name)
    lines = [f"  {name}:", f"    kind: {kind_name}"]
    # a chain draws parts again that other blocks have
    own = {key: entry if kind_name == "chain" else _own(entry, taken) for key, entry in kind.example.items()}
    lines += [f"    {key}: {flow(entry)}" for key, entry in own.items()]
    more = [param.name for param in kind.params if param.name not in kind.example]
    if more:
        lines.append("    # " + _("it also takes %(names)s") % {"names": ", ".join(more)})
    return "\n".join(lines) + "\n"


def _write_new(path: Path, text: str) -> bool:
    """Write a file that does not exist yet; False where it does."""
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            try:
                file.write(text)
                file.flush()
            except OSError:
                path.unlink(missing_ok=True)
                raise
    except FileExistsError:
        return False
    return True
