"""Which licences go together: texts under both may be made into one.

Source: the compatibility chart of Creative Commons (from memory). A licence that is not known here goes with itself.
"""

from __future__ import annotations

import re

_FREE = {"cc0", "by"}  # go with everything that may be changed at all
_WITH = {
    "cc0": {"cc0", "by", "by-sa", "by-nc", "by-nc-sa"},
    "by": {"cc0", "by", "by-sa", "by-nc", "by-nc-sa"},
    "by-sa": {*_FREE, "by-sa"},
    "by-nc": {*_FREE, "by-nc", "by-nc-sa"},
    "by-nc-sa": {*_FREE, "by-nc", "by-nc-sa"},
    "by-nd": set[str](),
    "by-nc-nd": set[str](),
}


def go_together(one: str, other: str) -> bool:
    """Whether texts under both may be made into one. "" is no licence: nothing goes with it."""
    if not one or not other:
        return False
    first, second = _sort(one), _sort(other)
    if first in _WITH and second in _WITH:
        return second in _WITH[first]
    return _plain(one) == _plain(other)


def _sort(licence: str) -> str:
    """The sort of a Creative Commons licence, whatever its version and however it is written; "" for another."""
    text = _plain(licence)
    if re.match(r"cc-?0|publicdomain|public-domain", text):
        return "cc0"
    found = re.match(r"(?:cc|creativecommons|creative-commons)-(by(?:-(?:nc|sa|nd))*)(?:-[0-9]|$)", text)
    return found[1] if found else ""


def _plain(licence: str) -> str:
    text = licence.casefold().replace("attribution", "by").replace("sharealike", "sa")
    text = text.replace("noncommercial", "nc").replace("noderivatives", "nd").replace("noderivs", "nd")
    return re.sub(r"[\s_/.]+", "-", text).strip("-")
