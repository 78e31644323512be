"""Templates that came from somebody else: they run no command, read no file, and take neither all memory nor all time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from few_notes import library_of

from generator.build.build import Built, build_site, inspect_library
from generator.pages.environment import environment
from generator.pages.theme import Theme, ThemeError
from generator.problems import HINT

ROOT = Path(__file__).resolve().parents[2]
NOTE = """---
title: Bell stays silent
date: 2026-01-10
device: {kind: door bell}
symptoms: [stays silent]
outcome: fixed
---
It was stuck.
"""


@pytest.fixture
def library(tmp_path: Path) -> Path:
    content = library_of(tmp_path, bell=NOTE)
    (content / "theme" / "templates").mkdir(parents=True)
    return content


def build_with(library: Path, template: str, name: str = "404.html") -> Built:
    (library / "theme" / "templates" / name).write_text(template)
    return build_site(library, library.parent / "site")


def rendered(library: Path, template: str) -> str:
    """What becomes of a template alone: its text, or the problem."""
    (library / "theme" / "templates" / "404.html").write_text(template)
    theme = Theme(library)
    try:
        return "\n".join(map(str, theme.check())) or theme.render(
            "404.html", library={"name": "Corner bench"}, notes=1
        )
    except ThemeError as error:
        return str(error.problem)


def told(built: Built) -> str:
    assert not built.written
    return "\n".join(map(str, built.problems))


# Ways from a template to the program that Jinja2's own documents and its security notices name.
ESCAPES = [
    "{{ cycler.__init__.__globals__.os.popen('touch {mark}').read() }}",
    "{{ lipsum.__globals__['os'].popen('touch {mark}').read() }}",
    "{{ self.__init__.__globals__.__builtins__.__import__('os').popen('touch {mark}') }}",
    "{{ ''.__class__.__mro__[1].__subclasses__() }}{{ 1/0 }}",
    "{{ ''['__class__'] }}{{ 1/0 }}",
    "{{ (''|attr('__class__')).__mro__ }}{{ 1/0 }}",
    "{{ '{0.__class__.__init__.__globals__}'.format(range) }}",
    "{{ ('{0.__class__}'|format(1)) }}{{ 1/0 }}",
    "{{ _.__globals__ }}{{ 1/0 }}",
    "{{ range.__self__.loader.__init__.__globals__ }}{{ 1/0 }}",
    "{% set x = namespace() %}{{ x.__init__.__globals__ }}{{ 1/0 }}",
    "{{ dict.__base__.__subclasses__() }}{{ 1/0 }}",
    "{{ ['{0.__class__}']|map('format', 1)|list }}",
    "{{ [1]|map(attribute='__class__')|list }}{{ 1/0 }}",
    "{{ [1]|groupby('__class__') }}{{ 1/0 }}",
    "{% include '/etc/passwd' %}",
    "{% include '../../../../../etc/passwd' %}",
    "{% include '../../library.yaml' %}",
    "{{ library.update({'name': 'x'}) }}",
    "{{ library.clear() }}",
]


@pytest.mark.parametrize("template", ESCAPES)
def test_no_way_out(library: Path, tmp_path: Path, template: str) -> None:
    """Each is refused, with the file and line of the template; no command has run."""
    mark = tmp_path / "mark"
    said = rendered(library, "\n" + template.replace("{mark}", str(mark)))
    assert not mark.exists()
    assert "theme/templates/404.html:2:1: " in said, said
    assert "root:" not in said


def test_no_way_out_of_a_build(library: Path, tmp_path: Path) -> None:
    """The whole way: nothing is written, and the template is named."""
    said = told(build_with(library, ESCAPES[0].replace("{mark}", str(tmp_path / "mark"))))
    assert "theme/templates/404.html:1:1: access to attribute '__init__'" in said
    assert not (tmp_path / "mark").exists() and not (tmp_path / "site").exists()


# Short texts that ask for much: time, memory, or depth.
GREED = [
    "{% for i in range(10**9) %}x{% endfor %}",
    "{% for i in range(99999) %}{% for j in range(99999) %}{% endfor %}{% endfor %}",
    "{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}",
    "{% macro m(n) %}{% if n %}{{ m(n - 1) }}{{ m(n - 1) }}{% endif %}{% endmacro %}{{ m(60) }}",
    "{% include '404.html' %}",
    "{% extends '404.html' %}",
    "{% import '404.html' as again %}{{ again }}",
    "{{ 'x' * 10**10 }}",
    "{{ [0] * 10**10 }}",
    "{{ 9**9**9 }}",
    "{{ (9**99)**99 }}",
    "{% set ns = namespace(x=9) %}{% for i in range(99) %}{% set ns.x = ns.x * ns.x %}{% endfor %}",
    "{% set ns = namespace(x='xxxx') %}{% for i in range(99) %}{% set ns.x = ns.x ~ ns.x %}{% endfor %}",
    "{% set ns = namespace(x='xxxx') %}{% for i in range(99) %}{% set ns.x = ns.x + ns.x %}{% endfor %}",
    "{% set ns = namespace(x=[1]) %}{% for i in range(99) %}{% set ns.x = ns.x + ns.x %}{% endfor %}",
    "{% macro m(x, n) %}{% if n %}{{ m(x ~ x, n - 1) }}{% else %}{{ x }}{% endif %}{% endmacro %}{{ m('xx', 90) }}",
    "{% set a %}xxxxxxxxxx{% endset %}"
    + "".join("{% set a %}" + "{{ a }}" * 10 + "{% endset %}" for _ in range(12)),
    "{{ '%1000000000d' % 1 }}",
    "{{ '%1000000000d'|format(1) }}",
    "{{ '{:1000000000}'.format(1) }}",
    "{{ 'x'.center(10**10) }}",
    "{{ 'x'|center(10**10) }}",
    "{{ 'x'.zfill(10**10) }}",
    "{{ [1]|batch(10**10, 1)|list }}",
    "{{ [1]|slice(10**10)|list }}",
    "{{ ('x' * 99999)|replace('x', 'y' * 99999) }}",
    "{{ (['y' * 99999] * 99999)|join('x') }}",
    "{{ ('y' * 99999).join('x' * 99999) }}",
    "{{ 'x'|indent(10**10, true) }}",
    "{{ {'a': 1}|tojson(indent=10**10) }}",
    "{{ lipsum(10**9) }}",
    "{{ range(10**18)|list }}",
    "{{ range(10**18)|sum }}",
    "{{ 'a\tb'.expandtabs(10**10) }}",
    "{{ " + "(" * 5000 + "1" + ")" * 5000 + " }}",
    "{{ " + "-" * 20000 + "1 }}",
    "{% if x is defined %}" * 2000,
    "{{ 1 " + "+ 1 " * 50000 + "}}",
]


LIMITED = """
import json, resource, sys
from pathlib import Path
from generator.pages.theme import Theme, ThemeError
resource.setrlimit(resource.RLIMIT_AS, (2 << 30, 2 << 30))
library = Path(sys.argv[1])
for template in json.load(sys.stdin):
    used = resource.getrusage(resource.RUSAGE_SELF).ru_utime
    resource.setrlimit(resource.RLIMIT_CPU, (int(used) + 20, resource.getrlimit(resource.RLIMIT_CPU)[1]))
    (library / "theme" / "templates" / "404.html").write_text(template)
    theme = Theme(library)
    try:
        said = "; ".join(map(str, theme.check())) or theme.render("404.html", library={}, notes=1)[:100]
    except ThemeError as error:
        said = str(error.problem)
    print(json.dumps(said), flush=True)
