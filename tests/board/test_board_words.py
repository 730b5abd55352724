"""Words of the board's plots stand off what else is painted there, and are read as written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QFont, QImage, QTransform

from bobweight.app.board.capsule import CapsulePlot
from bobweight.app.board.figure_plot import FigurePlot
from bobweight.app.typeface import load
from bobweight.core.docket.file import read_docket
from bobweight.core.figure.description import Axis, Figure, Zone
from bobweight.core.figure.vacuum import vacuum_figure
from bobweight.core.figure.view import view_of
from bobweight.core.judgement.outcome import outcome

SAMPLES = sorted((Path(__file__).parents[2] / "sample_curves").glob("*.docket"))


@pytest.mark.parametrize("size", [(346, 284), (410, 500), (560, 420)])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_no_words_of_the_capsule_stand_on_the_sign_of_a_check_point(qtbot, path: Path, size):
    docket = read_docket(path)
    plot = CapsulePlot()
    qtbot.addWidget(plot)
    plot.resize(*size)
    plot.show_vacuum(vacuum_figure(outcome(docket), view_of(docket)), "kPa")
    plot.show()
    qtbot.waitExposed(plot)
    scale, unit = plot.main.scale(), plot.inks.line_px
    for spot in plot.label_places(scale).values():
        words = QRectF(spot.x, spot.y, spot.width, spot.height)
        for gate in plot.figure.gates:
            x, top = float(scale.x(gate.x)), float(scale.y(gate.high))
            assert not words.intersects(QRectF((x - 4) / unit, (top - 20) / unit, 8 / unit, 0.8))


@pytest.mark.parametrize("points", [8.0, 9.0, 10.0])
def test_the_words_of_an_upright_axis_are_as_far_apart_as_written(qtbot, points: float):
    """Read in the picture: the gaps between words, and those between letters."""
    plot = FigurePlot()
    qtbot.addWidget(plot)
    words = "Torque at the cam, N·mm"
    plot.setFont(QFont(load(), 10))
    plot.set_points(points)
    plot.resize(410, 383)
    plot.show_figure(Figure(Axis("", 0.0, 10.0), Axis(words, 0.0, 300.0)))
    plot.show()
    qtbot.waitExposed(plot)
    axis = plot.main.axes["left"]
    across = axis.label.mapRectToScene(axis.label.boundingRect()).toAlignedRect()
    turned = plot.grab(across).toImage().transformed(QTransform().rotate(90))
    grey = turned.convertToFormat(QImage.Format.Format_Grayscale8)
    pixels = np.frombuffer(grey.constBits(), np.uint8).reshape(grey.height(), -1)
    ink = (pixels[:, : grey.width()].max() - pixels[:, : grey.width()]).max(axis=0) > 40
    (letters,) = np.nonzero(ink)
    gaps = np.sort(np.diff(letters) - 1)[::-1]
    spaces = words.count(" ")
    assert gaps[spaces - 1] > gaps[spaces]


def test_an_area_ends_where_its_axis_does(qtbot):
    plot = FigurePlot()
    qtbot.addWidget(plot)
    plot.resize(410, 383)
    x = np.array([-5.0, 15.0])
    area = Zone("builds", x, np.full(2, 100.0), np.full(2, 200.0))
    empty = Figure(Axis("", 0.0, 10.0), Axis("", 0.0, 300.0))
    pictures = []
    for figure in (empty, replace(empty, zones=(area,))):
        plot.show_figure(figure)
        plot.show()
        qtbot.waitExposed(plot)
        pictures.append(plot.grab().toImage())
    right = round(plot.main.box.mapRectToScene(plot.main.box.rect()).right())
    beyond = [(x, y) for x in range(right + 1, right + 7) for y in range(20, 300, 5)]
    assert all(pictures[0].pixel(*at) == pictures[1].pixel(*at) for at in beyond)
    assert pictures[0].pixel(right - 20, 180) != pictures[1].pixel(right - 20, 180)
