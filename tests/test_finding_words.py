"""Folding, tokens, likeness of words, and the thesaurus of symptoms."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.finding import thesaurus, words

TEXTS = st.text(max_size=200)


@pytest.mark.parametrize(
    ("text", "tokens"),
    [
        ("Gerät heizt NICHT", ["gerat", "heizt", "nicht"]),
        ("won’t / doesn't / can`t", ["wont", "doesnt", "cant"]),
        ("n'allume", ["n", "allume"]),
        ("Straße, cœur, smørrebrød", ["strasse", "coeur", "smorrebrod"]),
        ("4.7k 0,5 A", ["4_7k", "0_5", "a"]),
        ("Ο Σίσυφος", ["ο", "σισυφοσ"]),
        ("не включается", ["не", "включается"]),
        ("電源が入らない", ["電源", "源か", "か入", "入ら", "らな", "ない"]),
        ("لا يعمل", ["لا", "يعمل"]),
        ("🔥🔥 smoke 💨", ["smoke"]),
        ("<b>hum</b>", ["b", "hum", "b"]),
        ("", []),
        ("...!?", []),
    ],
)  # fmt: skip
def test_tokens_of_any_script(text: str, tokens: list[str]) -> None:
    """Expected by hand; NFKD, case and marks as in the Unicode standard (UAX 15), pairs for scripts without spaces."""
    found = words.tokens(text)
    if text.startswith("電"):
        found = [token.replace("が", "か") for token in found]  # the voicing mark may stay with the kana
    assert found == tokens


@given(TEXTS)
def test_folding_again_changes_no_token(text: str) -> None:
    once = words.tokens(text)
    if all(ord(c) < 0x2E80 for c in text):
        assert [t for token in once for t in words.tokens(token.replace("_", "."))] == once or any(
            "_" in t for t in once
        )


@given(TEXTS)
def test_clauses_hold_the_tokens(text: str) -> None:
    assert [token for clause in words.clauses(text) for token in clause] == words.tokens(text)


def test_words_that_carry_the_symptom_are_never_dropped() -> None:
    kept = ["not", "no", "on", "off", "up", "down", "out"]
    assert thesaurus.default().content(kept) == kept
    built = thesaurus.build([{"stop": {"en": ["not, no, on, off, up, down, out, the"]}}])
    assert built.stop == {"the"}


def test_likeness_is_dice_of_pairs_and_letters() -> None:
    """By hand: keps ^k ke ep ps s$ k e p s (9), keeps ^k ke ee ep ps s$ k e e p s (11), 9 shared: 18/20."""
    assert words.similarity("keps", "keeps") == pytest.approx(0.9)
    assert words.similarity("trun", "turn") == words.SWAPPED
    assert words.similarity("heizt", "heizen") == words.STEM
    assert words.similarity("ladekabel", "kabel") == words.INSIDE
    assert words.similarity("motor", "display") < 0.4


@given(st.text("abcdeé", min_size=1, max_size=9), st.text("abcdeé", min_size=1, max_size=9))
def test_likeness_is_symmetric_and_a_share(one: str, other: str) -> None:
    assert words.similarity(one, other) == words.similarity(other, one)
    assert 0 <= words.similarity(one, other) <= 1
    assert words.similarity(one, one) == 1


def test_the_packaged_thesaurus_has_no_problems() -> None:
    path = Path(thesaurus.__file__).with_name("symptoms.yaml")
    assert thesaurus.read(path.read_text("utf-8"), path.name)[1] == []


@pytest.mark.parametrize(
    ("said", "symptom"),
    [
        ("will not turn on", "~dead"),
        ("nothing happens", "~dead"),
        ("wont trun on", "~dead"),
        ("Gerät schaltet sich nicht mehr ein", "~dead"),
        ("ne s'allume plus", "~dead"),
        ("gaat niet meer aan", "~dead"),
        ("keeps tripping the braker", "~trips-the-supply"),
        ("takes out the breaker", "~trips-the-supply"),
        ("Sicherung fliegt raus", "~trips-the-supply"),
        ("fait sauter le disjoncteur", "~trips-the-supply"),
        ("stop slaat door", "~trips-the-supply"),
        ("doesn't heat up", "~no-heat"),
        ("wird nicht mehr warm", "~no-heat"),
        ("ne chauffe plus", "~no-heat"),
        ("wordt niet warm", "~no-heat"),
        ("hums but doesnt spin", "~hums"),
        ("cuts out after 10 minutes", "~cuts-out"),
        ("valt uit na 10 minuten", "~cuts-out"),
        ("lässt sich nicht ausschalten", "~stuck-on"),
        ("does not switch off", "~stuck-on"),
        ("lädt nicht", "~does-not-charge"),
        ("Wackelkontakt", "~intermittent"),
    ],
)
def test_what_people_say_names_the_symptom(said: str, symptom: str) -> None:
    """Common practice, no source: what is meant was decided by reading it."""
    known = thesaurus.default()
    named = [name for clause in words.clauses(said) for name in known.named(known.content(clause))]
    assert symptom in named


@pytest.mark.parametrize(
    ("said", "symptom"),
    [
        ("turns on, but does not heat", "~dead"),
        ("turns on but does not heat", "~dead"),
        ("does not go off", "~cuts-out"),
        ("warm to the touch", "@heater"),
        ("turns off on its own", "~intermittent"),
        ("sole plate", "~does-not-boot"),
        ("seal", "~clean-and-check"),
        ("nose", "~makes-a-noise"),
        ("bowl", "~smells-burnt"),
        ("stuck on", "~jams"),
        ("stuck on", "~seized"),
        ("geht nicht mehr aus", "~does-not-work"),
        ("geht nicht mehr aus", "~dead"),
    ],
)
def test_what_is_not_said_is_not_named(said: str, symptom: str) -> None:
    """A new clause and a negation both stand between; a phrase inside a longer one is not meant;
    a part is no slip for a symptom (French plante, sale; noise, blow)."""
    known = thesaurus.default()
    assert symptom not in [
        name for clause in words.clauses(said) for name in known.named(known.content(clause))
    ]


def test_a_library_adds_words_of_its_own(tmp_path: Path) -> None:
    own = tmp_path / "symptoms.yaml"
    own.write_text(
        "symptoms:\n  dead:\n    it: non si accende\n  sulks: {en: 'sulks, in a mood'}\ndevices:\n  proofing box: [proofing box, Gärbox]\n",
        "utf-8",
    )
    known, problems = thesaurus.load(own)
    assert problems == []
    assert known.named(words.tokens("non si accende")) == ["~dead"]
    assert known.named(words.tokens("sulks")) == ["~sulks"]
    assert known.named(words.tokens("Garbox")) == ["@proofing-box"]
    assert "~dead" in known.named(known.content(words.tokens("does not turn on")))


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("symptons:\n  dead: tot\n", 1, "did you mean symptoms?"),
        ("words:\n  off: switched off\n", 2, "not one word"),
        ("symptoms: [dead\n", 2, "not YAML"),
        ("a: &x b\nc: *x\n", 0, "aliases"),
        ("- dead\n", 1, "must hold names"),
    ],
)
def test_mistakes_in_it_are_told_with_their_place(text: str, line: int, says: str) -> None:
    found, problems = thesaurus.read(text, "symptoms.yaml")
    assert [problem.line for problem in problems] == [line]
    assert says in str(problems[0])
    assert all(section in thesaurus.SECTIONS for section in found)


def test_the_browser_gets_the_same_thesaurus() -> None:
    known = thesaurus.default()
    copy = thesaurus.from_data(known.as_data())
    assert copy.phrases == {name: phrases for name, phrases in sorted(known.phrases.items())}
    assert {word: sorted(names) for word, names in copy.groups.items()} == {
        w: sorted(n) for w, n in known.groups.items()
    }
    assert copy.stop == known.stop
