"""Editors of stored values: each reads its description, and edits through the store."""

from app.editors.choice import ChoiceField, FlagField
from app.editors.field import Field
from app.editors.form import form, plain_keys
from app.editors.number import NumberField, WholeField
from app.editors.table import RecordTable
from app.editors.text import TextField

__all__ = [
    "ChoiceField", "Field", "FlagField", "NumberField", "RecordTable", "TextField", "WholeField",
    "form", "plain_keys",
]  # fmt: skip
