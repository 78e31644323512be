"""Each kind of block alone, by ngspice.   python tests/benchmarks/whole_devices/kinds_alone.py

Writes tests/circuit/network/alone_by_spice.json: for each kind the parameters as a note has them, the deck,
and the volts of its terminals and across its parts (first to second lead), sound and with each part open or
short. All parts are nominal; junctions are exponential, so that a silicon junction may stand 0.1 V off a
nominal 0.7 V. Kinds that have no DC volts of their own are left out, each with its reason. Rectifiers are
.tran (means of the last two cycles); mains volts are RMS.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import numpy as np  # noqa: E402
from whole_devices.board import Board  # noqa: E402
from whole_devices.check import transient, transient_deck  # noqa: E402
from whole_devices.ngspice import deck, nodes_of, sweeps  # noqa: E402
from whole_devices.simulate import metered_across  # noqa: E402
from whole_devices.spreads import Draw  # noqa: E402

TARGET = HERE.parent.parent / "circuit" / "network" / "alone_by_spice.json"

# kind -> (parameters, terminal=net pairs, what is on the board). Net 0 is the common.
Built = Callable[[Board], None]
ALONE: dict[str, tuple[dict[str, Any], str, Built]] = {}
LEFT_OUT = {
    "offline-start": "the volts at its capacitor are those of the chip that starts, not of the block",
    "rc-delay": "its volts are a time's, not a steady state's",
    "timer-555": "it oscillates; no DC volts but a mean that a meter follows badly",
    "phase-control": "firing angles, no steady volts",
    "triac-switch": "the load's volts are the mains less 1.2 V or nothing",
    "microcontroller": "no values",
    "chain": "no values",
    "bldc-motor": "three phases commutated; its means are those of the duty",
    "flyback-supply": "regulated by its controller: output or nothing",
    "buck-converter": "regulated by its controller: output, input or nothing",
    "boost-converter": "regulated by its controller: output, input less a diode or nothing",
    "universal-motor": "series parts on AC: an ohmmeter's case",
    "induction-motor": "windings: an ohmmeter's case",
    "solenoid": "current dies after the zero crossing: an RMS, not a DC case",
    "sense-resistor": "its current is the load's; two ohms in series",
}


def alone(kind: str, terminals: str, **parameters: Any) -> Callable[[Built], Built]:
    def kept(build: Built) -> Built:
        ALONE[kind] = (parameters, terminals, build)
        return build

    return kept


def source(b: Board, net: str, volts: float, name: str = "v1") -> None:
    """An ideal source, which no failure touches."""
    b.live.append(f"v_{name} {net} 0 {volts}")


@alone("divider", "supply=a tap=t pin=p", supply="12 V", upper="R1 33k 1%", lower="R2 10k 1%", series="R3 1k")
def _(b: Board) -> None:
    source(b, "a", 12)
    b.r("R1", "a", "t", "33k")
    b.r("R2", "t", "0", "10k")
    b.r("R3", "t", "p", "1k")


@alone("thermistor-divider", "supply=a tap=t", supply="5 V", fixed="R1 10k", thermistor="TH1 4k7 B3950")
def _(b: Board) -> None:
    source(b, "a", 5)
    b.r("R1", "a", "t", "10k")
    b.ntc("TH1", "t", "0", "4k7", 3950, 5)


@alone("light-divider", "supply=a tap=t", supply="5 V", fixed="R1 22k", sensor="LDR1 10k gamma0.7")
def _(b: Board) -> None:
    source(b, "a", 5)
    b.r("R1", "a", "t", "22k")
    b.ldr("LDR1", "t", "0", "10k", 20)


@alone(
    "key-ladder",
    "supply=a pin=p",
    supply="5 V",
    pull_up="R1 10k",
    keys={"up": 0, "down": "R2 1k", "set": "R3 2k2"},
)
def _(b: Board) -> None:
    """No key is pressed."""
    source(b, "a", 5)
    b.r("R1", "a", "p", "10k")
    b.r("R2", "p", "k2", "1k")
    b.r("R3", "k2", "k3", "2k2")


@alone("led-indicator", "supply=a", supply="5 V", resistor="R1 330", forward="LD1 red")
def _(b: Board) -> None:
    source(b, "a", 5)
    b.r("R1", "a", "la", "330")
    b.led("LD1", "la", "0", "red")


@alone("led-string", "supply=a", supply="12 V", leds="LD1-LD3 3V", count=3, resistor="R1 150")
def _(b: Board) -> None:
    source(b, "a", 12)
    b.r("R1", "a", "la", "150")
    b.led("LD1", "la", "lb", "white")
    b.led("LD2", "lb", "lc", "white")
    b.led("LD3", "lc", "0", "white")


@alone(
    "button-input",
    "supply=a pin=p",
    supply="5 V",
    pull_up="R1 10k",
    series="R2 1k",
    capacitor="C1 100n",
    button="S1",
)
def _(b: Board) -> None:
    source(b, "a", 5)
    b.r("R1", "a", "w", "10k")
    b.switch("S1", "w", "0", "")
    b.r("R2", "w", "p", "1k")
    b.c("C1", "p", "0")


@alone("zener-regulator", "in=a out=z", supply="12 V", series="R1 470", zener="ZD1 5V1 400mW", load="2 mA")
def _(b: Board) -> None:
    source(b, "a", 12)
    b.r("R1", "a", "z", "470")
    b.zener("ZD1", "z", "0", 5.1)
    b.live.append("i_load z 0 2m")


@alone(
    "linear-regulator",
    "in=a out=o",
    input="12 V",
    output="5 V",
    load="100 ohm",
    regulator="U1",
    series="R1 10",
    output_capacitor="C1 100u 10V",
)
def _(b: Board) -> None:
    source(b, "v", 12)
    b.r("R1", "v", "a", "10")
    b.regulator("U1", "a", "o", "0", 5)
    b.c("C1", "o", "0")
    b.live.append("r_load o 0 100")


@alone("feedback-divider", "out=o feedback=f", reference="1.25 V", upper="R1 3k", lower="R2 1k")
def _(b: Board) -> None:
    """An ideal amplifier holds the tap at the reference; its input gives 12 V."""
    b.r("R1", "o", "f", "3k")
    b.r("R2", "f", "0", "1k")
    b.live.append("b_amp o 0 v=6+6*tanh(1000*(1.25-v(f)))")


@alone("charge-resistor", "in=a out=o", supply="9 V", battery="4.8 V", resistor="R1 33 1W")
def _(b: Board) -> None:
    source(b, "a", 9)
    b.r("R1", "a", "o", "33")
    source(b, "o", 4.8, "v2")


@alone("battery-pack", "plus=a", cells=4, chemistry="ni-mh", capacity="2000 mAh", load="100 mA")
def _(b: Board) -> None:
    source(b, "a", 4.8)
    b.r("X1", "a", "0", "48")


@alone("dc-motor", "plus=a minus=0", supply="12 V", motor="M1", winding="6 ohm", running_current="250 mA")
def _(b: Board) -> None:
    source(b, "a", 12)
    b.motor("M1", "a", "0", 6, 12, 0.25)


@alone(
    "transistor-switch",
    "drive=d base=b collector=c load_supply=a",
    drive="5 V",
    base="R1 4k7",
    pull_down="R2 47k",
    transistor="Q1 hfe200",
    load="RL1 400",
    load_supply="12 V",
    flyback="D1",
)
def _(b: Board) -> None:
    source(b, "d", 5)
    source(b, "a", 12, "v2")
    b.r("R1", "d", "b", "4k7")
    b.r("R2", "b", "0", "47k")
    b.npn("Q1", "c", "b", "0")
    b.coil("RL1", "a", "c", 400, 12)
    b.diode("D1", "c", "a")


@alone(
    "mosfet-switch",
    "drive=d gate=g drain=c load_supply=a",
    drive="5 V",
    gate="R1 100",
    pull_down="R2 47k",
    transistor="Q1 vth2 rds0R05",
    load="R3 10",
    load_supply="12 V",
    flyback="D1",
)
def _(b: Board) -> None:
    source(b, "d", 5)
    source(b, "a", 12, "v2")
    b.r("R1", "d", "g", "100")
    b.r("R2", "g", "0", "47k")
    b.nmos("Q1", "c", "g", "0", (1, 2, 2.5), 0.05)
    b.r("R3", "a", "c", "10")
    b.diode("D1", "c", "a", "rectifier")


@alone(
    "high-side-switch",
    "supply=a base=b out=o",
    supply="12 V",
    transistor="Q1 hfe100",
    base="R1 2k2",
    pull_up="R2 10k",
    drive_low="0.2 V",
    load="R3 120",
)
def _(b: Board) -> None:
    source(b, "a", 12)
    source(b, "d", 0.2, "v2")
    b.r("R1", "d", "b", "2k2")
    b.r("R2", "a", "b", "10k")
    b.pnp("Q1", "o", "b", "a", "a")
    b.r("R3", "o", "0", "120")


@alone(
    "series-pass",
    "in=a out=o",
    input="18 V",
    series="R1 1k",
    zener="ZD1 12V",
    transistor="Q1 hfe150",
    load="R2 240",
)
def _(b: Board) -> None:
    source(b, "a", 18)
    b.r("R1", "a", "z", "1k")
    b.zener("ZD1", "z", "0", 12)
    b.npn("Q1", "a", "z", "o", "a")
    b.r("R2", "o", "0", "240")


@alone(
    "optocoupler",
    "input=i output_supply=a out=o",
    input_supply="12 V",
    input_resistor="R1 1k5",
    ctr="100 %",
    output_supply="5 V",
    pull_up="R2 10k",
    optocoupler="U1",
)
def _(b: Board) -> None:
    source(b, "i", 12)
    source(b, "a", 5, "v2")
    b.r("R1", "i", "la", "1k5")
    b.opto("U1", "la", "0", "o", "0", (99.9, 100, 100.1))
    b.r("R2", "a", "o", "10k")


@alone(
    "comparator",
    "input=i out=o supply=a",
    supply="5 V",
    reference="2.5 V",
    input_resistor="R1 10k",
    feedback="R2 100k",
    pull_up="R3 4k7",
    input="non-inverting",
)
def _(b: Board) -> None:
    """The input stands at 4 V."""
    source(b, "a", 5)
    source(b, "ref", 2.5, "v2")
    source(b, "i", 4, "v3")
    b.r("R1", "i", "p", "10k")
    b.r("R2", "p", "o", "100k")
    b.comparator("U1", "p", "ref", "o")
    b.r("R3", "a", "o", "4k7")


@alone(
    "audio-stage",
    "supply=a out=o",
    supply="12 V",
    bias_upper="R1 100k",
    bias_lower="R2 100k",
    feedback="R3 22k",
    gain_resistor="R4 1k",
    gain_capacitor="C1 22u",
)
def _(b: Board) -> None:
    """An ideal amplifier between 1 V and 11 V; the gain capacitor is open at DC."""
    source(b, "a", 12)
    b.r("R1", "a", "m", "100k")
    b.r("R2", "m", "0", "100k")
    b.r("R3", "o", "f", "22k")
    b.r("R4", "f", "g", "1k")
    b.c("C1", "g", "0")
    b.live.append("b_amp o 0 v=6+5*tanh(200*(v(m)-v(f)))")


@alone("pulse-sensor", "supply=a pin=p", supply="5 V", pull_up="R1 4k7", sensor="S1 reed", capacitor="C1 1n")
def _(b: Board) -> None:
    """The reed is open."""
    source(b, "a", 5)
    b.r("R1", "a", "p", "4k7")
    b.switch("S1", "p", "0", "")
    b.c("C1", "p", "0")


@alone(
    "lithium-charger",
    "in=a battery=o",
    input="5 V",
    battery="3.7 V",
    resistance="0.1 ohm",
    program="R1 2k",
    program_factor="1000 V",
)
def _(b: Board) -> None:
    """A current source of 1000 V/R1 until the pack is full; the pack's inner resistance is no part of the
    note.
    """
    source(b, "a", 5)
    b.r("R1", "pr", "0", "2k")
    b.live += [
        "v_pr pr 0 1",
        "b_charge a o i=1000*i(v_ps)",
        "v_ps z1 0 0",
        "b_sense 0 z1 i=v(pr)*0+0.0005",
        "r_pack o rest 0.1",
    ]
    source(b, "rest", 3.7, "v3")
    b.faults.clear()  # the resistor sets a current, not volts: nothing to compare but sound


@alone("heater", "live=a neutral=0", power="HE1 1000 W", rated_voltage="230 V", contact="RL1 10A")
def _(b: Board) -> None:
    """Behind its closed contact."""
    source(b, "v", 230)
    b.fuse("RL1", "v", "a", 0.01, 10)
    b.heater("HE1", "a", "0", 1000 / 0.98, 230)


@alone(
    "mains-inlet", "live=a live_out=o neutral=0", load="529 W", fuse="F1 5A", thermal_fuses=["TF1 152C live"]
)
def _(b: Board) -> None:
    source(b, "a", 230)
    b.fuse("F1", "a", "m", 0.01, 5)
    b.thermal_fuse("TF1", "m", "o", 0.01)
    b.live.append("r_load o 0 100")


@alone(
    "transformer-supply",
    "plus=p common=0",
    secondary="12 V",
    regulation="20 %",
    rated_current="500 mA",
    smoothing="C1 1000u 35V",
    load="120 ohm",
)
def _(b: Board) -> None:
    b.mains("ml", "0")
    b.transformer("T1", ("ml", "0"), "p", "0", 12, 8, "D1-D4", ("C1", "1000u"), 300)
    assert b.supply
    b.supply.values |= {"ratio": 12 * 1.2 / 230, "winding": 12 * 0.2 / 0.5}
    b.live.append("r_load p 0 120")
    b.r("X1", "p", "0", "1M")


@alone(
    "capacitive-dropper",
    "plus=p common=0",
    dropper="C1 470n X2 275V",
    series="R1 220",
    output="12 V",
    clamp="ZD1 12V",
    smoothing="C2 220u 25V",
    load="1k2",
)
def _(b: Board) -> None:
    b.mains("ml", "0")
    b.dropper(("C1", "470n"), ("R1", "220"), ("ml", "0"), "p", "0", ("C2", "220u"), "D1")
    b.zener("ZD1", "p", "0", 12)
    b.live.append("r_load p 0 1200")


@alone(
    "mains-rectifier",
    "plus=p common=0",
    rectifier="D1-D4 bridge",
    bulk="C1 47u 400V",
    bleeder="R1 470k",
    load="10k",
)
def _(b: Board) -> None:
    b.mains("ml", "0")
    b.transformer("T1", ("ml", "0"), "p", "0", 230, 800, "D1-D4", ("C1", "47u"), 300)
    assert b.supply
    b.supply.values |= {"ratio": 1.0, "winding": 1.0}
    b.faults = [f for f in b.faults if f.part != "T1"]
    b.r("R1", "p", "0", "470k")
    b.live.append("r_load p 0 10k")


def worked(kind: str) -> dict[str, Any]:
    """One kind's entry."""
    parameters, terminals, build = ALONE[kind]
    board = Board(Draw(None), ("running",))
    build(board)
    pairs = [pair.split("=") for pair in terminals.split()]
    board.parts |= {f"_{n}": (n, "0") for _, n in pairs if n != "0"}
    faults = [
        f for f in board.faults if f.failed in ("open", "short") and not f.part.startswith(("X", "mains"))
    ]
    changes = [{}, *(f.change(f.sizes[0]) for f in faults)]
    nodes = nodes_of(board)
    if board.supply:
        found: list[np.ndarray | None] = [transient(board, "running", c) for c in changes]
        text = transient_deck(board, "running", {}) + ".tran 100u 1.2 1.16 100u\n.end\n"
    else:
        found = [
            None if t is None or not len(t) else t[0, :-1]
            for t in sweeps([(board, "running", changes)], 1, 1)[0]
        ]
        text = deck(board, "running", kind) + ".op\n.end\n"
    if found[0] is None:
        raise SystemExit(f"{kind}: no solution")

    def volts(row: np.ndarray) -> dict[str, float]:
        at = dict(zip(nodes, row))
        return {terminal: round(float(at.get(net, 0.0)), 4) + 0.0 for terminal, net in pairs}

    parts = {
        p.removesuffix(" coil"): ends
        for p, ends in board.parts.items()
        if p[0] not in "_X" and "primary" not in p
    }

    def across(row: np.ndarray) -> dict[str, float]:
        at = dict(zip(nodes, row)) | {"0": 0.0}
        return {part: round(float(at[a] - at[b]), 4) + 0.0 for part, (a, b) in parts.items()}

    alone_across = [across(row) for row in found if row is not None]
    for part in (
        [p for p in parts if p.startswith("LD")] if kind == "led-string" else []
    ):  # a lone meter, else it floats
        given = [metered_across(board, part, c) for c in changes]
        for entry, table in zip(alone_across, sweeps([(board, "running", given)], 1, 1)[0]):
            if table is not None:
                a, b = board.parts[part]
                at = dict(zip(nodes, table[0])) | {"0": 0.0}
                entry[part] = round(float(at[a] - at[b]), 4) + 0.0

    return {
        "parameters": parameters,
        "state": (build.__doc__ or "").strip(),
        "sound": {"volts": volts(found[0]), "across": alone_across[0]},
        "failures": [
            {"part": f.part.removesuffix(" coil"), "failed": f.failed, "volts": volts(row), "across": shown}
            for f, row, shown in zip(faults, found[1:], alone_across[1:])
            if row is not None
        ],
        "deck": text,
    }


def main() -> None:
    entries = {kind: worked(kind) for kind in sorted(ALONE)}
    TARGET.parent.mkdir(parents=True, exist_ok=True)
    TARGET.write_text(
        json.dumps({"kinds": entries, "left_out": LEFT_OUT}, indent=1, ensure_ascii=False) + "\n", "utf-8"
    )
    for kind, entry in entries.items():
        print(f"{kind}: {entry['sound']['volts']}; {len(entry['failures'])} failures")
    print(f"{len(entries)} kinds, {len(LEFT_OUT)} left out; {TARGET.stat().st_size} bytes")


if __name__ == "__main__":
    main()
