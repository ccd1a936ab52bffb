"""What a browser would send from a page: the token of its forms."""

import re


def token_in(page: str) -> str:
    """The token of the forms on a page."""
    found = re.search(r'name="form_token" value="([0-9a-f]{64})"', page)
    assert found is not None, page[:500]
    return found[1]
