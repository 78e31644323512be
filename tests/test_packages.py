"""What is published: sdist and wheel, installed alone with the newest and with the oldest versions of what they need."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="a shell script")
def test_packages() -> None:
    done = subprocess.run(["sh", "tests/packages"], cwd=ROOT, capture_output=True, text=True, timeout=1200)
    assert done.returncode == 0, done.stdout + done.stderr
    built = [line.split(":")[0] for line in done.stdout.splitlines() if " benchlore==" in line]
    assert built == ["newest", "oldest"], done.stdout
