"""The voltage chart: what a meter shows at the nets that matter, in each state and with the plug out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from generator.circuit.device import Device, PlaceError
from generator.circuit.network.passive import Contact, Winding
from generator.diagnosis.columns import ohms_in_column, volts_in_column
from generator.diagnosis.findable import rails_at
from generator.diagnosis.spots import terminal_name
from generator.language import _, pgettext
from generator.notation.printed import format_value
from generator.notes.note import Note
from generator.pages.readingview import ReadingsView

MOST_ROWS, FEW_ROWS = 8, 5  # in the open, at the most and where nothing has a name
_RAIL = ("mean", "rail", "output_voltage", "output", "nominal")
_COMMON = ("common", "minus", "neutral", "neutral_out", "primary_neutral", "secondary_b")


@dataclass(frozen=True)
class ChartCell:
    """What a net should show in one state, and what was read there. flag: of that reading."""

    should: str
    read: str = ""
    flag: str = ""
    ok: bool = True


@dataclass(frozen=True)
class ChartRow:
    """A net: what it is called, the other places that lie on it, and a cell for each column."""

    name: str
    also: tuple[str, ...]
    cells: tuple[ChartCell, ...]


@dataclass(frozen=True)
class Chart:
    """The chart. columns: the states' names, then the one for the plug out. rows: what has a name on the board or was
    read; more: the other nets that join blocks."""

    columns: tuple[str, ...]
    rows: tuple[ChartRow, ...]
    more: tuple[ChartRow, ...]


def chart_view(device: Device, note: Note, readings: ReadingsView, nets: Mapping[str, Any]) -> Chart | None:
    """The chart of a device; None where no net joins two blocks and none was read. nets: as results.nets gives them."""
    named = {device.net(net): called for called, net in device.test_points.items() if net}
    for connector, pins in device.connectors.items():
        for n, net in enumerate(pins, start=1):
            if net:
                named.setdefault(device.net(net), f"{connector} {pgettext('connector', 'pin')} {n}")
    read = _read(device, note, readings)
    states = [state.name for state in device.states]
    rows: list[tuple[int, ChartRow]] = []
    for own, data in nets.items():
        net = device.net(own)
        places = list(data["at"])
        blocks = {place.split(".", 1)[0] for place in places}
        weight = 0 if net in named else 1 if any(key[0] == net for key in read) else 2
        common = any(place.split(".", 1)[-1] in _COMMON for place in places)
        if common or not any(data["volts"][state] for state in states) or (weight == 2 and len(blocks) < 2):
            continue
        cells = [_cell(data["volts"][state], read.get((net, state))) for state in states]
        cells.append(ChartCell(ohms_in_column(data.get("ohms"))))
        shown = [place for place in places if ".pin " not in place]
        own_names = [p for p in shown if not note.circuit.blocks[p.split(".", 1)[0]].inputs.get("pins")]
        name = named.get(net, (own_names or shown)[0])  # the part's own name says more than the chip's
        also = tuple(place for place in shown if place != name)
        rows.append((weight, ChartRow(name, also, tuple(cells))))
    if not rows:
        return None
    first = [row for weight, row in rows if weight < 2]
    if len(first) < FEW_ROWS:  # what has a name or was read stays, whatever comes before it in the note
        others = [row for weight, row in rows if weight == 2][: FEW_ROWS - len(first)]
        first = [row for _weight, row in rows if any(row is kept for kept in (*first, *others))]
    rest = tuple(row for _weight, row in rows if not any(row is known for known in first))
    return Chart(
        (*(pgettext("state", name) for name in states), _("unplugged")),
        tuple(first[:MOST_ROWS]),
        (*first[MOST_ROWS:], *rest),
    )


def points_of(chart: Chart) -> dict[str, str]:
    """Test point or pin -> what it should show in each state, and what was read there, for its mark on a board."""
    found = {}
    for row in (*chart.rows, *chart.more):
        told = []
        for column, cell in zip(chart.columns, row.cells):
            told.append(f"{column}: {cell.should}" + (f" ({_('read')} {cell.read})" if cell.read else ""))
        found[row.name] = f"{row.name}. " + "; ".join(told)
    return found


def _read(device: Device, note: Note, readings: ReadingsView) -> dict[tuple[str, str], ChartCell]:
    """(net, state) -> what was read there."""
    found: dict[tuple[str, str], ChartCell] = {}
    first = device.states[0].name if device.states else ""
    rows = {row.path: row for row in readings.rows}
    for reading in note.measured:
        if reading.across or reading.ohms or reading.diode:
            continue
        try:
            place = device.place(reading.at or f"{reading.block}.{reading.value}")
        except PlaceError:
            continue
        row = rows.get(reading.path)
        if (
            row is not None
            and row.judged
            and place.how == "volts"
            and place.times == 1.0
            and not place.failed
            and not place.put
        ):
            found[device.net(place.plus), reading.when or first] = ChartCell("", row.read, row.flag, row.ok)
    return found


def _cell(volts: Mapping[str, Mapping[str, float]], read: ChartCell | None) -> ChartCell:
    should = volts_in_column(volts)
    return ChartCell(should) if read is None else ChartCell(should, read.read, read.flag, read.ok)


def joins_of(device: Device, numbers: Mapping[str, int]) -> dict[str, tuple[str, ...]]:
    """Block -> where its terminals go: "plus → 3 reg, 5 air", and at their other end "supply ← 4 supply". Commons go
    without saying."""
    found: dict[str, dict[str, str]] = {}
    sources = rails_at(device)
    for net, places in device.members.items():
        ends = [place.split(".", 1) for place in places if "." in place and ".pin " not in place]
        if any(terminal in _COMMON for _block, terminal in ends):
            continue
        blocks = [block for block in dict.fromkeys(block for block, _t in ends) if block in numbers]
        source = sources.get(net)
        for block, terminal in ends:
            others = [b for b in blocks if b != block]
            if not others or block not in numbers or terminal.startswith("_"):
                continue
            arrow = "→"
            if source in others and not device.blocks[block].inputs.get("pins"):
                others, arrow = [source], "←"
            told = f"{arrow} " + ", ".join(f"{numbers[b]} {b}" for b in others)
            called = terminal_name(device.blocks[block].kind, terminal) or terminal.replace("_", " ")
            found.setdefault(block, {}).setdefault(told, called)
    return {
        block: tuple(f"{terminal} {told}" for told, terminal in entries.items())
        for block, entries in found.items()
    }


# terminals
_GIVES = frozenset({"out", "tap", "pin", "collector", "drain", "load", "live_out", "neutral_out", "gate"})


def feeds_of(device: Device) -> list[tuple[str, str]]:
    """(block, block) where one's output lies on a net of the other: rails, then what switches, divides and decides, then the nets
    of blocks written part by part."""
    found = [*_fed_by_rails(device), *_pulled(device)]
    fed = rails_at(device)
    for net in [net for net in device.members if net not in fed and net not in device.commons]:
        ends = [place.split(".", 1) for place in device.members[net] if "." in place and ".pin " not in place]
        of_chips = {
            block
            for block, _t in ends
            if device.blocks.get(block) and device.blocks[block].inputs.get("pins")
        }
        if of_chips:  # the chip's pins say which way
            continue
        gives = dict.fromkeys(block for block, terminal in ends if terminal in _GIVES)
        written = [name for name in _written(device) if net in _nets_of(device, name)]
        there = dict.fromkeys([*(block for block, _t in ends if block in device.blocks), *written])
        for source in gives or written[:1]:
            found += [(source, target) for target in there if target != source and target not in gives]
    return found


def _written(device: Device) -> list[str]:
    """The blocks that are written part by part."""
    return [name for name, block in device.blocks.items() if block.kind.name == "network"]


def _nets_of(device: Device, block: str) -> set[str]:
    return {device.net(net) for element in device.of_block(block) for net in element.nets}


def _fed_by_rails(device: Device) -> list[tuple[str, str]]:
    found = []
    for net, source in rails_at(device).items():
        written = [name for name in _written(device) if net in _nets_of(device, name)]
        for block in [*(place.split(".", 1)[0] for place in device.members.get(net, ())), *written]:
            if block != source and block in device.blocks:
                found.append((source, block))
    return found


def _pulled(device: Device) -> list[tuple[str, str]]:
    """(block, block) of a relay whose coil lies in one and a contact in another."""
    contacts = [own for own in device.elements.values() if isinstance(own, Contact) and own.coil]
    coils = [own for own in device.elements.values() if isinstance(own, Winding)]
    return [
        (coil.block, contact.block)
        for contact in contacts
        for coil in coils
        if coil.called == contact.coil and coil.block != contact.block
    ]


def live_blocks(device: Device) -> set[str]:
    """The blocks of which anything stands at mains potential."""
    return {own.block for own in device.elements.values() if any(device.on_mains(net) for net in own.nets)}


def rails_of(device: Device, nets: Mapping[str, Any]) -> dict[str, str]:
    """nets: as results.nets gives them. Block of power -> the volts of its rail: the value that its sheet shows, else what the meter shows at the net."""
    found = {}
    data = {device.net(own): net for own, net in nets.items()}
    for net, name in rails_at(device).items():
        values = device.blocks[name].values
        own = next((values[key] for key in _RAIL if key in values and values[key].value is not None), None)
        if own is not None and own.value is not None and own.unit == "V":
            found[name] = format_value(own.value, "V")
        elif net in data and device.states:
            volts = data[net]["volts"].get(device.states[0].name, {})
            kind = max(volts, key=lambda kind: abs(volts[kind]["value"]), default="")
            if kind:
                found[name] = format_value(volts[kind]["value"], "V") + ("~" if kind == "ac" else "")
    return found
