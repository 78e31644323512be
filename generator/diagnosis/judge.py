"""A note's readings judged: each against its band, all together against every single failure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from generator.circuit.block import Result
from generator.circuit.circuit import Circuit
from generator.diagnosis import words
from generator.diagnosis.fit import Fit, rank
from generator.diagnosis.metered import as_metered
from generator.diagnosis.model import Model, Spot
from generator.diagnosis.next_reading import Next, best_next
from generator.diagnosis.readings import Meter, Shown, Verdict, read_accuracy, read_shown, verdict
from generator.notation.quantity import QuantityError

# Under these conditions a reading says nothing of the circuit at work; it is shown, but fitted only where its value is one
# that is read cold. "load off" is no such condition: some values are meant so.
_NOT_AT_WORK = re.compile(
    r"\b(?:mains|power|supply|plug|battery|device|strom|netz|stecker)\b.*\b(?:off|out|pulled|unplugged|removed|disconnected|aus|gezogen)\b"
    r"|^(?:switched |powered )?off$|\bunplugged\b|\bout of (?:the )?circuit\b|\bcold\b|ausgebaut|ausgeschaltet|stromlos|éteint|débranché|\buit\b",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Taken:
    """A reading as a note has it: where, what was shown, under which condition, with what accuracy."""

    block: str
    value: str
    read: str
    accuracy: str = ""
    condition: str = ""
    note: str = ""


@dataclass(frozen=True)
class Judged:
    """A reading with its interval and verdict; trouble says why it cannot be judged (then the rest is None).

    expected: what it should be, with the meter's own load on the circuit.
    """

    taken: Taken
    shown: Shown | None
    verdict: Verdict | None
    fitted: bool
    trouble: str = ""
    hint: str = ""
    expected: Result | None = None


@dataclass
class Judgement:
    """Everything that the readings of a circuit say."""

    judged: list[Judged]
    fits: list[Fit] = field(default_factory=list)
    next: Next | None = None
    model: Model | None = None
    contradictory: list[Spot] = field(default_factory=list)

    @property
    def readings(self) -> int:
        """How many readings the fits are drawn from."""
        return sum(j.fitted for j in self.judged)

    def conclusion(self) -> list[str]:
        """What the readings say, a sentence each; first where they contradict each other."""
        if self.model is None:
            return []
        sentences = []
        for spot in self.contradictory:
            texts = [j.taken.read for j in self.judged if (j.taken.block, j.taken.value) == spot and j.shown]
            sentences.append(words.contradiction_text(self.model, spot, texts))
        return sentences + words.conclusion(self.model, self.fits, self.readings)


def judge(circuit: Circuit, readings: Sequence[Taken], meter: Meter) -> Judgement:
    """Judge readings of a circuit. Readings that cannot be read have a trouble each; nothing is raised."""
    judged = [_judged(circuit, taken, meter) for taken in readings]
    used = [(Spot(j.taken.block, j.taken.value), j.shown) for j in judged if j.fitted and j.shown]
    if not used:
        return Judgement(judged)
    contradictory = _contradictory(used)
    if contradictory:  # neither can be trusted; both are shown, and none is fitted
        used = [(spot, shown) for spot, shown in used if spot not in contradictory]
        judged = [
            replace(j, fitted=j.fitted and Spot(j.taken.block, j.taken.value) not in contradictory)
            for j in judged
        ]
    model = Model(circuit, list(dict.fromkeys(spot for spot, _ in used)), meter.input)
    fits = rank(model, used)
    found = best_next(model, fits, model.spots)
    return Judgement(judged, fits, found, model, contradictory)


def _judged(circuit: Circuit, taken: Taken, meter: Meter) -> Judged:
    expected = circuit.blocks[taken.block].values.get(taken.value) if taken.block in circuit.blocks else None
    if expected is None:
        return Judged(
            taken, None, None, False, f"{taken.block}.{taken.value} is no value of this note's blocks"
        )
    try:
        wave = expected.definition.wave if expected.definition else ""
        shown = read_shown(taken.read, expected.unit, read_accuracy(taken.accuracy, meter), wave)
    except QuantityError as error:
        return Judged(taken, None, None, False, error.what, error.hint)
    at_work = not _NOT_AT_WORK.search(taken.condition.strip())
    fitted = (
        at_work
        or expected.unit in ("ohm", "F", "s")
        or bool(expected.definition and expected.definition.cold)
    )
    expected = as_metered(circuit.blocks[taken.block], expected, meter.input)
    return Judged(taken, shown, verdict(shown, expected), fitted, expected=expected)


def _contradictory(used: Sequence[tuple[Spot, Shown]]) -> list[Spot]:
    """Points that were read twice with intervals that do not meet."""
    found = []
    for number, (spot, shown) in enumerate(used):
        for other, before in used[:number]:
            if other == spot and (shown.low > before.high or shown.high < before.low) and spot not in found:
                found.append(spot)
    return found
