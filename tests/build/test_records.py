"""Collections in the built site: found, listed, linked, counted; strange texts harmless; nothing made twice."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from generator.build.build import Built, build_site, inspect_library
from generator.finding.thesaurus import default
from generator.notes import standard

NOTE = """---
title: Kettle stays cold
date: 2026-03-14
device: {kind: kettle, category: Kettle, year: 2016}
symptoms: [stays cold]
outcome: fixed
faults: [{part: thermal fuse, failed: open}]
fitted: [{part: thermal fuse, with: 184 degrees, cost: 1.20}]
time: 30 min
---
Words.
"""


def rows(count: int, problem: str = "stays cold", category: str = "Kettle", kind: str = "kettle") -> str:
    lines = [
        f"netloft_{n},Net Loft,IRL,{kind},{category},,Ferrowick,2016,{n % 9},{'Fixed' if n % 2 else 'Repairable'},,Quay,"
        f'2026-03-{1 + n % 28:02},"{problem} {n}"'
        for n in range(count)
    ]
    return "\n".join([",".join(standard.COLUMNS), *lines, ""])


def library(folder: Path, records: str) -> Path:
    (folder / "notes").mkdir(parents=True)
    (folder / "records").mkdir()
    (folder / "library.yaml").write_text("name: Bench\ncurrency: GBP\n")
    (folder / "notes" / "kettle.md").write_text(NOTE)
    (folder / "records" / "a.csv").write_text(records)
    return folder


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Built]:
    place = tmp_path_factory.mktemp("records")
    content = library(place / "content", rows(450) + "netloft_x,wrong\n")
    built = build_site(content, place / "site")
    assert built.written, built.problems
    return place / "site", built


def test_pages_of_at_most_200_lines_hold_every_row_once(built: tuple[Path, Built]) -> None:
    found: list[str] = []
    for name in ("index", "2", "3"):
        ids = re.findall(r'<li id="(netloft_\d+)"', (built[0] / f"records/kettle/{name}.html").read_text())
        assert len(ids) <= 200
        found += ids
    assert sorted(found) == sorted(f"netloft_{n}" for n in range(450))
    assert not (built[0] / "records/kettle/4.html").exists()


def test_linked_from_device_symptom_category_and_first_page(built: tuple[Path, Built]) -> None:
    site = built[0]
    assert (
        'href="../records/devices/kettle/index.html">450 records'
        in (site / "devices/kettle.html").read_text()
    )
    symptom = (site / "symptoms/no-heat.html").read_text()
    assert 'href="../records/symptoms/no-heat/index.html">450 records' in symptom
    assert 'href="../records/kettle/index.html">Kettle' in (site / "records/index.html").read_text()
    assert 'href="records/index.html">450 records' in (site / "index.html").read_text()


def test_what_is_wrong_is_told_and_stops_nothing(built: tuple[Path, Built]) -> None:
    told = [str(problem) for problem in built[1].problems if "a.csv" in problem.file]
    assert len(told) == 1 and "1 row is left out: not as many fields as the 14 columns; line 452" in told[0]


def test_the_search_finds_a_row_and_says_where_it_stands(built: tuple[Path, Built]) -> None:
    from generator.cache import Cache, cache_folder
    from generator.finding import kept
    from generator.finding.search import search

    cache = Cache(cache_folder(built[0].parent / "content"))
    keys = cache._db.execute("select distinct scope from shards").fetchall()
    reader = kept.StoredReader(cache, keys[0][0])
    found = search(reader, "stays cold 449", "kettle", {"source": "Net Loft"}, 5)
    cache.close()
    assert found.total == 450
    hit = next(hit for hit in found.results if hit.slug == "netloft_449")
    path, _, anchor = hit.address.partition("#")
    assert f'id="{anchor}"' in (built[0] / path).read_text()


def test_statistics_of_notes_and_rows_together(built: tuple[Path, Built]) -> None:
    """451 kettles: 225 rows with odd numbers and the note are fixed, so 226, which are 50 %."""
    page = (built[0] / "devices/kettle.html").read_text()
    assert "451 repairs, 1 of them a note" in page
    assert re.search(
        r'>fixed</th>.*?class="figure">226</td><td role="cell" class="figure percent">50 %<', page
    )
    assert "1.20 GBP" in page and "30 min" in page


def test_the_terminal_finds_rows(built: tuple[Path, Built], capsys: pytest.CaptureFixture[str]) -> None:
    from generator.cli import main

    assert main(["lookup", "stays cold 449", "--library", str(built[0].parent / "content"), "--json"]) == 0
    assert "Net Loft" in capsys.readouterr().out


def test_a_second_build_reads_no_row(built: tuple[Path, Built], monkeypatch: pytest.MonkeyPatch) -> None:
    """What was judged is kept, and told again."""
    from generator.build import collected

    def never(*_: object) -> None:
        raise AssertionError("read again")

    monkeypatch.setattr(collected, "read_collections", never)
    again = build_site(built[0].parent / "content", built[0])
    assert again.written and again.problems == built[1].problems


def test_strange_texts_are_texts(tmp_path: Path) -> None:
    """No markup, no template language and no script of a row reaches a page or the search."""
    content = library(
        tmp_path / "content", rows(3, "<script>alert(1)</script> {{ 7*7 }} </script> &lt;", kind="<b>x</b>")
    )
    assert build_site(content, tmp_path / "site").written
    for path in (tmp_path / "site").rglob("*.html"):
        page = path.read_text()
        assert "<script>alert" not in page and "<b>x" not in page, path
    page = (tmp_path / "site/records/kettle/index.html").read_text()
    assert "&lt;script&gt;alert(1)&lt;/script&gt; {{ 7*7 }}" in page
    for path in (tmp_path / "site/find").iterdir():
        assert "</script" not in path.read_text()


def test_a_library_of_records_alone_needs_no_notes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What a café has before its first note is its history."""
    from generator.cli import main

    content = library(tmp_path / "content", rows(3))
    shutil.rmtree(content / "notes")
    assert main(["site", str(content), "--to", str(tmp_path / "site")]) == 0
    assert 'href="records/index.html">3 records' in (tmp_path / "site/index.html").read_text()
    capsys.readouterr()
    assert main(["lookup", "stays cold", "--library", str(content)]) == 0
    told = capsys.readouterr()
    assert "netloft_2" in told.out and "notes/" not in told.err


