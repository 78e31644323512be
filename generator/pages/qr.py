"""An address as a QR code, for paper: a camera leads from the box with the part back to the page."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Code:
    """A QR code (ISO/IEC 18004) as an SVG path of unit squares. size: modules on a side, with the quiet zone."""

    size: int
    path: str


QUIET = 2  # modules around it; ISO/IEC 18004 asks for 4, of which the paper around it gives the rest


def qr_code(address: str) -> Code | None:
    """The code of an address; None for "", and for one too long to be read from paper."""
    import segno

    if not address or len(address.encode()) > 300:
        return None
    rows = [list(row) for row in segno.make(address, error="m", micro=False).matrix]
    pieces = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            if row[x]:
                start = x
                while x < len(row) and row[x]:
                    x += 1
                pieces.append(f"M{start + QUIET},{y + QUIET}h{x - start}v1h-{x - start}z")
            x += 1
    return Code(len(rows) + 2 * QUIET, "".join(pieces))


def qr_text(address: str) -> str:
    """The code for a terminal: two rows of modules in a line, with the quiet zone of 4 modules that ISO/IEC 18004 asks
    for. What is light in the code is drawn, for most terminals are dark."""
    import segno

    code = segno.make(address, error="m", micro=False)
    rows = [[bool(module) for module in row] for row in code.matrix_iter(border=4)]
    rows += [[False] * len(rows[0])] if len(rows) % 2 else []
    signs = {(False, False): "█", (False, True): "▀", (True, False): "▄", (True, True): " "}
    return "\n".join("".join(signs[pair] for pair in zip(*pair_of)) for pair_of in zip(rows[::2], rows[1::2]))
