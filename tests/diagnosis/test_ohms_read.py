"""What an ohmmeter shows of loads, fuses and shorted parts, against figures of the trade."""

from __future__ import annotations

import pytest
from noted import judged_note

FAN_HEATER = """---
title: Fan heater blows cold
date: 2026-11-30
device: {kind: fan heater, plate: {supply: 230 V, power: 1800 W, class: II}}
symptoms: [blows cold]
states: {heating: {on: [heat]}, standby: {}}
blocks:
  inlet: {kind: mains-inlet, load: 1800 W, fuse: FUSE 250V, thermal_fuses: [TF1 117C 10A live], bleeder: R1 1M}
  heat: {kind: triac-switch, supply: inlet, triac: TR1 16A 600V, snubber_resistor: R10 100 1W, snubber_capacitor: C6 10n X2 275V,
         load: LOAD}
  fan: {kind: induction-motor, supply: inlet, main: L1 420, running_current: 90 mA}
readings: READINGS
---
Text.
"""


def note(*readings: str, load: str = "HE1 1800 W", fuse: str = "F1 10A") -> str:
    listed = "[" + ", ".join("{" + reading + "}" for reading in readings) + "]"
    return FAN_HEATER.replace("LOAD", load).replace("FUSE", fuse).replace("READINGS", listed)


def test_the_element_behind_a_triac_has_its_ohms() -> None:
    """230²/1800 = 29.39 ohm; IEC 60335-1 allows +5/-10 % of power, hence 27.99 to 32.65 ohm."""
    _, found = judged_note(note("ohms: HE1, read: 29.9"))
    expected, verdict = found.judged[0].expected, found.judged[0].verdict
    assert expected is not None and verdict is not None and verdict.ok
    assert (expected.value, expected.low, expected.high) == pytest.approx((29.389, 27.990, 32.654), rel=1e-3)
    assert found.fits[0].sound


def test_ohms_across_a_triac_are_what_closes_the_loop_on_the_plugs_side() -> None:
    """The element and the fan's winding in series, 1 Mohm of the bleeder beside the winding: 29.39 + 419.8 ohm, by hand."""
    _, found = judged_note(note("ohms: TR1, read: 451"))
    expected = found.judged[0].expected
    assert expected is not None and expected.value == pytest.approx(29.39 + 420e6 / 1.00042e6, abs=0.5)
    assert found.fits[0].sound


@pytest.mark.parametrize(
    "read, failed", [("OL", "open"), ("61", "high"), ("14", "low")]
)  # half the wire, or twice as much
def test_an_element_that_has_failed_is_found_by_its_ohms(read: str, failed: str) -> None:
    _, found = judged_note(note(f"ohms: HE1, read: {read}"))
    best = found.fits[0].change
    assert (best.called, best.mode) == ("HE1", failed)


@pytest.mark.parametrize(
    "load, low, high",
    [
        (
            "LA1 100 W",
            26.0,
            59.0,
        ),  # 529 ohm hot; a cold 100 W lamp at 230 V has about 40 ohm (common practice)
        ("100 W halogen", 26.0, 59.0),
        ("M1 100 W", 15.0, 320.0),  # copper of small motors, from memory
        ("100 W", 26.0, 556.0),  # anything from a lamp to an element 5 % short of its power
    ],
)
def test_what_a_load_is_says_what_is_left_of_it_when_cold(load: str, low: float, high: float) -> None:
    device, _ = judged_note(note(load=load))
    ohms = device.elements["heat.load"].numbers["at_rest"]
    ends = [end for _axis, *both in ohms.ends for end in both]
    assert min(ends) == pytest.approx(low, rel=0.2) and max(ends) == pytest.approx(high, rel=0.2)


def test_an_electronic_load_shows_nothing_to_an_ohmmeter() -> None:
    """Its rectifier conducts from 1.4 V on, an ohmmeter drives less than 0.3 V."""
    _, found = judged_note(note("ohms: LA1, read: OL", load="LA1 8 W led"))
    assert found.fits[0].sound


@pytest.mark.parametrize("fuse", ["F1 10A", "F1 500mA", "F1 2A T"])
def test_no_sound_fuse_reads_high(fuse: str) -> None:
    """0.2 to 0.5 ohm at 500 mA, a few mohm at 10 A (data sheets, from memory); leads add 0.1 to 0.3 ohm (common practice). No
    resistance lies below 0."""
    load = "HE1 100 W" if "500m" in fuse else "HE1 300 W"
    text = note("ohms: F1, read: 0.4", load=load, fuse=fuse).replace("1800 W", "300 W")
    _, found = judged_note(text)
    expected, verdict = found.judged[0].expected, found.judged[0].verdict
    assert expected is not None and verdict is not None and verdict.ok
    assert 0.0 <= expected.low <= expected.high < 1.0
    if "500m" in fuse:
        assert expected.low <= 0.2 and expected.high >= 0.5


