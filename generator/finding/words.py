"""From text to terms: folding, tokens, stop words. The browser does the same with the same tables.

Everything that both sides must agree on is data (SEPARATORS, MARKS, RUNS, FOLDS): it travels in the
index, so that find-words/text.js has no copy of its own.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

# Characters between words: controls, punctuation, symbols, emoji, surrogates, private use.
SEPARATORS = (
    (0x00, 0x2F), (0x3A, 0x5E), (0x60, 0x60), (0x7B, 0xA9), (0xAB, 0xB4), (0xB6, 0xB9), (0xBB, 0xBF),
    (0xD7, 0xD7), (0xF7, 0xF7), (0x55A, 0x55F), (0x589, 0x58A), (0x5BE, 0x5BE), (0x5C0, 0x5C0),
    (0x5C3, 0x5C3), (0x5F3, 0x5F4), (0x60C, 0x60D), (0x61B, 0x61F), (0x66A, 0x66D), (0x6D4, 0x6D4),
    (0x964, 0x965), (0xE4F, 0xE4F), (0x104A, 0x104F), (0x17D4, 0x17DA), (0x2000, 0x206F),
    (0x20A0, 0x20CF), (0x2190, 0x2BFF), (0x2E00, 0x2E7F), (0x3000, 0x3004), (0x3008, 0x3020),
    (0x3030, 0x3030), (0x303D, 0x303F), (0x30FB, 0x30FB), (0xD800, 0xF8FF), (0xFE00, 0xFE6F),
    (0xFF00, 0xFF0F), (0xFF1A, 0xFF20), (0xFF3B, 0xFF40), (0xFF5B, 0xFF65), (0xFFE0, 0xFFFF),
    (0x1F000, 0x1FAFF), (0xE0000, 0x10FFFF),
)  # fmt: skip
# Accents, Hebrew points and Arabic vowel signs: written or left out as people please.
MARKS = (
    (0x300, 0x36F), (0x591, 0x5BD), (0x5BF, 0x5BF), (0x5C1, 0x5C2), (0x5C4, 0x5C7), (0x64B, 0x65F),
    (0x670, 0x670),
)  # fmt: skip
# Scripts written without spaces: words are cut into pairs of characters.
RUNS = (
    (0xE00, 0xEFF), (0x1000, 0x109F), (0x1780, 0x17FF), (0x3005, 0x3007), (0x3040, 0x30FF), (0x3400, 0x9FFF),
    (0xF900, 0xFAFF), (0x20000, 0x323AF),
)  # fmt: skip
FOLDS = {
    "ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i", "ς": "σ",
    "’": "'", "ʼ": "'", "`": "'", "´": "'",
}  # fmt: skip
LONGEST_TEXT = 100_000  # characters of one text that are read; a note is at most 1 MiB
LONGEST_TOKEN = 40
SWAPPED = 0.85  # similarity of words with the same first letter and the same letters
INSIDE = 0.79  # one word inside the other, five letters at least: Ladekabel, Kabel
RUN_SHARED = 0.7  # words that share a run of RUN_LEAST letters which is most of the shorter one
RUN_LEAST = 5
RUN_MOST = 0.6
STEM = 0.7  # similarity of words that share three quarters of the shorter one, four letters at least
KEYS = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
SHORTEST_WORD = 5  # letters of words of which one may be a slip for the other
LONG_WORD = 8  # letters of words that may differ in several
ENDING = 2  # letters by which words of a shorter stem may differ
BREAK_MARKS = ".,;:!?()\n\u2013\u2014\u3001\u3002"  # as a character class
# Words that begin a new thought, like a full stop.
BREAKS = frozenset("but although though aber obwohl sondern mais maar hoewel".split())
# Words that begin one unless they hold a saying together: "on and off", "ab und zu", "only when moved".
JOINTS = frozenset(
    "and when if while und wenn sobald wahrend et quand lorsque en als wanneer terwijl".split()
)
TIED_BEFORE = frozenset("only even nur seulement alleen".split())
TIED_AFTER = frozenset("on off up down out zu toe goes then".split())
# Names that a hyphen does not cut in two.
JOINED = {"wi-fi": "wifi", "hi-fi": "hifi", "blu-ray": "bluray"}
# Words never dropped: in a description of a fault they carry the meaning.
KEPT = frozenset(("not", "no", "on", "off", "up", "down", "out"))


def tables() -> dict[str, object]:
    """All of the above, as the browser gets it."""
    return {
        "separators": SEPARATORS, "marks": MARKS, "runs": RUNS, "folds": FOLDS, "joined": JOINED,
        "breaks": " ".join(sorted(BREAKS)), "joints": " ".join(sorted(JOINTS)), "marks_of_break": BREAK_MARKS,
        "tied_before": " ".join(sorted(TIED_BEFORE)), "tied_after": " ".join(sorted(TIED_AFTER)),
        "longest": LONGEST_TOKEN, "text": LONGEST_TEXT, "swapped": SWAPPED, "stem": STEM, "inside": INSIDE,
        "run_shared": RUN_SHARED, "run_least": RUN_LEAST, "run_most": RUN_MOST,
        "keys": KEYS, "shortest_word": SHORTEST_WORD, "ending": ENDING, "long_word": LONG_WORD,
    }  # fmt: skip


def char_class(ranges: Sequence[tuple[int, int]]) -> str:
    """Ranges of code points as the inside of a regular expression's character class."""
    return "".join(f"\\U{low:08x}-\\U{high:08x}" for low, high in ranges)


