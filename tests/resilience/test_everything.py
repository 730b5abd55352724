"""A few odd dockets through everything; many are ``python -m tests.studies.everything``."""

from __future__ import annotations

import warnings
from itertools import islice

from tests.resilience.everything import faults, odd_dockets
from tests.resilience.mutation import Material


def test_an_odd_docket_survives_all_that_is_made_of_one(qapp, tmp_path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for seed, docket in islice(odd_dockets(Material(tmp_path), 1), 1):
            assert faults(docket, papers=("a4",)) == [], seed
