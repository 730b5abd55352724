"""Which springs of the tray meet the target: every pair, tuned, the least work first."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex
from PySide6.QtWidgets import QProgressBar

from bobweight.app.editors.form import Form, plain_keys
from bobweight.app.messages.explanations import bent_text
from bobweight.app.messages.figures import spring_title, work_word
from bobweight.app.messages.lacking import curve_needs, refusal
from bobweight.app.pages.springs.acts import fit_as_altered
from bobweight.app.pages.springs.part import SpringsPart
from bobweight.app.store import RecordStore
from bobweight.app.store.display import Display
from bobweight.app.store.jobs import Runner, Ticket
from bobweight.app.widgets.card import allow, button, in_grid
from bobweight.app.widgets.caution_box import cautions
from bobweight.app.widgets.lines import Facts
from bobweight.app.widgets.table import Column, ReadTable
from bobweight.app.widgets.words import note
from bobweight.app.widgets.worked_out import Group, WorkedOut
from bobweight.app.words import QT_TRANSLATE_NOOP, amount, translate
from bobweight.core.design.asks import SearchAsk
from bobweight.core.design.fitted import same_places
from bobweight.core.design.rough import AnySearch, search_of
from bobweight.core.design.search import SearchResult, SpringPair, looked_over
from bobweight.core.design.tray import Tray
from bobweight.core.docket.docket import Docket
from bobweight.core.figure.numbers import typed
from bobweight.core.figure.overlay import Overlay, OverlayCurve
from bobweight.core.judgement.workings import inputs, list_input, record_inputs
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from bobweight.core.units import LENGTH, pass_rate

_FAINT_CURVES = 5


class PairWords:
    """A pair of springs found, in words."""

    def __init__(self, display: Display) -> None:
        self._display = display
        self.tray = Tray()

    def columns(self) -> tuple[Column, ...]:
        """Springs, margin, odds, and what to set."""
        bent = translate("springs", "How far the tang is bent from where the post was measured: + "
                         "outward, or towards advance; − inward, or towards retard.")  # fmt: skip
        return (
            Column(translate("springs", "Work"), lambda pair: work_word(pair.work),
                   tip=translate(
                "springs",
                "How many springs are to be fitted, and whether posts are to be bent; the least "
                "work stands first.",
            )),
            Column(translate("springs", "Primary"), lambda pair: self._spring(pair.primary),
                   tip=translate("springs", "The spring of the tray that becomes primary.")),
            Column(translate("springs", "Secondary"), lambda pair: self._spring(pair.secondary),
                   tip=translate("springs", "The spring of the tray that becomes secondary.")),
            Column(translate("springs", "Margin"), _margin, True, _distributor_deg, tip=translate(
                "springs",
                "The smallest distance to the band’s edge over the check points, in distributor "
                "degrees; below zero: outside.",
            )),
            Column(translate("springs", "Passes"), lambda pair: passes(pair.probability_inside),
                   True, lambda: translate("springs", "of builds"), tip=translate(
                "springs",
                "How often the unit would pass every check point, given how sure the springs’ own "
                "figures are. Some hundred builds are counted: sure to two or three of a hundred.",
            )),
            Column(translate("springs", "Prim. post"),
                   lambda pair: self._length(pair.primary_post_mm, "+"), True, self._unit, bent,
                   spare=True),
            Column(translate("springs", "Sec. post"),
                   lambda pair: self._length(pair.secondary_post_mm, "+"), True, self._unit, bent,
                   spare=True),
            Column(translate("springs", "Slack"),
                   lambda pair: self._length(pair.secondary_slack_mm), True, self._unit,
                   translate("springs", "Slack of the secondary spring’s loop."), spare=True),
            Column(translate("springs", "Stop"), lambda pair: typed(pair.stop_deg), True,
                   _distributor_deg, tip=translate("springs", "The stop, in distributor degrees."),
                   spare=True),
        )  # fmt: skip

    def _unit(self) -> str:
        return self._display.unit(LENGTH)

    def _spring(self, row: int | None) -> str:
        if row is None:
            return translate("springs", "stays")
        return spring_title(self.tray.springs[row], row)

    def _length(self, value_mm: float, sign: str = "") -> str:
        value = round(value_mm / LENGTH.unit(self._unit()).factor, 2) or 0.0  # never −0.00
        return f"{value:{sign if value else ''}.2f}".replace("-", "−")


def _distributor_deg() -> str:
    return translate("springs", "dist. °")


def _margin(pair: SpringPair) -> str:
    sign = "✓" if pair.inside else "✗"
    return f"{sign} {pair.margin_deg:.2f}".replace("-", "−")


def passes(share: float) -> str:
    """How many of a hundred builds pass; a dash if not worked out."""
    return "–" if share != share else pass_rate(share)


def _running() -> str:
    return translate("springs", "The search is running.")


class SearchPart(SpringsPart):
    """Limits, the search behind the window, its candidates, and taking one."""

    key = "search"
    title = QT_TRANSLATE_NOOP("springs", "Search")

    def build(self) -> None:
        self.ask_store = RecordStore(SearchAsk(), self)
        self.runner = Runner(self)
        self.search: AnySearch | None = None
        self.found: SearchResult | None = None
        self._tray_of = Tray()
        self._docket_of: Docket | None = None
        self._latest: SearchResult | None = None
        self._wanting = ""
        self.form = Form(
            SearchAsk, (), plain_keys(SearchAsk), self.ask_store, self.display, plain=True
        )
        self.ask_store.changed.connect(self._ask_changed)
        self.start_button = button(
            translate("springs", "Search the tray"),
            translate("springs", "One spring beside the one that stays, and every two springs; "
                      "posts and slack set as well as they can be."),
            self.start,
        )  # fmt: skip
        self.stop_button = button(
            translate("springs", "Stop"), translate("springs", "Keep the best found so far."),
            self.runner.stop,
        )  # fmt: skip
        self.progress = QProgressBar()
        self.progress.setRange(0, 1000)
        self.progress.setTextVisible(False)
        self.progress.setFixedHeight(8)
        self.progress.setAccessibleName(translate("springs", "How far the search is"))
        self.status = note("")
        self.words = PairWords(self.display)
        self.view = ReadTable(translate("springs", "Pairs found"), self.words.columns(), 12,
                              wraps=True)  # fmt: skip
        self.model = self.view.table_model
        self.view.selectionModel().currentRowChanged.connect(self._chosen)
        self.facts = Facts()
        self.fit_button = button(
            translate("springs", "Fit these"),
            translate("springs", "Springs, posts, slack and stop go into the docket, as one edit."),
            self.fit,
        )
        self.worked = WorkedOut("search", self.display, self._went_in)
        self.add_card(
            translate("springs", "Pairs"), in_grid(2, self.start_button, self.stop_button),
            self.progress, self.status, self.view, self.facts, self.fit_button, self.worked,
        )  # fmt: skip
        self.add_card(translate("springs", "What a hand may alter"), self.form)
        self.body.addWidget(cautions("other springs", self.display))
        self.runner.progressed.connect(self._progressed)
        self.runner.finished.connect(self._finished)
        self.runner.failed.connect(self._failed)
        self.display.changed.connect(self._show)
        self.feed.decisions.changed.connect(self._decided)
        self._ask_changed()

    def _went_in(self) -> Sequence[Group]:
        docket, tray, ask = self.store.docket, self.tray.tray, self.ask_store.docket
        return (
            (docket, inputs("search", docket)),
            (tray, (list_input(tray, "springs", "measured"),)),
            (ask, record_inputs(ask)),
        )

    def _ask_changed(self, _change: object = None) -> None:
        ask: SearchAsk = self.ask_store.docket
        hidden = () if ask.stop_free else ("stop_least_deg", "stop_most_deg")
        self.form.show_only(key for key in self.form.fields if key not in hidden)

    def follow(self) -> None:
        self._show()

    def start(self) -> None:
        """Search behind the window; what was found before gives way."""
        self.said.say("")
        self._tray_of, self._docket_of = self.tray.tray, self.store.docket
        ask: SearchAsk = self.ask_store.docket
        decided = self.feed.decisions.current
        try:
            self.search = search_of(self._docket_of, self._tray_of, ask,
                                    None if decided is None else decided.decision)  # fmt: skip
        except BobweightError as error:
            self.search = self.found = None
            self._show()
            self.said.refuse(error)
            return
        self.found = self._latest = None
        self.progress.setValue(0)
        self.runner.start(self._work)
        self._show()

    @property
    def _made(self) -> AnySearch:
        """The search that was begun."""
        assert self.search is not None
        return self.search

    def _work(self, ticket: Ticket) -> SearchResult:
        """Behind the window."""

        def told(share: float, found: SearchResult) -> None:
            self._latest = found
            ticket.tell(share)

        return self._made.run(told, lambda: ticket.stopped)

    def _progressed(self, share: float) -> None:
        self.progress.setValue(round(1000 * share))
        if self._latest is not None:
            self.found = self._latest
            self._show()

    def _finished(self, found: SearchResult) -> None:
        self.found = found
        self.progress.setValue(1000)
        self._show()
        if found.candidates and self.view.chosen_row() < 0:
            self.view.setCurrentIndex(self.model.index(0, 0))

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, BobweightError):
            raise error
        self._show()
        self.said.refuse(error)

    def _show(self) -> None:
        busy = self.runner.busy
        self._wanting = self._refusal()
        allow(self.start_button, not (busy or self._wanting), _running() if busy else self._wanting)
        allow(self.stop_button, busy, translate("springs", "No search is running."))
        self.progress.setVisible(busy)
        candidates = self.found.candidates if self.found is not None else ()
        row = self.view.chosen_row()
        if self._tray_of is not None:
            self.words.tray = self._tray_of
        self.view.show_rows(candidates)
        if self.view.chosen_row() != row and 0 <= row < len(candidates):
            self.view.setCurrentIndex(self.model.index(row, 0))
        self.view.setVisible(bool(candidates))
        self.worked.follow(bool(candidates))
        self.view.fit_height()
        self.fit_button.setVisible(bool(candidates))
        self._allow_fit()
        self.status.setText(self._status_text(busy))
        self._show_settings()
        self._show_curves()

    def _decided(self) -> None:
        """Whether the readings do in place of what is blank is known now."""
        if self.isVisible() and self._refusal() != self._wanting:
            self._show()

    def _refusal(self) -> str:
        """What stands in the way of a search; by the readings alone it is seen as it begins."""
        docket, tray = self.store.docket, self.tray.tray
        decided = self.feed.decisions.current
        lacks = ""
        if decided is not None and decided.decision.diagnosis is None:  # no readings do instead
            lacks = curve_needs(self.feed.outcome, self.feed.decisions.doubts)
        return lacks or refusal(lambda: looked_over(docket, tray), docket)

    def _show_settings(self) -> None:
        """What to set for the pair chosen."""
        row = self.view.chosen_row()
        if row < 0 or self.view.isHidden() or self._made.is_rough:
            self.facts.show_facts(())
            return
        candidate, symbol = self.model.rows[row], self.display.unit(LENGTH)

        def length(value_mm: float) -> str:
            return amount(round(value_mm, 2), LENGTH, symbol)

        bent = translate("springs", "primary {primary}, secondary {secondary}")
        first, second = self._bent(candidate)
        self.facts.show_facts(
            (
                (
                    translate("springs", "Posts bent"),
                    bent.format(primary=first, secondary=second),
                ),
                (translate("springs", "Slack"), length(candidate.secondary_slack_mm)),
                (translate("springs", "Stop"), f"{typed(candidate.stop_deg)}°"),
            )
        )

    def _bent(self, pair: SpringPair) -> tuple[str, str]:
        """How far and which way the posts are bent, primary and secondary."""
        springs = self._made.docket.mechanism.springs

        def bent(post_mm: float, places: Sequence[int]) -> str:
            way = springs[places[0]].tang_way if places and places[0] < len(springs) else "outward"
            return bent_text(post_mm, way, self.display)

        return (bent(pair.primary_post_mm, self._made.primaries),
                bent(pair.secondary_post_mm, self._made.secondaries))  # fmt: skip

    def _status_text(self, busy: bool) -> str:
        if self.found is None:
            if busy:
                return translate("springs", "Searching.")
            if self._wanting:
                return f"○ {self._wanting}"
            return translate(
                "springs",
                "Pairs of tray springs are tried in this docket’s mechanism against its target.",
            )
        found = self.found
        inside = sum(c.inside for c in found.candidates)
        counts = {"pairs": found.pairs, "tuned": found.tuned, "looked": found.looked_at}
        if busy:
            text = translate("springs", "{looked} of {pairs} pairs looked at, {tuned} tuned.")
            return text.format(**counts)
        if not found.finished:
            text = translate(
                "springs",
                "Stopped: {looked} of {pairs} pairs looked at, {tuned} tuned. The best so far:",
            )
        elif not inside:
            text = translate(
                "springs",
                "{pairs} pairs looked at, {tuned} tuned. None meets the whole band; the nearest:",
            )
        else:
            text = translate(
                "springs",
                "{pairs} pairs looked at, {tuned} tuned. {inside} of those shown meet the band.",
            )
        if self._made.is_rough and found.finished:
            text = translate(
                "springs",
                "Figures are blank, so nothing is bent: every spring was tried in all "
                "that the readings leave possible. “Passes” is the chance that the unit is then "
                "inside.",
            )
            if not inside:
                text += " " + translate("springs", "None meets the whole band; the nearest:")
        stale = ""
        if self._is_stale():
            stale = translate("springs", "△ Docket or tray have been altered since this search.")
        return f"{stale} {text.format(inside=inside, **counts)}".strip()  # it may end in a colon

    def _is_stale(self) -> bool:
        """True if another search would come to something else."""
        if self._tray_of != self.tray.tray or self._docket_of is None or self.search is None:
            return True
        return self.search.basis(self._docket_of) != self.search.basis(self.store.docket)

    def _allow_fit(self) -> None:
        why = ""
        if self.runner.busy:
            why = _running()
        elif self.view.chosen_row() < 0:
            why = translate("springs", "Choose a pair in the table first.")
        elif not same_places(self._made.docket, self.store.docket):
            why = translate("springs", "The docket has other springs since this search. Search "
                            "again.")  # fmt: skip
        allow(self.fit_button, not why, why)

    def _chosen(self, _index: QModelIndex, _before: QModelIndex) -> None:
        self._allow_fit()
        self._show_settings()
        self._show_curves()

    def _show_curves(self) -> None:
        """The pair chosen as a curve on the board, those next to it faint."""
        if not self.isVisible() or self.search is None or not self.model.rows:
            if self.isVisible():
                self.feed.show_overlay(None)
            return
        if self.runner.busy:
            return  # margins move still; the board follows when the search has ended
        row = self.view.chosen_row()
        shown = [*range(min(_FAINT_CURVES, len(self.model.rows)))]
        curves, others = [], translate("springs", "other pairs of the list")
        for index in {*shown, row} - {-1}:
            try:
                branch = self.search.curve(self.model.rows[index])
            except BobweightError:
                continue
            chosen = index == row
            words = self._fitted_words(index) if chosen else others
            others = others if chosen else ""  # of several the first is named
            curves.append(OverlayCurve(branch.speed_rpm, branch.advance_deg, words, chosen))
        self.feed.show_overlay(Overlay(tuple(curves)))

    def _fitted_words(self, row: int) -> str:
        """The springs that a pair takes out of the tray."""
        pair, cells = self.model.rows[row], self.model.texts(row)[1:3]
        taken = zip(cells, (pair.primary, pair.secondary), strict=True)
        names = " + ".join(name for name, spring in taken if spring is not None)
        return translate("springs", "with {springs}").format(springs=names)

    def fit(self) -> None:
        """Take the pair chosen into the docket, as one edit."""
        row = self.view.chosen_row()
        if self.search is None or row < 0:
            return
        candidate = self.model.rows[row]
        first, second = self.model.texts(row)[1:3]
        if candidate.primary is None or candidate.secondary is None:
            changed = second if candidate.primary is None else first
            name = translate("springs", "Fit “{spring}”").format(spring=changed)
        else:
            name = translate("springs", "Fit “{primary}” and “{secondary}”")
            name = name.format(primary=first, secondary=second)
        docket = fitted(self.store.docket, self.search, candidate)
        begun = fit_as_altered(self.bench, name, docket)
        if candidate.work == "one-spring" or self.search.is_rough:
            said = translate("springs", "{name}: done. Nothing is to be bent; run the curve again.")
            said = said.format(name=name)
            self.said.say(f"{said} {begun}" if begun else said)
            return
        text = translate(
            "springs",
            "Fitted: {primary}, its post bent {first}; {secondary}, its post bent {second}, slack "
            "{slack}; stop {stop}. Bend a little at a time and run the curve again.",
        )
        as_primary = translate("springs", "“{spring}” as primary").format(spring=first)
        if candidate.primary is None:
            as_primary = translate("springs", "the primary stays")
        as_secondary = translate("springs", "“{spring}” as secondary").format(spring=second)
        if candidate.secondary is None:
            as_secondary = translate("springs", "the secondary stays")
        slack_mm, bent = round(candidate.secondary_slack_mm, 2), self._bent(candidate)
        said = text.format(
            primary=as_primary,
            secondary=as_secondary,
            first=bent[0],
            second=bent[1],
            slack=amount(slack_mm, LENGTH, self.display.unit(LENGTH)),
            stop=f"{typed(candidate.stop_deg)}°",
        )
        self.said.say(f"{said} {begun}" if begun else said)

    def close_down(self) -> None:
        self.runner.close()


def fitted(docket: Docket, search: AnySearch, candidate: SpringPair) -> Docket:
    """The docket with a candidate's springs and settings; all else stays as it is now."""
    made = search.apply(candidate)
    springs = list(docket.mechanism.springs)
    places = (*search.primaries, *search.secondaries)
    for index in places:
        if index < len(springs):
            springs[index] = made.springs[index]
    mechanism = docket.mechanism.with_changes(springs=tuple(springs), stop_deg=made.stop_deg)
    return put(docket, ("mechanism",), mechanism)
