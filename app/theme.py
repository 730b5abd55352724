"""Colours, shapes and sizes, in a light and a dark theme.

The curve colours have the hues of Okabe and Ito's set (Color Universal Design, 2008), which people
with any of the common kinds of colour blindness can tell apart, darkened or lightened until words
in them can be read; line style and shape of mark say the same once more, so that a grey print keeps
the difference. ``tests/app/test_contrast.py`` holds every colour to its contrast.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication, QLabel, QStyleFactory, QWidget

from bobweight.app import typeface
from bobweight.core.frozen import frozen

_ICONS = Path(__file__).with_name("icons")
THEMES = ("light", "dark", "system")
ZOOMS = (80, 90, 100, 110, 125, 150, 175, 200)
"""Sizes of type that may be chosen, per cent of the system's."""
_LEAST_PT = 11.0
_scale = [1.0]  # of all type, as last applied
_high = [False]  # whether high contrast is on, as last applied

MARKS = MappingProxyType(
    {
        "rising": "t1",  # triangle, point up
        "falling": "t",  # triangle, point down
        "unknown": "o",
        "left_out": "x",
        "check_point": "s",
        "jump": "d",
    }
)
"""Shape of each mark on the board, as pyqtgraph names shapes."""

VERDICT_SIGNS = MappingProxyType({
    "inside": "✓", "looks inside": "✓", "outside": "✗", "looks outside": "✗", "cannot tell": "?",
    "cannot be told": "?",
    "not read": "?", "being judged": "…",
})  # fmt: skip
STATE_SIGNS = MappingProxyType({"empty": "○", "begun": "◐", "wrong": "▲", "done": "✓"})


@frozen
class Theme:
    """All colours as ``#rrggbb``; sizes in points (``_pt``) or logical pixels (``_px``)."""

    name: str
    desk: str  # behind everything
    paper: str  # plots, fields
    raised: str  # cards, buttons
    ink: str
    faint: str  # secondary text
    line: str  # frames of fields and cards
    grid: str
    accent: str
    on_accent: str
    wrong: str
    advice: str
    good: str
    # Curves and marks
    rising: str
    falling: str
    ghost: str
    band: str
    target: str
    reading: str
    reading_left_out: str
    capsule: str
    jump: str
    pointer: str
    # Parts in the plan view
    base_plate: str
    weight: str
    foot: str
    cam: str
    stop: str
    pin: str
    spring_primary: str
    spring_secondary: str
    spring_further: str
    marks: Mapping[str, str] = field(default_factory=lambda: MARKS)
    text_pt: float = 11.0
    small_pt: float = 10.0
    heading_pt: float = 15.0
    curve_px: float = 2.0
    mark_px: float = 11.0

    def verdict(self, verdict: str | None) -> str:
        """Colour of a verdict; ``VERDICT_SIGNS`` says it by shape."""
        return {
            "inside": self.good, "looks inside": self.good, "outside": self.wrong,
            "looks outside": self.wrong, "being judged": self.faint,
        }.get(verdict or "", self.advice)  # fmt: skip

    def spring(self, role: str) -> str:
        """Colour of a spring by its role."""
        return {"primary": self.spring_primary, "secondary": self.spring_secondary}.get(
            role, self.spring_further
        )


LIGHT = Theme(
    name="light", desk="#f1efe9", paper="#fffefb", raised="#faf8f3", ink="#1d2228",
    faint="#565c64", line="#85837b", grid="#dcd9d1", accent="#1b5e8c", on_accent="#ffffff",
    wrong="#a83600", advice="#745200", good="#00694c",
    rising="#0061a8", falling="#a84300", ghost="#686560", band="#d3ebe0", target="#00694c",
    reading="#1d2228", reading_left_out="#686560", capsule="#0061a8", jump="#9b2a74",
    pointer="#1b5e8c", base_plate="#e8e4db", weight="#cdd5db", foot="#d0dde7", cam="#bac6cf",
    stop="#1d2228", pin="#1d2228", spring_primary="#0061a8", spring_secondary="#a84300",
    spring_further="#9b2a74",
)  # fmt: skip

