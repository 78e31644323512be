"""Plots: what they draw against sources outside, and that their words can be read."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from kind_cases import every_case

from generator.circuit import catalogue
from generator.circuit.block import Block, Mains
from generator.circuit.circuit import build_block
from generator.circuit.curves import Diagram
from generator.drawing.plots import plots

PLOTTED = ["thermistor-divider", "light-divider", "transformer-supply", "rc-delay", "phase-control"]


def block_of(kind: str, **changes: Any) -> Block:
    parameters = {k: v for k, v in {**catalogue.kind(kind).example, **changes}.items() if v != ""}
    block, troubles = build_block(kind, parameters, Mains())
    assert block is not None, troubles
    return block


def one(kind: str, **changes: Any) -> Diagram:
    block = block_of(kind, **changes)
    found = block.kind.plot(block)
    assert found is not None
    return found


def at(diagram: Diagram, name: str, x: float) -> float:
    points = next(c.points for c in diagram.curves if c.name == name)
    return float(np.interp(x, *zip(*points)))


def test_a_thermistors_curve_goes_through_the_makers_table() -> None:
    # EPCOS/TDK B57861S0103F040 (10 k, B25/100 3988 K), data sheet R/T table 8016: R/R25 3.2654 at 0 °C, 0.53229 at 40 °C,
    # from memory; the B equation of a table is good to about 2 % here
    curve = one(
        "thermistor-divider",
        thermistor="TH1 10k B3988",
        fixed="R9 10k",
        supply="5 V",
        cut_points="",
        adc_bits="",
        dissipation_constant="",
    )
    for celsius, ratio in ((0.0, 3.2654), (25.0, 1.0), (40.0, 0.53229)):
        assert at(curve, "output", celsius) == pytest.approx(5 * ratio / (1 + ratio), rel=0.015)


def test_a_capacitor_is_at_63_percent_after_one_time_constant() -> None:
    # 1 − 1/e; any handbook
    assert at(
        one("rc-delay", resistor="10k", capacitor="1u", supply="5 V", threshold="3.5 V"), "capacitor", 0.010
    ) == pytest.approx(3.1606, rel=2e-3)
    falling = one(
        "rc-delay", resistor="10k", capacitor="1u", supply="5 V", threshold="3.5 V", direction="discharge"
    )
    assert at(falling, "capacitor", 0.010) == pytest.approx(1.8394, rel=2e-3)


@pytest.mark.parametrize(
    "source", [{"regulation": "", "rated_current": ""}, {"regulation": "15 %", "rated_current": "400 mA"}]
)
@pytest.mark.parametrize("rectifier", ["bridge", "half-wave"])
def test_the_rail_against_an_integration_by_scipy(source: dict[str, str], rectifier: str) -> None:
    from scipy.integrate import solve_ivp

    diagram = one(
        "transformer-supply",
        secondary="9 V",
        smoothing="C3 680u 25V",
        load="170 mA",
        bleeder="",
        rectifier=rectifier,
        **source,
    )
    regulation = 0.15 if source["regulation"] else 0.0
    emf, drop = 9 * math.sqrt(2) * (1 + regulation), 0.7 * (2 if rectifier == "bridge" else 1)
    # an ideal source is taken as one of 5 mΩ
    inner = 9 * regulation / 0.4 if regulation else 0.005

    def slope(t: float, v: list[float]) -> list[float]:
        wave = math.sin(2 * math.pi * 50 * t)
        push = (emf * (abs(wave) if rectifier == "bridge" else wave) - drop - v[0]) / inner
        return [(max(0.0, push) - 0.170) / 680e-6]

    found = solve_ivp(
        slope, (0, 0.44), [emf - drop], method="LSODA", max_step=5e-5, rtol=1e-7, dense_output=True
    )
    for t in np.linspace(0.001, 0.039, 39):
        assert at(diagram, "rail", t) == pytest.approx(found.sol(0.4 + t)[0], abs=0.03)


def test_at_the_load_the_mains_from_the_firing_angle_on() -> None:
    diagram = one("phase-control", supply="230 V")
    up, down = (next(c for c in diagram.curves if c.name == name) for name in ("knob up", "knob down"))
    assert up.points[0][0] < down.points[0][0] < 180
    assert at(diagram, "mains", 90.0) == pytest.approx(325.27, rel=1e-4)  # 230 V·√2
    assert at(diagram, "mains", 30.0) == pytest.approx(162.63, rel=1e-3)  # half of it


def test_what_cannot_be_drawn_is_left_out() -> None:
    assert plots(block_of("transformer-supply", load="", bleeder="")) == []
    assert plots(block_of("led-indicator")) == []


def every_plot() -> list[tuple[str, str]]:
    found = []
    for name, given in every_case():
        block, _ = build_block(name, given, Mains())
        assert block is not None
        found += [(name, plot["svg"]) for plot in plots(block)]
    cuts = {f"cut point {n}": {"temperature": f"{37 + n / 10} C"} for n in range(12)}
    crowded = block_of("thermistor-divider", cut_points=cuts)
    ranged = block_of(
        "thermistor-divider",
        cut_points={
            "clicked off": {"resistance": "5.1k..6.2k"},
            "a name that is rather longer": {"temperature": "80 C"},
        },
    )
    return found + [("crowded", plots(crowded)[0]["svg"]), ("ranged", plots(ranged)[0]["svg"])]


def test_every_plot_has_words_and_no_style_of_its_own() -> None:
    found = every_plot()
    assert {kind for kind, _ in found} >= set(PLOTTED)
    for kind, svg in found:
        assert "<title" in svg and "<desc" in svg and "style=" not in svg, kind


@pytest.mark.browser
def test_no_word_of_a_plot_meets_another_or_the_edge(browser: Any) -> None:
    overlaps = """() => [...document.querySelectorAll('svg')].flatMap(svg => {
      const boxes = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBBox()]);
      const edge = svg.viewBox.baseVal;
      const out = boxes.filter(([, b]) => b.x < -0.5 || b.y < -0.5 || b.x + b.width > edge.width + 0.5 || b.y + b.height > edge.height + 0.5);
      return [...out.map(([t]) => `${svg.dataset.of}: ${t} leaves the picture`), ...boxes.flatMap(([a, p], i) => boxes.slice(i + 1)
        .filter(([, q]) => p.x < q.x + q.width && q.x < p.x + p.width && p.y + 2 < q.y + q.height - 2 && q.y + 2 < p.y + p.height - 2)
        .map(([b]) => `${svg.dataset.of}: ${a} meets ${b}`))]; })"""
    tab = browser.new_page()
    pictures = "".join(svg.replace("<svg ", f'<svg data-of="{kind}" ', 1) for kind, svg in every_plot())
    tab.set_content(f'<style>svg {{ font: 11px "DejaVu Sans Mono", monospace }}</style>{pictures}')
    assert tab.evaluate(overlaps) == []
    tab.close()
