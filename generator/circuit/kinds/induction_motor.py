"""A motor without brushes on the mains: a main winding with a capacitor's auxiliary one, or with shaded poles."""

from __future__ import annotations

import math

from generator.circuit import param
from generator.circuit.block import STATED, Block, Check, Formula, Found, Kind, Point, Value, Variant
from generator.circuit.hazards import EXTRA_LOW_AC
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import Number
from generator.circuit.ratings import rating, within
from generator.circuit.says import _
from generator.circuit.sheet import Line, Sheet
from generator.circuit.spread import SPREADS
from generator.notation.parts import type_of_capacitor

LARGEST_SLIP = 0.3  # beyond it the speed or the number of poles is misread; common practice, no source
# Of shaded-pole motors, of capacitor motors, and what of the volts is lost in a winding's copper: common practice, no source
POWER_FACTOR, CAPACITOR_POWER_FACTOR, COPPER_SHARE = 0.6, 0.9, 0.12
LEAST_OWN = 0.3  # of the supply: what an auxiliary winding has across it at least
COPPER = 234.5  # °C; copper's resistance extrapolates to zero at −234.5 °C (IEC 60034-1, resistance method)


def _winding(block: Block, name: str) -> list[Line]:
    """Which winding it is, and its designator where it has one."""
    part, role = block.part(name), Line(f"{name} winding", "r")
    return [*([role] if part and part.designator else []), *part_label(block, name)]


def _turning(x: Point) -> tuple[complex, complex]:
    """Impedances of main and auxiliary winding at the mains frequency while it turns, ohm.

    A capacitor motor is made so that the auxiliary winding's volts lead by a quarter of a period; those across the capacitor
    are then √(supply² + its own²), √2 times the supply where nobody states them. What draws a current that is not stated
    takes COPPER_SHARE of its volts in the winding's copper.
    """
    volts = x.supply
    auxiliary, taken = 0j, 0j
    if x.auxiliary is not None and x.capacitor:
        charged = x.capacitor_voltage or math.sqrt(2) * volts
        own = math.sqrt(max(charged**2 - volts**2, (LEAST_OWN * volts) ** 2))
        taken = (volts - 1j * own) * 2j * math.pi * x.f * x.capacitor
        auxiliary = 1j * own / taken
    elif x.auxiliary is not None:
        auxiliary = _lagging(x.auxiliary / COPPER_SHARE, POWER_FACTOR)
    if x.running_current is None:
        return _lagging(x.main / COPPER_SHARE, POWER_FACTOR), auxiliary
    factor = CAPACITOR_POWER_FACTOR if taken else POWER_FACTOR
    of_all = x.running_current * complex(factor, -math.sqrt(1 - factor**2))
    main = of_all - taken
    return (volts / main if main.real > 0 else _lagging(volts / x.running_current, POWER_FACTOR)), auxiliary


def _lagging(ohms: float, factor: float) -> complex:
    return ohms * complex(factor, math.sqrt(1 - factor**2))


def _behind(block: Block, w: Wiring, key: str, whole: complex) -> tuple[Number, Number]:
    """(ohms beyond a winding's own, henries) of its impedance, with what the running current may be off by."""
    x = block.point
    low, high = SPREADS["running current"].ends(1.0)
    more, henries = max(0.0, whole.real - x.__dict__[key]), whole.imag / (2 * math.pi * x.f)

    def band(value: float) -> Number:
        return Number(value, ((w.net("running_current"), value / low, value / high),))

    return band(more), band(henries)


