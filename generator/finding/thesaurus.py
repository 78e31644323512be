"""The words people use, by language: which of them mean the same, and what a description says the thing does.

All of it comes from symptoms.yaml. A text is read with the words of its own language: an English "wi-fi" is
no German FI, a French "jus" no English one.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Mapping
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

from generator.files import Unreadable, read_file
from generator.finding import words
from generator.finding.lexicon import SIGNS, Lexicon, Tongue
from generator.notes.text import printable
from generator.problems import Problem, did_you_mean

SECTIONS = ("words", "symptoms", "devices", "stop", "plain", "endings")
FLAT = ("stop", "plain", "endings")  # sections with nothing but words below each language
LARGEST_FILE = 1 << 20  # bytes of a library's own symptoms.yaml
EVERY = ""  # the language of phrases given without one: they hold in every text
JUDGED = 40  # tokens of a text by which its language is told

Layer = dict[str, dict[str, list[tuple[str, str]]]]  # section -> name -> (language, phrase)


class Thesaurus:
    """tongues: language -> what is known of it; EVERY holds beside any of them."""

    def __init__(self, tongues: Mapping[str, Tongue]) -> None:
        self.tongues = dict(tongues)
        self.languages = tuple(sorted(name for name in self.tongues if name != EVERY))
        self._lexicon = lru_cache(maxsize=None)(self._merged)
        self._spoken = lru_cache(maxsize=50_000)(self._told)

    def __reduce__(self) -> tuple[Any, ...]:
        """What another process needs: it has a memory of its own for what it told."""
        return Thesaurus, (self.tongues,)

    @cached_property
    def key(self) -> str:
        """Changes with anything in it."""
        return hashlib.sha256(repr(self.as_data()).encode("utf-8", "surrogateescape")).hexdigest()

    def spoken(self, tokens: Iterable[str], among: Iterable[str] = ()) -> tuple[str, ...]:
        """The languages of a text, of those given or all: those of which it has the most words; all where
        none has any.
        """
        return self._spoken(tuple(tokens)[:JUDGED], tuple(among) or self.languages)

    def _told(self, tokens: tuple[str, ...], among: tuple[str, ...]) -> tuple[str, ...]:
        held = [sum(map(self.tongues[name].words.__contains__, tokens)) for name in among]
        most = max(held, default=0)
        return tuple(name for name, count in zip(among, held) if count == most)

    def lexicon(self, languages: Iterable[str] = ()) -> Lexicon:
        """What words say in some languages; in all where none is given."""
        return self._lexicon(tuple(languages) or self.languages)

    def _merged(self, languages: tuple[str, ...]) -> Lexicon:
        return Lexicon(self.tongues[name] for name in (EVERY, *languages) if name in self.tongues)

    def reading(self, text: str) -> Lexicon:
        """What the words of a text say in its own language."""
        return self.lexicon(self.spoken(words.tokens(text)))

    def knows(self, token: str, among: Iterable[str]) -> bool:
        """Whether a word is known in one of the languages."""
        return any(token in self.tongues[name].words for name in (EVERY, *among) if name in self.tongues)

    def as_data(self) -> dict[str, Any]:
        """All of it as the browser gets it, by language: words joined by blanks, phrases by commas."""
        return {name: _tongue_data(tongue) for name, tongue in sorted(self.tongues.items())}


def _tongue_data(tongue: Tongue) -> dict[str, Any]:
    members: dict[str, list[str]] = {}
    for word, names in sorted(tongue.groups.items()):
        for name in names:
            members.setdefault(name, []).append(word)
    return {
        "stop": " ".join(sorted(tongue.stop)),
        "plain": " ".join(sorted(tongue.plain)),
        "endings": " ".join(tongue.endings),
        "words": {name: " ".join(members[name]) for name in sorted(members)},
        "phrases": {
            name: ",".join(" ".join(p) for p in tongue.phrases[name]) for name in sorted(tongue.phrases)
        },
    }


def from_data(data: Mapping[str, Any]) -> Thesaurus:
    """The thesaurus that as_data() was made from."""
    tongues = {}
    for language, held in data.items():
        groups: dict[str, tuple[str, ...]] = {}
        for name, members in held["words"].items():
            for word in members.split(" "):
                groups[word] = (*groups.get(word, ()), name)
        phrases = {
            name: tuple(tuple(p.split(" ")) for p in text.split(","))
            for name, text in held["phrases"].items()
        }
        stop, plain, endings = (held[name].split() for name in ("stop", "plain", "endings"))
        tongues[language] = Tongue(groups, phrases, frozenset(stop), frozenset(plain), tuple(endings))
    return Thesaurus(tongues)


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
            return default(), [Problem.of_file(file, error.what, error.hint)]
        except UnicodeDecodeError:
            return default(), [Problem.of_file(file, "not UTF-8", "save it as UTF-8 text")]
    known, problems = _with_own(text, file)
    return known, list(problems)


@lru_cache(maxsize=2)  # `live` builds again and again from the same words
def _with_own(text: str, file: str) -> tuple[Thesaurus, tuple[Problem, ...]]:
    layer, problems = read(text, file)
    return build([_package(), layer]), tuple(problems)


@lru_cache(maxsize=1)
def _package() -> Layer:
    path = Path(__file__).with_name("symptoms.yaml")
    return read(path.read_text("utf-8"), path.name)[0]


def read(text: str, file: str) -> tuple[Layer, list[Problem]]:
    """What one YAML text holds; every problem in one pass."""
    import yaml

    problems: list[Problem] = []
    out: Layer = {}
    # the same rules, ten times as fast where it is there
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        if any(isinstance(token, yaml.AliasToken) for token in yaml.scan(text, loader)):
            return {}, [
                Problem.of_file(file, "anchors and aliases are not allowed here", "write the words out")
            ]
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

    def phrases(node: Any, language: str) -> list[tuple[str, str]]:
        """ "a, b" or a list, alone or below languages."""
        if isinstance(node, yaml.ScalarNode):
            return [(language, part.strip()) for part in node.value.split(",") if part.strip()]
        if isinstance(node, yaml.SequenceNode):
            return [phrase for child in node.value for phrase in phrases(child, language)]
        return [phrase for key, child in node.value for phrase in phrases(child, str(key.value).lower())]

    if root is None:
        return {}, []
    for key, section in pairs(root, "the file"):
        if key.value not in SECTIONS:
            wrong(key, f"{key.value}: no such section", did_you_mean(str(key.value), SECTIONS))
            continue
        for name, body in pairs(section, str(key.value)):
            found = phrases(body, str(name.value).lower() if key.value in FLAT else EVERY)
            if key.value == "words":
                for _, phrase in [said for said in found if len(words.tokens(said[1])) != 1]:
                    wrong(
                        body, f'"{phrase}" in words is not one word', "put phrases under symptoms or devices"
                    )
                found = [said for said in found if len(words.tokens(said[1])) == 1]
            out.setdefault(key.value, {}).setdefault(str(name.value), []).extend(found)
    return out, problems


def build(layers: Iterable[Layer]) -> Thesaurus:
    """One thesaurus of several layers; a name in two of them gets the phrases of both."""
    layers = list(layers)
    languages = {
        language
        for layer in layers
        for section in layer.values()
        for said in section.values()
        for language, _ in said
    }
    return Thesaurus({language: _tongue(layers, language) for language in sorted(languages)})


def _tongue(layers: list[Layer], language: str) -> Tongue:
    """What the layers hold of one language."""

    def entries(section: str) -> list[tuple[str, list[str]]]:
        found = [(name, said) for layer in layers for name, said in layer.get(section, {}).items()]
        return [
            (name, words.tokens(phrase))
            for name, said in found
            for tongue, phrase in said
            if tongue == language
        ]

    groups: dict[str, dict[str, None]] = {}
    for name, tokens in entries("words"):
        groups.setdefault(tokens[0], {})["=" + "-".join(words.tokens(name))] = None
    stop = {token for _, tokens in entries("stop") for token in tokens} - words.KEPT
    phrases: dict[str, dict[tuple[str, ...], None]] = {}
    for section in ("symptoms", "devices"):
        for name, said in entries(section):
            kept = tuple(token for token in said if token not in stop)
            # A phrase of which one word is left would match wherever that word stands.
            if kept and (len(kept) > 1 or len(said) == 1):
                phrases.setdefault(SIGNS[section] + "-".join(words.tokens(name)), {})[kept] = None
    return Tongue(
        {word: tuple(names) for word, names in groups.items()},
        {name: tuple(mine) for name, mine in phrases.items()},
        frozenset(stop - set(groups)),
        frozenset(token for _, tokens in entries("plain") for token in tokens),
        tuple(token for _, tokens in entries("endings") for token in tokens),
    )


def default() -> Thesaurus:
    """The thesaurus of the package alone."""
    return load()[0]
