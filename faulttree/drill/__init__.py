"""Drills: a hidden fault is to be found as on the floor, then what a good troubleshooter would have done is shown.

``chance`` streams of numbers by seed; ``gear`` what is wrong and what a look shows; ``drawing`` what a drill hides and
tells; ``bench`` what all drills of one book share; ``acts`` what a learner does; ``stops`` what is never done;
``play`` the drill itself. Time is the book's minutes. A drill is its setting, drawn by the seed, and the acts.
"""

from faulttree.drill.acts import Act, Stop, Told, act_from
from faulttree.drill.bench import Bench
from faulttree.drill.drawing import LEVELS, Setting, Wanted
from faulttree.drill.play import Play, Quiz

__all__ = ["LEVELS", "Act", "Bench", "Play", "Quiz", "Setting", "Stop", "Told", "Wanted", "act_from"]
