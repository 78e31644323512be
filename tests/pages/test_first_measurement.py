"""A page that has not been told anything proposes what to measure first for what its device does not do; sheets beside a tall one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from few_notes import site_of

pytestmark = pytest.mark.browser

# An invented warmer on the mains, whose element a relay switches
WARMER = """---
title: Plate warmer
date: 2026-02-03
device: {kind: plate warmer, category: Small kitchen item}
symptoms: [SYMPTOM]
outcome: unknown
blocks:
  inlet: {kind: mains-inlet, load: 100 W, fuse: F1 2A}
  supply: {kind: transformer-supply, primary: inlet, transformer: T1, rectifier: D1-D4 bridge, secondary: 9 V, regulation: 20 %,
           rated_current: 300 mA, smoothing: C1 1000u 25V, bleeder: R1 2k2}
  reg: {kind: linear-regulator, regulator: U1, input: supply, output: 5 V, output_capacitor: C2 10u 16V, load: 20 mA}
  drive: {kind: transistor-switch, drive: 5 V, base: R4 2k2, transistor: Q1 hfe200 500mA 45V, load: RL1 400 12V, load_supply: supply,
          flyback: D5}
  element: {kind: heater, power: HE1 100 W, rated_voltage: 230 V, supply: inlet, contact: RL1 5A}
readings: [{at: supply.plus, read: 11 V}, {at: reg.out, read: 5 V}]
---
It was cold.
"""

# A flyback supply's sheet is tall, a regulator's is not
TALL = """---
title: Diffuser
date: 2026-02-03
device: {kind: diffuser, category: Misc}
symptoms: [dead]
outcome: unknown
blocks:
  main: {kind: flyback-supply, input: 325 V, output: 12 V, load: 200 mA, turns_ratio: 8, primary_inductance: 2.2 mH, frequency: 65 kHz,
         sense: R2 2R2, transistor: Q1 700V 2A, diode: D6 100V 2A schottky, capacitor: C2 470u 16V, also: [R3 4k7 from out to common]}
  five: {kind: linear-regulator, regulator: U2, input: main, output: 5 V, load: 20 mA, output_capacitor: C3 22u 10V}
readings: [{at: main.out, read: 12 V}, {at: five.out, read: 5 V}]
---
It was dead.
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("first")
    cold, loose = (WARMER.replace("SYMPTOM", words) for words in ("stays cold", "handle loose"))
    return site_of(place, cold=cold, loose=loose, tall=TALL)


@pytest.mark.parametrize(("slug", "said"), [("cold", True), ("loose", False)])
def test_the_first_measurement_says_for_what(browser: Any, site: Path, slug: str, said: bool) -> None:
    """What the owner says is named where it decides, and only there."""
    page = browser.new_page()
    page.goto((site / "notes" / slug / "index.html").as_uri())
    text = page.locator("div.next-reading").inner_text()
    page.close()
    assert text.startswith("Best first measurement") and ("stays cold" in text) == said
    assert "handle loose" not in text


def test_a_sheet_beside_a_tall_one_keeps_its_height(browser: Any, site: Path) -> None:
    """No card has more than a third of its height empty under what stands in it (common practice, no source)."""
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    page.goto((site / "notes" / "tall" / "index.html").as_uri())
    empty = page.evaluate(
        """() => [...document.querySelectorAll(".strip > *")].map(card => {
            const box = card.getBoundingClientRect();
            const seen = [...card.querySelectorAll("svg, p, summary, td")].filter(own => own.checkVisibility());
            const foot = Math.max(...seen.map(own => own.getBoundingClientRect().bottom));
            return [card.id, (box.bottom - foot) / box.height];
        }).filter(([, share]) => share > 1 / 3)"""
    )
    page.close()
    assert empty == []
