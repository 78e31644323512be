"""The house: what stands at the top, and in which direction code depends on code."""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# In this order: a room uses only rooms to its left. What lies below all of them (problems, language) is not listed.
ROOMS = ("notation", "circuit", "drawing", "notes", "diagnosis", "finding", "prose", "pages", "build", "live")


@cache
def parsed(path: Path) -> ast.Module:
    """A file of the package, parsed once for all tests."""
    return ast.parse(path.read_text("utf-8"))


@cache
def nodes(path: Path) -> tuple[ast.AST, ...]:
    """All that a file of the package says, walked through once for all tests."""
    return tuple(ast.walk(parsed(path)))


@cache
def imports(path: Path) -> set[str]:
    """The modules of the package that a file imports, also inside functions."""
    found = set()
    for node in nodes(path):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("generator"):
            found.add(node.module)
        elif isinstance(node, ast.Import):
            found |= {name.name for name in node.names if name.name.startswith("generator")}
    return found


@pytest.mark.parametrize("room", ROOMS)
def test_code_depends_one_way(room: str) -> None:
    """No file imports from a room to its right."""
    right = ROOMS[ROOMS.index(room) + 1 :]
    for path in sorted((ROOT / "generator" / room).rglob("*.py")):
        back = [
            module for module in imports(path) if module.split(".")[1:2] and module.split(".")[1] in right
        ]
        assert back == [], f"{path.relative_to(ROOT)} imports {back}"


def test_no_kind_takes_from_another() -> None:
    """What two kinds share stands beside kinds/, not in one of them; a file that begins with _ is part of one kind."""
    for path in sorted((ROOT / "generator" / "circuit" / "kinds").glob("*.py")):
        taken = [module for module in imports(path) if module.startswith("generator.circuit.kinds.")]
        assert [module for module in taken if "._" not in module] == [], path.name


@pytest.mark.parametrize("path", sorted((ROOT / "generator").rglob("*.py")), ids=lambda path: path.stem)
def test_a_name_is_stated_once(path: Path) -> None:
    """In a class or a file no second statement takes the place of a first, as a merge of two changes can leave it."""
    for node in nodes(path):
        if isinstance(node, (ast.ClassDef, ast.Module)):
            assigned = [s for s in node.body if isinstance(s, (ast.Assign, ast.AnnAssign))]
            targets = [t for s in assigned for t in (s.targets if isinstance(s, ast.Assign) else [s.target])]
            names = [target.id for target in targets if isinstance(target, ast.Name)]
            assert len(names) == len(set(names)), sorted({name for name in names if names.count(name) > 1})


# Files that import some of the package only when a function is called: commands that start at once, and what needs numpy
# or a template engine only where it is used.
LATE = {
    "bench", "cli", "lookup", "start", "circuit.device.assembly", "circuit.device.circuitry", "circuit.device.device",
    "circuit.kinds.transformer_supply", "circuit.network.ohms",
    "finding.lookup", "live.live", "notation.part_reading", "notation.part_words", "notes.note", "notes.readings", "notes.record",
    "notes.text", "notes.whole", "pages.records",
    "pages.library_pages", "pages.theme",
}  # fmt: skip


def modules() -> dict[str, Path]:
    """Every module of the package by its name without the package's."""
    found = {}
    for path in sorted((ROOT / "generator").rglob("*.py")):
        parts = path.relative_to(ROOT / "generator").with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def used(path: Path, known: Iterable[str], *, late: bool) -> set[str]:
    """The modules that a file imports, also for types alone; late: those imported only inside functions."""
    inside = {
        id(node)
        for function in nodes(path) if late and isinstance(function, (ast.FunctionDef, ast.AsyncFunctionDef))
        for node in ast.walk(function)
    }  # fmt: skip
    found = set()
    for node in nodes(path):
        if not isinstance(node, ast.ImportFrom) or not (node.module or "").startswith("generator"):
            continue
        module = (node.module or "").removeprefix("generator").removeprefix(".")
        for name in node.names:
            whole = f"{module}.{name.name}".removeprefix(".")
            if not late or id(node) in inside:
                found.add(whole if whole in known else module)
    return found


