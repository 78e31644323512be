"""A note's blocks as one device: what joins them, states, relays, loads, places; figures by hand."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping

import numpy as np
import pytest

from generator.circuit.device import Device, PlaceError, work_out
from generator.circuit.device.nets import is_inner
from generator.circuit.device.results import ends, nets, reach
from generator.circuit.device.states import solve
from generator.circuit.network.newton import settle
from generator.circuit.network.passive import Resistor
from generator.circuit.network.reading import Reading
from generator.circuit.point import Mains
from generator.diagnosis.predictions import Predictor, Sought
from tests.circuit.device.examples import box, built, simulated, told


def volts(device: object, net: str, state: str) -> float:
    from generator.circuit.device import Device

    assert isinstance(device, Device)
    return float(device.solved.point.volts(device.net(net), device.common)[device.row(state)])


def test_names_join_outputs_and_commons() -> None:
    """A block's name alone: plus, out, tap and live_out, and the commons of one side are one net."""
    device = box()
    assert device.net("reg.in") == device.net("supply.plus")
    assert device.net("air.supply") == device.net("reg.out") == device.net("brain.VDD")
    assert device.net("element.live") == device.net("inlet.live_out") == device.net("supply.primary_live")
    assert device.net("lamp.common") == device.common == device.net("brain.GND")
    assert device.net("inlet.neutral") != device.common


def test_pins_drive_by_state() -> None:
    """A pin that is on: the chip's supply behind 30 ohm; off: common. 5 V less 0.7 V over 4.7 k: 0.9 mA in the base."""
    device = box()
    assert volts(device, "relay-drive.drive", "asleep") == pytest.approx(0.0, abs=1e-3)
    base = (5 - 0.7) / (4700 + 30) - 0.7 / 47e3
    assert volts(device, "relay-drive.drive", "heating") == pytest.approx(
        5 - 30 * (base + 0.7 / 47e3), abs=0.01
    )
    assert volts(device, "fan-drive.drain", "heating") < 0.02
    assert volts(device, "fan-drive.drain", "asleep") == pytest.approx(
        volts(device, "supply.plus", "asleep"), abs=0.01
    )


def test_a_relay_in_two_blocks_is_one() -> None:
    """Its contact closes where its coil is driven: 95 W at 230 V is 0.413 A, else nothing."""
    device = box()
    amperes = device.solved.mains.amperes("element.power")
    assert amperes[device.row("asleep")] < 1e-6
    assert amperes[device.row("heating")] == pytest.approx(95 / 230, rel=0.002)


def test_extra_parts_and_sensors_by_state() -> None:
    """10 k over TH1 ∥ 100 k: at 25 °C 5·9090.9/19090.9 = 2.381 V; at 60 °C the thermistor has 10 k·exp(3950·(1/333.15 −
    1/298.15)) = 2 485.6 ohm: ∥ 100 k = 2 425.3; 5·2425.3/12425.3 = 0.976 V."""
    device = box()
    assert volts(device, "air.tap", "asleep") == pytest.approx(2.381, abs=0.003)
    assert volts(device, "air.tap", "warm") == pytest.approx(0.976, abs=0.004)


def test_unplugged_ohms_in_circuit() -> None:
    """From supply.plus: 100 k + 22 k alone, the regulator being open, plus the coil to an open transistor: 122 k."""
    device = box()
    ohms = nets(device)["supply.plus"]["ohms"]
    assert ohms["value"] == pytest.approx(122e3, rel=1e-3)
    assert ohms["low"] == pytest.approx(122e3 * 0.95, rel=1e-3) and ohms["high"] == pytest.approx(
        122e3 * 1.05, rel=1e-3
    )


def test_a_stated_load_is_all_that_hangs_on_the_rail() -> None:
    """120 mA are drawn from the supply in the first state, whatever of it is joined."""
    device = box()
    taken = -float(device.solved.point.amperes("supply.rectifier")[0])
    assert taken == pytest.approx(0.120, rel=0.005)


