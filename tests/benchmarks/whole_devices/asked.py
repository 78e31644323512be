"""The one place where the benchmark asks the package: a note's text in, what it makes of the readings out."""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from generator.circuit.block import Mains
from generator.diagnosis.asking import next_readings
from generator.diagnosis.judging import judge
from generator.diagnosis.readings import Meter
from generator.notes.note import parse_note
from generator.notes.whole import put_together
from generator.pages import notedata
from generator.processes import seldom_collected


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
    """How the package is asked."""
    return "judged in this process, as note.json has it"


def ask(notes: Sequence[tuple[str, list[dict[str, Any]], dict[str, str]]]) -> list[Answer]:
    """For each (front matter, readings, nets by name) the answer; memory is looked after as a build does."""
    with seldom_collected():
        return [_judged(with_readings(front, readings)) for front, readings, _ in notes]


def _judged(text: str) -> Answer:
    """A note's text read, put together and judged, as the page does it."""
    note, problems = parse_note(text, "case", "notes/case.md", None, Mains())
    assert note is not None, problems
    started = time.process_time()
    device = put_together(note.circuit, note.told)
    judgement = judge(device, note.measured, Meter())
    asked = next_readings(judgement, device, Meter())
    data = {
        "fits": [notedata.fit_data(judgement, fit) for fit in judgement.fits if fit.share >= notedata.LEAST_SHARE],
        "doubted": judgement.doubted, "beyond": judgement.beyond,
        "next": [own.entry for own in asked], "readings": [{"verdict": j.verdict} for j in judgement.judged],
    }  # fmt: skip
    answer = _from_data(data)
    answer.seconds, answer.problems = time.process_time() - started, [str(problem) for problem in problems]
    return answer


def with_readings(front: str, readings: list[dict[str, Any]]) -> str:
    """The note's text with these readings."""
    lines = "".join(f"  - {json.dumps(entry, ensure_ascii=False)}\n" for entry in readings)
    return f"---\n{front.strip()}\nreadings:\n{lines}---\n"


# --- format 2, by the site command


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
    beyond = bool(fits and fits[0].other) or data["beyond"] >= 0.5
    return Answer(
        fits,
        [int(i) for i in data.get("doubted", [])],
        places if isinstance(places, list) else [places],
        beyond,
        used=sum(1 for r in data.get("readings", []) if r.get("verdict")),
    )
