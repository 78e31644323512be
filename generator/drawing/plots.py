"""Small plots beside their blocks, as SVG in the page's colours. Labels stand in a column of their own, so that none meets another.

Pixels only: what is drawn comes from generator.circuit.curves, and every number is in the table beside it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from generator.circuit.block import Block
from generator.circuit.curves import Curve, Diagram, Mark
from generator.drawing.lettering import fitted
from generator.drawing.lettering import width as width_at
from generator.drawing.sheet import shortened
from generator.language import _, decimal_mark, localized
from generator.notation.printed import format_band, format_value

# pixels around and of the field in which curves run
LEFT, TOP, WIDE, TALL, FOOT = 46.0, 30.0, 216.0, 150.0, 40.0
LINE = 15.0  # pixels from label to label
SIZE = 12.5  # pixels; of letters, as drawing.css sets them
HAIR = 0.2  # pixels by which a curve may miss a point of it
MOST_MARKS = 8  # labels for which the column beside the field has room; the table has them all
LONGEST_NAME = 14
TICKS = 5


def width(text: str) -> float:
    """Pixels that a text of a plot takes."""
    return width_at(text, SIZE)


def plots(block: Block) -> list[dict[str, str]]:
    """(title, svg) of the diagram of a block, none for most kinds."""
    diagram = block.kind.plot(block)
    return [{"title": _word(diagram.name), "svg": _Plot(diagram).svg()}] if diagram else []


def _word(text: str) -> str:
    """What curves.py calls things, in the language of the site; an author's own name of a cut point as it is."""
    return {
        "current over one mains period": _("The current over one mains period"),
        "inductor current over two periods": _("The inductor's current over two switching periods"),
        "current": _("current"), "load": _("load"),
        "output over temperature": _("Output over temperature"),
        "output over light": _("Output over light"),
        "rail over two mains periods": _("The rail over two mains periods"),
        "capacitor over time": _("The capacitor over time"),
        "half a mains period at the load": _("Half a mains period: what reaches the load"),
        "charging current as the battery fills": _("The charging current as the battery fills"),
        "battery at rest": _("battery at rest"), "now": _("now"),
        "temperature": _("temperature"), "light": _("light"), "time": _("time"), "angle": _("angle"),
        "output": _("output"), "voltage": _("voltage"), "source": _("source"), "rail": _("rail"), "mains": _("mains"),
        "top": _("top"), "mean": _("mean"), "trough": _("trough"), "threshold": _("threshold"), "delay": _("delay"),
        "knob up": _("knob up"), "knob down": _("knob down"), "capacitor": _("capacitor"),
    }.get(text, text)  # fmt: skip


