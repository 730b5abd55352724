"""Speed as ratios, measured side by side in one run: ``python -m tests.studies``.

Not part of the timed suite. Every benchmark is a function that returns a :class:`Ratio`; a module
lists its own in ``BENCHMARKS``.
"""
