"""Volts across a part are noted without a word on which lead was where."""

from __future__ import annotations

import pytest
from noted import judged_note
from test_asking import WARMER, device_of

from generator.circuit.point import Mains
from generator.diagnosis.judging import judge
from generator.diagnosis.readings import Meter
from generator.diagnosis.taking import from_the_higher
from generator.notes.note import parse_note


@pytest.mark.parametrize("read", ["12.0 V", "-12.0 V"])
def test_a_blocked_flyback_diode(read: str) -> None:
    """At rest 0 V, while the relay pulls 12 V less the transistor's 0.1 to 0.3 V across the diode, cathode up: 12 V by one way
    of putting the probes, -12 V from anode to cathode. Neither says that anything is wrong."""
    device, readings = device_of(WARMER, {"across": "D1", "read": read, "when": "warming"})
    found = judge(device, readings, Meter())
    assert found.judged[0].verdict is not None and found.judged[0].verdict.ok
    assert found.fits[0].sound


def test_no_current_in_a_coil_closes_no_contact() -> None:
    """All of the supply lies across an open coil, as across a sound one; its contact rests, and the element has no volts. With
    230 V at the element neither the coil nor the contact is open."""
    beside = {"across": "RL1 coil", "read": "11.9 V"}, {"at": "element.live", "read": "230 V AC"}
    opened = []
    for volts in ("0 V AC", "230 V AC"):
        readings = ({**own, "when": "warming"} for own in (*beside, {"across": "HE1", "read": volts}))
        device, measured = device_of(WARMER, *readings)
        fits = judge(device, measured, Meter()).fits
        opened.append(
            {f.change.block: f.share for f in fits if (f.change.called, f.change.mode) == ("RL1", "open")}
        )
    cold, hot = opened
    assert cold["drive"] > 0.2 and cold["element"] > 0.2
    assert hot["drive"] < 0.001 and hot["element"] < 0.001


DROPPER = """---
title: Night light flickers
date: 2026-03-14
device: {kind: night light, category: Lamp}
symptoms: [flickers]
outcome: repairable
blocks:
  supply: {kind: capacitive-dropper, dropper: C1 330n X2 275V, series: R1 100 1W, discharge: R2 470k, output: 4.9 V,
           load: 7 mA, smoothing: C2 470u 16V, clamp: ZD1 5V6 1W}
readings: [{at: supply.plus, read: 4.7 V}, {across: C2, read: READ V AC}]
---
Text.
"""


@pytest.mark.parametrize("read, was", [("0.06", ""), ("0.36", "C2")])
def test_alternating_volts_on_a_droppers_rail(read: str, was: str) -> None:
    """7 mA for the half of the period that brings nothing, and a little more, out of 470 uF: about 0.18 V peak to peak and
    0.06 V RMS (ngspice: 0.057 V). Six times that is a capacitor that has dried out."""
    _, judgement = judged_note(DROPPER.replace("READ", read))
    verdict, best = judgement.judged[1].verdict, judgement.fits[0]
    assert verdict is not None and verdict.ok == (not was)
    assert best.sound if not was else (best.change.key, best.change.mode) == ("smoothing", "low")


BOARD = """---
title: Warm box stays cold
date: 2026-11-30
device: {kind: warm box}
symptoms: [stays cold]
states: {heating: {on: [heat]}, standby: {}}
blocks:
  inlet: {kind: mains-inlet, load: 100 W, fuse: F1 1A}
  heat: {kind: triac-switch, supply: inlet, load: HE1 90 W, triac: TR1 4A 600V}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, secondary: 9 V, smoothing: C2 470u, load: 20 mA}
  reg: {kind: linear-regulator, regulator: U1, input: supply, output: 5 V 0%}
  air: {kind: divider, supply: reg, upper: R1 10k 1%, lower: R2 10k 1%}
  far: {kind: divider, supply: reg, upper: R3 10k 1%, lower: R4 30k 1%}
connectors: {CN1: [air.tap, far.tap]}
readings: [READING]
---
Text.
"""