def circles(arrows: dict[str, set[str]]) -> set[frozenset[str]]:
    """The sets of modules that reach one another (more than one module each)."""
    reached = {start: set(arrows[start]) for start in arrows}
    for through in arrows:
        for start in arrows:
            if through in reached[start]:
                reached[start] |= reached[through]
    return {
        frozenset(other for other in reached[start] if start in reached.get(other, ()))
        for start in arrows if start in reached[start]
    }  # fmt: skip


def test_no_circle_inside_a_room() -> None:
    """No file uses another that uses it, directly or by way of others, not even for types."""
    known = modules()
    arrows = {name: used(path, known, late=False) & known.keys() - {name} for name, path in known.items()}
    assert circles(arrows) == set()


def test_a_circle_would_be_seen() -> None:
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": {"a"}}) == {frozenset({"b", "c"})}


def test_late_imports_are_listed() -> None:
    """An import inside a function hides what a file depends on: only where start-up time asks for it."""
    known = modules()
    assert {name for name, path in known.items() if used(path, known, late=True)} == LATE


def test_what_is_handed_on_never_changes() -> None:
    """What is read from texts and notes crosses processes and stands in caches: its classes are frozen."""
    loose = []
    for room in (
        "notation",
        "notes/record.py",
        "notes/keys.py",
        "circuit/network",
        "diagnosis/evidence.py",
        "diagnosis/hypotheses.py",
    ):
        place = ROOT / "generator" / room
        for path in sorted(place.rglob("*.py")) if place.is_dir() else [place]:
            for node in nodes(path):
                for mark in node.decorator_list if isinstance(node, ast.ClassDef) else ():
                    if "dataclass" in ast.unparse(mark) and "frozen=True" not in ast.unparse(mark):
                        loose.append(f"{path.stem}.{node.name}")  # type: ignore[attr-defined]
    filling = {"part_reading._Found", "described.Wired"}  # while a part is read, a block wired
    assert set(loose) <= filling, loose


def test_kinds_leave_words_to_those_who_print_them() -> None:
    """A kind's messages wait for their language; in circuit/ only these put anything into words."""
    known = modules()
    speak = {
        name
        for name in known
        if name.startswith("circuit") and "language" in used(known[name], known, late=False)
    }
    assert speak <= {"circuit.labels", "circuit.report", "circuit.says", "circuit.working"}


def test_kinds_know_no_files() -> None:
    """circuit/ opens nothing: no pathlib but where the catalogue lists its own files, no open()."""
    for path in sorted((ROOT / "generator" / "circuit").rglob("*.py")):
        text = path.read_text("utf-8")
        if path.name != "catalogue.py":
            assert "import Path" not in text and "open(" not in text.replace("fail_open(", ""), path


def test_top_level() -> None:
    """README, DEVELOPERS, pyproject and the four folders; nothing else but dot-files."""
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("not a checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} == {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "generator", "content", "themes", "tests",
    }  # fmt: skip


def test_the_guide_names_every_room() -> None:
    """The map in DEVELOPERS.md names each room, in the order in which they depend on each other."""
    house = re.search(
        r"## The house\n\n```\n(.*?)```", (ROOT / "DEVELOPERS.md").read_text("utf-8"), re.DOTALL
    )
    assert house
    named = re.findall(r"^  ([a-z]+)/", house[1], re.MULTILINE)
    assert [room for room in named if room in ROOMS] == list(ROOMS)
    folders = {path.name for path in (ROOT / "generator").iterdir() if (path / "__init__.py").is_file()}
    assert folders - {"locale"} == set(ROOMS)


def test_readme_begins_with_the_job_and_two_commands() -> None:
    """One paragraph, then exactly two commands before the first section."""
    opening = (ROOT / "README.md").read_text("utf-8").split("\n## ")[0]
    assert opening.count("```sh") == 2 and "sh tests/run" in opening
    assert opening.split("\n\n")[1].count("\n") == 0
