"""Every kind of block as a real circuit, by nodal analysis: what a meter would show, sound and with one part failed.

Written from the circuits themselves, not from the generator: Kirchhoff's laws, junctions as constant drops, the
readings as the list of kinds describes them. Parts carry the names that the blocks give them.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from lab import METER, OPEN, Failed, Real, Shown, Values
from network import Network

Measure = Callable[[Values, Failed], Shown]


def at(build: Callable[[Network], None], node: str, *, meter: float = METER) -> float:
    """The voltage at a node to ground, with the meter across it."""
    net = Network()
    build(net)
    net.resistor(node, "0", meter)
    return net.solve()[0][node]


def flow(build: Callable[[Network], None], name: str) -> float:
    """The current through a named element, the ammeter taken as a link; none below the smallest count."""
    net = Network()
    build(net)
    through = net.solve()[1][name]
    return max(0.0, through)


def within(supply: float, target: float, reached: Callable[[float], float]) -> float | None:
    """The supply at which a linear circuit's node comes to target; None where it never does."""
    share = reached(supply) / supply
    return target / share if share > 1e-6 else None


# --- dividers -------------------------------------------------------------------------------------------------------


def divider(supply: float, load: tuple[str, float] | None, cut: float | None) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def build(loaded: bool, volts: float) -> Callable[[Network], None]:
            def parts(net: Network) -> None:
                net.source("s", "0", volts)
                net.resistor("s", "tap", p["R5"], "R5")
                net.resistor("tap", "0", p["R6"])
                if loaded and load and load[0] == "ohm":
                    net.resistor("tap", "0", load[1])
                elif loaded and load:
                    net.load("tap", load[1], "load")

            return parts

        shown: Shown = {
            "output": at(build(True, supply), "tap"), "unloaded_output": at(build(False, supply), "tap"),
            "current": flow(build(True, supply), "R5"),
        }  # fmt: skip
        if cut is not None:
            shown["trip.supply"] = within(supply, cut, lambda v: at(build(True, v), "tap", meter=OPEN))
        return shown

    return measure


def thermistor(supply: float, fixed: str, b: float, side: str, warm: float | None) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def resistance(celsius: float) -> float:
            if not 1.0 < p["TH1"] < OPEN:
                return p["TH1"]
            return p["TH1"] * math.exp(b * p["TH1 B"] * (1 / (celsius + 273.15) - 1 / 298.15))

        def tap(sensor: float) -> float:
            upper, lower = (p[fixed], sensor) if side == "lower" else (sensor, p[fixed])

            def parts(net: Network) -> None:
                net.source("s", "0", supply)
                net.resistor("s", "tap", upper)
                net.resistor("tap", "0", lower)

            return at(parts, "tap")

        shown: Shown = {
            "resistance_25": math.inf if resistance(25) >= OPEN else resistance(25), "output_25": tap(resistance(25)),
            "open_output": tap(OPEN), "short_output": tap(1e-3),
        }  # fmt: skip
        if warm is not None:
            there = resistance(warm)
            shown |= {"warm.output": tap(there), "warm.resistance": math.inf if there >= OPEN else there}
        return shown

    return measure


def light(supply: float, gamma: float, side: str, dusk: float | None) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def cell(lux: float) -> float:
            return p["LDR1"] * (lux / 10.0) ** -gamma if 1.0 < p["LDR1"] < OPEN else p["LDR1"]

        def tap(lux: float) -> float:
            upper, lower = (p["R1"], cell(lux)) if side == "lower" else (cell(lux), p["R1"])

            def parts(net: Network) -> None:
                net.source("s", "0", supply)
                net.resistor("s", "tap", upper)
                net.resistor("tap", "0", lower)

            return at(parts, "tap")

        shown: Shown = {"dark_output": tap(0.1), "bright_output": tap(1000.0)}
        if dusk is not None:
            shown |= {
                "dusk.output": tap(dusk),
                "dusk.resistance": math.inf if cell(dusk) >= OPEN else cell(dusk),
            }
        return shown

    return measure


def button(supply: float, capacitor: bool) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        worn = p["R12"] * p["severity"] if failed == ("button", "high resistance") else 1e-3

        def parts(pressed: bool) -> Callable[[Network], None]:
            def build(net: Network) -> None:
                net.source("s", "0", supply)
                net.resistor("s", "contact", p["R12"])
                net.resistor("contact", "pin", p.get("R13", 0.0))
                if failed == ("C9", "short"):
                    net.resistor("pin", "0", 0.0)
                shut = 1e-3 if failed == ("button", "short") else worn if pressed else OPEN
                if failed == ("button", "open"):
                    shut = OPEN
                net.resistor("contact", "0", shut, "button")

            return build

        shown: Shown = {"idle_voltage": at(parts(False), "pin"), "press_current": flow(parts(True), "button")}
        if failed == ("button", "short"):
            shown["press_current"] = (
                None  # with the ammeter in the button's place there is nothing stuck any more
            )
        if capacitor and failed not in (("C9", "short"), ("button", "short")):
            behind = p["R12"] + p.get("R13", 0.0)
            # an oscilloscope's probe is 10 Mohm too
            shown["release_time_constant"] = (
                math.inf if behind > OPEN / 2 else p["C9"] * behind * METER / (METER + behind)
            )
        return shown

    return measure


