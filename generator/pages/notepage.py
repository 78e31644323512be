"""A note worked out: the pieces of its page, its record for the search, its problems.

Everything here depends on the note, its photos, the library's settings and the theme alone, so that it can be
kept by the hash of those. What depends on other notes is added when the page is put together.
"""

from __future__ import annotations

import html
import posixpath
from collections.abc import Callable, Collection
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from urllib.parse import quote

from generator.circuit.block import Block
from generator.circuit.circuit import possible_values
from generator.diagnosis.cautions import cautions_for
from generator.diagnosis.helper import helper_data
from generator.diagnosis.judge import Judgement, Taken, judge
from generator.diagnosis.proof import judge_proof, missing_proof
from generator.diagnosis.readings import Meter, read_accuracy
from generator.diagnosis.recorded import Doubt, doubts
from generator.drawing.frame import TitleBlock
from generator.finding.record import Record
from generator.language import _, day, failure_name, localized
from generator.notation.quantity import QuantityError, parse
from generator.notes.config import Config
from generator.notes.note import Note
from generator.pages.blockview import block_view, value_text
from generator.pages.boards import Words, board_html
from generator.pages.notedata import note_data
from generator.pages.readingview import judgement_view
from generator.pages.records import record_of
from generator.pages.theme import Theme
from generator.pages.typography import unbroken_html, with_signs
from generator.problems import HINT, WARNING, Problem
from generator.prose.markdown import Rendered, render
from generator.prose.photos import Photo, Refused, figure_html

PHOTOS = "../../photos/"  # from a note's page


@dataclass(frozen=True)
class Worked:
    """What a note came to. pieces: texts and markup for the template; photos: names of files in the cache."""

    slug: str
    record: Record
    pieces: dict[str, Any]
    problems: tuple[Problem, ...]
    photos: tuple[str, ...]


def work_note(
    note: Note,
    config: Config,
    theme: Theme,
    photo: Callable[[str], Photo | None],
    link: Callable[[Note, str], str | None],
    *,
    shown_as: str,
) -> Worked:
    """The pieces of a note's page. photo(name) is the photo of that name beside the note, or None, and raises Refused;
    link(note, path) is the address of another note or file, or None.
    """
    page = _Page(note, config, theme, photo, shown_as)
    meter = library_meter(config)
    judgement = judge(
        note.circuit,
        [Taken(r.block, r.value, r.read, r.accuracy, r.condition, r.note) for r in note.readings],
        meter,
    )
    doubted = doubts(note.faults, judgement)
    rendered = render(
        note.body, file=shown_as, body_line=note.body_line, expand=page, link=lambda path: link(note, path)
    )
    problems = [*rendered.problems, *page.boards_problems(), *_check_problems(note, shown_as)]
    problems += _reading_problems(note, shown_as, judgement, doubted)
    pieces = page.pieces(rendered, judgement, doubted)
    return Worked(note.slug, record_of(note, rendered.text), pieces, tuple(problems), tuple(page.photo_files))


