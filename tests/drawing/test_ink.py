"""What is drawn, stroke by stroke: every case of every kind as SVG, taken apart here and held to the rules of drawing.

Nothing is asked of the code but the SVG; how wide letters are says the face that the theme ships, as FreeType reads it.
"""

from __future__ import annotations

import ast
import math
import random
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import ImageFont
from test_drawings import drawings

from generator.circuit import catalogue
from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.drawing import lettering, symbols
from generator.drawing.frame import TitleBlock, framed
from generator.drawing.items import Marks
from generator.drawing.schematic import draw
from generator.drawing.sheet import Sheet
from generator.notation.printed import format_value
from generator.notation.quantity import Quantity

CIRCUIT = str(Path(catalogue.__file__).parent)
TYPE = Path(__file__).resolve().parents[2] / "themes" / "bench" / "static" / "type"
# of the letters' size; the capitals of most sans-serif faces stand 0.7 high, and 0.2 hang below the line
ABOVE, BELOW = 0.7, 0.2
MARGIN = 6.0  # pixels free around all that is drawn; common practice, no source

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom


@dataclass
class Stroke:
    """An unbroken line of a drawing. owner: which symbol it belongs to, 0 for what is wire, chip, terminal or dot."""

    look: str
    points: list[Point]
    owner: int = 0


@dataclass
class Picture:
    """An SVG taken apart."""

    case: str
    box: Box
    strokes: list[Stroke] = field(default_factory=list)
    dots: list[Point] = field(default_factory=list)
    terminals: list[Point] = field(default_factory=list)
    texts: list[tuple[str, Box]] = field(default_factory=list)
    ends: list[tuple[int, Point]] = field(default_factory=list)  # of two-terminal symbols
    rings: list[Box] = field(default_factory=list)


def traced(path: str) -> Iterator[list[Point]]:
    """The unbroken lines of a path of M, L, H, V, A (circles), Z and their small letters; arcs as eight pieces."""
    at, line, command = (0.0, 0.0), [], ""
    tokens = re.findall(r"[A-Za-z]|-?[\d.]+", path)
    while tokens:
        if tokens[0].isalpha():
            command = tokens.pop(0)
        take = {"M": 2, "L": 2, "H": 1, "V": 1, "A": 7, "Z": 0}[command.upper()]
        given = [float(tokens.pop(0)) for _ in range(take)]
        dx, dy = at if command.islower() else (0.0, 0.0)
        match command.upper():
            case "M":
                if len(line) > 1:
                    yield line
                at = given[0] + dx, given[1] + dy
                line = [at]
                command = "l" if command.islower() else "L"
                continue
            case "L":
                to = given[0] + dx, given[1] + dy
            case "H":
                to = given[0] + dx, at[1]
            case "V":
                to = at[0], given[0] + dy
            case "Z":
                to = line[0]
            case "A":
                to = given[5] + dx, given[6] + dy
                line += list(arc(at, to, given[0], bool(given[3]), bool(given[4])))
        line.append(to)
        at = to
    if len(line) > 1:
        yield line


def arc(start: Point, end: Point, radius: float, large: bool, sweep: bool) -> Iterator[Point]:
    """Points of an arc of a circle between its ends (SVG 1.1, appendix F.6.5, for rx = ry)."""
    half = math.dist(start, end) / 2
    radius = max(radius, half)
    middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    off = math.sqrt(max(0.0, radius**2 - half**2)) * (-1 if large == sweep else 1)
    along = (end[0] - start[0]) / (2 * half), (end[1] - start[1]) / (2 * half)
    x, y = middle[0] + off * -along[1], middle[1] + off * along[0]
    first, last = (math.atan2(p[1] - y, p[0] - x) for p in (start, end))
    turn = (last - first) % (2 * math.pi) if sweep else -((first - last) % (2 * math.pi))
    for n in range(1, 16):
        yield x + radius * math.cos(first + turn * n / 16), y + radius * math.sin(first + turn * n / 16)


def bounds(points: list[Point]) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


@cache
def faces() -> tuple[Any, Any]:
    """Both weights of the shipped face, 1000 pixels an em."""
    weights = ("condensed-medium.woff2", "condensed-bold.woff2")
    medium, bold = (
        ImageFont.truetype(TYPE / name, 1000, layout_engine=ImageFont.Layout.BASIC) for name in weights
    )
    return medium, bold


@cache
def advance(letter: str) -> float:
    """Thousandths of an em, in the wider of the two weights."""
    return float(max(face.getlength(letter) for face in faces()))


