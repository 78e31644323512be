"""Whether the tests would notice: 100 places of the package changed by rule, one at a time, and which changes survive.

    python tests/benchmarks/mutants.py [--places 100] [--seed 1] [--room circuit] [--kept FOLDER]

All drawn changes are made in one copy of the tree, each behind a question that is answered by the environment, so that
nothing is written or compiled again for each. The tests run once unchanged: which test asks which question, and how long it
takes. Then each change is switched on for the tests that came by its place: NEAR of its own test file and room, then the
others, quick ones first and every file of tests in turn, until one fails or SECONDS of tests have passed. A change that Python makes
as it loads a file is given to the tests that call functions of that file or of those that import it, and to all tests of a file
that imports it, for a table is read without a call.

What no test could notice is not drawn. An order (<) becomes the order with its bound (<=) where whole numbers, lengths or texts
are compared, or anything with a whole number as it is written: there the bound is a case of its own. Between two quantities
it becomes its negation (>=): no measurement meets another to the last of 53 bits, so that the bound says nothing, and a test
that never takes the other way lets the negation pass as well. frozen and slots of a dataclass are promises to whoever
checks the types: nothing that mypy passes runs otherwise without them, and so is an assert of the package, which tells what
is known there. A number becomes twice as large, but an order of magnitude (1e-9, 1e5; whole thousands as 20_000) a million times:
it says what is next to nothing, or from where on something is beyond all there is, and twice as much says the same. Whether
anybody would notice that it guards against nothing any more is what is asked. With --kept the copy
stays, and a next run takes up where this one was stopped. A change is drawn by file in proportion to its code. Tests in a
browser and slow ones are left out, so a change that only they would notice is listed too, as are those that no test comes by.
"""

from __future__ import annotations

import argparse
import ast
import copy
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import accumulate, zip_longest
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NEAR = 60  # tests of its own files and room that are run for a change at first
SECONDS = (15, 60)  # of further tests, as long as they took unchanged: at first, then more
LONGEST = 8  # times as long and a minute: one that hangs is noticed
WAITS = 10
LEFT_OUT = "not browser and not slow"

COMPARED = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
}
NEGATED = {ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt}
PROMISED = ("frozen", "slots")  # of dataclasses
SWAPPED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}

# Put into the copy as generator/asked.py. While tests are followed each question is noted with the test that runs, or with
# the fixture that is being set up, in a file for each process.
ASKED = """
import contextlib
import os

ON, FOLDER = int(os.environ.get("CHANGE_ON", "0")), os.environ.get("ASKED_BY")
seen = set()


def changed(number):
    if FOLDER:
        test = os.environ.get("FIXTURE") or os.environ.get("PYTEST_CURRENT_TEST", "").rpartition(" ")[0]
        if (number, test) not in seen:
            seen.add((number, test))
            with contextlib.suppress(OSError), open(f"{FOLDER}/{os.getpid()}", "a") as file:
                file.write(f"{number}\\t{test}\\n")
    return number == ON


def measured(*sides):
    kinds = (getattr(getattr(side, "dtype", None), "kind", "") for side in sides)
    return any(isinstance(side, float) or kind in ("f", "c") for side, kind in zip(sides, kinds))
"""
# A plug-in of pytest that says which fixture is being set up, and notes for each test its fixtures, seconds and outcome.
FOLLOWING = """
import contextlib
import json
import os

import pytest


@pytest.hookimpl(hookwrapper=True)
def pytest_fixture_setup(fixturedef, request):
    shared = fixturedef.scope != "function"
    before = os.environ.get("FIXTURE", "")
    if shared:
        os.environ["FIXTURE"] = "fixture " + fixturedef.argname
    yield
    os.environ["FIXTURE"] = before


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item, call):
    report = (yield).get_result()
    if call.when == "call" or not report.passed:
        with contextlib.suppress(OSError), open(os.environ["ASKED_BY"] + f"/tests.{os.getpid()}", "a") as file:
            row = [item.nodeid, item.fixturenames, call.duration, report.passed]
            file.write(json.dumps(row) + "\\n")
"""


@dataclass(frozen=True)
class Mutant:
    """One change: what an expression of a file becomes."""

    file: str
    line: int
    before: str
    after: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.before} -> {self.after}"


