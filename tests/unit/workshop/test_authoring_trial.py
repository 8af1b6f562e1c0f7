"""What a draft would do before it is written: the ranking by the believer itself, the checker's word, what is apart."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from faulttree.belief import Believer, Evidence, Reported
from faulttree.book import read_book
from faulttree.case import CaseEntry
from faulttree.errors import FaulttreeError
from faulttree.workshop.authoring.draft import Draft, files_of
from faulttree.workshop.authoring.regression import Beginning, begin_with
from faulttree.workshop.authoring.session import Session
from faulttree.workshop.authoring.trial import Trial, try_out
from faulttree.workshop.checking import check_families
from tests.support.authored import CAUSE, CHECK, MADE_UP, SYMPTOM, answered, folders, ground
from tests.support.closed_cases import closed, entries
from tests.support.small_family import small_book


def tried(at: Path, answers: Mapping[str, str]) -> tuple[Trial, dict[str, str], list[Path]]:
    """The trial with the texts, and the folders that it was over; nothing lies in the target afterwards."""
    found, target = folders(at), at / "shop"
    on = ground(found, target)
    draft = answered(Session(on, {}), answers)
    texts = files_of(draft, on)
    trial = try_out(draft, texts, on)
    assert not target.exists()
    return trial, texts, [*found, target]


@pytest.fixture(scope="module")
def cause(tmp_path_factory: pytest.TempPathFactory) -> tuple[Trial, dict[str, str], list[Path]]:
    return tried(tmp_path_factory.mktemp("cause"), CAUSE)


def test_the_ranking_told_is_that_of_the_book_with_it(cause: tuple[Trial, dict[str, str], list[Path]]) -> None:
    """Written by hand and believed by itself, the shares are the same; so are those before."""
    trial, texts, where = cause
    (touched,) = trial.touched
    assert touched.before == ranking(where[:1])[:3]
    for name, text in texts.items():
        (where[-1] / name).parent.mkdir(parents=True, exist_ok=True)
        (where[-1] / name).write_text(text, encoding="utf-8")
    after = ranking(where)
    assert touched.after == after[:3]
    assert dict(after)["Motor plug"] == touched.share
    assert after[touched.place - 1][0] == touched.component == "Motor plug"
    (checked,) = check_families(where, [MADE_UP])
    assert (trial.problems, trial.cases) == ((), checked.cases)
    assert (checked.problems, checked.misses) == ((), ())


def ranking(where: list[Path]) -> tuple[tuple[str, float], ...]:
    book = read_book(where, MADE_UP).book
    assert book is not None
    share = Believer(book, 2).believe(Evidence((Reported("stays-down"),))).components
    named = [(book.components[name].name, value) for name, value in share.items()]
    return tuple(sorted(named, key=lambda one: -one[1]))


def test_the_check_that_tells_it_apart_is_named(cause: tuple[Trial, dict[str, str], list[Path]]) -> None:
    """Its own check leaves all three others out; the motor is not heard with it."""
    apart = cause[0].touched[0].apart
    assert apart is not None
    assert (apart.check, apart.shown) == ("Look into the motor plug", "Pins green")
    assert (apart.leaves_out, apart.others, apart.alike) == (3, 3, ())
    assert ("Motor heard", "Silence") in cause[0].touched[0].shows


def test_no_result_of_a_sound_gear_is_praised(tmp_path: Path) -> None:
    """The one question in which the plug alone reads as a sound gear: nothing but silence is told of it."""
    trial, _, _ = tried(tmp_path, {**CAUSE, **WITHOUT_OWN})
    touched = trial.touched[0]
    assert touched.apart is not None
    assert touched.apart.shown == "Jumps when the lead is moved"
    assert ("Motor heard", "Silence") in touched.shows


WITHOUT_OWN = {"seen.1": "switch-continuity=jumps", "seen.2": "", "new-check": "", "case.step.1": "none"}


def test_an_answer_that_takes_it_off_the_list_is_named(tmp_path: Path) -> None:
    """The lead that was seen open is told with what is left of the plug, as the believer has it; tied to it no more."""
    (touched,) = tried(tmp_path / "untied", CAUSE)[0].touched
    (off,) = touched.off
    assert (off.check, off.shown) == ("Continuity of the guard switch", "Open")
    assert off.before == pytest.approx(touched.share)
    assert off.after < off.before / 4
    tied = {**CAUSE, "reads.switch-continuity": "open"}
    assert tried(tmp_path / "tied", tied)[0].touched[0].off == ()


def test_what_no_check_tells_from_it_is_named(tmp_path: Path) -> None:
    """A cause tied to the same result as another one."""
    answers = {**CAUSE, "seen.1": "switch-continuity=open", "seen.2": "", "new-check": "", "case.step.1": "none"}
    trial, _, _ = tried(tmp_path, answers)
    apart = trial.touched[0].apart
    assert apart is not None
    assert apart.alike == ("Guard switch: stuck open",)


def test_a_case_that_does_not_come_out_is_told_where_it_would_lie(tmp_path: Path) -> None:
    """Seen stuck, the switch leads and not the plug."""
    trial, _, where = tried(tmp_path, {**CAUSE, "case.step.1": "guard-switch.stuck", "case.step.2": "none"})
    (problem,) = trial.problems
    assert problem.position.file == str(where[-1] / MADE_UP / "motor-plug-pins-corroded.cases.yaml")
    assert (problem.rule, problem.position.line) == ("case-moved", 2)


def test_a_part_that_stores_energy_wants_its_caution(tmp_path: Path) -> None:
    """What the checker demands is told before anything is written, with the line of the draft."""
    trial, texts, _ = tried(tmp_path, {**CAUSE, "component.name": "Plug spring", "check.id": "plug-spring"})
    (problem,) = trial.problems
    assert problem.rule == "caution-demanded"
    (knowledge, _) = texts.values()
    assert knowledge.splitlines()[problem.position.line - 1].strip().startswith("plug-spring:")


def test_a_new_check_is_told_by_what_each_result_would_say(tmp_path: Path) -> None:
    """The ranking with nothing known stays; the motor leads once the ammeter has moved."""
    (touched,) = tried(tmp_path, CHECK)[0].touched
    assert touched.before == touched.after
    assert [label for label, _ in touched.results] == ["It moved", "It did not"]
    assert touched.results[0][1][0][0] == "Motor"
    assert touched.results[1][1][0][0] == "Guard switch"


def test_a_new_symptom_has_a_ranking_and_none_before(tmp_path: Path) -> None:
    """Its one cause."""
    (touched,) = tried(tmp_path, SYMPTOM)[0].touched
    assert (touched.symptom, touched.before, touched.after[0][0]) == ("motor-clicks", (), "Motor")


# -- from a closed case ------------------------------------------------------------------------------------


def log(*ends: tuple[str, dict[str, object]]) -> list[CaseEntry]:
    """A case in which the motor was not heard, a plug was found green and cleaned."""
    answers = {"check": "motor-sound", "outcome": "silent", "sure": False}
    _, *whole = entries(None, ("circumstance", {"circumstances": ["wet"]}), ("answer", answers))
    opened = ("opened", {"family": MADE_UP, "fitted": []})
    squawk = ("squawk", {"text": "wheels  wont come up"})
    return list(closed(small_book(), opened, squawk, *whole[:-1], *ends, *whole[-1:]).entries)


WORDS = ("cause-in-words", {"text": "motor plug green inside"})


def begun(*ends: tuple[str, dict[str, object]]) -> Beginning:
    return begin_with("2031-3", log(*ends), small_book(), small_book())


def test_a_closed_case_proposes_cause_squawk_and_steps(tmp_path: Path) -> None:
    """Each is shown as what Enter takes, and taken by it; the answers before the repair become the steps."""
    beginning = begun(WORDS)
    session, proposed = Session(ground(folders(tmp_path), tmp_path / "shop"), beginning.seed), set()
    while not isinstance(session.now, Draft):
        key = session.now.key
        if key in beginning.seed:
            proposed.add(key)
            assert session.now.default == (beginning.seed[key] or session.now.default)
        session.answer("" if key in beginning.seed else {**CAUSE, "case.step.3": ""}[key])
    data = session.now.case_data
    assert (beginning.cause, beginning.squawk) == ("motor plug green inside", "wheels  wont come up")
    assert {"kind", "mode", "brings.1", "brings.2", "case.step.1", "case.description"} <= proposed
    assert (data["circumstances"], data["symptoms"]) == (["wet"], ["stays-down"])
    assert data["steps"][0] == {"unsure": "motor-sound=silent"}
    assert (data["description"], data["from_case"]) == ("Case 2031-3: wheels wont come up", "2031-3")
    assert session.now.entries["faults"][session.now.fault]["name"] == "motor plug green inside"


@pytest.mark.parametrize(
    ("ends", "right"),
    [
        ([("cause", {"fault": "motor.brushes-worn"})], "is in the book: motor.brushes-worn"),
        ([], "names no cause in words"),
    ],
)
def test_a_case_without_a_cause_in_words_is_refused(ends: list[tuple[str, dict[str, object]]], right: str) -> None:
    """With what it has instead."""
    with pytest.raises(FaulttreeError, match=right):
        begun(*ends)


def test_a_case_that_is_not_closed_is_refused() -> None:
    """It may still be found to be something else."""
    with pytest.raises(FaulttreeError, match="is not closed"):
        begin_with("2031-3", log(WORDS)[:-1], small_book(), small_book())
