"""What a repairer takes for granted: rooms are not at 25 °C, packs sag, regulators limit, gates leak, pins wear."""

from __future__ import annotations

import math

import pytest
from noted import judged_note

from generator.circuit.device.results import nets
from generator.diagnosis import naming, words
from generator.diagnosis.judging import Judgement

HEAD = "title: Something\ndate: 2026-03-14\nsymptoms: [dead]\noutcome: unknown\ndevice: {kind: lamp}\n"
PUMP = """
states: {rest: {}, on: {on: [fet]}}
blocks:
  pack: {kind: battery-pack, cells: 4, chemistry: alkaline, capacity: 2 Ah, load: 150 mA}
  motor: {kind: dc-motor, motor: M1, supply: pack, winding: 4, running_current: 150 mA}
  fet: {kind: mosfet-switch, drive: 5 V, gate: R5 1k, pull_down: R6 100k, transistor: Q1 vth2 rds0R05 30V,
        load_supply: pack, flyback: D1}
joins: [[motor.minus, fet.drain]]
connectors: {CN1: [motor.plus, fet.drain]}
"""
BOARD = """
blocks:
  pack: {kind: battery-pack, cells: 4, chemistry: alkaline, capacity: 2 Ah, load: 50 mA}
  reg: {kind: linear-regulator, regulator: U1, input: pack, output: 3.3 V, dropout: 0.3 V, output_capacitor: C2 10u 10V}
  key: {kind: button-input, button: S1, supply: reg, pull_up: R3 10k}
"""


def judged(front: str, *readings: str) -> Judgement:
    lines = "".join(f"  - {{{own}}}\n" for own in readings)
    _device, found = judged_note(f"---\n{HEAD}{front.strip()}\nreadings:\n{lines}---\n")
    assert all(own.fitted for own in found.judged), [own.taken.trouble for own in found.judged]
    return found


def names(found: Judgement, count: int = 3) -> list[tuple[str, str]]:
    return [(fit.change.called, fit.change.mode) for fit in found.fits[:count]]


def test_a_sensor_in_a_room_of_20_degrees_is_sound() -> None:
    """The B equation of a 10k B3950 thermistor at 20 °C: R25·exp(B·(1/T − 1/298.15)) = 12.5 kΩ."""
    sensor = "blocks:\n  air: {kind: thermistor-divider, supply: 5 V, fixed: R9 10k 1%, thermistor: TH1 10k B3950 1%}"
    at_20 = 10 * math.exp(3950 * (1 / 293.15 - 1 / 298.15))
    found = judged(sensor, f"at: air.tap, read: {5 * at_20 / (10 + at_20):.2f} V")
    assert found.fits[0].sound and found.judged[0].verdict is not None and found.judged[0].verdict.ok


def test_one_led_of_a_string_is_named() -> None:
    """Three white LEDs in a row, the one in the middle at 0 V: Kirchhoff's laws leave it shorted."""
    lamp = "blocks:\n  lamp: {kind: led-indicator, supply: 12 V, resistor: R7 150, forward: LD1-LD3 white, count: 3}"
    found = judged(
        lamp, *(f"across: LD{n}, read: {text}" for n, text in ((1, "3.1 V"), (2, "0 V"), (3, "3.1 V")))
    )
    assert names(found, 1) == [("LD2", "short")]
    assert words.conclusion(found)[0] == "All 3 readings fit LD2 short."


def test_a_leak_across_an_led_that_is_off_shows() -> None:
    """What a meter of 10 MΩ and a transistor that is off pass, a microampere, leaves volts across a whole LED, and next to none
    across one with a leak of some kΩ (Ohm's law)."""
    lamp = """states: {lit: {light: 10 lux}, dark: {light: 500 lux}}
blocks:
  pack: {kind: battery-pack, cells: 8, chemistry: alkaline, capacity: 2 Ah}
  light: {kind: light-divider, supply: pack, fixed: R4 47k, sensor: LDR1 20k gamma0.7, sensor_side: lower}
  drive: {kind: transistor-switch, base: R5 22k, pull_down: R6 100k, transistor: Q1 hfe200, load_supply: pack}
  lamp: {kind: led-indicator, supply: pack, resistor: R7 150, forward: LD1-LD3 white, count: 3}
joins: [[light.tap, drive.drive], [lamp.common, drive.collector]]"""
    found = judged(lamp, "across: LD1, read: 0 V, when: dark", "across: LD2, read: 1.6 V, when: dark")
    likelihood = {(fit.change.called, fit.change.mode): fit.likelihood for fit in found.fits}
    assert likelihood["LD1", "leaky"] > max(likelihood["", "none"], likelihood["LD2", "leaky"]) + 0.5


