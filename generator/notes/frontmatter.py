"""YAML front matter -> plain data in which every scalar is text, with the place of every key.

One pass over PyYAML's events with a stack of our own: nothing recurses, nothing expands, and no
scalar is guessed at: `no`, `1.20`, `12:30` and `0123` stay as they are written, for each field knows
best what it takes. An empty value, `~` and `null` are "".
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, NamedTuple

from generator.notes.text import (
    character_trouble,
    clean,
    forbidden_in,
    shown,
    unify_line_ends,
    without_forbidden,
)
from generator.notes.yaml_words import in_words
from generator.problems import Problem

Path = tuple[str | int, ...]
Place = tuple[int, int]

NULLS = frozenset({"", "~", "null", "Null", "NULL"})


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


class Split(NamedTuple):
    """A note taken apart. The YAML begins on line 2 of the file, the body on body_line."""

    yaml: str
    body: str
    body_line: int


class FrontMatterError(ValueError):
    """A note has no front matter. line is where that shows."""

    def __init__(self, line: int, what: str, hint: str) -> None:
        super().__init__(f"{what}; {hint}")
        self.line, self.what, self.hint = line, what, hint


def split(text: str) -> Split:
    """A note's text as front matter and body. Raises FrontMatterError where the --- lines are missing."""
    text = unify_line_ends(text)
    first, _, rest = text.partition("\n")
    if first.rstrip() != "---":
        if not text.strip():
            raise FrontMatterError(1, "the note is empty", "`benchlore writeup KIND-OF-DEVICE` starts one")
        if text.lstrip().startswith("---"):
            raise FrontMatterError(1, "the --- must be the very first line", "delete what stands before it")
        raise FrontMatterError(1, "no front matter", "a note begins with a line ---, keys, and another line ---")
    start = 0
    while start <= len(rest):
        end = rest.find("\n", start)
        end = len(rest) if end < 0 else end
        if rest[start:end].rstrip() == "---":
            return Split(rest[:start], rest[end + 1 :], rest.count("\n", 0, start) + 3)
        start = end + 1
    raise FrontMatterError(1, "the front matter has no end", "put a line --- between the keys and the text")


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
        return self._nearest(self.values, path) if path in self.values else self.key(path)

    def _nearest(self, places: dict[Path, Place], path: Path) -> Place:
        while path and path not in places:
            path = path[:-1]
        return places.get(path, (self.first_line, 1))


@dataclass
class Loaded:
    """What was read. complete is False where reading stopped early: what data holds is then right, but not all."""

    data: dict[str, Any]
    marks: Marks
    problems: list[Problem]
    complete: bool = True


def load(yaml_text: str, first_line: int = 1, file: str = "", limits: Limits = NOTE_LIMITS) -> Loaded:
    """Read YAML that holds one mapping. Never raises for what the text holds.

    first_line is the line of the file on which yaml_text begins; file names it in problems.
    """
    import yaml

    text, problems = clean(unify_line_ends(yaml_text), first_line, file)
    builder = _Builder(first_line, file, limits, problems)
    try:
        if len(text) > limits.size:
            builder.stop((first_line, 1), f"{len(text):,} characters of YAML; at most {limits.size:,}")
        for event in yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
            builder.take(event)
    except yaml.YAMLError as error:
        line, column, what, hint = in_words(error, text)
        builder.problem((first_line + line, column + 1), what, hint)
        builder.complete = False
    except _Stop:
        builder.complete = False
    return Loaded(builder.root, builder.marks, builder.problems, builder.complete)


class _Stop(Exception):
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


class _Builder:
    """Takes events one by one and builds the data, the marks and the problems."""

    def __init__(self, first_line: int, file: str, limits: Limits, problems: list[Problem]) -> None:
        self.first_line, self.file, self.limits, self.problems = first_line, file, limits, problems
        self.root: dict[str, Any] = {}
        self.marks = Marks(first_line)
        self.complete = True
        self._stack: list[_Frame] = []
        self._anchors: dict[str, Any] = {}
        self._count = self._aliases = self._documents = 0

    def take(self, event: Any) -> None:
        handler = _HANDLERS.get(type(event).__name__)
        if handler is not None:
            handler(self, event, (event.start_mark.line + self.first_line, event.start_mark.column + 1))

    def problem(self, place: Place, what: str, hint: str = "") -> None:
        self.problems.append(Problem(self.file, place[0], place[1], what, hint))
        if len(self.problems) >= self.limits.problems:
            raise _Stop

    def stop(self, place: Place, what: str, hint: str = "") -> None:
        self.problem(place, what, hint)
        raise _Stop

    def _document(self, event: Any, place: Place) -> None:
        self._documents += 1
        if self._documents > 1:
            self.stop(place, "more than one YAML document", "one is enough: delete what divides them")

    def _scalar(self, event: Any, place: Place) -> None:
        self._refuse_tag(event, place)
        plain = event.implicit[0]
        value = event.value
        if plain and value in NULLS:
            value = ""
        elif event.style == '"' and forbidden_in(value):
            self.problem(place, character_trouble(forbidden_in(value)), "take out the escape that stands for it")
            value = without_forbidden(value)
        if event.anchor:
            self._anchors[event.anchor] = value
        top = self._stack[-1] if self._stack else None
        if top is not None and isinstance(top.container, dict) and top.key is _NO_KEY:
            self._take_key(top, value, place, plain)
        else:
            self._add(value, place)

    def _alias(self, event: Any, place: Place) -> None:
        self._aliases += 1
        name = event.anchor
        if self._aliases > self.limits.aliases:
            self.stop(place, f"more than {self.limits.aliases} aliases (*name)", "write the values out")
        value = self._anchors.get(name, "")
        if name not in self._anchors:
            self.problem(
                place, f"*{shown(name)}: there is no &{shown(name)} before it", "a value that begins with * needs quotes"
            )
        elif value is _COLLECTION:
            self.problem(place, f"*{shown(name)}: only a single value can be used again", "write the list or keys out")
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
            self.problem(place, "a key must be a word, not a list or keys of its own", "put text with braces in quotes")
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
            self.problem(place, f"{shown(key, 30)}: a key of {len(key):,} characters; at most {self.limits.key}")
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
        name = shown(".".join(str(step) for step in top.path or ())) or "here"
        self.stop(place, f"{name}: more than {self.limits.entries:,} entries")

    def _refuse_tag(self, event: Any, place: Place) -> None:
        if event.tag is not None:
            self.problem(place, f"{shown(event.tag)}: a YAML tag; notes have none", "put a value that begins with ! in quotes")


_HANDLERS = {
    "DocumentStartEvent": _Builder._document,
    "ScalarEvent": _Builder._scalar,
    "AliasEvent": _Builder._alias,
    "MappingStartEvent": _Builder._mapping,
    "SequenceStartEvent": _Builder._sequence,
    "MappingEndEvent": _Builder._end,
    "SequenceEndEvent": _Builder._end,
}
