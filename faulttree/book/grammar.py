"""What is refused while files are read, before a rule with a module of its own can look at anything.

One text for each id, in the form that :func:`faulttree.book.texts.rule_text` takes.
"""

from __future__ import annotations

GRAMMAR = {
    "at-least-count": """
        `at_least` asks for no more events than it lists.

        Three of two can never hold, so the event would never happen and nobody would notice.

        Passes::

            events:
              most: {name: Most locks dry, at_least: {count: 2, of: [lock-left.dry, lock-right.dry]}}

        Fails::

            events:
              most: {name: Most locks dry, at_least: {count: 3, of: [lock-left.dry, lock-right.dry]}}
        """,
    "basis": """
        A published basis names its source and the place in it.

        Whoever doubts the number must be able to look it up.

        Passes::

            faults:
              bus.dead: {amends: true, basis: {kind: published, source: handbook, where: table 3}}

        Fails::

            faults:
              bus.dead: {amends: true, basis: {kind: published}}
        """,
    "depth": """
        No more than twenty lists and mappings lie within each other.

        A gate so deep is not read by anybody. Give its parts names under `events`.
        """,
    "duplicate-id": """
        An id stands for one thing.

        Of two entries with one id the second would silently win, and old cases would mean something else. Faults,
        events, chains and symptoms share one set of ids, because gates name all of them alike. An overlay that
        means to change an entry says so with `amends: true`.

        Passes::

            components:
              bus: {amends: true, also_called: [busbar]}

        Fails::

            components:
              bus: {name: Busbar, ata: 24-50}
        """,
    "duplicate-key": """
        A field stands once in an entry, a section once in a file.

        YAML itself would take the last one and lose the first without a word.

        Passes::

            components:
              strut: {name: Strut, ata: 32-10}

        Fails::

            components:
              strut: {name: Strut, name: Leg, ata: 32-10}
        """,
    "family": """
        A folder of knowledge belongs to a family that exists, and says the same of itself.

        What lies in a folder that no family reads is lost without a word.
        """,
    "file": """
        Every file of the book can be read.

        A book without one of its files is another book.
        """,
    "file-name": """
        The name of a knowledge file ends in .yaml.

        One with another ending would not be read.
        """,
    "file-size": """
        A knowledge file has 250 kB at most.

        The largest shipped file has half of that; what is larger got there by mistake.
        """,
    "fitted": """
        `fitted` names options that exist, one of each group.

        An item fitted to a misspelt option would never apply.
        """,
    "folder": """
        Files lie in `shared`, in a family's folder, or in one named after several families with a plus between.

        What lies beside these folders is not read.
        """,
    "key-is-a-word": """
        Every key is a word, with a value behind its colon.

        Passes::

            components:
              strut: {name: Strut, ata: 32-10}

        Fails::

            components:
              strut: {[name, title]: Strut, ata: 32-10}
        """,
    "kind-of-entry": """
        A field names entries of the kind that it is for.

        A check under `corrected_by` repairs nothing.

        Passes::

            faults:
              bus.dead: {amends: true, corrected_by: [fix-bus]}

        Fails::

            faults:
              bus.dead: {amends: true, corrected_by: [look-at-bus]}
        """,
    "leg-shares": """
        The shares of a component's legs add up to 1.

        They split its rates; what they lack or have too much the rates lack or have too much.

        Passes::

            components:
              door: {amends: true, legs: {left: 0.4, right: 0.6}}

        Fails::

            components:
              door: {amends: true, legs: {left: 0.4, right: 0.4}}
        """,
    "legs": """
        A name with a leg names a leg that the component has.

        Passes::

            events:
              bent: {name: Left door bent, any_of: [door-left.bent]}

        Fails::

            events:
              bent: {name: Nose door bent, any_of: [door-nose.bent]}
        """,
    "missing-field": """
        Every field that has no usual value is written.

        Passes::

            components:
              strut: {name: Strut, ata: 32-10}

        Fails::

            components:
              strut: {ata: 32-10}
        """,
    "missing-section": """
        The shared folder has the section `book`, a family's folder the section `family`.

        They say which knowledge it is and which check proves a repair.
        """,
    "no-anchors": """
        Nothing repeats another place of the file by & and *.

        Whoever changes the one place does not see what else changes. A name or a note that begins with one of these
        signs needs quotes.

        Passes::

            components:
              strut: {name: "*Strut", ata: 32-10}

        Fails::

            components:
              strut: {name: &strut Strut, ata: 32-10}
        """,
    "no-control-characters": """
        Files hold no invisible characters but spaces and line ends.

        They come with text copied from elsewhere, hide in names so that equal words are not equal, and a terminal
        may obey them. Spaces that do not break are refused in ids, keys and numbers for the same reason.

        Passes::

            components:
              strut: {name: Strut, ata: 32-10}

        Fails::

            components:
              strut: {name: "St\\u200brut", ata: 32-10}
        """,
    "no-merge-keys": """
        Nothing is merged in from another place of the file by <<.

        Whoever changes the one place does not see what else changes.

        Passes::

            components:
              strut: {name: Strut, ata: 32-10}

        Fails::

            components:
              strut: {<<: {ata: 32-10}, name: Strut}
        """,
    "no-tags": """
        No word begins with an exclamation mark.

        YAML would take it for a tag. Put quotes around it.

        Passes::

            components:
              strut: {name: "!Strut", ata: 32-10}

        Fails::

            components:
              strut: {name: !!str Strut, ata: 32-10}
        """,
    "not-fitted": """
        `all_of`, `at_least` and `not` name nothing that some aircraft lack.

        Elsewhere what is not fitted drops out. Here the event would mean something else without it, so say for which
        aircraft it is meant.

        Passes::

            events:
              both: {name: Dark and dead, all_of: [lamps.dark, bus.dead], fitted: [two-lamps]}
            symptoms:
              no-up: {amends: true, when: {any_of: [feed, leg-held, both]}}

        Fails::

            events:
              both: {name: Dark and dead, all_of: [lamps.dark, bus.dead]}
            symptoms:
              no-up: {amends: true, when: {any_of: [feed, leg-held, both]}}
        """,
    "one-document": """
        A file is one document.

        What stands behind a line of three dashes would not be read.

        Passes::

            components:
              strut: {name: Strut, ata: 32-10}

        Fails::

            components:
              strut: {name: Strut, ata: 32-10}
            ---
            components:
              bolt: {name: Bolt, ata: 32-10}
        """,
    "one-gate": """
        An event has exactly one of `any_of`, `all_of`, `at_least`, `not`.

        Of two nobody would know which is meant first. Write one within the other.

        Passes::

            events:
              odd: {name: Odd, any_of: [bus.dead, {all_of: [door-left.bent, door-right.bent]}]}

        Fails::

            events:
              odd: {name: Odd, any_of: [bus.dead], all_of: [door-left.bent, door-right.bent]}
        """,
    "overlay": """
        An overlay says of each entry that it adds, amends or retires it, and lowers no caution.

        `amends: true` replaces the fields that it names, except that cautions only grow: none is left out, none
        lowered in its level, none put in other words, no hazard declared harmless. `retires: true` takes a `reason`.
        An amendment may have one too; beside either may stand `by` whom and on which day (`date: 2026-03-14`).

        Passes::

            cautions:
              jacks-slip:
                amends: true
                reason: the floor slopes
                by: shop lead
                date: 2026-03-14
                level: WARNING

        Fails::

            cautions:
              jacks-slip: {amends: true, level: NOTE}
        """,
    "proof": """
        A symptom's `proof`, or its family's, names a check that is a proof and is there with these options.

        Without it no repair could ever be shown to have helped.
        """,
    "range": """
        A number lies where it has a meaning.

        A probability lies from 0 to 1: 95 % is written 0.95. A rate is above 0.

        Passes::

            checks:
              look-at-bus: {amends: true, detects: 0.95}

        Fails::

            checks:
              look-at-bus: {amends: true, detects: 95}
        """,
    "rate": """
        A fault has either a rate or a plain probability.

        The rate grows with the hours flown; a switch left on is simply so or not.

        Passes::

            faults:
              bus.loose: {name: loose, rate: 0.1, basis: estimate, corrected_by: [fix-bus]}
            events:
              bus-gone: {amends: true, any_of: [bus.dead, bus.loose]}
            chains:
              feed:
                amends: true
                elements: [{faults: [bus.dead, bus.loose], tap: bus}, {faults: [lock.dry], tap: lock}]

        Fails::

            faults:
              bus.loose: {name: loose, basis: estimate, corrected_by: [fix-bus]}
        """,
    "sections": """
        A file is made of sections, a section of entries by id.

        Passes::

            components:
              strut: {name: Strut, ata: 32-10}

        Fails::

            components:
              - {name: Strut, ata: 32-10}
        """,
    "syntax": """
        The file is YAML that can be read: `key: value`, indented alike with spaces, quotes and brackets closed.

        What cannot be read costs the entry that it stands in, never the whole file.

        Passes::

            components:
              strut: {name: "Strut: the left one", ata: 32-10}

        Fails::

            components:
              strut: {name: "Strut: the left one, ata: 32-10}
        """,
    "unknown-field": """
        Every field is one that the format knows.

        A misspelt field would otherwise count as not stated.

        Passes::

            components:
              strut: {name: Strut, also_called: [oleo], ata: 32-10}

        Fails::

            components:
              strut: {name: Strut, also_caled: [oleo], ata: 32-10}
        """,
    "retired-named": """
        What an overlay retires is named by no regression case, lesson or drill that stays.

        They are the book's own, so the overlay says itself what becomes of them: it retires each with a reason, or
        amends it. A whole entry that names what is retired drops it; a case would work out something else.
        """,
    "unknown-id": """
        Every name is that of an entry.

        A gate over a misspelt fault would never be dead, and a step with a misspelt caution would not show it.

        Passes::

            faults:
              bus.dead: {amends: true, promoted_by: [wet]}

        Fails::

            faults:
              bus.dead: {amends: true, promoted_by: [wett]}
        """,
    "unknown-section": """
        Every section is one that the format knows.

        Passes::

            components:
              strut: {name: Strut, ata: 32-10}

        Fails::

            component:
              strut: {name: Strut, ata: 32-10}
        """,
    "utf-8": """
        Files are saved as UTF-8.

        In another encoding degrees, fractions and foreign letters would turn into others.
        """,
    "value": """
        A field holds what it is for: words, a number, a list, one of its words.

        Passes::

            actions:
              new-lamp: {amends: true, minutes: 5, parts: [a lamp]}

        Fails::

            actions:
              new-lamp: {amends: true, minutes: five, parts: a lamp}
        """,
}
