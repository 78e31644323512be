"""Every key of a note and of library.yaml, in the order in which one needs them, with what it holds and an example.

The one table: the readers take the names from here, `benchlore schema` and the site's page "Writing a note" are made of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

from generator.language import _, code
from generator.notes.standard import BARRIERS, CATEGORIES, OUTCOMES

# What a value is: "text", "number", "choice", "texts" (a list of lines), "text or texts", "section" (keys of its own),
# "sections" (a list of such), "named" (names of one's own -> text), "named texts" (names -> a list), "blocks", "states",
# "lists" (a list of lists).


@dataclass(frozen=True)
class Key:
    """One key: its name, what stands there, an example as it is written, its shape; section: the keys inside it."""

    name: str
    what: str
    example: str
    shape: str = "text"
    required: bool = False
    section: str = ""
    choices: tuple[str, ...] = ()
    suggested: tuple[str, ...] = field(default=())  # choices that may be another text as well


@dataclass(frozen=True)
class Section:
    """Keys that stand together. one: what a message calls the thing that they describe."""

    name: str
    title: str
    keys: tuple[Key, ...]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(key.name for key in self.keys)


@lru_cache(maxsize=8)
def _sections(language: str) -> tuple[Section, ...]:
    return (
        Section("note", _("The head of a note"), (
            Key("title", _("what it was, in a line"), "Proofing box stays stone cold", required=True),
            Key("date", _("the day of the job: year-month-day"), "2026-03-14", required=True),
            Key("device", _("the thing on the bench"), "{kind: dough proofing box, make: Ferrowick, model: DP-20}", "section", True, "device"),
            Key("symptoms", _("what the owner says, one a line"), "[stays cold, red lamp blinks twice]", "texts", True),
            Key("outcome", _("how it ended, in the words of the Open Repair Data Standard"), "fixed", "choice", choices=OUTCOMES),
            Key("barrier", _("why it could not be mended; with the outcome end of life only"), "spare parts not available", "choice", choices=BARRIERS),
            Key("blocks", _("the circuit blocks in it, each under a name of your own: a kind and its parameters"),
                "{supply: {kind: transformer-supply, secondary: 12 V, smoothing: C3 1000u 35V, load: 120 mA}}", "blocks"),
            Key("readings", _("what the meter showed"), "[{at: supply.ripple, read: 1.2 V}]", "sections", section="reading"),
            Key("faults", _("what had failed"), "[{part: C3, failed: dried out}]", "sections", section="fault"),
            Key("signals", _("what lamps, beeps and codes mean"), "[{shows: red lamp blinks twice, means: sensor open}]", "sections", section="signal"),
            Key("fitted", _("what went in"), "[{part: C3, with: 1000u 35V 105 °C, cost: 0.60}]", "sections", section="fitted"),
            Key("time", _("how long it took"), "90 min"),
            Key("proof", _("the tests after the repair, before it goes home"), "[{test: insulation, read: 200 Mohm}]", "sections", section="proof"),
            Key("boards", _("photos of a board with its parts marked"), "[{top: board.jpg, marks: [{part: C3, x: 42 %, y: 17 %}]}]", "sections", section="board"),
            Key("author", _("who wrote it"), "Kim"),
            Key("bench", _("where it was mended"), "Mill Street repair evening"),
            Key("states", _("what the device does while it is measured; the first is where readings without `when` were taken"),
                "{asleep: {}, heating: {on: [fan]}}", "states"),
            Key("joins", _("places that are one net and that no block's parameter says"), "[[air.tap, watch.input]]", "lists"),
            Key("connectors", _("a connector with the place at each pin, from pin 1; -> TH1 says that this part lies beyond it, as a motor, a solenoid or a battery does that has both ends on one connector"),
                "{CN3: [reg.out, air.tap -> TH1, supply.common]}", "named texts"),
            Key("test_points", _("a test point and its place"), "{TP5: reg.out}", "named"),
            Key("steps", _("how it comes apart, in order; the page gives it backwards as well"), "[{do: take out four screws, with: T10}]", "sections", section="step"),
            Key("sequence", _("what it does after a press or after it is plugged in"), "[{at: 0 s, does: lamp lights}, {at: 3 s, does: fan starts}]", "sections", section="moment"),
            Key("tools", _("what one needs for it"), "[T10 screwdriver, decade box]", "texts"),
            Key("links", _("where else to read about it: an address, or one with what is there"), "[{to: 'https://example.org/sheet.pdf', what: service sheet}]", "links", section="link"),
            Key("number", _("the job's number, which never changes; writeup gives the next free one"), "42"),
            Key("first_check", _("what to measure first, where it should not be worked out"), "volts across C3, plugged in"),
        )),
        Section("device", "device", (
            Key("kind", _("what people call it"), "dough proofing box", required=True),
            Key("category", _("its product category in the Open Repair Data Standard"), "Small kitchen item", suggested=tuple(CATEGORIES)),
            Key("make", _("who made it"), "Ferrowick"),
            Key("model", _("as on the plate"), "DP-20"),
            Key("year", _("when it was made"), "2017"),
            Key("plate", _("the rating plate"), "{supply: 230 V, power: 180 W, class: II}", "section", section="plate"),
        )),
        Section("plate", "plate", (
            Key("supply", _("its voltage"), "230 V"), Key("power", _("its rated power"), "180 W"), Key("current", _("its rated current"), "0.8 A"),
            Key("frequency", _("its frequency"), "50 Hz"),
            Key("class", _("its protection class (IEC 61140)"), "II", "choice", choices=("0", "I", "II", "III")),
        )),
        Section("reading", "readings", (
            Key("at", _("the block's value, or the place: block.terminal, a test point, a pin"), "CN3 pin 2"),
            Key("across", _("in place of at: volts across one part, or between two places"), "R14", "text or texts"),
            Key("ohms", _("in place of at: ohms with the plug out, of a part, of one with a leg lifted (R4 lifted), or between two places"), "[supply.plus, supply.common]", "text or texts"),
            Key("diode", _("in place of at: the diode range, of a part (a diode the way it conducts, a transistor from base to emitter, a MOSFET's body diode) or between two places, red lead first"), "D6", "text or texts"),
            Key("read", _("what the meter showed: a value, a range, open, short, less than"), "12.1..12.4 V", required=True),
            Key("when", _("the state that it was read in; without it the first"), "heating"),
            Key("mended", _("what the same place read after the repair"), "1.6 V"),
            Key("accuracy", _("the meter's, where it is not the library's: share of the reading and counts"), "2 % + 5"),
            Key("with", _("a remark on how; it decides nothing"), "a borrowed lamp as load"),
            Key("note", _("anything else"), "nothing plugged in"),
        )),
        Section("fault", "faults", (
            Key("part", _("its designator, or what it is called if it is in no block"), "TH1"),
            Key("failed", _("in any words; open, short, high, low, leaky and intermittent tie it to the block's failures"), "open", required=True),
            Key("because", _("what brought it about"), "condensation crept down the lead"),
            Key("found_by", _("how it was found"), "ohmmeter across the sensor plug"),
            Key("fix", _("what was done"), "cut back to bright copper, re-terminated, sleeved"),
        )),
        Section("signal", "signals", (
            Key("shows", _("what can be seen or heard"), "red lamp blinks twice", required=True),
            Key("means", _("what that means"), "sensor open or short", required=True),
            Key("clears", _("what makes it go away"), "mains off and on"),
        )),
        Section("fitted", "fitted", (
            Key("part", _("the part that was replaced"), "TH1"), Key("with", _("what went in"), "100k B3950 bead on sleeved leads"),
            Key("cost", _("in the library's currency"), "1.20"),
        )),
        Section("proof", "proof", (
            Key("test", _("which test"), "touch current", required=True,
                suggested=("earth continuity", "insulation", "protective conductor current", "touch current", "polarity", "function")),
            Key("read", _("what it showed"), "0.05 mA", required=True),
            Key("note", _("anything else"), "at 500 V"),
        )),
        Section("board", "boards", (
            Key("top", _("the file of the photo, beside the note"), "board-top.jpg"),
            Key("bottom", _("the other side"), "board-bottom.jpg"),
            Key("caption", _("what it shows"), "power board"),
            Key("marks", _("where parts are on it"), "[{part: C3, side: top, x: 42 %, y: 17 %}]", "sections", section="mark"),
        )),
        Section("mark", "marks", (
            Key("part", _("its designator"), "C3", required=True),
            Key("side", _("on which photo"), "top", "choice", choices=("top", "bottom")),
            Key("x", _("from the left"), "42 %", required=True), Key("y", _("from above"), "17 %", required=True),
        )),
        Section("step", "steps", (
            Key("do", _("what to do"), "take out four screws under the feet", required=True),
            Key("with", _("with which tool or screw"), "T10"), Key("mind", _("what to mind"), "the left one is longer"),
        )),
        Section("moment", "sequence", (
            Key("at", _("when, counted from the press"), "3 s", required=True),
            Key("does", _("what it does then"), "fan starts", required=True),
        )),
        Section("link", "links", (
            Key("to", _("the address"), "https://example.org/sheet.pdf", required=True), Key("what", _("what is there"), "service sheet"),
        )),
        Section("library", "library.yaml", (
            Key("name", _("what the library is called"), "Mill Street repair evening", required=True),
            Key("language", _("the language that its notes are written in"), "en"),
            Key("mains", _("the supply at the wall"), "{voltage: 230 V, frequency: 50 Hz, band: +10/-6 %}", "section", section="mains"),
            Key("currency", _("of the costs (ISO 4217)"), "EUR"),
            Key("group", _("who runs it"), "Mill Street repair group"),
            Key("country", _("where (ISO 3166-1)"), "DEU"),
            Key("licence", _("under which others may use its notes"), "CC BY-SA 4.0"),
            Key("address", _("where the site is published"), "https://repairs.example.org/"),
            Key("symbols", _("how resistors are drawn"), "IEC", "choice", choices=("IEC", "zig-zag")),
            Key("meter", _("the meter at the bench"), "{accuracy: 1 % + 3, input: 10 Mohm}", "section", section="meter"),
            Key("about", _("a text for its page, in Markdown"), "Open on the first Monday."),
            Key("pool", _("other libraries whose notes appear on this site too"), "[{from: ../mill-street, as: mill}]", "sections", section="pool"),
        )),
        Section("pool", "pool", (
            Key("from", _("the folder of the other library, from this one's"), "../mill-street", required=True),
            Key("as", _("the name under which its notes appear: notes/mill/..."), "mill", required=True),
        )),
        Section("mains", "mains", (
            Key("voltage", _("RMS"), "230 V"), Key("frequency", _("in hertz"), "50 Hz"), Key("band", _("how far it may deviate"), "10 %"),
        )),
        Section("meter", "meter", (
            Key("accuracy", _("share of the reading and counts of the last digit"), "1 % + 3"),
            Key("input", _("its input resistance"), "10 Mohm"),
        )),
    )  # fmt: skip


def sections() -> tuple[Section, ...]:
    """Every section, that of the note itself first, library.yaml last; in the language in use."""
    return _sections(code())


def section(name: str) -> Section:
    """The section of that name."""
    return next(found for found in sections() if found.name == name)


def names(of: str) -> tuple[str, ...]:
    """The names of a section's keys."""
    return section(of).names
