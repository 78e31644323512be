"""The sorts of part: what unit their value has, and what else may be stated of them."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class PartClass:
    """What parts of one sort share: the unit of their value, and named further values (hfe100)."""

    name: str
    unit: str = ""  # "" = the part has no value of its own
    extras: dict[str, str] = field(default_factory=dict)  # word -> unit: hfe100, vth2, rds0R05
    rating_units: tuple[str, ...] = ("V", "A", "W")
    needs_value: bool = True


CLASSES = {
    c.name: c
    for c in (
        PartClass("resistor", "ohm", rating_units=("V", "A", "W")),
        PartClass("capacitor", "F", rating_units=("V", "A")),
        PartClass("thermistor", "ohm", {"B": "K"}, rating_units=("W", "V", "A")),
        PartClass("photoresistor", "ohm", {"gamma": ""}, rating_units=("W", "V")),
        PartClass("potentiometer", "ohm", rating_units=("W", "V")),
        PartClass("inductor", "H", rating_units=("A",)),
        PartClass("diode", rating_units=("V", "A", "W"), needs_value=False),
        PartClass("zener", "V", rating_units=("W", "A")),
        PartClass("led", "V", rating_units=("A", "W"), needs_value=False),
        PartClass("transistor", "", {"hfe": ""}, rating_units=("A", "V", "W"), needs_value=False),
        PartClass("mosfet", "", {"vth": "V", "rds": "ohm"}, rating_units=("A", "V", "W"), needs_value=False),
        PartClass(
            "pnp or p-channel transistor",
            "",
            {"hfe": "", "vth": "V", "rds": "ohm"},
            rating_units=("A", "V", "W"),
            needs_value=False,
        ),
        PartClass("triac", "", rating_units=("A", "V"), needs_value=False),
        PartClass("diac", "V", rating_units=("A",)),
        PartClass("fuse", "A", rating_units=("V",)),
        PartClass("thermal fuse", "°C", rating_units=("A", "V"), needs_value=False),
        PartClass("varistor", "V", rating_units=("A", "W"), needs_value=False),
        PartClass("switch", "", rating_units=("A", "V"), needs_value=False),
        PartClass("contact", "A", rating_units=("V",), needs_value=False),
        PartClass("element", "W", rating_units=("V",)),
        PartClass("loudspeaker", "ohm", rating_units=("W",)),
        PartClass("winding", "ohm", rating_units=("V", "A")),
        PartClass("coil", "ohm", rating_units=("V", "A"), needs_value=False),
        PartClass("chip", "", rating_units=("V", "A"), needs_value=False),
        PartClass("optocoupler", "", {"ctr": ""}, rating_units=("V", "A"), needs_value=False),
        PartClass("any", "", rating_units=("V", "A", "W"), needs_value=False),
    )
}
