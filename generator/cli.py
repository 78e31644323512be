"""The commands: arguments in, messages out. Heavy imports wait until a command needs them."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from generator.edge import DONE, MISUSED, PROBLEMS, guarded, out, say
from generator.problems import did_you_mean

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
    """What a command does, what it takes, and what its help says; more: below the list of what it takes."""

    run: Callable[[Any], int]
    arguments: Callable[[argparse.ArgumentParser], None]
    help: str
    more: str = ""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; returns the exit status: 0 done, 1 the notes have problems, 2 used wrongly, 130 ended by Ctrl-C."""
    return guarded(lambda: _main(sys.argv[1:] if arguments is None else list(arguments)))


def _main(given: list[str]) -> int:
    asked = given[0] if given else ""
    if asked and not asked.startswith("-") and asked not in COMMANDS:
        say(f"{asked}: no such command; {did_you_mean(asked, COMMANDS)}")
        return MISUSED
    parser = _parser([asked] if asked in COMMANDS else COMMANDS)
    chosen, rest = parser.parse_known_args(given)
    behind_options = getattr(chosen, getattr(chosen, "many", ""), None)  # `values divider --json upper=10k`
    if rest and (behind_options is None or any(word.startswith("-") for word in rest)):
        parser.error(f"not understood: {' '.join(rest)}")
    if rest and behind_options is not None:
        behind_options.extend(rest)
    status: int = chosen.run(chosen)
    return status


def _parser(wanted: Iterable[str]) -> argparse.ArgumentParser:
    """The parser of some commands: making those of all takes as long as working a block out."""
    parser = argparse.ArgumentParser("benchlore", description=ABOUT, epilog=EXAMPLES, formatter_class=_Help)
    parser.add_argument("--version", action="store_true", help="print the version")
    parser.set_defaults(run=_version_or_help(parser))
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", prog="benchlore")
    for name in wanted:
        own = COMMANDS[name]
        made = commands.add_parser(
            name, help=own.help, description=f"{own.help[0].upper()}{own.help[1:]}.", epilog=own.more,
            formatter_class=_Help,
        )  # fmt: skip
        made.set_defaults(run=own.run)
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


