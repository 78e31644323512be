"""Each section of a note's front matter -> its typed record. What a section may hold stands here."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from generator.notation.quantity import QuantityError, parse
from generator.notation.reading import Meter, read_shown
from generator.notes.fields import Fields, Report
from generator.notes.keys import names
from generator.notes.reading import Reading
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
from generator.notes.text import shown
from generator.problems import HINT, WARNING, nearest

if TYPE_CHECKING:
    from generator.circuit.device import Told

DEVICE = names("device")
PLATE = names("plate")
READING = names("reading")
WHERE = ("at", "across", "ohms", "diode")  # a reading has one of them
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

SHORT, MEDIUM, LONG = 80, 200, 1_000  # characters: a name, a line, a paragraph


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


def read_readings(
    fields: Fields, circuit: Any, blocks: dict[str, Any], told: Told | None = None
) -> tuple[Reading, ...]:
    """Readings whose block is broken are kept, for that is said already; those at no such place are told."""
    found = []
    check = _Places(fields.report, circuit, blocks, told)
    for path, raw in fields.entries("readings", 1_000):
        entry = Fields(raw, path, "a reading", READING, fields.report, fields.complete)
        where = _where(entry)
        read = entry.text("read", SHORT, required=True, hint="what the meter showed, such as 17.4 V or open")
        at = where.get("at", ("",))[0]
        block, _dot, value = at.partition(".")
        reading = Reading(
            block=block.strip(), value=value.strip(), read=read, accuracy=entry.accuracy("accuracy"),
            condition=_condition(entry), note=entry.text("note", LONG), path=path, at=at, across=where.get("across", ("",))[0],
            ohms=where.get("ohms", ()), diode=where.get("diode", ()), when=check.state(entry), mended=entry.text("mended", SHORT),
        )  # fmt: skip
        if where and check.exists(reading) and read:
            _as_shown(entry, reading)
            found.append(reading)
    return tuple(found)


def _as_shown(entry: Fields, reading: Reading) -> None:
    """Whether the texts are what a meter shows. What a block's value reads in is its own unit, and is judged with it."""
    unit = "ohm" if reading.ohms else "V" if reading.diode or reading.across else ""
    for key, text in (("read", reading.read), ("mended", reading.mended)) if unit else ():
        try:
            if text:
                read_shown(text, unit, Meter())
        except QuantityError as error:
            entry.wrong(key, error.what, error.hint)


def _where(entry: Fields) -> dict[str, tuple[str, ...]]:
    """The one key that says where it was read, with its place or two places."""
    given = [key for key in WHERE if entry.has(key)]
    if not given:
        entry.missing("at", "block.value, such as supply.peak")
        return {}
    if len(given) > 1:
        entry.report.at_key(
            (*entry.path, given[1]), f"a reading: {given[0]} and {given[1]} say both where", "one of them"
        )
        return {}
    key = given[0]
    raw = entry.data[key]
    if key in ("ohms", "diode") and isinstance(raw, list):
        places = entry.texts(key, 2, MEDIUM)
        if len(places) != 2:
            entry.wrong(
                key, "one part or two places are expected", f"such as {key}: [supply.plus, supply.common]"
            )
            return {}
        return {key: places}
    place = entry.text(key, MEDIUM)
    return {key: (place,)} if place else {}


def _condition(entry: Fields) -> str:
    """What `with:` says: a remark, which decides nothing; a hint where it reads like a state or like ohms."""
    text = entry.text("with", MEDIUM)
    if text and _LIKE_OHMS.search(text) and not (entry.has("ohms") or entry.has("diode")):
        hint = "ohms: PART, or ohms: [place, place], is read with the plug out"
        entry.report.at_value(
            (*entry.path, "with"), f"with: {shown(text)} is a remark and decides nothing", hint, HINT
        )
    elif text and _LIKE_A_STATE.search(text) and not entry.has("when"):
        hint = "when: names one of the note's states"
        entry.report.at_value(
            (*entry.path, "with"), f"with: {shown(text)} is a remark and decides nothing", hint, HINT
        )
    return text


_LIKE_OHMS = re.compile(r"\b(?:unplugged|in circuit|plug out|ausgesteckt)\b", re.IGNORECASE)
_LIKE_A_STATE = re.compile(
    r"\b(?:relay|heater|fan|motor|lamp|pump|triac|output|button|switch)s? (?:is )?(?:off|on|pressed|released|closed|open)\b",
    re.IGNORECASE,
)


