"""Every dialog of the window and every print, for :mod:`tests.studies.room`."""

from __future__ import annotations

import contextlib
import itertools
from collections.abc import Callable, Iterator
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QWidget

from bobweight.app.editors.table_dialog import TableDialog
from bobweight.app.editors.take_table import TakenDraft, docket_taker
from bobweight.app.paper.output import describe, page_image
from bobweight.app.prints.kinds import KINDS, Asked
from bobweight.app.store.journal import Leftover
from bobweight.app.widgets.dialogs import Dialogs
from bobweight.app.window.main_window import MainWindow
from bobweight.app.window.recovery import RecoveryDialog
from bobweight.core.bench.tape import TapeSpec
from bobweight.core.figure.view import View
from bobweight.core.judgement.outcome import outcome
from bobweight.core.problems import BobweightError
from bobweight.core.sheet.description import PAPERS, Description, PaperPage
from bobweight.core.sheet.workshop import Workshop
from bobweight.core.tables.source import read_source
from tests.sheet.measuring import texts
from tests.studies import room

_TABLE = """speed rev/min;angle °;way
900;9,5;up
1300;14,1;up
1800;18,0 and something that no table should have in a cell;up
2400;22,5;down
;;
"""
_APART_MM = 0.1
_PULLEY_MM = 142.0  # where a docket does not say
_DPI = 110


def faults_of_dialogs(window: MainWindow, screen: tuple[int, int], look: room.Look) -> list[str]:
    """What is clipped, lies over another or is larger than the screen in any dialog, in words."""
    found = []
    for name, dialog in _dialogs(window):
        room.settle()
        found += [f"{name}: {fault}" for fault in _faults(dialog, screen)]
        look(name, dialog)
        if dialog is not window:
            dialog.close()
        room.settle()
    for name, call in _boxes(window).items():
        found += [f"{name}: {fault}" for fault in _faults_of_box(name, call, screen, look)]
    return list(dict.fromkeys(found))


def _faults(dialog: QWidget, screen: tuple[int, int]) -> Iterator[str]:
    yield from room.faults_in(dialog)
    least = dialog.minimumSizeHint().expandedTo(dialog.minimumSize())
    for what, size in (("opens", dialog.size()), ("cannot be smaller than", least)):
        if size.width() > screen[0] or size.height() > screen[1]:
            yield f"{what} {size.width()} × {size.height()}: more than the screen leaves"


def _dialogs(window: MainWindow) -> Iterator[tuple[str, QWidget]]:
    """Each dialog, shown; it is closed before the next."""
    for key in KINDS:
        yield f"print {key}", window.show_print(key)
    yield "workshop", window.show_workshop()
    yield "preferences", window.habits.preferences()
    yield "finder", window.habits.find()
    yield "manual", window.help.manual()
    mechanism = window.page("mechanism")
    for name in ("typical", "outline", "turn", "picture"):
        dialog = getattr(mechanism, f"open_{name}")()
        yield name, dialog
        if name == "picture" and not window.store.docket.pictures:
            before = window.store.docket
            dialog = mechanism.open_picture()
            dialog.take_sample()
            yield "picture with a sample", dialog
            window.store.replace("before", before)
    yield "table", _table_dialog(window)
    left = [
        Leftover(
            Path("1.journal"), 1, window.store.docket, None, None, "2026-05-04 17:20", (), True
        ),
        Leftover(Path("2.journal"), 2, None, Path("/somewhere/else.docket"), None, "", (), False),
    ]
    dialog = RecoveryDialog(left, window.files.recovery, window)
    dialog.show()
    yield "recovery", dialog
    dialog.deleteLater()
    window.begin_timing()
    room.settle()
    yield "timing, cautions", window
    if window.timing is not None:
        window.timing.acknowledge()
        room.settle()
        yield "timing", window
        window.timing.leave()


