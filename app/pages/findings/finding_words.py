"""What is said of a finding: its state by sign and word, its limits, what it costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bobweight.app.messages.reassembly_words import lobes_text
from bobweight.app.store.display import Display
from bobweight.app.theme import Theme
from bobweight.app.words import amount, translate
from bobweight.core.bench.findings import FindingsRecord, JudgedFinding, limit_keys
from bobweight.core.bench.limits import State
from bobweight.core.bench.play import Scatter
from bobweight.core.docket.findings import FindingLimits, Findings
from bobweight.core.figure.numbers import figure as rounded
from bobweight.core.record import parameters
from bobweight.core.units import TIME_S, Quantity

SIGNS = {
    State.PASS: "✓", State.BORDERLINE: "?", State.FAIL: "✗", State.SHOWN: "◇",
    State.NOT_MEASURED: "○",
}  # fmt: skip


def state_word(state: State) -> str:
    """The word for a state."""
    return {
        State.PASS: translate("findings", "pass"),
        State.BORDERLINE: translate("findings", "borderline"),
        State.FAIL: translate("findings", "fail"),
        State.SHOWN: translate("findings", "shown, not judged"),
        State.NOT_MEASURED: translate("findings", "not measured"),
    }[state]


def state_colour(theme: Theme, state: State) -> str:
    """The colour of a state; the sign says it by shape."""
    return {
        State.PASS: theme.good,
        State.BORDERLINE: theme.advice,
        State.FAIL: theme.wrong,
        State.SHOWN: theme.faint,
        State.NOT_MEASURED: theme.faint,
    }[state]


def group_title(group: str) -> str:
    """The heading of a group of findings."""
    return {
        "shaft": translate("findings", "Shaft, bush and cam"),
        "contacts": translate("findings", "Contacts"),
        "electrical": translate("findings", "Condenser and leads"),
        "rotor": translate("findings", "Rotor and cap"),
        "weights": translate("findings", "Weights and pivots"),
        "capsule": translate("findings", "Plate and capsule"),
    }[group]


def quantity_of(key: str) -> Quantity:
    """The quantity in which a row is judged."""
    if key in ("lobes_deg", "leak"):
        return parameters(FindingLimits)[limit_keys(key)[-1]].quantity
    return parameters(Findings)[key].quantity


def limits_text(row: JudgedFinding, display: Display, leak_test_s: float) -> str:
    """The limits of a row in words, or an empty text; the time of the leak test in s."""
    quantity = quantity_of(row.key)
    symbol = display.unit(quantity)
    low, high = (
        None if limit is None else amount(_rounded(limit), quantity, symbol)
        for limit in (row.low, row.high)
    )
    if low is None and high is None:
        return ""
    if row.value is None and row.key == "lobes_deg":
        text = translate("findings", "worst lobe off by at most {high}").format(high=high)
    elif row.value is None and row.key == "leak":
        text = translate("findings", "loss in {time} at most {high}").format(
            high=high, time=amount(leak_test_s, TIME_S)
        )
    elif low is None:
        text = translate("findings", "at most {high}").format(high=high)
    elif high is None:
        text = translate("findings", "at least {low}").format(low=low)
    else:
        low = low.removesuffix(symbol).rstrip()
        text = translate("findings", "{low} to {high}").format(low=low, high=high)
    if row.unusual:
        text = translate("findings", "outside the usual {limits}").format(limits=text)
    elif row.state is State.SHOWN or row.is_range:
        text = translate("findings", "usual: {limits}").format(limits=text)
    elif row.usual:
        text = translate("findings", "{limits} (common\u00a0practice)").format(limits=text)
    return " ".join(filter(None, [text, _for_lobes(row.lobes) if row.is_range else ""]))


def _for_lobes(lobes: int | None) -> str:
    """How many lobes something is told for, where nobody entered how many; else nothing."""
    if lobes is None:
        return ""
    return translate("findings", "(for {lobes}, assumed)").format(lobes=lobes_text(lobes))


def row_text(row: JudgedFinding, display: Display, leak_test_s: float) -> str:
    """State, judged value where it is not the typed one, limits and probability; the time of the
    leak test in s."""
    parts = [f"{SIGNS[row.state]} {state_word(row.state)}"]
    quantity = quantity_of(row.key)
    if row.value is not None and row.key == "lobes_deg":
        value = translate("findings", "the worst lobe is {value} off")
        parts.append(value.format(value=amount(row.value, quantity)))
    if row.value is not None and row.key == "leak":
        value = translate("findings", "{value} lost in {time}")
        parts.append(
            value.format(
                value=amount(_rounded(row.value), quantity, display.unit(quantity)),
                time=amount(leak_test_s, TIME_S),
            )
        )
    limits = limits_text(row, display, leak_test_s)
    if limits:
        parts.append(limits)
    if row.state is State.SHOWN:
        parts.append(
            translate(
                "findings", "state this unit’s own figure to have it judged (Alter the limits)"
            )
        )
    if row.state is State.BORDERLINE and row.probability is not None:
        percent = translate("findings", "{percent}\u00a0%\u00a0likely\u00a0within")
        parts.append(percent.format(percent=round(100 * row.probability)))
        if not row.u_stated and row.u is not None:
            assumed = translate("findings", "±\u00a0{u}\u00a0assumed")
            parts.append(assumed.format(u=amount(row.u, quantity, display.unit(quantity))))
    return "  ·\u00a0\u00a0".join(parts)  # a dot begins a line, it does not hang at its end


def _rounded(value: float) -> float:
    return float(f"{value:.3g}")


def scatter_text(scatter: Scatter, lobes: int | None = None) -> str:
    """What a cause costs in spread of the spark at the crank; with the number of lobes if that is
    assumed."""
    span, half = scatter.crank_span_deg, scatter.crank_plus_minus_deg
    text = translate(
        "findings",
        "Costs {span}° of scatter at the crank from the earliest spark to the latest, {half}° "
        "either way.",
    ).format(span=rounded(span), half=rounded(half))
    return " ".join(filter(None, [text, _for_lobes(lobes)]))


def summary_text(record: FindingsRecord) -> str:
    """How many rows stand in each state."""
    every = (State.FAIL, State.BORDERLINE, State.PASS, State.SHOWN, State.NOT_MEASURED)
    return "   ".join(_counted({state: record.count(state) for state in every}))


def _counted(counts: Mapping[State, int]) -> list[str]:
    return [
        f"{SIGNS[state]} {number} {state_word(state)}".replace(" ", "\u00a0")
        for state, number in counts.items() if number
    ]  # fmt: skip


def group_head(group: str, states: Sequence[State]) -> str:
    """The heading of a group, with how many of its findings fail or are borderline."""
    counts = {state: states.count(state) for state in (State.FAIL, State.BORDERLINE)}
    return "   ".join([group_title(group), *_counted(counts)])


def total_scatter_text(record: FindingsRecord) -> str:
    """The spread that play and lobes add up to, with what the trade thinks of it; or nothing."""
    if record.scatter is None:
        return ""
    half = rounded(record.scatter.crank_plus_minus_deg)
    if record.scatter_state is State.NOT_MEASURED:
        return translate(
            "findings",
            "{sign} Spark scatter at the crank ±\u00a0{half}° from the lobes alone: what the side "
            "play adds is not known yet.",
        ).format(sign=SIGNS[State.NOT_MEASURED], half=half)
    verdict = {
        State.PASS: translate("findings", "good, within ±\u00a01°"),
        State.BORDERLINE: translate(
            "findings", "more than ±\u00a01°, tolerable up to ±\u00a02°; reject at ±\u00a03°"
        ),
        State.FAIL: translate("findings", "over ±\u00a03°: reject"),
    }[record.scatter_state]
    return translate(
        "findings", "{sign} Spark scatter at the crank ±\u00a0{half}°: {verdict} (common practice)."
    ).format(
        sign=SIGNS[record.scatter_state], half=half,
        verdict=" ".join(filter(None, [verdict, _for_lobes(record.lobes)])),
    )  # fmt: skip
