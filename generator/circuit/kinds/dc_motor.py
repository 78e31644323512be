"""A brushed DC motor with its suppression capacitor."""

from __future__ import annotations

from dataclasses import replace

from generator.circuit import param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.inputs import Inputs
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import Number, exact
from generator.circuit.network.sources import FRICTION, Motor
from generator.circuit.ratings import margin, rating
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet
from generator.circuit.spread import SPREADS

EQUIVALENT = "the brushed motor's equivalent circuit: winding resistance in series with the back EMF"


class DcMotor(Kind):
    title = "DC motor"
    group = "Driving"
    what = "A brushed DC motor: what it draws running and stalled, and what it generates against its supply."
    assumes = (
        "A brushed motor on DC; the brush drop is left out. The winding is exact unless it states a "
        "tolerance. A winding is measured at several positions of the shaft; the lowest counts. In a device its speed follows "
        "its volts; half of its torque is friction, the rest grows with the square of the speed, and what is too "
        "little for the friction does not turn it: then it is its winding."
    )
    terminals = ("plus", "minus")
    off_board = True

    supply = param.Quantity("V", "what feeds it")
    winding = param.Part("winding", "its resistance, brush to brush", role="motor", named_by="motor")
    running_current = param.Quantity(
        "A", "what it draws while it runs under its load", spread="running current"
    )
    capacitor = param.Part(
        "capacitor", "the suppression capacitor across it", default=None, role="suppression capacitor"
    )
    motor = param.Part("any", "the motor's designator, such as M1", default=None, modes=())

    values = (
        Value("stall_current", "A", "at standstill: at switch-on and when jammed", "supply/winding",
              EQUIVALENT, at="in series, shaft held still for a moment"),
        Value("running_power", "W", "taken from the supply while running", "supply·running_current",
              "Joule's law"),
        Value("stall_power", "W", "all of it heat, when jammed", "supply·stall_current", "Joule's law"),
        Value("back_emf", "V", "generated while running", "supply − running_current·winding", EQUIVALENT,
              at="across the motor, in the moment after switch-off, while it still turns"),
    )  # fmt: skip
    remarks = {
        ("capacitor", "short"): "shorts the supply: blows the fuse, or what drives the motor",
        ("capacitor", ""): "no value changes; the brushes disturb the rest of the circuit",
        ("winding", ""): "an open winding or brushes that no longer touch: it does not turn",
    }
    example = {
        "supply": "6 V", "winding": "M1 6 ohm", "running_current": "180 mA", "capacitor": "C3 100n 50V",
    }  # fmt: skip
    variants = (Variant("without a suppression capacitor", {"capacitor": ""}),)

    def more_inputs(self, inputs: Inputs) -> None:
        """A motor named on its own names its winding, which is what fails."""
        motor, winding = inputs.given["motor"], inputs.given["winding"]
        if motor is not None and not winding.designator:
            inputs.given["winding"] = replace(winding, designator=motor.designator)

    def solve(self, x: Point) -> Solved:
        if x.failed("winding") == "open" or x.failed("capacitor") == "short":
            return dict.fromkeys(("stall_current", "running_power", "stall_power", "back_emf"), 0.0)
        if x.running_current * x.winding > x.supply:
            return {"back_emf": Formula("max(supply − running_current·winding, 0)")}
        return {}

    def checks(self, block: Block) -> list[Check]:
        called = block.label("winding")
        running = block.quantity("running_current")
        supply = block.quantity("supply")
        found = []
        if running and running.high > block.low("stall_current"):
            stall = measured(block.low("stall_current"), "A")
            text = _(
                "is said to draw %(running)s running, but stalled it draws %(stall)s: one of them is wrong"
            )
            text %= {"running": measured(running.high, "A"), "stall": stall}
            found.append(Check(called, text, False, margin(block.low("stall_current"), running.high)))
        found += rating(block, "winding", "A", running.high if running else 0.0, "draws while running")
        found += rating(block, "winding", "V", supply.high if supply else 0.0, "is fed with")
        return found + rating(block, "capacitor", "V", supply.high if supply else 0.0, "sees")

    def wire(self, block: Block, w: Wiring) -> None:
        """Turning, it draws its running current at its supply, less at less; at rest, and to an ohmmeter, it is its winding."""
        x = block.point
        w.supply("supply", "plus", "minus")
        w.add(
            Motor(
                **w.who("winding"), a="plus", b="minus", ohms=w.number("winding", "winding"),
                amperes=w.number("running_current", "running current"), friction=w.number(FRICTION, "friction"),
                emf=exact(x.supply - x.running_current * x.winding),
                film=Number(0.0, ((w.net("brushes"), 0.0, SPREADS["brushed"].above * x.winding),)),
            )
        )  # fmt: skip
        w.capacitor("capacitor", "plus", "minus")
        w.amps("stall_current", "winding", put=(("winding", "stalled", 1.0),))

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The motor between supply and common, the suppression capacitor beside it."""
        label = [*part_label(block, "winding"), *computed(block, "stall_current", "back_emf")]
        running = block.quantity("running_current")
        if running:
            label.insert(
                2, Line(_("runs at %(current)s") % {"current": measured(running.middle, "A", trim=True)})
            )
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        sheet.port(0, 1, [Line("0 V", "r")])
        column = 1
        if block.has("capacitor"):
            sheet.down("capacitor", 1, 0, 1, part_label(block, "capacitor"))
            sheet.dot((1, 0), (1, 1))
            column = 2
        sheet.wire((0, 0), (column, 0))
        sheet.wire((0, 1), (column, 1))
        sheet.down("dc motor", column, 0, 1, label)
        sheet.tag(column, *named(block, "running_power", "running"), *named(block, "stall_power", "stalled"))
