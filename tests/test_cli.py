"""The commands from outside: exit status, what goes to which stream, what bad input gets."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from commands import run

ROOT = Path(__file__).resolve().parent.parent


def typed(*arguments: object, cwd: Path | None = None, **env: str) -> subprocess.CompletedProcess[str]:
    """A command as a shell starts it."""
    command = [sys.executable, "-m", "generator.cli", *map(str, arguments)]
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT), **env}
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, env=surroundings)


def library(folder: Path, **notes: str) -> Path:
    (folder / "notes").mkdir(parents=True)
    (folder / "library.yaml").write_text("name: Test bench\nlanguage: en\n", encoding="utf-8")
    for slug, text in notes.items():
        (folder / "notes" / f"{slug}.md").write_text(text, encoding="utf-8")
    return folder


def note(blocks: str = "", body: str = "It was dead.", title: str = "Kettle dead") -> str:
    return f"---\ntitle: {title}\ndate: 2026-01-02\ndevice: {{kind: kettle}}\nsymptoms: [dead]\noutcome: fixed\n{blocks}---\n\n{body}\n"


SUPPLY = "blocks:\n  supply:\n    kind: transformer-supply\n    secondary: 12 V\n    smoothing: C3 1000u 35V\n    load: 120 mA\n"


def test_help_names_every_command() -> None:
    """--help is done (0) and teaches each command; no command at all is misuse (2)."""
    helped = typed("--help")
    assert helped.returncode == 0
    for command in ("site", "live", "inspect", "writeup", "values", "lookup"):
        assert f"\n    {command} " in helped.stdout
        assert run(command, "--help").returncode == 0
    assert run().returncode == 2
    assert run("nonsense").returncode == 2
    misspelt = run("sit")
    assert (misspelt.returncode, misspelt.stdout, misspelt.stderr) == (
        2,
        "",
        "sit: no such command; did you mean site?\n",
    )


def test_site_is_written_and_announced(tmp_path: Path) -> None:
    """A sound library: status 0, the site is there, messages go to standard error only."""
    content = library(tmp_path / "content", a=note(SUPPLY, "Rail {supply.peak}.\n\n{supply}"))
    done = run("site", content, "--to", tmp_path / "site")
    assert done.returncode == 0, done.stderr
    assert done.stdout == "" and "1 note, " in done.stderr
    assert "15.6 V" in (tmp_path / "site" / "notes" / "a" / "index.html").read_text("utf-8").replace(
        "\u00a0", " "
    )


def test_problems_stop_the_site_and_leave_the_old_one(tmp_path: Path) -> None:
    """Every note's problems are told in one pass, status 1, the old site as it was to the byte."""
    content = library(tmp_path / "content", a=note(SUPPLY))
    assert run("site", content, "--to", tmp_path / "site").returncode == 0
    before = {p: p.read_bytes() for p in (tmp_path / "site").rglob("*") if p.is_file()}
    (content / "notes" / "a.md").write_text(note(SUPPLY.replace("smoothing", "smothing")), encoding="utf-8")
    (content / "notes" / "b.md").write_text(note(body="See {suply.peak}."), encoding="utf-8")
    (content / "notes" / "c.md").write_text(note(SUPPLY.replace("12 V", "12 A")), encoding="utf-8")
    done = run("site", content, "--to", tmp_path / "site")
    assert done.returncode == 1
    assert "smothing: no such parameter of transformer-supply; did you mean smoothing?" in done.stderr
    assert "a.md:11:5:" in done.stderr
    assert "12 A is a current; a voltage is expected, such as 12 V" in done.stderr
    assert "b.md" in done.stderr and "Traceback" not in done.stderr
    assert {p: p.read_bytes() for p in (tmp_path / "site").rglob("*") if p.is_file()} == before


