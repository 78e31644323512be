"""Values as YAML on one line, as an author would write them."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from generator.notes.builder import NULLS

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9 .%/+()°µΩ=-]*(?<! )")


def flow(entry: Any) -> str:
    """A value as YAML on one line: text, or lists and keys of text. Text that is YAML flow itself stays."""
    if isinstance(entry, Mapping):
        return "{" + ", ".join(f"{scalar(str(key))}: {flow(value)}" for key, value in entry.items()) + "}"
    if isinstance(entry, (list, tuple)):
        return "[" + ", ".join(flow(value) for value in entry) + "]"
    text = str(entry)
    return text if text[:1] in ("{", "[") else scalar(text)


def scalar(text: str) -> str:
    """Text as a YAML scalar that is read back as the same text, also inside { } and [ ]."""
    if _PLAIN.fullmatch(text) and text not in NULLS:
        return text
    return json.dumps(text, ensure_ascii=False)
