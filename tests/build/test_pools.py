"""Several libraries in one site: apart in their addresses, together in the search; broken or hostile ones harm nothing."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest

from generator.build.build import Built, build_site
from generator.cli import main

NOTE = """---
title: {title}
date: {date}
device: {{kind: kettle, category: Kettle}}
symptoms: [stays cold]
outcome: fixed
faults: [{{part: thermal fuse, failed: open}}]
fitted: [{{part: thermal fuse, with: new, cost: 2.00}}]
{more}
---
{body}
"""
POOLED = "name: Mill Street\ngroup: Mill group\ncountry: GBR\ncurrency: GBP\nlanguage: de\nlicence: CC BY-NC-SA 4.0\n"


def note(title: str = "Kettle", date: str = "2026-03-14", more: str = "", body: str = "Words.") -> str:
    return NOTE.format(title=title, date=date, more=more, body=body)


def library(folder: Path, settings: str, **notes: str) -> Path:
    (folder / "notes").mkdir(parents=True)
    (folder / "library.yaml").write_text(settings)
    for slug, text in notes.items():
        (folder / "notes" / f"{slug}.md").write_text(text)
    return folder


def own(folder: Path, pools: str = "  - {from: ../mill, as: mill}\n", **notes: str) -> Path:
    settings = f"name: Net Loft\ncurrency: EUR\nlicence: CC BY-SA 4.0\npool:\n{pools}"
    return library(folder, settings, **(notes or {"kettle": note()}))


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Built]:
    """Two libraries with one note of the same name; the pooled one has a broken note, a theme and a thesaurus of its own."""
    place = tmp_path_factory.mktemp("pools")
    mill = library(
        place / "mill", POOLED, kettle=note("Wasserkocher", body="See [the other](toaster.md)."), toaster=note("Toaster"),
        broken=note(date="yesterday"),
    )  # fmt: skip
    (mill / "theme" / "static").mkdir(parents=True)
    (mill / "theme" / "static" / "own.css").write_text("body { color: red }")
    (mill / "symptoms.yaml").write_text("nonsense: [")
    built = build_site(own(place / "loft"), place / "site")
    assert built.written, built.problems
    return place / "site", built


def test_names_that_collide_live_apart(built: tuple[Path, Built]) -> None:
    assert "<h1>Kettle</h1>" in (built[0] / "notes/kettle/index.html").read_text()
    assert "<h1>Wasserkocher</h1>" in (built[0] / "notes/mill/kettle/index.html").read_text()


def test_origin_and_licence_are_shown_and_told_to_machines(built: tuple[Path, Built]) -> None:
    page = (built[0] / "notes/mill/kettle/index.html").read_text()
    assert "Mill Street, Mill group (GBR) · Licence: CC BY-NC-SA 4.0" in page
    assert 'lang="de"' in page and "2.00 GBP" in page and "EUR" not in page
    data = json.loads((built[0] / "notes/mill/kettle/note.json").read_text())
    assert data["licence"] == "CC BY-NC-SA 4.0" and data["language"] == "de" and data["slug"] == "mill/kettle"
    assert data["origin"] == {"as": "mill", "name": "Mill Street", "group": "Mill group", "country": "GBR"}
    ours = json.loads((built[0] / "notes/kettle/note.json").read_text())
    assert ours["licence"] == "CC BY-SA 4.0" and ours["origin"] is None
    assert "CC BY-NC-SA" in re.findall(r"ld\+json\">(.*?)</script>", page)[0]


def test_every_link_of_every_page_leads_somewhere(built: tuple[Path, Built]) -> None:
    for path in built[0].rglob("*.html"):
        for link in re.findall(r'(?:href|src)="([^"#]+)', path.read_text()):
            if not urlsplit(link).scheme:
                assert (path.parent / unquote(urlsplit(link).path)).exists(), (path, link)
    assert 'href="../toaster/index.html"' in (built[0] / "notes/mill/kettle/index.html").read_text()


def test_notes_of_one_device_and_cause_are_near_each_other(built: tuple[Path, Built]) -> None:
    page = (built[0] / "notes/kettle/index.html").read_text()
    assert 'href="../../notes/mill/kettle/index.html"' in page


def test_groups_and_the_search_are_over_all(built: tuple[Path, Built]) -> None:
    page = (built[0] / "devices/kettle.html").read_text()
    assert "notes/kettle/" in page and "notes/mill/kettle/" in page and "Mill Street" in page
    facets = (built[0] / "find/facets.js").read_text()
    assert '"Mill Street","Net Loft"' in facets  # a choice of one café
    assert "notes/mill/kettle/index.html" in (built[0] / "find/c0.js").read_text()


def test_no_percentage_of_fewer_than_five_on_the_page_of_a_device_or_part(built: tuple[Path, Built]) -> None:
    """Three notes of one cause are three, not 100 %."""
    for name in ("devices/kettle.html", "parts/thermal-fuse.html"):
        page = (built[0] / name).read_text()
        assert "over 3 of 3 notes" in page and " %" not in page and "<meter" not in page


def test_a_broken_note_of_others_is_left_out_and_told(built: tuple[Path, Built]) -> None:
    told = [str(problem) for problem in built[1].problems if "broken.md" in problem.file]
    assert len(told) == 1 and "warning: mill: this note is left out: date: yesterday is not a date" in told[0]
    assert not (built[0] / "notes/mill/broken").exists() and built[1].notes == 3


def test_theme_and_thesaurus_of_others_are_not_used(built: tuple[Path, Built]) -> None:
    assert not (built[0] / "static/own.css").exists()
    assert not any("symptoms.yaml" in problem.file for problem in built[1].problems)


def test_licences_that_do_not_go_together_are_told_at_the_line(built: tuple[Path, Built]) -> None:
    told = [str(problem) for problem in built[1].problems if "library.yaml" in problem.file]
    assert len(told) == 1 and "library.yaml:5:5: warning: mill: its licence CC BY-NC-SA 4.0" in told[0]


def test_licences_of_two_pools_that_do_not_go_together_are_told_too(tmp_path: Path) -> None:
    """Also where the library that pools them states none."""
    for name, licence in (("mill", "CC BY-SA 4.0"), ("quay", "CC BY-NC 4.0"), ("dock", "CC BY 4.0")):
        library(tmp_path / name, f"name: {name}\nlicence: {licence}\n", kettle=note())
    content = library(
        tmp_path / "loft", "name: Net Loft\npool:\n" + "".join(f"  - {{from: ../{n}, as: {n}}}\n" for n in ("mill", "quay", "dock")), kettle=note()
    )  # fmt: skip
    told = [p.what for p in build_site(content, tmp_path / "site").problems if "licence" in p.what]
    assert told == ["quay: its licence CC BY-NC 4.0 does not go together with that of mill (CC BY-SA 4.0)"]


def test_notes_json_lists_all(built: tuple[Path, Built]) -> None:
    notes = {entry["slug"]: entry for entry in json.loads((built[0] / "notes.json").read_text())["notes"]}
    assert set(notes) == {"kettle", "mill/kettle", "mill/toaster"}
    found = notes["mill/kettle"]
    assert found["address"] == "notes/mill/kettle/index.html" and found["licence"] == "CC BY-NC-SA 4.0"
    assert found["causes"] == ["thermal fuse open"] and found["outcome"] == "fixed" and found["number"] == 101
    assert found["origin"]["name"] == "Mill Street" and found["symptoms"] == ["stays cold"]


def test_the_terminal_finds_what_the_site_finds(
    built: tuple[Path, Built], capsys: pytest.CaptureFixture[str]
) -> None:
    place = built[0].parent
    lookup = ["lookup", "stays cold", "--kind", "kettle", "--library", str(place / "loft"), "--json"]
    main(lookup)
    from_site = json.loads(capsys.readouterr().out)
    shutil.copytree(place / "loft", place / "loft2")
    lookup[5] = str(place / "loft2")
    main(lookup)
    alone = json.loads(capsys.readouterr().out)
    shutil.rmtree(place / "loft2")
    assert {hit["slug"] for hit in alone["results"]} == {"kettle", "mill/kettle", "mill/toaster"}
    assert alone["results"] == from_site["results"]


@pytest.mark.parametrize(
    "pool, said",
    [
        ("{from: ../nowhere, as: nowhere}", "nowhere: there is no folder ../nowhere; it is left out"),
        ("{from: ., as: self}", "self: . is this library itself; it is left out"),
        ("{from: ../mill, as: other}", "other: ../mill is the pool mill; it is left out"),
        ("{from: ../harbour, as: mill}", "mill: another pool has this name; it is left out"),
        ("{from: ../empty, as: empty}", "empty: no library.yaml in ../empty"),
    ],
)
def test_a_pool_that_cannot_be_had_is_told_at_its_line_and_the_rest_built(
    tmp_path: Path, pool: str, said: str
) -> None:
    library(tmp_path / "mill", POOLED, kettle=note())
    library(tmp_path / "harbour", "name: Harbour\nlicence: CC0-1.0\n", kettle=note())
    (tmp_path / "empty").mkdir()
    content = own(tmp_path / "loft", f"  - {{from: ../mill, as: mill}}\n  - {pool}\n")
    built = build_site(content, tmp_path / "site")
    assert built.written and built.notes == 2
    assert any(f"library.yaml:6:5: warning: {said}" in str(problem) for problem in built.problems)


def test_libraries_that_pool_each_other(tmp_path: Path) -> None:
    """The usual case of two cafés: each site has both, none goes round."""
    library(tmp_path / "mill", POOLED + "pool: [{from: ../loft, as: loft}]\n", kettle=note())
    content = own(tmp_path / "loft")
    built = build_site(content, tmp_path / "site")
    assert built.written and built.notes == 2
    assert any("it pools this library in turn" in str(problem) for problem in built.problems)
    other = build_site(tmp_path / "mill", tmp_path / "site2")
    assert other.written and other.notes == 2


def test_libraries_of_one_name_are_told_apart(tmp_path: Path) -> None:
    """As `writeup` begins them, all are called alike; and what else a pool has that is not used is said."""
    for name in ("mill", "quay"):
        library(tmp_path / name, "name: Net Loft\nlicence: CC0-1.0\n", kettle=note())
    (tmp_path / "quay/records").mkdir()
    pools = "  - {from: ../mill, as: mill}\n  - {from: ../quay, as: quay}\n"
    built = build_site(own(tmp_path / "loft", pools), tmp_path / "site")
    assert '"Net Loft","Net Loft (mill)","Net Loft (quay)"' in (tmp_path / "site/find/facets.js").read_text()
    told = [str(problem) for problem in built.problems if "library.yaml:" in problem.file + ":"]
    assert sum("another library here is called Net Loft too" in text for text in told) == 2
    assert sum("quay: its records/ are not read here" in text for text in told) == 1


@pytest.mark.parametrize("name", ["Mill", "../up", "mill/x", "-", "1st"])
def test_a_name_that_is_no_part_of_an_address(tmp_path: Path, name: str) -> None:
    library(tmp_path / "mill", POOLED, kettle=note())
    content = own(tmp_path / "loft", f'  - {{from: ../mill, as: "{name}"}}\n')
    built = build_site(content, tmp_path / "site")
    assert not built.written and any("is not a name for a pool" in str(problem) for problem in built.problems)


def test_links_out_of_a_pooled_library_are_not_followed(tmp_path: Path) -> None:
    library(tmp_path / "mill", POOLED, kettle=note())
    (tmp_path / "secret.md").write_text(note("Secret"))
    (tmp_path / "mill" / "notes" / "secret.md").symlink_to(tmp_path / "secret.md")
    built = build_site(own(tmp_path / "loft"), tmp_path / "site")
    assert built.written and not (tmp_path / "site/notes/mill/secret").exists()


def test_own_broken_notes_are_left_out_where_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    content = library(tmp_path / "loft", "name: Net Loft\n", kettle=note(), broken=note(date="yesterday"))
    site = ["site", str(content), "--to", str(tmp_path / "site")]
    assert main(site) == 1 and not (tmp_path / "site").exists()
    assert main([*site, "--skip-broken"]) == 0
    assert "broken.md:3:7: warning: this note is left out: date: yesterday" in capsys.readouterr().err
    assert [path.name for path in (tmp_path / "site/notes").iterdir()] == ["kettle"]


def test_one_changed_note_of_a_pool_makes_only_its_own_pages_anew(tmp_path: Path) -> None:
    library(tmp_path / "mill", POOLED, kettle=note(), toaster=note("Toaster", body="Old."))
    content = own(tmp_path / "loft")
    assert build_site(content, tmp_path / "site").written
    before = {path: path.stat().st_ino for path in (tmp_path / "site/notes").rglob("index.html")}
    (tmp_path / "mill/notes/toaster.md").write_text(note("Toaster", body="New."))
    assert build_site(content, tmp_path / "site").written
    made = {path.parent.name for path in before if path.stat().st_ino != before[path]}
    assert made == {"toaster"} and "New." in (tmp_path / "site/notes/mill/toaster/index.html").read_text()


def test_a_library_that_only_pools_others_has_no_notes_of_its_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    library(tmp_path / "mill", POOLED, kettle=note())
    everybody = tmp_path / "all"
    everybody.mkdir()
    (everybody / "library.yaml").write_text("name: All\npool: [{from: ../mill, as: mill}]\n")
    assert main(["site", str(everybody), "--to", str(tmp_path / "site")]) == 0
    assert (tmp_path / "site/notes/mill/kettle/index.html").is_file()
    assert main(["lookup", "stays cold", "--library", str(everybody)]) == 0
    assert "[mill/kettle]" in capsys.readouterr().out
    shutil.rmtree(tmp_path / "mill/notes")
    assert main(["site", str(everybody), "--to", str(tmp_path / "site")]) == 1
    assert "there are no notes here, nor in what it pools" in capsys.readouterr().err
    assert (tmp_path / "site/notes/mill/kettle/index.html").is_file()


def test_numbers_stay(tmp_path: Path) -> None:
    """The stated one stays where it is, whatever comes before it; two of one number are told."""
    content = library(
        tmp_path / "loft", "name: Net Loft\n", late=note(more="number: 207"), early=note(date="2020-01-01")
    )
    built = build_site(content, tmp_path / "site")
    numbers = {
        entry["slug"]: entry["number"]
        for entry in json.loads((tmp_path / "site/notes.json").read_text())["notes"]
    }
    assert numbers == {"late": 207, "early": 208}
    told = [p.hint for p in built.problems if "1 note without number:" in p.what]
    assert told == ["the next free one is 208"]
    (content / "notes/third.md").write_text(note(date="2026-05-01", more="number: 207"))
    again = build_site(content, tmp_path / "site")
    assert again.written  # a note begun as a copy of another stops nothing
    assert any(
        "third.md:9:1: warning: number: 207 is also that of late" in str(problem)
        for problem in again.problems
    )


@pytest.mark.browser
def test_any_of_twelve_cafes_can_be_chosen_and_changed_for_another(browser: Any, tmp_path: Path) -> None:
    """Each with its number of hits; a pooled note in the results leads to its page and shows its drawing."""
    names = [f"cafe{n}" for n in range(12)]
    for n, name in enumerate(names):
        notes = {f"kettle{more}": note() for more in range(2 if n else 1)}
        library(tmp_path / name, f"name: Café {n}\nlicence: CC0-1.0\n", **notes)
    content = own(tmp_path / "loft", "".join(f"  - {{from: ../{name}, as: {name}}}\n" for name in names))
    assert build_site(content, tmp_path / "site").written
    tab = browser.new_page()
    lost: list[str] = []
    tab.on("requestfailed", lambda request: lost.append(request.url))
    tab.goto((tmp_path / "site" / "index.html").as_uri())
    tab.fill("[data-find-words]", "stays cold")
    tab.click("[data-find-narrow] summary")
    choices = tab.locator('[data-find-value^="source:"]')
    tab.locator('[data-find-value="source:Café 0"]').click()
    assert tab.locator("[data-find-results] li").count() == 1
    assert {text.rsplit(" ", 1)[0]: text.rsplit(" ", 1)[1] for text in choices.all_inner_texts()} == {
        "Net Loft": "1", "Café 0": "1", **{f"Café {n}": "2" for n in range(1, 12)},
    }  # fmt: skip
    tab.locator('[data-find-value="source:Café 11"]').click()
    assert tab.locator("[data-find-results] li").count() == 2
    assert all(
        "notes/cafe11/" in link
        for link in tab.locator("[data-find-results] img").evaluate_all("i => i.map(one => one.src)")
    )
    tab.locator("[data-find-results] a").first.click()
    assert "/notes/cafe11/kettle" in tab.url and lost == []
    tab.close()
