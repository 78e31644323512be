"""Each section of a note's front matter -> its typed record. What a section may hold stands here."""

from __future__ import annotations

import re

from generator.notation.quantity import QuantityError, parse
from generator.notes.fields import Fields
from generator.notes.keys import names
from generator.notes.record import (
    Board,
    Device,
    Fault,
    Fitted,
    Link,
    Mark,
    Moment,
    Plate,
    Proof,
    Signal,
    Step,
)
from generator.notes.standard import CATEGORIES
from generator.notes.text import LONG, MEDIUM, SHORT, shown
from generator.problems import HINT, WARNING, nearest

DEVICE = names("device")
PLATE = names("plate")
STEP = names("step")
MOMENT = names("moment")
LINK = names("link")
FAULT = names("fault")
SIGNAL = names("signal")
FITTED = names("fitted")
PROOF = names("proof")
BOARD = names("board")
MARK = names("mark")

PROTECTION = {"0": "0", "I": "I", "II": "II", "III": "III"}
_ROMAN = {"1": "I", "2": "II", "3": "III"}

# What a line of the rating plate has to state, as a number with its unit.
_PLATE_UNITS = {
    "supply": (re.compile(r"[0-9]\s*[mk]?(?:V(?!A\b|ar\b)|volts?\b)"), "voltage", "230 V"),
    "power": (re.compile(r"[0-9]\s*[mkM]?(?:W(?!h)|VA\b|watts?\b)"), "power", "180 W"),
    "current": (re.compile(r"[0-9]\s*[mµuμ]?(?:A(?!h)|amps?\b)"), "current", "0.8 A"),
    "frequency": (re.compile(r"[0-9]\s*k?Hz"), "frequency", "50 Hz"),
}

_DESIGNATOR = re.compile(r"[A-Za-z]{1,3}[0-9]{1,4}[A-Za-z]?")


def read_device(fields: Fields) -> Device:
    """The device; its kind is required."""
    device = fields.fields("device", "device", DEVICE)
    if not fields.has("device"):
        device.complete = False
        fields.missing("device", "device: {kind: what people call the thing}")
    return Device(
        kind=device.text("kind", SHORT, required=True, hint="what people call the thing, such as kettle"),
        category=_category(device),
        make=device.text("make", SHORT),
        model=device.text("model", SHORT),
        year=device.year("year"),
        plate=_plate(device.fields("plate", "plate", PLATE)),
    )


def _category(device: Fields) -> str:
    text = device.text("category", SHORT)
    for category in CATEGORIES:
        if category.casefold() == text.casefold():
            return category
    if text:
        near = nearest(text, CATEGORIES)
        device.report.at_value(
            (*device.path, "category"),
            f"category: {shown(text)} is none of the Open Repair Data Standard's that are known here",
            f"did you mean {near}?" if near else "Misc, where none fits",
            WARNING,
        )
    return text


def _plate(plate: Fields) -> Plate:
    stated = {}
    for key, (unit, quantity, example) in _PLATE_UNITS.items():
        text = plate.text(key, SHORT)
        if text and not unit.search(text):
            plate.wrong(key, f"{shown(text)} states no {quantity}", f"such as {example}")
            text = ""
        stated[key] = text
    return Plate(**stated, protection=_protection(plate))


def _protection(plate: Fields) -> str:
    text = plate.text("class", SHORT)
    name = text.upper().removeprefix("CLASS").strip()
    if text and name not in PROTECTION:
        hint = f"did you mean {_ROMAN[name]}?" if name in _ROMAN else "I, II, III or 0, as in IEC 61140"
        plate.wrong("class", f"{shown(text)} is not a protection class", hint)
        return ""
    return name


def read_faults(fields: Fields, designators: set[str]) -> tuple[Fault, ...]:
    """What was found to have failed."""
    found = []
    for entry in fields.each("faults", 100, "a fault", FAULT):
        fault = Fault(
            part=_part(entry, designators),
            failed=entry.text("failed", MEDIUM, required=True, hint="in any words: open, short, worn out"),
            because=entry.text("because", LONG),
            found_by=entry.text("found_by", LONG),
            fix=entry.text("fix", LONG),
        )
        if fault.failed:
            found.append(fault)
    return tuple(found)


def _part(entry: Fields, designators: set[str]) -> str:
    """The part as written; one that looks like a designator but is in no block is remarked upon."""
    part = entry.text("part", SHORT)
    if designators and part not in designators and _DESIGNATOR.fullmatch(part):
        what = f"part: {part} is in no block of this note"
        same = part.upper()
        hint = (
            f"did you mean {same}?"
            if same in designators
            else "known: " + ", ".join(sorted(designators)[:30])
        )
        entry.report.at_value((*entry.path, "part"), what, hint, HINT)
    return part


def read_signals(fields: Fields) -> tuple[Signal, ...]:
    """What lamps and beeps of the device mean."""
    found = []
    for entry in fields.each("signals", 100, "a signal", SIGNAL):
        shows = entry.text("shows", MEDIUM, required=True, hint="what can be seen or heard")
        means = entry.text("means", LONG, required=True)
        clears = entry.text("clears", LONG)
        if shows and means:
            found.append(Signal(shows, means, clears))
    return tuple(found)


