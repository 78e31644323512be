"""Divider that sets the output of a regulator or power supply by comparing a share of it with a reference."""

from __future__ import annotations

import math
from itertools import product

from generator.circuit import param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import computed
from generator.circuit.network import Wiring
from generator.circuit.network.chips import Loop, Regulator
from generator.circuit.network.element import Number, exact
from generator.circuit.network.sources import Feed, Source
from generator.circuit.placing import down
from generator.circuit.ratings import rating
from generator.circuit.sheet import Line, Sheet

FEEDBACK = "output voltage formula in the data sheets of shunt references and adjustable regulators"


def _set_high(x: Point) -> bool:
    """Whether the loop sees nothing of the output any more, so that it opens up fully."""
    return math.isinf(x.upper if x.reference_across == "lower" else x.lower)


def _most_heat(block: Block, name: str) -> float:
    """Watts in one resistor at the worst corner; its heat rises or falls along each tolerance."""
    ends = [[(axis.names, axis.low), (axis.names, axis.high)] for axis in block.axes]
    corners = [{n: end for names, end in place for n in names} for place in product(*ends)]
    return max(block.kind.values_at(block.point.changed(**corner))[f"{name}_power"] for corner in corners)


class FeedbackDivider(Kind):
    title = "Feedback divider"
    group = "Power"
    what = "Two resistors that tell a regulator its own output, and so set it."
    assumes = (
        "The loop has input enough to reach the output. The bias current is exact unless it states a "
        "tolerance."
    )
    terminals = ("in", "out", "feedback", "common")

    reference = param.Quantity(
        "V", "the voltage that the loop holds across one of the resistors", spread="reference"
    )
    upper = param.Part("resistor", "the resistor at the output", role="upper resistor", zero=True)
    lower = param.Part("resistor", "the resistor at common", role="lower resistor")
    bias_current = param.Quantity(
        "A", "what the sense or adjust pin draws or gives", default="0 A", zero=True
    )
    reference_across = param.Choice(
        ("lower", "upper"),
        "the resistor across which the reference stands: upper for three-terminal adjustable regulators",
        default="lower",
    )

    values = (
        Value("output", "V", "what the loop holds the output at",
              "reference·(1 + upper/lower) + bias_current·upper", FEEDBACK, at="output to common"),
        Value("divider_current", "A", "through the resistor across which the reference stands",
              "reference/lower", "Ohm's law", at="in series with the divider"),
    )  # fmt: skip
    example = {"reference": "2.5 V", "upper": "R14 18k 1%", "lower": "R15 4k7 1%"}
    variants = (
        Variant("three-terminal adjustable regulator", {"reference": "1.25 V", "upper": "R1 240 1%",
            "lower": "R2 1k5 1%", "bias_current": "50 uA", "reference_across": "upper"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Solved:
        if _set_high(x):  # up to whatever comes in, which this block does not know
            return {"output": math.inf, "divider_current": 0.0}
        found: dict[str, float | Formula] = {
            "upper_power": Formula("(divider_current + bias_current)²·upper"),
            "lower_power": Formula("divider_current²·lower"),
        }
        if x.reference_across == "upper":
            found = {
                "output": Formula("reference·(1 + lower/upper) + bias_current·lower"),
                "divider_current": Formula("reference/upper"),
                "upper_power": Formula("divider_current²·upper"),
                "lower_power": Formula("(divider_current + bias_current)²·lower"),
            }
        open_one = next((name for name in ("upper", "lower") if math.isinf(x.__dict__[name])), "")
        return {**found, f"{open_one}_power": 0.0} if open_one else found

    def checks(self, block: Block) -> list[Check]:
        found = []
        for name in ("upper", "lower"):
            part = block.part(name)
            if part and "W" in part.ratings:
                found += rating(block, name, "W", _most_heat(block, name), "dissipates")
        reference = block.given("reference")
        across = {"lower": reference.high, "upper": block.high("output") - reference.low}
        if block.point.reference_across == "upper":
            across = {"upper": across["lower"], "lower": across["upper"]}
        return found + [
            check for name in ("upper", "lower") for check in rating(block, name, "V", across[name], "sees")
        ]

    def remark(self, x: Point, key: str, mode: str) -> str:
        senses = "upper" if x.reference_across == "lower" else "lower"
        if key == senses and mode == "open":
            return "the output rises to its input: unplug at once"
        if key == senses and mode == "high":
            return "the output rises with it"
        if mode == "open":
            return "the output falls to about the reference"
        return ""

    def wire(self, block: Block, w: Wiring) -> None:
        """The divider and the loop that holds the reference across one of its resistors.

        With nothing joined at `in` or `out` the loop is fed by some voltage above its output, which this block does not know.
        """
        x = block.point
        w.wired.feeds |= {"in": ("in", "common"), "out": ("out", "common")}
        w.resistor("upper", "out", "feedback")
        w.resistor("lower", "feedback", "common")
        loop = {
            **w.who("loop", ()),
            "input": "in",
            "output": "out",
            "volts": w.number("reference", "reference"),
        }
        if x.reference_across == "upper":
            w.add(Regulator(**loop, common="feedback", quiescent=exact(0.0)))
        else:
            w.add(Loop(**loop, common="common", sense="feedback", quiescent=exact(0.0)))
        if x.bias_current:
            draws = x.reference_across == "lower"
            into, back = ("common", "feedback") if draws else ("feedback", "common")
            w.add(Feed(**w.who("bias_current", ()), plus=into, minus=back, amperes=w.number("bias_current")))
        if not {"in", "out"} & w.fed:
            output = block.solved["output"]
            above = Number(2 * output + 3.0, ((w.net("in"), 1.2 * output + 3.0, 4 * output + 3.0),))
            w.add(Source(**w.who("in", ("dead",)), plus="in", minus="common", volts=above))
        w.volts("output", "out")
        w.amps("divider_current", "lower" if x.reference_across == "lower" else "upper")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The regulating part on the left, the divider on the right between output and common."""
        reference = [Line("reference", "r"), *computed(block, "reference")]
        if block.point.reference_across == "lower":
            middle = 1
            pins = sheet.box(
                1, 0, 1, [Line("control loop", "r"), *reference], left={0: "in"}, right={0: "out", 1: "sense"}
            )
            sheet.wire(pins["right 1"], (2, 1))
            sheet.wire(pins["bottom"], (1, 2))
        else:
            middle = 2
            pins = sheet.box(1, 0, 1, [Line("regulator", "r"), Line("out to adjust", "r"), *computed(block, "reference")],
                             left={0: "in"}, right={0: "out"}, bottom="adjust")  # fmt: skip
            sheet.wire(pins["bottom"], (1, 2), (2, 2))
        common = middle + 1
        sheet.wire((0, 0), pins["left 0"])
        sheet.wire(pins["right 0"], (2, 0), (3, 0))
        down(block, sheet, "upper", 2, 0, middle, segment=(0, middle))
        down(block, sheet, "lower", 2, middle, common)
        sheet.dot((2, 0), (2, middle), (2, common))
        if middle == 1:
            sheet.dot((1, common))
        sheet.wire((0, common), (2, common), (3, common))
        sheet.tag(2, *computed(block, "output"))
        for row, name in ((0, "input"), (common, "0 V")):
            sheet.port(0, row, [Line(name, "r")])
        for row, name in ((0, "output"), (common, "0 V")):
            sheet.port(3, row, [Line(name, "r")], right=True)

    def dangerous(self, x: Point) -> set[tuple[str, str]]:
        """The resistor that brings the output to the loop: without it the output goes up to the input."""
        senses = "upper" if x.reference_across == "lower" else "lower"
        return {(senses, "open"), (senses, "high")}
