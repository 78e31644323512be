"""Makes cases.json anew, from one seed, by ngspice.

    nice python tests/benchmarks/whole_devices/generate.py [DEVICE ...]

Each device is simulated in a dozen specimens, each with every fault; the cases are drawn from them. Not run
by the tests: the cases lie in the repository.
"""

from __future__ import annotations

import json
import sys
import time
import zlib
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import numpy as np  # noqa: E402
from whole_devices.board import Board, Changes, Fault  # noqa: E402
from whole_devices.meter import Meter, Written  # noqa: E402
from whole_devices.oracle import SHOWN, Bank, tied  # noqa: E402
from whole_devices.places import Place, named_nets, places  # noqa: E402
from whole_devices.simulate import all_makes, diode_range, measured, ohmmeter  # noqa: E402
from whole_devices.spreads import Draw  # noqa: E402

SEED = 20260314
SPECIMENS = 12
FAULTS, SOUND, OFF, MISREAD, DOUBLE, FIRST = 32, 10, 5, 6, 6, 6  # of each device
TARGET = HERE / "cases.json"


@dataclass
class Device:
    """One make with all its specimens simulated."""

    name: str
    make: ModuleType
    boards: list[Board]
    where: list[Place]
    variants: list[tuple[int, float]]  # (fault, size); (-1, 0) is sound
    bank: Bank

    @property
    def faults(self) -> list[Fault]:
        return self.boards[0].faults


def values_of(
    make: ModuleType, boards: list[Board], changes: list[list[Changes]], where: list[Place]
) -> tuple[np.ndarray, list[list[tuple[str, ...]]]]:
    """boards x changes x places: volts and ohms as they are; and the fuses that blew, boards x changes."""
    result = np.full((len(boards), len(changes[0]), len(where)), np.nan)
    states = boards[0].states
    pairs = list(dict.fromkeys((p.a, p.b) for p in where if p.kind in ("dc", "ac")))
    volts, ripple, settled = measured(make, boards, changes, pairs)
    ohms = {i: (p.a, p.b) for i, p in enumerate(where) if p.kind == "ohms"}
    diodes = {i: (p.a, p.b) for i, p in enumerate(where) if p.kind == "diode"}
    for n, (board, given) in enumerate(zip(boards, settled)):
        for i, place in enumerate(where):
            if place.kind in ("dc", "ac"):
                result[n, :, i] = volts[n, states.index(place.state), :, pairs.index((place.a, place.b))]
                if place.kind == "ac" or place.note[0][0] == "across":  # nobody writes which way round
                    result[n, :, i] = np.abs(result[n, :, i])
            elif place.kind == "ripple":
                result[n, :, i] = ripple[n, states.index(place.state)]
        result[n][:, list(ohms)] = ohmmeter(board, {str(i): pair for i, pair in ohms.items()}, given)
        if diodes:
            result[n][:, list(diodes)] = np.clip(
                diode_range(board, {str(i): pair for i, pair in diodes.items()}, given), -1, 2
            )
    gone = [
        [what_blew(board, was, now) for was, now in zip(given, later)]
        for board, given, later in zip(boards, changes, settled)
    ]
    return result, gone


def what_blew(board: Board, before: Changes, after: Changes) -> tuple[str, ...]:
    """The fuses, electric and thermal, that opened on their own."""
    named = {name: part for part, (name, *_) in (board.fuses | board.thermal).items()}
    return tuple(sorted(part for name, part in named.items() if after.get(name) != before.get(name)))


def simulated(name: str, make: ModuleType) -> Device:
    """Every specimen with every fault. Where a fault of one size blows a fuse in some specimens only, these
    stand for one variant and the others for another: nothing lies between a blown fuse and a whole one.
    """
    boards = [make.build(Draw(SEED + 1000 * zlib.crc32(name.encode()) % 10**6 + n)) for n in range(SPECIMENS)]
    where = places(make, boards[0])
    variants = [(-1, 0.0)] + [(i, size) for i, fault in enumerate(boards[0].faults) for size in fault.sizes]
    changes = [[{} if i < 0 else board.faults[i].change(size) for i, size in variants] for board in boards]
    values, gone = values_of(make, boards, changes, where)
    values = np.where([p.kind == "ohms" for p in where], np.log(np.clip(values, 0.1, 6e7)), values)
    kept, banked, blew = [], [], []
    for v, variant in enumerate(variants):
        for fuses in sorted({gone[n][v] for n in range(SPECIMENS)}, key=len):
            which = [n for n in range(SPECIMENS) if gone[n][v] == fuses]
            if len(which) >= 3:
                kept.append(variant)
                banked.append(values[np.resize(which, SPECIMENS), v])
                blew.append("+".join(fuses))
    bank = Bank(np.array(banked), np.array([i for i, _ in kept]), np.array(blew))
    return Device(name, make, boards, where, kept, bank)


