"""What a table is understood to say, shown before it is taken: columns that can be changed by hand,
rows that would be taken, and rows that would not and why."""

from __future__ import annotations

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QHeaderView,
    QPushButton,
    QScrollArea,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.editors.take_table import TakenDraft
from bobweight.app.guard import guarded
from bobweight.app.messages.table_words import (
    column_reason,
    meaning_text,
    stored_text,
    table_sentence,
)
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import allow
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.dialogs import open_at
from bobweight.app.widgets.plain import PlainLabel, tip_text
from bobweight.app.words import QT_TRANSLATE_NOOP, counted, translate, visible
from bobweight.core.problems import BobweightError
from bobweight.core.tables.headings import IGNORED, MEANINGS, QUANTITY_OF, ROW_NUMBER, UNKNOWN
from bobweight.core.tables.understood import Choice, Understanding, UnderstoodColumn, UnderstoodRow
from bobweight.core.units import ANGLE, SPEED

_Index = QModelIndex | QPersistentModelIndex
_ROOT = QModelIndex()
_UNIT_SIGNS = 7  # rev/min
_EXAMPLES, _EXAMPLE_SIGNS = 3, 24
_SPEED_FRAMES = {
    "distributor": QT_TRANSLATE_NOOP("tables", "distributor"),
    "crank": QT_TRANSLATE_NOOP("tables", "crank"),
}
_ANGLE_FRAMES = {
    "distributor": QT_TRANSLATE_NOOP("tables", "distributor"),
    "crank": QT_TRANSLATE_NOOP("tables", "crank, without static"),
    "crank-static": QT_TRANSLATE_NOOP("tables", "crank, with static"),
}


