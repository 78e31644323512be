"""Circuit symbols as SVG: schemdraw draws each one once, after which it is only moved about.

Symbols follow IEC 60617. Coordinates are pixels with y downwards; a two-terminal symbol runs from its start at
(0, 0) either rightwards or downwards.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

UNIT = 36.0  # pixels of one schemdraw unit (its SVG backend: 72 dpi at half an inch a unit)
LENGTH = 2.0  # units from terminal to terminal of a two-terminal symbol

# Our word for a two-terminal symbol -> schemdraw's class, and what it is given. Names are explicit: schemdraw's
# own style switch rebinds classes behind one's back.
TWO_TERMINAL: dict[str, tuple[str, dict[str, Any]]] = {
    "resistor": ("ResistorIEC", {}),
    "zig-zag resistor": ("ResistorIEEE", {}),
    "capacitor": ("Capacitor", {}),
    "electrolytic": ("ElectrolyticCapacitor", {}),
    "thermistor": ("NtcThermistor", {}),
    "thermistor across": ("NtcThermistor", {"across": True}),
    "photoresistor": ("PhotoresistorIEC", {}),
    "variable resistor": ("ResistorVarIEC", {}),
    "potentiometer": ("PotentiometerIEC", {}),
    "inductor": ("Inductor", {}),
    "diode": ("Diode", {"fill": False}),
    "zener": ("Zener", {"fill": False}),
    "led": ("LED", {"fill": False}),
    "diac": ("Diac", {}),
    "triac": ("Triac", {}),
    "fuse": ("FuseIEC", {}),
    "switch": ("Switch", {}),
    "button": ("Button", {}),
    "lamp": ("Lamp2", {}),
    "motor": ("LetteredMotor", {}),
    "motor across": ("LetteredMotor", {"across": True}),
    "battery": ("Battery", {}),
    "cell": ("BatteryCell", {}),
    "mains": ("SourceSin", {}),
    "varistor": ("Varistor", {}),
    "varistor across": ("Varistor", {"across": True}),
    "thermal fuse": ("ThermalFuse", {}),
    "element": ("HeatingElement", {}),
    "relay coil": ("RelayCoil", {}),
    "unit": ("FunctionalUnit", {}),
    "load current": ("SourceI", {}),
    "source": ("SourceV", {}),
}  # fmt: skip

# Symbols with more than two terminals: our word -> (schemdraw's class, arguments). Anchors keep schemdraw's names.
DEVICES: dict[str, tuple[str, dict[str, Any]]] = {
    "npn": ("BjtNpn", {"circle": True}),
    "pnp": ("BjtPnp", {"circle": True}),
    "n-mosfet": ("NMos", {"diode": True}),
    "p-mosfet": ("PMos", {"diode": True}),
    "bridge": ("Rectifier", {"fill": False}),
    "transformer": ("Transformer", {"t1": 5, "t2": 5}),
    "amplifier": ("Opamp", {}),
    "optocoupler": ("LevelOptocoupler", {}),
    "triac": ("Triac", {}),
}  # fmt: skip


UPRIGHT = {"triac"}  # devices that stand in a column, their start on top
SCALED = {"n-mosfet": 1.6, "p-mosfet": 1.6}  # drawn smaller than its neighbours by schemdraw


@dataclass(frozen=True)
class Symbol:
    """A drawn symbol: its SVG, its box (left, top, right, bottom) and its anchors, in pixels from its origin."""

    svg: str
    box: tuple[float, float, float, float]
    anchors: dict[str, tuple[float, float]]


def _drawing() -> Any:
    import schemdraw

    schemdraw.use("svg")
    schemdraw.svgconfig.text = "text"  # text stays text, whatever else is installed
    return schemdraw.Drawing(show=False)


@lru_cache(maxsize=None)
def _element_class(name: str) -> Any:
    from schemdraw import elements as elm

    from generator.drawing import own_symbols

    return getattr(own_symbols, name, None) or getattr(elm, name)


@lru_cache(maxsize=512)
def two_terminal(word: str, direction: str) -> Symbol:
    """A two-terminal symbol from (0, 0) to the "right", "left", "down" or "up". Raises KeyError for an unknown word."""
    name, arguments = TWO_TERMINAL[word]
    angle = {"right": 0, "left": 180, "down": -90, "up": 90}[direction]
    drawing = _drawing()
    element = drawing.add(_element_class(name)(**arguments).at((0, 0)).theta(angle).length(LENGTH))
    return _symbol(drawing, element)


@lru_cache(maxsize=128)
def device(word: str, flip: bool = False, reverse: bool = False) -> Symbol:
    """A symbol with several terminals in its own orientation. Raises KeyError for an unknown word."""
    name, arguments = DEVICES[word]
    element = _element_class(name)(**arguments).at((0, 0))
    element = element.down().length(LENGTH) if word in UPRIGHT else element.right()
    element = element.flip() if flip else element
    element = element.reverse() if reverse else element
    element = element.scale(SCALED.get(word, 1.0))
    drawing = _drawing()
    return _symbol(drawing, drawing.add(element))


def _symbol(drawing: Any, element: Any) -> Symbol:
    raw = drawing.get_imagedata("svg").decode("utf-8")
    inner = raw[raw.index(">") + 1 : raw.rindex("</svg>")]
    box = element.get_bbox(transform=True)
    anchors = {name: (x * UNIT, -y * UNIT) for name, (x, y) in element.absanchors.items()}
    edges = (box.xmin * UNIT, -box.ymax * UNIT, box.xmax * UNIT, -box.ymin * UNIT)
    return Symbol(_page_colours(inner), edges, anchors)


def _page_colours(svg: str) -> str:
    """Strokes in the page's colour, styles as attributes (a strict style policy forbids style=""), short numbers."""

    def attributes(match: re.Match[str]) -> str:
        entries = dict(entry.split(":", 1) for entry in match.group(1).split(";") if ":" in entry)
        kept = []
        if entries.get("fill", "none") not in ("none", "white"):
            kept.append('fill="currentColor"')
        width = float(entries.get("stroke-width", "2"))
        if width != 2.0:
            kept.append(f'stroke-width="{width * 0.75:g}"')
        return (" " + " ".join(kept)) if kept else ""

    svg = re.sub(r'\s*style="([^"]*)"', attributes, svg)
    svg = re.sub(r"-?\d+\.\d+(?:e-?\d+)?", _short, svg)
    return svg.replace(" />", "/>").strip()


def _short(match: re.Match[str]) -> str:
    text = f"{float(match.group()):.1f}".removesuffix(".0")
    return "0" if text == "-0" else text
