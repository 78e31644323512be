"""How long a call of `values` takes, as a multiple of starting a bare Python: the least of several of each, in turn.

    python tests/benchmarks/values.py [ROUNDS]

Processor time, so that other work on the machine counts for little; compiled modules are kept, as an installation has them.
"""

from __future__ import annotations

import os
import subprocess
import sys

CALLS = {
    "Ohm's law": ["ohm", "12V", "4k7"],
    "divider": ["divider", "supply=12V", "upper=10k", "lower=10k"],
    "transformer supply": ["transformer-supply", "secondary=12V", "smoothing=C3 1000u", "load=120mA"],
    "turned round": ["led-indicator", "supply=5V", "forward=red", "resistor=?", "current=10mA"],
    "what a kind takes": ["divider"],
    "with a reading (loads numpy)": [
        "divider",
        "supply=12V",
        "upper=10k",
        "lower=10k",
        "--read",
        "output=5V",
    ],
}
START = "import sys; from generator.start import main; sys.argv[0] = 'benchlore'; sys.exit(main())"


def spent(command: list[str]) -> float:
    """Processor time of a command in seconds."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    quiet = subprocess.DEVNULL
    process = subprocess.Popen(command, stdout=quiet, stderr=quiet, env=environment)
    used = os.wait4(process.pid, 0)[2]
    process.returncode = 0
    return used.ru_utime + used.ru_stime


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    bare, least = float("inf"), dict.fromkeys(CALLS, float("inf"))
    for _round in range(rounds):
        bare = min(bare, spent([sys.executable, "-c", "pass"]))
        for name, call in CALLS.items():
            least[name] = min(least[name], spent([sys.executable, "-c", START, "values", *call]))
    print(f"bare Python: {bare * 1000:.1f} ms")
    for name, seconds in least.items():
        print(f"{seconds / bare:6.2f}  {name}")


if __name__ == "__main__":
    main()
