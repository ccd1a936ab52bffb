"""`/v1/bookings`: orders by the caller's own reference, with revisions, states, and the stock that they hold."""
