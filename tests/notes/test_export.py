"""A library as records, judged by the frictionless package against the standard's table schema, and read back.

records.schema.json was written from the fields of the Open Repair Data Standard v0.3 (names and lists from memory).
"""

from __future__ import annotations

import csv
import warnings
from pathlib import Path

import pytest

from generator.cli import main
from generator.notes.collection import Judged, Row, read_collections

SCHEMA = Path(__file__).with_name("records.schema.json")

NOTE = """---
title: {title}
date: {date}
device: {{kind: {kind}{device}}}
symptoms: [{symptoms}]
outcome: {outcome}
{more}
---
Words.
"""


def note(title: str = "Kettle", date: str = "2026-03-14", kind: str = "kettle", device: str = ", category: Kettle",
         symptoms: str = "stays cold", outcome: str = "fixed", more: str = "") -> str:  # fmt: skip
    return NOTE.format(
        title=title, date=date, kind=kind, device=device, symptoms=symptoms, outcome=outcome, more=more
    )


def library(folder: Path, **notes: str) -> Path:
    (folder / "notes").mkdir(parents=True)
    (folder / "library.yaml").write_text("name: Bench book\ngroup: Net Loft\ncountry: IRL\n")
    for slug, text in notes.items():
        (folder / "notes" / f"{slug}.md").write_text(text)
    return folder


def valid(path: Path) -> list[str]:
    """What frictionless finds wrong with a collection."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what its own dependencies warn of
        from frictionless import Resource, Schema, system

        with system.use_context(trusted=True):
            report = Resource(path=str(path), schema=Schema.from_descriptor(str(SCHEMA))).validate()
    return [f"{task[0]}: {task[1]}" for task in report.flatten(["type", "message"])]


def records(path: Path) -> list[Row]:
    judged = Judged()
    rows = list(read_collections([path], judged))
    assert judged.problems == []
    return rows


def test_the_demonstration_is_a_valid_collection_and_reads_back(content: Path, tmp_path: Path) -> None:
    file = tmp_path / "out.csv"
    assert main(["export", str(file), str(content)]) == 0
    assert valid(file) == []
    assert len(records(file)) == len(list((content / "notes").iterdir()))


def test_the_judge_finds_what_is_wrong(tmp_path: Path) -> None:
    """frictionless with this schema refuses what the standard has not."""
    file = tmp_path / "out.csv"
    assert main(["export", str(file), str(library(tmp_path / "content", a=note()))]) == 0
    file.write_text(file.read_text().replace("Fixed", "Mended").replace("IRL", "Ireland"))
    assert len(valid(file)) == 2


def test_every_field_comes_back(tmp_path: Path) -> None:
    """What the note says, column by column."""
    text = note(
        kind="cordless kettle", device=", category: Kettle, make: Ferrowick, year: 2017", symptoms='stays cold, "says ""no"""'.replace('""', "''"),
        outcome="end of life", more="barrier: lack of equipment\nnumber: 207\nbench: Quay\n"
        "faults: [{part: thermal fuse, failed: open, because: boiled dry}]",
    )  # fmt: skip
    file = tmp_path / "out.csv"
    assert main(["export", str(file), str(library(tmp_path / "content", a=text))]) == 0
    assert records(file) == [
        Row("netloft_207", "Net Loft", "IRL", "cordless kettle", "Kettle", "", "Ferrowick", "2017", 9.0, "end of life",
            "lack of equipment", "Net Loft", "2026-03-14",
            "stays cold; says ''no''. Turned out to be: thermal fuse open (boiled dry)")
    ]  # fmt: skip
    assert valid(file) == []


@pytest.mark.parametrize("outcome", ["fixed", "repairable", "end of life", "unknown"])
def test_every_outcome_comes_back(tmp_path: Path, outcome: str) -> None:
    file = tmp_path / "out.csv"
    assert main(["export", str(file), str(library(tmp_path / "content", a=note(outcome=outcome)))]) == 0
    assert records(file)[0].status == outcome and valid(file) == []


@pytest.mark.parametrize(
    "barrier",
    ["spare parts not available", "spare parts too expensive", "no way to open the product",
     "repair information not available", "lack of equipment", "item too worn out"],
)  # fmt: skip
def test_every_barrier_comes_back(tmp_path: Path, barrier: str) -> None:
    text = note(outcome="end of life", more=f"barrier: {barrier}")
    file = tmp_path / "out.csv"
    assert main(["export", str(file), str(library(tmp_path / "content", a=text))]) == 0
    assert records(file)[0].barrier == barrier and valid(file) == []


def test_a_note_without_category_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "out.csv"
    content = library(tmp_path / "content", a=note(device=""))
    assert main(["export", str(file), str(content)]) == 0
    assert records(file)[0].category == "Misc"
    assert "its record has Misc; device: category: Kettle, perhaps" in capsys.readouterr().err


def test_whose_records_they_are_is_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, content = tmp_path / "out.csv", library(tmp_path / "content", a=note())
    assert main(["export", str(file), str(content)]) == 0
    assert "not stated" not in capsys.readouterr().err
    (content / "library.yaml").write_text("name: Our repair notes\n")
    assert main(["export", str(file), str(content)]) == 0
    told = capsys.readouterr().err
    assert "records are called ourrepairnotes_..." in told and "country is not stated" in told


def test_no_spreadsheet_works_out_a_text(tmp_path: Path) -> None:
    """A cell that begins with = is a formula to a spreadsheet; behind a blank it is a text."""
    file = tmp_path / "out.csv"
    content = library(tmp_path / "content", a=note(kind="'=1+1'"))
    assert main(["export", str(file), str(content)]) == 0
    with file.open(newline="") as lines:
        assert next(csv.DictReader(lines))["partner_product_category"] == " =1+1"
    assert records(file)[0].partner_category == "=1+1"


def test_with_errors_nothing_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "out.csv"
    file.write_text("as it was")
    content = library(tmp_path / "content", a=note(), b=note(date="yesterday"))
    assert main(["export", str(file), str(content)]) == 1
    assert file.read_text() == "as it was"
    capsys.readouterr()
    assert main(["export", str(file), str(content), "--skip-broken"]) == 0
    assert len(records(file)) == 1
    assert "b.md:3:7: warning: this note is left out: date: yesterday" in capsys.readouterr().err
    file.write_text("as it was")
    (content / "library.yaml").write_text("name: [")
    assert main(["export", str(file), str(content), "--skip-broken"]) == 1
    assert file.read_text() == "as it was"


def test_not_into_the_librarys_own_records(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    content = library(tmp_path / "content", a=note())
    (content / "records").mkdir()
    assert main(["export", str(content / "records" / "own.csv"), str(content)]) == 2
    assert "count twice" in capsys.readouterr().err
    assert main(["export", str(tmp_path / "records.xls"), str(content)]) == 2
    assert main(["export", str(tmp_path / "nowhere" / "a.csv"), str(content)]) == 2