def test_a_rating_plate_means_the_device_at_work() -> None:
    """300 W on the plate, 290 W of them an element that only the second state switches on: what is left for everything else
    is 10 W, in the first state too (subtraction)."""
    device = work_out(
        {
            "inlet": {"kind": "mains-inlet", "load": "300 W", "fuse": "F1 2A 250V"},
            "drive": {"kind": "transistor-switch", "drive": "5 V", "base": "R8 2k2", "transistor": "Q1 hfe200 500mA 45V",
                      "load": "RL1 400 12V", "load_supply": "12 V", "flyback": "D5"},
            "element": {"kind": "heater", "power": "HE1 290 W", "rated_voltage": "230 V", "supply": "inlet", "contact": "RL1 5A"},
        },
        Mains(),
        told({"states": {"off": {}, "on": {"on": ["drive"]}}}),
    )  # fmt: skip
    _ = device.solved
    assert device.elements["inlet.load"].nominal()["watts"] == pytest.approx(10, abs=0.5)


def test_a_load_below_what_is_joined_is_told_with_both_figures() -> None:
    """2 mA stated; the lamp in the first state draws (5 − 1.8 V)/(470 + 30 ohm) = 6.4 mA, the divider 0.26 mA."""
    device = box(
        states={"lit": {"on": ["lamp"]}},
        blocks={"reg": {"kind": "linear-regulator", "input": "supply", "output": "5 V", "load": "2 mA"}},
    )
    _ = device.solved
    (told,) = [t for t in device.troubles if t.path == ("blocks", "reg", "load")]
    assert told.severity == "warning" and "2.00 mA stated" in told.what and "6.67 mA" in told.what


def test_a_load_that_is_left_out_is_what_is_joined() -> None:
    """The lamp's 5 V pin: (5 − 1.8)/(470 + 30) = 6.4 mA, and 0.26 mA of the divider."""
    device = box(states={"lit": {"on": ["lamp"]}})
    assert device.blocks["reg"].point.load == pytest.approx(6.7e-3, rel=0.03)


def test_nets_as_data() -> None:
    """Each net with its names, volts by state, alternating ones against neutral, band about the value."""
    told = nets(box())
    rail = told["reg.out"]
    assert rail["at"][:2] == ["reg.out", "air.supply"] and set(rail["volts"]) == {"asleep", "heating", "warm"}
    dc = rail["volts"]["asleep"]["dc"]
    assert (dc["low"], dc["value"], dc["high"]) == pytest.approx((4.8, 5.0, 5.2), abs=0.01)
    mains = told["inlet.live_out"]["volts"]["asleep"]["ac"]
    assert (mains["low"], mains["value"], mains["high"]) == pytest.approx((207, 230, 253), abs=0.5)


def test_places() -> None:
    """Connector pins, test points, terminals, values, parts and blocks; what is not there is told with the nearest."""
    device = box()
    assert device.place("CN3 pin 1").plus == device.place("TP5").plus == device.net("reg.out")
    assert device.place("R14").how == "part" and device.place("R14").element == "relay-drive.base"
    assert device.place("supply.ripple").how == "rail"
    assert device.place("supply").plus == device.net("supply.plus")
    for text, words in (
        ("CN3 pin 7", "3 pins"),
        ("reg.outt", "no terminal or value outt"),
        ("R99", "no such place"),
        ("rg.out", "did you mean reg"),
    ):
        with pytest.raises(PlaceError) as error:
            device.place(text)
        assert words in str(error.value), text


def test_the_part_beyond_a_pin_can_be_lost_with_the_pin() -> None:
    """CN3 pin 2 open: the tap rises to 5 V·100 k/110 k, for R44 stays on the board."""
    from generator.circuit.network.newton import operating_points

    device = box()
    point = operating_points(device.system, [{**device.solved.changes[0], "CN3 pin 2": {"ohms": math.inf}}])
    assert float(point.volts(device.net("air.tap"), device.common)[0]) == pytest.approx(
        5 * 100 / 110, abs=0.01
    )


def test_without_states_all_or_nothing_is_driven() -> None:
    """running and idle; where nothing can be driven, running alone."""
    assert [s.name for s in box(states={}).states] == ["running", "idle"]
    plain = built("blocks: {d: {kind: divider, supply: 5 V, upper: R1 10k, lower: R2 10k}}")
    assert [s.name for s in plain.states] == ["running"]


