"""Parts as a kind wires them: a junction's own resistance takes from its volts what it adds in series, tolerances and all."""

from __future__ import annotations

import pytest

from generator.circuit.network.element import Number
from generator.circuit.network.wiring import lessened


def test_a_number_that_is_lessened_is_so_from_end_to_end() -> None:
    """2 V, 1.8 to 2.2 V, less 0.3 V: 1.7 V, 1.5 to 1.9 V. By hand."""
    found = lessened(Number(2.0, (("forward", 1.8, 2.2), ("warmth", 2.1, 1.9))), 0.3)
    assert found.value == pytest.approx(1.7)
    assert [own[0] for own in found.ends] == ["forward", "warmth"]
    assert [end for own in found.ends for end in own[1:]] == pytest.approx([1.5, 1.9, 1.8, 1.6])
