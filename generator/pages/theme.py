"""The theme: templates and static files, with a library's own folder before those of the package.

All of it is read once, step by step and within limits, for a library's own folder may have come from somebody else: a
link in it could publish a file of the user's. What a page is made from is thus what its key was made from, whatever is
saved in the meantime.
"""

from __future__ import annotations

import hashlib
import os
import re
from pathlib import Path
from typing import Any

from generator import language
from generator.files import Folder, Unreadable, reason
from generator.notes.text import UnusableFile, decode, shown_path
from generator.problems import Problem, did_you_mean

OWN = "theme"  # folder in the content with templates/ and static/ that come before the theme's
# in its static/: shown beside the library's name, the first of them that is there
LOGOS = ("logo.svg", "logo.png")
OWN_STYLE = "own.css"  # in its static/: loaded after all other style sheets
PARTS = ("templates", "static")
MOST_FILES = 1_000
LARGEST_TEMPLATE = 1024 * 1024
LARGEST_FILE = 16 * 1024 * 1024
LARGEST_THEME = 64 * 1024 * 1024


class ThemeError(Exception):
    """A template that cannot be used. problem says where and why."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem)
        self.problem = problem


def theme_folder() -> Path:
    """Where the theme lies: in the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    for place in (package / "themes" / "bench", package.parent / "themes" / "bench"):
        if place.is_dir():
            return place
    raise FileNotFoundError("the theme is not installed with benchlore")


class Theme:
    """Templates and static files of a library; of the package alone where no content is given.

    problems: what is wrong with the library's own files; those are left out.
    """

    def __init__(self, content: Path | None = None) -> None:
        self.problems: list[Problem] = []
        base = theme_folder()
        files = _files_below(base, base, [])
        own = {} if content is None else _files_below(content / OWN, content / OWN, self.problems)
        shown = {name: f"{base.name}/{name}" for name in files}
        shown |= {name: shown_path(content / OWN / name) for name in own if content is not None}
        files |= own
        self.templates: dict[str, tuple[str, str]] = {}
        for name in sorted(files):
            if name.startswith("templates/"):
                self._add_template(name, files[name], shown[name])
        self.static = {
            name.removeprefix("static/"): data if name in own else _for_visitors(name, data)
            for name, data in sorted(files.items())
            if name.startswith("static/")
        }
        _join_scripts(self.static)
        self.own = frozenset(shown[name] for name in own)
        own_static = {name.removeprefix("static/") for name in own}
        self.hooks = {
            "logo": next((name for name in LOGOS if name in own_static), ""),
            "style": OWN_STYLE if OWN_STYLE in own_static else "",
        }
        made_with = {name: data for name, data in files.items() if name.startswith("templates/")}
        self.key = _digest({**made_with, "hooks": repr(self.hooks).encode()}, own)  # of all pages
        self.static_key = _digest(self.static)

    def _add_template(self, name: str, data: bytes, shown: str) -> None:
        try:
            if len(data) > LARGEST_TEMPLATE:
                raise UnusableFile("larger than 1 MiB")
            self.templates[name.removeprefix("templates/")] = decode(data), shown
        except UnusableFile as error:
            self.problems.append(error.problem(shown))

    def check(self) -> list[Problem]:
        """What is wrong with the library's own templates as they are written, before a page is made with one."""
        problems = list(self.problems)
        for name, (_text, file) in self.templates.items():
            if file in self.own:
                try:
                    self._compiled(name)
                except ThemeError as error:
                    problems.append(error.problem)
        return problems

    def render(self, template: str, **context: Any) -> str:
        """A page or a piece of one. Everything in it is escaped unless it is marked as markup. Raises ThemeError."""
        made = self._compiled(template)
        environment = self.environment
        environment.begin()
        try:
            return str(made.render(**context))
        except Exception as error:  # noqa: BLE001 - a template may fail in any way
            problem = self._problem(error)
            if problem is None:
                raise
            raise ThemeError(problem) from None

    def around(self, template: str) -> tuple[str, str]:
        """The markup before and behind what stands in a template as `inside`."""
        before, _between, behind = self.render(template, inside="\0").partition("\0")
        return before, behind

    @property
    def environment(self) -> Any:
        """Jinja2 with the theme's templates, made when it is first needed."""
        return _environment(self.key, self, language.code())

    def _compiled(self, template: str) -> Any:
        try:
            return self.environment.get_template(template)
        except Exception as error:  # noqa: BLE001 - what is nested too deep trips Python's own compiler
            problem = self._problem(error, self.templates.get(template, ("", ""))[1])
            if problem is None:
                raise
            raise ThemeError(problem) from None

    def _problem(self, error: Exception, file: str = "") -> Problem | None:
        """A mistake in a library's own template, with its place; None where none of those had to do with it."""
        from jinja2 import TemplateSyntaxError

        if isinstance(error, TemplateSyntaxError) and error.filename in self.own:
            return Problem(error.filename or "", error.lineno, 1, self._words(error))
        line, trace = 0, error.__traceback__
        while trace is not None:
            if trace.tb_frame.f_code.co_filename in self.own:
                file, line = trace.tb_frame.f_code.co_filename, trace.tb_lineno
            trace = trace.tb_next
        return Problem(file, line, 1, self._words(error)) if file in self.own else None

    def _words(self, error: Exception) -> str:
        from jinja2 import TemplateNotFound

        if isinstance(error, RecursionError):
            return "calls or includes itself without end, or is nested too deep"
        if isinstance(error, TemplateNotFound):
            return f"there is no template {error.message}; {did_you_mean(str(error.message), self.templates)}"
        return " ".join(f"{error or type(error).__name__}".split())

    def __getstate__(self) -> dict[str, Any]:
        return {**self.__dict__, "static": {}}  # the processes that make pages have no use for these