def test_a_common_that_is_joined_elsewhere_stands_there() -> None:
    """[fan-drive.common, shunt.top]: the fan's 0.13 A raise the MOSFET's source by 0R5·0.1 A."""
    device = box(
        blocks={"shunt": {"kind": "sense-resistor", "shunt": "R50 0R5", "load": "0.1 A"}},
        joins=[["fan-drive.common", "shunt.top"]],
    )
    supply = volts(device, "supply.plus", "heating")
    assert volts(device, "shunt.top", "heating") == pytest.approx(supply / 120.5 * 0.5, rel=0.02)
    assert device.net("shunt.common") == device.common


@pytest.mark.parametrize(
    "changes, path, words",
    [
        ({"joins": [["air.pinn", "brain.lamp"]]}, ("joins", 0), "no terminal pinn"),
        ({"joins": [["oven.out", "brain.lamp"]]}, ("joins", 0), "no block oven"),
        (
            {"joins": [["air.pin", "inlet.live"]]},
            ("joins", 0),
            "joins the mains side to the low-voltage side",
        ),
        ({"joins": [["air.pin"]]}, ("joins", 0), "one place is not a join"),
        ({"test_points": {"TP1": "nowhere.out"}}, ("test_points", "TP1"), "no block nowhere"),
        ({"connectors": {"CN1": ["reg.oot"]}}, ("connectors", "CN1", 0), "no terminal oot"),
        ({"states": {"on": {"on": ["sense"]}}}, ("states", "on", "on", 0), "sense cannot be driven"),
        ({"states": {"on": {"on": ["sens"]}}}, ("states", "on", "on", 0), "no block sens"),
        ({"states": {"hot": {"sense": 60}}}, ("states", "hot", "sense"), "no sensor"),
    ],
)
def test_what_is_wrong_is_told_at_its_place(changes: dict, path: tuple, words: str) -> None:
    """With the nearest name or both names; and the rest of the device still works."""
    device = box(**changes)
    told = [t for t in device.troubles if t.path == path]
    assert told and words in told[0].what and told[0].hint, device.troubles
    assert math.isfinite(volts(device, "reg.out", device.states[0].name))


def test_a_part_in_two_places_is_told() -> None:
    """A designator that a block has already, in another block's further parts."""
    lamp = {
        "kind": "led-indicator",
        "resistor": "R20 470",
        "forward": "LD1 red",
        "also": ["R14 10k from supply to common"],
    }
    device = box(blocks={"lamp": lamp})
    (told,) = device.troubles
    assert told.path == ("blocks", "lamp", "also", 0) and "R14 is in relay-drive already" in told.what


def test_a_net_that_is_not_there_in_a_further_part() -> None:
    """A terminal of another block that does not exist."""
    lamp = {
        "kind": "led-indicator",
        "resistor": "R20 470",
        "forward": "LD1 red",
        "also": ["R77 10k from reg.otu to common"],
    }
    device = box(blocks={"lamp": lamp})
    (told,) = device.troubles
    assert (
        told.path == ("blocks", "lamp", "also", 0) and "no terminal otu" in told.what and "out" in told.hint
    )


def test_plain_volts_that_one_block_makes_are_hinted_at() -> None:
    """5 V where one regulator makes 5 V: its name is offered; not where two do, nor for what is joined already."""
    from generator.circuit.device.hints import made_elsewhere

    lamp = {"kind": "led-indicator", "supply": "5 V", "resistor": "R20 470", "forward": "LD1 red"}
    (told,) = made_elsewhere(box(blocks={"second": lamp}).circuit)
    assert told.path == ("blocks", "second", "supply") and told.severity == "hint" and "reg" in told.hint
    other = {"kind": "linear-regulator", "input": "supply", "output": "5 V", "load": "1 mA"}
    assert made_elsewhere(box(blocks={"second": lamp, "reg2": other}).circuit) == []


