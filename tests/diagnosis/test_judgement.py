"""Readings of a note judged together: conditions, contradictions, causes upstream, the author's word, what to read next."""

from __future__ import annotations

import gc
import weakref
from typing import Any

import pytest

from generator.circuit.circuit import Circuit, Mains, build
from generator.circuit.device import assemble
from generator.circuit.device.assembly import MOST_KEPT
from generator.diagnosis import naming, words
from generator.diagnosis.bench import fitting
from generator.diagnosis.coldnet import cold_network
from generator.diagnosis.judging import Judgement, judge
from generator.diagnosis.readings import Meter
from generator.diagnosis.recorded import doubts, modes_said
from generator.diagnosis.words import conclusion
from generator.notes.reading import Reading
from generator.notes.record import Fault

SUPPLY = {
    "kind": "transformer-supply", "secondary": "12 V", "smoothing": "C3 1000u 35V 20%", "bleeder": "R4 22k",
    "regulation": "12 %", "rated_current": "250 mA", "load": "120 mA",
}  # fmt: skip
RAIL = {"kind": "linear-regulator", "input": "supply.trough", "output": "5 V", "load": "100 mA"}
SENSOR = {
    "kind": "thermistor-divider",
    "supply": "rail.output_voltage",
    "fixed": "R9 10k 1%",
    "thermistor": "TH1 10k B3950",
}
HEATER = {"kind": "heater", "power": "E1 95W", "rated_voltage": "230 V", "contact": "RL1 5A"}


def circuit(**blocks: dict[str, Any]) -> Circuit:
    built = build(blocks, Mains())
    assert not built.troubles, built.troubles
    return built


def judged(of: Circuit, *readings: tuple[str, ...], meter: Meter | None = None) -> Judgement:
    taken = [
        Reading(*r[0].split(".", 1), r[1], condition=r[2] if len(r) > 2 else "", at=r[0]) for r in readings
    ]
    return judge(assemble(of), taken, meter or Meter())


def first(found: Judgement) -> tuple[str, str]:
    return found.fits[0].change.called, found.fits[0].change.mode


def test_what_is_kept_with_devices_goes_when_others_come() -> None:
    """A build works thousands of notes out in a row, and does not wait for the collector of circles to free them."""
    gc.collect()
    gc.disable()
    try:
        kept = []
        for volts in range(5, 5 + 2 * MOST_KEPT):
            of = circuit(supply={**SUPPLY, "secondary": f"{volts} V"})
            judge(assemble(of), [Reading("", "", "22k", ohms=("R4",))], Meter())
            kept.append(weakref.ref(cold_network(assemble(of))))
        assert sum(one() is not None for one in kept) <= MOST_KEPT
    finally:
        gc.enable()


# --- what cannot be judged --------------------------------------------------------------------------------------------


def test_a_value_that_the_block_has_not_names_it() -> None:
    found = judged(circuit(supply=SUPPLY), ("supply.humidity", "12 V"))
    assert "supply.humidity" in found.judged[0].taken.trouble and found.fits == []


def test_a_wrong_unit_is_told() -> None:
    found = judged(circuit(supply=SUPPLY), ("supply.mean", "12 ohm"), ("supply.ripple", "0.8 V"))
    assert found.judged[0].taken.trouble and found.judged[1].verdict
    assert len(found.fitted) == 1


def test_the_bench_names_the_nearest_value() -> None:
    block = circuit(supply=SUPPLY).blocks["supply"]
    found = fitting(block, {"riple": "3.6 V"})
    assert found.judgement is None and "ripple" in found.problems[0]
    assert fitting(block, {"ripple": "3.6 ohm"}).problems


# --- conditions -------------------------------------------------------------------------------------------------------


# --- what fits --------------------------------------------------------------------------------------------------------


def test_both_readings_fit_and_the_others_do_not() -> None:
    """12 V RMS bridge, 1000 µF, 120 mA: half the ripple frequency means every second crest missing (rectifier handbooks)."""
    found = judged(circuit(supply=SUPPLY), ("supply.ripple", "1.85 V"), ("supply.ripple_frequency", "50 Hz"))
    assert first(found) == ("rectifier diode", "open")
    assert conclusion(found)[0] == "Both readings fit rectifier diode open."


