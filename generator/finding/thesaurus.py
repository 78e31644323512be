"""The words people use: which of them mean the same, and what a description says the thing does.

Three levels, all from symptoms.yaml. A word group is one idea in many words (=heat: heats, heizt,
chauffe). A symptom (~no heat) and a device (@kettle) are phrases over such words. The names become
terms of the index beside the words themselves.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

from generator.files import Unreadable, read_file
from generator.finding import words
from generator.notes.text import printable
from generator.problems import Problem, did_you_mean

SECTIONS = ("words", "symptoms", "devices", "stop")
SIGNS = {"words": "=", "symptoms": "~", "devices": "@"}
LARGEST_FILE = 1 << 20  # bytes of a library's own symptoms.yaml
NOT = "=not"  # the word group of negations
SKIP = 2  # other words that may stand between two words of a phrase
ALIKE = 0.8  # how like a known word an unknown one must be to stand for it
SHORTEST_ALIKE = 4  # characters; shorter words are too like one another


@dataclass
class Thesaurus:
    """groups: word -> names of its groups; phrases: name -> its phrases as tuples of words; stop: words."""

    groups: dict[str, tuple[str, ...]] = field(default_factory=dict)
    phrases: dict[str, tuple[tuple[str, ...], ...]] = field(default_factory=dict)
    stop: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        known = set(self.groups)
        self._by_first: dict[str, list[tuple[str, tuple[frozenset[str], ...]]]] = {}
        for name, phrases in self.phrases.items():
            for phrase in phrases:
                known.update(phrase)
                # A device is named by its own words: "warm" does not name a heater.
                own = name.startswith(SIGNS["devices"])
                elements = tuple(
                    frozenset((word,) if own else (word, *self.groups.get(word, ()))) for word in phrase
                )
                for symbol in elements[0]:
                    self._by_first.setdefault(symbol, []).append((name, elements))
        self._known = known
        self.resolve = lru_cache(maxsize=None)(self._resolve)
        self.symbols = lru_cache(maxsize=None)(self._symbols)

    def __reduce__(self) -> tuple[Any, ...]:
        """What another process needs: it has a memory of its own for what it resolved."""
        return Thesaurus, (self.groups, self.phrases, self.stop)

    @cached_property
    def key(self) -> str:
        """Changes with anything in it."""
        return hashlib.sha256(repr(self.as_data()).encode("utf-8", "surrogateescape")).hexdigest()

    @cached_property
    def _by_length(self) -> dict[int, list[tuple[str, int]]]:
        """Length -> the known words of that length, each with its letters as bits."""
        lists: dict[int, list[tuple[str, int]]] = {}
        for word in sorted(self._known):
            if len(word) >= SHORTEST_ALIKE:
                lists.setdefault(len(word), []).append((word, words.letters(word)))
        return lists

    def _resolve(self, token: str) -> str:
        """The known word that a token is or most resembles; the token itself where none is like it."""
        if token in self._known or token in self.stop or len(token) < SHORTEST_ALIKE:
            return token
        bits = words.letters(token)
        best, like = token, ALIKE
        # Words this alike are of nearly one length and have nearly all letters in common.
        for length in range(len(token) * 2 // 3, len(token) * 3 // 2 + 1):
            for word, other in self._by_length.get(length, ()):
                if (bits & ~other).bit_count() <= 1 + len(token) // 4 and (
                    other & ~bits
                ).bit_count() <= 1 + length // 4:
                    likeness = words.similarity(token, word)
                    if likeness > like or (likeness == like and (best == token or word < best)):
                        best, like = word, likeness
        return best

    def _symbols(self, token: str) -> frozenset[str]:
        word = self.resolve(token)
        return frozenset((token, word, *self.groups.get(word, ())))

    def content(self, tokens: Iterable[str]) -> list[str]:
        """The tokens without stop words."""
        return [token for token in tokens if token not in self.stop]

    def word_groups(self, token: str) -> tuple[str, ...]:
        """Names of the word groups that a token belongs to, typos allowed for."""
        return self.groups.get(self.resolve(token), ())

    def named(self, clause: list[str]) -> list[str]:
        """The symptoms and devices that a clause without stop words names, in the order of the alphabet.

        What is said inside a longer phrase is not meant: "stuck on" is not "stuck", "geht nicht aus" is not "geht nicht".
        """
        seen = [self.symbols(token) for token in clause]
        said: dict[tuple[str, tuple[int, ...]], None] = {}
        for start, symbols in enumerate(seen):
            for name, elements in [entry for symbol in symbols for entry in self._by_first.get(symbol, ())]:
                places = _places(seen, start, elements)
                if places:
                    said[name, places] = None
        return sorted({name for name, places in said if not _within(name, places, said)})

    def longest(self, name: str, clause: list[str]) -> int:
        """Of how many words the longest phrase of a symptom is that a clause without stop words says; 0 for none."""
        seen = [self.symbols(token) for token in clause]
        for phrase in sorted(self.phrases.get(name, ()), key=len, reverse=True):
            elements = tuple(frozenset((word, *self.groups.get(word, ()))) for word in phrase)
            if any(
                symbols & elements[0] and _places(seen, start, elements) for start, symbols in enumerate(seen)
            ):
                return len(phrase)
        return 0

    def as_data(self) -> dict[str, Any]:
        """All of it as the browser gets it: words joined by blanks, phrases by commas."""
        members: dict[str, list[str]] = {}
        for word, names in sorted(self.groups.items()):
            for name in names:
                members.setdefault(name, []).append(word)
        return {
            "stop": " ".join(sorted(self.stop)),
            "words": {name: " ".join(members[name]) for name in sorted(members)},
            "phrases": {
                name: ",".join(" ".join(p) for p in self.phrases[name]) for name in sorted(self.phrases)
            },
            "skip": SKIP,
            "alike": ALIKE,
            "shortest": SHORTEST_ALIKE,
            "not": NOT,
        }


def from_data(data: Mapping[str, Any]) -> Thesaurus:
    """The thesaurus that as_data() was made from."""
    groups: dict[str, tuple[str, ...]] = {}
    for name, members in data["words"].items():
        for word in members.split(" "):
            groups[word] = (*groups.get(word, ()), name)
    phrases = {
        name: tuple(tuple(p.split(" ")) for p in text.split(",")) for name, text in data["phrases"].items()
    }
    return Thesaurus(groups, phrases, frozenset(data["stop"].split(" ")))


def _places(seen: list[frozenset[str]], start: int, elements: tuple[frozenset[str], ...]) -> tuple[int, ...]:
    """Where the elements stand that follow one another from start on, with at most SKIP words between two; () if they do not.

    A negation is never skipped: "does not go off" is not "goes off".
    """
    places = [start]
    for element in elements[1:]:
        at = places[-1]
        for step in range(at + 1, min(at + 2 + SKIP, len(seen))):
            if seen[step] & element:
                places.append(step)
                break
            if NOT in seen[step]:
                return ()
        else:
            return ()
    return tuple(places)


def _within(name: str, places: tuple[int, ...], said: Iterable[tuple[str, tuple[int, ...]]]) -> bool:
    """Whether all words of a phrase, and not only they, make up a phrase of another name of the same sort."""
    return any(
        len(other) > len(places) and others != name and others[0] == name[0] and set(places) < set(other)
        for others, other in said
    )


def load(own: Path | None = None) -> tuple[Thesaurus, list[Problem]]:
    """The thesaurus of the package with a library's own file added, and what is wrong with that file.

    What is wrong is left out of the thesaurus; the rest is used.
    """
    text = ""
    file = printable(str(own))
    if own is not None and os.path.lexists(own):
        try:
            text = read_file(own, LARGEST_FILE).decode("utf-8")
        except Unreadable as error:
            return default(), [Problem(file, 0, 0, error.what, error.hint)]
        except UnicodeDecodeError:
            return default(), [Problem(file, 0, 0, "not UTF-8", "save it as UTF-8 text")]
    known, problems = _with_own(text, file)
    return known, list(problems)


@lru_cache(maxsize=2)  # `live` builds again and again from the same words
def _with_own(text: str, file: str) -> tuple[Thesaurus, tuple[Problem, ...]]:
    layer, problems = read(text, file)
    return build([_package(), layer]), tuple(problems)


@lru_cache(maxsize=1)
def _package() -> dict[str, dict[str, list[str]]]:
    path = Path(__file__).with_name("symptoms.yaml")
    return read(path.read_text("utf-8"), path.name)[0]


def read(text: str, file: str) -> tuple[dict[str, dict[str, list[str]]], list[Problem]]:
    """Section -> name -> phrases of one YAML text; every problem in one pass."""
    import yaml

    problems: list[Problem] = []
    out: dict[str, dict[str, list[str]]] = {}
    loader = getattr(
        yaml, "CSafeLoader", yaml.SafeLoader
    )  # the same rules, ten times as fast where it is there
    try:
        if any(isinstance(token, yaml.AliasToken) for token in yaml.scan(text, loader)):
            return {}, [Problem(file, 0, 0, "anchors and aliases are not used here", "write the words out")]
        root = yaml.compose(text, Loader=loader)
    except (yaml.YAMLError, RecursionError) as error:
        mark = getattr(error, "problem_mark", None)
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        return {}, [
            Problem(file, line, column, f"not YAML: {getattr(error, 'problem', None) or 'nested too deep'}")
        ]

    def wrong(node: Any, what: str, hint: str = "") -> None:
        problems.append(Problem(file, node.start_mark.line + 1, node.start_mark.column + 1, what, hint))

    def pairs(node: Any, what: str) -> list[tuple[Any, Any]]:
        if isinstance(node, yaml.MappingNode):
            return list(node.value)
        wrong(node, f"{what} must hold names, each with a colon")
        return []

    def phrases(node: Any) -> list[str]:
        """ "a, b" or a list, alone or below languages."""
        if isinstance(node, yaml.ScalarNode):
            return [part.strip() for part in node.value.split(",") if part.strip()]
        children = node.value if isinstance(node, yaml.SequenceNode) else [value for _, value in node.value]
        return [phrase for child in children for phrase in phrases(child)]

    if root is None:
        return {}, []
    for key, section in pairs(root, "the file"):
        if key.value not in SECTIONS:
            wrong(key, f"{key.value}: no such section", did_you_mean(str(key.value), SECTIONS))
            continue
        for name, body in pairs(section, str(key.value)):
            found = phrases(body)
            if key.value == "words":
                for phrase in [p for p in found if len(words.tokens(p)) != 1]:
                    wrong(
                        body, f'"{phrase}" in words is not one word', "put phrases under symptoms or devices"
                    )
                found = [p for p in found if len(words.tokens(p)) == 1]
            out.setdefault(key.value, {}).setdefault(str(name.value), []).extend(found)
    return out, problems


def build(layers: Iterable[Mapping[str, Mapping[str, list[str]]]]) -> Thesaurus:
    """One thesaurus of several layers; a name in two of them gets the phrases of both."""
    layers = list(layers)
    stop = {
        token
        for layer in layers
        for texts in layer.get("stop", {}).values()
        for t in texts
        for token in words.tokens(t)
    }
    stop -= words.KEPT
    groups: dict[str, dict[str, None]] = {}
    phrases: dict[str, dict[tuple[str, ...], None]] = {}
    for layer in layers:
        for name, texts in layer.get("words", {}).items():
            for text in texts:
                groups.setdefault(words.tokens(text)[0], {})["=" + "-".join(words.tokens(name))] = None
        for section in ("symptoms", "devices"):
            for name, texts in layer.get(section, {}).items():
                mine = phrases.setdefault(SIGNS[section] + "-".join(words.tokens(name)), {})
                for text in texts:
                    said = words.tokens(text)
                    kept = tuple(token for token in said if token not in stop)
                    # A phrase of which one word is left would match wherever that word stands.
                    if kept and (len(kept) > 1 or len(said) == 1):
                        mine[kept] = None
    stop -= set(groups)
    return Thesaurus(
        {word: tuple(names) for word, names in groups.items()},
        {name: tuple(mine) for name, mine in phrases.items() if mine},
        frozenset(stop),
    )


def default() -> Thesaurus:
    """The thesaurus of the package alone."""
    return load()[0]