def test_every_diode_of_a_rectifier_is_a_place() -> None:
    """ "D1-D4": each by itself between the nets of the usual bridge, on the diode range one way only: 0.6 V at 1 mA, OL
    backwards. An inrush limiter is its stated ohms when cold, the bulk capacitor is open and its bleeder is not."""
    device = work_out(
        {
            "bulk": {
                "kind": "mains-rectifier", "rectifier": "D1-D4 bridge", "bulk": "C9 100u 400V", "bleeder": "R1 220k",
                "load": "10 W", "inrush": "NTC1 10",
            }
        },
        Mains(),
    )  # fmt: skip
    cold = device.unplugged()
    ends = {
        "D1": ("live", "plus"),
        "D2": ("neutral", "plus"),
        "D3": ("common", "live"),
        "D4": ("common", "neutral"),
    }
    for part, pair in ends.items():
        place = device.place(part)
        assert [net.replace("_limited", "live") for net in (place.plus, place.minus)] == [
            f"bulk.{net}" for net in pair
        ]
        assert cold.diode(place.plus, place.minus) == pytest.approx(0.6, abs=0.02)
        assert cold.diode(place.minus, place.plus) == float("inf")
    assert cold.ohms("bulk.live", "bulk._limited") == pytest.approx(10, rel=0.01)
    assert cold.ohms("bulk.plus", "bulk.common") == pytest.approx(220e3, rel=0.01)
    assert device.place("C9").plus == "bulk.plus"


@pytest.mark.parametrize("name", ["nightlight", "wakelamp", "lockbox"])
def test_bands_hold_what_parts_within_their_tolerances_do(name: str) -> None:
    """200 boards with every tolerance anywhere in its band, each solved: no net leaves its band by more than 20 mV and 2 %,
    and no band says what no supply can make: the transistor's base above a junction, a collector below common."""
    device = built(simulated()[name])
    rng, index = random.Random(1), device.system.index
    for row, state in enumerate(device.states):
        low, high = ends(device, state.name)
        own = device.solved.changes[row]
        boards = [anywhere(device, own, rng) for _ in range(200)]
        x, good = settle(device.system, device.system.numbers(boards), device.solved.point.x[row])
        for net, at in index.items():
            if at < device.system.voltages and not is_inner(net):
                slack = 0.02 + 0.02 * max(abs(low[at]), abs(high[at]))
                assert low[at] - slack <= x[good, at].min() and x[good, at].max() <= high[at] + slack, (
                    state.name,
                    net,
                )
                assert low[at] > -0.05, (state.name, net)
    base = index[device.net("drive.base")] if "drive" in device.blocks else None
    assert base is None or high[base] < 1.0


@pytest.mark.parametrize("name", ["nightlight", "wakelamp", "lockbox"])
def test_bands_across_parts_hold_what_parts_within_their_tolerances_do(name: str) -> None:
    """The same across every resistor, and of its current, which is these volts over its own ohms (Ohm's law)."""
    device = built(simulated()[name])
    rng, index = random.Random(2), device.system.index
    resistors = [e for e in device.elements.values() if isinstance(e, Resistor) and not e.ac and e.called]
    assert len(resistors) >= 4
    for row, state in enumerate(device.states):
        own = device.solved.changes[row]
        boards = [anywhere(device, own, rng) for _ in range(60)]
        x, good = settle(device.system, device.system.numbers(boards), device.solved.point.x[row])
        x = np.concatenate([x, np.zeros((len(x), 1))], 1)
        for element in resistors:
            across = x[good, index[element.a]] - x[good, index[element.b]]
            ohms = [board.get(element.name, element.nominal())["ohms"] for board in boards]
            seen = {
                Reading(element.a, element.b): (across, 0.01),
                Reading(element.a, element=element.name): (across / np.array(ohms)[good], 1e-5),
            }
            for reading, (shown, least) in seen.items():
                ((low, _, high),) = reach(device, [(state.name, reading)])
                slack = least + 0.02 * max(abs(low), abs(high))
                assert low - slack <= shown.min() and shown.max() <= high + slack, (state.name, reading)


