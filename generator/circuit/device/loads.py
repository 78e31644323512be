"""Stated loads: what hangs on a rail in the first state, less what is joined to it and draws current itself.

On the mains side it is the state in which what is joined draws most: a rating plate means the device at work.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from generator.circuit.device.apart import is_joint
from generator.circuit.device.states import Solved, solve
from generator.circuit.joined import SWITCHED
from generator.circuit.network.element import Element, Number
from generator.circuit.network.mains import Plugged
from generator.circuit.network.passive import NONE, Resistor
from generator.circuit.network.sources import Load
from generator.circuit.spread import SPREADS
from generator.notation.printed import format_value
from generator.notation.quantity import Quantity
from generator.problems import WARNING, Trouble

if TYPE_CHECKING:
    from generator.circuit.device.circuitry import Circuitry
    from generator.circuit.network.newton import Point

ROUNDS = 3  # rails behind rails
LEAST_SWITCHED = 1e-6  # A, so that a switch always has a load
LEAST_THROUGH_TRIAC = 1e-3  # A, below which it stands in nothing that works
MOST_OF_IT = 0.5  # share of a load in watts from which what is left of it still is what it is called
# joined by so much more than stated is not told: A; W, which a plate rounds and a motor takes as its load is
SLACK, SLACK_WATTS = 1.02, 1.25


def shared_rails(device: Circuitry) -> dict[str, tuple[str, str, str, str]]:
    """Load elements on rails to which other blocks are joined: element -> (block, parameter, plus, minus)."""
    found = {}
    for name, own in device.wired.items():
        for parameter, (plus, minus) in own.loads.items():
            element = device.elements.get(f"{name}.{parameter}")
            ends = device.net(plus), device.net(minus)
            if isinstance(element, (Load, Resistor, Plugged)) and any(
                _beyond(other, name) and ends[0] in other.nets for other in device.elements.values()
            ):
                found[element.name] = (name, parameter, *ends)
    return found


def _beyond(element: Element, block: str) -> bool:
    """Whether an element is no part of a block, or the joint behind which what is joined to it lies."""
    return element.block != block or is_joint(element)


def joined(device: Circuitry, solved: Solved, block: str, plus: str, minus: str, *, ac: bool) -> float:
    """What other blocks draw from a rail in the first state: A; on the mains side W, in the state that draws most."""
    total = np.zeros(len(solved.changes))
    for name, element in device.elements.items():
        if not _beyond(element, block) or element.ac != ac or plus not in element.nets:
            continue
        if ac:
            total += solved.mains.watts(name, plus, minus)
        elif name in solved.point.system.of:
            total += solved.point.amperes(name, plus)
    return max(0.0, float(total.max() if ac else total[0]))


def settle(device: Circuitry) -> tuple[dict[str, Element], Point | None]:
    """The load elements that are only a part of what is stated, changed so; and the states that this took, solved."""
    rails = shared_rails(device)
    if not rails:
        return {}, None
    original = {name: device.elements[name] for name in rails}
    now: dict[str, Element] = {name: scaled(element, 0.0) for name, element in original.items()}
    drawn: dict[str, float] = {}
    point: Point | None = None
    for _ in range(ROUNDS):
        solved = solve(
            device, device.system, device.side, device.states, point,
            {name: element.nominal() for name, element in now.items()},
        )  # fmt: skip
        point = solved.point
        before = dict(drawn)
        for name, (block, _parameter, plus, minus) in rails.items():
            element = original[name]
            drawn[name] = joined(device, solved, block, plus, minus, ac=element.ac)
            whole = stated(element, abs(float(solved.point.volts(plus, minus)[0])) if not element.ac else 0.0)
            rest = max(0.0, 1 - drawn[name] / whole) if whole else 0.0
            now[name] = scaled(element, 0.0 if device.blocks[block].kind.load_in_use else rest)
        if before and all(abs(drawn[name] - before[name]) <= 1e-3 * drawn[name] + 1e-9 for name in rails):
            break
    for name, (block, parameter, _plus, _minus) in rails.items():
        whole, unit = stated(original[name], 1.0), "W" if original[name].ac else "A"
        slack = SLACK_WATTS if unit == "W" else SLACK
        written = (block, parameter) not in device.circuit.unstated_loads
        if written and isinstance(original[name], Load | Plugged) and drawn[name] > whole * slack:
            what = f"{block}: {format_value(whole, unit)} stated, but what is joined draws {format_value(drawn[name], unit)}"
            hint = f"leave {parameter} out, or state everything that depends on it"
            device.troubles.append(Trouble(("blocks", block, parameter), what, hint, WARNING))
    return now, point


def stated(element: Element, volts: float) -> float:
    """What a load element takes as stated: A, W on the mains side; a resistor at these volts."""
    p = element.nominal()
    if isinstance(element, Resistor):
        return volts / p["ohms"] if p["ohms"] else 0.0
    return p["watts"] if isinstance(element, Plugged) else p["amperes"]


def scaled(element: Element, share: float) -> Element:
    """The element taking only a share of what is stated, tolerance and all."""

    def of(number: Number, factor: float) -> Number:
        return Number(
            number.value * factor,
            tuple((axis, low * factor, high * factor) for axis, low, high in number.ends),
        )

    if isinstance(element, Load):
        return replace(element, amperes=of(element.amperes, share))
    if isinstance(element, Plugged):
        watts = of(element.watts, share)
        if share <= MOST_OF_IT:  # what is left of it is no part that fails
            return replace(element, watts=watts, at_rest=NONE, called="", modes=())
        return replace(element, watts=watts, at_rest=of(element.at_rest, 1 / share))
    assert isinstance(element, Resistor)
    return replace(element, ohms=of(element.ohms, 1 / share if share > 1e-6 else 1e6))


def unstated(device: Circuitry, solved: Solved) -> dict[tuple[str, str], Quantity]:
    """What is joined to each block whose load the note leaves out, in the first state: (block, parameter) -> A, or W where
    the load is a power."""
    found = {}
    for block, parameter in device.circuit.unstated_loads:
        own = device.blocks[block].kind.param(parameter)
        unit = own.load_unit if own else "A"
        drawn = switched(device, solved, block)
        output = device.output(block)
        if drawn is None and output is not None:
            drawn = joined(
                device, solved, block, device.net(output[0]), device.net(output[1]), ac=unit == "W"
            )
        if drawn:
            low, high = SPREADS["load"].ends(drawn)
            found[block, parameter] = Quantity(drawn, low, high, unit, format_value(drawn, unit), True)
    return found


def switched(device: Circuitry, solved: Solved, block: str) -> float | None:
    """What another block draws through a switch in the first state that drives it: A, of a triac VA; None for blocks that
    are no switch."""
    row = next((row for row, state in enumerate(device.states) if block in state.on), 0)
    triac = device.elements.get(f"{block}.triac")
    if triac is not None:
        amperes = float(solved.mains.amperes(triac.name)[row])
        return amperes * device.blocks[block].given("supply").middle if amperes > LEAST_THROUGH_TRIAC else 0.0
    nets = [f"{block}.{terminal}" for terminal in SWITCHED if f"{block}.{terminal}" in device.all_nets]
    own = device.elements.get(f"{block}.transistor")
    if not nets or own is None or "drive" not in device.blocks[block].kind.terminals:
        return None
    return max(abs(float(solved.point.amperes(own.name, device.net(nets[0]))[row])), LEAST_SWITCHED)
