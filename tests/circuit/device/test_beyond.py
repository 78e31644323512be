"""Parts written with their nets between blocks, contacts of one relay, and what people put their leads on; by hand."""

from __future__ import annotations

import pytest

from generator.circuit.device import Device
from generator.circuit.device.results import nets
from generator.circuit.network.variants import solve
from generator.diagnosis.predictions import Predictor, Sought
from tests.circuit.device.examples import built

DEVICE = """
states: {pumping: {on: [relay]}, idle: {}}
JOINS
blocks:
  inlet: {kind: mains-inlet, fuse: F1 3A 250V}
  main: {kind: transformer-supply, primary: inlet, secondary: 9 V, smoothing: C3 1000u 25V, load: 60 mA}
  relay: {kind: transistor-switch, drive: 5 V, base: R5 2k2, transistor: Q2 hfe200 500mA 45V, load: RL1 200 9V, load_supply: main, flyback: D8}
  wiring:
    kind: network
    parts:
      - RL1 contact 10A from inlet.live_out to x
      - TF2 128C from x to END
  pump: {kind: PUMP}
"""
PUMPS = (
    "solenoid, winding: L1 160, inductance: 0.9 H, diode: D1 1000V 1A",
    "solenoid, feed: ac, winding: L1 3k9, inductance: 12 H",
    "universal-motor, fields: [L1 8R4], armature: M1 6R5, running_current: 2.6 A",
    "induction-motor, main: L1 420, running_current: 90 mA",
    "heater, power: HE1 300 W, rated_voltage: 230 V",
)


def pumping(pump: str, joined: bool = False) -> Device:
    text = DEVICE.replace("PUMP", pump).replace("END", "y" if joined else "pump.live")
    return built(text.replace("JOINS", "joins: [[wiring.y, pump.live]]" if joined else ""))


def shows(device: Device, text: str, how: str = "volts", unit: str = "V") -> float:
    return float(Predictor(device, [Sought(device.place(text), how, device.states[0].name, unit)]).sound[0])


@pytest.mark.parametrize("joined", [False, True])
@pytest.mark.parametrize("pump", PUMPS)
def test_a_relays_contact_before_anything_on_the_mains(pump: str, joined: bool) -> None:
    """A network's RL1 is the contact of the coil RL1, and what it feeds has no mains of its own: 230 V while the coil is
    driven, nothing at rest, when all of the mains stands across the contact, as far as the rest of the path holds it."""
    device = pumping(pump, joined)
    assert not device.check() and not device.circuit.troubles
    assert device.net("pump.neutral") == device.net("inlet.neutral")
    mains = device.solved.mains
    there = mains.volts(device.net("pump.live"), device.net("pump.neutral"))
    assert there.tolist() == pytest.approx([229.8, 0.0], abs=0.3)
    contact = device.place("RL1 contact")
    assert contact.ac and mains.volts(contact.plus, contact.minus).tolist() == pytest.approx(
        [0, 230], abs=1.0
    )


@pytest.mark.parametrize("ohms, volts", [(160, 73.378), (80, 52.48)])
def test_the_mean_across_a_coil_behind_a_diode(ohms: int, volts: float) -> None:
    """By ngspice-39 (.tran 20u, 230 V 50 Hz, 0.7 V, 0.9 H): 73.4 V at 160 ohm; with so many turns shorted that half of the
    ohms are left and the inductance as before, 52.5 V."""
    device = pumping(PUMPS[0])
    changed = {"pump.winding": {"ohms": float(ohms)}}
    around = device.around(device.states[0].name)
    solved = solve(around, around.changes([changed], device.solved.changes[0]))
    place = device.place("L1")
    assert float((solved.volts(place.plus) - solved.volts(place.minus))[0]) == pytest.approx(volts, rel=0.02)
    assert not place.ac


def test_a_contact_that_is_named_almost_as_its_relay() -> None:
    """RL1a has no coil: told at its line, with the nearest."""
    text = DEVICE.replace("RL1 contact", "RL1a contact").replace("END", "pump.live").replace("JOINS", "")
    told = built(text.replace("PUMP", PUMPS[4])).check()
    assert [t.path for t in told] == [("blocks", "wiring", "parts", 0)]
    assert "no coil has that name" in told[0].what and "did you mean RL1?" in told[0].hint
    heater = DEVICE.replace("PUMP", PUMPS[4] + ", contact: RL1a 10A").replace("END", "y").replace("JOINS", "")
    assert [t.path for t in built(heater).check()] == [("blocks", "pump", "contact")]


def test_a_part_across_a_block_feeds_nothing() -> None:
    """A varistor from live to neutral of the pump, and the pump stands on the mains as before."""
    text = (
        DEVICE.replace("PUMP", PUMPS[4])
        .replace("JOINS", "")
        .replace("TF2 128C from x to END", "R9 1M from pump.live to pump.neutral")
    )
    device = built(text)
    assert float(device.solved.mains.volts("pump.live", device.net("pump.neutral"))[1]) == pytest.approx(
        230, abs=0.1
    )


