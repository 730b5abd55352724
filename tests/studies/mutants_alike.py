"""Changed tokens that make no difference which anybody could want tested, each with the reason."""

ALIKE: dict[tuple[str, str, str, str], str] = {}
"""By file, function, line and change: why."""
