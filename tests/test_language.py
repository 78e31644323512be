"""The languages: nothing left untranslated, nothing lost in translation, dates and decimal marks as people write them."""

from __future__ import annotations

import ast
import dataclasses
import json
import os
import pickle
import re
import shutil
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po
from kind_cases import every_case

from generator import language
from generator.circuit import catalogue
from generator.circuit.block import Block
from generator.circuit.circuit import Mains, build_block
from generator.circuit.formula import evaluate
from generator.diagnosis.hypotheses import WEIGHTS, Change
from generator.diagnosis.naming import failed_name
from generator.drawing.frame import TitleBlock
from generator.locale import update
from generator.notation import marking_page
from generator.notation.printed import format_band, format_value
from generator.notation.quantity import parse
from generator.pages.blockview import block_view
from generator.pages.catalogue import kind_view

LANGUAGES = sorted(path.stem for path in Path(language.LOCALES).glob("*.po"))
PLACEHOLDER = re.compile(r"%\(\w+\)[sd]|%%|\{\w+\}")


@pytest.fixture(autouse=True)
def english() -> Iterator[None]:
    """Other tests read English."""
    yield
    language.use("en")


def known(code: str) -> dict[tuple[str, str], Any]:
    with (Path(language.LOCALES) / f"{code}.po").open("rb") as file:
        return {
            (m.context or "", m.id if isinstance(m.id, str) else m.id[0]): m
            for m in read_po(file, locale=code)
            if m.id
        }


@cache
def template() -> Catalog:
    """All texts of the package, collected once."""
    return update.template()


@cache
def wanted() -> dict[tuple[str, str], tuple[str, ...]]:
    """(context, text) -> all forms of the text."""
    return {
        (m.context or "", m.id if isinstance(m.id, str) else m.id[0]): (m.id,)
        if isinstance(m.id, str)
        else tuple(m.id)
        for m in template()
        if m.id
    }


# --- catalogues -----------------------------------------------------------------------------------------------------


def test_german_is_there() -> None:
    assert "de" in LANGUAGES


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_text_has_a_translation_and_none_is_left_over(code: str) -> None:
    """python -m generator.locale.update brings a catalogue up to date; then translate what is empty."""
    found = known(code)
    lacking = [key for key in wanted() if key not in found or not all(_forms(found[key].string))]
    assert lacking == []
    assert sorted(found.keys() - wanted().keys()) == []


@pytest.mark.parametrize("code", LANGUAGES)
def test_no_placeholder_is_lost(code: str) -> None:
    found = known(code)
    wrong = []
    for key, forms in wanted().items():
        for number, form in enumerate(_forms(found[key].string) if key in found else ()):
            source = forms[min(number, len(forms) - 1)]
            if (
                form
                and sorted(PLACEHOLDER.findall(source)) != sorted(PLACEHOLDER.findall(form))
                and not _plural_without_number(forms, form)
            ):
                wrong.append((source, form))
    assert wrong == []


def _forms(string: Any) -> tuple[str, ...]:
    return (string,) if isinstance(string, str) else tuple(string)


def _plural_without_number(forms: tuple[str, ...], form: str) -> bool:
    """A singular may leave its number out: "The reading fits" - "All 3 readings fit"."""
    return len(forms) == 2 and set(PLACEHOLDER.findall(form)) <= set(PLACEHOLDER.findall(forms[1]))


@pytest.mark.parametrize("code", LANGUAGES)
def test_a_translation_begins_and_ends_as_the_text_does(code: str) -> None:
    """Full stops, question marks and blanks at the ends: pieces are put together from them."""
    found, wrong = known(code), []
    for key, forms in wanted().items():
        for form in _forms(found[key].string) if key in found else ():
            ends = {text[-1] for text in forms if text[-1] in ".?!"}
            if form and (
                form != form.strip()
                or (ends and form[-1] not in ends)
                or (not ends and form[-1] in ".?!" and form[-4:] not in ("max.", "min."))
            ):
                wrong.append((key, form))
    # "No." is an abbreviation, "Nr." as well.
    assert [entry for entry in wrong if entry[0][1] != "No."] == []


