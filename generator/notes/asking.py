"""The log of the day: what a note needs, asked line by line. An empty line skips a question, the end of the input all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from generator.notes.standard import BARRIERS, END_OF_LIFE, OUTCOMES
from generator.notes.text import MEDIUM, SHORT, without_forbidden
from generator.problems import nearest

MOST_SYMPTOMS = 20
UNNAMED = "unnamed device"  # what a thing is called until somebody says


@dataclass(frozen=True)
class Answers:
    """What was said; "" or nothing where a question was skipped."""

    kind: str = ""
    make: str = ""
    model: str = ""
    symptoms: tuple[str, ...] = ()
    outcome: str = ""
    barrier: str = ""
    part: str = ""
    failed: str = ""
    found_by: str = ""
    fix: str = ""


class Question(NamedTuple):
    """One line: the name of its answer, the words, how long the answer may be, what it may be."""

    name: str
    words: str
    limit: int
    choices: tuple[str, ...] = ()


QUESTIONS = (
    Question("kind", "What is it? (egg incubator, kettle, ...)", SHORT),
    Question("make", "Make?", SHORT),
    Question("model", "Model?", SHORT),
    Question("symptoms", "What does it do, or not do? (several with ;)", MEDIUM * 4),
    Question("outcome", f"What became of it? ({', '.join(OUTCOMES)})", SHORT, OUTCOMES),
    Question("barrier", f"What stood in the way? ({', '.join(BARRIERS)})", SHORT, BARRIERS),
    Question("part", "Which part had failed?", SHORT),
    Question("failed", "How had it failed? (open, short, worn, ...)", SHORT),
    Question("found_by", "How was that found?", MEDIUM),
    Question("fix", "What was done?", MEDIUM),
)


def ask(read: Callable[[str], str | None], say: Callable[[object], object], kind: str = "") -> Answers:
    """The answers. read(words) asks and gives the line, None where there are no more; say tells what is not understood.

    kind: what the thing is, where that is known already.
    """
    given: dict[str, str] = {"kind": kind}
    for question in QUESTIONS:
        if given.get(question.name) or not _wanted(question.name, given):
            continue
        line = read(question.words)
        if line is None:
            break
        given[question.name] = _understood(question, line, say)
    symptoms = [" ".join(text.split())[:MEDIUM] for text in given.pop("symptoms", "").split(";")]
    return Answers(symptoms=tuple(filter(None, symptoms))[:MOST_SYMPTOMS], **given)


def _wanted(name: str, given: dict[str, str]) -> bool:
    """Whether a question makes sense after what was said."""
    if name == "barrier":
        return given.get("outcome") == END_OF_LIFE
    if name in ("failed", "found_by", "fix"):
        return bool(given.get("part") or given.get("failed"))
    return True


def _understood(question: Question, line: str, say: Callable[[object], object]) -> str:
    text = " ".join(without_forbidden(line).split())
    if len(text) > question.limit:
        say(f"only the first {question.limit} characters are used")
        text = text[: question.limit].rstrip()
    if not question.choices or not text:
        return text
    begun = [choice for choice in question.choices if choice.startswith(text.casefold())]
    if len(begun) > 1:
        say(f"may be {' or '.join(begun)}, so it is left open")
        return ""
    found = begun[0] if begun else nearest(text, question.choices)
    say(
        f"taken as: {found}"
        if found
        else f"not one of these, so it is left open: {', '.join(question.choices)}"
    )
    return found
