"""Audio stage, held against nodal analysis, an AC analysis by complex arithmetic, and hand calculation."""

from __future__ import annotations

import math

import pytest
from bench import after, failed, made, said, value
from nodal import Network

EXAMPLE = {
    "supply": "18 V", "bias_upper": "R1 100k", "bias_lower": "R2 100k", "bias_capacitor": "C2 47u", "input_resistor": "R3 47k",
    "input_capacitor": "C1 1u film", "feedback": "R5 22k", "gain_resistor": "R4 680", "gain_capacitor": "C3 47u",
    "output_capacitor": "C5 1000u 25V", "load": "LS1 8 5W", "saturation": "1.5 V",
}  # fmt: skip


@pytest.mark.parametrize("gain_capacitor", ["C3 47u", ""])
def test_dc_against_nodal_analysis(gain_capacitor: str) -> None:
    """An amplifier of gain 1e6 as a controlled source, solved by nodal analysis for its output: v = 1e6·(v+ − v−) by bisection."""
    ratio = 0.0 if gain_capacitor else 680.0

    def inverting(output: float) -> float:
        net = Network().voltage("out", "out", "0", output).resistor("out", "minus", 22e3)
        net.resistor("minus", "0", ratio or math.inf)
        return net.solve()[0]["minus"]

    low, high = 0.0, 18.0 * 40
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if 1e6 * (9.0 - inverting(middle)) > middle else (low, middle)
    block = made("audio-stage", **{**EXAMPLE, "gain_capacitor": gain_capacitor})
    assert value(block, "output_dc") == pytest.approx(min(low, 18.0 - 1.5), rel=1e-4)


@pytest.mark.parametrize(
    "name, ohms, farad",
    [("input_cutoff", 47e3, 1e-6), ("gain_cutoff", 680, 47e-6), ("output_cutoff", 8, 1e-3)],
)
def test_cutoffs_by_complex_arithmetic(name: str, ohms: float, farad: float) -> None:
    """At the cutoff a resistor behind a capacitor has 1/√2 of the signal."""
    hertz = value(made("audio-stage", **EXAMPLE), name)
    passed = ohms / (ohms + 1 / (2j * math.pi * hertz * farad))
    assert abs(passed) == pytest.approx(1 / math.sqrt(2), rel=1e-6)


def test_by_hand() -> None:
    """1 + 22/0.68 = 33.4; 9 V; 9 − 1.5 = 7.5 V of swing; 7.5²/16 = 3.52 W; 10 mV/0.47 Ω = 21.3 mA."""
    block = made("audio-stage", **EXAMPLE, emitter_resistor="R7 0R47", emitter_voltage="10 mV")
    found = {
        name: value(block, name)
        for name in ("gain", "mid_rail", "output_dc", "swing", "output_power", "idle_current")
    }
    wanted = {
        "gain": 33.353,
        "mid_rail": 9.0,
        "output_dc": 9.0,
        "swing": 7.5,
        "output_power": 3.5156,
        "idle_current": 0.021277,
    }
    assert found == pytest.approx(wanted, rel=1e-4)


def test_without_the_bias_capacitor_the_divider_counts() -> None:
    """47k + 100k∥100k = 97 kΩ: 1.64 Hz with 1 µF. By hand."""
    assert value(made("audio-stage", **{**EXAMPLE, "bias_capacitor": ""}), "input_cutoff") == pytest.approx(
        1.6408, abs=1e-4
    )
    shorted = made("audio-stage", **{**EXAMPLE, "input_resistor": ""})
    assert "input_cutoff" not in shorted.values and "shorts the signal" in said(shorted, False)


def test_off_centre() -> None:
    """100k over 68k: 7.29 V, 19 % off; the lower half of the signal ends first, at 7.29 − 1.5. By hand."""
    block = made("audio-stage", **{**EXAMPLE, "bias_lower": "R2 68k"})
    assert value(block, "swing") == pytest.approx(18 * 68 / 168 - 1.5)
    assert "half the supply" in said(block, False)


def test_a_low_supply_has_a_low_half() -> None:
    """Equal resistors of 5 % give 0.475 to 0.525 of the supply (47.5/(47.5 + 52.5), voltage divider), 5 % from its half, at 15.6 V and at
    12 V alike; with 10 % each it is 0.45 to 0.55, 10 % off; with 20 %, 0.4 and more."""
    wide = {**EXAMPLE, "supply": "15.6 V 15%", "bias_upper": "R1 47k", "bias_lower": "R2 47k"}
    assert "within 10 % of half the supply" in said(made("audio-stage", **wide), True)
    worse = made("audio-stage", **{**wide, "bias_upper": "R1 47k 20%", "bias_lower": "R2 47k 20%"})
    assert "half the supply" in said(worse, False)


def test_what_its_capacitors_see() -> None:
    """The gain leg and the output capacitor stand at the output's DC, 9 V in the middle: at most 18 V·0.525 = 9.45 V, by hand."""
    rated_too = {**EXAMPLE, "bias_capacitor": "C2 47u 25V", "gain_capacitor": "C3 47u 25V"}
    checks = made("audio-stage", **rated_too).checks
    found = {check.part: check for check in checks if "sees at most" in check.what}
    for part, rated in (("C2", 25), ("C3", 25), ("C5", 25)):
        assert found[part].ok and found[part].margin == pytest.approx((rated - 9.45) / rated, abs=0.005)


def test_no_output_capacitor() -> None:
    """9 V across a loudspeaker: a check fails."""
    block = made("audio-stage", **{**EXAMPLE, "output_capacitor": ""})
    assert value(block, "speaker_dc") == 9.0 and "gets, as DC" in said(block, False)
    shorted = made("audio-stage", **{**EXAMPLE, "output_capacitor": ""})
    assert (
        after(shorted, "amplifier", "short")["speaker_dc"] == 18.0
    )  # the whole supply, which nothing keeps from it
    assert after(made("audio-stage", **EXAMPLE), "amplifier", "short")["speaker_dc"] == 0.0


def test_failures() -> None:
    """Shorted output capacitor: the DC reaches the loudspeaker, the dangerous one. Shorted gain capacitor: 9 V·33 ends at the rail."""
    block = made("audio-stage", **EXAMPLE)
    assert after(block, "C5", "short")["speaker_dc"] == 9.0 and failed(block, "C5", "short").dangerous
    assert after(block, "C3", "short")["output_dc"] == 16.5
    assert after(block, "R1", "open")["output_dc"] == 1.5
    assert after(block, "R2", "open")["output_dc"] == 16.5
    assert after(block, "C2", "short")["mid_rail"] == 0.0
    for part, mode in (("C1", "open"), ("C5", "low"), ("LS1", "open"), ("R4", "open")):
        assert after(block, part, mode)["output_dc"] == 9.0
