"""An evening on paper and in other programs: the board, its time line, a list for a station, a table, a calendar."""

from service.api.pages.evening.board import HEADERS, board
from service.api.pages.evening.calendar import calendar
from service.api.pages.evening.listing import STATIONS, listing
from service.api.pages.evening.table import TABLE_HEADERS, table
from service.api.pages.evening.timeline import timeline

__all__ = ["HEADERS", "STATIONS", "TABLE_HEADERS", "board", "calendar", "listing", "table", "timeline"]
