"""The prose of a note: what is CommonMark's stays CommonMark's, what is ours does what it says."""

from __future__ import annotations

import re
import warnings
from collections.abc import Callable
from urllib.parse import quote

import html5lib
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from generator.prose.commonmark import parser
from generator.prose.expander import Rendered
from generator.prose.markdown import LONGEST_LINE, LONGEST_PROSE, render

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # that package's own, at import
    import commonmark


class Bench:
    """A note with two blocks and three photos."""

    def value(self, block: str, value: str, form: str) -> str | None:
        if value == "absent":
            return None
        return {"": "<b>17.0 V</b>", "band": "15.3 to 18.7 V", "working": "12 V &times; <i>&radic;2</i>"}[
            form
        ]

    def sheet(self, block: str) -> str | None:
        return None if block == "empty" else f'<section class="sheet">{block}</section>\n'

    def image(self, src: str, alt: str, title: str) -> str | None:
        if src not in ("board.jpg", "two words.jpg"):
            return None
        return f"<figure>{src}<figcaption>{title}</figcaption></figure>\n"

    def names(self) -> dict[str, list[str]]:
        return {
            "supply": ["peak", "ripple", "absent"],
            "sensor": ["heat off.code", "slope_25"],
            "my amp": ["gain"],
            "empty": [],
        }

    def designators(self) -> set[str]:
        return {"C3", "R9", "TH1", "D1-D4"}


def prose(body: str, line: int = 1, link: Callable[[str], str | None] = quote) -> Rendered:
    return render(body, file="note.md", body_line=line, expand=Bench(), link=link)


def problems(body: str, line: int = 1) -> list[str]:
    return [str(problem) for problem in prose(body, line, lambda href: None).problems]


# What is CommonMark's. The outside is the package `commonmark`, an independent implementation of the
# CommonMark specification (a port of its reference implementation in JavaScript). The samples are ours.

SAMPLES = {
    "paragraphs": "one\ntwo\n\n\n  three  \nfour",
    "hard breaks": "one  \ntwo\\\nthree",
    "headings": "# One\n## Two ##\nThree\n===\nFour\n---\n###### Six\n####### no",
    "emphasis": "*a* **b** ***c*** _d_ __e__ a*b*c a_b_c **a *b* c** *a **b*** *a\nb*",
    "odd stars": "* a * ** b** *c ** _d*e_ 2*3*4 snake_case_name __init__",
    "code spans": "`a` ``b ` c`` `` ` `` `a\nb` ` x ` `unclosed",
    "fences": "```\na < b & c\n\n  d\n```\n\n~~~ sh now\nx\n~~~\n\n    indented\n    code",
    "unclosed fence": "```\nto the end\n# of it",
    "quotations": "> a\nb\n> - c\n>\n> d\n\n>> e",
    "tight list": "- a\n- b\n  - c\n  - d\n- e",
    "loose list": "- a\n\n- b\n\n  c",
    "numbered": "3. a\n4. b\n\n1) c\n2) d",
    "rules": "***\n---\n_ _ _\n\na\n\n* * *",
    "inline links": "[a](b.md) [c](<d e.md>) [f](g.md 'h \"i\"') [*j*](k.md) [a](http://b.example/c?d=e&f)",
    "reference links": '[a][b] [b] [B][] [c][missing]\n\n[b]: d.md "title"',
    "autolinks": "<https://a.example/?b=c&d> <joe@a.example>",
    "no links": "[a] (b) [a]( b c ) [] [a](b",
    "entities": "&amp; &lt; &copy; &#65; &#x42; &bogus; &amp;lt; &",
    "escapes": "\\* \\_ \\` \\[a](b) \\# \\\\ \\a \\&amp;",
    "characters": "a < b > c & d \"e\" 'f'",
    "tabs": "-\ta\n\n\tb\n\n>\tc",
    "lazy lines": "> a\nb\n\n- c\nd",
    "interrupting": "a\n- b\n\nc\n# d\ne\n> f\ng\n***",
    "unicode": "Größe *groß* 温度 **高** µ Ω",
    "braces that name nothing": '{ } {} {"a": 1} {1} {a b} { {',
}