@pytest.mark.skipif(os.name != "posix", reason="signals to a group of processes")
@pytest.mark.parametrize("processes", [1, 2])
@pytest.mark.parametrize("command", ["site", "inspect"])
def test_ctrl_c_is_no_success(tmp_path: Path, command: str, processes: int) -> None:
    """What comes behind `benchlore site &&` must not run: 130, as a shell has it (128 + SIGINT, POSIX shells' practice)."""
    content = library(
        tmp_path / "content", **{f"a{n}": note(SUPPLY, title=f"Kettle {n}") for n in range(150)}
    )
    to = ["--to", str(tmp_path / "site"), "--processes", str(processes)] if command == "site" else []
    started = subprocess.Popen(
        [sys.executable, "-m", "generator.cli", command, str(content), *to], stderr=subprocess.PIPE, text=True, start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a shell's background job ignores it
        env={**os.environ, "PYTHONPATH": str(ROOT), "BENCHLORE_CACHE": str(tmp_path / "cache")},
    )  # fmt: skip
    while started.poll() is None and not list((tmp_path / "cache").glob("benchlore/*/kept.sqlite")):
        time.sleep(0.02)
    os.killpg(started.pid, signal.SIGINT)
    said = started.communicate(timeout=20)[1]
    assert (started.returncode, said) == (130, "interrupted\n")


@pytest.mark.skipif(
    os.name != "posix", reason="the locks are counted by a process of their own on POSIX only"
)
def test_ctrl_c_while_the_locks_are_made_leaves_none(tmp_path: Path) -> None:
    """Where processes are not forked, each lock is told to a process that says at the end what was left (the docstring of
    multiprocessing.resource_tracker); Ctrl-C at the moment of telling is the one that nobody foresees."""
    content = library(tmp_path / "content", **{f"a{n}": note(SUPPLY, title=f"Kettle {n}") for n in range(20)})
    code = """
import multiprocessing.resource_tracker as tracker, os, signal, sys
tell = tracker.register
def interrupted(name, kind):
    tell(name, kind)
    os.kill(os.getpid(), signal.SIGINT)
if __name__ == "__main__":
    tracker.register = interrupted
    from generator.cli import main
    sys.exit(main(["inspect", sys.argv[1]]))
"""
    (tmp_path / "interrupted.py").write_text(code)
    ended = subprocess.run(
        [sys.executable, tmp_path / "interrupted.py", content], capture_output=True, text=True, timeout=60,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a shell's background job ignores it
        env={**os.environ, "PYTHONPATH": str(ROOT), "BENCHLORE_CACHE": str(tmp_path / "cache"), "BENCHLORE_START_METHOD": "forkserver"},
    )  # fmt: skip
    assert (ended.returncode, ended.stderr) == (130, "interrupted\n")
    assert not (tmp_path / "site").exists()


@pytest.fixture
def building(tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """A build by two processes that have been started."""
    if not Path("/proc/self/stat").exists():
        pytest.skip("looks for processes in /proc")
    content = library(
        tmp_path / "content", **{f"a{n}": note(SUPPLY, title=f"Kettle {n}") for n in range(150)}
    )
    started = subprocess.Popen(
        [sys.executable, "-m", "generator.cli", "site", str(content), "--to", str(tmp_path / "site"), "--processes", "2"],
        stderr=subprocess.PIPE, text=True, start_new_session=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "BENCHLORE_CACHE": str(tmp_path / "cache")},
    )  # fmt: skip
    until = time.monotonic() + 20
    # Where processes are not forked, one or two helpers of the library are there as well, and the workers come last.
    helpers = {"spawn": 1, "forkserver": 2}.get(os.environ.get("BENCHLORE_START_METHOD", ""), 0)
    while len(of_session(started.pid)) < 3 + helpers and time.monotonic() < until:
        time.sleep(0.02)
    assert len(of_session(started.pid)) == 3 + helpers
    yield started
    with contextlib.suppress(ProcessLookupError):
        os.killpg(started.pid, signal.SIGKILL)
    started.communicate()


def test_none_is_left_when_a_build_is_killed(building: subprocess.Popen[str]) -> None:
    building.kill()
    building.wait()
    until = time.monotonic() + 20
    while of_session(building.pid) and time.monotonic() < until:
        time.sleep(0.05)
    assert of_session(building.pid) == []


