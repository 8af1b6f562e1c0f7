"""Small changes made to the code of belief, advice and case, one at a time: does any test notice?

    python tests/jobs/mutants.py --sample 200 --seed 1 --out mutants.jsonl
    python tests/jobs/mutants.py --again mutants.jsonl

The tree is copied first and only the copy is changed. On each change the tests of the three packages are run, those of
the package itself first and quick ones before slow ones, up to the first that fails; what passes them all is tried on
the wider tests. What passes these too has survived: listed with file, line and what was changed. `--again` tries the
survivors of such a file once more, after tests were written. Needs cosmic-ray: `pip install -e '.[test,mutants]'`.
"""

from __future__ import annotations

import argparse
import compileall
import difflib
import importlib
import json
import multiprocessing
import os
import resource
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Generator, Iterator
from dataclasses import asdict, dataclass, field
from itertools import islice
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import hypothesis
import pytest

os.environ["OPENBLAS_NUM_THREADS"] = "1"
CHECKOUT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(CHECKOUT))  # run as a command, this folder alone is searched

try:
    from tests.support.mutations import Mutant, sample
except ModuleNotFoundError as missing:
    sys.exit(f"Changing code needs {missing.name}, which is not installed: pip install -e '.[test,mutants]'")

LOADED = ("hypothesis", "networkx", "numpy", "pydantic", "pytest", "rapidfuzz", "sqlalchemy", "yaml")
"""Loaded once and not anew for each change. Nothing of the project itself may be among them."""

PACKAGES = ("faulttree/belief", "faulttree/advice", "faulttree/case")
NEAR = ("tests/unit/belief", "tests/unit/advice", "tests/unit/case")
ORACLE = "tests/published/test_oracle.py::test_small_book"
WIDE = {
    "belief": ("tests/published/test_networks.py", ORACLE, f"{ORACLE}_evidence_and_conflict", f"{ORACLE}_weights"),
    "advice": ("tests/published/test_sequencing.py", "tests/unit/dialogue", "tests/unit/drill"),
    "case": ("tests/unit/dialogue", "tests/unit/drill", "tests/unit/papers"),
}
"""The tests of the packages themselves, and what is asked beside them where they notice nothing."""

