"""The tables behind markings on parts: IEC 60062 colours and letters, EIA codes.

Where a line says "from memory", the number is as commonly published and was not read in the standard itself.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.language import _, localized
from generator.notation.preferred import E24, E96


@dataclass(frozen=True)
class Colour:
    """What a band of one colour stands for (IEC 60062). exponent: of the multiplier's ten; tolerance: a share."""

    name: str
    digit: int | None
    exponent: int
    tolerance: float | None = None
    coefficient: int | None = None  # 10⁻⁶/K


# Tolerances of orange, yellow and grey as in the edition of 2016, coefficients likewise: from memory.
COLOURS = {
    c.name: c
    for c in (
        Colour("black", 0, 0, None, 250), Colour("brown", 1, 1, 0.01, 100), Colour("red", 2, 2, 0.02, 50),
        Colour("orange", 3, 3, 0.0005, 15), Colour("yellow", 4, 4, 0.0002, 25), Colour("green", 5, 5, 0.005, 20),
        Colour("blue", 6, 6, 0.0025, 10), Colour("violet", 7, 7, 0.001, 5), Colour("grey", 8, 8, 0.0001, 1),
        Colour("white", 9, 9), Colour("gold", None, -1, 0.05), Colour("silver", None, -2, 0.10), Colour("pink", None, -3),
    )
}  # fmt: skip
NO_BAND_TOLERANCE = 0.20
# A tolerance band that meant something wider in an older code; the wider one is what a band of values has to hold.
OLDER_TOLERANCE = {"grey": 0.0005}  # IEC 60062 before 2016, from memory

OTHER_NAMES = {
    "gray": "grey", "purple": "violet", "golden": "gold",
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue", "VT": "violet",
    "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold", "SR": "silver",  # IEC 60757
    "schwarz": "black", "braun": "brown", "rot": "red", "gelb": "yellow", "grün": "green", "blau": "blue", "violett": "violet",
    "grau": "grey", "weiß": "white", "rosa": "pink", "silber": "silver",
}  # fmt: skip

# Film and ceramic capacitors of the 1960s to 1980s, in pF; from memory.
CAPACITOR_TOLERANCE = {"black": 0.20, "white": 0.10, "green": 0.05}
CAPACITOR_VOLTAGE = {"brown": 100, "red": 250, "yellow": 400, "blue": 630}
INDUCTOR_TOLERANCE = {"black": 0.20, "silver": 0.10, "gold": 0.05}

# IEC 60062: the letter stands where the point would. L is a thousandth of an ohm.
RESISTOR_LETTERS = {"L": 1e-3, "m": 1e-3, "R": 1.0, "K": 1e3, "k": 1e3, "M": 1e6, "G": 1e9, "T": 1e12}
CAPACITOR_LETTERS = {
    "p": 1e-12, "P": 1e-12, "n": 1e-9, "N": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "U": 1e-6, "m": 1e-3,
    "F": 1.0,
}  # fmt: skip

SMALL_CAPACITOR = 10e-12  # F; below it the letters are absolute
SMALL_CAPACITOR_LETTERS = {"B": 0.1e-12, "C": 0.25e-12, "D": 0.5e-12, "F": 1e-12, "G": 2e-12}  # F

# EIA-96: two digits are the place in the E96 series, the letter is the multiplier. R, S and H are older letters.
EIA96_MULTIPLIERS = {
    "Z": 1e-3, "Y": 1e-2, "R": 1e-2, "X": 0.1, "S": 0.1, "A": 1.0, "B": 10.0, "H": 10.0, "C": 1e2, "D": 1e3, "E": 1e4, "F": 1e5,
}  # fmt: skip
EIA96_NUMBERS = [round(100 * step) for step in E96]

# EIA-198: capital letters are E24 in order (no I, no O); small ones fill the gaps. The digit is the power of ten in pF.
EIA_CAPACITOR_LETTERS = {
    **dict(zip("ABCDEFGHJKLMNPQRSTUVWXYZ", E24)),
    "a": 2.5, "b": 3.5, "d": 4.0, "e": 4.5, "f": 5.0, "m": 6.0, "n": 7.0, "t": 8.0, "y": 9.0,
}  # fmt: skip

# A digit (power of ten) and a letter before a capacitor's code: its rated DC voltage (EIA; from memory).
VOLTAGE_LETTERS = {
    "A": 1.0, "B": 1.25, "C": 1.6, "D": 2.0, "E": 2.5, "F": 3.15, "V": 3.5, "G": 4.0, "W": 4.5, "H": 5.0, "J": 6.3, "K": 8.0,
}  # fmt: skip

# EIA-198, class II and III: coldest, hottest, change of capacitance between them.
DIELECTRIC_COLD = {"X": "−55", "Y": "−30", "Z": "+10"}
DIELECTRIC_HOT = {"2": "+45", "4": "+65", "5": "+85", "6": "+105", "7": "+125", "8": "+150", "9": "+200"}
DIELECTRIC_CHANGE = {
    "A": "±1 %", "B": "±1.5 %", "C": "±2.2 %", "D": "±3.3 %", "E": "±4.7 %", "F": "±7.5 %", "P": "±10 %", "R": "±15 %",
    "S": "±22 %", "T": "+22 to −33 %", "U": "+22 to −56 %", "V": "+22 to −82 %",
}  # fmt: skip
DIELECTRIC_WORDS = {
    "C0G": "class I ceramic: 0 ± 30·10⁻⁶/K from −55 to +125 °C, steady in voltage and age",
    "NP0": "class I ceramic: 0 ± 30·10⁻⁶/K from −55 to +125 °C, steady in voltage and age (the same as C0G)",
    "MKT": "metallised polyester film (DIN 41379)", "MKP": "metallised polypropylene film (DIN 41379)",
    "FKP": "polypropylene film with foil electrodes", "KP": "polypropylene film with foil electrodes",
    "X1": "safety capacitor across the mains, for pulses up to 4 kV (IEC 60384-14)",
    "X2": "safety capacitor across the mains, for pulses up to 2.5 kV (IEC 60384-14)",
    "Y1": "safety capacitor from the mains to what can be touched, for pulses up to 8 kV (IEC 60384-14)",
    "Y2": "safety capacitor from the mains to what can be touched, for pulses up to 5 kV (IEC 60384-14)",
}  # fmt: skip


def percent(share: float) -> str:
    """A share as a person writes it: 0.0025 -> "0.25 %"."""
    return localized(f"{share * 100:.4g} %")


def tolerance_words(below: float, above: float) -> str:
    """A tolerance in words; below, above: shares of the value."""
    return (
        f"±{percent(below)}"
        if below == above
        else _("−%(below)s to +%(above)s")
        % {"below": percent(below).removesuffix(" %"), "above": percent(above)}
    )


def dielectric(code: str) -> str:
    """A dielectric or class in words, "" where the code is none. EIA-198: coldest, hottest, change."""
    code = code.upper().replace("COG", "C0G").replace("NPO", "NP0")
    if code in DIELECTRIC_WORDS:
        return _(DIELECTRIC_WORDS[code])
    if (
        len(code) == 3
        and code[0] in DIELECTRIC_COLD
        and code[1] in DIELECTRIC_HOT
        and code[2] in DIELECTRIC_CHANGE
    ):
        cold, hot = DIELECTRIC_COLD[code[0]], DIELECTRIC_HOT[code[1]]
        values = {"change": localized(DIELECTRIC_CHANGE[code[2]]), "cold": cold, "hot": hot}
        return (
            _("ceramic: within %(change)s from %(cold)s to %(hot)s °C; falls with DC voltage and age besides")
            % values
        )
    return ""
