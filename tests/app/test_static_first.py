"""A session whose static disagrees with the docket's, or with its own base readings, is told so by
name before any fault is accused: in the answer line, on the verdict page, on the command line."""

import numpy as np
import pytest

from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put
from tests.judgement.invented import Truth, Wish, docket, even_places, read, with_readings
from tests.studies.consistency import Speaker, contradictions

UNIT = docket(Wish())
STATED = "The session’s static is 0.0°, "


def case(low, wanted):
    """Readings of a sound unit timed at 8°, in a session that says 0."""
    places = even_places(predict(UNIT.mechanism), 16, low=low)
    truth = Truth(UNIT.mechanism, zero_deg=8.0)
    d = with_readings(UNIT, read(truth, places, np.random.default_rng(3)))
    instrument = d.sessions[0].instrument.with_changes(static_deg=0.0)
    return put(put(d, ("sessions", 0, "instrument"), instrument), ("setting_up",),
               d.setting_up.with_changes(static_deg=wanted))  # fmt: skip


@pytest.fixture
def speaker(qapp):
    speaker = Speaker()
    yield speaker
    speaker.close()


@pytest.mark.parametrize(
    ("low", "wanted", "told"),
    [
        (0.4, 8.0, "the docket’s 8.0°, and the readings show"),
        (0.4, None, "but its readings show"),
        (1.3, 8.0, "the docket’s 8.0°, and no reading below the start of the advance says which"),
    ],
)
def test_the_static_is_told_before_any_fault(speaker, low, wanted, told):
    said = speaker.say(case(low, wanted))
    for text in (said.line, said.answer["judgement"]["sentence"], said.page["overall"][2:]):
        assert text.startswith(STATED + told)
        assert "Put the session’s static right" in text and "Likeliest: timing mark" not in text
    assert list(contradictions(said)) == []
