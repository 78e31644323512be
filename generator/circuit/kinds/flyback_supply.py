"""A flyback supply: energy is stored in a transformer while the switch is closed and given to the output when it opens."""

from __future__ import annotations

import math

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Value, Variant
from generator.circuit.converter import amperes, regime_remark, wire_converted
from generator.circuit.diodes import sort_of
from generator.circuit.formula import STATED, Formula, Found
from generator.circuit.hazards import HAZARDOUS_VOLTS
from generator.circuit.kinds import _flyback_drawing as drawing
from generator.circuit.labels import computed, named
from generator.circuit.network import Wiring
from generator.circuit.network.element import exact
from generator.circuit.network.passive import Resistor
from generator.circuit.placing import down
from generator.circuit.ratings import at_least, rating, within, worth_saying
from generator.circuit.roots import root
from generator.circuit.says import _, measured
from generator.circuit.sheet import At, Line, Sheet

FLYBACK = "the flyback converter: volt-second balance of the transformer, energy a period"
WINDING = 0.2  # ohm of a secondary, at most (common practice, no source)
DEAD = ("output_voltage", "auxiliary", "peak_current", "duty")


def power_taken(
    *, input: float, peak_current: float, duty: float, inductance: float, frequency: float
) -> float:
    """Watts taken from the input as the switch opens at peak_current.

    input: V; peak_current: A; duty: that of continuous current, reflected/(input + reflected); inductance: H, of the primary;
    frequency: Hz. Discontinuous: the whole energy L·I²/2 of each period; continuous: the mean of the trapezium,
    input·duty·(peak_current − ripple/2) with ripple = input·duty/(L·f). Lossless. Source: textbooks on switching
    converters (energy a period).
    """
    ripple = input * duty / (inductance * frequency)
    if peak_current <= ripple:
        return inductance * frequency * peak_current**2 / 2
    return input * duty * (peak_current - ripple / 2)


def duty_at(x: Point, volts: float) -> float:
    """The duty of continuous current with so many volts at the output."""
    reflected = x.turns_ratio * (volts + x.diode_drop)
    return float(reflected / (x.input + reflected))


def _delivered(x: Point, limit: float, volts: float) -> float:
    """Watts at the output, at so many volts, with the switch opening at limit amperes."""
    coil = {"inductance": x.primary_inductance, "frequency": x.frequency}
    taken = power_taken(input=x.input, peak_current=limit, duty=duty_at(x, volts), **coil)
    return float(x.efficiency * taken)


def limited_output(x: Point, limit: float) -> float:
    """Volts to which the output sinks where the switch opens at limit amperes and the load takes all that comes.

    The highest voltage at which efficiency·power_taken meets what the load takes; 0 where none does.
    """

    def spare(volts: float) -> float:
        return _delivered(x, limit, volts) - volts * amperes(x, volts)

    lowest = x.output * 1e-9
    return root(spare, lowest, x.output) if spare(lowest) > 0 else 0.0


def _stands_still(x: Point) -> bool:
    """Whether a failed part leaves nothing at the output."""
    ways = (("capacitor", "short"), ("sense", "open"))
    return x._failure[0] in ("transistor", "diode", "transformer", "clamp") or x._failure in ways


def _primary(x: Point, volts: float, out: str, overloaded: bool) -> Found:
    """Peak current and duty on the primary, in the regime in which it is at this output."""
    d = duty_at(x, volts)
    lf = x.primary_inductance * x.frequency
    boundary = x.efficiency * (x.input * d) ** 2 / (2 * lf * volts) if volts > 0 else math.inf
    found: Found = {} if overloaded else {"P": Formula("output·I/efficiency")}
    if volts > 0:
        found["boundary_load"] = Formula(f"efficiency·(input·d)²/(2·LF·{out})")
    if overloaded:
        found["peak_current"] = Formula("limit_current")
        continuous = x.sense_limit / x.sense > x.input * d / lf
    else:
        continuous = amperes(x, volts) >= boundary
        found["peak_current"] = Formula("P/(input·d) + input·d/(2·LF)") if continuous else STATED
    found["duty"] = Formula("d") if continuous else STATED
    return found


def _max_load(x: Point, limit: float) -> Formula:
    """Amperes at the rated output at which the peak current reaches the limit."""
    if limit > x.input * duty_at(x, x.output) / (x.primary_inductance * x.frequency):  # continuous
        return Formula("efficiency·input·d_rated·(limit_current − input·d_rated/(2·LF))/output")
    return STATED


