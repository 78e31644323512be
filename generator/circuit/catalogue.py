"""The kinds of block there are: one file in kinds/ each, loaded when it is asked for."""

from __future__ import annotations

import re
from functools import lru_cache
from importlib import import_module
from pathlib import Path

from generator.circuit.block import Kind
from generator.problems import did_you_mean


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


def did_you_mean_kind(called: str, *more: str) -> str:
    """A hint for a name that is no kind: the kind whose name or title it is like ("voltage divider"), else all of them."""
    plain = " ".join(re.sub(r"[-_]", " ", called).lower().split())
    titles = {found.title.lower(): found.name for found in all_kinds()}
    return f"did you mean {titles[plain]}?" if plain in titles else did_you_mean(called, [*names(), *more])
