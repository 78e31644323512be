"""What every change of a device predicts for a set of places: the readings' means, and how they scatter together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.network.primitives import Array
from generator.circuit.network.tolerances import SURROUNDINGS
from generator.diagnosis.cold import Ohms, alone, diode_range
from generator.diagnosis.evidence import EVEN, TRAPEZOID, Predictions
from generator.diagnosis.formulas import values_under
from generator.diagnosis.hypotheses import HEALTH, Change
from generator.diagnosis.powered import Powered
from generator.diagnosis.solved import solve_all

if TYPE_CHECKING:
    from generator.circuit.device import Device, Place


# how the axis is called of what cells stand higher while they are charged, which is so too
ON_CHARGE = ".on_charge"


@dataclass(frozen=True)
class Sought:
    """A place to measure, and how: "volts" or "amps" in a state, "ohms" or "diode" with the plug out, "value" for what only
    a block's own formulas give. unit: of what is read."""

    place: Place
    how: str
    state: str = ""
    unit: str = "V"


ANYWHERE = math.sqrt(TRAPEZOID / EVEN)  # by which a range counts wider in which all is as likely


@dataclass(frozen=True)
class Told:
    """What H changes predict at P places: mean (H, P), inf where the meter would show OL; shift (H, P, axes) along the device's
    axes and what each group of places stands in, and own (H, P) besides, half a band each; known (H, P): False where nothing is known of a place;
    nominal (H, P): with every part at what is stated."""

    mean: Array
    shift: Array
    own: Array
    known: Array
    nominal: Array

    @property
    def variance(self) -> Array:
        """(H, P)."""
        found: Array = (np.einsum("hpa,hpa->hp", self.shift, self.shift) + self.own**2) / TRAPEZOID
        return found


def _plugged(changes: Sequence[Change]) -> tuple[list[Change], list[int] | slice]:
    """The changes as they are with the plug in, each once; and which of these each is."""
    rows: dict[object, int] = {}
    plugged: list[Change] = []
    which: list[int] = []
    for change in (own.plugged for own in changes):
        key = change.identity
        if key not in rows:
            rows[key] = len(plugged)
            plugged.append(change)
        which.append(rows[key])
    return (plugged, which) if len(plugged) < len(changes) else (list(changes), slice(None))


