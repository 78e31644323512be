"""The house: what stands at the top, and in which direction code depends on code."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# In this order: a room uses only rooms to its left. What lies below all of them (problems, language) is not listed.
ROOMS = ("notation", "circuit", "drawing", "notes", "diagnosis", "finding", "prose", "pages", "build", "live")


def imports(path: Path) -> set[str]:
    """The modules of the package that a file imports, also inside functions."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
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
