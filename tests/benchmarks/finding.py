"""How well and how fast the search finds.   python tests/benchmarks/finding.py [--quick]

Prints two tables. First: hit@1, hit@5 and MRR@10 of our search and of SQLite's FTS5 (BM25, porter
stemming, any of the words) over the same generated library of 2,000 notes and the same queries, in the same
run, each with and without the kind of device. Second: what headless Chromium transfers and how long it
takes, at 100, 1,000 and 10,000 notes, from a server on this machine that compresses with gzip.
"key" types each query for the first time and waits for its files; "again" types it when they are loaded.
The queries and some weights of the score were chosen by the same hand: see finding_data.py.
"""

from __future__ import annotations

import argparse
import contextlib
import functools
import gzip
import http.server
import itertools
import os
import random
import re
import shutil
import sqlite3
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent.parent)]

from finding_cases import slips  # noqa: E402
from finding_data import CHATTER, MAKES, PROSE, QUERIES, SAID, THINGS  # noqa: E402

from generator.finding.index import Index, build_index  # noqa: E402
from generator.finding.record import Cause, Record  # noqa: E402
from generator.pages.theme import Theme  # noqa: E402

Truth = dict[str, tuple[str, frozenset[str], str]]  # slug -> kind, symptoms, cause


def misspell(text: str, chance: random.Random) -> str:
    """One slip of the keyboard in one of the longer words: a letter lost, doubled or swapped with the next."""
    words = text.split(" ")
    long = [n for n, word in enumerate(words) if len(word) > 4]
    if not long:
        return text
    n = chance.choice(long)
    at = chance.randrange(1, len(words[n]) - 1)
    word = words[n]
    slips = [
        word[:at] + word[at + 1 :],
        word[:at] + word[at] + word[at:],
        word[:at] + word[at + 1] + word[at] + word[at + 2 :],
    ]
    words[n] = chance.choice(slips)
    return " ".join(words)


class Filler:
    """Invented words, as often as words are in real text (Zipf's law), to give an index a real size."""

    def __init__(self, seed: int = 9, size: int = 30_000) -> None:
        self.chance = random.Random(seed)
        syllables = [c + v + e for c in "bdfgklmnprstvw" for v in "aeiou" for e in ("", "n", "r", "s")]
        self.words = [
            "".join(self.chance.choices(syllables, k=self.chance.randrange(2, 5))) for _ in range(size)
        ]
        self.weights = list(itertools.accumulate(1 / (n + 3) for n in range(size)))

    def text(self, length: int) -> str:
        return " ".join(self.chance.choices(self.words, cum_weights=self.weights, k=length))


def library(size: int, seed: int = 5, prose: int = 6, filler: int = 0) -> tuple[list[Record], Truth]:
    """A library of repairs as people note them down: four languages, one slip in twelve texts, noise.

    filler: invented words added to the prose; a fiftieth of as many go to the symptoms.
    """
    chance = random.Random(seed)
    invented = Filler() if filler else None
    records = []
    truth: Truth = {}
    kinds = sorted(THINGS)
    for n in range(size):
        kind = chance.choice(kinds)
        category, names, faults = THINGS[kind]
        _, part, failed, found_by, symptoms = chance.choices(faults, [fault[0] for fault in faults])[0]
        had = chance.sample(symptoms, 2 if len(symptoms) > 1 and chance.random() < 0.25 else 1)
        language = chance.choices(["en", "de", "fr", "nl"], [5, 2, 2, 2])[0]
        name = names.get(language, kind)
        said = []
        for symptom in had:
            text = chance.choice(SAID[symptom][language])
            said.append(misspell(text, chance) if chance.random() < 1 / 12 else text)
        extra = chance.choice(CHATTER[language])
        if invented:
            extra = f"{extra} {invented.text(filler // 50)}".strip()
        make = chance.choice(MAKES)
        records.append(
            Record(
                slug=f"note-{n:05}",
                title=f"{make} {name}: {said[0]}",
                date=f"20{chance.randrange(15, 26)}-{chance.randrange(1, 13):02}-{chance.randrange(1, 29):02}",
                device_kind=name,
                category=category,
                make=make,
                model=f"{chance.choice('ABCDEFGH')}{chance.choice('KLMNPRST')}-{chance.randrange(10, 990)}",
                symptoms=tuple([*said, extra] if extra else said),
                outcome=chance.choices(["fixed", "repairable", "end of life"], [6, 2, 2])[0],
                causes=(Cause(part, failed, "", found_by, "replaced", part),),
                parts=(f"R{chance.randrange(1, 90)} {chance.choice(['4k7', '10k', '220R', '1M'])}",),
                part_names=(part,),
                block_kinds=tuple(
                    chance.sample(
                        ["mains-inlet", "heater", "transformer-supply", "motor", "led-indicator"], 2
                    )
                ),
                bench=chance.choice(["north", "south", "harbour"]),
                prose=" ".join(chance.sample(PROSE, min(prose, len(PROSE))))
                + f" In the end it was the {part}: {failed}."
                + (f" {invented.text(filler)}." if invented else ""),
            )
        )
        truth[f"note-{n:05}"] = (kind, frozenset(had), f"{part} {failed}")
    return records, truth


