"""The mains inlet: fuse, what stands across the line, switch and thermal fuses, up to the load."""

from __future__ import annotations

import math
import re
from typing import Any

from generator.circuit import at_rest, leakage, param, plug
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.failing import BAD_CONTACT_SHARE
from generator.circuit.kinds import _inlet_drawing as drawing
from generator.circuit.labels import computed, part_label
from generator.circuit.network import Wiring
from generator.circuit.ratings import margin, rating, within, worth_saying
from generator.circuit.says import _, phrase
from generator.circuit.sheet import Line, Sheet
from generator.notation.parts import Part

# Volts at 1 mA -> continuous AC rating of zinc oxide discs, as common data sheets list them (from memory).
VARISTOR_AC = {
    200: 130, 220: 140, 240: 150, 270: 175, 330: 210, 360: 230, 390: 250, 430: 275, 470: 300, 510: 320,
    560: 350, 620: 385, 680: 420, 750: 460, 780: 485, 820: 510, 910: 550, 1000: 625,
}  # fmt: skip
_DISC = re.compile(r"^(?:\d{1,2}[DNS])?(\d\d)([12])[JKLM]?$")
_BY_AC = re.compile(r"^S?\d{1,2}K(\d{2,3})$")  # diameter, tolerance, continuous AC volts: S14K275


def varistor_ac_rating(part: Part) -> tuple[float | None, str]:
    """(continuous AC volts, how it was found). A disc marked 431 is 430 V at 1 mA, not its AC rating."""
    for word in part.text.split():
        if code := _BY_AC.match(word):
            return float(code.group(1)), _("marked %(word)s:") % {"word": word}
        if code := _DISC.match(word):
            at_1ma = int(code.group(1)) * 10 ** int(code.group(2))
            known = VARISTOR_AC.get(at_1ma)
            return (
                (float(known), _("marked %(word)s, %(volts)s V at 1 mA:") % {"word": word, "volts": at_1ma})
                if known
                else (None, "")
            )
    if part.value is not None:
        return part.value.low, ""
    return part.ratings.get("V"), ""


# W, from which what is plugged in is a heating element, a lamp or a motor rather than electronics, of which an ohmmeter shows
# nothing, as it does where there are thermal fuses; common practice, no source
HEATS_FROM = 500.0


def _most_current(block: Block) -> float:
    """The load's current at the bad end of the mains band, also where the note states the mains without one."""
    supply, load, factor = (block.given(name) for name in ("supply", "load", "power_factor"))
    lowest = min(supply.low, supply.middle * (1 - block.mains.below))
    return load.high / (lowest * factor.low)


def _across_the_line(block: Block, top: float) -> list[Check]:
    found = rating(block, "x_capacitor", "V", top, "sees, at maximum mains,")
    capacitor = block.part("x_capacitor")
    if capacitor is not None and capacitor.value is not None:
        name = block.label("x_capacitor")
        if not plug.is_x_rated(capacitor):
            found.append(worth_saying(name, "is across the mains: it has to be marked X1 or X2"))
        if plug.held_to_it(capacitor.value.middle):
            found.append(plug.check(block, name))
    bleeder = block.quantity("bleeder")
    if bleeder is not None:
        found += rating(block, "bleeder", "W", top * top / bleeder.low, "dissipates, at maximum mains,")
        found += rating(block, "bleeder", "V", top * math.sqrt(2), "sees, at maximum mains,")
    varistor = block.part("varistor")
    if varistor is not None:
        limit, how = varistor_ac_rating(varistor)
        if limit is not None:
            check = within(
                block.label("varistor"), limit, top, "V", phrase(how, _("sees up to")), "continuous AC rating"
            )
            found.append(Check(check.part, check.what, limit > top, margin(limit, top)))
        else:
            found.append(
                worth_saying(
                    block.label("varistor"), "state its continuous AC rating to have it checked, such as 275V"
                )
            )
    return found


def _heat(block: Block, current: float) -> float:
    resistor = block.quantity("fuse_resistor")
    return current**2 * resistor.high if resistor else 0.0


def _one_line_only(block: Block) -> list[Check]:
    fuses: list[Part] = block.inputs["thermal_fuses"] or []
    if len(fuses) != 1:
        return []
    what = _(
        "the only one, in the live conductor: where the element can touch earth, or the plug is reversible, heating can continue although it has opened"
    )
    if drawing.in_neutral(fuses[0]):
        what = _(
            "the only one, in the neutral conductor: where the element can touch earth, or the plug is reversible, heating can continue although it has opened"
        )
    return [worth_saying(fuses[0].name("thermal fuse"), what)]


