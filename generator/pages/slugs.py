"""Addresses from words: short, plain, the same for the same words."""

from __future__ import annotations

import hashlib
import posixpath
import re
import unicodedata
from collections.abc import Collection
from functools import lru_cache
from urllib.parse import quote

from generator.notes.note import Note

LONGEST = 60


@lru_cache(maxsize=20_000)
def slugify(text: str) -> str:
    """Lower-case ASCII words joined by hyphens; where letters were lost, a few hex digits keep it distinct."""
    plain = unicodedata.normalize("NFKD", text.casefold().replace("ß", "ss"))
    letters = "".join(c for c in plain if not unicodedata.combining(c))
    slug = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:LONGEST].strip("-")
    lost = any(c.isalnum() and not c.isascii() for c in letters) or len(slug) >= LONGEST
    if lost or not slug or slug == "index":
        slug = (slug + "-" if slug else "") + hashlib.sha256(text.casefold().encode()).hexdigest()[:6]
    return slug


def relative_link(note: Note, path: str, slugs: Collection[str]) -> str | None:
    """Where a relative link of a note's prose leads: another note's page, or None."""
    folder = note.folder
    inside = posixpath.normpath("/".join(["notes", *([folder.name] if folder else []), path])).split("/")
    if path.startswith("/") or inside[0] != "notes" or len(inside) < 2:
        return None
    slug = inside[1].removesuffix(".md")
    if slug in slugs and (len(inside) == 2 or inside[2:] == ["note.md"]):
        return f"../{quote(slug)}/index.html"
    return None
