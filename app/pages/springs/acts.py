"""Single undoable edits on the docket and the tray that several parts offer. No widgets."""

from __future__ import annotations

from PySide6.QtCore import QDate, Qt

from bobweight.app.messages.figures import field_text, spring_title
from bobweight.app.pages.springs.part import Bench
from bobweight.app.store.display import Display
from bobweight.app.words import translate
from bobweight.core.design.fitted import with_spring_as
from bobweight.core.design.tray import TraySpring, from_docket, own_figures
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.states import with_session_after
from bobweight.core.record import put


def role_word(role: str) -> str:
    """A role within a sentence."""
    return {
        "primary": translate("springs", "primary"),
        "secondary": translate("springs", "secondary"),
    }.get(role, translate("springs", "further"))


def fit_as_altered(bench: Bench, name: str, docket: Docket, title: str = "") -> str:
    """Take the docket with other springs fitted, as one edit; what is to be said of its state.

    Readings taken before stay with the unit as it was: a new state begins with an empty session,
    which is then shown. Where nothing was read yet nothing is to be said.
    """
    store, display, before = bench.store, bench.display, bench.store.docket
    session = display.session_index(before)
    today = QDate.currentDate().toString(Qt.DateFormat.ISODate)
    title = title or name
    note = rates_changed(before.mechanism, docket.mechanism, display)
    made = with_session_after(before, docket, session, title, today, note)
    store.replace(name, made)
    if len(made.sessions) == len(before.sessions):
        return ""
    display.compared = session
    display.session = len(made.sessions) - 1
    return translate(
        "springs",
        "The readings so far stay with the unit as it was; “{title}” is begun for those after it.",
    ).format(title=title)


def rates_changed(before: Mechanism, after: Mechanism, display: Display) -> str:
    """The rates fitted and those taken out, by role; empty where none is another. A label alone
    tells nothing once the spring is back in a tin, or another bears the same."""
    said = []
    for role in dict.fromkeys(spring.role for spring in (*before.springs, *after.springs)):
        old, new = (_rates(mechanism, role, display) for mechanism in (before, after))
        if old == new:
            continue
        text = translate("springs", "{role} {new}; {old} taken out")
        if not old:
            text = translate("springs", "{role} {new}")
        elif not new:
            text = translate("springs", "{role}: {old} taken out")
        name = role_word(role).capitalize()
        said.append(text.format(role=name, new=", ".join(new), old=", ".join(old)))
    return ". ".join(said)


def _rates(mechanism: Mechanism, role: str, display: Display) -> list[str]:
    """Each rate of a role once, in the unit shown."""
    springs = [spring for spring in mechanism.springs if spring.role == role]
    return list(dict.fromkeys(field_text(s, "rate_n_per_mm", display) for s in springs))


def use_as(bench: Bench, row: int, role: str) -> str:
    """Hook the spring of a row into the docket, as one edit; what is to be said of it."""
    spring = bench.tray.tray.springs[row]
    title, word = spring_title(spring, row), role_word(role)
    name = translate("springs", "Use “{spring}” as {role} spring").format(spring=title, role=word)
    before = sum(each.role == role for each in bench.store.docket.mechanism.springs)
    fitted = translate("springs", "“{spring}” fitted as {role}").format(spring=title, role=word)
    begun = fit_as_altered(bench, name, with_spring_as(bench.store.docket, spring, role), fitted)
    if not before:
        text = translate(
            "springs",
            "“{spring}” is now the {role} spring. Where its post and peg are is still to be "
            "entered on the Mechanism page.",
        )
    elif before > spring.count:
        text = translate(
            "springs",
            "“{spring}” is now the {role} spring. The unit takes {places} of them; the tray says "
            "that there are {count}.",
        )
    else:
        text = translate(
            "springs", "“{spring}” is now the {role} spring. Undo on the Edit menu takes it back."
        )
    said = text.format(spring=title, role=word, places=before, count=spring.count)
    return f"{said} {begun}" if begun else said


def docket_springs(mechanism: Mechanism, tray: tuple[TraySpring, ...]) -> tuple[TraySpring, ...]:
    """Tray entries for the docket's springs that the tray does not hold yet: twins count as
    several of one, one without a label is called by its role."""
    made: dict[tuple, TraySpring] = {}
    held = {own_figures(spring) for spring in tray}
    for spring in mechanism.springs:
        entry = from_docket(spring)
        if entry.rate_n_per_mm is None or own_figures(entry) in held:
            continue
        if not entry.label.strip():
            entry = entry.with_changes(label=role_word(spring.role).capitalize())
        key = (entry.label, *own_figures(entry))
        twin = made.get(key)
        made[key] = twin.with_changes(count=twin.count + 1) if twin else entry
    return tuple(made.values())


def add_springs(bench: Bench, springs: tuple[TraySpring, ...], name: str) -> None:
    """Put springs into the tray, at the end, and choose the first of them."""
    there = bench.tray.tray.springs
    if springs:
        bench.tray.replace(name, put(bench.tray.tray, ("springs",), (*there, *springs)))
        bench.choose(len(there))