class _Places:
    """Whether readings are taken at places that there are. The device is put together only where a reading asks for it."""

    def __init__(self, report: Report, circuit: Any, blocks: dict[str, Any], told: Told | None) -> None:
        self.report, self.circuit, self.blocks, self.told = report, circuit, blocks, told
        self._device: Any = None

    def state(self, entry: Fields) -> str:
        """The state that a reading names, "" for the first."""
        from generator.notes.whole import USUAL_STATES

        text = entry.text("when", SHORT)
        states = (
            [state.name for state in self.told.states]
            if self.told and self.told.states
            else list(USUAL_STATES)
        )
        if not text or text in states:
            return text
        if re.search(r"unplugged|plug out", text, re.IGNORECASE):
            entry.wrong(
                "when",
                f"{shown(text)} is not a state",
                "ohms: reads with the plug out, at a part or between two places",
            )
        else:
            self.report.unknown(
                (*entry.path, "when"), f"when: {shown(text)} is not a state of this note", text, states
            )
        return ""

    def exists(self, reading: Reading) -> bool:
        if reading.at and (self.told is None or reading.block in self.blocks and "." in reading.at):
            block = self.circuit.blocks.get(reading.block) if self.circuit is not None else None
            if (
                block is None
                or not reading.value
                or reading.value in block.values
                or not self._is_place(reading, "at", reading.at, quiet=True)
            ):
                return _place_exists(reading, reading.at, self.circuit, self.blocks, self.report)
            return True
        places = [
            ("at", reading.at),
            ("across", reading.across),
            *(("ohms", p) for p in reading.ohms),
            *(("diode", p) for p in reading.diode),
        ]
        return all(self._is_place(reading, key, text) for key, text in places if text)

    def _is_place(self, reading: Reading, key: str, text: str, *, quiet: bool = False) -> bool:
        broken = self.circuit is None or len(self.circuit.blocks) < len(self.blocks)
        if self.circuit is None or broken and not quiet:
            return not quiet  # a broken block may have the place
        from generator.circuit.device import PlaceError

        try:
            self.device.place(text)
        except PlaceError as error:
            if not quiet:
                self.report.at_value((*reading.path, key), f"{key}: {error.what}", error.hint)
            return False
        return True

    @property
    def device(self) -> Any:
        if self._device is None:
            from generator.notes.whole import put_together

            self._device = put_together(self.circuit, self.told)
        return self._device


def _place_exists(reading: Reading, at: str, circuit: Any, blocks: dict[str, Any], report: Report) -> bool:
    path = (*reading.path, "at")
    block = circuit.blocks.get(reading.block) if circuit is not None else None
    if block is not None:
        values = list(block.values)
        if reading.value in block.values:
            return True
        if not values:
            report.at_value(path, f"at: {shown(at)}: {block.kind.name} has no values to read")
        elif not reading.value:
            report.at_value(
                path, f"at: {shown(at)}: which value of {reading.block}?", "known: " + ", ".join(values)
            )
        else:
            from generator.circuit.circuit import hint_for_value

            what = f"at: {shown(at)}: {block.kind.name} {reading.block} has no value {shown(reading.value)}"
            report.at_value(path, what, "" if report.full else hint_for_value(block, reading.value))
        return False
    if reading.block in blocks:  # the block itself is wrong, and that is told where it stands
        from generator.circuit.circuit import possible_values

        possible = possible_values(blocks[reading.block])
        if reading.value and reading.value not in possible:
            report.unknown(
                path,
                f"at: {shown(at)}: {reading.block} has no value {shown(reading.value)}",
                reading.value,
                possible,
            )
        return False
    if not blocks:
        report.at_value(path, f"at: {shown(at)}: the note has no blocks", "add the block that was measured")
    else:
        what = f"at: {shown(at)}: no block {shown(reading.block)} in this note"
        report.unknown(path, what, reading.block, list(blocks))
    return False


