"""Speed as ratios, measured side by side in one run: ``python -m tests.studies``.

Not part of the timed suite. Every benchmark is a function that returns a :class:`Ratio`; a module
lists its own in ``BENCHMARKS``.
"""

import os
import tempfile

_HOME = tempfile.TemporaryDirectory(prefix="study-")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program has it
os.environ.setdefault("BOBWEIGHT_HOME", _HOME.name)  # nobody's own tray and settings
