"""`values` at the bench: what a call does not use is not loaded, for most of its time is loading."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

CODE = """
import json, os, sys
os._exit = lambda status: sys.exit(status)
from generator.start import main
sys.argv = ["benchlore", "values", *sys.argv[1:]]
try:
    main()
finally:
    print(json.dumps(sorted(sys.modules)), file=sys.stderr)
"""
HEAVY = {
    "numpy", "yaml", "jinja2", "babel", "PIL", "pathlib", "difflib", "datetime", "ast", "multiprocessing", "shutil", "urllib.parse",
    "generator.notation.marking", "generator.circuit.network.passive", "generator.notes.library", "generator.diagnosis",
}  # fmt: skip


def called(*words: str) -> tuple[str, set[str]]:
    done = subprocess.run([sys.executable, "-c", CODE, *words], capture_output=True, text=True, check=True)
    return done.stdout, set(json.loads(done.stderr.splitlines()[-1]))


@pytest.mark.parametrize("words", [
    ("ohm", "12 V", "4k7"),
    ("divider", "supply=12 V", "upper=R1 10k", "lower=10k"),
    ("transformer-supply", "secondary=12 V", "smoothing=C3 1000u 35V", "load=120 mA"),
    ("led-indicator", "supply=5 V", "forward=red", "resistor=?", "current=10 mA"),
])  # fmt: skip
def test_what_a_call_does_not_use_is_not_loaded(words: tuple[str, ...]) -> None:
    out, loaded = called(*words)
    assert out and not loaded & HEAVY, loaded & HEAVY


def test_what_stands_for_inspect_is_inspect_when_it_is_used() -> None:
    code = (
        "from generator.start import _hurry; _hurry(); import dataclasses, inspect\n"
        "print(inspect.isfunction(_hurry), dataclasses.make_dataclass('A', ['b']).__doc__)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["True", "A(b:", "'typing.Any')"]
