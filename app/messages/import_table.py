"""Sentences for tables that are taken in."""

from __future__ import annotations

from bobweight.app.words import QT_TRANSLATE_NOOP

IMPORT_TABLE = {
    # The file
    "table-empty": QT_TRANSLATE_NOOP("messages", "The table has no rows."),
    "not-a-table": QT_TRANSLATE_NOOP(
        "messages",
        "This is neither text nor a spreadsheet that can be read. Save the table as CSV or xlsx.",
    ),
    "several-sheets": QT_TRANSLATE_NOOP(
        "messages", "The workbook has several sheets with cells: {known}. Say which one is meant."
    ),
    "no-such-sheet": QT_TRANSLATE_NOOP(
        "messages", "The workbook has no sheet “{value}” with cells. Its sheets are {known}."
    ),
    "table-suffix-unknown": QT_TRANSLATE_NOOP(
        "messages", "The name must end in one of {known}, which says what is written."
    ),
    # Columns
    "column-needed": QT_TRANSLATE_NOOP(
        "messages", "No column is named {field}, which is needed. Say which column it is."
    ),
    "no-such-column": QT_TRANSLATE_NOOP(
        "messages", "There is no column {value}; the table has {limit}."
    ),
    "column-not-named": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column} has no heading known here. It looks like {field}: say what it is.",
    ),
    "column-swapped": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”, holds what can only be {field}. Say whether the columns "
        "are swapped.",
    ),
    "column-unit-not-told": QT_TRANSLATE_NOOP(
        "messages", "Column {column}, “{heading}”, does not say its unit. Say which it is."
    ),
    "column-unknown-unit": QT_TRANSLATE_NOOP(
        "messages", "Column {column}, “{heading}”, has a unit that is not known. Say which it is."
    ),
    "column-frame-not-told": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”, does not say whether its figures are the distributor’s or "
        "the crank’s, and the rest of the table is not in the frame of this docket. Say which.",
    ),
    "column-static-not-told": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”, is in crank degrees but does not say whether static is in "
        "them. Say which.",
    ),
    "column-table-static-needed": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”: static has to be taken off or added, and it is not known. "
        "Give it on Setting up.",
    ),
    "column-not-depression": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”, is a pressure, not a depression below the air outside. Turn "
        "it into one, or say that it is not taken.",
    ),
    "column-too-slow": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”, holds speeds at which no engine runs. Say its unit.",
    ),
    "column-other-way": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”, counts retard or degrees after dead centre above "
        "zero, which are below zero here. Turn its signs, then say that it is {field}.",
    ),
    "column-hidden": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”, is hidden in the spreadsheet, and no other holds {field}. "
        "Say whether it is meant.",
    ),
    "column-one-side": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”, is one side of a tolerance. Give least and most instead.",
    ),
    "column-minutes-beside": QT_TRANSLATE_NOOP(
        "messages",
        "Column {column}, “{heading}”, seems to go on with minutes in the next one. Write both as "
        "one figure, such as 12.5.",
    ),
    "column-twice": QT_TRANSLATE_NOOP(
        "messages", "Two columns or more could be {field}. Say which one is meant."
    ),
    # Rows
    "table-static-needed": QT_TRANSLATE_NOOP(
        "messages",
        "Static must be taken off or added and is not known. Give it on Setting up first.",
    ),
    "row-before-heading": QT_TRANSLATE_NOOP(
        "messages", "These numbers stand above the heading, so they are not taken."
    ),
    "second-table": QT_TRANSLATE_NOOP(
        "messages", "Another table begins here with its own heading. Take it in separately."
    ),
    "summary-row": QT_TRANSLATE_NOOP(
        "messages", "“{value}” is a sum or a mean of other rows, so it is not taken."
    ),
    "too-many-cells-for-heading": QT_TRANSLATE_NOOP(
        "messages", "“{value}” stands beyond the last heading. Give its column a heading."
    ),
    "number-not-named": QT_TRANSLATE_NOOP(
        "messages", "What is “{value}” in column {column}? Say what the column is."
    ),
    "cell-is-date": QT_TRANSLATE_NOOP(
        "messages",
        "“{value}” is a date: a spreadsheet may have made it out of a range such as 5–7. Type it "
        "there again as text.",
    ),
    "formula-without-result": QT_TRANSLATE_NOOP(
        "messages",
        "This cell holds a formula whose result was not saved. Open the file in a spreadsheet, "
        "save it and take it in again, or type the figure.",
    ),
    "row-hidden": QT_TRANSLATE_NOOP(
        "messages",
        "This row is hidden in the spreadsheet, by hand or by a filter, so it is not taken. Show "
        "it there if it is meant.",
    ),
    "speeds-differ": QT_TRANSLATE_NOOP(
        "messages",
        "“{value}” under “{heading}” is not the same speed at {ratio} crank turns to one of the "
        "distributor. Say which column is meant, and ignore the other.",
    ),
    "fraction-or-band": QT_TRANSLATE_NOOP(
        "messages",
        "“{value}” may be a fraction or a band from {low} to {high}. Write it as 0.5 or as 1–2.",
    ),
    "no-band": QT_TRANSLATE_NOOP(
        "messages", "{value} stands alone, so least and most are the same. Give the band."
    ),
    "table-too-large": QT_TRANSLATE_NOOP(
        "messages", "The table has more than {limit} characters. Take it in by parts."
    ),
    "nothing-to-take": QT_TRANSLATE_NOOP("messages", "None of the rows can be taken."),
}  # fmt: skip
