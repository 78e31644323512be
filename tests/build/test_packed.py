"""The site in one file: whole, the same bytes every time, usable from any folder."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from generator.build.packed import pack_site
from generator.cli import main


def test_it_holds_the_site_and_nothing_else(site: Path, tmp_path: Path) -> None:
    file = tmp_path / "bench.zip"
    assert pack_site(site, file) == file.stat().st_size
    with zipfile.ZipFile(file) as packed:
        assert packed.testzip() is None
        held = {name: packed.read(name) for name in packed.namelist()}
        assert {info.date_time for info in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    files = {
        path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*") if path.is_file()
    }
    files.pop(".benchlore")
    assert held == {f"bench/{name}": data for name, data in files.items()}
    assert list(held) == sorted(held)


def test_the_same_site_gives_the_same_bytes(site: Path, tmp_path: Path) -> None:
    import shutil

    copy = tmp_path / "copy"
    shutil.copytree(site, copy)  # with other times and other numbers of files
    for path in copy.rglob("*"):
        path.touch()
    (tmp_path / "one").mkdir()
    pack_site(site, tmp_path / "bench.zip")
    pack_site(copy, tmp_path / "one" / "bench.zip")
    assert (tmp_path / "bench.zip").read_bytes() == (tmp_path / "one" / "bench.zip").read_bytes()


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    content, site, file = tmp_path / "content", tmp_path / "site", tmp_path / "site.zip"
    assert main(["writeup", "kettle", "--content", str(content)]) == 0
    assert main(["site", str(content), "--to", str(site), "--zip", str(file)]) == 0
    assert zipfile.is_zipfile(file) and "in one file" in capsys.readouterr().err
    assert main(["site", str(content), "--to", str(site), "--zip", str(tmp_path / "site.tar")]) == 2
    assert main(["site", str(content), "--to", str(site), "--zip", str(site / "own.zip")]) == 2
    assert not (site / "own.zip").exists()
    capsys.readouterr()
    nowhere = tmp_path / "nowhere"
    assert main(["site", str(content), "--to", str(tmp_path / "s2"), "--zip", str(nowhere / "a.zip")]) == 2
    assert f"there is no folder {nowhere}" in capsys.readouterr().err and not (tmp_path / "s2").exists()


def test_where_it_cannot_be_written_the_old_one_stays(site: Path, tmp_path: Path) -> None:
    with pytest.raises(OSError):
        pack_site(site, tmp_path / "nowhere" / "bench.zip")
    (tmp_path / "bench.zip").write_text("old")
    with pytest.raises(OSError):
        pack_site(tmp_path / "no-site", tmp_path / "bench.zip")
    assert (tmp_path / "bench.zip").read_text() == "old" and len(list(tmp_path.iterdir())) == 1
