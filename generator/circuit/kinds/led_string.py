"""LEDs in series, on a resistor or on a driver that gives a current: lamps, panels, backlights."""

from __future__ import annotations

from typing import Any

from generator.circuit import param
from generator.circuit.block import STATED, Block, Check, Formula, Found, Kind, Point, Value, Variant
from generator.circuit.labels import computed, named, part_label
from generator.circuit.leds import FORWARD_VOLTS, USUAL_LIMIT
from generator.circuit.network import Wiring
from generator.circuit.network.sources import DRIVES, Feed
from generator.circuit.ratings import at_least, rating, within
from generator.circuit.says import _, ranged
from generator.circuit.sheet import Line, Sheet

OHM = "Kirchhoff's voltage law and Ohm's law"
MOST_OF_A_DRIVER = 1000.0  # V, where the note does not say
SHARED = "a driver's current divides among equal strings"


def share_of_shorted_string(*, current: float, strings: int, forward: float, resistor: float | None) -> float:
    """Amperes in the one of several parallel strings that has an LED shorted, on a driver of constant current.

    current: A, of the driver; strings: at least 1; forward: V, of the missing LED; resistor: ohm in each string, None for
    none, where the shorted string takes it all. i = current/strings + (strings − 1)/strings·forward/resistor, at most
    current. Source: Kirchhoff's laws with constant forward voltages.
    """
    if strings == 1 or not resistor:
        return current
    return min(current, current / strings + (strings - 1) / strings * forward / resistor)


def _top(x: Point) -> tuple[float | None, str]:
    """The highest voltage that there is for a string, None where it is not known, and its name."""
    return (x.supply, "supply") if x.supply is not None else (x.driver_max, "driver_max")


def lights(x: Point, count: int) -> bool:
    """Whether so many LEDs in series conduct: below the supply, or not above what the driver can give."""
    if x.supply is not None:
        return bool(count * x.leds < x.supply)
    return bool(x.driver_max is None or count * x.leds <= x.driver_max)


def _dark(x: Point, most: float | None, top: str, cut: bool) -> Found:
    """What stands across a string that takes nothing: what feeds it, or what the other strings hold it at."""
    if cut and x.supply is None and x.strings > 1:
        return {"string_voltage": STATED}
    return {} if most is None else {"string_voltage": Formula(f"{top}")}


def _forward(block: Block) -> tuple[float, float]:
    """Lowest and highest forward voltage of one LED."""
    axis = next((axis for axis in block.axes if axis.names == ("leds",)), None)
    return (axis.low, axis.high) if axis else (block.point.leds, block.point.leds)


def _held_current(x: Point) -> float:
    """What a driver gives one string, with what a stated current loses in its own resistance at the string's volts."""
    return float(x.current / x.strings / max(0.1, 1 - x.count * x.leds / DRIVES))