"""


@pytest.mark.skipif(os.name != "posix", reason="limits as POSIX has them")
def test_no_template_takes_all(library: Path) -> None:
    """In 2 GiB of memory and 20 s of processor time each ends with the template's name and line."""
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(library)],
        env={**os.environ, "PYTHONPATH": str(ROOT)}, input=json.dumps([f"\n{text}" for text in GREED]),
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    said = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(said) == len(GREED), f"ended at {GREED[len(said)]}: {done.stderr[-500:]}"
    assert [text for text, line in zip(GREED, said, strict=True) if "templates/404.html:" not in line] == []


# Mistakes

MISTAKES = [
    ("<p>\n{% if notes %}\n{{ nowhere.title }}{% endif %}", "404.html:3:1: 'nowhere' is undefined"),
    ("{% extends 'base.html' %}\n{% blok main %}", "404.html:2:1: Encountered unknown tag 'blok'"),
    ("<p>\n{{ library.name", "404.html:2:1: "),
    ("\n\n{{ notes + 'x' }}", "404.html:3:1: "),
    ("{{ library.name|uper }}", "404.html:1:1: No filter named 'uper'"),
    ("{% extends 'bas.html' %}", "404.html:1:1: there is no template bas.html; did you mean base.html?"),
    ("\n{% include 'note-head.html' %}", "404.html:2:1: there is no template note-head.html"),
    ("{{ 1 / 0 }}", "404.html:1:1: "),
]


