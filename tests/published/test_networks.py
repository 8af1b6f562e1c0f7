"""Worked examples that others published, as books of faults, and their results from belief without a size limit.

A table of a network becomes faults of its own: one for each row that is neither sure nor impossible, simply so
with the row's probability, and the node holds where a row and the parents' states of that row hold together.
A check that never errs asks for the state of a node.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

from faulttree.belief import Belief, Believer, Entry, Evidence, Reported, plain
from faulttree.book.model import Book, Check, Event, Fault, Outcome
from tests.support import plain_yaml
from tests.support.books import fault, gate, make_book, symptom
from tests.support.random_books import a_check

EXAMPLES: Mapping[str, Any] = plain_yaml.read(Path(__file__).parent / "networks.yaml")
NETWORKS = ("chest-clinic", "burglary")


def believe(book: Book, *entries: Entry) -> Belief:
    return Believer(book, size_limit=None).believe(Evidence(entries))


def sees(name: str, when: str) -> Check:
    """A check that never errs: ``o0`` if ``when`` holds, else ``fine``."""
    return a_check(name, when, 1.0, 0.0)


def entropy(chances: Iterable[float]) -> float:
    return -sum(p * math.log2(p) for p in chances if p > 0.0)


# ------------------------------------------------------------------------------------------------------ networks


def network_book(network: Mapping[str, Any]) -> Book:
    """Nodes ``is-NAME`` are events, with a check ``NAME`` for each."""
    faults: list[Fault] = []
    events: list[Event] = []
    for name, node in network.items():
        rows = []
        for states, chance in node["table"].items():
            literals = [f"{'is' if s == '1' else 'not'}-{p}" for s, p in zip(states, node["parents"], strict=True)]
            if 0.0 < chance < 1.0:
                faults.append(fault(f"{name}-row-{states}", probability=chance))
                literals.append(faults[-1].id)
            if chance > 0.0:
                events.append(gate(f"{name}-by-{states}", "all_of", *literals))
                rows.append(events[-1].id)
        events += [gate(f"is-{name}", "any_of", *rows), gate(f"not-{name}", "not", f"is-{name}")]
    return make_book(faults, events, checks=[sees(name, f"is-{name}") for name in network])


def states(book: Book, given: Mapping[str, int]) -> list[Entry]:
    return [plain(book, name, "o0" if state else "fine") for name, state in given.items()]


def _rows(kind: str) -> list[Any]:
    rows = []
    for name in NETWORKS:
        for row in EXAMPLES[name][kind]:
            about = row.get("of", "joint")
            given = row.get("given", row.get("states", {}))
            label = "".join(f"{k}{v}" for k, v in given.items()) or "alone"
            rows.append(pytest.param(name, row, id=f"{name}-{about}-{label}"))
    return rows


@pytest.mark.parametrize(("name", "row"), _rows("posteriors"))
def test_posterior_of_a_network(name: str, row: Mapping[str, Any]) -> None:
    """What a node would be found to be, given others, is the printed posterior."""
    book = network_book(EXAMPLES[name]["network"])
    shown = believe(book, *states(book, row["given"])).outcomes(row["of"])
    assert shown[0] == pytest.approx(row["value"], abs=row["within"])


@pytest.mark.parametrize(("name", "row"), _rows("joint"))
def test_joint_probability_of_a_network(name: str, row: Mapping[str, Any]) -> None:
    """The probability of answers together is the printed joint probability."""
    book = network_book(EXAMPLES[name]["network"])
    belief = believe(book, *states(book, row["states"]))
    assert 2.0**belief.log2_evidence == pytest.approx(row["value"], abs=row["within"])


def test_errors_of_a_check_are_rows_of_a_network() -> None:
    """Two noisy calls as checks that miss and raise false alarms give the printed chance of a burglary."""
    network = EXAMPLES["burglary"]["network"]
    base = network_book({name: network[name] for name in "BEA"})
    calls = [a_check(n, "is-A", network[n]["table"]["1"], network[n]["table"]["0"]) for n in "JM"]
    book = make_book(list(base.faults.values()), list(base.events.values()), checks=[*base.checks.values(), *calls])
    row = EXAMPLES["burglary"]["posteriors"][0]
    assert believe(book, *states(book, row["given"])).outcomes("B")[0] == pytest.approx(row["value"], abs=row["within"])


# ------------------------------------------------------------------------------------------------- noisy OR, tests


@pytest.mark.parametrize("there", EXAMPLES["fever"]["no-fever"])
def test_noisy_or(there: str) -> None:
    """With a noisy link as a fault of its own, the chance of no effect is the printed product."""
    example = EXAMPLES["fever"]
    causes = list(example["fails"])
    faults = [fault(cause, probability=0.1) for cause in causes]
    faults += [fault(f"{cause}-brings-it-on", probability=1.0 - example["fails"][cause]) for cause in causes]
    links = [gate(f"by-{cause}", "all_of", cause, f"{cause}-brings-it-on") for cause in causes]
    fever = gate("fever", "any_of", *(link.id for link in links))
    checks = [sees(f"see-{cause}", cause) for cause in causes]
    book = make_book(faults, [*links, fever], checks=[*checks, sees("temperature", "fever")])
    given = {f"see-{cause}": int(state) for cause, state in zip(causes, there, strict=True)}
    shown = believe(book, *states(book, given)).outcomes("temperature")
    assert shown[1] == pytest.approx(example["no-fever"][there], abs=example["within"])


TESTS = [("screening", "mammogram"), ("screening", "lupus"), ("mammography", "mammogram")]


def screening_book(figures: Mapping[str, float]) -> Book:
    check = a_check("test", "ill", figures["detects"], figures["false-alarm"])
    return make_book([fault("ill", probability=figures["prior"])], checks=[check])


@pytest.mark.parametrize(("example", "case"), TESTS)
def test_posterior_after_a_positive_test(example: str, case: str) -> None:
    """A positive test lifts the prior to the printed posterior."""
    figures = EXAMPLES[example][case]
    book = screening_book(figures)
    belief = believe(book, plain(book, "test", "o0"))
    assert belief.faults["ill"].probability == pytest.approx(figures["posterior"], abs=figures["within"])


def test_chance_of_a_positive_test() -> None:
    """Before the test, the chance that it comes out positive is the printed one."""
    figures = EXAMPLES["screening"]["mammogram"]
    shown = believe(screening_book(figures)).outcomes("test")
    assert shown[0] == pytest.approx(figures["positive"], abs=figures["positive-within"])


# --------------------------------------------------------------------------------------- one defect, clear results


def exactly_one(faults: Sequence[str]) -> list[Event]:
    """Events so that ``just-one`` holds when one of the faults stands and no other."""
    return [
        gate("some", "any_of", *faults),
        gate("two", "at_least", *faults, count=2),
        gate("not-two", "not", "two"),
        gate("just-one", "all_of", "some", "not-two"),
    ]


def candidate_book(results: Mapping[int, str]) -> Book:
    """Defects ``d1`` … of which one is there, and tests ``t1`` … with ``o0`` for the result 1.

    Where the result is not known, a fault of its own with an even chance decides it.
    """
    defects = [f"d{n}" for n in results]
    faults = [fault(d, probability=0.1) for d in defects]
    events = exactly_one(defects)
    checks = []
    for test in range(4):
        ones = [f"d{n}" for n, row in results.items() if row[test] == "1"]
        for n in (n for n, row in results.items() if row[test] == "U"):
            faults.append(fault(f"luck-{test}-{n}", probability=0.5))
            events.append(gate(f"perhaps-{test}-{n}", "all_of", f"d{n}", faults[-1].id))
            ones.append(events[-1].id)
        events.append(gate(f"one-at-{test}", "any_of", *ones))
        checks.append(sees(f"t{test + 1}", f"one-at-{test}"))
    return make_book(faults, events, [symptom("dead", "just-one")], checks)


def results_of(book: Book, example: Mapping[str, Any], tests: Sequence[int]) -> list[Entry]:
    """The tests' results on the true defect, as far as the complete table gives them."""
    row = example["complete"][example["true-defect"]]
    return [plain(book, f"t{test}", "o0" if row[test - 1] == "1" else "fine") for test in tests]


