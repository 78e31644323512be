"""Bring the catalogues up to date with the texts of the program and the theme: python -m generator.locale.update [LANGUAGE]

Collected are the texts marked with _() in Python and in templates; the texts that kinds of block declare (from the
live objects, so that a kind is written without marks); and in the files of circuit/ the constant texts of checks,
remarks and drawings, which are translated where they are shown. A language that has no catalogue yet is begun.
Maintenance only: nothing in the program imports this.
"""

from __future__ import annotations

import argparse
import ast
import io
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from generator.circuit import catalogue
from generator.circuit.block import MODES, Kind
from generator.circuit.param import Choice, Lines, Load, Part, Parts, Quantity
from generator.circuit.spread import SPREADS
from generator.diagnosis.cautions import CAUTIONS
from generator.diagnosis.hypotheses import WEIGHTS
from generator.diagnosis.proof import EXPECTED, SOURCE
from generator.diagnosis.spots import TERMINALS
from generator.language import LOCALES as FOLDER
from generator.notation.marking_tables import COLOURS, DIELECTRIC_WORDS
from generator.notation.part_classes import CLASSES
from generator.notation.parts import TOLERANCES
from generator.notes.standard import BARRIERS
from generator.notes.whole import USUAL_STATES
from generator.pages.catalogue import GROUPS
from generator.pages.theme import theme_folder

LOCALES = Path(FOLDER)
PACKAGE = Path(__file__).resolve().parent.parent
VERDICTS = ("within", "low", "high", "open", "short")  # diagnosis/readings.py
SHARED = ("rated", "needs", "collector", "drain")  # defaults of ratings.py; handed on by kinds
Message = tuple[str, "str | tuple[str, str]"]  # (context, text or (one, many))

# Calls in circuit/ whose constant texts are shown: function -> which arguments (keyword arguments by name).
SHOWN = {
    "Check": (0, 1), "worth_saying": (0, 1), "within": (0, 4, 5, "limit_is"), "at_least": (0, 4, 5, "least_is"), "rating": (4,), "named": (2,), "_named": (2,),
    "at_tap_line": (2,), "label_of": (1,),
}  # fmt: skip


def template() -> Catalog:
    """Every text that a catalogue has to have."""
    found = Catalog(fuzzy=False)
    for context, text in sorted(set(messages()), key=str):
        found.add(text, context=context or None)
    return found


def messages() -> Iterator[Message]:
    """(context, text) of every text that is shown."""
    yield from _marked()
    for kind in catalogue.all_kinds():
        yield from (("", text) for text in _declared(kind))
        terminals = (TERMINALS.get(name, name).replace("_", " ") for name in kind.terminals)
        yield from (("terminal", name) for name in terminals if _worded(name))
    for path in sorted((PACKAGE / "circuit").rglob("*.py")):
        yield from (("", text) for text in _constants(ast.parse(path.read_text("utf-8"))))
    yield from (
        ("failure", mode)
        for modes in (*MODES.values(), *WEIGHTS.values(), ("leaky", "intermittent", "weak"))
        for mode in modes
    )
    yield from (("verdict", word) for word in VERDICTS)
    yield from (("state", name) for name in USUAL_STATES)
    for caution in CAUTIONS.values():
        yield from (("", caution.title), ("", caution.words))
    tests = [test for expected in EXPECTED.values() for test in expected]
    words = (
        *GROUPS,
        *tests,
        SOURCE,
        *COLOURS,
        *DIELECTRIC_WORDS.values(),
        *CLASSES,
        *TOLERANCES,
        *BARRIERS,
        *SHARED,
        *SPREADS,
    )
    yield from (("", word) for word in words)


def _marked() -> Iterator[Message]:
    """Texts marked in the theme's templates, and in Python, also inside f-strings, where Babel's extractor does not look."""
    for _file, _line, text, _comments, context in extract_from_dir(
        theme_folder() / "templates", [("**.html", "jinja2")], {}
    ):
        yield (context or "", text if isinstance(text, str) else (text[0], text[1]))
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                texts = [
                    a.value for a in node.args if isinstance(a, ast.Constant) and isinstance(a.value, str)
                ]
                if node.func.id == "_" and len(texts) == 1:
                    yield ("", texts[0])
                elif node.func.id == "ngettext" and len(texts) == 2:
                    yield ("", (texts[0], texts[1]))
                elif node.func.id == "pgettext" and len(texts) == 2:
                    yield (texts[0], texts[1])


