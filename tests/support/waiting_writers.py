"""One of several services on one file: `waiting_writers.py DATABASE NAME THREADS COUNT` prints what was not kept."""

import sys
import threading

from race import order

from coldwright.store import Database
from coldwright.store.bookings import Period, put_booking
from coldwright.store.conditions import Condition


def main(address: str, name: str, threads: int, count: int) -> None:
    database = Database(address)

    def write(thread: int) -> None:
        for number in range(count):
            reference = f"{name}-{thread}-{number}"
            wanted = order(reference, Period("2026-05-01", "2026-05-31"), 0, 5)
            try:
                put_booking(database, "acme", reference, wanted, Condition())
            except Exception as error:
                print(f"{reference}: {error!r}", flush=True)

    at_once = [threading.Thread(target=write, args=(n,)) for n in range(threads)]
    for thread in at_once:
        thread.start()
    for thread in at_once:
        thread.join()
    database.close()


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))