def comparator(
    reference: float, behind: float, high: float, low: float, pull_up: bool, inverting: bool
) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def plus(signal: float, output: str) -> float:
            def parts(net: Network) -> None:
                net.source("in", "0", signal)
                net.resistor("in", "r", behind if inverting else 0.0)
                net.resistor("r", "plus", p["R5"])
                net.resistor("plus", "out", p["R6"])
                if output == "high" and pull_up:
                    net.source("rail", "0", high)
                    net.resistor("rail", "out", p["R7"])
                else:
                    net.source("out", "0", high if output == "high" else low)

            return at(parts, "plus") if inverting else at(parts, "plus", meter=OPEN)

        def threshold(output: str) -> float | None:
            if inverting:
                return plus(reference, output)
            # linear in the signal: the one that brings the + input to the reference
            at_0, at_1 = plus(0.0, output), plus(1.0, output)
            found = (reference - at_0) / (at_1 - at_0) if at_1 - at_0 > 1e-3 else None
            return found if found is not None and found > 0 else None  # no input goes below 0 V

        upper, lower = ("high", "low") if inverting else ("low", "high")
        shown: Shown = {"upper_threshold": threshold(upper), "lower_threshold": threshold(lower)}
        if (
            failed[0] == "comparator"
        ):  # the output no longer moves: low when shorted, high (or loose) when open
            stays = "low" if failed[1] == "short" else "high" if pull_up else ""
            shown = {
                k: v if inverting and s == stays else None for (k, v), s in zip(shown.items(), (upper, lower))
            }
        a, b = shown["upper_threshold"], shown["lower_threshold"]
        shown["hysteresis"] = None if a is None or b is None else max(0.0, a - b)
        return shown

    return measure


# --- supplies and regulators ----------------------------------------------------------------------------------------


def zener(supply: float, load: tuple[str, float] | None) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def parts(net: Network) -> None:
            net.source("s", "0", supply)
            net.resistor("s", "out", p["R2"], "R2")
            if failed == ("ZD1", "short"):
                net.resistor("out", "0", 1e-3, "ZD1")
            elif failed != ("ZD1", "open"):
                net.diode("out", "0", p["ZD1"], "ZD1")
            if load and load[0] == "ohm":
                net.resistor("out", "0", load[1])
            elif load and failed != ("ZD1", "short"):  # at 0 V a load draws nothing
                net.load("out", load[1], "load")

        return {
            "output": max(0.0, at(parts, "out")), "series_current": flow(parts, "R2"),
            "zener_current": 0.0 if failed == ("ZD1", "open") else flow(parts, "ZD1"),
        }  # fmt: skip

    return measure


def regulator(
    supply: float, volts: float, dropout: float, load: tuple[str, float], quiescent: float
) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def parts(net: Network) -> None:
            net.source("s", "0", supply)
            net.resistor("s", "in", p.get("R2", 1e-3), "R2")
            if failed == ("regulator", "short"):
                net.resistor("in", "out", 1e-3)
            elif failed != ("regulator", "open"):
                net.regulator("in", "out", volts=volts, dropout=dropout, name="chip")
            if failed != ("regulator", "open"):
                net.load("in", quiescent, "own")
            if load[0] == "ohm":
                net.resistor("out", "0", load[1])
            else:
                net.load("out", load[1], "load")

        net = Network()
        parts(net)
        volts_at = net.solve()[0]
        shown: Shown = {"output_voltage": at(parts, "out")}
        if "R2" in p:
            shown["series_drop"] = supply if p["R2"] >= OPEN else volts_at["s"] - volts_at["in"]
        return shown

    return measure


def feedback(reference: float, across: str, bias: float) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        """The loop moves the output until the reference stands across its resistor, or the input gives no more."""
        other = "R15" if across == "R14" else "R14"
        current = reference / p[across]
        if p[other] >= OPEN:
            return {"output": p["severity"], "divider_current": 0.0}  # whatever comes in
        return {"output": reference + (current + bias) * p[other], "divider_current": current}

    return measure


