"""`benchlore live`: from the save of a note to the page in the browser that shows it, in a library of 1,000 notes.

    python tests/benchmarks/live.py [NOTES]

Beside it what the browser alone takes to load that page again.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent))

from generated import library  # noqa: E402

ROUNDS = 7
# When the page itself had loaded, in ms since 1970: to wait for its text from outside looks every half second only.
LOADED = "performance.timeOrigin + performance.getEntriesByType('navigation')[0].loadEventEnd"


def address_from(said: Path) -> str:
    """Where the site is served, once it is built for the first time."""
    for _ in range(6000):
        if found := re.search(r"http://\S+/", said.read_text()):
            return found.group()
        time.sleep(0.1)
    raise SystemExit(f"no address: {said.read_text()[-500:]}")


def saved_to_shown(tab: Any, note: Path) -> list[float]:
    """Seconds of each round: a word of the note is changed, until the open page shows it."""
    taken = []
    text = note.read_text("utf-8")
    for number in range(ROUNDS):
        word = f"round{number}"
        start = time.time()
        note.write_text(text.replace("The rail stands", f"The {word} rail stands"), encoding="utf-8")
        tab.get_by_text(f"The {word} rail stands").first.wait_for(state="attached", timeout=120_000)
        tab.wait_for_function(f"{LOADED} > performance.timeOrigin")
        taken.append(tab.evaluate(LOADED) / 1000 - start)
        time.sleep(4.0)  # until the search has caught up
    return taken


def reloads(tab: Any) -> list[float]:
    taken = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        tab.reload(wait_until="load")
        taken.append(time.perf_counter() - start)
    return taken


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("notes", nargs="?", type=int, default=1000, help="how many (%(default)s)")
    notes = parser.parse_args().notes
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        os.environ["BENCHLORE_CACHE"] = str(Path(place) / "cache")
        content = library(Path(place) / "content", notes)
        command = [
            sys.executable,
            "-m",
            "generator.cli",
            "live",
            str(content),
            "--port",
            "8431",
            "--no-browser",
        ]
        said = Path(place) / "said"
        process = subprocess.Popen(command, stderr=said.open("w"))
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
        try:
            tab = browser.new_page()
            tab.goto(address_from(said) + "notes/note-00007/index.html")
            bare = statistics.median(reloads(tab))
            shown = saved_to_shown(tab, content / "notes" / "note-00007.md")
        finally:
            browser.close()
            process.terminate()
            process.wait()
    print(f"{notes} notes{'':30}{'seconds':>9}{'ratio':>8}")
    print(f"{'page loaded again, browser alone':40}{bare:9.2f}{1:8.2f}")
    print(
        f"{'saved until shown, median':40}{statistics.median(shown):9.2f}{statistics.median(shown) / bare:8.2f}   target 1.0 s"
    )
    print(f"{'saved until shown, slowest':40}{max(shown):9.2f}{max(shown) / bare:8.2f}")


if __name__ == "__main__":
    main()
