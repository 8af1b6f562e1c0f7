"""Any check by its name, any answer taken back, what cannot be done here."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.book.model import Book
from faulttree.case import keeps_open
from faulttree.dialogue import Dialogue, NewEntry, Prompt, work
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import state, view

SILENT = (
    NewEntry("started", {"kind": "ask", "id": "motor-sound"}),
    NewEntry("answer", {"check": "motor-sound", "outcome": "silent", "sure": True}),
)


CYCLE = (
    NewEntry("set-up", {"condition": "secured"}),
    NewEntry("started", {"kind": "check", "id": "cycle-test"}),
)


@pytest.fixture(scope="module")
def book() -> Book:
    return small_book()


def test_part_of_a_name_finds_a_check_and_its_number_begins_it(book: Book) -> None:
    """The entry begins it like one that was proposed."""
    dialogue, now = Dialogue(book), state(book)
    found = dialogue.accept(now, view(dialogue, now, "jump"), "guard")
    asked = view(dialogue, now, found.view)
    assert [choice.value for choice in asked.choices] == ["switch-continuity"]
    assert dialogue.accept(now, asked, "1").entries[0].data == {"kind": "check", "id": "switch-continuity"}


def test_what_cannot_be_done_here_is_not_found_by_name(book: Book) -> None:
    """Without a meter no continuity."""
    dialogue = Dialogue(book)
    now = state(book, NewEntry("at-hand", {"lacking": ["multimeter"]}))
    assert view(dialogue, now, "jump guard").choices == ()


def test_what_waits_for_another_check_names_it(book: Book) -> None:
    """Until that was done; then it can be begun by its name."""
    late = replace(book.checks["switch-continuity"], after=("motor-sound",))
    waiting = replace(book, checks={**book.checks, "switch-continuity": late})
    asked = view(Dialogue(waiting), state(waiting), "jump guard")
    assert asked.choices == ()
    assert asked.lines[1:] == (f"{late.name}: first {book.checks['motor-sound'].name}.",)
    found = view(Dialogue(waiting), state(waiting, *SILENT), "jump guard")
    assert [choice.value for choice in found.choices] == ["switch-continuity"]


def test_a_doubtful_leg_is_held_until_the_gear_is_made_ready_to_run(book: Book) -> None:
    """Its support has to go before that, but not before the aircraft is lifted."""
    held = [NewEntry("set-up", {"condition": "legs-supported"}), *CYCLE]
    for name in ("on-jacks", "external-power"):
        assert _after_cautions(book, *held) == ("set-up", name)
        held.append(NewEntry("set-up", {"condition": name}))
    assert _after_cautions(book, *held) == ("restore", "legs-supported")


def test_the_breaker_tag_stays_until_jacks_and_supply_stand(book: Book) -> None:
    """Whoever jacks and plugs in works under the lock-out; it comes off right before the gear is made ready to run."""
    entries, order = [NewEntry("set-up", {"condition": "motor-breaker-pulled"})], []
    for _ in range(4):
        kind, name = _after_cautions(book, *CYCLE, *entries)
        order.append((kind, name))
        entries.append(NewEntry("restored" if kind == "restore" else kind, {"condition": name}))
    assert order == [
        ("set-up", "on-jacks"), ("set-up", "external-power"), ("restore", "motor-breaker-pulled"),
        ("set-up", "gear-powered"),
    ]  # fmt: skip


def _after_cautions(book: Book, *entries: NewEntry) -> tuple[str, str]:
    """What is asked once every caution on the way to it was read."""
    dialogue, told = Dialogue(book), list(entries)
    for _ in range(20):
        now = state(book, *told)
        asked = view(dialogue, now, "")
        if asked.topic != "cautions":
            return asked.topic, asked.about
        told += dialogue.accept(now, asked, asked.choices[0].value).entries
    raise AssertionError("cautions without end")


def test_an_earlier_answer_is_taken_back(book: Book) -> None:
    """By its number in a list, the latest first; what came after it stands."""
    dialogue = Dialogue(book)
    now = state(book, NewEntry("note", {"text": "first"}), *SILENT)
    asked = view(dialogue, now, "take-back")
    number = next(choice.value for choice in asked.choices if "first" in choice.label)
    sure = view(dialogue, now, dialogue.accept(now, asked, number).view)
    reply = dialogue.accept(now, sure, number)
    assert [entry.data for entry in reply.entries] == [{"entry": int(number)}]


def test_older_answers_are_a_key_away(book: Book) -> None:
    """Nine at a time; the last page says that there is no more, and each is there once."""
    dialogue = Dialogue(book)
    now = state(book, *(NewEntry("note", {"text": f"note {n}"}) for n in range(12)))
    first = view(dialogue, now, "take-back")
    (more,) = [command for command in first.commands if command.key == "m"]
    second = view(dialogue, now, dialogue.accept(now, first, more.value).view)
    assert "m" not in [command.key for command in second.commands]
    assert "These are the first of them." in second.lines
    listed = [choice.label for page in (first, second) for choice in page.choices]
    assert len(first.choices) == 9
    assert all(sum(f"note {n}" in f"{label} ".replace('"', " ") for label in listed) >= 1 for n in range(12))
    assert len(set(listed)) == len(listed)
    oldest = second.choices[-1].value
    assert dialogue.accept(now, second, oldest).view == f"take-back-sure {oldest}"


def test_a_question_taken_back_is_asked_again_on_the_main_screen(book: Book) -> None:
    """It is not left in hand by itself, without the state of the job around it."""
    dialogue, now = Dialogue(book), state(book, *SILENT)
    reply = dialogue.accept(now, view(dialogue, now, ""), "undo")
    after = view(dialogue, state(book, *SILENT, *reply.entries), "")
    assert (after.topic, after.about) == ("question", "motor-sound")
    assert after.board is not None


def test_what_is_not_at_hand_bars_all_that_wants_it(book: Book) -> None:
    """Said of one step, it holds for every other until it is said to be here."""
    dialogue, now = Dialogue(book), state(book, *SILENT)
    asked = view(dialogue, now, "cannot-here")
    meter = next(choice.value for choice in asked.choices if choice.value == "equipment multimeter")
    reply = dialogue.accept(now, asked, meter)
    assert state(book, *SILENT, *reply.entries).lacking == {"multimeter"}


def test_a_fault_that_was_seen_is_repaired_next(book: Book) -> None:
    """Before any other step, whatever else is likely."""
    now = state(book, *SILENT, NewEntry("found", {"fault": "motor.brushes-worn"}))
    assert Dialogue(book).advise(now).suggestions[0].id == "replace-brushes"


def test_a_case_does_not_close_over_a_fault_that_was_seen(book: Book) -> None:
    """Another repair and its proof do not do for it."""
    repaired = [NewEntry("did", {"action": "replace-guard-switch"})]
    repaired += [NewEntry("answer", {"check": c, "outcome": book.checks[c].outcomes[-1].id, "sure": True})
                 for c in ("switch-continuity", "cycle-test")]  # fmt: skip
    seen = NewEntry("found", {"fault": "motor.brushes-worn"})
    named = NewEntry("cause", {"fault": "guard-switch.stuck"})
    assert keeps_open(book, state(book, *repaired, named)) == []
    assert keeps_open(book, state(book, *repaired, seen, named)) == ["found, and no repair of it: Motor: brushes worn"]


def test_what_was_found_in_words_can_be_repaired_in_words_at_once(book: Book) -> None:
    """The answer says what comes next, and its key is on the main screen as long as nothing was repaired so."""
    dialogue, now = Dialogue(book), state(book)
    kept = dialogue.accept(now, view(dialogue, now, "found a mouse nest"), "words a mouse nest")
    assert "r takes down its repair in your own words" in kept.say
    found = state(book, *kept.entries)
    assert "r" in [command.key for command in view(dialogue, found, "").commands]
    asked = view(dialogue, found, dialogue.accept(found, view(dialogue, found, ""), "did-other").view)
    repaired = dialogue.accept(found, asked, "took it out")
    after = state(book, *kept.entries, *repaired.entries)
    assert [after.other_repairs, after.found_in_words] == [["took it out"], False]


def test_no_page_of_other_steps_is_empty(book: Book) -> None:
    """Behind the last there is none; it says that it is the last and offers no more."""
    advice = Dialogue(book).advise(state(book))
    many = replace(advice, suggestions=advice.suggestions[:1] * 12)
    first, last, beyond = (work.others(book, many, place) for place in (0, 9, 18))
    assert [len(page.choices) for page in (first, last, beyond)] == [9, 3, 3]
    assert ["m" in [c.key for c in page.commands] for page in (first, last, beyond)] == [True, False, False]
    assert last.lines[-1] == "These are the last of them."


def test_taking_back_has_one_name(book: Book) -> None:
    """The same words for the key u on the main screen and at the end of the work."""
    dialogue = Dialogue(book)
    done = state(book, NewEntry("did", {"action": "mend-lead"}),
                 NewEntry("answer", {"check": "cycle-test", "outcome": "gone", "sure": True}))  # fmt: skip
    names = {c.label for now in (state(book), done) for c in view(dialogue, now, "").commands if c.key == "u"}
    assert names == {"take an answer back"}


def test_a_hand_that_takes_no_time_is_under_a_minute(book: Book) -> None:
    """No quarters of a minute on what is set up and put back."""
    quick = {name: replace(c, set_up_minutes=0.25) for name, c in book.conditions.items()}
    dialogue = Dialogue(replace(book, conditions=quick))
    taken = NewEntry("started", {"kind": "check", "id": "switch-continuity"})
    read = NewEntry("cautions", {"step": "switch-continuity", "cautions": list(book.cautions)})
    asked = view(dialogue, state(book, taken, read), "")
    assert asked.lines[-1] == "Under a minute. For: Continuity of the guard switch."


def test_what_was_seen_comes_first_among_the_causes_to_name(book: Book) -> None:
    """Also where the repair was told in the mechanic's own words, which correct nothing that the book knows."""
    proofs = [NewEntry("answer", {"check": "cycle-test", "outcome": "gone", "sure": True})]
    seen, other = NewEntry("found", {"fault": "motor.brushes-worn"}), NewEntry("did-other", {"text": "new brushes"})
    asked = view(Dialogue(book), state(book, seen, other, *proofs), "")
    assert (asked.topic, asked.choices[0].value) == ("cause", "motor.brushes-worn")


