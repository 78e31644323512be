"""The drawing of an audio stage: the amplifier with its feedback, and the way to the loudspeaker."""

from __future__ import annotations

from generator.circuit.block import Block
from generator.circuit.labels import capacitor_word, named, part_label
from generator.circuit.placing import across, down
from generator.circuit.sheet import Line, Sheet


def draw_amplifier(block: Block, sheet: Sheet, node: int) -> None:
    """From the input's node (row 1) on: the amplifier with feedback under it, the way to the loudspeaker behind it."""
    minus, chip, out = node + 1, node + 2, node + 3
    title = [Line("amplifier", "r"), *named(block, "gain", "×"), *named(block, "output_dc", "out at")]
    if block.has("emitter_resistor"):
        title += [*part_label(block, "emitter_resistor"), *named(block, "idle_current", "idle")]
    pins = sheet.box(chip, 1, 3, title, left={1: "+", 3: "−"}, right={2: "out"}, top="+", bottom="common")
    sheet.wire((node, 1), pins["left 1"])
    sheet.wire((0, 0), (chip, 0), pins["top"])
    sheet.wire((0, 6), (out + 1, 6))
    sheet.wire(pins["bottom"], (chip, 6))
    sheet.wire(pins["left 3"], (minus, 3), (minus, 4))
    across(block, sheet, "feedback", 4, minus, chip, below=True)
    sheet.wire((chip, 4), (out, 4), (out, 2))
    sheet.wire(pins["right 2"], (out, 2))
    sheet.dot((out, 2), (chip, 6))
    _draw_gain(block, sheet, minus)
    last = out
    if block.has("output_capacitor"):
        label = [*part_label(block, "output_capacitor"), *named(block, "output_cutoff", "from")]
        sheet.across(capacitor_word(block, "output_capacitor"), 2, out, out + 1, label)
        last = out + 1
    else:
        sheet.wire((out, 2), (out + 1, 2))
        last = out + 1
    if block.has("load"):
        down(block, sheet, "load", last, 2, 6, *named(block, "output_power"), segment=(3, 4))
        sheet.dot((last, 2))
    sheet.wire((last, 2), (last + 1, 2))
    sheet.port(last + 1, 2, [Line("output", "r"), *named(block, "speaker_dc", "DC")], right=True)


def _draw_gain(block: Block, sheet: Sheet, column: int) -> None:
    """From the inverting input down to common: the gain resistor, its capacitor."""
    if not block.has("gain_resistor"):
        return
    sheet.dot((column, 4), (column, 6))
    if not block.has("gain_capacitor"):
        down(block, sheet, "gain_resistor", column, 4, 6, left=True, segment=(4, 6))
        return
    down(block, sheet, "gain_resistor", column, 4, 5, left=True)
    down(block, sheet, "gain_capacitor", column, 5, 6, *named(block, "gain_cutoff", "from"), left=True)
