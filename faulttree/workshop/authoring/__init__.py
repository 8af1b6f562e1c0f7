"""A new entry of the knowledge from what somebody knows: asked for, put as YAML, tried out before it is written.

:mod:`interview` asks, one question after the other, over a :mod:`ground` (the book as it is now); its :mod:`draft` is
put as files, and :mod:`trial` tells what they would do. Nothing here reads keys or writes where knowledge lies.
"""