def test_too_few_people_bar_all_that_wants_as_many(book: Book) -> None:
    """One fewer than the step wants are here."""
    dialogue, now = Dialogue(book), state(book, *SILENT)
    people = dialogue.advise(now).suggestions[0].people
    reply = dialogue.accept(now, view(dialogue, now, "cannot-here"), "people")
    assert state(book, *SILENT, *reply.entries).people == people - 1
    assert reply.say == f"Steps that need {people} people are left out now."


def test_any_other_reason_skips_the_check(book: Book) -> None:
    """With the reason in the log."""
    dialogue, now = Dialogue(book), state(book, *SILENT)
    reply = dialogue.accept(now, view(dialogue, now, "cannot-here"), "no access")
    assert reply.entries[0].kind == "skipped"
    assert reply.entries[0].data["why"] == "no access"


def test_what_turns_out_to_be_lacking_in_the_middle_of_a_step_drops_it(book: Book) -> None:
    """Found missing while it is set up: the step is given up, and nothing that wants the same is proposed."""
    dialogue = Dialogue(book)
    begun = (*SILENT, NewEntry("started", {"kind": "check", "id": "switch-continuity"}))
    now = state(book, *begun)
    reply = dialogue.accept(now, view(dialogue, now, "cannot-here"), "equipment multimeter")
    then = state(book, *begun, *reply.entries)
    assert (then.step, then.lacking) == (None, frozenset({"multimeter"}))
    assert "switch-continuity" not in [step.id for step in dialogue.advise(then).suggestions]