def test_an_empty_catalogue_would_be_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The tests above can fail: a language that is begun anew lacks everything."""
    monkeypatch.setattr(update, "LOCALES", tmp_path)
    monkeypatch.setattr(update, "template", template)
    count, lacking = update.update("nl")
    assert lacking >= len(wanted()) > 1000 and count >= lacking


# --- what pages show ------------------------------------------------------------------------------------------------


def texts(shown: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], str]]:
    """Every text of a view with its place; of drawings what can be read."""
    if isinstance(shown, str):
        if "<svg" in shown or "<text" in shown:
            for text in re.findall(r"<(?:text|title|desc)\b[^>]*>([^<]*)<", shown):
                yield (*path, "svg"), text
        else:
            yield path, shown
    elif isinstance(shown, dict):
        for key, entry in shown.items():
            yield from texts(entry, (*path, key))
    elif dataclasses.is_dataclass(shown):
        yield from texts(vars(shown), path)
    elif isinstance(shown, (list, tuple)):
        for number, entry in enumerate(shown):
            yield from texts(entry, (*path, number))


def everything(code: str) -> dict[str, Any]:
    """All that is shown of kinds and markings, with every variant and every failure."""
    language.use(code)
    shown: dict[str, Any] = {"marking": marking_page.tables()}
    for kind in catalogue.all_kinds():
        shown[kind.name] = kind_view(kind)
    for number, (name, given) in enumerate(every_case()):
        shown[f"{name} {number}"] = block_view(_block(name, given), TitleBlock(title="-", key=f"k{number}"))
    return shown


def _block(name: str, parameters: dict[str, Any]) -> Block:
    block, troubles = build_block(name, parameters, Mains())
    assert block is not None, troubles
    return block


# Keys of views that hold names which notes and style sheets use, not words for people.
NAMES = {
    "name",
    "kind",
    "formula",
    "note",
    "parameter",
    "required",
    "verdict",
    "hazard",
    "group",
    "cautions",
    "from",
    "unit",
    "default",
    "working",
    "plan",
}
# Written by the author of an example, printed on chips, or the same word in both languages.
SAME = re.compile(
    r"^(?:\d × )?(?:li-ion|lead-acid|alkaline|ni-mh|ni-cd|li-fe-po4)$|^(?:in|out|sense|adjust|common|switch|prog|bat)$"
    r"|^hfe \d+$|^vth 2 V rds 50 mΩ$"
    r"|^(?:red|white|gold|orange|Code|heater|heater-drive|heat-lamp|lamp|air|menu|reset|spare|8-bit|base|door|lid|live|neutral"
    r"|shaded pole|cell \d|hall|reed)$"
)
# What the examples of kinds call their own parts, keys and nets.
OWN_WORDS = {
    "chain": {"slide switch", "spring", "case", "fan"},
    "key-ladder": {"up", "down", "ok", "wash", "spin", "stop", "play", "skip"},
    "network": {"npn", "collector", "emitter", "plus", "regulator", "hot", "button", "fused", "schottky"},
}


def test_nothing_that_is_shown_stays_english() -> None:
    """Whatever a kind's pages show differs from the English, but for names and what authors wrote."""
    english_texts, german_texts = list(texts(everything("en"))), list(texts(everything("de")))
    assert len(english_texts) == len(german_texts) > 5000
    translated = {m.string for m in known("de").values() if m.id == m.string}
    left = []
    for (place, english_text), (other, german_text) in zip(english_texts, german_texts):
        assert place == other
        named = NAMES & {key for key in place if isinstance(key, str)} and place[-1] != "svg"
        words = re.sub(r"\d[\d.,]*\s?\S*|\bk?[VAW]?Ω\b", "", english_text)  # without figures and their units
        written = SAME.match(english_text) or english_text in translated
        written = written or english_text in OWN_WORDS.get(place[0].split()[0], ())
        written = written or (place[1:3] == ("cuts", "rows") and place[-1] == 0)  # names of cut points
        if english_text == german_text and re.search("[a-z]{2}", words) and not named and not written:
            left.append((place, english_text))
    assert left == []


def test_checks_are_no_patchwork_of_languages() -> None:
    """A sentence is either a text of the catalogue or a pattern of it with numbers in: no words in an f-string of a check."""
    found = []
    for path in sorted((update.PACKAGE / "circuit").rglob("*.py")):
        for function in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(function, ast.FunctionDef) and _calls(function) & {
                "Check",
                "within",
                "at_least",
                "rating",
            }:
                found += [f"{path.name}: {ast.unparse(node)}" for node in ast.walk(function) if _worded(node)]
    assert found == []