def anywhere(
    device: Device, own: Mapping[str, Mapping[str, float]], rng: random.Random
) -> dict[str, dict[str, float]]:
    """A board with every tolerance anywhere in its band."""
    changed = {name: dict(parameters) for name, parameters in own.items()}
    for axis in device.axes:
        end, share = rng.choice(axis.ends(device.system.nominal, own)), rng.random()
        for element, parameters in end.items():
            nominal = {**device.elements[element].nominal(), **own.get(element, {})}
            moved = {name: nominal[name] + share * (to - nominal[name]) for name, to in parameters.items()}
            changed[element] = {**changed.get(element, {}), **moved}
    return changed


def test_a_part_that_two_blocks_have_at_one_net_is_told() -> None:
    """R14 from the rail in a divider and R14 from the rail in an indicator: one of the names is wrong."""
    device = box(
        blocks={"again": {"kind": "divider", "supply": "supply", "upper": "R30 100k", "lower": "R33 10k"}}
    )
    told = [t for t in device.troubles if "R30" in t.what]
    assert [(t.path, t.severity) for t in told] == [(("blocks", "again"), "warning")]
    assert "sense" in told[0].what


def test_a_join_to_a_net_that_only_a_network_has_feeds_a_block() -> None:
    """6 V behind 100 ohm, and a short there: nothing is left for the regulator, whose own 6 V were only its nominal input."""
    device = built(
        """
        blocks:
          cells: {kind: battery-pack, cells: 4, chemistry: alkaline, capacity: 2500 mAh, load: 0.2 mA}
          filter: {kind: network, parts: [R3 100 from cells.plus to clean, R4 0.01 from clean to common]}
          reg: {kind: linear-regulator, input: 6 V, output: 3.3 V, load: 0.1 mA}
        joins: [[filter.clean, reg.in]]
        """
    )
    assert volts(device, "reg.in", "running") == pytest.approx(6 * 0.01 / 100.01, rel=0.05)


PLATE = """
states: {warm: {on: [q]}, cold: {}}
joins: [[q.out, plate.gate], [supply.live, plate.live], [supply.neutral, plate.neutral]]
blocks:
  supply: {kind: capacitive-dropper, dropper: C1 1u X2 275V, series: R1 100 2W, discharge: R2 220k, output: 5.1 V,
           smoothing: C2 470u 16V, clamp: ZD1 5V1 1W, return_diode: D2, load: 26 mA}
  q: {kind: high-side-switch, supply: supply, transistor: Q1 hfe150, base: R3 4k7, pull_up: R4 10k, load: 400 ohm}
  plate: {kind: triac-switch, load: HE1 300 W, triac: TR1 4A 600V, gate_resistor: R7 330}
"""
DIMMER = """
joins: [[knob.load, lamp.load], [knob.gate, lamp.gate]]
blocks:
  inlet: {kind: mains-inlet, load: 100 W, fuse: F1 1A}
  lamp: {kind: triac-switch, supply: inlet, load: LA1 100 W, triac: TR1 4A 600V}
  knob: {kind: phase-control, supply: inlet, fixed: R1 4k7, pot: VR1 470k, capacitor: C1 68n, breakover: DB1 32V}
"""


def test_a_triac_follows_the_circuit_that_drives_its_gate() -> None:
    """Gate current from Q1, (5.1 V − 0.2 V − 0.8 V)/330 ohm = 12 mA, fires it: some 1.2 V are left across it. Without, the
    load's whole 230 V stand there. By hand."""
    device = built(PLATE)
    assert not device.check()
    warm, cold = device.solved.mains.volts(device.net("plate.load"), device.net("plate.neutral"))
    assert (float(warm), float(cold)) == (pytest.approx(1.2, abs=0.1), pytest.approx(230, rel=0.01))
    assert any(
        "plate cannot be driven" in t.what for t in built(PLATE.replace("on: [q]", "on: [plate]")).check()
    )


