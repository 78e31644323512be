"""Which kinds of device a library has that somebody may mean by a word or two."""

from __future__ import annotations

from collections import Counter
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
    thesaurus = reader.thesaurus

    def parts(name: str) -> tuple[list[str], set[str]]:
        tokens = words.tokens(name)
        devices = {n for n in thesaurus.named(thesaurus.content(tokens)) if n[0] == "@"}
        return thesaurus.content(tokens) or tokens, devices

    asked, asked_devices = parts(kind)
    if not asked:
        return {}
    named = [(column, n, *parts(name)) for column in ("kind", "category")
             for n, name in enumerate(reader.columns[column].names)]  # fmt: skip
    spread = Counter(token for _, _, tokens, _ in named for token in set(tokens))

    def rarity(token: str) -> float:
        return 1 / (1 + spread[token])

    likes: list[tuple[str, int, float]] = []
    for column, n, tokens, devices in named:
        if not tokens:
            continue
        if tokens == asked:
            likes.append((column, n, 2.0))
            continue
        mine = sum(rarity(t) for t in asked if any(_alike(t, other) for other in tokens))
        whole = min(sum(rarity(t) for t in asked), sum(rarity(t) for t in tokens))
        like = min(1.0, mine / whole)
        if asked_devices & devices:
            like = max(like, 0.9)
        likes.append((column, n, like))
    best = max((like for _, _, like in likes), default=0.0)
    out: dict[str, dict[int, float]] = {"kind": {}, "category": {}}
    for column, n, like in likes:
        if like >= constants["kind_like"] and (
            like >= constants["kind_near"] or like >= constants["kind_near"] * best
        ):
            out[column][n] = constants["kind_inside"] if best > 1 and like <= 1 else 1.0
    return out if out["kind"] or out["category"] else {}


def _alike(one: str, other: str) -> bool:
    return one == other or (len(one) > 3 and words.similarity(one, other) >= 0.8)
