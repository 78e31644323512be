"""Tolerances as people write them: `5%`, `±5 %`, `+80/-20 %`, `-20/+80%`, `+80% -20%`."""

from __future__ import annotations

import re

from generator.problems import Refusal

Shares = tuple[float, float]  # below and above the value, as shares of it

# Letter -> (below, above) as shares of the value (IEC 60062; the rarer ones from memory).
TOLERANCE_LETTERS = {
    "E": (0.00005, 0.00005), "L": (0.0001, 0.0001), "P": (0.0002, 0.0002), "W": (0.0005, 0.0005), "B": (0.001, 0.001),
    "C": (0.0025, 0.0025), "D": (0.005, 0.005), "F": (0.01, 0.01), "G": (0.02, 0.02), "H": (0.03, 0.03), "J": (0.05, 0.05),
    "K": (0.10, 0.10), "M": (0.20, 0.20), "N": (0.30, 0.30),
    "Q": (0.10, 0.30), "T": (0.10, 0.50), "S": (0.20, 0.50), "Z": (0.20, 0.80),
}  # fmt: skip

MOST_ABOVE = 10.0  # +1000 %: beyond it nothing is known
_FIGURE = r"(?:\d+(?:[.,]\d+)?|\.\d+)"
_EVEN = rf"(?:±|\+/-|\+-|-/\+)?\s?({_FIGURE})\s?%"
_UNEVEN = (
    rf"(?:(\+)\s?({_FIGURE})\s?%?\s?/?\s?-\s?({_FIGURE})|(-)\s?({_FIGURE})\s?%?\s?/?\s?\+\s?({_FIGURE}))\s?%"
)
EVEN, UNEVEN = re.compile(_EVEN), re.compile(_UNEVEN)
_AT_END = re.compile(rf"^(.*?)\s*(?:({_UNEVEN})|({_EVEN}))$")
_ONE_SIDE = re.compile(rf"(?:^|\s)([+-]\s?{_FIGURE}\s?%)$")


class ToleranceError(Refusal):
    """A text is written like a tolerance and is none. what says why, hint what would be accepted."""


def _share(figure: str) -> float:
    return float(figure.replace(",", ".")) / 100


def _sides(uneven: re.Match[str]) -> tuple[str, str]:
    """The figures below and above, whichever is written first."""
    return (uneven[3], uneven[2]) if uneven[1] else (uneven[5], uneven[6])


def read(text: str) -> Shares | None:
    """The shares below and above that a text states, None where it is not written like a tolerance.

    Raises ToleranceError for one side alone (`-20%`) and for shares that leave nothing (100 % and more below).
    """
    plain = text.strip().replace("−", "-")
    if found := EVEN.fullmatch(plain):
        below = above = _share(found[1])
    elif found := UNEVEN.fullmatch(plain):
        below, above = map(_share, _sides(found))
    elif _ONE_SIDE.fullmatch(plain):
        figure = plain.lstrip("+- ")
        both = f"+0/-{figure}" if plain[0] == "-" else f"+{figure[:-1].strip()}/-0%"
        raise ToleranceError(f"{plain} is one side of a tolerance", f"±{figure}, or {both}")
    else:
        return None
    if below >= 1 or above > MOST_ABOVE:
        hint = "a share below 100 %, such as 5%"
        raise ToleranceError(f"{plain}: 100 % or more is no tolerance", hint)
    return below, above


def split(text: str) -> tuple[str, str]:
    """(what stands before the tolerance, the tolerance) of a value's text; the second is "" where it ends in none."""
    found = _AT_END.match(text)
    if found and found[1] and not found[1].endswith(("+", "-", "/")):
        return found[1], text[len(found[1]) :].strip()
    if one := _ONE_SIDE.search(text):
        return text[: one.start(1)].strip(), one[1]
    return text, ""


def in_one(text: str) -> str:
    """The text with each uneven tolerance as one word: `+80 % -20 %` becomes `+80/-20%`."""

    def joined(found: re.Match[str]) -> str:
        below, above = _sides(found)
        return f"+{above}/-{below}%"

    return re.sub(rf"(?<!\S){_UNEVEN}(?!\S)", joined, text)
