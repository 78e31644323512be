"""A note worked out: its ticket and the markup of its job, its record for the search, its problems.

Everything here depends on the note, its photos, the library's settings and the theme alone, so that it can be
kept by the hash of those. What depends on other notes is added when the page is put together: see NUMBER.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from generator.circuit.block import Block, Failure
from generator.diagnosis.asking import Asked, next_readings
from generator.diagnosis.helper import helper_data
from generator.diagnosis.judging import Judgement, judge
from generator.diagnosis.naming import name_of
from generator.diagnosis.offered import foresee
from generator.diagnosis.outcomes import outcomes
from generator.diagnosis.past import Past, past_of, shared
from generator.diagnosis.proof import missing_proof
from generator.diagnosis.readings import Meter, read_accuracy
from generator.diagnosis.recorded import Doubt, doubts, modes_said
from generator.diagnosis.unproven import proof_problems
from generator.drawing.frame import TitleBlock
from generator.drawing.items import Marks
from generator.finding.record import Record
from generator.language import _, day, decimal_mark, failure_name
from generator.notation.quantity import parse
from generator.notes.config import Config
from generator.notes.note import Note
from generator.notes.whole import put_together
from generator.pages.blockview import SheetView, block_view
from generator.pages.boards import board_problems, board_views, said_of_parts
from generator.pages.chartview import chart_view, feeds_of, joins_of, live_blocks, points_of, rails_of
from generator.pages.citing import PHOTOS, ROOT, SHEET, Citing
from generator.pages.diagramview import diagram_view
from generator.pages.mending import cautions_of, fault_rows, fitted_rows, proof_rows
from generator.pages.notedata import LEAST_SHARE, note_data
from generator.pages.readingview import ReadingsView, judgement_view
from generator.pages.records import part_names, record_of
from generator.pages.theme import Theme
from generator.pages.ticket import ticket_view
from generator.pages.troubles import check_problems, reading_problems
from generator.pages.typography import unbroken_html
from generator.pages.wholedata import whole
from generator.problems import Problem
from generator.prose.expander import Rendered
from generator.prose.markdown import render
from generator.prose.photos import Photo

if TYPE_CHECKING:
    from generator.circuit.device import Device

PAST = "\0past\0"  # stands where what failed in the library before is told
NUMBER = "\0number\0"  # stands in a job's markup where its number goes, which is the library's to give; no note holds a NUL


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
    complaints: Sequence[str],
) -> Worked:
    """The pieces of a note's page. photo(name) is the photo of that name beside the note, or None, and raises Refused;
    link(note, path) is the address of another note or file, or None; complaints: the keys of its symptoms.
    """
    prose = Citing(note, theme, photo)
    meter = library_meter(config)
    device = put_together(note.circuit, note.told)
    foresee(device)
    judgement = judge(device, note.measured, meter)
    asked = next_readings(judgement, device, meter, complaints) if note.circuit.blocks else []
    doubted = doubts(note.faults, judgement)
    rendered = render(
        note.body, file=shown_as, body_line=note.body_line, expand=prose, link=lambda path: link(note, path),
        table=theme.around("_table.html"),
    )  # fmt: skip
    problems = [
        *rendered.problems,
        *board_problems(note, prose.photo, shown_as),
        *check_problems(note, shown_as),
    ]
    problems += [*reading_problems(note, shown_as, judgement, doubted), *proof_problems(note, shown_as)]
    pieces = _Page(note, config, theme, prose, complaints).pieces(rendered, judgement, doubted, asked)
    return Worked(
        note.slug,
        record_of(note, rendered.text, config.currency),
        pieces,
        tuple(problems),
        tuple(prose.photo_files),
        past_of(device, note.faults) if note.faults and note.circuit.blocks else {},
    )


@dataclass(frozen=True)
class Heading:
    """A heading of the prose, for the ways on the page."""

    level: int
    id: str
    text: str


class _Page:
    """One note's page in the making."""

    def __init__(
        self, note: Note, config: Config, theme: Theme, prose: Citing, complaints: Sequence[str]
    ) -> None:
        self.note, self.config, self.theme, self.prose = note, config, theme, prose
        self.complaints = complaints
        self.blocks = note.circuit.blocks
        self.failed = frozenset(fault.part for fault in note.faults if fault.part)

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
            told=self.prose.cited.get(block.name, set()) | set(flags),
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
        cautions = cautions_of(note)
        drawn = {
            name: self.theme.render("_sheet.html", sheet=sheet, root=ROOT) for name, sheet in sheets.items()
        }
        body = unbroken_html(rendered.html)
        for name in placed:
            body = body.replace(SHEET.format(name), drawn[name])
        chart = chart_view(device, note, readings, together.nets) if device else None
        says = said_of_parts(self.blocks, numbers) | (points_of(chart) if chart else {})
        boards = board_views(note, self.prose.photo, says, self.failed)
        found = [(fault.part, mode) for fault in note.faults for mode in modes_said(fault.failed)]
        helper = helper_data(
            device or judgement.device, library_meter(self.config), judgement, found, self.complaints
        )
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
                live_blocks(device) if device else (),
            ),
            chart=chart,
            body=body,
            headings=[Heading(*heading) for heading in rendered.headings],
            sheets=list(sheets.values()),
            rest=[sheet for name, sheet in sheets.items() if name not in placed],
            drawn=drawn,
            boards=boards,
            faults=fault_rows(note),
            fitted=fitted_rows(note, names, self.config.currency),
            proof=proof_rows(note),
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
            "pictures": bool(self.prose.photo_files),
            "boards": bool(boards),
            "helper": bool(helper),
            "picture": self.prose.picture,
            "fits": [
                asdict(fit)
                for fit in shared(judgement.fits, [name_of(own.change) for own in judgement.fits])
                if fit.share >= LEAST_SHARE
            ],
            "data": note_data(note, judgement, self.config, together, asked),
            "netlist": together.netlist,
        }


def library_meter(config: Config) -> Meter:
    """The meter of the library: accuracy and input resistance."""
    return read_accuracy(config.meter.accuracy, Meter(input=parse(config.meter.input, "ohm").middle))
