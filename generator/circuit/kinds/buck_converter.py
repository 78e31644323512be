"""A step-down converter: a switch, a diode and an inductor make a lower voltage from a higher one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from generator.circuit import curves, param
from generator.circuit.block import (
    STATED,
    Block,
    Check,
    ExtraPart,
    Formula,
    Found,
    Kind,
    Point,
    Solved,
    Value,
    Variant,
)
from generator.circuit.converter import (
    IDEAL,
    TRIANGLE,
    amperes,
    converter_ratings,
    draw_output,
    inductor_current,
    regime_remark,
    wire_converted,
)
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network.passive import NONE, Resistor
from generator.circuit.ratings import at_least
from generator.circuit.sheet import Line, Sheet

if TYPE_CHECKING:
    from generator.circuit.network.wiring import Wiring

DEAD = ("output_voltage", "ripple_current", "peak_current", "input_current", "ripple", "esr_ripple")


def _continuous() -> Found:
    """The inductor's current never reaches zero: the duty follows from the voltages alone."""
    return {
        "duty": STATED, "ripple_current": STATED, "peak_current": STATED,
        "input_current": STATED,
    }  # fmt: skip


def _discontinuous() -> Found:
    """The inductor runs empty in each period: the duty follows from the load."""
    return {
        "duty": Formula("√(2·LF·I·w/(u·(u + w)))"), "ripple_current": STATED, "peak_current": Formula("ripple_current"),
        "input_current": Formula("duty·peak_current/2"),
    }  # fmt: skip


def _straight_through(x: Point, formula: str, volts: float) -> Found:
    """The switch is on all the time: what comes in goes out, without ripple."""
    found: Found = {"I": amperes(x, volts), "output_voltage": Formula(formula), "ripple_current": 0.0}
    found |= {"peak_current": Formula("I"), "input_current": Formula("I")}
    if x.capacitor:
        found["ripple"] = 0.0
    if x.esr is not None:
        found["esr_ripple"] = 0.0
    return found


_SCOPE = "switch pin to common, oscilloscope"