def test_what_fits_alike_is_named_side_by_side() -> None:
    """0 V on a tap: nothing comes from above, or all of it goes below (Ohm's law). One sentence has them all, "or" before the last."""
    sensor = "blocks:\n  air: {kind: thermistor-divider, supply: 5 V, fixed: R9 10k 1%, thermistor: TH1 10k B3950 1%}"
    (first, *_more) = words.conclusion(judged(sensor, "at: air.tap, read: 0 V"))
    assert first.startswith("The reading fits ") and first.count(" or ") == 1
    assert {"R9 open", "TH1 short", "supply dead"} <= {
        own.strip() for own in first[17:].replace(" or ", ",").split(",")
    }


def test_half_the_drive_at_a_gate_is_a_leak_behind_its_resistor() -> None:
    """1 kΩ to the gate and 1 kΩ from it: half of 5 V (Ohm's law). The gate is named beside R6, which fails more seldom."""
    assert ("Q1", "leaky gate") in names(judged(PUMP, "at: fet.gate, read: 2.50 V, when: on"))


def test_a_pack_that_falls_under_load_is_worn() -> None:
    """6 V at rest and 4 V at 150 mA: (6 − 4)/0.15 = 13 Ω inside, where new cells have a few tenths (Ohm's law)."""
    found = judged(PUMP, "at: pack.plus, read: 6.0 V, when: rest", "at: pack.plus, read: 4.0 V, when: on")
    assert found.fits[0].change.mode == "high resistance" and found.fits[0].change.block == "pack"


def test_a_shorted_rail_leaves_what_the_regulators_limit_leaves() -> None:
    """A regulator gives an ampere or two into a short (data sheets, from memory): 1.5 A from four cells of 0.15 Ω leave
    6 − 1.5·0.6 = 5.1 V of the pack, and 20 mV of the rail are 13 mΩ (Ohm's law)."""
    found = judged(BOARD, "at: pack.plus, read: 5.1 V", "at: reg.out, read: 0.02 V")
    assert ("C2", "short") in names(found)


def test_a_pin_of_the_connector_on_which_a_motor_hangs_may_be_worn() -> None:
    """4 Ω of the motor and 12 Ω of its pin in series: 16 Ω at the connector with the plug out."""
    found = judged(PUMP, "ohms: [CN1 pin 1, CN1 pin 2], read: 16.2 ohm")
    assert {("CN1 pin 1", "high resistance"), ("CN1 pin 2", "high resistance")} & set(names(found))


def test_what_fails_while_a_button_is_held_is_found() -> None:
    """All of the rail across its pull-up says that the button is closed, which the note does not; the rail itself at half
    of its 3.3 V, behind a whole 6 V, is the regulator (Kirchhoff's laws)."""
    found = judged(
        BOARD, "at: pack.plus, read: 6.0 V", "at: reg.out, read: 1.65 V", "across: R3, read: 1.65 V"
    )
    assert ("U1", "low") in names(found)


def test_a_value_named_at_25_degrees_is_read_at_25_degrees() -> None:
    """10 kΩ ±1 % in a bag of water at 25 °C: 9.9 to 10.1 kΩ, however warm the room is."""
    sensor = "blocks:\n  air: {kind: thermistor-divider, supply: 5 V, fixed: R9 10k 1%, thermistor: TH1 10k B3950 1%}"
    expected = judged(sensor, "at: air.resistance_25, read: 10.05k").judged[0].expected
    assert expected is not None and 9_850 < expected.low < 10_000 < expected.high < 10_150


