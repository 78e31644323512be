"""The pages on the kinds of block, made from the kinds themselves, so that they cannot drift from them."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from generator.circuit import catalogue
from generator.circuit.block import REQUIRED, Block, Kind, Mains, Param
from generator.circuit.circuit import build_block
from generator.circuit.drawing import draw
from generator.circuit.frame import TitleBlock
from generator.circuit.quantity import KINDS_OF_VALUE, SYMBOLS
from generator.site.blockview import failure_view
from generator.site.plots import plots

GROUPS = ("Power", "Sensing", "Timing", "Driving", "Structure")


def kind_view(kind: Kind, zigzag: bool = False) -> dict[str, Any]:
    """All that the page of a kind shows."""
    block = _example(kind.name)
    return {
        "name": kind.name,
        "title": kind.title,
        "group": kind.group,
        "what": kind.what,
        "assumes": kind.assumes,
        "params": [_param(param) for param in kind.params],
        "values": [
            {"name": v.name, "what": v.what, "unit": SYMBOLS.get(v.unit, v.unit), "formula": v.formula, "source": v.source}
            for v in block.definitions
        ],
        "svg": _drawing(block, kind.name, zigzag),
        "plots": plots(block, kind.name),
        "variants": [_drawing(b, f"{kind.name}-{n}", zigzag) for n, b in enumerate(_variants(kind))],
        "failures": [failure_view(block, failure) for failure in block.failures],
        "note": _note_text(kind),
        "cautions": list(kind.cautions),
    }


def _drawing(block: Block, key: str, zigzag: bool) -> str:
    frame = TitleBlock(title=block.kind.title, kind="Example", key=key)
    return draw(block, frame, zigzag=zigzag)


@lru_cache(maxsize=None)
def _example(name: str) -> Block:
    kind = catalogue.kind(name)
    block, troubles = build_block(name, dict(kind.example), Mains())
    if block is None:
        raise ValueError(f"the example of {name} does not build: {troubles}")
    return block


def _variants(kind: Kind) -> list[Block]:
    found = []
    for changes in kind.variants:
        parameters = {k: v for k, v in {**kind.example, **changes}.items() if v != ""}
        block, _ = build_block(kind.name, parameters, Mains())
        if block is not None:
            found.append(block)
    return found


def _param(param: Param) -> dict[str, str]:
    default = param.default
    shown = {
        REQUIRED: "", "": "", "mains": "the library's mains voltage", "frequency": "the library's mains frequency",
    }.get(default, f"as {default[1:]}" if default.startswith("=") else default)  # fmt: skip
    return {
        "name": param.name,
        "what": param.what,
        "required": "required" if default == REQUIRED else "optional",
        "default": shown,
        "unit": _unit(param),
    }


def _unit(param: Param) -> str:
    if param.shape == "choice":
        return " | ".join(param.choices)
    if param.shape in ("part", "parts"):
        return param.part + (", list" if param.shape == "parts" else "")
    if param.shape == "load":
        return "A or Ω"
    if param.shape == "cut_points":
        return "name: one of " + ", ".join(param.cuts)
    if param.shape == "value":
        return SYMBOLS.get(param.unit, param.unit) or KINDS_OF_VALUE[""][0]
    return {"count": "whole number", "numbers": "list of numbers", "text": "text", "lines": "list of texts", "tree": "list of parts"}[param.shape]


def _note_text(kind: Kind) -> str:
    """The example as front matter to copy from."""
    lines = ["blocks:", f"  my-{kind.name}:", f"    kind: {kind.name}"]
    for name, entry in kind.example.items():
        lines.append(f"    {name}: {_yaml(entry)}")
    return "\n".join(lines)


def _yaml(entry: Any) -> str:
    if isinstance(entry, dict):
        return "{" + ", ".join(f"{k}: {_yaml(v)}" for k, v in entry.items()) + "}"
    if isinstance(entry, (list, tuple)):
        return "[" + ", ".join(_yaml(v) for v in entry) + "]"
    text = str(entry)
    return f'"{text}"' if any(c in text for c in ":#[]{},") or text != text.strip() else text
