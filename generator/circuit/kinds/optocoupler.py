"""Optocoupler: an LED that switches a transistor across an insulating gap."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Formula, Kind, Point, Solved, Value
from generator.circuit.labels import computed
from generator.circuit.network import Wiring
from generator.circuit.network.element import exact
from generator.circuit.network.passive import NONE, Resistor
from generator.circuit.placing import across, down
from generator.circuit.ratings import rating, within, worth_saying
from generator.circuit.says import _, measured, number
from generator.circuit.sheet import At, Line, Sheet

OHM = "Ohm's law"
CTR = "definition of the current transfer ratio in optocoupler data sheets"
LARGEST_RATIO = 20.0  # beyond 2000 % only with the sign behind it: more likely a forgotten %
MOST_LED_CURRENT = 0.05  # A; the usual absolute limit of small couplers' LEDs, from memory
AGED = 2.0  # what is left over for an LED that has lost half its light; common practice, no source


def _input_heat(block: Block) -> Iterator[Check]:
    """The LED's resistor at the worst: the most across it, squared, over the least resistance."""
    supply, forward, resistor = (block.quantity(n) for n in ("input_supply", "forward", "input_resistor"))
    if supply and forward and resistor:
        watts = max(0.0, supply.high - forward.low) ** 2 / resistor.low
        yield from rating(block, "input_resistor", "W", watts, "dissipates")


def _pull_up_heat(block: Block) -> Iterator[Check]:
    supply, resistor = block.quantity("output_supply"), block.quantity("pull_up")
    if supply and resistor:
        yield from rating(block, "pull_up", "W", supply.high**2 / resistor.low, "dissipates, while low,")


def ratio(x: Point) -> float:
    """The current transfer ratio as a share, stated by itself or with the part."""
    return float(x.ctr if x.ctr is not None else x.optocoupler_ctr)


def _led_formula(x: Point) -> Formula:
    """Amperes in the LED where it conducts: what its resistor passes, less what the one across it takes."""
    drained = " − forward/across_led" if x.across_led is not None else ""
    return Formula(f"(input_supply − forward)/input_resistor{drained}")


