"""The document and its page as they are served: made when they are first asked for, so that they hold up no start."""

import threading
from collections.abc import Callable

from coldwright.service.openapi.page import render_page


class Published:
    """Blocks for a second where nobody asked before, so call it from a thread."""

    def __init__(self, make: Callable[[], bytes]) -> None:
        self._make = make
        self._made: dict[str, bytes] = {}
        self._one_at_a_time = threading.Lock()

    def document(self) -> bytes:
        """As JSON."""
        with self._one_at_a_time:
            return self._document()

    def page(self) -> bytes:
        """As HTML, to read."""
        with self._one_at_a_time:
            if "html" not in self._made:
                self._made["html"] = render_page(self._document())
            return self._made["html"]

    def _document(self) -> bytes:
        if "json" not in self._made:
            self._made["json"] = self._make()
        return self._made["json"]
