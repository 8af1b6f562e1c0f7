"""Overlays: what they may add, change and retire."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from faulttree.book import BookReading, read_texts, reader, yamltext
from faulttree.book.model import Book

Reader = Callable[..., BookReading]


def _book(reading: BookReading) -> Book:
    assert [str(p) for p in reading.problems] == []
    assert reading.book is not None
    return reading.book


def _over(read_with: Reader, text: str) -> Book:
    return _book(read_with(text, overlay=True))


def test_an_overlay_adds_entries(read_with: Reader) -> None:
    """An entry with an id of its own joins the book."""
    book = _over(read_with, "cautions:\n  own: {level: NOTE, text: Our own}\n")
    assert book.cautions["own"].text == "Our own"


def test_amending_replaces_the_named_fields_whole(read_with: Reader) -> None:
    """Fields that an amendment names are replaced, those it does not name stay."""
    book = _over(read_with, "faults:\n  bus.dead: {amends: true, rate: 5, promoted_by: [comes-and-goes]}\n")
    fault = book.faults["bus.dead"]
    assert (fault.rate, fault.promoted_by, fault.name) == (5.0, ("comes-and-goes",), "Bus: dead")


SIGNED = "reason: it does, by: the lead, date: 2026-03-14"


def test_why_by_whom_and_when_is_no_part_of_the_book(read_with: Reader) -> None:
    """Beside what is amended, words alone too, and what is retired: the same book, with the same digest."""
    texts = (
        "faults:\n  bus.dead: {amends: true, rate: 5%s}\n",
        "equipment:\n  meter: {amends: true, name: A meter%s}\n",
        "faults:\n  lamp.dark: {amends: true, corrected_by: [fix-bus]}\n"
        "actions:\n  new-lamp: {retires: true, reason: x%s}\n",
    )
    for text, signed in zip(texts, (SIGNED, SIGNED, SIGNED.partition(", ")[2]), strict=True):
        assert _over(read_with, text % f", {signed}").digest == _over(read_with, text % "").digest


@pytest.mark.parametrize(
    ("signed", "said"),
    [
        ("date: 14.3.2026", "`14.3.2026` is no day; write year-month-day: 2026-03-14"),
        ("date: 2026-02-30", "`2026-02-30` is no day"),
        ("by: 7", "`by` is not said in words"),
        ("reason: ' '", "`reason` is not said in words"),
    ],
)
def test_a_day_that_is_none_is_told(read_with: Reader, signed: str, said: str) -> None:
    """At its place, and so is a person or a reason without a word."""
    (problem,) = read_with(f"faults:\n  bus.dead: {{amends: true, rate: 5, {signed}}}\n", overlay=True).problems
    assert (problem.rule, problem.position.line, said in str(problem)) == ("overlay", 2, True), problem


def test_a_reason_alone_amends_nothing(read_with: Reader) -> None:
    """Something has to be changed by it."""
    (problem,) = read_with(f"faults:\n  bus.dead: {{amends: true, {SIGNED}}}\n", overlay=True).problems
    assert "it amends nothing" in problem.what


def test_an_emptied_field_is_as_if_never_stated(read_with: Reader) -> None:
    """Amending a field to nothing takes it away."""
    text = "symptoms:\n  no-light: {amends: true, unlisted: null, basis: null}\n"
    assert _over(read_with, text).symptoms["no-light"].unlisted == 0.03


@pytest.mark.parametrize("cautions", ["[]", "[hot-bus]", "[jacks-slip, hot-bus]", "null"])
def test_cautions_only_grow(read_with: Reader, cautions: str) -> None:
    """Whatever an overlay writes, the cautions that were there stay, in front."""
    book = _over(read_with, f"conditions:\n  on-jacks: {{amends: true, cautions: {cautions}}}\n")
    found = book.conditions["on-jacks"].cautions
    assert (found[0], set(found) - {"jacks-slip"}) == ("jacks-slip", {"hot-bus"} if "hot" in cautions else set())


LOSES = {
    "actions:\n  oil-lock: {amends: true, needs: []}\n": "no longer brings about what stood",
    "actions:\n  oil-lock: {amends: true, needs: [], cautions: [jacks-slip]}\n": "oil-lock` no longer brings about",
    "conditions:\n  panel-out: {amends: true, fitted: [lamps=two-lamps]}\n": "left out where it stood",
    "checks:\n  look-at-lock: {amends: true, outcomes: {dry: {label: Dry, when: lock.dry, bars: [master-on], "
    "until: [ask-light]}, good: {label: Good, otherwise: true}}}\n": "lifted sooner",
    "opening:\n  locked: {amends: true, answers: {locked: {label: Locked, says: Go on}, "
    "not-locked: {label: No}}}\n": "before anything is touched",
    "opening:\n  locked: {amends: true, answers: {locked: {label: Locked}, not-locked: {label: No, "
    "first: [on-jacks]}}}\n": "answer `locked` of",
    "checks:\n  look-at-lock: {amends: true, people: 1}\n": "fewer people",
    "conditions:\n  on-jacks: {amends: true, kept_to_last: false}\n": "come off sooner",
    "conditions:\n  panel-out: {amends: true, proposed: true}\n": "recorded only",
    "conditions:\n  panel-out: {amends: true, not_while: []}\n": "not set up or put back beside",
    "actions:\n  fix-bus: {amends: true, follow_up: []}\n": "wants looked at after it",
    "checks:\n  look-at-lock: {amends: true, outcomes: {dry: {label: Dry, when: lock.dry}, "
    "good: {label: Good, otherwise: true}}}\n": "no longer stops what it stopped",
    "checks:\n  look-at-lock: {amends: true, outcomes: {dull: {label: Dull, when: {any_of: [lock.dry]}}, "
    "dry: {label: Dry, when: lock.dry, bars: [master-on]}, good: {label: Good, otherwise: true}}}\n": "`dull` of check",
    "symptoms:\n  no-up: {amends: true, pilot_advice: [Cycle it]}\n": "tells the pilot",
    "checks:\n  look-at-bus: {amends: true, kind: ask, ask: Was it dead?}\n": "would become a question",
    "actions:\n  new-lamp: {amends: true, once: false}\n": "done once",
    "actions:\n  new-lamp: {amends: true, after_any: []}\n": "with less seen",
    "actions:\n  new-lamp: {amends: true, after_any: [look-at-bus, look-at-lock]}\n": "with less seen",
    "conditions:\n  on-jacks: {amends: true, equipment: []}\n": "wants at hand",
    "conditions:\n  on-jacks: {amends: true, waits: 1}\n": "waited for less",
    "checks:\n  swing: {amends: true, after: []}\n": "wants done before it",
    "opening:\n  locked: {amends: true, answers: {locked: {label: 'Yes', says: Go on}, not-locked: {label: 'No', "
    "first: [on-jacks]}, unknown: {label: Nobody knows, cautions: [jacks-slip]}}}\n": "asks for less care",
}
CAREFUL = """\
checks:
  look-at-lock:
    amends: true
    people: 2
    outcomes: {dry: {label: Dry, when: lock.dry, bars: [master-on]}, good: {label: Good, otherwise: true}}
  swing: {amends: true, after: [look-at-bus]}
