"""How well the search serves small libraries of invented slips.   python tests/benchmarks/finding_small.py [--sizes 8,20]

Of the slips in finding_cases.py some are left out and asked for, one after the other; the library is made of the
others, as many as the size says. A result is right when it has the kind of device and the cause of what was asked.
Slips whose cause the library does not have are not asked, but for the last columns, which also count those.

Prints, for each size, without and with the kind of device: hit@1, hit@5, MRR@10, vote (is the cause right that the ten
first name most, each counting 1 / its rank), then of the panel of causes: how often its first is right, what it says
of that on average, and the calibration error (ten bins; Guo and others, 2017). The slips and the thesaurus are of one
hand, and the thesaurus was widened when the slips had been written: the figures flatter, and serve to compare.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import defaultdict
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent.parent)]

from finding_cases import slips  # noqa: E402

from generator.finding.entry import Entry, cause_key, entry_of  # noqa: E402
from generator.finding.index import index_of  # noqa: E402
from generator.finding.record import Cause, Record  # noqa: E402
from generator.finding.thesaurus import default  # noqa: E402

MAKES = "Ferrowick Aldrun Bexmoor Calvane Dorrin Estovar Fennick Gorlan".split()
Key = tuple[str, str]  # kind of device, cause


@dataclass
class Told:
    """Sums over what was asked; shares: of the panel's first cause, and whether it was right."""

    asked: int = 0
    first: float = 0
    five: float = 0
    rank: float = 0
    vote: float = 0
    shares: list[tuple[float, bool]] = field(default_factory=list)


@lru_cache(maxsize=1)
def entries() -> list[tuple[Key, str, Entry]]:
    """Kind and cause, text and entry of every slip."""
    known = default()
    out = []
    for n, (kind, category, (part, failed, found_by), text) in enumerate(slips()):
        make = MAKES[n % len(MAKES)]
        record = Record(
            f"slip-{n:03}", f"{make} {kind}", f"2025-01-{1 + n % 28:02}", kind, category, make,
            symptoms=(text,), outcome="fixed", causes=(Cause(part, failed, "", found_by, "", part),), part_names=(part,),
        )  # fmt: skip
        out.append(((kind, f"{part} {failed}"), text, entry_of(record, known)))
    return out


def left_out(size: int, folds: int = 8, with_kind: bool = False, seed: int = 0) -> Told:
    """Asks for every slip once, each time of a library of `size` of the slips in the other folds."""
    told = Told()
    every = entries()
    key_of = {entry.record.slug: key for key, _, entry in every}
    order = list(range(len(every)))
    chance = random.Random(seed + size)
    chance.shuffle(order)
    for fold in range(folds):
        held = order[fold::folds]
        rest = sorted(set(order) - set(held))
        chance.shuffle(rest)
        library = [every[n] for n in rest[:size]]
        index = index_of([entry for _, _, entry in library], default())
        has = {key for key, _, _ in library}
        for n in held:
            key, text, entry = every[n]
            found = index.search(text, entry.record.device_kind if with_kind else "")
            if found.causes:
                # a cause that two people name differently is one cause
                right = cause_key(found.causes[0].cause, default()) == cause_key(key[1], default())
                told.shares.append((found.causes[0].share, right))
            if key not in has:
                continue
            got = [key_of[hit.slug] for hit in found.results]
            told.asked += 1
            told.first += got[:1] == [key]
            told.five += key in got[:5]
            told.rank += 1 / (1 + got.index(key)) if key in got else 0
            votes: defaultdict[str, float] = defaultdict(float)
            for place, (_, cause) in enumerate(got, 1):
                votes[cause] += 1 / place
            told.vote += bool(votes) and max(votes, key=votes.__getitem__) == key[1]
    return told


def error_of(shares: list[tuple[float, bool]]) -> float:
    """Expected calibration error over ten bins of equal width."""
    bins: defaultdict[int, list[tuple[float, bool]]] = defaultdict(list)
    for share, right in shares:
        bins[min(9, int(10 * share))].append((share, right))
    off = sum(abs(sum(share - right for share, right in held)) for held in bins.values())
    return off / max(1, len(shares))


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sizes", default="8,20,50,100,200")
    sizes = [int(size) for size in parser.parse_args().sizes.split(",")]
    print(f"{len(entries())} slips, {len({key for key, _, _ in entries()})} causes\n")
    print(
        f"{'notes':>5}  {'kind':<6}{'asked':>6}{'hit@1':>7}{'hit@5':>7}{'MRR':>6}{'vote':>6}"
        f"   {'panel':>6}{'right':>7}{'says':>6}{'error':>7}"
    )
    for with_kind in (False, True):
        for size in sizes:
            runs = [left_out(size, 8 if size > 20 else 12, with_kind, seed) for seed in (0, 1, 2)]
            asked = sum(told.asked for told in runs) or 1
            shares = [pair for told in runs for pair in told.shares]
            panels = len(shares) or 1
            print(
                f"{size:>5}  {'given' if with_kind else '-':<6}{asked:>6}{sum(t.first for t in runs) / asked:>7.3f}"
                f"{sum(t.five for t in runs) / asked:>7.3f}{sum(t.rank for t in runs) / asked:>6.3f}"
                f"{sum(t.vote for t in runs) / asked:>6.3f}   {len(shares):>6}"
                f"{sum(right for _, right in shares) / panels:>7.3f}{sum(share for share, _ in shares) / panels:>6.3f}"
                f"{error_of(shares):>7.3f}"
            )


if __name__ == "__main__":
    main()
