"""What a device does not do, or does when it should not, in its owner's words, and which failures account for that.

    account_of(device, ["~no-heat"])    # failure -> how well it accounts for that, LESS to 1; none where nothing is known

The names of symptoms are those of finding/symptoms.yaml, with the sign that they have in the index.
Every failure is solved as everywhere. One under which the heater of a device that stays cold still gets its current is less
likely, never impossible: an owner's words are few. It decides where to measure first; what was read says more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.at_rest import ELEMENT, LAMP, MOTOR, resting
from generator.circuit.device.places import Place
from generator.circuit.network.element import NoOperatingPoint
from generator.circuit.network.passive import Contact
from generator.diagnosis.consequences import consequences
from generator.diagnosis.hypotheses import HEALTH, Change, by_failure
from generator.diagnosis.predictions import Predictor, Sought
from generator.diagnosis.suspects import class_of, suspects
from generator.notation.parts import Part

if TYPE_CHECKING:
    from generator.circuit.device import Device
    from generator.diagnosis.evidence import Array

LESS = 0.1  # how likely a failure is under which what is missed still works, beside one that accounts for it; common practice, no source
WORKS = 0.5  # share of its current, and of an amplifier's resting volts by which they are off, from which a load works
LEAST = 1e-9  # A
GONE = ("open", "short", "stalled", "dead")
ALL = "all"  # of a device that is dead
SOME = "some"  # one of a device that does not do what it should
# symptom -> what people miss
LOST: Mapping[str, str] = {
    "~dead": ALL, "~does-not-work": SOME, "~does-not-boot": ALL,
    "~no-heat": "heat", "~no-steam": "heat", "~no-light": "light", "~no-sound": "sound",
    "~does-not-spin": "motion", "~no-suction": "motion", "~does-not-pump": "motion", "~does-not-drain": "motion",
    "~blunt": "motion", "~does-not-charge": "charge",
}  # fmt: skip
STAYS_ON, RUNS_DOWN, TRIPS = "~stuck-on", "~battery-runs-down", "~trips-the-supply"
OFF = 0.05  # share of its most in any state, up to which a load is off
DRAINED, AT_LEAST = (
    2.0,
    1e-5,
)  # times what a pack gives at rest from which it runs down, and A; common practice, no source
# kind of block -> what people have of it, and the classes of the parts that give it
GIVES: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "heater": ("heat", ("element",)), "led-string": ("light", ("led",)), "led-indicator": ("light", ("led",)),
    "dc-motor": ("motion", ("motor",)), "universal-motor": ("motion", ("winding",)), "solenoid": ("motion", ("coil", "winding")),
    "induction-motor": ("motion", ("winding",)), "bldc-motor": ("motion", ("winding", "motor")),
    "battery-pack": ("charge", ("pack",)), "audio-stage": ("sound", ("loudspeaker",)),
}  # fmt: skip


@dataclass(frozen=True)
class Account:
    """What an owner complains of. shares: how well each failure accounts for it, 1 for wholly, LESS for not at all, none where the
    words or the device say nothing of it; state: in which it should work, else the first."""

    shares: Mapping[tuple[str, ...], float]
    state: str

    @property
    def health(self) -> float:
        """How well it is accounted for by nothing being wrong."""
        return LESS if self.shares else 1.0


def account_of(device: Device, complaints: Sequence[str]) -> Account:
    """How well failures account for complaints, which are keys of symptoms. Kept with the device."""
    key = ("account", tuple(complaints))
    if key not in device.kept:
        try:
            device.kept[key] = _account(device, complaints)
        except NoOperatingPoint:
            device.kept[key] = Account({}, device.states[0].name)
    found: Account = device.kept[key]
    return found


@dataclass(frozen=True)
class Load:
    """A part that gives people something. element: its name in the network; beside: further blocks without which it gives
    nothing, whatever its current at rest."""

    element: str
    block: str
    gives: str
    beside: frozenset[str] = frozenset()


def _account(device: Device, complaints: Sequence[str]) -> Account:
    lost = {LOST[own] for own in complaints if own in LOST}
    loads = _loads(device) if lost or {STAYS_ON, RUNS_DOWN} & set(complaints) else []
    missed = [own for own in loads if own.gives in lost]
    if lost - {"charge"} and not missed:  # what no block's kind gives may be given by any other load
        missed = [own for own in loads if not own.gives or lost & {ALL, SOME} and own.gives != "charge"]
    changes = suspects(device)
    tried = [_undone(device, load, changes) for load in missed]
    if STAYS_ON in complaints:
        tried += [_stays_on(device, load, changes) for load in loads if load.gives not in ("charge", "sound")]
    if RUNS_DOWN in complaints:
        tried += [_runs_down(device, load, changes) for load in loads if load.gives == "charge"]
    if TRIPS in complaints and device.side.fuses:
        blown = {change.group[:3] for change in consequences(device, changes)}
        tried.append((np.array([float(c.group in blown) for c in changes]), device.states[0].name))
    undone = [own for own in tried if own is not None]
    if not undone:
        return Account({}, device.states[0].name)
    leaves = [own for own, _state in undone]
    share = np.mean(leaves, 0) if ALL in lost else np.max(leaves, 0)
    accounts = dict(zip((change.identity for change in changes), (LESS ** (1 - share)).tolist()))
    found = {}
    for group, sizes in by_failure(changes).items():
        whole = sum(change.weight for change in sizes)
        found[group] = sum(change.weight * accounts[change.identity] for change in sizes) / whole
    return Account(found, Counter(state for _own, state in undone).most_common(1)[0][0])


def _loads(device: Device) -> list[Load]:
    """What people have of a device."""
    coils = {e.called for e in device.elements.values() if isinstance(e, Contact) and e.called}
    found = []
    for name, element in device.elements.items():
        block = device.blocks.get(element.block)
        if block is None or element.called in coils:
            continue
        gives, classes = GIVES.get(block.kind.name, ("", ()))
        if gives and class_of(device, element, element.key) in classes:
            beside = _before(device, element.block) if gives == "sound" else frozenset()
            found.append(Load(name, element.block, gives, beside))
        elif not gives and element.key == "load" and block.kind.group == "Driving":
            part = block.part("load")
            sort = resting(part) if isinstance(part, Part) else None
            found.append(Load(name, element.block, _BY_SORT.get(sort, "") if sort else ""))
    return found


_BY_SORT = {ELEMENT: "heat", LAMP: "light", MOTOR: "motion"}


def _before(device: Device, stage: str) -> frozenset[str]:
    """An amplifier's stage, and the blocks that its signal comes from: what fails there may silence it at any volts."""
    net = device.net(f"{stage}.input")
    return frozenset({stage, *(own.partition(".")[0] for own in device.members.get(net, ()))})


