"""Whether the tests would notice: 100 places of the package changed by rule, one at a time, and which changes survive.

    python tests/benchmarks/mutants.py [--places 100] [--seed 1] [--room circuit] [--followed FOLDER]

Each change is made in a copy of the tree, never in the checkout. Which tests execute which line is found out first, a test
file at a time under coverage (pip install pytest-cov); with --followed that is kept for the next run on the same tree. For
each change only tests are run that execute its line: all of its own test file, then some from every test file that does, then
those of its room and more of the others. What then still passes is listed with file, line and what was changed. A change is drawn by file in proportion to its code, so that a large
file is not spared. Tests in a browser and slow ones are left out, so a change that only they would notice is listed too.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from queue import SimpleQueue

ROOT = Path(__file__).resolve().parents[2]
LONGEST = 300  # seconds for the tests of one change; one that hangs is noticed
FOLLOWED = 3600  # seconds for a file of tests that is followed: coverage takes its time
SOME, ROOM, MOST = (
    40,
    1500,
    400,
)  # tests that are run for a change: of any file at first, of its room, of the others
AT_ONCE = os.cpu_count() or 1
LEFT_OUT = "not browser and not slow"

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


Lines = dict[tuple[str, int], list[str]]  # (file of the package, line) -> tests that execute it


def pytest(
    tree: Path, arguments: list[str], longest: int = LONGEST, **env: str
) -> subprocess.CompletedProcess[bytes]:
    """The tests in a tree, whose package also the commands that they start import."""
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-m", LEFT_OUT, *arguments]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(tree), *sys.path[1:]]), **env}
    return subprocess.run(command, cwd=tree, capture_output=True, timeout=longest, env=env)


def follow(tree: Path, folder: Path) -> None:
    """Write into a folder which tests execute which lines, a file for each file of tests. One that fails is left out."""

    def one(path: Path) -> None:
        name = str(path.relative_to(tree))
        try:
            pytest(
                tree,
                [name, "--cov=generator", "--cov-context=test", "--cov-report="],
                FOLLOWED,
                COVERAGE_FILE=str(folder / name.replace("/", ".")),
            )
        except subprocess.TimeoutExpired:
            print(f"  {name}: too slow to be followed", flush=True)

    with ThreadPoolExecutor(AT_ONCE) as pool:
        list(pool.map(one, sorted((tree / "tests").rglob("test_*.py"))))


def followed(folder: Path) -> Lines:
    """The tests that execute each line, as they were followed into a folder. Line 0: those that execute any of the file."""
    from coverage import CoverageData

    found: Lines = defaultdict(list)
    for path in sorted(folder.iterdir()):
        data = CoverageData(basename=str(path))
        data.read()
        for file in data.measured_files():
            name = file[file.rindex("/generator/") + 1 :]
            whole: set[str] = set()
            for line, contexts in data.contexts_by_lineno(file).items():
                tests = {context.split("|")[0] for context in contexts if "::" in context}
                found[name, line] += sorted(tests)
                whole |= tests
            found[name, 0] += sorted(whole)
    return found


def spread(tests: Iterable[str]) -> list[str]:
    """Tests in an order in which every file of tests has its turn, one of a file at a time."""
    files: dict[str, list[str]] = defaultdict(list)
    for test in tests:
        files[test.partition("::")[0]].append(test)
    for own in files.values():
        random.Random(1).shuffle(own)
    return [test for row in zip_longest(*files.values()) for test in row if test is not None]


def lives(tree: Path, mutant: Mutant, lines: Lines) -> bool:
    """Whether a change in a tree passes the tests that execute its line, or its file where none does."""
    name = str(mutant.file.relative_to(ROOT))
    tests = spread(lines.get((name, mutant.line)) or lines.get((name, 0), []))
    own = [test for test in tests if f"/test_{mutant.file.stem}.py::" in test]
    room = [
        test
        for test in tests
        if test.startswith(f"tests/{mutant.file.relative_to(ROOT / 'generator').parts[0]}/")
    ]
    others = [test for test in tests[SOME:] if test not in set(room)]
    for some in (own, tests[:SOME], room[:ROOM], others[:MOST]):
        try:
            if some and pytest(tree, ["-x", *some]).returncode:
                return False
        except subprocess.TimeoutExpired:
            return False
    return True


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--places", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--room", default="", help="one room only")
    parser.add_argument("--followed", type=Path, help="where to keep which test executes which line")
    options = parser.parse_args()
    files = sorted((ROOT / "generator" / options.room).rglob("*.py"))
    files = [path for path in files if path.name not in ("__init__.py", "update.py")]
    every = [mutant for path in files for mutant in mutants(path)]
    drawn = random.Random(options.seed).sample(every, min(options.places, len(every)))
    with tempfile.TemporaryDirectory() as place:
        trees: SimpleQueue[Path] = SimpleQueue()
        for number in range(AT_ONCE):
            tree = Path(place) / f"tree{number}"
            shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__", "site"))
            trees.put(tree)
        folder = options.followed or Path(place) / "followed"
        folder.mkdir(exist_ok=True)
        if not any(folder.iterdir()):
            follow(tree, folder)
        lines = followed(folder)

        def alive(mutant: Mutant) -> bool:
            tree = trees.get()
            file = tree / mutant.file.relative_to(ROOT)
            data = file.read_bytes()
            file.write_bytes(data[: mutant.start] + mutant.after.encode() + data[mutant.end :])
            lived = lives(tree, mutant, lines)
            file.write_bytes(data)
            trees.put(tree)
            print(f"  {'LIVED' if lived else 'noticed'}  {mutant}", flush=True)
            return lived

        with ThreadPoolExecutor(AT_ONCE) as pool:
            lived = [mutant for mutant, lives_on in zip(drawn, pool.map(alive, drawn)) if lives_on]
    print(f"\n{len(lived)} of {len(drawn)} changes lived ({len(every)} possible in {len(files)} files)")
    for mutant in lived:
        print(f"  {mutant}")


if __name__ == "__main__":
    main()
