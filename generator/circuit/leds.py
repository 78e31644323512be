"""What an LED is taken to be where a note does not say."""

from __future__ import annotations

# Typical forward volts at 10 to 20 mA. From memory of common 5 mm parts; a given part differs by some 0.3 V.
FORWARD_VOLTS = {
    "red": 1.8, "amber": 2.0, "yellow": 2.0, "orange": 2.0, "green": 2.1, "blue": 3.0, "white": 3.0,
}  # fmt: skip
USUAL_LIMIT = 0.020  # A; the continuous rating of most indicator LEDs (common practice, no source)
