"""What the parts of one specimen of a device really are: each drawn from a published range.

The sources are standards or generic data-sheet limits; "from memory" where no sheet was at hand when this was
written. Nothing here is taken from the package under test.
"""

from __future__ import annotations

import numpy as np

THERMAL_VOLTAGE = 0.02569  # V, kT/q at 25 °C

# colour: typical and limits of the forward voltage at 10 mA; generic 5 mm LED data sheets, from memory
LED_FORWARD = {
    "red": (1.85, 1.7, 2.2),
    "amber": (2.0, 1.8, 2.3),
    "green": (2.1, 1.9, 2.4),
    "white": (3.0, 2.8, 3.4),
    "blue": (3.0, 2.8, 3.4),
    "power white": (2.65, 2.55, 2.8),  # of half a watt or more: 2.9 to 3.3 V at its 150 to 350 mA
}
LED_OHMS = {"power white": (0.4, 0.7, 1.2)}  # of a 5 mm LED 2 to 12
# saturation current (A), emission coefficient, ohms; models of the 1N4148 and 1N4007 types, from memory
DIODE = {"signal": (2.5e-9, 1.75, 0.6), "rectifier": (7.0e-9, 1.81, 0.03)}
# gain groups of a small-signal NPN (classes A, B, C: 110-220, 200-450, 420-800), generic data sheet
GAIN_GROUPS = {"a": (110, 220), "b": (200, 450), "c": (420, 800)}
# open-circuit volts of one cell: empty, nominal, full; from memory
CELL = {
    "ni-mh": (1.10, 1.25, 1.38),
    "ni-cd": (1.10, 1.25, 1.38),
    "li-ion": (3.2, 3.7, 4.15),
    "lead-acid": (1.93, 2.05, 2.13),
    "alkaline": (1.05, 1.3, 1.58),
}


class Draw:
    """One specimen: each question is answered once, from the seed; without a seed all is typical.

    load_factor is put on the load that a case moves on purpose; charge is the state of charge, 0 to 1.
    """

    def __init__(self, seed: int | None, load_factor: float = 1.0, charge: float | None = None) -> None:
        self.rng = None if seed is None else np.random.default_rng(seed)
        self.load_factor = load_factor
        drawn = 0.6 if self.rng is None else self.rng.uniform(0.35, 1.0)
        self.charge = drawn if charge is None else charge

    def between(self, low: float, typical: float, high: float) -> float:
        """Three quarters of the parts lie in the middle half of a published range; none outside."""
        if self.rng is None:
            return typical
        share = np.clip(self.rng.normal(0, 0.43), -1, 1)
        return typical + share * ((high - typical) if share > 0 else (typical - low))

    def percent(self, nominal: float, tolerance: float) -> float:
        """A tolerance class of IEC 60062, symmetric, in percent."""
        return self.between(nominal * (1 - tolerance / 100), nominal, nominal * (1 + tolerance / 100))

    def decades(self, low: float, typical: float, high: float) -> float:
        """As between, on a logarithmic scale: gains, saturation currents, transfer ratios."""
        return float(np.exp(self.between(np.log(low), np.log(typical), np.log(high))))

    def mains(self) -> float:
        """RMS volts: 230 V, EN 50160 allows ±10 %; 95 % of a week within; a house sees most of it within ±4
        %.
        """
        if self.rng is None:
            return 230.0
        return float(np.clip(self.rng.normal(231, 6), 207, 253))

    def saturation_of_led(self, colour: str) -> tuple[float, float, float]:
        """(IS, N, RS) so that 10 mA give the drawn forward voltage."""
        typical, low, high = LED_FORWARD[colour]
        forward = self.between(low, typical, high)
        resistance = self.between(*LED_OHMS.get(colour, (2, 6, 12)))
        emission = 2.0
        return (
            0.01 * float(np.exp(-(forward - 0.01 * resistance) / (emission * THERMAL_VOLTAGE))),
            emission,
            resistance,
        )

    def diode(self, kind: str) -> tuple[float, float, float]:
        """(IS, N, RS); the saturation current spreads by a factor of five, ±70 mV of forward voltage."""
        saturation, emission, resistance = DIODE[kind]
        return self.decades(saturation / 5, saturation, saturation * 5), emission, resistance

    def gain(self, group: str) -> float:
        """hfe of a small-signal transistor; within a group any value, for reels are not sorted further."""
        low, high = GAIN_GROUPS[group]
        return self.decades(low, (low * high) ** 0.5, high)

    def ntc(self, r25: float, beta: float, tolerance: float, beta_tolerance: float = 1.0) -> float:
        """Ohms in a room of 25 °C, give or take two degrees; R25 and B by the class on the data sheet."""
        kelvin = 298.15 + self.between(-2, 0, 2)
        return self.percent(r25, tolerance) * float(
            np.exp(self.percent(beta, beta_tolerance) * (1 / kelvin - 1 / 298.15))
        )
