"""A pilot's words to symptoms: on the shipped book, and on a made-up one that has nothing to do with a gear."""

from __future__ import annotations

import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from faulttree.book import read_book
from faulttree.book.model import Book
from faulttree.squawk import ASKED, match
from faulttree.squawk.phrases import Phrases
from faulttree.squawk.ranking import STIFFNESS, nearest
from faulttree.squawk.words import Vocabulary, stems
from tests.support.belief_cases import law
from tests.support.books import fault, make_book, symptom
from tests.support.share import share

KNOWLEDGE = Path(__file__).parents[2] / "knowledge"


@cache
def shipped() -> Book:
    book = read_book([KNOWLEDGE], "electromechanical").book
    assert book is not None
    return book


KITCHEN = make_book(
    [fault("f")],
    symptoms=[
        symptom("kettle-cold", "f", "kettle won't boil", "no hot water from the kettle", "kettle inop",
                "kettle does not get hot", "water stays cold", name="Kettle stays cold"),
        symptom("lid-loose", "f", "lid rattles", "lid buzzes when it boils", "lid is loose", "lid wobbles on top",
                "rattle from the lid", name="Lid loose or rattles"),
        symptom("whistle-silent", "f", "no whistle", "whistle's dead", "whistle didn't sound at the boil",
                "never heard the whistle", "whistle quit", name="Whistle silent at the boil"),
        symptom("tap-will-not-open", "f", "tap won't open", "cannot open the tap", "tap stuck shut",
                "tap refuses to turn open", "no way to open it", name="Tap will not open"),
        symptom("tap-will-not-close", "f", "tap won't close", "cannot close the tap", "tap stuck open",
                "tap keeps dripping", "tap refuses to turn shut", name="Tap will not close"),
    ],
)  # fmt: skip


def recognised(book: Book, text: str) -> set[str]:
    return {found.id for found in match(book, text).symptoms}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("kettle wont boil", {"kettle-cold"}),
        ("The kettle didn’t boil this morning.", {"kettle-cold"}),
        ("ketle dosnt get hot", {"kettle-cold"}),
        ("lid rattled all the time", {"lid-loose"}),
        ("whistle inop", {"whistle-silent"}),
        ("whisle never sounded", {"whistle-silent"}),
        ("tap wouldn't open", {"tap-will-not-open"}),
        ("tap wouldn't close", {"tap-will-not-close"}),
        ("lid loose and no whistle", {"lid-loose", "whistle-silent"}),
        ("lid is loose; tap keeps dripping", {"lid-loose", "tap-will-not-close"}),
        ("kettle would not boil, whistle worked fine", {"kettle-cold"}),
        ("no problem with the whistle, but the lid rattles", {"lid-loose"}),
        ("the plaster is cracked over the window", set()),
        ("kettle", set()),
        ("all normal", set()),
        ("", set()),
        (" ,;!? ", set()),
    ],
)
def test_what_is_said_is_recognised_and_nothing_else(text: str, expected: set[str]) -> None:
    """Misspelt, in other forms of the verb, several at once; a word by the way is no symptom."""
    assert recognised(KITCHEN, text) == expected


@pytest.mark.parametrize(
    ("text", "denied"),
    [
        ("whistle worked", "whistle-silent"),
        ("whistle was fine", "whistle-silent"),
        ("lid ok", "lid-loose"),
        ("no trouble with the lid", "lid-loose"),
        ("heard the whistle", "whistle-silent"),
        ("the whistle sounded", "whistle-silent"),
    ],
)
def test_a_good_finding_denies_the_symptom_it_speaks_of(text: str, denied: str) -> None:
    """All well with a thing, or the opposite of a complaint, makes the symptom absent and not recognised."""
    found = match(KITCHEN, text)
    assert denied in found.absent
    assert denied not in recognised(KITCHEN, text)


@pytest.mark.parametrize("text", ["whistle not fine", "whistle is not working", "whistle did not work"])
def test_a_good_word_under_a_no_denies_nothing(text: str) -> None:
    """ "Not working" is a complaint."""
    assert recognised(KITCHEN, text) == {"whistle-silent"}
    assert "whistle-silent" not in match(KITCHEN, text).absent


def test_the_words_that_were_heard_come_with_the_match() -> None:
    """A match names the clause, or the run of clauses, that it was heard in."""
    found = match(KITCHEN, "Made tea at noon, the lid rattles, milk was sour")
    assert [m.heard for m in found.symptoms] == ["the lid rattles"]


@pytest.mark.parametrize("book", [KITCHEN, shipped()], ids=["kitchen", "shipped"])
def test_every_phrase_of_the_book_leads_to_its_own_symptom_first(book: Book) -> None:
    """A name, or a paraphrase word for word, is recognised, and nothing scores higher.

    Of many phrases one in eight, all of them with ``FAULTTREE_SHARE=all``.
    """
    for each in book.symptoms.values():
        phrases = (each.name, *each.says)
        for said in share(phrases, 8, each.id) if len(phrases) > 25 else phrases:
            found = match(book, said)
            assert found.symptoms, said
            best = max(m.score for m in found.symptoms)
            assert each.id in {m.id for m in found.symptoms if m.score == best}, said