class BuckConverter(Kind):
    title = "Buck converter"
    group = "Power"
    what = "A step-down switching converter: a switch, a diode and an inductor make a lower voltage from a higher one."
    assumes = (
        "Switch and diode drop the same at any current, and the chip's own consumption and switching losses are left out, so "
        "that the real input current is a little higher. Inductance, frequency and the regulated output are exact unless "
        "they state a tolerance."
    )
    terminals = ("in", "out", "common")

    input = param.Quantity("V", "what comes in")
    output = param.Quantity("V", "the voltage that it regulates to", spread="regulator")
    load = param.Load("what draws from the output: a current or a resistor", modes=())
    inductor = param.Part("inductor", "the inductor, such as L1 47u 3A")
    frequency = param.Quantity("Hz", "at which it switches")
    diode_drop = param.Quantity(
        "V",
        "forward voltage of the diode; 0 for a synchronous switch",
        default="0.5 V",
        zero=True,
        spread="schottky",
    )
    switch_drop = param.Quantity("V", "what the closed switch drops", default="0 V", zero=True)
    capacitor = param.Part("capacitor", "the output capacitor", default=None, role="output capacitor")
    esr = param.Quantity("ohm", "its series resistance", default=None, zero=True)
    chip = param.Part(
        "chip", "the chip with the switch in it, such as U3 40V 3A", default=None, role="switch", modes=()
    )
    diode = param.Part("diode", "the diode", default=None, role="diode", modes=())

    values = (
        Value("output_voltage", "V", "DC at the output", "output", IDEAL, at="output to common"),
        Value("boundary_load", "A", "the load below which the inductor runs empty in each period", "u·w/((u + w)·2·LF)", IDEAL,
              measurable=False, interior=True),
        Value("duty", "", "share of each period in which the switch is closed", "w/(u + w)", IDEAL, at=_SCOPE),
        Value("ripple_current", "A", "peak-to-peak in the inductor", "u·duty/LF", IDEAL, measurable=False, interior=True),
        Value("peak_current", "A", "the highest in inductor and switch", "I + ripple_current/2", IDEAL, measurable=False, interior=True),
        Value("input_current", "A", "mean drawn from the input", "duty·I", "charge balance", at="in series with the input"),
        Value("ripple", "V", "peak-to-peak at the output, by the capacitance", "inductor·(peak_current − I)²·(1/u + 1/w)/(2·capacitor)",
              TRIANGLE, at="across the output capacitor, oscilloscope", interior=True, wave="peak to peak"),
        Value("esr_ripple", "V", "peak-to-peak at the output, by the series resistance", "esr·ripple_current", "Ohm's law",
              at="across the output capacitor, oscilloscope", interior=True),
    )  # fmt: skip
    helper_units = {"u": "V", "w": "V", "LF": "ohm", "I": "A"}
    extra_parts = (
        ExtraPart("chip", "chip", "switch", named_by="chip"),
        ExtraPart("diode", "diode", "diode", named_by="diode"),
    )
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
        Variant("a synchronous chip, resistor as load", {"load": "R9 4R7", "chip": "", "diode": ""}),
    )

    def solve(self, x: Point) -> Solved:
        return self.only(self._found(x))

    def _found(self, x: Point) -> Found:
        dead = (
            x.failed("chip") == "open" or x.failed("inductor") == "open" or x.failed("diode") != ""
            or x.failed("capacitor") == "short"
        )  # fmt: skip
        if dead:
            return dict.fromkeys(DEAD, 0.0)
        if x.failed("chip") == "short":
            return {**_straight_through(x, "input", x.input), "duty": 1.0}
        u, w = x.input - x.switch_drop - x.output, x.output + x.diode_drop
        if u <= 0:
            return {
                **_straight_through(x, "max(input − switch_drop, 0)", max(0.0, x.input - x.switch_drop)),
                "duty": 1.0,
            }
        drawn = amperes(x, x.output)
        named = {
            "u": Formula("input − switch_drop − output"),
            "w": Formula("output + diode_drop"),
            "LF": Formula("inductor·frequency"),
        }
        boundary = u * w / ((u + w) * 2 * x.inductor * x.frequency)
        found: Found = {
            **named, "I": drawn, "output_voltage": STATED, "boundary_load": STATED,
            **(_continuous() if drawn >= boundary else _discontinuous()),
        }  # fmt: skip
        if x.capacitor:
            found["ripple"] = STATED
        if x.esr is not None:
            found["esr_ripple"] = STATED
        return found

    def checks(self, block: Block) -> list[Check]:
        given, output = block.quantity("input"), block.quantity("output")
        assert given is not None and output is not None
        drop = block.quantity("switch_drop")
        needed = output.high + (drop.high if drop else 0.0)
        found = [at_least(block.label("chip"), needed, given.low, "V", "input, for it to regulate,")]
        found += regime_remark(block, block.label("inductor"))
        return found + converter_ratings(block, switch=given.high, diode=given.high)

    def wire(self, block: Block, w: Wiring) -> None:
        """The regulated output through switch and inductor; a shorted switch joins the input to it."""
        w.supply("input", "in")
        wire_converted(block, w, ("chip", "inductor", "diode"), "input_current")
        w.add(Resistor(**w.who("chip"), a="in", b="out", ohms=NONE))

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Input and switch on the left, the diode at the switched node, the inductor to the output on the right."""
        sheet.port(
            0, 0, [Line("input", "r"), *computed(block, "input"), *named(block, "input_current", "takes")]
        )
        chip = block.part("chip")
        title = [Line(chip.designator, "d") if chip and chip.designator else Line("switch", "r")]
        title += [Line(chip.ratings_label)] if chip else []
        pins = sheet.box(1, 0, 1, [*title, *computed(block, "frequency"), *computed(block, "duty")], left={0: "in"},
                         right={0: "switch"}, bottom="common")  # fmt: skip
        sheet.wire((0, 0), pins["left 0"])
        sheet.wire(pins["right 0"], (2, 0))
        sheet.wire(pins["bottom"], (1, 2))
        sheet.wire((0, 2), (3, 2))
        sheet.port(0, 2, [Line("0 V", "r")])
        sheet.down("diode", 2, 0, 2, part_label(block, "diode"), reverse=True, segment=(0, 1))
        sheet.dot((2, 0), (2, 2), (1, 2))
        sheet.across(
            "inductor", 0, 2, 3, [*part_label(block, "inductor"), *named(block, "peak_current", "peak")]
        )
        sheet.tag(3, *computed(block, "output_voltage"))
        draw_output(block, sheet, 3, 2)

    def dangerous(self, x: Point) -> set[tuple[str, str]]:
        return {("chip", "short")}

    def plot(self, block: Block) -> curves.Diagram | None:
        return inductor_current(block)
