"""With the plug out a rail lets something through to its common: what chips without supply do, and a regulator's own divider, which
no drawing shows. What is read through it is no fault; what is read there beyond that is one."""

from __future__ import annotations

import pytest

from tests.diagnosis.noted import judged_note

CONTROLLER = """---
title: Controller
date: 2026-11-01
device: {{kind: warmer}}
symptoms: [stays cold]
blocks:
  reg: {{kind: linear-regulator, input: 12 V, output: 5 V, regulator: U1, load: 20 mA, output_capacitor: C2 100u}}
  cpu: {{kind: microcontroller, designator: U2, supply: reg, pins: [1 VDD, "2 temp <- probe", 8 GND]}}
  probe: {{kind: thermistor-divider, supply: reg, fixed: R5 47k 1%, thermistor: TH1 100k B3950 5%}}
  key: {{kind: button-input, supply: reg, pull_up: R9 10k, button: S2}}
readings:
  - {{at: reg.out, read: 5.02 V}}
  - {{ohms: {place}, read: {read}}}
---
"""


@pytest.mark.parametrize("rail", [4e3, 10e3, 60e3])
def test_a_sound_sensor_read_in_its_circuit(rail: float) -> None:
    """TH1 of 100k beside R5 in series with whatever the rail has to common. Source: resistors in parallel."""
    shown = 1 / (1 / 100e3 + 1 / (47e3 + rail))
    _device, judgement = judged_note(CONTROLLER.format(place="TH1", read=f"{shown / 1e3:.1f}k"))
    verdict = judgement.judged[1].verdict
    assert judgement.fits[0].sound and verdict is not None and verdict.word == "within"


@pytest.mark.parametrize("read", ["4.6k", "17k", "52k"])
def test_kilohms_from_a_rail_to_common_are_no_fault(read: str) -> None:
    """Between 3k and 100k: a three-terminal regulator's divider has some kilohm, a chip's inputs let more or less through (from
    memory, data sheets)."""
    _device, judgement = judged_note(CONTROLLER.format(place="[reg.out, reg.common]", read=read))
    assert judgement.fits[0].sound


def test_a_few_ohms_from_a_rail_to_common_are_one() -> None:
    _device, judgement = judged_note(CONTROLLER.format(place="[reg.out, reg.common]", read="12 ohm"))
    assert not judgement.fits[0].sound


def test_readings_elsewhere_do_not_make_a_device_sounder() -> None:
    """A rail's ohms, or a sensor that turns, speak for a sound device only where they are read: its share is the same with both."""
    light = "  light: {{kind: light-divider, supply: reg, fixed: R7 10k, sensor: LDR1 10k gamma0.7}}\n"
    turns = "  turns: {{kind: pulse-sensor, supply: reg, pull_up: R7 10k, sensor: U4 hall}}\n"
    text = CONTROLLER.split("  - {{ohms")[0] + "---\n"
    shares = []
    for block in (light, turns):
        note = text.replace("readings:", f"{block}readings:").format()
        shares.append(judged_note(note)[1].fits[0].share)
    assert shares[1] == pytest.approx(shares[0], rel=0.1)


KEYS = """---
title: Keys
date: 2026-11-01
device: {{kind: trouser press}}
symptoms: [key does nothing]
blocks:
  reg: {{kind: linear-regulator, input: 12 V, output: 5 V, regulator: U1, load: 20 mA, output_capacitor: C2 10u}}
  key: {{kind: button-input, supply: reg, pull_up: R7 10k, button: S1, series: R8 1k, capacitor: C6 100n}}
  cpu: {{kind: microcontroller, designator: U2, supply: reg, pins: [1 VDD, 2 key <- key, 8 GND]}}
readings:
  - {{at: reg.out, read: 4.81 V}}
{readings}
---
"""


def test_a_size_between_two_of_the_grid_goes_with_its_rail() -> None:
    """118k in circuit is no less by itself: what lies beside a resistor only lowers it. With 9k from the rail to common, as a
    three-terminal regulator has, 127k are read from the far end. Source: resistors in series and in parallel."""
    ohms = "  - {ohms: R7, read: 118k}\n  - {ohms: [key.pin, reg.common], read: 127k}"
    _device, judgement = judged_note(KEYS.format(readings="  - {at: key.pin, read: 4.74 V}\n" + ohms))
    first = judgement.fits[0]
    assert (first.change.called, first.change.mode, first.change.also) == ("R7", "high", None)
    assert first.share > 0.8 and not first.doubted


@pytest.mark.parametrize("ohms, opens", [("1.86k", False), ("open", True)])
def test_a_leak_at_a_chips_pin_is_one(ohms: str, opens: bool) -> None:
    """0.79 V of 5 V behind 10k is a leak of 1.86k to common (voltage divider), and an ohmmeter agrees; where it shows nothing there, the pin
    hangs in the air. A chip's own clamp begins to conduct at twice the volts of an ohmmeter (common practice, no source)."""
    readings = f"  - {{at: key.pin, read: 0.79 V}}\n  - {{ohms: [key.pin, reg.common], read: {ohms}}}"
    _device, judgement = judged_note(KEYS.format(readings=readings.replace("{{", "{").replace("}}", "}")))
    first = judgement.fits[0].change
    assert (first.mode == "open") is opens and (first.mode == "leaky") is not opens
