"""The pages, in the order of the work. ``PAGES`` holds their classes; each is built when shown
first. A page is a :class:`app.pages.page.Page`."""

from __future__ import annotations

from app.pages.findings import FindingsPage
from app.pages.mechanism import MechanismPage
from app.pages.page import Page
from app.pages.particulars import ParticularsPage
from app.pages.readings import ReadingsPage
from app.pages.reassembly import ReassemblyPage
from app.pages.setting_up import SettingUpPage
from app.pages.target import TargetPage
from app.pages.vacuum import VacuumPage


def _pages() -> tuple[type[Page], ...]:
    from app.pages.sheet import SheetPage
    from app.pages.springs import SpringsPage

    return (
        ParticularsPage, FindingsPage, MechanismPage, VacuumPage, TargetPage, ReadingsPage,
        SpringsPage, ReassemblyPage, SettingUpPage, SheetPage,
    )  # fmt: skip


PAGES = _pages()
