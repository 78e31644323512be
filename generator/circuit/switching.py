"""What transistor and MOSFET switches share: parameters, loads, the drive, ratings, the diode across an inductive load."""

from __future__ import annotations

import math
import re

from generator.circuit import param
from generator.circuit.block import Block, Check, Formula, Found, Point, Value
from generator.circuit.labels import capacitor_word, computed, named, part_label, with_further_values
from generator.circuit.placing import down
from generator.circuit.ratings import at_least, highest, rating, within
from generator.circuit.says import _, measured, number
from generator.circuit.sheet import Line, Sheet
from generator.notation.parts import Part
from generator.notation.quantity import Quantity

KIRCHHOFF = "Kirchhoff's laws with a constant base-emitter voltage"
SATURATION = (
    "a transistor carries at most hfe times its base current; in saturation vce_sat is left across it"
)
ON_RESISTANCE = "the channel as a resistance while the gate is above the threshold"
# hfe·base_current over the load current, so that a weak, cold transistor still saturates
LEAST_OVERDRIVE = 2.0
FULLY_ON = 2.0  # times the threshold: below it the channel may be only half open (common practice, no source)
# V; gate-source rating of most power MOSFETs, from memory (logic-level ones may stand less)
USUAL_GATE_LIMIT = 20.0

FLYBACK = param.Part("diode", "the diode across the load", default=None, role="flyback diode")
ACROSS_SWITCH = param.Part(
    "capacitor", "the capacitor across the transistor", default=None, role="capacitor across the switch"
)
ACROSS_LOAD = param.Part(
    "capacitor", "the capacitor across the load", default=None, role="capacitor across the load"
)
LOAD_INDUCTANCE = param.Quantity("H", "the inductance of the load", default=None)
SWITCHED_OFF = (
    Value("load_time_constant", "s", "how slowly the load's voltage follows", "load_ohm·across_load",
          "RC circuit", at="across the load, oscilloscope", interior=True),
    Value("switch_off_peak", "V", "at the transistor as it switches off an inductance without a diode",
          "load_supply + load_current·√(load_inductance/across_switch)",
          "energy of the inductance going into the capacitor: I·√(L/C) on top of the supply, undamped",
          at="across the transistor, oscilloscope", interior=True),
)  # fmt: skip

ALWAYS_ON = "the load is on all the time, whatever the drive does"
BRIDGES = "bridges the load: blows the fuse, or the transistor where there is none"
REMARKS = {
    ("across_switch", "short"): ALWAYS_ON,
    ("across_load", "short"): BRIDGES,
    ("across_switch", "open"): "nothing holds the spike down at switch-off",
    ("transistor", "short"): ALWAYS_ON,
    ("flyback", "open"): "nothing changes until switch-off; then the spike goes into the transistor",
    ("flyback", "short"): BRIDGES,
}

# Designators and words of loads with a winding: relay, motor, coil, valve (letter codes as commonly used in the trade).
_INDUCTIVE_DESIGNATOR = re.compile(r"^(?:RL|RLA|RLY|K|M|L|Y|SOL|FAN)\d")
_INDUCTIVE_WORDS = {"relay", "motor", "coil", "solenoid", "valve", "fan", "pump", "contactor", "buzzer"}


def is_inductive(load: Part | Quantity | None) -> bool:
    """Whether the load's designator or words say that it has a winding."""
    if not isinstance(load, Part):
        return False
    return bool(_INDUCTIVE_DESIGNATOR.match(load.designator)) or any(
        w.lower() in _INDUCTIVE_WORDS for w in load.words
    )


def load_as_ohm(x: Point, supply: float, left: float) -> float:
    """The load in ohm; one given as a current is what takes it fully on, with left volts across the transistor."""
    if x.failed("load") == "open":
        return math.inf
    return float(max(0.0, supply - left) / x.load if x.load_is == "A" else x.load)


def fully_on(x: Point, supply: float, left: float) -> float:
    """Amperes in the load with left volts across the transistor. A load given as a current takes that current."""
    if x.failed("load") == "open" or supply <= left:
        return 0.0
    return float(x.load if x.load_is == "A" else (supply - left) / x.load)


def undriven(x: Point, series: str) -> Formula:
    """Volts at a control that takes no current: what the resistor of parameter series and the pull-down make of the drive."""
    if math.isinf(getattr(x, series)):
        return Formula("0")
    divided = f"drive·pull_down/(pull_down + {series})"
    return Formula("drive" if math.isinf(x.pull_down or math.inf) else divided)