def _sensed(block: Block) -> float:
    """The most that the sense resistor turns into heat, in W: the mean square of a current that rises, while the switch is
    closed, from what the transformer still carries to the peak."""
    x, peak, share = block.point, block.high("peak_current"), block.high("duty")
    sense = block.quantity("sense")
    begins = max(0.0, peak - x.input * share / (x.primary_inductance * x.frequency))
    return float((sense.high if sense else 0.0) * share * (peak**2 + peak * begins + begins**2) / 3)


class FlybackSupply(Kind):
    title = "Flyback supply"
    group = "Power"
    by_regime = True
    isolates = True
    what = "The usual small switching supply: a transformer stores energy while the switch is closed and gives it to the output."
    assumes = (
        "Ideal switch and transformer with one efficiency for all losses; the peak and the limit are those at the lowest input. "
        "Overloaded it is computed at its limited power, though many controllers stop and try again instead."
    )
    terminals = ("in", "in_common", "out", "common")
    cautions = ("mains", "charge")

    input = param.Quantity("V", "the lowest DC voltage that comes in")
    input_high = param.Quantity("V", "the highest that comes in", default=input)
    output = param.Quantity("V", "the voltage that it regulates to", spread="regulator")
    load = param.Load("what draws from the output: a current or a resistor", modes=())
    turns_ratio = param.Ratio("turns of the primary for one of the secondary", default=None)
    primary_inductance = param.Quantity("H", "inductance of the primary", default=None)
    frequency = param.Quantity("Hz", "at which it switches", default=None)
    efficiency = param.Quantity(
        "",
        "share of the power that reaches the output",
        default=param.Unstated("0.8", "efficiency"),
        beside="primary_inductance",
    )
    sense = param.Part(
        "resistor", "the resistor that senses the switch's current", default=None, role="sense resistor"
    )
    sense_limit = param.Quantity(
        "V",
        "the voltage across it at which the switch opens",
        default=param.Unstated("1 V", "sense threshold"),
        beside="sense",
    )
    auxiliary_ratio = param.Ratio("turns of the auxiliary winding for one of the secondary", default=None)
    clamp = param.Part("zener", "what catches the spike, above the input, such as D3 150V", default=None)
    transistor = param.Part("mosfet", "the switch, such as Q1 600V 4A", default=None, modes=())
    diode = param.Part("diode", "the output diode", default=None, role="output diode", modes=())
    diode_drop = param.Quantity(
        "V", "its forward voltage", default=param.DropOf(diode), zero=True, spread="rectifier"
    )
    capacitor = param.Part(
        "capacitor", "the output capacitor", default=None, role="output capacitor", exact=True
    )

    values = (
        Value("output_voltage", "V", "DC at the output; beyond max_load what the limited power gives", "output", FLYBACK,
              at="output to its own common"),
        Value("auxiliary", "V", "DC on the auxiliary winding's capacitor, which feeds the controller",
              "auxiliary_ratio·(output + diode_drop) − diode_drop", "turns ratio", at="across the auxiliary capacitor", hazard="mains"),
        Value("reflected", "V", "the output seen from the primary while the diode conducts", "turns_ratio·(output + diode_drop)", "turns ratio"),
        Value("boundary_load", "A", "the load below which the transformer runs empty in each period",
              "efficiency·(input·d)²/(2·LF·output)", FLYBACK, interior=True),
        Value("peak_current", "A", "the highest in the switch", "√(2·P/LF)", FLYBACK, interior=True),
        Value("duty", "", "share of each period in which the switch is closed", "peak_current·LF/input", FLYBACK,
              interior=True),
        Value("limit_current", "A", "the peak at which the controller opens the switch", "sense_limit/sense", "Ohm's law"),
        Value("max_load", "A", "the load at which the peak reaches the limit", "efficiency·LF·limit_current²/(2·output)", FLYBACK, interior=True),
        Value("switch_voltage", "V", "across the open switch, at the highest input", "input_high + clamp", FLYBACK),
        Value("reverse_voltage", "V", "across the output diode while the switch is closed, at the highest input",
              "output + input_high/turns_ratio", FLYBACK),
    )  # fmt: skip
    helper_units = {"LF": "ohm", "I": "A", "drawn": "A", "P": "W", "d": "", "d_rated": ""}
    extra_parts = (
        ExtraPart("transistor", "mosfet", "transistor", named_by="transistor"),
        ExtraPart("diode", "diode", "output diode", named_by="diode"),
        ExtraPart("transformer", "winding", "transformer winding"),
    )
    danger = {("clamp", "open"), ("transistor", "short")}
    remarks = {
    ("transistor", "short"): "takes the fuse and the sense resistor with it; without a bleeder the bulk capacitor keeps its charge",
    ("transistor", "open"): "nothing comes out; without a bleeder the bulk capacitor keeps its charge",
    ("diode", "open"): "the stored energy goes into the clamp: nothing comes out",
    ("diode", "short"): "the output is shorted through the winding: the controller limits, tries again, ticks",
    ("transformer", "open"): "nothing comes out",
    ("capacitor", "short"): "the controller limits, tries again, ticks",
    ("capacitor", "open"): "the output stands in bursts, high enough to hurt what it feeds",
    ("capacitor", "low"): "more ripple; the usual failure of a dried-out capacitor",
    ("clamp", "open"): "the spike kills the transistor, which takes the fuse and the sense resistor with it",
    ("clamp", "short"): "the primary cannot give its energy to the output: the controller limits, tries again",
    ("sense", "open"): "usually blown by a shorted transistor: look there first",
    ("sense", "high"): "the limit trips at half the current: it starts, and gives up under load",
}  # fmt: skip
    example = {
        "input": "100 V", "input_high": "375 V", "output": "12 V", "load": "1.5 A", "turns_ratio": "8", "primary_inductance": "600u",
        "frequency": "65 kHz", "sense": "R5 0R56 1W", "auxiliary_ratio": "1.1", "clamp": "D3 150V", "transistor": "Q1 650V 4A",
        "diode": "D5 100V 10A", "capacitor": "C9 1000u 25V",
    }  # fmt: skip
    variants = (
        Variant("light load, no clamp", {"load": "200 mA", "clamp": "", "auxiliary_ratio": "",
            "capacitor": ""}),
        Variant("from 24 V", {"input": "24 V", "input_high": "", "turns_ratio": "2",
            "primary_inductance": "20u", "sense": "R5 0R1", "clamp": "D3 47V", "transistor": "Q1 150V 20A"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        if _stands_still(x):
            return dict.fromkeys(DEAD, 0.0)
        found: Found = {}
        magnetics = x.turns_ratio is not None and x.primary_inductance is not None and x.frequency is not None
        limit = x.sense_limit / x.sense if x.sense else None
        if limit is not None:
            found["limit_current"] = STATED
        volts, out = x.output, "output"
        if magnetics:
            found["LF"] = Formula("primary_inductance·frequency")
            if limit is not None:
                d_rated = duty_at(x, x.output)
                found |= {"d_rated": d_rated, "max_load": _max_load(x, limit)}
                if amperes(x, x.output) * x.output > _delivered(x, limit, x.output):
                    volts, out = limited_output(x, limit), "output_voltage"
        overloaded = out == "output_voltage"
        found["I"] = drawn = amperes(x, volts)
        if overloaded and drawn > 0:
            found["P"] = volts * drawn / x.efficiency
            found["output_voltage"] = Formula("efficiency·P/I")
        else:
            found["output_voltage"] = 0.0 if overloaded else STATED
        if found["I"]:
            found["drawn"] = Formula("output_voltage·I/(efficiency·input)")
        if x.turns_ratio is not None:
            found["reflected"] = Formula(f"turns_ratio·({out} + diode_drop)")
            found["d"] = Formula("reflected/(input + reflected)")
            found["reverse_voltage"] = Formula(f"{out} + input_high/turns_ratio")
        if magnetics:
            found |= _primary(x, volts, out, overloaded)
        if x.clamp is not None:
            found["switch_voltage"] = STATED
        elif x.turns_ratio is not None:
            found["switch_voltage"] = Formula("input_high + reflected")
        if x.auxiliary_ratio is not None:
            low = x.auxiliary_ratio * (volts + x.diode_drop) - x.diode_drop < 0
            found["auxiliary"] = 0.0 if low else Formula(f"auxiliary_ratio·({out} + diode_drop) − diode_drop")
        return found

    def checks(self, block: Block) -> list[Check]:
        x, found = block.point, []
        load, called = block.quantity("load"), block.label("transistor")
        if "max_load" in block.values and load is not None:
            most = block.low("max_load")
            drawn = load.high if x.load_is == "A" else x.output / max(load.low, 1e-12)
            found.append(within("load", most, drawn, "A", "draws", "limit reached at"))
            if drawn > most:
                text = _("overloaded: its power is limited, and the output sags to %(volts)s; many controllers then shut down "
                         "and retry, once or twice a second") % {"volts": measured(block.low("output_voltage"), "V")}  # fmt: skip
                found.append(worth_saying("load", text))
        found += regime_remark(block, "transformer")
        clamp = block.quantity("clamp")
        if clamp is not None and "reflected" in block.values:
            least, what = block.high("reflected"), "clamps, above the input, at"
            found.append(at_least(block.label("clamp"), least, clamp.low, "V", what, "reflected"))
        elif block.part("transistor") is not None:
            text = _("no clamp is stated: the spike of the leakage inductance adds to what is computed")
            found.append(worth_saying(called, text))
        drawn = block.high("max_load") or (load.high if load and x.load_is == "A" else 0.0)
        peak = block.high("limit_current") or block.high("peak_current")
        return [
            *found,
            *rating(block, "transistor", "V", block.high("switch_voltage"), "holds off"),
            *rating(block, "transistor", "A", peak, "switches, at the peak,"),
            *(rating(block, "sense", "W", _sensed(block), "dissipates") if "duty" in block.values else ()),
            *rating(block, "diode", "V", block.high("reverse_voltage"), "holds off"),
            *rating(block, "diode", "A", drawn, "carries at most"),
            *rating(block, "capacitor", "V", block.high("output_voltage"), "sees"),
        ]

    def wire(self, block: Block, w: Wiring) -> None:
        """The regulated output on its own side, and what the primary draws on the other."""
        w.supply("input", "in", "in_common")
        w.common("in_common", mains=block.point.input_high > HAZARDOUS_VOLTS)
        # what stands still is there for an ohmmeter and on the diode range: the secondary with its diode, the sense resistor
        w.add(
            Resistor(
                name=w.net("secondary"), block=block.name, a="common", b="_secondary", ohms=exact(WINDING)
            )
        )
        w.diode(
            "diode", "_secondary", "out", forward="diode_drop", sort=sort_of(block.point.diode_drop), at=1.0
        )
        low = "_source" if w.has("sense") else "in_common"
        w.resistor("sense", "_source", "in_common")
        w.winding("primary", "in", "_drain", WINDING)
        # off, on average: all of the input stands across it
        w.mosfet("transistor", "_gate", "_drain", low, vth=3.0, rds=1.0)
        w.add(Resistor(name=w.net("drive"), block=block.name, a="_gate", b=low, ohms=exact(1e4)))
        further = (key for key in ("clamp", "sense") if w.has(key))
        wire_converted(block, w, ("transistor", "transformer", "diode", *further), "drawn")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The primary and its switch on the left, the secondary with diode and capacitor on the right."""
        coil = sheet.device("transformer", 2, 1, "p1", drawing.transformer_label(block), label_above=True)
        sheet.port(0, 1, [Line("input", "r"), *computed(block, "input")])
        sheet.wire((0, 1), coil["p1"])
        sheet.wire(coil["p2"], (2, 3))
        drawing.phase(sheet, coil["p1"], -9, 7)
        drawing.phase(sheet, coil["s2"], 9, -7)
        if block.has("clamp"):
            down(block, sheet, "clamp", 1, 1, 2, left=True)
            sheet.down("diode", 1, 2, 3, reverse=True)
            sheet.wire((1, 3), (2, 3))
            sheet.dot((1, 1), (2, 3))
        at = sheet.device("n-mosfet", 2, 4, "drain", drawing.transistor_label(block), also="gate")
        sheet.wire((2, 3), at["drain"])
        sheet.wire((0, 4), at["gate"])
        sheet.port(0, 4, [Line("controller", "r")])
        sheet.wire(at["source"], (2, 5))
        if block.has("sense"):
            down(block, sheet, "sense", 2, 5, 6, *named(block, "limit_current", "limit"))
        else:
            sheet.wire((2, 5), (2, 6))
        sheet.wire((0, 6), (2, 6))
        mains = [Line("at mains potential", "x")] if "mains" in self.cautions_at(block.point) else []
        sheet.port(0, 6, [Line("input common", "r"), *mains])
        drawing.secondary(block, sheet, coil)
        if block.has("auxiliary_ratio"):
            sheet.wire((2, 6), (3, 6))
            sheet.dot((2, 6))
            sheet.down("inductor", 3, 5, 6, [Line("auxiliary winding", "r")])
            drawing.phase(sheet, At(3, 6), -9, -12)
            sheet.across("diode", 5, 3, 5)
            sheet.port(5, 5, [Line("auxiliary", "r"), *named(block, "auxiliary")], right=True)

    def cautions_at(self, x: Point) -> tuple[str, ...]:
        return ("mains", "charge") if x.input_high > HAZARDOUS_VOLTS else ()
