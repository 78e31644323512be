"""Stamps: the few forms of equation that all elements are made of.

A stamp either lets a current out of the net `out[0]` into the net `out[1]`, or, where branch is set, is the equation
of an unknown current that flows so: its value is then what has to become zero. It depends on up to four controls, each
the voltage between two nets, or J for the branch's own current. primitives.py evaluates the forms.
"""

from __future__ import annotations

from typing import NamedTuple

FLOOR = 1e-12  # S, across every junction and switch
POINTS = 12  # of a rail's curve of volts over amperes
J = ("<branch current>", "")  # a control: the unknown current of the stamp's own branch
BEFORE = ("<branch current>", "before")  # that of the branch before it in the same element


class Stamp(NamedTuple):
    """form: one of primitives.FORMS; numbers: its parameters in that form's order."""

    form: str
    out: tuple[str, str]
    controls: tuple[tuple[str, str], ...]
    numbers: tuple[float, ...]
    branch: bool = False


def conductance(a: str, b: str, siemens: float) -> Stamp:
    """A linear conductance between two nets."""
    return Stamp("linear", (a, b), ((a, b),), (0.0, siemens, 0.0))


def junction(
    lies: tuple[str, str], saturation: float, width: float, breakdown: tuple[float, float, float] = (0.0, 0.0, 1.0),
    floor: float = FLOOR,
) -> Stamp:  # fmt: skip
    """A junction from anode to cathode: saturation current in A and width of its exponential in V (Shockley's equation).

    breakdown: V, with its current in A and the width of that exponential in V; none at 0 V. floor: S across it.
    """
    return Stamp("junction", lies, (lies,), (saturation, width, floor, *breakdown))


def current(a: str, b: str, amperes: float) -> Stamp:
    """A constant current from one net to another."""
    return Stamp("linear", (a, b), ((a, b),), (amperes, 0.0, 0.0))


def voltage(plus: str, minus: str, volts: float, ohms: float = 0.0) -> Stamp:
    """A voltage source behind a resistance, of at least 0.1 mohm; the branch current flows from plus through it to minus.

    Its equation: plus − minus − ohms·j = volts.
    """
    return Stamp("linear", (plus, minus), ((plus, minus), J), (-volts, 1.0, -max(ohms, 1e-4)), True)


def no_current(plus: str, minus: str) -> Stamp:
    """The same branch, open."""
    return Stamp("linear", (plus, minus), ((plus, minus), J), (0.0, 0.0, 1.0), True)