@pytest.mark.parametrize(
    "reading, value",
    [
        ("across: [far.tap, air.tap], read: 1.25 V", 1.25),  # 5 V·(3/4 - 1/2), by hand
        ("across: [air.tap, far.tap], read: -1.25 V", -1.25),  # the leads the other way round
        ("across: [CN1 pin 1, CN1 pin 2], read: 1.25 V", 1.25),  # without a sign: from the higher
        ("across: [reg.out, reg.common], read: 5.00 V", 5.0),
        (
            "across: [inlet.live, heat.load], read: 229 V AC, when: heating",
            228.8,
        ),  # 230 V less the triac's 1.2 V
        ("across: [heat.load, heat.neutral], read: 230 V AC, when: standby", 230.0),
    ],
)
def test_volts_between_two_places(reading: str, value: float) -> None:
    _, found = judged_note(BOARD.replace("READING", "{" + reading + "}"))
    expected, verdict = found.judged[0].expected, found.judged[0].verdict
    assert expected is not None and expected.value == pytest.approx(value, rel=4e-3)
    assert verdict is not None and verdict.ok and found.fits[0].sound


def test_volts_between_two_places_find_a_fault() -> None:
    """R4 open lifts its tap to 5 V: 2.5 V above the other, by hand."""
    _, found = judged_note(BOARD.replace("READING", "{across: [far.tap, air.tap], read: 2.50 V}"))
    parts = [(fit.change.called, fit.change.mode) for fit in found.fits if not fit.doubted][:6]
    assert not found.fits[0].sound and ("R4", "open") in parts


@pytest.mark.parametrize(
    "pair, said",
    [
        ("inlet.live, supply.plus", "from the mains side to the low-voltage side"),
        ("reg.out, heat.load", "from the mains side to the low-voltage side"),
        ("air.tap, air.pin", "both are one net"),
        ("reg.out, R4", "R4: not one place to put a lead"),
        ("reg.out, reg.oot", "no terminal or value oot"),
    ],
)
def test_pairs_that_are_refused(pair: str, said: str) -> None:
    text = BOARD.replace("READING", "{across: [" + pair + "], read: 2 V}")
    _, problems = parse_note(text, "note", "note.md", None, Mains())
    (told,) = [p for p in problems if p.severity == "error"]
    assert told.line == 15 and said in told.what


RADIO = """---
title: Radio hums
date: 2026-03-14
device: {kind: radio, category: Small home electrical}
symptoms: [hums]
outcome: repairable
blocks:
  inlet: {kind: mains-inlet, load: 5 W, fuse: F1 T100mA}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, secondary: 9 V, smoothing: C2 470u, load: 50 mASTATED}
readings: [{at: supply.secondary_a, read: SECONDARY V AC}, {ohms: [supply.secondary_a, supply.secondary_b], read: COIL},
           {ohms: T1, read: PRIMARY}]
---
Text.
"""
WINDINGS = [  # what the note states, AC volts of the secondary, ohms of both windings
    (", regulation: 25 %, rated_current: 150 mA", "10.2", "7.0", "4.9k"), (", regulation: 25 %", "10.6", "7.0", "2.2k"),
    ("", "10.6", "3.5", "1.9k"),
]  # fmt: skip


@pytest.mark.parametrize("stated, volts, coil, primary", WINDINGS)
def test_a_sound_transformer_below_its_rated_current(
    stated: str, volts: str, coil: str, primary: str
) -> None:
    """9 V at 150 mA with 25 % is 11.25 V behind 15 ohm, half of it the secondary's own and half, times (230/9)², the
    primary's: 4.9 kohm (hand calculation; ngspice: 10.3 V at 50 mA). Where less is stated it may still rise by a quarter, and
    each winding has some ohms (data sheets of small transformers, from memory)."""
    text = RADIO.replace("STATED", stated).replace("SECONDARY", volts)
    _, found = judged_note(text.replace("COIL", coil).replace("PRIMARY", primary))
    assert found.fits[0].sound and not found.doubted
    assert all(judged.verdict is not None and judged.verdict.ok for judged in found.judged)


def test_an_open_primary_leaves_the_secondary_its_ohms() -> None:
    """No volts behind a plug that has them, the secondary whole, OL at the primary: its thermal fuse, which is wound in."""
    text = RADIO.replace("STATED", WINDINGS[0][0]).replace("SECONDARY", "0.00").replace("COIL", "7.0")
    _, found = judged_note(text.replace("PRIMARY", "OL"))
    assert (found.fits[0].change.called, found.fits[0].change.mode) == ("T1", "open")
    assert not found.doubted


