"""What is learned from a library, how likely a cause is, how sure that may be: held against sums by hand and SciPy."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from generator.finding import calibrate, codec, learn, likely, score
from generator.finding.index import Index, _steps, build_index, card_of
from generator.finding.reader import Card, Reader
from generator.finding.reasons import first_check
from generator.finding.record import Cause, Record


def note(slug: str, said: str, part: str, kind: str = "kettle", **more: object) -> Record:
    causes = (Cause(part, "open"),) if part else ()
    return Record(slug, "", "2026-01-01", kind, symptoms=(said,), causes=causes, **more)  # type: ignore[arg-type]


NOTES = [{"a": 1.0, "b": 2.0}, {"a": 1.0}, {"b": 1.0, "c": 1.0}, {"c": 3.0}, {"c": 1.0, "a": 0.5}]
CLASSES = [0, 0, 1, 2, 1]


def test_rarity_is_the_smoothed_inverse_frequency() -> None:
    """ln((1 + N) / (1 + n)) + 1, by hand: N = 99, n = 9: ln 10 + 1 = 3.302585."""
    assert score.rarity(99, 9) == pytest.approx(3.302585, abs=1e-6)


def test_the_fit_is_the_least_of_the_sum_that_is_stated() -> None:
    """The same sum written out note by note, minimised by scipy.optimize.minimize."""
    numpy, optimize = pytest.importorskip("numpy"), pytest.importorskip("scipy.optimize")
    terms = ["a", "b", "c"]
    vectors = numpy.array([[held.get(term, 0.0) for term in terms] for held in NOTES])
    vectors /= numpy.linalg.norm(vectors, axis=1, keepdims=True)
    meet = numpy.zeros((3, 3), bool)
    for vector, kind in zip(vectors, CLASSES):
        meet[vector > 0, kind] = True

    def summed(at: object) -> float:
        weights, biases = numpy.zeros((3, 3)), at[9:]
        weights[meet] = at[:9].reshape(3, 3)[meet]
        whole = 0.0
        for vector, kind in zip(vectors, CLASSES):
            scores = vector @ weights + biases
            whole += math.log(sum(math.exp(value) for value in scores)) - scores[kind]
        return whole + learn.PENALTY * float((weights**2).sum())

    best = optimize.minimize(summed, numpy.zeros(12), method="BFGS", options={"gtol": 1e-6})
    found = learn.learn(NOTES, CLASSES, 3)
    ours = numpy.zeros(12)
    for n, term in enumerate(terms):
        for kind, weight in found.weights[term]:
            assert meet[n, kind]
            ours[3 * n + kind] = weight
    ours[9:] = found.biases
    assert summed(ours) == pytest.approx(best.fun, rel=5e-3)


def test_rare_and_common_terms_are_summed_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    """Dense rows and triples are two ways to one sum."""
    numpy = pytest.importorskip("numpy")
    at = numpy.linspace(-1, 1, 9)
    sums = []
    for common in (1, 2, 99):
        monkeypatch.setattr(learn, "COMMON", common)
        problem = learn._Problem(NOTES, CLASSES, 3)
        sums.append(problem.value_and_slope(at[: len(problem.pairs) + 3]))
    for value, slope in sums[1:]:
        assert value == pytest.approx(sums[0][0], rel=1e-6)
        assert slope == pytest.approx(sums[0][1], rel=1e-4, abs=1e-6)


def test_nothing_is_learned_from_nothing() -> None:
    assert learn.learn([], [], 0).weights == {} and learn.learn([], [], 2).biases == [0.0, 0.0]


@pytest.fixture(scope="module")
def small() -> Index:
    records = [note(f"f{n}", "glurk" if n < 6 else "wumm", "fuse") for n in range(8)]
    records += [note(f"s{n}", "wumm", "seal", "radio") for n in range(4)]
    return build_index(records)


def test_a_word_makes_its_cause_likelier(small: Index) -> None:
    names = small.columns["cause"].names
    said = likely.says(small, {"glurk": 1.0})[0]
    assert dict(zip(names, said))["fuse open"] > 0 > dict(zip(names, said))["seal open"]
    # the softmax of score plus usual share: both causes together are certain (shares 8/12 and 4/12, by hand)
    shares = {"fuse open": 8 / 12, "seal open": 4 / 12}
    assert sum(shares[name] * math.exp(value) for name, value in zip(names, said)) == pytest.approx(
        1, abs=0.01
    )


def test_likelihoods_are_those_of_the_formula(small: Index) -> None:
    """By hand, for a query of no word that was learned: Z = 0.45 ln(V + 0.01) + 0.5 ln N + 0.78 E + 0.74 F.

    The kettle's fuse: V = 2, N = 8; the radio's seal: V = 0, N = 4. E and F are what the biases alone say.
    """
    share = [1.0 if n < 2 else 0.0 for n in range(12)]
    found = likely.likelihoods(small, share, [1.0] * 12, likely.says(small, {}), True)
    names, devices = small.columns["cause"].names, small.core["devices"]
    fuse = (devices.index("@kettle"), names.index("fuse open"))
    seal = (devices.index("@radio"), names.index("seal open"))
    by_cause = likely.says(small, {})[0]
    ahead = (
        0.45 * math.log(2.01 / 0.01) + 0.5 * math.log(8 / 4) + 0.78 * (by_cause[fuse[1]] - by_cause[seal[1]])
    )
    assert found[fuse] == pytest.approx(1 / (1 + math.exp(-ahead)), abs=2e-6)
    assert found[fuse] + found[seal] == pytest.approx(1, abs=2e-6)


def test_causes_are_summed_over_kinds_and_tempered() -> None:
    """By hand: square roots of .49, .25 and .16 are .7, .5, .4; of the fuse .7 + .4 = 1.1 of 1.6."""
    chances = {(0, 0): 0.49, (0, 1): 0.25, (1, 0): 0.16, (1, -1): 0.1}
    assert likely.by_cause(chances, 0.5) == {0: pytest.approx(0.6875), 1: pytest.approx(0.3125)}
    assert likely.by_cause(chances, 1.0) == {0: pytest.approx(0.722222), 1: pytest.approx(0.277778)}


def test_the_temperature_is_the_one_by_which_what_it_was_is_likeliest() -> None:
    """By hand: of two causes at 0.9 and 0.1 the first was right in 75 of 100: likeliest where 9^T = 3, T = 0.5. With
    no case at all it is what is usual; a few hardly move it."""
    likely_first = {(0, 0): 0.9, (0, 1): 0.1}
    cases = [(likely_first, 0)] * 75 + [(likely_first, 1)] * 25
    assert calibrate.best_step(cases * 100) == 0.5
    assert calibrate.best_step([]) == calibrate.USUAL
    assert 0.5 < calibrate.best_step(cases[72:77]) <= calibrate.USUAL


def test_what_a_kind_s_few_notes_cannot_tell_all_kinds_do(
    small: Index, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By hand: 12 notes with 2 causes, each found several times: 0 / 13. Of one kind with one note left: 1 / 2; with
    4 finds more of which 0.5 were found once: (1 + 2) / (1 + 4 + 1)."""
    assert likely.unseen(small, [1.0] * 12, False) == 0
    alone = [1.0] + [0.0] * 11
    assert likely.unseen(small, alone, False) == 0.5
    monkeypatch.setattr(small, "core", {**small.core, "found_once": 0.5})
    assert likely.unseen(small, alone, True) == 0.5
    monkeypatch.setattr(small, "core", {**small.core, "found_once": 1.0})
    assert likely.unseen(small, alone, True) == pytest.approx(5 / 6)