def test_a_band_about_nought_is_said_as_plus_or_minus() -> None:
    """A base that nothing drives: what leaks through 100 kΩ may stand there either way."""
    assert naming.expected_text("V", (-0.00859, 0.00859)) == "±8.59 mV"
    assert naming.expected_text("V", (-0.001, 0.1)) == "−0.00100 to 0.100 V"


def test_what_leaks_through_a_snubber_scatters_with_its_capacitor() -> None:
    """V·2πf·C = 230 V·314.2/s·10 nF = 0.723 mA, 10 % more at the top of C's 10 % (reactance of a capacitor), whatever the load
    takes: 0.79 mA beside a load of 45 W that takes 45/230 = 196 mA is sound."""
    lamp = "blocks:\n  lamp: {kind: triac-switch, load: 45 W, triac: TR1 1A 600V, snubber_resistor: R8 100, snubber_capacitor: C6 10n X2}"
    found = judged(lamp, "at: lamp.snubber_current, read: 0.79 mA", "at: lamp.load_current, read: 196 mA")
    assert found.fits[0].sound and found.fits[0].share > 0.8


def test_a_failure_ahead_of_a_reading_within_its_band_is_explained() -> None:
    """10 mV on a saturated transistor, of which data sheets say 20 to 300 mV: a short leaves as much, and yet a meter that
    counts in 10 mV may read so of a sound one. Less from a plug at the bottom of the mains than a load of watts takes there:
    each is within its band, both together are not. None at all is within no band."""
    switch = (
        "blocks:\n  q: {kind: transistor-switch, drive: 5 V, base: R1 1k, transistor: Q1 hfe100, load: 240 ohm,"
        " load_supply: 12 V}"
    )
    alone, none = (judged(switch, f"at: q.collector_voltage, read: {read} V") for read in ("0.01", "0.00"))
    assert not alone.fits[0].sound and alone.judged[0].verdict is not None and alone.judged[0].verdict.ok
    assert any(own.startswith("It is within its band all the same") for own in words.conclusion(alone))
    assert none.judged[0].verdict is not None and not none.judged[0].verdict.ok
    inlet = "blocks:\n  inlet: {kind: mains-inlet, load: 180 W, fuse: F1 T2A, switch: S1}"
    both = judged(inlet, "at: inlet.current, read: 650 mA", "at: inlet.peak, read: 304 V")
    assert not both.fits[0].sound and all(own.verdict and own.verdict.ok for own in both.judged)
    assert any("together they hardly fit" in own for own in words.conclusion(both))


def test_two_faults_in_one_divider_are_told_as_a_pair_with_their_sizes() -> None:
    """R1 10k gone to 33k above R2 10k that leaks by 8k2: 10k ∥ 8k2 = 4k505, the tap 5·4.505/37.505 = 0.601 V. With the plug
    out nothing lies beside either. By itself neither of the two gives the volts and both resistances."""
    two = "blocks:\n  sense: {kind: divider, supply: 5 V, upper: R1 10k 1%, lower: R2 10k 1%}"
    low, high = 10 * 8.2 / 18.2, 33.0
    tap = 5 * low / (low + high)
    found = judged(
        two,
        f"at: sense.tap, read: {tap:.3f} V",
        f"ohms: R1, read: {high:.1f}k",
        f"ohms: R2, read: {low:.2f}k",
    )
    best = found.fits[0].change
    assert best.also is not None and {best.called, best.also.called} == {"R1", "R2"}
    risen = best if best.called == "R1" else best.also
    assert risen.mode == "high" and risen.size is not None and abs(risen.size - 3.3) < 0.3
    assert found.beyond > 0.9


