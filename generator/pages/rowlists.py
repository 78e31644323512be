"""The lists of rows of collections, at most so many lines on a page, and what the pages of groups say of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from typing import Any

from generator.finding.record import Record
from generator.notes.config import Config
from generator.pages.library_pages import RowsBeside
from generator.pages.rowgroups import FOLDER, LINES, RowList, page_address
from generator.pages.site_pages import Page, render_page, templated
from generator.pages.statisticsview import statistics_view
from generator.pages.theme import Theme


def beside_groups(lists: dict[str, RowList], stamp: str) -> dict[str, RowsBeside]:
    """What the page of each group says of its rows."""
    return {address: RowsBeside(found.address, found.entries, stamp) for address, found in lists.items()}


def row_pages(
    theme: Theme, config: Config, categories: list[RowList], lists: Iterable[RowList], stamp: str
) -> Iterator[Page]:
    """The pages of all lists, and the one that leads to the categories. stamp: changes with any row."""
    if not categories:
        return
    every = [row.record for category in categories for row in category.entries]
    views = [
        {"title": c.title, "address": c.address, "rows": len(c.entries), "statistics": _statistics(c)}
        for c in categories
    ]
    yield templated(
        theme, config, f"{FOLDER}/index.html", "records.html",
        categories=views, rows=len(every), providers=_providers(every),
    )  # fmt: skip
    for found in (*categories, *lists):
        for page in range(found.pages):
            made_from = ["rows", stamp, found.title, page]
            path = page_address(found.folder, page)
            yield Page(path, made_from, partial(_list_page, theme, config, found, page, path))


def _list_page(theme: Theme, config: Config, found: RowList, page: int, path: str) -> bytes:
    context: dict[str, Any] = {
        "title": found.title,
        "sort": found.sort,
        "rows": [_line(entry.record) for entry in found.entries[page * LINES : (page + 1) * LINES]],
        "all": len(found.entries),
        "first": page * LINES + 1,
        "page": page + 1,
        "pages": [page_address(found.folder, number) for number in range(found.pages)],
        "statistics": _statistics(found) if page == 0 else None,
    }
    return render_page(theme, config, path, "record_list.html", context)


def _line(record: Record) -> dict[str, Any]:
    """A row as its list shows it."""
    return {
        "id": record.slug,
        "date": record.date,
        "device": record.device_kind,
        "brand": record.make,
        "problem": " ".join(record.symptoms),
        "outcome": record.outcome,
        "barrier": record.barrier,
        "provider": record.source,
        "group": record.bench,
    }


def _statistics(found: RowList) -> dict[str, Any]:
    return statistics_view(entry.record for entry in found.entries)


def _providers(records: Iterable[Record]) -> list[str]:
    return sorted({record.source for record in records})
