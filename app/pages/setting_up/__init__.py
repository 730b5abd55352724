"""The Setting up page and its parts."""

from bobweight.app.pages.setting_up.page import SettingUpPage

__all__ = ["SettingUpPage"]