def taken_apart(case: str, svg: str) -> Picture:
    root = ElementTree.fromstring(svg)
    left, top, width, height = map(float, root.attrib["viewBox"].split())
    found = Picture(case, (left, top, left + width, top + height))

    def walk(element: ElementTree.Element, x: float, y: float, owner: int, failed: bool) -> None:
        a, look = element.attrib, element.attrib.get("class", "")
        match element.tag.rpartition("}")[2]:
            case "g":
                if move := re.fullmatch(r"translate\((.*),(.*)\)", a.get("transform", "")):
                    x, y, owner = x + float(move[1]), y + float(move[2]), owner or 1 + len(found.strokes)
                for child in element:
                    walk(child, x, y, owner, failed or look == "failed")
            case "path" if not failed:
                for line in traced(a["d"]):
                    found.strokes.append(Stroke(look, [(px + x, py + y) for px, py in line], owner))
            case "rect":
                px, py, w, h = (float(a[name]) for name in ("x", "y", "width", "height"))
                corners = [(px, py), (px + w, py), (px + w, py + h), (px, py + h), (px, py)]
                if failed:
                    found.rings.append((px, py, px + w, py + h))
                else:
                    found.strokes.append(Stroke("box", corners, 0))
            case "circle":
                px, py, r = (float(a[name]) for name in ("cx", "cy", "r"))
                if look == "terminal":
                    found.terminals.append((px, py))
                elif not look:
                    found.dots.append((px, py))
                round_ = [
                    (px + r * math.cos(t / 4 * math.pi), py + r * math.sin(t / 4 * math.pi)) for t in range(9)
                ]
                found.strokes.append(Stroke(look or "dot", round_, 0))
            case "text":
                text = "".join(element.itertext())
                wide = sum(map(advance, text)) * lettering.SIZE / 1000
                px = float(a["x"]) - {"middle": wide / 2, "end": wide}.get(a.get("text-anchor", ""), 0.0)
                py = float(a["y"])
                box = px, py - ABOVE * lettering.SIZE, px + wide, py + BELOW * lettering.SIZE
                if text.strip():
                    found.texts.append((text, box))

    for child in root:
        walk(child, 0.0, 0.0, 0, False)
    return found


@pytest.fixture(scope="module")
def blocks() -> list[tuple[str, Block]]:
    """Every case with short, own and long labels."""
    return drawings()


@pytest.fixture(scope="module")
def pictures(blocks: list[tuple[str, Block]]) -> list[Picture]:
    """The same as drawn; those with their own labels also with every part failed."""
    found = []
    for case, block in blocks:
        found.append(taken_apart(case, draw(block, TitleBlock(title="x")).svg))
        if case.endswith("own"):
            marks = Marks(failed=frozenset(block.designators))
            found.append(taken_apart(f"{case} failed", draw(block, TitleBlock(title="x"), marks=marks).svg))
    return found


def pieces(picture: Picture, *left_out: str) -> NDArray[np.float64]:
    """(pieces, 5): both ends of every straight piece of line, and to which symbol it belongs."""
    rows = [
        (*a, *b, stroke.owner)
        for stroke in picture.strokes
        if stroke.look not in left_out
        for a, b in pairwise(stroke.points)
    ]
    return np.array(rows).reshape(-1, 5)


def within(lines: NDArray[np.float64], point: Point, off: float = 0.6) -> NDArray[np.bool_]:
    """Which pieces pass a point at most so many pixels off it."""
    start, along = lines[:, :2], lines[:, 2:4] - lines[:, :2]
    length = (along**2).sum(-1)
    share = ((np.array(point) - start) * along).sum(-1) / np.where(length, length, 1.0)
    foot = start + np.clip(share, 0.0, 1.0)[:, None] * along
    found: NDArray[np.bool_] = np.hypot(*(foot - point).T) <= off
    return found