def tree(markup: str, ours: bool) -> list[object]:
    """Elements, attributes and text in order, as a browser reads them; without what we change on purpose."""
    found: list[object] = []

    def walk(element: object) -> None:
        attributes = dict(element.attrib)
        tag = element.tag
        if ours and re.fullmatch("h[2-6]", str(tag)):
            attributes.pop("id")  # ours: headings have ids
        if not ours and re.fullmatch("h[1-6]", str(tag)):
            tag = f"h{min(6, int(tag[1]) + 1)}"  # ours: headings start at h2
        if ours and attributes.get("href", "").startswith("http"):
            attributes.pop("rel")  # ours: links to elsewhere say noopener
        found.append((tag, sorted(attributes.items())))
        found.append(" ".join((element.text or "").split()))
        for child in element:
            walk(child)
            found.append(" ".join((child.tail or "").split()))
        found.append("/")

    walk(html5lib.parseFragment(markup, treebuilder="etree", namespaceHTMLElements=False))
    return found


@pytest.mark.parametrize("sample", SAMPLES.values(), ids=SAMPLES)
def test_commonmark_is_left_as_it_is(sample: str) -> None:
    assert tree(prose(sample).html, ours=True) == tree(commonmark.commonmark(sample), ours=False)


# In any mixture the outside is the bare parser, markdown-it-py without anything of ours: it departs from the
# specification in corners that nobody writes (a hard break behind a backslash and a blank), where `commonmark` does not.
BARE = MarkdownIt("commonmark", {"html": False})

# Words without the characters of HTML (which we print as text) and without links out of the note.
PIECES = [
    "word",
    "wörd",
    "*",
    "**",
    "_",
    "`",
    "\\",
    " ",
    "\n",
    "\n\n",
    "- ",
    "1. ",
    "> ",
    "# ",
    "    ",
    "{",
    "}",
    "2",
]


@settings(max_examples=300, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@example(["`", "{", "word", "}", "`"])
@given(st.lists(st.sampled_from(PIECES), max_size=12))
def test_commonmark_is_left_as_it_is_in_any_mixture(pieces: list[str]) -> None:
    body = "".join(pieces)
    rendered = prose(body)
    if not rendered.problems:  # a wrong name in braces
        assert tree(rendered.html, ours=True) == tree(BARE.render(body), ours=False)


def test_tables() -> None:
    # Source: GitHub Flavored Markdown spec, section 4.10 (tables): delimiter row, alignment, escaped pipe.
    html = prose("| a | b |\n|--:|:-:|\n| 1 | x \\| y |\n| 2 |\n").html
    rows = re.findall(r"<t[hd](?: class=\"([a-z-]+)\")?>([^<]*)</t[hd]>", html)
    assert rows == [
        ("align-right", "a"),
        ("align-center", "b"),
        ("align-right", "1"),
        ("align-center", "x | y"),
        ("align-right", "2"),
        ("align-center", ""),
    ]
    assert "style=" not in html


# Values in braces


def test_values_print() -> None:
    out = prose(
        "Reads {supply.peak}, {supply.peak:band}; {supply.peak:working}. {sensor.heat off.code} {my amp.gain}"
    )
    assert out.html == (
        "<p>Reads <b>17.0 V</b>, 15.3 to 18.7 V; 12 V &times; <i>&radic;2</i>. <b>17.0 V</b> <b>17.0 V</b></p>\n"
    )
    assert out.text == "Reads 17.0 V, 15.3 to 18.7 V; 12 V × √2. 17.0 V 17.0 V"
    assert out.problems == []


@pytest.mark.parametrize(
    "body",
    [
        "`{supply.peak}`",
        "``{supply.nothing}``",
        "```\n{supply}\n```",
        "    {supply.nothing}",
        "\\{supply.nothing}",
        "&#123;supply.nothing}",
        "{ }",
        '{"supply": 1}',
        "{supply.peak",
        "{supply\n.peak}",
        "{e.g. this}",
        "{a:b}",
        "{{}}",
    ],
)
def test_braces_that_stay_text(body: str) -> None:
    out = prose(body)
    assert out.problems == []
    assert "{" in out.html
    assert "17.0" not in out.html and out.placed == []


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (
            "text {supply.paek}",
            "note.md:7:6: supply has no value paek; did you mean peak?; for a plain brace write \\{",
        ),
        (
            "{suply.peak}",
            "note.md:7:1: no block is named suply; did you mean supply?; for a plain brace write \\{",
        ),
        (
            "{suply}",
            "note.md:7:1: no block is named suply; did you mean supply?; for a plain brace write \\{",
        ),
        ("{supply.peak:brand}", "note.md:7:1: no form of a value is called brand; did you mean band?"),
        ("{supply.peak:}", "note.md:7:1: no form of a value is called nothing; known: band, working"),
        (
            "a {supply} b",
            (
                "note.md:7:3: {supply} places a sheet, which cannot stand inside other text; "
                "write {supply} in a paragraph of its own, or a value: {supply.peak}"
            ),
        ),
        (
            "{supply.absent}",
            (
                "note.md:7:1: supply.absent cannot be worked out here; "
                "something it depends on is left out of the block"
            ),
        ),
        ("{empty}", "note.md:7:1: empty has no sheet"),
        (
            "{supply}\n\n{supply}",
            "note.md:9:1: the sheet of supply is already placed on line 7; place a sheet once",
        ),
    ],
)
def test_wrong_names_are_told(body: str, said: str) -> None:
    assert problems(body, line=7) == [said]