def transistor_ratings(block: Block, heat: str, supply: str = "load_supply") -> list[Check]:
    """The transistor's ratings against what it switches, holds off and dissipates (the value of that name)."""
    return [
        *rating(block, "transistor", "A", block.high("load_current"), "switches"),
        *rating(block, "transistor", "V", highest(block, supply), "holds off"),
        *rating(block, "transistor", "W", block.high(heat), "dissipates"),
    ]


def gate_checks(block: Block) -> list[Check]:
    """Whether the gate gets enough to open the channel, and no more than it stands."""
    called, part = block.label("transistor"), block.part("transistor")
    lowest, most = block.low("gate_voltage"), block.high("gate_voltage")
    vth = part.extras["vth"] if part else None
    least = vth.high if vth else 0.0
    enough = at_least(called, least, lowest, "V", "the gate gets", "threshold")
    if lowest < least:
        text = _("stays off: the gate gets %(seen)s, the threshold is %(threshold)s")
        if vth and most >= vth.low:
            text = _("may stay off: in the worst case the gate gets %(seen)s, the threshold is %(threshold)s")
        text %= {"seen": measured(lowest, "V"), "threshold": measured(least, "V", trim=True)}
        enough = Check(called, text, False, enough.margin, least=True)
    elif lowest < FULLY_ON * least:
        twice = FULLY_ON * least
        half = at_least(
            called, twice, lowest, "V", "may be only half on: the gate gets", "twice the threshold is"
        )
        enough = Check(called, half.what, True, half.margin, True, least=True)
    return [enough, within(called, USUAL_GATE_LIMIT, most, "V", "the gate gets", "most stand")]


def shorted(x: Point) -> bool:
    """Whether the switch is bridged, by itself or by the capacitor across it."""
    return "short" in (x.failed("transistor"), x.failed("across_switch"))


def bridged(x: Point) -> bool:
    """Whether the load is bridged, by its diode or by the capacitor across it."""
    return "short" in (x.failed("flyback"), x.failed("across_load"))


def capacitor_values(x: Point, surge: str, load_ohm: float, conducts: bool) -> Found:
    """Surge, time constant and peak at switch-off, where they are not as in the table.

    surge: the formula of the most that the transistor carries into the capacitor across the load; load_ohm: the load as
    a resistance; conducts: whether the transistor does.
    """
    found: Found = {}
    if x.across_load is not None:
        sound = x.failed("across_load") not in ("open", "short") and not math.isinf(load_ohm)
        found["surge_current"] = Formula(surge) if sound and conducts else 0.0
        found["load_ohm"] = load_ohm if sound else None
    else:
        found["surge_current"] = None
    caught = x.flyback_there and x.failed("flyback") != "open"
    if caught or not x.across_switch or shorted(x) or bridged(x) or x.failed("load") == "open":
        found["switch_off_peak"] = None
    return found


def capacitor_checks(block: Block, held_off: float) -> list[Check]:
    """The capacitors across switch and load against what they see, the transistor against surge and spike."""
    peak = max(held_off, block.high("switch_off_peak"))
    found = rating(block, "across_switch", "V", peak, "sees at most")
    found += rating(block, "across_load", "V", held_off, "sees at most")
    if "switch_off_peak" in block.values:
        found += rating(block, "transistor", "V", peak, "sees at switch-off")
    if block.high("surge_current") > block.high("load_current"):
        found += rating(
            block, "transistor", "A", block.high("surge_current"), "carries into the capacitor, at first,"
        )
    return found


def flyback_checks(block: Block, supply: str = "load_supply") -> list[Check]:
    """The diode across the load against its ratings; an inductive load without one fails. supply: the load's."""
    current, inductance = block.high("load_current"), block.quantity("load_inductance")
    held_off = highest(block, supply)
    capacitors = capacitor_checks(block, held_off)
    if block.has("flyback"):
        return capacitors + [
            *rating(block, "flyback", "A", current, "takes over at switch-off"),
            *rating(block, "flyback", "V", held_off, "holds off"),
        ]
    part = block.part("transistor")
    computed_peak = "switch_off_peak" in block.values and part is not None and "V" in part.ratings
    if computed_peak or not (inductance or is_inductive(block.inputs.get("load"))):
        return capacitors
    text = _("no flyback diode across an inductive load: the spike at switch-off goes into the transistor")
    if inductance:
        energy = inductance.high * current * current / 2
        text += ", " + _("%(energy)s mJ each time") % {"energy": number(f"{energy * 1e3:.3g}")}
    return [*capacitors, Check(block.label("load"), text, False)]


