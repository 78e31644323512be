"""Drawings in a real browser: no text over text or through a symbol, for every kind, variant and length of label."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from kind_cases import every_case

from generator import language
from generator.circuit import catalogue
from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.circuit.param import Part, Parts
from generator.drawing import symbols
from generator.drawing.frame import TitleBlock
from generator.drawing.items import Marks
from generator.drawing.schematic import draw
from generator.notation.part_classes import CLASSES

STATIC = Path(__file__).resolve().parents[2] / "themes" / "bench" / "static"
CSS = "".join(path.read_text("utf-8") for path in sorted(STATIC.glob("*.css")) if path.name != "print.css")

# Texts whose boxes meet, and texts that a drawn line passes through. Measured from what the browser lays out.
MEASURE = """() => {
  const bad = [];
  for (const sheet of document.querySelectorAll('svg.sheet')) {
    const where = sheet.dataset.case;
    const texts = [...sheet.querySelectorAll('text')].filter((t) => t.textContent.trim());
    const boxes = texts.map((t) => t.getBoundingClientRect());
    const frame = sheet.getBoundingClientRect();
    texts.forEach((text, i) => {
      const a = boxes[i];
      if (a.left < frame.left - 1 || a.right > frame.right + 1 || a.top < frame.top - 1 || a.bottom > frame.bottom + 1)
        bad.push(`${where}: outside the border: ${text.textContent}`);
      for (let j = i + 1; j < texts.length; j += 1) {
        const b = boxes[j];
        if (a.left < b.right - 0.5 && b.left < a.right - 0.5 && a.top + 2.5 < b.bottom - 2.5 && b.top + 2.5 < a.bottom - 2.5)
          bad.push(`${where}: ${text.textContent} over ${texts[j].textContent}`);
      }
    });
    for (const line of sheet.querySelectorAll('.lines path, .lines circle, .lines line, .lines polyline, .lines rect')) {
      const whole = line.getBoundingClientRect();
      const near = boxes.map((b, i) => i).filter((i) => whole.left < boxes[i].right && whole.right > boxes[i].left
        && whole.top < boxes[i].bottom && whole.bottom > boxes[i].top);
      if (!near.length) continue; // to walk along every line would take seconds
      const length = line.getTotalLength(), matrix = line.getScreenCTM();
      for (let at = 0; at <= length; at += 1.5) {
        const p = line.getPointAtLength(at).matrixTransform(matrix);
        const hit = near.find((i) => p.x > boxes[i].left + 0.5 && p.x < boxes[i].right - 0.5 && p.y > boxes[i].top + 2.5 && p.y < boxes[i].bottom - 2.5);
        if (hit !== undefined) { bad.push(`${where}: a line through ${texts[hit].textContent}`); break; }
      }
    }
  }
  return bad;
}"""


def shortest(entry: Any) -> Any:
    """The same parts with nothing but their value: no designator, no rating."""
    return entry


def longest(kind: Any, name: str, entry: Any) -> Any:
    """The same part with a long designator of its own and as many ratings and words as fit into 80 letters."""
    param = kind.param(name)
    place = kind.params.index(param)
    if isinstance(param, Parts) and isinstance(entry, list):
        return [longest_part(param.part, e, f"XYZ{place:02}{n:02}a") for n, e in enumerate(entry)]
    if isinstance(param, Part) and isinstance(entry, str):
        return longest_part(param.part, entry, f"XYZ{place:02}34a")
    return entry


def longest_part(part_class: str, text: str, designator: str) -> str:
    words = text.split()
    if words[0][:1].isalpha() and words[0][-1:].isdigit() and len(words[0]) <= 6:
        words = words[1:]
    units = CLASSES[part_class].rating_units if part_class in CLASSES else ()
    ratings = [
        {"V": "1000V", "A": "12.5A", "W": "0.125W"}[u] for u in units if not any(w.endswith(u) for w in words)
    ]
    return " ".join([designator, *words, *ratings, "flameproof"])[:80]


def without_designator(entry: Any) -> Any:
    if isinstance(entry, str):
        words = entry.split()
        if (
            len(words) > 1
            and words[0][:1].isupper()
            and words[0][-1:].isdigit()
            and words[0][1:2]
            and not words[0][0].isdigit()
        ):
            return " ".join(words[1:])
    return entry


def drawings() -> list[tuple[str, Block]]:
    """Every example and variant, with its own, its shortest and its longest labels."""
    found = []
    for number, (name, given) in enumerate(every_case()):
        kind = catalogue.kind(name)
        versions = {
            "own": given,
            "short": {k: without_designator(v) for k, v in given.items()},
            # positions name the elements, which have other designators here
            "long": {k: longest(kind, k, v) for k, v in given.items() if k != "positions"},
        }
        if given == kind.example:
            versions["also"] = {
                **given,
                "also": ["C98 100n from one to two", "Q99 npn hfe100 from one two common"],
            }
        for length, parameters in versions.items():
            block, troubles = build_block(name, parameters, Mains())
            if block is None and length == "short":
                continue  # a kind whose part needs its designator
            assert block is not None, (name, length, troubles)
            found.append((f"{name} {number} {length}", block))
    return found


@pytest.fixture(params=[pytest.param("en", marks=pytest.mark.slow), "de"])  # German is the longer one
def in_language(request: pytest.FixtureRequest) -> Iterator[str]:
    """Words of other lengths."""
    language.use(request.param)
    yield request.param
    language.use("en")


@pytest.mark.browser
def test_no_text_meets_another_or_a_line(browser: Any, tmp_path: Path, in_language: str) -> None:
    """Every kind, every variant, short and long labels, box and zig-zag resistors, in every language there is."""
    chance = random.Random(7)
    sheets = []
    for case, block in drawings():
        frame = TitleBlock(
            title=block.kind.title,
            kind="Example",
            owner="Somebody",
            number="note",
            sheet="1/1",
            date="2026-03-14",
            key=f"k{len(sheets)}",
        )
        svg = draw(block, frame, zigzag=chance.random() < 0.3).svg
        sheets.append(svg.replace("<svg ", f'<svg data-case="{case}" ', 1))
    assert len(sheets) > 2 * len(catalogue.names())
    page = tmp_path / "sheets.html"
    page.write_text(
        f'<!doctype html><meta charset="utf-8"><style>{CSS}</style>' + "".join(sheets), encoding="utf-8"
    )
    tab = browser.new_page(viewport={"width": 1400, "height": 900})
    tab.goto(page.as_uri())
    bad = tab.evaluate(MEASURE)
    tab.close()
    assert bad == []


@pytest.mark.browser
def test_the_measure_sees_an_overlap(browser: Any, tmp_path: Path) -> None:
    """The test above can fail: two texts on one another and a line through a text are found."""
    page = tmp_path / "bad.html"
    page.write_text(
        '<svg class="sheet" data-case="bad" width="200" height="100">'
        '<g class="lines"><path d="M0,50 L200,50" stroke="black"/></g><text x="20" y="54">R1</text><text x="24" y="56">R2</text></svg>',
        encoding="utf-8",
    )
    tab = browser.new_page()
    tab.goto(page.as_uri())
    bad = tab.evaluate(MEASURE)
    tab.close()
    assert any("over" in entry for entry in bad) and any("line through" in entry for entry in bad)


def test_what_else_is_soldered_there_stands_on_the_sheet() -> None:
    """Parts of `also` are computed with the block (C98 between plus and common), so they are drawn with it."""
    given = {**catalogue.kind("transformer-supply").example, "also": ["C98 100n from plus to common"]}
    block, troubles = build_block("transformer-supply", given, Mains())
    assert block is not None, troubles
    svg = draw(block, TitleBlock(title="x"), marks=Marks(failed=frozenset({"C98"}))).svg
    assert 'data-ref="C98"' in svg and ">100 nF<" in svg and ">plus<" in svg
    assert 'class="failed"' in svg, "and is ringed where it failed"


@pytest.mark.parametrize("first", (True, False))
def test_a_block_of_the_same_values_has_not_what_is_soldered_to_another(first: bool) -> None:
    """What the drawing of one board is must not depend on which was drawn before: C98 stands on its own block's sheet."""
    given = {**catalogue.kind("transformer-supply").example, "bleeder": f"R{7 + first} 27k"}
    drawn = {}
    for also in (first, not first):
        more = {"also": ["C98 100n from plus to common"]} if also else {}
        block, troubles = build_block("transformer-supply", {**given, **more}, Mains())
        assert block is not None, troubles
        drawn[also] = draw(block, TitleBlock(title="x")).svg
    assert ">C98<" in drawn[True] and ">C98<" not in drawn[False]