class Bench:
    """A specimen on the bench: what every place would show, and one meter."""

    def __init__(self, device: Device, true: np.ndarray, rng: np.random.Generator) -> None:
        self.device, self.true, self.rng, self.meter = device, true, rng, Meter(rng)

    def read(self, place: int) -> Written:
        kind = self.device.where[place].kind
        return self.meter.read("ac" if kind == "ripple" else kind, float(self.true[place]))

    def judged(self, chosen: list[int], read: list[Written]) -> dict[int, float]:
        values, sigma, floor = [], [], []
        for place, written in zip(chosen, read):
            kind = self.device.where[place].kind
            if kind == "ohms":
                number = max(written.value, 0.1)
                values.append(np.log(min(number, 6e7)) if written.text != "open" else np.log(6e7))
                sigma.append(0.7 if written.text == "open" else written.sigma / number + 0.3 / number)
                floor.append(0.005)
            else:
                values.append(written.value)
                sigma.append(written.sigma)
                floor.append(
                    0.006
                    + 0.003 * abs(written.value)
                    + (0.03 * abs(written.value) if kind == "ripple" else 0)
                )
        return self.device.bank.judge(chosen, np.array(values), np.array(sigma), np.array(floor))

    def entries(self, chosen: list[int], read: list[Written]) -> list[dict[str, Any]]:
        return [self.device.where[p].entry(w.text) for p, w in zip(chosen, read)]


def choose(
    device: Device, suspects: list[set[str]], rng: np.random.Generator, least: int = 3, most: int = 8
) -> list[int]:
    """As a repairer does: a rail or two, then around the suspicious place, now and then elsewhere."""
    where = device.where
    count = int(rng.integers(least, most + 1))
    rails = [
        i for i, p in enumerate(where) if p.kind == "dc" and p.note[0][0] == "at" and p.a.startswith("v")
    ]
    live = [i for i, p in enumerate(where) if p.kind in ("dc", "ac", "ripple")]
    cold = [i for i, p in enumerate(where) if p.kind in ("ohms", "diode")]
    chosen = [int(i) for i in rng.choice(rails, min(len(rails), int(rng.integers(1, 3))), replace=False)]
    while len(chosen) < count:
        suspect = suspects[int(rng.integers(len(suspects)))] if suspects else set()
        pool = cold if rng.random() < 0.25 else live
        near = [i for i in pool if {where[i].a, where[i].b} & suspect]
        pool = near if near and rng.random() < 0.75 else pool
        pick = int(rng.choice(pool))
        if pick not in chosen:
            chosen.append(pick)
    return chosen


def nets_near(board: Board, fault: Fault) -> set[str]:
    """The nets on which the suspicious part stands."""
    if fault.failed == "bridge":
        return set(fault.between) - {"0"}
    pair = board.parts.get(fault.part) or board.parts.get(f"{fault.part} primary")
    if pair is None:
        name = "j_" + fault.part.lower().replace(" ", "_")
        found = board.resistors.get(name)
        pair = (
            found[:2] if found else ((board.supply.rail, board.supply.common) if board.supply else ("", ""))
        )
    return set(pair) - {"0", "mn", "mp"}


def truth_of(device: Device, fault: Fault, size: float) -> dict[str, Any]:
    found: dict[str, Any] = {"part": fault.part, "failed": fault.failed}
    if fault.sized:
        found["size"] = float(f"{size:.3g}")
    if fault.failed == "bridge":
        found["between"] = list(fault.between)
    return found


def short_truth(device: Device, index: int) -> list[str]:
    if index < 0:
        return ["", "sound"]
    fault = device.faults[index]
    return [fault.part or "|".join(sorted(fault.between)), fault.failed]


def drawn_size(fault: Fault, rng: np.random.Generator) -> float:
    """Any size between the smallest and the largest of the grid, evenly on a logarithmic scale."""
    if not fault.sized:
        return fault.sizes[0]
    if fault.failed == "bridge":  # half are solder
        return (
            fault.sizes[0] if rng.random() < 0.5 else float(np.exp(rng.uniform(*np.log(fault.sizes[1::2]))))
        )
    return float(np.exp(rng.uniform(np.log(min(fault.sizes)), np.log(max(fault.sizes)))))


