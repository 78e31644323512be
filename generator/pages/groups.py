"""Notes that share a symptom, a kind of device, a failed part or a kind of block: an index page each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from generator.finding import words
from generator.finding.entry import Entry, newest_first
from generator.finding.record import Record
from generator.pages.slugs import slugify

FOLDERS = {"symptom": "symptoms", "device": "devices", "part": "parts", "block": "blocks"}


@dataclass
class Group:
    """The notes under one heading. also: other wordings that mean the same, commonest first."""

    sort: str
    slug: str
    title: str
    entries: list[Entry] = field(default_factory=list)
    also: list[str] = field(default_factory=list)

    @property
    def address(self) -> str:
        """Its page, from the root of the site."""
        return f"{FOLDERS[self.sort]}/{self.slug}.html"


@dataclass
class Groups:
    """All groups of a library, each sort by title; and the addresses of a note's own words."""

    symptoms: list[Group]
    devices: list[Group]
    parts: list[Group]
    blocks: dict[str, list[Entry]]  # kind of block -> notes


def symptom_slug(key: str) -> str:
    """The address of a symptom's page, from its key, which ~ marks as a symptom's."""
    return slugify(key.lstrip("~"))


def group_notes(entries: Iterable[Entry]) -> Groups:
    """Group the notes of a library, newest first in each group."""
    newest = newest_first(entries)
    return Groups(
        symptoms=_grouped(
            "symptom",
            newest,
            lambda e: [(symptom_slug(key), text) for key, text in zip(e.headings, e.record.symptoms) if key],
        ),
        devices=_grouped("device", newest, lambda e: [(slugify(e.record.device_kind), e.record.device_kind)]),
        parts=_grouped("part", newest, lambda e: [(slugify(n), n) for n in failed_parts(e.record)]),
        blocks=_by_block(newest),
    )


def failed_parts(record: Record) -> list[str]:
    """What failed, by what sort of part it is where that is known."""
    return list(dict.fromkeys(name for c in record.causes if (name := c.part_name or c.part)))


def _grouped(sort: str, entries: list[Entry], keys: Callable[[Entry], list[tuple[str, str]]]) -> list[Group]:
    groups: dict[str, Group] = {}
    said: dict[str, Counter[str]] = {}
    for entry in entries:
        seen: set[str] = set()
        for slug, text in keys(entry):
            group = groups.setdefault(slug, Group(sort, slug, ""))
            said.setdefault(slug, Counter())[text] += 1
            if slug not in seen:
                group.entries.append(entry)
                seen.add(slug)
    for slug, group in groups.items():
        wordings = sorted(said[slug], key=lambda text: (-said[slug][text], len(text), text))
        group.title, group.also = wordings[0], wordings[1:]
    return sorted(groups.values(), key=lambda g: (words.fold(g.title), g.slug))


def _by_block(entries: list[Entry]) -> dict[str, list[Entry]]:
    found: dict[str, list[Entry]] = {}
    for entry in entries:
        for kind in entry.record.block_kinds:
            found.setdefault(kind, []).append(entry)
    return found
