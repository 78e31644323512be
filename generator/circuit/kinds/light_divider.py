"""A photoresistor and a fixed resistor: how a device tells day from night."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from generator.circuit import curves, param
from generator.circuit.block import Block, Check, Kind, Point, Value, Variant, Wear
from generator.circuit.divided import (
    OHMS_LAW,
    at_tap_line,
    cut_lines,
    draw_sensor_divider,
    sensor_for_tap,
    sensor_formula,
    tap_formula,
    tap_voltage,
)  # fmt: skip
from generator.circuit.failing import LEAK
from generator.circuit.ratings import rating
from generator.circuit.sheet import Sheet
from generator.circuit.working import parallel
from generator.notation.parts import Part

if TYPE_CHECKING:
    from generator.circuit.network.wiring import Wiring

STATED_AT = 10.0  # lux; at which a photoresistor's resistance is stated
DARK, BRIGHT = 0.1, 1000.0  # lux
POWER_LAW = "power law of a photoconductive cell: straight in a log-log diagram (makers' data sheets)"


def photoresistance(*, r10: float, gamma: float, illuminance: float) -> float:
    """A photoresistor in the light, in ohm: R10·(E/10 lux)^(−gamma).

    r10: ohm at 10 lux; gamma: between 10 and 100 lux as data sheets state it, 0.5 to 1; illuminance: lux, above 0. Fair
    from 1 to 1000 lux; in the dark the cell is limited by its own dark resistance. Source: makers' data sheets.
    """
    return r10 * (illuminance / STATED_AT) ** -gamma


def illuminance_for(*, r10: float, gamma: float, resistance: float) -> float:
    """The light in lux at which a photoresistor has a resistance: 10 lux·(R10/R)^(1/gamma)."""
    return STATED_AT * (r10 / resistance) ** (1 / gamma)


def _sensor(x: Point, illuminance: float) -> float:
    if x.sensor == 0 or math.isinf(x.sensor):
        return float(x.sensor)
    alone = photoresistance(r10=x.sensor, gamma=x.sensor_gamma, illuminance=illuminance)
    leak = x.__dict__.get("sensor_leak", math.inf)
    return parallel(alone, leak) if leak < math.inf else alone


def _light(x: Point, resistance: float | None) -> float | None:
    leak = x.__dict__.get("sensor_leak", math.inf)
    if resistance and leak < math.inf:
        resistance = 1 / (1 / resistance - 1 / leak) if resistance < leak else None
    if not resistance or math.isinf(resistance) or x.sensor == 0 or math.isinf(x.sensor):
        return None
    return illuminance_for(r10=x.sensor, gamma=x.sensor_gamma, resistance=resistance)


def _tap(x: Point, sensor: float) -> float:
    upper, lower = (x.fixed, sensor) if x.sensor_side == "lower" else (sensor, x.fixed)
    return tap_voltage(supply=x.supply, upper=upper, lower=lower)


def _cut(x: Point, key: str, given: float) -> dict[str, float | None]:
    """The values of a cut point from the one that is given. A failed sensor never comes to a given voltage."""
    if key == "illuminance":
        resistance = _sensor(x, given)
        return {"illuminance": given, "resistance": resistance, "output": _tap(x, resistance)}
    if key == "resistance":
        return {"illuminance": _light(x, given), "resistance": given, "output": _tap(x, given)}
    if x.failed("sensor"):
        return {"output": given}
    needed = sensor_for_tap(supply=x.supply, fixed=x.fixed, output=given, side=x.sensor_side)
    return {"illuminance": _light(x, needed), "resistance": needed, "output": given}


class LightDivider(Kind):
    title = "Light-dependent divider"
    group = "Sensing"
    what = (
        "A photoresistor and a fixed resistor across a supply: the voltage between them tells how light it "
        "is."
    )
    assumes = (
        "The tap is unloaded. Photoresistors of one type differ by a factor of two and more, are slow in "
        "the dark and remember light for hours; without a stated tolerance the band leaves that out."
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
    cut_points = param.CutPoints(
        {"illuminance": "lux", "resistance": "ohm", "output": "V"}, "what the device switches at"
    )

    values = (
        Value("dark_output", "V", "voltage at the tap in the dark (0.1 lux, a night with a moon)", "supply",
              POWER_LAW, at="from the tap to 0 V, sensor covered", impedance="fixed∥dark_resistance"),
        Value("bright_output", "V", "voltage at the tap in bright light (1000 lux, by a window)", "supply",
              POWER_LAW, at="from the tap to 0 V, sensor in bright light"),
    )  # fmt: skip
    cut_values = (
        Value("illuminance", "lux", "light at this point", "illuminance", POWER_LAW,
              at="light meter at the sensor"),
        Value("resistance", "ohm", "the sensor's resistance there", "resistance", POWER_LAW, cold=True,
              at="across the unplugged sensor"),
        Value("output", "V", "voltage at the tap there", "output", OHMS_LAW, at="from the tap to 0 V",
              impedance="fixed∥resistance"),
    )  # fmt: skip
    helper_units = {"dark_resistance": "ohm", "dark": "lux", "bright": "lux", "sensor_gamma": ""}
    wear = (Wear("sensor", "leaky", *LEAK, lambda x, leak: x.changed(sensor_leak=leak)),)
    example = {
        "supply": "6 V", "fixed": "R1 33k", "sensor": "LDR1 10k gamma0.7",
        "cut_points": {"close": {"output": "2.27 V"}, "open": {"output": "1.86 V"}},
    }  # fmt: skip
    variants = (
        Variant("photoresistor towards the supply", {"sensor_side": "upper", "cut_points": ""}),
        Variant(
            "cut points by light and by resistance",
            {"cut_points": {"dusk": {"illuminance": "20 lux"}, "clicked": {"resistance": "9k1..10k"}}},
        ),
    )

    def solve(self, x: Point) -> dict[str, float]:
        values: dict[str, float] = {
            "dark": DARK, "bright": BRIGHT, "dark_resistance": _sensor(x, DARK),
            "dark_output": _tap(x, _sensor(x, DARK)), "bright_output": _tap(x, _sensor(x, BRIGHT)),
        }  # fmt: skip
        for cut, key in x.cuts.items():
            found = _cut(x, key, x.__dict__[f"cut:{cut}"])
            values.update({f"{cut}.{name}": value for name, value in found.items() if value is not None})
        return values

    def formulas(self, x: Point, solved: dict[str, float]) -> dict[str, str]:
        side = x.sensor_side
        share = "fixed/(sensor·exp({}))" if side == "lower" else "sensor·exp({})/fixed"
        found = {
            f"{name}_output": f"supply/(1 + {share.format(f'−sensor_gamma·ln({name}/10)')})"
            for name in ("dark", "bright")
        }
        for cut, key in x.cuts.items():
            own = {"illuminance": "10·exp(ln(sensor/resistance)/sensor_gamma)", "output": tap_formula(side, "resistance"),
                   "resistance": "sensor·exp(−sensor_gamma·ln(illuminance/10))" if key == "illuminance" else sensor_formula(side)}  # fmt: skip
            own[key] = key
            found.update({f"{cut}.{name}": formula for name, formula in own.items()})
        return found

    def checks(self, block: Block) -> list[Check]:
        supply, fixed = block.quantity("supply"), block.quantity("fixed")
        assert supply is not None and fixed is not None
        found = rating(
            block, "fixed", "W", supply.high**2 / fixed.low, "in the brightest light turns into heat"
        )
        found += rating(block, "fixed", "V", supply.high, "in the brightest light sees up to")
        found += rating(
            block, "sensor", "W", supply.high**2 / (4 * fixed.low), "in the light where it takes the most,"
        )
        return found + rating(block, "sensor", "V", supply.high, "in the dark sees")

    def remark(self, x: Point, key: str, mode: str) -> str:
        if key == "sensor":
            return "the device sees night for ever" if mode == "open" else "the device sees day for ever"
        return ""

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        part: Part = inputs["sensor"]
        supply = inputs["supply"]
        found = []
        gamma = part.extras.get("gamma")
        if gamma is None:
            found.append(("sensor", f"{part.text} has no gamma", f"such as {part.text} gamma0.7"))
        elif not 0.1 <= gamma.low <= gamma.high <= 2:
            found.append(
                ("sensor", f"gamma {gamma.text} is no gamma of a photoresistor", "0.5 to 1, such as gamma0.7")
            )
        for name, (key, given) in (inputs["cut_points"] or {}).items():
            if key == "output" and not 0 < given.low <= given.high < supply.middle:
                found.append(
                    (
                        "cut_points",
                        f"{name}: the tap never comes to {given.text}",
                        f"it lies between 0 and {supply.text}",
                    )
                )
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """The photoresistor stands in the light that the state says, 10 lux where it says nothing."""
        w.supply("supply", "supply")
        upper, lower = ("sensor", "fixed") if block.point.sensor_side == "upper" else ("fixed", "sensor")
        ohms = {"fixed": None, "sensor": lambda x: _sensor(x, w.light)}
        w.resistor(upper, "supply", "tap", ohms[upper])
        w.resistor(lower, "tap", "common", ohms[lower])
        w.same("pin", "tap")
        for value, lux in (("dark_output", DARK), ("bright_output", BRIGHT)):
            w.volts(value, "tap", put=(("sensor", "ohms", _sensor(block.point, lux)),))

    def draw(self, block: Block, sheet: Sheet) -> None:
        at_tap = (
            at_tap_line(block, "dark_output", "dark")
            + at_tap_line(block, "bright_output", "bright")
            + cut_lines(block, "output")
        )
        draw_sensor_divider(block, sheet, "sensor", "photoresistor", str(block.point.sensor_side), at_tap)

    def plot(self, block: Block) -> curves.Diagram | None:
        """The tap's voltage (V) over illuminance (lux, in decades), with the cut points on it."""
        x, supply = block.point, block.point.supply
        marks = curves.cut_marks(block.point.cuts, block.values, "illuminance")
        lux = [e for m in marks for e in (m.x, m.x_high) if not math.isnan(e)]
        low, high = min([DARK, *lux]), max([BRIGHT, *lux])
        if not low > 0:
            return None

        def output(illuminance: float) -> float:
            sensor = photoresistance(r10=x.sensor, gamma=x.sensor_gamma, illuminance=illuminance)
            upper, lower = (x.fixed, sensor) if x.sensor_side == "lower" else (sensor, x.fixed)
            return tap_voltage(supply=supply, upper=upper, lower=lower)

        curve = curves.Curve("output", curves.points(output, curves.spaced(low, high, log=True)))
        return curves.Diagram(
            "output over light",
            ("light", "lux", low, high),
            ("output", "V", 0.0, supply),
            (curve,),
            marks,
            log=True,
        )
