"""A note that says "fixed" though one of its tests was not passed."""

from __future__ import annotations

from generator.diagnosis.proof import Proven, judge_proof, test_name
from generator.notes.in_time import says_failed
from generator.notes.note import Note
from generator.notes.text import shown
from generator.problems import ERROR, WARNING, Problem


def proof_problems(note: Note, file: str) -> list[Problem]:
    """What is wrong with "fixed": a safety test that fails is an error, for the thing cannot go home so; another a warning."""
    if note.outcome != "fixed":
        return []
    found = []
    for number, proven in enumerate(_proven(note)):
        if proven.verdict == "fails":
            what = (
                f"{proven.test}: {proven.read} does not hold, limit {proven.limit}, and the outcome is fixed"
            )
            severity = ERROR
        elif not proven.verdict and says_failed(proven.read):
            what = f"{proven.test}: {shown(proven.read, 60)}, and the outcome is fixed"
            severity = WARNING if test_name(proven.test) in ("", "function") else ERROR
        else:
            continue
        hint = "another outcome, or the test after the mend"
        if severity == ERROR:
            hint = f"it is not safe to use as it is: {hint}"
        found.append(Problem(file, *note.marks.key(("proof", number)), what, hint, severity))
    return found


def _proven(note: Note) -> list[Proven]:
    """The note's tests against their limits; where it states no protection class, against those of the laxest."""
    stated = note.device.plate.protection
    if stated:
        return judge_proof(note.proof, stated)
    by_class = [judge_proof(note.proof, protection) for protection in ("III", "II", "I")]
    return [
        next(
            (one for one in each if one.verdict == "holds"),
            next((one for one in each if one.verdict), each[0]),
        )
        for each in zip(*by_class)
    ]
