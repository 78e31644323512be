"""The pages of a site, put together from pieces and from what the library knows."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import Any

from generator.circuit import catalogue
from generator.circuit.block import Kind
from generator.finding.causes import CauseCounts, Relations, count_causes
from generator.finding.index import build_index
from generator.finding.record import Record
from generator.finding.thesaurus import Thesaurus
from generator.language import _, decimal_mark
from generator.notes.config import Config
from generator.notes.standard import OUTCOMES
from generator.site import groups as grouping
from generator.site.catalogue import GROUPS, kind_view
from generator.site.groups import FOLDERS, Group, Groups
from generator.site.machines import head
from generator.site.theme import Theme

LATEST = 12
LISTED = 200  # notes on a page of a group; the search finds the others
COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")  # IEC 60062


@dataclass(frozen=True)
class Page:
    """A file of the site: its path from the root, with forward slashes; what it is made from; how it is made.

    made_from is plain data: as long as it is the same (and program, theme and settings are), so is the file.
    """

    path: str
    made_from: Any
    make: Callable[[], bytes]


def templated(theme: Theme, config: Config, path: str, template: str, **context: Any) -> Page:
    """A page made with a template from plain data."""
    return Page(path, [template, context], partial(render_page, theme, config, path, template, context))


def render_page(theme: Theme, config: Config, path: str, template: str, context: dict[str, Any]) -> bytes:
    """A page; every one knows the library and the way back to the root."""
    root = "../" * path.count("/")
    return theme.render(
        template, library=library_view(config), root=root, path=path, own=theme.hooks, decimal_mark=decimal_mark(),
        machine=head(config, path, context.get("note")), **context
    ).encode()


def library_view(config: Config) -> dict[str, str]:
    return {
        "name": config.name, "language": config.language, "group": config.group, "licence": config.licence,
        "address": config.address, "about": config.about, "country": config.country,
    }  # fmt: skip


def number_bands(number: int) -> list[str]:
    """A number as colour bands, a digit each, as IEC 60062 has them."""
    return [COLOURS[int(digit)] for digit in number_digits(number)]


def number_digits(number: int) -> str:
    """A number as a ticket shows it: three digits at the least."""
    return f"{number:03d}"


def note_context(record: Record, number: int, relations: Relations, thesaurus: Thesaurus) -> dict[str, Any]:
    """What a note's page shows beside the note itself: its number, its links into the library, the notes near it."""
    near = relations.of(record)
    return {
        "number": number,
        "digits": number_digits(number),
        "band_words": ", ".join(_(band) for band in number_bands(number)),
        "bands": number_bands(number),
        "symptom_links": [
            {"text": text, "slug": grouping.symptom_slug(key) if (key := grouping.symptom_key(text, thesaurus)) else ""}
            for text in record.symptoms
        ],
        "device_slug": grouping.device_slug(record.device_kind),
        "part_slugs": [grouping.part_slug(c.part_name or c.part) if (c.part_name or c.part) else "" for c in record.causes],
        "cause_labels": [c.label() for c in record.causes],
        "near": [
            {"title": title, "notes": [card(r) for r in found]}
            for title, found in (
                ("same symptom", near.same_symptom), ("same failed part", near.same_part), ("nearest circuit", near.nearest_circuit),
            )
            if found
        ],
    }  # fmt: skip


def note_path(slug: str) -> str:
    return f"notes/{slug}/index.html"


def card(record: Record) -> dict[str, Any]:
    """A note in a list."""
    return {
        "slug": record.slug,
        "title": record.title,
        "date": record.date,
        "device": record.device_kind,
        "symptoms": list(record.symptoms),
        "causes": list(record.cause_labels()),
        "outcome": record.outcome,
    }


def causes_view(counts: CauseCounts) -> dict[str, Any]:
    """Causes as bars, in per cent of the notes whose cause is known."""
    return {
        "notes": counts.notes,
        "known": counts.known,
        "causes": [
            {"cause": c.cause, "notes": c.notes, "share": round(100 * c.share), "found_by": c.found_by} for c in counts.causes
        ],
    }


