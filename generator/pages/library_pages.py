"""The pages of a library as a whole: home, groups of notes, kinds of block, what it says of itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from generator.circuit import catalogue
from generator.circuit.block import Kind
from generator.finding.causes import count_causes
from generator.finding.entry import Entry, newest_first
from generator.finding.index import index_of
from generator.finding.thesaurus import Thesaurus
from generator.language import _
from generator.notes.config import Config
from generator.notes.standard import OUTCOMES
from generator.pages.catalogue import GROUPS, kind_drawing, kind_view
from generator.pages.groups import FOLDERS, Group, Groups
from generator.pages.site_pages import Page, card, causes_view, origin_view, render_page, templated
from generator.pages.statisticsview import statistics_view
from generator.pages.theme import Theme
from generator.pages.writing import writing_view

LATEST = 12
LISTED = 200  # notes on a page of a group; the search finds the others


@dataclass(frozen=True)
class RowsBeside:
    """The rows of collections that belong to a group of notes. address: of their list; stamp: changes with any of them."""

    address: str
    entries: list[Entry]
    stamp: str


def library_pages(
    theme: Theme,
    config: Config,
    entries: list[Entry],
    groups: Groups,
    stamp: str,
    rows: Mapping[str, RowsBeside],
    all_rows: int,
    numbers: Mapping[str, int],
    pools: Sequence[Config],
) -> Iterable[Page]:
    """All pages but those of the notes. entries: in the order of their numbers. stamp: changes with the search's files,
    so that no browser uses old ones. rows: address of a group's page -> the rows of collections that belong to it;
    all_rows: how many there are; numbers: slug -> number of each note; pools: the settings of pooled libraries."""
    yield _home(theme, config, entries, groups, stamp, all_rows, numbers)
    for sort, found in (("symptom", groups.symptoms), ("device", groups.devices), ("part", groups.parts)):
        path, listed = f"{FOLDERS[sort]}/index.html", [_group(group) for group in found]
        yield templated(theme, config, path, "groups.html", sort=sort, groups=listed)
        for group in found:
            yield _group_page(theme, config, group, rows.get(group.address))
    yield from _kind_pages(theme, config, groups)
    for name in ("about", "safety", "404"):
        yield templated(
            theme, config, f"{name}.html", f"{name}.html", notes=len(entries), cautions=_cautions(),
            pools=[origin_view(pool) for pool in pools],
        )  # fmt: skip


def find_files(entries: Iterable[Entry], thesaurus: Thesaurus) -> dict[str, bytes]:
    """The files of the search by path."""
    return {f"find/{name}": data for name, data in index_of(entries, thesaurus).shards().items()}


def _home(
    theme: Theme,
    config: Config,
    entries: list[Entry],
    groups: Groups,
    stamp: str,
    all_rows: int,
    numbers: Mapping[str, int],
) -> Page:
    newest = newest_first(entries)[:LATEST]
    return templated(
        theme, config, "index.html", "home.html",
        stamp=stamp,
        notes=len(entries),
        rows=all_rows,
        latest=[card(e, numbers[e.record.slug]) for e in newest],
        outcome_names={outcome: _(outcome) for outcome in OUTCOMES},
        block_names={kind.name: _(kind.title) for kind in catalogue.all_kinds() if kind.name in groups.blocks},
        kinds=[g.title for g in groups.devices],
        symptoms=_most(groups.symptoms),
        devices=_most(groups.devices),
        examples=[group["title"] for group in sorted(_most(groups.symptoms, 3), key=lambda g: len(g["title"]))],
    )  # fmt: skip


def _most(groups: list[Group], most: int = 24) -> list[dict[str, Any]]:
    chosen = sorted(groups, key=lambda g: (-len(g.entries), g.title))[:most]
    return [_group(g) for g in sorted(chosen, key=lambda g: g.title.casefold())]


def _group(group: Group) -> dict[str, Any]:
    notes, also = len(group.entries), group.also[:12]
    return {"title": group.title, "address": group.address, "notes": notes, "also": also}


def _group_page(theme: Theme, config: Config, group: Group, rows: RowsBeside | None) -> Page:
    made_from = [group.sort, _group(group), [[e.shown, *e.causes] for e in group.entries]]
    made_from.append(rows.stamp if rows else "")
    return Page(group.address, made_from, partial(_make_group_page, theme, config, group, rows))


def _make_group_page(theme: Theme, config: Config, group: Group, rows: RowsBeside | None) -> bytes:
    every = [*group.entries, *(rows.entries if rows else ())]
    context = {
        "rows": {"count": len(rows.entries), "address": rows.address} if rows else None,
        "statistics": statistics_view(entry.record for entry in every) if group.sort != "symptom" else None,
        "sort": group.sort,
        "group": _group(group),
        **_listed(group.entries),
        "causes": causes_view(count_causes(group.entries)),
    }
    return render_page(theme, config, group.address, "group.html", context)


def _listed(entries: list[Entry]) -> dict[str, Any]:
    """The first notes of a list as cards, and how many more there are."""
    return {"notes": [card(e, 0) for e in entries[:LISTED]], "more": max(0, len(entries) - LISTED)}


def _kind_pages(theme: Theme, config: Config, groups: Groups) -> Iterable[Page]:
    from generator.notation.marking_page import tables
    from generator.notation.marking_tables import COLOURS as COLOURS_OF_PARTS

    kinds = catalogue.all_kinds()
    by_group = [
        {"title": name, "kinds": [{"name": k.name, "title": _(k.title), "what": _(k.what), "notes": len(groups.blocks.get(k.name, []))} for k in kinds if k.group == name]}
        for name in GROUPS
    ]  # fmt: skip
    yield templated(theme, config, "blocks/index.html", "kinds.html", groups=by_group)
    for kind in kinds:
        found = groups.blocks.get(kind.name, [])
        made_from = [kind.name, len(found), [e.shown for e in found[:LISTED]]]
        yield Page(f"blocks/{kind.name}.html", made_from, partial(_kind_page, theme, config, kind, found))
        drawn = partial(_kind_drawing, theme, config, kind)
        yield Page(f"blocks/{kind.name}.svg", [kind.name, "drawing"], drawn)
    yield templated(
        theme, config, "blocks/marking.html", "marking.html", tables=tables(), colours=list(COLOURS_OF_PARTS)
    )
    yield templated(theme, config, "writing.html", "writing.html", **writing_view())


def _kind_drawing(theme: Theme, config: Config, kind: Kind) -> bytes:
    return theme.render("drawing.svg", drawing=kind_drawing(kind, config.symbols != "IEC")).encode()


def _kind_page(theme: Theme, config: Config, kind: Kind, found: list[Entry]) -> bytes:
    view = {"kind": kind_view(kind, config.symbols != "IEC"), **_listed(found)}
    return render_page(theme, config, f"blocks/{kind.name}.html", "kind.html", view)


def _cautions() -> list[dict[str, str]]:
    from generator.diagnosis.cautions import CAUTIONS

    return [{"key": c.key, "title": c.title, "words": c.words} for c in CAUTIONS.values()]
