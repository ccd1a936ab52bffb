"""One of several processes that want the same machines: `race.py DATABASE NAME COUNT` prints the orders that it won."""

import sys

from coldwright.store import Database
from coldwright.store.bookings import Period, StockTaken, Taking, Wanted, put_booking
from coldwright.store.conditions import Condition
from coldwright.store.records import Record


def order(document: str, period: Period, wish: int, free: int) -> Wanted:
    """An invented order that takes `wish` of the `free` chillers."""
    digest = document.encode().hex().ljust(64, "0")
    record = Record(digest, "booking.assessment", "1.0.0", "acceptable", document.encode(), b"{}")
    taking = Taking({"chiller": wish} if wish else {}, {"chiller": free})
    return Wanted(document.encode(), record, period, "hall", "yard", taking)


def main(address: str, name: str, count: int) -> None:
    database = Database(address)
    for number in range(count):
        reference = f"{name}-{number}"
        try:
            wanted = order(reference, Period("2026-05-01", "2026-05-31"), 1, 5)
            put_booking(database, "acme", reference, wanted, Condition())
        except StockTaken:
            continue
        print(reference, flush=True)
    database.close()


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