def test_what_a_reading_should_be_is_what_the_chart_has_there() -> None:
    """A comparator that pulls its output low has a saturation voltage of 0.05 to 0.4 V (data sheets of open-collector
    comparators, from memory): its reading is held against what stands in the chart, not against the middle of a band that
    reaches further one way; and a sensor at 28 °C (B equation: 10k·exp(3950·(1/301.15 − 1/298.15)) = 8.76 kΩ) against a band
    about 28 °C."""
    front = """
states: {warm: {air: 28 C}}
blocks:
  air: {kind: thermistor-divider, supply: 5 V 0 %, fixed: R9 10k 1%, thermistor: TH1 10k B3950 1%}
  watch: {kind: comparator, comparator: U2, supply: 5 V 0 %, reference: 3 V, input_resistor: R5 10k, feedback: R6 1M, pull_up: R7 2k2, input: non-inverting}
joins: [[air.tap, watch.input]]
"""
    found = judged(front, "at: watch.out, read: 0.09 V, when: warm", "at: air.tap, read: 2.336 V, when: warm")
    out, tap = (own.expected for own in found.judged)
    assert out is not None and tap is not None and found.device is not None
    chart = {name: net["volts"]["warm"]["dc"] for name, net in nets(found.device).items()}
    assert math.isclose(out.value, chart["watch.out"]["value"], rel_tol=1e-3)
    assert out.low <= 0.09 <= out.high and all(
        own.verdict is not None and own.verdict.ok for own in found.judged
    )
    ohms = 10 * math.exp(3950 * (1 / 301.15 - 1 / 298.15))
    assert math.isclose(tap.value, 5 * ohms / (10 + ohms), rel_tol=5e-3)
    edges = [10 * math.exp(3950 * (1 / kelvin - 1 / 298.15)) for kelvin in (306.15, 296.15)]
    assert (
        tap.low > 5 * edges[0] / (10 + edges[0]) * 0.97 and tap.high < 5 * edges[1] / (10 + edges[1]) * 1.03
    )


MAINS = """
blocks:
  inlet: {kind: mains-inlet, load: 20 W, fuse: F1 250mA}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, rectifier: D1-D4 bridge, secondary: 12 V,
           smoothing: C1 2200u 25V, bleeder: R1 4k7, load: 60 mA}
"""
LAMP = """
blocks:
  inlet: {kind: mains-inlet, load: 9 W, fuse: F1 1A 250V}
  front: {kind: mains-rectifier, supply: inlet, rectifier: D1-D4 bridge, bulk: C1 10u 400V, bleeder: R1 1M}
  start: {kind: offline-start, start_resistors: [R2 470k, R3 470k], capacitor: C2 10u 50V, start_voltage: 16 V, start_current: 20 uA}
  main: {kind: flyback-supply, input: front, input_high: front.high_mains_peak, output: 12 V, load: 400 mA, turns_ratio: 7,
         primary_inductance: 1.5 mH, frequency: 65 kHz, sense: R4 1R5 0.5W, transistor: Q1 650V 2A, diode: D6 100V 3A,
         capacitor: C3 680u 16V}
joins: [[start.bus, front.plus], [start.common, front.common]]
"""


def test_a_shorted_diode_that_blew_the_fuse_is_one_fault() -> None:
    """Common practice: a shorted rectifier takes the fuse along. Found are no volts, an open fuse, and 0 V across that very
    diode on the diode range; the three others still block."""
    found = judged(MAINS, "at: supply.plus, read: 0 V", "ohms: F1, read: OL", "diode: D3, read: 0.001 V")
    best = found.fits[0].change
    assert (best.called, best.mode, best.also and best.also.called) == ("D3", "short", "F1")
    assert "No single fault" not in " ".join(words.conclusion(found))


def test_a_converter_gives_nothing_without_its_start_chain_or_its_input() -> None:
    """The controller starts through R2 and R3: without them nothing switches, and without its fuse there is no bus. A running
    chip holds its own supply near where it starts: 8.8 to 19 V for 16 V (data sheets, from memory)."""
    found = judged(LAMP, "at: start.plus, read: 0.02 V", "at: main.out, read: 0 V", "across: R2, read: 318 V")
    assert found.fits[0].change.called == "R2" and found.fits[0].change.mode in ("open", "high")
    found = judged(LAMP, "at: front.plus, read: 0 V", "at: main.out, read: 0 V", "ohms: F1, read: OL")
    assert found.fits[0].change.called == "F1" and "No single fault" not in " ".join(words.conclusion(found))
    found = judged(
        LAMP, "at: start.plus, read: 13.6 V", "at: main.out, read: 12.1 V", "ohms: R4, read: 1.6 ohm"
    )
    assert found.fits[0].sound and all(own.verdict is not None and own.verdict.ok for own in found.judged)


