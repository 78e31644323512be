"""Front matter: data as text, places, and what is wrong in words. PyYAML's own loaders are the outside."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from generator.notes.frontmatter import NULLS, FrontMatterError, Limits, load, split


@pytest.fixture(params=["C", "Python"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test once with libyaml and once without it."""
    if request.param == "Python":
        monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    elif not hasattr(yaml, "CSafeLoader"):
        pytest.skip("PyYAML without libyaml")


def told(text: str, **limits: int) -> list[str]:
    return [str(problem) for problem in load(text, 2, "n.md", Limits(**limits)).problems]


# --- taking a note apart


def test_split_gives_yaml_body_and_the_line_of_the_body() -> None:
    assert split("---\na: b\n---\nfirst\nsecond\n") == ("a: b\n", "first\nsecond\n", 4)


def test_split_takes_windows_and_old_mac_line_ends() -> None:
    assert split("---\r\na: b\r\n---\r\nbody\r\n") == ("a: b\n", "body\n", 4)
    assert split("---\ra: b\r---\rbody") == ("a: b\n", "body", 4)


def test_split_takes_empty_front_matter_no_body_and_blanks_after_the_dashes() -> None:
    assert split("---\n---") == ("", "", 3)
    assert split("--- \na: b\n---\t\nx") == ("a: b\n", "x", 4)


def test_a_rule_in_the_body_stays_there() -> None:
    assert split("---\na: b\n---\nx\n\n---\n\ny\n").body == "x\n\n---\n\ny\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "the note is empty; `benchlore writeup KIND-OF-DEVICE` starts one"),
        ("\n---\na: b\n---\n", "the --- must be the very first line; delete what comes before it"),
        ("a: b\n", "no front matter; a note begins with a line ---, keys, and another line ---"),
        ("---\na: b\n", "the front matter has no end; put a line --- between the keys and the text"),
        ("---\na: b\n ---\n", "the front matter has no end; put a line --- between the keys and the text"),
    ],
)
def test_split_says_what_is_missing(text: str, message: str) -> None:
    with pytest.raises(FrontMatterError) as caught:
        split(text)
    assert str(caught.value) == message


# --- data


def test_every_scalar_stays_as_it_is_written(parser: None) -> None:
    text = 'a: no\nb: 1.20\nc: 12:30\nd: 0123\ne: 2026-03-14\nf: "yes"\ng: 1e5\nh: 0x1F\ni: .inf\n'
    assert load(text).data == {
        "a": "no", "b": "1.20", "c": "12:30", "d": "0123", "e": "2026-03-14", "f": "yes", "g": "1e5", "h": "0x1F",
        "i": ".inf",
    }  # fmt: skip


def test_nothing_tilde_and_null_are_empty_but_not_in_quotes(parser: None) -> None:
    assert load('a:\nb: ~\nc: null\nd: "null"\ne: ""\n').data == {
        "a": "",
        "b": "",
        "c": "",
        "d": "null",
        "e": "",
    }


def test_a_single_value_can_be_used_again(parser: None) -> None:
    loaded = load("a: &x 230 V\nb: *x\nc: [*x, *x]\n")
    assert (loaded.data, loaded.problems) == ({"a": "230 V", "b": "230 V", "c": ["230 V", "230 V"]}, [])


def test_empty_text_is_an_empty_mapping(parser: None) -> None:
    for text in ("", "\n\n", "# only a comment\n", "~"):
        assert (load(text).data, load(text).problems) == ({}, [])


words = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Zl", "Zp"]), max_size=20)
trees = st.dictionaries(
    words, st.recursive(words, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4), max_leaves=12),
    max_size=5,
)  # fmt: skip


@given(trees, st.booleans(), st.booleans())
def test_same_data_as_pyyaml_where_every_value_is_text(
    tree: dict[str, Any], flow: bool, non_ascii: bool
) -> None:
    """yaml.BaseLoader, which also keeps every scalar as text, reads the same."""
    text = yaml.safe_dump(tree, default_flow_style=flow, allow_unicode=non_ascii, width=40)
    loaded = load(text)
    assert loaded.problems == []
    assert loaded.data == yaml.load(text, Loader=yaml.BaseLoader) == tree