@pytest.mark.parametrize("key", ["c", "a"])
def test_a_step_that_is_set_up_offers_what_the_main_screen_does(book: Book, key: str) -> None:
    begun = (*SILENT, NewEntry("started", {"kind": "check", "id": "switch-continuity"}))
    read = NewEntry("cautions", {"step": "switch-continuity", "cautions": list(book.cautions)})
    asked = view(Dialogue(book), state(book, *begun, read), "")
    assert asked.topic == "set-up"
    assert key in [command.key for command in asked.commands]


def test_a_repair_in_own_words_before_a_doubtful_leg_was_supported_does_not_bar_the_case(book: Book) -> None:
    """Its proof wants power into the gear, which the support bars: something that supports the leg comes first."""
    unknown = [NewEntry("opening", {"question": "legs-known-locked", "answer": "not-known"})]
    now = state(book, *unknown, NewEntry("did-other", {"text": "wedged the brace"}))
    advice = Dialogue(book).advise(now)
    assert [step.id for step in advice.suggestions if step.owed] == []
    supported = state(book, *unknown, NewEntry("did-other", {"text": "wedged the brace"}),
                      NewEntry("set-up", {"condition": "legs-supported"}))  # fmt: skip
    assert [step.id for step in Dialogue(book).advise(supported).suggestions if step.owed] == ["cycle-test"]


