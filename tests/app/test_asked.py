"""What is asked, in the window and on the command line, is one description."""

from __future__ import annotations

import math

import pytest

from bobweight.app.command_line import find_command
from bobweight.app.command_line.arguments import option, with_values
from bobweight.app.command_line.commands import parser
from bobweight.app.prints.forms import PrintForm
from bobweight.app.prints.kinds import KINDS
from bobweight.app.store.display import Display
from bobweight.core.bench.tape import TapeSpec, mm_per_degree, tape_for
from bobweight.core.design.asks import SearchAsk
from bobweight.core.docket.docket import Docket
from bobweight.core.record import parameters, put

ASKING = {"tape": "tape", "ring": "ring"}


def typed(*argv: str):
    return parser([argv[0]]).parse_args([*argv, "-o", "x.pdf"])


@pytest.mark.parametrize("key", ASKING)
def test_the_window_and_the_command_line_ask_the_same_and_take_the_same_without_a_word(key, qapp):
    docket = put(Docket(), ("setting_up", "pulley_mm"), 150.0)
    form = PrintForm(KINDS[key].asks(docket), Display())
    asked = with_values(KINDS[key].asks(docket), typed(ASKING[key]))
    assert asked == form.asked
    offered = {o for action in parser([key])._subparsers._group_actions[0].choices[key]._actions
               for o in action.option_strings}  # fmt: skip
    assert {option((name,)) for name in form.fields} <= offered


def test_the_same_rim_gives_the_same_tape_on_either_way(qapp):
    """40 degrees of a rim of 150 mm under paper of 0.1 mm: 40/360 of π · 150.1 mm (plane
    geometry)."""
    docket = put(Docket(), ("setting_up", "pulley_mm"), 150.0)
    form = PrintForm(tape_for(docket), Display())
    asked = with_values(TapeSpec(), typed("tape", "--diameter", "150"))
    lengths = [40 * spec.mm_per_deg for spec in (form.asked, asked)]
    assert lengths[0] == lengths[1] == pytest.approx(math.pi * 150.1 * 40 / 360)
    assert lengths[0] == pytest.approx(52.395, abs=5e-4)
    assert 40 * mm_per_degree(150.0) == pytest.approx(52.360, abs=5e-4)  # the bare rim


def test_the_search_of_the_command_line_begins_where_the_window_does():
    assert find_command("springs").name == "springs"
    arguments = parser(["springs"]).parse_args(["springs", "x.docket"])
    assert with_values(SearchAsk(), arguments) == SearchAsk()
    arguments = parser(["springs"]).parse_args(
        ["springs", "x.docket", "--slack-most", "0.1 in", "--stop-free", "--top", "3"]
    )
    asked = with_values(SearchAsk(), arguments)
    assert (asked.slack_most_mm, asked.stop_free, asked.top) == (pytest.approx(2.54), True, 3)


def test_help_tells_unit_range_and_default(capsys):
    with pytest.raises(SystemExit):
        parser(["tape"]).parse_args(["tape", "--help"])
    said = " ".join(capsys.readouterr().out.split())
    for key in ("span_deg", "thickness_mm"):
        assert parameters(TapeSpec)[key].help.split(".")[0] in said
    assert "Default 40 crank °" in said.replace("\u00a0", " ")
    assert "Default 0.1 mm" in said.replace("\u00a0", " ")
