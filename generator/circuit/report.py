"""A block worked out, as data for machines and as text for a terminal."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from generator.circuit.block import Block, Check, Failure, Result
from generator.circuit.spread import SPREADS
from generator.language import _, localized, words
from generator.notation.printed import format_band, format_value


def number(value: float) -> float | str:
    """A number as JSON has it; "inf" for a time that never comes."""
    return "inf" if math.isinf(value) else value


def result_data(result: Result) -> dict[str, Any]:
    """{"value", "low", "high"}; value is left out where only a band is known."""
    ends = {"low": number(result.low), "high": number(result.high)}
    return ends if result.value is None else {"value": number(result.value), **ends}


def as_data(block: Block) -> dict[str, Any]:
    """The block as the contract of `values --json` has it: plain units, no prefixes."""
    return {
        "kind": block.kind.name,
        "values": {
            name: {**result_data(r), "unit": r.unit, "formula": r.formula, "working": r.working}
            for name, r in block.values.items()
        },
        "checks": [check_data(check) for check in block.checks],
        "failures": [failure_data(failure) for failure in block.failures],
    }


def check_data(check: Check) -> dict[str, Any]:
    """A rating check as data."""
    return {"part": check.part, "what": check.what, "ok": check.ok, "margin": check.margin}


def failure_data(failure: Failure) -> dict[str, Any]:
    """A failure as data, with what each measurable value becomes."""
    return {
        "part": failure.part,
        "failed": failure.failed,
        "values": {name: result_data(r) for name, r in failure.values.items()},
        **({"remark": failure.remark} if failure.remark else {}),
    }


def assumptions(block: Block) -> str:
    """What the kind takes for granted, and the spreads that were taken where the note states no tolerance."""
    return " ".join(filter(None, (_(block.kind.assumes), spreads_taken(block))))


def spreads_taken(block: Block) -> str:
    """The spreads that were taken where the note states no tolerance; "" where there are none."""
    taken = []
    for name, key in block.spreads.items():
        value = block.point.__dict__.get(name)
        unit = block.units.get(name, "")
        if isinstance(value, (int, float)) and value:
            taken.append(f"{name.replace('_', ' ')} {_spread(key, value, unit)}")
    text = _("No tolerance is stated for these, so it was assumed: %(list)s.") % {"list": ", ".join(taken)}
    return text if taken else ""


def taken_beside(block: Block, taken: Mapping[str, float]) -> str:
    """What the network of a whole device takes for a block and no note states, beyond what its sheet says. taken: entries of
    spread.py with the values that they are about."""
    said = set(block.spreads.values())
    return ", ".join(
        f"{_(key)} {_spread(key, value, SPREADS[key].unit)}"
        for key, value in taken.items()
        if key not in said
    )


def _spread(key: str, value: float, unit: str) -> str:
    """A spread as a person reads it: "±10 %", "−50 to +200 %", "0.600 to 1.10 V"."""
    spread = SPREADS[key]
    if spread.fixed or spread.below != spread.above and spread.absolute:
        return format_band(*spread.ends(value), unit)
    if spread.absolute:
        return "±" + format_value(spread.below, unit, trim=True)
    if spread.below == spread.above:
        return f"±{spread.below * 100:g} %"
    return _("−%(below)s to +%(above)s %%") % {
        "below": f"{spread.below * 100:g}",
        "above": f"{spread.above * 100:g}",
    }


def as_text(block: Block) -> str:
    """The block as a person at the bench reads it: values with bands and working, ratings, failures."""
    lines = [block.kind.title]
    rows = []
    for r in block.values.values():
        shown = format_value(r.value, r.unit) if r.value is not None else format_band(r.low, r.high, r.unit)
        band = format_band(r.low, r.high, r.unit) if r.low != r.high else ""
        rows.append((r.name, shown, band, words(r.working) or localized(r.formula)))
    lines += _table(("value", "nominal", "band", "working"), rows)
    if block.spreads:
        lines += ["", assumptions(block)]
    checks = block.checks
    if checks:
        lines += ["", "Ratings"]
        lines += [
            f"  {_verdict(c)}  {_(c.part)}: {_(c.what)}"
            + (f" ({margin})" if (margin := margin_text(c)) else "")
            for c in checks
        ]
    if block.failures:
        lines += ["", "If yours measures differently"]
        for failure in block.failures:
            changed = [
                f"{name} {_shown(r)}"
                for name, r in block.read_under(failure).items()
                if _differs(r, block.values.get(name))
            ]
            remark = f" ({_(failure.remark)})" if failure.remark else ""
            lines.append(
                f"  {_(failure.part)} {failure.failed}{remark}: {', '.join(changed) or 'nothing here shows it'}"
            )
    return "\n".join(lines)


def _shown(result: Result) -> str:
    return (
        format_value(result.value, result.unit)
        if result.value is not None
        else format_band(result.low, result.high, result.unit)
    )


def _differs(result: Result, sound: Result | None) -> bool:
    """Whether a failed value reads otherwise than the sound one: the printed values differ."""
    return sound is None or _shown(result) != _shown(sound)


def _verdict(check: Check) -> str:
    return "note  " if check.remark else "holds " if check.ok else "FAILS "


def margin_text(check: Check) -> str:
    """How much of a limit is left, or by how much it is missed, in words; "" where there is no figure for it."""
    if check.margin is None or check.remark:
        return ""
    if check.margin > 1:  # only above a least value; a share of more than all says nothing
        return _("%(times)s times what is needed") % {"times": localized(f"{1 + check.margin:.3g}")}
    share = {"margin": f"{abs(check.margin) * 100:.0f} %"}
    if check.margin >= 0:
        return _("%(margin)s in hand") % share
    return (_("%(margin)s short") if check.least else _("exceeded by %(margin)s")) % share


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> list[str]:
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head) - 1)]
    return [
        "  " + "  ".join([cell.ljust(width) for cell, width in zip(row, widths)] + [row[-1]]).rstrip()
        for row in [head, *rows]
    ]
