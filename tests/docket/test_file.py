"""The docket file: what is written comes back, and what is wrong is told with its place."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import pytest
from hypothesis import given, settings
from jsonschema import Draft202012Validator

from bobweight.core.docket import file as file_module
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.entry import Gate
from bobweight.core.docket.file import (
    docket_from_text,
    docket_to_text,
    read_docket,
    write_atomically,
    write_docket,
)
from bobweight.core.docket.mechanism import Mechanism, Spring, Weights
from bobweight.core.docket.migrations import SCHEMA
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.schema import json_schema
from bobweight.core.problems import BobweightError, path_text
from bobweight.core.record import put
from tests.strategies import dockets

SAMPLES = Path(__file__).parent / "dockets"
VALIDATOR = Draft202012Validator(json_schema())


def problem_of(text: str):
    with pytest.raises(BobweightError) as caught:
        docket_from_text(text)
    return caught.value.problem


def place_of(text: str) -> tuple[str, str]:
    problem = problem_of(text)
    return problem.code, path_text(problem.path)


@settings(max_examples=40, deadline=None)
@given(dockets(strangers=True))
def test_a_docket_is_written_by_the_schema_in_the_room_reckoned_and_comes_back(docket: Docket):
    """One test, since such a docket takes longer to draw than to look at in three ways."""
    text = docket_to_text(docket)
    VALIDATOR.validate(json.loads(text))
    assert len(text.encode()) <= Gate()._record(docket, (), {})[0]
    again = docket_from_text(text)
    assert again == docket
    assert docket_to_text(again) == text
    assert json.loads(text)["schema"] == SCHEMA  # RFC 8259 JSON by the standard library


def test_the_text_is_plain_to_read():
    spring = Spring(rate_n_per_mm=0.87, label="light · 12½", u={"rate_n_per_mm": 0.05})
    text = docket_to_text(Docket(mechanism=Mechanism(springs=(spring,))))
    assert text.startswith(f'{{\n  "schema": {SCHEMA},\n  "particulars": {{')
    assert '"rate_n_per_mm": 0.87' in text
    assert '"free_length_mm": null' in text  # not known is said, not left out
    assert '"u": {"rate_n_per_mm": 0.05}' in text
    assert "light · 12½" in text  # UTF-8 as it is, no escapes
    assert text.endswith("}\n")


def test_a_whole_number_and_a_real_one_are_written_alike():
    typed = Docket(mechanism=Mechanism(springs=(Spring(rate_n_per_mm=2),), stop_deg=12))
    text = docket_to_text(typed)
    assert '"stop_deg": 12.0' in text
    assert docket_to_text(docket_from_text(text)) == text
    assert docket_from_text('{"schema": 2, "mechanism": {"weights": {"count": 3.0}}}') == Docket(
        mechanism=Mechanism(weights=Weights(count=3))
    )


def test_keys_that_are_not_known_stay_at_their_level():
    text = """{"schema": 2, "workshop": {"bay": 3}, "mechanism": {"springs": [
        {"rate_n_per_mm": 1.5, "coils": [9, 9.5], "u": {"rate_n_per_mm": 0.1, "coils": 0.5}}]}}"""
    docket = docket_from_text(text)
    assert docket.other["workshop"] == {"bay": 3}
    edited = put(docket, ("mechanism", "springs", 0, "slack_mm"), 0.7)
    plain = json.loads(docket_to_text(edited))
    spring = plain["mechanism"]["springs"][0]
    assert plain["workshop"] == {"bay": 3}
    assert spring["coils"] == [9, 9.5]
    assert spring["u"] == {"rate_n_per_mm": 0.1, "coils": 0.5}
    assert spring["slack_mm"] == 0.7


def test_an_uncertainty_of_null_is_not_stated():
    docket = docket_from_text('{"schema": 1, "capsule": {"u": {"start_kpa": null}}}')
    assert dict(docket.capsules[0].u) == {}


def test_damaged_json_tells_line_and_column():
    problem = problem_of('{"schema": 2,\n "particulars": {"title": "x",}}')
    assert problem.code == "damaged-json"
    assert problem.facts["line"] == 2
    assert 20 <= problem.facts["column"] <= 34


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty-file"),
        (" \n\t", "empty-file"),
        ("title: my unit", "not-json"),
        ("<docket/>", "not-json"),
        ("[1, 2]", "not-an-object"),
        ('"schema"', "not-an-object"),
        ("12", "not-an-object"),
        ("null", "not-an-object"),
        ('{"schema": 2', "damaged-json"),
        ('{"schema": 2} {}', "damaged-json"),
        ("{}", "not-a-docket"),
        ('{"particulars": {}}', "not-a-docket"),
        ("[" * 100_000, "too-deep"),
        ('{"schema": 2, "x": ' + '{"x": ' * 100_000, "too-deep"),
        ('{"schema": 2, "x": ' + "[" * 60 + "]" * 60 + "}", "too-deep"),
    ],
)
def test_what_is_no_docket_is_told(text: str, code: str):
    assert problem_of(text).code == code


@pytest.mark.parametrize(
    ("schema", "code"),
    [(str(SCHEMA + 1), "newer-schema"), ("99999999999999999999", "newer-schema"),
     ("0", "bad-schema"), ("-1", "bad-schema"), ("1.0", "bad-schema"), ("true", "bad-schema"),
     ('"1"', "bad-schema"), ("null", "bad-schema"), ("1e999", "not-finite")],
)  # fmt: skip
def test_another_schema_is_told(schema: str, code: str):
    assert place_of(f'{{"schema": {schema}}}') == (code, "schema")


WRONG = [
    ('"mechanism": []', "not-an-object", "mechanism"),
    ('"mechanism": null', "not-an-object", "mechanism"),
    ('"sessions": {}', "not-a-list", "sessions"),
    ('"sessions": [3]', "not-an-object", "sessions[0]"),
    ('"mechanism": {"springs": [{"rate_n_per_mm": "1,5"}]}', "not-a-number",
     "mechanism.springs[0].rate_n_per_mm"),
    ('"mechanism": {"springs": [{}, {"rate_n_per_mm": true}]}', "not-a-number",
     "mechanism.springs[1].rate_n_per_mm"),
    ('"mechanism": {"springs": [{"rate_n_per_mm": NaN}]}', "not-finite",
     "mechanism.springs[0].rate_n_per_mm"),
    ('"mechanism": {"springs": [{"rate_n_per_mm": -Infinity}]}', "not-finite",
     "mechanism.springs[0].rate_n_per_mm"),
    ('"mechanism": {"springs": [{"rate_n_per_mm": 1e999}]}', "not-finite",
     "mechanism.springs[0].rate_n_per_mm"),
    ('"mechanism": {"stop_deg": 1' + "0" * 5000 + "}", "not-finite", "mechanism.stop_deg"),
    ('"mechanism": {"stop_deg": 1' + "0" * 200 + "}", "above-limit", "mechanism.stop_deg"),
    ('"mechanism": {"springs": [{"rate_n_per_mm": 0}]}', "below-limit",
     "mechanism.springs[0].rate_n_per_mm"),
    ('"mechanism": {"stop_deg": 60.5}', "above-limit", "mechanism.stop_deg"),
    ('"mechanism": {"weights": {"count": 2.5}}', "not-whole", "mechanism.weights.count"),
    ('"mechanism": {"springs": [{"weight": null}]}', "missing", "mechanism.springs[0].weight"),
    ('"mechanism": {"springs": [{"tang_mm": null}]}', "missing", "mechanism.springs[0].tang_mm"),
    ('"mechanism": {"linkage": {"kind": "chain"}}', "not-an-option", "mechanism.linkage.kind"),
    ('"mechanism": {"linkage": {"kind": ["slot"]}}', "not-an-option", "mechanism.linkage.kind"),
    ('"particulars": {"title": 5}', "not-text", "particulars.title"),
    ('"particulars": {"title": "\\ud800"}', "not-text", "particulars.title"),
    ('"sessions": [{"readings": [{"left_out": 1}]}]', "not-yes-or-no",
     "sessions[0].readings[0].left_out"),
    ('"capsules": [{"u": {"start_kpa": 0}}]', "uncertainty-not-positive",
     "capsules[0].u.start_kpa"),
    ('"capsules": [{"u": {"start_kpa": -1}}]', "uncertainty-not-positive",
     "capsules[0].u.start_kpa"),
    ('"capsules": [{"u": {"start_kpa": "1"}}]', "not-a-number", "capsules[0].u.start_kpa"),
    ('"capsules": [{"u": {"start_kpa": true}}]', "not-a-number", "capsules[0].u.start_kpa"),
    ('"capsules": [{"u": 1}]', "not-an-object", "capsules[0].u"),
    ('"capsules": [{"start_kpa": 5, "start_kpa": 6}]', "key-twice", "capsules[0].start_kpa"),
    ('"extra": {"a": [{"b": 1, "b": 1}]}', "key-twice", "extra.a[0].b"),
    ('"extra": [1, NaN]', "not-finite", "extra[1]"),
]  # fmt: skip


@pytest.mark.parametrize(("inside", "code", "place"), WRONG)
def test_a_wrong_value_is_told_with_its_place(inside: str, code: str, place: str):
    assert place_of(f'{{"schema": 2, {inside}}}') == (code, place)


def test_a_key_written_twice_at_the_top_is_told():
    assert place_of('{"schema": 2, "target": {}, "target": {}}') == ("key-twice", "target")


def test_a_list_without_end_is_refused():
    many = ",".join(["{}"] * 20_001)
    problem = problem_of(f'{{"schema": 2, "mechanism": {{"springs": [{many}]}}}}')
    assert (problem.code, problem.facts["value"]) == ("list-too-long", 20_001)


@pytest.mark.parametrize(
    ("value", "code"),
    [(float("nan"), "not-finite"), (-1.0, "below-limit"), (True, "not-a-number"),
     ("5", "not-a-number")],
)  # fmt: skip
def test_what_could_not_be_read_back_is_not_written(value: object, code: str, tmp_path: Path):
    docket = Docket(mechanism=Mechanism(stop_deg=value))
    path = tmp_path / "unit.docket"
    write_docket(new_docket(), path)
    before = path.read_bytes()
    with pytest.raises(BobweightError) as caught:
        write_docket(docket, path)
    problem = caught.value.problem
    assert (problem.code, problem.path) == (code, ("mechanism", "stop_deg"))
    assert problem.facts["file"] == str(path)
    assert path.read_bytes() == before
    assert os.listdir(tmp_path) == ["unit.docket"]


def test_a_file_is_read_and_written_again(tmp_path: Path):
    path = tmp_path / "Zündverteiler №1.docket"
    docket = put(new_docket(), ("particulars", "title"), "Vierzylinder — für Prüfstand")
    write_docket(docket, path)
    assert read_docket(path) == docket
    assert read_docket(str(path)) == docket
    assert path.read_bytes().decode("utf-8") == docket_to_text(docket)
    assert os.listdir(tmp_path) == [path.name]


def test_a_byte_order_mark_and_windows_lines_do_no_harm(tmp_path: Path):
    path = tmp_path / "unit.docket"
    path.write_bytes(b"\xef\xbb\xbf" + docket_to_text(new_docket()).replace("\n", "\r\n").encode())
    assert read_docket(path) == new_docket()


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "empty-file"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "wrong-encoding"),
        (b"PK\x03\x04\x00\x00abc", "not-json"),
        ('{"schema": 2}'.encode("utf-16"), "wrong-encoding"),
        ('{"schema": 2}'.encode("utf-16-le"), "not-json"),
        ('{"schema": 2, "particulars": {"title": "Zündung"}}'.encode("latin-1"), "wrong-encoding"),
        (b"\x00" * 100, "not-json"),
    ],
)
def test_a_file_of_another_kind_is_told(data: bytes, code: str, tmp_path: Path):
    path = tmp_path / "unit.docket"
    path.write_bytes(data)
    with pytest.raises(BobweightError) as caught:
        read_docket(path)
    assert caught.value.problem.code == code
    assert caught.value.problem.facts["file"] == str(path)


def test_wrong_encoding_tells_the_line(tmp_path: Path):
    path = tmp_path / "unit.docket"
    path.write_bytes(b'{"schema": 2,\n"particulars":\n{"title": "Z\xfcndung"}}')
    with pytest.raises(BobweightError) as caught:
        read_docket(path)
    assert caught.value.problem.facts["line"] == 3


def code_of_reading(path: object) -> str:
    with pytest.raises(BobweightError) as caught:
        read_docket(path)
    return caught.value.problem.code


def test_what_is_no_file_is_told(tmp_path: Path):
    assert code_of_reading(tmp_path / "none.docket") == "file-missing"
    assert code_of_reading(tmp_path) == "file-is-folder"
    assert code_of_reading("bad\0name") == "file-not-readable"
    assert code_of_reading(tmp_path / ("x" * 300)) == "file-not-readable"
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        assert code_of_reading(tmp_path / "pipe") == "file-not-readable"


def test_a_huge_file_is_refused_unread(tmp_path: Path):
    path = tmp_path / "huge.docket"
    with path.open("wb") as file:
        file.truncate(50_000_000_000)  # sparse: takes no room, and would not fit in memory
    assert code_of_reading(path) == "file-too-large"


def test_a_failed_save_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = tmp_path / "unit.docket"
    write_docket(new_docket(), path)
    before = path.read_bytes()

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(file_module.os, "fsync", full)
    with pytest.raises(BobweightError) as caught:
        write_docket(put(new_docket(), ("particulars", "title"), "x"), path)
    assert caught.value.problem.code == "file-not-writable"
    assert caught.value.problem.facts["reason"] == "No space left on device"
    assert path.read_bytes() == before
    assert os.listdir(tmp_path) == ["unit.docket"]


def test_the_data_is_on_the_disk_before_the_old_file_goes(tmp_path: Path, monkeypatch):
    order = []
    fsync, replace = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda handle: (order.append("fsync"), fsync(handle)))
    monkeypatch.setattr(os, "replace", lambda a, b: (order.append("replace"), replace(a, b)))
    write_atomically(tmp_path / "unit.docket", b"x")
    assert order[:2] == ["fsync", "replace"]


@pytest.mark.skipif(os.name != "posix", reason="permission bits and links of POSIX")
class TestPosix:
    def test_permissions_stay(self, tmp_path: Path):
        path = tmp_path / "unit.docket"
        write_docket(new_docket(), path)
        path.chmod(0o640)
        write_docket(put(new_docket(), ("particulars", "title"), "x"), path)
        assert stat.S_IMODE(path.stat().st_mode) == 0o640

    def test_a_new_file_has_the_usual_permissions(self, tmp_path: Path):
        (tmp_path / "plain").write_text("")
        write_docket(new_docket(), tmp_path / "unit.docket")
        modes = {stat.S_IMODE(path.stat().st_mode) for path in tmp_path.iterdir()}
        assert len(modes) == 1

    def test_a_link_stays_a_link(self, tmp_path: Path):
        (tmp_path / "kept").mkdir()
        target, link = tmp_path / "kept" / "real.docket", tmp_path / "unit.docket"
        write_docket(new_docket(), target)
        link.symlink_to(target)
        changed = put(new_docket(), ("particulars", "title"), "x")
        write_docket(changed, link)
        assert link.is_symlink()
        assert read_docket(target) == changed

    @pytest.mark.skipif(os.name == "posix" and os.geteuid() == 0, reason="root may write all")
    def test_a_protected_file_is_not_replaced(self, tmp_path: Path):
        path = tmp_path / "unit.docket"
        write_docket(new_docket(), path)
        path.chmod(0o444)
        with pytest.raises(BobweightError, match="file-not-writable"):
            write_docket(new_docket(), path)


@pytest.mark.parametrize(
    ("name", "code"), [("gone/unit.docket", "folder-missing"),
                       ("gone/../unit.docket", "folder-missing"), (".", "file-is-folder"),
                       ("x" * 300, "file-not-writable")],
)  # fmt: skip
def test_where_nothing_can_be_saved_is_told(name: str, code: str, tmp_path: Path):
    with pytest.raises(BobweightError) as caught:
        write_docket(new_docket(), tmp_path / name)
    assert caught.value.problem.code == code


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("schema_*.docket")), ids=lambda p: p.name)
def test_a_file_of_every_released_schema_can_be_read(path: Path):
    docket = read_docket(path)
    assert docket.particulars.title == "Invented four, for tests"
    assert docket.mechanism.springs[1].slack_mm == 1.1
    assert docket.mechanism.springs[0].u["rate_n_per_mm"] == 0.05
    assert docket.sessions[0].readings[1].direction == "falling"
    assert docket.target.points[0].least_deg == 2.0
    assert docket.other["a key of later days"] == [1, 2.5, None]
    assert isinstance(docket.particulars, Particulars)
