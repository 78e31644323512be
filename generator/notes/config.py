"""library.yaml: what holds for all notes of a library."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path
from urllib.parse import urlsplit

from generator.circuit.block import Mains
from generator.notation import tolerance
from generator.notation.quantity import Quantity, QuantityError, parse
from generator.notation.tolerance import ToleranceError
from generator.notes.fields import Fields, Report
from generator.notes.frontmatter import load
from generator.notes.keys import names
from generator.notes.standard import COUNTRY
from generator.notes.text import UnusableFile, read_text, shown, shown_path
from generator.problems import Problem

CONFIG_FILE = "library.yaml"

CONFIG = names("library")
MAINS = names("mains")
METER = names("meter")
POOL = names("pool")
MOST_POOLS = 100
SYMBOLS = ("IEC", "zig-zag")

# BCP 47: language, script, region
_LANGUAGE = re.compile(r"[a-z]{2,3}(?:-[A-Za-z]{4})?(?:-[A-Za-z]{2}|-[0-9]{3})?")
_CURRENCY = re.compile(r"[A-Z]{3}")  # ISO 4217


@dataclass(frozen=True, slots=True)
class Meter:
    """The meter at the bench: accuracy as "1 % + 3" (share and counts), input as "10 Mohm".

    The default is a hand-held 3½-digit meter's (common practice, no source).
    """

    accuracy: str = "1 % + 3"
    input: str = "10 Mohm"


@dataclass(frozen=True, slots=True)
class Pool:
    """Another library whose notes this one's site has as well: its folder from this library's, and the name under which
    its notes stand. place: line and column."""

    source: str
    name: str
    place: tuple[int, int] = (0, 0)


@dataclass(frozen=True, slots=True)
class Config:
    """What library.yaml says. address is the published site's, ending in /, or ""; symbols is IEC or zig-zag."""

    name: str = ""
    language: str = "en"
    mains: Mains = field(default_factory=Mains)
    currency: str = "EUR"
    group: str = ""
    country: str = ""
    licence: str = ""
    address: str = ""
    symbols: str = "IEC"
    meter: Meter = field(default_factory=Meter)
    about: str = ""
    pool: tuple[Pool, ...] = field(default=(), repr=False)  # of it, a note knows only whether there is one


def read_config(content: Path) -> tuple[Config, list[Problem]]:
    """The library.yaml of a folder; defaults for what is absent or wrong."""
    path = content / CONFIG_FILE
    file = shown_path(path)
    if not path.is_symlink() and not path.exists():
        what = "no library.yaml; this folder is not a library"
        hint = "`benchlore writeup KIND-OF-DEVICE` makes one"
        return Config(), [Problem.of_file(shown_path(content), what, hint)]
    try:
        text = read_text(path)
    except UnusableFile as error:
        return Config(), [error.problem(file)]
    return parse_config(text, file)


def parse_config(text: str, file: str = CONFIG_FILE) -> tuple[Config, list[Problem]]:
    """As read_config, for the file's text."""
    loaded = load(text, 1, file)
    report = Report(file, loaded.marks, loaded.problems)
    fields = Fields(loaded.data, (), "library.yaml", CONFIG, report, loaded.complete)
    default = Config()
    config = Config(
        name=fields.text("name", 80, required=True, hint="what the library is called"),
        language=_matching(fields, "language", _LANGUAGE, "a language's code, such as en or de-AT")
        or default.language,
        mains=_mains(fields.fields("mains", "mains", MAINS)),
        currency=_matching(fields, "currency", _CURRENCY, "its three letters in ISO 4217, such as EUR")
        or default.currency,
        group=fields.text("group", 80),
        country=_matching(fields, "country", COUNTRY, "its three letters in ISO 3166-1, such as DEU or GBR"),
        licence=fields.text("licence", 200),
        address=_address(fields),
        symbols=fields.choice("symbols", SYMBOLS, default.symbols),
        meter=_meter(fields.fields("meter", "meter", METER)),
        about=fields.text("about", 5_000, lines=True),
        pool=_pools(fields),
    )
    return config, sorted(report.problems)


