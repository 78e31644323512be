"""A step-down converter: a switch, a diode and an inductor make a lower voltage from a higher one."""

from __future__ import annotations

from generator.circuit import converter
from generator.circuit.block import Block, Check, Formula, Found, Point, Value, Variant
from generator.circuit.diodes import sort_of
from generator.circuit.labels import part_label
from generator.circuit.network import Wiring
from generator.circuit.network.passive import NONE, Resistor
from generator.circuit.ratings import at_least, highest
from generator.circuit.sheet import Line, Sheet


class BuckConverter(converter.Converter):
    title = "Buck converter"
    what = "A step-down switching converter: a switch, a diode and an inductor make a lower voltage from a higher one."

    values = (
        Value("output_voltage", "V", "DC at the output", "output", converter.IDEAL, at="output to common"),
        Value("boundary_load", "A", "the load below which the inductor runs empty in each period", "u·w/((u + w)·2·LF)", converter.IDEAL, interior=True),
        Value("duty", "", "share of each period in which the switch is closed", "w/(u + w)", converter.IDEAL, at=converter.SCOPE),
        Value("ripple_current", "A", "peak-to-peak in the inductor", "u·duty/LF", converter.IDEAL, interior=True),
        Value("peak_current", "A", "the highest in inductor and switch", "I + ripple_current/2", converter.IDEAL, interior=True),
        Value("input_current", "A", "mean drawn from the input", "duty·I", "charge balance", at="in series with the input"),
        Value("ripple", "V", "peak-to-peak at the output, by the capacitance", "inductor·(peak_current − I)²·(1/u + 1/w)/(2·capacitor)",
              converter.TRIANGLE, at="across the output capacitor, oscilloscope", interior=True, wave="peak to peak"),
        Value("esr_ripple", "V", "peak-to-peak at the output, by the series resistance", "esr·ripple_current", "Ohm's law",
              at="across the output capacitor, oscilloscope", interior=True),
    )  # fmt: skip
    danger = {("chip", "short")}
    remarks = {
    ("chip", "short"): "the whole input goes to the output and destroys what it feeds",
    ("chip", "open"): "nothing comes out",
    ("inductor", "open"): "nothing comes out",
    ("diode", "open"): "at switch-off the inductor's current has no path: the spike destroys the switch, shorted or open; shown as open",
    ("diode", "short"): "the switch feeds a short: the chip limits, or dies",
    ("capacitor", "open"): "the inductor's whole ripple stands at the output; the chip's control becomes unstable",
    ("capacitor", "short"): "the output is held at 0 V; the chip limits, or gets very hot",
    ("capacitor", "low"): "more ripple",
}  # fmt: skip
    example = {
        "input": "24 V", "output": "5 V", "load": "2 A", "inductor": "L1 47u 3A", "frequency": "150 kHz",
        "capacitor": "C8 220u 16V", "esr": "60 mohm", "chip": "U3 40V 3A", "diode": "D5 40V 3A",
    }  # fmt: skip
    variants = (
        Variant("light load: discontinuous current", {"load": "50 mA"}),
        Variant("a synchronous chip, resistor as load", {"load": "R9 4R7", "chip": "", "diode": "",
            "diode_drop": "0"}),
    )  # fmt: skip

    rises = Formula("input − switch_drop − output")
    falls = Formula("output + diode_drop")
    runs_empty = {"duty": Formula("√(2·LF·I·w/(u·(u + w)))"), "input_current": Formula("duty·peak_current/2")}
    fatal = "open"

    def straight_through(self, x: Point) -> Found:
        """The switch shorted, or closed all the time because the input is too low."""
        if x.failed("chip") == "short":
            return {"output_voltage": Formula("input"), "duty": 1.0}
        if self.rises.of(x) <= 0:
            return {"output_voltage": Formula("max(input − switch_drop, 0)"), "duty": 1.0}
        return {}

    def checks(self, block: Block) -> list[Check]:
        given, output = block.given("input"), block.given("output")
        needed = output.high + highest(block, "switch_drop")
        found = [at_least(block.label("chip"), needed, given.low, "V", "input, for it to regulate,")]
        found += converter.regime_remark(block, block.label("inductor"))
        return found + converter.converter_ratings(block, switch=given.high, diode=given.high)

    def wire(self, block: Block, w: Wiring) -> None:
        """The regulated output through switch and inductor; a shorted switch joins the input to it."""
        w.supply("input", "in")
        w.diode(
            "diode",
            "common",
            "_switch",
            forward="diode_drop",
            sort=sort_of(block.point.diode_drop),
            at=1.0,
            required=False,
        )
        converter.wire_inductor(w, "_switch", "out")
        w.add(Resistor(**w.who("chip"), a="in", b="_switch", ohms=NONE))
        converter.wire_converted(block, w, ("chip", "inductor", "diode"), "input_current")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Input and switch on the left, the diode at the switched node, the inductor to the output on the right."""
        converter.input_port(block, sheet)
        pins = sheet.box(1, 0, 1, converter.switch_title(block), left={0: "in"},
                         right={0: "switch"}, bottom="common")  # fmt: skip
        sheet.wire((0, 0), pins["left 0"])
        sheet.wire(pins["right 0"], (2, 0))
        sheet.wire(pins["bottom"], (1, 2))
        sheet.wire((0, 2), (3, 2))
        sheet.port(0, 2, [Line("0 V", "r")])
        sheet.dot((1, 2))
        if block.point.diode_drop or block.part("diode"):  # else the second switch is in the chip
            sheet.down(
                converter.diode_word(block), 2, 0, 2, part_label(block, "diode"), reverse=True, segment=(0, 1)
            )
            sheet.dot((2, 0), (2, 2))
        sheet.across("inductor", 0, 2, 3, converter.inductor_label(block))
        converter.draw_output(block, sheet, 3, (0, 2), segment=(0, 1))