def crossed(lines: NDArray[np.float64], boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
    """(pieces, boxes): which straight pieces pass through which boxes (the four sides clip the piece in turn)."""
    start, along = lines[:, None, :2], (lines[:, 2:4] - lines[:, :2])[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        near, far = (boxes[None, :, :2] - start) / along, (boxes[None, :, 2:] - start) / along
    inside = (start > boxes[None, :, :2]) & (start < boxes[None, :, 2:])
    enters = np.where(along == 0, np.where(inside, -np.inf, np.inf), np.minimum(near, far))
    leaves = np.where(along == 0, np.inf, np.maximum(near, far))
    found: NDArray[np.bool_] = np.maximum(enters.max(-1), 0.0) < np.minimum(leaves.min(-1), 1.0)
    return found


# --- letters -------------------------------------------------------------------------------------------------


def test_letters_are_as_wide_as_in_the_face() -> None:
    """Every letter of the table against both weights as FreeType reads them, at 1000 pixels an em."""
    letters = (
        "".join(chr(code) for code in (*range(0x20, 0x7F), *range(0xA0, 0x180)) if code != 0xAD)
        + "ΔΩθμπτφ–—‘’“”„•…€™−"
    )
    missing = {face.getlength("\uffff") for face in faces()}
    known = [letter for letter in letters if advance(letter) not in missing]
    assert len(known) > 300
    assert {letter: lettering.width(letter, 1000) for letter in known} == pytest.approx(
        {letter: advance(letter) for letter in known}, abs=1
    )


def met(picture: Picture) -> list[str]:
    """Texts of a drawing that meet another or a line. 2.5 pixels beside a text stay free and 1 above and below (common
    practice, no source); a leader ends at its text."""
    boxes = np.array([box for _text, box in picture.texts])
    wide = boxes + (-2.5, -1.0, 2.5, 1.0)
    bad = [
        f"{picture.case}: a line through {picture.texts[text][0]}"
        for _line, text in np.argwhere(crossed(pieces(picture, "leader"), wide))
    ]
    for left, top, right, bottom in picture.rings:
        corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
        sides = np.array([(*a, *b) for a, b in pairwise(corners)])
        bad += [
            f"{picture.case}: a ring through {picture.texts[text][0]}"
            for _side, text in np.argwhere(crossed(sides, boxes))
        ]
    meet = (boxes[:, None, :2] < wide[None, :, 2:]).all(-1) & (boxes[:, None, 2:] > wide[None, :, :2]).all(-1)
    bad += [
        f"{picture.case}: {picture.texts[one][0]} meets {picture.texts[other][0]}"
        for one, other in np.argwhere(np.triu(meet, 1))
    ]
    return bad


def test_no_text_meets_another_or_a_line(pictures: list[Picture]) -> None:
    assert [bad for picture in pictures for bad in met(picture)] == []


def scattered(chance: random.Random) -> Sheet:
    """A grid of parts that no kind would draw: labels of no to four lines on either side, ports within the grid's edge."""
    sheet, columns, rows = Sheet(), chance.randint(2, 4), chance.randint(2, 4)

    def label(most: int = 4) -> list[str]:
        return ["W" * chance.randint(1, 12) for _ in range(chance.randint(0, most))]

    for column in range(columns):
        for row in range(rows):
            if chance.random() < 0.5:
                sheet.down("resistor", column, row, row + 1, label(), left=chance.random() < 0.3)
        if column and chance.random() < 0.5:
            sheet.across("capacitor", 0, column - 1, column, label())
        if chance.random() < 0.5:
            sheet.tag(column, *label(3))
    for row in range(1, rows + 1):
        for right in (False, True):
            sheet.port(chance.randrange(columns), row, label() or ["W"], right=right)
    return sheet


def test_nothing_meets_wherever_it_is_put() -> None:
    """However parts, ports and names are scattered over a grid: the layout keeps them apart."""
    chance, bad = random.Random(5), []
    for number in range(60):
        sheet = framed(*scattered(chance).drawn(), TitleBlock(title="x"))
        bad += met(taken_apart(str(number), sheet.svg))
    assert bad == []


def test_the_same_room_is_left_on_all_sides(pictures: list[Picture]) -> None:
    """All that is drawn lies MARGIN within the border, and near it on every side, by less than half a line of text."""
    bad = []
    for picture in pictures:
        corners = [point for stroke in picture.strokes for point in stroke.points]
        corners += [point for _text, box in picture.texts for point in (box[:2], box[2:])]
        corners += [point for ring in picture.rings for point in (ring[:2], ring[2:])]
        left, top, right, bottom = bounds(corners)
        edge = picture.box
        free = [left - edge[0], top - edge[1], edge[2] - right, edge[3] - bottom]
        if not all(MARGIN - 0.1 <= room <= MARGIN + 7 for room in free):
            bad.append((picture.case, [round(room, 1) for room in free]))
    assert bad == []


# --- symbols -------------------------------------------------------------------------------------------------

WAYS = ("right", "left", "down", "up")


def every_symbol() -> Iterator[tuple[str, symbols.Symbol]]:
    for word in symbols.TWO_TERMINAL:
        for way in WAYS:
            yield f"{word} {way}", symbols.two_terminal(word, way)
    for word in symbols.DEVICES:
        for flip in (False, True):
            for reverse in (False, True):
                yield f"{word} {flip} {reverse}", symbols.device(word, flip, reverse)


def test_a_symbol_lies_in_the_box_that_it_states() -> None:
    """What stands beside it keeps clear of that box: nothing sticks out of it, and it is no larger than
    what is drawn and 6 pixels."""
    bad = []
    for name, symbol in every_symbol():
        strokes = [line for path in re.findall(r' d="([^"]*)"', symbol.svg) for line in traced(path)]
        left, top, right, bottom = bounds([point for line in strokes for point in line])
        box = symbol.box
        out = [box[0] - left, box[1] - top, right - box[2], bottom - box[3]]
        if not all(-6.0 <= room <= 0.6 for room in out):
            bad.append((name, [round(room, 1) for room in out]))
    assert bad == []


OPEN = ("switch", "button")  # drawn open: the blade's end and the lead after it do not meet


def test_the_leads_of_a_symbol_end_at_its_body() -> None:
    """A lead that stops short of a plate says an open circuit; from a symbol's terminals to its body nothing is missing."""
    bad = []
    for word, way in ((word, way) for word in symbols.TWO_TERMINAL for way in WAYS):
        svg = symbols.two_terminal(word, way).svg
        lines = [Stroke(look, line) for look, path in re.findall(r'<path(?: class="(\w+)")? d="([^"]*)"', svg)
                 for line in traced(path)]  # fmt: skip
        body = pieces(Picture("", (0, 0, 0, 0), [stroke for stroke in lines if not in_line(stroke)]))
        leads = [stroke.points for stroke in lines if in_line(stroke)]
        if not len(body) or len(leads) == 1:
            continue  # the wire passes through, as in a fuse
        inner = [min(line, key=lambda p: math.dist(p, middle(leads))) for line in leads]
        met = [within(body, point, 1.6).any() for point in inner]
        if sum(met) < len(met) - (word in OPEN):
            bad.append((word, way, inner))
    assert bad == []


def in_line(stroke: Stroke) -> bool:
    """Whether a stroke of a two-terminal symbol begins or ends at one of its terminals."""
    ends = {(0, 0), (64, 0), (-64, 0), (0, 64), (0, -64)}
    return any((round(x), round(y)) in ends for x, y in (stroke.points[0], stroke.points[-1]))


def middle(lines: list[list[Point]]) -> Point:
    left, top, right, bottom = bounds([point for line in lines for point in line])
    return (left + right) / 2, (top + bottom) / 2


# --- wires ---------------------------------------------------------------------------------------------------


NO_LINE = ("leader", "solid", "apart", "dot", "terminal")  # what carries no current, and marks


def test_what_is_inked_is_connected(pictures: list[Picture]) -> None:
    """Both ends of every wire, and of every part between two, lie on something else, and a dot joins three lines or more
    (IEC 61082: a dot joins). A transformer's dots mark how it is wound."""
    bad = []
    for picture in pictures:
        lines = pieces(picture, *NO_LINE)
        rows = [stroke for stroke in picture.strokes if stroke.look not in NO_LINE]
        number = np.repeat(np.arange(len(rows)), [len(stroke.points) - 1 for stroke in rows])
        tips = {(point, n) for n, stroke in enumerate(rows) for point in (stroke.points[0], stroke.points[-1])
                if not stroke.owner and not stroke.look}  # fmt: skip
        named = [box for _text, box in picture.texts]
        for point, n in tips:
            if (within(lines, point) & (number != n)).any():
                continue
            if point in picture.terminals or any(beside(point, box) for box in named):
                continue
            if picture.case.startswith("microcontroller"):  # a pin of which the note says nothing has a stub
                continue
            bad.append(f"{picture.case}: a wire ends in the open at {point}")
        for dot in picture.dots:
            here = lines[within(lines, dot)]
            if len(ways(here, dot)) < 3 and (len(here) or not picture.case.startswith("flyback")):
                bad.append(f"{picture.case}: a dot at {dot} joins {ways(here, dot)}")
    assert bad == []


def beside(point: Point, box: Box) -> bool:
    """Whether a text stands level with a point, next to it: the name of a bare end."""
    left, top, right, bottom = box
    return top - 8 < point[1] < bottom + 8 and min(abs(left - point[0]), abs(right - point[0])) < 16


def ways(lines: NDArray[np.float64], point: Point) -> set[int]:
    """The directions in eighths of a turn in which pieces leave a point."""
    found = set()
    for x, y in (*lines[:, :2], *lines[:, 2:4]):
        if math.dist((x, y), point) > 0.8:
            found.add(round(math.atan2(y - point[1], x - point[0]) / math.pi * 4) % 8)
    return found


def test_a_name_over_a_node_stands_at_its_leader(pictures: list[Picture]) -> None:
    """Its thin line runs straight up from the node to the middle of the text and ends under it by less than half a line, and
    the text stands no further above the rest of its row than a line of text (common practice, no source)."""
    bad = []
    for picture in pictures:
        for leader in (stroke for stroke in picture.strokes if stroke.look == "leader"):
            (x, node), (x_top, top) = leader.points
            over = [
                box
                for _text, box in picture.texts
                if abs((box[0] + box[2]) / 2 - x) < 1 and 0 < top - box[3] < 7
            ]
            lines = pieces(picture, "leader")
            lines = lines[(lines[:, [1, 3]] > top).all(-1)]
            highest = min([*lines[:, 1], *(box[1] for _text, box in picture.texts if box[1] > top)])
            if x != x_top or not over or not within(lines, (x, node)).any() or not 3 < highest - top < 15:
                bad.append((picture.case, leader.points, highest - top))
    assert bad == []


# --- signs ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("earthed", (True, False))
def test_protective_earth_is_drawn_once_where_there_is_one(
    blocks: list[tuple[str, Block]], earthed: bool
) -> None:
    """A device of protection class I has its case on protective earth (IEC 61140): each sheet of a part with such a case
    shows it (IEC 60417-5019), once; in class II only that to which Y capacitors go."""
    cases = [(case, block) for case, block in blocks if block.kind.earthed]
    assert {block.kind.name for _case, block in cases} >= {"heater", "universal-motor", "mains-inlet"}
    for case, block in cases:
        svg = draw(block, TitleBlock(title="x"), marks=Marks(earthed=earthed)).svg
        signs = svg.count('<circle class="thin"')
        assert signs == (1 if earthed or block.inputs.get("y_capacitors") else 0), case


@pytest.mark.parametrize("letters", (3, 12, 20, 40))
def test_no_figure_of_a_cut_point_is_cut_off(letters: int) -> None:
    """However long a note's own name is, the figure behind it stands whole, with its unit."""
    kind, name = catalogue.kind("thermistor-divider"), "Wm" * letters
    given = {**kind.example, "cut_points": {name[:letters]: {"temperature": "100 °C"}}}
    block, troubles = build_block("thermistor-divider", given, Mains())
    assert block is not None, troubles
    texts = [text for text, _box in taken_apart("", draw(block, TitleBlock(title="x")).svg).texts]
    told = [text for text in texts if text.startswith("Wm")]
    assert told and all(re.search(r"\d V$", text) for text in told), texts


def test_a_stated_figure_has_no_zeros_behind_its_point(
    blocks: list[tuple[str, Block]], pictures: list[Picture]
) -> None:
    """What a note states stands there as people write it, 12 V and not 12.0 V; computed figures show how exact they are."""
    texts = {picture.case: [text for text, _box in picture.texts] for picture in pictures}
    for case, block in ((case, block) for case, block in blocks if case.endswith("own")):
        computed = {
            format_value(value, own.unit)
            for own in (*block.values.values(), *(v for f in block.failures for v in f.values.values()))
            for value in (own.value, own.low, own.high)
            if value is not None
        }
        for quantity in (own for own in block.inputs.values() if isinstance(own, Quantity) and own.unit):
            long, short = (format_value(quantity.middle, quantity.unit, trim=trim) for trim in (False, True))
            if long != short and long not in computed:
                assert not any(re.search(rf"(?<![\d.]){re.escape(long)}", text) for text in texts[case]), (
                    case,
                    long,
                )


def test_every_statement_that_draws_is_drawn_by_some_case(blocks: list[tuple[str, Block]]) -> None:
    """What no case in tests/kind_cases.py reaches, no test of drawings has looked at."""
    reached: set[tuple[str, int]] = set()

    def followed(frame: Any, event: str, _told: Any) -> Any:
        if CIRCUIT in frame.f_code.co_filename:
            reached.add((frame.f_code.co_filename, frame.f_lineno))
            return followed
        return None

    before = sys.gettrace()
    sys.settrace(followed)
    try:
        for _case, block in blocks:
            if _case.endswith("own"):
                block.kind.draw(block, Sheet())
    finally:
        sys.settrace(before)
    missed = [
        f"{path.name}:{statement.lineno}"
        for path in (Path(catalogue.__file__).parent / "kinds").glob("*.py")
        for function in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(function, ast.FunctionDef) and any(own.arg == "sheet" for own in function.args.args)
        for statement in ast.walk(function)
        if isinstance(statement, (ast.Assign, ast.AugAssign, ast.Return, ast.Expr))
        if not (isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant))
        and (str(path), statement.lineno) not in reached
    ]
    assert missed == []
