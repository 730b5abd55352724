"""Every usual caution stands at the act to which it belongs (common practice)."""

from __future__ import annotations

import pytest

from bobweight.app.messages.cautions import CAUTIONS, caution_lines

BELONGS = {
    "engine": (
        "look still", "fans start unannounced", "leads", "neutral", "chocked", "open air",
        "voltage injure", "burns the coil", "piston stop by hand only", "Hot parts",
        "destroys an engine", "1 to 2°", "first ping", "local rules", "qualified technician",
    ),
    "rig": ("chuck", "eye protection", "look still", "Petrol", "voltage injures", "local rules"),
    "bench": ("Petrol", "eye protection", "burns the coil", "Label springs"),
    "reassembly": ("Petrol", "eye protection", "half a turn out"),
    "points": ("burns the coil", "Dwell first"),
    "setting": (
        "under load", "altered engine", "emission", "inspection", "look still", "chocked",
        "piston stop", "local rules",
    ),
}  # fmt: skip


def test_every_act_of_the_list_is_there():
    assert set(BELONGS) <= set(CAUTIONS)


@pytest.mark.parametrize("act", BELONGS)
def test_cautions_of_an_act(qapp, act):
    said = " ".join(caution_lines(act))
    assert [words for words in BELONGS[act] if words not in said] == []


@pytest.mark.parametrize("act", CAUTIONS)
def test_each_is_a_sentence_and_said_once(act):
    lines = CAUTIONS[act]
    assert len(set(lines)) == len(lines)
    assert all(line[0].isupper() and line.endswith(".") for line in lines)
