"""What lasts: fleets, bookings, start-ups, records, jobs, keys."""

from coldwright.store.database import Database, StoreFull, StoreUnavailable
from coldwright.store.migrate import is_current, upgrade

__all__ = ["Database", "StoreFull", "StoreUnavailable", "is_current", "upgrade"]
