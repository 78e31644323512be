"""The page "Writing a note": every key with an example, made from the table by which notes are read."""

from __future__ import annotations

from typing import Any

from generator.circuit import catalogue
from generator.circuit.block import Kind
from generator.circuit.spread import SPREADS
from generator.language import _
from generator.notation.parts import TOLERANCES
from generator.notation.reading import OPEN, SHORT
from generator.notes.flow import flow
from generator.notes.keys import Key, Section, section, sections

# A whole note to copy from; a test holds it to be read without a problem.
WHOLE = """\
---
title: Drying box blows cold
date: 2026-03-14
device:
  kind: drying box
  make: Ferrowick
  plate: {supply: 230 V, power: 100 W, class: II}
symptoms:
  - blows cold
  - red lamp blinks twice
outcome: fixed
blocks:
  supply:
    kind: transformer-supply
    secondary: 12 V
    regulation: 12 %
    smoothing: C3 1000u 35V 20%
    bleeder: R4 22k
    load: 120 mA
  air:
    kind: thermistor-divider
    supply: 5 V
    fixed: R9 10k 1%
    thermistor: TH1 10k B3950 5%
  leads:
    kind: chain
    elements: [F1 1A, TF1 77C, S1 lid switch, R8 1R]
    between: [live, neutral]
readings:
  - {at: supply.ripple, read: 0.9 V}
  - {at: air.resistance_25, read: open}
faults:
  - {part: TH1, failed: open, because: a lead broke at the bead}
signals:
  - {shows: red lamp blinks twice, means: sensor open or short, clears: mains off and on}
fitted:
  - {part: TH1, with: 10k B3950 bead, cost: 1.20}
time: 90 min
proof:
  - {test: insulation, read: 200 Mohm}
  - {test: touch current, read: 0.05 mA}
  - {test: function, read: ran 2 h and held 45 C}
---

The sensor reads open at its plug. The supply is sound: {supply.peak} at the capacitor.

{supply}

{air}
"""


def writing_view() -> dict[str, Any]:
    """All that the template shows: sections of keys, kinds with an example of each, tolerances, words of readings."""
    kinds = catalogue.all_kinds()
    return {
        "whole": WHOLE,
        "sections": [_section(found) for found in sections() if found.name != "library" and found.name not in _OF_LIBRARY],
        "of_library": [_section(section(name)) for name in ("library", *_OF_LIBRARY)],
        "kinds": [
            {"name": kind.name, "what": _(kind.what), "example": _example(kind), "terminals": list(kind.terminals),
             "values": [value.name for value in kind.values],
             "more": [param.name for param in kind.params if param.name not in kind.example]}
            for kind in kinds
        ],
        "tolerances": [{"part": _(part), "share": f"±{share * 100:g} %"} for part, share in TOLERANCES.items() if share],
        "spreads": [{"name": _(name), "source": _(spread.source)} for name, spread in SPREADS.items()],
        "open": [word for word in OPEN if word.isascii()][:6],
        "short": list(SHORT[:2]),
    }  # fmt: skip


_OF_LIBRARY = ("mains", "meter", "pool")


def _section(found: Section) -> dict[str, Any]:
    return {
        "name": found.name,
        "title": found.title,
        "keys": [
            {"name": key.name, "what": key.what, "required": key.required, "choices": list(key.choices or key.suggested), "example": _written(key)}
            for key in found.keys
        ],
    }  # fmt: skip


def _written(key: Key) -> str:
    """A key with its example as it stands in a note: what is a list or has keys of its own, a line each."""
    if key.shape == "sections" and key.example.startswith("[{"):
        return f"{key.name}:\n  - " + key.example[1:-1].replace("}, {", "}\n  - {")
    return f"{key.name}: {key.example}"


def _example(kind: Kind) -> str:
    lines = [f"{kind.name}:", f"  kind: {kind.name}"]
    return "\n".join(lines + [f"  {name}: {flow(entry)}" for name, entry in kind.example.items()])
