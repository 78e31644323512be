"""The theme: templates and static files, with a library's own folder before those of the package."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from generator import language

OWN = "theme"  # folder in the content with templates/ and static/ that come before the theme's
LOGOS = (
    "logo.svg",
    "logo.png",
)  # in its static/: shown beside the library's name, the first of them that is there
OWN_STYLE = "own.css"  # in its static/: loaded after all other style sheets


def theme_folder(name: str = "bench") -> Path:
    """Where a theme lies: in the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    for place in (package / "themes" / name, package.parent / "themes" / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"the theme {name} is not installed with benchlore")


class Theme:
    """Templates and static files of a library."""

    def __init__(self, content: Path) -> None:
        base, own = theme_folder(), content / OWN
        self.folders = [folder for folder in (own, base) if folder.is_dir()]
        self._environment: Any = None
        self.hooks = _hooks(own / "static")

    def render(self, template: str, **context: Any) -> str:
        """A page or a piece of one. Everything in it is escaped unless it is marked as markup."""
        return str(self.environment.get_template(template).render(**context))

    @property
    def environment(self) -> Any:
        """Jinja2 with the theme's folders, made when it is first needed."""
        if self._environment is None:
            self._environment = _environment(
                tuple(folder / "templates" for folder in self.folders), language.translations()
            )
        return self._environment

    def static_files(self) -> Iterator[tuple[str, Path]]:
        """(name, file) of every static file; a library's own file stands in for the theme's of the same name."""
        found: dict[str, Path] = {}
        for folder in reversed(self.folders):
            for path in sorted((folder / "static").rglob("*")):
                if path.is_file() and not path.is_symlink():
                    found[path.relative_to(folder / "static").as_posix()] = path
        yield from sorted(found.items())

    @property
    def key(self) -> str:
        """Changes with any file of the theme."""
        digest = hashlib.sha256()
        for folder in self.folders:
            for path in sorted(folder.rglob("*")):
                if path.is_file() and not path.is_symlink():
                    digest.update(
                        path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes() + b"\0"
                    )
        return digest.hexdigest()


def _hooks(static: Path) -> dict[str, str]:
    """The files that a library may add without touching a template: its logo, and a style sheet loaded last."""
    found = {
        name: name
        for name in (*LOGOS, OWN_STYLE)
        if (static / name).is_file() and not (static / name).is_symlink()
    }
    return {"logo": next((name for name in LOGOS if name in found), ""), "style": found.get(OWN_STYLE, "")}


@lru_cache(maxsize=4)
def _environment(folders: tuple[Path, ...], translations: Any) -> Any:
    from generator.pages.environment import environment

    return environment(folders, translations)
