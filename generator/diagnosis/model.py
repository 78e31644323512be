"""What each single failure predicts for a set of readings: a mean and how it scatters with the tolerances.

A hypothesis is "health" or one part of one block failed in one way. Its effect runs through all the blocks that take
a value of the failed one by name. The prediction of several readings is kept together with its covariance: a low
mains lowers peak and trough alike, and must not be taken for two independent surprises.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from generator.circuit.band import Axis
from generator.circuit.block import Block, Point
from generator.circuit.circuit import Circuit
from generator.diagnosis.metered import loaded

HEALTH = ("", "", "", "none")
BEYOND = (1.0, 4.0)  # times the sound value: where something that rises without a known end is looked for
HOW_BAD = 0.7  # a worn contact may be this share better or worse than the one that its block reckons with


@dataclass(frozen=True)
class Hypothesis:
    """block and key are "" for health. part and failed are what people read; factor: of a drifted part's value."""

    block: str
    key: str
    part: str
    failed: str
    factor: float | None = None
    mode: str = ""
    remark: str = ""


class Spot(NamedTuple):
    """A place to measure: a value of a block."""

    block: str
    value: str


@dataclass
class Prediction:
    """mean per spot (None: no such value then), and for each spot its shifts along every tolerance axis.

    beyond: spots that go up to something the circuit does not know (an output to whatever comes in); their mean and
    shift stand for a range above the sound value.
    """

    mean: dict[Spot, float | None] = field(default_factory=dict)
    shifts: dict[Spot, dict[tuple[str, str], float]] = field(default_factory=dict)
    beyond: set[Spot] = field(default_factory=set)


@dataclass
class State:
    """A block's point and axes under a hypothesis, and how its part is failed."""

    point: Point
    axes: list[Axis]
    failure: tuple[str, str, str] | None = None  # key, class, mode
    solved: dict[str, float] | None = None  # at the point, once it has been asked for
    shifts: dict[str, dict[tuple[str, str], float]] = field(
        default_factory=dict
    )  # of values that feed others


def hypotheses(block: Block, name: str) -> list[Hypothesis]:
    """Every single failure of a block's parts."""
    return [
        Hypothesis(name, part.key, part.called, mode, mode=mode)
        for part in block.failing_parts
        for mode in part.modes
    ]


