"""Name, address and sign of the workshop, for the head of printed pages."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.editors.entry import Lines
from bobweight.app.guard import guarded
from bobweight.app.messages import sentence
from bobweight.app.store.session import Settings
from bobweight.app.store.workshop import LOGO_SUFFIXES, keep_fields, kept_fields, read_logo
from bobweight.app.widgets.card import in_row
from bobweight.app.widgets.plain import set_tip
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import translate
from bobweight.core.problems import BobweightError


class WorkshopDialog(QDialog):
    """Kept in the settings, not in the docket: it heads every sheet from now on."""

    def __init__(self, settings: Settings, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.settings = settings
        self.setWindowTitle(translate("prints", "Workshop"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        name, address, logo = kept_fields(settings)
        self.name_edit = QLineEdit(name)
        self.name_edit.setMaxLength(120)
        self.name_edit.setAccessibleName(translate("prints", "Name"))
        self.address_edit = QPlainTextEdit(address)
        self.address_edit.setTabChangesFocus(True)
        self.address_edit.setAccessibleName(translate("prints", "Address"))
        self.address_edit.setFixedHeight(self.fontMetrics().lineSpacing() * 5)
        self.logo_edit = QLineEdit(logo)
        self.logo_edit.setAccessibleName(translate("prints", "Sign"))
        set_tip(
            self.logo_edit,
            translate("prints", "A picture that stands at the right of the heading."),
        )
        choose = QPushButton(translate("prints", "Choose…"))
        choose.setAutoDefault(False)
        choose.clicked.connect(self.choose_logo)
        beside = in_row(self.logo_edit, choose, stretch=False)
        lines = Lines()
        lines.add(translate("prints", "Name"), self.name_edit)
        lines.add(translate("prints", "Address"), self.address_edit)
        lines.add(translate("prints", "Sign"), beside)
        self.said = AnswerLabel()
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(lines)
        layout.addWidget(self.said)
        layout.addWidget(buttons)
        self.resize(560, self.sizeHint().height())

    def choose_logo(self) -> None:
        """Ask for a picture."""
        kinds = " ".join(f"*{suffix}" for suffix in LOGO_SUFFIXES)
        name, _ = QFileDialog.getOpenFileName(
            self, translate("prints", "Sign of the workshop"), str(Path.home()),
            f"{translate('prints', 'Pictures')} ({kinds})",
        )  # fmt: skip
        if name:
            self.logo_edit.setText(name)

    @guarded
    def accept(self) -> None:
        """Keep it, unless the picture cannot be read."""
        logo = self.logo_edit.text().strip()
        if logo:
            try:
                read_logo(Path(logo))
            except BobweightError as error:
                self.said.say(sentence(error.problem), "wrong")
                return
        keep_fields(self.settings, self.name_edit.text().strip(),
                    self.address_edit.toPlainText().strip(), logo)  # fmt: skip
        super().accept()
