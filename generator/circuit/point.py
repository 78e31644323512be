"""One point of a block's tolerance box: every input a plain number in V, A, ohm, F, s, W, ..."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Mains:
    """The supply at the wall: RMS volts, hertz, and how far it may be above and below, as shares (EN 50160: ±10 %)."""

    voltage: float = 230.0
    frequency: float = 50.0
    band: float = 0.10
    under: float | None = None  # the share below, where it is another than above

    @property
    def below(self) -> float:
        """The share by which the mains may be low."""
        return self.band if self.under is None else self.under


class Point:
    """One point of the tolerance box: every input a plain number (or None), and at most one failed part."""

    _failure: tuple[str, str] = ("", "")

    def __init__(self, **inputs: Any) -> None:
        self.__dict__.update(inputs)

    def __getattr__(self, name: str) -> Any:
        raise AttributeError(f"this kind has no input {name}")

    def each(self, name: str) -> list[float]:
        """The values of a list of parts, in order."""
        return [getattr(self, f"{name}_{i}") for i in range(getattr(self, f"{name}_count"))]

    def changed(self, **inputs: Any) -> Point:
        """The same point with other inputs."""
        point = Point()
        point.__dict__ = {**self.__dict__, **inputs}
        return point

    def failed(self, key: str) -> str:
        """How the part under this key has failed: "open", "short", "high", "low", ... or ""."""
        return self._failure[1] if self._failure[0] == key else ""
