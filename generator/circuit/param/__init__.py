"""The parameters of a kind of block. Each reads what a note gives for it, has its default, and says what it takes.

A kind states them as class attributes, whose names are the names that a note uses:

    shunt = param.Part("resistor", "the resistor that the current passes")
    supply = param.Quantity("V", "the mains", default=param.MAINS)
    input_high = param.Quantity("V", "the highest voltage that comes in", default=input)
    load = param.Load("what draws from the output", default=None, modes=())

A parameter without a default has to be given. A default is None (it may be absent), the text that a note could have
written, another parameter of the kind (the same as that), MAINS, FREQUENCY, MainsIfNear(another parameter) or DropOf(a diode).
"""

from __future__ import annotations

from generator.circuit.param.base import (
    FREQUENCY,
    MAINS,
    REQUIRED,
    Default,
    DropOf,
    MainsIfNear,
    Param,
    Unstated,
)
from generator.circuit.param.several import Cells, CutPoints, Keys, Lines, Numbers, Parts, Positions, Tree
from generator.circuit.param.single import Choice, Count, Load, MainsVoltage, Part, Quantity, Ratio

__all__ = [
    "FREQUENCY", "MAINS", "REQUIRED", "Cells", "Choice", "Count", "CutPoints", "Default", "DropOf", "Keys", "Lines", "Load", "MainsIfNear",
    "MainsVoltage", "Numbers",
    "Param", "Part", "Parts", "Positions", "Quantity", "Ratio", "Tree", "Unstated",
]  # fmt: skip