def rows(size: int, seed: int = 8) -> list[Record]:
    """Rows of collections, as cafés keep them: no page, no cause, a sentence with words that nobody else uses."""
    chance = random.Random(seed)
    invented = Filler(seed=4, size=60_000)
    written = [text for _, _, _, text in slips()]
    out = []
    for n in range(size):
        kind = chance.choice(sorted(THINGS))
        language = chance.choices(["en", "de", "fr", "nl"], [6, 1, 1, 1])[0]
        said = chance.choice(SAID[chance.choice(sorted(SAID))][language])
        text = f"{said}, {chance.choice(written)} {invented.text(chance.randrange(2, 14))}"
        out.append(
            Record(
                slug=f"row-{n}",
                title="",
                date=f"20{chance.randrange(15, 26)}-{chance.randrange(1, 13):02}-11",
                device_kind=kind,
                category=THINGS[kind][0],
                symptoms=(text,),
                outcome=chance.choice(["fixed", "repairable", "end of life", "unknown"]),
                source=chance.choice(["North cafés", "Harbour group", "Mill street"]),
                address=f"records/{n // 200}.html#{n}",
            )
        )
    return out


def english_kind(kind: str) -> str:
    """The kind in THINGS that a name in any language (and with a typo) stands for."""
    if not kind:
        return ""
    every = {
        name: english for english, (_, names, _) in THINGS.items() for name in (english, *names.values())
    }
    import difflib

    return every[difflib.get_close_matches(kind, every, n=1, cutoff=0.5)[0]]


class Fts:
    """SQLite's FTS5 over the same texts, as somebody would set it up in an afternoon."""

    def __init__(self, records: list[Record]) -> None:
        self.base = sqlite3.connect(":memory:")
        self.base.execute(
            "CREATE VIRTUAL TABLE notes USING fts5(slug UNINDEXED, kind, said, cause, prose, tokenize='porter unicode61')"
        )
        self.base.executemany(
            "INSERT INTO notes VALUES (?, ?, ?, ?, ?)",
            [
                (
                    r.slug,
                    f"{r.device_kind} {r.category}",
                    f"{r.title} {' '.join(r.symptoms)}",
                    " ".join(r.cause_labels()),
                    r.prose,
                )
                for r in records
            ],
        )

    def search(self, query: str, kind: str) -> list[str]:
        def any_of(text: str) -> str:
            return " OR ".join(f'"{word}"' for word in re.findall(r"\w+", text))

        asked = any_of(query)
        if kind:
            asked = f"({asked}) AND kind: ({any_of(kind)})"
        rows = self.base.execute(
            "SELECT slug FROM notes WHERE notes MATCH ? ORDER BY bm25(notes) LIMIT 10", (asked,)
        )
        return [slug for (slug,) in rows]


