"""What the session holds besides its widgets: which readings there are, and taking one more."""

from __future__ import annotations

from bobweight.app.messages import edit_name
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.words import translate
from bobweight.core.docket.readings import Reading, Session
from bobweight.core.judgement.taking import (
    REPEATS,
    Group,
    Planned,
    Suggest,
    Suggestion,
    guessed_direction,
    next_reading,
    planned,
    repeat_groups,
    same_speed_rpm,
)
from bobweight.core.record import put


class Taking:
    """The session of readings shown, as a person beside the engine fills it.

    ``suggest`` may be replaced by other advice on what to read next.
    """

    def __init__(self, store: Store, display: Display, suggest: Suggest = next_reading) -> None:
        self.store = store
        self.display = display
        self.suggest = suggest
        self.forced: str | None = None
        self.repeats = REPEATS
        self._begun = self.index

    @property
    def is_gone(self) -> bool:
        """True once the session that was begun with was taken back or out: what is typed next
        would go into another."""
        return len(self.store.docket.sessions) <= self._begun

    def begin(self) -> None:
        """See that there is a session to fill."""
        if self.index < 0:
            name = translate("timing", "Add session")
            new = Session(title=translate("timing", "As found"))
            self.store.replace(name, put(self.store.docket, ("sessions",), (new,)))

    @property
    def index(self) -> int:
        """The session shown; -1 if there is none."""
        return self.display.session_index(self.store.docket)

    @property
    def session(self) -> Session:
        """The session shown; an empty one while there is none."""
        return self.store.docket.sessions[self.index] if self.index >= 0 else Session()

    @property
    def frame(self) -> str:
        """Where the instrument's figures stand: a lamp shows crank degrees, static among them."""
        return "crank-static" if self.session.instrument.kind_taken == "lamp" else "distributor"

    def groups(self) -> tuple[Group, ...]:
        """The readings, repeats put together."""
        return repeat_groups(self.session)

    def plan(self) -> tuple[Planned, ...]:
        """The speeds worth reading."""
        return planned(self.store.docket, self.index) if self.index >= 0 else ()

    def suggestion(self) -> Suggestion | None:
        """What to read next."""
        if self.index < 0:
            return None
        return self.suggest(self.store.docket, self.index, self.repeats)

    def direction(self, speed_rpm: float | None, depression_kpa: float | None) -> str:
        """The direction set by hand, else the guess for a speed, else the suggested one."""
        if self.forced is not None:
            return self.forced
        if speed_rpm is not None:
            return guessed_direction(self.session, speed_rpm, depression_kpa)
        suggestion = self.suggestion()
        return suggestion.direction if suggestion is not None else "unknown"

    def skip(self) -> None:
        """No more repeats at this speed."""
        self.repeats = 1

    def take(self, speed_rpm: float, angle_deg: float, depression_kpa: float | None) -> None:
        """Put one reading into the session, as one edit.

        Raises
        ------
        BobweightError
            If a number lies beyond its limits; nothing is taken.
        """
        reading = Reading(direction=self.direction(speed_rpm, depression_kpa))
        for key, value in (
            ("speed_rpm", speed_rpm), ("angle_deg", angle_deg), ("depression_kpa", depression_kpa),
        ):  # fmt: skip
            reading = put(reading, (key,), value)
        self.begin()
        before = self.session.readings
        path = ("sessions", self.index, "readings")
        docket = put(self.store.docket, path, (*before, reading))
        name = translate("timing", "{speed}, {angle}").format(
            speed=edit_name((*path, len(before), "speed_rpm"), docket, speed_rpm, self.display),
            angle=f"{angle_deg:g}°",
        )
        self.store.replace(name, docket)
        self.forced = None
        self.repeats = REPEATS

    def group_at(self, planned_point: Planned, direction: str) -> Group | None:
        """The latest readings at a planned speed in a direction, with the pipe off."""
        near = same_speed_rpm(self.session.instrument)
        found = [
            group for group in self.groups()
            if group.depression_kpa is None and group.direction == direction
            and abs(group.speed_rpm - planned_point.speed_rpm) <= near
        ]  # fmt: skip
        return found[-1] if found else None
