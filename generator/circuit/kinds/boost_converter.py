"""A step-up converter: an inductor, a switch and a diode make a higher voltage from a lower one."""

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
from generator.circuit.network.element import exact
from generator.circuit.network.passive import NONE, Resistor
from generator.circuit.ratings import at_least
from generator.circuit.sheet import Line, Sheet

if TYPE_CHECKING:
    from generator.circuit.network.wiring import Wiring

DEAD = ("output_voltage", "ripple_current", "peak_current", "input_current", "ripple", "esr_ripple")


def _continuous() -> Found:
    """The inductor's current never reaches zero: the duty follows from the voltages alone."""
    return {
        "duty": STATED, "ripple_current": STATED, "input_current": STATED,
        "peak_current": STATED,
    }  # fmt: skip


def _discontinuous() -> Found:
    """The inductor runs empty in each period: the duty follows from the load."""
    return {
        "duty": Formula("√(2·LF·I·w)/u"), "ripple_current": STATED, "peak_current": Formula("ripple_current"),
        "input_current": Formula("duty·(1 + u/w)·peak_current/2"),
    }  # fmt: skip


def _straight_through(x: Point) -> Found:
    """The switch stays open: the input goes through inductor and diode, without ripple."""
    volts = max(0.0, x.input - x.diode_drop)
    found: Found = {
        "I": amperes(x, volts), "output_voltage": Formula("max(input − diode_drop, 0)"), "duty": 0.0, "ripple_current": 0.0,
        "peak_current": Formula("I"), "input_current": Formula("I"), "switch_voltage": Formula("input"),
    }  # fmt: skip
    if x.capacitor:
        found["ripple"] = 0.0
    if x.esr is not None:
        found["esr_ripple"] = 0.0
    return found


_SCOPE = "switch pin to common, oscilloscope"


