"""What a mechanic says in their own words: a note, a repair that the book does not know, why a case is left open."""

from __future__ import annotations

from faulttree.dialogue.prompts import Choice, NewEntry, Prompt, Reply

VIEWS = ("note", "did-other", "leave-open", "leave-open-words", "not-done", "not-done-words", "cannot-here-words")

NO_MATTER = "does-not-apply"

REASONS = (
    Choice("1", "handed to another shop or a specialist", "handed to another shop or a specialist"),
    Choice("2", "waits for a part", "waits for a part"),
    Choice("3", "waits for people or equipment", "waits for people or equipment"),
    Choice("4", "a special flight permit is applied for, gear to stay down", "a special flight permit is applied for"),
    Choice("5", "in your own words", "words"),
)
NOT_DONE = (
    Choice("1", "people or equipment not at hand", "people or equipment not at hand"),
    Choice("2", "not safe as things stand", "not safe as things stand"),
    Choice("3", "no access", "no access"),
    Choice("4", "does not apply to this aircraft", NO_MATTER),
    Choice("5", "in your own words", "words"),
)
BACK = Choice("b", "back", "back")


def prompt(view: str, about: str = "") -> Prompt:
    """Asks for the words; ``about`` is the check that was not done."""
    if view == "not-done":
        return Prompt("not-done", "Why was it not done?", (), NOT_DONE, (BACK,), about=about)
    if view in ("not-done-words", "cannot-here-words"):
        return Prompt(
            "not-done-words", "Why was it not done?", ("Enter goes back.",), text=True, default="", about=about
        )
    if view == "note":
        return Prompt("note", "Note", ("One line; it goes into the record. Enter goes back.",), text=True, default="")
    if view == "did-other":
        asked = ("What was repaired, and by which data? It wants its proof like any other.", "Enter goes back.")
        return Prompt("did-other", "A repair that the book does not list", asked, text=True, default="")
    if view == "leave-open":
        lines = (
            "It stays open and can be taken up again.",
            "Position lights, warning, locks and emergency extension are not for putting off: who decides otherwise "
            "must be authorised to, and signs.",
        )
        return Prompt("leave-open", "Why is the case left open?", lines, REASONS, (BACK,))
    how = ("Say who decided, and what becomes of the aircraft. Enter goes back.",)
    return Prompt("leave-open-words", "Why is the case left open?", how, text=True, default="")


def accept(asked: Prompt, typed: str) -> Reply:
    """An entry with the words; nothing typed goes back."""
    typed = typed.strip()
    if not typed or typed == "back":
        return Reply()
    if asked.topic in ("leave-open", "not-done") and typed == "words":
        return Reply(view=f"{asked.topic}-words")
    if asked.topic == "not-done" and typed == NO_MATTER:
        return Reply((NewEntry("skipped", {"check": asked.about, "reason": NO_MATTER}),))
    if asked.topic in ("not-done", "not-done-words"):
        return Reply((NewEntry("skipped", {"check": asked.about, "reason": "not-done", "why": typed}),))
    if asked.topic in ("leave-open", "leave-open-words"):
        return Reply((NewEntry("left-open", {"reason": typed}),))
    if asked.topic == "note":
        return Reply((NewEntry("note", {"text": typed}),), say="Noted.")
    return Reply((NewEntry("did-other", {"text": typed}),))
