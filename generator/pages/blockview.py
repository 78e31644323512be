"""A block as a page shows it: typed views of texts, ready for a template."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from generator.circuit.block import Block, Check, Failure, Result
from generator.circuit.report import margin_text, spreads_taken
from generator.drawing.frame import Drawing, TitleBlock
from generator.drawing.items import Marks
from generator.drawing.plots import plots
from generator.drawing.schematic import draw
from generator.language import _, failure_name, localized, value_name, words
from generator.notation.printed import format_band, format_value
from generator.pages.typography import in_words

_VALUE_ALONE = re.compile(r"[−-]?[\d.,]+(?: [^\W\d]+)? = \S+(?: \S+)?")
LITTLE_IN_HAND = 0.10  # share of a rating; less than that is shown without being asked for
MOST_CHANGES = 3  # readings that tell a failure; more of them tell no more
FEW_WATTS = 0.01  # W; heat that no part minds, and that no reader looks for


@dataclass(frozen=True)
class ValueView:
    """A computed value: its print, band, working and source. flag: the sign of the reading that was taken of it."""

    name: str
    called: str
    what: str
    value: str
    band: str
    formula: str
    working: str
    source: str
    at: str
    hazard: str
    flag: str = ""


@dataclass(frozen=True)
class CheckView:
    """A rating held against what its parts see; verdict: "holds", "fails" or "remark". close: little is in hand."""

    parts: tuple[str, ...]
    what: str
    verdict: str
    margin: str
    close: bool


@dataclass(frozen=True)
class Change:
    """What a value becomes under a failure."""

    name: str
    called: str
    value: str


@dataclass(frozen=True)
class FailureView:
    """A failure and the values that then read otherwise."""

    part: str
    failed: str
    remark: str
    dangerous: bool
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class CutCell:
    """One value of a cut point; view is None where the cut point has none."""

    column: str
    view: ValueView | None


@dataclass(frozen=True)
class Cuts:
    """Cut points as a table: a row each, a column for each of their values."""

    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, tuple[CutCell, ...]], ...] = ()


@dataclass(frozen=True)
class SheetView:
    """All that a sheet shows. values: all of them; told: those that stand in the open, the others being behind one
    line, and so with checks.

    number: the sheet's number on its page. open: something was read here or has failed; failed: the latter.
    """

    name: str
    kind: str
    title: str
    what: str
    drawing: Drawing
    block: TitleBlock
    plots: tuple[dict[str, str], ...]
    values: tuple[ValueView, ...]
    told: tuple[ValueView, ...]
    cuts: Cuts
    checks: tuple[CheckView, ...]
    more_checks: tuple[CheckView, ...]
    failures: tuple[FailureView, ...]
    spreads: str  # taken where the note states no tolerance; what the kind takes for granted stands on its own page
    number: int = 0
    open: bool = True
    failed: bool = False
    joins: tuple[str, ...] = ()  # where its terminals go


def block_view(
    block: Block,
    title_block: TitleBlock,
    *,
    zigzag: bool = False,
    marks: Marks | None = None,
    told: Collection[str] = (),
    failures: Sequence[Failure] | None = None,
    number: int = 0,
    opened: bool = True,
) -> SheetView:
    """A block's sheet. told: names of the values that were measured or are cited, which stand in the open; failures: what
    they are in its device, where there is one."""
    marks = marks or Marks()
    values = [replace(view, flag=marks.flags.get(view.name, "")) for view in worth_showing(block, told)]
    checks = _together(map(check_view, block.checks))
    return SheetView(
        name=block.name,
        kind=block.kind.name,
        title=_(block.kind.title),
        what=_(block.kind.what),
        drawing=draw(block, title_block, zigzag=zigzag, marks=marks),
        block=title_block,
        plots=tuple(plots(block)),
        values=tuple(values),
        told=tuple(v for v in values if v.name in told),
        cuts=cuts_view(block),
        checks=tuple(c for c in checks if c.close),
        more_checks=tuple(c for c in checks if not c.close),
        failures=tuple(
            failure_view(block, failure, told)
            for failure in (block.nominal_failures if failures is None else failures)
        ),
        spreads=spreads_taken(block),
        number=number,
        open=opened,
        failed=not marks.failed.isdisjoint(block.designators),
    )


def worth_showing(block: Block, told: Collection[str]) -> list[ValueView]:
    """Every value but those of cut points, a second name for a figure that is there already, and heat too small to
    mind; what was measured or is cited stays in any case."""
    found: list[ValueView] = []
    seen: set[tuple[str, str, str]] = set()
    results = [result for result in block.values.values() if "." not in result.name]
    for result in sorted(results, key=lambda r: r.name not in told):
        same = (result.unit, shown(result), band(result))
        known = same in seen and result.unit in ("V", "A", "W") and result.value != 0
        small = result.unit == "W" and result.high < FEW_WATTS
        if result.name in told or not (known or small):
            found.append(value_view(result))
            seen.add(same)
    order = {result.name: n for n, result in enumerate(results)}
    return sorted(found, key=lambda view: order[view.name])


def shown(result: Result) -> str:
    """A value as printed: the nominal one, or its band where only a range is known."""
    if result.value is None:
        return format_band(result.low, result.high, result.unit)
    return format_value(result.value, result.unit)


def band(result: Result) -> str:
    """The band as printed; "" where it is no wider than the print of the value."""
    text = format_band(result.low, result.high, result.unit)
    return "" if text == shown(result) else text


def cuts_view(block: Block) -> Cuts:
    """The cut points of a block."""
    cuts: dict[str, dict[str, Result]] = {}
    for result in block.values.values():
        cut, dot, name = result.name.rpartition(".")
        if dot:
            cuts.setdefault(cut, {})[name] = result
    names = list(dict.fromkeys(name for found in cuts.values() for name in found))
    return Cuts(
        tuple(map(value_name, names)),
        tuple(
            (
                cut,
                tuple(
                    CutCell(value_name(name), value_view(found[name]) if name in found else None)
                    for name in names
                ),
            )
            for cut, found in cuts.items()
        ),
    )


def value_text(result: Result, form: str) -> str:
    """A value as the prose asks for it: "" its print, "band" its band, "working" the formula with its numbers."""
    return {
        "": shown(result),
        "band": band(result) or shown(result),
        "working": words(result.working) or localized(result.formula),
    }[form]


def value_view(result: Result) -> ValueView:
    """A computed value with its band, working and source."""
    definition = result.definition
    return ValueView(
        name=result.name,
        called=value_name(result.name),
        what=in_words(_(definition.what)) if definition else "",
        value=shown(result),
        band=band(result),
        formula=localized(result.formula),
        working=_telling(words(result.working) or localized(result.formula)),
        source=in_words(_(definition.source)) if definition else "",
        at=in_words(_(definition.at)) if definition else "",
        hazard=definition.hazard if definition else "",
    )


def _together(checks: Iterable[CheckView]) -> list[CheckView]:
    """Checks that say the same of several parts, as of two equal resistors in series, in one row."""
    found: dict[tuple[str, str, str], CheckView] = {}
    for check in checks:
        key = (check.what, check.verdict, check.margin)
        same = found.get(key)
        if same is None:
            found[key] = check
        elif check.parts[0] not in same.parts:
            found[key] = replace(same, parts=same.parts + check.parts)
    return list(found.values())


def _telling(working: str) -> str:
    """A working that says more than the value beside it; "" for "5.1 V = 5.10 V"."""
    return "" if _VALUE_ALONE.fullmatch(working) else working


def check_view(check: Check) -> CheckView:
    """A rating check with its verdict and margin."""
    verdict = "remark" if check.remark else "holds" if check.ok else "fails"
    close = not check.remark and (
        not check.ok or (check.margin is not None and check.margin < LITTLE_IN_HAND)
    )
    return CheckView((_(check.part),), _(check.what), verdict, margin_text(check), close)


def failure_view(block: Block, failure: Failure, told: Collection[str] = ()) -> FailureView:
    """A failure with the values that then read otherwise than on a sound block: MOST_CHANGES of them, those that the
    page speaks of first."""
    changes = []
    for name, result in block.read_under(failure).items():
        sound = block.values.get(name)
        if sound is None or shown(result) != shown(sound):
            changes.append(Change(name, value_name(name), shown(result)))
    if len(changes) > MOST_CHANGES:
        kept = sorted(changes, key=lambda change: change.name not in told)[:MOST_CHANGES]
        changes = [change for change in changes if change in kept]
    return FailureView(
        _(failure.part), failure_name(failure.failed), _(failure.remark), failure.dangerous, tuple(changes)
    )