def _content(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("content", nargs="?", type=_path, default="content", metavar="CONTENT",
                        help="the folder with library.yaml and notes/ (default: content)")  # fmt: skip


def _site_takes(made: argparse.ArgumentParser) -> None:
    _content(made)
    made.add_argument(
        "--to", type=_path, default="site", metavar="FOLDER", help="where the site goes (default: site)"
    )
    made.add_argument("--skip-broken", action="store_true", help="leave out notes with errors, and say which")
    made.add_argument(
        "--zip",
        type=_path,
        default=None,
        metavar="FILE.zip",
        help="also pack it into a file, for a memory stick",
    )
    made.add_argument(
        "--processes",
        type=_from(1),
        default=0,
        metavar="N",
        help="how many processes build (default: one a core)",
    )


def _live_takes(made: argparse.ArgumentParser) -> None:
    _content(made)
    made.add_argument(
        "--port", type=_from(1, 65535), default=8400, metavar="N", help="port on this machine (default: 8400)"
    )
    made.add_argument("--no-browser", action="store_true", help="do not open the browser")
    made.add_argument(
        "--lan",
        action="store_true",
        help="serve phones in the same network too, by an address with a key in it",
    )


def _inspect_takes(made: argparse.ArgumentParser) -> None:
    _content(made)


def _writeup_takes(made: argparse.ArgumentParser) -> None:
    made.add_argument(
        "device",
        nargs="?",
        default="",
        metavar="KIND-OF-DEVICE",
        help='what people call the thing: "egg incubator"',
    )
    made.set_defaults(parser=made)
    made.add_argument("--blocks", default="", metavar="KIND,KIND", help="kinds of circuit block to put in")
    made.add_argument(
        "--content", type=_path, default="content", metavar="CONTENT", help="the library (default: content)"
    )


def _export_takes(made: argparse.ArgumentParser) -> None:
    made.add_argument("file", type=_path, metavar="FILE.csv", help="the collection to write")
    _content(made)
    made.add_argument("--skip-broken", action="store_true", help="leave out notes with errors, and say which")


def _schema_takes(made: argparse.ArgumentParser) -> None:
    made.add_argument("--library", action="store_true", help="that of library.yaml instead")


def _values_takes(made: argparse.ArgumentParser) -> None:
    made.add_argument(
        "kind",
        nargs="?",
        default=None,
        metavar="BLOCK-KIND",
        help="a kind of block; without one, the kinds are listed",
    )
    made.add_argument(
        "parts", nargs="*", metavar="NAME=TEXT", help='its parameters: smoothing="C3 1000u 35V"'
    )
    made.set_defaults(many="parts")
    made.add_argument(
        "--read",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="what the meter shows at a value; give it once for each reading",
    )
    made.add_argument("--json", action="store_true", help="print JSON")


def _lookup_takes(made: argparse.ArgumentParser) -> None:
    made.add_argument("words", nargs="*", metavar="WORDS", help="what the thing does or does not do")
    made.set_defaults(many="words", parser=made)
    made.add_argument(
        "--queries",
        default="",
        metavar="FILE",
        help="answer each line of a file (- for standard input) with a line of JSON; a line is words, or "
        '{"words": ..., "kind": ...}',
    )
    made.add_argument("--kind", default="", metavar="DEVICE", help="the kind of device")
    made.add_argument(
        "--library", type=_path, default="content", metavar="CONTENT", help="the library (default: content)"
    )
    made.add_argument("--json", action="store_true", help="print JSON")


def _version_or_help(parser: argparse.ArgumentParser) -> Callable[[Any], int]:
    def run(chosen: Any) -> int:
        if chosen.version:
            from importlib.metadata import version

            out(version("benchlore"))
            return DONE
        parser.print_help(sys.stderr)
        return MISUSED

    return run


def _tell(problems: Sequence[Any]) -> int:
    """Print problems; the exit status that they ask for."""
    from generator.problems import ERROR

    for problem in problems:
        say(problem)
    errors = sum(problem.severity == ERROR for problem in problems)
    if errors:
        say(_counted(errors, "problem"))
    return PROBLEMS if errors else DONE


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'s' if count != 1 else ''}"


def _site(chosen: Any) -> int:
    if chosen.zip and chosen.zip.suffix.lower() != ".zip":
        say(f"{chosen.zip}: the file is called something.zip")
        return MISUSED
    if chosen.zip and not chosen.zip.absolute().parent.is_dir():
        say(f"{chosen.zip}: there is no folder {chosen.zip.parent}")
        return MISUSED
    if chosen.zip and chosen.to.resolve() in chosen.zip.resolve().parents:
        say(f"{chosen.zip}: lies in the site that it is to hold; name another place")
        return MISUSED
    from generator.build.build import build_site
    from generator.progress import Progress

    built = build_site(
        chosen.content,
        chosen.to,
        processes=chosen.processes,
        progress=Progress(),
        skip_broken=chosen.skip_broken,
    )
    status = _tell(built.problems)
    if status == DONE:
        say(f"{_counted(built.notes, 'note')}, {_counted(built.pages, 'page')} in {chosen.to}")
        if chosen.zip:
            from generator.build.packed import pack_site

            size = pack_site(chosen.to, chosen.zip)
            say(f"{chosen.zip}: the same to take away, {size / (1 << 20):.1f} MiB")
    else:
        say(f"nothing was written; {chosen.to} is as it was")
    return status


def _live(chosen: Any) -> int:
    from generator.live.live import live

    return live(chosen.content, port=chosen.port, open_browser=not chosen.no_browser, lan=chosen.lan)