@pytest.mark.parametrize(
    "body",
    [
        "a\nb {x.y} c",
        "> a\n> b {x.y}",
        "> a\nlazy {x.y}",
        "- a\n\n  b\n  {x.y}",
        "1.  - > a {x.y}",
        "-\ta\n\tb {x.y}",
        "## a {x.y} ##",
        "a {x.y}\n===",
        "| a | b |\n|---|---|\n| a | {x.y} |",
        "a | b\n--|--\nc \\| {x.y} | d",
        "> | a\\|b | a\\|c {x.y} |\n> |---|---|",
        "| a | a |\n|---|---|\n| a | a |\n| | {x.y} |",
        "*a **b {x.y}***",
        "[a {x.y} b](http://c.example)",
        "**a** `code` [a](http://b.example) {x.y}",
        "![a {x.y}](board.jpg)",
        "text ![a ![b {x.y}](q)](board.jpg)",
        "one\r\ntwo {x.y}\r\n",
        "[a]: b.md\n[c]: d.md\ntext {x.y}",
    ],
)
def test_places_are_exact(body: str) -> None:
    """The place of a problem is the place of the brace: found here by looking for it in the source."""
    lines = body.replace("\r\n", "\n").split("\n")
    line = next(number for number, text in enumerate(lines) if "{x.y}" in text)
    (problem,) = prose(body, 11).problems
    assert (problem.line, problem.column) == (11 + line, lines[line].index("{x.y}") + 1)


def test_sheet_is_placed_where_it_stands_alone() -> None:
    out = prose("before\n\n{supply}\n\n- item\n\n  {my amp}\n")
    assert out.html == (
        '<p>before</p>\n<section class="sheet">supply</section>\n'
        '<ul>\n<li>\n<p>item</p>\n<section class="sheet">my amp</section>\n</li>\n</ul>\n'
    )
    assert out.placed == ["supply", "my amp"]


# Links


@pytest.mark.parametrize(
    ("body", "printed"),
    [
        ("[a](https://b.example/c)", '<a href="https://b.example/c" rel="noopener">a</a>'),
        ("[a](mailto:b@c.example)", '<a href="mailto:b@c.example">a</a>'),
        ("[a](other.md)", '<a href="/site/other">a</a>'),
        ("[a](my%20file.md#the-end)", '<a href="/site/my file#h-the-end">a</a>'),
        ("# The end\n\n[a](#the-end)", '<a href="#h-the-end">a</a>'),
    ],
)
def test_links_that_are_allowed(body: str, printed: str) -> None:
    out = prose(body, link=lambda path: "/site/" + path.removesuffix(".md"))
    assert printed in out.html
    assert out.problems == []


@pytest.mark.parametrize(
    "href",
    [
        "javascript:alert(1)",
        "JaVaScRiPt:alert(1)",
        "data:text/html,x",
        "ftp://a.example",
        "//a.example",
        "/etc/passwd",
        "\\\\host\\share",
        "java%0Ascript:x",
        "javascript%3Ax",
        "http:a",
        "http:///a",
        "c:/x",
        "#nowhere",
        "",
        "#",
        "missing.md",
    ],
)
def test_links_that_are_refused(href: str) -> None:
    out = prose(f"word [*label*](<{href}>) word", 5, link=lambda path: None)
    assert out.html == "<p>word <em>label</em> word</p>\n"
    assert [(problem.line, problem.column) for problem in out.problems] == [(5, 6)]


# Photos


