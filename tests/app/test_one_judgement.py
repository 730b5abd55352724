"""No page contradicts another: answer line, verdict page, table, sheet, lamp card and command line
say what one record of a judgement says. A few dockets here; ``python -m tests.studies.consistency``
draws hundreds."""

import pytest

from bobweight.app.command_line.answers import decided, judged_answer
from tests.studies.consistency import Speaker, contradictions, drawn


@pytest.fixture(scope="module")
def speaker(qapp):
    speaker = Speaker()
    yield speaker
    speaker.close()


@pytest.mark.parametrize("seed", [0, 1, 5, 11])
def test_everything_said_is_said_of_one_record(speaker, seed):
    said = speaker.say(drawn(seed))
    assert list(contradictions(said)) == []


def test_the_command_line_judges_anew_and_says_the_same(speaker):
    docket = drawn(2)
    assert judged_answer(*decided(docket, "x"), "x") == speaker.say(docket).answer


def test_what_contradicts_is_found(speaker):
    said = speaker.say(drawn(0))
    said.line += " Or not."
    said.sheet = said.sheet.replace("side its band", "side no band")
    said.answer["judgement"]["decision"] = "inside"
    said.answer["action"] = "wait"
    told = set(contradictions(said))
    assert "the answer line has another sentence" in told
    assert "the command line does something else" in told
