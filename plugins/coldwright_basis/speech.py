"""Sentences of a page in a language, and in the words of the practice: ground and truck, earth and lorry.

One catalogue for all of our families, `locale` beside this module. A text is constant, with its values in braces; words that
differ between the trades stand in it as things of `trade_words`.
"""

from coldwright.contract.language import BY_MACHINE, words_in
from coldwright.contract.language import marked as _
from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import words_of

BY_A_MACHINE = _("Translated by a machine, and not read yet by somebody who speaks the language.")
ENGLISH: dict[Practice, str] = {"nec": "en-US", "iec": "en-GB"}
_PRACTICES: dict[str, Practice] = {language: practice for practice, language in ENGLISH.items()}


class Speech:
    """Says texts in one language. `en` is the English of the job's practice; `en-US` and `en-GB` are asked for by name."""

    def __init__(self, language: str, practice: Practice = "nec") -> None:
        self.language = ENGLISH[practice] if language == "en" else language
        self._found = words_in("coldwright_basis", self.language)
        self._words = words_of(_PRACTICES.get(self.language, practice))

    def __call__(self, text: str, **values: object) -> str:
        """A constant text with its values; `KeyError` for a place that is neither a value nor a word of the trade."""
        return self._found(text).format_map({**self._words, **values})

    def known(self, text: str) -> str:
        """A text that comes from elsewhere: as the catalogue has it, else as it is."""
        return self._found(text)

    def by_machine(self) -> tuple[str, ...]:
        """What the foot of a page says of its language."""
        return (self(BY_A_MACHINE),) if self.language in BY_MACHINE else ()
