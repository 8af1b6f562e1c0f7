"""Some forty drills with scripted learners, a share of ``tests/jobs/drills.py``; lessons and fixed drills."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from faulttree.belief import Evidence, Reported
from faulttree.book.drills import Practice
from faulttree.drill.acts import Act
from faulttree.drill.advised import Advised
from faulttree.drill.bench import Bench
from faulttree.drill.drawing import HARD, HARDER, LEVELS, Wanted
from faulttree.drill.gear import Awake
from faulttree.drill.play import HELP, Play
from tests.jobs.drills import FAMILIES, Count, as_it_comes, bench_of, play_one
from tests.jobs.learners import LEARNERS, knowing
from tests.jobs.run import ROOT
from tests.support import plain_yaml
from tests.support.share import many, share
from tests.support.small_family import small_book

SMALL, SHIPPED = many(6, 12), {"random": many(1, 2), "knowing": many(1, 2), "adversarial": 1, "advisor": 1, "greedy": 1}
"""Drills for each learner on the made-up family, and on each shipped one."""


@cache
def small() -> Bench:
    """The made-up family."""
    return Bench(small_book())


def played(bench: Bench, drills: dict[str, int]) -> Count:
    """So many drills for each learner, squawks and levels taking turns."""
    count, advised, symptoms = Count(), Advised(bench), list(bench.book.symptoms)
    for learner, number in drills.items():
        for seed in range(number):
            level = HARD + seed % HARDER
            symptom = symptoms[(seed * 7) % len(symptoms)]
            play_one(bench, advised, learner, Wanted(level, seed, symptom), count)
    return count


def test_drills_on_the_made_up_family_end_and_break_nothing() -> None:
    """Thirty (sixty where all is wanted): all end, can be solved, are the same again; the advisor is never stopped."""
    count = played(small(), dict.fromkeys(LEARNERS, SMALL))
    assert (count.drills, count.wrong) == (SMALL * len(LEARNERS), [])


@pytest.mark.parametrize("family", FAMILIES)
def test_drills_on_the_shipped_books_end_and_break_nothing(family: str) -> None:
    """The same, five (seven) for each family."""
    count = played(bench_of(family), SHIPPED)
    assert (count.drills, count.wrong) == (sum(SHIPPED.values()), [])


def test_the_adversary_is_stopped_in_every_way() -> None:
    """Unsafe orders, steps without what makes them safe, repairs unmeasured, ends unproved."""
    count = played(small(), {"adversarial": 5})
    assert {"adversarial: order", "adversarial: exposed", "adversarial: never"} <= set(count.stops)


def test_the_minutes_foretold_are_those_that_it_takes() -> None:
    """Drills as they come on the made-up family, by the advisor: within three standard errors; and the answers."""
    count, advised = Count(), Advised(small())
    for seed in range(many(100, 200)):
        setting = small().drawing.draw(Wanted(0, seed, "stays-down"))
        as_it_comes(small(), advised, setting, count)
    took, foretold, error = count.minutes()
    assert abs(took - foretold) <= 3 * error
    assert max(map(abs, count.off())) <= 4


SEEDS = 1
"""Drills drawn for each squawk and level; of a ninth of the squawks, of all with ``FAULTTREE_SHARE=all``: some three
hundred."""


@pytest.mark.parametrize("family", FAMILIES)
def test_no_pilot_contradicts_what_the_same_pilot_said(family: str) -> None:
    """In drills of each level: the questions that the words are heard to answer are answered so."""
    bench = bench_of(family)
    asked, denied = 0, list[str]()
    squawks = share(bench.book.symptoms, 9, family)
    for symptom in squawks:
        for level in (level for level in LEVELS if bench.drawing.can_be(symptom, level)):
            for seed in range(SEEDS):
                setting = bench.drawing.draw(Wanted(level, seed, symptom))
                play = Play(bench, setting)
                for question in bench.book.opening:
                    play.take(Act("opening", question.id))
                if setting.words == bench.book.symptoms[symptom].name:
                    continue  # nothing that pilots say of it was true; the squawk itself is always told
                asserted = list(bench.practice.asserted(setting.words, setting.symptoms))
                questions = dict.fromkeys(
                    name
                    for heard in asserted for question in heard.answers
                    for name in (*bench.book.checks[question].after, question)
                )  # fmt: skip
                said = {question: play.take(Act("check", question)).outcome for question in questions}
                asked += len(said)
                denied += [
                    f"{symptom} {level} {seed}: {setting.words}: {heard.id}, {question}: {said[question]}"
                    for heard in asserted for question, those in heard.answers.items() if said[question] not in those
                ]  # fmt: skip
    assert denied == []
    assert asked >= SEEDS * len(squawks) / 2  # else the words would say little


# -- what is written for practice ------------------------------------------------------------------------


def lessons() -> Iterator[tuple[str, str]]:
    """Family and id of every lesson, by the family of its drill.

    Read as plain YAML, like the fixed drills: every process that runs tests lists these, and most need no book for it.
    """
    for name, lesson in plain_yaml.read(ROOT / "knowledge/shared/lessons.drills.yaml")["lessons"].items():
        yield lesson["drill"]["family"], name


def scenarios() -> Iterator[tuple[str, str]]:
    """Family and id of every fixed drill."""
    for family in FAMILIES:
        for name in plain_yaml.read(ROOT / "knowledge" / family / "scenarios.drills.yaml")["scenarios"]:
            yield family, name


@pytest.mark.parametrize("family", FAMILIES)
def test_these_are_all_lessons_and_fixed_drills_that_there_are(family: str) -> None:
    """As the program reads them; a dozen lessons at least."""
    practice = bench_of(family).practice
    assert {name for _, name in lessons()} == set(practice.lessons)
    assert len(practice.lessons) >= 12
    assert [name for of, name in scenarios() if of == family] == list(practice.scenarios)


@pytest.mark.parametrize(("family", "name"), list(lessons()), ids=lambda value: str(value))
def test_every_lesson_ends_in_a_drill_that_can_be_solved(family: str, name: str) -> None:
    """By whoever knows what is hidden."""
    bench = bench_of(family)
    asked = bench.practice.lessons[name].drill
    if asked.scenario:
        setting = bench.drawing.fixed(bench.practice.scenarios[asked.scenario], asked.seed)
    else:
        setting = bench.drawing.draw(Wanted(asked.level, asked.seed, asked.symptom))
    assert knowing(bench, Advised(bench), setting).ended not in ("", HELP)


@pytest.mark.parametrize(("family", "name"), list(scenarios()), ids=lambda value: str(value))
def test_fixed_drills_hide_what_gives_their_squawk(family: str, name: str) -> None:
    """All that the pilot reports, with every fault awake."""
    bench = bench_of(family)
    setting = bench.drawing.fixed(bench.practice.scenarios[name], 1)
    awake = Awake(bench.book, setting.hidden.now.all, setting.symptoms)
    assert [symptom for symptom in setting.symptoms if not awake.holds(symptom)] == []
    assert Play(bench, setting).gear.faulty


@pytest.mark.parametrize("family", FAMILIES)
def test_every_squawk_makes_drills_of_every_level(family: str) -> None:
    """None is left out of the list that a learner chooses from."""
    drawing = bench_of(family).drawing
    short = [s for s in drawing.book.symptoms if not drawing.sets(Evidence((Reported(s),))).now]
    assert short == []
    assert [
        (s, level) for s in list(drawing.book.symptoms)[:3] for level in LEVELS if not drawing.can_be(s, level)
    ] == []


def test_the_shipped_practice_reads_without_a_problem() -> None:
    """In every family, from the folder that is installed."""
    for family in FAMILIES:
        assert isinstance(bench_of(family).practice, Practice)
    assert (Path(__file__).parents[2] / "knowledge" / "shared" / "lessons.drills.yaml").exists()
