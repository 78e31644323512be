"""A reading of a note as a place on the device, a way of measuring, and what the meter showed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.converter import Link
from generator.circuit.device.places import LIFTED, Place, PlaceError, alternating_side
from generator.circuit.network.element import NoOperatingPoint
from generator.circuit.network.junctions import EMISSION, Diode
from generator.circuit.network.mains import Triac
from generator.circuit.network.passive import Contact
from generator.circuit.network.sources import SAWTOOTH, Rail
from generator.diagnosis.cold import Ohms
from generator.diagnosis.coldnet import JUNCTION_LEAK
from generator.diagnosis.evidence import FLOORS, LEAST_RANGE, STRAY_LEAK, TIMES_DUE, Figure, Readings
from generator.diagnosis.hypotheses import HEALTH
from generator.diagnosis.predictions import Sought
from generator.diagnosis.readings import Meter, Shown, read_accuracy, read_shown
from generator.notation.quantity import QuantityError
from generator.problems import ERROR, WARNING

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.ohms import Unplugged
    from generator.circuit.value import Value
    from generator.notes.reading import Reading

# from how many ohms on a meter may show a junction which it drives forward, a Schottky's and any other's, and up to how many;
# common practice, no source
SCHOTTKY, SILICON, FORWARD = 50.0, 3e3, 5e6
JOINED = 1.0  # ohm: a pin or a contact between two nets
NOTHING = 0.01  # V: across a part with less nobody sees which end is the higher
_UNITS = {"volts": "V", "diode": "V", "amps": "A", "ohms": "ohm", "rail": "V"}


@dataclass(frozen=True)
class Taken:
    """A reading found on the device. trouble, hint: why it cannot be judged; then the rest may be None. least: through a
    diode that the meter drives, which says only that no less lies beside it. open_from: ohm from which it also fits an open circuit; inf for what is no resistance; behind: ohm in series with those leaks.
    decades: across a contact or a triac. over: ohm from which it may be shown as OL."""

    reading: Reading
    sought: Sought | None = None
    shown: Shown | None = None
    trouble: str = ""
    hint: str = ""
    least: bool = False
    open_from: float = math.inf
    behind: float = 0.0
    decades: bool = False
    over: float = math.inf
    severity: str = ERROR  # of the trouble: what is only not worked out is no mistake of the author's


def take(device: Device, reading: Reading, meter: Meter) -> Taken:
    """Where a reading was taken and what it showed. Never raises for what a note may hold."""
    try:
        sought = sought_of(device, reading)
    except PlaceError as error:
        return Taken(reading, trouble=error.what, hint=error.hint)
    if isinstance(device.elements.get(sought.place.element), Link):
        what = f"{sought.place.text}: what fails with it is worked out, not what a meter shows across it"
        hint = f"the page shows it unjudged; read at the output of {sought.place.block}"
        return Taken(reading, trouble=what, hint=hint, severity=WARNING)
    if (
        sought.how in ("volts", "amps")
        and not sought.place.ac
        and device.unknown & _touched(device, sought.place)
    ):
        what = f"{sought.place.text}: what parts written one by one rectify is not worked out"
        return Taken(
            reading, trouble=what, hint="the page shows it unjudged; its ohms are judged", severity=WARNING
        )
    try:
        own = definition_of(device, sought.place)
        wave = own.wave if own is not None else ""
        shown = read_shown(reading.read, sought.unit, read_accuracy(reading.accuracy, meter), wave)
    except QuantityError as error:
        return Taken(reading, sought, None, error.what, error.hint)
    if reading.across and shown.high < 0:  # said with its sign: from the part's own first end
        sought = replace(sought, place=device.place_across(reading.across))
    if shown.range == "ac" and sought.how == "rail" and sought.place.figure == "ripple":
        there = replace(sought.place, times=SAWTOOTH)
        return Taken(reading, replace(sought, place=there), shown)
    if shown.range == "ac" and sought.how == "volts" and not sought.place.ac:
        return _of_ripple(device, Taken(reading, sought, shown))
    opens, behind = leaking(device, sought)
    return Taken(
        reading,
        sought,
        shown,
        least=_through_a_diode(device, sought, shown),
        open_from=opens,
        behind=behind,
        decades=drops(device, sought),
        over=_over(device, sought),
    )


def _touched(device: Device, place: Place) -> set[str]:
    """The nets on which something is measured."""
    element = device.elements.get(place.element)
    return {place.plus, place.minus, *(element.nets if element is not None else ())}


def leaking(device: Device, sought: Sought) -> tuple[float, float]:
    """(ohm from which a place in ohms is as good as open, ohm in series with what then leaks): by what no drawing shows, or by a
    diode across it that the meter drives forward."""
    if sought.how != "ohms":
        return math.inf, 0.0
    over = _junctions_across(device, sought.place)
    if EMISSION["schottky"] in over:
        return SCHOTTKY, 0.0
    if EMISSION["silicon"] in over:
        return SILICON, 0.0
    return min([(STRAY_LEAK, 0.0), *_leaks_between(device, sought.place)])


def _leaks_between(device: Device, place: Place) -> list[tuple[float, float]]:
    """The ohms that each junction may come to which lies at one end of a place and on whose other side something leads to the
    other end, and the ohms of that."""
    ends, cold = (place.plus, place.minus), device.unplugged()
    found = []
    for own in device.elements.values():
        leak = JUNCTION_LEAK.get(own.emission) if isinstance(own, Diode) and own.ON_BOARD else None
        if leak and {*ends, *own.nets} <= cold.nets.keys():
            ways = (
                (near, far, *lies) for near, far in (ends, ends[::-1]) for lies in (own.nets, own.nets[::-1])
            )
            behind = [
                cold.ohms(other, far) for near, far, one, other in ways if cold.ohms(one, near) < JOINED
            ]
            found += [(1 / leak, ohms) for ohms in behind if ohms < STRAY_LEAK]
    return found


def drops(device: Device, sought: Sought) -> bool:
    """Whether volts are read across a contact or a triac."""
    ends = {sought.place.plus, sought.place.minus}
    return sought.how == "volts" and any(
        isinstance(own, Contact | Triac) and ends == {own.a, own.b} for own in device.elements.values()
    )


def _over(device: Device, sought: Sought) -> float:
    """Ohm from which a place in ohms may be shown as OL, on the range that suits what is due there."""
    ends = (sought.place.plus, sought.place.minus)
    if sought.how != "ohms" or not set(ends) <= device.unplugged().nets.keys():
        return math.inf
    due, _ = Ohms(device, [ends]).read([HEALTH])
    return max(LEAST_RANGE, TIMES_DUE * float(due[0, 0]))


def _junctions_across(device: Device, place: Place) -> set[float]:
    """The emission of every diode on the board between the nets of a place, either way round; a chip's own begins to conduct
    where an ohmmeter's volts end."""
    ends, cold = (place.plus, place.minus), device.unplugged()
    diodes = (own for own in device.elements.values() if isinstance(own, Diode) and own.ON_BOARD)
    return {
        own.emission
        for own in diodes
        if any(_same_nets(cold, ends, way) for way in (own.nets, own.nets[::-1]))
    }


