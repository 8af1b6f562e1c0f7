"""Troubleshooting decisions for retractable-gear faults on light aircraft.

The parts, lowest first: ``units`` and ``book`` (the knowledge base), ``graph``, ``squawk`` and
``conditions``, ``belief``, ``advice``, ``case``, ``dialogue``, ``papers`` and ``store``, ``workshop``.
"""

__version__ = "0.1.0"
