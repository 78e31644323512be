"""Slips that are no errors of form, told while the note is written: words of the template left standing, words that count."""

from __future__ import annotations

import difflib
import re

from generator.notes.fields import Fields, Report
from generator.notes.record import Fault, Note
from generator.notes.text import shown
from generator.problems import HINT, WARNING, Problem

# What `writeup` puts in for the author to replace (starter.py).
TEMPLATE = ("what stood around it", "why it went", "what showed it", "what was done", "what went in")
_TEMPLATE_PROSE = "Say here what you saw, measured and did"

# How people say how a repair ended, in other words and languages than the standard's.
SAID_OUTCOMES = {
    "repariert": "fixed", "repaired": "fixed", "mended": "fixed", "heil": "fixed", "ganz": "fixed", "réparé": "fixed",
    "gerepareerd": "fixed", "works": "fixed", "reparierbar": "repairable", "réparable": "repairable", "to be continued": "repairable",
    "scrap": "end of life", "schrott": "end of life", "irreparabel": "end of life", "dead": "end of life", "unbekannt": "unknown",
    "inconnu": "unknown",
}  # fmt: skip

# Words that tie a fault to the failures of its part and are counted (diagnosis/recorded.py); another word counts as itself.
COUNTED = (
    "open",
    "short",
    "high",
    "low",
    "leaky",
    "intermittent",
    "dry",
    "dirty",
    "burnt",
    "worn",
    "weak",
    "broken",
    "blown",
    "stuck",
)


def faults_in_words(fields: Fields, faults: tuple[Fault, ...]) -> None:
    """A hint where a word of `failed` is like one that counts but is none: "opne", "shortet"."""
    for position, fault in enumerate(faults):
        words = re.findall(r"[a-zäöüß]+", fault.failed.casefold())
        if len(words) > 2 or any(word in COUNTED for word in words):
            continue
        for word in words:
            near = [
                known for known in COUNTED if sorted(known) == sorted(word)
            ]  # letters that changed places
            near = near or difflib.get_close_matches(word, COUNTED, n=1, cutoff=0.8)
            if near:
                what = f"failed: {shown(fault.failed)} counts by itself; the statistics know {near[0]}"
                fields.report.at_value(("faults", position, "failed"), what, f"did you mean {near[0]}?", HINT)


def template_words(report: Report, note: Note) -> None:
    """A warning for each word of the template that is still there."""
    places: list[tuple[tuple[str | int, ...], str]] = []
    for number, fault in enumerate(note.faults):
        places += [(("faults", number, key), getattr(fault, key)) for key in ("because", "found_by", "fix")]
    places += [(("fitted", number, "with"), fitted.with_) for number, fitted in enumerate(note.fitted)]
    places += [((*reading.path, "note"), reading.note) for reading in note.measured]
    for path, text in places:
        if text in TEMPLATE:
            report.at_value(
                path, f"{path[-1]}: {shown(text)} is the template's", "write it, or take the key out", WARNING
            )
    if note.outcome == "unknown" and not note.faults:  # only just begun
        return
    at = note.body.find(_TEMPLATE_PROSE)
    if at >= 0:
        line = note.body_line + note.body.count("\n", 0, at)
        what = "the text of the template is still here"
        report.problems.append(Problem(report.file, line, 1, what, "write your own in its place", WARNING))
