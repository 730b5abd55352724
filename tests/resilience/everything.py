"""All that is ever made of a docket, one after the other: each is computed, or refused."""

from __future__ import annotations

import contextlib
import random
import traceback
from collections.abc import Callable, Iterator, Sequence

from PySide6.QtWidgets import QApplication

from bobweight.app import guard
from bobweight.app.messages import sentence
from bobweight.app.pages import PAGES
from bobweight.app.pages.springs.page import PARTS
from bobweight.app.pages.springs.tolerances import influences, worked_out
from bobweight.app.paper.output import describe, pdf_bytes, with_judgement
from bobweight.app.prints.kinds import KINDS, Asked
from bobweight.app.window.main_window import MainWindow
from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.ideal import ideal
from bobweight.core.design.search import Search
from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import docket_from_text, text_of
from bobweight.core.facade import judge, predict, sheet_rows
from bobweight.core.figure.view import view_of
from bobweight.core.judgement.outcome import outcome
from bobweight.core.problems import BobweightError
from bobweight.core.sheet.workshop import Workshop
from tests.resilience.mutation import Material

TRAY = Tray(
    springs=tuple(
        TraySpring(label=f"{rate}", rate_n_per_mm=rate, free_length_mm=length, count=2)
        for rate, length in ((1.4, 21.0), (2.6, 22.0), (11.0, 25.0))
    )
)


def odd_dockets(material: Material, first: int) -> Iterator[tuple[int, Docket]]:
    """Dockets with odd values that load all the same, and the seed of each."""
    seed = first
    while True:
        data, _ = material._docket_values(random.Random(f"everything {seed}"))
        with contextlib.suppress(BobweightError):
            yield seed, docket_from_text(text_of(data))
        seed += 1


def faults(
    docket: Docket, window: MainWindow | None = None, papers: Sequence[str] = ("a4", "letter")
) -> list[str]:
    """What is wrong with what is made of a docket, and shown of it if there is a window: nothing,
    if each is computed or refused in words of ours."""
    found: list[str] = []
    for name, make in (*_sums(docket), *_papers(docket, papers)):
        try:
            make()
        except BobweightError as error:
            if error.problem.code in ("not-computed", "unheard-of") or not sentence(error.problem):
                found.append(f"{name}: {error.problem}")
        except Exception as error:
            found.append(f"{name}: {_account(error)}")
    if window is None:
        return found

    def told(error: BaseException, where: str) -> None:
        if not isinstance(error, BobweightError):
            found.append(f"{where}: {_account(error)}")

    guard.listen(told)
    try:
        window.store.open_docket(docket, None)
        for page in PAGES:
            window.show_page(page.key)
            for part in PARTS if page.key == "springs" else ():
                window.page("springs").show_part(part.key)
                _seen(window)
            _seen(window)
    except Exception as error:
        found.append(f"pages: {_account(error)}")
    finally:
        guard.unlisten(told)
    return found


def _account(error: BaseException) -> str:
    return "".join(traceback.format_exception(error)[-3:])


def _seen(window: MainWindow) -> None:
    QApplication.processEvents()
    window.grab()


def _sums(docket: Docket) -> Iterator[tuple[str, Callable[[], object]]]:
    known = outcome(docket)
    sound = known.prediction is not None
    yield "predict", lambda: predict(docket, at_rpm=(400.0, 1000.0))
    yield "judge", lambda: judge(docket)
    yield "values", lambda: sheet_rows(docket)
    yield "search", lambda: Search(docket, TRAY, SearchAsk()).run()
    yield "springs to order", lambda: ideal(docket)
    if sound:
        yield "tolerance", lambda: worked_out(docket)
        yield "what makes the spread", lambda: influences(docket)


def _papers(docket: Docket, papers: Sequence[str]) -> Iterator[tuple[str, Callable[[], object]]]:
    known, view = outcome(docket), view_of(docket)
    options = with_judgement(known)
    for paper in papers:
        asked = Asked(known, view, paper, Workshop(), options.said)
        yield f"sheet {paper}", lambda p=paper: pdf_bytes(describe(known, p, view, options))
        for key, kind in KINDS.items():
            yield (
                f"{key} {paper}",
                lambda k=kind, a=asked: pdf_bytes(
                    k.describe(a, k.asks(docket) if k.asks else None)
                ),
            )
