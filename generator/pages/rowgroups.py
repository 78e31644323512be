"""Rows of collections in groups: by category, by kind of device, by symptom, each in the order of its list."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from generator.finding.entry import Entry
from generator.pages.groups import FOLDERS, Group, symptom_slug
from generator.pages.slugs import slugify

FOLDER = "records"
LINES = 200  # on a page


@dataclass(frozen=True)
class RowList:
    """Rows under one heading, newest first. folder: of its pages, from the root of the site."""

    title: str
    sort: str
    folder: str
    entries: list[Entry]

    @property
    def address(self) -> str:
        """Its first page."""
        return page_address(self.folder, 0)

    @property
    def pages(self) -> int:
        return -(-len(self.entries) // LINES)


def page_address(folder: str, page: int) -> str:
    """The address of a page of a list, counted from 0."""
    return f"{folder}/{page + 1 if page else 'index'}.html"


def addressed(entries: Iterable[Entry]) -> list[Entry]:
    """The same rows by category, newest first, each with the place where it stands."""
    found = []
    for category in by_category(entries):
        for place, entry in enumerate(category.entries):
            where = f"{page_address(category.folder, place // LINES)}#{entry.record.slug}"
            found.append(replace(entry, record=replace(entry.record, address=where)))
    return found


def by_category(entries: Iterable[Entry]) -> list[RowList]:
    """A list for each category of the standard that has rows."""
    held: dict[str, list[Entry]] = {}
    for entry in entries:
        held.setdefault(entry.record.category, []).append(entry)
    return [
        RowList(title, "category", f"{FOLDER}/{slugify(title)}", _newest(held[title]))
        for title in sorted(held)
    ]


def by_group(groups: Iterable[Group], rows: Iterable[Entry]) -> dict[str, RowList]:
    """Address of a group's page -> the rows that belong to it; of groups of devices or of symptoms."""
    wanted = {(group.sort, group.slug): group for group in groups}
    held: dict[tuple[str, str], list[Entry]] = {}
    for entry in rows:
        keys = [("device", slugify(entry.record.device_kind))]
        keys += [("symptom", symptom_slug(key)) for key in entry.headings if key]
        for key in keys:
            if key in wanted:
                held.setdefault(key, []).append(entry)
    return {
        wanted[key].address: RowList(
            wanted[key].title, key[0], f"{FOLDER}/{FOLDERS[key[0]]}/{key[1]}", _newest(mine)
        )
        for key, mine in held.items()
    }


def _newest(entries: list[Entry]) -> list[Entry]:
    entries = sorted(entries, key=lambda entry: entry.record.slug)
    return sorted(entries, key=lambda entry: entry.record.date, reverse=True)
