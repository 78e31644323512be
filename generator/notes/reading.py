"""A reading as a note states it; by itself, for a reading at the bench needs nothing else of a note."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reading:
    """What a meter showed. path is the entry's place in the front matter.

    One of at (volts, or a block's value), across (volts across a part, or between two places), ohms, diode says where: the text of a place, or of
    two. block and value are the parts of at where it names a block's value, else "". accuracy is the meter's ("2 % + 5", ""
    for the library's meter), condition what `with:` says, when the state ("" is the first), mended what was read there
    after the repair.
    """

    block: str
    value: str
    read: str
    accuracy: str = ""
    condition: str = ""
    note: str = ""
    path: tuple[str | int, ...] = ()
    at: str = ""
    across: tuple[str, ...] = ()
    ohms: tuple[str, ...] = ()
    diode: tuple[str, ...] = ()
    when: str = ""
    mended: str = ""
