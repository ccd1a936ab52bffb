"""The page that a calculator gives for an answer of its own; a stranger's is made in its worker."""

from typing import Any

import msgspec

from coldwright.contract.calculator import Calculator
from coldwright.contract.decoders import decoder_of
from coldwright.contract.page import Occasion, Page
from coldwright.engine.outcome import BrokeContract
from coldwright.registry.answers import answer_type

_page = msgspec.json.Decoder(Page)


def page_of(calculator: Calculator[Any, Any], body: bytes, occasion: Occasion) -> Page | None:
    """None where it has none, or where the answer is of an earlier version and no longer fits its types.

    Raises `BrokeContract` where its code fails.
    """
    if calculator.page is None:
        return None
    try:
        answer = decoder_of(answer_type(calculator)).decode(body)
    except (msgspec.ValidationError, TypeError):
        return None
    try:
        page = calculator.page(answer, occasion)
        # what a stranger gave is held to its type before anybody renders it
        return _page.decode(msgspec.json.encode(page))
    except Exception as error:
        raise BrokeContract(f"the page of {calculator.id}: {type(error).__name__}: {error}") from error