class _Plot:
    """One diagram on its way to SVG."""

    def __init__(self, diagram: Diagram) -> None:
        self.d = diagram
        self.marks = diagram.marks[:MOST_MARKS]
        self.labels = [self._label(mark) for mark in self.marks]
        self.column = max((width(text) for text in self.labels), default=0.0)

    def svg(self) -> str:
        """The diagram with title, description, axes, lines and names."""
        wide = LEFT + WIDE + (self.column + 26 if self.labels else 14)
        tall = TOP + TALL + FOOT
        inside = self._grid() + "".join(self._curve(c) for c in self.d.curves) + self._marks() + self._names()
        title, desc = escape(_word(self.d.name)), escape(self._description())
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="plot" role="img" '
            f'width="{wide:.0f}" height="{tall:.0f}" viewBox="0 0 {wide:.0f} {tall:.0f}">'
            f"<title>{title}</title><desc>{desc}</desc>{inside}</svg>"
        )

    # --- places -------------------------------------------------------------------------------------------------

    def x(self, value: float) -> float:
        """Pixels from the left of a value on the x axis, held inside the plot."""
        low, high = self.d.x[2:]
        share = math.log(value / low) / math.log(high / low) if self.d.log else (value - low) / (high - low)
        return LEFT + WIDE * min(1.0, max(0.0, share))

    def y(self, value: float) -> float:
        """Pixels from the top of a value on the y axis, held inside the plot."""
        low, high = self.d.y[2:]
        return TOP + TALL * (1 - min(1.0, max(0.0, (value - low) / (high - low))))

    # --- pieces -------------------------------------------------------------------------------------------------

    def _grid(self) -> str:
        x_name, x_unit, x_low, x_high = self.d.x
        y_name, y_unit, y_low, y_high = self.d.y
        right, foot = LEFT + WIDE, TOP + TALL
        lines, parts = "", []
        for value in _decades(x_low, x_high) if self.d.log else _ticks(x_low, x_high, x_unit):
            px, text = self.x(value), _figure(value, x_unit, x_high)
            lines += f"M{_n(px)},{TOP:g}V{foot:g}"
            parts.append(_text(px, foot + 15, text, "tick", "middle"))
        for value in _ticks(y_low, y_high):
            py, text = self.y(value), _figure(value, y_unit, y_high)
            lines += f"M{LEFT:g},{_n(py)}H{right:g}"
            parts.append(_text(LEFT - 6, py + 4, text, "tick", "end"))
        parts.insert(0, f'<path class="grid" d="{lines}"/>')
        parts.append(f'<path class="axis" d="M{LEFT:g},{TOP:g}V{foot:g}H{right:g}"/>')
        parts.append(_text(right, foot + 32, _axis(x_name, x_unit, x_high), "name", "end"))
        parts.append(_text(4, 14, _axis(y_name, y_unit, y_high), "name"))
        return "".join(parts)

    def _curve(self, curve: Curve) -> str:
        places = [(self.x(x), self.y(y)) for x, y in curve.points]
        path = " ".join(f"{_n(x)},{_n(y)}" for x, y in _thinned(places))
        aside = " thin" if curve.aside else ""
        if curve.area:
            first, last = self.x(curve.points[0][0]), self.x(curve.points[-1][0])
            return f'<path class="area{aside}" d="M{first:.1f},{TOP + TALL:g} L{path} L{last:.1f},{TOP + TALL:g}Z"/>'
        return f'<path class="curve{aside}" d="M{path}"/>'

    def _names(self) -> str:
        """Which line and which area is which, above the field, where there is more than one."""
        if len(self.d.curves) < 2:
            return ""
        parts, right = [], LEFT + WIDE + (self.column + 18 if self.labels else 0)
        for curve in reversed(self.d.curves):
            text, thin = _word(curve.name), " thin" if curve.aside else ""
            parts.append(_text(right, 14, text, anchor="end"))
            right -= width(text) + 6
            if curve.area:
                parts.append(
                    f'<path class="area{thin}" d="M{right - 18:.1f},5H{right:.1f}V15H{right - 18:.1f}Z"/>'
                )
            else:
                parts.append(f'<path class="curve{thin}" d="M{right - 22:.1f},10H{right:.1f}"/>')
            right -= 34
        return "".join(parts)

    def _marks(self) -> str:
        right = LEFT + WIDE
        rows = _apart([self.y(mark.y) for mark in self.marks], TOP, TOP + TALL)
        parts = []
        for mark, label, row in zip(self.marks, self.labels, rows):
            px, py = self.x(mark.x), self.y(mark.y)
            if mark.level:
                parts.append(f'<path class="level" d="M{LEFT:g},{py:.1f}H{right:g}"/>')
            # from the edge of the field, at the height of the mark: within it a leader would lie on the curve
            parts.append(
                f'<path class="leader" d="M{right - 4:g},{py:.1f}h4L{right + 8:g},{row:.1f}H{right + 14:g}"/>'
            )
            if not math.isnan(mark.x_high):
                reach = self.x(mark.x_high) - px
                parts.append(f'<path class="span" d="M{px - reach:.1f},{py:.1f}H{px + reach:.1f}"/>')
            elif not mark.level:
                parts.append(f'<circle class="point" cx="{px:.1f}" cy="{py:.1f}" r="3.5"/>')
            parts.append(_text(right + 18, row + 4, label))
        return "".join(parts)

    # --- words --------------------------------------------------------------------------------------------------

    def _label(self, mark: Mark) -> str:
        return f"{shortened(_word(mark.name), LONGEST_NAME)} {self._told(mark)}"

    def _told(self, mark: Mark) -> str:
        """What is said of a mark: its height for a level or a moment, else where it lies."""
        name, unit = self.d.x[0], self.d.x[1]
        if mark.level or (name == "time" and mark.name != "delay"):
            return format_value(mark.y, self.d.y[1])
        if not math.isnan(mark.x_high):
            return format_band(2 * mark.x - mark.x_high, mark.x_high, unit)
        return format_value(mark.x, unit)

    def _description(self) -> str:
        (x_name, x_unit, x_low, x_high), (y_name, _unit, _low, _high) = self.d.x, self.d.y
        whole = _("%(y)s against %(x)s, %(low)s to %(high)s.") % {
            "y": _word(y_name), "x": _word(x_name), "low": format_value(x_low, x_unit), "high": format_value(x_high, x_unit),
        }  # fmt: skip
        return " ".join([whole, *(f"{_word(m.name)}: {self._told(m)}." for m in self.d.marks)])