class MainsInlet(Kind):
    title = "Mains inlet"
    group = "Power"
    earthed = "case"
    what = (
        "Where the mains come in: fuse, interference capacitor with its bleeder, varistor, switch and "
        "thermal fuses."
    )
    assumes = (
        "From the plug on: fuse, inrush limiter, fusible resistor, choke; then capacitor, bleeder and varistor across; then "
        "switch and thermal fuses, and the load. The plug is pulled at the crest. In a whole device a fuse opens from four times its rating on, as within the second."
    )
    terminals = ("live", "neutral", "earth", "live_out", "neutral_out")
    cautions = ("mains", "charge")

    supply = param.Quantity("V", "the mains", default=param.MAINS)
    load = param.Quantity("W", "power that the appliance draws", spread="heating element")
    power_factor = param.Quantity("", "of that load; 1 for heating", default="1")
    fuse = param.Part("fuse", "the fuse in the line", default=None)
    fuse_resistor = param.Part(
        "resistor", "a fusible resistor in the line, such as R1 10 2W", default=None, role="fusible resistor"
    )
    inrush = param.Part("thermistor", "the inrush limiter, cold", default=None, role="inrush limiter")
    choke = param.Part("winding", "the suppression choke: ohms of both windings", default=None)
    y_capacitors = param.Parts(
        "capacitor",
        "capacitors to earth or between the sides, with the line each is at, such as C3 2n2 Y2 live",
        default=None,
        role="Y capacitor",
    )
    class_ = param.Choice(("I", "II"), "protection class of the appliance (IEC 61140)", default=None)
    thermal_fuses = param.Parts(
        "thermal fuse",
        "thermal fuses, with the line each is in (live, neutral)",
        default=None,
        role="thermal fuse",
    )
    x_capacitor = param.Part("capacitor", "the capacitor across the line", default=None, role="X capacitor")
    bleeder = param.Part("resistor", "the resistor that empties it", default=None)
    varistor = param.Part(
        "varistor",
        "the varistor across the line; its continuous AC rating, or what the disc is marked with",
        default=None,
    )
    switch = param.Part("switch", "the mains switch", default=None, role="mains switch")

    f = param.Quantity("Hz", "mains frequency", default=param.FREQUENCY)

    values = (
        Value("current", "A", "RMS current that the load draws", "load/(supply·power_factor)",
              "active power of a sine", at="in series with the load, or a clamp around one line",
              hazard="mains", wave="rms"),
        Value("peak", "V", "crest of the mains that reaches the load", "supply·√2", "crest of a sine",
              at="live to neutral at the load; a meter's AC range shows this divided by √2", hazard="mains", wave="sine peak"),
        Value("fuse_margin", "", "how many times the load's current the fuse is rated for", "fuse/current",
              "definition"),
        Value("surge_current", "A", "plugged in at the crest, cold", "peak/surge_ohm", "Ohm's law",
              interior=True),
        Value("fuse_resistor_power", "W", "heat in the fusible resistor", "current²·fuse_resistor", "Joule's law", interior=True),
        Value("choke_drop", "V", "across both windings of the choke together, RMS", "current·choke", "Ohm's law"),
        Value("earth_leakage", "A", "through the Y capacitors to earth, at the worse polarity",
              "2·π·f·supply·y_largest", leakage.SOURCE, at="appliance tester, protective conductor or touch current",
              hazard="mains"),
        Value("earth_leakage_neutral_open", "A", "the same with the neutral interrupted",
              "2·π·f·supply·(y_live + y_neutral)", leakage.SOURCE),
        Value("case_voltage_unearthed", "V", "case to earth with the earth missing, at no load",
              "supply·y_live/(y_live + y_neutral)", "capacitive divider: AC circuit theory",
              at="case to a good earth, AC range; a low-impedance meter pulls it down to almost nothing", hazard="mains"),
        Value("plug_voltage_1s", "V", "left between the plug's pins 1 s after it is pulled, switched off",
              "peak·exp(−wait/(bleeder·x_capacitor))", plug.RULE, at="between the pins of the pulled plug",
              hazard="charged", cold=True, across="bleeder"),
        Value("discharge_time_34v", "s", "from the crest down to 34 V", "bleeder·x_capacitor·ln(peak/limit)",
              plug.SOURCE, at="between the pins of the pulled plug", hazard="charged", cold=True,
              across="bleeder"),
    )  # fmt: skip
    helper_units = {
        "wait": "s", "limit": "V", "surge_ohm": "ohm", "y_live": "F", "y_neutral": "F", "y_largest": "F",
    }  # fmt: skip
    remarks = {
        ("y_capacitors", "short"): "live to earth or to the case: trips the breaker; in class II the case is at mains potential",
        ("y_capacitors", ""): "works as before, with more interference",
        ("thermal_fuses", ""): "something ran too hot: find out what before it is replaced",
        ("x_capacitor", "short"): "blows the fuse",
        ("varistor", "short"): "blows the fuse",
        ("switch", "short"): "cannot be switched off",
        ("switch", "high resistance"): "here with 10 % of the supply across it; it gets hot and burns",
        ("bleeder", "open"): "the plug's pins stay charged after it is pulled",
    }  # fmt: skip
    example = {
        "load": "180 W", "fuse": "F1 2A 250V", "thermal_fuses": ["TF1 167C 10A live", "TF2 167C 10A neutral"],
        "x_capacitor": "C1 220n X2 275V", "bleeder": "R1 1M", "varistor": "RV1 275V", "switch": "S1 6A 250V",
    }  # fmt: skip
    variants = (
        Variant("fuse and interference capacitor", {"thermal_fuses": "", "varistor": "", "switch": ""}),
        Variant("without an interference capacitor", {"x_capacitor": "", "bleeder": "", "varistor": ""}),
        Variant(
            "with a suppression choke and Y capacitors",
            {
                "choke": "L1 1.2",
                "y_capacitors": ["C2 2n2 Y2 live", "C3 2n2 Y2 neutral"],
                "class": "I",
                "thermal_fuses": "",
                "varistor": "",
            },
        ),
    )

    def solve(self, x: Point) -> Solved:
        cut = any(x.failed(key) == "open" for key in ("fuse", "fuse_resistor", "inrush", "choke"))
        blown = cut or "short" in (x.failed("x_capacitor"), x.failed("varistor"))
        dead = blown or x.failed("switch") == "open" \
            or any(x.failed(f"thermal_fuses_{i}") for i in range(x.thermal_fuses_count))  # fmt: skip
        share = 0.0 if dead else 1 - BAD_CONTACT_SHARE if x.failed("switch") == "high resistance" else 1.0
        crest = self.formula("peak").of(x)
        found: dict[str, float | Formula | None] = {"wait": plug.AFTER, "limit": plug.LIMIT}
        if share < 1:
            found |= {"current": share * self.formula("current").of(x), "peak": share * crest}
        if share == 0:
            found["fuse_margin"] = None
        limiting = sum(ohms for ohms in (x.fuse_resistor, x.inrush, x.choke) if ohms is not None)
        found["surge_ohm"] = limiting if 0 < limiting < math.inf else None
        if cut:
            found |= {"fuse_resistor_power": None, "choke_drop": None}
        found |= leakage.y_values(x)
        stored = 0.0 if blown else crest  # the capacitor lies behind the fuse, before the switch
        left = plug.solved(
            self, x, stored=stored, resistor="bleeder", capacitor="x_capacitor", apart=share < 1
        )
        return {**found, **left}

    def checks(self, block: Block) -> list[Check]:
        top = block.mains_top()
        current = _most_current(block)
        fuse = block.part("fuse")
        found: list[Check] = []
        if fuse is not None and fuse.value is not None:
            found.append(within(block.label("fuse"), fuse.value.low, current, "A", "carries"))
        elif block.part("fuse_resistor") is None:
            found.append(Check("fuse", "none, and no fusible resistor: a short burns the wiring", False))
        found += rating(block, "fuse_resistor", "W", _heat(block, current), "dissipates")
        found += rating(block, "choke", "A", current, "carries")
        found += rating(block, "inrush", "A", current, "carries")
        supply = block.quantity("supply")
        # ratings of what breaks the line are for the nominal mains (IEC 60127, IEC 61058)
        breaks = supply.middle if supply else top
        found += rating(block, "fuse", "V", breaks, "breaks the nominal mains,")
        for part in block.inputs["thermal_fuses"] or ():
            for unit, sees, what in (("A", current, "carries"), ("V", breaks, "breaks the nominal mains,")):
                if unit in part.ratings:
                    found.append(within(part.name("thermal fuse"), part.ratings[unit], sees, unit, what))
        found += rating(block, "switch", "A", current, "carries")
        found += rating(block, "switch", "V", breaks, "breaks the nominal mains,")
        found += _across_the_line(block, top) + leakage.leakage_checks(block, top)
        return found + _one_line_only(block)

    def vet(self, given: dict[str, Any]) -> list[tuple[str, str, str]]:
        found = []
        if given["power_factor"].high > 1:
            found.append(("power_factor", "is above 1", "a power factor lies between 0 and 1"))
        for part in given["y_capacitors"] or ():
            if not leakage.says_its_line(part):
                what = f"{part.name('one')} does not say at which line it lies"
                found.append(("y_capacitors", what, "live or neutral, such as C3 2n2 Y2 live"))
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """Live through fuse, switch and thermal fuses, neutral through its own; what stands across behind the fuse."""
        w.supply("supply", "live", "neutral", ac=True)
        w.common("neutral", mains=True)
        chain = [key for key in ("fuse", "inrush") if w.has(key)]
        w.chain("live", "_protected", chain, ac=True)
        series = "_protected"
        for key in ("fuse_resistor", "choke"):
            if w.has(key):
                behind = f"_behind_{key}"
                put = w.fusible if key == "fuse_resistor" else w.resistor
                put(key, series, behind, ac=True)
                series = behind
        w.same(series, "_fused")
        for position, part in enumerate(block.inputs["y_capacitors"] or ()):
            line = "neutral" if leakage.at_neutral(part.words) else "_fused"
            w.capacitor(f"y_capacitors_{position}", line, "earth", f"y_capacitors_{position}", ac=True)
        w.capacitor("x_capacitor", "_fused", "neutral", ac=True)
        w.resistor("bleeder", "_fused", "neutral", ac=True)
        w.open_until_short("varistor", "_fused", "neutral", ac=True)
        fuses: list[tuple[str, Part]] = [
            (f"thermal_fuses_{position}", part)
            for position, part in enumerate(block.inputs["thermal_fuses"] or ())
        ]
        live = [key for key, part in fuses if "neutral" not in part.words]
        neutral = [key for key, part in fuses if "neutral" in part.words]
        w.chain("_fused", "live_out", ["switch", *live] if w.has("switch") else live, ac=True)
        w.chain("neutral", "neutral_out", neutral, ac=True)
        x = block.point
        heats = x.power_factor == 1 and (bool(fuses) or x.load >= HEATS_FROM)
        w.watts("load", "live_out", "neutral_out", "supply", sort=at_rest.ANYTHING if heats else None)
        w.volts("voltage", "live_out", "neutral_out")
        w.volts("peak", "live_out", "neutral_out", times=math.sqrt(2))
        w.amps("current", next((key for key in ("fuse", "fuse_resistor", "inrush") if w.has(key)), "load"))

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Live on top, neutral at the bottom: fuse, what stands across the line, switch, thermal fuses, load."""
        live = [Line("L", "r")]
        sheet.port(0, 0, live + computed(block, "supply"))
        sheet.port(0, 1, [Line("N", "r")])
        column = drawing.limiters(block, sheet)
        for name, symbol in (("varistor", "varistor"), ("x_capacitor", "capacitor"), ("bleeder", "resistor")):
            if block.part(name) is None:
                continue
            sheet.dot((column, 0), (column, 1))
            sheet.down(symbol, column, 0, 1, part_label(block, name))
            if name == "x_capacitor":
                sheet.tag(column, *computed(block, "plug_voltage_1s"))
            sheet.wire((column, 0), (column + 1, 0))
            sheet.wire((column, 1), (column + 1, 1))
            column += 1
        column = drawing.to_earth(block, sheet, column)
        last = drawing.in_the_lines(block, sheet, column)
        sheet.down("resistor", last, 0, 1, part_label(block, "load"))
        sheet.tag(last, *computed(block, "peak", "current"))

    def dangerous(self, x: Point) -> set[tuple[str, str]]:
        y_shorted = {(f"y_capacitors_{i}", "short") for i in range(x.y_capacitors_count)}
        return {("bleeder", "open"), ("switch", "short"), *y_shorted}
