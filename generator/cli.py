"""The commands: arguments in, messages out. Heavy imports wait until a command needs them."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import Any

from generator.edge import DONE, MISUSED, PROBLEMS, guarded, out, say
from generator.options import COMMANDS, parser_of
from generator.problems import did_you_mean


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; returns the exit status: 0 done, 1 the notes have problems, 2 used wrongly, 130 ended by Ctrl-C."""
    return guarded(lambda: _main(sys.argv[1:] if arguments is None else list(arguments)))


def _main(given: list[str]) -> int:
    asked = given[0] if given else ""
    if asked and not asked.startswith("-") and asked not in COMMANDS:
        say(f"{asked}: no such command; {did_you_mean(asked, COMMANDS)}")
        return MISUSED
    parser = parser_of([asked] if asked in COMMANDS else COMMANDS)
    chosen, rest = parser.parse_known_args(given)
    behind_options = getattr(chosen, getattr(chosen, "many", ""), None)  # `values divider --json upper=10k`
    if rest and (behind_options is None or any(word.startswith("-") for word in rest)):
        parser.error(f"not understood: {' '.join(rest)}")
    if rest and behind_options is not None:
        behind_options.extend(rest)
    if chosen.command:
        return RUN[chosen.command](chosen)
    if not chosen.version:
        parser.print_help(sys.stderr)
        return MISUSED
    from importlib.metadata import version

    out(version("benchlore"))
    return DONE


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
        say(f"{chosen.zip}: the file's name must end in .zip")
        return MISUSED
    if chosen.zip and not chosen.zip.absolute().parent.is_dir():
        say(f"{chosen.zip}: there is no folder {chosen.zip.parent}")
        return MISUSED
    if chosen.zip and chosen.to.resolve() in chosen.zip.resolve().parents:
        say(f"{chosen.zip} is inside the site it would pack; choose another place")
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
            say(f"{chosen.zip}: the same site in one file, {size / (1 << 20):.1f} MiB")
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
    from generator.export import export

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
    from generator.lookup import lookup

    words = " ".join(chosen.words)
    if bool(words.strip()) == bool(chosen.queries):
        chosen.parser.error("name WORDS, or a file of them with --queries" + ("; not both" if words else ""))
    return lookup(
        words, chosen.kind, chosen.library, as_json=chosen.json, out=out, say=say, queries=chosen.queries
    )


RUN: dict[str, Callable[[Any], int]] = {
    "site": _site, "live": _live, "inspect": _inspect, "writeup": _writeup, "export": _export, "schema": _schema,
    "values": _values, "lookup": _lookup,
}  # fmt: skip


if __name__ == "__main__":
    sys.exit(main())