def _table_dialog(window: MainWindow) -> QWidget:
    """The dialog of a table that was pasted, with columns not all of which are understood."""
    drafts: list[TakenDraft] = []
    taker = docket_taker("readings", window.store, window.display)
    taker.ask = lambda draft, _parent: drafts.append(draft)  # type: ignore[method-assign]
    path = window.settings.folder / "table.csv"
    path.write_text(_TABLE, encoding="utf-8")
    taker.take(read_source(path), "Import readings: table.csv", "Import readings", window)
    dialog = TableDialog(drafts[0], window)
    dialog.show()
    return dialog


def _boxes(window: MainWindow) -> dict[str, Callable[[], object]]:
    """What asks and waits for its answer."""
    ask = Dialogs()
    long_name = Path("/a/folder/" + "long " * 12)
    refused = ["“Stop”: “12 miles” is no angle. An angle is typed as 12, 12.5 or 12°."] * 9
    return {
        "unsaved": lambda: ask.unsaved(window, window.files.title()),
        "refused": lambda: ask.refused(window, refused),
        "overwrite": lambda: ask.overwrite(window, long_name),
        "sheet of a spreadsheet": lambda: ask.sheet(window, ["Readings", "Notes"]),
        "about": window.help.about,
    }


def _faults_of_box(
    name: str, call: Callable[[], object], screen: tuple[int, int], look: room.Look
) -> list[str]:
    """A box that waits for its answer is looked at from its own loop, then called off."""
    found = ["was not shown"]

    def away() -> None:
        box = QApplication.activeModalWidget()
        if box is not None:
            found[:] = _faults(box, screen)
            look(name, box)
            box.close()

    QTimer.singleShot(80, away)
    call()
    return found


# Paper ------------------------------------------------------------------------------------------


def prints() -> Iterator[tuple[str, Description]]:
    """Every print of every sample, on each paper, and of the dockets of the grid."""
    paths = sorted(room.SAMPLES.glob("*.docket"))
    dockets = {path.stem: room.read_docket(path) for path in paths}
    dockets |= {"empty": room.new_docket(), "longest": room._longest(), "wrong": room._wrong()}
    dockets["most columns"] = room._fullest()
    for (name, docket), paper in itertools.product(dockets.items(), PAPERS):
        judged = outcome(docket)
        view = View(drive_ratio=docket.particulars.ratio_taken)
        yield f"sheet {name} {paper}", describe(judged, paper, view)
        for key, kind in KINDS.items():
            asked = kind.asks(docket) if kind.asks else None
            if isinstance(asked, TapeSpec) and asked.diameter_mm is None:
                asked = asked.with_changes(diameter_mm=_PULLEY_MM)
            with contextlib.suppress(BobweightError):  # such as a lamp card without a curve
                made = kind.describe(Asked(judged, view, paper, Workshop()), asked)
                yield f"{key} {name} {paper}", made


def faults_of_prints(folder: Path | None) -> list[str]:
    """Texts over each other, shortened or off the page on any print, in words."""
    found = []
    for name, description in prints():
        for number, page in enumerate(description.pages, 1):
            found += [f"{name}, page {number}: {fault}" for fault in _faults_on(page)]
        if folder is not None:
            for number, page in enumerate(description.pages, 1):
                page_image(page, _DPI).save(str(folder / f"print {name} {number}.png"))
    return list(dict.fromkeys(found))


def _faults_on(page: PaperPage) -> Iterator[str]:
    written = list(texts(page))
    for words, _, (left, top, right, bottom) in written:
        beyond = max(-left, right - page.width_mm, -top, bottom - page.height_mm)
        if beyond > 0:
            yield f"“{words}” is {beyond:.1f} mm off the page"
        if "…" in words:
            yield f"“{words}” is shortened"
    for (one, _, a), (other, _, b) in itertools.combinations(written, 2):
        apart = max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])
        if apart <= _APART_MM:
            yield f"“{one}” meets “{other}”"
