"""The parser of prose: CommonMark with tables, and the one rule of ours, for values in braces.

The rule works inside the parser, so code spans, fenced code and escapes mean what CommonMark says they mean.
"""

from __future__ import annotations

import functools
import html
import re
from collections.abc import Callable, Sequence
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererHTML
from markdown_it.rules_inline import StateInline
from markdown_it.token import Token

# {block}, {block.value}, {block.value:form}; names of cut points may hold blanks: {sensor.heat off.code}
_REFERENCE = re.compile(r"\{[ ]*(\w[\w -]*?)[ ]*(?:\.(\w[\w .-]*?))?[ ]*(?::([A-Za-z]*))?[ ]*\}")
_LONGEST_REFERENCE = 200
_ONE_WORD = re.compile(r"[^\W\d][\w-]*")


@functools.cache
def parser() -> MarkdownIt:
    """The one parser. Tests look at it to see that no rule is on that lets HTML through."""
    md = _Markdown("commonmark", {"html": False, "xhtmlOut": False, "linkify": False}, renderer_cls=_Renderer)
    md.enable("table")
    for name in ("link", "image", "autolink"):
        rule = next(rule.fn for rule in md.inline.ruler.__rules__ if rule.name == name)
        md.inline.ruler.at(name, _noting_place(rule))
    md.inline.ruler.before("escape", "reference", _reference)
    return md


class _Markdown(MarkdownIt):
    def validateLink(self, url: str) -> bool:
        return True  # every link is judged later, where the author can be told what is wrong with it


class _Renderer(RendererHTML):
    """Adds the token "made": HTML that this program made. Keeps the author's HTML out a second time."""

    def made(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        return tokens[idx].content

    def html_block(self, tokens: Sequence[Token], idx: int, options: Any, env: Any) -> str:
        return html.escape(tokens[idx].content)

    html_inline = html_block


def _noting_place(rule: Callable[[StateInline, bool], bool]) -> Callable[[StateInline, bool], bool]:
    """The rule, with the place of what it makes noted on the token."""

    def noting(state: StateInline, silent: bool) -> bool:
        at, first = state.pos, len(state.tokens)
        if not rule(state, silent):
            return False
        for token in state.tokens[first : first + 2]:  # pending text may come first
            if token.type in ("link_open", "image"):
                token.meta["at"] = at
                break
        return True

    return noting


def _reference(state: StateInline, silent: bool) -> bool:
    """The rule for a block or value in braces. Anything else in braces stays text."""
    if state.src[state.pos] != "{":
        return False
    match = _REFERENCE.match(state.src, state.pos, min(state.posMax, state.pos + _LONGEST_REFERENCE))
    if match is None:
        return False
    block, value, form = match.groups()
    if block not in state.env["blocks"]:
        words = [block, *(value.split(".") if value else [])]
        if not all(_ONE_WORD.fullmatch(word) for word in words) or (form is not None and not value):
            return False
    if not silent:
        token = state.push("reference", "", 0)
        token.content = match.group()
        token.meta = {"at": state.pos, "block": block, "value": value, "form": form}
    state.pos = match.end()
    return True
