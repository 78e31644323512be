"""A note worked out: its ticket and the markup of its job, its record for the search, its problems.

Everything here depends on the note, its photos, the library's settings and the theme alone, so that it can be
kept by the hash of those. What depends on other notes is added when the page is put together: see NUMBER.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from generator.circuit.block import Block, Failure
from generator.circuit.circuit import possible_values
from generator.diagnosis.asking import Asked, next_readings
from generator.diagnosis.cautions import Caution, cautions_for
from generator.diagnosis.helper import helper_data
from generator.diagnosis.judging import Judgement, judge
from generator.diagnosis.outcomes import outcomes
from generator.diagnosis.past import Past, past_of, shared
from generator.diagnosis.proof import judge_proof, missing_proof
from generator.diagnosis.readings import Meter, read_accuracy
from generator.diagnosis.recorded import Doubt, doubts, modes_said
from generator.diagnosis.unproven import proof_problems
from generator.diagnosis.words import name_of
from generator.drawing.frame import TitleBlock
from generator.drawing.items import Marks
from generator.finding.record import Record
from generator.language import _, day, decimal_mark, failure_name, localized
from generator.notation.quantity import QuantityError, parse
from generator.notes.config import Config
from generator.notes.note import Note
from generator.notes.whole import put_together
from generator.pages.blockview import SheetView, block_view, value_text
from generator.pages.boards import BoardView, board_view, said_of_parts
from generator.pages.chartview import Chart, chart_view, feeds_of, joins_of, points_of, rails_of
from generator.pages.diagramview import diagram_view
from generator.pages.groups import part_slug
from generator.pages.notedata import LEAST_SHARE, note_data
from generator.pages.readingview import ReadingsView, judgement_view
from generator.pages.records import part_names, record_of
from generator.pages.theme import Theme
from generator.pages.ticket import ticket_view
from generator.pages.troubles import check_problems, problem_at, reading_problems
from generator.pages.typography import unbroken_html, with_signs
from generator.pages.wholedata import whole
from generator.problems import Problem
from generator.prose.markdown import Rendered, render
from generator.prose.photos import Photo, Refused

if TYPE_CHECKING:
    from generator.circuit.device import Device

ROOT = "\0root\0"  # the way from a note's page to the root of the site, where its page knows that
PHOTOS = f"{ROOT}photos/"
PAST = "\0past\0"  # stands where what failed in the library before is told
NUMBER = "\0number\0"  # stands in a job's markup where its number goes, which is the library's to give; no note holds a NUL
_SHEET = "\0sheet {}\0"  # the same for a sheet in the prose, until all that the prose cites is known


@dataclass(frozen=True)
class Worked:
    """What a note came to. pieces: plain data and markup for its page; photos: names of files in the cache; past: what
    failed, for what the library's past says elsewhere."""

    slug: str
    record: Record
    pieces: dict[str, Any]
    problems: tuple[Problem, ...]
    photos: tuple[str, ...]
    past: Past


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
    device = put_together(note.circuit, note.told)
    judgement = judge(device, note.measured, meter)
    asked = next_readings(judgement, device, meter) if note.circuit.blocks else []
    doubted = doubts(note.faults, judgement)
    rendered = render(
        note.body, file=shown_as, body_line=note.body_line, expand=page, link=lambda path: link(note, path),
        table=theme.around("_table.html"),
    )  # fmt: skip
    problems = [*rendered.problems, *page.boards_problems(), *check_problems(note, shown_as)]
    problems += [*reading_problems(note, shown_as, judgement, doubted), *proof_problems(note, shown_as)]
    pieces = page.pieces(rendered, judgement, doubted, asked)
    return Worked(
        note.slug,
        record_of(note, rendered.text, config.currency),
        pieces,
        tuple(problems),
        tuple(page.photo_files),
        past_of(device, note.faults) if note.faults and note.circuit.blocks else {},
    )


@dataclass(frozen=True)
class Heading:
    """A heading of the prose, for the ways on the page."""

    level: int
    id: str
    text: str


@dataclass(frozen=True)
class FaultRow:
    """A fault as the records have it. slug: of the page of what failed, "" where there is none."""

    label: str
    slug: str
    found_by: str
    fix: str


