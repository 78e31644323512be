"""Which kinds of device a library has that somebody may mean by a word or two."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import TYPE_CHECKING

from generator.finding import words

if TYPE_CHECKING:
    from generator.finding.reader import Reader


def kinds_near(reader: Reader, kind: str) -> dict[str, dict[int, float]]:
    """What a kind of device stands for: {"kind": {number: say}, "category": {number: say}}.

    Kinds of the same device (kettle, Wasserkocher), kinds that hold all the words asked or the other
    way round (electric kettle), kinds that are like it but for a typo. Words that many kinds share
    (machine, electric) say little.
    """
    constants = reader.constants
    tokens = words.tokens(kind)
    lexicon = reader.lexicon(tokens)
    asked = lexicon.content(tokens) or tokens
    if not asked:
        return {}
    asked_devices = [name for name in lexicon.named(lexicon.content(tokens)) if name[0] == "@"]
    named: list[tuple[str, int, list[str], str]] = []
    for column in ("kind", "category"):
        for n, name in enumerate(reader.columns[column].names):
            said = words.tokens(name)
            device = reader.core["devices"][reader.core["device_of"][n]] if column == "kind" else ""
            named.append((column, n, reader.home.content(said) or said, device))
    spread = Counter(token for _, _, said, _ in named for token in set(said))

    def rarity(token: str) -> float:
        return 1 / (1 + spread[token])

    least = constants["stem_at_kind"]
    likes: list[tuple[str, int, float]] = []
    for column, n, said, device in named:
        if not said:
            continue
        if said == asked:
            likes.append((column, n, 2.0))
            continue
        mine = sum(rarity(t) for t in asked if any(_alike(t, other, least) for other in said))
        whole = min(sum(rarity(t) for t in asked), sum(rarity(t) for t in said))
        like = min(1.0, mine / whole)
        if device in asked_devices:
            like = max(like, constants["same_device"])
        likes.append((column, n, like))
    best = max((like for _, _, like in likes), default=0.0)
    out: dict[str, dict[int, float]] = {"kind": {}, "category": {}}
    for column, n, like in likes:
        if like >= constants["kind_like"] and (
            like >= constants["kind_near"] or like >= constants["kind_near"] * best
        ):
            out[column][n] = constants["kind_inside"] if best > 1 and like <= 1 else 1.0
    return out if out["kind"] or out["category"] else {}


def _alike(one: str, other: str, least: float) -> bool:
    return one == other or (len(one) > 3 and words.similarity(one, other) >= least)


def say_of(reader: Reader, near: Mapping[str, Mapping[int, float]]) -> list[float]:
    """For each note, how much it has to say given the kind of device; 0 for another kind."""
    if not near:
        return [1.0] * reader.notes
    says = []
    for name in ("kind", "category"):
        column = reader.columns[name]
        of_set = [
            max((near[name].get(n, 0.0) for n in combination), default=0.0) for combination in column.sets
        ]
        says.append([of_set[place] for place in column.place])
    return [max(pair) for pair in zip(*says)]
