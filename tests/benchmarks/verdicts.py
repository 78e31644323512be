"""Whether `values --read` contradicts itself: random readings of every kind, what its sentences say against its list.

    python tests/benchmarks/verdicts.py [SECONDS] [SEED]

Counted, with the first few of each: the sentences find the circuit sound and the list does not, or the other way round;
nothing single explains it and yet nothing is wrong; every reading lies within its band and yet something has failed, and
no sentence says how both can be.
"""

from __future__ import annotations

import math
import random
import re
import sys
import time
import warnings
from collections import defaultdict

from generator.circuit import catalogue
from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.diagnosis.bench import Found, fitting
from generator.notation.printed import format_value

SHOWN = 5
LINE = re.compile(r"^\s+([\d.]+) %  (.*)$", re.MULTILINE)


def blocks() -> dict[tuple[str, str], Block]:
    """The example of each kind and its variants."""
    found = {}
    for kind in catalogue.all_kinds():
        for variant in (None, *kind.variants):
            changes = variant.changes if variant else {}
            given = {name: entry for name, entry in {**kind.example, **changes}.items() if entry != ""}
            block, _ = build_block(kind.name, given, Mains())
            if block is not None and block.values:
                found[kind.name, variant.caption if variant else ""] = block
    return found


def reading(block: Block, name: str, chance: random.Random) -> str:
    """What a meter may show there: nothing, within the band, as under a failure, or anything."""
    result = block.values[name]
    value = result.value if result.value is not None and math.isfinite(result.value) else 1.0
    sort = chance.random()
    if sort < 0.15:
        return f"0 {result.unit}".strip()
    if sort < 0.5 and math.isfinite(result.low) and math.isfinite(result.high):
        value = chance.uniform(result.low, result.high)
    elif sort < 0.65 and block.failures:
        under = chance.choice(block.failures).values.get(name)
        value = under.value if under and under.value is not None and math.isfinite(under.value) else value * 2
    else:
        value *= 10 ** chance.uniform(-2, 2)
    return format_value(value, result.unit, 4).replace("−", "-")


def contradictions(found: Found) -> list[str]:
    """What in the text of an answer contradicts something else in it."""
    text, judgement = found.as_text(), found.judgement
    assert judgement is not None
    said, _, _ = text.partition("How likely each is")
    listed = [(float(share), name) for share, name in LINE.findall(text)]
    leads = bool(listed) and listed[0][1].startswith("nothing wrong")
    sound = "a sound circuit" in said.split("rule out")[0].partition("fit")[2].partition(",")[0][:24]
    within = all(judged.verdict and judged.verdict.word == "within" for judged in judgement.judged)
    share = next((fit.share for fit in judgement.fits if fit.sound), 0.0)
    told = {
        "said to be sound, and the list begins with a failure": sound and not leads,
        "nothing single explains it, and the list begins with nothing wrong": "No single fault" in said
        and leads and listed[0][0] > 50,
        "all within their bands, most likely something failed, and no word about it": within
        and share < 0.3
        and "within its" not in said,
        "the list is not in its order": [s for s, _ in listed] != sorted((s for s, _ in listed), reverse=True),
    }  # fmt: skip
    return [what for what, so in told.items() if so]


def main() -> None:
    seconds, seed = (float(sys.argv[1]) if len(sys.argv) > 1 else 60.0), int((sys.argv[2:] or ["1"])[0])
    warnings.simplefilter("ignore")
    chance, made = random.Random(seed), blocks()
    tried, told = 0, defaultdict(list)
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        key = chance.choice(list(made))
        block = made[key]
        names = [
            n
            for n, r in block.values.items()
            if r.definition and r.definition.measurable and r.value is not None
        ]
        if not names:
            continue
        chosen = chance.sample(names, min(len(names), chance.choice([1, 1, 1, 2, 3])))
        taken = [(name, reading(block, name, chance)) for name in chosen]
        found = fitting(block, taken)
        if found.problems:
            continue
        tried += 1
        for what in contradictions(found):
            told[what].append((*key, taken))
    print(f"{tried} sets of readings")
    for what, cases in told.items():
        print(f"{len(cases):5}  {what}")
        for case in cases[:SHOWN]:
            print(f"         {case}")


if __name__ == "__main__":
    main()
