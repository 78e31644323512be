"""The commands as processes of their own, each forked from one that has loaded the package: loading it takes ten times as
long as most commands do. Where the start itself is meant, or what Python makes of its surroundings, start one instead."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent

# Reads what to run, a line each; tells the process, and how it ended.
SERVER = r'''
import json, multiprocessing.util, os, pathlib, sys, tempfile, time
import generator.bench, generator.build.build, generator.cli, generator.export, generator.lookup
import generator.notes.asking, generator.notes.schema, generator.notes.starter
from generator.circuit import catalogue
catalogue.all_kinds()
NOTE = """---
title: Lamp stays dark
date: 2026-01-02
device: {kind: lamp}
symptoms: [stays dark]
outcome: fixed
blocks:
  lamp: {kind: led-indicator, supply: 5 V, resistor: R1 470}
readings: [{at: lamp.current, read: 7 mA}]
---

It drew {lamp.current}.

{lamp}
"""
warmed = False

def warm():
    """What the first site of a process loads and compiles takes longer than a small site: it is done before forking."""
    with tempfile.TemporaryDirectory() as folder:
        content = pathlib.Path(folder, "content")
        (content / "notes").mkdir(parents=True)
        (content / "library.yaml").write_text("name: Warm bench\n")
        (content / "notes" / "a.md").write_text(NOTE)
        os.environ["BENCHLORE_CACHE"] = folder
        assert generator.build.build.build_site(content, pathlib.Path(folder, "site")).written

def run(asked):
    os.environ.clear()
    os.environ.update(asked["env"])
    time.tzset()
    os.chdir(asked["cwd"])
    for number, place in enumerate((os.devnull, asked["out"], asked["err"])):
        opened = os.open(place, os.O_RDONLY if number == 0 else os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        os.dup2(opened, number)
        os.close(opened)
    sys.stdout, sys.stderr = (open(number, "w", encoding="utf-8", closefd=False) for number in (1, 2))
    sys.argv = ["benchlore", *asked["arguments"]]
    if asked["code"]:
        exec(asked["code"], {"__name__": "__main__"})
        return 0
    status = generator.cli.main()
    multiprocessing.util._exit_function()
    return status

for line in sys.stdin:
    asked = json.loads(line)
    builds = "site" in asked["arguments"] or any(module in asked["code"] for module in ("generator.build.build ", "generator.cli "))
    if builds and not warmed:
        warm()
        warmed = True
    process = os.fork()
    if not process:
        status = 70
        try:
            status = run(asked)
        except BaseException:
            import traceback
            traceback.print_exc()
        finally:
            sys.stderr.flush()
            os._exit(status)
    print(process, flush=True)
    os.waitid(os.P_PID, process, os.WEXITED | os.WNOWAIT)
    print("ended", flush=True)
    sys.stdin.readline()  # until it is asked for, its number is nobody else's
    print(os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]), flush=True)
'''

_server: subprocess.Popen[str] | None = None
_running = 0


def start(
    *arguments: object, code: str = "", cwd: Path | None = None, env: dict[str, str] | None = None,
    out: str = os.devnull, err: str = os.devnull,
) -> int:  # fmt: skip
    """Start a command, or Python code, one at a time: its process, which may be killed until ended() is called. What it
    prints goes to the files out and err."""
    global _server, _running
    if _running:  # left by a test that failed
        os.kill(_running, signal.SIGKILL)
        ended()
    if _server is None:
        surroundings = {**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"}
        _server = subprocess.Popen(
            [sys.executable, "-c", SERVER], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=surroundings
        )  # fmt: skip
    asked: dict[str, Any] = {
        "arguments": [str(argument) for argument in arguments],
        "code": code,
        "out": out,
        "err": err,
    }
    asked |= {"cwd": str(cwd or Path.cwd()), "env": {**os.environ, "PYTHONPATH": str(ROOT), **(env or {})}}
    _running = int(_told(json.dumps(asked)))
    assert _running > 1  # to kill 0 or 1 would be to kill all there is
    return _running


def ended() -> int:
    """How what was started ended: its status, or the signal that killed it as a negative number."""
    global _running
    assert _told() == "ended"
    _running = 0
    return int(_told("how?"))


def run(
    *arguments: object, cwd: Path | None = None, env: dict[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """A command from its start to its end: status, standard output, standard error."""
    if not hasattr(os, "fork"):
        command: Sequence[str] = [sys.executable, "-m", "generator.cli", *map(str, arguments)]
        surroundings = {**os.environ, "PYTHONPATH": str(ROOT), **(env or {})}
        return subprocess.run(command, capture_output=True, text=True, cwd=cwd, env=surroundings)
    with tempfile.TemporaryDirectory() as folder:
        out, err = Path(folder, "out"), Path(folder, "err")
        start(*arguments, cwd=cwd, env=env, out=str(out), err=str(err))
        status = ended()
        return subprocess.CompletedProcess(arguments, status, out.read_text("utf-8"), err.read_text("utf-8"))


def close() -> None:
    """No process is left behind."""
    global _server
    if _server is not None:
        _server.communicate()
        _server = None


def _told(asked: str = "") -> str:
    assert _server is not None and _server.stdin is not None and _server.stdout is not None
    if asked:
        _server.stdin.write(f"{asked}\n")
        _server.stdin.flush()
    return _server.stdout.readline().rstrip()
