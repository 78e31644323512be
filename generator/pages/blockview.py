"""A block as a page shows it: texts only, ready for a template."""

from __future__ import annotations

import re
from typing import Any

from generator.circuit.block import Block, Check, Failure, Result
from generator.circuit.report import assumptions, margin_text
from generator.drawing.frame import TitleBlock
from generator.drawing.plots import plots
from generator.drawing.schematic import draw
from generator.language import _, failure_name, localized, value_name
from generator.notation.quantity import format_band, format_value

_VALUE_ALONE = re.compile(r"[−-]?[\d.,]+(?: [^\W\d]+)? = \S+(?: \S+)?")
WIDE, TOO_WIDE = (
    560,
    740,
)  # pixels: a wide drawing may have its ratings beside it; a too wide one has no room for its values there


def block_view(block: Block, title_block: TitleBlock, *, zigzag: bool = False) -> dict[str, Any]:
    """All that a sheet shows: drawing, values, ratings, failures."""
    svg = draw(block, title_block, zigzag=zigzag)
    view: dict[str, Any] = {
        "name": block.name,
        "kind": block.kind.name,
        "title": _(block.kind.title),
        "what": _(block.kind.what),
        "svg": svg,
        "plan": "",
        "plots": plots(block, title_block.key),
        "values": [value_view(result) for result in block.values.values() if "." not in result.name],
        "cuts": cuts_view(block),
        "checks": _together([check_view(check) for check in block.checks]),
        "failures": [failure_view(block, failure) for failure in block.failures],
        "assumes": assumptions(block),
        "sources": [{"parameter": name, "from": source} for name, source in block.sources.items()],
    }
    view["plan"] = _plan(view)
    return view


def _plan(view: dict[str, Any]) -> str:
    """Where the ratings stand on a wide screen, so that no half of a sheet is empty: "wide" beside a wide drawing, with the
    values below both; "right" below the values; else below the drawing, with the values beside both."""
    size = re.search(r' width="(\d+)" height="(\d+)"', view["svg"])
    width, height = (int(size[1]), int(size[2])) if size else (0, 0)
    pictures = height + 270 * len(view["plots"])  # heights in pixels, about
    values = 62 * len(view["values"]) + 70 * len(view["cuts"]["rows"])
    ratings = 48 * len(view["checks"])
    heights = {
        "": max(pictures + ratings, values),
        "right": max(pictures, values + ratings),
        "wide": max(pictures, ratings) + values // 2,
    }
    plans = (
        ["", "right"]
        if width <= WIDE or not view["checks"]
        else ["wide"]
        if width > TOO_WIDE
        else ["", "right", "wide"]
    )
    return min(plans, key=heights.__getitem__)


def shown(result: Result) -> str:
    """A value as printed: the nominal one, or its band where only a range is known."""
    if result.value is None:
        return format_band(result.low, result.high, result.unit)
    return format_value(result.value, result.unit)


def band(result: Result) -> str:
    """The band as printed; "" where it is no wider than the print of the value."""
    text = format_band(result.low, result.high, result.unit)
    return "" if text == shown(result) else text


def cuts_view(block: Block) -> dict[str, Any]:
    """The cut points as a table: a row each, a column for each of their values; rows empty where there are none."""
    cuts: dict[str, dict[str, Result]] = {}
    for result in block.values.values():
        cut, dot, name = result.name.rpartition(".")
        if dot:
            cuts.setdefault(cut, {})[name] = result
    columns = list(dict.fromkeys(name for found in cuts.values() for name in found))
    return {
        "columns": [value_name(name) for name in columns],
        "rows": [
            {"name": cut, "cells": [{"column": value_name(n), **(value_view(found[n]) if n in found else {"value": ""})} for n in columns]}
            for cut, found in cuts.items()
        ],
    }  # fmt: skip


def value_text(result: Result, form: str) -> str:
    """A value as the prose asks for it: "" its print, "band" its band, "working" the formula with its numbers."""
    return {
        "": shown(result),
        "band": band(result) or shown(result),
        "working": result.working or localized(result.formula),
    }[form]


def value_view(result: Result) -> dict[str, Any]:
    """A computed value with its band, working and source."""
    definition = result.definition
    return {
        "name": result.name,
        "called": value_name(result.name),
        "what": _(definition.what) if definition else "",
        "value": shown(result),
        "band": band(result),
        "formula": localized(result.formula),
        "working": _telling(result.working or localized(result.formula)),
        "source": _(definition.source) if definition else "",
        "at": _(definition.at) if definition else "",
        "hazard": definition.hazard if definition else "",
        "measurable": bool(definition and definition.measurable),
    }


def _together(checks: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Checks that say the same of several parts, as of two equal resistors in series, in one row."""
    found: dict[tuple[str, str, str], dict[str, Any]] = {}
    for check in checks:
        same = found.setdefault((check["what"], check["verdict"], check["margin"]), check)
        if same is not check and check["parts"][0] not in same["parts"]:
            same["parts"] += check["parts"]
    return list(found.values())


def _telling(working: str) -> str:
    """A working that says more than the value beside it; "" for "5.1 V = 5.10 V"."""
    return "" if _VALUE_ALONE.fullmatch(working) else working


def check_view(check: Check) -> dict[str, Any]:
    """A rating check with its verdict and margin."""
    verdict = "remark" if check.remark else "holds" if check.ok else "fails"
    return {"parts": [_(check.part)], "what": _(check.what), "verdict": verdict, "margin": margin_text(check)}


def failure_view(block: Block, failure: Failure) -> dict[str, Any]:
    """A failure with the values that then read otherwise than on a sound block."""
    changes = []
    for name, result in failure.values.items():
        sound = block.values.get(name)
        if sound is None or shown(result) != shown(sound) or band(result) != band(sound):
            changes.append(
                {"name": name, "called": value_name(name), "value": shown(result), "band": band(result)}
            )
    return {
        "part": _(failure.part), "failed": failure_name(failure.failed), "remark": _(failure.remark), "dangerous": failure.dangerous,
        "changes": changes,
    }  # fmt: skip
