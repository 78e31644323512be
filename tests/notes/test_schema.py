"""The JSON Schema of a note, by the package jsonschema: every demonstration note is valid, every slip of shape is refused."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from generator.circuit import catalogue
from generator.circuit.circuit import Mains
from generator.notes import keys
from generator.notes.config import read_config
from generator.notes.note import parse_note
from generator.notes.schema import schema

sys.path.insert(0, str(Path(__file__).parent))
import test_note  # noqa: E402
import test_whole_device  # noqa: E402

CONTENT = Path(__file__).resolve().parents[2] / "content"
# What only a reader that knows of circuits and of text can tell: no slip of shape.
SHAPE = re.compile(
    r"no such key of|is missing|is expected, not|keys with values are expected|no such parameter|no name for a block|no such kind|both say where|a list of places"
)


_OLDER = ("tag:yaml.org,2002:timestamp", "tag:yaml.org,2002:bool")


class Loader(yaml.SafeLoader):
    """YAML 1.2 as an editor reads it: no dates, which JSON has not, and `on` is a word."""


Loader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in found if tag not in _OLDER]
    for first, found in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def validator(of: str = "note") -> Draft202012Validator:
    return Draft202012Validator(schema(of))


def front(text: str) -> Any:
    return yaml.load(text.split("---\n")[1], Loader)  # noqa: S506 - derived from the safe loader


def test_it_is_a_schema_of_its_draft() -> None:
    for of in ("note", "library"):
        Draft202012Validator.check_schema(schema(of))
        assert schema(of)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("path", sorted(CONTENT.glob("notes/**/*.md")), ids=lambda p: p.parent.name + p.stem)
def test_the_demonstration_is_valid(path: Path) -> None:
    assert [error.message for error in validator().iter_errors(front(path.read_text("utf-8")))] == []


def test_the_library_and_the_whole_device_are_valid() -> None:
    library = yaml.load((CONTENT / "library.yaml").read_text("utf-8"), Loader)  # noqa: S506
    assert [error.message for error in validator("library").iter_errors(library)] == []
    note = front(f"{test_whole_device.HEAD}{test_whole_device.WHOLE}---\n")
    assert [error.message for error in validator().iter_errors(note)] == []


HEAD = ("title: a\n", "date: 2026-01-02\n", "device: {kind: k}\n", "symptoms: [s]\n")
WRONG = [
    *(f"---\ntitle: a\ndate: 2026-01-02\ndevice: {{kind: k}}\nsymptoms: [s]\n{lines}\n---\n" for lines, _ in [*test_note.UNKNOWN, *test_note.SHAPES]),
    "---\noutcome: fixed\n---\n",
    *(
        "---\n" + "".join(line for line in HEAD if not line.startswith(left_out)) + "---\n"
        for left_out in ("title", "date", "device", "symptoms")
    ),
    f"{test_whole_device.HEAD}joins: [air.pin]\n---\n",
    f"{test_whole_device.HEAD}readings:\n  - {{at: supply.mean, across: R9, read: 3 V}}\n---\n",
    f"{test_whole_device.HEAD}steps:\n  - {{with: T10}}\n---\n",
    "---\ntitle: a\ndate: 2026-01-02\ndevice: {kind: k}\nsymptoms: [s]\nblocks: {a: {kind: dividr}}\n---\n",
    "---\ntitle: a\ndate: 2026-01-02\ndevice: {kind: k}\nsymptoms: [s]\nblocks: {a: {kind: divider, uper: 1k}}\n---\n",
]  # fmt: skip


@pytest.mark.parametrize("text", WRONG)
def test_slips_of_shape_are_refused(text: str) -> None:
    """What our reader calls an unknown or missing key, or a wrong shape, the schema refuses as well."""
    _note, problems = parse_note(text, "x", "x.md", None, Mains())
    assert any(SHAPE.search(problem.what) for problem in problems), problems
    assert not validator().is_valid(front(text))


def entry_of(section: keys.Section, left_out: str = "") -> str:
    """A note with one entry of a section, the keys that it needs in it but one."""
    own = ", ".join(
        f"{key.name}: {key.example}" for key in section.keys if key.required and key.name != left_out
    )
    entry = (
        f"boards: [{{top: board.jpg, marks: [{{{own}}}]}}]"
        if section.name == "mark"
        else f"{section.title}: [{{{own}}}]"
    )
    return f"---\n{''.join(HEAD)}{entry}\n---\n"


NEEDED = [
    (section, key.name)
    for section in map(keys.section, ("fault", "signal", "proof", "mark", "step", "moment", "link"))
    for key in section.keys if key.required
]  # fmt: skip


@pytest.mark.parametrize(("section", "left_out"), NEEDED, ids=lambda own: getattr(own, "name", own))
def test_what_the_page_calls_needed_is_missed(section: keys.Section, left_out: str) -> None:
    """By the reader and by the schema alike."""
    said = [str(p) for p in parse_note(entry_of(section, left_out), "x", "x.md", None, Mains())[1]]
    assert any(f"{left_out} is missing" in text for text in said), said
    assert list(validator().iter_errors(front(entry_of(section, left_out))))
    said = [str(p) for p in parse_note(entry_of(section), "x", "x.md", None, Mains())[1]]
    assert not any("is missing" in text for text in said), said


@pytest.mark.parametrize(
    ("text", "left_out"),
    [
        ("language: en\n", "name"),
        ("name: A\npool: [{as: mill}]\n", "from"),
        ("name: A\npool: [{from: ../mill}]\n", "as"),
    ],
)
def test_what_a_library_needs_is_missed(tmp_path: Path, text: str, left_out: str) -> None:
    """By the reader and by the schema alike."""
    (tmp_path / "library.yaml").write_text(text, "utf-8")
    said = [str(problem) for problem in read_config(tmp_path)[1]]
    assert any(f"{left_out} is missing" in own for own in said), said
    assert list(validator("library").iter_errors(yaml.load(text, Loader)))  # noqa: S506


def test_every_key_and_parameter_is_described() -> None:
    found = schema()
    for section in (found, *found["$defs"].values()):
        for name, of in section.get("properties", {}).items():
            assert of.get("description"), name
    for name in catalogue.names():
        assert set(found["$defs"][f"block-{name}"]["properties"]) == {
            "kind",
            "also",
            *(p.name for p in catalogue.kind(name).params),
        }


def test_examples_of_the_table_are_what_the_reader_takes() -> None:
    """Each example of a key of the note, put into a note, is read without an error about its shape."""
    for key in keys.section("note").keys:
        if key.name in ("title", "date", "device", "symptoms"):
            continue
        text = f"---\ntitle: a\ndate: 2026-01-02\ndevice: {{kind: k}}\nsymptoms: [s]\n{key.name}: {key.example}\n---\n"
        _note, problems = parse_note(text, "x", "x.md", None, Mains())
        assert [p.what for p in problems if SHAPE.search(p.what)] == [], key.name
        assert validator().is_valid(front(text)), key.name


def test_the_command_prints_it() -> None:
    run = subprocess.run(
        [sys.executable, "-m", "generator.cli", "schema"], capture_output=True, text=True, check=True
    )
    assert json.loads(run.stdout)["title"].startswith("benchlore") and run.stderr == ""