def vet_load(inputs: dict[str, object]) -> list[tuple[str, str, str]]:
    """A load of 0 A is none."""
    load = inputs.get("load")
    if isinstance(load, Quantity) and load.unit == "A" and load.low <= 0:
        hint = "a current such as 35 mA, or a resistance such as RL1 400"
        return [("load", "no load: there is nothing to switch", hint)]
    return []


def vet_extras(inputs: dict[str, object], param: str, *needed: tuple[str, str]) -> list[tuple[str, str, str]]:
    """Further values that the transistor has to state: (extra, example)."""
    part = inputs.get(param)
    given = part.extras if isinstance(part, Part) else {}
    return [
        (param, f"states no {extra}", f"such as {example}") for extra, example in needed if extra not in given
    ]


def transistor_label(block: Block) -> list[Line]:
    """Designator, further values (hFE, threshold, on-resistance) and ratings of the transistor."""
    part = block.part("transistor")
    if part is None:
        return []
    return with_further_values(part, "transistor")


def load_symbol(load: Part | Quantity | None) -> str:
    """The word for a load's symbol, from its designator and words."""
    if not isinstance(load, Part):
        return "load current"
    letters = load.designator.rstrip("0123456789abcdefghij")
    words = {w.lower() for w in load.words}
    if letters in ("M", "FAN") or words & {"motor", "fan", "pump"}:
        return "dc motor"
    if letters in ("LP", "LA", "H", "E") or words & {"lamp", "bulb"}:
        return "lamp"
    if letters == "LS" or words & {"loudspeaker", "speaker", "buzzer"}:
        return "loudspeaker"
    if letters in ("RL", "RLA", "RLY", "K") or words & {"relay", "contactor"}:
        return "relay coil"
    return "inductor" if is_inductive(load) else "resistor"


def draw_low_side(block: Block, sheet: Sheet, *, word: str, control: str, top: str, bottom: str, series: str,
                  at_series: str, at_top: str) -> None:  # fmt: skip
    """Load from its supply down to the transistor, transistor to the common rail, drive from the left.

    word: the transistor's symbol with its terminals control, top and bottom. series: the parameter of the resistor
    in the drive line, at_series the value at the control behind it; at_top: the value at the node between load and
    transistor.
    """
    column = last = 2
    sheet.port(0, 2, [Line("drive", "r"), *computed(block, "drive")])
    sheet.port(0, 3, [Line("0 V", "r")])
    sheet.across("resistor", 2, 0, 1, part_label(block, series))
    control_label = computed(block, at_series)  # behind what the pull-down takes
    carries = "current" if any(line.flows for line in control_label) else "node"
    terminals = sheet.device(word, column, 2, top, transistor_label(block), also=control)
    sheet.across(carries, 2, 1, terminals[control], control_label)
    sheet.wire((column, 1), terminals[top])
    sheet.wire(terminals[bottom], (column, 3))
    sheet.wire((0, 3), (column, 3))
    if block.has("pull_down"):
        down(block, sheet, "pull_down", 1, 2, 3, left=True)
        sheet.dot((1, 2), (1, 3))
    load = [*part_label(block, "load"), *computed(block, "load_current")]
    sheet.down(load_symbol(block.inputs.get("load")), column, 0, 1, load, left=True)
    for name, symbol in (("flyback", "diode"), ("across_load", capacitor_word(block, "across_load"))):
        if block.has(name):
            sheet.dot((last, 0), (last, 1))
            last += 1
            sheet.down(symbol, last, 0, 1, part_label(block, name), reverse=name == "flyback")
            for row in (0, 1):
                sheet.wire((last - 1, row), (last, row))
    if block.has("across_switch"):
        sheet.dot((last, 1), (column, 3))
        sheet.wire((last, 1), (last + 1, 1))
        last += 1
        down(block, sheet, "across_switch", last, 1, 3, segment=(2, 3))
        sheet.wire((column, 3), (last, 3))
    sheet.dot((column, 1), (last, 1))
    sheet.wire((last, 1), (last + 1, 1))
    sheet.port(last + 1, 1, [Line(top, "r"), *named(block, at_top)], right=True)
    sheet.wire((0, 0), (column, 0))
    sheet.port(0, 0, [Line("load supply", "r"), *computed(block, "load_supply")])