DARK = Theme(
    name="dark", desk="#1c2024", paper="#14171a", raised="#252a2f", ink="#e8e6e0",
    faint="#abb0b5", line="#7d858d", grid="#31373d", accent="#86bde6", on_accent="#10161b",
    wrong="#ff9d66", advice="#e6c04d", good="#5fcca8",
    rising="#6cbdee", falling="#eba41c", ghost="#b3aea4", band="#193f34", target="#5fcca8",
    reading="#e8e6e0", reading_left_out="#b3aea4", capsule="#6cbdee", jump="#e59ac4",
    pointer="#86bde6", base_plate="#2b3136", weight="#3a454d", foot="#434f58", cam="#4c5963",
    stop="#e8e6e0", pin="#e8e6e0", spring_primary="#6cbdee", spring_secondary="#eba41c",
    spring_further="#e59ac4",
)  # fmt: skip


HIGH = MappingProxyType(
    {
        "light": replace(
            LIGHT, desk="#ffffff", paper="#ffffff", raised="#ffffff", ink="#000000",
            faint="#2b2b2b", line="#000000", grid="#a3a3a3", accent="#003d66", wrong="#8a2400",
            advice="#523900", good="#00523b", rising="#0049b8", falling="#8f3500", ghost="#45423e",
            target="#005a2e", reading="#000000", reading_left_out="#45423e", capsule="#0049b8",
            jump="#7c1a5a", pointer="#003d66", stop="#000000", pin="#000000",
            spring_primary="#0049b8", spring_secondary="#8f3500", spring_further="#7c1a5a",
        ),
        "dark": replace(
            DARK, desk="#000000", paper="#000000", raised="#202020", ink="#ffffff",
            faint="#dcdcdc", line="#ffffff", grid="#6e6e6e", accent="#a8d8ff", on_accent="#000000",
            reading="#ffffff", reading_left_out="#d3cec4", ghost="#d3cec4", stop="#ffffff",
            pin="#ffffff",
        ),
    }
)  # fmt: skip
"""For who needs it: words at 7 to 1 and more, borders at full strength."""
CONTRASTS = ("system", "usual", "high")


def theme_for(source: QPalette | str | None = None) -> Theme:
    """The theme of a name, or of a palette (by its lightness), or of the application as it is."""
    if isinstance(source, str):
        return _scaled(_named(source).name, _scale[0], _high[0])
    palette = source if source is not None else QGuiApplication.palette()
    dark = palette.color(QPalette.ColorRole.Window).lightnessF() < 0.5
    return _scaled("dark" if dark else "light", _scale[0], _high[0])


@lru_cache(maxsize=4 * len(ZOOMS))
def _scaled(name: str, scale: float, high: bool) -> Theme:
    """A theme with type of another size, and its contrast."""
    theme = HIGH[name] if high else _named(name)
    if scale == 1.0:
        return theme
    sizes = ("text_pt", "small_pt", "heading_pt", "mark_px")
    return replace(theme, **{key: getattr(theme, key) * scale for key in sizes})


def type_scale(zoom: int) -> float:
    """Size of type as a multiple of the theme's: the system's own where that is larger, times the
    zoom in per cent."""
    system = QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont).pointSizeF()
    return round(max(system / _LEAST_PT, 1.0) * zoom / 100.0, 3)


def _named(name: str) -> Theme:
    if name == "system":
        scheme = QGuiApplication.styleHints().colorScheme()
        return DARK if scheme == Qt.ColorScheme.Dark else LIGHT
    return {"light": LIGHT, "dark": DARK}[name]


def wants_contrast() -> bool:
    """Whether the system asks for high contrast."""
    hints = QGuiApplication.styleHints()  # held: PySide takes what it owns down with it
    accessibility = hints.accessibility()
    return accessibility.contrastPreference() == Qt.ContrastPreference.HighContrast


def is_high() -> bool:
    """Whether high contrast is on."""
    return _high[0]