def weights(device: Device) -> np.ndarray:
    """So that all classes come: each class the same share, within it each fault."""
    classes = [fault.failed for fault in device.faults]
    return np.array([1 / classes.count(c) ** 0.7 for c in classes])


class Maker:
    """The cases of one device."""

    def __init__(self, device: Device) -> None:
        self.device, self.rng = device, np.random.default_rng(SEED + zlib.crc32(device.name.encode()))
        self.cases: list[dict[str, Any]] = []

    def all(self) -> list[dict[str, Any]]:
        self.single_faults()
        self.sound()
        self.doubles()
        for number, case in enumerate(self.cases):
            case["id"] = f"{self.device.name}-{number}"
            case["half"] = "tuning" if zlib.crc32(case["id"].encode()) % 2 else "reporting"
        return self.cases

    def add(self, kind: str, truth: list[dict[str, Any]], entries: list[dict[str, Any]], **more: Any) -> None:
        self.cases.append(
            {"device": self.device.name, "set": kind, "truth": truth, "readings": entries, **more}
        )

    def single_faults(self) -> None:
        device, rng = self.device, self.rng
        wanted = FAULTS + MISREAD + FIRST
        picked = list(rng.choice(len(device.faults), 4 * wanted, p=weights(device) / weights(device).sum()))
        sizes = [drawn_size(device.faults[i], rng) for i in picked]
        by_board: list[list[Changes]] = [[] for _ in range(SPECIMENS)]
        for n, (i, size) in enumerate(zip(picked, sizes)):
            by_board[n % SPECIMENS].append(device.boards[n % SPECIMENS].faults[i].change(size))
        longest = max(map(len, by_board))
        for given in by_board:
            given += [{}] * (longest - len(given))
        values, gone = values_of(device.make, device.boards, by_board, device.where)
        made = 0
        for n, (i, size) in enumerate(zip(picked, sizes)):
            true = values[n % SPECIMENS, n // SPECIMENS]
            if made >= wanted or not np.isfinite(true).all():
                continue
            bench = Bench(device, true, rng)
            fault = device.boards[n % SPECIMENS].faults[i]
            truth = [truth_of(device, fault, size)]
            if fuses := gone[n % SPECIMENS][n // SPECIMENS]:
                truth[0]["blew"] = list(fuses)
            if made < FAULTS:
                made += self._fault(bench, int(i), fault, truth)
            elif made < FAULTS + MISREAD:
                made += self._misread(bench, int(i), fault, truth)
            else:
                made += self._first(bench, int(i), fault, truth, n)

    def _shown(
        self, bench: Bench, i: int, fault: Fault, least: int = 3, most: int = 8
    ) -> tuple[list[int], list[Written], list[int]] | None:
        best = None
        for _ in range(6):
            chosen = choose(self.device, [nets_near(self.device.boards[0], fault)], self.rng, least, most)
            read = [bench.read(p) for p in chosen]
            scores = bench.judged(chosen, read)
            if i not in scores or scores[i] < scores[-1] + SHOWN:
                continue
            alike = tied(scores, i)
            if best is None or len(alike) < len(best[2]):
                best = (chosen, read, alike)
            if len(alike) <= 6:
                break
        return best

    def _fault(self, bench: Bench, i: int, fault: Fault, truth: list[dict[str, Any]]) -> bool:
        found = self._shown(bench, i, fault)
        if found is None:
            return False
        chosen, read, alike = found
        self.add(
            "fault", truth, bench.entries(chosen, read), tied=[short_truth(self.device, t) for t in alike]
        )
        return True

    def _misread(self, bench: Bench, i: int, fault: Fault, truth: list[dict[str, Any]]) -> bool:
        found = self._shown(bench, i, fault, 5, 8)
        if found is None:
            return False
        chosen, read, alike = found
        numbers = [n for n, w in enumerate(read) if w.text not in ("open", "OL") and abs(w.value) > 0.3]
        self.rng.shuffle(numbers)
        for wrong in numbers:
            rest = [n for n in range(len(chosen)) if n != wrong]
            scores = bench.judged([chosen[n] for n in rest], [read[n] for n in rest])
            if scores.get(i, -1e9) < scores[-1] + SHOWN:
                continue  # nothing else shows the fault
            factor = float(self.rng.choice([10.0, 0.1, 10.0, 0.1, 2.0]))
            kind = self.device.where[chosen[wrong]].kind
            text = misread(read[wrong].text, factor)
            entries = bench.entries(chosen, read)
            entries[wrong]["read"] = text
            self.add(
                "misread",
                truth,
                entries,
                wrong=wrong,
                factor=factor,
                place=kind,
                tied=[short_truth(self.device, t) for t in tied(scores, i)],
            )
            return True
        return False

    def _first(self, bench: Bench, i: int, fault: Fault, truth: list[dict[str, Any]], n: int) -> bool:
        near = nets_near(self.device.boards[0], fault)
        live = [k for k, p in enumerate(self.device.where) if p.kind in ("dc", "ac")]
        close = [k for k in live if {self.device.where[k].a, self.device.where[k].b} & near] or live
        for _ in range(8):
            pick = int(self.rng.choice(close if self.rng.random() < 0.6 else live))
            read = bench.read(pick)
            scores = bench.judged([pick], [read])
            if i in scores and scores[i] > scores[-1] + 2.5:
                break
        else:
            return False
        known = self._all_of(n, i, truth[0].get("size", fault.sizes[0]))
        self.add("first", truth, bench.entries([pick], [read]), bench=known, tied=self._never(bench, i))
        return True

    def _all_of(self, n: int, i: int, size: float) -> dict[str, Any]:
        """What a perfect meter shows on this specimen wherever it is put, for whoever asks for more
        readings.
        """
        device = self.device
        board = device.boards[n % SPECIMENS]
        change = board.faults[i].change(size)
        nets = sorted(
            set(named_nets(device.make).values()) | {x for pair in board.parts.values() for x in pair}
        )
        at = [(node, board.islands.get(node, "0")) for node in nets]
        asked = [pair for pair in [*at, *board.parts.values()] if pair[0] != pair[1]]
        shown, ripples, settled = measured(device.make, [board], [[change]], list(dict.fromkeys(asked)))
        change = settled[0][0]
        found = dict(zip(dict.fromkeys(asked), shown[0, :, 0].T))
        states = list(enumerate(board.states))
        volts = {
            state: {pair[0]: _short(float(found[pair][s])) for pair in at if pair in found}
            for s, state in states
        }
        ripple = {state: _short(float(ripples[0, s, 0])) for s, state in states}
        across = {
            f"{state} {part}": _short(abs(float(found[pair][s])))
            for s, state in states
            for part, pair in board.parts.items()
            if pair in found
        }
        pairs = {f"{a} {b}": (a, b) for k, a in enumerate(nets) for b in nets[k + 1 :]}
        ohms = {name: _short(v) for name, v in zip(pairs, ohmmeter(board, pairs, [change])[0]) if v < 6e7}
        diodes = dict(zip(board.junctions, np.clip(diode_range(board, board.junctions, [change])[0], -1, 2)))
        return {
            "volts": volts,
            "across": across,
            "ripple": ripple,
            "ohms": ohms,
            "diode": {" ".join(board.junctions[k]): _short(float(v)) for k, v in diodes.items()},
        }

    def _never(self, bench: Bench, i: int) -> list[list[str]]:
        """What no reading at all tells apart: judged with thirty places at once, twice."""
        alike: set[int] | None = None
        for _ in range(2):
            count = min(24, len(self.device.where))
            chosen = [int(k) for k in self.rng.choice(len(self.device.where), count, replace=False)]
            scores = bench.judged(chosen, [bench.read(k) for k in chosen])
            found = set(tied(scores, i)) if i in scores else set()
            alike = found if alike is None else alike & found
        return [short_truth(self.device, t) for t in sorted(alike or ())]

    def sound(self) -> None:
        device, rng = self.device, self.rng
        moved = any(part[0] in "UM" for part in device.boards[0].load_parts)
        loads = [1.0] * SOUND + ([0.8, 1.2, 0.8, 1.2, 0.8][:OFF] if moved else [])
        has_pack = any(part.startswith("BT") for part in device.boards[0].parts)
        boards = []
        for n, factor in enumerate(loads):
            charge = None
            if n >= SOUND and has_pack and n % 2:
                factor, charge = 1.0, float(rng.uniform(0.1, 0.4))
            boards.append(
                device.make.build(
                    Draw(SEED + 7 + 31 * n + zlib.crc32(device.name.encode()) % 99991, factor, charge)
                )
            )
        values, _ = values_of(device.make, boards, [[{}]] * len(boards), device.where)
        for n in range(len(boards)):
            bench = Bench(device, values[n, 0], rng)
            fault = device.faults[int(rng.integers(len(device.faults)))]
            chosen = choose(device, [nets_near(device.boards[0], fault)], rng)
            self.add(
                "sound" if n < SOUND else "off", [], bench.entries(chosen, [bench.read(p) for p in chosen])
            )

    def doubles(self) -> None:
        device, rng = self.device, self.rng
        tries = 10 * DOUBLE
        share = weights(device) / weights(device).sum()
        pairs = [
            [int(k) for k in rng.choice(len(device.faults), 2, replace=False, p=share)] for _ in range(tries)
        ]
        sizes = [[drawn_size(device.faults[k], rng) for k in pair] for pair in pairs]
        per = tries // SPECIMENS + 1
        changes: list[list[Changes]] = [[{} for _ in range(per)] for _ in range(SPECIMENS)]
        for n, (pair, size) in enumerate(zip(pairs, sizes)):
            board = device.boards[n % SPECIMENS]
            changes[n % SPECIMENS][n // SPECIMENS] = {
                **board.faults[pair[0]].change(size[0]),
                **board.faults[pair[1]].change(size[1]),
            }
        values, gone = values_of(device.make, device.boards, changes, device.where)
        made = 0
        for n, (pair, size) in enumerate(zip(pairs, sizes)):
            true = values[n % SPECIMENS, n // SPECIMENS]
            parts = {device.faults[k].part for k in pair}
            if made >= DOUBLE or not np.isfinite(true).all() or len(parts) < 2:
                continue
            board = device.boards[n % SPECIMENS]
            bench = Bench(device, true, rng)
            near = [nets_near(board, device.faults[k]) for k in pair]
            chosen = choose(device, near, rng, 5, 8)
            read = [bench.read(p) for p in chosen]
            scores = bench.judged(chosen, read)
            if max(scores.values()) > self._itself(bench, chosen, read) - SHOWN - 1:
                continue  # one fault could explain it
            truth = [truth_of(device, board.faults[k], s) for k, s in zip(pair, size)]
            if fuses := gone[n % SPECIMENS][n // SPECIMENS]:
                truth[0]["blew"] = list(fuses)
            self.add("double", truth, bench.entries(chosen, read))
            made += 1

    def _itself(self, bench: Bench, chosen: list[int], read: list[Written]) -> float:
        """The likelihood of the readings for the very pair, with the spread that a sound device has."""
        sound = self.device.bank.values[:1]
        shift = np.array(
            [
                bench.true[k]
                if self.device.where[k].kind != "ohms"
                else np.log(np.clip(bench.true[k], 0.1, 6e7))
                for k in chosen
            ]
        )
        moved = np.zeros((1, sound.shape[1], sound.shape[2]))
        moved[0][:, chosen] = sound[0][:, chosen] - sound[0][:, chosen].mean(0) + shift
        pair = Device(
            self.device.name,
            self.device.make,
            self.device.boards,
            self.device.where,
            self.device.variants[:1],
            Bank(moved, np.array([-1]), np.array([""])),
        )
        return Bench.judged(_on(pair, bench), chosen, read)[-1]


def _short(value: float) -> float:
    return float(f"{value:.4g}")


def _on(device: Device, bench: Bench) -> Bench:
    other = Bench.__new__(Bench)
    other.device, other.true, other.rng, other.meter = device, bench.true, bench.rng, bench.meter
    return other


def misread(text: str, factor: float) -> str:
    """A decimal point in the wrong place, or a wrong figure."""
    about, rest = ("about ", text[6:]) if text.startswith("about ") else ("", text)
    digits = ""
    while rest and rest[0] in "-0123456789.":
        digits, rest = digits + rest[0], rest[1:]
    return f"{about}{float(digits) * factor:.4g}{rest}"


def one(name: str) -> list[dict[str, Any]]:
    started = time.perf_counter()
    cases = Maker(simulated(name, all_makes()[name])).all()
    counts = {
        kind: sum(c["set"] == kind for c in cases)
        for kind in ("fault", "sound", "off", "misread", "double", "first")
    }
    print(f"{name}: {counts}, {time.perf_counter() - started:.0f} s", flush=True)
    return cases


def written(cases: list[dict[str, Any]]) -> None:
    """The cases of these devices in place of what the file had of them."""
    names = {case["device"] for case in cases}
    kept = json.loads(TARGET.read_text("utf-8")) if TARGET.exists() else []
    cases = sorted([c for c in kept if c["device"] not in names] + cases, key=lambda c: c["device"])
    lines = ",\n".join(json.dumps(case, separators=(",", ":"), ensure_ascii=False) for case in cases)
    TARGET.write_text(f"[\n{lines}\n]\n", "utf-8")


def main() -> None:
    names = sys.argv[1:] or list(all_makes())
    with ProcessPoolExecutor(2) as pool:
        for found in pool.map(one, names):
            written(found)
    print(f"{len(json.loads(TARGET.read_text('utf-8')))} cases, {TARGET.stat().st_size} bytes")


if __name__ == "__main__":
    main()