def test_one_figure_where_nothing_should_conduct_is_believed() -> None:
    """40 Ω across a regulator's output, nothing else wrong: a figure read by mistake is as likely anywhere in six decades, so
    that a leak there is likelier than this very figure by mistake."""
    found = judged(
        BOARD,
        "at: pack.plus, read: 6.1 V",
        "at: reg.out, read: 3.3 V",
        "ohms: [reg.out, pack.minus], read: 40.2 ohm",
    )
    assert not found.doubted and not found.fits[0].sound


def test_a_photoresistor_on_the_bench_lies_in_the_light() -> None:
    """10k at 10 lux, gamma 0.7, under a bench lamp of 500 lux (EN 12464-1): 10k·50^-0.7 = 647 Ω. Nobody says in what light a
    device lay open, so that this is no fault."""
    dusk = "blocks:\n  dusk: {kind: light-divider, supply: 5 V, fixed: R4 22k, sensor: LDR1 10k gamma0.7}"
    found = judged(dusk, f"ohms: LDR1, read: {10e3 * 50**-0.7:.0f} ohm")
    assert found.fits[0].sound and found.judged[0].verdict is not None and found.judged[0].verdict.ok


def test_a_converter_makes_what_its_feedback_divider_asks_for() -> None:
    """R6 12k3 in place of 10k below 38k3: the reference of 2.5 V stands on it, 2.5·(1 + 38.3/12.3) = 10.28 V (Ohm's law)."""
    loop = LAMP.replace(
        "joins: [",
        "  fb: {kind: feedback-divider, reference: 2.5 V, upper: R5 38k3 1%, lower: R6 10k 1%}\njoins: [[fb.out, main.out], ",
    )
    volts = 2.5 * (1 + 38.3 / 12.3)
    found = judged(loop, f"at: main.out, read: {volts:.2f} V", "at: fb.feedback, read: 2.50 V")
    assert ("R6", "high") in names(found, 2) or ("R5", "low") in names(found, 2)
    found = judged(loop, f"at: main.out, read: {volts:.2f} V", "ohms: R6, read: 12.3k")
    assert names(found, 1) == [("R6", "high")] and found.fits[0].share > 0.9


def test_ohms_through_a_diode_that_the_meter_drives_forward_say_nothing() -> None:
    """An ohmmeter of 0.6 V drives a Schottky diode: 326 ohm stand there, as much as it draws at that voltage, and no diode leaks.
    Next to nothing is a short all the same (common practice, no source)."""
    front = """
blocks:
  step: {kind: boost-converter, input: 3 V, output: 5 V, load: 50 mA, inductor: L1 22u 1A, frequency: 500 kHz, capacitor: C2 22u 10V, diode: D1 30V 1A, diode_drop: 0.4 V, chip: U1 6V 1A}
"""
    whole = judged(front, "at: step.out, read: 5.02 V", "ohms: D1, read: 326 ohm")
    assert whole.fits[0].sound and whole.judged[1].verdict is not None and whole.judged[1].verdict.ok
    short = judged(front, "at: step.out, read: 2.98 V", "ohms: D1, read: 0.1 ohm")
    assert ("D1", "short") in {(fit.change.called, fit.change.mode) for fit in short.fits[:3]}


def test_a_transistor_opens_at_its_collector_alone() -> None:
    """Drive at 5 V, the base at 0.7 V as in a sound one, the collector at its supply and nothing across the coil: the bond of the
    collector has burnt off. Were the base open too, it would stand at 5 V times 22k/(22k + 2.2k) = 4.5 V (voltage divider)."""
    front = """
blocks:
  relay: {kind: transistor-switch, drive: 5 V, base: R5 2k2, pull_down: R6 22k, transistor: Q2 hfe200 500mA 45V, load: RL1 400 12V, load_supply: 12 V, flyback: D8}
"""
    burnt = judged(
        front, "at: relay.base, read: 0.70 V", "at: relay.collector, read: 12.0 V", "across: RL1, read: 0 V"
    )
    assert (burnt.fits[0].change.called, burnt.fits[0].change.mode) == ("Q2", "open")
    all_open = judged(front, "at: relay.base, read: 4.5 V", "at: relay.collector, read: 12.0 V")
    assert (all_open.fits[0].change.called, all_open.fits[0].change.mode) == ("Q2", "open")


