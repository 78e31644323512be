"""Building again: only what changed is worked out, and what comes out is what a clean build gives, to the byte."""

from __future__ import annotations

import contextlib
import gc
import os
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from generator.build import build as building
from generator.build.build import Built, build_site
from generator.cache import FILE, SORTS, cache_folder

ROOT = Path(__file__).resolve().parents[2]


def files(site: Path) -> dict[str, bytes]:
    """Every file of a site but the list of its files, which names no content."""
    return {
        p.relative_to(site).as_posix(): p.read_bytes()
        for p in sorted(site.rglob("*"))
        if p.is_file() and p.name != ".benchlore"
    }


@pytest.fixture
def library(tmp_path: Path, few: Path) -> Path:
    """A copy that may be changed."""
    return shutil.copytree(few, tmp_path / "content")


def clean(library: Path, tmp_path: Path) -> dict[str, bytes]:
    """What a build without any cache gives. The paths are the same, so that nothing else differs."""
    cache, aside = cache_folder(library), tmp_path / "aside"
    cache.rename(aside)
    target = tmp_path / "clean"
    shutil.rmtree(target, ignore_errors=True)
    assert build_site(library, target).written
    shutil.rmtree(cache)
    aside.rename(cache)
    return files(target)


CHANGES: dict[str, Any] = {
    "a note's prose": lambda c: _edit(c / "notes" / "steam-iron-trips-the-breaker.md", "\n{sole}\n", "\n{sole}\n\nMore was said.\n"),
    "a note's title": lambda c: _edit(c / "notes" / "steam-iron-trips-the-breaker.md", "title: ", "title: Old "),
    "a note's symptom": lambda c: _edit(c / "notes" / "steam-iron-trips-the-breaker.md", "symptoms:\n  - ", "symptoms:\n  - hums\n  - "),
    "a note's date": lambda c: _edit(c / "notes" / "steam-iron-trips-the-breaker.md", "date: 2026", "date: 2019"),
    "a note gone": lambda c: (c / "notes" / "work-lamp-lithium-swap.md").unlink(),
    "a note more": lambda c: shutil.copy(c / "notes" / "steam-iron-trips-the-breaker.md", c / "notes" / "another-iron.md"),
    "the settings": lambda c: _edit(c / "library.yaml", "group: ", "group: The "),
    "the mains": lambda c: _edit(c / "library.yaml", "voltage: 230 V", "voltage: 240 V"),
    "the thesaurus": lambda c: (c / "symptoms.yaml").write_text("symptoms:\n  no heat: [stays cold, clicks over and over]\n", encoding="utf-8"),
    "a template": lambda c: _own(c, "templates/about.html", (ROOT / "themes/bench/templates/about.html").read_text("utf-8").replace("{% block main %}", "{% block main %}<!-- x -->")),
    "a static file": lambda c: _own(c, "static/own.css", "h1 { color: red }"),
    "a photo": lambda c: shutil.copy(c / "notes" / "pedestal-fan-beeps" / "board-top.jpg", c / "notes" / "pedestal-fan-beeps" / "board-bottom.jpg"),
}  # fmt: skip


