"""The command `benchlore` begins here. In a wheel this is the module benchlore_start, outside of the package.

The package is called generator, which others may be called too. Where another is found first, there is no
generator.cli, or not ours; that is said in a line, from a module whose name nobody else has.
"""

import gc
import os
import sys


def main() -> int:
    """Run the command; returns the exit status."""
    try:
        import generator
    except ImportError:
        generator = None  # type: ignore[assignment]
    if getattr(generator, "DISTRIBUTION", "") != "benchlore":
        place = getattr(generator, "__file__", None) or next(
            iter(getattr(generator, "__path__", [])), "nowhere"
        )
        print(
            f"another package called generator is found before benchlore's, at {place!a}; take it out of PYTHONPATH, "
            "or install benchlore in an environment of its own: pipx install benchlore",
            file=sys.stderr,
        )
        return 2
    bench = sys.argv[1:2] == ["values"]
    if bench:
        _hurry()
    from generator.cli import main as run

    status = run()
    if bench:
        os._exit(status)  # all is written; to take the interpreter down would cost as much as the block
    return status


def _hurry() -> None:
    """Leave out what a call at the bench, over in a moment, does without."""
    gc.disable()  # there is nothing to collect yet
    if "inspect" not in sys.modules:
        sys.modules["inspect"] = _WhenUsed("inspect")


class _WhenUsed(type(sys)):  # type: ignore[misc]
    """Stands for inspect until somebody uses it: dataclasses loads it, and its six modules, to describe classes without a
    docstring, of which there are none here."""

    __spec__ = None

    def __getattr__(self, name: str) -> object:
        if sys.modules.get("inspect") is self:
            del sys.modules["inspect"]
        import inspect

        return getattr(inspect, name)
