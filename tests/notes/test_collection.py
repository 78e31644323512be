"""Collections in the Open Repair Data Standard v0.3. Columns, statuses and barriers from the standard (from memory)."""

from __future__ import annotations

from pathlib import Path

import pytest

from generator.notes import standard
from generator.notes.collection import (
    LARGEST_FILE,
    LINES_SHOWN,
    LONGEST,
    Judged,
    Row,
    collection_files,
    read_collections,
)

HEADER = (
    "id,data_provider,country,partner_product_category,product_category,product_category_id,brand,"
    "year_of_manufacture,product_age,repair_status,repair_barrier_if_end_of_life,group_identifier,event_date,problem"
)
GOOD = "netloft_1,Net Loft,IRL,Kitchen ~ Kettle,Kettle,,Ferrowick,2017,9,Fixed,,Quay,2026-03-14,stays cold"


def read(path: Path, text: str | bytes) -> tuple[list[Row], list[str]]:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    judged = Judged()
    rows = list(read_collections([path], judged))
    return rows, [str(problem).removeprefix(str(path)) for problem in judged.problems]


def test_the_columns_are_the_standards() -> None:
    assert ",".join(standard.COLUMNS) == HEADER
    assert len(standard.CATEGORIES) == 40


def test_a_record(tmp_path: Path) -> None:
    rows, problems = read(tmp_path / "a.csv", f"{HEADER}\n{GOOD}\n")
    assert problems == []
    assert rows == [
        Row("netloft_1", "Net Loft", "IRL", "Kitchen ~ Kettle", "Kettle", "", "Ferrowick", "2017", 9.0, "fixed", "",
            "Quay", "2026-03-14", "stays cold")
    ]  # fmt: skip


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_byte_order_mark_line_ends_quotes_and_breaks(tmp_path: Path, mark: str, end: str) -> None:
    """As RFC 4180 has quotes: doubled inside, and line breaks and commas stand in them."""
    tricky = GOOD.replace("netloft_1", "netloft_2").replace("stays cold", f'"says ""no"",{end}stays cold"')
    rows, problems = read(tmp_path / "a.csv", mark + end.join([HEADER, GOOD, tricky, ""]))
    assert problems == []
    assert [row.problem for row in rows] == ["stays cold", 'says "no", stays cold']


@pytest.mark.parametrize(
    "old, new, said",
    [
        ("netloft_1", "Net Loft 1", "id is not a group's name in small letters, _ and a number"),
        ("Net Loft,IRL", ",IRL", "data_provider is empty"),
        ("IRL", "Ireland", "country is not three letters"),
        (",Kettle,,", ",Kettel,,", "product_category Kettel is not in the standard's list; line 2; did you mean Kettle?"),
        (",Kettle,,", ",,,", "product_category is empty"),
        ("2017", "old", "year_of_manufacture is not a year"),
        (",9,", ",nine,", "product_age is not a number of years"),
        (",9,", ",nan,", "product_age is not a number of years"),
        ("Fixed", "Mended", "repair_status is not one of the standard's; line 2; Fixed, Repairable, End of life, Unknown"),
        ("Fixed,,", "End of life,too dear,", "repair_barrier_if_end_of_life is not one of the standard's"),
        ("2026-03-14", "14.03.2026", "event_date is not a date"),
        ("2026-03-14", "2026-02-30", "event_date is not a date"),
        ("stays cold", "stays, cold", "not as many fields as the 14 columns"),
        ("stays cold", "x" * (LONGEST + 1), "problem has more than 10,000 characters"),
    ],
)  # fmt: skip
def test_a_row_that_is_no_record_is_told_and_left_out(tmp_path: Path, old: str, new: str, said: str) -> None:
    other = GOOD.replace("netloft_1", "netloft_9")
    rows, problems = read(tmp_path / "a.csv", f"{HEADER}\n{GOOD.replace(old, new)}\n{other}\n")
    assert [row.id for row in rows] == ["netloft_9"]
    assert len(problems) == 1 and said in problems[0]
    assert problems[0].startswith(":2:1: warning: 1 row is left out: ")


def test_many_wrong_rows_are_counted_and_the_first_ten_shown(tmp_path: Path) -> None:
    wrong = [GOOD.replace("netloft_1", f"netloft_{n}").replace("Fixed", "Mended") for n in range(25)]
    _, problems = read(tmp_path / "a.csv", "\n".join([HEADER, *wrong]))
    lines = ", ".join(str(line) for line in range(2, 2 + LINES_SHOWN))
    assert [
        lines + " and 15 more" in problem and "25 rows are left out" in problem for problem in problems
    ] == [True]


def test_lines_are_those_of_the_file(tmp_path: Path) -> None:
    """A row with line breaks in it counts as many lines as it takes."""
    broken = GOOD.replace("stays cold", '"stays\ncold\nall day"')
    wrong = GOOD.replace("netloft_1", "netloft_2").replace("Fixed", "Mended")
    _, problems = read(tmp_path / "a.csv", f"{HEADER}\n{broken}\n{wrong}\n")
    assert "line 5" in problems[0]