COPIED = ("faulttree", "cli", "knowledge", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")

LONGER = 5.0
"""A changed program that takes so many times as long as it should, of the processor's time, is ended."""
LEAST = 60.0
"""Seconds of the processor that it may take in any case."""
MEMORY = 6 * 2**30
"""Bytes that it may take: a bound left out must not take the machine with it."""


@dataclass
class Ran:
    """What became of one run of tests: the first that failed, and how long each took."""

    failed: str | None = None
    seconds: dict[str, float] = field(default_factory=dict)


class Watch:
    """Orders the tests, notes what they take, and tells of the first failure. A plugin of pytest."""

    def __init__(self, first: str, seconds: dict[str, float]) -> None:
        self.first, self.known, self.ran = first, seconds, Ran()

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Files as a whole: what one sets up for all of its tests would be set up again for each otherwise."""
        taken: Counter[str] = Counter()
        for name, seconds in self.known.items():
            taken[name.split("::")[0]] += seconds  # type: ignore[assignment]
        items.sort(key=lambda i: (not i.nodeid.startswith(self.first), taken[i.nodeid.split("::")[0]]))

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        began = time.process_time()
        done = yield
        self.ran.seconds[item.nodeid] = time.process_time() - began
        return done

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and self.ran.failed is None:
            self.ran.failed = report.nodeid

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed and self.ran.failed is None:
            self.ran.failed = f"{report.nodeid} (cannot be loaded)"


class Tree:
    """A copy of the checkout, in which one file at a time is changed and tests are run."""

    def __init__(self, root: Path) -> None:
        self.root, self.said = root, root / "said.txt"
        for name in COPIED:
            at = CHECKOUT / name
            if at.is_dir():
                shutil.copytree(at, root / name, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(at, root)
        (root / "installed").mkdir()  # the two packages that are installed under other names than their folders
        for name in ("cli", "knowledge"):
            (root / "installed" / f"faulttree_{name}").symlink_to(root / name)
        compileall.compile_dir(root / "faulttree", quiet=2)

    def changed(self, mutant: Mutant) -> str:
        """Changes the file, and tells how."""
        source = self.source(mutant)
        code = mutant.code(source)
        assert code is not None
        self.write(mutant, code)
        lines = difflib.unified_diff(source.splitlines(), code.splitlines(), lineterm="", n=0)
        return "\n".join(line for line in lines if line[:3] not in ("---", "+++") and line[:2] != "@@")

    def source(self, mutant: Mutant) -> str:
        return (CHECKOUT / mutant.path).read_text(encoding="utf-8")

    def restored(self, mutant: Mutant) -> None:
        self.write(mutant, self.source(mutant))

    def write(self, mutant: Mutant, code: str) -> None:
        """Writes it, and drops what was compiled: that is told to be stale by time and size, which may be the same."""
        at = self.root / mutant.path
        at.write_text(code, encoding="utf-8")
        for compiled in (at.parent / "__pycache__").glob(f"{at.stem}.*.pyc"):
            compiled.unlink()

    def run(self, tests: tuple[str, ...], first: str, seconds: dict[str, float]) -> Ran:
        """The tests up to the first failure, in a process of their own."""
        fork = multiprocessing.get_context("fork")
        ours, theirs = fork.Pipe(duplex=False)
        process = fork.Process(target=self._tests, args=(tests, first, seconds, theirs))
        process.start()
        theirs.close()
        try:
            return ours.recv()  # type: ignore[no-any-return]
        except EOFError:
            process.join()
            if (process.exitcode or 0) >= 0:
                sys.exit(f"{self.said.read_text(encoding='utf-8')}\nThe tests could not be run")
            return Ran(failed=f"(ended by signal {-(process.exitcode or 0)}: took too long, or too much)")
        finally:
            process.join()

    def _tests(self, tests: tuple[str, ...], first: str, seconds: dict[str, float], told: Connection) -> None:
        longest = int(max(LEAST, LONGER * sum(seconds.values())))
        resource.setrlimit(resource.RLIMIT_CPU, (longest, longest + 5))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        said = os.open(self.said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        for stream in (1, 2):
            os.dup2(said, stream)
        os.chdir(self.root)
        mine = [str(self.root), str(self.root / "installed")]
        sys.path[:] = mine + [p for p in sys.path if p and not Path(p).resolve().is_relative_to(CHECKOUT)]
        os.environ["PYTHONPATH"] = os.pathsep.join(mine)
        for name in [name for name in sys.modules if name == "tests" or name.startswith("tests.")]:
            del sys.modules[name]
        # The same tries each time, none looked at more closely when one fails, and no clock: the machine may be busy.
        phases = [hypothesis.Phase.explicit, hypothesis.Phase.generate]
        anything = list(hypothesis.HealthCheck)
        hypothesis.settings.register_profile(
            "mutants", derandomize=True, database=None, phases=phases, deadline=None, suppress_health_check=anything
        )
        hypothesis.settings.load_profile("mutants")
        watch = Watch(first, seconds)
        loaded = "ignore::pytest.PytestAssertRewriteWarning"  # hypothesis, above
        words = ["-n0", "-x", "-p", "no:cacheprovider", "-o", "timeout=0", "-W", loaded, *tests]
        status = pytest.main(words, plugins=[watch])
        import faulttree

        if not Path(faulttree.__file__).is_relative_to(self.root):
            watch.ran.failed = "(the tests ran on another tree)"
        elif status != pytest.ExitCode.OK and watch.ran.failed is None:
            watch.ran.failed = f"(pytest ended with {status!r})"
        told.send(watch.ran)


@dataclass(frozen=True)
class Verdict:
    """What became of one change."""

    mutant: Mutant
    change: str
    killer: str | None
    wide: bool
    """The tests of the three packages themselves did not notice, and the wider ones were asked."""


def tried(tree: Tree, mutants: Iterator[Mutant], wider: bool) -> Iterator[Verdict]:
    taken = {NEAR: unchanged(tree, NEAR)}
    for mutant in mutants:
        change = tree.changed(mutant)
        package = mutant.path.split("/")[1]
        killer = tree.run(NEAR, f"tests/unit/{package}", taken[NEAR]).failed
        wide = killer is None and wider
        if wide:
            more = WIDE[package]
            if more not in taken:
                tree.restored(mutant)
                taken[more] = unchanged(tree, more)
                tree.changed(mutant)
            killer = tree.run(more, "", taken[more]).failed
        tree.restored(mutant)
        yield Verdict(mutant, change, killer, wide)


def unchanged(tree: Tree, tests: tuple[str, ...]) -> dict[str, float]:
    """Seconds that each test takes while nothing is changed. All have to pass then."""
    sound = tree.run(tests, "", {})
    if sound.failed:
        sys.exit(f"{tree.said.read_text()}\nNothing is changed yet, and {sound.failed} fails")
    print(f"{len(sound.seconds)} tests, {sum(sound.seconds.values()):.0f} s: {' '.join(tests)}", flush=True)
    return sound.seconds


def survivors(file: Path) -> Iterator[Mutant]:
    for line in file.read_text(encoding="utf-8").splitlines():
        verdict: dict[str, Any] = json.loads(line)
        if verdict["killer"] is None:
            yield Mutant(**verdict["mutant"])


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--sample", type=int, default=200, help="how many changes")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--skip", type=int, default=0, help="changes of the sample that were tried before")
    asked.add_argument("--near", action="store_true", help="without the wider tests")
    asked.add_argument("--out", type=Path, help="file to add what became of each to")
    asked.add_argument("--again", type=Path, help="such a file: its survivors instead of a sample")
    words = asked.parse_args()
    for name in LOADED:
        importlib.import_module(name)
    if words.again:
        mutants = survivors(words.again)
    else:
        mutants = islice(sample(CHECKOUT, PACKAGES, words.seed), words.skip, words.sample)
    counts: Counter[tuple[str, str]] = Counter()
    with tempfile.TemporaryDirectory(prefix="mutants") as folder:
        for verdict in tried(Tree(Path(folder)), mutants, not words.near):
            became = "SURVIVED" if verdict.killer is None else "wide" if verdict.wide else "killed"
            package = verdict.mutant.path.rsplit("/", 1)[0]
            counts[package, became] += 1
            print(f"{became:8} {verdict.mutant.path}:{verdict.mutant.line} {verdict.killer or ''}", flush=True)
            if verdict.killer is None:
                print(verdict.change, flush=True)
            if words.out:
                with words.out.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(asdict(verdict)) + "\n")
    for package in PACKAGES:
        killed, wide, left = (counts[package, became] for became in ("killed", "wide", "SURVIVED"))
        print(f"{package}: {killed + wide + left} changed, {killed} noticed by tests of the three packages, "
              f"{wide} by wider tests, {left} survived")  # fmt: skip
    return 1 if any(became == "SURVIVED" for _, became in counts) else 0


if __name__ == "__main__":
    sys.exit(main())
