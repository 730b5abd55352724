"""Prints and several sheets from the command line, without a screen."""

from __future__ import annotations

from pathlib import Path

import pypdf
import pytest

from bobweight.__main__ import main
from bobweight.app.messages.lacking import curve_needs
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import put

ROOT = Path(__file__).parents[2]
DEMO = str(ROOT / "sample_curves" / "weak_primary.docket")
OTHER = str(ROOT / "sample_curves" / "vee_eight.docket")


@pytest.fixture(autouse=True)
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def text_of(path: str) -> str:
    return " ".join(" ".join(p.extract_text().split()) for p in pypdf.PdfReader(path).pages)


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (["tape", "--diameter", "6 in", "--side", "both"], "152.4 mm"),
        (["tape", "--diameter", "150", "--cylinders", "4", "--order", "1-3-4-2"], "cyl. 1, 4"),
        (["tape", "--docket", DEMO], "Harbour launch"),
        (
            ["ring", "--outer-radius", "85", "--inner-radius", "2.2in", "--title", "Rig two"],
            "Rig two",
        ),
        (["lamp-card", DEMO], "Lamp card"),
        # 600 at the distributor, which turns at half the engine's speed (common practice)
        (["lamp-card", DEMO], "By the readings: outside at 1200 engine rev/min"),
        (["session-sheet", DEMO], "Timing session"),
        (["check-list", DEMO, "--paper", "letter"], "Springs fly"),
    ],
)
def test_each_print_writes_a_pdf(argv, words, capsys):
    assert main([*argv, "-o", "out.pdf"]) == 0
    assert capsys.readouterr() == ("", "")
    assert words in text_of("out.pdf")


@pytest.mark.parametrize("options", [["--pages", "2", "--paper", "letter"]])
def test_several_dockets_go_to_one_pdf(options, capsys):
    for number, docket in enumerate((DEMO, OTHER)):
        assert main(["sheet", docket, "-o", f"{number}.pdf", *options]) == 0
    assert main(["sheet", DEMO, OTHER, "-o", "all.pdf", *options]) == 0
    assert text_of("all.pdf") == f"{text_of('0.pdf')} {text_of('1.pdf')}"
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize(
    "argv",
    [
        ["sheet", DEMO, OTHER, "-o", "all.png"],
        ["sheet", DEMO, OTHER, "-o", "all.csv"],
        ["sheet", DEMO, "-o", "all.svg", "--pages", "2"],
        ["sheet", DEMO, "-o", "all.pdf", "--before", "0"],
        ["sheet", DEMO, "no such.docket", "-o", "all.pdf"],
        ["tape", "-o", "all.pdf"],
        ["tape", "--diameter", "tall", "-o", "all.pdf"],
        ["tape", "--diameter", "-5", "-o", "all.pdf"],
        ["tape", "--diameter", "5", "-o", "all.pdf"],
        ["tape", "--diameter", "150", "--cylinders", "4", "--order", "1-2", "-o", "all.pdf"],
        ["tape", "--diameter", "150", "--span", "300", "--cylinders", "4", "-o", "all.pdf"],
        ["ring", "--outer-radius", "50", "--inner-radius", "60", "-o", "all.pdf"],
        ["ring", "--outer-radius", "230", "--inner-radius", "200", "-o", "all.png"],
        ["lamp-card", "no such.docket", "-o", "all.pdf"],
    ],
)
def test_what_cannot_be_is_told_in_one_line_and_nothing_is_written(argv, capsys, tmp_path):
    assert main(argv) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("bobweight: ") and err.count("\n") == 1
    assert not list(tmp_path.glob("all.*"))


def test_a_card_without_a_curve_names_what_is_missing_as_the_window_does(capsys, tmp_path):
    bare = put(read_docket(DEMO), ("mechanism", "weights", "mass_g"), None)
    write_docket(bare, "bare.docket")
    assert main(["lamp-card", "bare.docket", "-o", "all.pdf"]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert told == f"bobweight: {curve_needs(outcome(bare))}" and "mass of each weight" in told
    assert not list(tmp_path.glob("all.*"))
