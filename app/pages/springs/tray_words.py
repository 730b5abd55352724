"""The tray as a table to read: each figure with its uncertainty."""

from __future__ import annotations

from bobweight.app.messages import sentence
from bobweight.app.messages.figures import field_text, known_text, spring_title
from bobweight.app.store.display import Display
from bobweight.app.store.tray_store import TrayStore
from bobweight.app.theme import theme_for
from bobweight.app.widgets.table import Column
from bobweight.app.words import label, translate
from bobweight.core.design.tray import OWN_FIGURES, TraySpring, tray_problems
from bobweight.core.problems import Problem
from bobweight.core.record import parameters


class TrayWords:
    """The springs of the tray in words. A row is a spring's place in the tray; one with something
    wrong says so by a sign and in its tip."""

    def __init__(self, tray: TrayStore, display: Display) -> None:
        self._store = tray
        self._display = display
        self._problems: dict[int, list[Problem]] = {}
        self._problems_of: object = None
        self._decimals: dict[str, int] = {}
        self._decimals_of: object = None

    def columns(self) -> tuple[Column, ...]:
        """Name, how many, figures, how they are known, note."""
        described = parameters(TraySpring)
        shorter = {
            "initial_tension_n": translate("springs", "Tension"),
            "free_length_mm": translate("springs", "Free\nlength"),
        }

        def figure(key: str, heading: str | None) -> Column:
            return Column(
                heading or label(described[key]),
                lambda row: self._figure(row, key),
                True,
                lambda: self._display.unit(described[key].quantity),
            )

        return (
            Column(label(described["label"]), self._title, colour=self._title_colour),
            Column(
                translate("springs", "How\nmany"), lambda row: str(self._spring(row).count), True
            ),
            *(figure(key, shorter.get(key)) for key in OWN_FIGURES),
            Column(
                label(described["source"]),
                lambda row: known_text(self._spring(row).source),
                spare=True,
            ),
            Column(label(described["note"]), self.note, spare=True),
        )

    def problems(self, row: int) -> list[Problem]:
        """What is wrong with a row."""
        tray = self._store.tray
        if self._problems_of is not tray:
            self._problems_of, self._problems = tray, {}
            for problem in tray_problems(tray):
                if len(problem.path) > 1:
                    self._problems.setdefault(int(problem.path[1]), []).append(problem)
        return self._problems.get(row, [])

    def row_tip(self, row: int) -> str:
        """What is wrong with a row, a sentence a line."""
        tray = self._store.tray
        return "\n".join(sentence(p, tray, self._display) for p in self.problems(row))

    def _spring(self, row: int) -> TraySpring:
        springs = self._store.tray.springs
        return springs[row] if row < len(springs) else TraySpring()  # gone, and not yet told

    def _figure(self, row: int, key: str) -> str:
        """A figure, with as many decimals as any other of its column that states no ±."""
        tray, shown = self._store.tray, self._display.shown
        if self._decimals_of != (tray, shown):
            self._decimals_of, self._decimals = (tray, shown), {}
        if key not in self._decimals:
            texts = (field_text(s, key, self._display, unit=False) for s in tray.springs)
            plain = [text for text in texts if "±" not in text]
            self._decimals[key] = max((len(t.partition(".")[2]) for t in plain), default=0)
        text, most = field_text(self._spring(row), key, self._display, unit=False), 0
        if text[-1:].isdigit() and "±" not in text and (most := self._decimals[key]):
            whole, _, decimals = text.partition(".")
            text = f"{whole}.{decimals.ljust(most, '0')}"
        return text

    def _title(self, row: int) -> str:
        title = spring_title(self._spring(row), row)
        return f"△ {title}" if self.problems(row) else title

    def _title_colour(self, row: int) -> str:
        return theme_for().advice if self.problems(row) else ""

    def note(self, row: int) -> str:
        """What is noted of a spring and of how it was measured."""
        spring = self._spring(row)
        parts = (spring.note, spring.source.note)
        return "; ".join(part.strip() for part in parts if part.strip())