def candidates(belief: Belief) -> list[int]:
    return [int(f[1:]) for f, b in belief.faults.items() if f.startswith("d") and b.probability > 1e-12]


def useful(belief: Belief) -> list[int]:
    return [n for n in range(1, 5) if min(belief.outcomes(f"t{n}")) > 1e-12]


@pytest.mark.parametrize("done", range(4))
def test_candidates_that_remain(done: int) -> None:
    """After each test the candidates that remain, and the tests that still tell, are the printed ones."""
    example = EXAMPLES["candidates"]
    book = candidate_book(example["complete"])
    belief = believe(book, Reported("dead"), *results_of(book, example, range(1, done + 1)))
    assert (candidates(belief), useful(belief)) == (example["candidates"][done], example["useful"][done])


def test_two_tests_suffice() -> None:
    """The two tests that the paper names leave the true defect alone."""
    example = EXAMPLES["candidates"]
    book = candidate_book(example["complete"])
    belief = believe(book, Reported("dead"), *results_of(book, example, example["two-tests-suffice"]))
    assert candidates(belief) == [example["true-defect"]]


def test_an_unknown_result_lets_a_candidate_stand() -> None:
    """With the incomplete table it takes the printed number of tests, in their order, to leave one candidate."""
    example = EXAMPLES["candidates"]
    book = candidate_book(example["incomplete"])
    left = [
        len(candidates(believe(book, Reported("dead"), *results_of(book, example, range(1, done + 1)))))
        for done in range(5)
    ]
    assert left.index(1) == example["incomplete-tests-needed"]