@given(trees)
def test_places_are_those_of_pyyamls_nodes(tree: dict[str, Any]) -> None:
    text = yaml.safe_dump(tree, allow_unicode=True, width=40)
    marks = load(text, 7).marks
    for path, key, value in _nodes(yaml.compose(text, Loader=yaml.BaseLoader), ()):
        assert marks.value(path) == (value.start_mark.line + 7, value.start_mark.column + 1)
        assert marks.key(path) == (key.start_mark.line + 7, key.start_mark.column + 1)


def _nodes(
    node: yaml.Node, path: tuple[str | int, ...]
) -> list[tuple[tuple[str | int, ...], yaml.Node, yaml.Node]]:
    found = []
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            found += [((*path, key.value), key, value), *_nodes(value, (*path, key.value))]
    if isinstance(node, yaml.SequenceNode):
        for position, value in enumerate(node.value):
            found += [((*path, position), value, value), *_nodes(value, (*path, position))]
    return found


def test_an_unknown_path_is_placed_at_the_nearest_key_around_it() -> None:
    marks = load("a:\n  b: 1\n", 2).marks
    assert marks.key(("a", "b", "c", 3)) == (3, 3)
    assert marks.value(("a", "x")) == (2, 1)
    assert marks.key(("x",)) == (2, 1)


def test_the_empty_words_are_those_of_yaml() -> None:
    """YAML 1.1's null type (yaml.org/type/null.html): ~, null, Null, NULL and nothing."""
    assert (
        {word for word in NULLS if yaml.safe_load(f"a: {word}") == {"a": None}}
        == NULLS
        == {"", "~", "null", "Null", "NULL"}
    )


# --- what is refused, with its place


def test_a_key_given_twice_names_both_places_and_keeps_the_first(parser: None) -> None:
    loaded = load("time: 1 h\ndevice:\n  kind: a\n  kind: b\ntime: 2 h\n", 2, "n.md")
    assert [str(p) for p in loaded.problems] == [
        "n.md:5:3: kind: given twice; the first is on line 4, column 3; keep one",
        "n.md:6:1: time: given twice; the first is on line 2, column 1; keep one",
    ]
    assert loaded.data == {"time": "1 h", "device": {"kind": "a"}}


@pytest.mark.parametrize(
    ("text", "messages"),
    [
        ("a: &x [1]\nb: *x\n", ["n.md:3:4: *x: only a single value can be used again; write the list or keys out"]),
        ("a: &x {k: v}\nb: *x\n", ["n.md:3:4: *x: only a single value can be used again; write the list or keys out"]),
        ("a: &x [*x]\n", ["n.md:2:8: *x: only a single value can be used again; write the list or keys out"]),
        ("a: *y\n", ["n.md:2:4: *y: there is no &y before it; a value that begins with * needs quotes"]),
        ("a: &x k\n*x : v\n", ["n.md:3:1: *x: a key cannot be an alias; write the key out"]),
        ("a: &x {k: v}\nb:\n  <<: *x\n  c: d\n", ["n.md:4:3: <<: keys cannot be merged in; write them out",
                                                 "n.md:4:7: *x: only a single value can be used again; write the list or keys out"]),
        ("a: !!str x\n", ["n.md:2:4: !!str: a YAML tag; notes have none; put a value that begins with ! in quotes"]),
        ("a: !!python/object/apply:os.system [id]\n",
         ["n.md:2:4: !!python/object/apply:os.system: a YAML tag; notes have none; put a value that begins with ! in quotes"]),
        ("{a: b}: c\n", ["n.md:2:1: a key must be a word, not a list or keys of its own; put text with braces in quotes"]),
        ("- a\n- b\n", ["n.md:2:1: keys with values are expected here ('key: value')"]),
        ("just words\n", ["n.md:2:1: keys with values are expected here ('key: value')"]),
        ("a: b\n--- \nc: d\n", ["n.md:3:1: more than one YAML document; one is enough: delete what divides them"]),
        ("a: b\n...\nc: d\n", ["n.md:4:1: more than one YAML document; one is enough: delete what divides them"]),
        ('a: "b\\u202ec"\n', ["n.md:2:4: U+202E (right-to-left override) is not allowed in a note; remove the escape sequence"]),
        ('a: "\\0"\n', ["n.md:2:4: U+0000 (no printing character) is not allowed in a note; remove the escape sequence"]),
        ("a: b\x07\nc: \u202ed\n", ["n.md:2:5: U+0007 (no printing character) is not allowed in a note; delete it",
                                   "n.md:3:4: U+202E (right-to-left override) is not allowed in a note; delete it"]),
    ],
)  # fmt: skip
def test_what_expands_runs_or_hides_is_refused(parser: None, text: str, messages: list[str]) -> None:
    assert told(text) == messages