def _matching(fields: Fields, key: str, pattern: re.Pattern[str], hint: str) -> str:
    text = fields.text(key, 40)
    if text and not pattern.fullmatch(text):
        fields.wrong(key, f"{shown(text)} is not known here", hint)
        return ""
    return text


def _mains(fields: Fields) -> Mains:
    """Mains from 50 V to 500 V, 10 Hz to 500 Hz, with a band of at most 50 %."""
    mains = Mains()
    for key, unit, low, high in (("voltage", "V", 50, 500), ("frequency", "Hz", 10, 500)):
        quantity = _quantity(fields, key, unit)
        if quantity is None:
            continue
        if quantity.toleranced and quantity.value is not None:
            fields.wrong(key, f"{shown(quantity.text)}: how far it may deviate is the band", "band: 10 %")
        elif quantity.value is None or not low <= quantity.value <= high:
            fields.wrong(key, f"{shown(quantity.text)} is out of range", f"{low} {unit} to {high} {unit}")
        else:
            mains = replace(mains, **{key: quantity.value})
    return replace(mains, **_band(fields))


def _band(fields: Fields) -> dict[str, float]:
    """The mains band: `10 %`, or `+10/-6 %` where it reaches further to one side. 0 % to 50 %."""
    text = fields.text("band", 40)
    if not text:
        return {}
    hint = "a share, such as 10 % or +10/-6 %"
    try:
        shares = tolerance.read(text)
    except ToleranceError as error:
        fields.wrong("band", error.what, hint)
        return {}
    if shares is None:
        try:
            stated = parse(text, "", zero=True)
        except QuantityError as error:
            fields.wrong("band", error.what, hint)
            return {}
        shares = (stated.middle, stated.middle) if stated.value is not None else (1.0, 1.0)
    if not all(0 <= share <= 0.5 for share in shares):
        fields.wrong("band", f"{shown(text)} is out of range", "0 % to 50 %")
        return {}
    below, above = shares
    return {"band": above} if below == above else {"band": above, "under": below}


def _quantity(fields: Fields, key: str, unit: str) -> Quantity | None:
    text = fields.text(key, 40)
    if not text:
        return None
    try:
        return parse(text, unit, zero=unit == "")
    except QuantityError as error:
        fields.wrong(key, error.what, error.hint)
        return None


def _pools(fields: Fields) -> tuple[Pool, ...]:
    found = []
    for path, raw in fields.entries("pool", MOST_POOLS):
        entry = Fields(raw, path, "a pool", POOL, fields.report, fields.complete)
        source = entry.text(
            "from", 300, required=True, hint="the folder of the other library, such as ../mill-street"
        )
        name = entry.text(
            "as", 40, required=True, hint="the name under which its notes appear here, such as mill"
        )
        if name and not re.fullmatch(r"[a-z](?:[a-z0-9-]*[a-z0-9])?", name):
            hint = "small letters a to z, digits and -, a letter first: it is part of an address"
            entry.wrong("as", f"{shown(name)} is not a name for a pool", hint)
        elif source and name:
            found.append(Pool(source, name, fields.report.marks.value(path)))
    return tuple(found)


def _meter(fields: Fields) -> Meter:
    default = Meter()
    resistance = _quantity(fields, "input", "ohm")
    return Meter(
        accuracy=fields.accuracy("accuracy", default.accuracy),
        input=fields.text("input", 40) if resistance is not None else default.input,
    )


def _address(fields: Fields) -> str:
    text = fields.text("address", 200)
    if not text:
        return ""
    hint = "where the site is published, such as https://repairs.example.org/"
    try:
        parts = urlsplit(text)
        usable = (
            parts.scheme in ("http", "https") and bool(parts.hostname) and not (parts.query or parts.fragment)
        )
        usable = usable and parts.username is None and not re.search(r"[\s<>\"'\\^`{}|]", text)
        _ = parts.port
    except ValueError:
        usable = False
    if not usable:
        fields.wrong("address", f"{shown(text)} is not an address of a site", hint)
        return ""
    return text if text.endswith("/") else text + "/"