conditions:
  on-jacks: {amends: true, kept_to_last: true, waits: 2}
  panel-out: {amends: true, proposed: false}
symptoms:
  no-up: {amends: true, pilot_advice: [Leave it down]}
actions:
  new-lamp: {amends: true, once: true, after_any: [look-at-bus], who: A mechanic}
"""


@pytest.mark.parametrize(("text", "what"), LOSES.items(), ids=LOSES.values())
def test_a_list_that_keeps_people_safe_is_not_cut_by_amending(
    text: str, what: str, sound: Mapping[str, str]
) -> None:  # fmt: skip
    """Lists are replaced; what was there before has to be in the new one, or the loss is an error at its place."""
    careful = {**sound, "careful/demo/a.yaml": CAREFUL}
    assert [str(p) for p in read_texts(careful, "demo").problems] == []
    told = [p for p in read_texts({**careful, "loose/demo/b.yaml": text}, "demo").problems if p.rule == "amends-keep"]
    assert len(told) == 1
    assert what in told[0].what
    assert str(told[0]).startswith("loose")


@pytest.mark.parametrize(
    "text",
    [
        "opening:\n  locked: {amends: true, ask: Is any leg not known to be locked down?}\n",
        "opening:\n  locked: {amends: true, answers: {locked: {label: 'No', says: Go on}, "
        "not-locked: {label: 'Yes', first: [on-jacks]}}}\n",
        "conditions:\n  on-jacks: {amends: true, set_up: {words: Lift it, minutes: 30}}\n",
        "conditions:\n  on-jacks: {amends: true, restore: {words: Drop it, minutes: 1}}\n",
        "actions:\n  new-lamp: {amends: true, who: Anybody about}\n",
    ],
)
def test_words_that_keep_people_safe_are_not_put_otherwise(text: str, sound: Mapping[str, str]) -> None:
    """Each is told by its rule, in the overlay that does it."""
    careful = {**sound, "careful/demo/a.yaml": CAREFUL}
    told = [p for p in read_texts({**careful, "loose/demo/b.yaml": text}, "demo").problems if p.rule == "words-kept"]
    assert told
    assert {p.position.file for p in told} == {"loose/demo/b.yaml"}


def test_a_condition_retired_and_left_out_takes_no_caution_with_it(sound: Mapping[str, str]) -> None:
    """Nor what it implied: the step that needed it has to show them itself."""
    implied = {**sound, "careful/demo/a.yaml": "conditions:\n  panel-out: {amends: true, cautions: [hot-bus]}\n"}
    gone = (
        "conditions:\n  panel-out: {retires: true, reason: riveted}\nactions:\n  fix-bus: {amends: true, needs: []%s}\n"
    )
    told = {}
    for cautions in ("", ", cautions: [hot-bus]"):
        problems = read_texts({**implied, "loose/demo/b.yaml": gone % cautions}, "demo").problems
        told[cautions] = [p for p in problems if p.rule == "amends-keep" and "hot-bus" in p.right]
    assert [len(found) for found in told.values()] == [1, 0]


@pytest.mark.parametrize("word", ["retire", "retired", "amend", "amended"])
def test_a_word_that_is_nearly_the_right_one_is_told_as_that(word: str, sound: Mapping[str, str]) -> None:
    """Whoever wrote `retire: true` is not told to amend."""
    text = f"checks:\n  look-at-bus: {{{word}: true, reason: x}}\n"
    (told,) = [p for p in read_texts({**sound, "shop/demo/b.yaml": text}, "demo").problems if p.rule == "duplicate-id"]
    assert told.right == f"write `{'retires' if word[0] == 'r' else 'amends'}`, not `{word}`"


def test_standing_cautions_only_grow(read_with: Reader) -> None:
    """The cautions of the first screen cannot be taken away."""
    book = _over(read_with, "book: {amends: true, standing_cautions: [hot-bus]}\n")
    assert book.standing_cautions == ("manual-governs", "hot-bus")


def test_cautions_of_opening_answers_only_grow(read_with: Reader) -> None:
    """An overlay that rewrites the answers of an opening question loses none of their cautions."""
    answers = "{locked: {label: 'Yes', says: Go on}, not-locked: {label: 'No', cautions: [hot-bus], first: [on-jacks]}}"
    book = _over(read_with, f"opening:\n  locked: {{amends: true, answers: {answers}}}\n")
    assert book.opening[0].answers[1].cautions == ("hot-bus", "jacks-slip")


def test_a_caution_keeps_or_raises_its_level(read_with: Reader) -> None:
    """A CAUTION may become a WARNING."""
    book = _over(read_with, "cautions:\n  hot-bus: {amends: true, level: WARNING}\n")
    assert book.cautions["hot-bus"].level == "WARNING"


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("cautions:\n  hot-bus: {amends: true, text: Mind the bus}\n", "2:33"),
        ("cautions:\n  hot-bus: {amends: true, text: 'Not so: a meter''s lead can short the bus'}\n", "2:33"),
        ("conditions:\n  on-jacks: {amends: true, hazard: false}\n", "2:36"),
        ("opening:\n  locked: {retires: true, reason: always locked}\n", "2:3"),
        ("checks:\n  look-at-bus: {amends: true, near: [bus]}\n", "2:31"),
    ],
)
def test_no_overlay_weakens_a_caution(read_with: Reader, text: str, place: str) -> None:
    """Not by other words, not by calling a hazard harmless, not by leaving out the question that shows it."""
    (problem,) = read_with(text, overlay=True).problems
    assert (str(problem.position), problem.rule) == (f"overlay/demo/more.yaml:{place}", "overlay")


def test_equipment_is_amended_by_its_name(read_with: Reader) -> None:
    """A piece of equipment, which is a mere name, can be renamed."""
    assert _over(read_with, "equipment:\n  meter: {amends: true, name: A meter}\n").equipment["meter"] == "A meter"


def test_a_flaw_in_a_name_amended_stands_in_the_overlay(read_with: Reader) -> None:
    """Not where the name stood before."""
    (found,) = read_with("equipment:\n  meter: {amends: true, name: ''}\n", overlay=True).problems
    assert found.position.file == "overlay/demo/more.yaml"


@pytest.mark.parametrize(
    ("word", "right"), [("amends: true", "change it"), ("retires: true, reason: x", "take it out")]
)
def test_what_an_overlay_has_itself_is_changed_there(sound: Mapping[str, str], word: str, right: str) -> None:
    """Told with where that is."""
    one = "cautions:\n  own: {level: NOTE, text: Our own}\n"
    two = f"cautions:\n  own: {{{word}}}\n"
    (found,) = read_texts({**sound, "shop/demo/a.yaml": one, "shop/demo/b.yaml": two}, "demo").problems
    assert str(found).startswith(
        f"shop/demo/b.yaml:2:3: caution `own` is written in this overlay itself, at shop/demo/a.yaml:2:3; {right} there"
    )


def test_what_is_retired_drops_out(read_with: Reader) -> None:
    """References to a retired entry drop out of lists, chains and any_of, as those to what is not fitted do."""
    text = "components:\n  door: {retires: true, reason: no doors}\n"
    text += "actions:\n  straighten-doors: {retires: true, reason: no doors}\n"
    reading = read_with(text, overlay=True)
    assert [p.rule for p in reading.problems] == ["not-fitted", "not-fitted"]  # the all_of of no-up needs both doors
    text += "symptoms:\n  no-up: {amends: true, when: {any_of: [feed, leg-held]}}\n"
    book = _book(read_with(text, overlay=True))
    assert book.events["leg-held-left"].of == ("lock-left.dry",)


def test_ids_are_never_used_again(sound: Mapping[str, str]) -> None:
    """A later layer cannot give a retired id to something else."""
    texts = {
        "shop/demo/a.yaml": "actions:\n  new-lamp: {retires: true, reason: x}\nfaults:\n"
        "  lamp.dark: {amends: true, corrected_by: [fix-bus]}\n  lamps.dark: {amends: true, corrected_by: [fix-bus]}\n",
        "club/demo/b.yaml": "actions:\n  new-lamp: {name: Lamp again, minutes: 1, basis: estimate}\n",
    }
    problems = read_texts({**sound, **texts}, "demo").problems
    assert [(p.position.file, p.rule) for p in problems] == [("club/demo/b.yaml", "duplicate-id")]


def test_overlays_apply_in_order(sound: Mapping[str, str]) -> None:
    """Of two amendments of one field the later overlay's holds."""
    texts = {
        "one/demo/a.yaml": "actions:\n  new-lamp: {amends: true, minutes: 7}\n",
        "two/demo/a.yaml": "actions:\n  new-lamp: {amends: true, minutes: 9}\n",
    }
    assert _book(read_texts({**sound, **texts}, "demo")).actions["new-lamp"].minutes == 9


