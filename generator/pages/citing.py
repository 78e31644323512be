"""What a note's prose asks for: values of its blocks, their sheets, photos beside it."""

from __future__ import annotations

from collections.abc import Callable

from generator.circuit.circuit import possible_values
from generator.notes.note import Note
from generator.pages.blockview import value_text
from generator.pages.theme import Theme
from generator.prose.photos import Photo

ROOT = "\0root\0"  # the way from a note's page to the root of the site, where its page knows that
PHOTOS = f"{ROOT}photos/"
SHEET = "\0sheet {}\0"  # stands for a sheet in the prose, until all that the prose cites is known


class Citing:
    """See markdown.Expander. cited: block -> the values that stand in the prose; photo_files: names in the cache; picture: the
    first photo, for cards that link here. find_photo raises Refused."""

    def __init__(self, note: Note, theme: Theme, find_photo: Callable[[str], Photo | None]) -> None:
        self.note, self.theme, self.blocks = note, theme, note.circuit.blocks
        self._find_photo = find_photo
        self.cited: dict[str, set[str]] = {}
        self.photo_files: dict[str, None] = {}
        self.picture = ""

    def value(self, block: str, value: str, form: str) -> str | None:
        if block not in self.blocks:
            return "?"  # the block is broken, which is told at the block
        result = self.blocks[block].values.get(value)
        if result is None:
            return None
        self.cited.setdefault(block, set()).add(value)
        return self.theme.render(
            "_value.html", text=value_text(result, form), form=form, name=f"{block}.{value}"
        )

    def sheet(self, block: str) -> str | None:
        if block not in self.blocks:
            return "" if block in self.note.blocks else None
        return SHEET.format(block)

    def image(self, src: str, alt: str, title: str) -> str | None:
        photo = self.photo(src)
        if photo is None:
            return None
        return self.theme.render(
            "_photo.html", photo=photo, alt=alt.strip(), caption=title or alt, base=PHOTOS
        )

    def names(self) -> dict[str, list[str]]:
        return {
            name: list(self.blocks[name].values) if name in self.blocks else possible_values(raw)
            for name, raw in self.note.blocks.items()
        }

    def designators(self) -> set[str]:
        return {part for block in self.blocks.values() for part in block.designators}

    def photo(self, src: str) -> Photo | None:
        photo = self._find_photo(src)
        if photo is not None:
            self.photo_files.update(dict.fromkeys(photo.files))
            self.picture = self.picture or photo.sizes[-1].jpeg
        return photo
