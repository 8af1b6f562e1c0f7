"""How long `faulttree rank` takes from process start, beside bare Python and numpy in the same run, and its memory.

    python tests/benchmarks/rank.py

Goals: `rank --quick` at most 3 times `python -c "import numpy"`, `rank` at most 6 times, 150 MB at most. The checked
book is in the cache, as it is from the second start on, and modules are compiled, as installing leaves them. All
commands run in turn; beside the clock stands the processes' own work, which a busy machine does not swell.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

ROUNDS = 9
SYMPTOMS = {"electromechanical": "will-not-retract", "power-pack": "motor-runs-on", "engine-driven": "will-not-extend"}
BARE, NUMPY, QUICK, WHOLE = "bare python", "import numpy", "rank --quick", "rank"
KILOBYTES = 1024
"""In a megabyte; the system tells the most memory that a process had in the former."""

PROGRAM = "import sys; from faulttree_cli.main import main; sys.exit(main())"
"""What the installed command runs."""


@dataclass(frozen=True)
class Started:
    """One process: seconds by the clock, seconds of its own work, its peak in MB."""

    clock: float
    work: float
    peak: float


def started(words: Sequence[str], around: Mapping[str, str]) -> Started:
    """One run of Python. Raises ChildProcessError where it fails."""
    command = [sys.executable, *words]
    start = time.perf_counter()
    pid = os.posix_spawn(
        command[0], command, around, file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    )
    _, status, used = os.wait4(pid, 0)
    if status:
        raise ChildProcessError(f"{' '.join(command)} ended with {status}")
    return Started(time.perf_counter() - start, used.ru_utime + used.ru_stime, used.ru_maxrss / KILOBYTES)


def commands(families: Sequence[str]) -> dict[str, list[str]]:
    """What is run, by its name."""
    ways = {BARE: ["-c", ""], NUMPY: ["-c", "import numpy"]}
    for family in families:
        words = ["-c", PROGRAM, "rank", "--family", family, "--symptom", SYMPTOMS[family], "--json"]
        ways |= {f"{QUICK}, {family}": [*words, "--quick"], f"{WHOLE}, {family}": words}
    return ways


def measured(families: Sequence[str] = tuple(SYMPTOMS), rounds: int = ROUNDS) -> dict[str, list[Started]]:
    """All ways, run in turn."""
    with tempfile.TemporaryDirectory() as at:
        around = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        around |= {"PYTHONPYCACHEPREFIX": str(Path(at) / "compiled"), "FAULTTREE_CACHE": str(Path(at) / "books")}
        ways = commands(families)
        for words in ways.values():
            started(words, around)  # compiles the modules, and fills the cache of the checked books
        runs: dict[str, list[Started]] = {name: [] for name in ways}
        for _ in range(rounds):
            for name, words in ways.items():
                runs[name].append(started(words, around))
        return runs


def ratios(runs: Mapping[str, Sequence[Started]], name: str) -> tuple[float, float]:
    """How many times as long as importing numpy, by own work and by the clock."""
    own, clock = (
        median(getattr(one, of) for one in runs[name]) / median(getattr(one, of) for one in runs[NUMPY])
        for of in ("work", "clock")
    )
    return own, clock


def lines(runs: Mapping[str, Sequence[Started]]) -> list[str]:
    """A line for each way."""
    told = []
    for name, taken in runs.items():
        work, clock = ratios(runs, name)
        spent, peak = median(one.work for one in taken), max(one.peak for one in taken)
        told.append(
            f"{name:36}{spent * 1e3:6.0f} ms  {work:4.1f} x numpy, {clock:4.1f} by the clock  peak {peak:4.0f} MB"
        )
    return told


def main() -> None:
    """Runs all in turn and prints medians, ratios and peaks."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=ROUNDS, help="runs of each")
    print("\n".join(lines(measured(rounds=parser.parse_args().rounds))))


if __name__ == "__main__":
    main()
