"""Circuit symbols after IEC 60617 as SVG, drawn by ourselves: what is wire is thin, what is a part is heavy.

Pixels, y downwards. A two-terminal symbol is stated lying, its middle at (0, 0), current running to the right, and is
turned to the side that is asked for; letters in it stay upright.

Nobody has held these drawings beside the standard itself yet. From memory are [S], the sheet of IEC 60617 (numbers of its
printed edition of 1996, part-section-symbol) that we take a symbol to be, and [B], the tables of symbols in handbooks for
apprentices (DIN EN 60617). Where the two are remembered to differ, or a symbol has no sheet, it says so.

Some were held beside drawings of others on 30 November 2026. A line "seen" at a symbol names them and tells what differs;
a symbol without one was not compared, and "only" says that a second drawing was not found:
  [D] schemdraw 0.23, PyPI package schemdraw, named by class; it has forms of several standards
  [T] Tabler Icons 3.52.0, npm package @tabler/icons, icons/outline/circuit-NAME.svg; signs for buttons, no standard
  [M] Material Design Icons 7.4.47, npm package @mdi/svg, svg/NAME.svg; likewise
  [U] a character of Unicode by its number, as the face Symbola 2.60 draws it, Debian package fonts-symbola
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache

UNIT = 32.0  # pixels of a unit of the grid
LENGTH = 2.0  # units from terminal to terminal of a two-terminal symbol
END = UNIT * LENGTH / 2

Turn = Callable[[float, float], tuple[float, float]]
Anchors = dict[str, tuple[float, float]]


@dataclass(frozen=True)
class Shape:
    """A symbol as it is stated. Paths know M, L, A (circles only) and Z.

    body: heavy lines; lead: thin ones, beside those from the terminals to `half`; solid: filled; dashed: what keeps two
    sides apart, or a mechanical link; letters: strokes that stay upright, around a point. box: left, top, right, bottom.
    """

    body: str
    box: tuple[float, float, float, float]
    half: float = 18.0
    lead: str = ""
    solid: str = ""
    dashed: str = ""
    letters: tuple[tuple[str, float, float], ...] = ()
    anchors: Anchors = field(default_factory=dict)
    texts: tuple[tuple[str, float, float, str], ...] = ()  # a pin's number, where it stands, its text-anchor


@dataclass(frozen=True)
class Symbol:
    """A drawn symbol: its SVG, its box (left, top, right, bottom) and its anchors, in pixels from its origin."""

    svg: str
    box: tuple[float, float, float, float]
    anchors: Anchors
    texts: tuple[tuple[str, float, float, str], ...] = ()

    @property
    def turned(self) -> bool:
        """Whether a two-terminal symbol runs up or to the left from its origin."""
        return max(self.box[2], self.box[3]) < END


# --- letters, as strokes around their middle, so that they are shapes and no text ------------------------------------

_M = "M-6,7L-6,-7L0,2L6,-7L6,7"
# the letter raised for the sign of direct current; that, seen: [U] 2393, [M] current-dc: three dashes, as here
_M_DC = (
    "M-6,4L-6,-10L0,-1L6,-10L6,4M-6.5,8.5L6.5,8.5M-6.5,11.5L-3.5,11.5M-1.5,11.5L1.5,11.5M3.5,11.5L6.5,11.5"
)
_U = "M-3.5,-5L-3.5,2A3.5 3.5 0 0 0 3.5,2L3.5,-5"
_MINUS_T = "M-9,0L-4,0M1,-6L1,3A2.5 2.5 0 0 0 4.5,5M-2,-3L5,-3M9,-5A1.6 1.6 0 1 1 8.9,-5.1"
_T = "M-3,-6L-3,3A2.5 2.5 0 0 0 0.5,5M-6,-3L1,-3M6,-5A1.6 1.6 0 1 1 5.9,-5.1"

_RECT = "M-18,-6L18,-6L18,6L-18,6Z"
_TRIANGLE = "M-7,-8L-7,8L7,0Z"
# a stroke through a part that something else changes, its foot bent: not by hand
_BENT = "M-19,13L-11,13L13,-13"
_OUT = "M-1,-11L6,-18M5,-8L12,-15"  # two arrows' shafts, away from the part
_OUT_HEADS = "M6,-18L1.6,-16.4L4.4,-13.6ZM12,-15L7.6,-13.4L10.4,-10.6Z"
_IN_HEADS = "M-6,-8L-8.4,-12.2L-10.8,-9.2ZM1,-8L-1.4,-12.2L-3.8,-9.2Z"

TWO_TERMINAL: dict[str, Shape] = {
    # [S] 04-01-01, [B] box of 1:3; the zig-zag is the older form, which library.yaml may ask for
    # seen: [D] ResistorIEC: same; [T] resistor: the zig-zag
    "resistor": Shape(_RECT, (-18, -6, 18, 6)),
    # seen: [D] ResistorIEEE, [T] resistor: same
    "zig-zag resistor": Shape("M-18,0L-15,-7L-9,7L-3,-7L3,7L9,-7L15,7L18,0", (-18, -7, 18, 7)),
    # [S] 04-01-03 adjustable: an arrow across; [B] the same; 04-01-07 with a sliding contact: an arrow on the box
    # seen: [D] ResistorVarIEC only: same
    "variable resistor": Shape(_RECT, (-18, -14, 18, 14), lead="M-16,14L14,-12", solid="M17,-14L9.6,-12.6L14,-7.6Z"),
    # seen: [D] PotentiometerIEC only: same
    "potentiometer": Shape(_RECT, (-18, -20, 18, 6), lead="M0,-20L0,-12", solid="M0,-6.5L-3.4,-13L3.4,-13Z"),
    # [S] 04-01-04 with the sign of what changes it, U and t°; [B] NTC thermistor with −t°, varistor with U
    # seen: [D] Thermistor only: same stroke, no letters
    "thermistor": Shape(_RECT, (-24, -13, 18, 18), lead=_BENT, letters=((_MINUS_T, -28, 16),)),
    "varistor": Shape(_RECT, (-24, -13, 18, 18), lead=_BENT, letters=((_U, -25, 13),)),
    # [S] 05-06-01 with two arrows of light towards it; [B] the same
    # seen: [D] PhotoresistorIEC only: same but for the side the light comes from
    "photoresistor": Shape(_RECT, (-18, -20, 18, 6), lead="M-13,-18L-7,-9.6M-6,-18L0,-9.6", solid=_IN_HEADS),
    # [S] 04-02-01, 04-02-05 with a plus at the positive plate; [B] the same
    # seen: [D] Capacitor, [T] capacitor: same
    "capacitor": Shape("M-3.2,-11L-3.2,11M3.2,-11L3.2,11", (-4, -11, 4, 11), 3.2),
    # seen: [D] Capacitor with polar, [T] capacitor-polarized: same; [T] has the plus at its right
    "electrolytic": Shape("M-3.2,-11L-3.2,11M3.2,-11L3.2,11", (-13, -14, 4, 11), 3.2, lead="M-13,-9L-6,-9M-9.5,-12.5L-9.5,-5.5"),
    # [S] 04-03-01 half circles; [B] the same
    # seen: [D] Inductor, [T] inductor: same but for the number of turns
    "inductor": Shape("M-20,0A5 5 0 0 1 -10,0A5 5 0 0 1 0,0A5 5 0 0 1 10,0A5 5 0 0 1 20,0", (-20, -6, 20, 2), 20),
    # [S] 05-03-01 with the wire drawn through; [B] the same; zener 05-03-06 with one hook; LED 05-03-02
    # seen: [D] Diode, [T] diode: same outline, the wire not drawn through; ours follows [S]
    "diode": Shape(f"{_TRIANGLE}M7,-8L7,8", (-8, -9, 8, 9), 0),
    # seen: [D] Zener, [T] diode-zener: both ends of the bar bent, aslant in [D]; ours follows [S], one hook
    "zener": Shape(f"{_TRIANGLE}M2,-8L7,-8L7,8", (-8, -9, 8, 9), 0),
    # [S] a diode with the sign of the Schottky effect, two hooks turned back; [B] the same
    # seen: [D] Schottky only: same
    "schottky": Shape(f"{_TRIANGLE}M3,-4.5L3,-8L7,-8L7,8L11,8L11,4.5", (-8, -9, 11, 9), 0),
    # seen: [D] LED only: same
    "led": Shape(f"{_TRIANGLE}M7,-8L7,8", (-8, -19, 13, 9), 0, lead=_OUT, solid=_OUT_HEADS),
    # [S] 05-04-11 and 05-04-12, two of them against one another; [B] the same
    # seen: [D] Diac only: same, mirrored
    "diac": Shape("M-7,-14L-7,14M7,-14L7,14M-7,-13L-7,-1L7,-7ZM7,13L7,1L-7,7Z", (-8, -14, 8, 14), 7),
    "triac": Shape("M-7,-14L-7,14M7,-14L7,14M-7,-13L-7,-1L7,-7ZM7,13L7,1L-7,7Z", (-8, -14, 8, 14), 7),
    # [S] 07-21-01 a box with the wire through it; [B] the same. The box with bars at its ends is another standard's
    # seen: [D] FuseIEEE, [U] 23DB: same; [D] gives the name FuseIEC to the box with bars
    "fuse": Shape(_RECT, (-18, -6, 18, 6), 0),
    # no sheet of its own in [S]; [B] a fuse with the sign of temperature
    # seen: no drawing found; the fuse in it is the one above
    "thermal fuse": Shape(_RECT, (-18, -6, 18, 20), 0, letters=((_T, 0, 15),)),
    # [S] 07-02-01 make contact, no rings at its ends; [B] the same; 07-07-02 pushed by hand: a cap on a dashed link
    # seen: [D] Switch without contacts: same; [T] switch-open: rings at its ends
    "switch": Shape("M-12,0L14,-12", (-14, -13, 14, 3), 12, lead=""),
    # seen: [D] Button, [T] pushbutton: a bar on a stem above two contacts; ours follows [S], the make contact pushed
    "button": Shape("M-12,0L14,-12M-7,-18L-7,-22L7,-22L7,-18", (-14, -23, 14, 3), 12, dashed="M0,-6L0,-22"),
    # [S] 08-10-01; [B] the same
    # seen: [D] Lamp2, [T] bulb: same
    "lamp": Shape("M-12,0A12 12 0 1 1 12,0A12 12 0 1 1 -12,0M-8.5,-8.5L8.5,8.5M-8.5,8.5L8.5,-8.5", (-12, -12, 12, 12), 12),
    # [S] 06-04-01; for direct current with its sign below the letter; [B] the same
    # seen: [T] motor: same; [D] Motor: brushes at its sides and no letter
    "motor": Shape("M-17,0A17 17 0 1 1 17,0A17 17 0 1 1 -17,0", (-17, -17, 17, 17), 17, letters=((_M, 0, 0),)),
    # seen: as the motor; the sign of direct current: see _M_DC
    "dc motor": Shape("M-17,0A17 17 0 1 1 17,0A17 17 0 1 1 -17,0", (-17, -17, 17, 17), 17, letters=((_M_DC, 0, 0),)),
    # the arrow of a current on its wire, and nothing else
    "current": Shape("", (-6, -5, 6, 5), 0, solid="M6,0L-4,-4L-4,4Z"),
    # a wire that carries the volts of its node, and nothing else
    "node": Shape("", (-6, -1, 6, 1), 0),
    # more of the same in a row, left out: [S] 03-01 a dashed connecting line; [B] the same
    "more": Shape("", (-6, -1, 6, 1), 18, dashed="M-18,0L18,0"),
    # [S] 06-15-01: the long line is the positive pole; [B] the same; several cells in a row, with a dashed line between
    # seen: [D] BatteryCell, [T] cell: same
    "cell": Shape("M3.2,-6L3.2,6", (-5, -13, 5, 13), 3.2, lead="M-3.2,-13L-3.2,13"),
    # seen: [D] Battery, [T] battery: cells without the dashed line; ours follows [S]
    "battery": Shape("M-5,-6L-5,6M13,-6L13,6", (-14, -13, 14, 13), 12, lead="M-11.5,-13L-11.5,13M6.5,-13L6.5,13", dashed="M-5,0L6.5,0"),
    # [S] 06-01-01 a source in general with its sort; [B] the same
    # seen: [D] SourceSin only: same
    "mains": Shape("M-13,0A13 13 0 1 1 13,0A13 13 0 1 1 -13,0", (-13, -13, 13, 13), 13, letters=(("M-7,0A3.5 3.5 0 0 1 0,0A3.5 3.5 0 0 0 7,0", 0, 0),)),
    "source": Shape("M-13,0A13 13 0 1 1 13,0A13 13 0 1 1 -13,0", (-13, -13, 13, 13), 0),
    # [S] 04-01-12; [B] the same
    "element": Shape(f"{_RECT}M-10.8,-6L-10.8,6M-3.6,-6L-3.6,6M3.6,-6L3.6,6M10.8,-6L10.8,6", (-18, -6, 18, 6)),
    # [S] 07-15-01; [B] the same: the wires on the long sides; the dashed link goes to the contact
    "relay coil": Shape("M-8,-17L8,-17L8,17L-8,17Z", (-8, -17, 8, 31), 8, dashed="M0,17L0,31"),
    # [S] part 9, electro-acoustic devices: a box with a horn; [B] the same
    # seen: [D] Speaker only: same
    "loudspeaker": Shape("M-8,-6L8,-6L8,6L-8,6ZM-8,-6L-14,-17L14,-17L8,-6", (-14, -17, 14, 6), 8),
    # [S] 02-01-01 an object in general: a part without a symbol of its own, and a load that is told by its current
    "unit": Shape("M-14,-14L14,-14L14,14L-14,14Z", (-14, -14, 14, 14), 14),
    # seen: no drawing found: [D] SourceI has the arrow in a ring, which would say a source, and this one takes
    "load current": Shape("M-16,-11L16,-11L16,11L-16,11Z", (-16, -11, 16, 11), 16, lead="M-9,0L5,0", solid="M10,0L3.5,-3.2L3.5,3.2Z"),
}  # fmt: skip
TWO_TERMINAL |= {f"{name} across": TWO_TERMINAL[name] for name in ("thermistor", "varistor", "motor")}


def _coil(x: float, side: int) -> str:
    """Five turns down from the height of -72 at x, towards the right (1) or the left (0)."""
    turns = "".join(f"A7.2 7.2 0 0 {side} {x},{-72 + 14.4 * n:g}" for n in range(1, 6))
    return f"M{x},-72{turns}"


_CHANNEL = "M-22,30L-22,40M-22,43L-22,53M-22,56L-22,66M-29,30L-29,67.2"
_ARMS = "M0,0L0,35L-22,35M0,96L0,61L-22,61M-22,48L0,48L0,61M-48,67.2L-29,67.2"
_BODY_DIODE = "M0,20L15,20L15,76L0,76"

# Symbols with more than two terminals, from their own origin.
DEVICES: dict[str, Shape] = {
    # [S] 05-05-01 and 05-05-02, the ring being the case; [B] the same
    # seen: [D] BjtNpn with circle only: same
    "npn": Shape(
        "M14,-12L14,12M14,-5L27,-15M14,5L27,15", (0, -25, 40, 25),
        lead="M0,0L14,0M27.1,-15L27.1,-25.1M27.1,15L27.1,25.1M2,0A19 19 0 1 1 40,0A19 19 0 1 1 2,0",
        solid="M26,14.4L17.6,11.8L21,6.6Z",
        anchors={"base": (0, 0), "collector": (27.1, -25.1), "emitter": (27.1, 25.1)},
    ),
    # seen: [D] BjtPnp with circle only: same
    "pnp": Shape(
        "M14,-12L14,12M14,-5L27,-15M14,5L27,15", (0, -25, 40, 25),
        lead="M0,0L14,0M27.1,-15L27.1,-25.1M27.1,15L27.1,25.1M2,0A19 19 0 1 1 40,0A19 19 0 1 1 2,0",
        solid="M15,-5.6L20.6,-12.6L23.9,-7.9Z",
        anchors={"base": (0, 0), "collector": (27.1, 25.1), "emitter": (27.1, -25.1)},
    ),
    # [S] 05-05-13, enhancement type, the bulk joined to the source; [B] the same, with the diode that is in it
    # seen: [D] NMos only: same channel and arrow, without the diode
    "n-mosfet": Shape(
        f"{_CHANNEL}M9,53L21,53L15,42ZM9,42L21,42", (-48, 0, 21, 96), lead=f"{_ARMS}{_BODY_DIODE}",
        solid="M-21,48L-12.5,44.4L-12.5,51.6Z",
        anchors={"drain": (0, 0), "gate": (-48, 67.2), "source": (0, 96)},
    ),
    # seen: [D] PMos only: same channel and arrow, without the diode
    "p-mosfet": Shape(
        "M-22,30L-22,40M-22,43L-22,53M-22,56L-22,66M-29,28.8L-29,66M9,53L21,53L15,42ZM9,42L21,42", (-48, 0, 21, 96),
        lead="M0,0L0,35L-22,35M0,96L0,61L-22,61M-22,48L0,48L0,35M-48,28.8L-29,28.8M0,20L15,20L15,76L0,76",
        solid="M-9,48L-17.5,44.4L-17.5,51.6Z",
        anchors={"source": (0, 0), "gate": (-48, 28.8), "drain": (0, 96)},
    ),
    # [S] 06-09-02 (form 2) with a core; [B] the same; the dashed line parts the mains from the rest
    # seen: [D] Transformer with core only: same
    "transformer": Shape(
        _coil(0, 1) + _coil(36, 0), (0, -84, 36, 12), lead="M14,-72L14,0M22,-72L22,0", dashed="M18,-84L18,12",
        anchors={"p1": (0, -72), "p2": (0, 0), "s1": (36, -72), "s2": (36, 0), "tapS2": (36, -28.8)},
    ),
    # no sheet of its own: [S] 04-03-01 twice with a core between, dots where the windings begin; [B] the same
    "choke": Shape(
        "M0,0A5 5 0 0 1 10,0A5 5 0 0 1 20,0A5 5 0 0 1 30,0A5 5 0 0 1 40,0"
        "M0,24A5 5 0 0 0 10,24A5 5 0 0 0 20,24A5 5 0 0 0 30,24A5 5 0 0 0 40,24", (-10, -8, 50, 32),
        lead="M-10,0L0,0M40,0L50,0M-10,24L0,24M40,24L50,24M2,9L38,9M2,15L38,15",
        solid="M-6,-5A2 2 0 1 1 -2,-5A2 2 0 1 1 -6,-5ZM-6,29A2 2 0 1 1 -2,29A2 2 0 1 1 -6,29Z",
        anchors={"in": (-10, 0), "out": (50, 0), "second in": (-10, 24), "second out": (50, 24)},
    ),
    # the triangle of the trade: [S] 12-27-01 has a box with one in it; [B] shows both
    # seen: [D] Opamp only: same
    "amplifier": Shape(
        "M12,-38L12,38L66,0Z", (0, -38, 78, 38), lead="M0,-22.5L12,-22.5M0,22.5L12,22.5M66,0L78,0M17,-22.5L24,-22.5M17,22.5L24,22.5M20.5,19L20.5,26",
        anchors={"in1": (0, -22.5), "in2": (0, 22.5), "out": (77.9, 0)},
    ),
    # [S] 05-06-08; [B] the same; pins as the four-pin package has them
    # seen: [D] Optocoupler only: same
    "optocoupler": Shape(
        "M6,20L22,20L14,34ZM6,34L22,34M38,16L38,38M38,22L48,13M38,32L48,41", (-16.2, -14, 70.3, 68),
        lead="M-16.2,0L14,0L14,54L-16.2,54M70.3,0L48,0L48,13M70.3,54L48,54L48,41M0,-8L54,-8L54,62L0,62ZM24,22L31,22M24,30L31,30",
        solid="M34,22L29.5,20.2L29.5,23.8ZM34,30L29.5,28.2L29.5,31.8ZM47.2,40.4L40.6,37.7L43.5,34.4Z", dashed="M29,-14L29,68",
        anchors={"anode": (-16.2, 0), "cathode": (-16.2, 54), "collector": (70.3, 0), "emitter": (70.3, 54)},
        texts=(("1", -4, -4, "end"), ("2", -4, 50, "end"), ("4", 58, -4, "start"), ("3", 58, 50, "start")),
    ),
    # [S] 05-04-11; [B] the same; stated lying, its gate at the far end
    # seen: [D] Triac only: same, mirrored
    "triac": Shape(
        "M29,-14L29,14M43,-14L43,14M29,-13L29,-1L43,-7ZM43,13L43,1L29,7Z", (0, -18, 72, 18),
        lead="M0,0L29,0M43,0L72,0M43,-7L60.3,-18", anchors={"start": (0, 0), "end": (72, 0), "gate": (60.3, -18)},
    ),
}  # fmt: skip

UPRIGHT = {"triac"}  # devices that are stated lying and stand in a column

_TURNS: dict[str, Turn] = {
    "right": lambda x, y: (x, y),
    "left": lambda x, y: (-x, -y),
    "down": lambda x, y: (-y, x),
    "up": lambda x, y: (y, -x),
}
_STEP = re.compile(r"([MLZ])|A([\d.]+) [\d.]+ 0 (\d) (\d) |(-?[\d.]+),(-?[\d.]+)")


@lru_cache(maxsize=512)
def two_terminal(word: str, direction: str) -> Symbol:
    """A two-terminal symbol from (0, 0) to the "right", "left", "down" or "up". Raises KeyError for an unknown word."""
    shape, turn = TWO_TERMINAL[word], _TURNS[direction]
    leads = (
        f"M{-END:g},0L{-shape.half:g},0M{shape.half:g},0L{END:g},0"
        if shape.half
        else f"M{-END:g},0L{END:g},0"
    )

    def placed(x: float, y: float) -> tuple[float, float]:
        across, along = turn(x, y)
        middle = turn(END, 0.0)
        return across + middle[0], along + middle[1]

    return _drawn(shape, placed, shape.lead + leads, along=True)


@lru_cache(maxsize=128)
def device(word: str, flip: bool = False, reverse: bool = False) -> Symbol:
    """A symbol with several terminals in its own orientation. Raises KeyError for an unknown word.

    flip: mirrored along its length; reverse: its ends changed over.
    """
    shape = DEVICES[word]
    turn = _TURNS["down" if word in UPRIGHT else "right"]

    def placed(x: float, y: float) -> tuple[float, float]:
        return turn(-x if reverse else x, -y if flip else y)

    return _drawn(shape, placed, shape.lead, mirrored=flip != reverse)


def _drawn(shape: Shape, placed: Turn, lead: str, *, mirrored: bool = False, along: bool = False) -> Symbol:
    """A shape as SVG, every point where `placed` puts it."""
    parts = [
        f'<path d="{_moved(shape.body, placed, mirrored)}"/>' if shape.body else "",
        f'<path class="lead" d="{_moved(lead, placed, mirrored)}"/>' if lead else "",
        f'<path class="solid" d="{_moved(shape.solid, placed, mirrored)}"/>' if shape.solid else "",
        f'<path class="apart" d="{_moved(shape.dashed, placed, mirrored)}"/>' if shape.dashed else "",
    ]
    for strokes, x, y in shape.letters:
        at_x, at_y = placed(x, y)
        moved = _moved(strokes, lambda a, b, u=at_x, v=at_y: (a + u, b + v), False)  # type: ignore[misc]
        parts.append(f'<path class="lead" d="{moved}"/>')
    left, top, right, bottom = shape.box
    ends = [-END, END] if along else [left, right]
    corners = [placed(x, y) for x in ends for y in (top, bottom)]
    if shape.letters and along:
        corners += [placed(x + dx, y + dy) for _s, x, y in shape.letters for dx in (-9, 9) for dy in (-9, 9)]
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    anchors = {name: placed(*at) for name, at in shape.anchors.items()}
    texts = tuple((text, *placed(x, y), anchor) for text, x, y, anchor in shape.texts)
    return Symbol("".join(parts), (min(xs), min(ys), max(xs), max(ys)), anchors, texts)


def _moved(path: str, placed: Turn, mirrored: bool) -> str:
    """A path with every point moved; arcs of circles keep their radius, and turn the other way in a mirror."""
    found = []
    for letter, radius, large, sweep, x, y in _STEP.findall(path):
        if letter:
            found.append(letter)
        elif radius:
            found.append(f"A{radius} {radius} 0 {large} {1 - int(sweep) if mirrored else sweep} ")
        else:
            px, py = placed(float(x), float(y))
            found.append(f"{_short(px)},{_short(py)}")
    return "".join(found)


def _short(value: float) -> str:
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text
