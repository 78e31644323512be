"""What each command takes, and what its help says."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from pathlib import Path

ABOUT = """\
benchlore turns a folder of repair notes into a site that can be searched.

A note is one Markdown file. Its front matter says what the thing is, what it did, and which circuit
blocks are in it; benchlore draws them, works their values out, checks ratings, and says what each
failure would make the meter read.
"""

EXAMPLES = """\
examples:
  benchlore writeup "egg incubator" --blocks mains-inlet,transformer-supply
  benchlore live
  benchlore values transformer-supply secondary="12 V" smoothing="C3 1000u 35V" load="120 mA"
  benchlore lookup "stays cold" --kind incubator
"""


class Command(NamedTuple):
    """What a command takes, and what its help says. more: below the list of what it takes."""

    arguments: Callable[[argparse.ArgumentParser], None]
    help: str
    more: str = ""


def parser_of(wanted: Iterable[str]) -> argparse.ArgumentParser:
    """The parser of some commands: making those of all takes as long as working a block out."""
    parser = argparse.ArgumentParser("benchlore", description=ABOUT, epilog=EXAMPLES, formatter_class=_Help)
    parser.add_argument("--version", action="store_true", help="print the version")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", prog="benchlore", dest="command")
    for name in wanted:
        own = COMMANDS[name]
        made = commands.add_parser(
            name, help=own.help, description=f"{own.help[0].upper()}{own.help[1:]}.", epilog=own.more,
            formatter_class=_Help,
        )  # fmt: skip
        made.set_defaults(parser=made)
        own.arguments(made)
    return parser


WRITEUP = """\
On a terminal and without --blocks it asks what it was, what it did and what became of it, one line each.

examples:
  benchlore writeup "electric blanket"
  benchlore writeup kettle --blocks mains-inlet,heater
"""
EXPORT = """\
One row a note: what came, what was wrong, what became of it. It goes into the records/ folder of another library,
or to whoever collects such records. Its id is the group's name and the note's number, so give every note its number.
"""
VALUES = """\
Values are written as at the bench: 4k7, 470n, 1000u, 12 V, 120 mA, 47k..56k, 12 V 5%, marked 103.
A part has a designator, ratings and a tolerance as well, in any order: smoothing="C3 1000u 35V 20%".
What the meter shows: 17.4 V, open, short, "12.1 V after 10 min".
What is nested is YAML: cut_points='{trip: {output: 2 V}}'

examples:
  benchlore values transformer-supply secondary="12 V" smoothing="C3 1000u 35V" load="120 mA"
  benchlore values transformer-supply secondary="12 V" smoothing="C3 1000u" load="120 mA" --read ripple="3.6 V"
  benchlore values transformer-supply secondary="12 V" smoothing="C3 1000u" load="120 mA" --json
  benchlore values led-indicator supply="5 V" forward=red resistor="?" current="10 mA"
  benchlore values marking "yellow violet orange gold"
  benchlore values ohm "12 V" 4k7
  benchlore values parallel 10k 4k7
"""
LOOKUP = """\
examples:
  benchlore lookup "keeps tripping the breaker"
  benchlore lookup "hums but does not spin" --kind fan --json
  benchlore lookup --queries slips.txt