def mutated(node: ast.AST) -> ast.expr | None:
    """What the rules make of an expression: comparisons, arithmetic, and/or, not, numbers, True and False."""
    other = copy.deepcopy(node)
    match other:
        case ast.Compare(left=left, ops=[first, *_], comparators=[right, *_]) if type(first) in COMPARED:
            other.ops[0] = COMPARED[type(first)]()
            if type(first) in NEGATED and not (whole(left) or whole(right)):
                negated = copy.deepcopy(node)
                negated.ops[0] = NEGATED[type(first)]()
                asked = ast.Call(ast.Name("_measured"), [left, right], [])
                return ast.IfExp(asked, negated, other)
        case ast.BinOp(op=op) if type(op) in SWAPPED:
            other.op = SWAPPED[type(op)]()
        case ast.BoolOp(op=op):
            other.op = ast.Or() if isinstance(op, ast.And) else ast.And()
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            return operand
        case ast.Constant(value=bool(value)):
            other.value = not value
        case ast.Constant(value=int(value) | float(value)):
            other.value = value * (1_000_000 if order_of_magnitude(value) else 2) or 1
        case _:
            return None
    return other


def whole(side: ast.expr) -> bool:
    """Whether a side of a comparison is a whole number as it is written."""
    return isinstance(side, ast.Constant) and isinstance(side.value, (int, float)) and side.value % 1 == 0


def order_of_magnitude(value: float) -> bool:
    """Whether a number says no more than how many zeros there are: a power of ten far from 1, one digit and thousands."""
    digits, _, exponent = f"{value:.12e}".partition("e")
    return abs(int(exponent)) >= 3 and (
        float(digits) == 1 or isinstance(value, int) and float(digits).is_integer()
    )