def test_a_shorted_triac_leaves_some_volts() -> None:
    """0.05 ohm of silicon, solder and tracks (0.01 to 0.1 ohm, common practice) at 230 V/29.4 ohm = 7.8 A: 0.39 V."""
    readings = ("across: TR1, read: 0.39 V AC, when: standby", "across: HE1, read: 229 V AC, when: standby")
    _, found = judged_note(note(*readings))
    best = found.fits[0]
    assert (
        (best.change.called, best.change.mode) == ("TR1", "short") and not best.doubted and best.share > 0.9
    )


def test_a_relay_contact_welded_with_some_ohms() -> None:
    """The same of a contact: 95 W at 230 V are 0.41 A; 40 mV across it are 0.1 ohm."""
    text = """---
title: Warmer too hot
date: 2026-11-30
device: {kind: plate warmer}
symptoms: [too hot]
states: {rest: {}, warming: {on: [drive]}}
blocks:
  drive: {kind: transistor-switch, drive: 5 V, base: R1 1k, transistor: Q1 hfe100, load: RL1 400, load_supply: 12 V, flyback: D1}
  plate: {kind: heater, power: HE1 95 W, rated_voltage: 230 V, contact: RL1 5A}
readings: [{across: RL1 coil, read: 0 V, when: rest}, {across: RL1 contact, read: 0.04 V AC, when: rest}, {across: HE1, read: 230 V AC, when: rest}]
---
Text.
"""
    _, found = judged_note(text)
    best = found.fits[0]
    assert (best.change.called, best.change.mode) == ("RL1", "short") and not best.doubted


KETTLE = """---
title: Kettle is dead
date: 2026-11-30
device: {kind: kettle}
symptoms: [dead]
blocks: {inlet: {kind: mains-inlet, load: 2200 W, thermal_fuses: [TF1 167C 16A live]}}
readings: ["{ohms: [inlet.live, inlet.neutral], read: READ}"]
---
Text.
"""


@pytest.mark.parametrize("read, sound", [("24.2", True), ("OL", False)])
def test_ohms_at_the_plug_of_what_heats(read: str, sound: bool) -> None:
    """230²/2200 = 24.0 ohm where the element is whole; OL where it or the thermal fuse is open."""
    _, found = judged_note(KETTLE.replace('"', "").replace("READ", read))
    assert found.fits[0].sound == sound
    if not sound:
        assert {fit.change.called for fit in found.fits[:2]} == {"TF1", "load"}


def test_what_electronics_draw_is_nothing_to_an_ohmmeter() -> None:
    """60 W without a thermal fuse: a rectifier, which conducts from 1.4 V on."""
    text = KETTLE.replace('"', "").replace("2200 W, thermal_fuses: [TF1 167C 16A live]", "60 W")
    _, found = judged_note(text.replace("READ", "OL"))
    assert found.fits[0].sound


AUDIO = """kind: audio-stage, supply: 12 V, load: LS1 8 5W, bias_upper: R1 100k, bias_lower: R2 100k, feedback: R3 22k,
  output_capacitor: C5 1000u 25V"""


@pytest.mark.parametrize(
    "block, part, read",
    [
        # 6.4 to 7.1 ohm of 8 (data sheets of small loudspeakers, from memory)
        (AUDIO, "LS1", "6.5"),
        (AUDIO, "LS1", "7.4"),
        # 20 % at 25 °C, and 4 % a degree (data sheets of inrush limiters, from memory)
        (
            "kind: mains-rectifier, bulk: C1 10u 400V, rectifier: D1-D4 bridge, inrush: NTC1 22, load: 9 W",
            "NTC1",
            "18.2",
        ),
        (
            "kind: mains-rectifier, bulk: C1 10u 400V, rectifier: D1-D4 bridge, inrush: NTC1 22, load: 9 W",
            "NTC1",
            "26.4",
        ),
    ],
)
def test_a_sound_part_that_is_something_else_at_rest(block: str, part: str, read: str) -> None:
    text = f"""---
title: Thing hums
date: 2026-11-30
device: {{kind: thing}}
symptoms: [hums]
blocks: {{it: {{{block}}}}}
readings: [{{ohms: {part}, read: {read}}}]
---
Text.
"""
    _, found = judged_note(text)
    verdict = found.judged[0].verdict
    assert verdict is not None and verdict.ok and found.fits[0].sound


