"""Bookings: orders with revisions, their states, and the stock that they hold."""

from coldwright.store.bookings.booking import (
    STATES,
    Booking,
    Head,
    NotPossible,
    Period,
    State,
    StockTaken,
    Taking,
    Wanted,
)
from coldwright.store.bookings.keep import get_booking, judge_booking, present, put_booking
from coldwright.store.bookings.listing import Assessed, Filter, list_assessed, list_bookings
from coldwright.store.bookings.stock import taken

__all__ = [
    "STATES",
    "Assessed",
    "Booking",
    "Filter",
    "Head",
    "NotPossible",
    "Period",
    "State",
    "StockTaken",
    "Taking",
    "Wanted",
    "get_booking",
    "judge_booking",
    "list_assessed",
    "list_bookings",
    "present",
    "put_booking",
    "taken",
]