class Predictor:
    """Predictions for some places of a device. meter: its input resistance in ohm.

    The powered states and the cold network are worked out when they are first asked for.
    """

    def __init__(self, device: Device, sought: Sequence[Sought], meter: float = 10e6) -> None:
        self.device, self.sought, self.meter = device, list(sought), meter
        self._healthy: Told | None = None
        self.groups: dict[tuple[object, ...], list[int]] = {}
        for number, own in enumerate(self.sought):
            self.groups.setdefault(self._group(own), []).append(number)

    @staticmethod
    def _group(sought: Sought) -> tuple[object, ...]:
        place = sought.place
        if sought.how in ("volts", "amps", "rail"):
            return ("powered", sought.state, place.failed, place.put)
        return ("alone",) if place.alone else (sought.how,)

    @cached_property
    def powered(self) -> dict[tuple[object, ...], Powered]:
        """For each group of places read together, the state that answers them."""
        return {
            key: Powered(
                self.device, self.sought[own[0]].state, [self.sought[n].place for n in own], self.meter
            )
            for key, own in self.groups.items()
            if key[0] == "powered"
        }

    @cached_property
    def cold(self) -> Ohms:
        """The unplugged device, for the places read in ohms."""
        places = [self.sought[n].place for n in self.groups.get(("ohms",), [])]
        return Ohms(self.device, [(place.plus, place.minus) for place in places])

    def predict(self, changes: Sequence[Change]) -> Predictions:
        """Means and shifts at all places under each change. Axes: those of tell, then one for each place of its own."""
        told = self.tell(changes)
        own = told.own[:, :, None] * np.eye(len(self.sought))
        return Predictions(told.mean, np.concatenate([told.shift, own], 2), told.known)

    def tell(self, changes: Sequence[Change]) -> Told:
        """The same with each place's own scatter apart, for many places.

        Axes: the device's, then for each group of places those of what it stands in, the light of one state is not that of
        another, nor is what its cells stand above their volts at rest; last, for ohms, what no drawing shows.
        """
        size, count, axes = len(changes), len(self.sought), len(self.device.axes)
        names = [axis.name for axis in self.device.axes]
        around = [n for n, name in enumerate(names) if name in SURROUNDINGS or name.endswith(ON_CHARGE)]
        more = len(around)
        mean, shift, own = (
            np.full((size, count), np.nan),
            np.zeros((size, count, axes + more * len(self.groups) + 1)),
            np.zeros((size, count)),
        )
        known, nominal = np.ones((size, count), bool), np.full((size, count), np.nan)
        plugged, which = _plugged(changes) if self.powered else ([], slice(None))
        solve_all((own.there for own in self.powered.values()), plugged)
        for number, (key, at) in enumerate(self.groups.items()):
            if key[0] == "powered":
                told = self.powered[key].read(plugged).some(which)
                mean[:, at], shift[:, at, :axes], own[:, at] = told.mean, told.shift, told.stray
                nominal[:, at] = told.nominal
                known[:, at] &= told.good[:, None]
            elif key[0] == "ohms":
                mean[:, at], along = self.cold.read(changes)
                shift[:, at, :axes], own[:, at] = along[..., :-2], np.abs(along[..., -2])
                shift[:, at, -1] = ANYWHERE * along[..., -1]
            elif key[0] == "alone":
                for n in at:
                    mean[:, n], own[:, n] = alone(self.device, self.sought[n].place.element, changes)
            elif key[0] == "diode":
                places = [self.sought[n].place for n in at]
                pairs = [place.tested or (place.plus, place.minus) for place in places]
                mean[:, at], scatter = diode_range(self.device, pairs, changes)
                own[:, at] = scatter * math.sqrt(EVEN)
            else:
                for n in at:
                    place = self.sought[n].place
                    mean[:, n], own[:, n] = values_under(
                        self.device, place.block, place.value, changes, self.meter
                    )
            first = axes + number * more
            for n in at if around else ():
                if not self.sought[n].place.value:  # a named value says itself what it stands in: at 25 °C
                    shift[:, n, first : first + more] = shift[:, n, around]
                shift[:, n, around] = 0.0
        if not math.isfinite(shift.sum()):
            np.nan_to_num(shift, copy=False)
        for n, sought in enumerate(self.sought):
            if sought.place.either:
                shift[:, n] *= np.where(mean[:, n, None] < 0, -1.0, 1.0)
                mean[:, n], nominal[:, n] = np.abs(mean[:, n]), np.abs(nominal[:, n])
        np.nan_to_num(own, copy=False)
        own *= ANYWHERE
        nominal = np.where(np.isnan(nominal), mean, nominal)
        whole = Told(mean, shift, own, known & ~np.isnan(mean), nominal)
        if self._healthy is None and changes and changes[0] is HEALTH:
            self._healthy = whole
        return whole

    @property
    def _of_sound(self) -> Told:
        """What the sound device predicts, in the first row; mostly it was asked for beside the failures."""
        return self._healthy or self.tell([HEALTH])

    @property
    def stray(self) -> Array:
        """By how much what no drawing shows may move each place of the sound device."""
        own: Array = np.abs(self._of_sound.own[0]) / ANYWHERE
        return own

    @property
    def reach(self) -> Array:
        """By how much each place of the sound device may differ from its mean at worst."""
        found: Array = np.abs(self._of_sound.shift[0]).sum(-1) + self.stray
        return found

    @property
    def nominal(self) -> Array:
        """What the sound device shows at each place with every part at what is stated."""
        own: Array = self._of_sound.nominal[0]
        return own

    @property
    def sound(self) -> Array:
        """What an ideal device shows at each place."""
        mean: Array = self._of_sound.mean[0]
        return mean
