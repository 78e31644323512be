"""A thermistor and a fixed resistor: how most appliances measure temperature."""

from __future__ import annotations

import math
from typing import Any

from generator.circuit import curves, divided, param
from generator.circuit.block import Block, Check, Formula, Kind, Point, Result, Solved, Value, Variant
from generator.circuit.labels import at_tap_line, cut_lines
from generator.circuit.network import Wiring
from generator.circuit.ratings import rating, worth_saying
from generator.circuit.says import Says, _, measured
from generator.circuit.sheet import Sheet
from generator.notation.parts import Part
from generator.notation.quantity import Quantity

KELVIN = 273.15  # 0 °C
T25 = 298.15  # K; the temperature at which an NTC's resistance is stated (IEC 60539)
CURVE = "B equation of an NTC thermistor (IEC 60539); with sh, Steinhart and Hart, 1968: 1/T = a + b·ln R + c·(ln R)³"
B_HOLDS = (0.0, 85.0)  # °C; B values are stated between 25 and 50, 85 or 100 °C
# A common 10 kΩ part with B25/85 = 3977 K: ln(R/R25) = a + b/T + c/T² + d/T³, −40 to 150 °C (data sheet of NTCLE100E3, from
# memory).
COMMON_B, COMMON = 3977.0, (-14.6337, 4791.842, -115334.0, -3.730535e6)
COMMON_HOLDS = (-40.0, 150.0)
USED = (-100.0, 300.0)  # °C in which NTC thermistors are made and used; common practice, no source
SELF_HEATING_MATTERS = 0.5  # K


def _curve(x: Point) -> Formula:
    """The thermistor's resistance over temperature in °C; R25's tolerance scales the whole curve.

    The B equation R25·exp(B·(1/T − 1/298.15 K)) is within about 1 K of a real part from 0 to 85 °C, 2 K at −20 °C (IEC
    60539). With sh, the one real root in ln R of 1/T = a + b·ln R + c·(ln R)³ (Steinhart and Hart, by Cardano's formula).
    """
    if not x.sh:
        return Formula("thermistor·exp(thermistor_b·(1/(temperature + 273.15) − 1/298.15))")
    if not x.sh[2]:
        return Formula("thermistor/thermistor_nominal·exp((1/(temperature + 273.15) − a)/b)")
    return Formula("thermistor/thermistor_nominal·exp(exp(ln(y − x/2)/3) − exp(ln(y + x/2)/3))")


WITHOUT_TOLERANCE = Formula("resistance·thermistor_nominal/thermistor")


def b_equation_off(celsius: float) -> float:
    """K by which the B equation misses the temperature of a common part, within COMMON_HOLDS."""
    kelvin = celsius + KELVIN
    log = sum(factor / kelvin**power for power, factor in enumerate(COMMON))
    return abs(1 / (1 / T25 + log / COMMON_B) - kelvin)


def _far_off(name: str, at: Result) -> Says:
    """What is said of a cut point that lies where the B equation is off: by how much, at the end that is further out."""
    celsius = at.low if B_HOLDS[0] - at.low > at.high - B_HOLDS[1] else at.high
    known = min(max(celsius, COMMON_HOLDS[0]), COMMON_HOLDS[1])
    said = {"name": name, "at": measured(celsius, "°C"), "off": measured(b_equation_off(known), "K", 1)}
    more = _("%(name)s (%(at)s) lies outside 0 to 85 °C, where the B equation is off (there by more than %(off)s for a "
             "common 10 k part); state sh")  # fmt: skip
    about = _("%(name)s (%(at)s) lies outside 0 to 85 °C, where the B equation is off (there by about %(off)s for a "
              "common 10 k part); state sh")  # fmt: skip
    return (about if known == celsius else more) % said


def _back(x: Point) -> Formula:
    """The curve turned round: °C from a resistance; r is what R would be without the tolerance of R25."""
    if not x.sh:
        return Formula("1/(1/298.15 + ln(resistance/thermistor)/thermistor_b) − 273.15")
    return Formula("1/(a + b·ln(r) + c·ln(r)·ln(r)²) − 273.15")


def _cubic(x: Point, celsius: float) -> dict[str, float]:
    """a, b, c, and the cubic's x = (a − 1/T)/c and y = √((b/(3c))³ + (x/2)²)."""
    a, b, c = x.sh
    terms = {"a": a, "b": b, "c": c}
    if c:
        terms["x"] = (a - 1 / (celsius + KELVIN)) / c
        terms["y"] = math.sqrt((b / (3 * c)) ** 3 + terms["x"] ** 2 / 4)
    return terms


def resistance_at(x: Point, celsius: float) -> float:
    """The thermistor's resistance in ohm; a failed one keeps its 0 or inf."""
    if x.thermistor == 0 or math.isinf(x.thermistor):
        return float(x.thermistor)
    return _curve(x).of(x.changed(temperature=celsius, **(_cubic(x, celsius) if x.sh else {})))


