"""Fields that come to stand in two columns are laid out in their turn, not inside one another: on
a screen of 1920 × 1080 the Findings page as the first one shown went so deep that it ended the
process."""

from __future__ import annotations

from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from bobweight.app.editors.columns import InColumns, LabelledRows


class Watched(LabelledRows):
    """Notes how deep it is laid out within another's laying out."""

    depth = deepest = 0

    def flow(self) -> None:
        """As of the rows."""
        Watched.depth += 1
        Watched.deepest = max(Watched.deepest, Watched.depth)
        super().flow()
        Watched.depth -= 1


def test_rows_that_come_to_stand_otherwise_are_not_laid_out_inside_one_another(qtbot):
    Watched.deepest = 0
    page = QWidget()
    qtbot.addWidget(page)
    column = QVBoxLayout(page)
    groups = []
    for _ in range(3):
        rows = [Watched() for _ in range(4)]
        for each in rows:
            each.add_row("A label", QWidget())
            each.show_rows([beside for _, beside, _ in each._rows])
        groups.append(InColumns(*rows))
        column.addWidget(groups[-1])
    page.show()
    for width in (300, 1400, 300, 1400):
        page.resize(width, 600)
        for _ in range(4):
            QApplication.processEvents()
        sides = {each.mapTo(page, each.rect().topLeft()).x() for each in groups[0]._widgets}
        assert len(sides) == (2 if width > 1000 else 1)
    assert Watched.deepest == 1
