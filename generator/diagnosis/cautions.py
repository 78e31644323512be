"""Which cautions a note calls for, from its blocks and its device. Pages say beside them that local codes come first."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from generator.circuit.hazards import HAZARDOUS_VOLTS


@dataclass(frozen=True)
class Caution:
    """key: mains, voltage, charge, lithium, heat or microwave; title and words for people."""

    key: str
    title: str
    words: str


CAUTIONS = {
    c.key: c
    for c in (
        Caution(
            "mains",
            "Mains potential",
            "Parts of this are at mains potential while it is plugged in. Pull the plug before you open it, and work "
            "on live parts only if you are competent and permitted to.",
        ),
        Caution(
            "voltage",
            "Dangerous voltage",
            "More than 60 V stands on parts of this while it is fed, enough to hurt or kill. Switch it off before you "
            "touch anything, and measure live only if you are competent and permitted to.",
        ),
        Caution(
            "charge",
            "Stored charge",
            "Capacitors here can hold a charge after the plug is pulled. Measure, discharge through a resistor, and "
            "measure again before you touch anything.",
        ),
        Caution(
            "lithium",
            "Lithium cells",
            "A lithium cell that is shorted, pierced, crushed or charged wrongly can burn. Do not reuse a swollen or "
            "dented cell; use a charger made for it.",
        ),
        Caution(
            "heat",
            "Heat",
            "Heating parts stay hot after switching off, and a cut-out that is bridged can start a fire. Never run it "
            "with a thermal fuse or thermostat bridged.",
        ),
        Caution(
            "microwave",
            "Microwave oven",
            "A microwave oven holds a lethal voltage and charge even when unplugged. It is not a job for a repair table: "
            "leave it closed unless you are trained and equipped for it.",
        ),
    )
}

# How words begin that call for a caution: "iron", not "environment"; "phone", not "headphones".
_WORDS = {
    "microwave": ("microwave", "mikrowelle", "micro-ondes", "magnetron"),
    "heat": (
        "heater", "kettle", "iron", "toaster", "oven", "hair dryer", "hairdryer", "incubator", "fryer", "grill",
        "blanket", "cooker", "hob\\b", "hobs\\b", "coffee", "boiler",
        "\\w*heiz", "\\w*kocher", "\\w*bügeleisen", "\\w*ofen\\b", "haartrockner", "föhn", "brut(?:kasten|gerät|apparat)",
        "\\w*fritteuse", "\\w*herd\\b", "kaffee", "waffeleisen",
    ),
    "lithium": ("lithium", "li-ion", "lipo\\b", "batter(?:y|ies)", "cordless", "phone", "smartphone", "laptop", "tablet", "e-bike", "scooter", "\\w*akku", "handy"),
}  # fmt: skip


def cautions_for(
    kinds: Iterable[Iterable[str]], device_words: str, plate_volts: float | None
) -> list[Caution]:
    """The cautions that apply, in a fixed order.

    kinds: the cautions that each block calls for; device_words: what people call the device, its category and the
    failed parts; plate_volts: supply on the rating plate, where there is one.
    """
    keys = {key for cautions in kinds for key in cautions}
    words = device_words.casefold()
    keys |= {key for key, known in _WORDS.items() if any(re.search(rf"\b{word}", words) for word in known)}
    if plate_volts is not None and plate_volts > HAZARDOUS_VOLTS:
        keys.add("mains")
    if "microwave" in keys:
        keys |= {"mains", "charge"}
    if "mains" in keys:  # says it all, and more
        keys.discard("voltage")
    return [
        CAUTIONS[key] for key in ("microwave", "mains", "voltage", "charge", "lithium", "heat") if key in keys
    ]
