"""A first note, with the blocks asked for, and a library around it where there is none yet."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from generator.circuit import catalogue
from generator.notes.config import CONFIG_FILE
from generator.notes.frontmatter import NULLS
from generator.notes.library import NOTES_FOLDER, SLUG_LIMIT, propose_slug
from generator.notes.sections import SHORT
from generator.notes.text import forbidden_in, shown, shown_path
from generator.problems import did_you_mean

MOST_BLOCKS = 20
MOST_TRIES = 1_000

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
device:
  kind: {kind}
  # category: Small kitchen item      the Open Repair Data Standard's name for its sort
  # make:
  # model:
  # year: 2017
  # plate: {{supply: 230 V, power: 180 W, class: II}}
symptoms:
  - {symptom}
outcome: unknown      # fixed | repairable | end of life | unknown
{blocks}
# readings:
#   - {{at: {reading}, read: {read}, note: what stood around it}}
# faults:
#   - part: TF1
#     failed: open
#     because: why it went
#     found_by: what showed it
#     fix: what was done
# fitted:
#   - {{part: TF1, with: what went in, cost: 1.20}}
# time: 90 min
# proof:      what was tested before it went home
#   - {{test: insulation, read: 200 Mohm}}
---

Unplug it before you open it, and let capacitors discharge. Follow your local rules on who may work on mains.

Say here what you saw, measured and did, in the order in which you did it.
{prose}"""

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9 .%/+()°µΩ=-]*(?<! )")


class StarterError(ValueError):
    """The note cannot be started. what says why, hint what would do."""

    def __init__(self, what: str, hint: str = "") -> None:
        super().__init__(f"{what}; {hint}" if hint else what)
        self.what, self.hint = what, hint


def start_note(content: Path, device_kind: str, blocks: Sequence[str], date: datetime.date) -> list[Path]:
    """Start a note on a kind of device with blocks of these kinds; the files written, in order.

    Makes the folder, library.yaml and notes/ where they are missing. Nothing is ever overwritten: where
    the name is taken, the note is called kettle-2. Raises StarterError, and then leaves nothing behind
    but folders.
    """
    kind = " ".join(device_kind.split())
    if not kind or len(kind) > SHORT or forbidden_in(kind):
        raise StarterError(
            f"{shown(kind) or 'nothing'}: no kind of device", f"a few words, at most {SHORT} characters"
        )
    text = note_text(kind, blocks, date)
    notes, config = content / NOTES_FOLDER, content / CONFIG_FILE
    if notes.is_symlink():
        raise StarterError(
            f"{shown_path(notes)} is a symbolic link", "links are not followed; make it a folder"
        )
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


def note_text(device_kind: str, blocks: Sequence[str], date: datetime.date) -> str:
    """The text of a note that builds as it stands. Raises StarterError for an unknown kind of block."""
    named = _named(blocks)
    at, unit = _first_measurable(named)
    return NOTE.format(
        title=scalar(f"{device_kind[:1].upper()}{device_kind[1:]}, and what was wrong with it"),
        date=date.isoformat(),
        kind=scalar(device_kind),
        symptom="what the owner says, in their words",
        blocks="blocks:\n" + "".join(_block(name, kind) for name, kind in named.items())
        if named
        else _NO_BLOCKS,
        reading=at,
        read=_READ.get(unit, "open"),
        prose="".join(f"\n{{{name}}}\n" for name in named),
    )


_NO_BLOCKS = "# blocks:      the circuit; `benchlore writeup --blocks` fills this in"

_READ = {"V": "17.4 V", "A": "120 mA", "ohm": "47k", "s": "2 s", "Hz": "100 Hz", "°C": "38 C"}


def _first_measurable(named: Mapping[str, str]) -> tuple[str, str]:
    """(block.value, unit) of the first value that a meter can show, as an example of a reading."""
    for name, kind in named.items():
        for value in catalogue.kind(kind).values:
            if value.measurable:
                return f"{name}.{value.name}", value.unit
    return "supply.peak", "V"


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


def _block(name: str, kind_name: str) -> str:
    kind = catalogue.kind(kind_name)
    lines = [f"  {name}:", f"    kind: {kind_name}"]
    lines += [f"    {key}: {flow(entry)}" for key, entry in kind.example.items()]
    more = [param.name for param in kind.params if param.name not in kind.example]
    if more:
        lines.append("    # it also takes " + ", ".join(more))
    return "\n".join(lines) + "\n"


def flow(entry: Any) -> str:
    """A value as YAML on one line: text, or lists and keys of text. Text that is YAML flow itself stays."""
    if isinstance(entry, Mapping):
        return "{" + ", ".join(f"{scalar(str(key))}: {flow(value)}" for key, value in entry.items()) + "}"
    if isinstance(entry, (list, tuple)):
        return "[" + ", ".join(flow(value) for value in entry) + "]"
    text = str(entry)
    return text if text[:1] in ("{", "[") else scalar(text)


def scalar(text: str) -> str:
    """Text as a YAML scalar that is read back as the same text, also inside { } and [ ]."""
    if _PLAIN.fullmatch(text) and text not in NULLS:
        return text
    return json.dumps(text, ensure_ascii=False)


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
