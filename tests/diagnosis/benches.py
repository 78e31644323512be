"""The circuits that faults are put into: every kind with parts and readings, two or three benches each."""

from __future__ import annotations

import circuits as c
import physics as f
import rectifiers as r
from circuits import C, R
from lab import Bench, Real


def dividers() -> list[Bench]:
    found = []
    for supply, upper, lower, load, cut in (
        (12.0, 33e3, 10e3, None, 1.63), (24.0, 100e3, 22e3, ("ohm", 47e3), None), (5.0, 1e6, 680e3, None, 1.5), (9.0, 4.7e3, 3.3e3, ("A", 0.3e-3), None),
    ):  # fmt: skip
        given: dict[str, object] = {
            "supply": f"{supply} V",
            "upper": f"R5 {upper:g} 2%",
            "lower": f"R6 {lower:g} 2%",
        }
        if load:
            given["load"] = f"{load[1]} {load[0]}"
        if cut:
            given["cut_points"] = {"trip": {"output": f"{cut} V"}}
        found.append(
            Bench(
                "divider", given, (R("R5", upper, 0.02), R("R6", lower, 0.02)), c.divider(supply, load, cut)
            )
        )
    return found


def sensors() -> list[Bench]:
    found = []
    for supply, fixed, r25, b, side, warm in (
        (5.0, 10e3, 10e3, 3950.0, "lower", 38.0), (3.3, 47e3, 100e3, 4250.0, "upper", 70.0), (12.0, 470e3, 220e3, 4100.0, "lower", None),
    ):  # fmt: skip
        given: dict[str, object] = {
            "supply": f"{supply} V", "fixed": f"R9 {fixed:g} 1%", "thermistor": f"TH1 {r25:g} B{b:g}", "thermistor_side": side,
        }  # fmt: skip
        if warm:
            given["cut_points"] = {"warm": {"temperature": f"{warm} C"}}
        parts = (R("R9", fixed, 0.01), Real("TH1", "T", r25, 0.05), Real("TH1 B", "sound", 1.0, 0.01))
        found.append(Bench("thermistor-divider", given, parts, c.thermistor(supply, "R9", b, side, warm)))
    for supply, fixed, r10, gamma, side, dusk in (
        (6.0, 33e3, 10e3, 0.7, "lower", 20.0),
        (5.0, 220e3, 50e3, 0.8, "upper", None),
    ):
        given = {
            "supply": f"{supply} V",
            "fixed": f"R1 {fixed:g}",
            "sensor": f"LDR1 {r10:g} gamma{gamma} 20%",
            "sensor_side": side,
        }
        if dusk:
            given["cut_points"] = {"dusk": {"illuminance": f"{dusk} lux"}}
        parts = (R("R1", fixed), Real("LDR1", "T", r10, 0.2))
        found.append(Bench("light-divider", given, parts, c.light(supply, gamma, side, dusk)))
    for gain, load, shunt, limit in ((20.0, 1.2, 0.1, 4.0), (1.0, 0.35, 2.2, 0.9), (50.0, 3.0, 0.01, 2.0)):
        given = {
            "gain": f"{gain:g}",
            "load": f"{load} A",
            "shunt": f"R20 {shunt:g} 1%",
            "limit": f"{limit} V",
        }
        found.append(
            Bench(
                "sense-resistor",
                given,
                (R("R20", shunt, 0.01),),
                f.sense(gain, load, limit),
                severe=(3.0, 15.0),
            )
        )
    return found


