"""Whether the tests would notice: 100 places of the package changed by rule, one at a time, and which changes survive.

    python tests/benchmarks/mutants.py [--places 100] [--seed 1] [--room circuit]

Each change is made in a copy of the tree, never in the checkout. The tests that are run for it are those of its room,
and of its kind of block where it is one; a change that they let pass is tried once more against the whole suite but for
the browser. What then still passes is listed with file, line and what was changed. A change is drawn by file in proportion
to its code, so that a large file is not spared.
"""

from __future__ import annotations

import argparse
import ast
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LONGEST = 600  # seconds for the tests of one change; one that hangs is noticed

COMPARED = {ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "=="}
SIGNS = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!="}
SWAPPED = {ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*"}
OPERATORS = {ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/"}


@dataclass(frozen=True)
class Mutant:
    """One change: characters start to end of a file's text become after."""

    file: Path
    line: int
    start: int
    end: int
    before: str
    after: str

    def __str__(self) -> str:
        return f"{self.file.relative_to(ROOT)}:{self.line}: {self.before} -> {self.after}"


def mutants(path: Path) -> Iterator[Mutant]:
    """Every change that the rules allow in a file: comparisons, arithmetic, and/or, not, numbers, True and False."""
    text = path.read_text("utf-8")
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line.encode()))
    data = text.encode()

    def place(node: ast.AST) -> tuple[int, int]:
        return starts[node.lineno - 1] + node.col_offset, starts[node.end_lineno - 1] + node.end_col_offset  # type: ignore[attr-defined]

    def between(left: ast.AST, right: ast.AST, sign: str, other: str) -> Iterator[Mutant]:
        first, last = place(left)[1], place(right)[0]
        at = data.find(sign.encode(), first, last)
        if at >= 0 and data.count(sign.encode(), first, last) == 1:
            yield Mutant(path, left.end_lineno, at, at + len(sign), sign, other)  # type: ignore[attr-defined]

    def whole(node: ast.AST, after: str) -> Mutant:
        start, end = place(node)
        return Mutant(path, node.lineno, start, end, data[start:end].decode(), after)  # type: ignore[attr-defined]

    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Compare) and type(node.ops[0]) in COMPARED:
            operator = type(node.ops[0])
            yield from between(node.left, node.comparators[0], SIGNS[operator], COMPARED[operator])
        elif isinstance(node, ast.BinOp) and type(node.op) in SWAPPED:
            yield from between(node.left, node.right, OPERATORS[type(node.op)], SWAPPED[type(node.op)])
        elif isinstance(node, ast.BoolOp):
            sign, other = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
            yield from between(node.values[0], node.values[1], sign, other)
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            yield whole(node, f"({ast.unparse(node.operand)})")
        elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
            yield whole(node, str(not node.value))
        elif isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
            yield whole(node, repr(node.value * 2 if node.value else 1))


def tests_of(path: Path) -> list[str]:
    """The tests nearest to a file: its kind's own and those of every kind, else those of its room, else those at the top."""
    place = path.relative_to(ROOT / "generator")
    if "kinds" in place.parts and not path.name.startswith("_"):
        own = ROOT / "tests" / "circuit" / "kinds" / f"test_{path.stem}.py"
        name = path.stem.replace("_", "-")
        return [
            str(own.relative_to(ROOT)),
            "tests/circuit/test_every_kind.py",
            "-k",
            f"{path.stem} or {name}",
        ]
    room = ROOT / "tests" / place.parts[0]
    return [str(room.relative_to(ROOT))] if room.is_dir() else ["tests/test_cli.py", "tests/test_language.py"]


def survives(tree: Path, arguments: list[str]) -> bool:
    """Whether tests pass in a tree."""
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-x",
        "-p",
        "no:cacheprovider",
        "-m",
        "not browser",
    ]
    try:
        done = subprocess.run(command + arguments, cwd=tree, capture_output=True, timeout=LONGEST)
    except subprocess.TimeoutExpired:
        return False
    return done.returncode in (0, 5)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--places", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--room", default="", help="one room only")
    options = parser.parse_args()
    files = sorted((ROOT / "generator" / options.room).rglob("*.py"))
    files = [path for path in files if path.name not in ("__init__.py", "update.py")]
    every = [mutant for path in files for mutant in mutants(path)]
    drawn = random.Random(options.seed).sample(every, min(options.places, len(every)))
    lived: list[Mutant] = []
    with tempfile.TemporaryDirectory() as place:
        tree = Path(place) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", "site"))
        for number, mutant in enumerate(drawn, 1):
            file = tree / mutant.file.relative_to(ROOT)
            data = file.read_bytes()
            file.write_bytes(data[: mutant.start] + mutant.after.encode() + data[mutant.end :])
            alive = survives(tree, tests_of(mutant.file)) and survives(tree, ["-n", "2"])
            file.write_bytes(data)
            lived += [mutant] if alive else []
            print(f"{number:4} {'LIVED' if alive else 'noticed'}  {mutant}", flush=True)
    print(f"\n{len(lived)} of {len(drawn)} changes lived ({len(every)} possible in {len(files)} files)")
    for mutant in lived:
        print(f"  {mutant}")


if __name__ == "__main__":
    main()
