"""Editors of stored values: each reads its description, and edits through the store."""
