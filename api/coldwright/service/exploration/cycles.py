"""Items that wait for each other in a circle, by Tarjan's strongly connected components (1972)."""

from collections.abc import Iterator, Mapping, Sequence


def cycles(waits_for: Mapping[str, Sequence[str]]) -> list[list[str]]:
    """Groups of items each of which waits, directly or not, for itself; in the order of the mapping."""
    found = _Components(waits_for)
    for item in waits_for:
        if item not in found.index:
            found.explore(item)
    place = {item: number for number, item in enumerate(waits_for)}
    groups = [sorted(g, key=place.__getitem__) for g in found.groups if len(g) > 1 or g[0] in waits_for[g[0]]]
    return sorted(groups, key=lambda g: place[g[0]])


class _Components:
    """Without recursion: a chain of a thousand items is no reason to run out of stack."""

    def __init__(self, waits_for: Mapping[str, Sequence[str]]) -> None:
        self._waits_for = waits_for
        self.groups: list[list[str]] = []
        self.index: dict[str, int] = {}
        self._lowest: dict[str, int] = {}
        self._open: dict[str, None] = {}

    def explore(self, root: str) -> None:
        path = [self._entered(root)]
        while path:
            item, others = path[-1]
            for other in others:
                if other not in self.index:
                    path.append(self._entered(other))
                    break
                if other in self._open:
                    self._lowest[item] = min(self._lowest[item], self.index[other])
            else:
                path.pop()
                if path:
                    before = path[-1][0]
                    self._lowest[before] = min(self._lowest[before], self._lowest[item])
                if self._lowest[item] == self.index[item]:
                    self._close(item)

    def _entered(self, item: str) -> tuple[str, Iterator[str]]:
        self.index[item] = self._lowest[item] = len(self.index)
        self._open[item] = None
        return item, iter(self._waits_for[item])

    def _close(self, root: str) -> None:
        group: list[str] = []
        while not group or group[-1] != root:
            group.append(self._open.popitem()[0])
        self.groups.append(group)
