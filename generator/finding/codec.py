"""Whole numbers and sorted words as short text, for files that a browser loads as scripts."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
_VALUE = {digit: value for value, digit in enumerate(DIGITS)}
CALL = "benchloreFind"  # the one global function that the files call


def _packed(number: int) -> str:
    out = ""
    while number > 31:
        out += DIGITS[32 + (number & 31)]
        number >>= 5
    return out + DIGITS[number]


_SMALL = [_packed(number) for number in range(1024)]


def pack(numbers: Iterable[int]) -> str:
    """Whole numbers from 0 on, five bits a character, low bits first; the last one of a number is below
    32.
    """
    return "".join([_SMALL[number] if number < 1024 else _packed(number) for number in numbers])


def unpack(text: str) -> list[int]:
    """The numbers that pack() was given."""
    out = []
    number = shift = 0
    for digit in text:
        value = _VALUE[digit]
        if value > 31:
            number |= (value - 32) << shift
            shift += 5
        else:
            out.append(number | value << shift)
            number = shift = 0
    return out


def pack_postings(postings: Sequence[tuple[int, int]], levels: int) -> str:
    """(note, level) with notes rising and levels from 1 to `levels`: steps between notes, level inside."""
    last = -1
    numbers = []
    for note, level in postings:
        numbers.append((note - last - 1) * levels + level - 1)
        last = note
    return pack(numbers)


def unpack_postings(text: str, levels: int) -> list[tuple[int, int]]:
    """The postings that pack_postings() was given."""
    out = []
    note = -1
    for number in unpack(text):
        step, level = divmod(number, levels)
        note += step + 1
        out.append((note, level + 1))
    return out


def pack_words(words: Sequence[str]) -> str:
    """Sorted words, each as how much it shares with the one before (a digit of DIGITS) and the rest."""
    out = []
    last = ""
    for word in words:
        same = 0
        while same < min(len(word), len(last), 63) and word[same] == last[same]:
            same += 1
        out.append(DIGITS[same] + word[same:])
        last = word
    return " ".join(out)


def unpack_words(text: str) -> list[str]:
    """The words that pack_words() was given."""
    out: list[str] = []
    last = ""
    for piece in text.split(" ") if text else ():
        last = last[: _VALUE[piece[0]]] + piece[1:]
        out.append(last)
    return out


def order(word: str) -> bytes:
    """Sort key that sorts as JavaScript does: by UTF-16 code units."""
    return word.encode("utf-16-be", "surrogatepass")


def script(name: str, data: Any) -> bytes:
    """A file for the browser: one call with the file's name and its data. Same data, same bytes."""
    body = json.dumps(data, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    body = body.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029").replace("</", "<\\/")
    return f"{CALL}({json.dumps(name)},{body});\n".encode("utf-8", "backslashreplace")


def unscript(content: bytes) -> Any:
    """The data of a file that script() made."""
    text = content.decode("utf-8")
    return json.loads(text[text.index(",") + 1 : text.rindex(")")])
