"""What the bundled program runs."""

import sys

from bobweight.__main__ import main

sys.exit(main())
