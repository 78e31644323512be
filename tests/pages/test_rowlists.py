"""Long lists of rows over several pages: every row on one page, counted on from the page before."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from generator.pages import rowgroups, rowlists
from generator.pages.rowgroups import RowList, page_address


@pytest.mark.parametrize("rows", [1, 3, 4, 8, 9])
def test_pages_of_a_list_hold_every_row_once(rows: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three lines a page: the first line of a page goes on from the last of the page before; addresses lead to each page."""
    for module in (rowgroups, rowlists):
        monkeypatch.setattr(module, "LINES", 3)
    monkeypatch.setattr(rowlists, "_line", lambda record: record)
    monkeypatch.setattr(rowlists, "_statistics", lambda found: "statistics")
    monkeypatch.setattr(
        rowlists, "render_page", lambda theme, config, path, template, context: {**context, "path": path}
    )
    found = RowList("Kettles", "kettle", "kettles", [SimpleNamespace(record=n) for n in range(1, rows + 1)])  # type: ignore[misc]
    pages: list[Any] = [
        rowlists._list_page(None, None, found, n, page_address("kettles", n))  # type: ignore[arg-type]
        for n in range(found.pages)
    ]
    assert [number for page in pages for number in page["rows"]] == list(range(1, rows + 1))
    assert [page["first"] for page in pages] == [page["rows"][0] for page in pages]
    assert all(len(page["rows"]) == 3 for page in pages[:-1]) and 1 <= len(pages[-1]["rows"]) <= 3
    assert [page["page"] for page in pages] == list(range(1, len(pages) + 1))
    assert all(page["pages"] == [other["path"] for other in pages] and page["all"] == rows for page in pages)
    assert [bool(page["statistics"]) for page in pages] == [True] + [False] * (len(pages) - 1)
