"""Volts across a part are noted without a word on which lead was where."""

from __future__ import annotations

import pytest
from test_asking import WARMER, device_of

from generator.diagnosis.judging import judge
from generator.diagnosis.readings import Meter


@pytest.mark.parametrize("read", ["12.0 V", "-12.0 V"])
def test_a_blocked_flyback_diode(read: str) -> None:
    """At rest 0 V, while the relay pulls 12 V less the transistor's 0.1 to 0.3 V across the diode, cathode up: 12 V by one way
    of putting the probes, -12 V from anode to cathode. Neither says that anything is wrong."""
    device, readings = device_of(WARMER, {"across": "D1", "read": read, "when": "warming"})
    found = judge(device, readings, Meter())
    assert found.judged[0].verdict is not None and found.judged[0].verdict.ok
    assert found.fits[0].sound
