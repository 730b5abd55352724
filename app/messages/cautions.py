"""The usual cautions, by the act at which they belong. Each page shows those of its act."""

from __future__ import annotations

from bobweight.app.words import QT_TRANSLATE_NOOP, translate

_LAW = QT_TRANSLATE_NOOP(
    "cautions", "The maker’s data, local rules and a qualified technician come first."
)
_COIL = QT_TRANSLATE_NOOP(
    "cautions", "Do not leave the ignition on with the points closed: it burns the coil."
)
_VOLTAGE = QT_TRANSLATE_NOOP(
    "cautions", "Ignition voltage injures. Keep hands off leads, coil and cap while it runs."
)
_OPEN_LEAD = QT_TRANSLATE_NOOP(
    "cautions",
    "Never leave a high-tension lead open with the engine turning: it breaks down coil and rotor, "
    "and shocks. A plug or a spark gap goes on its end, or the coil is made dead.",
)
_PACEMAKER = QT_TRANSLATE_NOOP(
    "cautions",
    "Ignition fields can disturb a pacemaker: anyone who wears one keeps away while it runs.",
)
_VAPOUR = QT_TRANSLATE_NOOP(
    "cautions",
    "Petrol vapour near a rig that sparks explodes: no fuel, rags or washing tray in the room, and "
    "air it.",
)
_CAPSULE = QT_TRANSLATE_NOOP(
    "cautions",
    "Keep the vacuum capsule away from solvent and heat: its diaphragm stands neither.",
)
_ADVANCE = QT_TRANSLATE_NOOP(
    "cautions",
    "Too much advance destroys an engine. Change 1 to 2° at a time, prove it under load and back "
    "off at the first ping. Nobody knows the right curve of an altered engine without a loaded "
    "test.",
)
_EMISSIONS = QT_TRANSLATE_NOOP(
    "cautions", "Altered timing can break emission or inspection rules. Ask before you alter it."
)

_AT_THE_ENGINE = (
    QT_TRANSLATE_NOOP(
        "cautions",
        "A lamp makes fan and belt look still; electric fans start unannounced. Keep hands, leads "
        "and clothes clear.",
    ),
    QT_TRANSLATE_NOOP(
        "cautions",
        "Park or neutral, wheels chocked, exhaust to the open air. Hot parts and ignition voltage "
        "injure.",
    ),
    QT_TRANSLATE_NOOP(
        "cautions",
        "Turn the engine against a piston stop by hand only. Ignition left on with the points "
        "closed burns the coil.",
    ),
    _OPEN_LEAD,
    _PACEMAKER,
)

CAUTIONS: dict[str, tuple[str, ...]] = {
    "engine": (
        *_AT_THE_ENGINE,
        QT_TRANSLATE_NOOP(
            "cautions",
            "Too much advance destroys an engine: change 1 to 2° at a time, back off at the first "
            "ping.",
        ),
        _LAW,
    ),
    "rig": (
        QT_TRANSLATE_NOOP(
            "cautions",
            "Guard the chuck and wear eye protection. A lamp makes turning parts look still.",
        ),
        QT_TRANSLATE_NOOP(
            "cautions",
            "Turn the unit its own way round. Keep leads and clothes clear. Petrol is no cleaning "
            "fluid.",
        ),
        _VAPOUR,
        _VOLTAGE,
        _OPEN_LEAD,
        _PACEMAKER,
        _LAW,
    ),
    "bench": (
        QT_TRANSLATE_NOOP(
            "cautions",
            "Petrol is no cleaning fluid. Springs fly: wear eye protection when you unhook them.",
        ),
        QT_TRANSLATE_NOOP(
            "cautions",
            "Label springs and weights left and right before they come off: they are not alike.",
        ),
        _CAPSULE,
        _COIL,
    ),
    "reassembly": (
        QT_TRANSLATE_NOOP(
            "cautions",
            "Springs fly: wear eye protection when you hook them on. Petrol is no cleaning fluid.",
        ),
        QT_TRANSLATE_NOOP(
            "cautions",
            "A unit that is half a turn out fires into open valves. Check slot and dog before the "
            "springs go back, and turn the engine by hand before it is started.",
        ),
        _CAPSULE,
    ),
    "points": (
        _COIL,
        QT_TRANSLATE_NOOP(
            "cautions", "Dwell first, then timing: a degree of dwell moves the spark."
        ),
    ),
    "hang test": (
        QT_TRANSLATE_NOOP(
            "cautions",
            "A hook that lets go flies, and the load falls: wear eye protection, keep hands and "
            "feet from under it.",
        ),
    ),
    "other springs": (
        QT_TRANSLATE_NOOP("cautions", "Springs fly: wear eye protection when you hook them on."),
        _ADVANCE,
        _EMISSIONS,
        _LAW,
    ),
    "setting": (_ADVANCE, _EMISSIONS, *_AT_THE_ENGINE, _LAW),
}
"""Source texts by act."""


def caution_lines(act: str) -> list[str]:
    """The cautions of an act in the user's language."""
    return [translate("cautions", line) for line in CAUTIONS[act]]


def paper_cautions() -> tuple[str, ...]:
    """All that paper says at length: at the engine, on a rig, at the bench; each once."""
    acts = ("setting", "rig", "bench")
    told = dict.fromkeys(line for act in acts for line in CAUTIONS[act] if line != _LAW)
    return tuple(translate("cautions", line) for line in (*told, _LAW))
