"""The stepped rectifier against ngspice's own .tran of whole devices.   python
tests/benchmarks/whole_devices/check.py

A dozen faults and the sound device, each state, of two devices on a transformer and two on a capacitor: the
mean volts of every net over the last two cycles of the transient, beside what the cases were made from.
Prints the largest deviations. Unplugged: ohms by nodal analysis beside ngspice's operating point with 1 uA.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import numpy as np  # noqa: E402
from whole_devices.board import Board, Changes  # noqa: E402
from whole_devices.ngspice import _read, deck, nodes_of, unplugged_deck  # noqa: E402
from whole_devices.simulate import all_makes, ohmmeter, powered  # noqa: E402
from whole_devices.spreads import Draw  # noqa: E402

SECONDS = {"transformer": 1.2, "dropper": 2.0}


def transient_deck(board: Board, state: str, changes: Changes) -> str:
    """The whole device with the mains a sine and the rectifier four diodes (or two, or one)."""
    supply = board.supply
    assert supply
    plain = Board(board.draw, board.states)
    plain.__dict__.update(board.__dict__)
    plain.resistors = {
        name: (a, b, changes.get(name, hot), cold) for name, (a, b, hot, cold) in board.resistors.items()
    }
    plain.lines = [
        line for line in board.lines if "dm_br" not in line
    ]  # the bridge stands here as four diodes
    plain.params = {name: changes.get(name, value) for name, value in board.params.items()}
    value = {name: changes.get(f"supply.{name}", at) for name, at in supply.values.items()}
    text = deck(plain, state, swept=False)
    sine = f"1.4142136*v({supply.primary[0]},{supply.primary[1]})*sin(314.159265*time)"
    rail, common = supply.rail, supply.common
    model = f"d(is={value.get('is', 7e-9):.4g} n={value.get('n', 1.8)} rs=0.02)"
    if supply.kind == "transformer":
        text += f"b_emf em sb v={value['ratio'] * value['turns']:.6g}*{sine}\n"
        text += f"r_winding em sa {value['winding']:.5g}\n"
    else:
        text += f"b_emf em sb v={sine}\nr_series em ec {value['series']:.5g}\n"
        text += f"c_line ec sa {value['line_farads']:.5g}\nr_line ec sa {value['discharge']:.5g}\n"
    mode = value["mode"]
    if mode in (0, 1):  # 1: the first diode is open, else short
        text += f"d_1 sa {rail} dmr\n" if mode == 0 else ""
    else:
        text += f"r_1 sa {rail} 0.02\n"
    text += f".model dmr {model}\n"
    if supply.bridge:
        text += f"d_2 {common} sa dmr\nd_3 sb {rail} dmr\nd_4 {common} sb dmr\n"
    elif supply.kind == "dropper":
        text += f"d_2 {common} sa dmr\nr_return sb {common} 1m\n"
    else:
        text += f"r_return sb {common} 1m\n"
    text += f"r_float sb 0 1g\nc_store {rail} {common} {value['farads']:.5g}\n"
    # stray capacitance, larger than life, so that the transient finds its steps; means do not depend on it
    text += "".join(f"c_stray_{node} {node} {board.islands.get(node, '0')} 10n\n" for node in nodes_of(board))
    text += f"c_stray_a sa {common} 10n\nc_stray_b sb {common} 10n\n.options method=gear\n"
    return text


def transient(board: Board, state: str, changes: Changes) -> np.ndarray | None:
    """Mean volts of the nets over the last two cycles; None where ngspice gave up."""
    assert board.supply
    text, length = transient_deck(board, state, changes), SECONDS[board.supply.kind]
    with tempfile.TemporaryDirectory() as folder:
        raw = Path(folder) / "t.raw"
        control = f".control\nset filetype=binary\ntran 100u {length} {length - 0.04} 100u\nlinearize\nwrite {raw}\nquit\n.endc\n.end\n"
        (Path(folder) / "t.cir").write_text(text + control)
        subprocess.run(
            ["nice", "ngspice", "-b", str(Path(folder) / "t.cir")], capture_output=True, timeout=300
        )
        found = _read(raw, nodes_of(board), amperes=False)
    return None if found is None or len(found) < 100 else found.mean(0)


def main() -> None:
    for name in sys.argv[1:] or ("dehydrator", "cooker", "towelrail", "aquarium"):
        make = all_makes()[name]
        board = make.build(Draw(5))
        rng = np.random.default_rng(3)
        picked = [int(i) for i in rng.choice(len(board.faults), 10, replace=False)]
        picked += [
            i
            for i, f in enumerate(board.faults)
            if f.part.startswith("C") and f.failed in ("low", "open") and board.supply
        ][:2]
        labels = ["sound"] + [
            f"{board.faults[i].part or board.faults[i].between} {board.faults[i].failed}" for i in picked
        ]
        faults = [{}] + [board.faults[i].change(board.faults[i].sizes[0]) for i in picked]
        worst = []
        for state in board.states:
            ours = powered(make, [(board, state, faults)])[0]
            for row, changes in enumerate(faults):
                theirs = transient(board, state, changes)
                if theirs is None:
                    print(f"{name} {state} {labels[row]}: no transient")
                    continue
                off = np.abs(ours.volts[row] - theirs)
                allowed = 0.05 + 0.01 * np.abs(theirs)
                node = int(np.argmax(off / allowed))
                worst.append(
                    (off[node] / allowed[node], off[node], theirs[node], ours.nodes[node], state, labels[row])
                )
        worst.sort(reverse=True)
        print(
            f"{name}: {len(worst)} transients; within 50 mV + 1 %: {sum(w[0] <= 1 for w in worst)}; the largest deviations:"
        )
        for _, off, volts, node, state, label in worst[:4]:
            print(f"    {off:.3f} V of {volts:.2f} V at {node}, {state}, {label}")
    board = all_makes()["cooker"].build(Draw(5))
    pairs = {part: ends for part, ends in board.parts.items() if ends[1] != ends[0]}
    ours = ohmmeter(board, pairs, [{}])[0]
    worst_ohms = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for n, ((a, b), value) in enumerate(zip(pairs.values(), ours)):
            if value > 1e6:
                continue
            raw, path = Path(folder) / f"{n}.raw", Path(folder) / f"{n}.cir"
            path.write_text(
                unplugged_deck(board, {"it": (a, b)})
                + f".control\nset filetype=binary\nalter i_probe0 = 1u\nop\nwrite {raw}\nquit\n.endc\n.end\n"
            )
            subprocess.run(["ngspice", "-b", str(path)], capture_output=True, timeout=60)
            read = _read(raw, [x for x in (a, b) if x != "0"], amperes=False)
            if read is not None:
                at = dict(zip([x for x in (a, b) if x != "0"], read[0]))
                worst_ohms = max(worst_ohms, abs((at.get(a, 0) - at.get(b, 0)) / 1e-6 / value - 1))
    print(f"ohms of the cooker's parts, unplugged: at most {100 * worst_ohms:.1f} % off ngspice's")


if __name__ == "__main__":
    main()
