"""What each kind of block costs: values, failures, and its drawing by our sheet and with every symbol drawn anew.

    python tests/benchmarks/blocks.py

Processor time, best of several, in milliseconds. `drawing` is what the drawing costs with nothing remembered, as a
bare call of the drawing library would; `drawn again` is with symbols remembered, as in a build.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable

from generator.circuit import builder, catalogue
from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.circuit.dropper_cycle import dropper_cycle
from generator.circuit.steady_state import rectifier_steady_state
from generator.drawing import symbols
from generator.drawing.frame import TitleBlock
from generator.drawing.schematic import draw

RUNS = 7


def best(work: Callable[[], object]) -> float:
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return 1000 * min(times)


def forget() -> None:
    builder._kept.clear()  # the same circuit is otherwise worked out once
    for cached in (rectifier_steady_state, dropper_cycle):
        if hasattr(cached, "cache_clear"):
            cached.cache_clear()


def main() -> None:
    argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    ).parse_args()
    print(f"{'kind':22}{'values':>9}{'failures':>10}{'drawing':>9}{'drawn again':>13}{'values+failures':>17}")
    print(f"{'':22}{'ms':>9}{'ms':>10}{'ms':>9}{'ms':>13}{'of drawing':>17}")
    for name in catalogue.names():
        example = dict(catalogue.kind(name).example)
        frame = TitleBlock(title=name)

        def fresh() -> Block:
            forget()
            block, troubles = build_block(name, example, Mains())
            assert block is not None, troubles
            return block

        def drawn_anew() -> None:
            symbols.two_terminal.cache_clear()
            symbols.device.cache_clear()
            drawn_again()

        def drawn_again() -> None:
            block.drawings.clear()
            draw(block, frame)

        block = fresh()
        values = best(fresh)
        both = best(lambda: fresh().failures)
        drawing, again = best(drawn_anew), best(drawn_again)
        ratio = both / drawing if drawing else 0.0
        print(
            f"{name:22}{values:9.2f}{max(0.0, both - values):10.2f}{drawing:9.2f}{again:13.2f}{ratio:17.2f}"
        )


if __name__ == "__main__":
    main()