@pytest.mark.parametrize("fuse", ["fuse: F1 1A 250V", "fuse_resistor: F1 22 1W"])
@pytest.mark.parametrize("left", ["0.3", "3.2", "8.0"])
def test_a_varistor_that_blew_the_fuse_may_have_ohms_left(left: str, fuse: str) -> None:
    """A varistor that failed has anything from a fraction of an ohm to some tens left (common practice, no source): 230 V over
    8 ohm are 29 A, more than a fuse of 1 A bears; over 30 ohm they leave 1.3 kW in a fusible resistor of 1 W."""
    text = (
        FAN_HEATER.replace("1800 W", "50 W")
        .replace("HEATING", "heating")
        .replace(
            "fuse: FUSE 250V, thermal_fuses: [TF1 117C 10A live], bleeder: R1 1M",
            f"{fuse}, varistor: RV1 275V",
        )
    )
    readings = f"[{{ohms: F1, read: OL}}, {{ohms: [inlet.live_out, inlet.neutral_out], read: {left} ohm}}]"
    _, found = judged_note(text.replace("LOAD", "HE1 50 W").replace("READINGS", readings))
    best = found.fits[0].change
    assert best.also is not None and {best.called, best.also.called} == {"RV1", "F1"}
    assert not found.doubted


def test_a_secondary_s_open_fuse_is_open_to_an_ohmmeter_too() -> None:
    """Nothing lies beside F2 but leaks of the board, some megohms of which are next to nothing (common practice): 1.5 MΩ and OL are
    both an open fuse."""
    blocks = (
        "  supply: {kind: transformer-supply, transformer: T1, rectifier: bridge D1-D4, secondary: 9 V, regulation: 20 %,\n"
        "    rated_current: 300 mA, smoothing: C1 1000u 25V, secondary_fuse: F2 T1A, load: 50 mA}\n"
    )
    for shown in ("1.5M", "OL"):
        readings = f"readings: [{{at: supply.plus, read: 0 V}}, {{ohms: F2, read: {shown}}}]\n"
        head = "title: Fuse\ndate: 2026-11-01\ndevice: {kind: radio}\nsymptoms: [dead]\n"
        _device, judgement = judged_note(f"---\n{head}blocks:\n{blocks}{readings}---\n")
        first = judgement.fits[0]
        assert (first.change.called, first.change.mode, first.doubted) == ("F2", "open", ())


POT = """---
title: Two ends of a wire
date: 2026-11-01
device: {{kind: stand}}
symptoms: [blinks]
blocks:
  pot: {{kind: divider, supply: 5 V, upper: R3 100k, lower: R4 100k 20%}}
connectors: {{CN1: [pot.tap -> R4, pot.common]}}
readings: [{{ohms: R4, read: {part}}}, {{ohms: [pot.tap, pot.common], read: {board}}}]
---
"""


@pytest.mark.parametrize("part, board, worn", [("92k", "93k", False), ("92k", "112k", True)])
def test_two_ohms_of_one_way_are_held_against_each_other(part: str, board: str, worn: bool) -> None:
    """R4 may be anything from 80k to 120k, but only the plug's contact lies between the two: 20k more from the board are that
    contact's, whatever R4 has (Ohm's law, resistances in series)."""
    _, found = judged_note(POT.format(part=part, board=board))
    first = found.fits[0]
    assert first.sound is not worn
    if worn:
        assert (first.change.called, first.change.mode) == ("CN1 pin 1", "high resistance")


@pytest.mark.parametrize("shown", ["49 ohm", "66 ohm", "90 ohm"])
def test_a_cold_filament_has_a_small_part_of_its_ohms_at_work(shown: str) -> None:
    """60 W at 230 V are 882 Ω hot; tungsten's resistivity rises twelve- to eighteenfold up to a filament's heat (CRC Handbook of
    Chemistry and Physics, from memory), so a good bulb shows some 50 to 75 Ω, a dimmer one more."""
    note = HOT.replace("SHOWN", shown)
    _, found = judged_note(note)
    assert found.fits[0].sound


HOT = """---
title: Bulb
date: 2026-11-01
device: {kind: lamp}
symptoms: [dark]
blocks: {lamp: {kind: heater, power: LA1 60 W lamp, rated_voltage: 230 V}}
readings: [{ohms: LA1, read: SHOWN}]
---
"""