_TOKEN = re.compile(f"[^{char_class(SEPARATORS)}]+")
_ASCII_TOKEN = re.compile("[0-9_a-z]+")
_MARKS = re.compile(f"[{char_class(MARKS)}]")
_RUN = re.compile(f"[{char_class(RUNS)}]+|[^{char_class(RUNS)}]+")
_IN_RUN = re.compile(f"[{char_class(RUNS)}]")
_NOT = re.compile("n't(?![a-z])")
_DECIMAL = re.compile("([0-9])[.,]([0-9])")
# A word, or the mark of a new thought: what stands on either side of one is not one phrase ("turns on, does not heat").
_PIECE = re.compile(f"[^{char_class(SEPARATORS)}]+|[{BREAK_MARKS}]")
_FOLDS = str.maketrans(FOLDS)


def fold(text: str) -> str:
    """Lower case, without accents, don't as dont, decimals as 4_7 (so that they stay one token)."""
    text = text[:LONGEST_TEXT].lower()
    if text.isascii():
        text = text.replace("`", "'")
    else:
        text = text.translate(_FOLDS)
        text = _MARKS.sub("", unicodedata.normalize("NFKD", text)).lower().translate(_FOLDS)
        text = unicodedata.normalize("NFC", text)
    text = text.replace("_", " ")
    if "n't" in text:
        text = _NOT.sub("nt", text)
    if "-" in text:
        for hyphened, joined in JOINED.items():
            text = text.replace(hyphened, joined)
    return _DECIMAL.sub(r"\1_\2", text)


def clauses(text: str) -> list[list[str]]:
    """The tokens of a text, cut where a new thought begins."""
    pieces = _PIECE.findall(fold(text).replace(" - ", " \u2013 "))
    pieces.append("")
    out: list[list[str]] = []
    current: list[str] = []
    before = ""
    for n, piece in enumerate(pieces[:-1]):
        if piece in BREAK_MARKS:
            new = True
        elif piece in JOINTS:
            new = before not in TIED_BEFORE and pieces[n + 1] not in TIED_AFTER
        else:
            new = piece in BREAKS
        if new and current:
            out.append(current)
            current = []
        if piece not in BREAK_MARKS:
            before = piece
            current += (piece,) if piece.isascii() and len(piece) <= LONGEST_TOKEN else _cut(piece)
    return [*out, current] if current else out


def tokens(text: str) -> list[str]:
    """All the tokens of a text, in order."""
    folded = fold(text)
    if folded.isascii():  # the same, ten times as fast
        return [word[:LONGEST_TOKEN] for word in _ASCII_TOKEN.findall(folded)]
    out: list[str] = []
    for word in _TOKEN.findall(folded):
        out.extend(_cut(word))
    return out


def _cut(word: str) -> list[str]:
    """The word itself; a word of a script without spaces as its pairs of neighbouring characters."""
    if word.isascii() or not _IN_RUN.search(word):
        return [word[:LONGEST_TOKEN]]
    out = []
    for piece in _RUN.findall(word):
        if len(piece) < 3 or not _IN_RUN.match(piece):
            out.append(piece[:LONGEST_TOKEN])
        else:
            out.extend(piece[i : i + 2] for i in range(len(piece) - 1))
    return out


