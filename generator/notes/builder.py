"""PyYAML's events, one by one -> data in which every scalar is text, the place of every key, and problems."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

from generator.notes.text import (
    character_trouble,
    forbidden_in,
    out_of_curly_quotes,
    shown,
    without_forbidden,
)
from generator.problems import ERROR, HINT, WARNING, Problem

Path = tuple[str | int, ...]
Place = tuple[int, int]

NULLS = frozenset({"", "~", "null", "Null", "NULL"})

# "lamp #2" in a value: YAML takes what follows the blank for a comment.
_COMMENT = re.compile(r"[ \t]#[^\s#]")
_LOST_AS_COMMENT = re.compile(r"[ \t]+#[^\s#]")  # to be matched at one place only: searching would be slow
# "4,7k" in a list: a whole number, a comma without a blank, digits with a prefix or a unit.
_DECIMAL_COMMA = re.compile(r"[0-9],[0-9]")
_WHOLE_BEFORE = re.compile(r"(?:^|[^0-9.])[0-9]{1,3}$")
_REST_BEHIND = re.compile(r"[0-9]{1,3} ?(?:[kMGmunpµΩRVAFHW]|ohm)")


@dataclass(frozen=True)
class Limits:
    """What hostile or broken input may not exceed. size counts characters, values all keys and values."""

    size: int = 256 * 1024
    depth: int = 20
    aliases: int = 100
    values: int = 20_000
    entries: int = 1_000
    key: int = 100
    problems: int = 200


NOTE_LIMITS = Limits()


@dataclass
class Marks:
    """Where each path of keys and list positions stands: its key, and its value."""

    first_line: int = 1
    keys: dict[Path, Place] = field(default_factory=dict)
    values: dict[Path, Place] = field(default_factory=dict)

    def key(self, path: Path) -> Place:
        """(line, column) of the key, or of the nearest key around it that is known."""
        return self._nearest(self.keys, path)

    def value(self, path: Path) -> Place:
        """(line, column) of the value, or of its key where it has no place of its own."""
        return self._nearest(self.values, path) if path in self.values else self.key(path)

    def _nearest(self, places: dict[Path, Place], path: Path) -> Place:
        while path and path not in places:
            path = path[:-1]
        return places.get(path, (self.first_line, 1))


class Stop(Exception):
    """A limit is passed; what follows is not read."""


_COLLECTION = object()  # what an anchor on a list or a mapping stands for
_NO_KEY = object()  # a mapping waits for its next key
_REFUSED = object()  # the key was refused; its value is read and dropped


class _Frame:
    """A list or mapping that is still open. path is None where it is read only to be dropped."""

    __slots__ = ("container", "key", "path")

    def __init__(self, container: dict[str, Any] | list[Any], path: Path | None) -> None:
        self.container, self.path = container, path
        self.key: Any = _NO_KEY


class Builder:
    """Takes events one by one and builds the data, the marks and the problems."""

    def __init__(
        self, first_line: int, file: str, limits: Limits, problems: list[Problem], text: str
    ) -> None:
        self.first_line, self.file, self.limits, self.problems = first_line, file, limits, problems
        self.root: dict[str, Any] = {}
        self.marks = Marks(first_line)
        self.complete = True
        self._commas = _DECIMAL_COMMA.search(text) is not None
        self._text = text if self._commas or _COMMENT.search(text) else ""
        self._stack: list[_Frame] = []
        self._anchors: dict[str, Any] = {}
        self._last: tuple[Any, Any] | None = None  # container and key of the value put in last
        self._count = self._aliases = self._documents = 0

    def take(self, event: Any) -> None:
        """The next event of the parser. Raises Stop where a limit is passed."""
        handler = _HANDLERS.get(type(event).__name__)
        if handler is not None:
            handler(self, event, (event.start_mark.line + self.first_line, event.start_mark.column + 1))

    def problem(self, place: Place, what: str, hint: str = "", severity: str = ERROR) -> None:
        """Note a problem. Raises Stop where there are too many."""
        self.problems.append(Problem(self.file, place[0], place[1], what, hint, severity))
        if len(self.problems) >= self.limits.problems:
            raise Stop

    def stop(self, place: Place, what: str, hint: str = "") -> None:
        """Note a problem and raise Stop."""
        self.problem(place, what, hint)
        raise Stop

    def drop_last(self) -> None:
        """Take the value that came last out again."""
        if self._last is not None:
            container, key = self._last
            del container[key]
            self._last = None

    def _document(self, event: Any, place: Place) -> None:
        self._documents += 1
        if self._documents > 1:
            self.stop(place, "more than one YAML document", "one is enough: delete what divides them")

    def _scalar(self, event: Any, place: Place) -> None:
        self._refuse_tag(event, place)
        plain = event.implicit[0]
        value = event.value
        if plain and self._text:
            self._remark_comment(event, place)
        if plain and value in NULLS:
            value = ""
        elif plain:
            value = self._without_quotes(value, place)
            self._remark_decimal_comma(event, place)
        elif event.style == '"' and forbidden_in(value):
            hint = "remove the escape sequence"
            self.problem(place, character_trouble(forbidden_in(value)), hint)
            value = without_forbidden(value)
        if event.anchor:
            self._anchors[event.anchor] = value
        top = self._stack[-1] if self._stack else None
        if top is not None and isinstance(top.container, dict) and top.key is _NO_KEY:
            self._take_key(top, value, place, plain)
        else:
            self._add(value, place)

    def _without_quotes(self, value: str, place: Place) -> str:
        """A value without the typographic quotes that a word processor or a phone put around it."""
        bare = out_of_curly_quotes(value)
        if bare != value:
            what = f"{shown(value, 40)}: these quotes are not part of the value and were taken off"
            self.problem(place, what, "straight quotes, \" or ', or none", HINT)
        return bare

    def _remark_decimal_comma(self, event: Any, place: Place) -> None:
        """[R1 4,7k] is a list of two, which nobody means."""
        top = self._stack[-1] if self._stack else None
        if not self._commas or top is None or not isinstance(top.container, list) or not top.container:
            return
        start, before = event.start_mark.index, top.container[-1]
        if (
            self._text[start - 1 : start] == ","
            and isinstance(before, str)
            and _WHOLE_BEFORE.search(before)
            and _REST_BEHIND.match(event.value)
        ):
            what = f"{shown(before, 30)},{shown(event.value, 30)}: the comma makes two entries of this"
            self.problem(place, what, "write a decimal point, or a space after the comma", WARNING)

    def _remark_comment(self, event: Any, place: Place) -> None:
        if found := _LOST_AS_COMMENT.match(self._text, event.end_mark.index):
            lost = self._text[found.end() - 2 :].partition("\n")[0]
            what = f"{shown(lost, 30)} is left out: a space and # begin a comment"
            self.problem(place, what, "put the value in quotes, or a space after #", WARNING)

    def _alias(self, event: Any, place: Place) -> None:
        self._aliases += 1
        name = event.anchor
        if self._aliases > self.limits.aliases:
            self.stop(place, f"more than {self.limits.aliases} aliases (*name)", "write the values out")
        value = self._anchors.get(name, "")
        if name not in self._anchors:
            hint = "a value that begins with * needs quotes"
            self.problem(place, f"*{shown(name)}: there is no &{shown(name)} before it", hint)
        elif value is _COLLECTION:
            what = f"*{shown(name)}: only a single value can be used again"
            self.problem(place, what, "write the list or keys out")
            value = ""
        top = self._stack[-1] if self._stack else None
        if top is not None and isinstance(top.container, dict) and top.key is _NO_KEY:
            self.problem(place, f"*{shown(name)}: a key cannot be an alias", "write the key out")
            top.key = _REFUSED
        else:
            self._add(value, place)

    def _mapping(self, event: Any, place: Place) -> None:
        self._open({}, event, place)

    def _sequence(self, event: Any, place: Place) -> None:
        self._open([], event, place)

    def _end(self, event: Any, place: Place) -> None:
        self._stack.pop()

    def _open(self, container: dict[str, Any] | list[Any], event: Any, place: Place) -> None:
        self._refuse_tag(event, place)
        if len(self._stack) >= self.limits.depth:
            self.stop(place, f"nested deeper than {self.limits.depth} levels")
        if event.anchor:
            self._anchors[event.anchor] = _COLLECTION
        top = self._stack[-1] if self._stack else None
        if top is not None and isinstance(top.container, dict) and top.key is _NO_KEY:
            self._counted(place)
            hint = "put text with braces in quotes"
            self.problem(place, "a key must be a word, not a list or keys of its own", hint)
            top.key = _REFUSED
            self._stack.append(_Frame(container, None))
        else:
            self._stack.append(_Frame(container, self._add(container, place)))

    def _add(self, value: Any, place: Place) -> Path | None:
        """Put a value where it belongs; its path, or None where it is dropped."""
        self._counted(place)
        if not self._stack:
            if isinstance(value, dict):
                self.root = value
                return ()
            if value != "":
                self.problem(place, "keys with values are expected here ('key: value')")
                self.complete = False
            return None
        top = self._stack[-1]
        if isinstance(top.container, list):
            if len(top.container) >= self.limits.entries:
                self._too_many(top, place)
            top.container.append(value)
            key: Any = len(top.container) - 1
        else:
            key, top.key = top.key, _NO_KEY
            if key is _REFUSED:
                return None
            top.container[key] = value
        self._last = (top.container, key)
        if top.path is None:
            return None
        path = (*top.path, key)
        self.marks.values[path] = place
        self.marks.keys.setdefault(path, place)
        return path

    def _take_key(self, top: _Frame, key: str, place: Place, plain: bool) -> None:
        self._counted(place)
        top.key = _REFUSED
        if len(top.container) >= self.limits.entries:
            self._too_many(top, place)
        if key == "<<" and plain:
            self.problem(place, "<<: keys cannot be merged in", "write them out")
        elif len(key) > self.limits.key:
            what = f"{shown(key, 30)}: a key of {len(key):,} characters; at most {self.limits.key}"
            self.problem(place, what)
        elif key in top.container:
            first = self.marks.keys.get((*(top.path or ()), key))
            where = f"; the first is on line {first[0]}, column {first[1]}" if first else ""
            self.problem(place, f"{shown(key)}: given twice{where}", "keep one")
        else:
            top.key = key
            if top.path is not None:
                self.marks.keys[(*top.path, key)] = place

    def _counted(self, place: Place) -> None:
        self._count += 1
        if self._count > self.limits.values:
            self.stop(place, f"more than {self.limits.values:,} keys and values")

    def _too_many(self, top: _Frame, place: Place) -> None:
        name = shown(".".join(str(step) for step in top.path or ())) or "the file"
        self.stop(place, f"{name}: more than {self.limits.entries:,} entries")

    def _refuse_tag(self, event: Any, place: Place) -> None:
        if event.tag is not None:
            name = event.tag.replace("tag:yaml.org,2002:", "!!")
            hint = "put a value that begins with ! in quotes"
            self.problem(place, f"{shown(name)}: a YAML tag; notes have none", hint)


_HANDLERS = {
    "DocumentStartEvent": Builder._document, "ScalarEvent": Builder._scalar, "AliasEvent": Builder._alias,
    "MappingStartEvent": Builder._mapping, "SequenceStartEvent": Builder._sequence,
    "MappingEndEvent": Builder._end, "SequenceEndEvent": Builder._end,
}  # fmt: skip
