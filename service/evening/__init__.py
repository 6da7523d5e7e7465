"""The evening: several drinks, what they take in people, gear and time, and when each thing is done."""
