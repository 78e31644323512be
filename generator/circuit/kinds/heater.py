"""A heating element behind a relay or thermostat, and the time that it takes to heat something."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from generator.circuit import param
from generator.circuit.at_rest import LAMP, resting
from generator.circuit.block import Block, Check, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.failing import BAD_CONTACT_SHARE
from generator.circuit.hazards import EXTRA_LOW_AC
from generator.circuit.labels import computed, label_of, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.ratings import rating, worth_saying
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet
from generator.notation.parts import Part
from generator.notation.quantity import Quantity
from generator.problems import did_you_mean

HEAT_CAPACITY_OF_WATER = 4186.0  # J/(kg·K), at 15 °C: the 15 °C calorie
OVERPOWERED = 1.25  # times the rated power: beyond what the mains band alone explains


def _one_of(position: int) -> Callable[[Point], float]:
    """The resistance of one of several elements."""
    return lambda x: x.rated_voltage**2 / x.__dict__[f"elements_{position}"]


def rated_powers(x: Point) -> dict[str, float]:
    """Rated watts of each element by its designator; 0 for an open one."""
    watts = x.each("elements") if x.elements_count else []
    return {
        called: 0.0 if x.failed(f"elements_{i}") == "open" else each
        for i, (called, each) in enumerate(zip(x.__dict__.get("elements_called", ()), watts))
    }


def position_power(how: str, watts: list[float]) -> float:
    """Watts at the rated voltage of elements side by side (their sum) or in series: 1/Σ(1/P), 0 with one of them open.

    watts: rated power of each, at one rated voltage. Source: Joule's and Ohm's laws.
    """
    if how == "parallel":
        return sum(watts)
    return 0.0 if 0.0 in watts else 1 / sum(1 / each for each in watts)


def _vet_elements(inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
    """Power or elements, each with a name where positions name them."""
    elements = inputs["elements"]
    if (inputs["power"] is None) == (not elements):
        what = "power and elements are both given" if elements else "neither power nor elements is given"
        return [("power", what, "one of them: power: E1 95 W, or elements: [E1 1000W, E2 1200W]")]
    known = [part.designator for part in elements or ()]
    found = []
    if len(set(known)) < len(known) or "" in known:
        found.append(("elements", "each needs a designator of its own", "such as [E1 1000W, E2 1200W]"))
    for name, (_how, designators) in (inputs["positions"] or {}).items():
        for each in designators:
            if each not in known:
                found.append(("positions", f"{name}: no element {each}", did_you_mean(each, known)))
    low, high = inputs["closes"], inputs["opens"]
    if low is not None and high is not None and low.low > high.high:
        found.append(("closes", f"{low.text} is above {high.text}, where it opens", "the cooler of the two"))
    return found


class Heater(Kind):
    title = "Heater"
    group = "Driving"
    earthed = "sheath"
    what = "A heating element, the contact that switches it, and how long it heats something."
    assumes = (
        "The element is the same resistance hot and cold: true of heating wire, not of PTC elements; a lamp's filament (LA1) is "
        "cold to an ohmmeter. Water weighs 1 kg a litre."
    )
    terminals = ("live", "neutral")
    cautions = ("mains", "heat")

    power = param.Part("element", "the element's rated power", default=None, role="element")
    elements = param.Parts(
        "element",
        "several elements, in place of power, such as [E1 1000W, E2 1200W]",
        default=None,
        role="element",
    )
    positions = param.Positions(
        "what a selector connects: {high: [E1, E2], keep: {series: [E1, E2]}}", default=None
    )
    thermostat = param.Part("contact", "a thermostat in series, with its current", default=None)
    opens = param.Quantity("°C", "where the thermostat opens", default=None)
    closes = param.Quantity("°C", "where it closes again", default=None)
    rated_voltage = param.Quantity("V", "the voltage at which it takes that power")
    supply = param.Quantity(
        "V",
        "what feeds it; the mains where rated_voltage is within 20 % of it, else rated_voltage",
        default=param.MainsIfNear(rated_voltage),
    )
    contact = param.Part(
        "contact", "the relay or thermostat that switches it, with its current", default=None
    )
    water = param.Quantity("l", "how much water is heated", default=None)
    mass = param.Quantity("kg", "how much of another substance is heated", default=None)
    heat_capacity = param.Quantity("J/(kg·K)", "its specific heat", default="4186")
    from_ = param.Quantity("°C", "where heating starts", default=None)
    to = param.Quantity("°C", "where heating ends", default=None)
    efficiency = param.Quantity(
        "",
        "share of the heat that ends in what is heated",
        default=param.Unstated("0.9", "efficiency"),
        beside="to",
    )

    values = (
        Value("resistance", "ohm", "of the element, cold or hot", "rated_voltage²/power", "Joule's law",
              at="across the element, one lead off", cold=True),
        Value("power_at_supply", "W", "what it takes at the supply", "supply²/resistance", "Joule's law",
              at="power meter at the plug"),
        Value("current", "A", "through element and contact", "supply/resistance", "Ohm's law",
              at="clamp meter around one wire", hazard="mains", wave="rms"),
        Value("heat_time", "s", "until it is warm", "mass·heat_capacity·rise/(power_at_supply·efficiency)",
              "definition of specific heat", at="watch and thermometer"),
        Value("thermostat_band", "K", "from where the thermostat opens to where it closes", "opens − closes",
              "definition", at="thermometer at the thermostat"),
    )  # fmt: skip
    cut_values = (
        Value("resistance", "ohm", "in this position", "rated_voltage²/rated", "Joule's law", cold=True,
              at="across the selector's output in this position, plug out"),
        Value("power", "W", "what this position takes at the supply", "supply²/resistance", "Joule's law",
              at="power meter at the plug"),
        Value("current", "A", "in this position", "supply/resistance", "Ohm's law", at="clamp meter around one wire",
              hazard="mains"),
    )  # fmt: skip
    helper_units = {"rise": "K", "power": "W", "rated": "W"}
    danger = {("contact", "short"), ("thermostat", "short")}
    remarks = {
        ("thermostat", "short"): "heats without end; only a thermal cut-out stops it",
        ("thermostat", "open"): "stays cold, or cools below where it should close",
        ("thermostat", "high resistance"): "here with 10 % of the supply across it; it gets hot and burns",
        ("contact", "short"): "heats without end; only a thermal cut-out stops it",
        ("contact", "high resistance"): "here with 10 % of the supply across it; it gets hot and burns",
    }
    example = {
        "power": "95 W", "rated_voltage": "230 V", "contact": "RL1 5A", "mass": "1.5 kg",
        "heat_capacity": "3300", "from": "20 C", "to": "37.7 C", "efficiency": "0.4",
    }  # fmt: skip
    variants = (
        Variant("the element alone", {"contact": "", "mass": "", "from": "", "to": "", "heat_capacity": ""}),
        Variant("a kettle", {"power": "E1 2200 W", "mass": "", "heat_capacity": "", "water": "1.7 l",
            "to": "100 C", "contact": "thermostat 16A"}),
        Variant("two elements and a selector", {"power": "", "elements": ["E1 1000 W", "E2 1200 W"],
            "mass": "", "heat_capacity": "", "from": "", "to": "",
            "positions": {"low": ["E1"], "high": ["E1", "E2"], "keep": {"series": ["E1", "E2"]}},
            "contact": "", "thermostat": "S2 16A", "opens": "60 C", "closes": "52 C"}),
        Variant("an element for 12 V", {"power": "60 W", "rated_voltage": "12 V", "contact": "RL2 10A"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Solved:
        found: dict[str, float | Formula | None] = {}
        rated = rated_powers(x)
        if x.elements_count:
            found["power"] = sum(rated.values())
        contacts = (x.failed("contact"), x.failed("thermostat"))
        dead = x.failed("power") == "open" or bool(x.elements_count) and not sum(rated.values())
        if dead:
            found["resistance"] = math.inf
        elif "open" in contacts:
            found["supply"] = 0.0
        elif "high resistance" in contacts:
            found["supply"] = x.supply * (1 - BAD_CONTACT_SHARE)
        for name, (how, designators) in x.positions.items():
            taken = position_power(how, [rated[each] for each in designators])
            found[f"{name}.rated"] = taken
            if taken == 0:
                found |= {f"{name}.resistance": math.inf, f"{name}.power": 0.0, f"{name}.current": 0.0}
        start, end = x.__dict__["from"], x.to
        if start is None or end is None or x.water is None and x.mass is None:
            return found
        found["rise"] = end - start
        if x.water is not None:
            found["heat_time"] = Formula("water·heat_capacity·rise/(power_at_supply·efficiency)")
        if dead or "open" in contacts:
            found["heat_time"] = math.inf
        return found

    def checks(self, block: Block) -> list[Check]:
        found: list[Check] = []
        supply = block.quantity("supply")
        # At the mains, also where the note states its voltage exactly; elsewhere at the top of what is stated.
        at_mains = (
            supply is not None and abs(supply.middle - block.mains.voltage) <= 0.2 * block.mains.voltage
        )
        top = block.mains_top() if at_mains else supply.high if supply else 0.0
        worst = block.high("current") * (top / supply.high if supply else 1.0)
        for name in ("contact", "thermostat"):
            found += rating(block, name, "A", worst, "switches, at the top of the supply,")
            if supply:
                found += rating(block, name, "V", supply.middle, "breaks the nominal voltage,")
        element = block.quantity("power")
        if element and supply and block.point.supply**2 > OVERPOWERED * block.point.rated_voltage**2:
            values = {
                "takes": measured(block.high("power_at_supply"), "W"),
                "rated": measured(element.middle, "W", trim=True),
            }
            text = _("takes %(takes)s, rated %(rated)s") % values
            found.append(
                Check(block.label("power"), text, False, 1 - block.high("power_at_supply") / element.middle)
            )
        start, end = block.quantity("from"), block.quantity("to")
        if (start is None) != (end is None):
            missing, given = ("from", "to") if start is None else ("to", "from")
            text = _("no heat_time: %(given)s is stated without %(missing)s") % {
                "given": given,
                "missing": missing,
            }
            found.append(worth_saying(block.label("power"), text))
        if block.has("water") and end is not None and end.high > 100:
            found.append(
                worth_saying("water", "boils at 100 °C unless under pressure; heat_time leaves that out")
            )
        return found

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        found = _vet_elements(inputs)
        water, mass, start, end = (inputs.get(name) for name in ("water", "mass", "from", "to"))
        if water is not None and mass is not None:
            found.append(("mass", "water and mass are both given", "one of them is heated"))
        capacity = inputs.get("heat_capacity")
        if water is not None and isinstance(capacity, Quantity) and capacity.middle != HEAT_CAPACITY_OF_WATER:
            found.append(
                ("heat_capacity", "water has its own heat capacity", "mass: takes another substance")
            )
        if isinstance(start, Quantity) and isinstance(end, Quantity) and end.low <= start.high:
            hint = "to: the warmer of the two"
            found.append(("to", f"{end.text} is not above {start.text}, where heating starts", hint))
        efficiency = inputs.get("efficiency")
        if isinstance(efficiency, Quantity) and efficiency.high > 1:
            what = f"{efficiency.text} is more than all of the heat"
            found.append(("efficiency", what, "a share, such as 0.9 or 90 %"))
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """From live through the contact and the element to neutral, at the mains frequency."""
        w.supply("supply", "live", "neutral", ac=True)
        w.common("neutral", mains=True)
        hot = "live"
        for key in ("contact", "thermostat"):
            if w.has(key):
                w.contact(key, hot, f"_behind_{key}", ac=True)
                hot = f"_behind_{key}"
        if w.has("power"):
            ohms, part = self.formula("resistance").of, block.part("power")
            if part is not None and resting(part) is LAMP:
                w.filament("power", hot, "neutral", ohms)
            else:
                w.resistor("power", hot, "neutral", ohms, spread="heating element", ac=True)
            w.amps("current", "power")
        for position in range(block.point.elements_count):
            key = f"elements_{position}"
            w.resistor(key, hot, "neutral", _one_of(position), spread="heating element", ac=True)
        w.ohms("resistance", hot, "neutral")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Line, contact and element in a row from left to right and down to neutral."""
        rated = block.quantity("rated_voltage")
        label = part_label(block, "power", ratings=False)
        if rated:
            label.append(Line(_("rated at %(volts)s") % {"volts": measured(rated.middle, "V", trim=True)}))
        several: list[Part] = block.inputs["elements"] or []
        of_all = computed(block, "resistance", "heat_time")
        label += [] if several else of_all
        mains = "mains" in self.cautions_at(block.point)
        sheet.port(0, 0, [Line("L" if mains else "supply", "r"), *computed(block, "supply")])
        column = 0
        for name in ("contact", "thermostat"):
            if block.has(name):
                sheet.across("switch", 0, column, column + 1, part_label(block, name))
                column += 1
        column += 1
        sheet.wire((column - 1, 0), (column, 0))
        sheet.tag(
            column,
            *computed(block, "current"),
            *named(block, "power_at_supply", "takes"),
            *(of_all if several else []),
        )
        for position, part in enumerate(several):
            own = label_of(part, "element", ratings=False) + (label[1:] if position == 0 else [])
            sheet.down("element", column, 0, 1, own)
            if position < len(several) - 1:
                sheet.dot((column, 0), (column, 1))
                sheet.wire((column, 0), (column + 1, 0))
                column += 1
        if not several:
            sheet.down("element", column, 0, 1, label)
        sheet.wire((0, 1), (column, 1))
        sheet.port(0, 1, [Line("N" if mains else "return", "r")])

    def cautions_at(self, x: Point) -> tuple[str, ...]:
        """Heat always; the mains where the supply is above extra-low voltage."""
        return ("mains", "heat") if x.supply > EXTRA_LOW_AC else ("heat",)
