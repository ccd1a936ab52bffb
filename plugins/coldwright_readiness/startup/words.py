"""Words of enumerations, as they are listed."""


def word(text: str) -> str:
    """A word of an enumeration as it is listed: capitals, blanks and hyphens of old spellings are forgiven."""
    return text if text.islower() and text.isidentifier() else "_".join(text.casefold().replace("-", " ").split())
