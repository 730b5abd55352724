"""How long a test waits for work behind the window, on a machine that does other things as well."""

PATIENCE_MS = 60_000