def _text(x: float, y: float, text: str, name: str = "", anchor: str = "") -> str:
    own = (f' class="{name}"' if name else "") + (f' text-anchor="{anchor}"' if anchor else "")
    return f'<text{own} x="{_n(x)}" y="{_n(y)}"{fitted(text, SIZE)}>{escape(text)}</text>'


def _n(value: float) -> str:
    """A length as SVG has it, to a tenth of a pixel."""
    return f"{value:.1f}".removesuffix(".0")


def _axis(name: str, unit: str, high: float) -> str:
    """An axis's name with its unit, as its figures are scaled: "time in ms"."""
    return f"{_word(name)} / {_scale(unit, high)[1]}"


def _scale(unit: str, high: float) -> tuple[float, str]:
    """(what the figures of an axis are divided by, the unit behind them), from how its highest value is printed."""
    if unit in ("°C", "lux", "degree"):
        return 1.0, "°" if unit == "degree" else unit
    text = format_value(high, unit)
    figure, _blank, name = text.rpartition(" ")
    number = float(figure.replace("−", "-").replace(decimal_mark(), ".")) if figure else 0.0
    return high / number if number else 1.0, name


def _figure(value: float, unit: str, high: float) -> str:
    return localized(f"{value / _power(_scale(unit, high)[0]):.4g}".replace("-", "−"))


def _power(size: float) -> float:
    """The nearest of 1, 60, 3600 and the powers of a thousand: what rounding in print made of it, undone."""
    steps = [1.0, 60.0, 3600.0, *(1000.0**n for n in range(-5, 4))]
    return min(steps, key=lambda step: abs(math.log(size / step)))


def _ticks(low: float, high: float, unit: str = "") -> list[float]:
    """Round places from low to high, some five of them; of an angle, eighths of a turn."""
    rough = (high - low) / TICKS
    if unit == "degree":
        return [45.0 * n for n in range(math.ceil(low / 45), math.floor(high / 45) + 1)]
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(size * m for m in (1, 2, 5, 10) if size * m >= rough * 0.999)
    first = math.ceil(low / step - 1e-9)
    return [n * step for n in range(first, math.floor(high / step + 1e-9) + 1)]


def _decades(low: float, high: float) -> list[float]:
    return [
        10.0**n for n in range(math.ceil(math.log10(low) - 1e-9), math.floor(math.log10(high) + 1e-9) + 1)
    ]


def _thinned(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The points that a line needs to lie within HAIR of all of them (Douglas and Peucker, 1973)."""
    kept, waiting = {0, len(points) - 1}, [(0, len(points) - 1)]
    while waiting:
        first, last = waiting.pop()
        (ax, ay), (bx, by) = points[first], points[last]
        long = math.hypot(bx - ax, by - ay) or 1.0
        off = [abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / long for x, y in points[first + 1 : last]]
        if off and max(off) > HAIR:
            middle = first + 1 + off.index(max(off))
            kept.add(middle)
            waiting += [(first, middle), (middle, last)]
    return [points[n] for n in sorted(kept)]


def _apart(places: list[float], low: float, high: float) -> list[float]:
    """Rows for labels, in the order of their places, a line apart, within low and high where there is room."""
    order = sorted(range(len(places)), key=lambda n: (places[n], n))
    rows = [0.0] * len(places)
    at = low - LINE
    for n in order:
        at = rows[n] = max(places[n], at + LINE)
    at = high + LINE
    for n in reversed(order):
        at = rows[n] = min(rows[n], at - LINE)
    return rows
