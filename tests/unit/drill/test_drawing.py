"""What a drill hides: by level, by the book's weights, the same for a seed."""

from __future__ import annotations

from collections import Counter

import pytest

from faulttree.belief import Evidence, Reported
from faulttree.book.drills import Practice
from faulttree.drill.bench import Bench
from faulttree.drill.drawing import AS_IT_COMES, COMES_AND_GOES, HARD, HARDER, Drawing, Wanted
from faulttree.errors import FaulttreeError
from tests.support.books import fault, gate, make_book, symptom
from tests.unit.drill.on_the_bench import bench

SEEDS = range(400)


def test_level_one_hides_one_fault_that_is_always_there() -> None:
    """And no circumstance that speaks of coming and going."""
    for seed in SEEDS:
        setting = bench().drawing.draw(Wanted(HARD, seed, "stays-down"))
        assert (len(setting.hidden.now.hard), len(setting.hidden.now.sleeping)) == (1, 0)
        assert "comes-and-goes" not in setting.circumstances


def test_level_two_hides_one_that_comes_and_goes_or_has_a_likelier_twin() -> None:
    """Always one fault."""
    kinds = Counter(bench().drawing.draw(Wanted(COMES_AND_GOES, seed, "stays-down")).kind for seed in SEEDS)
    assert {kind.partition(":")[0] for kind in kinds} <= {"comes and goes", "looks like a likelier one"}
    assert kinds["comes and goes"] > 0


def test_level_three_hides_two_or_follows_a_wrong_repair() -> None:
    """The earlier repair mends none of what stands, and the pilot blames a part that is sound."""
    book = bench().book
    for seed in SEEDS:
        setting = bench().drawing.draw(Wanted(HARDER, seed, "stays-down"))
        blamed = {book.faults[f].component for f in setting.hidden.now.all}
        assert setting.earlier is not None or len(setting.hidden.now.all) == 2
        assert setting.opinion not in blamed
        if setting.earlier is not None:
            assert setting.hidden.now.all.isdisjoint(book.actions[setting.earlier].corrects)


def test_causes_are_hidden_as_often_as_the_book_takes_them_to_be_there() -> None:
    """Drills as they come, without circumstances: each fault and the unlisted cause, within four standard errors."""
    counted: Counter[str] = Counter()
    drills = 0
    for seed in range(3000):
        setting = bench().drawing.draw(Wanted(AS_IT_COMES, seed, "stays-down"))
        if not setting.circumstances:
            drills += 1
            counted.update(["unlisted"] if setting.hidden.unlisted else setting.hidden.now.all)
    belief = bench().believer.believe(Evidence((Reported("stays-down"),)))
    for name, chance in [("unlisted", belief.unlisted), *((f, b.probability) for f, b in belief.faults.items())]:
        assert abs(counted[name] - drills * chance) <= 4 * (drills * chance * (1 - chance)) ** 0.5, name


def test_a_seed_gives_the_same_drill() -> None:
    """Whatever was drawn before, by whoever reads the book."""
    other = Bench(bench().book, Practice())
    other.drawing.draw(Wanted(HARDER, 99, "stays-down"))
    for seed in range(30):
        wanted = Wanted(seed % 4, seed, "stays-down")
        assert other.drawing.draw(wanted) == bench().drawing.draw(wanted)


def test_drills_are_those_of_every_machine() -> None:
    """Written down once: another machine or version that hides something else has broken the promise."""
    found = []
    for seed in range(4):
        hidden = bench().drawing.draw(Wanted(seed, seed, "stays-down")).hidden
        found.append(sorted(hidden.now.hard) + [f"{f} asleep" for f in sorted(hidden.now.sleeping)])
    assert found == PINNED


PINNED = [
    ["guard-switch.stuck"],
    ["guard-switch.stuck"],
    ["guard-switch.lead-chafed asleep"],
    ["guard-switch.stuck", "guard-switch.lead-chafed asleep"],
]


def test_what_the_squawk_says_is_answered_so() -> None:
    """An answer that goes with the squawk comes before what is drawn."""
    drawing = Drawing(bench().book, practice=Practice(answers={"stays-down": {"legs-known-locked": "not-known"}}))
    assert drawing.draw(Wanted(HARD, 1, "stays-down")).opening["legs-known-locked"] == "not-known"


def test_a_book_without_such_a_drill_says_so() -> None:
    """No symptom at all."""
    with pytest.raises(FaulttreeError, match="level 1"):
        Drawing(make_book(faults=[fault("pump.worn")])).draw(Wanted(HARD, 1))


def test_a_squawk_that_has_nothing_of_a_level_is_told() -> None:
    """Two dead lamps make it dark, so that no single fault is there for a beginner."""
    book = make_book(
        faults=[fault("lamp.dead"), fault("other.dead")],
        events=[gate("both", "all_of", "lamp.dead", "other.dead")],
        symptoms=[symptom("dark", "both", "dark")],
    )
    with pytest.raises(FaulttreeError, match="level 1"):
        Drawing(book).draw(Wanted(HARD, 1, "dark"))