def test_leads_where_people_put_them() -> None:
    """The diode range on a transistor: 0.6 to 0.7 V from base to emitter with the red lead on the base of an NPN, on the
    emitter of a PNP; of a MOSFET its body diode, the black lead on the drain (data sheets, from memory). A star of three
    windings is read from lead to lead, as it is stated; each LED of a span is a place. 12 V - 3·1.8 V leave 6.6 V for
    330 ohm."""
    device = built("""
blocks:
  r: {kind: linear-regulator, regulator: U1, input: 24 V, output: 12 V}
  string: {kind: led-string, leds: LD1-LD3 red 30mA, count: 3, supply: r, resistor: R5 330}
  n: {kind: transistor-switch, drive: 5 V, base: R1 2k2, transistor: Q1 hfe200, load: 400 ohm, load_supply: r}
  m: {kind: mosfet-switch, drive: 5 V, gate: R8 47, pull_down: R9 47k, transistor: Q2 vth1.5 rds0R008, load: 100 ohm, load_supply: r}
  p: {kind: high-side-switch, supply: r, transistor: Q3 hfe150, base: R3 4k7, pull_up: R4 10k, load: 400 ohm}
  fan: {kind: bldc-motor, supply: r, winding: M1 24, pole_pairs: 2, kv: 240 rpm/V, speed: 2400 rpm, bridge: 1 ohm}
""")
    for transistor in ("Q1", "Q2", "Q3"):
        assert 0.55 < shows(device, transistor, "diode") < 0.75
    assert shows(device, "M1", "ohms", "ohm") == pytest.approx(24)
    assert shows(device, "LD2") == pytest.approx(1.8, abs=0.1)
    assert shows(device, "LD1-LD3") == pytest.approx(5.4, abs=0.2)
    assert 1.4 < shows(device, "LD3", "diode") < 2.0


def test_a_connectors_pin_before_a_part_of_many_elements() -> None:
    """The fan hangs behind pin 1: what its bridge takes goes through it. A wrong name is told with designators, each once."""
    text = """
connectors: {CN1: [r.out -> PART, r.common]}
blocks:
  r: {kind: linear-regulator, regulator: U1, input: 24 V, output: 12 V, output_capacitor: C2 10u, also: [R7 1k from out to common]}
  fan: {kind: bldc-motor, supply: r, winding: M1 24, pole_pairs: 2, kv: 240 rpm/V, speed: 2400 rpm, bridge: 1 ohm}
"""
    device = built(text.replace("PART", "M1"))
    assert not device.check()
    pin, fan = (abs(float(device.solved.point.amperes(name)[0])) for name in ("CN1 pin 1", "fan.motor"))
    assert pin == pytest.approx(fan, rel=0.02) and fan > 0.01
    told = built(text.replace("PART", "M9")).check()
    assert [t.hint for t in told] == ["known: C2, M1, R7, U1"]


@pytest.mark.parametrize(
    "block, amperes",
    [("{kind: universal-motor, supply: rail, fields: [L1 2R], armature: M1 3R, running_current: 0.6 A}", 0.6),
     ("{kind: heater, supply: rail, power: HE1 10 W, rated_voltage: 15 V}", 15.0 / 22.5)],
)  # fmt: skip
def test_what_is_made_for_the_mains_works_on_a_rail_too(block: str, amperes: float) -> None:
    """Direct current flows through what a rail feeds: the motor's stated 0.6 A; 15 V over 15²/10 = 22.5 ohm."""
    device = built(f"""
blocks:
  rail: {{kind: linear-regulator, regulator: U1, input: 24 V, output: 15 V}}
  it: {block}
""")
    assert not device.check()
    assert abs(float(device.solved.point.amperes("rail.regulator")[0])) == pytest.approx(amperes, rel=0.03)
    part = device.place("M1" if "motor" in block else "HE1")
    assert not part.ac


def test_a_span_of_leds_that_are_not_as_many_as_it_says() -> None:
    """LD1-LD3 are three, and one is what the block counts without `count`: said beside its checks."""
    texts = [
        str(check.what)
        for count in ("", ", count: 3")
        for check in built(
            f"blocks: {{a: {{kind: led-indicator, supply: 12 V, resistor: R6 1k, forward: LD1-LD3 red{count}}}}}"
        )
        .blocks["a"]
        .checks
    ]
    assert [text for text in texts if "count" in text] == ["LD1-LD3 are 3, but count says 1"]


@pytest.mark.parametrize(("collector", "base"), [(2e-3, 0.66), (10e-3, 0.70), (25e-3, 0.724)])
def test_a_base_of_a_network_by_its_collector_current(collector: float, base: float) -> None:
    """A small transistor that is 0.7 V at 10 mA (data sheets: 0.58 to 0.7 V at 2 mA, at most 0.77 V at 10 mA) and 60 mV for each
    decade of its collector current (Shockley: 25.86 mV·ln 10), not saturated, hfe 200, from 12 V through a base resistor."""
    base_ohms = (12 - base) / (collector / 200)
    device = built(f"""
blocks:
  pack: {{kind: battery-pack, cells: 8, chemistry: alkaline, capacity: 2 Ah, load: 1 A}}
  stage:
    kind: network
    parts: [R1 {base_ohms:.0f} from pack.plus to base, Q1 npn hfe200 from base top pack.minus, R2 10 from pack.plus to top]
""")
    (volts,) = device.solved.point.volts(device.net("stage.base"))
    assert volts == pytest.approx(base, abs=0.006)


@pytest.mark.parametrize("gain", ["hfe200", "hfe>=200", "hfe200..500", "hfe200 20%", ""])
def test_a_transistor_written_with_its_nets_has_any_gain_that_is_stated(gain: str) -> None:
    """Saturated by 12 V over 10k: 1 mA into its base, 2.5 mA of collector current, so a gain of 10 would do: it shows a few tenths
    of a volt at most (data sheets of small transistors, VCE(sat), from memory), and no number is without a bound."""
    device = built(
        f"""
blocks:
  tap: {{kind: divider, supply: 12 V, upper: R1 10k, lower: R2 10k,
         also: [R3 10k from supply to base, Q9 npn {gain} from base collector common, R4 4k7 from supply to collector]}}
"""
    )
    shown = nets(device)["tap.collector"]["volts"]["running"]["dc"]
    assert -0.01 <= shown["low"] <= shown["value"] <= shown["high"] < 0.5
