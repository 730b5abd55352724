"""The open docket and all that follows from it; the tray; what lasts between starts."""

from bobweight.app.store.docket_store import Change, RecordStore, Store

__all__ = ["Change", "RecordStore", "Store"]
