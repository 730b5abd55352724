"""The program on a Linux desktop: entry, file type, icons, manual, completion; put there and taken
away. Checked by the desktop's own tools where they are installed."""

from __future__ import annotations

import configparser
import os
import shutil
import subprocess
import sys
import time
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from PySide6.QtGui import QImage

import bobweight
from bobweight.__main__ import main
from bobweight.app.command_line import MODULES, desktop
from bobweight.app.command_line.commands import manual
from tests.command_line.test_predict_and_verdict import DEMO, told

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="of Linux desktops")
MIME = "{http://www.freedesktop.org/standards/shared-mime-info}"


@pytest.fixture
def data(tmp_path, monkeypatch):
    """The user's data folder, and a command to start the program by."""
    command = tmp_path / "bin" / "bobweight"
    command.parent.mkdir()
    command.write_text(f'#!/bin/sh\nprintf "%s" "$1" > "{tmp_path}/opened"\n')
    command.chmod(0o755)
    monkeypatch.setattr(sys, "argv", [str(command)])
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture
def installed(data, qapp):
    assert main(["desktop", "--install"]) == 0
    return data


def files_in(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def tool(name: str) -> str:
    found = shutil.which(name)
    if not found:
        pytest.skip(f"{name} is not installed")
    return found


def test_all_is_put_there_and_all_is_taken_away(installed):
    wanted = {place for place, _, _ in desktop.parts()}
    assert wanted <= files_in(installed)
    (installed / "applications" / "other.desktop").write_text("[Desktop Entry]\n")
    assert main(["desktop", "--remove"]) == 0
    assert not wanted & files_in(installed)
    assert (installed / "applications" / "other.desktop").exists()
    assert main(["desktop", "--remove"]) == 0  # more than once does no harm


def test_nothing_is_left_where_nothing_was(data, qapp):
    """Neither empty folders nor what the desktop's tools had made of the files."""
    data.mkdir()
    assert main(["desktop", "--install"]) == 0
    (data / "mime/globs2").write_text("made by update-mime-database")
    (data / "applications/mimeinfo.cache").write_text("made by update-desktop-database")
    assert main(["desktop", "--remove"]) == 0
    assert list(data.iterdir()) == []


def test_what_others_put_there_stays(installed):
    other = installed / "mime/packages/other.xml"
    other.write_text('<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info"/>')
    (installed / "mime/globs2").touch()
    assert main(["desktop", "--remove"]) == 0
    assert files_in(installed) >= {"mime/packages/other.xml", "mime/globs2"}
    assert not (installed / "applications").exists()


def test_what_cannot_be_taken_away_is_told(installed, capsys):
    entry = installed / "applications/bobweight.desktop"
    entry.unlink()
    entry.mkdir()
    assert main(["desktop", "--remove"]) == 1
    assert "bobweight.desktop" in told(capsys)


def test_the_entry_starts_the_program_as_it_was_started(installed, data):
    entry = configparser.RawConfigParser(delimiters=("=",))
    entry.optionxform = str
    entry.read(installed / "applications/bobweight.desktop", "utf-8")
    fields = entry["Desktop Entry"]
    assert fields["Exec"] == f"{data.parent}/bin/bobweight %f"
    assert fields["MimeType"] == f"{desktop.DOCKET_TYPE};"
    assert fields["Icon"] == "bobweight"


def test_the_entry_finds_what_only_this_shell_knew(data, monkeypatch):
    """``pip install --target`` and PYTHONPATH: a desktop does not have the variable."""
    packages = data.parent / "lib"
    monkeypatch.setattr(bobweight, "__file__", str(packages / "bobweight" / "__init__.py"))
    monkeypatch.setenv("PYTHONPATH", f"/elsewhere{os.pathsep}{packages}")
    start = f"env PYTHONPATH=/elsewhere:{packages} {data.parent}/bin/bobweight"
    assert f"Exec={start} %f\n" in desktop.entry()
    monkeypatch.setenv("PYTHONPATH", "/elsewhere")
    assert f"Exec={data.parent}/bin/bobweight %f\n" in desktop.entry()


@pytest.mark.parametrize(
    ("command", "text"),
    [
        (["/opt/my bin/bobweight"], '"/opt/my bin/bobweight"'),
        (["/opt/100%/$bobweight"], '"/opt/100%%/\\\\$bobweight"'),
        (["/usr/bin/python3", "-m", "bobweight"], "/usr/bin/python3 -m bobweight"),
    ],
)
def test_a_command_with_odd_signs_is_quoted(command, text, monkeypatch):
    """Desktop Entry Specification 1.5, "The Exec key"."""
    monkeypatch.setattr(desktop, "starting_command", lambda: command)
    assert f"Exec={text} %f\n" in desktop.entry()


def test_the_file_type_is_that_of_the_entry(installed):
    kind = ElementTree.parse(installed / "mime/packages/bobweight.xml").find(f"{MIME}mime-type")
    assert kind.get("type") == desktop.DOCKET_TYPE
    assert kind.find(f"{MIME}glob").get("pattern") == "*.docket"
    icon = kind.find(f"{MIME}icon").get("name")
    assert (installed / f"icons/hicolor/scalable/mimetypes/{icon}.svg").exists()


@pytest.mark.parametrize("size", desktop.SIZES)
def test_icons_have_their_size_and_something_on_them(installed, size):
    for place, source, of in desktop.parts():
        if of == size and source.startswith("icons/"):
            image = QImage(str(installed / place))
            assert (image.width(), image.height()) == (size, size)
            colours = {image.pixel(x, y) for x in range(size) for y in range(size)}
            assert len(colours) > 10


def test_the_manual_page_has_every_command_and_option():
    """Made again by the command in DEVELOPERS.md."""
    text = (Path(desktop.__file__).parents[1] / "desktop/bobweight.1").read_text("utf-8")
    text = text.replace("\\-", "-")
    for name, parser in manual()._subparsers._group_actions[0].choices.items():
        assert name in text
        for action in parser._actions:
            assert all(option in text for option in action.option_strings), name
    assert set(MODULES) <= set(manual()._subparsers._group_actions[0].choices)


def test_the_desktop_s_own_tools_find_nothing_wrong(installed):
    entry = installed / "applications/bobweight.desktop"
    done = subprocess.run([tool("desktop-file-validate"), entry], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (0, "")


@pytest.mark.parametrize(("kind_of", "needed"), [("X-Generic", "mimetype"), ("GNOME", "gio")])
def test_a_double_click_on_a_docket_opens_it(installed, data, tmp_path, kind_of, needed):
    """What a file manager does, by xdg-open: the type by the name, the entry by the type, the
    command by the entry. Which tool knows the types depends on the desktop."""
    for name in ("update-mime-database", "update-desktop-database", needed):
        tool(name)
    opener = tool("xdg-open")
    docket = tmp_path / "a unit.docket"
    shutil.copy(DEMO, docket)
    environment = {
        "PATH": os.environ["PATH"], "HOME": str(tmp_path), "XDG_DATA_HOME": str(data),
        "XDG_CONFIG_HOME": str(tmp_path / "config"), "XDG_DATA_DIRS": "/usr/share",
        "XDG_CURRENT_DESKTOP": kind_of, "DISPLAY": ":99",
    }  # fmt: skip
    kind = subprocess.run([tool("xdg-mime"), "query", "filetype", docket], env=environment,
                          capture_output=True, text=True, timeout=60)  # fmt: skip
    assert kind.stdout.strip() == desktop.DOCKET_TYPE
    subprocess.run([opener, docket], env=environment, check=True, timeout=60)
    opened, until = tmp_path / "opened", time.monotonic() + 30
    while not (opened.exists() and opened.read_text()) and time.monotonic() < until:
        time.sleep(0.05)  # gio does not wait for what it starts
    assert opened.read_text() == str(docket)


def test_what_cannot_be_written_is_told(data, capsys, qapp):
    data.write_text("in the way")
    assert main(["desktop", "--install"]) == 1
    told(capsys)
    assert data.read_text() == "in the way"


@pytest.mark.parametrize("argv", [[], ["--install", "--remove"], ["--install", "extra"]])
def test_wrong_arguments(argv, data, capsys):
    assert main(["desktop", *argv]) == 2
    told(capsys)
    assert not data.exists()


def test_elsewhere_it_says_so(data, capsys, monkeypatch):
    monkeypatch.setattr(sys, "platform", "win32")
    assert main(["desktop", "--install"]) == 1
    assert "Linux" in told(capsys)
