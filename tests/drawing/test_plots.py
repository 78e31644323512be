"""Plots as drawn, taken apart: every curve, mark and figure stands where its value belongs, and no text on another."""

from __future__ import annotations

import math
import re
from itertools import combinations, pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
from kind_cases import every_case
from test_ink import ABOVE, BELOW, Point, advance, pieces, taken_apart, within

from generator.circuit.circuit import Mains, build_block
from generator.circuit.curves import Diagram
from generator.drawing.plots import _thinned, plots

SIZE = 12.5  # pixels of letters, as the style sheet sets them
SCALES = [1000.0**n for n in range(-5, 4)] + [60.0, 3600.0]  # an axis in µs, in kΩ, in minutes, in hours

Drawn = tuple[str, Diagram, ElementTree.Element]


@pytest.fixture(scope="module")
def drawn() -> list[Drawn]:
    """Every diagram of every case of every kind, with what is drawn of it."""
    found = []
    for number, (name, given) in enumerate(every_case()):
        block, _troubles = build_block(name, given, Mains())
        if block is not None and (diagram := block.kind.plot(block)) is not None:
            found.append((f"{name} {number}", diagram, ElementTree.fromstring(plots(block)[0]["svg"])))
    assert len({case.partition(" ")[0] for case, _diagram, _svg in found}) > 8
    return found


def look(svg: ElementTree.Element, name: str) -> list[dict[str, str]]:
    return [own.attrib for own in svg.iter() if own.attrib.get("class", "").partition(" ")[0] == name]


def field(svg: ElementTree.Element) -> tuple[float, float, float, float]:
    """Left, top, right and foot of where curves run: the two axes."""
    left, top, foot, right = map(float, re.findall(r"[\d.]+", look(svg, "axis")[0]["d"]))
    return left, top, right, foot


def placed(diagram: Diagram, svg: ElementTree.Element, x: float, y: float) -> Point:
    """Where a value belongs: the ends of the axes are their lowest and highest values, even or in decades between."""
    (left, top, right, foot), (low, high), (least, most) = field(svg), diagram.x[2:], diagram.y[2:]
    across = math.log(x / low) / math.log(high / low) if diagram.log else (x - low) / (high - low)
    return left + across * (right - left), foot - (y - least) / (most - least) * (foot - top)