def measure(
    find: Callable[[str, str], list[str]],
    queries: list[tuple[str, str, str, str]],
    truth: Truth,
    with_kind: bool,
) -> tuple[float, float, float]:
    """hit@1, hit@5, MRR@10."""
    first = five = rank = 0.0
    for _, words, kind, symptom in queries:
        wanted = english_kind(kind)
        if with_kind:
            found = find(words, kind)
        else:
            found = find(words, "")
        good = [
            symptom in truth[s][1] and (not (wanted and with_kind) or truth[s][0] == wanted)
            for s in found[:10]
        ]
        first += good[:1] == [True]
        five += True in good[:5]
        rank += 1 / (good.index(True) + 1) if True in good else 0
    return first / len(queries), five / len(queries), rank / len(queries)


def quality(size: int) -> None:
    records, truth = library(size)
    start = time.perf_counter()
    index = build_index(records)
    built = time.perf_counter() - start
    fts = Fts(records)

    def ours(words: str, kind: str) -> list[str]:
        return [hit.slug for hit in index.search(words, kind).results]

    print(f"{size} notes, {len(QUERIES)} queries; index built in {built:.1f} s\n")
    print(f"{'queries':<12}{'n':>4}  {'kind':<6}{'':8}{'hit@1':>7}{'hit@5':>7}{'MRR@10':>8}")
    for sort in ("clean", "typo", "paraphrase", "all"):
        chosen = [query for query in QUERIES if sort in (query[0], "all")]
        for with_kind in (False, True):
            for name, find in (("FTS5", fts.search), ("ours", ours)):
                one, five, mrr = measure(find, chosen, truth, with_kind)
                print(
                    f"{sort:<12}{len(chosen):>4}  {'given' if with_kind else '-':<6}{name:<8}{one:>7.2f}{five:>7.2f}{mrr:>8.2f}"
                )
    print()


class _Gzip(http.server.SimpleHTTPRequestHandler):
    """Serves files compressed, as any web server does; quiet."""

    def do_GET(self) -> None:
        path = Path(self.translate_path(self.path))
        if path.is_dir():
            path /= "index.html"
        if not path.is_file():
            self.send_error(404)
            return
        body = gzip.compress(path.read_bytes(), 6)
        self.send_response(200)
        self.send_header("Content-Type", self.guess_type(str(path)))
        self.send_header("Content-Encoding", "gzip")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        pass


