"""A photoresistor and a fixed resistor: how a device tells day from night."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import curves, divided, param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import at_tap_line, cut_lines
from generator.circuit.network import Wiring
from generator.circuit.ratings import rating
from generator.circuit.sheet import Sheet
from generator.notation.parts import Part

RESISTANCE = Formula("sensor·exp(−sensor_gamma·ln(illuminance/10))")  # stated at 10 lux
ILLUMINANCE = Formula("10·exp(ln(sensor/resistance)/sensor_gamma)")
DARK, BRIGHT = 0.1, 1000.0  # lux
POWER_LAW = "power law of a photoconductive cell: straight in a log-log diagram (makers' data sheets)"


def photoresistance(x: Point, illuminance: float) -> float:
    """A photoresistor in the light, in ohm: R10·(E/10 lux)^(−gamma). illuminance: lux, above 0.

    gamma: between 10 and 100 lux as data sheets state it, 0.5 to 1. Fair from 1 to 1000 lux; in the dark the cell is
    limited by its own dark resistance. Source: makers' data sheets.
    """
    return RESISTANCE.of(x.changed(illuminance=illuminance))


def _light(x: Point, resistance: float | None) -> Formula | float | None:
    """The light at which the sensor has a resistance, none for one that has failed."""
    if not resistance or math.isinf(resistance) or not 0 < x.sensor < math.inf:
        return None
    return ILLUMINANCE


def _cut(x: Point, key: str, given: float) -> Solved:
    """The values of a cut point from the one that is given. A failed sensor never comes to a given voltage."""
    if key == "illuminance":
        return {
            key: given,
            "resistance": RESISTANCE,
            "output": divided.sensor_tap(x, x.sensor_side, "resistance", photoresistance(x, given)),
        }
    if key == "resistance":
        return {
            key: given,
            "illuminance": _light(x, given),
            "output": divided.sensor_tap(x, x.sensor_side, "resistance", given),
        }
    if x.failed("sensor"):
        return {key: given}
    needed = divided.sensor_for_tap(x, given, x.sensor_side)
    number = needed.of(x.changed(output=given)) if isinstance(needed, Formula) else needed
    return {key: given, "resistance": needed, "illuminance": _light(x, number)}


class LightDivider(Kind):
    title = "Light-dependent divider"
    group = "Sensing"
    what = (
        "A photoresistor and a fixed resistor across a supply: the voltage between them tells how light it "
        "is."
    )
    assumes = (
        "The tap is unloaded. Photoresistors of one type differ by a factor of two and more, are slow in "
        "the dark and remember light for hours; the band leaves the last two out."
    )
    terminals = ("supply", "tap", "pin", "common")

    supply = param.Quantity("V", "the voltage across the divider")
    fixed = param.Part("resistor", "the fixed resistor", role="fixed resistor")
    sensor = param.Part(
        "photoresistor",
        "the photoresistor: its value at 10 lux and its gamma, such as LDR1 10k gamma0.7",
        role="photoresistor",
    )
    sensor_side = param.Choice(("upper", "lower"), "where the photoresistor stands", default="lower")
    series = divided.SERIES
    capacitor = divided.CAPACITOR
    cut_points = param.CutPoints(
        {"illuminance": "lux", "resistance": "ohm", "output": "V"}, "what the device switches at"
    )

    values = (
        Value("dark_output", "V", "voltage at the tap in the dark (0.1 lux, a night with a moon)", "supply",
              POWER_LAW, at="from the tap to 0 V, sensor covered"),
        Value("bright_output", "V", "voltage at the tap in bright light (1000 lux, by a window)", "supply",
              POWER_LAW, at="from the tap to 0 V, sensor in bright light"),
        Value("pin_time_constant", "s", "how slowly the pin follows", "(series + fixed∥sensor)·capacitor", divided.PIN_FILTER),
    )  # fmt: skip
    cut_values = (
        Value("illuminance", "lux", "light at this point", "illuminance", POWER_LAW,
              at="light meter at the sensor"),
        Value("resistance", "ohm", "the sensor's resistance there", "resistance", POWER_LAW, cold=True,
              at="across the unplugged sensor"),
        Value("output", "V", "voltage at the tap there", "output", divided.OHMS_LAW, at="from the tap to 0 V",
              impedance="series + (fixed∥resistance)"),
    )  # fmt: skip
    helper_units = {"dark_resistance": "ohm", "dark": "lux", "bright": "lux", "sensor_gamma": ""}
    remarks = {
        **divided.REMARKS,
        ("sensor", "open"): "the device sees night for ever",
        ("sensor", "short"): "the device sees day for ever",
    }
    example = {
        "supply": "6 V", "fixed": "R1 33k", "sensor": "LDR1 10k gamma0.7",
        "cut_points": {"close": {"output": "2.27 V"}, "open": {"output": "1.86 V"}},
    }  # fmt: skip
    variants = (
        Variant("photoresistor towards the supply", {"sensor_side": "upper", "cut_points": ""}),
        Variant("cut points by light and by resistance", {"cut_points": {"dusk": {"illuminance": "20 lux"}, "clicked": {"resistance": "9k1..10k"}}}),
    )  # fmt: skip

    def solve(self, x: Point) -> Solved:
        found: dict[str, float | Formula | None] = {
            "dark": DARK,
            "bright": BRIGHT,
            "dark_resistance": photoresistance(x, DARK),
        }
        plain = 0 < x.sensor < math.inf and x.fixed < math.inf
        share = "fixed/(sensor·exp({}))" if x.sensor_side == "lower" else "sensor·exp({})/fixed"
        for name, lux in (("dark", DARK), ("bright", BRIGHT)):
            ratio = share.format(f"−sensor_gamma·ln({name}/10)")
            found[f"{name}_output"] = (
                Formula(f"supply/(1 + {ratio})")
                if plain
                else divided.sensor_tap(x, x.sensor_side, "resistance", photoresistance(x, lux)).of(
                    x.changed(resistance=photoresistance(x, lux))
                )
            )
        found |= divided.cut_results(x, _cut)
        return divided.at_pin(self, x, found, ("dark_output", "bright_output"))

    def checks(self, block: Block) -> list[Check]:
        supply, fixed = block.given("supply"), block.given("fixed")
        found = rating(block, "fixed", "W", supply.high**2 / fixed.low, "dissipates, in the brightest light,")
        found += rating(block, "fixed", "V", supply.high, "in the brightest light sees up to")
        found += rating(
            block, "sensor", "W", supply.high**2 / (4 * fixed.low), "in the light where it takes the most,"
        )
        found += divided.pin_checks(block, supply.high)
        return found + rating(block, "sensor", "V", supply.high, "in the dark sees")

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        part: Part = inputs["sensor"]
        supply = inputs["supply"]
        found = []
        gamma = part.extras.get("gamma")
        if gamma is None:
            found.append(("sensor", f"{part.text} has no gamma", f"such as {part.text} gamma0.7"))
        elif not 0.1 <= gamma.low <= gamma.high <= 2:
            hint = "0.5 to 1, such as gamma0.7"
            found.append(("sensor", f"gamma {gamma.text} is not a gamma of a photoresistor", hint))
        for name, (key, given) in (inputs["cut_points"] or {}).items():
            if key == "output":
                found += divided.vet_tap(name, given, supply)
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """The photoresistor stands in the light that the state says, 10 lux where it says nothing."""
        divided.wire_sensor_divider(
            w, str(block.point.sensor_side), "sensor", w.sensed(photoresistance, "light")
        )
        for value, lux in (("dark_output", DARK), ("bright_output", BRIGHT)):
            w.volts(value, "pin", put=(("sensor", "ohms", photoresistance(block.point, lux)),))

    def draw(self, block: Block, sheet: Sheet) -> None:
        at_tap = (
            at_tap_line(block, "dark_output", "dark")
            + at_tap_line(block, "bright_output", "bright")
            + cut_lines(block, "output")
        )
        divided.draw_sensor_divider(
            block, sheet, "sensor", "photoresistor", str(block.point.sensor_side), at_tap
        )

    def plot(self, block: Block) -> curves.Diagram | None:
        """The tap's voltage (V) over illuminance (lux, in decades), with the cut points on it."""
        x, supply = block.point, block.point.supply
        marks = curves.cut_marks(block.point.cuts, block.values, "illuminance")
        lux = [e for m in marks for e in (m.x, m.x_high) if not math.isnan(e)]
        low, high = min([DARK, *lux]), max([BRIGHT, *lux])
        if not low > 0:
            return None

        def output(illuminance: float) -> float:
            return divided.sensor_tap_voltage(x, x.sensor_side, photoresistance(x, illuminance))

        curve = curves.Curve("output", curves.points(output, curves.spaced(low, high, log=True)))
        across, up = ("light", "lux", low, high), ("output", "V", 0.0, supply)
        return curves.Diagram("output over light", across, up, (curve,), marks, log=True)
