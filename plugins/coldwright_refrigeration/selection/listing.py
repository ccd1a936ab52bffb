"""Every combination of a node under a limit, written out.

A combination scores at least the node's bound plus the price of each departure from its base. So all that score at most
a limit are among the sets of departures whose prices fit into the room between the two, and those are written out type
by type, the dearest first, as far as the rows of the node can still be kept.
"""

from collections.abc import Sequence

from coldwright_refrigeration.selection.case import Array, np
from coldwright_refrigeration.selection.relaxation import Node, Row
from coldwright_refrigeration.selection.rounding import roomy

MOST_LISTED = 5_000
"""Sets of departures of one node that are written out at most."""


def box(node: Node, limit: float) -> tuple[Array, Array]:
    """Least and greatest units of each type in any combination of the node scoring at most `limit`."""
    room, most = _room(node, limit), node.high - node.low
    all_fit = node.price * most <= room
    steps = np.where(all_fit, most, np.floor(room / np.where(all_fit, np.inf, node.price)))
    return np.maximum(node.base - steps, node.low), np.minimum(node.base + steps, node.high)


def combinations(node: Node, limit: float) -> Array | None:
    """All combinations of whole units in the node that score at most `limit`, and perhaps others; None: too many."""
    low, high = box(node, limit)
    free = np.flatnonzero(high > low)
    free = free[np.argsort(-node.price[free], kind="stable")]
    rows = [*node.rows, node.program.at_most(limit)]
    matrix = np.array([row.coefficients for row in rows])
    most = np.array([row.high for row in rows])
    room = roomy(most) - matrix @ node.base
    made = _departures(
        np.vstack([node.price[free], matrix[:, free] * node.sign[free]]),
        np.array([_room(node, limit), *room]),
        (high - low)[free],
    )
    if made is None:
        return None
    n = np.tile(node.base, (len(made), 1))
    n[:, free] += made * node.sign[free]
    return n


def everything(stock: Array, rows: Sequence[Row], cover: Row) -> Array | None:
    """All combinations of the stock that keep some rows, and perhaps others; None: too many.

    Written out from no unit on, those that cover most first. What a set still lacks of the cover must be had within the row
    that leaves the fewest units.
    """
    limits = [row for row in rows if row.high > 0 and row.coefficients.min() >= 0]
    if not limits:
        return None
    tightest = max(limits, key=lambda row: float(row.coefficients.mean()))  # each limit is scaled to 1
    free = np.flatnonzero(stock > 0)
    free = free[np.argsort(cover.coefficients[free], kind="stable")]
    used = [tightest, cover, *(row for row in rows if row is not tightest)]
    made = _departures(
        np.array([row.coefficients[free] for row in used]),
        roomy(np.array([row.high for row in used])),
        stock[free],
        within=True,
    )
    if made is None:
        return None
    n = np.zeros((len(made), len(stock)))
    n[:, free] = made
    return n


def _room(node: Node, limit: float) -> float:
    """What departures may cost together."""
    return float(roomy(limit)) - node.bound


def _departures(rows: Array, room: Array, most: Array, *, within: bool = False) -> Array | None:
    """Every set of departures that keeps within the `room` of each row, one a row; None where they are too many.

    What the types still to come can give back at most is counted from the start, so that hopeless sets end early; `within`
    what is left of the first row as well, of which they take their share.
    """
    breakable = np.maximum(rows * most, 0.0).sum(axis=1) > room
    breakable[0] = True
    rows, room, kinds = rows[breakable], room[breakable], rows.shape[1]
    back = np.minimum(rows * most, 0.0)
    still = np.cumsum(back[:, ::-1], axis=1)[:, ::-1] - back
    best = _best_still(rows) if within else None
    made, used = np.zeros((1, kinds), dtype=np.int8), np.zeros((len(rows), 1))
    for i in range(kinds):
        steps = np.arange(int(most[i]) + 1)
        parent, step = np.nonzero(used[0][:, None] + rows[0, i] * steps <= room[0])
        if len(parent) > MOST_LISTED:
            return None
        total = used[:, parent] + rows[:, i, None] * step
        least = still[:, i, None]
        if best is not None:
            least = np.maximum(least, best[:, i, None] * (room[0] - total[0]))
        fits = (total + least <= room[:, None]).all(axis=0)
        made, used = made[parent[fits]], total[:, fits]
        made[:, i] = step[fits]
    return made


def _best_still(rows: Array) -> Array:
    """What the types still to come give back at most for each unit of the first row: below 0."""
    each = np.minimum(rows, 0.0) / np.maximum(rows[0], 1e-12)
    best = np.zeros_like(each)
    best[:, :-1] = np.minimum.accumulate(each[:, ::-1], axis=1)[:, ::-1][:, 1:]
    return best