def test_an_id_counts_once_over_all_collections(tmp_path: Path) -> None:
    paths = [tmp_path / "a.csv", tmp_path / "b.csv"]
    for path in paths:
        path.write_text(f"{HEADER}\n{GOOD}\n")
    judged = Judged()
    assert len(list(read_collections(paths, judged))) == 1
    assert "id was read before" in str(judged.problems[0]) and "b.csv:2" in str(judged.problems[0])


def test_a_table_of_another_kind(tmp_path: Path) -> None:
    rows, problems = read(tmp_path / "a.csv", "name,date\nkettle,2026-03-14\n")
    assert rows == []
    assert "it has the columns name, date; missing: id, data_provider, country" in problems[0]


@pytest.mark.parametrize(
    "problem, said, kept",
    [
        ('"stays cold', "a quote is never closed, so nothing that follows is read; line 2", []),
        ('"stays "cold""', "a quoted field goes on behind its closing quote; line 2", ["netloft_2", "netloft_3"]),
        ('"says ""no"""', "", ["netloft_1", "netloft_2", "netloft_3"]),
        ('says "no"', "", ["netloft_1", "netloft_2", "netloft_3"]),
    ],
)  # fmt: skip
def test_no_row_is_lost_in_the_quotes_of_another_without_a_word(
    tmp_path: Path, problem: str, said: str, kept: list[str]
) -> None:
    """RFC 4180: a quoted field ends with its quote, and a quote inside it is doubled."""
    other = [GOOD.replace("netloft_1", f"netloft_{n}") for n in (2, 3)]
    rows, problems = read(
        tmp_path / "a.csv", "\n".join([HEADER, GOOD.replace("stays cold", problem), *other, ""])
    )
    assert [row.id for row in rows] == kept
    assert said in "".join(problems) and bool(problems) == bool(said)


@pytest.mark.parametrize(
    "text, said",
    [
        (b"", "the file is empty"),
        (HEADER.replace(",", ";").encode(), "separated by semicolons"),
        (f"{HEADER}\n".encode(), "there are no records"),
        (HEADER.encode("utf-16"), "UTF-16"),
    ],
)
def test_what_is_no_collection_at_all(tmp_path: Path, text: bytes, said: str) -> None:
    rows, problems = read(tmp_path / "a.csv", text)
    assert rows == [] and len(problems) == 1 and said in problems[0]


def test_latin_1_is_told_by_line(tmp_path: Path) -> None:
    bad = GOOD.replace("netloft_1", "netloft_2").replace("stays cold", "gr\u00fcn").encode("latin-1")
    rows, problems = read(tmp_path / "a.csv", f"{HEADER}\n{GOOD}\n".encode() + bad)
    assert len(rows) == 1 and "not UTF-8; line 3" in problems[0]


@pytest.mark.parametrize("size", [1 << 20, (2 << 20) + 10, 5 << 20])
@pytest.mark.parametrize("quote", ["", '"'])
def test_a_huge_field_is_left_out_and_the_next_row_read(tmp_path: Path, size: int, quote: str) -> None:
    huge = GOOD.replace("stays cold", quote + "x" * size + quote)
    other = GOOD.replace("netloft_1", "netloft_2")
    rows, problems = read(tmp_path / "a.csv", f"{HEADER}\n{huge}\n{other}\n")
    assert [row.id for row in rows] == ["netloft_2"]
    assert len(problems) == 1 and "characters; line 2" in problems[0]


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    """2 GB that are a hole in the file: to read them would take seconds, to ask for the size does not."""
    path = tmp_path / "a.csv"
    with path.open("wb") as file:
        file.truncate(2_000_000_000)
    assert path.stat().st_size > LARGEST_FILE
    judged = Judged()
    assert list(read_collections([path], judged)) == []
    assert "2,000,000,000 bytes; at most" in str(judged.problems[0])


def test_only_files_of_the_folder_are_read(tmp_path: Path) -> None:
    folder = tmp_path / "records"
    folder.mkdir()
    (tmp_path / "secret.csv").write_text(f"{HEADER}\n{GOOD}\n")
    (folder / "link.csv").symlink_to(tmp_path / "secret.csv")
    (folder / "B.CSV").write_text("x")
    paths, problems = collection_files(tmp_path)
    judged = Judged()
    assert list(read_collections(paths, judged)) == []
    assert "link" in str(judged.problems[0]) and "B.csv" in str(problems[0])


def test_controls_and_signs_that_turn_text_are_replaced(tmp_path: Path) -> None:
    turned = GOOD.replace("stays cold", "stays \u202ecold \u0007")
    rows, _ = read(tmp_path / "a.csv", f"{HEADER}\n{turned}\n")
    assert rows[0].problem == "stays \ufffdcold \ufffd"
