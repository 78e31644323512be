"""The prose of a note: CommonMark with tables, values in braces, safe links, photos, linked designators.

What an author writes is untrusted. No HTML of the author's reaches the page: every tag is made here, in
designators.py, by the parser's own renderer, or by the Expander; all else is escaped.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any
from urllib.parse import unquote

from markdown_it.token import Token

from generator.problems import Problem, did_you_mean
from generator.prose.commonmark import parser
from generator.prose.designators import Designators
from generator.prose.expander import Expander, Rendered
from generator.prose.links import HEADING_ID, BadLink, attributes, is_path
from generator.prose.photos import Refused
from generator.prose.places import locate
from generator.prose.tokens import around_figures, made, plain, slug, text_of, text_token

FORMS = ("band", "working")
LONGEST_LINE = 20_000
LONGEST_PROSE = 60_000  # characters, some 10,000 words; brackets by the thousand take the parser seconds
MOST_PROBLEMS = 500
# What is written like a photo or a link whose address has blanks; that of a link looks like a file or an address.
_BLANK_IN_ADDRESS = re.compile(
    r"(?:!\[[^\]\n]*\]|\[[^\]\n]*\](?=\([^()\n]*(?:://|\.\w{2,4}\))))\(([^()<>\"'\n]+ [^()<>\"'\n]+)\)"
)


def render(
    body: str,
    *,
    file: str,
    body_line: int,
    expand: Expander,
    link: Callable[[str], str | None],
    table: tuple[str, str] = ("", ""),
) -> Rendered:
    """Render the prose of a note.

    body_line is the line of the file (from 1) on which body begins. link gets the path of a relative link,
    percent signs decoded and without its fragment, and returns the address to print (percent signs encoded),
    or None where nothing is there. table is the markup before and behind each table.
    Raises nothing: whatever is wrong is in problems, and its place on the page holds plain text.
    """
    return _Page(body, file, body_line, expand, link, table).render()


class _Page:
    """One render: the tokens of the parser, turned into those to print, and all that is found on the way."""

    def __init__(
        self,
        body: str,
        file: str,
        body_line: int,
        expand: Expander,
        link: Callable[[str], str | None],
        table: tuple[str, str],
    ):
        self.body, self.file, self.body_line = body, file, body_line
        self.expand, self.link, self.table = expand, link, table
        self.lines = body.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        self.blocks = expand.names()
        self.designators = Designators(expand.designators())
        self.placed_on: dict[str, int] = {}
        self.anchors: dict[str, None] = {}  # in order
        self.inline = Token("inline", "", 0)  # the one being worked on, for the place of its problems
        self.cell: tuple[int, str] | None = None
        self.words: list[str] = []
        self.out = Rendered(html="", text="")

    def render(self) -> Rendered:
        if len(self.body) > LONGEST_PROSE:
            what = (
                f"the prose has {len(self.body)} characters, more than the {LONGEST_PROSE} that are allowed"
            )
            self._problem((self.body_line, 1), what, "make two notes of it")
        for number, line in enumerate(self.lines):
            if len(line) > LONGEST_LINE:
                place = (number + self.body_line, 1)
                self._problem(place, f"this line has more than {LONGEST_LINE} characters", "break it up")
        if self.out.problems:
            return self.out
        env: dict[str, Any] = {"blocks": self.blocks}
        tokens = parser().parse(self.body, env)
        self._name_headings(tokens)
        self.out.html = parser().renderer.render(self._blocks(tokens), parser().options, env)
        self.out.text = "".join(self.words).strip()
        return self.out

    # Blocks

    def _name_headings(self, tokens: list[Token]) -> None:
        """Give each heading its level (the page has the one h1) and its id, before links are judged."""
        alike: dict[str, int] = {}
        for at, token in enumerate(tokens):
            if token.type in ("heading_open", "heading_close"):
                token.tag = f"h{min(6, int(token.tag[1]) + 1)}"
            if token.type == "heading_open":
                name = HEADING_ID + slug(text_of(tokens[at + 1].children or []))
                alike[name] = alike.get(name, 0) + 1
                while name in self.anchors:
                    name = f"{name}-{alike[name]}"
                self.anchors[name] = None
                token.attrSet("id", name)

    def _blocks(self, tokens: list[Token]) -> list[Token]:
        done: list[Token] = []
        row: list[str] = []
        at = 0
        while at < len(tokens):
            token = tokens[at]
            if at + 1 < len(tokens) and tokens[at + 1].type == "inline":
                opened, inline, closed = tokens[at : at + 3]
                self.cell = None
                if opened.type in ("th_open", "td_open"):
                    row.append(inline.content)
                    self.cell = (len(row) - 1, row[0])
                    align = str(opened.attrs.pop("style", ""))  # the page forbids style attributes
                    if align:
                        opened.attrSet("class", align.replace("text-align:", "align-"))
                self.inline = inline
                done.extend(self._holder(opened, inline, closed))
                self.words.append("\n")
                at += 3
                continue
            if token.type == "tr_open":
                row = []
            if token.type in ("fence", "code_block"):
                self.words.append(token.content + "\n")
            if token.type == "table_open":
                done.append(made(self.table[0]))
            done.append(token)
            if token.type == "table_close":
                done.append(made(self.table[1]))
            at += 1
        return done

    def _holder(self, opened: Token, inline: Token, closed: Token) -> list[Token]:
        """A paragraph, heading or cell."""
        children = inline.children or []
        self._blanks_in_addresses(children)
        if opened.type == "paragraph_open" and len(children) == 1 and children[0].type == "reference":
            sheet = self._sheet(children[0])
            if sheet is not None:
                return [made(sheet)]
        before = len(self.words)
        inline.children = self._children(children, photos=opened.type == "paragraph_open")
        if opened.type == "heading_open":
            text = " ".join("".join(self.words[before:]).split())
            self.out.headings.append((int(opened.tag[1]), str(opened.attrGet("id")), text))
        if not any(child.meta.get("figure") for child in inline.children):
            return [opened, inline, closed]
        return list(around_figures(opened, inline, closed))

    # What stands in them

    def _children(self, children: list[Token], photos: bool) -> list[Token]:
        done: list[Token] = []
        links: list[bool] = []
        depth = 0
        for token in children:
            depth += token.nesting
            if token.type == "text":
                self.words.append(token.content)
                done.extend(self.designators.marked(token))
            elif token.type == "reference":
                done.append(self._value(token))
            elif token.type == "image":
                done.append(self._photo(token, photos and depth == 0))
            elif token.type == "link_open":
                links.append(self._link(token))
                if links[-1]:
                    done.append(token)
            elif token.type == "link_close":
                if links.pop():
                    done.append(token)
            else:
                self.words.append("\n" if token.type in ("softbreak", "hardbreak") else token.content)
                done.append(token)
        return done

    def _blanks_in_addresses(self, children: list[Token]) -> None:
        """`![x](board top.jpg)` is no photo to Markdown but text, which the page would show as written."""
        run: list[Token] = []
        for token in [*children, None]:
            if token is not None and token.type == "text":
                run.append(token)
                continue
            text = "".join(part.content for part in run)
            for found in _BLANK_IN_ADDRESS.finditer(text) if "](" in text else ():
                what = f"{found[1]} is not a {'photo' if found[0][0] == '!' else 'link'}: a space ends its address"
                hint = f"write <{found[1].strip()}> inside the round brackets, or a name without spaces"
                self._wrong(run[0], what, hint)
            run = []

    def _value(self, token: Token) -> Token:
        block, value, form = token.meta["block"], token.meta["value"], token.meta["form"] or ""
        markup = None
        if block not in self.blocks:
            self._wrong(token, f"no block is named {block}", self._did_you_mean(block, self.blocks))
        elif value is None:
            hint = f"write {{{block}}} in a paragraph of its own, or a value: {{{block}.{self._any(block)}}}"
            self._wrong(token, f"{token.content} places a sheet, which cannot stand inside other text", hint)
        elif value not in self.blocks[block]:
            self._wrong(token, f"{block} has no value {value}", self._did_you_mean(value, self.blocks[block]))
        elif token.meta["form"] is not None and form not in FORMS:
            self._wrong(token, f"no form of a value is called {form or 'nothing'}", did_you_mean(form, FORMS))
        else:
            markup = self.expand.value(block, value, form)
            if markup is None:
                hint = "something it depends on is left out of the block"
                self._wrong(token, f"{block}.{value} cannot be worked out here", hint)
        if markup is None:
            self.words.append(token.content)
            return text_token(token.content)
        self.words.append(plain(markup))
        return made(markup)

    def _sheet(self, token: Token) -> str | None:
        """The sheet of a reference that stands alone; None, where it names no block or asks for a value."""
        block = token.meta["block"]
        if block not in self.blocks or token.meta["value"] is not None or token.meta["form"] is not None:
            return None
        line = self._place(token)[0]
        first = self.placed_on.setdefault(block, line)
        if first != line:
            hint = "place a sheet once"
            self._wrong(token, f"the sheet of {block} is already placed on line {first}", hint)
            return ""
        sheet = self.expand.sheet(block)
        if sheet is None:
            self._wrong(token, f"{block} has no sheet")
            return ""
        self.out.placed.append(block)
        return sheet

    def _photo(self, token: Token, alone: bool) -> Token:
        src, title = str(token.attrs["src"]), str(token.attrs.get("title", ""))
        alt = "".join(self._alternative(token)).strip()
        path = unquote(src)
        markup = None
        if not is_path(path) or not path.strip("#?"):
            self._wrong(token, f"{path!r} is not a photo of this note", "name a file beside the note")
        elif not alone:
            hint = "set it on its own line"
            self._wrong(token, "a photo cannot stand in a link, heading, table or emphasis", hint)
        else:
            self.out.images.append(path)
            markup = self._figure(token, path, alt, title)
        self.words.append(f" {alt} {title} ")
        if markup is None:
            return text_token(alt)
        figure = made(markup)
        figure.meta["figure"] = True
        return figure

    def _figure(self, token: Token, path: str, alt: str, title: str) -> str | None:
        if not alt:
            self._wrong(token, f"{path} has no words for those who cannot see it", "write ![what it shows]")
            return None
        try:
            markup = self.expand.image(path, alt, title)
        except Refused as refused:
            self._wrong(token, f"{path} {refused.what}", refused.hint)
            return None
        if markup is None:
            self._wrong(token, f"there is no photo {path} beside the note")
        return markup

    def _alternative(self, image: Token) -> Iterator[str]:
        """The words of an image; values in them as text."""
        for child in image.children or []:
            if child.type == "reference":
                child.meta["at"] += image.meta["at"] + 2
                before = len(self.words)
                self._value(child)
                yield from self.words[before:]
                del self.words[before:]
            elif child.type == "image":
                child.meta["at"] += image.meta["at"] + 2
                yield from self._alternative(child)
            else:
                yield "\n" if child.type in ("softbreak", "hardbreak") else child.content

    def _link(self, token: Token) -> bool:
        """Whether the link may be printed. Gives it the address that it leads to on the site."""
        try:
            token.attrs.update(attributes(str(token.attrs["href"]), self.anchors, self.link))
        except BadLink as bad:
            self._wrong(token, bad.what, bad.hint)
            return False
        return True

    # Problems

    def _any(self, block: str) -> str:
        return next(iter(self.blocks[block]), "value")

    def _did_you_mean(self, name: str, known: Any) -> str:
        return "; ".join(filter(None, [did_you_mean(name, known), "for a plain brace write \\{"]))

    def _place(self, token: Token) -> tuple[int, int]:
        line, column = locate(self.inline, token.meta.get("at", 0), self.lines, self.cell)
        return line + self.body_line, column

    def _wrong(self, token: Token, what: str, hint: str = "") -> None:
        if len(self.out.problems) < MOST_PROBLEMS:
            self._problem(self._place(token), what, hint)
        elif len(self.out.problems) == MOST_PROBLEMS:
            self._problem(
                (0, 0),
                f"more than {MOST_PROBLEMS} problems in the prose of this note",
                "the rest is not listed",
            )

    def _problem(self, place: tuple[int, int], what: str, hint: str) -> None:
        self.out.problems.append(Problem(self.file, *place, what, hint))
