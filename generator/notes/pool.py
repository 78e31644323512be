"""Several libraries in one site: the own one and those that library.yaml pools.

A pooled library is a stranger's: its notes are read as strictly as any, its theme and its thesaurus are not used, and what
it pools in turn is not followed. What is wrong with a pool is told at its line, and the rest is built.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from generator.notes.collection import RECORDS_FOLDER
from generator.notes.config import CONFIG_FILE, Config, Pool, read_config
from generator.notes.library import note_paths
from generator.notes.licences import go_together
from generator.notes.text import shown, shown_path
from generator.problems import HINT, WARNING, Problem


@dataclass(frozen=True)
class Part:
    """A library in a site: "" is the name of the own one; config is as its own library.yaml has it; paths are its notes."""

    name: str
    root: Path
    config: Config
    paths: tuple[Path, ...]

    def slug(self, slug: str) -> str:
        """The address of a note among those of all libraries."""
        return f"{self.name}/{slug}" if self.name else slug

    def worked_as(self, own: Config) -> Config:
        """The settings by which its notes are worked out in the site of another: mains, meter and currency are its own."""
        return replace(
            self.config, language=own.language, address=own.address, symbols=own.symbols, about="", pool=()
        )


def pooled(content: Path, config: Config) -> tuple[list[Part], list[Problem]]:
    """The libraries that a library pools, in its order, and what is wrong with them; nothing of that stops a build."""
    parts: list[Part] = []
    problems: list[Problem] = []
    file = shown_path(content / CONFIG_FILE)
    known = {_real(content): "this library itself"}
    names: set[str] = set()
    titles = {config.name}
    licences = {config.licence: "this library's"} if config.licence else {}
    for pool in config.pool:
        root = content / pool.source
        told = _trouble(pool, root, known, names)
        if told:
            problems.append(
                Problem(file, *pool.place, f"{shown(pool.name)}: {told[0]}; it is left out", told[1], WARNING)
            )
            continue
        names.add(pool.name)
        known[_real(root)] = f"the pool {pool.name}"
        theirs, found = read_config(root)
        paths, more = note_paths(root)
        problems += [_told(pool, problem) for problem in (*found, *more) if problem.severity != HINT]
        problems += [
            Problem(file, *pool.place, *said) for said in _remarks(pool, root, content, licences, theirs)
        ]
        if theirs.name and theirs.name in titles:
            shown_as = f"{theirs.name} ({pool.name})"
            what = f"{pool.name}: another library here is called {shown(theirs.name)} too; shown as {shown(shown_as)}"
            problems.append(Problem(file, *pool.place, what, "a name of its own tells them apart", WARNING))
            theirs = replace(theirs, name=shown_as)
        titles.add(theirs.name)
        if theirs.licence:
            licences.setdefault(theirs.licence, f"that of {pool.name}")
        parts.append(Part(pool.name, root, theirs, tuple(paths)))
    return parts, problems


def _trouble(pool: Pool, root: Path, known: dict[str, str], names: set[str]) -> tuple[str, str] | None:
    """Why a pool cannot be had, and what helps."""
    if pool.name in names:
        return "another pool has this name", "give it another one behind as:"
    try:
        if not root.is_dir():
            hint = "from: is the way from this library's folder to the other"
            return (f"there is no folder {shown(pool.source)}", hint)
    except (OSError, ValueError):
        return f"the folder {shown(pool.source)} cannot be read", ""
    if not (root / CONFIG_FILE).is_file():
        return f"no {CONFIG_FILE} in {shown(pool.source)}; that folder is not a library", ""
    if _real(root) in known:
        return f"{shown(pool.source)} is {known[_real(root)]}", ""
    return None


def _remarks(
    pool: Pool, root: Path, content: Path, licences: Mapping[str, str], theirs: Config
) -> Iterable[tuple[str, str, str]]:
    """(what, hint, severity) of what should be known of a pool that can be had. licences: whose each is, of those before."""
    further = [other for other in theirs.pool if _real(root / other.source) != _real(content)]
    if len(further) < len(theirs.pool):
        yield f"{pool.name}: it pools this library in turn; pools of pools are not followed", "", HINT
    if further:
        names = ", ".join(shown(other.name) for other in further[:5])
        yield (
            f"{pool.name}: it pools {names} as well; that is not followed",
            "name here what you want here",
            HINT,
        )
    if (root / RECORDS_FOLDER).is_dir():
        yield (
            f"{pool.name}: its {RECORDS_FOLDER}/ are not read here",
            f"copy to {RECORDS_FOLDER}/ here what you want",
            HINT,
        )
    if not theirs.licence:
        yield (
            f"{pool.name}: it states no licence",
            "ask its group under which one its notes may be shown",
            WARNING,
        )
        return
    apart = [
        f"{whose} ({shown(name)})"
        for name, whose in licences.items()
        if not go_together(name, theirs.licence)
    ]
    if apart:
        what = f"{pool.name}: its licence {shown(theirs.licence)} does not go together with {', '.join(apart[:3])}"
        yield what, "each note keeps its own; nobody may make one text of both", WARNING


def _told(pool: Pool, problem: Problem) -> Problem:
    """What is wrong in a pooled library, which stops nothing here."""
    return replace(problem, what=f"{pool.name}: {problem.what}", severity=WARNING)


def _real(path: Path) -> str:
    try:
        return os.path.realpath(path)
    except (OSError, ValueError):
        return str(path)
