"""Menus: every act has a name, a place and, where it is common, a key."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu

from bobweight.app.store.display import SWITCHED_QUANTITIES
from bobweight.app.theme import THEMES
from bobweight.app.widgets.plain import set_tip
from bobweight.app.window.display_bar import frame_text, quantity_text, theme_text
from bobweight.app.window.strip import page_keys
from bobweight.app.words import translate
from bobweight.core.figure.view import FRAMES
from bobweight.core.units import QUANTITIES

if TYPE_CHECKING:
    from bobweight.app.window.main_window import MainWindow

_Keys = QKeySequence.StandardKey


class Menus(QObject):
    """Builds the menu bar of a window; ``actions`` by key."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self.actions: dict[str, QAction] = {}
        self._file_menu()
        self._edit_menu()
        self._view_menu()
        self._help_menu()

    def _menu(self, title: str) -> QMenu:
        return self._window.menuBar().addMenu(title)

    def _add(
        self, menu: QMenu, key: str, text: str, act: Callable[[], object],
        keys: QKeySequence | _Keys | str | None = None,
    ) -> QAction:  # fmt: skip
        action = QAction(text, self._window)
        action.setObjectName(key)
        if isinstance(keys, _Keys):
            action.setShortcuts(QKeySequence.keyBindings(keys) or [])
        elif keys:
            action.setShortcut(QKeySequence(keys))
        action.triggered.connect(act)
        menu.addAction(action)
        self.actions[key] = action
        return action

    def _file_menu(self) -> None:
        window, files = self._window, self._window.files
        menu = self._menu(translate("menus", "&File"))
        self._add(menu, "new", translate("menus", "&New docket"), files.new, _Keys.New)
        self._add(menu, "open", translate("menus", "&Open…"), files.open, _Keys.Open)
        self.recent_menu = menu.addMenu(translate("menus", "Open &recent"))
        self.recent_menu.aboutToShow.connect(self.fill_recent)
        self._add(menu, "demo", translate("menus", "Open the &demo"), files.open_demo)
        menu.addSeparator()
        self._add(menu, "save", translate("menus", "&Save"), files.save, _Keys.Save)
        self._add(menu, "save_as", translate("menus", "Save &as…"), files.save_as, "Ctrl+Shift+S")
        menu.addSeparator()
        imports = menu.addMenu(translate("menus", "&Import a table"))
        exports = menu.addMenu(translate("menus", "&Export a table"))
        for key, text in (
            ("readings", translate("menus", "&Readings…")),
            ("target", translate("menus", "&Check points…")),
            ("vacuum", translate("menus", "&Vacuum check points…")),
        ):
            self._add(imports, f"import_{key}", text, files.import_asked).setData(key)
            self._add(exports, f"export_{key}", text, files.export_asked).setData(key)
        for key, text in (
            ("curve", translate("menus", "C&urve…")), ("verdict", translate("menus", "Ver&dict…"))
        ):  # fmt: skip
            self._add(exports, f"export_{key}", text, files.export_asked).setData(key)
        menu.addSeparator()
        self._add(
            menu, "sheet", translate("menus", "S&heet: print or save…"), window.show_sheet,
            _Keys.Print,
        )  # fmt: skip
        prints = menu.addMenu(translate("menus", "&Print"))
        for key, text in (
            ("tape", translate("menus", "&Timing tape…")),
            ("ring", translate("menus", "&Degree ring…")),
            ("card", translate("menus", "&Lamp card…")),
            ("session", translate("menus", "&Blank session sheet…")),
            ("steps", translate("menus", "&Reassembly list…")),
            ("measuring", translate("menus", "&Measuring card…")),
        ):
            self._add(prints, f"print_{key}", text, window.print_asked).setData(key)
        self._add(menu, "workshop", translate("menus", "&Workshop…"), window.show_workshop)
        menu.addSeparator()
        self._add(menu, "close", translate("menus", "&Close"), window.close, _Keys.Close)
        self._add(menu, "quit", translate("menus", "&Quit"), window.close, "Ctrl+Q")

    def _edit_menu(self) -> None:
        window, stack = self._window, self._window.store.undo_stack
        menu = self._menu(translate("menus", "&Edit"))
        undo = stack.createUndoAction(window, translate("menus", "&Undo"))
        undo.setShortcuts(QKeySequence.keyBindings(_Keys.Undo))
        redo = stack.createRedoAction(window, translate("menus", "&Redo"))
        redo.setShortcuts([QKeySequence("Ctrl+Shift+Z"), QKeySequence("Ctrl+Y")])
        for key, action in (("undo", undo), ("redo", redo)):
            menu.addAction(action)
            self.actions[key] = action
        menu.addSeparator()
        self._add(menu, "paste", translate("menus", "&Paste rows"), window.paste, "Ctrl+Shift+V")
        self._add(
            menu, "another", translate("menus", "Add a&nother spring, session or capsule"),
            window.add_another, "Ctrl+Shift+N",
        )  # fmt: skip
        habits = window.habits
        copies = menu.addMenu(translate("menus", "&Copy the curve"))
        for key, text, act in (
            ("copy_picture", translate("menus", "As a &picture"), habits.copy_picture),
            ("copy_vectors", translate("menus", "As &vectors"), habits.copy_vectors),
            ("copy_table", translate("menus", "As a &table"), habits.copy_table),
        ):
            self._add(copies, key, text, act)
        done = self._add(
            menu, "done", translate("menus", "It is &done: take the alteration in"),
            window.answer.take, "Ctrl+Return",
        )  # fmt: skip
        done.setShortcuts([QKeySequence("Ctrl+Return"), QKeySequence("Ctrl+Enter")])
        self._add(menu, "find", translate("menus", "&Find a field…"), habits.find, _Keys.Find)
        menu.addSeparator()
        self._add(
            menu,
            "ghost",
            translate("menus", "&Hold for comparison"),
            window.store.set_ghost,
            "Ctrl+G",
        )
        self._add(
            menu, "no_ghost", translate("menus", "&Drop what is held"), window.store.clear_ghost,
            "Ctrl+Shift+G",
        )  # fmt: skip

        menu.addSeparator()
        self._add(
            menu, "preferences", translate("menus", "Pre&ferences…"), habits.preferences, "Ctrl+,"
        )

    def _view_menu(self) -> None:
        window, display = self._window, self._window.display
        menu = self._menu(translate("menus", "&View"))
        for number, (key, title) in enumerate(window.titles.items(), start=1):
            action = self._add(menu, f"page_{key}", title, window.page_asked, page_keys(number))
            action.setData(key)
        menu.addSeparator()
        self._add(
            menu, "timing", translate("menus", "Timing-&light session"), window.begin_timing, "F9"
        )
        menu.addSeparator()
        self._add(menu, "next_zone", translate("menus", "&Next zone"), window.next_zone, "F6")
        self._add(
            menu, "previous_zone", translate("menus", "&Previous zone"), window.previous_zone,
            "Shift+F6",
        )  # fmt: skip
        self._add(
            menu, "next_part", translate("menus", "Next p&art of the page"), window.next_part, "F8"
        )
        self._add(
            menu, "previous_part", translate("menus", "Part of the page &before"),
            window.previous_part, "Shift+F8",
        )  # fmt: skip
        menu.addSeparator()
        frames = menu.addMenu(translate("menus", "&Shown at the"))
        self._frame_group = self._choices(
            frames, [(frame, frame_text(frame)) for frame in FRAMES], self._frame_chosen
        )
        toggle = self._add(
            menu, "toggle_frame", translate("menus", "Distributor, &crank or with static"),
            window.toggle_frame, "Ctrl+D",
        )  # fmt: skip
        set_tip(toggle, translate("menus", "Switch axes and results to the next of the three."))
        units = menu.addMenu(translate("menus", "&Units"))
        self._unit_groups: dict[str, QActionGroup] = {}
        for key in SWITCHED_QUANTITIES:
            symbols = [(unit.symbol, unit.symbol) for unit in QUANTITIES[key].units]
            inner = units.addMenu(quantity_text(key))
            self._unit_groups[key] = self._choices(inner, symbols, self._unit_chosen)
        habits = window.habits
        self._add(
            menu, "full_screen", translate("menus", "F&ull screen"), habits.full_screen, "F11"
        )
        sizes = menu.addMenu(translate("menus", "Si&ze of type"))
        self._add(sizes, "larger", translate("menus", "&Larger"), habits.larger).setShortcuts(
            [QKeySequence("Ctrl++"), QKeySequence("Ctrl+=")]
        )
        self._add(sizes, "smaller", translate("menus", "&Smaller"), habits.smaller, "Ctrl+-")
        self._add(sizes, "usual", translate("menus", "&Usual"), habits.usual, "Ctrl+0")
        themes = menu.addMenu(translate("menus", "&Theme"))
        self._theme_group = self._choices(
            themes, [(name, theme_text(name)) for name in THEMES], self._theme_chosen
        )
        display.changed.connect(self.follow)
        self.follow()

    def _choices(
        self, menu: QMenu, choices: list[tuple[str, str]], act: Callable[[QAction], None]
    ) -> QActionGroup:
        group = QActionGroup(self._window)
        for key, text in choices:
            action = menu.addAction(text)
            action.setCheckable(True)
            action.setData(key)
            group.addAction(action)
        group.triggered.connect(act)
        return group

    def _help_menu(self) -> None:
        menu = self._menu(translate("menus", "&Help"))
        self._add(menu, "manual", translate("menus", "&Manual"), self._window.help.manual, "F1")
        self._add(menu, "keys", translate("menus", "&Keyboard"), self._window.help.keys)
        self._add(menu, "about", translate("menus", "&About Bobweight"), self._window.help.about)

    def follow(self) -> None:
        """Tick what is set."""
        display = self._window.display
        self._tick(self._frame_group, display.view(self._window.store.docket).frame)
        for key, group in self._unit_groups.items():
            self._tick(group, display.unit(QUANTITIES[key]))
        self._tick(self._theme_group, self._window.settings.theme)

    def _tick(self, group: QActionGroup, data: str) -> None:
        for action in group.actions():
            action.setChecked(action.data() == data)

    def fill_recent(self) -> None:
        """List the files opened lately."""
        self.recent_menu.clear()
        for path in self._window.settings.recent:
            action = self.recent_menu.addAction(f"{path.name}    {path.parent}")
            action.setData(str(path))
            action.triggered.connect(self._recent_chosen)
        if self.recent_menu.isEmpty():
            self.recent_menu.addAction(translate("menus", "None yet")).setEnabled(False)

    def _recent_chosen(self) -> None:
        self._window.files.open_path(Path(cast(QAction, self.sender()).data()))

    def _frame_chosen(self, action: QAction) -> None:
        self._window.display.choose_frame(action.data(), self._window.store.docket)

    def _unit_chosen(self, action: QAction) -> None:
        for key, group in self._unit_groups.items():
            if action.actionGroup() is group:
                self._window.display.set_unit(key, action.data())

    def _theme_chosen(self, action: QAction) -> None:
        self._window.set_theme(action.data())