def test_lost_capacitance_is_told_with_its_range() -> None:
    """ΔV ≈ I/(2·f·C) at the most: 3.6 V at 120 mA and 100 Hz is some 270 µF, of which the steady state leaves less; half of that with a load 20 % lighter
    at the least."""
    found = judged(circuit(supply=SUPPLY), ("supply.ripple", "3.6 V"), ("supply.ripple_frequency", "100 Hz"))
    assert first(found) == ("C3", "low")
    assert found.fits[0].reach is not None
    low, high, nominal, unit = found.fits[0].reach
    assert 0.8 * 0.12 / (2 * 100 * 3.6) < low < high < 0.12 / (100 * 3.6) and (nominal, unit) == (
        1000e-6,
        "F",
    )
    assert any(
        s.startswith("Fits if C3 has fallen to ") and s.endswith(" µF of 1000 µF.") for s in conclusion(found)
    )


def test_within_the_bands_is_sound_and_says_what_is_not_ruled_out() -> None:
    found = judged(circuit(supply=SUPPLY), ("supply.mean", "14.6 V"), ("supply.ripple", "0.80 V"))
    assert found.fits[0].change.block == ""
    assert conclusion(found)[0] == "Both readings fit a sound circuit."
    assert "R4 open" in conclusion(found)[1]


def test_outside_every_failure() -> None:
    """Nothing in a 12 V supply makes 60 V."""
    found = judged(circuit(supply=SUPPLY), ("supply.mean", "60 V"), ("supply.ripple", "0.8 V"))
    assert (
        conclusion(found)[0]
        == "The readings fit a sound circuit if 60 V at mean was misread: measure it again."
    )
    assert found.doubted == [0]


def test_contradictory_readings_are_shown_and_not_averaged() -> None:
    found = judged(
        circuit(supply=SUPPLY),
        ("supply.mean", "14.6 V"),
        ("supply.mean", "0.0 V"),
        ("supply.ripple_frequency", "100 Hz"),
    )
    assert found.contradictory == [(0, 1)] and all(j.verdict for j in found.judged)
    assert found.doubted == [1]
    assert (
        "14.6 V" in conclusion(found)[0]
        and "0.0 V" in conclusion(found)[0]
        and "measure again" in conclusion(found)[0]
    )
    assert found.fits[0].change.block == ""


def test_readings_that_agree_are_no_contradiction() -> None:
    found = judged(circuit(supply=SUPPLY), ("supply.mean", "14.6 V"), ("supply.mean", "14.7 V"))
    assert found.contradictory == [] and len(found.fitted) == 2


def test_an_output_gone_to_its_input_is_the_sense_resistor() -> None:
    """Without the upper resistor the regulator sees 0 V and opens up fully; how far, the block cannot know."""
    feedback = {
        "kind": "feedback-divider",
        "reference": "2.5 V",
        "upper": "R14 18k 1%",
        "lower": "R15 4k7 1%",
    }
    found = judged(circuit(f=feedback), ("f.output", "31 V"), ("f.divider_current", "0.000 mA"))
    assert first(found) == ("R14", "open")


def test_a_worn_contact_need_not_be_as_worn_as_reckoned() -> None:
    """A burnt contact that drops 46 V, or 12 V, is a burnt contact, though the block reckons with a tenth."""
    for read in ("0.33 A", "0.387 A"):
        found = judged(
            circuit(h={**HEATER, "power": "95 W 0%", "supply": "230 V 0%"}),
            ("h.current", read),
            ("h.resistance", "557 ohm"),
        )
        assert first(found) == ("RL1", "high resistance"), read


# --- meter loading ----------------------------------------------------------------------------------------------------


def test_the_meter_itself_pulls_a_node_down() -> None:
    """1 MΩ over 1 MΩ at 10 V, read with 10 MΩ: 10·(1∥10)/(1 + 1∥10) = 4.76 V (Thévenin), which is sound; with 1 MΩ 3.33 V."""
    halves = circuit(
        d={"kind": "divider", "supply": "10 V 0 %", "upper": "R1 1M 0.1%", "lower": "R2 1M 0.1%"}
    )
    exact = Meter(0.001, 0, 10e6)
    found = judged(halves, ("d.output", "4.762 V"), meter=exact)
    assert found.judged[0].verdict and found.judged[0].verdict.ok
    assert found.judged[0].expected and found.judged[0].expected.value == pytest.approx(100 / 21, rel=1e-4)
    assert found.fits[0].change.block == ""
    assert judged(halves, ("d.output", "3.333 V"), meter=Meter(0.001, 0, 1e6)).fits[0].change.block == ""
    assert judged(halves, ("d.output", "5.000 V"), meter=exact).fits[0].change.block != ""