def _temperature(x: Point, resistance: float | None) -> Formula | None:
    """The temperature that a resistance of the thermistor means; None where it means none."""
    if not resistance or math.isinf(resistance) or x.thermistor == 0 or math.isinf(x.thermistor):
        return None
    at = x.changed(resistance=resistance)
    if x.sh:
        at = at.changed(r=WITHOUT_TOLERANCE.of(at), **_cubic(x, 25.0))
    return _back(x) if _back(x).of(at) > -KELVIN else None


def beta_at_25(x: Point, r25: float) -> float:
    """How steeply ln R falls at 25 °C, as a B value in K, from Steinhart-Hart: 1/(b + 3c·(ln R)²)."""
    _, b, c = x.sh
    return float(1 / (b + 3 * c * math.log(r25 * x.thermistor_nominal / x.thermistor) ** 2))


def _cut(x: Point, key: str, given: float) -> Solved:
    """The values of a cut point from the one that is given. A failed thermistor never comes to a given voltage."""
    found: dict[str, float | Formula | None] = {key: given}
    if key == "temperature":
        resistance: float | None = resistance_at(x, given)
        alive = 0 < x.thermistor < math.inf
        found |= {"resistance": _curve(x) if alive else resistance, **(_cubic(x, given) if x.sh else {})}
    elif key == "resistance":
        resistance = given
    else:
        output = given
        if key == "code":
            output = x.supply * (given + 0.5) / 2**x.adc_bits
            found |= {
                "code": min(math.floor(given), 2**x.adc_bits - 1),
                "output": Formula("(code + 0.5)/levels·supply"),
            }
        if x.failed("thermistor"):
            return found
        needed = divided.sensor_for_tap(x, output, x.thermistor_side)
        resistance = needed.of(x.changed(output=output)) if isinstance(needed, Formula) else needed
        found["resistance"] = needed
    if key in ("temperature", "resistance"):
        found["output"] = divided.sensor_tap(x, x.thermistor_side, "resistance", resistance or 0.0)
    if key != "temperature":
        found["temperature"] = _temperature(x, resistance)
        if x.sh:
            found["r"] = WITHOUT_TOLERANCE
    return found


