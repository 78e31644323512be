"""The mains of a device without an inlet block: EN 50160, 230 V ± 10 %, on whatever block it comes in."""

from __future__ import annotations

import pytest

from generator.circuit.device.results import nets
from tests.circuit.device.examples import built

BLOCKS = [
    ("{kind: transformer-supply, secondary: 12 V, smoothing: C1 1000u, load: 100 mAPRIMARY}", "primary_live", "primary"),
    ("{kind: heater, power: HE1 95 W, rated_voltage: 230 VPRIMARY}", "live", "supply"),
    ("{kind: induction-motor, main: L1 420, running_current: 90 mAPRIMARY}", "live", "supply"),
    ("{kind: solenoid, winding: L1 2kPRIMARY}", "live", "supply"),
    ("{kind: triac-switch, load: LA1 100 W, triac: TR1 4A 600VPRIMARY}", "live", "supply"),
]  # fmt: skip


@pytest.mark.parametrize("block, terminal, parameter", BLOCKS)
@pytest.mark.parametrize("stated", ["", "230 V", "225 V"])
def test_the_wall_has_its_tolerance(block: str, terminal: str, parameter: str, stated: str) -> None:
    """±10 % about 230 V, also where the note writes the volts as they stand on the plate; `230 V 0%` is exact."""
    text = block.replace("PRIMARY", f", {parameter}: {stated}" if stated else "")
    shown = nets(built(f"blocks: {{x: {text}}}"))[f"x.{terminal}"]["volts"]
    volts = float((stated or "230 V").split()[0])
    for state in shown.values():
        assert [state["ac"][end] for end in ("low", "value", "high")] == pytest.approx(
            [volts * 0.9, volts, volts * 1.1], rel=1e-3
        )


def test_what_is_not_the_wall_or_is_stated_exactly() -> None:
    """A bench transformer's 24 V AC and `230 V 0%` are what they are; a secondary moves with the mains: 12 V ± 10 % at its load."""
    for text in ("24 V", "230 V 0%"):
        block = f"{{kind: induction-motor, supply: {text}, main: L1 420, running_current: 9 mA}}"
        shown = nets(built(f"blocks: {{x: {block}}}"))["x.live"]["volts"]["running"]["ac"]
        assert shown["low"] == shown["high"] == float(text.split()[0])
    rail = nets(
        built(
            "blocks: {x: {kind: transformer-supply, secondary: 12 V, regulation: 10 %, rated_current: 1 A, smoothing: C1 1000u,"
            " load: 100 mA}}"
        )
    )
    ends = rail["x.secondary_a"]["volts"]["running"]["ac"]
    assert ends["low"] / ends["value"] == pytest.approx(0.9, abs=0.03)
    assert ends["high"] / ends["value"] == pytest.approx(1.1, abs=0.03)
