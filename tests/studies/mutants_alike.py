# ruff: noqa: E501
"""Changed tokens that make no difference which anybody could want tested, each with the reason."""

ALIKE: dict[tuple[str, str, str, str], str] = {
    (
        "core/docket/file.py",
        "_replace",
        "new.unlink(missing_ok=True)",
        "True → False",
    ): "The file is there.",
    (
        "core/docket/mechanism.py",
        "",
        '"Post to peg at the stop", LENGTH, hard=(0.5, 300.0), usual=(6.0, 70.0),',
        "70.0 → 140.0",
    ): "What a slider and a tip call usual.",
    (
        "core/docket/mechanism.py",
        "_part",
        'f"Uncertainty, part {index}", NUMBER, 0.0, hard=(-10.0, 10.0),',
        "- → ",
    ): "What a slider and a tip call usual.",
    (
        "core/docket/plain.py",
        "_json",
        "return json.dumps(value, ensure_ascii=False, allow_nan=False)",
        "False → True",
    ): "Only measures a length that is allowed for either way.",
    (
        "core/docket/plain.py",
        "_shown",
        "return str(value)[:40]",
        "40 → 41",
    ): "Where a long text is cut in a message.",
    (
        "core/judgement/alter.py",
        "_best_pair",
        "k = int(np.argmax(probability + 0.02 * margin))",
        "0.02 → 0.04",
    ): "Decides between amounts that are as good.",
    (
        "core/judgement/faults.py",
        "_measurement_faults",
        'Fault("pipe_left_on", "measurement", (), 250.0, 0.7, "rpm", 0.4, "pipe-off",',
        "250.0 → 500.0",
    ): "A prior or usual size of the trade; the judgement study answers for it.",
    (
        "core/judgement/faults.py",
        "_measurement_faults",
        'found.append(Fault("wrong_frame", "measurement", frame, 0.0, 0.0, "", 0.15, "check-frame"))',
        "0.15 → 0.3",
    ): "A prior or usual size of the trade; the judgement study answers for it.",
    (
        "core/judgement/faults.py",
        "_swapped",
        'return Fault("springs_swapped", "unit", effects, 0.0, 0.0, "", 0.15, "look-at-springs")',
        "0.15 → 0.3",
    ): "A prior or usual size of the trade; the judgement study answers for it.",
    (
        "core/judgement/faults.py",
        "_unit_faults",
        'Fault("sticking", "unit", stick, usual, 0.5, "nmm", 1.0, "clean-and-oil"),',
        "0.5 → 1.0",
    ): "A prior or usual size of the trade; the judgement study answers for it.",
    (
        "core/mechanics/balance.py",
        "balance_speeds",
        "size = max(1, _CHUNK_VALUES // (segments * each))  # pieces that fit the processor's cache",
        "max → min",
    ): "Sizes of the pieces, for speed alone.",
    (
        "core/mechanics/predict.py",
        "_take_ups",
        "around = np.radians([[[angle - 1e-6, angle + 1e-6]]])",
        "1e-6 → 2e-06",
    ): "The step of a difference.",
    (
        "core/statistics/least_squares.py",
        "ask",
        "return np.where(np.isfinite(found), found, 1e6)",
        "1e6 → 2000000.0",
    ): "Any large number keeps the search away.",
    (
        "core/statistics/least_squares.py",
        "ask",
        "self.calls += 1",
        "1 → 2",
    ): "Only counts, for the studies.",
    (
        "core/statistics/least_squares.py",
        "run",
        "self.rest[live] = (better & (gain < tolerance)) | still | (self.cost[live] < 1e-28)",
        "1e-28 → 2e-28",
    ): "A cost so small is nothing.",
    (
        "core/statistics/linear_programs.py",
        "solve_many",
        "going = (mean[:, 0] >= gap) | (np.abs(lacking).max(axis=1) >= 1e-6)",
        "1e-6 → 2e-06",
    ): "A tolerance of rounding.",
    (
        "core/statistics/linear_programs.py",
        "solve_many",
        "going = (mean[:, 0] >= gap) | (np.abs(lacking).max(axis=1) >= 1e-6)",
        ">= → >",
    ): "A tolerance of rounding.",
    (
        "core/statistics/linear_programs.py",
        "solve_many",
        "tiny = 1e-13 * np.eye(start.shape[1])",
        "* → /",
    ): "A tolerance of rounding.",
    (
        "core/statistics/lines.py",
        "line_in_both",
        "if abs(b - old) <= 1e-14 * abs(b) + 1e-300:",
        "1e-300 → 2e-300",
    ): "Keeps a division from zero; far below any figure.",
    (
        "core/statistics/lines.py",
        "line_in_both",
        "rough = 1 / (uy**2 + (np.ptp(y) / np.ptp(x) * ux) ** 2 + 1e-300)",
        "** → *",
    ): "Only where the iteration begins.",
}
"""By file, function, line and change: why."""