def logic() -> list[Bench]:
    found = []
    for supply, pull_up, series, cap in (
        (5.0, 10e3, 1e3, 100e-9),
        (3.3, 100e3, None, 1e-6),
        (12.0, 1e6, 47e3, 22e-9),
    ):
        given: dict[str, object] = {
            "supply": f"{supply} V",
            "pull_up": f"R12 {pull_up:g}",
            "capacitor": f"C9 {cap * 1e9:g}n film",
        }
        parts = [R("R12", pull_up), C("C9", cap), Real("button", "switch")]
        if series:
            given["series"] = f"R13 {series:g}"
            parts.append(R("R13", series))
        found.append(Bench("button-input", given, tuple(parts), c.button(supply, True), severe=(0.5, 2.0)))
    for reference, behind, inp, back, high, pull, inverting in (
        (2.0, 0.0, 10e3, 220e3, 6.0, 10e3, True), (2.5, 6.8e3, 10e3, 100e3, 5.0, None, True), (4.0, 0.0, 22e3, 330e3, 12.0, 4.7e3, False),
    ):  # fmt: skip
        given = {
            "supply": f"{high} V", "reference": f"{reference} V", "reference_resistance": f"{behind:g} ohm", "input_resistor": f"R5 {inp:g} 1%",
            "feedback": f"R6 {back:g} 1%", "input": "inverting" if inverting else "non-inverting",
        }  # fmt: skip
        parts = [R("R5", inp, 0.01), R("R6", back, 0.01), Real("comparator", "D")]
        if pull:
            given["pull_up"] = f"R7 {pull:g}"
            parts.append(R("R7", pull))
        found.append(
            Bench(
                "comparator",
                given,
                tuple(parts),
                c.comparator(reference, behind, high, 0.0, bool(pull), inverting),
            )
        )
    for a, ctr, rin, out, up in (
        (12.0, 0.8, 2.2e3, 5.0, 4.7e3),
        (5.0, 0.5, 330.0, 3.3, 10e3),
        (24.0, 0.2, 4.7e3, 5.0, 1e3),
    ):
        given = {
            "input_supply": f"{a} V",
            "input_resistor": f"R12 {rin:g}",
            "ctr": f"{ctr * 100:g} %",
            "output_supply": f"{out} V",
            "pull_up": f"R8 {up:g}",
        }
        parts = [R("R12", rin), R("R8", up), Real("coupler LED", "D"), Real("coupler transistor", "D")]
        found.append(Bench("optocoupler", given, tuple(parts), c.coupler(a, 1.2, ctr, out, 0.2)))
    return found


def timing() -> list[Bench]:
    found = []
    for ohm, farad, supply, threshold, way in (
        (10e3, 1e-6, 5.0, 3.5, "charge"),
        (1e6, 10e-6, 12.0, 8.0, "charge"),
        (47e3, 470e-9, 9.0, 3.0, "discharge"),
    ):
        given = {
            "resistor": f"R21 {ohm:g}",
            "capacitor": f"C10 {farad * 1e9:g}n film",
            "supply": f"{supply} V",
            "threshold": f"{threshold} V",
            "direction": way,
        }
        found.append(
            Bench(
                "rc-delay", given, (R("R21", ohm), C("C10", farad)), f.rc(supply, threshold, way == "charge")
            )
        )
    for ra, rb, farad in ((10e3, 47e3, 100e-9), (1e3, 1e6, 1e-6)):
        given = {"ra": f"R1 {ra:g}", "rb": f"R2 {rb:g}", "capacitor": f"C1 {farad * 1e9:g}n film"}
        found.append(
            Bench(
                "timer-555",
                given,
                (R("R1", ra), R("R2", rb), C("C1", farad), Real("timer chip", "D")),
                f.timer(True),
            )
        )
    given = {"mode": "monostable", "ra": "R1 470k", "capacitor": "C1 47u 20%"}
    found.append(
        Bench(
            "timer-555", given, (R("R1", 470e3), C("C1", 47e-6, 0.2), Real("timer chip", "D")), f.timer(False)
        )
    )
    for low, pot, farad in ((4.7e3, 470e3, 68e-9), (10e3, 220e3, 100e-9)):
        given = {
            "fixed": f"R1 {low:g}",
            "pot": f"VR1 {pot:g} 20%",
            "capacitor": f"C2 {farad * 1e9:g}n",
            "breakover": "32 V",
            "breakback": "10 V",
        }
        parts = (R("R1", low), R("VR1", pot, 0.2), C("C2", farad), Real("diac", "D"))
        found.append(Bench("phase-control", given, parts, f.dimmer(32.0, 10.0), mains=True))
    return found


