"""Long logs from a rig: how what is opened and edited costs grows with the readings.

Processor time, so that other work does not count; growth is the exponent between the two longest.
"""

from __future__ import annotations

import math
import tracemalloc
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.entry import Gate
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import put
from bobweight.core.tables.frames import Place
from bobweight.core.tables.own import csv_text, readings_rows
from bobweight.core.tables.understanding import understand_text
from tests.samples import sample
from tests.studies.results import section, table

LENGTHS = (1000, 5000, 10_000, 20_000)
RIG = Instrument(kind="rig", u_speed_rpm=5.0, u_angle_deg=0.3)


def rig_session(count: int, seed: int = 1) -> Session:
    """A sweep up and down."""
    rng = np.random.default_rng(seed)
    up = np.linspace(200.0, 2200.0, count // 2)
    speed = np.concatenate([up, up[::-1]])
    angle = np.clip((speed - 400.0) / 120.0, 0.0, 12.0) + rng.normal(0.0, 0.3, len(speed))
    return Session(
        title="Log",
        instrument=RIG,
        readings=tuple(
            Reading(
                speed_rpm=round(float(x), 1),
                angle_deg=round(float(y), 2),
                direction="rising" if i < count // 2 else "falling",
            )
            for i, (x, y) in enumerate(zip(speed, angle, strict=True))
        ),
    )


def _cpu(job, rounds: int = 3) -> float:
    best = math.inf
    for _ in range(rounds):
        start = process_time()
        job()
        best = min(best, process_time() - start)
    return best


def measured(docket: Docket, folder: Path) -> dict[str, float]:
    """Seconds of processor time of opening, a first and a further edit, and import."""
    path = folder / "log.docket"
    write_docket(docket, path)
    gate = Gate()
    gate.check(docket)
    first = outcome(docket)
    changing = iter(range(1, 1000))

    def edit() -> None:
        value = 5.0 + 0.01 * next(changing)
        after = put(docket, ("sessions", 0, "readings", 5, "angle_deg"), value)
        gate.check(after)
        outcome(after, previous=first)

    text = csv_text(readings_rows(docket.sessions[0].readings, "rig"))
    return {
        "open": _cpu(lambda: outcome(read_docket(path))),
        "edit": _cpu(edit, 7),
        "import": _cpu(lambda: understand_text(text, "readings", Place()), 1),
    }


def main() -> None:
    base = sample("small_four")
    rows, times = [], {}
    with TemporaryDirectory() as name, section(
        "long_logs", "Long logs", seeds="1",
        note="Read and judged (open), one reading altered (edit: let in, judged again), a CSV of "
        "them understood (import), in milliseconds of processor time without the window.",
    ) as out:  # fmt: skip
        for count in LENGTHS:
            docket = base.with_changes(sessions=(rig_session(count),))
            times[count] = measured(docket, Path(name))
            rows.append([f"1 × {count}", *(f"{1e3 * t:.0f}" for t in times[count].values())])
        many = base.with_changes(sessions=tuple(rig_session(1000, seed) for seed in range(50)))
        rows.append(["50 × 1000", *(f"{1e3 * t:.0f}" for t in measured(many, Path(name)).values())])
        out(table(["sessions × readings", "open", "edit", "import"], rows))
        growth = {
            what: math.log(times[LENGTHS[-1]][what] / times[LENGTHS[-2]][what])
            / math.log(LENGTHS[-1] / LENGTHS[-2])
            for what in times[LENGTHS[-1]]
        }
        out()
        out("Growth, exponent between the two longest: "
            + ", ".join(f"{what} {value:.2f}" for what, value in growth.items()) + ".")  # fmt: skip
        tracemalloc.start()
        outcome(base.with_changes(sessions=(rig_session(10_000),)))
        out(f"Memory of a log of 10,000, judged: {tracemalloc.get_traced_memory()[1] / 1e6:.0f} MB "
            "at most.")  # fmt: skip
        tracemalloc.stop()


if __name__ == "__main__":
    main()
