"""How long belief takes on the shipped book, as a ratio to a general-purpose exact inference library in the same run.

    python tests/benchmarks/belief.py

Two things are timed for each symptom: one more answer (posteriors of all faults that it reaches), and what every
check would show and leave behind. The library is pyAgrum's lazy propagation on a network of the same case
(tests/published/oracle.py), its network built beforehand; "what every check would show" is timed there on some checks
and multiplied, since each outcome wants a run of its own. pgmpy is timed too where it is installed.
"""

from __future__ import annotations

import importlib.util
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a command, this folder alone is searched

import pyagrum

from faulttree.advice import Advisor, Situation
from faulttree.advice.advisor import Round
from faulttree.advice.choice import Rule
from faulttree.belief import Answer, Believer, Entry, Evidence, Reported
from faulttree.book.model import Book
from tests.jobs.run import shipped_book
from tests.published.oracle_case import Case
from tests.published.oracle_network import Network

ANSWERS = 3
TRIED_CHECKS = 4
ROUNDS = 5


def seconds(work: Callable[[], object]) -> float:
    """The median of some runs."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return median(times)


def answered(book: Book, symptom: str) -> Evidence:
    """A symptom and the last answer to each of the first checks that the quick choice proposes."""
    advisor, believer, entries = Advisor(book), Believer(book), list[Entry]([Reported(symptom)])
    while len(entries) <= ANSWERS:
        done = frozenset(e.check for e in entries if isinstance(e, Answer))
        steps = advisor.advise(
            believer.believe(Evidence(tuple(entries))), Situation(done=done), ahead=False
        ).suggestions
        check = book.checks[next(s.id for s in steps if s.kind in ("ask", "check"))]
        last = len(check.outcomes) - 1
        entries.append(Answer(check.id, tuple(float(place == last) for place in range(last + 1))))
    return Evidence(tuple(entries))


def ours(book: Book, evidence: Evidence) -> tuple[float, float, int]:
    """Seconds for the last answer of a case, and for all checks after it; how many checks these are."""
    before = Evidence(evidence.entries[:-1])
    believer, advisor = Believer(book), Advisor(book)

    def one_more() -> None:
        believer.believe(before)
        _ = believer.believe(evidence).faults

    believer.believe(evidence)
    both, first = seconds(one_more), seconds(lambda: believer.believe(before))
    belief = believer.believe(evidence)
    job_and_state = Round(advisor, belief, Situation())
    checks = seconds(lambda: Rule(job_and_state.job).choose(job_and_state.state))
    return max(both - first, 1e-6), checks, len(job_and_state.job.checks)


def library(book: Book, evidence: Evidence, checks: int) -> tuple[float, float]:
    """The same with pyAgrum."""
    case = Case(book, evidence)
    network = Network(case, "alike", True)
    network.tell(case.seen)
    targets = [network.state(fault, 0) for fault in book.faults if ("was", fault) in network.nodes]
    nodes = []
    for check in list(book.checks.values())[:TRIED_CHECKS]:
        if not check.proof:
            nodes.append((network.fresh_reading(check, 0, "next"), len(check.outcomes)))
    inference, _ = network.inference([*targets, *(node for node, _ in nodes)])

    def all_faults() -> None:
        inference.setEvidence(dict.fromkeys(network.said, 1))
        inference.makeInference()
        for target in targets:
            inference.posterior(target)

    def some_checks() -> None:
        for node, outcomes in nodes:
            for outcome in range(outcomes):
                inference.setEvidence({**dict.fromkeys(network.said, 1), node: outcome})
                inference.makeInference()
                for target in targets:
                    inference.posterior(target)

    return seconds(all_faults), seconds(some_checks) * checks / len(nodes)


def another_library(book: Book, evidence: Evidence) -> float | None:
    """Seconds for the posteriors of all reached faults with pgmpy's variable elimination; None where it is missing.

    One fault is timed and multiplied by their number: each is a query of its own.
    """
    if importlib.util.find_spec("pgmpy") is None:
        return None
    from pgmpy.inference import VariableElimination
    from pgmpy.readwrite import BIFReader

    case = Case(book, evidence)
    network = Network(case, "alike", True)
    network.tell(case.seen)
    targets = [network.state(fault, 0) for fault in book.faults if ("was", fault) in network.nodes]
    with tempfile.NamedTemporaryFile(suffix=".bif") as file:
        pyagrum.saveBN(network.net, file.name)
        model = BIFReader(file.name).get_model()
    said = {node: model.get_cpds(node).state_names[node][1] for node in network.said}
    elimination = VariableElimination(model)
    one = seconds(lambda: elimination.query([targets[0]], evidence=said, show_progress=False))
    return one * len(targets)


def main() -> None:
    """Prints a line for each symptom."""
    book = shipped_book()
    print("milliseconds; ours, the library, the library's as a multiple of ours")
    for symptom in book.symptoms:
        evidence = answered(book, symptom)
        answer, all_checks, checks = ours(book, evidence)
        lib_answer, lib_checks = library(book, evidence, checks)
        other = another_library(book, evidence)
        told = "pgmpy not installed" if other is None else f"pgmpy {1e3 * other:8.0f} {other / answer:7.0f}"
        print(
            f"{symptom:28} one answer {1e3 * answer:7.2f} {1e3 * lib_answer:9.1f} {lib_answer / answer:7.1f}"
            f"    {checks} checks {1e3 * all_checks:7.2f} {1e3 * lib_checks:9.0f} {lib_checks / all_checks:9.0f}"
            f"    {told}",
            flush=True,
        )


if __name__ == "__main__":
    main()
