"""An amplifier on one supply: its bias at half of it, its gain by feedback, its loudspeaker behind a capacitor."""

from __future__ import annotations

import math

from generator.circuit import param
from generator.circuit.block import Block, Check, ExtraPart, Kind, Point, Value, Variant
from generator.circuit.formula import STATED, Formula, Found, parallel
from generator.circuit.kinds._audio_drawing import draw_amplifier
from generator.circuit.labels import computed, named
from generator.circuit.network import Wiring
from generator.circuit.network.chips import Amplifier
from generator.circuit.network.element import Number, exact
from generator.circuit.network.passive import Resting
from generator.circuit.network.sources import Load, Source
from generator.circuit.placing import across, down
from generator.circuit.ratings import rating, within
from generator.circuit.says import _, measured
from generator.circuit.sheet import Line, Sheet

GAIN = "non-inverting amplifier with ideal feedback"
CUTOFF = "RC high-pass: 1/(2π·R·C)"
LARGEST_SPEAKER_DC = 0.05  # V; common practice, no source
LARGEST_OFFSET = 0.10  # of half the supply; common practice, no source


def mid_rail(*, supply: float, upper: float, lower: float) -> float:
    """Volts at the bias divider's tap, unloaded: supply·lower/(upper + lower). V, ohm (inf: open). Voltage divider."""
    if math.isinf(upper) or lower == 0:
        return 0.0
    return supply if math.isinf(lower) else supply * lower / (upper + lower)


def _ends(x: Point) -> tuple[float, float]:
    """Lowest and highest volts that the output can reach."""
    low = min(x.saturation, x.supply / 2)
    return low, x.supply - low


def _output(x: Point, mid: float, by_gain: bool) -> Found:
    """DC at the output, held between what the output stage can reach, and how far it can swing from there."""
    low, high = _ends(x)
    blocked = x.output_capacitor is not None and x.failed("output_capacitor") != "short"
    no_dc = blocked or x.failed("load") == "open"
    if x.failed("amplifier") or x.failed("output_capacitor") == "short" and x.supply == 0:
        level = 0.0 if x.failed("amplifier") == "open" else x.supply
        found: Found = {"output_dc": level, "swing": 0.0}
        found |= {"output_power": 0.0} if x.load is not None else {}
        return {**found, "speaker_dc": 0.0 if no_dc else level}
    if math.isinf(x.feedback):  # nothing holds the inverting input: the output goes to a rail
        wanted, text = high, ""
    elif by_gain:
        wanted, text = mid * (1 + x.feedback / x.gain_resistor), "mid_rail·gain"
    else:
        wanted, text = mid, "mid_rail"
    level = min(max(wanted, low), high)
    found = {"low_end": low, "high_end": high}
    if text and low < wanted < high:
        found["output_dc"] = Formula(text)
    else:
        found["output_dc"] = Formula("low_end") if level == low else Formula("high_end")
    nearer = level - low <= high - level
    found["swing"] = STATED if nearer else Formula("high_end − output_dc")
    if x.load is not None:
        found["output_power"] = 0.0 if x.failed("load") == "open" or x.output_capacitor == 0 else STATED
    found["speaker_dc"] = 0.0 if no_dc else STATED
    return found


def _couples(x: Point, capacitor: str) -> bool:
    """Whether a capacitor is there and passes the signal alone."""
    return bool(getattr(x, capacitor)) and x.failed(capacitor) != "short"


def _cutoffs(x: Point) -> Found:
    """Where the three couplings begin to pass; absent where a part of one is."""
    found: Found = {}
    held = x.bias_capacitor is not None and x.bias_capacitor != 0  # for the signal the bias point is common
    bias = 0.0 if held else parallel(x.bias_upper, x.bias_lower)
    series = 0.0 if x.input_resistor is None else x.input_resistor
    if _couples(x, "input_capacitor") and 0 < bias + series < math.inf:
        terms = [] if x.input_resistor is None else ["input_resistor"]
        terms += [] if held else ["bias_upper∥bias_lower"]
        whole = terms[0] if terms == ["input_resistor"] else f"({' + '.join(terms)})"
        found["input_cutoff"] = Formula(f"1/(2·π·{whole}·input_capacitor)")
    if _couples(x, "gain_capacitor") and x.gain_resistor and math.isfinite(x.gain_resistor):
        found["gain_cutoff"] = STATED
    if _couples(x, "output_capacitor") and x.load and x.failed("load") != "open":
        found["output_cutoff"] = STATED
    return found


