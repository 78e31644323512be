"""Where a person can put the probes: every net and every part of a device, each with how gladly it is measured."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.device.places import LIFTED, Place
from generator.circuit.hazards import HAZARDOUS_VOLTS
from generator.circuit.network.junctions import Diode, Transistor
from generator.circuit.network.passive import Contact, Resistor
from generator.circuit.network.sources import SAWTOOTH
from generator.diagnosis.evidence import Array
from generator.diagnosis.findable import names_of, parts_of, place_of, rails_at
from generator.diagnosis.predictions import Sought
from generator.diagnosis.spots import DESIGNATOR
from generator.diagnosis.suspects import class_of
from generator.diagnosis.taking import ends_between, from_the_higher

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.circuit.network.element import Element

# How gladly a reading is taken, the plug out being 1: bits of one are worth as much as bits of another times this. What is safe
# and says something by itself comes first: whether what should conduct does, then a rail's volts, then volts elsewhere. In
# circuit the ohms of a resistor are those of all that lies beside it, and those of a junction or a capacitor say next to
# nothing. Common practice, no source.
COLD, DIODE, RAIL, LOW, PART, RIPPLE, MAINS = 1.0, 0.9, 0.9, 0.7, 0.9, 0.85, 0.4
RESISTANCE, BLIND, NET = 0.7, 0.5, 0.7
CLOSED = 100.0  # ohm: more is no contact that is closed while nobody holds it, and no resistor that is read as a fuse is
# While nothing has been read: what is as gladly taken as this comes first, all else counts for so much less, and so do states
# other than that in which the device should do what it does not
BEGINNING = RAIL * 0.99, 0.35, 0.9
CONDUCTS = {
    "fuse", "thermal fuse", "switch", "contact", "coil", "winding", "motor", "element", "inductor", "loudspeaker", "pin",
}  # fmt: skip
RESISTS = {
    "resistor",
    "high-ohm resistor",
    "low-ohm resistor",
    "potentiometer",
    "thermistor",
    "photoresistor",
}
UNSOLDERED = 0.2  # a part of which one leg is lifted, last of all
# unit: share of the reading, and what is added
METER = {"V": (0.008, 0.01), "A": (0.01, 5e-4), "ohm": (0.01, 0.5)}
OTHER = 0.01, 1e-9  # of seconds, hertz and the like


@dataclass(frozen=True)
class Probing:
    """A measurement that a person can take. kind: the key of a note's reading ("at", "across", "ohms", "diode"); at: its
    text, two for two places; ease: above; hazard: "mains" where it is at mains potential or above extra-low voltage.

    rail: of a ripple, whose value `at` names, the net at which a meter's AC range shows it.
    """

    kind: str
    at: tuple[str, ...]
    sought: Sought
    ease: float
    hazard: str = ""
    rail: str = ""

    def ease_at_first(self, state: str) -> float:
        """How gladly it is taken as the first reading of all. state: in which the device is looked at first."""
        from_, less, later = BEGINNING
        ease = self.ease if self.ease >= from_ else self.ease * less
        return ease if self.sought.state in ("", state) else ease * later

    @property
    def how(self) -> str:
        """ "volts", "amps", "ohms" or "diode", as note.json has it."""
        if self.sought.how in ("ohms", "diode", "amps"):
            return self.sought.how
        return {"A": "amps", "ohm": "ohms"}.get(self.sought.unit, "volts")

    @property
    def entry(self) -> dict[str, object]:
        """As note.json's `next` has it, and, with `read`, a note's reading. unit: what is written behind the figure."""
        at: object = self.rail or (self.at[0] if len(self.at) == 1 else list(self.at))
        state = {"when": self.sought.state} if self.sought.state else {}
        unit = self.sought.unit + (" AC" if self.rail or self.sought.place.ac and self.how == "volts" else "")
        return {self.kind: at, **state, "how": self.how, "unit": unit}

    @property
    def key(self) -> tuple[object, ...]:
        """What is the same for two ways of taking one reading."""
        place = self.sought.place
        if self.sought.how == "value":
            return ("value", place.block, place.value)
        if self.sought.how == "rail":
            return ("rail", place.element, place.figure, self.sought.state)
        both = (place.plus, place.minus)
        ends: object = frozenset(both) if self.how != "diode" else place.tested or both
        through = place.element if place.how == "amps" else ""
        return (self.how, ends, through, place.failed, place.put, self.sought.state, place.alone)


def key_of(sought: Sought) -> tuple[object, ...]:
    """The key of a reading that has been taken."""
    return Probing("at", (sought.place.text,), sought, 1.0).key


def probings(
    device: Device,
    states: Iterable[str] | None = None,
    junctions: Iterable[str] | None = None,
    lifted: Iterable[str] = (),
) -> list[Probing]:
    """Every measurement that a person can take, each once: ohms and the diode range first, then volts, mains last.

    states: names of those in which volts are read, None for all. junctions: designators of the diodes and transistors
    whose junctions count, None for all (each costs a solution). lifted: those of parts of which a leg may be lifted.
    """
    names = names_of(device)
    found = [*_ohms(device, names), *_diodes(device, names, junctions), *_lifted(device, set(lifted))]
    for state in [own.name for own in device.states] if states is None else states:
        found += _volts(device, names, state)
    once: dict[tuple[object, ...], Probing] = {}
    for probing in found:
        once.setdefault(probing.key, probing)
    return sorted(once.values(), key=lambda probing: -probing.ease)


def _volts(device: Device, names: dict[str, str], state: str) -> list[Probing]:
    """Every net against its common, then across parts of which an end has no name, then the rails' ripple."""
    found, rails = [], rails_at(device)
    pulled = [block for own in device.states if own.name == state for block in own.fed if not own.fed[block]]
    for net, name in names.items():
        place = place_of(device, name)
        if (
            place is not None
            and place.how == "volts"
            and _measured(device, place)
            and net not in device.commons
        ):
            ease = RAIL / LOW if net in rails and rails[net] not in pulled else 1.0
            found.append(_live(device, "at", name, place, state, ease))
    for name, element in parts_of(device):
        place = place_of(device, name)
        if place is not None and len(element.nets) == 2 and _measured(device, place):
            found.append(_live(device, "across", name, from_the_higher(device, place, state), state, PART))
    for block, wired in device.wired.items():
        if "ripple" in wired.probes and wired.probes["ripple"].how == "rail":
            place = place_of(device, f"{block}.ripple")
            if place is not None and place.how == "rail" and device.net(f"{block}.plus") in names:
                sought = Sought(replace(place, times=SAWTOOTH), "rail", state)
                hazard = "mains" if _dangerous(device, device.elements[place.element].nets, state) else ""
                ease = MAINS if hazard else LOW * RIPPLE
                rail = names[device.net(f"{block}.plus")]
                found.append(Probing("at", (place.text,), sought, ease, hazard, rail))
    return found