def _calls(function: ast.FunctionDef) -> set[str]:
    return {
        node.func.id
        for node in ast.walk(function)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }


def _worded(node: ast.AST) -> bool:
    """An f-string with words of its own, not names."""
    pieces = (
        [piece.value for piece in node.values if isinstance(piece, ast.Constant)]
        if isinstance(node, ast.JoinedStr)
        else []
    )
    return any(re.search(r"(?:^|\s)[A-Za-z]{3,}(?:[\s:,;]|$)", str(piece)) for piece in pieces)


# --- numbers and dates ----------------------------------------------------------------------------------------------


def test_decimal_marks() -> None:
    """A comma in German (DIN 1333), a point in English and in Switzerland (CLDR, de-CH)."""
    for code, value, band in (
        ("en", "15.6 V", "14.0 to 17.2 V"),
        ("de", "15,6 V", "14,0 bis 17,2 V"),
        ("de-CH", "15.6 V", "14.0 bis 17.2 V"),
    ):
        language.use(code)
        assert format_value(15.57, "V") == value
        assert format_band(14.0, 17.2, "V") == band


@pytest.mark.parametrize("code", ["en", "de"])
def test_what_is_printed_can_be_typed_in(code: str) -> None:
    """Values in a note may be written with either mark; what a page prints in a language is read again as the same."""
    language.use(code)
    for value, unit in (
        (15.6, "V"),
        (4700.0, "ohm"),
        (3.3e-7, "F"),
        (0.0123, "A"),
        (1234.5, "Hz"),
        (2.5, "K"),
    ):
        assert parse(format_value(value, unit, 5, trim=True), unit).value == pytest.approx(value, rel=1e-6)


def test_workings_in_german_come_to_the_printed_result() -> None:
    """With commas put back to points, the sum that is printed is the sum that is meant."""
    language.use("de")
    checked = 0
    for kind in catalogue.all_kinds():
        for result in _block(kind.name, dict(kind.example)).values.values():
            working = language.words(result.working)
            if not working:
                continue
            assert not re.search(r"\d\.\d", working), working
            left, _equals, right = working.rpartition(" = ")
            if re.fullmatch(r"[\d,\s·/+\-−()²√]+(?: V)?", left) and result.unit == "V":  # plain sums of volts
                numbers = left.replace(" V", "").replace(",", ".")
                assert evaluate(numbers, {}) == pytest.approx(
                    parse(right, "V", positive=False, zero=True).middle, rel=0.01
                )
                checked += 1
    assert checked > 3


def test_two_arguments_are_kept_apart_where_the_comma_is_the_decimal_mark() -> None:
    language.use("de")
    from generator.circuit.working import working

    assert (
        working("max(a, b)", {"a": 0.7, "b": 1.25}, {"a": "V", "b": "V"}, 1.25, "V")
        == "max(0,7 V; 1,25 V) = 1,25 V"
    )


def test_dates() -> None:
    """As DIN 5008 has them in words, as ISO 8601 in data, and in the English of the world (CLDR 001) or of a country."""
    for code, text in (
        ("de", "14. März 2026"),
        ("en", "14 March 2026"),
        ("en-GB", "14 March 2026"),
        ("en-US", "March 14, 2026"),
    ):
        language.use(code)
        assert language.day("2026-03-14") == text
    assert language.day("") == ""


def test_a_language_without_a_catalogue_is_english_but_for_its_numbers() -> None:
    language.use("fr")
    assert (
        language._("Readings") == "Readings"
        and format_value(1.5, "V") == "1,50 V"
        and language.day("2026-03-14") == "14 mars 2026"
    )
    language.use("xx")
    assert format_value(1.5, "V") == "1.50 V" and language.day("2026-03-14") == "14 March 2026"


def test_a_region_reads_the_catalogue_of_its_language() -> None:
    language.use("de-AT")
    assert language._("Readings") == "Messwerte"


def test_what_is_meant_chooses_the_word() -> None:
    """A resistor that is high has gone high, a reading that is high reads too much."""
    language.use("de")
    assert language.failure_name("high") == "hochohmig" and language.verdict_name("high") == "zu hoch"
    assert language.failure_name("C3") == "C3" and language._("C3") == "C3"