def test_a_kind_that_no_note_has_shares_the_causes_that_kinds_share() -> None:
    """By hand: of five finds three are of a cause that two kinds have: (3 + 0.5) / (5 + 1) may be known, 2.5 / 6 not."""
    things = [
        ("fuse", "kettle"),
        ("fuse", "kettle"),
        ("fuse", "radio"),
        ("seal", "kettle"),
        ("belt", "radio"),
    ]
    built = build_index([note(f"n{n}", "glurk", *thing) for n, thing in enumerate(things)])
    found = built.search("glurk", "egg incubator")
    assert found.other == pytest.approx(2.5 / 6, abs=1e-4) and found.kinds == ()
    assert sum(count.share for count in found.causes) == pytest.approx(3.5 / 6, abs=1e-4)


def test_words_that_no_note_of_the_kind_has_tell_little() -> None:
    """By hand: of nine fuses and one seal a count alone says 3 to 1 (the square root of 9), to the power 0.3: 1.39."""
    records = [note(f"n{n}", "glurk", "fuse") for n in range(9)] + [note("s", "glurk", "seal")]
    found = build_index(records).search("wumm", "kettle")
    assert found.relaxed and found.causes[0].cause == "fuse open"
    assert found.causes[0].share / found.causes[1].share == pytest.approx(3**0.3, rel=0.1)


def test_the_check_that_tells_most() -> None:
    """Entropies by hand, of shares .4, .35, .25: a check for the first alone: -(.4 ln .4 + .6 ln .6) = .673; for the
    third: .562; a reading taken at the first two: -(.4 ln .4 + .35 ln .35 + .25 ln .25) = 1.081."""
    cards = [Card("a", "", found_by="ohmmeter"), Card("b", "", found_by=""), Card("c", "", found_by="dye")]
    shares = [0.4, 0.35, 0.25]
    assert first_check(list(zip(shares, cards))) == "ohmmeter"
    cards[0] = cards[0]._replace(readings=("across C3",))
    cards[1] = cards[1]._replace(readings=("across c3",))
    assert first_check(list(zip(shares, cards))) == "across C3"
    assert first_check([(1.0, Card("x", ""))]) == ""


