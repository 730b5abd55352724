"""The workshop's heading, as kept in the settings."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtGui import QImageReader

from bobweight.app.store.images import image_bytes
from bobweight.app.store.session import Settings, home_folder
from bobweight.core.problems import BobweightError
from bobweight.core.sheet.workshop import Logo, Workshop

LOGO_SUFFIXES = (".png", ".jpg", ".jpeg", ".svg", ".webp", ".bmp")
SETTINGS_FILE = "settings.ini"
_MOST_PX = 1200  # across: a sign of 34 mm at 900 dots an inch


def kept_fields(settings: Settings) -> tuple[str, str, str]:
    """Name, address (several lines) and path of the sign, as typed."""
    name, address, logo = (settings.text(f"workshop/{key}") for key in ("name", "address", "logo"))
    return name, address, logo


def keep_fields(settings: Settings, name: str, address: str, logo: str) -> None:
    """Keep them."""
    for key, text in (("name", name), ("address", address), ("logo", logo)):
        settings.set_text(f"workshop/{key}", text)
    settings.sync()


def kept_workshop(settings: Settings) -> Workshop:
    """The heading of printed pages; a sign that cannot be read (any more) is left out."""
    name, address, path = kept_fields(settings)
    logo = None
    if path:
        try:
            logo = read_logo(Path(path))
        except BobweightError:
            logo = None  # the dialog says so where it is chosen; a print must not fail for it
    return Workshop(name, tuple(address.splitlines()), logo)


def workshop_at_hand() -> Workshop:
    """The heading of the user's own settings; none where nothing was ever kept, and then nothing
    is made on the disk."""
    if not (home_folder() / SETTINGS_FILE).exists():
        return Workshop()
    return kept_workshop(Settings())


def read_logo(path: Path) -> Logo:
    """A picture for the heading.

    Raises
    ------
    BobweightError
        ``photograph-not-a-picture`` with the file and the kinds known.
    """
    reader = QImageReader(str(path))
    size = reader.size()
    known = path.suffix.lower() in LOGO_SUFFIXES
    if known and size.isValid() and not size.isEmpty():
        if path.suffix.lower() == ".svg" or size.width() > _MOST_PX:
            reader.setScaledSize(QSize(_MOST_PX, round(_MOST_PX * size.height() / size.width())))
        image = reader.read()
        if not image.isNull():
            return Logo(image_bytes(image), image.width() / image.height())
    raise BobweightError(
        "photograph-not-a-picture", (), file=path.name,
        known=", ".join(suffix.removeprefix(".") for suffix in LOGO_SUFFIXES),
    )  # fmt: skip
