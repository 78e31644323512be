"""A note's readings judged: each against its band, all together against every single failure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from generator.circuit.circuit import Circuit
from generator.circuit.quantity import QuantityError
from generator.diagnosis.fit import Fit, rank
from generator.diagnosis.model import Model, Spot
from generator.diagnosis.next_reading import Next, best_next
from generator.diagnosis.readings import Meter, Shown, Verdict, read_accuracy, read_shown, verdict

# Under these conditions a reading says nothing of the circuit at work; it is shown, but not fitted.
_NOT_AT_WORK = ("off", "unplugged", "disconnected", "aus", "gezogen", "éteint", "uit")


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
    """A reading with its interval and verdict; trouble says why it cannot be judged (then the rest is None)."""

    taken: Taken
    shown: Shown | None
    verdict: Verdict | None
    fitted: bool
    trouble: str = ""
    hint: str = ""


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
        return sum(j.fitted for j in self.judged)


def judge(circuit: Circuit, readings: Sequence[Taken], meter: Meter) -> Judgement:
    """Judge readings of a circuit. Readings that cannot be read have a trouble each; nothing is raised."""
    judged = [_judged(circuit, taken, meter) for taken in readings]
    used = [(Spot(j.taken.block, j.taken.value), j.shown) for j in judged if j.fitted and j.shown]
    if not used:
        return Judgement(judged)
    model = Model(circuit, list(dict.fromkeys(spot for spot, _ in used)), meter.input)
    fits = rank(model, used)
    found = best_next(model, fits, model.spots)
    return Judgement(judged, fits, found, model, _contradictory(used))


def _judged(circuit: Circuit, taken: Taken, meter: Meter) -> Judged:
    expected = circuit.blocks[taken.block].values.get(taken.value) if taken.block in circuit.blocks else None
    if expected is None:
        return Judged(taken, None, None, False, f"{taken.block}.{taken.value} is no value of this note's blocks")
    try:
        shown = read_shown(taken.read, expected.unit, read_accuracy(taken.accuracy, meter))
    except QuantityError as error:
        return Judged(taken, None, None, False, error.what, error.hint)
    at_work = not any(word in taken.condition.casefold().replace(",", " ").split() for word in _NOT_AT_WORK)
    fitted = at_work or expected.unit in ("ohm", "F", "s") or bool(expected.definition and expected.definition.cold)
    return Judged(taken, shown, verdict(shown, expected), fitted)


def _contradictory(used: Sequence[tuple[Spot, Shown]]) -> list[Spot]:
    """Points that were read twice with intervals that do not meet."""
    found = []
    for number, (spot, shown) in enumerate(used):
        for other, before in used[:number]:
            if other == spot and (shown.low > before.high or shown.high < before.low) and spot not in found:
                found.append(spot)
    return found