class Optocoupler(Kind):
    title = "Optocoupler"
    group = "Sensing"
    isolates = True
    what = "An LED that switches a transistor across an insulating gap: a signal from one side to the other."
    assumes = "The transfer ratio is the same at every current. Nothing else loads the output."
    terminals = ("input", "input_common", "output_supply", "out", "common")

    input_supply = param.Quantity("V", "what drives the LED and its resistor")
    input_resistor = param.Part("resistor", "the resistor before the LED")
    forward = param.Quantity("V", "forward voltage of the LED", default="1.2 V", spread="led")
    ctr = param.Quantity(
        "", "current transfer ratio: collector current over LED current", default=None, spread="ctr"
    )
    output_supply = param.Quantity("V", "the supply of the transistor's side")
    pull_up = param.Part("resistor", "the resistor from there to the collector", role="pull-up")
    optocoupler = param.Part(
        "optocoupler", "the coupler, which may state its ratio, such as U3 ctr100", default=None, modes=()
    )
    across_led = param.Part("resistor", "across the LED", default=None, role="resistor across the LED")
    capacitor = param.Part(
        "capacitor", "from the output to its common", default=None, role="output capacitor"
    )
    saturation = param.Quantity(
        "V",
        "what a conducting transistor leaves across itself",
        default="0.2 V",
        zero=True,
        spread="saturation",
    )

    values = (
        Value("led_current", "A", "through the LED", "(input_supply − forward)/input_resistor", OHM,
              at="across the input resistor, divided by its value, less what a resistor across the LED takes"),
        Value("available_current", "A", "what the transistor can carry", "ctr·led_current", CTR,
              at="an ammeter in place of the pull-up, LED lit"),
        Value("needed_current", "A", "what pulls the output all the way down",
              "(output_supply − saturation)/pull_up", OHM),
        Value("saturation_margin", "", "available over needed; below 1 the output does not come down",
              "available_current/needed_current", CTR),
        Value("release_time_constant", "s", "how slowly the output rises as the LED goes dark",
              "pull_up·capacitor", "time constant of a resistor and a capacitor",
              at="at the output, oscilloscope"),
        Value("output", "V", "at the collector with the LED lit", "saturation", OHM,
              at="collector to emitter, LED lit"),
    )  # fmt: skip
    extra_parts = (
        ExtraPart("led", "led", "coupler LED"),
        ExtraPart("transistor", "transistor", "coupler transistor"),
    )
    remarks = {
        ("across_led", "open"): "stray currents may light the LED",
        ("capacitor", "short"): "the output is held at 0 V",
        ("capacitor", ""): "the output follows faster, with more noise",
        ("led", ""): "the LED stays dark, the output high",
        ("transistor", "short"): "the output stays low",
        ("transistor", "open"): "the output stays high",
        ("input_resistor", "open"): "the LED stays dark, the output high",
        ("pull_up", "open"): "nothing lifts the output: it stays low",
    }
    example = {
        "input_supply": "12 V", "input_resistor": "R12 2k2", "ctr": "80 %", "output_supply": "5 V",
        "pull_up": "R8 4k7",
    }  # fmt: skip

    def solve(self, x: Point) -> Solved:
        led, transistor = x.failed("led"), x.failed("transistor")
        found: dict[str, float | Formula | None] = {"forward": 0.0 if led == "short" else x.forward}
        if x.ctr is None:
            found["ctr"] = Formula("optocoupler_ctr")
        lit = _led_formula(x)
        if (
            led == "open"
            or x.input_supply <= found["forward"]
            or lit.of(x.changed(forward=found["forward"])) <= 0
        ):
            found["led_current"] = Formula("0")
        elif x.across_led is not None:
            found["led_current"] = lit
        if x.failed("capacitor") == "short":
            found |= {"output": 0.0, "release_time_constant": None}
        elif math.isinf(x.pull_up):
            found["release_time_constant"] = None
        if led or transistor:
            found["available_current"] = 0.0 if transistor != "short" else None
        if transistor == "short":
            found |= {"output": 0.0, "saturation_margin": None}
        available = 0.0 if led or transistor else max(0.0, ratio(x) * lit.of(x))
        if math.isinf(x.pull_up):
            found |= {"needed_current": 0.0, "saturation_margin": None, "output": 0.0}
        elif x.output_supply <= x.saturation:
            found |= {"needed_current": Formula("0"), "saturation_margin": None}
            found.setdefault("output", Formula("output_supply"))
        elif available < self.formula("needed_current").of(x):
            found.setdefault("output", Formula("output_supply − available_current·pull_up"))
        return found

    def checks(self, block: Block) -> list[Check]:
        if block.high("led_current") == 0:
            return [Check("coupler LED", "stays dark: the input supply is below its forward voltage", False)]
        found = [
            within("coupler LED", MOST_LED_CURRENT, block.high("led_current"), "A", "carries", "usual limit")
        ]
        if "saturation_margin" in block.values:
            share = block.low("saturation_margin")
            text = _("delivers %(share)s times what the pull-up needs, needs 1")
            if share < 1:
                text = _(
                    "does not pull down: delivers %(share)s times what the pull-up needs, needs 1; the output may stay at %(volts)s"
                )
            text %= {"share": measured(share, ""), "volts": measured(block.high("output"), "V")}
            found.append(Check("optocoupler", text, share >= 1, share - 1, least=True))
            if 1 <= share < AGED:
                found.append(
                    worth_saying("optocoupler", "little is left for an LED that loses light with age")
                )
        return [*found, *_input_heat(block), *_pull_up_heat(block)]

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        stated, part = given["ctr"], given["optocoupler"]
        if stated is None and (part is None or "ctr" not in part.extras):
            return [("ctr", "is not stated", "a share: 80 %, or with the part: U3 ctr80")]
        if stated is not None and stated.high > LARGEST_RATIO and "%" not in stated.text:
            return [("ctr", f"{stated.text} is {stated.middle * 100:.0f} %", "a share: 80 % or 0.8")]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """The LED behind its resistor on one side, the transistor below its pull-up on the other.

        What opens or shorts the LED lies in its lead and beside it, since the coupler is one element.
        """
        w.supply("input_supply", "input", "input_common")
        w.supply("output_supply", "output_supply")
        w.resistor("input_resistor", "input", "_lead")
        w.add(Resistor(**w.who("led"), a="_lead", b="_anode", ohms=exact(0.0)))
        w.add(
            Resistor(**{**w.who("led"), "name": w.net("led beside")}, a="_anode", b="input_common", ohms=NONE)
        )
        w.resistor("across_led", "_lead", "input_common")
        w.capacitor("capacitor", "out", "common")
        w.resistor("pull_up", "output_supply", "out")
        w.coupler(
            "transistor", "_anode", "input_common", "out", "common", ctr=ratio, forward="forward",
            at=max(block.solved["led_current"], 1e-4),
            saturated=lambda x: x.saturation / max(block.solved["needed_current"], 1e-6),
        )  # fmt: skip
        w.common("input_common")
        w.volts("output", "out")
        w.amps("led_current", "led")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """LED side on the left, transistor side on the right, each with a common of its own."""
        part = block.part("optocoupler")
        label = [Line(part.designator, "d")] if part and part.designator else []
        label.append(Line(number(f"CTR {ratio(block.point) * 100:.3g} %")))
        coupler = sheet.device("optocoupler", 2, 1, "anode", label, label_above=True)
        cathode, collector, emitter = (coupler[n] for n in ("cathode", "collector", "emitter"))
        sheet.port(0, 1, [Line("input", "r"), *computed(block, "input_supply")])
        across(block, sheet, "input_resistor", 1, 0, 1)
        sheet.across("current", 1, 1, 2, computed(block, "led_current"))
        if block.has("across_led"):
            down(block, sheet, "across_led", 1, 1, 2, left=True)
            sheet.dot((1, 1), (1, 2))
        sheet.wire(cathode, At(cathode.column, 2, cathode.dx - 10), (0, 2))
        sheet.port(0, 2, [Line("input common", "r")])
        down(block, sheet, "pull_up", 3, 0, 1)
        sheet.wire(collector, (3, 1))
        last = 4
        if block.has("capacitor"):
            down(block, sheet, "capacitor", 4, 1, 2)
            sheet.dot((4, 1), (4, 2))
            last = 5
        sheet.wire((3, 1), (last, 1))
        sheet.wire((3, 0), (last, 0))
        sheet.wire(emitter, At(emitter.column, 2, emitter.dx + 10), (last, 2))
        sheet.dot((3, 1))
        sheet.port(last, 0, [Line("supply", "r"), *computed(block, "output_supply")], right=True)
        sheet.port(last, 1, [Line("LED lit", "r"), *computed(block, "output")], right=True)
        sheet.port(last, 2, [Line("0 V", "r")], right=True)
