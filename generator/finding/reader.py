"""An index to be asked, wherever it is kept: in memory, in files, in a data base."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any

from generator.finding import codec, words
from generator.finding.thesaurus import Thesaurus


class Column:
    """names; sets: combinations of numbers of names; place: for each note, the number of its combination."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        self.names: list[str] = data["names"]
        self.sets = _lists(codec.unpack(data["sets"]))
        self.place = codec.unpack(data["notes"])


class Reader:
    """An index to be asked: from memory, or from files as they are needed."""

    def __init__(self, core: Mapping[str, Any], thesaurus: Thesaurus) -> None:
        self.core = core
        self.thesaurus = thesaurus
        self.constants: Mapping[str, float] = core["constants"]
        self.notes: int = core["notes"]

    def packed(self, term: str) -> tuple[int, str] | None:
        """The weight of a term in steps and the notes that have it, packed; None for a term in no note."""
        raise NotImplementedError

    def card(self, note: int) -> Sequence[Any]:
        """What a result shows; the list that index.card_of() makes."""
        raise NotImplementedError

    def facets(self) -> Mapping[str, Any]:
        """The columns of the further filters."""
        raise NotImplementedError

    @cached_property
    def columns(self) -> dict[str, Column]:
        """Filter -> what each note has of it; category as well."""
        mine = {name: self.core[name] for name in ("cause", "kind", "category", "outcome")}
        return {name: Column(data) for name, data in {**mine, **self.facets()}.items()}

    @cached_property
    def causes_of(self) -> list[list[int]]:
        """Numbers of the causes of each note."""
        cause = self.columns["cause"]
        return [cause.sets[place] for place in cause.place]

    @cached_property
    def having(self) -> list[float]:
        """For each cause, how many notes have it; of a note with two causes each has half."""
        counts = [0.0] * len(self.columns["cause"].names)
        for causes in self.causes_of:
            for cause in causes:
                counts[cause] += 1 / len(causes)
        return counts

    @cached_property
    def vocabulary(self) -> list[str]:
        """The words that typos are compared with, sorted."""
        return codec.unpack_words(self.core["vocabulary"])

    @cached_property
    def known_words(self) -> frozenset[str]:
        """The same as a set."""
        return frozenset(self.vocabulary)

    @cached_property
    def letters(self) -> list[int]:
        """For each word of the vocabulary, which letters it has, as bits."""
        return [words.letters(word) for word in self.vocabulary]


def _lists(numbers: list[int]) -> list[list[int]]:
    """Numbers as length, items, length, items ... -> lists."""
    out = []
    at = 0
    while at < len(numbers):
        out.append(numbers[at + 1 : at + 1 + numbers[at]])
        at += 1 + numbers[at]
    return out