_EFFECTS = (
    Qt.UIEffect.UI_AnimateMenu, Qt.UIEffect.UI_FadeMenu, Qt.UIEffect.UI_AnimateCombo,
    Qt.UIEffect.UI_AnimateTooltip, Qt.UIEffect.UI_FadeTooltip, Qt.UIEffect.UI_AnimateToolBox,
)  # fmt: skip
_of_the_system: dict[Qt.UIEffect, bool] = {}


def still(reduced: bool) -> None:
    """Let menus, lists and tips appear at once, or as the system has them; the program itself moves
    nothing that no hand moves."""
    for effect in _EFFECTS:
        known = _of_the_system.setdefault(effect, QApplication.isEffectEnabled(effect))
        QApplication.setEffectEnabled(effect, known and not reduced)


def apply_theme(app: QApplication, name: str, zoom: int = 100, contrast: str = "usual") -> Theme:
    """Give the application its style, palette, type size and frames. Returns the theme taken.

    ``contrast`` is one of ``CONTRASTS``; ``zoom`` is in per cent of the system's size of type.

    Widgets that paint for themselves read ``theme_for(self.palette())`` again on
    ``QEvent.Type.PaletteChange`` or ``ApplicationPaletteChange``.
    """
    _scale[0] = type_scale(zoom)
    _high[0] = contrast == "high" or (contrast == "system" and wants_contrast())
    theme = theme_for(name)
    before = app.styleSheet()
    if not before and app.style().objectName().lower() != "fusion":
        app.setStyle(QStyleFactory.create("Fusion"))
    font = QFont(typeface.load())
    font.setPointSizeF(theme.text_pt)
    if (app.font().family(), app.font().pointSizeF()) != (font.family(), font.pointSizeF()):
        app.setFont(font)
    app.setPalette(palette_of(theme))
    sheet = _sheet(theme)
    if sheet != before:  # Qt would style every widget anew
        app.setStyleSheet(sheet)
    return theme


def palette_of(theme: Theme) -> QPalette:
    """The theme as a Qt palette."""
    palette = QPalette()
    role = QPalette.ColorRole
    colours = {
        role.Window: theme.desk, role.WindowText: theme.ink, role.Base: theme.paper,
        role.AlternateBase: theme.raised, role.Text: theme.ink, role.Button: theme.raised,
        role.ButtonText: theme.ink, role.BrightText: theme.wrong, role.ToolTipBase: theme.raised,
        role.ToolTipText: theme.ink, role.PlaceholderText: theme.faint,
        role.Highlight: theme.accent, role.HighlightedText: theme.on_accent,
        role.Link: theme.accent, role.LinkVisited: theme.accent, role.Accent: theme.accent,
        role.Light: theme.raised, role.Midlight: theme.grid, role.Mid: theme.line,
        role.Dark: theme.line, role.Shadow: theme.line,
    }  # fmt: skip
    for which, colour in colours.items():
        palette.setColor(which, QColor(colour))
    disabled = QPalette.ColorGroup.Disabled
    for which in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(disabled, which, QColor(theme.faint))
    return palette