def _same_nets(cold: Unplugged, ends: tuple[str, str], others: Sequence[str]) -> bool:
    """Whether each end is the other's net, or joined to it by a contact."""
    known = {*ends, *others} <= cold.nets.keys()
    return known and all(cold.ohms(*pair) < JOINED for pair in zip(ends, others))


def _through_a_diode(device: Device, sought: Sought, shown: Shown) -> bool:
    """Whether ohms were read across a diode that the meter may have driven forward: some drive it with 0.6 V, and what they show
    then is the diode at that voltage, which is no resistance."""
    place = sought.place
    if sought.how != "ohms" or not SCHOTTKY < shown.middle < FORWARD:
        return False
    over = _junctions_across(device, place)
    driven = EMISSION["schottky"] in over or (EMISSION["silicon"] in over and shown.middle > SILICON)
    return driven and shown.high < device.unplugged().ohms(place.plus, place.minus) / 2


def _of_ripple(device: Device, taken: Taken) -> Taken:
    """AC volts on direct current are a rail's ripple; elsewhere they say nothing that is computed here."""
    sought = taken.sought
    assert sought is not None
    there = alternating_at(device, sought)
    if there is None:
        what = f"AC volts are not worked out at {sought.place.text}"
        hint = "the page shows them unjudged"
        return replace(taken, sought=None, trouble=what, hint=hint, severity=WARNING)
    return replace(taken, sought=there)


