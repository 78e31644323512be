"""The house: what stands at the top, and in which direction code depends on code."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("circuit", "notes", "diagnosis", "finding", "site")

# room -> rooms that it may import from. Data flows one way; a note holds its circuit, so notes/ knows circuit/.
ALLOWED = {
    "circuit": set(),
    "notes": {"circuit"},
    "diagnosis": {"circuit", "notes"},
    "finding": set(),
    "site": {"circuit", "notes", "diagnosis", "finding"},
}
# a typed fault or proof of a note, and nothing of its files, is what diagnosis/ takes from notes/
ONLY = {("diagnosis", "notes"): {"generator.notes.record"}}


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
    """No file imports from a room that the table above does not allow it."""
    for path in sorted((ROOT / "generator" / room).rglob("*.py")):
        for module in imports(path):
            other = module.split(".")[1] if "." in module else ""
            if other not in ROOMS or other == room:
                continue
            assert other in ALLOWED[room], f"{path.relative_to(ROOT)} imports {module}"
            if (room, other) in ONLY:
                assert module in ONLY[room, other], f"{path.relative_to(ROOT)} imports {module}"


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


def test_the_guide_names_every_file() -> None:
    """The list of the house against the tree, both ways; kinds and languages are as many as one likes."""
    house = re.search(r"## The house\n\n```\n(.*?)```", (ROOT / "DEVELOPERS.md").read_text("utf-8"), re.DOTALL)
    assert house
    named = set(re.findall(r"[\w-]+\.(?:py|js|css|yaml)\b", house[1])) - {"library.yaml"}
    below = [ROOT / "generator", *(ROOT / "generator" / room for room in ROOMS), ROOT / "generator" / "locale", ROOT / "themes" / "bench" / "static"]
    files = {path.name for folder in below for path in folder.iterdir() if path.suffix in (".py", ".js", ".css", ".yaml")}
    assert named ^ (files - {"__init__.py"}) == set()


def test_readme_begins_with_the_job_and_two_commands() -> None:
    """One paragraph, then exactly two commands before the first section."""
    opening = (ROOT / "README.md").read_text("utf-8").split("\n## ")[0]
    assert opening.count("```sh") == 2 and "sh tests/run" in opening
    assert opening.split("\n\n")[1].count("\n") == 0