def _measured(device: Device, place: Place) -> bool:
    """Whether its two ends are different nets of one side."""
    if not place.plus or not place.minus or place.plus == place.minus:
        return False
    index = device.side.index if place.ac else device.system.index
    return place.plus in index and place.minus in index


def _live(device: Device, kind: str, name: str, place: Place, state: str, times: float) -> Probing:
    dangerous = _dangerous(device, (place.plus, place.minus), state)
    ease = min(MAINS, MAINS * times) if dangerous else LOW * times
    return Probing(kind, (name,), Sought(place, "volts", state), ease, "mains" if dangerous else "")


def _dangerous(device: Device, nets: Sequence[str], state: str) -> bool:
    """Whether nets are at mains potential or above extra-low voltage against their common."""
    for net in nets:
        if net in device.mains_commons or device.common_of(net) in device.mains_commons:
            return True
        index = device.system.index.get(net)
        if index is not None and index < device.system.size:
            if abs(float(device.solved.point.x[device.row(state)][index])) > HAZARDOUS_VOLTS:
                return True
    return False


def _ohms(device: Device, names: dict[str, str]) -> list[Probing]:
    """Every part in circuit, and every net against its common: what a short or a leak pulls down."""
    nets = {net for element in device.elements.values() for net in element.nets}
    found = []
    for name, element in parts_of(device):
        place = place_of(device, name)
        if place is None or len(element.nets) != 2 or place.plus == place.minus:
            continue
        ease = _ease_of_ohms(device, element, place)
        found.append(Probing("ohms", (name,), Sought(place, "ohms", "", "ohm"), ease))
    rails = rails_at(device)
    for net, name in names.items():
        common = device.common_of(net)
        if common and common != net and common in names and {net, common} <= nets:
            both = (name, names[common])
            ease = COLD * PART if net in rails else NET
            found.append(Probing("ohms", both, Sought(ends_between(device, both), "ohms", "", "ohm"), ease))
    return found


def _ease_of_ohms(device: Device, element: Element, place: Place) -> float:
    """What the ohms of a part in its circuit are worth."""
    own = class_of(device, element, element.key)
    if isinstance(element, Contact):
        return COLD if device.unplugged().ohms(place.plus, place.minus) <= CLOSED else RESISTANCE
    if own in CONDUCTS or isinstance(element, Resistor) and own in RESISTS and element.ohms.value <= CLOSED:
        return COLD
    return RESISTANCE if own in RESISTS else BLIND


def _lifted(device: Device, wanted: Container[str]) -> list[Probing]:
    """Parts by themselves, one leg out of the board; what opens by hand or by a connector is not unsoldered."""
    found = []
    for name, element in parts_of(device):
        if name in wanted and DESIGNATOR.fullmatch(name) and len(element.nets) == 2:
            place = place_of(device, f"{name} {LIFTED}")
            if place is not None and not isinstance(element, Contact):
                found.append(Probing("ohms", (place.text,), Sought(place, "ohms", "", "ohm"), UNSOLDERED))
    return found


def _diodes(device: Device, names: dict[str, str], wanted: Iterable[str] | None) -> list[Probing]:
    """Diodes from anode to cathode, transistors from base to emitter."""
    chosen = None if wanted is None else set(wanted)
    found = []
    for name, element in parts_of(device):
        if chosen is not None and element.called not in chosen:
            continue
        if isinstance(element, Diode):
            place = place_of(device, name)
            if place is not None:
                found.append(Probing("diode", (name,), Sought(place, "diode", "", "V"), DIODE))
        elif isinstance(element, Transistor):
            ends = _base_and_emitter(device, element)
            if all(net in names for net in ends):
                both = (names[ends[0]], names[ends[1]])
                found.append(
                    Probing("diode", both, Sought(ends_between(device, both), "diode", "", "V"), DIODE)
                )
    return found


def _base_and_emitter(device: Device, element: Transistor) -> tuple[str, str]:
    """Red lead first, so that a sound junction conducts."""
    base = device.outside(element.base)
    return (element.emitter, base) if element.pnp else (base, element.emitter)


def meter_spread(mean: Array, unit: str) -> Array:
    """The standard deviation that a hand-held meter, contacts and hum add to a reading. mean: in V, A or ohm."""
    share, floor = METER.get(unit, OTHER)
    return np.where(np.isfinite(mean), share * np.abs(np.where(np.isfinite(mean), mean, 0.0)) + floor, 0.0)