@pytest.mark.parametrize(
    ("kind", "given", "name"),
    [
        ("network", {"parts": ["R1 1k from load to common"]}, "load"),
        ("chain", {"elements": ["R1 1k"], "between": ["supply", "output"]}, "supply"),
    ],
)
def test_a_name_that_the_author_gave_is_drawn_as_it_is(kind: str, given: dict[str, Any], name: str) -> None:
    """Though the catalogue has the word: a net called load is written so in the note, and is not "Last"."""
    language.use("de")
    assert language._(name) != name
    drawn = [text for _place, text in texts(block_view(_block(kind, given), TitleBlock(title="-", key="k0")))]
    assert name in drawn and language._(name) not in drawn


@pytest.mark.parametrize("part_class", [name for name, modes in WEIGHTS.items() if "low" in modes])
def test_only_a_capacitor_loses_capacitance(part_class: str) -> None:
    """A pot, a load or a battery that is low has something else of which there is too little."""
    language.use("de")
    change = Change(block="b", key="k", mode="low", called="X1", part_class=part_class)
    assert ("Kapazit" in failed_name(change)) == (
        part_class in ("capacitor", "mains capacitor", "electrolytic")
    )


# --- a German library in a browser ----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def german(tmp_path_factory: pytest.TempPathFactory, small_photos: Path) -> Path:
    """The site of the demonstration library with language: de; what its people wrote stays as it is. Outside CI a third of its
    notes is left out, and its photos are small."""
    from generator.build.build import build_site

    folder = tmp_path_factory.mktemp("german")
    shutil.copytree(small_photos, folder / "content")
    for path in (
        [] if os.environ.get("CI") == "true" else sorted((folder / "content" / "notes").glob("*.md"))[::2]
    ):
        path.unlink()
    config = folder / "content" / "library.yaml"
    text = config.read_text("utf-8")
    assert "language: en" in text
    config.write_text(text.replace("language: en", "language: de"), encoding="utf-8")
    built = build_site(folder / "content", folder / "site")
    language.use("en")
    assert built.written, [str(problem) for problem in built.problems]
    return folder / "site"


def test_data_for_machines_is_the_same_in_every_language(german: Path, site: Path) -> None:
    """note.json of the library in German and in English: the same but for the language that it names."""
    notes = sorted((german / "notes").glob("*/note.json"))
    assert len(notes) > 5
    for path in notes:
        ours, theirs = (
            json.loads((folder / path.relative_to(german)).read_text("utf-8")) for folder in (site, german)
        )
        assert (ours.pop("language"), theirs.pop("language")) == ("en", "de")
        assert ours == theirs


def test_a_message_waits_for_its_language() -> None:
    """A check worked out in one language is printed in another; as plain text it is English."""
    language.use("de")
    block = _block("sense-resistor", {"shunt": "R1 0R5 1W", "gain": "1", "limit": "2.5 V"})
    check = block.checks[0]
    assert str(check.what) == "dissipates, at the limit, 13.2 W, rated 1 W"
    german = language._(check.what)
    assert "13,2 W" in german and german != check.what
    assert pickle.loads(pickle.dumps(check)) == check
    assert language._(pickle.loads(pickle.dumps(check)).what) == german
    language.use("en")
    assert language._(check.what) == str(check.what)


# Every text of a page: what is seen, what is in its head, and what is read aloud. Scripts that are data are left out.
VISIBLE = """(html) => {
  const found = [], page = html ? new DOMParser().parseFromString(html, 'text/html') : document;
  const walk = page.createTreeWalker(page.documentElement, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode;
    if (!node.parentElement.closest('script, style')) found.push(node.textContent);
  }
  for (const node of page.querySelectorAll('*'))
    for (const name of ['aria-label', 'alt', 'placeholder', 'title', 'data-label', 'data-say'])
      if (node.getAttribute(name)) found.push(node.getAttribute(name));
  for (const node of page.querySelectorAll('template')) found.push(node.content.textContent);
  return found.map((text) => text.replace(/\\s+/g, ' ').trim()).filter(Boolean);
}"""


