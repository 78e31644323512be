"""Folding, tokens, likeness of words, and the thesaurus of symptoms."""

from __future__ import annotations

import itertools
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from generator.finding import thesaurus, words
from generator.finding.asked import parted

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


def named(said: str, known: thesaurus.Thesaurus | None = None) -> list[str]:
    """What a text names, read in its own language."""
    lexicon = (known or thesaurus.default()).reading(said)
    return [name for clause in words.clauses(said) for name in lexicon.named(lexicon.content(clause))]


def test_words_that_carry_the_symptom_are_never_dropped() -> None:
    kept = ["not", "no", "on", "off", "up", "down", "out"]
    known = thesaurus.default()
    assert known.lexicon(["en"]).content(kept) == known.lexicon().content(kept) == kept
    built, _ = thesaurus.read("stop: {en: 'not, no, on, off, up, down, out, the'}", "symptoms.yaml")
    assert thesaurus.build([built]).lexicon().stop == {"the"}


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
        ("no longer turns on", "~dead"),
        ("heats up but no longer rotates", "~does-not-spin"),
        ("printer says ink not recognised", "~cartridge-refused"),
        ("forgot login", "~software-trouble"),
        ("not enough storage on phone", "~disk-fails"),
        ("zip stuck", "~torn-cloth"),
        ("bike puncture", "~bicycle-trouble"),
        ("Plays no CDs", "~does-not-read-discs"),
        ("powers up - no picture", "~comes-on"),
        ("cord rewind broken", "~cord-not-winding-in"),
        ("bread doesn't pop up", "~does-not-pop-up"),
        ("only toasts one side", "~wrong-temperature"),
        ("lines on the display", "~bad-picture"),
        ("stuck on one speed", "~only-one-speed"),
        ("no operating system", "~does-not-boot"),
        ("keeps popping up", "~not-closing"),
        ("speaker", "@speaker"),
    ],
)
def test_what_people_say_names_the_symptom(said: str, symptom: str) -> None:
    """Common practice, no source: what is meant was decided by reading it."""
    assert symptom in named(said)


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
        ("not noisy", "~makes-a-noise"),
        ("no burning smell", "~smells-burnt"),
        ("ne fuit pas", "~leaks"),
        ("will not stay on", "~stuck-on"),
        ("turns on, but does not respond", "~dead"),
        ("windows and password", "~does-not-boot"),
        ("ink", "~does-not-print"),
        ("dust", "~no-steam"),
        ("lid stuck", "~jams"),
        ("not working", "~dead"),
        ("hard disc", "~does-not-read-discs"),
        ("element broken", "~torn-cloth"),
        ("hdmi port broken", "~broken-cable"),
        ("button missing", "~torn-cloth"),
        ("button stuck", "~keyboard-trouble"),
        ("screen cracked", "~no-display"),
        ("cable too short", "~trips-the-supply"),
        ("intermittent fault", "~shows-an-error"),
        ("lines on screen", "~prints-badly"),
        ("skipping stitches", "~does-not-read-discs"),
        ("drawer won't close", "~does-not-read-discs"),
        ("LED driver warm", "~software-trouble"),
        ("sparks when turned on", "~comes-on"),
        ("lights stay on", "~comes-on"),
        ("strimmer line won't feed", "~prints-badly"),
        ("casing split", "~torn-cloth"),
        ("speaker pops", "~trips-the-supply"),
        ("electric fire stays cold", "~smokes"),
        ("new bulb installed", "~software-trouble"),
        ("noisy fan", "@fan"),
        ("keyboard dead", "@musical-instrument"),
        ("light comes on, no heat", "@lamp"),
    ],
)
def test_what_is_not_said_is_not_named(said: str, symptom: str) -> None:
    """A new clause and a negation both stand between; a phrase inside a longer one is not meant;
    a part is no slip for a symptom (French plante, sale; noise, blow)."""
    assert symptom not in named(said)