class _Page:
    """One note's page in the making; what its prose asks for (see markdown.Expander)."""

    def __init__(
        self,
        note: Note,
        config: Config,
        theme: Theme,
        photo: Callable[[str], Photo | None],
        shown_as: str,
    ) -> None:
        self.note, self.config, self.theme, self.shown_as = note, config, theme, shown_as
        self._find_photo = photo
        self.blocks = note.circuit.blocks
        self.photo_files: dict[str, None] = {}
        self.picture = ""  # the first photo, for cards that link here
        self._sheets: dict[str, str] = {}

    # --- what the prose asks for ----------------------------------------------------------------------------------

    def value(self, block: str, value: str, form: str) -> str | None:
        if block not in self.blocks:
            return "?"  # the block is broken, which is told at the block
        result = self.blocks[block].values.get(value)
        if result is None:
            return None
        text = html.escape(value_text(result, form))
        sort = "computed working-out" if form == "working" else "computed"
        return f'<span class="{sort}" title="{html.escape(f"{block}.{value}")}">{text}</span>'

    def sheet(self, block: str) -> str | None:
        if block not in self.blocks:
            return "" if block in self.note.blocks else None
        if block not in self._sheets:
            view = block_view(
                self.blocks[block], self._title_block(self.blocks[block]), zigzag=self.config.symbols != "IEC"
            )
            view["number"] = list(self.blocks).index(block) + 1
            self._sheets[block] = self.theme.render("_sheet.html", sheet=view, root="../../")
        return self._sheets[block]

    def image(self, src: str, alt: str, title: str) -> str | None:
        photo = self._photo(src)
        return None if photo is None else figure_html(photo, alt, title or alt, PHOTOS)

    def names(self) -> dict[str, list[str]]:
        return {
            name: list(self.blocks[name].values) if name in self.blocks else possible_values(raw)
            for name, raw in self.note.blocks.items()
        }

    def designators(self) -> set[str]:
        return {part.designator for block in self.blocks.values() for part in block.parts if part.designator}

    def _photo(self, src: str) -> Photo | None:
        photo = self._find_photo(src)
        if photo is not None:
            self.photo_files.update(dict.fromkeys(photo.files))
            self.picture = self.picture or photo.sizes[-1].jpeg
        return photo

    def _title_block(self, block: Block) -> TitleBlock:
        names = list(self.blocks)
        return TitleBlock(
            title=block.name.replace("-", " "),
            kind=_(block.kind.title),
            owner=self.config.group or self.config.name,
            number=self.note.slug,
            sheet=f"{names.index(block.name) + 1}/{len(names)}",
            date=day(self.note.date.isoformat()),
            creator=self.note.author,
            key=f"sheet-{block.name}",
        )

    # --- the pieces -----------------------------------------------------------------------------------------------

    def pieces(self, rendered: Rendered, judgement: Judgement, doubted: list[Doubt]) -> dict[str, Any]:
        note = self.note
        rest = [name for name in self.blocks if name not in rendered.placed]
        device = note.device
        return {
            "slug": note.slug,
            "title": note.title,
            "date": note.date.isoformat(),
            "author": note.author,
            "bench": note.bench,
            "device": {
                "kind": device.kind, "category": device.category, "make": device.make, "model": device.model,
                "year": str(device.year or ""),
                "plate": [
                    {"name": name, "text": text}
                    for name, text in (
                        ("supply", device.plate.supply), ("power", device.plate.power), ("current", device.plate.current),
                        ("frequency", device.plate.frequency), ("class", device.plate.protection),
                    )
                    if text
                ],
            },
            "symptoms": list(note.symptoms),
            "outcome": note.outcome,
            "barrier": _(note.barrier),
            "faults": [
                {"part": f.part, "failed": failure_name(f.failed), "because": f.because, "found_by": f.found_by, "fix": f.fix,
                 "known": f.part in self.designators()}
                for f in note.faults
            ],
            "cautions": [{"key": c.key, "title": c.title, "words": c.words} for c in _cautions(note)],
            "readings": judgement_view(judgement, doubted, note.circuit),
            "helper": helper_data(note.circuit, library_meter(self.config)),
            "body": unbroken_html(rendered.html),
            "headings": [{"level": level, "id": anchor, "text": text} for level, anchor, text in rendered.headings],
            "rest": [self.sheet(name) for name in rest],
            "blocks": [{"name": name, "kind": b.kind.name, "title": _(b.kind.title)} for name, b in self.blocks.items()],
            "boards": self._boards(),
            "pictures": bool(self.photo_files),
            "signals": [{"shows": s.shows, "means": s.means, "clears": s.clears} for s in note.signals],
            "fitted": [{"part": f.part, "with": f.with_, "cost": _money(f.cost, self.config.currency),
                        "known": f.part in self.designators()} for f in note.fitted],
            "time": note.time,
            "proof": [
                {"test": _(p.test), "read": with_signs(p.read, ""), "note": p.note, "limit": p.limit, "source": p.source, "verdict": p.verdict}
                for p in judge_proof(note.proof, device.plate.protection)
            ],
            "missing_proof": missing_proof(note.proof, device.plate.protection, any(c.key == "mains" for c in _cautions(note)), note.outcome),
            "picture": self.picture,
            "data": note_data(note, judgement, self.config),
        }  # fmt: skip

    def _boards(self) -> list[str]:
        found = []
        for number, board in enumerate(self.note.boards):
            try:
                top, bottom = (self._photo(name) if name else None for name in (board.top, board.bottom))
                if top or bottom:
                    found.append(
                        board_html(
                            top,
                            bottom,
                            board.marks,
                            board.caption,
                            f"board-{number}",
                            base=PHOTOS,
                            words=_board_words(),
                        )
                    )
            except Refused:
                continue  # boards_problems says why
        return found

    def boards_problems(self) -> list[Problem]:
        """What is wrong with the photos of the note's boards."""
        problems = []
        for number, board in enumerate(self.note.boards):
            for side, name in (("top", board.top), ("bottom", board.bottom)):
                try:
                    if name and self._photo(name) is None:
                        problems.append(
                            self._at(("boards", number, side), f"no photo {name} lies beside the note")
                        )
                except Refused as refused:
                    problems.append(
                        self._at(("boards", number, side), f"{name} {refused.what}", refused.hint)
                    )
        return problems

    def _at(self, path: tuple[str | int, ...], what: str, hint: str = "", severity: str = "error") -> Problem:
        return problem_at(self.note, self.shown_as, path, what, hint, severity)