def read_faults(fields: Fields, designators: set[str]) -> tuple[Fault, ...]:
    """What was found to have failed."""
    found = []
    for path, raw in fields.entries("faults", 100):
        entry = Fields(raw, path, "a fault", FAULT, fields.report, fields.complete)
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
    for path, raw in fields.entries("signals", 100):
        entry = Fields(raw, path, "a signal", SIGNAL, fields.report, fields.complete)
        shows = entry.text("shows", MEDIUM, required=True, hint="what can be seen or heard")
        means = entry.text("means", LONG, required=True)
        clears = entry.text("clears", LONG)
        if shows and means:
            found.append(Signal(shows, means, clears))
    return tuple(found)


def read_fitted(fields: Fields, designators: set[str]) -> tuple[Fitted, ...]:
    """Parts put in, with their cost."""
    found = []
    for path, raw in fields.entries("fitted", 100):
        entry = Fields(raw, path, "a fitted part", FITTED, fields.report, fields.complete)
        part, with_, cost = _part(entry, designators), entry.text("with", MEDIUM), entry.price("cost")
        if part or with_:
            found.append(Fitted(part, with_, cost))
        elif entry.complete and not (entry.has("part") or entry.has("with")):
            fields.report.at_key(path, "a fitted part: part or with is missing")
    return tuple(found)


def read_proof(fields: Fields) -> tuple[Proof, ...]:
    """Tests after the repair."""
    found = []
    for path, raw in fields.entries("proof", 50):
        entry = Fields(raw, path, "a proof", PROOF, fields.report, fields.complete)
        test = entry.text("test", MEDIUM, required=True, hint="such as insulation, touch current, function")
        read = entry.text("read", MEDIUM, required=True, hint="what the test showed")
        note = entry.text("note", LONG)
        if test and read:
            found.append(Proof(test, read, note))
    return tuple(found)


def read_boards(fields: Fields) -> tuple[Board, ...]:
    """Photos of boards with their marks."""
    found = []
    for path, raw in fields.entries("boards", 20):
        entry = Fields(raw, path, "a board", BOARD, fields.report, fields.complete)
        top = _picture(entry, "top")
        bottom = _picture(entry, "bottom")
        caption = entry.text("caption", MEDIUM)
        if entry.complete and not (entry.has("top") or entry.has("bottom")):
            fields.report.at_key(path, "a board: top or bottom is missing", "the file name of its picture")
        marks = tuple(_marks(entry))
        if top or bottom:
            found.append(Board(top, bottom, caption, marks))
    return tuple(found)


def _marks(board: Fields) -> list[Mark]:
    found = []
    for path, raw in board.entries("marks", 500):
        entry = Fields(raw, path, "a mark", MARK, board.report, board.complete)
        part = entry.text("part", SHORT, required=True)
        side = entry.choice("side", ("top", "bottom"), "top" if board.has("top") else "bottom")
        x, y = entry.per_cent("x"), entry.per_cent("y")
        if not board.has(side):
            board.report.at_key(path, f"a mark: the board has no picture of its {side}")
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
    for path, raw in fields.entries("steps", 100):
        entry = Fields(raw, path, "a step", STEP, fields.report, fields.complete)
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
    for path, raw in fields.entries("sequence", 100):
        entry = Fields(raw, path, "a moment", MOMENT, fields.report, fields.complete)
        at = entry.text("at", SHORT, required=True, hint="the time after the press, such as 0 s")
        does = entry.text("does", LONG, required=True, hint="what it does then")
        try:
            seconds = parse(at, "s", zero=True).middle if at else 0.0
        except QuantityError as error:
            entry.wrong("at", error.what, error.hint)
            continue
        if found and seconds < found[-1].at:
            entry.wrong(
                "at", f"{shown(at)} comes before {found[-1].text}", "the moments stand in their order"
            )
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
            entry.report.at_value(
                path,
                f"links: {shown(to)} is not an address",
                "https://..., mailto:..., or a file beside the note",
            )
        elif to:
            found.append(Link(to, entry.text("what", MEDIUM)))
    return tuple(found)


def read_number(fields: Fields) -> int | None:
    """The job's number, 1 to 999,999."""
    text = fields.text("number", SHORT)
    if text and not re.fullmatch(r"[1-9][0-9]{0,5}", text):
        fields.wrong(
            "number",
            f"{shown(text)} is not a job number",
            "a whole number, such as 42; writeup gives the next free one",
        )
        return None
    return int(text) if text else None
