"""How the build grows: cold, again, one note changed; one process and two; peak memory. Ratios within one run.

python tests/benchmarks/scale.py [SMALL LARGE]     (1000 and 10000 notes unless said; the large one takes long)
python tests/benchmarks/scale.py pool [LIBRARIES NOTES]     (20 libraries of 500 notes in one site: also one replaced)
python tests/benchmarks/scale.py records [ROWS]     (60000 rows of a collection beside 100 notes)
"""

from __future__ import annotations

import argparse
import csv
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parent), str(Path(__file__).resolve().parents[2])]

from floor import floor  # noqa: E402
from generated import library  # noqa: E402


class Run:
    """`benchlore site` as a whole process: wall and processor seconds, and its memory in MiB.

    peak: all its processes together, pages shared by several counted once; largest: one process at its peak;
    resident: the sum of what is resident in each, shared pages counted in each.
    """

    def __init__(self, content: Path, site: Path, processes: int) -> None:
        command = [
            sys.executable,
            "-m",
            "generator.cli",
            "site",
            str(content),
            "--to",
            str(site),
            "--processes",
            str(processes),
        ]
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        start = time.perf_counter()
        process = subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL)
        self.peak = self.largest = self.resident = 0.0
        watcher = threading.Thread(target=self._watch, args=(process,), daemon=True)
        watcher.start()
        _, said = process.communicate()
        self.seconds = time.perf_counter() - start
        now = resource.getrusage(resource.RUSAGE_CHILDREN)
        self.processor = now.ru_utime + now.ru_stime - used.ru_utime - used.ru_stime
        assert process.returncode == 0, said.decode()[-2000:]

    def _watch(self, process: subprocess.Popen[bytes]) -> None:
        while process.poll() is None:
            family = _family(process.pid)
            self.peak = max(self.peak, sum(_kib(pid, "smaps_rollup", "Pss") for pid in family) / 1024)
            self.largest = max(self.largest, max(_kib(pid, "status", "VmHWM") for pid in family) / 1024)
            self.resident = max(self.resident, sum(_kib(pid, "status", "VmRSS") for pid in family) / 1024)
            time.sleep(0.2)


def _family(pid: int) -> list[int]:
    found = [pid]
    try:
        for task in Path(f"/proc/{pid}/task").iterdir():
            for child in (task / "children").read_text().split():
                found += _family(int(child))
    except OSError:
        pass
    return found


def _kib(pid: int, file: str, field: str) -> float:
    """A field of /proc in KiB; Pss is memory with shared pages counted by their share."""
    try:
        for line in Path(f"/proc/{pid}/{file}").read_text().splitlines():
            if line.startswith(f"{field}:"):
                return float(line.split()[1])
    except OSError:
        pass
    return 0.0


HEAD = f"{'':52}{'seconds':>9}{'CPU s':>9}{'share':>8}{'MiB':>7}{'largest':>9}{'resident':>10}"


def fresh(place: Path) -> None:
    shutil.rmtree(place / "cache", ignore_errors=True)
    shutil.rmtree(place / "site", ignore_errors=True)


def line(what: str, run: Run, whole: Run | None = None, target: str = "") -> None:
    share = f"{run.seconds / whole.seconds:8.3f}" if whole else f"{1:8.3f}"
    memory = f"{run.peak:7.0f}{run.largest:9.0f}{run.resident:10.0f}"
    print(f"{what:52}{run.seconds:9.1f}{run.processor:9.1f}{share}{memory}   {target}", flush=True)


def pool(libraries: int, notes: int) -> None:
    """Libraries of the same size in the site of one that has a single note."""
    with tempfile.TemporaryDirectory() as temporary:
        place = Path(temporary)
        os.environ["BENCHLORE_CACHE"] = str(place / "cache")
        own = library(place / "own", 1, seed=1)
        names = [f"lib{n:02}" for n in range(libraries)]
        for n, name in enumerate(names):
            library(place / name, notes, seed=100 + n)
        with (own / "library.yaml").open("a", encoding="utf-8") as out:
            out.write("pool:\n" + "".join(f"  - {{from: ../{name}, as: {name}}}\n" for name in names))
        fresh(place)
        print(HEAD, flush=True)
        cold = Run(own, place / "site", 2)
        line(f"cold, {libraries} libraries of {notes} notes", cold, None, "target 600 MiB")
        line("nothing changed, share of cold", Run(own, place / "site", 2), cold, "target 0.02")
        note = place / names[-1] / "notes" / f"note-{min(7, notes - 1):05}.md"
        text = note.read_text("utf-8")
        for word in ("raw", "bare"):  # the first makes a second tree of folders
            note.write_text(text.replace("The rail stands", f"The {word} rail stands"), encoding="utf-8")
            line(
                f"one note changed ({word}), share of cold", Run(own, place / "site", 2), cold, "target 0.03"
            )
        shutil.rmtree(place / names[0])
        library(place / names[0], notes, seed=999)
        line("one library replaced, share of cold", Run(own, place / "site", 2), cold,
             f"its own share is {1 / libraries:.3f}")  # fmt: skip