def test_a_flaw_in_an_amended_field_stands_in_the_overlay(read_with: Reader) -> None:
    """What an overlay wrote is reported there, what it left as it was in the file that has it."""
    problems = read_with("checks:\n  swing:\n    amends: true\n    minutes: soon\n", overlay=True).problems
    assert [str(p.position) for p in problems] == ["overlay/demo/more.yaml:4:14"]


def test_a_duplicate_points_at_both_places(read_with: Reader) -> None:
    """An id that two files define is reported in the second, with the place of the first."""
    (problem,) = read_with("equipment: {meter: Another}\n").problems
    assert (str(problem.position), "shared/basics.yaml:" in problem.what) == ("demo/more.yaml:1:13", True)


TWIN = "    outcomes: {black: {label: Black, when: {any_of: [bus.dead]}}, good: {label: Good, otherwise: true}}\n"
NUMBERS = "    minutes: 3\n    detects: 0.9\n    false_alarm: 0.1\n    basis: estimate\n"
JACKS = """\
conditions:
  on-trestles:
    name: On trestles
    set_up: {words: Put it on trestles, minutes: 20}
    restore: {words: Let it down, minutes: 10}
    hazard: true
    cautions: [trestles-tip]
    basis: estimate
cautions:
  trestles-tip: {level: WARNING, text: Trestles tip}
"""

