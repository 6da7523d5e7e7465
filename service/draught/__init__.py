"""Draught: what a dial does to the line from a keg to its tap, and what the keg gives."""

from service.draught.answer import Breakout, DraughtLine, GasMix
from service.draught.asked import AskedPour, DraughtAsked, DraughtGiven, DraughtLineRequest, Keg, Segment
from service.draught.keg import USUAL_KEG
from service.draught.line import draught_line

__all__ = [
    "USUAL_KEG",
    "AskedPour",
    "Breakout",
    "DraughtAsked",
    "DraughtGiven",
    "DraughtLine",
    "DraughtLineRequest",
    "GasMix",
    "Keg",
    "Segment",
    "draught_line",
]
