"""What may be proposed at all: once or twice, what has to come first, what was found against it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from faulttree.advice import Advisor, Figures, Situation
from faulttree.advice.advisor import Round
from faulttree.belief import Belief, Believer, Did, Evidence, Found, Reported, plain
from faulttree.book.model import Book
from tests.support.books import check
from tests.support.small_family import small_book
from tests.unit.advice.test_advisor import advise, refined


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def test_what_is_to_be_done_once_is_not_proposed_again(book: Book) -> None:
    """A repair marked ``once`` that was done and did not help does not come up any more; another may."""
    once = replace(book, actions={**book.actions, "mend-lead": replace(book.actions["mend-lead"], once=True)})
    evidence = Evidence((Reported("stays-down"), Did("mend-lead"), plain(once, "cycle-test", "remains")))
    offered = [s.id for s in Advisor(once).advise(Believer(once).believe(evidence), Situation(acted=True)).suggestions]
    assert "mend-lead" not in offered
    assert "replace-brushes" in offered


@pytest.mark.parametrize(("times", "offered"), [(1, True), (2, False)])
def test_what_did_not_help_twice_is_not_tried_a_third_time(book: Book, times: int, offered: bool) -> None:
    """A repair that was done and did not help may be done once more, and that is all."""
    poor = replace(book.actions["mend-lead"], effective=0.2)
    book = replace(book, actions={**book.actions, "mend-lead": poor})
    failed = (Did("mend-lead"), plain(book, "cycle-test", "remains"))
    jumps = plain(book, "switch-continuity", "jumps")
    evidence = Evidence((Reported("stays-down"), jumps, *failed * times))
    figures = Figures(care=10, wait_weight=0.1, help=1e6, comeback=960)
    advice = Advisor(book, figures).advise(Believer(book).believe(evidence), Situation(acted=True))
    assert ("mend-lead" in [s.id for s in advice.suggestions]) is offered


def test_what_came_first_once_need_not_come_first_again(book: Book) -> None:
    """A check whose forerunner was done in an earlier epoch stands by itself, else the forerunner leads to it."""
    later = replace(book.checks["switch-continuity"], after=("motor-sound",))
    book = replace(book, checks={**book.checks, "switch-continuity": later})
    assert "switch-continuity" not in [s.id for s in refined(book).suggestions]
    ever = Situation(ever=frozenset({"motor-sound"}))
    assert "switch-continuity" in [s.id for s in refined(book, ever).suggestions]


def shown_first(book: Book) -> Book:
    """The switch is replaced only after it was metered or listened to."""
    wary = replace(book.actions["replace-guard-switch"], after_any=("switch-continuity",))
    return replace(book, actions={**book.actions, "replace-guard-switch": wary})


def believed(book: Book) -> Belief:
    return Believer(book).believe(Evidence((Reported("stays-down"),)))


def test_what_has_to_be_shown_first_comes_before_the_repair(book: Book) -> None:
    """However likely it is: the check that shows it stands there and says what it leads to."""
    evidence = Evidence((Reported("stays-down"), plain(book, "motor-sound", "silent")))
    book = shown_first(book)
    for refine in (False, True):
        advisor = Advisor(book)
        belief = Believer(book).believe(evidence)
        advice = (advisor.refine if refine else advisor.advise)(belief, Situation(done=frozenset({"motor-sound"})))
        ids = [s.id for s in advice.suggestions]
        assert "replace-guard-switch" not in ids
        assert "switch-continuity" in ids


@pytest.mark.parametrize(
    ("kind", "outcome", "offered"),
    [("look", "steady", False), ("look", "open", True), ("test", "steady", True)],
    ids=["a look that showed nothing", "a look that showed it", "measured and found good"],
)
def test_a_look_that_showed_nothing_is_no_measurement(book: Book, kind: str, outcome: str, offered: bool) -> None:
    """It does not stand for the check that has to come before a repair, while another can be done."""
    book = shown_first(book)
    look = replace(book.checks["switch-continuity"], kind=kind)
    wary = replace(book.actions["replace-guard-switch"], after_any=("switch-continuity", "motor-sound"))
    book = replace(
        book, checks={**book.checks, look.id: look}, actions={**book.actions, "replace-guard-switch": wary}
    )  # fmt: skip
    once = frozenset({"switch-continuity"})
    now = Situation(ever=once, done=once, shown=(("switch-continuity", outcome),))
    ids = [s.id for s in Advisor(book).advise(believed(book), now).suggestions]
    assert ("replace-guard-switch" in ids) == offered


@pytest.mark.parametrize(
    ("entry", "situation"),
    [
        (None, Situation(done=frozenset({"motor-sound", "switch-continuity"}))),
        (Found("guard-switch.stuck"), Situation(done=frozenset({"motor-sound"}))),
    ],
    ids=["told nothing", "seen"],
)
def test_nothing_is_waited_for_that_will_not_come(book: Book, entry: Found | None, situation: Situation) -> None:
    """A check that nobody could read keeps no repair back, nor is one wanted for what was seen with the eyes."""
    book = shown_first(book)
    entries = (Reported("stays-down"), plain(book, "motor-sound", "silent"), *([entry] if entry else []))
    advice = Advisor(book).advise(Believer(book).believe(Evidence(entries)), situation)
    assert "replace-guard-switch" in [s.id for s in advice.suggestions]


def test_a_check_that_is_never_proposed_keeps_no_repair_back(book: Book) -> None:
    """One that follows repairs alone: whoever waited for it would wait for ever."""
    book = shown_first(book)
    unasked = replace(book.checks["switch-continuity"], proposed=False)
    book = replace(book, checks={**book.checks, unasked.id: unasked})
    silent = ("motor-sound", "silent")
    assert "replace-guard-switch" in advise(book, silent, situation=Situation(done=frozenset({"motor-sound"})))


def test_a_check_that_something_found_bars_keeps_no_repair_back(book: Book) -> None:
    """Here a silent motor speaks against what the continuity check needs, and not against the repair."""
    book = shown_first(book)
    metered = replace(book.checks["switch-continuity"], needs=("on-jacks", "motor-breaker-pulled", "floor-panel-out"))
    book = replace(book, checks={**book.checks, metered.id: metered})
    sound = book.checks["motor-sound"]
    silent = replace(sound.outcomes[1], bars=("floor-panel-out",))
    barred = replace(book, checks={**book.checks, "motor-sound": replace(sound, outcomes=(sound.outcomes[0], silent))})
    now = Situation(done=frozenset({"motor-sound"}), shown=(("motor-sound", "silent"),))
    offered = [("replace-guard-switch" in advise(b, ("motor-sound", "silent"), situation=now)) for b in (book, barred)]
    assert offered == [False, True]


@pytest.mark.parametrize(("shown", "offered"), [("silent", False), ("hummed", True)])
def test_an_answer_makes_needless_what_it_names_and_no_other_answer_does(book: Book, shown: str, offered: bool) -> None:
    """Where the motor was silent nobody is asked to listen for its clatter; where it hummed the question stands."""
    sound = book.checks["motor-sound"]
    silent = replace(sound.outcomes[1], needless=("clatter",))
    clatter = replace(sound, id="clatter", name="Clatter", ask="Did it clatter?")
    changed = {"motor-sound": replace(sound, outcomes=(sound.outcomes[0], silent)), "clatter": clatter}
    book = replace(book, checks={**book.checks, **changed})
    now = Situation(done=frozenset({"motor-sound"}), shown=(("motor-sound", shown),))
    assert ("clatter" in advise(book, ("motor-sound", shown), situation=now)) == offered


def test_a_check_that_was_done_lets_the_repair_follow(book: Book) -> None:
    """Also one of an earlier epoch."""
    book = shown_first(book)
    open_switch = ("switch-continuity", "open")
    for situation in (Situation(), Situation(ever=frozenset({"switch-continuity"}))):
        done = replace(situation, done=situation.done | {"switch-continuity"}, ever=frozenset({"switch-continuity"}))
        assert advise(book, open_switch, situation=done)[0] == "replace-guard-switch"


def test_the_minutes_of_what_is_shown_first_are_counted(book: Book) -> None:
    """A repair that wants a check before it costs as much more as the check takes, and no less than it does alone."""
    plain_job, wary_job = (Round(Advisor(b), believed(b), Situation()) for b in (book, shown_first(book)))
    place = next(a for a, act in enumerate(plain_job.job.actions) if act.id == "replace-guard-switch")
    more = wary_job.plan.act_minutes[place] - plain_job.plan.act_minutes[place]
    assert more == pytest.approx(book.checks["switch-continuity"].minutes)


def barring(book: Book, until: tuple[str, ...] = ()) -> Book:
    """A silent motor keeps the gear from being powered."""
    sound = book.checks["motor-sound"]
    silent = replace(sound.outcomes[1], bars=("gear-powered",), until=until)
    return replace(book, checks={**book.checks, "motor-sound": replace(sound, outcomes=(sound.outcomes[0], silent))})


SILENT = (("motor-sound", "silent"),)
STEADY = ("switch-continuity", "steady")


def due(book: Book, shown: tuple[tuple[str, str], ...]) -> list[str]:
    """What is suggested while the proof is owed, that swings the gear under power."""
    owed = Situation(owed=("cycle-test",), acted=True, shown=shown)
    return advise(book, ("motor-sound", "silent"), situation=owed)


def test_what_was_found_keeps_a_step_away(book: Book) -> None:
    """The proof wants the gear powered: with a finding against it, what can lift that is due in its place."""
    assert due(book, SILENT)[0] == "cycle-test"
    told = due(barring(book), SILENT)
    assert (told[0], "cycle-test" in told) == ("motor-sound", False)


def test_what_speaks_against_it_no_more_keeps_nothing_away(book: Book) -> None:
    """The check shows otherwise now, or the one that is named shows what bars nothing."""
    assert due(barring(book), (("motor-sound", "hummed"),))[0] == "cycle-test"
    wary = barring(book, until=("switch-continuity",))
    assert due(wary, SILENT)[0] == "switch-continuity"
    assert due(wary, (*SILENT, STEADY))[0] == "cycle-test"


def test_what_was_looked_at_again_in_vain_lifts_nothing_any_more(book: Book) -> None:
    """The check that could lift it was done since and showed the same: it is not due once more."""
    again = Situation(owed=("cycle-test",), acted=True, shown=SILENT, done=frozenset({"motor-sound"}))
    told = advise(barring(book), ("motor-sound", "silent"), situation=again)
    assert not {"motor-sound", "cycle-test"} & set(told)


def test_what_a_pilot_saw_is_asked_once(book: Book) -> None:
    """A question about the squawk that was answered before a repair is not asked again after it."""
    ever = Situation(ever=frozenset({"motor-sound"}), acted=True)
    assert "motor-sound" not in [s.id for s in refined(book, ever).suggestions]


@pytest.mark.parametrize(
    ("aloft", "led_to"),
    [({}, True), ({"needs": ("flight",)}, False), ({"proposed": False}, False), ({"proof": True}, False)],
)
def test_a_check_whose_forerunner_can_never_be_done_is_not_led_to(
    book: Book, aloft: dict[str, Any], led_to: bool
) -> None:
    """Nothing is proposed in flight, nor a proof to find a cause by: what has to come after that is not worth it."""
    forerunner = check("aloft", seen="guard-switch.stuck", **aloft)
    after = replace(book.checks["motor-sound"], after=("aloft",))
    book = replace(book, checks={**book.checks, "aloft": forerunner, "motor-sound": after})
    able = Round(Advisor(book), believed(book), Situation()).job.checks
    assert ("motor-sound" in [c.id for c in able]) is led_to
    assert ("aloft" in [s.id for s in refined(book).suggestions]) is led_to


def test_a_check_that_tells_nothing_is_done_for_what_it_leads_to(book: Book) -> None:
    """Named with it, wherever the two stand in the book."""
    blind = check("blind", seen="guard-switch.stuck", detects=0.02)
    after = replace(book.checks["motor-sound"], after=("blind",))
    book = replace(book, checks={**book.checks, "blind": blind, "motor-sound": after})
    assert {s.id: s.leads_to for s in refined(book).suggestions}["blind"] == "motor-sound"


@pytest.mark.parametrize(
    ("done", "ever", "due"), [((), (), False), (("motor-sound",), ("motor-sound",), True), ((), ("motor-sound",), True)]
)
def test_what_is_due_waits_for_what_comes_before_it(
    book: Book, done: tuple[str, ...], ever: tuple[str, ...], due: bool
) -> None:
    """Done in this epoch or ever, or both."""
    after = replace(
        book, checks={**book.checks, "cycle-test": replace(book.checks["cycle-test"], after=("motor-sound",))}
    )
    situation = Situation(owed=("cycle-test",), acted=True, done=frozenset(done), ever=frozenset(ever))
    belief = Believer(after).believe(Evidence((Reported("stays-down"), Did("mend-lead"))))
    owed = [s.id for s in Advisor(after).advise(belief, situation).suggestions if s.owed]
    assert owed == (["cycle-test"] if due else [])


def test_nothing_that_is_due_behind_a_barred_follow_up_comes_before_it(book: Book) -> None:
    """First what can lift the finding; the rest in its turn."""
    owed = Situation(owed=("cycle-test", "switch-continuity"), acted=True, shown=SILENT)
    belief = Believer(book).believe(Evidence((Reported("stays-down"), Did("mend-lead"))))
    told = Advisor(barring(book)).advise(belief, owed).suggestions
    assert [s.id for s in told if s.owed] == ["motor-sound"]


def test_what_is_due_and_lifts_what_bars_the_next_is_due_once(book: Book) -> None:
    owed = Situation(owed=("motor-sound", "cycle-test"), acted=True, shown=SILENT)
    belief = Believer(book).believe(Evidence((Reported("stays-down"), Did("mend-lead"))))
    told = Advisor(barring(book)).advise(belief, owed).suggestions
    assert [s.id for s in told if s.owed] == ["motor-sound"]


def test_nothing_is_due_behind_what_waits_for_another(book: Book) -> None:
    """Follow-ups come in their order: while the first waits for a check, so does the one behind it."""
    waits = replace(book.checks["switch-continuity"], after=("motor-sound",))
    book = replace(book, checks={**book.checks, "switch-continuity": waits})
    owed = Situation(owed=("switch-continuity", "cycle-test"), acted=True)
    belief = Believer(book).believe(Evidence((Reported("stays-down"), Did("mend-lead"))))
    told = Advisor(book).advise(belief, owed).suggestions
    assert [s.id for s in told if s.owed] == []
