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
    lines = [line for line in netlist.splitlines() if not line.startswith((".end", ".op", ".tran"))]
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