def supplies() -> list[Bench]:
    found = []
    for secondary, kind, regulation, rated, load, cap in (
        (12.0, "bridge", 0.12, 0.25, ("A", 0.12), 1000e-6), (9.0, "bridge", 0.0, None, ("A", 0.3), 2200e-6),
        (18.0, "centre-tap", 0.1, 1.0, ("A", 0.6), 4700e-6), (8.0, "half-wave", 0.15, 0.2, ("A", 0.05), 1000e-6),
    ):  # fmt: skip
        given: dict[str, object] = {
            "secondary": f"{secondary} V", "rectifier": kind, "smoothing": f"C3 {cap * 1e6:g}u 35V 20%", "bleeder": "R4 22k", "load": f"{load[1]} A",
            "regulation": f"{regulation * 100:g} %",
        }  # fmt: skip
        if rated:
            given["rated_current"] = f"{rated} A"
        parts = (
            C("C3", cap, 0.2),
            R("R4", 22e3),
            Real("rectifier diode", "D"),
            Real("transformer winding", "one"),
        )
        found.append(
            Bench(
                "transformer-supply",
                given,
                parts,
                r.supply(secondary, kind, regulation, rated, load),
                mains=True,
            )
        )
    for output, load, cap, kind in ((5.1, 0.008, 330e-9, "half-wave"), (12.0, 0.02, 470e-9, "bridge")):
        given = {
            "dropper": f"C1 {cap * 1e9:g}n X2 275V", "series": "R1 100 1W", "discharge": "R2 470k 0.5W 500V", "output": f"{output} V",
            "load": f"{load} A", "smoothing": "C2 470u 16V", "clamp": f"ZD1 {output}V 1W", "rectifier": f"{kind} D1",
        }  # fmt: skip
        parts = (
            C("C1", cap),
            R("R1", 100.0),
            R("R2", 470e3),
            C("C2", 470e-6, 0.2),
            Real("ZD1", "D"),
            Real("D1", "D"),
        )
        found.append(
            Bench("capacitive-dropper", given, parts, r.dropper(output, load, kind == "bridge"), mains=True)
        )
    for supply, ohm, volts, load in (
        (12.0, 220.0, 5.1, ("A", 0.012)),
        (24.0, 1000.0, 9.1, ("ohm", 1500.0)),
        (12.0, 220.0, 5.1, ("A", 0.06)),
    ):
        given = {
            "supply": f"{supply} V",
            "series": f"R2 {ohm:g}",
            "zener": f"ZD1 {volts}V",
            "load": f"{load[1]} {load[0]}",
        }
        found.append(
            Bench("zener-regulator", given, (R("R2", ohm), Real("ZD1", "D", volts)), c.zener(supply, load))
        )
    for supply, ohm, volts, load in (
        (10.0, 10.0, 5.0, ("A", 0.12)),
        (16.0, 33.0, 12.0, ("A", 0.1)),
        (9.0, None, 5.0, ("ohm", 120.0)),
    ):
        given = {"input": f"{supply} V", "output": f"{volts} V", "load": f"{load[1]} {load[0]}"}
        parts = [Real("regulator", "D")]
        if ohm:
            given["series"] = f"R2 {ohm:g}"
            parts.append(R("R2", ohm))
        found.append(
            Bench("linear-regulator", given, tuple(parts), c.regulator(supply, volts, 2.0, load, 0.005))
        )
    for reference, upper, lower, across, bias in (
        (2.5, 18e3, 4.7e3, "lower", 0.0),
        (1.25, 240.0, 1500.0, "upper", 50e-6),
        (0.8, 52.3e3, 10e3, "lower", 0.0),
    ):
        given = {
            "reference": f"{reference} V",
            "upper": f"R14 {upper:g} 1%",
            "lower": f"R15 {lower:g} 1%",
            "reference_across": across,
            "bias_current": f"{bias} A",
        }
        output = reference * (1 + (upper / lower if across == "lower" else lower / upper))
        parts = (R("R14", upper, 0.01), R("R15", lower, 0.01))
        measure = c.feedback(reference, "R15" if across == "lower" else "R14", bias)
        found.append(Bench("feedback-divider", given, parts, measure, severe=(1.3 * output, 3 * output)))
    for strings, cap, volts, drawn in (((330e3, 330e3), 22e-6, 16.0, 50e-6), ((220e3,), 47e-6, 12.0, 0.0)):
        names = tuple(f"R{k + 1}" for k in range(len(strings)))
        given = {
            "start_resistors": [f"{n} {v:g} 350V" for n, v in zip(names, strings)], "capacitor": f"C9 {cap * 1e6:g}u 35V",
            "start_voltage": f"{volts} V", "start_current": f"{drawn} A",
        }  # fmt: skip
        parts = (*(R(n, v) for n, v in zip(names, strings)), C("C9", cap, 0.2))
        found.append(Bench("offline-start", given, parts, f.start(names, volts, drawn), mains=True))
    return found


