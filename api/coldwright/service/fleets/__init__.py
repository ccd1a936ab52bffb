"""`/v1/fleets`: what a rental company has: types and counts as documents, machines by serial number, what is free."""