class RowsModel(QAbstractTableModel):
    """The lines of the table: what would be stored of each, or why it is left out."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[UnderstoodRow, ...] = ()

    def show(self, rows: tuple[UnderstoodRow, ...]) -> None:
        """Show other rows, the refused ones first."""
        self.beginResetModel()
        self._rows = tuple(sorted(rows, key=lambda row: row.problem is None))
        self.endResetModel()

    @guarded
    def rowCount(self, parent: _Index = _ROOT) -> int:
        return 0 if parent.isValid() else len(self._rows)

    @guarded
    def columnCount(self, parent: _Index = _ROOT) -> int:
        return 0 if parent.isValid() else 2

    @guarded
    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        if role != Qt.ItemDataRole.DisplayRole or orientation != Qt.Orientation.Horizontal:
            return None
        titles = (translate("tables", "Line"), translate("tables", "What is stored, or why not"))
        return titles[section]

    @guarded
    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid() or role not in (
            Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole,
        ):  # fmt: skip
            return None
        row = self._rows[index.row()]
        text = str(row.line) if index.column() == 0 else self._text(row)
        return tip_text(text) if role == Qt.ItemDataRole.ToolTipRole else visible(text, 300)

    def _text(self, row: UnderstoodRow) -> str:
        if row.problem is not None:
            return "▲ " + table_sentence(row.problem)
        parts = [stored_text(record) for record in row.stored]
        if "no_advance_below_rpm" in row.settings:
            speed = row.settings["no_advance_below_rpm"]
            text = translate("tables", "no advance below {speed} rev/min")
            parts.append(text.format(speed=f"{speed:g}"))
        parts += [table_sentence(advice) for advice in row.advice]
        return "; ".join(parts)


class ColumnRow:
    """The boxes of one column: meaning, frame, unit, and why it is not sure."""

    def __init__(self, kind: str, column: UnderstoodColumn, heading: str, examples: str) -> None:
        self.index = column.index
        self.heading = PlainLabel(heading)
        self.examples = PlainLabel(examples)
        self.examples.setWordWrap(True)
        set_role(self.examples, "faint")
        self.meaning, self.frame, self.unit = QuietComboBox(), QuietComboBox(), QuietComboBox()
        names = (
            translate("tables", "What column {number} is"),
            translate("tables", "Frame of column {number}"),
            translate("tables", "Unit of column {number}"),
        )
        for box, name in zip((self.meaning, self.frame, self.unit), names, strict=True):
            box.setAccessibleName(name.format(number=column.index))
            box.setSizeAdjustPolicy(QuietComboBox.SizeAdjustPolicy.AdjustToContents)
        self.unit.setMinimumContentsLength(_UNIT_SIGNS)
        for key in (*MEANINGS[kind], ROW_NUMBER, UNKNOWN, IGNORED):
            self.meaning.addItem(meaning_text(key), key)
        self.reason = PlainLabel()
        self.reason.setWordWrap(True)

    def show(self, column: UnderstoodColumn) -> None:
        """Show how the column is understood now."""
        self.meaning.setCurrentIndex(self.meaning.findData(column.meaning))
        quantity = QUANTITY_OF.get(column.meaning)
        frames = _SPEED_FRAMES if quantity is SPEED else _ANGLE_FRAMES if quantity is ANGLE else {}
        self.frame.clear()
        for key, text in frames.items():
            self.frame.addItem(translate("tables", text), key)
        self.frame.setCurrentIndex(self.frame.findData(column.frame))
        plain = translate("tables", "What this column is has no shaft and no unit.")
        allow(self.frame, bool(frames) and column.frame is not None, plain)
        self.unit.clear()
        for unit in quantity.units if quantity else ():
            self.unit.addItem(unit.symbol, unit.symbol)
        self.unit.setCurrentIndex(self.unit.findData(column.unit))
        allow(self.unit, quantity is not None, plain)
        reason = column_reason(column)
        self.reason.show_text(f"▲ {reason}" if reason else "")
        set_role(self.reason, "advice")

    def chosen(self) -> Choice:
        """What the boxes say."""
        meaning = self.meaning.currentData()
        if meaning not in QUANTITY_OF:
            return Choice(meaning)
        return Choice(meaning, self.unit.currentData(), self.frame.currentData())


class TableDialog(QDialog):
    """Shows a draft; whoever presses the button agrees to what is shown."""

    def __init__(self, draft: TakenDraft, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.draft = draft
        self.chosen: dict[int, Choice] = {}
        self.understanding = draft.understood()
        self.setWindowTitle(draft.title)
        open_at(self, 980, 720)
        layout = QVBoxLayout(self)
        if self.understanding.encoding:
            text = translate("tables", "The file is not UTF-8. It was read as {encoding}: look "
                             "whether ° and ± are right.")  # fmt: skip
            layout.addWidget(PlainLabel(text.format(encoding=self.understanding.encoding)))
        self.columns = self._column_rows()
        layout.addWidget(self._column_area(), 1)
        self.model = RowsModel(self)
        self.rows = QTableView()
        self.rows.setModel(self.model)
        self.rows.setAccessibleName(translate("tables", "Rows of the table"))
        self.rows.verticalHeader().hide()
        self.rows.setSelectionBehavior(QTableView.SelectionBehavior.SelectRows)
        header = self.rows.horizontalHeader()
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        header.resizeSection(0, self.fontMetrics().horizontalAdvance("00000000"))
        layout.addWidget(self.rows, 1)
        self.summary = PlainLabel()
        self.summary.setWordWrap(True)
        layout.addWidget(self.summary)
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.take_button = QPushButton()
        # not AcceptRole: the box would make it the default, whatever is not sure
        self.buttons.addButton(self.take_button, QDialogButtonBox.ButtonRole.ActionRole)
        self.take_button.clicked.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        layout.addWidget(self.buttons)
        for row in self.columns:
            row.meaning.activated.connect(self._changed)
            row.frame.activated.connect(self._changed)
            row.unit.activated.connect(self._changed)
        self._show()
        self._begin()

    def _column_rows(self) -> list[ColumnRow]:
        rows = []
        for column in self.understanding.columns:
            heading = column.heading or translate("tables", "(no heading)")
            cells = self.understanding.examples(column.index, _EXAMPLES)
            between = "; " if any("," in cell for cell in cells) else ", "
            shown = between.join(visible(cell, _EXAMPLE_SIGNS) for cell in cells)
            rows.append(ColumnRow(self.understanding.kind, column, heading, shown))
        return rows

    def _column_area(self) -> QWidget:
        inner = QWidget()
        grid = QGridLayout(inner)
        titles = (
            translate("tables", "Column"), translate("tables", "Holds"),
            translate("tables", "Is"), translate("tables", "At the"), translate("tables", "Unit"),
        )  # fmt: skip
        for at, title in enumerate(titles):
            label = PlainLabel(title)
            set_role(label, "faint")
            grid.addWidget(label, 0, at)
        for at, row in enumerate(self.columns):
            widgets = (row.heading, row.examples, row.meaning, row.frame, row.unit)
            for column, widget in enumerate(widgets):
                grid.addWidget(widget, 2 * at + 1, column)
            grid.addWidget(row.reason, 2 * at + 2, 0, 1, 5)
        grid.setHorizontalSpacing(12)
        grid.setColumnStretch(1, 1)
        grid.setRowStretch(2 * len(self.columns) + 1, 1)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setWidget(inner)
        return area

    def _begin(self) -> None:
        """The keyboard goes to what is not sure, so that Enter takes nothing unseen."""
        doubtful = [c.index for c in self.understanding.columns if c.matters and not c.sure]
        if doubtful:
            self.columns[doubtful[0] - 1].meaning.setFocus()
            self.take_button.setAutoDefault(False)
            cancel = self.buttons.button(QDialogButtonBox.StandardButton.Cancel)
            cancel.setAutoDefault(False)
        else:
            self.take_button.setDefault(True)
            self.take_button.setFocus()

    def _changed(self, _index: int) -> None:
        sender = self.sender()
        for row in self.columns:
            if sender in (row.meaning, row.frame, row.unit):
                choice = row.chosen()
                if sender is row.meaning:  # unit and frame are those of another meaning
                    choice = Choice(choice.meaning)
                self.choose(row.index, choice)

    def choose(self, index: int, choice: Choice) -> None:
        """Say what a column (from 1) is."""
        chosen = {**self.chosen, index: choice}
        try:
            self.understanding = self.draft.understood(chosen)
        except BobweightError as error:
            self.summary.setText("▲ " + table_sentence(error.problem))
            return
        self.chosen = chosen
        self._show()

    def _show(self) -> None:
        found = self.understanding
        for row, column in zip(self.columns, found.columns, strict=True):
            row.show(column)
        self.model.show(found.rows)
        lacking = [p for p in found.problems if p.code == "column-needed"]
        count, refused = len(found.stored), len(found.refused)
        parts = [table_sentence(problem) for problem in lacking]
        if refused:
            one = translate("tables", "One line is not taken; it heads the list.")
            many = translate("tables", "{count} lines are not taken; they head the list.")
            parts.append(counted(refused, one, many))
        if found.passed_over:
            one = translate("tables", "One line is a heading, a title or a comment.")
            many = translate("tables", "{count} lines are headings, titles or comments.")
            parts.append(counted(len(found.passed_over), one, many))
        self.summary.setText(" ".join(parts))
        set_role(self.summary, "wrong" if lacking else "faint")
        one = translate("tables", "Take the one row as shown")
        many = translate("tables", "Take {count} rows as shown")
        self.take_button.setText(counted(count, one, many))
        none = translate("tables", "No line of it can be taken.")
        may = not lacking and bool(count or found.settings)
        allow(self.take_button, may, " ".join(map(table_sentence, lacking)) or none)


def ask(draft: TakenDraft, parent: QWidget | None) -> Understanding | None:
    """Show a draft; what is agreed to, or None if it was called off."""
    dialog = TableDialog(draft, parent)
    try:
        if dialog.exec() != QDialog.DialogCode.Accepted:
            return None
        return dialog.understanding
    finally:
        dialog.deleteLater()
