"""From where on volts and charge hurt, and the cautions that what stands in a block calls for beyond those of its kind."""

from __future__ import annotations

from generator.circuit.block import Block
from generator.notation.quantity import Quantity

HAZARDOUS_VOLTS = 60.0  # V; the limit of extra-low DC voltage as commonly taken (IEC 61140), from memory
EXTRA_LOW_AC = 50.0  # V RMS: the limit of extra-low voltage (IEC 61140), from memory
# C behind more than that (IEC 61010-1's limit for accessible capacitors, from memory)
HAZARDOUS_CHARGE = 45e-6


def cautions_of(block: Block) -> tuple[str, ...]:
    """The cautions of a block: "voltage" and "charge" besides what its kind has, where its volts call for them."""
    cautions, highest = block.cautions, _highest_volts(block)
    if highest > HAZARDOUS_VOLTS:
        if not {"mains", "voltage"} & set(cautions):
            cautions = ("voltage", *cautions)
        if "charge" not in cautions and _stores(block, highest):
            cautions = (*cautions, "charge")
    return cautions


def _stores(block: Block, volts: float) -> bool:
    """Whether a capacitor of the block could hold a hazardous charge at such volts."""
    values = [part.value for part in block.parts if part.part_class == "capacitor"]
    return any(value.high * volts > HAZARDOUS_CHARGE for value in values if value is not None)


def _highest_volts(block: Block) -> float:
    """The most that stands anywhere in the block by what is stated and what comes out of it."""
    stated = [
        given.high
        for name, given in block.inputs.items()
        if isinstance(given, Quantity) and given.unit == "V" and _stands(block, name)
    ]
    computed = [
        result.high
        for result in block.values.values()
        if result.unit == "V" and result.definition is not None and result.definition.measurable
    ]
    return max([*stated, *computed], default=0.0)


def _stands(block: Block, parameter: str) -> bool:
    """Whether what a parameter states stands anywhere in the circuit."""
    param = block.kind.param(parameter)
    return param is None or param.measurable
