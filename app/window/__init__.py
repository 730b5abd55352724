"""The main window: wiring, menus, files, the strip of pages, notices."""