def _edit(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def _own(content: Path, name: str, text: str) -> None:
    path = content / "theme" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def some(of: dict[str, Any], *more_of_the_same: str) -> list[Any]:
    return [pytest.param(name, marks=[pytest.mark.slow] if name in more_of_the_same else []) for name in of]


@pytest.fixture(scope="module")
def changing(few: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a library and its site, which changes one after the other are made to."""
    place = tmp_path_factory.mktemp("changing")
    shutil.copytree(few, place / "content")
    assert build_site(place / "content", place / "site").written
    return place


@pytest.mark.parametrize("change", some(CHANGES, "a note's title", "a note's symptom", "a note's date"))
def test_a_change_gives_what_a_clean_build_gives(change: str, changing: Path, tmp_path: Path) -> None:
    """Each kind of input is changed in turn after a build; the next build is compared with one from nothing."""
    library, target = changing / "content", changing / "site"
    before = files(target)
    CHANGES[change](library)
    built = build_site(library, target)
    assert built.written, [str(p) for p in built.problems]
    after = files(target)
    assert after != before
    expected = clean(library, tmp_path)
    assert sorted(after) == sorted(expected)
    assert [name for name in expected if after[name] != expected[name]] == []


@pytest.mark.slow
def test_all_changes_of_the_whole_demonstration(content: Path, tmp_path: Path) -> None:
    """Every sort of note, sheet and page, after all changes in turn."""
    library = shutil.copytree(content, tmp_path / "content", ignore=shutil.ignore_patterns(".*"))
    for change in ("", *sorted(CHANGES, key="a note gone".__eq__)):
        CHANGES.get(change, lambda _: None)(library)
        assert build_site(library, tmp_path / "site").written
    after, expected = files(tmp_path / "site"), clean(library, tmp_path)
    assert [name for name in sorted({*after, *expected}) if after.get(name) != expected.get(name)] == []


@pytest.fixture(scope="module")
def standing(few: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, bytes], Built]:
    """A folder with a library and its site, which builds only mend; its files, and what the build said."""
    place = tmp_path_factory.mktemp("standing")
    shutil.copytree(few, place / "content")
    built = build_site(place / "content", place / "site")
    return place, files(place / "site"), built


Standing = tuple[Path, dict[str, bytes], Built]


def test_nothing_changed_works_nothing_out(standing: Standing, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second build works out no note and puts no page together, and gives the same bytes."""
    place, before, _built = standing
    from generator.build import assemble, workshop

    def never(*arguments: object, **named: object) -> None:
        raise AssertionError("worked out again")

    monkeypatch.setattr(workshop.Worker, "work", never)
    monkeypatch.setattr(assemble._Assembler, "put_together", never)
    assert build_site(place / "content", place / "site").written
    assert files(place / "site") == before


def test_a_meddled_site_is_mended(standing: Standing) -> None:
    """A page that somebody changed or deleted in the site comes back by the next build."""
    place, before, _built = standing
    library, target = place / "content", place / "site"
    page = target / "notes" / "pedestal-fan-beeps" / "index.html"
    page.write_text("nonsense", encoding="utf-8")
    (target / "about.html").unlink()
    assert build_site(library, target).written
    assert files(target) == before


DAMAGE = {
    "a bit": lambda db, sort: db.execute(f"update {sort} set data = cast(x'ff' || substr(data, 2) as blob)"),
    "the end": lambda db, sort: db.execute(f"update {sort} set data = substr(data, 1, length(data) / 2)"),
    "nothing left": lambda db, sort: db.execute(f"update {sort} set data = x''"),
    "text": lambda db, sort: db.execute(f"update {sort} set data = cast(data as text)"),
    "all but one gone": lambda db, sort: db.execute(
        f"delete from {sort} where rowid < (select max(rowid) from {sort})"
    ),
    "the first gone": lambda db, sort: db.execute(
        f"delete from {sort} where rowid = (select min(rowid) from {sort})"
    ),
    "one gone": lambda db, sort: db.execute(
        f"delete from {sort} where rowid = (select max(rowid) from {sort})"
    ),
    "every second gone": lambda db, sort: db.execute(f"delete from {sort} where rowid % 2 = 0"),
    "a file of the search gone": lambda db, sort: db.execute(
        f"delete from {sort} where rowid = (select rowid from {sort} where key like 'find/%' limit 1)"
    ),
    "a bit of the search": lambda db, sort: db.execute(
        f"update {sort} set data = cast(x'ff' || substr(data, 2) as blob) where key like 'find/m%'"
    ),
    "mixed up": lambda db, sort: db.execute(
        f"update {sort} set data = (select data from {sort} order by rowid desc limit 1), "
        f"sum = (select sum from {sort} order by rowid desc limit 1)"
    ),
    "emptied facts": lambda db, sort: db.execute(f"update {sort} set data = cast('{{}}' as blob)"),
}


@pytest.mark.parametrize(
    "damage",
    some(
        DAMAGE,
        "the end",
        "nothing left",
        "text",
        "the first gone",
        "one gone",
        "every second gone",
        "a bit of the search",
        "emptied facts",
    ),  # fmt: skip
)
def test_a_damaged_row_is_noticed(damage: str, standing: Standing) -> None:
    """Whatever row of the cache is damaged: the next build has the same bytes, and counts its pages right, be the site
    there or not."""
    place, before, first = standing
    library, target = place / "content", place / "site"
    for sort in SORTS:
        with contextlib.closing(sqlite3.connect(cache_folder(library) / FILE)) as db, db:
            if not DAMAGE[damage](db, sort).rowcount:
                continue  # this sort has no such row
        again = build_site(library, target)
        assert (again.written, again.pages, again.notes) == (True, first.pages, first.notes), sort
        assert files(target) == before, sort
        if sort in ("pieces", "facts"):
            with contextlib.closing(sqlite3.connect(cache_folder(library) / FILE)) as db, db:
                DAMAGE[damage](db, sort)
            assert build_site(library, place / "new").pages == first.pages
            assert files(place / "new") == before, sort
            shutil.rmtree(place / "new")


@pytest.mark.parametrize("damage", ["gone", "garbage", "truncated"])
def test_a_broken_cache_costs_only_time(damage: str, standing: Standing) -> None:
    """The cache deleted, overwritten with rubbish or cut off: the build is the same."""
    place, before, _built = standing
    library, target = place / "content", place / "site"
    store = cache_folder(library) / FILE
    if damage == "gone":
        shutil.rmtree(cache_folder(library))
    elif damage == "garbage":
        store.write_bytes(os.urandom(20_000))
    else:
        store.write_bytes(store.read_bytes()[:5000])
    assert build_site(library, target).written
    assert files(target) == before


def test_a_cache_beside_the_notes_is_not_read(standing: Standing) -> None:
    """Pieces that came along with a stranger's notes reach no page."""
    place, before, _built = standing
    library, target = place / "content", place / "site"
    shutil.copytree(cache_folder(library), library / ".benchlore-cache")
    with contextlib.closing(sqlite3.connect(library / ".benchlore-cache" / FILE)) as db, db:
        assert db.execute("update pieces set data = ?", (b"<script>",)).rowcount == len(
            list(library.glob("**/notes/*"))
        )
    shutil.rmtree(cache_folder(library))
    shutil.rmtree(target)
    assert build_site(library, target).written
    assert files(target) == before
    shutil.rmtree(library / ".benchlore-cache")


def test_cache_is_bounded(library: Path, tmp_path: Path) -> None:
    """After many changes the cache holds the notes of the library and no more."""
    target = tmp_path / "site"
    for number in range(2):
        _edit(
            library / "notes" / "steam-iron-trips-the-breaker.md",
            "\n{sole}\n",
            f"\n{{sole}}\n\nRound {number}.\n",
        )
        assert build_site(library, target).written
    with sqlite3.connect(cache_folder(library) / FILE) as db:
        for table in ("facts", "pieces", "entries"):
            assert db.execute(f"select count(*) from {table}").fetchone()[0] == len(
                list(library.glob("**/notes/*"))
            ), table


def test_a_rehearsal_changes_nothing(standing: Standing, monkeypatch: pytest.MonkeyPatch) -> None:
    """It does what a change does, with the same outcome."""
    place, before, _built = standing
    library, target = place / "content", place / "site"
    written: list[str] = []
    write = building.Staging.write
    monkeypatch.setattr(
        building.Staging, "write", lambda self, name, data: (written.append(name), write(self, name, data))[1]
    )
    build_site(library, target)
    assert written == []
    build_site(library, target, rehearse=True)
    assert [name for name in written if not name.startswith("static/")] == [
        f"notes/{min(path.stem for path in (library / 'notes').iterdir())}/{file}"
        for file in ("index.html", "paper.css", "icon.svg", "drawing.svg", "note.json", "device.cir")
    ]
    assert files(target) == before


def test_building_again_and_again_leaves_no_litter(library: Path, tmp_path: Path) -> None:
    """`live` builds in one process all day: what a build set to go faster is as it was before, and nothing is held for ever."""
    thresholds = gc.get_threshold()
    for number in range(2):
        CHANGES["a note's prose"](library)
        build_site(library, tmp_path / "site")
        assert (gc.get_threshold(), gc.get_freeze_count()) == (thresholds, 0), number


def test_the_search_may_follow_later(library: Path, tmp_path: Path) -> None:
    """For a page that is there sooner the old search is kept; the next build brings it up to date, as a clean one would."""
    target = tmp_path / "site"
    assert not build_site(
        library, target, search_later=True
    ).search_behind  # a first site has its search at once
    before = files(target)
    CHANGES["a note's title"](library)
    built = build_site(library, target, search_later=True)
    assert built.written and built.search_behind
    assert {n: d for n, d in files(target).items() if n.startswith("find/")} == {
        n: d for n, d in before.items() if n.startswith("find/")
    }
    assert not build_site(library, target).search_behind
    assert files(target) == clean(library, tmp_path)
