"""The package is called generator, as others may be: where another is found first, that is said in a line."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

FOREIGN = {
    "generator.py": "x = 1\n",
    "generator/__init__.py": "",
    "generator/cli.py": "def main(): return 0\n",
    "generator/other.py": "",  # a folder without __init__ is a package, too
}


@pytest.mark.parametrize("name", FOREIGN)
def test_another_package_of_that_name_is_told(tmp_path: Path, name: str) -> None:
    start = tmp_path / "bin" / "benchlore_start.py"
    start.parent.mkdir()
    start.write_bytes((ROOT / "generator" / "start.py").read_bytes())
    path = tmp_path / "elsewhere" / name
    path.parent.mkdir(parents=True)
    path.write_text(FOREIGN[name])
    code = "import sys, benchlore_start; sys.exit(benchlore_start.main())"
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(start.parent), str(tmp_path / "elsewhere")])}
    command = [sys.executable, "-P", "-S", "-c", code, "--version"]
    done = subprocess.run(command, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1 and "another package called generator" in done.stderr
    assert str(tmp_path / "elsewhere") in done.stderr and "pipx" in done.stderr


def test_the_package_itself_is_a_command(tmp_path: Path) -> None:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "generator", "values", "marking", "104"]
    done = subprocess.run(command, env=env, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0 and "100 nF" in done.stdout, done.stderr
