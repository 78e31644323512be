"""A device's readings judged: each against what it should be, all together against everything that may have failed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from generator.circuit.block import Result
from generator.circuit.device.bands import ohms_band, solved_bands
from generator.circuit.network.element import NoOperatingPoint
from generator.diagnosis.evidence import weigh
from generator.diagnosis.grids import widened
from generator.diagnosis.hypotheses import Change
from generator.diagnosis.inference import Ranking, Weighed, rank, unsure
from generator.diagnosis.metered import as_metered
from generator.diagnosis.pairs import rank_pairs
from generator.diagnosis.readings import Meter, Shown, Verdict, read_shown, verdict
from generator.diagnosis.taking import SCHOTTKY, Taken, as_readings, definition_of, take
from generator.notation.quantity import QuantityError

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.notes.reading import Reading

FITS = 3.0  # standard deviations within which a reading fits a failure
DOUBTED = 0.5  # from here on a reading is set aside
LEAST_OUTRIGHT = 0.05  # share from which a fit is worth being told outright
MOST_OUTRIGHT = 100.0  # of the logarithm by which one size is weighed up for all of them
FACE, FACE_ZERO = (
    0.05,
    0.05,
)  # share, and V or ohm, by which a reading may lie off what another face of the sound device shows
NEEDLESS = 0.15  # of a pair's share, where each reading for itself fits one failure; chosen on the tuning half of whole devices
PAIRS_FROM = 0.5  # share of what no single failure explains, from which pairs are looked for


# share of the likeliest failure, and how many times that of a sound device, below both of which it is not told as what is wrong;
# chosen on the tuning half of whole devices
TOLD_FROM, TOLD_TIMES = 0.3, 2.0


@dataclass(frozen=True)
class Judged:
    """A reading with its interval and verdict; trouble says why it cannot be judged (then the rest is None).

    expected: what a meter should show there in the sound device; mended: the verdict on what it read after the repair.
    """

    taken: Taken
    expected: Result | None = None
    verdict: Verdict | None = None
    mended: Verdict | None = None

    @property
    def reading(self) -> Reading:
        """What the note has."""
        return self.taken.reading

    @property
    def shown(self) -> Shown | None:
        """What the meter showed."""
        return self.taken.shown

    @property
    def fitted(self) -> bool:
        """Whether it counts in finding the fault."""
        return self.taken.shown is not None and self.taken.sought is not None


@dataclass(frozen=True)
class Fit:
    """A failure held against all readings. share: of all that may be wrong; positions are among the fitted readings.

    expected: what it predicts at each (low, high), None where nothing is known; reach: (from, to, nominal, unit) of a
    part's value, or of the ohms of a leak (nominal inf).
    """

    change: Change
    share: float
    likelihood: float
    explains: tuple[int, ...]
    contradicts: tuple[int, ...]
    doubted: tuple[int, ...]
    expected: tuple[tuple[float, float] | None, ...]
    reach: tuple[float, float, float, str] | None = None

    @property
    def sound(self) -> bool:
        """Whether it says that nothing is wrong."""
        return self.change.sound


@dataclass
class Judgement:
    """Everything that the readings of a device say."""

    judged: list[Judged]
    device: Device | None = None
    fits: list[Fit] = field(default_factory=list)
    ranking: Ranking | None = None
    beyond: float = 0.0  # share of what no single failure explains: of pairs, and of what is neither
    scale: float = 0.0  # log of what all shares add up to
    trouble: str = ""  # why the device could not be worked out

    @property
    def fitted(self) -> list[Judged]:
        """The readings that the fits are drawn from."""
        return [judged for judged in self.judged if judged.fitted]

    @property
    def doubted(self) -> list[int]:
        """Positions in `judged` of the readings that the best fit sets aside."""
        if not self.fits:
            return []
        places = [n for n, judged in enumerate(self.judged) if judged.fitted]
        return [places[n] for n in self.fits[0].doubted]

    @property
    def contradictory(self) -> list[tuple[int, int]]:
        """Pairs of positions in `judged`: one place read twice in one state, with intervals that do not meet."""
        found = []
        for second, judged in enumerate(self.judged):
            for first, before in enumerate(self.judged[:second]):
                one, other = before.taken, judged.taken
                if (
                    one.sought is not None
                    and one.sought == other.sought
                    and one.shown
                    and other.shown
                    and not one.shown.meets(other.shown)
                ):
                    found.append((first, second))
        return found


def judge(device: Device, readings: Sequence[Reading], meter: Meter) -> Judgement:
    """Judge a device's readings. Never raises for what a note may hold."""
    taken = [take(device, reading, meter) for reading in readings]
    used = [own for own in taken if own.shown is not None and own.sought is not None]
    if not used:
        return Judgement([Judged(own) for own in taken], device)
    try:
        ranking = rank(
            device, [own.sought for own in used if own.sought], as_readings(used), meter=meter.input
        )
    except NoOperatingPoint as error:
        return Judgement([Judged(own) for own in taken], device, trouble=str(error))
    bands = solved_bands(device, [(own.how, own.place, own.state) for own in ranking.predictor.sought])
    expected = {id(own): _expected(device, own, ranking, n, bands[n]) for n, own in enumerate(used)}
    expected.update((id(own), _driven(device, own)) for own in taken if own.least)
    judged = [_judged(own, expected.get(id(own)), meter) for own in taken]
    fits = [_fit(device, weighed, used) for weighed in ranking.weighed]
    if ranking.beyond >= PAIRS_FROM or fits[0].contradicts or not ranking.weighed[0].holds:
        pairs = [_fit(device, weighed, used) for weighed in rank_pairs(ranking, as_readings(used))]
        if (
            not fits[0].contradicts and not fits[0].sound
        ):  # each reading fits one failure, if not quite all together
            pairs = [replace(fit, share=fit.share * NEEDLESS) for fit in pairs]
        together = sum(fit.share for fit in pairs)
        whole = 1.0 + together
        shared = (replace(fit, share=fit.share / whole) for fit in [*fits, *pairs])
        fits = _sound_first(sorted(shared, key=lambda fit: -fit.share))
        beyond, scale = (ranking.beyond + together) / whole, ranking.scale + math.log(whole)
        return Judgement(judged, device, fits, ranking, beyond, scale)
    return Judgement(judged, device, _sound_first(fits), ranking, ranking.beyond, ranking.scale)