def test_a_library_adds_words_of_its_own(tmp_path: Path) -> None:
    own = tmp_path / "symptoms.yaml"
    own.write_text(
        "symptoms:\n  dead:\n    it: non si accende\n  sulks: {en: 'sulks, in a mood'}\ndevices:\n  proofing box: [proofing box, Gärbox]\n",
        "utf-8",
    )
    known, problems = thesaurus.load(own)
    assert problems == []
    assert named("non si accende", known) == ["~dead"]
    assert named("sulks", known) == ["~sulks"]
    assert named("Garbox", known) == ["@proofing-box"]
    assert "~dead" in named("does not turn on", known)


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
    assert copy.languages == known.languages == ("de", "en", "fr", "nl")
    for language, tongue in known.tongues.items():
        theirs = copy.tongues[language]
        assert (theirs.phrases, theirs.stop) == (tongue.phrases, tongue.stop)
        assert (theirs.plain, theirs.endings) == (tongue.plain, tongue.endings)
        assert {word: sorted(names) for word, names in theirs.groups.items()} == {
            word: sorted(names) for word, names in tongue.groups.items()
        }


ORDINARY = """back to black|one more|a brush|well done|all files|free|the shaft|changing|stripped|the mains|default
brown|sole trader|boxes|tired|trial|coiled|stared|latter|plain""".replace("\n", "|").split("|")


@pytest.mark.parametrize(("typed", "word", "may"), [
    ("braker", "breaker", True), ("rlxay", "relay", False), ("tmier", "timer", True), ("smxoke", "smoke", True), ("blnk", "blink", False),
    ("mxotxor", "motor", False), ("niose", "noise", True),
])  # fmt: skip
def test_one_letter_lost_or_too_many_is_a_slip_two_are_none(typed: str, word: str, may: bool) -> None:
    """Of words that nobody knows, by the rule in words; five letters at least on the shorter side."""
    assert words.meant(typed, word, False) == may


@pytest.mark.parametrize("said", ORDINARY)
def test_ordinary_words_are_no_slips(said: str) -> None:
    """Each looks like a word of the thesaurus of some language (schwarz auf weiß: morte, bush, drone, fils, freeze, saft,
    charging, tripped, mins, defaut) and is one of its own."""
    lexicon = thesaurus.default().lexicon(["en"])
    for token in words.tokens(said):
        assert lexicon.resolve(token) in (token, token.removesuffix("ing") + "e")


# What lies beside each letter of the keyboard that most people have (QWERTY, ISO/IEC 9995; each row half a key further right)
BESIDE = {
    "q": "wa", "w": "qeas", "e": "wrsd", "r": "etdf", "t": "ryfg", "y": "tugh", "u": "yihj", "i": "uojk", "o": "ipkl", "p": "ol",
    "a": "qwsz", "s": "weadzx", "d": "ersfxc", "f": "rtdgcv", "g": "tyfhvb", "h": "yugjbn", "j": "uihknm", "k": "iojlm", "l": "opk",
    "z": "asx", "x": "sdzc", "c": "dfxv", "v": "fgcb", "b": "ghvn", "n": "hjbm", "m": "jkn",
}  # fmt: skip


def test_a_wrong_letter_is_a_slip_where_it_lies_beside_the_right_one() -> None:
    """All 650 wrong letters for one in the middle of a word of five that nobody knows."""
    for right, wrong in itertools.permutations(BESIDE, 2):
        assert words.meant(f"12{wrong}34", f"12{right}34", False) == (wrong in BESIDE[right]), (right, wrong)
        assert not words.meant(f"12{wrong}34", f"12{right}34", True)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("trun", "turn"),  # two swapped
        ("swithc", "switch"),
        ("braker", "breaker"),  # one lost
        ("heatting", "heating"),  # one doubled
        ("Wakelkontakt", "wackelkontakt"),
        ("rbeaker", "rbeaker"),  # never the first letter
        ("hums", "hums"),
        ("bettery", "bettery"),  # another letter is no slip: battery
        ("led", "led"),
    ],
)
def test_a_slip_is_a_swap_a_loss_or_a_doubling(typed: str, meant: str) -> None:
    """Decided by hand, by the rule."""
    token = words.tokens(typed)[0]
    assert thesaurus.default().lexicon().resolve(token) == meant


