"""A coil that pulls: valves, pumps that vibrate behind a diode, door locks, strikes."""

from __future__ import annotations

import math
from collections.abc import Mapping

from generator.circuit import curves, param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Value, Variant
from generator.circuit.formula import STATED, Formula, Found
from generator.circuit.half_wave import (
    METER,
    NOTHING,
    REVOLUTION,
    HalfWave,
    alternating,
    half_wave_coil,
    means,
    ohms_at,
)
from generator.circuit.hazards import EXTRA_LOW_AC
from generator.circuit.labels import computed, named, part_label
from generator.circuit.network import Wiring
from generator.circuit.network.element import Worn, exact, fixed
from generator.circuit.network.passive import Resistor
from generator.circuit.network.sources import Curve, Rail
from generator.circuit.network.stamps import Stamp
from generator.circuit.placing import across, down
from generator.circuit.ratings import rating
from generator.circuit.says import _
from generator.circuit.sheet import Line, Sheet

HALF_WAVE = "a half-wave rectifier on a coil: the current outlasts the half-cycle, solved"


def _piece(x: Point) -> HalfWave:
    fed = {"peak": x.supply * math.sqrt(2), "drop": x.diode_drop, "frequency": x.f}
    return half_wave_coil(**fed, resistance=x.winding, inductance=x.inductance)


class Taking(Resistor):
    """What something takes of the mains; an ohmmeter finds the parts of it."""

    def cold(self, p: Mapping[str, float], mode: str) -> tuple[Stamp, ...]:
        return ()


DEAD = ("current", "mean_current", "mean_voltage", "power")


def _across_open_coil(x: Point) -> float | Formula:
    """What a DC meter finds where the coil was: the supply, or the mean of its half-waves."""
    if x.feed == "dc":
        return Formula("supply")
    if x.feed == "ac":
        return 0.0
    return METER * _piece(x.changed(winding=METER, inductance=0.0)).mean


def _behind_diode(x: Point) -> Found:
    piece = _piece(x)
    found: Found = {
        "start": piece.start,
        "stop": piece.end,
        "square": (piece.rms**2) * REVOLUTION,
        "current": Formula("√(square/(2·π))"),
    }
    if piece.mean > 0:
        found["extinction_angle"] = STATED
        level = " − diode_drop·(stop − start)" if x.diode_drop else ""
        found["mean_current"] = Formula(f"(supply·√2·(cos(start) − cos(stop)){level})/(2·π·winding)")
    else:
        found["mean_current"] = 0.0
    return found