@pytest.mark.parametrize(
    "key, mode, fires",
    [("breakover", "open", False), ("capacitor", "short", False), ("pot", "open", False), ("fixed", "open", False),
     ("capacitor", "open", True), ("breakover", "short", True), ("", "", True)],
)  # fmt: skip
def test_a_diac_fires_a_triac_only_with_something_to_fire_with(key: str, mode: str, fires: bool) -> None:
    """What each fault of a dimmer does to its lamp, as repair handbooks have it (from memory): no diac, no way to the
    capacitor or none to be charged: dark. No capacitor, or a shorted diac: it still comes on near one end of the knob."""
    device = built(DIMMER)
    changed = {
        element.name: element.worn(element.nominal(), key, mode, None) or {}
        for element in device.of_part("knob", key)
    }
    solved = solve(device, device.system, device.side, device.states, None, changed)
    across = float(solved.mains.volts(device.net("lamp.load"), device.net("lamp.neutral"))[0])
    # fired, it has the part of the half-wave before that: 15° at most, 230·√(15/180 − sin 30°/2π) = 14 V
    assert (across < 14.0) == fires and (across > 200.0) != fires


@pytest.mark.parametrize(
    "switch, joined, low",
    [("{kind: transistor-switch, drive: 5 V, base: R1 1k, transistor: Q1 hfe100}", "[r.b, q.collector]", True),
     ("{kind: mosfet-switch, drive: 5 V, gate: R1 100, transistor: Q1 vth2 rds0R05}", "[r.b, q.drain]", True),
     ("{kind: high-side-switch, supply: 12 V, transistor: Q1 hfe100, base: R1 2k2, pull_up: R2 10k}", "[r.b, q.out]", False)],
)  # fmt: skip
def test_the_current_of_a_load_that_is_what_is_joined(switch: str, joined: str, low: bool) -> None:
    """470 ohm between the switch and the other rail: 12 V / 470 ohm = 25.5 mA, less the transistor's 0.2 V. By hand."""
    other = "supply" if low else "common"
    device = built(f"""
joins: [{joined}]
blocks:
  r: {{kind: divider, supply: 12 V, upper: R7 100k, lower: R8 100k, also: [R9 470 from {other} to b]}}
  q: {switch}
""")
    predicted = Predictor(
        device, [Sought(device.place("q.load_current"), "amps", device.states[0].name, "A")]
    )
    assert float(predicted.sound[0]) == pytest.approx(11.8 / 470, rel=0.02)


@pytest.mark.parametrize(
    "block, join, parameter, volts",
    [
        ("{kind: led-string, leds: white, count: 3, resistor: R5 330}", "[rail.out, a.supply]", "supply", 12.0),
        ("{kind: solenoid, feed: dc, winding: 100 ohm}", "[rail.out, a.plus]", "supply", 12.0),
        ("{kind: comparator, supply: 5 V, input_resistor: 10k, feedback: 100k}", "[half.tap, a.reference]", "reference", 6.0),
        ("{kind: charge-resistor, supply: 12 V, resistor: R9 68}", "[pack.plus, a.out]", "battery", 7.2),
    ],
)  # fmt: skip
def test_what_a_join_gives_may_be_left_out(block: str, join: str, parameter: str, volts: float) -> None:
    """A coil on direct current that is joined to 12 V has 12 V, not the mains; 6 cells of 1.2 V are 7.2 V. By hand."""
    device = built(f"""
joins: [{join}]
blocks:
  rail: {{kind: linear-regulator, input: 16 V, output: 12 V, load: 300 mA}}
  half: {{kind: divider, supply: 12 V, upper: R1 10k, lower: R2 10k}}
  pack: {{kind: battery-pack, cells: 6, chemistry: ni-mh, capacity: 2 Ah, load: 1 mA}}
  a: {block}
""")
    assert not device.circuit.troubles
    given = device.blocks["a"].quantity(parameter)
    assert given is not None and given.middle == pytest.approx(volts, rel=0.03)


def test_a_pack_without_a_load_feeds_what_is_joined() -> None:
    """6 cells of 1.2 V on 72 ohm: 100 mA, so that 2 Ah last 20 h. By hand."""
    device = built("""
joins: [[pack.plus, lamp.in]]
blocks:
  pack: {kind: battery-pack, cells: 6, chemistry: ni-mh, capacity: 2 Ah}
  lamp: {kind: network, parts: [R9 72 from in to pack.common]}
""")
    assert not device.circuit.troubles
    runtime = device.blocks["pack"].values["runtime"].value
    assert runtime == pytest.approx(20 * 3600, rel=0.05)