# ------------------------------------------------------------------------------------------------ information gain


def weather_book() -> Book:
    """Fourteen days of which one is drawn: an attribute is a check that shows its value on that day."""
    attributes = EXAMPLES["weather"]["attributes"]
    days = [f"day-{n}" for n in range(14)]
    events = exactly_one(days)
    checks = []
    for name, values in attributes.items():
        kinds = list(dict.fromkeys(values))
        for kind in kinds:
            such = [day for day, value in zip(days, values, strict=True) if value == kind]
            events.append(gate(f"{name}-{kind}", "any_of", *such))
        outcomes = [Outcome(kind, kind, f"{name}-{kind}", 1.0) for kind in kinds[:-1]]
        last = Outcome(kinds[-1], kinds[-1], None, 1.0)
        checks.append(Check(name, name, "look", "now", (*outcomes, last), 0.0, 1.0))
    return make_book([fault(day, probability=0.1) for day in days], events, [symptom("a-day", "just-one")], checks)


def test_entropy_before_any_look() -> None:
    """The uncertainty about playing is the printed entropy of the table."""
    expected = EXAMPLES["weather"]["entropy"]
    shown = believe(weather_book(), Reported("a-day")).outcomes("play")
    assert entropy(shown) == pytest.approx(expected["value"], abs=expected["within"])


@pytest.mark.parametrize("attribute", EXAMPLES["weather"]["gains"])
def test_information_gain(attribute: str) -> None:
    """The expected fall of the uncertainty about playing, from belief's predictions, is the printed gain."""
    book = weather_book()
    before = believe(book, Reported("a-day"))
    after = 0.0
    for outcome, chance in zip(book.checks[attribute].outcomes, before.outcomes(attribute), strict=True):
        told = believe(book, Reported("a-day"), plain(book, attribute, outcome.id))
        after += chance * entropy(told.outcomes("play"))
    expected = EXAMPLES["weather"]["gains"][attribute]
    assert entropy(before.outcomes("play")) - after == pytest.approx(expected["value"], abs=expected["within"])


# ----------------------------------------------------------------------------------- three multipliers, two adders