ESCAPES = {
    "a check under another name": "checks:\n  see:\n    name: See\n    kind: look\n    needs: [master-on]\n"
    + TWIN
    + NUMBERS,
    "a check in place of one taken from view": "checks:\n  look-at-bus: {amends: true, proposed: false}\n"
    + "  see:\n    name: See\n    kind: look\n"
    + TWIN
    + NUMBERS,
    "a check retired and written anew with a thing more to find": "checks:\n"
    "  look-at-bus: {retires: true, reason: riveted}\n  see:\n    name: See\n    kind: look\n    needs: [master-on]\n"
    "    outcomes: {black: {label: Black, when: bus.dead}, dark: {label: Dark, when: lamp.dark}, "
    "good: {label: Good, otherwise: true}}\n" + NUMBERS + "actions:\n  fix-bus: {amends: true, follow_up: [see]}\n",
    "a check retired and written anew behind an event": "checks:\n"
    "  look-at-bus: {retires: true, reason: riveted}\n  see:\n    name: See\n    kind: look\n    needs: [master-on]\n"
    "    outcomes: {black: {label: Black, when: bus-gone}, good: {label: Good, otherwise: true}}\n"
    + NUMBERS
    + "actions:\n  fix-bus: {amends: true, follow_up: [see]}\n",
    "a condition in place of another": JACKS + "actions:\n  oil-lock: {amends: true, needs: [on-trestles]}\n",
    "a symptom under another name": "symptoms:\n  dark:\n    name: Dark\n    says: [a, b, c, d, e]\n    when:\n"
    "      any_of: [feed, leg-held, {all_of: [door-left.bent, door-right.bent]}]\n",
}


