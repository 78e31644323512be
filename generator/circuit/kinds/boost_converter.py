"""A step-up converter: an inductor, a switch and a diode make a higher voltage from a lower one."""

from __future__ import annotations

from generator.circuit import converter
from generator.circuit.block import STATED, Block, Check, Formula, Found, Point, Value, Variant
from generator.circuit.diodes import sort_of
from generator.circuit.labels import part_label
from generator.circuit.network import Wiring
from generator.circuit.network.passive import NONE, Resistor
from generator.circuit.ratings import at_least
from generator.circuit.sheet import Line, Sheet


class BoostConverter(converter.Converter):
    title = "Boost converter"
    what = "A step-up switching converter: an inductor, a switch and a diode make a higher voltage from a lower one."

    values = (
        Value("output_voltage", "V", "DC at the output", "output", converter.IDEAL, at="output to common"),
        Value("boundary_load", "A", "the load below which the inductor runs empty in each period", "u²·w/((u + w)²·2·LF)", converter.IDEAL, interior=True),
        Value("duty", "", "share of each period in which the switch is closed", "w/(u + w)", converter.IDEAL, at=converter.SCOPE),
        Value("ripple_current", "A", "peak-to-peak in the inductor", "u·duty/LF", converter.IDEAL, interior=True),
        Value("input_current", "A", "mean drawn from the input", "I/(1 − duty)", "charge balance", at="in series with the input"),
        Value("peak_current", "A", "the highest in inductor and switch", "input_current + ripple_current/2", converter.IDEAL,
              interior=True),
        Value("switch_voltage", "V", "across the open switch", "output + diode_drop", converter.IDEAL, at=converter.SCOPE),
        Value("ripple", "V", "peak-to-peak at the output, by the capacitance", "I·duty/(frequency·capacitor)", converter.TRIANGLE,
              at="across the output capacitor, oscilloscope", interior=True, wave="peak to peak"),
        Value("esr_ripple", "V", "peak-to-peak at the output, by the series resistance, in which the diode's current jumps up to "
              "the peak", "esr·peak_current", "Ohm's law", at="across the output capacitor, oscilloscope", interior=True),
    )  # fmt: skip
    remarks = {
    ("chip", "open"): "the input passes through inductor and diode: a little less than the input comes out",
    ("chip", "short"): "the inductor lies across the input: the fuse blows",
    ("inductor", "open"): "nothing comes out",
    ("diode", "open"): "nothing comes out, and at switch-off the spike kills the chip",
    ("diode", "short"): "the switch discharges the output capacitor in each period: the chip limits, or dies",
    ("capacitor", "open"): "the output stands in bursts, high enough to kill chip and diode",
    ("capacitor", "short"): "the input feeds the short through inductor and diode: the fuse blows",
    ("capacitor", "low"): "more ripple",
}  # fmt: skip
    example = {
        "input": "3.7 V", "output": "12 V", "load": "200 mA", "inductor": "L1 22u 2A", "frequency": "300 kHz",
        "capacitor": "C5 47u 25V", "esr": "80 mohm", "chip": "U4 28V 2A", "diode": "D2 40V 1A",
    }  # fmt: skip
    variants = (
        Variant("light load: discontinuous current", {"load": "10 mA"}),
        Variant("resistor as load", {"load": "R9 100", "chip": "", "diode": ""}),
    )

    rises = Formula("input − switch_drop")
    falls = Formula("output + diode_drop − input")
    runs_empty = {"duty": Formula("√(2·LF·I·w)/u"), "input_current": Formula("duty·(1 + u/w)·peak_current/2")}
    fatal = "short"

    def straight_through(self, x: Point) -> Found:
        """The switch stays open: the input goes through inductor and diode."""
        if x.failed("chip") != "open" and self.falls.of(x) > 0:
            return {}
        passed = Formula("max(input − diode_drop, 0)")
        return {"output_voltage": passed, "duty": 0.0, "switch_voltage": Formula("input")}

    def further(self, x: Point, drawn: float, continuous: bool) -> Found:
        """The diode feeds the output in bursts: where they end below the load's current, the ripple is another triangle."""
        u, w = self.rises.of(x), self.falls.of(x)
        swing = u * w / (u + w) / (x.inductor * x.frequency)
        found: Found = {"switch_voltage": STATED}
        if not continuous or drawn * (u + w) / u - swing / 2 < drawn:
            found["ripple"] = Formula("inductor·(peak_current − I)²/(2·w·capacitor)")
        return found

    def checks(self, block: Block) -> list[Check]:
        given, output, drop = (block.quantity(name) for name in ("input", "output", "diode_drop"))
        assert given is not None and output is not None
        highest = output.low + (drop.low if drop else 0.0)
        boosts = at_least(
            block.label("chip"), given.high, highest, "V", "output with the diode's drop", "boosts only above"
        )
        found = [boosts, *converter.regime_remark(block, block.label("inductor"))]
        holds = block.high("switch_voltage")
        return found + converter.converter_ratings(block, switch=holds, diode=block.high("output_voltage"))

    def wire(self, block: Block, w: Wiring) -> None:
        """The regulated output; without it the input comes through inductor and diode."""
        w.supply("input", "in")
        converter.wire_inductor(w, "in", "_switch")
        chip = w.who("chip")
        w.add(Resistor(**{**chip, "name": f"{chip['name']} beside"}, a="_switch", b="common", ohms=NONE))
        w.diode("diode", "_switch", "out", forward="diode_drop", sort=sort_of(block.point.diode_drop), at=1.0)
        converter.wire_converted(block, w, ("chip", "inductor", "diode"), "input_current")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Input and inductor on the left, the switch below the switched node, the diode to the output on the right."""
        converter.input_port(block, sheet)
        sheet.across("inductor", 0, 0, 1, converter.inductor_label(block))
        pins = sheet.box(2, 1, 2, converter.switch_title(block), left={1: "switch"},
                         bottom="common")  # fmt: skip
        sheet.wire((1, 0), (1, 1), pins["left 1"])
        sheet.wire(pins["bottom"], (2, 3))
        sheet.across(converter.diode_word(block), 0, 1, 3, part_label(block, "diode"))
        sheet.wire((0, 3), (3, 3))
        sheet.port(0, 3, [Line("0 V", "r")])
        sheet.dot((1, 0), (2, 3))
        converter.draw_output(block, sheet, 3, (0, 3), segment=(0, 1))