# A that a stage for a loudspeaker, of at most so many ohm, and a smaller one take without a signal; data sheets, from memory
LOUDSPEAKER, AT_REST, AT_REST_SMALL = 16.0, 20e-3, 3e-3
COIL = 0.85  # DC resistance of a loudspeaker over its rated impedance; data sheets, from memory


class AudioStage(Kind):
    title = "Audio stage"
    group = "Driving"
    by_regime = True
    what = "An amplifier on one supply: biased at half of it, its gain set by feedback, its loudspeaker behind a capacitor."
    assumes = (
        "Ideal feedback: the output follows the input by the gain, and no bias current flows. The output stage reaches to within "
        "the saturation of both rails. A stated load is the loudspeaker's resistance at DC. The terminal out is the loudspeaker's side of "
        "the output capacitor, where no DC stands; what stands at the amplifier is output_dc. A stage whose idle current nothing says "
        "takes 20 mA at rest for a loudspeaker of at most 16 Ω and 3 mA otherwise, a quarter to two and a half times that."
    )
    terminals = ("supply", "input", "out", "common")

    supply = param.Quantity("V", "what feeds the stage")
    bias_upper = param.Part(
        "resistor", "the bias divider's resistor to the supply", role="upper bias resistor"
    )
    bias_lower = param.Part("resistor", "the bias divider's resistor to common", role="lower bias resistor")
    bias_capacitor = param.Part("capacitor", "the capacitor at the divider's tap", default=None)
    input_resistor = param.Part("resistor", "from the bias to the input", default=None)
    input_capacitor = param.Part("capacitor", "the input's coupling capacitor", default=None)
    feedback = param.Part("resistor", "from the output back to the inverting input", role="feedback resistor")
    gain_resistor = param.Part("resistor", "from the inverting input towards common", default=None)
    gain_capacitor = param.Part("capacitor", "in series with it", default=None)
    output_capacitor = param.Part("capacitor", "in front of the loudspeaker", default=None)
    load = param.Part("loudspeaker", "the loudspeaker, such as LS1 8", default=None, role="loudspeaker")
    saturation = param.Quantity(
        "V",
        "how near the output comes to each rail",
        default=param.Unstated("1 V", "output stage"),
        zero=True,
    )
    emitter_resistor = param.Part("resistor", "an emitter resistor of the output stage", default=None)
    emitter_voltage = param.Quantity("V", "volts across it without a signal", default=None, zero=True)

    values = (
        Value("mid_rail", "V", "at the bias divider's tap", "supply·bias_lower/(bias_upper + bias_lower)", "voltage divider",
              at="bias tap to common, no signal"),
        Value("gain", "", "for the signal", "1 + feedback/gain_resistor", GAIN),
        Value("output_dc", "V", "at the output, no signal", "mid_rail", GAIN, at="output to common, no signal"),
        Value("swing", "V", "how far the output can go from there, to the nearer end", "output_dc − low_end", "output stage's limits", interior=True),
        Value("output_power", "W", "into the loudspeaker, a sine at full swing", "swing²/(2·load)", "Joule's law, sine", interior=True),
        Value("input_cutoff", "Hz", "below it the input passes less", "1/(2·π·input_resistor·input_capacitor)", CUTOFF),
        Value("gain_cutoff", "Hz", "below it there is less gain", "1/(2·π·gain_resistor·gain_capacitor)", CUTOFF),
        Value("output_cutoff", "Hz", "below it the loudspeaker gets less", "1/(2·π·load·output_capacitor)", CUTOFF),
        Value("speaker_dc", "V", "across the loudspeaker, no signal", "output_dc", "a capacitor passes no DC",
              at="across the loudspeaker, no signal; first with a resistor of its ohms in its place"),
        Value("idle_current", "A", "through the output stage without a signal", "emitter_voltage/emitter_resistor", "Ohm's law",
              at="volts across the emitter resistor divided by its ohms"),
    )  # fmt: skip
    helper_units = {"low_end": "V", "high_end": "V"}
    extra_parts = (ExtraPart("amplifier", "chip", "amplifier"),)
    remarks = {
        ("output_capacitor", "short"): "the loudspeaker gets the output's DC: it burns, and the amplifier with it",
        ("output_capacitor", "open"): "no sound, though the output swings",
        ("output_capacitor", "low"): "thin sound without bass",
        ("gain_capacitor", "short"): "the DC is amplified like the signal: the output goes towards the supply",
        ("gain_capacitor", "open"): "no gain: very quiet",
        ("gain_capacitor", "low"): "less bass",
        ("gain_resistor", "open"): "no gain: very quiet",
        ("feedback", "open"): "nothing holds the output: it goes to one rail, here shown as the upper",
        ("bias_upper", "open"): "the output goes to its lowest: rattling or silence",
        ("bias_lower", "open"): "the output goes to its highest: rattling or silence",
        ("bias_capacitor", "short"): "no bias: the output goes to its lowest",
        ("bias_capacitor", "open"): "hum from the supply",
        ("input_capacitor", "open"): "no signal comes in",
        ("input_capacitor", "short"): "what feeds it pulls the bias to its own DC: crackling, the output off centre",
        ("input_resistor", "open"): "the input floats: the output drifts to one of the rails",
        ("amplifier", "open"): "nothing comes out",
        ("amplifier", "short"): "the output lies on the supply",
        ("load", "open"): "a broken voice coil: silence, everything else as it should be",
    }  # fmt: skip
    example = {
        "supply": "18 V", "bias_upper": "R1 100k", "bias_lower": "R2 100k", "bias_capacitor": "C2 47u 25V", "input_resistor": "R3 47k",
        "input_capacitor": "C1 1u film", "feedback": "R5 22k", "gain_resistor": "R4 680", "gain_capacitor": "C3 47u 25V",
        "output_capacitor": "C5 1000u 25V", "load": "LS1 8 5W", "saturation": "1.5 V", "emitter_resistor": "R7 0R47",
        "emitter_voltage": "10 mV",
    }  # fmt: skip
    variants = (
        Variant("a follower for headphones, without gain", {"gain_resistor": "", "gain_capacitor": "",
            "load": "LS1 32", "emitter_resistor": "", "emitter_voltage": ""}),
        Variant("the bias divider alone feeds the input", {"bias_capacitor": "", "input_resistor": "",
            "emitter_resistor": "", "emitter_voltage": ""}),
    )  # fmt: skip

    def solve(self, x: Point) -> Found:
        found: Found = {}
        bias = "short" if x.failed("bias_capacitor") == "short" else ""
        mid = 0.0 if bias else mid_rail(supply=x.supply, upper=x.bias_upper, lower=x.bias_lower)
        divided = mid and not math.isinf(x.bias_lower)
        found["mid_rail"] = STATED if divided else (Formula("supply") if mid else 0.0)
        blocked = x.gain_capacitor is not None and x.failed("gain_capacitor") != "short"
        has_gain = x.gain_resistor is not None and not math.isinf(x.gain_resistor) and x.gain_capacitor != 0
        found["gain"] = STATED if has_gain and not math.isinf(x.feedback) else 1.0
        found |= _output(x, mid, has_gain and not blocked)
        found |= _cutoffs(x)
        if x.emitter_resistor is not None and x.emitter_voltage is not None:
            found["idle_current"] = 0.0 if math.isinf(x.emitter_resistor) else STATED
        if math.isinf(x.feedback):
            found.pop("gain")
        # the input floats: where the output then stands, nobody can say
        if math.isinf(x.input_resistor or 0.0):
            for name in ("output_dc", "swing", "output_power", "speaker_dc"):
                found.pop(name, None)
        return found

    def checks(self, block: Block) -> list[Check]:
        x, found = block.point, []
        supply = block.given("supply")
        for share in self._shares(block):
            off, end = abs(2 * share - 1), share * x.supply
            if off > LARGEST_OFFSET:
                text = _(
                    "stands at %(volts)s, more than 10 %% away from half the supply: one half of the signal clips first"
                ) % {"volts": measured(end, "V")}
                found.append(Check("output", text, False, (LARGEST_OFFSET - off) / LARGEST_OFFSET))
                break
        else:
            found.append(Check("output", "stands within 10 % of half the supply", True))
        volts = block.high("speaker_dc")
        found.append(within("loudspeaker", LARGEST_SPEAKER_DC, volts, "V", "gets, as DC,", "at most"))
        if x.bias_capacitor is not None and x.input_resistor is None and x.input_capacitor is not None:
            found.append(Check(block.label("bias_capacitor"), "shorts the signal: no input resistor stands between bias and "
                               "input", False))  # fmt: skip
        load = block.quantity("load")
        if load is not None and load.low > 0:
            found += rating(block, "load", "W", block.high("output_power"), "gets, at full swing,")
        most, bias = block.high("output_dc"), block.high("mid_rail")
        fed = max(bias, supply.high - block.low("mid_rail"))  # from whatever feeds it, common to supply
        for name, sees in (
            ("bias_capacitor", bias), ("output_capacitor", most), ("gain_capacitor", most), ("input_capacitor", fed),
        ):  # fmt: skip
            found += rating(block, name, "V", sees, "sees at most")
        return found

    def _shares(self, block: Block) -> tuple[float, float]:
        """Of its supply, what the output stands at, least and most: where the supply is low, so is its half."""
        x = block.point

        def share(at: Point) -> float:
            return self.values_at(at).get("output_dc", 0.0) / float(at.supply)

        middle = low = high = share(x)
        for axis in block.axes:
            ends = [
                share(x.changed(**dict.fromkeys(axis.names, end))) - middle for end in (axis.low, axis.high)
            ]
            low, high = low + min(0.0, *ends), high + max(0.0, *ends)
        return low, high

    def wire(self, block: Block, w: Wiring) -> None:
        """Bias and input into the + input, the feedback from the output to the - input, the loudspeaker behind its capacitor."""
        w.supply("supply", "supply")
        w.resistor("bias_upper", "supply", "_bias")
        w.resistor("bias_lower", "_bias", "common")
        w.capacitor("bias_capacitor", "_bias", "common")
        if not w.resistor("input_resistor", "_bias", "_plus"):
            w.same("_bias", "_plus")
        if not w.capacitor("input_capacitor", "input", "_plus"):
            w.same("input", "_plus")
        w.resistor("feedback", "_stage", "_minus")
        foot = "_gain" if w.has("gain_capacitor") else "common"
        w.resistor("gain_resistor", "_minus", foot)
        w.capacitor("gain_capacitor", "_gain", "common")
        if not w.capacitor("output_capacitor", "_stage", "out"):
            w.same("_stage", "out")
        if w.has("load"):
            ohms = w.number("load")
            low, high = w.ends("voice coil", ohms.value)
            coil = Number(COIL * ohms.value, ((w.net("voice coil"), low, high),))
            w.add(Resting(**w.who("load"), a="out", b="common", ohms=ohms, at_rest=coil))
        lost = w.number("saturation")
        w.add(
            Amplifier(
                **w.who("amplifier"), plus="_plus", minus="_minus", output="_stage", supply="supply", common="common",
                ohms=exact(0.1), low=lost, lost=lost, quiescent=self._idles(w),
            )
        )  # fmt: skip
        if w.has("emitter_resistor") and w.has("emitter_voltage"):
            stated = w.number("emitter_voltage")
            w.add(Source(**w.who("emitter_voltage", ()), plus="_emitter", minus="common", volts=stated))
            w.resistor("emitter_resistor", "_emitter", "common")
            w.amps("idle_current", "emitter_resistor")
            idle = w.number(lambda x: x.emitter_voltage / x.emitter_resistor, spread="quiescent")
            w.add(Load(name=w.net("idle"), block=block.name, a="supply", b="common", amperes=idle))
        w.volts("mid_rail", "_bias")
        w.volts("output_dc", "_stage")
        w.volts("speaker_dc", "out")

    @staticmethod
    def _idles(w: Wiring) -> Number:
        """A that the stage takes without a signal, where its emitter resistor does not say it."""
        if w.has("emitter_resistor") and w.has("emitter_voltage"):
            return exact(0.0)
        speaker = w.has("load") and w.number("load").value <= LOUDSPEAKER
        return w.number(AT_REST if speaker else AT_REST_SMALL, "stage at rest")

    def draw(self, block: Block, sheet: Sheet) -> None:
        """Bias divider and input on the left, the amplifier with its feedback in the middle, the loudspeaker on the right."""
        sheet.port(0, 0, [Line("supply", "r"), *computed(block, "supply")])
        sheet.port(0, 6, [Line("0 V", "r")])
        down(block, sheet, "bias_upper", 1, 0, 1, left=True)
        down(block, sheet, "bias_lower", 1, 1, 6, left=True, segment=(3, 4))
        sheet.dot((1, 1), (1, 0), (1, 6))
        node = 2
        if block.has("bias_capacitor"):
            sheet.wire((1, 1), (2, 1))
            down(block, sheet, "bias_capacitor", 2, 1, 6, segment=(4, 6))
            sheet.dot((2, 1), (2, 6))
            node = 3
        if block.has("input_resistor"):
            across(block, sheet, "input_resistor", 1, node - 1, node)
        else:
            sheet.wire((node - 1, 1), (node, 1))
        sheet.port(0, 2, [Line("input", "r"), *named(block, "input_cutoff", "from")])
        if block.has("input_capacitor"):
            across(block, sheet, "input_capacitor", 2, 0, 1, below=True, reverse=True)
        else:
            sheet.wire((0, 2), (1, 2))
        sheet.wire((1, 2), (node, 2), (node, 1))
        sheet.dot((node, 1))
        draw_amplifier(block, sheet, node)

    def dangerous(self, x: Point) -> set[tuple[str, str]]:
        return {("output_capacitor", "short")} if x.load is not None else set()
