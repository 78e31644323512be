"""A library's own look: one template, a colour, a logo, from a folder beside its notes, without a copy of the theme."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

import pytest
from few_notes import library_of
from PIL import Image

from generator.build.build import build_site

NOTE = """---
title: Bell stays silent
date: 2026-01-10
device: {kind: door bell}
symptoms: [stays silent]
outcome: fixed
faults: [{part: hammer, failed: stuck}]
---
It was stuck.
"""


@pytest.fixture
def library(tmp_path: Path) -> Path:
    content = library_of(tmp_path, bell=NOTE)
    (content / "theme" / "static").mkdir(parents=True)
    (content / "theme" / "templates").mkdir()
    return content


def built(content: Path) -> Path:
    site = content.parent / "site"
    assert build_site(content, site).written
    return site


def test_one_template_of_its_own(library: Path) -> None:
    own = '{% extends "base.html" %}{% block main %}<h1>Gone fishing</h1>{% endblock %}'
    (library / "theme" / "templates" / "404.html").write_text(own)
    site = built(library)
    assert "Gone fishing" in (site / "404.html").read_text()
    assert "Corner bench" in (site / "404.html").read_text(), "it still extends the theme's own frame"
    assert "Bell stays silent" in (site / "notes" / "bell" / "index.html").read_text()


def test_a_static_file_of_its_own_stands_in_for_the_themes(library: Path) -> None:
    """Also for a script that the theme has in pieces, a folder of its name."""
    own = ("print.css", "find-words.js")
    for name in own:
        (library / "theme" / "static" / name).write_text("/* ours */")
    site = built(library)
    assert [(site / "static" / name).read_text() for name in own] == ["/* ours */"] * 2
    assert all((site / "static" / name).stat().st_size > 1000 for name in ("bench.css", "find-score.js"))


def test_without_own_files_nothing_is_asked_for(library: Path) -> None:
    page = (built(library) / "index.html").read_text()
    assert "own.css" not in page and "logo" not in page


@pytest.mark.parametrize("name", ["logo.png", "logo.svg"])
def test_the_logo_stands_beside_the_name(library: Path, name: str, browser: Any) -> None:
    logo = library / "theme" / "static" / name
    if name.endswith("png"):
        Image.new("RGB", (40, 40), "red").save(logo)
    else:
        logo.write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="40"><rect width="40" height="40" fill="red"/></svg>'
        )
    site = built(library)
    tab = browser.new_page()
    for page in ("index.html", "notes/bell/index.html"):
        tab.goto(f"{site.as_uri()}/{page}")
        image = tab.locator(".site-name img")
        assert image.evaluate("i => i.complete && i.naturalWidth") == 40
        assert image.get_attribute("alt") == "", "the name stands beside it"
    tab.close()


def test_a_colour_of_its_own_wins_in_light_and_dark(library: Path, browser: Any) -> None:
    (library / "theme" / "static" / "own.css").write_text(":root { --ticket: rgb(1, 2, 3); }")
    site = built(library)
    for scheme in ("light", "dark"):
        context = browser.new_context(color_scheme=scheme)
        tab = context.new_page()
        tab.goto(f"{site.as_uri()}/notes/bell/index.html")
        assert (
            tab.evaluate("getComputedStyle(document.querySelector('.ticket')).backgroundColor")
            == "rgb(1, 2, 3)"
        )
        context.close()


def test_a_change_of_the_look_rebuilds_the_pages(library: Path) -> None:
    site = built(library)
    assert "own.css" not in (site / "about.html").read_text()
    (library / "theme" / "static" / "own.css").write_text(":root { --ink: navy; }")
    assert "own.css" in (built(library) / "about.html").read_text()


PLACES = ["theme", "theme/static", "theme/templates", "theme/static/fonts", "theme/static/logo.svg", "theme/static/own.css",
          "theme/templates/404.html", "theme/templates/secret.html", "symptoms.yaml", "library.yaml"]  # fmt: skip


@pytest.mark.skipif(os.name != "posix", reason="links as POSIX has them")
@pytest.mark.parametrize("place", PLACES)
def test_a_link_publishes_nothing(library: Path, tmp_path: Path, place: str) -> None:
    """Whichever step of a theme, or whichever file beside the notes, leads out of the folder: it is refused by name."""
    secret = tmp_path / "secret"
    (secret / "static").mkdir(parents=True)
    (secret / "templates").mkdir()
    for name in ("id_rsa", "static/id_rsa", "templates/404.html"):
        (secret / name).write_text("PRIVATE KEY")
    path = library / place
    if path.is_dir():
        shutil.rmtree(path)
    path.unlink(missing_ok=True)
    path.symlink_to(secret if "." not in path.name else secret / "id_rsa")
    (library / "notes" / "bell.md").write_text(NOTE)
    built = build_site(library, tmp_path / "site")
    assert not built.written
    told = [str(problem) for problem in built.problems]
    assert any(line.startswith(f"{path}: a symbolic link") for line in told), told
    assert not (tmp_path / "site").exists()


@pytest.mark.skipif(os.name != "posix", reason="pipes as POSIX has them")
def test_what_is_no_file_in_a_theme_hangs_nobody(library: Path, tmp_path: Path) -> None:
    """A pipe, and a file of 3 GiB with nothing in it."""
    os.mkfifo(library / "theme" / "static" / "pipe.css")
    (library / "theme" / "static" / "sparse.css").touch()
    os.truncate(library / "theme" / "static" / "sparse.css", 3 << 30)
    built = build_site(library, tmp_path / "site")
    told = "\n".join(map(str, built.problems))
    assert (
        not built.written and "pipe.css: not an ordinary file" in told and "sparse.css: the file has" in told
    )
