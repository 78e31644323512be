"""A block as a page shows it: texts only, ready for a template."""

from __future__ import annotations

from typing import Any

from generator.circuit.block import Block, Check, Failure, Result
from generator.circuit.drawing import draw
from generator.circuit.frame import TitleBlock
from generator.circuit.quantity import format_band, format_value
from generator.site.plots import plots


def block_view(block: Block, title_block: TitleBlock, *, zigzag: bool = False) -> dict[str, Any]:
    """All that a sheet shows: drawing, values, ratings, failures."""
    return {
        "name": block.name,
        "kind": block.kind.name,
        "title": block.kind.title,
        "what": block.kind.what,
        "svg": draw(block, title_block, zigzag=zigzag),
        "plots": plots(block, title_block.key),
        "values": [value_view(result) for result in block.values.values()],
        "checks": [check_view(check) for check in block.checks],
        "failures": [failure_view(block, failure) for failure in block.failures],
        "assumes": block.kind.assumes,
        "sources": [{"parameter": name, "from": source} for name, source in block.sources.items()],
    }


def shown(result: Result) -> str:
    """A value as printed: the nominal one, or its band where only a range is known."""
    if result.value is None:
        return format_band(result.low, result.high, result.unit)
    return format_value(result.value, result.unit)


def band(result: Result) -> str:
    """The band as printed; "" where it is no wider than the print of the value."""
    text = format_band(result.low, result.high, result.unit)
    return "" if text == shown(result) else text


def value_view(result: Result) -> dict[str, Any]:
    definition = result.definition
    return {
        "name": result.name,
        "called": result.name.replace("_", " ").replace(".", ", "),
        "what": definition.what if definition else "",
        "value": shown(result),
        "band": band(result),
        "formula": result.formula,
        "working": result.working,
        "source": definition.source if definition else "",
        "at": definition.at if definition else "",
        "hazard": definition.hazard if definition else "",
        "measurable": bool(definition and definition.measurable),
    }


def check_view(check: Check) -> dict[str, Any]:
    margin = ""
    if check.margin is not None and not check.remark:
        margin = f"{abs(check.margin) * 100:.0f} %"
    verdict = "remark" if check.remark else "holds" if check.ok else "fails"
    return {"part": check.part, "what": check.what, "verdict": verdict, "margin": margin, "over": not check.ok}


def failure_view(block: Block, failure: Failure) -> dict[str, Any]:
    """A failure with the values that then read otherwise than on a sound block."""
    changes = []
    for name, result in failure.values.items():
        sound = block.values.get(name)
        if sound is None or shown(result) != shown(sound) or band(result) != band(sound):
            changes.append({"name": name, "called": name.replace("_", " ").replace(".", ", "), "value": shown(result), "band": band(result)})
    return {
        "part": failure.part, "failed": failure.failed, "remark": failure.remark, "dangerous": failure.dangerous,
        "changes": changes,
    }  # fmt: skip
