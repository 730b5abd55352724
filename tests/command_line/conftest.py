"""What the command line says of a docket is asked many times: it is judged once."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def one_judgement(judged_once: None) -> None:
    """For every test of the folder."""
