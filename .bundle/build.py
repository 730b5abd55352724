"""Builds the program with its own Python: ``python .bundle/build.py`` in an environment with the
program's dependencies and PyInstaller. The result is ``build/bundle/dist/bobweight`` (on macOS also
``Bobweight.app`` beside it), with ``--pack`` also packed.

Tested on Linux. Windows and macOS take the same way with another icon; not tested there.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
WORK = HERE.parent / "build" / "bundle"
ICONS = {"win32": ("bobweight.ico", "ICO"), "darwin": ("bobweight.icns", "ICNS")}


def main() -> None:
    """Wheel, icon, bundle, archive."""
    shutil.rmtree(WORK, ignore_errors=True)
    packages = WORK / "packages"
    source = _source()
    python = [sys.executable, "-m"]
    subprocess.run([*python, "pip", "install", "-q", "--no-deps", "--no-build-isolation",
                    "--disable-pip-version-check", "--target", packages, source],
                   check=True)  # fmt: skip
    if sys.platform in ICONS:
        name, form = ICONS[sys.platform]
        sys.path.insert(0, str(packages))
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
        from PySide6.QtGui import QGuiApplication

        from bobweight.app.command_line.desktop import rendered

        application = QGuiApplication([])
        svg = (packages / "bobweight/app/icons/bobweight.svg").read_bytes()
        (WORK / name).write_bytes(rendered(svg, 256, form))
        del application
    subprocess.run([*python, "PyInstaller", "--noconfirm", "--clean", "--log-level", "WARN",
                    "--distpath", WORK / "dist", "--workpath", WORK / "work",
                    HERE / "bobweight.spec"], check=True)  # fmt: skip
    if "--pack" not in sys.argv:
        return
    form = "zip" if sys.platform == "win32" else "xztar"
    shutil.make_archive(str(WORK / "bobweight"), form, WORK / "dist")


def _source() -> Path:
    """A copy of what the wheel is made of, so that the checkout stays clean."""
    copy = WORK / "source"
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        copy.mkdir(parents=True, exist_ok=True)
        shutil.copy(HERE.parent / name, copy)
    for name in ("app", "core", "sample_curves"):
        ignored = shutil.ignore_patterns("__pycache__")
        shutil.copytree(HERE.parent / name, copy / name, ignore=ignored)
    return copy


if __name__ == "__main__":
    main()
