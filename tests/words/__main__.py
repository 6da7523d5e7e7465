"""Gathers every sentence in messages.pot, and brings each into the catalogue of every language, untranslated if new.

What is no longer used leaves the catalogues.
"""

from tests.words.catalogues import FOLDER, OTHERS, TEMPLATE, of, template, text_of

if __name__ == "__main__":
    gathered = template()
    TEMPLATE.write_bytes(text_of(gathered))
    for language in OTHERS:
        kept = of(language)
        kept.update(gathered, no_fuzzy_matching=True, update_header_comment=False)
        kept.obsolete.clear()
        (FOLDER / f"{language}.po").write_bytes(text_of(kept))
        lacking = sum(1 for one in kept if one.id and not one.string)
        print(f"{language}: {len(kept)} sentences, {lacking} not translated")