SCRIPTS = ("find-words.js", "find-index.js", "find-score.js", "find-reasons.js", "find.js")
PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Find</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'self'">
<script src="find-words.js" defer></script><script src="find-index.js" defer></script>
<script src="find-score.js" defer></script><script src="find-reasons.js" defer></script><script src="find.js" defer></script></head><body>
<form role="search" data-find data-find-index="find/" data-find-note="{slug}.html">
<input data-find-words name="q" aria-label="What does it do?"><input data-find-kind name="kind" aria-label="Kind"></form>
<p data-find-status aria-live="polite"></p><div data-find-filters></div><div data-find-causes></div><ol data-find-results></ol>
<template data-find-cause-template><p><button data-put="filter"></button> <meter data-put="bar"></meter>
<span data-put="share"></span> <span data-put="found_by"></span></p></template>
<template data-find-result-template><li><a data-put-link><span data-put="title"></span></a>
<span data-put="symptoms"></span> <b data-put="cause"></b> <i data-put="why"></i></li></template></body></html>"""


def write_page(folder: Path, index: Index) -> None:
    """The least page that searches, and the index beside it."""
    (folder / "find").mkdir(parents=True)
    for name, content in index.shards().items():
        (folder / "find" / name).write_bytes(content)
    static = Theme().static
    for name in SCRIPTS:
        (folder / name).write_bytes(static[name])
    (folder / "index.html").write_text(PAGE, "utf-8")


@contextlib.contextmanager
def served(folder: Path) -> Iterator[str]:
    server = http.server.ThreadingHTTPServer(
        ("127.0.0.1", 0), functools.partial(_Gzip, directory=str(folder))
    )
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()


# Types words key by key; gives, for each key, the milliseconds until the results stand on the page, and the bytes of the
# files that it loaded, as they came over the network.
TYPING = """async (words) => {
  const form = document.querySelector("form"), input = document.querySelector("[data-find-words]"), keys = [];
  performance.setResourceTimingBufferSize(100000);
  input.focus();
  for (let n = 1; n <= words.length; n++) {
    performance.clearResourceTimings();
    const start = performance.now();
    input.value = words.slice(0, n);
    input.dispatchEvent(new Event("input", {bubbles: true}));
    while (form.dataset.findState === "busy") {
      await new Promise((go) => { const c = new MessageChannel(); c.port1.onmessage = go; c.port2.postMessage(0); });
    }
    const time = performance.now() - start;
    const loaded = performance.getEntriesByType("resource").map((entry) => entry.encodedBodySize + 300);
    keys.push([time, loaded.reduce((a, b) => a + b, 0)]);
  }
  return keys;
}"""
ASKED = [
    "does not turn on",
    "keeps tripping",
    "heizt nicht mehr",
    "cuts out after 10 minutes",
    "ne charge plus",
]


def browser(sizes: list[tuple[int, int]], filler: int) -> None:
    """sizes: notes, rows of collections. Scripts and the page are not counted; 300 bytes are, for each file's head."""
    from playwright.sync_api import sync_playwright

    print(
        f"{'notes':>6}{'rows':>7}{'built':>8}{'index':>10}{'files':>7}{'first query':>13}{'a key, most':>13}"
        f"{'first result':>14}{'key, median':>13}{'key, 95 %':>11}{'again, 95 %':>13}"
    )
    with sync_playwright() as playwright:
        found = (
            os.environ.get("BENCHLORE_BROWSER")
            or shutil.which("chromium")
            or shutil.which("chromium-browser")
        )
        chromium = playwright.chromium.launch(executable_path=found, args=["--no-sandbox"])
        for size, more in sizes:
            records = library(size, filler=filler)[0] + rows(more)
            start = time.perf_counter()
            index = build_index(records)
            built = time.perf_counter() - start
            with tempfile.TemporaryDirectory() as scratch:
                site = Path(scratch) / "site"
                write_page(site, index)
                files = list((site / "find").iterdir())
                whole = sum(file.stat().st_size for file in files)
                with served(site) as address:
                    page = chromium.new_page()
                    page.goto(address)
                    page.wait_for_timeout(200)
                    typed = [page.evaluate(TYPING, words) for words in ASKED]
                    again = sorted(key[0] for words in ASKED for key in page.evaluate(TYPING, words))
                    page.close()
            first = typed[0][0]
            later = typed[0][1:] + [key for keys in typed[1:] for key in keys]
            times = sorted(key[0] for key in later)
            print(
                f"{size:>6}{more:>7}{built:>6.1f} s{whole / 1000:>7.0f} kB{len(files):>7}"
                f"{sum(key[1] for key in typed[0]) / 1000:>10.1f} kB{max(key[1] for key in later) / 1000:>10.1f} kB"
                f"{first[0]:>11.0f} ms{statistics.median(times):>10.1f} ms{times[int(len(times) * 0.95)]:>8.1f} ms"
                f"{again[int(len(again) * 0.95)]:>10.1f} ms"
            )
        chromium.close()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--quick", action="store_true", help="the quality only, no browser")
    parser.add_argument("--notes", type=int, default=2000, help="size of the library for the first table")
    chosen = parser.parse_args()
    quality(chosen.notes)
    if not chosen.quick:
        browser([(100, 0), (1000, 0), (10_000, 0), (1000, 60_000)], filler=150)