@dataclass(frozen=True)
class FittedRow:
    """A part that went in."""

    part: str
    with_: str
    cost: str
    known: bool


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
        self.failed = frozenset(fault.part for fault in note.faults if fault.part)
        self.cited: dict[str, set[str]] = {}
        self.photo_files: dict[str, None] = {}
        self.picture = ""  # the first photo, for cards that link here

    # --- what the prose asks for ----------------------------------------------------------------------------------

    def value(self, block: str, value: str, form: str) -> str | None:
        if block not in self.blocks:
            return "?"  # the block is broken, which is told at the block
        result = self.blocks[block].values.get(value)
        if result is None:
            return None
        self.cited.setdefault(block, set()).add(value)
        return self.theme.render(
            "_value.html", text=value_text(result, form), form=form, name=f"{block}.{value}"
        )

    def sheet(self, block: str) -> str | None:
        if block not in self.blocks:
            return "" if block in self.note.blocks else None
        return _SHEET.format(block)

    def image(self, src: str, alt: str, title: str) -> str | None:
        photo = self._photo(src)
        if photo is None:
            return None
        return self.theme.render(
            "_photo.html", photo=photo, alt=alt.strip(), caption=title or alt, base=PHOTOS
        )

    def names(self) -> dict[str, list[str]]:
        return {
            name: list(self.blocks[name].values) if name in self.blocks else possible_values(raw)
            for name, raw in self.note.blocks.items()
        }

    def designators(self) -> set[str]:
        return {part for block in self.blocks.values() for part in block.designators}

    def _photo(self, src: str) -> Photo | None:
        photo = self._find_photo(src)
        if photo is not None:
            self.photo_files.update(dict.fromkeys(photo.files))
            self.picture = self.picture or photo.sizes[-1].jpeg
        return photo

    # --- the sheets -----------------------------------------------------------------------------------------------

    def sheets(
        self, placed: Sequence[str], readings: ReadingsView, device: Device | None
    ) -> dict[str, SheetView]:
        """Every block's sheet, numbered in the order in which they stand on the page."""
        failures = outcomes(device, library_meter(self.config).input) if device else {}
        rest = [name for name in self.blocks if name not in placed]
        order = [*placed, *sorted(rest, key=lambda name: not self._opened(name, readings))]
        return {
            name: self._sheet_view(self.blocks[name], number, len(order), readings, failures.get(name))
            for number, name in enumerate(order, start=1)
        }

    def _sheet_view(
        self, block: Block, number: int, of: int, readings: ReadingsView, failures: list[Failure] | None
    ) -> SheetView:
        flags = readings.flags_of(block.name)
        return block_view(
            block,
            self._title_block(block, f"{number}/{of}"),
            zigzag=self.config.symbols != "IEC",
            marks=Marks(
                {name: flag for name, flag in flags.items() if name},
                self.failed,
                self.note.device.plate.protection == "I",
            ),
            told=self.cited.get(block.name, set()) | set(flags),
            failures=failures,
            number=number,
            opened=self._opened(block.name, readings),
        )

    def _opened(self, name: str, readings: ReadingsView) -> bool:
        """Whether something was read at a block, or has failed in it."""
        return bool(readings.flags_of(name)) or not self.failed.isdisjoint(self.blocks[name].designators)

    def _title_block(self, block: Block, sheet: str) -> TitleBlock:
        return TitleBlock(
            title=block.name.replace("-", " "),
            kind=_(block.kind.title),
            owner=self.config.group or self.config.name,
            number=NUMBER,
            sheet=sheet,
            date=day(self.note.date.isoformat()),
            creator=self.note.author,
            key=f"sheet-{block.name}",
        )

    # --- the pieces -----------------------------------------------------------------------------------------------

    def pieces(
        self, rendered: Rendered, judgement: Judgement, doubted: list[Doubt], asked: list[Asked]
    ) -> dict[str, Any]:
        """What is kept of the page, as plain data: the ticket, the job's markup, and what the page's head needs."""
        note = self.note
        readings = judgement_view(judgement, doubted, note.circuit, asked)
        placed = [name for name in rendered.placed if name in self.blocks]  # a broken one has no sheet
        together = whole(note)
        device = together.device
        sheets = self.sheets(placed, readings, device)
        numbers = {name: sheet.number for name, sheet in sheets.items()}
        joins = joins_of(device, numbers) if device else {}
        sheets = {name: replace(sheet, joins=joins.get(name, ())) for name, sheet in sheets.items()}
        names = part_names(note)
        cautions = _cautions(note)
        drawn = {
            name: self.theme.render("_sheet.html", sheet=sheet, root=ROOT) for name, sheet in sheets.items()
        }
        body = unbroken_html(rendered.html)
        for name in placed:
            body = body.replace(_SHEET.format(name), drawn[name])
        chart = chart_view(device, note, readings, together.nets) if device else None
        boards = self._boards(sheets, chart)
        found = [(fault.part, mode) for fault in note.faults for mode in modes_said(fault.failed)]
        helper = helper_data(device or judgement.device, library_meter(self.config), judgement, found)
        job = self.theme.render(
            "_job.html",
            note=note,
            readings=readings,
            diagram=diagram_view(
                note.circuit,
                readings,
                self.failed,
                numbers,
                feeds_of(device) if device else (),
                rails_of(device, together.nets) if device else {},
            ),
            chart=chart,
            body=body,
            headings=[Heading(*heading) for heading in rendered.headings],
            sheets=list(sheets.values()),
            rest=[sheet for name, sheet in sheets.items() if name not in placed],
            drawn=drawn,
            boards=boards,
            faults=self._faults(names),
            fitted=[
                FittedRow(f.part, f.with_, _money(f.cost, self.config.currency), f.part in names)
                for f in note.fitted
            ],
            proof=[
                replace(p, test=_(p.test), read=with_signs(p.read, ""))
                for p in judge_proof(note.proof, note.device.plate.protection)
            ],
            missing_proof=missing_proof(
                note.proof,
                note.device.plate.protection,
                any(c.key == "mains" for c in cautions),
                note.outcome,
            ),
            cautions=cautions,
            helper=helper,
            had=next(
                (f"{fault.part} {failure_name(fault.failed)}" for fault in note.faults if fault.part), ""
            ),
            decimal_mark=decimal_mark(),
            past=PAST,
            photos=PHOTOS,
            root=ROOT,
        )
        chief = max(
            sheets.values(), key=lambda sheet: (sheet.failed, sheet.open, -sheet.number), default=None
        )
        ticket = ticket_view(note, judgement, readings, numbers, names, tuple(c.title for c in cautions))
        return {
            "title": note.title,
            "date": note.date.isoformat(),
            "ticket": asdict(ticket),
            "job": job,
            "chief": asdict(chief.drawing) if chief else None,
            "pictures": bool(self.photo_files),
            "boards": bool(boards),
            "helper": bool(helper),
            "picture": self.picture,
            "fits": [
                asdict(fit)
                for fit in shared(judgement.fits, [name_of(own.change) for own in judgement.fits])
                if fit.share >= LEAST_SHARE
            ],
            "data": note_data(note, judgement, self.config, together, asked),
            "netlist": together.netlist,
        }

    def _faults(self, names: dict[str, str]) -> list[FaultRow]:
        record = record_of(self.note, "")
        return [
            FaultRow(
                cause.label() or cause.failed,
                part_slug(cause.part_name or cause.part) if (cause.part_name or cause.part) else "",
                cause.found_by,
                cause.fix,
            )
            for cause in record.causes
        ]

    def _boards(self, sheets: dict[str, SheetView], chart: Chart | None) -> list[BoardView]:
        says = said_of_parts(self.blocks, {name: sheet.number for name, sheet in sheets.items()}) | (
            points_of(chart) if chart else {}
        )
        found = []
        for number, board in enumerate(self.note.boards):
            try:
                top, bottom = (self._photo(name) if name else None for name in (board.top, board.bottom))
                if top or bottom:
                    key = f"board-{number}"
                    found.append(
                        board_view(
                            top, bottom, board.marks, board.caption, key, says=says, failed=self.failed
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


def library_meter(config: Config) -> Meter:
    """The meter of the library: accuracy and input resistance."""
    return read_accuracy(config.meter.accuracy, Meter(input=parse(config.meter.input, "ohm").middle))


def _cautions(note: Note) -> list[Caution]:
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