def test_curves_and_marks_stand_where_their_values_belong(drawn: list[Drawn]) -> None:
    """A curve within half a pixel of each of its points, a level and a point within a tenth."""
    for case, diagram, svg in drawn:
        strokes = pieces(
            taken_apart(case, ElementTree.tostring(svg, "unicode")), "axis", "grid", "leader", "level"
        )
        for curve in diagram.curves:
            for x, y in curve.points[:: max(1, len(curve.points) // 40)]:
                assert within(strokes, placed(diagram, svg, x, y), 0.5).any(), (case, curve.name, x, y)
        levels = [float(own["d"].partition(",")[2].partition("H")[0]) for own in look(svg, "level")]
        points = [(float(own["cx"]), float(own["cy"])) for own in look(svg, "point")]
        wanted = [mark for mark in diagram.marks[:8] if mark.level]
        assert levels == pytest.approx([placed(diagram, svg, diagram.x[3], m.y)[1] for m in wanted], abs=0.1)
        wanted = [mark for mark in diagram.marks[:8] if not mark.level and math.isnan(mark.x_high)]
        assert np.ravel(points) == pytest.approx(
            np.ravel([placed(diagram, svg, m.x, m.y) for m in wanted]), abs=0.1
        ), case


def test_the_figures_of_an_axis_stand_at_their_values(drawn: list[Drawn]) -> None:
    """Figure by figure in one unit: of all that an axis can be scaled by, one fits every figure of it."""
    for case, diagram, svg in drawn:
        ticks = [own for own in svg.iter() if own.attrib.get("class") == "tick"]
        for anchor, axis, which in (("middle", diagram.x, 0), ("end", diagram.y, 1)):
            own = [tick for tick in ticks if tick.attrib["text-anchor"] == anchor]
            figures = [float((tick.text or "").replace("−", "-")) for tick in own]
            places = [float(tick.attrib["x" if which == 0 else "y"]) - 4 * which for tick in own]
            assert len(own) >= 2, (case, axis)
            off = []
            for scale in SCALES:
                values = [figure * scale for figure in figures]
                if diagram.log and not which and min(values) <= 0:
                    continue
                there = [
                    placed(diagram, svg, *((v, axis[2]) if not which else (diagram.x[3], v))) for v in values
                ]
                off.append(max(abs(at[which] - place) for at, place in zip(there, places)))
            assert min(off) < 0.6, (case, axis, figures)
            if diagram.log and not which:
                decades = [n for n in range(-12, 12) if axis[2] * 0.999 <= 10.0**n <= axis[3] * 1.001]
                assert len(own) == len(decades), (case, figures)


def test_a_mark_lies_on_a_curve(drawn: list[Drawn]) -> None:
    """Whatever is marked at a point is read off a curve there, and a trough is its lowest place."""
    for case, diagram, _svg in drawn:
        high = max(y for curve in diagram.curves for _x, y in curve.points)
        low = min(y for curve in diagram.curves for _x, y in curve.points)
        for mark in diagram.marks:
            if mark.level or not math.isnan(mark.x_high):
                continue
            curves = [np.array(curve.points) for curve in diagram.curves]
            off = []
            for c in curves:  # between its neighbours, which a step has far apart
                after = min(int(np.searchsorted(c[:, 0], mark.x)), len(c) - 1)
                beside = c[max(0, after - 1) : after + 2, 1]
                off.append(max(beside.min() - mark.y, mark.y - beside.max(), 0.0))
            assert min(off) <= 0.006 * (high - low), (case, mark)
            if mark.name == "trough":
                here = [c for c, far in zip(curves, off) if far <= 0.006 * (high - low)]
                assert any(c[:, 1].min() >= mark.y - 0.006 * (high - low) for c in here), (case, mark)


def test_a_mark_tells_how_high_it_is_or_where(drawn: list[Drawn]) -> None:
    """A level and what happens at a moment tell their height; a delay and a mark over anything else tell where they lie."""
    for case, diagram, svg in drawn:
        texts = [
            own.text or "" for own in svg.iter() if own.tag.endswith("text") and "class" not in own.attrib
        ]
        for mark in diagram.marks[:8]:
            height = mark.level or (diagram.x[0] == "time" and mark.name != "delay")
            unit = {"ohm": "Ω", "degree": "°"}.get(own := diagram.y[1] if height else diagram.x[1], own)
            named = [text for text in texts if text.startswith(mark.name[:8])]
            assert any(text.endswith(unit) for text in named), (case, mark, texts)


def test_a_straight_line_is_drawn_from_end_to_end() -> None:
    """Points on a line say nothing (Douglas and Peucker, 1973); the corner of an angle stays."""
    assert _thinned([(n, 2.0 * n) for n in range(20)]) == [(0, 0.0), (19, 38.0)]
    corner = [(float(n), float(abs(n - 5))) for n in range(11)]
    assert _thinned(corner) == [corner[0], corner[5], corner[10]]


def test_a_thinned_curve_lies_within_a_hair_of_all_its_points() -> None:
    """Random walks: no point is further than a fifth of a pixel from the line that stands for it, by the textbook's distance of
    a point from a line; the ends stay, and of a gentle curve only few points."""
    chance = np.random.default_rng(3)
    for number in range(20):
        points = [
            (float(n), float(y))
            for n, y in enumerate(np.cumsum(chance.normal(0, (0.05, 0.3, 4.0)[number % 3], 60)))
        ]
        kept = _thinned(points)
        assert kept[0] == points[0] and kept[-1] == points[-1]
        for (ax, ay), (bx, by) in pairwise(kept):
            for x, y in points[int(ax) : int(bx)]:
                assert (
                    abs((by - ay) * (x - ax) - (bx - ax) * (y - ay)) / math.dist((ax, ay), (bx, by))
                    <= 0.2 + 1e-9
                )
    arc = [(100 * math.cos(n / 100), 100 * math.sin(n / 100)) for n in range(157)]
    assert len(_thinned(arc)) < 30


def test_no_text_of_a_plot_meets_another(drawn: list[Drawn]) -> None:
    """By the widths of the shipped face, but for a pixel of what hangs below a line; and all lie within the picture."""
    for case, _diagram, svg in drawn:
        _left, _top, wide, tall = map(float, svg.attrib["viewBox"].split())
        boxes = []
        for own in svg.iter():
            if own.tag.endswith("text"):
                text, x, y = own.text or "", float(own.attrib["x"]), float(own.attrib["y"])
                width = sum(map(advance, text)) * SIZE / 1000
                x -= {"middle": width / 2, "end": width}.get(own.attrib.get("text-anchor", ""), 0.0)
                boxes.append((text, x, y - ABOVE * SIZE, x + width, y + BELOW * SIZE))
        for text, left, top, right, bottom in boxes:
            assert left >= -0.5 and top >= -0.5 and right <= wide + 0.5 and bottom <= tall + 0.5, (case, text)
        for one, other in combinations(boxes, 2):
            apart = (
                one[3] <= other[1] or other[3] <= one[1] or one[4] <= other[2] + 1 or other[4] <= one[2] + 1
            )
            assert apart, (case, one[0], other[0])
