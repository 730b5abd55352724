"""The window of the application's tests."""

from tests.app.conftest import answers, window  # noqa: F401
