"""A device as one electrical network: elements, states, operating points, ohms, SPICE text.

How a kind is wired
===================

A kind says where its parts lie in one method, `wire`. Nets are plain names; those of its terminals are a contract, inner
ones begin with "_". `common` is the block's 0 V.

    def wire(self, block: Block, w: Wiring) -> None:     # transistor-switch
        w.drive("drive", "drive")                        # plain volts: a source of its own; a join: nothing
        w.supply("load_supply", "load_supply")
        w.resistor("base", "drive", "base")              # parameter, net, net: value, tolerance, designator, failures
        w.resistor("pull_down", "base", "common")        # nothing, where the note has none
        w.transistor("transistor", "base", "collector", "common", hfe="transistor_hfe", vbe="vbe", vce_sat="vce_sat",
                     at=block.solved["base_current"], forced=block.solved.get("forced_gain", 0))
        w.winding("load", "load_supply", "collector", load_resistance)
        w.diode("flyback", "collector", "load_supply", required=False)
        w.volts("collector_voltage", "collector")        # where each named value is measured
        w.volts("base_voltage", "base")
        w.amps("load_current", "load")

- A number is a parameter's name ("vbe"), a plain number (exact), or a function of the point (`load_resistance`), which
  is asked again at both ends of every tolerance of the block. Where the note states no tolerance, spread.py gives one:
  the calls for semiconductors and loads name their entry themselves, others take `spread="..."`. Terminals that
  have two names: `w.same("pin", "tap")`.
- `w.supply(parameter, plus, minus)`: what feeds the block. `w.drive(...)`: what switches it, on or idle by state.
  `w.load(parameter, plus, minus)`: a stated load (A or ohm).
- `w.contact(...)`: switches and contacts; `rest`: closed with nothing moving it. One with the designator RLn or Kn
  follows the coil of that name in any block.
- The mains: `ac=True` puts an element on the mains' alternating current (phasors at mains frequency, RMS); `w.common("neutral", mains=True)`
  and `w.common("common", mains=True)` mark a side that is at mains potential.
- Anything else: `w.add(Element(...))` with any class from passive.py, junctions.py, chips.py, sources.py, its nets as plain names;
  `**w.who(key)` gives name, block, key, designator and failures.
- A value with no probe is computed by `solve` alone. A sensor's value with it unplugged:
  `w.volts("open_output", "tap", failed=(("thermistor", "open"),))`.
- State: `w.air` (°C) and `w.light` (lux) are what sensors stand in.
- A kind whose element depends on where it works (vbe at its base current) takes that from `block.solved`; `solve` and
  network agree when the block stands alone: tests/circuit/network/test_alone.py holds every wired kind to that, sound
  and under each failure.

What is computed
================

`compile.System(elements, commons)`: the equations. `newton.operating_points(system, states)`: DC in every state.
`around.Around(point, row)`, `variants.solve`: hundreds of changed networks about one solved point: failures, tolerances,
bridges; `sensitivity.read`: what moves each reading there. `ohms.Unplugged(elements)`: ohmmeter and diode range. `phasors.MainsSide(elements, frequency)`: the mains side.
`generator.circuit.device.netlist`: the same network for a general circuit simulator.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from generator.circuit.network.wiring import Wiring as Wiring
else:  # what a kind names only as a type, and one block alone computes without
    Wiring = Any
