"""Cold build of 200 generated notes beside the bare cost of the library calls, and the start of the command.

A site of one note, built after the others so that all is loaded, says what of that is pages that any site has: the more notes, the
less it counts.

python tests/benchmarks/build.py [NOTES]
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from floor import floor  # noqa: E402
from generated import library  # noqa: E402

from generator.build.build import build_site  # noqa: E402


def seconds_of(command: list[str], runs: int = 9) -> float:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("notes", nargs="?", type=int, default=200, help="how many (%(default)s)")
    notes = parser.parse_args().notes
    with tempfile.TemporaryDirectory() as place:
        os.environ["BENCHLORE_CACHE"] = str(Path(place) / "cache")
        folder = library(Path(place) / "content", notes)
        floor(library(Path(place) / "warm", 2))
        bare = [floor(folder)]
        start = (
            time.process_time()
        )  # of the processor: the figure holds on a machine that does other things too
        built = build_site(folder, Path(place) / "site", processes=1)
        cold = time.process_time() - start
        assert built.written, built.problems[:3]
        bare.append(floor(folder))
        start = time.process_time()
        build_site(folder, Path(place) / "site", processes=1)
        again = time.process_time() - start
        os.environ["BENCHLORE_CACHE"] = str(Path(place) / "other cache")
        start = time.process_time()
        build_site(library(Path(place) / "one", 1), Path(place) / "site of one", processes=1)
        one = time.process_time() - start
    library_calls = statistics.mean(bare)
    bare_python = seconds_of([sys.executable, "-c", "pass"])
    start_up = seconds_of([sys.executable, "-m", "generator.cli", "--help"])
    print(f"{'':44}{'seconds':>9}{'ratio':>8}")
    print(f"{f'bare library calls, {notes} notes of 6 blocks':44}{library_calls:9.2f}{1:8.2f}")
    print(f"{'cold build, one process':44}{cold:9.2f}{cold / library_calls:8.2f}   target 2")
    each, bare_each = (cold - one) / (notes - 1), library_calls / notes
    print(f"{'each further note':44}{each:9.3f}{each / bare_each:8.2f}")
    print(f"{'built again, nothing changed':44}{again:9.2f}{again / library_calls:8.2f}")
    print(f"{'python -c pass':44}{bare_python:9.3f}{1:8.2f}")
    print(f"{'benchlore --help':44}{start_up:9.3f}{start_up / bare_python:8.2f}   target 6")


if __name__ == "__main__":
    main()