class InductionMotor(Kind):
    title = "Induction motor"
    group = "Driving"
    by_regime = True
    earthed = "frame"
    what = "A motor without brushes on the mains, with an auxiliary winding and capacitor, or with shaded poles: fans, pumps, compressors."
    assumes = (
        "Windings are exact unless they state a tolerance and are read cold, with the capacitor off: it would swing the reading. "
        "The capacitor counts as a film type."
    )
    terminals = ("live", "neutral")
    cautions = ("mains", "charge")

    supply = param.Quantity("V", "the mains", default=param.MAINS)
    main = param.Part("winding", "ohms of the main winding, cold", role="main winding")
    auxiliary = param.Part(
        "winding",
        "ohms of the auxiliary winding, cold; left out: shaded poles",
        default=None,
        role="auxiliary winding",
    )
    capacitor = param.Part(
        "capacitor",
        "the run capacitor, such as C1 6u 450V",
        default=None,
        role="run capacitor",
        unmarked="film",
    )
    capacitor_voltage = param.Quantity("V", "across it while it runs, RMS", default=None)
    running_current = param.Quantity(
        "A", "what it draws while it runs", default=None, spread="running current"
    )
    poles = param.Count("how many poles it has", default="2")
    speed = param.Quantity("rpm", "at which it turns", default=None)
    hot_main = param.Quantity("ohm", "ohms of the main winding just after running", default=None)
    ambient = param.Quantity("°C", "as the main winding was read cold", default="25 C")
    f = param.Quantity("Hz", "mains frequency", default=param.FREQUENCY)

    values = (
        Value("synchronous_speed", "rpm", "of the field; the rotor stays behind it", "120·f/poles", "IEC 60034-1, definition"),
        Value("slip", "", "how far the rotor stays behind, as a share", "1 − speed/synchronous_speed", "definition"),
        Value("main_to_auxiliary", "ohm", "through both windings: the highest of the three readings", "main + auxiliary",
              "resistances in series", at="between the free ends of both windings, plug out, capacitor off", cold=True),
        Value("reactance", "ohm", "of the capacitor at mains frequency", "1/(2·π·f·capacitor)", "AC circuit theory"),
        Value("capacitor_current", "A", "through capacitor and auxiliary winding", "capacitor_voltage/reactance", "AC circuit theory",
              at="clamp meter around the auxiliary winding's wire", hazard="mains", interior=True),
        Value("copper_power", "W", "heat in the winding (shaded poles)", "running_current²·main", "Joule's law",
              interior=True),
        Value("temperature_rise", "K", "of the main winding, by its resistance", f"(hot_main/main − 1)·({COPPER:g} + ambient)",
              "IEC 60034-1, resistance method, copper (from memory)", interior=True),
    )  # fmt: skip
    remarks = {
    ("main", "open"): "hums at most, and does not start",
    ("auxiliary", "open"): "hums, does not start by itself, runs if it is spun by hand",
    ("capacitor", "open"): "hums, does not start by itself, runs if it is spun by hand",
    ("capacitor", "low"): "starts badly, runs weakly and hot: the usual failure of an old run capacitor",
    ("capacitor", "short"): "starts badly or not at all, and the auxiliary winding gets very hot",
}  # fmt: skip
    example = {
        "main": "L1 32", "auxiliary": "L2 48", "capacitor": "C1 6u 450V 5%", "capacitor_voltage": "310 V", "poles": "2", "speed": "2750 rpm",
    }  # fmt: skip
    variants = (
        Variant("shaded poles", {"auxiliary": "", "capacitor": "", "capacitor_voltage": "",
            "running_current": "180 mA", "speed": "2500 rpm"}),
        Variant("four poles, temperature by resistance", {"capacitor_voltage": "", "hot_main": "39 ohm",
            "poles": "4", "speed": "1380 rpm"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        found: Found = {"synchronous_speed": STATED}
        if x.speed is not None:
            found["slip"] = STATED
        main_open = x.failed("main") == "open"
        if x.auxiliary is not None and not main_open and x.failed("auxiliary") != "open":
            found["main_to_auxiliary"] = STATED
        if x.capacitor:
            found["reactance"] = STATED
            if (
                x.capacitor_voltage is not None
                and x.failed("capacitor") != "short"
                and x.failed("auxiliary") != "open"
            ):
                found["capacitor_current"] = STATED
        elif x.capacitor == 0:
            found["capacitor_current"] = 0.0
        if x.failed("capacitor") == "short":
            found.pop("reactance", None)
        if x.auxiliary is None and x.running_current is not None:
            found["copper_power"] = 0.0 if main_open else STATED
        if x.hot_main is not None and not main_open:
            found["temperature_rise"] = Formula(f"(hot_main/main − 1)·({COPPER:g} + ambient)")
        return found

    def checks(self, block: Block) -> list[Check]:
        x, found = block.point, []
        if "slip" in block.values:
            low, high = block.low("slip"), block.high("slip")
            if low <= 0:
                text = _("the speed is not below synchronous speed: check speed and poles")
                found.append(Check(block.label("main"), text, False))
            else:
                main = block.label("main")
                found.append(
                    within(main, LARGEST_SLIP, high, "", "slip", "misread, stalled or overloaded above")
                )
        if x.capacitor is not None:
            top = block.mains_top()
            stated = block.quantity("capacitor_voltage")
            supply = block.quantity("supply")
            seen = top if stated is None or supply is None else max(top, stated.high * top / supply.middle)
            found += rating(block, "capacitor", "V", seen, "sees, at maximum mains,")
            if (part := block.part("capacitor")) and type_of_capacitor(part.words) == "electrolytic":
                what = "an electrolytic on alternating voltage bursts: a film type is needed"
                found.append(Check(block.label("capacitor"), what, False))
        running = block.quantity("running_current")
        if running is not None:
            found += rating(block, "main", "A", running.high, "carries")
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """The windings as an ohmmeter finds them, and turning what they let through."""
        w.supply("supply", "live", "neutral", ac=True)
        w.common("neutral", mains=True)
        main, auxiliary = _turning(block.point)
        turning, henries = _behind(block, w, "main", main)
        w.winding("main", "live", "neutral", turning=turning, henries=henries, ac=True)
        if w.has("auxiliary"):
            turning, henries = _behind(block, w, "auxiliary", auxiliary)
            w.winding("auxiliary", "_auxiliary", "neutral", turning=turning, henries=henries, ac=True)
            if not w.capacitor("capacitor", "live", "_auxiliary", ac=True):
                w.same("live", "_auxiliary")
            else:
                w.ohms("main_to_auxiliary", "live", "_auxiliary")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The main winding across the mains, the auxiliary one with its capacitor beside it, the rotor as a motor between."""
        sheet.port(0, 0, [Line("L", "r"), *computed(block, "supply")])
        sheet.port(0, 2, [Line("N", "r")])
        sheet.wire((0, 0), (1, 0))
        sheet.wire((0, 2), (1, 2))
        main = [*_winding(block, "main"), *named(block, "temperature_rise", "rise")]
        if not block.has("auxiliary"):
            main += [Line("shaded poles", "r"), *named(block, "synchronous_speed")]
        sheet.down("inductor", 1, 0, 2, main, segment=(0, 2))
        if not block.has("auxiliary"):
            return
        for row in (0, 2):
            sheet.wire((1, row), (2, row))
        sheet.dot((1, 0), (1, 2))
        auxiliary = [*_winding(block, "auxiliary"), *named(block, "main_to_auxiliary", "with main")]
        if block.has("capacitor"):
            capacitor = [*part_label(block, "capacitor"), *named(block, "capacitor_current")]
            sheet.down("capacitor", 2, 0, 1, capacitor)
            sheet.down("inductor", 2, 1, 2, auxiliary)
        else:
            sheet.down("inductor", 2, 0, 2, auxiliary, segment=(0, 2))

    def cautions_at(self, x: Point) -> tuple[str, ...]:
        """The charge only of a motor that has a capacitor."""
        if x.supply <= EXTRA_LOW_AC:
            return ()
        return self.cautions if x.capacitor is not None else ("mains",)
