"""``python -m bobweight`` and the console command ``bobweight``."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

# The matrices are small: a second thread would only spin, beside the window's and on its own.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program; the exit status."""
    from bobweight.app.command_line.commands import run

    return run(sys.argv[1:] if argv is None else list(argv))


if __name__ == "__main__":
    sys.exit(main())