def batteries() -> list[Bench]:
    found = []
    for cells, chemistry, capacity, load in (
        (3, "li-ion", 2.5, 0.5),
        (6, "lead-acid", 7.0, 1.0),
        (4, "ni-mh", 2.0, 0.2),
    ):
        given: dict[str, object] = {
            "cells": f"{cells}",
            "chemistry": chemistry,
            "capacity": f"{capacity} Ah",
            "load": f"{load} A",
        }
        found.append(
            Bench(
                "battery-pack", given, (Real("one cell", "D"),), f.battery(cells, chemistry, capacity, load)
            )
        )
    for supply, cells, cell, ohm, chemistry in (
        (6.0, 2, 1.4, 22.0, "ni-mh"),
        (15.0, 6, 2.1, 4.7, "lead-acid"),
    ):
        given = {
            "supply": f"{supply} V",
            "battery": f"{cells * cell:g} V",
            "resistor": f"R1 {ohm:g}",
            "chemistry": chemistry,
        }
        parts = (R("R1", ohm), Real("a cell of the battery", "D"))
        found.append(Bench("charge-resistor", given, parts, c.charger(supply, cells, cell)))
    for supply, ohm, volts, colour, count in (
        (5.0, 560.0, 1.8, "red", 1),
        (12.0, 150.0, 3.0, "white", 3),
        (24.0, 2200.0, 2.1, "green", 2),
    ):
        given = {
            "supply": f"{supply} V",
            "resistor": f"R14 {ohm:g}",
            "forward": f"LD1 {colour}",
            "count": f"{count}",
        }
        found.append(
            Bench("led-indicator", given, (R("R14", ohm), Real("LD1", "D", volts)), c.led(supply, count))
        )
    return found


