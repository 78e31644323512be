"""The kinds of block there are: one file in kinds/ each, loaded when it is asked for."""

from __future__ import annotations

from functools import lru_cache
from importlib import import_module
from pathlib import Path

from generator.circuit.block import Kind


@lru_cache(maxsize=1)
def names() -> tuple[str, ...]:
    """The names of all kinds, in alphabetical order."""
    folder = Path(__file__).parent / "kinds"
    return tuple(sorted(f.stem.replace("_", "-") for f in folder.glob("*.py") if not f.stem.startswith("_")))


@lru_cache(maxsize=None)
def kind(name: str) -> Kind:
    """The kind of that name. Raises KeyError where there is none."""
    if name not in names():
        raise KeyError(name)
    module = import_module(f"generator.circuit.kinds.{name.replace('-', '_')}")
    found: Kind = module.KIND
    return found


def all_kinds() -> list[Kind]:
    """Every kind, in alphabetical order."""
    return [kind(name) for name in names()]
