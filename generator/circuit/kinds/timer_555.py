"""The 555 timer: a blinker (astable) or one pulse at a time (monostable)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Solved, Value, Variant
from generator.circuit.labels import capacitor_word, computed
from generator.circuit.network import Wiring
from generator.circuit.network.element import Number, Worn, exact, fixed
from generator.circuit.network.junctions import Diode
from generator.circuit.network.motors import Toggling
from generator.circuit.network.sources import Pin
from generator.circuit.placing import down
from generator.circuit.ratings import worth_saying
from generator.circuit.says import _
from generator.circuit.sheet import Line, Sheet

THRESHOLDS = "555: the capacitor swings between 1/3 and 2/3 of the supply (makers' data sheets)"
# ohm; the discharge transistor carries supply/RA; data sheets show 1 kΩ as the least; from memory
LEAST_RA = 1e3
MOST_R = 3.4e6  # ohm at 5 V, for 0.25 µA into the threshold pin of the bipolar part; data sheet, from memory
# ohm of its output; of the supply at least and at most, high: a bipolar chip stays 1.3 to 1.7 V below it, a CMOS one next to
# nothing; data sheets, from memory
DRIVES, REACHES = 30.0, (0.66, 1.0)
# V below the supply at which a monostable's high output stands: two junctions of a bipolar chip, next to none of a CMOS one
# (from memory, data sheets)
LOST, LEAST_LOST = 1.0, (0.3, 1.7)
FASTEST = 100e3  # Hz; beyond it the chip's own delays count; data sheet, from memory


def _drifted(x: Point, key: str, factor: float) -> Worn:
    """The share of the time for which the output is high, with a resistor so many times what it should be."""

    def up(p: Mapping[str, float], size: float | None) -> dict[str, float]:
        ra, rb = (
            ohms * ((size or factor) if name == key else 1.0) for name, ohms in (("ra", x.ra), ("rb", x.rb))
        )
        return {"up": (ra + rb) / (ra + 2 * rb)}

    return up


class Timer555(Kind):
    title = "555 timer"
    group = "Timing"
    what = (
        "The common timer chip with its resistors and capacitor: it blinks by itself, or gives one pulse "
        "when triggered."
    )
    assumes = (
        "Nothing is connected to the control pin, and the capacitor does not leak. The supply drops out of "
        "all times. The first pulse after switching on is longer: the capacitor starts from 0 V."
    )
    terminals = ("supply", "out", "common")

    mode = param.Choice(
        ("astable", "monostable"), "whether it runs by itself or waits for a trigger", default="astable"
    )
    ra = param.Part("resistor", "the resistor from the supply to the discharge pin", role="RA")
    rb = param.Part(
        "resistor", "the resistor from the discharge pin to the capacitor (astable)", default=None, role="RB"
    )
    capacitor = param.Part("capacitor", "the timing capacitor", role="timing capacitor")
    supply = param.Quantity("V", "what feeds it; only what hangs on its output asks for that", default=None)
    timer = param.Part("chip", "the chip's designator, such as U5", default=None, modes=())

    values = (
        Value("high_time", "s", "output high", "ln(2)·(ra + rb)·capacitor", THRESHOLDS,
              at="at the output, oscilloscope or stopwatch"),
        Value("low_time", "s", "output low", "ln(2)·rb·capacitor", THRESHOLDS,
              at="at the output, oscilloscope or stopwatch"),
        Value("frequency", "Hz", "how often it repeats", "1/(high_time + low_time)", THRESHOLDS,
              at="at the output, frequency range"),
        Value("duty", "", "share of the time that the output is high", "(ra + rb)/(ra + 2·rb)", THRESHOLDS,
              at="at the output, duty range; or mean voltage over supply"),
        Value("pulse", "s", "how long the output stays high after a trigger", "ln(3)·ra·capacitor",
              THRESHOLDS, at="at the output, oscilloscope or stopwatch"),
    )  # fmt: skip
    extra_parts = (ExtraPart("chip", "chip", "timer chip", named_by="timer"),)
    example = {"ra": "R1 10k 1%", "rb": "R2 47k 1%", "capacitor": "C1 100n"}
    variants = (
        Variant("one pulse (monostable)", {"mode": "monostable", "ra": "VR1 1M", "rb": "",
            "capacitor": "C4 47u 25V"}),
        Variant("with an electrolytic", {"capacitor": "C4 10u 25V"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Solved:
        dead, emptied = bool(x.failed("chip")), x.failed("capacitor") == "short"
        if x.mode == "monostable":
            found: dict[str, float | None] = dict.fromkeys(("high_time", "low_time", "frequency", "duty"))
            if dead:
                found["pulse"] = 0.0
            elif emptied or math.isinf(x.ra):  # never charged to the threshold: once triggered, it stays high
                found["pulse"] = math.inf
            return found
        if dead:
            return {"high_time": 0.0, "low_time": math.inf, "frequency": 0.0, "duty": 0.0, "pulse": None}
        if emptied or math.isinf(x.ra) or math.isinf(x.rb):  # never charged to 2/3: the output stays high
            return {"high_time": math.inf, "low_time": None, "frequency": 0.0, "duty": 1.0, "pulse": None}
        return {"pulse": None, **({} if x.capacitor else {"frequency": None})}

    def checks(self, block: Block) -> list[Check]:
        found = []
        ra, rb = block.given("ra"), block.quantity("rb")
        if ra.low < LEAST_RA:
            found.append(worth_saying(block.label("ra"), "below 1 kΩ: the discharge pin carries supply/RA"))
        if ra.high + (rb.high if rb and block.point.mode == "astable" else 0.0) > MOST_R:
            text = _(
                "beyond 3.4 MΩ in all: at 5 V a bipolar chip's threshold pin takes more current than is left; a CMOS chip works"
            )
            found.append(worth_saying(block.label("ra"), text))
        if block.high("frequency") > FASTEST:
            found.append(worth_saying("chip", "above 100 kHz the chip's own delays slow it down"))
        if rb is not None and block.point.mode == "monostable":
            found.append(
                worth_saying(
                    block.label("rb"), "a monostable has no RB: left out of the drawing and the times"
                )
            )
        if capacitor_word(block, "capacitor") == "electrolytic":
            found.append(
                worth_saying(
                    block.label("capacitor"), "an electrolytic leaks: expect longer times than computed"
                )
            )
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        if key == "chip":
            return "the output is dead" if mode == "open" else "pulls its supply down; the output is dead"
        if x.mode == "monostable":
            if key == "rb":
                return "no part of a monostable"
            if (key, mode) in (("ra", "open"), ("capacitor", "short")):
                return "once triggered, the output stays high"
        elif (key, mode) in (("ra", "open"), ("rb", "open"), ("capacitor", "short")):
            return "the output stays high"
        if (key, mode) == ("capacitor", "open"):
            return "only stray capacitance is left: it runs as fast as the chip can"
        return ""

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        if inputs["mode"] == "astable" and inputs["rb"] is None:
            hint = "such as rb: R2 47k; or mode: monostable"
            return [("rb", "missing: an astable discharges its capacitor through it", hint)]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """Resistors and capacitor, as an ohmmeter finds them. An astable's output stands at its mean, which is what a meter
        shows; a monostable's is high in the states in which the block is on."""
        x, astable = block.point, block.point.mode == "astable"
        w.supply("supply", "supply")
        w.resistor("ra", "supply", "_discharge" if astable else "_timing")
        if astable:
            w.resistor("rb", "_discharge", "_timing")
        w.capacitor("capacitor", "_timing", "common")
        if not astable:
            lost = Number(LOST, ((w.net("chip high"), *LEAST_LOST),))
            drop = {**w.who("chip", ()), "name": w.net("drop"), "key": "", "called": ""}
            w.add(Diode(**drop, anode="supply", cathode="_top", forward=lost))
            w.add(Pin(**w.who("chip"), pin="out", supply="_top", common="common", ohms=exact(DRIVES)))
            w.goes("out", block.name)
            return
        duty = w.number(lambda at: (at.ra + at.rb) / (at.ra + 2 * at.rb))
        stays = {"open": fixed(up=1.0)}
        wear = {key: (w.who(key)["called"], stays) for key in ("ra", "rb")}
        wear["capacitor"] = (w.who("capacitor")["called"], {"short": fixed(up=1.0)})
        for key in ("ra", "rb"):
            for mode, factor in (("high", 2.0), ("low", 0.5)):
                wear[key][1][mode] = _drifted(x, key, factor)
        wear["chip"] = (w.who("chip")["called"], {"open": fixed(up=0.0), "short": fixed(up=0.0)})
        high = Number(0.85, ((w.net("chip high"), *REACHES),))
        who = {**w.who("chip", ()), "key": "", "wear": wear}
        w.add(Toggling(
            **who, out="out", supply="supply", common="common", low=exact(0.0), up=duty, reaches=high,
            held=1 / DRIVES,
        ))  # fmt: skip

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Timing parts on the left between supply and common, the chip in the middle, its output on the right."""
        astable = block.point.mode == "astable"
        pins = {1: "7 DIS", 2: "6 THR", 3: "2 TRG"} if astable else {1: "2 TRG", 2: "7 DIS", 3: "6 THR"}
        timer = block.part("timer")
        title = [Line(timer.designator, "d")] if timer and timer.designator else []
        title += [Line("555", "r")]
        chip = sheet.box(
            2, 1, 3, title, left=pins, right={1: "4 RES", 2: "3 OUT"}, top="8 VCC", bottom="1 GND"
        )
        sheet.port(0, 0, [Line("supply", "r")])
        sheet.port(0, 4, [Line("0 V", "r")])
        sheet.wire((0, 0), (1, 0), (2, 0), (3, 0))
        sheet.wire((2, 0), chip["top"])
        sheet.wire((3, 0), (3, 1), chip["right 1"])
        sheet.wire((0, 4), (2, 4), chip["bottom"])
        sheet.dot((1, 0), (2, 0), (1, 2), (1, 3), (1, 4))
        sheet.wire((1, 2), chip["left 2"])
        sheet.wire((1, 2), (1, 3), chip["left 3"])
        down(block, sheet, "capacitor", 1, 3, 4, left=True)
        if astable:
            down(block, sheet, "ra", 1, 0, 1, left=True)
            down(block, sheet, "rb", 1, 1, 2, left=True)
            sheet.wire((1, 1), chip["left 1"])
            sheet.dot((1, 1))
        else:
            down(block, sheet, "ra", 1, 0, 2, left=True, segment=(0, 1))
            sheet.wire((0, 1), chip["left 1"])  # crosses the line from RA, which it does not touch
            sheet.port(0, 1, [Line("trigger", "r")])
        shown = computed(block, "frequency", "duty") if astable else computed(block, "pulse")
        sheet.wire(chip["right 2"], (4, 2))
        sheet.port(4, 2, [Line("output", "r"), *shown], right=True)
