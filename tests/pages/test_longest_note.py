"""The longest note that people are to expect: a whole device of seventeen blocks, read at eighteen places, in many words."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from few_notes import site_of
from test_look import weight
from test_page_first import CUT, OVER

pytestmark = pytest.mark.browser

BLOCKS = """
  inlet: {kind: mains-inlet, load: 150 W, fuse: F1 T1A, x_capacitor: C1 100n X2, bleeder: R1 1M, switch: S1 6A}
  supply: {kind: transformer-supply, primary: inlet, secondary: 12 V, smoothing: C3 680u 25V 20%, regulation: 15 %,
           rated_current: 500 mA}
  reg: {kind: linear-regulator, input: supply, output: 5 V, regulator: U1}
  air: {kind: thermistor-divider, supply: reg, fixed: R9 10k 1%, thermistor: TH1 10k B3950 1%}
  water: {kind: thermistor-divider, supply: reg, fixed: R10 10k 1%, thermistor: TH2 10k B3950 1%}
  rail-watch: {kind: divider, supply: supply, upper: R30 100k, lower: R31 22k}
  brain: {kind: microcontroller, designator: U2, supply: reg, decoupling: C8 100n,
          pins: [1 VDD, 2 heater -> relay-drive, 3 air <- air, 4 lamp -> lamp, 5 fan -> fan-drive, 6 rail <- rail-watch,
                 7 menu <- menu, 8 GND, 9 pump -> pump-drive, 10 buzzer -> alarm, 11 water <- water, 12 wait <- wait]}
  relay-drive: {kind: transistor-switch, base: R14 1k, pull_down: R15 47k, transistor: Q1 hfe100 500mA 45V,
                load: RL1 400 12V, load_supply: supply, flyback: D6}
  fan-drive: {kind: mosfet-switch, gate: R16 100, pull_down: R17 100k, transistor: Q2 vth2 rds0R05, load: FAN1 240,
              load_supply: supply, flyback: D7}
  pump-drive: {kind: transistor-switch, base: R18 680, transistor: Q3 hfe100 500mA 45V, load: M1 180, load_supply: supply,
               flyback: D8}
  lamp: {kind: led-indicator, resistor: R20 470, forward: LD1 red}
  alarm: {kind: led-indicator, resistor: R21 470, forward: LD2 amber}
  power-lamp: {kind: led-indicator, supply: reg, resistor: R22 680, forward: LD3 green}
  menu: {kind: button-input, supply: reg, pull_up: R24 10k, series: R25 1k, capacitor: C9 100n}
  wait: {kind: rc-delay, supply: reg, resistor: R26 10k, capacitor: C10 1u, threshold: 3.5 V}
  element: {kind: heater, power: HE1 95 W, rated_voltage: 230 V, supply: inlet, contact: RL1 5A}
  limit: {kind: zener-regulator, supply: supply, series: R27 470 0.5W, zener: ZD1 9V1}
"""
READ = {
    "supply.no_load_peak": "17.4 V", "supply.mean": "14.1 V", "supply.ripple": "1.0 V", "supply.trough": "13.4 V",
    "reg.output_voltage": "5.02 V", "air.output_25": "2.50 V", "air.resistance_25": "10.1k", "water.resistance_25": "9.9k",
    "rail-watch.output": "2.5 V", "relay-drive.load_current": "32 mA", "relay-drive.base_current": "0.9 mA",
    "fan-drive.load_current": "55 mA", "pump-drive.load_current": "75 mA", "lamp.current": "6.2 mA", "alarm.current": "0 mA",
    "menu.idle_voltage": "5.0 V", "element.resistance": "552 ohm", "limit.output": "9.1 V",
}  # fmt: skip
WIDTHS = (1440, 1024, 820, 390, 320)
WORDS = "We put the probes where the sheet says and wrote down what the meter showed, with the lid off and the fan held. "


def note() -> str:
    readings = "".join(f"  - {{at: {place}, read: {read}, note: lid off}}\n" for place, read in READ.items())
    prose = "\n\n".join(f"## What we did, part {n}\n\n{WORDS * 5}" for n in range(1, 4))
    return (
        "---\ntitle: Hatching cabinet beeps and stays cold\ndate: 2026-04-02\n"
        "device: {kind: hatching cabinet, plate: {supply: 230 V, class: I}}\nsymptoms: [beeps, stays cold, lamp stays dark]\n"
        f"outcome: fixed\nblocks:{BLOCKS}readings:\n{readings}"
        "faults: [{part: LD2, failed: open, because: struck by the lid, found_by: diode range, fix: replaced}]\n"
        f"---\n{prose}\n"
    )


@pytest.fixture(scope="module")
def longest(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return site_of(tmp_path_factory.mktemp("longest"), cabinet=note())


@pytest.fixture(scope="module")
def tab(browser: Any, longest: Path) -> Iterator[Any]:
    opened = browser.new_page()
    opened.goto(f"{longest.as_uri()}/notes/cabinet/index.html")
    yield opened
    opened.close()


def test_it_is_light(longest: Path) -> None:
    total, scripts = weight(longest, "notes/cabinet/index.html")
    assert total <= 76_000 and scripts <= 15_300


def test_it_is_short(tab: Any) -> None:
    tab.set_viewport_size({"width": 1440, "height": 900})
    assert tab.locator(".block-sheet").count() == 17
    assert tab.evaluate("document.documentElement.scrollHeight") <= 7.2 * 900
    tab.set_viewport_size({"width": 390, "height": 844})
    assert tab.evaluate("document.documentElement.scrollHeight") <= 14_000


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_overflows_meets_or_is_cut(tab: Any, width: int) -> None:
    tab.set_viewport_size({"width": width, "height": 800})
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    assert tab.evaluate(OVER) == []
    assert tab.evaluate(CUT) == []


def test_few_stops_of_the_tab_key(tab: Any) -> None:
    """Beside those of every page, one for each sheet; none for a designator."""
    for width in WIDTHS:
        tab.set_viewport_size({"width": width, "height": 900})
        stops = tab.evaluate("""[...document.querySelectorAll('a[href], button, input, select, summary, [tabindex]')]
            .filter(e => e.tabIndex >= 0 && !e.disabled && e.checkVisibility({visibilityProperty: true})).length""")
        assert 20 < stops < 60, width


def test_no_drawing_is_moved_sideways_on_a_large_screen(tab: Any) -> None:
    for width in WIDTHS[:2]:
        tab.set_viewport_size({"width": width, "height": 900})
        assert (
            tab.evaluate("""[...document.querySelectorAll('.drawing')].filter(e => e.checkVisibility()
            && e.scrollWidth > e.clientWidth + 1).map(e => e.ariaLabel)""")
            == []
        )


def test_flags_go_on_behind_the_tenth(tab: Any) -> None:
    flags = [text.strip() for text in tab.locator("table.readings .flag").all_inner_texts()]
    assert flags[:11] == [*"①②③④⑤⑥⑦⑧⑨⑩", "(11)"] and len(flags) == 18
