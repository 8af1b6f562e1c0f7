"""How long `faulttree rank` takes from process start, beside bare Python and numpy in the same run, and its memory.

    python tests/benchmarks/rank.py

Goals: `rank --quick` at most 3 times `python -c "import numpy"`, `rank` at most 6 times, 150 MB at most. The checked
book is in the cache, as it is from the second start on. Not a test: it depends on the machine being quiet.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from pathlib import Path

ROUNDS = 9
FAULTTREE = str(Path(sys.executable).parent / "faulttree")
FAMILIES = {"electromechanical": "will-not-retract", "power-pack": "motor-runs-on", "engine-driven": "will-not-extend"}
MEGABYTE = 1024
"""Kilobytes, in which the system tells the most memory that a process had."""


def started(command: list[str]) -> tuple[float, float]:
    """Wall-clock seconds of one run, and its peak memory in MB. Raises ChildProcessError where it fails."""
    start = time.perf_counter()
    pid = os.posix_spawn(
        command[0], command, os.environ, file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    )
    _, status, used = os.wait4(pid, 0)
    if status:
        raise ChildProcessError(f"{' '.join(command)} ended with {status}")
    return time.perf_counter() - start, used.ru_maxrss / MEGABYTE


def main() -> None:
    """Runs all in turn and prints medians, ratios and peaks."""
    ways = {"bare python": [sys.executable, "-c", ""], "import numpy": [sys.executable, "-c", "import numpy"]}
    for family, symptom in FAMILIES.items():
        words = ["rank", "--family", family, "--symptom", symptom, "--json"]
        ways[f"rank --quick, {family}"] = [FAULTTREE, *words, "--quick"]
        ways[f"rank, {family}"] = [FAULTTREE, *words]
    for command in ways.values():
        started(command)  # fills the cache of the checked book
    runs = {name: [started(command) for _ in range(ROUNDS)] for name, command in ways.items()}
    taken = {name: statistics.median(seconds for seconds, _ in told) for name, told in runs.items()}
    for name, told in runs.items():
        ratio, peak = taken[name] / taken["import numpy"], max(memory for _, memory in told)
        print(f"{name:36} {taken[name] * 1e3:6.0f} ms  {ratio:4.1f} x numpy  peak {peak:4.0f} MB", flush=True)


if __name__ == "__main__":
    main()
