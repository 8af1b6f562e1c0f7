"""What checks show on a hidden fault, held against the chances that belief reckons with."""

from __future__ import annotations

from collections import Counter

import pytest

from faulttree.belief import Evidence, Reported, plain
from faulttree.drill.drawing import AS_IT_COMES, HARD, Wanted
from faulttree.drill.gear import Awake, Gear, Hidden, Modes, value_for
from faulttree.drill.play import Play
from tests.jobs.gear import event_holds
from tests.jobs.run import shipped_book
from tests.published.simulation import reads
from tests.unit.drill.on_the_bench import bench, drill

GEARS = 3000


def shown(check: str, hard: str = "", sleeping: str = "", first: str = "") -> Counter[str]:
    """What a check shows on many gears with this fault, one seed each; the second look where ``first`` came out."""
    found: Counter[str] = Counter()
    for seed in range(GEARS):
        gear = drill(hard, sleeping, seed, AS_IT_COMES).gear
        if not first or gear.show(check) == first:
            found[gear.show(check)] += 1
    return found


def agree(counted: Counter[str], chances: dict[str, float]) -> bool:
    """Whether counts lie within four standard errors of their chances."""
    n = sum(counted.values())
    return all(abs(counted[o] - n * p) <= 4 * (n * p * (1 - p)) ** 0.5 + 1e-9 for o, p in chances.items())


@pytest.mark.parametrize(("fault", "true"), [("guard-switch.stuck", 0), ("motor.brushes-worn", 2)])
def test_hard_faults_show_by_the_matrix_of_the_check(fault: str, true: int) -> None:
    """The matrix is worked out anew by the simulation, which shares no code with the program."""
    check = bench().book.checks["switch-continuity"]
    chances = dict(zip([o.id for o in check.outcomes], reads(check, true), strict=True))
    assert agree(shown(check.id, hard=fault), chances)


def test_at_the_first_level_looks_do_not_err() -> None:
    """Who begins sees what is there, each time: no coil that is dead clicks."""
    for seed in range(200):
        gear = drill("guard-switch.stuck", "", seed, HARD).gear
        assert [gear.show("switch-continuity") for _ in range(3)] == ["open"] * 3


def test_sleeping_faults_show_as_often_as_they_are_awake() -> None:
    """Awake with shows + wakes (1 - shows) = 0.3 + 0.8 x 0.7; else it reads as a sound gear would."""
    check = bench().book.checks["switch-continuity"]
    awake = 0.3 + 0.8 * 0.7
    mixed = [awake * a + (1 - awake) * b for a, b in zip(reads(check, 1), reads(check, 2), strict=True)]
    chances = dict(zip([o.id for o in check.outcomes], mixed, strict=True))
    assert agree(shown(check.id, sleeping="guard-switch.lead-chafed"), chances)


def test_a_look_done_again_mostly_repeats_itself() -> None:
    """One reading comes again with 1 / (a + 1), a = 0.25, beside its chance anew (Eggenberger and Polya, 1923)."""
    check = bench().book.checks["switch-continuity"]
    anew = reads(check, 0)[2]
    again = shown(check.id, hard="guard-switch.stuck", first="steady")
    start = check.fresh / (1 - check.fresh)
    assert agree(again, {"steady": (start * anew + 1) / (start + 1)})


def test_frequencies_are_those_that_belief_foretells() -> None:
    """Of the drills as they come, the share that shows an outcome is what belief says of the next look."""
    work = bench()
    told = Evidence((Reported("stays-down"),))
    counted: Counter[str] = Counter()
    for seed in range(1500):
        setting = work.drawing.draw(Wanted(AS_IT_COMES, seed, "stays-down"))
        if not setting.circumstances:
            counted[Play(work, setting).gear.show("switch-continuity")] += 1
    ids = [o.id for o in work.book.checks["switch-continuity"].outcomes]
    assert agree(counted, dict(zip(ids, work.believer.believe(told).outcomes("switch-continuity"), strict=True)))


def test_repairs_work_as_often_as_they_are_effective() -> None:
    """And what was read before is not copied any more."""
    mended = 0
    for seed in range(GEARS):
        gear = drill(hard="guard-switch.stuck", seed=seed).gear
        mended += bool(gear.repair("replace-guard-switch"))
    effective = bench().book.actions["replace-guard-switch"].effective
    assert abs(mended - GEARS * effective) <= 4 * (GEARS * effective * (1 - effective)) ** 0.5


def test_what_holds_is_what_the_simulation_says_holds() -> None:
    """Every symptom under every single fault of the made-up family, and none; that code shares nothing with this."""
    book = bench().book
    for faults in (frozenset[str](), *(frozenset([fault]) for fault in book.faults)):
        assert [Awake(book, faults).holds(s) for s in book.symptoms] == [
            event_holds(book, s, faults) for s in book.symptoms
        ]


def test_the_same_look_on_the_same_gear_shows_the_same() -> None:
    """Whatever was done before it: the learner and the advisor meet one gear."""
    one, other = drill(hard="motor.brushes-worn").gear, drill(hard="motor.brushes-worn").gear
    other.show("motor-sound")
    assert one.show("switch-continuity") == other.show("switch-continuity")


def test_the_cause_that_no_book_lists_keeps_the_squawk() -> None:
    """A proof shows it, with the chance that it shows what is there, and no repair ends it."""
    gear = Gear(bench().book, 1, ["stays-down"], Hidden(Modes(), Modes(), unlisted=True), lambda stream: Modes())
    gear.repair("replace-guard-switch")
    assert gear.faulty


def test_a_value_says_what_its_outcome_says() -> None:
    """It lies at least three errors of the instrument from the limit, on the side of the outcome."""
    book = shipped_book()
    check = book.checks["bus-volts"]
    assert check.reading is not None
    for times in range(50):
        value = value_for(book, 5, "bus-volts", "low", times)
        assert value is not None
        assert value.limit - value.value >= 3 * check.reading.error - 1e-9


def test_plain_answers_are_what_belief_takes() -> None:
    """An outcome that a gear shows is one that the check has."""
    outcome = drill(hard="guard-switch.stuck").gear.show("motor-sound")
    assert plain(bench().book, "motor-sound", outcome).weights.count(1.0) == 1