@pytest.mark.parametrize("part", ["R4", "D1", "RL1 coil"])
def test_what_is_dark_in_one_state_lies_as_in_the_state_that_lights_it(part: str) -> None:
    """At rest next to nothing lies across the parts about a transistor that is off, either way; a fault that lights them then
    does it the same way round as the drive does, by the direction in which current flows."""
    device, _ = device_of(WARMER)
    ways = [from_the_higher(device, device.place_across((part,)), state) for state in ("warming", "resting")]
    assert (ways[0].plus, ways[0].minus) == (ways[1].plus, ways[1].minus)


RELAY = """---
title: Dryer blows cold
date: 2026-11-30
device: {kind: dryer}
symptoms: [blows cold]
states: {drying: {on: [relay]}, idle: {}}
blocks:
  inlet: {kind: mains-inlet, fuse: F1 3A 250V, load: 330 W}
  main: {kind: transformer-supply, primary: inlet, secondary: 9 V, smoothing: C3 1000u 25V, load: 60 mA}
  relay: {kind: transistor-switch, drive: 5 V, base: R5 2k2, transistor: Q2 hfe200 500mA 45V, load: RL1 200 9V, load_supply: main, flyback: D8}
  element: {kind: heater, power: HE1 330 W, rated_voltage: 230 V, supply: inlet, contact: RL1 10A}
readings: [{across: WHERE, read: READ}]
---
Text.
"""


@pytest.mark.parametrize("where", ["RL1", "RL1 contact", "[inlet.live_out, element.live]"])
@pytest.mark.parametrize("read, burnt", [("0.05 V AC", False), ("48 V AC", True)])
def test_a_relays_contact(where: str, read: str, burnt: bool) -> None:
    """1.43 A through a sound contact, some 20 to 100 mohm: up to 0.15 V. 48 V of the mains stand across one of 42 ohm, the
    element having 160; the coil has no AC volts that anybody would put an AC range across."""
    _, judgement = judged_note(RELAY.replace("WHERE", where).replace("READ", read))
    verdict, best = judgement.judged[0].verdict, judgement.fits[0]
    assert verdict is not None and verdict.ok != burnt
    if burnt:
        assert best.change.called == "RL1" and best.change.key == "contact"


def test_alternating_volts_between_places_where_none_are() -> None:
    """Said in words, as anything else that is not worked out."""
    _, judgement = judged_note(RELAY.replace("WHERE", "[relay.base, main.plus]").replace("READ", "3 V AC"))
    assert judgement.judged[0].taken.trouble.startswith("AC volts are not worked out at")


RAIL = """---
title: Night light stays dark
date: 2026-11-30
device: {kind: night light, category: Lamp}
symptoms: [stays dark]
outcome: repairable
blocks:
  supply: {kind: capacitive-dropper, dropper: C1 470n X2 275V, series: R1 220 1W, discharge: R2 1M, output: 15 V,
           load: 5 mA, smoothing: C2 100u 25V, clamp: ZD1 15V 1.3W, WAY}
readings: [{at: supply.plus, read: 0 V}, {across: R1, read: READ V AC}]
---
Text.
"""


@pytest.mark.parametrize(
    "way, fails",
    [
        ("rectifier: bridge D1-D4", "D1-D4"),
        ("return_diode: D2", "rectifier diode"),
        ("return_diode: D2", "D2"),
    ],
)
def test_a_dropper_passes_nothing_one_way_only(way: str, fails: str) -> None:
    """A capacitor passes no direct current: where a diode is open, it charges once and R1 has no more volts. Else 470 nF at
    50 Hz pass 230 V / 6.8 kohm = 34 mA, 7.5 V at 220 ohm, also into a rail that is shorted (Ohm)."""
    _, judgement = judged_note(RAIL.replace("WAY", way).replace("READ", "0"))
    opened = next(fit for fit in judgement.fits if (fit.change.called, fit.change.mode) == (fails, "open"))
    assert not opened.contradicts
    _, judgement = judged_note(RAIL.replace("WAY", way).replace("READ", "7.4"))
    opened = next(fit for fit in judgement.fits if (fit.change.called, fit.change.mode) == (fails, "open"))
    assert opened.contradicts == (1,)
    assert not next(
        fit for fit in judgement.fits if fit.change.mode == "short" and fit.change.key == "smoothing"
    ).contradicts
