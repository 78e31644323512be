"""Transformer, rectifier and smoothing capacitor: the ordinary low-voltage supply."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import curves, param
from generator.circuit.block import Block, Check, ExtraPart, Formula, Kind, Point, Solved, Value, Variant
from generator.circuit.hazards import HAZARDOUS_VOLTS
from generator.circuit.inputs import Inputs
from generator.circuit.kinds import _transformer_drawing as drawing
from generator.circuit.kinds import _transformer_rail as steady
from generator.circuit.labels import computed
from generator.circuit.network import Wiring
from generator.circuit.placing import standing
from generator.circuit.rails import DIODE_DROP, DIODES_IN_PATH, DRAINS
from generator.circuit.ratings import load_ratings, rating, within, worth_saying
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet
from generator.circuit.spread import SPREADS

PEAK_RECTIFIER = "peak rectifier: the capacitor charges to the crest of the source less the diode drops"
STEADY_STATE = (
    "periodic steady state of source, diodes, capacitor and load, solved piece by piece (first-order circuit)"
)


def _keeps_its_charge(volts: float, loaded: bool) -> Check:
    """Without a bleeder: the load may be unplugged, and then nothing empties the capacitor.

    Below what is dangerous to touch, a load that is wired to the rail empties it: a remark, no failure.
    """
    values = {"volts": measured(volts, "V")}
    if volts > HAZARDOUS_VOLTS:
        text = _("none: with the load off the capacitor keeps up to %(volts)s, dangerous to touch")
        return Check("bleeder", text % values, False)
    text = _("none: with the load off the capacitor keeps up to %(volts)s; empty it before you work on it")
    return Check("bleeder", text % values, loaded, remark=loaded)


def _pulse_currents(block: Block) -> list[Check]:
    """RMS currents, well above the direct current since it flows in short pulses, in the winding and the capacitor."""
    x, rated, part = block.point, block.quantity("rated_current"), block.part("smoothing")
    limit = part.ratings.get("A") if part is not None else None
    if x.load is None or (rated is None and limit is None):
        return []
    load, secondary, smoothing = (block.given(name) for name in ("load", "secondary", "smoothing"))
    heaviest = x.changed(load=load.high if x.load_is == "A" else load.low)
    ends = [
        (volts, farads)
        for volts in (secondary.low, secondary.high)
        for farads in (smoothing.low, smoothing.high)
    ]
    currents = [steady.pulses_rms(heaviest.changed(smoothing=farads), volts) for volts, farads in ends]
    found = []
    if rated is not None:
        found.append(
            within(
                "transformer", rated.low, max(w for w, _c in currents), "A", "carries, RMS, in short pulses,"
            )
        )
    if limit is not None:
        called = block.label("smoothing")
        found.append(
            within(called, limit, max(c for _w, c in currents), "A", "carries, as RMS ripple current,")
        )
    return found


_DIODES = {  # anode and cathode of each
    "bridge": (
        ("secondary_a", "plus"),
        ("secondary_b", "plus"),
        ("common", "secondary_a"),
        ("common", "secondary_b"),
    ),
    "centre-tap": (("secondary_a", "plus"), ("secondary_b", "plus")),
    "half-wave": (("secondary_a", "plus"),),
}
_COMMON = {"centre-tap": "centre", "half-wave": "secondary_b"}  # what 0 V is joined to, but for a bridge


class TransformerSupply(Kind):
    title = "Transformer supply"
    group = "Power"
    isolates = True
    what = "A mains transformer, a rectifier and a smoothing capacitor: the ordinary low-voltage supply."
    assumes = (
        "Each diode drops the same at any current; the secondary follows the mains band. Without regulation "
        "and rated_current the winding has no resistance of its own. A current load draws its current until "
        "the rail is at 0 V."
    )
    terminals = ("primary_live", "primary_neutral", "secondary_a", "secondary_b", "plus", "common", "centre")
    cautions = ("mains", "charge")

    primary = param.Quantity("V", "the mains at the primary", default=param.MAINS, exact=True)
    secondary = param.Quantity("V", "RMS volts at rated load; each half for centre-tap", follows_mains=True)
    rectifier = param.Choice(
        ("bridge", "centre-tap", "half-wave"),
        "how it is rectified",
        default="bridge",
        role="rectifier diode",
        part="diode",
    )
    diode_drop = DIODE_DROP
    regulation = param.Quantity(
        "",
        "how much higher the secondary is without load",
        default=param.Unstated("0", "regulation"),
        zero=True,
    )
    rated_current = param.Quantity("A", "RMS current at which the secondary is rated", default=None)
    smoothing = param.Part(
        "capacitor", "the smoothing capacitor", role="smoothing capacitor", unmarked="electrolytic"
    )
    filter = param.Part(
        "capacitor", "a further capacitor across the rail", default=None, role="filter capacitor"
    )
    transformer = param.Part("any", "the transformer's designator, such as T1", default=None,
                             role="transformer winding")  # fmt: skip
    secondary_fuse = param.Part("fuse", "the fuse in the secondary", default=None)
    bleeder = param.Part("resistor", "the resistor that empties the capacitor", default=None)
    load = param.Load("what draws from the rail: a current or a resistor", default=None, modes=())
    decay_to = param.Quantity("V", "down to where decay_time counts", default="1 V")
    f = param.Quantity("Hz", "mains frequency", default=param.FREQUENCY)

    values = (
        Value("peak", "V", "DC on the capacitor at the rated secondary voltage",
              "secondary·√2 − n·diode_drop", PEAK_RECTIFIER,
              at="across the smoothing capacitor, oscilloscope", wave="dc"),
        Value("no_load_peak", "V", "the same with nothing plugged in",
              "secondary·√2·(1 + regulation) − n·diode_drop", PEAK_RECTIFIER,
              at="across the smoothing capacitor, load unplugged", wave="dc"),
        Value("high_mains_peak", "V", "the same at the top of the mains band",
              "secondary_top·√2·(1 + regulation) − n·diode_drop", PEAK_RECTIFIER),
        Value("ripple", "V", "peak-to-peak ripple under load", "v_top − trough", STEADY_STATE,
              at="across the smoothing capacitor, oscilloscope; a meter's AC range shows about 0.3 of it", wave="peak to peak"),
        Value("trough", "V", "lowest voltage between two crests", "v_off − load·t_off/smoothing",
              STEADY_STATE, at="across the smoothing capacitor, oscilloscope", wave="dc"),
        Value("mean", "V", "what a DC meter shows under load", "area·ripple_frequency", STEADY_STATE,
              at="across the smoothing capacitor, under load", wave="dc"),
        Value("ripple_frequency", "Hz", "frequency of the ripple", "ripple_frequency",
              "two crests a period with full-wave rectification",
              at="across the smoothing capacitor, frequency range"),
        Value("reverse_voltage", "V", "the most that a diode holds off", "secondary·√2 − diode_drop",
              PEAK_RECTIFIER),
        Value("secondary_current", "A", "RMS in the secondary (each half of a centre-tapped one), in short pulses",
              "√(pulses·ripple_frequency/halves)", STEADY_STATE, at="clamp meter around a wire of the secondary",
              interior=True),
        Value("fuse_margin", "", "how many times that current the secondary fuse is rated for",
              "secondary_fuse/secondary_current", "definition", interior=True),
        Value("bleeder_power", "W", "heat in the bleeder at peak", "peak²/bleeder", "Joule's law"),
        Value("decay_time", "s", "from peak down to decay_to with the load off",
              "bleeder·smoothing·ln(peak/decay_to)", "exponential discharge of a capacitor",
              at="across the smoothing capacitor, after unplugging", cold=True, hazard="charged"),
    )  # fmt: skip
    helper_units = {
        "v_off": "V", "v_top": "V", "t_off": "s", "dip": "V", "area": "Vs", "R": "ohm", "n": "",
        "secondary_top": "V", "smoothing": "F", "pulses": "", "halves": "",
    }  # fmt: skip
    extra_parts = (
        ExtraPart("transformer", "winding", "transformer winding", named_by="transformer"),
        ExtraPart("diodes", "diode", "rectifier diode", named_by="rectifier"),
    )
    remarks = {
        ("secondary_fuse", ""): "nothing on the rail; find out why before it is replaced",
        **dict.fromkeys(
            ((part, "short") for part in ("smoothing", "filter", "diodes")),
            "blows the fuse, or burns the winding where there is none",
        ),
        ("smoothing", "open"): "a DC meter shows the average of the bumps",
    }
    example = {
        "transformer": "T1", "rectifier": "bridge D1-D4", "secondary": "12 V", "smoothing": "C3 1000u 35V 20%",
        "bleeder": "R4 22k", "regulation": "12 %",
        "rated_current": "300 mA", "load": "120 mA",
    }  # fmt: skip
    variants = (
        Variant("centre tap, feeding a resistor", {"rectifier": "centre-tap D1-D2", "load": "R7 240"}),
        Variant("half-wave", {"rectifier": "half-wave D1", "load": "60 mA"}),
    )

    def more_inputs(self, inputs: Inputs) -> None:
        steady.by_volt_amperes(inputs)

    def solve(self, x: Point) -> Solved:
        diode = x.failed("diodes")
        total = {} if x.filter is None else {"smoothing": x.smoothing + x.filter}
        x = x.changed(**total)
        half_lost, bumps = diode == "open", x.smoothing == 0
        shorted = "short" in (x.failed("smoothing"), x.failed("filter"), diode)
        cut = x.failed("transformer") or x.failed("secondary_fuse")
        dead = shorted or cut or (half_lost and x.rectifier == "half-wave")
        full_wave = x.rectifier != "half-wave" and not half_lost
        found: dict[str, float | Formula | None] = {"n": DIODES_IN_PATH[x.rectifier], **total}
        if dead:
            found |= {"secondary": 0.0, "secondary_top": 0.0}
        if x.rectifier != "bridge":
            found["reverse_voltage"] = Formula("2·secondary·√2 − diode_drop")
        at = x.changed(**found)
        for name in ("peak", "no_load_peak", "high_mains_peak", "reverse_voltage"):
            crest = found.get(name, self.formula(name))
            if isinstance(crest, Formula) and crest.of(at) < 0:  # the diodes never conduct
                found[name] = 0.0
        peak = max(0.0, self.formula("peak").of(at))
        if peak <= x.decay_to or x.smoothing == 0:
            found["decay_time"] = 0.0
        elif x.bleeder is None:
            found["decay_time"] = math.inf
        if bumps:
            found["peak"] = steady.without_smoothing(x, x.secondary, at.n, full_wave)
            found["no_load_peak"] = steady.without_smoothing(
                x, x.secondary * (1 + x.regulation), at.n, full_wave
            )
        found["ripple_frequency"] = None if dead else 2 * x.f if full_wave else x.f
        if x.load is not None:
            found |= (
                dict.fromkeys(("ripple", "trough", "mean"), 0.0)
                if dead
                else steady.under_load(x, at.n, full_wave)
            )
        if dead:
            found |= {"secondary_current": 0.0 if cut else None, "fuse_margin": None}
        return found

    def checks(self, block: Block) -> list[Check]:
        top = block.high("high_mains_peak")
        found = rating(block, "smoothing", "V", top, "sees, unloaded, at maximum mains,")
        found += rating(block, "filter", "V", top, "sees, unloaded, at maximum mains,")
        fuse = block.part("secondary_fuse")
        if fuse is not None and fuse.value is not None and "secondary_current" in block.values:
            carried = block.high("secondary_current")
            found.append(within(block.label("secondary_fuse"), fuse.value.low, carried, "A", "carries, RMS,"))
        bleeder = block.quantity("bleeder")
        if bleeder is not None:
            found += rating(block, "bleeder", "W", top * top / bleeder.low, "dissipates, at maximum mains,")
            found += rating(block, "bleeder", "V", top, "sees, unloaded, at maximum mains,")
        else:
            found.append(_keeps_its_charge(top, block.point.load is not None))
        if "regulation" in block.spreads:
            what = _("its regulation is not stated: without load it may give up to %(more)s more than rated")
            more = f"{SPREADS['regulation'].above * 100:g} %"
            found.append(worth_saying("transformer", what % {"more": more}))
        if block.point.load is not None:
            # a saw-tooth's RMS
            found += load_ratings(block, math.hypot(block.high("mean"), block.high("ripple") / math.sqrt(12)))
        return found + _pulse_currents(block)

    def remark(self, x: Point, key: str, mode: str) -> str:
        if (key, mode) == ("diodes", "open") and x.rectifier != "half-wave":
            return "every second crest is missing"
        return super().remark(x, key, mode)

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        given = inputs["regulation"]
        if given.high > 1:
            return [
                ("regulation", f"{given.text} is {given.middle * 100:.0f} %", "a share, such as 12 % or 0.12")
            ]
        return []

    def wire(self, block: Block, w: Wiring) -> None:
        """Transformer, rectifier and smoothing capacitor; the rail by its solved steady state."""
        x = block.point
        w.supply("primary", "primary_live", "primary_neutral", ac=True)
        w.common("primary_neutral", mains=True)
        behind = x.rated_current is not None and x.regulation > 0
        ohms = x.secondary * x.regulation / x.rated_current if behind else 0.0
        winding, far = "secondary_a", "centre" if x.rectifier == "centre-tap" else "secondary_b"
        if w.has("secondary_fuse"):
            # few supplies state a fuse, and each call would load this
            from generator.circuit.network.element import exact
            from generator.circuit.network.passive import Drain

            winding = "_winding"
            w.chain("_winding", "secondary_a", ("secondary_fuse",), ac=True)
            w.add(Drain(**{**w.who("entry", ()), "called": ""}, a="secondary_a", b=far, ohms=exact(DRAINS)))
        halves = [(winding, far), ("secondary_b", far)] if far == "centre" else [(winding, far)]
        w.transformer(
            "transformer", ("primary_live", "primary_neutral"), halves,
            rated="primary", gives="secondary", ohms=ohms,
            rises=0.0 if behind else x.regulation or SPREADS["regulation"].above,
        )  # fmt: skip
        n, full = DIODES_IN_PATH[x.rectifier], x.rectifier != "half-wave"
        for copy, (anode, cathode) in enumerate(_DIODES[x.rectifier]):
            w.diode("diodes", anode, cathode, forward="diode_drop", spread="rectifier", ac=True, copy=copy)
        if x.rectifier in _COMMON:
            w.same("common", _COMMON[x.rectifier])
        w.rectified(
            "rectifier", "plus", "common", fed=("secondary_a", far, x.secondary),
            secondary="secondary", drop="diode_drop", diodes=n, full_wave=full, smoothing="smoothing", frequency=x.f,
            regulation=lambda at: at.regulation if behind else 0.0,
            resistance=(lambda at: at.secondary * at.regulation / at.rated_current) if behind else 0.0,
            no_load_top=x.regulation == 0,
        )  # fmt: skip
        w.capacitor("smoothing", "plus", "common")
        w.capacitor("filter", "plus", "common")
        w.resistor("bleeder", "plus", "common")
        w.load("load", "plus")
        w.volts("mean", "plus")
        for figure in ("ripple", "trough", "peak", "no_load_peak"):
            w.of_rail(figure, "rectifier", figure)

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Mains and transformer on the left, the rectifier's diodes pointing up to the rail, capacitor and drains right."""
        winding = block.part("transformer")
        first = Line(winding.designator, "d") if winding else Line("transformer", "r")
        label = [first, *computed(block, "secondary")]
        coil = sheet.device("transformer", 1, 1, "p1", label, label_above=True)
        sheet.wire((0, 1), coil["p1"])
        sheet.wire((0, 2), coil["p2"])
        sheet.port(0, 1, [Line("L", "r"), *computed(block, "primary")])
        sheet.port(0, 2, [Line("N", "r")])
        begins = drawing.to_rectifier(block, sheet, coil)
        column = drawing.RECTIFIERS[str(block.point.rectifier)](block, sheet, coil, begins)
        sheet.tag(column, *computed(block, "peak", "trough"))
        rail = ("smoothing", "filter", "bleeder", "load")
        column = standing(block, sheet, column, (0, 3), rail, segment=(0, 1))
        for row, name in ((0, "+"), (3, "0 V")):
            sheet.port(column, row, [Line(name, "r")], right=True)

    def plot(self, block: Block) -> curves.Diagram | None:
        """Source and smoothing capacitor over two mains periods (s, V), in the steady state under load."""
        trough, mean = (r.value if r else None for r in map(block.values.get, ("trough", "mean")))
        cycle = steady.loaded_cycle(block)
        if trough is None or mean is None or cycle is None:
            return None
        f, crest = block.point.f, cycle.emf - cycle.drop
        full_wave = block.point.rectifier != "half-wave"
        on, _ = cycle.steady(crest)

        def source(t: float) -> float:
            wave = math.sin(cycle.omega * t)
            return float(max(0.0, cycle.emf * (abs(wave) if full_wave else wave) - cycle.drop))

        def rail(t: float) -> float:
            # a cycle counts from the crest, the picture from the zero crossing before it
            since = (t - 1 / (4 * f) - on.t_on) % cycle.period + on.t_on
            if since > on.t_off:
                return cycle.decayed(on.v_off, since - on.t_off)
            return cycle.voltage(since, on.t_on, on.start) if cycle.rs > 0 else cycle.source(since)

        lowest = min((t for t in curves.spaced(0.0, 2 / f) if t <= cycle.period), key=rail)
        return curves.rail_diagram(
            source, rail, f=f, crest=crest, top=block.solved["v_top"], mean=mean, trough=(lowest + cycle.period, trough)
        )  # fmt: skip