def alternating_at(device: Device, sought: Sought) -> Sought | None:
    """What a meter's AC range reads where the place is one of direct current: the contact of that name, a rail's ripple."""
    place = sought.place
    if contact := alternating_side(device, place):
        return replace(sought, place=contact)
    rails = (own for own in device.elements.values() if isinstance(own, Rail) and own.figures is not None)
    rail = next((r for r in rails if place.plus == r.plus and place.minus in (r.minus, r.below)), None)
    if rail is None:
        return None
    times = SAWTOOTH if rail.swings == "ripple" else 1.0
    there = replace(place, how="rail", element=rail.name, figure=rail.swings, times=times)
    return replace(sought, place=there, how="rail")


def sought_of(device: Device, reading: Reading) -> Sought:
    """The place of a reading and the way it is measured. Raises PlaceError."""
    found = _sought_of(device, reading)
    if found.place.alone and (found.how != "ohms" or len(reading.ohms) != 1):
        part = found.place.text.split()[0]
        raise PlaceError(
            f"{found.place.text}: what has a leg lifted is read in ohms", f"ohms: {part} {LIFTED}"
        )
    return found


def _sought_of(device: Device, reading: Reading) -> Sought:
    state = reading.when or device.states[0].name
    if reading.ohms or reading.diode:
        how = "ohms" if reading.ohms else "diode"
        return Sought(ends_between(device, reading.ohms or reading.diode), how, "", _UNITS[how])
    if reading.across:
        place = from_the_higher(device, device.place_across(reading.across), state)
        return Sought(place, "volts", state, "V")
    place = device.place(reading.at or f"{reading.block}.{reading.value}")
    how = "volts" if place.how == "part" else place.how
    return Sought(place, how, state, _unit(device, place, how))


def from_the_higher(device: Device, place: Place, state: str) -> Place:
    """A part's two ends as people put the probes across it: the red lead where the sound device has the higher voltage,
    in another state where there is none in this one."""
    index = device.system.index
    if place.ac or place.plus not in index or place.minus not in index:
        return place
    try:
        x = np.pad(device.solved.point.x, ((0, 0), (0, 1)))
        across = x[:, index[place.plus]] - x[:, index[place.minus]]
        own = across[device.row(state)]
    except (NoOperatingPoint, KeyError):
        return place
    if abs(own) < NOTHING:
        place, own = replace(place, either=True), across[np.argmax(np.abs(across))]
    return replace(place, plus=place.minus, minus=place.plus) if own < 0 else place


def ends_between(device: Device, places: Sequence[str]) -> Place:
    """One part, or two places (for the diode range the red lead first). Raises PlaceError."""
    first = device.place(places[0])
    if len(places) == 1:
        return first
    return replace(first, plus=first.plus, minus=device.place(places[1]).plus, text=" - ".join(places))


def definition_of(device: Device, place: Place) -> Value | None:
    """The named value that a place is, None for a net, a part, two places."""
    if not place.block or not place.value:
        return None
    return next((d for d in device.blocks[place.block].definitions if d.name == place.value), None)


def _unit(device: Device, place: Place, how: str) -> str:
    """The unit of what is read: a named value has its own."""
    own = definition_of(device, place)
    return own.unit if own is not None else _UNITS.get(how, "V")


def as_readings(taken: Sequence[Taken]) -> Readings:
    """The figures of readings that all have been read."""
    return Readings.of([_figure(own) for own in taken])


def _figure(own: Taken) -> Figure:
    assert own.shown is not None and own.sought is not None
    shown, none = own.shown, own.shown.state == "open"
    return Figure(
        math.nan if none else shown.middle, 0.0 if none else shown.spread, none, FLOORS.get(own.sought.unit, 0.0), own.open_from,
        own.sought.how == "diode", own.least, own.decades, own.over, own.behind,
    )  # fmt: skip