def records(count: int) -> None:
    """A collection as large as the largest that are published, beside a few notes."""
    from finding import rows

    from generator.notes import standard

    with tempfile.TemporaryDirectory() as temporary:
        place = Path(temporary)
        os.environ["BENCHLORE_CACHE"] = str(place / "cache")
        own = library(place / "own", 100)
        (own / "records").mkdir()
        with (own / "records" / "all.csv").open("w", encoding="utf-8", newline="") as file:
            out = csv.writer(file)
            out.writerow(standard.COLUMNS)
            for n, row in enumerate(rows(count)):
                category = row.category if row.category in standard.CATEGORIES else "Misc"
                status = standard.STATUS_NAMES[row.outcome]
                out.writerow((f"north_{n}", row.source, "IRL", row.device_kind, category, "", "Ferrowick", "2016", n % 30,
                              status, "", row.source, row.date, row.symptoms[0]))  # fmt: skip
        fresh(place)
        print(HEAD, flush=True)
        cold = Run(own, place / "site", 2)
        line(
            f"cold, {count} rows, two processes",
            cold,
            None,
            "targets 60 s on two cores of one's own, 600 MiB",
        )
        line("nothing changed, share of cold", Run(own, place / "site", 2), cold, "target 0.03")


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", nargs="*", help="pool, records, or the two sizes; see above")
    what = parser.parse_args().what
    if what[:1] == ["pool"]:
        return pool(*map(int, what[1:3])) if len(what) > 2 else pool(20, 500)
    if what[:1] == ["records"]:
        return records(int(what[1]) if len(what) > 1 else 60_000)
    small, large = (int(n) for n in what[:2]) if len(what) > 1 else (1000, 10_000)
    with tempfile.TemporaryDirectory() as temporary:
        place = Path(temporary)
        os.environ["BENCHLORE_CACHE"] = str(place / "cache")
        few = library(place / "few", small)
        bare = floor(few)
        fresh(place)
        one = Run(few, place / "site", 1)
        fresh(place)
        two = Run(few, place / "site", 2)
        print(f"{'':52}{'seconds':>9}{'ratio':>8}{'MiB':>7}", flush=True)
        print(f"{f'bare library calls, {small} notes':52}{bare:9.1f}{1:8.2f}")
        print(
            f"{f'cold, {small} notes, one process':52}{one.processor:9.1f}{one.processor / bare:8.2f}{one.peak:7.0f}   target 1.2; processor seconds both"
        )
        print(
            f"{f'cold, {small} notes, two processes, against one':52}{two.seconds:9.1f}{one.seconds / two.seconds:8.2f}{two.peak:7.0f}   target 1.7",
            flush=True,
        )
        shutil.rmtree(few)
        shutil.rmtree(place / "site")
        many = library(place / "many", large)
        cold = Run(many, place / "site", 2)
        print(
            f"{f'cold, {large} notes, two processes, against {small}':52}{cold.seconds:9.1f}{cold.seconds / two.seconds:8.2f}{cold.peak:7.0f}   targets {1.1 * large / small:.0f}, 600 MiB",
            flush=True,
        )
        same = Run(many, place / "site", 2)
        print(
            f"{'nothing changed, share of cold':52}{same.seconds:9.1f}{same.seconds / cold.seconds:8.3f}{same.peak:7.0f}   target 0.02",
            flush=True,
        )
        path = many / "notes" / "note-00007.md"
        text = path.read_text("utf-8")
        for word, which in (
            ("raw", "the first after the cold build"),
            ("bare", "the next"),
        ):  # the first makes a second tree of folders
            path.write_text(text.replace("The rail stands", f"The {word} rail stands"), encoding="utf-8")
            changed = Run(many, place / "site", 2)
            print(
                f"{f'one note changed, {which}, share of cold':52}{changed.seconds:9.1f}{changed.seconds / cold.seconds:8.3f}{changed.peak:7.0f}   target 0.03",
                flush=True,
            )


if __name__ == "__main__":
    main()
