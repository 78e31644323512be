"""What is wrong with a note that shows only when it is worked out: ratings, readings, what was recorded."""

from __future__ import annotations

from generator.diagnosis.judging import Judgement
from generator.diagnosis.recorded import Doubt
from generator.language import _
from generator.notes.note import Note
from generator.problems import HINT, WARNING, Problem


def problem_at(
    note: Note, file: str, path: tuple[str | int, ...], what: str, hint: str = "", severity: str = "error"
) -> Problem:
    """A problem at a key of the front matter, or at the nearest key around it."""
    marks = note.marks
    return Problem(file, *marks.key(path), what, hint, severity)


def check_problems(note: Note, file: str) -> list[Problem]:
    """Ratings that do not hold, and values in no series: shown by inspect, stopping nothing."""
    found = []
    for name, block in note.circuit.blocks.items():
        for check in block.checks:
            if check.ok and not check.remark:
                continue
            severity = HINT if check.ok else WARNING
            found.append(
                problem_at(
                    note, file, ("blocks", name), f"{name}: {_(check.part)}: {_(check.what)}", "", severity
                )
            )
    return found


def reading_problems(note: Note, file: str, judgement: Judgement, doubted: list[Doubt]) -> list[Problem]:
    """Readings that cannot be read, contradict one another, or do not bear out the recorded fault."""
    found = []
    for judged in judgement.judged:
        if judged.taken.trouble:
            path, taken = (*judged.reading.path, "read"), judged.taken
            found.append(problem_at(note, file, path, taken.trouble, taken.hint, taken.severity))
    if judgement.trouble:
        found.append(
            problem_at(note, file, ("blocks",), judgement.trouble, "the readings are not judged", WARNING)
        )
    for _first, second in judgement.contradictory:
        reading = judgement.judged[second].reading
        what = f"{reading.at or ' - '.join(reading.across)} was read before with another result"
        found.append(problem_at(note, file, reading.path, what, "both are shown", WARNING))
    for doubt in doubted:
        what = f"the readings do not bear out {doubt.part} {doubt.failed}: {doubt.reason}"
        found.append(problem_at(note, file, ("faults", doubt.number), what, "", WARNING))
    return found
