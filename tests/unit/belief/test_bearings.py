"""What answers say of sets too large to be listed, and of what no answer reaches, by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from faulttree.belief import Believer, Denied, Did, Evidence, Found, Reported, plain
from faulttree.book.model import Book
from tests.support.books import action, check, fault, gate, make_book, symptom


def book() -> Book:
    """One fault that comes and goes by half and shows half of the time, one that the check does not look at."""
    return make_book(
        [fault("f.a", probability=0.2, share=0.5, shows=0.5), fault("g.b", probability=0.1)],
        events=[gate("any", "any_of", "f.a", "g.b")],
        symptoms=[symptom("s", "any", unlisted=0.1)],
        checks=[check("look", seen="f.a")],
        actions=[action("mend", "f.a")],
    )


def test_a_good_answer_bounds_sets_by_what_they_hold() -> None:
    """A hard fault would have been missed, one that comes and goes may have been asleep; without either all is fine."""
    made = book()
    replay = Believer(made).believe(Evidence((Reported("s"), plain(made, "look", "fine")))).replay
    bearing = replay.bearings[-1]
    space = replay.frame.space
    missed = 0.05 / 0.98
    by_mode = {(0, False): missed, (0, True): 0.5 * missed + 0.5, (1, False): 1.0}
    modes = zip((space.mode_fault == space.place["g.b"]).astype(int).tolist(), space.sleeps.tolist(), strict=True)
    assert bearing.sound == pytest.approx(1.0)
    assert bearing.held == pytest.approx([by_mode[mode] for mode in modes])


def test_what_the_pilot_saw_was_seen_with_all_awake() -> None:
    """What is asked about the squawk itself finds no cause asleep: one that comes and goes is missed no more often."""
    made = book()
    asked = replace(check("told", seen="f.a"), about="squawk")
    made = replace(made, checks={**made.checks, "told": asked})
    replay = Believer(made).believe(Evidence((Reported("s"), plain(made, "told", "fine")))).replay
    of_a = replay.frame.space.mode_fault == replay.frame.space.place["f.a"]
    assert replay.bearings[-1].held == pytest.approx(np.where(of_a, 0.05 / 0.98, 1.0))


def test_after_a_repair_an_answer_says_nothing_of_what_may_be_gone() -> None:
    """Those that the repair does not touch are bounded as ever."""
    made = book()
    entries = (Reported("s"), Did("mend"), plain(made, "look", "fine"))
    assert Believer(made).believe(Evidence(entries)).replay.bearings[-1].held == pytest.approx(np.ones(3))


def test_what_is_seen_again_weighs_less() -> None:
    """A fifth of a second look is fresh: (0.25 x 0.99 + 1) to (0.25 x 0.0001 + 1)."""
    made = make_book([fault("f.a", probability=0.2)])
    (_, first), (_, second) = Believer(made).believe(Evidence((Found("f.a"), Found("f.a")))).weights("f.a")
    assert first == pytest.approx(math.log2(0.99 / 0.0001))
    assert second == pytest.approx(math.log2((0.25 * 0.99 + 1.0) / (0.25 * 0.0001 + 1.0)))


def test_with_no_listed_cause_left_nothing_unreached_can_be_there() -> None:
    """Both causes of the symptom were looked at by checks that never err: the unlisted one has all the weight."""
    made = make_book(
        [fault(name, probability=0.1) for name in ("f.a", "f.b", "g.b")],
        events=[gate("any", "any_of", "f.a", "f.b")],
        symptoms=[symptom("s", "any", unlisted=0.1)],
        checks=[check(name, seen=name, detects=1.0, false_alarm=0.0) for name in ("f.a", "f.b")],
    )
    belief = Believer(made).believe(Evidence((Reported("s"), plain(made, "f.a", "fine"), plain(made, "f.b", "fine"))))
    assert belief.unlisted == pytest.approx(1.0)
    assert belief.log_odds("g.b") == -math.inf


def test_each_fault_bounds_the_outcome_that_it_brings_about() -> None:
    """Of five outcomes; a fault that none looks at leaves them all."""
    names = ["f.a", "f.b", "f.c", "f.d", "g.b"]
    look = check("look", a="f.a", b="f.b", c="f.c", d="f.d")
    made = make_book([fault(name) for name in names], checks=[look])
    frame = Believer(made).frame(Evidence(), also=names)
    latest = dict(zip(frame.space.faults, frame.least_outcome(look, ()).tolist(), strict=True))
    assert latest == {"f.a": 0, "f.b": 1, "f.c": 2, "f.d": 3, "g.b": 4}


def test_the_unlisted_cause_leaves_what_is_found_by_eye_as_likely_as_it_was() -> None:
    """Found as often as the fault is there anyhow, given the symptom, and a little by mistake."""
    made = book()
    believer = Believer(made)
    before = believer.believe(Evidence((Reported("s"),)))
    after = believer.believe(Evidence((Reported("s"), Found("g.b"))))
    defaults, listed = made.defaults, 1.0 - before.unlisted
    held = before.faults["g.b"].probability / listed
    shows = held * defaults.found_detects + (1.0 - held) * defaults.found_false_alarm
    # Among the listed sets it is found as likely as on average over them, so that nothing moves.
    assert after.unlisted == pytest.approx(before.unlisted * shows / (before.unlisted * shows + listed * shows))


def test_what_is_found_by_eye_bounds_sets_without_it() -> None:
    """Those hold it by mistake alone; what else a set holds neither helps nor harms."""
    made = book()
    replay = Believer(made).believe(Evidence((Reported("s"), Found("g.b")))).replay
    bearing, space = replay.bearings[-1], replay.frame.space
    assert bearing.able is not None
    assert bearing.able.tolist() == (space.mode_fault == space.place["g.b"]).tolist()
    assert bearing.sound == pytest.approx(made.defaults.found_false_alarm / made.defaults.found_detects)
    assert bearing.held.tolist() == [1.0] * len(space.mode_fault)


def test_a_symptom_denied_after_a_repair_speaks_against_the_unlisted_cause_as_on_average() -> None:
    """It would have been noticed nine times of ten where it holds, and it held as often as its fault was there."""
    made = book()
    made = replace(made, symptoms={**made.symptoms, "t": symptom("t", "g.b", noticed=0.9)})
    held = Believer(made).believe(Evidence((Reported("s"),)))
    share = held.faults["g.b"].probability / (1.0 - held.unlisted)
    before, after = (
        Believer(made).believe(Evidence((Reported("s"), Did("mend"), *more))).replay for more in ((), (Denied("t"),))
    )
    assert after.log_unlisted - before.log_unlisted == pytest.approx(math.log(1.0 - 0.9 * share))
