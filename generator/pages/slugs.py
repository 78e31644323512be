"""Addresses from words: short, plain, the same for the same words."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from functools import lru_cache

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
