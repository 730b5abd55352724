"""From pasted text to rows and sentences, for the tables of the pages."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bobweight.app.store.display import Display
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.record import Record, parameters
from bobweight.core.units import parse

Parsed = tuple[Sequence[Record], Sequence[str]]
Parser = Callable[[str], Parsed]


def numbers_parser(record: type[Record], keys: Sequence[str], display: Display) -> Parser:
    """Reads lines of as many numbers as there are keys, between tabs, semicolons or spaces."""
    described = parameters(record)

    def read(text: str) -> Parsed:
        rows, sentences = [], []
        for number, line in enumerate(text.splitlines(), start=1):
            if not line.strip():
                continue
            try:
                rows.append(_row(line))
            except BobweightError as error:
                from bobweight.app.messages.table_words import line_sentence

                facts = {**error.problem.facts, "line": number}
                problem = Problem(error.problem.code, error.problem.path, facts)
                sentences.append(line_sentence(problem, display))
        return rows, sentences

    def _row(line: str) -> Record:
        cells = line.replace(";", "\t").split("\t") if "\t" in line or ";" in line else line.split()
        if len(cells) != len(keys):
            raise BobweightError("wrong-count", (), value=len(cells), needed=len(keys))
        values = {}
        for key, cell in zip(keys, cells, strict=True):
            parameter = described[key]
            values[key] = parse(cell, parameter.quantity, display.unit(parameter.quantity))
            problem = parameter.check(values[key])
            if problem:
                raise BobweightError.of(problem)
        return record(**values)

    return read
