"""The one place where the benchmark asks the package: a note's text in, what it makes of the readings out.

Two ways. BY_SITE is the public one, `benchlore site` and each note's note.json in format 2 (`fits`,
`doubted`, `next`); it is in use as soon as the package writes that format. BY_BLOCKS is in use until then:
the blocks alone without states and joins, readings only where they fall on a named value, judged in this
process.
"""

from __future__ import annotations

import contextlib
import io
import json
import re
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from generator.circuit import catalogue
from generator.circuit.circuit import Mains, build
from generator.diagnosis.judge import Taken, judge
from generator.diagnosis.readings import Meter
from generator.pages import notedata

BY_SITE, BY_BLOCKS = "the site command, note.json", "blocks alone, readings at named values"
LIBRARY = (
    "name: Benchmark\nlanguage: en\nmains: {voltage: 230 V, frequency: 50 Hz, band: 10 %}\n"
    "currency: EUR\ncountry: IRL\n"
)


@dataclass(frozen=True)
class Candidate:
    """One entry of fits. other: the second fault of a pair."""

    block: str
    part: str
    failed: str
    share: float
    between: tuple[str, ...] = ()
    other: Candidate | None = None

    @property
    def sound(self) -> bool:
        return (
            not self.part and not self.between and self.failed in ("", "none", "sound", "health", "nothing")
        )


@dataclass
class Answer:
    """fits best first; doubted: indices of readings; next: places; beyond_one: it says that no single fault
    explains.
    """

    fits: list[Candidate] = field(default_factory=list)
    doubted: list[int] = field(default_factory=list)
    next: list[dict[str, Any]] = field(default_factory=list)
    beyond_one: bool = False
    seconds: float = 0.0
    used: int = 0  # readings that it could make anything of
    problems: list[str] = field(default_factory=list)


def way() -> str:
    """Which of the two is in use."""
    return BY_SITE if notedata.FORMAT >= 2 else BY_BLOCKS


def ask(notes: Sequence[tuple[str, list[dict[str, Any]], dict[str, str]]]) -> list[Answer]:
    """For each (front matter, readings, nets by name) the answer."""
    if way() == BY_SITE:
        return _by_site([with_readings(front, readings) for front, readings, _ in notes])
    return [_by_blocks(yaml.safe_load(front), readings, nets) for front, readings, nets in notes]


def with_readings(front: str, readings: list[dict[str, Any]]) -> str:
    """The note's text with these readings."""
    lines = "".join(f"  - {json.dumps(entry, ensure_ascii=False)}\n" for entry in readings)
    return f"---\n{front.strip()}\nreadings:\n{lines}---\n"


# --- format 2, by the site command


def _by_site(texts: Sequence[str]) -> list[Answer]:
    from generator.cli import main as command

    with tempfile.TemporaryDirectory() as folder:
        content, site = Path(folder) / "content", Path(folder) / "site"
        (content / "notes").mkdir(parents=True)
        (content / "library.yaml").write_text(LIBRARY, "utf-8")
        for number, text in enumerate(texts):
            (content / "notes" / f"case-{number:05}.md").write_text(text, "utf-8")
        told = io.StringIO()
        with contextlib.redirect_stderr(told), contextlib.redirect_stdout(io.StringIO()):
            started = time.perf_counter()
            given = ["site", str(content), "--to", str(site)]
            try:
                command([*given, "--skip-broken"])
            except SystemExit:  # a command without that option
                command(given)
            each = (time.perf_counter() - started) / max(1, len(texts))
        problems: dict[str, list[str]] = {}
        for line in told.getvalue().splitlines():
            found = re.search(r"case-(\d{5})\.md", line)
            if found:
                problems.setdefault(found[1], []).append(line)
        answers = []
        for number in range(len(texts)):
            path = site / "notes" / f"case-{number:05}" / "note.json"
            answer = _from_data(json.loads(path.read_text("utf-8"))) if path.exists() else Answer()
            answer.seconds, answer.problems = each, problems.get(f"{number:05}", [])
            answers.append(answer)
        return answers