def test_shares_are_as_sure_as_they_are_right() -> None:
    """Over invented slips left out, tenth by tenth (benchmarks/finding_small.py): 120 of them, 150 notes."""
    import sys

    sys.path.insert(0, str(Path(__file__).parent.parent / "benchmarks"))
    import finding_small

    told = finding_small.left_out(150, folds=6, seed=1)
    assert finding_small.error_of(told.shares) < 0.12


ROW = Record("r1", "", "2025-03-01", "kettle", "Kettle", symptoms=("glurk glurk, not a sound",), outcome="fixed",
             source="North cafés", address="records/kettle.html#r1")  # fmt: skip


def test_a_row_is_found_shown_and_counted_and_teaches_nothing() -> None:
    records = [note(f"f{n}", "glurk", "fuse") for n in range(4)] + [note("s", "wumm", "seal")]
    plain, both = build_index(records), build_index([*records, ROW])
    found = both.search("glurk")
    (row,) = [hit for hit in found.results if hit.slug == "r1"]
    assert (row.source, row.address, row.causes) == (ROW.source, ROW.address, ()) and row.why == ("glurk",)
    assert found.total == plain.search("glurk").total + 1 and found.known == plain.search("glurk").known
    assert dict(found.facets["source"]) == {"North cafés": 1}
    assert both.search("", "", {"source": "North cafés"}).results[0].slug == "r1"
    assert both.core["learned"] == plain.core["learned"]
    shares = [count.share for count in plain.search("glurk").causes]
    assert [count.share for count in found.causes] == pytest.approx(shares, abs=1e-5)


def test_where_no_cause_stands_out_it_says_so() -> None:
    records = [
        note(f"n{n}", "glurk", part) for n, part in enumerate(("fuse", "seal", "belt", "coil", "lamp"))
    ]
    found = build_index(records).search("glurk")
    assert found.causes and not found.clear and found.check == ""
    clear = build_index([note(f"n{n}", "glurk", "fuse") for n in range(5)]).search("glurk")
    assert clear.clear and clear.causes[0].share == 1


def test_codes_of_other_devices_are_no_match() -> None:
    """What a lamp that blinks says is the device's own affair."""
    records = [note("a", "red lamp blinks twice", "fuse"), note("b", "blinks", "coil", "radio")]
    records += [note(f"c{n}", f"lamp blinks, wumm {n}", "lamp", "printer") for n in range(6)]
    built = build_index(records)
    assert built.search("red lamp blinks twice").results[0].slug == "a"
    from generator.finding.entry import entry_of

    assert entry_of(records[0]).symptoms != entry_of(records[1]).symptoms


def test_compounds_are_split_by_the_librarys_own_words() -> None:
    records = [note("a", "Gebläse brummt", "Lager", "Föhn"), note("b", "Klappe quietscht", "Feder", "Ofen")]
    built = build_index(records)
    assert built.search("Gebläseklappe").total == 2


def test_what_is_learned_comes_back_to_the_nearest_step() -> None:
    """Packed for a file and unpacked again: what each class said to the nearest step, what said nothing left out."""
    weights = [(0, 1.03), (2, -0.48), (3, 0.0), (7, 100.0)]
    most = score.LEARNED_MOST
    reader = object.__new__(Reader)
    reader.constants = score.CONSTANTS
    found = dict(reader.learned(codec.pack_postings(_steps(weights), 2 * most + 1)))
    assert set(found) == {0, 2, 7}
    assert abs(found[0] - 1.03) <= score.LEARNED_STEP / 2 and abs(found[2] + 0.48) <= score.LEARNED_STEP / 2
    assert found[7] == pytest.approx(most * score.LEARNED_STEP)


def test_a_card_is_cut_where_nothing_follows() -> None:
    """What a result shows comes back from its list; empty entries at its end are left out, not those before."""
    bare = Record(slug="a", title="A", date="", device_kind="", symptoms=())
    assert card_of(bare) == ["a", "A"]
    row = Record(
        slug="b",
        title="B",
        date="",
        device_kind="kettle",
        symptoms=("dead",),
        source="Loft",
        address="rows/1",
    )
    card = Card(*card_of(row))
    assert (card.device_kind, list(card.symptoms), card.outcome, card.source, card.address) == (
        "kettle",
        ["dead"],
        "",
        "Loft",
        "rows/1",
    )
    assert card_of(row)[-1] == "rows/1" and "" in card_of(row)