def read_fitted(fields: Fields, designators: set[str]) -> tuple[Fitted, ...]:
    """Parts put in, with their cost."""
    found = []
    for entry in fields.each("fitted", 100, "a fitted part", FITTED):
        part, with_, cost = _part(entry, designators), entry.text("with", MEDIUM), entry.price("cost")
        if part or with_:
            found.append(Fitted(part, with_, cost))
        elif entry.complete and not (entry.has("part") or entry.has("with")):
            fields.report.at_key(entry.path, "a fitted part: part or with is missing")
    return tuple(found)


def read_proof(fields: Fields) -> tuple[Proof, ...]:
    """Tests after the repair."""
    found = []
    for entry in fields.each("proof", 50, "a proof", PROOF):
        test = entry.text("test", MEDIUM, required=True, hint="such as insulation, touch current, function")
        read = entry.text("read", MEDIUM, required=True, hint="what the test showed")
        note = entry.text("note", LONG)
        if test and read:
            found.append(Proof(test, read, note))
    return tuple(found)


def read_boards(fields: Fields) -> tuple[Board, ...]:
    """Photos of boards with their marks."""
    found = []
    for entry in fields.each("boards", 20, "a board", BOARD):
        top = _picture(entry, "top")
        bottom = _picture(entry, "bottom")
        caption = entry.text("caption", MEDIUM)
        if entry.complete and not (entry.has("top") or entry.has("bottom")):
            hint = "the file name of its picture"
            fields.report.at_key(entry.path, "a board: top or bottom is missing", hint)
        marks = tuple(_marks(entry))
        if top or bottom:
            found.append(Board(top, bottom, caption, marks))
    return tuple(found)


def _marks(board: Fields) -> list[Mark]:
    found = []
    for entry in board.each("marks", 500, "a mark", MARK):
        part = entry.text("part", SHORT, required=True)
        side = entry.choice("side", ("top", "bottom"), "top" if board.has("top") else "bottom")
        x, y = entry.per_cent("x"), entry.per_cent("y")
        if not board.has(side):
            board.report.at_key(entry.path, f"a mark: the board has no picture of its {side}")
        elif part and x is not None and y is not None:
            found.append(Mark(part, side, x, y))
    return found


def _picture(entry: Fields, key: str) -> str:
    name = entry.text(key, MEDIUM)
    trouble = path_trouble(name)
    if name and trouble:
        entry.wrong(key, f"{shown(name)}: {trouble}", "the file's name, beside the note")
        return ""
    return name


def path_trouble(name: str) -> str:
    """Why a relative file name may not be used, or ""."""
    if "\\" in name or ":" in name:
        return "folders are divided by /, and a name has no colon"
    steps = name.split("/")
    if steps[0] == "" or ".." in steps:
        return "the path leaves the note's folder"
    return ""


def read_steps(fields: Fields) -> tuple[Step, ...]:
    """How the thing comes apart."""
    found = []
    for entry in fields.each("steps", 100, "a step", STEP):
        do = entry.text(
            "do", LONG, required=True, hint="what to do, such as take out four screws under the feet"
        )
        with_, mind = entry.text("with", MEDIUM), entry.text("mind", LONG)
        if do:
            found.append(Step(do, with_, mind))
    return tuple(found)


def read_sequence(fields: Fields) -> tuple[Moment, ...]:
    """What the device does, moment by moment; in the order of their times."""
    found: list[Moment] = []
    for entry in fields.each("sequence", 100, "a moment", MOMENT):
        at = entry.text("at", SHORT, required=True, hint="the time after the press, such as 0 s")
        does = entry.text("does", LONG, required=True, hint="what it does then")
        try:
            seconds = parse(at, "s", zero=True).middle if at else 0.0
        except QuantityError as error:
            entry.wrong("at", error.what, error.hint)
            continue
        if found and seconds < found[-1].at:
            hint = "times come in order"
            entry.wrong("at", f"{shown(at)} comes before {found[-1].text}", hint)
        if at and does:
            found.append(Moment(seconds, at, does))
    return tuple(found)


def read_links(fields: Fields) -> tuple[Link, ...]:
    """Where else something stands: addresses alone, or {to, what}."""
    found = []
    for path, raw in fields.entries("links", 50):
        entry = Fields(
            {"to": raw} if isinstance(raw, str) else raw, path, "a link", LINK, fields.report, fields.complete
        )
        to = entry.text("to", LONG, required=True, hint="an address, such as https://example.org/manual.pdf")
        if to and not re.match(r"(?:https?://|mailto:)[^\s<>\"]+$", to) and (":" in to or " " in to):
            hint = "https://..., mailto:..., or a file beside the note"
            entry.report.at_value(path, f"links: {shown(to)} is not an address", hint)
        elif to:
            found.append(Link(to, entry.text("what", MEDIUM)))
    return tuple(found)


def read_number(fields: Fields) -> int | None:
    """The job's number, 1 to 999,999."""
    text = fields.text("number", SHORT)
    if text and not re.fullmatch(r"[1-9][0-9]{0,5}", text):
        hint = "a whole number, such as 42; writeup gives the next free one"
        fields.wrong("number", f"{shown(text)} is not a job number", hint)
        return None
    return int(text) if text else None
