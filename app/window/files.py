"""Opening, saving, recovering, and tables in and out. Nothing open is lost by what goes wrong."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QWidget

from bobweight.app import guard
from bobweight.app.messages import sentence
from bobweight.app.messages.recovery import typed_words
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.journal import Journal, Typed
from bobweight.app.store.open_mark import OpenMark
from bobweight.app.store.photographs import folder_of
from bobweight.app.store.places import sample_curve
from bobweight.app.store.session import Settings, fingerprint, fingerprint_of
from bobweight.app.widgets.dialogs import Dialogs
from bobweight.app.widgets.patience import Patience
from bobweight.app.window.notice import NoticeBar
from bobweight.app.window.recovery import Recovery
from bobweight.app.words import QT_TRANSLATE_NOOP, translate, unit_title, visible
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.file import clear_parts, read_docket, write_docket
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.problems import Path as DocketPath

if TYPE_CHECKING:
    from bobweight.app.store.faults import Ended
    from bobweight.core.tables.source import Source

DEMO = sample_curve("weak_primary.docket")
_IMPORTS = {
    "readings": QT_TRANSLATE_NOOP("files", "Import readings"),
    "target": QT_TRANSLATE_NOOP("files", "Import check points"),
    "vacuum": QT_TRANSLATE_NOOP("files", "Import vacuum check points"),
}
_EXPORTS = {
    "readings": QT_TRANSLATE_NOOP("files", "Export readings"),
    "target": QT_TRANSLATE_NOOP("files", "Export check points"),
    "vacuum": QT_TRANSLATE_NOOP("files", "Export vacuum check points"),
    "curve": QT_TRANSLATE_NOOP("files", "Export the curve"),
    "verdict": QT_TRANSLATE_NOOP("files", "Export the verdict"),
}


class FileDesk(QObject):
    """The docket's way to and from the disk.

    Signals
    -------
    begun()
        A new docket was begun.
    """

    begun = Signal()

    def __init__(
        self, window: QWidget, store: Store, display: Display, settings: Settings,
        notices: NoticeBar, dialogs: Dialogs,
    ) -> None:  # fmt: skip
        super().__init__(window)
        self._window = window
        self._store = store
        self._display = display
        self._settings = settings
        self._notices = notices
        self._dialogs = dialogs
        self._on_disk: str | None = None
        self._mark = OpenMark(settings.folder)
        self.journal = Journal(store, settings.folder, self)
        self.journal.fingerprint = self._fingerprint
        self.journal.failed.connect(self._journal_failed)
        self.journal.kept.connect(self._journal_kept)
        self.recovery = Recovery(self, window, settings.folder, notices)
        self.patiently = Patience(window)
        self.commit: Callable[[], None] = lambda: None
        self.refused: Callable[[], Sequence[Typed]] = tuple
        self.show_place: Callable[[DocketPath], None] = lambda _path: None
        self.log_text: Callable[[], str] = str

    # Beginning ------------------------------------------------------------------------------

    def first(self, path: Path | None) -> Path | None:
        """What a start opens: the file named, else the one last open; None for the demo."""
        if path is None and self._settings.flag("started"):
            return next(iter(self._settings.recent), None)
        return path

    def begin(self, path: Path | None = None, ended: Sequence[Ended] = ()) -> None:
        """What the window shows at first: the file named, else the demo on the first start of
        all, else the file last open. Work left by a crash is offered; what ended the last start
        is not opened again unasked."""
        first = self.first(path)
        QTimer.singleShot(0, self, partial(self._clear_parts, first))  # it may wait for the window
        self._settings.set_flag("started", True)
        failed = [end for end in ended if end.starting and end.file == str(first or "")]
        if failed:
            self._take(new_docket(), None)
            self._say_failed_start(first)
        elif first is None:
            self.open_demo()
        else:
            self.open_path(first)
            if ended:
                self._say_ended()
        self.recovery.offer()

    def _clear_parts(self, first: Path | None) -> None:
        """Take away what killed programs have left half written, where this one writes."""
        home = self._settings.folder
        folders = [home, home / "photographs", home / "running"]
        if first is not None:
            folders += [first.parent, folder_of(first)]
        for folder in folders:
            self.patiently.at_once(partial(clear_parts, folder), None)

    def _say_failed_start(self, path: Path | None) -> None:
        """The last start ended before its window could be used: this one begins empty."""
        text = translate("files", "The last start did not come to its end, so this begins empty.")
        acts = [(translate("files", "Show the log"), self.show_log)]
        if path is not None:
            said = translate(
                "files",
                "The last start ended while “{name}” was being opened, so this one begins empty. "
                "The file is as it was.",
            )
            text = said.format(name=visible(path.name, 200))
            self._failed = path
            acts.insert(0, (translate("files", "Open it all the same"), self._open_failed))
        self._notices.say(text, acts, "advice", "ended")

    def _open_failed(self) -> None:
        self.open_path(self._failed)

    def _say_ended(self) -> None:
        text = translate("files", "The program ended without warning the last time.")
        acts = [(translate("files", "Show the log"), self.show_log)]
        self._notices.say(text, acts, "advice", "ended")

    def show_log(self) -> None:
        """Show what was written down of faults."""
        text = self.log_text() or translate("files", "Nothing was written down.")
        self._dialogs.read(self._window, translate("files", "Log of faults"), text)

    def open_demo(self) -> None:
        """Open the demo as an untitled docket, so that it is never written over."""
        if not self.may_leave():
            return
        try:
            docket = read_docket(DEMO)
        except BobweightError:
            docket = new_docket()
        self._take(docket, None)

    def take_left(self, docket: Docket, path: Path | None, base: str | None) -> bool:
        """Take recovered work in place of what is open, and write it down anew. False if not.

        Parameters
        ----------
        base : str or None
            Fingerprint of the file when that work was begun on it.
        """
        if not self.may_leave():
            return False
        self._take(docket, path, unsaved=True)
        if path is not None:  # saved again since then, or come back: it is asked before it goes
            self._on_disk = base or "none"
        self.journal.write()
        return self.journal.path is not None and self.journal.trouble is None

    # Open and save --------------------------------------------------------------------------

    def new(self) -> None:
        """Begin an empty docket."""
        if self.may_leave():
            self._take(new_docket(), None)
            self.begun.emit()

    def open(self) -> None:
        """Ask for a docket and open it."""
        path = self._dialogs.open_docket(self._window, self._folder())
        if path is not None:
            self.open_path(path)

    def open_path(self, path: Path) -> bool:
        """Open a docket. If it cannot be read, say why and leave what is open."""
        try:  # the fingerprint before it is read: what comes after that is noticed
            before, docket = self.patiently(lambda: (fingerprint(path), read_docket(path)), path)
        except BobweightError as error:
            self._say(error.problem, path)
            return False
        if not self.may_leave():
            return False
        try:
            self._take(docket, path, on_disk=before)
        except Exception as error:
            guard.tell(error, "opening")
            self._take(new_docket(), None)
            return False
        self._settings.remember(path)
        return True

    def save(self) -> bool:
        """Save under the docket's name; ask for one if it has none. False if nothing was saved."""
        self.commit()
        path = self._store.file_path
        if path is None:
            return self.save_as()
        with self._mark.alone():
            try:
                changed = self._on_disk is not None and self._is_another(
                    self.patiently(lambda: fingerprint(path), path)
                )
            except BobweightError as error:
                self._say(error.problem, path)
                return False
            if changed:
                self._say_changed()
                return False
            return self._write(path)

    def save_as(self) -> bool:
        """Save under another name. False if nothing was saved."""
        self.commit()
        suggestion = self._store.file_path or self._folder() / f"{self.plain_title()}.docket"
        path = self._dialogs.save_docket(self._window, suggestion)
        return path is not None and self._write(path)

    def may_leave(self) -> bool:
        """True if what is open may be replaced or closed: saved, or given up. A text that was
        typed and refused is in no docket, so it is asked about first."""
        self.commit()
        refused = self.refused()
        if refused and not self._dialogs.refused(self._window, typed_words(refused)):
            self.show_place(tuple(refused[0].path))
            return False
        if not self._store.dirty:
            return True
        answer = self._dialogs.unsaved(self._window, self.title())
        return self.save() if answer == "save" else answer == "discard"

    def title(self) -> str:
        """What the open docket is called."""
        if self._store.file_path is not None:
            return self._store.file_path.name
        return unit_title(self._store.docket)

    def plain_title(self) -> str:
        """The title as a file name."""
        kept = "".join(c if c.isalnum() or c in " -_" else " " for c in self.title())
        return " ".join(kept.split())[:60] or "docket"

    def changed_on_disk(self) -> bool:
        """True if the file is not as it was last read or written here."""
        path = self._store.file_path
        if path is None or self._on_disk is None:
            return False
        return self._is_another(self.patiently.at_once(lambda: fingerprint(path), None))

    def _is_another(self, now: str | None) -> bool:
        """True if a file with this fingerprint is not as it was last read or written here."""
        return now is not None and now != self._on_disk

    def look_at_disk(self) -> None:
        """Say so if the file changed meanwhile (asked when the window comes to the front)."""
        if self.changed_on_disk():
            self._say_changed()

    def _write(self, path: Path) -> bool:
        try:
            docket = self._store.docket
            written = self.patiently(lambda: write_docket(docket, path), path)
        except BobweightError as error:
            self._say(error.problem)
            return False
        self._on_disk = fingerprint_of(written)
        self._store.mark_saved(path)
        self._keep_cautions()
        self._say_if_open_twice(path)
        self._settings.remember(path)
        self._notices.clear("disk")
        self._notices.clear("file")
        return True

    def _take(
        self, docket: Docket, path: Path | None, unsaved: bool = False, on_disk: str | None = None
    ) -> None:
        self._on_disk = on_disk
        self._say_if_open_twice(path)
        self._notices.clear("disk")
        self._notices.clear("file")
        self._keep_cautions()
        self._display.cautions_seen = self._settings.cautions_seen(path)
        self._store.open_docket(docket, path, unsaved)
        self._display.session = -1
        self._display.cautions_changed.emit()

    def _keep_cautions(self) -> None:
        self._settings.keep_cautions_seen(self._store.file_path, self._display.cautions_seen)

    def _fingerprint(self) -> str | None:
        """What the file was when it was last read or written here."""
        return self._on_disk

    def _say_if_open_twice(self, path: Path | None) -> None:
        """Mark the file as open here; say so if another window has it open."""
        if self._mark.take(path):
            self._notices.clear("open")
            return
        text = translate(
            "files",
            "“{name}” is open in another window too. Whoever saves second is asked before "
            "the work of the first is overwritten.",
        )
        name = visible(path.name, 200) if path else ""
        self._notices.say(text.format(name=name), (), "advice", "open")

    def _journal_failed(self, problem: Problem) -> None:
        self._notices.say(sentence(problem, None, self._display), topic="journal")

    def _journal_kept(self) -> None:
        self._notices.clear("journal")

    def _say_changed(self) -> None:
        path = self._store.file_path
        text = translate(
            "files", "“{name}” was changed on the disk by something else since it was opened here."
        ).format(name=path.name if path else "")
        acts = (
            (translate("files", "Keep mine under another name"), self._keep_mine),
            (translate("files", "Read theirs"), self._read_theirs),
            (translate("files", "Overwrite theirs"), self._overwrite),
        )
        self._notices.say(text, acts, "advice", "disk")

    def _keep_mine(self) -> None:
        self.save_as()

    def _read_theirs(self) -> None:
        """Take the docket from the disk, as an edit, so that undo brings mine back."""
        path = self._store.file_path
        assert path is not None  # it is asked of a docket with a file
        try:
            before, docket = self.patiently(lambda: (fingerprint(path), read_docket(path)), path)
        except BobweightError as error:
            self._say(error.problem)
            return
        self._store.replace(translate("files", "Read the file again"), docket)
        self._on_disk = before
        self._store.mark_saved(path)

    def _overwrite(self) -> None:
        if self._store.file_path is not None:
            self._write(self._store.file_path)

    def _say(self, problem: Problem, path: Path | None = None) -> None:
        """Say what is wrong, and with which file where the sentence does not name it."""
        text = sentence(problem, None, self._display)
        if path is not None and path.name not in text:
            text = translate("files", "“{name}”: {text}").format(name=path.name, text=text)
        self._notices.say(text, topic="file")

    def _folder(self) -> Path:
        if self._store.file_path is not None:
            return self._store.file_path.parent
        recent = self._settings.recent
        return recent[0].parent if recent else Path.home()

    # Tables ---------------------------------------------------------------------------------

    def import_asked(self) -> None:
        """Add the rows of a table to what the menu's act names."""
        self.import_table(cast(QAction, self.sender()).data())

    def import_table(self, kind: str) -> None:
        """Add the rows of a table to the session shown (``readings``), or to the target."""
        from bobweight.app.editors.take_table import docket_taker

        if kind == "readings" and self._display.session_index(self._store.docket) < 0:
            self._notices.say(
                translate("files", "There is no session to read into. Add one on Readings first."),
                topic="file",
            )
            return
        self.commit()
        title = translate("files", _IMPORTS[kind])
        chosen = self._dialogs.open_table(self._window, title, self._folder())
        if chosen is None:
            return
        try:
            source = self._read_table(chosen)
        except BobweightError as error:
            self._say(error.problem, chosen)
            return
        if source is None:
            return
        taker = docket_taker(kind, self._store, self._display)
        told = taker.take(source, f"{title}: {chosen.name}", title, self._window)
        if told is None:
            return
        shown = told[:6]
        if len(told) > 6:
            shown.append(translate("files", "and {count} more.").format(count=len(told) - 6))
        kind = "wrong" if len(told) > 1 else "plain"
        self._notices.say("\n".join(shown), kind=kind, topic="file")

    def _read_table(self, path: Path) -> Source | None:
        """A table's cells; of several sheets the one that is chosen, None if none is."""
        from bobweight.core.tables.source import read_source

        try:
            return self.patiently(lambda: read_source(path), path)
        except BobweightError as error:
            if error.problem.code != "several-sheets":
                raise
            sheets = cast(Sequence[str], error.problem.facts["sheets"])
        sheet = self._dialogs.sheet(self._window, sheets)
        return None if sheet is None else self.patiently(lambda: read_source(path, sheet), path)

    def export_asked(self) -> None:
        """Write the table that the menu's act names."""
        self.export_table(cast(QAction, self.sender()).data())

    def export_table(self, what: str) -> None:
        """Write a table, as :func:`core.tables.export.table_rows` names it."""
        from bobweight.core.tables.export import SUFFIXES, table_rows, write_table

        self.commit()
        docket = self._store.docket
        try:
            rows = table_rows(docket, what, self._display.session_index(docket))
        except BobweightError as error:
            self._say(error.problem)
            return
        suggestion = self._folder() / f"{self.plain_title()} {what}.csv"
        title = translate("files", _EXPORTS[what])
        chosen = self._dialogs.save_table(self._window, title, suggestion)
        if chosen is None:
            return
        if chosen.suffix.lower() not in SUFFIXES:
            chosen = chosen.with_name(chosen.name + ".csv")
        try:
            self.patiently(lambda: write_table(rows, chosen, what), chosen)
        except BobweightError as error:
            self._say(error.problem)

    def close(self) -> None:
        """The window closes; nothing unsaved is kept any more."""
        self._keep_cautions()
        self.journal.close()
        self._mark.release()
