"""An LED, or several in series, behind a resistor: an indicator or a lamp."""

from __future__ import annotations

from generator.circuit import param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import computed, part_label
from generator.circuit.leds import FORWARD_VOLTS, USUAL_LIMIT
from generator.circuit.network import Wiring
from generator.circuit.placing import down
from generator.circuit.ratings import rating, within, worth_saying
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet
from generator.notation.parts import each_of

_OHM = "Kirchhoff's voltage law and Ohm's law"


class LedIndicator(Kind):
    title = "LED indicator"
    group = "Driving"
    what = "An LED, or several in series, behind a resistor that sets its current."
    assumes = (
        "Colours stand for typical forward voltages, from memory: red 1.8 V, amber, yellow and orange 2.0 "
        "V, green 2.1 V, blue and white 3.0 V."
    )
    terminals = ("supply", "common")

    supply = param.Quantity("V", "what feeds resistor and LED")
    resistor = param.Part("resistor", "the resistor in series", role="series resistor")
    forward = param.Part(
        "led",
        "the LED: its forward voltage, or a colour that stands for one",
        default="red",
        role="LED",
        named=FORWARD_VOLTS,
    )
    count = param.Count("how many in series", default="1")

    values = (
        Value("current", "A", "what flows through resistor and LED", "(supply − count·forward)/resistor",
              _OHM, at="volts across the resistor, divided by its ohms"),
        Value("resistor_power", "W", "heat in the resistor", "current·(supply − count·forward)",
              "Joule's law"),
        Value("led_power", "W", "what each LED takes", "forward·current", "Joule's law"),
    )  # fmt: skip
    example = {"supply": "5 V", "resistor": "R14 560 0.125W", "forward": "LD1 red"}
    variants = (
        Variant("forward voltage as measured", {"forward": "2.1 V", "resistor": "330"}),
        Variant("three white LEDs in series", {"supply": "12 V", "forward": "LD1 white 350mA", "count": "3",
            "resistor": "R2 27 2W"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Solved:
        if x.failed("forward") == "open":
            return dict.fromkeys(("current", "resistor_power", "led_power"), 0.0)
        lit = x.count - (x.failed("forward") == "short")
        if x.supply < lit * x.forward:
            return {"count": lit, "current": Formula("max(supply − count·forward, 0)/resistor")}
        return {"count": lit}

    def checks(self, block: Block) -> list[Check]:
        led = block.part("forward")
        limit, limit_is = (
            (led.ratings["A"], "rated") if led and "A" in led.ratings else (USUAL_LIMIT, "usual limit")
        )
        found = [within(block.label("forward"), limit, block.high("current"), "A", "carries", limit_is)]
        found += rating(block, "forward", "W", block.high("led_power"), "takes")
        found += rating(block, "resistor", "W", block.high("resistor_power"), "dissipates")
        called, count = led.designator if led else "", int(block.point.count)
        if (span := each_of(called)) and len(span) != count:
            text = _("%(leds)s are %(there)s, but count says %(count)s")
            values = {"leds": called, "there": str(len(span)), "count": str(count)}
            found.append(worth_saying(block.label("forward"), text % values))
        if block.low("current") == 0:
            supply = block.quantity("supply")
            needs = block.point.count * block.point.forward
            text = _("does not light: it needs %(needs)s and the supply may have only %(has)s")
            values = {"needs": measured(needs, "V"), "has": measured(supply.low if supply else 0.0, "V")}
            found.append(Check(block.label("forward"), text % values, False))
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        if (key, mode) == ("forward", "short"):
            return (
                "stays dark; the current rises"
                if x.count == 1
                else "one of them stays dark; the others shine brighter"
            )
        return ""

    def wire(self, block: Block, w: Wiring) -> None:
        """From the supply through the resistor and the LEDs to common."""
        w.supply("supply", "supply")
        count = round(block.point.count)
        nets = ["_1", *(f"_{position}" for position in range(2, count + 1)), "common"]
        w.resistor("resistor", "supply", "_1")
        at = max(block.solved["current"], 1e-4)
        for position in range(count):
            first, second = nets[position : position + 2]
            w.diode("forward", first, second, forward="forward", at=at, sort="led", copy=position, of=count)
        w.amps("current", "resistor")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The resistor hangs from the supply, the LED below it to the common rail."""
        label = part_label(block, "forward")
        if block.point.count > 1:
            label.append(Line(_("%(count)s in series") % {"count": block.point.count}))
        label += computed(block, "current")
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        sheet.wire((0, 0), (1, 0))
        down(block, sheet, "resistor", 1, 0, 1)
        sheet.down("led", 1, 1, 2, label)
        sheet.wire((0, 2), (1, 2))
        sheet.port(0, 2, [Line("0 V", "r")])