def test_a_plug_discharges_through_the_meter_too() -> None:
    """Without its bleeder 220 nF drains through 10 MΩ alone: after 1 s exp(−1/2.2) = 63 % of 325 V are left, 206 V."""
    inlet = {
        "kind": "mains-inlet", "supply": "230 V", "load": "180 W", "fuse": "F1 2A 250V", "x_capacitor": "C1 220n 5% X2 275V",
        "bleeder": "R1 1M",
    }  # fmt: skip
    assert first(judged(circuit(i=inlet), ("i.plug_voltage_1s", "206 V"))) == ("R1", "open")


# --- across blocks ----------------------------------------------------------------------------------------------------


def test_a_dead_rail_is_blamed_on_its_cause() -> None:
    """Three blocks read 0 V: one cause upstream, not three faults."""
    whole = circuit(supply=SUPPLY, rail=RAIL, sensor=SENSOR)
    found = judged(
        whole, ("supply.mean", "0.0 V"), ("rail.output_voltage", "0.0 V"), ("sensor.output_25", "0.0 V")
    )
    best = {(f.change.block, f.change.called) for f in words.leaders(found.fits)}
    assert best >= {("supply", "C3"), ("supply", "rectifier diode"), ("supply", "transformer winding")}
    assert {block for block, _ in best} == {"supply"}
    regulator = next(f for f in found.fits if f.change.called == "regulator" and f.change.mode == "open")
    assert 0 in regulator.contradicts


def test_a_sound_supply_leaves_the_blame_below() -> None:
    whole = circuit(supply=SUPPLY, rail=RAIL, sensor=SENSOR)
    found = judged(
        whole, ("supply.mean", "14.6 V"), ("rail.output_voltage", "0.0 V"), ("sensor.output_25", "0.0 V")
    )
    assert first(found) == ("regulator", "open")


def test_blocks_that_cannot_matter_are_not_accused() -> None:
    whole = circuit(supply=SUPPLY, other={**SUPPLY, "smoothing": "C9 470u", "bleeder": "R8 10k"})
    found = judged(whole, ("supply.mean", "0.0 V"))
    assert "other" not in {f.change.block for f in words.leaders(found.fits) if f.share > 0.02}


# --- what to read next ------------------------------------------------------------------------------------------------


def test_a_hazardous_reading_has_its_caution() -> None:
    assert "Mains potential" in naming.hazard_text("mains")
    assert "discharge" in naming.hazard_text("charged")
    assert naming.hazard_text("") == ""


# --- the author's word ------------------------------------------------------------------------------------------------


def test_a_recorded_fault_that_does_not_fit_is_doubted_with_the_reason() -> None:
    found = judged(circuit(supply=SUPPLY), ("supply.ripple", "3.6 V"), ("supply.ripple_frequency", "100 Hz"))
    doubted = doubts([Fault(part="R4", failed="open")], found)
    assert len(doubted) == 1 and doubted[0].part == "R4"
    assert "with R4 open" in doubted[0].reason and "C3 low" in doubted[0].reason


@pytest.mark.parametrize(
    "fault",
    [Fault(part="C3", failed="dried out"), Fault(part="C3", failed="lost capacitance"), Fault(part="drive belt", failed="snapped"),
     Fault(part="R4", failed="looked at me in a funny way"), Fault(part="R4", failed="intermittent"), Fault(part="C3", failed="leaky")],
)  # fmt: skip
def test_what_fits_or_is_in_no_block_is_left_to_the_author(fault: Fault) -> None:
    found = judged(circuit(supply=SUPPLY), ("supply.ripple", "3.6 V"), ("supply.ripple_frequency", "100 Hz"))
    assert doubts([fault], found) == []


def test_of_several_faults_none_has_to_explain_everything() -> None:
    found = judged(circuit(supply=SUPPLY), ("supply.ripple", "3.6 V"), ("supply.ripple_frequency", "100 Hz"))
    assert doubts([Fault(part="C3", failed="low"), Fault(part="R4", failed="open")], found) == []


