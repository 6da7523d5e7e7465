"""What a label says, in the caller's units."""

from service.api.answers import Answer, tidy
from service.api.endpoint import Body
from service.batching import Allergens, Label


def write_allergens(allergens: Allergens) -> Body:
    """What has to be declared, by both lists, and where it comes from."""
    return {
        "allergens": list(allergens.eu),
        "allergens_us": list(allergens.us),
        "allergen_sources": [
            {"allergen": code, "components": list(components)} for code, components in allergens.brought_by
        ],
    }


def write_label(label: Label, answer: Answer) -> Body:
    """What goes on every vessel."""
    times = {"made_at": label.made_at, "use_by": label.use_by}
    return {
        "name": label.name,
        "statement": label.statement,
        **({} if label.abv is None else {"abv": tidy(label.abv)}),
        "abv_unstated": list(label.abv_unstated),
        "allergens": list(label.allergens.eu),
        "allergens_us": list(label.allergens.us),
        "allergens_unstated": list(label.allergens.unstated),
        "keep_at": answer.q("temperature", label.keep_at_c),
        **{name: moment.isoformat() for name, moment in times.items() if moment is not None},
    }