@pytest.mark.parametrize(
    ("said", "language"),
    [
        ("does not switch on any more", "en"),
        ("Gerät geht nicht mehr an", "de"),
        ("l'appareil ne s'allume plus", "fr"),
        ("het apparaat gaat niet meer aan", "nl"),
    ],
)
def test_a_text_is_read_in_its_own_language(said: str, language: str) -> None:
    assert thesaurus.default().spoken(words.tokens(said)) == (language,)


def test_words_of_another_language_do_not_act() -> None:
    """FI is a breaker in German only; wi-fi is one word; "jus" and "fils" are French."""
    known = thesaurus.default()
    assert "=fuse" in known.reading("der FI fliegt raus").word_groups("fi")
    assert "=fuse" not in known.reading("the fi is weak").word_groups("fi")
    assert words.tokens("Wi-Fi hi-fi") == ["wifi", "hifi"]
    assert "=cable" not in known.reading("all my fils are gone").word_groups("fils")


@pytest.mark.parametrize(
    ("said", "clauses"),
    [
        ("turns on, but does not respond", [["turns", "on"], ["but", "does", "not", "respond"]]),
        ("heats but not steams", [["heats"], ["but", "not", "steams"]]),
        ("turns on and does not heat", [["turns", "on"], ["and", "does", "not", "heat"]]),
        ("goes on and off", [["goes", "on", "and", "off"]]),
        ("ab und zu", [["ab", "und", "zu"]]),
        ("works only when moved", [["works", "only", "when", "moved"]]),
        ("dead when turned on", [["dead"], ["when", "turned", "on"]]),
    ],
)
def test_a_new_thought_is_a_new_clause(said: str, clauses: list[list[str]]) -> None:
    assert words.clauses(said) == clauses


def test_a_negation_turns_its_neighbours_round() -> None:
    lexicon = thesaurus.default().lexicon(["en"])
    assert lexicon.negated(["wont", "turn", "on"]) == [False, True, True]
    assert lexicon.negated(["heats", "plate", "one", "never"]) == [False, True, True, False]
    assert lexicon.negated(["turns", "slowly"]) == [False, False]


def test_a_slip_in_the_library_s_words_is_told_at_its_place(tmp_path: Path) -> None:
    """Lines and columns from one on, as an editor counts them."""
    own = tmp_path / "symptoms.yaml"
    own.write_text("symptoms:\n  - [dead, silent]\nnoises: [hum]\n", "utf-8")
    _known, problems = thesaurus.load(own)
    assert [(problem.line, problem.column) for problem in problems if "noises" in problem.what] == [(3, 1)]
    own.write_text("symptoms:\n  - {a: b}\n", "utf-8")
    _known, problems = thesaurus.load(own)
    assert [(problem.line, problem.column) for problem in problems] == [(2, 3)]


@pytest.mark.parametrize(("token", "parts"), [
    ("pumpmotor", ["pump", "motor"]), ("motorpump", ["motor", "pump"]), ("pumpenmotor", ["pump", "motor"]),
    ("fanmotor", ["fanmotor"]), ("motorfan", ["motorfan"]), ("motor", ["motor"]),
])  # fmt: skip
def test_a_compound_is_parted_where_both_halves_are_words_of_four_letters_or_more(
    token: str, parts: list[str]
) -> None:
    reader = SimpleNamespace(knows={"pump", "motor", "fan"}.__contains__)
    assert parted(reader, token) == parts  # type: ignore[arg-type]
