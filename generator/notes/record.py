"""What a note says, typed. Everything here crosses process borders and never changes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from generator.notation.quantity import QuantityError, parse
from generator.notes.reading import Reading

if TYPE_CHECKING:
    import datetime
    from decimal import Decimal
    from pathlib import Path

    from generator.circuit.circuit import Circuit
    from generator.circuit.device import Told
    from generator.notes.frontmatter import Marks

FRONT_LINE = 2  # the front matter begins under the first ---


@dataclass(frozen=True, slots=True)
class Plate:
    """The rating plate, as printed; "" where it is silent. protection is I, II, III or 0 (IEC 61140)."""

    supply: str = ""
    power: str = ""
    current: str = ""
    frequency: str = ""
    protection: str = ""


@dataclass(frozen=True, slots=True)
class Device:
    """The thing on the bench. category is its product category in the Open Repair Data Standard."""

    kind: str
    category: str = ""
    make: str = ""
    model: str = ""
    year: int | None = None
    plate: Plate = Plate()


@dataclass(frozen=True, slots=True)
class Fault:
    """What had failed. part is a designator of a block, the name of something in no block, or ""."""

    part: str
    failed: str
    because: str = ""
    found_by: str = ""
    fix: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """A step of taking the thing apart: what to do, with which tool or screw, what to mind."""

    do: str
    with_: str = ""
    mind: str = ""


@dataclass(frozen=True, slots=True)
class Moment:
    """What the device does at a time after a press or after it was plugged in; at in seconds."""

    at: float
    text: str
    does: str


@dataclass(frozen=True, slots=True)
class Link:
    """Where else something stands on this device: an address, and what is found there."""

    to: str
    what: str = ""


@dataclass(frozen=True, slots=True)
class Signal:
    """What the thing shows (lamps, beeps, codes), what that means, and what makes it go away."""

    shows: str
    means: str
    clears: str = ""


@dataclass(frozen=True, slots=True)
class Fitted:
    """A part that went in. cost is in the library's currency."""

    part: str
    with_: str
    cost: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Proof:
    """A test made after the repair and what it showed."""

    test: str
    read: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A part on a picture of a board: side is "top" or "bottom"; x and y are per cent from its upper left."""

    part: str
    side: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Board:
    """Pictures of a board's two sides, as file names relative to the note; "" where there is none."""

    top: str
    bottom: str
    caption: str = ""
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class Note:
    """A repair note. file is relative to the content folder, with forward slashes.

    folder is the folder that belongs to the note alone (notes/<slug>/note.md), or None.
    blocks is the front matter's own text, circuit what was built from it. body is Markdown and
    begins on line body_line of the file. front is the front matter as YAML text.
    """

    slug: str
    file: str
    folder: Path | None
    title: str
    date: datetime.date
    device: Device
    symptoms: tuple[str, ...]
    outcome: str
    barrier: str
    blocks: dict[str, dict[str, Any]]
    circuit: Circuit
    readings: tuple[Reading, ...]
    faults: tuple[Fault, ...]
    signals: tuple[Signal, ...]
    fitted: tuple[Fitted, ...]
    time: str
    proof: tuple[Proof, ...]
    boards: tuple[Board, ...]
    author: str
    bench: str
    body: str
    body_line: int
    front: str
    told: Told | None = None  # the device as a whole: states, joins, connectors, test points
    # every reading in the note's order; readings has those of a block's value alone
    measured: tuple[Reading, ...] = ()
    steps: tuple[Step, ...] = ()
    sequence: tuple[Moment, ...] = ()
    tools: tuple[str, ...] = ()
    links: tuple[Link, ...] = ()
    number: int | None = None
    first_check: str = ""

    @property
    def age(self) -> int | None:
        """Years from the device's making to the repair; None where its year is not known."""
        return max(0, self.date.year - self.device.year) if self.device.year else None

    @property
    def cost(self) -> float | None:
        """What was paid for parts; None where no part has a price."""
        costs = [fitted.cost for fitted in self.fitted if fitted.cost is not None]
        return float(sum(costs)) if costs else None

    @property
    def minutes(self) -> float | None:
        """How long the job took; None for what cannot be read."""
        try:
            return parse(self.time, "s").middle / 60 if self.time else None
        except QuantityError:
            return None

    @property
    def marks(self) -> Marks:
        """The line and column of every key, found anew at each call.

        Kept for ten thousand notes they would fill the memory; they are wanted only where
        something is wrong.
        """
        from generator.notes.frontmatter import load  # a reading at the bench needs no YAML

        return load(self.front, FRONT_LINE).marks
