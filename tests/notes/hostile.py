"""Notes made to hang, crash or fill the memory of whoever reads them, each by a name.

Run as a script it reads them all and prints the peak of memory after each (KiB, as Linux counts it).
"""

from __future__ import annotations

import sys
from pathlib import Path

HEAD = "title: t\ndate: 2026-01-02\ndevice: {kind: k}\nsymptoms: [s]\n"
MANY = 100_000


def _laughs(levels: int = 30) -> str:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [" + ", ".join([f"*a{n - 1}"] * 9) + "]" for n in range(1, levels)]
    return "\n".join(lines)


def _cut_points(blocks: int, cuts: int) -> str:
    points = ", ".join(f"c{n}: {{resistance: {n + 1}k..{n + 2}k}}" for n in range(cuts))
    block = "{{kind: thermistor-divider, supply: 5 V ± 5 %, fixed: R{0} 10k, thermistor: TH{0} 10k B3950, cut_points: {{{1}}}}}"
    return "blocks:\n" + "".join(f"  b{n}: {block.format(n, points)}\n" for n in range(blocks))


# name -> YAML between the --- lines
FRONTS = {
    "billion laughs": _laughs(),
    "an anchor inside itself": "a: &a [*a, *a]\nb: *a\n",
    "one long text used 10,000 times": f"a: &a {'x' * 20_000}\nb: [" + "*a, " * 10_000 + "x]",
    "100,000 aliases": "a: &a x\nb: [" + "*a, " * MANY + "x]",
    "100,000 aliases of nothing": "b:\n" + " - *a\n" * MANY,
    "20,000 anchors and an alias near them": "\n".join(f"k{n}: &anchor{n} x" for n in range(9_000))
    + "\nz: *anchorr",
    "deep lists": "a: " + "[" * MANY,
    "deep lists, closed": "a: " + "[" * MANY + "]" * MANY,
    "deep mappings": "a: " + "{a: " * MANY,
    "deep mappings over lines": "\n".join(" " * n + "a:" for n in range(600)),
    "deep lists in a line": "- " * MANY + "a",
    "deep keys in a line": "? " * MANY + "a",
    "deep list as a key": "[" * 15 + "]" * 15 + ": a\n" + "{" * 30,
    "100,000 readings": HEAD + "readings:\n" + "  - {at: a.b, read: 1 V}\n" * MANY,
    "100,000 short readings": HEAD + "readings:\n" + " - {}\n" * MANY,
    "1,000 wrong readings": HEAD + "readings:\n" + "  - {att: a.b, raed: 1 V, witth: x, nota: y}\n" * 1_000,
    "20,000 empty texts": HEAD + "symptoms:\n" + " -\n" * 20_000,
    "30,000 unknown keys": "\n".join(f"titel{n}: x" for n in range(30_000)),
    "900 unknown keys in each of 20 lists": "\n".join(
        f"faults: [{{{', '.join(f'failde{m}: x' for m in range(900))}}}]" for _ in range(20)
    ),
    "the same key 50,000 times": "a: b\n" * 50_000,
    "50,000 merge keys": "<<: {a: b}\n" * 20_000,
    "a long key": "k" * 200_000 + ": v",
    "a long key in quotes": '"' + "k" * 200_000 + '": v',
    "a long key over lines": "? " + "k\n  " * 50_000 + "\n: v",
    "a long text": HEAD + "author: " + "x" * 200_000,
    "a long text of words": HEAD + "author: " + "x " * 100_000,
    "a long number for a year": "device: {kind: k, year: " + "9" * 200_000 + "}",
    "a long number for a price": "fitted: [{part: x, cost: " + "9" * 200_000 + "}]",
    "a long number for a share": "boards: [{top: a.jpg, marks: [{part: C1, x: "
    + "9" * 200_000
    + ", y: 0}]}]",
    "a long date": "date: " + "2026-" * 40_000,
    "a long place": "blocks: {a: {kind: heater}}\nreadings: [{at: " + "a." * 50_000 + ", read: 1}]",
    "a long value": "blocks: {a: {kind: heater, power: " + "1" * 100_000 + " W, rated_voltage: 1e99999 V}}",
    "a long kind": "blocks: {a: {kind: " + "heater" * 30_000 + "}}",
    "a long accuracy": "readings: [{at: a.b, read: 1, accuracy: " + "1 " * 50_000 + "}]",
    "10,000 blocks": "blocks:\n" + "".join(f"  b{n}: {{kind: heater}}\n" for n in range(10_000)),
    "900 blocks": "blocks:\n"
    + "".join(f"  b{n}: {{kind: heater, power: 1 kW, rated_voltage: 230 V}}\n" for n in range(900)),
    "100 blocks in a chain": "blocks:\n"
    + "".join(
        f"  b{n}: {{kind: heater, power: 1 kW, rated_voltage: b{n + 1}.current}}\n" for n in range(100)
    ),
    "900 parameters of a block": "blocks:\n  b:\n    kind: heater\n"
    + "".join(f"    powerr{n}: 1 W\n" for n in range(900)),
    "900 cut points": "blocks:\n  b:\n    kind: thermistor-divider\n    supply: 5 V\n    fixed: R1 10k\n"
    "    thermistor: TH1 10k B3950\n    cut_points:\n"
    + "".join(f"      c{n}: {{temperature: 38 C}}\n" for n in range(900)),
    "40 cut points in each of 100 blocks": _cut_points(blocks=100, cuts=40),
    "20 cut points in each of 24 blocks": _cut_points(blocks=24, cuts=20),
    "900 parts in a list": "blocks:\n  b:\n    kind: offline-start\n    capacitor: C1 10u 50V\n    start_voltage: 16 V\n"
    "    start_resistors: [" + ", ".join(f"R{n} 330k" for n in range(900)) + "]",
    "quotes without end": "a: " + '"' * 200_001,
    "small quotes without end": "a: " + "'" * 200_001,
    "100,000 escapes": 'a: "' + "\\x1b" * 50_000 + '"',
    "surrogates in escapes": 'a: "\\ud800\\udfff"\nb: "\\uffff"',
    "backslashes": 'a: "' + "\\" * 200_001 + '"',
    "colons": ":" * 200_000,
    "colons and blanks": ": " * 100_000,
    "question marks": "?" * 200_000,
    "dashes": "-" * 200_000,
    "tags": "a: " + "!" * 200_000,
    "20,000 tags": "a:\n" + " - !t x\n" * 20_000,
    "ampersands": "a: " + "&" * 200_000,
    "stars": "a: " + "*" * 200_000,
    "percent signs": "%" * 200_000,
    "20,000 directives": "%TAG !a! tag:x,2000:\n" * 10_000,
    "20,000 documents": "--- a\n...\n" * 20_000,
    "100,000 comments": "# x\n" * 60_000,
    "one long comment": "# " + "x" * 200_000,
    "tabs": "\t" * 200_000,
    "blanks": " " * 200_000,
    "line ends": "\n" * 200_000,
    "line separators": "\u2028" * 80_000,
    "byte-order marks": "\ufeff" * 80_000,
    "turned text": "title: \u202e" + "x" * 1_000 + "\u2066" * 10_000,
    "zeros": "\x00" * 200_000,
    "a block text with a deep indent": "a: |9\n" + " " * 200_000 + "x",
    "lines without a colon": "a\n" * 100_000,
    "commas": "a: [" + "," * 200_000,
    "empty lists": "a: [" + "[]," * 60_000,
    "emoji": "title: " + "🔧" * 60_000,
    "accents on one letter": "title: e" + "\u0301" * 100_000,
    "ligatures that grow when composed": "title: " + "\ufdfa" * 80_000,
}

NOTES = {name: f"---\n{front}\n---\nProse.\n" for name, front in FRONTS.items()} | {
    "a mebibyte of dashes": "---\n" * 262_144,
    "front matter without end": "---\n" + "a: b\n" * 200_000,
    "a mebibyte of controls in the prose": f"---\n{HEAD}---\n" + "\x1b" * 1_000_000,
    "a mebibyte of line ends in the prose": f"---\n{HEAD}---\n" + "\r\n" * 500_000,
    "front matter of a mebibyte": "---\n" + "a: b # c\n" * 110_000 + "---\n",
}

HARMLESS = {"a mebibyte of line ends in the prose"}  # read without a word


def peak_memory() -> int:
    """KiB of this program at its most. ru_maxrss would count what the process that started it took, too."""
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0])


if __name__ == "__main__":
    from generator.circuit.circuit import Mains
    from generator.notes.note import parse_note

    if "--without-libyaml" in sys.argv:
        import yaml

        del yaml.CSafeLoader
    every = int(sys.argv[sys.argv.index("--every") + 1]) if "--every" in sys.argv else 1
    for title, text in list(NOTES.items())[::every]:
        parse_note(text, "n", "n.md", None, Mains())
        print(peak_memory(), title)