def test_what_a_finding_speaks_against_is_put_back_before_anything_else(book: Book) -> None:
    """The gear stands ready to run, and the finding says that it must not be run: no other step is shown before.

    A look that lifts it counts if it comes after it.
    """
    sound = book.checks["motor-sound"]
    silent = replace(sound.outcomes[1], bars=("gear-powered",))
    wary = replace(book, checks={**book.checks, "motor-sound": replace(sound, outcomes=(sound.outcomes[0], silent))})
    ready = [
        NewEntry("set-up", {"condition": name}) for name in ("secured", "on-jacks", "external-power", "gear-powered")
    ]
    dialogue = Dialogue(wary)
    now = state(wary, *ready, *SILENT)
    asked = view(dialogue, now, "")
    assert (asked.topic, asked.about) == ("restore", "gear-powered")
    assert set(asked.cautions) == set(wary.conditions["gear-powered"].cautions)
    done = dialogue.accept(now, asked, "done").entries
    assert ("restored", {"condition": "gear-powered"}) in [(entry.kind, entry.data) for entry in done]
    after = view(dialogue, state(wary, *ready, *SILENT, *done), "")
    assert after.board is not None
    assert view(Dialogue(book), state(book, *ready, *SILENT), "").board is not None
    lifted = replace(sound.outcomes[1], bars=("gear-powered",), until=("switch-continuity",))
    calm = replace(book, checks={**book.checks, "motor-sound": replace(sound, outcomes=(sound.outcomes[0], lifted))})
    steady = NewEntry("answer", {"check": "switch-continuity", "outcome": "steady", "sure": True})
    assert view(Dialogue(calm), state(calm, *ready, steady, *SILENT), "").topic == "restore"
    assert view(Dialogue(calm), state(calm, *ready, *SILENT, steady), "").board is not None


def test_what_was_found_is_taken_down_once(book: Book) -> None:
    """Said again it says so; once it was repaired it may be found anew."""
    dialogue, seen = Dialogue(book), NewEntry("found", {"fault": "guard-switch.lead-chafed"})
    asked = Prompt("found-which", "Is it one of these?")
    for entries, taken in (((), True), ((seen,), False), ((seen, NewEntry("did", {"action": "mend-lead"})), True)):
        reply = dialogue.accept(state(book, *entries), asked, "guard-switch.lead-chafed")
        assert bool(reply.entries) is taken
        assert ("already" in reply.say) is not taken
