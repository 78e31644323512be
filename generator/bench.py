"""What the commands `values`, `lookup` and `export` do: from texts on the command line to texts on the terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from typing import TYPE_CHECKING, Any

from generator.notes.text import out_of_curly_quotes, shown, shown_path
from generator.problems import ERROR, Problem

if TYPE_CHECKING:
    from pathlib import Path

    from generator.finding.entry import Entry
    from generator.finding.record import Record

DONE, PROBLEMS, MISUSED = 0, 1, 2
Print = Callable[[object], object]


def values(
    kind: str | None, parts: Sequence[str], reads: Sequence[str], *, as_json: bool, out: Print, say: Print
) -> int:
    """Work a block out; print it or, with readings, which failures fit them too. Returns the exit status."""
    if kind == "marking":
        return _marking(parts, as_json=as_json, out=out, say=say)
    from generator.circuit.kinds import names

    if kind not in names():
        return _no_block(kind, parts, reads, as_json=as_json, out=out, say=say)
    from generator.circuit import catalogue, report
    from generator.circuit.circuit import Mains, build_block

    try:
        parameters = _parameters(parts, catalogue.kind(kind).example)
        readings = [_pair(text, "readings are written name=value, such as output=4.9V") for text in reads]
    except ValueError as error:
        say(str(error))
        return MISUSED
    if "?" in parameters.values():
        return _turned(kind, parameters, as_json=as_json, out=out, say=say)
    block, troubles = build_block(kind, parameters, Mains())
    if block is None and not parts:
        say(_to_edit(kind))
        return MISUSED
    for trouble in troubles:
        severity = "" if trouble.severity == ERROR else f"{trouble.severity}: "
        say(severity + trouble.what + (f"; {trouble.hint}" if trouble.hint else ""))
    if block is None:
        return MISUSED
    data, text = (report.as_data(block), "") if as_json else ({}, report.as_text(block))
    if readings:
        from generator.diagnosis.bench import fitting

        found = fitting(block, readings)
        for problem in found.problems:
            say(problem)
        if found.problems:
            return MISUSED
        data |= found.as_data()
        text += "\n\n" + found.as_text()
    out(_json(data) if as_json else text)
    return DONE


def _no_block(
    kind: str | None, parts: Sequence[str], reads: Sequence[str], *, as_json: bool, out: Print, say: Print
) -> int:
    """What `values` says to anything but a kind of block: a sum, the list of all kinds, or that there is none of that name."""
    from generator.circuit import sums

    if kind in sums.SUMS and not reads:
        return _sum(kind, parts, as_json=as_json, out=out, say=say)
    from generator.circuit import catalogue

    if kind is None:
        if as_json:
            kinds = [
                {"kind": found.name, "title": found.title, "what": found.what}
                for found in catalogue.all_kinds()
            ]
            out(_json({"kinds": kinds}))
            return DONE
        for name in catalogue.names():
            out(f"{name:22}{catalogue.kind(name).what}")
        for sort in sums.SUMS.values():
            out(f"{sort.name:22}{sort.what}")
        out(f"{'marking':22}what is printed on a part, such as 103, 4K7 or yellow violet orange gold")
        return DONE
    hint = catalogue.did_you_mean_kind(kind, "marking", *sums.SUMS)
    say(f"{shown(kind, 40)}: no such kind of block; {hint}" if kind.strip() else "no kind of block is named")
    return MISUSED


def _json(data: Any, indent: int | None = 1) -> str:
    import json

    return json.dumps(data, ensure_ascii=False, indent=indent)


def _to_edit(kind: str) -> str:
    """A filled call to edit, and what else the kind takes."""
    import shlex

    from generator.circuit import catalogue
    from generator.notes.flow import flow

    found = catalogue.kind(kind)
    filled = " ".join(
        f"{name}={shlex.quote(flow(entry) if not isinstance(entry, str) else entry)}"
        for name, entry in found.example.items()
    )
    others = [p for p in found.params if p.name not in found.example]
    wide = max((len(p.name) for p in others), default=0) + 2
    more = [f"  {p.name:{wide}}{p.what} ({p.accepts()})" for p in others]
    lines = [f"{kind}: {found.what}", "", "An example to edit:", f"  benchlore values {kind} {filled}"]
    return "\n".join(lines + (["", "It also takes:", *more] if more else []))


def _sum(kind: str, parts: Sequence[str], *, as_json: bool, out: Print, say: Print) -> int:
    from generator.circuit import sums

    try:
        if any(text.rstrip().endswith("?") for text in parts):
            from generator.circuit import sums_turned

            solved = sums_turned.turned_round(kind, parts)
            out(_json(sums_turned.data_of(kind, solved)) if as_json else sums_turned.text_of(solved))
            return DONE
        found = sums.worked_out(kind, parts)
    except sums.SumError as error:
        say(str(error))
        return MISUSED
    out(_json(sums.as_data(kind, found)) if as_json else sums.as_text(found))
    return DONE


def _turned(kind: str, parameters: Mapping[str, Any], *, as_json: bool, out: Print, say: Print) -> int:
    """`resistor=? current="10 mA"`: which part, the nearest that there is, and what that comes to."""
    from generator.circuit import report
    from generator.circuit.circuit import Mains
    from generator.circuit.turned import TurnedError, turn_round
    from generator.notation.quantity import format_band, format_value

    try:
        turned = turn_round(kind, parameters, Mains())
    except TurnedError as error:
        say(str(error))
        return MISUSED
    value, _target = turned.wanted
    if as_json:
        nearest = [
            {"series": series, "value": size, "comes_to": report.result_data(block.values[value])}
            for series, size, block in turned.nearest
            if value in block.values
        ]
        solved = {
            "parameter": turned.parameter,
            "value": turned.exact,
            "unit": turned.unit,
            "wanted": value,
            "nearest": nearest,
        }
        out(_json({**report.as_data(turned.nearest[0][2]), "solved": solved}))
        return DONE
    lines = [
        f"{turned.parameter} = {format_value(turned.exact, turned.unit, 4)} makes {value} {parameters[value]}"
    ]
    for series, size, block in turned.nearest:
        result = block.values.get(value)
        if series and result is not None and result.value is not None:
            comes = f"{format_value(result.value, result.unit)} ({format_band(result.low, result.high, result.unit)})"
            lines.append(f"  {series}: {format_value(size, turned.unit, trim=True)} comes to {comes}")
    lines += ["", report.as_text(turned.nearest[0][2])]
    out("\n".join(lines))
    return DONE


def _parameters(texts: Sequence[str], example: Mapping[str, Any]) -> dict[str, Any]:
    """name=text pairs. Text that is YAML flow (a list or a mapping) is read as such. Raises ValueError in words."""
    such_as = next(
        (f'{name}="{text}"' for name, text in example.items() if isinstance(text, str)), 'load="120 mA"'
    )
    found: dict[str, Any] = {}
    for text in texts:
        name, entry = _pair(text, f"parameters are written name=text, such as {such_as}")
        if name in found:
            raise ValueError(f"{name} is given twice")
        if name == "kind":
            raise ValueError("the kind stands first, without kind=")
        found[name] = _flow(entry) if entry[:1] in ("{", "[") else out_of_curly_quotes(entry)
    return found


def _pair(text: str, otherwise: str) -> tuple[str, str]:
    """Name and entry of name=entry. Raises ValueError."""
    name, equals, entry = text.partition("=")
    if not equals or not name.strip():
        raise ValueError(f"{shown(text, 40)}: {otherwise}")
    return name.strip(), entry.strip()


def _flow(text: str) -> Any:
    from generator.notes.frontmatter import load

    loaded = load(f"value: {text}", 1)
    if loaded.problems:
        raise ValueError(f"{text[:40]}: {loaded.problems[0].what}")
    return loaded.data["value"]


def _marking(parts: Sequence[str], *, as_json: bool, out: Print, say: Print) -> int:
    from generator.notation import marking

    code = " ".join(parts).removeprefix("code=").strip()
    if not code or "=" in code:
        say(
            f'marking {"takes a code and nothing else" if code else "needs a code"}, such as code="yellow violet orange gold"'
        )
        return MISUSED
    try:
        decoded = marking.decode(code)
    except marking.MarkingError as error:
        say(str(error))
        return MISUSED
    if as_json:
        out(_json({"code": code, "readings": [d.as_data() for d in decoded]}))
    else:
        for entry in decoded:
            out(entry.as_text())
    return DONE


def lookup(
    words: str, kind: str, library: Path, *, as_json: bool, out: Print, say: Print, queries: str = ""
) -> int:
    """Search a library; print the notes found and what they turned out to be. Returns the exit status.

    queries: a file, "-" for standard input, with one question a line, in place of words; each is answered by a line of
    JSON.
    """
    from pathlib import Path

    from generator import language
    from generator.build.collected import Collected
    from generator.cache import Cache, cache_folder
    from generator.finding import lookup as finding
    from generator.finding import thesaurus
    from generator.notes.config import read_config
    from generator.notes.library import note_paths
    from generator.notes.pool import Part, pooled
    from generator.pages.records import read_notes

    if not library.is_dir():
        say(f"{library}: there is no such folder; name a library with --library")
        return MISUSED
    if not (library / "library.yaml").is_file():
        say(f"{library}: no library.yaml; this folder is not a library; name one with --library")
        return MISUSED
    problems: list[Problem] = []
    config, _ = read_config(library)
    others, _ = pooled(library, config)
    parts: list[Part] = []

    def files(content: Path) -> list[Path]:
        paths, found = note_paths(content, alone=not others and not collected.paths)
        problems.extend(found)
        parts.append(Part("", content, config, tuple(paths)))
        parts.extend(others)
        return [path for part in parts for path in part.paths]

    def read(content: Path, paths: Sequence[Path]) -> Iterator[Record | None]:
        language.use(config.language)
        return read_notes(parts, config, bool(others), paths)

    collected = Collected(library, lambda: thesaurus.load(library / "symptoms.yaml")[0], 0)
    left_out: list[str] = []
    asked = [finding.Question(words, kind)]
    if queries:
        try:
            text = sys.stdin.read() if queries == "-" else Path(queries).read_text("utf-8-sig")
            asked = list(finding.questions(text.splitlines(), kind))
        except OSError as error:
            say(f"{queries}: cannot be read: {error.strerror}")
            return MISUSED
        except UnicodeDecodeError:
            say(f"{queries}: not UTF-8; save it as UTF-8 text")
            return MISUSED
        except ValueError as error:
            say(f"{queries}, {error}")
            return MISUSED
    with closing(Cache(cache_folder(library))) as cache:

        def rows() -> list[Entry]:
            collected.judge(cache)
            return collected.entries

        roots = [part.root for part in others]
        notes = finding.Notes(files, read, rows, roots, collected.mark)
        for question, found in zip(asked, finding.answers(asked, library, notes, cache, left_out=left_out)):
            data = finding.as_json(found)
            if queries:
                out(_json({**question._asdict(), **data}, indent=None))
            else:
                out(_json(data) if as_json else finding.as_text(found))
    return _left_out(left_out, problems, say)


def _left_out(files: Sequence[str], problems: Sequence[Problem], say: Print) -> int:
    """Say which notes are not in an answer; the exit status that comes of it."""
    wrong = [problem for problem in problems if problem.severity == ERROR]
    for problem in wrong:
        say(problem)
    if files:
        more = f" and {len(files) - 3} more" if len(files) > 3 else ""
        say(f"left out, for they cannot be read: {', '.join(files[:3])}{more}; `benchlore inspect` says why")
    return PROBLEMS if files or wrong else DONE


def export(
    file: Path, content: Path, *, skip_broken: bool, tell: Callable[[Sequence[Problem]], int], say: Print
) -> int:
    """Write the notes of a library as records; returns the exit status. With errors nothing is written, unless broken
    notes are to be left out."""
    from generator.files import reason
    from generator.notes.collection import RECORDS_FOLDER
    from generator.notes.config import CONFIG_FILE
    from generator.notes.export import records_csv
    from generator.notes.library import left_out, read_library

    if file.suffix.lower() != ".csv":
        say(f"{file}: a collection is called something.csv")
        return MISUSED
    if file.resolve().parent == (content / RECORDS_FOLDER).resolve():
        say(f"{file}: the library's own notes would count twice; write the collection somewhere else")
        return MISUSED
    library = read_library(content)
    errors = [problem for problem in library.problems if problem.severity == ERROR]
    broken = {problem.file for problem in errors}
    notes = [note for note in library.notes if shown_path(content / note.file) not in broken]
    if errors and (not skip_broken or not notes or shown_path(content / CONFIG_FILE) in broken):
        status = tell(errors)
        say(f"nothing was written; {file} is as it was")
        return status
    text, problems = records_csv(notes, library.config, content)
    tell([*map(left_out, errors), *problems])
    try:
        _write_whole(file, text)
    except OSError as error:
        say(f"{file}: cannot be written: {reason(error)}")
        return MISUSED
    say(f"{len(notes)} record{'s' if len(notes) != 1 else ''} in {file}")
    return DONE


def _write_whole(file: Path, text: str) -> None:
    """Write a file in the place of another, whole or not at all. Raises OSError."""
    new = file.with_name(f".{file.name}.new")
    new.unlink(missing_ok=True)
    try:
        with new.open("x", encoding="utf-8", newline="") as out:
            out.write(text)
        new.replace(file)
    except OSError:
        new.unlink(missing_ok=True)
        raise
