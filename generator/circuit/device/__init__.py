"""A note's blocks as one device: joined into one network, in its states, with what a meter shows at every place.

`work_out(blocks, mains, told)` gives a Device; blocks as the front matter has them, `told` what the note says beyond
(told.py). `assemble(circuit, told)` is the same from a circuit that is built already.

    device = work_out(raw_blocks, mains, Told(states=(State("asleep"), State("heating", on=("heater-drive",))), joins=(("air.pin", "watch.input"),)))
    device.troubles                   # [Trouble], paths as in the note's front matter
    place = device.place("CN3 pin 2") # or "reg.out", "R14", "TP5", "supply.ripple", "supply"; raises PlaceError
    device.states                     # names and what is on; device.solved: the operating points
    results.nets(device)              # what note.json shows: volts per state with low and high, ohms unplugged
    device.ohms(a, b), device.diode(red, black)
    netlist.netlist(device)           # SPICE text of the first state

For diagnosis: `device.around(state)` (network/around.py), `device.failures()`, `device.bridges()`, `device.axes`.
"""

from generator.circuit.device.assembly import assemble, work_out
from generator.circuit.device.device import Device
from generator.circuit.device.places import Place, PlaceError
from generator.circuit.device.told import NOTHING, State, Told

__all__ = ["NOTHING", "Device", "Place", "PlaceError", "State", "Told", "assemble", "work_out"]
