"""Slips that are no errors of form, told while the note is written: words of the template left standing, words that count."""

from __future__ import annotations

import re

from generator.language import _
from generator.notes.fields import Fields, Report
from generator.notes.record import Fault, Note
from generator.notes.text import shown
from generator.problems import HINT, WARNING, Problem, nearest

# What `writeup` puts in for the author to replace (starter.py).
TEMPLATE = ("what stood around it", "why it went", "what showed it", "what was done", "what went in")
_TEMPLATE_SYMPTOM = "what the owner says, in their words"
_TEMPLATE_PROSE = "Say here what you saw, measured and did, in the order in which you did it."

# How people say how a repair ended, in other words and languages than the standard's.
SAID_OUTCOMES = {
    "repariert": "fixed", "repaired": "fixed", "mended": "fixed", "heil": "fixed", "ganz": "fixed", "réparé": "fixed",
    "gerepareerd": "fixed", "works": "fixed", "reparierbar": "repairable", "réparable": "repairable", "to be continued": "repairable",
    "scrap": "end of life", "schrott": "end of life", "irreparabel": "end of life", "dead": "end of life", "unbekannt": "unknown",
    "inconnu": "unknown",
}  # fmt: skip

# Words that tie a fault to the failures of its part (diagnosis/recorded.py), and those of mechanical parts; what many
# write is what can be counted, another word counts as itself.
COUNTED = (
    "open", "short", "high", "low", "leaky", "intermittent",
    "dry", "dirty", "burnt", "worn", "weak", "broken", "blown", "stuck",
    "blocked", "seized", "loose", "cracked", "torn", "hardened", "swollen", "clogged",
)  # fmt: skip

# How people say it -> the word that counts; the beginnings of words, in the languages that are printed.
_MEANT = {
    "open": ("no continuity", "unterbroch", "offen", "interrupted", "ouvert", "disconnect", "fell off", "torn off", "abgerissen"),
    "short": ("shorts", "shorted", "kurzschl", "kurzgeschl", "fused together", "welded", "verschwei", "court-circuit", "dead short"),
    "high": ("gone up", "drifted up", "zu hoch", "hochohmig", "out of tolerance", "drift", "off value"),
    "low": ("lost capacit", "no capacit", "lost its capac", "zu niedrig", "taub", "fallen"),
    "leaky": ("leak", "undicht", "feucht", "damp", "wet", "moist"),
    "intermittent": ("sometimes", "now and then", "wackel", "on and off", "comes and goes", "flaky", "loose contact"),
    "dry": ("ausgetrocknet", "eingetrocknet"),
    "dirty": ("verschmutz", "oxid", "corro", "korro", "filthy", "grime", "tarnish"),
    "burnt": ("burn", "verbrannt", "verkohlt", "durchgebrannt", "scorched", "charred", "melted", "geschmolzen", "smok", "toast"),
    "worn": ("verschlissen", "abgenutzt", "wear"),
    "weak": ("schwach", "tired", "aged", "old", "alt"),
    "blown": ("exploded", "went bang", "burst", "geplatzt", "popped", "blew"),
    "broken": ("dead", "kaputt", "defekt", "defect", "faulty", "bad", "gone", "does not work", "hin", "hs", "snapped", "gebrochen"),
    "stuck": ("jam", "klemmt", "verklemmt", "sticks"),
    "seized": ("fest", "rusted", "verrostet"),
    "cracked": ("crack", "gerissen", "fractured"),
    "loose": ("locker", "wobbl"),
}  # fmt: skip
_SAID_BY = [(said, counted) for counted, many in _MEANT.items() for said in many]


def faults_in_words(fields: Fields, faults: tuple[Fault, ...]) -> None:
    """A hint where `failed` holds no word that counts, with the one that is nearest: by what it means, or by its letters."""
    for position, fault in enumerate(faults):
        said = " ".join(fault.failed.casefold().split())
        words = re.findall(r"[^\W\d_]+", said)
        if not words or any(word in COUNTED for word in words):
            continue
        near = _counted_word(said, words)
        what = f"failed: {shown(fault.failed, 60)} counts by itself; the statistics know " + (
            near or "other words"
        )
        hint = (
            f"did you mean {near}?" if near else "such as " + ", ".join(COUNTED[:6]) + ", if one of them fits"
        )
        fields.report.at_value(("faults", position, "failed"), what, hint, HINT)


def _counted_word(said: str, words: list[str]) -> str:
    """The nearest word that counts, "" where none is near."""
    for word in words:
        for known in COUNTED:
            if sorted(known) == sorted(word):  # letters that changed places
                return known
        if near := nearest(word, COUNTED, alike=0.8):
            return near
    meant = [counted for text, counted in _SAID_BY if re.search(rf"\b{re.escape(text)}", said)]
    return meant[0] if meant else ""


# How people write that a test was not passed, at the beginning of what they write.
_NOT_PASSED = re.compile(
    r"(?:fail(?:s|ed|ure)?|(?:was |did )?not (?:pass|ok|good|held|hold)|does not hold|nok|n\.? ?i\.? ?o|no$|bad$|"
    r"nicht bestanden|durchgefallen)",
    re.IGNORECASE,
)


def says_failed(read: str) -> bool:
    """Whether what is written of a test says, in words, that it was not passed."""
    return _NOT_PASSED.match(read.strip()) is not None


def template_words(report: Report, note: Note) -> None:
    """A warning for each word of the template that is still there; a hint as long as the note is only just begun."""
    places: list[tuple[tuple[str | int, ...], str]] = []
    for number, fault in enumerate(note.faults):
        places += [(("faults", number, key), getattr(fault, key)) for key in ("because", "found_by", "fix")]
    places += [(("fitted", number, "with"), fitted.with_) for number, fitted in enumerate(note.fitted)]
    places += [((*reading.path, "note"), reading.note) for reading in note.measured]
    left = {*TEMPLATE, *map(_, TEMPLATE)}  # in English, or in the library's language
    for path, text in places:
        if text in left:
            hint = "write it, or take the key out"
            report.at_value(path, f"{path[-1]}: {shown(text)} is the template's", hint, WARNING)
    severity = HINT if note.outcome == "unknown" and not note.faults else WARNING
    for number, symptom in enumerate(note.symptoms):
        if symptom in (_TEMPLATE_SYMPTOM, _(_TEMPLATE_SYMPTOM)):
            report.at_value(
                ("symptoms", number), f"{shown(symptom)} is the template's", "write what it did", severity
            )
    # its beginning is enough, up to the first comma, which a translation has as well
    at = max(note.body.find(text.partition(",")[0]) for text in (_TEMPLATE_PROSE, _(_TEMPLATE_PROSE)))
    if at >= 0:
        line = note.body_line + note.body.count("\n", 0, at)
        what = "the text of the template is still here"
        report.problems.append(Problem(report.file, line, 1, what, "write your own in its place", severity))