@pytest.mark.parametrize(("template", "said"), MISTAKES)
def test_a_mistake_is_told_with_file_and_line(library: Path, template: str, said: str) -> None:
    assert said in rendered(library, template)


def test_every_mistake_of_writing_is_told_at_once(library: Path) -> None:
    (library / "theme" / "templates" / "safety.html").write_text("{% if %}")
    (library / "theme" / "templates" / "about.html").write_bytes(b"caf\xe9")
    said = told(build_with(library, "{{ }"))
    assert all(f"templates/{name}:1:" in said for name in ("404.html", "safety.html", "about.html")), said


def test_a_mistake_in_the_note_template_from_another_process(library: Path) -> None:
    """With so many notes that several processes make the pages."""
    for number in range(20):
        (library / "notes" / f"n{number}.md").write_text(NOTE)
    own = "{% extends 'base.html' %}{% block main %}\n{{ note.nowhere }}{% endblock %}"
    (library / "theme" / "templates" / "note.html").write_text(own)
    built = build_site(library, library.parent / "site", processes=2)
    assert "note.html:2:1: 'dict object' has no attribute 'nowhere'" in told(built)


def test_inspect_runs_nothing_of_a_theme(library: Path) -> None:
    """Whoever looks at what somebody else wrote gets what is wrong with the notes, and no template of theirs is even read."""
    for name in ("404.html", "_sheet.html", "note.html", "base.html"):
        (library / "theme" / "templates" / name).write_text("{{ 1 / 0 }}{% nonsense")
    problems, notes = inspect_library(library)
    assert notes == 1 and [problem for problem in problems if problem.severity != HINT] == []


# What a template may do is what it needs


def test_what_templates_need_works(library: Path) -> None:
    template = (
        "{% set ns = namespace(n=0) %}{% for k, v in {'b': 2, 'a': 1}.items()|sort %}{% set ns.n = ns.n + v %}"
        "{{ loop.index }}{{ k }}{{ loop.last }};{% endfor %}{{ ns.n }} {{ 'a' ~ 1 ~ library.name|upper }} "
        "{{ range(3)|join(',') }} {{ 'x y'.split(' ')|length }} {{ ['<b>', 'c']|join('-') }} {{ 2 * 3 + 2 ** 5 % 7 }}"
        "{% for i in [] %}{% else %} none{% endfor %} {{ [3, 1, 2]|sort|first }} {{ 'a-b'|replace('-', '+') }}"
    )
    assert build_with(library, template).written
    made = (library.parent / "site" / "404.html").read_text("utf-8")
    assert made == "1aFalse;2bTrue;3 a1CORNER BENCH 0,1,2 2 &lt;b&gt;-c 10 none 1 a+b"


def test_bounds_are_counted_by_the_page(library: Path) -> None:
    """The steps of one page are not held against the next."""
    (library / "theme" / "templates" / "404.html").write_text(
        "{% for i in range(90000) %}{% endfor %}{{ 'x' * 90000 }}"
    )
    theme = Theme(library)
    pages = {theme.render("404.html") for _ in range(20)}
    assert pages == {"x" * 90000}


def test_the_templates_of_the_package_are_sound() -> None:
    """Each of them compiles in the sandbox; the theme of the package has nothing of a stranger's in it."""
    theme = Theme()
    assert theme.check() == [] and theme.own == frozenset()
    for name in theme.templates:
        theme.environment.get_template(name)
    with pytest.raises(Exception) as raised:  # noqa: PT011 - any, but not as a problem of the library's
        theme.render("note.html")
    assert not isinstance(raised.value, ThemeError)
    assert environment is not None
