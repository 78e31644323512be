"""An index to be asked, wherever it is kept: in memory, in files, in a data base."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple

from generator.finding import codec, words
from generator.finding.lexicon import Lexicon
from generator.finding.thesaurus import Thesaurus


class Held(NamedTuple):
    """A term of the index. weight: in steps; notes: those that have it, packed; heads: how many notes have it
    in their head; causes, kinds: what it says of them, packed."""

    weight: int
    notes: str
    heads: int = 0
    causes: str = ""
    kinds: str = ""

    def line(self, term: str) -> str:
        """The term as a line of a file."""
        learned = (str(self.heads), self.causes, self.kinds) if self.heads else ()
        return " ".join((term, str(self.weight), self.notes, *learned))


def held_from(line: str) -> tuple[str, Held]:
    """The term and what line() was made from. Raises ValueError for anything else."""
    term, weight, notes, *learned = line.split(" ")
    if not learned:
        return term, Held(int(weight), notes)
    heads, causes, kinds = learned
    return term, Held(int(weight), notes, int(heads), causes, kinds)


class Card(NamedTuple):
    """What a result shows of a note. causes: their labels; found_by: of the first; readings: what was
    measured; source, address: as in Record."""

    slug: str
    title: str
    date: str = ""
    device_kind: str = ""
    symptoms: Sequence[str] = ()
    causes: Sequence[str] = ()
    outcome: str = ""
    found_by: str = ""
    readings: Sequence[str] = ()
    source: str = ""
    address: str = ""


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
        self.paged: int = core["paged"]

    # key of a cause -> its number, of an index that has only just been built
    cause_numbers: Mapping[str, int] = {}

    def held(self, term: str) -> Held | None:
        """What the index holds of a term; None for a term in no note."""
        raise NotImplementedError

    def postings(self, held: Held) -> list[tuple[int, int]]:
        """(note, level) of each note that has a term."""
        return codec.unpack_postings(held.notes, int(self.constants["levels"]))

    def learned(self, packed: str) -> list[tuple[int, float]]:
        """(class, weight) of what a term says."""
        middle = int(self.constants["learned_middle"])
        steps = codec.unpack_postings(packed, 2 * middle + 1)
        return [(kind, (step - middle - 1) * self.constants["learned_step"]) for kind, step in steps]

    def card(self, note: int) -> Card:
        """What a result shows of a note."""
        return Card(*self.card_data(note))

    def card_data(self, note: int) -> Sequence[Any]:
        """The list that index.card_of() makes."""
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
    def device_of(self) -> list[int]:
        """Number of the kind of device of each note, whatever it is called; -1 for none."""
        kind = self.columns["kind"]
        of_set = [self.core["device_of"][mine[0]] if mine else -1 for mine in kind.sets]
        return [of_set[place] for place in kind.place]

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

    def knows(self, token: str) -> bool:
        """Whether a word is known in the library's own languages or stands in one of its notes."""
        return token in self.known_words or self.thesaurus.knows(token, self.core["languages"])

    def lexicon(self, tokens: Sequence[str], unfinished: str = "") -> Lexicon:
        """What the words of a query say in its language: one of the library's own, unless they do not know a
        word of it.

        unfinished: the last word, while it is being written; what begins a known word is not unknown.
        """
        home = self.core["languages"]
        strange = any(
            len(token) > 2 and token.isalpha() and not self.knows(token)
            and not (token == unfinished and any(word.startswith(token) for word in self.vocabulary))
            for token in tokens
        )  # fmt: skip
        return self.thesaurus.lexicon(self.thesaurus.spoken(tokens, () if strange else home))

    @cached_property
    def home(self) -> Lexicon:
        """What words say in the library's own languages."""
        return self.thesaurus.lexicon(self.core["languages"])


def _lists(numbers: list[int]) -> list[list[int]]:
    """Numbers as length, items, length, items ... -> lists."""
    out = []
    at = 0
    while at < len(numbers):
        out.append(numbers[at + 1 : at + 1 + numbers[at]])
        at += 1 + numbers[at]
    return out
