"""ngspice as a second opinion: runs a netlist and returns what it says stands on every node."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

PROGRAM = shutil.which("ngspice")


def needed() -> None:
    """Skip where ngspice is missing; in CI it has to be there."""
    if PROGRAM is None:
        if os.environ.get("CI") == "true":
            pytest.fail("ngspice is missing; in CI these tests are not skipped")
        pytest.skip("no ngspice here (apt-get install ngspice)")


def operating_point(netlist: str, nodes: list[str], folder: Path) -> dict[str, float]:
    """Volts of the nodes at the operating point. Fails where ngspice gives none."""
    assert PROGRAM is not None
    lines = [line for line in netlist.splitlines() if not line.startswith((".end", ".op", ".tran", ".print"))]
    prints = [f"print v({node})" for node in nodes if node != "0"]
    text = "\n".join([*lines, ".control", "op", *prints, "quit", ".endc", ".end", ""])
    if not text.startswith("*"):
        text = "* title\n" + text
    file = folder / "circuit.cir"
    file.write_text(text)
    ran = subprocess.run([PROGRAM, "-b", str(file)], capture_output=True, text=True, timeout=120)
    found = {m[1]: float(m[2]) for m in re.finditer(r"^v\((\S+?)\) = (\S+)$", ran.stdout, re.MULTILINE)}
    assert len(found) == len(prints), ran.stdout[-2000:] + ran.stderr[-2000:]
    return found


def means(
    netlist: str,
    nodes: list[str],
    *,
    start: float,
    stop: float,
    step: float,
    folder: Path,
    measure: str = "avg",
) -> dict[str, float]:
    """What a DC meter shows at the nodes: their means from start to stop (s) of a transient analysis from time 0; measure
    "rms": their RMS, the mean among it."""
    assert PROGRAM is not None
    asked = [f"meas tran m_{node} {measure} v({node}) from={start} to={stop}" for node in nodes]
    control = [".control", f"tran {step} {stop} {start} {step} uic", *asked, "quit", ".endc", ".end", ""]
    file = folder / "transient.cir"
    file.write_text("\n".join(["* title", netlist.strip(), *control]))
    ran = subprocess.run([PROGRAM, "-b", str(file)], capture_output=True, text=True, timeout=120)
    found = {m[1]: float(m[2]) for m in re.finditer(r"^m_(\S+)\s+=\s+(\S+)", ran.stdout, re.MULTILINE)}
    assert len(found) == len(nodes), ran.stdout[-2000:] + ran.stderr[-2000:]
    return found
