"""Layout, lint and types, as the tools that are set up in pyproject.toml judge them."""

from __future__ import annotations

import os
import shutil
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


TOOLS = Path(sys.prefix) / "node" / "node_modules"  # put there by tests/run
SCRIPTS = [str(path.relative_to(ROOT)) for path in sorted((ROOT / "themes").glob("*/static/**/*.js"))]
LAYOUT = ("prettier/bin/prettier.cjs", "--config", "tests/scripts/package.json", "--check", *SCRIPTS)
TYPES = ("typescript/bin/tsc", "--project", "tests/scripts/tsconfig.json")


@pytest.mark.parametrize("command", [LAYOUT, TYPES], ids=["prettier", "tsc"])
def test_the_theme_s_scripts(command: tuple[str, ...]) -> None:
    """Laid out by prettier, and without what TypeScript takes for mistakes."""
    node = shutil.which("node")
    if node is None or not TOOLS.is_dir():
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)("no Node.js, or not by tests/run")
    done = subprocess.run([node, TOOLS / command[0], *command[1:]], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_script_is_checked_in_an_editor_too(script: str) -> None:
    assert (ROOT / script).read_text("utf-8").startswith("// @ts-check\n")