def multiplier_book() -> Book:
    """The circuit with F read as 10 and G as 12, where 12 and 12 were due: ``readings`` is what was seen.

    Values are not modelled, only whether one comes out at what was read. A faulty part puts out one of sixteen
    values, so a wrong F is the one read with a chance of 1/16, and G comes out right in spite of a fault above it
    with the same chance. The wrong F leaves no such luck where M2 alone is at fault: then Y follows from F, and G
    from Y.
    """
    example = EXAMPLES["multipliers-and-adders"]
    faults = [fault(part, probability=example["prior"]) for part in example["parts"]]
    faults += [fault(name, probability=1.0 / example["values"]) for name in ("f-as-read", "g-as-read")]
    events = [
        gate("f-off", "any_of", "A1", "M1", "M2"),
        gate("f-reads-ten", "all_of", "f-off", "f-as-read"),
        gate("g-off", "any_of", "A2", "M2", "M3"),
        gate("g-sound", "not", "g-off"),
        gate("another-than-m2", "any_of", "A1", "A2", "M1", "M3"),
        gate("g-right-by-luck", "all_of", "g-off", "g-as-read", "another-than-m2"),
        gate("g-reads-twelve", "any_of", "g-sound", "g-right-by-luck"),
        gate("readings", "all_of", "f-reads-ten", "g-reads-twelve"),
    ]
    checks = [sees(f"see-{part}", part) for part in example["parts"]]
    checks += [sees(point, part) for point, part in example["points"].items()]
    return make_book(faults, events, [symptom("readings-seen", "readings")], checks)


def subsets(items: Sequence[str]) -> list[frozenset[str]]:
    return [frozenset(c) for size in range(len(items) + 1) for c in itertools.combinations(items, size)]


def smallest(sets: Iterable[frozenset[str]]) -> set[frozenset[str]]:
    family = set(sets)
    return {s for s in family if not any(other < s for other in family)}


def test_minimal_diagnoses() -> None:
    """The smallest sets of faulty parts that belief lets stand, the others sound, are the published four."""
    book, example = multiplier_book(), EXAMPLES["multipliers-and-adders"]
    standing = []
    for faulty in subsets(example["parts"]):
        told = states(book, {f"see-{part}": int(part in faulty) for part in example["parts"]})
        if believe(book, Reported("readings-seen"), *told).contradiction is None:
            standing.append(faulty)
    assert smallest(standing) == {frozenset(d) for d in example["diagnoses"]}


def test_minimal_conflicts() -> None:
    """The smallest sets of parts that cannot all be sound are the published two."""
    book, example = multiplier_book(), EXAMPLES["multipliers-and-adders"]
    refused = []
    for sound in subsets(example["parts"]):
        told = states(book, {f"see-{part}": 0 for part in sound})
        if believe(book, Reported("readings-seen"), *told).contradiction is not None:
            refused.append(sound)
    assert smallest(refused) == {frozenset(c) for c in example["conflicts"]}


def test_point_to_measure_next() -> None:
    """The point whose state is least certain is the published one."""
    book, example = multiplier_book(), EXAMPLES["multipliers-and-adders"]
    belief = believe(book, Reported("readings-seen"))
    assert max(example["points"], key=lambda p: entropy(belief.outcomes(p))) == example["measure-next"]


def test_posterior_of_the_diagnoses() -> None:
    """Each set of faulty parts gets the weight that Bayes' rule gives it, summed by hand over the 32 sets."""
    book, example = multiplier_book(), EXAMPLES["multipliers-and-adders"]
    prior, values = example["prior"], example["values"]
    weight = {}
    for faulty in subsets(example["parts"]):
        ten = 1.0 / values if faulty & {"A1", "M1", "M2"} else 0.0
        luck = 1.0 / values if faulty != {"M2"} else 0.0
        twelve = luck if faulty & {"A2", "M2", "M3"} else 1.0
        weight[faulty] = prior ** len(faulty) * (1.0 - prior) ** (5 - len(faulty)) * ten * twelve
    total = sum(weight.values())
    expected = {p: sum(w for s, w in weight.items() if p in s) / total for p in example["parts"]}
    belief = believe(book, Reported("readings-seen"))
    assert {p: belief.faults[p].probability for p in expected} == pytest.approx(expected, abs=1e-12)
