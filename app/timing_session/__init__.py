"""The timing-light session: entry beside a running engine, from the keyboard alone."""

from bobweight.app.timing_session.view import TimingSession

__all__ = ["TimingSession"]
