"""One step of a drag of the whole board, against bare pyqtgraph with as many items.

Ours is everything between two positions of the hand: the edit on the docket, the outcome, the three
views of the board drawn again and painted. The bare one sets the data of as many items in three
pyqtgraph plots and paints them: it computes nothing.
"""

from __future__ import annotations

import os
from collections.abc import Callable

import numpy as np

from tests.studies.ratio import Ratio, of_ratios, turn_about
from tests.studies.results import section

CURVES = (
    9,
    4,
    12,
)  # polylines of 200 points in the three views
SCATTERS = (4, 4, 2)
BARS = (3, 2, 1)
TEXTS = (6, 5, 3)


def _bare_step() -> Callable[[], None]:
    import pyqtgraph as pg
    from PySide6.QtWidgets import QApplication, QSplitter

    zones = QSplitter()
    x = np.linspace(0.0, 10.0, 200)
    few = np.linspace(0.0, 10.0, 25)
    curves, scatters, bars, texts = [], [], [], []
    for view in range(3):
        plot = pg.PlotWidget()
        plot.setXRange(0.0, 10.0)
        plot.setYRange(-2.0, 2.0)
        zones.addWidget(plot)
        curves += [plot.plot(x, np.sin(x), antialias=True) for _ in range(CURVES[view])]
        for _ in range(SCATTERS[view]):
            scatter = pg.ScatterPlotItem(few, np.sin(few), pen="b", brush="b")
            scatters.append(scatter)
            plot.addItem(scatter)
        for _ in range(BARS[view]):
            bar = pg.ErrorBarItem(x=few, y=np.sin(few), height=np.full(25, 0.2))
            bars.append(bar)
            plot.addItem(bar)
        for index in range(TEXTS[view]):
            text = pg.TextItem(f"label {index}")
            texts.append(text)
            plot.addItem(text)
    zones.resize(900, 700)
    zones.show()
    application = QApplication.instance()
    count = 0

    def step() -> None:
        nonlocal count
        count += 1
        shift = 0.02 * (count % 50)
        for curve in curves:
            curve.setData(x, np.sin(x + shift))
        for scatter in scatters:
            scatter.setData(few, np.sin(few + shift))
        for bar in bars:
            bar.setData(x=few, y=np.sin(few + shift), height=np.full(25, 0.2))
        for index, text in enumerate(texts):
            text.setPos(index + shift, shift)
        application.processEvents()

    step.keep = zones  # the widgets live as long as the step
    return step


def _our_step(path: tuple, values: np.ndarray) -> Callable[[], None]:
    from PySide6.QtWidgets import QApplication

    from bobweight.app.board.board import Board
    from bobweight.app.store import Store
    from bobweight.app.store.display import Display
    from bobweight.app.store.outcome_feed import OutcomeFeed
    from bobweight.app.store.places import sample_curve
    from bobweight.core.docket.file import read_docket

    store = Store()
    store.open_docket(read_docket(sample_curve("weak_primary.docket")), None)
    display = Display()
    feed = OutcomeFeed(store, display)
    board = Board(store, feed, display)
    board.resize(900, 700)
    board.show()
    application = QApplication.instance()
    gesture, count = object(), 0

    def step() -> None:
        nonlocal count
        count += 1
        store.edit("drag", path, float(values[count % len(values)]), gesture)
        for _ in range(3):  # told of, drawn, painted
            application.processEvents()

    step.keep = board, feed, display, store
    return step


def _ratio(name: str, path: tuple, values: np.ndarray) -> Ratio:
    ours, bare = turn_about(_our_step(path, values), _bare_step(), rounds=41)
    note = f"{1e3 * ours:.1f} ms against {1e3 * bare:.1f} ms."
    return Ratio(f"drag step of the whole board, {name} / bare pyqtgraph", ours / bare, 2.0, False,
                 note)  # fmt: skip


def _prepare() -> None:
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtWidgets import QApplication

    if QApplication.instance() is None:
        _prepare.application = QApplication([])


def drag_tang() -> Ratio:
    """A tang bent on the plan view: everything but the readings is computed again."""
    _prepare()
    return _ratio("tang", ("mechanism", "springs", 0, "tang_mm"), np.linspace(0.0, 1.0, 41))


def drag_check_point() -> Ratio:
    """An end of the band moved on the curve."""
    _prepare()
    return _ratio("check point", ("target", "points", 1, "least_deg"), np.linspace(3.0, 5.0, 41))


BENCHMARKS = (drag_tang, drag_check_point)

if __name__ == "__main__":
    with section("drag", "A drag step of the whole board") as out:
        out(of_ratios(BENCHMARKS))
    os._exit(0)  # a process that ends with living plots may crash in pyqtgraph's clean-up