@cache
def left_out() -> list[tuple[str, set[str]]]:
    """Phrases of two fortieths of the book, with their symptom and what is heard where a fortieth is left out.

    All forty with ``FAULTTREE_SHARE=all``.
    """
    book, heard = shipped(), []
    every = [(each.id, said) for each in book.symptoms.values() for said in each.says]
    for fold in share(range(40), 20, "folds"):
        gone = every[fold::40]
        unsaid = {said for _, said in gone}
        others = {
            each.id: replace(each, says=tuple(said for said in each.says if said not in unsaid))
            for each in book.symptoms.values()
        }
        thin = replace(book, symptoms=others)
        heard += [(symptom, recognised(thin, said)) for symptom, said in gone]
    return heard


def test_half_of_the_phrases_are_recognised_without_being_in_the_book() -> None:
    """Cross-validation (Stone 1974): what is left out of the learning is still recognised."""
    assert len(left_out()) > 75
    assert sum(symptom in heard for symptom, heard in left_out()) >= 0.5 * len(left_out())


@pytest.mark.xfail(reason="about 22 in a hundred, most of them beside the right one", strict=True)
def test_few_phrases_are_recognised_as_another_without_being_in_the_book() -> None:
    """What is left out of the learning is heard as something else, alone or too, in one of ten."""
    assert sum(bool(heard - {symptom}) for symptom, heard in left_out()) <= 0.1 * len(left_out())


def test_a_gear_that_stays_down_with_a_dead_motor_and_its_lamps_lit() -> None:
    """The squawk is about retraction alone: lamps that stay lit with a gear that stays down are no lamp fault."""
    found = match(shipped(), "wouldnt come up after takeoff, motor dead, three greens stayed on")
    assert [m.id for m in found.symptoms] == ["will-not-retract"]


@pytest.mark.parametrize(
    ("text", "expected", "denied"),
    [
        ("gear would not retract, horn worked fine", {"will-not-retract"}, {"horn-silent"}),
        ("no up light but greens were fine", {"no-up-indication"}, set()),
        ("horn's dead", {"horn-silent"}, set()),
        ("doors buzz", {"doors-loose"}, set()),
        ("crank is stiff", {"emergency-extension-stiff"}, set()),
        ("emergancy extention stiff, doors ok", {"emergency-extension-stiff"}, {"doors-loose"}),
        pytest.param(
            "three greens stayed on",
            {"will-not-retract"},
            set(),
            marks=pytest.mark.xfail(reason="asked about, beside lights that disagree, and not recognised", strict=True),
        ),
        ("oil on the windscreen", set(), set()),
        ("radio dead on com two", set(), set()),
    ],
)
def test_squawks_on_the_shipped_book(text: str, expected: set[str], denied: set[str]) -> None:
    """Short squawks in a mechanic's or pilot's words lead to their symptom and deny what they call good."""
    assert recognised(shipped(), text) == expected
    assert denied <= set(match(shipped(), text).absent)


@law
@given(st.text(max_size=200))
def test_any_text_at_all_gives_scores_in_range_and_no_symptom_twice(text: str) -> None:
    """Whatever is typed: recognised from 0.5 to 1, unsure below that, best first, each symptom in one place."""
    found = match(KITCHEN, text)
    scores = [m.score for m in found.symptoms]
    assert scores == sorted(scores, reverse=True)
    assert all(0.0 < score <= 1.0 for score in scores)
    assert all(ASKED <= m.score <= 1.0 for m in found.unsure)
    places = [*(m.id for m in found.symptoms), *(m.id for m in found.unsure), *found.absent]
    assert len(places) == len(set(places))


def test_no_phrase_that_may_be_heard_is_passed_over() -> None:
    """Clauses of the book's own words, some misspelt: a symptom's score is the best over all its phrases."""
    random = Random(3)
    said = {s.id: list(s.says) for s in shipped().symptoms.values()}
    phrases = Phrases(said, Vocabulary(dict(shipped().words)))
    words = sorted({word for lines in said.values() for line in lines for word in line.split()})
    heard, missed = 0, []
    for _ in range(40):
        own = random.choice(sorted(said))
        line = random.choice(said[own]).split()
        drawn = [*random.sample(line, min(len(line), 8)), *random.sample(words, 2)]
        misspelt = [word[:-2] + word[-1] if random.random() < 0.2 and len(word) > 5 else word for word in drawn]
        clause = stems(" ".join(misspelt))
        for name in (own, *random.sample(sorted(said), 5)):
            best = max(phrases.likeness(phrase, clause) for phrase in phrases.of(name))
            heard += best > 0
            missed += [(clause, name)] if phrases.score(name, clause) != best else []
    assert heard > 40
    assert missed == []


