"""Where the program meets the terminal: what is printed is safe to print, and no error ends in a traceback."""

from __future__ import annotations

import contextlib
import os
import re
import sys
from collections.abc import Callable
from typing import TextIO

from generator.problems import Lost, reason

DONE, PROBLEMS, MISUSED = 0, 1, 2
OUTPUT = "standard output cannot be written"
INTERRUPTED = 130  # as a shell has it for a command that Ctrl-C ended

# Controls but line ends and tabs, what turns the reading direction, and what is no character at all: file names and
# texts of strangers may hold them, and a terminal obeys some.
_UNSAFE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff]")


def safe(text: str) -> str:
    """The text with what a terminal would obey, and not show, written as an escape."""
    return _UNSAFE.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def say(text: object) -> None:
    """A line on standard error. Nobody may be there to read it; that is no reason to stop."""
    with contextlib.suppress(OSError, ValueError):
        print(safe(str(text)), file=sys.stderr, flush=True)


def out(text: object) -> None:
    """A result on standard output. Raises OSError where it cannot be written."""
    try:
        print(safe(str(text)))
    except OSError as error:
        error.filename = error.filename or OUTPUT
        raise


def guarded(command: Callable[[], int]) -> int:
    """Run a command: its exit status, or that of what went wrong, which is said in a line."""
    _open_streams()
    # a process works on one note; its threads only take memory
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        status = _run(command)
    except SystemExit as end:  # of argparse, which has said why
        status = end.code if isinstance(end.code, int) else DONE
    return _flush(status)


def _run(command: Callable[[], int]) -> int:
    try:
        return command()
    except Lost as lost:
        say(lost)
        return PROBLEMS
    except BrokenPipeError:  # who read has seen enough
        return DONE
    except KeyboardInterrupt:
        say("interrupted")
        return INTERRUPTED
    except MemoryError:
        say("there is not enough memory for this; fewer processes need less: `benchlore site --processes 1`")
        return PROBLEMS
    except RuntimeError as error:  # of which RecursionError is one
        if "start new thread" not in str(error):
            return _failed(error)
        say("the system does not allow another thread (out of memory?)")
        return PROBLEMS
    except ImportError as error:
        say(
            f"{error.name or 'a library'} cannot be loaded: there is too little memory, or it is not installed whole"
        )
        return PROBLEMS
    except OSError as error:
        named = error.filename if isinstance(error.filename, str) else ""
        say(f"{named or 'the system says'}: {reason(error)}")
        return PROBLEMS
    except Exception as error:  # noqa: BLE001 - the last place where it can be put into words
        return _failed(error)


def _failed(error: Exception) -> int:
    if os.environ.get("BENCHLORE_DEBUG"):
        import traceback

        traceback.print_exception(error)
        return PROBLEMS
    if isinstance(error, RecursionError):
        what = "something is nested too deep"
    else:
        what = " ".join(f"{type(error).__name__}: {error}".split())[:300]
    say(
        f"this is a mistake in benchlore, please report it ({what}); BENCHLORE_DEBUG=1 shows where it was made"
    )
    return PROBLEMS


def _open_streams() -> None:
    """A stream may be closed, or take fewer characters than there are."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115 - for as long as we run
        elif hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def _flush(status: int) -> int:
    """Write out what waits; where that cannot be, say so once, and keep the interpreter from saying it again at its end."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except BrokenPipeError:
            _to_nowhere(stream)
        except (OSError, ValueError) as error:
            _to_nowhere(stream)
            if stream is sys.stdout:
                if not status:
                    say(f"{OUTPUT}: {reason(error)}")
                status = status or PROBLEMS
    return status


def _to_nowhere(stream: TextIO) -> None:
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
