"""The tests after a repair against their limits. The limits are guidance; local codes and a competent person decide.

Limits after EN 50678 (repeat test after repair of electrical equipment); all of them from memory, to be checked against the
edition in force where the test is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generator.language import _
from generator.notation.printed import format_value
from generator.notation.quantity import QuantityError
from generator.notation.reading import Meter, is_open, read_shown
from generator.notes.record import Proof

SOURCE = "EN 50678, from memory"


@dataclass(frozen=True)
class Limit:
    """A limit of a test: at_most or at_least in unit."""

    unit: str
    value: float
    at_most: bool

    @property
    def text(self) -> str:
        """The limit as it is printed."""
        sign = "≤" if self.at_most else "≥"
        return f"{sign} {format_value(self.value, self.unit, trim=True)}"


# test -> protection class -> limit. A class without an entry has no such limit.
LIMITS: dict[str, dict[str, Limit]] = {
    "earth continuity": {"I": Limit("ohm", 0.3, True)},  # cable up to 5 m
    "insulation": {
        "I": Limit("ohm", 1e6, False),
        "II": Limit("ohm", 2e6, False),
        "III": Limit("ohm", 0.25e6, False),
    },
    "protective conductor current": {"I": Limit("A", 3.5e-3, True)},
    "touch current": {"I": Limit("A", 0.5e-3, True), "II": Limit("A", 0.5e-3, True)},
}

# What a repaired mains device of a class is expected to have been put through.
EXPECTED = {
    "I": ("earth continuity", "insulation", "function"),
    "II": ("insulation", "function"),
    "III": ("function",),
}

_ALSO = {
    "earth continuity": (
        "earth continuity",
        "protective conductor",
        "protective earth",
        "earth bond",
        "pe resistance",
        "schutzleiter",
    ),
    "insulation": ("insulation", "insulation resistance", "isolation"),
    "protective conductor current": (
        "protective conductor current",
        "earth leakage",
        "leakage current",
        "schutzleiterstrom",
    ),
    "touch current": ("touch current", "berührungsstrom"),
    "polarity": ("polarity",),
    "function": ("function", "functional", "run", "funktion"),
}


@dataclass(frozen=True)
class Proven:
    """A test with its limit. verdict: "holds", "fails", or "" where there is no limit or no number."""

    test: str
    read: str
    note: str
    limit: str
    source: str
    verdict: str


def test_name(text: str) -> str:
    """Which of the known tests a text means; "" for another one."""
    said = " ".join(text.casefold().split())
    for name in (
        "protective conductor current",
        "touch current",
        "earth continuity",
        "insulation",
        "polarity",
        "function",
    ):
        if any(said == word or said.startswith(word) for word in _ALSO[name]):
            return name
    return ""


def judge_proof(proof: Sequence[Proof], protection: str) -> list[Proven]:
    """Each test held against the limit for the protection class (I, II, III of IEC 61140)."""
    return [_proven(entry, protection) for entry in proof]


def _proven(entry: Proof, protection: str) -> Proven:
    limits = LIMITS.get(test_name(entry.test), {})
    limit = limits.get(protection)
    if limit is not None:
        return Proven(entry.test, entry.read, entry.note, limit.text, _(SOURCE), _verdict(entry.read, limit))
    if not protection and limits:  # the class is not stated: what fails in every class fails
        loosest = max(limits.values(), key=lambda own: own.value if own.at_most else -own.value)
        if _verdict(entry.read, loosest) == "fails":
            return Proven(entry.test, entry.read, entry.note, loosest.text, _(SOURCE), "fails")
    return Proven(entry.test, entry.read, entry.note, "", "", "")


def _verdict(read: str, limit: Limit) -> str:
    """Held to the limit at the bad end of what it says: "> 0.1 ohm" may be any number of ohms, "< 20 Mohm" none."""
    text = read.strip()
    if is_open(text):  # beyond what the meter can show
        return "fails" if limit.at_most else "holds"
    more = text.startswith((">", "≥"))
    try:
        shown = read_shown(text.lstrip(">≥= ") if more else text, limit.unit, Meter(0.0, 0))
    except QuantityError:
        return ""
    plain = shown.value is not None and "%" not in text
    low, high = (shown.middle, shown.middle) if plain else (shown.low, shown.high)
    if limit.at_most:
        return "holds" if not more and high <= limit.value else "fails"
    return "holds" if low >= limit.value else "fails"


def missing_proof(proof: Sequence[Proof], protection: str, mains: bool, outcome: str) -> str:
    """What is to be said of a mended mains device without, or without all of, its tests; "" where nothing is."""
    if outcome != "fixed" or not mains:
        return ""
    if not proof:
        return _(
            "This mended mains device has no recorded tests. Before it is used, a competent person has to test it as local codes require."
        )
    done = {test_name(entry.test) for entry in proof}
    lacking = [test for test in EXPECTED.get(protection, ()) if test not in done]
    if not lacking:
        return ""
    tests = ", ".join(_(test) for test in lacking)
    return _(
        "Not recorded: %(tests)s. A competent person decides, under local codes, what has to be tested."
    ) % {"tests": tests}