@pytest.mark.parametrize("load, least, most", [("LS1 8", 5e-3, 50e-3), ("R9 100", 0.5e-3, 8e-3)])
def test_an_amplifier_takes_a_current_without_a_signal(load: str, least: float, most: float) -> None:
    """Quiescent current of amplifiers for loudspeakers, 5 to 50 mA, and for headphones, 1 to 8 mA (data sheets, from memory)."""
    device = built(f"""
blocks:
  pack: {{kind: battery-pack, cells: 8, chemistry: alkaline, capacity: 2 Ah}}
  power: {{kind: audio-stage, supply: pack, bias_upper: R1 47k, bias_lower: R2 47k, feedback: R3 22k, gain_resistor: R4 1k,
          gain_capacitor: C1 47u 16V, output_capacitor: C2 1000u 25V, load: {load}}}
""")
    assert least < -float(device.solved.point.amperes("pack.cell")[0]) < most


@pytest.mark.parametrize(
    "supply",
    ["{kind: flyback-supply, input: 325 V, output: 12 V, turns_ratio: 8, primary_inductance: 2.2 mH, frequency: 65 kHz, "
     "transistor: Q1 700V 2A, sense: R2 2R2}",
     "{kind: series-pass, input: 18 V, series: R3 1k, zener: ZD1 12V7 500mW, transistor: Q1 hfe100}"],
)  # fmt: skip
def test_a_supply_with_a_transistor_of_its_own_feeds_what_is_joined(supply: str) -> None:
    """12 V on 120 ohm: 100 mA, whatever the transistor inside carries. By hand."""
    device = built(f"""
joins: [[rail.out, lamp.in]]
blocks:
  rail: {supply}
  lamp: {{kind: network, parts: [R9 120 from in to rail.common]}}
""")
    load = device.blocks["rail"].quantity("load")
    assert load is not None and load.middle == pytest.approx(0.1, rel=0.05)


def test_the_mains_have_the_frequency_that_a_block_states() -> None:
    """10 nF at 60 Hz and 120 V pass 2π·60/s·10 nF·120 V = 0.452 mA; at 50 Hz it would be 0.377 mA. Reactance of a capacitor."""
    device = built("""
blocks:
  lamp: {kind: triac-switch, supply: 120 V, f: 60 Hz, load: 45 W, triac: TR1, snubber_resistor: R8 100, snubber_capacitor: C6 10n X2}
""")
    predicted = Predictor(
        device, [Sought(device.place("lamp.snubber_current"), "amps", device.states[0].name, "A")]
    )
    assert float(predicted.sound[0]) == pytest.approx(0.452e-3, rel=0.01)


def test_a_load_in_watts_on_direct_current_holds_what_is_joined() -> None:
    """A bulk capacitor's stated 45 W at 325 V are 0.138 A (power over volts), of which 25 kohm joined take 13 mA: the rail
    gives 0.138 A, not both."""
    device = built("""
joins: [[bulk.plus, extra.a]]
blocks:
  bulk: {kind: mains-rectifier, bulk: C1 100u 400V, load: 45 W}
  extra: {kind: network, parts: [R9 25k from a to bulk.common]}
""")
    assert -float(device.solved.point.amperes("bulk.rectifier")[0]) == pytest.approx(45 / 325, rel=0.03)


@pytest.mark.parametrize("fed", [False, True])
def test_a_loop_without_a_source_is_told_at_its_parts(fed: bool) -> None:
    """Kirchhoff's voltage law: around a loop of resistors and diodes without an electromotive force no current flows."""
    blocks = """
        blocks:
          cells: {kind: battery-pack, cells: 4, chemistry: alkaline, capacity: 2500 mAh, load: 0.2 mA}
          loop: {kind: network, parts: [R1 10k from a to b, D1 from b to c, R3 1k from c to a%s]}
        """
    device = built(blocks % (", R4 4k7 from cells.plus to a, R5 1k from c to common" if fed else ""))
    hints = [(t.path, t.severity) for t in device.check() if "nothing feeds it" in t.what]
    assert hints == ([] if fed else [(("blocks", "loop", "parts"), "hint")])