def _inspect(chosen: Any) -> int:
    from generator.build.build import inspect_library
    from generator.problems import HINT, WARNING
    from generator.progress import Progress

    problems, notes = inspect_library(chosen.content, progress=Progress())
    status = _tell(problems)
    if status == DONE:
        remarks = [
            _counted(count, name)
            for name in (WARNING, HINT)
            if (count := sum(p.severity == name for p in problems))
        ]
        say(f"{_counted(notes, 'note')}, " + (" and ".join(remarks) if remarks else "nothing wrong"))
    return status


def _writeup(chosen: Any) -> int:
    import datetime

    from generator.circuit import catalogue
    from generator.notes.asking import UNNAMED, ask
    from generator.notes.starter import NOTHING_SAID, StarterError, start_note

    blocks = [kind.strip() for kind in chosen.blocks.split(",") if kind.strip()]
    unknown = [kind for kind in blocks if kind not in catalogue.names()]
    for kind in unknown:
        say(f"{kind}: no such kind of block; {catalogue.did_you_mean_kind(kind)}")
    if unknown:
        return MISUSED
    answers = NOTHING_SAID
    if not blocks and sys.stdin is not None and sys.stdin.isatty():
        say("One line each; Enter skips a question, Ctrl-D skips the rest.")
        answers = ask(_line, say, chosen.device)
    elif not chosen.device:
        chosen.parser.error("name the KIND-OF-DEVICE: benchlore writeup kettle")
    kind = chosen.device or answers.kind or UNNAMED
    try:
        written = start_note(chosen.content, kind, blocks, datetime.date.today(), answers)
    except StarterError as error:
        say(error)
        return MISUSED
    for path in written:
        out(path)
    return DONE


def _line(words: str) -> str | None:
    """An answer from the terminal; None where there are no more."""
    print(words, end=" ", file=sys.stderr, flush=True)
    try:
        line = sys.stdin.readline(10_000)
    except UnicodeDecodeError:
        return ""
    if not line:
        print(file=sys.stderr)  # Ctrl-D leaves the cursor behind the question
    return line or None


def _export(chosen: Any) -> int:
    from generator.bench import export

    return export(chosen.file, chosen.content, skip_broken=chosen.skip_broken, tell=_tell, say=say)


def _schema(chosen: Any) -> int:
    import json

    from generator.notes.schema import schema

    out(json.dumps(schema("library" if chosen.library else "note"), ensure_ascii=False, indent=1))
    return DONE


def _values(chosen: Any) -> int:
    from generator import bench

    return bench.values(chosen.kind, chosen.parts, chosen.read, as_json=chosen.json, out=out, say=say)


def _lookup(chosen: Any) -> int:
    from generator import bench

    words = " ".join(chosen.words)
    if bool(words.strip()) == bool(chosen.queries):
        chosen.parser.error("name WORDS, or a file of them with --queries" + ("; not both" if words else ""))
    return bench.lookup(
        words, chosen.kind, chosen.library, as_json=chosen.json, out=out, say=say, queries=chosen.queries
    )


COMMANDS = {
    "site": Command(
        _site, _site_takes, "write the site", "The old site stays as it is until the new one is whole."
    ),
    "live": Command(_live, _live_takes, "serve the site on this machine and follow edits", "Ctrl-C ends it."),
    "inspect": Command(_inspect, _inspect_takes, "list every problem in every note; nothing is written"),
    "writeup": Command(_writeup, _writeup_takes, "start a note, and a library where there is none", WRITEUP),
    "export": Command(
        _export, _export_takes, "write the library as records of the Open Repair Data Standard v0.3", EXPORT
    ),
    "schema": Command(
        _schema,
        _schema_takes,
        "print the JSON Schema of a note, for editors",
        "Redirect it: benchlore schema > note.schema.json",
    ),
    "values": Command(_values, _values_takes, "work one circuit block out at the bench", VALUES),
    "lookup": Command(
        _lookup, _lookup_takes, "find past fixes for a symptom, most likely causes first", LOOKUP
    ),
}


if __name__ == "__main__":
    sys.exit(main())
