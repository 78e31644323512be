"""The pages on the kinds of block, made from the kinds themselves, so that they cannot drift from them."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from generator.circuit import catalogue
from generator.circuit.block import Block, Kind, Mains
from generator.circuit.circuit import build, build_block
from generator.circuit.device.assembly import assemble
from generator.circuit.param import Param
from generator.circuit.report import spreads_taken, taken_beside
from generator.diagnosis.cautions import cautions_for
from generator.drawing.frame import Drawing, TitleBlock
from generator.drawing.plots import plots
from generator.drawing.schematic import draw
from generator.language import _, localized, value_name, words
from generator.notation.printed import SYMBOLS
from generator.pages.blockview import band, failure_view, shown
from generator.pages.typography import in_words

LONGEST_LINE = 60  # letters of the example; a longer list is written an item a line
GROUPS = ("Power", "Sensing", "Timing", "Driving", "Structure")


def kind_view(kind: Kind, zigzag: bool = False) -> dict[str, Any]:
    """All that the page of a kind shows."""
    block = _example(kind.name)
    return {
        "name": kind.name,
        "title": _(kind.title),
        "group": kind.group,
        "what": _(kind.what),
        "assumes": in_words(_(kind.assumes)),
        "params": [_param(param) for param in kind.params],
        "values": [
            {
                "name": v.name,
                "called": value_name(v.name),
                "what": in_words(_(v.what)),
                "unit": SYMBOLS.get(v.unit, v.unit),
                "shown": shown(block.values[v.name]) if v.name in block.values else "",
                "band": band(block.values[v.name]) if v.name in block.values else "",
                "at": in_words(_(v.at)),
                "formula": localized(v.formula),
                "source": in_words(_(v.source)),
            }
            for v in block.definitions
        ],
        "svg": _drawing(block, kind.name, zigzag),
        "plots": plots(block),
        "variants": [
            {"caption": _(caption), "svg": _drawing(block, f"{kind.name}-{n}", zigzag)}
            for n, (caption, block) in enumerate(_variants(kind))
        ],
        "spreads": spreads_taken(block),
        "beside": _taken_beside(kind, block),
        "failures": [failure_view(block, failure) for failure in block.nominal_failures],
        "note": _note_text(kind),
        "cautions": cautions_for([block.cautions], "", None),
    }


def kind_drawing(kind: Kind, zigzag: bool) -> Drawing:
    """The drawing of a kind's example, to stand alone."""
    return draw(_example(kind.name), TitleBlock(title=_(kind.title), key=kind.name), zigzag=zigzag)


def _drawing(block: Block, key: str, zigzag: bool) -> str:
    frame = TitleBlock(title=_(block.kind.title), kind=_("Example"), key=key)
    return draw(block, frame, zigzag=zigzag).svg


@lru_cache(maxsize=None)
def _example(name: str) -> Block:
    """The example of a kind."""
    kind = catalogue.kind(name)
    block, troubles = build_block(name, dict(kind.example), Mains())
    if block is None:
        raise ValueError(f"the example of {name} does not build: {troubles}")
    return block


def _taken_beside(kind: Kind, block: Block) -> str:
    """What the network of a whole device takes for the example, which no note states."""
    device = assemble(build({"block": {"kind": kind.name, **kind.example}}, Mains()))
    return taken_beside(block, device.wired["block"].taken) if "block" in device.wired else ""


def _variants(kind: Kind) -> list[tuple[str, Block]]:
    found = []
    for variant in kind.variants:
        block, _troubles = build_block(kind.name, kind.example_with(variant.changes), Mains())
        if block is not None:
            found.append((variant.caption, block))
    return found


def _param(param: Param) -> dict[str, str]:
    return {
        "name": param.name,
        "what": in_words(_(param.what)),
        "required": "required" if param.required else "optional",
        "default": words(param.default.words()),
        "unit": words(param.accepts()),
    }


def _note_text(kind: Kind) -> str:
    """The example as front matter to copy from."""
    lines = ["blocks:", f"  my-{kind.name}:", f"    kind: {kind.name}"]
    for name, entry in kind.example.items():
        line = f"    {name}: {_yaml(entry)}"
        if isinstance(entry, list) and len(line) > LONGEST_LINE:
            lines += [f"    {name}:", *(f"      - {_yaml(item)}" for item in entry)]
        else:
            lines.append(line)
    return "\n".join(lines)


def _yaml(entry: Any) -> str:
    if isinstance(entry, dict):
        return "{" + ", ".join(f"{k}: {_yaml(v)}" for k, v in entry.items()) + "}"
    if isinstance(entry, (list, tuple)):
        return "[" + ", ".join(_yaml(v) for v in entry) + "]"
    text = str(entry)
    return f'"{text}"' if any(c in text for c in ":#[]{},") or text != text.strip() else text