def _from_data(data: dict[str, Any]) -> Answer:
    nets = data.get("nets", {})

    def candidate(entry: dict[str, Any]) -> Candidate:
        between = tuple(
            nets[net]["at"][0] if net in nets and nets[net].get("at") else net
            for net in entry.get("between", ())
        )
        other = entry.get("with") or entry.get("and")
        return Candidate(
            entry.get("block", ""),
            entry.get("part", ""),
            entry.get("failed", ""),
            entry.get("share", 0.0),
            between,
            candidate(other) if isinstance(other, dict) else None,
        )

    fits = [candidate(entry) for entry in data.get("fits", [])]
    places = data.get("next") or []
    beyond = bool(fits and fits[0].other) or any(
        entry.get("failed") == "something else" for entry in data["fits"][:1]
    )
    return Answer(
        fits,
        [int(i) for i in data.get("doubted", [])],
        places if isinstance(places, list) else [places],
        beyond,
        used=sum(1 for r in data.get("readings", []) if r.get("verdict")),
    )


# --- format 1, by the blocks alone

_OUTPUT = {
    "transformer-supply": "trough",
    "linear-regulator": "output_voltage",
    "zener-regulator": "output",
    "battery-pack": "nominal",
    "divider": "output",
    "thermistor-divider": "output_25",
}
_AT_TERMINAL = {
    ("transformer-supply", "plus"): "mean",
    ("linear-regulator", "out"): "output_voltage",
    ("zener-regulator", "out"): "output",
    ("divider", "tap"): "output",
    ("divider", "pin"): "output",
    ("thermistor-divider", "tap"): "output_25",
    ("thermistor-divider", "pin"): "output_25",
}
_OHMS = {"thermistor": "resistance_25", "power": "resistance"}
_LEFT_OUT = {"drive": "5 V", "load": "100 ohm", "load_supply": "12 V", "supply": "5 V"}


def _by_blocks(front: dict[str, Any], readings: list[dict[str, Any]], nets: dict[str, str]) -> Answer:
    started = time.perf_counter()
    circuit = build(_plain(front["blocks"]), Mains())
    taken = []
    where = []
    for index, reading in enumerate(readings):
        spot = _spot(reading, front["blocks"], nets)
        if spot and spot[0] in circuit.blocks and spot[1] in circuit.blocks[spot[0]].values:
            taken.append(Taken(*spot, re.sub(r" (AC|DC)$", "", reading["read"])))
            where.append(index)
    found = judge(circuit, taken, Meter())
    fits = [
        Candidate(f.hypothesis.block, f.hypothesis.part, f.hypothesis.failed, f.score) for f in found.fits
    ]
    said = " ".join(found.conclusion())
    place = found.next.spot if found.next else None
    ahead = [{"at": f"{place.block}.{place.value}", "how": "volts"}] if place else []
    return Answer(
        fits or [Candidate("", "", "none", 1.0)],
        [],
        ahead,
        "single fault" in said and "explains" in said,
        time.perf_counter() - started,
        len(taken),
    )


def _plain(blocks: dict[str, Any]) -> dict[str, Any]:
    """The blocks as they were before there were joins: references to values, what is left out made up."""
    kept: dict[str, Any] = {}
    for name, block in blocks.items():
        if block["kind"] not in catalogue.names():
            continue
        known = {param.name for param in catalogue.kind(block["kind"]).params}
        plain: dict[str, Any] = {"kind": block["kind"]}
        for key, value in block.items():
            target = blocks.get(value) if isinstance(value, str) else None
            if target is not None:
                if target["kind"] == "mains-inlet":
                    continue
                value = (
                    f"{value}.{_OUTPUT[target['kind']]}"
                    if target["kind"] in _OUTPUT
                    else str(target.get("output", "12 V"))
                )
            if key in known:
                plain[key] = value
        for key, value in _LEFT_OUT.items():
            if (
                key in known
                and key not in plain
                and block["kind"] not in ("mains-inlet", "capacitive-dropper", "heater", "triac-switch")
            ):
                plain[key] = value
        kept[name] = plain
    for name in list(kept):
        circuit = build(kept, Mains())
        if name not in circuit.blocks:
            del kept[name]
    return kept


def _spot(reading: dict[str, Any], blocks: dict[str, Any], nets: dict[str, str]) -> tuple[str, str] | None:
    if isinstance(reading.get("at"), str):
        node = nets.get(reading["at"], reading["at"])
        for name, other in nets.items():
            block, _, terminal = name.partition(".")
            if other == node and block in blocks and (blocks[block]["kind"], terminal) in _AT_TERMINAL:
                return block, _AT_TERMINAL[blocks[block]["kind"], terminal]
        return tuple(reading["at"].split(".", 1)) if reading["at"].partition(".")[0] in blocks else None  # type: ignore[return-value]
    if isinstance(reading.get("ohms"), str):
        for name, block in blocks.items():
            for key, value in _OHMS.items():
                if str(block.get(key, "")).startswith(reading["ohms"] + " "):
                    return name, value
    return None