def _vet_curve(inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
    part: Part = inputs["thermistor"]
    sh = inputs["sh"]
    if sh is None:
        if "B" not in part.extras:
            return [
                ("thermistor", f"{part.text} has no B value", f"such as {part.text} B3950; or sh: [a, b, c]")
            ]
        if not 500 <= part.extras["B"].low <= part.extras["B"].high <= 10000:
            what = f"B {part.extras['B'].text} is not a B value of an NTC"
            return [("thermistor", what, "2000 to 5500 K, such as B3950")]
        return []
    if len(sh) != 3:
        return [("sh", f"{len(sh)} numbers", "three are expected: [a, b, c]")]
    a, b, c = sh
    if not (0 < b < 1 and 0 <= c < 1 and abs(a) < 1):
        hint = "[a, b, c] in that order, b above 0, c not below 0"
        return [("sh", f"[{a:g}, {b:g}, {c:g}] is not a curve of an NTC", hint)]
    assert part.value is not None
    try:
        r25 = resistance_at(Point(thermistor=1.0, thermistor_nominal=1.0, sh=sh), T25 - KELVIN)
    except (OverflowError, ValueError):
        r25 = math.inf
    if not 0.8 < r25 / part.value.middle < 1.25:
        return [("sh", f"gives {measured(r25, 'ohm')} at 25 °C, but the thermistor is stated as {part.label}",
                 "a, b, c for R in ohm and T in kelvin")]  # fmt: skip
    return []


class ThermistorDivider(Kind):
    title = "Thermistor divider"
    group = "Sensing"
    what = (
        "An NTC thermistor and a fixed resistor across a supply: the voltage between them tells the "
        "temperature."
    )
    assumes = (
        "The tap is unloaded, and a converter takes the divider's own supply as its reference. A "
        "thermistor's tolerance moves its whole curve; the B equation is good from 0 to 85 °C only."
    )
    terminals = ("supply", "tap", "pin", "common")

    supply = param.Quantity("V", "the voltage across the divider")
    fixed = param.Part("resistor", "the fixed resistor", role="fixed resistor")
    thermistor = param.Part("thermistor", "the NTC: its value at 25 °C and its B, such as TH1 10k B3950")
    thermistor_side = param.Choice(("upper", "lower"), "where the thermistor stands", default="lower")
    adc_bits = param.Count("bits of the converter that reads the tap", default=None)
    dissipation_constant = param.Quantity(
        "W/K", "power that warms the thermistor by 1 K in still air", default=None
    )
    sh = param.Numbers("Steinhart-Hart coefficients [a, b, c] in place of B", default=None)
    series = divided.SERIES
    capacitor = divided.CAPACITOR
    cut_points = param.CutPoints(
        {"temperature": "°C", "resistance": "ohm", "output": "V", "code": ""}, "what the device switches at"
    )

    values = (
        Value("resistance_25", "ohm", "the thermistor at 25 °C", "thermistor", CURVE, cold=True,
              at="across the unplugged thermistor at 25 °C"),
        Value("output_25", "V", "voltage at the tap at 25 °C", "supply·resistance_25/(fixed + resistance_25)",
              divided.OHMS_LAW, at="from the tap to 0 V at 25 °C"),
        Value("open_output", "V", "the same with the thermistor unplugged", "supply", divided.OHMS_LAW,
              at="from the tap to 0 V, thermistor unplugged"),
        Value("short_output", "V", "the same with the thermistor bridged", "0", divided.OHMS_LAW,
              at="from the tap to 0 V, thermistor bridged at its plug"),
        Value("pin_time_constant", "s", "how slowly the pin follows", "(series + fixed∥resistance_25)·capacitor", divided.PIN_FILTER),
        Value("slope_25", "V/K", "how far the tap moves for each kelvin at 25 °C", "supply",
              "derivative of the divider's voltage", interior=True),
        Value("self_heating", "K", "how much the thermistor warms itself at 25 °C",
              "supply²·resistance_25/(fixed + resistance_25)²/dissipation_constant",
              "dissipation constant (IEC 60539): power over temperature rise", interior=True),
    )  # fmt: skip
    cut_values = (
        Value("temperature", "°C", "temperature at this point", "temperature", CURVE,
              at="thermometer at the thermistor"),
        Value("resistance", "ohm", "thermistor's resistance there", "resistance", CURVE, cold=True,
              at="across the unplugged thermistor"),
        Value("output", "V", "voltage at the tap there", "output", divided.OHMS_LAW, at="from the tap to 0 V",
              impedance="series + (fixed∥resistance)"),
        Value("code", "", "what the converter makes of it", "min(floor(output/supply·levels), levels − 1)",
              "converter whose reference is the divider's supply", whole=True),
    )  # fmt: skip
    helper_units = {
        "beta_25": "K",
        "levels": "",
        "thermistor_b": "K",
        "r": "ohm",
        "thermistor_nominal": "ohm",
        **dict.fromkeys("abcxy", ""),
    }
    remarks = {
        **divided.REMARKS,
        ("thermistor", "open"): "the controller sees the coldest there is, and may heat without end",
        ("thermistor", "short"): "the controller sees the hottest there is",
    }
    danger = {("thermistor", "open")}
    example = {
        "supply": "5 V", "fixed": "R9 10k 1%", "thermistor": "TH1 10k B3950 1%", "adc_bits": "10",
        "dissipation_constant": "2 mW/K", "cut_points": {"heat off": {"temperature": "38 C"}},
    }  # fmt: skip
    variants = (
        Variant("thermistor towards the supply", {"thermistor_side": "upper", "adc_bits": "",
            "dissipation_constant": "", "cut_points": ""}),
        Variant("Steinhart-Hart coefficients in place of B", {"thermistor": "TH1 10k 1%",
            "sh": ["1.129148e-3", "2.34125e-4", "8.76741e-8"], "fixed": "R9 10k 1%"}),
        Variant("cut points by voltage, code and resistance", {"cut_points": {"heat off": {"output": "2.2 V"}, "frost": {"code": "900"}, "clicked off": {"resistance": "4k7..5k6"}}}),
    )  # fmt: skip

    def solve(self, x: Point) -> Solved:
        lower = x.thermistor_side == "lower"
        r25 = resistance_at(x, T25 - KELVIN)
        found: dict[str, float | Formula | None] = {
            "output_25": divided.sensor_tap(x, x.thermistor_side, "resistance_25", r25), "open_output": divided.sensor_tap(x, x.thermistor_side, "resistance", math.inf),
            "short_output": divided.sensor_tap(x, x.thermistor_side, "resistance", 0.0),
        }  # fmt: skip
        alive = 0 < r25 < math.inf and not math.isinf(x.fixed)
        if not alive:
            found |= {"resistance_25": r25, "slope_25": 0.0}
            found["self_heating"] = None if x.dissipation_constant is None else 0.0
        else:
            beta = "beta_25" if x.sh else "thermistor_b"
            slope = f"supply·fixed·{beta}·resistance_25/(298.15·(fixed + resistance_25))²"
            found["slope_25"] = Formula(f"−{slope}" if lower else slope)
        if x.adc_bits:
            found["levels"] = 2**x.adc_bits
        if x.sh:
            found |= _cubic(x, T25 - KELVIN)
            if alive:
                found["beta_25"] = beta_at_25(x, r25)
                found["resistance_25"] = Formula(_curve(x).replace("temperature", "25"))
        found |= divided.cut_results(x, _cut)
        return divided.at_pin(self, x, found, ("output_25", "open_output", "short_output"))

    def checks(self, block: Block) -> list[Check]:
        supply, fixed = block.given("supply"), block.given("fixed")
        most = supply.high**2 / fixed.low
        found = rating(block, "fixed", "W", most, "dissipates, with the thermistor shorted,")
        found += rating(block, "thermistor", "W", most / 4, "at the temperature where it takes the most,")
        found += rating(block, "fixed", "V", supply.high, "with the thermistor shorted sees")
        found += rating(block, "thermistor", "V", supply.high, "at its coldest sees up to")
        found += divided.pin_checks(block, supply.high)
        called = block.label("thermistor")
        if block.high("self_heating") > SELF_HEATING_MATTERS:
            warmer = measured(block.high("self_heating"), "K", 2)
            text = _("warms itself by %(warmer)s in still air at 25 °C: readings are that much too high") % {
                "warmer": warmer
            }
            found.append(worth_saying(called, text))
        if not block.point.sh:
            for name in block.point.cuts:
                result = block.values.get(f"{name}.temperature")
                if result and not B_HOLDS[0] <= result.low <= result.high <= B_HOLDS[1]:
                    found.append(worth_saying(called, _far_off(name, result)))
        return found

    def remark(self, x: Point, key: str, mode: str) -> str:
        if (key, mode, x.thermistor_side) == ("fixed", "open", "lower"):
            return "the tap hangs on the thermistor alone; unplugged, it floats"
        return super().remark(x, key, mode)

    def vet(self, inputs: dict[str, Any]) -> list[tuple[str, str, str]]:
        found = _vet_curve(inputs)
        supply: Quantity = inputs["supply"]
        bits = inputs["adc_bits"].value if inputs["adc_bits"] else 0
        if bits > 32:
            found.append(("adc_bits", f"{bits:g} bits", "converters have 6 to 24 bits"))
        for name, (key, given) in (inputs["cut_points"] or {}).items():
            if key == "output":
                found += divided.vet_tap(name, given, supply)
            elif key == "temperature" and not USED[0] <= given.low <= given.high <= USED[1]:
                found.append(("cut_points", f"{name}: {given.text} is outside what thermistors are made for",
                              f"{USED[0]:g} to {USED[1]:g} °C".replace("-", "−")))  # fmt: skip
            elif key == "code" and not bits:
                found.append(("cut_points", f"{name}: a code needs adc_bits", "such as adc_bits: 10"))
            elif key == "code" and not given.high <= 2 ** min(bits, 32) - 1:
                hint = f"0 to {2 ** min(bits, 32) - 1:.0f}"
                found.append(("cut_points", f"{name}: code {given.text} is beyond the converter", hint))
        return found

    def wire(self, block: Block, w: Wiring) -> None:
        """Thermistor and fixed resistor from the supply to common, the tap between them, the pin behind it."""
        divided.wire_sensor_divider(
            w, str(block.point.thermistor_side), "thermistor", w.sensed(resistance_at, "air")
        )
        w.volts("output_25", "pin")
        w.volts("open_output", "pin", failed=(("thermistor", "open"),))
        w.volts("short_output", "pin", failed=(("thermistor", "short"),))
        top, bottom = ("tap", "common") if block.point.thermistor_side == "lower" else ("supply", "tap")
        w.ohms("resistance_25", top, bottom)

    def draw(self, block: Block, sheet: Sheet) -> None:
        at_tap = at_tap_line(block, "output_25", "at 25 °C") + cut_lines(block, "output")
        divided.draw_sensor_divider(
            block, sheet, "thermistor", "thermistor", str(block.point.thermistor_side), at_tap
        )

    def plot(self, block: Block) -> curves.Diagram | None:
        """The tap's voltage (V) over temperature (°C), with the cut points on it."""
        x, supply = block.point, block.point.supply
        marks = curves.cut_marks(block.point.cuts, block.values, "temperature")
        degrees = [t for m in marks for t in (m.x, m.x_high) if not math.isnan(t)]
        low, high = curves.around(degrees, least=(0.0, 60.0), most=USED)

        def output(celsius: float) -> float:
            return divided.sensor_tap_voltage(x, x.thermistor_side, resistance_at(x, celsius))

        curve = curves.Curve("output", curves.points(output, curves.spaced(low, high)))
        across, up = ("temperature", "°C", low, high), ("output", "V", 0.0, supply)
        return curves.Diagram("output over temperature", across, up, (curve,), marks)