"""


def _from(least: int, most: int | None = None) -> Callable[[str], int]:
    """A whole number within bounds, as argparse wants its types."""

    def read(text: str) -> int:
        if not text.isdecimal() or not least <= int(text) <= (int(text) if most is None else most):
            raise argparse.ArgumentTypeError(
                f"{text} is not a whole number from {least}" + (f" to {most}" if most else " up")
            )
        return int(text)

    return read


def _path(text: str) -> Path:
    from pathlib import Path  # `values` has no use for it

    return Path(text)


class _Help(argparse.RawDescriptionHelpFormatter):
    """Help as wide as the terminal. argparse asks for its width as it is set up, through modules that compress files."""

    def __init__(self, prog: str, indent_increment: int = 2, max_help_position: int = 24) -> None:
        super().__init__(prog, indent_increment, max_help_position, width=_columns() - 2)


def _columns() -> int:
    with contextlib.suppress(OSError, ValueError, AttributeError):
        return int(os.environ.get("COLUMNS", "")) or 80
    with contextlib.suppress(OSError, ValueError, AttributeError):
        return os.get_terminal_size(sys.__stdout__.fileno()).columns or 80  # type: ignore[union-attr]
    return 80


def _content(made: argparse.ArgumentParser, name: str = "content") -> None:
    made.add_argument(name, nargs=None if name[0] == "-" else "?", type=_path, default="content", metavar="CONTENT",
                      help="the folder with library.yaml and notes/ (default: content)")  # fmt: skip


def _skip_broken(made: argparse.ArgumentParser) -> None:
    made.add_argument("--skip-broken", action="store_true", help="leave out notes with errors, and say which")


def _json(made: argparse.ArgumentParser) -> None:
    made.add_argument("--json", action="store_true", help="print JSON")


def _site(made: argparse.ArgumentParser) -> None:
    _content(made)
    made.add_argument("--to", type=_path, default="site", metavar="FOLDER",
                      help="where the site goes (default: site)")  # fmt: skip
    _skip_broken(made)
    made.add_argument(
        "--zip", type=_path, metavar="FILE.zip", help="also pack it into a file, for a memory stick"
    )
    made.add_argument("--processes", type=_from(1), default=0, metavar="N",
                      help="how many processes build (default: one a core)")  # fmt: skip


def _live(made: argparse.ArgumentParser) -> None:
    _content(made)
    made.add_argument("--port", type=_from(1, 65535), default=8400, metavar="N",
                      help="port on this machine (default: 8400)")  # fmt: skip
    made.add_argument("--no-browser", action="store_true", help="do not open the browser")
    made.add_argument("--lan", action="store_true",
                      help="serve phones in the same network too, by an address with a key in it")  # fmt: skip


def _writeup(made: argparse.ArgumentParser) -> None:
    made.add_argument("device", nargs="?", default="", metavar="KIND-OF-DEVICE",
                      help='what people call the thing: "egg incubator"')  # fmt: skip
    made.add_argument("--blocks", default="", metavar="KIND,KIND", help="kinds of circuit block to put in")
    _content(made, "--content")


def _export(made: argparse.ArgumentParser) -> None:
    made.add_argument("file", type=_path, metavar="FILE.csv", help="the collection to write")
    _content(made)
    _skip_broken(made)


def _schema(made: argparse.ArgumentParser) -> None:
    made.add_argument("--library", action="store_true", help="that of library.yaml instead")


def _values(made: argparse.ArgumentParser) -> None:
    made.add_argument("kind", nargs="?", metavar="BLOCK-KIND",
                      help="a kind of block; without one, the kinds are listed")  # fmt: skip
    made.add_argument(
        "parts", nargs="*", metavar="NAME=TEXT", help='its parameters: smoothing="C3 1000u 35V"'
    )
    made.set_defaults(many="parts")
    made.add_argument("--read", action="append", default=[], metavar="NAME=VALUE",
                      help="what the meter shows at a value; give it once for each reading")  # fmt: skip
    _json(made)


def _lookup(made: argparse.ArgumentParser) -> None:
    made.add_argument("words", nargs="*", metavar="WORDS", help="what the thing does or does not do")
    made.set_defaults(many="words")
    made.add_argument("--queries", default="", metavar="FILE",
                      help="answer each line of a file (- for standard input) with a line of JSON; a line is words, or "
                      '{"words": ..., "kind": ...}')  # fmt: skip
    made.add_argument("--kind", default="", metavar="DEVICE", help="the kind of device")
    _content(made, "--library")
    _json(made)


COMMANDS = {
    "site": Command(_site, "write the site", "The old site stays as it is until the new one is whole."),
    "live": Command(_live, "serve the site on this machine and follow edits", "Ctrl-C ends it."),
    "inspect": Command(_content, "list every problem in every note; nothing is written"),
    "writeup": Command(_writeup, "start a note, and a library where there is none", WRITEUP),
    "export": Command(_export, "write the library as records of the Open Repair Data Standard v0.3", EXPORT),
    "schema": Command(_schema, "print the JSON Schema of a note, for editors",
                      "Redirect it: benchlore schema > note.schema.json"),
    "values": Command(_values, "work one circuit block out at the bench", VALUES),
    "lookup": Command(_lookup, "find past fixes for a symptom, most likely causes first", LOOKUP),
}  # fmt: skip