@lru_cache(maxsize=200_000)
def grams(word: str) -> frozenset[str]:
    """The pairs of neighbouring characters of a word with its ends marked, and its letters, counted."""
    edged = f"^{word}$"
    out = {edged[i : i + 2] for i in range(len(edged) - 1)}
    seen: dict[str, int] = {}
    for letter in word:
        seen[letter] = seen.get(letter, 0) + 1
        out.add(f"{letter}{seen[letter]:03}")
    return frozenset(out)


def similarity(one: str, other: str) -> float:
    """How alike two words are, 0 to 1: Dice's coefficient of their grams.

    The same letters in another order (trun, turn), a shared stem (heizt, heizen) and a shared part of a
    compound (Ladekabel, Kabelbruch) count for more than their pairs say.
    """
    a, b = grams(one), grams(other)
    shared = 2 * len(a & b) / (len(a) + len(b))
    if one[:1] == other[:1]:
        if len(one) == len(other) and len(one) > 3 and sorted(one) == sorted(other):
            return max(shared, SWAPPED)
        stem = _stem(one, other)
        if stem > 3 and stem * 4 >= 3 * min(len(one), len(other)):
            shared = max(shared, STEM)
    run = _longest_run(one, other)
    if run >= RUN_LEAST:
        least = min(len(one), len(other))
        if run == least:
            return max(shared, INSIDE)
        if run >= RUN_MOST * least:
            return max(shared, RUN_SHARED)
    return shared


def meant(typed: str, word: str, known: bool) -> bool:
    """Whether an alike word may be what somebody meant: one of the same stem, or a part of the same compound; a word
    that nobody knows also as a slip: letters swapped, one lost or one too many, or one that lies beside the right
    one on a keyboard.
    So "since" is not "singe", "small" not "smell", "back" not "black". known: the typed word is one of the library's.
    """
    least = min(len(typed), len(word))
    stem = _stem(typed, word)  # a longer one is a run
    if stem == SHORTEST_WORD - 1 and max(len(typed), len(word)) <= stem + ENDING:
        return True
    run = _longest_run(typed, word)
    if run and (run == least or run >= RUN_MOST * least):
        return True
    if known:
        return False
    others = [(a, b) for a, b in zip(typed, word) if a != b]
    if len(typed) == len(word) and len(others) == 1:
        return least >= SHORTEST_WORD and _beside(*others[0])
    if sorted(typed) == sorted(word) or least >= LONG_WORD:  # where several slips are still the same word
        return True
    if least < SHORTEST_WORD or abs(len(typed) - len(word)) != 1:
        return False
    short, long = sorted((typed, word), key=len)
    return any(long[:n] + long[n + 1 :] == short for n in range(len(long)))


def _beside(one: str, other: str) -> bool:
    """Whether two letters lie beside each other on a keyboard; each row is half a key further to the right."""
    places = [
        (row, keys.find(letter)) for letter in (one, other) for row, keys in enumerate(KEYS) if letter in keys
    ]
    if len(places) < 2:
        return False
    (row, at), (below, there) = places
    return abs(row - below) <= 1 and abs(2 * (at - there) + row - below) <= 2


def _longest_run(one: str, other: str) -> int:
    """Length of the longest run of characters that both words have; 0 below RUN_LEAST."""
    if len(one) > len(other):
        one, other = other, one
    longest = 0
    for start in range(len(one) - RUN_LEAST + 1):
        while (
            start + max(longest + 1, RUN_LEAST) <= len(one)
            and one[start : start + max(longest + 1, RUN_LEAST)] in other
        ):
            longest = max(longest + 1, RUN_LEAST)
    return longest


def _stem(one: str, other: str) -> int:
    """How many characters two words have in common at their start."""
    n = 0
    for a, b in zip(one, other):
        if a != b:
            break
        n += 1
    return n


def letters(word: str) -> int:
    """Which letters a word has, as bits: words that differ in many are not alike."""
    bits = 0
    for letter in word:
        bits |= 1 << (ord(letter) & 31)
    return bits
