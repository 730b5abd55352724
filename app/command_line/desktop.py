"""``bobweight desktop``: the program in the menu of a Linux desktop, and dockets that open by a
double click, for who installed it with pip."""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path

import bobweight
from bobweight.app.command_line.command import DONE, NAME, Command
from bobweight.app.store.images import image_bytes
from bobweight.core.problems import BobweightError

DOCKET_TYPE = f"application/x-{NAME}-docket"
SIZES = (16, 22, 24, 32, 48, 64, 128, 256)
_ICONS = {
    "bobweight.svg": ("apps", NAME),
    "docket.svg": ("mimetypes", DOCKET_TYPE.replace("/", "-")),
}
_SHELLS = {
    "bash": f"bash-completion/completions/{NAME}",
    "zsh": f"zsh/site-functions/_{NAME}",
}


def _arguments(parser: argparse.ArgumentParser) -> None:
    way = parser.add_mutually_exclusive_group(required=True)
    way.add_argument("--install", action="store_true", help="for this user alone")
    way.add_argument("--remove", action="store_true", help="take away what --install put there")


def data_home() -> Path:
    """The user's own data folder (XDG Base Directory Specification)."""
    stated = os.environ.get("XDG_DATA_HOME", "")
    return Path(stated) if os.path.isabs(stated) else Path.home() / ".local" / "share"


def starting_command() -> list[str]:
    """What starts the program as it was started now."""
    if getattr(sys, "frozen", False):
        return [sys.executable]
    script = shutil.which(sys.argv[0])
    if script and Path(script).name.startswith(NAME):
        return [*_where_found(), os.path.abspath(script)]
    return [*_where_found(), sys.executable, "-m", NAME]


def _where_found() -> list[str]:
    """What tells Python where the program is, if only PYTHONPATH did (``pip install --target``):
    a desktop does not know the variables of this shell."""
    stated = os.environ.get("PYTHONPATH", "")
    folders = [os.path.abspath(folder) for folder in stated.split(os.pathsep) if folder]
    own = os.path.abspath(os.path.dirname(bobweight.__file__))
    if any(os.path.join(folder, NAME) == own for folder in folders):
        return ["env", f"PYTHONPATH={os.pathsep.join(folders)}"]
    return []


def _quoted(part: str) -> str:
    """A part of a command as the Exec key wants it (Desktop Entry Specification): in quotation
    marks only where it must be, since ``xdg-open`` without a desktop does not know them."""
    if re.fullmatch(r"[\w@+=:,./-]+", part):
        return part
    for sign in ("\\", '"', "`", "$"):
        part = part.replace(sign, f"\\{sign}")
    return '"' + part.replace("\\", "\\\\").replace("%", "%%") + '"'


def entry() -> str:
    """The desktop entry, with the command by its full path."""
    text = files("bobweight.app").joinpath(f"desktop/{NAME}.desktop").read_text("utf-8")
    command = " ".join(_quoted(part) for part in starting_command())
    return text.replace(f"Exec={NAME} ", f"Exec={command} ")


def parts() -> Iterator[tuple[str, str, int]]:
    """Every file that belongs on the desktop: its place below the data folder, what it is made of,
    and for an image its size."""
    yield f"applications/{NAME}.desktop", "entry", 0
    yield f"mime/packages/{NAME}.xml", f"desktop/{NAME}.xml", 0
    yield f"metainfo/{NAME}.metainfo.xml", f"desktop/{NAME}.metainfo.xml", 0
    yield f"man/man1/{NAME}.1", f"desktop/{NAME}.1", 0
    for shell, place in _SHELLS.items():
        yield place, shell, 0
    for source, (kind, name) in _ICONS.items():
        yield f"icons/hicolor/scalable/{kind}/{name}.svg", f"icons/{source}", 0
        for size in SIZES:
            yield f"icons/hicolor/{size}x{size}/{kind}/{name}.png", f"icons/{source}", size


def content(source: str, size: int) -> bytes:
    """What is in one of them; an image needs Qt."""
    if source == "entry":
        return entry().encode()
    if source in _SHELLS:
        from bobweight.app.command_line.completion import script

        return script(source).encode()
    data = files("bobweight.app").joinpath(source).read_bytes()
    return rendered(data, size) if size else data


def rendered(svg: bytes, size: int, form: str = "PNG") -> bytes:
    """An icon as an image of so many pixels."""
    from PySide6.QtCore import QByteArray, Qt
    from PySide6.QtGui import QImage, QPainter
    from PySide6.QtSvg import QSvgRenderer

    image = QImage(size, size, QImage.Format.Format_ARGB32)
    image.fill(Qt.GlobalColor.transparent)
    painter = QPainter(image)
    QSvgRenderer(QByteArray(svg)).render(painter)
    painter.end()
    return image_bytes(image, form)


_MADE_BY_THE_DESKTOP = {
    "mime": {
        "XMLnamespaces", "aliases", "generic-icons", "globs", "globs2", "icons", "magic",
        "mime.cache", "subclasses", "treemagic", "types", "version",
    },
    "applications": {"mimeinfo.cache"},
    "icons/hicolor": {"icon-theme.cache"},
}  # fmt: skip
"""What the desktop's tools make of the files below these folders (Shared MIME-info Database,
Desktop Entry Specification, Icon Theme Specification)."""


def _sweep(folder: Path) -> None:
    """Take away the folders that nothing is left in but what the desktop's tools had made of the
    program's own files."""
    for place in (*(place for place, _, _ in parts()), f"mime/{DOCKET_TYPE}.xml"):
        _drop_empty((folder / place).parent, folder)
    for place, names in _MADE_BY_THE_DESKTOP.items():
        left = folder / place
        if left.is_dir() and {path.name for path in left.iterdir()} <= names:
            for path in left.iterdir():
                path.unlink()
            _drop_empty(left, folder)


def _drop_empty(inner: Path, folder: Path) -> None:
    while inner != folder:
        try:
            inner.rmdir()
        except OSError:  # something is in it, or it is not there
            if inner.exists():
                return
        inner = inner.parent


def _tell_the_desktop(folder: Path) -> None:
    """Have the desktop's own tools, as far as they are there, read the folders again."""
    commands = [
        (["update-mime-database"], folder / "mime"),
        (["update-desktop-database"], folder / "applications"),
        (["gtk-update-icon-cache", "-f", "-t"], folder / "icons/hicolor"),
    ]
    for command, place in commands:
        if shutil.which(command[0]) and place.is_dir():
            subprocess.run([*command, place], capture_output=True, check=False, timeout=60)


@contextmanager
def _told(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise BobweightError(
            "file-not-writable", (), file=str(path), reason=error.strerror or ""
        ) from None


def _act(arguments: argparse.Namespace) -> int:
    from bobweight.app.command_line.screen import offscreen
    from bobweight.core.docket.file import write_atomically

    if not sys.platform.startswith("linux"):
        raise BobweightError("no-such-desktop")
    folder = data_home()
    if arguments.install:
        with offscreen():
            made = {place: content(source, size) for place, source, size in parts()}
        for place, data in made.items():
            with _told((folder / place).parent):
                (folder / place).parent.mkdir(parents=True, exist_ok=True)
            write_atomically(folder / place, data)
    else:
        for place, _, _ in parts():
            with _told(folder / place):
                (folder / place).unlink(missing_ok=True)
    _tell_the_desktop(folder)
    if arguments.remove:
        _sweep(folder)
    return DONE


COMMANDS = (
    Command(
        "desktop",
        "The program in the menu of a Linux desktop, and dockets that open by a double click.",
        _arguments,
        _act,
    ),
)
