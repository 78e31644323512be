"""notes.json: every note of a site, for other sites to read."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

from generator.finding.entry import Entry
from generator.finding.record import Record
from generator.notes.config import Config
from generator.pages.machines import address_of
from generator.pages.site_pages import Page, note_path

PATH = "notes.json"
FORMAT = 1  # to be raised where a key changes its meaning or goes


def notes_json(entries: Sequence[Entry], numbers: Mapping[str, int], configs: Mapping[str, Config]) -> Page:
    """The list of all notes. configs: the settings of each library by its name in the pool, "" that of the site's own."""
    origins = [[name, c.name, c.group, c.country, c.licence, c.language] for name, c in configs.items()]
    made_from = ["notes.json", origins, [[numbers[entry.record.slug], entry.shown] for entry in entries]]
    return Page(PATH, made_from, partial(_make, entries, numbers, configs))


def _make(entries: Sequence[Entry], numbers: Mapping[str, int], configs: Mapping[str, Config]) -> bytes:
    notes = [_note(entry.record, numbers[entry.record.slug], configs) for entry in entries]
    data = {"format": FORMAT, "name": configs[""].name, "notes": notes}
    return (json.dumps(data, ensure_ascii=False, sort_keys=True, indent=1) + "\n").encode()


def _note(record: Record, number: int, configs: Mapping[str, Config]) -> dict[str, Any]:
    """address: the published one, else the way from this file."""
    pool = record.slug.rpartition("/")[0]
    config, path = configs[pool], note_path(record.slug)
    return {
        "slug": record.slug,
        "address": address_of(configs[""], path) or path,
        "number": number,
        "title": record.title,
        "date": record.date,
        "device": {"kind": record.device_kind, "category": record.category, "make": record.make, "model": record.model},
        "symptoms": list(record.symptoms),
        "causes": list(record.cause_labels()),
        "outcome": record.outcome,
        "language": config.language,
        "licence": config.licence,
        "origin": {"as": pool, "name": config.name, "group": config.group, "country": config.country},
    }  # fmt: skip