class BoostConverter(Kind):
    title = "Boost converter"
    group = "Power"
    what = "A step-up switching converter: an inductor, a switch and a diode make a higher voltage from a lower one."
    assumes = (
        "Switch and diode drop the same at any current, and the chip's own consumption and switching losses are left out, so "
        "that the real input current is a little higher. Inductance, frequency and the regulated output are exact unless "
        "they state a tolerance."
    )
    terminals = ("in", "out", "common")

    input = param.Quantity("V", "what comes in")
    output = param.Quantity("V", "the voltage that it regulates to", spread="regulator")
    load = param.Load("what draws from the output: a current or a resistor", modes=())
    inductor = param.Part("inductor", "the inductor, such as L1 22u 2A")
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
        Value("boundary_load", "A", "the load below which the inductor runs empty in each period", "u²·w/((u + w)²·2·LF)", IDEAL,
              measurable=False, interior=True),
        Value("duty", "", "share of each period in which the switch is closed", "w/(u + w)", IDEAL, at=_SCOPE),
        Value("ripple_current", "A", "peak-to-peak in the inductor", "u·duty/LF", IDEAL, measurable=False, interior=True),
        Value("input_current", "A", "mean drawn from the input", "I/(1 − duty)", "charge balance", at="in series with the input"),
        Value("peak_current", "A", "the highest in inductor and switch", "input_current + ripple_current/2", IDEAL, measurable=False,
              interior=True),
        Value("switch_voltage", "V", "across the open switch", "output + diode_drop", IDEAL, at=_SCOPE),
        Value("ripple", "V", "peak-to-peak at the output, by the capacitance", "I·duty/(frequency·capacitor)", TRIANGLE,
              at="across the output capacitor, oscilloscope", interior=True, wave="peak to peak"),
        Value("esr_ripple", "V", "peak-to-peak at the output, by the series resistance, in which the diode's current jumps up to "
              "the peak", "esr·peak_current", "Ohm's law", at="across the output capacitor, oscilloscope", interior=True),
    )  # fmt: skip
    helper_units = {"u": "V", "w": "V", "LF": "ohm", "I": "A"}
    extra_parts = (
        ExtraPart("chip", "chip", "switch", named_by="chip"),
        ExtraPart("diode", "diode", "diode", named_by="diode"),
    )
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

    def solve(self, x: Point) -> Solved:
        return self.only(self._found(x))

    def _found(self, x: Point) -> Found:
        dead = (
            x.failed("chip") == "short" or x.failed("inductor") == "open" or x.failed("diode") == "open"
            or x.failed("capacitor") == "short"
        )  # fmt: skip
        if dead:
            return dict.fromkeys(DEAD, 0.0)
        if (
            x.failed("diode") == "short"
        ):  # the switch shorts the output capacitor in each period: the fuse or the chip gives up
            return dict.fromkeys(DEAD, 0.0)
        w = x.output + x.diode_drop - x.input
        if w <= 0 or x.failed("chip") == "open":
            return _straight_through(x)
        u = x.input - x.switch_drop
        if u <= 0:
            return dict.fromkeys(DEAD, 0.0)
        drawn = amperes(x, x.output)
        lf = x.inductor * x.frequency
        boundary = u * u * w / ((u + w) ** 2 * 2 * lf)
        continuous = drawn >= boundary
        found: Found = {
            "u": Formula("input − switch_drop"), "w": Formula("output + diode_drop − input"), "LF": Formula("inductor·frequency"), "I": drawn,
            "output_voltage": STATED, "boundary_load": STATED, "switch_voltage": STATED,
            **(_continuous() if continuous else _discontinuous()),
        }  # fmt: skip
        if x.capacitor:
            swing = u * w / (u + w) / lf
            dips = not continuous or drawn * (u + w) / u - swing / 2 < drawn
            burst = Formula("inductor·(peak_current − I)²/(2·w·capacitor)")
            found["ripple"] = burst if dips else STATED
        if x.esr is not None:
            found["esr_ripple"] = STATED
        return found

    def checks(self, block: Block) -> list[Check]:
        given, output, drop = (block.quantity(name) for name in ("input", "output", "diode_drop"))
        assert given is not None and output is not None
        highest = output.low + (drop.low if drop else 0.0)
        boosts = at_least(
            block.label("chip"), given.high, highest, "V", "output with the diode's drop", "boosts only above"
        )
        found = [boosts, *regime_remark(block, block.label("inductor"))]
        holds = block.high("switch_voltage")
        return found + converter_ratings(block, switch=holds, diode=block.high("output_voltage"))

    def wire(self, block: Block, w: Wiring) -> None:
        """The regulated output; without it the input comes through inductor and diode."""
        w.supply("input", "in")
        wire_converted(block, w, ("chip", "inductor", "diode"), "input_current")
        w.add(Resistor(**w.who("inductor"), a="in", b="_switch", ohms=exact(0.01)))
        chip = w.who("chip")
        w.add(Resistor(**{**chip, "name": f"{chip['name']} beside"}, a="_switch", b="common", ohms=NONE))
        forward = block.point.diode_drop
        w.diode(
            "diode", "_switch", "out", forward="diode_drop", sort="schottky" if forward < 0.6 else "silicon"
        )

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Input and inductor on the left, the switch below the switched node, the diode to the output on the right."""
        sheet.port(
            0, 0, [Line("input", "r"), *computed(block, "input"), *named(block, "input_current", "takes")]
        )
        sheet.across(
            "inductor", 0, 0, 1, [*part_label(block, "inductor"), *named(block, "peak_current", "peak")]
        )
        chip = block.part("chip")
        title = [Line(chip.designator, "d") if chip and chip.designator else Line("switch", "r")]
        title += [Line(chip.ratings_label)] if chip else []
        pins = sheet.box(2, 1, 2, [*title, *computed(block, "frequency"), *computed(block, "duty")], left={1: "switch"},
                         bottom="common")  # fmt: skip
        sheet.wire((1, 0), (1, 1), pins["left 1"])
        sheet.wire(pins["bottom"], (2, 3))
        sheet.across("diode", 0, 1, 3, part_label(block, "diode"))
        sheet.wire((0, 3), (3, 3))
        sheet.port(0, 3, [Line("0 V", "r")])
        sheet.dot((1, 0), (2, 3))
        sheet.tag(3, *computed(block, "output_voltage"))
        draw_output(block, sheet, 3, 3)

    def plot(self, block: Block) -> curves.Diagram | None:
        return inductor_current(block)