def test_inspect_tells_of_rows_and_of_other_tables(tmp_path: Path) -> None:
    content = library(tmp_path / "content", "a,b\n1,2\n")
    problems, _ = inspect_library(content)
    assert any("missing: id, data_provider" in str(problem) for problem in problems)


def test_one_process_and_several_give_the_same(tmp_path: Path) -> None:
    from generator.build.collected import Collected
    from generator.cache import Cache

    content = library(tmp_path / "content", rows(2500))
    made = []
    for processes in (1, 2):
        collected = Collected(content, default, processes)
        (tmp_path / str(processes)).mkdir()
        collected.judge(Cache(tmp_path / str(processes)))
        made.append(collected.entries)
    assert len(made[0]) == 2500 and made[0] == made[1]


def test_the_pages_are_valid_html(built: tuple[Path, Built]) -> None:
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # html5lib's own imports are older than this Python
        import html5lib

    for path in (built[0] / "records").rglob("*.html"):
        parser = html5lib.HTMLParser()
        parser.parse(path.read_text())
        assert parser.errors == [], path


@pytest.mark.browser
@pytest.mark.parametrize("page", ["devices/kettle.html", "records/kettle/index.html"])
def test_each_bar_stands_between_its_name_and_its_number(
    built: tuple[Path, Built], browser: object, page: str
) -> None:
    """Wide and on a phone: no style of another thing on the page moves or hides the small plots."""
    for width in (1200, 360):
        tab = browser.new_page(viewport={"width": width, "height": 700})  # type: ignore[attr-defined]
        tab.goto((built[0] / page).as_uri())
        boxes = tab.evaluate("""[...document.querySelectorAll('.bars tr')].map(row =>
            [row.querySelector('th'), row.querySelector('svg'), row.querySelector('.figure')].map(cell => {
              const { left, right, top, bottom } = cell.getBoundingClientRect(); return { left, right, top, bottom } }))""")
        assert boxes
        for name, bar, figure in boxes:
            assert name["right"] <= bar["left"] < bar["right"] <= figure["left"] < figure["right"] <= width
            assert name["top"] < bar["top"] < bar["bottom"] < name["bottom"]
            assert abs(figure["top"] - name["top"]) < 5
        tab.close()


@pytest.mark.browser
def test_the_pages_are_accessible(built: tuple[Path, Built], browser: object) -> None:
    """axe-core finds nothing wrong with a list of rows, the list of categories and a page with statistics."""
    from axe_playwright_python.sync_playwright import Axe

    tab = browser.new_page(bypass_csp=True)  # type: ignore[attr-defined]
    for name in ("records/index.html", "records/kettle/2.html", "devices/kettle.html"):
        tab.goto((built[0] / name).as_uri())
        found = Axe().run(tab).response["violations"]
        assert [(rule["id"], [node["html"][:200] for node in rule["nodes"][:2]]) for rule in found] == [], (
            name
        )
    tab.close()
