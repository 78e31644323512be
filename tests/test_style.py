"""Layout, lint and types, as the tools that are set up in pyproject.toml judge them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.parametrize(
    "command",
    [("ruff", "format", "--check", "."), ("ruff", "check", "."), ("mypy", "--strict", "generator")],
    ids=" ".join,
)
def test_nothing_to_complain_about(command: tuple[str, ...]) -> None:
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
