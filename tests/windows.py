"""Chromium for the tests, with one window that is used again: to open one takes longer than most tests look at it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SIZE = {"width": 1280, "height": 720}  # Playwright's own
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync")  # fmt: skip


class Browser:
    """A browser as Playwright has it. A page without any option but its size is the kept one, as good as new."""

    def __init__(self, started: Any) -> None:
        self._started, self._free = started, None
        self.new_context = started.new_context

    def new_page(self, viewport: dict[str, int] | None = None, **options: Any) -> Any:
        """A page of its own; close() gives it back."""
        if options:
            return self._started.new_page(viewport=viewport or SIZE, **options)
        page, self._free = self._free or self._kept(), None
        page.set_viewport_size(viewport or SIZE)
        return page

    def _kept(self) -> Any:
        page = self._started.new_page()
        heard: list[tuple[str, Callable[..., Any]]] = []
        listen = page.on

        def on(event: str, handler: Callable[..., Any]) -> None:
            heard.append((event, handler))
            listen(event, handler)

        def give_back() -> None:
            while heard:
                page.remove_listener(*heard.pop())
            page.unroute_all()
            page.emulate_media(media="null", color_scheme="null", reduced_motion="null", forced_colors="null")
            page.goto("about:blank")
            self._free = page

        page.on, page.close = on, give_back
        return page