def test_a_process_that_is_killed_is_told(building: subprocess.Popen[str], tmp_path: Path) -> None:
    """As the system does to one that takes too much memory."""
    os.kill(max(set(of_session(building.pid)) - {building.pid}), signal.SIGKILL)
    said = building.communicate(timeout=20)[1]
    assert building.returncode == 1
    assert "was killed" in said and "--processes 1" in said and said.count("\n") == 1
    assert not (tmp_path / "site").exists()


def of_session(session: int) -> list[int]:
    """The processes of a session that run or could. Fields 3 (state) and 6 (session) of /proc/PID/stat, see proc(5)."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            state, _, _, of = stat.read_text().rpartition(")")[2].split()[:4]
            if int(of) == session and state != "Z":
                found.append(int(stat.parent.name))
    return found


def test_inspect_writes_nothing(tmp_path: Path) -> None:
    """inspect finds the same problems and leaves no site behind."""
    content = library(tmp_path / "content", a=note(SUPPLY.replace("load: 120 mA", "load: supply.peek")))
    done = run("inspect", content, cwd=tmp_path)
    assert done.returncode == 1
    assert "loop" in done.stderr or "no value" in done.stderr
    assert not (tmp_path / "site").exists()


def test_a_figure_that_no_meter_shows_is_told_once(tmp_path: Path) -> None:
    """Every slip in one pass, and each once (README: what is wrong is told, all of it at once)."""
    blocks = (
        'blocks:\n  d: {kind: divider, supply: "10 V", upper: R1 1k, lower: R2 1k}\nreadings:\n'
        "  - {ohms: R1, read: blue, mended: green}\n  - {at: d.output, read: red}\n"
    )
    content = library(tmp_path / "content", a=note(blocks))
    told = run("inspect", str(content)).stderr
    assert [told.count(word) for word in ("blue", "green", "red is not")] == [1, 1, 1], told


def test_a_loop_of_references_is_named(tmp_path: Path) -> None:
    """Two blocks that wait for one another: the loop is in the message."""
    loop = (
        "blocks:\n  a: {kind: led-indicator, supply: b.current, resistor: 1k}\n"
        "  b: {kind: led-indicator, supply: a.current, resistor: 1k}\n"
    )
    done = run("inspect", library(tmp_path / "content", x=note(loop)))
    assert done.returncode == 1 and "a -> b -> a" in done.stderr


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda p: None, "there is no such folder"),
        (lambda p: p.mkdir(), "the folder is empty"),
        (lambda p: (p / "notes").mkdir(parents=True), "library.yaml"),
    ],
)
def test_no_library(tmp_path: Path, make: object, words: str) -> None:
    """A missing folder, an empty one, one without library.yaml: each has its message, status 1."""
    make(tmp_path / "content")  # type: ignore[operator]
    done = run("site", tmp_path / "content", "--to", tmp_path / "site")
    assert done.returncode == 1 and words in done.stderr and not (tmp_path / "site").exists()


def test_values_json_is_only_json() -> None:
    """--json prints one JSON text and nothing else; numbers carry no prefix (peak rectifier: 12·√2 − 1.4 V)."""
    done = typed(
        "values", "transformer-supply", "secondary=12 V", "smoothing=C3 1000u 35V", "load=120 mA", "--json"
    )
    assert done.returncode == 0 and done.stderr == ""
    found = json.loads(done.stdout)
    assert found["values"]["peak"]["value"] == pytest.approx(12 * 2**0.5 - 1.4)
    assert found["values"]["decay_time"]["value"] == "inf"


@pytest.mark.parametrize(
    "arguments, words",
    [
        (["values", "transformer-suply"], "did you mean transformer-supply?"),
        (["values", "led-indicator", "supply=5 V"], "led-indicator needs resistor"),
        (["values", "led-indicator", "supply=5 A", "resistor=1k"], "5 A is a current"),
        (["values", "led-indicator", "nonsense"], "parameters are written name=text"),
        (["values", "led-indicator", "supply=5 V", "supply=6 V", "resistor=1k"], "given twice"),
        (
            ["values", "led-indicator", "supply=5 V", "resistor=1k", "--read", "curent=1 mA"],
            "did you mean current?",
        ),
        (
            ["values", "led-indicator", "supply=5 V", "resistor=1k", "--read", "current=1 V"],
            "1 V is a voltage",
        ),
        (
            ["values", "divider", "supply=5 V", "upper=1k", "lower=1k", "cut_points={a: {output: 1 V"],
            "not closed",
        ),
        (["values", "marking", "code=yellow voilet orange gold"], "violet"),
        (["values", "marking"], "needs a code"),
        (["lookup", "dead", "--library", "/nowhere"], "no such folder"),
        (["writeup", "kettle", "--blocks", "heatr"], "did you mean heater?"),
    ],
)
def test_misuse_is_told(arguments: list[str], words: str) -> None:
    """Wrong use: status 2, words for people on standard error, no traceback, nothing on standard output."""
    done = run(*arguments)
    assert done.returncode == 2, done.stderr
    assert words in done.stderr and "Traceback" not in done.stderr and done.stdout == ""


def test_readings_at_the_bench() -> None:
    """--read ranks the failures; health is part "" and failed "none" (contract of the JSON)."""
    parameters = [
        "values",
        "transformer-supply",
        "secondary=12 V",
        "smoothing=C3 1000u",
        "bleeder=R4 22k",
        "load=120 mA",
        "--json",
    ]
    found = json.loads(run(*parameters, "--read", "mean=14.0 V", "--read", "ripple=3.6 V").stdout)
    assert (found["fits"][0]["part"], found["fits"][0]["failed"]) == ("C3", "low")
    assert {"part", "failed", "score", "explains", "contradicts"} <= set(found["fits"][0])
    assert any(fit["part"] == "" and fit["failed"] == "none" for fit in found["fits"])
    sound = json.loads(run(*parameters, "--read", "ripple=1.06 V").stdout)
    assert sound["fits"][0]["part"] == ""
    assert sound["next"] and all(
        "how" in own and set(own) & {"at", "across", "ohms", "diode"} for own in sound["next"]
    )


def test_lookup_finds_and_counts(content: Path) -> None:
    """lookup answers with notes best first, in text and in JSON of the contract."""
    found = json.loads(typed("lookup", "stays cold", "--library", content, "--json").stdout)
    assert found["results"][0]["slug"] == "egg-incubator-stays-cold"
    assert {"slug", "title", "score", "symptoms", "cause", "outcome"} <= set(found["results"][0])
    scores = [result["score"] for result in found["results"]]
    assert scores == sorted(scores, reverse=True) and "causes" in found
    assert "Egg incubator" in run("lookup", "stays", "cold", "--library", content).stdout


def test_writeup_starts_a_library_that_builds(tmp_path: Path) -> None:
    """In an empty folder writeup makes library.yaml and a first note; the site builds from it as it stands."""
    done = run(
        "writeup",
        "egg incubator",
        "--blocks",
        "mains-inlet,transformer-supply,thermistor-divider",
        cwd=tmp_path,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "content" / "library.yaml").is_file()
    built = run("site", cwd=tmp_path)
    assert built.returncode == 0, built.stderr
    assert (tmp_path / "site" / "index.html").is_file()
    again = run("writeup", "egg incubator", cwd=tmp_path)
    assert again.returncode == 0 and len(list((tmp_path / "content" / "notes").iterdir())) == 2


def test_a_folder_with_other_things_is_refused(tmp_path: Path) -> None:
    """The target holds what benchlore did not write: refused, and left as it is."""
    content = library(tmp_path / "content", a=note())
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "thesis.txt").write_text("years of work", encoding="utf-8")
    done = run("site", content, "--to", tmp_path / "site")
    assert done.returncode == 1 and (tmp_path / "site" / "thesis.txt").read_text("utf-8") == "years of work"
    assert run("site", content, "--to", content).returncode == 1
    assert run("site", content, "--to", content / "notes").returncode == 1
    assert (content / "notes" / "a.md").is_file()


def test_without_home_and_with_odd_paths(tmp_path: Path) -> None:
    """No HOME, another time zone and locale, blanks and letters beyond ASCII in paths."""
    content = library(tmp_path / "Werkstatt für Altes" / "in halt", a=note(SUPPLY))
    env = {"TZ": "Pacific/Chatham", "LC_ALL": "C", "HOME": ""}
    done = typed("site", content, "--to", tmp_path / "die Seite ü", **env)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "die Seite ü" / "index.html").is_file()


def test_read_only_content(tmp_path: Path) -> None:
    """Content that cannot be written to builds all the same; the cache goes elsewhere."""
    content = library(tmp_path / "content", a=note(SUPPLY))
    content.chmod(0o555)
    try:
        done = run("site", content, "--to", tmp_path / "site", env={"TMPDIR": str(tmp_path)})
    finally:
        content.chmod(0o755)
    assert done.returncode == 0, done.stderr


def test_options_may_stand_before_between_and_behind_the_rest() -> None:
    """`values divider --json upper=10k` is as good as the other way round; what is no option is still refused."""
    parts = ["supply=12 V", "upper=10k", "lower=4k7"]
    first = run("values", "divider", *parts, "--json")
    for arguments in (
        ["--json", "divider", *parts],
        ["divider", "--json", *parts],
        ["divider", parts[0], "--json", *parts[1:]],
    ):
        done = run("values", *arguments)
        assert (done.returncode, done.stdout) == (0, first.stdout), done.stderr
    for arguments in (
        ["values", "divider", "--jsn", *parts],
        ["site", "content", "extra"],
        ["inspect", "--to", "x"],
    ):
        done = run(*arguments)
        assert done.returncode == 2 and done.stdout == "" and "not understood" in done.stderr


def test_the_kinds_as_json() -> None:
    """--json prints JSON and nothing else, also where the kinds are listed."""
    kinds = json.loads(run("values", "--json").stdout)["kinds"]
    assert {"kind", "title", "what"} == set(kinds[0]) and "divider" in [entry["kind"] for entry in kinds]


def test_a_value_read_twice_is_judged_twice() -> None:
    """As in a note: readings that meet count together, readings that do not are shown as a contradiction."""
    divider = ["values", "divider", "supply=12 V", "upper=10k", "lower=4k7"]
    agreeing = run(*divider, "--read", "output=3.84 V", "--read", "output=3.85 V", "--json")
    assert json.loads(agreeing.stdout)["fits"][0]["failed"] == "none"
    apart = run(*divider, "--read", "output=3.84 V", "--read", "output=6 V")
    assert apart.returncode == 0 and "contradict" in apart.stdout.lower()


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["values", "divider", "12V"], '12V: parameters are written name=text, such as supply="12 V"'),
        (
            ["values", "divider", "supply=12", "upper=10k", "lower=1k", "--read", "3.1 V"],
            "3.1 V: readings are written name=value",
        ),
        (["values", "relay"], "did you mean transistor-switch?"),
        (["writeup", "kettle", "--blocks", "Voltage divider"], "did you mean divider?"),
        (["writeup", "  "], "no kind of device is given"),
        (["live", "--port", "80000"], "80000 is not a whole number from 1 to 65535"),
        (["site", "--processes", "-3"], "-3 is not a whole number from 1 up"),
        (["values", "marking"], "marking needs a code"),
    ],
)
def test_wrong_use_is_told_in_words(arguments: list[str], message: str, tmp_path: Path) -> None:
    done = run(*arguments, cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "") and message in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_marking_without_ceremony() -> None:
    assert run("values", "marking", "104").stdout == run("values", "marking", "code=104").stdout != ""