@pytest.mark.parametrize("escape", ESCAPES)
def test_a_stand_in_shows_the_cautions_of_what_it_stands_in_for(read_with: Reader, escape: str) -> None:
    """It is refused at its own line, with the cautions that it has to name."""
    problems = read_with(ESCAPES[escape], overlay=True).problems
    (problem,) = [p for p in problems if p.rule == "cautions-kept"]
    assert any(name in problem.right for name in ("hot-bus", "jacks-slip", "manual-governs"))


def test_a_question_stands_in_for_no_check(read_with: Reader) -> None:
    """It touches nothing, so it need not show what a look shows."""
    text = "checks:\n  see:\n    name: Seen\n    kind: ask\n    ask: Was it seen?\n" + TWIN + NUMBERS
    assert [str(p) for p in read_with(text, overlay=True).problems] == []


LOOK = (
    "checks:\n  look-far:\n    name: Look from afar\n    kind: look\n    minutes: 1\n"
    "    needs: [{needs}]\n    near: [bus]\n"
    "    outcomes: {{dead: {{label: Dead, when: bus.dead}}, live: {{label: Live, otherwise: true}}}}\n"
    "    detects: 0.9\n    false_alarm: 0.1\n    basis: estimate\n"
)


@pytest.mark.parametrize(("needs", "rules"), [("master-on", []), ("on-jacks", ["near-is-look"])])
def test_a_look_that_needs_a_hazard_shows_the_cautions_of_all_parts(
    read_with: Reader, needs: str, rules: list[str]
) -> None:
    """It may not say that it comes near a few of them alone."""
    assert [problem.rule for problem in read_with(LOOK.format(needs=needs)).problems] == rules


@pytest.mark.parametrize(
    "change",
    [
        "conditions:\n  on-jacks: {amends: true, cautions: [hot-bus]}\n",
        "book: {amends: true, standing_cautions: [hot-bus]}\n",
        "opening:\n  locked: {amends: true, answers: {locked: {label: L}, not-locked: {label: N}}}\n",
        "faults:\n  bus.dead: {amends: true, rate: 5}\n",
        "checks:\n  look-at-bus: {retires: true, reason: none}\n",
        "equipment:\n  meter: {amends: true, name: another}\n",
    ],
)
def test_an_overlay_leaves_the_files_below_it_as_they_were_read(read_with: Reader, change: str) -> None:
    """They are kept as read for whoever reads them next."""
    yamltext.forget()
    first = _book(read_with())
    read_with(change, overlay=True)
    reader._load.cache_clear()
    again = _book(read_with())
    assert (again.digest, again) == (first.digest, first)