def test_a_key_at_rest_is_open() -> None:
    """Nobody presses a key while the ohmmeter is on it: OL is as it should be."""
    front = """
blocks:
  keys: {kind: key-ladder, supply: 5 V, pull_up: R1 10k, keys: {stop: R2 1k, boost: R3 4k7}}
"""
    found = judged(front, "ohms: key stop, read: OL")
    assert found.judged[0].verdict is not None and found.judged[0].verdict.ok and found.fits[0].sound


AMPLIFIER = """blocks:
  pack: {kind: battery-pack, cells: 8, chemistry: alkaline, capacity: 2 Ah}
  power: {kind: audio-stage, supply: pack, bias_upper: R1 47k, bias_lower: R2 47k, feedback: R3 22k,
          gain_resistor: R4 1k, gain_capacitor: C1 47u 16V, output_capacitor: C2 1000u 25V, load: LS1 8}"""


def test_a_stage_whose_output_lies_on_its_supply_is_a_dead_chip() -> None:
    """12 V of 12 V at the output while the inputs stand at half of it: nothing but the output's own transistor gives that."""
    found = judged(
        AMPLIFIER,
        "at: pack.plus, read: 12.0 V",
        "at: power.output_dc, read: 11.9 V",
        "at: power.mid_rail, read: 6.0 V",
    )
    assert names(found, 1) == [("amplifier", "stuck high")]


def test_a_stage_without_a_supply_gives_nothing() -> None:
    """No volts at the supply, none at the output: the supply, and no second failure beside it."""
    found = judged(AMPLIFIER, "at: pack.plus, read: 0 V", "at: power.output_dc, read: 0 V")
    assert found.fits[0].change.block == "pack" and found.fits[0].change.also is None


TOOL = """states: {charging: {}, resting: {adapter: 0 V}}
blocks:
  adapter: {kind: charge-resistor, supply: 12 V, resistor: R1 22 2W, chemistry: ni-mh, capacity: 2 Ah, battery: pack}
  pack: {kind: battery-pack, cells: 6, chemistry: ni-mh, capacity: 2 Ah}"""


def test_cells_stand_higher_while_they_are_charged() -> None:
    """6 cells of nickel metal hydride, 1.25 V each at rest, 1.37 V at a tenth of their capacity an hour (charge curves in data
    sheets, from memory): nothing is wrong."""
    found = judged(
        TOOL, "at: pack.plus, read: 7.5 V, when: resting", "at: pack.plus, read: 8.2 V, when: charging"
    )
    assert found.fits[0].sound


SUN = """states: {day: {}, night: {panel: 0 V}}
blocks:
  panel: {kind: charge-resistor, supply: 9 V, resistor: R17 47 1W, chemistry: lead-acid, capacity: 1.2 Ah, battery: pack}
  pack: {kind: battery-pack, cells: 3, chemistry: lead-acid, capacity: 1.2 Ah}
  guard: {kind: divider, supply: pack, upper: R15 10k, lower: R16 10k}"""


def test_a_band_and_all_that_hangs_from_it_know_that_lead_is_charged() -> None:
    """2.2 to 2.4 V a cell on charge, 2.1 V rested (common practice): 6.6 and 6.9 V by day are as they should be, by night they are
    not, and half of them at the middle of two equal resistors."""
    for volts in (6.6, 6.9):
        found = judged(
            SUN,
            f"at: pack.plus, read: {volts} V, when: day",
            f"at: guard.tap, read: {volts / 2} V, when: day",
        )
        assert found.fits[0].sound and all(own.verdict and own.verdict.ok for own in found.judged)
        by_night = judged(SUN, f"at: pack.plus, read: {volts} V, when: night")
        assert by_night.judged[0].verdict and by_night.judged[0].verdict.word == "high"


