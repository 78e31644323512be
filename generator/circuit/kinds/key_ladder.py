"""Several keys on one wire: each gives a voltage of its own through a ladder of resistors."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import param
from generator.circuit.block import STATED, Block, Check, Formula, Found, Kind, Point, Value, Variant
from generator.circuit.divided import OHMS_LAW
from generator.circuit.labels import computed, label_of, written
from generator.circuit.network import Wiring
from generator.circuit.network.element import exact
from generator.circuit.network.passive import NONE, Contact, Resistor
from generator.circuit.placing import down
from generator.circuit.says import _
from generator.circuit.sheet import Line, Sheet

CODE = "converter whose reference is the ladder's supply"
CONTACT = "voltage divider: the resistance that brings the level half-way to the next"


def key_resistances(ohms: list[float], ladder: str) -> list[float]:
    """Ohms from the pin to where each key ends, pressed alone: in series each adds to those before; separate: its own."""
    if ladder == "separate":
        return list(ohms)
    found, so_far = [], 0.0
    for each in ohms:
        so_far += each
        found.append(so_far)
    return found


def level(*, supply: float, pull_up: float, resistance: float, side: str) -> float:
    """Volts at the pin with a key's resistance (ohm, inf: none pressed) below it, or above it (side "upper").

    supply: V; pull_up: ohm (inf: open). Nothing else loads the pin. Source: voltage divider.
    """
    if math.isinf(resistance):
        return supply if side == "lower" and not math.isinf(pull_up) else 0.0
    if math.isinf(pull_up):
        return 0.0 if side == "lower" else supply
    share = resistance / (pull_up + resistance)
    return supply * share if side == "lower" else supply * (1 - share)


def stuck_beside(resistances: list[float], stuck: int | None, ladder: str) -> list[float]:
    """The same with one key stuck closed: in series those beyond are bridged, separate ones lie in parallel to it."""
    if stuck is None:
        return resistances
    held = resistances[stuck]
    if ladder == "series":
        return [min(each, held) for each in resistances]
    found = []
    for position, each in enumerate(resistances):
        both = (
            held
            if position == stuck or math.isinf(each)
            else each * held / (each + held)
            if each + held
            else 0.0
        )
        found.append(both)
    return found


class KeyLadder(Kind):
    title = "Key ladder"
    group = "Sensing"
    by_regime = True
    what = "Several keys on one wire: each brings the pin to a voltage of its own through its resistors."
    assumes = "One key at a time, the pin unloaded, and a converter that takes the ladder's own supply as its reference."
    terminals = ("supply", "pin", "common")

    supply = param.Quantity("V", "what feeds the ladder, and the converter's reference")
    pull_up = param.Part(
        "resistor", "the resistor from the pin to the supply; keys_side upper: to common", role="pull-up"
    )
    keys = param.Keys("from the pin outwards, each with its resistor, such as {up: 0, down: R2 1k}")
    ladder = param.Choice(
        ("series", "separate"), "whether each resistor adds to those before", default="series"
    )
    keys_side = param.Choice(
        ("lower", "upper"), "whether the keys pull to common or to the supply", default="lower"
    )
    adc_bits = param.Count("bits of the converter that reads the pin", default="10")

    values = (
        Value("idle_output", "V", "at the pin, no key pressed", "supply", OHMS_LAW, at="pin to common, no key pressed"),
        Value("idle_code", "", "what the converter makes of it", "min(floor(idle_output/supply·levels), levels − 1)", CODE, whole=True),
        Value("least_gap", "V", "between the two levels that lie closest together", "gap_top − gap_bottom", OHMS_LAW, interior=True),
    )  # fmt: skip
    cut_values = (
        Value("resistance", "ohm", "from the pin to where the key ends", "before + own", "resistances in series", cold=True,
              at="from the pin to where the key ends, key pressed, unplugged"),
        Value("output", "V", "at the pin, this key pressed", "supply·resistance/(pull_up + resistance)", OHMS_LAW,
              at="pin to common, key pressed", impedance="pull_up∥resistance"),
        Value("code", "", "what the converter makes of it", "min(floor(output/supply·levels), levels − 1)", CODE,
              whole=True),
        Value("contact_limit", "ohm", "what a dirty contact may add until it reads half-way to the next",
              "pull_up·half/(supply − half) − resistance", CONTACT),
    )  # fmt: skip
    helper_units = {
        "levels": "", "gap_top": "V", "gap_bottom": "V", "before": "ohm", "own": "ohm", "half": "V",
    }  # fmt: skip
    remarks = {("pull_up", "open"): "the pin hangs on the keys alone: it reads as one of them, or floats"}
    example = {
        "supply": "5 V", "pull_up": "R1 2k2 1%",
        "keys": {"menu": "0", "up": "R2 470 1%", "down": "R3 820 1%", "ok": "R4 1k8 1%"},
    }  # fmt: skip
    variants = (
        Variant("each key with its own resistor", {"keys": {"wash": "R2 1k 1%", "spin": "R3 3k3 1%", "stop": "R4 10k 1%"},
            "ladder": "separate"}),
        Variant("keys to the supply", {"keys_side": "upper",
            "keys": {"power": "0", "play": "R2 1k 1%", "skip": "R3 3k3 1%"}, "adc_bits": "8"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        ohms = key_resistances(x.each("keys"), x.ladder)
        stuck = next((i for i in range(len(ohms)) if x.failed(f"key_{i}") == "short"), None)
        dead = next((i for i in range(len(ohms)) if x.failed(f"key_{i}") == "open"), None)
        seen = stuck_beside(ohms, stuck, x.ladder)
        if dead is not None:
            seen[dead] = math.inf
        idle_ohms = math.inf if stuck is None else ohms[stuck]
        fed = {"supply": x.supply, "pull_up": x.pull_up, "side": x.keys_side}
        idle = level(resistance=idle_ohms, **fed)
        levels = [level(resistance=each, **fed) for each in seen]
        sound = stuck is None and dead is None and not math.isinf(x.pull_up)
        found: Found = {"levels": 2**x.adc_bits}
        whole = STATED if x.keys_side == "lower" else 0.0
        found["idle_output"] = whole if sound else idle
        found["idle_code"] = STATED
        found |= _gap([idle, *levels])
        for position, name in enumerate(x.names):
            own = {} if math.isinf(seen[position]) else _resistance(x, ohms, position, sound, seen[position])
            found |= {f"{name}.{key}": entry for key, entry in own.items()}
            plain = sound and not math.isinf(seen[position]) and seen[position] + x.pull_up > 0
            across = "resistance" if x.keys_side == "lower" else "pull_up"
            divided = Formula(f"supply·{across}/(pull_up + resistance)")
            found[f"{name}.output"] = divided if plain else levels[position]
            found[f"{name}.code"] = Formula("min(floor(output/supply·levels), levels − 1)")
            if plain:
                limit = _contact_limit(x, levels[position], [idle, *levels])
                found |= {f"{name}.{key}": entry for key, entry in limit.items()}
        return found

    def checks(self, block: Block) -> list[Check]:
        """No two keys, and no key and rest, may be read as each other anywhere within their tolerances."""
        bands = [("idle", block.values["idle_code"])]
        bands += [(name, block.values[f"{name}.code"]) for name in block.point.names]
        bands.sort(key=lambda entry: (entry[1].low + entry[1].high, entry[1].low))
        found = []
        for (first, below), (second, above) in zip(bands, bands[1:]):
            words = {"first": first, "second": second, "low": f"{below.high:.0f}", "high": f"{above.low:.0f}"}
            if above.low > below.high:
                text = _("%(first)s and %(second)s are distinct: codes up to %(low)s and from %(high)s")
            else:
                text = _(
                    "%(first)s and %(second)s can be mistaken for each other: codes up to %(low)s and from %(high)s"
                )
            found.append(Check("keys", text % words, above.low > below.high))
        return found

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        bits = inputs["adc_bits"].middle
        return [] if 1 <= bits <= 32 else [("adc_bits", f"{bits:g} bits", "converters have 6 to 24 bits")]

    def remark(self, x: Point, key: str, mode: str) -> str:
        series = x.ladder == "series"
        if key.startswith("keys_") and mode == "open":
            return "this key and those beyond it are dead" if series else "this key is dead"
        if key.startswith("keys_"):
            return (
                "this key and those beyond it are read as others" if series else "this key is read as another"
            )
        if key.startswith("key_") and mode == "short":
            return (
                "read as pressed all the time; those beyond it are bridged"
                if series
                else "read as pressed all the time"
            )
        if key.startswith("key_"):
            return "this key is dead"
        return super().remark(x, key, mode)

    def wire(self, block: Block, w: Wiring) -> None:
        """The pull-up at the pin, each resistor outwards from it, each key to the other rail; none pressed."""
        w.supply("supply", "supply")
        lower = block.point.keys_side == "lower"
        near, far = ("supply", "common") if lower else ("common", "supply")
        w.resistor("pull_up", near, "pin")
        last = "pin"
        for position, part in enumerate(block.inputs["keys"].values()):
            node, start = f"_key{position}", last if block.point.ladder == "series" else "pin"
            if part is None:
                w.same(start, node)
            else:
                key = f"keys_{position}"
                w.add(Resistor(**w.who(key), a=start, b=node, ohms=w.number(key)))
            # what opens a key lies in its lead, what shorts it beside it; its press is apart from both
            contact, lead = w.who(f"key_{position}"), f"_lead{position}"
            # a meter across the key is across both, and finds it open
            w.add(Resistor(**{**contact, "name": f"{contact['name']} beside"}, a=node, b=far, ohms=NONE))
            w.add(Resistor(**contact, a=node, b=lead, ohms=exact(0.0)))
            press = {**w.who(f"press_{position}", ()), "called": ""}  # no part of its own
            w.add(Contact(**press, a=lead, b=far, closed=exact(0.0)))
            last = node
        w.volts("idle_output", "pin")
        for position, name in enumerate(block.point.names):
            w.volts(f"{name}.output", "pin", put=((f"press_{position}", "closed", 1.0),))

    def draw(self, block: Block, sheet: Sheet) -> None:
        """The pull-up at the pin on the left, the keys outwards to the right, each to common (or to the supply)."""
        upper = block.point.keys_side == "upper"
        separate = block.point.ladder == "separate"
        rows = 3 if separate else 2
        pin = rows - 1 if upper else 1
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        sheet.port(0, pin, [Line("pin", "r"), *computed(block, "idle_output")])
        sheet.port(0, rows, [Line("0 V", "r")])
        sheet.wire((0, pin), (1, pin))
        if upper:
            down(block, sheet, "pull_up", 1, pin, rows)
        else:
            down(block, sheet, "pull_up", 1, 0, 1)
        sheet.dot((1, pin))
        last = self._keys(block, sheet, pin, upper, separate)
        rail = 0 if upper else rows
        sheet.wire((0, rail), (last, rail))
        other = rows if upper else 0
        sheet.wire((0, other), (1, other))

    def _keys(self, block: Block, sheet: Sheet, pin: int, upper: bool, separate: bool) -> int:
        """Each key in a column of its own, its resistor before it along the pin's row, or above it."""
        column = 1
        items = list(block.inputs["keys"].items())
        for position, (name, part) in enumerate(items):
            label = [Line(name, "r"), *_shown(block, name)]
            resistor = label_of(part, "resistor") if part is not None else []
            if separate:
                sheet.wire((column, pin), (column + 1, pin))
                column += 1
                near, far = (pin - 1, pin) if upper else (pin, pin + 1)
                if part is not None:
                    sheet.down("resistor", column, near, far, resistor)
                else:
                    sheet.wire((column, near), (column, far))
                start = pin - 2 if upper else pin + 1
                sheet.down("button", column, start, start + 1, label)
            else:
                if part is not None:
                    sheet.across("resistor", pin, column, column + 1, resistor, below=upper)
                else:
                    sheet.wire((column, pin), (column + 1, pin))
                column += 1
                sheet.down("button", column, 0 if upper else pin, pin if upper else pin + 1, label)
            if position < len(items) - 1:
                sheet.dot((column, pin), (column, 0 if upper else pin + (2 if separate else 1)))
        return column