def _sheet(theme: Theme) -> str:
    """Frames and spacing that a palette cannot say."""
    tick = (_ICONS / f"tick-{theme.name}.svg").as_posix()
    arrow = (_ICONS / f"arrow-{theme.name}.svg").as_posix()
    return f"""
    QToolTip {{ color: {theme.ink}; background: {theme.raised}; border: 1px solid {theme.line};
        padding: 4px; }}
    QLineEdit, QPlainTextEdit {{ border: 1px solid {theme.line}; border-radius: 3px;
        background: {theme.paper}; padding: 4px 6px; min-height: 1.4em;
        selection-background-color: {theme.accent}; selection-color: {theme.on_accent}; }}
    QLineEdit[assumed="true"] {{ border: 1px dashed {theme.line}; background: {theme.raised};
        font-style: italic; }}
    QLineEdit:focus, QPlainTextEdit:focus {{ border: 2px solid {theme.accent};
        padding: 3px 5px; }}
    QLineEdit[refused="true"] {{ border: 2px solid {theme.wrong}; padding: 3px 5px; }}
    QComboBox {{ border: 1px solid {theme.line}; border-radius: 3px; background: {theme.raised};
        min-height: 1.4em; padding: 4px 2px 4px 6px; }}
    QComboBox[assumed="true"] {{ border: 1px dashed {theme.line}; color: {theme.faint};
        font-style: italic; }}
    QComboBox:hover {{ border-color: {theme.accent}; }}
    QComboBox:focus, QComboBox:on {{ border: 2px solid {theme.accent}; padding: 3px 1px 3px 5px; }}
    QComboBox:disabled {{ color: {theme.faint}; border-color: {_between(theme.grid, theme.line)};
        background: transparent; }}
    QComboBox::drop-down {{ border: none; width: 20px; }}
    QComboBox::down-arrow {{ image: url("{arrow}"); width: 10px; height: 10px; }}
    QComboBox QAbstractItemView {{ border: 1px solid {theme.line}; background: {theme.paper};
        selection-background-color: {theme.accent}; selection-color: {theme.on_accent}; }}
    QPushButton {{ border: 1px solid {theme.line}; border-radius: 3px; background: {theme.raised};
        padding: 6px 12px; }}
    QPushButton:hover {{ border-color: {theme.accent}; }}
    QPushButton:focus {{ border: 2px solid {theme.accent}; padding: 5px 11px; }}
    QPushButton:checked {{ border: 2px solid {theme.accent}; padding: 5px 11px; font-weight: 600;
        background: {theme.paper}; color: {theme.accent}; }}
    QPushButton:checked:focus {{ border: 3px solid {theme.accent}; padding: 4px 10px; }}
    QPushButton:pressed {{ background: {theme.grid}; }}
    QPushButton:disabled {{ color: {theme.faint}; border-color: {_between(theme.grid, theme.line)};
        background: transparent; }}
    QLabel[role="heading"] {{ font-size: {theme.heading_pt}pt; }}
    QLabel[role="group"] {{ font-weight: 600; color: {theme.accent}; }}
    QToolButton[role="fold"] {{ border: none; border-radius: 3px; padding: 4px;
        background: transparent; }}
    QToolButton[role="fold"]:hover, QToolButton[role="fold"]:focus {{
        background: {theme.grid}; }}
    QToolButton[role="section"] {{ font-weight: 600; color: {theme.accent}; border: none;
        min-height: 28px; padding: 2px 4px; }}
    QToolButton[role="section"]:hover, QToolButton[role="section"]:focus {{
        background: {theme.grid}; border-radius: 3px; }}
    QLabel[beside="true"] {{ padding-top: 8px; }}
    QLabel[role="faint"] {{ color: {theme.faint}; }}
    QLabel[role="wrong"] {{ color: {theme.wrong}; }}
    QLabel[role="advice"] {{ color: {theme.advice}; }}
    QLabel[role="note"] {{ color: {theme.ink}; background: {theme.paper};
        border-left: 3px solid {theme.advice}; padding: 4px 10px; }}
    QFrame[role="card"] {{ background: {theme.raised}; border: 1px solid {theme.grid};
        border-radius: 4px; }}
    QFrame[role="card"] QLabel {{ border: none; background: transparent; }}
    QTableView {{ gridline-color: {theme.grid}; border: 1px solid {theme.line};
        background: {theme.paper}; alternate-background-color: {theme.raised}; }}
    QTableView:focus {{ border: 1px solid {theme.accent}; }}
    QListWidget[role="list"] {{ border: 1px solid {theme.line}; background: {theme.paper}; }}
    QListWidget[role="list"]::item {{ padding: 5px 6px; border-bottom: 1px solid {theme.grid}; }}
    QListWidget[role="list"]::item:selected {{ background: {theme.accent};
        color: {theme.on_accent}; }}
    QTableCornerButton::section {{ background: {theme.raised}; border: none;
        border-bottom: 1px solid {theme.line}; border-right: 1px solid {theme.grid}; }}
    QHeaderView::section {{ background: {theme.raised}; color: {theme.ink}; border: none;
        border-bottom: 1px solid {theme.line}; border-right: 1px solid {theme.grid};
        padding: 4px 3px; }}
    QRadioButton::indicator, QCheckBox::indicator, QTableView::indicator {{
        width: 14px; height: 14px; border: 1px solid {theme.faint}; background: {theme.paper}; }}
    QRadioButton::indicator {{ border-radius: 8px; }}
    QCheckBox::indicator, QTableView::indicator {{ border-radius: 2px; }}
    QCheckBox::indicator:checked, QTableView::indicator:checked {{
        border-color: {theme.accent}; background: {theme.accent}; image: url("{tick}"); }}
    QRadioButton::indicator:checked {{ background: qradialgradient(cx: 0.5, cy: 0.5, radius: 0.5,
        fx: 0.5, fy: 0.5, stop: 0 {theme.accent}, stop: 0.55 {theme.accent},
        stop: 0.65 {theme.paper}, stop: 1 {theme.paper}); border-color: {theme.accent}; }}
    QRadioButton:focus, QCheckBox:focus {{ color: {theme.accent}; }}
    QProgressBar {{ border: 1px solid {theme.line}; border-radius: 4px; text-align: center;
        background: {theme.paper}; }}
    QProgressBar::chunk {{ border-radius: 3px; background: {theme.accent}; }}
    QSlider {{ min-height: 32px; }}
    QSlider::groove:horizontal {{ height: 4px; border-radius: 2px; background: {theme.line}; }}
    QSlider::sub-page:horizontal {{ border-radius: 2px; background: {theme.accent}; }}
    QSlider::handle:horizontal {{ width: 12px; margin: -6px 0; border-radius: 8px;
        border: 2px solid {theme.accent}; background: {theme.raised}; }}
    QSlider::handle:horizontal:hover, QSlider::handle:horizontal:focus {{
        background: {theme.accent}; }}
    QSlider::groove:horizontal:disabled, QSlider::sub-page:horizontal:disabled {{
        background: {theme.grid}; }}
    QSlider::handle:horizontal:disabled {{ border-color: {theme.line}; }}
    QScrollBar {{ background: transparent; }}
    QScrollBar:vertical {{ width: 16px; }}
    QScrollBar:horizontal {{ height: 16px; }}
    QScrollBar::handle {{ background: {theme.line}; border-radius: 4px; margin: 4px; }}
    QScrollBar::handle:vertical {{ min-height: 32px; }}
    QScrollBar::handle:horizontal {{ min-width: 32px; }}
    QScrollBar::handle:hover {{ background: {theme.accent}; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
    QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
    QRadioButton, QCheckBox {{ min-height: 32px; }}
    QTabBar::tab {{ min-height: 28px; padding: 2px 10px; border: none;
        border-bottom: 3px solid {theme.grid}; }}
    QTabBar::tab:selected {{ border-bottom-color: {theme.accent}; color: {theme.accent}; }}
    QTabBar::tab:hover, QTabBar::tab:selected:focus {{ background: {theme.grid}; }}
    QMenuBar::item {{ padding: 7px 8px; background: transparent; }}
    QMenuBar::item:selected, QMenuBar::item:pressed {{ background: {theme.grid};
        border-radius: 3px; }}
    QSplitter::handle {{ background: {theme.grid}; }}
    QSplitter::handle:hover {{ background: {theme.accent}; }}
    """


def _between(one: str, other: str) -> str:
    """The colour half way: an outline that is seen, of what cannot be pressed."""
    a, b = QColor(one), QColor(other)
    middle = (a.red() + b.red(), a.green() + b.green(), a.blue() + b.blue())
    return QColor(*(part // 2 for part in middle)).name()


def set_role(widget: QWidget, role: str) -> None:
    """Give a label or frame its part in the theme's style sheet."""
    if widget.property("role") != role:
        widget.setProperty("role", role)
        if widget.testAttribute(Qt.WidgetAttribute.WA_WState_Polished):  # else it will be
            widget.style().unpolish(widget)
            widget.style().polish(widget)


def set_colour(label: QLabel, colour: str) -> None:
    """Write a label in a colour of the theme; a sign beside it must say the same by shape."""
    palette = label.palette()  # a sheet of its own would have all of it styled anew
    palette.setColor(QPalette.ColorRole.WindowText, QColor(colour))
    label.setPalette(palette)