def test_a_book_without_symptoms_hears_nothing() -> None:
    """No symptoms, no matches."""
    found = match(make_book(), "kettle wont boil")
    assert (found.symptoms, found.absent, found.unsure) == ((), (), ())


def test_one_symptom_alone_can_be_recognised() -> None:
    """In a book of one symptom every word is its own."""
    book = make_book([fault("f")], symptoms=[symptom("stays-down", "f", "wheels wont come up", name="Stays down")])
    assert recognised(book, "wheels would not come up") == {"stays-down"}


def test_words_are_compared_by_a_library_loaded_only_then() -> None:
    """Importing the matcher does not load rapidfuzz."""
    import subprocess

    code = "import sys, faulttree.squawk\nprint('rapidfuzz' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"


def test_words_that_mean_the_same_are_heard_as_one() -> None:
    """A phrase with one of them is found in words with another, said in two words or with a hyphen in its id."""
    book = make_book(
        faults=[fault("door.loose")],
        symptoms=[symptom("doors-loose", "door.loose", "door not close tight")],
        words={"door": "gear door, wheel door", "not-close": "ajar, partly open"},
    )
    for said in ("gear door ajar tight", "wheel door partly open, tight"):
        assert [found.id for found in match(book, said).symptoms] == ["doors-loose"]


def test_where_nothing_is_recognised_the_likeliest_are_asked_about() -> None:
    """Faintly heard is asked about, three at most; what is about something else is not."""
    book = make_book(
        faults=[fault("a.x")],
        symptoms=[symptom(f"s{i}", "a.x", "grinds loudly cold weather after landing") for i in range(5)],
    )
    assert 0 < len(match(book, "grinds loudly cold weather whatever happened yesterday evening").unsure) <= 3
    assert match(book, "the coffee was cold").unsure == ()


TOWER = make_book(
    [fault("f")],
    symptoms=[
        symptom("lift-stays", "f", "lift stops on the way up", "lift slow going up", "lift never reached the top",
                denied_by=("bell rang",), speaks_of=("up",), not_of=("down",), name="Lift stops going up"),
        symptom("lift-drops", "f", "lift stops on the way down", "lift slow going down", "lift never reached the hall",
                speaks_of=("down",), not_of=("up",), name="Lift stops going down"),
    ],
)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "absent"),
    [
        ("lift stops on the way down, the bell rang", {"lift-stays"}),
        ("up is fine, stops on the way down", {"lift-stays"}),
        ("lift stops on the way down, the bell never rang", set()),
        ("lift stops on the way down, waited until the bell rang", set()),
    ],
)
def test_what_is_told_to_be_well_is_denied_and_not_asked_about(text: str, absent: set[str]) -> None:
    """By the book's words for it as a clause by themselves, or its way of travel called fine and nothing more."""
    heard = match(TOWER, text)
    assert (set(heard.absent), {one.id for one in heard.symptoms}) == (absent, {"lift-drops"})


def test_a_clause_of_the_other_way_lends_nothing() -> None:
    """Most of the words are the same, and the other way is not even asked about."""
    assert [one.id for one in match(TOWER, "lift stops again on the way down").unsure] == []


@pytest.mark.parametrize(
    ("text", "symptom", "neither"),
    [
        ("three greens but the horn keeps blowing on short final", "horn-sounds-gear-down", {"no-down-indication"}),
        ("nothing happens when I select up, no noise at all, breaker is in", "will-not-retract",
         {"breaker-opens-going-up", "will-not-extend"}),
        ("gear comes up fine but going down it stops about half way", "stops-coming-down", {"stops-going-up"}),
        ("gear goes down fine, coming up it quits half way", "stops-going-up", {"stops-coming-down"}),
    ],
)  # fmt: skip
def test_the_shipped_book_asks_nothing_that_was_told(text: str, symptom: str, neither: set[str]) -> None:
    """Greens there, a breaker in, the other way fine: none of it is asked about."""
    heard = match(shipped(), text)
    assert heard.symptoms[0].id == symptom
    assert neither.isdisjoint(one.id for one in (*heard.symptoms, *heard.unsure))


@pytest.mark.parametrize("texts", [4, 9, 30], ids=["fewer than features", "as many", "more"])
def test_weights_are_those_of_least_squares(texts: int) -> None:
    """Held against numpy's own least squares, the stiffness being rows of their own below the features."""
    rng = np.random.default_rng(texts)
    features, wanted = rng.random((texts, 9), dtype=np.float32), rng.random((texts, 2), dtype=np.float32)
    below = np.vstack([features, np.sqrt(STIFFNESS) * np.eye(9)]), np.vstack([wanted, np.zeros((9, 2))])
    assert nearest(features, wanted) == pytest.approx(np.linalg.lstsq(*below, rcond=None)[0], abs=1e-4)
