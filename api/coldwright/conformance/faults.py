"""What a check finds."""

from typing import NamedTuple


class Fault(NamedTuple):
    """One breach of the contract."""

    rule: str
    calculator: str
    text: str

    def __str__(self) -> str:
        return f"{self.calculator or 'plugin'}: {self.rule}: {self.text}"
