"""How well a referenced value is known."""

from typing import Any

from service.api.quantities import Answered, says, text


def basis(**kwargs: Any) -> Answered:
    """The basis of a value, a code; codes may be added."""
    said = "published, library, common-practice, estimate (or a fit to what is named), or unverified (from memory)."
    return text(40, **{"metadata": says(said), **kwargs})