def charger(supply: float, cells: int, cell: float) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        gone = failed[0] == "a cell of the battery"
        battery = (cells - 1 if gone else cells) * cell
        if gone and failed[1] == "open":
            return {"current": 0.0}

        def parts(net: Network) -> None:
            net.source("s", "0", supply)
            net.resistor("s", "b", p["R1"], "R1")
            net.diode("b", "0", battery, "battery")

        return {"current": flow(parts, "R1")}

    return measure


def led(supply: float, count: int) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def parts(net: Network) -> None:
            net.source("s", "0", supply)
            net.resistor("s", "n0", p["R14"], "R14")
            for k in range(count):
                here, there = f"n{k}", "0" if k == count - 1 else f"n{k + 1}"
                if k == 0 and failed[0] == "LD1":
                    net.resistor(here, there, OPEN if failed[1] == "open" else 1e-3)
                else:
                    net.diode(here, there, p["LD1"], f"LD{k}")

        return {"current": flow(parts, "R14")}

    return measure


# --- switches -------------------------------------------------------------------------------------------------------


def coupler(in_supply: float, forward: float, ctr: float, out_supply: float, saturation: float) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def source_side(net: Network) -> None:
            net.source("s", "0", in_supply)
            net.resistor("s", "led", p["R12"], "R12")
            if failed[0] == "coupler LED":
                net.resistor("led", "0", OPEN if failed[1] == "open" else 1e-3)
            else:
                net.diode("led", "0", forward, "led")

        current = flow(source_side, "R12")
        carried = (
            0.0 if failed[0] == "coupler LED" or failed == ("coupler transistor", "open") else ctr * current
        )

        def far_side(net: Network) -> None:
            net.source("s", "0", out_supply)
            net.resistor("s", "c", p["R8"])
            if failed == ("coupler transistor", "short"):
                net.resistor("c", "0", 1e-3)
            elif carried and p["R8"] < OPEN:  # a current source that stops at the saturation voltage
                net.diode("sat", "c", 0.0, "stop")
                net.source("sat", "0", saturation)
                net.load("c", carried, "carried")

        available = None if failed == ("coupler transistor", "short") else carried
        return {"led_current": current, "available_current": available, "output": max(0.0, at(far_side, "c"))}

    return measure


def bipolar(
    drive: float, supply: float, hfe: float, load: tuple[str, float], pull_down: bool, flyback: bool
) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def parts(net: Network) -> None:
            net.source("drive", "0", drive)
            net.resistor("drive", "base", p["R16"])
            if pull_down:
                net.resistor("base", "0", p["R17"])
            net.source("rail", "0", supply)
            net.resistor("rail", "c", OPEN if failed == ("RL1", "open") else load[1], "RL1")
            if failed == ("D6", "short"):
                net.resistor("rail", "c", 1e-2)
            if failed == ("Q1", "short"):
                net.resistor("c", "0", 1e-3)
                net.diode("base", "0", 0.7, "Q1 base")
            elif failed != ("Q1", "open"):
                net.transistor("base", "c", "0", hfe=hfe, vbe=0.7, vce_sat=0.2, name="Q1")

        return {
            "base_current": 0.0 if failed == ("Q1", "open") else flow(parts, "Q1 base"), "base_voltage": at(parts, "base"),
            "load_current": flow(parts, "RL1"), "collector_voltage": max(0.0, at(parts, "c")),
        }  # fmt: skip

    return measure


def mosfet(drive: float, supply: float, vth: float, rds: float, load: float, pull_down: bool) -> Measure:
    def measure(p: Values, failed: Failed) -> Shown:
        def gate(net: Network) -> None:
            net.source("drive", "0", drive)
            net.resistor("drive", "g", p["R18"])
            if pull_down:
                net.resistor("g", "0", p["R19"])

        at_gate = at(gate, "g")
        loose = p["R18"] >= OPEN and not pull_down
        on = at(gate, "g", meter=OPEN) >= vth and failed != ("Q2", "open") and not loose
        channel = 0.0 if failed == ("Q2", "short") else rds if on else OPEN
        if failed == ("D7", "short") and channel < OPEN:
            return {"gate_voltage": at_gate, "load_current": 0.0, "on_drop": 0.0}  # the fuse has blown

        def parts(net: Network) -> None:
            net.source("rail", "0", supply)
            net.resistor("rail", "d", OPEN if failed == ("M2", "open") else load, "M2")
            net.resistor("d", "0", channel)

        return {"gate_voltage": at_gate, "load_current": flow(parts, "M2"), "on_drop": at(parts, "d")}

    return measure


def R(name: str, ohm: float, tolerance: float = 0.05) -> Real:
    return Real(name, "R", ohm, tolerance)


def C(name: str, farad: float, tolerance: float = 0.1) -> Real:
    return Real(name, "C", farad, tolerance)