class LedString(Kind):
    title = "LED string"
    group = "Driving"
    by_regime = True
    what = "LEDs in series, on a resistor or on a driver that gives a current: lamps, panels, backlights."
    assumes = (
        "The forward voltage is the same at any current and in each LED. A colour stands for a typical forward voltage; a given "
        "LED differs by some 0.3 V, and the strings of a lamp are sorted to be alike."
    )
    terminals = ("supply", "common")

    leds = param.Part(
        "led",
        "one LED: its forward voltage and rated current, or a colour, such as LD1-LD12 3V 150mA",
        role="LED",
        named=FORWARD_VOLTS,
    )
    count = param.Count("how many in series in each string")
    supply = param.Quantity("V", "what feeds string and resistor", default=None)
    resistor = param.Part(
        "resistor", "the resistor in series with each string", default=None, role="series resistor"
    )
    current = param.Quantity("A", "what a driver gives, in place of a supply", default=None)
    driver_min = param.Quantity("V", "the lowest voltage at which the driver regulates", default=None)
    driver_max = param.Quantity("V", "the highest that it can give", default=None)
    strings = param.Count("how many strings side by side", default="1")

    values = (
        Value("string_voltage", "V", "across a string", "count·leds", OHM, at="across a string"),
        Value("string_current", "A", "in each string", "(supply − string_voltage)/resistor", OHM,
              at="volts across the string's resistor, divided by its ohms; without one, in series with the string", interior=True),
        Value("headroom", "V", "what is left for the resistor, or up to what the driver can give", "supply − count·leds", OHM),
        Value("led_power", "W", "what each LED takes", "leds·string_current", "Joule's law", interior=True),
        Value("resistor_power", "W", "heat in each resistor", "string_current²·resistor", "Joule's law",
              interior=True),
    )  # fmt: skip
    example = {"leds": "LD1-LD9 white 80mA", "count": "3", "supply": "12 V", "resistor": "R1 68 0.25W", "strings": "3"}  # fmt: skip
    variants = (
        Variant("on a driver of constant current", {"leds": "LD1-LD12 3V 150mA", "count": "12", "supply": "",
            "resistor": "", "current": "120 mA", "driver_min": "25 V", "driver_max": "45 V", "strings": "1"}),
        Variant("two strings on one driver", {"leds": "LD1-LD40 3V 60mA", "count": "20", "supply": "",
            "resistor": "", "current": "100 mA", "driver_max": "72 V", "strings": "2"}),
        Variant("one LED", {"leds": "white", "count": "1", "strings": "1", "resistor": "R3 560"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        most, top = _top(x)
        found: Found = {}
        if most is not None:
            over = most - x.count * x.leds
            found["headroom"] = Formula(f"{top} − count·leds") if over > 0 else 0.0
        count = x.count - (1 if x.failed("leds") == "short" else 0)
        cut = x.failed("leds") == "open" or x.failed("resistor") == "open"
        if cut or not lights(x, count):
            found |= {"string_current": 0.0, "led_power": 0.0, **_dark(x, most, top, cut)}
            if x.resistor is not None:
                found["resistor_power"] = 0.0
            return found
        found["string_voltage"] = STATED if count == x.count else Formula("(count − 1)·leds")
        if x.supply is not None:
            found["string_current"] = STATED
        elif count == x.count or x.strings == 1:
            found["string_current"] = Formula("current/strings")
        else:
            found["string_current"] = share_of_shorted_string(
                current=x.current, strings=x.strings, forward=x.leds, resistor=x.resistor
            )
        found["led_power"] = STATED
        if x.resistor is not None:
            found["resistor_power"] = STATED
        return found

    def checks(self, block: Block) -> list[Check]:
        x, called = block.point, block.label("leds")
        found: list[Check] = []
        lowest_each, highest_each = _forward(block)
        highest = block.quantity("supply") or block.quantity("driver_max")
        if highest is not None:
            needed = x.count * highest_each
            found.append(at_least(called, needed, highest.low, "V", "to light, has"))
        least = block.quantity("driver_min")
        if least is not None:
            found.append(
                at_least(
                    called, least.high, x.count * lowest_each, "V", "holds the driver at", "the driver needs"
                )
            )
        part = block.part("leds")
        if part and "A" in part.ratings:
            found.append(within(called, part.ratings["A"], block.high("string_current"), "A", "carries"))
        elif x.count * x.leds < 12:
            most = block.high("string_current")
            usual = within(called, USUAL_LIMIT, most, "A", "carries", "usual limit of an indicator")
            found.append(Check(usual.part, usual.what, True, usual.margin, True))
        found += rating(block, "leds", "W", block.high("led_power"), "takes")
        return found + rating(block, "resistor", "W", block.high("resistor_power"), "dissipates")

    def remark(self, x: Point, key: str, mode: str) -> str:
        several = x.strings > 1
        if (key, mode) == ("leds", "open"):
            words = "the whole string stays dark"
            if several:
                words = "one string stays dark; on a driver the others take its current too"
            return words
        if (key, mode) == ("leds", "short"):
            words = (
                "one LED stays dark, the others shine brighter"
                if x.supply is not None
                else "one LED stays dark"
            )
            if several and x.supply is None:
                words = "one LED stays dark; its string takes more than its share and fails next"
            return words
        return ""

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        has = {name for name in ("supply", "resistor", "current") if inputs.get(name) is not None}
        if "current" in has and "supply" in has:
            hint = "either supply and resistor, or the current of a driver"
            return [("current", "stands beside a supply", hint)]
        if "current" not in has and has != {"supply", "resistor"}:
            missing = "supply and resistor" if not has else "resistor" if "supply" in has else "supply"
            what = f"nothing says what feeds it: no {missing}"
            return [("supply", what, "supply and resistor, or the current of a driver")]
        if inputs["count"].middle < 1:
            return [("count", "no LED", "how many are in series")]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """One string, LED by LED; a driver's current is that of one string, held below what the driver can give."""
        x = block.point
        if x.supply is None:
            w.wired.feeds["current"] = ("supply", "common")
            if "current" not in w.fed:
                w.add(
                    Feed(**w.who("current"), plus="supply", minus="common", amperes=w.number(_held_current))
                )
            most = float(x.driver_max or MOST_OF_A_DRIVER)
            w.diode("driver_max", "common", "supply", sort="zener", breakdown=lambda at: most)
        else:
            w.supply("supply", "supply")
        amperes = max(block.solved["string_current"], 1e-4)
        if not w.resistor("resistor", "supply", "_string"):
            w.same("supply", "_string")
        nets = ["_string", *(f"_{position}" for position in range(1, x.count)), "common"]
        for position in range(x.count):
            first, second = nets[position : position + 2]
            w.diode("leds", first, second, forward="leds", at=amperes, sort="led", copy=position, of=x.count)
        w.amps("string_current", "leds")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """What feeds it on the left, the resistor in line, the string down on the right; parallel strings beside it."""
        x = block.point
        label = part_label(block, "leds")
        if x.count > 1:
            label.append(Line(_("%(count)s in series") % {"count": x.count}))
        label += [*named(block, "string_voltage"), *named(block, "string_current")]
        if x.supply is not None:
            sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        else:
            least, most = block.quantity("driver_min"), block.quantity("driver_max")
            limits = [*computed(block, "driver_min"), *computed(block, "driver_max")]
            if least and most:
                limits = [Line(ranged(least.middle, most.middle, "V"))]
            sheet.port(0, 0, [Line("driver", "r"), *computed(block, "current"), *limits])
        foot = 4 if x.count > 2 else 3
        sheet.port(0, foot, [Line("0 V", "r")])
        columns = 1 if x.strings == 1 else 2
        for column in range(1, columns + 1):
            start = 0
            if block.has("resistor"):
                each = [Line(_("each"))] if columns > 1 else []
                sheet.down(
                    "resistor", column, 0, 1, [*part_label(block, "resistor"), *each] if column == 1 else []
                )
                start = 1
            shown = label if column == 1 else [Line(_("%(count)s strings") % {"count": x.strings})]
            if x.count == 1:
                sheet.down("led", column, start, foot, shown, segment=(start, foot))
            else:
                sheet.down("led", column, start, 2, shown, segment=(start, 2))
                if x.count > 2:
                    sheet.down("more", column, 2, 3)
                sheet.down("led", column, foot - 1, foot)
            for row in (0, foot):
                sheet.wire((column - 1, row), (column, row))
        if columns > 1:
            sheet.dot((1, 0), (1, foot))
