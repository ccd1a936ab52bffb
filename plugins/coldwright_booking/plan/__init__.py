"""The plan, one module for each block."""