@pytest.mark.parametrize("name", catalogue.names())
def test_every_stated_part_is_labelled(name: str) -> None:
    """Each designator of the example stands on the drawing, and two renders are the same bytes."""
    block, troubles = build_block(name, dict(catalogue.kind(name).example), Mains())
    assert block is not None, troubles
    svg = draw(block, TitleBlock(title="x")).svg
    assert svg == draw(block, TitleBlock(title="x")).svg
    for part in block.parts:
        if part.designator:
            assert f'data-ref="{part.designator}"' in svg
    assert 'style="' not in svg and "<title" in svg and "<desc" in svg


@pytest.mark.parametrize("way", ["right", "left", "down", "up"])
@pytest.mark.parametrize("word", ["motor", "dc motor", "mains"])
def test_letters_stand_in_the_middle_of_their_ring(word: str, way: str) -> None:
    """Whichever way the part lies: letters stay upright, so what moves them in it must not turn with it."""
    symbol = symbols.two_terminal(word, way)
    letters = re.findall(r' d="([^"]+)"', symbol.svg)[-1]
    across = [float(x) for x in re.findall(r"[ML ](-?[\d.]+),", letters)]
    middle = {"right": 32, "left": -32}.get(way, 0)  # half of two units of 32 pixels
    assert (min(across) + max(across)) / 2 == pytest.approx(middle)
