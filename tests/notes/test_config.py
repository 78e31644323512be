"""library.yaml."""

from __future__ import annotations

import pytest

from generator.circuit.circuit import Mains
from generator.notes.config import Config, Meter, parse_config

ALL = """\
name: Net shed
language: de-AT
mains: {voltage: 120 V, frequency: 60 Hz, band: 5 %}
currency: USD
group: Shed
country: AUT
licence: CC-BY-SA-4.0
address: https://example.org/shed
symbols: zig-zag
meter: {accuracy: 0.5 % + 2, input: 1 Mohm}
about: |
  First line.
  Second line.
"""


def test_all_that_library_yaml_may_say() -> None:
    config, problems = parse_config(ALL)
    assert problems == []
    assert config == Config(
        name="Net shed", language="de-AT", mains=Mains(120.0, 60.0, 0.05), currency="USD", group="Shed", country="AUT",
        licence="CC-BY-SA-4.0", address="https://example.org/shed/", symbols="zig-zag",
        meter=Meter("0.5 % + 2", "1 Mohm"), about="First line.\nSecond line.",
    )  # fmt: skip


def test_what_holds_where_library_yaml_is_silent() -> None:
    """230 V and 50 Hz as in IEC 60038, ±10 % as in EN 50160 (from memory)."""
    config, problems = parse_config("name: x\n")
    assert problems == []
    assert config.mains == Mains(voltage=230.0, frequency=50.0, band=0.10)
    assert (config.language, config.symbols, config.meter) == ("en", "IEC", Meter("1 % + 3", "10 Mohm"))


@pytest.mark.parametrize(
    ("lines", "messages"),
    [
        ("", ["1:1: library.yaml: name is missing; what the library is called"]),
        ("nmae: x", ["1:1: library.yaml: name is missing; what the library is called",
                     "1:1: nmae: no such key of library.yaml; did you mean name?"]),
        ("name: x\nadress: y", ["2:1: adress: no such key of library.yaml; did you mean address?"]),
        ("name: x\nmains: {voltage: 12 A}",
         ["2:18: voltage: 12 A is a current; a voltage is expected, such as 12 V"]),
        ("name: x\nmains: {voltage: 12 V}", ["2:18: voltage: 12 V is out of range; 50 V to 500 V"]),
        ("name: x\nmains: {voltage: 230 V ±6%}", ["2:18: voltage: 230 V ±6%: how far it may deviate is the band; band: 10 %"]),
        ("name: x\nmains: {frequency: 50 kHz}", ["2:20: frequency: 50 kHz is out of range; 10 Hz to 500 Hz"]),
        ("name: x\nmains: {frequency: 50..60 Hz}", ["2:20: frequency: 50..60 Hz is out of range; 10 Hz to 500 Hz"]),
        ("name: x\nmains: {band: 60 %}", ["2:15: band: 60 % is out of range; 0 % to 50 %"]),
        ("name: x\nmains: {volts: 230 V}", ["2:9: volts: no such key of mains; did you mean voltage?"]),
        ("name: x\nmains: 230 V", ["2:8: mains: keys with values are expected, not text; known: voltage, frequency, band"]),
        ("name: x\nlanguage: English", ["2:11: language: English is not known here; a language's code, such as en or de-AT"]),
        ("name: x\ncurrency: €", ["2:11: currency: € is not known here; its three letters in ISO 4217, such as EUR"]),
        ("name: x\ncountry: DE", ["2:10: country: DE is not known here; its three letters in ISO 3166-1, such as DEU or GBR"]),
        ("name: x\nsymbols: zigzag", ["2:10: symbols: zigzag is not known here; did you mean zig-zag?"]),
        ("name: x\nmeter: {accuracy: good}", ["2:19: accuracy: good is not an accuracy; per cent and counts, such as 1 % + 3"]),
    ],
)  # fmt: skip
def test_each_mistake_has_its_message_and_place(lines: str, messages: list[str]) -> None:
    _, problems = parse_config(lines)
    assert [str(problem) for problem in problems] == [f"library.yaml:{message}" for message in messages]


def test_what_is_wrong_falls_back_to_what_holds_without_it() -> None:
    config, problems = parse_config(
        "name: x\nmains: {voltage: 12 A, frequency: 60 Hz}\nlanguage: English\nmeter: {input: x}\n"
    )
    assert len(problems) == 3
    assert config == Config(name="x", mains=Mains(frequency=60.0))


@pytest.mark.parametrize(
    "address",
    ["example.org", "ftp://example.org/", "javascript:alert(1)", "https://", "https://a b/", "https://x/?q=1", "https://x/#y",
     "https://user:word@x/", "https://x:99999999/", 'https://x/"onload="', "https://[::1", "//x/"],
)  # fmt: skip
def test_what_is_no_address_of_a_site(address: str) -> None:
    config, problems = parse_config(f"name: x\naddress: '{address}'\n")
    assert config.address == ""
    (problem,) = problems
    assert problem.what == f"address: {address} is not an address of a site"
    assert problem.hint == "where the site is published, such as https://repairs.example.org/"


@pytest.mark.parametrize(
    "address", ["https://example.org", "http://localhost:8000/a/b/", "https://xn--caf-dma.example/"]
)
def test_an_address_ends_in_a_slash(address: str) -> None:
    config, problems = parse_config(f"name: x\naddress: {address}\n")
    assert problems == []
    assert config.address == address.rstrip("/") + "/"
