"""Cases against answers: was it the true fault, or one that nobody could tell from it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

import yaml
from whole_devices.asked import Answer, Candidate

# what the simulation calls a failure -> words for it that a repairer would accept
MEANS = {
    "stuck open": {"stuck open", "open"},
    "stuck closed": {"stuck closed", "short", "welded", "stuck"},
    "worn": {"worn", "high"},
    "stalled": {"stalled", "stuck", "short", "low"},
    "dead": {"dead", "open", "empty", "low"},
    "leaky gate": {"leaky", "short"},
    "stuck low": {"stuck low", "stuck", "short"},
    "stuck high": {"stuck high", "stuck", "open"},
}
SAME_PLACE = 0.98  # of the first's share
CLASSES = ("open", "short", "high", "low", "leaky", "worn", "stuck", "bridge", "dead", "sound")


class Known:
    """A device as the scorer needs it: its note's blocks and the nets' names."""

    def __init__(self, note: str, nets: dict[str, str], ends: dict[str, tuple[str, str]]) -> None:
        """ends: of each part with two ends, the nodes of the simulation."""
        self.blocks: dict[str, Any] = yaml.safe_load(note)["blocks"]
        self.nets, self.ends = nets, ends

    def same(self, fit: Candidate, part: str, failed: str) -> bool:
        """Whether a candidate is this failure. part of a bridge: its two nets with a bar between."""
        if failed == "sound":
            return fit.sound
        if failed == "bridge":
            ends = {self.nets.get(name, name) for name in fit.between}
            return fit.failed == "bridge" and ends == set(part.split("|"))
        word = fit.failed.casefold()
        wanted = MEANS.get(failed, {failed})
        return (
            word in wanted or word.split(" ")[0] in wanted or word.split(",")[0] in wanted
        ) and self.same_part(fit, part)

    def same_part(self, fit: Candidate, part: str) -> bool:
        """By designator, also in a range (LD1-LD3); a relay's coil and contact by the block they are told
        in.
        """
        name, _, which = part.partition(" ")
        kind = self.blocks.get(fit.block, {}).get("kind", "")
        if which in ("coil", "contact"):
            return fit.part.split(" ")[0] == name and (kind.endswith("switch") == (which == "coil"))
        if "|" in part:
            return {self.nets.get(n, n) for n in fit.between} == set(part.split("|"))
        if part in self.blocks:  # a source stated in that block
            return fit.block == part and fit.failed in MEANS["dead"]
        if part == "mains":
            return kind == "mains-inlet" and fit.part.casefold() in ("", "mains", "supply")
        if part.startswith("BT"):
            return kind == "battery-pack"
        if fit.part.casefold() == part.casefold():
            return True
        found = re.fullmatch(r"([A-Z]+)(\d+)-[A-Z]*(\d+)", fit.part)
        return bool(
            found
            and re.fullmatch(rf"{found[1]}\d+", part)
            and int(found[2]) <= int(part[len(found[1]) :]) <= int(found[3])
        )

    def right(self, fit: Candidate, case: dict[str, Any]) -> bool:
        """The truth, or tied with it; also together with the fuse that it blew. The fuse alone is right only
        where it is tied: whoever reads the cause and mends the fuse has not mended the device.
        """
        alone = self._without_blown(fit, case)
        return any(
            self.same(alone, part, failed) or self.same_circuit(alone, part, failed)
            for part, failed in [*truths(case), *map(tuple, case.get("tied", []))]
        )

    def on_true_part(self, fit: Candidate, case: dict[str, Any]) -> bool:
        """Whether it names the part that failed, however it says that it failed."""
        return self.same_part(self._without_blown(fit, case), truths(case)[0][0])

    def _without_blown(self, fit: Candidate, case: dict[str, Any]) -> Candidate:
        """Of a pair of a fuse that blew and something else, the something else."""
        fuses = [fuse for truth in case["truth"] for fuse in truth.get("blew", ())]
        for one, other in ((fit, fit.other), (fit.other, fit)):
            if one and other and any(self.same(one, fuse, "open") for fuse in fuses):
                return other
        return fit

    def same_circuit(self, fit: Candidate, part: str, failed: str) -> bool:
        """Whether both are one circuit: something that conducts, as well or as badly, across the same two nets.

        A bridge across a resistor, its leak and its value fallen cannot be told apart by any reading.
        """
        across = {self.nets.get(name, name) for name in fit.between} or set(
            self.ends.get(fit.part, self.ends.get(f"{fit.part} coil", ()))
        )
        there = set(part.split("|")) if "|" in part else set(self.ends.get(part, ()))
        return (
            len(across) == 2
            and across == there
            and bool(_conducts(fit.part, fit.failed) & _conducts(part, failed))
        )


def _conducts(part: str, failed: str) -> set[str]:
    """How well a failure conducts across its two nets: as a short, or as a leak; nothing for others."""
    if failed == "bridge":
        return {"short", "leak"}
    if failed == "leaky" or failed == "low" and re.match(r"(R|RL|TH|LDR|HE|M|L|BZ)\d", part):
        return {"leak"}  # a value fallen, of whatever is a resistance: of a resistor, a sensor, a coil
    return {"short"} if failed == "short" else set()


def truths(case: dict[str, Any]) -> list[tuple[str, str]]:
    return [(t["part"] or "|".join(sorted(t["between"])), t["failed"]) for t in case["truth"]] or [
        ("", "sound")
    ]


def class_of(failed: str) -> str:
    """The column of the confusion table."""
    word = failed.casefold()
    for name, start in (
        ("leaky", "leaky"),
        ("stuck", "stuck"),
        ("dead", "dead"),
        ("dead", "empty"),
        ("stuck", "stalled"),
        ("stuck", "welded"),
        ("worn", "worn"),
        ("bridge", "bridge"),
        ("sound", "none"),
    ):
        if word.startswith(start):
            return name
    return next((name for name in CLASSES if word.startswith(name)), "sound" if not word else "other")


Row = tuple[str, int, int]


def rows(
    cases: Sequence[dict[str, Any]],
    answers: Sequence[Answer],
    known: dict[str, Known],
    bench: Callable[[str], list[Row]],
) -> list[Row]:
    """(what, how many, of how many), in the order of the table. bench(half) gives those that ask for more
    readings.
    """
    by: dict[str, list[tuple[dict[str, Any], Answer, Known]]] = {}
    for case, answer in zip(cases, answers):
        by.setdefault(case["set"], []).append((case, answer, known[case["device"]]))

    def count(
        what: str,
        kind: str,
        hit: Callable[[dict[str, Any], Answer, Known], bool],
        only: Callable[[dict[str, Any]], bool] = lambda c: True,
    ) -> Row:
        chosen = [item for item in by.get(kind, []) if only(item[0])]
        return what, sum(hit(*item) for item in chosen), len(chosen)

    half = cases[0]["half"] if cases else ""

    def packs(case: dict[str, Any]) -> bool:
        return any(block["kind"] == "battery-pack" for block in known[case["device"]].blocks.values())

    told = lambda c, a, k: bool(a.fits) and not a.fits[0].sound  # noqa: E731
    return [
        count(
            "true failure first, or tied with it",
            "fault",
            lambda c, a, k: any(k.right(f, c) for f in _in_front(a.fits)),
        ),
        count("in the first three", "fault", lambda c, a, k: any(k.right(f, c) for f in a.fits[:3])),
        count(
            "the part itself first, ties not counted",
            "fault",
            lambda c, a, k: bool(a.fits) and k.on_true_part(a.fits[0], c),
        ),
        count("(for these, something is tied with the truth)", "fault", lambda c, a, k: bool(c["tied"])),
        count("sound told that something is wrong", "sound", told),
        count("sound, a load 20 % off, told", "off", told, lambda c: not packs(c)),
        count("sound, on a battery, its load off or it half empty, told", "off", told, packs),
        count(
            "misread: true part listed",
            "misread",
            lambda c, a, k: any(k.on_true_part(f, c) for f in a.fits[:8]),
        ),
        count("misread: bad reading named", "misread", lambda c, a, k: c["wrong"] in a.doubted),
        count("two faults: says that no single one explains", "double", lambda c, a, k: a.beyond_one),
        count("two faults: pair in the first three", "double", _pair),
        *bench(half),
        ("readings that could be used", sum(a.used for a in answers), sum(len(c["readings"]) for c in cases)),
        ("answers at all", sum(bool(a.fits) for a in answers), len(answers)),
    ]


def _in_front(fits: Sequence[Candidate]) -> list[Candidate]:
    """The first, and those that share its place: two pins in series cannot be told apart from where they are read."""
    return [fit for fit in fits if fit.share >= SAME_PLACE * fits[0].share]


def _pair(case: dict[str, Any], answer: Answer, known: Known) -> bool:
    one, other = truths(case)
    for fit in answer.fits[:3]:
        if fit.other and any(
            known.same(fit, *a) and known.same(fit.other, *b) for a, b in ((one, other), (other, one))
        ):
            return True
    return False


def confusion(cases: Sequence[dict[str, Any]], answers: Sequence[Answer], known: dict[str, Known]) -> str:
    """Rows: the class that was injected; columns: the class put first; right ones, ties included, in the
    last.
    """
    table: dict[str, Counter[str]] = {}
    right: Counter[str] = Counter()
    for case, answer in zip(cases, answers):
        if case["set"] not in ("fault", "sound"):
            continue
        true = class_of(truths(case)[0][1])
        first = answer.fits[0] if answer.fits else None
        table.setdefault(true, Counter())["none" if first is None else class_of(first.failed)] += 1
        right[true] += any(known[case["device"]].right(fit, case) for fit in _in_front(answer.fits))
    columns = [*CLASSES, "other", "none"]
    lines = [f"{'injected':10}" + "".join(f"{c:>7}" for c in columns) + "   right"]
    for name in CLASSES:
        if name in table:
            total = sum(table[name].values())
            lines.append(
                f"{name:10}"
                + "".join(f"{table[name][c] or '.':>7}" for c in columns)
                + f"   {right[name]} of {total}"
            )
    return "\n".join(lines)