class Solenoid(Kind):
    title = "Solenoid"
    group = "Driving"
    by_regime = True
    what = (
        "A coil that pulls: a valve, a vibrating pump behind its diode, a door lock, on the mains or on DC."
    )
    assumes = (
        "The winding is read cold: a warm one has up to a third more and takes less. The inductance is that with the core in "
        "place and does not change as it moves, which in a vibrating pump it does."
    )
    terminals = ("live", "neutral")
    off_board = True
    cautions = ("mains",)

    supply = param.Quantity("V", "the mains, or the DC that feeds it", default=param.MAINS)
    feed = param.Choice(
        ("half-wave", "ac", "dc"), "half-wave (a diode in series), ac or dc", default="half-wave"
    )
    winding = param.Part("winding", "ohms of the coil, cold, such as L1 1k7", role="coil")
    inductance = param.Quantity("H", "of the coil with its core in place", default="0 H", zero=True)
    diode = param.Part("diode", "the diode in series", default=None, modes=())
    diode_drop = param.Quantity("V", "its forward voltage", default="0.7 V", zero=True, spread="rectifier")
    duty = param.Quantity("", "share of the time in which it is on", default="1")
    flyback = param.Part("diode", "the diode across a coil on DC", default=None, role="flyback diode")
    f = param.Quantity("Hz", "mains frequency", default=param.FREQUENCY)

    values = (
        Value("current", "A", "RMS while it is on", "supply/winding", "Ohm's law", at="true-RMS meter in series with the coil", interior=True),
        Value("mean_current", "A", "mean while it is on: what a DC range shows", "current", HALF_WAVE,
              at="DC range in series with the coil", interior=True),
        Value("mean_voltage", "V", "mean across the coil while it is on", "winding·mean_current", "a coil's own voltage has no mean",
              at="across the coil, DC range", interior=True),
        Value("extinction_angle", "degree", "how long after the zero crossing the current dies", "stop·180/π", HALF_WAVE, interior=True),
        Value("power", "W", "heat in the coil", "duty·current²·winding", "Joule's law", interior=True),
    )  # fmt: skip
    helper_units = {"start": "", "stop": "", "square": ""}
    extra_parts = (
        ExtraPart("diode", "diode", "diode", named_by="diode", where=lambda x: x.feed == "half-wave"),
    )
    remarks = {
    ("winding", "open"): "does not pull",
    ("diode", "open"): "does not pull, or the pump stands still",
    ("diode", "short"): "on both half-cycles: a pump hums instead of pumping, and the coil gets hot",
    ("flyback", "open"): "pulls as before; at switch-off the spike goes into what switches it",
    ("flyback", "short"): "bridges the coil: the fuse blows or the switch fails",
}  # fmt: skip
    example = {"winding": "L1 160", "inductance": "0.9 H", "diode": "D1 1000V 1A"}  # fmt: skip
    variants = (
        Variant("on alternating current", {"feed": "ac", "diode": "", "winding": "L1 3k9",
            "inductance": "12 H"}),
        Variant("on DC with its flyback diode", {"feed": "dc", "supply": "24 V", "diode": "",
            "winding": "L1 48", "inductance": "", "flyback": "D2 100V 1A"}),
        Variant("without inductance, on half of the time", {"inductance": "", "duty": "0.5"}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        if x.failed("winding") == "open":
            return {**dict.fromkeys(DEAD, 0.0), "mean_voltage": _across_open_coil(x)}
        if x.failed("diode") == "open" and x.feed == "half-wave":
            return dict.fromkeys(DEAD, 0.0)
        if x.failed("flyback") == "short":
            return dict.fromkeys(DEAD, 0.0)
        feed = "ac" if x.feed == "half-wave" and x.failed("diode") == "short" else x.feed
        if feed == "dc":
            found: Found = {"current": STATED, "mean_current": STATED}
        elif feed == "ac":
            z = "√(winding² + (2·π·f·inductance)²)" if x.inductance else "winding"
            found = {"current": Formula(f"supply/{z}"), "mean_current": 0.0}
        else:
            found = _behind_diode(x)
        found["mean_voltage"] = STATED if feed != "ac" else 0.0
        found["power"] = STATED
        return found

    def checks(self, block: Block) -> list[Check]:
        x, called = block.point, block.label("winding")
        found: list[Check] = []
        top = block.given("supply")
        volts = top.high if x.feed == "dc" else block.mains_top()
        if x.feed == "dc" and not block.has("flyback"):
            text = _("no flyback diode across the coil: the spike at switch-off goes into what switches it")
            found.append(Check(called, text, False))
        found += rating(block, "flyback", "V", top.high, "holds off")
        found += rating(block, "flyback", "A", block.high("current"), "takes over at switch-off")
        if x.feed == "half-wave":
            found += rating(block, "diode", "V", volts * math.sqrt(2), "holds off, at maximum mains,")
            found += rating(block, "diode", "A", block.high("mean_current"), "carries, on average,")
        winding = block.part("winding")
        if winding is not None and "V" in winding.ratings:
            limit = winding.ratings["V"] * 1.1
            if top.middle > limit:
                found += rating(block, "winding", "V", top.middle, "is fed with")
        return found

    def vet(self, inputs: dict[str, object]) -> list[tuple[str, str, str]]:
        feed = inputs["feed"]
        if inputs["flyback"] is not None and feed != "dc":
            hint = "leave it out, or feed: dc"
            return [("flyback", f"a flyback diode belongs to a coil on DC, and this one is fed {feed}", hint)]
        if inputs["diode"] is not None and feed != "half-wave":
            what = f"a diode in series belongs to a half-wave feed, and this one is fed {feed}"
            return [("diode", what, "leave it out, or feed: half-wave")]
        duty = inputs["duty"]
        if getattr(duty, "high", 0.0) > 1:
            return [("duty", "more than the whole time", "a share up to 1")]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """On DC its current; on the mains the winding as an ohmmeter finds it, on AC its impedance too."""
        feed = block.point.feed
        if feed == "dc":
            w.supply("supply", "plus", "minus")
            w.same("common", "minus")
            w.winding("winding", "plus", "minus")
            w.diode("flyback", "minus", "plus", required=False)
            w.amps("current", "winding")
            w.volts("mean_voltage", "plus", "minus")
            return
        w.supply("supply", "live", "neutral", ac=True)
        w.common("neutral", mains=True)
        if feed == "ac":
            w.winding("winding", "live", "neutral", henries="inductance", ac=True)
            w.amps("current", "winding")
            return
        w.diode("diode", "live", "_coil", forward="diode_drop", spread="rectifier", ac=True)
        w.winding("winding", "_coil", "neutral")
        self._behind_diode(block, w)

    def _behind_diode(self, block: Block, w: Wiring) -> None:
        """The mean across the coil as a rail, falling as the coil has fewer ohms; and what it takes of the mains."""
        x = block.point
        stated = {"volts": "supply", "drop": "diode_drop", "henries": "inductance"}
        given = {**{name: w.number(of) for name, of in stated.items()}, "halves": exact(1.0)}

        def curve(p: Mapping[str, float]) -> Curve:
            volts = p["volts"] * p["share"] if p["halves"] == 1 else 0.0
            return means(volts, p["drop"], x.winding, p["henries"], x.f)

        def figures(p: Mapping[str, float], amperes: float) -> dict[str, float]:
            volts = p["volts"] * p["share"]
            if p["halves"] == 1:
                ohms, henries = (
                    (ohms_at(curve(p), amperes), p["henries"]) if amperes > NOTHING else (METER, 0.0)
                )
                volts = alternating(
                    peak=volts * math.sqrt(2), drop=p["drop"], ohms=ohms, henries=henries, frequency=x.f
                )
            return {"alternating": volts if p["halves"] else 0.0}

        off: Mapping[str, Worn] = {"open": fixed(halves=0.0), "short": fixed(halves=2.0)}
        wear = {"diode": (w.who("diode")["called"], off)}
        w.add(Rail(
            name=w.net("means"), block=block.name, wear=wear, plus="_coil", minus="neutral", curve=curve, given=given,
            figures=figures, swings="alternating", fed=(w.net("live"), w.net("neutral"), x.supply),
        ))  # fmt: skip
        amperes = block.solved.get("current") or 0.0
        if not amperes:
            return
        cut = {"open": fixed(ohms=math.inf)}
        lost = {key: (w.who(key)["called"], cut) for key in ("winding", "diode")}
        takes, ohms = w.net("takes"), exact(x.supply / amperes)
        w.add(Taking(name=takes, block=block.name, wear=lost, a="live", b="neutral", ohms=ohms, ac=True))
        w.volts("mean_voltage", "_coil", "neutral")
        w.amps("mean_current", "winding")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """What feeds it on the left, the diode in the line, the coil on the right."""
        dc = block.point.feed == "dc"
        first, second = ("+", "−") if dc else ("L", "N")
        sheet.port(0, 0, [Line(first, "r"), *computed(block, "supply")])
        sheet.port(0, 1, [Line(second, "r")])
        if block.point.feed == "half-wave":
            across(block, sheet, "diode", 0, 0, 1)
        else:
            sheet.wire((0, 0), (1, 0))
        coil = [*part_label(block, "winding"), *named(block, "current")]
        if block.point.feed != "ac":
            coil += named(block, "mean_voltage", "mean")
        sheet.wire((0, 1), (1, 1))
        if block.has("flyback"):
            for row in (0, 1):
                sheet.wire((1, row), (2, row))
            down(block, sheet, "flyback", 1, 0, 1, reverse=True)
            sheet.dot((1, 0), (1, 1))
            sheet.down("inductor", 2, 0, 1, coil)
            return
        sheet.down("inductor", 1, 0, 1, coil)

    def cautions_at(self, x: Point) -> tuple[str, ...]:
        return ("mains",) if x.feed != "dc" and x.supply > EXTRA_LOW_AC else ()

    def plot(self, block: Block) -> curves.Diagram | None:
        """The coil's current over one mains period (degrees, A), with what a DC meter makes of it."""
        x, mean = block.point, block.values.get("mean_current")
        if x.feed != "half-wave" or mean is None or not mean.value:
            return None
        wave = _piece(x)

        def amperes(degrees: float) -> float:
            angle = math.radians(degrees)
            return max(0.0, wave.at(angle)) if wave.start < angle < wave.end else 0.0

        whole = curves.points(amperes, curves.spaced(0.0, 360.0))
        top = max(height for _angle, height in whole)
        across, up = ("angle", "degree", 0.0, 360.0), ("current", "A", 0.0, top)
        curve = curves.Curve("current", whole, area=True)
        mark = curves.Mark("mean", 0.0, mean.value, level=True)
        return curves.Diagram("current over one mains period", across, up, (curve,), (mark,))
