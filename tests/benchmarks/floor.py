"""The bare cost of the library calls for a generated library: PyYAML, schemdraw, markdown-it-py and jinja2 alone.

No values, bands, failures, search or files: what any program would pay that parses these notes, draws six such
circuits a note, renders the prose and fills a template of the same size.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import jinja2
import schemdraw
import yaml
from markdown_it import MarkdownIt
from schemdraw import elements as elm

# Elements of the six drawings of a generated note, as its own sheets have them: symbols, wires, labels.
DRAWINGS = (
    (
        ("Transformer", 1),
        ("Diode", 4),
        ("Capacitor", 1),
        ("ResistorIEC", 1),
        ("SourceI", 1),
        ("Line", 14),
        ("Label", 9),
    ),
    (("Rect", 1), ("SourceI", 1), ("Line", 6), ("Label", 8)),
    (("ResistorIEC", 1), ("Thermistor", 1), ("Line", 5), ("Label", 8)),
    (("ResistorIEC", 1), ("Button", 1), ("Capacitor", 1), ("Line", 7), ("Label", 8)),
    (("ResistorIEC", 1), ("LED", 1), ("Line", 4), ("Label", 6)),
    (("BjtNpn", 1), ("ResistorIEC", 2), ("Diode", 1), ("Line", 10), ("Label", 10)),
)

PAGE = jinja2.Environment(autoescape=True).from_string(
    "<!doctype html><title>{{ title }}</title>{{ body|safe }}{% for d in drawings %}<figure>{{ d|safe }}</figure>"
    "<table>{% for row in rows %}<tr><th>{{ row.name }}</th><td>{{ row.value }}</td><td>{{ row.band }}</td><td>{{ row.working }}</td></tr>"
    "{% endfor %}</table><table>{% for row in rows %}<tr><td>{{ row.name }}</td><td>{{ row.value }}</td></tr>{% endfor %}</table>{% endfor %}"
)
ROWS = [
    {
        "name": f"value {n}",
        "value": "15.6 V",
        "band": "13.9 to 17.3 V",
        "working": "12 V·√2 − 2·0.7 V = 15.6 V",
    }
    for n in range(10)
]


def _draw(elements: tuple[tuple[str, int], ...]) -> str:
    drawing = schemdraw.Drawing(show=False)
    at = 0.0
    for name, count in elements:
        for _ in range(count):
            element: Any = elm.Label().label("R14 470") if name == "Label" else getattr(elm, name)()
            drawing.add(element.at((at, 0)))
            at += 0.5
    return str(drawing.get_imagedata("svg").decode())


def floor(folder: Path) -> float:
    """Processor seconds of the bare library calls for all notes of a library, in this process."""
    schemdraw.use("svg")
    schemdraw.svgconfig.text = "text"
    markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    start = time.process_time()
    for path in sorted((folder / "notes").iterdir()):
        _, front, body = path.read_text("utf-8").split("---\n", 2)
        data = yaml.load(front, loader)  # noqa: S506 - the safe loader
        drawings = [_draw(elements) for elements in DRAWINGS]
        PAGE.render(title=data["title"], body=markdown.render(body), drawings=drawings, rows=ROWS)
    return time.process_time() - start
