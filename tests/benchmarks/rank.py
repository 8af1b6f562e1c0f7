"""How long `faulttree rank` takes from process start, as a multiple of `python -c "import numpy"` in the same run.

    python tests/benchmarks/rank.py

Goal: at most 6. Not a test: it depends on the machine being quiet.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

ROUNDS = 9
FAULTTREE = str(Path(sys.executable).parent / "faulttree")
RANK = [FAULTTREE, "rank", "--family", "electromechanical", "--symptom", "will-not-retract", "--json"]
NUMPY = [sys.executable, "-c", "import numpy"]


def seconds(command: list[str]) -> float:
    """Wall-clock seconds of one run."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> None:
    """Runs both in turn and prints the ratio of the medians."""
    seconds(RANK)  # fills the cache of the checked book
    pairs = [(seconds(RANK), seconds(NUMPY)) for _ in range(ROUNDS)]
    rank, numpy = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"rank {rank * 1e3:.0f} ms, import numpy {numpy * 1e3:.0f} ms, ratio {rank / numpy:.1f} (goal 6)")


if __name__ == "__main__":
    main()