# Mistakes that people make in YAML, and what they are told.
@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a: lead: broken\n", "2:8: a second colon with a space after it in one value; put the value in quotes"),
        ("a: b\n  c: d\n", "3:4: this line does not line up with the keys above it; indent it like its neighbours, with spaces"),
        ("a:\n  b: c\n d: e\n", "4:2: this line does not line up with the ones above it; indent it like its neighbours, with spaces"),
        ("a:\n  - b\n - c\n", "4:2: this line does not line up with the ones above it; indent it like its neighbours, with spaces"),
        ("a:\n\tb: c\n", "3:1: a tab; YAML is indented with spaces; use two spaces instead"),
        ("a: @b\n", "2:4: a value cannot begin with @; put the value in quotes"),
        ("a: `b`\n", "2:4: a value cannot begin with `; put the value in quotes"),
        ("a: %b\n", "2:4: a value cannot begin with %; put the value in quotes"),
        ("a: *\n", "2:4: a value cannot begin with *; put the value in quotes"),
        ("a: &\n", "2:4: a value cannot begin with &; put the value in quotes"),
        ("a: !x!y z\n", "2:4: a value cannot begin with !; that is a YAML tag; put the value in quotes"),
        ("a: , b\n", "2:4: a value cannot begin with ,; put the value in quotes"),
        ("a: ? b\n", "2:4: a value cannot begin with ?; put the value in quotes"),
        ("a: - b\n", "2:4: an entry of a list cannot begin on the line of its key; begin it on a line of its own"),
        ("a: |x\n", "2:5: after | or > the text begins on the next line; begin a new line, or put the value in quotes"),
        ("a: {b: c\nd: e\n", ("2:4: the { opened here is not closed by a }, or a comma is missing; "
                             "close it, or put text with commas or braces in quotes")),
        ("a: {b: {c: d}\n", ("2:4: the { opened here is not closed by a }, or a comma is missing; "
                            "close it, or put text with commas or braces in quotes")),
        ("a: [b, c\nd: e\n", ("2:4: the [ opened here is not closed by a ], or a comma is missing; "
                             "close it, or put text with commas or brackets in quotes")),
        ('a: "b\nc: d\n', "2:4: the quotation mark opened here is never closed; close it with the same mark"),
        ("a: 'it's\n", "2:8: text after the closing '; an apostrophe inside '...' is written twice; use double quotes around the value"),
        ("a: 'it' is\n", "2:9: text after the end of a value; put the whole value in one pair of quotes"),
        ('a: "b" c\n', "2:8: text after the end of a value; put the whole value in one pair of quotes"),
        ("a: b\nfoo\nc: d\n", "3:1: this is not 'key: value'; write a colon and a space after the key"),
    ],
)  # fmt: skip
def test_mistakes_in_yaml_are_told_in_words(parser: None, text: str, message: str) -> None:
    assert told(text) == [f"n.md:{message}"]


def test_text_that_yaml_takes_for_a_comment_is_told(parser: None) -> None:
    text = "a: lamp #2 blinks\nb:\n  - C3 #4\n  - C4 # swollen\nc: {d: x #5\n  }\ne: 'x #6'\nf: x#7\ng: 1 #### \n#8\n  #9\n"
    assert told(text) == [
        "n.md:2:4: warning: #2 blinks is left out: a space and # begin a comment; put the value in quotes, or a space after #",
        "n.md:4:5: warning: #4 is left out: a space and # begin a comment; put the value in quotes, or a space after #",
        "n.md:6:8: warning: #5 is left out: a space and # begin a comment; put the value in quotes, or a space after #",
    ]