def test_no_charge_no_rise() -> None:
    """The panel's 9 V before the resistor and 6.1 V behind it, 0 A in it: it is open; its own drop would be 2.2 V and more."""
    found = judged(SUN, "across: R17, read: 2.9 V, when: day", "at: pack.plus, read: 6.1 V, when: day",
                   "ohms: R17, read: open")  # fmt: skip
    assert names(found, 1) == [("R17", "open")]


def test_a_charger_holds_lithium_at_its_limit() -> None:
    """4.2 V a cell, 1 % (data sheets of chargers), whatever the cells stand above their volts at rest: no more than 4.25 V."""
    front = """blocks:
  charge: {kind: lithium-charger, input: 5 V, battery: pack, resistance: 120 mohm, program: R2 1k2, program_factor: 1000 V}
  pack: {kind: battery-pack, cells: 1, chemistry: li-ion, capacity: 2 Ah}"""
    device, _found = judged_note(f"---\n{HEAD}{front}\n---\n")
    (running,) = next(own for own in nets(device).values() if "pack.plus" in own["at"])["volts"].values()
    assert 3.7 < running["dc"]["value"] < 4.2 and running["dc"]["high"] < 4.25


def test_three_leds_that_are_off_leave_a_meter_what_they_do_not_drop() -> None:
    """12 V over three white LEDs that drop 2.1 to 2.25 V each at half a microampere (3.0 V at 10 mA less 2·25.7 mV·ln(2·10⁴),
    Shockley): 5.3 to 5.7 V on a meter of 10 MΩ, while their switch is off."""
    string = """states: {lit: {on: [drive]}, dark: {}}
blocks:
  pack: {kind: battery-pack, cells: 8, chemistry: alkaline, capacity: 2 Ah}
  drive: {kind: mosfet-switch, drive: 5 V, gate: R1 220, pull_down: R2 100k, transistor: Q1 vth1.5 rds0R08, load_supply: pack}
  lamp: {kind: led-indicator, supply: pack, resistor: R7 150, forward: LD1-LD3 white, count: 3}
joins: [[lamp.common, drive.drain]]"""
    for read in ("5.3 V", "5.7 V"):
        found = judged(string, "at: pack.plus, read: 12.0 V", f"at: drive.drain, read: {read}, when: dark")
        assert found.fits[0].sound


def test_a_broken_output_pulls_down_through_30_to_150_ohm() -> None:
    """5 V through 4.7 kΩ into an output that is stuck low at 100 Ω, and at 40 Ω: 104 and 42 mV (two resistors in series; low levels in
    data sheets of logic outputs give 20 to 150 Ω, from memory)."""
    front = """
blocks:
  watch: {kind: comparator, comparator: U2, supply: 5 V 0 %, reference: 2 V, input_resistor: R5 10k, feedback: R6 1M,
          pull_up: R7 4k7, input: non-inverting}
  air: {kind: divider, supply: 5 V 0 %, upper: R9 10k 1%, lower: R10 22k 1%}
joins: [[air.tap, watch.input]]
"""
    for ohms in (40, 100):
        volts = 5000 * ohms / (4700 + ohms)
        found = judged(
            front,
            f"at: watch.out, read: {volts:.0f} mV",
            "at: air.tap, read: 3.44 V",
            "at: watch.supply, read: 5.00 V",
        )
        assert names(found, 1) == [("U2", "stuck low")]


