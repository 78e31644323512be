"""What some words say in some languages: the groups they belong to, the symptoms and devices they name.

A word group is one idea in many words (=heat: heats, warm). A symptom (~no heat) and a device (@kettle) are
phrases over such words. The names become terms of the index beside the words themselves.
find-words/lexicon.js does the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

SIGNS = {"words": "=", "symptoms": "~", "devices": "@"}
NOT = "=not"  # the word group of negations
# What a thing still does, told beside what it does not: "turns on, but no picture". It speaks of causes, but its words
# find nothing where anything else is asked, no notes are near each other for it, and none stands under it.
STILL = "~comes-on"
NEGATED = "!"  # the sign of a word, or a group, that a negation stands beside
STEM = "."  # the sign of a word without its ending
REACH = 2  # words on either side of a negation that it turns round
SKIP = 2  # other words that may stand between two words of a phrase
SHORTEST_STEM = 4  # letters of a word without its ending
LETTERS = "abcdefghijklmnopqrstuvwxyz"

Elements = tuple[frozenset[str], ...]


@dataclass(frozen=True)
class Tongue:
    """One language's share of the thesaurus. groups: word -> names of its groups; phrases: name -> its
    phrases as tuples of words; stop: words that say nothing; plain: words that are no slip for another;
    endings: of one word.
    """

    groups: dict[str, tuple[str, ...]] = field(default_factory=dict)
    phrases: dict[str, tuple[tuple[str, ...], ...]] = field(default_factory=dict)
    stop: frozenset[str] = frozenset()
    plain: frozenset[str] = frozenset()
    endings: tuple[str, ...] = ()

    @cached_property
    def words(self) -> frozenset[str]:
        """Every word that shows that a text is of this language."""
        said = (word for phrases in self.phrases.values() for phrase in phrases for word in phrase)
        return frozenset((*self.groups, *self.stop, *self.plain, *said))


class Lexicon:
    """The tongues of one text, taken together."""

    def __init__(self, tongues: Iterable[Tongue]) -> None:
        self.groups: dict[str, tuple[str, ...]] = {}
        self.phrases: dict[str, tuple[tuple[str, ...], ...]] = {}
        stop: set[str] = set()
        sound: set[str] = set()
        plain: set[str] = set()
        endings: set[str] = {""}
        for tongue in tongues:
            for word, names in tongue.groups.items():
                self.groups[word] = tuple(dict.fromkeys((*self.groups.get(word, ()), *names)))
            for name, phrases in tongue.phrases.items():
                self.phrases[name] = tuple(dict.fromkeys((*self.phrases.get(name, ()), *phrases)))
            stop |= tongue.stop
            plain |= tongue.plain - set(tongue.groups)
            sound |= tongue.words
            endings.update(tongue.endings)
        # A word may say nothing in one language and much in the other: it is kept.
        self.stop = frozenset(stop) - set(self.groups)
        self._sound = frozenset(sound)
        self._targets = self._sound - self.stop - plain
        self._endings = frozenset(endings)
        self._lengths = sorted({len(ending) for ending in endings}, reverse=True)
        self.resolve = lru_cache(maxsize=100_000)(self._resolve)
        self.symbols = lru_cache(maxsize=100_000)(self._symbols)
        self._meant = lru_cache(maxsize=None)(self._meaning)
        self._placed = lru_cache(maxsize=50_000)(self._placing)

    def content(self, tokens: Iterable[str]) -> list[str]:
        """The tokens without those that say nothing."""
        stop = self.stop
        return [token for token in tokens if token not in stop]

    def _resolve(self, token: str) -> str:
        """The known word that a token is, but for its ending, or of which it is a slip of the keyboard; else
        the token itself.

        A slip is two neighbours swapped, a letter lost or a letter doubled, never the first one, in a word of
        five letters (four for a swap). A word of the language is no slip.
        """
        if token in self._sound or len(token) < SHORTEST_STEM:
            return token
        for stem in self._stems_of(token):
            if stem in self._by_stem:
                return self._by_stem[stem]
        for made in _unslipped(token):
            if made in self._targets and (len(token) > 4 < len(made) or len(made) == len(token)):
                return made
        return token

    def _stems_of(self, word: str) -> Iterator[str]:
        """What is left of a word without an ending, longest ending first."""
        for length in self._lengths:
            cut = len(word) - length
            if cut >= SHORTEST_STEM and word[cut:] in self._endings:
                yield word[:cut]

    @cached_property
    def _by_stem(self) -> dict[str, str]:
        """Stem -> the known word that it is the stem of; of several, the first in the alphabet."""
        out: dict[str, str] = {}
        for word in sorted(self._targets):
            for stem in self._stems_of(word):
                out.setdefault(stem, word)
        return out

    def _symbols(self, token: str) -> frozenset[str]:
        word = self.resolve(token)
        return self._meant(word) if token == word else frozenset((token, *self._meant(word)))

    def _meaning(self, word: str) -> frozenset[str]:
        """What a known word stands for in a phrase: itself, what it is without its ending ("turns" says "turn"), its
        groups.
        """
        stem = min(self._stems_of(word), key=len, default="") if word in self._targets else ""
        return frozenset((word, *([STEM + stem] if stem else ()), *self.groups.get(word, ())))

    def word_groups(self, token: str) -> tuple[str, ...]:
        """Names of the word groups that a token belongs to, slips allowed for."""
        return self.groups.get(self.resolve(token), ())

    def negated(self, clause: Sequence[str]) -> list[bool]:
        """For each word of a clause, whether a negation beside it turns it round; not for the negations
        themselves.
        """
        nots = [NOT in self.word_groups(token) for token in clause]
        if True not in nots:
            return nots
        return [not nots[n] and any(nots[max(0, n - REACH) : n + REACH + 1]) for n in range(len(clause))]

    def named(self, clause: Sequence[str]) -> tuple[str, ...]:
        """The symptoms and devices that a clause without stop words names, in the order of the alphabet.

        What is said inside a longer phrase is not meant: "stuck on" is not "stuck", "geht nicht aus" is not
        "geht nicht".
        """
        return tuple(sorted({name for name, _ in self._placed(tuple(clause))}))

    def placed(self, clause: Sequence[str], name: str) -> frozenset[int]:
        """The places of the words by which a clause without stop words names a symptom."""
        return frozenset(n for other, places in self._placed(tuple(clause)) if other == name for n in places)

    def sizes(self, clause: Sequence[str]) -> dict[str, int]:
        """What named() names -> of how many words the longest phrase is that says so, in the order of the alphabet."""
        by_length = sorted((name, len(places)) for name, places in self._placed(tuple(clause)))
        return dict(by_length)  # of two phrases the longer one stays

    def _placing(self, clause: tuple[str, ...]) -> tuple[tuple[str, tuple[int, ...]], ...]:
        seen = [self.symbols(token) for token in clause]
        said: dict[tuple[str, tuple[int, ...]], bool] = {}  # whether it is denied
        for place, symbols in enumerate(seen):
            for symbol in symbols:
                for name, elements, at in self._by_rarest.get(symbol, ()):
                    for start in range(max(0, place - at * (1 + SKIP)), place - at + 1):
                        if not elements[0].isdisjoint(seen[start]):
                            places = _places(seen, start, elements)
                            if places:
                                said[name, places] = name[0] == "~" and _denied(seen, start, elements)
        meant = [
            (name, places)
            for (name, places), denied in said.items()
            if not denied and not self._is_part(name, places, clause)
        ]
        return tuple((name, places) for name, places in meant if not _within(name, places, said))

    def _is_part(self, name: str, places: tuple[int, ...], clause: tuple[str, ...]) -> bool:
        """Whether what would be a device is a part of one: "light comes on", "noisy fan", "keyboard dead"; a word that
        has a group names a device only alone.
        """
        return (
            name[0] == SIGNS["devices"]
            and len(places) == 1 < len(clause)
            and bool(self.word_groups(clause[places[0]]))
        )

    @cached_property
    def _by_rarest(self) -> dict[str, list[tuple[str, Elements, int]]]:
        """Symbol -> phrases that it can begin to match, under the place in them that the fewest phrases
        share.
        """
        every = [(name, elements) for name, phrases in self._elements.items() for elements in phrases]
        held: Counter[str] = Counter()
        for element, times in Counter(element for _, elements in every for element in elements).items():
            for symbol in element:
                held[symbol] += times
        spread = lru_cache(maxsize=None)(lambda element: sum(held[symbol] for symbol in element))
        out: dict[str, list[tuple[str, Elements, int]]] = {}
        for name, elements in every:
            costs = [spread(element) for element in elements]
            at = costs.index(min(costs))
            for symbol in elements[at]:
                out.setdefault(symbol, []).append((name, elements, at))
        return out

    @cached_property
    def _elements(self) -> dict[str, list[Elements]]:
        """Name -> its phrases, each word as the symbols that stand for it. A device is named by its own
        words, "warm" does not name a heater, and so is what still works: "when turned on" does not say "turns on".
        """
        own = lru_cache(maxsize=None)(lambda word: frozenset((word,)))
        return {
            name: [
                tuple(map(own if name[0] == SIGNS["devices"] or name == STILL else self._meant, phrase))
                for phrase in phrases
            ]
            for name, phrases in self.phrases.items()
        }


def _unslipped(token: str) -> Iterator[str]:
    """What a token may have been before one slip: swaps first, then doublings, then losses; never of the
    first letter.
    """
    for n in range(1, len(token) - 1):
        if token[n] != token[n + 1]:
            yield token[:n] + token[n + 1] + token[n] + token[n + 2 :]
    for n in range(1, len(token)):
        if token[n] == token[n - 1]:
            yield token[:n] + token[n + 1 :]
    for n in range(1, len(token) + 1):
        for letter in LETTERS:
            yield token[:n] + letter + token[n:]


def _places(seen: Sequence[frozenset[str]], start: int, elements: Elements) -> tuple[int, ...]:
    """Where the elements stand that follow one another from start on, with at most SKIP words between two; ()
    if they do not.

    A negation is never skipped: "does not go off" is not "goes off".
    """
    places = [start]
    at = start
    for element in elements[1:]:
        for step in range(at + 1, min(at + 2 + SKIP, len(seen))):
            if not element.isdisjoint(seen[step]):
                places.append(step)
                at = step
                break
            if NOT in seen[step]:
                return ()
        else:
            return ()
    return tuple(places)


def _denied(seen: Sequence[frozenset[str]], start: int, elements: Elements) -> bool:
    """Whether a negation stands right before a phrase that has none itself: "not noisy", "will not stay on"."""
    return start > 0 and NOT in seen[start - 1] and not any(NOT in element for element in elements)


def _within(name: str, places: tuple[int, ...], said: Mapping[tuple[str, tuple[int, ...]], bool]) -> bool:
    """Whether all words of a phrase, and not only they, make up a phrase of another name of the same sort, or one
    that is denied.
    """
    return any(
        len(other) > len(places)
        and (others != name or denied)
        and others[0] == name[0]
        and set(places) < set(other)
        for (others, other), denied in said.items()
    )
