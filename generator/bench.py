"""What the command `values` does: from texts on the command line to texts on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from generator.edge import DONE, MISUSED
from generator.notes.text import out_of_curly_quotes, shown
from generator.problems import ERROR

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


def _json(data: Any) -> str:
    import json  # most calls print text

    return json.dumps(data, ensure_ascii=False, indent=1)


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
    from generator.notation.printed import format_band, format_value

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
            raise ValueError("the kind comes first, without kind=")
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