def test_without_readings_there_is_no_doubt() -> None:
    assert doubts([Fault(part="C3", failed="open")], judged(circuit(supply=SUPPLY))) == []


@pytest.mark.parametrize(
    "text, modes",
    [("open", {"open"}), ("gone open when warm", {"open"}), ("shorted", {"short"}), ("dried out", {"low"}), ("welded shut", {"short"}),
     ("drifted high", {"high"}), ("burnt contact", {"high resistance"}), ("leaky", {"leaky", "short", "low"}), ("aged", {"weak"}), ("hardened", set())],
)  # fmt: skip
def test_ways_of_failing_in_the_trade_s_words(text: str, modes: set[str]) -> None:
    assert modes_said(text) == modes


# --- what loads a node ------------------------------------------------------------------------------------------------


def test_every_impedance_can_be_worked_out() -> None:
    """A formula that names what its block has not would be passed over in silence: each comes to ohms, or to no end."""
    from kind_cases import every_case

    from generator.circuit.block import scope
    from generator.circuit.circuit import build_block
    from generator.circuit.formula import names_in

    seen = 0
    for name, given in every_case():
        block, _ = build_block(name, given, Mains())
        assert block is not None
        for definition in block.definitions:
            if definition.name in block.values and definition.across:
                assert definition.across in block.point.__dict__
            if definition.name not in block.values or not definition.impedance:
                continue
            known = scope({**block.point.__dict__, **block.solved}, definition.name)
            assert set(names_in(definition.impedance)) <= known.keys(), (name, definition.name)
            seen += 1
    assert seen >= 5


@pytest.mark.parametrize(
    "parameters, value, sound, by_hand",
    [
        # 470 kΩ above, thermistor unplugged: 12·10/(10 + 0.47)
        ({"kind": "thermistor-divider", "supply": "12 V", "fixed": "R9 470k 1%", "thermistor": "TH1 220k B4100"}, "open_output", 12.0, 120 / 10.47),
        # pull-up 1 MΩ and 47 kΩ in series: 12·10/(10 + 1.047)
        ({"kind": "button-input", "supply": "12 V", "pull_up": "R12 1M", "series": "R13 47k"}, "idle_voltage", 12.0, 120 / 11.047),
        # a probe beside the capacitor: τ = (1 MΩ∥10 MΩ)·1 µF
        ({"kind": "rc-delay", "resistor": "R21 1M", "capacitor": "C10 1u film", "supply": "5 V", "threshold": "3 V"}, "time_constant", 1.0, 10 / 11),
    ],
)  # fmt: skip
def test_loaded_readings_by_hand(
    parameters: dict[str, Any], value: str, sound: float, by_hand: float
) -> None:
    """Thévenin's theorem with 10 MΩ."""
    of = circuit(x=parameters)
    assert of.blocks["x"].values[value].value == pytest.approx(sound)
    unit = of.blocks["x"].values[value].unit
    found = judged(of, (f"x.{value}", f"{by_hand:.4f} {unit}"))
    assert found.judged[0].expected and found.judged[0].expected.value == pytest.approx(by_hand, rel=1e-4)
    assert found.fits[0].change.block == ""


def test_what_has_nothing_to_do_with_the_odd_reading_is_not_ruled_out_in_words() -> None:
    """A failure that moves another reading only is no alternative, and goes without saying."""
    dusk = {"kind": "light-divider", "supply": "6 V", "fixed": "R1 33k", "sensor": "LDR1 10k gamma0.7"}
    stall = {"kind": "sense-resistor", "shunt": "R8 1R 1W", "limit": "0.6 V", "load": "180 mA"}
    readings = [("dusk.dark_output", "0.94 V"), ("dusk.bright_output", "0.07 V"), ("stall.drop", "0.18 V")]
    text = " ".join(conclusion(judged(circuit(dusk=dusk, stall=stall), *readings)))
    assert "LDR1 leaky" in text
    assert "R8" not in text


def test_two_readings_that_are_not_worked_out_do_not_contradict() -> None:
    """Neither has a place that is known, and so they are not of one place."""
    found = judged(circuit(supply=SUPPLY), ("supply.nowhere", "12 V"), ("supply.nothing", "3 V"))
    assert [own.taken.sought for own in found.judged] == [None, None]
    assert found.contradictory == []
