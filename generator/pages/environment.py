"""Jinja2 as the theme uses it: in a sandbox, escaped by default, and quick where a page asks often.

Two things differ from Jinja2's own environment, neither in what a template means: a text that is translated and has no
names in it is put in when the template is compiled, and an entry of a dict, or what a view states, is looked for there first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from jinja2 import FunctionLoader, StrictUndefined, nodes
from jinja2.visitor import NodeTransformer

from generator import language
from generator.circuit.sheet import shortened
from generator.pages.sandbox import Counting, Sandbox
from generator.pages.typography import breakable, css_string, unbroken

Source = tuple[str, str]  # the text of a template, and the file that it stands in, as messages call it


class _Environment(Sandbox):
    gettext: Callable[[str], str]
    counted_files: frozenset[str]

    def _generate(self, source: nodes.Template, name: Any, filename: Any, *args: Any, **kwargs: Any) -> str:
        if filename in self.counted_files:
            source = Counting().visit(source)
        source = _Translated(self.gettext).visit(source)
        return str(super()._generate(source, name, filename, *args, **kwargs))

    def getattr(self, obj: Any, attribute: str) -> Any:
        if type(obj) is dict and attribute in obj:
            return obj[attribute]
        if attribute in getattr(type(obj), "__dataclass_fields__", ()) and attribute[0] != "_":
            return getattr(obj, attribute)
        return super().getattr(obj, attribute)


class _Translated(NodeTransformer):
    """Puts the translation of each `_("...")` in its place; texts with names in them wait for their names."""

    def __init__(self, gettext: Callable[[str], str]) -> None:
        self.gettext = gettext

    def visit_Call(self, node: nodes.Call, *args: Any, **kwargs: Any) -> nodes.Node:  # noqa: N802 - the visitor's own name
        plain = (
            isinstance(node.node, nodes.Name)
            and node.node.name == "_"
            and not (node.kwargs or node.dyn_args or node.dyn_kwargs)
        )
        if plain and len(node.args) == 1 and isinstance(node.args[0], nodes.Const):
            # a text is always a format, with or without names: %% is a %
            text = self.gettext(node.args[0].value) % {}
            return nodes.MarkSafe(nodes.Const(text, lineno=node.lineno), lineno=node.lineno)
        return self.generic_visit(node, *args, **kwargs)


def environment(templates: Mapping[str, Source], counted: frozenset[str], translations: Any) -> Sandbox:
    """The environment of a theme. counted: the files whose loops are counted, for somebody else may have written them."""

    def load(name: str) -> tuple[str, str, Callable[[], bool]] | None:
        found = templates.get(name)
        return None if found is None else (*found, lambda: True)

    made = _Environment(
        loader=FunctionLoader(load),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        cache_size=-1,
        extensions=["jinja2.ext.i18n"],
    )
    made.policies["json.dumps_kwargs"] = {"sort_keys": True, "separators": (",", ":")}  # pages carry tables
    made.gettext, made.counted_files = translations.gettext, counted
    made.install_gettext_translations(translations, newstyle=True)  # type: ignore[attr-defined]
    made.globals["_"] = made.globals["gettext"]
    made.filters["day"] = language.day
    made.filters["unbroken"] = unbroken
    made.filters["breakable"] = breakable
    made.filters["shorten"] = shortened
    made.filters["css_string"] = css_string
    return made