def drivers() -> list[Bench]:
    found = []
    for drive, base, down, hfe, supply, load, diode in (
        (5.0, 2200.0, 10e3, 100, 12.0, 400.0, True),
        (3.3, 10e3, None, 200, 24.0, 1500.0, True),
        (5.0, 47e3, None, 100, 12.0, 100.0, False),
    ):
        given: dict[str, object] = {
            "drive": f"{drive} V",
            "base": f"R16 {base:g}",
            "transistor": f"Q1 hfe{hfe} 500mA 45V",
            "load": f"RL1 {load:g}",
            "load_supply": f"{supply} V",
        }
        parts = [R("R16", base), Real("Q1", "D"), Real("RL1", "one")]
        if down:
            given["pull_down"] = f"R17 {down:g}"
            parts.append(R("R17", down))
        if diode:
            given["flyback"] = "D6"
            parts.append(Real("D6", "D"))
        found.append(
            Bench(
                "transistor-switch",
                given,
                tuple(parts),
                c.bipolar(drive, supply, hfe, ("ohm", load), bool(down), diode),
            )
        )
    for drive, gate, down, vth, rds, supply, load in (
        (5.0, 100.0, 100e3, 1.5, 0.1, 12.0, 140.0),
        (10.0, 470e3, 1e6, 3.0, 0.05, 24.0, 12.0),
    ):
        given = {
            "drive": f"{drive} V", "gate": f"R18 {gate:g}", "pull_down": f"R19 {down:g}", "transistor": f"Q2 vth{vth} rds{rds} 2A 60V",
            "load": f"M2 {load:g}", "load_supply": f"{supply} V", "flyback": "D7",
        }  # fmt: skip
        parts = [R("R18", gate), R("R19", down), Real("Q2", "D"), Real("M2", "one"), Real("D7", "D")]
        found.append(
            Bench("mosfet-switch", given, tuple(parts), c.mosfet(drive, supply, vth, rds, load, True))
        )
    for watts, cap in ((45.0, 10e-9), (200.0, 100e-9)):
        given = {
            "load": f"{watts:g} W",
            "triac": "TR1 4A 600V",
            "gate_resistor": "R7 470",
            "snubber_resistor": "R8 100",
            "snubber_capacitor": f"C6 {cap * 1e9:g}n X2",
        }
        parts = [Real("TR1", "D"), R("R8", 100.0), C("C6", cap), R("R7", 470.0)]
        found.append(Bench("triac-switch", given, tuple(parts), f.triac(watts, True), mains=True))
    for watts, volts, mains, heat in (
        (95.0, 230.0, True, None),
        (2200.0, 230.0, True, (1.7 * 4186.0, 80.0, 0.9)),
        (60.0, 12.0, False, None),
    ):
        given = {"power": f"E1 {watts:g}W", "rated_voltage": f"{volts:g} V", "contact": "RL1 10A"}
        if heat:
            given |= {"water": "1.7 l", "from": "20 C", "to": "100 C", "efficiency": "0.9"}
        parts = [Real("E1", "one"), Real("RL1", "switch")]
        found.append(
            Bench(
                "heater",
                given,
                tuple(parts),
                f.heater(watts, volts, mains, heat),
                mains=mains,
                severe=(0.05, 0.2),
            )
        )
    for supply, winding, running in ((6.0, 6.0, 0.18), (12.0, 60.0, 0.05)):
        given = {
            "supply": f"{supply} V",
            "winding": f"M1 {winding:g} ohm",
            "running_current": f"{running} A",
            "capacitor": "C3 100n",
        }
        found.append(
            Bench("dc-motor", given, (Real("M1", "one"), C("C3", 100e-9)), f.motor(supply, winding, running))
        )
    for watts, thermal, cap, bleeder in (
        (180.0, ("TF1", "TF2"), 220e-9, 1e6),
        (900.0, ("TF1",), 470e-9, 470e3),
    ):
        given = {
            "load": f"{watts:g} W", "fuse": "F1 10A 250V", "thermal_fuses": [f"{t} 167C 10A live" for t in thermal], "x_capacitor": f"C1 {cap * 1e9:g}n X2 275V",
            "bleeder": f"R1 {bleeder:g}", "varistor": "RV1 275V", "switch": "S1 10A 250V",
        }  # fmt: skip
        parts = [
            Real("F1", "one"),
            *(Real(t, "one") for t in thermal),
            C("C1", cap),
            R("R1", bleeder),
            Real("RV1", "varistor"),
            Real("S1", "switch"),
        ]
        found.append(
            Bench(
                "mains-inlet",
                given,
                tuple(parts),
                f.inlet(watts, thermal, True),
                mains=True,
                severe=(0.05, 0.2),
            )
        )
    return found


def every_bench() -> list[Bench]:
    return [*dividers(), *sensors(), *logic(), *timing(), *supplies(), *batteries(), *drivers()]
