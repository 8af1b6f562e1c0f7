"""What `?` says in `faulttree work`: the keys, and what is on the screen now."""

from __future__ import annotations

HELP = """Number keys answer; so do the arrow keys with Enter. y does what is proposed.
r says that cautions were read, and nothing else does; ! shows them again.
n not done   t can't tell   s think so, not sure   m enter a reading
w why, and what if   v the fault tree   d what the last answer changed
o other steps, any check by name   f I found it   c can't do that here
p people and tools at hand   a note   u take the last answer back
h what was done so far, and taking back any of it
x leave open with a reason   q quit, go on later
A first step is shown at once. While you read, the program looks further ahead;
if it then finds a better one it says so, and g shows that.
Every answer is on the disk before the next screen appears."""

TAKEN = "Taken as usual, since nobody said otherwise; `faulttree aircraft NAME` says what this one has:"

HELP_ON = {
    "squawk": "Type what the pilot said or wrote, in any words. What is heard in it is asked back one by one.",
    "symptom": "What was heard in the pilot's words. y if the gear did that, n if not, t if nobody can say.",
    "more-symptoms": "Type the number of anything else that the gear did, or Enter to go on.",
    "opening": "Asked before anything is touched: it decides what has to be made safe first.",
    "first-of-all": "What the answer asks for before anything is touched. It is noted that it was read.",
    "circumstances": "What surrounds a squawk makes some causes likelier. Numbers with spaces between, or Enter.",
    "hours": "The longer since the gear was last known good, the likelier two faults at once.",
    "cautions": "Nothing is set up before these are read. r says that they are, x drops the step.",
    "set-up": "y once it is so. What is set up is put back at the end, one by one.",
    "restore": "y once it is put back as it says.",
    "outcome": "The number of what you saw. s before it if you only think so; t if it cannot be told, n if not done.",
    "others": "Any of these may be done instead; the best comes first. t finds any check by part of its name.",
    "cannot-here": "What is not here is remembered: nothing that wants it is proposed until p says that it is here.",
    "changed": "The first bar is the ranking before the last answer, the second the ranking after it.",
    "tree": "What gives the squawk, the likeliest first. What is not shown is hardly suspect.",
    "take-back": "The answer stays in the log, marked as taken back. All else is worked out anew without it.",
    "jump": "Any check that can be done with what is here, though it may tell little just now.",
    "found": "Only what was seen with your own eyes. It counts as nearly certain.",
}
"""What is on the screen now, by topic."""
