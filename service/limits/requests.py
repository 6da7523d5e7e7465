"""Bounds of a request, so that every answer comes soon and every number is finite."""

from service.limits.declared import Subject

declared = Subject()
bound = declared.bound

MOST_CHARGES = bound("most-charges", "Of one vessel, one after the other.", 20)
"""Beyond this many no bar goes on."""
LONGEST_CHARGING_S = bound(
    "longest-time", "Of a rest, or of all charges, that a plan may state.", 7 * 86400.0, "duration"
)
MOST_POURS = bound("most-pours", "That a forecast tells.", 500)
"""More are not forecast one by one."""
MOST_GLASSES = bound("most-glasses", "Of one batch.", 1e6)
MOST_ML = bound("most-volume", "Of one batch.", 1e8, "volume")
LARGEST = bound("largest-number", "That a request may state, in base units unless the document says otherwise.", 1e7)
"""No bar states a number beyond this; it keeps every computation finite."""
MOST_VESSELS = bound("vessels", "Whose logs are read at once.", 200)
MOST_EVENTS = bound("events", "Of all their logs together, sales included.", 5000)
MOST_MEASURED = bound("measured-events", "Those of them that are judged by what was measured.", 1000)
MOST_LOG_LINES = bound("components-of-logs", "Of the drinks of all their logs together.", 600)
MOST_KEYS = bound("keys", "Drinks, or kinds of vessels, that vessels and sales of a bar name by key.", 50)
MOST_NAMED = bound("named-events", "Events that one caution points at, and refusals of one vessel.", 50)
"""More say nothing."""
MOST_SITES = bound("sites", "Of a rollout.", 500)
MOST_KINDS = bound("kinds-of-vessels", "At all sites of a rollout together.", 600)
MOST_SITE_LINES = bound("components-times-sites", "Components of the spec times the sites of a rollout.", 8000)
"""The longest rollout takes about a second of computing."""
LARGEST_BODY = bound("body", "Bytes of a request.", 1024 * 1024, "bytes")
DEEPEST = bound("nesting", "Levels of a request.", 64)
"""No request has half as many."""
MOST_PARTS = bound("parts-of-a-body", "Objects and lists of a request, brackets in its texts included.", 40_000)
"""No request has 25,000; what they take is taken before anything is known of them."""
MOST_FAULTS = bound("faults", "That one problem document tells, and refused sales that an answer does.", 1000)
MOST_LIKENED = bound("likened-names", "Unknown fields or columns for which the nearest known one is looked up.", 50)
MOST_COMPONENTS = bound("components", "Of a spec.", 40)
MOST_ACIDS = bound("acids", "Of a solution.", 8)
MOST_ITEMS = bound("batches", "Of a list, or specs.", 100)
MOST_BATCH_LINES = bound("lines-of-batches", "Lines of a list of batches together.", 1500)
"""What keeps the longest to about a quarter of a second of computing."""
MOST_SPEC_LINES = bound("lines-of-specs", "Lines of a list of specs together.", 1200)
"""What keeps the longest to about a quarter of a second of computing."""
MOST_COUNTED = bound("counted-components", "Of a reconciliation, or prices of them.", 200)
LONGEST_NAMED = bound("named-column", "Characters of an unknown column that a fault tells.", 100)
MOST_FINDINGS = bound("findings", "That are told of one spec that is refused.", 1000)
MOST_GAS_LINES = bound("components-of-a-gas-supply", "Of all its batches together, parts of parts included.", 1500)
LARGEST_ROOM_ML = bound("largest-room", "A hall of 100,000 cubic metres.", 1e11, "volume")
MOST_READINGS = bound("readings", "Of a calibration.", 50)
LONGEST_READINGS_S = bound("reading-time", "From the start of a calibration to a reading.", 14 * 86400.0, "duration")
