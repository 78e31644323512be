"""The text of a part as people write it, taken apart: its designator and the words and figures that are left.

"R9: 4,7 kOhm, 1 %", "1000u/35V C3", "r9 4k7" and "Q1 hFE = 100" come out as one would read them at the bench.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from generator.notation import tolerance
from generator.notation.units import in_symbols

DESIGNATOR = re.compile(r"^[A-Z]{1,3}[0-9]{1,4}[A-Za-z]?(?:-[A-Z]{0,3}[0-9]{1,4})?$")
LETTERS = {
    "R", "RV", "VR", "RN", "RT", "C", "L", "D", "ZD", "LD", "LED", "Q", "T", "TR", "TH", "NTC", "LDR", "F", "TF", "S", "SW",
    "M", "RL", "RLY", "K", "E", "HE", "LP", "LA", "H", "B", "BT", "U", "IC", "DB", "VDR", "MOV",
}  # fmt: skip  # by which a designator behind the value is known from a type number (IEC 81346 and common practice)

# Words of the type of a capacitor; some look like designators.
CAPACITOR_WORDS = {
    "electrolytic": "electrolytic", "elko": "electrolytic", "tantalum": "electrolytic",
    "film": "film", "ceramic": "film", "polyester": "film", "polypropylene": "film", "paper": "film",
    "mica": "film", "mlcc": "film", "X1": "film", "X2": "film", "Y1": "film", "Y2": "film", "X": "film",
    "C0G": "film", "NP0": "film", "X7R": "film", "X5R": "film", "Y5V": "film",
}  # fmt: skip

# A fuse as its cap is marked: speed, current, breaking capacity, voltage (IEC 60127-2: T3.15AL250V).
FUSE_MARK = re.compile(r"^(FF|TT|[FMT])(\d+(?:[.,]\d+)?m?A)([LHE])?(\d+V)?$")
_ALIASES = (
    (r"[Vv](?:gs|GS)\(?th\)?", "vth"),
    (r"[Rr](?:ds|DS)\(?(?:on|ON)\)?", "rds"),
    ("beta|[βΒ]", "B"),
    ("beta|[βΒ]|gain", "hfe"),
    ("γ", "gamma"),
)  # as data sheets and hands write them -> our word
_FRACTIONS = {"½": 0.5, "¼": 0.25, "¾": 0.75, "⅛": 0.125}
_UNIT = r"[pnuµμmkKMG]?(?:V(?:AC|DC|~|=)?|WV(?:DC)?|VA|A|W|F|H|Ah|[Oo]hms?|OHMS?|Ω|\u2126)|[pnuµμm]f|[pnuµμmkKM]|[Mm]eg|[Mm][Ff][Dd]|v|K|C|°C|%|[kM]?Hz|hz|lux|lx|s|m?sec|mm|ppm(?:/K|/°?C)?"
_SPACED = re.compile(rf"(?:(?<![A-Za-z0-9.,/])|(?<=\.\.))([+-]?\d+(?:[.,]\d+)?) (?=(?:{_UNIT})(?: |/|$))")


def taken_apart(source: str, part_class: str, extras: Iterable[str]) -> tuple[str, list[str]]:
    """(designator or "", the other words and figures in order) of a part's text.

    extras: names of further values that this class states (hfe, B). A designator comes first or, by its usual letters,
    anywhere.
    """
    names = {name.lower(): name for name in extras}
    tokens = _tokens(source, names)
    first = _upper(tokens[0])
    if DESIGNATOR.match(first) and not _is_no_designator(tokens[0], tokens[1:], part_class, names):
        return first, tokens[1:]
    for position, token in enumerate(tokens[1:], 1):
        letters = re.match(r"[A-Z]*", token)
        if DESIGNATOR.match(token) and letters and letters.group() in LETTERS:
            others = tokens[:position] + tokens[position + 1 :]
            if tokens[position - 1] != "marked" and not _is_no_designator(token, others, part_class, names):
                return token, others
    return "", tokens


def _tokens(source: str, names: dict[str, str]) -> list[str]:
    text = re.sub(r"[,;:]+(?= |$)|(?<=\w)\.(?= |$)", "", in_symbols(source.replace("−", "-")))
    text = re.sub(r"(\d*)([½¼¾⅛])", lambda m: f"{int(m[1] or 0) + _FRACTIONS[m[2]]:g}", text)  # "1½ W"
    # "1/4W"
    text = re.sub(r"(?<![\w.,/])([13])/(\d+)(?= ?[WA])", lambda m: f"{int(m[1]) / int(m[2]):g}", text)
    text = re.sub(r"^([A-Za-z]{1,3}\d{1,4}[A-Za-z]?)[=:](?=\S)", r"\1 ", text)  # "R9=10k"
    text = re.sub(r"^([A-Za-z]{1,3}) (\d{1,4}) (?=\d)", r"\1\2 ", text)  # "R 9 10k"
    text = re.sub(r"(?<=[A-Za-zΩµμ%])/(?=\d[\d.,]* ?[mkuµ]?[VAW])", " ", text)  # "1000u/35V"
    text = _SPACED.sub(r"\1", text)
    text = re.sub(r"(±|\+/-|\+-) ", r"\1", text)
    text = tolerance.in_one(text)
    text = re.sub(r"(?<=[\d.,]) ?\((\d[\d.,]*)\) ?(?=m?A(?![A-Za-z]))", r"(\1)", text)  # "16 (4) A"
    for alias, name in _ALIASES:
        if name.lower() in names:
            text = re.sub(rf"(?<!\S)(?:{alias})(?=[\d= ])", name, text)
    joined = "|".join(re.escape(name) for name in names)
    if joined:  # "hFE = 100", "B 3950", "B25/85 3435"
        text = re.sub(rf"(?<!\S)((?i:{joined})(?:\d+/\d+)?)(?: ?= ?| )(?=\d)", r"\1=", text)
        text = re.sub(rf"(?<!\S)((?i:{joined})) ?(?:>=|≥) ?(?=\d)", r"\1>=", text)
    return [_unwrapped(word) for word in text.split(" ")]


def _unwrapped(word: str) -> str:
    """`(5%)` says what `5%` says; a bracket without its partner belongs to a remark of several words."""
    bare = word.strip("()") if word.startswith("(") or word.endswith(")") and "(" not in word else word
    return bare or word


def _upper(token: str) -> str:
    """A designator in small letters as one in capitals; a small letter behind the number stays ("r9a": "R9a")."""
    match = re.match(r"[a-z]{1,3}(?=\d)", token)
    return match.group().upper() + token[match.end() :] if match else token


def _is_no_designator(token: str, others: list[str], part_class: str, names: dict[str, str]) -> bool:
    """Whether a text of a designator's form is something else: hfe100, B3950, X2, T2A."""
    letters = re.match(r"[A-Za-z]*", token)
    if letters and letters.group().lower() in names:
        return True
    if token[:1].islower() and part_class == "any":
        return True
    if part_class == "capacitor":
        return token.upper() in CAPACITOR_WORDS
    if part_class == "fuse" and FUSE_MARK.match(token):
        return not any(FUSE_MARK.match(other) or re.match(r"\d[\d.,]*m?A\d*$", other) for other in others)
    return False
