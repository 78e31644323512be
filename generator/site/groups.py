"""Notes that share a symptom, a kind of device, a failed part or a kind of block: an index page each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from generator.finding import words
from generator.finding.record import Record
from generator.finding.thesaurus import Thesaurus
from generator.site.slugs import slugify

FOLDERS = {"symptom": "symptoms", "device": "devices", "part": "parts", "block": "blocks"}


@dataclass
class Group:
    """The notes under one heading. also: other wordings that mean the same, commonest first."""

    sort: str
    slug: str
    title: str
    records: list[Record] = field(default_factory=list)
    also: list[str] = field(default_factory=list)

    @property
    def address(self) -> str:
        return f"{FOLDERS[self.sort]}/{self.slug}.html"


@dataclass
class Groups:
    """All groups of a library, each sort by title; and the addresses of a note's own words."""

    symptoms: list[Group]
    devices: list[Group]
    parts: list[Group]
    blocks: dict[str, list[Record]]  # kind of block -> notes


def symptom_key(text: str, thesaurus: Thesaurus) -> str:
    """What an owner's sentence says the thing does: the symptom of the thesaurus that takes the most of its words to
    name, else its own words in order; "" where it has none. One only, so that no index shows a wording twice.
    """
    if text in thesaurus.remembered:
        return thesaurus.remembered[text]
    best, most = "", (0, 0)
    for clause in words.clauses(text):
        content = thesaurus.content(clause)
        for name in thesaurus.named(content):
            # of two phrases of one length the one that names the symptom in its own words is nearer
            size = (thesaurus.longest(name, content), len(set(symptom_slug(name).split("-")) & set(content)))
            if name.startswith("~") and size > most:
                best, most = name, size
    found = best or " ".join(thesaurus.content(words.tokens(text))) or " ".join(words.tokens(text))
    thesaurus.remembered[text] = found
    return found


def symptom_slug(key: str) -> str:
    return slugify(key.lstrip("~"))


def device_slug(kind: str) -> str:
    return slugify(kind)


def part_slug(name: str) -> str:
    return slugify(name)


def group_notes(records: Iterable[Record], thesaurus: Thesaurus) -> Groups:
    """Group the notes of a library, newest first in each group."""
    newest = sorted(records, key=lambda r: r.slug)
    newest.sort(key=lambda r: r.date, reverse=True)
    return Groups(
        symptoms=_grouped("symptom", newest, lambda r: [(symptom_slug(key), text) for text in r.symptoms if (key := symptom_key(text, thesaurus))]),
        devices=_grouped("device", newest, lambda r: [(device_slug(r.device_kind), r.device_kind)]),
        parts=_grouped("part", newest, lambda r: [(part_slug(n), n) for n in failed_parts(r)]),
        blocks=_by_block(newest),
    )


def failed_parts(record: Record) -> list[str]:
    """What failed, by what sort of part it is where that is known."""
    return list(dict.fromkeys(name for c in record.causes if (name := c.part_name or c.part)))


def _grouped(sort: str, records: list[Record], keys: Callable[[Record], list[tuple[str, str]]]) -> list[Group]:
    groups: dict[str, Group] = {}
    said: dict[str, Counter[str]] = {}
    for record in records:
        seen: set[str] = set()
        for slug, text in keys(record):
            group = groups.setdefault(slug, Group(sort, slug, ""))
            said.setdefault(slug, Counter())[text] += 1
            if slug not in seen:
                group.records.append(record)
                seen.add(slug)
    for slug, group in groups.items():
        wordings = sorted(said[slug], key=lambda text: (-said[slug][text], len(text), text))
        group.title, group.also = wordings[0], wordings[1:]
    return sorted(groups.values(), key=lambda g: (words.fold(g.title), g.slug))


def _by_block(records: list[Record]) -> dict[str, list[Record]]:
    found: dict[str, list[Record]] = {}
    for record in records:
        for kind in record.block_kinds:
            found.setdefault(kind, []).append(record)
    return found
