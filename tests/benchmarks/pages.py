"""What a page costs its reader, measured in Chromium: python tests/benchmarks/pages.py SITE

Prints a table, a row for each kind of page: first paint and the work of script and layout in milliseconds (median of
several loads on a screen of 360 by 640 pixels, the processor slowed down as a phone's is), layout shift, and bytes as a
server would send them compressed. Nothing is asserted; what has to hold is in tests/pages/test_look.py.
"""

from __future__ import annotations

import argparse
import gzip
import re
import statistics
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from conftest import browser_path  # noqa: E402

LOADS = 5
SLOWED = 4  # times; about what separates a cheap phone from a desk's computer, common practice, no source

OBSERVED = """window.shifted = 0; new PerformanceObserver(list => {
  for (const entry of list.getEntries()) window.shifted += entry.value;
}).observe({type: 'layout-shift', buffered: true});"""


def kinds_of_page(site: Path) -> dict[str, str]:
    """A name and a page for each kind; of notes the lightest, the heaviest, and one with photos where there is one."""
    notes = sorted((site / "notes").glob("*/index.html"), key=lambda page: page.stat().st_size)
    found = {
        "home": "index.html",
        "search": "index.html?q=dead",
        "symptoms": "symptoms/index.html",
        "kinds of block": "blocks/index.html",
    }
    for folder in ("symptoms", "blocks"):
        first = next(
            (
                p
                for p in sorted((site / folder).glob("*.html"))
                if p.name not in ("index.html", "marking.html")
            ),
            None,
        )
        if first:
            found[{"symptoms": "a symptom", "blocks": "a kind of block"}[folder]] = first.relative_to(
                site
            ).as_posix()
    found["marking"] = "blocks/marking.html"
    if notes:
        found["lightest note"], found["heaviest note"] = (
            n.relative_to(site).as_posix() for n in (notes[0], notes[-1])
        )
    return found


def bytes_of(site: Path, page: str) -> dict[str, int]:
    """Compressed bytes of page, styles and scripts; photos as they are."""
    path = site / page.partition("?")[0]
    text = path.read_text()
    sizes = {"html": len(gzip.compress(text.encode(), 9)), "css": 0, "js": 0}
    for name in re.findall(r'(?:src|href)="((?:\.\./)*static/[^"]+\.(?:css|js))"', text):
        sizes[name.rpartition(".")[2]] += len(gzip.compress((path.parent / name).resolve().read_bytes(), 9))
    return sizes


def measure(browser: Any, site: Path, page: str) -> dict[str, float]:
    paints, scripts, layouts, shifts = [], [], [], []
    for _ in range(LOADS):
        context = browser.new_context(
            viewport={"width": 360, "height": 640}, device_scale_factor=2, is_mobile=True, has_touch=True
        )
        tab = context.new_page()
        session = context.new_cdp_session(tab)
        session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
        session.send("Performance.enable")
        tab.add_init_script(OBSERVED)
        tab.goto(f"{site.as_uri()}/{page}")
        tab.wait_for_timeout(300)
        paints.append(
            tab.evaluate("performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? NaN")
        )
        found = {m["name"]: m["value"] for m in session.send("Performance.getMetrics")["metrics"]}
        scripts.append(1000 * found["ScriptDuration"])
        layouts.append(1000 * (found["LayoutDuration"] + found["RecalcStyleDuration"]))
        for _ in range(8):
            tab.evaluate("scrollBy(0, 700)")
            tab.wait_for_timeout(40)
        shifts.append(tab.evaluate("window.shifted"))
        context.close()
    return {
        "paint": statistics.median(paints), "script": statistics.median(scripts), "layout": statistics.median(layouts), "shift": max(shifts),
    }  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("site", type=Path, help="a built site")
    site = parser.parse_args().site.resolve()
    from playwright.sync_api import sync_playwright

    print("| page | first paint ms | script ms | layout ms | shift | html kB | css kB | js kB | all kB |")
    print("|---|---|---|---|---|---|---|---|---|")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=browser_path() or None, args=["--no-sandbox", "--disable-gpu"]
        )
        for kind, page in kinds_of_page(site).items():
            took, size = measure(browser, site, page), bytes_of(site, page)
            row = [
                kind,
                f"{took['paint']:.0f}",
                f"{took['script']:.0f}",
                f"{took['layout']:.0f}",
                f"{took['shift']:.4f}",
            ]
            row += [f"{size[part] / 1000:.1f}" for part in ("html", "css", "js")] + [
                f"{sum(size.values()) / 1000:.1f}"
            ]
            print(f"| {' | '.join(row)} |")
        browser.close()


if __name__ == "__main__":
    main()
