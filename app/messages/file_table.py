"""Sentences for docket files and pasted tables. ``{place}`` is where in the file."""

from __future__ import annotations

from bobweight.app.words import QT_TRANSLATE_NOOP

FILE_TABLE = {
    # The file as a whole
    "file-missing": QT_TRANSLATE_NOOP(
        "messages", "There is no such file. Check the name and the folder."
    ),
    "file-is-folder": QT_TRANSLATE_NOOP("messages", "This is a folder. Name a file in it."),
    "file-not-readable": QT_TRANSLATE_NOOP(
        "messages", "The file cannot be read ({reason}). Check that you may read it."
    ),
    "file-not-writable": QT_TRANSLATE_NOOP(
        "messages",
        "The file cannot be written ({reason}). Save under another name or in another folder.",
    ),
    "disk-does-not-answer": QT_TRANSLATE_NOOP(
        "messages",
        "“{folder}” does not answer: “{file}” was not read, and may not have been written. "
        "Unsaved work stays in the journal; save under another name in another folder, or try "
        "again later.",
    ),
    "folder-missing": QT_TRANSLATE_NOOP(
        "messages", "The folder to save in is not there. Choose another."
    ),
    "file-exists": QT_TRANSLATE_NOOP(
        "messages",
        "There is such a file already, and it was left as it is. Choose another name, or add "
        "--force to write over it.",
    ),
    "output-is-input": QT_TRANSLATE_NOOP(
        "messages",
        "This is one of the files that were read, and it was left as it is. Choose another name "
        "to write to.",
    ),
    "file-too-large": QT_TRANSLATE_NOOP(
        "messages", "The file holds more than {limit} bytes: no docket does. Choose another file."
    ),
    "wrong-encoding": QT_TRANSLATE_NOOP(
        "messages", "Line {line} is not UTF-8 text. If this is a docket, save it again as UTF-8."
    ),
    "empty-file": QT_TRANSLATE_NOOP("messages", "The file is empty. Open a copy of it."),
    "not-json": QT_TRANSLATE_NOOP(
        "messages", "This is not a docket: its text is not JSON. Choose another file."
    ),
    "not-a-docket": QT_TRANSLATE_NOOP(
        "messages", "This is not a docket: it states no schema. Choose another file."
    ),
    "damaged-json": QT_TRANSLATE_NOOP(
        "messages",
        "The file is damaged at line {line}, column {column}. Correct it there, or open a copy.",
    ),
    "too-deep": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: nested more than {limit} levels deep, which no docket is. Open a copy.",
    ),
    "bad-schema": QT_TRANSLATE_NOOP(
        "messages", "The schema is “{value}”; it must be a whole number, at most {known}."
    ),
    "newer-schema": QT_TRANSLATE_NOOP(
        "messages",
        "The file was written by a newer version (schema {value}; known here: {known}). "
        "Open it with that version.",
    ),
    # Paper
    "cannot-print": QT_TRANSLATE_NOOP(
        "messages", "The printer did not take the page. Check it, or save a PDF and print that."
    ),
    "sheet-suffix-unknown": QT_TRANSLATE_NOOP(
        "messages", "The name must end in one of {known}, which says what is written."
    ),
    "docket-too-large": QT_TRANSLATE_NOOP(
        "messages",
        "That would make the docket larger than {limit} bytes, and it could not be read again. "
        "Nothing was changed. Shorten it, or begin another docket.",
    ),
    "too-many-records": QT_TRANSLATE_NOOP(
        "messages",
        "These are more than {limit} rows in all, the most that one docket holds. Nothing was "
        "changed. Divide them between several dockets.",
    ),
    "damaged-change": QT_TRANSLATE_NOOP(
        "messages", "A line of the journal does not fit the docket before it."
    ),
    "journal-not-written": QT_TRANSLATE_NOOP(
        "messages",
        "What you do now is not being written down and would be lost if the program ended "
        "({reason}). Save it, and make room in “{folder}”.",
    ),
    # A place in the file
    "key-twice": QT_TRANSLATE_NOOP(
        "messages", "{place}: “{key}” stands in the file twice. Take out the one that is wrong."
    ),
    "key-not-known": QT_TRANSLATE_NOOP(
        "messages",
        "“{key}” is nothing that is known here: it is kept, and nothing is made of it. Is its name "
        "spelt wrongly?",
    ),
    "keys-left-out": QT_TRANSLATE_NOOP(
        "messages", "The file does not say these, so what is usual stands for them: {keys}."
    ),
    "no-such-desktop": QT_TRANSLATE_NOOP(
        "messages", "This is for Linux desktops. Elsewhere the installed program has its own entry."
    ),
    "no-such-value": QT_TRANSLATE_NOOP(
        "messages", "There is nothing called “{value}” here. Look for its name in a saved docket."
    ),
    "no-such-number": QT_TRANSLATE_NOOP(
        "messages", "“{value}” is not a number of the mechanism. Name one, as a saved docket does."
    ),
    "no-such-session": QT_TRANSLATE_NOOP(
        "messages", "There is no session {value}: the docket holds {count}. Count them from 1."
    ),
    "not-an-object": QT_TRANSLATE_NOOP(
        "messages", "{place}: a group of fields in braces belongs here, not “{value}”."
    ),
    "not-a-list": QT_TRANSLATE_NOOP(
        "messages", "{place}: a list in square brackets belongs here, not “{value}”."
    ),
    "list-too-long": QT_TRANSLATE_NOOP(
        "messages", "{place}: {value} rows are too many; the most is {limit}."
    ),
    "looks-like-other-frame": QT_TRANSLATE_NOOP(
        "messages",
        "{place}: the table goes up to {value}, the mechanism to {most_deg} at the distributor. "
        "These look like {likely} figures; the table says {frame}.",
    ),
}  # fmt: skip
