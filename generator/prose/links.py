"""Where a link of the prose may lead: to the web, to mail, to a file or note beside it, to a heading."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from urllib.parse import quote, unquote

from generator.problems import Refusal, did_you_mean

HEADING_ID = "h-"  # so that no heading of an author's can take the id of something the page needs

_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:")
_WEB = re.compile(r"https?://[^/?#\s]", re.IGNORECASE)


class BadLink(Refusal):
    """A link that is not to be printed. what says why, hint what would be accepted."""


def attributes(
    href: str, anchors: Collection[str], address_of: Callable[[str], str | None]
) -> dict[str, str]:
    """The attributes that a link gets for what its author wrote; raises BadLink.

    anchors: the ids of the page's headings. address_of: see markdown.render, link.
    """
    path, _, fragment = href.partition("#")
    if _WEB.match(href):
        return {"rel": "noopener"}
    if href.lower().startswith("mailto:"):
        return {}
    if not is_path(href) or not is_path(unquote(path)):
        hint = "https, mailto, or a file beside the note"
        raise BadLink(f"{href!r} is not an address a note may link to", hint)
    if path:
        address = address_of(unquote(path))
        if address is None:
            raise BadLink(f"no such file or note: {unquote(path)}")
        return {"href": address + (f"#{_anchor(fragment)}" if fragment else "")}
    heading = unquote(fragment)
    if _anchor(heading) not in anchors:
        what = f"no heading here is called {heading}" if fragment else "this link leads nowhere"
        raise BadLink(what, did_you_mean(heading, [anchor.removeprefix(HEADING_ID) for anchor in anchors]))
    return {"href": "#" + quote(_anchor(heading))}


def is_path(address: str) -> bool:
    """Whether a browser would read this as a path below the page."""
    return not _SCHEME.match(address) and not address.startswith(("/", "\\")) and address.isprintable()


def _anchor(fragment: str) -> str:
    return fragment if fragment.startswith(HEADING_ID) else HEADING_ID + fragment
