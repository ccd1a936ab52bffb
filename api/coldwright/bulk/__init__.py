"""Bulk work: jobs cut in chunks, and what works them off. Over the engine and the store; knows no web."""