def _board_words() -> Words:
    return Words(
        _("Top side"), _("Bottom side"), _("Fade from the top to the bottom side"), _("Marked parts")
    )


def problem_at(
    note: Note, file: str, path: tuple[str | int, ...], what: str, hint: str = "", severity: str = "error"
) -> Problem:
    """A problem at a key of the front matter, or at the nearest key around it."""
    marks = note.marks
    return Problem(file, *marks.key(path), what, hint, severity)


def _check_problems(note: Note, file: str) -> list[Problem]:
    """Ratings that do not hold, and values in no series: shown by inspect, stopping nothing."""
    found = []
    for name, block in note.circuit.blocks.items():
        for check in block.checks:
            if check.ok and not check.remark:
                continue
            severity = HINT if check.ok else WARNING
            found.append(
                problem_at(
                    note, file, ("blocks", name), f"{name}: {_(check.part)}: {_(check.what)}", "", severity
                )
            )
    return found


def library_meter(config: Config) -> Meter:
    """The meter of the library: accuracy and input resistance."""
    return read_accuracy(config.meter.accuracy, Meter(input=parse(config.meter.input, "ohm").middle))


def _reading_problems(note: Note, file: str, judgement: Judgement, doubted: list[Doubt]) -> list[Problem]:
    """Readings that cannot be read, contradict one another, or do not bear out the recorded fault."""
    found = []
    for number, judged in enumerate(judgement.judged):
        if judged.trouble:
            found.append(problem_at(note, file, ("readings", number, "read"), judged.trouble, judged.hint))
    for spot in judgement.contradictory:
        number = max(n for n, r in enumerate(note.readings) if (r.block, r.value) == (spot.block, spot.value))
        what = f"{spot.block}.{spot.value} was read before with another result"
        found.append(problem_at(note, file, ("readings", number, "at"), what, "both are shown", WARNING))
    for doubt in doubted:
        what = f"the readings do not bear out {doubt.part} {doubt.failed}: {doubt.reason}"
        found.append(problem_at(note, file, ("faults", doubt.number), what, "", WARNING))
    return found


def _cautions(note: Note) -> list[Any]:
    device = note.device
    words = " ".join(
        (device.kind, device.category, *(f.part for f in note.faults), *(f.with_ for f in note.fitted))
    )
    return cautions_for(
        (b.cautions for b in note.circuit.blocks.values()), words, _volts(device.plate.supply)
    )


def _volts(text: str) -> float | None:
    try:
        return parse(text, "V").high if text else None
    except QuantityError:
        return None


def _money(cost: Decimal | None, currency: str) -> str:
    return "" if cost is None else localized(f"{cost} {currency}")


def relative_link(note: Note, path: str, slugs: Collection[str]) -> str | None:
    """Where a relative link of a note's prose leads: another note's page, or None."""
    folder = note.folder
    inside = posixpath.normpath("/".join(["notes", *([folder.name] if folder else []), path])).split("/")
    if path.startswith("/") or inside[0] != "notes" or len(inside) < 2:
        return None
    slug = inside[1].removesuffix(".md")
    if slug in slugs and (len(inside) == 2 or inside[2:] == ["note.md"]):
        return f"../{quote(slug)}/index.html"
    return None
