"""Symbols of IEC 60617 that schemdraw has not, as elements in its manner."""

from __future__ import annotations

from typing import Any

from schemdraw.elements import Capacitor, Element2Term, FuseIEC, Optocoupler, ResistorIEC
from schemdraw.segments import Segment, SegmentArc, SegmentCircle

_HEIGHT = 0.25


# Letters as strokes around their middle, (right, down) on the page, so that they are shapes and no text.
_U = ([(-0.1, -0.14), (-0.1, 0.06), (-0.05, 0.13), (0.05, 0.13), (0.1, 0.06), (0.1, -0.14)],)
_MINUS_T = (
    [(-0.28, 0.0), (-0.15, 0.0)],
    [(0.0, -0.15), (0.0, 0.08), (0.05, 0.13), (0.1, 0.13)],
    [(-0.08, -0.06), (0.1, -0.06)],
)
_DEGREE = (0.2, -0.12)
_AT_FOOT = {
    False: (-0.8, 0.1),
    True: (0.1, 0.72),
}  # beside the bent stroke's foot: in a column, and in a row (across)


def _placed(point: tuple[float, float], across: bool) -> tuple[float, float]:
    """A point of a letter at the foot of a bent stroke, in the symbol's own coordinates, so that it stands upright."""
    right, down = (a + b for a, b in zip(point, _AT_FOOT[across]))
    return (right, -down) if across else (down, right)


def _written(letter: tuple[list[tuple[float, float]], ...], across: bool) -> list[Segment]:
    return [Segment([_placed(point, across) for point in stroke], lw=1.5) for stroke in letter]


class Varistor(ResistorIEC):
    """A resistor whose value depends on the voltage: a bent stroke through the box, a U at its foot (IEC 60617-4)."""

    def __init__(self, across: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.segments.append(Segment([(0, -0.45), (0.2, -0.45), (0.8, 0.45)]))
        self.segments += _written(_U, across)


class NtcThermistor(ResistorIEC):
    """A resistor whose value falls as it warms: a bent stroke through the box, -t° at its foot (IEC 60617-4)."""

    def __init__(self, across: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.segments.append(Segment([(0, -0.45), (0.2, -0.45), (0.8, 0.45)]))
        self.segments += _written(_MINUS_T, across)
        self.segments.append(SegmentCircle(_placed(_DEGREE, across), 0.05, lw=1.5))


class ElectrolyticCapacitor(Capacitor):
    """A polarised capacitor: the plus beside the plate at its start (IEC 60617-4)."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.segments.append(Segment([(-0.25, 0.12), (-0.25, 0.36)], lw=1.5))
        self.segments.append(Segment([(-0.37, 0.24), (-0.13, 0.24)], lw=1.5))


class ThermalFuse(FuseIEC):
    """A fuse that opens by temperature: a fuse with the sign of temperature under it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.segments.append(Segment([(0.1, -0.45), (0.28, -0.45)]))
        self.segments.append(SegmentArc((0.5, -0.45), 0.3, 0.3, theta1=180, theta2=0))
        self.segments.append(Segment([(0.72, -0.45), (0.9, -0.45)]))


class HeatingElement(Element2Term):
    """A heating element: a box with bars across (IEC 60617-4)."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        h = _HEIGHT
        self.segments.append(
            Segment([(0, 0), (0, h), (1, h), (1, -h), (0, -h), (0, 0), (float("nan"), float("nan")), (1, 0)])
        )
        for x in (0.25, 0.5, 0.75):
            self.segments.append(Segment([(x, -h), (x, h)]))


class RelayCoil(Element2Term):
    """The coil of a relay: a box broader than long, the wires on its long sides (IEC 60617-7)."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        gap = (float("nan"), float("nan"))
        self.segments.append(
            Segment([(0, 0), (0, 0.45), (0.5, 0.45), (0.5, -0.45), (0, -0.45), (0, 0), gap, (0.5, 0)])
        )


class LetteredMotor(Element2Term):
    """A motor: a circle with an M in it (IEC 60617-6). The letter is drawn, so that it is a shape and no text."""

    def __init__(self, across: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.segments.append(Segment([(0, 0), (float("nan"), float("nan")), (1, 0)]))
        self.segments.append(SegmentCircle((0.5, 0), 0.5))
        # Upright where the motor stands in a column, as it mostly does; across: where it lies in a row.
        column = [(0.7, -0.22), (0.3, -0.22), (0.55, 0), (0.3, 0.22), (0.7, 0.22)]
        row = [(0.28, -0.2), (0.28, 0.2), (0.5, -0.05), (0.72, 0.2), (0.72, -0.2)]
        self.segments.append(Segment(row if across else column, lw=1.5))


class FunctionalUnit(Element2Term):
    """A part without a symbol of its own: a square (IEC 60617-2)."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        h = 0.4
        self.segments.append(
            Segment(
                [
                    (0, 0),
                    (0, h),
                    (2 * h, h),
                    (2 * h, -h),
                    (0, -h),
                    (0, 0),
                    (float("nan"), float("nan")),
                    (2 * h, 0),
                ]
            )
        )


class LevelOptocoupler(Optocoupler):
    """An optocoupler whose collector is level with the LED's anode, so that both wires run straight."""

    def setup(self) -> None:
        self.unit = (
            2 * 25.08 / 36
        )  # the collector lies 25.08 pixels above the transistor's middle, 36 to a unit
        super().setup()
