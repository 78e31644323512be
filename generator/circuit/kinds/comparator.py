"""Comparator with hysteresis: one voltage against another, with two thresholds instead of one."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import computed
from generator.circuit.network import Wiring
from generator.circuit.network.chips import Amplifier
from generator.circuit.network.element import Number, exact
from generator.circuit.network.sources import Source
from generator.circuit.placing import across, down
from generator.circuit.ratings import within
from generator.circuit.says import _, measured, phrase
from generator.circuit.sheet import At, Line, Sheet
from generator.circuit.spread import SPREADS

NODE = "nodal analysis at the + input (Kirchhoff's current law); the inputs draw no current"


def _lost(x: Point) -> set[str]:
    """The thresholds that do not exist. An output that no longer moves leaves none, but at the + input what it adds can
    still be read; a signal that does not reach the + input has none.
    """
    both = {"upper_threshold", "lower_threshold"}
    gone = x.failed("comparator")
    if math.isinf(x.signal_resistor or 0.0) or x.failed("capacitor") == "short":
        return both if x.input == "non-inverting" else set()
    if x.input == "non-inverting":
        return both if gone or math.isinf(x.input_resistor) else set()
    if gone == "short":
        return both - {"lower_threshold"}
    if gone:
        return both - {"upper_threshold"} if x.pull_up is not None else both
    return set()


# Ohm of an output: a low level that is stated holds at the current of the pull-up
OUTPUT_OHMS, STATED_OHMS = 30.0, 1.0


def _low_level(w: Wiring, x: Point) -> Number:
    """An output that pulls all the way down leaves a little, where the note does not say how much."""
    if x.output_low:
        return w.number("output_low", "stated low output")
    most = SPREADS["low output" if x.pull_up is None else "saturation"].above
    return Number(0.0, ((w.net("output_low"), 0.0, most),))


def _headroom(w: Wiring, x: Point) -> Number:
    """V that an output which drives both ways leaves of its supply, which it follows; 0 where the note has other volts for it."""
    drives = x.pull_up is None and 0 < x.output_high < x.supply
    return w.number(float(x.supply - x.output_high), "stated headroom") if drives else exact(0.0)


class Comparator(Kind):
    title = "Comparator"
    group = "Sensing"
    inputs_leak = True
    what = (
        "A voltage compared with a reference; feedback gives it one threshold on the way up and another on "
        "the way down."
    )
    assumes = (
        "The inputs draw no current and have no offset. Reference, supply and output levels are exact "
        "unless they state a tolerance or come from another block; in a whole device a stated level is a typical one: the low "
        "one is a fifth to three times what is stated, the high one leaves of its supply what is stated, ±30 %."
    )
    terminals = ("input", "reference", "out", "supply", "common")

    supply = param.Quantity("V", "the comparator's supply")
    reference = param.Quantity("V", "the voltage that the input is compared with", zero=True)
    reference_resistance = param.Quantity(
        "ohm",
        "the resistance behind the reference; counts where the reference goes to the + input",
        default="0 ohm",
        zero=True,
    )
    input_resistor = param.Part("resistor", "the resistor before the + input", zero=True)
    feedback = param.Part("resistor", "the resistor from the output to the + input", role="feedback resistor")
    output_high = param.Quantity("V", "the output's upper level, or what the pull-up goes to", default=supply)
    output_low = param.Quantity("V", "the output's lower level", default="0 V", zero=True)
    pull_up = param.Part("resistor", "the pull-up at an open-collector output", default=None, role="pull-up")
    comparator = param.Part("chip", "the comparator, such as U3", default=None, modes=())
    signal_resistor = param.Part("resistor", "between the signal and its input", default=None)
    capacitor = param.Part("capacitor", "at that input, to common", default=None, role="input capacitor")
    input = param.Choice(("inverting", "non-inverting"), "where the signal goes", default="inverting")

    values = (
        Value("upper_threshold", "V", "the input at which the output changes on the way up",
              "(reference·feedback + output_high·input_resistor)/(input_resistor + feedback)", NODE,
              at="inverting: at the + input with the output high; non-inverting: at the input when the output goes high"),
        Value("lower_threshold", "V", "the input at which the output changes on the way down",
              "(reference·feedback + output_low·input_resistor)/(input_resistor + feedback)", NODE,
              at="inverting: at the + input with the output low; non-inverting: at the input when the output goes low"),
        Value("hysteresis", "V", "the distance between the two", "upper_threshold − lower_threshold",
              "definition of hysteresis", at="the two thresholds, one from the other"),
        Value("input_time_constant", "s", "how slowly the input follows the signal", "signal_resistor·capacitor",
              "time constant of a resistor and a capacitor"),
    )  # fmt: skip
    helper_units = {"R": "ohm"}
    extra_parts = (ExtraPart("comparator", "chip", "comparator", named_by="comparator"),)
    example = {
        "supply": "6 V", "reference": "2 V", "input_resistor": "R5 10k", "feedback": "R6 220k",
        "pull_up": "R7 10k",
    }  # fmt: skip
    variants = (
        Variant("output that drives both ways, reference from a divider", {"pull_up": "",
            "reference_resistance": "6.8k"}),
        Variant("non-inverting", {"input": "non-inverting"}),
        Variant("non-inverting, output that drives both ways", {"input": "non-inverting", "pull_up": ""}),
    )  # fmt: skip

    def solve(self, x: Point) -> Solved:
        r = "R" if x.reference_resistance else "input_resistor"
        found: dict[str, float | Formula | None] = {"R": x.reference_resistance + x.input_resistor}
        high = "feedback + pull_up" if x.pull_up is not None else "feedback"
        share = f"({high})" if x.pull_up is not None else high
        if x.input == "inverting":
            upper = f"(reference·{share} + output_high·{r})/({r} + {high})"
            lower = f"(reference·feedback + output_low·{r})/({r} + feedback)"
            if found["R"] == 0 or math.isinf(x.feedback):
                upper = lower = "reference"
            elif math.isinf(x.input_resistor):
                upper, lower = "output_high", "output_low"
            if math.isinf(x.pull_up or 0.0):
                upper = "reference"
        else:
            series = "input_resistor" if x.signal_resistor is None else "(input_resistor + signal_resistor)"
            upper = f"reference + (reference − output_low)·{series}/feedback"
            lower = f"reference + (reference − output_high)·{series}/{share}"
        found |= {"upper_threshold": Formula(upper), "lower_threshold": Formula(lower)}
        if math.isinf(x.signal_resistor or 0.0) or x.failed("capacitor") == "short":
            found["input_time_constant"] = None
        return found | dict.fromkeys(_lost(x))

    def checks(self, block: Block) -> list[Check]:
        reference, high, low = (block.quantity(n) for n in ("reference", "output_high", "output_low"))
        found = []
        if reference and high and low:
            inside = low.high < reference.low and reference.high < high.low
            text = _("reference %(reference)s between the output's %(low)s and %(high)s")
            if not inside:
                text = _(
                    "reference %(reference)s is not between the output's %(low)s and %(high)s: it latches or never switches"
                )
            names = {"reference": reference, "low": low, "high": high}
            text %= {name: measured(q.middle, "V", trim=True) for name, q in names.items()}
            found.append(Check("comparator", text, inside))
        supply = block.quantity("supply")
        if block.point.input == "non-inverting" and supply:
            found.append(
                within(
                    "comparator", supply.low, block.high("upper_threshold"), "V", "upper threshold", "supply"
                )
            )
            lowest = block.low("lower_threshold")
            text = _("lower threshold %(volts)s, within reach of an input that stays above 0 V")
            if lowest < 0:
                text = _(
                    "lower threshold %(volts)s: an input that stays above 0 V never brings the output back down"
                )
            found.append(Check("comparator", text % {"volts": measured(lowest, "V")}, lowest >= 0))
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        if key == "comparator":
            if mode == "short":
                return "the output stays low, whatever the input"
            return "the output stays high" if x.pull_up is not None else "the output floats"
        if key == "signal_resistor" and mode == "open" or key == "capacitor" and mode == "short":
            return "the signal no longer reaches the comparator"
        if key == "capacitor":
            return "the input follows faster: noise may trip it"
        if key == "feedback" and mode == "open":
            return "no hysteresis: the output chatters at the reference"
        if key == "pull_up" and mode == "open":
            return "the output never rises"
        if key == "input_resistor" and mode == "open":
            if x.input == "inverting":
                return "the + input follows the output, which stays where it is"
            return "the input no longer reaches the comparator"
        return ""

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        low, high = given.get("output_low"), given.get("output_high")
        if low is not None and high is not None and low.low >= high.high:
            hint = "the output's lower level"
            return [("output_low", f"{measured(low.middle, 'V', trim=True)} is not below output_high", hint)]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """Feedback and input resistor meet at the + input; what goes to the - input goes there directly."""
        x = block.point
        w.supply("supply", "supply")
        w.supply("reference", "reference")
        inverting = x.input == "inverting"
        if inverting and x.reference_resistance:
            w.resistor("reference_resistance", "reference", "_reference", "reference_resistance")
        else:
            w.same("reference", "_reference")
        signal = "_signal" if w.has("signal_resistor") else "input"
        w.resistor("signal_resistor", "input", "_signal")
        w.capacitor("capacitor", signal, "common")
        w.resistor("input_resistor", "_reference" if inverting else signal, "_plus")
        w.resistor("feedback", "out", "_plus")
        own_level = x.output_high != x.supply
        if x.pull_up is not None:
            level = "_level" if own_level else "supply"
            if own_level:
                w.add(
                    Source(
                        **w.who("output_high", ()), plus=level, minus="common", volts=w.number("output_high")
                    )
                )
            w.resistor("pull_up", level, "out")
        w.add(
            Amplifier(
                **w.who("comparator"), plus="_plus", minus=signal if inverting else "_reference", output="out",
                supply="supply", common="common", low=_low_level(w, x), open_collector=x.pull_up is not None,
                ohms=exact(STATED_OHMS if x.output_low and x.pull_up is not None else OUTPUT_OHMS),
                lost=(lost := _headroom(w, x)),
                high=exact(0.0) if lost.value or x.pull_up is not None or not own_level else w.number("output_high"),
            )
        )  # fmt: skip

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Signal and reference on the left, the comparator in the middle, feedback under it, output on the right."""
        inverting = block.point.input == "inverting"
        thresholds = computed(block, "upper_threshold", "lower_threshold", "hysteresis")
        reference = [Line("reference", "r"), *computed(block, "reference")]
        signal = [Line("input", "r"), *thresholds]
        source = block.quantity("reference_resistance")
        if inverting and source and source.high > 0:
            reference.append(
                Line(_("behind %(resistance)s") % {"resistance": measured(source.middle, "ohm", trim=True)})
            )
        o = _filter(block, sheet, 1 if inverting else 3)
        amplifier = sheet.device("amplifier", 2 + o, 2, "in1", also="out", flip=False)
        minus, plus, out = amplifier["in1"], amplifier["in2"], amplifier["out"]
        sheet.port(0, 1, signal if inverting else reference)
        sheet.port(0, 3, reference if inverting else signal)
        sheet.wire((o if inverting else 0, 1), At(2 + o, 1, -16), At(2 + o, 2, -16, minus.dy), minus)
        if inverting and o:
            sheet.wire((0, 3), (o, 3))
        across(block, sheet, "input_resistor", 3, o, 1 + o)
        sheet.wire((1 + o, 3), At(2 + o, 3, -16), At(2 + o, 2, -16, plus.dy), plus)
        sheet.wire((1 + o, 3), (1 + o, 4))
        across(block, sheet, "feedback", 4, 1 + o, 3 + o, below=True)
        sheet.wire((3 + o, 4), (3 + o, 2))
        sheet.wire(out, (3 + o, 2), (4 + o, 2))
        sheet.dot((1 + o, 3), (3 + o, 2))
        levels = [
            measured(q.middle, "V", trim=True)
            for q in map(block.quantity, ("output_low", "output_high"))
            if q
        ]
        sheet.port(4 + o, 2, [Line("output", "r"), Line(phrase(levels[0], _("or"), levels[1]))], right=True)
        if block.part("pull_up"):
            down(block, sheet, "pull_up", 3 + o, 0, 2, segment=(0, 2))
            sheet.wire((3 + o, 0), (4 + o, 0))
            own = block.inputs["output_high"] is block.inputs["supply"]
            sheet.port(
                4 + o,
                0,
                [Line("supply" if own else "pulled up to", "r"), *computed(block, "output_high")],
                right=True,
            )


def _filter(block: Block, sheet: Sheet, row: int) -> int:
    """The signal's resistor and capacitor on its row; how many columns they take."""
    if block.part("signal_resistor") is None and block.part("capacitor") is None:
        return 0
    if block.part("signal_resistor"):
        across(block, sheet, "signal_resistor", row, 0, 1)
    else:
        sheet.wire((0, row), (1, row))
    if block.part("capacitor"):
        foot = 2 if row == 1 else 5
        down(block, sheet, "capacitor", 1, row, foot, left=True, segment=(row, foot))
        sheet.dot((1, row))
        sheet.wire((0, foot), (1, foot))
        sheet.port(0, foot, [Line("0 V", "r")])
    return 1