def _files_below(folder: Path, shown: Path, problems: list[Problem]) -> dict[str, bytes]:
    """The files of a theme by their paths, templates/ and static/ only."""
    found: dict[str, bytes] = {}
    if not os.path.lexists(folder):
        return found

    def wrong(path: str, what: str, hint: str = "") -> None:
        problems.append(Problem.of_file(shown_path(shown / path), what, hint))

    try:
        with Folder(folder) as opened:
            for part in PARTS:
                if (folder / part).is_symlink() or (folder / part).exists():
                    _read_part(opened, part, found, wrong)
    except OSError as error:
        link = folder.is_symlink()
        wrong("", "a symbolic link; links are not followed" if link else f"cannot be read: {reason(error)}")
    return found


def _read_part(opened: Folder, part: str, found: dict[str, bytes], wrong: Any) -> None:
    try:
        inside = sorted(opened.walk(part))
    except OSError as error:
        link = (Path(opened.path) / part).is_symlink()
        wrong(part, "a symbolic link; links are not followed" if link else f"cannot be read: {reason(error)}")
        return
    for path, kind in inside:
        name = path.rpartition("/")[2]
        if kind == "folder" or name.startswith((".", "#")) or name.endswith("~"):
            continue
        if len(found) >= MOST_FILES:
            wrong(part, f"more than {MOST_FILES:,} files")
            return
        try:
            found[path] = opened.read(path, LARGEST_FILE)
        except Unreadable as error:
            wrong(path, error.what, error.hint)
        if sum(map(len, found.values())) > LARGEST_THEME:
            del found[path]
            wrong(part, f"more than {LARGEST_THEME >> 20} MiB together")
            return


def _join_scripts(static: dict[str, bytes]) -> None:
    """Scripts that share a folder are published as one of its name, in their order: they weigh less, and load at once.
    A script that has the name already, a library's own, stands in for them."""
    given = frozenset(static)
    for name in sorted(given):
        folder, _, inside = name.partition("/")
        if inside.endswith(".js"):
            part, whole = static.pop(name), f"{folder}.js"
            if whole not in given:
                static[whole] = static.get(whole, b"") + part


_COMMENT = re.compile(rb"^[ \t]*/\*.*?\*/[ \t]*\n|^[ \t]+", re.DOTALL | re.MULTILINE)
_BLANK = re.compile(rb"/\*.*?\*/|\s*([{};])\s*|(?<=[a-z])(:|,) (?=[^{}]*[;}])", re.DOTALL)


def _for_visitors(name: str, data: bytes) -> bytes:
    """A style sheet or script of the package without what only its developers read: comments and indentation, in a style
    sheet also the blanks around what divides it. None of ours has a text of several lines or with such signs in it."""
    if name.endswith(".css"):
        return _BLANK.sub(rb"\1\2", data)
    return _COMMENT.sub(b"", data) if name.endswith(".js") else data


def _digest(files: dict[str, bytes], own: dict[str, bytes] | None = None) -> str:
    digest = hashlib.sha256()
    for name, data in sorted(files.items()):
        mark = "own" if own and name in own else ""
        digest.update(f"{name}\0{mark}\0{len(data)}\0".encode("utf-8", "surrogateescape") + data)
    return digest.hexdigest()


_made: dict[tuple[str, str, frozenset[str]], Any] = {}


def _environment(key: str, theme: Theme, code: str) -> Any:
    """One environment to a theme and a language; `live` builds again and again, and need not compile each time."""
    found = _made.get((key, code, theme.own))
    if found is None:
        from generator.pages.environment import environment

        if len(_made) >= 4:
            _made.clear()
        found = environment(theme.templates, theme.own, language.translations())
        _made[key, code, theme.own] = found
    return found
