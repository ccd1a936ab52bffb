"""What lasts: fleets, bookings, start-ups, records, jobs, keys."""

from coldwright.store.database import HEALTH, KEYS, Database, StoreFull, StoreUnavailable
from coldwright.store.migrate import is_current, upgrade

__all__ = ["HEALTH", "KEYS", "Database", "StoreFull", "StoreUnavailable", "is_current", "upgrade"]
