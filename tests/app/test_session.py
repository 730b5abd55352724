"""Settings and recent files."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QByteArray, QLocale

from bobweight.app.store.display import Display
from bobweight.app.store.session import Settings, fingerprint, units_of
from bobweight.core.units import QUANTITIES


def test_settings_last_with_their_types(qapp, own_home):
    settings = Settings()
    settings.theme = "dark"
    settings.set_flag("started", False)
    settings.set_bytes("place", QByteArray(b"\x00\x01"))
    display = Display()
    display.frame = "crank"
    display.depression_unit = "inHg"
    settings.save_display(display)
    settings.sync()
    again, other = Settings(), Display()
    again.load_display(other)
    assert again.theme == "dark"
    assert again.flag("started", True) is False
    assert again.bytes("place") == QByteArray(b"\x00\x01")
    assert (other.frame, other.depression_unit) == ("crank", "inHg")
    assert (own_home / "settings.ini").exists()


@pytest.mark.parametrize("text", ["", "[", '{"a": 1}', '["/no/such/file", 3]'])
def test_nonsense_in_the_settings_is_no_matter(qapp, text):
    settings = Settings()
    settings.set_text("recent", text)
    settings.set_text("theme", "plaid")
    settings.set_text("display/depression", "furlong")
    settings.set_text("display/frame", "sideways")
    settings.load_display(display := Display())
    assert settings.recent == [] and settings.theme == "system"
    assert (display.frame, display.depression_unit) == ("", "kPa")


def test_recent_files_newest_first_without_doubles(qapp, tmp_path):
    settings = Settings()
    files = [tmp_path / name for name in ("a.docket", "b.docket", "a.docket")]
    for file in files:
        file.write_text("")
        settings.remember(file)
    assert settings.recent == [tmp_path / "a.docket", tmp_path / "b.docket"]
    (tmp_path / "a.docket").unlink()
    assert settings.recent == [tmp_path / "b.docket"]


def test_fingerprint(tmp_path):
    file = tmp_path / "a"
    assert fingerprint(file) is None
    file.write_text("one")
    first = fingerprint(file)
    file.write_text("two")
    assert fingerprint(file) != first


@pytest.mark.parametrize(
    ("country", "shown"),
    [("de_DE", ("kPa", "mm", "g", "N")), ("en_US", ("inHg", "thou", "oz", "ozf")),
     ("en_GB", ("inHg", "thou", "oz", "ozf"))],
)  # fmt: skip
def test_a_first_start_shows_the_units_usual_where_it_is(country, shown):
    """Which measures a country uses is the Unicode CLDR's, as Qt has it."""
    units = units_of(QLocale(country))
    keys = ("depression", "length", "mass", "force")
    assert tuple(units.get(key, QUANTITIES[key].stored.symbol) for key in keys) == shown


def test_every_unit_usual_somewhere_is_one_of_its_quantity():
    """Every unit named is one that its quantity has."""
    for key, symbol in units_of(QLocale("en_US")).items():
        assert QUANTITIES[key].unit(symbol).symbol == symbol
