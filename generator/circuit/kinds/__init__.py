"""The kinds of block, one file each; what is too much for one file lies beside it under a name with an underscore in front."""

import os
from functools import lru_cache


@lru_cache(maxsize=1)
def names() -> tuple[str, ...]:
    """The names of all kinds, in alphabetical order. Asked for before anything that computes is loaded."""
    files = [file for file in os.listdir(os.path.dirname(__file__)) if file.endswith(".py")]
    return tuple(sorted(file[:-3].replace("_", "-") for file in files if not file.startswith("_")))
