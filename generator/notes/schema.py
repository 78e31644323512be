"""The JSON Schema of a note's front matter (draft 2020-12), for editors: keys complete, and slips show while typing.

It holds what keys there are and of which shape; whether a value can be read, and whether blocks fit, `inspect` tells.
"""

from __future__ import annotations

from typing import Any

from generator.circuit import catalogue
from generator.circuit.block import Kind
from generator.circuit.param import Cells, Choice, CutPoints, Keys, Param
from generator.circuit.param.base import Listed
from generator.language import _
from generator.notes import keys
from generator.notes.keys import Key, Section

DRAFT = "https://json-schema.org/draft/2020-12/schema"
SCALAR = ["string", "number", "boolean"]  # 12, 2017 and true are text to a note
PLACE: dict[str, Any] = {"type": SCALAR}


def schema(of: str = "note") -> dict[str, Any]:
    """The schema of a note's front matter, or of library.yaml ("library")."""
    root = keys.section(of)
    found = {"$schema": DRAFT, "title": "benchlore: " + root.title, **_section(root)}
    reached = {
        section.name: _section(section)
        for section in keys.sections()
        if section.name not in ("note", "library")
    }
    found["$defs"] = reached
    if of == "note":
        found["$defs"] |= {"block": _any_block()}
        found["$defs"] |= {f"block-{name}": _block(catalogue.kind(name)) for name in catalogue.names()}
    return found


def _section(section: Section) -> dict[str, Any]:
    found: dict[str, Any] = {
        "type": "object",
        "properties": {key.name: _key(key) for key in section.keys},
        "additionalProperties": False,
    }
    if required := [key.name for key in section.keys if key.required]:
        found["required"] = required
    if section.name == "reading":
        found["oneOf"] = [{"required": [where]} for where in ("at", "across", "ohms", "diode")]
    if either := {"fitted": ("part", "with"), "board": ("top", "bottom")}.get(section.name):
        found["anyOf"] = [{"required": [name]} for name in either]
    return found


def _key(key: Key) -> dict[str, Any]:
    return {"description": f"{key.what}\n{_('Example')}: {key.name}: {key.example}", **_shape(key)}


def _shape(key: Key) -> dict[str, Any]:
    inside = {"$ref": f"#/$defs/{key.section}"}
    line: dict[str, Any] = {"type": SCALAR if key.required else [*SCALAR, "null"]}
    lines = {"type": "array", "items": {"type": SCALAR}}
    shapes: dict[str, dict[str, Any]] = {
        "text": line,
        "choice": {**line, "examples": list(key.choices), "pattern": _any_case(key.choices)},
        "texts": lines,
        "text or texts": {"oneOf": [{"type": SCALAR}, {**lines, "minItems": 2, "maxItems": 2}]},
        "section": inside,
        "sections": {"type": "array", "items": inside},
        "links": {"type": "array", "items": {"oneOf": [{"type": "string"}, inside]}},
        "named": {"type": "object", "additionalProperties": PLACE},
        "named texts": {"type": "object", "additionalProperties": {"type": "array", "items": {"type": [*SCALAR, "null"]}}},
        "lists": {"type": "array", "items": {"type": "array", "items": PLACE, "minItems": 2}},
        "blocks": {"type": "object", "propertyNames": {"pattern": "^[A-Za-z][A-Za-z0-9_-]{0,39}$"},
                   "additionalProperties": {"$ref": "#/$defs/block"}},
        "states": {"type": "object", "additionalProperties": {
            "type": ["object", "null"], "properties": {"on": {"oneOf": [lines, {"type": "string"}], "description": _("the blocks that are driven")}},
            "additionalProperties": PLACE,
        }},
    }  # fmt: skip
    shape = dict(shapes[key.shape])
    if key.suggested:
        shape["examples"] = list(key.suggested)
    return shape


def _any_case(choices: tuple[str, ...]) -> str:
    """A pattern for the choices whatever their case, as the reader takes them."""
    if not choices:
        return ""
    either = (
        "".join(f"[{c.lower()}{c.upper()}]" if c.isalpha() else c for c in choice) for choice in choices
    )
    return f"^(?:[cC][lL][aA][sS][sS] ?)?(?:{'|'.join(either)})$"


def _any_block() -> dict[str, Any]:
    kinds = list(catalogue.names())
    return {
        "type": "object",
        "required": ["kind"],
        "properties": {"kind": {"enum": kinds, "description": _("what kind of circuit block it is")}},
        "allOf": [
            {"if": {"properties": {"kind": {"const": name}}, "required": ["kind"]}, "then": {"$ref": f"#/$defs/block-{name}"}}
            for name in kinds
        ],
    }  # fmt: skip


def _block(kind: Kind) -> dict[str, Any]:
    properties: dict[str, Any] = {"kind": {"const": kind.name, "description": _(kind.what)}}
    for param in kind.params:
        properties[param.name] = {"description": _described(kind, param), **_parameter(param)}
    also = _("further parts that are soldered there: part, from net to net")
    properties["also"] = {"description": also, "type": ["array", "string"], "items": {"type": "string"}}
    return {"properties": properties, "additionalProperties": False}


def _described(kind: Kind, param: Param) -> str:
    text = f"{_(param.what)} ({param.accepts()})"
    if param.required:
        text += "; " + _("needed")
    elif default := param.default.words():
        text += "; " + _("default: %(default)s") % {"default": default}
    example = kind.example.get(param.name)
    return text + (f"\n{_('Example')}: {param.name}: {example}" if isinstance(example, str) else "")


def _parameter(param: Param) -> dict[str, Any]:
    if isinstance(param, (CutPoints, Keys)):
        return {"type": "object"}
    if isinstance(param, (Listed, Cells)):
        return {"type": ["array", *SCALAR]}
    shape: dict[str, Any] = {"type": [*SCALAR, "null"]}
    if isinstance(param, Choice):
        shape["examples"] = list(param.choices)
    return shape
