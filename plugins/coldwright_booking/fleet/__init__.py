"""The fleet document: what the company has, and what contradicts itself in it."""