def test_photo_stands_as_a_figure_outside_paragraphs() -> None:
    out = prose('before ![the board](board.jpg "Top side")\nafter\n\n![words](two%20words.jpg)')
    figure = "<figure>{}<figcaption>{}</figcaption></figure>\n"
    assert out.html == (
        "<p>before </p>\n"
        + figure.format("board.jpg", "Top side")
        + "<p>\nafter</p>\n"
        + figure.format("two words.jpg", "")
    )
    assert out.images == ["board.jpg", "two words.jpg"]
    assert out.problems == []
    assert "the board" in out.text and "Top side" in out.text


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("![words](gone.jpg)", "there is no photo gone.jpg beside the note"),
        ("![](board.jpg)", "board.jpg has no words for those who cannot see it; write ![what it shows]"),
        (
            "![a](https://b.example/c.jpg)",
            "'https://b.example/c.jpg' is not a photo of this note; name a file beside the note",
        ),
        (
            "![a](data:image/png;base64,AA)",
            "'data:image/png;base64,AA' is not a photo of this note; name a file beside the note",
        ),
        ("![a](/etc/x.png)", "'/etc/x.png' is not a photo of this note; name a file beside the note"),
        (
            "[![a](board.jpg)](http://b.example)",
            "a photo cannot stand in a link, heading, table or emphasis; set it on its own line",
        ),
        (
            "# ![a](board.jpg)",
            "a photo cannot stand in a link, heading, table or emphasis; set it on its own line",
        ),
    ],
)
def test_photos_that_are_refused(body: str, said: str) -> None:
    out = prose(body)
    assert [f"{p.what}; {p.hint}" if p.hint else p.what for p in out.problems] == [said]
    assert "<img" not in out.html


# Headings, designators, text


def test_headings_have_levels_and_ids_of_their_own() -> None:
    out = prose("# Was *tun*?\n\n## Größe {supply.peak}\n\n### a\n\n### a\n\n### a-2\n\n# !\n")
    assert out.headings == [
        (2, "h-was-tun", "Was tun?"),
        (3, "h-größe-supply-peak", "Größe 17.0 V"),
        (4, "h-a", "a"),
        (4, "h-a-2", "a"),
        (4, "h-a-2-1", "a-2"),
        (2, "h-heading", "!"),
    ]
    assert re.findall(r'id="([^"]+)"', out.html) == [name for _, name, _ in out.headings]


def test_designators_are_linked_in_words_but_not_in_code() -> None:
    out = prose("C3, (R9) C33 xC3 C3-R9 D1-D4 **TH1** `C3` c3\n\n    C3\n")
    assert re.findall(r'data-ref="([^"]+)">([^<]+)<', out.html) == [
        (name, name) for name in ["C3", "R9", "C3", "R9", "D1-D4", "TH1"]
    ]
    assert "<code>C3</code>" in out.html


def test_text_for_the_search_has_the_words_and_no_tags() -> None:
    out = prose("# Head\n\nC3 *was* `open` &amp; dry\n\n| a | b |\n|---|---|\n| c | d |\n\n```\ncode\n```\n")
    assert out.text.split() == ["Head", "C3", "was", "open", "&", "dry", "a", "b", "c", "d", "code"]


# Bounds


def test_html_of_the_author_is_text() -> None:
    assert parser().options["html"] is False
    out = prose("<b>x</b> <!-- y -->\n\n<div onclick=alert(1)>\n\n<script>\nz\n</script>\n")
    tags = set(re.findall(r"<(/?\w+)", out.html))
    assert tags == {"p", "/p"}


@pytest.mark.parametrize(
    ("body", "said"),
    [("a" * (LONGEST_LINE + 1), "this line has more than"), ("word\n" * LONGEST_PROSE, "the prose has")],
)
def test_prose_that_is_too_long_is_refused(body: str, said: str) -> None:
    (problem,) = prose(body).problems
    assert problem.what.startswith(said)


def test_problems_without_end_are_cut_short() -> None:
    assert len(prose("{x.y} " * 2000).problems) == 501


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    st.text(alphabet=st.sampled_from(list("ab1 \n\t`*_[](){}<>|\\!#&;:-+.\"'=~/\r\x00\u202e")), max_size=60)
)
def test_no_text_makes_it_fall(body: str) -> None:
    out = prose(body)
    lines = body.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for problem in out.problems:
        assert 1 <= problem.line <= len(lines)
        assert 1 <= problem.column <= len(lines[problem.line - 1]) + 1


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ("Look:\n\n![x](board top.jpg)", "note.md:3:1: board top.jpg is not a photo: a space ends its address"),
        ("See [the manual](service manual.pdf).", "note.md:1:1: service manual.pdf is not a link: a space ends its address"),
        ("![x](<two words.jpg>)", ""),
        ('![x](board.jpg "two words")', ""),
        ("R3[1](two of them)", ""),
        ("`![x](board top.jpg)`", ""),
    ],
)  # fmt: skip
def test_an_address_with_a_blank_is_told(body: str, told: str) -> None:
    """CommonMark, section 6.3: a destination that is not in angle brackets ends at the first blank."""
    found = problems(body)
    assert (len(found) == 1 and found[0].startswith(told)) if told else found == []
