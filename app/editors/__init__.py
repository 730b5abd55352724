"""Editors of stored values: each reads its description, and edits through the store."""

from bobweight.app.editors.choice import ChoiceField, FlagField
from bobweight.app.editors.field import Field
from bobweight.app.editors.form import form, plain_keys
from bobweight.app.editors.number import NumberField, WholeField
from bobweight.app.editors.table import RecordTable
from bobweight.app.editors.text import TextField

__all__ = [
    "ChoiceField", "Field", "FlagField", "NumberField", "RecordTable", "TextField", "WholeField",
    "form", "plain_keys",
]  # fmt: skip
