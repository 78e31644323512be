"""The pages of a site, put together from pieces and from what the library knows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import partial
from typing import Any

from generator.diagnosis.past import Rates, Shared
from generator.finding.causes import CauseCounts, Relations
from generator.finding.entry import Entry
from generator.finding.statistics import LEAST
from generator.language import _, decimal_mark
from generator.notes.config import Config
from generator.pages import groups as grouping
from generator.pages.citing import ROOT
from generator.pages.machines import address_of, head
from generator.pages.notepage import NUMBER, PAST
from generator.pages.pastview import moved
from generator.pages.qr import qr_code
from generator.pages.slugs import slugify
from generator.pages.theme import Theme

MOST_NEAR = 3  # notes of one likeness at the foot of a note, a row of a large screen
# IEC 60062
COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")

# What the bands look like where a drawing stands alone; on a page the theme has its own.
PAINT = {
    "black": "#0c0c0d", "brown": "#74421a", "red": "#c51f1d", "orange": "#ef7f12", "yellow": "#f5d81c",
    "green": "#23873a", "blue": "#1e57b8", "violet": "#7c3aa9", "grey": "#8d8d8d", "white": "#ffffff",
}  # fmt: skip


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


def render_page(
    theme: Theme, config: Config, path: str, template: str, context: dict[str, Any], of: Config | None = None
) -> bytes:
    """A page; every one knows the library and the way back to the root. of: whose it is, where that is another library."""
    root = "../" * path.count("/")
    return theme.render(
        template,
        library=library_view(config),
        root=root,
        path=path,
        own=theme.hooks,
        decimal_mark=decimal_mark(),
        machine=head(of or config, path, context.get("note")),
        **context,
    ).encode()


def library_view(config: Config) -> dict[str, str]:
    """What every page says of the library."""
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


@dataclass(frozen=True)
class Beside:
    """What a note's page shows beside the note itself: its number in the library, its own entry, the notes near it."""

    entry: Entry
    number: int
    near: tuple[tuple[str, tuple[Entry, ...]], ...]
    past: Rates

    def made_from(self) -> list[Any]:
        """Changes with anything that context() gives."""
        entry = self.entry
        return [
            self.number,
            entry.shown,
            entry.headings,
            [[title, [e.shown for e in found]] for title, found in self.near],
            sorted(self.past.rates.items()),
        ]

    def context(self) -> dict[str, Any]:
        record = self.entry.record
        return {
            "number": self.number,
            "digits": number_digits(self.number),
            "band_words": ", ".join(_(band) for band in number_bands(self.number)),
            "bands": number_bands(self.number),
            "symptom_links": [
                {"text": text, "slug": grouping.symptom_slug(key) if key else ""}
                for text, key in zip(record.symptoms, self.entry.headings)
            ],
            "past": asdict(self.past),
            "device_slug": slugify(record.device_kind),
            "near": [{"title": title, "notes": [card(e, 0) for e in found]} for title, found in self.near],
        }


def beside(entry: Entry, number: int, relations: Relations, past: Rates) -> Beside:
    """What stands beside a note, in this library; each note once, where it is most like this one."""
    near = relations.of(entry, MOST_NEAR)
    lists = (
        ("same failed part", near.same_part),
        ("same symptom", near.same_symptom),
        ("nearest circuit", near.nearest_circuit),
    )
    shown: set[str] = set()
    told = []
    for title, notes in lists:
        found = tuple(note for note in notes if note.record.slug not in shown)
        shown.update(note.record.slug for note in found)
        if found:
            told.append((title, found))
    return Beside(entry, number, tuple(told), past)


def note_path(slug: str) -> str:
    """A note's page, from the root of the site."""
    return f"notes/{slug}/index.html"


def note_files(
    theme: Theme,
    config: Config,
    slug: str,
    pieces: dict[str, Any],
    context: dict[str, Any],
    of: Config | None,
) -> dict[str, bytes]:
    """All files of a note but its data, by path: its page, its icon, and the drawing that stands for it in lists.

    of: the settings of its library, where that is a pooled one.
    """
    path = note_path(slug)
    moves = moved([Shared(**fit) for fit in pieces["fits"]], context["past"]["rates"])
    past = theme.render("_past.html", moved=moves, faults=context["past"]["faults"])
    job = pieces["job"].replace(NUMBER, context["digits"]).replace(ROOT, "../" * path.count("/"))
    job = job.replace(PAST, past.strip())
    given = {"note": pieces, "job": job, "code": qr_code(address_of(config, path)), **context}
    given |= {"origin": origin_view(of) if of else None}
    found = {path: render_page(theme, config, path, "note.html", given, of)}
    colours = [PAINT[band] for band in context["bands"]]
    own = of or config
    head = f"{own.name}  ·  {_('No.')} {context['digits']}  ·  {pieces['title']}"
    licence = f"{_('Licence')}: {own.licence}" if own.licence else ""
    foot = "  ·  ".join(
        filter(
            None,
            (own.group, licence, _("Local codes and licensed practice come before anything written here.")),
        )
    )
    found[paper_path(slug)] = theme.render("paper.css", head=head, foot=foot).encode()
    found[icon_path(slug)] = theme.render("icon.svg", colours=colours).encode()
    # what has no circuit goes by its number, so that a list can ask for a picture of any note
    drawn = (
        theme.render("drawing.svg", drawing=pieces["chief"]).encode()
        if pieces["chief"]
        else found[icon_path(slug)]
    )
    found[drawing_path(slug)] = drawn
    return found


def origin_view(config: Config) -> dict[str, str]:
    """Whose a pooled note is."""
    return {"name": config.name, "group": config.group, "country": config.country, "licence": config.licence}


def paper_path(slug: str) -> str:
    """What a note's pages of paper carry at their head, from the root of the site."""
    return f"notes/{slug}/paper.css"


def icon_path(slug: str) -> str:
    """The picture of a note's number for the browser's tab, from the root of the site."""
    return f"notes/{slug}/icon.svg"


def drawing_path(slug: str) -> str:
    """The drawing that stands for a note in lists, from the root of the site."""
    return f"notes/{slug}/drawing.svg"


def card(entry: Entry, number: int) -> dict[str, Any]:
    """A note in a list. number: in the library, 0 where the list does not show it."""
    record = entry.record
    return {
        "bands": number_bands(number) if number else [],
        "digits": number_digits(number) if number else "",
        "drawing": drawing_path(record.slug) if record.block_kinds else "",
        "slug": record.slug,
        "title": record.title,
        "date": record.date,
        "device": record.device_kind,
        "symptoms": list(record.symptoms),
        "causes": list(record.cause_labels()),
        "outcome": record.outcome,
        "origin": record.origin,
    }


def causes_view(counts: CauseCounts) -> dict[str, Any]:
    """Causes as bars, in per cent of the notes whose cause is known; of fewer than LEAST the counts alone."""
    return {
        "notes": counts.notes,
        "known": counts.known,
        "shares": counts.known >= LEAST,
        "causes": [
            {"cause": c.cause, "notes": c.notes, "share": round(100 * c.share), "found_by": c.found_by}
            for c in counts.causes
        ],
    }
