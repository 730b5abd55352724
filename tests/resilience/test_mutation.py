"""A short run of broken files; the long one is ``python -m tests.studies.mutation``."""

from __future__ import annotations

import io
import warnings
import zipfile

import pytest

from bobweight.core.problems import BobweightError
from bobweight.core.tables.source import read_source
from tests.resilience.mutation import Material, _ods
from tests.resilience.reached import Reached


@pytest.mark.qt_log_ignore("JPEG", "Unsupported marker", extend=True)  # of a broken one
@pytest.mark.parametrize("first", range(0, 400, 100))
def test_broken_files_are_refused_with_a_sentence_or_computed(first, tmp_path):
    material = Material(tmp_path)
    for seed in range(first, first + 100):
        kind, data, check = material.case(seed)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of numpy, at the edge of what can be computed
            try:
                check(data)
            except Exception as error:
                raise AssertionError(f"seed {seed}, {kind}: {error!r}") from error


def test_a_file_that_takes_a_new_step_is_broken_further(tmp_path):
    material, reached = Material(tmp_path), Reached()
    news = []
    for seed in range(40):
        kind, data, check = material.case(seed)
        if kind in ("tray", "table", "settings"):
            with reached.watching():
                check(data)
            news.append(reached.news())
            if news[-1]:
                material.learn(kind, data, check)
    assert news[0] > 0 and 0 in news and reached.lines > 50
    learnt = {data for files in material.learnt.values() for data, _ in files}
    assert learnt and material.case(1000)[0]


@pytest.mark.timeout(20)  # it once never came back
def test_a_sheet_whose_table_never_ends_is_refused(tmp_path):
    whole = _ods([["speed", "angle"], ["1000", "5"]])
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as old, zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            part = old.read(name).replace(b"</table:table>", b"</table\x1atable>")
            new.writestr(name, part)
    path = tmp_path / "broken.ods"
    path.write_bytes(made.getvalue())
    with pytest.raises(BobweightError) as told:
        read_source(path)
    assert told.value.problem.code == "not-a-table"