def test_an_unknown_escape_points_at_its_value(parser: None) -> None:
    (problem,) = load('a: "C:\\qx"\n', 2, "n.md").problems
    assert problem.what == "a backslash in double quotes starts a special sign, and this is none"
    assert (problem.line, problem.hint) == (2, "use single quotes")


def test_what_stands_before_a_mistake_is_kept_and_known_to_be_incomplete(parser: None) -> None:
    loaded = load("a: 1\nb: [1, 2]\nc: 'd' e\nf: 4\n")
    assert loaded.data == {"a": "1", "b": ["1", "2"]}
    assert not loaded.complete


def test_a_mistake_after_many_problems_is_the_last_one_told() -> None:
    for count in (198, 199, 200):
        loaded = load("a: b\n" * (count + 1) + "c: 'd' e\n")
        assert not loaded.complete
        assert len(loaded.problems) == min(count + 1, 200)


def test_mistakes_of_yaml_that_can_be_guessed_hide_nothing_behind_them(parser: None) -> None:
    """Each of these stops a YAML parser; the note is read on as it was most likely meant, so that all is told at once."""
    loaded = load("title: Lamp: dim\nload:3 A\nsize = 2\nlimit: @12\nlimit: 4\nlast: it\n")
    assert [(p.line, p.what) for p in sorted(loaded.problems)] == [
        (1, "a second colon with a space after it in one value"),
        (2, "this is not 'key: value'"),
        (3, "this is not 'key: value'"),
        (4, "a value cannot begin with @"),
        (5, "limit: given twice; the first is on line 4, column 1"),
    ]
    assert loaded.complete
    assert loaded.data == {"title": "Lamp: dim", "load": "3 A", "size": "2", "limit": "@12", "last": "it"}


def test_tabs_are_told_once_and_what_lies_deeper_is_read_on(parser: None) -> None:
    loaded = load("blocks:\n\tsupply:\n\t\tkind: divider\nnext: a: b\n", 2)
    assert [(p.line, p.column) for p in loaded.problems] == [(3, 1), (5, 8)]
    assert "1 more line begins with one" in loaded.problems[0].what
    assert loaded.data == {"blocks": {"supply": {"kind": "divider"}}, "next": "a: b"}


def test_a_line_out_of_step_behind_tabs_is_not_told(parser: None) -> None:
    """How wide the author takes a tab to be is not known: the tabs come first."""
    loaded = load("a:\n\t\tb: 1\n  c: 2\n")
    assert ["tab" in p.what for p in loaded.problems] == [True]
    assert not loaded.complete


def test_a_blank_that_is_none_is_named(parser: None) -> None:
    loaded = load("a: 1\nload:\u00a015 V\nb: 2\n")
    assert [(p.line, p.hint) for p in loaded.problems] == [(2, "type a space in its place")]
    assert loaded.data == {"a": "1", "load": "15 V", "b": "2"}


def test_each_limit_stops_the_reading_just_beyond_it() -> None:
    """At a limit nothing is said; one more, and it is told once, at its place."""
    assert told("a: &x 1\nb: [*x, *x]", aliases=2) == []
    assert told("a: &x 1\nb: [*x, *x, *x]", aliases=2) == [
        "n.md:3:13: more than 2 aliases (*name); write the values out"
    ]
    assert told("a: 1\nb: 2", values=5) == []  # two keys, two values and what they stand in
    assert told("a: 1\nb: 2\nc: 3", values=5) == ["n.md:4:1: more than 5 keys and values"]
    assert told("a: [[1]]", depth=3) == []
    assert told("a: [[1]]", depth=2) == ["n.md:2:5: nested deeper than 2 levels"]
    assert told("a: [1, 2]", entries=2) == []
    assert told("a: [1, 2, 3]", entries=2) == ["n.md:2:11: a: more than 2 entries"]


def test_a_key_in_quotes_is_a_word_like_any() -> None:
    """YAML merges under a plain << only."""
    loaded = load('"<<": text')
    assert loaded.data == {"<<": "text"} and loaded.problems == []
    assert told("<<: {a: 1}") == ["n.md:2:1: <<: keys cannot be merged in; write them out"]