def test_turns_that_are_shorted_take_the_volts_of_a_transformer_that_ohms_call_sound() -> None:
    """A transformer gives its turns' ratio: 5 V AC where 12 V are rated, 230 V at its primary and nothing drawn behind it, are
    less than half of its turns; both windings and the rail are as they should be in ohms."""
    front = """
blocks:
  inlet: {kind: mains-inlet, load: 4 W, fuse: F1 100m}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, secondary: 12 V, regulation: 20 %, rated_current: 300 mA,
           rectifier: bridge D1-D4, smoothing: C3 1000u 25V, load: 50 mA}
"""
    read = ["at: inlet.live_out, read: 231 V AC", "across: [supply.secondary_a, supply.secondary_b], read: 5.0 V AC",
            "at: supply.plus, read: 5.4 V", "ohms: [supply.secondary_a, supply.secondary_b], read: 4.1 ohm",
            "ohms: [supply.plus, supply.common], read: open"]  # fmt: skip
    found = judged(front, *read)
    assert names(found, 1) == [("T1", "shorted turns")] and found.fits[0].share > 0.5
    assert 0.3 < (found.fits[0].change.size or 0) < 0.45


@pytest.mark.parametrize("winding", ["M2 95R 0.45H", "L3 95R 450mH", "L3 0.45H 95R"])
def test_a_winding_of_a_network_has_ohms_and_henries(winding: str) -> None:
    """In series with 100 Ω on 230 V, 50 Hz: |95 + j·2π·50·0.45| / |195 + j·2π·50·0.45| of it, 169.5/240.7 V (complex impedances);
    on a meter its 95 Ω, and on 12 V direct 12·95/195 V."""
    front = f"""
blocks:
  inlet: {{kind: mains-inlet, load: 30 W, fuse: F1 1A}}
  speed: {{kind: network, parts: [R1 100 5% from inlet.live_out to tap, {winding} from tap to inlet.neutral_out]}}
"""
    reads = (
        "across: [speed.tap, inlet.neutral_out], read: 164 V AC",
        "ohms: [speed.tap, inlet.neutral_out], read: 95 ohm",
    )
    volts, ohms = (own.expected for own in judged(front, *reads).judged)
    reactance = 2 * math.pi * 50 * 0.45
    assert volts is not None and volts.value is not None and ohms is not None and ohms.value is not None
    assert math.isclose(
        volts.value, 230 * abs(complex(95, reactance) / complex(195, reactance)), rel_tol=2e-3
    )
    assert volts.low < 0.95 * volts.value and math.isclose(ohms.value, 95, rel_tol=1e-2)
    direct = f"""
blocks:
  pack: {{kind: battery-pack, cells: 8, chemistry: alkaline, capacity: 2 Ah, load: 65 mA}}
  speed: {{kind: network, parts: [R1 100 from pack.plus to tap, {winding} from tap to pack.minus]}}
"""
    (volts,) = (own.expected for own in judged(direct, "at: speed.tap, read: 5.8 V").judged)
    assert volts is not None and volts.value is not None
    assert math.isclose(volts.value, 12 * 95 / 195, rel_tol=1e-2)


def test_of_many_that_fit_a_little_none_is_told() -> None:
    """A sound device goes before a failure that is hardly likelier and unlikely itself, and behind one that is either."""
    from dataclasses import replace

    from generator.diagnosis import judging

    found = judged(BOARD, "at: reg.out, read: 3.3 V")
    none, other = (
        next(fit for fit in found.fits if fit.sound),
        next(fit for fit in found.fits if not fit.sound),
    )
    for failure, sound, first in (
        (0.25, 0.15, True),
        (0.25, 0.1, False),
        (0.5, 0.4, False),
        (0.1, 0.2, True),
    ):
        fits = sorted([replace(other, share=failure), replace(none, share=sound)], key=lambda fit: -fit.share)
        assert judging._sound_first(fits)[0].sound is first


def test_a_pair_that_only_fits_by_other_sizes_is_not_told_outright() -> None:
    """e^1000 is no float: a pair whose one size is so much less likely than all of its sizes is left out, and ends nothing."""
    from dataclasses import replace

    from generator.diagnosis.judging import outright

    found = judged(BOARD, "at: reg.out, read: 3.3 V")
    first, second, *_ = (fit for fit in found.fits if not fit.sound)
    pair = replace(first, change=replace(first.change, also=second.change), share=0.5)
    told = replace(found, fits=[pair])
    assert [change.also for change in outright(told, 1)] == [second.change]
    assert outright(replace(told, scale=told.scale + 1000), 1) == []
