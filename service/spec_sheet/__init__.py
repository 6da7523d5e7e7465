"""Specs that are kept in a spreadsheet: a row for each component."""

from service.spec_sheet.columns import COLUMNS, column_of
from service.spec_sheet.fault import CellFault
from service.spec_sheet.reading import Sheet, read
from service.spec_sheet.specs import SheetSpec, specs_of

__all__ = ["COLUMNS", "CellFault", "Sheet", "SheetSpec", "column_of", "read", "specs_of"]
