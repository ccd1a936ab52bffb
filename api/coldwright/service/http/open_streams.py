"""How many streams of events are open: each keeps a connection for an hour, so that nobody may have them all."""

from collections import Counter

OF_A_KEY = 20


class OpenStreams:
    """Counts streams by key and by tenant. Lives in one event loop, so it needs no lock."""

    def __init__(self) -> None:
        self._of_keys: Counter[str] = Counter()
        self._of_tenants: Counter[str] = Counter()

    def __len__(self) -> int:
        return self._of_tenants.total()

    def refusal(self, key: str, tenant: str, most: int) -> str:
        """Why no further one may be opened; empty where it may. `most`: of all together, shared by the tenants that have any."""
        if self._of_keys[key] >= OF_A_KEY:
            return f"This key has {OF_A_KEY} streams open."
        share = most // len(self._of_tenants.keys() | {tenant})
        if self._of_tenants[tenant] >= share or len(self) >= most:
            return f"This tenant has {self._of_tenants[tenant]} streams open, and there are {most} in all."
        return ""

    def opened(self, key: str, tenant: str) -> None:
        """One more. Pair with `closed`."""
        self._of_keys[key] += 1
        self._of_tenants[tenant] += 1

    def closed(self, key: str, tenant: str) -> None:
        """One fewer."""
        self._of_keys -= Counter([key])
        self._of_tenants -= Counter([tenant])