def _undone(device: Device, load: Load, changes: Sequence[Change]) -> tuple[Array, str] | None:
    """1 for each change under which a load gives nothing, 0 where it works as in the sound device; the state in which that has the
    most. None where it never works."""
    at = [_sought(device, load, state.name) for state in device.states]
    sound = Predictor(device, at).tell([HEALTH]).nominal[0]
    size = np.nan_to_num(sound if load.gives == "charge" else np.abs(sound))
    best = int(np.argmax(size))
    if size[best] <= LEAST:
        return None
    seen = Predictor(device, [at[best]]).tell([HEALTH, *changes]).nominal[1:, 0] / sound[best]
    own = np.array([_of_load(device, load, change) for change in changes])
    if load.gives == "sound":
        works = np.abs(np.nan_to_num(seen, nan=1.0) - 1) < WORKS
    else:
        works = np.nan_to_num(seen, nan=1.0) >= WORKS
    undone: Array = (own | ~works).astype(float)
    return undone, at[best].state


def _stays_on(device: Device, load: Load, changes: Sequence[Change]) -> tuple[Array, str] | None:
    """1 for each change under which a load works in a state in which it should be off. None where it never is."""
    at = [_sought(device, load, state.name) for state in device.states]
    sound = np.abs(np.nan_to_num(Predictor(device, at).tell([HEALTH]).nominal[0]))
    most = float(sound.max())
    off = [own for own, amperes in zip(at, sound) if amperes <= OFF * most]
    if most <= LEAST or not off:
        return None
    seen = np.abs(np.nan_to_num(Predictor(device, off).tell([HEALTH, *changes]).nominal[1:]))
    works: Array = (seen >= WORKS * most).astype(float)
    return works.max(1), off[int(np.argmax(works.sum(0)))].state


def _runs_down(device: Device, load: Load, changes: Sequence[Change]) -> tuple[Array, str]:
    """1 for each change under which a pack gives more where it should give least, or holds less itself."""
    at = [_sought(device, load, state.name) for state in device.states]
    sound = np.maximum(0.0, -np.nan_to_num(Predictor(device, at).tell([HEALTH]).nominal[0]))
    least = int(np.argmin(sound))
    seen = -np.nan_to_num(Predictor(device, [at[least]]).tell([HEALTH, *changes]).nominal[1:, 0])
    worn = np.array([change.block == load.block and change.mode not in GONE for change in changes])
    drained: Array = (worn | (seen > DRAINED * sound[least] + AT_LEAST)).astype(float)
    return drained, at[least].state


def _sought(device: Device, load: Load, state: str) -> Sought:
    if load.gives == "sound":  # its signal is not worked out, the volts at which it stands are
        return Sought(device.place(f"{load.block}.output_dc"), "volts", state)
    element = device.elements[load.element]
    place = Place("amps", element=load.element, text=load.element, block=load.block, ac=element.ac)
    return Sought(place, "amps", state, "A")


def _of_load(device: Device, load: Load, change: Change) -> bool:
    """Whether a change is one of the load itself by which it no longer works whatever its current."""
    if change.block in load.beside:
        return True
    element = device.elements[load.element]
    return (change.block, change.key) == (element.block, element.key) and change.mode in GONE
