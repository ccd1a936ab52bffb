"""Forecasts that callers put, schedules of checks, and what they come to for a booking."""