def english_sentences() -> dict[str, re.Pattern[str]]:
    """English texts of two words and more that German has otherwise, as patterns for whole texts of a page."""
    found = {}
    translations = known("de")
    for key, forms in wanted().items():
        for form in forms:
            if key not in translations:
                continue  # which the test of the catalogue tells
            if " " in form and len(form) > 7 and form not in _forms(translations[key].string):
                pieces = (re.escape(piece) for piece in PLACEHOLDER.split(form.replace("%%", "%")))
                literal = PLACEHOLDER.sub(" ", form)
                if len(re.findall("[a-z]{2,}", literal)) >= (
                    1 if literal == form else 3
                ):  # "%(a)s after %(b)s" is anybody's
                    found[form] = re.compile(".+".join(pieces))
    return found


@pytest.mark.browser
def test_no_english_is_left_on_a_german_site(browser: Any, german: Path) -> None:
    sentences = english_sentences()
    assert len(sentences) > 700
    whole = {form for form in sentences if not PLACEHOLDER.search(form)}
    patterns = [pattern for form, pattern in sentences.items() if form not in whole]
    tab = browser.new_page()
    tab.route(
        re.compile(r"\.(css|woff2|webp|png|svg|jpg)$"), lambda route: route.abort()
    )  # words need no looks
    left: list[tuple[str, str]] = []
    seen: dict[str, bool] = {}  # a text -> whether it is English; most stand on many pages
    count = 0
    folders: set[Path] = set()
    for path in sorted(german.rglob("*.html")):
        html = path.read_text("utf-8")
        assert '<html lang="de"' in html
        # scripts add the same words to all pages of a sort, but for the reading helper of a note
        if path.parent not in folders or path.parent == german:
            folders.add(path.parent)
            tab.goto(path.as_uri())
            html = ""
        for text in tab.evaluate(VISIBLE, html):
            count += 1
            if text not in seen:
                seen[text] = text in whole or any(pattern.fullmatch(text) for pattern in patterns)
            if seen[text]:
                left.append((path.relative_to(german).as_posix(), text))
    tab.close()
    assert count > 5000
    written_by_people = {"lithium cell", "gate drive"}  # a part; block "gate" and its terminal
    assert [entry for entry in left if entry[1] not in written_by_people] == []


@pytest.mark.browser
def test_numbers_and_dates_of_a_german_page(browser: Any, german: Path) -> None:
    """Commas in tables and drawings, dates in words with the machine's date behind them."""
    tab = browser.new_page()
    tab.goto((german / "notes" / "egg-incubator-stays-cold" / "index.html").as_uri())
    figures = tab.evaluate(
        "[...document.querySelectorAll('table.values td.figure, svg.sheet text')].map((node) => node.textContent)"
    )
    assert sum("," in text for text in figures) > 10
    assert [text for text in figures if re.search(r"\d\.\d", text)] == []
    time = tab.evaluate(
        "(({dateTime, textContent}) => [dateTime, textContent])(document.querySelector('time'))"
    )
    assert time == ["2026-03-14", "14. März 2026"]
    tab.close()


@pytest.mark.browser
def test_the_reading_helper_takes_both_marks_and_answers_in_german(browser: Any, german: Path) -> None:
    tab = browser.new_page()
    address = (german / "notes" / "egg-incubator-stays-cold" / "index.html").as_uri()
    answers = []
    for text in ("13,1 V", "13.1 V"):
        tab.goto("about:blank")
        tab.goto(address)
        tab.fill("[data-helper-form] input", text)
        answers.append(tab.inner_text("[data-helper-form]"))
    tab.close()
    assert answers[0] == answers[1]
    assert re.search(r"\d,\d", answers[0]) and not re.search(r"\d\.\d", answers[0])


PASS = r"Berichte? (?:und Einträge |oder Eintrag )?pass"


@pytest.mark.browser
def test_the_search_answers_in_german(browser: Any, german: Path) -> None:
    tab = browser.new_page()
    tab.goto((german / "index.html").as_uri())
    tab.fill("[data-find-words]", "stays cold")
    tab.wait_for_selector("[data-find-state=done]")
    tab.get_by_text(re.compile(PASS)).wait_for()
    status = tab.inner_text("[data-find-status]")
    assert re.search(PASS, status), status
    result = tab.inner_text("[data-find-results]")
    assert (
        re.search(r"\d\d?\. (?:Januar|Februar|März|Mai|November|Dezember|\w+) \d{4}", result)
        and "repariert" in result
    )
    tab.close()