def _declared(kind: Kind) -> Iterator[str]:
    """What a kind says of itself, its parameters, values and parts."""
    values = (*kind.values, *kind.cut_values)
    texts = [kind.title, kind.what, kind.assumes, kind.earthed]
    for param in kind.params:
        texts += [
            param.what,
            param.called if isinstance(param, (Part, Parts, Load, Choice, Quantity)) else "",
        ]
        texts += [param.name.capitalize() if isinstance(param, Lines) else ""]
    for value in values:
        texts += [value.what, value.at, value.source, value.name.replace("_", " ")]
    texts += [extra.role for extra in kind.extra_parts]
    texts += [*kind.remarks.values(), *(variant.caption for variant in kind.variants)]
    yield from (text for text in texts if _worded(text))


def _constants(tree: ast.Module) -> Iterator[str]:
    """Constant texts of checks, remarks and drawings in a file of circuit/."""
    texts: list[str] = []
    constants = {
        target.id: node.value
        for node in tree.body if isinstance(node, ast.Assign)
        for target in node.targets if isinstance(target, ast.Name)
    }  # fmt: skip
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            texts += _shown_arguments(node, node.func.id)
        elif isinstance(node, ast.FunctionDef) and re.search(r"(?:^|_)remark$", node.name):
            texts += _remarks(node, constants)
    yield from (text for text in texts if _worded(text))


def _names(targets: Iterable[ast.expr]) -> set[str]:
    return {node.id for target in targets for node in ast.walk(target) if isinstance(node, ast.Name)}


def _shown_arguments(call: ast.Call, name: str) -> list[str]:
    if name == "Line":
        style = call.args[1].value if len(call.args) > 1 and isinstance(call.args[1], ast.Constant) else ""
        return _strings(call.args[0]) if style in ("r", "x", "e") else []
    places = SHOWN.get(name, ())
    chosen = [call.args[n] for n in places if isinstance(n, int) and n < len(call.args)]
    chosen += [word.value for word in call.keywords if word.arg in places]
    return [text for argument in chosen for text in _strings(argument)]


def _remarks(function: ast.FunctionDef, constants: dict[str, ast.expr]) -> list[str]:
    """The remarks of a kind's remark(): what it returns, and what stands in the tables that it looks them up in."""
    texts = []
    modes = {mode for found in MODES.values() for mode in found}
    parts = [node for node in ast.walk(function) if isinstance(node, ast.expr)]
    named = _names([ast.Tuple(elts=parts)]) & constants.keys()
    for node in [function, *(constants[name] for name in named)]:
        said = ast.get_docstring(function, clean=False)
        texts += [text for text in _strings(node) if " " in text and text not in modes and text != said]
    return texts


def _strings(node: ast.AST) -> list[str]:
    """Constant texts in an expression, but for those that _() has marked, and subscripts."""
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) else []
    if (
        isinstance(node, ast.JoinedStr)
        or isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "_"
    ):
        return []
    if (
        isinstance(node, ast.Compare)
        or isinstance(node, ast.Call)
        and not isinstance(node.func, ast.Attribute)
    ):
        return []
    return [text for child in ast.iter_child_nodes(node) for text in _strings(child)]


def _worded(text: str) -> bool:
    """Whether there is a word in it; "0 V", "L", "+" and "555" are the same in every language."""
    return re.search(r"\b[a-z]{2}|[A-Za-z]{3}", text) is not None


def update(language: str) -> tuple[int, int]:
    """Write a catalogue anew; returns (texts, those without a translation). What is no longer used is dropped."""
    path = LOCALES / f"{language}.po"
    old = Catalog(locale=language)
    if path.is_file():
        with path.open("rb") as file:
            old = read_po(file, locale=language)
    new = Catalog(
        locale=language, project="benchlore", header_comment=f"# Texts of benchlore: {language}", fuzzy=False
    )
    lacking = 0
    for message in template():
        if not message.id:
            continue
        known = old.get(message.id if isinstance(message.id, str) else message.id[0], message.context)
        new.add(message.id, known.string if known else "", context=message.context)
        forms = (
            [known.string]
            if known and isinstance(known.string, str)
            else list(known.string or ())
            if known
            else []
        )
        lacking += not forms or not all(forms)
    written = io.BytesIO()
    write_po(written, new, width=100, omit_header=True, sort_output=True)
    path.write_bytes(HEADER.format(language=language, plural=new.plural_forms).encode() + written.getvalue())
    return len(new), lacking


HEADER = """msgid ""
msgstr ""
"Language: {language}\\n"
"MIME-Version: 1.0\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
"Plural-Forms: {plural}\\n"

"""


def main() -> None:
    """Bring all catalogues up to date, or begin those that are named; what is missing is printed."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "language", nargs="*", help="code of a language, such as de; none: all that there are"
    )
    languages = parser.parse_args().language or [path.stem for path in sorted(LOCALES.glob("*.po"))]
    for language in languages:
        count, lacking = update(language)
        print(f"{language}: {count} texts, {lacking} without a translation")


if __name__ == "__main__":
    main()