def _shown(block: Block, name: str) -> list[Line]:
    result = block.values.get(f"{name}.output")
    return [Line(written(result), "n")] if result is not None else []


def _resistance(x: Point, ohms: list[float], position: int, sound: bool, seen: float) -> Found:
    """A key's resistance, as the sum of those on its way where nothing has failed."""
    if not sound:
        return {"resistance": seen}
    if x.ladder == "separate":
        return {"before": 0.0, "own": ohms[position], "resistance": Formula("own")}
    before = ohms[position - 1] if position else 0.0
    return {"before": before, "own": ohms[position] - before, "resistance": Formula("before + own")}


def _gap(levels: list[float]) -> Found:
    """The closest two of all levels."""
    ordered = sorted(levels)
    gap, bottom = min((b - a, a) for a, b in zip(ordered, ordered[1:]))
    return {"gap_top": bottom + gap, "gap_bottom": bottom, "least_gap": STATED}


def _contact_limit(x: Point, own: float, levels: list[float]) -> Found:
    """What the contact may add until the pin is half-way to the next level towards rest."""
    towards = [each for each in levels if (each > own if x.keys_side == "lower" else each < own)]
    if not towards:
        return {"contact_limit": 0.0}
    half = (own + (min(towards) if x.keys_side == "lower" else max(towards))) / 2
    text = "pull_up·half/(supply − half) − resistance"
    if x.keys_side == "upper":
        text = "pull_up·(supply − half)/half − resistance"
    return {"half": half, "contact_limit": Formula(text)}
