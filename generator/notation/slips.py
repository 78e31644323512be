"""Words of a part that are kept as remarks though they are, but for a slip, words that say something: "schotky", "electrolitic"."""

from __future__ import annotations

from generator.notation.part_text import CAPACITOR_WORDS

# Every word by which a part of a note is taken for something, wherever that is decided
SAYING = frozenset(
    {word for word in CAPACITOR_WORDS if word.islower()}
    | set(
        "schottky zener fusible varistor contact n-channel p-channel neutral loudspeaker speaker buzzer relay contactor coil "
        "solenoid motor valve pump compressor lamp bulb halogen incandescent filament heater heating element electronic reed "
        "switch yellow green orange white amber infrared".split()
    )
)
SHORTEST = 5  # letters, below which too many words are near to one another
LONG = 8  # letters of words that may differ in two places


def meant_by(word: str) -> str:
    """The word that says something and is near to this one, which does not; "" where there is none. A word that differs only in
    its ending is another form of it, not a slip: "films", "heated"."""
    own = word.lower()
    if len(own) < SHORTEST or own in SAYING or not own.replace("-", "").isalpha():
        return ""
    near = []
    for known in SAYING:
        slips = _slips(own, known)
        other_form = own.startswith(known if len(known) >= LONG else known[: len(own) - 2])
        if slips <= (2 if len(known) >= LONG else 1) and not other_form:
            near.append((slips, known))
    return min(near, default=(0, ""))[1]


def _slips(one: str, other: str) -> int:
    """How many letters were lost, added, changed or swapped with their neighbour, 3 for more than two. Optimal string alignment:
    G. Navarro, A guided tour to approximate string matching, 2001, section 2.1, with swaps as one."""
    if abs(len(one) - len(other)) > 2:
        return 3
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        last, row = row, [i]
        for j, b in enumerate(other, 1):
            row.append(min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (a != b)))
            if i > 1 and j > 1 and a == other[j - 2] and b == one[i - 2]:
                row[j] = min(row[j], before[j - 2] + 1)
        before = last
    return min(row[-1], 3)
