"""The statistics of some repairs for a template: small plots of our own, each number beside its bar as text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from generator.finding.record import Record
from generator.finding.statistics import Count, Span, count_repairs
from generator.language import _, localized

WIDTH = 100  # of the longest bar, in units of the drawing


def statistics_view(records: Iterable[Record]) -> dict[str, Any]:
    """Bars and spans of what is known."""
    found = count_repairs(records)
    return {
        "all": found.all,
        "notes": found.notes,
        "plots": [
            plot
            for plot in (
                _plot(_("What became of them"), found.outcomes, _),
                _plot(_("Why not mended"), found.barriers, _),
                _plot(_("Age in years"), found.ages, str),
            )
            if plot
        ],
        "spans": [
            *([_span(_("Age"), found.age, _("years"))] if found.age else []),
            *(_span(_("Cost of parts"), cost, cost.unit) for cost in found.costs),
            *([_span(_("Time"), found.minutes, "min")] if found.minutes else []),
        ],
    }


def _plot(title: str, counts: Sequence[Count], name: Any) -> dict[str, Any] | None:
    most = max((count.count for count in counts), default=0)
    if not most:
        return None
    return {
        "title": title,
        "bars": [
            {
                "name": name(count.name),
                "count": count.count,
                "percent": count.percent,
                "width": round(WIDTH * count.count / most),
            }
            for count in counts
        ],
    }


def _span(title: str, span: Span, unit: str) -> dict[str, Any]:
    """drawn: the three numbers along a line from nothing to the largest."""
    numbers = (span.low, span.middle, span.high)
    pence = bool(span.unit) and any(number % 1 for number in numbers)
    low, middle, high = (localized(_number(number, pence)) for number in numbers)
    drawn = [round(WIDTH * number / (span.high or 1), 1) for number in numbers]
    return {
        "title": title,
        "of": span.of,
        "low": low,
        "middle": middle,
        "high": high,
        "unit": unit,
        "drawn": drawn,
    }


def _number(number: float, pence: bool) -> str:
    """As few digits as it takes; of money both or none behind the mark."""
    return f"{number:.2f}" if pence else f"{number:.2f}".rstrip("0").rstrip(".")
