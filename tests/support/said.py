"""What an answer says of a finding, as text and as the figures in it."""

import re
from typing import Any

Json = dict[str, Any]
FIGURE = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?:e[-+]?\d+)?(?![\w.]*\d)")


def said(answer: Json, code: str) -> str:
    """Statement and remedy of every finding of this code; empty where there is none."""
    return " ".join(f"{f['statement']} {f.get('do', '')}".strip() for f in answer["findings"] if f["code"] == code)


def figures(text: str) -> list[float]:
    """The numbers of a sentence, in their order."""
    return [float(found) for found in FIGURE.findall(text)]


def working(answer: Json, symbol: str) -> list[float]:
    """The values of all lines of the working with this symbol."""
    return [line["value"] for line in answer["working"] if line["symbol"] == symbol]
