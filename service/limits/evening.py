"""The evening: the serves that are made, the work beside the sheets of the drinks, and what an evening may hold."""

from service.limits.declared import Subject

declared = Subject()
bound = declared.bound

CHANCE_PERCENT = declared("chance-of-enough", "default", "Wanted chance that there is enough of a drink.", 90.0, "%")
SET_UP_S = declared("set-up", "default", "To set up the bar for an evening.", 1800.0, "duration")
"""Ice, garnish, glasses, tools."""
AHEAD_S = declared(
    "made-ahead", "judged", "A drink that is made the day before keeps so long, and the service on top.", 24 * 3600.0,
    "duration",
)  # fmt: skip
LEAST_LOT = declared(
    "least-lot", "judged", "Fewer vessels of a drink are not split into lots that take turns.", 4, "count"
)
MORE_THAN_ASKED = declared(
    "serves-over-asked", "told", "Serves made for each that is asked for, from which on it is told.", 1.25, "share"
)
STEP_S = declared("time-step", "advised", "Moments that are offered are whole steps of it.", 300.0, "duration")
MOST_SERVES = bound("serves-of-a-drink", "Of one drink of an evening.", 20_000)
MOST_DRINKS = bound("drinks-of-an-evening", "Of one service plan.", 12)
MOST_TASKS = bound("tasks-of-an-evening", "Of the timetable of a service plan.", 200)
MOST_FILLED = bound("vessels-of-an-evening", "Of a service plan, of all kinds together.", 300)
MOST_CREW = bound("crew", "People at work on an evening.", 20)
MOST_REGULATORS = bound("regulators", "That charge one vessel each at a time.", 10)
MOST_PLACES = bound("cold-places", "Of a site.", 10)