def library_pages(theme: Theme, config: Config, records: list[Record], thesaurus: Thesaurus, stamp: str) -> Iterable[Page]:
    """All pages but those of the notes. stamp: changes with the search's files, so that no browser uses old ones."""
    groups = grouping.group_notes(records, thesaurus)
    yield _home(theme, config, records, groups, thesaurus, stamp)
    for sort, found in (("symptom", groups.symptoms), ("device", groups.devices), ("part", groups.parts)):
        yield templated(theme, config, f"{FOLDERS[sort]}/index.html", "groups.html", sort=sort, groups=[_group(g) for g in found])
        for group in found:
            yield _group_page(theme, config, group, thesaurus)
    yield from _kind_pages(theme, config, groups, thesaurus)
    for name in ("about", "safety", "404"):
        yield templated(theme, config, f"{name}.html", f"{name}.html", notes=len(records), cautions=_cautions())


def find_files(records: list[Record], thesaurus: Thesaurus) -> dict[str, bytes]:
    """The files of the search by path."""
    return {f"find/{name}": data for name, data in build_index(records, thesaurus).shards().items()}


def _home(theme: Theme, config: Config, records: list[Record], groups: Groups, thesaurus: Thesaurus, stamp: str) -> Page:
    newest = sorted(sorted(records, key=lambda r: r.slug), key=lambda r: r.date, reverse=True)[:LATEST]
    return templated(
        theme, config, "index.html", "home.html",
        stamp=stamp,
        notes=len(records),
        latest=[card(r) for r in newest],
        outcome_names={outcome: _(outcome) for outcome in OUTCOMES},
        block_names={kind.name: _(kind.title) for kind in catalogue.all_kinds() if kind.name in groups.blocks},
        kinds=[g.title for g in groups.devices],
        symptoms=_most(groups.symptoms),
        devices=_most(groups.devices),
    )  # fmt: skip


def _most(groups: list[Group], most: int = 24) -> list[dict[str, Any]]:
    chosen = sorted(groups, key=lambda g: (-len(g.records), g.title))[:most]
    return [_group(g) for g in sorted(chosen, key=lambda g: g.title.casefold())]


def _group(group: Group) -> dict[str, Any]:
    return {"title": group.title, "address": group.address, "notes": len(group.records), "also": group.also[:12]}


def _group_page(theme: Theme, config: Config, group: Group, thesaurus: Thesaurus) -> Page:
    return templated(
        theme, config, group.address, "group.html",
        sort=group.sort, group=_group(group), notes=[card(r) for r in group.records[:LISTED]], more=max(0, len(group.records) - LISTED),
        causes=causes_view(count_causes(group.records, thesaurus)),
    )  # fmt: skip


def _kind_pages(theme: Theme, config: Config, groups: Groups, thesaurus: Thesaurus) -> Iterable[Page]:
    from generator.circuit import marking

    kinds = catalogue.all_kinds()
    by_group = [
        {"title": name, "kinds": [{"name": k.name, "title": _(k.title), "what": _(k.what), "notes": len(groups.blocks.get(k.name, []))} for k in kinds if k.group == name]}
        for name in GROUPS
    ]  # fmt: skip
    yield templated(theme, config, "blocks/index.html", "kinds.html", groups=by_group)
    for kind in kinds:
        found = groups.blocks.get(kind.name, [])
        context = {"notes": [card(r) for r in found[:LISTED]], "more": max(0, len(found) - LISTED)}
        yield Page(f"blocks/{kind.name}.html", [kind.name, context], partial(_kind_page, theme, config, kind, context))
    yield templated(theme, config, "blocks/marking.html", "marking.html", tables=marking.tables())


def _kind_page(theme: Theme, config: Config, kind: Kind, context: dict[str, Any]) -> bytes:
    view = kind_view(kind, config.symbols != "IEC")
    return render_page(theme, config, f"blocks/{kind.name}.html", "kind.html", {"kind": view, **context})


def _cautions() -> list[dict[str, str]]:
    from generator.diagnosis.cautions import CAUTIONS

    return [{"key": c.key, "title": c.title, "words": c.words} for c in CAUTIONS.values()]
