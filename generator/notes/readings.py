"""A note's readings: what the meter showed, where, and whether there is such a place."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from generator.notation.quantity import QuantityError
from generator.notation.reading import Meter, read_shown
from generator.notes.fields import Fields, Report
from generator.notes.keys import names
from generator.notes.reading import Reading
from generator.notes.text import LONG, MEDIUM, SHORT, shown
from generator.problems import HINT

if TYPE_CHECKING:
    from generator.circuit.device import Told

READING = names("reading")
WHERE = ("at", "across", "ohms", "diode")  # a reading has one of them


def read_readings(
    fields: Fields, circuit: Any, blocks: dict[str, Any], told: Told | None
) -> tuple[Reading, ...]:
    """Readings whose block is broken are kept, for that is said already; those at no such place are told."""
    found = []
    check = _Places(fields.report, circuit, blocks, told)
    for entry in fields.each("readings", 1_000, "a reading", READING):
        where = _where(entry)
        read = entry.text("read", SHORT, required=True, hint="what the meter showed, such as 17.4 V or open")
        at = where.get("at", ("",))[0]
        block, _dot, value = at.partition(".")
        reading = Reading(
            block=block.strip(), value=value.strip(), read=read, accuracy=entry.accuracy("accuracy"),
            condition=_condition(entry), note=entry.text("note", LONG), path=entry.path, at=at, across=where.get("across", ()),
            ohms=where.get("ohms", ()), diode=where.get("diode", ()), when=check.state(entry), mended=entry.text("mended", SHORT),
        )  # fmt: skip
        if where and check.exists(reading) and read and _as_shown(entry, reading):
            found.append(reading)
    return tuple(found)


def _as_shown(entry: Fields, reading: Reading) -> bool:
    """Whether the texts are what a meter shows; what is none is told. What a block's value reads in is its own unit, and is judged with it."""
    unit = "ohm" if reading.ohms else "V" if reading.diode or reading.across else ""
    shown_all = True
    for key, text in (("read", reading.read), ("mended", reading.mended)) if unit else ():
        try:
            if text:
                read_shown(text, unit, Meter())
        except QuantityError as error:
            entry.wrong(key, error.what, error.hint)
            shown_all = False
    return shown_all


def _where(entry: Fields) -> dict[str, tuple[str, ...]]:
    """The one key that says where it was read, with its place or two places."""
    given = [key for key in WHERE if entry.has(key)]
    if not given:
        entry.missing("at", "block.value, such as supply.peak")
        return {}
    if len(given) > 1:
        what = f"a reading: {given[0]} and {given[1]} both say where"
        entry.report.at_key((*entry.path, given[1]), what, "one of them")
        return {}
    key = given[0]
    raw = entry.data[key]
    if key != "at" and isinstance(raw, list):
        places = entry.texts(key, 2, MEDIUM)
        if len(places) != 2:
            hint = f"such as {key}: [supply.plus, supply.common]"
            entry.wrong(key, "one part or two places are expected", hint)
            return {}
        return {key: places}
    place = entry.text(key, MEDIUM)
    return {key: (place,)} if place else {}


def _condition(entry: Fields) -> str:
    """What `with:` says: a remark, which decides nothing; a hint where it reads like a state or like ohms."""
    text = entry.text("with", MEDIUM)
    if text and _LIKE_OHMS.search(text) and not (entry.has("ohms") or entry.has("diode")):
        hint = "ohms: PART, or ohms: [place, place], is read with the plug out"
        what = f"with: {shown(text)} is a remark and decides nothing"
        entry.report.at_value((*entry.path, "with"), what, hint, HINT)
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
            hint = "ohms: reads with the plug out, at a part or between two places"
            entry.wrong("when", f"{shown(text)} is not a state", hint)
        else:
            what = f"when: {shown(text)} is not a state of this note"
            self.report.unknown((*entry.path, "when"), what, text, states)
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
            *(("across", p) for p in reading.across),
            *(("ohms", p) for p in reading.ohms),
            *(("diode", p) for p in reading.diode),
        ]
        return all([self._is_place(reading, key, text) for key, text in places if text]) and (
            len(reading.across) < 2 or self._is_place(reading, "across", *reading.across)
        )

    def _is_place(self, reading: Reading, key: str, *texts: str, quiet: bool = False) -> bool:
        broken = self.circuit is None or len(self.circuit.blocks) < len(self.blocks)
        if self.circuit is None or broken and not quiet:
            return not quiet  # a broken block may have the place
        from generator.circuit.device import PlaceError

        try:
            self.device.place_across(texts)
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
            report.at_value(
                path, what, "" if report.full else hint_for_value(block, reading.value, place=True)
            )
        return False
    if reading.block in blocks:  # the block itself is wrong, and that is told where it stands
        from generator.circuit.circuit import possible_values

        possible = possible_values(blocks[reading.block], places=True)
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