class Model:
    """Predictions of a circuit for some spots, with a meter of a given input resistance."""

    def __init__(self, circuit: Circuit, spots: Sequence[Spot], meter_input: float) -> None:
        self.circuit, self.spots, self.meter_input = circuit, list(spots), meter_input
        self._definitions = {
            name: {d.name: d for d in block.definitions} for name, block in circuit.blocks.items()
        }
        self._health: dict[str, State] = {n: State(b.point, b.axes) for n, b in circuit.blocks.items()}
        self._feeds: dict[str, list[str]] = {}
        self._taken: dict[str, list[str]] = {}  # giver -> its values that other blocks take
        for source in dict.fromkeys(s for block in circuit.blocks.values() for s in block.sources.values()):
            giver, _, value = source.partition(".")
            self._taken.setdefault(giver, []).append(value)
        self._moved: set[str] = set()  # fed, directly or not, by something that a meter sees averaged
        self._sound = Prediction()
        self._sound_means: dict[Spot, float | None] = {}
        for name in circuit.in_order():
            if any(
                self._averaged(*source.split(".", 1)) or source.split(".", 1)[0] in self._moved
                for source in circuit.blocks[name].sources.values()
            ):
                self._moved.add(name)
                self._health[name] = self._fed_state(name, self._health, anew=True)

    def relevant(self) -> list[str]:
        """The blocks whose failures can move a spot: those read, and those that feed them."""
        read = {spot.block for spot in self.spots}
        return [name for name in self.circuit.blocks if name in read or read & set(self.feeds(name))]

    def feeds(self, name: str) -> list[str]:
        if name not in self._feeds:
            self._feeds[name] = self.circuit.feeds(name)
        return self._feeds[name]

    def predict(self, hypothesis: Hypothesis, spots: Sequence[Spot] | None = None) -> Prediction:
        """Means and shifts at the spots under a hypothesis."""
        wanted = list(self.spots if spots is None else spots)
        states = self._states(hypothesis, {spot.block for spot in wanted})
        found = Prediction()
        for name in dict.fromkeys(spot.block for spot in wanted):
            spots_here = [s for s in wanted if s.block == name]
            unknown = [s for s in spots_here if s not in self._sound.mean]
            if unknown:
                self._predict_block(name, self._health, unknown, self._sound)
                for spot in unknown:
                    self._reach_worst_case(spot)
            state = states[name]
            if state is not self._health[name]:
                middle = self._read(name, state, state.point, spots_here)
                if any(middle[spot] != self._sound.mean[spot] for spot in spots_here):
                    self._predict_block(name, states, spots_here, found, middle)
                    continue
            # what the failure does not move scatters as before
            for spot in spots_here:
                found.mean[spot], found.shifts[spot] = self._sound.mean[spot], self._sound.shifts[spot]
        return found

    def _reach_worst_case(self, spot: Spot) -> None:
        """The sound circuit's band as its block states it, where that is wider than its slopes say: a value may bend, or
        end, inside the tolerances (a dimmer that no longer fires)."""
        mean, shifts = self._sound.mean[spot], self._sound.shifts[spot]
        stated = self.circuit.blocks[spot.block].values.get(spot.value)
        definition = self._definitions[spot.block][spot.value]
        if mean is None or stated is None or definition.impedance or definition.across:
            return
        reach = sum(abs(shift) for shift in shifts.values())
        more = max(stated.high - mean - reach, mean - reach - stated.low)
        if math.isfinite(more) and more > 0.1 * reach and more > 0.01 * abs(mean):
            shifts[("bend", spot.value)] = more

    def means(self, hypothesis: Hypothesis) -> dict[Spot, float | None]:
        """Means only, for searching along a part's drift."""
        states = self._states(hypothesis, {spot.block for spot in self.spots})
        found: dict[Spot, float | None] = {}
        for name in dict.fromkeys(spot.block for spot in self.spots):
            state, spots = states[name], [s for s in self.spots if s.block == name]
            if state is self._health[name]:
                if spots[0] not in self._sound_means:
                    self._sound_means |= self._read(name, state, state.point, spots)
                found |= {spot: self._sound_means[spot] for spot in spots}
            else:
                found |= self._read(name, state, state.point, spots)
        return found

    def _states(self, hypothesis: Hypothesis, wanted: set[str]) -> Mapping[str, State]:
        if not hypothesis.block:
            return self._health
        states = dict(self._health)
        states[hypothesis.block] = self._failed_state(hypothesis)
        for name in self.feeds(hypothesis.block):
            if name in wanted or wanted & set(self.feeds(name)):
                states[name] = self._fed_state(name, states)
        return states

    def _failed_state(self, hypothesis: Hypothesis) -> State:
        block, health = self.circuit.blocks[hypothesis.block], self._health[hypothesis.block]
        if hypothesis.factor is not None:
            # a drifted part: its value scaled, with the others' tolerances as they are
            worn = block.kind.worn(hypothesis.key, hypothesis.mode)
            if worn:
                return State(worn.apply(health.point, hypothesis.factor), health.axes)
            value = getattr(block.point, hypothesis.key)
            point = health.point.changed(**{hypothesis.key: value * hypothesis.factor})
            axes = [a for a in health.axes if hypothesis.key not in a.names]
            return State(point, axes)
        part_class = block.failing_part(hypothesis.key).part_class
        return State(health.point, health.axes, (hypothesis.key, part_class, hypothesis.mode))

    def _averaged(self, giver: str, value: str) -> str:
        """The value that a slow meter sees in the stead of a worst moment; "" where there is none."""
        definition = self._definitions.get(giver, {}).get(value)
        return definition.averages_to if definition else ""

    def _fed_state(self, name: str, states: Mapping[str, State], *, anew: bool = False) -> State:
        """A block whose source has failed somewhere above: its inputs from there are what the failure makes them.

        anew: whether or not anything has failed. Between a source's worst moment and its average, what is read lies
        somewhere between what both would give: exactly for a straight line, on one side of it for a bent one.
        """
        block, state = self.circuit.blocks[name], states[name]
        changes: dict[str, float] = {}
        axes = list(state.axes)
        for parameter, source in block.sources.items():
            giver, _, value = source.partition(".")
            averaged = self._averaged(giver, value)
            if states[giver] is self._health.get(giver) and not (anew and (averaged or giver in self._moved)):
                continue
            solved = self._solve(giver, states[giver], states[giver].point)
            fed = solved.get(value)
            fed = 0.0 if fed is None else (fed + solved.get(averaged, fed)) / 2
            if math.isinf(fed) and not _may_be_endless(self._definitions[giver][value].unit):
                fed = sum(BEYOND) / 2 * abs(self.circuit.blocks[giver].solved.get(value, 0.0))
            names = next((a.names for a in axes if parameter in a.names), (parameter,))
            axes = [a for a in axes if parameter not in a.names]
            changes |= dict.fromkeys(names, fed)
            if math.isfinite(fed):
                # only the slope along this axis is used; how far the source itself shifts is worked out at the source
                reach = max(0.02 * abs(fed), 1e-6)
                axes.append(Axis(names, max(0.0, fed - reach), fed + reach))
        return State(state.point.changed(**changes), axes, state.failure)

    def _solve(self, name: str, state: State, point: Point) -> dict[str, float]:
        if point is state.point and state.solved is not None:
            return state.solved
        try:
            solved = self.circuit.blocks[name].kind.values_at(self._failed(name, state, point))
        except (ArithmeticError, ValueError):
            solved = {}
        if point is state.point:
            state.solved = solved
        return solved

    def _predict_block(
        self,
        name: str,
        states: Mapping[str, State],
        spots: list[Spot],
        found: Prediction,
        middle: dict[Spot, float | None] | None = None,
    ) -> None:
        state, block = states[name], self.circuit.blocks[name]
        middle = self._read(name, state, state.point, spots) if middle is None else middle
        for spot in spots:
            found.mean[spot], found.shifts[spot] = middle[spot], {}
            self._without_known_size(state, spot, found)
        for axis in state.axes:
            low, high = (
                self._read(name, state, state.point.changed(**dict.fromkeys(axis.names, end)), spots)
                for end in (axis.low, axis.high)
            )
            source = next((block.sources[p] for p in axis.names if p in block.sources), "")
            along = (
                self._shifts_of(source, states)
                if source
                else {self._axis_key(block, axis): (axis.high - axis.low) / 2}
            )
            for spot in spots:
                a, b = low[spot], high[spot]
                if a is None or b is None or a == b or not (math.isfinite(a) and math.isfinite(b)):
                    continue
                slope = (b - a) / (axis.high - axis.low)
                shifts = found.shifts[spot]
                for key, shift in along.items():
                    shifts[key] = shifts.get(key, 0.0) + slope * shift

    def _without_known_size(self, state: State, spot: Spot, found: Prediction) -> None:
        """A failure of unknown size spreads its prediction: a rise without a known end, a contact more or less worn."""
        sound, mean = self.circuit.blocks[spot.block].solved.get(spot.value), found.mean[spot]
        if sound is None or mean is None or not math.isfinite(sound):
            return
        if mean == math.inf and not _may_be_endless(self._definitions[spot.block][spot.value].unit):
            low, high = (share * abs(sound) for share in BEYOND)
            found.mean[spot], found.shifts[spot][("beyond", "")] = (low + high) / 2, (high - low) / 2
            found.beyond.add(spot)
        elif state.failure and state.failure[2] == "high resistance" and math.isfinite(mean):
            found.shifts[spot][("how bad", "")] = HOW_BAD * (mean - sound)

    def _shifts_of(self, source: str, states: Mapping[str, State]) -> dict[tuple[str, str], float]:
        """How another block's value shifts along each tolerance axis behind it."""
        giver, _, value = source.partition(".")
        known = states[giver].shifts
        if value not in known:
            spots, found = (
                [Spot(giver, value) for value in self._taken[giver]],
                Prediction(),
            )  # all at once: as many solutions as one
            self._predict_block(giver, states, spots, found)
            for spot in spots:
                known[spot.value] = found.shifts[spot]
                if averaged := self._averaged(giver, spot.value):
                    solved = self._solve(giver, states[giver], states[giver].point)
                    between = (solved.get(averaged, 0.0) - solved.get(spot.value, 0.0)) / 2
                    known[spot.value] = {**found.shifts[spot], ("averaged", giver): between}
        return known[value]

    @staticmethod
    def _axis_key(block: Block, axis: Axis) -> tuple[str, str]:
        """The mains is one axis for all blocks; every other tolerance is its own."""
        first = block.kind.param(axis.names[0])
        return ("mains", "") if first is not None and first.moves_with_mains else (block.name, axis.names[0])

    def _read(self, name: str, state: State, point: Point, spots: list[Spot]) -> dict[Spot, float | None]:
        solved, definitions = self._solve(name, state, point), self._definitions[name]
        shown: dict[Spot, float | None] = {}
        for spot in spots:
            definition = definitions[spot.value]
            value = solved.get(spot.value)
            if value is None or math.isnan(value):
                shown[spot] = None
            elif definition.impedance or definition.across:
                failed = self._failed(name, state, point)
                shown[spot] = loaded(
                    self.circuit.blocks[name], definition, value, failed, solved, self.meter_input
                )
            else:
                shown[spot] = value
        return shown

    def _failed(self, name: str, state: State, point: Point) -> Point:
        return self.circuit.blocks[name].with_failure(point, *state.failure) if state.failure else point


def _may_be_endless(unit: str) -> bool:
    """A time that never comes, or the resistance of an open part: inf is what such a value is then."""
    return unit in ("s", "ohm")