def expressions(
    node: ast.AST, inside: bool = False
) -> Iterator[tuple[ast.AST, str, int | None, ast.expr, bool]]:
    """Every expression that is computed, with where it hangs, and whether in a function. No annotations, patterns, texts."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "pattern") or isinstance(node, ast.JoinedStr):
            continue
        if isinstance(node, ast.Assert) or isinstance(node, ast.keyword) and node.arg in PROMISED:
            continue
        own = inside or isinstance(node, (ast.FunctionDef, ast.Lambda)) and name == "body"
        for index, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if isinstance(child, ast.expr):
                yield node, name, index, child, own
            if isinstance(child, ast.AST):
                yield from expressions(child, own)


def mutants(path: Path) -> Iterator[Mutant]:
    """Every change that the rules allow in a file, in the order of the text."""
    for _, _, _, expression, _ in expressions(ast.parse(path.read_text("utf-8"))):
        if (other := mutated(expression)) is not None:
            before, after = ast.unparse(expression), ast.unparse(other)
            yield Mutant(str(path.relative_to(ROOT)), expression.lineno, before, after)


def importers(name: str, texts: dict[str, str]) -> list[str]:
    """The files that import from a file of the package."""
    module = name.removesuffix(".py").replace("/", ".")
    room, _, stem = module.rpartition(".")
    wanted = (f"from {module} import", f"from {room} import {stem}")
    return [other for other, text in texts.items() if any(phrase in text for phrase in wanted)]


def changed_tree(tree: Path, drawn: dict[int, tuple[str, int]]) -> dict[int, set[int]]:
    """Make all changes in a copy: number -> (file, which of its mutants). Gives what stands for a change of loaded files.

    Where a change lies outside functions, no test comes by it: a question is asked at the start of each function of the
    file and of its importers instead, numbered below zero, and the numbers of those that stand for it are given.
    """
    texts = {
        str(path.relative_to(ROOT)): path.read_text("utf-8")
        for path in sorted((ROOT / "generator").rglob("*.py"))
    }
    trees = {name: ast.parse(text) for name, text in texts.items()}
    files = {name: -number for number, name in enumerate(texts, 1)}
    instead: dict[int, set[int]] = {}
    for name, parsed in trees.items():
        numbers = {place: number for number, (file, place) in drawn.items() if file == name}
        places = [found for found in expressions(parsed) if mutated(found[3]) is not None]
        for place, (parent, field, index, expression, inside) in reversed(list(enumerate(places))):
            if (number := numbers.get(place)) is None:
                continue
            other = mutated(getattr(parent, field) if index is None else getattr(parent, field)[index])
            if not inside:
                instead[number] = {files[name], *(files[one] for one in importers(name, texts))}
            asked = ast.Call(ast.Name("_altered_here"), [ast.Constant(number)], [])
            here = ast.IfExp(asked, other or expression, expression)
            if index is None:
                setattr(parent, field, here)
            else:
                getattr(parent, field)[index] = here
    entered = set().union(*instead.values())
    for name, parsed in trees.items():
        if files[name] in entered:
            for function in [node for node in ast.walk(parsed) if isinstance(node, ast.FunctionDef)]:
                entry = ast.parse(f"_altered_here({files[name]})").body[0]
                function.body.insert(1 if ast.get_docstring(function) else 0, entry)
        if files[name] in entered or any(file == name for file, _ in drawn.values()):
            first = next(
                (
                    n
                    for n, s in enumerate(parsed.body)
                    if not isinstance(s, ast.Expr) and "__future__" not in ast.unparse(s)
                ),
                0,
            )
            parsed.body.insert(
                first,
                ast.parse("from generator.asked import changed as _altered_here, measured as _measured").body[
                    0
                ],
            )
            (tree / name).write_text(ast.unparse(ast.fix_missing_locations(parsed)), "utf-8")
    (tree / "generator" / "asked.py").write_text(ASKED, "utf-8")
    (tree / "following.py").write_text(FOLLOWING, "utf-8")
    return instead


def pytest(tree: Path, arguments: list[str], longest: float | None = None, **env: str) -> int:
    """The exit code of tests in a tree, whose package also the commands that they start import. longest: seconds of processor
    time, for on a busy machine the clock says nothing; by the clock WAITS times as many, for what waits for ever."""
    bound = f"ulimit -t {longest:.0f}; " if longest else ""
    command = ["sh", "-c", bound + 'exec "$@"', "sh"]
    command += [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-m", LEFT_OUT, *arguments]
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(tree), *sys.path[1:]]), **env}
    with open(tree / "printed", "a") as printed:
        return subprocess.run(
            command, cwd=tree, stdout=printed, stderr=printed, timeout=longest and WAITS * longest, env=env
        ).returncode


Seconds = dict[str, float]  # test -> how long it takes


def follow(tree: Path, folder: Path, at_once: int) -> None:
    """Run the tests unchanged, noting into a folder which of them asks which question."""
    folder.mkdir()
    pytest(tree, ["-p", "following", "-n", str(at_once), "--dist", "loadfile"], ASKED_BY=str(folder))
    (folder / "done").touch()


def followed(folder: Path) -> tuple[dict[int, set[str]], Seconds]:
    """Which tests ask each question, and how long those take that pass. What a fixture asks is asked by all that use it."""
    seconds, using = {}, defaultdict(set)
    for path in folder.glob("tests.*"):
        for row in path.read_text("utf-8").splitlines():
            test, fixtures, duration, passed = json.loads(row)
            if passed:
                seconds[test] = duration
                for fixture in fixtures:
                    using[f"fixture {fixture}"].add(test)
    asked: dict[int, set[str]] = defaultdict(set)
    for path in folder.glob("[0-9]*"):
        for row in path.read_text("utf-8").splitlines():
            number, _, test = row.partition("\t")
            asked[int(number)] |= using.get(test) or {test} & seconds.keys()
    return asked, seconds


def spread(tests: Iterable[str], seconds: Seconds) -> list[str]:
    """Tests in an order in which every file of tests has its turn, its quickest first."""
    files: dict[str, list[str]] = defaultdict(list)
    for test in sorted(tests, key=lambda test: (seconds[test], test)):
        files[test.partition("::")[0]].append(test)
    return [test for row in zip_longest(*files.values()) for test in row if test is not None]


def portions(name: str, tests: set[str], seconds: Seconds) -> Iterator[list[str]]:
    """Tests for a change in a file: first a few of its own files of tests and of its room, then more, half of them from
    every file in turn. Its own are those whose names begin with the same word, _lithium_drawing.py and
    test_lithium_charger.py, and those whose parameters name it: [lithium-charger-1]."""
    stem = Path(name).stem.strip("_")
    word = stem.partition("_")[0]
    own = {test for test in seconds if re.search(rf"/test_{word}(_\w+)?\.py::", test)}
    named = {test for test in tests if stem.replace("_", "-") in test.partition("[")[2]}
    own |= named or {test for test in tests if re.search(rf"\[.*\b{word}\b", test)}
    room = {test for test in tests - own if test.startswith(f"tests/{Path(name).parts[1]}/")}
    near = [*spread(own & tests, seconds), *spread(own - tests, seconds), *spread(room, seconds)]
    near_first = zip_longest(near, spread(tests, seconds))
    waiting = list(dict.fromkeys(test for both in near_first for test in both if test))
    some = near[:NEAR]
    for most in SECONDS:
        if some:
            yield some
        waiting = [test for test in waiting if test not in set(some)]
        took = accumulate(seconds[test] for test in waiting)
        some = waiting[: bisect_right(list(took), most)]
    if some:
        yield some


def lives(tree: Path, number: int, name: str, tests: set[str], seconds: Seconds) -> bool:
    """Whether a change passes the tests that come by its place."""
    for some in portions(name, tests, seconds):
        longest = 60 + LONGEST * sum(seconds[test] for test in some)
        try:
            place = (
                f"--basetemp={tree / 'scratch' / str(number)}"  # where pytest clears up, two runs can meet
            )
            if pytest(tree, ["-x", place, *some], longest, CHANGE_ON=str(number)):
                return False
        except subprocess.TimeoutExpired:
            with open(tree / "printed", "a") as printed:
                printed.write(f"{number} was ended by the clock\n")
            return False
    return True


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--places", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--room", default="", help="one room only")
    parser.add_argument(
        "--kept", type=Path, help="a folder for the copy and for what was found, to be taken up again"
    )
    parser.add_argument("--at-once", type=int, default=os.cpu_count() or 1)
    options = parser.parse_args()
    files = sorted((ROOT / "generator" / options.room).rglob("*.py"))
    files = [path for path in files if path.name not in ("__init__.py", "update.py")]
    every = [(mutant, place) for path in files for place, mutant in enumerate(mutants(path))]
    chosen = random.Random(options.seed).sample(every, min(options.places, len(every)))
    drawn = dict(enumerate(chosen, 1))
    with tempfile.TemporaryDirectory() as place:
        tree = options.kept or Path(place) / "tree"
        left_out = shutil.ignore_patterns(".git", ".venv", "__pycache__", "site", ".*_cache", ".hypothesis")
        if not (tree / "generator").exists():
            shutil.copytree(ROOT, tree, ignore=left_out, dirs_exist_ok=True)
        (tree / "scratch").mkdir(exist_ok=True)
        instead = changed_tree(tree, {number: (mutant.file, at) for number, (mutant, at) in drawn.items()})
        if not (tree / "asked" / "done").exists():
            shutil.rmtree(tree / "asked", ignore_errors=True)
            follow(tree, tree / "asked", options.at_once)
        asked, seconds = followed(tree / "asked")
        found = tree / "found.json"
        known = json.loads(found.read_text("utf-8")) if found.exists() else {}
        texts = {
            str(path.relative_to(ROOT)): path.read_text("utf-8") for path in (ROOT / "tests").rglob("*.py")
        }

        def alive(number: int) -> bool:
            mutant = drawn[number][0]
            if str(number) not in known:
                tests = set().union(*(asked[one] for one in instead.get(number, {number})))
                if number in instead:
                    reading = set(importers(mutant.file, texts))
                    tests |= {test for test in seconds if test.partition("::")[0] in reading}
                known[str(number)] = lives(tree, number, mutant.file, tests, seconds)
                found.write_text(json.dumps(dict(known)), "utf-8")
                came_by = "" if tests else "  (no test comes by)"
                print(
                    f"  {'LIVED  ' if known[str(number)] else 'noticed'}  {number} {mutant}{came_by}",
                    flush=True,
                )
            return bool(known[str(number)])

        with ThreadPoolExecutor(options.at_once) as pool:
            lived = [number for number, lives_on in zip(drawn, pool.map(alive, drawn)) if lives_on]
    print(f"\n{len(lived)} of {len(drawn)} changes lived ({len(every)} possible in {len(files)} files)")
    tables = [number for number in lived if number in instead]
    print(
        f"{len(tables)} of them in constants and tables (*): numbers that were chosen, which measurements judge"
    )
    for number in lived:
        print(f"{'*' if number in tables else ' '} {drawn[number][0]}")


if __name__ == "__main__":
    main()