def _sound_first(fits: list[Fit]) -> list[Fit]:
    """The fits, best first, but a sound device before a failure that is hardly likelier and unlikely: of many that fit a little
    none is told."""
    at = next((n for n, fit in enumerate(fits) if fit.sound), 0)
    if fits[0].share >= TOLD_FROM or fits[at].share * TOLD_TIMES < fits[0].share:
        return fits
    return [fits[at], *fits[:at], *fits[at + 1 :]]


def outright(judgement: Judgement, most: int) -> list[Change]:
    """Among so many of the likeliest fits the pairs, and failures while a button is held, each by the size that fits best, weighed
    so that it alone is as likely as all of its sizes together; those left out that only fit by the sizes beside theirs."""
    fits = [
        fit for fit in judgement.fits[:most] if fit.change.also or fit.change.pressed[0] and not fit.sound
    ]
    ranking = judgement.ranking
    if not fits or ranking is None:
        return []
    alone = unsure(ranking.predictor, widened([], ranking.predictor.predict([fit.change for fit in fits])))
    weights = judgement.scale - weigh(alone, as_readings([own.taken for own in judgement.fitted])).log
    return [
        replace(fit.change, weight=fit.share * math.exp(own))
        for fit, own in zip(fits, weights.tolist())
        if not fit.change.caused and fit.share >= LEAST_OUTRIGHT and own < MOST_OUTRIGHT
    ]


