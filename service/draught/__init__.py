"""Draught: what a dial does to the line from a keg to its tap, and what the keg gives."""

from service.draught.answer import Breakout, DraughtLine, GasMix
from service.draught.asked import DraughtAsked, DraughtGiven, DraughtLineRequest, Segment
from service.draught.line import draught_line

__all__ = [
    "Breakout",
    "DraughtAsked",
    "DraughtGiven",
    "DraughtLine",
    "DraughtLineRequest",
    "GasMix",
    "Segment",
    "draught_line",
]