def _expected(
    device: Device, taken: Taken, ranking: Ranking, position: int, solved: tuple[float, float, float] | None
) -> Result | None:
    """What a meter shows in the sound device, worst case. solved: see device/bands.py; the meter may take it down, and what no
    drawing shows move it."""
    sought = taken.sought
    assert sought is not None
    name = taken.reading.at or " - ".join(taken.reading.across)
    definition = definition_of(device, sought.place)
    if sought.how == "value":
        own = device.blocks[sought.place.block].values.get(sought.place.value)
        if own is not None:
            return as_metered(device.blocks[sought.place.block], own, ranking.predictor.meter)
    low, middle, high = ranking.sound_band(position)
    if math.isnan(middle):
        return None
    stray = float(ranking.predictor.stray[position])
    if sought.how == "ohms":
        low, high = ohms_band(device, sought.place, middle) or (max(0.0, low), high)
    elif solved is not None:
        least, whole, most = solved
        passes = middle / whole if whole and sought.how == "volts" else 1.0
        low, high = least * passes - stray, most * passes + stray
    if sought.how == "volts" and 0 < middle < 2 * stray:  # what floats does not change its sign
        low = max(low, 0.0)
    for face in ranking.faces(position):
        reach = FACE * abs(face) + FACE_ZERO
        low, high = min(low, face - reach), max(high, face + reach)
    return Result(name, sought.unit, middle, min(low, middle), max(high, middle), definition=definition)


def _driven(device: Device, taken: Taken) -> Result:
    """What a meter shows across a diode that it may drive forward: anything from what such a diode then shows."""
    assert taken.sought is not None
    place = taken.sought.place
    most = device.unplugged().ohms(place.plus, place.minus)
    return Result(place.text, "ohm", None, SCHOTTKY, most)


def _judged(taken: Taken, expected: Result | None, meter: Meter) -> Judged:
    if taken.shown is None or expected is None:
        return Judged(taken, expected)
    mended = None
    if taken.reading.mended:
        try:
            wave = expected.definition.wave if expected.definition else ""
            mended = verdict(read_shown(taken.reading.mended, expected.unit, meter, wave), expected)
        except QuantityError:
            mended = None
    return Judged(taken, expected, verdict(taken.shown, expected), mended)


def _fit(device: Device, weighed: Weighed, used: Sequence[Taken]) -> Fit:
    doubted = tuple(n for n, wrong in enumerate(weighed.wrong.tolist()) if wrong >= DOUBTED)
    offs = weighed.off.tolist()
    explains = tuple(n for n, off in enumerate(offs) if off <= FITS)
    contradicts = tuple(n for n, off in enumerate(offs) if off > FITS)
    expected = tuple(
        None
        if math.isnan(mean)
        else (math.inf, math.inf)
        if math.isinf(mean)
        else (mean - 2 * spread, mean + 2 * spread)
        for mean, spread in zip(weighed.mean.tolist(), weighed.spread.tolist())
    )
    return Fit(
        weighed.change, weighed.share, weighed.likelihood, explains, contradicts, doubted, expected,
        _reach(device, weighed),
    )  # fmt: skip


def _reach(device: Device, weighed: Weighed) -> tuple[float, float, float, str] | None:
    """From which to which value a part that drifted, or a leak, fits."""
    change = weighed.change
    if weighed.reach is None or change.mode not in ("high", "low", "leaky", "high resistance", "bridge"):
        return None
    low, high = weighed.reach
    if change.mode in ("leaky", "high resistance", "bridge"):
        return low, high, math.inf, "ohm"
    block = device.blocks.get(change.block)
    nominal = block.point.__dict__.get(change.key) if block is not None else None
    unit = block.units.get(change.key, "") if block is not None else ""
    if not isinstance(nominal, (int, float)) or not unit:
        return None
    if unit == "W" and change.part_class == "element":  # of which the resistance drifts
        low, high = 1 / high, 1 / low
    return low * nominal, high * nominal, float(nominal), unit
